"""Weigh a wish: the best design that has it, what it costs, and what stands in its way."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--set", "given", multiple=True, metavar="DECISION=VALUE", help='A wish, e.g. row1.y="10 ft". Repeatable.'
)
@click.option(
    "--at-least", "least", multiple=True, metavar="MEASURE=VALUE", help='A wish, e.g. "horizontal_angle[1]"="50 deg".'
)
@click.option("--at-most", "most", multiple=True, metavar="MEASURE=VALUE", help="A wish, the other way round.")
@click.option("--step", "steps", multiple=True, metavar="KIND=AMOUNT", help="Step of a quantity, e.g. length='2 in'.")
@click.option("--grid", help="Step of the lengths to choose from, e.g. '5 mm'.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON (SI units, degrees).")
@click.pass_context
def command(ctx, file, given, least, most, steps, grid, as_json) -> None:
    """Say why FILE's best design is not as wished: the best design that is, what that costs goal by goal
    and which demands stop it; or, where no design is, the conflict.

    Exit code 3 where the wish cannot be.
    """
    from functools import partial

    from optimiser.commands._common import asked_grid, assignments, console
    from optimiser.commands._progress import watched
    from optimiser.errors import of_each
    from optimiser.explain.steps import read_steps
    from optimiser.explain.wishes import decision_wish, measure_wish, why_not
    from optimiser.problem.read import load

    problem = load(file)
    reads = [partial(decision_wish, problem, *item) for item in assignments(given).items()]
    reads += [partial(measure_wish, *item, at_least=True) for item in assignments(least).items()]
    reads += [partial(measure_wish, *item, at_least=False) for item in assignments(most).items()]
    wishes = of_each(lambda read: read(), reads)
    with watched() as progress:
        found = why_not(
            problem, tuple(wishes), steps=read_steps(assignments(steps)), grid=asked_grid(grid), progress=progress
        )
    if as_json:
        import json

        from optimiser.explain.records import why_not_record

        click.echo(json.dumps(why_not_record(found), indent=1, ensure_ascii=False))
    else:
        from optimiser.sheet.compared import print_why_not

        print_why_not(console(), found)
    if found.wished.design is None:
        ctx.exit(3 if found.wished.status == "impossible" else 1)
