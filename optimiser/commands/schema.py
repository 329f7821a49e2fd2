"""Print the JSON Schema of problem files, for editors."""

from __future__ import annotations

import click


@click.command()
def command() -> None:
    """Print the JSON Schema of problem files (format 1), with which editors complete and check them."""
    import json

    from optimiser.problem.schema import json_schema

    click.echo(json.dumps(json_schema(), indent=2, ensure_ascii=False))
