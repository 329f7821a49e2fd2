"""Several designs side by side: the file's own, saved answers, and the best."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from optimiser.complete import complete
from optimiser.design import Space, spaces
from optimiser.errors import UsageError, did_you_mean
from optimiser.explain.differences import Difference, difference
from optimiser.problem.decisions import read_value, split_row
from optimiser.problem.model import Problem
from optimiser.score import Scorecard
from optimiser.solve import solve
from optimiser.standing import broken

BEST = "best"
"""The name of the solver's design among the compared."""


_FOREIGN = "{}: its design cannot be one of this file's: {}. If it was solved from another file, compare it there"


@dataclass(frozen=True)
class Entry:
    """One of the compared designs. ``given`` are the decisions that were given; the others were chosen
    to suit them best. ``proven``: a bound on the score of any design, for the solver's own."""

    name: str
    space: Space
    design: Mapping[str, float]
    card: Scorecard
    given: Mapping[str, float]
    proven: float | None = None


@dataclass(frozen=True)
class Comparison:
    """Designs in the order asked for, and each one's difference from the first."""

    problem: Problem
    entries: tuple[Entry, ...]
    differences: tuple[Difference, ...]


def compared(
    problem: Problem,
    names: Sequence[str] = (),
    saved: Sequence[Path] = (),
    given: Mapping[str, Mapping[str, float]] | None = None,
    *,
    best: bool = True,
    grid: float | None = None,
) -> Comparison:
    """Compare designs of the file by name (all of them if none is named), saved results, designs given
    here, and the best. UsageError where fewer than two come together."""
    known = {name: dict(values) for name, values in problem.designs}
    for name in names:
        if name not in known:
            raise UsageError(f"the file has no design '{name}': {did_you_mean(name, known)}")
    wanted: dict[str, Mapping[str, float]] = {name: known[name] for name in names or known}
    kept: dict[str, Path] = {}
    for path in saved:
        for label, values in read_saved(problem, path).items():
            kept[name := _unlike(label, wanted)] = path
            wanted[name] = values
    for name, values in (given or {}).items():
        wanted[_unlike(name, wanted)] = values
    entries = []
    for name, values in wanted.items():
        try:
            done = complete(problem, values, grid=grid)
        except UsageError as error:
            raise UsageError(_FOREIGN.format(kept[name], error) if name in kept else f"'{name}': {error}") from None
        entries.append(Entry(name, done.space, done.design, done.card, values))
    if best:
        answer = solve(problem, grid=grid)
        if answer.design is not None and answer.space is not None and answer.card is not None:
            entries.append(Entry(_unlike(BEST, wanted), answer.space, answer.design, answer.card, {}, answer.bound))
    if len(entries) < 2:
        raise UsageError("two designs at least, please: name some in the file, or give --saved or --set")
    first = entries[0]
    differences = tuple(
        difference(first.design, first.card, e.design, e.card, broken(e.space, e.design, e.card)) for e in entries[1:]
    )
    return Comparison(problem, tuple(entries), differences)


def _unlike(name: str, taken: Mapping[str, Any]) -> str:
    """A name that is not taken yet."""
    number, free = 2, name
    while free in taken:
        free, number = f"{name} ({number})", number + 1
    return free


def read_saved(problem: Problem, path: Path) -> dict[str, dict[str, float]]:
    """Designs in a file that ``solve --json``, ``score --json`` or another command wrote, by name.

    Only the decisions that this problem has are taken; what follows from them is found again.
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise UsageError(f"{path} could not be read: {error.strerror}") from None
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError):
        raise UsageError(f"{path} is no JSON: save a result with 'optimiser solve FILE --json'") from None
    records = data if isinstance(data, list) else [data]
    found: dict[str, dict[str, float]] = {}
    for record in records:
        if not isinstance(record, dict) or not isinstance(record.get("design"), dict):
            raise UsageError(f"{path} holds no design: save a result with 'optimiser solve FILE --json'")
        label = record.get("name") if isinstance(record.get("name"), str) else path.stem
        found[_unlike(label, found)] = _decisions(problem, record["design"], path)
    return found


def _decisions(problem: Problem, design: Mapping[str, Any], path: Path) -> dict[str, float]:
    every = list(spaces(problem))
    # what one kind of screen decides follows from something else with another
    alike = [space for space in every if space.layout.screen_type == design.get("screen.type")]
    own = {name for space in alike or every for name in (*space.domains, *space.settled)}
    rows = design.get("rows")
    given: dict[str, float] = {}
    for name, value in design.items():
        row = split_row(name) if isinstance(name, str) else None
        if name in own or (row is not None and isinstance(rows, int) and row[0] <= rows):
            if not isinstance(value, (int, float, str)) or isinstance(value, bool):
                raise UsageError(f"{path}: {name} is no value")
            given[name] = read_value(problem, name, value)
    if not given:
        raise UsageError(f"{path}: its design has none of this problem's decisions")
    # the number of rows first: a row can only be placed where there is one
    return dict(sorted(given.items(), key=lambda item: (item[0] != "rows", item[0] != "screen.type", item[0])))
