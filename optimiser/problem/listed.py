"""Lists of things in a problem file: what must agree in them, and the data that they become.

As in checks.py: what is missing or unreadable is None, has been reported already, and is passed over.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from types import SimpleNamespace
from typing import Any

from optimiser.errors import did_you_mean
from optimiser.problem import model
from optimiser.problem.about import about
from optimiser.problem.items import LISTED

Complain = Callable[..., None]
Path = tuple[Any, ...]

WORDS = {
    "screen": "screen",
    "projector": "projector",
    "loudspeakers": "loudspeakers",
    "chair": "chairs",
    "panels": "absorbing panels",
    "tiles": "tiles",
}
"""What things are called that the file gives no name."""

NEEDED = {"projector": ("lumens", "throw_ratio")}
"""Keys without a default that a list may give instead of its part."""

ABOUT = ("name", "price")


class Place:
    """Where the keys of a part stand, some of which a thing of its list may give."""

    def __init__(self, path: Path, thing: Path | None = None, own: frozenset[str] = frozenset()) -> None:
        self.whole = thing or path
        self.listed = thing is not None
        self._path, self._own = path, own

    def __call__(self, key: str) -> Path:
        return (*(self.whole if key in self._own else self._path), key)


def variants(part: Any, path: Path) -> Iterator[tuple[Place, Any]]:
    """A part as it is; or, if it has a list, as it is with each of its things."""
    things = getattr(part, "choose", None)
    if not things:
        yield Place(path), part
        return
    for at, thing in enumerate(things):
        if thing is not None:
            own = {key: value for key, value in vars(thing).items() if key in thing.written}
            written = part.written | thing.written
            place = Place(path, (*path, "choose", at), thing.written)
            yield place, SimpleNamespace(**{**vars(part), **own, "written": written})


def parts_of(file: Any) -> Iterator[tuple[str, Path, Any]]:
    """Every part of a file that may have a list, that could be read: what it is of, and where it stands."""
    front, seating = file.front, file.seating
    if front is not None:
        alone = getattr(front, "screen", None)
        if alone is not None:
            yield "screen", ("front", "screen"), alone
        for at, screen in enumerate(front.screens or ()):
            if screen is not None:
                yield "screen", ("front", "screens", at), screen
        if front.loudspeakers is not None:
            yield "loudspeakers", ("front", "loudspeakers"), front.loudspeakers
    if file.projector is not None:
        yield "projector", ("projector",), file.projector
    if seating is not None and seating.chair is not None:
        yield "chair", ("seating", "chair"), seating.chair


# --- checks -----------------------------------------------------------------------------------


def check_lists(file: Any, complain: Complain) -> None:
    """Run the checks on all lists."""
    names: dict[str, set[str]] = {}
    for of, path, part in parts_of(file):
        things = getattr(part, "choose", None)
        if "choose" in part.written and things is not None:
            _list(of, part, path, complain)
            _names(things, path, names.setdefault(of, set()), complain)
        for key in NEEDED.get(of, ()):
            _needed(part, path, key, complain)


def _list(of: str, part: Any, path: Path, complain: Complain) -> None:
    things = [(at, thing) for at, thing in enumerate(part.choose) if thing is not None]
    if not part.choose:
        complain((*path, "choose"), "there is nothing to choose from", "list one thing or more")
    if of == "screen" and part.type == "tiled":
        complain((*path, "choose"), "a tiled wall is chosen by its columns and tile_rows", "leave choose out", key=True)
    for key in ABOUT:
        if key in part.written:
            complain((*path, key), f"'{key}' beside 'choose'", f"write the {key} of each thing in the list", key=True)
    keys = dict.fromkeys(key for _, thing in things for key in thing.keys if key in thing.written and key != "name")
    for key in keys:
        lacking = [at for at, thing in things if key not in thing.written]
        if key in part.written and key not in ABOUT:
            complain((*path, key), f"'{key}' beside 'choose' and in the list too", "keep one of them", key=True)
            continue
        other = {"width": "diagonal", "diagonal": "width"}.get(key) if of == "screen" else None
        for at in lacking:
            if other is not None and other in part.choose[at].written:
                if key == "width":  # told once of both
                    words = f"'{other}', where others of the list have '{key}'"
                    complain((*path, "choose", at, other), words, "write the one or the other in all of them", key=True)
                continue
            once = "" if key == "price" else ", or write it once beside choose"
            complain((*path, "choose", at), f"'{key}' is missing, which others of the list have", f"add {key}:{once}")


def _names(things: list, path: Path, taken: set[str], complain: Complain) -> None:
    for at, thing in enumerate(things):
        if thing is None or thing.name is None:
            continue
        if thing.name in taken:
            complain((*path, "choose", at, "name"), f"a second '{thing.name}'", "give each a name of its own")
        taken.add(thing.name)


def _needed(part: Any, path: Path, key: str, complain: Complain) -> None:
    listed = any(thing is None or key in thing.written for thing in getattr(part, "choose", None) or ())
    slips = [name for name in getattr(part, "extra", ()) if did_you_mean(name, part.keys) == f"did you mean '{key}'?"]
    if key not in part.written and not listed and not slips:
        complain(path, f"'{key}' is missing", f"add {key}: ({about(part.model, key)})")


def check_names(file: Any, settings: dict[str, Any], path: Path, complain: Complain) -> None:
    """Whether the things that a design of one's own names are in the lists."""
    for of in LISTED:
        if of not in settings:
            continue
        known = [t.name for o, _, part in parts_of(file) for t in getattr(part, "choose", None) or () if o == of and t]
        if not known:
            complain((*path, of), f"the file has no list to choose the {WORDS[of]} from", "leave this out", key=True)
        elif settings[of] not in known and None not in known:
            complain((*path, of), f"'{settings[of]}' is not in the list", did_you_mean(settings[of], known))


# --- data -------------------------------------------------------------------------------------


def listings(file: Any, mark: Callable[..., model.Mark]) -> tuple[model.Listing, ...]:
    """All lists of a file without faults, and what has a price without a choice."""
    found: list[model.Listing] = []
    for of, path, part in parts_of(file):
        kind = part.type if of == "screen" else ""
        if part.choose:
            first = sum(len(one.items) for one in found if one.of == of and one.pick is not None)
            items = tuple(
                model.Item(first + at, thing.name, thing.price, _own(thing), mark(*path, "choose", at))
                for at, thing in enumerate(part.choose)
            )
            numbers, names = tuple(float(item.number) for item in items), tuple(item.name for item in items)
            found.append(model.Listing(of, items, model.Choice(numbers, names, mark(*path, "choose")), kind))
        elif part.price is not None:
            found.append(_alone(of, part, kind, mark(*path)))
        tile = getattr(part, "tile", None)
        if tile is not None and tile.price is not None:
            found.append(_alone("tiles", tile, kind, mark(*path, "tile")))
    panels = file.room.treatment
    if panels is not None and panels.price is not None:
        found.append(_alone("panels", panels, "", mark("room", "treatment")))
    return tuple(found)


def _alone(of: str, part: Any, kind: str, where: model.Mark) -> model.Listing:
    name = getattr(part, "name", None) or WORDS[of]
    return model.Listing(of, (model.Item(0, name, part.price, (), where),), None, kind)


def _own(thing: Any) -> tuple[tuple[str, Any], ...]:
    given = ((key, getattr(thing, key)) for key in thing.keys if key in thing.written and key not in ABOUT)
    return tuple((key, tuple(value) if isinstance(value, list) else value) for key, value in given)
