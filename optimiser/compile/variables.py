"""Decisions, sums and products as variables of a CP-SAT model, and linear rows over them.

Rounding only ever loosens a row, and by less than the exact check forgives; where the bound must
hold between grid points, every row is widened by half a step of each decision in it.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from copy import copy
from typing import TYPE_CHECKING

import numpy as np

from optimiser.compile.integers import (
    LONG_ROW,
    Terms,
    Whole,
    common_unit,
    exact_counts,
    exact_integers,
    reach_of,
    scaled,
    scaled_counts,
)
from optimiser.compile.model import Answer, copy_of, library, new_model
from optimiser.design import Domain, Held, Listed, Steps
from optimiser.forms import Form
from optimiser.linear import Entry, Expression, Linear, Quadratic, Term, variable

if TYPE_CHECKING:
    from ortools.sat.python import cp_model_helper as helper

    from optimiser.compile.tables import Looked

WHATEVER = 2**63 - 1
"""End of a row that has none to this side, as the solver has it."""

LARGEST = 2**60
"""Magnitude that no sum in the model exceeds."""

HEAVY = 2**31
"""What the coefficients of variables of two values come to in a row that is heavy: more than 32 bits hold."""

LARGE = 2**31
"""Products that may be as large are not bounded piece by piece."""

VAST = 2**63
"""What a product times a factor of it or of another one comes to in a model that is vast: more than 64 bits hold."""

FINE = 2**27
"""Units to which a sum is rounded that has no exact one."""


class Variables:
    """The variables of one model. They are known by their index; ``_ends`` holds their ranges."""

    def __init__(self, domains: Mapping[str, Domain], *, between: bool) -> None:
        self.model = new_model()
        self.heavy = False  # whether in some row under a literal, coefficients of variables of two values come to HEAVY
        self._farthest = 1, 1  # what any product, and any factor of one, may come to
        self._pairs: set[frozenset[int]] = set()  # the literals of each choice
        self.domains = domains = {name: _held(domain) for name, domain in domains.items()}
        self.box = {name: domain.ends for name, domain in domains.items()}
        self._expr = library().LinearExpr
        self._variables: list[helper.IntVar] = []
        self._ends: list[tuple[int, int]] = []
        self._columns = np.empty((3, 0), dtype=np.int64)  # what long rows ask of them, as far as it is known
        self._products: dict[tuple[int, int], int] = {}
        self._factors: list[tuple[int, int, int]] = []  # one, other, product
        self._divided: dict[int, list[tuple[int, int, object]]] = {}
        self._told = 0  # products of which it is said how they lie in pieces
        self._wholes: dict[tuple, Whole] = {}
        self._decisions: dict[str, Terms] = {}
        self._half: dict[str, float] = {}
        self._lifts: dict[tuple, tuple[Form, str]] = {}
        self._bounds: dict[tuple, tuple[Form, str]] = {}
        self._looked: dict[tuple, Looked] = {}
        self._kept: dict[int, tuple[Expression, Terms]] = {}
        self._taken: dict[str, list[tuple[float, object]]] = {}
        for name, domain in domains.items():
            self._decide(name, domain, between)

    # --- decisions ----------------------------------------------------------------------------

    def new(self, low: int, high: int, name: str = "") -> int:
        variable = self.model.new_int_var(low, high, name)
        self._variables.append(variable)
        self._ends.append((low, high))
        return len(self._variables) - 1

    def _decide(self, name: str, domain, between: bool) -> None:
        terms = Terms()
        if isinstance(domain, Held):
            terms.constant = domain.value
        elif isinstance(domain, Steps):
            terms.add(self.new(domain.low, domain.high, name), domain.step)
            if between and domain.rounded:
                self._half[name] = 0.5 * domain.step
                low, high = domain.ends
                self.box[name] = (low - 0.5 * domain.step, high + 0.5 * domain.step)
        else:
            picks = [self.new(0, 1, f"{name}={value}") for value in domain.values]
            self.model.add_exactly_one(self._variables[p] for p in picks)
            self._pairs.add(frozenset(picks))
            for pick, value in zip(picks, domain.values):
                terms.add(pick, value)
        self._decisions[name] = terms

    @property
    def places(self) -> dict[str, list[int]]:
        """Of each decision the variables in the model's own numbering: its count of steps, or one for each thing in a
        list; none where it is held."""
        return {name: [self._variables[i].index for i in terms.coefficients] for name, terms in self._decisions.items()}

    @property
    def labels(self) -> list[Hashable]:
        """What each variable is, in the model's own numbering, told alike in any model of a problem much like this one:
        which decision, sum or score level it stands for, or after which of these it comes."""
        named = {self._variables[index].index: label for index, label in self._labelled().items()}
        found: list[Hashable] = []
        last, since = None, 0
        for k in range(len(self.model.proto.variables)):
            since = 0 if k in named else since + 1
            last = named.get(k, last)
            found.append((last, since))
        return found

    @property
    def units(self) -> list[float]:
        """What one of each variable stands for (SI, or what comes of it in products), in the model's own numbering; 1 for
        literals and levels."""
        found = dict.fromkeys(range(len(self._variables)), 1.0)
        for name, terms in self._decisions.items():
            if isinstance(self.domains.get(name), Steps):
                found |= terms.coefficients
        found |= {whole.index: whole.unit for whole in self._wholes.values()}
        for one, other, product in self._factors:
            found[product] = found[one] * found[other]
        numbers = {self._variables[index].index: abs(unit) for index, unit in found.items()}
        return [numbers.get(k, 1.0) for k in range(len(self.model.proto.variables))]

    def _labelled(self) -> dict[int, Hashable]:
        """Which decision or sum the variables stand for that do."""
        found: dict[int, Hashable] = {whole.index: what for what, whole in self._wholes.items()}
        for name, terms in self._decisions.items():
            listed = self.domains.get(name)
            values = listed.values if isinstance(listed, Listed) else (None,)
            found |= {index: (name, value) for index, value in zip(terms.coefficients, values)}
        return found

    def read(self, solver: Answer) -> dict[str, float]:
        """The decisions in a solver's answer, exactly on the grid or in the list."""
        return design_at(self.domains, self.places, solver.response_proto.solution)

    def hint(self, design: Mapping[str, float]) -> None:
        """Tell the solver a design to start from; a listed value that is none of the domain's is no pick."""
        for name, domain in self.domains.items():
            indices = list(self._decisions[name].coefficients)
            if isinstance(domain, Steps):
                self.model.add_hint(self._variables[indices[0]], round(design[name] / domain.step))
            elif isinstance(domain, Listed):
                for value, index in zip(domain.values, indices):
                    self.model.add_hint(self._variables[index], int(abs(value - design[name]) < 1e-9))

    def terms_of(self, expression: Linear) -> Terms:
        """A linear expression over the solver's variables, widened by half a step a decision where the
        bound must hold between grid points too."""
        terms = Terms(expression.constant)
        for term, coefficient in expression.terms:
            if isinstance(term, str):
                terms.include(self._decisions[term], coefficient)
                terms.slack += abs(coefficient) * self._half.get(term, 0.0)
            else:
                terms.include(self._entry(term), coefficient)
        return terms

    def _entry(self, entry: Entry) -> Terms:
        """An entry of a list over the literals that pick a thing from it, each times a count if there is one."""
        listed, terms = self.domains[entry.of], Terms()
        numbers = listed.values if isinstance(listed, Listed) else (listed.ends[0],)
        picks = list(self._decisions[entry.of].coefficients)
        count = self._reduced(variable(entry.times)) if entry.times else Linear((), 1.0)
        for at, number in enumerate(numbers):
            one = entry.value({entry.of: number, entry.times: 1.0})
            if not picks:
                terms.include(self.terms_of(count), one)
            elif count.is_constant:
                terms.add(picks[at], one * count.constant)
            else:
                whole = self._whole(count)
                terms.add(self._multiplied(picks[at], whole.index), one * whole.unit)
                terms.add(picks[at], one * whole.offset)
                terms.slack = max(terms.slack, abs(one) * whole.error)  # one thing is picked, not several
        return terms

    # --- products -----------------------------------------------------------------------------

    def _whole(self, expression: Linear) -> Whole:
        """The expression as one integer variable with a unit."""
        if expression.terms not in self._wholes:  # a number added counts nothing
            terms = self.terms_of(Linear(expression.terms))
            items = [(i, c) for i, c in sorted(terms.coefficients.items()) if c != 0.0]
            self._wholes[expression.terms] = self._counted(items, terms)
        whole = self._wholes[expression.terms]
        return Whole(whole.index, whole.unit, whole.offset + expression.constant, whole.error)

    def _counted(self, items: list[tuple[int, float]], terms: Terms) -> Whole:
        if len(items) == 1 and reach_of(self._ends[items[0][0]]) <= 16 * FINE:
            return Whole(*items[0], terms.constant, terms.slack)
        exact = common_unit(items, self._ends)
        if exact is None:
            index, unit, error = self._nearest(items)
            return Whole(index, unit, terms.constant, error + terms.slack)
        unit, counts = exact
        index = self._sum([(i, n) for (i, _), n in zip(items, counts)])
        return Whole(index, unit, terms.constant, terms.slack)

    def _nearest(self, items: list[tuple[int, float]]) -> tuple[int, float, float]:
        """A variable that counts a sum in a unit that is not a whole part of it, rounded to the nearest;
        the unit, and the error of count times unit."""
        reach = [reach_of(self._ends[i]) for i, _ in items]
        most = sum(abs(c) * r for (_, c), r in zip(items, reach))
        unit = most / FINE
        scale, counts, blur = scaled([c for _, c in items], reach, LARGEST / 4 / most)
        index = self.new(-FINE - 1, FINE + 1)
        one = round(unit * scale)
        blur += FINE * abs(one - unit * scale)
        room = math.ceil(0.5 * one + blur) + 1
        total = [*(self._variables[i].index for i, _ in items), self._variables[index].index]
        self.model.add_row(total, [*(-n for n in counts), one], -room, room)
        return index, unit, (room + blur) / scale

    def counted(self, expression: Linear) -> tuple[object, Whole] | None:
        """The variable that counts an expression in its unit; None where no decision changes it."""
        reduced = self._reduced(expression)
        if reduced.is_constant:
            return None
        whole = self._whole(reduced)
        return self._variables[whole.index], whole

    @property
    def vast(self) -> bool:
        """Whether a product times a factor, of it or of another one, may come to VAST."""
        return self._farthest[0] * self._farthest[1] >= VAST

    def branch(self) -> Variables:
        """A copy that can be added to without changing this one."""
        other = copy(self)
        other.model = copy_of(self.model)
        for name in ("_variables", "_ends", "_factors"):
            setattr(other, name, list(getattr(self, name)))
        for name in ("_products", "_wholes", "_decisions", "_lifts", "_bounds", "_kept", "_taken", "_divided", "box"):
            setattr(other, name, dict(getattr(self, name)))
        other._looked = {key: looked.copy() for key, looked in self._looked.items()}
        return other

    def _sum(self, items: list[tuple[int, int]]) -> int:
        low = sum(min(n * self._ends[i][0], n * self._ends[i][1]) for i, n in items)
        high = sum(max(n * self._ends[i][0], n * self._ends[i][1]) for i, n in items)
        index = self.new(low, high)
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
            index = self.new(low, high)
            self.model.add_multiplication_equality(self._variables[index], [self._variables[a], self._variables[b]])
            reached = reach_of((low, high)), *map(reach_of, (self._ends[a], self._ends[b]))
            self._farthest = max(self._farthest[0], reached[0]), max(self._farthest[1], *reached[1:])
            self._products[key] = index
            self._factors.append((a, b, index))
        return self._products[key]

    def divide(self, pieces: int, whole: frozenset[int]) -> None:
        """Tell, for each piece of a product's one factor, between which planes the product lies there: the
        tangent planes at the corners of the piece. ``whole``: factors of which the other one is divided.

        True of every solution, so none is lost. The solver's relaxation knows only the corners of the
        whole range, and closes in on a product by branching alone. Large products are left as they are: with
        planes under literals that come to 2**38, version 9.15 of the solver found nothing where there is much.
        Products that this was told of before are left as they are.
        """
        divided, told = self._divided, self._told
        self._told = len(self._factors)
        for a, b, product in self._factors[told:]:
            a, b = (b, a) if a in whole else (a, b)
            if min(self._ends[f][1] - self._ends[f][0] for f in (a, b)) < 2:
                continue
            if reach_of(self._ends[product]) >= LARGE:
                continue
            if a not in divided:
                divided[a] = self._parts(a, pieces)
            (low, high), one, other, both = self._ends[b], *(self._variables[v] for v in (a, b, product))
            for first, last, literal in divided[a]:
                for at, edge in ((first, low), (last, high)):
                    self.model.add(both - at * other - edge * one >= -at * edge).only_enforce_if(literal)
                for at, edge in ((last, low), (first, high)):
                    self.model.add(both - at * other - edge * one <= -at * edge).only_enforce_if(literal)

    def _parts(self, index: int, pieces: int) -> list[tuple[int, int, object]]:
        """First, last and literal of each piece of a variable's range."""
        low, high = self._ends[index]
        size, parts = high - low + 1, []
        pieces = min(pieces, size)
        for k in range(pieces):
            first, last = low + size * k // pieces, low + size * (k + 1) // pieces - 1
            literal = self.model.new_bool_var("")
            self.model.add_row([self._variables[index].index], [1], first, last, [literal])
            parts.append((first, last, literal))
        self.model.add_exactly_one(literal for _, _, literal in parts)
        return parts

    def _reduced(self, expression: Linear) -> Linear:
        """The expression with decisions of one value in their places."""
        constant, free = expression.constant, {}
        for term, coefficient in expression.terms:
            if isinstance(term, Entry):
                term, coefficient = self._settled(term, coefficient)
            domain = self.domains.get(term) if isinstance(term, str) else None
            if term == "":
                constant += coefficient
            elif isinstance(domain, Held):
                constant += coefficient * domain.value
            else:
                free[term] = free.get(term, 0.0) + coefficient
        return Linear.of(free, constant)

    def _settled(self, entry: Entry, coefficient: float) -> tuple[Term, float]:
        """An entry with what is held in its place: itself, the decision that it counts, or "" for a number."""
        listed, count = self.domains[entry.of], self.domains.get(entry.times)
        if isinstance(count, Held):
            entry, coefficient = Entry(entry.of, entry.values), coefficient * count.value
        if isinstance(listed, Held):
            return entry.times, coefficient * entry.value({entry.of: listed.value, entry.times: 1.0})
        return entry, coefficient

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
        """Any expression over solver variables; not to be changed."""
        known = self._kept.get(id(expression))
        if known is not None:
            return known[1]
        if isinstance(expression, Linear):
            return self.terms_of(expression)
        terms = self.terms_of(expression.linear)
        for coefficient, a, b in expression.products:
            terms.include(self._product(a, b), coefficient)
        return terms

    def keep(self, expression: Expression) -> None:
        """Have an expression at hand that will be asked for again, here and in branches."""
        self._kept[id(expression)] = (expression, self.expression(expression))

    def times_level(self, level: int, expression: Expression) -> Terms:
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
            self._wholes[key] = self._counted(items, terms)
        return self._wholes[key]

    # --- posting ------------------------------------------------------------------------------

    def post_row(self, terms: Terms, tolerance: float, enforce: list) -> None:
        """``terms >= 0`` under literals, loosened by at most ``tolerance`` and never tightened."""
        constant = terms.constant + terms.slack
        if len(terms.coefficients) >= LONG_ROW:
            self._post_long(terms, constant, tolerance, enforce)
            return
        items = _items(terms)
        if not items:
            if constant < -tolerance:
                self.forbid(enforce)
            return
        counts, scale, error = self._scaled(items, tolerance, abs(constant))
        self._weigh([i for i, _ in items], counts, bool(enforce))
        bound = _least(constant, tolerance, scale, error)
        self.model.add_row([self._variables[i].index for i, _ in items], counts, bound, WHATEVER, enforce)

    def _post_long(self, terms: Terms, constant: float, tolerance: float, enforce: list) -> None:
        """As post_row(), of a row of many variables: the points of a table."""
        indices = np.fromiter(terms.coefficients, dtype=np.int64, count=len(terms.coefficients))
        values = np.fromiter(terms.coefficients.values(), dtype=float, count=len(indices))
        order = np.argsort(indices)
        order = order[values[order] != 0.0]
        if not len(order):
            if constant < -tolerance:
                self.forbid(enforce)
            return
        indices, values = indices[order], values[order]
        numbers, reach, width = self._in_columns()[:, indices]
        exact = exact_counts(values)
        if exact is not None and np.sum(np.abs(exact[1].astype(float)) * reach) < LARGEST:
            unit, counts = exact
            scale, error = 1.0 / unit, None
        else:
            most = max(1e-300, float(np.sum(np.abs(values) * reach)) + abs(constant))
            scale, counts, error = scaled_counts(
                values, reach, min(float(np.sum(reach, dtype=float)) / tolerance, LARGEST / most)
            )
        two = width <= 1
        lone = not enforce and (two.sum() < 2 or two.sum() == 2 and frozenset(indices[two].tolist()) in self._pairs)
        self.heavy |= not lone and int(np.abs(counts[two]).sum()) >= HEAVY
        bound = _least(constant, tolerance, scale, error)
        self.model.add_row(numbers.tolist(), counts.tolist(), bound, WHATEVER, enforce)

    def _in_columns(self) -> np.ndarray:
        """Of every variable its number in the model, its greatest magnitude and the width of its range."""
        known = self._columns.shape[1]
        if known < len(self._ends):
            new = zip(self._variables[known:], self._ends[known:])
            more = np.array([(v.index, reach_of(e), e[1] - e[0]) for v, e in new], dtype=np.int64)
            self._columns = np.concatenate([self._columns, more.T], axis=1)
        return self._columns

    def _weigh(self, indices: list[int], counts: list[int], enforced: bool) -> None:
        """Note a row that is heavy, and under a literal: its own, or one of its booleans, as which the solver
        may read it. Where a row's only booleans are the two of a choice, no other is left then."""
        two = {i: abs(n) for i, n in zip(indices, counts) if self._ends[i][1] - self._ends[i][0] <= 1}
        lone = not enforced and (len(two) < 2 or len(two) == 2 and frozenset(two) in self._pairs)
        self.heavy |= not lone and sum(two.values()) >= HEAVY

    def least_of(self, terms: Terms) -> float:
        """What the terms come to at least, by the ranges of their variables."""
        ends = ((c, self._ends[i]) for i, c in terms.coefficients.items())
        return terms.constant - terms.slack + sum(min(c * low, c * high) for c, (low, high) in ends)

    def whole_sum(self, terms: Terms, tolerance: float) -> tuple[object, float, float]:
        """The terms' variable part as a whole-numbered expression, what to divide it by, and the error."""
        items = _items(terms)
        if not items:
            return 0, 1.0, 0.0
        counts, scale, error = self._scaled(items, tolerance, 0.0)
        total = self._expr.weighted_sum([self._variables[i] for i, _ in items], counts)
        return total, scale, 0.0 if error is None else error / scale

    def _scaled(
        self, items: list[tuple[int, float]], tolerance: float, constant: float
    ) -> tuple[list[int], float, float | None]:
        """Coefficients as whole numbers, their scale, and the scaled error; None where they are exact."""
        reach = [reach_of(self._ends[i]) for i, _ in items]
        exact = exact_integers([c for _, c in items])
        if exact is not None and sum(abs(n) * r for n, r in zip(exact[1], reach)) < LARGEST:
            unit, counts = exact
            return counts, 1.0 / unit, None
        most = max(1e-300, sum(abs(c) * r for (_, c), r in zip(items, reach)) + constant)
        scale, counts, error = scaled([c for _, c in items], reach, min(sum(reach) / tolerance, LARGEST / most))
        return counts, scale, error

    def forbid(self, enforce: list) -> None:
        self.model.add_bool_or([literal.negated() for literal in enforce])


def design_at(
    domains: Mapping[str, Domain], places: Mapping[str, Sequence[int]], point: Sequence[float]
) -> dict[str, float]:
    """The decisions where the model's variables have such values: to the nearest step, and of a list what counts for
    most. ``places`` as those of Variables."""
    design = {}
    for name, domain in domains.items():
        at = places[name]
        if isinstance(domain, Steps):
            design[name] = domain.step * round(point[at[0]])
        elif isinstance(domain, Listed):
            design[name] = domain.values[max(range(len(at)), key=lambda n, at=at: point[at[n]])]
        else:
            design[name] = domain.value
    return design


def _held(domain: Domain) -> Domain:
    """A domain, or the one value that is left of a list: a literal for it would say nothing."""
    return Held(domain.values[0]) if isinstance(domain, Listed) and len(domain.values) == 1 else domain


def _least(constant: float, tolerance: float, scale: float, error: float | None) -> int:
    """What a scaled row must come to at least; ``error`` as _scaled() tells it."""
    if error is None:
        return math.ceil((-constant - 0.5 * tolerance) * scale)
    # a quarter of the tolerance is for the last bits of the sums themselves
    return math.ceil((-constant - 0.25 * tolerance) * scale - error)


def _items(terms: Terms) -> list[tuple[int, float]]:
    return [(i, c) for i, c in sorted(terms.coefficients.items()) if c != 0.0]
