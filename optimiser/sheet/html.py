"""The design sheet as one HTML file that needs nothing else: no scripts, no fonts, no network."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from optimiser.sheet import document

TEMPLATES = Path(__file__).parent / "templates"

LONG = 24
"""Letters of a word beyond which it may be broken in a table: no word of the program's own has as many."""


def html(sheet: document.Sheet) -> str:
    """The sheet as HTML, no quantity broken across lines."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(TEMPLATES, encoding="utf-8"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.tests["kind"] = is_kind
    environment.tests["long"] = is_long
    environment.filters["inline"] = inline
    return environment.get_template("sheet.html").render(sheet=document.kept_whole(sheet))


def is_kind(block: Any, name: str) -> bool:
    """Whether a block is of a kind of the document module."""
    return type(block).__name__ == name


def is_long(cell: str) -> bool:
    """Whether a cell has a word that no column has space for, as a name may be."""
    # what is kept whole is of quantities, which are short: such spaces part words as others do
    return any(len(word) > LONG for word in cell.split())


def inline(svg: str) -> Any:
    """A drawing to be set into a page: it has escaped its own texts already."""
    from markupsafe import Markup

    return Markup(svg)
