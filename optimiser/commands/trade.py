"""Show what can be had of one thing for another: the designs that none beats in all of two or three."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from optimiser.commands._study import worked


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--between",
    "--and",
    "between",
    multiple=True,
    required=True,
    metavar="OBJECTIVE",
    help="image_width, upward_angle[row=2]:lower, length_fraction:closeness, score. Two of them or three.",
)
@click.option("--points", default=40, show_default=True, help="How many designs to find at least, if they differ.")
@click.option(
    "--spacing",
    multiple=True,
    metavar="OBJECTIVE=AMOUNT",
    help="How far apart instead, e.g. image_width='2 in'. Repeatable.",
)
@click.option("--close", type=float, help="Points of 100 to which a score is proven, if it is an objective; else 0.5.")
@click.option(
    "--best-scoring", "best", is_flag=True, help="At each point take the design that scores best, not any. Slower."
)
@click.option("--all", "every", is_flag=True, help="List every design, not a few dozen.")
@worked
@click.pass_context
def command(
    ctx, file, between, points, spacing, close, best, every, out, resume, overwrite, workers, cluster, fix, grid
) -> None:
    """Find the designs of FILE that no design beats in all of two or three objectives, each proven.

    An objective is a measure, raised or lowered (image_width, upward_angle[row=2]:lower), the closeness of
    a goal in FILE (length_fraction[row=reference]:closeness), or the score.

    Exit code 0: a front; 2: FILE or the call cannot be used; 3: the limits cannot all hold.
    """
    from optimiser.commands._common import asked_grid, assignments, console, explain_command, pinned
    from optimiser.commands._study import read_text
    from optimiser.engine import load_solver
    from optimiser.errors import ImpossibleProblem, UsageError
    from optimiser.outputs import keep_apart, named_as_records
    from optimiser.problem.read import loads
    from optimiser.sheet.fronts import print_front
    from optimiser.study.front import front
    from optimiser.study.oracle import CLOSE
    from optimiser.work import Workers

    if out is None and (resume or overwrite):
        raise UsageError("--resume and --overwrite go with --out")
    keep_apart([out], [file])
    named_as_records(out)
    text = read_text(file)
    problem = pinned(loads(text, str(file)), fix)
    load_solver()  # once, before the processes that need it begin
    try:
        # processes begin before the bar does: they are copies of this one, and the bar has a thread
        with Workers(workers=workers, cluster=cluster) as hands, counted() as told:
            found = front(
                problem,
                between,
                points=points,
                spacing=_spacings(spacing),
                grid=asked_grid(grid),
                close=CLOSE if close is None else close,
                best_scoring=best,
                workers=hands,
                out=out,
                text=text,
                fixed=assignments(fix),
                resume=resume,
                overwrite=overwrite,
                told=told,
            )
    except ImpossibleProblem as error:
        click.echo(f"{error}: '{explain_command(file, fix, grid)}' says why", err=True)
        ctx.exit(error.exit_code)
    except KeyboardInterrupt:
        if out is None or not out.exists():
            raise
        click.echo(f"stopped; what was finished is in {out}, and --resume goes on", err=True)
        sys.exit(130)
    print_front(console(), found, every=every)


def _spacings(texts) -> dict[str, str]:
    """``OBJECTIVE=AMOUNT`` texts; an objective's own brackets may hold an equals sign too."""
    from optimiser.errors import UsageError

    found = {}
    for text in texts:
        name, equals, amount = text.rpartition("=")
        if not equals or not name.strip() or not amount.strip() or name.count("[") != name.count("]"):
            raise UsageError(f"--spacing: '{text}' should read like image_width=\"2 in\"")
        found[name.strip()] = amount.strip()
    return found


@contextmanager
def counted() -> Iterator[Callable[[int, float], None] | None]:
    """A bar with the points found and a guess at how far it is; silent where standard error is no terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("the ends", total=1.0)
        yield lambda points, share: bar.update(task, description=f"{points} designs", completed=share)
