"""Low things that stand on floor where people walk, in a finished design: no limit asks for what one may step over."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from optimiser.design import Space
from optimiser.hanging import settled
from optimiser.measures.layout import Layout
from optimiser.measures.people import behind_the_row_before, platform_end, platform_front
from optimiser.measures.ways import aisle_span

LOW = 0.3
"""Metres above its floor up to which a thing is rather tripped over than walked round: common practice, no source."""

PASSED = 0.6
"""Metres of way beside or before a row that people pass without trouble: common practice, no source."""

LEVEL = 1e-3
"""Metres within which floors count as level, and lengths as equal."""

Span = tuple[float, float]


@dataclass(frozen=True)
class Walked:
    """Floor where people walk, by its extents [m], and where that is, in words. What is as high as ``landing`` [m] there is
    one, and no low thing."""

    where: str
    x: Span
    y: Span
    landing: float = 0.0


def low_things(
    space: Space, design: Mapping[str, float], doorways: Sequence[Walked], ways_in: Sequence[Span]
) -> dict[str, tuple[float, tuple[str, ...]]]:
    """Obstructions, by name, that rise a little above floor where people walk: how high [m] at most, and where; none that
    lie beside such floor or under it. ``doorways``: floor before doors and openings; ``ways_in``: where along the room these
    all are."""
    layout = space.layout
    walked = [*_along_rows(layout, design), *_aisles(layout, design, ways_in), *doorways]
    floors = list(_floors(layout, design))
    found: dict[str, tuple[float, tuple[str, ...]]] = {}
    for body in (settled(one, design) for one in layout.bodies):
        for way in walked:
            for y, level in floors:
                long = min(body.y[1], way.y[1], y[1]) - max(body.y[0], way.y[0], y[0])
                wide = min(body.x[1], way.x[1]) - max(body.x[0], way.x[0])
                high = body.z[1] - level
                if abs(body.z[1] - way.landing) > LEVEL and min(long, wide, high) > LEVEL and high <= LOW + LEVEL:
                    most, where = found.get(body.name, (0.0, ()))
                    found[body.name] = max(most, high), tuple(dict.fromkeys((*where, way.where)))
    return found


def _floors(layout: Layout, design: Mapping[str, float]) -> Iterator[tuple[Span, float]]:
    """The room's floor and its platforms, from wall to wall: each one's extent along the room and its level."""
    start = 0.0
    for row in layout.rows:
        edge, end = (float(e.value(design)) for e in (platform_front(layout, row), platform_end(layout, row)))
        yield (start, edge), 0.0
        yield (edge, end), float(row.platform.value(design))
        start = end
    yield (start, layout.length), 0.0


def level_stretch(layout: Layout, design: Mapping[str, float], y: float) -> tuple[Span, float]:
    """The stretch of the room's length about ``y`` [m] that is level from wall to wall, and its level [m]."""
    floors = [(ends, level) for ends, level in _floors(layout, design) if ends[1] - ends[0] > LEVEL]
    here = next(k for k, (ends, _) in enumerate(floors) if y <= ends[1] or k == len(floors) - 1)
    first = last = here
    while first > 0 and abs(floors[first - 1][1] - floors[here][1]) <= LEVEL:
        first -= 1
    while last + 1 < len(floors) and abs(floors[last + 1][1] - floors[here][1]) <= LEVEL:
        last += 1
    return (floors[first][0][0], floors[last][0][1]), floors[here][1]


def _along_rows(layout: Layout, design: Mapping[str, float]) -> Iterator[Walked]:
    """Before each row, and behind a bar, as far as people need to get to their seats."""
    for row in layout.rows:
        start, feet, back = (float(e.value(design)) for e in (behind_the_row_before(layout, row), row.feet, row.back))
        x = _settled(row.span, design)
        if row.bar:
            yield Walked(f"behind row {row.number}", x, (back, back + PASSED))
        else:
            yield Walked(f"before row {row.number}", x, (max(start, feet - PASSED), feet))


def _settled(ends, design: Mapping[str, float]) -> Span:
    """An extent where a design has it."""
    return tuple(float(end.value(design)) for end in ends)


def _aisles(layout: Layout, design: Mapping[str, float], ways_in: Sequence[Span]) -> Iterator[Walked]:
    """Beside each row where an aisle is, and on from there to the ways in that lie before the rows or behind them; where the
    file has no aisle, beside the rows wherever there is space to pass."""
    first, last = layout.rows[0], layout.rows[-1]
    none = layout.aisle_sides == "none"
    aisled = replace(layout, aisle_width=PASSED) if none else layout
    for side in aisle_walls(layout, design):
        for row in layout.rows:
            y = [float(e.value(design)) for e in (platform_front(layout, row), row.back)]
            x = _settled(aisle_span(aisled, row, side), design)
            if x[0] < -LEVEL or x[1] > layout.width + LEVEL:
                continue
            here = f"in the aisle beside row {row.number}" if not none else f"beside row {row.number}"
            yield Walked(here, x, (y[0], y[1]))
            nearest = min((start for start, _ in ways_in), default=y[0])
            farthest = max((end for _, end in ways_in), default=y[1])
            if row is first and nearest < y[0]:
                yield Walked("on the way to row 1", x, (nearest, y[0]))
            if row is last and farthest > y[1]:
                yield Walked(f"on the way to row {row.number}", x, (y[1], farthest))


def aisle_walls(layout: Layout, design: Mapping[str, float]) -> tuple[str, ...]:
    """The walls beside the aisles, in which the steps lie; both where the file does not say."""
    if layout.aisle_sides in ("left", "right"):
        return (layout.aisle_sides,)
    if layout.aisle_sides == "one" and layout.aisle_side is not None:
        return (("left", "right")[round(float(layout.aisle_side.value(design)))],)
    return ("left", "right")
