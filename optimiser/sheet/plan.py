"""The plan: front wall to the left, the right-hand wall at the top, so that the section hangs below it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from optimiser.design import kept
from optimiser.measures.layout import Body
from optimiser.measures.surround import Stretch
from optimiser.physics.sector import Sector
from optimiser.problem.model import Door
from optimiser.quantity import show
from optimiser.sheet import lettering
from optimiser.sheet.figures import Figure, RowFigure, Shell, Span
from optimiser.sheet.labels import Placer, named, rows_named, tape, taped, wide_enough
from optimiser.sheet.scene import Arc, Box, Circle, Insert, Point, Scene, Text, around
from optimiser.sheet.symbols import CHAIR_PLAN, CLEAR_FLOOR, STOOL_PLAN, chair_plan, clear_floor, stool_plan
from optimiser.spans import left_over

WALL = 1.6
"""Millimetres on paper that a wall is drawn thick: the file says nothing of walls behind their faces."""

TAPE = 30.0
"""Millimetres on paper below a tape, and beyond its end, that its texts may take."""

OVERHEAD = 1.0
"""Metres above the floor from which what nothing may enter is drawn as hanging."""

OFF = 1e-3
"""Metres off the room's middle from which a row's place needs telling."""

ACROSS_IT = 4.0
"""Lines of text that go into the length of what other names may lie across."""

INSIDE = 0.25
"""Share of a leaf's width to each side of the middle of what it sweeps that is surely swept too."""

CHAIR_AIR = 0.2
"""Metres before and behind chairs in which a name would still lie on them."""


def plan(figure: Figure, system: str, denominator: float, *, measured: bool = True) -> Scene:
    """The plan of a design. ``system`` is how lengths are written; without ``measured`` the distances across the room
    are left to the elevation, but for those of rows off its middle, which nothing else shows."""
    scene = Scene("plan", "Plan", denominator)
    scene.blocks[CHAIR_PLAN] = chair_plan(figure.chair)
    if figure.bar is not None:
        scene.blocks[STOOL_PLAN] = stool_plan(figure.bar)
    if figure.wheelchair is not None:
        behind = figure.chair.eye_to_back + figure.chair.travel
        scene.blocks[CLEAR_FLOOR] = clear_floor(figure.wheelchair, behind)
    bass = bass_boxes(figure)
    within = [one for one in bass if one[0][1] <= figure.acoustic_front + 1e-9]
    front(scene, figure, within)
    for (start, end), _ in figure.platforms:
        scene.box("platform", (start, end), (0.0, figure.width))
    doors(scene, figure)  # their tint hides no step, no edge and no obstruction
    _edges(scene, figure)
    _flights(scene, figure)
    obstructions(scene, figure)
    walls(scene, figure)
    _rows(scene, figure)
    _sight(scene, figure)
    _midpoint(scene, figure)
    _projector(scene, figure)
    _surround(scene, figure)
    for span_y, span_x in bass:
        if (span_y, span_x) not in within:
            scene.box("bass", span_y, span_x)
    if measured:
        _across(scene, figure, system)
    elif any(abs(row.middle - 0.5 * figure.width) > OFF or row.places for row in figure.rows):
        _rows_across(scene, figure, system)
    _label(scene, figure)
    scene.description = _words(figure, system)
    return scene


def _words(figure: Figure, system: str) -> str:
    def length(value: float) -> str:
        return show("length", value, system)

    rows = "; ".join(f"{row_name(r)} of {people(r)} at {length(r.y)} from the front wall" for r in figure.rows)
    wall = "The front wall"
    if figure.baffle_depth:
        wide = length(figure.baffle[1] - figure.baffle[0])
        wall = f"A baffle wall {wide} wide and {length(figure.baffle_depth)} deep"
    return (
        f"Plan of the room, {length(figure.length)} long and {length(figure.width)} wide, front wall to the left. "
        f"{wall} carries an image {length(figure.image_width)} wide. {rows[:1].upper()}{rows[1:]}."
    )


def row_name(row: RowFigure) -> str:
    """What a row is called: ``row 2``, ``row 4 (bar)``."""
    return f"row {row.number} (bar)" if row.bar else f"row {row.number}"


def people(row: RowFigure) -> str:
    """How many a row has places for."""
    extra = len(row.places)
    return str(len(row.seats)) + (f" and {extra} wheelchair{'s' if extra > 1 else ''}" if extra else "")


def loudspeaker_depth(f: Figure) -> float:
    """How deep a loudspeaker in the baffle wall is drawn [m]: as the file says, or as it may be where that says nothing."""
    given = f.loudspeakers[0].depth
    return min(0.25, 0.8 * f.baffle_depth) if given is None or not f.baffle_depth else given


def loudspeaker_along(f: Figure) -> Span:
    """y of a front loudspeaker's back and face: flush in the baffle's face, or, where no baffle holds it and it is not
    behind the image, before the front wall, if its depth is known."""
    if stand_free(f):
        return 0.0, f.loudspeakers[0].depth
    return f.baffle_depth - loudspeaker_depth(f), f.baffle_depth


def stand_free(f: Figure) -> bool:
    """Whether the front loudspeakers are drawn before the front wall, where no baffle holds them."""
    return f.place != "behind" and not f.baffle_depth and f.loudspeakers[0].depth is not None


def front(scene: Scene, f: Figure, bass: Sequence[tuple[Span, Span]] = ()) -> None:
    """Baffle wall, loudspeakers and screen; ``bass`` loudspeakers in the wall, as they mostly do, stand under the others."""
    if f.baffle_depth:
        scene.box("baffle", (0.0, f.baffle_depth), f.baffle)
    for along, across in bass:
        scene.box("bass", along, across)
    back, face = loudspeaker_along(f)
    for one in f.loudspeakers:
        left, right = one.span
        scene.box("loudspeaker", (back, face), (left, right))
        scene.line("loudspeaker", (face, left), (face - 0.4 * (face - back), one.x), (face, right))
    for edge, inner in zip(f.frame, f.image):
        scene.box("frame", (f.baffle_depth, f.image_y), (min(edge, inner), max(edge, inner)))
    scene.line("image", (f.image_y, f.image[0]), (f.image_y, f.image[1]))


def _edges(scene: Scene, f: Figure) -> None:
    """Edges of platforms again, where the floor that a door or an opening needs lies over them."""
    tinted = [clear.y for clear in kept_floor(f)]
    tinted += [(s.hinge[1] - s.radius, s.hinge[1] + s.radius) for _, s in f.doors if s.sweep > 0.0]
    for edge in sorted({end for ends, _ in f.platforms for end in ends if end < f.length}):
        if any(start < edge < end for start, end in tinted):
            scene.line("platform", (edge, 0.0), (edge, f.width))


def _flights(scene: Scene, f: Figure) -> None:
    for row in f.rows:
        _flight(scene, f.stairs(row), [y for y, _ in row.steps[:-1]], row.edge)
    if f.rear_edge is not None:
        _flight(scene, f.rear_stairs, [y for y, _ in f.rear_steps[:0:-1]], f.rear_edge)


def _flight(scene: Scene, ways: Sequence[Span], risers: Sequence[float], edge: float) -> None:
    """Steps in the ways beside a row: their risers, the farthest from the platform's edge first, and their sides."""
    for near, far in ways:
        for y in risers:
            scene.line("step", (y, near), (y, far))
        for side in (near, far):
            scene.line("step", (risers[0], side), (edge, side))


def obstructions(scene: Scene, f: Shell) -> None:
    """What nothing may enter."""
    for body in f.obstructions:
        scene.box("overhead" if body.z[0] > OVERHEAD else "obstruction", body.y, body.x)


def turned(angle: float) -> float:
    """A direction of the room (x, y) in the plan's plane (y, x): mirrored at the diagonal."""
    return 0.5 * math.pi - angle


def kept_floor(f: Shell) -> list[Body]:
    """The floor kept before openings and doors that open out."""
    ways = (*(o for o in f.openings if o.kind == "opening"), *(d for d, sweep in f.doors if sweep.sweep == 0.0))
    return [kept(way, length=f.length, width=f.width) for way in ways if way.keep]


def doors(scene: Scene, f: Shell) -> None:
    """Door leaves and what they sweep, and the floor kept before openings and doors that open out."""
    for clear in kept_floor(f):
        scene.box("swing", clear.y, clear.x)
    for door, sweep in f.doors:
        hinge = (sweep.hinge[1], sweep.hinge[0])
        if sweep.sweep > 0.0:
            start = turned(sweep.start + sweep.sweep)
            scene.add(Arc(hinge, sweep.radius, start, sweep.sweep, "swing", filled=True))
            closed = _closed(door.wall, door.towards)
            end = (
                sweep.start
                if abs(math.remainder(sweep.start - closed, 2 * math.pi)) > 1e-6
                else sweep.start + sweep.sweep
            )
            u, v = sweep.end(end)
            scene.line("door", hinge, (v, u))
        else:
            _outward(scene, door, hinge)


OUTWARD = {"left": -0.5 * math.pi, "right": 0.5 * math.pi, "front": math.pi, "rear": 0.0}
"""Directions, in the plan's plane, in which one leaves through each wall."""

CLOSED = {"front": math.pi, "rear": 0.0, "left": -0.5 * math.pi, "right": 0.5 * math.pi}
"""Directions, in the plan's plane, in which a closed leaf lies."""


def _outward(scene: Scene, door: Door, hinge: Point) -> None:
    """A door that opens out of the room: its leaf open, and the way that it took, outside the wall."""
    closed = CLOSED[door.towards]
    turns_left = math.sin(OUTWARD[door.wall] - closed) > 0.0
    start = closed if turns_left else closed - door.angle
    arc = Arc(hinge, door.leaf, start, door.angle, "swing")
    scene.add(arc)
    scene.line("door", hinge, arc.end(closed + (door.angle if turns_left else -door.angle)))


def beyond(f: Shell, wall: str) -> float:
    """How far doors that open out reach beyond a wall [m]."""
    swung = (d for d, sweep in f.doors if d.wall == wall and sweep.sweep == 0.0)
    return max((d.leaf * math.sin(min(d.angle, 0.5 * math.pi)) for d in swung), default=0.0)


def _closed(wall: str, towards: str) -> float:
    """Direction, in the room, in which a closed leaf lies."""
    return {"front": -0.5 * math.pi, "rear": 0.5 * math.pi, "left": math.pi, "right": 0.0}[towards]


def openings(f: Shell, wall: str) -> list[tuple[float, float]]:
    """Stretches of a wall that its doors, windows and openings take, in order."""
    found = [one.along for one in f.openings if one.wall == wall]
    return sorted(found + [door.jambs for door, _ in f.doors if door.wall == wall])


def walls(scene: Scene, f: Shell) -> None:
    """The walls, broken where doors and openings are."""
    thick = scene.mm(WALL)
    length, width = f.length, f.width
    for wall, v, out in (("left", 0.0, -thick), ("right", width, thick)):
        for low, high in left_over((0.0, length), openings(f, wall)):
            a = low - (thick if low == 0.0 else 0.0)
            b = high + (thick if high == length else 0.0)
            scene.box("wall", (a, b), (min(v, v + out), max(v, v + out)))
    for wall, u, out in (("front", 0.0, -thick), ("rear", length, thick)):
        for low, high in left_over((0.0, width), openings(f, wall)):
            scene.box("wall", (min(u, u + out), max(u, u + out)), (low, high))

    for one in f.openings:
        if one.kind == "window":
            low, high = (
                {"left": -thick, "right": width, "front": -thick, "rear": length}[one.wall] + share * thick
                for share in (0.3, 0.7)
            )
            for at in (low, high):
                ends = [(a, at) if one.wall in ("left", "right") else (at, a) for a in one.along]
                scene.line("window", *ends)


def _rows(scene: Scene, f: Figure) -> None:
    for row in f.rows:
        if row.bar and f.bar is not None:
            scene.box("counter", (row.feet, row.y - f.bar.eye_to_counter), row.x)
        for x in row.seats:
            scene.add(Insert(STOOL_PLAN if row.bar else CHAIR_PLAN, (row.y, x)))
        for x in row.places:
            scene.add(Insert(CLEAR_FLOOR, (row.y, x)))
    for row, _ in f.guards:
        low, high = f.guarded(row)
        scene.line("guard", (row.edge, low), (row.edge, high))
    if f.rear_guard is not None:
        low, high = f.rear_guarded
        scene.line("guard", (f.rear_edge, low), (f.rear_edge, high))


def _sight(scene: Scene, f: Figure) -> None:
    row = f.rows[f.reference - 1]
    for edge in f.image:
        scene.line("fan", (row.y, row.middle), (f.image_y, edge))


def _midpoint(scene: Scene, f: Figure) -> None:
    out = scene.mm(WALL)
    top = f.width + max(out, beyond(f, "right")) + scene.mm(2.0)
    scene.line("midpoint", (f.midpoint, -out), (f.midpoint, top))


def _surround(scene: Scene, f: Figure) -> None:
    """Where surround loudspeakers may stand along the walls, and overhead ones along the ceiling."""
    inside = scene.mm(1.0)
    for one in f.surround:
        role = "surround overhead" if one.surface == "ceiling" else "surround"
        points = _stretch(scene, one)
        scene.line(role, *points)
        if one.end - one.start < inside:  # a line as short as that is not seen
            scene.add(Circle(tuple(0.5 * (a + b) for a, b in zip(*points)), scene.mm(0.3), role))


def _stretch(scene: Scene, one: Stretch) -> list[Point]:
    """The ends of the line that shows where a surround loudspeaker may stand, clear of the wall that it is on."""
    inside, ends = scene.mm(1.0), (one.start, one.end)
    if one.surface == "ceiling":
        return [(y, one.at) for y in ends]
    if one.along == "y":
        return [(y, one.at + (inside if one.at == 0.0 else -inside)) for y in ends]
    return [(one.at - inside, x) for x in ends]


def bass_boxes(f: Figure) -> list[tuple[Span, Span]]:
    """What bass loudspeakers take, y by x."""
    return [(one.body.y, one.body.x) for one in f.bass_stands]


def _projector(scene: Scene, f: Figure) -> None:
    if f.projector is None:
        return
    y, _ = f.projector
    scene.box("projector", f.projector_body.y, f.projector_body.x)
    scene.add(Circle((y, f.centre), 0.05, "projector"))
    for edge in f.image:
        scene.line("beam", (y, f.centre), (f.image_y, edge))


def _across(scene: Scene, f: Figure, system: str) -> None:
    """Distances from the left wall, on a tape beside the front wall."""
    features: list[tuple[str, float, str, Point]] = [("image", x, "", (f.image_y, x)) for x in f.image]
    if f.baffle_depth:
        left, right = (("baffle", x, "", (0.0, x)) for x in f.baffle)
        features = [left, *features, right]
    features.append(("right wall", f.width, "", (0.0, f.width)))
    features += [(name, x, "", (y, x)) for name, x, y in _ends_of_rows(f)]
    for row in f.rows:
        ends = {x for way in f.stairs(row) for x in way if 0.0 < x < f.width}
        features += [(f"steps, row {row.number}", x, "", (row.steps[0][0], x)) for x in sorted(ends)]
        features += [("counter", x, "", (row.feet, x)) for x in row.x if row.bar]
    ends = {x for way in f.rear_stairs for x in way if 0.0 < x < f.width}
    features += [("steps behind", x, "", (f.rear_edge, x)) for x in sorted(ends)]
    if abs(f.centre - 0.5 * f.width) > OFF:
        features.append(("image's middle", f.centre, "", (f.image_y, f.centre)))
    if f.projector is not None:
        features.append(("lens", f.centre, "", (f.projector[0], f.centre)))
    walls = {"front": 0.0, "rear": f.length}
    features += [
        (taped(door.name, "door", f.names), x, "", (walls[door.wall], x))
        for door, _ in f.doors
        if door.wall in walls
        for x in door.jambs
    ]
    written = [(name, x, show("length", x, system), p) for name, x, _, p in features]
    scene.add(tape(scene, "v", 0.0, f.width, beside(scene, f, "front"), -1, written))


def _rows_across(scene: Scene, f: Figure, system: str) -> None:
    """Distances of the rows' ends from the left wall, on a tape beside the rear wall."""
    behind = f.length + max(scene.mm(WALL + 2.5), beyond(f, "rear") + scene.mm(2.0))
    if f.projector_body is not None:
        # beyond the name of one behind the rear wall
        named_to = f.projector_body.y[1] + scene.mm(lettering.width("projector", lettering.LEAST) + 4.0)
        behind = max(behind, named_to) if f.projector_body.y[1] > f.length else behind
    ends = [(name, x, show("length", x, system), (y, x)) for name, x, y in _ends_of_rows(f)]
    scene.add(tape(scene, "v", 0.0, max(x for _, x, _, _ in ends), behind, 1, ends))


def _ends_of_rows(f: Figure) -> list[tuple[str, float, float]]:
    """The middles of each row's first and last seat, by the rows that have them there, and of its places for
    wheelchairs: name, x, and y of one row."""
    found: dict[float, list[RowFigure]] = {}
    for row in f.rows:
        for x in sorted({row.seats[0], row.seats[-1]}):
            found.setdefault(round(x, 6), []).append(row)
    names = {x: rows_named([row.number for row in rows]) for x, rows in found.items()}
    ends = [
        ("end seats" if len(rows) == len(f.rows) else f"end seat, {names[x]}", x, rows[0].y)
        for x, rows in found.items()
    ]
    return ends + [(f"wheelchair, row {row.number}", x, row.y) for row in f.rows for x in row.places]


def beside(scene: Scene, f: Shell, wall: str) -> float:
    """Where a tape lies outside of the left or the front wall, clear of doors that open out there."""
    return -max(scene.mm(WALL + 2.5), beyond(f, wall) + scene.mm(2.0))


def _inside_baffle(scene: Scene, f: Figure) -> None:
    """The baffle's name, within it where it is deep enough on paper."""
    first, second = (one.x for one in f.loudspeakers[:2])
    between = 0.5 * (first + second)
    name = Text((0.5 * f.baffle_depth, between), "baffle wall", anchor="middle", turned=True)
    box = scene.text_box(name)
    if box[2] - box[0] < f.baffle_depth and scene.paper(second - first) > 32.0:
        scene.add(name)


def _middle_of_swing(door: Door, sweep: Sector) -> Point:
    """A point well inside of what a door sweeps, in the plan's plane."""
    hinge = (sweep.hinge[1], sweep.hinge[0])
    if sweep.sweep > 0.0:
        middle = turned(sweep.start + 0.5 * sweep.sweep)
    else:
        one, two = CLOSED[door.towards], OUTWARD[door.wall]
        middle = math.atan2(math.sin(one) + math.sin(two), math.cos(one) + math.cos(two))
    return hinge[0] + 0.55 * door.leaf * math.cos(middle), hinge[1] + 0.55 * door.leaf * math.sin(middle)


def _row_name(scene: Scene, f: Figure, number: int) -> str:
    """A row's name, with its role where its neighbours leave space for that."""
    name = row_name(f.rows[number - 1])
    if number != f.reference or len(f.rows) == 1:
        return name
    full = f"{name} (reference)"
    here = f.rows[number - 1].y
    apart = min(abs(row.y - here) for row in f.rows if row.number != number)
    return full if wide_enough(scene, full, apart) else name


def label_doors(place: Placer, f: Shell) -> None:
    """The names of the doors, in what they sweep."""
    for door, sweep in f.doors:
        spot = _middle_of_swing(door, sweep)
        half = INSIDE * door.leaf
        within = (spot[0] - half, spot[1] - half, spot[0] + half, spot[1] + half)
        place.put(named(door.name, "door", f.names), spot, prefer=("on", "right", "above", "below"), gap=0.4, of=within)


def _gaps(scene: Scene, f: Shell) -> list[Box]:
    """Where the walls are broken for doors and openings: no name but theirs should lie there."""
    thick = scene.mm(WALL)
    found: list[Box] = []
    for wall, (low, high) in {"left": (-thick, 0.0), "right": (f.width, f.width + thick)}.items():
        found += [(a, low, b, high) for a, b in openings(f, wall)]
    for wall, (low, high) in {"front": (-thick, 0.0), "rear": (f.length, f.length + thick)}.items():
        found += [(low, a, high, b) for a, b in openings(f, wall)]
    return found


def clear_of_seats(f: Shell, across: Span, along: Span) -> float:
    """The middle of the widest part of a stretch across the room that no chairs lie in the way of; of all of it where
    there are none, or no part is clear."""
    rows = f.rows if isinstance(f, Figure) else ()
    near = [row.x for row in rows if row.feet - CHAIR_AIR < along[1] and along[0] < row.back + CHAIR_AIR]
    ends = sorted({*across, *(min(max(x, across[0]), across[1]) for span in near for x in span)})
    clear = [(a, b) for a, b in pairwise(ends) if not any(low < b and a < high for low, high in near)]
    low, high = max(clear, key=lambda part: part[1] - part[0], default=across)
    return 0.5 * (low + high)


def label_obstructions(place: Placer, f: Shell) -> None:
    """The names of what nothing may enter: on it, or beside what is too small for its name."""
    scene = place.scene
    for body in f.obstructions:
        name = named(body.name, "obstruction", f.names)
        middle = (0.5 * (body.y[0] + body.y[1]), clear_of_seats(f, body.x, body.y))
        tall = scene.mm(lettering.height(lettering.LEAST))
        fits = wide_enough(scene, name, body.y[1] - body.y[0]) and tall <= body.x[1] - body.x[0]
        taken = (body.y[0], body.x[0], body.y[1], body.x[1])
        if not fits:
            place.boxes.append(taken)
        place.put(name, middle, prefer=("on", "right", "above", "below"), gap=0.5, of=taken)
        if not fits and ACROSS_IT * tall <= body.x[1] - body.x[0]:
            # a beam across the room: other names may lie across it, and must where beams leave no space between them
            place.boxes.remove(taken)


def label_openings(place: Placer, f: Shell) -> None:
    """The names of windows and openings, inside the room beside them."""
    for one in f.openings:
        middle = 0.5 * (one.along[0] + one.along[1])
        spot = {
            "left": (middle, 0.0),
            "right": (middle, f.width),
            "front": (0.0, middle),
            "rear": (f.length, middle),
        }[one.wall]
        inward = {"left": "above", "right": "below", "front": "right", "rear": "left"}[one.wall]
        low, high = one.along
        upright = one.wall in ("front", "rear")
        gap = (spot[0], low, spot[0], high) if upright else (low, spot[1], high, spot[1])
        place.put(named(one.name, one.kind, f.names), spot, prefer=(inward,), gap=0.8, of=gap)


ACROSS = tuple(k / 8 for k in range(9))
"""Where along a riser, from one end to the other, the number of another flight may not stand."""


def _label_risers(place: Placer, f: Figure) -> None:
    """How many risers lead up at each platform's front edge, and down at the last one's rear edge."""
    found: list[tuple[str, Point, Span, Sequence[float]]] = []  # with the way, and where the flight's risers are

    def told(risers: Sequence[float], leading: str, edge: float, way: Span) -> None:
        words = f"{len(risers)} riser{'s' if len(risers) > 1 else ''} {leading}"
        found.append((words, (edge, 0.5 * sum(way)), way, risers))

    for row in f.rows:
        if row.rise > 0.0:
            ways = f.aisles(row)
            told([y for y, _ in row.steps], "up", row.edge, ways[row.number % len(ways)])
    if f.rear_edge is not None:
        told([y for y, _ in f.rear_steps], "down", f.rear_edge, f.aisles(f.rows[-1])[0])
    for words, at, way, risers in found:
        # a flight that begins right behind an edge, or the other edge of a short platform: no name may stand at them
        rivals = [
            (y, across[0] + share * (across[1] - across[0]))
            for _, _, across, others in found
            if (across, others) != (way, risers)
            for y in others
            for share in ACROSS
        ]
        flight = (at[0], way[0], at[0], way[1])
        place.put(words, at, prefer=("right", "left"), gap=0.8, rivals=rivals, of=flight)


def _label(scene: Scene, f: Figure) -> None:
    _inside_baffle(scene, f)
    # what a tape along the left wall is to take up stays free
    tape_end = beside(scene, f, "left")
    kept = [(0.0, tape_end - scene.mm(TAPE), f.length + scene.mm(TAPE), tape_end)]
    # where a loudspeaker's stretch ends is measured, and no name may hide it; the projector is drawn small
    place = Placer(scene, kept, clear=("door", "surround", "surround overhead", "projector"))
    if scene.paper(f.baffle_depth) > 7.0:
        for one in f.loudspeakers:
            back = max(0.0, loudspeaker_along(f)[0])
            place.put(one.name, (back, one.x), prefer=("left", "above left", "below left"), gap=0.5, only=True)
    if stand_free(f):
        face = loudspeaker_along(f)[1]
        for one in f.loudspeakers:
            place.put(one.name, (face, one.x), prefer=("right", "above right", "below right"), gap=0.8, only=True)
    top = f.width + max(scene.mm(WALL), beyond(f, "right")) + scene.mm(1.5)
    place.put(
        "midpoint of the acoustic length",
        (f.midpoint, top),
        prefer=("right", "left"),
        gap=0.8,
        of=(f.midpoint, 0.0, f.midpoint, top),
    )
    label_doors(place, f)
    place.boxes += _gaps(scene, f)
    for row in f.rows:
        name = _row_name(scene, f, row.number)
        chair = row.y if row.bar else row.back - 0.5 * f.chair.depth
        place.put(name, (chair, row.x[1]), prefer=("above", "above right", "above left"), gap=0.8, bold=True)
    # never to the left, where it would name the baffle wall
    middle = f.centre
    if stand_free(f) and len(f.loudspeakers) > 2:  # nor on the one that stands at its middle
        middle = 0.5 * (f.loudspeakers[1].x + f.loudspeakers[2].x)
    ways = ("right", "above right", "below right")
    shown = (f.image_y, f.image[0], f.image_y, f.image[1])
    place.put("image", (f.image_y, middle), prefer=ways, gap=1.0, only=True, of=shown)
    label_obstructions(place, f)
    _label_risers(place, f)
    label_openings(place, f)
    for along, across in bass_boxes(f):
        spot = (along[1], 0.5 * (across[0] + across[1]))
        ways = ("right", "above right", "below right", "left")
        place.put("bass", spot, prefer=ways, gap=0.6, of=(along[0], across[0], along[1], across[1]))
    for row in f.rows:
        for x in row.places:
            spot = (row.feet + 0.25 * f.wheelchair.depth, x)
            half = 0.5 * f.wheelchair.width
            floor = (row.feet, x - half, row.feet + f.wheelchair.depth, x + half)
            place.put("wheelchair", spot, prefer=("on", "right", "left"), gap=0.4, of=floor)
    guards = [(row.edge, f.guarded(row), ("left", "right")) for row, _ in f.guards]
    if f.rear_guard is not None:
        guards.append((f.rear_edge, f.rear_guarded, ("right", "left")))
    for y, span, ways in guards:
        spot = (y, clear_of_seats(f, span, (y, y)))
        place.put("guard", spot, prefer=ways, gap=0.8, of=(y, span[0], y, span[1]))
    if f.projector is not None:
        body = f.projector_body
        taken = (body.y[0], body.x[0], body.y[1], body.x[1])
        if body.y[0] > f.length:
            place.put("projector", (body.y[1], f.centre), prefer=("right", "above", "below"), of=taken)
        else:
            aside = scene.paper(0.5 * (body.x[1] - body.x[0])) + 0.8
            middle = (0.5 * sum(body.y), f.centre)
            place.put("projector", middle, prefer=("below", "above", "right"), gap=aside, of=taken)
    # last: these are long, and can be led to from outside the room
    for one in f.surround:
        ends = _stretch(scene, one)
        spot = tuple(0.5 * (a + b) for a, b in zip(*ends))
        place.put(one.speaker, spot, prefer=("above", "below", "left", "right"), gap=0.6, of=around(ends))
