"""Limits and goals as rows of a CP-SAT model: conditions under literals, score levels by lines.

Knows forms and conditions, and no measure by name. Whatever is rounded is rounded so that no design
is lost: every design that holds its limits exactly is a solution of the model, with at least its
score in levels. So the solver's bound is a bound on the exact score.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

import numpy as np

from optimiser.compile.envelope import Line, lines_under
from optimiser.compile.integers import Terms
from optimiser.compile.sums import Sums
from optimiser.compile.tighten import necessary, tightened
from optimiser.design import Domain, Space, Steps
from optimiser.forms import All, AnyOf, Condition, Cut, Form, Sum, SumCut, ratio_interval
from optimiser.linear import Expression
from optimiser.requirements import Bound, Target

LEVELS = 4000
"""Score levels of one goal: a goal's score is known to the solver to one part in so many."""

EXACTNESS = 2e-7
"""SI units by which rounding of coefficients may loosen a limit: below what the checker accepts."""

LEVEL_SLACK = 2.0
"""Score levels by which straight pieces may over-estimate a goal."""


class Compiled(Sums):
    """The model of one space: maximise ``objective`` to score best. With ``assume``, each limit holds
    only under its literal in ``literals``."""

    def __init__(
        self,
        space: Space,
        bounds: Sequence[Bound],
        targets: Sequence[Target],
        *,
        between: bool = False,
        assume: bool = False,
        levels: int = LEVELS,
    ) -> None:
        super().__init__(_ranges(space, bounds, between, assume), between=between)
        self.space = space
        self.levels = levels
        self.literals: dict[int, object] = {}
        self.shares: list[tuple[object, Fraction]] = []
        for expression in space.sense:
            self.post_row(self.terms_of(expression), EXACTNESS, [])
        for bound in bounds:
            self._limit(bound, assume)
        for target in targets:
            self._goal(target)
        self._weigh()

    # --- conditions ---------------------------------------------------------------------------

    def post(self, condition: Condition, enforce: list, level: int | None = None, skip: int = 1) -> None:
        """A condition under literals; for a goal, at the score that the variable ``level`` takes."""
        if isinstance(condition, All):
            for part in condition.parts:
                self.post(part, enforce, level, skip)
        elif isinstance(condition, AnyOf):
            self._post_any(condition, enforce, level, skip)
        elif isinstance(condition, SumCut):
            self.post_sum(condition, enforce, level, skip)
        elif np.ndim(condition.c):
            self._post_levels(condition, level, enforce, skip)
        else:
            self._post_cut(condition, enforce)

    def _post_any(self, condition: AnyOf, enforce: list, level: int | None, skip: int) -> None:
        parts = [p for p in condition.parts if self._truth(p, skip) is not False]
        if any(self._truth(p, skip) is True for p in parts):
            return
        if len(parts) == 1:
            self.post(parts[0], enforce, level, skip)
            return
        picks = [self.model.new_bool_var("") for _ in parts]
        self.model.add_bool_or([literal.negated() for literal in enforce] + picks)
        for pick, part in zip(picks, parts):
            self.post(part, [pick], level, skip)

    def _truth(self, condition: Condition, skip: int) -> bool | None:
        """What interval arithmetic alone can tell about a condition (at any level above zero)."""
        if isinstance(condition, All):
            truths = [self._truth(p, skip) for p in condition.parts]
            return False if False in truths else (None if None in truths else True)
        if isinstance(condition, AnyOf):
            truths = [self._truth(p, skip) for p in condition.parts]
            return True if True in truths else (None if None in truths else False)
        if isinstance(condition, SumCut):
            low, high = Sum(condition.terms).interval(self.box)
        else:
            low, high = ratio_interval(condition.numerator, condition.denominator, self.box)
        c = np.atleast_1d(np.asarray(condition.c, dtype=float))[skip if np.ndim(condition.c) else 0 :]
        if condition.sense < 0:
            low, high, c = -high, -low, -c
        if np.all(c <= low):
            return True
        if np.all(c > high + EXACTNESS):
            return False
        return None

    def _post_cut(self, cut: Cut, enforce: list) -> None:
        c = float(cut.c) * cut.sense
        if c == -math.inf or self._truth(cut, 0) is True:
            return
        if c == math.inf:
            self.forbid(enforce)
            return
        terms = self.expression(cut.numerator * cut.sense)
        terms.include(self.expression(cut.denominator), -c)
        self.post_row(terms, EXACTNESS * max(1e-3, cut.denominator.interval(self.box)[0]), enforce)

    # --- goals --------------------------------------------------------------------------------

    def _goal(self, target: Target) -> None:
        """One score variable a row (or one for the worst row), and what each of its levels asks for."""
        goal = target.goal
        forms = [target.forms] if target.worst else [(form,) for form in target.forms]
        for group in forms:
            conditions = []
            for form in group:
                conditions += _levels(form, goal.low, goal.high, goal.fade, self.levels)
            share = Fraction(goal.weight).limit_denominator(10**6) / len(forms)
            self.shares.append((self.level(conditions), share))

    def gauge(self, form: Form, start: float, end: float):
        """A variable that may be k only where the form has come k of ``levels`` parts of the way from
        ``start`` to ``end``, either of which may be the greater. Straight pieces may over-estimate it."""
        way = start + (end - start) * np.arange(self.levels + 1) / self.levels
        return self.level([form.at_least(way) if end > start else form.at_most(way)])

    def level(self, conditions: list[Condition]):
        """A variable that may be k only where entry k of each condition holds; 0 anywhere."""
        level = self.new(0, self.levels)
        variable = self._variables[level]
        truths = [self._truth(c, 1) for c in conditions]
        if all(t is True for t in truths):
            return variable
        if any(t is False for t in truths):
            self.model.add(variable == 0)
            return variable
        above = []
        if not all(self._at_first_level(c) for c in conditions):
            some = self.model.new_bool_var("")
            self.model.add(variable <= self.levels * some)
            above = [some]
        for condition in conditions:
            self.post(condition, above, level)
        return variable

    def _at_first_level(self, condition: Condition) -> bool:
        """Whether interval arithmetic shows that the goal scores above zero everywhere."""
        if isinstance(condition, Cut):
            first = Cut(condition.numerator, condition.denominator, float(np.atleast_1d(condition.c)[:2][-1]), condition.sense)
            return self._truth(first, 0) is True
        return False

    def _post_levels(self, cut: Cut, level: int, enforce: list, skip: int) -> None:
        """``sense * (numerator - c[level] * denominator) >= 0`` by straight lines in the level."""
        low, high = ratio_interval(cut.numerator, cut.denominator, self.box)
        k = np.arange(skip, len(np.asarray(cut.c)))
        c = np.asarray(cut.c, dtype=float)[skip:] * cut.sense
        if cut.sense < 0:
            low, high = -high, -low
        reachable = c <= high + EXACTNESS
        if not reachable.any():
            self.forbid(enforce)
            return
        top = int(np.flatnonzero(reachable)[-1]) + 1
        if top < len(c):
            constraint = self.model.add(self._variables[level] <= int(k[top - 1]))
            if enforce:
                constraint.only_enforce_if(enforce)
            k, c = k[:top], c[:top]
        if c[-1] <= low:
            return
        floor = low if math.isfinite(low) else float(np.min(c[np.isfinite(c)]))
        clipped = np.maximum(c, floor)
        step = np.gradient(clipped) if len(clipped) > 1 else np.ones(1)
        tolerance = np.where(clipped > floor, LEVEL_SLACK * np.maximum(step, 1e-12), np.inf)
        self._post_curve(cut, level, enforce, k, clipped, tolerance)

    def _post_curve(self, cut, level, enforce, k, c, tolerance) -> None:
        lines = lines_under(k, c, tolerance)
        if lines is not None:
            self._post_lines(cut.numerator * cut.sense, cut.denominator, level, enforce, lines, tolerance)
            return
        turned = self._reciprocal(cut, k, c, tolerance)
        if turned is not None:
            numerator, denominator, lines, slack = turned
            self._post_lines(numerator, denominator, level, enforce, lines, slack)
            return
        self._post_pieces(cut, level, enforce, k, c, tolerance)

    def _reciprocal(self, cut, k, c, tolerance):
        """The cut turned over, as numerator, denominator and lines; None where that does not help.

        Where n - c d has the wrong curvature for lines, d - n / c may have the right one. The ratio
        is first shifted by s so that n + s d and c + s are positive.
        """
        low = ratio_interval(cut.numerator, cut.denominator, self.box)[0]
        if not math.isfinite(low):
            return None
        shift = 0.0 if low >= 0.0 else -low
        real = c * cut.sense + shift
        if np.min(real) <= 0.0:
            return None
        over = cut.numerator + cut.denominator * shift if shift else cut.numerator
        inverse = 1.0 / real
        slack = np.where(np.isfinite(tolerance), tolerance / real**2, np.inf)
        lines = lines_under(k, -cut.sense * inverse, slack)
        return None if lines is None else (cut.denominator * -cut.sense, over, lines, slack)

    def _post_lines(self, numerator, denominator, level, enforce, lines: Iterable[Line], tolerance) -> None:
        size = max(1e-6, _size(denominator, self.box))
        finite = tolerance[np.isfinite(tolerance)]
        exactness = 0.1 * size * float(np.min(finite)) if len(finite) else EXACTNESS
        base = self.expression(numerator)
        below = self.expression(denominator)
        for intercept, slope in lines:
            terms = Terms()
            terms.include(base, 1.0)
            terms.include(below, -intercept)
            if slope != 0.0:
                terms.include(self.times_level(level, denominator), -slope)
            self.post_row(terms, max(exactness, 1e-12), enforce)

    def _post_pieces(self, cut, level, enforce, k, c, tolerance) -> None:
        """Where one set of lines will not do: pieces of the level's range, each with a literal."""
        picks, start = [], 0
        while start < len(k):
            size = len(k) - start
            while (
                lines := lines_under(k[start : start + size], c[start : start + size], tolerance[start : start + size])
            ) is None:
                size = max(1, size // 2)
            pick = self.model.new_bool_var("")
            variable = self._variables[level]
            self.model.add(variable >= int(k[start]) if start else variable >= 0).only_enforce_if(pick)
            self.model.add(variable <= int(k[start + size - 1])).only_enforce_if(pick)
            piece = slice(start, start + size)
            self._post_lines(cut.numerator * cut.sense, cut.denominator, level, [*enforce, pick], lines, tolerance[piece])
            picks.append(pick)
            start += size
        self.model.add_exactly_one(picks)

    # --- limits and objective -----------------------------------------------------------------

    def _limit(self, bound: Bound, assume: bool) -> None:
        enforce = []
        if assume:
            if bound.index not in self.literals:
                self.literals[bound.index] = self.model.new_bool_var(f"limit {bound.index}")
            enforce = [self.literals[bound.index]]
        for condition in bound.conditions():
            self.post(condition, enforce)

    def _weigh(self) -> None:
        denominator = math.lcm(*[share.denominator for _, share in self.shares]) if self.shares else 1
        self.weights = [int(share * denominator) for _, share in self.shares]
        shared = math.gcd(*self.weights) if self.weights else 1
        self.weights = [w // max(1, shared) for w in self.weights]
        self.objective = self._expr.weighted_sum([v for v, _ in self.shares], self.weights) if self.shares else None

    @property
    def full(self) -> int:
        """The objective's value where every goal is met in full."""
        return self.levels * sum(self.weights)

    def points(self, objective: float) -> float:
        """Points of 100 that an objective value stands for."""
        return 100.0 * objective / self.full if self.full else 100.0

    def bound_points(self, objective_bound: float) -> float:
        """Points that no design can exceed, given a bound on the objective: levels are rounded down."""
        return min(100.0, self.points(objective_bound) + 100.0 / self.levels)


def _levels(form: Form, low: float | None, high: float | None, fade: float, levels: int) -> list[Condition]:
    """What each score level of a band asks of a form: entry k is "score at least k / levels"."""
    short = fade * (1.0 - np.arange(levels + 1) / levels)
    conditions = []
    if low is not None:
        conditions.append(form.at_least(low - short))
    if high is not None:
        conditions.append(form.at_most(high + short))
    return conditions


def _size(expression: Expression, box) -> float:
    low, high = expression.interval(box)
    return max(abs(low), abs(high))


def _ranges(space: Space, bounds: Sequence[Bound], between: bool, assume: bool) -> Mapping[str, Domain]:
    """The decisions' domains, shrunk by what must hold (and, with ``assume``, by no limit)."""
    certain = list(space.sense)
    if not assume:
        certain += necessary(c for b in bounds for c in b.conditions())
    if not between:
        return tightened(space.domains, certain, EXACTNESS)
    steps = {n: d.step for n, d in space.domains.items() if isinstance(d, Steps) and d.rounded}
    widened = [e + 0.5 * sum(abs(c) * steps.get(n, 0.0) for n, c in e.terms) for e in certain]
    return tightened(space.domains, widened, EXACTNESS)
