"""One tree of errors. Each says where, what is wrong and how to mend it, and carries an exit code."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

Thing = TypeVar("Thing")
Made = TypeVar("Made")


class OptimiserError(Exception):
    """Anything that the program can explain to its user."""

    exit_code = 1


class QuantityError(OptimiserError):
    """A text that cannot be read as the quantity asked for."""

    exit_code = 2

    def __init__(self, message: str, remedy: str = "") -> None:
        super().__init__(f"{message}: {remedy}" if remedy else message)
        self.message = message
        self.remedy = remedy


class UsageError(OptimiserError):
    """A value on the command line, or in a call, that cannot be used."""

    exit_code = 2


def of_each(function: Callable[[Thing], Made], things: Iterable[Thing]) -> list[Made]:
    """What a function makes of each thing. UsageError with all that is wrong with any of them, a line each."""
    made, faults = [], []
    for thing in things:
        try:
            made.append(function(thing))
        except UsageError as error:
            faults.append(str(error))
    if faults:
        raise UsageError("\n".join(faults))
    return made


@contextmanager
def writing(path: Path) -> Iterator[None]:
    """Around what writes a file or folder. UsageError with the system's reason where it cannot be written."""
    try:
        yield
    except OSError as error:
        raise UsageError(f"{error.filename or path} cannot be written ({error.strerror})") from None


@dataclass(frozen=True)
class Fault:
    """One thing wrong with a problem file. ``line`` and ``column`` count from 1; 0: no place known."""

    file: str
    line: int
    column: int
    path: str
    message: str
    remedy: str = ""

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        return ": ".join(part for part in (place, self.path, self.message, self.remedy) if part)


class ProblemFileError(OptimiserError):
    """A problem file that cannot be used, with all its faults in order of place."""

    exit_code = 2

    def __init__(self, faults: Iterable[Fault]) -> None:
        unique = dict.fromkeys(faults)
        self.faults = tuple(sorted(unique, key=lambda f: (f.line, f.column, f.path, f.message)))
        super().__init__("\n".join(str(fault) for fault in self.faults))


class ImpossibleProblem(OptimiserError):
    """No design can hold all limits. ``conflict`` names limits that cannot hold together."""

    exit_code = 3

    def __init__(self, message: str, conflict: Sequence[object] = ()) -> None:
        super().__init__(message)
        self.conflict = list(conflict)


class Undecided(OptimiserError):
    """The solver gave up: neither a design nor a proof that there is none."""


class InternalError(OptimiserError):
    """The program contradicts itself, as when the exact check refuses what the solver returned."""

    exit_code = 1


def cut_by_comma(key: str, value: object) -> str:
    """The remedy for a key that is the end of a number and has no value, as ``4 m`` in ``{height: 2,4 m}``; empty for any
    other."""
    if not key[:1].isdigit() or value not in (None, ""):
        return ""
    return "within braces a comma ends a value: write a decimal point, and nothing between thousands"


OTHER_WORDS = {
    "brightness": ("lumens", "luminance"),
    "depth": ("length",),
    "direction": ("towards",),
    "frame": ("bezel",),
    "max": ("at_most",),
    "maximum": ("at_most",),
    "min": ("at_least",),
    "minimum": ("at_least",),
    "obstacles": ("obstructions",),
    "position": ("hinge", "along"),
    "ratio": ("aspect",),
    "riser": ("platform", "risers"),
    "rt60": ("reverberation_time",),
    "size": ("diagonal",),
    "speakers": ("loudspeakers",),
    "swing": ("opens",),
    "target": ("band",),
    "tolerance": ("fade",),
    "width": ("leaf", "along"),
    "windows": ("openings",),
}
"""Everyday words that people write for the known names, which are not spelt like them."""


def did_you_mean(word: str, known: Iterable[str], *, lists: str = "") -> str:
    """A remedy for a mistyped name: the nearest known one, or else all that are known, or the command that ``lists`` them
    where they are too many."""
    from difflib import get_close_matches

    names = list(known)
    meant = [name for name in OTHER_WORDS.get(word, ()) if name in names]
    if meant:
        return f"did you mean '{meant[0]}'?"
    # The cut-off is lower for short words, in which one slip is a large part.
    near = get_close_matches(word, names, n=1, cutoff=0.6 if len(word) > 4 else 0.5)
    if near:
        return f"did you mean '{near[0]}'?"
    if not names:
        return "nothing can be named here"
    if len(names) > 16:
        return "none of the known names is near it" + (f": '{lists}' lists them all" if lists else "")
    return "known here: " + ", ".join(names)


def whole(number: object, of: str) -> int:
    """A whole number ``of`` something, as it is. UsageError for anything else."""
    if isinstance(number, bool) or not isinstance(number, int):
        raise UsageError(f"a whole number of {of}, please, not {number!r}")
    return number
