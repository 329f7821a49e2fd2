"""The room by itself, in plan and long section: what there is to see where no design exists."""

from __future__ import annotations

from optimiser.quantity import show
from optimiser.sheet.figures import Shell
from optimiser.sheet.labels import Placer, named, tape, taped
from optimiser.sheet.plan import (
    WALL,
    beside,
    doors,
    label_doors,
    label_obstructions,
    label_openings,
    obstructions,
    walls,
)
from optimiser.sheet.scene import Point, Scene
from optimiser.sheet.section import label_obstructions_cut, obstructions_cut, shell_cut

Feature = tuple[str, float, str, Point]


def room_scenes(room: Shell, system: str, denominator: float) -> list[Scene]:
    """Plan and long section of an empty room, at one scale. ``system`` is how lengths are written."""
    return [_plan(room, system, denominator), _section(room, system, denominator)]


def _plan(room: Shell, system: str, denominator: float) -> Scene:
    scene = Scene("room-plan", "Plan of the room", denominator)
    doors(scene, room)  # their tint hides no obstruction
    obstructions(scene, room)
    walls(scene, room)
    along: list[Feature] = []
    across: list[Feature] = []

    def note(name: str, place: float, sideways: bool, end: float) -> None:
        if 0.0 < place < end:
            point = (0.0, place) if sideways else (place, 0.0)
            (across if sideways else along).append((name, place, show("length", place, system), point))

    for door, _ in room.doors:
        sideways = door.wall in ("front", "rear")
        for place in door.jambs:
            note(taped(door.name, "door", room.names), place, sideways, room.width if sideways else room.length)
    for body in room.obstructions:
        for place in body.y:
            note(taped(body.name, "obstruction", room.names), place, False, room.length)
        for place in body.x:
            note(taped(body.name, "obstruction", room.names), place, True, room.width)
    along.append(("rear wall", room.length, show("length", room.length, system), (room.length, 0.0)))
    across.append(("right wall", room.width, show("length", room.width, system), (0.0, room.width)))
    scene.add(tape(scene, "u", 0.0, room.length, beside(scene, room, "left"), -1, along))
    scene.add(tape(scene, "v", 0.0, room.width, beside(scene, room, "front"), -1, across))
    place = Placer(scene)
    label_doors(place, room)
    label_obstructions(place, room)
    label_openings(place, room)
    place.put("front wall", (0.0, 0.5 * room.width), prefer=("right",), gap=1.2)
    scene.description = (
        f"Plan of the empty room, {show('length', room.length, system)} long and {show('length', room.width, system)} "
        f"wide, front wall to the left, with its doors and what nothing may enter. No design is drawn, for none exists."
    )
    return scene


def _section(room: Shell, system: str, denominator: float) -> Scene:
    scene = Scene("room-section", "Long section of the room", denominator)
    obstructions_cut(scene, room, 0.5 * room.width)
    shell_cut(scene, room)
    sides = [door for door, _ in room.doors if door.wall in ("left", "right")]
    for door in sides:
        scene.line("door", *((y, door.level) for y in door.jambs))
    for one in room.openings:
        if one.wall in ("left", "right"):
            scene.box("window", one.along, one.z)
    base = scene.mm(WALL + 2.5)
    fronts: list[tuple[str, float, Point]] = [("ceiling", z, (y, z)) for y, z in room.ceiling]
    rears = [
        (taped(body.name, "obstruction", room.names), z, (body.y[1], z))
        for body in room.obstructions
        for z in body.z
        if 0.0 < z < room.ceiling_at(body.y[1])
    ]
    for features, at, outward in ((fronts, -base, -1), (rears, room.length + base, 1)):
        if features:
            written = [(name, z, show("length", z, system), p) for name, z, p in features]
            scene.add(tape(scene, "v", 0.0, max(z for _, z, _ in features), at, outward, written))
    place = Placer(scene)
    for door in sides:
        words = f"{named(door.name, 'door', room.names)}, {door.wall} wall"
        place.put(words, (sum(door.jambs) / 2, door.level), prefer=("above",), gap=1.0)
    label_obstructions_cut(place, room)
    for one in room.openings:
        if one.wall in ("left", "right"):
            spot = (0.5 * (one.along[0] + one.along[1]), 0.5 * (one.z[0] + one.z[1]))
            place.put(
                f"{named(one.name, one.kind, room.names)}, {one.wall} wall", spot, prefer=("on", "above"), gap=0.5
            )
    scene.description = (
        f"Section along the empty room, {show('length', room.height, system)} high, front wall to the left, "
        f"with what nothing may enter. The doors of the side walls are lines on the floor: the file does not say how "
        f"high they are."
    )
    return scene
