"""The shell of a room as its measures see it: the ceiling from wall to wall, the air below it, its faces.

The only place where a room's volume and the areas of its faces are found.
"""

from __future__ import annotations

from optimiser.measures.layout import Ceiling
from optimiser.physics import ceiling as ceilings
from optimiser.problem.model import Room


def ceiling_of(room: Room) -> Ceiling:
    """The ceiling's profiles from wall to wall. ValueError, with its key in the file, where one makes no sense."""
    found = {}
    for key, end in (("ceiling", room.length), ("ceiling_across", room.width)):
        points = getattr(room, key)
        try:
            found[key] = ceilings.stretched(profile=points, end=end) if points else ()
        except ValueError as error:
            raise ValueError(f"room.{key}: {error}") from None
    return Ceiling(room.height, found["ceiling"], found["ceiling_across"])


def wall_height(room: Room, wall: str, along: tuple[float, float]) -> float:
    """How high a wall is at most over a stretch of it [m]: up to the ceiling there."""
    ceiling, side = ceiling_of(room), wall in ("left", "right")
    over, across = (ceiling.along, ceiling.across) if side else (ceiling.across, ceiling.along)
    size, ends = (room.length, (0.0, room.width)) if side else (room.width, (0.0, room.length))
    low, high = (min(max(place, 0.0), size) for place in along)
    at_wall = ceilings.height_at(profile=across, place=ends[wall in ("right", "rear")]) if across else room.height
    heights = [height for place, height in over if low < place < high]
    heights += [ceilings.height_at(profile=over, place=place) for place in (low, high)] if over else [room.height]
    return min(room.height, at_wall, max(heights))


def volume(room: Room) -> float:
    """Volume of the air under the ceiling [m3]."""
    return ceilings.volume(**_extents(room))


def face_area(face: str, room: Room) -> float:
    """Area of one of the room's faces [m2], or of all four walls."""
    return ceilings.face_area(face=face, **_extents(room))


def faces_area(room: Room) -> float:
    """Area of all of the room's faces [m2]."""
    return sum(face_area(face, room) for face in ("floor", "ceiling", "walls"))


def boxed(room: Room) -> bool:
    """Whether the room is a box: its ceiling everywhere at the room's height."""
    return all(height >= room.height for _, height in (*room.ceiling, *room.ceiling_across))


def _extents(room: Room) -> dict:
    ceiling = ceiling_of(room)
    return {
        "length": room.length,
        "width": room.width,
        "height": room.height,
        "along": ceiling.along,
        "across": ceiling.across,
    }
