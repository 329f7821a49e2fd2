"""Every number and decision of a problem by the path that it has in the file, to read and to change.

``room.length``, ``room.doors.entry.hinge``, ``front.baffle.margin``, ``seating.chair.eye_height``:
what a file may say, a study can vary. Where a file has several screens to choose from, each goes by
its type: ``front.screens.panel.bezel``. A changed problem is checked as a file would be.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import lru_cache
from types import SimpleNamespace
from typing import Any, get_args, get_origin

from pydantic import BaseModel

from optimiser.errors import QuantityError, UsageError, did_you_mean
from optimiser.problem import written
from optimiser.problem.checks import check
from optimiser.problem.decisions import ROW_DECISIONS, Bounds, split_row
from optimiser.problem.front_checks import OWN
from optimiser.problem.items import each
from optimiser.problem.model import Choice, Decision, Fixed, Listing, Problem, Range
from optimiser.problem.walls import FACES, carried, widened
from optimiser.quantity import show

SECTIONS: dict[str, tuple[str, ...]] = {
    "room": ("room",),
    "baffle": ("front", "baffle"),
    "screen": ("front", "screen"),
    "loudspeakers": ("front", "loudspeakers"),
    "projector": ("projector",),
    "bass": ("bass",),
    "surround": ("surround",),
    "seating": ("seating",),
}
"""Where the file has what ``Problem`` holds under these names."""

LISTS: dict[str, tuple[str, ...]] = {
    "screen": ("front", "screen"),
    "loudspeakers": ("front", "loudspeakers"),
    "projector": ("projector",),
    "chair": ("seating", "chair"),
    "panels": ("room", "treatment"),
    "tiles": ("front", "screen", "tile"),
}
"""Where the file has what a list, or a price, is of."""

PLACED = ("", "front.", "seating.", "seating.place.")
"""What the file may have before the names of decisions."""

_IN_FILE = {"platforms": "platform"}
_ENDS = ("from", "to")
Step = str | int


@dataclass(frozen=True)
class Part:
    """One number (SI, radians) or decision of a problem, with what may stand there."""

    path: str
    value: float | Decision
    bounds: Bounds
    steps: tuple[Step, ...]  # fields and indices that lead to it from the Problem

    @property
    def kind(self) -> str:
        """The kind of quantity."""
        return self.bounds.kind

    @property
    def decided(self) -> bool:
        """Whether it is a decision; else it is a plain number."""
        return isinstance(self.value, (Fixed, Range, Choice))


@lru_cache(maxsize=8)  # asked for again for each of a problem's demands
def parts(problem: Problem) -> tuple[Part, ...]:
    """All numbers and decisions of a problem that a file can state, limits and goals apart."""
    found: list[Part] = []
    for section, path in SECTIONS.items():
        value = getattr(problem, section)
        if section == "screen" and problem.other_screens:
            for at, screen in enumerate(problem.screens):
                steps = ("screen",) if at == 0 else ("other_screens", at - 1)
                found += _below(screen, ("front", "screens", screen.type), steps, _model_at(path))
        elif value is not None:
            found += _below(value, path, (section,), _model_at(path))
    for at, listing in enumerate(problem.listings):
        found += _of_listing(problem, listing, ("listings", at, "items"))
    return tuple(found)


def part(problem: Problem, path: str) -> Part:
    """The part at a path; decisions answer to their short names too. Raises UsageError."""
    found = stated(problem, path)
    if found is None:
        raise UsageError(f"unknown input '{path}': {did_you_mean(path, [p.path for p in parts(problem)])}")
    return found


def stated(problem: Problem, path: str) -> Part | None:
    """As part(), and None where the file has no such part."""
    known = {p.path: p for p in parts(problem)}
    return next((known[full] for before in PLACED if (full := before + path) in known), None)


def with_value(problem: Problem, path: str, value: str | float | Decision) -> Problem:
    """The problem with another number or decision at a path: text with its unit, SI, or a decision.

    Raises UsageError where there is no such part, or the problem would no longer make sense.
    """
    at = part(problem, path)
    new: Any = value if isinstance(value, (Fixed, Range, Choice)) else _read(at, value)
    if at.decided and not isinstance(new, (Fixed, Range, Choice)):
        new = Fixed(new)
    elif not at.decided and isinstance(new, (Fixed, Range, Choice)):
        raise UsageError(f"{at.path}: one value is due here")
    elif isinstance(_get(problem, at.steps), int):
        new = int(new)
    changed = with_part(problem, at, new)
    if at.path in FACES:
        changed = widened(problem, with_parts(changed, carried(problem, at.path, new)))
    _refuse_nonsense(changed, at.path)
    return changed


def with_part(problem: Problem, at: Part, value: float | Decision) -> Problem:
    """The problem with something else at a part, taken as it is: neither read nor checked."""
    if at.steps == ("seating", "rows"):
        value = _counts(value if isinstance(value, (Fixed, Range, Choice)) else Fixed(value))  # type: ignore[assignment]
    return _put(problem, at.steps, value)


def with_parts(problem: Problem, new: Mapping[tuple[Step, ...], float]) -> Problem:
    """The problem with other numbers where fields and indices lead, taken as they are."""
    for steps, one in new.items():
        problem = _put(problem, steps, one)
    return problem


# --- walking ------------------------------------------------------------------------------------


def _below(value: Any, path: tuple[str, ...], steps: tuple[Step, ...], model: Any) -> Iterator[Part]:
    for field in fields(value):
        inner = getattr(value, field.name)
        key = _IN_FILE.get(field.name, field.name)
        known = model.model_fields.get(key) if model is not None else None
        if known is None or inner is None:
            continue
        here, there = (*path, key), (*steps, field.name)
        bounds = next((b for item in known.metadata if (b := getattr(item, "bounds", None)) is not None), None)
        if here == ("seating", "rows"):
            yield Part(".".join(here), _decision_of(inner), bounds, there)
        elif here == ("seating", "place"):
            for at, (name, decision) in enumerate(inner):
                yield Part(".".join((*here, name)), decision, ROW_DECISIONS[split_row(name)[1]], (*there, at, 1))
        elif isinstance(inner, (Fixed, Range, Choice)):
            yield Part(".".join(here), inner, bounds, there)
        elif is_dataclass(inner):
            yield from _below(inner, here, there, _inner(known.annotation))
        elif isinstance(inner, tuple):
            yield from _of_list(inner, here, there, known.annotation)
        elif isinstance(inner, (int, float)) and not isinstance(inner, bool) and bounds is not None:
            yield Part(".".join(here), float(inner), bounds, there)


def _of_listing(problem: Problem, listing: Listing, steps: tuple[Step, ...]) -> Iterator[Part]:
    """The numbers of the things of a list, and their prices."""
    path = LISTS[listing.of]
    if listing.of == "screen" and problem.other_screens:
        path = ("front", "screens", listing.type)
    model = _model_at(LISTS[listing.of])
    if listing.pick is not None:
        model = _inner(model.model_fields["choose"].annotation)
    for at, item in enumerate(listing.items):
        here = path if listing.pick is None else (*path, "choose", item.name)
        there = (*steps, at)
        if item.price is not None:
            yield Part(".".join((*here, "price")), item.price, _bounds(model, "price"), (*there, "price"))
        for k, (key, value) in enumerate(item.own):
            if isinstance(value, tuple):
                yield from _of_list(value, (*here, key), (*there, "own", k, 1), model.model_fields[key].annotation)
            else:
                yield Part(".".join((*here, key)), float(value), _bounds(model, key), (*there, "own", k, 1))


def _bounds(model: Any, key: str) -> Bounds:
    return next(m.bounds for m in model.model_fields[key].metadata if hasattr(m, "bounds"))


def _of_list(items: tuple, path: tuple[str, ...], steps: tuple[Step, ...], annotation: Any) -> Iterator[Part]:
    model = _inner(annotation)
    if model is None:  # two numbers, from and to; or more, which count from 1
        bounds = next(b for a in get_args(annotation) for m in get_args(a)[1:] if (b := getattr(m, "bounds", None)))
        ends = _ENDS if len(items) == 2 else tuple(str(at) for at in range(1, len(items) + 1))
        for at, (end, value) in enumerate(zip(ends, items, strict=True)):
            yield Part(".".join((*path, end)), float(value), bounds, (*steps, at))
        return
    names = [getattr(item, "name", None) for item in items]
    for at, item in enumerate(items):
        name = names[at] if names[at] is not None and names.count(names[at]) == 1 else str(at + 1)
        if is_dataclass(item):
            yield from _below(item, (*path, name), (*steps, at), model)
        else:  # a tuple in the order of the model's keys, as a ceiling's points are
            for inner, (key, field) in enumerate(model.model_fields.items()):
                bounds = next(m.bounds for m in field.metadata if hasattr(m, "bounds"))
                yield Part(".".join((*path, name, key)), float(item[inner]), bounds, (*steps, at, inner))


def _model_at(path: tuple[str, ...]) -> Any:
    model: Any = written.ProblemFile
    for key in path:
        model = _inner(model.model_fields[key].annotation)
    return model


def _inner(annotation: Any) -> Any:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if get_origin(annotation) is not None:
        return next((a for a in get_args(annotation) if isinstance(a, type) and issubclass(a, BaseModel)), None)
    return None


def _get(value: Any, steps: tuple[Step, ...]) -> Any:
    for step in steps:
        value = value[step] if isinstance(step, int) else getattr(value, step)
    return value


def _put(value: Any, steps: tuple[Step, ...], new: Any) -> Any:
    if not steps:
        return new
    first, rest = steps[0], steps[1:]
    if isinstance(first, int):
        return (*value[:first], _put(value[first], rest, new), *value[first + 1 :])
    return replace(value, **{first: _put(getattr(value, first), rest, new)})


# --- values -------------------------------------------------------------------------------------


def _read(at: Part, value: str | float) -> float:
    signed = at.bounds.least is not None and at.bounds.least < 0
    try:
        if isinstance(value, str):
            return at.bounds.read(value, signed=signed)
        at.bounds.check(value, show(at.kind, value))
        return float(value)
    except QuantityError as error:
        raise UsageError(f"{at.path}: {error}") from None


def _decision_of(rows: tuple[int, ...]) -> Decision:
    if len(rows) == 1:
        return Fixed(float(rows[0]))
    return Choice(tuple(map(float, rows)), tuple(map(str, rows)))


def _counts(decision: Decision) -> tuple[int, ...]:
    if isinstance(decision, Range):
        return tuple(range(int(decision.low), int(decision.high) + 1))
    values = decision.values if isinstance(decision, Choice) else (decision.value,)
    return tuple(sorted(int(v) for v in values))


def _refuse_nonsense(problem: Problem, path: str) -> None:
    faults: list[str] = []

    def complain(_place: tuple, message: str, remedy: str = "", **_: bool) -> None:
        faults.append(f"{message}: {remedy}" if remedy else message)

    for one in each(problem):
        check(_as_file(one), complain)
    if faults:
        raise UsageError(f"{path}: {faults[0]}")


def _screen_as_written(screen: SimpleNamespace, problem: Problem) -> SimpleNamespace:
    """A screen with only those keys that its kind has, as a file would have written it."""
    foreign = {key for keys in OWN.values() for key in keys} - set(OWN[screen.type])
    screen.written = screen.written - foreign - ({"centre"} if problem.baffle.centred else set())
    return screen


def _lined(part: SimpleNamespace) -> SimpleNamespace:
    """A part that absorbs sound as if its file had written the coefficients; names were told apart when it was read."""
    part.material, part.written = None, part.written - {"name"}
    return part


def _as_file(problem: Problem) -> SimpleNamespace:
    """The problem as the file's checks see it."""

    def seen(value: Any) -> SimpleNamespace:
        inside = {f.name: getattr(value, f.name) for f in fields(value)}
        return SimpleNamespace(**inside, written=frozenset(n for n, v in inside.items() if v is not None))

    room = seen(problem.room)
    room.ceiling = [SimpleNamespace(y=y, height=height) for y, height in problem.room.ceiling]
    room.ceiling_across = [SimpleNamespace(x=x, height=height) for x, height in problem.room.ceiling_across]
    room.surfaces = [_lined(seen(surface)) for surface in problem.room.surfaces]
    room.treatment = problem.room.treatment and _lined(seen(problem.room.treatment))
    front = SimpleNamespace(
        baffle=seen(problem.baffle),
        loudspeakers=seen(problem.loudspeakers),
        screens=[_screen_as_written(seen(screen), problem) for screen in problem.screens],
        written=frozenset({"screens"}),
    )
    front.loudspeakers.written = frozenset()
    seating = seen(problem.seating)
    seating.rows, seating.chair = _decision_of(problem.seating.rows), seen(problem.seating.chair)
    seating.bar = problem.seating.bar and seen(problem.seating.bar)
    seating.platform = problem.seating.platforms
    bass = problem.bass and seen(problem.bass)
    if bass is not None:
        bass.positions = [SimpleNamespace(x=x, y=y, z=z) for x, y, z in problem.bass.positions]
    return SimpleNamespace(
        show=problem.show,
        room=room,
        front=front,
        projector=problem.projector and seen(problem.projector),
        bass=bass,
        seating=seating,
        designs=(),
        written=frozenset({"projector"} if problem.projector else ()),
    )
