"""How single values of a problem file are read, and what editors are told about them.

Each class annotates a field of written.py: ``read`` turns what stands in the file into a value,
``schema`` is its JSON Schema. A value that cannot be read raises ``refusal``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic_core import PydanticCustomError, core_schema

from optimiser.errors import QuantityError, UsageError, cut_by_comma, did_you_mean
from optimiser.problem.decisions import DECISIONS, ROW_DECISIONS, Bounds, Things, Words, bounds_of, nearest, split_row
from optimiser.problem.model import Choice, Decision, Fixed, Range
from optimiser.quantity import KINDS

Schema = dict[str, Any]
Complaint = tuple[tuple, str, str]  # path below the value, message, remedy

LONGEST_TEXT = 500

FEW = 4
"""Words of which all are told where another one stands: of more, the nearest."""


def refusal(complaints: Iterable[Complaint]) -> PydanticCustomError:
    """An error for read.py to report in these words."""
    return PydanticCustomError("fault", "refused", {"complaints": list(complaints)})


def refuse(message: str, remedy: str = "") -> PydanticCustomError:
    """An error about the value as a whole."""
    return refusal([((), message, remedy)])


def either(words: Iterable[object]) -> str:
    """``a, b or c``."""
    texts = [str(word) for word in words]
    return " or ".join(filter(None, (", ".join(texts[:-1]), *texts[-1:])))


class Reader:
    """Base of the annotations: tells pydantic how to read and describe a value."""

    def read(self, written: object) -> Any:
        raise NotImplementedError

    def schema(self) -> Schema:
        raise NotImplementedError

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> Schema:
        return self.schema()


@dataclass(frozen=True)
class Quantity(Reader):
    """A value with its unit, within bounds."""

    bounds: Bounds
    signed: bool = False

    def read(self, written: object) -> float:
        if isinstance(written, (dict, list)):
            raise refuse("one value is due here", f"write it like '{self.bounds.example}'")
        try:
            return self.bounds.read("" if written is None else written, signed=self.signed)
        except QuantityError as error:
            raise refuse(error.message, error.remedy) from None

    def schema(self) -> Schema:
        return bounds_schema(self.bounds)


def bounds_schema(bounds: Bounds) -> Schema:
    """What editors accept for a value within bounds."""
    if isinstance(bounds, Things):
        return Text().schema()
    return {"enum": list(bounds.words)} if isinstance(bounds, Words) else quantity_schema(bounds.kind, bounds)


_PRIMES = ("’", "′", "”", "″", "''")


def quantity_schema(kind: str, bounds: Bounds | None = None) -> Schema:
    """What editors accept for a quantity, a bare number within ``bounds``; the reader itself is stricter."""
    spec = KINDS[kind]
    if kind == "aspect":
        pattern = r"^\s*[0-9.]+(\s*[:/]\s*[0-9.]+)?\s*$"
    else:
        spellings = {*spec.units, *spec.write, *(_PRIMES if kind == "length" else ())}
        units = "|".join(
            _any_case(one).replace("^", r"\^").replace("[sS][qQ] ", r"[sS][qQ]\.? ")
            for one in sorted(spellings, key=lambda s: (-len(s), s))
        )
        number = r"[0-9.½¼¾⅛⅜⅝⅞⅓⅔][-0-9./½¼¾⅛⅜⅝⅞⅓⅔\s]*"
        part = rf"{number}(({units})\.?)" + ("?" if spec.bare else "") if units else number
        parts = rf"({part}[-\s]*)+" if kind == "length" else rf"{part}\s*"
        pattern = rf"^\s*[-+−]?\s*{parts}$"
    text = {"type": "string", "pattern": pattern, "maxLength": 64, "examples": [spec.example]}
    if not spec.bare:
        return text
    ends = {} if bounds is None else {"minimum": bounds.least, "exclusiveMinimum": bounds.above, "maximum": bounds.most}
    bare = {
        "type": "integer" if spec.whole else "number",
        **{end: value for end, value in ends.items() if value is not None},
    }
    return {"anyOf": [bare, text]}


def _any_case(unit: str) -> str:
    """A unit in whatever letters, as the reader takes it: the patterns of a schema have no flags."""
    return "".join(f"[{c}{c.upper()}]" if len(c.upper()) == 1 and c.upper() != c else c for c in unit)


class Text(Reader):
    """A name or title in one line."""

    def read(self, written: object) -> str:
        if not isinstance(written, str) or not written.strip():
            raise refuse("a text is due here", "write a word or two")
        if len(written) > LONGEST_TEXT:
            raise refuse(f"the text is longer than {LONGEST_TEXT} characters", "shorten it")
        return " ".join(written.split())

    def schema(self) -> Schema:
        # a name such as 1950 or true is no text to YAML, and one to the reader
        return {"type": ["string", "number", "boolean"], "minLength": 1, "maxLength": LONGEST_TEXT}


class Truth(Reader):
    """true or false."""

    def read(self, written: object) -> bool:
        truth = {"true": True, "yes": True, "false": False, "no": False}.get(str(written).lower())
        if truth is None:
            raise refuse(_shown(written), "write true or false")
        return truth

    def schema(self) -> Schema:
        return {"enum": [True, False, "true", "false", "yes", "no"]}


class OneOf(Reader):
    """A word from a short list."""

    def __init__(self, *words: str) -> None:
        self.words = words

    def read(self, written: object) -> str:
        if isinstance(written, str) and written in self.words:
            return written
        near = did_you_mean(str(written), self.words) if len(self.words) > FEW else ""
        raise refuse(_shown(written), near if near.startswith("did you mean") else f"write {either(self.words)}")

    def schema(self) -> Schema:
        return {"enum": list(self.words)}


class FormatNumber(Reader):
    """The version of the file format."""

    def read(self, written: object) -> int:
        if written != "1":
            raise refuse(f"{_shown(written)} is no format that this version reads", "write 'format: 1'")
        return 1

    def schema(self) -> Schema:
        return {"enum": [1, "1"]}


class Later(Reader):
    """A value whose kind depends on a measure; bounds.py reads it."""

    def read(self, written: object) -> object:
        return written

    def schema(self) -> Schema:
        return {"type": ["string", "number"]}


def _shown(written: object) -> str:
    if written is None:
        return "nothing is written here"
    if isinstance(written, (dict, list)):
        return "one word is due here"
    text = str(written)
    return f"'{text if len(text) <= 64 else text[:40] + '...'}'"


# --- decisions --------------------------------------------------------------------------------


@dataclass(frozen=True)
class Decides(Reader):
    """A decision: a value, {from, to}, or {choose: [...]}."""

    bounds: Bounds
    ranges: bool = True

    def read(self, written: object) -> Decision:
        complaints: list[Complaint] = []
        decision = self.decision(written, complaints, ())
        if complaints or decision is None:
            raise refusal(complaints)
        return decision

    def decision(self, written: object, complaints: list[Complaint], path: tuple) -> Decision | None:
        """The decision; or None, with the reasons added to ``complaints``."""

        def value(text: object, *below: object) -> float:
            try:
                return Quantity(self.bounds).read(text)
            except PydanticCustomError as error:
                inner = (error.context or {})["complaints"]
                complaints.extend(((*path, *below), message, remedy) for _, message, remedy in inner)
                return float("nan")

        def complain(message: str, remedy: str, *below: object) -> None:
            complaints.append(((*path, *below), message, remedy))

        before = len(complaints)
        made: Decision | None = None
        if isinstance(written, list):
            between = ", or {from: ..., to: ...} for all between two" if self.ranges else ""
            complain("a list", f"write {{choose: [...]}} to let the optimiser pick{between}")
        elif not isinstance(written, dict):
            made = Fixed(value(written))
        elif "choose" in written:
            made = self._choice(written, value, complain)
        else:
            made = self._range(written, value, complain)
        return made if len(complaints) == before else None

    def _choice(self, written: dict, value: Callable, complain: Callable) -> Decision | None:
        for key in written:
            if key != "choose":
                complain(f"'{key}' beside 'choose'", "write {choose: [...]} or {from: ..., to: ...}", key)
        listed = written["choose"]
        if not isinstance(listed, list) or not listed:
            complain("there is nothing to choose from", "list the values as [a, b, c]", "choose")
            return None
        values = tuple(value(text, "choose", at) for at, text in enumerate(listed))
        for at, one in enumerate(values):
            if one in values[:at]:
                complain(f"'{listed[at]}' is listed twice", "list each value once", "choose", at)
        return Choice(values, tuple(str(text).strip() for text in listed))

    def _range(self, written: dict, value: Callable, complain: Callable) -> Decision | None:
        for key in written:
            if key not in ("from", "to"):
                remedy = (
                    cut_by_comma(str(key), written[key]) or "write a value, {from: ..., to: ...} or {choose: [...]}"
                )
                complain(f"unknown key '{key}'", remedy, key)
        for key in ("from", "to"):
            if key not in written:
                complain(f"'{key}' is missing", "write {from: ..., to: ...}")
        ends = [value(written[key], key) for key in ("from", "to") if key in written]
        if len(ends) < 2:
            return None
        low, high = ends
        if low > high:
            complain(
                f"the range is empty, '{written['from']}' is more than '{written['to']}'",
                "exchange the two, or widen it",
            )
        if not self.ranges:
            complain("a range cannot be used here", "write one value, or {choose: [...]}")
        return Range(low, high)

    def schema(self) -> Schema:
        value = bounds_schema(self.bounds)
        choose: Schema = {
            "type": "object",
            "title": "the optimiser picks one of these",
            "properties": {"choose": {"type": "array", "items": value, "minItems": 1}},
            "required": ["choose"],
            "additionalProperties": False,
        }
        between: Schema = {
            "type": "object",
            "title": "the optimiser decides, from one end to the other",
            "properties": {"from": value, "to": value},
            "required": ["from", "to"],
            "additionalProperties": False,
        }
        return {"anyOf": [value, choose, between] if self.ranges else [value, choose]}


def decides(name: str, *, ranges: bool = True) -> Decides:
    """The annotation of the decision with this public name."""
    return Decides(DECISIONS[name], ranges)


def decides_of_row(name: str) -> Decides:
    """The annotation of a decision that every row has."""
    return Decides(ROW_DECISIONS[name])


_ROW_NAMES = either(f"rowN.{name}" for name in ROW_DECISIONS)


class RowPlaces(Reader):
    """Decisions of single rows by name: ``{row1.y: 12 ft, row2.platform: {...}}``."""

    def read(self, written: object) -> tuple[tuple[str, Decision], ...]:
        if not isinstance(written, dict):
            raise refuse("a mapping is due here", "write {row1.y: 12 ft}")
        complaints: list[Complaint] = []
        made: list[tuple[str, Decision]] = []
        for name, value in written.items():
            row = split_row(name)
            if row is None:
                near = nearest(name) if name not in DECISIONS else ""
                remedy = near if near.startswith("did you mean 'row") else f"write {_ROW_NAMES}"
                complaints.append(((name,), f"unknown decision '{name}'", remedy))
                continue
            decision = decides_of_row(row[1]).decision(value, complaints, (name,))
            if decision is not None:
                made.append((name, decision))
        if complaints:
            raise refusal(complaints)
        return tuple(made)

    def schema(self) -> Schema:
        patterns = {rf"^row[1-8]\.{name}$": decides_of_row(name).schema() for name in ROW_DECISIONS}
        return {"type": "object", "patternProperties": patterns, "additionalProperties": False}


class Designs(Reader):
    """Designs of one's own: name -> decision -> value."""

    def read(self, written: object) -> tuple[tuple[str, tuple[tuple[str, float], ...]], ...]:
        if not isinstance(written, Mapping):
            raise refuse("a mapping is due here", "write {as drawn: {screen.width: 3 m}}")
        complaints: list[Complaint] = []
        designs = []
        for title, settings in written.items():
            if not isinstance(settings, Mapping):
                complaints.append(((title,), "a mapping is due here", "write {screen.width: 3 m}"))
                continue
            values = []
            for name, text in settings.items():
                try:
                    values.append((name, Quantity(bounds_of(name)).read(text)))
                except UsageError as error:
                    message, _, remedy = str(error).partition(": ")
                    complaints.append(((title, name), message, remedy))
                except PydanticCustomError as error:
                    inner = (error.context or {})["complaints"]
                    complaints.extend(((title, name), m, r) for _, m, r in inner)
            designs.append((title, tuple(values)))
        if complaints:
            raise refusal(complaints)
        return tuple(designs)

    def schema(self) -> Schema:
        properties = {name: bounds_schema(bounds_of(name)) for name in DECISIONS}
        patterns = {rf"^row[1-8]\.{name}$": bounds_schema(bounds) for name, bounds in ROW_DECISIONS.items()}
        design = {
            "type": "object",
            "properties": properties,
            "patternProperties": patterns,
            "additionalProperties": False,
        }
        return {"type": "object", "additionalProperties": design}
