"""How sound dies away in the room, and how strong it is against the direct sound."""

from __future__ import annotations

import numpy as np

from optimiser.forms import Form, Link, Linked, Quotient, Sum, affine, fixed
from optimiser.linear import Linear, constant
from optimiser.measures.base import measure
from optimiser.measures.layout import Decay, Layout, Row
from optimiser.measures.listening import listening
from optimiser.physics import acoustics
from optimiser.physics.materials import OCTAVE_BANDS

OCTAVES = ("mid", *(int(band) for band in OCTAVE_BANDS))
MID = (OCTAVE_BANDS.index(500.0), OCTAVE_BANDS.index(1000.0))
FORMULAS = (
    "24 ln 10 V / (c A), Sabine; with -S ln(1 - A/S) in the place of A, Eyring; c = 343.2 m/s sqrt((t + 273.15) / 293.15), "
    "t the room's temperature in degC"
)
FORMULA_SOURCES = (
    "Sabine's and Eyring's formulas, as restated by the pyrato library; a diffuse field is assumed, "
    "which a small dry room hardly has"
)


def absorption(layout: Layout, octave: int | str) -> Linear:
    """What all surfaces absorb in an octave band; in the middle, the mean of 500 Hz and 1 kHz."""
    areas = layout.decay.absorption
    if octave == "mid":
        return (areas[MID[0]] + areas[MID[1]]) * 0.5
    return areas[OCTAVE_BANDS.index(float(octave))]


def time_of(decay: Decay, *, volume: float, speed: float) -> Link:
    """From the absorption area [m2] to the reverberation time [s], by the file's formula; of so much air [m3]."""
    surface = decay.surface
    if decay.formula == "sabine":
        return Link(
            lambda a: acoustics.sabine(volume=volume, absorption_area=a, speed_of_sound=speed),
            lambda t: acoustics.absorption_of_sabine(volume=volume, reverberation_time=t, speed_of_sound=speed),
            increasing=False,
            low=0.0,
        )
    return Link(
        lambda a: acoustics.eyring(volume=volume, surface=surface, mean_absorption=a / surface, speed_of_sound=speed),
        lambda t: (
            acoustics.absorption_of_eyring(volume=volume, surface=surface, reverberation_time=t, speed_of_sound=speed)
            * surface
        ),
        increasing=False,
        low=0.0,
    )


def decay_time(layout: Layout, octave: int | str = "mid") -> Form:
    """Reverberation time in an octave band."""
    if layout.decay.time is not None:
        return fixed(layout.decay.time)
    link = time_of(layout.decay, volume=layout.volume, speed=layout.speed_of_sound)
    return Quotient(absorption(layout, octave), constant(1.0), link)


@measure(
    quantity="time",
    needs=("decay",),
    options={"octave": OCTAVES},
    formula=f"as the file gives it, or {FORMULAS}",
    source=FORMULA_SOURCES,
)
def reverberation_time(layout: Layout, octave: int | str) -> Form:
    """Reverberation time of the room, in an octave band or from the mean absorption of 500 Hz and 1 kHz."""
    return decay_time(layout, octave)


@measure(
    quantity="ratio",
    signed=False,
    needs=("decay",),
    formula="T / (0.25 s (V / 100 m3)^(1/3)), the divisor within 0.2 and 0.4 s",
    source="nominal time of ITU-R BS.1116-3, 8.2.3, and EBU Tech 3276, 2.3; from memory, unverified",
)
def reverberation_ratio(layout: Layout) -> Form:
    """Reverberation time over the published nominal time of a listening room of this volume."""
    nominal = acoustics.nominal_reverberation_time(volume=layout.volume)
    return Linked(decay_time(layout), Link(lambda t: t / nominal, lambda ratio: ratio * nominal))


@measure(
    quantity="ratio", signed=False, needs=("lining",), options={"octave": OCTAVES}, formula="A / S", source="definition"
)
def mean_absorption(layout: Layout, octave: int | str) -> Form:
    """Share of the sound that the room's surfaces absorb on the average. Much above 0.2 no field is diffuse."""
    return Quotient(absorption(layout, octave), constant(layout.decay.surface))


@measure(quantity="area", needs=("panels",), formula="number of panels times their area", source="definition")
def treated_area(layout: Layout) -> Form:
    """Area of the absorbing panels."""
    return affine(layout.panels)


@measure(
    quantity="level",
    per_row=True,
    needs=("decay",),
    formula="20 log10(r_c / r), r = y - baffle depth, r_c = 0.057 sqrt(Q V / T)",
    source="room acoustics textbooks; a diffuse field is assumed, which a small dry room hardly has",
)
def direct_to_reverberant(layout: Layout, row: Row) -> Form:
    """Direct over reverberant sound of one front loudspeaker at the row, from the critical distance."""
    away = listening(layout, row)
    if not layout.decay.absorption or absorption(layout, "mid").is_constant:
        critical = _critical(layout, decay_time(layout).value({}))
        return Quotient(away, layout.speakers.root, _level_of_distance(critical))
    at_one_metre = Link(
        lambda t: acoustics.direct_to_reverberant(distance=1.0, critical_distance=_critical(layout, t)),
        lambda level: acoustics.reverberation_of_critical_distance(
            critical_distance=1.0 / acoustics.distance_of_direct_to_reverberant(level=level, critical_distance=1.0),
            volume=layout.volume,
            directivity=layout.speakers.directivity,
        ),
        increasing=False,
    )
    farther = Quotient(away, layout.speakers.root, _level_of_distance(1.0))
    return Sum(((1.0, Linked(decay_time(layout), at_one_metre)), (1.0, farther)))


@measure(
    quantity="frequency",
    needs=("decay",),
    formula="2000 sqrt(T / V)",
    source="Schroeder frequency, JASA 99(5):3240 (1996) for the constant, from memory",
)
def transition_frequency(layout: Layout) -> Form:
    """Frequency below which the room's single modes rule and above which statistics may."""
    volume = layout.volume
    if not layout.decay.absorption:
        return fixed(acoustics.transition_frequency(volume=volume, reverberation_time=layout.decay.time))
    link = Link(
        lambda t: acoustics.transition_frequency(volume=volume, reverberation_time=t),
        lambda f: acoustics.reverberation_of_transition_frequency(volume=volume, frequency=f),
        low=0.0,
    )
    return Linked(decay_time(layout), link)


def _critical(layout: Layout, time):
    """Critical distance at a reverberation time."""
    return acoustics.critical_distance(
        volume=layout.volume, reverberation_time=time, directivity=layout.speakers.directivity
    )


def _level_of_distance(critical: float) -> Link:
    """From a distance to direct over reverberant sound there."""
    return Link(
        # a row before the baffle is no design, but ranges of rows reach there
        lambda r: acoustics.direct_to_reverberant(distance=np.maximum(r, 0.0), critical_distance=critical),
        lambda level: acoustics.distance_of_direct_to_reverberant(level=level, critical_distance=critical),
        increasing=False,
    )
