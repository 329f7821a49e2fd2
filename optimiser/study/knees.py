"""Where a front bends: the points on either side of which more is lost than is gained."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

PROMINENT = 0.04
"""By how much a knee must stand out, in the sum of all objectives as shares of their ranges."""

NEIGHBOURS = 6
"""Points nearest to a point of a front of three objectives that count as lying beside it."""


def knees(heights: Sequence[Sequence[float]]) -> list[int]:
    """Indices of the knees of a front, the most marked first; ``heights``: a row a point, more is better.

    Each objective is scaled to run from 0 to 1 over the front. At a knee the sum of all objectives is
    at a peak: whichever way one goes, more is lost of some than is gained of others. A peak counts
    where one must go down by PROMINENT to get from it to a higher one, and the highest where it
    stands so far above both the lowest end and the straight line (or plane) on which nothing bends.
    """
    points = np.asarray(heights, dtype=float)
    span = np.ptp(points, axis=0) if len(points) else np.zeros(0)
    if len(points) < 3 or not np.all(span > 0.0):
        return []
    shares = (points - points.min(axis=0)) / span
    worth = shares.sum(axis=1)
    ends = [worth[int(np.argmax(points[:, k]))] for k in range(points.shape[1])]
    beside = _beside(shares)
    home: dict[int, int] = {}  # of each point gone over so far, the peak on whose slope it lies
    found: list[tuple[float, int]] = []
    for at in sorted(range(len(points)), key=lambda i: (-worth[i], i)):
        peaks = sorted({_top(home, b) for b in beside[at] if b in home}, key=lambda i: (-worth[i], i))
        home[at] = peaks[0] if peaks else at
        for lower in peaks[1:]:  # two slopes meet here: the lower peak stands so far above this saddle
            found.append((float(worth[lower] - worth[at]), lower))
            home[lower] = peaks[0]
    for peak in {_top(home, i) for i in home}:
        found.append((float(worth[peak] - max(ends)), peak))
    marked = [(rise, i) for rise, i in found if rise >= PROMINENT and worth[i] >= max(ends) + PROMINENT]
    return [i for _, i in sorted(marked, key=lambda m: (-worth[m[1]], m[1]))]


def _beside(shares: np.ndarray) -> list[list[int]]:
    """Which points lie beside each: the next on a line, the nearest few on a surface; both ways."""
    count = len(shares)
    beside: list[set[int]] = [set() for _ in range(count)]
    if shares.shape[1] == 2:
        order = [int(i) for i in np.lexsort((shares[:, 1], -shares[:, 0]))]
        pairs = list(zip(order, order[1:]))
    else:
        apart = np.linalg.norm(shares[:, None, :] - shares[None, :, :], axis=2)
        pairs = [(i, int(j)) for i in range(count) for j in np.argsort(apart[i], kind="stable")[: NEIGHBOURS + 1]]
    for i, j in pairs:
        if i != j:
            beside[i].add(j)
            beside[j].add(i)
    return [sorted(b) for b in beside]


def _top(home: dict[int, int], at: int) -> int:
    while home[at] != at:
        at = home[at]
    return at
