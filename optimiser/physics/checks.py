"""Checks of input values, shared by the physics modules.

Refusing a bad number here keeps NaN from travelling silently through a formula into a score.
"""

from __future__ import annotations

import math

import numpy as np


def number(
    name: str,
    value,
    *,
    unit: str = "",
    above: float | None = None,
    at_least: float | None = None,
    below: float | None = None,
    at_most: float | None = None,
    infinite: bool = False,
) -> np.ndarray:
    """``value`` as a float array (one float as a numpy float), after checking every entry.

    Raises ValueError, naming the quantity and the first offending entry, where an entry is not a
    number, is infinite (unless ``infinite``), or lies outside the stated bounds.
    """
    if isinstance(value, float) and _fits(value, above, at_least, below, at_most, infinite):
        return np.float64(value)  # one good number, as when one design is scored: a tenth of the time
    array = np.asarray(value)
    if array.dtype.kind not in "iuf":
        raise ValueError(f"{name} must be a number, not {value!r}")
    array = array.astype(float)
    _refuse(np.isnan(array), array, f"{name} must be a number, not NaN")
    if not infinite:
        _refuse(np.isinf(array), array, f"{name} must be finite")
    shown = f" {unit}" if unit else ""
    if above is not None:
        words = "positive" if above == 0.0 else f"above {above:g}{shown}"
        _refuse(array <= above, array, f"{name} must be {words}")
    if at_least is not None:
        words = "zero or more" if at_least == 0.0 else f"at least {at_least:g}{shown}"
        _refuse(array < at_least, array, f"{name} must be {words}")
    if below is not None:
        _refuse(array >= below, array, f"{name} must be below {below:g}{shown}")
    if at_most is not None:
        _refuse(array > at_most, array, f"{name} must be at most {at_most:g}{shown}")
    return array


def _fits(
    value: float,
    above: float | None,
    at_least: float | None,
    below: float | None,
    at_most: float | None,
    infinite: bool,
) -> bool:
    """Whether one number is all that is asked of it; NaN never is."""
    return (
        (math.isfinite(value) or (infinite and value == value))
        and (above is None or value > above)
        and (at_least is None or value >= at_least)
        and (below is None or value < below)
        and (at_most is None or value <= at_most)
    )


def positive(name: str, value) -> np.ndarray:
    """``value`` as a float array of finite numbers above zero; ValueError otherwise."""
    return number(name, value, above=0.0)


def finite(name: str, value) -> np.ndarray:
    """``value`` as a float array of finite numbers; ValueError otherwise."""
    return number(name, value)


def whole(name: str, value, *, at_least: int) -> np.ndarray:
    """``value`` as an integer array, no entry below ``at_least``; ValueError otherwise."""
    array = number(name, value, at_least=float(at_least))
    _refuse(array != np.floor(array), array, f"{name} must be a whole number")
    return array.astype(np.int64)


def _refuse(bad: np.ndarray, array: np.ndarray, words: str) -> None:
    if np.any(bad):
        first = array[bad].flat[0]
        raise ValueError(f"{words} (got {first:g})")
