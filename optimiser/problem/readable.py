"""What can be read of data that may be faulty: everything else in it can still be checked."""

from __future__ import annotations

from functools import cache
from types import SimpleNamespace
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel, TypeAdapter, ValidationError


def readable(kind: type[BaseModel], data: object) -> Any:
    """Whatever can be read of a mapping, as attributes; None for the rest.

    Beside the model's fields: ``written``, the keys that the file has; ``extra``, those of them
    that the model does not know, with their values; ``keys``, those that it knows; ``model``, it itself.
    """
    if not isinstance(data, dict):
        return None
    values: dict[str, Any] = {
        "written": frozenset(data),
        "extra": {key: value for key, value in data.items() if key not in kind.model_fields},
        "keys": tuple(kind.model_fields),
        "model": kind,
    }
    for name, field in kind.model_fields.items():
        model_of, many = model_in(field.annotation)
        if name in data and model_of is not None:
            value = data[name]
            if many:
                values[name] = [readable(model_of, one) for one in value] if isinstance(value, list) else None
            else:
                values[name] = readable(model_of, value)
        elif name not in data and model_of is not None and not many:
            default = None if field.is_required() else field.get_default(call_default_factory=True)
            values[name] = None if default is None else readable(model_of, {})
        else:
            values[name] = _one(kind, data, name)
    return SimpleNamespace(**values)


def model_in(annotation: Any) -> tuple[type[BaseModel] | None, bool]:
    """The model in ``Model``, ``Optional[Model]`` or ``list[Model]``, and whether it is a list."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation, False
    many = get_origin(annotation) is list
    models = [a for a in get_args(annotation) if isinstance(a, type) and issubclass(a, BaseModel)]
    return (models[0], many) if models else (None, False)


def _one(kind: type[BaseModel], data: dict, name: str) -> Any:
    field = kind.model_fields[name]
    if name not in data:
        if field.is_required():
            return None
        default = field.get_default(call_default_factory=True)
        if default is None or field.validate_default is False:
            return default
        return _adapter(kind, name).validate_python(default)
    try:
        return _adapter(kind, name).validate_python(data[name])
    except ValidationError:
        return None


@cache
def _adapter(kind: type[BaseModel], name: str) -> TypeAdapter:
    """What reads one field. Kept, for to make one takes longer than to use it a hundred times."""
    field = kind.model_fields[name]
    annotation = field.annotation
    return TypeAdapter(Annotated[(annotation, *field.metadata)] if field.metadata else annotation)  # type: ignore[misc]
