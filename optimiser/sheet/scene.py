"""What a drawing is made of: lines, texts and dimensions in metres, to be printed at a known scale.

A scene is drawn in its own plane, u to the right and v up, in metres of the room. It knows the
scale it will be printed at, so that lettering and line weights, which belong to the paper, can be
laid out among things that belong to the room. SVG, PDF and DXF are written from the same scene.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Union

from optimiser.sheet import lettering
from optimiser.sheet.style import STYLES

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # least u, least v, greatest u, greatest v


@dataclass(frozen=True)
class Path:
    """Straight lines from point to point; a closed one may be filled."""

    points: tuple[Point, ...]
    role: str
    closed: bool = False


@dataclass(frozen=True)
class Arc:
    """Part of a circle from ``start`` counter-clockwise by ``sweep`` [rad]; a pie if ``filled``."""

    centre: Point
    radius: float
    start: float
    sweep: float
    role: str
    filled: bool = False

    def end(self, angle: float) -> Point:
        return self.centre[0] + self.radius * math.cos(angle), self.centre[1] + self.radius * math.sin(angle)


@dataclass(frozen=True)
class Circle:
    """A circle."""

    centre: Point
    radius: float
    role: str


@dataclass(frozen=True)
class Text:
    """A line of text. ``at`` is the middle of its height; ``anchor`` says which end of it lies there."""

    at: Point
    text: str
    role: str = "note"
    size: float = lettering.LEAST
    anchor: str = "start"  # start | middle | end
    turned: bool = False  # reads upwards
    bold: bool = False
    masked: bool = False  # on a patch of paper, so that lines do not run through it


@dataclass(frozen=True)
class Insert:
    """A block placed with its origin at a point."""

    block: str
    at: Point


@dataclass(frozen=True)
class Dimension:
    """The distance from ``a`` to ``b`` along one axis ("u" or "v"), its line at ``line`` on the other.
    Where there is no space for the text in the middle, ``shift`` moves it along the line, beyond ``b``, or
    it stands upright so far ``beside`` the line."""

    name: str
    axis: str
    a: Point
    b: Point
    line: float
    text: str
    shift: float = 0.0
    beside: float = 0.0

    @property
    def value(self) -> float:
        at = 0 if self.axis == "u" else 1
        return abs(self.b[at] - self.a[at])

    @property
    def middle(self) -> Point:
        """Where the middle of the text lies on the dimension line."""
        if self.axis == "u":
            return 0.5 * (self.a[0] + self.b[0]) + self.shift, self.line
        return self.line, 0.5 * (self.a[1] + self.b[1]) + self.shift


@dataclass(frozen=True)
class Mark:
    """One place on a running dimension: ``position`` along the axis, and where its text begins."""

    name: str
    position: float
    text: str
    at: Point
    feature: Point  # the point of the drawing that is measured


@dataclass(frozen=True)
class Running:
    """Distances of several places from one origin along an axis, as one reads them off a tape laid from
    a corner. ``base`` is where the tape lies on the other axis."""

    axis: str
    origin: float
    base: float
    end: float
    marks: tuple[Mark, ...]
    outward: int  # to which side of the base the texts lie: +1 or -1
    zero: str = "0"


Item = Union[Path, Arc, Circle, Text, Insert, Dimension, Running]


@dataclass
class Scene:
    """A drawing at 1 to ``denominator``."""

    name: str
    title: str
    denominator: float
    description: str = ""
    items: list[Item] = field(default_factory=list)
    blocks: dict[str, tuple[Item, ...]] = field(default_factory=dict)

    def mm(self, millimetres: float) -> float:
        """Metres in the room that take so many millimetres on paper."""
        return millimetres * self.denominator / 1000.0

    def paper(self, metres: float) -> float:
        """Millimetres on paper of so many metres in the room."""
        return metres * 1000.0 / self.denominator

    def add(self, *items: Item) -> None:
        for item in items:
            for role in [item.role] if hasattr(item, "role") else []:
                if role not in STYLES:
                    raise ValueError(f"no style for {role}")
            self.items.append(item)

    def line(self, role: str, *points: Point) -> None:
        self.add(Path(tuple(points), role))

    def area(self, role: str, *points: Point) -> None:
        self.add(Path(tuple(points), role, closed=True))

    def box(self, role: str, u: tuple[float, float], v: tuple[float, float]) -> None:
        self.area(role, (u[0], v[0]), (u[1], v[0]), (u[1], v[1]), (u[0], v[1]))

    # --- boxes --------------------------------------------------------------------------------

    def text_box(self, text: Text) -> Box:
        """The room that a text takes, in metres of the drawing."""
        w, h = self.mm(lettering.width(text.text, text.size)), self.mm(lettering.height(text.size))
        back = {"start": 0.0, "middle": 0.5 * w, "end": w}[text.anchor]
        u, v = text.at
        if text.turned:
            return u - 0.5 * h, v - back, u + 0.5 * h, v - back + w
        return u - back, v - 0.5 * h, u - back + w, v + 0.5 * h

    def texts(self) -> list[Text]:
        """Every text of the drawing, those of dimensions and running dimensions too."""
        found: list[Text] = []
        for item in self.items:
            if isinstance(item, Text):
                found.append(item)
            elif isinstance(item, Dimension):
                found.append(dimension_text(item))
            elif isinstance(item, Running):
                found.extend(running_texts(item))
        return found

    def extent(self) -> Box:
        """The box around everything that is drawn."""
        boxes = [self.text_box(t) for t in self.texts()]
        for item in self.items:
            points = [p for s in segments(item, self.blocks) for p in s]
            if points:
                boxes.append(around(points))
        return joined(boxes)


def dimension_text(item: Dimension) -> Text:
    """The text of a dimension, in its place."""
    if item.beside:
        u, v = item.middle
        return Text((u + item.beside, v), item.text, "note", masked=True)
    return Text(item.middle, item.text, "note", anchor="middle", turned=item.axis == "v", masked=True)


def running_texts(item: Running) -> list[Text]:
    """The texts of a running dimension."""
    if item.axis == "u":
        return [Text(m.at, m.text, "note", anchor="start") for m in item.marks]
    anchor = "start" if item.outward > 0 else "end"
    return [Text(m.at, m.text, "note", anchor=anchor) for m in item.marks]


def pointers(item: Running, scene: Scene) -> list[tuple[Point, ...]]:
    """The lines that lead from a running dimension's ticks to their texts, one for each mark."""
    found = []
    for mark in item.marks:
        if item.axis == "u":
            foot = (mark.position, mark.at[1])
            found.append(((mark.position, item.base), foot, (mark.at[0] - scene.mm(0.4), mark.at[1])))
        else:
            out = item.outward
            bend = (item.base + out * scene.mm(2.0), mark.position)
            ends = [(mark.at[0] - out * scene.mm(away), mark.at[1]) for away in (1.6, 0.6)]
            found.append(((item.base, mark.position), bend, *ends))
    return found


def segments(item: Item, blocks: dict[str, tuple[Item, ...]], offset: Point = (0.0, 0.0)) -> list[tuple[Point, Point]]:
    """The straight lines of an item; curves in short chords."""
    du, dv = offset
    if isinstance(item, Path):
        points = [(u + du, v + dv) for u, v in item.points]
        if item.closed:
            points.append(points[0])
        return list(zip(points, points[1:]))
    if isinstance(item, (Arc, Circle)):
        start, sweep = (item.start, item.sweep) if isinstance(item, Arc) else (0.0, 2.0 * math.pi)
        u, v = item.centre
        points = [
            (
                u + du + item.radius * math.cos(start + sweep * k / 16),
                v + dv + item.radius * math.sin(start + sweep * k / 16),
            )
            for k in range(17)
        ]
        if isinstance(item, Arc) and item.filled:
            points = [(u + du, v + dv), *points, (u + du, v + dv)]
        return list(zip(points, points[1:]))
    if isinstance(item, Insert):
        return [s for part in blocks[item.block] for s in segments(part, blocks, item.at)]
    if isinstance(item, Dimension):
        at = 0 if item.axis == "u" else 1
        one, two = (
            ((item.a[at], item.line), (item.b[at], item.line))
            if at == 0
            else ((item.line, item.a[at]), (item.line, item.b[at]))
        )
        return [(one, two), (item.a, one), (item.b, two)]
    if isinstance(item, Running):
        along = [item.origin, item.end]
        return [tuple((a, item.base) if item.axis == "u" else (item.base, a) for a in along)]  # type: ignore[list-item]
    return []


def around(points: Iterable[Point]) -> Box:
    """The least box around some points."""
    us, vs = zip(*points)
    return min(us), min(vs), max(us), max(vs)


def joined(boxes: Iterable[Box]) -> Box:
    """The least box around some boxes."""
    a, b, c, d = zip(*boxes)
    return min(a), min(b), max(c), max(d)


def overlap(one: Box, two: Box) -> bool:
    """Whether two boxes have an area in common."""
    return one[0] < two[2] and two[0] < one[2] and one[1] < two[3] and two[1] < one[3]


def crosses(segment: tuple[Point, Point], box: Box) -> bool:
    """Whether a straight line passes through a box (clipping by Liang and Barsky's parameter)."""
    (u, v), (u1, v1) = segment
    low, high = 0.0, 1.0
    for start, delta, least, most in ((u, u1 - u, box[0], box[2]), (v, v1 - v, box[1], box[3])):
        if delta == 0.0:
            if not least < start < most:
                return False
            continue
        a, b = (least - start) / delta, (most - start) / delta
        low, high = max(low, min(a, b)), min(high, max(a, b))
    return low < high
