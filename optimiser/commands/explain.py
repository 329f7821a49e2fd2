"""Say why a problem is impossible and what would have to give, or what holds its best design back."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--most", type=click.IntRange(1, 50), default=5, show_default=True, help="Most conflicts to show.")
@click.option("--ranges", is_flag=True, help="Let ranges and fixed values of decisions give way too, beside limits.")
@click.option(
    "--weight", "weights", multiple=True, metavar="NAME=NUMBER", help="How dear a step of a limit (or path) is; else 1."
)
@click.option(
    "--step", "steps", multiple=True, metavar="KIND=AMOUNT", help="What counts as one step, e.g. length='2 in'."
)
@click.option("--fix", multiple=True, metavar="DECISION=VALUE", help='Pin a decision, e.g. screen.width="118 in".')
@click.option("--grid", help="Step of the lengths to choose from, e.g. '5 mm'.")
@click.option("--json", "as_json", is_flag=True, help="Print the explanation as JSON (SI units, degrees).")
@click.pass_context
def command(ctx, file, most, ranges, weights, steps, fix, grid, as_json) -> None:
    """Explain FILE: all smallest sets of demands that cannot hold together, with the numbers, and the least
    that would have to give; or, where there is an answer, what holds it back.

    Exit code 0: FILE has an answer; 3: it is impossible, whatever is said about the nearest design.
    """
    from optimiser.commands._common import NARROW, asked_grid, assignments, console, pinned
    from optimiser.commands._progress import watched
    from optimiser.explain.possible import Oracle
    from optimiser.explain.reasons import explained, read_weights
    from optimiser.explain.steps import read_steps
    from optimiser.problem.read import load

    problem = pinned(load(file), fix)
    with watched() as progress:
        found = explained(
            problem,
            Oracle(problem, grid=asked_grid(grid)),
            most=most,
            ranges=ranges,
            weights=read_weights(problem, weights),
            steps=read_steps(assignments(steps)),
            progress=progress,
        )
    if as_json:
        import json

        from optimiser.explain.records import explanation_record

        click.echo(json.dumps(explanation_record(found), indent=1, ensure_ascii=False))
    else:
        from optimiser.sheet.explained import print_explanation

        print_explanation(console(least=NARROW), found, assignments(fix))
    if not found.possible:
        ctx.exit(3)
