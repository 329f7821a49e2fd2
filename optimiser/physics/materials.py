"""Absorption of surface materials by octave band, and the reverberation time of a room lined with them.

The table holds only coefficients whose source can be named. A file may bring its own, from the
maker's test report: a laboratory's figures depend on mounting, and may exceed 1.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from optimiser.physics import acoustics
from optimiser.physics.checks import number, positive

OCTAVE_BANDS = (125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0)
"""Centre frequencies [Hz] of the bands a material's coefficients stand for."""


@dataclass(frozen=True)
class Material:
    """A surface material: absorption coefficients [1] in the octave bands, each in [0, 1.2], and their source.

    ValueError where there are not six coefficients or one lies outside.
    """

    name: str
    absorption: tuple[float, ...]
    source: str

    def __post_init__(self) -> None:
        if len(self.absorption) != len(OCTAVE_BANDS):
            raise ValueError(f"absorption of {self.name} needs {len(OCTAVE_BANDS)} values, 125 Hz to 4 kHz")
        number(f"absorption of {self.name}", self.absorption, at_least=0.0, at_most=1.2)


_TEXTBOOK = "a textbook on auralisation (2008), its tables as quoted by the pyroomacoustics library"
_HANDBOOK = "Master Handbook of Acoustics, reverberation example 2"

MATERIALS = MappingProxyType(
    {
        material.name: material
        for material in (
            Material("concrete", (0.01, 0.01, 0.015, 0.02, 0.02, 0.02), _HANDBOOK),
            Material("gypsum board", (0.29, 0.10, 0.05, 0.04, 0.07, 0.09), _HANDBOOK),
            Material("acoustical tile", (0.09, 0.28, 0.78, 0.84, 0.73, 0.64), _HANDBOOK),
            Material("rendered brickwork", (0.01, 0.02, 0.02, 0.03, 0.03, 0.04), _TEXTBOOK),
            Material("two layers of plasterboard", (0.15, 0.10, 0.06, 0.04, 0.04, 0.05), _TEXTBOOK),
            Material("wooden lining", (0.27, 0.23, 0.22, 0.15, 0.10, 0.07), _TEXTBOOK),
            Material("wooden door", (0.14, 0.10, 0.06, 0.08, 0.10, 0.10), _TEXTBOOK),
            Material("window", (0.10, 0.05, 0.04, 0.03, 0.03, 0.03), _TEXTBOOK),
            Material("thin carpet", (0.02, 0.04, 0.08, 0.20, 0.35, 0.40), _TEXTBOOK),
            Material("carpet on felt", (0.08, 0.08, 0.30, 0.60, 0.75, 0.80), _TEXTBOOK),
            Material("curtain", (0.05, 0.06, 0.39, 0.63, 0.70, 0.73), _TEXTBOOK),
            Material("upholstered seats", (0.49, 0.66, 0.80, 0.88, 0.82, 0.70), _TEXTBOOK),
            Material("mineral wool 50 mm", (0.22, 0.60, 0.92, 0.90, 0.88, 0.88), _TEXTBOOK),
        )
    }
)
"""Materials by name."""

Lining = Iterable[tuple[Material, float]]


def absorption_area(*, lining: Lining) -> np.ndarray:
    """Equivalent absorption area of a room's surfaces in each octave band [m2].

    lining: pairs of a Material and its area [m2] > 0; at least one. ValueError otherwise.
    Source: A = sum of S a, the definition used by Sabine's formula.
    """
    pairs = _checked(lining)
    return np.sum([area * np.asarray(material.absorption) for material, area in pairs], axis=0)


def surface_area(*, lining: Lining) -> float:
    """Total area of a room's surfaces [m2]; lining as for absorption_area()."""
    return float(sum(area for _, area in _checked(lining)))


def reverberation_sabine(*, volume, lining: Lining, speed_of_sound) -> np.ndarray:
    """Reverberation time in each octave band by Sabine's formula [s].

    volume [m3] > 0, lining as for absorption_area(), speed_of_sound [m/s] > 0. Air absorption is
    left out; it shortens the time at 4 kHz in a room with little other absorption.
    Source: acoustics.sabine.
    """
    return acoustics.sabine(
        volume=volume, absorption_area=absorption_area(lining=lining), speed_of_sound=speed_of_sound
    )


def reverberation_eyring(*, volume, lining: Lining, speed_of_sound) -> np.ndarray:
    """Reverberation time in each octave band by Eyring's formula [s]; arguments as above.

    ValueError where the mean absorption reaches above 1, as a laboratory's figures may.
    Source: acoustics.eyring.
    """
    pairs = _checked(lining)
    surface = surface_area(lining=pairs)
    return acoustics.eyring(
        volume=volume,
        surface=surface,
        mean_absorption=absorption_area(lining=pairs) / surface,
        speed_of_sound=speed_of_sound,
    )


def _checked(lining: Lining) -> tuple[tuple[Material, float], ...]:
    pairs = tuple(lining)
    if not pairs:
        raise ValueError("lining must hold at least one surface")
    return tuple((material, float(positive(f"area of {material.name}", area))) for material, area in pairs)
