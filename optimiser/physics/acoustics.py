"""Acoustics of a rectangular room: modes, reverberation, direct and reverberant sound, proportions.

The modal functions are exact for rigid walls. Sabine's and Eyring's formulas, the critical
distance and the transition frequency suppose a diffuse field, which a small, well-damped room
hardly has: use them to compare designs, not to predict a measurement.
"""

from __future__ import annotations

import numpy as np

from optimiser.physics.checks import finite, number, positive, whole

SABINE_FACTOR = 24.0 * np.log(10.0)
"""24 ln 10: a decay of 60 dB in a diffuse field, T = 24 ln 10 V / (c A)."""

CRITICAL_DISTANCE_FACTOR = 0.057
"""The rounded constant in general use; sqrt(24 ln 10 / (16 pi 343.2)) would be 0.05660."""

NULL_TOLERANCE = 1e-12
"""Periods of the mode shape within which a position counts as lying on the null."""


def speed_of_sound(*, temperature):
    """Speed of sound in air [m/s].

    temperature [degC] in [-20, 50], the range of ISO 9613-1 (from memory, unverified); ValueError
    outside. Source: c = 343.2 sqrt((t + 273.15) / 293.15), ISO 9613-1:1993, as quoted by the
    documentation of an acoustics library (python-acoustics).
    """
    temperature = number("temperature", temperature, unit="degC", at_least=-20.0, at_most=50.0)
    return 343.2 * np.sqrt((temperature + 273.15) / 293.15)


def mode_frequency(*, length, width, height, order, speed_of_sound):
    """Eigenfrequency of a room with rigid walls [Hz].

    length, width, height [m] > 0; order: three whole numbers (p, q, r) >= 0 along the last axis,
    not all zero; speed_of_sound [m/s] > 0.
    Source: f = c/2 sqrt((p/L)^2 + (q/W)^2 + (r/H)^2), the wave equation between rigid walls; stated in many texts.
    """
    order = whole("order", order, at_least=0)
    if order.ndim == 0 or order.shape[-1] != 3:
        raise ValueError("order must hold three whole numbers, for length, width and height")
    if np.any(np.all(order == 0, axis=-1)):
        raise ValueError("order must not be zero in all three directions")
    p, q, r = np.moveaxis(order, -1, 0)
    along = p / positive("length", length)
    across = q / positive("width", width)
    upward = r / positive("height", height)
    return positive("speed_of_sound", speed_of_sound) / 2.0 * np.sqrt(along**2 + across**2 + upward**2)


def pressure_level(*, position, order):
    """Level of an axial mode's pressure re its level at the walls [dB]; -infinity on a null.

    position x/L [1] in [0, 1]; order n, whole, >= 1.
    Source: the mode shape cos(n pi x/L) of rigid walls, as 20 log10 |.|.
    """
    position = number("position", position, at_least=0.0, at_most=1.0)
    order = whole("order", order, at_least=1)
    turns = order * position
    on_null = np.abs(turns - np.floor(turns) - 0.5) < NULL_TOLERANCE
    shape = np.where(on_null, 0.0, np.abs(np.cos(np.pi * turns)))
    with np.errstate(divide="ignore"):
        return 20.0 * np.log10(shape)


def nulls(*, order):
    """Where an axial mode's pressure vanishes: a tuple of positions x/L [1], rising.

    order n, a single whole number >= 1. Source: x/L = (2k + 1)/(2n) from cos(n pi x/L) = 0.
    """
    order = int(whole("order", order, at_least=1))
    return tuple((2 * k + 1) / (2 * order) for k in range(order))


def level_of_shift(*, shift, order):
    """Level of an axial mode at a distance from its nearest pressure maximum [dB re that maximum].

    shift [1]: that distance over the room's length, |shift| <= 1/(2n), where the level reaches
    -infinity at the ends; order n, whole, >= 1. Source: 20 log10 cos(n pi shift).
    """
    order = whole("order", order, at_least=1)
    shift = np.abs(finite("shift", shift))
    turns = order * shift
    if np.any(turns > 0.5 + NULL_TOLERANCE):
        raise ValueError("shift must not reach beyond the null, half a period: |shift| <= 1/(2 order)")
    shape = np.where(turns >= 0.5 - NULL_TOLERANCE, 0.0, np.cos(np.pi * turns))
    with np.errstate(divide="ignore"):
        return 20.0 * np.log10(shape)


def shift_of_level(*, level, order):
    """Distance from a pressure maximum, over the room's length [1], where a mode has this level.

    level [dB re the maximum] <= 0, -infinity allowed; order n, whole, >= 1. Result in
    [0, 1/(2n)]; inverse of level_of_shift. Source: acos(10^(level/20)) / (n pi).
    """
    level = number("level", level, unit="dB", at_most=0.0, infinite=True)
    order = whole("order", order, at_least=1)
    return np.arccos(10.0 ** (level / 20.0)) / (order * np.pi)


def sabine(*, volume, absorption_area, speed_of_sound):
    """Reverberation time by Sabine's formula [s].

    volume [m3] > 0, absorption_area A [m2] > 0 (the sum of surface times coefficient),
    speed_of_sound [m/s] > 0. Source: T = 24 ln 10 V / (c A); 0.161 V/A near 20 degC.
    """
    volume = positive("volume", volume)
    absorption_area = positive("absorption_area", absorption_area)
    return SABINE_FACTOR * volume / (positive("speed_of_sound", speed_of_sound) * absorption_area)


def eyring(*, volume, surface, mean_absorption, speed_of_sound):
    """Reverberation time by Eyring's formula [s].

    volume [m3] > 0, surface S [m2] > 0, mean_absorption [1] in (0, 1], where 1 gives zero;
    speed_of_sound [m/s] > 0. Source: T = -24 ln 10 V / (c S ln(1 - a)), after J. Acoust. Soc. Am.
    1 (1930), as restated by the pyrato library.
    """
    volume = positive("volume", volume)
    surface = positive("surface", surface)
    mean_absorption = number("mean_absorption", mean_absorption, above=0.0, at_most=1.0)
    with np.errstate(divide="ignore"):
        exponent = -np.log1p(-mean_absorption)
    return SABINE_FACTOR * volume / (positive("speed_of_sound", speed_of_sound) * surface * exponent)


def absorption_of_sabine(*, volume, reverberation_time, speed_of_sound):
    """Absorption area at which Sabine's formula gives a reverberation time [m2]; inverse of sabine().

    volume [m3] > 0, reverberation_time [s] > 0, speed_of_sound [m/s] > 0. Source: as there.
    """
    return sabine(volume=volume, absorption_area=reverberation_time, speed_of_sound=speed_of_sound)


def absorption_of_eyring(*, volume, surface, reverberation_time, speed_of_sound):
    """Mean absorption at which Eyring's formula gives a reverberation time [1], in (0, 1); inverse of eyring().

    volume [m3] > 0, surface [m2] > 0, reverberation_time [s] > 0, speed_of_sound [m/s] > 0.
    Source: as there.
    """
    area = absorption_of_sabine(volume=volume, reverberation_time=reverberation_time, speed_of_sound=speed_of_sound)
    return -np.expm1(-area / positive("surface", surface))


def critical_distance(*, volume, reverberation_time, directivity):
    """Distance from a source where direct and reverberant sound are equally strong [m].

    volume [m3] > 0, reverberation_time [s] > 0, directivity Q [1] > 0 (1: all round).
    Source: 0.057 sqrt(Q V / T), as restated by the pyrato library (Q = 1) and by the help page of
    an acoustics toolbox (with Q).
    """
    volume = positive("volume", volume)
    reverberation_time = positive("reverberation_time", reverberation_time)
    return CRITICAL_DISTANCE_FACTOR * np.sqrt(positive("directivity", directivity) * volume / reverberation_time)


def reverberation_of_critical_distance(*, critical_distance, volume, directivity):
    """Reverberation time at which the critical distance is as given [s]; inverse of critical_distance().

    critical_distance [m] > 0, volume [m3] > 0, directivity Q [1] > 0. Source: as there.
    """
    ratio = CRITICAL_DISTANCE_FACTOR / positive("critical_distance", critical_distance)
    return positive("directivity", directivity) * positive("volume", volume) * ratio**2


def direct_to_reverberant(*, distance, critical_distance):
    """Direct sound over reverberant sound [dB], falling with distance.

    distance [m] >= 0: at the source itself the ratio is +infinity, infinitely far -infinity;
    critical_distance [m] > 0. Source: 20 log10(r_c / r), as in sound-system design manuals; no
    true diffuse field where the mean absorption is much above 0.2.
    """
    distance = number("distance", distance, at_least=0.0, infinite=True)
    with np.errstate(divide="ignore"):
        return -20.0 * np.log10(distance / positive("critical_distance", critical_distance))


def distance_of_direct_to_reverberant(*, level, critical_distance):
    """Distance [m] at which direct over reverberant sound is ``level`` [dB], any, also infinite.

    critical_distance [m] > 0; inverse of direct_to_reverberant. Source: r_c 10^(-level/20).
    """
    return positive("critical_distance", critical_distance) * 10.0 ** (-number("level", level, infinite=True) / 20.0)


def transition_frequency(*, volume, reverberation_time):
    """Frequency above which modes overlap enough to be treated as a diffuse field [Hz].

    volume [m3] > 0, reverberation_time [s] > 0. Source: 2000 sqrt(T / V), Schroeder's frequency;
    the constant after J. Acoust. Soc. Am. 99(5) (1996), p. 3240 (from memory, unverified).
    """
    return 2000.0 * np.sqrt(positive("reverberation_time", reverberation_time) / positive("volume", volume))


def reverberation_of_transition_frequency(*, volume, frequency):
    """Reverberation time at which the transition frequency is as given [s]; inverse of transition_frequency().

    volume [m3] > 0, frequency [Hz] > 0. Source: as there.
    """
    return positive("volume", volume) * (positive("frequency", frequency) / 2000.0) ** 2


def nominal_reverberation_time(*, volume):
    """Reverberation time a listening room of this size should have [s], within [0.2, 0.4].

    volume [m3] > 0. Source: 0.25 (V / 100 m3)^(1/3), held to 0.2...0.4 s, Rec. ITU-R BS.1116-3
    section 8.2.3 and EBU Tech 3276 section 2.3 (from memory, unverified).
    """
    return np.clip(0.25 * np.cbrt(positive("volume", volume) / 100.0), 0.2, 0.4)


DIFFUSE = 0.2
"""Mean absorption above which a diffuse field, and all that supposes one, is in doubt: a sound-system
design reference manual, p. 58."""


def proportion_margins(*, length, width, height):
    """Margins of the four conditions on a listening room's proportions [1, 1, 1, 1]; >= 0 passes.

    In order: l/h - 1.1 w/h; 4.5 w/h - 4 - l/h; 3 - l/h; 3 - w/h (the last two must stay above 0).
    length, width, height [m] > 0. Source: BBC Research Department Report RD 1993/8, adopted in
    EBU Tech 3276 and Rec. ITU-R BS.1116-3 section 8.2.2 (inequality from memory, unverified).
    """
    height = positive("height", height)
    lengthwise = positive("length", length) / height
    widthwise = positive("width", width) / height
    return (
        lengthwise - 1.1 * widthwise,
        4.5 * widthwise - 4.0 - lengthwise,
        3.0 - lengthwise,
        3.0 - widthwise,
    )
