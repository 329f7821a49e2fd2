"""What can stand in the way of a design: every end of a limit or range, every fixed decision.

A member is one demand of a problem. ``relaxed`` is the problem without the demands that are not
kept: decisions may then go as far as the room itself lets them, limits fall away. What is left when
no demand is kept is the room, its chairs, and that people sit behind the image in order.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from optimiser.design import Space
from optimiser.physics.stairs import CODES as STAIRS
from optimiser.problem.bass import as_allowed, highest_floor
from optimiser.problem.decisions import MOST_ROWS, SCREEN_TYPES, ends_of, split_row
from optimiser.problem.items import chairs
from optimiser.problem.lining import most_panels
from optimiser.problem.model import Choice, Decision, Fixed, Limit, Problem, Range, Screen
from optimiser.problem.parts import Part, part, parts, with_part
from optimiser.problem.rows import is_bar
from optimiser.requirements import Bound, all_limits, bounds, bounds_of
from optimiser.score import holds

ASPECTS = (4 / 3, 16 / 10, 16 / 9, 1.85, 2.0, 2.2, 2.35, 2.39, 2.4)
"""Aspect ratios in use, which stand for any where a file's own are set aside."""

UPPER_ENDS = ("seating.platform.to", "seating.platform.risers")
"""Plain numbers of the file that bound a decision of every row from above."""

BEHIND = 10.0
"""Metres behind the rear wall at which a lens may be thought of, where a file's own limit is set aside."""

LOW_RISER, MOST_RISERS = STAIRS["adk_private_riser_least"].value, 20
"""Metres of a low riser, as one code has it, and as many risers to a row as a file can ask for."""

SITTING = 0.9
"""Metres that people take at least who sit: no row's floor is nearer to the ceiling."""

NEAR = 1e-9

SAVED = 1e-6
"""SI units by which a value that was written down and read again may be off."""


@dataclass(frozen=True)
class Member:
    """One demand. ``kind``: limit (``end`` at_least or at_most of the limit with this ``index``), from
    or to (an end of the range at ``path``), or value (a fixed value, or a list of them, at ``path``)."""

    kind: str
    index: int = -1
    end: str = ""
    path: str = ""
    own: bool = False  # of the room itself, not of the file
    firm: bool = False  # never to be loosened

    @property
    def about_limit(self) -> bool:
        return self.kind == "limit"


def members(problem: Problem) -> tuple[Member, ...]:
    """Every demand of a problem: the file's limits, its decisions, then the room's own limits."""
    ours, own = [], []
    for index, limit in enumerate(all_limits(problem)):
        for end in ("at_least", "at_most"):
            if getattr(limit, end) is not None:
                is_own = index >= len(problem.limits)
                member = Member("limit", index, end, own=is_own, firm=limit.firm or is_own)
                (own if is_own else ours).append(member)
    decided = [m for at in parts(problem) for m in _of_part(problem, at)]
    return (*ours, *decided, *own)


def _of_part(problem: Problem, at: Part) -> list[Member]:
    if at.path in UPPER_ENDS:
        floor = problem.seating.platforms.first == Fixed(0.0)
        return [] if floor and max(problem.seating.rows) == 1 else [Member("to", path=at.path)]
    if not at.decided or (wide := natural(problem, at)) is None:
        return []
    if isinstance(at.value, Range):
        ends = []
        if at.value.low > wide.low + NEAR:
            ends.append(Member("from", path=at.path))
        if at.value.high < wide.high - NEAR:
            ends.append(Member("to", path=at.path))
        return ends
    return [Member("value", path=at.path)]


def name_of(path: str) -> str:
    """The public name of the decision at a path of the file."""
    if path.startswith("front.screens."):
        return "screen." + path.split(".", 3)[3]
    if path == "seating.platform.behind":
        return "platform.behind"
    return path.removeprefix("front.").removeprefix("room.").removeprefix("seating.place.")


def settled(path: str) -> bool:
    """Whether a decision is tried one value after another instead of being raised or lowered."""
    return name_of(path) in ("seating.rows", "screen.aspect")


def screen_at(problem: Problem, path: str) -> Screen | None:
    """The kind of screen that a path is about; None where it is about none."""
    if path.startswith("front.screens."):
        return next(s for s in problem.screens if s.type == path.split(".", 3)[2])
    return problem.screen if path.startswith("front.screen.") else None


def natural(problem: Problem, at: Part) -> Range | None:
    """How far the room itself lets a decision go; None for one that nothing but the file describes."""
    room, name, screen = problem.room, name_of(at.path), screen_at(problem, at.path)
    row = split_row(name)
    bar = problem.seating.bar
    most_seats = max(1.0, *(math.floor((room.width - one.ends) / one.spacing) for one in chairs(problem)))
    most_stools = max(1.0, math.floor(room.width / bar.place)) if bar is not None else most_seats
    by_name = {
        "screen.aspect": (min(ASPECTS), max(ASPECTS)),
        "screen.width": (0.1, room.width),
        "screen.diagonal": (0.1, math.hypot(room.width, room.height)),
        "screen.bezel": (0.0, 0.5),
        "screen.bottom": (0.0, room.height),
        "screen.centre": (0.0, room.width),
        "baffle.depth": (0.0, room.length),
        "baffle.width": (0.0, room.width),
        "baffle.left": (0.0, room.width),
        "baffle.right": (0.0, room.width),
        "projector.y": (0.0, room.length),
        "projector.z": (0.0, room.height),
        "projector.behind": (0.0, BEHIND),
        "loudspeakers.z": (0.0, room.height),
        "loudspeakers.apart": (0.1, room.width),
        "treatment.panels": (0.0, float(most_panels(room) or 0)),
        "seating.rows": (float(problem.seating.asked), float(min(MOST_ROWS, 1 + math.floor(room.length / 0.6)))),
        "seating.seats": (1.0, most_seats),
        "seating.bar.seats": (1.0, most_stools),
        "seating.centre": (0.0, room.width),
        "platform.behind": (0.0, room.length),
        "seating.platform.first": (0.0, highest_floor(problem)),
    }
    by_row = {
        "y": (0.0, room.length),
        "platform": (0.0, highest_floor(problem)),
        "seats": (1.0, most_seats),
        "risers": (1.0, float(_most_risers(problem))),
    }
    if screen is not None and screen.tile is not None:
        by_name["screen.columns"] = (1.0, max(1.0, math.floor(room.width / screen.tile.width)))
        by_name["screen.tile_rows"] = (1.0, max(1.0, math.floor(room.height / screen.tile.height)))
        del by_name["screen.aspect"]  # the tiles give it
    ends = by_row.get(row[1]) if row else by_name.get(name)
    if ends is None:
        return None
    low, high = ends_of(at.value)  # type: ignore[arg-type]
    return Range(min(ends[0], low), max(ends[1], high))


def _most_risers(problem: Problem) -> int:
    """Risers up to a row that may be thought of: from the floor to where people just sit under the ceiling, each as low as
    stairs have them, or as low as a limit asks for."""
    asked = [limit.at_most for limit in all_limits(problem) if limit.measure == "riser_step" and limit.at_most]
    each = min(LOW_RISER, *asked) if asked else LOW_RISER
    return min(MOST_RISERS, max(1, math.ceil((highest_floor(problem) - SITTING) / each)))


# --- leaving demands out ------------------------------------------------------------------------


def relaxed(problem: Problem, kept: Collection[Member]) -> Problem:
    """The problem with all its limits, but with every decision free of the demands that are not kept."""
    kept = set(kept)
    loose = as_allowed(problem)
    for at in parts(problem):
        dropped = [m for m in _of_part(problem, at) if m not in kept]
        if dropped:
            loose = with_part(loose, at, _loosened(problem, at, dropped))
    return loose


def _loosened(problem: Problem, at: Part, dropped: list[Member]) -> float | Decision:
    if at.path == "seating.platform.to":
        return max(problem.seating.platforms.to, highest_floor(problem))
    if at.path == "seating.platform.risers":
        return max(problem.seating.platforms.risers, _most_risers(problem))
    wide = natural(problem, at)
    assert wide is not None
    if name_of(at.path) == "screen.aspect":
        values = tuple(sorted({*ASPECTS, *values_of(at.value)}))
        return Choice(values, tuple(f"{v:g}" for v in values))
    kinds = {m.kind for m in dropped}
    if "value" in kinds:
        return wide
    assert isinstance(at.value, Range)
    return Range(wide.low if "from" in kinds else at.value.low, wide.high if "to" in kinds else at.value.high)


def values_of(decision: Decision) -> tuple[float, ...]:
    """The values that a fixed decision or a list admits."""
    return decision.values if isinstance(decision, Choice) else ends_of(decision)


def kept_bounds(problem: Problem, space: Space, kept: Collection[Member]) -> list[Bound]:
    """The limits of a space that are kept, with only their kept ends."""
    ends: dict[int, set[str]] = {}
    for member in kept:
        if member.about_limit:
            ends.setdefault(member.index, set()).add(member.end)
    limits = all_limits(problem)
    return [
        bound
        for index in sorted(ends)  # forms of the others are not made: that takes longer than most questions
        for bound in bounds_of(problem, space, index, _only(limits[index], ends[index]))
    ]


def _only(limit: Limit, ends: Collection[str]) -> Limit:
    """The limit with only these of its ends."""
    kept = {end: getattr(limit, end) if end in ends else None for end in ("at_least", "at_most")}
    return replace(limit, **kept)


def with_end(problem: Problem, member: Member, value: float) -> Problem:
    """The problem with a limit or a range ending at ``value`` instead."""
    if member.about_limit:
        limits = list(problem.limits)
        limits[member.index] = replace(limits[member.index], **{member.end: value})
        return replace(problem, limits=tuple(limits))
    at = part(problem, member.path)
    if isinstance(at.value, Range):
        return with_part(problem, at, replace(at.value, **{"low" if member.kind == "from" else "high": value}))
    return with_part(problem, at, value)


def with_values(problem: Problem, member: Member, values: Collection[float]) -> Problem:
    """The problem with a fixed value, or a list, that admits exactly these values."""
    return with_part(problem, part(problem, member.path), one_of(values))


def one_of(values: Collection[float]) -> Decision:
    """A fixed value, or a list, that admits exactly these values."""
    chosen = tuple(sorted(set(values)))
    return Choice(chosen, tuple(f"{v:g}" for v in chosen)) if len(chosen) > 1 else Fixed(chosen[0])


# --- seeing what holds --------------------------------------------------------------------------


def held_by(problem: Problem, space: Space, design: Mapping[str, float]) -> frozenset[Member]:
    """All demands of the problem that a design, which may come of a relaxed problem, fulfils."""
    broken = set()
    for bound in bounds(problem, space):
        for end in ("at_least", "at_most"):
            if getattr(bound.limit, end) is not None:
                single = replace(bound, limit=one_end(bound.limit, end))
                if not bool(holds(single, design)):
                    broken.add((bound.index, end))
    apart = frozenset(unkept(problem, design, NEAR))
    return frozenset(m for m in members(problem) if m not in apart and (m.index, m.end) not in broken)


def unkept(problem: Problem, design: Mapping[str, float], near: float = SAVED) -> tuple[Member, ...]:
    """What the file says of decisions and a design has otherwise: ends of ranges, fixed values and lists. ``near``: SI
    units by which a value may be off."""
    values = {at.path: at.value for at in parts(problem)}
    return tuple(
        m
        for m in members(problem)
        if not m.about_limit and not all(keeps(m, values[m.path], v, near) for v in values_at(problem, m.path, design))
    )


def one_end(limit: Limit, end: str) -> Limit:
    """The limit with only one of its ends."""
    return _only(limit, (end,))


def keeps(member: Member, demanded: float | Decision, value: float, near: float = NEAR) -> bool:
    """Whether a value of a decision is one that a demand, which the file states as ``demanded``, allows."""
    if not isinstance(demanded, (Fixed, Range, Choice)):
        return value <= demanded + near
    low, high = ends_of(demanded)
    if member.kind == "from":
        return value >= low - near
    if member.kind == "to":
        return value <= high + near
    return any(abs(value - allowed) < near for allowed in values_of(demanded))


def values_at(problem: Problem, path: str, design: Mapping[str, float]) -> list[float]:
    """The values of a design that the decision at a path in the file governs."""
    screen = screen_at(problem, path)
    if screen is not None and SCREEN_TYPES[round(design["screen.type"])] != screen.type:
        return []
    names = governed(problem, path, round(design["rows"]))
    return [design[name] - offset_of(problem, path) for name in names if name in design]


def offset_of(problem: Problem, path: str) -> float:
    """What a design's value has beyond the file's: a lens behind the rear wall is counted from the front."""
    return problem.room.length if path == "projector.behind" else 0.0


def governed(problem: Problem, path: str, rows: int) -> list[str]:
    """Names of the decisions, in a design of so many rows, that the decision at a path in the file governs."""
    if path == "seating.rows":
        return ["rows"]
    if path == "projector.behind":
        return ["projector.y"]
    seating = problem.seating
    bar = seating.bar is not None and seating.bar.seats is not None and is_bar(seating, rows, rows)
    if path == "seating.bar.seats":
        own = f"row{rows}.seats"
        return [own] if bar and own not in dict(seating.place) else []
    shared = {
        "seating.seats": "seats",
        "seating.platform.first": "platform",
        "seating.platform.to": "platform",
        "seating.platform.risers": "risers",
    }.get(path)
    if shared is None:
        return [name_of(path)]
    placed = {own for own, _ in problem.seating.place}
    first = path == "seating.platform.first"
    each = [n for n in range(1, rows + 1) if shared != "platform" or (n == 1) == first]
    if shared == "seats" and bar:
        each.remove(rows)
    return [f"row{n}.{shared}" for n in each if f"row{n}.{shared}" not in placed]
