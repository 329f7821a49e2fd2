"""A problem written for a general solver of mixed-integer nonlinear programs (SCIP), and solved there.

It shares the measures' forms with the package, and nothing of how the package compiles and solves
them: no grid but where things come in whole numbers, no score levels, no straight pieces. Lengths are
real numbers; angles stand as sines and cosines, levels as logarithms, alternatives as binary variables
with the least constants that free them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from pyscipopt import Model, exp, log, quicksum
from pyscipopt import cos as cosine
from pyscipopt import sin as sine

from optimiser.design import Listed, Space, Steps, spaces
from optimiser.forms import (
    LATCH,
    All,
    AnyOf,
    Capped,
    Condition,
    Cut,
    Form,
    Gate,
    Greatest,
    Least,
    Linked,
    Quotient,
    Sum,
    SumCut,
    Unless,
    ratio_interval,
)
from optimiser.problem.model import Problem
from optimiser.score import Scorer
from tests.support.functions import Function, recognised

GAP = 1e-4
"""Relative gap at which SCIP may stop: 0.01 points of 100."""

SHARE = 1e-9
"""By how much whole counts of steps may err before they are rounded."""


@dataclass(frozen=True)
class Answer:
    """What SCIP says of all spaces of a problem: the best score [points], a bound that holds for every
    design, the design (None: nothing holds), and whether each space was searched to the end."""

    score: float
    bound: float
    space: Space | None
    design: dict[str, float] | None
    whole: bool


def solve(problem: Problem, *, seconds: float = 600.0, gap: float = GAP) -> Answer:
    """The best design of a problem with real-valued lengths; one thread."""
    best, bound, space, design, whole = -math.inf, -math.inf, None, None, True
    for one in spaces(problem):
        asked = Asked(Scorer(problem, one))
        asked.model.setParam("limits/gap", gap)
        asked.model.setParam("limits/time", seconds)
        if space is not None:
            asked.model.setObjlimit(best / 100.0)  # nothing worse is of use
        asked.model.optimize()
        status = asked.model.getStatus()
        if status == "infeasible":
            continue
        whole &= status in ("optimal", "gaplimit")
        bound = max(bound, 100.0 * min(asked.model.getDualbound(), 1.0))
        if asked.model.getNSols() and 100.0 * asked.model.getObjVal() > best:
            best, space, design = 100.0 * asked.model.getObjVal(), one, asked.design()
    return Answer(best, max(bound, best), space, design, whole)


class Asked:
    """One space's model: variables for its decisions, constraints for its limits, and the mean of its goals."""

    def __init__(self, scorer: Scorer) -> None:
        self.model = Model()
        self.model.hideOutput()
        self.model.setParam("parallel/maxnthreads", 1)
        self.model.setParam("lp/threads", 1)
        self.space = scorer.space
        self.box = {
            **self.space.bounds,
            **{n: (v, v) for n, v in self.space.settled.items() if isinstance(v, (int, float))},
        }
        self.env: dict[str, object] = {name: self._decision(name) for name in self.space.domains}
        for expression in self.space.sense:
            self._at_least_zero(expression.value(self.env), expression.interval(self.box)[0], ())
        for bound in scorer.bounds:
            for condition in bound.conditions():
                self._require(condition, ())
        total = sum(t.goal.weight for t in scorer.targets)
        self.model.setObjective(
            quicksum(t.goal.weight / total * self._goal(t) for t in scorer.targets) if total else 1.0, "maximize"
        )

    def design(self) -> dict[str, float]:
        """The best design found, whole numbers made whole."""
        found = {}
        for name, domain in self.space.domains.items():
            value = (
                float(self.model.getVal(self.env[name])) if not isinstance(self.env[name], float) else self.env[name]
            )
            if isinstance(domain, Steps) and not domain.rounded:
                value = domain.step * round(value / domain.step)
            if isinstance(domain, Listed):
                value = min(domain.values, key=lambda v, to=value: abs(v - to))
            found[name] = value
        return {**self.space.settled, **found}

    # --- decisions ----------------------------------------------------------------------------

    def _decision(self, name: str):
        domain = self.space.domains[name]
        if isinstance(domain, Steps):
            if domain.rounded:
                return self.model.addVar(name, lb=domain.ends[0], ub=domain.ends[1])
            return domain.step * self.model.addVar(name, vtype="I", lb=domain.low, ub=domain.high)
        if isinstance(domain, Listed):
            taken = [self.model.addVar(f"{name}={v:g}", vtype="B") for v in domain.values]
            self.model.addCons(quicksum(taken) == 1)
            return quicksum(v * b for v, b in zip(domain.values, taken))
        return domain.value

    # --- limits -------------------------------------------------------------------------------

    def _require(self, condition: Condition, guards: tuple) -> None:
        """A condition holds wherever all ``guards`` (binary variables) are one."""
        if isinstance(condition, All):
            for part in condition.parts:
                self._require(part, guards)
        elif isinstance(condition, AnyOf):
            self._any([lambda g, p=part: self._require(p, g) for part in condition.parts], guards)
        elif isinstance(condition, SumCut):
            self._sum(condition.terms, condition.sense, float(condition.c), (float(condition.c),) * 2, guards)
        else:
            self._cut(condition, guards)

    def _cut(self, cut: Cut, guards: tuple) -> None:
        c = float(cut.c)
        if math.isinf(c):
            if (c > 0) == (cut.sense > 0):
                self._never(guards)
            return
        self._over(Quotient(cut.numerator, cut.denominator), cut.sense, c, (c, c), guards)

    def _never(self, guards: tuple) -> None:
        self.model.addCons(quicksum(guards) <= len(guards) - 1 if guards else quicksum([0 * self._one()]) >= 1)

    def _one(self):
        return self.model.addVar(lb=1, ub=1)

    def _any(self, parts: Sequence[Callable[[tuple], None]], guards: tuple) -> None:
        if len(parts) == 1:
            parts[0](guards)
            return
        taken = [self.model.addVar(vtype="B") for _ in parts]
        self.model.addCons(quicksum(taken) >= 1)
        for part, one in zip(parts, taken):
            part((*guards, one))

    def _at_least_zero(self, expression, least: float, guards: tuple) -> None:
        """``expression >= 0`` where all guards are one; it is never below ``least``."""
        if least >= 0.0:
            return
        free = quicksum(1 - g for g in guards) * -least if guards else 0.0
        whole = expression + free
        if isinstance(whole, (int, float, np.floating)):
            if whole < -1e-12:
                self._never(())
            return
        self.model.addCons(whole >= 0)

    # --- goals --------------------------------------------------------------------------------

    def _goal(self, target):
        """A goal's score: a variable, or the mean of several."""
        if target.worst:
            return self._scored(target.goal, target.forms)
        return quicksum(self._scored(target.goal, [form]) for form in target.forms) / len(target.forms)

    def _scored(self, goal, forms):
        score = self.model.addVar(lb=0, ub=1)
        counts = self.model.addVar(vtype="B")  # where it is zero, so is the score, and nothing is asked
        self.model.addCons(score <= counts)
        for form in forms:
            for end, sense in ((goal.low, +1), (goal.high, -1)):
                if end is not None:
                    away = sense * goal.fade
                    reach = (end - away, end) if sense > 0 else (end, end - away)
                    self._holds(form, sense, end - away + away * score, reach, (counts,))
        return score

    def _holds(self, form: Form, sense: int, t, reach: tuple[float, float], guards: tuple) -> None:
        """The form is at least (sense +1) or at most (-1) ``t``, which lies within ``reach``."""
        if isinstance(form, Quotient):
            self._over(form, sense, t, reach, guards)
        elif isinstance(form, (Least, Greatest)):
            parts = [lambda g, p=part: self._holds(p, sense, t, reach, g) for part in form.parts]
            if isinstance(form, Least) == (sense > 0):
                for part in parts:
                    part(guards)
            else:
                self._any(parts, guards)
        elif isinstance(form, Gate):
            self._over(Quotient(form.expression), sense, -LATCH, (-LATCH, -LATCH), guards)
        elif isinstance(form, Linked):
            low, high = form.inner.interval(self.box)
            self._behind(
                form.link, (low, high), sense, t, guards, lambda s, u, r, g: self._holds(form.inner, s, u, r, g)
            )
        elif isinstance(form, Capped):  # what its caps say follows
            self._holds(form.inner, sense, t, reach, guards)
        elif isinstance(form, Unless):
            gone = Quotient(form.absent)
            self._any(
                [
                    lambda g: self._over(gone, +1, -LATCH, (-LATCH, -LATCH), g),
                    lambda g: self._holds(form.inner, sense, t, reach, g),
                ],
                guards,
            )
        elif isinstance(form, Sum):
            self._sum(form.terms, sense, t, reach, guards)
        else:
            raise NotImplementedError(type(form).__name__)

    def _sum(self, terms, sense: int, t, reach: tuple[float, float], guards: tuple) -> None:
        values, least = [], 0.0
        for weight, form in terms:
            low, high = form.interval(self.box)
            if not (math.isfinite(low) and math.isfinite(high)):
                raise NotImplementedError("a sum with a part that has no ends")
            value = self.model.addVar(lb=low, ub=high)
            self._holds(form, sense if weight > 0 else -sense, value, (low, high), guards)
            values.append(weight * value)
            least += min(sense * weight * low, sense * weight * high)
        self._at_least_zero(sense * (quicksum(values) - t), least - max(sense * r for r in reach), guards)

    def _over(self, form: Quotient, sense: int, t, reach: tuple[float, float], guards: tuple) -> None:
        above, below = form.numerator, form.denominator
        (nl, nh), (dl, dh) = above.interval(self.box), below.interval(self.box)
        over, under = above.value(self.env), below.value(self.env)
        if form.link is None:
            corners = [r * d for r in reach for d in (max(dl, 0.0), dh)]
            least = min(sense * nl, sense * nh) - max(sense * c for c in corners)
            self._at_least_zero(sense * (over - t * under), least, guards)
            return
        function = recognised(form.link)
        if (
            function.kind == "angle"
        ):  # n/d >= tan(u) is n cos(u) >= d sin(u), and for arc cotangents n sin(u) <= d cos(u)
            u = (t - function.shift) / function.scale
            far = max(abs(nl), abs(nh)) + max(abs(dl), abs(dh))
            difference = (
                over * cosine(u) - under * sine(u) if function.increasing else under * cosine(u) - over * sine(u)
            )
            self._at_least_zero(sense * difference, -far, guards)
            return
        ends = ratio_interval(above, below, self.box)
        plain = Quotient(above, below)
        self._behind(form.link, ends, sense, t, guards, lambda s, u, r, g: self._over(plain, s, u, r, g))

    def _behind(self, link, ends: tuple[float, float], sense: int, t, guards: tuple, inner) -> None:
        """``link(inner) >= t``: ``inner`` reaches a variable whose function reaches ``t``."""
        function: Function = recognised(link)
        low, high = max(ends[0], function.least), min(ends[1], function.most)
        if not (math.isfinite(low) and math.isfinite(high)):
            raise NotImplementedError("a function of something without ends")
        u = self.model.addVar(lb=low, ub=high)
        value = function.of(u, log=log, exp=exp, cos=cosine)
        # where the guards are off, u may go where the function is greatest: nothing needs to free it,
        # as long as that is beyond the threshold; else the threshold itself gives way
        give = function.range(low, high)
        self._at_least_zero(sense * (value - t), min(sense * g for g in give) - 1e3, guards)
        inner(sense if function.increasing else -sense, u, (low, high), guards)
