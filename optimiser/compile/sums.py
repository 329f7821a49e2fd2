"""Sums of forms.

Each form that is not linear becomes a variable of its own, on a fine scale, that may go as far as its
form and no further: a sum of such variables goes by a few steps of their scales farther than the sum of
forms, and never less far. That will do for a score. A limit must be exact; where all its terms but one
look at the same decision, which has few values, each value is posted by itself.
"""

from __future__ import annotations

import math

import numpy as np

from optimiser.compile.integers import Terms
from optimiser.compile.variables import Variables
from optimiser.design import Held, Steps
from optimiser.errors import InternalError
from optimiser.forms import ONE, Condition, Cut, Form, Quotient, SumCut, decisions_in, summed, weighted
from optimiser.linear import Expression, Linear, variable

STEPS, MOST_STEPS = 4000, 40_000
"""Steps of the scale on which a form in a sum is counted: as few, or up to as many where a step would be worth several
score levels."""

FEW = 64
"""Values of a decision that are each posted by itself."""


class Sums(Variables):
    """The part of a model that holds sums; ``post`` is the compiler's."""

    def post(self, condition: Condition, enforce: list, level: int | None = None, skip: int = 1) -> None:
        raise NotImplementedError

    def _direct(self, form: Form, upward: bool) -> Linear | None:
        raise NotImplementedError

    def post_sum(self, cut: SumCut, enforce: list, level: int | None, skip: int) -> None:
        """A sum under literals; for a goal, at the score that the variable ``level`` takes."""
        split = None if np.ndim(cut.c) else self._split(cut)
        if split is None:
            self.post(self._lifted(cut), enforce, level, skip)
            return
        name, settled, (weight, form) = split
        held = {other: domain.value for other, domain in self.domains.items() if isinstance(domain, Held)}
        for value, literal in self._values(name):
            rest = (cut.c - float(summed(settled, {**held, name: value}))) / weight
            upward = cut.sense * weight > 0.0
            condition = form.at_least(rest) if upward else form.at_most(rest)
            self.post(condition, [*enforce, literal] if literal is not None else enforce, level, skip)

    # --- value by value -------------------------------------------------------------------------

    def _split(self, cut: SumCut) -> tuple[str, tuple[tuple[float, Form], ...], tuple[float, Form]] | None:
        """A decision of few values, the terms that look at nothing else, and the one other term."""
        held = {name for name, domain in self.domains.items() if isinstance(domain, Held)}
        looks = [decisions_in(form) - held for _, form in cut.terms]
        # between grid points a decision is not only at its values, and only a row over it is widened for that
        alone = {name for names in looks if len(names) == 1 for name in names} - self._half.keys()
        for name in sorted(alone):
            other = [k for k, names in enumerate(looks) if not names <= {name}]
            if len(other) == 1 and len(self._points(name)) <= FEW:
                rest = cut.terms[other[0]]
                return name, tuple(t for k, t in enumerate(cut.terms) if k != other[0]), rest
        return None

    def _points(self, name: str) -> tuple[float, ...]:
        domain = self.domains[name]
        if isinstance(domain, Steps):
            return tuple(domain.step * k for k in range(domain.low, min(domain.high, domain.low + FEW) + 1))
        return (domain.value,) if isinstance(domain, Held) else domain.values

    def _values(self, name: str) -> list[tuple[float, object]]:
        """Each value of a decision with the literal that says it is taken."""
        if name not in self._taken:
            domain, points = self.domains[name], self._points(name)
            if isinstance(domain, Steps):
                (index,) = self._decisions[name].coefficients
                literals = [self.model.new_bool_var(f"{name}={value:g}") for value in points]
                counts = range(domain.low, domain.high + 1)
                for literal, count in zip(literals, counts):
                    self.model.add(self._variables[index] == count).only_enforce_if(literal)
                self.model.add_exactly_one(literals)
            else:
                literals = [self._variables[index] for index in self._decisions[name].coefficients]
            self._taken[name] = list(zip(points, literals))
        return self._taken[name]

    # --- on a scale -----------------------------------------------------------------------------

    def _lifted(self, cut: SumCut) -> Cut:
        """The cut over variables that stand for its forms."""
        total: Expression = Linear()
        ends = [weighted(w * cut.sense, form.interval(self.box)) for w, form in cut.terms]
        most = float(np.max(np.asarray(cut.c) * cut.sense))
        for (weight, form), (low, high) in zip(cut.terms, ends):
            if isinstance(form, Quotient) and form.link is None and form.denominator == ONE:
                total = total + form.numerator * weight
                continue
            direct = self._direct(form, weight * cut.sense < 0.0)
            if direct is not None:
                total = total + direct * weight
                continue
            # beyond this the whole sum has all that is asked of it, whatever the other forms are
            enough = most - sum(other for other, _ in ends) + low
            reach = min(high, max(enough, low)) if math.isfinite(enough) else high
            if not math.isfinite(low) or not math.isfinite(reach):
                raise InternalError("a form without bounds in a sum; this is a fault of the program")
            steps = _steps(reach - low, cut.c)
            total = total + self._lift(form, weight, cut.sense, low, reach, steps)
        return Cut(total, ONE, cut.c, cut.sense)

    def _lift(self, form: Form, weight: float, sense: int, low: float, high: float, steps: int) -> Linear:
        """``weight * form`` as a variable that goes no further in the direction of ``sense`` than the form
        does; ``low`` and ``high`` bound it times ``sense``, ``steps`` are those of its scale."""
        factor = weight * sense
        if high - low <= 1e-12 * max(1.0, abs(low)):
            return Linear((), sense * low)
        key = (id(form), weight, sense, low, high, steps)
        if key not in self._lifts:
            name, step = f"sum {len(self._lifts)}", (high - low) / steps
            index = self.new(0, steps, name)
            terms = Terms(sense * low)
            terms.add(index, sense * step)
            terms.slack = step
            self._decisions[name] = terms
            self.box[name] = (min(sense * low, sense * high), max(sense * low, sense * high))
            marks = (low + step * np.arange(steps + 1)) / factor
            self._lifts[key] = (form, name)
            # from the first mark on: a form of choices may have one for that alone
            self.post(form.at_least(marks) if factor > 0.0 else form.at_most(marks), [], index, 0)
        return variable(self._lifts[key][1])


def _steps(reach: float, asked: np.ndarray | float) -> int:
    """Steps of a scale over some reach, none of them worth more than a score level of what is ``asked`` at each."""
    if not np.ndim(asked):
        return STEPS
    level = np.abs(np.diff(asked))
    level = level[np.isfinite(level) & (level > 0.0)]
    return STEPS if not len(level) else int(np.clip(math.ceil(reach / float(level.min())), STEPS, MOST_STEPS))
