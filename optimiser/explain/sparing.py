"""A search that makes do with a given effort, and says honestly how far it came.

For questions of which there are many, and of which each is worth a little time only. The effort is
the solver's deterministic time, so that the same question has the same answer on every machine. A good
design is looked for without the solver, which is then asked whether there is a better one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

from optimiser.climb import Ground, highest, near
from optimiser.compile import Compiled
from optimiser.design import spaces
from optimiser.engine import run
from optimiser.problem.model import Problem
from optimiser.score import Scorer
from optimiser.search import PATIENCE, Search
from optimiser.solve import PROMISE, Solution

REACH = 0.25
"""Metres to each side of a design that lengths are looked through for a better one."""


@lru_cache(maxsize=4)
def denials(problem: Problem, grid: float, score: float) -> tuple[frozenset[str], bool]:
    """Of a problem's models of designs that score so much, those without a solution, as the solver sees them;
    and whether there are any for which that takes long to show."""
    found, hard = [], False
    for space in spaces(problem, grid=grid):
        scorer = Scorer(problem, space)
        if scorer.targets:
            compiled = Compiled(space, scorer.bounds, scorer.targets, least=score)
            status, _ = run(compiled, PATIENCE)
            if status == "INFEASIBLE":
                found.append(str(compiled.model.proto))
            hard = hard or status == "UNKNOWN"
    return frozenset(found), hard


def known_of(problem: Problem, best: Solution) -> tuple[frozenset[str], bool]:
    """The denials of what is better than the best by more than is promised."""
    assert best.score is not None
    return denials(problem, best.grid, min(100.0, best.score + PROMISE))


class Sparing(Search):
    """A search whose models together take so much effort and no more; ``left`` is what remains of it.
    ``denied``: models, as text, of which it is known that they have no solution; ``hard``: whether a proof is
    known to take long, and is begun with more said about products."""

    def __init__(
        self, problem: Problem, step: float, *, effort: float, denied: frozenset[str] = frozenset(), hard: bool = False
    ) -> None:
        super().__init__(problem, step, effort=effort, margin=PROMISE)
        self.left = effort
        self.denied, self.hard = denied, hard

    def run(self, compiled: Compiled, *, maximise: bool = True, effort: float | None = None, sure: bool = True):
        """Solve a model with what is left; the status's name, and the solver to read the answer from."""
        if self.denied and str(compiled.model.proto) in self.denied:
            return "INFEASIBLE", None
        if self.left <= 0.0:
            return "UNKNOWN", None  # every caller reads an answer only where there is one
        status, solver = super().run(compiled, maximise=maximise, effort=min(self.left, effort or self.left), sure=sure)
        self.left -= solver.response_proto.deterministic_time
        return status, solver

    @property
    def spent(self) -> bool:
        return self.left <= 0.0

    def _climb(self, scorer: Scorer, design: Mapping[str, float], score: float) -> None:
        """From a design of a space to the best near it, found without the solver."""
        found = highest(Ground(scorer, near(scorer.space, design, REACH)), design)
        if found is not None:
            self._take(scorer, {name: found[name] for name in scorer.space.domains})

    def prove(self, open_: Sequence[Scorer]) -> float:
        """A bound on the score in all ``open_`` spaces, given up at the first of which there is none."""
        bound = self.score
        for scorer in open_:
            bound = max(bound, self._bound(scorer))
            if bound >= 100.0:
                break
        return max(bound, self.score)

    def _bound(self, scorer: Scorer) -> float:
        """A bound on the score in one space, or 100 where the effort ends before there is one."""
        for effort in (self.effort,) if self.hard else (PATIENCE, self.effort):
            if self.left > 0.0 and (found := self.close(scorer, effort)) is not None:
                return found
        return 100.0

    def answer(self, start: Mapping[str, float], *, better: bool = False) -> tuple[bool, float]:
        """From a design of a problem much like this one to the best that the effort allows: whether it is
        settled that there is a design or none, and what no design scores more than. The design is the
        search's own. ``better``: the start is known to be better than it was, and so may its neighbours be."""
        begun = self.begin(start)
        if begun and better and self.design is not None and dict(self.design) == dict(start):
            self._sharpen(self._scorer())
        open_ = sorted(self.scorers, key=lambda s: s.space is not self.space) if begun else self.find()
        if self.design is None:
            return not open_, 100.0
        bound = self.prove(open_)
        if dict(self.design) != dict(start):
            self.tidy()
        return True, bound
