"""Surround and overhead loudspeakers: from what the file says of the room to the lines that they may have."""

from __future__ import annotations

import math
from itertools import pairwise

from optimiser.measures.layout import Line, Surround
from optimiser.physics.ceiling import height_at
from optimiser.problem.model import Door, Problem, Room
from optimiser.problem.shell import ceiling_of

LINES = 12
"""Parts of the room's width between the lines along the ceiling that are tried."""

NEAR = 0.3
"""Metres from a wall within which a box stands in the way of a loudspeaker on that wall."""

HANGS = 0.5
"""Metres below the ceiling into which a box must reach to be in the way of a loudspeaker there."""

Span = tuple[float, float]


def surround(problem: Problem, ears: Span) -> Surround | None:
    """The layout asked for and the free lines of walls and ceiling; ``ears``: between which heights all ears are."""
    if problem.surround is None:
        return None
    room, half = problem.room, 0.5 * problem.surround.width
    lines = []
    for wall, at, left in (("left", 0.0, True), ("right", room.width, False), ("rear", room.length, None)):
        size = room.width if wall == "rear" else room.length
        surface, along = f"{wall} wall", "x" if wall == "rear" else "y"
        for level, taken in _on_wall(problem, wall, at, ears):
            lines.append(Line(surface, along, at, left, False, _free(size, half, taken), level))
    for k in range(1, LINES):
        at = room.width * k / LINES
        for ends, over in _pieces(room, at) if 2 * k != LINES else ():
            taken = [*_overhead(problem, at, half, over[0]), (0.0, ends[0] - half), (ends[1] + half, room.length)]
            free = _free(room.length, half, [one for one in taken if one[0] < one[1]])
            lines.append(Line("ceiling", "y", at, 2 * k < LINES, True, free, over=over))
    return Surround(problem.surround.layout, half, tuple(line for line in lines if line.free))


def _pieces(room: Room, at: float) -> list[tuple[Span, Span]]:
    """The stretches of a line along the ceiling at x = ``at`` that are level or slope evenly, and between what heights."""
    ceiling = ceiling_of(room)
    most = min(room.height, height_at(profile=ceiling.across, place=at) if ceiling.across else room.height)
    pieces: list[tuple[Span, Span]] = []
    for (a, za), (b, zb) in pairwise(ceiling.along or ((0.0, most), (room.length, most))):
        over = min(za, zb, most), min(max(za, zb), most)
        if pieces and over == pieces[-1][1] and over[0] == over[1]:
            pieces[-1] = (pieces[-1][0][0], b), over
        elif b > a:
            pieces.append(((a, b), over))
    return pieces


def _free(size: float, half: float, taken: list[Span]) -> tuple[Span, ...]:
    """What is left of a line for the middles of loudspeakers, given what is taken."""
    found, start = [], half
    for low, high in sorted(taken):
        if low - half > start:
            found.append((start, low - half))
        start = max(start, high + half)
    if size - half > start:
        found.append((start, size - half))
    return tuple(found)


def _on_wall(problem: Problem, wall: str, at: float, ears: Span) -> list[tuple[Span, list[Span]]]:
    """What no loudspeaker may stand before on a wall: doors, what is glazed or open there, boxes near it. That is
    told for each stretch of heights over which it is the same, with its ends: loudspeakers hang at the height of the
    highest ears, which are somewhere between ``ears``."""
    room = problem.room
    before = [(_leaf(door), (-math.inf, math.inf)) for door in room.doors if door.wall == wall]
    before += [(o.along, o.z) for o in room.openings if o.wall == wall]
    for box in room.obstructions:
        depth, along = (box.y, box.x) if wall == "rear" else (box.x, box.y)
        if _meet(depth, (at - NEAR, at + NEAR)):
            before.append((along, box.z))
    low, high = ears
    edges = sorted({z for _, ends in before for z in ends if low < z < high})
    levels = pairwise((-math.inf, *edges, math.inf))
    heights = zip((low, *edges), (*edges, high))
    return [(level, [along for along, z in before if _meet(z, span)]) for level, span in zip(levels, heights)]


def _leaf(door: Door) -> Span:
    on = door.leaf if door.towards in ("rear", "right") else -door.leaf
    return min(door.hinge, door.hinge + on), max(door.hinge, door.hinge + on)


def _overhead(problem: Problem, at: float, half: float, ceiling: float) -> list[Span]:
    """What hangs in the way along a line of the ceiling."""
    boxes = problem.room.obstructions
    return [box.y for box in boxes if box.z[1] > ceiling - HANGS and _meet(box.x, (at - half, at + half))]


def _meet(one: Span, other: Span) -> bool:
    return one[0] < other[1] and other[0] < one[1]
