"""Linear and quadratic expressions over decisions, in SI units.

An expression is the common ground of scorer and solver: the scorer puts numbers (or numpy arrays)
in the place of the decisions, the compiler reads the coefficients off. Expressions are immutable.

Where a decision picks from a list of things, its value is only the thing's number; what a thing is
like (its width, its price) stands in an expression as an Entry, which looks it up.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Union

import numpy as np

Env = Mapping[str, "float | np.ndarray"]
Bounds = Mapping[str, "tuple[float, float]"]
Interval = tuple[float, float]


@dataclass(frozen=True)
class Entry:
    """What a list says of the thing whose number the decision ``of`` takes: ``values`` holds each number,
    ascending, and the entry there. With ``times``, that many of it: the entry times another decision."""

    of: str
    values: tuple[tuple[float, float], ...]
    times: str = ""

    @cached_property
    def _columns(self) -> np.ndarray:
        """The numbers and their entries."""
        return np.array(self.values).T

    def value(self, env: Env):
        """The entry (or an array of them) where the decisions are as in ``env``."""
        number = env[self.of]
        if isinstance(number, np.ndarray) and number.ndim:
            numbers, entries = self._columns
            found = entries[np.minimum(np.searchsorted(numbers, number - 0.5), len(entries) - 1)]
        else:
            found = next(entry for at, entry in self.values if at > number - 0.5)
        return found * env[self.times] if self.times else found

    def interval(self, bounds: Bounds) -> Interval:
        """Least and greatest value over the box."""
        low, high = bounds[self.of]
        entries = [entry for at, entry in self.values if low - 0.5 < at < high + 0.5]
        ends = min(entries), max(entries)
        if not self.times:
            return ends
        corners = [entry * count for entry in ends for count in bounds[self.times]]
        return min(corners), max(corners)


Term = Union[str, Entry]
"""What a coefficient stands before: a decision by its name, or an entry of a list."""


def _simplest(terms: Mapping[Term, float]) -> tuple[dict[Term, float], float]:
    """Terms with all entries of one list as one, and a constant; an entry that is the same for all things
    is none."""
    plain: dict[Term, float] = {}
    constant, lists = 0.0, {}
    for term, c in terms.items():
        if type(term) is str:
            plain[term] = c
            continue
        own = [(at, c * entry + 0.0) for at, entry in term.values]  # no -0
        sums = lists.get((term.of, term.times))
        if sums is not None:
            own = [(at, one + other) for (at, one), (_, other) in zip(sums, own, strict=True)]
        lists[term.of, term.times] = own
    for (of, times), sums in lists.items():
        same = sums[0][1]
        near = 1e-12 * max(1.0, abs(same))
        for _, entry in sums:
            if abs(entry - same) > near:
                plain[Entry(of, tuple(sums), times)] = 1.0
                break
        else:
            if times:
                plain[times] = plain.get(times, 0.0) + same
            else:
                constant += same
    return plain, constant


def _none_listed(terms: Iterable[Term]) -> bool:
    """Whether all are decisions by name."""
    for term in terms:  # asked so often that a generator's time would tell
        if type(term) is not str:
            return False
    return True


def _place(item: tuple[Term, float]) -> str:
    """Where a term stands among others."""
    term = item[0]
    return term if type(term) is str else f"Entry {term.of} {term.times}"


@dataclass(frozen=True)
class Linear:
    """``constant + sum of coefficient * term``; ``terms`` is sorted, without zeros."""

    terms: tuple[tuple[Term, float], ...] = ()
    constant: float = 0.0

    __array_ufunc__ = None  # an array is never spread over expressions: it is taken as one operand

    @staticmethod
    def of(terms: Mapping[Term, float], constant: float = 0.0) -> Linear:
        """Build from a mapping, dropping zero coefficients."""
        if _none_listed(terms):
            return Linear(tuple(sorted([(term, float(c)) for term, c in terms.items() if c != 0.0])), float(constant))
        terms, same = _simplest(terms)
        kept = [(term, float(c)) for term, c in terms.items() if c != 0.0]
        if len(kept) > 1:
            kept.sort(key=_place)
        return Linear(tuple(kept), float(constant + same))

    @property
    def is_constant(self) -> bool:
        return not self.terms

    def value(self, env: Env):
        """The number (or array) that the expression takes where the decisions are as in ``env``."""
        total = self.constant
        for term, coefficient in self.terms:
            total = total + coefficient * (env[term] if isinstance(term, str) else term.value(env))
        return total

    def interval(self, bounds: Bounds) -> Interval:
        """Least and greatest value over the box ``bounds`` (exact where each decision occurs once)."""
        low = high = self.constant
        for term, coefficient in self.terms:
            a, b = bounds[term] if isinstance(term, str) else term.interval(bounds)
            if coefficient > 0.0:
                low += coefficient * a
                high += coefficient * b
            else:
                low += coefficient * b
                high += coefficient * a
        return low, high

    def __add__(self, other: Linear | Quadratic | float):
        if isinstance(other, Quadratic):
            return other + self
        if isinstance(other, np.ndarray):
            return Sampled(other) + self
        if not isinstance(other, Linear):
            return Linear(self.terms, self.constant + float(other))
        terms = dict(self.terms)
        for name, coefficient in other.terms:
            terms[name] = terms.get(name, 0.0) + coefficient
        return Linear.of(terms, self.constant + other.constant)

    __radd__ = __add__

    def __neg__(self) -> Linear:
        return self.scaled(-1.0)

    def __sub__(self, other):
        return self + (-other)

    def __rsub__(self, other):
        return (-self) + other

    def scaled(self, factor: float) -> Linear:
        factor = float(factor)
        terms = []
        for term, c in self.terms:
            if type(term) is not str or not factor:
                return Linear.of({term: c * factor for term, c in self.terms}, self.constant * factor)
            terms.append((term, c * factor))
        return Linear(tuple(terms), self.constant * factor)

    def __mul__(self, other: Linear | float):
        if isinstance(other, np.ndarray):
            return Sampled(other) * self
        if not isinstance(other, Linear):
            return self.scaled(float(other))
        if other.is_constant:
            return self.scaled(other.constant)
        if self.is_constant:
            return other.scaled(self.constant)
        return self._listed(other) or other._listed(self) or Quadratic(Linear(), ((1.0, self, other),))

    def _listed(self, other: Linear) -> Linear | None:
        """The product, where this looks at nothing but one list and it is linear for that: the other looks
        at the same list, or each of its decisions is multiplied by an entry."""
        mine = [term for term, _ in self.terms]
        if len(mine) != 1 or isinstance(mine[0], str) or mine[0].times:
            return None
        of, numbers = mine[0].of, [at for at, _ in mine[0].values]
        entries = tuple((at, self.value({of: at})) for at in numbers)
        if all(isinstance(term, str) for term, _ in other.terms):
            product = Linear.of({Entry(of, entries): other.constant})
            for name, factor in other.terms:
                product = product + Linear.of({Entry(of, entries, name): factor})
            return product
        if all(isinstance(term, Entry) and term.of == of and not term.times for term, _ in other.terms):
            return Linear.of({Entry(of, tuple((at, one * other.value({of: at})) for at, one in entries)): 1.0})
        return None

    __rmul__ = __mul__


class Sampled(Linear):
    """An expression known by its values in many cases: one array, whatever decisions are put in.

    Stands for a Linear where decisions and the room itself vary from case to case, so that the same
    formulas can be had for all cases at once. Takes part in sums and products of numbers, arrays and
    other such expressions only.
    """

    def __init__(self, values) -> None:
        object.__setattr__(self, "terms", ())
        object.__setattr__(self, "constant", np.asarray(values, dtype=float))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sampled) and np.array_equal(self.constant, other.constant)

    __hash__ = object.__hash__

    @property
    def is_constant(self) -> bool:
        return False

    def value(self, env: Env):
        return self.constant

    def interval(self, bounds: Bounds) -> Interval:
        return float(np.min(self.constant)), float(np.max(self.constant))

    def __add__(self, other):
        return Sampled(self.constant + _values(other))

    __radd__ = __add__

    def __neg__(self) -> Sampled:
        return Sampled(-self.constant)

    def __sub__(self, other) -> Sampled:
        return Sampled(self.constant - _values(other))

    def __rsub__(self, other) -> Sampled:
        return Sampled(_values(other) - self.constant)

    def scaled(self, factor) -> Sampled:
        return Sampled(self.constant * factor)

    def __mul__(self, other) -> Sampled:
        return Sampled(self.constant * _values(other))

    __rmul__ = __mul__


def _values(operand):
    """What an operand of a sampled expression is worth."""
    if isinstance(operand, Linear):
        if operand.terms:
            raise TypeError("a sampled expression meets a decision that was not sampled")
        return operand.constant
    if isinstance(operand, Quadratic):
        raise TypeError("a sampled expression meets a product that was not sampled")
    return operand


@dataclass(frozen=True)
class Quadratic:
    """A linear expression plus products of linear expressions: ``linear + sum c * a * b``."""

    linear: Linear
    products: tuple[tuple[float, Linear, Linear], ...]

    def value(self, env: Env):
        total = self.linear.value(env)
        for coefficient, a, b in self.products:
            total = total + coefficient * a.value(env) * b.value(env)
        return total

    def interval(self, bounds: Bounds) -> Interval:
        """An enclosure of the value over the box (exact for one product, else maybe wider)."""
        low, high = self.linear.interval(bounds)
        for coefficient, a, b in self.products:
            (al, ah), (bl, bh) = a.interval(bounds), b.interval(bounds)
            corners = [al * bl, al * bh, ah * bl, ah * bh]
            if a == b:
                corners = [0.0 if al <= 0.0 <= ah else min(al * al, ah * ah), al * al, ah * ah]
            values = [coefficient * c for c in corners]
            low, high = low + min(values), high + max(values)
        return low, high

    def scaled(self, factor: float) -> Quadratic:
        return Quadratic(self.linear.scaled(factor), tuple((c * factor, a, b) for c, a, b in self.products))

    def __neg__(self) -> Quadratic:
        return self.scaled(-1.0)

    def __add__(self, other: Quadratic | Linear | float) -> Quadratic:
        if isinstance(other, Quadratic):
            return Quadratic(self.linear + other.linear, self.products + other.products)
        return Quadratic(self.linear + other, self.products)

    __radd__ = __add__

    def __sub__(self, other) -> Quadratic:
        return self + (-other)

    def __rsub__(self, other) -> Quadratic:
        return (-self) + other

    def __mul__(self, factor: float) -> Quadratic:
        return self.scaled(float(factor))

    __rmul__ = __mul__


Expression = Union[Linear, Quadratic]


def variable(name: str) -> Linear:
    """The expression that is the decision ``name`` itself."""
    return Linear(((name, 1.0),))


def constant(value: float) -> Linear:
    """The expression that is always ``value``; of an array, one value in each of many cases."""
    return Sampled(value) if np.ndim(value) else Linear((), float(value))


def entry(of: str, values: Mapping[float, float]) -> Linear:
    """What a list says of the thing that the decision ``of`` picks, by the things' numbers."""
    return Linear.of({Entry(of, tuple(sorted((float(at), float(v)) for at, v in values.items()))): 1.0})


def greater(one, other):
    """The greater of two numbers, of which a list may give one or both."""
    if not isinstance(one, Linear) and not isinstance(other, Linear):
        return max(one, other)
    both = [each if isinstance(each, Linear) else constant(each) for each in (one, other)]
    lists = {
        term.of: term.values for each in both for term, _ in each.terms if isinstance(term, Entry) and not term.times
    }
    if len(lists) != 1 or any(isinstance(term, str) or term.times for each in both for term, _ in each.terms):
        if not any(each.terms for each in both):
            return max(both, key=lambda each: each.constant)
        raise ValueError("the greater of two expressions is none, unless one list gives both")
    ((of, values),) = lists.items()
    return entry(of, {at: max(each.value({of: at}) for each in both) for at, _ in values})


def spread_of(number) -> tuple[float, float]:
    """Least and greatest of a number that a list may give, whatever is taken from it."""
    if not isinstance(number, Linear):
        return number, number
    anything = {term.of: (-np.inf, np.inf) for term, _ in number.terms if isinstance(term, Entry)}
    return number.interval(anything)


def decisions_of(expression: Expression) -> frozenset[str]:
    """Names of all decisions that occur in the expression."""
    if isinstance(expression, Linear):
        looks = [(n,) if isinstance(n, str) else filter(None, (n.of, n.times)) for n, _ in expression.terms]
        return frozenset(name for names in looks for name in names)
    names = set(decisions_of(expression.linear))
    for _, a, b in expression.products:
        names |= decisions_of(a) | decisions_of(b)
    return frozenset(names)
