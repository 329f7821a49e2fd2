"""How exactly a room is built, and how people differ: the file's ``tolerances``.

``row1.y: ±1/2 in`` (anywhere within), ``front.baffle.depth: {sigma: 3 mm}`` (a normal spread), and
``people: {table: ansur_ii, women: 50 %}`` for the eyes and heads of whoever sits there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from pydantic_core import PydanticCustomError

from optimiser.errors import QuantityError, UsageError, did_you_mean
from optimiser.problem.decisions import DECISIONS, Bounds, bounds_of, names, split_row
from optimiser.problem.fields import Complaint, OneOf, Quantity, Reader, Schema, quantity_schema, refusal, refuse
from optimiser.problem.model import Mark, People, Problem, Spread
from optimiser.problem.parts import parts
from optimiser.quantity import KINDS, parse

TABLES = ("ansur_ii", "din_33402_2")
"""Published tables of body sizes; what stands in them is in explain/people.py."""

HOW = ("within", "sigma")
PEOPLE = "people"
VARIED = ("length", "angle", "ratio", "time", "number", "flux", "area")
"""Kinds of quantity that can be a little off; numbers of things and words cannot."""

SIGNS = ("±", "+/-", "+-")


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
        complaints.append(((PEOPLE,), "a mapping with a table is due here", f"write {{table: {TABLES[0]}, women: 50 %}}"))
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


def read_tolerances(
    written: tuple[tuple[tuple[str, str, str], ...], tuple[str, float] | None],
    problem: Problem,
    fault: Callable[..., None],
    mark: Callable[[tuple], Mark],
) -> tuple[tuple[Spread, ...], People | None]:
    """The spreads and people of a file whose other parts are read; complaints go to ``fault``."""
    spreads, people = written
    found: list[Spread] = []
    for name, how, text in spreads:
        path = ("tolerances", name)
        try:
            found.append(spread(problem, name, text, how=how, where=mark(path)))
        except QuantityError as error:
            fault((*path, how) if how == "sigma" else path, error.message, error.remedy)
        except UsageError as error:
            message, _, remedy = str(error).partition(": ")
            fault(path, message, remedy, key=True)
    return tuple(found), None if people is None else People(*people, mark(("tolerances", PEOPLE)))


def spread(problem: Problem, name: str, text: str, *, how: str = "within", where: Mark | None = None) -> Spread:
    """A spread of a decision or a number of the file, as ``row1.y`` and ``±1/2 in``.

    Raises UsageError for a name that nothing has, QuantityError for an amount that cannot be read.
    """
    path, bounds = varied(problem, name)
    bare = text.strip()
    for sign in SIGNS:
        bare = bare.removeprefix(sign)
    amount = float(parse(bounds.kind, bare))
    if not 0.0 < amount < float("inf"):
        raise QuantityError(f"'{text.strip()}' is too small", "it must be more than zero")
    if how == "within":
        return Spread(path, bounds.kind, within=amount, where=where)
    return Spread(path, bounds.kind, sigma=amount, where=where)


def varied(problem: Problem, name: str) -> tuple[str, Bounds]:
    """The name of a decision, or the path of a number in the file, that may be a little off."""
    row = split_row(name)
    most = max(problem.seating.rows)
    if row is not None and row[0] > most:
        raise UsageError(f"unknown input '{name}': the file allows at most {most} row{'s' if most > 1 else ''}")
    if row is not None or name in DECISIONS:
        bounds = bounds_of(name)
        if bounds.kind not in VARIED:
            raise UsageError(f"'{name}' is {KINDS[bounds.kind].name if bounds.kind in KINDS else 'a word'}: it cannot be a little off")
        return name, bounds
    numbers = {p.path: p for p in parts(problem) if not p.decided}
    if name not in numbers:
        raise UsageError(f"unknown input '{name}': {did_you_mean(name, [*numbers, *names(most)])}")
    if numbers[name].kind not in VARIED:
        raise UsageError(f"'{name}' is {KINDS[numbers[name].kind].name}: it cannot be a little off")
    return name, numbers[name].bounds
