"""Forms: what a measure is made of, written once for the scorer and the solver.

A form gives its value on numbers (``value``), and, for a threshold ``t``, the condition on linear
and quadratic expressions that says the same as "value >= t" or "value <= t" (``at_least``,
``at_most``). The threshold may be an array, one entry for each score level of a goal; then the
condition's cuts carry arrays too. Quotient is the leaf; Least, Greatest, Linked, Gate, Unless, Capped,
Sum and Cases combine; a Tabulated leaf stands for a function that only a table knows.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import reduce
from typing import Union

import numpy as np

from optimiser.linear import Bounds, Env, Expression, Interval, Linear, constant, decisions_of
from optimiser.tabulated import Lattice

Threshold = Union[float, np.ndarray]


# --- conditions -------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Cut:
    """``numerator - c * denominator >= 0`` (sense +1) or ``<= 0`` (sense -1), with denominator > 0.

    ``c`` is a number or an array over score levels; -inf or +inf stand for cuts that always or
    never hold, as the sense has it.
    """

    numerator: Expression
    denominator: Expression
    c: Threshold
    sense: int

    def holds(self, env: Env, level: int | None = None, tolerance: float = 0.0):
        """Truth at a design (and at one score level where ``c`` is an array), missed by at most
        ``tolerance`` in the quotient."""
        c = np.asarray(self.c)[level] if level is not None and np.ndim(self.c) else self.c
        below = np.asarray(self.denominator.value(env))
        with np.errstate(invalid="ignore"):
            difference = np.asarray(self.numerator.value(env)) - c * below
        return difference * self.sense >= -tolerance * np.abs(below)


@dataclass(frozen=True, eq=False)
class All:
    """Every part holds. Without parts: always true."""

    parts: tuple[Condition, ...]

    def holds(self, env: Env, level: int | None = None, tolerance: float = 0.0):
        truth = np.asarray(True)
        for part in self.parts:
            truth = truth & part.holds(env, level, tolerance)
        return truth


@dataclass(frozen=True, eq=False)
class AnyOf:
    """At least one part holds. Without parts: never true."""

    parts: tuple[Condition, ...]

    def holds(self, env: Env, level: int | None = None, tolerance: float = 0.0):
        truth = np.asarray(False)
        for part in self.parts:
            truth = truth | part.holds(env, level, tolerance)
        return truth


@dataclass(frozen=True, eq=False)
class SumCut:
    """``sum of weight * form - c >= 0`` (sense +1) or ``<= 0`` (sense -1); ``c`` as in a Cut."""

    terms: tuple[tuple[float, Form], ...]
    c: Threshold
    sense: int

    def holds(self, env: Env, level: int | None = None, tolerance: float = 0.0):
        c = np.asarray(self.c)[level] if level is not None and np.ndim(self.c) else self.c
        return (summed(self.terms, env) - c) * self.sense >= -tolerance


@dataclass(frozen=True, eq=False)
class TableCut:
    """A Tabulated form at least (sense +1) or at most (sense -1) ``c``; ``c`` as in a Cut."""

    form: Tabulated
    c: Threshold
    sense: int

    def holds(self, env: Env, level: int | None = None, tolerance: float = 0.0):
        c = np.asarray(self.c)[level] if level is not None and np.ndim(self.c) else self.c
        return (self.form.value(env) - c) * self.sense >= -tolerance


Condition = Union[Cut, All, AnyOf, SumCut, TableCut]


# --- links ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Link:
    """A strictly monotone function and its inverse.

    ``low`` and ``high`` bound what ``forward`` can return: a threshold beyond them is always or
    never met, and ``inverse`` is not asked about it. ``inverse`` must know ``high`` itself, which
    may be reached, and need not know ``low``.
    """

    forward: Callable
    inverse: Callable
    increasing: bool = True
    low: float = -np.inf
    high: float = np.inf

    def back(self, t: Threshold) -> Threshold:
        """The argument at which ``forward`` reaches ``t``; +-inf where it never does."""
        t = np.asarray(t, dtype=float)
        up, down = (np.inf, -np.inf) if self.increasing else (-np.inf, np.inf)
        if not t.ndim:
            one = float(t)
            return float(self.inverse(one)) if self.low < one <= self.high else (up if one > self.high else down)
        inside = (t > self.low) & (t <= self.high)
        out = np.where(t > self.high, up, down)
        if inside.any():
            out = out.astype(float)
            out[inside] = self.inverse(t[inside])
        return out


# --- forms ------------------------------------------------------------------------------------

ONE = constant(1.0)

LATCH = 4e-6
"""SI units below zero from which a gate counts as shut: so that what just touches is on the same
side for scorer and solver, whatever the last bit of a sum says, and however far a limit may be missed and still hold."""


@dataclass(frozen=True, eq=False)
class Quotient:
    """``link(numerator / denominator)``, denominator > 0 at every design that the room allows.

    With denominator 1 and no link this is an affine (or quadratic) measure.
    """

    numerator: Expression
    denominator: Expression = ONE
    link: Link | None = None

    def value(self, env: Env):
        ratio = self.numerator.value(env) / self.denominator.value(env)
        return ratio if self.link is None else self.link.forward(ratio)

    def _cut(self, t: Threshold, sense: int) -> Condition:
        if self.link is None:
            return Cut(self.numerator, self.denominator, t, sense)
        flipped = sense if self.link.increasing else -sense
        return Cut(self.numerator, self.denominator, self.link.back(t), flipped)

    def at_least(self, t: Threshold) -> Condition:
        return self._cut(t, +1)

    def at_most(self, t: Threshold) -> Condition:
        return self._cut(t, -1)

    def interval(self, bounds: Bounds) -> Interval:
        ratio = ratio_interval(self.numerator, self.denominator, bounds)
        return ratio if self.link is None else _through(self.link, ratio)


@dataclass(frozen=True, eq=False)
class Gate:
    """+inf where ``expression >= 0``, else -inf: lets other forms count only where it is shut."""

    expression: Expression

    def value(self, env: Env):
        return np.where(np.asarray(self.expression.value(env)) >= -LATCH, np.inf, -np.inf)

    def at_least(self, t: Threshold) -> Condition:
        return Cut(self.expression, ONE, -LATCH, +1)

    def at_most(self, t: Threshold) -> Condition:
        return Cut(self.expression, ONE, -LATCH, -1)

    def interval(self, bounds: Bounds) -> Interval:
        low, high = self.expression.interval(bounds)
        return (np.inf if low >= -LATCH else -np.inf), (np.inf if high >= -LATCH else -np.inf)


@dataclass(frozen=True, eq=False)
class Least:
    """The least of several forms."""

    parts: tuple[Form, ...]

    def value(self, env: Env):
        return reduce(np.minimum, (np.asarray(p.value(env), dtype=float) for p in self.parts))

    def at_least(self, t: Threshold) -> Condition:
        return All(tuple(p.at_least(t) for p in self.parts))

    def at_most(self, t: Threshold) -> Condition:
        return AnyOf(tuple(p.at_most(t) for p in self.parts))

    def interval(self, bounds: Bounds) -> Interval:
        intervals = [p.interval(bounds) for p in self.parts]
        return min(i[0] for i in intervals), min(i[1] for i in intervals)


@dataclass(frozen=True, eq=False)
class Greatest:
    """The greatest of several forms."""

    parts: tuple[Form, ...]

    def value(self, env: Env):
        return reduce(np.maximum, (np.asarray(p.value(env), dtype=float) for p in self.parts))

    def at_least(self, t: Threshold) -> Condition:
        return AnyOf(tuple(p.at_least(t) for p in self.parts))

    def at_most(self, t: Threshold) -> Condition:
        return All(tuple(p.at_most(t) for p in self.parts))

    def interval(self, bounds: Bounds) -> Interval:
        intervals = [p.interval(bounds) for p in self.parts]
        return max(i[0] for i in intervals), max(i[1] for i in intervals)


@dataclass(frozen=True, eq=False)
class Linked:
    """A strictly monotone function of another form."""

    inner: Form
    link: Link

    def value(self, env: Env):
        return self.link.forward(self.inner.value(env))

    def at_least(self, t: Threshold) -> Condition:
        back = self.link.back(t)
        return self.inner.at_least(back) if self.link.increasing else self.inner.at_most(back)

    def at_most(self, t: Threshold) -> Condition:
        back = self.link.back(t)
        return self.inner.at_most(back) if self.link.increasing else self.inner.at_least(back)

    def interval(self, bounds: Bounds) -> Interval:
        return _through(self.link, self.inner.interval(bounds))


@dataclass(frozen=True, eq=False)
class Unless:
    """Another form, but where ``absent >= 0``: there is nothing to measure there, the value is NaN, and
    every threshold counts as met."""

    absent: Expression
    inner: Form

    def _gone(self) -> Cut:
        return Cut(self.absent, ONE, -LATCH, +1)

    def value(self, env: Env):
        return np.where(self._gone().holds(env), np.nan, self.inner.value(env))

    def at_least(self, t: Threshold) -> Condition:
        return AnyOf((self._gone(), self.inner.at_least(t)))

    def at_most(self, t: Threshold) -> Condition:
        return AnyOf((self._gone(), self.inner.at_most(t)))

    def interval(self, bounds: Bounds) -> Interval:
        return self.inner.interval(bounds)


@dataclass(frozen=True, eq=False)
class Capped:
    """Another form, with ``caps`` that are nowhere less. They add nothing to it but for the solver: where the form makes
    products of decisions, of which the solver's relaxation knows little, caps that make none tell how far it can come."""

    inner: Form
    caps: tuple[Form, ...]

    def value(self, env: Env):
        return self.inner.value(env)

    def at_least(self, t: Threshold) -> Condition:
        return All((self.inner.at_least(t), *(cap.at_least(t) for cap in self.caps)))

    def at_most(self, t: Threshold) -> Condition:
        return self.inner.at_most(t)

    def interval(self, bounds: Bounds) -> Interval:
        low, high = self.inner.interval(bounds)
        return low, max(low, min([high, *(cap.interval(bounds)[1] for cap in self.caps)]))


@dataclass(frozen=True, eq=False)
class Sum:
    """Several forms, each times a weight, added up."""

    terms: tuple[tuple[float, Form], ...]

    def value(self, env: Env):
        return summed(self.terms, env)

    def at_least(self, t: Threshold) -> Condition:
        return SumCut(self.terms, t, +1)

    def at_most(self, t: Threshold) -> Condition:
        return SumCut(self.terms, t, -1)

    def interval(self, bounds: Bounds) -> Interval:
        ends = [weighted(w, form.interval(bounds)) for w, form in self.terms]
        return sum(low for low, _ in ends), sum(high for _, high in ends)


@dataclass(frozen=True, eq=False)
class Cases:
    """One form for each whole number that ``selector`` can be; NaN where it is none of them."""

    selector: Linear
    cases: tuple[tuple[int, Form], ...]

    def value(self, env: Env):
        number = np.asarray(self.selector.value(env), dtype=float)
        found = np.full(number.shape, np.nan)
        for n, form in self.cases:
            found = np.where(np.abs(number - n) < 0.5, form.value(env), found)
        return found

    def each(self, conditions: list[Condition]) -> Condition:
        """That each case's condition holds in its case."""
        parts = []
        for (n, _), condition in zip(self.cases, conditions):
            other = (Cut(self.selector, ONE, n + 0.5, +1), Cut(self.selector, ONE, n - 0.5, -1))
            parts.append(AnyOf((*other, condition)))
        return All(tuple(parts))

    def at_least(self, t: Threshold) -> Condition:
        return self.each([form.at_least(t) for _, form in self.cases])

    def at_most(self, t: Threshold) -> Condition:
        return self.each([form.at_most(t) for _, form in self.cases])

    def interval(self, bounds: Bounds) -> Interval:
        ends = [form.interval(bounds) for _, form in self.cases]
        return min(low for low, _ in ends), max(high for _, high in ends)


class Asked(dict):
    """Decisions of which several forms are asked: a place in a table is looked up once for all functions there. They
    are not to be changed."""

    def __init__(self, decisions: Env) -> None:
        super().__init__(decisions)
        # by the identities of table and place, which are kept so that nothing else takes theirs
        self.rows: dict[tuple[int, int], tuple[Lattice, tuple[Linear, ...], np.ndarray]] = {}


@dataclass(frozen=True, eq=False)
class Tabulated:
    """A function of a table at a place of linear expressions; forms of one place share it."""

    table: Lattice
    function: int
    place: tuple[Linear, ...]

    def value(self, env: Env):
        return self.table.values_in(self._rows(env), self.function)

    def _rows(self, env: Env) -> np.ndarray:
        """Where the table keeps its functions at the place."""
        kept = env.rows if isinstance(env, Asked) else {}
        key = id(self.table), id(self.place)
        if key not in kept:
            sides = np.broadcast_arrays(*[np.asarray(e.value(env), dtype=float) for e in self.place])
            flat = np.column_stack([side.ravel() for side in sides])
            kept[key] = self.table, self.place, self.table.rows_near(flat).reshape(sides[0].shape)
        return kept[key][-1]

    def at_least(self, t: Threshold) -> Condition:
        return TableCut(self, t, +1)

    def at_most(self, t: Threshold) -> Condition:
        return TableCut(self, t, -1)

    def interval(self, bounds: Bounds) -> Interval:
        ends = [e.interval(bounds) for e in self.place]
        block = self.table.block([low for low, _ in ends], [high for _, high in ends])
        low, high = self.table.range(block)
        return float(low[self.function]), float(high[self.function])


Form = Union[Quotient, Gate, Least, Greatest, Linked, Unless, Capped, Sum, Cases, Tabulated]


def decisions_in(form: Form) -> frozenset[str]:
    """Names of all decisions that a form looks at."""
    if isinstance(form, Quotient):
        own = decisions_of(form.numerator) | decisions_of(form.denominator)
    elif isinstance(form, Gate):
        own = decisions_of(form.expression)
    elif isinstance(form, Unless):
        own = decisions_of(form.absent)
    elif isinstance(form, Cases):
        own = decisions_of(form.selector)
    else:
        own = frozenset().union(*(decisions_of(e) for e in form.place)) if isinstance(form, Tabulated) else frozenset()
    return own.union(*map(decisions_in, _within(form)))


def looks_up(form: Form) -> bool:
    """Whether a form reads anything from a table."""
    return isinstance(form, Tabulated) or any(map(looks_up, _within(form)))


def size_of(form: Form) -> int:
    """How many single forms a form is made of: about as many variables a condition on it may take."""
    inner = _within(form)
    return sum(map(size_of, inner)) if inner else 1


def _within(form: Form) -> tuple[Form, ...]:
    """The forms that a form is made of."""
    if isinstance(form, (Quotient, Gate, Tabulated)):
        return ()
    if isinstance(form, (Linked, Unless, Capped)):
        return (form.inner,)
    if isinstance(form, Cases):
        return tuple(inner for _, inner in form.cases)
    return tuple(part for _, part in form.terms) if isinstance(form, Sum) else form.parts


def summed(terms: tuple[tuple[float, Form], ...], env: Env):
    """The value of a weighted sum of forms."""
    return sum(w * np.asarray(form.value(env), dtype=float) for w, form in terms)


def weighted(weight: float, interval: Interval) -> Interval:
    """An interval times a number."""
    low, high = interval
    return (weight * low, weight * high) if weight >= 0.0 else (weight * high, weight * low)


def affine(expression: Expression) -> Quotient:
    """The form that is the expression itself."""
    return Quotient(expression)


def fixed(value: float) -> Quotient:
    """A form that no decision changes."""
    return Quotient(constant(value))


def absolute(expression: Linear) -> Greatest:
    """The magnitude of a linear expression."""
    return Greatest((affine(expression), affine(-expression)))


def ratio_interval(numerator: Expression, denominator: Expression, bounds: Bounds) -> Interval:
    """Enclosure of numerator / denominator over the box where the denominator is positive.

    A denominator that may reach zero in the box leaves the matching end open.
    """
    (nl, nh), (dl, dh) = numerator.interval(bounds), denominator.interval(bounds)
    if dl == dh > 0.0:
        return nl / dl, nh / dl
    if dh <= 0.0:
        return -math.inf, math.inf
    small = max(dl, 0.0)

    def over(n: float, d: float) -> float:
        if d > 0.0:
            return n / d
        return 0.0 if n == 0.0 else math.copysign(math.inf, n)

    return min(over(nl, small), over(nl, dh)), max(over(nh, small), over(nh, dh))


def _through(link: Link, interval: Interval) -> Interval:
    with np.errstate(all="ignore"):
        ends = [float(link.forward(np.float64(x))) for x in interval]
    if not link.increasing:
        ends.reverse()
    low, high = ends
    return (link.low if np.isnan(low) else low), (link.high if np.isnan(high) else high)
