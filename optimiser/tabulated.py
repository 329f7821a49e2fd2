"""Functions known at the points of a lattice: everywhere else each has its value at the nearest point.

Such a function is whatever its table says, and a solver can hold exactly what a scorer evaluates. How far
the table may be from what it stands for is for its maker to say.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

GRAIN = 0.01
"""Functions are told to the nearest multiple of this."""

EDGE = 1e-6
"""Cells by which the edges of cells are out of the middle between points, so that no place lies on an edge."""

MOST_RANGED = 4000
"""Points of a block beyond which its least and greatest values are not looked for."""

REMEMBERED = 16
"""Sets of points of which it is remembered where their functions are kept."""

BITS = 20
"""Bits in which a point's number along one axis is kept."""


@dataclass(frozen=True)
class Block:
    """Points from ``low`` to ``high`` along each axis, both included, by their numbers."""

    low: tuple[int, ...]
    high: tuple[int, ...]

    @property
    def shape(self) -> tuple[int, ...]:
        return tuple(b - a + 1 for a, b in zip(self.low, self.high))

    @property
    def points(self) -> np.ndarray:
        """Numbers of all points in rows, the last axis running fastest."""
        sides = [np.arange(a, b + 1) for a, b in zip(self.low, self.high)]
        return np.stack(np.meshgrid(*sides, indexing="ij"), axis=-1).reshape(-1, len(sides))


class Lattice:
    """Functions of a place. ``at_points`` gives all of them at places in rows: (places, functions).

    origin: a point; steps: from one point to the next along each axis; widest: between which values each function lies
    anywhere. What was computed once is kept.
    """

    def __init__(
        self,
        at_points: Callable[[np.ndarray], np.ndarray],
        origin: Sequence[float],
        steps: Sequence[float],
        widest: Sequence[tuple[float, float]],
    ) -> None:
        self._at_points = at_points
        self.origin = np.asarray(origin, dtype=float)
        self.steps = np.asarray(steps, dtype=float)
        self.functions = len(widest)
        self._widest = np.array(widest, dtype=float).T
        self._rows: dict[int, int] = {}
        self._grains = np.empty((0, self.functions), dtype=np.int64)
        self._ranges: dict[Block, tuple[np.ndarray, np.ndarray]] = {}
        self._asked: dict[bytes, np.ndarray] = {}

    def grains(self, numbers: np.ndarray) -> np.ndarray:
        """The functions at points given by their numbers in rows, in grains."""
        rows = self._rows_of(numbers)
        return self._grains[rows]

    def grains_of(self, function: int, numbers: np.ndarray) -> np.ndarray:
        """One function at points given by their numbers in rows, in grains."""
        rows = self._rows_of(numbers)
        return self._grains[rows, function]

    def _rows_of(self, numbers: np.ndarray) -> np.ndarray:
        """Where the functions at points are kept. One function after another is asked for at the same points."""
        numbers = np.ascontiguousarray(numbers, dtype=np.int64)
        key = numbers.tobytes()
        if key not in self._asked:
            if len(self._asked) >= REMEMBERED:
                self._asked.pop(next(iter(self._asked)))
            self._asked[key] = self._found(numbers)
        return self._asked[key]

    def _found(self, numbers: np.ndarray) -> np.ndarray:
        """Where the functions at points are kept, computed where they are not yet."""
        codes = np.zeros(len(numbers), dtype=np.int64)
        for column in numbers.T:
            codes = (codes << BITS) + column + (1 << (BITS - 1))
        unique, first, which = np.unique(codes, return_index=True, return_inverse=True)
        missing = [k for k, code in enumerate(unique.tolist()) if code not in self._rows]
        if missing:
            found = self._at_points(self.origin + self.steps * numbers[first[missing]])
            for code in unique[missing].tolist():
                self._rows[code] = len(self._rows)
            self._grains = np.concatenate([self._grains, np.round(found / GRAIN).astype(np.int64)])
        rows = np.array([self._rows[code] for code in unique.tolist()], dtype=int)
        return rows[which.ravel()]

    def nearest(self, places: np.ndarray) -> np.ndarray:
        """Numbers of the points nearest to places in rows."""
        return np.floor((np.atleast_2d(places) - self.origin) / self.steps + 0.5 + EDGE).astype(int)

    def edge(self, axis: int, number: int) -> float:
        """From where on along an axis a point is the nearest."""
        return float(self.origin[axis] + self.steps[axis] * (number - 0.5 - EDGE))

    def rows_near(self, places: np.ndarray) -> np.ndarray:
        """Where the functions at places in rows are kept."""
        return self._rows_of(self.nearest(places))

    def values_in(self, rows: np.ndarray, function: int) -> np.ndarray:
        """One function where it is kept."""
        return GRAIN * self._grains[rows, function]

    def block(self, low: Sequence[float], high: Sequence[float]) -> Block:
        """The least block that has the nearest points of all places between two corners."""
        ends = self.nearest(np.array([low, high]))
        return Block(tuple(ends[0].tolist()), tuple(ends[1].tolist()))

    def range(self, block: Block) -> tuple[np.ndarray, np.ndarray]:
        """Values of each function that it is nowhere below and above over a block: the least and the greatest, but of
        a block of many points, which would take long, those that it never passes anywhere."""
        if math.prod(block.shape) > MOST_RANGED:
            return self._widest[0], self._widest[1]
        if block not in self._ranges:
            grains = self.grains(block.points)
            self._ranges[block] = GRAIN * grains.min(axis=0), GRAIN * grains.max(axis=0)
        return self._ranges[block]
