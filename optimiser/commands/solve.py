"""Find the design that comes closest to a problem file's goals, and prove it."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON (SI units, degrees).")
@click.option("--picture", type=click.Path(path_type=Path), help="Also draw plan and section, to scale, into this SVG file.")
@click.option("--grid", help="Step of the lengths to choose from, e.g. '5 mm'; else 1/16 in or 1 mm, as the file shows lengths.")
@click.option("--between-grid", is_flag=True, help="Make the proof hold for designs between grid points too.")
@click.option("--maximise", metavar="MEASURE", help="First raise this measure as far as the limits allow.")
@click.option("--minimise", metavar="MEASURE", help="First lower this measure as far as the limits allow.")
@click.option("--row", default="reference", help="The row meant by --maximise or --minimise: reference, worst or a number.")
@click.option("--fix", multiple=True, metavar="DECISION=VALUE", help="Pin a decision, e.g. screen.width=\"118 in\". Repeatable.")
@click.option("--overwrite", is_flag=True, help="Let --picture replace a file that is there.")
@click.pass_context
def command(ctx, file, as_json, picture, grid, between_grid, maximise, minimise, row, fix, overwrite) -> None:
    """Find the design that comes closest to the goals in FILE, and prove that none on the grid is better.

    Exit code 0: an answer; 2: FILE cannot be used; 3: the limits cannot all hold.
    """
    import time

    from optimiser.commands._common import asked_grid, pinned, refuse_existing
    from optimiser.errors import UsageError
    from optimiser.problem.read import load
    from optimiser.solve import solve

    if maximise and minimise:
        raise UsageError("give --maximise or --minimise, not both")
    if (maximise or minimise) and between_grid:
        raise UsageError("--between-grid goes with a score, not with --maximise or --minimise")
    if picture and not overwrite:
        refuse_existing(picture)
    start = time.perf_counter()
    problem = pinned(load(file), fix)
    step = asked_grid(grid)
    loading = time.perf_counter() - start
    found = None
    if maximise or minimise:
        from optimiser.extremes import extreme

        found = extreme(problem, maximise or minimise, greatest=bool(maximise), row=row, grid=step)
        solution = found.solution
        found = found if found.value is not None else None
    else:
        solution = solve(problem, grid=step, between=between_grid)
    if as_json:
        import json

        from optimiser.record import solution_record

        click.echo(json.dumps(solution_record(solution, load_seconds=loading, extreme=found), indent=1, ensure_ascii=False))
    else:
        from optimiser.commands._common import console
        from optimiser.sheet.terminal import print_solution

        print_solution(console(), solution, extreme=found)
    if picture and solution.design is not None:
        from optimiser.sheet.picture import write_picture

        write_picture(picture, solution.problem, solution.space, solution.design)
        click.echo(f"drawn: {picture}", err=True)
    if solution.design is None:
        ctx.exit(3 if solution.status == "impossible" else 1)
