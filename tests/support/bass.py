"""The checker's formulas for bass; a part of checker.Judge. Each seat of each design by itself, from the
plain response: slow, so random problems have no bass loudspeakers."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from optimiser.physics.arrangements import ARRANGEMENTS
from tests.support.modal_sum import response

APART = 240, 240, 24
"""Points of the program's table to a wavelength of the band's upper end: across, along, up."""

LINES = 8


class OfBass:
    """Needs problem, row, seat_places and centre of the judge."""

    def seat_to_seat_spread(self, d):
        bands = [self._seat_bands(d, n) for n in range(1, self.count + 1)]
        out = []
        for design in zip(*bands):
            levels = np.concatenate(design)
            out.append(np.mean(levels.max(axis=0) - levels.min(axis=0)))
        return self._shaped(d, out)

    def deepest_dip(self, d, r):
        return self._shaped(d, [np.max(v.mean(axis=1) - v.min(axis=1)) for v in self._seat_bands(d, r.number)])

    @staticmethod
    def _shaped(d, out):
        return np.array(out) if np.ndim(d["row1.y"]) else out[0]

    def _seat_bands(self, d, n: int) -> list[np.ndarray]:
        """For each design: levels of seats by bands [dB], at the table's point nearest to the row."""
        bass, room, chair = self.problem.bass, self.problem.room, self.problem.seating.chair
        count = np.size(d["row1.y"])
        y, floor, seats, middle = (
            np.broadcast_to(v, (count,))
            for v in (*(d[f"row{n}.{k}"] for k in ("y", "platform", "seats")), self.middle_of_seats(self.row(d, n)))
        )
        front = self.problem.baffle.depth.value if self.problem.baffle.solid else 0.0
        sources = self._sources(d, front)
        time = bass.reverberation_time or room.reverberation_time or self._with_fewest_panels()
        across, along, up = (room.speed_of_sound / bass.band[1] / points for points in APART)
        found = []
        for k in range(count):
            there = front + along * math.floor((y[k] - front) / along + 0.5)
            high = chair.eye_height + up * math.floor(floor[k] / up + 0.5)
            xs = middle[k] + (np.arange(round(seats[k])) - (seats[k] - 1) / 2) * chair.width
            places = tuple((float(there - front), float(x), float(high)) for x in xs)
            found.append(plain_levels(bass.band, room, room.length - front, sources, time, places))
        return found

    def _sources(self, d, front):
        """Loudspeakers from where the acoustic length begins; what stands before that plays from there."""
        bass, room = self.problem.bass, self.problem.room
        kind = int(d["bass.arrangement"] if "bass.arrangement" in d else bass.arrangement.value)
        if kind == len(ARRANGEMENTS):  # the last name of all
            return tuple((max(y - front, 0.0), x, z) for x, y, z in bass.positions)
        plan = list(ARRANGEMENTS.values())[kind]
        return tuple((y * (room.length - front), x * room.width, bass.height) for y, x in plan)

    def _with_fewest_panels(self):
        treatment = self.problem.room.treatment
        panels = 0.0
        if treatment is not None:
            given = treatment.panels
            panels = min(
                getattr(given, "values", None) or [getattr(given, "low", None) or getattr(given, "value", 0.0)]
            )
        return self.decay_time({"treatment.panels": panels}, 125)


@lru_cache(maxsize=4096)
def plain_levels(band, room, length: float, sources, time: float, places) -> np.ndarray:
    """Levels of each third octave at places (along the box, across, up) [m], by the plain sum, (places, bands) [dB]."""
    low, high = band
    lines = 3 * round(math.log2(high / low)) * LINES
    frequencies = low * (high / low) ** ((np.arange(lines) + 0.5) / lines)
    pressure = response(
        length=length,
        width=room.width,
        height=room.height,
        sources=sources,
        receivers=np.array(places),
        frequencies=frequencies,
        reverberation_time=time,
        speed_of_sound=room.speed_of_sound,
        tolerance=1e-5,
    )
    power = (np.abs(pressure) ** 2).reshape(len(places), -1, LINES).mean(axis=2)
    return 10 * np.log10(power)
