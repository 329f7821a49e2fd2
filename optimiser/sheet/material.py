"""What a sheet is made from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from optimiser.design import Design, Space
from optimiser.problem.model import Problem
from optimiser.score import Scorecard
from optimiser.sheet.figures import Figure, figure
from optimiser.solve import Solution

if TYPE_CHECKING:  # drawings alone need not wait for what was never asked
    from optimiser.complete import Completed
    from optimiser.explain.concessions import Concession, Concessions
    from optimiser.explain.conflicts import Conflicts
    from optimiser.explain.freedom import Freedom
    from optimiser.explain.prices import Prices
    from optimiser.study.front import Front

LOSS = 1.0
"""Points below the best score within which a design counts as nearly as good."""


@dataclass(frozen=True)
class Reasons:
    """What was asked about an answer: prices where there is a design, else conflicts and concessions."""

    prices: Prices | None = None
    conflicts: Conflicts | None = None
    concessions: Concessions | None = None
    freedom: Freedom | None = None

    @property
    def nearest(self) -> Concession | None:
        """The concession that gives least, with the design that it makes possible."""
        return None if self.concessions is None else self.concessions.joint


@dataclass(frozen=True)
class Material:
    """What a sheet is made from: a solution, the file's text, and its own designs, completed."""

    solution: Solution
    text: str
    name: str  # of the problem file
    designs: tuple[tuple[str, Completed], ...] = ()
    reasons: Reasons = Reasons()
    front: Front | None = None
    original: str | None = None  # the file's text where ``text`` has letters of it written as codes
    made: str | None = None  # how it was made of a saved result, where that asked for more than the file says
    mark: str = ""  # what every drawing of the design says first, where the design is no answer

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
