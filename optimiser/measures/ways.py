"""Ways to walk: beside the rows, past what stands there, and under what hangs there."""

from __future__ import annotations

from collections.abc import Callable

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


def way_beside(layout: Layout, row: Row, side: str, y: Span) -> Form:
    """Clear width between the row's end and the side wall over a stretch of the room's length."""
    left, right = row.span
    room = left if side == "left" else layout.width - right
    parts: list[Form] = [affine(room)]
    for body, absent in standing(layout):
        near, far = (left - body.x[1], body.x[0]) if side == "left" else (body.x[0] - right, layout.width - body.x[1])
        # one passes between the row and the box, or between the box and the wall
        beside = affine(near), affine(far if isinstance(far, Linear) else constant(far))
        parts.append(Greatest((*absent, *out_of_the_way(row.platform, body, y), *beside)))
    return Least(tuple(parts))


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
    for body, absent in standing(layout):
        beside = Gate(left - body.x[1]), Gate(body.x[0] - right)
        before, behind = affine(body.y[0] - y[0]), affine(y[1] - body.y[1])
        parts.append(Greatest((*absent, *beside, *out_of_the_way(level, body, y), before, behind)))
    return Least(tuple(parts))
