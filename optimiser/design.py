"""Designs: which decisions a problem leaves open, on which grid, and the geometry read off them.

A *space* is the problem with its number of rows and its aspect ratio settled; within it every
measure is a form over the other decisions. A design is one value for each decision of a space.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Union

from optimiser.errors import Fault, ProblemFileError, UsageError
from optimiser.linear import Linear, constant, variable
from optimiser.measures import catalogue
from optimiser.measures.layout import Body, Layout
from optimiser.physics.sector import Sector, door_sector
from optimiser.problem import bass, items, lining, screens, shell
from optimiser.problem.decisions import SCREEN_TYPES, own_decisions
from optimiser.problem.model import Choice, Decision, Door, Fixed, Mark, Opening, Problem, Range, Room
from optimiser.problem.rows import layout_rows, row_decisions
from optimiser.problem.surround import surround
from optimiser.quantity import show

APART = 0.3
"""Metres between two rows below which they are one."""

HAIR = 1e-9
"""Metres by which what makes a design one at all may be missed: rounding."""

OF_LATE = 32
"""Layouts that are kept for what was made of them, in case the same ones are asked for again."""

_of_late: deque[Layout] = deque(maxlen=OF_LATE)

MILLIMETRE = 0.001
SIXTEENTH = 0.0254 / 16


@dataclass(frozen=True)
class Held:
    """A decision with one value."""

    value: float

    @property
    def ends(self) -> tuple[float, float]:
        return self.value, self.value


@dataclass(frozen=True)
class Steps:
    """Whole multiples of ``step`` from ``low`` to ``high`` (both counts of steps). ``rounded`` tells
    a grid of convenience (lengths one could build in between) from heights that come in steps."""

    step: float
    low: int
    high: int
    rounded: bool = True

    @property
    def ends(self) -> tuple[float, float]:
        return self.step * self.low, self.step * self.high


@dataclass(frozen=True)
class Listed:
    """One of several values."""

    values: tuple[float, ...]

    @property
    def ends(self) -> tuple[float, float]:
        return min(self.values), max(self.values)


Domain = Union[Held, Steps, Listed]
Design = Mapping[str, float]


@dataclass(frozen=True)
class Space:
    """All designs with this many rows, this kind of screen and this aspect ratio. ``settled`` holds the decisions that
    the space itself takes; ``domains`` the others, in a fixed order."""

    rows: int
    aspect: float
    settled: Mapping[str, float]
    domains: Mapping[str, Domain]
    layout: Layout

    @property
    def key(self) -> frozenset[tuple[str, float]]:
        """What it settles, by which it is known among the spaces of its problem, and of one much like that."""
        return frozenset(self.settled.items())

    @property
    def sense(self) -> tuple[Linear, ...]:
        """What must be >= 0 for a design to be one at all: everyone sits behind the image, and so does
        the lens; the rows in order, a chair apart. No limit needs to say so, and none can be given up for it."""
        rows = self.layout.rows
        image, lens = self.layout.image_y, self.layout.lens
        light = () if lens is None else (lens.y - image - APART,)
        apart = (back.y - front.y - APART for front, back in zip(rows, rows[1:]))
        return (rows[0].feet - image, *apart, *light)

    def sensible(self, design: Design) -> bool:
        """Whether a design of the space is one at all, to within rounding."""
        return all(float(least.value(design)) >= -HAIR for least in self.sense)

    @property
    def bounds(self) -> dict[str, tuple[float, float]]:
        return {name: domain.ends for name, domain in self.domains.items()}

    @property
    def held(self) -> dict[str, float]:
        """The decisions in which the space leaves no choice."""
        return {**self.settled, **{name: d.value for name, d in self.domains.items() if isinstance(d, Held)}}

    def names(self, design: Design) -> bool:
        """Whether a design has this space's number of rows and aspect ratio, and a value for each decision."""
        return _agree(self.settled, design) and all(name in design for name in self.domains)

    def has(self, design: Design) -> bool:
        """Whether a design is one of this space's, to within rounding."""
        return self.names(design) and all(_near(domain, design[name]) for name, domain in self.domains.items())

    def complete(self, values: Design) -> dict[str, float]:
        """A full design record: settled decisions, given ones, and those that follow from them."""
        design = {**self.settled, **{name: float(values[name]) for name in self.domains}}
        layout = self.layout
        design["screen.width"] = float(layout.image_width.value(design))
        design["baffle.width"] = float(layout.baffle_width.value(design))
        design["screen.centre"] = float(layout.image_centre.value(design))
        if "screen.bezel" not in design:
            design["screen.bezel"] = float(layout.bezel.value(design))
        if layout.tile_rows is not None:
            design["screen.tile_rows"] = float(round(layout.tile_rows.value(design)))
        if layout.aisle_picked:
            design["aisle.side"] = float(("left", "right").index(layout.aisle_sides))
        return design


def _agree(settled: Design, design: Design) -> bool:
    """Whether a design has all that is settled."""
    return all(name in design and abs(design[name] - value) < 1e-9 for name, value in settled.items())


def _near(domain: Domain, value: float) -> bool:
    if isinstance(domain, Steps):
        count = value / domain.step
        return abs(count - round(count)) < 1e-6 and domain.low <= round(count) <= domain.high
    values = (domain.value,) if isinstance(domain, Held) else domain.values
    return any(abs(value - known) < 1e-9 for known in values)


FINEST, COARSEST = 0.0001, 0.5
"""Steps of lengths that can be asked for [m]."""


def checked_grid(step: float) -> float:
    """A step of lengths [m], if it is one that can be asked for. Raises UsageError."""
    if not FINEST <= step <= COARSEST:
        raise UsageError(f"a step from {1e3 * FINEST:g} mm to {1e3 * COARSEST:g} mm, please")
    return step


def grid_of(problem: Problem) -> float:
    """The grid a problem's answer is built on: 1/16 in for feet and inches, else 1 mm."""
    return SIXTEENTH if problem.show in ("ft-in", "in") else MILLIMETRE


def spaces(
    problem: Problem, *, grid: float | None = None, between: bool = False, of: Design | None = None
) -> Iterator[Space]:
    """Every space of the problem, by number of rows, kind of screen and aspect ratio; with ``of``, those only in which
    that design can lie.

    ``grid`` is the step of lengths in metres. With ``between`` the grid reaches half a step beyond
    the ends of each range, so that every real value has a grid point within half a step.
    """
    found, empty = False, []
    for one, settled, domains in _begun(problem, grid_of(problem) if grid is None else grid, between, empty):
        found = True
        if of is not None and not _agree(settled, of):
            continue
        rows, aspect = int(settled["rows"]), settled["screen.aspect"]
        yield Space(rows, aspect, settled, domains, _once(layout_of(one, rows, aspect, domains)))
    if not found:
        raise ProblemFileError(_without_a_step(problem, one) for one in empty)


def _without_a_step(problem: Problem, empty: _EmptyRange) -> Fault:
    """What is told of a range that leaves nothing to choose."""
    one, where = empty.decision, empty.decision.where or Mark(0, 0, empty.name)
    if one.low > one.high:  # cut off at the room's walls, floor and ceiling
        begins, ends = (show("length", end, problem.show) for end in (one.low, one.high))
        told = f"the range begins at {begins}, and the room ends at {ends}", "write one that begins within the room"
    elif empty.rounded:
        told = "no step of the grid lies in this range", "widen it, or ask for a finer grid (--grid)"
    elif empty.step == 1.0:
        told = "no whole number lies in this range", "widen it"
    else:
        step = show("length", empty.step, problem.show)
        told = (
            f"no whole multiple of seating.platform.step ({step}) lies in this range",
            "widen it, or write another step",
        )
    return Fault(problem.file or "problem", where.line, where.column, where.path, *told)


def _once(layout: Layout) -> Layout:
    """A layout, or the same one if it was had of late: with what was made of that already."""
    for known in _of_late:
        if known == layout:
            return known
    _of_late.append(layout)
    return layout


def settlements(problem: Problem, *, grid: float | None = None) -> list[dict[str, float]]:
    """What each space of a problem settles, which takes no geometry."""
    return [settled for _, settled, _ in _begun(problem, grid_of(problem) if grid is None else grid, False, [])]


def _begun(
    problem: Problem, step: float, between: bool, empty: list[_EmptyRange]
) -> Iterator[tuple[Problem, dict[str, float], dict[str, Domain]]]:
    """Of each space of a problem that has a grid point the variant, what it settles and what is left to choose; of each
    other one a range without any goes to ``empty``."""
    for rows in problem.seating.rows:
        for one in _variants(problem):
            for aspect, columns in screens.shapes(one):
                try:
                    domains = _domains(one, rows, aspect, columns, step, between)
                except _EmptyRange as range_:
                    empty.append(range_)
                    continue
                type_ = float(SCREEN_TYPES.index(one.screen.type))
                settled = {"rows": float(rows), "screen.type": type_, "screen.aspect": aspect}
                if one.bass is not None:
                    settled["bass.arrangement"] = bass.arrangements(one)[0]
                yield one, settled, domains


def _variants(problem: Problem) -> Iterator[Problem]:
    """The problem with one kind of screen and, where the bass is judged, one bass arrangement."""
    judged = any(catalogue()[item.measure].family == "bass" for item in (*problem.limits, *problem.goals))
    numbers = bass.arrangements(problem)
    for screen in problem.screens:
        one = replace(problem, screen=screen, other_screens=())
        for number in numbers if judged else numbers[:1]:
            yield replace(one, bass=replace(problem.bass, arrangement=Fixed(number)))
        if not numbers:
            yield one


class _EmptyRange(Exception):
    """The range of a decision without a grid point; ``rounded``: whether its steps are the grid's."""

    def __init__(self, name: str, decision: Range, step: float, rounded: bool) -> None:
        super().__init__(name)
        self.name, self.decision, self.step, self.rounded = name, decision, step, rounded


def _domain(name: str, decision: Decision, step: float, between: bool, *, rounded: bool = True) -> Domain:
    """What a decision may take; _EmptyRange where that is nothing."""
    if isinstance(decision, Fixed):
        return Held(decision.value)
    if isinstance(decision, Choice):
        return Listed(decision.values) if len(decision.values) > 1 else Held(decision.values[0])
    slack = 1e-9 / step
    if between and rounded:
        low = math.floor(decision.low / step + 0.5)
        high = max(low, math.ceil(decision.high / step - 0.5))  # a range without length is near a point too
    else:
        low, high = math.ceil(decision.low / step - slack), math.floor(decision.high / step + slack)
    if low > high or decision.low > decision.high:
        raise _EmptyRange(name, decision, step, rounded)
    return Steps(step, low, high, rounded)


def _domains(
    problem: Problem, rows: int, aspect: float, columns: Decision | None, step: float, between: bool
) -> dict[str, Domain]:
    """What each decision may take; _EmptyRange where that is nothing for one of them."""
    room, screen, seating = problem.room, problem.screen, problem.seating
    decisions: dict[str, tuple[Decision, float, bool]] = {}

    def add(name: str, decision: Decision, step_: float = step, rounded: bool = True) -> None:
        decisions[name] = (decision, step_, rounded)

    for name, decision in items.picks(problem, aspect).items():
        add(name, decision, 1.0, False)
    listed = items.listed_keys(problem, "screen")
    if columns is not None:
        add("screen.columns", columns, 1.0, False)
    elif {"width", "diagonal"} & set(listed):
        pass
    elif screen.diagonal is not None:
        add("screen.diagonal", screen.diagonal)
    else:
        add("screen.width", _narrowed(screen.width or Range(0.5, room.width), 0.0, room.width))
    if "bezel" not in listed:
        add("screen.bezel", screen.bezel)
    add("screen.bottom", _narrowed(screen.bottom, 0.0, room.height))
    for name in own_decisions(problem.loudspeakers.place_with(screen)):
        given = getattr(problem.loudspeakers, name.partition(".")[2])
        if given is not None:
            add(name, _narrowed(given, 0.0, room.height if name == "loudspeakers.z" else room.width))
    add("baffle.depth", problem.baffle.depth)
    if problem.baffle.width is not None:
        add("baffle.width", _narrowed(problem.baffle.width, 0.0, room.width))
    for edge in ("left", "right"):
        place_of_edge = getattr(problem.baffle, edge)
        if place_of_edge is not None:
            add(f"baffle.{edge}", _narrowed(place_of_edge, 0.0, room.width))
    if not problem.baffle.centred:
        add("screen.centre", _narrowed(screen.centre or Range(0.0, room.width), 0.0, room.width))
    if problem.projector is not None and screen.type == "projected":
        add("projector.y", screens.lens_place(problem))
        add("projector.z", problem.projector.z)
    if room.treatment is not None:
        add("treatment.panels", room.treatment.panels, 1.0, False)
    steps_of = {"length": (step, True), "platform": (seating.platforms.step, False), "whole": (1.0, False)}
    for name, decision, kind in row_decisions(problem, rows):
        add(name, decision, *steps_of[kind])
    return {name: _domain(name, d, s, between, rounded=r) for name, (d, s, r) in decisions.items()}


def _values(domain: Domain) -> tuple[float, ...]:
    """What a choice may take."""
    return domain.values if isinstance(domain, Listed) else (domain.ends[0],)


def _narrowed(decision: Decision, low: float, high: float) -> Decision:
    if isinstance(decision, Range):
        return replace(decision, low=max(decision.low, low), high=min(decision.high, high))
    return decision


DOORWAY = 2.0
"""Metres above its threshold that the floor before a door is kept clear; common practice, no source."""


def kept(opening: Opening | Door, *, length: float, width: float) -> Body:
    """What a window, an opening or a door needs clear before it, in a room so long and wide."""
    along = opening.jambs if isinstance(opening, Door) else opening.along
    z = (0.0, opening.level + DOORWAY) if isinstance(opening, Door) else opening.z
    before = {
        "left": (0.0, opening.keep),
        "right": (width - opening.keep, width),
        "front": (0.0, opening.keep),
        "rear": (length - opening.keep, length),
    }[opening.wall]
    side = opening.wall in ("left", "right")
    return Body(opening.name, before if side else along, along if side else before, z)


def swept(door: Door, room: Room) -> Sector:
    """What a door of the room sweeps."""
    return door_sector(
        wall=door.wall,
        hinge=door.hinge,
        leaf=door.leaf,
        towards=door.towards,
        opens=door.opens,
        angle=door.angle,
        room_length=room.length,
        room_width=room.width,
    )


def passage(way: Opening, room: Room) -> Sector:
    """An opening without a door, as what a door in its place would sweep that opens out: its threshold."""
    first, last = way.along
    return door_sector(
        wall=way.wall,
        hinge=first,
        leaf=last - first,
        towards="rear" if way.wall in ("left", "right") else "right",
        opens="out",
        angle=math.pi / 2,
        room_length=room.length,
        room_width=room.width,
    )


def layout_of(
    problem: Problem,
    rows: int,
    aspect: float,
    domains: Mapping[str, Domain],
    read: Callable[[str], Linear] | None = None,
) -> Layout:
    """The geometry of a problem with one kind of screen. ``read`` gives the expression of a decision,
    where it is another than the decision itself: one that is built a little off, or many at once."""
    listed = {listing.of for listing in problem.listings if listing.pick is not None}
    taken = {name: _values(domain) for name, domain in domains.items() if name in listed}
    problem = items.in_forms(problem, taken, aspect)
    room, screen, seating = problem.room, problem.screen, problem.seating

    def as_decided(name: str) -> Linear:
        domain = domains[name]
        return constant(domain.value) if isinstance(domain, Held) else variable(name)

    read = read or as_decided

    width, tile_rows = screens.image_width(screen, aspect, read), screens.tile_rows(screen, aspect, read)
    columns = read("screen.columns") if "screen.columns" in domains else None
    bezel = screen.bezel if isinstance(screen.bezel, Linear) else read("screen.bezel")
    depth = read("baffle.depth")
    image = screens.Image(width, width * (1.0 / aspect), read("screen.bottom"), bezel)
    axis, apart = (read(n) if n in domains else None for n in ("loudspeakers.z", "loudspeakers.apart"))
    speakers = screens.speakers(problem, taken, image, axis, apart)
    gain, gain_root = items.root(problem, taken, "screen", items.gain_said)
    centre = read("screen.centre") if "screen.centre" in domains else constant(0.5 * room.width)
    if "baffle.width" in domains:
        half = read("baffle.width") * 0.5
    else:
        half = width * 0.5 + bezel + (problem.baffle.margin + speakers.aside)
    left = read("baffle.left") if "baffle.left" in domains else centre - half
    right = read("baffle.right") if "baffle.right" in domains else centre + half

    front = depth if problem.baffle.solid else constant(0.0)
    bounds = {name: domain.ends for name, domain in domains.items()}
    seated = layout_rows(problem, rows, domains, read, centre)
    ears = [r.eye.interval(bounds) for r in seated]
    numbers = bass.arrangements(problem)
    lens, one = screens.lens(problem, taken, read, centre), constant(1.0)
    there = {
        "screen": one,
        "tiles": None if columns is None else columns * tile_rows,
        "loudspeakers": one,
        "projector": None if lens is None else one,
        "panels": None if room.treatment is None else read("treatment.panels"),
        "chair": sum((row.seats for row in seated if not row.bar), constant(0.0)),
    }
    counts = {of: count for of, count in there.items() if count is not None}
    return Layout(
        length=room.length,
        width=room.width,
        height=room.height,
        volume=shell.volume(room),
        ceiling=shell.ceiling_of(room),
        sweeps=tuple((d.name, swept(d, room)) for d in room.doors),
        thresholds=tuple(d.level for d in room.doors),
        passages=tuple(passage(one, room) for one in room.ways),
        bodies=tuple(Body(b.name, b.x, b.y, b.z) for b in room.obstructions),
        decay=lining.decay(room, read),
        panels=lining.panel_area(room, read),
        kept=tuple(kept(o, length=room.length, width=room.width) for o in (*room.openings, *room.doors) if o.keep),
        bass=bass.bass(
            problem,
            numbers[0] if numbers else None,
            front.interval({**bounds, "baffle.depth": bass.depths(problem)}),
            (min(low for low, _ in ears), max(high for _, high in ears)),
        ),
        surround=surround(problem, (min(low for low, _ in ears), max(high for _, high in ears))),
        speed_of_sound=room.speed_of_sound,
        screen_type=screen.type,
        aspect=aspect,
        image_width=width,
        image_height=image.height,
        tile_rows=tile_rows,
        image_bottom=image.bottom,
        image_centre=centre,
        image_y=depth + screen.gap,
        bezel=bezel,
        baffle_depth=depth,
        baffle_width=right - left,
        baffle_left=left,
        baffle_right=right,
        baffle_centred=not {"baffle.left", "baffle.right"} & set(domains),
        acoustic_front=front,
        pixel_pitch=screens.pixel_pitch(problem, taken, width, aspect, lens),
        gain=gain,
        gain_root=gain_root,
        white=None if screen.luminance is None else items.expression(screen.luminance),
        lens=lens,
        speakers=speakers,
        standing=seating.standing,
        chair_width=items.expression(seating.chair.width),
        recline=items.expression(seating.chair.reclined - seating.chair.depth),
        aisle_sides=seating.aisle.sides,
        aisle_width=seating.aisle.width,
        aisle_side=read("aisle.side") if "aisle.side" in domains else None,
        aisle_picked=seating.aisle.picked,
        guard=None if seating.guard is None else (seating.guard.height, seating.guard.over),
        platform_behind=read("platform.behind") if "platform.behind" in domains else None,
        rows=seated,
        reference=min(seating.reference_row, rows),
        counts=counts,
        cost=items.cost(problem, taken, counts),
    )
