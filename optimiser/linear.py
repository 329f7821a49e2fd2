"""Linear and quadratic expressions over decisions, in SI units.

An expression is the common ground of scorer and solver: the scorer puts numbers (or numpy arrays)
in the place of the decisions, the compiler reads the coefficients off. Expressions are immutable.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Union

import numpy as np

Env = Mapping[str, "float | np.ndarray"]
Bounds = Mapping[str, "tuple[float, float]"]
Interval = tuple[float, float]


@dataclass(frozen=True)
class Linear:
    """``constant + sum of coefficient * decision``; ``terms`` is sorted by name, without zeros."""

    terms: tuple[tuple[str, float], ...] = ()
    constant: float = 0.0

    __array_ufunc__ = None  # an array is never spread over expressions: it is taken as one operand

    @staticmethod
    def of(terms: Mapping[str, float], constant: float = 0.0) -> Linear:
        """Build from a mapping, dropping zero coefficients."""
        return Linear(tuple(sorted((n, float(c)) for n, c in terms.items() if c != 0.0)), float(constant))

    @property
    def is_constant(self) -> bool:
        return not self.terms

    def value(self, env: Env):
        """The number (or array) that the expression takes where the decisions are as in ``env``."""
        total = self.constant
        for name, coefficient in self.terms:
            total = total + coefficient * env[name]
        return total

    def interval(self, bounds: Bounds) -> Interval:
        """Least and greatest value over the box ``bounds`` (exact: each decision occurs once)."""
        low = high = self.constant
        for name, coefficient in self.terms:
            a, b = bounds[name]
            low += min(coefficient * a, coefficient * b)
            high += max(coefficient * a, coefficient * b)
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
        return Linear.of({n: c * factor for n, c in self.terms}, self.constant * factor)

    def __mul__(self, other: Linear | float):
        if isinstance(other, np.ndarray):
            return Sampled(other) * self
        if not isinstance(other, Linear):
            return self.scaled(float(other))
        if other.is_constant:
            return self.scaled(other.constant)
        if self.is_constant:
            return other.scaled(self.constant)
        return Quadratic(Linear(), ((1.0, self, other),))

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


def decisions_of(expression: Expression) -> frozenset[str]:
    """Names of all decisions that occur in the expression."""
    if isinstance(expression, Linear):
        return frozenset(n for n, _ in expression.terms)
    names = set(decisions_of(expression.linear))
    for _, a, b in expression.products:
        names |= decisions_of(a) | decisions_of(b)
    return frozenset(names)
