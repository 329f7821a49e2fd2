"""Where the structure of the answer changes from one record of a study to the next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from optimiser.problem.decisions import kind_of, split_row

PASSING = ("risers", "tile_rows")
"""Counts that follow from other decisions."""


@dataclass(frozen=True)
class Change:
    """What is otherwise than before. ``what``: "possible", a decision's name, or "binding";
    ``before`` and ``after``: its values, or for a limit whether it binds."""

    what: str
    before: Any
    after: Any
    limit: str = ""


def changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[Change, ...]:
    """What differs in structure between two records: possible or not; rows, seats, kind and shape of
    screen, and other counts; which limits bind. Nothing where either of them tells nothing."""
    if not (tells(before) and tells(after)):
        return ()
    possible = (bool(before["feasible"]), bool(after["feasible"]))
    if possible[0] != possible[1]:
        return (Change("possible", *possible),)
    if not possible[0]:
        return ()
    one, two = before["design"], after["design"]
    names = [n for n in dict.fromkeys((*one, *two)) if _counts(n) and one.get(n) != two.get(n)]
    if "rows" in names:  # seats of rows that come or go are no news beside that
        names = [n for n in names if not (split_row(n) and (n not in one or n not in two))]
    found = [Change(n, one.get(n), two.get(n)) for n in names]
    bound, binds = binding(before), binding(after)
    found += [Change("binding", True, False, limit) for limit in bound if limit not in binds]
    found += [Change("binding", False, True, limit) for limit in binds if limit not in bound]
    return tuple(found)


def tells(record: Mapping[str, Any]) -> bool:
    """Whether it is known of a record that it is possible, or that it is not: of one that failed, or that was not
    settled, nothing is."""
    return bool(record.get("feasible")) or record.get("status") == "impossible"


def binding(record: Mapping[str, Any]) -> tuple[str, ...]:
    """The limits that bind in a record, each once."""
    return tuple(dict.fromkeys(limit["limit"] for limit in record.get("binding", ())))


def _counts(name: str) -> bool:
    return kind_of(name) in ("count", "word", "aspect") and name.rpartition(".")[2] not in PASSING
