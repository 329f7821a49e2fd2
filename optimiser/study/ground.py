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
from optimiser.engine import decide, run
from optimiser.errors import OptimiserError
from optimiser.forms import All, Condition, Cut, Form, Quotient
from optimiser.linear import Linear
from optimiser.requirements import Bound, Target
from optimiser.score import Scorer
from optimiser.study.aims import Aim, Blend, Sharp

TOLERANCE = 1e-6
"""Share of an objective's span to which drives are rounded: one that is a sum of decisions is then driven
as far as it goes, but for a few times this."""


GLANCE = 0.3
"""Deterministic seconds to look for a much better design, where any better one will do."""

LOOK = 2.0
"""Deterministic seconds to look for a better design beside the score."""


BEYOND = 1e6
"""A height, in SI units, that only what has no bound passes."""

SMALL = 100
"""Rows of a model that is solved as it stands, sooner than it could be simplified."""

AT_A_BLINK = 0.02
"""Deterministic seconds for that; many times what such a model takes."""


ASIDE = 1e-4
"""Weight of an objective that is not the one raised: what it adds is less than what the other is told to."""

DRIVEN = 10**7
"""How far, in shares of TOLERANCE, an objective of several cuts is driven at most."""

DRIVES = 64
"""Heights within an objective's span that have a drive of their own."""


class Unsettled(OptimiserError):
    """The solver gave up before it had either a design or a proof."""


class Ground:
    """A space, its limits and the objectives there."""

    def __init__(self, scorer: Scorer, aims: Sequence[Aim], effort: float) -> None:
        self.space = scorer.space
        self.scorer = scorer
        self.aims = tuple(aims)
        self.effort = effort
        self.solves = 0
        self.settled = False  # whether the last answer was the best that its model has
        self.counted = tuple(isinstance(aim, Sharp) and aim.goal is None and _affine(aim.forms) for aim in self.aims)
        self.total = next((k for k, aim in enumerate(aims) if isinstance(aim, Blend) and aim.total), None)
        blended = {t.index: t for aim in aims if isinstance(aim, Blend) for t in aim.targets}
        self._targets = [blended[index] for index in sorted(blended)]
        self._base = Compiled(scorer.space, scorer.bounds, self._targets, levels=LEVELS)
        self.intervals = tuple(aim.interval(self._base.box) for aim in self.aims)
        self._sides: dict[tuple, list[Terms] | None] = {}
        for aim, (low, high) in zip(self.aims, self.intervals, strict=True):
            if isinstance(aim, Sharp):
                middle = 0.5 * (max(low, -BEYOND) + min(high, BEYOND))  # a goal's closeness asks nothing at its ends
                for cut in _cuts(aim.at_least(middle)) or []:
                    self._base.keep(cut.numerator)
                    self._base.keep(cut.denominator)

    def heights(self, design: Mapping[str, float]) -> tuple[float, ...]:
        """How good a design is in each objective, exactly."""
        return tuple(float(aim.height(design)) for aim in self.aims)

    def branch(self, floors: Sequence[float]) -> Compiled:
        """The model with a floor under each objective (-inf: none)."""
        if self.total is not None and floors[self.total] > 0.0:
            # a floor under the score shrinks ranges before the search: a model of its own is worth it
            score = min(floors[self.total], 100.0)
            branch = Compiled(self.space, self.bounded(floors), self._targets, levels=LEVELS, least=score)
            rest = [k for k, aim in enumerate(self.aims) if isinstance(aim, Blend) and not aim.total]
        else:
            branch, rest = self._base.branch(), list(range(len(floors)))
        for k in rest:
            if floors[k] > -math.inf:
                self.raise_floor(branch, k, floors[k], [])
        return branch

    def bounded(self, floors: Sequence[float]) -> list[Bound]:
        """The limits of the space and, as limits, the floors of all objectives that are no blends."""
        wanted = [(a, f) for a, f in zip(self.aims, floors, strict=True) if isinstance(a, Sharp) and f > -math.inf]
        return [*self.scorer.bounds, *(bound for aim, floor in wanted for bound in aim.bounds(floor))]

    def raise_floor(self, branch: Compiled, k: int, floor: float, enforce: list) -> None:
        """Only designs at least so high in one objective, where the literals hold."""
        aim = self.aims[k]
        if isinstance(aim, Sharp):
            for condition in aim.at_least(floor):
                branch.post(condition, enforce)
            return
        post_floor(branch, self._targets, aim, floor, enforce)

    def drive(
        self,
        branch: Compiled,
        wanted: Mapping[int, float],
        spans: Sequence[float],
        aside: Mapping[int, float] | None = None,
    ) -> object:
        """A whole-numbered expression that grows with the objectives ``wanted`` (at the heights given),
        one span of each counting the same; a little also with those ``aside`` that are made of cuts."""
        terms = Terms()
        whole: list[tuple[object, float]] = []  # whole-numbered expressions, and the spans that one unit is worth
        for k, height in wanted.items():
            aim = self.aims[k]
            if isinstance(aim, Blend):
                expression, full, _ = blended(branch, self._targets, aim)
                whole.append((expression, aim.full / full / spans[k]))
                continue
            low, high = self.intervals[k]
            at = min(max(height, low), high)
            own = self._cut_drive(branch, k, at, spans[k])
            if own is not None:
                terms.include(own, 1.0)
            elif (end := min(high, at + spans[k])) > at:
                levels = aim.at_least(at + (end - at) * np.arange(branch.levels + 1) / branch.levels)
                whole.append((branch.level(levels), (end - at) / branch.levels / spans[k]))
        for k, height in (aside or {}).items():
            low, high = self.intervals[k]
            own = (
                None
                if isinstance(self.aims[k], Blend)
                else self._cut_drive(branch, k, min(max(height, low), high), spans[k])
            )
            if own is not None:
                terms.include(own, ASIDE)
        total, scale, _ = branch.whole_sum(terms, TOLERANCE)
        scale = scale if terms.coefficients else 1.0 / TOLERANCE
        return total + sum(max(1, round(scale * worth)) * expression for expression, worth in whole)

    def _cut_drive(self, branch: Compiled, k: int, at: float, span: float) -> Terms | None:
        """How far the cuts near a height are passed; None where the objective is not made of cuts alone, or is endless."""
        if math.isinf(at):
            return None
        if self.total is None:  # one drive serves for all heights nearby
            near = round(at / span * DRIVES)
            if (k, near, span) not in self._sides:
                low, high = self.intervals[k]
                self._sides[k, near, span] = self._passed(
                    self._base, k, min(max(near * span / DRIVES, low), high), span
                )
            sides = self._sides[k, near, span]
        else:  # each branch is a model of its own
            sides = self._passed(branch, k, at, span)
        if sides is None:
            return None
        if len(sides) == 1:
            return sides[0]
        # whatever design there is, it is let in: a drive may lead nowhere, but rules nothing out
        lowest = min(-DRIVEN, *(branch.least_of(terms) / TOLERANCE for terms in sides))
        least = branch.new(math.floor(lowest) - 1, DRIVEN)
        found = Terms()
        found.add(least, TOLERANCE)
        for terms in sides:
            row = Terms()  # the sides are kept for other branches, in which the new variable is another one
            row.include(terms, 1.0)
            row.include(found, -1.0)
            branch.post_row(row, TOLERANCE, [])
        return found

    def _passed(self, model: Compiled, k: int, at: float, span: float) -> list[Terms] | None:
        """For each cut at a height, how far it is passed; None where there are not only cuts."""
        aim = self.aims[k]
        cuts, further = _cuts(aim.at_least(at)), _cuts(aim.at_least(at + 0.01 * span))
        if not cuts or not further or len(cuts) != len(further):
            return None
        sides = []
        for cut, next_ in zip(cuts, further, strict=True):
            c, step = float(cut.c) * cut.sense, (float(next_.c) - float(cut.c)) * cut.sense
            if not math.isfinite(c) or not math.isfinite(step) or step <= 0.0:
                return None
            low, high = cut.denominator.interval(model.box)
            weight = 0.01 / (step * max(1e-3, 0.5 * (max(low, 0.0) + high)))
            terms = Terms()
            terms.include(model.expression(cut.numerator), cut.sense * weight)
            terms.include(model.expression(cut.denominator), -c * weight)
            sides.append(terms)
        return sides

    def ask(self, branch: Compiled) -> dict[str, float] | None:
        """A design of the branch; None where it is proven that there is none. Raises Unsettled."""
        self.solves += 1
        if self.total is None:
            status, solver = "UNKNOWN", None
            if len(branch.model.proto.constraints) <= SMALL:
                status, solver = run(branch, min(AT_A_BLINK, self.effort), presolve=False)
            if status not in ("OPTIMAL", "INFEASIBLE"):
                status, solver, _ = decide(branch, self.effort)
        else:  # any better design will do: that one is the best may take long to prove
            status, solver = run(branch, min(GLANCE, self.effort))
            if status == "UNKNOWN":
                branch.model.clear_objective()
                status, solver, _ = decide(branch, min(LOOK, self.effort))
        self.settled = status == "OPTIMAL"
        if status == "INFEASIBLE":
            return None
        if status not in ("OPTIMAL", "FEASIBLE"):
            raise Unsettled("the solver gave up before it had either a design or a proof")
        return self.space.complete(branch.read(solver))


def blended(model: Compiled, targets: Sequence[Target], blend: Blend) -> tuple[object, int, int]:
    """A blend over the score levels of a model of these targets: expression, its full value, the levels in it."""
    wanted = {t.index for t in blend.targets}
    variables, weights, at = [], [], 0
    for target in targets:
        count = 1 if target.worst else len(target.forms)
        if target.index in wanted:
            variables += model.scores[at : at + count]
            weights += model.weights[at : at + count]
        at += count
    expression = sum(w * v for w, v in zip(weights, variables, strict=True))
    full = model.levels * sum(weights)
    return expression, full, sum(weights) + math.ceil(model.blur * full / 100.0)


def post_floor(model: Compiled, targets: Sequence[Target], blend: Blend, floor: float, enforce: list) -> None:
    """Only designs at least so high in a blend, where the literals hold; a few levels less may be let through."""
    expression, full, parts = blended(model, targets, blend)
    row = model.model.add(expression >= math.ceil(min(floor / blend.full, 2.0) * full) - parts)
    if enforce:
        row.only_enforce_if(enforce)


def _affine(forms: Sequence[Form]) -> bool:
    """Whether there is one form, and that a sum of decisions as it stands."""
    if len(forms) != 1 or not isinstance(forms[0], Quotient):
        return False
    form = forms[0]
    whole = isinstance(form.numerator, Linear) and isinstance(form.denominator, Linear) and form.denominator.is_constant
    return whole and form.link is None


def _cuts(conditions: Sequence[Condition]) -> list[Cut] | None:
    """All cuts that must hold together; None where there is a choice among conditions, a sum or a table."""
    found: list[Cut] = []
    for condition in conditions:
        inner = _cuts(condition.parts) if isinstance(condition, All) else [condition]
        if inner is None or not all(isinstance(part, Cut) for part in inner):
            return None
        found += inner
    return found
