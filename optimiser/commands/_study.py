"""What the commands that make studies share: who works, where the file is, how far it has come."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click


def worked(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of a command that makes a study."""
    for option in reversed(
        (
            click.option(
                "--out",
                type=click.Path(path_type=Path),
                help="Keep the study in this file (JSON Lines), for show and --resume.",
            ),
            click.option("--resume", is_flag=True, help="Go on with the study that --out holds already."),
            click.option("--overwrite", is_flag=True, help="Begin again where --out is there already."),
            click.option("--workers", type=int, help="Processes to solve with; else one a core."),
            click.option("--cluster", metavar="ADDRESS", help="Solve on a Dask cluster, e.g. tcp://host:8786."),
            click.option(
                "--fix", multiple=True, metavar="DECISION=VALUE", help='Pin a decision, e.g. screen.width="118 in".'
            ),
            click.option("--grid", help="Step of the lengths to choose from, e.g. '5 mm'."),
        )
    ):
        command = option(command)
    return command


def read_text(path: Path) -> str:
    """A problem file's text. Raises the reader's errors where it cannot be read."""
    from optimiser.problem.read import load
    from optimiser.problem.yaml_reader import LARGEST_FILE

    load(path)  # every fault is told before anything is solved
    with open(path, encoding="utf-8-sig") as stream:
        return stream.read(LARGEST_FILE)


def carried_out(
    plan, function, *, out: Path | None, resume: bool, overwrite: bool, workers: int | None, cluster: str | None
):
    """The finished study of a plan, with a progress bar on the way."""
    from optimiser.study.making import make_study
    from optimiser.work import Workers

    started = False
    with counted() as told:

        def tell(done: int, of: int, before: int) -> None:
            nonlocal started
            started = True
            told(done, of, before)

        def hands() -> Workers:
            return Workers(workers=workers, cluster=cluster)

        try:
            return make_study(plan, function, hands, out=out, resume=resume, overwrite=overwrite, told=tell)
        except KeyboardInterrupt:
            if out is None or not started:
                raise
    click.echo(f"stopped; what was finished is in {out}, and --resume goes on", err=True)
    sys.exit(130)


@contextmanager
def counted() -> Iterator[Callable[[int, int, int], None]]:
    """A bar with rate and time left on standard error; silent where that is no terminal."""
    if not sys.stderr.isatty():
        yield lambda done, of, before: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (BarColumn(), MofNCompleteColumn(), TextColumn("{task.fields[pace]}"))
    bar = Progress(*columns, console=Console(stderr=True), transient=True)
    task = bar.add_task("", total=None, pace="")
    start = time.monotonic()

    def tell(done: int, of: int, before: int) -> None:
        bar.start()  # only now: worker processes are copies of this one, and the bar has a thread
        bar.update(task, completed=done, total=of, pace=pace(done - before, of - done, time.monotonic() - start))

    try:
        yield tell
    finally:
        bar.stop()


def pace(done: int, left: int, seconds: float) -> str:
    """How fast a study goes, and how long it may still take."""
    if done <= 0 or seconds <= 0.0:
        return ""
    rate = done / seconds
    minutes, rest = divmod(round(left / rate), 60)
    hours, minutes = divmod(minutes, 60)
    clock = f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"
    speed = f"{rate:.1f}/s" if rate >= 1.0 else f"{60.0 * rate:.1f}/min"
    return f"{speed}, {clock} left"
