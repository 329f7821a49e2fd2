"""Problems for tests, invented and built as data: a small room, a room of many goals, a coarse one."""

from __future__ import annotations

import math
from dataclasses import replace

from optimiser.problem.model import (
    Aisle,
    Baffle,
    Box,
    Chair,
    Choice,
    Door,
    Fixed,
    Goal,
    Limit,
    Loudspeakers,
    Platforms,
    Problem,
    Range,
    Room,
    Screen,
    Seating,
)

DEGREE = math.pi / 180
INCH = 0.0254


def choice(*values: float) -> Choice:
    return Choice(tuple(float(v) for v in values), tuple(str(v) for v in values))


def goal(measure: str, low=None, high=None, *, fade: float, weight: float = 1.0, row: str = "all", **options) -> Goal:
    return Goal(measure, row, low, high, fade, weight, tuple(options.items()))


def limit(measure: str, at_least=None, at_most=None, *, row: str = "all", **options) -> Limit:
    return Limit(measure, row, at_least, at_most, tuple(options.items()))


CHAIR = Chair(width=0.75, depth=0.95, reclined=1.65, eye_height=1.1, eye_to_back=0.2, head_above_eye=0.12)

DOOR = Door("entry", "left", 1.5, 0.8, "front", "in", 90 * DEGREE)


def small_room(**changes) -> Problem:
    """One row in a small room with a door that swings beside the baffle wall."""
    problem = Problem(
        title="Laundry loft",
        show="mm",
        room=Room(5.2, 3.6, 2.5, (DOOR,), (), (), 0.3, 343.2),
        baffle=Baffle(Range(0.3, 0.6), None, 0.05, True, True),
        screen=Screen(
            "projected", Fixed(16 / 9), Range(1.6, 3.2), None, choice(0.05, 0.1), 0.05, Range(0.5, 1.0), 3840, 1.0
        ),
        loudspeakers=Loudspeakers(0.9, 5.0),
        projector=None,
        seating=Seating((1,), 1, Fixed(3.0), CHAIR, Aisle("none", 0.0), Platforms(0.05, 0.0, Fixed(0.0), 1), ()),
        limits=(limit("listening_distance", 2.0),),
        goals=(
            goal("horizontal_angle", 45 * DEGREE, 50 * DEGREE, fade=10 * DEGREE, weight=4),
            goal("length_fraction", 0.6, 0.7, fade=0.12, weight=2),
            goal("image_width", 3.0, fade=1.2, weight=2),
        ),
        designs=(),
    )
    return replace(problem, **changes)


GOALS = (
    goal("horizontal_angle", 50 * DEGREE, 55 * DEGREE, fade=8 * DEGREE, weight=5, row="reference"),
    goal("length_fraction", 0.60, 0.72, fade=0.12, weight=3, row="reference"),
    goal("midpoint_offset", 16 * INCH, fade=16 * INCH, weight=2),
    goal("image_width", 150 * INCH, fade=60 * INCH, weight=2),
    goal("upward_angle", None, 15 * DEGREE, fade=15 * DEGREE, weight=2),
    goal("sightline_clearance", 0.12, fade=0.06, weight=2),
    goal("loudspeaker_angle", 22 * DEGREE, 30 * DEGREE, fade=8 * DEGREE, row="reference"),
    goal("direct_to_reverberant", -6.0, 0.0, fade=6.0),
    goal("mode_null_offset", 0.3, fade=0.3, order=2, axis="length"),
    goal("rear_wall_distance", 1.2, fade=1.2),
    goal("seat_count", 7, fade=4, weight=2),
    goal("pixels_per_degree", 60, fade=20),
)
"""A dozen goals that pull against each other."""


def long_room(rows: tuple[int, ...] = (2,), **changes) -> Problem:
    """A long room for one to three rows, a dozen goals, a door that bites and a duct in the way."""
    problem = Problem(
        title="Boathouse loft",
        show="ft-in",
        room=Room(
            280 * INCH,
            170 * INCH,
            108 * INCH,
            (Door("entry", "left", 62 * INCH, 32 * INCH, "front", "in", 90 * DEGREE),),
            (Box("duct", (0.0, 170 * INCH), (0.0, 20 * INCH), (96 * INCH, 108 * INCH)),),
            (),
            0.32,
            343.2,
        ),
        baffle=Baffle(Range(12 * INCH, 20 * INCH), None, 2 * INCH, True, True),
        screen=Screen(
            "projected",
            Fixed(16 / 9),
            Range(80 * INCH, 170 * INCH),
            None,
            choice(4 * INCH, 2 * INCH),
            3 * INCH,
            Range(24 * INCH, 44 * INCH),
            3840,
            1.0,
        ),
        loudspeakers=Loudspeakers(0.9, 5.0),
        projector=None,
        seating=Seating(
            rows,
            1,
            choice(3, 4),
            Chair(30 * INCH, 38 * INCH, 66 * INCH, 44 * INCH, 8 * INCH, 4.5 * INCH),
            Aisle("one", 36 * INCH),
            Platforms(0.5 * INCH, 30 * INCH, Fixed(0.0), 3),
            (),
        ),
        limits=(
            limit("listening_distance", 96 * INCH),
            limit("riser_step", None, 7.75 * INCH),
            limit("sightline_clearance", 0.06),
        ),
        goals=GOALS,
        designs=(),
    )
    return replace(problem, **changes)
