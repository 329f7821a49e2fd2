"""Set designs side by side: the file's own, saved answers and the best."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--design", "names", multiple=True, help="A design that FILE names; repeatable. Without it, all of them.")
@click.option(
    "--saved",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A result that solve or score wrote with --json. Repeatable.",
)
@click.option(
    "--set", "given", multiple=True, metavar="DECISION=VALUE", help="A decision of one more design. Repeatable."
)
@click.option("--no-best", is_flag=True, help="Leave the best design out.")
@click.option("--grid", help="Step of the decisions that are not given, e.g. '5 mm'.")
@click.option("--json", "as_json", is_flag=True, help="Print the comparison as JSON (SI units, degrees).")
def command(file, names, saved, given, no_best, grid, as_json) -> None:
    """Compare designs for FILE goal by goal, with their differences from the first in words."""
    from optimiser.commands._common import asked_grid, assignments, console
    from optimiser.explain.comparison import compared
    from optimiser.problem.decisions import read_values
    from optimiser.problem.read import load

    problem = load(file)
    own = read_values(problem, assignments(given))
    found = compared(problem, names, saved, {"as given": own} if own else None, best=not no_best, grid=asked_grid(grid))
    if as_json:
        import json

        from optimiser.explain.records import comparison_record

        click.echo(json.dumps(comparison_record(found), indent=1, ensure_ascii=False))
        return
    from optimiser.sheet.compared import print_comparison

    print_comparison(console(), found)
