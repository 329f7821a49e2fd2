"""A study as plain rows: which columns it has, and the cells of each record. SI units, degrees."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from optimiser.problem.changed import WORD
from optimiser.problem.decisions import kind_of
from optimiser.sheet.results.words import binding_words, change_words, trouble_words
from optimiser.study.changes import changes, tells
from optimiser.study.inputs import UNIT_OF
from optimiser.study.reading import Study

Cell = str | float | int | bool | None


@dataclass(frozen=True)
class Column:
    """A column: what it is called, the kind of quantity of its values (empty: text or yes and no), and
    their unit in records."""

    name: str
    kind: str = ""
    unit: str = ""

    @property
    def title(self) -> str:
        """The name with the unit."""
        return f"{self.name} [{self.unit}]" if self.unit not in ("", "1") else self.name


@dataclass(frozen=True)
class Columns:
    """The columns of a study, in groups."""

    asked: tuple[Column, ...]
    result: tuple[Column, ...]
    decisions: tuple[Column, ...]
    told: tuple[Column, ...]
    goals: tuple[str, ...]

    @property
    def all(self) -> tuple[Column, ...]:
        return (*self.asked, *self.result, *self.decisions, *self.told)


def columns_of(study: Study) -> Columns:
    """The columns of a study: read its records once."""
    decisions: dict[str, None] = {}
    goals: dict[str, None] = {}
    paths: dict[str, None] = {}
    for record in study.records():
        decisions |= dict.fromkeys(record.get("design") or {})
        goals |= dict.fromkeys(_goal_names(record))
        paths |= dict.fromkeys(record.get("inputs") or {})
    asked = [Column("index")]
    result = [Column("status"), Column("score"), Column("bound"), Column("proven")]
    told = [Column("binding"), Column("trouble")]
    if study.kind == "sweep":
        asked += [Column(i.path, "" if i.kind == WORD else i.kind, i.unit) for i in study.sweep.inputs]
        told.insert(1, Column("changes"))
    elif study.kind == "batch":
        asked += [Column("name"), *(Column(path) for path in paths)]
    else:
        asked += [Column(o["name"], o["kind"], o["unit"] or "") for o in study.header["objectives"]]
        result = [Column("knee"), Column("score")]
        told = []
    found = [Column(name, kind_of(name), _unit(name)) for name in decisions]
    return Columns(tuple(asked), tuple(result), tuple(found), tuple(told), tuple(goals))


def _unit(name: str) -> str:
    kind = kind_of(name)
    return "" if kind == "word" else UNIT_OF[kind]


def rows_of(study: Study, columns: Columns) -> Iterator[tuple[Mapping[str, Any], list[Cell]]]:
    """Each record with its cells, in the order of the columns."""
    seen: dict[int, Mapping[str, Any]] = {}
    system = study.problem.show if study.problem is not None else "m"
    for record in study.records():
        cells = _asked(study, record, columns) + [record.get(c.name) for c in columns.result]
        design = record.get("design") or {}
        cells += [design.get(c.name) for c in columns.decisions]
        for column in columns.told:
            if column.name == "binding":
                cells.append(binding_words(record))
            elif column.name == "changes":
                cells.append(_changes(study, record, seen, system))
            else:
                cells.append(trouble_words(record))
        if study.kind == "sweep":
            seen[record["index"]] = record
        yield record, cells


def _asked(study: Study, record: Mapping[str, Any], columns: Columns) -> list[Cell]:
    if study.kind == "batch":
        texts = record["inputs"]
        return [record["index"], record["name"], *(texts.get(c.name) for c in columns.asked[2:])]
    return [record["index"], *record["values"]]


def _changes(study: Study, record: Mapping[str, Any], seen: Mapping[int, Mapping[str, Any]], system: str) -> str:
    """What is otherwise than at the value before, of each input in turn."""
    place = study.sweep.place(record["index"])
    found = []
    for axis, one in enumerate(study.sweep.inputs):
        if place[axis] == 0:
            continue
        behind = ((*place[:axis], at, *place[axis + 1 :]) for at in range(place[axis] - 1, -1, -1))
        known = (seen.get(study.sweep.index(there), {}) for there in behind)
        before: Mapping[str, Any] = next((one for one in known if tells(one)), {})
        words = change_words(changes(before, record), system)
        if words:
            found.append("; ".join(words) if len(place) == 1 else f"over {one.path}: " + "; ".join(words))
    return ". ".join(found)


# --- goals --------------------------------------------------------------------------------------


def goal_scores(record: Mapping[str, Any]) -> dict[str, float]:
    """The scores of a record's goals by name; goals of one name are told apart by number."""
    names = _goal_names(record)
    return dict(zip(names, (goal["score"] for goal in record.get("goals", ())), strict=True))


def _goal_names(record: Mapping[str, Any]) -> list[str]:
    names: list[str] = []
    for goal in record.get("goals", ()):
        name, count = goal["goal"], 2
        while name in names:
            name, count = f"{goal['goal']} ({count})", count + 1
        names.append(name)
    return names
