"""The numbers of one design that the drawings show, read off its layout; nothing is decided here."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields

from optimiser.bass_notes import Stand, bass_stands
from optimiser.design import Design, Space, swept
from optimiser.hanging import settled
from optimiser.linear import Linear
from optimiser.measures import catalogue
from optimiser.measures.front import baffle_edges
from optimiser.measures.layout import Body, Ceiling
from optimiser.measures.people import front_steps, platform_front, rear_edge, rear_guard, rear_steps, rise
from optimiser.measures.seats import end_seat_offset
from optimiser.measures.surround import NOBODY, Stretch, stretches
from optimiser.measures.ways import OVER_HEADS
from optimiser.physics.ceiling import Profile, height_at, lowered
from optimiser.physics.sector import Sector
from optimiser.problem.items import chosen, expression
from optimiser.problem.model import Bar, Box, Chair, Door, Guard, Opening, Problem, Room, Wheelchair
from optimiser.problem.shell import ceiling_of
from optimiser.spans import Span, left_over

LEAST = 1e-3
"""Metres by which things must overlap to be in each other's way, and that a way must have to be one."""


@dataclass(frozen=True)
class RowFigure:
    """One row: where its people are, and what it stands on. Metres; x is across the room."""

    number: int
    y: float
    platform: float
    rise: float
    risers: int
    eye: float
    head: float
    feet: float
    back: float
    x: Span
    seats: tuple[float, ...]  # x of each seat's middle
    places: tuple[float, ...]  # x of each place for a wheelchair
    bar: bool
    edge: float  # y at which the platform begins
    going: float | None  # depth of each step on the way up; None for a first row of which the file does not say it
    steps: tuple[tuple[float, float], ...]  # (y, height) of each riser on the way up, that at the edge last
    clearance: float | None  # of the sight line over the eyes in front

    @property
    def middle(self) -> float:
        """x of the seats' middle, without places for wheelchairs."""
        return 0.5 * (self.seats[0] + self.seats[-1])

    @property
    def people(self) -> tuple[float, ...]:
        """x of everyone's middle, on seats and in places for wheelchairs, from the left."""
        return tuple(sorted((*self.seats, *self.places)))


@dataclass(frozen=True)
class Cabinet:
    """A front loudspeaker, its face in the face of the baffle. Behind the image only its axis is known, which has its
    height ``axis`` where the file has one; elsewhere its cabinet is drawn from ``z`` [0] to [1]. ``depth``: None where the
    file gives none."""

    name: str
    x: float
    width: float
    z: Span | None
    axis: float | None
    depth: float | None

    @property
    def span(self) -> Span:
        return self.x - 0.5 * self.width, self.x + 0.5 * self.width


@dataclass(frozen=True)
class Shell:
    """The room as it stands, without anything that is designed, in metres."""

    length: float
    width: float
    height: float
    ceiling: tuple[tuple[float, float], ...]  # (y, z) from the front wall to the rear wall, where the room is cut
    profiles: Ceiling
    doors: tuple[tuple[Door, Sector], ...]
    obstructions: tuple[Box, ...]
    openings: tuple[Opening, ...]  # windows, and openings without a door

    @property
    def names(self) -> tuple[str, ...]:
        """What the file calls its doors, openings and obstructions."""
        things = (*(door for door, _ in self.doors), *self.openings, *self.obstructions)
        return tuple(dict.fromkeys(one.name for one in things if one.name))

    def over(self, y: float) -> Profile:
        """The ceiling across the room, (x, z) from the left wall to the right, at a distance from the front wall."""
        along = self.profiles.along
        return self._across(height_at(profile=along, place=y) if along else self.height)

    @property
    def highest(self) -> Profile:
        """The same where the room is highest along its length."""
        return self._across(max((z for _, z in self.profiles.along), default=self.height))

    def _across(self, top: float) -> Profile:
        return lowered(profile=self.profiles.across, end=self.width, height=min(top, self.height))

    def ceiling_at(self, y: float) -> float:
        """Height of the ceiling at a distance from the front wall."""
        return height_at(profile=self.ceiling, place=min(max(y, 0.0), self.length))


@dataclass(frozen=True)
class Figure(Shell):
    """Everything that is drawn of a design, in metres."""

    baffle: Span
    baffle_depth: float
    image: Span
    image_y: float
    bottom: float
    top: float
    bezel: float
    aspect: float
    rows: tuple[RowFigure, ...]
    reference: int
    chair: Chair
    bar: Bar | None
    wheelchair: Wheelchair | None
    guard: Guard | None
    aisle_sides: str  # none | one | left | right | both; of one aisle, its side where that was decided
    loudspeakers: tuple[Cabinet, ...]  # left to right
    place: str  # of the loudspeakers: behind | beside | under | over
    gap: float  # from the frame to loudspeakers beside, under or over it, as the file has it
    tiles: tuple[int, int] | None  # columns and rows of a tiled wall
    screen_type: str
    acoustic_front: float
    projector: tuple[float, float] | None  # y, z of the lens
    projector_body: Body | None
    rear_edge: float | None = None  # y at which the last platform drops to the floor; None: it does not
    rear_guard: float | None = None  # height of the top of a guard there; None where none is built
    rear_steps: tuple[tuple[float, float], ...] = ()  # (y, height) of each riser up to it from behind, the lowest first
    surround: tuple[Stretch, ...] = ()  # where surround and overhead loudspeakers may be
    bass_stands: tuple[Stand, ...] = ()  # bass loudspeakers, by their places

    @property
    def bass(self) -> tuple[tuple[float, float, float], ...]:
        """(x, y, z) of bass loudspeakers."""
        return tuple(one.place for one in self.bass_stands)

    @property
    def image_width(self) -> float:
        return self.image[1] - self.image[0]

    @property
    def image_height(self) -> float:
        return self.top - self.bottom

    @property
    def frame(self) -> Span:
        return self.image[0] - self.bezel, self.image[1] + self.bezel

    @property
    def midpoint(self) -> float:
        """y of the middle of the acoustic length."""
        return 0.5 * (self.acoustic_front + self.length)

    @property
    def centre(self) -> float:
        return 0.5 * (self.image[0] + self.image[1])

    @property
    def platforms(self) -> tuple[tuple[Span, float], ...]:
        """(y from, y to) and height of each platform; the last one runs to its rear edge, else to the rear wall."""
        ends = [row.edge for row in self.rows[1:]] + [self.length if self.rear_edge is None else self.rear_edge]
        return tuple(((row.edge, end), row.platform) for row, end in zip(self.rows, ends) if row.platform > 0.0)

    @property
    def in_platforms(self) -> tuple[Box, ...]:
        """Obstructions that take some of the space of a platform, which runs from wall to wall."""
        return tuple(
            box
            for box in self.obstructions
            if any(
                min(box.y[1], end) - max(box.y[0], start) > LEAST and min(box.z[1], high) - box.z[0] > LEAST
                for (start, end), high in self.platforms
            )
        )

    def aisles(self, row: RowFigure) -> tuple[Span, ...]:
        """x of the ways beside a row that its steps lie in: both where the file asks for two, the one on the
        aisle's side where there is one, else the wider one, the left one of two equal."""
        left, right = (0.0, row.x[0]), (row.x[1], self.width)
        if self.aisle_sides == "both":
            return left, right
        if self.aisle_sides in ("left", "right"):
            return (left,) if self.aisle_sides == "left" else (right,)
        return (left,) if left[1] - left[0] >= right[1] - right[0] - 1e-9 else (right,)

    def stairs(self, row: RowFigure) -> tuple[Span, ...]:
        """x of the steps up to a row, if it is known where they lie: of its ways, what the chairs in front and what stands there
        leave free too."""
        if row.rise <= 0.0 or row.risers < 2 or row.going is None:
            return ()
        before = self.rows[max(0, row.number - 2)]
        beside = (
            (near, min(far, before.x[0])) if near == 0.0 else (max(near, before.x[1]), far)
            for near, far in self.aisles(row)
        )
        return self._past(beside, (row.steps[0][0], row.edge), row.platform - row.rise)

    @property
    def rear_stairs(self) -> tuple[Span, ...]:
        """x of the steps up to the last platform from behind."""
        if len(self.rear_steps) < 2:
            return ()
        last = self.rows[-1]
        return self._past(self.aisles(last), (self.rear_steps[-1][0], self.rear_steps[0][0]), 0.0)

    def _past(self, ways: Iterable[Span], y: Span, level: float) -> tuple[Span, ...]:
        """Of each way along the room what leads past the things that stand on a stretch of it: the widest gap between two."""
        there = [
            box.x
            for box in self.obstructions
            if min(box.y[1], y[1]) - max(box.y[0], y[0]) > LEAST
            and min(box.z[1], level + OVER_HEADS) - max(box.z[0], level) > LEAST
        ]
        gaps = (left_over(way, there) for way in ways)
        widest = (max(some, key=lambda gap: gap[1] - gap[0]) for some in gaps if some)
        return tuple(gap for gap in widest if gap[1] - gap[0] > LEAST)

    def guarded(self, row: RowFigure) -> Span:
        """x from which to which a guard at the front edge of a row's platform runs: from wall to wall but for the ways up,
        which may be narrower than the row's own."""
        return self._between(self.stairs(row) or self.aisles(row))

    @property
    def rear_guarded(self) -> Span:
        """The same of a guard at the rear edge of the last platform."""
        return self._between(self.aisles(self.rows[-1]))

    def _between(self, ways: tuple[Span, ...]) -> Span:
        return (ways[0][1] if ways[0][0] == 0.0 else 0.0), (ways[-1][0] if ways[-1][1] == self.width else self.width)

    @property
    def guards(self) -> tuple[tuple[RowFigure, float], ...]:
        """The rows whose platform has a guard at its front edge, and the height of its top."""
        if self.guard is None:
            return ()
        return tuple((row, row.platform + self.guard.height) for row in self.rows if row.rise > self.guard.over)


def shell(room: Room, cut: float | None = None) -> Shell:
    """Read the numbers of a room that stands empty. ``cut``: x at which a long section is, left out: the middle."""
    return Shell(
        length=room.length,
        width=room.width,
        height=room.height,
        ceiling=_ceiling(room, 0.5 * room.width if cut is None else cut),
        profiles=ceiling_of(room),
        doors=tuple((door, swept(door, room)) for door in room.doors),
        obstructions=room.obstructions,
        openings=room.openings,
    )


def figure(problem: Problem, space: Space, design: Design) -> Figure:
    """Read the numbers of a design of a space."""
    layout = space.layout

    def at(expression: Linear) -> float:
        return float(expression.value(design))

    centre, half = at(layout.image_centre), 0.5 * at(layout.image_width)
    left, right = (at(e) for e in baffle_edges(layout))
    bottom = at(layout.image_bottom)
    lens = layout.lens
    tiles = None
    if layout.tile_rows is not None:
        tiles = round(float(design["screen.columns"])), round(at(layout.tile_rows))
    room = shell(problem.room, centre)
    guard = rear_guard(layout, design)
    return Figure(
        **{one.name: getattr(room, one.name) for one in fields(Shell)},
        baffle=(left, right),
        baffle_depth=at(layout.baffle_depth),
        image=(centre - half, centre + half),
        image_y=at(layout.image_y),
        bottom=bottom,
        top=bottom + at(layout.image_height),
        bezel=at(layout.bezel),
        aspect=layout.aspect,
        rows=tuple(_row(space, design, n) for n in range(len(layout.rows))),
        reference=layout.reference,
        chair=chosen(problem, design).seating.chair,
        bar=problem.seating.bar,
        wheelchair=problem.seating.wheelchair,
        guard=problem.seating.guard,
        aisle_sides=_aisle(space, design),
        loudspeakers=_cabinets(space, design),
        place=layout.speakers.place,
        gap=layout.speakers.gap,
        tiles=tiles,
        screen_type=layout.screen_type,
        acoustic_front=at(layout.acoustic_front),
        projector=None if lens is None else (at(lens.y), at(lens.z)),
        projector_body=None if lens is None else settled(lens.body, design),
        rear_edge=rear_edge(layout, design),
        rear_guard=None if guard is None else guard[1],
        rear_steps=rear_steps(layout, design),
        surround=tuple(one for one in stretches(layout, design) if one.seats != NOBODY),
        bass_stands=tuple(sorted(bass_stands(problem, space, design), key=lambda one: one.place)),
    )


def _aisle(space: Space, design: Design) -> str:
    side = space.layout.aisle_side
    return space.layout.aisle_sides if side is None else ("left", "right")[round(float(side.value(design)))]


def _cabinets(space: Space, design: Design) -> tuple[Cabinet, ...]:
    """The front loudspeakers: left and right, and a centre where the image's plane has a place for it."""
    layout = space.layout
    given = layout.speakers

    def at(one: Linear) -> float:
        return float(one.value(design))

    centre, offset = at(layout.image_centre), at(given.offset)
    axis = None if given.middle is None else at(given.middle)
    if given.place == "behind":
        z, width = None, 2.0 * min(0.14, 0.06 * at(layout.image_width))
    else:
        assert axis is not None
        half, width = 0.5 * at(expression(given.height)), at(expression(given.width))
        z = axis - half, axis + half
    places = [("L", centre - offset), ("C", centre), ("R", centre + offset)]
    depth = None if given.depth is None else at(expression(given.depth))
    return tuple(Cabinet(n, x, width, z, axis, depth) for n, x in places if n != "C" or given.place != "beside")


def _ceiling(room: Room, x: float) -> tuple[tuple[float, float], ...]:
    """The ceiling along the room at a distance from the left wall."""
    ceiling = ceiling_of(room)
    over = height_at(profile=ceiling.across, place=x) if ceiling.across else room.height
    return lowered(profile=ceiling.along, end=room.length, height=min(over, room.height))


def _row(space: Space, design: Design, index: int) -> RowFigure:
    layout = space.layout
    row = layout.rows[index]

    def at(expression: Linear) -> float:
        return float(expression.value(design))

    centre, width, count = at(row.centre), at(row.width), round(at(row.seats))
    first = at(row.middle) - at(end_seat_offset(row))
    behind = row.number > 1

    def measured(name: str) -> float | None:
        return float(catalogue()[name].form(layout, row).value(design)) if behind else None

    return RowFigure(
        number=row.number,
        y=at(row.y),
        platform=at(row.platform),
        rise=at(rise(layout, row)),
        risers=round(at(row.risers)),
        eye=at(row.eye),
        head=at(row.head),
        feet=at(row.feet),
        back=at(row.back),
        x=(centre - 0.5 * width, centre + 0.5 * width),
        seats=tuple(first + j * at(expression(row.pitch)) for j in range(count)),
        places=tuple(sorted(at(x) for x in row.places)),
        bar=row.bar,
        edge=at(platform_front(layout, row)),
        going=measured("step_going") if behind else row.going,
        steps=front_steps(layout, row, design),
        clearance=measured("sightline_clearance"),
    )
