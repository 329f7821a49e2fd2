"""Ways to walk: beside the rows, past what stands there, and under what hangs there."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import reduce
from itertools import combinations, pairwise

import numpy as np

from optimiser.forms import Form, Gate, Greatest, Least, affine
from optimiser.linear import Linear, constant
from optimiser.measures.ceilings import Span
from optimiser.measures.front import free_cabinets, walled
from optimiser.measures.layout import Body, Layout, Row
from optimiser.physics.stairs import CODES

OVER_HEADS = CODES["adk_headroom_least"].value
"""Metres above the floor from which a box is overhead, and no longer in anyone's way: the least headroom that a code
gives stairs. Whether more is asked is a matter of limits on headroom."""


def at_aisles(layout: Layout, beside: Callable[[str], Form]) -> Form:
    """A form of one side as the measure of the aisles: of the worse side for two aisles or none, of the
    aisle's side for one."""
    if layout.aisle_sides in ("left", "right"):
        return beside(layout.aisle_sides)
    left, right = beside("left"), beside("right")
    if layout.aisle_sides != "one":
        return Least((left, right))
    if layout.aisle_side is None:
        return Greatest((left, right))
    # a gate shuts the side that the aisle is not on
    return Greatest((Least((left, Gate(0.5 - layout.aisle_side))), Least((right, Gate(layout.aisle_side - 0.5)))))


def way_beside(layout: Layout, row: Row, side: str, y: Span, level: Linear | None = None) -> Form:
    """Clear width between the row's end and the side wall over a stretch of the room's length, whose floor lies at the
    row's level if no other is given."""
    left, right = row.span
    level = row.platform if level is None else level
    room = left if side == "left" else layout.width - right
    parts: list[Form] = [affine(room)]
    for some, absent in in_line(layout, "x"):
        first, last = some[0].x[0], some[-1].x[1]
        # one passes between the row and the boxes, between them and the wall, or between two of them
        past = (left - last, first) if side == "left" else (first - right, layout.width - last)
        passed = [gate for body in some for gate in out_of_the_way(level, body, y)]
        parts.append(Greatest((*absent, *passed, *_gaps(past, some, "x"))))
    return Least(tuple(parts))


def in_line(layout: Layout, along: str) -> Iterator[tuple[tuple[Body, ...], tuple[Gate, ...]]]:
    """What one passes at once ``along`` x or y: each thing that stands there, and two or three obstructions one after the
    other, in that order, that leave ways between them only; with gates that open where that is not so."""
    for body, absent in standing(layout):
        yield (body,), absent
    across = "y" if along == "x" else "x"
    for some in (*combinations(layout.bodies, 2), *combinations(layout.bodies, 3)):
        ends = [getattr(body, across) for body in some]
        # of many cases at once they may stand side by side in some
        missed = reduce(np.maximum, (low for low, _ in ends)) - reduce(np.minimum, (high for _, high in ends))
        if np.any(missed < 0.0):
            ordered = sorted(some, key=lambda body: float(np.mean(getattr(body, along)[0])))
            yield tuple(ordered), (Gate(constant(missed)),) if np.any(missed >= 0.0) else ()


def _gaps(past: Iterable[Linear | float], some: Sequence[Body], along: str) -> Iterator[Form]:
    """Widths of the ways ``past`` some things that one comes to one after the other, and of those between them."""
    between = (getattr(after, along)[0] - getattr(before, along)[1] for before, after in pairwise(some))
    for gap in (*past, *between):
        yield affine(gap if isinstance(gap, Linear) else constant(gap))


def standing(layout: Layout) -> list[tuple[Body, tuple[Gate, ...]]]:
    """What people keep clear of, each with gates that open where it is not there: obstructions, and loudspeakers that no
    wall holds."""
    boxes: list[tuple[Body, tuple[Gate, ...]]] = [(body, ()) for body in layout.bodies]
    return boxes + [(body, (walled(layout),)) for body in free_cabinets(layout)]


def out_of_the_way(level: Linear, body: Body, y: Span) -> tuple[Form, ...]:
    """Gates that open where a box is before, behind, over or under the people on a stretch of floor."""
    return (
        Gate(y[0] - body.y[1]),
        Gate(body.y[0] - y[1]),
        Gate(body.z[0] - level - OVER_HEADS),
        Gate(level - body.z[1]),
    )


def aisle_span(layout: Layout, row: Row, side: str) -> Span:
    """x of the aisle beside the row, as wide as the file asks for."""
    left, right = row.span
    return (left - layout.aisle_width, left) if side == "left" else (right, right + layout.aisle_width)


def way_across(layout: Layout, row: Row, y: Span, level: Linear | None = None, x: Span | None = None) -> Form:
    """Clear way across the room between two lines, along ``x`` (left out: the row's span): past whatever stands
    there, before it or behind it. ``level``: of the floor there, left out: the row's."""
    level = row.platform if level is None else level
    parts: list[Form] = [affine(y[1] - y[0])]
    left, right = row.span if x is None else x
    for some, absent in in_line(layout, "y"):
        beside = [Gate(gap) for body in some for gap in (left - body.x[1], body.x[0] - right)]
        passed = [gate for body in some for gate in out_of_the_way(level, body, y)]
        past = some[0].y[0] - y[0], y[1] - some[-1].y[1]
        parts.append(Greatest((*absent, *beside, *passed, *_gaps(past, some, "y"))))
    return Least(tuple(parts))
