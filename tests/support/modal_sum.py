"""The pressure in a rigid box, computed apart from the program: by a sum over modes that takes whatever axis
source and receiver lie apart along, and by mirror images, to which tests/physics/test_modal.py holds that sum.
The modes' shapes and the cut-off are the program's and have tests of their own there.
"""

from __future__ import annotations

import math

import numpy as np

from optimiser.physics.modal import cutoff_for, mode_shape, transverse_modes

PREFERRED_SEPARATION = 0.5
"""Vertical distance [m] from which the closed form is taken over the height, where seats at one
level share their work; nearer pairs use the axis along which they lie farthest apart."""


def image_sum(size, source, receiver, frequencies, time, speed_of_sound, reach=16):
    """The rigid box by mirror images, each exp(-j k r)/r, re the free field at 1 m; no mode in it."""
    wave_numbers = (2 * math.pi * np.asarray(frequencies) - 1j * math.log(1000) / time) / speed_of_sound
    turn = 2 * np.arange(-reach, reach + 1)
    axes = [
        np.concatenate([turn * long + s, turn * long - s]) - r
        for long, s, r in zip(size, source, receiver, strict=True)
    ]
    x, y, z = np.meshgrid(*axes, indexing="ij", sparse=True)
    distance = np.sqrt(x**2 + y**2 + z**2).ravel()
    return np.array([np.sum(np.exp(-1j * k * distance) / distance) for k in wave_numbers])


def bass_frequencies(low=20.0, high=80.0, per_octave=48):
    """Frequencies evenly spaced on a logarithmic scale [Hz]."""
    return np.geomspace(low, high, round(np.log2(high / low) * per_octave) + 1)


def response(
    *, length, width, height, sources, receivers, frequencies, reverberation_time, speed_of_sound, tolerance=1e-4
):
    """Complex pressure at each receiver and frequency, shape (receivers, frequencies) [1].

    sources, receivers: positions (along, across, up) [m] inside the room, one row each; frequencies
    [Hz]; reverberation_time [s], one or one a frequency; tolerance: bound of each source's truncation
    error re its free field at 1 m (1e-4: 80 dB below). All sources run in phase and at equal strength.
    """
    room = np.array([length, width, height], dtype=float)
    sources, receivers = np.array(sources, dtype=float), np.array(receivers, dtype=float)
    frequencies = np.atleast_1d(np.asarray(frequencies, dtype=float))
    decay = math.log(1000) / np.asarray(reverberation_time, dtype=float)
    wave_number = np.broadcast_to((2.0 * np.pi * frequencies - 1j * decay) / speed_of_sound, frequencies.shape)

    apart = np.abs(receivers[:, None, :] - sources[None, :, :])
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
            speed_of_sound=speed_of_sound,
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
    """The response as a level re one source's free field at 1 m [dB]."""
    with np.errstate(divide="ignore"):
        return 20.0 * np.log10(np.abs(response(**arguments)))


def _closed_form(growth: np.ndarray, receiver: float, source: float, size: float) -> np.ndarray:
    """Sum over all orders p of eps_p cos(p pi r/H) cos(p pi s/H) / (H ((p pi/H)^2 + growth^2)).

    It is cosh(g a) cosh(g b) / (g sinh(g H)), a and b the distances of the pair from the walls it does
    not face each other across; written with falling exponentials only, so that nothing overflows.
    """
    a, b = min(receiver, source), size - max(receiver, source)
    across = np.exp(-growth * (size - a - b))
    images = (1.0 + np.exp(-2.0 * growth * a)) * (1.0 + np.exp(-2.0 * growth * b))
    return across * images / (2.0 * growth * -np.expm1(-2.0 * growth * size))
