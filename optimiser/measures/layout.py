"""The geometry that measures read: linear expressions of the decisions beside the room's constants.

x to the right from the left wall, facing the image; y from the front wall to the rear; z up from
the floor; metres, seconds, radians.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from optimiser.linear import Expression, Linear

if TYPE_CHECKING:
    from optimiser.physics.bass import BassField
    from optimiser.physics.sector import Sector


End = float | Linear
"""Where a box ends along an axis."""


@dataclass(frozen=True)
class Body:
    """A box that nothing may enter. Where it is may hang on decisions."""

    name: str
    x: tuple[End, End]
    y: tuple[End, End]
    z: tuple[End, End]


@dataclass(frozen=True)
class Ceiling:
    """The ceiling: the lowest of ``height``, a profile along y and a profile across x (each from wall
    to wall, or empty)."""

    height: float
    along: tuple[tuple[float, float], ...] = ()
    across: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class Row:
    """One row of seats. ``y`` is where its people's eyes and ears are."""

    number: int
    y: Linear
    platform: Linear  # height of the row's floor
    seats: Linear
    counts: tuple[int, ...]  # numbers of seats that it may have, ascending
    risers: Linear  # risers from the level of the row in front (or the floor) to this one
    flights: tuple[int, ...]  # numbers of risers that there may be, ascending
    going: float | None  # m, of each step up to the row where the row pitch has room; None: the row pitch shared out
    centre: Linear  # x of the row's middle
    eye: Linear  # height of the eyes
    head: Linear  # height of the top of the heads
    feet: Linear  # y of the foremost point, reclined
    back: Linear  # y of the rearmost point, reclined
    upright_feet: Linear  # y of the foremost point, upright
    width: Linear
    pitch: Linear | float  # from the middle of a seat to that of the next
    middle: Linear  # x of the seats' middle, without places for wheelchairs
    places: tuple[Linear, ...]  # x of places for wheelchairs
    outermost: tuple[Linear, Linear]  # x of the leftmost and the rightmost person
    bar: bool
    begins: float | None = None  # x at which the points of its bass table begin; None: as the middle has it

    @property
    def across(self) -> float:
        """x at which the points of the row's bass table begin: at its middle, where that stays in one place."""
        if self.begins is not None:
            return self.begins
        return self.middle.constant if self.middle.is_constant else 0.0

    @property
    def most_seats(self) -> int:
        return self.counts[-1]

    @property
    def span(self) -> tuple[Linear, Linear]:
        """x of the row's left and right end."""
        half = self.width * 0.5
        return self.centre - half, self.centre + half


@dataclass(frozen=True)
class Lens:
    """A projector as its light leaves it; of those to choose from, ``lumens`` is what the brightest has."""

    y: Linear
    z: Linear
    lumens: float
    chip: float  # aspect ratio
    root: Linear  # of the lumens, as a share of the brightest's
    throw_ratio: tuple[Linear, Linear]  # least and greatest
    offset: tuple[Linear, Linear] | None
    body: Body  # the projector, about its lens


@dataclass(frozen=True)
class Speakers:
    """The front loudspeakers. ``offset`` is that of the left and right ones from the image's centre
    line, ``middle`` the height of their axes above the floor (None where the file does not say); ``width`` and ``height``
    are what one cabinet takes where it is not behind the image. Of those to choose from, ``directivity`` is the greatest."""

    place: str  # behind | beside | under | over
    offset: Linear
    middle: Linear | None
    width: Linear | float
    height: Linear | float
    gap: float  # from the frame to the cabinets
    directivity: float
    depth: Linear | None  # of a cabinet, flush in the baffle's face; None where the file does not say
    root: Linear  # of the directivity, as a share of the greatest
    least_distance: Linear | None  # from the baffle's face to the nearest ears
    usual: Linear | None  # by the image's width, the offset, where it is decided by itself

    @property
    def aside(self) -> Linear | float:
        """What they take of the front's width at each side of the frame."""
        return self.gap + self.width if self.place == "beside" else 0.0


@dataclass(frozen=True)
class Bass:
    """The bass room: its loudspeakers' field, and where it begins along the room."""

    field: BassField
    front: float
    mirrored: bool  # whether left and right are alike


@dataclass(frozen=True)
class Line:
    """A line on a wall along which loudspeakers may be mounted: ``along`` y at x = ``at``, or along x at y = ``at``.
    ``left`` says which half of the room it is in, None for both; ``free`` are the stretches for a loudspeaker's middle
    that nothing else takes while the loudspeakers hang between the two heights of ``level``."""

    surface: str
    along: str
    at: float
    left: bool | None
    free: tuple[tuple[float, float], ...]
    level: tuple[float, float] = (-math.inf, math.inf)


Plane = tuple[float, float, float]
"""A height above the floor that is c + a x + b y: (c, a, b)."""


@dataclass(frozen=True)
class Area:
    """A rectangle in plan, in the ``left`` half of the room or the right, in which loudspeakers' middles may hang: under a
    ceiling that is the lowest of ``planes``, of which one is the ``nearest``: what is as far aside as that asks is far enough."""

    left: bool
    x: tuple[float, float]
    y: tuple[float, float]
    planes: tuple[Plane, ...]
    nearest: Plane


@dataclass(frozen=True)
class Surround:
    """A layout of surround and overhead loudspeakers, half the width of one, and where on walls and on the ceiling they
    may be."""

    layout: str
    half: float
    lines: tuple[Line, ...]
    areas: tuple[Area, ...]


@dataclass(frozen=True)
class Decay:
    """How sound dies away: a time that was given, or what all surfaces absorb in each octave band."""

    time: float | None  # s
    absorption: tuple[Linear, ...]  # m2, one a band; none where the time was given
    surface: float  # m2
    formula: str  # sabine | eyring


@dataclass(frozen=True)
class Layout:
    """A room with its decisions, for a given number of rows, kind of screen and aspect ratio."""

    length: float
    width: float
    height: float
    volume: float
    ceiling: Ceiling
    sweeps: tuple[tuple[str, Sector], ...]  # what each door sweeps, seen from above
    thresholds: tuple[float, ...]  # the level that each door opens at, in the same order
    passages: tuple[Sector, ...]  # openings without a door, as what a door that opens out sweeps
    bodies: tuple[Body, ...]
    decay: Decay | None
    panels: Linear | None  # m2 of absorbing panels
    kept: tuple[Body, ...]  # what windows and openings need clear before them
    bass: Bass | None
    surround: Surround | None
    speed_of_sound: float
    screen_type: str  # projected | panel | tiled
    aspect: float
    image_width: Linear
    image_height: Linear
    tile_rows: Linear | None  # tiles one above the other
    image_bottom: Linear
    image_centre: Linear  # x
    image_y: Linear  # plane of the image
    bezel: Linear
    baffle_depth: Linear  # y of the baffle's face
    baffle_width: Linear
    baffle_left: Linear  # x of the baffle's edges
    baffle_right: Linear
    baffle_centred: bool  # on the image, whatever the decisions
    acoustic_front: Linear  # where the length modes begin: a solid baffle's face, else the wall
    pixel_pitch: Expression | None
    gain: float  # of the surface, its holes allowed for; of those to choose from, the greatest
    gain_root: Linear  # root of the gain, as a share of the greatest
    white: Linear | None  # cd/m2 of a screen that shines itself
    lens: Lens | None
    speakers: Speakers
    standing: float  # height of a standing person
    chair_width: Linear
    recline: Linear  # by how much a chair is longer when reclined
    aisle_sides: str  # none | one | left | right | both
    aisle_width: float
    aisle_side: Linear | None  # of one aisle: 0 left, 1 right; None where both sides are alike
    aisle_picked: bool  # whether the side of one aisle was pinned
    guard: tuple[float, float] | None  # height of guards, and the drop over which they are built
    platform_behind: Linear | None  # by how much the last platform runs on behind its chairs; None: to the rear wall
    rows: tuple[Row, ...]
    reference: int  # number of the reference row, clamped to the rows there are
    counts: Mapping[str, Expression]  # how many of what may have a price
    cost: Expression | None  # in the file's currency

    @cached_property
    def made(self) -> dict[Hashable, Any]:
        """What was made of this layout for limits and goals, to be had again for the same ones. It goes to no other
        process."""
        return {}

    def __getstate__(self) -> dict[str, Any]:
        return {name: value for name, value in vars(self).items() if name != "made"}

    @property
    def lining(self) -> Decay | None:
        """What the surfaces absorb, where the file says it."""
        return self.decay if self.decay is not None and self.decay.absorption else None

    @property
    def light(self) -> Lens | Linear | None:
        """What the image's light comes from: the projector, or the screen itself."""
        return self.lens if self.screen_type == "projected" else self.white

    @property
    def hanging(self) -> tuple[Body, ...]:
        """What may hang over people, or in their way: the room's obstructions and the projector."""
        return self.bodies if self.lens is None else (*self.bodies, self.lens.body)

    @property
    def wheelchair_row(self) -> Row | None:
        """The row with places for wheelchairs."""
        return next((row for row in self.rows if row.places), None)

    @property
    def loudspeaker_height(self) -> Linear | None:
        """Of the front loudspeakers' axes above the floor."""
        return self.speakers.middle

    @property
    def reference_row(self) -> Row:
        return self.rows[self.reference - 1]

    def row_before(self, row: Row) -> Row:
        """The row in front of ``row``."""
        return self.rows[row.number - 2]
