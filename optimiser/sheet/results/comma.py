"""A study as comma-separated values: one line a record, SI units and degrees, for any program."""

from __future__ import annotations

import csv
from pathlib import Path

from optimiser.errors import UsageError
from optimiser.sheet.results.flat import Cell, columns_of, goal_scores, rows_of
from optimiser.study.reading import Study

FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet may take for the beginning of a formula."""


def write_csv(path: Path, study: Study) -> None:
    """Write a study's records into a CSV file."""
    columns = columns_of(study)
    try:
        with open(path, "w", encoding="utf-8", newline="") as stream:
            writer = csv.writer(stream, lineterminator="\n")
            writer.writerow([c.title for c in columns.all] + [f"score of {goal}" for goal in columns.goals])
            for record, cells in rows_of(study, columns):
                scores = goal_scores(record)
                writer.writerow([_written(cell) for cell in cells] + [_written(scores.get(g)) for g in columns.goals])
    except OSError as error:
        raise UsageError(f"{path} cannot be written ({error.strerror})") from None


def _written(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, str):
        return f"'{cell}" if cell.startswith(FORMULA) else cell
    return f"{cell:.10g}"
