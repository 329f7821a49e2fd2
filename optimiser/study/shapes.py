"""What a study's file must look like, line by line, so that a damaged one is told of by place."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from optimiser.errors import UsageError
from optimiser.journal import complete, damaged, due
from optimiser.problem.decisions import bounds_of

Fault = Callable[[Any], str]
"""Says what is wrong with a thing; nothing if all is well."""


def _of(words: str, *types: type) -> Fault:
    def fault(value: Any) -> str:
        right = isinstance(value, types) and (bool in types or not isinstance(value, bool))
        return "" if right else f"is not {words}"

    return fault


TEXT, NUMBER, WHOLE = _of("a text", str), _of("a number", int, float), _of("a whole number", int)
GREATEST = 1e6
"""What no value of a design comes to (SI)."""
YES_NO, MAP, LIST = _of("true or false", bool), _of("a mapping", dict), _of("a list", list)
SCALAR = _of("a number or a word", int, float, str)


def _or_null(fault: Fault) -> Fault:
    return lambda value: "" if value is None else fault(value)


def _each(fault: Fault) -> Fault:
    return lambda value: LIST(value) or next((f"holds what {w}" for w in map(fault, value) if w), "")


def _with(**keys: Fault) -> Fault:
    return lambda value: MAP(value) or _lacking(value, keys)


def _lacking(there: Mapping[str, Any], keys: Mapping[str, Fault]) -> str:
    for key, fault in keys.items():
        if key not in there:
            return f"'{key}' is missing"
        if wrong := fault(there[key]):
            return f"'{key}' {wrong}"
    return ""


def _design(value: Any) -> str:
    if wrong := MAP(value):
        return wrong
    for name, chosen in value.items():
        try:
            kind = bounds_of(name).kind
        except UsageError as error:
            return f"is damaged ({error})"
        if chosen is None and name.startswith("row"):
            return f"holds '{name}', which is not a number"
        if isinstance(chosen, (int, float)) and not abs(chosen) < GREATEST:
            return f"holds '{name}', which is no number that it could be"
        if chosen == "" or (kind == "word" and isinstance(chosen, (int, float)) and (chosen < 0 or chosen % 1)):
            return f"holds '{name}', which is none that it could be"
        if chosen is not None and (wrong := SCALAR(chosen) if kind in ("word", "aspect") else NUMBER(chosen)):
            return f"holds '{name}', which {wrong}"
    rows = value.get("rows")
    if WHOLE(rows):
        return "has no whole number of rows"
    needed = [
        "screen.width",
        "screen.aspect",
        *(f"row{n}.{what}" for n in range(1, rows + 1) for what in ("y", "seats")),
    ]
    missing = [name for name in needed if value.get(name) is None]
    return f"has no {missing[0]}" if missing else ""


def _texts(value: Any) -> str:
    return MAP(value) or next(
        (f"holds '{key}', which {w}" for key, w in ((k, SCALAR(v)) for k, v in value.items()) if w), ""
    )


_SOLVING = {"fixed": _texts, "grid": _or_null(NUMBER)}
_HEADERS: dict[str, dict[str, Fault]] = {
    "sweep": {
        "problem": TEXT,
        "name": TEXT,
        "over": _each(_with(path=TEXT, kind=TEXT, unit=TEXT, texts=_each(TEXT), values=LIST)),
        "effort": NUMBER,
        **_SOLVING,
    },
    "batch": {"rooms": WHOLE},
    "front": {
        "problem": TEXT,
        "name": TEXT,
        "objectives": _each(_with(name=TEXT, label=TEXT, sense=TEXT, unit=_or_null(TEXT), kind=TEXT)),
        "points": WHOLE,
        **_SOLVING,
    },
}
_FRONT = _with(
    points=WHOLE, spacing=_each(NUMBER), excess=NUMBER, knees=_each(WHOLE), ends=_each(WHOLE), complete=YES_NO,
    left_out=WHOLE,
)  # fmt: skip
_HEADS: dict[str, dict[str, Fault]] = {
    "sweep": {"values": _each(SCALAR), "status": TEXT},
    "batch": {"name": TEXT, "inputs": MAP, "status": TEXT},
    "front": {"values": _or_null(_each(NUMBER))},
}
_FOUND: dict[str, Fault] = {
    "score": NUMBER,
    "bound": NUMBER,
    "design": _design,
    "binding": _each(_with(limit=TEXT)),
    "goals": _each(_with(goal=TEXT, score=_or_null(NUMBER))),
}
_ANSWER = {"answer": _with(floors=LIST, ceiling=_or_null(NUMBER), heights=_or_null(LIST), blur=_or_null(LIST))}
_POINT: dict[str, Fault] = {"score": NUMBER, "design": _design, "proven": _each(NUMBER)}


def header_fault(header: Mapping[str, Any]) -> str:
    """What is wrong with the first line of a study's file, if anything."""
    wrong = _lacking(header, _HEADERS[header["study"]])
    if not wrong and header["study"] == "batch" and "table" in header:
        wrong = _lacking(header, {"problem": TEXT, "name": TEXT})
    if not wrong and header["study"] == "front" and header.get("finished"):
        wrong = _lacking(header, {"finished": _FRONT}) or _ends_fault(header["finished"], len(header["objectives"]))
    return wrong


def _ends_fault(finished: Mapping[str, Any], objectives: int) -> str:
    """What is wrong with the numbers of a finished front's ends and knees."""
    if len(finished["ends"]) not in (0, objectives) or (not finished["ends"] and finished["points"]):
        return "'finished' has not one end for each objective"
    if any(not 0 <= k < finished["points"] for k in (*finished["ends"], *finished["knees"])):
        return "'finished' names a point that there is not"
    return ""


def check_header(path: Path, header: Mapping[str, Any]) -> None:
    """Raises UsageError where a study's first line is damaged, or what is there cannot be gone on with."""
    if wrong := header_fault(header):
        raise damaged(path, 1, wrong)
    complete(path, header)


def record_fault(header: Mapping[str, Any]) -> Fault:
    """What is wrong with a record of a study that begins so, if anything."""
    kind, finished, most = header["study"], bool(header.get("finished")), due(header)
    width = len(header["over"] if kind == "sweep" else header["objectives"] if kind == "front" else ())

    def fault(record: Mapping[str, Any]) -> str:
        wrong = _lacking(record, {"index": WHOLE, **_HEADS[kind], "feasible": YES_NO})
        if not wrong and "problem" in record:
            wrong = _lacking(record, {"problem": TEXT})
        if wrong:
            return wrong
        at = record["index"]
        if at < 0 or (most is not None and (kind != "front" or finished) and at >= most):
            return f"'index' is {at}, and there are {most} records, from 0"
        values: Sequence[Any] | None = record.get("values") if kind != "batch" else None
        if values is not None and len(values) != width:
            return f"'values' has {len(values)} for {width}"
        further = {} if kind != "front" else {"knee": YES_NO, "ends": LIST} if finished else _ANSWER
        if record["feasible"]:
            return _lacking(record, {**(_POINT if kind == "front" else _FOUND), **further})
        ways: dict[str, dict[str, Fault]] = {
            "failed": {"error": TEXT},
            "impossible": {"conflict": _each(_with(limit=TEXT))},
        }
        return _lacking(record, {**ways.get(record.get("status", ""), {}), **further})

    return fault
