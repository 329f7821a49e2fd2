"""Scenes as DXF for CAD: full size in real units, layers by trade, dimensions as dimensions.

Scenes lie side by side in model space, the first with its corner in the origin: of the plan, where front and left
wall meet. Lettering and dashes are sized for the scale of the printed sheet, so that the drawing prints from CAD at
that scale as it does here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from io import StringIO
from itertools import count
from typing import TYPE_CHECKING, Any

from optimiser.errors import UsageError
from optimiser.quantity import show
from optimiser.sheet import lettering
from optimiser.sheet.paper import imperial
from optimiser.sheet.scene import (
    Arc,
    Box,
    Circle,
    Dimension,
    Insert,
    Item,
    Path,
    Point,
    Running,
    Scene,
    Text,
    joined,
    overlap,
)
from optimiser.sheet.style import BLUE, INK, RUST, SOFT, STYLES, Style

if TYPE_CHECKING:
    from ezdxf.document import Drawing

COLOURS = {INK: 7, SOFT: 8, BLUE: 5, RUST: 30}
"""CAD's colour numbers for our inks; 7 is black on white paper and white on a black screen."""

CAP = 0.73
"""Height of a capital in ems: CAD sizes lettering by its capitals."""

STYLE = "LETTERING"
TIER, MOST = 6.0, 12
"""Millimetres on paper between dimension lines of one chain; and how many of them a line may go out of its way at most."""

ASIDE = (0.25, -0.25, 0.5, -0.5, 1.0, -1.0, 2.5, -2.5)
"""Shares of half a text's width by which it may be moved along its line."""

FINE = 6
"""Decimals of what is drawn: a saved design, which is told to ten digits, is drawn like the one that it was saved of."""

WIDE = 1.5
"""How much wider than high the window is that a drawing opens in, about."""

LEAST_HEADING = 80.0
"""Millimetres that the title of a narrow drawing may take at least."""

APART = 60.0
"""Millimetres on paper between scenes that lie side by side."""


def dxf(scenes: Sequence[Scene], system: str, title: str) -> bytes:
    """Scenes as one DXF file (version R2010)."""
    made = StringIO()
    drawing(scenes, system, title).write(made)
    return made.getvalue().encode("utf-8", errors="dxfreplace")


def drawing(scenes: Sequence[Scene], system: str, title: str) -> Drawing:
    """The DXF document of scenes that share a scale."""
    return _Writer(scenes[0].denominator, system).write(scenes, title)


class _Writer:
    def __init__(self, denominator: float, system: str) -> None:
        try:
            import ezdxf
        except ModuleNotFoundError as error:
            raise UsageError("DXF needs the extra 'cad': pip install 'screening-room-optimiser[cad]'") from error
        ezdxf.options.write_fixed_meta_data_for_testing = True  # the same drawing is the same file
        self.system, self.imperial = system, imperial(system)
        self.unit = 1.0 / 0.0254 if self.imperial else 1000.0
        self.step = 120.0 if self.imperial else 1000.0  # 10 ft, 1 m
        self.mm = denominator / 1000.0 * self.unit  # drawing units that a millimetre of paper takes
        self.doc = ezdxf.new("R2010", setup=False, units=1 if self.imperial else 4)
        self.doc.header["$MEASUREMENT"] = 0 if self.imperial else 1
        self.doc.header["$LUNITS"] = 4 if self.imperial and system == "ft-in" else 2
        self.doc.header["$LUPREC"] = 4 if self.imperial else 1
        self.doc.header["$LTSCALE"] = 1.0
        self.doc.styles.add(STYLE, font="DejaVuSansMono.ttf")
        self._dashes: dict[tuple[float, ...], str] = {}
        self._layers()
        self._dimension_style()
        self.space: Any = self.doc.modelspace()
        self.offset: Point = (0.0, 0.0)
        self.origin: Point = (0.0, 0.0)
        self.taken: list[Box] = []  # by texts of the scene in hand, in its metres

    # --- tables -------------------------------------------------------------------------------

    def _layers(self) -> None:
        for style in STYLES.values():
            if style.layer not in self.doc.layers:
                layer = self.doc.layers.add(style.layer, color=COLOURS[style.stroke or INK])
                layer.dxf.lineweight = _lineweight(style.weight or 0.18)

    def _dash(self, dash: tuple[float, ...]) -> str:
        if not dash:
            return "Continuous"
        if dash not in self._dashes:
            name = next(n for n in _dash_names(dash) if n not in self._dashes.values())
            lengths = [d * self.mm * (1 if k % 2 == 0 else -1) for k, d in enumerate(dash)]
            self.doc.linetypes.add(name, pattern=[sum(map(abs, lengths)), *lengths])
            self._dashes[dash] = name
        return self._dashes[dash]

    def _dimension_style(self) -> None:
        size = lettering.LEAST * lettering.POINT * CAP * self.mm
        # no dimrnd: lengths are told to dimdec, and the library takes a rounding to 0 for one to whole numbers
        sizes = {
            "dimtxt": size,
            "dimasz": 1.6 * self.mm,
            "dimexo": 0.8 * self.mm,
            "dimexe": self.mm,
            "dimgap": 0.7 * self.mm,
        }
        style = self.doc.dimstyles.add("SHEET")
        for name, value in sizes.items():
            style.set_dxf_attrib(name, value)
            # a reader that ignores dimension styles takes these
            self.doc.header[f"${name.upper()}"] = value
        style.set_dxf_attrib("dimtsz", 1.0 * self.mm)
        style.set_dxf_attrib("dimlfac", 1.0)
        style.set_dxf_attrib("dimscale", 1.0)
        style.set_dxf_attrib("dimtad", 0)
        style.set_dxf_attrib("dimtfill", 1)  # so that no line runs through a text
        style.set_dxf_attrib("dimdsep", ord("."))
        style.set_dxf_attrib("dimtih", 0)
        style.set_dxf_attrib("dimtoh", 0)
        style.set_dxf_attrib("dimtxsty", STYLE)
        style.set_dxf_attrib("dimlunit", self.doc.header["$LUNITS"])
        style.set_dxf_attrib("dimdec", self.doc.header["$LUPREC"])
        style.set_dxf_attrib("dimclrd", 8)
        style.set_dxf_attrib("dimclre", 8)
        style.set_dxf_attrib("dimclrt", 7)

    # --- scenes -------------------------------------------------------------------------------

    def write(self, scenes: Sequence[Scene], title: str) -> Drawing:
        right: float | None = None
        shown: list[Box] = []
        for scene in scenes:
            low_u, low_v, high_u, high_v = scene.extent()
            # the plan's corner is the drawing's origin; others stand off it by whole steps
            at = 0.0 if right is None else self.step * math.ceil((right - low_u * self.unit) / self.step)
            self.origin = (at, 0.0)
            self._blocks(scene)
            self.taken = [scene.text_box(item) for item in scene.items if isinstance(item, Text)]
            for item in scene.items:
                self._item(item, scene)
            wide = max(LEAST_HEADING, scene.paper(high_u - low_u))
            words = lettering.shortened(f"{scene.title}: {_plain(title)}", wide, 10.0)
            heading = Text((0.0, high_v + scene.mm(9.0)), words, size=10.0)
            self._text(heading)
            # whoever reads the file may have wider letters
            right = at + max(high_u, scene.text_box(heading)[2]) * self.unit + APART * self.mm
            boxes = [scene.extent(), scene.text_box(heading), *self.taken]
            shown += [(*self.at((box[0], box[1])), *self.at((box[2], box[3]))) for box in boxes]
        left, foot, end, top = joined(shown)
        air = 5.0 * self.mm
        self._open_on((left - air, foot - air), (end + air, top + air))
        self._settle()
        return self.doc

    def _open_on(self, low: Point, high: Point) -> None:
        """Have programs show all that lies between two corners when they open the file."""
        width, height = high[0] - low[0], high[1] - low[1]
        self.doc.set_modelspace_vport(max(height, width / WIDE), (0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1])))
        self.space.reset_extents((*low, 0.0), (*high, 0.0))

    def _settle(self) -> None:
        """Put the classes, which the library keeps in no order, into one."""
        self.doc.classes.add_required_classes(self.doc.dxfversion)
        self.doc.classes.classes = dict(sorted(self.doc.classes.classes.items()))

    def at(self, point: Point) -> Point:
        u, v = (self.origin[k] + (point[k] + self.offset[k]) * self.unit for k in (0, 1))
        return round(u, FINE), round(v, FINE)

    def _look(self, style: Style) -> dict[str, Any]:
        return {
            "layer": style.layer,
            "linetype": self._dash(style.dash),
            "lineweight": _lineweight(style.weight),
            "color": COLOURS[style.stroke or INK],
        }

    def _blocks(self, scene: Scene) -> None:
        for name, items in scene.blocks.items():
            if name in self.doc.blocks:
                continue
            space, origin = self.space, self.origin
            self.space, self.origin = self.doc.blocks.new(name), (0.0, 0.0)
            for item in items:
                self._item(item, scene)
            self.space, self.origin = space, origin

    def _item(self, item: Item, scene: Scene) -> None:
        if isinstance(item, Path):
            self._path(item)
        elif isinstance(item, Arc):
            self._arc(item)
        elif isinstance(item, Circle):
            look = self._look(STYLES[item.role])
            self.space.add_circle(self.at(item.centre), round(item.radius * self.unit, FINE), dxfattribs=look)
        elif isinstance(item, Text):
            self._text(item)
        elif isinstance(item, Insert):
            layer = STYLES[getattr(scene.blocks[item.block][0], "role", "chair")].layer
            self.space.add_blockref(item.block, self.at(item.at), dxfattribs={"layer": layer})
        elif isinstance(item, Dimension):
            text = "<>" if item.axis == "v" else f"<> {item.name}"
            self._dimension(scene, item.axis, item.a, item.b, item.line, text, item.middle)
        elif isinstance(item, Running):
            self._running(item, scene)

    def _path(self, item: Path) -> None:
        style = STYLES[item.role]
        points = [self.at(p) for p in item.points]
        self.space.add_lwpolyline(points, close=item.closed, dxfattribs=self._look(style))
        if item.closed and style.fill == style.stroke:
            hatch = self.space.add_hatch(color=8, dxfattribs={"layer": style.layer})
            hatch.paths.add_polyline_path(points, is_closed=True)

    def _arc(self, item: Arc) -> None:
        look = self._look(STYLES[item.role])
        first, last = (round(math.degrees(angle), FINE) for angle in (item.start, item.start + item.sweep))
        self.space.add_arc(self.at(item.centre), round(item.radius * self.unit, FINE), first, last, dxfattribs=look)
        if item.filled:
            for angle in (item.start, item.start + item.sweep):
                self.space.add_line(self.at(item.centre), self.at(item.end(angle)), dxfattribs=look)

    def _text(self, item: Text) -> None:
        from ezdxf.enums import TextEntityAlignment as Align

        align = {"start": Align.MIDDLE_LEFT, "middle": Align.MIDDLE_CENTER, "end": Align.MIDDLE_RIGHT}[item.anchor]
        style = STYLES[item.role]
        look = {"layer": style.layer, "color": COLOURS[style.stroke or INK], "style": STYLE}
        height = item.size * lettering.POINT * CAP * self.mm
        text = self.space.add_text(
            _plain(item.text), height=height, rotation=90.0 if item.turned else 0.0, dxfattribs=look
        )
        text.set_placement(self.at(item.at), align=align)

    def _dimension(
        self, scene: Scene, axis: str, a: Point, b: Point, line: float, text: str, middle: Point | None = None
    ) -> None:
        """A dimension between two points; ``text`` has <> for what is measured, and stands about ``middle``, or where the
        line is free of other texts. What a program shows that does not measure again is told in feet and inches as on the
        sheet."""
        at = 0 if axis == "u" else 1
        value = abs(b[at] - a[at])
        if self.imperial:
            shown = text.replace("<>", show("length", value, self.system))
            read = shown
        else:
            shown, read = text, text.replace("<>", f"{value * self.unit:.1f}")
        place = self._free(scene, _along(scene, axis, a, b, line, read, middle), axis, read) or middle
        if place is not None:
            self.taken.append(_text_box(scene, axis, place, read))
        dimension = self.space.add_linear_dim(
            base=self.at((a[0], line) if axis == "u" else (line, a[1])),
            p1=self.at(a),
            p2=self.at(b),
            location=None if place is None else self.at(place),
            angle=0.0 if axis == "u" else 90.0,
            text=_plain(shown),
            dimstyle="SHEET",
            dxfattribs={"layer": STYLES["dimension"].layer},
        )
        dimension.render()
        dimension.dimension.dxf.text = _plain(text)

    def _free(self, scene: Scene, places: Iterable[Point], axis: str, text: str) -> Point | None:
        """The first of several places for the middle of a text at which no other text is in its way."""
        for place in places:
            box = _text_box(scene, axis, place, text)
            if not any(overlap(box, other) for other in self.taken):
                return place
        return None

    def _running(self, item: Running, scene: Scene) -> None:
        """Each mark a dimension from the origin, all of them one above the other, where their texts are free of others;
        the farthest first, so that the texts of the nearer ones hide the lines that run behind them."""
        tier, lines, last = scene.mm(TIER), [], 0
        for mark in item.marks:
            start = (item.origin, item.base) if item.axis == "u" else (item.base, item.origin)
            words = f"{mark.text} {mark.name}"
            for line_at in range(last + 1, last + MOST):
                line, last = item.base + item.outward * line_at * tier, line_at
                ways = _along(scene, item.axis, start, mark.feature, line, words, None)
                if self._free(scene, ways, item.axis, words) is not None:
                    break
            lines.append((start, mark, line))
        for start, mark, line in reversed(lines):
            self._dimension(scene, item.axis, start, mark.feature, line, f"<> {mark.name}")


def _text_box(scene: Scene, axis: str, middle: Point, text: str) -> Box:
    """The room that a dimension's text takes about its middle, in metres of the scene."""
    return scene.text_box(Text(middle, text, anchor="middle", turned=axis == "v"))


def _along(
    scene: Scene, axis: str, a: Point, b: Point, line: float, text: str, middle: Point | None
) -> Iterator[Point]:
    """Places for the middle of a dimension's text on its line, the best first: where the sheet has it, or the middle of
    what is measured; of short ones before that, where no other dimension's lines come, else within it or beyond. Of one
    that is no part of a chain at last a little aside, or beside its line."""
    at = 0 if axis == "u" else 1
    half = 0.5 * scene.mm(lettering.width(text, lettering.LEAST) + 2.0)
    low, high = sorted((a[at], b[at]))
    on_line = [] if high - low < 2.0 * half else [0.5 * (low + high)]
    if middle is not None:
        yield middle
    ways = [(along, line) for along in (*on_line, low - half, low + half, high + half, high + 2.0 * half)]
    if middle is not None:
        ways += [(middle[at] + share * half, line) for share in ASIDE]
        ways += [(middle[at], line + way * scene.mm(lettering.height(lettering.LEAST))) for way in (1, -1, 2, -2)]
    for along, across in ways:
        yield (along, across) if axis == "u" else (across, along)


def _dash_names(dash: tuple[float, ...]) -> Iterator[str]:
    """Names of line types that every CAD program knows, of the kind that a dash is."""
    kind = "DASHDOT" if len(dash) > 2 else ("DASHED" if dash[0] > 1.0 else "DOT")
    yield from (kind, kind + "2", kind + "X2")
    yield from (f"{kind}{k}" for k in count(3))


def _plain(text: str) -> str:
    """Text without the codes that CAD reads out of it: %%, backslashes, braces, and ends of lines."""
    for code, meant in (("%%", "% %"), ("\\", "/"), ("{", "("), ("}", ")"), ("^", "ˆ")):
        text = text.replace(code, meant)
    return "".join(c if c.isprintable() else " " for c in text)


def _lineweight(millimetres: float) -> int:
    """The nearest of CAD's line weights, in hundredths of a millimetre."""
    known = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100)
    return min(known, key=lambda w: abs(w - 100 * millimetres))
