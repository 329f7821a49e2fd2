"""List the sets of published bands side by side, or tell all about one."""

from __future__ import annotations

import click


@click.command()
@click.argument("name", required=False)
@click.option(
    "--show", "system", type=click.Choice(["ft-in", "in", "m", "cm", "mm"]), default="m", help="Units of lengths."
)
@click.option("--json", "as_json", is_flag=True, help="Print the sets as JSON (SI units, degrees).")
def command(name: str | None, system: str, as_json: bool) -> None:
    """List the sets of published bands side by side, so that their disagreements show; with NAME, tell all
    about one: every band with its source and how far that was checked."""
    from optimiser.commands._common import console
    from optimiser.problem.targets import NAMES, target_set
    from optimiser.sheet.targets import print_side_by_side, print_target_set

    sets = [target_set(one) for one in ((name,) if name is not None else NAMES)]
    if as_json:
        import json

        from optimiser.record import target_set_record

        records = [target_set_record(one) for one in sets]
        click.echo(json.dumps(records[0] if name is not None else records, indent=1, ensure_ascii=False))
    elif name is not None:
        print_target_set(console(), sets[0], system)
    else:
        print_side_by_side(console(), sets, system)
