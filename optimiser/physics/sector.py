"""What a door sweeps: a sector of a circle in plan, and its distance to the corner of a body.

Plan coordinates: x to the right, y from the front wall to the rear. Angles in radians, counter-
clockwise from +x. A sector of up to half a turn is convex, so its support function (the farthest
it reaches in a direction) describes it completely, and gives exact distances without search.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from optimiser.physics.checks import finite, number, positive

Point = tuple[float, float]

FIT = 1e-9
"""Lengths [m] and angles [rad] closer than this count as equal: far below any building tolerance."""

_WALLS = {
    # wall: (closed-leaf direction by side, direction into the room)
    "left": ({"front": -0.5 * math.pi, "rear": 0.5 * math.pi}, 0.0),
    "right": ({"front": -0.5 * math.pi, "rear": 0.5 * math.pi}, math.pi),
    "front": ({"left": math.pi, "right": 0.0}, 0.5 * math.pi),
    "rear": ({"left": math.pi, "right": 0.0}, -0.5 * math.pi),
}


@dataclass(frozen=True)
class Sector:
    """Everything within ``radius`` of ``hinge`` from angle ``start`` counter-clockwise by ``sweep``.

    hinge [m, m], radius [m] > 0, start [rad] any, sweep [rad] in [0, pi]; sweep 0 is a segment (a
    doorway). ValueError where a value lies outside.
    """

    hinge: Point
    radius: float
    start: float
    sweep: float

    def __post_init__(self) -> None:
        for name, value in zip(("hinge x", "hinge y"), self.hinge, strict=True):
            finite(name, value)
        positive("radius", self.radius)
        finite("start", self.start)
        number("sweep", self.sweep, unit="rad", at_least=0.0, at_most=math.pi)

    def end(self, angle: float) -> Point:
        """The point of the circle at an angle [m, m]."""
        return (self.hinge[0] + self.radius * math.cos(angle), self.hinge[1] + self.radius * math.sin(angle))


@dataclass(frozen=True)
class Piece:
    """A range of directions over which the support function is n . centre + radius."""

    first: float
    last: float
    centre: Point
    radius: float


def door_sector(
    *,
    wall: str,
    hinge: float,
    leaf: float,
    towards: str,
    opens: str,
    angle: float,
    room_length: float,
    room_width: float,
) -> Sector:
    """The sector a door's leaf sweeps in plan; lengths may be arrays, of many rooms with the same door.

    wall: left, right, front or rear; hinge [m] >= 0, along the wall (y on a side wall, x on the
    front and rear walls); leaf [m] > 0, its width; towards: the side of the hinge on which the
    closed leaf lies (front or rear on a side wall, left or right on the others); opens: in (the leaf
    sweeps from closed into the room by ``angle`` [rad] in (0, pi]) or out (only the doorway counts,
    a sector of sweep 0); room_length, room_width [m] > 0. The leaf is taken as a line without
    thickness, its hinge in the wall's face.

    ValueError for an unknown word, a doorway beyond the wall's end, or a leaf that would strike
    another wall before it has opened by ``angle``. Source: plane geometry.
    """
    if wall not in _WALLS:
        raise ValueError(f"wall must be one of {', '.join(_WALLS)}, not {wall!r}")
    sides, inward = _WALLS[wall]
    if towards not in sides:
        raise ValueError(f"a door in the {wall} wall closes towards {' or '.join(sides)}, not {towards!r}")
    if opens not in ("in", "out"):
        raise ValueError(f"opens must be in or out, not {opens!r}")
    hinge = number("hinge", hinge, at_least=0.0)[()]
    leaf = positive("leaf", leaf)[()]
    angle = float(number("angle", angle, unit="rad", above=0.0, at_most=math.pi))
    length = positive("room_length", room_length)[()]
    width = positive("room_width", room_width)[()]

    along, across = (length, width) if wall in ("left", "right") else (width, length)
    space = hinge if towards in ("front", "left") else along - hinge
    if np.any(hinge > along + FIT) or np.any(leaf > space + FIT):
        at, size, whole = (np.max(value) for value in (hinge, leaf, along))
        raise ValueError(
            f"the doorway does not fit: hinge at {at:g} m and a leaf of {size:g} m towards {towards} "
            f"reach beyond the {wall} wall, which is {whole:g} m long"
        )
    point = {"left": (0.0, hinge), "right": (width, hinge), "front": (hinge, 0.0), "rear": (hinge, length)}[wall]
    closed = sides[towards]
    if opens == "out":
        return Sector(hinge=point, radius=leaf, start=closed, sweep=0.0)

    widest = float(np.min(widest_opening(leaf=leaf, behind=along - space, across=across)))
    if angle > widest + FIT:
        raise ValueError(
            f"the leaf strikes another wall at {math.degrees(widest):.1f} degrees: "
            f"it cannot open to {math.degrees(angle):.1f} degrees"
        )
    turns_left = math.sin(inward - closed) > 0.0
    return Sector(hinge=point, radius=leaf, start=closed if turns_left else closed - angle, sweep=angle)


def widest_opening(*, leaf, behind, across):
    """Angle at which a leaf meets the opposite wall, or the wall behind its hinge, or its own [rad].

    leaf [m] > 0; behind [m], along the door's wall from the hinge to the wall behind it, on the side
    away from the closed leaf; across [m], from the door's wall to the one opposite. Source: plane geometry.
    """
    opposite = np.arcsin(np.minimum(across / leaf, 1.0))
    rear = np.pi - np.arccos(np.minimum(behind / leaf, 1.0))
    return np.where(leaf > across + FIT, opposite, np.where(leaf > behind + FIT, rear, np.pi))[()]


def support(sector: Sector, *, angle):
    """How far a sector reaches in the direction ``angle``: the greatest n . point [m].

    angle [rad] any, also an array. Source: definition of the support function.
    """
    angle = finite("angle", angle)
    nx, ny = np.cos(angle), np.sin(angle)
    points = (sector.hinge, sector.end(sector.start), sector.end(sector.start + sector.sweep))
    farthest = np.max([nx * x + ny * y for x, y in points], axis=0)
    on_arc = np.mod(angle - sector.start, 2.0 * np.pi) <= sector.sweep
    return np.where(on_arc, nx * sector.hinge[0] + ny * sector.hinge[1] + sector.radius, farthest)[()]


def support_pieces(sector: Sector, *, first: float, last: float) -> list[Piece]:
    """The support function over the directions [first, last] in pieces n . centre + radius.

    first <= last [rad], at most a full turn apart. The pieces follow one another without a gap; a
    change of supporting point (hinge, either end, the arc) starts a new one. Source: the normal
    cones of a convex sector.
    """
    first, last = float(finite("first", first)), float(finite("last", last))
    if not 0.0 <= last - first <= 2.0 * math.pi + FIT:
        raise ValueError("last must not lie before first, nor more than a full turn after it")
    quarter = 0.5 * math.pi
    stop = sector.start + sector.sweep
    cones = [
        # (width of the cone of normals, supporting point, radius), counter-clockwise from start - quarter
        (quarter, sector.end(sector.start), 0.0),
        (sector.sweep, sector.hinge, sector.radius),
        (quarter, sector.end(stop), 0.0),
        (math.pi - sector.sweep, sector.hinge, 0.0),
    ]
    at = sector.start - quarter
    at += 2.0 * math.pi * math.floor((first - at) / (2.0 * math.pi))
    pieces: list[Piece] = []
    while True:
        for size, centre, radius in cones:
            low, high = max(at, first), min(at + size, last)
            at += size
            # a sliver narrower than FIT moves the support by less than FIT times the radius
            if high - low > FIT:
                _append(pieces, Piece(low, high, centre, radius))
            elif last - first <= FIT and at >= first:
                return [Piece(first, last, centre, radius)]
            if at >= last and pieces:
                pieces[-1] = _with_range(pieces[-1], pieces[-1].first, last)
                return pieces


def _append(pieces: list[Piece], piece: Piece) -> None:
    """Add a piece, close any sliver before it, and merge it with an equal neighbour."""
    if not pieces:
        pieces.append(piece)
        return
    before = pieces[-1]
    (ax, ay), (bx, by) = before.centre, piece.centre
    same = np.all(before.radius == piece.radius) and np.all(np.hypot(ax - bx, ay - by) <= FIT)
    if same:
        pieces[-1] = _with_range(before, before.first, piece.last)
    else:
        pieces.append(_with_range(piece, before.last, piece.last))


def _with_range(piece: Piece, first: float, last: float) -> Piece:
    return Piece(first, last, piece.centre, piece.radius)
