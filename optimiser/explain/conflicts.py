"""Why a problem is impossible: its smallest sets of demands that cannot all hold, with the numbers.

Each conflict is proven twice over: the set fails on the whole grid, and without any one of its
members there is a design. How far each demand could be met beside the others, and what room would
hold them all, is found by solving.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Union

from optimiser.compile import Compiled
from optimiser.design import Space, spaces
from optimiser.engine import decide
from optimiser.errors import Undecided, UsageError
from optimiser.explain.demands import demand, quantity_of, wanted_of
from optimiser.explain.members import Member, kept_bounds, members, name_of, relaxed, settled, values_at, values_of
from optimiser.explain.possible import Oracle
from optimiser.explain.reach import Reach, Reached, Unsettled, farthest
from optimiser.explain.steps import fine
from optimiser.explain.subsets import conflicts as minimal_sets
from optimiser.explain.together import together
from optimiser.problem.model import Box, Problem
from optimiser.problem.parts import part, with_value
from optimiser.progress import Progress, silent
from optimiser.requirements import all_limits
from optimiser.words import WAYS, in_the_ways

MOST = 5
"""Conflicts to look for, where nobody asks for more."""

TELLING = 8.0
"""Deterministic seconds for how far one demand of a conflict can go."""

PATIENCE = 1.0
"""Deterministic seconds for whether one space of another room holds a conflict's demands: it is only an aside."""

AT_DOORS = {"door_clearance", "door_row_clearance", "opening_clearance", "row_opening_clearance"}
"""Measures that a door hinged elsewhere may mend."""

LOOKED_AT = (0.5, 2.0, 10.0)
"""Metres by which a larger room is looked at: of three directions one or two mostly help at no length at all."""


@dataclass(frozen=True)
class Shortfall:
    """How nearly one demand of a conflict can be met while the others hold: ``reached`` is the best
    value, ``wanted`` what it should be, ``short`` the difference (all SI). For a decision that is tried
    value by value, ``works`` lists those with which the others hold (of numbers of rows the nearest), ``perhaps`` those
    of which the solver could not tell.
    ``reached`` and ``short`` are None where nothing bounds it (``endless``), and where the solver gave up:
    ``known`` is then how near a design that it found comes, if it found any."""

    member: Member
    quantity: str
    wanted: float
    reached: float | None
    short: float | None
    works: tuple[float, ...] = ()
    endless: bool = False
    known: float | None = None
    perhaps: tuple[float, ...] = ()


@dataclass(frozen=True)
class RoomNeed:
    """A measurement of the room, at ``path``, with which the conflict would be none: at ``needed`` all
    its demands hold together, at ``fails`` (one step nearer to ``now``) they were proven not to."""

    path: str
    now: float
    needed: float
    fails: float


@dataclass(frozen=True)
class Conflict:
    """Demands that cannot all hold, while any of them can be left out for the rest to hold."""

    members: tuple[Member, ...]
    shortfalls: tuple[Shortfall, ...]
    needs: tuple[RoomNeed, ...]
    boxes: tuple[Box, ...] = ()  # in the ways to walk, and not known to be of no matter here


@dataclass(frozen=True)
class Conflicts:
    """What stands in the way of a problem. ``complete``: there are no other conflicts. ``undecided``:
    the solver gave up on a question, so there may be others, and smaller ones. ``possible``: the
    demands can all hold, and there is no conflict."""

    found: tuple[Conflict, ...]
    complete: bool
    undecided: bool
    possible: bool


def conflicts_of(
    oracle: Oracle, *, among: Sequence[Member] | None = None, most: int = MOST, progress: Progress = silent
) -> Conflicts:
    """The conflicts of an oracle's problem (only those ``among`` these demands, if given), the smallest first,
    at most so many."""
    problem = oracle.problem
    everyone = members(problem) if among is None else tuple(among)
    found: list[tuple[Member, ...]] = []
    complete, undecided = True, False
    try:
        for conflict in _telling(oracle, everyone):
            found.append(conflict)
            progress(f"conflicts: {len(found)} found")
            if len(found) > most:
                found, complete = found[:most], False
                break
    except Undecided:  # what was found stands
        complete, undecided = False, True
    # one task a demand, not one a conflict: the conflicts differ much in what they take
    asked = [(chosen, (*chosen, *_measurements(problem, chosen), *_boxes_asked(problem, chosen))) for chosen in found]
    tasks = [(oracle, chosen, one) for chosen, several in asked for one in several]
    answers = iter(together(_explain, tasks, "how far each demand can go", progress=progress) if tasks else ())
    explained = [_joined(chosen, [next(answers) for _ in several]) for chosen, several in asked]
    told = tuple(one for one in explained if one is not None)
    if undecided or len(told) < len(explained):
        return Conflicts(told, False, True, False)
    return Conflicts(told, complete, False, complete and not found)


def _telling(oracle: Oracle, everyone: Sequence[Member]) -> Iterator[tuple[Member, ...]]:
    """The conflicts without those that another says more sharply: the same but for a demand that follows from this
    one's. Each is told or not by itself, so that the first so many are the same however many are asked for."""
    followers = {strong: _followers(oracle.problem, strong, everyone) for strong in everyone}
    for new in minimal_sets(everyone, oracle.holds, extent=oracle.extent):
        blunt = (m for m in new if followers[m] and not oracle.holds((frozenset(new) - {m}) | followers[m]))
        if next(blunt, None) is None:
            yield new


def _followers(problem: Problem, strong: Member, everyone: Sequence[Member]) -> frozenset[Member]:
    """The other demands that hold wherever this one does; of two that say the same the first."""
    before = everyone[: everyone.index(strong)]
    return frozenset(
        m
        for m in everyone
        if m != strong and _follows(problem, m, strong) and (m in before or not _follows(problem, strong, m))
    )


def _follows(problem: Problem, weak: Member, strong: Member) -> bool:
    """Whether a limit holds wherever another one does, as both bound the same measure."""
    if not (weak.about_limit and strong.about_limit) or weak.end != strong.end:
        return False
    limits = all_limits(problem)
    one, other = limits[weak.index], limits[strong.index]
    if (one.measure, one.options) != (other.measure, other.options) or other.row not in ("all", "worst", one.row):
        return False
    less = wanted_of(problem, weak) <= wanted_of(problem, strong)
    return less if weak.end == "at_least" else wanted_of(problem, weak) >= wanted_of(problem, strong)


# --- the numbers --------------------------------------------------------------------------------


BOXES = "room.obstructions"
"""Asked of a conflict: which boxes it is about."""


@dataclass(frozen=True)
class _InTheWay:
    boxes: tuple[Box, ...]


Numbers = Union[Shortfall, tuple[RoomNeed, ...], _InTheWay, None]
"""What one task tells of a conflict: of a demand, of a measurement of the room, of what is in the way, or that the solver
gave up."""


def _explain(task: tuple[Oracle, tuple[Member, ...], Member | str]) -> Numbers:
    """How nearly one demand of a conflict can be met, without which the others hold; or with what other measurement
    of the room, told by its path, they would all hold. None where the solver gave up on whether it is a conflict."""
    oracle, chosen, one = task
    try:
        if one == BOXES:
            return _InTheWay(_in_the_way(oracle, chosen))
        if isinstance(one, str):
            return tuple(_needs(oracle, chosen, one))
        if oracle.holds(chosen):
            raise AssertionError("a conflict holds")
        others = frozenset(chosen) - {one}
        if not oracle.holds(others):
            raise AssertionError("a conflict is not minimal")
        return shortfall(oracle, one, others)
    except Undecided:
        return None


def _joined(chosen: tuple[Member, ...], numbers: Sequence[Numbers]) -> Conflict | None:
    """A conflict with its numbers: of each demand, and of the measurements of the room."""
    if None in numbers:
        return None
    shortfalls = tuple(n for n in numbers if isinstance(n, Shortfall))
    needs = tuple(need for n in numbers if isinstance(n, tuple) for need in n)
    return Conflict(chosen, shortfalls, needs, tuple(b for n in numbers if isinstance(n, _InTheWay) for b in n.boxes))


def shortfall(oracle: Oracle, member: Member, others: frozenset[Member]) -> Shortfall:
    """How nearly a demand can be met beside others that hold together but not with it."""
    problem = oracle.problem
    kind, wanted = quantity_of(problem, member), wanted_of(problem, member)
    if settled(member.path):
        works, perhaps = _working(oracle, member, others)
        return Shortfall(member, kind, wanted, None, None, works, perhaps=perhaps)
    found = nearest(oracle, member, others, budget=TELLING)
    if found is None or math.isinf(found.value):
        return Shortfall(member, kind, wanted, None, None, endless=found is not None)
    space_demand = demand(problem, member, found.space)
    assert space_demand is not None
    short = space_demand.missing(found.value)
    if abs(found.bound - found.value) > fine(kind):  # that nothing comes nearer is not proven
        return Shortfall(member, kind, wanted, None, None, known=short)
    if member.kind == "value":  # the form is a distance; tell the value itself where there is one
        values = values_at(problem, member.path, found.design)
        return Shortfall(member, kind, wanted, values[0] if len(set(values)) == 1 else None, short)
    return Shortfall(member, kind, wanted, found.value, short)


def nearest(oracle: Oracle, member: Member, others: frozenset[Member], *, budget: float = math.inf) -> Reached | None:
    """The design that keeps the others and comes nearest to a demand, with the bound that is proven; None where the
    solver cannot tell, infinite where nothing bounds it. ``budget``: effort for all questions together."""
    loose = relaxed(oracle.problem, others)
    found: list[Reached | None] = []
    passed: list[float] = []
    up, close = True, 0.2 * fine(quantity_of(oracle.problem, member))
    try:
        for space in spaces(loose, grid=oracle.grid):
            wish = demand(oracle.problem, member, space)
            if wish is not None:
                up = wish.greatest
                reach = Reach(space, kept_bounds(loose, space, others), effort=oracle.effort, budget=budget)
                best = farthest(found, greatest=up)
                # most spaces go no farther than the best so far, and that shows sooner than how far they go
                edge = math.nan if best is None else best.value + (close if up else -close)
                if math.isfinite(edge) and reach.none_beyond(wish.form, edge, greatest=up):
                    passed.append(edge)  # as far as is known: they may go a little farther than the best
                else:
                    found.append(reach.extreme(wish.form, greatest=up, close=close))
                budget = reach.left
    except Unsettled:
        return None
    best = farthest(found, greatest=up)
    if best is None:
        return None
    return replace(best, bound=(max if up else min)([best.bound, *passed]))


def _working(oracle: Oracle, member: Member, others: frozenset[Member]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """The values of a decision, tried one after another, with which the others hold, and those of which the solver could
    not tell; of numbers of rows those nearest to what is asked for: far from it, each takes as long to be ruled out as
    it is useless."""
    loose = relaxed(oracle.problem, others)
    name = name_of(member.path).removeprefix("seating.")
    allowed = values_of(part(oracle.problem, member.path).value)  # type: ignore[arg-type]
    at: dict[float, list[Space]] = {}
    for space in spaces(loose, grid=oracle.grid):
        at.setdefault(space.settled[name], []).append(space)

    def away(value: float) -> float:
        return min(abs(value - one) for one in allowed)

    def works(space: Space) -> bool | None:
        compiled = Compiled(space, kept_bounds(loose, space, others), [], levels=1)
        return {"OPTIMAL": True, "FEASIBLE": True, "INFEASIBLE": False}.get(decide(compiled, oracle.effort)[0])

    found: list[float] = []
    perhaps: list[float] = []
    for value in sorted(at, key=away):
        if name == "rows" and found and away(value) > away(found[-1]):
            break
        answers: list[bool | None] = []
        while len(answers) < len(at[value]) and True not in answers:  # no farther than one that works
            answers.append(works(at[value][len(answers)]))
        if True in answers:
            found.append(value)
        elif None in answers:
            perhaps.append(value)
    return tuple(sorted(found)), tuple(sorted(perhaps))


def _measurements(problem: Problem, chosen: Sequence[Member]) -> tuple[str, ...]:
    """What other room may hold all demands of a conflict: longer, wider, higher, or with a door hinged elsewhere."""
    paths = ["room.length", "room.width", "room.height"]
    if any(m.about_limit and all_limits(problem)[m.index].measure in AT_DOORS for m in chosen):
        paths += [f"room.doors.{door.name}.hinge" for door in problem.room.doors]
    return tuple(paths)


def _boxes_asked(problem: Problem, chosen: Sequence[Member]) -> tuple[str, ...]:
    """Whether a conflict may be about boxes in the ways to walk."""
    limits = all_limits(problem)
    ways = any(m.about_limit and limits[m.index].measure in WAYS for m in chosen)
    return (BOXES,) if ways and in_the_ways(problem) else ()


def _in_the_way(oracle: Oracle, chosen: Sequence[Member]) -> tuple[Box, ...]:
    """The boxes in the ways to walk without any one of which the demands would hold together; all of them where only
    without several they would, or the solver cannot tell; none where they would not even then."""
    problem = oracle.problem
    there, limits = tuple(in_the_ways(problem)), all_limits(problem)

    def holds_without(boxes: Sequence[Box]) -> bool:
        left = tuple(box for box in problem.room.obstructions if box not in boxes)
        other = replace(problem, room=replace(problem.room, obstructions=left))
        # a room without boxes has no limits on how far they are: the numbers of the others are not the same
        number = {limit: index for index, limit in reversed(tuple(enumerate(all_limits(other))))}
        kept = [
            replace(m, index=number[limits[m.index]]) for m in chosen if m.about_limit and limits[m.index] in number
        ]
        kept += [m for m in chosen if not m.about_limit]
        return Oracle(other, grid=oracle.grid, effort=min(oracle.effort, PATIENCE)).holds(kept)

    try:
        if not holds_without(there):
            return ()
        return tuple(box for box in there if holds_without((box,))) or there
    except Undecided:
        return there


def _needs(oracle: Oracle, chosen: Sequence[Member], path: str) -> Iterator[RoomNeed]:
    """The least change of a measurement of the room with which all the demands hold."""
    try:
        now = float(part(oracle.problem, path).value)  # type: ignore[arg-type]
    except UsageError:
        return
    signs = (1.0, -1.0) if path.endswith("hinge") else (1.0,)
    found = [need for sign in signs if (need := _least_change(oracle, chosen, path, now, sign)) is not None]
    yield from sorted(found, key=lambda need: abs(need.needed - now))[:1]


def _least_change(oracle: Oracle, chosen: Sequence[Member], path: str, now: float, sign: float) -> RoomNeed | None:
    """The first step of the grid, from the measurement as it is, at which the demands hold together.

    Between a length that fails and one that does not the middle is tried: what comes out is a length
    that holds and the one before it that fails, both asked of the solver.
    """
    step = oracle.grid

    def holds_at(count: int) -> bool | None:
        try:
            other = with_value(oracle.problem, path, now + sign * step * count)
        except UsageError:
            return None
        return Oracle(other, grid=oracle.grid, effort=min(oracle.effort, PATIENCE)).holds(chosen)

    try:
        fails, works = 0, None
        for metres in LOOKED_AT:
            count = max(1, round(metres / step))
            answer = holds_at(count)
            if answer is None:
                break
            if answer:
                works = count
                break
            fails = count
        if works is None:
            return None
        while works - fails > 1:
            middle = (works + fails) // 2
            if holds_at(middle):
                works = middle
            else:
                fails = middle
    except Undecided:
        return None
    return RoomNeed(path, now, now + sign * step * works, now + sign * step * fails)
