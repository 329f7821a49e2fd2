"""Surround and overhead loudspeakers: from what the file says of the room to the lines that they may have."""

from __future__ import annotations

import math
from itertools import pairwise

from optimiser.measures.layout import Line, Surround
from optimiser.problem.model import Door, Problem

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
    profile = [height for _, height in (*room.ceiling, *room.ceiling_across)]
    ceiling = min([room.height, *profile])
    lines = []
    for wall, at, left in (("left", 0.0, True), ("right", room.width, False), ("rear", room.length, None)):
        size = room.width if wall == "rear" else room.length
        surface, along = f"{wall} wall", "x" if wall == "rear" else "y"
        for level, taken in _on_wall(problem, wall, at, ears):
            lines.append(Line(surface, along, at, left, False, _free(size, half, taken), level))
    for k in range(1, LINES):
        at = room.width * k / LINES
        if 2 * k != LINES:
            free = _free(room.length, half, _overhead(problem, at, half, ceiling))
            lines.append(Line("ceiling", "y", at, 2 * k < LINES, True, free))
    return Surround(problem.surround.layout, half, ceiling, tuple(line for line in lines if line.free))


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
