"""What is heard from a row: distances, length and width modes, direct and reflected sound."""

from __future__ import annotations

import numpy as np

from optimiser.forms import ONE, Capped, Form, Gate, Greatest, Least, Link, Linked, Quotient, absolute, affine, fixed
from optimiser.linear import Linear, constant
from optimiser.measures.base import measure
from optimiser.measures.layout import Layout, Row
from optimiser.measures.seats import seats_of
from optimiser.measures.viewing import SLOPE, STRAIGHT, caps, moves_aside
from optimiser.physics import acoustics, viewing

HALF = Link(
    lambda r: 0.5 * viewing.angle_of_cotangent(cotangent=r),
    lambda a: viewing.cotangent_of_angle(angle=2.0 * a),
    increasing=False,
    low=0.0,
    high=0.5 * np.pi,
)
"""Half the angle that two things are apart, by the cotangent of the whole."""

HALVED = Link(lambda a: 0.5 * a, lambda half: 2.0 * half, low=0.0, high=0.5 * np.pi)
"""Half the angle that two things are apart, by the whole."""

MODE = {"order": (1, 2, 3, 4), "axis": ("length", "width")}
MODE_SOURCE = "pressure of an axial mode between rigid walls, cos(n pi x / L); room acoustics textbooks"


def listening(layout: Layout, row: Row) -> Linear:
    """From the row's ears to the baffle's face, horizontally: the nearest a loudspeaker in it can be."""
    return row.y - layout.baffle_depth


@measure(
    quantity="length",
    per_row=True,
    per_seat=True,
    formula="y - baffle depth; from one seat the least sqrt((y - baffle depth)^2 + x^2), x across to the left, the centre "
    "or the right loudspeaker",
    source="definition; least distances of 8 to 12 ft: common practice, no source",
)
def listening_distance(layout: Layout, row: Row, x: Linear | None = None) -> Form:
    """From the row's ears to the face of the baffle, the least distance to a loudspeaker in it; or from those of one seat
    to the nearest of the three in front, in plan."""
    away = listening(layout, row)
    if x is None:
        return affine(away)
    aside, offset = x - layout.image_centre, layout.speakers.offset
    across = (aside + offset, aside, aside - offset)
    return Least(tuple(Quotient(viewing.square_of_distance(ahead=away, aside=a), ONE, STRAIGHT) for a in across))


@measure(
    quantity="length",
    per_row=True,
    formula="y - baffle depth - least distance of the loudspeakers",
    source="definition; the least distance is the file's; no bound where it says none",
)
def listening_distance_margin(layout: Layout, row: Row) -> Form:
    """How much farther the row's ears are from the baffle's face than its loudspeakers ask for at least."""
    least = layout.speakers.least_distance
    return Gate(constant(0.0)) if least is None else affine(listening(layout, row) - least)


@measure(quantity="ratio", per_row=True, formula="y / room length", source="definition")
def length_fraction(layout: Layout, row: Row) -> Form:
    """Where the row's ears are, as a share of the room's length from the front wall."""
    return affine(row.y * (1.0 / layout.length))


@measure(
    quantity="length", signed=False, per_row=True, formula="|y - (a + L) / 2|, a the acoustic front", source=MODE_SOURCE
)
def midpoint_offset(layout: Layout, row: Row) -> Form:
    """From the row's ears to the midpoint of the acoustic length, where the first length mode has its
    null. The acoustic length runs from a solid baffle's face, else from the front wall."""
    return absolute(row.y - (layout.acoustic_front + layout.length) * 0.5)


@measure(
    quantity="length",
    signed=False,
    per_row=True,
    options=MODE,
    formula="least |x - (2k + 1) L / 2n|; along the room x and L begin at the acoustic front",
    source=MODE_SOURCE,
)
def mode_null_offset(layout: Layout, row: Row, order: int, axis: str) -> Form:
    """From the row's ears (for the width: from the worst seat's) to the nearest null of the axial
    mode of this order."""
    nulls = acoustics.nulls(order=order)
    if axis == "length":
        span = layout.length - layout.acoustic_front
        return Least(tuple(absolute(row.y - layout.acoustic_front - span * null) for null in nulls))
    return Least(
        tuple(
            Greatest((Gate(absent), Least(tuple(absolute(x - null * layout.width) for null in nulls))))
            for _, absent, x in seats_of(row)
        )
    )


def _level_link(order: int) -> Link:
    return Link(
        lambda s: acoustics.level_of_shift(shift=np.clip(s, 0.0, 0.5 / order), order=order),
        lambda level: acoustics.shift_of_level(level=level, order=order),
        increasing=False,
        high=0.0,
    )


def _shift(position: Linear, span: Linear, order: int) -> Form:
    """Least distance of position / span from the mode's pressure maxima k / order."""
    return Least(
        tuple(
            Greatest((Quotient(off, span), Quotient(-off, span)))
            for off in (position - span * (k / order) for k in range(order + 1))
        )
    )


@measure(
    quantity="level",
    per_row=True,
    options=MODE,
    formula="20 log10 |cos(n pi x / L)|, x and L as for mode_null_offset",
    source=MODE_SOURCE,
)
def mode_level(layout: Layout, row: Row, order: int, axis: str) -> Form:
    """Level of the axial mode of this order at the row's ears (for the width: at the worst seat's)
    below its level at the wall."""
    link = _level_link(order)
    if axis == "length":
        return Linked(_shift(row.y - layout.acoustic_front, layout.length - layout.acoustic_front, order), link)
    return Least(
        tuple(
            Greatest((Gate(absent), Linked(_shift(x, constant(layout.width), order), link)))
            for _, absent, x in seats_of(row)
        )
    )


@measure(
    quantity="angle",
    signed=False,
    per_row=True,
    per_seat=True,
    formula="atan(x / (y - baffle depth)), x from seat to loudspeaker, across; half the angle between left and right in "
    "the middle of a row's seats, without places for wheelchairs",
    source="ITU-R BS.775-3, Fig. 1: left and right at 30 degrees from the centre",
)
def loudspeaker_angle(layout: Layout, row: Row, x: Linear | None = None) -> Form | tuple[Form, Form]:
    """Angle of the left and right loudspeakers from straight ahead in the middle of the row's seats (where that is
    not the image's, half the angle between them), or the two that one seat has."""
    away = listening(layout, row)
    if x is None and row.middle == layout.image_centre:
        return Quotient(layout.speakers.offset, away, SLOPE)
    if x is None:
        aside, apart = row.middle - layout.image_centre, layout.speakers.offset * 2.0
        exact = Quotient(*viewing.subtended_quotient(width=apart, distance=away, offset=aside), HALF)
        if not moves_aside(layout, row):
            return exact
        return Capped(exact, tuple(Linked(cap, HALVED) for cap in caps(apart, away, aside)))
    aside = x - layout.image_centre
    return Quotient(layout.speakers.offset + aside, away, SLOPE), Quotient(layout.speakers.offset - aside, away, SLOPE)


@measure(
    quantity="angle",
    per_row=True,
    needs=("loudspeaker_height",),
    formula="atan((z - ears) / (y - baffle depth)), z the loudspeakers' axes above the floor",
    source="plane trigonometry; ITU-R BS.775-3, Fig. 1: front loudspeakers at the height of the ears",
)
def loudspeaker_elevation(layout: Layout, row: Row) -> Form:
    """How far above level, straight ahead, the row's ears have the axes of the front loudspeakers; below zero: under level."""
    return Quotient(layout.loudspeaker_height - row.eye, listening(layout, row), SLOPE)


@measure(
    quantity="length",
    per_row=True,
    first_row=2,
    needs=("loudspeaker_height",),
    formula="least over the rows in front of (z (D - D') + ears D') / D - heads', D = y - baffle depth, ' of the row in front",
    source="plane geometry",
)
def sound_path_clearance(layout: Layout, row: Row) -> Form:
    """Height at which the straight line from the row's ears to the axes of the front loudspeakers passes over the heads
    of the rows in front."""
    away, axis = listening(layout, row), layout.loudspeaker_height

    def over(front: Row) -> Form:
        near = listening(layout, front)
        return Quotient((axis - front.head) * away + (row.eye - axis) * near, away)

    return Least(tuple(over(front) for front in layout.rows[: row.number - 1]))


@measure(quantity="length", per_row=True, formula="room length - y", source="definition")
def rear_wall_distance(layout: Layout, row: Row) -> Form:
    """From the row's ears to the rear wall."""
    return affine(layout.length - row.y)


@measure(
    quantity="length",
    per_row=True,
    formula="the lesser of x and room width - x at the end seats, wheelchairs' places among them",
    source="definition",
)
def side_wall_distance(layout: Layout, row: Row) -> Form:
    """From the ears in the row's end seats to the nearer side wall."""
    left, right = row.outermost
    return Least((affine(left), affine(layout.width - right)))


@measure(
    quantity="ratio",
    formula="least of l/h - 1.1 w/h, 4.5 w/h - 4 - l/h, 3 - l/h, 3 - w/h",
    source="BBC RD 1993/8, taken up in EBU Tech 3276 and ITU-R BS.1116-3; from memory",
)
def room_proportion(layout: Layout) -> Form:
    """Margin by which the room's proportions lie inside the published range; negative: outside."""
    margins = acoustics.proportion_margins(length=layout.length, width=layout.width, height=layout.height)
    return fixed(np.min(np.broadcast_arrays(*margins), axis=0))
