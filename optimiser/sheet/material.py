"""What a sheet is made from."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.complete import Completed
from optimiser.design import Design, Space
from optimiser.problem.model import Problem
from optimiser.score import Scorecard
from optimiser.sheet.figures import Figure, figure
from optimiser.sheet.reasons import Reasons
from optimiser.solve import Solution
from optimiser.study.front import Front


@dataclass(frozen=True)
class Material:
    """What a sheet is made from: a solution, the file's text, and its own designs, completed."""

    solution: Solution
    text: str
    name: str  # of the problem file
    designs: tuple[tuple[str, Completed], ...] = ()
    reasons: Reasons = Reasons()
    front: Front | None = None

    @property
    def problem(self) -> Problem:
        return self.solution.problem

    @property
    def space(self) -> Space:
        """The space of the design; only asked for where there is one."""
        assert self.solution.space is not None
        return self.solution.space

    @property
    def design(self) -> Design:
        assert self.solution.design is not None
        return self.solution.design

    @property
    def card(self) -> Scorecard:
        assert self.solution.card is not None
        return self.solution.card

    @property
    def figure(self) -> Figure:
        return figure(self.problem, self.space, self.design)
