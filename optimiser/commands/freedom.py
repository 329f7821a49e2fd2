"""Say how far each decision and measure can move while the score stays near the best."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--within",
    "losses",
    multiple=True,
    type=click.FloatRange(0.1, 50.0),
    help="Points that may be lost; repeatable, e.g. --within 1 --within 2 --within 5. Without it, 1.",
)
@click.option("--all", "every", is_flag=True, help="Tell of every measure, not only those in FILE's limits and goals.")
@click.option("--others", type=click.IntRange(0, 12), default=3, show_default=True, help="Designs that differ to show.")
@click.option("--fix", multiple=True, metavar="DECISION=VALUE", help='Pin a decision, e.g. screen.width="118 in".')
@click.option("--grid", help="Step of the lengths to choose from, e.g. '5 mm'.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON (SI units, degrees).")
@click.pass_context
def command(ctx, file, losses, every, others, fix, grid, as_json) -> None:
    """Tell how far each decision and each measure of FILE's best design can move while the score stays
    within a point of the best, and show designs within it that differ.

    Exit code 3 where FILE is impossible: explain then says why.
    """
    from optimiser.commands._common import NARROW, best_of, console, pinned, printed_head
    from optimiser.commands._progress import watched
    from optimiser.explain.freedom import LOSSES, freedom_of
    from optimiser.problem.read import load

    problem = pinned(load(file), fix)
    with watched() as progress:
        progress("the best design")
        best = best_of(ctx, file, problem, grid, fix)
        found = freedom_of(
            problem, best, losses=sorted(set(losses)) or LOSSES, every=every, others=others, progress=progress
        )
    if as_json:
        import json

        from optimiser.explain.records import freedom_record

        click.echo(json.dumps(freedom_record(problem, found), indent=1, ensure_ascii=False))
        return
    from optimiser.sheet.explained import print_freedom

    out = console(least=NARROW)
    printed_head(out, best)
    print_freedom(out, problem, found)
