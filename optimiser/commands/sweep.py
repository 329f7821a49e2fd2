"""Find the best design again at each value of an input: how the answer moves, and where it turns."""

from __future__ import annotations

from pathlib import Path

import click

from optimiser.commands._study import worked


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--over",
    multiple=True,
    required=True,
    metavar="PATH=VALUES",
    help='A value of FILE to vary: room.length="16 ft..24 ft step 6 in", screen.bezel="2 in, 4 in". Twice for two.',
)
@worked
def command(file, over, out, resume, overwrite, workers, cluster, fix, grid) -> None:
    """Find the best design of FILE at each value of one input, or each pair of values of two.

    Marks where the structure of the answer changes: number of rows, seats, kind or shape of screen, a
    limit that begins or ceases to bind, and where nothing is possible any more.

    Exit code 0: the study is complete, with or without points that are impossible; 2: FILE or the call
    cannot be used.
    """
    from optimiser.commands._common import asked_grid, assignments, console
    from optimiser.commands._study import carried_out, read_text
    from optimiser.outputs import keep_apart, named_as_records
    from optimiser.sheet.results.terminal import print_study
    from optimiser.study.asking import answer
    from optimiser.study.sweep import sweep_of

    keep_apart([out], [file])
    named_as_records(out)
    text = read_text(file)
    plan = sweep_of(text, file.name, assignments(over), fixed=assignments(fix), grid=asked_grid(grid))
    study = carried_out(plan, answer, out=out, resume=resume, overwrite=overwrite, workers=workers, cluster=cluster)
    print_study(console(), study)
