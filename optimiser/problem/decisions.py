"""The decisions of a design by their public names, as files, ``--fix`` and ``--set`` write them.

One table says what kind of quantity each is and how far it may go; files and command line both
read values through it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from optimiser.errors import QuantityError, UsageError, did_you_mean, of_each
from optimiser.physics.arrangements import ARRANGEMENTS
from optimiser.problem.items import item_names, listing_of, restricted
from optimiser.problem.lining import area_of, most_panels, too_many
from optimiser.problem.model import Choice, Decision, Fixed, Problem, Range, Room, Screen, Seating
from optimiser.quantity import KINDS, Number, parse, show

MOST_ROWS = 8
MOST_SEATS = 40
LARGEST = 100  # m; a larger room is a slip of the pen


@dataclass(frozen=True)
class Bounds:
    """A kind of quantity and the values that make sense for it (SI). ``above`` is left out itself."""

    kind: str
    least: Number | None = None
    above: Number | None = None
    most: Number | None = None

    @property
    def example(self) -> str:
        """A value as a file may write it."""
        return KINDS[self.kind].example

    def read(self, text: object, *, signed: bool = False) -> float:
        """Read a text and check it. Raises QuantityError."""
        value = parse(self.kind, text, signed=signed)  # type: ignore[arg-type]
        bare = str(text).strip()
        if self.kind == "ratio" and bare.isdigit() and self.most is not None and value / 100 <= self.most < value:
            most = _shown(self.kind, self.most)
            raise QuantityError(
                f"'{bare}' is too large", f"it must be at most {most}; write '{bare} %', if that is meant"
            )
        self.check(value, f"'{bare}'")
        return float(value)

    def check(self, value: Number, shown: str) -> None:
        """Raise QuantityError where ``value`` is out of bounds."""
        value = float(value)  # a bound such as 1.2 is the float next to it, a fraction may be 6/5
        if self.above is not None and value <= self.above:
            least = "zero" if self.above == 0 else _shown(self.kind, self.above)
            raise QuantityError(f"{shown} is too small", f"it must be more than {least}")
        if self.least is not None and value < self.least:
            raise QuantityError(f"{shown} is too small", f"it must be at least {_shown(self.kind, self.least)}")
        if self.most is not None and value > self.most:
            raise QuantityError(f"{shown} is too large", f"it must be at most {_shown(self.kind, self.most)}")


@dataclass(frozen=True)
class Words(Bounds):
    """A decision among words; its value in a design is the word's number in this list."""

    kind: str = "word"
    words: tuple[str, ...] = ()

    @property
    def example(self) -> str:
        return self.words[0]

    def read(self, text: object, *, signed: bool = False) -> float:
        if str(text).strip() not in self.words:
            raise QuantityError(f"'{str(text).strip()}'", did_you_mean(str(text).strip(), self.words))
        return float(self.words.index(str(text).strip()))

    def check(self, value: Number, shown: str) -> None:
        if value not in range(len(self.words)):
            raise QuantityError(f"{shown} stands for none of the words", "known here: " + ", ".join(self.words))


@dataclass(frozen=True)
class Things(Bounds):
    """A decision among the things of a list in the file, written by their names."""

    kind: str = "word"

    @property
    def example(self) -> str:
        return "the name of a thing in its list"

    def read(self, text: object, *, signed: bool = False) -> Any:
        """The name itself: only a problem knows the number that it stands for."""
        if not str(text).strip():
            raise QuantityError("nothing is written here", f"write {self.example}")
        return " ".join(str(text).split())


def _shown(kind: str, value: Number) -> str:
    if kind == "length":
        return f"{float(value):g} m ({show(kind, value, 'ft-in')})"
    return show(kind, value)


SIZE = Bounds("length", above=0, most=LARGEST)
PLACE = Bounds("length", least=0, most=LARGEST)

SCREEN_TYPES = ("projected", "panel", "tiled")
ARRANGEMENT_NAMES = (*ARRANGEMENTS, "own")
"""Arrangements of bass loudspeakers; "own" are positions that the file gives."""

DECISIONS: dict[str, Bounds] = {
    "screen.type": Words(words=SCREEN_TYPES),
    "screen.width": SIZE,
    "screen.aspect": Bounds("aspect", least=1, most=4),
    "screen.diagonal": SIZE,
    "screen.columns": Bounds("count", least=1, most=100),
    "screen.tile_rows": Bounds("count", least=1, most=100),
    "screen.bezel": Bounds("length", least=0, most=1),
    "screen.bottom": PLACE,
    "screen.centre": SIZE,
    "baffle.depth": PLACE,
    "baffle.width": SIZE,
    "baffle.left": PLACE,
    "baffle.right": SIZE,
    "rows": Bounds("count", least=1, most=MOST_ROWS),
    "seating.centre": SIZE,
    "seating.stagger": Bounds("ratio", least=-1, most=1),
    "platform.behind": PLACE,
    "aisle.side": Words(words=("left", "right")),
    "projector.y": PLACE,
    "projector.z": PLACE,
    "loudspeakers.z": PLACE,
    "loudspeakers.apart": SIZE,
    "bass.arrangement": Words(words=ARRANGEMENT_NAMES),
    "treatment.panels": Bounds("count", least=0, most=1000),
    "screen": Things(),
    "projector": Things(),
    "loudspeakers": Things(),
    "chair": Things(),
}
ROW_DECISIONS: dict[str, Bounds] = {
    "y": SIZE,
    "platform": PLACE,
    "seats": Bounds("count", least=1, most=MOST_SEATS),
    "risers": Bounds("count", least=1, most=20),
}
_OF_ROW = re.compile(r"row([1-9][0-9]*)\.(" + "|".join(ROW_DECISIONS) + ")")


def split_row(name: str) -> tuple[int, str] | None:
    """``row2.y`` as (2, "y"); None for a decision of no single row."""
    match = _OF_ROW.fullmatch(name)
    return (int(match[1]), match[2]) if match and int(match[1]) <= MOST_ROWS else None


def names(rows: int = MOST_ROWS) -> tuple[str, ...]:
    """All names of decisions with up to ``rows`` rows."""
    of_rows = (f"row{n}.{name}" for n in range(1, rows + 1) for name in ROW_DECISIONS)
    return (*DECISIONS, *of_rows)


def bounds_of(name: str, rows: int = MOST_ROWS) -> Bounds:
    """What may be written for a decision. Raises UsageError naming the nearest known one with up to ``rows`` rows."""
    row = split_row(name)
    found = ROW_DECISIONS[row[1]] if row else DECISIONS.get(name)
    if found is None:
        raise UsageError(f"unknown decision '{name}': {nearest(name, rows)}")
    return found


def nearest(name: str, rows: int = MOST_ROWS) -> str:
    """The remedy for an unknown name of a decision, where there are up to ``rows`` rows."""
    row, _, own = name.partition(".")
    if re.fullmatch(r"row[0-9]+", row) and not 1 <= int(row[3:9]) <= rows:
        return f"there is no row {row[3:]}: there can be {rows} at most"
    if name in ROW_DECISIONS:
        return f"did you mean 'row1.{name}'?"
    if re.fullmatch(rf"row[1-{MOST_ROWS}]", row):
        near = did_you_mean(own, ROW_DECISIONS)
        if near.startswith("did you"):
            return f"did you mean '{row}.{near.split(chr(39))[1]}'?"
        return "known for a row: " + ", ".join(ROW_DECISIONS)
    if name == "projector.behind":
        return "write 'projector.y', the lens from the front wall"
    for decision, measure in MEASURED.items():
        if name == measure:
            return f"that is a measure; its decision is '{decision if '.' in decision else f'row1.{decision}'}'"
    _, dot, tail = name.partition(".")
    while dot:  # a path of the file: seating.rows, front.screen.width, seating.seats
        if tail in names(rows) or tail in ROW_DECISIONS:
            return f"did you mean '{tail if tail in names(rows) else f'row1.{tail}'}'?"
        _, dot, tail = tail.partition(".")
    return did_you_mean(name, names(rows))


MEASURED = {
    "screen.width": "image_width",
    "screen.diagonal": "image_diagonal",
    "baffle.width": "baffle_width",
    "treatment.panels": "treated_area",
    "y": "length_fraction",
    "platform": "platform_height",
    "seats": "seat_count",
}
"""Decisions and those of rows with the measure that grows as they do."""


LISTS_MEASURES = "optimiser measures"
"""The command that lists all measures."""


def nearest_measure(name: str, known: Iterable[str]) -> str:
    """The remedy for an unknown name of a measure, which may be that of a decision."""
    row = split_row(name)
    if row is None and ("." not in name or name not in DECISIONS):
        return did_you_mean(name, known, lists=LISTS_MEASURES)
    measure = MEASURED.get(row[1] if row else name)
    if measure is None:
        return "that is a decision, and no measure tells it alone"
    whose = f", of row {row[0]}" if row and row[1] != "seats" else ", of all rows" if row else ""
    return f"that is a decision; its measure is '{measure}'{whose}"


def kind_of(name: str) -> str:
    """The kind of quantity of a decision. Raises UsageError naming the nearest known one."""
    return bounds_of(name).kind


def written_value(problem: Problem, name: str, value: float) -> str:
    """A decision's value as the problem's file writes it."""
    if isinstance(bounds_of(name), Things):
        return next(known for known, number in item_names(problem, name).items() if number == round(value))
    return plain_value(name, value, problem.show)


def plain_value(name: str, value: float, system: str) -> str:
    """A decision's value as any file writes it: of all decisions but those among the things of a list."""
    bounds = bounds_of(name)
    if name == "screen.diagonal" and system == "ft-in":
        system = "in"  # no panel is sold by its feet
    return bounds.words[round(value)] if isinstance(bounds, Words) else show(bounds.kind, value, system)


def read_value(problem: Problem, name: str, value: str | float | Fraction) -> float:
    """The SI value of a decision from text, or checked if it is an SI number. Raises UsageError."""
    bounds = bounds_of(name, max(problem.seating.rows))
    try:
        if isinstance(bounds, Things):
            return float(_number_of(problem, name, value))
        if isinstance(value, str):
            return bounds.read(value)
        if not abs(float(value)) < float("inf"):
            raise QuantityError(f"{value} is not a number")
        bounds.check(value, f"{value:g}" if isinstance(bounds, Words) else show(bounds.kind, value))
        if bounds.kind == "count" and value != int(value):
            raise QuantityError(f"{value} is not a whole number")
        return float(value)
    except QuantityError as error:
        raise UsageError(f"{name}: {error}") from None


def _number_of(problem: Problem, name: str, value: str | float | Fraction) -> int:
    """The number of a thing of a list, by its name or by the number itself."""
    known = item_names(problem, name)
    kinds = {one.type for one in problem.screens} if name == "screen" else set()
    if isinstance(value, str) and value.strip() in kinds - {*known}:  # answers call both the screen
        remedy = f"it is a kind of screen: write screen.type={value.strip()}"
        raise QuantityError(f"'{value.strip()}' is not in the list", remedy)
    if not known:
        raise UsageError(f"{name}: the problem file has no list to choose from")
    if not isinstance(value, str):
        if value not in known.values():
            raise QuantityError(f"{value} is no thing of the list")
        return int(value)
    if value.strip() not in known:
        alone = [
            one.type
            for one in problem.listings
            if one.pick is None and one.of == name and one.items[0].name == value.strip()
        ]
        if alone and alone[0]:
            raise QuantityError(
                f"'{value.strip()}' is not in the list",
                f"it is the one screen of its kind: write screen.type={alone[0]}",
            )
        raise QuantityError(f"'{value.strip()}' is not in the list", did_you_mean(value.strip(), known))
    return known[value.strip()]


def ends_of(decision: Decision) -> tuple[float, float]:
    """Least and greatest value that a decision may take."""
    if isinstance(decision, Range):
        return decision.low, decision.high
    values = decision.values if isinstance(decision, Choice) else (decision.value,)
    return min(values), max(values)


def with_fixed(problem: Problem, name: str, value: str | float | Fraction) -> Problem:
    """The problem with one decision pinned to ``value`` (text with its unit, or a number in SI).

    It is no longer what the file says, and carries no digest of that. Raises UsageError where the name is unknown, the
    value unreadable, or the problem has no such decision.
    """
    return replace(_pinned(problem, name, value), said=None)


def _pinned(problem: Problem, name: str, value: str | float | Fraction) -> Problem:
    fixed = Fixed(read_value(problem, name, value))
    if isinstance(DECISIONS.get(name), Things):
        problem = _projected_only(problem, name) if name == "projector" else problem
        return restricted(problem, name, int(fixed.value))
    row = split_row(name)
    if row:
        return _with_row_fixed(problem, name, row[0], fixed)
    part, _, key = name.rpartition(".")
    pinned: Any = {key: fixed}
    if name == "rows":
        seating = replace(problem.seating, rows=(int(fixed.value),))
        return replace(problem, seating=seating)
    if part == "projector":
        if problem.projector is None:
            raise UsageError(f"{name}: the problem file has no projector")
        if name == "projector.y":
            pinned["behind"] = None
        problem = _projected_only(problem, name)
        return replace(problem, projector=replace(problem.projector, **pinned))
    if part == "loudspeakers":
        places = {s.type: problem.loudspeakers.place_with(s) for s in problem.screens}
        kept = [s for s in problem.screens if name in own_decisions(places[s.type])]
        if not kept:
            what = "their height follows" if key == "z" else "how far apart they are follows"
            raise UsageError(
                f"{name}: these loudspeakers stand {places[problem.screen.type]} the image, and {what} from it"
            )
        problem = _with_screens(problem, kept)
        return replace(problem, loudspeakers=replace(problem.loudspeakers, **pinned))
    if part == "platform":
        platforms = replace(problem.seating.platforms, **pinned)
        return replace(problem, seating=replace(problem.seating, platforms=platforms))
    if part in ("seating", "aisle"):
        return _with_seating_fixed(problem, name, key, fixed)
    if part == "bass":
        if problem.bass is None:
            raise UsageError(f"{name}: the problem file has no bass")
        if ARRANGEMENT_NAMES[int(fixed.value)] == "own" and not problem.bass.positions:
            raise UsageError(f"{name}: own means positions that the problem file gives, and it has none: list them")
        return replace(problem, bass=replace(problem.bass, **pinned))
    if part == "treatment":
        return replace(problem, room=_with_panels_fixed(problem.room, name, fixed))
    if part == "baffle":
        _refuse_other_baffle(problem, name)
        return replace(problem, baffle=replace(problem.baffle, **pinned))
    problem = _with_screen_fixed(problem, name, key, fixed)
    if name == "screen.centre":
        problem = replace(problem, baffle=replace(problem.baffle, centred=False))
    return problem


def own_decisions(place: str) -> tuple[str, ...]:
    """The decisions that front loudspeakers in a place have of their own: in all others the image says where they are."""
    return {"behind": ("loudspeakers.z", "loudspeakers.apart"), "beside": ()}.get(place, ("loudspeakers.apart",))


def with_all_fixed(problem: Problem, values: Mapping[str, str | float | Fraction]) -> Problem:
    """The problem with several decisions pinned. UsageError with all that is wrong with any of them, a line each."""

    def pin(item: tuple[str, str | float | Fraction]) -> None:
        nonlocal problem
        problem = with_fixed(problem, *item)

    # the kind of screen and the number of rows first: a decision that they have not is then told of as that, in
    # whatever order they are given
    of_each(pin, sorted(values.items(), key=lambda item: item[0] not in ("screen.type", "rows")))
    return problem


def read_values(problem: Problem, texts: Mapping[str, str]) -> dict[str, float]:
    """The SI values of several decisions from texts, no row outside the room. UsageError with all that is wrong, a
    line each."""

    def read(item: tuple[str, str]) -> tuple[str, float]:
        name, value = item[0], read_value(problem, *item)
        row, length = split_row(name), problem.room.length
        if row is not None and row[1] == "y" and value > length:
            far, long = (show("length", v, problem.show) for v in (value, length))
            raise UsageError(f"{name}: {far} lies outside the room, which is {long} long")
        return name, value

    return dict(of_each(read, texts.items()))


def _with_panels_fixed(room: Room, name: str, fixed: Fixed) -> Room:
    treatment, most = room.treatment, most_panels(room)
    if treatment is None or most is None:
        raise UsageError(f"{name}: the problem file has no room.treatment")
    if fixed.value > most:
        area = next(area_of(s, room) for s in room.surfaces if s.name == treatment.on)
        raise UsageError(f"{name}: {too_many(fixed.value * treatment.panel, treatment.on, area)}: {most} at most")
    return replace(room, treatment=replace(treatment, panels=fixed))


def _with_seating_fixed(problem: Problem, name: str, key: str, fixed: Fixed) -> Problem:
    seating = problem.seating
    if name == "aisle.side":
        if seating.aisle.sides in ("both", "none"):
            several = "an aisle at both sides" if seating.aisle.sides == "both" else "no aisle"
            raise UsageError(f"aisle.side: the file has {several}")
        sides = ("left", "right")[int(fixed.value)]
        return replace(problem, seating=replace(seating, aisle=replace(seating.aisle, sides=sides, picked=True)))
    return replace(problem, seating=replace(seating, **{key: fixed}))


def _refuse_other_baffle(problem: Problem, name: str) -> None:
    """Raise UsageError for an edge of a baffle that has none of its own, or the width of one that has."""
    baffle = problem.baffle
    if name in ("baffle.left", "baffle.right") and (baffle.centred or baffle.width is not None):
        raise UsageError(f"{name}: this baffle's edges follow from its width and the image's centre")
    if name == "baffle.width" and (baffle.left is not None or baffle.right is not None):
        raise UsageError("baffle.width: this baffle is decided by its edges; fix baffle.left and baffle.right")


CHOSEN_BY = {
    "projected": ("screen.width",),
    "panel": ("screen.diagonal",),
    "tiled": ("screen.columns", "screen.tile_rows"),
}
"""The decisions by which the size of each kind of screen is chosen."""


def _with_screen_fixed(problem: Problem, name: str, key: str, fixed: Fixed) -> Problem:
    """The problem with one of the screen's decisions pinned, and only the kinds of screen that have it."""
    if name == "screen.type":
        kept = [s for s in problem.screens if s.type == SCREEN_TYPES[int(fixed.value)]]
        if not kept:
            raise UsageError(f"screen.type: the file has {', '.join(s.type for s in problem.screens)} only")
        picked = problem.kind_picked or len(problem.screens) > 1
        return replace(_with_screens(problem, kept), kind_picked=picked)
    sizes = [size for several in CHOSEN_BY.values() for size in several]
    kept = [s for s in problem.screens if name not in sizes or name in CHOSEN_BY[s.type]]
    listed = {s.type: _listed_instead(problem, s, key) for s in problem.screens}
    if kept and all(listed[s.type] for s in kept):
        raise UsageError(f"{name}: the list of screens gives it; fix screen, by its name")
    kept = [s for s in kept if not listed[s.type]]
    if name == "screen.aspect":
        kept = [s for s in kept if s.type != "tiled"]
    if not kept:
        kind = problem.screen.type
        what = {"projected": "projected image", "panel": "panel", "tiled": "tiled wall"}[kind]
        sizes = " or ".join(CHOSEN_BY[kind])
        raise UsageError(f"{name}: this {what} is chosen by other decisions; fix {sizes}")
    return _with_screens(problem, [replace(s, **{key: fixed}) for s in kept])


def _projected_only(problem: Problem, name: str) -> Problem:
    """The problem with the kind of screen only that a projector lights."""
    lit = [s for s in problem.screens if s.type == "projected"]
    if not lit:
        raise UsageError(f"{name}: the image is not projected, and there is no projector")
    return _with_screens(problem, lit)


def _with_screens(problem: Problem, kept: Sequence[Screen]) -> Problem:
    """The problem with those kinds of screen only: else a design without what is pinned would count as one that has it."""
    return replace(problem, screen=kept[0], other_screens=tuple(kept[1:]))


def _listed_instead(problem: Problem, screen: Screen, key: str) -> bool:
    """Whether a list of screens gives what a decision would: their sizes, or their frames."""
    listing = listing_of(problem, "screen", screen.type)
    asked = {"width", "diagonal"} if key in ("width", "diagonal") else {key} - {"aspect"}
    return listing is not None and bool(asked & set(listing.keys))


def _with_row_fixed(problem: Problem, name: str, row: int, fixed: Fixed) -> Problem:
    most = max(problem.seating.rows)
    if row > most:
        raise UsageError(f"{name}: the problem has at most {most} row{'s' if most > 1 else ''}")
    place: dict[str, Decision] = dict(problem.seating.place)
    place[name] = fixed
    return replace(problem, seating=replace(with_rows_for(problem.seating, row), place=tuple(place.items())))


def with_rows_for(seating: Seating, row: int) -> Seating:
    """The seating with those numbers of rows only that have a ``row``: else a design without it would count as one that
    has what is asked of it. No number where the file allows no such number."""
    rows = tuple(n for n in seating.rows if n >= row)
    return replace(seating, rows=rows, asked=max(row, seating.asked))
