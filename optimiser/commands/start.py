"""Write a commented problem file to begin with, for a room of given dimensions."""

from __future__ import annotations

import os
from pathlib import Path

import click


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--length", required=True, help='Front wall to rear wall, e.g. "23 ft 4 in" or "7.1 m".')
@click.option("--width", required=True, help="Left wall to right wall.")
@click.option("--height", required=True, help="Floor to ceiling.")
@click.option("--rows", type=int, help="Most rows to consider; else what the length has space for.")
@click.option("--title", default="A first look at the room", help="The room's name.")
@click.option(
    "--show",
    type=click.Choice(["ft-in", "in", "m", "cm", "mm"]),
    help="How lengths are printed; else as --length is given.",
)
def command(file, length, width, height, rows, title, show) -> None:
    """Write a commented problem file for a room to FILE, which must not exist yet."""
    from optimiser.commands._common import refuse_existing
    from optimiser.errors import QuantityError, UsageError, writing
    from optimiser.problem.starter import starter
    from optimiser.quantity import parse

    if os.path.exists(file):
        raise UsageError(f"{file} exists already; nothing was written")
    refuse_existing(file)
    sizes = {}
    for name, text in (("length", length), ("width", width), ("height", height)):
        try:
            sizes[name] = parse("length", text)
        except QuantityError as error:
            raise UsageError(f"--{name}: {error}") from None
    system = show or ("ft-in" if any(mark in length for mark in ("f", "'", "i", '"', "′", "″", "’", "”")) else "m")
    text = starter(**sizes, show=system, rows=rows, title=title)
    with writing(file), open(file, "x", encoding="utf-8") as out:
        out.write(text)
    click.echo(f"written: {file}\nnext: optimiser solve {file}")
