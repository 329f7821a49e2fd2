"""Bass in a closed rectangular room: sources in phase, rigid walls, one decay for all modes.

Positions are (along, across, up) in metres: from the front wall, from the left wall, from the
floor; fractions of a room go by (length, width, height) in the same order. The pressure is that of
sources whose free-field level does not change with frequency (constant volume acceleration), as
amplitude and phase re one source's free-field pressure at 1 m.

The rigid box's Green's function is sum_n eps_n psi_n(r) psi_n(s) / (V (k_n^2 - k~^2)), with psi_n a
product of cosines, eps_n doubling for each order above zero, and k~ = (w - j d)/c, where d = 3 ln
10 / T is the decay. Summed mode by mode it converges slowly. Here the sum over the orders of one
axis is taken in closed form; what is left converges exponentially with the distance between source
and receiver along that axis, and its remainder has a proven bound (truncation_bound).

Walls that yield, doors, furniture and people are left out: the numbers compare arrangements and
seats, they do not predict a measurement.
"""

from __future__ import annotations

import numpy as np

from optimiser.physics.arrangements import ARRANGEMENTS
from optimiser.physics.checks import number, positive, whole

DECAY = 3.0 * np.log(10.0)
"""Decay constant times reverberation time: the amplitude falls by 60 dB, a factor 10^3, in T."""

PREFERRED_SEPARATION = 0.5
"""Vertical distance [m] from which the closed form is taken over the height, where seats at one
level share their work; nearer pairs use the axis along which they lie farthest apart."""

LEAST_SEPARATION = 0.2
"""Source and receiver must differ by this much [m] along one axis: nearer, a loudspeaker is not a point."""


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


def bass_frequencies(*, low=20.0, high=80.0, per_octave=48):
    """Frequencies from ``low`` to ``high`` [Hz], evenly spaced on a logarithmic scale.

    0 < low < high; per_octave, whole, >= 1: steps within an octave, rounded up to fill the band.
    """
    low, high = float(positive("low", low)), float(positive("high", high))
    if high <= low:
        raise ValueError(f"high must be above low (got {low:g} and {high:g})")
    steps = int(np.ceil(np.log2(high / low) * float(whole("per_octave", per_octave, at_least=1)) - 1e-9))
    return np.geomspace(low, high, steps + 1)


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


def response(
    *, length, width, height, sources, receivers, frequencies, reverberation_time, speed_of_sound, tolerance=1e-4
):
    """Complex pressure at each receiver and frequency, shape (receivers, frequencies) [1].

    length, width, height [m] > 0; sources, receivers: positions (along, across, up) [m] inside the
    room, one row each; frequencies [Hz] > 0; reverberation_time [s] > 0, one or one a frequency;
    speed_of_sound [m/s] > 0; tolerance [1] > 0: bound of each source's truncation error re its free
    field at 1 m (1e-4: 80 dB below). All sources run in phase and at equal strength. ValueError
    where a position lies outside the room or a receiver within 0.2 m of a source along every axis.
    Source: the damped Green's function of a rigid box; see the module's docstring.
    """
    room = np.array([float(positive(n, v)) for n, v in (("length", length), ("width", width), ("height", height))])
    sources = _inside("sources", sources, room)
    receivers = _inside("receivers", receivers, room)
    frequencies = np.atleast_1d(positive("frequencies", frequencies))
    if frequencies.ndim != 1:
        raise ValueError("frequencies must be a number or a list of numbers")
    speed = float(positive("speed_of_sound", speed_of_sound))
    tolerance = float(positive("tolerance", tolerance))
    decay = DECAY / positive("reverberation_time", reverberation_time)
    wave_number = np.broadcast_to((2.0 * np.pi * frequencies - 1j * decay) / speed, frequencies.shape)

    apart = np.abs(receivers[:, None, :] - sources[None, :, :])
    if np.any(apart.max(axis=2) < LEAST_SEPARATION):
        raise ValueError(f"a receiver lies within {LEAST_SEPARATION:g} m of a source")
    axis = np.where(apart[:, :, 2] >= PREFERRED_SEPARATION, 2, apart.argmax(axis=2))

    pressure = np.zeros((len(receivers), len(frequencies)), dtype=complex)
    for along in np.unique(axis):
        used = axis == along
        others = [i for i in range(3) if i != along]
        cutoff = cutoff_for(
            frequency=frequencies.max(),
            separation=apart[:, :, along][used].min(),
            size=room[along],
            cross_section=room[others],
            speed_of_sound=speed,
            tolerance=tolerance,
        )
        orders, transverse = transverse_modes(room[others], cutoff)
        growth = np.sqrt(transverse[:, None] ** 2 - wave_number[None, :] ** 2)
        weight = np.prod(np.where(orders > 0, 2.0, 1.0), axis=1) / np.prod(room[others])
        at_receivers = mode_shape(position=receivers[:, None, others] / room[others], order=orders)
        at_sources = mode_shape(position=sources[:, None, others] / room[others], order=orders) * weight
        # pairs at the same two coordinates along the axis share the closed form
        for r in np.unique(receivers[:, along]):
            rows = np.flatnonzero(receivers[:, along] == r)
            for s in np.unique(sources[:, along]):
                columns = np.flatnonzero(sources[:, along] == s)
                chosen = used[np.ix_(rows, columns)]
                if np.any(chosen):
                    shapes = at_receivers[rows] * (chosen @ at_sources[columns])
                    pressure[rows] += shapes @ _closed_form(growth, float(r), float(s), room[along])
    return 4.0 * np.pi * pressure


def levels(**arguments):
    """The response as a level re one source's free field at 1 m [dB]; arguments as for response()."""
    with np.errstate(divide="ignore"):
        return 20.0 * np.log10(np.abs(response(**arguments)))


def seat_to_seat_spread(*, levels):
    """How much the bass differs between seats: mean over frequency of highest less lowest level [dB].

    levels [dB]: seats along the last axis but one, frequencies along the last, evenly spaced in the
    sense the mean should have (logarithmically: every octave counts alike). One seat gives 0.
    Source: definition of this program; no standard defines it.
    """
    levels = _table(levels)
    return np.mean(np.max(levels, axis=-2) - np.min(levels, axis=-2), axis=-1)


def deepest_dip(*, levels):
    """How far the worst seat's lowest level lies below that seat's own mean level [dB], >= 0.

    levels [dB] as for seat_to_seat_spread; the mean is that of the levels over the band. A room
    that lifts the lowest frequencies raises the mean and so the dip.
    Source: definition of this program; no standard defines it.
    """
    levels = _table(levels)
    return np.max(np.mean(levels, axis=-1) - np.min(levels, axis=-1), axis=-1)


def _table(levels) -> np.ndarray:
    levels = number("levels", levels, unit="dB")
    if levels.ndim < 2 or 0 in levels.shape:
        raise ValueError("levels must be a table of seats by frequencies")
    return levels


def _inside(name: str, positions, room: np.ndarray) -> np.ndarray:
    positions = number(name, positions, at_least=0.0)
    if positions.ndim != 2 or positions.shape[1] != 3 or len(positions) == 0:
        raise ValueError(f"{name} must be a list of positions (along, across, up)")
    if np.any(positions > room * (1.0 + 1e-12)):
        raise ValueError(f"{name} must lie inside the room of {room[0]:g} x {room[1]:g} x {room[2]:g} m")
    return np.minimum(positions, room)


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


def _closed_form(growth: np.ndarray, receiver: float, source: float, size: float) -> np.ndarray:
    """Sum over all orders p of eps_p cos(p pi r/H) cos(p pi s/H) / (H ((p pi/H)^2 + growth^2)).

    It is cosh(g a) cosh(g b) / (g sinh(g H)), a and b the distances of the pair from the walls it does
    not face each other across; written with falling exponentials only, so that nothing overflows.
    """
    a, b = min(receiver, source), size - max(receiver, source)
    across = np.exp(-growth * (size - a - b))
    images = (1.0 + np.exp(-2.0 * growth * a)) * (1.0 + np.exp(-2.0 * growth * b))
    return across * images / (2.0 * growth * -np.expm1(-2.0 * growth * size))
