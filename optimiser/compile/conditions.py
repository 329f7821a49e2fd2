"""Limits and goals as rows of a CP-SAT model: conditions under literals, score levels by lines.

Knows forms and conditions, and no measure by name. Whatever is rounded is rounded so that no design
is lost: every design that holds its limits exactly is a solution of the model, with at least its
score in levels. So the solver's bound is a bound on the exact score.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Hashable, Iterable, Sequence
from fractions import Fraction
from functools import lru_cache

import numpy as np

from optimiser.compile.envelope import Line, lines_under
from optimiser.compile.integers import Terms
from optimiser.compile.intervals import EXACTNESS, at_level, truth
from optimiser.compile.tables import Tables
from optimiser.compile.tighten import outlook
from optimiser.design import Space
from optimiser.forms import All, AnyOf, Condition, Cut, Form, SumCut, TableCut, ratio_interval
from optimiser.linear import Expression
from optimiser.requirements import Bound, Target

LEVELS = 4000
"""Score levels of one goal: a goal's score is known to the solver to one part in so many."""

FINEST_WEIGHT = 10**6
"""Parts of the whole in which goals' weights are counted, where they have no simpler ratio."""

LEVEL_SLACK = 2.0
"""Score levels by which straight pieces may over-estimate a goal."""


class Compiled(Tables):
    """The model of one space: maximise ``objective`` to score best.

    With ``assume``, each limit holds on each of its rows only under their literal in ``literals``. With ``least``, only
    designs that score at least so many points of 100 are kept, and the model is the smaller for it.
    With ``pieces``, products are bounded piece by piece: more rows, and less to branch on.
    With ``most_points``, a model with more points of one table in reach is refused: TooLarge.
    """

    def __init__(
        self,
        space: Space,
        bounds: Sequence[Bound],
        targets: Sequence[Target],
        *,
        between: bool = False,
        assume: bool = False,
        levels: int = LEVELS,
        least: float | None = None,
        pieces: int = 1,
        most_points: int | None = None,
    ) -> None:
        self.most_points = most_points
        goals = [group for target in targets for group in _groups(target, levels)]
        self.levels = levels
        self._about = _names(targets, levels)
        self.weights, self.blur = _whole_weights([share for _, share in goals])
        least_sum = None if least is None or not goals else self.asked(least)
        view = outlook(
            space.domains,
            space.sense,
            [] if assume else [c for b in bounds for c in b.conditions()],
            [conditions for conditions, _ in goals],
            self.weights,
            levels=levels,
            least=least_sum,
            between=between,
        )
        super().__init__(view.domains, between=between)
        self.space = space
        self._levels: list[int] = []
        self.literals: list[object] = []
        if view.hopeless:  # the rest would take its time and say nothing
            self.forbid([])
            self.scores = [self._variables[self.new(low, high)] for low, high in view.levels]
        else:
            for expression in space.sense:
                self.post_row(self.terms_of(expression), EXACTNESS, [])
            for bound in bounds:
                self._limit(bound, assume)
            self.scores = [self.level(c, low, high) for (c, _), (low, high) in zip(goals, view.levels)]
        self.objective = self._expr.weighted_sum(self.scores, self.weights) if self.scores else None
        if least_sum is not None:
            self.model.add(self.objective >= least_sum)
        self.divide_levels(pieces)

    def _labelled(self) -> dict[int, Hashable]:
        return super()._labelled() | dict(zip(self._levels, self._about))

    def divide_levels(self, pieces: int) -> None:
        """Bound products piece by piece from now on, those of score levels by pieces of the other factor's range."""
        if pieces > 1:
            self.divide(pieces, frozenset(self._levels))

    # --- conditions ---------------------------------------------------------------------------

    def post(self, condition: Condition, enforce: list, level: int | None = None, skip: int = 1) -> None:
        """A condition under literals; for a goal, at the score that the variable ``level`` takes."""
        if isinstance(condition, All):
            for part in condition.parts:
                self.post(part, enforce, level, skip)
        elif isinstance(condition, AnyOf):
            self._post_any(condition, enforce, level, skip)
        elif isinstance(condition, TableCut):
            self.post_table(condition, enforce, level, skip)
        elif isinstance(condition, SumCut):
            self.post_sum(condition, enforce, level, skip)
        elif np.ndim(condition.c):
            self._post_levels(condition, level, enforce, skip)
        else:
            self._post_cut(condition, enforce)

    def _post_any(self, condition: AnyOf, enforce: list, level: int | None, skip: int) -> None:
        parts = []
        for part in condition.parts:
            found = truth(part, self.box, skip)
            if found is True:
                return
            if found is None:
                parts.append(part)
        if len(parts) == 1:
            self.post(parts[0], enforce, level, skip)
            return
        picks = [self.model.new_bool_var("") for _ in parts]
        self.model.add_bool_or([literal.negated() for literal in enforce] + picks)
        for pick, part in zip(picks, parts):
            self.post(part, [pick], level, skip)

    def _post_cut(self, cut: Cut, enforce: list) -> None:
        c = float(cut.c) * cut.sense
        if c == -math.inf or truth(cut, self.box) is True:
            return
        if c == math.inf:
            self.forbid(enforce)
            return
        terms = Terms()
        terms.include(self.expression(cut.numerator), cut.sense)
        terms.include(self.expression(cut.denominator), -c)
        self.post_row(terms, EXACTNESS * max(1e-3, cut.denominator.interval(self.box)[0]), enforce)

    # --- goals --------------------------------------------------------------------------------

    def gauge(self, form: Form, start: float, end: float, parts: int):
        """A variable that may be k only where the form has come k of so many parts (at most ``levels``) of the
        way from ``start`` to ``end``, either of which may be the greater. Straight pieces may over-estimate it."""
        way = start + (end - start) * np.arange(parts + 1) / parts
        return self.level([form.at_least(way) if end > start else form.at_most(way)], high=parts)

    def level(self, conditions: Sequence[Condition], low: int = 0, high: int | None = None):
        """A variable from ``low`` to ``high`` that may be k > 0 only where entry k of each condition holds."""
        level = self.new(low, self.levels if high is None else high)
        self._levels.append(level)
        variable = self._variables[level]
        first = max(1, low)
        truths = [truth(c, self.box, first) for c in conditions]
        if all(t is True for t in truths):
            return variable
        if any(t is False for t in truths):
            self.model.add(variable == 0)
            return variable
        above = []
        if low == 0 and not all(truth(at_level(c, 1), self.box) is True for c in conditions):
            some = self.model.new_bool_var("")
            self.model.add(variable <= self.levels * some)
            above = [some]
        for condition in conditions:
            self.post(condition, above, level, first)
        return variable

    def _post_levels(self, cut: Cut, level: int, enforce: list, skip: int) -> None:
        """``sense * (numerator - c[level] * denominator) >= 0`` by straight lines in the level."""
        low, high = ratio_interval(cut.numerator, cut.denominator, self.box)
        last = self._ends[level][1]
        k = np.arange(skip, last + 1)
        c = np.asarray(cut.c, dtype=float)[skip : last + 1] * cut.sense
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
        if not math.isfinite(low) and not math.isfinite(c[0]):
            # the lowest levels ask for nothing at all, and no line says so
            start = int(np.flatnonzero(np.isfinite(c))[0])
            pick = self.model.new_bool_var("")
            self.model.add(self._variables[level] < int(k[start])).only_enforce_if(pick.negated())
            k, c, enforce = k[start:], c[start:], [*enforce, pick]
        floor = low if math.isfinite(low) else float(c[0])
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
            if start:
                self.model.add(variable >= int(k[start])).only_enforce_if(pick)
            self.model.add(variable <= int(k[start + size - 1])).only_enforce_if(pick)
            near = tolerance[start : start + size]
            self._post_lines(cut.numerator * cut.sense, cut.denominator, level, [*enforce, pick], lines, near)
            picks.append(pick)
            start += size
        # the pieces need not reach as far as the level does where another part of the condition holds
        self.model.add_bool_or([*(literal.negated() for literal in enforce), *picks])

    # --- limits and objective -----------------------------------------------------------------

    def _limit(self, bound: Bound, assume: bool) -> None:
        enforce = []
        if assume:
            enforce = [self.model.new_bool_var(f"limit {bound.index}")]
            self.literals += enforce
        for condition in bound.conditions():
            self.post(condition, enforce)

    @property
    def size(self) -> int:
        """How many variables the model has."""
        return len(self.model.proto.variables)

    @property
    def full(self) -> int:
        """The objective's value where every goal is met in full."""
        return self.levels * sum(self.weights)

    def points(self, objective: float) -> float:
        """Points of 100 that an objective value stands for."""
        return 100.0 * objective / self.full if self.full else 100.0

    def asked(self, score: float) -> int:
        """The least objective of designs that score at least so many points: each goal loses less than a level."""
        return max(0, int((score - self.blur) * self.full / 100.0 - sum(self.weights)))

    def bound_points(self, objective_bound: float) -> float:
        """Points that no design can exceed, given a bound on the objective: levels are rounded down."""
        return min(100.0, self.points(objective_bound) + 100.0 / self.levels + self.blur)


@lru_cache(maxsize=64)  # the same few are asked for in every model of a space
def _groups(target: Target, levels: int) -> list[tuple[list[Condition], Fraction]]:
    """What each score variable of a goal is about, one a row or one for the worst row, and its share."""
    goal = target.goal
    forms = [target.forms] if target.worst else [(form,) for form in target.forms]
    share = Fraction(goal.weight) / len(forms)
    asked = [[c for form in group for c in _levels(form, goal.low, goal.high, goal.fade, levels)] for group in forms]
    return [(conditions, share) for conditions in asked]


def _names(targets: Sequence[Target], levels: int) -> list[Hashable]:
    """What each score variable is about, the same where there are other goals besides."""
    seen: Counter[Hashable] = Counter()
    names: list[Hashable] = []
    for target in targets:
        about = target.goal.measure, target.goal.row, target.goal.options
        for _ in _groups(target, levels):
            seen[about] += 1
            names.append(("score", about, seen[about]))
    return names


def _whole_weights(shares: Sequence[Fraction]) -> tuple[list[int], float]:
    """Whole numbers in the proportion of the shares, or as near to it as will do, and what the
    difference can come to in points of the score."""
    if not shares:
        return [], 0.0
    total = sum(shares)
    parts = [share / total for share in shares]
    near = [part.limit_denominator(FINEST_WEIGHT) for part in parts]
    whole = math.lcm(*(part.denominator for part in near))
    if whole > FINEST_WEIGHT or not all(near):
        near, whole = [max(Fraction(1, FINEST_WEIGHT), part) for part in parts], FINEST_WEIGHT
    weights = [round(part * whole) for part in near]
    out = sum(abs(Fraction(w, sum(weights)) - part) for w, part in zip(weights, parts))
    return weights, 100.0 * float(out)


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
