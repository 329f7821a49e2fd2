"""The JSON Schema of problem files, for editors: completes keys, checks structure, explains.

Draft-07, because that is what YAML language servers support in full. It is made from written.py
and the catalogue of measures; the reader itself checks more.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from optimiser.problem.about import about
from optimiser.problem.fields import Schema, quantity_schema
from optimiser.problem.written import Part, ProblemFile

ROW = r"^\s*(reference|all|worst|worst seat|[1-8])\s*$"


def json_schema(catalogue: Mapping[str, Any] | None = None) -> Schema:
    """The schema of format 1 with the measures of ``catalogue`` (all of them, if left out)."""
    if catalogue is None:
        from optimiser import measures

        catalogue = measures.catalogue()
    made = ProblemFile.model_json_schema(ref_template="#/definitions/{model}")
    definitions = made.pop("$defs")
    _tell(ProblemFile, made)
    for kind in _kinds(Part):
        _tell(kind, definitions.get(kind.__name__, {}))
    for name in ("Limit", "Goal"):
        definitions[name] = _with_measures(definitions[name], catalogue)
    schema: Schema = {
        "$schema": "http://json-schema.org/draft-07/schema#",
        "title": "Problem file of the screening room optimiser, format 1",
        **{key: value for key, value in made.items() if key != "title"},
        "definitions": definitions,
    }
    _tidy(schema)
    return schema


def _kinds(kind: type[Part]) -> Iterator[type[Part]]:
    for one in kind.__subclasses__():
        yield one
        yield from _kinds(one)


def _tell(kind: type[Part], definition: Schema) -> None:
    """Say in a definition what each key is about."""
    for key, item in definition.get("properties", {}).items():
        if "description" not in item and (words := about(kind, key)):
            item["description"] = words


def _with_measures(item: Schema, catalogue: Mapping[str, Any]) -> Schema:
    """A limit or goal with the names, units and options of the measures."""
    options: dict[str, list] = {}
    for measure in catalogue.values():
        for name, allowed in measure.options.items():
            known = options.setdefault(name, [])
            known.extend(value for value in allowed if value not in known)
    properties = dict(item["properties"])
    abouts = [_about(measure) for measure in catalogue.values()]
    properties["measure"] = {
        "description": properties["measure"]["description"],
        "enum": list(catalogue),
        # Not part of the standard: editors show one or the other beside each name.
        "enumDescriptions": abouts,
        "markdownEnumDescriptions": abouts,
    }
    properties["row"] = {
        "description": properties["row"]["description"],
        "default": "all",
        "anyOf": [
            {"enum": ["reference", "all", "worst", "worst seat"]},
            {"type": "integer", "minimum": 1},
            {"type": "string", "pattern": ROW},
        ],
    }
    for name, allowed in options.items():
        takers = ", ".join(m.name for m in catalogue.values() if name in m.options)
        properties[name] = {"description": f"option of {takers}", "enum": [*allowed, *_as_texts(allowed)]}
    bounds = [key for key in ("band", "at_least", "at_most") if key in properties]
    return {
        **item,
        "properties": properties,
        "additionalProperties": False,
        "anyOf": [{"required": [key]} for key in bounds],
        "allOf": [_units(kind, names, properties) for kind, names in _by_quantity(catalogue).items()],
    }


def _about(measure: Any) -> str:
    about = getattr(measure, "about", "")
    return f"{about} ({measure.quantity})" if about else measure.quantity


def _as_texts(values: list) -> list[str]:
    return [str(value) for value in values if not isinstance(value, str)]


def _by_quantity(catalogue: Mapping[str, Any]) -> dict[str, list[str]]:
    kinds: dict[str, list[str]] = {}
    for measure in catalogue.values():
        kinds.setdefault(measure.quantity, []).append(measure.name)
    return kinds


def _units(kind: str, names: list[str], properties: Schema) -> Schema:
    """If the measure is of this kind, then its bounds are written in its unit."""
    value = quantity_schema(kind)
    then: Schema = {key: value for key in ("at_least", "at_most") if key in properties}
    if "band" in properties:
        then |= {"band": {"items": value}, "fade": quantity_schema("number") if kind == "count" else value}
    return {
        "if": {"properties": {"measure": {"enum": names}}, "required": ["measure"]},
        "then": {"properties": then},
    }


def _tidy(node: Any) -> None:
    """Drop what editors have no use for: titles made from keys, and defaults that say 'absent'."""
    if isinstance(node, list):
        for item in node:
            _tidy(item)
    elif isinstance(node, dict):
        if "default" in node and node["default"] is None:
            del node["default"]
        for key, item in node.get("properties", {}).items():
            if isinstance(item, dict) and item.get("title", "").lower().replace(" ", "_") == key:
                del item["title"]
        for item in node.values():
            _tidy(item)
