"""A problem file with other values at some of its paths, read and checked as if it said so itself.

A path is the way to a value in the file: ``room.length``, ``room.doors.entry.hinge``,
``front.screen.width.to``, ``limits.listening_distance.at_least``, ``goals.3.weight``. Items of a list
answer to their name, type or measure where only one has it, and to their number, from 1. Decisions
answer to their short names too: ``screen.width``, ``row1.y``; and a part that has a list of things to
choose from stands for the one that is taken: ``screen``, ``chair``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, get_args, get_origin

from pydantic import BaseModel

from optimiser.errors import QuantityError, UsageError, did_you_mean
from optimiser.measures import catalogue
from optimiser.problem import written
from optimiser.problem.decisions import DECISIONS, Words, bounds_of, split_row, with_fixed
from optimiser.problem.fields import Decides, Designs, FormatNumber, Later, OneOf, Reader, RowPlaces
from optimiser.problem.items import LISTED
from optimiser.problem.model import Problem
from optimiser.problem.read import problem_of
from optimiser.problem.readable import model_in
from optimiser.problem.walls import FACES, carried, in_file
from optimiser.problem.yaml_reader import Plain, Route, Source, read_text
from optimiser.quantity import parse

WORD = "word"
"""The kind of what is no quantity."""

_ENDS = ("from", "to")
_NAMES = ("name", "type", "measure")
_LISTS = {
    "front.screen": "screen",
    "projector": "projector",
    "front.loudspeakers": "loudspeakers",
    "seating.chair": "chair",
} | {name: name for name in LISTED}
"""Paths of parts that may have a list, and the decision that chooses from it."""


@dataclass(frozen=True)
class Spot:
    """A place in a file where a text can stand: the whole path, and the kind of quantity due there; for some
    words, all that can stand there. Without a ``route`` it is a decision: what is taken from a list, or one that several
    screens have."""

    path: str
    route: Route
    kind: str
    words: tuple[str, ...] = ()


@lru_cache(maxsize=8)
def _source(text: str, file: str) -> Source:
    return read_text(text, file)


def spot(text: str, file: str, path: str) -> Spot:
    """The place that a path leads to in the text of a problem file. Raises UsageError."""
    return _spot(_source(text, file).value, path)


def text_at(text: str, file: str, path: str) -> str | None:
    """What a file's text says at a path; None where it says nothing there, or more than a word or number."""
    source = _source(text, file)
    found = source.at(_spot(source.value, path).route)
    return found if isinstance(found, str) else None


def with_texts(text: str, file: str, changes: Mapping[str, str]) -> Problem:
    """The problem of a file's text with other texts at some paths, all of them at once. What reaches a wall that is
    moved goes with it, unless it is among what changes itself.

    Raises UsageError for a path that leads nowhere, ProblemFileError where the file would no longer
    make sense.
    """
    source = _source(text, file)
    value = deepcopy(source.value)
    taken = {}
    spots = {path: _spot(value, path) for path in changes}
    _carry(source, value, {spots[path].path: new for path, new in changes.items()})
    for path, new in changes.items():
        found = spots[path]
        if found.route:
            _put(value, found.route, new)
        else:
            taken[found.path] = new
    problem = problem_of(replace(source, value=value, faults=list(source.faults)))
    for name, thing in taken.items():
        problem = with_fixed(problem, name, thing)
    return problem


# --- finding ------------------------------------------------------------------------------------


def _spot(value: Plain, path: str) -> Spot:
    path = path.strip()
    if path in _LISTS:
        return Spot(_LISTS[path], (), WORD, _things(value, path))
    for full in (path, f"front.{path}", f"seating.{path}", f"seating.place.{path}"):
        if full.startswith("front.screen.") and (kinds := _kinds_of_screen(value)):
            return _of_any_screen(path, full.removeprefix("front."), kinds)
        found = _below(value, written.ProblemFile, full, ())
        if found is not None:
            return Spot(full, *found)
    known = [".".join(steps) for steps in _paths(value, written.ProblemFile)]
    known = [one for one in known if one not in (path, "format", "designs")]
    raise UsageError(f"unknown input '{path}': {did_you_mean(path, known)}")


def _kinds_of_screen(value: Plain) -> tuple[str, ...]:
    """The kinds of screen that a file lists; none where it has one screen, or none."""
    front = value.get("front") if isinstance(value, dict) else None
    listed = front.get("screens") if isinstance(front, dict) else None
    there = listed if isinstance(listed, list) else []
    return tuple(str(one["type"]) for one in there if isinstance(one, dict) and one.get("type"))


def _of_any_screen(path: str, name: str, kinds: tuple[str, ...]) -> Spot:
    """What a file that lists several screens has no place for: a decision by its name, whichever screen it is of.
    Raises UsageError for what each of them says by itself."""
    if name not in DECISIONS:
        own = " or ".join(f"front.screens.{kind}.{name.removeprefix('screen.')}" for kind in kinds)
        raise UsageError(f"'{path}': the problem file has several screens: write {own}")
    bounds = bounds_of(name)
    return Spot(name, (), bounds.kind, bounds.words if isinstance(bounds, Words) else ())


def _things(value: Plain, path: str) -> tuple[str, ...]:
    """The names of the things in the list of a part. Raises UsageError where it has none."""
    part: Plain = value
    for step in next(full for full, name in _LISTS.items() if name == _LISTS[path]).split("."):
        around, part = part, part.get(step) if isinstance(part, dict) else None
    kinds = around.get("screens") if path.endswith("screen") and isinstance(around, dict) else None
    parts = [part, *(kinds if isinstance(kinds, list) else [])]
    lists = [one["choose"] for one in parts if isinstance(one, dict) and isinstance(one.get("choose"), list)]
    names = [str(one["name"]) for listed in lists for one in listed if isinstance(one, dict) and one.get("name")]
    if not names:
        raise UsageError(f"{path}: the problem file has no list of these to choose from")
    return tuple(names)


Found = tuple[Route, str, tuple[str, ...]] | None
"""A route, the kind of quantity there, and all words that can stand there, where they are known."""


def _below(value: Plain, model: type[BaseModel], rest: str, route: Route) -> Found:
    """The place at the path ``rest`` below a mapping, and the kind of quantity there."""
    head, _, tail = rest.partition(".")
    there = value if isinstance(value, dict) else {}
    field = model.model_fields.get(head)
    if field is None:  # an option of the measure that a limit or goal is about
        known = model.model_config.get("extra") == "allow" and head in there and not tail
        return ((*route, head), WORD, ()) if known else None
    inner, here = there.get(head), (*route, head)
    inside, many = model_in(field.annotation)
    if inside is not None and not many:
        return _below(inner, inside, tail, here)
    if inside is not None:
        at, tail = _item(inner, tail)
        return None if at is None else _below(inner[at], inside, tail, (*here, at))  # type: ignore[index]
    return _at_field(inner, field.annotation, list(field.metadata), tail, here, there)


def _at_field(inner: Plain, annotation: Any, metadata: list, tail: str, route: Route, around: dict) -> Found:
    reader = next((m for m in metadata if isinstance(m, Reader)), None)
    if reader is None:  # a list of values: from and to, or by number
        item = next((a for a in get_args(annotation) if get_args(a)), None)
        count = len(inner) if isinstance(inner, list) else 0
        names = {end: at for at, end in enumerate(_ENDS)} if count == 2 else {}
        names |= {str(at + 1): at for at in range(count)}
        if item is None or tail not in names:
            return None
        return _at_field(None, item, list(get_args(item)[1:]), "", (*route, names[tail]), around)
    if isinstance(reader, RowPlaces):
        return ((*route, tail), bounds_of(tail).kind, ()) if split_row(tail) else None
    if isinstance(reader, (Designs, FormatNumber)):
        return None
    if tail:  # an end of a decision's range
        ranged = isinstance(reader, Decides) and isinstance(inner, dict) and tail in _ENDS and tail in inner
        return ((*route, tail), _kind(reader, route, around), ()) if ranged else None
    return route, _kind(reader, route, around), _words(reader)


def _kind(reader: Reader, route: Route, around: dict) -> str:
    if isinstance(reader, Later):
        measure = catalogue().get(str(around.get("measure")))
        kind = WORD if measure is None else measure.quantity
        return "number" if kind == "count" and route[-1] == "fade" else kind
    bounds = getattr(reader, "bounds", None)
    return WORD if bounds is None else bounds.kind


def _words(reader: Reader) -> tuple[str, ...]:
    """All words that a reader takes, if it takes certain words only."""
    if isinstance(reader, OneOf):
        return reader.words
    bounds = getattr(reader, "bounds", None)
    return bounds.words if isinstance(bounds, Words) else ()


def _item(items: Plain, rest: str) -> tuple[int | None, str]:
    """The item of a list that a path goes on with, and what is left of the path."""
    for name, at in _names(items):
        if rest == name or rest.startswith(f"{name}."):
            return at, rest[len(name) + 1 :]
    called = [str(at + 1) for at, name in enumerate(_called(items)) if name == rest.partition(".")[0]]
    if called:
        raise UsageError(
            f"several are called '{rest.partition('.')[0]}': write the number of one, {' or '.join(called)}"
        )
    return None, rest


def _names(items: Plain) -> list[tuple[str, int]]:
    """What the items of a list answer to: longer names first, numbers last."""
    if not isinstance(items, list):
        return []
    names = _called(items)
    own = [(name, at) for at, name in enumerate(names) if name is not None and names.count(name) == 1]
    return sorted(own, key=lambda pair: -len(pair[0])) + [(str(at + 1), at) for at in range(len(items))]


def _called(items: Plain) -> list[str | None]:
    """What each item of a list is called, if anything."""
    there = items if isinstance(items, list) else []
    keyed = [item if isinstance(item, dict) else {} for item in there]
    return [next((str(item[key]) for key in _NAMES if item.get(key)), None) for item in keyed]


def _paths(value: Plain, model: type[BaseModel]) -> Iterator[tuple[str, ...]]:
    """Paths that could be meant, for messages."""
    there = value if isinstance(value, dict) else {}
    for key, field in model.model_fields.items():
        inside, many = model_in(field.annotation)
        if inside is None:
            ends = _ENDS if get_origin(field.annotation) is list else ("",)
            yield from ((key, end) if end else (key,) for end in ends)
        elif not many:
            yield from ((key, *steps) for steps in _paths(there.get(key), inside))
        else:
            for name, at in _names(there.get(key)):
                yield from ((key, name, *steps) for steps in _paths(there[key][at], inside))


# --- changing -----------------------------------------------------------------------------------


def _carry(source: Source, value: Plain, changes: Mapping[str, str]) -> None:
    """Write into a file's value where all that goes with a wall, or the ceiling, is when that is moved."""
    moved = {path: new for path, new in changes.items() if path in FACES}
    before = problem_of(replace(source, faults=list(source.faults))) if moved else None
    for path, text in moved.items():
        try:
            new = float(parse("length", text))
        except QuantityError:
            return  # told of when the file is read
        for steps, place in carried(before, path, new).items():
            _put(value, in_file(steps), f"{place!r} m")


def _put(value: Any, route: Route, text: str) -> None:
    for step in route[:-1]:
        if isinstance(step, str) and not isinstance(value.get(step), (dict, list)):
            value[step] = {}
        value = value[step]
    value[route[-1]] = text
