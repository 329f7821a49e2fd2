"""Find the best design of many rooms: problem files, or a table of rooms over one file."""

from __future__ import annotations

from pathlib import Path

import click

from optimiser.commands._study import worked


@click.command()
@click.argument("files", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--table",
    type=click.Path(path_type=Path),
    help="A room a line (CSV); columns headed name, room.length, room.width, ...",
)
@click.option(
    "--template", type=click.Path(path_type=Path), help="The problem file that a table's rooms are variants of."
)
@worked
def command(files, table, template, out, resume, overwrite, workers, cluster, fix, grid) -> None:
    """Find the best design of each of FILES, or of each line of a table over a template.

    A room that cannot be read, or that is impossible, is told of beside the others and stops nothing.

    Exit code 0: every room has its record, good or bad; 2: the call cannot be used.
    """
    from optimiser.commands._common import asked_grid, assignments, console
    from optimiser.commands._study import carried_out, read_text
    from optimiser.errors import UsageError
    from optimiser.outputs import keep_apart, named_as_records
    from optimiser.sheet.results.terminal import print_study
    from optimiser.study.batch import Batch, answer_room, batch_of_files, batch_of_table, read_table

    if bool(files) == bool(table) or bool(table) != bool(template):
        raise UsageError("name problem files, or give --table with --template")
    keep_apart([out], [*files, table, template])
    named_as_records(out)
    fixed, step = assignments(fix), asked_grid(grid)
    plan: Batch
    if table:
        text = read_text(template)
        plan = batch_of_table(read_table(table), table.name, text, template.name, fixed=fixed, grid=step)
    else:
        plan = batch_of_files(files, fixed=fixed, grid=step)
    study = carried_out(
        plan, answer_room, out=out, resume=resume, overwrite=overwrite, workers=workers, cluster=cluster
    )
    print_study(console(), study)
