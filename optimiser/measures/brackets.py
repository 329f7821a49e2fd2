"""What stands in the brackets after a measure's name: its row, and its options with their own values.

Written ``upward_angle[2]``, ``upward_angle[row=worst]``, ``mode_level[row=2,order=2]``.
"""

from __future__ import annotations

import re

from optimiser.errors import UsageError, did_you_mean
from optimiser.measures.base import Measure
from optimiser.words import listed

_ASKED = re.compile(r"\s*([a-z_0-9]+)\s*(?:\[([^\]]*)\])?\s*")


def split_asked(asked: str) -> tuple[str, str | None]:
    """The name of what is asked for, and what stands in the brackets after it (None: there are none); the whole text as a
    name where it is not so written."""
    match = _ASKED.fullmatch(asked)
    return (asked, None) if match is None else (match[1], match[2])


def read_brackets(asked: str, inside: str | None, measure: Measure) -> tuple[str | None, dict[str, object]]:
    """The row as it is written (None: none is), and the options that are. ``asked`` is the whole text, for
    messages. Raises UsageError."""
    found: dict[str, str] = {}
    for part in (inside or "").split(",") if (inside or "").strip() else ():
        key, equals, value = (each.strip() for each in part.partition("="))
        if not equals:  # a word or number alone is a row's
            key, value = "row", key
        if not key or not value or key in found:
            raise UsageError(f"'{asked}': between the brackets write a row and option=value, each once")
        found[key] = value
    row = found.pop("row", None)
    return row, {key: _option(asked, measure, key, value) for key, value in found.items()}


def _option(asked: str, measure: Measure, key: str, value: str) -> object:
    """What a measure has an option's value as."""
    if key not in measure.options:
        near = did_you_mean(key, ["row", *measure.options])
        raise UsageError(f"'{asked}': {measure.name} has no option '{key}': {near}")
    allowed = {str(each): each for each in measure.options[key]}
    if value not in allowed:
        raise UsageError(f"'{asked}': '{value}' is no {key}: write {listed(list(allowed), 'or')}")
    return allowed[value]
