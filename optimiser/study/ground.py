"""One space with all objectives of a front in it, ready to be asked again and again.

The model is made once; a question adds floors to a branch of it. *Drives* are expressions that grow
with an objective near a height: they only guide the search. What is proven is proven by floors.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from optimiser.compile import LEVELS, Compiled
from optimiser.compile.integers import Terms
from optimiser.errors import OptimiserError
from optimiser.forms import All, AnyOf, Condition, Cut
from optimiser.score import Scorer
from optimiser.solve import run
from optimiser.study.aims import Aim, Blend, Sharp

TOLERANCE = 1e-6
"""Share of an objective's span to which drives are rounded."""


class Ground:
    """A space, its limits and the objectives there."""

    def __init__(self, scorer: Scorer, aims: Sequence[Aim], effort: float) -> None:
        self.space = scorer.space
        self.scorer = scorer
        self.aims = tuple(aims)
        self.effort = effort
        self.solves = 0
        blended = {t.index: t for aim in aims if isinstance(aim, Blend) for t in aim.targets}
        self._targets = [blended[index] for index in sorted(blended)]
        self._base = Compiled(scorer.space, scorer.bounds, self._targets, levels=LEVELS)
        self.intervals = tuple(aim.interval(self._base.box) for aim in self.aims)

    def heights(self, design: Mapping[str, float]) -> tuple[float, ...]:
        """How good a design is in each objective, exactly."""
        return tuple(float(aim.height(design)) for aim in self.aims)

    def branch(self, floors: Sequence[float]) -> Compiled:
        """The model with a floor under each objective (-inf: none)."""
        branch = self._base.branch()
        for k, floor in enumerate(floors):
            if floor > -math.inf:
                self.raise_floor(branch, k, floor, [])
        return branch

    def raise_floor(self, branch: Compiled, k: int, floor: float, enforce: list) -> None:
        """Only designs at least so high in one objective, where the literals hold."""
        aim = self.aims[k]
        if isinstance(aim, Sharp):
            for condition in aim.at_least(floor):
                branch.post(condition, enforce)
            return
        expression, full, parts = self._sum(branch, aim)
        row = branch.model.add(expression >= math.ceil(min(floor / aim.full, 2.0) * full) - parts)
        if enforce:
            row.only_enforce_if(enforce)

    def drive(self, branch: Compiled, wanted: Mapping[int, float], spans: Sequence[float]) -> object:
        """A whole-numbered expression that grows with the objectives ``wanted`` (at the heights given),
        one span of each counting the same."""
        terms = Terms()
        whole: list[tuple[object, float]] = []  # whole-numbered expressions, and the spans that one unit is worth
        for k, height in wanted.items():
            aim = self.aims[k]
            if isinstance(aim, Blend):
                expression, full, _ = self._sum(branch, aim)
                whole.append((expression, aim.full / full / spans[k]))
                continue
            low, high = self.intervals[k]
            at = min(max(height, low), high)
            own = self._cut_drive(branch, aim, at, spans[k])
            if own is not None:
                terms.include(own, 1.0)
            elif (end := min(high, at + spans[k])) > at:
                levels = aim.at_least(at + (end - at) * np.arange(branch.levels + 1) / branch.levels)
                whole.append((branch.level(levels), (end - at) / branch.levels / spans[k]))
        total, scale, _ = branch.whole_sum(terms, TOLERANCE)
        scale = scale if terms.coefficients else 1.0 / TOLERANCE
        return total + sum(max(1, round(scale * worth)) * expression for expression, worth in whole)

    def _cut_drive(self, branch: Compiled, aim: Sharp, at: float, span: float) -> Terms | None:
        """How far the cuts at a height are passed; None where the objective is not made of cuts alone."""
        cuts, further = _cuts(aim.at_least(at)), _cuts(aim.at_least(at + 0.01 * span))
        if not cuts or not further or len(cuts) != len(further):
            return None
        sides = []
        for cut, next_ in zip(cuts, further, strict=True):
            c, step = float(cut.c) * cut.sense, (float(next_.c) - float(cut.c)) * cut.sense
            if not math.isfinite(c) or not math.isfinite(step) or step <= 0.0:
                return None
            low, high = cut.denominator.interval(branch.box)
            weight = 0.01 / (step * max(1e-3, 0.5 * (max(low, 0.0) + high)))
            terms = Terms()
            terms.include(branch.expression(cut.numerator * cut.sense), weight)
            terms.include(branch.expression(cut.denominator), -c * weight)
            sides.append(terms)
        if len(sides) == 1:
            return sides[0]
        least = branch.new(-(10**7), 10**7)
        found = Terms()
        found.add(least, TOLERANCE)
        for terms in sides:
            terms.include(found, -1.0)
            branch.post_row(terms, TOLERANCE, [])
        return found

    def _sum(self, branch: Compiled, blend: Blend) -> tuple[object, int, int]:
        """A blend over the score levels of the model: expression, its full value, the levels in it."""
        wanted = {t.index for t in blend.targets}
        variables, weights, at = [], [], 0
        for target in self._targets:
            count = 1 if target.worst else len(target.forms)
            if target.index in wanted:
                variables += [v for v, _ in branch.shares[at : at + count]]
                weights += branch.weights[at : at + count]
            at += count
        expression = sum(w * v for w, v in zip(weights, variables, strict=True))
        return expression, branch.levels * sum(weights), sum(weights)

    def ask(self, branch: Compiled) -> dict[str, float] | None:
        """A design of the branch; None where it is proven that there is none."""
        self.solves += 1
        status, solver = run(branch, self.effort)
        if status == "INFEASIBLE":
            return None
        if status not in ("OPTIMAL", "FEASIBLE"):
            raise OptimiserError("the solver gave up before it had either a design or a proof")
        return self.space.complete(branch.read(solver))


def _cuts(conditions: Sequence[Condition]) -> list[Cut] | None:
    """All cuts that must hold together; None where there is a choice among conditions."""
    found: list[Cut] = []
    for condition in conditions:
        if isinstance(condition, AnyOf):
            return None
        inner = _cuts(condition.parts) if isinstance(condition, All) else [condition]
        if inner is None:
            return None
        found += inner
    return found
