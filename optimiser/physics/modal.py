"""Bass in a closed rectangular room: sources in phase, rigid walls, one decay for all modes.

Positions are (along, across, up) in metres: from the front wall, from the left wall, from the
floor; fractions of a room go by (length, width, height) in the same order. The pressure is that of
sources whose free-field level does not change with frequency (constant volume acceleration), as
amplitude and phase re one source's free-field pressure at 1 m.

The rigid box's Green's function is sum_n eps_n psi_n(r) psi_n(s) / (V (k_n^2 - k~^2)), with psi_n a
product of cosines, eps_n doubling for each order above zero, and k~ = (w - j d)/c, where d = 3 ln
10 / T is the decay. Summed mode by mode it converges slowly. Where the sum over the orders of one
axis is taken in closed form, as physics.bass does over the height, what is left converges
exponentially with the distance between source and receiver along that axis, and its remainder has a
proven bound (truncation_bound). What a table of levels comes to, for seats, is defined here too.

Walls that yield, doors, furniture and people are left out: the numbers compare arrangements and
seats, they do not predict a measurement.
"""

from __future__ import annotations

import numpy as np

from optimiser.physics.arrangements import ARRANGEMENTS
from optimiser.physics.checks import number, positive, whole

DECAY = 3.0 * np.log(10.0)
"""Decay constant times reverberation time: the amplitude falls by 60 dB, a factor 10^3, in T."""


def mode_shape(*, position, order):
    """Pressure of a mode, 1 in the room's corners [1].

    position: fractions of the room [1] in [0, 1], and order: whole numbers >= 0, both with one
    entry a direction along the last axis (two or three directions).
    Source: product of cos(n pi x/L), the standing wave between rigid walls.
    """
    position = number("position", position, at_least=0.0, at_most=1.0)
    order = whole("order", order, at_least=0)
    if position.ndim == 0 or order.ndim == 0 or position.shape[-1] != order.shape[-1]:
        raise ValueError("position and order must have one entry for each direction")
    return np.prod(np.cos(np.pi * order * position), axis=-1)


def coupling(*, sources, order):
    """How strongly in-phase sources drive a mode: the sum of its pressure at the sources [1].

    sources: fractions of the room [1], one row a source; order: whole numbers >= 0, one entry a
    direction. Zero: the mode is not driven. Source: the modal sum's source term.
    """
    sources, order = number("sources", sources), whole("order", order, at_least=0)
    if sources.ndim != 2 or order.ndim == 0:
        raise ValueError("sources must be a list of positions, and order have one entry for each direction")
    return np.sum(mode_shape(position=sources, order=order[..., None, :]), axis=-1)


def arrangement_positions(*, arrangement, length, width, height):
    """Source positions [m] of a named arrangement, one row a source, all at one height.

    arrangement: a key of ARRANGEMENTS; length, width [m] > 0; height [m] >= 0 above the floor.
    ValueError for an unknown name.
    """
    if arrangement not in ARRANGEMENTS:
        raise ValueError(f"arrangement must be one of {', '.join(ARRANGEMENTS)}, not {arrangement!r}")
    plan = np.array(ARRANGEMENTS[arrangement])
    up = np.full(len(plan), float(number("height", height, at_least=0.0)))
    return np.column_stack([plan[:, 0] * positive("length", length), plan[:, 1] * positive("width", width), up])


def truncation_bound(*, cutoff, frequency, separation, size, cross_section, speed_of_sound):
    """Bound of what the modes beyond a transverse wave number add to one source's pressure [1].

    cutoff K [rad/m]; frequency [Hz] > 0, the highest; separation d [m] > 0 of source and receiver
    along the closed-form axis, size H [m] > 0 of the room along it; cross_section: the other two
    sizes [m]; speed_of_sound [m/s] > 0. Re the free field at 1 m. Infinite where K is too low.

    Source: derived here. Beyond cut-off, a transverse mode's term is at most 2 exp(-a d) / (a A (1 -
    exp(-2 a H))), a^2 = k_t^2 - k^2; it falls with k_t, and each of its lattice points (pi m/L, pi
    n/W) stands for one cell, whose half diagonal is D. Summing the cells as an integral from u = K -
    2 D gives (4/pi) (1 + D/u) exp(-a d) / (d (1 - exp(-2 a H))); the free field at 1 m is 1/(4 pi).
    """
    half_diagonal = 0.5 * np.pi * np.hypot(*(1.0 / positive("cross_section", cross_section)))
    lowest = float(positive("cutoff", cutoff)) - 2.0 * half_diagonal
    k = 2.0 * np.pi * float(positive("frequency", frequency)) / float(positive("speed_of_sound", speed_of_sound))
    if lowest <= k:
        return np.inf
    a = np.sqrt(lowest**2 - k**2)
    d, h = float(positive("separation", separation)), float(positive("size", size))
    return 16.0 * (1.0 + half_diagonal / lowest) * np.exp(-a * d) / (d * -np.expm1(-2.0 * a * h))


def loudest_and_quietest(*, levels):
    """Highest and lowest level of any seat at each frequency [dB], a pair.

    levels [dB]: seats along the last axis but one, frequencies along the last, evenly spaced in the
    sense a mean should have (logarithmically: every octave counts alike).
    """
    levels = _table(levels)
    return np.max(levels, axis=-2), np.min(levels, axis=-2)


def spread_between(*, loudest, quietest):
    """How much the bass differs between seats: mean over frequency of highest less lowest level [dB].

    loudest, quietest [dB], frequencies along the last axis. Linear in both, on which the solver's form of it
    relies. Source: definition of this program; no standard defines it.
    """
    return np.mean(number("loudest", loudest) - number("quietest", quietest), axis=-1)


def seat_to_seat_spread(*, levels):
    """The spread between seats [dB], of levels as for loudest_and_quietest. One seat gives 0."""
    loudest, quietest = loudest_and_quietest(levels=levels)
    return spread_between(loudest=loudest, quietest=quietest)


def dips(*, levels):
    """How far each seat's lowest level lies below its own mean level [dB], >= 0.

    levels [dB]: frequencies along the last axis; the mean is that of the levels over the band. A room that
    lifts the lowest frequencies raises the mean and so the dip.
    Source: definition of this program; no standard defines it.
    """
    levels = number("levels", levels, unit="dB")
    return np.mean(levels, axis=-1) - np.min(levels, axis=-1)


def deepest_dip(*, levels):
    """The dip of the worst seat [dB], of levels as for loudest_and_quietest."""
    return np.max(dips(levels=_table(levels)), axis=-1)


def _table(levels) -> np.ndarray:
    levels = number("levels", levels, unit="dB")
    if levels.ndim < 2 or 0 in levels.shape:
        raise ValueError("levels must be a table of seats by frequencies")
    return levels


def cutoff_for(*, tolerance: float, **case) -> float:
    """A transverse wave number beyond which the remainder stays within the tolerance [rad/m].

    Doubling, then halving the interval, on a bound that falls steadily; one part in a thousand will do.
    """
    low, high = 0.0, 1.0
    while truncation_bound(cutoff=high, **case) > tolerance:
        low, high = high, 2.0 * high
    while high - low > 1e-3 * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if truncation_bound(cutoff=middle, **case) > tolerance else (low, middle)
    return high


def transverse_modes(sizes: np.ndarray, cutoff: float) -> tuple[np.ndarray, np.ndarray]:
    """Orders (m, n) of the modes across the axis up to a wave number, and their wave numbers [rad/m]."""
    counts = [np.arange(int(cutoff * size / np.pi) + 1) for size in sizes]
    orders = np.stack(np.meshgrid(*counts, indexing="ij"), axis=-1).reshape(-1, 2)
    transverse = np.pi * np.hypot(*(orders / sizes).T)
    kept = transverse <= cutoff
    return orders[kept], transverse[kept]
