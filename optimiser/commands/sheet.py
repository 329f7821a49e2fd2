"""Make the design sheet and the drawings of the best design: HTML, PDF, SVG, DXF."""

from __future__ import annotations

import os
from pathlib import Path

import click


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--out", required=True, type=click.Path(path_type=Path), help="Folder to write into; made if it is not there."
)
@click.option(
    "--from", "saved", type=click.Path(path_type=Path), help="Take a saved 'solve --json' result instead of solving."
)
@click.option(
    "--only", multiple=True, type=click.Choice(("html", "pdf", "svg", "dxf")), help="Make only this kind. Repeatable."
)
@click.option(
    "--paper",
    multiple=True,
    type=click.Choice(("a4", "letter")),
    help="Size of paper; else the one that goes with the file's units. Repeatable.",
)
@click.option("--quick", is_flag=True, help="Leave out what binds, for which the problem is solved again.")
@click.option("--freedom", is_flag=True, help="Also tell how far each decision may move; takes longer.")
@click.option("--front", type=click.Path(path_type=Path), help="Also show a front that 'trade --out' kept.")
@click.option("--overwrite", is_flag=True, help="Replace files that are there.")
@click.pass_context
def command(ctx, file, out, saved, only, paper, quick, freedom, front, overwrite) -> None:
    """Make the design sheet of FILE: the document that shows and defends its best design.

    Writes sheet.html, sheet-a4.pdf or sheet-letter.pdf, plan, section and elevation as SVG and PDF, and
    drawings.dxf; where no design exists, the drawings of the room alone. PDF needs the extra 'pdf', DXF the
    extra 'cad'.

    Exit code 0: a design; 2: FILE cannot be used; 3: the limits cannot all hold (the sheet says why).
    """
    from optimiser.commands._progress import watched
    from optimiser.errors import UsageError, writing
    from optimiser.problem.read import load
    from optimiser.sheet.make import DRAWN, KINDS, gather, left_over, missing, read_traded, write
    from optimiser.sheet.paper import PAPERS, paper_for
    from optimiser.sheet.restored import read_saved

    if quick and freedom:
        raise UsageError("give --quick or --freedom, not both")
    kinds = list(only) or list(KINDS)
    for kind in list(kinds):
        why = missing(kind)
        if why and only:
            raise UsageError(why)
        if why:
            click.echo(f"left out: {why}", err=True)
            kinds.remove(kind)
    if (freedom or front) and DRAWN.issuperset(kinds):
        raise UsageError("--freedom and --front are told on the sheet: leave out --only, or say --only html or pdf too")
    if os.path.exists(out) and not out.is_dir():
        raise UsageError(f"{out} is not a folder")
    with writing(out):
        taken = os.path.isdir(out) and any(out.iterdir())
    if taken and not overwrite:
        raise UsageError(f"{out} is not empty; choose another folder or say --overwrite")
    problem = load(file)
    result = None if saved is None else read_saved(saved)
    text = file.read_text(encoding="utf-8-sig")
    traded = None if front is None else read_traded(front, problem, text)
    how = {"prices": not quick, "freedom": freedom, "front": traded, "kinds": kinds}
    papers = [PAPERS[name] for name in paper] or [paper_for(problem.show)]
    with watched() as progress:
        material = gather(problem, text, file.name, saved=result, **how, progress=progress)
        progress("the sheet")
        with writing(out):
            out.mkdir(parents=True, exist_ok=True)
        written = write(material, out, kinds, papers)
    for path in written:
        click.echo(path)
    older = left_over(out, written)
    if older:
        click.echo(f"not written this time, and perhaps of another design: {', '.join(older)}", err=True)
    if material.solution.design is None:
        ctx.exit(3 if material.solution.status == "impossible" else 1)
