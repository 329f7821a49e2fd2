"""What the documents show, made again: ``python -m tests.refresh_documents [FILE ...]``.

Documents show commands with their answers, and tables made from the program. All of it is marked, so
that this module can make it anew and test_documents.py can hold it to what the program says:

- a fenced ``console`` block: lines that begin with ``$ `` are run by a shell in an empty folder that
  has problems/ in it; what stands below each is what it printed;
- ``<!-- prints: COMMAND -->`` before a fenced ``text`` block: what that command prints; the command
  ``python`` stands for the nearest ``python`` block above;
- ``<!-- keys: Room -->`` to ``<!-- end -->``: the keys of that part of a problem file, from written.py;
  ``<!-- keys: MATERIALS -->`` likewise: the table of materials.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args, get_origin

from pydantic import BaseModel

from optimiser.physics.materials import MATERIALS, OCTAVE_BANDS
from optimiser.problem import written
from optimiser.problem.about import about
from optimiser.problem.decisions import Words
from optimiser.problem.fields import (
    Decides,
    Designs,
    FormatNumber,
    Later,
    OneOf,
    Quantity,
    Reader,
    RowPlaces,
    Text,
    Truth,
    either,
)
from optimiser.problem.tolerances import Tolerances
from optimiser.quantity import KINDS, show

ROOT = Path(__file__).resolve().parent.parent
WIDTH = 110
SECONDS = re.compile(r'"seconds": \{[^{}]*\}')
FENCE = re.compile(r"^```(\w*)\s*$")
PRINTS = re.compile(r"^<!-- prints: (.+) -->$")
KEYS = re.compile(r"^<!-- keys: (\w+) -->$")
END = "<!-- end -->"
HEADINGS = {"limit": "limits", "goal": "goals"}  # of parts whose heading is not their name


def documents() -> list[Path]:
    """Every document of the project."""
    return [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]


# --- blocks -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Block:
    """Lines ``first`` to ``last`` (0-based, ``last`` not included) of a document, without the fence or
    the marks around them. ``kind``: a fence's word, ``prints`` or ``keys``; ``about``: the command, or
    the part of a problem file."""

    first: int
    last: int
    kind: str
    text: str
    about: str = ""


def blocks(lines: list[str]) -> Iterator[Block]:
    """The fenced and marked blocks of a document."""
    at, prints, python = 0, "", ""
    while at < len(lines):
        if mark := PRINTS.match(lines[at]):
            prints = mark[1]
        elif mark := KEYS.match(lines[at]):
            end = lines.index(END, at)
            yield Block(at + 1, end, "keys", "\n".join(lines[at + 1 : end]), mark[1])
            at = end
        elif fence := FENCE.match(lines[at]):
            end = next(n for n in range(at + 1, len(lines)) if lines[n].startswith("```"))
            text = "\n".join(lines[at + 1 : end])
            if prints and fence[1] == "text":
                command = f"python - <<'END'\n{python}\nEND" if prints == "python" else prints
                yield Block(at + 1, end, "prints", text, command)
            else:
                yield Block(at + 1, end, fence[1], text)
            python = text if fence[1] == "python" else python
            prints, at = "", end
        at += 1


def answer(block: Block) -> str | None:
    """What the block should show; None for blocks that show nothing of the program's."""
    if block.kind == "console":
        return console(block.text)
    if block.kind == "prints":
        return run([block.about])[0]
    if block.kind != "keys":
        return None
    return material_table() if block.about == "MATERIALS" else key_table(getattr(written, block.about))


def settled(text: str) -> str:
    """A text without what differs from run to run: seconds, and blanks at the ends of lines."""
    return "\n".join(line.rstrip() for line in SECONDS.sub('"seconds": {}', text).splitlines()).strip("\n")


# --- commands -----------------------------------------------------------------------------------


def console(text: str) -> str:
    """A console block with its commands' answers as they are now."""
    commands = [line[2:] for line in text.splitlines() if line.startswith("$ ")]
    shown: list[str] = []
    for command, said in zip(commands, run(commands)):
        shown += [f"$ {command}", *([said] if said else [])]
    return "\n".join(shown)


def run(commands: list[str]) -> list[str]:
    """What each of some shell commands prints, run one after the other in one shell."""
    mark = "--- said ---"
    script = ["exec 2>&1"]
    for command in commands:
        script += [command, f"_status=$?; printf '\\n%s\\n' '{mark}'; (exit $_status)"]
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder, "here")
        tools = Path(folder, "tools")
        place.mkdir()
        tools.mkdir()
        (place / "problems").symlink_to(ROOT / "problems")
        for name, call in (("optimiser", "-m optimiser"), ("python", "")):
            tool = tools / name
            tool.write_text(f'#!/bin/sh\nexec "{sys.executable}" {call} "$@"\n')
            tool.chmod(0o755)
        environment = os.environ | {
            "PATH": f"{tools}{os.pathsep}{os.environ['PATH']}",
            "PYTHONPATH": str(ROOT),
            "PYTHONDONTWRITEBYTECODE": "1",
            "COLUMNS": str(WIDTH),
        }
        done = subprocess.run(
            ["bash", "-c", "\n".join(script)],
            cwd=place,
            env=environment,
            capture_output=True,
            text=True,
            encoding="utf-8",
            timeout=600,
            check=False,
        )
    said = done.stdout.split(f"\n{mark}\n")
    assert len(said) == len(commands) + 1, f"the shell broke off: {done.stdout}{done.stderr}"
    return ["\n".join(line.rstrip() for line in part.splitlines()).strip("\n") for part in said[:-1]]


# --- tables -------------------------------------------------------------------------------------


def material_table() -> str:
    """The materials with their absorption in octaves, and where it comes from."""
    rows = ["| material | " + " | ".join(show("frequency", f) for f in OCTAVE_BANDS) + " | source |"]
    rows.append("|---|" + "---|" * len(OCTAVE_BANDS) + "---|")
    for one in MATERIALS.values():
        rows.append(f"| {one.name} | " + " | ".join(f"{a:g}" for a in one.absorption) + f" | {one.source} |")
    return "\n".join(rows)


# --- keys of the problem file -------------------------------------------------------------------


def key_table(part: type[BaseModel]) -> str:
    """The keys of one part of a problem file: what each takes, what holds without it, what it says."""
    rows = ["| key | takes | left out | |", "|---|---|---|---|"]
    for name, field in part.model_fields.items():
        takes = _takes(field.annotation, list(field.metadata))
        rows.append(f"| `{name}` | {takes} | {_default(field)} | {about(part, name)} |")
    return "\n".join(rows)


def _takes(annotation: Any, metadata: list[Any]) -> str:
    reader = next((one for one in metadata if isinstance(one, Reader)), None)
    if reader is not None:
        return _reader(reader)
    inner = [one for one in get_args(annotation) if one is not type(None)]
    if get_origin(annotation) is list:
        (item,) = inner
        one, *more = get_args(item) if not isinstance(item, type) else (item,)
        if isinstance(one, type) and issubclass(one, BaseModel):
            return f"a list of {_link(one)}"
        lengths = {getattr(mark, "min_length", None) for mark in metadata} - {None}
        many = "[from, to], each" if lengths == {2} else f"a list of {' or '.join(map(str, lengths)) or 'some'}, each"
        return f"{many} {_takes(one, more)}"
    if inner:
        return _takes(inner[0], [])
    return _link(annotation)


def _link(part: type[BaseModel]) -> str:
    anchor = part.__name__.lower()
    return f"[{part.__name__}](#{HEADINGS.get(anchor, anchor)})"


def _reader(reader: Reader) -> str:
    if isinstance(reader, Quantity):
        return KINDS[reader.bounds.kind].name
    if isinstance(reader, Decides):
        bounds = reader.bounds
        what = either(f"`{word}`" for word in bounds.words) if isinstance(bounds, Words) else KINDS[bounds.kind].name
        return f"a decision: {what}" + ("" if reader.ranges else ", or a choice")
    if isinstance(reader, OneOf):
        return either(f"`{word}`" for word in reader.words)
    if isinstance(reader, Truth):
        return "`true` or `false`"
    if isinstance(reader, Later):
        return "a value in the measure's unit"
    if isinstance(reader, RowPlaces):
        return "decisions by name"
    if isinstance(reader, Designs):
        return "designs by name"
    if isinstance(reader, Tolerances):
        return "amounts by name"
    if isinstance(reader, FormatNumber):
        return "`1`"
    assert isinstance(reader, Text), f"say what {type(reader).__name__} takes"
    return "a text"


def _default(field: Any) -> str:
    if field.is_required():
        return "must be there"
    default = field.get_default(call_default_factory=True)
    if isinstance(default, BaseModel) or default in (None, [], {}):
        return ""
    return f"`{default}`"


# --- refreshing ---------------------------------------------------------------------------------


def refreshed(text: str) -> str:
    """A document with all that it shows made again."""
    lines = text.split("\n")
    for block in reversed(list(blocks(lines))):
        made = answer(block)
        if made is not None:
            lines[block.first : block.last] = made.split("\n")
    return "\n".join(lines)


def main(names: list[str]) -> None:
    """Refresh the documents with these names, or all."""
    for path in map(Path, names) if names else documents():
        before = path.read_text(encoding="utf-8")
        after = refreshed(before)
        if settled(after) != settled(before):
            path.write_text(after, encoding="utf-8")
            print(f"refreshed {path}")


if __name__ == "__main__":
    main(sys.argv[1:])
