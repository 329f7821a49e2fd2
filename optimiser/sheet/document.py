"""What a design sheet consists of, whatever it is printed with: sections of paragraphs, tables, plates."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from typing import Any, Union

from optimiser.quantity import unbroken
from optimiser.sheet.plates import Plate


@dataclass(frozen=True)
class Paragraph:
    """A paragraph of running text."""

    text: str


@dataclass(frozen=True)
class Listing:
    """Short statements, each on its own."""

    items: tuple[str, ...]


@dataclass(frozen=True)
class Facts:
    """Names with values."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Table:
    """A table whose first column names its lines. ``right`` are the columns set flush right; ``wide`` those
    that share what the others leave, by their shares."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()
    wide: tuple[tuple[int, float], ...] = ((0, 1.0),)


@dataclass(frozen=True)
class Beside:
    """Two narrow tables next to one another."""

    tables: tuple[Table, Table]


@dataclass(frozen=True)
class Plates:
    """Drawings side by side where they fit, each with its caption. One that ``floats`` may go to the top of
    a later page, so that what follows it fills the page. One drawing may be had at ``larger`` scales too, the
    largest first, for a page that has room for it."""

    plates: tuple[Plate, ...]
    captions: tuple[str, ...]
    floats: bool = False
    larger: tuple[tuple[Plate, str], ...] = ()


@dataclass(frozen=True)
class Verbatim:
    """Text as it stands in a file. A PDF, whose lines are broken and cannot be copied as they were, carries the
    ``original`` along, and says so in a ``note``."""

    text: str
    name: str
    original: str
    note: str


Block = Union[Paragraph, Listing, Facts, Table, Beside, Plates, Verbatim]


@dataclass(frozen=True)
class Section:
    """A chapter: its title and what stands under it."""

    title: str
    blocks: tuple[Block, ...]
    key: str  # names it in links


@dataclass(frozen=True)
class Sheet:
    """A whole design sheet."""

    title: str
    line: str
    proof: str
    facts: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...] = field(default=())
    version: str = ""


def kept_whole(sheet: Sheet) -> Sheet:
    """The sheet with no quantity to be broken across lines; drawings, and the file as it stands, stay as they are."""
    return replace(
        sheet,
        line=unbroken(sheet.line),
        proof=unbroken(sheet.proof),
        facts=_whole(sheet.facts),
        sections=_whole(sheet.sections),
    )


def _whole(thing: Any) -> Any:
    if isinstance(thing, str):
        return unbroken(thing)
    if isinstance(thing, tuple):
        return tuple(map(_whole, thing))
    if isinstance(thing, (Paragraph, Listing, Facts, Table, Beside, Plates, Section)):
        return replace(thing, **{one.name: _whole(getattr(thing, one.name)) for one in fields(thing)})
    return thing
