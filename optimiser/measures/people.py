"""People: rows one can walk along, platforms, steps, headroom, doors and steps apart."""

from __future__ import annotations

import math

from optimiser.forms import Form, Gate, Greatest, Least, Quotient, affine
from optimiser.linear import Linear, constant
from optimiser.measures.base import measure
from optimiser.measures.layout import Layout, Row
from optimiser.physics import sector as door

CODES = "local codes decide; a licensed professional should confirm"


def platform_front(layout: Layout, row: Row) -> Linear:
    """y of the edge at which the row's platform begins: behind the chairs in front, or before its own feet."""
    return row.feet if row.number == 1 else layout.row_before(row).back


def rise(layout: Layout, row: Row) -> Linear:
    """From the level of the row in front (or the floor) up to this row's level."""
    return row.platform if row.number == 1 else row.platform - layout.row_before(row).platform


@measure(quantity="length", per_row=True, first_row=2, formula="y - y of the row in front", source="definition")
def row_pitch(layout: Layout, row: Row) -> Form:
    """From the row in front to this one, eye to eye."""
    return affine(row.y - layout.row_before(row).y)


@measure(
    quantity="length",
    per_row=True,
    formula="feet - back of the row in front (row 1: - image)",
    source="definition; 12 in clear between rows in assembly seating: IBC 1030.13.2, as quoted by a code forum; " + CODES,
)
def walkway(layout: Layout, row: Row) -> Form:
    """Clear way before the reclined chairs of this row: to the backs of the row in front, for the first
    row to the image."""
    ahead = layout.image_y if row.number == 1 else layout.row_before(row).back
    return affine(row.feet - ahead)


@measure(quantity="length", formula="room length - back of the last row", source="definition")
def rear_walkway(layout: Layout) -> Form:
    """Clear way behind the reclined chairs of the last row."""
    return affine(layout.length - layout.rows[-1].back)


@measure(
    quantity="length",
    per_row=True,
    formula="room width beside the row: the lesser side for two aisles or none, the greater for one",
    source="definition; 36 in for a stair: IRC 2018 R311.7.1, as quoted by a county's building department; " + CODES,
)
def aisle_width(layout: Layout, row: Row) -> Form:
    """Clear way beside the row's chairs."""
    left = affine(row.centre - row.width * 0.5)
    right = affine(layout.width - row.centre - row.width * 0.5)
    return Greatest((left, right)) if layout.aisle_sides == "one" else Least((left, right))


@measure(quantity="length", per_row=True, formula="the lesser side beside the row", source="definition")
def row_to_wall(layout: Layout, row: Row) -> Form:
    """From the row's end chair to the nearer side wall."""
    return Least((affine(row.centre - row.width * 0.5), affine(layout.width - row.centre - row.width * 0.5)))


@measure(
    quantity="length",
    per_row=True,
    formula="(platform - platform in front) / number of risers",
    source="at most 7 3/4 in: IRC 2018 R311.7.5.1, as quoted by a county's building department; " + CODES,
)
def riser_step(layout: Layout, row: Row) -> Form:
    """Height of each riser on the way from the level in front up to this row."""
    return Quotient(rise(layout, row), row.risers)


@measure(
    quantity="length",
    per_row=True,
    first_row=2,
    formula="row pitch / number of risers",
    source="at least 10 in: IRC 2018 R311.7.5.2, as quoted by a county's building department; " + CODES,
)
def step_going(layout: Layout, row: Row) -> Form:
    """Going of each step if the risers up to this row are spread evenly over the row pitch."""
    return Quotient(row.y - layout.row_before(row).y, row.risers)


@measure(quantity="length", per_row=True, formula="a decision", source="definition")
def platform_height(layout: Layout, row: Row) -> Form:
    """Height of the row's platform above the room's floor."""
    return affine(row.platform)


def overhead(layout: Layout, row: Row, level: Linear, across: tuple[Linear, Linear] | None = None) -> Form:
    """Least height above ``level`` of the ceiling and of the boxes that hang over the row's way and chairs;
    of those only that lie over the stretch ``across`` (x), where one is given."""
    parts: list[Form] = [affine(layout.height - level)]
    front = platform_front(layout, row)
    for body in layout.bodies:
        if body.z[0] > 0.0:
            aside = [] if across is None else [Gate(across[0] - body.x[1]), Gate(body.x[0] - across[1])]
            parts.append(Greatest((Gate(front - body.y[1]), Gate(body.y[0] - row.back), *aside, affine(body.z[0] - level))))
    return Least(tuple(parts))


@measure(
    quantity="length",
    per_row=True,
    formula="ceiling or lowest thing overhead - platform",
    source="at least 6 ft 8 in: IRC 2018 R311.7.2, as quoted by a county's building department; 2.0 m: Approved Document K; "
    + CODES,
)
def standing_headroom(layout: Layout, row: Row) -> Form:
    """Height to stand in on the row's platform, under the ceiling and all that hangs over it."""
    return overhead(layout, row, row.platform)


@measure(quantity="length", per_row=True, formula="ceiling or lowest thing overhead - top of the head", source="definition")
def seated_headroom(layout: Layout, row: Row) -> Form:
    """From the heads of the seated row to the ceiling or the lowest thing above."""
    half = row.width * 0.5
    return overhead(layout, row, row.head, (row.centre - half, row.centre + half))


@measure(
    quantity="length",
    per_row=True,
    formula="platform height",
    source="guard asked for over 30 in: IRC 2018 R312.1.1, as quoted by a county's building department; over 600 mm in dwellings: "
    "Approved Document K 1.41; " + CODES,
)
def guard_drop(layout: Layout, row: Row) -> Form:
    """Greatest drop at an open side of the row's platform, to the room's floor."""
    return affine(row.platform)


@measure(
    quantity="length",
    per_row=True,
    formula="along y, from the door's sweep to the platform's edge; no bound where there is no step",
    source="400 mm at a stair in dwellings: Approved Document K 1.22, as quoted; " + CODES,
)
def door_to_step(layout: Layout, row: Row) -> Form:
    """From what a door sweeps to the step up to this row."""
    edge = platform_front(layout, row)
    level = Gate(-rise(layout, row))
    parts: list[Form] = []
    for _, sweep in layout.sweeps:
        nearest = -door.support(sweep, angle=-math.pi / 2)
        farthest = door.support(sweep, angle=math.pi / 2)
        parts.append(Greatest((level, affine(edge - farthest), affine(nearest - edge))))
    return Least(tuple(parts)) if parts else Gate(constant(0.0))


@measure(quantity="count", formula="sum of the rows' seats", source="definition")
def seat_count(layout: Layout) -> Form:
    """Number of seats in the room."""
    total = constant(0.0)
    for row in layout.rows:
        total = total + row.seats
    return affine(total)


@measure(quantity="length", per_row=True, formula="greatest separation along x, y or z", source="definition")
def row_obstruction_clearance(layout: Layout, row: Row) -> Form:
    """Least distance along an axis between the row's seated people with their chairs and any obstruction."""
    half = row.width * 0.5
    parts = [
        Greatest(
            (
                affine(row.centre - half - b.x[1]),
                affine(b.x[0] - row.centre - half),
                affine(row.feet - b.y[1]),
                affine(b.y[0] - row.back),
                affine(b.z[0] - row.head),
            )
        )
        for b in layout.bodies
    ]
    return Least(tuple(parts)) if parts else Gate(constant(0.0))
