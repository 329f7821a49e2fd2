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
    from optimiser.errors import of_each, writing
    from optimiser.problem.starter import starter

    # each is looked at before any is complained about
    asked = (
        lambda: _check_file(file),
        lambda: _size("length", length),
        lambda: _size("width", width),
        lambda: _size("height", height),
        lambda: _check_rows(rows),
        lambda: _check_title(title),
    )
    _, *sizes, _, _ = of_each(lambda one: one(), asked)
    system = show or _system(length)
    typed = {"length": length, "width": width, "height": height}
    text = starter(**dict(zip(typed, sizes)), show=system, rows=rows, title=title, typed=typed)
    with writing(file), open(file, "x", encoding="utf-8") as out:
        out.write(text)
    click.echo(f"written: {file}\nnext: optimiser solve {file}")


def _check_file(file: Path) -> None:
    from optimiser.commands._common import refuse_existing
    from optimiser.errors import UsageError

    if os.path.exists(file):
        raise UsageError(f"{file} exists already; nothing was written")
    refuse_existing(file)


def _size(name: str, text: str):
    """A dimension of the room in metres; a fault of it is told in the units that it is given in."""
    from optimiser.errors import QuantityError, UsageError
    from optimiser.problem.starter import size_fault
    from optimiser.quantity import parse

    try:
        size = parse("length", text)
    except QuantityError as error:
        raise UsageError(f"--{name}: {error}") from None
    fault = size_fault(name, size, _system(text))
    if fault:
        raise UsageError(f"--{name}: {fault}")
    return size


def _check_rows(rows: int | None) -> None:
    from optimiser.errors import UsageError
    from optimiser.problem.starter import rows_fault

    fault = rows_fault(rows)
    if fault:
        raise UsageError(f"--rows: {fault}")


def _check_title(title: str) -> None:
    from optimiser.errors import UsageError
    from optimiser.problem.starter import title_fault

    if fault := title_fault(title):
        raise UsageError(f"--title: {fault}")


def _system(text: str) -> str:
    """The system of units that a length is given in."""
    if any(mark in text for mark in ("f", "'", "′", "’")):
        return "ft-in"
    if any(mark in text for mark in ("i", '"', "″", "”")):
        return "in"
    return next((unit for unit in ("mm", "cm") if text.rstrip().endswith(unit)), "m")
