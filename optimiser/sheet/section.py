"""The long section: front wall to the left, looking towards the right-hand wall; it hangs below the plan."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from itertools import pairwise

from optimiser.quantity import show
from optimiser.sheet.figures import Figure, Shell, Span
from optimiser.sheet.labels import UNDER, Placer, named, tape, taped
from optimiser.sheet.plan import OVERHEAD, WALL, loudspeaker_along, row_name, stand_free
from optimiser.sheet.scene import Circle, Insert, Point, Scene, around
from optimiser.sheet.symbols import CHAIR_SECTION, STOOL_SECTION, chair_section, stool_section


def section(figure: Figure, system: str, denominator: float, *, front_measured: bool = True) -> Scene:
    """The long section through the image's middle. ``system`` is how lengths are written; without
    ``front_measured`` the heights of the image are left out."""
    scene = Scene("section", "Long section", denominator)
    scene.blocks[CHAIR_SECTION] = chair_section(figure.chair)
    if figure.bar is not None:
        scene.blocks[STOOL_SECTION] = stool_section(figure.bar)
    _front(scene, figure)
    _platforms(scene, figure)
    obstructions_cut(scene, figure, figure.centre)
    shell_cut(scene, figure)
    _sight(scene, figure)
    _rows(scene, figure)
    _midpoint(scene, figure)
    _projector(scene, figure)
    _heights(scene, figure, system, front_measured)
    _label(scene, figure, system)
    scene.description = _words(figure, system)
    return scene


def _words(f: Figure, system: str) -> str:
    def length(value: float) -> str:
        return show("length", value, system)

    rows = " ".join(
        f"R{row_name(r)[1:]} sits on {'the floor' if r.platform == 0.0 else f'a platform {length(r.platform)} high'}, "
        f"eyes at {length(r.eye)}"
        + (
            "."
            if r.clearance is None
            else f"; its sight line to the image's lower edge passes {length(r.clearance)} over the eyes in front."
        )
        for r in f.rows
    )
    return (
        f"Section along the room, {length(f.height)} high, front wall to the left. The image stands from "
        f"{length(f.bottom)} to {length(f.top)} above the floor. {rows}"
    )


def _front(scene: Scene, f: Figure) -> None:
    if f.baffle_depth:
        scene.area(
            "baffle",
            (0.0, 0.0),
            (f.baffle_depth, 0.0),
            (f.baffle_depth, f.ceiling_at(f.baffle_depth)),
            *_over(f, f.baffle_depth),
        )
    _loudspeakers(scene, f)
    for low, high in ((f.bottom - f.bezel, f.bottom), (f.top, f.top + f.bezel)):
        scene.box("frame", (f.baffle_depth, f.image_y), (low, high))
    scene.line("image", (f.image_y, f.bottom), (f.image_y, f.top))


def _loudspeakers(scene: Scene, f: Figure) -> None:
    """Those in the front, which stand one behind the other here, where their height is known."""
    one = f.loudspeakers[0]
    if one.axis is None:
        return
    back, face = loudspeaker_along(f)
    low, high = one.z or (one.axis - 0.5 * one.width, one.axis + 0.5 * one.width)
    scene.box("loudspeaker", (back, face), (low, high))
    scene.line("loudspeaker", (face, low), (face - 0.4 * (face - back), one.axis), (face, high))


def _over(f: Figure, until: float) -> list[Point]:
    """Points of the ceiling from ``until`` back to the front wall."""
    return [p for p in reversed(f.ceiling) if p[0] < until]


def _platforms(scene: Scene, f: Figure) -> None:
    for (front, end), height in f.platforms:
        scene.box("platform", (front, end), (0.0, height))
    for row in f.rows:
        flight = _flight(row.platform - row.rise, row.steps[:-1])
        if flight:
            scene.line("step", *flight, (row.edge, flight[-1][1]))
    if len(f.rear_steps) > 1:
        scene.line("step", *_flight(0.0, f.rear_steps))


def _flight(level: float, steps: Sequence[Point]) -> list[Point]:
    """The corners of steps from a level up: of each the foot of its riser, and the edge of its tread."""
    corners: list[Point] = []
    for y, tread in steps:
        corners += [(y, level), (y, tread)]
        level = tread
    return corners


def shell_cut(scene: Scene, f: Shell) -> None:
    """Floor, end walls and ceiling, cut along the room."""
    thick = scene.mm(WALL)
    ends = (-thick, f.length + thick)
    scene.box("wall", ends, (-thick, 0.0))
    first, last = f.ceiling[0][1], f.ceiling[-1][1]
    scene.box("wall", (-thick, 0.0), (0.0, first))
    scene.box("wall", (f.length, f.length + thick), (0.0, last))
    ceiling_cut(scene, f.ceiling)


def ceiling_cut(scene: Scene, profile: Sequence[Point]) -> None:
    """A ceiling, cut from wall to wall; the upright faces of a stepped one are as thick, on the side where it is lower."""
    thick = scene.mm(WALL)
    (start, first), (end, last) = profile[0], profile[-1]
    # a sloped one keeps the points at the walls' faces: over the walls' thickness it goes on level
    inner = profile if len({z for _, z in profile}) > 1 else profile[1:-1]
    under = [(start - thick, first), *inner, (end + thick, last)]
    scene.area("wall", *under, *[(u, v + thick) for u, v in reversed(under)])
    for (u, before), (other, after) in zip(profile, profile[1:]):
        if abs(other - u) < 1e-9 and before != after:
            across = (u, u + thick) if after < before else (u - thick, u)
            scene.box("wall", across, (min(before, after), max(before, after) + thick))


def under_ceiling(profile: Sequence[Point], span: Span, z: Span) -> list[list[Point]]:
    """The outlines of a box in the room, cut off at a ceiling's ``profile`` and where that ends: one where the ceiling is
    all over it, more where it hangs into it, none where the box is all above."""
    line: list[Point] = []
    for (u, before), (w, after) in pairwise(profile):
        # a step has two heights at one place: each side of it is gone along by itself
        near, far = max(u, span[0]), min(w, span[1])
        if near < far:
            ends = [(at, before + (after - before) * (at - u) / (w - u)) for at in (near, far)]
            line += ends[1:] if line and line[-1] == ends[0] else ends
    if line and line[0][0] == span[0] and line[-1][0] == span[1] and min(height for _, height in line) >= z[1]:
        return [[(span[0], z[0]), (span[1], z[0]), (span[1], z[1]), (span[0], z[1])]]
    passed = [
        (a + (b - a) * (level - za) / (zb - za), level)
        for (a, za), (b, zb) in pairwise(line)
        for level in z
        if (za - level) * (zb - level) < 0.0
    ]
    # a step keeps its two points in their order
    line = sorted([*line, *passed], key=lambda point: point[0])
    tops: list[list[Point]] = []  # stretches on which there is anything of the box under the ceiling
    for (a, za), (b, zb) in pairwise(line):
        if max(za, zb) <= z[0]:
            continue
        if not tops or tops[-1][-1] != (a, min(za, z[1])):
            tops.append([(a, min(za, z[1]))])
        tops[-1].append((b, min(zb, z[1])))
    return [[(top[0][0], z[0]), *(point for point in top if point[1] > z[0]), (top[-1][0], z[0])] for top in tops]


def obstructions_cut(scene: Scene, f: Shell, x: float) -> None:
    """What nothing may enter, as far as it is in the room that is cut at ``x``; dashed where it is beside the cut."""
    for body in f.obstructions:
        for outline in under_ceiling(f.ceiling, body.y, body.z):
            scene.area("obstruction" if body.x[0] <= x <= body.x[1] else "overhead", *outline)


def label_obstructions_cut(place: Placer, f: Shell) -> None:
    """Names of what nothing may enter, each at the middle of its rear end, as far as that is drawn."""
    for body in f.obstructions:
        for outline in under_ceiling(f.ceiling, body.y, body.z)[-1:]:
            end = max(y for y, _ in outline)
            heights = [z for y, z in outline if y == end]
            spot = (end, 0.5 * (min(heights) + max(heights)))
            ways = ("right", "below", "above")
            place.put(named(body.name, "obstruction", f.names), spot, prefer=ways, gap=1.0, of=around(outline))


def _sight(scene: Scene, f: Figure) -> None:
    for row in f.rows:
        scene.line("sight", (row.y, row.eye), (f.image_y, f.bottom))
        scene.line("sight top", (row.y, row.eye), (f.image_y, f.top))


def _rows(scene: Scene, f: Figure) -> None:
    for row in f.rows:
        scene.add(Insert(STOOL_SECTION if row.bar else CHAIR_SECTION, (row.y, row.platform)))
    for row, top in f.guards:
        scene.line("guard", (row.edge, row.platform), (row.edge, top))
    if f.rear_guard is not None:
        scene.line("guard", (f.rear_edge, f.rows[-1].platform), (f.rear_edge, f.rear_guard))
    for front, row in zip(f.rows, f.rows[1:]):
        over = front.eye + (row.clearance or 0.0)
        scene.line("clearance", (front.y, front.eye), (front.y, over))


def _midpoint(scene: Scene, f: Figure) -> None:
    top = f.ceiling_at(f.midpoint)
    scene.line("midpoint", (f.midpoint, -scene.mm(WALL)), (f.midpoint, top + scene.mm(WALL + 2.0)))


def _projector(scene: Scene, f: Figure) -> None:
    if f.projector is None:
        return
    y, z = f.projector
    scene.box("projector", f.projector_body.y, f.projector_body.z)
    scene.add(Circle((y, z), 0.05, "projector"))
    for edge in (f.bottom, f.top):
        scene.line("beam", (y, z), (f.image_y, edge))


def _heights(scene: Scene, f: Figure, system: str, front_measured: bool) -> None:
    """Heights above the room's floor: of the front on a tape at the left, of the rows at the right."""
    level = len({z for _, z in f.ceiling}) == 1
    front = [
        ("frame", f.bottom - f.bezel, (f.image_y, f.bottom - f.bezel)),
        ("image", f.bottom, (f.image_y, f.bottom)),
        ("image", f.top, (f.image_y, f.top)),
        ("frame", f.top + f.bezel, (f.image_y, f.top + f.bezel)),
        ("ceiling" if level else "ceiling at front wall", f.ceiling[0][1], (0.0, f.ceiling[0][1])),
    ]
    axis = f.loudspeakers[0].axis
    if axis is not None:
        front.append(("loudspeakers", axis, (f.baffle_depth, axis)))
    rear = [(f"eyes, row {r.number}", r.eye, (r.y, r.eye)) for r in f.rows]
    rear += [(f"platform, row {r.number}", r.platform, (r.edge, r.platform)) for r in f.rows if r.platform > 0.0]
    rear += [
        (UNDER + taped(body.name, "obstruction", f.names), body.z[0], (body.y[0], body.z[0]))
        for body in f.obstructions
        if body.z[0] > OVERHEAD and body.y[1] > f.baffle_depth and under_ceiling(f.ceiling, body.y, body.z)
    ]
    if not level:  # a level one is told at the front
        rear += [("ceiling", z, (y, z)) for y, z in f.ceiling]
    back = f.length + scene.mm(WALL)
    if f.projector is not None:
        rear.append(("lens", f.projector[1], f.projector))
        back = max(back, f.projector_body.y[1])  # one behind the rear wall
    for base, outward, features, end in (
        (-scene.mm(WALL + 2.5), -1, front, f.ceiling[0][1]),
        (back + scene.mm(2.5), 1, rear, max(z for _, z, _ in rear)),
    ):
        if outward < 0 and not front_measured:
            continue
        written = [(name, z, show("length", z, system), p) for name, z, p in features]
        scene.add(tape(scene, "v", 0.0, end, base, outward, written))


def _label(scene: Scene, f: Figure, system: str) -> None:
    place = Placer(scene, clear=("clearance", "image", "frame", "baffle", "obstruction", "overhead", "guard"))
    if stand_free(f) and f.place == "beside":  # a name on a loudspeaker before the image would be taken for its
        place.put("image", (f.image_y, f.top + f.bezel), prefer=("above right", "above"), gap=0.6)
    else:
        shown = (f.image_y, f.bottom, f.image_y, f.top)
        place.put("image", (f.image_y, 0.5 * (f.bottom + f.top)), prefer=("right",), gap=1.2, of=shown)
    names = []
    for row in f.rows:
        # what stands below the heads counts too: a name beside a counter would be taken for its
        others = [(one.y, z) for one in f.rows if one is not row for z in (one.eye, 0.5 * (one.platform + one.eye))]
        ways = ("above right", "right", "above", "above left", "left")
        told = {"prefer": ways, "gap": 1.5, "bold": True, "only": True, "rivals": others}
        names.append(partial(place.put, row_name(row), (row.y, row.head), **told))
    place.put_all(names)
    if f.projector is not None:
        body = f.projector_body
        taken = (body.y[0], body.z[0], body.y[1], body.z[1])
        if body.y[0] > f.length:
            # over the roof: to the right is the tape, and in the room it would be taken for what is there
            top = (0.5 * sum(body.y), body.z[1])
            place.put("projector", top, prefer=("above", "above right", "above left"), only=True, of=taken)
        else:
            aside = scene.paper(0.5 * (body.z[1] - body.z[0])) + 0.8
            middle = (0.5 * sum(body.y), 0.5 * sum(body.z))
            place.put("projector", middle, prefer=("below", "above", "right"), gap=aside, of=taken)
    heads = [(row.y, row.eye) for row in f.rows]
    for front, row in zip(f.rows, f.rows[1:]):
        over = (front.y, front.eye + (row.clearance or 0.0))
        text = f"row {row.number} over row {front.number}: {show('length', row.clearance or 0.0, system)}"
        others = [head for head in heads if head != (front.y, front.eye)]
        place.put(text, over, prefer=("above left", "above", "above right"), gap=5.0, rivals=others, only=True)
    guards = [(row.edge, row.platform, top, ("above left", "left", "above")) for row, top in f.guards]
    if f.rear_guard is not None:
        guards.append((f.rear_edge, f.rows[-1].platform, f.rear_guard, ("above right", "right", "above")))
    for y, foot, top, ways in guards:
        place.put("guard", (y, top), prefer=ways, gap=0.8, of=(y, foot, y, top))
    label_obstructions_cut(place, f)
