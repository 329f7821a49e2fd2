"""What interval arithmetic alone tells about conditions: true, false, or the highest level in reach."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from optimiser.forms import All, AnyOf, Condition, Cut, Sum, SumCut, TableCut, ratio_interval

EXACTNESS = 2e-7
"""SI units by which rounding of coefficients may loosen a limit: below what the checker accepts."""

Box = Mapping[str, "tuple[float, float]"]


def truth(condition: Condition, box: Box, skip: int = 0) -> bool | None:
    """Whether a condition holds all over the box (True), nowhere (False), or perhaps (None); where it
    has an entry for each level, this is about every level from ``skip`` on."""
    if isinstance(condition, (All, AnyOf)):
        settles = isinstance(condition, AnyOf)  # one part that is so settles the whole
        whole: bool | None = not settles
        for part in condition.parts:
            found = truth(part, box, skip)
            if found is settles:
                return settles
            if found is None:
                whole = None
        return whole
    low, high = _interval(condition, box)
    if type(condition.c) is float or not np.ndim(condition.c):
        least = float(condition.c) * condition.sense
        low, high = (low, high) if condition.sense > 0 else (-high, -low)
        return True if least <= low else (False if least > high + EXACTNESS else None)
    c = np.asarray(condition.c, dtype=float)[skip:]
    if condition.sense < 0:
        low, high, c = -high, -low, -c
    if np.all(c <= low):
        return True
    if np.all(c > high + EXACTNESS):
        return False
    return None


def _interval(condition: Cut | SumCut | TableCut, box: Box) -> tuple[float, float]:
    if isinstance(condition, SumCut):
        return Sum(condition.terms).interval(box)
    if isinstance(condition, TableCut):
        return condition.form.interval(box)
    return ratio_interval(condition.numerator, condition.denominator, box)


def top_level(condition: Condition, box: Box, levels: int) -> int:
    """The highest level at which the condition may hold somewhere in the box. Level 0 asks nothing."""
    if isinstance(condition, All):
        return min((top_level(p, box, levels) for p in condition.parts), default=levels)
    if isinstance(condition, AnyOf):
        return max((top_level(p, box, levels) for p in condition.parts), default=0)
    if not np.ndim(condition.c):
        return 0 if truth(condition, box) is False else levels
    low, high = _interval(condition, box)
    c = np.asarray(condition.c, dtype=float) * condition.sense
    reachable = np.flatnonzero(c <= (high if condition.sense > 0 else -low) + EXACTNESS)
    return int(reachable[-1]) if len(reachable) else 0


def at_level(condition: Condition, level: int) -> Condition:
    """The condition that one level sets."""
    if isinstance(condition, Cut):
        if not np.ndim(condition.c):
            return condition
        return Cut(condition.numerator, condition.denominator, float(np.asarray(condition.c)[level]), condition.sense)
    if isinstance(condition, SumCut):
        c = np.asarray(condition.c)
        return SumCut(condition.terms, float(c[level] if c.ndim else c), condition.sense)
    if isinstance(condition, TableCut):
        c = np.asarray(condition.c)
        return TableCut(condition.form, float(c[level] if c.ndim else c), condition.sense)
    return type(condition)(tuple(at_level(p, level) for p in condition.parts))


def finite(cut: Cut) -> bool:
    """Whether a cut has one finite threshold."""
    return not np.ndim(cut.c) and math.isfinite(float(cut.c))
