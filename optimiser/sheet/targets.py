"""Sets of published bands, and how a design fares under them, as tables for a terminal."""

from __future__ import annotations

import re
from collections.abc import Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from optimiser.fares import Fare
from optimiser.measures import catalogue
from optimiser.problem.model import Goal
from optimiser.problem.targets import TRUST, TargetSet
from optimiser.quantity import show
from optimiser.sheet.whole import plain_table
from optimiser.words import FULL, band_words, measure_words, score_words

MARKS = {"read": "", "quoted": "'", "memory": "?", "practice": "~"}
"""What stands behind a band in the side-by-side list, by how far its source was checked."""

LONG_UNITS = ("luminance", "pixels_per_degree")
"""Kinds of quantity whose unit stands beside the measure in the side-by-side list."""

CAUTION = "Bands are what people wrote for rooms of a kind; which of them suits a room is for its designer to judge."


def _sourced(source: str | None, trust: str) -> str:
    """Where a band comes from and how far that is to be trusted, which some sources say themselves."""
    return source if source and trust in source else f"{source} ({trust})"


def _row_words(goal: Goal) -> str:
    row = {"reference": "ref.", "all": ""}.get(goal.row, goal.row)
    return row if catalogue()[goal.measure].per_row else ""


def _short(goal: Goal, system: str) -> str:
    """A band in as few letters as will do: ``45-55°``, ``>= 1.5 m``; its mark, and its row below."""
    kind = catalogue()[goal.measure].quantity
    low, high = (None if v is None else _trimmed(show(kind, v, system)) for v in (goal.low, goal.high))
    if low is not None and high is not None:
        band = low if low == high else f"{_without_unit(low, high)}-{high}"
    else:
        band = f">= {low}" if low is not None else f"<= {high}"
    if kind in LONG_UNITS:
        band = band.replace(_unit(kind, system), "")
    row = _row_words(goal)
    return band + MARKS[goal.trust or "practice"] + (f"\n({row})" if row else "")


def _trimmed(text: str) -> str:
    """A quantity without the zeros that end its decimals."""
    return re.sub(r"(\.\d*?)0+(?=\D|$)", lambda m: m[1].rstrip("."), text)


def _unit(kind: str, system: str) -> str:
    """A unit as quantities show it, with the space before it."""
    return re.sub(r"^[-0-9.]+", "", show(kind, 1.0, system))


def _without_unit(low: str, high: str) -> str:
    """``low`` without its unit, where that is also the unit of ``high``."""
    number = re.match(r"-?[0-9.]+", low)
    return number[0] if number and high.endswith(low[number.end() :]) else low


def print_side_by_side(console: Console, sets: Sequence[TargetSet], system: str) -> None:
    """Every measure that a set speaks of, with the sets' bands in columns; lengths in inches where in feet and inches they
    would be too long for these."""
    system = "in" if system == "ft-in" else system
    table = plain_table("", *(one.name.replace("-", "-\n", 1) for one in sets), header="bold")
    table.columns[0].min_width = 19
    goals = [goal for one in sets for goal in one.goals]
    keys = [
        key for name in catalogue() for key in dict.fromkeys((g.measure, g.options) for g in goals if g.measure == name)
    ]
    for measure, options in keys:
        cells = [
            "\n".join(_short(g, system) for g in one.goals if (g.measure, g.options) == (measure, options))
            for one in sets
        ]
        usual = tuple((name, values[0]) for name, values in catalogue()[measure].options.items())
        kind = catalogue()[measure].quantity
        unit = f",{_unit(kind, system)}" if kind in LONG_UNITS else ""
        table.add_row(measure_words(measure, () if options == usual else options) + unit, *cells)
    console.print(table)
    console.print()
    legend = ", ".join(f"{MARKS[word] or 'no mark'}: {words}" for word, words in TRUST.items())
    console.print(legend + ".")
    console.print(CAUTION)
    console.print("All about one: optimiser targets NAME. In a problem file: targets: NAME")


def print_target_set(console: Console, found: TargetSet, system: str) -> None:
    """One set, every band with its source."""
    console.print(Text(f"{found.name}: {found.title}", style="bold"))
    console.print(found.about)
    console.print()
    table = plain_table("measure", "row", "band", "fade", "weight", "source", header="bold")
    for goal in found.goals:
        kind = catalogue()[goal.measure].quantity
        table.add_row(
            measure_words(goal.measure, goal.options),
            goal.row if catalogue()[goal.measure].per_row else "",
            band_words(goal, system),
            show(kind, goal.fade, system),
            f"{goal.weight:g}",
            _sourced(goal.source, TRUST[goal.trust or "practice"]),
        )
    console.print(table)
    console.print()
    console.print("Fades and weights are this program's: sources give bands, not how much a miss matters.")
    console.print(CAUTION)


def print_fares(console: Console, found: Sequence[Fare], system: str) -> None:
    """A design's score under each set, and the bands that it misses."""
    console.print()
    console.print(Text("Under published bands", style="bold"))
    table = plain_table("targets", "score", "missed", header="bold")
    for fare in found:
        missed = [_missed(goal, system) for goal in fare.goals if goal.score < FULL]
        missed += [f"{measure.replace('_', ' ')} not judged: needs {key}" for measure, key in fare.left_out]
        score = "n/a" if fare.score is None else f"{fare.score:.1f}"
        table.add_row(fare.targets.name, score, "\n".join(missed))
    console.print(Padding(table, (0, 0, 0, 2)))


def _missed(result, system: str) -> str:
    values = " / ".join(show(result.quantity, v, system) for v in result.told)
    name = measure_words(result.goal.measure, result.goal.options)
    return f"{name} {values}, {band_words(result.goal, system)}: {score_words(result.score)}"
