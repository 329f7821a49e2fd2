"""One problem of a study, as it is sent to whoever solves it, and the record that comes back."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.design import grid_of
from optimiser.errors import OptimiserError
from optimiser.problem.changed import with_texts
from optimiser.problem.decisions import with_all_fixed
from optimiser.problem.model import Problem
from optimiser.solve import solve
from optimiser.study.records import Record, design_of, failed_record, solved_record


@dataclass(frozen=True)
class Asked:
    """One problem to be solved: a file's text with changes and pinned decisions, and a design to begin with."""

    text: str
    name: str
    changes: tuple[tuple[str, str], ...]
    fixed: tuple[tuple[str, str], ...]
    grid: float | None
    effort: float
    start: Record | None = None

    def problem(self) -> Problem:
        """The problem, read and checked."""
        return with_all_fixed(with_texts(self.text, self.name, dict(self.changes)), dict(self.fixed))


def answer(asked: Asked) -> Record:
    """The record of one problem, whatever becomes of it."""
    try:
        problem = asked.problem()
        step = grid_of(problem) if asked.grid is None else asked.grid
        start = None if asked.start is None else design_of(problem, asked.start, step)
        return solved_record(problem, solve(problem, grid=step, effort=asked.effort, start=start))
    except OptimiserError as error:
        return failed_record(str(error))
