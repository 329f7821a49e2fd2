"""What is seen from a row: angles to the image, sharpness, and the view over the row in front."""

from __future__ import annotations

import math

from optimiser.forms import Capped, Form, Greatest, Least, Link, Quotient, affine
from optimiser.linear import Linear
from optimiser.measures.base import measure
from optimiser.measures.layout import Layout, Row
from optimiser.measures.seats import end_seat_offset, symmetrical
from optimiser.physics import sightline, viewing
from optimiser.quantity import parse

SHAPES = {"shape": ("16:9", "1.85:1", "2.00:1", "2.39:1", "4:3")}
"""Shapes in which programmes and films come."""

SUBTENDED = Link(
    lambda r: viewing.angle_of_half_ratio(ratio=r),
    lambda a: viewing.half_ratio_of_angle(angle=a),
    low=-math.pi,
    high=math.pi,
)
SLOPE = Link(
    lambda r: viewing.angle_of_slope(slope=r),
    lambda a: viewing.slope_of_angle(angle=a),
    low=-math.pi / 2,
    high=math.pi / 2,
)
COTANGENT = Link(
    lambda r: viewing.angle_of_cotangent(cotangent=r),
    lambda a: viewing.cotangent_of_angle(angle=a),
    increasing=False,
    low=0.0,
    high=math.pi,
)

STRAIGHT = Link(
    lambda square: viewing.distance_of_square(square=square),
    lambda distance: distance * distance,
    low=0.0,
)
"""A distance in plan, or a ratio of two, by its square."""


def _slanting(slant: float) -> Link:
    return Link(
        lambda r: viewing.angle_of_slanting(ratio=r, slant=slant),
        lambda a: viewing.slanting_of_angle(angle=a, slant=slant),
        increasing=False,
        low=0.0,
        high=math.pi,
    )


SLANTING = {slant: _slanting(slant) for slant in (0.0, 0.3, -0.3)}
"""Links of an angle's caps, by how tangents slant [rad]: more of them made proofs no shorter."""


def distance(layout: Layout, row: Row) -> Linear:
    """From the row's eyes to the plane of the image, horizontally."""
    return row.y - layout.image_y


def subtended(layout: Layout, row: Row, aside: Linear, width: Linear) -> Form:
    """Angle that a width about the image's middle fills for an eye off the image's centre line."""
    away = distance(layout, row)
    exact = Quotient(*viewing.subtended_quotient(width=width, distance=away, offset=aside), COTANGENT)
    return Capped(exact, caps(width, away, aside)) if moves_aside(layout, row) else exact


def moves_aside(layout: Layout, row: Row) -> bool:
    """Whether it is open how far a row lies beside the image: else its seats are off the image's line by so little that
    caps would only burden the solver."""
    return not (row.centre - layout.image_centre).is_constant


def caps(width: Linear, away: Linear, aside: Linear) -> tuple[Quotient, ...]:
    """What the angle that a width fills is at most, without products: as from straight before its middle, and by tangents
    of the circle from which it is seen so."""
    return tuple(
        Quotient(*viewing.slanting_quotient(width=width, distance=away, offset=aside, slant=slant), link)
        for slant, link in SLANTING.items()
    )


def _filled(layout: Layout, row: Row, width: Linear, x: Linear | None = None) -> Form:
    """Angle that a width about the image's middle fills for an eye in the middle of the row's seats, or in one seat."""
    if x is None and row.middle == layout.image_centre:
        return Quotient(width * 0.5, distance(layout, row), SUBTENDED)
    return subtended(layout, row, (row.middle if x is None else x) - layout.image_centre, width)


@measure(
    quantity="angle",
    signed=False,
    per_row=True,
    per_seat=True,
    formula="2 atan(W / 2D); acot((D^2 + x^2 - W^2/4) / (W D)) from x off the image's centre line; x the middle of the row's seats, "
    "without places for wheelchairs",
    source="plane trigonometry; W image width, D eye to image",
)
def horizontal_angle(layout: Layout, row: Row, x: Linear | None = None) -> Form:
    """Angle that the image's width fills: for an eye in the middle of this row's seats, or in one seat."""
    return _filled(layout, row, layout.image_width, x)


@measure(
    quantity="angle",
    per_row=True,
    formula="acot((D^2 + x^2 - W^2/4) / (W D))",
    source="plane trigonometry, the sum of the angles to the two edges; x end seat off the centre line",
)
def worst_seat_angle(layout: Layout, row: Row) -> Form:
    """Angle that the image's width fills for the seat at the row's end, a wheelchair's place among them, where it is smallest."""
    if symmetrical(layout, row):
        return subtended(layout, row, end_seat_offset(row), layout.image_width)
    return Least(tuple(subtended(layout, row, x - layout.image_centre, layout.image_width) for x in row.outermost))


@measure(quantity="angle", per_row=True, formula="atan((top - eye) / D)", source="plane trigonometry")
def upward_angle(layout: Layout, row: Row) -> Form:
    """How far one looks up, from level, to the upper edge of the image."""
    top = layout.image_bottom + layout.image_height
    return Quotient(top - row.eye, distance(layout, row), SLOPE)


@measure(quantity="angle", per_row=True, formula="atan((eye - bottom) / D)", source="plane trigonometry")
def downward_angle(layout: Layout, row: Row) -> Form:
    """How far one looks down, from level, to the lower edge of the image."""
    return Quotient(row.eye - layout.image_bottom, distance(layout, row), SLOPE)


@measure(
    quantity="angle",
    per_row=True,
    per_seat=True,
    formula="atan(x / D)",
    source="plane trigonometry; for limits see SMPTE 196M-2003 (15 degrees, review rooms, as quoted) and NUREG-0700 (15 and 35 degrees)",
)
def off_axis_angle(layout: Layout, row: Row, x: Linear | None = None) -> Form:
    """How far the row's end seat (or a wheelchair's place at its end), or one seat, lies off the line square to the middle of
    the image."""
    away = distance(layout, row)
    if x is None and symmetrical(layout, row):
        return Quotient(end_seat_offset(row), away, SLOPE)
    left, right = row.outermost if x is None else (x, x)
    centre = layout.image_centre
    return Greatest((Quotient(right - centre, away, SLOPE), Quotient(centre - left, away, SLOPE)))


@measure(
    quantity="ratio",
    per_row=True,
    per_seat=True,
    formula="D / H; from one seat sqrt(D^2 + x^2) / H, x off the image's centre line",
    source="definition; ITU-R BT.500 and BT.2022 give distances so, from memory",
)
def picture_heights(layout: Layout, row: Row, x: Linear | None = None) -> Form:
    """Viewing distance in heights of the image: square to it, or from one seat to its middle, in plan."""
    away, height = distance(layout, row), layout.image_height
    if x is None:
        return Quotient(away, height)
    square = viewing.square_of_distance(ahead=away, aside=x - layout.image_centre)
    return Quotient(square, height * height, STRAIGHT)


@measure(
    quantity="pixels_per_degree",
    per_row=True,
    needs=("pixel_pitch",),
    formula="D tan(1 degree) / p, p = W / N the pixels' pitch, W the width of the chip's image where that is the wider",
    source="plane trigonometry at the image's centre; an eye of one arc minute resolves 60",
)
def pixels_per_degree(layout: Layout, row: Row) -> Form:
    """Pixels across one degree at the middle of the image."""
    one = float(viewing.pixels_per_degree(pixels=1.0, width=1.0, distance=1.0))
    return Quotient(distance(layout, row) * one, layout.pixel_pitch)


@measure(
    quantity="length",
    signed=False,
    options=SHAPES,
    formula="W min(1, shape / aspect)",
    source="definition of the aspect ratio; 16:9: ITU-R BT.709, 4:3: BT.601, 1.85:1 and 2.39:1: D-cinema's containers, from memory",
)
def picture_width(layout: Layout, shape: str) -> Form:
    """Width of a picture of this shape, as large as the image surface holds it: programmes and films come in several."""
    return affine(_picture(layout, shape))


@measure(
    quantity="angle",
    signed=False,
    per_row=True,
    options=SHAPES,
    formula="as horizontal_angle, W min(1, shape / aspect) in the place of W",
    source="plane trigonometry; shapes as for picture_width",
)
def picture_angle(layout: Layout, row: Row, shape: str) -> Form:
    """Angle that the width of a picture of this shape fills, as large as the image surface holds it, for an eye in the
    middle of this row's seats."""
    return _filled(layout, row, _picture(layout, shape))


def _picture(layout: Layout, shape: str) -> Linear:
    share = viewing.picture_width(width=1.0, aspect=layout.aspect, shape=float(parse("aspect", shape)))
    return layout.image_width * float(share)


@measure(
    quantity="length",
    per_row=True,
    first_row=2,
    formula="(D N - R T) / (D + T)",
    source="the C-value of spectator seating; D, R front eye to the image's lower edge, along and above; T pitch; N rise",
)
def sightline_clearance(layout: Layout, row: Row) -> Form:
    """Height at which the sight line from this row to the lower edge of the image passes over the
    eyes of the row in front."""
    front = layout.row_before(row)
    above, below = sightline.clearance_quotient(
        focus_distance=distance(layout, front),
        eye_above_focus=front.eye - layout.image_bottom,
        row_pitch=row.y - front.y,
        rise=row.eye - front.eye,
    )
    return Quotient(above, below)
