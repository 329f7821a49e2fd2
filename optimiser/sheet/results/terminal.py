"""A study as a table for a terminal."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from statistics import median
from typing import Any

from rich.console import Console
from rich.text import Text

from optimiser.cautions import of_study
from optimiser.journal import due
from optimiser.problem.model import Problem
from optimiser.problem.rows import wheelchair_row
from optimiser.quantity import show
from optimiser.sheet.results.words import (
    binding_words,
    change_words,
    decision_value,
    first_words,
    objective_heads,
    objective_values,
    status_words,
    trouble_words,
)
from optimiser.sheet.whole import Columns
from optimiser.study.changes import changes, tells
from optimiser.study.reading import Study

MOST_ROWS = 60
"""Records that a terminal shows one by one; of more it gets a summary."""


HEADING = 24
"""Letters of a path in a line of a table's head."""


def print_study(console: Console, study: Study) -> None:
    """A study with its records, or what they come to."""
    {"sweep": _sweep, "batch": _batch, "front": _front}[study.kind](console, study)
    if study.kind != "front" or not study.finished or study.held is not None:  # else the front has told it
        _caution(console, study)
    if not study.finished:
        wanted = due(study.header)
        of = "" if wanted is None else f"{sum(1 for _ in study.records())} of {wanted} records are there; "
        console.print(f"This study is not finished: {of}the command that made it goes on with --resume.")


def _caution(console: Console, study: Study) -> None:
    """What is not to be forgotten where steps, ways out and what hangs overhead are decided."""
    said = of_study(record["design"] for record in study.records() if record.get("design"))
    if said is not None:
        console.print()
        console.print(said)


def _table(*columns: str, right: tuple[str, ...] = ("score",)) -> Columns:
    table = Columns(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in columns:
        table.add_column(name, justify="right" if name in right else "left", overflow="fold", no_wrap=name in right)
    return table


def _design_cells(record: Mapping[str, Any], problem: Problem) -> tuple[str, str, str]:
    """Image, rows with seats and places for wheelchairs, and places of the rows."""
    design, system = record["design"], problem.show
    width = show("length", design["screen.width"], system)
    rows = range(1, design["rows"] + 1)
    seats = _with_wheelchairs(problem, {n: str(design[f"row{n}.seats"]) for n in rows}, design["rows"])
    places = ", ".join(show("length", design[f"row{n}.y"], system) for n in rows)
    return f"{width} {decision_value('screen.aspect', design['screen.aspect'], system)}", seats, places


def _with_wheelchairs(problem: Problem | None, counts: dict[int, str], rows: int) -> str:
    """Seats row by row, with places for wheelchairs beside those of their row."""
    place = None if problem is None else problem.seating.wheelchair
    if problem is not None and place is not None:
        counts[wheelchair_row(problem.seating, rows)] += (
            f" (+{place.places} wheelchair{'s' if place.places > 1 else ''})"
        )
    return " + ".join(counts.values())


# --- sweeps -------------------------------------------------------------------------------------


def _sweep(console: Console, study: Study) -> None:
    problem, sweep = study.problem, study.sweep
    assert problem is not None
    console.print(Text(problem.title, style="bold"))
    over = " and ".join(i.path for i in sweep.inputs)
    console.print(f"The best design at {sweep.count} value{'s' if sweep.count > 1 else ''} of {over}.")
    console.print()
    records = {r["index"]: r for r in study.records()}
    if len(sweep.shape) == 2:
        _grid(console, study, records)
    else:
        _line(console, problem, study, records)


def _line(console: Console, problem: Problem, study: Study, records: Mapping[int, Mapping[str, Any]]) -> None:
    (over,) = study.sweep.inputs
    short = len(records) > MOST_ROWS
    if short:
        console.print("Only the first and the last value, and those where something changes:")
    head = heading(over.path)
    table = _table(head, "score", "image", "seats", "rows at", "what changes")
    table.columns[0].min_width = max(map(len, head.splitlines()))
    before: Mapping[str, Any] | None = None  # the last of which anything is known
    trouble = None
    for index, record in sorted(records.items()):
        told = change_words(changes(before, record), problem.show) if before is not None else []
        if (why := _trouble(record)) and why != trouble:
            told.append(trouble_words(record))
        trouble = why
        before = record if tells(record) else before
        if short and not told and index not in (0, study.sweep.count - 1):
            continue
        value = over.shown(index, problem.show)
        if record["feasible"]:
            if index == 0:
                told = [f"binding: {binding_words(record)}"] if record["binding"] else []
            table.add_row(value, f"{record['score']:.1f}", *_design_cells(record, problem), "; ".join(told))
        else:
            table.add_row(value, "", status_words(record), "", "", "; ".join(told) or "as above")
    console.print(table)


def _trouble(record: Mapping[str, Any]) -> str:
    """Why a record has no design, whatever the numbers: at the next value these are others, and the trouble the same."""
    return "" if record["feasible"] else f"{record['status']}: {re.sub(r'[0-9]+', '', trouble_words(record))}"


def heading(path: str) -> str:
    """A path as the head of a column: a long one in several lines, broken after its dots."""
    found = [""]
    for part in re.findall(r"[^.]+\.?", path):
        if found[-1] and len(found[-1] + part) > HEADING:
            found.append("")
        found[-1] += part
    return "\n".join(found)


def _grid(console: Console, study: Study, records: Mapping[int, Mapping[str, Any]]) -> None:
    down, across = study.sweep.inputs
    system = study.problem.show  # type: ignore[union-attr]
    console.print(
        f"Scores: {down.path} downwards, {across.path} across; a new letter where rows, seats or screen change."
    )
    letters: dict[tuple, str] = {}
    troubles: dict[str, list[tuple[str, Mapping[str, Any]]]] = {}
    heads = [across.shown(at, system) for at in range(len(across.texts))]
    table = _table("", *heads, right=tuple(heads))
    for row in range(len(down.texts)):
        cells = []
        for column in range(len(across.texts)):
            record = records.get(study.sweep.index((row, column)))
            cells.append("" if record is None else _cell(record, letters))
            if record is not None and (why := _trouble(record)):
                where = f"{down.shown(row, system)} and {across.shown(column, system)}"
                troubles.setdefault(why, []).append((where, record))
        table.add_row(down.shown(row, system), *cells)
    console.print(table)
    for structure, letter in letters.items():
        rows, seats, screen, aspect = structure
        counts = _with_wheelchairs(study.problem, dict(enumerate(map(str, seats), start=1)), rows)
        console.print(f"{letter}: seats {counts}, {screen}, {aspect}")
    for several in troubles.values():
        (where, record), more = several[0], len(several) - 1
        also = f" and {more} more like it" if more else ""
        console.print(f"{status_words(record)} at {where}{also}: {trouble_words(record)}")


def _cell(record: Mapping[str, Any], letters: dict[tuple, str]) -> str:
    if not record["feasible"]:
        return status_words(record)
    return f"{record['score']:.1f} {letters.setdefault(structure_of(record), _letter(len(letters)))}"


def structure_of(record: Mapping[str, Any]) -> tuple:
    """Rows, seats of each, kind and shape of the screen."""
    design = record["design"]
    seats = tuple(design[f"row{n}.seats"] for n in range(1, design["rows"] + 1))
    return design["rows"], seats, design["screen.type"], show("aspect", design["screen.aspect"])


def _letter(number: int) -> str:
    return chr(ord("a") + number) if number < 26 else f"a{number}"


# --- many rooms ---------------------------------------------------------------------------------


def _batch(console: Console, study: Study) -> None:
    header = study.header
    many = header["rooms"] > MOST_ROWS
    title = study.problem.title if study.problem is not None else "Many rooms"
    console.print(Text(f"{title}: {header['rooms']} room{'s' if header['rooms'] != 1 else ''}", style="bold"))
    counts: Counter[str] = Counter()
    scores: list[float] = []
    table = _table("room", "score", "image", "seats", "rows at", "binding, or why not")
    for record in study.records():
        counts["solved" if record["feasible"] else record["status"]] += 1
        if record["feasible"]:
            scores.append(record["score"])
        if many:
            continue
        if record["feasible"]:
            cells = _design_cells(record, study.problem_of(record))
            table.add_row(record["name"], f"{record['score']:.1f}", *cells, binding_words(record))
        else:
            table.add_row(record["name"], "", status_words(record), "", "", first_words(trouble_words(record)))
    if not many:
        console.print()
        console.print(table)
        console.print()
    words = [f"{counts['solved']} solved"] + [f"{counts[k]} {w}" for k, w in _COUNTED.items() if counts[k]]
    console.print(", ".join(words) + ".")
    if scores:
        console.print(f"Scores from {min(scores):.1f} to {max(scores):.1f}, half of them {median(scores):.1f} or more.")


_COUNTED = {"impossible": "impossible", "failed": "failed", "unknown": "not settled"}


# --- fronts -------------------------------------------------------------------------------------


def _front(console: Console, study: Study) -> None:
    from optimiser.sheet.fronts import print_front
    from optimiser.study.front import read_front

    problem = study.problem
    assert problem is not None
    if study.finished and study.held is None:
        print_front(console, read_front(study.path, problem))
        return
    console.print(Text(problem.title, style="bold"))
    console.print("Designs found so far between " + ", ".join(o["label"] for o in study.header["objectives"]) + ".")
    console.print()
    heads = objective_heads(study)
    table = _table(*heads, "score", "image", "seats", "rows at", right=(*heads, "score"))
    for record in study.records():
        table.add_row(
            *objective_values(study, record, problem.show),
            f"{record['score']:.1f}",
            *_design_cells(record, problem),
        )
    console.print(table)
