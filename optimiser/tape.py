"""Forms laid out to be evaluated for many designs at once.

A form asks its parts one by one, and most of the time for a few dozen designs goes into asking. On a tape all linear
expressions of many forms are evaluated together, then all gates, then every least and greatest of one depth, and so on.
The values are those that the forms give themselves, to the last bit: each number comes from the same operations. But
where a form would refuse what is no number, the tape has no number.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import numpy as np

from optimiser.forms import (
    LATCH,
    ONE,
    Asked,
    Capped,
    Cases,
    Form,
    Gate,
    Greatest,
    Least,
    Link,
    Linked,
    Quotient,
    Sum,
    Unless,
)
from optimiser.linear import Expression, Linear, Quadratic, Term

Step = Callable[[np.ndarray, Asked], None]
"""Fills rows of a tape from rows that are filled, or from the designs."""


class Tape:
    """Some forms, ready to be evaluated."""

    def __init__(self, forms: Sequence[Form]) -> None:
        self._linear: dict[Linear, int] = {}
        self._rows: dict[int, int] = {}  # of forms, by their identity
        self._kept: list[Form] = []  # so that no other form takes it
        self._depth: list[int] = []  # of each row
        self._alike: dict[tuple, list[tuple[int, tuple[int, ...]]]] = {}  # by depth and kind: rows, and those they read
        self._alone: dict[int, list[Step]] = {}  # by depth
        self._out = np.array([self._row(form) for form in forms], dtype=int)
        self._lay_out()

    def values(self, designs: Asked, count: int) -> np.ndarray:
        """The values of all forms in rows, for so many designs."""
        tape = np.empty((len(self._depth), count))
        self._fill_linear(tape, designs)
        for step in self._steps:
            step(tape, designs)
        return tape[self._out]

    # --- laying out -----------------------------------------------------------------------------

    def _new(self, depth: int) -> int:
        self._depth.append(depth)
        return len(self._depth) - 1

    def _of(self, expression: Expression) -> int:
        """The row of an expression's value."""
        if type(expression) is Linear:
            if expression not in self._linear:
                self._linear[expression] = self._new(0)
            return self._linear[expression]
        if isinstance(expression, Quadratic) and type(expression.linear) is Linear:
            rest = self._of(expression.linear)
            products = [(c, self._of(one), self._of(other)) for c, one, other in expression.products]
            return self._step(
                lambda tape: _multiplied(tape, rest, products), [rest, *(p for _, *two in products for p in two)]
            )
        return self._asked(expression)

    def _row(self, form: Form) -> int:
        """The row of a form's value."""
        if id(form) not in self._rows:
            self._kept.append(form)
            self._rows[id(form)] = self._made(form)
        return self._rows[id(form)]

    def _made(self, form: Form) -> int:
        if isinstance(form, Quotient):
            made_of = (form.numerator,) if form.denominator == ONE else (form.numerator, form.denominator)
            parts = tuple(map(self._of, made_of))
            return parts[0] if len(parts) == 1 and form.link is None else self._one_of("quotient", form.link, parts)
        if isinstance(form, Gate):
            return self._one_of("gate", None, (self._of(form.expression),))
        if isinstance(form, (Least, Greatest)):
            kind = "least" if isinstance(form, Least) else "greatest"
            return self._one_of(kind, None, tuple(self._row(part) for part in form.parts))
        if isinstance(form, Linked):
            return self._one_of("quotient", form.link, (self._row(form.inner),))
        if isinstance(form, Capped):
            return self._row(form.inner)
        if isinstance(form, Unless):
            return self._one_of("unless", None, (self._of(form.absent), self._row(form.inner)))
        if isinstance(form, Sum):
            terms = [(weight, self._row(inner)) for weight, inner in form.terms]
            return self._step(lambda tape: _added(tape, terms), [row for _, row in terms])
        if isinstance(form, Cases):
            number, cases = self._of(form.selector), [(n, self._row(inner)) for n, inner in form.cases]
            return self._step(lambda tape: _picked(tape, number, cases), [number, *(row for _, row in cases)])
        return self._asked(form)

    def _one_of(self, kind: str, link: Link | None, parts: tuple[int, ...]) -> int:
        """A row that is filled together with others of its kind and depth."""
        depth = 1 + max(self._depth[part] for part in parts)
        row = self._new(depth)
        few = len(parts) if kind == "quotient" else 0
        self._alike.setdefault((depth, kind, few, link), []).append((row, parts))
        return row

    def _asked(self, one: Form | Expression) -> int:
        """A row that is filled from the designs."""
        row = self._new(1)

        def step(tape: np.ndarray, designs: Asked) -> None:
            tape[row] = one.value(designs)

        self._alone.setdefault(1, []).append(step)
        return row

    def _step(self, value: Callable[[np.ndarray], np.ndarray], read: Iterable[int]) -> int:
        depth = 1 + max(self._depth[part] for part in read)
        row = self._new(depth)

        def step(tape: np.ndarray, _: Asked) -> None:
            tape[row] = value(tape)

        self._alone.setdefault(depth, []).append(step)
        return row

    def _lay_out(self) -> None:
        """Order what is to be done by depth; what linear expressions are made of, term by term."""
        steps: list[tuple[int, Step]] = [(depth, step) for depth, some in self._alone.items() for step in some]
        for (depth, kind, _, link), rows in self._alike.items():
            steps.append((depth, _together(kind, link, rows)))
        self._steps = [step for _, step in sorted(steps, key=lambda one: one[0])]
        # those of most terms first, so that the k-th terms of all that have so many stand together
        ordered = sorted(self._linear.items(), key=lambda item: -len(item[0].terms))
        self._linear_rows = np.array([row for _, row in ordered], dtype=int)
        self._constants = np.array([expression.constant for expression, _ in ordered])
        numbers: dict[Term, int] = {}
        self._terms: list[tuple[np.ndarray, np.ndarray]] = []
        most = len(ordered[0][0].terms) if ordered else 0
        for k in range(most):
            having = [expression.terms[k] for expression, _ in ordered if len(expression.terms) > k]
            places = np.array([numbers.setdefault(term, len(numbers)) for term, _ in having], dtype=int)
            self._terms.append((places, np.array([coefficient for _, coefficient in having])[:, None]))
        self._numbers = list(numbers)

    # --- evaluating -----------------------------------------------------------------------------

    def _fill_linear(self, tape: np.ndarray, designs: Asked) -> None:
        of = np.empty((len(self._numbers), tape.shape[1]))
        for row, term in zip(of, self._numbers):
            row[:] = designs[term] if isinstance(term, str) else term.value(designs)
        total = np.repeat(self._constants[:, None], tape.shape[1], axis=1)
        for places, coefficients in self._terms:
            total[: len(places)] += coefficients * of[places]
        tape[self._linear_rows] = total


def _added(tape: np.ndarray, terms: Sequence[tuple[float, int]]) -> np.ndarray:
    return sum(weight * tape[row] for weight, row in terms)  # type: ignore[return-value]


def _multiplied(tape: np.ndarray, rest: int, products: Sequence[tuple[float, int, int]]) -> np.ndarray:
    total = tape[rest]
    for coefficient, one, other in products:
        total = total + coefficient * tape[one] * tape[other]
    return total


def _picked(tape: np.ndarray, number: int, cases: Sequence[tuple[int, int]]) -> np.ndarray:
    found = np.full(tape.shape[1], np.nan)
    for n, row in cases:
        found = np.where(np.abs(tape[number] - n) < 0.5, tape[row], found)
    return found


def _together(kind: str, link: Link | None, rows: Sequence[tuple[int, tuple[int, ...]]]) -> Step:
    """A step that fills several rows of one kind."""
    own = np.array([row for row, _ in rows], dtype=int)
    if kind in ("least", "greatest"):
        parts = np.array([part for _, some in rows for part in some], dtype=int)
        starts = np.cumsum([0, *(len(some) for _, some in rows[:-1])])
        taken = np.minimum if kind == "least" else np.maximum

        def step(tape: np.ndarray, _: Asked) -> None:
            tape[own] = taken.reduceat(tape[parts], starts, axis=0)

        return step
    read = np.array([some for _, some in rows], dtype=int).T
    if kind == "gate":

        def step(tape: np.ndarray, _: Asked) -> None:
            tape[own] = np.where(tape[read[0]] >= -LATCH, np.inf, -np.inf)

    elif kind == "unless":

        def step(tape: np.ndarray, _: Asked) -> None:
            tape[own] = np.where(tape[read[0]] + LATCH >= 0.0, np.nan, tape[read[1]])

    else:

        def step(tape: np.ndarray, _: Asked) -> None:
            ratio = tape[read[0]] if len(read) == 1 else tape[read[0]] / tape[read[1]]
            tape[own] = ratio if link is None else _through(link, ratio)

    return step


def _through(link: Link, ratio: np.ndarray) -> np.ndarray:
    """What a link makes of numbers; of what is none, as 0 over 0 where two rows stand in one place, nothing."""
    none = np.isnan(ratio)
    return np.where(none, np.nan, link.forward(np.where(none, 1.0, ratio))) if none.any() else link.forward(ratio)
