"""A file of records that grows line by line (JSON Lines), outlives a crash, and ends up the same
however the work was spread.

The first line says what the study is. Each record is one line with its ``index``, written and
forced to the disk when it is known. When all are there, the file is put in order of index.
"""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from optimiser.errors import UsageError

Record = dict[str, Any]


def line_of(record: Mapping[str, Any]) -> bytes:
    """One record as a line of JSON; no NaN, no line breaks inside."""
    return json.dumps(record, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode() + b"\n"


def read_header(path: Path) -> Record:
    """The first line of a study's file."""
    try:
        with open(path, "rb") as stream:
            first = stream.readline(50_000_000)
    except OSError as error:
        raise UsageError(f"{path} cannot be read ({error.strerror})") from None
    try:
        header = json.loads(first)
    except ValueError:
        header = None
    if not isinstance(header, dict) or "study" not in header:
        raise UsageError(f"{path} is not a study: its first line does not say so")
    return header


def read_records(path: Path) -> Iterator[Record]:
    """All whole records of a file, one at a time; a last line that a crash cut off is left out."""
    with open(path, "rb") as stream:
        stream.readline()
        for number, line in enumerate(stream, start=2):
            if not line.endswith(b"\n"):
                return
            try:
                yield json.loads(line)
            except ValueError:
                raise UsageError(f"{path}: line {number} is not a record") from None


class Journal:
    """The file of a study at work."""

    def __init__(self, path: Path, header: Mapping[str, Any], *, resume: bool = False, overwrite: bool = False) -> None:
        self.path = path
        self.header = dict(header)
        self.finished = False
        if resume and overwrite:
            raise UsageError("to resume goes on with a study, to overwrite begins it again: say one of the two")
        if path.exists() and not overwrite:
            if not resume:
                raise UsageError(f"{path} exists already; say --resume to go on with it, --overwrite to begin again")
            self._take_up()
            return
        if not path.absolute().parent.is_dir():
            raise UsageError(f"{path.parent} is not a folder")
        try:
            self._stream = open(path, "wb")
        except OSError as error:
            raise UsageError(f"{path} cannot be written ({error.strerror})") from None
        self._write(line_of(self.header))

    def _take_up(self) -> None:
        found = read_header(self.path)
        self.finished = bool(found.pop("finished", False))
        for key in sorted({*found, *self.header}, key=str):
            if found.get(key) != json.loads(line_of(self.header)).get(key):
                raise UsageError(f"{self.path} belongs to another study ({key} differs); name another file")
        self._stream = open(self.path, "rb+")
        self._stream.seek(0, os.SEEK_END)
        end = self._stream.tell()
        self._stream.seek(0)
        whole = 0
        for line in self._stream:
            if line.endswith(b"\n"):
                whole += len(line)
        if whole < end:  # the line that a crash cut off
            self._stream.truncate(whole)
        self._stream.seek(whole)

    def records(self) -> Iterator[Record]:
        """What is there already."""
        return read_records(self.path)

    def add(self, record: Mapping[str, Any]) -> None:
        """Write a record and force it to the disk."""
        self._write(line_of(record))

    def _write(self, line: bytes) -> None:
        self._stream.write(line)
        self._stream.flush()
        os.fsync(self._stream.fileno())

    def close(self) -> None:
        """Leave the file as it is, to be resumed."""
        self._stream.close()

    def finish(
        self, records: Iterable[Mapping[str, Any]] | None = None, *, summary: Mapping[str, Any] | None = None
    ) -> None:
        """Replace the file by its finished form: the records given, or its own in order of index. A
        ``summary`` stands under "finished" in the first line."""
        self._stream.close()
        lines = self._sorted() if records is None else (line_of(r) for r in records)
        _replace(self.path, lambda: self._finished(lines, dict(summary) if summary else True))
        self.finished = True

    def _finished(self, lines: Iterable[bytes], summary: Record | bool) -> Iterator[bytes]:
        yield line_of({**self.header, "finished": summary})
        yield from lines

    def _sorted(self) -> Iterator[bytes]:
        """The file's lines by index; only their places are held in memory."""
        places: dict[int, tuple[int, int]] = {}
        with open(self.path, "rb") as stream:
            at = len(stream.readline())
            for line in stream:
                places.setdefault(json.loads(line)["index"], (at, len(line)))
                at += len(line)
            for index in sorted(places):
                start, length = places[index]
                stream.seek(start)
                yield stream.read(length)


def _replace(path: Path, lines: Callable[[], Iterable[bytes]]) -> None:
    """Write a file beside the old one and put it in its place in one step."""
    handle, name = tempfile.mkstemp(dir=path.absolute().parent, prefix=path.name, suffix=".new")
    try:
        with os.fdopen(handle, "wb") as stream:
            for line in lines():
                stream.write(line)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(name, path.stat().st_mode & 0o777)
        os.replace(name, path)
    except BaseException:
        os.unlink(name)
        raise
