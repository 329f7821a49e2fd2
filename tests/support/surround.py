"""The checker's formulas for surround windows; a part of checker.Judge. Windows are drawn as polygons from
their corners and laid over one another; slow, so random problems have no surround loudspeakers."""

from __future__ import annotations

import math

import numpy as np
from shapely.geometry import LineString, Polygon, box

# (azimuth from, to, elevation from, to in degrees; overhead), as ITU-R BS.2051-1's data has them
SIDE_5, SIDE_7, REAR_7 = (100, 120, 0, 15, False), (85, 110, 0, 15, False), (120, 150, 0, 15, False)
FRONT, BACK_5, BACK_7 = (30, 45, 30, 55, True), (100, 135, 30, 55, True), (100, 150, 30, 55, True)
OF_LAYOUT = {
    "5": (SIDE_5,),
    "5+2": (SIDE_5, FRONT),
    "5+4": (SIDE_5, FRONT, BACK_5),
    "7": (SIDE_7, REAR_7),
    "7+4": (SIDE_7, REAR_7, FRONT, BACK_7),
    "9+4": (SIDE_7, REAR_7, FRONT, BACK_7),
}
FAR = 50.0


def window(seat, azimuths, nearest: float, farthest: float, sign: int) -> Polygon:
    """A window in plan, between a tangent of the nearer circle and a chord of the farther one."""
    first, last = (math.radians(a) for a in azimuths)
    inner = nearest / math.cos((last - first) / 2)
    corners = [(first, inner), (first, farthest), (last, farthest), (last, inner)]
    return Polygon([(seat[0] - sign * r * math.sin(a), seat[1] - r * math.cos(a)) for a, r in corners])


def longest(area) -> float | None:
    """The longest stretch along y within an area: it passes through some corner, or just beside one. None where nothing is
    left."""
    if area.is_empty:
        return None
    parts = getattr(area, "geoms", [area])
    xs = {x for part in parts for x, _ in getattr(part, "exterior", part).coords}
    found = [0.0]
    for x in (x + aside for x in xs for aside in (-1e-9, 0.0, 1e-9)):
        cut = area.intersection(LineString([(x, -FAR), (x, FAR)]))
        found += [one.length for one in getattr(cut, "geoms", [cut])]
    return max(found)


class OfSurround:
    """Needs problem, count and row of the judge."""

    def surround_reach(self, d, seats="every"):
        return self._per_design(
            d, lambda one: np.mean([length is not None for length in self.stretch_lengths(one, seats)])
        )

    def surround_stretch(self, d, seats="every"):
        """NaN where a loudspeaker has no stretch at all."""
        return self._per_design(
            d, lambda one: min(math.nan if s is None else s for s in self.stretch_lengths(one, seats))
        )

    @staticmethod
    def _per_design(d, function):
        count = np.size(d["row1.y"])
        every = {name: np.broadcast_to(value, (count,)) for name, value in d.items()}
        found = [function({name: float(value[k]) for name, value in every.items()}) for k in range(count)]
        return np.array(found) if np.ndim(d["row1.y"]) else found[0]

    def stretch_lengths(self, d, seats: str) -> list[float | None]:
        """Of each loudspeaker the length of its longest stretch; None where it has no place."""
        found = []
        for *window_, overhead in OF_LAYOUT[self.problem.surround.layout]:
            for sign in (1, -1):
                common = self._common(d, seats, window_, overhead, sign)
                if overhead:
                    found.append(longest(self._ceiling(d, sign).intersection(common)))
                    continue
                lengths = [line.intersection(common) for line in self._lines(d, sign)]
                found.append(max((one.length for one in lengths if not one.is_empty), default=None))
        return found

    def _ceiling(self, d, sign):
        """What of a level ceiling's half is free for the middle of a loudspeaker."""
        room, half = self.problem.room, self.problem.surround.width / 2
        ends = (half, room.width / 2) if sign > 0 else (room.width / 2, room.width - half)
        free = box(ends[0], max(half, d["baffle.depth"] + half), ends[1], room.length - half)
        for o in room.obstructions:
            if o.z[1] > room.height - 0.5:
                free = free.difference(box(o.x[0] - half, o.y[0] - half, o.x[1] + half, o.y[1] + half))
        return free

    def _listeners(self, d, seats: str):
        for n in (self.reference,) if seats == "reference" else range(1, self.count + 1):
            row = self.row(d, n)
            middle = float(row.first + row.last) / 2
            xs = (
                [float(row.first) + j * row.pitch for j in range(round(float(row.seats)))]
                if seats == "every"
                else [middle]
            )
            yield from ((x, float(row.y), float(row.eye)) for x in xs)

    def _common(self, d, seats, window_, overhead, sign):
        """Where the loudspeaker is in every listener's window."""
        first, last, low, high = window_
        room, listeners = self.problem.room, list(self._listeners(d, seats))
        highest = max(eye for _, _, eye in self._listeners(d, "middle"))
        common = box(-1, -1, room.width + 1, room.length + 1)
        for x, y, eye in listeners:
            up = (room.height if overhead else highest) - eye
            nearest = up / math.tan(math.radians(high))
            farthest = up / math.tan(math.radians(low)) if low else FAR
            common = common.intersection(window((x, y), (first, last), nearest, farthest, sign))
        return common

    def _lines(self, d, sign) -> list[LineString]:
        """Free parts of walls, for the middle of a loudspeaker."""
        room, half = self.problem.room, self.problem.surround.width / 2
        floor = box(0, d["baffle.depth"] + half, room.width, room.length)
        side = 0.0 if sign > 0 else room.width
        wall = LineString([(side, half), (side, room.length - half)]).intersection(floor)
        lines = [wall, LineString([(half, room.length), (room.width - half, room.length)])]
        for door in room.doors:
            lines = [line.difference(self._door(door, half)) for line in lines]
        return [part for line in lines for part in getattr(line, "geoms", [line])]

    def _door(self, door, half):
        on = door.leaf if door.towards in ("rear", "right") else -door.leaf
        low, high = sorted((door.hinge, door.hinge + on))
        room, thin = self.problem.room, 1e-3
        x0, y0, x1, y1 = {
            "left": (-thin, low - half, thin, high + half),
            "right": (room.width - thin, low - half, room.width + thin, high + half),
            "front": (low - half, -thin, high + half, thin),
            "rear": (low - half, room.length - thin, high + half, room.length + thin),
        }[door.wall]
        return box(x0, y0, x1, y1)
