"""Printing to a terminal so that no line ends inside a quantity, as long as it fits into one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from rich.console import Console
from rich.measure import Measurement
from rich.segment import Segment
from rich.table import Table
from rich.text import Text

from optimiser.quantity import unbroken

STAND_IN = "\ufdd0"
"""A space inside a quantity while lines are broken. They are broken at white space of every kind; this is none,
is one column wide, and is no letter of any writing."""


class Terminal(Console):
    """Where answers are printed."""

    def on_broken_pipe(self) -> None:
        raise  # what is being handled; else the program would end here with an exit code of its own

    # columns are measured, and lines joined, as if every quantity had space enough
    def render_str(self, text: str, **how: Any) -> Text:
        return super().render_str(unbroken(text, STAND_IN), **how)

    def render(self, renderable: Any, options: Any = None) -> Iterable[Segment]:
        options = options or self.options
        if isinstance(renderable, str):
            renderable = super().render_str(renderable, highlight=options.highlight, markup=options.markup)
        if isinstance(renderable, Text):
            renderable = _whole(renderable, options.max_width)
        for text, style, control in super().render(renderable, options):
            yield Segment(text.replace(STAND_IN, " "), style, control)


def _whole(text: Text, width: int) -> Text:
    """A text with its spans; as many letters as before, so they still fit."""
    other = text.copy()
    other.plain = unbroken(text.plain.replace(STAND_IN, " "), STAND_IN, width=width)
    return other


class Columns(Table):
    """A table that takes from its widest columns before it breaks a word or a quantity in a narrow one."""

    def __init__(self, **how: Any) -> None:
        super().__init__(**how)
        self._measured: dict[tuple[int, int, int], Measurement] = {}

    # asked for four times of each column for one table, and most of what it takes to print one
    def _measure_column(self, console: Any, options: Any, column: Any) -> Measurement:
        about = column._index, options.max_width, len(self.rows)
        if about not in self._measured:
            self._measured[about] = super()._measure_column(console, options, column)
        return self._measured[about]

    def _calculate_column_widths(self, console: Any, options: Any) -> list[int]:
        widths = super()._calculate_column_widths(console, options)
        least = [self._measure_column(console, options, column).minimum for column in self.columns]
        most = options.max_width
        fits = all(width >= one for width, one in zip(widths, least)) and sum(widths) <= most
        if fits or sum(least) > most:  # a column with a least width of its own may leave too much for the others
            return widths
        widths = [max(width, one) for width, one in zip(widths, least)]
        while sum(widths) > most:
            room = [width - one for width, one in zip(widths, least)]
            widths[max(range(len(widths)), key=lambda k: (room[k] > 0, widths[k]))] -= 1
        return widths


def plain_table(*headings: str, right: tuple[str, ...] = (), header: str = "dim") -> Columns:
    """A table without lines, the columns named in ``right`` at the right; without headings, where all are blank."""
    shown = any(heading.strip() for heading in headings)
    table = Columns(box=None, pad_edge=False, header_style=header, padding=(0, 2, 0, 0), show_header=shown)
    for heading in headings:
        table.add_column(heading, justify="right" if heading in right else "left", overflow="fold")
    return table
