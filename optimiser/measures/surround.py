"""Surround and overhead loudspeakers: where on walls and ceiling one lies in the window of every seat."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from optimiser.forms import LATCH, Form, Gate, Greatest, Least, Quotient, Sum, fixed
from optimiser.linear import Linear, constant
from optimiser.measures.base import measure
from optimiser.measures.layout import Layout, Line
from optimiser.physics.windows import LAYOUTS, SOURCE, Edge, Window, edges

SEATS = ("every", "middle", "reference")
"""Whose windows count: those of every seat, only those of each row's middle, or only that of the reference row's."""


@dataclass(frozen=True)
class Place:
    """A stretch of one line that one loudspeaker may have: it begins at the greatest of ``starts``, ends at the
    least of ``ends``, and is there only while all of ``others`` are >= 0; distances along the line [m]. ``heights``
    must be >= 0 too, and say nothing of how long it is."""

    line: Line
    starts: tuple[Linear, ...]
    ends: tuple[Linear, ...]
    others: tuple[Linear, ...]
    heights: tuple[Linear, ...]

    @property
    def margins(self) -> tuple[Linear, ...]:
        """What must all be >= 0; the least of them is the stretch's length, or what is missing."""
        return (*(end - start for end in self.ends for start in self.starts), *self.others)


def speakers_of(layout: Layout) -> list[tuple[str, Window, bool]]:
    """Every loudspeaker: its name, window, and whether it is a left one."""
    found = []
    for window in LAYOUTS[layout.surround.layout]:
        found += [(f"{window.name} left", window, True), (f"{window.name} right", window, False)]
    return found


def places_of(layout: Layout, window: Window, left: bool, seats: str = "every") -> list[Place]:
    """Where a loudspeaker may be, line by line, in the windows of such ``seats``."""
    found = []
    for line in layout.surround.lines:
        if line.overhead == window.overhead and line.left in (None, left):
            bounds = [_bound(layout, line, edge, seats) for edge in edges(window, left)]
            starts = [b for kind, group in bounds if kind == "start" for b in group]
            ends = [b for kind, group in bounds if kind == "end" for b in group]
            others = [b for kind, group in bounds if kind == "other" for b in group]
            for low, high in line.free:
                front = [layout.baffle_depth + layout.surround.half] if line.along == "y" else []
                stretch = (*starts, *front, constant(low)), (*ends, constant(high)), tuple(others)
                found += [Place(line, *stretch, heights) for heights in _at_level(layout, line)]
    return found


def _at_level(layout: Layout, line: Line) -> list[tuple[Linear, ...]]:
    """When loudspeakers on a line, at the height of the highest ears, are at its level: where all of one of these
    are >= 0."""
    low, high = line.level
    under = () if math.isinf(high) else tuple(high - row.eye for row in layout.rows)
    return [under] if math.isinf(low) else [(*under, row.eye - low) for row in layout.rows]


def _bound(layout: Layout, line: Line, edge: Edge, seats: str) -> tuple[str, list[Linear]]:
    """What an edge of every listener's window says of a place on a line: where a stretch begins or ends, or
    something that must be >= 0 wherever the place is."""
    across, back = edge.normal
    along = back if line.along == "y" else across
    said = []
    for row in (layout.reference_row,) if seats == "reference" else layout.rows:
        # of a row's people, the one at the end to which the normal points has the least room
        x = row.outermost[int(across > 0.0)] if seats == "every" else row.middle
        fixed_part = (
            (x - line.at) * across + row.y * back if line.along == "y" else (row.y - line.at) * back + x * across
        )
        for height in _heights(layout, line, row.eye) if edge.rise != 0.0 else [constant(0.0)]:
            said.append(fixed_part + height * edge.rise)  # along * place >= this
    if abs(along) < 1e-12:
        return "other", [-s for s in said]
    return ("start" if along > 0.0 else "end"), [s * (1.0 / along) for s in said]


def _heights(layout: Layout, line: Line, eye: Linear) -> list[Linear]:
    """How high over a listener's ears a loudspeaker is: on the ceiling; on a wall at the height of the highest
    ears, whichever these are."""
    if line.overhead:  # what holds at both heights holds at those between them
        return [height - eye for height in sorted(set(line.over))]
    return [row.eye - eye for row in layout.rows]


def _margin(layout: Layout, window: Window, left: bool, seats: str) -> Form:
    """Length of the longest stretch for a loudspeaker, or, below zero, by how much it is missed: where nothing is
    free, and at most, by the room's length."""
    options = [
        Least((*map(Gate, place.heights), *map(Quotient, place.margins)))
        for place in places_of(layout, window, left, seats)
    ]
    return Greatest((*options, fixed(-layout.length)))


def _served(layout: Layout, window: Window, left: bool, seats: str) -> Form:
    """1 where there is a place for a loudspeaker, else 0."""
    places = places_of(layout, window, left, seats)
    options = [Least((*map(Gate, (*place.heights, *place.margins)), fixed(1.0))) for place in places]
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
        if min(float(m.value(design)) for m in (*place.heights, *place.margins)) < -LATCH:
            continue
        start = max(float(s.value(design)) for s in place.starts)
        end = max(start, min(float(e.value(design)) for e in place.ends))
        line = place.line
        known = best.get(line.surface)
        if known is None or end - start > known.end - known.start + 1e-9:
            best[line.surface] = Stretch(name, seats, line.surface, line.along, line.at, start, end)
    return list(best.values())
