"""Which function a link is, found by trying: for a solver that must be told in its own words."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from optimiser.forms import Link

CLOSE = 1e-9


@dataclass(frozen=True)
class Function:
    """``shift + scale * f(x)``. ``kind``: angle (arc tangent, or arc cotangent where not increasing), log
    (natural logarithm), power (of ``exponent``), cosine (logarithm of cos(exponent * x)).
    ``least`` and ``most`` say where it is defined."""

    kind: str
    scale: float
    shift: float
    increasing: bool
    exponent: float = 1.0
    least: float = -math.inf
    most: float = math.inf

    def of(self, x, *, log: Callable, exp: Callable, cos: Callable):
        """The function of a solver's expression."""
        if self.kind == "log":
            return self.shift + self.scale * log(x)
        if self.kind == "cosine":
            return self.shift + self.scale * log(cos(self.exponent * x))
        if self.kind == "power":
            return self.shift + self.scale * x**self.exponent
        raise NotImplementedError(self.kind)

    def range(self, low: float, high: float) -> tuple[float, float]:
        """Least and greatest value between two ends."""
        ends = [float(self.of(x, log=np.log, exp=np.exp, cos=np.cos)) for x in (low, high)]
        return min(ends), max(ends)


def recognised(link: Link) -> Function:
    """The function that a link's values are of; NotImplementedError where it is none that is known here."""
    if getattr(link, "forward", None) is None:
        raise NotImplementedError("no function at all")
    for attempt in (_angle, _cosine, _logarithm, _power):
        found = attempt(link)
        if found is not None:
            return found
    raise NotImplementedError("a function that is not known here")


def _values(link: Link, places: np.ndarray) -> np.ndarray | None:
    try:
        with np.errstate(all="ignore"):
            values = np.asarray(link.forward(places), dtype=float)
    except ValueError:
        return None
    return values if values.shape == places.shape else None


def _same(a, b) -> bool:
    return bool(np.allclose(a, b, rtol=CLOSE, atol=CLOSE))


def _angle(link: Link) -> Function | None:
    places = np.linspace(-2.0, 2.0, 41)
    values = _values(link, places)
    if values is None:
        return None
    for scale in (1.0, 2.0):
        if _same(values, scale * np.arctan(places)):
            return Function("angle", scale, 0.0, True)
    for scale in (1.0, 0.5):
        if _same(values, scale * (np.pi / 2 - np.arctan(places))):
            return Function("angle", scale, 0.0, False)
    return None


def _cosine(link: Link) -> Function | None:
    for order in (1, 2, 3, 4):
        places = np.linspace(0.0, 0.45 / order, 31)
        values = _values(link, places)
        if values is not None and _same(values, 20 * np.log10(np.cos(order * np.pi * places))):
            # just short of the null, where the level is 120 dB down
            return Function("cosine", 20 / math.log(10), 0.0, False, order * math.pi, 0.0, (0.5 - 3e-7) / order)
    return None


def _logarithm(link: Link) -> Function | None:
    places = np.linspace(0.5, 6.0, 41)
    values = _values(link, places)
    if values is None:
        return None
    scale = (values[-1] - values[0]) / math.log(places[-1] / places[0])
    shift = values[0] - scale * math.log(places[0])
    if not _same(values, shift + scale * np.log(places)):
        return None
    return Function("log", scale, shift, scale > 0, least=1e-3)


def _power(link: Link) -> Function | None:
    places = np.linspace(0.5, 6.0, 41)
    values = _values(link, places)
    if values is None:
        return None
    for exponent in (-2.0, -1.0, 0.5, 1.0, 2.0):
        above, below = places[-1] ** exponent, places[0] ** exponent
        scale = (values[-1] - values[0]) / (above - below)
        shift = values[0] - scale * below
        if _same(values, shift + scale * places**exponent):
            least = 1e-3 if exponent < 0 else 0.0
            return Function("power", scale, shift, scale * exponent > 0, exponent, least)
    return None
