"""Which of the things that the file puts into a room a limit has come up against."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from optimiser.design import Space
from optimiser.measures import catalogue
from optimiser.score import LimitResult, Scorecard
from optimiser.words import listed, measure_words, seats_called

SAME = 1e-9
"""Difference [SI] below which a measure has the same value with less in the room."""

MOST = 2
"""Things that are named together where they are equally near."""


def in_the_way(space: Space, design: Mapping[str, float], result: LimitResult) -> list[str]:
    """Names of the obstructions, doors or openings that alone give a limit's measure its value; none where the value
    does not come from them, and where they are many."""
    layout, measure = space.layout, catalogue()[result.limit.measure]
    if result.seat is not None or not math.isfinite(result.value):
        return []
    row = layout.rows[result.row - 1] if measure.per_row and result.row is not None else None

    def same(fewer: Mapping[str, tuple]) -> bool:
        form = measure.form(replace(layout, **fewer), row, **dict(result.limit.options))
        return abs(float(form.value(design)) - result.value) <= SAME

    doors = [
        (name, {"sweeps": ((name, sweep),), "thresholds": (level,)})
        for (name, sweep), level in zip(layout.sweeps, layout.thresholds, strict=True)
    ]
    for none, each in (
        ({"bodies": ()}, [(body.name, {"bodies": (body,)}) for body in layout.bodies]),
        ({"kept": ()}, [(body.name, {"kept": (body,)}) for body in layout.kept]),
        ({"sweeps": (), "thresholds": ()}, doors),
    ):
        if each and not same(none):
            found = [name for name, alone in each if name and same(alone)]
            return found if len(found) <= MOST else []
    return []


@dataclass(frozen=True)
class Broken:
    """A limit that a design breaks: ``place`` is the row, and the seat of it where one is meant, as people call them;
    ``names`` are those of what it has come up against."""

    result: LimitResult
    place: str = ""
    names: tuple[str, ...] = ()

    @property
    def against(self) -> str:
        """What it has come up against, in brackets: `` ('entry')``; empty where that is nothing by name."""
        names = listed(f"'{name}'" for name in self.names)
        return f" ({names})" if names else ""


def broken(space: Space, design: Mapping[str, float], card: Scorecard) -> tuple[Broken, ...]:
    """The limits that a design breaks."""
    return tuple(
        Broken(r, place_called(space, design, r.row, r.seat), tuple(in_the_way(space, design, r)))
        for r in card.breaking
    )


def place_called(space: Space, design: Mapping[str, float], row: int | None, seat: int | None) -> str:
    """A row, and a seat of it where one is meant: ``row 2, stool 3``; empty where no row is meant."""
    if row is None:
        return ""
    return f"row {row}" + (f", {seats_called(space.layout.rows[row - 1], [seat], design)}" if seat else "")


def met(space: Space, design: Mapping[str, float], result: LimitResult) -> list[str]:
    """What a limit has come up against, by name, where it is near or broken."""
    return in_the_way(space, design, result) if result.near or not result.holds else []


def limit_words(space: Space, design: Mapping[str, float], result: LimitResult) -> str:
    """A limit's measure with what it has come up against: ``door clearance ('entry')``."""
    words = measure_words(result.limit.measure, result.limit.options)
    names = listed(f"'{name}'" for name in met(space, design, result))
    return f"{words} ({names})" if names else words
