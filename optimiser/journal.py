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
from contextlib import contextmanager
from math import prod
from pathlib import Path
from typing import IO, Any

from optimiser.errors import UsageError

Record = dict[str, Any]


def line_of(record: Mapping[str, Any]) -> bytes:
    """One record as a line of JSON; no NaN, no line breaks inside."""
    return json.dumps(record, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode() + b"\n"


def read_header(path: Path) -> Record:
    """The first line of a study's file."""
    with _opened(path, "rb") as stream:
        first = stream.readline(50_000_000)
    try:
        header = json.loads(first)
    except ValueError:
        header = None
    if not isinstance(header, dict) or "study" not in header:
        raise UsageError(f"{path} is not a study: its first line does not say so")
    return header


def due(header: Mapping[str, Any]) -> int | None:
    """How many records a study has once it is finished; None where its first line does not say."""
    summary, rooms, over = (header.get(key) for key in ("finished", "rooms", "over"))
    if isinstance(summary, Mapping):
        return summary.get("points")
    if isinstance(rooms, int):
        return rooms
    if isinstance(over, list) and all(isinstance(i, Mapping) and isinstance(i.get("texts"), list) for i in over):
        return prod(len(i["texts"]) for i in over)
    return None


def goes_on(header: Mapping[str, Any]) -> bool:
    """Whether what a study lacks can be found and added. A finished front no longer has what its search needs."""
    return not isinstance(header.get("finished"), Mapping)


def complete(path: Path, header: Mapping[str, Any]) -> bool:
    """Whether a study is finished, and all of it is there. Raises UsageError where it cannot be gone on with: it was
    cut off, and goes on no more, or there is more than it asked for."""
    if not header.get("finished"):
        return False
    there, wanted = _whole(path)[1] - 1, due(header)
    if wanted is None or there == wanted:
        return True
    if there < wanted and goes_on(header):
        return False
    raise UsageError(f"{path}: {there} of {wanted} records are there, though it was finished: make the study again")


def read_records(path: Path, fault: Callable[[Any], str] | None = None) -> Iterator[Record]:
    """All whole records of a file, one at a time; a last line that a crash cut off is left out. ``fault`` says what
    is wrong with a record, if anything. Raises UsageError."""
    with _opened(path, "rb") as stream:
        stream.readline()
        for number, line in enumerate(stream, start=2):
            if not line.endswith(b"\n"):
                return
            try:
                record = json.loads(line)
            except ValueError:
                raise damaged(path, number, "it is no record") from None
            wrong = "it is no record" if not isinstance(record, dict) else fault(record) if fault is not None else ""
            if wrong:
                raise damaged(path, number, wrong)
            yield record


def damaged(path: Path, line: int, wrong: str) -> UsageError:
    """The error of a line that is not as it was written."""
    mend = "make the study again"
    if line > 1 and goes_on(read_header(path)):
        mend = f"take line {line} out and go on with --resume, or {mend}"
    return UsageError(f"{path}, line {line}: {wrong}: {mend}")


def _whole(path: Path) -> tuple[int, int]:
    """The length in bytes of a file's whole lines, and how many there are."""
    length = count = 0
    with _opened(path, "rb") as stream:
        for line in stream:
            if line.endswith(b"\n"):
                length += len(line)
                count += 1
    return length, count


def _opened(path: Path, mode: str, buffering: int = -1) -> IO[bytes]:
    """A file, opened. Raises UsageError with the system's reason."""
    try:
        return open(path, mode, buffering)
    except OSError as error:
        raise UsageError(f"{path} cannot be {'read' if mode == 'rb' else 'written'} ({error.strerror})") from None


@contextmanager
def _writing(path: Path) -> Iterator[None]:
    """Turns what the system says to writing into words."""
    try:
        yield
    except OSError as error:
        raise UsageError(f"{path} cannot be written ({error.strerror}); what was written until now stays") from None


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
            if not self._hardly_begun():
                self._take_up()
                return
        if not path.absolute().parent.is_dir():
            raise UsageError(f"{path.parent} is not a folder")
        self._stream = _opened(path, "wb", 0)
        self._write(line_of(self.header))

    def _hardly_begun(self) -> bool:
        """Whether a power cut left no more than a part of this study's first line."""
        first = line_of(self.header)
        with _opened(self.path, "rb") as stream:
            there = stream.read(len(first))
        return len(there) < len(first) and first.startswith(there)

    def _take_up(self) -> None:
        found = read_header(self.path)
        self.finished = complete(self.path, found)
        cut = bool(found.pop("finished", False)) and not self.finished
        for key in sorted({*found, *self.header}, key=str):
            if found.get(key) != json.loads(line_of(self.header)).get(key):
                raise UsageError(f"{self.path} belongs to another study ({key} differs); name another file")
        whole, _ = _whole(self.path)
        if cut:  # it was finished once, and has lost records since
            with _writing(self.path):
                _replace(self.path, self._without_finished)
            whole, _ = _whole(self.path)
        self._stream = _opened(self.path, "rb+", 0)
        with _writing(self.path):
            self._stream.truncate(whole)  # a line that a crash cut off
        self._stream.seek(whole)

    def _without_finished(self) -> Iterator[bytes]:
        yield line_of(self.header)
        with open(self.path, "rb") as stream:
            stream.readline()
            yield from (line for line in stream if line.endswith(b"\n"))

    def records(self, fault: Callable[[Any], str] | None = None) -> Iterator[Record]:
        """What is there already; ``fault`` says what is wrong with a record, if anything."""
        return read_records(self.path, fault)

    def add(self, record: Mapping[str, Any]) -> None:
        """Write a record and force it to the disk."""
        self._write(line_of(record))

    def _write(self, line: bytes) -> None:
        left = memoryview(line)
        with _writing(self.path):
            while left:
                left = left[self._stream.write(left) :]
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
        with _writing(self.path):
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
