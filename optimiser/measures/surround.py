"""Surround and overhead loudspeakers: where on walls and ceiling one lies in the window of every seat."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import reduce
from itertools import product
from operator import add

from optimiser.forms import LATCH, Form, Gate, Greatest, Least, Quotient, Sum, fixed
from optimiser.linear import Linear, constant
from optimiser.measures.base import measure
from optimiser.measures.layout import Area, Layout, Line, Row
from optimiser.physics.halfplanes import PARALLEL, Direction, cancelling, longest_along_y
from optimiser.physics.windows import LAYOUTS, SOURCE, Edge, Window, edges

SEATS = ("every", "middle", "reference")
"""Whose windows count: those of every seat, only those of each row's middle, or only that of the reference row's."""


@dataclass(frozen=True)
class Place:
    """A stretch for one loudspeaker: as long as the least of ``lengths`` [m], or so much is missing of one, and there only while
    all of ``others`` [m] are >= 0, less of which is missing too; ``heights`` must be >= 0 as well, and say nothing of how much is
    missing. ``shape``: where it is."""

    shape: OnLine | Overhead
    lengths: tuple[Linear, ...]
    others: tuple[Linear, ...]
    heights: tuple[Linear, ...] = ()

    @property
    def gates(self) -> tuple[Linear, ...]:
        """What must all be >= 0."""
        return *self.heights, *self.lengths, *self.others


@dataclass(frozen=True)
class OnLine:
    """A stretch of a line on a wall: it begins at the greatest of ``starts``, and ends at the least of ``ends`` [m]."""

    line: Line
    starts: tuple[Linear, ...]
    ends: tuple[Linear, ...]

    def stretch(self, speaker: str, seats: str, design: Mapping[str, float]) -> Stretch:
        start = max(float(s.value(design)) for s in self.starts)
        end = max(start, min(float(e.value(design)) for e in self.ends))
        return Stretch(speaker, seats, self.line.surface, self.line.along, self.line.at, start, end)


@dataclass(frozen=True)
class Overhead:
    """A part of the ceiling in plan, within half-planes: of each its direction and places [m], of which the greatest counts."""

    sides: tuple[tuple[Direction, tuple[Linear, ...]], ...]

    def stretch(self, speaker: str, seats: str, design: Mapping[str, float]) -> Stretch | None:
        sides = [(direction, max(float(p.value(design)) for p in places)) for direction, places in self.sides]
        found = longest_along_y(sides=sides)
        return None if found is None else Stretch(speaker, seats, "ceiling", "y", *found)


def speakers_of(layout: Layout) -> list[tuple[str, Window, bool]]:
    """Every loudspeaker: its name, window, and whether it is a left one."""
    found = []
    for window in LAYOUTS[layout.surround.layout]:
        found += [(f"{window.name} left", window, True), (f"{window.name} right", window, False)]
    return found


def places_of(layout: Layout, window: Window, left: bool, seats: str = "every") -> list[Place]:
    """Where a loudspeaker may be, in the windows of such ``seats``."""
    if window.overhead:
        return [_overhead(layout, area, window, left, seats) for area in layout.surround.areas if area.left == left]
    lines = [line for line in layout.surround.lines if line.left in (None, left)]
    return [place for line in lines for place in _on_line(layout, line, window, left, seats)]


def _on_line(layout: Layout, line: Line, window: Window, left: bool, seats: str) -> Iterator[Place]:
    """The places along a line on a wall, at the height of the highest ears, whichever these are."""
    axis = 1 if line.along == "y" else 0
    starts, ends, others = [], [], []
    for edge in edges(window, left):
        along, aside = edge.normal[axis], edge.normal[1 - axis] * line.at
        for row, inside in _insides(layout, edge, seats):
            heights = [one.eye - row.eye for one in layout.rows] if edge.rise != 0.0 else [constant(0.0)]
            for height in heights:
                least = inside + height * edge.rise - aside  # along * place >= this
                if abs(along) < PARALLEL:
                    others.append(-least)
                else:
                    (starts if along > 0.0 else ends).append(least * (1.0 / along))
    front = [layout.baffle_depth + layout.surround.half] if line.along == "y" else []
    for low, high in line.free:
        first, last = (*starts, *front, constant(low)), (*ends, constant(high))
        lengths = tuple(end - start for end in last for start in first)
        for heights in _at_level(layout, line):
            yield Place(OnLine(line, first, last), lengths, tuple(others), heights)


def _at_level(layout: Layout, line: Line) -> list[tuple[Linear, ...]]:
    """When loudspeakers on a line, at the height of the highest ears, are at its level: where all of one of these
    are >= 0."""
    low, high = line.level
    under = () if math.isinf(high) else tuple(high - row.eye for row in layout.rows)
    return [under] if math.isinf(low) else [(*under, row.eye - low) for row in layout.rows]


def _overhead(layout: Layout, area: Area, window: Window, left: bool, seats: str) -> Place:
    """The place in a part of the ceiling: the windows and the part are half-planes in plan, and which of their directions
    cancel says what their places must keep to."""
    (west, east), (near, far) = area.x, area.y
    sides: list[tuple[Direction, list[Linear]]] = [
        ((1.0, 0.0), [constant(west)]),
        ((-1.0, 0.0), [constant(-east)]),
        ((0.0, 1.0), [constant(near), layout.baffle_depth + layout.surround.half]),
        ((0.0, -1.0), [constant(-far)]),
    ]
    for edge in edges(window, left):
        planes = [(0.0, 0.0, 0.0)] if edge.rise == 0.0 else [area.nearest] if edge.rise > 0.0 else area.planes
        for level, *slopes in planes:
            x, y = (n - edge.rise * slope for n, slope in zip(edge.normal, slopes))
            size = math.hypot(x, y)
            size = size if size > PARALLEL else 1.0
            places = [
                (inside + (level - row.eye) * edge.rise) * (1.0 / size) for row, inside in _insides(layout, edge, seats)
            ]
            sides.append(((x / size, y / size), places))
    lengths, others = [], []
    for shares in cancelling(directions=[direction for direction, _ in sides]):
        # two points along y: where one is inside, the other may be as much farther as the sides that face back leave
        along = sum(share * max(0.0, -sides[k][0][1]) for k, share in shares)
        for places in product(*(sides[k][1] for k, _ in shares)):
            missing = reduce(add, (place * share for place, (_, share) in zip(places, shares)))
            if along > PARALLEL:
                lengths.append(missing * (-1.0 / along))
            elif missing.terms or missing.constant > 0.0:
                others.append(-missing)
    shape = Overhead(tuple((direction, tuple(places)) for direction, places in sides))
    return Place(shape, tuple(lengths), tuple(others))


def _insides(layout: Layout, edge: Edge, seats: str) -> Iterator[tuple[Row, Linear]]:
    """Of each row what an edge's normal times a place must come to at least, but for heights, to be inside of the edge for
    such of its ``seats``."""
    across, back = edge.normal
    for row in (layout.reference_row,) if seats == "reference" else layout.rows:
        # of a row's people, the one at the end to which the normal points has the least room
        x = row.outermost[int(across > 0.0)] if seats == "every" else row.middle
        yield row, x * across + row.y * back


def _margin(layout: Layout, window: Window, left: bool, seats: str) -> Form:
    """Length of the longest stretch for a loudspeaker, or, below zero, by how much it is missed: where nothing is
    free, and at most, by the room's length."""
    options = [
        Least(
            (
                *map(Gate, place.heights),
                *map(Quotient, place.lengths),
                *(Greatest((Gate(other), Quotient(other))) for other in place.others),
            )
        )
        for place in places_of(layout, window, left, seats)
    ]
    return Greatest((*options, fixed(-layout.length)))


def _served(layout: Layout, window: Window, left: bool, seats: str) -> Form:
    """1 where there is a place for a loudspeaker, else 0."""
    places = places_of(layout, window, left, seats)
    options = [Least((*map(Gate, place.gates), fixed(1.0))) for place in places]
    return Greatest((*options, fixed(0.0)))


@measure(
    quantity="ratio",
    signed=False,
    needs=("surround",),
    options={"seats": SEATS},
    formula="loudspeakers with a place in the window of every seat / loudspeakers of the layout",
    source=SOURCE,
)
def surround_reach(layout: Layout, seats: str) -> Form:
    """Share of the layout's surround and overhead loudspeakers for which some place on the free walls or ceiling
    lies in the window of every seat (or of each row's middle, or of the reference row's) at once; 1 when all can be served."""
    speakers = speakers_of(layout)
    return Sum(tuple((1.0 / len(speakers), _served(layout, window, left, seats)) for _, window, left in speakers))


@measure(
    quantity="length",
    signed=False,
    needs=("surround",),
    options={"seats": SEATS},
    formula="least over loudspeakers of the longest stretch in the window of every seat, or of what is missing of one; never less than "
    "- room length",
    source=SOURCE,
)
def surround_stretch(layout: Layout, seats: str) -> Form:
    """Length of wall or ceiling that the middle of the loudspeaker with the least choice has; below zero, how far it is from
    having any, at most the room's length."""
    return Least(tuple(_margin(layout, window, left, seats) for _, window, left in speakers_of(layout)))


# --- for those who look ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Stretch:
    """Where one loudspeaker may be mounted in a design [m]: on which surface, from where to where (its middle),
    along y or x, and where that line is. ``seats`` says whose windows that suits: every seat's, only each
    row's middle, only the reference row's, or nobody's, and then there is no stretch."""

    speaker: str
    seats: str
    surface: str = ""
    along: str = "y"
    at: float = 0.0
    start: float = 0.0
    end: float = 0.0


NOBODY = "none"


def stretches(layout: Layout, design: Mapping[str, float]) -> list[Stretch]:
    """For each loudspeaker the longest stretch on each surface that has one: for every seat, or where there is
    none, for each row's middle, or for the reference row's alone."""
    found: list[Stretch] = []
    for name, window, left in speakers_of(layout) if layout.surround is not None else ():
        made = next((m for seats in SEATS if (m := _longest(layout, design, name, window, left, seats))), None)
        found += made or [Stretch(name, NOBODY)]
    return found


def _longest(
    layout: Layout, design: Mapping[str, float], name: str, window: Window, left: bool, seats: str
) -> list[Stretch]:
    best: dict[str, Stretch] = {}
    for place in places_of(layout, window, left, seats):
        if min(float(m.value(design)) for m in place.gates) < -LATCH:
            continue
        one = place.shape.stretch(name, seats, design)
        known = None if one is None else best.get(one.surface)
        if one is not None and (known is None or one.end - one.start > known.end - known.start + 1e-9):
            best[one.surface] = one
    return list(best.values())
