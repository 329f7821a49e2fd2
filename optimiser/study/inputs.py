"""The values that a study gives to an input: ``16 ft..24 ft step 6 in``, or a list, ``2 in, 4 in``."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from numbers import Real
from typing import Any

import numpy as np

from optimiser.errors import QuantityError, UsageError, did_you_mean
from optimiser.problem.changed import WORD, spot
from optimiser.quantity import DEGREE, parse, show
from optimiser.record import UNITS, outward

MOST = 100_000
"""Values of one input, beyond which a step must be a slip of the pen."""

UNIT_OF = {**UNITS, "aspect": "1", "number": "1", "flux": "lm", "volume": "m3", "temperature": "K"}
"""The unit in which records give a kind of quantity."""

WRITTEN_IN = {
    "length": "m",
    "angle": "deg",
    "time": "s",
    "frequency": "Hz",
    "level": "dB",
    "area": "m2",
    "volume": "m3",
    "luminance": "cd/m2",
    "flux": "lm",
    "pixels_per_degree": "px/deg",
    "temperature": "K",
}
"""The unit in which a computed value is handed to the problem file; none for the other kinds."""

_RANGE = re.compile(r"(?P<first>.+?)\s*\.\.\s*(?P<last>.+?)(?:\s+step\s+(?P<step>.+))?", re.IGNORECASE)


@dataclass(frozen=True)
class Input:
    """A path of the problem file with the texts that it takes in turn, and what they are in SI (None for words)."""

    path: str
    kind: str
    texts: tuple[str, ...]
    values: tuple[float | None, ...]

    @property
    def unit(self) -> str:
        """Unit of ``outward``; empty for words."""
        return "" if self.kind == WORD else UNIT_OF[self.kind]

    @property
    def outward(self) -> tuple[float | str | None, ...]:
        """The values as records give them: degrees for angles, words as they are."""
        return tuple(t if v is None else outward(self.kind, v) for t, v in zip(self.texts, self.values, strict=True))

    def shown(self, at: int, system: str) -> str:
        """One value for people, in the file's units."""
        value = self.values[at]
        return self.texts[at] if value is None else show(self.kind, value, system)


Value = str | float | bool
"""A value as a person writes it, or a number: metres, degrees and otherwise SI, as records tell it."""


def read_input(text: str, file: str, path: str, values: Value | Sequence[Value]) -> Input:
    """The input at ``path`` of a problem file's text, with values as a person writes them, or numbers. Raises
    UsageError."""
    found = spot(text, file, path)
    if isinstance(values, str) and (match := _RANGE.fullmatch(values.strip())):
        if found.kind == WORD:
            raise UsageError(f"{path}: no quantity stands here; list its values, separated by commas")
        if match["step"] is None:
            raise UsageError(f"{path}: say the step too, as in '16 ft..24 ft step 6 in'")
        return _range(found.path, found.kind, match["first"], match["last"], match["step"])
    if isinstance(values, str):
        listed: Sequence[Any] = values.split(",")
    else:
        listed = list(values) if isinstance(values, Iterable) else [values]
    texts = tuple(_written(found.path, found.kind, one) for one in listed)
    if not texts or not all(texts):
        raise UsageError(f"{path}: write its values as '16 ft..24 ft step 6 in' or '2 in, 4 in'")
    if len(set(texts)) < len(texts):
        raise UsageError(f"{path}: a value is listed twice")
    for one in texts if found.words else ():
        if one not in found.words:
            raise UsageError(f"{path}: '{one}' cannot stand here: {did_you_mean(one, found.words)}")
    if found.kind == WORD:
        return Input(found.path, WORD, texts, (None,) * len(texts))
    return Input(found.path, found.kind, texts, tuple(float(_quantity(found.path, found.kind, t)) for t in texts))


def _written(path: str, kind: str, value: Any) -> str:
    """A value as a problem file writes it."""
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, bool | np.bool_):
        return "true" if value else "false"
    if not isinstance(value, Real) or not math.isfinite(value):
        raise UsageError(f"{path}: {value!r} is no value: give texts, as '3.2 m', or numbers")
    unit = WRITTEN_IN.get(kind)
    number = f"{float(value):.12f}".rstrip("0").rstrip(".")
    return f"{number} {unit}" if unit else number


def _quantity(path: str, kind: str, text: str):
    try:
        return parse(kind, text, signed=True)
    except QuantityError as error:
        raise UsageError(f"{path}: {error}") from None


def _range(path: str, kind: str, first: str, last: str, step: str) -> Input:
    low, high, each = (_quantity(path, kind, text) for text in (first, last, step))
    if kind == "temperature":
        each -= parse(kind, "0 " + re.sub(r"[0-9.+\-\s/]", "", step))  # a difference, not a temperature
    if each <= 0:
        raise UsageError(f"{path}: the step must be more than nothing")
    if high < low:
        raise UsageError(f"{path}: the first value is greater than the last")
    count = math.floor((high - low) / each + 1e-9) + 1
    if count > MOST:
        raise UsageError(f"{path}: that is {count:,} values; take a larger step")
    values = [low + each * at for at in range(count)]
    return Input(path, kind, tuple(_text(kind, v) for v in values), tuple(map(float, values)))


def _text(kind: str, value: Fraction | float) -> str:
    """A computed value as a problem file may write it: exact, or to twelve decimals."""
    number = float(value) / DEGREE if kind == "angle" else value
    text = f"{float(number):.12f}".rstrip("0").rstrip(".")
    unit = WRITTEN_IN.get(kind)
    return f"{text} {unit}" if unit else text
