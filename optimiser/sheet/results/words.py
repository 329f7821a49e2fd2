"""The words of a study's results: what binds, what changes, what became of a record."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from optimiser.problem.decisions import plain_value
from optimiser.study.changes import Change, binding
from optimiser.study.objectives import show_recorded
from optimiser.study.reading import Study
from optimiser.words import decision_words, spoken

STATUS = {"impossible": "impossible", "failed": "failed", "unknown": "not settled"}


def limit_words(label: str) -> str:
    """A limit's label as a person reads it: ``sightline clearance (row 2)``."""
    name, _, inside = label.partition("[")
    words = name.replace("_", " ")
    return f"{words} ({inside.rstrip(']').replace('=', ' ').replace(',', ', ')})" if inside else words


def status_words(record: Mapping[str, Any]) -> str:
    """Why a record has no design; empty where it has one."""
    return "" if record.get("feasible") else STATUS.get(record.get("status", ""), "no design")


def binding_words(record: Mapping[str, Any]) -> str:
    """The limits that bind."""
    return ", ".join(limit_words(label) for label in binding(record))


def trouble_words(record: Mapping[str, Any]) -> str:
    """Why a record has no design, in full: the error, or the limits that exclude each other."""
    if record.get("feasible"):
        return ""
    if record.get("error"):
        return str(record["error"])
    limits = [limit_words(one["limit"]) for one in record.get("conflict", ())]
    if not limits:
        return (
            "the solver's effort did not suffice" if record.get("status") == "unknown" else "no design holds all limits"
        )
    if len(limits) == 1:
        return f"cannot hold: {limits[0]}"
    return "cannot hold together: " + ", ".join(limits)


def first_words(trouble: str) -> str:
    """The first of several faults, a line each, and how many more there are: what a table's cell has room for."""
    first, *more = trouble.splitlines() or [""]
    return f"{first}; and {len(more)} more fault{'s' if len(more) > 1 else ''}" if more else first


def change_words(found: Sequence[Change], system: str) -> list[str]:
    """What is otherwise than before, a text each."""
    return [_change(change, system) for change in found]


def _change(change: Change, system: str) -> str:
    if change.what == "possible":
        return "possible from here" if change.after else "impossible from here"
    if change.what == "binding":
        return f"{limit_words(change.limit)} {'begins' if change.after else 'ceases'} to bind"
    before, after = (decision_value(change.what, v, system) for v in (change.before, change.after))
    return f"{decision_words(change.what)} {before} to {after}"


def decision_value(name: str, value: Any, system: str) -> str:
    """A decision's value in a record, for people."""
    if value is None:
        return "none"
    return spoken(name, value if isinstance(value, str) else plain_value(name, value, system))


def objective_heads(study: Study) -> list[str]:
    """What heads the values of a front's records: the objectives, costs with their currency."""
    return [
        f"{o['label']} [{unit}]" if o["kind"] == "money" and (unit := unit_of(study, o["kind"], None)) else o["label"]
        for o in study.header["objectives"]
    ]


def objective_values(study: Study, record: Mapping[str, Any], system: str) -> list[str]:
    """A front's record in the objectives, as the file shows such quantities; costs without their currency."""
    asked = study.header["objectives"]
    return [show_recorded(o["kind"], value, system) for o, value in zip(asked, record["values"], strict=True)]


def objective_amounts(study: Study, record: Mapping[str, Any], system: str) -> list[str]:
    """The same, costs with their currency."""
    values = objective_values(study, record, system)
    return [
        f"{value} {unit_of(study, 'money', None)}".strip() if o["kind"] == "money" else value
        for o, value in zip(study.header["objectives"], values, strict=True)
    ]


def unit_of(study: Study, kind: str, unit: str | None) -> str:
    """The unit of a record's values in words: of money the file's currency."""
    if kind == "money":
        return study.problem.currency if study.problem is not None else ""
    return unit or ""
