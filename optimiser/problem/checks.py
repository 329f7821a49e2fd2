"""What several keys of a problem file must agree on.

The checks get the file with everything in it that could be read: what is missing or unreadable is
None, has been reported already, and is passed over here. So all faults are found at once.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from optimiser.physics.sector import widest_opening
from optimiser.problem.bass import check_bass
from optimiser.problem.decisions import split_row
from optimiser.problem.front_checks import beyond, check_front
from optimiser.problem.lining import check_lining
from optimiser.problem.listed import check_lists, check_names, variants
from optimiser.problem.row_checks import check_rows, largest
from optimiser.problem.shape_checks import check_shape
from optimiser.quantity import show

Complain = Callable[..., None]  # (path, message, remedy, key=False)


def check(file: Any, complain: Complain) -> None:
    """Run all checks on a file (written.ProblemFile, or its readable remains)."""
    complain = _once(complain)
    length = Lengths(file.show or "m")
    if file.room is not None:
        _doors(file.room, length, complain)
        _obstructions(file.room, length, complain)
        check_lining(file.room, complain)
        check_shape(file.room, file.show or "m", complain)
    check_lists(file, complain)
    check_front(file, complain)
    if file.bass is not None:
        check_bass(file, length, complain)
    if file.seating is not None:
        _chair(file.seating, complain)
        _rows(file.seating, complain)
        _platforms(file.seating, length, complain)
        check_rows(file.seating, complain)
        if file.room is not None:
            _inside(file.seating, file.room, length, complain)
        _designs(file, complain)


def _once(complain: Complain) -> Complain:
    """A complaint about what several things of a list share is made once."""
    made = set()

    def once(path: tuple, message: str, remedy: str = "", **how: bool) -> None:
        if (path, message) not in made:
            made.add((path, message))
            complain(path, message, remedy, **how)

    return once


class Lengths:
    """Shows lengths in the file's units."""

    def __init__(self, system: str) -> None:
        self.system = system

    def __call__(self, value: float) -> str:
        return show("length", value, self.system)


def known(*values: object) -> bool:
    """Whether all of these could be read."""
    return all(value is not None for value in values)


def _doors(room: Any, length: Lengths, complain: Complain) -> None:
    for at, door in enumerate(room.doors or ()):
        path = ("room", "doors", at)
        if door is None or not known(door.wall):
            continue
        if known(room.height, door.level) and door.level >= room.height:
            complain(
                (*path, "level"),
                f"the door opens at or above the ceiling, which is {length(room.height)} high",
                "write the height of its threshold above the room's floor",
            )
        side = door.wall in ("left", "right")
        ways = ("front", "rear") if side else ("left", "right")
        wall = room.length if side else room.width
        if known(door.towards) and door.towards not in ways:
            complain(
                (*path, "towards"),
                f"a door in the {door.wall} wall lies towards the {ways[0]} or the {ways[1]}",
                f"write {ways[0]} or {ways[1]}",
            )
        if known(wall, door.leaf) and door.leaf > wall:
            complain(
                (*path, "leaf"),
                f"the door is wider than its wall ({length(door.leaf)} in a wall of {length(wall)})",
                "check the leaf and the wall it is in",
            )
        elif known(wall, door.hinge) and door.hinge > wall:
            complain(
                (*path, "hinge"),
                f"the hinge is past the end of the {door.wall} wall, which is {length(wall)} long",
                "measure it from the front wall" if side else "measure it from the left wall",
            )
        elif known(wall, door.hinge, door.leaf, door.towards) and door.towards in ways:
            end = door.hinge - door.leaf if door.towards == ways[0] else door.hinge + door.leaf
            over = max(-end, end - wall)
            if over > 1e-9:
                complain(
                    (*path, "leaf"),
                    f"the closed door reaches {length(over)} past the {door.towards} end of its wall",
                    "check hinge, leaf and towards",
                )
            else:
                _opening(door, path, wall, complain, across=room.width if side else room.length, first=ways[0])


def _opening(door: Any, path: tuple, wall: float, complain: Complain, *, across: float | None, first: str) -> None:
    """Whether the leaf can open as far as the file says before it strikes another wall."""
    if door.opens != "in" or not known(door.angle, across):
        return
    behind = wall - door.hinge if door.towards == first else door.hinge
    widest = widest_opening(leaf=door.leaf, behind=behind, across=across)
    if door.angle > widest + 1e-9:
        complain(
            (*path, "angle"),
            f"the leaf strikes another wall at {show('angle', widest)}, so it cannot open to {show('angle', door.angle)}",
            "write a lesser angle, or check hinge and leaf",
        )


def _obstructions(room: Any, length: Lengths, complain: Complain) -> None:
    for at, box in enumerate(room.obstructions or ()):
        if box is None:
            continue
        for axis, size, name in (
            ("x", room.width, "width"),
            ("y", room.length, "length"),
            ("z", room.height, "height"),
        ):
            extent = getattr(box, axis)
            path = ("room", "obstructions", at, axis)
            if extent is None or not known(*extent):
                continue
            low, high = extent
            if low >= high:
                complain(path, "the obstruction has no size, 'from' is not less than 'to'", "write [from, to]")
            elif size is not None and high > size + 1e-9:
                complain(
                    (*path, 1),
                    f"the obstruction reaches out of the room, whose {name} is {length(size)}",
                    "check the extent, or end it at the room's face",
                )


def _chair(seating: Any, complain: Complain) -> None:
    if seating.chair is None:
        return
    for place, chair in variants(seating.chair, ("seating", "chair")):
        if known(chair.depth, chair.reclined) and chair.reclined < chair.depth - 1e-9:
            key = "reclined" if "reclined" in chair.written else "depth"
            complain(place(key), "the chair is less deep reclined than upright", "check depth and reclined")
        if known(chair.depth, chair.eye_to_back) and chair.eye_to_back >= chair.depth:
            key = "eye_to_back" if "eye_to_back" in chair.written else "depth"
            complain(place(key), "the eyes are in front of the chair", "check depth and eye_to_back")
    aisle = seating.aisle
    if aisle is not None and known(aisle.sides, aisle.width):
        if aisle.sides != "none" and aisle.width == 0:
            complain(("seating", "aisle"), "an aisle without width", "write its width, or sides: none")
        if aisle.sides == "none" and aisle.width > 0:
            complain(("seating", "aisle", "width"), "the width of no aisle", "write sides: one or sides: both")


def _platforms(seating: Any, length: Lengths, complain: Complain) -> None:
    """Some platform can be built, where the file has any."""
    platform = seating.platform
    if (
        platform is None
        or not known(platform.to, platform.step)
        or not 0.0 < platform.to < platform.step * (1.0 - 1e-9)
    ):
        return
    told = f"no platform is so low: heights are whole multiples of step, which is {length(platform.step)}"
    complain(("seating", "platform", "to"), told, "write more, or a smaller step; without platforms leave it out")


def _rows(seating: Any, complain: Complain) -> None:
    if seating.rows is None:
        return
    most = int(largest(seating.rows))
    if known(seating.reference_row) and seating.reference_row > most:
        complain(("seating", "reference_row"), f"the file allows at most {_rows_text(most)}", "name one of them")
    for name, _ in seating.place or ():
        _row_exists(name, most, ("seating", "place", name), complain)


def _inside(seating: Any, room: Any, length: Lengths, complain: Complain) -> None:
    """No row is placed where the room is not, whatever is chosen."""
    ends = {"y": (room.length, "long", "the front wall"), "platform": (room.height, "high", "the floor")}
    for name, decision in seating.place or ():
        most, way, wall = ends.get((split_row(name) or ("", ""))[1], (None, "", ""))
        if beyond(decision, most):
            told = f"this lies outside the room, which is {length(most)} {way}"
            complain(("seating", "place", name), told, f"write how far it is from {wall}")


def _rows_text(most: int) -> str:
    return f"{most} row{'s' if most > 1 else ''}"


def _row_exists(name: str, most: int, path: tuple, complain: Complain) -> None:
    if name.startswith("row") and "." in name and int(name[3 : name.index(".")]) > most:
        complain(
            path,
            f"the file allows at most {_rows_text(most)}",
            "raise seating.rows, or leave it out",
            key=True,
        )


def _designs(file: Any, complain: Complain) -> None:
    rows = file.seating.rows
    for title, settings in file.designs or ():
        asked = dict(settings).get("rows")
        most = int(asked or (largest(rows) if rows is not None else 99))
        for name, _ in settings:
            _row_exists(name, most, ("designs", title, name), complain)
        no_projector = file.projector is None and "projector" not in file.written
        for name in ("projector.y", "projector.z"):
            if no_projector and name in dict(settings):
                complain(("designs", title, name), "the file has no projector", "leave this out", key=True)
        check_names(file, dict(settings), ("designs", title), complain)
