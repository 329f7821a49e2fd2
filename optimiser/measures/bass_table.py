"""The bass of a field as a table, by where a row is: what its ears lack, and the loudest and quietest of them."""

from __future__ import annotations

import numpy as np

from optimiser.physics import modal
from optimiser.physics.bass import BassField
from optimiser.tabulated import Lattice

FLOOR = -30.0
"""Levels below this [dB re one source's free field at 1 m] count as this: no real room has such a null."""

CEILING = 60.0
"""Levels above this count as this: no ear is within a millimetre of a source."""

POINTS = (240, 240, 24)
"""Points to a wavelength of the highest frequency judged: across, along, and up, where levels change least."""

MOST = 64
"""Tables kept in memory."""


class BassTable(Lattice):
    """Bass at the ears of a row, by the row's middle (across), its distance along the bass room, and its
    ears' height [m]. ``seatings``: for each number of seats, offsets of the ears from the middle [m].

    Functions of each seating: the deepest dip, then each band's greatest level, then each band's least [dB].
    """

    def __init__(
        self, field: BassField, seatings: tuple[tuple[float, ...], ...], origin: tuple[float, float, float]
    ) -> None:
        self.field = field
        self.offsets = np.array(sorted({ear for ears in seatings for ear in ears}))
        self._seated = [np.searchsorted(self.offsets, ears) for ears in seatings]
        self._each = 1 + 2 * field.bands
        steps = [field.speed_of_sound / field.band[1] / points for points in POINTS]
        widest = [(0.0, CEILING - FLOOR), *[(FLOOR, CEILING)] * (2 * field.bands)]
        super().__init__(self._of_seatings, origin, steps, widest * len(seatings))

    def dip(self, seating: int) -> int:
        """The function that is a seating's deepest dip."""
        return seating * self._each

    def loudest(self, seating: int, band: int) -> int:
        return seating * self._each + 1 + band

    def quietest(self, seating: int, band: int) -> int:
        return seating * self._each + 1 + self.field.bands + band

    def _of_seatings(self, places: np.ndarray) -> np.ndarray:
        levels = self.levels(places)
        found = []
        for ears in self._seated:
            own = levels[:, ears]
            found += [modal.deepest_dip(levels=own)[:, None], *modal.loudest_and_quietest(levels=own)]
        return np.concatenate(found, axis=1)

    def levels(self, places: np.ndarray) -> np.ndarray:
        """Levels by the modal sum itself, at places in rows: (places, ears, bands). Beyond a wall is on it."""
        ears = places[:, None, :] + np.array([1.0, 0.0, 0.0]) * self.offsets[None, :, None]
        length, width, height = self.field.size
        inside = np.clip(ears.reshape(-1, 3), 0.0, (width, length, height))
        return np.clip(self.field.levels(ears=inside), FLOOR, CEILING).reshape(len(places), len(self.offsets), -1)

    def error(self, place: np.ndarray) -> np.ndarray:
        """Proven bound of how far levels of the modal sum, at a place, may be from those at the nearest point
        [dB], (ears, bands): between two planes, anywhere nearer to it than to another point."""
        middle = self.origin + self.steps * self.nearest(place)
        half = np.abs(place - middle)
        planes = self.field.planes(middle=middle, half=half, offsets=self.offsets)
        return ((np.abs(planes.slope) @ half.ravel()) + np.maximum(planes.above, planes.below))[0]


def table_of(
    field: BassField, seatings: tuple[tuple[float, ...], ...], origin: tuple[float, float, float]
) -> BassTable:
    """The table of a field and ears, one for all who ask, so that what is computed once is known."""
    key = (field, seatings, origin)
    if key not in _TABLES:
        if len(_TABLES) >= MOST:
            _TABLES.pop(next(iter(_TABLES)))
        _TABLES[key] = BassTable(field, seatings, origin)
    return _TABLES[key]


_TABLES: dict[tuple, BassTable] = {}
