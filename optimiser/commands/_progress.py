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
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None)

        def tell(what: str, done: int = 0, of: int = 0) -> None:
            bar.update(task, description=what, completed=done, total=of or None)

        yield tell
