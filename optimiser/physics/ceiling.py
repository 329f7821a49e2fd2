"""Ceilings that are not level: profiles of height along one direction of the room, and the air below.

A profile is a list of (distance, height) points in order of distance; between points the ceiling is
straight, two points at one distance are a step, and beyond the ends the height stays as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from optimiser.physics.checks import finite, positive

Profile = tuple[tuple[float, float], ...]


def stretched(*, profile: Sequence[tuple[float, float]], end: float) -> Profile:
    """The profile from wall to wall: from 0 to ``end`` [m] > 0, its first and last heights kept beyond
    the points given. profile: (distance [m], height [m]) in order of distance, all within [0, end].

    ValueError where the points are out of order or out of the room. Source: definition above.
    """
    positive("end", end)
    points = [(float(finite("distance", a)), float(positive("height", z))) for a, z in profile]
    if not points:
        raise ValueError("a profile has at least one point")
    if any(b < a for (a, _), (b, _) in pairwise(points)) or points[0][0] < 0.0 or points[-1][0] > end + 1e-9:
        raise ValueError("a profile's points lie in order, from wall to wall")
    if points[0][0] > 0.0:
        points.insert(0, (0.0, points[0][1]))
    if points[-1][0] < end:
        points.append((end, points[-1][1]))
    return tuple(points)


def volume(*, length: float, width: float, height: float, along: Profile = (), across: Profile = ()) -> float:
    """Volume of the room [m3] below a ceiling that is everywhere the lowest of ``height`` [m] > 0, the
    profile ``along`` the length [m] > 0 and the profile ``across`` the width [m] > 0 (each from wall to
    wall, or empty). Exact: the floor that lies under at least z of air is a product of two spans, each
    straight in z between the points' heights, so Simpson's rule on each piece leaves no error.

    Source: integration by layers.
    """
    positive("length", length)
    positive("width", width)
    positive("height", height)
    if not along and not across:
        return length * width * height
    levels = sorted({0.0, height, *(z for _, z in (*along, *across) if 0.0 < z < height)})
    total = 0.0
    for low, high in pairwise(levels):
        # just inside the piece: at a level part of the ceiling the span jumps
        inset = 1e-9 * (high - low)
        a, m, b = (
            _span(along, length, z) * _span(across, width, z) for z in (low + inset, 0.5 * (low + high), high - inset)
        )
        total += (high - low) * (a + 4.0 * m + b) / 6.0
    return total


def _span(profile: Profile, end: float, level: float) -> float:
    """How much of a profile lies above a level [m]."""
    if not profile:
        return end
    total = 0.0
    for (a, za), (b, zb) in pairwise(profile):
        low, high = min(za, zb), max(za, zb)
        if low > level:
            total += b - a
        elif high > level:
            total += (b - a) * (high - level) / (high - low)
    return total
