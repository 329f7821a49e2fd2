"""The command line: finds the commands, and turns every known error into words and an exit code."""

from __future__ import annotations

import ast
import gc
import os
import sys
from importlib import import_module
from pathlib import Path

import click

from optimiser import __version__
from optimiser.commands._output import UNWRITTEN, ReaderGone, any_letters, forget_output, read_by_somebody
from optimiser.errors import OptimiserError

FOLDER = Path(__file__).parent / "commands"
RUBBISH = 50_000
"""Objects after which Python looks for rubbish: what is imported stays, and to look through it every 700 objects
takes a tenth of a short command."""

ONE_THREAD = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
"""What libraries of linear algebra go by: with one thread they add up in the same order on any machine, and keep no core
busy that another process could have."""

ORDER = ("start", "solve", "score", "sheet", "measures", "targets", "schema")


def _names() -> list[str]:
    found = sorted(p.stem.replace("_", "-") for p in FOLDER.glob("*.py") if not p.stem.startswith("_"))
    return sorted(found, key=lambda name: (ORDER.index(name) if name in ORDER else len(ORDER), name))


def _summary(name: str) -> str:
    """First line of a command's module docstring, read without importing the module."""
    source = (FOLDER / f"{name.replace('-', '_')}.py").read_text(encoding="utf-8")
    text = ast.get_docstring(ast.parse(source)) or ""
    return text.splitlines()[0] if text else ""


class Commands(click.Group):
    """A group whose commands are loaded when they are asked for, so that help is quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return _names()

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in _names():
            return None
        return import_module(f"optimiser.commands.{name.replace('-', '_')}").command

    def make_context(self, *args, **how) -> click.Context:
        with read_by_somebody():
            return super().make_context(*args, **how)

    def invoke(self, ctx: click.Context):
        with read_by_somebody():
            return super().invoke(ctx)

    def resolve_command(self, ctx: click.Context, args: list[str]):
        from difflib import get_close_matches

        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as error:
            near = get_close_matches(args[0], _names(), n=1)
            if near:
                error.message += f" Did you mean '{near[0]}'?"
            raise

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, _summary(name)) for name in _names()])


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="optimiser")
def program() -> None:
    """Find the screen, seat rows and baffle wall that come closest to what a private screening room
    should be, with the proof that nothing on the grid is better."""


def main(arguments: list[str] | None = None) -> None:
    """Run the program and exit: 0 an answer (or nobody left to read it), 1 no answer within the effort
    allowed, or one that could not be written out, 2 a bad file or call, 3 an impossible problem, 130 stopped."""
    gc.set_threshold(RUBBISH)
    for name in ONE_THREAD:
        os.environ.setdefault(name, "1")
    any_letters(sys.argv[1:] if arguments is None else arguments)
    try:
        status = program.main(args=arguments, prog_name="optimiser", standalone_mode=False)
        sys.stdout.flush()
    except click.exceptions.Abort:
        click.echo("stopped", err=True)
        sys.exit(130)
    except click.ClickException as error:
        error.show()
        sys.exit(2)
    except OptimiserError as error:
        click.echo(str(error), err=True)
        sys.exit(error.exit_code)
    except KeyboardInterrupt:
        click.echo("stopped", err=True)
        sys.exit(130)
    except (BrokenPipeError, ReaderGone):
        # whoever read our output has gone; there is nobody left to tell
        forget_output()
        sys.exit(0)
    except OSError as error:
        if error.filename is not None or error.errno not in UNWRITTEN:
            raise
        forget_output()
        click.echo(f"the output cannot be written ({error.strerror})", err=True)
        sys.exit(1)
    sys.exit(status if isinstance(status, int) else 0)
