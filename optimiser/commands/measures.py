"""List the measures with unit, formula and source, or tell all about one."""

from __future__ import annotations

import click

UNITS = {
    "length": "length",
    "angle": "degrees",
    "ratio": "ratio",
    "time": "seconds",
    "frequency": "hertz",
    "level": "decibels",
    "count": "number",
    "area": "area",
    "pixels_per_degree": "pixels per degree",
    "luminance": "cd/m2",
    "money": "money",
}


@click.command()
@click.argument("name", required=False)
def command(name: str | None) -> None:
    """List the measures with unit, formula and source; with NAME, tell all about one."""
    from optimiser.errors import UsageError
    from optimiser.measures import catalogue
    from optimiser.problem.decisions import nearest_measure

    found = catalogue()
    if name is not None:
        if name not in found:
            raise UsageError(f"unknown measure '{name}': {nearest_measure(name, found)}")
        _tell(found[name])
        return
    from rich.text import Text

    from optimiser.commands._common import console
    from optimiser.sheet.whole import Columns

    table = Columns(box=None, pad_edge=False, header_style="bold")
    for heading in ("measure", "unit", "formula", "source"):
        table.add_column(heading, overflow="fold", no_wrap=heading == "measure")  # whoever searches finds it
    family = ""
    for measure in found.values():
        if measure.family != family:
            family = measure.family
            table.add_row("")
            table.add_row(Text(family, style="bold"))
        table.add_row(measure.name, UNITS.get(measure.quantity, measure.quantity), measure.formula, measure.source)
    console().print(table)


def _tell(measure) -> None:
    from optimiser.measures.base import KEYS

    lines = [
        measure.name,
        "",
        measure.about,
        "",
        f"unit:     {UNITS.get(measure.quantity, measure.quantity)}",
        f"formula:  {measure.formula}",
        f"source:   {measure.source}",
        "for:      "
        + (f"each row from row {measure.first_row}" if measure.per_row else "the whole design")
        + (", or each seat by itself, with row: worst seat" if measure.per_seat else ""),
    ]
    for option, values in measure.options.items():
        lines.append(f"option:   {option}: {', '.join(map(str, values))} ({values[0]} if not given)")
    for need in measure.needs:
        lines.append(f"needs:    {KEYS[need]} in the problem file")
    if measure.screens:
        lines.append(f"only for: {', '.join(measure.screens)} screens")
    head = f"  - {{measure: {measure.name}"
    lines += [
        "",
        "in a problem file, under limits, with one of the two ends or both:",
        f"{head}, at_least: ..., at_most: ...}}",
        "and under goals, with a band, or at_least or at_most in its place:",
        f"{head}, band: [..., ...], fade: ...}}",
    ]
    click.echo("\n".join(lines))
