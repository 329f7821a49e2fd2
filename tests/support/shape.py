"""The checker's formulas for the room's shape: ceilings, doors, openings, ways, the baffle's edges; a
part of checker.Judge. Pieces of a ceiling are clipped to what lies under them, corners of rows and
doors are tried in thousands of directions."""

from __future__ import annotations

import itertools
import math
from functools import lru_cache

import numpy as np
from shapely.geometry import Polygon, box

LATE = 4e-6
"""As gates shut: a few micrometres late, farther than a limit may be missed."""

A_STEP = 1e-3
"""Metres of height that make a step."""

OVERHEAD = 2.0
"""Metres above a floor from which a thing is overhead rather than in the way."""


def under(profile, low, high):
    """Lowest height of a profile, kept level beyond its ends, over the stretch from low to high."""
    points = [(-1e3, profile[0][1]), *profile, (1e3, profile[-1][1])]
    found = np.full(np.broadcast_shapes(np.shape(low), np.shape(high)), np.inf)
    for (a, za), (b, zb) in zip(points, points[1:]):
        if b > a:
            first, last = np.maximum(low, a), np.minimum(high, b)
            lowest = np.minimum(np.interp(first, (a, b), (za, zb)), np.interp(last, (a, b), (za, zb)))
            found = np.where((low < b - LATE) & (high > a + LATE), np.minimum(found, lowest), found)
    return found


@lru_cache(maxsize=256)
def volume_of(room):
    """Of the air under all of the ceiling: slices across the room at the nodes of a quadrature that is
    exact between the slices at which anything bends."""
    across = [(0.0, room.height), (room.width, room.height)]
    if room.ceiling_across:
        points = list(room.ceiling_across)
        across = [(0.0, points[0][1]), *points, (room.width, points[-1][1])]
    section = Polygon([(0, 0), *across, (room.width, 0)]).buffer(0)
    along = [(0.0, room.height), (room.length, room.height)]
    if room.ceiling:
        points = list(room.ceiling)
        along = [(0.0, points[0][1]), *points, (room.length, points[-1][1])]
    total = 0.0
    for (a, za), (b, zb) in zip(along, along[1:]):
        if b <= a:
            continue
        bends = {0.0, 1.0}
        if za != zb:
            bends |= {t for _, z in across if 0 < (t := (z - za) / (zb - za)) < 1}
        cuts = sorted(bends)
        for low, high in zip(cuts, cuts[1:]):
            for node, weight in zip(*np.polynomial.legendre.leggauss(4)):
                t = (low + high) / 2 + node * (high - low) / 2
                slice_ = section.intersection(box(0, 0, room.width, za + t * (zb - za)))
                total += weight * (high - low) / 2 * (b - a) * slice_.area
    return total


@lru_cache(maxsize=256)
def faces_of(room):
    """Areas of floor, ceiling and walls. The plan is cut at the profiles' points; in each piece every candidate
    for the lowest ceiling is a plane, whose part is where it lies below the others; steps and walls are
    differences and cuts of sections."""
    x, y = _pieces(room.ceiling_across, room.width, room.height), _pieces(room.ceiling, room.length, room.height)
    roof = 0.0
    for (x0, zx0), (x1, zx1) in x:
        for (y0, zy0), (y1, zy1) in y:
            sx, sy = (zx1 - zx0) / (x1 - x0), (zy1 - zy0) / (y1 - y0)
            planes = [(0.0, 0.0, room.height), (sx, 0.0, zx0 - sx * x0), (0.0, sy, zy0 - sy * y0)]
            for n, (a, b, c) in enumerate(planes):
                part = box(x0, y0, x1, y1)
                for m, (a2, b2, c2) in enumerate(planes):
                    if m != n:  # of planes that are the same, the first has the area
                        part = part.intersection(_below(a - a2, b - b2, c - c2, room, tie=m > n))
                roof += part.area * math.sqrt(1 + a * a + b * b)
    roof += sum(_step(x, at, y, room.height) for at in range(len(x) - 1))
    roof += sum(_step(y, at, x, room.height) for at in range(len(y) - 1))
    found = {
        "floor": room.width * room.length,
        "ceiling": roof,
        "left": _section(y, min(room.height, x[0][0][1])),
        "right": _section(y, min(room.height, x[-1][1][1])),
        "front": _section(x, min(room.height, y[0][0][1])),
        "rear": _section(x, min(room.height, y[-1][1][1])),
    }
    return {**found, "walls": sum(found[wall] for wall in ("left", "right", "front", "rear"))}


def _pieces(points, end, height):
    """The straight pieces of a profile from wall to wall, without its steps."""
    points = list(points) or [(0.0, height)]
    points = [(0.0, points[0][1]), *points, (end, points[-1][1])]
    return [(one, two) for one, two in zip(points, points[1:]) if two[0] > one[0]]


def _section(pieces, top):
    """Area under a profile, up to a height."""
    outline = [(pieces[0][0][0], 0.0), *(point for piece in pieces for point in piece), (pieces[-1][1][0], 0.0)]
    return Polygon(outline).intersection(box(0, 0, pieces[-1][1][0], top)).area


def _step(pieces, at, others, height):
    """Area of the upright face between two pieces of a profile, as far as the other profile is higher."""
    ends = min(height, pieces[at][1][1]), min(height, pieces[at + 1][0][1])
    return abs(_section(others, ends[0]) - _section(others, ends[1]))


def _below(a, b, c, room, tie):
    """Of the room's plan, and a little more, where a x + b y + c <= 0."""
    plan = box(-1, -1, room.width + 1, room.length + 1)
    size = math.hypot(a, b)
    if size < 1e-12:
        return plan if c < -1e-12 or (abs(c) <= 1e-12 and tie) else Polygon()
    nx, ny, away = a / size, b / size, -c / size
    far = 1e3
    foot = (nx * away, ny * away)
    corners = [
        (foot[0] + s * far * -ny - t * far * nx, foot[1] + s * far * nx - t * far * ny)
        for s, t in ((-1, 0), (1, 0), (1, 1), (-1, 1))
    ]
    return plan.intersection(Polygon(corners))


class OfShape:
    """Reads ``self.problem``; the rest of the judge gives rows and the image."""

    # --- baffle and image -----------------------------------------------------------------------

    def wall(self, d):
        """Width of the baffle wall."""
        left, right = self.edges(d)
        return right - left

    def edges(self, d):
        baffle = self.problem.baffle
        if baffle.width is not None:
            half = d["baffle.width"] / 2
        else:
            half = self.width(d) / 2 + d["screen.bezel"] + self.beside_frame() + baffle.margin
        left = d["baffle.left"] if baffle.left is not None else self.centre(d) - half
        right = d["baffle.right"] if baffle.right is not None else self.centre(d) + half
        return left, right

    def frame(self, d):
        half = self.width(d) / 2 + d["screen.bezel"]
        return self.centre(d) - half, self.centre(d) + half

    def baffle_width(self, d):
        return self.wall(d)

    def baffle_margin(self, d):
        (left, right), (inner_left, inner_right) = self.edges(d), self.frame(d)
        return np.minimum(inner_left - left, right - inner_right) - self.beside_frame()

    def side_room(self, d):
        left, right = self.edges(d)
        return np.minimum(left, self.problem.room.width - right)

    def baffle_side_room(self, d, side):
        left, right = self.edges(d)
        return left if side == "left" else self.problem.room.width - right

    def off_centre(self, d):
        return np.abs(self.centre(d) - self.problem.room.width / 2)

    def has_wall(self):
        return getattr(self.problem.baffle.depth, "value", None) != 0.0

    def stands_at_the_front(self, d):
        """Boxes: the baffle wall, from floor to the frame's top, and the frame that hangs before it, 20 mm deep."""
        (left, right), top = self.edges(d), self.top_of_front(d)
        low, face = d["screen.bottom"] - d["screen.bezel"], self.screen_y(d) + 0.02
        place, _, high, gap = self.cabinets()
        if place == "under":
            low = low - gap - high
        if not self.has_wall():
            if place == "beside":
                low = np.minimum(low, d["screen.bottom"] + self.height(d) / 2 - high / 2)
            return [Extents((left, right), (-np.inf, face), (low, top))]
        wall = Extents((left, right), (-np.inf, d["baffle.depth"]), (-np.inf, top))
        boxes = [wall, Extents(self.frame(d), (d["baffle.depth"], face), (low, top))]
        if place == "beside":  # a wall of no depth holds no cabinets: they stand before the front wall
            aside = self.beside_frame()
            (left, right), nowhere = self.frame(d), -1e3
            low = np.minimum(low, d["screen.bottom"] + self.height(d) / 2 - high / 2)
            there = np.where(d["baffle.depth"] > LATE, nowhere, face)
            boxes.append(Extents((left - aside, right + aside), (-np.inf, there), (low, top)))
        return boxes

    def apart_from_front(self, d, b, *, behind):
        """Of each of the boxes: the greatest gap to another box along an axis."""
        for k, one in enumerate(self.stands_at_the_front(d)):
            gaps = [b.x[0] - one.x[1], one.x[0] - b.x[1], b.y[0] - one.y[1], one.y[0] - b.y[1]]
            gaps += [b.z[0] - one.z[1], one.z[0] - b.z[1]]
            if behind and k == 0:  # the wall is built around what lies behind its face
                gaps.append(d["baffle.depth"] - b.y[1])
            yield self._greatest(gaps)

    def front_obstruction_clearance(self, d):
        return self._least(
            apart for b in self.problem.room.obstructions for apart in self.apart_from_front(d, b, behind=True)
        )

    # --- ceiling ----------------------------------------------------------------------------------

    def air(self, x, y):
        """Height of the ceiling, at its lowest over a rectangle."""
        room = self.problem.room
        lowest = np.asarray(room.height)
        if room.ceiling:
            lowest = np.minimum(lowest, under(room.ceiling, *y))
        if room.ceiling_across:
            lowest = np.minimum(lowest, under(room.ceiling_across, *x))
        return lowest

    def frame_to_ceiling(self, d):
        top = d["screen.bottom"] + self.height(d) + d["screen.bezel"]
        return self.air(self.frame(d), (d["baffle.depth"], self.screen_y(d) + 0.02)) - top

    def may_hang(self, d):
        """The boxes and, where the image is projected, the projector: 40 cm from the lens away from the image, 20 cm to
        either side, 10 cm down and 12 cm up (common practice, no source)."""
        yield from self.problem.room.obstructions
        if "projector.y" in d and "projector.z" in d:
            x, y, z = self.centre(d), d["projector.y"], d["projector.z"]
            yield Extents((x - 0.2, x + 0.2), (y, y + 0.4), (z - 0.1, z + 0.12))

    def above(self, d, x, y, floor, reach):
        """From a floor up to the ceiling or the lowest thing that hangs over a rectangle, its underside
        higher than ``reach``: what begins lower, nobody is under. The projector always hangs."""
        clear = self.air(x, y) - floor
        for k, b in enumerate(self.may_hang(d)):
            over = (x[0] < b.x[1] - LATE) & (x[1] > b.x[0] + LATE) & (y[0] < b.y[1] - LATE) & (y[1] > b.y[0] + LATE)
            hangs = (b.z[0] > reach + LATE) | (k >= len(self.problem.room.obstructions))
            clear = np.where(over & hangs, np.minimum(clear, b.z[0] - floor), clear)
        return clear

    def ends(self, r):
        return r.left, r.right

    def standing_headroom(self, d, r):
        clear = self.above(d, self.ends(r), (self.front_of_platform(d, r), r.back), r.floor, r.head)
        return np.minimum(clear, self.rear_headroom(d)) if r.bar else clear  # one comes to a bar from behind

    def seated_headroom(self, d, r):
        return self.above(d, self.ends(r), (r.y, r.back), r.head, r.floor)

    def aisle_headroom(self, d, r):
        aisle, (left, right) = self.problem.seating.aisle, self.ends(r)
        if aisle.sides == "none":
            return np.inf
        y = self.front_of_platform(d, r), r.back
        sides = (left - aisle.width, left), (right, right + aisle.width)
        clear = [self.above(d, x, y, r.floor, r.head) for x in sides]
        if r.number > 1 or self.problem.seating.platforms.going is not None:
            clear = [np.minimum(*both) for both in zip(clear, self.above_treads(d, r))]
        for b in self.problem.room.obstructions:  # one walks round what stands in an aisle, on the wall's side
            here = self.in_the_way(r.floor, b, *y)
            blocks = (
                (left - b.x[1] < aisle.width - LATE) & (b.x[0] < left - LATE),
                (b.x[0] - right < aisle.width - LATE) & (b.x[1] > right + LATE),
            )
            round_it = (b.x[0] - aisle.width, b.x[0]), (b.x[1], b.x[1] + aisle.width)
            clear = [
                np.where(here & there, np.minimum(high, self.above(d, x, b.y, r.floor, r.head)), high)
                for high, there, x in zip(clear, blocks, round_it)
            ]
        return self.of_aisles(d, *clear)

    def above_treads(self, d, r):
        """At either side: from the treads up to a row to what hangs over them, beside whichever row reaches farther out."""
        wide, own = self.problem.seating.aisle.width, self.problem.seating.platforms.going
        if r.number == 1:  # from the room's floor, where people are as tall as those who sit there
            left, right, floor, head, edge = r.left, r.right, 0.0, r.head - r.floor, r.feet
        else:
            b = self.row(d, r.number - 1)
            left, right = np.minimum(r.left, b.left), np.maximum(r.right, b.right)
            floor, head, edge = b.floor, b.head, b.back
        up = r.floor - floor
        clear = [np.inf, np.inf]
        for n in range(2, 21):
            shared = np.inf if r.number == 1 else (r.y - b.y) / n
            going = shared if own is None else np.minimum(own, shared)
            for k in range(1, n):
                y = edge - (n - k) * going, edge - (n - k - 1) * going
                here = (np.abs(np.asarray(d[f"row{r.number}.risers"]) - n) < 0.5) & (up > A_STEP + LATE)
                for side, x in enumerate(((left - wide, left), (right, right + wide))):
                    over = self.above(d, x, y, floor + up * k / n, head)
                    clear[side] = np.where(here, np.minimum(clear[side], over), clear[side])
        return clear

    def rear_headroom(self, d):
        """Over the last row's span, from the backs of its chairs to the rear wall; on two levels where there are two."""
        last, wall = self.row(d, self.count), self.problem.room.length
        sitting = last.head - last.floor
        whole = self.above(d, self.ends(last), (last.back, wall), last.floor, last.head)
        if "platform.behind" in d:
            end = last.back + d["platform.behind"]
            near = self.above(d, self.ends(last), (last.back, end), last.floor, last.head)
            far = self.above(d, self.ends(last), (np.minimum(end, wall), wall), 0.0, sitting)
            whole = np.minimum(near, np.where(end < wall - LATE, far, np.inf))
        return np.where(wall - last.back > 0.3 + LATE, whole, np.inf)

    # --- ways -------------------------------------------------------------------------------------

    def of_aisles(self, d, left, right):
        sides = self.problem.seating.aisle.sides
        if sides in ("left", "right"):
            return left if sides == "left" else right
        if sides != "one":
            return np.minimum(left, right)
        if "aisle.side" in d:
            return np.where(np.asarray(d["aisle.side"]) < 0.5, left, right)
        return np.maximum(left, right)

    def front_of_platform(self, d, r):
        return r.feet if r.number == 1 else self.row(d, r.number - 1).back

    def standing(self, d):
        """What stands in the room: the boxes of the file, and cabinets that no wall holds."""
        yield from self.problem.room.obstructions
        yield from self.free_cabinets(d)

    def free_cabinets(self, d):
        """Cabinets of known depth, not behind the image, that no wall holds: nowhere where one does."""
        place, wide, high, _ = self.cabinets()
        if self.problem.loudspeakers.depth and place != "behind":
            places, middle = self.speaker_places(d)
            away = np.where(np.asarray(d["baffle.depth"]) > LATE, -np.inf, 0.0)
            for x in places:
                at, z = (x - wide / 2, x + wide / 2), (middle - high / 2, middle + high / 2)
                yield Extents(at, (away, away + self.problem.loudspeakers.depth), z)

    def in_the_way(self, floor, b, low, high):
        """Whether a box stands among people who walk on a floor between two lines."""
        along = (low < b.y[1] - LATE) & (high > b.y[0] + LATE)
        return along & (b.z[0] < floor + OVERHEAD - LATE) & (b.z[1] > floor + LATE)

    def aisle_width(self, d, r):
        walked = [(True, r.floor, self.front_of_platform(d, r), r.back)]
        if "platform.behind" in d and r.number == self.count:  # beside the steps down, too
            walked.append((r.floor > LATE, r.floor, r.back, self.last_end(d)))
        return self.of_aisles(d, *self.beside(d, r, walked))

    def on_steps(self, d, r):
        """From a row's end to the wall, past what stands on the steps up to it."""
        going = self.problem.seating.platforms.going
        if r.number == 1 and going is None:
            return np.inf
        risers, low = np.asarray(d[f"row{r.number}.risers"]), self.front_of_platform(d, r)
        deep = (risers - 1) * (going if r.number == 1 else self.step_going(d, r))
        there = (self.climb(d, r) > A_STEP + LATE) & (risers > 1.5)
        floor = 0.0 if r.number == 1 else self.row(d, r.number - 1).floor
        ways = self.beside(d, r, [(there, floor, low - deep, low)])
        return np.where(there, self.of_aisles(d, *ways), np.inf)

    def beside(self, d, r, walked):
        """Clear ways to the left and right of a row, past what stands on stretches of floor (if there, level, from, to)."""
        room, (left, right) = self.problem.room, self.ends(r)
        ways = [left, room.width - right]

        def here(*boxes):
            stretches = [
                there & np.all([self.in_the_way(floor, b, *y) for b in boxes], axis=0) for there, floor, *y in walked
            ]
            return np.any(np.stack(np.broadcast_arrays(*stretches)), axis=0)

        for b in self.standing(d):
            past = np.maximum(left - b.x[1], b.x[0]), np.maximum(b.x[0] - right, room.width - b.x[1])
            ways = [np.where(here(b), np.minimum(way, by), way) for way, by in zip(ways, past)]
        for some in self.in_line("x"):
            between = [after.x[0] - before.x[1] for before, after in zip(some, some[1:])]
            widest = max(between)
            past = (
                np.maximum(some[0].x[0], left - some[-1].x[1]),
                np.maximum(some[0].x[0] - right, room.width - some[-1].x[1]),
            )
            ways = [np.where(here(*some), np.minimum(way, np.maximum(widest, by)), way) for way, by in zip(ways, past)]
        return ways

    def in_line(self, along):
        """Two or three boxes that share a line across ``along``, in the order in which one comes to them."""
        other, boxes = {"x": "y", "y": "x"}[along], self.problem.room.obstructions
        for count in (2, 3):
            for some in itertools.permutations(boxes, count):
                ends = [getattr(b, along) for b in some]
                shared = [getattr(b, other) for b in some]
                if ends == sorted(ends) and max(s[0] for s in shared) < min(s[1] for s in shared):
                    yield some

    def row_to_wall(self, d, r):
        left, right = self.ends(r)
        return np.minimum(left, self.problem.room.width - right)

    def across(self, d, r, low, high, floor=None, x=None):
        (left, right), clear = x or self.ends(r), high - low
        floor = r.floor if floor is None else floor
        for b in self.standing(d):
            here = self.in_the_way(floor, b, low, high) & (left < b.x[1] - LATE) & (right > b.x[0] + LATE)
            clear = np.where(here, np.minimum(clear, np.maximum(b.y[0] - low, high - b.y[1])), clear)
        for some in self.in_line("y"):
            here = True
            for b in some:
                here = here & self.in_the_way(floor, b, low, high) & (left < b.x[1] - LATE) & (right > b.x[0] + LATE)
            between = max(after.y[0] - before.y[1] for before, after in zip(some, some[1:]))
            past = np.maximum(between, np.maximum(some[0].y[0] - low, high - some[-1].y[1]))
            clear = np.where(here, np.minimum(clear, past), clear)
        return clear

    def walkway(self, d, r):
        if r.bar:
            return self.on_the_last_level(d)
        return self.across(d, r, self.screen_y(d) if r.number == 1 else self.row(d, r.number - 1).back, r.feet)

    def last_end(self, d):
        """Where the floor that the last row stands on ends: the room's own goes on to the wall."""
        last, wall = self.row(d, self.count), self.problem.room.length
        if "platform.behind" not in d:
            return wall
        return np.where(last.floor > LATE, last.back + d["platform.behind"], wall)

    def on_the_last_level(self, d):
        last, wall = self.row(d, self.count), self.problem.room.length
        whole = self.across(d, last, last.back, wall)
        if "platform.behind" not in d:
            return whole
        some = np.minimum(self.across(d, last, last.back, last.back + d["platform.behind"]), wall - last.back)
        return np.where(last.floor > LATE, some, np.maximum(some, whole))

    def rear_walkway(self, d):
        above = self.on_the_last_level(d)
        if "platform.behind" not in d:
            return above
        last, wall = self.row(d, self.count), self.problem.room.length
        below = self.across(d, last, last.back + d["platform.behind"], wall, floor=0.0)
        return np.maximum(above, below)

    def rear_landing(self, d):
        last, wall = self.row(d, self.count), self.problem.room.length
        end, aisle, (left, right) = last.back + d["platform.behind"], self.problem.seating.aisle.width, self.ends(last)
        below = self.across(d, last, end, wall, floor=0.0)
        feet = (self.across(d, last, end, wall, 0.0, x) for x in ((left - aisle, left), (right, right + aisle)))
        return np.where(last.floor > LATE, np.minimum(below, self.of_aisles(d, *feet)), np.inf)

    def apart_from_row(self, r, b):
        left, right = self.ends(r)
        return [left - b.x[1], b.x[0] - right, r.feet - b.y[1], b.y[0] - r.back, b.z[0] - r.head, r.floor - b.z[1]]

    def row_obstruction_clearance(self, d, r):
        hung = list(self.may_hang(d))[len(self.problem.room.obstructions) :]
        return self._least(self._greatest(self.apart_from_row(r, b)) for b in (*hung, *self.standing(d)))

    # --- doors and openings -------------------------------------------------------------------------

    def door_row_clearance(self, d, r):
        left, right = self.ends(r)
        return self._least([self.gap_to_door(door, left, right, r.feet, r.back) for door in self.problem.room.doors])

    def door_platform_clearance(self, d, r):
        front = self.front_of_platform(d, r)
        end = self.row(d, r.number).back if r.number < self.count else self.last_end(d)
        apart = []
        for door in self.problem.room.doors:
            if door.opens == "out":
                continue
            ys = self.swept(door)[:, 1]
            apart.append(np.where(r.floor > door.level + LATE, np.maximum(front - ys.max(), ys.min() - end), np.inf))
            apart.append(np.where(r.floor > door.level + LATE, self.past_steps(d, r, self.swept(door)), np.inf))
        return self._least(apart)

    def kept(self):
        """Extents of what windows and openings need clear before them."""
        room = self.problem.room
        for o in room.openings:
            inwards = {
                "left": ((0, o.keep), o.along),
                "right": ((room.width - o.keep, room.width), o.along),
                "front": (o.along, (0, o.keep)),
                "rear": (o.along, (room.length - o.keep, room.length)),
            }[o.wall]
            yield Extents(*inwards, o.z)
        for door in room.doors:
            if door.keep:
                x, y = self.doorway(door)
                into = {"left": ((0, door.keep), y), "right": ((room.width - door.keep, room.width), y)}
                into |= {"front": (x, (0, door.keep)), "rear": (x, (room.length - door.keep, room.length))}
                yield Extents(*into[door.wall], (0, door.level + 2.0))

    def opening_clearance(self, d):
        apart = [gap for b in self.kept() for gap in self.apart_from_front(d, b, behind=False)]
        for one in self.free_cabinets(d):
            apart += [
                self._greatest([gap for mine, own in pairs for gap in (mine[0] - own[1], own[0] - mine[1])])
                for b in self.kept()
                for pairs in [((b.x, one.x), (b.y, one.y), (b.z, one.z))]
            ]
        return self._least(apart)

    def row_opening_clearance(self, d, r):
        return self._least(self._greatest(self.apart_from_row(r, b)) for b in self.kept())

    # --- loudspeakers ---------------------------------------------------------------------------

    def speaker_places(self, d):
        place, wide, high, gap = self.cabinets()
        if place == "beside":
            aside = self.width(d) / 2 + d["screen.bezel"] + gap + wide / 2
        else:
            aside = self.speaker_offset(d)
        middle = d["screen.bottom"] + self.height(d) / 2
        if place == "under":
            middle = d["screen.bottom"] - d["screen.bezel"] - gap - high / 2
        if place == "over":
            middle = d["screen.bottom"] + self.height(d) + d["screen.bezel"] + gap + high / 2
        if place == "behind" and "loudspeakers.z" in d:
            middle = d["loudspeakers.z"]
        at = [self.centre(d) - aside, self.centre(d) + aside]
        return (at if place == "beside" else [*at, self.centre(d)]), middle

    def loudspeaker_wall_distance(self, d, side):
        (left, right, *_), _ = self.speaker_places(d)
        right = self.problem.room.width - right
        return {"left": left, "right": right, "nearer": np.minimum(left, right)}[side]

    def loudspeaker_obstruction_clearance(self, d):
        given = self.problem.loudspeakers
        if not given.depth:
            return np.inf
        places, middle = self.speaker_places(d)
        _, wide, high, _ = self.cabinets()
        low, top, face = middle - high / 2, middle + high / 2, d["baffle.depth"]
        if self.cabinets()[0] != "behind":  # no wall holds them where it has no depth
            face = np.where(face > LATE, face, given.depth)
        return self._least(
            self._greatest(
                [
                    x - wide / 2 - b.x[1],
                    b.x[0] - x - wide / 2,
                    face - given.depth - b.y[1],
                    b.y[0] - face,
                    b.z[0] - top,
                    low - b.z[1],
                ]
            )
            for x in places
            for b in self.problem.room.obstructions
        )

    def loudspeaker_depth_room(self, d):
        depth = self.problem.loudspeakers.depth
        return np.where(d["baffle.depth"] > LATE, d["baffle.depth"] - depth, np.inf) if depth else np.inf

    def cabinet_room(self, d):
        """Of each cabinet, down to the floor and up to the ceiling over it."""
        given, (place, wide, high, _) = self.problem.loudspeakers, self.cabinets()
        if place == "under" or (place == "behind" and not (given.depth and "loudspeakers.z" in d)):
            return np.inf
        places, middle = self.speaker_places(d)
        face = np.asarray(d["baffle.depth"], dtype=float)
        if given.depth:
            held = place == "behind" or face > LATE
            along = np.where(held, face - given.depth, 0.0), np.where(held, face, given.depth)
        else:
            along = face, self.screen_y(d) + 0.02
        air = self._least(self.air((x - wide / 2, x + wide / 2), along) for x in places)
        if place == "behind":  # without a wall there are none
            air = np.where(face > LATE, air, np.inf)
        return np.minimum(middle - high / 2, air - middle - high / 2)

    def loudspeaker_to_edge(self, d):
        if not self.problem.loudspeakers.depth:
            return np.inf
        ((left, right, *_), _), (first, last) = self.speaker_places(d), self.edges(d)
        half = self.cabinets()[1] / 2
        return np.where(d["baffle.depth"] > LATE, np.minimum(left - half - first, last - right - half), np.inf)

    # --- light --------------------------------------------------------------------------------------

    def light_path_obstruction_clearance(self, d):
        """Rays from the lens to the middle, to the sides and to the corners of the image, over the stretch of the
        room that a box shares with them."""
        image, lens, top = self.screen_y(d), d["projector.y"], d["screen.bottom"] + self.height(d)
        half = self.width(d) / 2

        def ray(at_image, at_lens, y):
            share = (np.clip(y, image, lens) - image) / (lens - image)
            return at_image + (at_lens - at_image) * share

        apart = []
        for b in self.problem.room.obstructions:
            middle = self.centre(d)
            clear = [
                np.minimum(*(b.z[0] - ray(top, d["projector.z"], y) for y in b.y)),
                np.minimum(*(ray(d["screen.bottom"], d["projector.z"], y) - b.z[1] for y in b.y)),
                np.minimum(*(b.x[0] - ray(middle + half, middle, y) for y in b.y)),
                np.minimum(*(ray(middle - half, middle, y) - b.x[1] for y in b.y)),
                image - b.y[1],
                b.y[0] - lens,
            ]
            # seen along the room, from above the image or from below it: the line from a corner of the image to the lens
            z, low = d["projector.z"], d["screen.bottom"]
            for corner, x in ((middle - half, b.x[1]), (middle + half, b.x[0])):
                ends = np.stack(np.broadcast_arrays(top, low, corner)[:2])
                over, under = ends + (z - ends) / (middle - corner) * (x - corner)
                clear += [np.where(z < top, -np.inf, b.z[0] - over), np.where(z > low, -np.inf, under - b.z[1])]
            # the lens is in the light: a box that reaches behind it is no farther from the light than from the lens
            z = d["projector.z"]
            of_lens = self._greatest([b.z[0] - z, z - b.z[1], b.x[0] - middle, middle - b.x[1], b.y[0] - lens])
            apart.append(np.where(b.y[1] > lens, np.minimum(self._greatest(clear), of_lens), self._greatest(clear)))
        for y, z in self.stretched():
            here = (image < y + LATE) & (lens > y + LATE) & (image - y < -LATE)
            apart.append(np.where(here, z - ray(top, d["projector.z"], y), np.inf))
        for x, z in self.ledges():
            inwards = 1.0 - np.abs(x - self.centre(d)) / half
            light = top + np.maximum(d["projector.z"] - top, 0.0) * inwards
            apart.append(np.where(inwards > LATE, z - light, np.inf))
        return self._least(apart)

    def ledges(self):
        """Where a ceiling that slopes across the room hangs lower than halfway between two points next to it."""
        points, width = list(self.problem.room.ceiling_across), self.problem.room.width
        near = 1e-6 * width
        heights = {x: min(z for at, z in points if at == x) for x, _ in points}

        def height(x):
            return np.interp(x, [at for at, _ in points], [z for _, z in points])

        inside = {x: z for x, z in heights.items() if near < x < width - near}
        return [(x, z) for x, z in inside.items() if z < (height(x - near) + height(x + near)) / 2 - 1e-9]

    def stretched(self):
        """The corners of a ceiling that slopes along the room, the walls' among them."""
        room = self.problem.room
        if not room.ceiling:
            return []
        points = list(room.ceiling)
        front = [(0.0, points[0][1])] if points[0][0] > 0 else []
        return [*front, *points, *([(room.length, points[-1][1])] if points[-1][0] < room.length else [])]

    def lens_to_ceiling(self, d):
        middle, y = self.centre(d), d["projector.y"]
        return self.air((middle - 0.15, middle + 0.15), (y - 0.15, y + 0.15)) - d["projector.z"]

    # --- what holds in any room ---------------------------------------------------------------------

    def shape_limits(self):
        """Name and least value of the room's own limits that its shape makes."""
        return [
            "door_row_clearance",
            "door_platform_clearance",
            *(("rear_landing",) if self.problem.seating.platforms.behind else ()),
            "opening_clearance",
            "row_opening_clearance",
            "loudspeaker_obstruction_clearance",
            "loudspeaker_depth_room",
            "cabinet_room",
            "loudspeaker_to_edge",
            *(("light_path_obstruction_clearance", "lens_to_ceiling") if self.problem.projector else ()),
        ]


class Extents:
    """A box."""

    def __init__(self, x, y, z) -> None:
        self.x, self.y, self.z = x, y, z


def gap_to_sector(points, arc, rectangle):
    """Signed distance from a convex sector to a rectangle: the greatest gap between their shadows over
    thousands of directions.

    points: corners of the sector; arc: hinge, radius, first and last bearing; rectangle: left, right,
    front, rear, numbers or arrays.
    """
    hinge, radius, first, last = arc
    square = [a + q for a in (first, last) for q in (math.pi / 2, -math.pi / 2)]
    towards = np.concatenate([np.linspace(-math.pi, math.pi, 40_001), square])
    nx, ny = np.cos(towards), np.sin(towards)
    reach = np.max([nx * x + ny * y for x, y in points], axis=0)
    along = np.mod(towards - first, math.tau) <= last - first
    reach = np.where(along, np.maximum(reach, nx * hinge[0] + ny * hinge[1] + radius), reach)
    corners = np.broadcast_arrays(*(np.asarray(e, float) for e in rectangle))
    several, back = np.unique(np.stack([c.ravel() for c in corners]), axis=1, return_inverse=True)
    gaps = [
        np.max(np.where(nx >= 0, nx * left, nx * right) + np.where(ny >= 0, ny * f, ny * b) - reach)
        for left, right, f, b in several.T
    ]
    return np.asarray(gaps)[back].reshape(corners[0].shape)
