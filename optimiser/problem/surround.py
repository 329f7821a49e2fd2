"""Surround and overhead loudspeakers: from what the file says of the room to where on walls and ceiling they may be."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise, product

from optimiser.measures.layout import Area, Line, Plane, Surround
from optimiser.physics.ceiling import Profile, lowered
from optimiser.problem.model import Door, Problem, Room
from optimiser.problem.shell import ceiling_of
from optimiser.spans import Span, left_over

NEAR = 0.3
"""Metres from a wall within which a box stands in the way of a loudspeaker on that wall."""

HANGS = 0.5
"""Metres below the ceiling into which a box must reach to be in the way of a loudspeaker there."""

SAME = 1e-9
"""Slope, and metres, by which two pieces of a ceiling may differ and be one."""

Rectangle = tuple[Span, Span]


def surround(problem: Problem, ears: Span) -> Surround | None:
    """The layout asked for and what is free of walls and ceiling; ``ears``: between which heights all ears are."""
    if problem.surround is None:
        return None
    room, half = problem.room, 0.5 * problem.surround.width
    lines = []
    for wall, at, left in (("left", 0.0, True), ("right", room.width, False), ("rear", room.length, None)):
        size = room.width if wall == "rear" else room.length
        surface, along = f"{wall} wall", "x" if wall == "rear" else "y"
        for level, taken in _on_wall(problem, wall, at, ears):
            lines.append(Line(surface, along, at, left, _free(size, half, taken), level))
    free = tuple(line for line in lines if line.free)
    return Surround(problem.surround.layout, half, free, tuple(_areas(room, half)))


# --- the ceiling ------------------------------------------------------------------------------


def _areas(room: Room, half: float) -> Iterator[Area]:
    """The parts of the ceiling that are free for the middles of loudspeakers, half the room at a time."""
    middle = 0.5 * room.width
    for left, across in ((True, (half, middle)), (False, (middle, room.width - half))):
        for whole, planes in _pieces(room):
            cell = _common(whole, (across, (half, room.length - half)))
            if cell is None:
                continue
            for x, y in _rectangles(cell, _hung(room, half, cell, planes)):
                for nearest in planes:
                    yield Area(left, x, y, planes, nearest)


def _pieces(room: Room) -> Iterator[tuple[Rectangle, tuple[Plane, ...]]]:
    """The rectangles in plan over which the ceiling is the lowest of few planes, with these."""
    ceiling = ceiling_of(room)
    over_x = [(ends, (c, slope, 0.0)) for ends, c, slope in _even(ceiling.across, room.width, room.height)]
    over_y = [(ends, (c, 0.0, slope)) for ends, c, slope in _even(ceiling.along, room.length, room.height)]
    for x, across in over_x:
        found: list[tuple[Span, tuple[Plane, ...]]] = []
        for y, along in over_y:
            planes = _lowest((x, y), (across, along))
            if found and found[-1][1] == planes:
                found[-1] = (found[-1][0][0], y[1]), planes
            else:
                found.append((y, planes))
        yield from (((x, y), planes) for y, planes in found)


def _even(profile: Profile, end: float, height: float) -> Iterator[tuple[Span, float, float]]:
    """The pieces of a profile that are level or slope evenly: its ends, and its height there as place * slope + c."""
    points = lowered(profile=profile, end=end, height=height)
    pieces = [
        ((a, b), za - (zb - za) / (b - a) * a, (zb - za) / (b - a)) for (a, za), (b, zb) in pairwise(points) if b > a
    ]
    whole, *others = pieces
    for one in others:
        if max(abs(one[1] - whole[1]), abs(one[2] - whole[2])) < SAME:
            whole = (whole[0][0], one[0][1]), *whole[1:]
        else:
            yield whole
            whole = one
    yield whole


def _lowest(rectangle: Rectangle, planes: tuple[Plane, Plane]) -> tuple[Plane, ...]:
    """Those of two planes that are the lower one somewhere over a rectangle."""
    one, other = ([_height(plane, x, y) for x, y in product(*rectangle)] for plane in planes)
    if all(a <= b + SAME for a, b in zip(one, other)):
        return planes[:1]
    return planes[1:] if all(b <= a + SAME for a, b in zip(one, other)) else planes


def _height(plane: Plane, x: float, y: float) -> float:
    return plane[0] + plane[1] * x + plane[2] * y


def _hung(room: Room, half: float, cell: Rectangle, planes: tuple[Plane, ...]) -> Iterator[Rectangle]:
    """What of a part of the ceiling the middles of loudspeakers cannot have for what hangs there: boxes that reach up to
    within HANGS of it, where it is lowest over them."""
    for box in room.obstructions:
        taken = (box.x[0] - half, box.x[1] + half), (box.y[0] - half, box.y[1] + half)
        here = _common(taken, cell)
        if (
            here is not None
            and box.z[1] > min(_height(plane, x, y) for plane in planes for x, y in product(*here)) - HANGS
        ):
            yield taken


def _rectangles(whole: Rectangle, taken: Iterator[Rectangle]) -> list[Rectangle]:
    """The largest rectangles that are left of one: every point that nothing takes lies in one of them."""
    free = [whole]
    for there in taken:
        left: list[Rectangle] = []
        for one in free:
            if _common(one, there) is None:
                left.append(one)
                continue
            (x, y), (tx, ty) = one, there
            parts = [((x[0], tx[0]), y), ((tx[1], x[1]), y), (x, (y[0], ty[0])), (x, (ty[1], y[1]))]
            left += [part for part in parts if part[0][0] < part[0][1] and part[1][0] < part[1][1]]
        free = [
            one for k, one in enumerate(left) if not any(_within(one, other, k, at) for at, other in enumerate(left))
        ]
    return free


def _within(one: Rectangle, other: Rectangle, k: int, at: int) -> bool:
    """Whether a rectangle, the ``k``-th of several, lies in another, and of equal ones is not the first."""
    inside = all(a[0] >= b[0] and a[1] <= b[1] for a, b in zip(one, other))
    return inside and (one != other or at < k)


def _common(one: Rectangle, other: Rectangle) -> Rectangle | None:
    """What two rectangles share; None where that has no area."""
    x, y = ((max(a[0], b[0]), min(a[1], b[1])) for a, b in zip(one, other))
    return (x, y) if x[0] < x[1] and y[0] < y[1] else None


# --- walls ------------------------------------------------------------------------------------


def _free(size: float, half: float, taken: list[Span]) -> tuple[Span, ...]:
    """What is left of a line for the middles of loudspeakers, given what is taken."""
    return tuple(left_over((half, size - half), ((low - half, high + half) for low, high in taken)))


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


def _meet(one: Span, other: Span) -> bool:
    return one[0] < other[1] and other[0] < one[1]
