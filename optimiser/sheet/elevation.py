"""The front of the room as one sees it from the seats: x to the right, floor below."""

from __future__ import annotations

from dataclasses import dataclass, replace

from optimiser.bass_notes import cabinet
from optimiser.design import DOORWAY
from optimiser.problem.model import Box
from optimiser.quantity import show
from optimiser.sheet import lettering
from optimiser.sheet.figures import Figure, Span
from optimiser.sheet.labels import Placer, named, tape, taped
from optimiser.sheet.plan import WALL, bass_boxes
from optimiser.sheet.scene import Dimension, Point, Scene, Text
from optimiser.sheet.section import ceiling_cut, under_ceiling
from optimiser.words import listed

UNSEEN = 5e-5
"""Metres that no height is shown to."""

NEAR = 0.3
"""Metres behind the image's plane within which an obstruction belongs to the front."""

BEND = "ceiling"
"""What a tape calls a place at which the ceiling over the baffle's face steps, or begins to slope otherwise."""

BEHIND = "ceiling behind"
"""The same of a ceiling that is higher farther back."""

TICKED = 1.6
"""Millimetres at an end of a dimension line that its text keeps clear of."""


@dataclass(frozen=True)
class Gap:
    """A door, a window or an opening in the front wall: x by z. ``door`` where its height is not known."""

    name: str
    x: Span
    z: Span
    door: bool


def gaps(f: Figure) -> list[Gap]:
    """What is in the front wall. The file says nothing of a door's height: it is as high as the way kept before one."""
    doors = [
        Gap(one.name or "door", one.jambs, (one.level, min(one.level + DOORWAY, f.height)), True)
        for one, _ in f.doors
        if one.wall == "front"
    ]
    return doors + [Gap(one.name or one.kind, one.along, one.z, False) for one in f.openings if one.wall == "front"]


def elevation(figure: Figure, system: str, denominator: float, *, measured: bool = True) -> Scene:
    """The front elevation of a design. ``system`` is how lengths are written."""
    scene = Scene("elevation", "Front elevation", denominator)
    _front(scene, figure)
    _shell(scene, figure)
    if measured:
        _dimensions(scene, figure, system)
    _label(scene, figure)
    scene.description = _words(figure, system)
    return scene


def _words(f: Figure, system: str) -> str:
    def length(value: float) -> str:
        return show("length", value, system)

    left, right = f.baffle[0], f.width - f.baffle[1]
    wall = f"The baffle wall leaves {length(left)} free to the left and {length(right)} to the right."
    there = gaps(f)
    ways = f" In the front wall: {listed(one.name for one in there)}." if there else ""
    return (
        f"Front wall seen from the seats.{ways} {wall if f.baffle_depth else 'There is no baffle wall.'} The image is {length(f.image_width)} wide and {length(f.image_height)} high, its lower edge "
        f"{length(f.bottom)} above the floor."
    )


def ceiling(f: Figure) -> float:
    """The greatest height of the ceiling over the baffle's face."""
    return max(z for _, z in f.over(f.baffle_depth))


def _ceiling_name(f: Figure) -> str:
    """What that height is called: where it is taken, if the ceiling has others, as the section shows them at the wall."""
    highest = "highest ceiling" if len({z for _, z in f.over(f.baffle_depth)}) > 1 else "ceiling"
    same = abs(max(z for _, z in f.over(0.0)) - ceiling(f)) < UNSEEN
    return highest if same else f"{highest} at baffle"


def _bends(f: Figure) -> list[Point]:
    """Where the ceiling over the baffle's face steps or slopes otherwise than before, and where it meets the walls."""
    points = f.over(f.baffle_depth)
    kept = [
        here
        for (a, za), here, (b, zb) in zip(points, points[1:], points[2:])
        if abs((here[0] - a) * (zb - za) - (here[1] - za) * (b - a)) > UNSEEN * (b - a)
    ]
    return [points[0], *kept, points[-1]]


def _behind(f: Figure) -> list[list[Point]]:
    """Where a ceiling that is shaped across the room rises farther back above what it is over the baffle's face: its
    outline there, from where it comes out of the one that is cut to where it goes in again."""
    heights = {z for _, z in f.highest}
    # of one that is level across the section tells all
    return under_ceiling(f.highest, (0.0, f.width), (ceiling(f), max(heights))) if len(heights) > 1 else []


def _to_the_ceiling(scene: Scene, f: Figure, role: str, x: Span, z: Span) -> None:
    """A box, its top cut off where the ceiling that is drawn is lower: files give what reaches a slope by its highest."""
    for outline in under_ceiling(f.over(f.baffle_depth), x, z):
        scene.area(role, *outline)


def _front(scene: Scene, f: Figure) -> None:
    for outline in _behind(f):
        scene.line("ceiling behind", *outline)
    for gap in gaps(f):
        _to_the_ceiling(scene, f, "swing" if gap.door else "window", gap.x, gap.z)
    if f.baffle_depth:
        _to_the_ceiling(scene, f, "baffle", f.baffle, (0.0, ceiling(f)))
    scene.box("frame", f.frame, (f.bottom - f.bezel, f.top + f.bezel))
    scene.box("picture", f.image, (f.bottom, f.top))
    for body in _at_the_front(f):
        _to_the_ceiling(scene, f, "overhead" if body.y[1] <= f.baffle_depth else "obstruction", body.x, body.z)
    for (x, z), _, hidden in _bass(f):
        scene.box("bass hidden" if hidden else "bass", x, z)
    reach = 0.12 * f.image_height
    for one in f.loudspeakers:
        if one.z is None:
            scene.line("axis line", (one.x, f.bottom + reach), (one.x, f.top - reach))
            if one.axis is not None:
                half = 0.5 * one.width
                scene.line("axis line", (one.x - half, one.axis), (one.x + half, one.axis))
        else:
            scene.box("loudspeaker", one.span, one.z)
    _tiles(scene, f)
    eye = f.rows[f.reference - 1].eye
    scene.line("sight top", (0.0, eye), (f.width, eye))


def _at_the_front(f: Figure) -> list[Box]:
    """Obstructions that belong to the front."""
    return [body for body in f.obstructions if body.y[0] <= f.image_y + NEAR]


def _bass(f: Figure) -> list[tuple[tuple[Span, Span], Point, bool]]:
    """Bass loudspeakers at the front, x by z, where their middles are, and whether the baffle wall hides them. What the
    plan shows of their size, which the file does not say, is shown here too."""
    found = []
    for (along, across), (x, y, z) in zip(bass_boxes(f), f.bass):
        if y <= f.acoustic_front + 1e-9:
            behind = along[1] <= f.baffle_depth + 1e-9 and across[0] < f.baffle[1] and across[1] > f.baffle[0]
            found.append(((across, cabinet(z, 0.0, f.height)), (x, z), behind))
    return found


def _tiles(scene: Scene, f: Figure) -> None:
    """The joints between the tiles of a wall."""
    if f.tiles is None:
        return
    columns, rows = f.tiles
    for k in range(1, columns):
        x = f.image[0] + f.image_width * k / columns
        scene.line("tiles", (x, f.bottom), (x, f.top))
    for k in range(1, rows):
        z = f.bottom + f.image_height * k / rows
        scene.line("tiles", (f.image[0], z), (f.image[1], z))


def _shell(scene: Scene, f: Figure) -> None:
    thick, profile = scene.mm(WALL), f.over(f.baffle_depth)
    ends, left, right = (-thick, f.width + thick), profile[0][1], profile[-1][1]
    scene.box("wall", ends, (-thick, 0.0))
    ceiling_cut(scene, profile)
    scene.box("wall", (ends[0], 0.0), (0.0, left))
    scene.box("wall", (f.width, ends[1]), (0.0, right))


def _dimensions(scene: Scene, f: Figure, system: str) -> None:
    def length(value: float) -> str:
        return show("length", value, system)

    higher = [point for outline in _behind(f) for point in outline[1:-1]]
    top = max([ceiling(f), *(z for _, z in higher)])
    over = top + scene.mm(WALL)
    features = [("image", x, (x, f.bottom)) for x in f.image]
    spans = [("image width", f.image, f.top, over + scene.mm(4.0))]
    if f.baffle_depth:
        first, last = (("baffle", x, (x, 0.0)) for x in f.baffle)
        features = [first, *features, last]
        spans.append(("baffle width", f.baffle, ceiling(f), over + scene.mm(9.0)))
    aside = [one for one in f.loudspeakers if abs(one.x - f.centre) > 1e-3]  # the middle needs no place of its own
    features += [(f"axis {one.name}", one.x, (one.x, f.bottom if one.z is None else one.z[0])) for one in aside]
    features += [("bass", x, (x, z)) for _, (x, z), _ in _bass(f) if 0.0 < x < f.width]
    features += [
        (taped(gap.name, "", f.names), x, (x, gap.z[0])) for gap in gaps(f) for x in gap.x if 0.0 < x < f.width
    ]
    features += [(BEND, x, (x, z)) for x, z in _bends(f)[1:-1]]
    features += [(BEHIND, x, (x, z)) for x, z in higher if 0.0 < x < f.width]
    features.append(("right wall", f.width, (f.width, 0.0)))
    written = [(name, x, length(x), p) for name, x, p in features]
    scene.add(tape(scene, "u", 0.0, f.width, -scene.mm(WALL + 2.5), -1, written))
    heights = [
        ("frame", f.bottom - f.bezel, (f.frame[0], f.bottom - f.bezel)),
        ("image", f.bottom, (f.image[0], f.bottom)),
        ("image", f.top, (f.image[0], f.top)),
        ("frame", f.top + f.bezel, (f.frame[0], f.top + f.bezel)),
        (_ceiling_name(f), ceiling(f), next(point for point in f.over(f.baffle_depth) if point[1] == ceiling(f))),
    ]
    first = f.loudspeakers[0]
    heights += [
        ("loudspeakers", z, (first.span[0], z)) for z in first.z or (() if first.axis is None else (first.axis,))
    ]
    heights += [
        (taped(gap.name, "", f.names), z, (gap.x[0], z))
        for gap in gaps(f)
        if not gap.door
        for z in gap.z
        if 0.0 < z < ceiling(f)
    ]
    heights += [("bass", z, (x, z)) for _, (x, z), _ in _bass(f)[:1] if z > 0.0]
    walls = {0.0: "left wall", f.width: "right wall"}
    heights += [(walls.get(x, BEND), z, (x, z)) for x, z in _bends(f) if z < ceiling(f)]
    heights += [(BEHIND, z, (x, z)) for x, z in higher]
    above = [(name, z, length(z), p) for name, z, p in heights]
    scene.add(tape(scene, "v", 0.0, top, -scene.mm(WALL + 2.5), -1, above))
    for name, (a, b), z, line in spans:
        across = Dimension(name, "u", (a, z), (b, z), line, f"{name} {length(b - a)}")
        scene.add(_readable(scene, across, max(b for _, (_, b), *_ in spans)))
    beside = f.width + scene.mm(WALL + 4.5)
    up = Dimension("image height", "v", (f.image[1], f.bottom), (f.image[1], f.top), beside, length(f.image_height))
    scene.add(_readable(scene, up, f.top))


def _readable(scene: Scene, one: Dimension, end: float) -> Dimension:
    """The dimension, its text where it covers no tick: upright ones have it beside their line if need be, others
    beyond ``end``."""
    text = scene.mm(lettering.width(one.text, lettering.LEAST))
    if text + scene.mm(2.0 * TICKED) <= one.value:
        return one
    if one.axis == "v":
        return replace(one, beside=scene.mm(TICKED))
    return replace(one, shift=end + scene.mm(TICKED) + 0.5 * text - one.middle[0])


def _label(scene: Scene, f: Figure) -> None:
    for one in f.loudspeakers:
        z = 0.5 * (f.bottom + f.top) if one.z is None else 0.5 * (one.z[0] + one.z[1])
        if one.z is None and one.axis is not None:  # in the wider part of the image that its axis leaves
            z = 0.5 * (one.axis + (f.top if one.axis < z else f.bottom))
        # a patch of paper would hide the outline of a small cabinet, in which nothing else is drawn
        scene.add(Text((one.x, z), one.name, anchor="middle", masked=one.z is None, bold=True))
    place = Placer(scene)
    reference = f.rows[f.reference - 1]
    words = "eyes" if len(f.rows) == 1 else f"eyes, row {reference.number}"
    # between the left loudspeaker and the middle, where nothing upright is drawn
    aside = f.centre - 0.25 * f.image_width
    line = (0.0, reference.eye, f.width, reference.eye)
    place.put(words, (aside, reference.eye), prefer=("above", "below"), gap=0.6, only=True, of=line)
    # the image and its frame are no place for the name of something else
    place.boxes.append((f.frame[0], f.bottom - f.bezel, f.frame[1], f.top + f.bezel))
    if f.baffle_depth:
        # on the higher strip that is left of it, under the image or over it
        taken = (f.bottom - f.bezel, f.top + f.bezel, *(f.loudspeakers[0].z or ()))
        # what hangs before the wall hides it
        hung = [body.z[0] for body in _at_the_front(f) if body.z[0] >= max(taken) and body.y[1] > f.baffle_depth]
        under, over = (0.0, min(taken)), (max(taken), min([*hung, ceiling(f)]))
        strip = under if under[1] >= over[1] - over[0] else over
        middle = (f.centre, 0.5 * sum(strip))
        wall = (f.baffle[0], strip[0], f.baffle[1], strip[1])
        place.put("baffle wall", middle, prefer=("right", "left", "on", "above"), gap=2.0, of=wall)
    for ((start, end), (foot, top)), (x, _), _ in _bass(f):
        inward = (start, ("left", "right")) if x > f.centre else (end, ("right", "left"))
        taken = (start, foot, end, top)
        place.put("bass", (inward[0], 0.5 * (foot + top)), prefer=(*inward[1], "above"), gap=0.6, of=taken)
    things = [(body.name or "obstruction", body.x, body.z) for body in _at_the_front(f)]
    for name, x, z in (*things, *((gap.name, gap.x, gap.z) for gap in gaps(f))):
        middle = (_outside(x, f.baffle), 0.5 * sum(z))
        ways = ("on", "above", "below", "right", "left")
        place.put(named(name, "", f.names), middle, prefer=ways, gap=0.5, of=(x[0], z[0], x[1], z[1]))


def _outside(x: Span, other: Span) -> float:
    """The middle of the wider part of a span that lies aside of another; its own middle where none does."""
    left, right = (x[0], min(x[1], other[0])), (max(x[0], other[1]), x[1])
    wider = max(left, right, key=lambda span: span[1] - span[0])
    return 0.5 * sum(wider if wider[1] > wider[0] else x)
