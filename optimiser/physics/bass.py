"""Bass at ears that may be anywhere in a region: levels in third-octave bands, and planes that a band's
level is proven to lie between.

The pressure is that of ``modal``, its sum over the height in closed form, its modes across the height
truncated once for the whole region, so that every ear is judged alike. A band's level is the mean of
the pressure's square over lines evenly spaced on a logarithmic scale.

Bounds. In a box of half sizes h about its middle, the mean square E of a band differs from its tangent
plane by its second slopes there, which are known, and by a remainder of the third order: at most the
sum of h_i h_j h_k |E_ijk| / 6, where no slope of the pressure in the box exceeds the sum of its modes'
magnitudes. From E to decibels: log(1 + u) <= u, and log(1 + u) >= u - (-r - log(1 - r)) for |u| <= r < 1.
So the level lies between two planes with the tangent's slope.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from optimiser.physics.checks import number, positive
from optimiser.physics.modal import DECAY, coupling, cutoff_for, transverse_modes

DECIBEL = 10.0 / math.log(10.0)

PER_OCTAVE = 3
"""Bands in each octave."""

LINES = 8
"""Lines of the response in each band."""

TOLERANCE = 1e-3
"""Bound of each source's truncation error re its free field at 1 m: 60 dB below it."""

LEAST_RISE = 0.4
"""Height [m] by which every source must differ from every ear: nearer, too many modes count."""

AT_ONCE = 2_000_000
"""Numbers in the greatest table that is made for levels at many ears."""

HEIGHTS = 32
"""Heights at which the parts of all modes are remembered."""

AXES = 3  # across (x), along (y), up (z)


@dataclass(frozen=True)
class Planes:
    """For each box, ear and band: the level in the middle [dB], its slopes across, along and up [dB/m], and
    how far above and below that plane the level may lie in the box [dB], +inf where the box is too large."""

    level: np.ndarray  # (boxes, ears, bands)
    slope: np.ndarray  # (boxes, ears, bands, 3)
    above: np.ndarray
    below: np.ndarray


@dataclass(frozen=True)
class BassField:
    """The bass of in-phase sources in a rigid box, at ears between two heights.

    size: (length, width, height) [m] > 0; sources: (along, across, up) [m] of each, inside the room;
    ears: lowest and highest height of ears [m], at least LEAST_RISE from every source; band: lowest and
    highest frequency [Hz]; reverberation_time [s] > 0; speed_of_sound [m/s] > 0. ValueError otherwise.
    Levels are re one source's free field at 1 m.
    """

    size: tuple[float, float, float]
    sources: tuple[tuple[float, float, float], ...]
    ears: tuple[float, float]
    band: tuple[float, float]
    reverberation_time: float
    speed_of_sound: float

    def __post_init__(self) -> None:
        positive("size", self.size)
        positive("reverberation_time", self.reverberation_time)
        positive("speed_of_sound", self.speed_of_sound)
        low, high = positive("band", self.band)
        if not low < high:
            raise ValueError(f"band must rise (got {low:g} to {high:g})")
        if not self.sources:
            raise ValueError("sources must hold at least one position")
        for axis, extent in enumerate(self.size):
            number("sources", [s[axis] for s in self.sources], at_least=0.0, at_most=extent * (1.0 + 1e-12))
        number("ears", self.ears, at_least=0.0, at_most=self.size[2])
        if self._rise() < LEAST_RISE - 1e-9:
            raise ValueError(f"a source lies within {LEAST_RISE:g} m of the ears' height")

    def _rise(self) -> float:
        """Least difference in height between a source and an ear; negative where they overlap."""
        return min(max(self.ears[0] - s[2], s[2] - self.ears[1]) for s in self.sources)

    @cached_property
    def bands(self) -> int:
        """Number of bands."""
        return max(1, round(PER_OCTAVE * math.log2(self.band[1] / self.band[0])))

    @cached_property
    def centres(self) -> np.ndarray:
        """Middle of each band [Hz]."""
        low, high = self.band
        return low * (high / low) ** ((np.arange(self.bands) + 0.5) / self.bands)

    @cached_property
    def frequencies(self) -> np.ndarray:
        """Lines of the response [Hz], each in the middle of its share of the band."""
        low, high = self.band
        count = self.bands * LINES
        return low * (high / low) ** ((np.arange(count) + 0.5) / count)

    # --- the modes --------------------------------------------------------------------------------

    @cached_property
    def _modes(self) -> tuple[np.ndarray, np.ndarray]:
        """Wave numbers (along, across) of each mode across the height, and what it grows with upwards."""
        plan = np.array(self.size[:2])
        cutoff = cutoff_for(
            frequency=float(self.frequencies.max()),
            separation=self._rise(),
            size=self.size[2],
            cross_section=plan,
            speed_of_sound=self.speed_of_sound,
            tolerance=TOLERANCE,
        )
        orders, transverse = transverse_modes(plan, cutoff)
        wave = (2.0 * np.pi * self.frequencies - 1j * DECAY / self.reverberation_time) / self.speed_of_sound
        growth = np.sqrt(transverse[:, None] ** 2 - wave[None, :] ** 2)
        return np.pi * orders / plan, growth

    @cached_property
    def _groups(self) -> tuple[tuple[float, np.ndarray], ...]:
        """Sources of one height together: the height, and how they drive each mode."""
        plan = np.array(self.size[:2])
        waves, _ = self._modes
        orders = np.round(waves * plan / np.pi).astype(int)
        doubled = 4.0 * np.pi * np.prod(np.where(orders > 0, 2.0, 1.0), axis=1) / np.prod(plan)
        found = []
        for height in sorted({s[2] for s in self.sources}):
            at = np.array([s[:2] for s in self.sources if s[2] == height]) / plan
            found.append((height, doubled * coupling(sources=np.minimum(at, 1.0), order=orders)))
        return tuple(found)

    def _driven(self, z: float) -> Iterator[tuple]:
        """For the sources of each height: what they drive, their own and the ear's distance from the wall that each
        is nearer to, the sign of a slope upwards, and the factors of each mode's part at a height."""
        _, growth = self._modes
        room = self.size[2]
        under = 2.0 * growth * -np.expm1(-2.0 * growth * room)
        for height, drive in self._groups:
            fixed, free = (height, room - z) if height < z else (room - height, z)
            still = (1.0 + np.exp(-2.0 * growth * fixed)) / under
            fall = np.exp(-growth * (room - fixed - free))
            echo = np.exp(-2.0 * growth * free)
            yield drive, fixed, free, -1.0 if height < z else 1.0, still, drive[:, None] * fall * still, echo

    def _at_height(self, z: float) -> np.ndarray:
        """Each mode's part at a height. Of the heights of a table there are few, each asked for again and again."""
        known = self._parts_at
        if z not in known:
            if len(known) >= HEIGHTS:
                known.pop(next(iter(known)))
            known[z] = np.zeros_like(self._modes[1])
            for *_, part, echo in self._driven(z):
                known[z] += part * (1.0 + echo)
        return known[z]

    @cached_property
    def _parts_at(self) -> dict[float, np.ndarray]:
        """What _at_height() found last."""
        return {}

    def _upward(self, z: float, half: float) -> tuple[list[np.ndarray], np.ndarray]:
        """Each mode's part at a height, its first and second slope upwards; and a bound of its magnitude
        (and, times a power of its growth, of its slopes) within ``half`` of that height."""
        _, growth = self._modes
        rising = growth.real
        parts = [np.zeros_like(growth) for _ in range(3)]
        bound = np.zeros_like(rising)
        room = self.size[2]
        for drive, fixed, free, sign, still, part, echo in self._driven(z):
            parts[0] += part * (1.0 + echo)
            parts[1] += sign * growth * part * (1.0 - echo)
            parts[2] += growth**2 * part * (1.0 + echo)
            nearer = np.exp(-rising * (room - fixed - free - half))
            bound += np.abs(drive)[:, None] * nearer * (1.0 + np.exp(-2.0 * rising * (free + half))) * np.abs(still)
        return parts, bound

    # --- levels -----------------------------------------------------------------------------------

    def levels(self, *, ears) -> np.ndarray:
        """Level of each band at each ear [dB], shape (ears, bands); ears: (across, along, up) [m] in rows."""
        ears = number("ears", ears, at_least=0.0)
        along = np.pi * np.arange(len(self._rows_of_modes)) / self.size[0]
        out = np.empty((len(ears), self.bands))
        heights, which = np.unique(ears[:, 2], return_inverse=True)
        several = max(1, AT_ONCE // (2 * len(along) * len(self.frequencies)))
        for k, z in enumerate(heights):
            here = np.flatnonzero(which == k)
            columns, column = np.unique(ears[here, 0], return_inverse=True)
            for first in range(0, len(columns), several):
                at = columns[first : first + several]
                driven = self._at_column(at, float(z))
                for one in range(len(at)):
                    there = here[column == first + one]
                    shape = np.cos(np.outer(ears[there, 1], along))
                    out[there] = DECIBEL * np.log(self._in_bands(np.abs(_times(shape, driven[one])) ** 2))
        return out

    def _at_column(self, across: np.ndarray, z: float) -> np.ndarray:
        """What each order along the room comes to at a height and at several distances across, all its modes added
        up: (distances, orders, lines). Ears of one column share it, and it is most of the work."""
        waves, height = self._modes[0][:, 1], self._at_height(z)
        turns = np.cos(np.outer(across, waves))
        found = np.empty((len(across), len(self._rows_of_modes), height.shape[1]), dtype=complex)
        for order, modes in enumerate(self._rows_of_modes):
            found[:, order] = _times(turns[:, modes], height[modes])
        return found

    @cached_property
    def _rows_of_modes(self) -> list[np.ndarray]:
        """The modes of each order along the room, from 0."""
        orders = np.round(self._modes[0][:, 0] * self.size[0] / np.pi).astype(int)
        return [np.flatnonzero(orders == order) for order in range(orders.max() + 1)]

    def _in_bands(self, lines: np.ndarray) -> np.ndarray:
        """Means over the lines of each band."""
        return lines.reshape(*lines.shape[:-1], self.bands, LINES).mean(axis=-1)

    # --- planes -----------------------------------------------------------------------------------

    def planes(self, *, middle, half, offsets) -> Planes:
        """Planes of the levels in boxes; for each box there are ears at ``offsets`` [m] across from it.

        middle, half: (across, along, up) [m] in rows, one a box.
        """
        middle, half = np.atleast_2d(middle).astype(float), np.atleast_2d(half).astype(float)
        offsets = np.asarray(offsets, dtype=float)
        shape = (len(middle), len(offsets), self.bands)
        planes = Planes(np.empty(shape), np.empty((*shape, AXES)), np.empty(shape), np.empty(shape))
        several = np.unique(np.column_stack([middle[:, 2], half]), axis=0)
        for z, *sizes in several:
            at = np.flatnonzero((middle[:, 2] == z) & np.all(half == sizes, axis=1))
            made = self._of_height(middle[at], np.array(sizes), offsets)
            for name, value in made.items():
                getattr(planes, name)[at] = value
        return planes

    def _of_height(self, middle: np.ndarray, half: np.ndarray, offsets: np.ndarray) -> dict[str, np.ndarray]:
        """Planes of boxes of one size about one height."""
        along, across = self._modes[0].T
        growing = np.abs(self._modes[1])
        upward, bound = self._upward(float(middle[0, 2]), float(half[2]))
        x = (middle[:, None, 0] + offsets[None, :]).ravel()
        y = np.repeat(middle[:, 1], len(offsets))
        turns = (_turns(x, across), _turns(y, along))
        # what bounds the slopes does not depend on where along the room a box lies
        columns, column = np.unique(x, return_inverse=True) if half[0] == 0.0 else (x[:1], np.zeros(len(x), dtype=int))
        widest = np.abs(np.cos(np.outer(columns, across))) if half[0] == 0.0 else np.ones((1, len(across)))

        def slope(*axes: int) -> np.ndarray:
            """The pressure's slope along some axes in the middle of each box, on each line."""
            times = [axes.count(axis) for axis in range(AXES)]
            return _times(turns[0][times[0]] * turns[1][times[1]], upward[times[2]])

        def most(*axes: int) -> np.ndarray:
            """A bound of that slope's magnitude anywhere in the box."""
            times = [axes.count(axis) for axis in range(AXES)]
            return ((widest * across ** times[0] * along ** times[1]) @ (bound * growing ** times[2]))[column]

        active = [axis for axis in range(AXES) if half[axis] > 0.0]
        middle_square, tangent, low, high = _square(slope, most, active, half, self._in_bands)
        reach = sum((np.abs(tangent[axis]) * half[axis] for axis in active), np.zeros_like(middle_square))
        wide = np.maximum(reach + high, reach - low) / middle_square
        with np.errstate(divide="ignore", invalid="ignore"):
            bend = np.where(wide < 1.0, -wide - np.log1p(-np.minimum(wide, 1.0)), np.inf)
        shape = (len(middle), len(offsets), self.bands)
        slopes = np.zeros((*shape, AXES))
        for axis in active:
            slopes[..., axis] = (DECIBEL * tangent[axis] / middle_square).reshape(shape)
        return {
            "level": (DECIBEL * np.log(middle_square)).reshape(shape),
            "slope": slopes,
            "above": (DECIBEL * high / middle_square).reshape(shape),
            "below": (DECIBEL * (bend - low / middle_square)).reshape(shape),
        }


def _times(real: np.ndarray, complex_: np.ndarray) -> np.ndarray:
    """A real matrix times a complex one, without making the real one complex."""
    count = complex_.shape[1]
    both = real @ np.concatenate([complex_.real, complex_.imag], axis=1)
    return both[:, :count] + 1j * both[:, count:]


def _turns(position: np.ndarray, waves: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """cos(k x) with its first and second slope, positions by modes."""
    phase = np.outer(position, waves)
    cosine = np.cos(phase)
    return cosine, -waves * np.sin(phase), -(waves**2) * cosine


def _square(slope, most, active: list[int], half: np.ndarray, mean):
    """Of the pressure's mean square in each band: its value and tangent in the middle of a box, and the
    least and greatest that it may lie from that tangent within the box."""
    p = slope()
    first = {i: slope(i) for i in active}
    second = {pair: slope(*pair) for pair in itertools.combinations_with_replacement(active, 2)}
    third = {triple: most(*triple) for triple in itertools.combinations_with_replacement(active, 3)}

    def of(table: dict, *axes: int) -> np.ndarray:
        return table[tuple(sorted(axes)) if len(axes) > 1 else axes[0]]

    # no slope in the box exceeds its value in the middle by more than the next ones allow
    top2 = {pair: np.abs(v) + sum(of(third, *pair, k) * half[k] for k in active) for pair, v in second.items()}
    top1 = {i: np.abs(v) + sum(of(top2, i, k) * half[k] for k in active) for i, v in first.items()}
    top0 = np.abs(p) + sum((top1[i] * half[i] for i in active), np.zeros(p.shape))

    square = mean(np.abs(p) ** 2)
    tangent = {i: mean(2.0 * np.real(np.conj(p) * first[i])) for i in active}
    low, high = np.zeros_like(square), np.zeros_like(square)
    for i, j in itertools.combinations_with_replacement(active, 2):
        bend = mean(2.0 * np.real(np.conj(p) * of(second, i, j) + np.conj(first[i]) * first[j])) * half[i] * half[j]
        if i == j:
            low, high = low + 0.5 * np.minimum(bend, 0.0), high + 0.5 * np.maximum(bend, 0.0)
        else:
            low, high = low - np.abs(bend), high + np.abs(bend)
    for i, j, k in itertools.product(active, repeat=3):
        twist = (
            top0 * of(third, i, j, k) + top1[i] * of(top2, j, k) + top1[j] * of(top2, i, k) + top1[k] * of(top2, i, j)
        )
        rest = mean(2.0 * twist) * (half[i] * half[j] * half[k] / 6.0)
        low, high = low - rest, high + rest
    return square, tangent, low, high
