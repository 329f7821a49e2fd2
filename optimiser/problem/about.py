"""What the keys of a model are about: the docstrings under its fields.

They are hover texts of editors and words in messages, and are read from the source only when one of these
is wanted: to read them takes longer than to solve a small room.
"""

from __future__ import annotations

import ast
import sys
from functools import cache
from inspect import cleandoc, getsource

from pydantic import BaseModel


def about(kind: type[BaseModel], key: str) -> str | None:
    """What a key of a model is about; None where nothing is said of it."""
    told = kind.model_fields[key].description
    for base in kind.__mro__:
        if told is None and issubclass(base, BaseModel):
            told = _told(base.__module__).get(base.__name__, {}).get(key)
    source = getattr(kind, "keys_of", None)
    return told or (about(source, key) if source is not None else None)


@cache
def _told(module: str) -> dict[str, dict[str, str]]:
    """The docstrings under the fields of each class of a module."""
    return {
        node.name: {
            field.target.id: cleandoc(text.value.value)
            for field, text in zip(node.body, node.body[1:])
            if isinstance(field, ast.AnnAssign)
            and isinstance(field.target, ast.Name)
            and isinstance(text, ast.Expr)
            and isinstance(text.value, ast.Constant)
            and isinstance(text.value.value, str)
        }
        for node in ast.parse(getsource(sys.modules[module])).body
        if isinstance(node, ast.ClassDef)
    }
