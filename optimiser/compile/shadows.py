"""What a sum of tabulated functions can come to, by the points of one place or of two.

The solver's relaxation mixes points, and a mixture's loudest and quietest levels differ by less than those of
any point in it. What a point allows by itself, whatever the other places are, mixes to no more than it should.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

import numpy as np

from optimiser.forms import Cases, Form, Greatest, Least, Tabulated
from optimiser.linear import Linear

MOST_CASES = 16
"""Combinations of cases that are looked at one by one."""

MOST_PAIRS = 1_500_000
"""Pairs of points that are looked at one by one."""

Axis = tuple[object, np.ndarray]
"""A table at a place, as a key, and the values of its functions at the points in reach: (points, functions)."""


def most_of(
    terms: Sequence[tuple[float, Form]],
    sense: int,
    axes: Sequence[Axis],
    key_of,
    box: Mapping[str, tuple[float, float]],
) -> np.ndarray | None:
    """What ``sense`` times a sum of weight times form can be at most, with one point of each axis, an axis of the
    result each; whatever choices the forms' cases leave. None where that cannot be told from these places alone.

    ``key_of``: the key of a form's table at its place; ``box``: ranges of the decisions.
    """
    if np.prod([len(values) for _, values in axes], dtype=float) > MOST_PAIRS:
        return None
    selectors = {s: n for _, form in terms for s, n in _selectors(form, box).items()}
    if np.prod([len(n) for n in selectors.values()], dtype=float) > MOST_CASES:
        return None
    vectors = {key: (k, values) for k, (key, values) in enumerate(axes)}
    most = None
    for picked in itertools.product(*selectors.values()):
        case = dict(zip(selectors, picked))
        total: np.ndarray | float = 0.0
        for weight, form in terms:
            value = _value(form, sense * weight > 0.0, vectors, len(axes), case, key_of)
            if value is None:
                return None
            total = total + (sense * weight) * value
        most = total if most is None else np.maximum(most, total)
    shape = tuple(len(values) for _, values in axes)
    return None if most is None else np.broadcast_to(np.asarray(most, dtype=float), shape)


def _selectors(form: Form, box: Mapping[str, tuple[float, float]]) -> dict[Linear, tuple[int, ...]]:
    """What the cases of a form are picked by, with the cases in reach."""
    if isinstance(form, Cases):
        low, high = form.selector.interval(box)
        found = {form.selector: tuple(n for n, _ in form.cases if low - 0.5 <= n <= high + 0.5)}
        for _, case in form.cases:
            found |= _selectors(case, box)
        return found
    parts = form.parts if isinstance(form, (Greatest, Least)) else ()
    return {s: n for part in parts for s, n in _selectors(part, box).items()}


def _value(form: Form, upward: bool, vectors, count: int, case, key_of) -> np.ndarray | None:
    """A form's value over the axes, or more (not ``upward``: less) where it has parts at other places."""
    if isinstance(form, Tabulated):
        found = vectors.get(key_of(form))
        if found is None:
            return None
        axis, values = found
        shape = [1] * count
        shape[axis] = len(values)
        return values[:, form.function].reshape(shape)
    if isinstance(form, Cases):
        there = dict(form.cases).get(case[form.selector])
        return None if there is None else _value(there, upward, vectors, count, case, key_of)
    if not isinstance(form, (Greatest, Least)):
        return None
    parts = [_value(part, upward, vectors, count, case, key_of) for part in form.parts]
    known = [part for part in parts if part is not None]
    # a greatest is no less without some of its parts, a least no more: that serves one direction only
    if not known or len(known) < len(parts) and upward == isinstance(form, Greatest):
        return None
    found = known[0]
    for part in known[1:]:
        found = np.maximum(found, part) if isinstance(form, Greatest) else np.minimum(found, part)
    return found
