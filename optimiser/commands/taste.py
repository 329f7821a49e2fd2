"""Say how far each goal's weight can change before another design is better, and how hard each goal pulls."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--within",
    "loss",
    type=click.FloatRange(0.5, 50.0),
    default=1.0,
    show_default=True,
    help="Points below the best that still count as near it.",
)
@click.option("--fix", multiple=True, metavar="DECISION=VALUE", help='Pin a decision, e.g. screen.width="118 in".')
@click.option("--grid", help="Step of the lengths to choose from, e.g. '5 mm'.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON (SI units, degrees).")
@click.pass_context
def command(ctx, file, loss, fix, grid, as_json) -> None:
    """Tell for each goal of FILE how far its weight can go, from a tenth to ten times what it is, while the best
    design stays within a point of the best; and rank the goals by what the others lose to them.

    Exit code 3 where FILE is impossible: explain then says why.
    """
    from optimiser.commands._common import best_of, console, pinned, printed_head
    from optimiser.commands._progress import watched
    from optimiser.explain.pulls import pulls_of
    from optimiser.explain.taste import taste_of
    from optimiser.problem.read import load

    problem = pinned(load(file), fix)
    with watched() as progress:
        progress("the best design")
        best = best_of(ctx, file, problem, grid, fix)
        found = taste_of(problem, best, loss=loss, progress=progress)
        pulls = pulls_of(problem, best, progress=progress)
    if as_json:
        import json

        from optimiser.explain.taste_records import taste_record

        click.echo(json.dumps(taste_record(problem, best, loss, found, pulls), indent=1, ensure_ascii=False))
        return
    from optimiser.sheet.taste import print_taste

    out = console()
    printed_head(out, best)
    print_taste(out, problem, best, loss, found, pulls)
