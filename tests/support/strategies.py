"""Hypothesis strategies: random valid problems, and random designs of a space."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from hypothesis import strategies as st

from optimiser.design import Held, Space, Steps
from optimiser.problem.model import (
    Aisle,
    Baffle,
    Bar,
    Box,
    Chair,
    Decision,
    Door,
    Fixed,
    Goal,
    Guard,
    Limit,
    Loudspeakers,
    Opening,
    Platforms,
    Problem,
    Projector,
    Range,
    Room,
    Screen,
    Seating,
    Surface,
    Tile,
    Treatment,
    Wheelchair,
)
from tests.support.checker import FROM_ROW_2, MODE_SETTINGS, WHOLE, swing
from tests.support.decay import BANDS, LINED, STATED
from tests.support.kit import kits
from tests.support.light import PROJECTED
from tests.support.rooms import DEGREE, INCH, choice
from tests.support.seats import PER_SEAT

USUAL: dict[str, tuple[float, float]] = {
    "horizontal_angle": (25 * DEGREE, 75 * DEGREE),
    "worst_seat_angle": (20 * DEGREE, 70 * DEGREE),
    "upward_angle": (0.0, 35 * DEGREE),
    "downward_angle": (-10 * DEGREE, 25 * DEGREE),
    "off_axis_angle": (0.0, 40 * DEGREE),
    "picture_heights": (1.0, 4.0),
    "picture_width": (1.0, 4.5),
    "picture_angle": (20 * DEGREE, 75 * DEGREE),
    "pixels_per_degree": (30.0, 120.0),
    "sightline_clearance": (-0.1, 0.25),
    "image_width": (1.0, 4.5),
    "image_height": (0.6, 2.2),
    "image_diagonal": (1.2, 5.0),
    "image_area": (0.8, 8.0),
    "baffle_width": (1.5, 5.0),
    "baffle_margin": (0.0, 0.5),
    "side_room": (0.0, 1.0),
    "frame_to_ceiling": (0.0, 0.8),
    "frame_to_floor": (0.0, 1.0),
    "loudspeaker_room": (-0.2, 0.6),
    "loudspeaker_spacing": (-0.3, 1.0),
    "throw_ratio": (0.8, 2.5),
    "lens_offset": (-0.5, 0.8),
    "luminance": (20.0, 300.0),
    "light_path_clearance": (-0.3, 1.0),
    "off_centre": (0.0, 0.6),
    "door_clearance": (0.0, 0.6),
    "front_obstruction_clearance": (0.0, 0.5),
    "listening_distance": (1.5, 5.0),
    "length_fraction": (0.3, 0.9),
    "midpoint_offset": (0.0, 1.2),
    "mode_null_offset": (0.0, 0.6),
    "mode_level": (-20.0, 0.0),
    "direct_to_reverberant": (-10.0, 3.0),
    "reverberation_time": (0.1, 0.6),
    "reverberation_ratio": (0.5, 2.0),
    "mean_absorption": (0.05, 0.5),
    "treated_area": (0.0, 20.0),
    "transition_frequency": (60.0, 300.0),
    "seat_to_seat_spread": (0.5, 8.0),
    "deepest_dip": (2.0, 15.0),
    "surround_reach": (0.0, 1.0),
    "surround_stretch": (-1.0, 1.5),
    "loudspeaker_angle": (10 * DEGREE, 40 * DEGREE),
    "loudspeaker_elevation": (-10 * DEGREE, 25 * DEGREE),
    "sound_path_clearance": (-0.3, 0.6),
    "rear_wall_distance": (0.2, 3.0),
    "side_wall_distance": (0.2, 1.5),
    "room_proportion": (-1.0, 1.0),
    "row_pitch": (1.2, 2.5),
    "walkway": (0.0, 1.0),
    "rear_walkway": (0.0, 2.0),
    "rear_landing": (0.0, 1.5),
    "rear_headroom": (1.6, 2.8),
    "aisle_width": (0.0, 1.5),
    "row_to_wall": (0.0, 1.2),
    "riser_step": (0.0, 0.25),
    "step_going": (0.2, 1.5),
    "platform_height": (0.0, 0.8),
    "standing_headroom": (1.6, 2.6),
    "seated_headroom": (0.3, 1.5),
    "guard_drop": (0.0, 0.8),
    "door_to_step": (0.0, 2.0),
    "seat_count": (1.0, 16.0),
    "door_row_clearance": (-0.1, 1.5),
    "door_platform_clearance": (0.0, 2.0),
    "opening_clearance": (-0.3, 1.5),
    "row_opening_clearance": (-0.3, 1.5),
    "aisle_headroom": (1.5, 2.6),
    "light_path_obstruction_clearance": (-0.3, 1.0),
    "lens_to_ceiling": (-0.1, 0.8),
    "loudspeaker_wall_distance": (0.0, 1.5),
    "loudspeaker_obstruction_clearance": (-0.2, 1.0),
    "loudspeaker_depth_room": (-0.2, 0.6),
    "cabinet_room": (-0.2, 1.0),
    "loudspeaker_to_edge": (-0.3, 0.5),
    "baffle_side_room": (0.0, 1.0),
    "row_obstruction_clearance": (0.0, 1.0),
    "row_gap": (-0.3, 1.0),
    "passing_way": (-0.1, 1.2),
    "stair_width": (0.0, 1.5),
    "least_riser": (0.0, 0.25),
    "riser_difference": (0.0, 0.1),
    "walking_line": (0.5, 1.6),
    "aisle_slope": (0.0, 30 * DEGREE),
    "unguarded_drop": (0.0, 0.8),
    "guard_height": (0.6, 1.2),
    "wheelchair_rise": (0.0, 0.4),
    "stagger": (0.0, 0.4),
    "two_row_clearance": (-0.2, 0.5),
    "clear_view": (-0.1, 0.4),
    "guard_sightline": (-1.0, 0.5),
    "listening_distance_margin": (-0.5, 2.0),
    "throw_ratio_margin": (-0.3, 0.5),
    "lens_offset_margin": (-0.3, 0.5),
    "cost": (0.0, 20_000.0),
    "chair_width": (0.5, 0.9),
    "chair_recline": (0.0, 1.0),
}
"""Values that a measure takes in rooms of the usual size."""

BOUGHT = (
    "listening_distance_margin",
    "throw_ratio_margin",
    "lens_offset_margin",
    "cost",
    "chair_width",
    "chair_recline",
)
"""Measures of what is bought: asked for where there is something to buy."""

OPTIONS = {
    name: [dict(order=order, axis=axis) for order, axis in MODE_SETTINGS] for name in ("mode_null_offset", "mode_level")
}
OPTIONS |= {name: [{"octave": band} for band in ("mid", *BANDS)] for name in ("reverberation_time", "mean_absorption")}
OPTIONS |= {
    name: [{"seats": seats} for seats in ("every", "middle", "reference")]
    for name in ("surround_reach", "surround_stretch")
}
OPTIONS |= {
    name: [{"shape": shape} for shape in ("16:9", "1.85:1", "2.00:1", "2.39:1", "4:3")]
    for name in ("picture_width", "picture_angle")
}
OPTIONS["loudspeaker_wall_distance"] = [{"side": side} for side in ("nearer", "left", "right")]
OPTIONS["baffle_side_room"] = [{"side": side} for side in ("left", "right")]
OPTIONS["light_path_clearance"] = [{"posture": "seated"}, {"posture": "standing"}]


@dataclass(frozen=True)
class Units:
    """The system that a problem is drawn up in, with the step of its lengths."""

    show: str
    step: float

    def length(self, low: float, high: float) -> st.SearchStrategy[float]:
        return st.integers(math.ceil(low / self.step), math.floor(high / self.step)).map(lambda n: n * self.step)


UNITS = (Units("mm", 0.001), Units("ft-in", INCH / 16), Units("m", 0.01), Units("in", INCH / 2))


def opens_freely(door: Door, room: Room) -> bool:
    """Whether the leaf reaches no other wall on its way."""
    hinge, closed, turn = swing(door, _only_room(room))
    angles = np.linspace(closed, closed + turn, 91)
    x, y = hinge[0] + door.leaf * np.cos(angles), hinge[1] + door.leaf * np.sin(angles)
    inside = (x >= -1e-9) & (x <= room.width + 1e-9) & (y >= -1e-9) & (y <= room.length + 1e-9)
    return bool(np.all(inside))


class _only_room:
    def __init__(self, room: Room) -> None:
        self.room = room


@st.composite
def doors(draw, room: Room, units: Units) -> Door:
    """A door in any wall, hung at either side, opening in or out, never into a wall."""
    wall = draw(st.sampled_from(("left", "right", "front", "rear")))
    towards = draw(st.sampled_from(("front", "rear") if wall in ("left", "right") else ("left", "right")))
    along = room.length if wall in ("left", "right") else room.width
    leaf = draw(units.length(0.6, 1.0))
    low, high = (leaf, along) if towards in ("front", "left") else (0.0, along - leaf)
    hinge = draw(units.length(low, high))
    angle = draw(st.sampled_from((45, 80, 90, 110, 180))) * DEGREE
    door = Door("door", wall, hinge, leaf, towards, draw(st.sampled_from(("in", "in", "out"))), angle)
    return door if opens_freely(door, room) else replace(door, opens="out")


@st.composite
def boxes(draw, room: Room, units: Units) -> Box:
    """A soffit, a chimney breast or a radiator."""

    def extent(low: float, high: float, least: float) -> tuple[float, float]:
        start = draw(units.length(low, high - least))
        return start, start + draw(units.length(least / 2, max(least / 2 + units.step, high - start - 2 * units.step)))

    kind = draw(st.sampled_from(("soffit", "breast", "low")))
    z = extent(1.9, room.height, 0.15) if kind == "soffit" else (0.0, draw(units.length(0.3, room.height - 0.1)))
    if kind == "soffit":
        return Box(kind, extent(0.0, room.width, 0.3), extent(0.0, room.length, 0.3), z)
    deep = draw(units.length(0.1, 0.4))
    side = draw(st.booleans())
    x = (0.0, deep) if side else (room.width - deep, room.width)
    return Box(kind, x, extent(0.0, room.length, 0.4), z)


@st.composite
def profiles(draw, end: float, height: float, units: Units) -> tuple[tuple[float, float], ...]:
    """A ceiling along or across the room: slopes, steps and level parts."""
    places = sorted(draw(st.lists(units.length(0.0, end), min_size=2, max_size=4)))
    return tuple((place, draw(units.length(1.9, height))) for place in places)


@st.composite
def openings(draw, room: Room, units: Units) -> Opening:
    """A window, or a way through without a door."""
    wall = draw(st.sampled_from(("left", "right", "front", "rear")))
    long = room.length if wall in ("left", "right") else room.width
    start = draw(units.length(0.0, long - 0.5))
    kind = draw(st.sampled_from(("window", "opening")))
    sill = draw(units.length(0.4, 1.6)) if kind == "window" else 0.0
    end = min(long, start + draw(units.length(0.4, 1.5)))
    return Opening(kind, kind, wall, (start, end), (sill, draw(units.length(1.8, 2.1))), draw(units.length(0.1, 0.9)))


def decided(draw, strategy: st.SearchStrategy[float], *, kinds: str = "frc") -> Decision:
    """A fixed value, a range or a choice."""
    kind = draw(st.sampled_from(kinds))
    if kind == "f":
        return Fixed(draw(strategy))
    values = sorted(set(draw(st.lists(strategy, min_size=2, max_size=4))))
    if len(values) == 1:
        return Fixed(values[0])
    return Range(values[0], values[-1]) if kind == "r" else choice(*values)


@st.composite
def bounds_for(draw, name: str) -> tuple[float | None, float | None]:
    """A one- or two-ended band among a measure's usual values."""
    low, high = USUAL[name]
    ends = sorted(draw(st.lists(st.integers(0, 200), min_size=2, max_size=2)))
    a, b = (low + (high - low) * n / 200 for n in ends)
    if name == "seat_count":
        a, b = float(round(a)), float(round(b))
    return draw(st.sampled_from(((a, None), (None, b), (a, b))))


def _which(draw, name: str, rows: tuple[int, ...]) -> str:
    if name in WHOLE:
        return "all"
    numbers = [str(n) for n in range(FROM_ROW_2.get(name, 1), max(rows) + 1)]
    seats = ("worst seat",) if name in PER_SEAT else ()
    return draw(st.sampled_from(("reference", "all", "worst", *numbers, *seats)))


def _name(draw, problem_has: dict[str, bool]) -> str:
    return draw(st.sampled_from([n for n in USUAL if problem_has.get(n, True)]))


def _options(draw, name: str) -> tuple[tuple[str, object], ...]:
    return tuple(draw(st.sampled_from(OPTIONS[name])).items()) if name in OPTIONS else ()


COEFFICIENTS = st.tuples(*[st.integers(2, 60).map(lambda n: n / 100)] * 6)


@st.composite
def linings(draw) -> dict[str, object]:
    """Surfaces in the place of a reverberation time, with panels on the walls or without."""
    surfaces = (
        Surface("floor", "floor", None, draw(COEFFICIENTS)),
        Surface("shell", "walls", None, draw(COEFFICIENTS)),
        Surface("lid", "ceiling", None, draw(COEFFICIENTS)),
        Surface("chairs", None, draw(st.sampled_from((2.0, 6.0))), draw(COEFFICIENTS)),
    )
    treatment = None
    if draw(st.booleans()):
        panels = decided(draw, st.integers(0, 20).map(float), kinds="frrc")
        treatment = Treatment(panels, 0.72, tuple(draw(COEFFICIENTS)), "shell")
    return {"surfaces": surfaces, "treatment": treatment, "formula": draw(st.sampled_from(("eyring", "sabine")))}


@st.composite
def projectors(draw, room: Room, units: Units) -> Projector:
    """A projector in the room, or on a shelf behind it."""
    ratio = draw(st.sampled_from((0.8, 1.2, 1.5)))
    behind = draw(st.booleans())
    return Projector(
        draw(st.sampled_from((800.0, 2500.0))),
        (ratio, ratio * draw(st.sampled_from((1.2, 2.0)))),
        None if behind else decided(draw, units.length(2.0, room.length), kinds="rrf"),
        decided(draw, units.length(1.6, room.height), kinds="rf"),
        decided(draw, units.length(0.0, 0.5), kinds="rf") if behind else None,
        draw(st.sampled_from((16 / 9, 1.9, 4 / 3))),
        draw(st.sampled_from((None, (-0.6, 0.7)))),
    )


@st.composite
def habits(draw, room: Room, units: Units, most_rows: int) -> dict[str, object]:
    """How people use the rows: staggered, off the image's middle, at a bar, in a wheelchair, behind a guard."""
    found: dict[str, object] = {}
    if draw(st.booleans()):
        return found
    if draw(st.booleans()):
        found["stagger"] = draw(st.sampled_from((choice(0.0, 0.5), choice(-0.5, 0.5), Fixed(0.5), Fixed(0.25))))
    if draw(st.booleans()):
        found["centre"] = decided(draw, units.length(0.4 * room.width, 0.6 * room.width))
    if most_rows > 1 and draw(st.booleans()):
        seats = draw(st.sampled_from((None, Fixed(3.0), choice(2.0, 4.0))))
        found["bar"] = Bar(0.4, 1.05, draw(units.length(0.45, 0.7)), 0.15, 0.3, 1.5, 0.11, seats)
    if draw(st.booleans()):
        row, places = draw(st.integers(1, most_rows)), draw(st.sampled_from((1, 1, 2)))
        side = draw(st.sampled_from(("left", "right")))
        found["wheelchair"] = Wheelchair(row, places, 0.9, draw(st.sampled_from((1.2, 1.5))), side)
    if draw(st.booleans()):
        found["guard"] = Guard(draw(st.sampled_from((0.9, 1.1))), draw(st.sampled_from((0.2, 0.6))))
    return found


@st.composite
def problems(draw, *, most_rows: int = 3, most_limits: int = 3, most_goals: int = 6) -> Problem:
    """A valid problem: any of its measures in limits and goals, any form of decision."""
    units = draw(st.sampled_from(UNITS))
    length = units.length
    room = Room(
        draw(length(3.5, 9.0)),
        draw(length(2.8, 6.0)),
        draw(length(2.2, 3.4)),
        (),
        (),
        (),
        draw(st.sampled_from((None, 0.25, 0.4))),
        343.2,
    )
    room = replace(
        room,
        doors=tuple(draw(st.lists(doors(room, units), max_size=2))),
        obstructions=tuple(draw(st.lists(boxes(room, units), max_size=2))),
        openings=tuple(draw(st.lists(openings(room, units), max_size=1))),
        ceiling=draw(st.one_of(st.just(()), profiles(room.length, room.height, units))),
        ceiling_across=draw(st.one_of(st.just(()), st.just(()), profiles(room.width, room.height, units))),
    )
    room = replace(
        room, doors=tuple(replace(door, level=draw(st.sampled_from((0.0, 0.0, 0.3)))) for door in room.doors)
    )
    if room.reverberation_time is None and draw(st.booleans()):
        room = replace(room, **draw(linings()))
    rows = tuple(sorted(draw(st.sets(st.integers(1, most_rows), min_size=1, max_size=2))))
    centred = draw(st.sampled_from((True, True, False)))
    kind = draw(st.sampled_from(("projected", "projected", "panel", "tiled")))
    beam = draw(st.booleans())
    baffle = Baffle(
        decided(draw, length(0.0, 0.8)),
        draw(st.sampled_from((None, None, Range(1.5, room.width)))),
        draw(length(0.0, 0.1)),
        draw(st.booleans()),
        centred,
    )
    if not centred and baffle.width is None and draw(st.booleans()):
        baffle = replace(
            baffle,
            left=draw(st.sampled_from((None, Fixed(0.2), Range(0.0, 0.5 * room.width)))),
            right=draw(st.sampled_from((None, Fixed(room.width), Range(0.5 * room.width, room.width)))),
        )
    screen = Screen(
        kind,
        decided(draw, st.sampled_from((16 / 9, 1.85, 2.0, 2.4)), kinds="fc"),
        Range(0.8, draw(length(1.5, room.width))) if kind == "projected" else None,
        decided(draw, length(1.2, 3.0), kinds="fc") if kind == "panel" else None,
        decided(draw, length(0.0, 0.15), kinds="fcr"),
        draw(length(0.0, 0.1)),
        decided(draw, length(0.3, 1.1), kinds="rrf"),
        None if kind == "tiled" else draw(st.sampled_from((None, 1920, 3840))),
        draw(st.sampled_from((1.0, 1.3))),
        open_area=draw(st.sampled_from((0.0, 0.07))),
        luminance=None if kind == "projected" else draw(st.sampled_from((None, 250.0))),
        tile=Tile(0.6, 0.3375, 0.00125) if kind == "tiled" else None,
        columns=decided(draw, st.sampled_from((3.0, 4.0, 5.0))) if kind == "tiled" else None,
        tile_rows=decided(draw, st.sampled_from((3.0, 4.0, 5.0)), kinds="fc") if kind == "tiled" else None,
    )
    chair = Chair(
        draw(length(0.5, 0.9)),
        0.9,
        draw(length(1.0, 1.8)),
        draw(length(0.9, 1.2)),
        draw(length(0.1, 0.4)),
        draw(length(0.08, 0.15)),
        **draw(st.sampled_from(({}, {}, {"arms": "shared", "arm": 0.13}, {"travel": 0.06}))),
    )
    sides = draw(st.sampled_from(("none", "one", "both", "left", "right")))
    stepped = draw(st.booleans())
    seating = Seating(
        rows,
        draw(st.integers(1, max(rows))),
        decided(draw, st.integers(1, 5).map(float)),
        chair,
        Aisle(sides, 0.0 if sides == "none" else draw(length(0.3, 0.9))),
        Platforms(
            draw(st.sampled_from((0.0127, 0.01, 0.05, 0.1))),
            draw(length(0.1, 0.9)) if stepped else 0.0,
            Range(0.0, 0.3) if stepped and draw(st.booleans()) else Fixed(0.0),
            draw(st.integers(1, 3)),
            decided(draw, length(0.0, 1.5)) if stepped and draw(st.booleans()) else None,
            draw(length(0.2, 0.5)) if stepped and draw(st.booleans()) else None,
        ),
        draw(st.sampled_from(((), (), (("row1.y", Fixed(draw(length(2.0, 3.4)))),)))),
        **draw(habits(room, units, max(rows))),
    )
    speakers = Loudspeakers(
        draw(st.sampled_from((0.7, 0.9, 1.2))),
        draw(st.sampled_from((1.0, 5.0))),
        draw(st.sampled_from(("behind", "beside", "under", "over"))),
        draw(length(0.2, 0.4)),
        draw(length(0.2, 0.5)),
        draw(length(0.0, 0.1)),
        draw(st.sampled_from((0.0, 0.2, 0.35))),
    )
    if speakers.place_with(screen) == "behind" and draw(st.booleans()):
        speakers = replace(speakers, z=decided(draw, length(0.8, 1.4)))
    if speakers.place_with(screen) != "beside" and draw(st.integers(0, 3)) == 0:
        speakers = replace(speakers, apart=decided(draw, length(1.0, 2.5)))
    high = speakers.z is not None or speakers.place_with(screen) != "behind"
    has = {
        "pixels_per_degree": screen.pixels is not None or kind == "tiled",
        "luminance": beam if kind == "projected" else screen.luminance is not None,
        **{name: beam and kind == "projected" for name in PROJECTED},
        **{name: bool(room.reverberation_time or room.surfaces) for name in STATED},
        **{name: bool(room.surfaces) for name in LINED},
        "treated_area": room.treatment is not None,
        **{name: max(rows) >= first for name, first in FROM_ROW_2.items()},
        "rear_landing": seating.platforms.behind is not None,
        "loudspeaker_elevation": high,
        "sound_path_clearance": high and max(rows) > 1,
        **{name: seating.guard is not None for name in ("guard_height", "guard_sightline")},
        "wheelchair_rise": seating.wheelchair is not None,
        # slow: these have tests of their own
        **{name: False for name in ("seat_to_seat_spread", "deepest_dip", "surround_reach", "surround_stretch")},
        **{name: False for name in BOUGHT},
    }
    limits = []
    for _ in range(draw(st.integers(0, most_limits))):
        name = _name(draw, has)
        ends = draw(bounds_for(name))
        limits.append(Limit(name, _which(draw, name, rows), *ends, _options(draw, name)))
    goals = []
    for _ in range(draw(st.integers(1, most_goals))):
        name = _name(draw, has)
        low, high = USUAL[name]
        fade = (high - low) * draw(st.sampled_from((0.02, 0.1, 0.3, 1.0)))
        weight = draw(st.sampled_from((0.1, 1.0, 2.0, 2.5, 5.0, 1 / 3)))
        goals.append(Goal(name, _which(draw, name, rows), *draw(bounds_for(name)), fade, weight, _options(draw, name)))
    return Problem(
        "A room",
        units.show,
        room,
        baffle,
        screen,
        speakers,
        draw(projectors(room, units)) if beam else None,
        seating,
        tuple(limits),
        tuple(goals),
        (),
    )


@st.composite
def problems_to_buy_for(draw, *, most_rows: int = 2, most_goals: int = 4) -> Problem:
    """A valid problem with lists of things to choose from and prices, and goals on what is bought."""
    bare = draw(problems(most_rows=most_rows, most_limits=1, most_goals=most_goals))
    if bare.loudspeakers.depth == 0.0:
        speakers = replace(bare.loudspeakers, least_distance=draw(st.sampled_from((0.0, 1.5))))
        bare = replace(bare, loudspeakers=speakers)
    units = next(one for one in UNITS if one.show == bare.show)
    problem = draw(kits(bare, units.length))
    beam = problem.projector is not None and problem.screen.type == "projected"
    priced = any(item.price is not None for one in problem.listings for item in one.items)
    there = [n for n in BOUGHT if (beam or n not in PROJECTED) and (priced or n != "cost")]
    asked = []
    for name in draw(st.lists(st.sampled_from(there), min_size=1, max_size=3)):
        low, high = USUAL[name]
        asked.append(
            Goal(name, _which(draw, name, problem.seating.rows), *draw(bounds_for(name)), 0.3 * (high - low), 1.0)
        )
    return replace(problem, goals=(*problem.goals, *asked))


# --- designs ----------------------------------------------------------------------------------


def random_designs(space: Space, seed: int, count: int) -> dict[str, np.ndarray]:
    """Up to ``count`` designs of a space on its grid, as arrays: people behind the image and rows apart.

    Rows are thrown in order, so that most throws are designs at all.
    """
    random = np.random.default_rng(seed)
    thrown: dict[str, np.ndarray] = {}
    for name, domain in space.domains.items():
        if isinstance(domain, Held):
            thrown[name] = np.full(count, domain.value)
        elif isinstance(domain, Steps):
            steps = random.integers(domain.low, domain.high + 1, count)
            # ends of ranges are where rounding shows
            steps = np.where(random.random(count) < 0.1, random.choice([domain.low, domain.high], count), steps)
            thrown[name] = domain.step * steps
        else:
            thrown[name] = random.choice(domain.values, count)
    free = [n for n in range(1, space.rows + 1) if isinstance(space.domains[f"row{n}.y"], Steps)]
    if free:
        in_order = np.sort(np.stack([thrown[f"row{n}.y"] for n in free]), axis=0)
        for n, y in zip(free, in_order):
            domain = space.domains[f"row{n}.y"]
            thrown[f"row{n}.y"] = np.clip(y, *domain.ends)
    kept = np.ones(count, dtype=bool)
    for expression in space.sense:
        kept &= expression.value(thrown) >= 0.0
    return {name: values[kept] for name, values in thrown.items()}


def near(space: Space, design, seed: int, count: int) -> dict[str, np.ndarray]:
    """Designs of a space around one of its own: each decision a few steps away, or not at all."""
    random = np.random.default_rng(seed)
    thrown: dict[str, np.ndarray] = {}
    for name, domain in space.domains.items():
        moved = random.random(count) < 0.4
        if isinstance(domain, Steps):
            reach = np.maximum(1, np.exp(random.uniform(0, math.log(60), count)).astype(int))
            steps = round(design[name] / domain.step) + np.where(moved, random.integers(-reach, reach + 1), 0)
            thrown[name] = domain.step * np.clip(steps, domain.low, domain.high)
        else:
            values = [domain.value] if isinstance(domain, Held) else domain.values
            thrown[name] = np.where(moved, random.choice(values, count), design[name])
    kept = np.ones(count, dtype=bool)
    for expression in space.sense:
        kept &= expression.value(thrown) >= 0.0
    return {name: values[kept] for name, values in thrown.items()}


def one_of(designs: dict[str, np.ndarray], at: int) -> dict[str, float]:
    """One design out of many."""
    return {name: float(values[at]) for name, values in designs.items()}
