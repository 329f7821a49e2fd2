"""How exactly a room is built, and how people differ: the file's ``tolerances``.

``row1.y: ±1/2 in`` (anywhere within), ``front.baffle.depth: {sigma: 3 mm}`` (a normal spread), and
``people: {table: ansur_ii, women: 50 %}`` for the eyes and heads of whoever sits there.
"""

from __future__ import annotations

from collections.abc import Mapping

from pydantic_core import PydanticCustomError

from optimiser.errors import did_you_mean
from optimiser.problem.decisions import Bounds
from optimiser.problem.fields import Complaint, OneOf, Quantity, Reader, Schema, quantity_schema, refusal, refuse

TABLES = ("ansur_ii", "din_33402_2")
"""Published tables of body sizes; what stands in them is in explain/people.py."""

HOW = ("within", "sigma")
PEOPLE = "people"


class Tolerances(Reader):
    """What ``tolerances`` may say; the names in it are checked once the rest of the file is read."""

    def read(self, written: object) -> tuple[tuple[tuple[str, str, str], ...], tuple[str, float] | None]:
        if not isinstance(written, Mapping):
            raise refuse("a mapping is due here", "write {row1.y: ±1/2 in}")
        complaints: list[Complaint] = []
        spreads: list[tuple[str, str, str]] = []
        people = None
        for name, value in written.items():
            if name == PEOPLE:
                people = _people(value, complaints)
                continue
            how, text = "within", value
            if isinstance(value, Mapping):
                if len(value) != 1 or next(iter(value)) not in HOW:
                    complaints.append(((name,), "one of 'within' and 'sigma' is due here", "write {within: 1/2 in}"))
                    continue
                how, text = next(iter(value.items()))
            if not isinstance(text, str):
                complaints.append(((name,), "one value is due here", "write it like '±1/2 in' or {sigma: 3 mm}"))
                continue
            spreads.append((name, how, text))
        if complaints:
            raise refusal(complaints)
        return tuple(spreads), people

    def schema(self) -> Schema:
        people = {
            "type": "object",
            "title": "whose eyes and heads",
            "properties": {"table": {"enum": list(TABLES)}, "women": quantity_schema("ratio")},
            "required": ["table"],
            "additionalProperties": False,
        }
        text = {"type": "string", "maxLength": 64, "examples": ["±1/2 in"]}
        how = {
            "type": "object",
            "properties": {
                "within": {**text, "description": "anywhere so far to either side"},
                "sigma": {**text, "description": "a normal spread with this standard deviation"},
            },
            "minProperties": 1,
            "maxProperties": 1,
            "additionalProperties": False,
        }
        return {
            "type": "object",
            "properties": {PEOPLE: people},
            "additionalProperties": {"anyOf": [text, how]},
        }


def _people(value: object, complaints: list[Complaint]) -> tuple[str, float] | None:
    if not isinstance(value, Mapping) or "table" not in value:
        remedy = f"write {{table: {TABLES[0]}, women: 50 %}}"
        complaints.append(((PEOPLE,), "a mapping with a table is due here", remedy))
        return None
    for key in value:
        if key not in ("table", "women"):
            complaints.append(((PEOPLE, key), f"unknown key '{key}'", did_you_mean(str(key), ("table", "women"))))
    table, women = None, 0.5
    try:
        table = OneOf(*TABLES).read(value["table"])
        if "women" in value:
            women = Quantity(Bounds("ratio", least=0, most=1)).read(value["women"])
    except PydanticCustomError as error:
        key = "table" if table is None else "women"
        complaints.extend(((PEOPLE, key), m, r) for _, m, r in (error.context or {})["complaints"])
    return None if table is None else (table, women)
