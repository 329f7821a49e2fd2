"""Many rooms: the best design of each of several files, or of each row of a table over one file.

A room that cannot be read, or has no design, is a record like any other and stops nothing.
"""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from optimiser import __version__
from optimiser.engine import EFFORT
from optimiser.errors import UsageError
from optimiser.problem.changed import spot
from optimiser.study.asking import Asked, answer
from optimiser.study.pins import check_pins
from optimiser.study.records import Record, failed_record
from optimiser.work import Task

NAME = "name"
"""The column of a table that names its rooms."""

_BARE = r"[+-]?[0-9.]+([\s-]+[0-9]+/[0-9]+|\s*[¼½¾⅛⅜⅝⅞])?|[0-9]+/[0-9]+"
"""A number without a unit, as a tape in inches gives it too: 100 3/4."""

_COLUMN = re.compile(r"(?P<path>[^\[\]]+?)\s*(?:\[(?P<unit>[^\[\]]+)\])?")


def answer_room(room: Asked | str) -> Record:
    """The record of a room; of one that could not be read, the words for that."""
    return failed_record(room) if isinstance(room, str) else answer(room)


@dataclass
class Batch:
    """Many rooms as asked. Subclasses say where they come from."""

    fixed: tuple[tuple[str, str], ...] = ()
    grid: float | None = None
    effort: float = EFFORT
    _done: set[int] = field(default_factory=set, init=False, repr=False)
    _in_hand: dict[int, Record] = field(default_factory=dict, init=False, repr=False)

    @property
    def header(self) -> dict[str, Any]:
        """What the study's file begins with."""
        held = {"fixed": dict(self.fixed), "grid": self.grid, "effort": self.effort}
        return {"study": "batch", "version": __version__, **self._origin(), **held}

    @property
    def count(self) -> int:
        """How many rooms there are."""
        raise NotImplementedError

    def _origin(self) -> dict[str, Any]:
        raise NotImplementedError

    def _rooms(self) -> Iterator[tuple[Record, Asked | str]]:
        """Each room: what its record tells of it, and the problem, or why there is none."""
        raise NotImplementedError

    def note(self, record: Record) -> None:
        """Remember which rooms are done."""
        self._done.add(record["index"])

    def head(self, index: int) -> Record:
        """What a room's record begins with."""
        return {"index": index, **self._in_hand.pop(index)}

    def tasks(self) -> Iterator[Task | None]:
        """Rooms in their order; few are held in memory at a time."""
        for index, (told, room) in enumerate(self._rooms()):
            if index not in self._done:
                self._in_hand[index] = told
                yield index, room


@dataclass
class FileBatch(Batch):
    """A problem file a room."""

    paths: tuple[Path, ...] = ()

    @property
    def count(self) -> int:
        return len(self.paths)

    def _origin(self) -> dict[str, Any]:
        digest = hashlib.sha256()
        for path in self.paths:
            digest.update(hashlib.sha256(_content(path)[0]).digest())
        return {"rooms": self.count, "files": [p.as_posix() for p in self.paths], "sha256": digest.hexdigest()}

    def _rooms(self) -> Iterator[tuple[Record, Asked | str]]:
        for path in self.paths:
            name = path.as_posix()
            content, trouble = _content(path)
            try:
                text = content.decode("utf-8-sig")
            except UnicodeDecodeError:
                text, trouble = "", f"{name}: the text is not UTF-8: save it as UTF-8"
            told = {"name": name, "inputs": {}, "problem": text}
            yield told, trouble or Asked(text, name, (), self.fixed, self.grid, self.effort)


def _content(path: Path) -> tuple[bytes, str]:
    """A file's bytes, or why there are none."""
    try:
        return path.read_bytes(), ""
    except OSError as error:
        return b"", f"{path.as_posix()}: the file cannot be read ({error.strerror})"


@dataclass
class TableBatch(Batch):
    """A row of a table a room: a problem file's text with the row's texts at the paths that head its columns."""

    text: str = ""
    name: str = ""
    table: str = ""
    table_name: str = ""
    _columns: tuple[tuple[str, str], ...] = field(default=(), init=False, repr=False)
    _count: int = field(default=0, init=False, repr=False)

    def __post_init__(self) -> None:
        rows = self._rows()
        heads = next(rows, None)
        if not heads:
            raise UsageError(f"{self.table_name}: the first line should name columns: name, room.length, room.width")
        self._columns = tuple(self._column(head) for head in heads)
        paths = [path for path, _ in self._columns if path]
        twice = next((p for p in paths if paths.count(p) > 1), None)
        if twice:
            raise UsageError(f"{self.table_name}: two columns are headed '{twice}'")
        check_pins(self.text, self.name, dict(self.fixed), [p for p in paths if p != NAME], self.table_name)
        self._count = sum(1 for _ in rows)
        if not self._count:
            raise UsageError(f"{self.table_name}: no room stands below the first line")

    def _rows(self) -> Iterator[list[str]]:
        first = self.table.split("\n", 1)[0]
        separator = max(",;\t", key=first.count)
        try:
            for row in csv.reader(io.StringIO(self.table, newline=""), delimiter=separator, strict=True):
                if any(cell.strip() for cell in row):
                    yield [cell.strip() for cell in row]
        except csv.Error as error:
            raise UsageError(f"{self.table_name}: not a table ({error})") from None

    def _column(self, head: str) -> tuple[str, str]:
        """The path of the file that a column is about (or ``name``), and the unit of its bare numbers."""
        if head.lower() == NAME or not head:
            return head.lower(), ""
        match = _COLUMN.fullmatch(head)
        if not match:
            raise UsageError(f"{self.table_name}: a column is headed 'room.length' or 'room.length [m]', not '{head}'")
        try:
            return spot(self.text, self.name, match["path"]).path, (match["unit"] or "").strip()
        except UsageError as error:
            raise UsageError(f"{self.table_name}: {error}") from None

    @property
    def count(self) -> int:
        return self._count

    def _origin(self) -> dict[str, Any]:
        return {
            "rooms": self.count,
            "problem": self.text,
            "name": self.name,
            "table": self.table_name,
            "columns": [path for path, _ in self._columns if path and path != NAME],
            "sha256": hashlib.sha256(self.table.encode()).hexdigest(),
        }

    def _rooms(self) -> Iterator[tuple[Record, Asked | str]]:
        rows = self._rows()
        next(rows)
        for number, row in enumerate(rows, start=1):
            cells = dict(zip((path for path, _ in self._columns), row))
            units = dict(self._columns)
            changes = {p: _with_unit(cell, units[p]) for p, cell in cells.items() if p and p != NAME and cell}
            told = {"name": cells.get(NAME) or f"room {number}", "inputs": changes}
            if len(row) > len(self._columns) or any(cell and not path for path, cell in cells.items()):
                yield told, f"{self.table_name}, room {number}: there are more cells than columns"
            else:
                yield told, Asked(self.text, self.name, tuple(changes.items()), self.fixed, self.grid, self.effort)


def _with_unit(cell: str, unit: str) -> str:
    return f"{cell} {unit}" if unit and re.fullmatch(_BARE, cell) else cell


def read_table(path: Path) -> str:
    """The text of a table of rooms. Raises UsageError."""
    content, trouble = _content(path)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        trouble = f"{path.as_posix()}: the text is not UTF-8: save it as UTF-8"
    if trouble:
        raise UsageError(trouble)
    return text


def batch_of_files(
    paths: Sequence[Path], *, fixed: Mapping[str, str] | None = None, grid: float | None = None, effort: float = EFFORT
) -> FileBatch:
    """The rooms of several problem files. Raises UsageError."""
    if not paths:
        raise UsageError("name the files of at least one room")
    check_pins(None, "", fixed or {}, (), "a file")
    return FileBatch(tuple((fixed or {}).items()), grid, effort, paths=tuple(paths))


def batch_of_table(
    table: str,
    table_name: str,
    text: str,
    name: str,
    *,
    fixed: Mapping[str, str] | None = None,
    grid: float | None = None,
    effort: float = EFFORT,
) -> TableBatch:
    """The rooms of a table (comma-separated text), each the problem file's text with a row's values.
    Raises UsageError."""
    held = tuple((fixed or {}).items())
    return TableBatch(held, grid, effort, text=text, name=name, table=table, table_name=table_name)
