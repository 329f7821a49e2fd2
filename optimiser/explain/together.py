"""Several questions at once, on as many processes as there are cores."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from typing import TypeVar

from optimiser.errors import InternalError, UsageError
from optimiser.progress import Progress, silent
from optimiser.work import Workers, cores

Item = TypeVar("Item")
Result = TypeVar("Result")


def together(
    function: Callable[[Item], Result],
    items: Sequence[Item],
    what: str,
    *,
    executor: Executor | None = None,
    progress: Progress = silent,
) -> list[Result]:
    """``function`` of each item, in the order of the items.

    The function must be a module's own, and its items and results plain data: they go to other
    processes. ``executor``: any of concurrent.futures, instead of processes of this machine.
    """
    progress(what, 0, len(items))
    count = min(len(items), cores())
    results: list[Result | None] = [None] * len(items)
    with Workers(executor=executor) if executor is not None else Workers(workers=max(1, count)) as workers:
        for done, outcome in enumerate(workers.run(function, enumerate(items)), start=1):
            if outcome.error is not None:
                raise (UsageError if outcome.exit_code == UsageError.exit_code else InternalError)(outcome.error)
            results[outcome.index] = outcome.value
            progress(what, done, len(items))
    return results  # type: ignore[return-value]
