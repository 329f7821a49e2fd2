"""Ceilings that are not level: profiles of height along one direction of the room, the air below and the
faces around it.

A profile is a list of (distance, height) points in order of distance; between points the ceiling is
straight, two points at one distance are a step, and beyond the ends the height stays as it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby, pairwise

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
    for number, (place, _) in enumerate(points, start=1):
        if not 0.0 <= place <= end + 1e-9:
            raise ValueError(f"point {number} of the profile lies outside the room")
        if number > 1 and place < points[number - 2][0]:
            raise ValueError(f"point {number} of the profile lies before the one before it")
    if points[0][0] > 0.0:
        points.insert(0, (0.0, points[0][1]))
    if points[-1][0] < end:
        points.append((end, points[-1][1]))
    return tuple(points)


def hanging_edges(profile: Profile) -> Profile:
    """The points of a profile (from wall to wall; distance and height [m]) that come down into the air between their
    neighbours: a straight line that passes below them and, at its own ends, below the profile passes below all of it.

    Source: between such points a profile is a concave function, which lies above its chords.
    """
    points = tuple(point for point, _ in groupby(profile))
    slopes = [
        (high - low) / (end - start) if end > start else math.copysign(math.inf, high - low)
        for (start, low), (end, high) in pairwise(points)
    ]
    return tuple(point for point, before, after in zip(points[1:], slopes, slopes[1:]) if after > before)


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
        return length * width * height  # to the last digit, as anyone multiplies it
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


def face_area(
    *, face: str, length: float, width: float, height: float, along: Profile = (), across: Profile = ()
) -> float:
    """Area of a face of that room [m2]: floor, ceiling, left, right, front, rear, or walls for all four walls.
    Arguments as for volume(); ValueError for another face.

    The ceiling is all that closes the room above, its slopes as long as they are and the upright faces of its
    steps; a wall ends where the ceiling meets it. Exact: what the profile along the length has at a height z
    is as wide as the room is across at z or more, which is straight in z between the points' heights.

    Source: integration by layers.
    """
    positive("length", length)
    positive("width", width)
    positive("height", height)
    if face == "walls":
        sizes = {"length": length, "width": width, "height": height, "along": along, "across": across}
        return sum(face_area(face=wall, **sizes) for wall in ("left", "right", "front", "rear"))
    of_box = {"floor": (length, width), "ceiling": (length, width)}
    of_box |= {"left": (length, height), "right": (length, height), "front": (width, height), "rear": (width, height)}
    if face not in of_box:
        raise ValueError(f"there is no face {face!r}")
    if face == "floor" or not (along or across):  # of arrays too
        return of_box[face][0] * of_box[face][1]
    lengthwise, crosswise = (
        lowered(profile=along, end=length, height=height),
        lowered(profile=across, end=width, height=height),
    )
    if face == "ceiling":
        # where both are level at one height, the first has the area
        return _roofed(lengthwise, crosswise, width, level_too=True) + _roofed(crosswise, lengthwise, length)
    meets, beside, end = (
        (lengthwise, crosswise, width) if face in ("front", "rear") else (crosswise, lengthwise, length)
    )
    top = meets[0][1] if face in ("front", "left") else meets[-1][1]
    levels = sorted({0.0, top, *(z for _, z in beside if z < top)})
    return sum((high - low) * _span(beside, end, 0.5 * (low + high)) for low, high in pairwise(levels))


def lowered(*, profile: Profile, end: float, height: float) -> Profile:
    """The profile from wall to wall, 0 to ``end`` [m] (or empty), nowhere higher than ``height`` [m], and without steps
    at the walls or more than one step at a place. Source: definition above."""
    points: list[tuple[float, float]] = []
    for (a, za), (b, zb) in pairwise(profile or ((0.0, height), (end, height))):
        if a == b:
            continue
        piece = [(a, min(za, height))]
        if (za - height) * (zb - height) < 0.0:
            piece.append((a + (b - a) * (height - za) / (zb - za), height))
        piece.append((b, min(zb, height)))
        points += [point for point in piece if not points or points[-1] != point]
    return tuple(points)


def _roofed(profile: Profile, other: Profile, end: float, *, level_too: bool = False) -> float:
    """Area of the ceiling that a profile makes: where the other one, which spans the room to ``end``, is higher, or
    ``level_too``, as high."""
    total = 0.0
    for (a, za), (b, zb) in pairwise(profile):
        if za == zb:
            wide = _span(other, end, za)
            if level_too:
                wide += sum(q - p for (p, zp), (q, zq) in pairwise(other) if zp == zq == za)
            total += (b - a) * wide
            continue
        low, high = min(za, zb), max(za, zb)
        cuts = sorted({low, high, *(z for _, z in other if low < z < high)})
        wide = sum((top - foot) * _span(other, end, 0.5 * (foot + top)) for foot, top in pairwise(cuts))
        total += math.hypot(b - a, zb - za) / (high - low) * wide
    return total


def height_at(*, profile: Profile, place: float) -> float:
    """Height of a profile from wall to wall at a place [m]; at a step, the lower one. ValueError beyond the walls."""
    there = [
        za + (zb - za) * ((place - a) / (b - a) if b > a else 0.0)
        for (a, za), (b, zb) in pairwise(profile)
        if a <= place <= b
    ]
    if not there:
        raise ValueError(f"{place:g} m lies beyond the profile's ends")
    return min(there)


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
