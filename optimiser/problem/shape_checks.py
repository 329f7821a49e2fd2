"""What the parts of a room's shape must agree on: ceilings and openings."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

from optimiser.quantity import show

Complain = Callable[..., None]  # (path, message, remedy, key=False)

CEILINGS = (
    # key, axis, the room's size along it, its name, from which wall to which
    ("ceiling", "y", "length", "long", "from the front wall to the rear"),
    ("ceiling_across", "x", "width", "wide", "from the left wall to the right"),
)


def check_shape(room: Any, system: str, complain: Complain) -> None:
    """All checks on the shape of a room, of which any part may be None: unreadable, and told already."""

    def length(value: float) -> str:
        return show("length", value, system)

    for key, axis, size, adjective, order in CEILINGS:
        _ceiling(
            getattr(room, key) or (), key, axis, getattr(room, size), adjective, order, room.height, length, complain
        )
    _openings(room, length, complain)


def _known(*values: object) -> bool:
    return all(value is not None for value in values)


def _ceiling(points, key, axis, end, adjective, order, height, length, complain: Complain) -> None:
    if len(points) == 1:
        complain(("room", key), "one point makes no ceiling", "give at least two, or leave it out")
    for at, point in enumerate(points):
        if point is None:
            continue
        path, place = ("room", key, at), getattr(point, axis)
        if _known(place, end) and place > end + 1e-9:
            complain(
                (*path, axis),
                f"the point lies outside the room, which is {length(end)} {adjective}",
                "check it, or the room's " + {"long": "length", "wide": "width"}[adjective],
            )
        if _known(point.height, height) and point.height > height + 1e-9:
            complain(
                (*path, "height"),
                f"the ceiling is higher here than the room ({length(height)})",
                "give the room its greatest height",
            )
    for at, (one, other) in enumerate(pairwise(points), start=1):
        if one is None or other is None:
            continue
        here, there = getattr(one, axis), getattr(other, axis)
        if _known(here, there) and here > there:
            complain(
                ("room", key, at, axis),
                "the point is not behind the one before it"
                if axis == "y"
                else "the point lies left of the one before it",
                f"list the points {order}",
            )


def _openings(room: Any, length, complain: Complain) -> None:
    for at, opening in enumerate(room.openings or ()):
        if opening is None or not _known(opening.wall):
            continue
        side = opening.wall in ("left", "right")
        wall = room.length if side else room.width
        for key, size, name in (("along", wall, "its wall"), ("z", room.height, "the room's height")):
            extent = getattr(opening, key)
            if extent is None or not _known(*extent):
                continue
            path = ("room", "openings", at, key)
            if extent[0] >= extent[1]:
                complain(path, "the opening has no size, 'from' is not less than 'to'", "write [from, to]")
            elif _known(size) and extent[1] > size + 1e-9:
                complain((*path, 1), f"the opening reaches past {name}, which is {length(size)}", "check the extent")
    for kind in ("openings", "doors"):
        for at, way in enumerate(getattr(room, kind) or ()):
            across = None if way is None else {"left": room.width, "right": room.width}.get(way.wall, room.length)
            if way is not None and _known(way.wall, way.keep, across) and way.keep > across + 1e-9:
                words = f"there are only {length(across)} of floor before it"
                complain(("room", kind, at, "keep"), words, "keep less of it clear")
