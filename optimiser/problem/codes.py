"""Limits that published building codes ask of steps, guards and headroom, as a file's defaults.

``codes: us-dwelling`` in a problem file brings them, each with its clause, its edition and how far it
was checked. They are for guidance: local codes and a licensed professional decide.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from optimiser.physics.stairs import CODES, CodeValue
from optimiser.problem.model import Limit, Mark, Problem

NONE = "none"

_US = (
    # measure, end, value in physics.stairs.CODES
    ("riser_step", "at_most", "irc_riser_most"),
    ("riser_difference", "at_most", "irc_riser_difference_most"),
    ("step_going", "at_least", "irc_going_least"),
    ("stair_width", "at_least", "irc_stair_width_least"),
    ("standing_headroom", "at_least", "irc_stair_headroom_least"),
    ("aisle_headroom", "at_least", "irc_stair_headroom_least"),
    ("rear_headroom", "at_least", "irc_stair_headroom_least"),
    ("unguarded_drop", "at_most", "irc_guard_drop"),
    ("guard_height", "at_least", "irc_guard_height_least"),
)
_UK = (
    ("riser_step", "at_most", "adk_private_riser_most"),
    ("least_riser", "at_least", "adk_private_riser_least"),
    ("step_going", "at_least", "adk_private_going_least"),
    ("step_going", "at_most", "adk_private_going_most"),
    ("walking_line", "at_least", "adk_walking_line_least"),
    ("walking_line", "at_most", "adk_walking_line_most"),
    ("aisle_slope", "at_most", "adk_private_pitch_most"),
    ("standing_headroom", "at_least", "adk_headroom_least"),
    ("aisle_headroom", "at_least", "adk_headroom_least"),
    ("rear_headroom", "at_least", "adk_headroom_least"),
    ("door_to_step", "at_least", "adk_door_to_step_least"),
    ("unguarded_drop", "at_most", "adk_guard_drop_dwelling"),
    ("guard_height", "at_least", "adk_guard_height_dwelling_least"),
)
_FLIGHTS = ("adk_private_going_most", "adk_walking_line_least", "adk_walking_line_most")
"""Values for stairs whose steps are no deeper than people stride: not where the way up is as deep as the rows are apart."""

PRESETS = {"us-dwelling": _US, "uk-dwelling": _UK}
"""What each preset asks for, in the order of its table."""

NAMES = (*PRESETS, NONE)

EDITIONS = {
    "us-dwelling": "International Residential Code 2018",
    "uk-dwelling": "Approved Document K, 2013 edition (England), private stairs",
}


@dataclass(frozen=True)
class CodeLimit:
    """One limit of a preset, and where the code has it."""

    limit: Limit
    code: CodeValue


def code_limits(name: str, *, guarded: bool, flights: bool, where: Mark | None = None) -> tuple[CodeLimit, ...]:
    """The limits of a preset; those on guards only where the file has any (``guarded``), those on how long a stride steps
    ask for only where it gives their going (``flights``)."""
    found = []
    for measure, end, key in PRESETS.get(name, ()):
        if (measure == "guard_height" and not guarded) or (key in _FLIGHTS and not flights):
            continue
        code = CODES[key]
        source = f"{code.edition}, {code.clause} ({code.trust})"
        limit = Limit(measure, "all", None, None, firm=True, where=where, source=source)
        found.append(CodeLimit(replace(limit, **{end: code.value}), code))
    return tuple(found)


def clauses(problem: Problem) -> dict[tuple[str, str | None], str]:
    """Where the code has the limits that a problem's preset brought, by their measure and source."""
    asked = code_limits(problem.codes, guarded=True, flights=True)
    return {(one.limit.measure, one.limit.source): one.code.clause for one in asked}


def under(own: Sequence[Limit], name: str, *, guarded: bool, flights: bool, where: Mark | None) -> tuple[Limit, ...]:
    """A file's own limits, and under them those of a preset that the file does not set itself: on the
    same measure, at the same end, for all rows."""
    asked = [c.limit for c in code_limits(name, guarded=guarded, flights=flights, where=where)]
    return (*own, *(limit for limit in asked if not any(_sets(mine, limit) for mine in own)))


def _sets(mine: Limit, asked: Limit) -> bool:
    same = mine.measure == asked.measure and mine.row in ("all", "worst") and not mine.options
    return same and all(getattr(mine, end) is not None for end in _ends(asked))


def _ends(limit: Limit) -> list[str]:
    return [end for end in ("at_least", "at_most") if getattr(limit, end) is not None]


def looser(problem: Problem) -> list[tuple[Limit, CodeLimit]]:
    """The file's own limits that stand in the place of one of its preset's and ask for less."""
    found = []
    seating = problem.seating
    flights = seating.platforms.going is not None
    for code in code_limits(problem.codes, guarded=seating.guard is not None, flights=flights):
        for mine in problem.limits:
            if mine.source is None and _sets(mine, code.limit) and _asks_less(mine, code.limit):
                found.append((mine, code))
    return found


def _asks_less(mine: Limit, asked: Limit) -> bool:
    if asked.at_least is not None:
        return mine.at_least < asked.at_least - 1e-9
    return mine.at_most > asked.at_most + 1e-9
