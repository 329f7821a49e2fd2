"""The checker's formulas for single seats; a part of checker.Judge."""

from __future__ import annotations

import numpy as np

ANGLE = ("20 deg", "28 deg", "30 deg")

PER_SEAT = {
    "horizontal_angle": ANGLE,
    "off_axis_angle": ANGLE,
    "loudspeaker_angle": ANGLE,
    "listening_distance": ("3.2 m", "4.4 m", "3 m"),
    "picture_heights": ("2.2", "2.8", "3"),
}
"""Measures that differ between the seats of a row; and for each a band and a fade that few seats meet in full."""


class OfSeats:
    """Needs seat_places, centre, width, screen_y and speaker_offset of the judge."""

    def seat_values(self, name: str, d, n: int):
        """Every value of one measure in every seat of a row, and whether the row has that seat."""
        row = self.row(d, n)
        for x, there in self.seat_places(row):
            for value in getattr(self, f"_{name}_in")(d, row, x - self.centre(d)):
                yield value, there

    def _horizontal_angle_in(self, d, r, aside):
        return [self._angle(d, r, aside)]

    def _off_axis_angle_in(self, d, r, aside):
        return [np.abs(np.arctan2(aside, r.y - self.screen_y(d)))]

    def _loudspeaker_angle_in(self, d, r, aside):
        """Of the left and of the right loudspeaker, positive to the loudspeaker's own side."""
        away, out = r.y - d["baffle.depth"], self.speaker_offset(d)
        return [np.arctan2(aside + out, away), -np.arctan2(aside - out, away)]

    def _listening_distance_in(self, d, r, aside):
        """To whichever of left, centre and right is nearest."""
        away, out = r.y - d["baffle.depth"], self.speaker_offset(d)
        return [np.min([np.hypot(away, aside - place) for place in (-out, 0.0 * out, out)], axis=0)]

    def _picture_heights_in(self, d, r, aside):
        return [np.hypot(r.y - self.screen_y(d), aside) / self.height(d)]
