"""From a space with its limits and goals to a CP-SAT model, and back from its answer to a design.

The compiler knows forms and conditions, and no measure by name. Whatever it rounds, it rounds so
that no design is lost: every design that holds its limits exactly is a solution of the model, with
at least its score in levels. So the solver's bound is a bound on the exact score.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Iterable, Mapping, Sequence

import numpy as np

from optimiser.design import Domain, Held, Listed, Space, Steps
from optimiser.envelope import Line, lines_under
from optimiser.forms import All, AnyOf, Condition, Cut, Form, ratio_interval
from optimiser.linear import Expression, Linear, Quadratic
from optimiser.requirements import Bound, Target
from optimiser.tighten import necessary, tightened

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

LEVELS = 4000
"""Score levels of one goal: a goal's score is known to the solver to one part in so many."""

EXACTNESS = 2e-7
"""SI units by which rounding of coefficients may loosen a limit: below what the checker accepts."""

LEVEL_SLACK = 2.0
"""Score levels by which straight pieces may over-estimate a goal."""

LARGEST = 2**60


@dataclass(frozen=True)
class Whole:
    """An expression as ``unit * variable + offset``, true to within ``error``."""

    index: int
    unit: float
    offset: float
    error: float


class Terms:
    """A sum over solver variables with real coefficients, a constant, and a slack that says how far
    the true value may lie above it."""

    def __init__(self, constant: float = 0.0) -> None:
        self.coefficients: dict[int, float] = {}
        self.constant = constant
        self.slack = 0.0

    def add(self, index: int, coefficient: float) -> None:
        self.coefficients[index] = self.coefficients.get(index, 0.0) + coefficient

    def include(self, other: "Terms", factor: float) -> None:
        for index, coefficient in other.coefficients.items():
            self.add(index, factor * coefficient)
        self.constant += factor * other.constant
        self.slack += abs(factor) * other.slack


class Compiled:
    """The model of one space. ``levels`` maps each goal to its score variables with their shares."""

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
        from ortools.sat.python import cp_model

        self.space = space
        self.levels = levels
        self.model = cp_model.CpModel()
        self._expr = cp_model.LinearExpr
        self._variables: list = []
        self._ends: list[tuple[int, int]] = []
        self._products: dict[tuple[int, int], int] = {}
        self._wholes: dict[tuple, Whole] = {}
        self._decisions: dict[str, Terms] = {}
        self._half: dict[str, float] = {}
        self.domains = self._ranges(space, bounds, between, assume)
        self.box = {name: domain.ends for name, domain in self.domains.items()}
        self.literals: dict[int, object] = {}
        for name, domain in self.domains.items():
            self._decide(name, domain, between)
        for expression in space.sense:
            self._post(self.terms_of(expression), EXACTNESS, [])
        for bound in bounds:
            self._limit(bound, assume)
        self.shares: list[tuple[object, Fraction]] = []
        for target in targets:
            self._goal(target)
        self._weigh()

    # --- decisions ----------------------------------------------------------------------------

    @staticmethod
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

    def _new(self, low: int, high: int, name: str = "") -> int:
        variable = self.model.new_int_var(low, high, name)
        self._variables.append(variable)
        self._ends.append((low, high))
        return len(self._variables) - 1

    def _decide(self, name: str, domain, between: bool) -> None:
        terms = Terms()
        if isinstance(domain, Held):
            terms.constant = domain.value
        elif isinstance(domain, Steps):
            terms.add(self._new(domain.low, domain.high, name), domain.step)
            if between and domain.rounded:
                self._half[name] = 0.5 * domain.step
                low, high = domain.ends
                self.box[name] = (low - 0.5 * domain.step, high + 0.5 * domain.step)
        else:
            picks = [self._new(0, 1, f"{name}={value}") for value in domain.values]
            self.model.add_exactly_one(self._variables[p] for p in picks)
            for pick, value in zip(picks, domain.values):
                terms.add(pick, value)
        self._decisions[name] = terms

    def read(self, solver: "cp_model.CpSolver") -> dict[str, float]:
        """The decisions in a solver's answer, exactly on the grid or in the list."""
        design = {}
        for name, domain in self.domains.items():
            terms = self._decisions[name]
            if isinstance(domain, Held):
                design[name] = domain.value
            elif isinstance(domain, Steps):
                (index,) = terms.coefficients
                design[name] = domain.step * solver.value(self._variables[index])
            else:
                picked = [i for i in terms.coefficients if solver.value(self._variables[i])]
                design[name] = domain.values[list(terms.coefficients).index(picked[0])]
        return design

    def hint(self, design: Mapping[str, float]) -> None:
        """Tell the solver a design to start from."""
        for name, domain in self.domains.items():
            indices = list(self._decisions[name].coefficients)
            if isinstance(domain, Steps):
                self.model.add_hint(self._variables[indices[0]], round(design[name] / domain.step))
            elif isinstance(domain, Listed):
                nearest = min(range(len(domain.values)), key=lambda i: abs(domain.values[i] - design[name]))
                for i, index in enumerate(indices):
                    self.model.add_hint(self._variables[index], int(i == nearest))

    def terms_of(self, expression: Linear) -> Terms:
        """A linear expression over the solver's variables, widened by half a step a decision where the
        bound must hold between grid points too."""
        terms = Terms(expression.constant)
        for name, coefficient in expression.terms:
            terms.include(self._decisions[name], coefficient)
            terms.slack += abs(coefficient) * self._half.get(name, 0.0)
        return terms

    # --- products -----------------------------------------------------------------------------

    def _whole(self, expression: Linear) -> Whole:
        """The expression as one integer variable with a unit."""
        key = (expression.terms, expression.constant)
        if key in self._wholes:
            return self._wholes[key]
        terms = self.terms_of(expression)
        items = [(i, c) for i, c in sorted(terms.coefficients.items()) if c != 0.0]
        if len(items) == 1:
            (index, unit), error = items[0], terms.slack
        else:
            unit, counts, error = _common_unit(items, self._ends)
            error += terms.slack
            index = self._sum([(i, n) for (i, _), n in zip(items, counts)])
        self._wholes[key] = Whole(index, unit, terms.constant, error)
        return self._wholes[key]

    def _sum(self, items: list[tuple[int, int]]) -> int:
        low = sum(min(n * self._ends[i][0], n * self._ends[i][1]) for i, n in items)
        high = sum(max(n * self._ends[i][0], n * self._ends[i][1]) for i, n in items)
        index = self._new(low, high)
        total = self._expr.weighted_sum([self._variables[i] for i, _ in items], [n for _, n in items])
        self.model.add(self._variables[index] == total)
        return index

    def _multiplied(self, a: int, b: int) -> int:
        key = (min(a, b), max(a, b))
        if key not in self._products:
            (al, ah), (bl, bh) = self._ends[a], self._ends[b]
            corners = [al * bl, al * bh, ah * bl, ah * bh]
            low, high = min(corners), max(corners)
            if a == b:
                low = 0 if al <= 0 <= ah else min(al * al, ah * ah)
            index = self._new(low, high)
            self.model.add_multiplication_equality(self._variables[index], [self._variables[a], self._variables[b]])
            self._products[key] = index
        return self._products[key]

    def _reduced(self, expression: Linear) -> Linear:
        """The expression with decisions of one value in their places."""
        held = {n: d.value for n, d in self.domains.items() if isinstance(d, Held)}
        free = {n: c for n, c in expression.terms if n not in held}
        return Linear.of(free, expression.constant + sum(c * held[n] for n, c in expression.terms if n in held))

    def _product(self, a: Linear, b: Linear) -> Terms:
        """a * b over solver variables, one of them a product variable."""
        a, b = self._reduced(a), self._reduced(b)
        if a.is_constant or b.is_constant:
            factor, other = (a.constant, b) if a.is_constant else (b.constant, a)
            terms = Terms()
            terms.include(self.terms_of(other), factor)
            return terms
        one, two = self._whole(a), self._whole(b)
        terms = Terms(one.offset * two.offset)
        terms.add(self._multiplied(one.index, two.index), one.unit * two.unit)
        terms.add(one.index, one.unit * two.offset)
        terms.add(two.index, two.unit * one.offset)
        if one.error or two.error:
            (al, ah), (bl, bh) = a.interval(self.box), b.interval(self.box)
            most_a, most_b = max(abs(al), abs(ah)), max(abs(bl), abs(bh))
            terms.slack = most_a * two.error + most_b * one.error + one.error * two.error
        return terms

    def expression(self, expression: Expression) -> Terms:
        """Any expression over solver variables."""
        if isinstance(expression, Linear):
            return self.terms_of(expression)
        terms = self.terms_of(expression.linear)
        for coefficient, a, b in expression.products:
            terms.include(self._product(a, b), coefficient)
        return terms

    def _times_level(self, level: int, expression: Expression) -> Terms:
        """``level * expression`` for a score variable."""
        terms = Terms()
        if isinstance(expression, Linear):
            expression = self._reduced(expression)
            if expression.is_constant:
                terms.add(level, expression.constant)
                return terms
            whole = self._whole(expression)
        else:
            sum_ = self.expression(expression)
            if not sum_.coefficients:
                terms.add(level, sum_.constant)
                return terms
            whole = self._whole_of_terms(expression)
        top = self._ends[level][1]
        terms.add(self._multiplied(level, whole.index), whole.unit)
        terms.add(level, whole.offset)
        terms.slack = top * whole.error
        return terms

    def _whole_of_terms(self, expression: Quadratic) -> Whole:
        key = (expression.linear.terms, expression.linear.constant, expression.products)
        if key not in self._wholes:
            terms = self.expression(expression)
            items = [(i, c) for i, c in sorted(terms.coefficients.items()) if c != 0.0]
            unit, counts, error = _common_unit(items, self._ends)
            index = self._sum([(i, n) for (i, _), n in zip(items, counts)])
            self._wholes[key] = Whole(index, unit, terms.constant, error + terms.slack)
        return self._wholes[key]

    # --- posting ------------------------------------------------------------------------------

    def _post(self, terms: Terms, tolerance: float, enforce: list) -> None:
        """``terms >= 0`` under literals, loosened by at most ``tolerance`` and never tightened."""
        items = [(i, c) for i, c in sorted(terms.coefficients.items()) if c != 0.0]
        constant = terms.constant + terms.slack
        if not items:
            if constant < -tolerance:
                self._forbid(enforce)
            return
        exact = _exact_integers([c for _, c in items])
        if exact is not None:
            unit, counts = exact
            bound = math.ceil(-constant / unit - tolerance / unit * 0.5)
        else:
            reach = [max(abs(self._ends[i][0]), abs(self._ends[i][1])) for i, _ in items]
            scale = 0.5 * sum(reach) / (0.5 * tolerance)
            scale = min(scale, LARGEST / max(1e-300, sum(abs(c) * r for (_, c), r in zip(items, reach)) + abs(constant)))
            counts = [round(c * scale) for _, c in items]
            error = sum(abs(n - c * scale) * r for n, (_, c), r in zip(counts, items, reach))
            bound = math.ceil(-constant * scale - error - 1e-6)
        total = self._expr.weighted_sum([self._variables[i] for i, _ in items], counts)
        constraint = self.model.add(total >= bound)
        if enforce:
            constraint.only_enforce_if(enforce)

    def _forbid(self, enforce: list) -> None:
        self.model.add_bool_or([literal.negated() for literal in enforce])

    def post(self, condition: Condition, enforce: list, level: int | None = None, skip: int = 1) -> None:
        """A condition under literals; for a goal, at the score that the variable ``level`` takes."""
        if isinstance(condition, All):
            for part in condition.parts:
                self.post(part, enforce, level, skip)
        elif isinstance(condition, AnyOf):
            self._post_any(condition, enforce, level, skip)
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
            self._forbid(enforce)
            return
        terms = self.expression(cut.numerator * cut.sense)
        terms.include(self.expression(cut.denominator), -c)
        self._post(terms, EXACTNESS * max(1e-3, cut.denominator.interval(self.box)[0]), enforce)

    # --- goals --------------------------------------------------------------------------------

    def _goal(self, target: Target) -> None:
        """One score variable a row (or one for the worst row), and what each of its levels asks for."""
        goal = target.goal
        forms = [target.forms] if target.worst else [(form,) for form in target.forms]
        for group in forms:
            conditions = []
            for form in group:
                conditions += _levels(form, goal.low, goal.high, goal.fade, self.levels)
            self._score(conditions, Fraction(goal.weight).limit_denominator(10**6) / len(forms))

    def _score(self, conditions: list[Condition], share: Fraction) -> None:
        level = self._new(0, self.levels)
        variable = self._variables[level]
        truths = [self._truth(c, 1) for c in conditions]
        self.shares.append((variable, share))
        if all(t is True for t in truths):
            return
        if any(t is False for t in truths):
            self.model.add(variable == 0)
            return
        above = []
        if not all(self._at_first_level(c) for c in conditions):
            some = self.model.new_bool_var("")
            self.model.add(variable <= self.levels * some)
            above = [some]
        for condition in conditions:
            self.post(condition, above, level)

    def _at_first_level(self, condition: Condition) -> bool:
        """Whether interval arithmetic shows that the goal scores above zero everywhere."""
        if isinstance(condition, Cut):
            first = Cut(condition.numerator, condition.denominator, float(np.atleast_1d(condition.c)[:2][-1]), condition.sense)
            return self._truth(first, 0) is True
        return False

    def _post_levels(self, cut: Cut, level: int, enforce: list, skip: int) -> None:
        """``sense * (numerator - c[level] * denominator) >= 0`` by straight lines in the level."""
        low, high = ratio_interval(cut.numerator, cut.denominator, self.box)
        k = np.arange(skip, self.levels + 1)
        c = np.asarray(cut.c, dtype=float)[skip:] * cut.sense
        if cut.sense < 0:
            low, high = -high, -low
        reachable = c <= high + EXACTNESS
        if not reachable.any():
            self._forbid(enforce)
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
                terms.include(self._times_level(level, denominator), -slope)
            self._post(terms, max(exactness, 1e-12), enforce)

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


def _exact_integers(coefficients: list[float]) -> tuple[float, list[int]] | None:
    """A unit of which all coefficients are whole multiples (to double precision), if a handy one exists."""
    smallest = min(abs(c) for c in coefficients)
    ratios = [Fraction(c / smallest).limit_denominator(1000) for c in coefficients]
    if any(abs(float(r) - c / smallest) > 1e-13 * abs(c / smallest) for r, c in zip(ratios, coefficients)):
        return None
    denominator = math.lcm(*[r.denominator for r in ratios])
    counts = [int(r * denominator) for r in ratios]
    if denominator > 10**6 or max(map(abs, counts)) > 10**9:
        return None
    return smallest / denominator, counts


def _common_unit(items: list[tuple[int, float]], ends: list[tuple[int, int]]) -> tuple[float, list[int], float]:
    """Unit, whole multiples and rounding error for a sum that becomes one integer variable."""
    exact = _exact_integers([c for _, c in items])
    if exact is not None and sum(abs(n) * max(map(abs, ends[i])) for n, (i, _) in zip(exact[1], items)) < 2**40:
        return exact[0], exact[1], 0.0
    reach = sum(abs(c) * max(map(abs, ends[i])) for i, c in items)
    unit = reach / 2**30
    counts = [round(c / unit) for _, c in items]
    error = sum(abs(n * unit - c) * max(map(abs, ends[i])) for n, (i, c) in zip(counts, items))
    return unit, counts, error
