"""What stands in tables, on the sheet as in a terminal."""

from __future__ import annotations

import math

from optimiser.design import Design, Space
from optimiser.measures.people import A_STEP, rise
from optimiser.measures.surround import stretches
from optimiser.problem.decisions import split_row
from optimiser.problem.model import Problem
from optimiser.quantity import show, show_within
from optimiser.score import GoalResult, LimitResult
from optimiser.seats import Seat, seats
from optimiser.standing import place_called
from optimiser.words import decided, ends_decimals, of_no_platform

SURROUND_HEADS = ("loudspeaker", "in the window of", "on", "from left wall", "from", "to")
SURROUND = "Surround and overhead loudspeakers: from the front wall, on the rear wall from the left wall"
"""What they are told under."""

OUTSIDE = (
    "An angle below 0 to a loudspeaker: the seat is outside the pair of them, and that one is on the other side of straight "
    "ahead, the left one to the right or the right one to the left."
)

IN_WINDOW = {"every": "every seat", "middle": "each row's middle", "reference": "the reference row's middle"}


def figure_words(kind: str, value: float, system: str, *ends: float | None) -> str:
    """A value, as closely as the ends that it is held against are told."""
    return show(kind, value, system, decimals=ends_decimals(kind, *ends))


NOTHING = "nothing there"
"""What a limit's value is told as where the design has nothing that it is about, such as a step: no length at all."""

BLANK = "–"
"""What stands where there is no figure."""


def limit_figures(result: LimitResult, system: str) -> tuple[str, str]:
    """A limit's value and its slack. What holds without bound does so for want of anything to measure."""
    if result.holds and math.isinf(result.value):
        return NOTHING, BLANK
    value, slack = (
        figure_words(result.quantity, one, system, *result.limit.ends) for one in (result.value, result.slack)
    )
    return value, slack


def standing(result: LimitResult) -> str:
    """What is to be noticed of a limit; empty where it holds with room to spare."""
    return "BREAKS" if not result.holds else "binds" if result.binds else "near" if result.near else ""


def goal_values(space: Space, design: Design, result: GoalResult, system: str) -> list[str]:
    """A goal's value on each of its rows; of seats only the worst, with the seat that has it."""
    words = [show(result.quantity, value, system) for value in result.told]
    if not result.seats:
        return words
    where = place_called(space, design, result.rows[result.worst], result.seats[result.worst])
    return [f"{word} ({where})" for word in words]


def from_row(result: GoalResult) -> str:
    """From which row on a goal's values are told, where those in front have none, as the first has no row to look over;
    what comes before it says that it is about several rows."""
    several = result.goal.row in ("all", "worst") and result.rows[0] not in (None, 1)
    return f" from {result.rows[0]}" if several else ""


def limit_place(space: Space, design: Design, result: LimitResult) -> str:
    """The number of the row that a limit's result is of, and the seat where it is of one; empty where it is of none."""
    return place_called(space, design, result.row, result.seat).removeprefix("row ")


def on_seats(space: Space, design: Design) -> list[str]:
    """What is said below a table of all seats: of angles with a sign, where it shows any."""
    angles = (angle for seat in seats(space, design) for angle in seat.loudspeakers)
    return [OUTSIDE] if any(show("angle", angle).startswith("-") for angle in angles) else []


def surround_rows(space: Space, design: Design, system: str) -> list[tuple[str, ...]]:
    """For each surround and overhead loudspeaker: where on which surface its middle may be, and for whom."""
    found: list[tuple[str, ...]] = []
    for one in stretches(space.layout, design):
        if one.seats not in IN_WINDOW:
            found.append((one.speaker, "nobody", "–", "", "", ""))
            continue
        line = f"{show('length', one.at, system)}" if one.surface == "ceiling" else ""
        ends = show_within(one.start, one.end, system)
        found.append((one.speaker, IN_WINDOW[one.seats], one.surface, line, *ends))
    return found


def bass_words(seat: Seat) -> tuple[str, ...]:
    """A seat's bass level, against the mean of all seats, and its deepest dip, where the bass is known."""
    if seat.bass is None or seat.bass_dip is None:
        return ()
    level = f"{seat.bass:+.1f}"
    return f"{'0.0' if float(level) == 0.0 else level} dB", f"{seat.bass_dip:.1f} dB"  # the mean itself has no sign


def decided_words(problem: Problem, space: Space, design: Design, name: str) -> str:
    """A decision of one of several designs side by side: ``none`` of what this one does not have, ``no wall`` for the depth
    of a baffle wall that is not there; empty where it has no such decision."""
    if name in design and of_nothing(space, design, name):
        return "none"
    return decided(problem, name, design)


def of_nothing(space: Space, design: Design, name: str) -> bool:
    """Whether a decision is about risers, or a platform's end, that the design does not have: its row lies level with what
    is in front of it, or the last one on the room's floor."""
    of_row = split_row(name)
    if of_row is None or of_row[1] != "risers":
        return of_no_platform(name, design)
    return float(rise(space.layout, space.layout.rows[of_row[0] - 1]).value(design)) < A_STEP
