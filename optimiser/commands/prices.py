"""Say what each limit, range end, fixed decision and measurement costs, by solving again."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--all", "every", is_flag=True, help="Move every number in FILE, not only those of the room.")
@click.option(
    "--try",
    "tries",
    multiple=True,
    metavar="PATH=VALUE",
    help='Only this: room.doors.entry.hinge="+6 in", front.screen.bezel="2 in", limits.2.at_least="-3 in". Repeatable.',
)
@click.option("--step", "steps", multiple=True, metavar="KIND=AMOUNT", help="Step of a quantity, e.g. length='2 in'.")
@click.option("--thorough", is_flag=True, help="Let each price take as long as its proof does.")
@click.option("--picture", type=click.Path(path_type=Path), help="Also draw the prices as bars into this SVG file.")
@click.option("--fix", multiple=True, metavar="DECISION=VALUE", help='Pin a decision, e.g. screen.width="118 in".')
@click.option("--grid", help="Step of the lengths to choose from, e.g. '5 mm'.")
@click.option("--json", "as_json", is_flag=True, help="Print the prices as JSON (SI units, degrees).")
@click.option("--overwrite", is_flag=True, help="Let --picture replace a file that is there.")
@click.pass_context
def command(ctx, file, every, tries, steps, thorough, picture, fix, grid, as_json, overwrite) -> None:
    """Price what binds in FILE: move each demand and each measurement of the room by a step, either way,
    solve again, and rank what that gains in score and in image width.

    Exit code 3 where FILE is impossible: explain then says why.
    """
    from optimiser.commands._common import assignments, best_of, check_picture, console, pinned, printed_head
    from optimiser.commands._progress import watched
    from optimiser.errors import of_each
    from optimiser.explain.prices import prices_of, read_move
    from optimiser.explain.steps import read_steps
    from optimiser.outputs import keep_apart
    from optimiser.problem.read import load

    keep_apart([picture], [file])
    check_picture(picture, overwrite)
    problem = pinned(load(file), fix)
    moves = of_each(lambda item: read_move(problem, *item), assignments(tries).items()) or None
    with watched() as progress:
        progress("the best design")
        best = best_of(ctx, file, problem, grid, fix)
        how = {"steps": read_steps(assignments(steps)), "every": every, "moves": moves, "thorough": thorough}
        prices = prices_of(problem, best, **how, progress=progress)
    if as_json:
        import json

        from optimiser.explain.records import prices_record, unmoved_record

        head = {"format": 1, "title": problem.title, "score": best.score, "bound": best.bound}
        told = {"prices": prices_record(problem, prices), "not_moved": unmoved_record(problem, prices)}
        told["not_asked"] = list(prices.unasked)
        click.echo(json.dumps(head | told, indent=1, ensure_ascii=False))
    else:
        from optimiser.sheet.explained import print_prices

        out = console()
        printed_head(out, best)
        print_prices(out, problem, prices, title="What a step is worth, solved again each time")
    if picture:
        from optimiser.sheet.bars import write_prices

        write_prices(picture, problem, prices)
        click.echo(f"drawn: {picture}", err=True)
