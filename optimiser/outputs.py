"""Files that are written must not be those that were read."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from optimiser.errors import UsageError


def keep_apart(outputs: Iterable[Path | None], inputs: Iterable[Path | None]) -> None:
    """Refuse to write over what is read, however it is spelt, or twice into one file; None stands for a file that
    was not asked for. Raises UsageError."""
    read = [path for path in inputs if path is not None]
    wanted = [path for path in outputs if path is not None]
    for at, path in enumerate(wanted):
        if any(_same(path, other) for other in read):
            raise UsageError(f"{path} is read here, and would be written over: choose another name for what is written")
        if any(_same(path, other) for other in wanted[:at]):
            raise UsageError(f"{path} is named for two things that are written: choose another name for one")


MADE_LATER = {".xlsx": "--xlsx", ".csv": "--csv", ".svg": "--chart", ".png": "--chart"}
"""Kinds of file that are made of a finished study, and the option of 'optimiser show' that makes them."""


def named_as_records(out: Path | None) -> None:
    """Refuse to keep a study under a name of which people expect something else than its records. Raises UsageError."""
    if out is not None and (option := MADE_LATER.get(out.suffix.lower())):
        study = out.with_suffix(".jsonl").name
        raise UsageError(
            f"--out {out.name}: a study is kept as JSON Lines: write --out {study}, and then "
            f"'optimiser show {study} {option} {out.name}'"
        )


def _same(one: Path, other: Path) -> bool:
    """Whether two paths lead to one file, through links too."""
    try:
        return os.path.samefile(one, other)
    except OSError:  # one of them is not there
        return os.path.realpath(one) == os.path.realpath(other)
