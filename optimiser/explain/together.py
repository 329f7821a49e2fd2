"""Several questions at once, on as many processes as there are cores."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from typing import TypeVar

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
    count = min(len(items), cores())
    results: list[Result | None] = [None] * len(items)
    done = 0

    def tell() -> None:
        progress(what, done, len(items))

    tell()
    with Workers(executor=executor) if executor is not None else Workers(workers=max(1, count)) as workers:
        for outcome in workers.run(function, enumerate(items), waiting=tell):
            results[outcome.index] = outcome.result()
            done += 1
            tell()
    return results  # type: ignore[return-value]
