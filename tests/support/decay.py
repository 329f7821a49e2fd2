"""The checker's formulas for reverberation; a part of checker.Judge."""

from __future__ import annotations

import math

import numpy as np

from tests.support.shape import faces_of, volume_of

BANDS = (125, 250, 500, 1000, 2000, 4000)
STATED = ("direct_to_reverberant", "reverberation_time", "reverberation_ratio", "transition_frequency")
"""Measures that need a reverberation time, given or found."""

LINKED_TO_ABSORPTION = ("reverberation_time", "reverberation_ratio", "transition_frequency")

LINED = ("mean_absorption",)
"""Measures that need surfaces."""


class OfDecay:
    """Reads ``self.problem.room``."""

    def room_volume(self) -> float:
        room = self.problem.room
        return volume_of(room)

    def lining(self, d):
        """Area and six coefficients of every surface, panels taken out of what they cover."""
        room = self.problem.room
        faces = faces_of(room)
        found = [(s.area or faces[s.of], s.absorption, s.name) for s in room.surfaces]
        if room.treatment is not None:
            panels = d["treatment.panels"] * room.treatment.panel
            found = [(a - panels if name == room.treatment.on else a, c, name) for a, c, name in found]
            found.append((panels, room.treatment.absorption, ""))
        return found

    def sabins(self, d, octave):
        if octave == "mid":
            return (self.sabins(d, 500) + self.sabins(d, 1000)) / 2
        return sum(area * coefficients[BANDS.index(octave)] for area, coefficients, _ in self.lining(d))

    def lined_area(self, d):
        return sum(area for area, _, _ in self.lining(d))

    def decay_time(self, d, octave="mid"):
        room = self.problem.room
        if room.reverberation_time is not None:
            return room.reverberation_time
        absorbed = self.sabins(d, octave)
        if room.formula == "eyring":
            absorbed = -self.lined_area(d) * np.log(1 - absorbed / self.lined_area(d))
        return 24 * math.log(10) * self.room_volume() / (room.speed_of_sound * absorbed)

    def reverberation_time(self, d, octave="mid"):
        return self.decay_time(d, octave)

    def reverberation_ratio(self, d):
        nominal = 0.25 * (self.room_volume() / 100) ** (1 / 3)
        return self.decay_time(d) / min(max(nominal, 0.2), 0.4)

    def mean_absorption(self, d, octave="mid"):
        return self.sabins(d, octave) / self.lined_area(d)

    def treated_area(self, d):
        return d["treatment.panels"] * self.problem.room.treatment.panel

    def direct_to_reverberant(self, d, r):
        loud = self.problem.loudspeakers.directivity * self.room_volume() / self.decay_time(d)
        return 20 * np.log10(0.057 * np.sqrt(loud) / (r.y - d["baffle.depth"]))

    def transition_frequency(self, d):
        return 2000 * np.sqrt(self.decay_time(d) / self.room_volume())

    def decay_slope(self, d, value, octave="mid"):
        """By how much a value changes, at most, with a square metre of absorption."""
        absorbed, area = self.sabins(d, octave), self.lined_area(d)
        return np.abs(value) / absorbed * 2 / (1 - absorbed / area)
