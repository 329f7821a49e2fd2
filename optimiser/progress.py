"""Who hears how far long work has come."""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    """Hears what is being done, and where that can be counted, how much of it is done."""

    def __call__(self, what: str, done: int = 0, of: int = 0) -> None: ...


def silent(what: str, done: int = 0, of: int = 0) -> None:
    """Tells nobody."""
