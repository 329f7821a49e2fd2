"""A second opinion on a design, from the formulas alone.

Nothing here comes from the package but the frozen data of a problem. Angles are found by arctangents
of coordinates, doors by trying thousands of directions, headroom by asking what hangs where: slower
and plainer than the package's forms, so that an error in one is not an error in both. Every function
takes numbers or numpy arrays for the decisions. SI units and radians throughout.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from optimiser.problem.model import Door, Problem
from tests.support.bass import OfBass
from tests.support.decay import LINKED_TO_ABSORPTION, OfDecay
from tests.support.kit import OfKit, WithLists, lists
from tests.support.light import OfLight
from tests.support.rows import BEHIND, STEP, OfRows
from tests.support.seats import OfSeats
from tests.support.shape import LATE, OfShape, gap_to_sector
from tests.support.surround import OfSurround

DIRECTIONS = 20_001
"""Directions tried for a door: 0.16 milliradians apart, so a distance of metres errs by nanometres."""

OF_STEPS = ("step_going", "walking_line")
"""Measures of the steps up to a row."""

ROOMY = 1e-6
"""By how much a limit may be missed, in SI units of what its measure is a function of: a micrometre,
a millionth of a quotient. See ``Judge.room``."""

SCREENS = ("projected", "panel", "tiled")

MODE_SETTINGS = tuple(itertools.product((1, 2, 3, 4), ("length", "width")))


class Judge(OfLight, OfRows, OfSeats, OfDecay, OfShape, OfBass, OfSurround, OfKit):
    """Measures, limits and goals of designs of one problem, with a given number of rows and aspect."""

    def __new__(cls, problem: Problem, rows: int, aspect: float):
        return super().__new__(ListJudge if lists(problem) else Judge)

    def __init__(self, problem: Problem, rows: int, aspect: float) -> None:
        self.problem = problem
        self.count = rows
        self.aspect = aspect
        self.reference = min(problem.seating.reference_row, rows)

    # --- geometry -----------------------------------------------------------------------------

    def width(self, d):
        if self.kind == "tiled":
            return d["screen.columns"] * self.problem.screen.tile.width
        if self.kind == "projected":
            return d["screen.width"]
        return d["screen.diagonal"] * math.cos(math.atan(1.0 / self.aspect))

    def height(self, d):
        return self.width(d) / self.aspect

    def screen_y(self, d):
        return d["baffle.depth"] + self.problem.screen.gap

    def centre(self, d):
        return self.problem.room.width / 2 if self.problem.baffle.centred else d["screen.centre"]

    # --- measures -----------------------------------------------------------------------------

    def value(self, name: str, d: Mapping, row: int | None = None, **options):
        """One measure of a design, or of many designs at once."""
        with np.errstate(all="ignore"):
            if row is None:
                return np.asarray(getattr(self, name)(d, **options), dtype=float)
            return np.asarray(getattr(self, name)(d, self.row(d, row), **options), dtype=float)

    def asked(self, name: str, d: Mapping, row: int | None = None, **options):
        """A measure as limits and goals have it: a row that lies level has no steps to be judged, and NaN."""
        value = self.value(name, d, row, **options)
        if name not in OF_STEPS:
            return value
        return np.where(self.climb(d, self.row(d, row)) > STEP + LATE, value, np.nan)

    def horizontal_angle(self, d, r):
        return self._angle(d, r, self.middle_of_seats(r) - self.centre(d))

    @staticmethod
    def middle_of_seats(r):
        return r.first + (r.seats - 1) * r.pitch / 2

    def worst_seat_angle(self, d, r):
        return np.minimum(*(self._angle(d, r, x - self.centre(d)) for x in (r.leftmost, r.rightmost)))

    def picture_width(self, d, shape):
        across, up = (float(part) for part in shape.split(":"))
        return np.minimum(self.width(d), self.height(d) * across / up)

    def picture_angle(self, d, r, shape):
        return self._angle(d, r, self.middle_of_seats(r) - self.centre(d), self.picture_width(d, shape))

    def _angle(self, d, r, aside, width=None):
        """Between the directions to the left and right edge of the image, or of what is so wide in its middle, from a
        seat ``aside`` of it."""
        w, away = self.width(d) if width is None else width, r.y - self.screen_y(d)
        return np.arctan2(w / 2 - aside, away) - np.arctan2(-w / 2 - aside, away)

    def upward_angle(self, d, r):
        return np.arctan2(d["screen.bottom"] + self.height(d) - r.eye, r.y - self.screen_y(d))

    def downward_angle(self, d, r):
        return np.arctan2(r.eye - d["screen.bottom"], r.y - self.screen_y(d))

    def off_axis_angle(self, d, r):
        aside = np.maximum(r.rightmost - self.centre(d), self.centre(d) - r.leftmost)
        return np.arctan2(aside, r.y - self.screen_y(d))

    def picture_heights(self, d, r):
        return (r.y - self.screen_y(d)) / self.height(d)

    def pixels_per_degree(self, d, r):
        return (r.y - self.screen_y(d)) * math.tan(math.radians(1)) / self.pitch(d)

    def sightline_clearance(self, d, r):
        """The line from the rear eye to the image's lower edge, where it passes the front eye."""
        front = self.row(d, r.number - 1)
        slope = (r.eye - d["screen.bottom"]) / (r.y - self.screen_y(d))
        return d["screen.bottom"] + slope * (front.y - self.screen_y(d)) - front.eye

    def image_width(self, d):
        return self.width(d)

    def image_height(self, d):
        return self.height(d)

    def image_diagonal(self, d):
        return np.hypot(self.width(d), self.height(d))

    def image_area(self, d):
        return self.width(d) * self.height(d)

    def frame_to_floor(self, d):
        return d["screen.bottom"] - d["screen.bezel"]

    def door_clearance(self, d):
        return self._least(
            clear_of_door(door, self.problem, *box.x, np.maximum(box.y[1], -1e3))
            for door in self.problem.room.doors
            for box in (*self.stands_at_the_front(d), *self.free_cabinets(d))
        )

    def doorway(self, door: Door):
        """From where to where the closed leaf lies, along x and along y."""
        hinge, closed, _ = swing(door, self.problem)
        other = hinge + door.leaf * np.array([math.cos(closed), math.sin(closed)])
        return tuple(tuple(sorted(pair)) for pair in zip(hinge, other))

    def listening_distance(self, d, r):
        return r.y - d["baffle.depth"]

    def length_fraction(self, d, r):
        return r.y / self.problem.room.length

    def acoustic(self, d):
        """Where the length modes begin, and how long the room is from there."""
        front = d["baffle.depth"] if self.problem.baffle.solid else 0.0
        return front, self.problem.room.length - front

    def midpoint_offset(self, d, r):
        front, span = self.acoustic(d)
        return np.abs(r.y - front - span / 2)

    def mode_null_offset(self, d, r, order, axis):
        """Least distance to a point where cos(order pi x / span) vanishes."""
        nulls = [(k + 0.5) / order for k in range(order)]
        if axis == "length":
            front, span = self.acoustic(d)
            return self._least([np.abs(r.y - front - share * span) for share in nulls])
        width = self.problem.room.width
        return self._least(
            np.where(there, self._least([np.abs(x - share * width) for share in nulls]), np.inf)
            for x, there in self.seat_places(r)
        )

    def mode_level(self, d, r, order, axis):
        if axis == "length":
            front, span = self.acoustic(d)
            return level(np.cos(order * np.pi * (r.y - front) / span))
        return self._least(
            np.where(there, level(np.cos(order * np.pi * x / self.problem.room.width)), np.inf)
            for x, there in self.seat_places(r)
        )

    def rear_wall_distance(self, d, r):
        return self.problem.room.length - r.y

    def side_wall_distance(self, d, r):
        return np.minimum(r.leftmost, self.problem.room.width - r.rightmost)

    def room_proportion(self, d):
        room = self.problem.room
        long, wide = room.length / room.height, room.width / room.height
        return min(long - 1.1 * wide, 4.5 * wide - 4 - long, 3 - long, 3 - wide)

    def row_pitch(self, d, r):
        return r.y - self.row(d, r.number - 1).y

    def climb(self, d, r):
        return r.floor - (0.0 if r.number == 1 else self.row(d, r.number - 1).floor)

    def riser_step(self, d, r):
        return self.climb(d, r) / r.risers

    def step_going(self, d, r):
        going = self.problem.seating.platforms.going
        shared = (r.y - self.row(d, r.number - 1).y) / r.risers
        return shared if going is None else np.minimum(going, shared)

    def platform_height(self, d, r):
        return r.floor

    def guard_drop(self, d, r):
        return r.floor

    def door_to_step(self, d, r):
        edge = self.front_of_platform(d, r)
        end = self.row(d, r.number).back if r.number < self.count else self.last_end(d)
        apart = []
        for door in self.problem.room.doors:
            ys = swept_points(door, self.problem)[:, 1]
            if r.number == self.count and "platform.behind" in d:
                down = np.maximum(ys.min() - end, end - ys.max())  # to the step down behind
                apart.append(np.where((r.floor > LATE) & (end < self.problem.room.length - LATE), down, np.inf))
                apart.append(self.past_rear_steps(d, r, end, swept_points(door, self.problem)))
            apart.append(np.where(self.climb(d, r) > LATE, np.maximum(edge - ys.max(), ys.min() - edge), np.inf))
            apart.append(self.past_steps(d, r, swept_points(door, self.problem)))
            # a raised floor before the door at another level than its threshold is a step there and then
            stepped = (r.floor > LATE) & (abs(r.floor - door.level) > 0.015 + LATE)
            before_it = np.maximum(edge - ys.max(), ys.min() - end) < 0.001 - LATE  # what touches counts
            apart.append(np.where(stepped & before_it, 0.0, np.inf))
        return self._least(apart)

    def past_steps(self, d, r, points):
        """Along y, from a door to the steps before a platform's edge, on the sides on which it reaches them."""
        if r.number == 1 and self.problem.seating.platforms.going is None:
            return np.inf  # nothing says where they lie
        b, edge = self.row(d, max(1, r.number - 1)), self.front_of_platform(d, r)
        risers = np.asarray(d[f"row{r.number}.risers"])
        going = self.problem.seating.platforms.going if r.number == 1 else self.step_going(d, r)
        first = edge - going * (risers - 1)
        apart = np.maximum(first - points[:, 1].max(), points[:, 1].min() - edge)
        there = (self.climb(d, r) > LATE) & (risers > 1.5)
        left = there & (points[:, 0].min() < np.minimum(r.left, b.left) - LATE)
        right = there & (points[:, 0].max() > np.maximum(r.right, b.right) + LATE)
        return self.of_aisles(d, *(np.where(reached, apart, np.inf) for reached in (left, right)))

    def past_rear_steps(self, d, r, end, points):
        """Along y, from a door to the steps of 11 in cut into the last platform, as many as lead up to all its rows."""
        rows = [self.row(d, n) for n in range(1, self.count + 1)]
        risers = sum(np.where(self.climb(d, row) > LATE, d[f"row{row.number}.risers"], 0) for row in rows)
        first = end - (risers - 1) * 11 * 0.0254
        apart = np.maximum(first - points[:, 1].max(), points[:, 1].min() - end)
        there = (r.floor > LATE) & (end < self.problem.room.length - LATE)
        left, right = there & (points[:, 0].min() < r.left - LATE), there & (points[:, 0].max() > r.right + LATE)
        return self.of_aisles(d, *(np.where(reached, apart, np.inf) for reached in (left, right)))

    def seat_count(self, d):
        return sum(row.seats + len(row.places) for row in (self.row(d, n) for n in range(1, self.count + 1)))

    def swept(self, door: Door):
        return swept_points(door, self.problem)

    def gap_to_door(self, door: Door, left, right, front, rear):
        """Signed distance from what the leaf sweeps to a rectangle."""
        hinge, closed, turn = swing(door, self.problem)
        first, last = sorted((closed, closed + turn))
        points = [hinge, *(hinge + door.leaf * np.array([math.cos(a), math.sin(a)]) for a in (first, last))]
        return gap_to_sector(points, (hinge, door.leaf, first, last), (left, right, front, rear))

    @staticmethod
    def _least(values):
        values = list(values)
        return np.min(np.stack(np.broadcast_arrays(*values)), axis=0) if values else np.inf

    @staticmethod
    def _greatest(values):
        return np.max(np.stack(np.broadcast_arrays(*values)), axis=0)

    def room(self, name: str, d, row: int | None, value, order: int = 1, axis: str = "length", **options):
        """How far a value may lie beyond a limit that holds to within ROOMY: by the slope of the
        function between what is measured with a tape and what is reported."""
        decibel = 20 / math.log(10)
        with np.errstate(all="ignore"):
            if name == "mode_level":  # of the place in the room
                slope = decibel * order * math.pi * np.sqrt(np.maximum(10 ** (-np.asarray(value) / 10) - 1, 0))
            elif name == "direct_to_reverberant":
                slope = decibel / (self.row(d, row).y - d["baffle.depth"])
            elif name in LINKED_TO_ABSORPTION and self.problem.room.surfaces:  # of the absorbed share
                slope = self.decay_slope(d, value, **options)
            elif name == "luminance":
                slope = 2 * self.luminance(d) / self.width(d)
            elif name == "image_area":
                slope = 2 * self.width(d) / self.aspect
            elif name in ("door_clearance", "door_row_clearance"):  # of the square of a distance
                slope = 0.5 / np.maximum(np.abs(value), ROOMY**0.5)
            else:
                slope = 2.0 if name == "horizontal_angle" else 1.0
        return ROOMY * np.maximum(slope, 1.0)

    # --- limits, goals, score -----------------------------------------------------------------

    def rows_of(self, name: str, which: str) -> list[int | None]:
        if not self.has_light(name):
            return []
        if name in WHOLE:
            return [None]
        there = range(FROM_ROW_2.get(name, 1), self.count + 1)
        if which in ("all", "worst"):
            return list(there)
        wanted = self.reference if which == "reference" else int(which)
        return [n for n in there if n == wanted]

    def own_limits(self):
        """What holds in any room: nothing sticks out of it, overlaps, or leads downwards."""
        aisle = self.problem.seating.aisle
        least = dict.fromkeys(
            (
                "side_room",
                "frame_to_ceiling",
                "frame_to_floor",
                "door_clearance",
                "front_obstruction_clearance",
                "walkway",
                "rear_walkway",
                "row_to_wall",
                "riser_step",
                "seated_headroom",
                "row_obstruction_clearance",
                "loudspeaker_room",
                "loudspeaker_spacing",
                *self.shape_limits(),
            ),
            0.0,
        )
        if self.problem.loudspeakers.least_distance:
            least["listening_distance_margin"] = 0.0
        least["baffle_margin"] = self.problem.baffle.margin
        least["aisle_width"] = aisle.width if aisle.sides != "none" else 0.0
        own = [(name, "all", bound, None, {}) for name, bound in least.items()]
        return own + self.light_limits() + self.row_limits()

    def slacks(self, d) -> dict[tuple, np.ndarray]:
        """Each limit on each row: distance of its value from what just holds, negative where it breaks."""
        wanted = [(m.measure, m.row, m.at_least, m.at_most, dict(m.options)) for m in self.problem.limits]
        found: dict[tuple, np.ndarray] = {}
        for at, (name, which, low, high, options) in enumerate(wanted + self.own_limits()):
            if which == "worst seat":
                for row in self.rows_of(name, "all"):
                    for k, (value, there) in enumerate(self.seat_values(name, d, row)):
                        room = self.room(name, d, row, value, **options)
                        if low is not None:
                            found[at, name, (row, k), "at least"] = np.where(there, value - low + room, np.inf)
                        if high is not None:
                            found[at, name, (row, k), "at most"] = np.where(there, high - value + room, np.inf)
                continue
            for row in self.rows_of(name, which):
                value = self.asked(name, d, row, **options)
                room = self.room(name, d, row, value, **options)
                if low is not None:
                    found[at, name, row, "at least"] = np.where(np.isnan(value), np.inf, value - low + room)
                if high is not None:
                    found[at, name, row, "at most"] = np.where(np.isnan(value), np.inf, high - value + room)
        return found

    def holds(self, d):
        """Whether every limit holds, and the rows are in order behind the image."""
        truth = np.asarray(self.row(d, 1).feet >= self.screen_y(d) - LATE)
        for slack in self.slacks(d).values():
            truth = truth & (slack >= 0)
        return truth

    def parts_of(self, goal, d) -> tuple[list, bool]:
        """What a goal scores in each row, or seat, that it is about (1 in a seat that is not there); and
        whether the worst of them counts, not the mean."""
        if goal.row == "worst seat":
            several = [s for row in self.rows_of(goal.measure, "all") for s in self.seat_values(goal.measure, d, row)]
            return [np.where(there, fade(goal, value), 1.0) for value, there in several], True
        options = dict(goal.options)
        rows = self.rows_of(goal.measure, goal.row)
        values = [self.asked(goal.measure, d, row, **options) for row in rows]
        return [np.where(np.isnan(v), 1.0, fade(goal, v)) for v in values], goal.row == "worst"

    def goal_scores(self, d) -> list[tuple[int, float, np.ndarray]]:
        """Index, weight and score (0 to 1) of every goal that these rows have."""
        found = []
        for at, goal in enumerate(self.problem.goals):
            scores, worst = self.parts_of(goal, d)
            if scores:
                stacked = np.stack(np.broadcast_arrays(*scores))
                weight = goal.weight * self.control(goal.measure)
                found.append((at, weight, stacked.min(axis=0) if worst else stacked.mean(axis=0)))
        return found

    def control(self, name: str) -> float:
        """What is left of a weight where something else evens out single modes: half, or a quarter."""
        bass = self.problem.bass
        if bass is None or name not in ("midpoint_offset", "mode_null_offset", "mode_level"):
            return 1.0
        return {"none": 1.0, "several_subwoofers": 0.5, "active": 0.25}[bass.modal_control]

    def score(self, d):
        """0 to 100."""
        parts = self.goal_scores(d)
        weight = math.fsum(w for _, w, _ in parts)
        return sum(100 * w * s for _, w, s in parts) / weight if parts else np.float64(100)


class ListJudge(WithLists, Judge):
    """A judge of a problem that has lists to choose from."""

    without = Judge


def judge_of(problem: Problem, design: Mapping[str, float]) -> Judge:
    """The judge for a full design record, as the program writes it."""
    kind = design["screen.type"]
    (screen,) = [s for s in problem.screens if s.type == kind or SCREENS.index(s.type) == kind]
    only = replace(problem, screen=screen, other_screens=())
    return Judge(only, int(design["rows"]), design["screen.aspect"])


def level(ratio):
    """20 lg |ratio|, in decibels."""
    return 20 * np.log10(np.abs(ratio))


def fade(goal, value):
    """1 inside the band, straight down to 0 over the fade."""
    below = np.inf if goal.low is None else 1 + (value - goal.low) / goal.fade
    above = np.inf if goal.high is None else 1 + (goal.high - value) / goal.fade
    return np.clip(np.minimum(below, above), 0, 1)


# --- doors ------------------------------------------------------------------------------------


def swing(door: Door, problem: Problem) -> tuple[np.ndarray, float, float]:
    """Hinge, the bearing of the closed leaf, and the signed angle that it turns through."""
    room = problem.room
    hinge = {
        "left": (0.0, door.hinge),
        "right": (room.width, door.hinge),
        "front": (door.hinge, 0.0),
        "rear": (door.hinge, room.length),
    }[door.wall]
    towards = {"front": (0, -1), "rear": (0, 1), "left": (-1, 0), "right": (1, 0)}[door.towards]
    inwards = {"left": (1, 0), "right": (-1, 0), "front": (0, 1), "rear": (0, -1)}[door.wall]
    counter_clockwise = towards[0] * inwards[1] - towards[1] * inwards[0] > 0
    turn = 0.0 if door.opens == "out" else (door.angle if counter_clockwise else -door.angle)
    return np.array(hinge), math.atan2(towards[1], towards[0]), turn


def swept_points(door: Door, problem: Problem, count: int = 721) -> np.ndarray:
    """The outline of what the leaf sweeps, x and y: the hinge and points of the arc. Points at the
    axes' directions are among them, so that its extents are exact."""
    hinge, closed, turn = swing(door, problem)
    angles = list(np.linspace(closed, closed + turn, count))
    low, high = sorted((closed, closed + turn))
    angles += [q * math.pi / 2 for q in range(-8, 9) if low <= q * math.pi / 2 <= high]
    arc = np.array([hinge + door.leaf * np.array([math.cos(a), math.sin(a)]) for a in sorted(angles)])
    return np.vstack([hinge, arc])


def clear_of_door(door: Door, problem: Problem, left, right, depth):
    """Signed distance from what the leaf sweeps to the baffle wall.

    Of two convex bodies it is the greatest, over all directions, of the gap between their shadows on
    that direction; here thousands of directions are tried, those square to the leaf among them. The
    wall stands against the front of the room, so only directions that do not point rearwards count.
    """
    hinge, closed, turn = swing(door, problem)
    ends = [hinge + door.leaf * np.array([math.cos(a), math.sin(a)]) for a in (closed, closed + turn)]
    square = [a + q for a in (closed, closed + turn) for q in (math.pi / 2, -math.pi / 2)]
    square = [math.remainder(a, math.tau) for a in square]
    towards = np.concatenate([np.linspace(-math.pi, 0, DIRECTIONS), [a for a in square if a <= 0]])
    nx, ny = np.cos(towards), np.sin(towards)
    reach = np.max([nx * x + ny * y for x, y in (hinge, *ends)], axis=0)
    along = np.mod((towards - closed) * math.copysign(1, turn), math.tau) <= abs(turn)
    reach = np.where(along, nx * hinge[0] + ny * hinge[1] + door.leaf, reach)

    corners = np.broadcast_arrays(np.asarray(left, float), np.asarray(right, float), np.asarray(depth, float))
    several, back = np.unique(np.stack([c.ravel() for c in corners]), axis=1, return_inverse=True)
    gaps = [np.max(np.where(nx >= 0, nx * a, nx * b) + ny * y - reach) for a, b, y in several.T]
    return np.asarray(gaps)[back].reshape(corners[0].shape)


WHOLE = (
    "picture_width",
    "image_width",
    "image_height",
    "image_diagonal",
    "image_area",
    "baffle_width",
    "baffle_margin",
    "side_room",
    "frame_to_ceiling",
    "frame_to_floor",
    "loudspeaker_room",
    "loudspeaker_spacing",
    "throw_ratio",
    "lens_offset",
    "luminance",
    "off_centre",
    "opening_clearance",
    "light_path_obstruction_clearance",
    "lens_to_ceiling",
    "loudspeaker_wall_distance",
    "loudspeaker_obstruction_clearance",
    "loudspeaker_depth_room",
    "cabinet_room",
    "loudspeaker_to_edge",
    "baffle_side_room",
    "door_clearance",
    "front_obstruction_clearance",
    "reverberation_time",
    "reverberation_ratio",
    "mean_absorption",
    "treated_area",
    "transition_frequency",
    "seat_to_seat_spread",
    "surround_reach",
    "surround_stretch",
    "room_proportion",
    "rear_walkway",
    "rear_landing",
    "rear_headroom",
    "seat_count",
    "riser_difference",
    "guard_height",
    "wheelchair_rise",
    "cost",
    "chair_width",
    "chair_recline",
    "throw_ratio_margin",
    "lens_offset_margin",
)
"""Measures with one value for the design; all others have one a row."""

FROM_ROW_2 = {"sightline_clearance": 2, "sound_path_clearance": 2, "row_pitch": 2, "step_going": 2, **BEHIND}
"""Measures that look at the row in front, or further, and the first row that has them."""
