"""Where the loudspeakers of published layouts may stand around a listener, and that as straight lines.

Azimuth is counted from straight ahead, elevation from the ears' height; each window is of the left one of
a pair, the right one mirrors it. Seen in plan, a window is a wedge. Its elevation bounds the distance r
from the listener: tan(lowest) <= height / r <= tan(highest). An arc is not straight; a chord inside the
outer arc and a tangent to the inner one are, so what is kept is a trapezoid within the window, which
loses at most 1 - cos(half the window) of its depth: 1 % of a window 15 degrees wide, 9 % of 50 degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True)
class Window:
    """Ranges of azimuth and elevation [rad] of one loudspeaker, on the walls or on the ceiling."""

    name: str
    azimuth: tuple[float, float]
    elevation: tuple[float, float]
    overhead: bool


def _window(name: str, azimuth: tuple[float, float], elevation: tuple[float, float], overhead: bool = False) -> Window:
    first, second = (tuple(map(math.radians, ends)) for ends in (azimuth, elevation))
    return Window(name, first, second, overhead)  # type: ignore[arg-type]


EARS = (0.0, 15.0)
"""Degrees of elevation of loudspeakers at the ears' height: what layout 0+5+0 gives; where others give none."""

_110 = _window("side", (100.0, 120.0), EARS)
_090, _135 = _window("side", (85.0, 110.0), EARS), _window("rear", (120.0, 150.0), EARS)
_FRONT_5 = _window("overhead front", (30.0, 45.0), (30.0, 55.0), overhead=True)
_REAR_5 = _window("overhead rear", (100.0, 135.0), (30.0, 55.0), overhead=True)
_REAR_7 = _window("overhead rear", (100.0, 150.0), (30.0, 55.0), overhead=True)

LAYOUTS = MappingProxyType(
    {
        "5": (_110,),
        "5+2": (_110, _FRONT_5),
        "5+4": (_110, _FRONT_5, _REAR_5),
        "7": (_090, _135),
        "7+4": (_090, _135, _FRONT_5, _REAR_7),
        "9+4": (_090, _135, _FRONT_5, _REAR_7),
    }
)
"""Windows of the loudspeakers that are not in the front wall, by loudspeakers at the ears' height + overhead."""

SOURCE = (
    "ITU-R BS.2051-1, layouts 0+5+0, 2+5+0, 4+5+0, 0+7+0, 4+7+0 and 4+9+0, as data in a renderer's public source; "
    "later editions not read"
)


@dataclass(frozen=True)
class Edge:
    """A side of a window in plan: inside is where normal . (place - listener) >= height * ``rise``, height
    being that of the loudspeaker over the listener's ears."""

    normal: tuple[float, float]
    rise: float


def ahead(azimuth: float) -> tuple[float, float]:
    """Unit vector (x to the right, y to the rear) at an azimuth to the left [rad]."""
    return -math.sin(azimuth), -math.cos(azimuth)


def edges(window: Window, left: bool) -> tuple[Edge, ...]:
    """The sides of a window's trapezoid, for the left or the right one of the pair."""
    (first, last), (low, high) = window.azimuth, window.elevation
    middle, half = 0.5 * (first + last), 0.5 * (last - first)
    out = ahead(middle)
    found = [
        Edge((-math.cos(first), math.sin(first)), 0.0),
        Edge((math.cos(last), -math.sin(last)), 0.0),
        Edge(out, 1.0 / math.tan(high)),
    ]
    if low > 0.0:
        found.append(Edge((-out[0], -out[1]), -math.cos(half) / math.tan(low)))
    return tuple(found if left else (Edge((-e.normal[0], e.normal[1]), e.rise) for e in found))
