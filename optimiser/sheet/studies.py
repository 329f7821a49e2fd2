"""Pictures that explain a design: the viewing angles, the view over heads, the length modes, the door."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from optimiser.measures.front import FRAME_DEPTH
from optimiser.physics.modal import mode_shape
from optimiser.physics.sector import Sector
from optimiser.problem.model import Door
from optimiser.quantity import show
from optimiser.sheet import lettering
from optimiser.sheet.figures import Figure, Span
from optimiser.sheet.labels import Placer, named
from optimiser.sheet.plan import WALL, doors, front, walls
from optimiser.sheet.scene import Arc, Circle, Path, Point, Scene, Text

MODES = (1, 2, 3)
"""Orders of the length modes that are drawn."""

CURVES = dict(zip(MODES, ("curve", "curve 2", "curve 3")))
"""How each mode's curve is drawn."""

SAMPLE = 6.0
"""Millimetres of a line that stand before its name in a key."""

STRIPS = 16
"""Boxes that a door's sweep is cut into."""

SPOTS = 12
"""Stretches of a side, from back to face, at whose ends its way to a door's sweep is taken."""

KEY_TOP = -5.0
"""Millimetres above the picture's foot at which a key begins."""

ORDINALS = {1: "first", 2: "second", 3: "third", 4: "fourth"}


def fan(f: Figure, denominator: float, angles: Mapping[int, float]) -> Scene:
    """The angle that the image's width fills from the middle of each row, over the plan.

    ``angles`` are the horizontal angles [rad] by row.
    """
    scene = Scene("fan", "Viewing angles", denominator)
    front(scene, f)
    walls(scene, f)
    for row in f.rows:
        for x in row.people:
            scene.add(Circle((row.y, x), 0.09, "head"))
    for row in f.rows:
        role = "sight" if row.number == f.reference else "fan"
        eye = (row.y, row.middle)
        for edge in f.image:
            scene.line(role, eye, (f.image_y, edge))
        ends = sorted(math.atan2(edge - row.middle, f.image_y - row.y) % math.tau for edge in f.image)
        radius = min(scene.mm(9.0), 0.5 * (row.y - f.image_y))
        scene.add(Arc(eye, radius, ends[0], ends[1] - ends[0], role))
    place = Placer(scene, clear=("sight", "fan"))
    for k, row in enumerate(f.rows):
        # beside the row's last seat, at either side by turns: the middle is full of lines of sight
        last, way = ((row.people[-1], "above"), (row.people[0], "below"))[k % 2]
        text = f"row {row.number}: {show('angle', angles[row.number])}"
        others = [(r.y, x) for r in f.rows if r is not row for x in r.people]
        ways = (way, f"{way} right", f"{way} left")
        place.put(text, (row.y, last), prefer=ways, gap=1.6, bold=True, rivals=others)
    words = ", ".join(f"{show('angle', angles[r.number])} from row {r.number}" for r in f.rows)
    scene.description = f"Plan with the angle that the image's width fills, seen from the middle of each row: {words}."
    return scene


OVER = ("above left", "above", "above right")
"""Where the words on a clearance may stand, the first where there is room."""


def sight(f: Figure, system: str, denominator: float, stretch: float = 2.0, over: Sequence[str] = OVER) -> Scene:
    """Each row's line of sight to the image's lower edge over the eyes in front; heights drawn larger
    by ``stretch``, so that the clearance can be seen; its words are placed as ``over`` prefers."""
    scene = Scene("sight", "Over the row in front", denominator)

    def at(y: float, z: float) -> Point:
        return y, z * stretch

    scene.line("face", at(0.0, 0.0), at(f.length, 0.0))
    for (start, end), height in f.platforms:
        scene.area("platform", at(start, 0.0), at(end, 0.0), at(end, height), at(start, height))
    highest = max(r.head for r in f.rows)
    scene.line("image", at(f.image_y, f.bottom), at(f.image_y, min(f.top, max(highest, f.bottom + 0.4))))
    for before, row in zip(f.rows, f.rows[1:]):
        scene.line("sight", at(row.y, row.eye), at(f.image_y, f.bottom))
        passed = before.eye + (row.clearance or 0.0)
        scene.line("clearance", at(before.y, before.eye), at(before.y, passed))
        for z in (before.eye, passed):
            scene.line("clearance", (before.y - scene.mm(1.0), z * stretch), (before.y + scene.mm(1.0), z * stretch))
    for row in f.rows:
        scene.add(Circle(at(row.y, row.eye), scene.mm(0.8), "head"))
        scene.line("recline", at(row.y, row.eye), at(row.y, row.platform))
    screen = f.image_y, min(f.top, max(highest, f.bottom + 0.4))
    air = scene.mm(0.8)
    seen = (screen[0] - air, f.bottom * stretch, screen[0] + air, screen[1] * stretch)
    place = Placer(scene, [seen], clear=("sight", "clearance"))
    bars = [at(a.y, a.eye + 0.5 * (b.clearance or 0.0)) for a, b in zip(f.rows, f.rows[1:])]
    for before, row in zip(f.rows, f.rows[1:]):
        middle = at(before.y, before.eye + 0.5 * (row.clearance or 0.0))
        text = f"row {row.number} over the eyes of row {before.number}: {show('length', row.clearance or 0.0, system)}"
        others = [bar for bar in bars if bar != middle]
        place.put(text, middle, prefer=over, gap=6.0, bold=True, rivals=others)
    for row in f.rows:
        place.put(
            f"eyes, row {row.number}", at(row.y, row.eye), prefer=("right", "below right", "above right"), gap=1.4
        )
    place.put("image's lower edge", at(f.image_y, f.bottom), prefer=("below right", "below"), gap=1.2)
    pairs = ", ".join(
        f"row {b.number} sees {show('length', b.clearance or 0.0, system)} over the eyes of row {a.number}"
        for a, b in zip(f.rows, f.rows[1:])
    )
    scene.description = (
        f"Lines of sight to the image's lower edge over the eyes in front; {pairs}. Heights are stretched."
    )
    return scene


def pressure(f: Figure, denominator: float, tall: float = 30.0) -> Scene:
    """How strongly each length mode sounds along the room, with the rows on it.

    The curves are |cos(n pi x / L)| over the acoustic length, ``tall`` mm of paper for a full one.
    """
    scene = Scene("pressure", "Length modes", denominator)
    height = scene.mm(tall)
    span = f.length - f.acoustic_front
    share = np.linspace(0.0, 1.0, 121)

    def level(order: int, at: np.ndarray) -> np.ndarray:
        return np.abs(mode_shape(position=at[:, None], order=np.array([order])))

    scene.line("dimension", (0.0, height), (f.length, height))
    scene.line("face", (0.0, 0.0), (f.length, 0.0))
    scene.line("face", (0.0, 0.0), (0.0, height + scene.mm(2.0)))
    scene.line("face", (f.length, 0.0), (f.length, height + scene.mm(2.0)))
    if f.acoustic_front > 0.0:
        scene.box("baffle", (0.0, f.acoustic_front), (0.0, height))
    for order, role in CURVES.items():
        points = [(f.acoustic_front + span * float(s), height * float(v)) for s, v in zip(share, level(order, share))]
        scene.line(role, *points)
    for row in f.rows:
        scene.line("leader", (row.y, 0.0), (row.y, height + scene.mm(3.0)))
        for order in MODES:
            at = level(order, np.array([(row.y - f.acoustic_front) / span]))
            scene.add(Circle((row.y, height * float(at[0])), scene.mm(0.8), "bar"))
    full = Text((-scene.mm(1.2), height), "as at the wall", "quiet", anchor="end")
    scene.add(full)
    scene.add(Text((-scene.mm(1.2), 0.0), "null", "quiet", anchor="end"))
    place = Placer(scene)
    for row in f.rows:
        top = (row.y, height + scene.mm(3.0))
        place.put(f"row {row.number}", top, prefer=("above",), gap=0.4, bold=True, only=True)
    names = [(CURVES[order], f"{ORDINALS[order]} mode") for order in MODES]
    _key(scene, names, scene.paper(scene.text_box(full)[0]), scene.paper(f.length))
    scene.description = (
        "Sound pressure of the first three length modes along the room, from full at the walls to nothing at their "
        "nulls, with a line at each row; the table of rows gives the levels."
    )
    return scene


def _key(scene: Scene, lines: Sequence[tuple[str, str]], left: float, right: float) -> None:
    """What each kind of line stands for, below the picture, between two places in mm, in as many lines as that takes:
    curves that fill the picture leave no space for names that would lie on none of them."""
    x, y = left, KEY_TOP
    for role, name in lines:
        wide = SAMPLE + 1.2 + lettering.width(name, lettering.LEAST)
        if x > left and x + wide > right:
            x, y = left, y - lettering.height(lettering.LEAST) - 0.8
        start, v = scene.mm(x), scene.mm(y)
        scene.line(role, (start, v), (start + scene.mm(SAMPLE), v))
        scene.add(Text((start + scene.mm(SAMPLE + 1.2), v), name))
        x += wide + 3.0


def biting(f: Figure) -> tuple[Door, Sector] | None:
    """The inward door in a side wall whose sweep comes nearest to the front, if it reaches the baffle's
    neighbourhood at all."""
    near = [(door, s) for door, s in f.doors if s.sweep > 0.0 and door.wall in ("left", "right")]
    near = [(door, s) for door, s in near if min(p[1] for p in outline(s)) < f.baffle_depth + 1.0]
    return min(near, key=lambda d: min(p[1] for p in outline(d[1])), default=None)


def outline(s: Sector, count: int = 48) -> list[tuple[float, float]]:
    """Points (x, y) along the edge of what a door sweeps."""
    arc = [s.end(s.start + s.sweep * k / count) for k in range(count + 1)]
    return [s.hinge, *arc]


def swing(f: Figure, system: str, denominator: float, depths: Sequence[float], clearance: float) -> Scene:
    """The door's sweep beside what stands at the front wall, and where a corner of that could not lie at any depth.

    ``depths``: least and greatest depth of the baffle that the problem allows [m]; ``clearance``: from
    the door's sweep to what stands there [m]. ValueError where ``biting`` finds no door.
    """
    found = biting(f)
    if found is None:
        raise ValueError("no door swings near the baffle")
    door, sector = found
    scene = Scene("swing", swing_title(f), denominator)
    left = door.wall == "left"
    points, standing = outline(sector), _standing(f)
    end = 0 if left else 1
    corners = [(face, span[end]) for *_, face, span in standing]
    outer = (min if left else max)(x for _, x in corners)
    reach = max(abs(x - sector.hinge[0]) for x, _ in points)
    rear = max(max(y for _, y in points), *depths, *(y for y, _ in corners)) + 0.15
    inner = max(reach, abs(outer - sector.hinge[0])) + 0.45
    side = (0.0, inner) if left else (f.width - inner, f.width)
    for role, back, face, span in standing:
        shown = max(span[0], side[0]), min(span[1], side[1])
        if shown[0] < shown[1]:
            scene.box(role, (back, face), shown)
    line_end = _forbidden(scene, points, rear, left, sector.hinge[0])
    part = Scene("", "", denominator)
    doors(part, f)
    scene.add(*[i for i in part.items if _belongs(i, (sector.hinge[1], sector.hinge[0]))])
    thick = scene.mm(WALL)
    scene.box("wall", (-thick, 0.0), side)
    wall = (-thick, 0.0) if left else (f.width, f.width + thick)
    along = sorted((door.hinge, door.hinge + (door.leaf if door.towards == "rear" else -door.leaf)))
    for a, b in ((-thick, along[0]), (along[1], rear)):
        if b > a:
            scene.box("wall", (a, b), wall)
    for depth in sorted(set(depths)) if f.baffle_depth else ():
        scene.line("recline", (depth, side[0]), (depth, side[1]))
    sides = [
        (back + (face - back) * k / SPOTS, span[end]) for _, back, face, span in standing for k in range(SPOTS + 1)
    ]
    nearest = min(sides, key=lambda spot: _apart(points, spot[1], spot[0]))
    # the baffle wall's, whose depth is decided; without one, that of what is nearest
    corner = corners[0] if f.baffle_depth else corners[sides.index(nearest) // (SPOTS + 1)]
    scene.add(Circle(nearest, scene.mm(0.9), "bar"))
    _name_swing(scene, f, system, door, sector, depths, clearance, corner, nearest, side, line_end)
    deep = f"; the wall is {show('length', f.baffle_depth, system)} deep" if f.baffle_depth else ""
    between = f"{show('length', clearance, system)} between them."
    scene.description = f"Detail of the plan: what the door sweeps, beside {standing_words(f)}{deep}; {between}"
    return scene


def swing_title(f: Figure) -> str:
    """What the picture of a door's sweep is called."""
    return "Door and baffle" if f.baffle_depth else "Door and frame"


def standing_words(f: Figure) -> str:
    """What stands at the front wall, for a door's leaf to come near it."""
    if f.baffle_depth:
        return "the corners of the baffle wall and its frame"
    cabinets = any(role == "loudspeaker" for role, *_ in _standing(f))
    return "the frame and the loudspeakers, which no baffle wall holds" if cabinets else "the frame"


def _standing(f: Figure) -> list[tuple[str, float, float, Span]]:
    """What a door's leaf may strike at the front wall, as door_clearance counts it: role, back and face (y), and x."""
    frame = f.image_y + FRAME_DEPTH
    found = [("frame", f.baffle_depth, frame, f.frame)]
    if f.baffle_depth:
        return [("baffle", 0.0, f.baffle_depth, f.baffle), *found]
    for one in f.loudspeakers if f.place != "behind" else ():
        depth = frame if one.depth is None and f.place == "beside" else one.depth
        found += [] if depth is None else [("loudspeaker", 0.0, depth, one.span)]
    return found


def _belongs(item: object, hinge: Point) -> bool:
    if isinstance(item, Arc):
        return item.centre == hinge
    return isinstance(item, Path) and hinge in item.points


def _forbidden(scene: Scene, points: list, rear: float, left: bool, wall: float) -> Point:
    """The line that the baffle's corner may not cross: for each depth, how far from the wall the sweep
    reaches in front of it."""
    steps = 90
    edge: list[Point] = []
    dense = _dense(points)
    for k in range(steps + 1):
        depth = rear * k / steps
        reached = [x for x, y in dense if y <= depth]
        if reached:
            edge.append((depth, max(reached) if left else min(reached)))
    scene.line("bound", (edge[0][0], wall), *edge)
    return edge[-1]


def _dense(points: list) -> list:
    """The outline with points between its corners, so that straight edges count too."""
    closed = [*points, points[0]]
    return [
        (x0 + (x1 - x0) * k / 12, y0 + (y1 - y0) * k / 12)
        for (x0, y0), (x1, y1) in zip(closed, closed[1:])
        for k in range(12)
    ]


def _swept(sector: Sector) -> list[tuple[float, float, float, float]]:
    """What a door sweeps as narrow boxes (y, x), so that nothing is written over it."""
    dense = sorted((y, x) for x, y in _dense(outline(sector)))
    low, high = dense[0][0], dense[-1][0]
    strips = []
    for k in range(STRIPS):
        a, b = (low + (high - low) * share / STRIPS for share in (k, k + 1))
        inside = [x for y, x in dense if a <= y <= b]
        if inside:
            strips.append((a, min(inside), b, max(inside)))
    return strips


def _apart(points: list, x: float, y: float) -> float:
    """Least distance from a point to the outline of a sweep."""
    return min(math.hypot(px - x, py - y) for px, py in _dense(points))


def _name_swing(scene, f, system, door, sector, depths, clearance, corner, nearest, side, line_end) -> None:
    left = door.wall == "left"
    inward = "above" if left else "below"
    outward = "below" if left else "above"
    place = Placer(scene, _swept(sector), clear=("swing", "door", "bound", "baffle", "frame", "loudspeaker"))
    edge = side[1] if left else side[0]
    if f.baffle_depth and max(depths) > min(depths):
        for depth, word in ((min(depths), "least"), (max(depths), "greatest")):
            text = f"{word} depth {show('length', depth, system)}"
            place.put(text, (depth, edge), prefer=(inward, f"{inward} right", f"{inward} left"), gap=0.8)
    ways = (f"{inward} right", "right", inward)
    deep, clear = f"corner: {show('length', corner[0], system)} deep", f"{show('length', clearance, system)} clear"
    names = [(deep, corner), (clear, nearest)]
    for text, spot in names:
        place.put(text, spot, prefer=ways, gap=3.0, bold=True)
    middle = sector.start + 0.5 * sector.sweep
    u = sector.hinge[1] + 0.5 * sector.radius * math.sin(middle)
    v = sector.hinge[0] + 0.5 * sector.radius * math.cos(middle)
    place.put(
        f"{named(door.name, 'door', f.names)}, leaf {show('length', door.leaf, system)}",
        (u, v),
        prefer=("right", outward),
        gap=0.4,
    )
    place.put("limit of the corner", line_end, prefer=("above left", inward, "right"), gap=1.2)
