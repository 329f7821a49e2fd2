"""What several commands share."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from pathlib import Path

from optimiser.errors import QuantityError, UsageError, of_each

_BRACKETS = re.compile(r"([^=\[\]]*\[[^\[\]]*\]\s*)=(.*)", re.DOTALL)

NARROW = 60
"""Columns in which the tables of one design can still be read."""


def console(*, least: int = 80):
    """Standard output for tables: as wide as the terminal and no narrower than ``least``; wide enough not to break
    them where nobody watches."""
    import shutil
    import sys

    wide, high = shutil.get_terminal_size((110, 25)) if sys.stdout.isatty() else (110, 25)
    # the height too: where only the width is given, a terminal that can do nothing counts as one of 80 columns
    return terminal(width=max(least, wide), height=high, highlight=False, markup=False, emoji=False)


def terminal(**how):
    """Standard output as ``rich`` prints to it, with quantities whole. Where whoever reads it has gone,
    BrokenPipeError says so, as it does of anything else that is printed."""
    from optimiser.sheet.whole import Terminal

    return Terminal(**how)


def assignments(texts: Iterable[str]) -> dict[str, str]:
    """``name=value`` texts as a mapping, each name once."""
    found: dict[str, str] = {}

    def read(text: str) -> None:
        bracket = _BRACKETS.match(text)  # as in horizontal_angle[row=2]=30 deg
        name, equals, value = (bracket[1], "=", bracket[2]) if bracket else text.partition("=")
        if not equals or not name.strip() or not value.strip():
            raise UsageError(f"'{text}' should read like screen.width=\"118 in\"")
        if name.strip() in found:
            raise UsageError(f"{name.strip()} is given twice")
        found[name.strip()] = value.strip()

    of_each(read, texts)
    return found


def pinned(problem, texts: Iterable[str]):
    """The problem with every ``name=value`` pinned; a record of it tells them beside the file that it is of."""
    from dataclasses import replace

    from optimiser.problem.decisions import with_all_fixed

    return replace(with_all_fixed(problem, assignments(texts)), said=problem.said)


def asked_grid(text: str | None) -> float | None:
    """A grid step from the command line, in metres."""
    if text is None:
        return None
    from optimiser.design import checked_grid
    from optimiser.quantity import parse

    try:
        return checked_grid(float(parse("length", text)))
    except (QuantityError, UsageError) as error:
        raise UsageError(f"--grid: {error}") from None


def explain_command(file: object, fix: Iterable[str] = (), grid: str | None = None) -> str:
    """The command that explains the same problem: with what was pinned, on the same grid."""
    words = [f"optimiser explain {file}", *(f"--fix {_as_one_word(one)}" for one in fix)]
    return " ".join(words + ([] if grid is None else [f"--grid {_as_one_word(grid)}"]))


def _as_one_word(text: str) -> str:
    """A text as a shell must be given it: in double quotes if that will do, as the command stands in single ones."""
    import re
    import shlex

    if re.fullmatch(r"[\w.=:/+-]+", text):
        return text
    return shlex.quote(text) if re.search(r'["$`\\!]', text) else f'"{text}"'


def best_of(ctx, file: Path, problem, grid: str | None, fix: Iterable[str] = ()):
    """The best design of a problem, as solved; where there is none, the command ends and says where to ask why.
    ``fix``: what was pinned in it."""
    import click

    from optimiser.solve import solve

    best = solve(problem, grid=asked_grid(grid))
    if best.design is None:
        click.echo(f"{problem.title} is {best.status}: '{explain_command(file, fix, grid)}' says why", err=True)
        ctx.exit(3 if best.status == "impossible" else 1)
    return best


def printed_head(out, best) -> None:
    """The title of a problem and what is proven of its best design, above what a command has to say of it."""
    from optimiser.sheet.proof import proof_words

    out.print(best.problem.title, style="bold")
    out.print(proof_words(best))
    out.print()


def refuse_existing(path: Path) -> None:
    """Never overwrite what is there unasked."""
    if os.path.exists(path):
        raise UsageError(f"{path} exists already; choose another name or say --overwrite")
    _in_a_folder(path)


def check_picture(path: Path | None, overwrite: bool) -> None:
    """Before anything is solved, whether a picture may be written there, if one is asked for."""
    if path is None:
        if overwrite:
            raise UsageError("--overwrite goes with --picture")
        return
    if path.suffix.lower() != ".svg":
        raise UsageError(f"--picture: {path} should end in .svg: the picture is an SVG file")
    if not overwrite:
        refuse_existing(path)
    if os.path.isdir(path):
        raise UsageError(f"--picture: {path} is a folder; name a file in it")
    _in_a_folder(path)


def _in_a_folder(path: Path) -> None:
    if not os.path.isdir(path.parent):
        raise UsageError(f"{path.parent} is not a folder")


def with_tolerances(problem, spreads: Iterable[str], people: str | None, women: str | None):
    """The problem with what varies as given on the command line; a spread given there goes before the file's."""
    from dataclasses import replace

    from optimiser.errors import did_you_mean
    from optimiser.problem.model import People
    from optimiser.problem.spreads import spread
    from optimiser.problem.tolerances import TABLES

    found = {one.path: one for one in problem.tolerances}

    def varying(item: tuple[str, str]) -> None:
        name, text = item
        bare = text.removeprefix("sigma").strip()
        try:
            one = spread(problem, name, bare, how="within" if bare == text else "sigma")
        except QuantityError as error:
            raise UsageError(f"--spread {name}: {error}") from None
        found[one.path] = one

    of_each(varying, assignments(spreads).items())
    whose = problem.people
    if people is not None:
        if people not in TABLES:
            raise UsageError(f"unknown table '{people}': {did_you_mean(people, TABLES)}")
        whose = People(people, 0.5)
    if women is not None:
        if whose is None:
            raise UsageError("--women goes with --people")
        share = _ratio(women, "--women")
        if not 0.0 <= share <= 1.0:
            raise UsageError("--women: from 0 % to 100 %, please")
        whose = replace(whose, women=share)
    return replace(problem, tolerances=tuple(found.values()), people=whose)


def asked_share(text: str | None) -> float | None:
    """A share of cases from the command line."""
    return None if text is None else _ratio(text, "--share")


def _ratio(text: str, option: str) -> float:
    from optimiser.quantity import parse

    try:
        return float(parse("ratio", text))
    except QuantityError as error:
        raise UsageError(f"{option}: {error}") from None
