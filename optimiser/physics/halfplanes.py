"""Half-planes that are to hold at once: when they do, and where what they leave is longest.

A half-plane is ``a . p >= b``, its direction ``a`` = (x, y) known and its place ``b`` perhaps not yet. Some of them have
no point in common just where positive multiples of them add up to 0 >= something positive, and in the plane at most three are
needed for that (Farkas' lemma; Helly's theorem). Which directions cancel does not hang on the places: so the condition
stays a list of sums of places, none of which may be greater than 0.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

Direction = tuple[float, float]

PARALLEL = 1e-9
"""Sine of the angle within which two directions count as parallel, and length within which one is none."""

LEVEL = 1e-9
"""Metres within which two stretches are equally long."""

Shares = tuple[tuple[int, float], ...]
"""Which of several directions are added up, each so many times."""


def cancelling(*, directions: Sequence[Direction]) -> list[Shares]:
    """All choices of few directions that cancel with positive shares, the greatest of them 1: one alone that has no length,
    two that are opposite, three that no two of do. directions: of unit length, or (0, 0).

    Source: Farkas' lemma; shares of three directions a, b, c are b x c, c x a and a x b, if these have one sign.
    """
    none = [k for k, a in enumerate(directions) if math.hypot(*a) < PARALLEL]
    found: list[Shares] = [((k, 1.0),) for k in none]
    there = [k for k in range(len(directions)) if k not in none]
    for i, j in combinations(there, 2):
        if abs(_cross(directions[i], directions[j])) < PARALLEL and _dot(directions[i], directions[j]) < 0.0:
            found.append(((i, 1.0), (j, 1.0)))
    for some in combinations(there, 3):
        a, b, c = (directions[k] for k in some)
        shares = _cross(b, c), _cross(c, a), _cross(a, b)
        sense = math.copysign(1.0, shares[0])
        if all(sense * share > PARALLEL for share in shares):
            most = max(abs(share) for share in shares)
            found.append(tuple((k, abs(share) / most) for k, share in zip(some, shares)))
    return found


def longest_along_y(*, sides: Sequence[tuple[Direction, float]]) -> tuple[float, float, float] | None:
    """x [m] of the longest stretch along y within half-planes (direction, place [m]), and from where to where it runs [m]; of
    several as long, the one in their middle. None where they leave nothing. They must bound x by themselves.

    Source: what convex regions leave of lines along y is as long as a concave function of x says, straight between the
    places at which two sides meet.
    """
    low, high = -math.inf, math.inf
    starts, ends = [], []  # y >= slope x + place, y <= slope x + place
    for (x, y), place in sides:
        if abs(y) < PARALLEL:
            if abs(x) < PARALLEL:
                if place > LEVEL:
                    return None
            elif x > 0.0:
                low = max(low, place / x)
            else:
                high = min(high, place / x)
        else:
            (starts if y > 0.0 else ends).append((-x / y, place / y))
    meet = [
        (q - p) / (s - t)
        for some in (starts, ends)
        for (s, p), (t, q) in combinations(some, 2)
        if abs(s - t) > PARALLEL
    ]

    def ends_at(x: float) -> tuple[float, float]:
        return max(s * x + p for s, p in starts), min(s * x + p for s, p in ends)

    if low > high + LEVEL:
        return None
    tried = {x: ends_at(x) for x in (low, max(low, high), *(x for x in meet if low < x < high))}
    most = max(end - start for start, end in tried.values())
    if most < -LEVEL:
        return None
    best = [x for x, (start, end) in tried.items() if end - start >= most - LEVEL]
    x = 0.5 * (min(best) + max(best))
    start, end = ends_at(x)
    return x, start, max(start, end)


def _cross(one: Direction, other: Direction) -> float:
    return one[0] * other[1] - one[1] * other[0]


def _dot(one: Direction, other: Direction) -> float:
    return one[0] * other[0] + one[1] * other[1]
