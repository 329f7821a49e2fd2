"""Scenes as SVG, to scale: one millimetre of the file is one millimetre of paper."""

from __future__ import annotations

import math
from collections.abc import Iterable
from html import escape

from optimiser.sheet import lettering
from optimiser.sheet.scene import (
    Arc,
    Circle,
    Dimension,
    Insert,
    Item,
    Path,
    Point,
    Running,
    Scene,
    Text,
    dimension_text,
    pointers,
    running_texts,
)
from optimiser.sheet.style import PAPER, STYLES, Style


def number(value: float) -> str:
    """A coordinate in mm, so fine that at 1 to 200 it tells a tenth of a millimetre of the room to whoever reads it back."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


class Drawing:
    """A scene placed on paper: the scene's (0, 0) lies at ``origin`` [mm from the top left corner]."""

    def __init__(self, scene: Scene, origin: Point) -> None:
        self.scene = scene
        self.origin = origin

    def at(self, point: Point) -> Point:
        return self.origin[0] + self.scene.paper(point[0]), self.origin[1] - self.scene.paper(point[1])

    def elements(self) -> list[str]:
        """The SVG elements of the scene, in its order, masked texts last."""
        below: list[str] = []
        above: list[str] = []
        for item in self.scene.items:
            late = isinstance(item, Dimension) or (isinstance(item, Text) and item.masked)
            (above if late else below).extend(self.draw(item))
        return below + above

    def draw(self, item: Item, offset: Point = (0.0, 0.0)) -> list[str]:
        if isinstance(item, Path):
            return [self._path(item, offset)]
        if isinstance(item, Arc):
            return [self._arc(item, offset)]
        if isinstance(item, Circle):
            x, y = self.at(_sum(item.centre, offset))
            r = number(self.scene.paper(item.radius))
            return [f'<circle cx="{number(x)}" cy="{number(y)}" r="{r}"{attributes(STYLES[item.role])}/>']
        if isinstance(item, Text):
            return self._text(item)
        if isinstance(item, Insert):
            return [e for part in self.scene.blocks[item.block] for e in self.draw(part, item.at)]
        if isinstance(item, Dimension):
            return self._dimension(item)
        return self._running(item)

    def _points(self, points: Iterable[Point]) -> str:
        return " ".join(f"{number(x)},{number(y)}" for x, y in map(self.at, points))

    def _path(self, item: Path, offset: Point) -> str:
        points = self._points(_sum(p, offset) for p in item.points)
        style = STYLES[item.role]
        if item.closed:
            return f'<polygon points="{points}"{attributes(style)}/>'
        return f'<polyline points="{points}"{attributes(style, filled=False)}/>'

    def _arc(self, item: Arc, offset: Point) -> str:
        r = number(self.scene.paper(item.radius))
        first, last = (self.at(_sum(item.end(a), offset)) for a in (item.start, item.start + item.sweep))
        large = int(item.sweep > math.pi)
        path = f"M{number(first[0])},{number(first[1])} A{r},{r} 0 {large} 0 {number(last[0])},{number(last[1])}"
        if item.filled:
            x, y = self.at(_sum(item.centre, offset))
            path += f" L{number(x)},{number(y)} Z"
        return f'<path d="{path}"{attributes(STYLES[item.role], filled=item.filled)}/>'

    def _text(self, item: Text) -> list[str]:
        found = []
        if item.masked:
            a, b, c, d = self.scene.text_box(item)
            (x, y), (x1, y1) = self.at((a, d)), self.at((c, b))
            found.append(
                f'<rect x="{number(x)}" y="{number(y)}" width="{number(x1 - x)}" height="{number(y1 - y)}" '
                f'fill="{PAPER}" fill-opacity="0.82"/>'
            )
        x, y = self.at(item.at)
        found.append(letters(item, x, y))
        return found

    def _line(self, role: str, *points: Point) -> str:
        return self._path(Path(tuple(points), role), (0.0, 0.0))

    def _dimension(self, item: Dimension) -> list[str]:
        scene = self.scene
        tick, gap, over = scene.mm(0.9), scene.mm(0.8), scene.mm(1.0)
        found = []
        ends = []
        for point in (item.a, item.b):
            u, v = point
            end = (u, item.line) if item.axis == "u" else (item.line, v)
            ends.append(end)
            along = item.line - (v if item.axis == "u" else u)
            if abs(along) > gap:
                sign = math.copysign(1.0, along)
                start = (u, v + sign * gap) if item.axis == "u" else (u + sign * gap, v)
                stop = (u, item.line + sign * over) if item.axis == "u" else (item.line + sign * over, v)
                found.append(self._line("dimension", start, stop))
        found.append(self._line("dimension", *ends))
        for u, v in ends:
            found.append(self._line("face", (u - tick, v - tick), (u + tick, v + tick)))
        text = dimension_text(item)
        if item.shift:
            # the line goes on to the text that stands beyond its end
            found.append(self._line("dimension", ends[1], text.at))
        return found + self._text(text)

    def _running(self, item: Running) -> list[str]:
        scene = self.scene
        tick = scene.mm(1.0)

        def at(along: float, off: float) -> Point:
            return (along, off) if item.axis == "u" else (off, along)

        found = [self._line("dimension", at(item.origin, item.base), at(item.end, item.base))]
        zero = at(item.origin, item.base)
        x, y = self.at(zero)
        found.append(f'<circle cx="{number(x)}" cy="{number(y)}" r="0.7"{attributes(STYLES["bar"])}/>')
        for mark, text, pointer in zip(item.marks, running_texts(item), pointers(item, scene)):
            found.append(self._line("face", at(mark.position, item.base - tick), at(mark.position, item.base + tick)))
            found.append(self._line("dimension", *pointer))
            found += self._text(text)
        return found


def _sum(one: Point, two: Point) -> Point:
    return one[0] + two[0], one[1] + two[1]


def attributes(style: Style, *, filled: bool = True) -> str:
    """Presentation attributes of a style (no style sheet, which would leak into a page around)."""
    fill = style.fill if filled and style.fill else "none"
    text = f' fill="{fill}"'
    if style.stroke and style.weight:
        text += f' stroke="{style.stroke}" stroke-width="{number(style.weight)}" stroke-linejoin="round"'
        if style.dash:
            text += ' stroke-dasharray="' + " ".join(number(d) for d in style.dash) + '"'
    return text


def letters(item: Text, x: float, y: float) -> str:
    """A line of text whose middle height is at (x, y) mm; the markup in it is only text."""
    size = item.size * lettering.POINT
    drop = 0.35 * size
    place = f'x="{number(x)}" y="{number(y + drop)}"'
    if item.turned:
        place = f'transform="translate({number(x + drop)},{number(y)}) rotate(-90)"'
    anchor = "" if item.anchor == "start" else f' text-anchor="{item.anchor}"'
    weight = ' font-weight="bold"' if item.bold else ""
    colour = STYLES[item.role].stroke
    look = f'font-size="{number(size)}" fill="{colour}"{anchor}{weight} xml:space="preserve"'
    return f"<text {place} {look}>{clean(item.text)}</text>"


def clean(text: str) -> str:
    """Text for XML: markup escaped, and control characters, which XML forbids, shown as a box."""
    kept = "".join(
        c if c in "\t\n" or (ord(c) >= 0x20 and not 0x7F <= ord(c) < 0xA0 and ord(c) not in (0xFFFE, 0xFFFF)) else "▯"
        for c in text
    )
    return escape(kept, quote=True)


def document(
    width: float, height: float, title: str, description: str, elements: Iterable[str], *, name: str = "drawing"
) -> str:
    """A whole SVG file, ``width`` by ``height`` mm."""
    w, h = number(width), number(height)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}" role="img" '
        f'aria-labelledby="{name}-title {name}-desc" font-family="{lettering.STACK}" stroke-linecap="butt">\n'
        f'<title id="{name}-title">{clean(title)}</title>\n<desc id="{name}-desc">{clean(description)}</desc>\n'
        f'<rect width="{w}" height="{h}" fill="{PAPER}"/>\n' + "\n".join(elements) + "\n</svg>\n"
    )
