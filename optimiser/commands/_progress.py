"""A progress bar on standard error, where somebody watches."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from optimiser.progress import Progress, silent


@contextmanager
def watched() -> Iterator[Progress]:
    """A bar that tells what is being done; silent where standard error is no terminal."""
    if not sys.stderr.isatty():
        yield silent
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    # no thread of its own: a process with threads cannot simply be forked, and what is known by then would be lost
    with Bar(*columns, console=Console(stderr=True), transient=True, auto_refresh=False) as bar:
        task = bar.add_task("", total=None)

        def tell(what: str, done: int = 0, of: int = 0) -> None:
            bar.update(task, description=what, completed=done, total=of or None, refresh=True)

        yield tell
