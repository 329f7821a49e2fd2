"""From a problem file to a checked Problem, or to all that is wrong with it."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from optimiser.errors import InternalError, ProblemFileError, cut_by_comma, did_you_mean
from optimiser.physics.acoustics import speed_of_sound
from optimiser.problem import codes, model, written
from optimiser.problem.about import about
from optimiser.problem.bounds import Rows, read_goal, read_limit
from optimiser.problem.checks import check, largest
from optimiser.problem.decisions import ROW_DECISIONS, split_row
from optimiser.problem.fields import either
from optimiser.problem.items import item_names
from optimiser.problem.lining import absorption_of
from optimiser.problem.listed import listings
from optimiser.problem.readable import model_in, readable
from optimiser.problem.spreads import read_tolerances
from optimiser.problem.targets import target_set, under
from optimiser.problem.yaml_reader import Source, dotted, read_file, read_text
from optimiser.quantity import ZERO_CELSIUS

WORDS_FOR = {2: "two", 6: "six"}
MOST_PLACES = 2
"""Places at which an unknown key may be known, for them to be told."""

LEAST_IMAGE = 0.5  # m, where the file leaves the image width out
KEPT = {"window": 0.3, "opening": 0.9, "in": 0.0, "out": 0.9}
"""Metres of floor to keep clear before windows, openings, and doors that open in or out: common practice, no source;
36 in (914 mm) before a house's outer doors: IRC R311.3, from memory."""


def load(path: str | Path, catalogue: Mapping[str, Any] | None = None) -> model.Problem:
    """Read a problem file. Raises ProblemFileError with all faults."""
    return problem_of(read_file(path), catalogue)


def loads(text: str, file: str = "text", catalogue: Mapping[str, Any] | None = None) -> model.Problem:
    """Read the text of a problem file; messages call it ``file``."""
    return problem_of(read_text(text, file), catalogue)


def problem_of(source: Source, catalogue: Mapping[str, Any] | None = None) -> model.Problem:
    """The problem that plain values say. Raises ProblemFileError with all faults."""
    if catalogue is None:
        from optimiser import measures

        catalogue = measures.catalogue()
    if not isinstance(source.value, dict):
        source.fault((), "this is not a problem file", "begin with 'format: 1'")
        raise ProblemFileError(source.faults)
    if {"program", "format"} <= set(source.value) and "room" not in source.value:
        source.fault(
            (),
            "this is what the program wrote, not a problem file",
            "give the file that it was made from; 'optimiser sheet FILE --from RESULT' takes a saved result beside it",
        )
        raise ProblemFileError(source.faults)
    try:
        written.ProblemFile.model_validate(source.value)
    except ValidationError as error:
        _explain_all(source, error.errors(include_url=False, include_input=False))
    file = readable(written.ProblemFile, source.value)
    check(file, source.fault)
    most_rows = int(largest(file.seating.rows)) if file.seating and file.seating.rows else 99
    reference = file.seating and file.seating.reference_row
    rows = Rows(most_rows, None if reference is None else int(reference))
    limits = [
        read_limit(item, ("limits", at), _mark(source, ("limits", at)), source.fault, catalogue, rows)
        for at, item in enumerate(file.limits or ())
        if item is not None
    ]
    goals = [
        read_goal(item, ("goals", at), _mark(source, ("goals", at)), source.fault, catalogue, rows)
        for at, item in enumerate(file.goals or ())
        if item is not None
    ]
    if not {"goals", "targets"} & file.written and not _mistyped(source, (), "goals", "targets"):
        source.fault((), "'goals' is missing", _how_to_write(("goals",)))
    if source.faults:
        raise ProblemFileError(source.faults)
    if file.targets is not None:
        goals = list(under(tuple(goals), target_set(file.targets, catalogue), _mark(source, ("targets",))))
    limits = list(
        codes.under(
            limits,
            file.codes,
            guarded=file.seating.guard is not None,
            flights=file.seating.platform.going is not None,
            where=_mark(source, ("codes",)),
        )
    )
    if None in limits or None in goals:
        raise InternalError(f"{source.file}: a limit or goal was dropped without a word")
    problem = _Converter(source, file).problem(tuple(limits), tuple(goals))  # type: ignore[arg-type]
    spreads, people = read_tolerances(file.tolerances, problem, source.fault, lambda path: _mark(source, path))
    if source.faults:
        raise ProblemFileError(source.faults)
    return dataclasses.replace(problem, tolerances=spreads, people=people, said=_digest(source.value))


def _digest(value: dict) -> str:
    """A digest of all that a file says but its title and the designs to compare, however it is laid out."""
    said = {key: part for key, part in value.items() if key not in ("title", "designs")}
    return hashlib.sha256(json.dumps(said, sort_keys=True, default=str).encode()).hexdigest()


# --- messages -----------------------------------------------------------------------------------


def _explain_all(source: Source, errors: list) -> None:
    """Turn pydantic's errors into faults. A key that is missing only because it is mistyped is one
    fault, not two."""
    for error in errors:
        *around, key = error["loc"] or ("",)
        if error["type"] != "missing" or not _mistyped(source, tuple(around), str(key)):
            _explain(source, error)


def _mistyped(source: Source, around: tuple, *keys: str) -> bool:
    """Whether an unknown key of the mapping at ``around`` seems to stand for one of ``keys``."""
    written_here, known = source.at(around), _keys_at(around)
    unknown = [name for name in written_here if name not in known] if isinstance(written_here, dict) else []
    return any(did_you_mean(name, known) == f"did you mean '{key}'?" for name in unknown for key in keys)


def _explain(source: Source, error: Any) -> None:
    """Turn one error of pydantic into faults at their places."""
    path, kind, context = tuple(error["loc"]), error["type"], error.get("ctx", {})
    if kind == "fault":
        for below, message, remedy in context["complaints"]:
            unknown = message.startswith("unknown ")
            source.fault((*path, *below), message, remedy, key=unknown)
    elif kind == "extra_forbidden":
        known = _keys_at(path[:-1])
        key = str(path[-1])
        remedy = cut_by_comma(key, source.at(path)) or _belonging(key) or did_you_mean(key, known)
        source.fault(path, f"unknown key '{key}'", remedy, key=True)
    elif kind == "missing":
        source.fault(path[:-1], f"'{path[-1]}' is missing", _how_to_write(path))
    elif kind in ("model_type", "model_attributes_type", "dict_type"):
        nothing = source.at(path) is None
        source.fault(path, "nothing is written here" if nothing else "a mapping is due here", _keys_remedy(path))
    elif kind == "list_type":
        if path and path[-1] == "absorption":
            source.fault(
                path, "a list is due here", "write six shares, of 125 Hz to 4 kHz: [0.2, 0.3, 0.5, 0.6, 0.6, 0.6]"
            )
        else:
            source.fault(path, "a list is due here", "write [a, b], or lines that begin with '- '")
    elif kind in ("too_short", "too_long"):
        if path and path[-1] == "goals":
            source.fault(path, "there are no goals", "state at least one")
        else:
            count = context.get("min_length", context.get("max_length"))
            remedy = "write [from, to]" if count == 2 else "write [a, b, c, ...]"
            source.fault(path, f"{WORDS_FOR[count]} values are due here", remedy)
    else:
        raise InternalError(f"{source.file}: no words for {kind} at {dotted(path)}")


def _keys_at(path: tuple) -> tuple[str, ...]:
    """The keys known at a path of the format."""
    kind: Any = written.ProblemFile
    for step in path:
        if isinstance(step, str):
            kind = model_in(kind.model_fields[step].annotation)[0]
    return tuple(kind.model_fields)


def _belonging(key: str) -> str:
    """Where a key belongs that is known elsewhere; empty where it is not, or at more than MOST_PLACES."""
    row = split_row(key)
    if row is not None and row[1] in ROW_DECISIONS:
        return "write it under seating.place"
    places = [".".join(path) for path, kind in _parts(written.ProblemFile) if key in kind.model_fields]
    if not places or len(places) > MOST_PLACES:
        return ""
    return f"write it {either([f'under {place}' if place else 'at the top level of the file' for place in places])}"


def _parts(kind: type[BaseModel], path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], type[BaseModel]]]:
    """Every mapping of the format, with the keys that lead to it, but for things of lists to choose from."""
    yield path, kind
    for name, field in kind.model_fields.items():
        below, _ = model_in(field.annotation)
        if below is not None and name != "choose":
            yield from _parts(below, (*path, name))


def _keys_remedy(path: tuple) -> str:
    known = _keys_at(path)
    return f"write {{{known[0]}: ...}}; known here: " + ", ".join(known)


def _how_to_write(path: tuple) -> str:
    kind: Any = written.ProblemFile
    for step in path[:-1]:
        if isinstance(step, str):
            kind = model_in(kind.model_fields[step].annotation)[0]
    return f"add {path[-1]}: ({about(kind, path[-1])})"


def _mark(source: Source, path: tuple) -> model.Mark:
    line, column = source.place(path)
    return model.Mark(line, column, dotted(path))


# --- conversion ---------------------------------------------------------------------------------


class _Converter:
    """Makes the frozen data of model.py from a file without faults."""

    def __init__(self, source: Source, file: Any) -> None:
        self.source = source
        self.file = file
        self.listings = listings(file, self.mark)

    def mark(self, *path: Any) -> model.Mark:
        return _mark(self.source, path)

    def listed(self, of: str, kind: str = "") -> tuple[str, ...]:
        """The keys of a part that a list gives: the part itself has None there."""
        return next((one.keys for one in self.listings if (one.of, one.type) == (of, kind)), ())

    def placed(self, decision: Any, *path: Any) -> Any:
        """The decision with its place in the file."""
        return None if decision is None else dataclasses.replace(decision, where=self.mark(*path))

    def problem(self, limits: tuple[model.Limit, ...], goals: tuple[model.Goal, ...]) -> model.Problem:
        file = self.file
        front, loudspeakers = file.front, file.front.loudspeakers
        listed = self.listed("loudspeakers")
        unsized = {"width", "height"} - loudspeakers.written - set(listed)
        if front.screen is not None:
            screens = (self.screen(front.screen, "front", "screen"),)
        else:
            screens = tuple(self.screen(one, "front", "screens", at) for at, one in enumerate(front.screens))
        problem = model.Problem(
            title=file.title,
            show=file.show,
            room=self.room(file.room),
            baffle=self.baffle(file.front.baffle),
            screen=screens[0],
            other_screens=screens[1:],
            loudspeakers=_same(
                model.Loudspeakers,
                loudspeakers,
                z=self.placed(loudspeakers.z, "front", "loudspeakers", "z"),
                apart=self.placed(loudspeakers.apart, "front", "loudspeakers", "apart"),
                assumed=bool(unsized),
                **dict.fromkeys(listed),
            ),
            projector=self.projector(file.projector),
            bass=self.bass(file.bass),
            surround=file.surround and model.Surround(file.surround.layout, file.surround.width),
            seating=self.seating(file.seating),
            limits=limits,
            goals=goals,
            designs=(),
            file=self.source.file,
            codes=file.codes,
            listings=self.listings,
            currency=file.currency or "",
        )
        designs = file.designs if "designs" in file.written else ()
        return dataclasses.replace(problem, designs=tuple((name, _numbered(problem, own)) for name, own in designs))

    def room(self, room: Any) -> model.Room:
        doors = tuple(
            model.Door(
                name=door.name,
                wall=door.wall,
                hinge=door.hinge,
                leaf=door.leaf,
                towards=door.towards,
                opens=door.opens,
                angle=door.angle,
                where=self.mark("room", "doors", at),
                level=door.level,
                keep=KEPT[door.opens] if door.keep is None else door.keep,
            )
            for at, door in enumerate(room.doors)
        )
        boxes = tuple(
            model.Box(box.name, tuple(box.x), tuple(box.y), tuple(box.z), self.mark("room", "obstructions", at))
            for at, box in enumerate(room.obstructions)
        )
        openings = tuple(
            model.Opening(
                name=opening.name,
                kind=opening.kind,
                wall=opening.wall,
                along=tuple(opening.along),
                z=tuple(opening.z),
                keep=KEPT[opening.kind] if opening.keep is None else opening.keep,
                where=self.mark("room", "openings", at),
            )
            for at, opening in enumerate(room.openings)
        )
        return model.Room(
            length=room.length,
            width=room.width,
            height=room.height,
            doors=doors,
            obstructions=boxes,
            ceiling=tuple((point.y, point.height) for point in room.ceiling),
            reverberation_time=room.reverberation_time,
            speed_of_sound=float(speed_of_sound(temperature=room.temperature - float(ZERO_CELSIUS))),
            where=self.mark("room"),
            surfaces=tuple(
                model.Surface(one.name, one.of, one.area, absorption_of(one), self.mark("room", "surfaces", at))
                for at, one in enumerate(room.surfaces)
            ),
            treatment=self.treatment(room.treatment),
            formula=room.formula,
            ceiling_across=tuple((point.x, point.height) for point in room.ceiling_across),
            openings=openings,
        )

    def treatment(self, treatment: Any) -> model.Treatment | None:
        if treatment is None:
            return None
        panels = self.placed(treatment.panels, "room", "treatment", "panels")
        return model.Treatment(panels, treatment.panel, absorption_of(treatment), treatment.on)

    def baffle(self, baffle: Any) -> model.Baffle:
        path = ("front", "baffle")
        return model.Baffle(
            depth=self.placed(baffle.depth, *path, "depth"),
            width=self.placed(baffle.width, *path, "width"),
            margin=baffle.margin,
            solid=baffle.solid,
            centred=baffle.centred,
            left=self.placed(baffle.left, *path, "left"),
            right=self.placed(baffle.right, *path, "right"),
        )

    def screen(self, screen: Any, *path: Any) -> model.Screen:
        width, tile, listed = screen.width, screen.tile, self.listed("screen", screen.type)
        if width is None and screen.type == "projected" and not {"width", "diagonal"} & set(listed):
            width = model.Range(LEAST_IMAGE, self.file.room.width)
        made = model.Screen(
            type=screen.type,
            aspect=self.placed(screen.aspect, *path, "aspect"),
            width=self.placed(width, *path, "width"),
            diagonal=self.placed(screen.diagonal, *path, "diagonal"),
            bezel=self.placed(screen.bezel, *path, "bezel"),
            gap=screen.gap,
            bottom=self.placed(screen.bottom, *path, "bottom"),
            pixels=None if screen.pixels is None else int(screen.pixels),
            gain=screen.gain,
            centre=self.placed(screen.centre, *path, "centre"),
            open_area=screen.open_area,
            luminance=screen.luminance,
            tile=None if tile is None else model.Tile(tile.width, tile.height, tile.pitch),
            columns=self.placed(screen.columns, *path, "columns"),
            tile_rows=self.placed(screen.tile_rows, *path, "tile_rows"),
        )
        return dataclasses.replace(made, **dict.fromkeys(listed))

    def projector(self, projector: Any) -> model.Projector | None:
        if projector is None:
            return None
        made = model.Projector(
            lumens=projector.lumens,
            throw_ratio=_pair(projector.throw_ratio),
            y=self.placed(projector.y, "projector", "y"),
            behind=self.placed(projector.behind, "projector", "behind"),
            z=self.placed(projector.z, "projector", "z"),
            chip=projector.chip,
            lens_offset=_pair(projector.lens_offset),
            weight=projector.weight,
        )
        return dataclasses.replace(made, **dict.fromkeys(self.listed("projector")))

    def bass(self, bass: Any) -> model.Bass | None:
        if bass is None:
            return None
        return model.Bass(
            arrangement=self.placed(bass.arrangement, "bass", "arrangement"),
            positions=tuple((one.x, one.y, one.z) for one in bass.positions),
            height=bass.height,
            band=tuple(bass.band),
            reverberation_time=bass.reverberation_time,
            modal_control=bass.modal_control,
            where=self.mark("bass"),
        )

    def seating(self, seating: Any) -> model.Seating:
        path = ("seating",)
        chair, aisle, platform = seating.chair, seating.aisle, seating.platform
        bar, place = seating.bar, seating.wheelchair
        step = platform.step
        if step is None:
            step = 0.0127 if self.file.show in ("ft-in", "in") else 0.010  # 1/2 in, 10 mm
        return model.Seating(
            rows=_counts(seating.rows),
            reference_row=int(seating.reference_row),
            seats=self.placed(seating.seats, *path, "seats"),
            chair=_same(model.Chair, chair, **dict.fromkeys(self.listed("chair"))),
            aisle=model.Aisle(aisle.sides, aisle.width),
            platforms=model.Platforms(
                step=step,
                to=platform.to,
                first=self.placed(platform.first, *path, "platform", "first"),
                risers=int(platform.risers),
                behind=self.placed(platform.behind, *path, "platform", "behind"),
                going=platform.going,
            ),
            place=tuple((name, self.placed(d, *path, "place", name)) for name, d in seating.place),
            standing=seating.standing,
            centre=self.placed(seating.centre, *path, "centre"),
            stagger=self.placed(seating.stagger, *path, "stagger"),
            bar=None if bar is None else _same(model.Bar, bar, seats=self.placed(bar.seats, *path, "bar", "seats")),
            wheelchair=None
            if place is None
            else _same(
                model.Wheelchair, place, row=int(place.row), places=int(place.places), source=_source_of_size(place)
            ),
            guard=None if seating.guard is None else _same(model.Guard, seating.guard),
        )


def _source_of_size(place: Any) -> str:
    """Where the size of a wheelchair's place is from: what is left out is a standard's."""
    return place.source or ("" if {"width", "depth"} & place.written else written.PLACE_SOURCE)


def _same(kind: Any, part: Any, **changed: Any) -> Any:
    """Data of a kind from a part of the file that has keys of the same names."""
    return kind(**{f.name: getattr(part, f.name) for f in dataclasses.fields(kind) if f.name not in changed}, **changed)


def _pair(ends: list | None) -> Any:
    return None if ends is None else tuple(ends)


def _numbered(problem: model.Problem, settings: tuple) -> tuple[tuple[str, float], ...]:
    """A design of one's own with numbers for the names of things."""
    return tuple((key, float(item_names(problem, key)[v]) if isinstance(v, str) else v) for key, v in settings)


def _counts(decision: model.Decision) -> tuple[int, ...]:
    """The whole numbers that a decision allows, ascending."""
    if isinstance(decision, model.Range):
        return tuple(range(int(decision.low), int(decision.high) + 1))
    values = decision.values if isinstance(decision, model.Choice) else (decision.value,)
    return tuple(sorted(int(value) for value in values))
