"""Views over more than one row: staggered seats, two rows of heads, a guard in the way."""

from __future__ import annotations

import math

from optimiser.forms import Form, Gate, Greatest, Least, Quotient, absolute
from optimiser.linear import Linear, Term, spread_of
from optimiser.measures.base import measure
from optimiser.measures.layout import Layout, Row
from optimiser.measures.people import no_guard, platform_front
from optimiser.measures.seats import seats_of
from optimiser.measures.viewing import distance
from optimiser.physics import sightline

BESIDE = 0.2
"""Metres that a head in front must lie aside for the view to pass beside it: half its breadth and half
one's own, 150 mm and a hand's breadth. Common practice, no source."""

C_VALUE = (
    "the C-value of spectator seating; alternate rows with staggered seats: an architectural acoustics text, as quoted"
)


def over(layout: Layout, row: Row, front: Row) -> Form:
    """Clearance of the row's sight line to the image's lower edge over the eyes of a row before it."""
    above, below = sightline.clearance_quotient(
        focus_distance=distance(layout, front),
        eye_above_focus=front.eye - layout.image_bottom,
        row_pitch=row.y - front.y,
        rise=row.eye - front.eye,
    )
    return Quotient(above, below)


def offset(row: Row, front: Row) -> Linear:
    """x of the row's first seat from the first seat of the row in front."""
    first = (r.middle - (r.seats - 1.0) * (0.5 * r.pitch) for r in (row, front))
    mine, theirs = first
    return mine - theirs


def alike(row: Row, front: Row) -> bool:
    """Whether the seats of two rows stand at the same pitch, so that all are as far aside as the first."""
    return row.pitch == front.pitch and not row.places and not front.places


def _most(term: Term) -> float:
    """The greatest that a term may be by itself: of a decision on a stagger, one seat."""
    return 1.0 if isinstance(term, str) else max(abs(entry) for _, entry in term.values)


def shifts(layout: Layout, row: Row) -> list[tuple[tuple[Form, ...], Linear]]:
    """How far people of this row may sit aside of people of the row in front, each with gates that open
    where one of the two is not there. In rows alike: the offset of the first seat, less every whole
    number of seats that it may come near."""
    front = layout.row_before(row)
    if not alike(row, front):
        return [
            ((Gate(absent), Gate(absent_in_front)), x - ahead)
            for _, absent, x in seats_of(row)
            for _, absent_in_front, ahead in seats_of(front)
        ]
    aside = row.middle - front.middle  # a stagger of at most one seat
    narrow, wide = spread_of(row.pitch)
    slack = abs(aside.constant) + sum(abs(c) * _most(term) for term, c in aside.terms)
    low = -0.5 * (row.most_seats - 1) * wide - slack
    high = 0.5 * (front.most_seats - 1) * wide + slack
    apart = offset(row, front)
    whole = range(math.floor(low / narrow), math.ceil(high / narrow) + 1)
    return [((), apart - k * front.pitch) for k in whole]


@measure(
    quantity="length",
    signed=False,
    per_row=True,
    first_row=2,
    formula="least |x of a seat - x of a seat in front|, wheelchairs' places among them",
    source="definition; half a seat is the most for chairs of one width, and what makes every second row count",
)
def stagger(layout: Layout, row: Row) -> Form:
    """How far the seats of this row stand aside of those in front; 0 where they are in line. At a bar and
    beside a wheelchair's place, whose widths differ: of whoever sits most nearly in line. In rows of chairs alike the line
    in front goes on beyond its ends."""
    return Least(tuple(Greatest((*gone, absolute(shift))) for gone, shift in shifts(layout, row)))


@measure(quantity="length", per_row=True, first_row=3, formula="(D N - R T) / (D + T), over two rows", source=C_VALUE)
def two_row_clearance(layout: Layout, row: Row) -> Form:
    """Height at which the sight line from this row to the lower edge of the image passes over the eyes of
    the row before the one in front."""
    return over(layout, row, layout.rows[row.number - 3])


@measure(
    quantity="length",
    per_row=True,
    first_row=2,
    formula="sightline clearance; over two rows where the seats stand 200 mm aside of those in front",
    source=C_VALUE + "; the 200 mm are common practice, no source",
)
def clear_view(layout: Layout, row: Row) -> Form:
    """Clearance over the nearest heads that stand in the line: those of the row in front, or where the
    seats are staggered, between which one looks, those of the row before it (no bound in row 2)."""
    aside = tuple(Greatest((*gone, Gate(shift - BESIDE), Gate(-shift - BESIDE))) for gone, shift in shifts(layout, row))
    further = (over(layout, row, layout.rows[row.number - 3]),) if row.number > 2 else ()
    return Greatest((over(layout, row, layout.row_before(row)), Least((*aside, *further))))


@measure(
    quantity="length",
    per_row=True,
    needs=("guard",),
    formula="height of the sight line over the guard at the platform's front; no bound where none is built",
    source="plane geometry; a guard is built where the drop to the level in front is more than the file says",
)
def guard_sightline(layout: Layout, row: Row) -> Form:
    """How far the sight line to the lower edge of the image passes over the guard before the row."""
    height = layout.guard[0]
    edge = platform_front(layout, row)
    away, near = distance(layout, row), edge - layout.image_y
    # the line at the edge: bottom + (eye - bottom) near / away, less the guard's top
    top = row.platform + height
    line = (layout.image_bottom - top) * away + (row.eye - layout.image_bottom) * near
    return Greatest((no_guard(layout, row), Quotient(line, away)))
