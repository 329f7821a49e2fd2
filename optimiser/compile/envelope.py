"""Straight lines under a sampled function, proven at every sample.

A goal's score level is a whole number, so a function of it need only be under-estimated at whole
numbers. A line of any slope, lowered until it touches the samples, does that by construction.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

Line = tuple[float, float]  # intercept, slope
COUNTS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 16)


def lines_under(x: np.ndarray, f: np.ndarray, tolerance: np.ndarray) -> list[Line] | None:
    """As few lines as it takes, none above any sample, whose maximum lies within ``tolerance`` of
    every sample.

    ``x`` is ascending with at least one sample; an infinite tolerance lets a sample be. ``None``
    where that cannot be had: the function is not convex enough, or needs more than 16 lines.
    """
    found = _lines(*(np.asarray(one, dtype=float).tobytes() for one in (x, f, tolerance)))
    return None if found is None else list(found)


@lru_cache(maxsize=256)  # problems that differ in one number ask for the same lines again and again
def _lines(*samples: bytes) -> tuple[Line, ...] | None:
    x, f, tolerance = (np.frombuffer(one) for one in samples)
    if len(x) == 1:
        return ((float(f[0]), 0.0),)
    inside = np.flatnonzero(np.isfinite(tolerance))
    if not len(inside):
        return ((float(np.min(f)), 0.0),)
    first, last = max(int(inside[0]) - 1, 0), len(x) - 1
    if not _may_succeed(x, f, tolerance, first, last):
        return None
    for count in COUNTS:
        # each line takes the slope of its share of the range: near the tangent in its middle
        marks = _marks(first, last, count)
        slopes = np.diff(f[marks]) / np.diff(x[marks])
        intercepts = np.min(f[None, :] - slopes[:, None] * x[None, :], axis=1)
        best = np.max(intercepts[:, None] + slopes[:, None] * x[None, :], axis=0)
        if np.all(f - best <= tolerance):
            return tuple((float(a), float(b)) for a, b in zip(intercepts, slopes))
    return None


@lru_cache(maxsize=4096)  # levels are cut at the same few places again and again
def _marks(first: int, last: int, count: int) -> np.ndarray:
    """Places from ``first`` to ``last`` that share the way between them out as evenly as may be."""
    return np.array(sorted(set(np.linspace(first, last, count + 1).round().astype(int).tolist())))


def _may_succeed(x: np.ndarray, f: np.ndarray, tolerance: np.ndarray, first: int, last: int) -> bool:
    """Whether the middle of the range lies low enough under its chord for a convex function."""
    middle = (first + last) // 2
    chord = f[first] + (f[last] - f[first]) * (x[middle] - x[first]) / (x[last] - x[first])
    return bool(f[middle] - chord <= tolerance[middle])
