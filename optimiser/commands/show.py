"""Show a study again from its file, without solving: tables, spreadsheets, charts."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("study", type=click.Path(path_type=Path))
@click.option("--csv", "comma", type=click.Path(path_type=Path), help="Write the records as CSV (SI units, degrees).")
@click.option("--xlsx", type=click.Path(path_type=Path), help="Write a workbook: inputs, results, scores, sources.")
@click.option("--chart", type=click.Path(path_type=Path), help="Draw the study as a chart, .svg or .png.")
@click.option("--plans", type=click.Path(path_type=Path), help="Draw plans of its designs side by side, .svg or .png.")
@click.option("--overwrite", is_flag=True, help="Replace files that are there.")
def command(study, comma, xlsx, chart, plans, overwrite) -> None:
    """Show STUDY, the file that trade, sweep or batch wrote: its records, where its answers change, what binds.

    A workbook needs the extra 'workbook', charts and plans the extra 'charts'.
    """
    from optimiser.commands._common import console, refuse_existing
    from optimiser.outputs import keep_apart
    from optimiser.study.reading import open_study

    found = open_study(study)
    keep_apart((comma, xlsx, chart, plans), [study])
    for path in (comma, xlsx, chart, plans):
        if path and not overwrite:
            refuse_existing(path)
    written = []
    if comma:
        from optimiser.sheet.results.comma import write_csv

        write_csv(comma, found)
        written.append(comma)
    if xlsx:
        from optimiser.sheet.results.workbook import write_workbook

        write_workbook(xlsx, found)
        written.append(xlsx)
    for path, outlines in ((chart, False), (plans, True)):
        if path:
            from optimiser.sheet.results.draw import write_chart

            write_chart(path, found, outlines=outlines)
            written.append(path)
    if not written:
        from optimiser.sheet.results.terminal import print_study

        print_study(console(), found)
    for path in written:
        click.echo(f"written: {path}", err=True)
