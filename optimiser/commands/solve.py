"""Find the design that comes closest to a problem file's goals, and prove it."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON (SI units, degrees).")
@click.option(
    "--picture", type=click.Path(path_type=Path), help="Also draw plan and section, to scale, into this SVG file."
)
@click.option(
    "--grid", help="Step of the lengths to choose from, e.g. '5 mm'; else 1/16 in or 1 mm, as the file shows lengths."
)
@click.option("--between-grid", is_flag=True, help="Make the proof hold for designs between grid points too.")
@click.option(
    "--maximise",
    metavar="MEASURE",
    help="First raise this measure as far as the limits allow, e.g. image_width or mode_level[order=2].",
)
@click.option("--minimise", metavar="MEASURE", help="First lower this measure as far as the limits allow.")
@click.option(
    "--row",
    help="The row meant by --maximise or --minimise: reference (if not given), worst, worst seat or a number.",
)
@click.option(
    "--fix", multiple=True, metavar="DECISION=VALUE", help='Pin a decision, e.g. screen.width="118 in". Repeatable.'
)
@click.option("--robust", is_flag=True, help="Let the limits hold at every corner of the tolerances that FILE states.")
@click.option("--share", help="With --robust: let them hold in this share of cases instead, e.g. '95 %'.")
@click.option(
    "--spread", "spreads", multiple=True, metavar="INPUT=AMOUNT", help='With --robust: a tolerance, as row1.y="1/2 in".'
)
@click.option("--people", metavar="TABLE", help="With --robust: whose eyes and heads, ansur_ii or din_33402_2.")
@click.option("--women", metavar="SHARE", help="With --robust: share of women among them; else half.")
@click.option("--overwrite", is_flag=True, help="Let --picture replace a file that is there.")
@click.pass_context
def command(
    ctx,
    file,
    as_json,
    picture,
    grid,
    between_grid,
    maximise,
    minimise,
    row,
    fix,
    robust,
    share,
    spreads,
    people,
    women,
    overwrite,
) -> None:
    """Find the design that comes closest to the goals in FILE, and prove that none on the grid is better.

    Exit code 0: an answer; 2: FILE cannot be used; 3: the limits cannot all hold.
    """
    import time
    from dataclasses import replace

    from optimiser.commands._common import asked_grid, assignments, check_picture, pinned, with_tolerances
    from optimiser.errors import UsageError
    from optimiser.outputs import keep_apart
    from optimiser.problem.read import load

    if maximise and minimise:
        raise UsageError("give --maximise or --minimise, not both")
    if (maximise or minimise) and between_grid:
        raise UsageError("--between-grid goes with a score, not with --maximise or --minimise")
    if row is not None and not (maximise or minimise):
        raise UsageError("--row goes with --maximise or --minimise")
    if robust and (maximise or minimise or between_grid):
        raise UsageError("--robust goes neither with --maximise or --minimise nor with --between-grid")
    if not robust and (share or spreads or people or women):
        raise UsageError("--share, --spread, --people and --women go with --robust")
    keep_apart([picture], [file])
    check_picture(picture, overwrite)
    start = time.perf_counter()
    problem = pinned(load(file), fix)
    step = asked_grid(grid)
    loading = time.perf_counter() - start
    found = sturdy = None
    whole = True
    if robust:
        from optimiser.commands._common import asked_share
        from optimiser.commands._progress import watched
        from optimiser.explain.robust import robust as robust_solve

        problem = with_tolerances(problem, spreads, people, women)
        with watched() as progress:
            sturdy = robust_solve(problem, share=asked_share(share), grid=step, progress=progress)
        solution = sturdy.solution
    elif maximise or minimise:
        from optimiser.extremes import asked_for, extreme

        found = extreme(problem, **asked_for(maximise or minimise, row), greatest=bool(maximise), grid=step)
        solution = found.solution
        found = found if found.value is not None else None
    else:
        solution, whole = _watched(problem, step, between_grid)
    fixed = assignments(fix)
    if as_json:
        import json

        if sturdy is not None:
            from optimiser.explain.tolerance_records import robust_record

            record = robust_record(sturdy, load_seconds=loading, fixed=fixed)
        else:
            from optimiser.record import solution_record

            record = solution_record(solution, load_seconds=loading, extreme=found, fixed=fixed)
        click.echo(json.dumps(record, indent=1, ensure_ascii=False))
    elif sturdy is not None:
        from optimiser.commands._common import console, explain_command
        from optimiser.sheet.tolerances import print_robust

        print_robust(console(), sturdy, explain=explain_command(file, fix, grid), pinned=bool(fix))
    else:
        from optimiser.commands._common import NARROW, console, explain_command
        from optimiser.sheet.proof import extreme_words, pins_words
        from optimiser.sheet.terminal import print_solution

        why = explain_command(file, fix, grid)
        pushed = () if found is None else (extreme_words(found.measure, found.options, found.row, found.greatest),)
        asked = replace(solution, asked=(*pins_words(fixed), *pushed))
        print_solution(console(least=NARROW), asked, extreme=found, explain=why, pinned=bool(fix))
    if picture and solution.design is not None:
        from optimiser.sheet.picture import write_picture

        write_picture(picture, solution.problem, solution.space, solution.design)
        click.echo(f"drawn: {picture}", err=True)
    if not whole:
        click.echo("stopped before the proof was done; this is the best design found so far", err=True)
        ctx.exit(130)
    if solution.design is None:
        ctx.exit(3 if solution.status == "impossible" else 1)


def _watched(problem, step, between):
    """The best design, with a bar on the way; and whether nobody stopped the search. Who stops it gets what was found."""
    from optimiser.commands._progress import watched
    from optimiser.compile.stopping import stoppable
    from optimiser.design import grid_of
    from optimiser.search import Search
    from optimiser.solve import settle, stopped

    search = Search(problem, grid_of(problem) if step is None else step)
    try:
        with stoppable(), watched() as progress:
            search.tell = progress
            return settle(search, between), True
    except KeyboardInterrupt:
        found = stopped(search, between)
        if found is None:
            raise
        return found, False
