"""What the keys about screen, front loudspeakers and projector must agree on.

As in checks.py: what is missing or unreadable is None and is passed over here.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from optimiser.errors import did_you_mean
from optimiser.problem.decisions import ends_of
from optimiser.problem.listed import Place, variants

Complain = Callable[..., None]

OWN: dict[str, tuple[str, ...]] = {
    "projected": ("aspect", "width", "pixels", "gain", "open_area"),
    "panel": ("aspect", "diagonal", "pixels", "luminance"),
    "tiled": ("tile", "columns", "tile_rows", "luminance"),
}
"""Keys of a screen that only some kinds have, and which."""

NAMES = {"projected": "a projected image", "panel": "a panel", "tiled": "a tiled wall"}
SIZED = {
    "projected": "a projected image is chosen by its width",
    "panel": "a panel is chosen by its diagonal",
    "tiled": "a tiled wall is chosen by its columns and tile_rows",
}


def check_front(file: Any, complain: Complain) -> None:
    """Run the checks on ``file.front`` and ``file.projector``."""
    front = file.front
    if front is not None:
        screens = _screens(front, complain)
        for path, screen in screens:
            for place, one in variants(screen, path):
                _screen(one, place, front, complain)
        if front.baffle is not None:
            _edges(front.baffle, complain)
        _loudspeakers(front, [screen for _, screen in screens], file.room, complain)
    if file.projector is not None:
        _projector(file, complain)


def _screens(front: Any, complain: Complain) -> list[tuple[tuple, Any]]:
    """Every screen that could be read, with its place."""
    written = front.written & {"screen", "screens"}
    if not written:
        mistyped = [name for name in front.extra if did_you_mean(name, front.keys) == "did you mean 'screen'?"]
        if not mistyped:
            complain(("front",), "'screen' is missing", "add screen: (the image and its frame)")
        return []
    if len(written) > 1:
        complain(("front", "screens"), "'screens' beside 'screen'", "keep one of them", key=True)
    if "screens" not in written:
        return [] if front.screen is None else [(("front", "screen"), front.screen)]
    if front.screens is not None and not front.screens:
        complain(("front", "screens"), "there is nothing to choose from", "list one screen or more")
    found = [(("front", "screens", at), one) for at, one in enumerate(front.screens or ()) if one is not None]
    for at, (path, one) in enumerate(found):
        if one.type is not None and one.type in [other.type for _, other in found[:at]]:
            complain(
                (*path, "type") if "type" in one.written else path,
                f"a second screen that is {one.type}",
                "give the first one more to choose from instead",
            )
    return found


def _edges(baffle: Any, complain: Complain) -> None:
    path = ("front", "baffle")
    edges = [key for key in ("left", "right") if key in baffle.written]
    if edges and baffle.centred:
        complain(
            (*path, edges[0]),
            "the edges of a centred baffle follow from its width",
            "leave it out, or write centred: false",
            key=True,
        )
    elif edges and "width" in baffle.written:
        complain((*path, edges[0]), f"'{edges[0]}' beside 'width'", "give the width, or the edges", key=True)
    elif baffle.left is not None and baffle.right is not None and ends_of(baffle.left)[0] >= ends_of(baffle.right)[1]:
        words = "the right edge is not to the right of the left one"
        complain((*path, "right"), words, "measure both from the left wall")


def _screen(screen: Any, place: Place, front: Any, complain: Complain) -> None:
    if screen.type is not None:
        _keys_of_type(screen, place, complain)
    if "centre" in screen.written and front.baffle is not None and front.baffle.centred:
        complain(
            place("centre"),
            "the image is in the middle of a centred baffle",
            "leave centre out, or write baffle: {centred: false}",
            key=True,
        )


def _keys_of_type(screen: Any, place: Place, complain: Complain) -> None:
    kind, written, path = screen.type, screen.written, place.whole
    if kind == "panel" and "diagonal" not in written:
        complain(path, "a panel without diagonals", "write diagonal: {choose: [65 in, 77 in]}")
    if kind == "tiled":
        for key, example in (
            ("tile", "{width: 600 mm, height: 337.5 mm, pitch: 1.2 mm}"),
            ("columns", "6"),
            ("tile_rows", "6"),
        ):
            if key not in written:
                complain(path, f"a tiled wall without {key}", f"write {key}: {example}")
        if screen.tile is not None and None not in (screen.tile.width, screen.tile.height, screen.tile.pitch):
            if screen.tile.pitch > min(screen.tile.width, screen.tile.height):
                complain(
                    (*path, "tile", "pitch"), "the pixels are farther apart than the tile is wide", "check the pitch"
                )
    own = set(OWN[kind])
    if kind == "projected" and place.listed:  # one may go by its diagonal there, as the public's name for its size
        own.add("diagonal")
        if {"width", "diagonal"} <= written:
            complain(place("diagonal"), "'diagonal' beside 'width'", "keep one of them", key=True)
    for key in sorted({key for keys in OWN.values() for key in keys} - own):
        if key in written:
            complain(place(key), *_misplaced(key, kind), key=True)


def _misplaced(key: str, kind: str) -> tuple[str, str]:
    """What is wrong with a key that this kind of screen does not have, and what to do."""
    if key in ("width", "diagonal", "columns", "tile_rows"):
        owner = next(name for name, keys in OWN.items() if key in keys)
        if kind == "panel":
            return SIZED[kind], f"leave {key} out"
        if kind == "projected":
            return SIZED[kind], f"write width instead, or type: {owner}"
        return SIZED[kind], f"leave {key} out, or write type: {owner}"
    if kind == "tiled" and key in ("aspect", "pixels"):
        return f"a tiled wall's tiles give its {key}", f"leave {key} out"
    if kind == "projected":
        why = (
            "a projected image has as much light as its projector gives"
            if key == "luminance"
            else f"{NAMES[kind]} has no {key}"
        )
        return why, f"leave {key} out"
    return f"{NAMES[kind]} has no {key}", f"leave {key} out"


def _loudspeakers(front: Any, screens: list, room: Any, complain: Complain) -> None:
    speakers = front.loudspeakers
    if speakers is None:
        return
    opaque = [screen.type for screen in screens if screen.type in ("panel", "tiled")]
    if opaque and speakers.place == "behind" and "place" in speakers.written:
        complain(
            ("front", "loudspeakers", "place"),
            f"no sound comes through {NAMES[opaque[0]]}",
            "write beside, under or over",
        )
    if "spread" in speakers.written and speakers.place == "beside":
        complain(
            ("front", "loudspeakers", "spread"),
            "the spread of loudspeakers beside the image follows from frame, gap and cabinets",
            "leave spread out",
            key=True,
        )
    if speakers.apart is not None:
        _apart(speakers, bool(opaque) and len(opaque) == len(screens), complain)
    if speakers.z is not None:
        _axes(speakers, bool(opaque) and len(opaque) == len(screens), room, complain)


def _apart(speakers: Any, opaque: bool, complain: Complain) -> None:
    """How far apart the loudspeakers are, which those beside an image have not of their own."""
    path = ("front", "loudspeakers", "apart")
    if speakers.place == "beside" or (speakers.place == "behind" and opaque):
        complain(path, "how far apart loudspeakers beside the image are follows from it", "leave apart out", key=True)
    elif "spread" in speakers.written:
        complain(path, "how far apart the loudspeakers are is said twice", "keep one of spread and apart", key=True)


def _axes(speakers: Any, opaque: bool, room: Any, complain: Complain) -> None:
    """The height of the loudspeakers' axes, which only those behind an image have of their own."""
    if speakers.place != "behind" or opaque:
        complain(
            ("front", "loudspeakers", "z"),
            f"the height of loudspeakers {'beside' if speakers.place == 'behind' else speakers.place} the image follows from it",
            "leave z out",
            key=True,
        )
    elif room is not None and beyond(speakers.z, room.height):
        complain(
            ("front", "loudspeakers", "z"),
            "the loudspeakers are above the ceiling",
            "write their height above the floor",
        )


def _projector(file: Any, complain: Complain) -> None:
    projector, room = file.projector, file.room
    for place, one in variants(projector, ("projector",)):
        for key in ("throw_ratio", "lens_offset"):
            ends = getattr(one, key)
            if ends is not None and None not in ends and ends[0] > ends[1]:
                remedy = "write [least, greatest]"
                complain(place(key), "the range is empty, the first is more than the second", remedy)
    places = [key for key in ("y", "behind") if key in projector.written]
    if len(places) == 2:
        complain(("projector", "behind"), "'behind' beside 'y'", "keep one of them", key=True)
    elif not places:
        mistyped = [
            n
            for n in projector.extra
            if did_you_mean(n, projector.keys) in ("did you mean 'y'?", "did you mean 'behind'?")
        ]
        if not mistyped:
            complain(
                ("projector",),
                "'y' is missing",
                "add y: (the lens, from the front wall), or behind: for a shelf behind the rear wall",
            )
    if room is None:
        return
    if "y" in projector.written and beyond(projector.y, room.length):
        complain(("projector", "y"), "the lens is behind the rear wall", "write behind: for a shelf behind that wall")
    if "z" in projector.written and beyond(projector.z, room.height):
        complain(("projector", "z"), "the lens is above the ceiling", "write its height above the floor")


def beyond(place: Any, most: float | None) -> bool:
    """Whether all that a decision may be is more than what the room has."""
    if place is None or most is None:
        return False
    return ends_of(place)[0] > most
