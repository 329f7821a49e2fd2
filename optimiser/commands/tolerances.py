"""Say how often limits hold and how scores spread where building is not exact and people differ."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--spread",
    "spreads",
    multiple=True,
    metavar="INPUT=AMOUNT",
    help='What varies by how much, e.g. row1.y="1/2 in" for ±1/2 in, or room.height="sigma 3 mm". Repeatable.',
)
@click.option("--people", metavar="TABLE", help="Whose eyes and heads: a table of body sizes, ansur_ii or din_33402_2.")
@click.option("--women", metavar="SHARE", help="Share of women among them, e.g. '40 %'; else half.")
@click.option("--design", "name", help="A design that FILE names, instead of the best.")
@click.option(
    "--set", "given", multiple=True, metavar="DECISION=VALUE", help="A decision of a design given here. Repeatable."
)
@click.option(
    "--samples",
    type=int,
    help="Cases to try, at least; else 10240, or 640 where each takes a room of its own, as with the bass of another room.",
)
@click.option("--grid", help="Step of the lengths to choose from, e.g. '5 mm'.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON (SI units, degrees).")
@click.pass_context
def command(ctx, file, spreads, people, women, name, given, samples, grid, as_json) -> None:
    """Tell what tolerances do to the best design of FILE, or to one of its own: the chance that each limit
    holds and the spread of each score, with the sampling error. What varies stands under 'tolerances:' in
    FILE, or is given here.

    Exit code 3 where FILE is impossible: explain then says why.
    """
    from optimiser.commands._common import asked_grid, assignments, best_of, console, printed_head, with_tolerances
    from optimiser.commands._progress import watched
    from optimiser.complete import complete
    from optimiser.errors import UsageError, did_you_mean
    from optimiser.explain.tolerances import tolerated
    from optimiser.problem.decisions import read_values
    from optimiser.problem.read import load

    problem = with_tolerances(load(file), spreads, people, women)
    step = asked_grid(grid)
    if name is not None and given:
        raise UsageError("give --design or --set, not both")
    values = read_values(problem, assignments(given))
    if name is not None:
        known = dict(problem.designs)
        if name not in known:
            raise UsageError(f"the file has no design '{name}': {did_you_mean(name, known)}")
        values = dict(known[name])
    with watched() as progress:
        progress("the design")
        if values:
            one = complete(problem, values, grid=step)
            head = f"{problem.title}: {name or 'as given'}"
        else:
            one = best_of(ctx, file, problem, grid)
            head = None
        found = tolerated(problem, one.space, one.design, samples=samples, progress=progress)
    if as_json:
        import json

        from optimiser.explain.tolerance_records import tolerated_record

        click.echo(json.dumps(tolerated_record(found), indent=1, ensure_ascii=False))
        return
    from optimiser.sheet.tolerances import print_tolerated

    out = console()
    if head is None:
        printed_head(out, one)
    else:
        out.print(head, style="bold")
        out.print()
    print_tolerated(out, found)
