"""Score designs of one's own against a problem file's limits and goals."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--design", "names", multiple=True, help="A design that FILE names; repeatable. Without it, all of them.")
@click.option(
    "--set", "given", multiple=True, metavar="DECISION=VALUE", help="A decision of a design given here. Repeatable."
)
@click.option("--json", "as_json", is_flag=True, help="Print the scores as JSON (SI units, degrees).")
@click.option(
    "--targets",
    "sets",
    multiple=True,
    metavar="NAME",
    help="Score under a set of published bands too, or 'all'. Repeatable.",
)
@click.option("--grid", help="Step of the decisions that are not given, e.g. '5 mm'.")
@click.pass_context
def command(ctx, file, names, given, as_json, sets, grid) -> None:
    """Score the designs in FILE, or one given with --set, against its limits and goals.

    A design need not give every decision: the rest are chosen to suit it best. Says which limits
    break, and by how much. With --targets and no design, it is the best design that is scored.

    Exit code 0: all are scored; 2: FILE cannot be used, or one of the designs cannot be (the others are scored).
    """
    from optimiser.commands._common import asked_grid, assignments
    from optimiser.errors import UsageError, did_you_mean
    from optimiser.problem.decisions import read_values
    from optimiser.problem.read import load

    problem = load(file)
    known = {name: dict(values) for name, values in problem.designs}
    chosen: dict[str, dict[str, float]] = {}
    for name in names:
        if name not in known:
            raise UsageError(f"the file has no design '{name}': {did_you_mean(name, known)}")
        chosen[name] = known[name]
    if given:
        chosen["as given"] = read_values(problem, assignments(given))
    if not chosen:
        chosen = known
    if not chosen and sets:
        chosen = {"the best design": {}}
    if not chosen:
        raise UsageError('the file has no designs; give one with --set, e.g. --set screen.width="118 in"')
    step = asked_grid(grid)
    wanted = _wanted(sets)
    completed, wrong = _completed(problem, chosen, step)

    def fared(one) -> dict:
        return {"targets": [fare_record(f) for f in fares(problem, one.space, one.design, wanted)]} if wanted else {}

    if wanted:
        from optimiser.fares import fares
        from optimiser.record import fare_record
    if as_json:
        import json

        from optimiser.explain.departures import departures
        from optimiser.record import completed_record, failed_record

        def recorded(name):
            paths = [path for path, _ in departures(problem, completed[name].design)]
            return completed_record(problem, completed[name], name=name, unkept=paths) | fared(completed[name])

        records = [
            failed_record(problem, wrong[name], name=name) if name in wrong else recorded(name) for name in chosen
        ]
        click.echo(json.dumps(records[0] if len(records) == 1 else records, indent=1, ensure_ascii=False))
    else:
        from optimiser.commands._common import NARROW, console
        from optimiser.sheet.terminal import print_completed

        out = console(least=80 if wanted else NARROW)
        for number, (name, one) in enumerate(completed.items()):
            if number:
                out.print()
            print_completed(out, problem, one, name=name)
            if wanted:
                from optimiser.sheet.targets import print_fares

                print_fares(out, fares(problem, one.space, one.design, wanted), problem.show)
    for name, why in wrong.items():
        click.echo(f"not scored: {name}: {why}", err=True)
    if wrong:
        ctx.exit(2)


def _completed(problem, chosen, step):
    """The designs that can be, completed; and why the others cannot, by name."""
    from optimiser.complete import complete
    from optimiser.errors import InternalError, OptimiserError

    completed, wrong = {}, {}
    for name, values in chosen.items():
        try:
            completed[name] = complete(problem, values, grid=step)
        except InternalError:
            raise
        except OptimiserError as error:
            wrong[name] = "; ".join([*_outside(problem, values), str(error)])
    return completed, wrong


def _outside(problem, values) -> list[str]:
    """Which of a design's places lie outside the room."""
    from optimiser.problem.decisions import kind_of, written_value
    from optimiser.quantity import show

    room, found = problem.room, []
    across = ("screen.centre", "seating.centre", "baffle.left", "baffle.right")
    for name, value in values.items():
        part = name.rpartition(".")[2]
        if kind_of(name) != "length":
            continue
        size, words = (room.width, "wide") if name in across else (room.length, "long")
        if part in ("z", "bottom", "platform"):
            size, words = room.height, "high"
        if (name in across or part in ("y", "z", "bottom", "platform")) and value > size:
            where = written_value(problem, name, value)
            found.append(f"{name} of {where} is outside the room, {show('length', size, problem.show)} {words}")
    return found


def _wanted(sets: tuple[str, ...]) -> tuple[str, ...]:
    """The names of the sets that ``--targets`` asks for."""
    if not sets:
        return ()
    from optimiser.problem.targets import NAMES, target_set

    if "all" in sets:
        return NAMES
    return tuple(dict.fromkeys(target_set(name).name for name in sets))
