"""Where labels go: beside what they name, clear of each other, and of lines where that is possible."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Sequence
from itertools import accumulate, permutations

from optimiser.sheet import lettering
from optimiser.sheet.scene import (
    Box,
    Circle,
    Dimension,
    Insert,
    Item,
    Mark,
    Path,
    Point,
    Running,
    Scene,
    Text,
    around,
    crosses,
    overlap,
    pointers,
    segments,
)
from optimiser.sheet.style import STYLES
from optimiser.words import listed

AIR = 0.5
"""Millimetres that labels keep from each other, one above the other."""

APART = 2.2
"""Millimetres that labels keep from each other along a line: more than a space, so that two are not read as one."""

DOT_AIR = 0.2
"""Millimetres that labels keep from dots."""

FAR = 2.0
"""Millimetres from what it names beyond which a label does not touch it any more, and needs a line that leads there."""

MANY = 4
"""Lines through a label beyond which one more does not matter."""

ASTRAY = 4.0
"""What it costs, in lines run through, that a label stands nearer to a thing like its own than to its own."""

FEW = 4
"""Labels that are tried in any order."""

UPON = 8.0
"""What it costs, beside, that it lies on that, and is read as its name."""

HIDDEN = 16.0
"""What it costs that the line to a label runs through another label or a tape, which is then read as what the line leads
to."""

NAME = 42.0
"""Millimetres of a name from the file that a drawing shows; the brief has the whole of it."""

TAPED = 28.0
"""The same of a name on a tape: its text lies beside the drawing, which long ones would leave less of the paper."""

SHARED = 40.0
"""Millimetres of names beyond which things at one place of a tape each have a text of their own."""

ENDINGS = (0.35, 0.5, 0.65, 0.8)
"""Shares of them for the end of a name that is cut: the first by which it differs from the others that are cut."""

HAIR = 0.05
"""Millimetres beside a tape that count as on it."""

WIDER = 0.3
"""What it costs, in lines run through, that a label makes the drawing wider by a millimetre: drawings are as large as
their width lets them."""

WIDEST = 12.0
"""What it costs at most: to be misread is worse."""

UNDER = "under "
"""Before what hangs, in the name of its lower edge's height."""

ROW = ", row "
"""Before a row's number in the name of what each row has."""

Segment = tuple[Point, Point]

DIRECTIONS = ("right", "left", "above", "below", "above right", "below right", "above left", "below left")
_WAY = {
    "on": (0, 0),
    "right": (1, 0), "left": (-1, 0), "above": (0, 1), "below": (0, -1),
    "above right": (1, 1), "below right": (1, -1), "above left": (-1, 1), "below left": (-1, -1),
}  # fmt: skip


def named(name: str, kind: str, among: Collection[str] = (), most: float = NAME) -> str:
    """A thing's name as drawings write it in ``most`` mm, or what kind of thing it is where it has none: of a long one its
    beginning and as much of its end as tells it from the others ``among`` which it is."""
    text = name or kind

    def cut(one: str, ending: float) -> str:
        return lettering.shortened(one, most, lettering.LEAST, ending=ending)

    alone = (e for e in ENDINGS if all(cut(one, e) != cut(text, e) for one in among if one != text))
    return cut(text, next(alone, ENDINGS[0]))


def taped(name: str, kind: str, among: Collection[str] = ()) -> str:
    """The same on a tape."""
    return named(name, kind, among, TAPED)


def taken(scene: Scene) -> list[Box]:
    """Boxes of all texts that the scene already has, with air around them."""
    return [_aired(scene, scene.text_box(t)) for t in scene.texts()]


def _aired(scene: Scene, box: Box) -> Box:
    return _grown(box, scene.mm(APART), scene.mm(AIR))


def _grown(box: Box, along: float, up: float) -> Box:
    return box[0] - along, box[1] - up, box[2] + along, box[3] + up


def dots(scene: Scene) -> list[Box]:
    """Boxes of the dots and heads of a drawing: each says where something is, and no label may hide one."""
    air = scene.mm(DOT_AIR)
    return [
        (u - r - air, v - r - air, u + r + air, v + r + air)
        for (u, v), r in ((at, one.radius) for one, at in _circles(scene.items, scene))
    ]


def _circles(items: Sequence[Item], scene: Scene, offset: Point = (0.0, 0.0)) -> Iterator[tuple[Circle, Point]]:
    for item in items:
        if isinstance(item, Circle):
            yield item, (item.centre[0] + offset[0], item.centre[1] + offset[1])
        elif isinstance(item, Insert):
            yield from _circles(scene.blocks[item.block], scene, item.at)


def from_box(point: Point, box: Box) -> float:
    """How far a point lies outside of a box."""
    return math.hypot(max(box[0] - point[0], point[0] - box[2], 0.0), max(box[1] - point[1], point[1] - box[3], 0.0))


def _sides(scene: Scene) -> tuple[float, float]:
    """How far a drawing reaches to the left and the right."""
    if not scene.items:
        return 0.0, 0.0
    left, _, right, _ = scene.extent()
    return left, right


def between(one: Box, two: Box) -> float:
    """How far two boxes lie apart; 0 where they touch."""
    return math.hypot(max(one[0] - two[2], two[0] - one[2], 0.0), max(one[1] - two[3], two[1] - one[3], 0.0))


def walls_of(scene: Scene) -> list[Box]:
    """Boxes of the walls, which no label should lie on."""
    return [around(i.points) for i in scene.items if isinstance(i, Path) and i.role == "wall" and len(i.points) == 4]


class Placer:
    """Places labels one after another on a scene whose lines are all drawn. No label lies on a dot, on the line
    that leads to another label, on a dimension's, or on a line of a role that is to stay ``clear``."""

    def __init__(self, scene: Scene, keep_out: Sequence[Box] = (), clear: Collection[str] = ()) -> None:
        self.scene = scene
        self.cost, self.astray = 0.0, 0  # of all labels so far, and how many of them stand nearer to a rival
        self.texts = taken(scene)
        self.sides = _sides(scene)
        tapes = [line for item in scene.items if isinstance(item, Running) for line in segments(item, scene.blocks)]
        self.kept = [*keep_out, *(_grown(around(line), scene.mm(HAIR), scene.mm(HAIR)) for line in tapes)]
        self.boxes = list(keep_out) + walls_of(scene) + dots(scene)
        self.lines: list[tuple[Box, Segment]] = []
        self.barred: dict[float, list[tuple[Box, Segment]]] = {}  # by half of what they are wide
        for item in scene.items:
            # walls of more corners than four, as sloped ceilings have, are no boxes
            shut = isinstance(item, Running) or getattr(item, "role", "") in {*clear, "wall"}
            found = segments(item, scene.blocks)
            if shut:
                self._bar(getattr(item, "role", "dimension"), found)
            else:
                self.lines.extend((around(line), line) for line in found)
            if isinstance(item, Dimension):  # its own line, with its ticks; those that lead to it may be covered
                self._bar("dimension", found[:1])
            if isinstance(item, Running):
                self._bar("dimension", [line for one in pointers(item, scene) for line in zip(one, one[1:])])

    def _bar(self, role: str, lines: Sequence[Segment]) -> None:
        """Let no label lie on lines of a role, or on a part of their width."""
        half = self.scene.mm(0.5 * STYLES[role].weight)
        self.barred.setdefault(half, []).extend((around(line), line) for line in lines)

    @staticmethod
    def _crossings(box: Box, lines: Sequence[tuple[Box, Segment]], most: int) -> int:
        """How many lines run through a box; more than ``most`` count as ``most``."""
        least_u, least_v, most_u, most_v = box
        count = 0
        for (a, b, c, d), line in lines:
            # a hair's breadth for upright and level lines, whose boxes have no area
            if a < most_u and least_u < c + 1e-12 and b < most_v and least_v < d + 1e-12 and crosses(line, box):
                count += 1
                if count == most:
                    break
        return count

    def _free(self, box: Box) -> bool:
        if any(overlap(box, other) for other in self.texts) or any(overlap(box, other) for other in self.boxes):
            return False
        return not any(self._crossings(_grown(box, half, half), lines, 1) for half, lines in self.barred.items())

    def put(
        self,
        text: str,
        near: Point,
        *,
        role: str = "note",
        size: float = lettering.LEAST,
        prefer: Sequence[str] = DIRECTIONS,
        gap: float = 1.0,
        lead: bool = True,
        bold: bool = False,
        only: bool = False,
        rivals: Sequence[Point] = (),
        of: Box | None = None,
    ) -> Text:
        """Set a label as near to a point as there is space, trying the preferred sides first (or ``only``
        them); a thin line leads to it where it does not touch what it names, the point or the whole box that this
        is ``of``, or where it stands nearer to one of its ``rivals``: the places of things like the one that it names."""
        scene = self.scene
        ways = [*prefer, *(d for d in DIRECTIONS if d not in prefer and not only)]
        best: tuple[float, Text, bool] | None = None
        for ring in range(60):
            distance = gap + 1.8 * ring
            for rank, way in enumerate(ways):
                label = self._beside(text, near, way, distance, role, size, bold)
                box = scene.text_box(label)
                least = 1.3 * ring + 0.35 * rank
                if best is not None and least >= best[0] or not self._free(box):
                    continue
                away = min((from_box(other, box) for other in rivals), default=math.inf)
                astray = away <= from_box(near, box)
                led = lead and (astray or between(box, of or (*near, *near)) > scene.mm(FAR) + 1e-9)
                cost = least + self._crossings(box, self.lines, MANY) + ASTRAY * astray + UPON * (not away)
                out = max(self.sides[0] - box[0], box[2] - self.sides[1], 0.0)
                cost += min(WIDER * scene.paper(out), WIDEST)
                if led and self._hidden(_leader(near, box, of)):
                    cost += HIDDEN
                if best is None or cost < best[0]:
                    best = (cost, label, led)
            if best is not None and 1.3 * (ring + 1) > best[0]:
                break
        assert best is not None, "paper has no end"
        cost, label, led = best
        box = scene.text_box(label)
        self.cost += cost
        self.astray += any(from_box(other, box) <= from_box(near, box) for other in rivals)
        if led:
            leader = _leader(near, box, of)
            scene.add(Path(leader, "leader"))
            self._bar("leader", [leader])
        scene.add(label)
        self.sides = min(self.sides[0], box[0]), max(self.sides[1], box[2])
        self.texts.append(_aired(scene, box))
        return label

    def put_all(self, puts: Sequence[Callable[[], Text]]) -> None:
        """Set several labels that are in each other's way, each by a call of ``put``, in the order in which the fewest of
        them stand nearer to a rival, and of such orders the one that costs least."""
        orders = list(permutations(puts)) if len(puts) <= FEW else [tuple(puts), tuple(reversed(puts))]
        items, texts, sides = len(self.scene.items), len(self.texts), self.sides
        barred = {half: len(lines) for half, lines in self.barred.items()}

        def tried(order: Sequence[Callable[[], Text]]) -> tuple[int, float]:
            before = self.astray, self.cost
            for put in order:
                put()
            found = self.astray - before[0], self.cost - before[1]
            self.astray, self.cost, self.sides = *before, sides
            del self.scene.items[items:], self.texts[texts:]
            for half, lines in self.barred.items():
                del lines[barred.get(half, 0) :]
            return found

        for put in min(orders, key=tried):
            put()

    def _beside(self, text: str, near: Point, way: str, distance: float, role: str, size: float, bold: bool) -> Text:
        du, dv = _WAY[way]
        half = 0.5 * lettering.height(size)
        u = near[0] + self.scene.mm(du * distance)
        v = near[1] + self.scene.mm(dv * (distance + half if du == 0 else distance))
        anchor = {1: "start", -1: "end", 0: "middle"}[du]
        return Text((u, v), text, role, size, anchor, bold=bold, masked=True)

    def _hidden(self, leader: Segment) -> bool:
        """Whether the line to a label runs through another label, or over a tape or where one is still to come."""
        return any(crosses(leader, other) for other in (*self.texts, *self.kept))


def _leader(near: Point, box: Box, of: Box | None) -> Segment:
    """The line to a label from a point, or from the middle half of what it names: at its ends other things are near."""
    if of is not None:
        du, dv = 0.25 * (of[2] - of[0]), 0.25 * (of[3] - of[1])
        middle = 0.5 * (box[0] + box[2]), 0.5 * (box[1] + box[3])
        near = _within(middle, (of[0] + du, of[1] + dv, of[2] - du, of[3] - dv))
    return near, _within(near, box)


def _within(point: Point, box: Box) -> Point:
    """The place in a box that is nearest to a point."""
    return min(max(point[0], box[0]), box[2]), min(max(point[1], box[1]), box[3])


def tape(
    scene: Scene,
    axis: str,
    origin: float,
    end: float,
    base: float,
    outward: int,
    features: Sequence[tuple[str, float, str, Point]],
) -> Running:
    """A running dimension with its texts laid out: each feature is a name, a position, a value as text
    and the point that is measured. Features at one place share a text, unless that would be very long."""
    merged: list[list] = []
    for name, position, value, feature in sorted(features, key=lambda f: f[1]):
        here = merged and abs(merged[-1][1] - position) < 5e-5
        if here and lettering.width(together([*merged[-1][0], name]), lettering.LEAST) <= SHARED:
            merged[-1][0].append(name)
        else:
            merged.append([[name], position, value, feature])
    for one in merged:
        one[0] = together(one[0])
    if axis == "u":
        marks = _along(scene, base, outward, merged)
    else:
        marks = _stacked(scene, base, outward, merged)
    return Running(axis, origin, base, end, tuple(marks), outward)


def together(names: Sequence[str]) -> str:
    """Names of things at one place as one text: ``image, eyes, rows 1 to 3``."""
    rows: dict[str, list[int]] = {}
    for name in names:
        of, _, number = name.rpartition(ROW)
        if number.isdecimal():
            rows.setdefault(of, []).append(int(number))
        else:
            rows.setdefault(name, [])
    words = [f"{name}, {rows_named(numbers)}" if numbers else name for name, numbers in rows.items()]
    hung = [word for word in words if word.startswith(UNDER)]
    return ", ".join(word.removeprefix(UNDER) if word in hung[1:] else word for word in words)


def rows_named(numbers: Sequence[int]) -> str:
    """``row 2``, ``rows 2 and 3``, ``rows 1 to 4``: rows by their numbers, which ascend."""
    first, last = numbers[0], numbers[-1]
    if len(numbers) == 1:
        return f"row {first}"
    run = len(numbers) > 2 and list(numbers) == list(range(first, last + 1))
    return f"rows {first} to {last}" if run else f"rows {listed(map(str, numbers))}"


def _along(scene: Scene, base: float, outward: int, features: list[list]) -> list[Mark]:
    """Texts to the right of upright leaders, in as many tiers as keep each leader clear of the others'
    texts: from the right, each goes one tier beyond those whose leaders begin under its text."""
    step, first = scene.mm(lettering.height(lettering.LEAST) + 0.4), scene.mm(3.2)
    placed: list[tuple[float, int, Mark]] = []
    for name, position, value, feature in reversed(features):
        text = f"{value} {name}"
        reach = position + scene.mm(1.0 + lettering.width(text, lettering.LEAST) + 1.2)
        tier = 1 + max((t for p, t, _ in placed if p < reach), default=0)
        at = (position + scene.mm(1.0), base + outward * (first + (tier - 1) * step))
        placed.append((position, tier, Mark(name, position, text, at, feature)))
    return [mark for _, _, mark in reversed(placed)]


def _stacked(scene: Scene, base: float, outward: int, features: list[list]) -> list[Mark]:
    """Texts beside their places, moved along just so far that they keep apart."""
    least = scene.mm(lettering.height(lettering.LEAST) + 0.2)
    spots = spread([f[1] for f in features], least)
    u = base + outward * scene.mm(6.0)
    return [Mark(n, p, f"{v} {n}", (u, spot), feature) for (n, p, v, feature), spot in zip(features, spots)]


def spread(places: Sequence[float], least: float | Sequence[float]) -> list[float]:
    """Places moved as little as need be (in the least squares sense) so that neighbours are ``least`` apart, each
    pair alike or each by its own; the order is kept. Pool adjacent violators on places less what lies before them."""
    gaps = [least] * (len(places) - 1) if isinstance(least, (int, float)) else list(least)
    before = list(accumulate(gaps, initial=0.0))
    blocks: list[list[float]] = []  # mean, count
    for place, taken_up in zip(places, before):
        blocks.append([place - taken_up, 1])
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            mean, count = blocks.pop()
            total = blocks[-1][1] + count
            blocks[-1] = [(blocks[-1][0] * blocks[-1][1] + mean * count) / total, total]
    result: list[float] = []
    for mean, count in blocks:
        start = len(result)
        result.extend(mean + before[start + k] for k in range(int(count)))
    return result


def wide_enough(scene: Scene, text: str, metres: float) -> bool:
    """Whether a text of the least size fits into a length of the drawing."""
    return scene.mm(lettering.width(text, lettering.LEAST) + 1.0) <= metres


def polar(centre: Point, radius: float, angle: float) -> Point:
    """The point at a distance and angle from a centre."""
    return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)
