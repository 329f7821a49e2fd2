"""What goes with a wall, or the ceiling, that stands elsewhere: all that reaches it where the file has it.

A duct from wall to wall reaches the other wall wherever that stands; a chimney breast keeps its depth and goes with
the wall it is on; a roof that is lifted keeps its shape.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from optimiser.linear import constant
from optimiser.measures.ceilings import clear_height
from optimiser.problem.model import Box, Problem, Range
from optimiser.problem.shell import ceiling_of

FACES = {"room.length": "y", "room.width": "x", "room.height": "z"}
"""The measurements of a room that say where a face of it is, and the direction in which that is."""

TOUCHES = 1e-6
"""Metres within which something reaches a face."""

_ALONG = {"room.length": ("left", "right"), "room.width": ("front", "rear")}
PROFILES = {"room.length": "ceiling", "room.width": "ceiling_across"}
"""Where a Room has the profile of its ceiling that ends at such a face."""
_AXES = ("x", "y", "z")
_KEYS = {"ceiling": ("y", "height"), "ceiling_across": ("x", "height"), "positions": _AXES}
"""What a file calls the numbers of a point, which is a tuple in the Problem."""

Steps = tuple[str | int, ...]


def carried(problem: Problem, path: str, new: float) -> dict[Steps, float]:
    """What else is elsewhere when one of FACES is at ``new`` [m]: fields and indices that lead to each number from the
    Problem, and the number [m]. An array as ``new`` gives arrays."""
    room, axis = problem.room, FACES[path]
    old = getattr(room, path.partition(".")[2])
    found: dict[Steps, float] = {}
    for at, box in enumerate(room.obstructions):
        face = _lowest_over(problem, box) if axis == "z" else old
        found.update(_extent(("room", "obstructions", at, axis), getattr(box, axis), face, new - old))
    for at, opening in enumerate(room.openings):
        if axis == "z" or opening.wall in _ALONG[path]:
            key = "z" if axis == "z" else "along"
            found.update(_extent(("room", "openings", at, key), getattr(opening, key), old, new - old))
    found.update(_ceiling(problem, path, old, new))
    for at, place in enumerate(problem.bass.positions if problem.bass is not None else ()):
        if abs(place[_AXES.index(axis)] - old) <= TOUCHES:
            found["bass", "positions", at, _AXES.index(axis)] = new
    return found


def in_file(steps: Steps) -> Steps:
    """Keys and indices that lead to the same number in the problem's file."""
    *around, at, last = steps
    return (*around, at, _KEYS[around[-1]][last]) if around[-1] in _KEYS else steps


def widened(before: Problem, after: Problem) -> Problem:
    """An image that may be as wide as the room may be so in a wider room too."""
    width = after.screen.width
    if isinstance(width, Range) and width.high == before.room.width:
        return replace(after, screen=replace(after.screen, width=replace(width, high=after.room.width)))
    return after


def _extent(steps: Steps, extent: tuple[float, float], face: float, by: float) -> Iterator[tuple[Steps, float]]:
    """A stretch that reaches a face: one that begins at the opposite face grows, any other goes along as it is."""
    low, high = extent
    if high >= face - TOUCHES:
        yield (*steps, 1), high + by
        if low > TOUCHES:
            yield (*steps, 0), low + by


def _lowest_over(problem: Problem, box: Box) -> float:
    """The lowest ceiling over a box [m]: what reaches that hangs from it."""
    x, y = (tuple(map(constant, span)) for span in (box.x, box.y))
    return float(clear_height(ceiling_of(problem.room), x=x, y=y, level=constant(0.0)).value({}))


def _ceiling(problem: Problem, path: str, old: float, new: float) -> Iterator[tuple[Steps, float]]:
    """The points of a ceiling on a wall go with the wall; with a higher room, all of them go up."""
    if path == "room.height":
        for key in PROFILES.values():
            for at, (_, height) in enumerate(getattr(problem.room, key)):
                yield ("room", key, at, 1), height + (new - old)
        return
    for at, (place, _) in enumerate(getattr(problem.room, key := PROFILES[path])):
        if abs(place - old) <= TOUCHES:
            yield ("room", key, at, 0), new
