"""How each kind of line is drawn: weight, dash and colour, and the layer of its trade in CAD.

No meaning rests on colour: kinds that could be taken for one another differ in dash or weight, and
carry a label. Contrast of every ink against paper is at least 4.5 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass

PAPER = "#ffffff"
INK = "#1d1d1f"
SOFT = "#5c5c61"
BLUE = "#0b5394"
RUST = "#a33b00"


@dataclass(frozen=True)
class Style:
    """Line weight [mm], dash [mm on, off, ...], colours (None: not drawn), and the CAD layer."""

    layer: str
    weight: float = 0.18
    stroke: str | None = INK
    fill: str | None = None
    dash: tuple[float, ...] = ()


STYLES: dict[str, Style] = {
    "wall": Style("ROOM-WALLS", 0.18, INK, INK),
    "face": Style("ROOM-WALLS", 0.35, INK),
    "ceiling behind": Style("ROOM-WALLS", 0.25, INK, None, (3.0, 0.8)),
    "door": Style("ROOM-DOORS", 0.35, INK),
    "swing": Style("ROOM-DOORS", 0.18, SOFT, "#f3f1ec", (1.6, 0.9)),
    "window": Style("ROOM-WINDOWS", 0.18, INK),
    "obstruction": Style("ROOM-OBSTRUCTIONS", 0.25, INK, "#e4e4e6"),
    "overhead": Style("ROOM-OBSTRUCTIONS", 0.25, INK, None, (2.6, 0.9, 0.5, 0.9)),
    "baffle": Style("JOINERY-BAFFLE", 0.35, INK, "#ece7dc"),
    "frame": Style("SCREEN-FRAME", 0.25, INK, "#8d8d92"),
    "image": Style("SCREEN-IMAGE", 0.7, BLUE),
    "tiles": Style("SCREEN-TILES", 0.18, SOFT),
    "picture": Style("SCREEN-IMAGE", 0.35, BLUE, "#eaf1f8"),
    "platform": Style("CARPENTRY-PLATFORMS", 0.35, INK, "#f6efe3"),
    "platform line": Style("CARPENTRY-PLATFORMS", 0.35, INK),
    "step": Style("CARPENTRY-STEPS", 0.25, INK),
    "chair": Style("SEATING-CHAIRS", 0.2, INK, "#ffffff"),
    "recline": Style("SEATING-CHAIRS", 0.13, SOFT, None, (0.7, 0.7)),
    "counter": Style("JOINERY-BAR", 0.25, INK, "#ece7dc"),
    "clear floor": Style("SEATING-WHEELCHAIR", 0.25, INK, None, (1.8, 0.7)),
    "guard": Style("CARPENTRY-GUARDS", 0.5, INK),
    "head": Style("SEATING-CHAIRS", 0.2, INK, "#ffffff"),
    "sight": Style("STUDY-SIGHT-LINES", 0.18, BLUE),
    "sight top": Style("STUDY-SIGHT-LINES", 0.13, BLUE, None, (2.2, 1.1)),
    "fan": Style("STUDY-SIGHT-LINES", 0.13, BLUE, None, (2.2, 1.1)),
    "clearance": Style("STUDY-SIGHT-LINES", 0.35, RUST),
    "midpoint": Style("STUDY-ACOUSTICS", 0.25, RUST, None, (4.0, 1.0, 0.5, 1.0)),
    "bound": Style("STUDY-SIGHT-LINES", 0.5, RUST, None, (4.0, 1.0, 0.5, 1.0, 0.5, 1.0)),
    "curve": Style("STUDY-ACOUSTICS", 0.45, INK),
    "curve 2": Style("STUDY-ACOUSTICS", 0.35, BLUE, None, (2.4, 1.0)),
    "curve 3": Style("STUDY-ACOUSTICS", 0.35, RUST, None, (0.6, 0.8)),
    "loudspeaker": Style("SOUND-LOUDSPEAKERS", 0.25, INK, "#ffffff"),
    "surround": Style("SOUND-SURROUND", 1.0, BLUE),
    "surround overhead": Style("SOUND-SURROUND", 0.7, BLUE, None, (2.4, 1.2)),
    "bass": Style("SOUND-BASS", 0.25, INK, "#e4e4e6"),
    "bass hidden": Style("SOUND-BASS", 0.25, INK, None, (2.6, 0.9, 0.5, 0.9)),
    "projector": Style("SCREEN-PROJECTOR", 0.25, INK, "#ffffff"),
    "beam": Style("SCREEN-PROJECTOR", 0.13, SOFT, None, (0.5, 0.9)),
    "dimension": Style("NOTES-DIMENSIONS", 0.13, SOFT),
    "leader": Style("NOTES-TEXT", 0.13, SOFT),
    "note": Style("NOTES-TEXT", 0.0, INK),
    "quiet": Style("NOTES-TEXT", 0.0, SOFT),
    "other": Style("STUDY-OTHER-DESIGNS", 0.35, RUST, None, (1.2, 0.8)),
    "other image": Style("STUDY-OTHER-DESIGNS", 0.7, RUST, None, (1.6, 0.8)),
    "other seat": Style("STUDY-OTHER-DESIGNS", 0.15, INK),
    "band": Style("NOTES-CHARTS", 0.13, SOFT, "#dfe8f1"),
    "fade": Style("NOTES-CHARTS", 0.13, SOFT, "#f3f6fa"),
    "value": Style("NOTES-CHARTS", 0.25, INK, INK),
    "miss": Style("NOTES-CHARTS", 0.4, INK, "#ffffff"),
    "share": Style("NOTES-CHARTS", 0.18, INK, "#c9c3b4"),
    "axis line": Style("SOUND-LOUDSPEAKERS", 0.2, INK, None, (3.0, 0.8, 0.4, 0.8)),
    "axis": Style("NOTES-CHARTS", 0.18, SOFT),
    "bar": Style("NOTES-SCALE", 0.18, INK, INK),
    "bar empty": Style("NOTES-SCALE", 0.18, INK, "#ffffff"),
}


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours written #rrggbb (W3C's definition, WCAG 2)."""
    lighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
