"""A search that makes do with a given effort, and says honestly how far it came.

For questions of which there are many, and of which each is worth a little time only. The effort is
the solver's deterministic time, so that the same question has the same answer on every machine.
"""

from __future__ import annotations

from collections.abc import Mapping

from optimiser.compile import Compiled
from optimiser.problem.model import Problem
from optimiser.solve import Search


class Sparing(Search):
    """A search whose models together take so much effort and no more; ``left`` is what remains of it."""

    def __init__(self, problem: Problem, step: float, *, effort: float) -> None:
        super().__init__(problem, step, effort=effort)
        self.left = effort

    def run(self, compiled: Compiled, *, maximise: bool = True, effort: float | None = None):
        """Solve a model with what is left; the status's name, and the solver to read the answer from."""
        if self.left <= 0.0:
            return "UNKNOWN", None  # every caller reads an answer only where there is one
        status, solver = super().run(compiled, maximise=maximise, effort=min(self.left, effort or self.left))
        self.left -= solver.response_proto.deterministic_time
        return status, solver

    def answer(self, start: Mapping[str, float]) -> tuple[bool, float]:
        """From a design of a problem much like this one to the best that the effort allows: whether it is
        settled that there is a design or none, and what no design scores more than. The design is the
        search's own."""
        begun = self.begin(start)
        open_ = sorted(self.scorers, key=lambda s: s.space is not self.space) if begun else self.find()
        if self.design is None:
            return not open_, 100.0
        bound = self.prove(open_)
        if dict(self.design) != dict(start):
            self.tidy()
        return True, bound

    def improvable(self) -> bool:
        """Whether there may be a design better than the best so far: False is proven."""
        if self.score >= 100.0 - 1e-9:
            return False
        for scorer in self.scorers:
            if scorer.targets:
                least = min(100.0, self.score + self.margin)
                compiled = self.compiled(scorer.space, scorer.bounds, scorer.targets, least=least)
                if self.run(compiled, maximise=False)[0] != "INFEASIBLE":
                    return True
        return False
