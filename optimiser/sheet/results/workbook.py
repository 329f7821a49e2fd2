"""A study as a spreadsheet workbook: inputs, results, scores and sources, lengths in the file's units."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from optimiser.errors import OptimiserError, UsageError
from optimiser.problem.model import Problem
from optimiser.requirements import all_limits
from optimiser.sheet.results.flat import Cell, Column, columns_of, goal_scores, rows_of
from optimiser.sheet.results.words import unit_of
from optimiser.study.reading import Study
from optimiser.study.records import label_of
from optimiser.words import band_words, bound_words

SHEETS = ("inputs", "results", "scores", "sources")
LENGTHS = {
    "ft-in": ("in", 1 / 0.0254),
    "in": ("in", 1 / 0.0254),
    "m": ("m", 1.0),
    "cm": ("cm", 100.0),
    "mm": ("mm", 1000.0),
}
"""The unit, and how many of it make a metre, for each way in which a file shows lengths."""

BEGINNING = datetime.datetime(2000, 1, 1)
"""The date that every workbook bears, so that the same study gives the same file."""


def missing() -> str | None:
    """Why no workbook can be written; None where one can."""
    try:
        import xlsxwriter  # type: ignore[import-untyped]  # noqa: F401
    except ImportError:
        return 'a workbook needs XlsxWriter: pip install "screening-room-optimiser[workbook]"'
    return None


def write_workbook(path: Path, study: Study) -> None:
    """Write a study into an xlsx file."""
    why = missing()
    if why:
        raise UsageError(why)
    import xlsxwriter
    from xlsxwriter.exceptions import XlsxWriterException  # type: ignore[import-untyped]

    options = {
        "constant_memory": True,
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
    }
    try:
        with xlsxwriter.Workbook(str(path), options) as book:
            book.set_properties({"title": _title(study), "created": BEGINNING})
            _fill(book, study)
    except (OSError, XlsxWriterException) as error:
        raise UsageError(f"{path} cannot be written ({getattr(error, 'strerror', None) or error})") from None


def _title(study: Study) -> str:
    return study.problem.title if study.problem is not None else "Many rooms"


def _fill(book: Any, study: Study) -> None:
    columns = columns_of(study)
    unit, factor = LENGTHS[study.problem.show if study.problem is not None else "m"]
    head = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})

    def begin(name: str, titles: Sequence[str], freeze: int = 0) -> Any:
        sheet = book.add_worksheet(name)
        sheet.set_landscape()
        sheet.freeze_panes(1, freeze)
        sheet.set_column(0, len(titles) - 1, 14)
        for at, title in enumerate(titles):
            sheet.write_string(0, at, title, head)
        return sheet

    def titled(column: Column) -> str:
        if column.kind in ("length", "money"):
            told = unit_of(study, column.kind, unit)
            return f"{column.name} [{told}]" if told else column.name
        return column.title

    def put(sheet: Any, row: int, cells: Iterable[tuple[Cell, str]]) -> None:
        for at, (cell, kind) in enumerate(cells):
            if isinstance(cell, bool):
                sheet.write_string(row, at, "yes" if cell else "no")
            elif isinstance(cell, (int, float)):
                sheet.write_number(row, at, round(cell * factor, 9) if kind == "length" else cell)
            elif cell:
                sheet.write_string(row, at, cell)

    groups = {
        "inputs": (columns.asked, 2),
        "results": (
            (columns.asked[0], *_names(study, columns.asked), *columns.result, *columns.decisions, *columns.told),
            2,
        ),
    }
    for name, (chosen, freeze) in groups.items():
        sheet = begin(name, [titled(c) for c in chosen], freeze)
        at = [columns.all.index(c) for c in chosen]
        count = 0
        for count, (_, cells) in enumerate(rows_of(study, columns), start=1):
            put(sheet, count, [(cells[k], columns.all[k].kind) for k in at])
        sheet.autofilter(0, 0, max(1, count), len(chosen) - 1)
    known = (columns.asked[0], *_names(study, columns.asked))
    at = [columns.all.index(c) for c in known]
    sheet = begin("scores", [*(titled(c) for c in known), "score", *columns.goals], 2)
    for count, (record, cells) in enumerate(rows_of(study, columns), start=1):
        scores = goal_scores(record)
        told = [record.get("score"), *(scores.get(goal) for goal in columns.goals)]
        put(sheet, count, [*((cells[k], columns.all[k].kind) for k in at), *((cell, "") for cell in told)])
    sheet = begin(
        "sources", ["what", "name", "asks for", "fade", "weight", "where it comes from", "how far it was checked"]
    )
    sheet.set_column(1, 2, 34)
    sheet.set_column(5, 5, 70)
    for count, line in enumerate([*_demands(study), *_facts(study)], start=1):
        put(sheet, count, [(cell, "") for cell in line])


def _names(study: Study, asked: Sequence[Column]) -> tuple[Column, ...]:
    """The columns by which a person knows a record."""
    return (asked[1],) if study.kind == "batch" else tuple(asked[1:])


def _demands(study: Study) -> Iterable[tuple[Cell, ...]]:
    """The goals and limits of the study's problem, or of all its problems, each once."""
    found: dict[tuple[Cell, ...], None] = {}
    for problem in _problems(study):
        found |= dict.fromkeys(_goals(problem))
        found |= dict.fromkeys(_limits(problem))
    return sorted(found, key=lambda line: str(line[0]) != "goal")


def _problems(study: Study) -> Iterable[Problem]:
    if study.problem is not None:
        yield study.problem
        return
    for record in study.records():
        try:
            yield study.problem_of(record)
        except OptimiserError:
            continue  # the results say what is wrong with it


def _goals(problem: Problem) -> Iterable[tuple[Cell, ...]]:
    from optimiser.quantity import show
    from optimiser.words import quantity_of

    for goal in problem.goals:
        fade = show(quantity_of(goal), goal.fade, problem.show)
        source = goal.source or "the file does not say"
        yield "goal", label_of(goal), band_words(goal, problem.show), fade, goal.weight, source, goal.trust


def _limits(problem: Problem) -> Iterable[tuple[Cell, ...]]:
    for at, limit in enumerate(all_limits(problem)):
        own = at >= len(problem.limits)
        source = "what holds in any room" if own else limit.source or "the problem file"
        yield "limit", label_of(limit), bound_words(limit, problem.show), None, None, source, None


def _facts(study: Study) -> Iterable[tuple[Cell, ...]]:
    """What was asked, and of which version of the program."""
    from optimiser.quantity import show_grid

    header: Mapping[str, Any] = study.header
    yield "study", "kind", study.kind
    yield "study", "problem file", str(header.get("name", ""))
    if "table" in header:
        yield "study", "table of rooms", header["table"]
    yield "study", "program's version", str(header["version"])
    grid = header.get("grid")
    shown = study.problem.show if study.problem is not None else "m"
    yield "study", "grid", show_grid(grid, shown) if grid else "the file's own"
    for name, value in (header.get("fixed") or {}).items():
        yield "study", f"pinned: {name}", str(value)
