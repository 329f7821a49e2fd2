"""Problem files as people write them: every key of format 1, its kind and its default.

The one place that both the reader and the JSON Schema are made from. Docstrings under the fields
are the hover texts of editors, and defaults are texts as a file would have them. Once validated,
values are SI (radians) and decisions Fixed, Range or Choice. What several keys must agree on is in
checks.py.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, ClassVar

from pydantic import BaseModel, ConfigDict, Field, create_model

from optimiser.physics.materials import MATERIALS
from optimiser.physics.windows import LAYOUTS
from optimiser.problem.codes import NAMES as CODE_NAMES
from optimiser.problem.decisions import DECISIONS, LARGEST, MOST_ROWS, PLACE, SCREEN_TYPES, SIZE, Bounds
from optimiser.problem.fields import (
    Decides,
    Designs,
    FormatNumber,
    Later,
    OneOf,
    Quantity,
    RowPlaces,
    Text,
    Truth,
    decides,
    decides_of_row,
)
from optimiser.problem.model import FACES, MODAL_CONTROL
from optimiser.problem.tolerances import Tolerances
from optimiser.quantity import SYSTEMS

TARGETS = tuple(sorted(path.stem for path in (Path(__file__).resolve().parent.parent / "targets").glob("*.yaml")))
"""The sets of published bands, by name."""

Size = Annotated[Any, Quantity(SIZE)]  # a length above zero
Place = Annotated[Any, Quantity(PLACE)]  # a length from zero up
RoomSize = Annotated[Any, Quantity(Bounds("length", least=1, most=LARGEST))]
Name = Annotated[Any, Text()]
YesNo = Annotated[Any, Truth()]
Extent = Annotated[list[Place], Field(min_length=2, max_length=2)]
ThrowRatio = Annotated[Any, Quantity(Bounds("ratio", above=0, most=20))]
Absorption = Annotated[Any, Quantity(Bounds("number", least=0, most=1.2))]
BassFrequency = Annotated[Any, Quantity(Bounds("frequency", least=5, most=300))]
Price = Annotated[Any, Quantity(Bounds("money", least=0, most=1_000_000_000))]
LensOffset = Annotated[Any, Quantity(Bounds("ratio", least=-5, most=5), signed=True)]


def absent() -> Any:
    """The default of a key that may be left out and then has no value."""
    return Field(default=None, validate_default=False)


def part(model: type[BaseModel]) -> Any:
    """The default of a mapping that may be left out: all its own defaults."""
    return Field(default_factory=model)


class Part(BaseModel):
    """A mapping with known keys only."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True, validate_default=True)

    keys_of: ClassVar[type[BaseModel] | None] = None
    """the model that tells about keys of this one"""


def thing(name: str, kind: type[BaseModel], *keys: str) -> type[BaseModel]:
    """A thing of a list: its name and price, and those of a part's keys in which things may differ, each
    with one value."""

    def one(metadata: object) -> object:
        return Quantity(metadata.bounds) if isinstance(metadata, Decides) else metadata

    fields: dict[str, Any] = {
        "name": (Name, Field(description="what it is called")),
        "price": (Price, Field(default=None, validate_default=False, description="in the file's currency")),
    }
    for key in keys:
        field = kind.model_fields[key]
        kept = (field.annotation, *map(one, field.metadata))
        fields[key] = (Annotated[kept] if len(kept) > 1 else kept[0], absent())
    made = create_model(name, __base__=Part, **fields)
    made.keys_of = kind
    made.__doc__ = "A thing to choose; each key stands in every thing of the list, or once beside it."
    return made


# --- the room ---------------------------------------------------------------------------------


class Door(Part):
    """A hinged door and how it swings."""

    name: Name = "door"
    """what messages and drawings call it"""
    wall: Annotated[Any, OneOf("left", "right", "front", "rear")]
    """the wall it is in, as seen facing the image: left, right, front or rear"""
    hinge: Place
    """where its hinge is along the wall: from the front wall, or from the left wall"""
    leaf: Size
    """width of the leaf"""
    towards: Annotated[Any, OneOf("front", "rear", "left", "right")]
    """the side of the hinge on which the closed leaf lies"""
    opens: Annotated[Any, OneOf("in", "out")] = "in"
    """into the room, or out of it"""
    angle: Annotated[Any, Quantity(Bounds("angle", above=0, most=3.1416))] = "90 deg"
    """how far it opens"""
    level: Place = "0 m"
    """the floor that it opens at, above the room's: of a landing or platform"""
    keep: Place = absent()
    """floor to keep clear before its opening; left out: 0.9 m if it opens out, none if it opens in, as its swing is kept clear"""


class Box(Part):
    """A box that nothing may enter: a soffit, a chimney breast, a radiator."""

    name: Name = "obstruction"
    """what messages and drawings call it"""
    x: Extent
    """from and to, from the left wall"""
    y: Extent
    """from and to, from the front wall"""
    z: Extent
    """from and to, from the floor"""


class CeilingPoint(Part):
    """A point of a ceiling that is not flat; straight between points."""

    y: Place
    """distance from the front wall"""
    height: Size
    """height of the ceiling there"""


class Surface(Part):
    """A surface of the room and what it absorbs. One that is not listed absorbs nothing."""

    name: Name = "surface"
    """what messages call it, and a treatment that covers it"""
    of: Annotated[Any, OneOf(*FACES)] = absent()
    """a face of the room, whose area follows from the room: floor, ceiling, one wall, or all walls"""
    area: Annotated[Any, Quantity(Bounds("area", above=0, most=10_000))] = absent()
    """instead of a face: so much area, as of chairs or a curtain"""
    material: Annotated[Any, OneOf(*MATERIALS)] = absent()
    """a material of the program's table"""
    absorption: Annotated[list[Absorption], Field(min_length=6, max_length=6)] = absent()
    """instead of a material: coefficients at 125, 250, 500, 1000, 2000 and 4000 Hz"""


class Treatment(Part):
    """Absorbing panels on a surface; how many may be a decision."""

    panels: Annotated[Any, decides("treatment.panels")]
    """number of panels"""
    panel: Annotated[Any, Quantity(Bounds("area", above=0, most=100))]
    """area of one panel"""
    on: Name
    """name of the surface that they cover"""
    material: Annotated[Any, OneOf(*MATERIALS)] = absent()
    """a material of the program's table"""
    absorption: Annotated[list[Absorption], Field(min_length=6, max_length=6)] = absent()
    """instead of a material: coefficients at 125, 250, 500, 1000, 2000 and 4000 Hz"""
    price: Price = absent()
    """of one panel, in the file's currency"""


class CeilingAcross(Part):
    """A point of a ceiling that slopes or steps across the room; straight between points."""

    x: Place
    """distance from the left wall"""
    height: Size
    """height of the ceiling there"""


class Opening(Part):
    """A window, or an opening without a door."""

    name: Name = "opening"
    """what messages and drawings call it"""
    kind: Annotated[Any, OneOf("window", "opening")] = "opening"
    """window, or opening: a way through without a door"""
    wall: Annotated[Any, OneOf("left", "right", "front", "rear")]
    """the wall it is in, as seen facing the image: left, right, front or rear"""
    along: Extent
    """from and to along its wall, from the front wall or from the left wall"""
    z: Extent
    """from and to, from the floor"""
    keep: Place = absent()
    """floor to keep clear before it; left out: 0.3 m at a window, 0.9 m at an opening; 0 keeps nothing clear"""


class Room(Part):
    """The room as it stands, finished face to finished face."""

    length: RoomSize
    """front wall to rear wall"""
    width: RoomSize
    """left wall to right wall"""
    height: RoomSize
    """floor to ceiling, at its highest"""
    doors: list[Door] = []
    """doors with their swing"""
    obstructions: list[Box] = []
    """boxes that nothing may enter"""
    ceiling: list[CeilingPoint] = []
    """points of a ceiling that is not flat, from the front wall to the rear; left out: flat"""
    ceiling_across: list[CeilingAcross] = []
    """the same from the left wall to the right; with both, the lower of the two counts"""
    openings: list[Opening] = []
    """windows, and openings without a door"""
    reverberation_time: Annotated[Any, Quantity(Bounds("time", above=0, most=20))] = absent()
    """RT60 of the finished room, where it is known"""
    surfaces: list[Surface] = []
    """instead of a reverberation time: all surfaces, from which it is found"""
    treatment: Treatment = absent()
    """absorbing panels on one of the surfaces"""
    formula: Annotated[Any, OneOf("eyring", "sabine")] = "eyring"
    """how the reverberation time is found from the surfaces"""
    temperature: Annotated[Any, Quantity(Bounds("temperature", least=253.15, most=323.15), signed=True)] = "20 degC"
    """of the air, for the speed of sound: 343.2 m/s sqrt((t + 273.15) / 293.15), t in degC"""


# --- the front --------------------------------------------------------------------------------


class Baffle(Part):
    """The wall of loudspeakers and screen in front of the room's front wall."""

    depth: Annotated[Any, decides("baffle.depth")] = "0 m"
    """from the front wall to the baffle's face; left out: no baffle"""
    width: Annotated[Any, decides("baffle.width")] = absent()
    """left out: as wide as frame and margins need"""
    margin: Place = "0 m"
    """baffle that shows beyond the frame, at each side"""
    solid: YesNo = "true"
    """whether sound meets it as a wall: then the room's acoustic length begins at its face"""
    centred: YesNo = "true"
    """whether the image stands in the middle of the room's width"""
    left: Annotated[Any, decides("baffle.left")] = absent()
    """its left edge, from the left wall, where it is not centred; left out: as the width has it"""
    right: Annotated[Any, decides("baffle.right")] = absent()
    """its right edge, from the left wall"""


class Tile(Part):
    """One of the panels that a tiled wall is built of."""

    width: Size
    """of one tile"""
    height: Size
    """of one tile"""
    pitch: Size
    """from pixel to pixel"""
    price: Price = absent()
    """of one tile, in the file's currency"""


class ScreenKeys(Part):
    """What may be said of a screen."""

    type: Annotated[Any, OneOf(*SCREEN_TYPES)] = "projected"
    """projected: any width; panel: from a list of diagonals; tiled: a wall of whole tiles"""
    aspect: Annotated[Any, decides("screen.aspect", ranges=False)] = "16:9"
    """width to height, as '16:9' or '2.40:1'"""
    width: Annotated[Any, decides("screen.width")] = absent()
    """image width; left out: from 0.5 m to the room's width"""
    diagonal: Annotated[Any, decides("screen.diagonal", ranges=False)] = absent()
    """a panel's diagonal; several sizes as {choose: [...]}, among the things of a list as several of them"""
    tile: Tile = absent()
    """one tile of a tiled wall"""
    columns: Annotated[Any, decides("screen.columns")] = absent()
    """tiles side by side in a tiled wall"""
    tile_rows: Annotated[Any, decides("screen.tile_rows")] = absent()
    """tiles one above the other in a tiled wall"""
    bezel: Annotated[Any, decides("screen.bezel")] = "0 m"
    """width of the frame around the image"""
    gap: Place = "0 m"
    """from the baffle's face to the image"""
    bottom: Annotated[Any, decides("screen.bottom")]
    """height of the image's lower edge above the floor"""
    centre: Annotated[Any, decides("screen.centre")] = absent()
    """the image's middle, from the left wall, where the baffle is not centred"""
    pixels: Annotated[Any, Quantity(Bounds("count", least=1, most=100_000))] = absent()
    """pixels across the image; of a projector, across its whole chip"""
    gain: Annotated[Any, Quantity(Bounds("number", above=0, most=10))] = "1.0"
    """of a projected image's surface, without holes"""
    open_area: Annotated[Any, Quantity(Bounds("ratio", least=0, most=0.9))] = "0"
    """share of a projected image's surface that is holes, which swallow light"""
    luminance: Annotated[Any, Quantity(Bounds("luminance", above=0, most=100_000))] = absent()
    """of a panel's or a tiled wall's white, as it will be set"""


ScreenThing = thing(
    "ScreenThing",
    ScreenKeys,
    *("width", "diagonal", "aspect", "bezel", "gap", "pixels", "gain", "open_area", "luminance"),
)


class Screen(ScreenKeys):
    """The image and its frame."""

    choose: list[ScreenThing] = []  # type: ignore[valid-type]
    """screens to choose from, each with a name, a price, and what differs between them"""
    name: Name = absent()
    """what it is called, where there is none to choose"""
    price: Price = absent()
    """of the screen, in the file's currency, where there is none to choose"""


class LoudspeakerKeys(Part):
    """What may be said of front loudspeakers."""

    spread: Annotated[Any, Quantity(Bounds("ratio", above=0, most=3))] = "0.9"
    """left to right centres, as a share of the image width; beside the image the cabinets decide"""
    apart: Annotated[Any, decides("loudspeakers.apart")] = absent()
    """instead of spread: left to right centres, behind, under or over the image"""
    directivity: Annotated[Any, Quantity(Bounds("number", least=1, most=100))] = "5"
    """directivity factor Q"""
    z: Annotated[Any, decides("loudspeakers.z")] = absent()
    """of their axes above the floor, behind the image; left out: not settled, and nothing asks for it"""
    place: Annotated[Any, OneOf("behind", "beside", "under", "over")] = "behind"
    """behind the image; beside, under or over it. Left out: behind, and beside a panel or a tiled wall"""
    width: Size = "12 in"
    """of one cabinet; behind the image it counts where depth or apart is given"""
    height: Size = "24 in"
    """of one cabinet; behind the image it counts where depth is given"""
    gap: Place = "2 in"
    """from the frame to the cabinets"""
    depth: Place = "0 m"
    """of one cabinet, flush in the baffle's face, or before the front wall without a baffle; left out: cabinets are not checked against obstructions"""
    least_distance: Place = "0 m"
    """from the baffle's face to the nearest ears; left out: any"""


LoudspeakersThing = thing(
    "LoudspeakersThing", LoudspeakerKeys, "width", "height", "depth", "directivity", "least_distance"
)


class Loudspeakers(LoudspeakerKeys):
    """The front loudspeakers. The sizes' defaults are common practice, without a source."""

    choose: list[LoudspeakersThing] = []  # type: ignore[valid-type]
    """loudspeakers to choose from, each with a name, a price, and what differs between them"""
    name: Name = absent()
    """what they are called, where there are none to choose"""
    price: Price = absent()
    """of all front loudspeakers, in the file's currency, where there are none to choose"""


class Front(Part):
    """Baffle wall, screen and front loudspeakers."""

    baffle: Baffle = part(Baffle)
    """the baffle wall; left out: none"""
    screen: Screen = absent()
    """the image and its frame"""
    screens: list[Screen] = []
    """instead of screen: kinds of screen of which the optimiser picks one, each type once"""
    loudspeakers: Loudspeakers = part(Loudspeakers)
    """the front loudspeakers"""


class ProjectorKeys(Part):
    """What may be said of a projector."""

    lumens: Annotated[Any, Quantity(Bounds("flux", above=0, most=1_000_000))] = absent()
    """luminous flux, as set up"""
    throw_ratio: Annotated[list[ThrowRatio], Field(min_length=2, max_length=2)] = absent()
    """least and greatest throw distance over image width, as [1.3, 2.1]"""
    y: Annotated[Any, decides("projector.y")] = absent()
    """the lens, from the front wall"""
    behind: Annotated[Any, Decides(PLACE)] = absent()
    """instead of y, for a shelf behind the rear wall: the lens, from that wall's face"""
    z: Annotated[Any, decides("projector.z")]
    """the lens, above the floor"""
    chip: Annotated[Any, Quantity(DECISIONS["screen.aspect"])] = "16:9"
    """aspect ratio of what it projects; a wider image leaves part of it dark"""
    lens_offset: Annotated[list[LensOffset], Field(min_length=2, max_length=2)] = absent()
    """least and greatest height of the lens over the image's middle, in heights of the chip's image"""
    weight: Annotated[Any, Quantity(Bounds("mass", above=0, most=1000))] = absent()
    """what hangs or stands overhead"""


ProjectorThing = thing("ProjectorThing", ProjectorKeys, "lumens", "throw_ratio", "lens_offset", "weight")


class Projector(ProjectorKeys):
    """The projector."""

    model_config = ConfigDict(
        json_schema_extra={"anyOf": [{"required": ["lumens", "throw_ratio"]}, {"required": ["choose"]}]}
    )

    choose: list[ProjectorThing] = []  # type: ignore[valid-type]
    """projectors to choose from, each with a name, a price, and what differs between them"""
    name: Name = absent()
    """what it is called, where there is none to choose"""
    price: Price = absent()
    """of the projector, in the file's currency, where there is none to choose"""


# --- surround and overhead loudspeakers -------------------------------------------------------


class Surround(Part):
    """Surround and overhead loudspeakers, which stand and hang where the room has free wall and ceiling."""

    layout: Annotated[Any, OneOf(*LAYOUTS)]
    """loudspeakers at the ears' height (with the three in front) + overhead"""
    width: Size = "25 cm"
    """of one loudspeaker, along its wall"""


# --- the bass ---------------------------------------------------------------------------------


class BassPlace(Part):
    """Where one bass loudspeaker stands: its middle."""

    x: Place
    """from the left wall"""
    y: Place
    """from the front wall"""
    z: Place
    """above the floor"""


class Bass(Part):
    """Bass loudspeakers, all in phase and equally loud, and how their sound is judged."""

    arrangement: Annotated[Any, decides("bass.arrangement", ranges=False)]
    """where they stand: a usual arrangement, or own; as {choose: [...]} the optimiser picks"""
    positions: list[BassPlace] = []
    """of an arrangement of your own: each loudspeaker's place; one inside a solid baffle plays from its face"""
    height: Place = "12 in"
    """of the loudspeakers' middles above the floor, in a usual arrangement"""
    band: Annotated[list[BassFrequency], Field(min_length=2, max_length=2)] = ["20 Hz", "80 Hz"]
    """lowest and highest frequency that is judged, in bands of about a third octave that begin at the lowest"""
    reverberation_time: Annotated[Any, Quantity(Bounds("time", above=0, most=20))] = absent()
    """at low frequencies; left out: the room's, or that of its surfaces at 125 Hz with the fewest panels"""
    modal_control: Annotated[Any, OneOf(*MODAL_CONTROL)] = "none"
    """what else evens out the bass; it scales down the weight of goals on midpoints and modes"""


# --- the seating ------------------------------------------------------------------------------


class ChairKeys(Part):
    """What may be said of a chair."""

    width: Size = "30 in"
    """over the arms"""
    depth: Size = "38 in"
    """upright"""
    reclined: Size = "66 in"
    """depth when reclined"""
    eye_height: Size = "44 in"
    """eyes above the row's floor"""
    eye_to_back: Place = "8 in"
    """from the eyes to the rearmost point of the upright seat"""
    head_above_eye: Place = "4.5 in"
    """top of the head above the eyes"""
    arms: Annotated[Any, OneOf("own", "shared")] = "own"
    """whether neighbours have an arm between them in common"""
    arm: Place = "0 m"
    """width of one arm, where they are shared"""
    travel: Place = "0 m"
    """how far the back moves behind its upright place when reclined"""


class Bar(Part):
    """A counter with stools in the place of the last row. The defaults are common practice, without a source."""

    counter: Size = "16 in"
    """depth of the counter"""
    height: Size = "42 in"
    """of the counter, above the row's floor"""
    place: Size = "24 in"
    """width of one place at it"""
    eye_to_counter: Place = "6 in"
    """from the eyes to the counter's near edge"""
    eye_to_back: Size = "12 in"
    """from the eyes to the rearmost point of stool and person"""
    eye_height: Size = "60 in"
    """eyes above the row's floor"""
    head_above_eye: Place = "4.5 in"
    """top of the head above the eyes"""
    seats: Annotated[Any, decides_of_row("seats")] = absent()
    """places at the bar; left out: as many as a row has seats"""


PLACE_SOURCE = "2010 ADA Standards 802.1.2 and 802.1.3, as quoted"
"""Where the size of a wheelchair's place is from that a file leaves out."""


class Wheelchair(Part):
    """Clear floor in a row for people who bring their own chair; its row must need no step."""

    row: Annotated[Any, Quantity(Bounds("count", least=1, most=MOST_ROWS))] = "1"
    """the row that has it; the last row of chairs, where there are fewer"""
    places: Annotated[Any, Quantity(Bounds("count", least=1, most=10))] = "1"
    """how many beside one another"""
    width: Size = "36 in"
    """clear floor for one: 36 in, or 33 in each where two are side by side (2010 ADA Standards 802.1.2, as quoted)"""
    depth: Size = "48 in"
    """48 in if entered from the front or rear, 60 in from the side (2010 ADA Standards 802.1.3, as quoted)"""
    side: Annotated[Any, OneOf("left", "right")] = "right"
    """at which end of the row"""
    source: Name = absent()
    """where that size is from"""


class Guard(Part):
    """Guards that will be built at open edges."""

    height: Size
    """above the platform"""
    over: Size
    """built at the front of a platform that rises by more than this over the floor before it, and at the last one's rear edge"""


ChairThing = thing(
    "ChairThing",
    ChairKeys,
    *("width", "depth", "reclined", "eye_height", "eye_to_back", "head_above_eye", "arm", "travel"),
)


class Chair(ChairKeys):
    """One seat and the person in it. The defaults are common practice, without a source."""

    choose: list[ChairThing] = []  # type: ignore[valid-type]
    """chairs to choose from, each with a name, a price, and what differs between them"""
    name: Name = absent()
    """what it is called, where there is none to choose"""
    price: Price = absent()
    """of one chair, in the file's currency, where there is none to choose"""


class Aisle(Part):
    """The way past the rows."""

    sides: Annotated[Any, OneOf("none", "one", "left", "right", "both")] = "none"
    """at no side of the rows, at one (the optimiser picks it), the left, the right, or both"""
    width: Place = "0 m"
    """of each aisle"""


class Platform(Part):
    """The platforms that rows stand on."""

    step: Size = absent()
    """heights are whole multiples of this; left out: 1/2 in, or 10 mm"""
    to: Place = "0 m"
    """greatest height of a platform; left out: no platforms"""
    first: Annotated[Any, decides_of_row("platform")] = "0 m"
    """platform of row 1"""
    risers: Annotated[Any, Quantity(Bounds("count", least=1, most=20))] = "3"
    """most risers from one row's level to the next"""
    behind: Annotated[Any, decides("platform.behind")] = absent()
    """how far the last platform runs on behind its chairs, reclined; left out: to the rear wall"""
    going: Size = absent()
    """depth of each step in the aisle, less where the rows are too near; left out: the row pitch shared out evenly"""


class Seating(Part):
    """Rows, seats, chairs, platforms."""

    rows: Annotated[Any, decides("rows")]
    """number of rows"""
    reference_row: Annotated[Any, Quantity(Bounds("count", least=1))] = "1"
    """the row that goals call 'reference'; the last one of a design with fewer rows"""
    seats: Annotated[Any, decides_of_row("seats")]
    """seats in each row"""
    chair: Chair = part(Chair)
    """one seat and the person in it"""
    aisle: Aisle = part(Aisle)
    """the way past the rows; left out: none"""
    platform: Platform = part(Platform)
    """the platforms that rows stand on; left out: none"""
    standing: Size = "72 in"
    """height of a person who stands up; common practice, no source"""
    centre: Annotated[Any, decides("seating.centre")] = absent()
    """the rows' middle, from the left wall; left out: in the middle of the image"""
    stagger: Annotated[Any, decides("seating.stagger", ranges=False)] = "0"
    """shift of rows 2, 4, ... to the right, in chairs' spacings, also where it is a bar: 0.5 for half a seat; {choose: [0, 0.5]}"""
    bar: Bar = absent()
    """a counter with stools in the place of the last row"""
    wheelchair: Wheelchair = absent()
    """clear floor in a row for people who bring their own chair"""
    guard: Guard = absent()
    """guards that will be built at open edges"""
    place: Annotated[Any, RowPlaces()] = {}
    """decisions of single rows: rowN.y, rowN.platform, rowN.seats, rowN.risers"""


# --- limits and goals -------------------------------------------------------------------------


class Limit(Part):
    """A bound on a measure that must hold. Options of the measure stand beside these keys."""

    model_config = ConfigDict(extra="allow")

    measure: Name
    """name of a measure"""
    row: Name = "all"
    """reference, all, worst, worst seat, or the number of a row"""
    at_least: Annotated[Any, Later()] = absent()
    """the least value that will do"""
    at_most: Annotated[Any, Later()] = absent()
    """the greatest value that will do"""
    firm: YesNo = "false"
    """never to be loosened, as what a building code asks"""


class Goal(Part):
    """A band in which a measure should be. Options of the measure stand beside these keys."""

    model_config = ConfigDict(extra="allow")

    measure: Name
    """name of a measure"""
    row: Name = "all"
    """reference, all (their mean), worst, worst seat, or the number of a row"""
    band: Annotated[list[Annotated[Any, Later()]], Field(min_length=2, max_length=2)] = absent()
    """from and to: full score between them"""
    at_least: Annotated[Any, Later()] = absent()
    """full score from here up, instead of a band"""
    at_most: Annotated[Any, Later()] = absent()
    """full score up to here, instead of a band"""
    fade: Annotated[Any, Later()]
    """how far outside the band the score reaches 0"""
    weight: Annotated[Any, Quantity(Bounds("number", above=0, most=1_000_000))] = "1"
    """share in the design's score, against the other goals"""
    source: Name = absent()
    """where the band comes from"""


# --- the file ---------------------------------------------------------------------------------


class ProblemFile(Part):
    """A problem file of the room optimiser, format 1."""

    format: Annotated[Any, FormatNumber()]
    """version of the file format: 1"""
    title: Name = "Untitled"
    """what the answer is headed with"""
    show: Annotated[Any, OneOf(*SYSTEMS)] = "m"
    """how lengths are printed"""
    currency: Name = absent()
    """what prices are in, a word or a sign"""
    room: Room
    """the room as it stands"""
    front: Front
    """baffle wall, screen and front loudspeakers"""
    projector: Projector | None = None
    """the projector, where there is one"""
    bass: Bass = absent()
    """bass loudspeakers, where their sound at the seats is to be judged"""
    surround: Surround = absent()
    """surround and overhead loudspeakers, where the room must have places for them"""
    seating: Seating
    """rows, seats, chairs, platforms"""
    codes: Annotated[Any, OneOf(*CODE_NAMES)] = "none"
    """limits on steps, guards and headroom from published codes, under the file's own; local codes decide"""
    limits: list[Limit] = []
    """what must hold"""
    goals: Annotated[list[Goal], Field(min_length=1)] = absent()
    """what should hold, as nearly as the room allows"""
    targets: Annotated[Any, OneOf(*TARGETS)] = absent()
    """a set of published bands, as goals instead of one's own or under them; `optimiser targets` lists the sets"""
    designs: Annotated[Any, Designs()] = {}
    """designs of one's own, to be scored beside the best"""
    tolerances: Annotated[Any, Tolerances()] = {}
    """how exactly things are built, and how people differ: `row1.y: ±1/2 in`"""
