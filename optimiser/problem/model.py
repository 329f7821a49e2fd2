"""The problem, read and checked: frozen data in SI units and radians, nothing left as text.

Every class here is plain data. ``where`` fields hold the place in the problem file that a value
came from, so that later stages can point at it; they take no part in equality.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Union


@dataclass(frozen=True)
class Mark:
    """A place in a problem file: 1-based line and column, and the dotted path of the value."""

    line: int
    column: int
    path: str


@dataclass(frozen=True)
class Fixed:
    """A decision that the file has already taken. ``value`` is in SI (or a number of things)."""

    value: float
    where: Mark | None = field(default=None, compare=False)


@dataclass(frozen=True)
class Range:
    """A decision that the solver may take anywhere on the grid from ``low`` to ``high`` (SI)."""

    low: float
    high: float
    where: Mark | None = field(default=None, compare=False)


@dataclass(frozen=True)
class Choice:
    """A decision among listed ``values`` (SI), each with the ``labels`` that the file wrote."""

    values: tuple[float, ...]
    labels: tuple[str, ...]
    where: Mark | None = field(default=None, compare=False)


Decision = Union[Fixed, Range, Choice]


@dataclass(frozen=True)
class Door:
    """A hinged door. ``hinge`` is measured along its wall: from the front wall on the left and right
    walls, from the left wall on the front and rear walls. ``towards`` says on which side of the hinge
    the closed leaf lies: front or rear on side walls, left or right on front and rear walls."""

    name: str
    wall: str  # left | right | front | rear
    hinge: float  # m
    leaf: float  # m, width of the leaf
    towards: str
    opens: str  # in | out
    angle: float  # rad, how far it opens
    where: Mark | None = field(default=None, compare=False)
    level: float = 0.0  # m, the floor that it opens at, above the room's
    keep: float = 0.0  # m, floor to keep clear before it

    @property
    def jambs(self) -> tuple[float, float]:
        """Where its opening begins and ends along its wall [m]."""
        if self.towards in ("rear", "right"):
            return self.hinge, self.hinge + self.leaf
        return self.hinge - self.leaf, self.hinge


@dataclass(frozen=True)
class Box:
    """A box that nothing may enter, by its extents in metres."""

    name: str
    x: tuple[float, float]
    y: tuple[float, float]
    z: tuple[float, float]
    where: Mark | None = field(default=None, compare=False)


FACES = ("floor", "ceiling", "left", "right", "front", "rear", "walls")
"""What a surface may be a face of: "walls" are all four."""


@dataclass(frozen=True)
class Surface:
    """A surface of the room: one of its faces (floor, ceiling, left, right, front, rear, or walls for all
    four walls), or so many square metres; with its absorption in the six octave bands from 125 Hz."""

    name: str
    of: str | None
    area: float | None  # m2, where it is no face
    absorption: tuple[float, ...]
    where: Mark | None = field(default=None, compare=False)


@dataclass(frozen=True)
class Treatment:
    """Panels that cover part of a surface."""

    panels: Decision  # how many
    panel: float  # m2 of one
    absorption: tuple[float, ...]
    on: str  # name of the surface


@dataclass(frozen=True)
class Opening:
    """A window, or an opening without a door. ``along`` is measured as a door's hinge is."""

    name: str
    kind: str  # window | opening
    wall: str  # left | right | front | rear
    along: tuple[float, float]
    z: tuple[float, float]
    keep: float  # m, floor that is to stay clear before it
    where: Mark | None = field(default=None, compare=False)


@dataclass(frozen=True)
class Room:
    """The shell: SI units; x from the left wall, y from the front wall, z from the floor."""

    length: float
    width: float
    height: float
    doors: tuple[Door, ...]
    obstructions: tuple[Box, ...]
    ceiling: tuple[tuple[float, float], ...]  # (y, height) points in order of y; empty: flat at height
    reverberation_time: float | None  # s
    speed_of_sound: float  # m/s
    where: Mark | None = field(default=None, compare=False)
    surfaces: tuple[Surface, ...] = ()  # instead of a reverberation time
    treatment: Treatment | None = None
    formula: str = "eyring"  # sabine | eyring: from absorption to reverberation time
    ceiling_across: tuple[tuple[float, float], ...] = ()  # (x, height) points in order of x; empty: level
    openings: tuple[Opening, ...] = ()

    @property
    def ways(self) -> tuple[Opening, ...]:
        """Openings that people go through: those that are no windows."""
        return tuple(one for one in self.openings if one.kind == "opening")


@dataclass(frozen=True)
class Baffle:
    """The wall before the front wall that holds the screen and hides the loudspeakers."""

    depth: Decision
    width: Decision | None  # None: as wide as frame and margins need
    margin: float  # m, baffle showing beyond the frame at each side
    solid: bool
    centred: bool
    left: Decision | None = None  # x of the left edge; None: where width or frame and margin put it
    right: Decision | None = None


@dataclass(frozen=True)
class Tile:
    """One of the panels that a tiled wall is built of."""

    width: float  # m
    height: float  # m
    pitch: float  # m, from pixel to pixel


@dataclass(frozen=True)
class Screen:
    """The image and its frame; which of the sizes is open depends on the type."""

    type: str  # projected | panel | tiled
    aspect: Decision  # Fixed or Choice; of a tiled wall whatever its tiles give
    width: Decision | None  # image width; None of a panel or a tiled wall
    diagonal: Decision | None  # a panel from a list of diagonals
    bezel: Decision
    gap: float  # m, from the baffle's face to the image
    bottom: Decision  # height of the image's lower edge
    pixels: int | None  # across the image's width
    gain: float
    centre: Decision | None = None  # x of the image's middle; None: the room's middle, or free
    open_area: float = 0.0  # share of a projected image's surface that is holes
    luminance: float | None = None  # cd/m2, white of a panel or a tiled wall
    tile: Tile | None = None
    columns: Decision | None = None  # tiles side by side
    tile_rows: Decision | None = None  # tiles one above the other


@dataclass(frozen=True)
class Loudspeakers:
    """The front left and right loudspeakers, and where a panel makes them stand."""

    spread: float  # left to right centres as a share of the image width, where they stand within it
    directivity: float  # Q, of the front loudspeakers
    place: str = "behind"  # the image; beside, under or over it where sound cannot pass through
    width: float = 0.3  # m, of one cabinet
    height: float = 0.6  # m
    gap: float = 0.05  # m, from the frame to the cabinets
    depth: float = 0.0  # m, of one cabinet, flush in the baffle's face; 0: the file does not say
    least_distance: float = 0.0  # m, from the baffle's face to the nearest ears; 0: the file does not say
    assumed: bool = False  # whether the file says nothing of a cabinet's width or height
    z: Decision | None = None  # of their axes above the floor, behind the image; None: the file does not say
    apart: Decision | None = None  # left to right centres, where they are not beside the image; None: by the spread

    def place_with(self, screen: Screen) -> str:
        """Where they stand with a kind of screen: no sound comes through a panel."""
        return "beside" if self.place == "behind" and screen.type != "projected" else self.place


MODAL_CONTROL = {"none": 1.0, "several_subwoofers": 0.5, "active": 0.25}
"""By what the weights of goals on midpoints and single modes are scaled: common practice, no source."""


@dataclass(frozen=True)
class Bass:
    """Bass loudspeakers: one of the usual arrangements, by its number in decisions.ARRANGEMENT_NAMES."""

    arrangement: Decision  # Fixed or Choice
    positions: tuple[tuple[float, float, float], ...]  # x, y, z of each, of an arrangement of one's own
    height: float  # m, of the loudspeakers of a usual arrangement
    band: tuple[float, float]  # Hz
    reverberation_time: float | None  # s, at low frequencies
    modal_control: str  # none | several_subwoofers | active
    depths: tuple[float, float] | None = None  # m, of the baffle wall that it is for, where not those of the decision
    where: Mark | None = field(default=None, compare=False)


@dataclass(frozen=True)
class Surround:
    """Surround and overhead loudspeakers: a layout of physics.windows, and how wide one is."""

    layout: str
    width: float  # m


@dataclass(frozen=True)
class Projector:
    """The lens: what it throws, how far and from where."""

    lumens: float
    throw_ratio: tuple[float, float]
    y: Decision | None  # of the lens, from the front wall
    z: Decision
    behind: Decision | None = None  # instead of y: of the lens, behind the rear wall's face
    chip: float = 16 / 9  # aspect ratio of what it projects
    lens_offset: tuple[float, float] | None = None  # least and greatest, in heights of the chip's image
    weight: float | None = None  # kg


@dataclass(frozen=True)
class Chair:
    """Sizes of one seat and of the person in it [m]."""

    width: float
    depth: float
    reclined: float
    eye_height: float
    eye_to_back: float
    head_above_eye: float
    arms: str = "own"  # own | shared: whether neighbours have an arm between them in common
    arm: float = 0.0  # m, width of one arm
    travel: float = 0.0  # m, by which the back moves behind its upright place when reclined

    @property
    def spacing(self) -> float:
        """From the middle of a seat to that of the next [m]."""
        return self.width - self.arm if self.arms == "shared" else self.width

    @property
    def ends(self) -> float:
        """What a row of chairs is wider than its seats times the spacing [m]."""
        return self.width - self.spacing

    @property
    def ahead(self) -> float:
        """From the eyes to the foremost point, reclined [m]."""
        return self.reclined - self.eye_to_back - self.travel

    @property
    def ahead_upright(self) -> float:
        """From the eyes to the foremost point, upright [m]."""
        return self.depth - self.eye_to_back


@dataclass(frozen=True)
class Bar:
    """A counter with stools, in the place of the last row."""

    counter: float  # m, depth of the counter
    height: float  # m, of the counter above the row's floor
    place: float  # m, width of one place at it
    eye_to_counter: float  # m, from the eyes to the counter's near edge
    eye_to_back: float  # m, from the eyes to the rearmost point of stool and person
    eye_height: float  # m, eyes above the row's floor
    head_above_eye: float
    seats: Decision | None  # places; None: as many as any row has seats

    travel = 0.0
    ends = 0.0

    @property
    def spacing(self) -> float:
        """From the middle of a place to that of the next [m]."""
        return self.place

    @property
    def ahead(self) -> float:
        """From the eyes to the counter's far edge [m]."""
        return self.eye_to_counter + self.counter

    @property
    def ahead_upright(self) -> float:
        """The same: a counter does not recline [m]."""
        return self.ahead


@dataclass(frozen=True)
class Wheelchair:
    """Clear floor for people who bring their own chair, at one end of a row."""

    row: int
    places: int
    width: float  # m, of the floor for one
    depth: float  # m
    side: str  # left | right end of the row
    source: str = ""  # where that size is from; empty where the file does not say


@dataclass(frozen=True)
class Guard:
    """A guard that will be built at every open edge with a greater drop than ``over``."""

    height: float  # m, above the platform
    over: float  # m


@dataclass(frozen=True)
class Aisle:
    """Ways along the side walls to the rows."""

    sides: str  # none | one | left | right | both
    width: float
    picked: bool = False  # of one aisle, whether its side was pinned: a decision that answers tell of all the same


@dataclass(frozen=True)
class Platforms:
    """What the rows stand on."""

    step: float  # platform heights are whole multiples of this
    to: float  # greatest platform height
    first: Decision  # platform of row 1: fixed at 0 unless the file says otherwise
    risers: int  # most risers from one row's level to the next
    behind: Decision | None = None  # by how much the last platform runs on behind its chairs; None: to the rear wall
    going: float | None = None  # m, depth of each step in the aisle, at most; None: as the row pitch is shared out


@dataclass(frozen=True)
class Seating:
    """Rows, seats, chairs and the ways to them."""

    rows: tuple[int, ...]  # numbers of rows that are allowed, ascending
    reference_row: int
    seats: Decision  # seats in each row
    chair: Chair
    aisle: Aisle
    platforms: Platforms
    place: tuple[tuple[str, Decision], ...]  # decisions of single rows: ("row2.y", Fixed(3.1))
    standing: float = 1.83  # m, height of a person who stands up
    centre: Decision | None = None  # x of the rows' middle; None: the image's
    stagger: Decision = Fixed(0.0)  # shift of rows 2, 4, ... to the right, in seats
    bar: Bar | None = None
    wheelchair: Wheelchair | None = None
    guard: Guard | None = None
    asked: int = 1  # how many rows there must be for what is asked beside the file, as a pin on a row, to mean anything


@dataclass(frozen=True)
class Item:
    """A thing that may be bought. ``own`` is what it says of the part of the file that lists it, by that
    part's keys (SI): those fields of the part are then None."""

    number: int  # the value of the decision that takes it
    name: str
    price: float | None  # in the file's currency
    own: tuple[tuple[str, float | tuple[float, float]], ...] = ()
    where: Mark | None = field(default=None, compare=False)


@dataclass(frozen=True)
class Listing:
    """Things of which one is taken: of the screens of one type, projectors, loudspeakers or chairs. Without
    ``pick`` there is no choice: the one thing that the file has, and its price."""

    of: str  # screen | projector | loudspeakers | chair | panels | tiles; the decision's name
    items: tuple[Item, ...]
    pick: Decision | None  # among the items' numbers
    type: str = ""  # of the screens

    @property
    def keys(self) -> tuple[str, ...]:
        """What the items say of their part."""
        return tuple(key for key, _ in self.items[0].own)


@dataclass(frozen=True)
class Limit:
    """A bound on a measure that must hold. ``row``: reference, all, worst, or a number as text."""

    measure: str
    row: str
    at_least: float | None
    at_most: float | None
    options: tuple[tuple[str, object], ...] = ()  # e.g. (("order", 2), ("axis", "length"))
    firm: bool = False
    where: Mark | None = field(default=None, compare=False)
    source: str | None = None  # where a building code has it, of a limit that the file's codes bring

    @property
    def ends(self) -> tuple[float | None, float | None]:
        """The least and the greatest that holds it."""
        return self.at_least, self.at_most


@dataclass(frozen=True)
class Goal:
    """A band that should hold: score 1 inside, falling in a straight line to 0 over ``fade``."""

    measure: str
    row: str
    low: float | None
    high: float | None
    fade: float
    weight: float
    options: tuple[tuple[str, object], ...] = ()
    source: str | None = None
    where: Mark | None = field(default=None, compare=False)
    trust: str | None = None  # how far the source was checked, of a published band
    targets: str | None = None  # name of the set of published bands that it comes from


@dataclass(frozen=True)
class Spread:
    """How exactly a decision is built, or a number of the file known: anywhere ``within`` so far to either
    side, or normal with standard deviation ``sigma`` (SI; one of the two is given)."""

    path: str  # a decision's public name, or a path in the file
    quantity: str
    within: float | None = None
    sigma: float | None = None
    where: Mark | None = field(default=None, compare=False)


@dataclass(frozen=True)
class People:
    """Whose eyes and heads are in the seats: a table of body sizes, and the share of women."""

    table: str
    women: float
    where: Mark | None = field(default=None, compare=False)


@dataclass(frozen=True)
class Problem:
    """All that a problem file says. ``show`` is how lengths are printed: ft-in, in, m, cm or mm."""

    title: str
    show: str
    room: Room
    baffle: Baffle
    screen: Screen
    loudspeakers: Loudspeakers
    projector: Projector | None
    seating: Seating
    limits: tuple[Limit, ...]
    goals: tuple[Goal, ...]
    designs: tuple[tuple[str, tuple[tuple[str, float], ...]], ...]  # name -> decisions set (SI)
    file: str | None = None
    bass: Bass | None = None
    surround: Surround | None = None
    other_screens: tuple[Screen, ...] = ()  # kinds of screen to choose from instead of ``screen``
    kind_picked: bool = False  # whether the kind of screen was pinned, where the file has several
    tolerances: tuple[Spread, ...] = ()
    people: People | None = None
    codes: str = "none"  # the preset of building codes whose limits are among ``limits``
    listings: tuple[Listing, ...] = ()
    currency: str = ""  # what prices are in
    said: str | None = field(default=None, compare=False, repr=False)  # a digest of what the file says of the room

    @property
    def screens(self) -> tuple[Screen, ...]:
        """Every kind of screen that may be chosen."""
        return (self.screen, *self.other_screens)
