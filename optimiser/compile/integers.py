"""Sums over integer variables: real coefficients made whole, with the error that it costs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction


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

    def include(self, other: Terms, factor: float) -> None:
        for index, coefficient in other.coefficients.items():
            self.add(index, factor * coefficient)
        self.constant += factor * other.constant
        self.slack += abs(factor) * other.slack


def exact_integers(coefficients: list[float]) -> tuple[float, list[int]] | None:
    """A unit of which all coefficients are whole multiples (to double precision), if a handy one exists."""
    smallest = min(abs(c) for c in coefficients)
    ratios = []
    for c in coefficients:
        ratio = Fraction(c / smallest).limit_denominator(10**5)
        if abs(float(ratio) - c / smallest) > 1e-13 * abs(c / smallest):
            return None
        ratios.append(ratio)
    denominator = math.lcm(*[r.denominator for r in ratios])
    counts = [int(r * denominator) for r in ratios]
    if denominator > 10**6 or max(map(abs, counts)) > 10**9:
        return None
    return smallest / denominator, counts


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
