"""YAML text to plain values and the place of each.

Only mappings, lists and texts come out: no scalar is turned into a number, a date or a truth value
here (YAML would read ``16:9`` as 969), and whatever makes YAML dangerous or surprising is refused.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from optimiser.errors import Fault, ProblemFileError

Plain = str | list | dict | None
Route = tuple[str | int, ...]

LARGEST_FILE = 1_000_000  # bytes
MOST_ENTRIES = 20_000
DEEPEST = 20
TOO_DEEP = f"nested deeper than {DEEPEST} levels", "close brackets and braces where they end"

# What YAML 1.1 allows in a file, turned round.
NOT_YAML = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

_KEY = re.compile(r" *[a-z_]+:(\s|$)")
"""A line that begins with a key."""

_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass
class Source:
    """What was read: ``value``, where each value (and key) stands, and what was wrong so far."""

    file: str
    value: Plain = None
    places: dict[Route, tuple[int, int]] = field(default_factory=dict)
    key_places: dict[Route, tuple[int, int]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def place(self, path: Route) -> tuple[int, int]:
        """Where the value at ``path`` stands, or the nearest thing around it that does."""
        while path and path not in self.places:
            path = path[:-1]
        place = self.places.get(path, (1, 1))
        if isinstance(self.at(path), (dict, list)) and path in self.key_places:
            # A block mapping begins only on the line below its key.
            return self.key_places[path] if self.key_places[path][0] != place[0] else place
        return place

    def key_place(self, path: Route) -> tuple[int, int]:
        """Where the key at the end of ``path`` stands."""
        return self.key_places.get(path) or self.place(path)

    def at(self, path: Route) -> Plain:
        """The value at ``path``; None if there is none."""
        value = self.value
        for step in path:
            if isinstance(value, dict):
                value = value.get(step)
            elif isinstance(value, list) and isinstance(step, int) and step < len(value):
                value = value[step]
            else:
                return None
        return value

    def fault(self, path: Route, message: str, remedy: str = "", *, key: bool = False) -> None:
        """Note a fault at the value at ``path``, or at its key."""
        line, column = self.key_place(path) if key else self.place(path)
        self.faults.append(Fault(self.file, line, column, dotted(path), message, remedy))


def dotted(path: Route) -> str:
    """A path as people write it: ``room.doors.1.leaf``, counting from 1 as rows and seats are."""
    return ".".join(str(step + 1) if isinstance(step, int) else step for step in path)


def read_file(path: str | Path) -> Source:
    """Read a YAML file. Raises ProblemFileError if nothing can be made of it."""
    file = os.fsencode(path).decode("utf-8", "replace")  # messages can then be printed anywhere
    try:
        with open(path, "rb") as stream:
            content = stream.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise _fatal(file, "there is no such file", "check the name") from None
    except IsADirectoryError:
        raise _fatal(file, "this is a directory", "name a file in it") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _fatal(file, f"the file cannot be read ({reason})") from None
    return read_bytes(content, file)


def read_bytes(content: bytes, file: str) -> Source:
    """Read the content of a YAML file."""
    if len(content) > LARGEST_FILE:
        raise _fatal(file, "the file is larger than 1 MB", "a problem file has a few kB; is this the right file?")
    if b"\0" in content and not content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _fatal(file, "this is a binary file", "name a problem file, which is text (YAML)")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = content[: error.start]
        column = len(before[before.rfind(b"\n") + 1 :].decode("utf-8", "replace")) + 1
        raise _fatal(file, "the text is not UTF-8", "save it as UTF-8", before.count(b"\n") + 1, column) from None
    return read_text(text, file)


def read_text(text: str, file: str) -> Source:
    """Read YAML text."""
    if len(text) > LARGEST_FILE:
        return read_bytes(text.encode("utf-8", "replace"), file)
    odd = NOT_YAML.search(text)
    if odd:
        line = text.count("\n", 0, odd.start()) + 1
        column = odd.start() - text.rfind("\n", 0, odd.start())
        raise _fatal(file, f"the character U+{ord(odd[0]):04X} is not allowed", "remove it", line, column)
    source = Source(file)
    try:
        source.value = _Builder(source, yaml.parse(text, Loader=_Loader)).document()
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (0, 0)
        above = _without_colon(text, line)
        if above is not None:
            raise _fatal(file, "the line has no colon", "write 'key: value'", *above) from None
        if mark and text[mark.index : mark.index + 1] == "\t":
            tab = "a tab stands where YAML takes spaces alone"
            raise _fatal(file, tab, "write spaces in its place", line, column) from None
        raise _fatal(file, *_explained(error), line, column) from None
    return source


def _without_colon(text: str, line: int) -> tuple[int, int] | None:
    """Where a key without its colon stands, on the line before the one at which YAML stumbled: what should be a key
    of its own is read as more of the value before it, and the next key is told of in its place."""
    lines = text.split("\n")
    if not 1 < line <= len(lines) or not _KEY.match(lines[line - 1]):
        return None
    number = next((n for n in range(line - 1, 0, -1) if lines[n - 1].split("#")[0].strip()), 0)
    if not number:
        return None
    above, indent = lines[number - 1].split("#")[0], _indent(lines[line - 1])
    whole = ":" not in above and not re.search(r"[-\[\]{},'\"|>]", above)
    before = next((one for one in reversed(lines[: number - 1]) if one.split("#")[0].strip()), "")
    beside = _KEY.match(before) is not None and _indent(before) <= indent
    return (number, indent + 1) if whole and beside and _indent(above) == indent else None


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def _explained(error: yaml.MarkedYAMLError) -> tuple[str, str]:
    """What is wrong in our words: the two parsers of PyYAML word it differently."""
    texts = f"{error.context or ''} {error.problem or ''}"
    if "cannot start any token" in texts:
        return "a character stands where YAML has no use for it", "put quotes around texts that begin with @, ` or %"
    if "quoted scalar" in texts or "unexpected end of stream" in texts:
        return "a quotation mark is opened and not closed", "close it, or write inches as 'in'"
    if "mapping values are not allowed" in texts:
        return "a colon where YAML expects none", "check the indentation; quote texts that hold ': '"
    if "maximum nesting depth" in texts:
        return TOO_DEEP
    if "flow" in texts:
        return "a bracket or brace is opened and not closed", "check brackets, braces and commas"
    if "block" in texts or "':'" in texts:
        return (
            "the line fits neither a key nor a list",
            "write 'key: value', keep the indentation even, and close quotation marks",
        )
    return f"not valid YAML ({error.problem})", "check indentation and punctuation"


def _fatal(file: str, message: str, remedy: str = "", line: int = 0, column: int = 0) -> ProblemFileError:
    return ProblemFileError([Fault(file, line, column, "", message, remedy)])


def _place(event: Any) -> tuple[int, int]:
    return event.start_mark.line + 1, event.start_mark.column + 1


class _Builder:
    """Builds plain values from a stream of YAML events."""

    def __init__(self, source: Source, events: Iterator[yaml.Event]) -> None:
        self.source = source
        self.events = events
        self.entries = 0

    def document(self) -> Plain:
        value: Plain = None
        documents = 0
        for event in self.events:
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    raise self.refuse(event, (), "a second document begins here", "keep one problem in one file")
            elif isinstance(event, (yaml.StreamStartEvent, yaml.StreamEndEvent, yaml.DocumentEndEvent)):
                continue
            else:
                value = self.node(event, (), 1)
        if documents == 0:
            raise _fatal(self.source.file, "the file is empty", "begin with 'format: 1'")
        return value

    def refuse(self, event: yaml.Event, path: Route, message: str, remedy: str = "") -> ProblemFileError:
        line, column = _place(event)
        fault = Fault(self.source.file, line, column, dotted(path), message, remedy)
        return ProblemFileError([*self.source.faults, fault])

    def node(self, event: Any, path: Route, depth: int) -> Plain:
        self.entries += 1
        if self.entries > MOST_ENTRIES:
            raise self.refuse(
                event,
                path,
                f"the file has more than {MOST_ENTRIES:,} entries",
                "a problem file has a few hundred",
            )
        if depth > DEEPEST:
            raise self.refuse(event, (), *TOO_DEEP)
        if isinstance(event, yaml.AliasEvent):
            raise self.refuse(event, path, f"the alias '*{event.anchor}'", "write the value out here")
        if event.anchor is not None:
            raise self.refuse(event, path, f"the anchor '&{event.anchor}'", "remove it")
        if event.tag is not None and not (isinstance(event, yaml.ScalarEvent) and event.tag == "!"):
            raise self.refuse(event, path, f"the tag '{event.tag}'", "remove it")
        self.source.places[path] = _place(event)
        if isinstance(event, yaml.ScalarEvent):
            if NOT_YAML.search(event.value):
                raise self.refuse(event, path, "the text holds a control character", "remove it")
            if event.style in (None, "") and event.value in ("", "~", "null", "Null", "NULL"):
                return None
            return event.value
        if isinstance(event, yaml.SequenceStartEvent):
            return self.sequence(path, depth)
        return self.mapping(path, depth)

    def sequence(self, path: Route, depth: int) -> list:
        values: list = []
        for event in self.events:
            if isinstance(event, yaml.SequenceEndEvent):
                break
            values.append(self.node(event, (*path, len(values)), depth + 1))
        return values

    def mapping(self, path: Route, depth: int) -> dict:
        values: dict = {}
        for event in self.events:
            if isinstance(event, yaml.MappingEndEvent):
                break
            key = self.key(event, path)
            inner = (*path, key)
            place = _place(event)
            if key in values:
                first = self.source.key_places[inner][0]
                fault = Fault(
                    self.source.file, *place, dotted(inner), f"the key is given twice (first in line {first})",
                    "keep one of them",
                )  # fmt: skip
                self.source.faults.append(fault)
                self.node(next(self.events), (*path, f"{key} again"), depth + 1)
                continue
            self.source.key_places[inner] = place
            values[key] = self.node(next(self.events), inner, depth + 1)
        return values

    def key(self, event: yaml.Event, path: Route) -> str:
        if isinstance(event, yaml.AliasEvent):
            raise self.refuse(event, path, f"the alias '*{event.anchor}'", "write the key out here")
        if not isinstance(event, yaml.ScalarEvent):
            raise self.refuse(event, path, "a key that is not a plain word", "write 'key: value'")
        if event.anchor is not None:
            raise self.refuse(event, path, f"the anchor '&{event.anchor}'", "remove it")
        if event.tag is not None and event.tag != "!":
            raise self.refuse(event, path, f"the tag '{event.tag}'", "remove it")
        if event.value == "<<" and event.style in (None, ""):
            raise self.refuse(event, path, "the merge key '<<'", "write the keys out here")
        if not event.value.strip() or NOT_YAML.search(event.value):
            raise self.refuse(event, path, "a key without a name", "write 'key: value'")
        return event.value
