"""The step that counts as much as another: an inch, a degree, half a decibel."""

from __future__ import annotations

import math
from collections.abc import Mapping

from optimiser.errors import QuantityError, UsageError, did_you_mean, of_each
from optimiser.quantity import FOOT_LAMBERT, KINDS, parse, show

STEPS: dict[str, tuple[float, float]] = {
    "length": (0.025, 0.0254),
    "angle": (math.radians(1.0), math.radians(1.0)),
    "ratio": (0.01, 0.01),
    "time": (0.02, 0.02),
    "frequency": (5.0, 5.0),
    "level": (0.5, 0.5),
    "area": (0.1, 0.3048**2),
    "volume": (1.0, 1.0),
    "luminance": (3.0, FOOT_LAMBERT),
    "flux": (100.0, 100.0),
    "pixels_per_degree": (1.0, 1.0),
    "temperature": (1.0, 1.0),
    "aspect": (0.05, 0.05),
    "count": (1.0, 1.0),
    "number": (0.1, 0.1),
    "mass": (0.5, 0.45359237),
    "money": (100.0, 100.0),
}
"""Step of each kind of quantity (SI): for metric files, and for those in feet or inches."""

_SHOWN = {  # what show() rounds to
    "angle": math.radians(0.1),
    "ratio": 0.001,
    "time": 0.01,
    "frequency": 0.1,
    "level": 0.1,
    "area": 0.01,
    "luminance": 0.1,
    "pixels_per_degree": 0.1,
    "count": 0.001,
    "number": 0.001,
    "mass": 0.05,
}


def step_of(kind: str, system: str, own: Mapping[str, float] | None = None) -> float:
    """The step of a kind of quantity in a file that shows lengths in ``system``; ``own`` go before."""
    if own and kind in own:
        return own[kind]
    return STEPS[kind][1 if system in ("ft-in", "in") else 0]


def on_grid(own: Mapping[str, float] | None, grid: float, system: str) -> dict[str, float]:
    """The steps asked for (``own``), with one of lengths where none is asked for and the grid [m] is coarser than the
    usual one: ends that move by less than from one point of the grid to the next mostly admit what they did."""
    steps = dict(own or {})
    if "length" not in steps and grid > step_of("length", system):
        steps["length"] = grid
    return steps


def fine(kind: str) -> float:
    """A difference too small to be seen in what is printed: half of the last digit."""
    return 0.5 * _SHOWN.get(kind, 0.001)


def read_steps(texts: Mapping[str, str]) -> dict[str, float]:
    """Steps by kind from texts such as ``length=2 in``. UsageError with all that is wrong."""
    found = {}

    def read(item: tuple[str, str]) -> None:
        kind, text = item
        if kind not in STEPS:
            raise UsageError(f"unknown kind of quantity '{kind}': {did_you_mean(kind, STEPS)}")
        try:
            found[kind] = float(parse(kind, text))
        except QuantityError as error:
            raise UsageError(f"step of {KINDS[kind].name}: {error}") from None
        if not 0.0 < found[kind] < math.inf:
            raise UsageError(f"step of {KINDS[kind].name}: it must be more than zero")

    of_each(read, texts.items())
    return found


def shown_up(kind: str, value: float, system: str) -> str:
    """An amount as text, rounded up, so that what is said to be enough is."""
    return show(kind, rounded_up(kind, value, system), system)


def rounded_up(kind: str, value: float, system: str) -> float:
    """An amount [SI], rounded up to what is shown of it."""
    if kind == "length":
        unit = 0.0254 / 16 if system in ("ft-in", "in") else 0.001
    else:
        unit = _SHOWN.get(kind, 0.0)
    if unit and math.isfinite(value):
        value = math.ceil(value / unit - 1e-3) * unit
    return value
