"""Decisions that are pinned in a whole study, checked before any of it is solved."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from optimiser.errors import QuantityError, UsageError, of_each
from optimiser.problem.changed import with_texts
from optimiser.problem.decisions import Things, bounds_of, read_value
from optimiser.problem.model import Problem

_PART = re.compile(r"(front\.|room\.|seating\.place\.|seating\.)")
_KIND = re.compile(r"front\.screens\.[^.]+\.")
_OTHERWISE = {"seating.aisle.sides": "aisle.side"}
"""Paths of the file whose decision has a name of its own."""


def check_pins(text: str | None, name: str, fixed: Mapping[str, str], paths: Iterable[str], source: str) -> None:
    """Refuse decisions that nothing is called, values that cannot be read, and a decision that is pinned while
    ``source`` (a sweep, a table) gives it values at one of the ``paths``, which would have no effect. ``text`` is
    the problem file's; None where each room has its own. Raises UsageError with all that is wrong."""
    problem = with_texts(text, name, {}) if fixed and text is not None else None
    given = list(paths)

    def check(pin: tuple[str, str]) -> None:
        _read(problem, *pin)
        path = next((p for p in given if _gives(p, pin[0])), None)
        if path is not None:
            raise UsageError(
                f"{pin[0]} is pinned to {pin[1]}, so that {path} of {source} would change nothing: leave one of them out"
            )

    of_each(check, fixed.items())


def _read(problem: Problem | None, name: str, value: str) -> None:
    if problem is not None:
        read_value(problem, name, value)
        return
    bounds = bounds_of(name)
    if isinstance(value, str) and not isinstance(bounds, Things):  # what a list holds, each file says itself
        try:
            bounds.read(value)
        except QuantityError as error:
            raise UsageError(f"{name}: {error}") from None


def _gives(path: str, name: str) -> bool:
    """Whether a path of the file gives values, or an end of its range, to the decision of that name."""
    called = _OTHERWISE.get(path) or _PART.sub("", _KIND.sub("screen.", path), count=1)
    return called in (name, f"{name}.from", f"{name}.to")
