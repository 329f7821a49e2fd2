"""Sums over integer variables: real coefficients made whole, with the error that it costs."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

import numpy as np

MOST_PARTS = 10**5
"""Greatest denominator of a ratio between coefficients that counts as simple."""

LONG_ROW = 32
"""Coefficients from which on a row is looked at as an array."""

NEARLY = 1e-13
"""Share by which a ratio may be out: what is left of double precision."""


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

    def add_all(self, indices: Iterable[int], coefficients: Iterable[float]) -> None:
        mine = self.coefficients
        for index, coefficient in zip(indices, coefficients):
            mine[index] = mine.get(index, 0.0) + coefficient

    def include(self, other: Terms, factor: float) -> None:
        if self.coefficients:
            self.add_all(other.coefficients, [factor * coefficient for coefficient in other.coefficients.values()])
        else:
            self.coefficients = {index: factor * coefficient for index, coefficient in other.coefficients.items()}
        self.constant += factor * other.constant
        self.slack += abs(factor) * other.slack


def exact_integers(coefficients: list[float]) -> tuple[float, list[int]] | None:
    """A unit of which all coefficients are whole multiples (to double precision), if a handy one exists."""
    found = _exact(tuple(coefficients))
    return None if found is None else (found[0], list(found[1]))


@lru_cache(maxsize=4096)  # rows that differ in their constant alone are common
def _exact(coefficients: tuple[float, ...]) -> tuple[float, tuple[int, ...]] | None:
    smallest = min(abs(c) for c in coefficients)
    ratios = _ratios([c / smallest for c in coefficients])
    if ratios is None:
        return None
    denominator = math.lcm(*{below for _, below in ratios})
    counts = [above * (denominator // below) for above, below in ratios]
    if denominator > 10**6 or max(map(abs, counts)) > 10**9:
        return None
    return smallest / denominator, counts


def exact_counts(coefficients: np.ndarray) -> tuple[float, np.ndarray] | None:
    """As exact_integers(), of a long row, of which many coefficients are alike."""
    return _exact_counts(np.ascontiguousarray(coefficients, dtype=float).tobytes())


@lru_cache(maxsize=512)
def _exact_counts(coefficients: bytes) -> tuple[float, np.ndarray] | None:
    values, which = np.unique(np.frombuffer(coefficients, dtype=float), return_inverse=True)
    found = _exact(tuple(values.tolist()))
    return None if found is None else (found[0], np.array(found[1], dtype=np.int64)[which.ravel()])


def _ratios(values: list[float]) -> list[tuple[int, int]] | None:
    """Such a fraction for each of several numbers; None where one has none. Of long rows, as tables make them, most
    are whole numbers or several alike."""
    known: dict[float, tuple[int, int]] = {}
    if len(values) >= LONG_ROW:
        sizes = np.abs(np.array(values))
        wholes = np.rint(sizes)
        near = np.abs(wholes - sizes) <= NEARLY * sizes
        counts = np.copysign(wholes, values).astype(np.int64)
        known = {x: (n, 1) for x, n, so in zip(values, counts.tolist(), near.tolist()) if so}
    for x in values:
        if x not in known:
            found = _ratio(x)
            if found is None:
                return None
            known[x] = found
    return [known[x] for x in values]


def _ratio(x: float) -> tuple[int, int] | None:
    """Numerator and denominator (up to MOST_PARTS) of the fraction nearest to ``x``, where that is ``x`` to
    double precision.

    Below 500 a fraction so near is a convergent of the continued fraction, as it lies within half the
    inverse of its denominator squared: found so, it takes a quarter of the time.
    """
    size = rest = abs(x)
    if size >= 500.0:
        nearest = Fraction(x).limit_denominator(MOST_PARTS)
        return (nearest.numerator, nearest.denominator) if abs(float(nearest) - x) <= NEARLY * size else None
    above, before, below, earlier = 1, 0, 0, 1
    while True:
        whole = math.floor(rest)
        above, before = whole * above + before, above
        below, earlier = whole * below + earlier, below
        if below > MOST_PARTS:
            return None
        if abs(above / below - size) <= NEARLY * size:
            return (above if x >= 0.0 else -above), below
        if rest == whole:
            return None
        rest = 1.0 / (rest - whole)


def common_unit(items: list[tuple[int, float]], ends: list[tuple[int, int]]) -> tuple[float, list[int]] | None:
    """Unit and whole multiples of a sum that becomes one integer variable, where that is exact."""
    exact = exact_integers([c for _, c in items])
    if exact is not None and sum(abs(n) * reach_of(ends[i]) for n, (i, _) in zip(exact[1], items)) < 2**29:
        return exact
    return None


def reach_of(ends: tuple[int, int]) -> int:
    """Greatest magnitude in a range."""
    return max(abs(ends[0]), abs(ends[1]))


def scaled(coefficients: list[float], reach: list[int], scale: float) -> tuple[float, list[int], float]:
    """Whole multiples of 1 / ``scale`` near the coefficients, the scale made a little less so that the
    term with the greatest reach is exact, and by how much the sum of all terms may be out."""
    widest = max(range(len(reach)), key=lambda i: reach[i])
    size = abs(coefficients[widest])
    if size * scale >= 1.0:
        scale = math.floor(size * scale) / size
    counts = [round(c * scale) for c in coefficients]
    return scale, counts, sum(abs(n - c * scale) * r for n, c, r in zip(counts, coefficients, reach))


def scaled_counts(coefficients: np.ndarray, reach: np.ndarray, scale: float) -> tuple[float, np.ndarray, float]:
    """As scaled(), of a long row."""
    size = abs(float(coefficients[np.argmax(reach)]))
    if size * scale >= 1.0:
        scale = math.floor(size * scale) / size
    counts = np.rint(coefficients * scale)
    return scale, counts.astype(np.int64), float(np.sum(np.abs(counts - coefficients * scale) * reach))
