"""What each demand, and each measurement of the room, costs: the best design again with it moved by a step.

Every price is a difference between two proven answers, in both directions; no slope is read off.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from typing import Any

from optimiser.design import Space, spaces
from optimiser.engine import EFFORT
from optimiser.errors import ProblemFileError, QuantityError, UsageError
from optimiser.explain.alone import FEWEST, Loose, earning
from optimiser.explain.demands import quantity_of, wanted_of
from optimiser.explain.members import (
    UPPER_ENDS,
    Member,
    governed,
    members,
    name_of,
    natural,
    one_of,
    screen_at,
    values_of,
    with_end,
    with_values,
)
from optimiser.explain.sparing import AGAIN, HARDEST, Sparing, ceiling, hardness_of, known_of
from optimiser.explain.steps import on_grid, step_of
from optimiser.explain.together import together
from optimiser.explain.untouched import Grounds
from optimiser.measures import catalogue
from optimiser.problem.bass import hangs_on
from optimiser.problem.decisions import split_row
from optimiser.problem.model import Choice, Fixed, Problem, Range
from optimiser.problem.parts import Part, part, parts, with_value
from optimiser.progress import Progress, silent
from optimiser.quantity import parse
from optimiser.requirements import all_limits, room_limits
from optimiser.score import Scorer, score_among
from optimiser.solve import PROMISE, Solution
from optimiser.words import listed

MEASURED = ("room.", "front.baffle.", "front.screen.gap", "seating.aisle.")
"""Where the numbers stand that prices look at unless asked for all: what a builder could change. What a material
absorbs in an octave is none of them."""

BUDGET = 4.0
"""Deterministic seconds for all prices together. What is not proven by then is told with its bounds."""

FIRST = 0.08
"""Deterministic seconds at least for the first look at each move. What the budget has left then goes to the moves
that are still open, where it is enough for each to have some times as much."""

LIKELY = 0.5
"""What it takes in the mean."""

GONE_THROUGH, ANEW = 0.15, 4.0
"""The same, where it is gone through again box by box; and what it may take where much of it has to be done anew."""

UNKNOWN = 4.0 * HARDEST
"""Deterministic seconds that a proof of which nothing is known but that it is hard is supposed to take."""

SPARED = 12
"""Moves for which it is worth finding out on what it hangs that the best design is the best."""

DEAR = 0.1
"""Deterministic seconds of a proof above which that is dearer, as fewer limits make it longer, than to go through it
again."""

MANY = 5
"""Moves for which it is worth noting how the proof of the best design goes, to go through it again."""

AHEAD = 2
"""Moves that lose the best design and all that is near it, to be priced before the others that do, which then begin from
what was found: often they lose it alike, and the first may make the problem impossible."""

TIMES = 2.0
"""How much more than before a move must have for a second look to be worth its while."""

SHAPES = (4 / 3, 16 / 9, 1.85, 2.0, 2.4)
"""Aspect ratios in use that a projected image is tried with beside its own: so far apart that a room may tell them
from one another."""

ALIKE = 0.03
"""Share within which two aspect ratios count as one."""

UNMOVED = ("seating.platform.step", "seating.reference_row", "front.screen.pixels", *UPPER_ENDS)
"""Numbers of the file that are no measurement of room or furniture, or that demands move."""


@dataclass(frozen=True)
class Move:
    """One change of a problem: of a demand, or of the number at ``path``. ``before`` and ``after`` in SI
    (None where several values were allowed before). ``looser``: it can only admit more designs."""

    member: Member | None
    path: str
    quantity: str
    before: float | None
    after: float
    looser: bool | None = None

    @property
    def subject(self) -> tuple[Member | None, str]:
        """What is moved, whichever way."""
        return self.member, self.path


@dataclass(frozen=True)
class Price:
    """What a move brings. ``gain`` in points, between ``least`` and ``most`` (proven); ``image`` is the
    image's gain in width [m] from best design to best design. Where the moved problem is impossible
    there is no design and no gain; ``unknown``: the solver could not tell. ``full``: what there would be to gain up to
    a score of 100."""

    move: Move
    gain: float | None
    least: float | None
    most: float | None
    image: float | None
    unknown: bool = False
    full: float = math.inf
    space: Space | None = None
    design: Mapping[str, float] | None = None

    @property
    def unbounded(self) -> bool:
        """Whether nothing is ruled out of what the gain may be more than is known."""
        return not self.proven and self.most is not None and self.most >= self.full

    @property
    def matters(self) -> bool:
        """Whether the move is proven to change the best score, or makes the problem impossible."""
        if self.gain is None:
            return not self.unknown
        assert self.least is not None and self.most is not None
        return self.least > 0.0 or self.most < 0.0

    @property
    def proven(self) -> bool:
        """Whether the gain is known as closely as a best score is."""
        if self.gain is None:
            return not self.unknown
        assert self.most is not None
        return self.most - self.gain <= PROMISE + 1e-9


@dataclass(frozen=True)
class Prices:
    """All prices of a problem's best design, by subject: ``found`` are those that matter, the dearest first.
    ``still`` are subjects of which no move changes the score by more than what a proof leaves open (proven).
    ``open``: neither the one nor the other is proven. ``senseless``: moves that were not made, as the problem
    would make no sense, and why. ``unasked``: names of decisions that the file pins and no move is about."""

    best: Solution
    found: tuple[tuple[Price, ...], ...]
    still: tuple[tuple[Price, ...], ...]
    open: tuple[tuple[Price, ...], ...] = ()
    senseless: tuple[tuple[Move, str], ...] = ()
    unasked: tuple[str, ...] = ()

    @property
    def losing(self) -> tuple[tuple[Price, ...], ...]:
        """Open subjects of which a move's loss is bounded, and so worth telling."""
        return tuple(g for g in self.open if any(p.least is not None and p.least < -PROMISE for p in g))

    @property
    def unmoved(self) -> tuple[tuple[Move, str], ...]:
        """The senseless moves of subjects that no other move is told of."""
        told = {group[0].move.subject for group in (*self.found, *self.still, *self.open)}
        return tuple((move, why) for move, why in self.senseless if move.subject not in told)


def prices_of(
    problem: Problem,
    best: Solution,
    *,
    steps: Mapping[str, float] | None = None,
    every: bool = False,
    built: bool = True,
    moves: Sequence[Move] | None = None,
    effort: float = EFFORT,
    thorough: bool = False,
    executor: Executor | None = None,
    progress: Progress = silent,
) -> Prices:
    """Prices of every demand and, where ``built``, of what could be built otherwise, with ``every`` of all numbers in
    the file; or of the given ``moves`` only. ``thorough``: each has as much ``effort`` as it takes."""
    if best.design is None:
        raise UsageError("an impossible problem has no prices; explain tells what would have to give")
    asked = (
        list(moves)
        if moves is not None
        else all_moves(problem, on_grid(steps, best.grid, problem.show), every=every, built=built)
    )
    progress("prices", 0, len(asked))
    trails = prepared(problem, best, asked)
    known = known_of(problem, best)
    budget = effort * max(1, len(asked))
    work = _Work(problem, best, budget if thorough else min(BUDGET, budget), trails, executor, progress)
    spared = [move for move in asked if _may_be_spared(best, move)]
    spared = spared if len(spared) >= SPARED and _leave_out(problem, best) else []
    looser = [move for move in asked if _one_way(problem, move) and move.member and _other(problem, move)]
    each = work.left / max(1, len(asked))
    share = effort if thorough else _share(problem, best, each, effort)
    alone = not share or (known.hard and (each >= LIKELY * UNKNOWN or trails))
    ways = [move for move in looser if move not in spared]
    ways = ways if len(ways) >= FEWEST and not alone else []
    several = {*spared, *ways}
    idle = work.settle([move for move in asked if move not in several], share, ways, spared)
    work.settle([*work.lost[:AHEAD], *(move for move in asked if move in several - idle)], share)
    work.settle([move for move in work.lost if move not in work.found], share)
    while share and work.open and (more := min(effort, work.left / len(work.open))) >= TIMES * share:
        share = more
        work.settle(work.open, share)
    work.bound()
    found = work.found
    subjects: dict[tuple, list[Price]] = {}
    for move in asked:
        if isinstance(price := found[move], Price):
            subjects.setdefault(move.subject, []).append(price)
    groups = [tuple(group) for group in subjects.values()]
    dear = sorted((g for g in groups if any(p.matters for p in g)), key=_rank)
    rest = [g for g in groups if not any(p.matters for p in g)]
    settled = [all(p.proven for p in g) for g in rest]
    still = tuple(g for g, proven in zip(rest, settled) if proven)
    senseless = tuple((move, why) for move in asked if isinstance(why := found[move], str))
    unsettled = tuple(g for g, proven in zip(rest, settled) if not proven)
    return Prices(best, tuple(dear), still, unsettled, senseless, () if moves is not None else unasked(problem, asked))


def prepared(problem: Problem, best: Solution, moves: Sequence[Move]) -> bool:
    """Whether the proofs for these moves follow the trail of that of the best design. That is made here once, there for
    all processes that begin after."""
    return bool(known_of(problem, best).hard and len(moves) >= MANY and hardness_of(problem, best).trails)


def _leave_out(problem: Problem, best: Solution) -> bool:
    """Whether a proof with fewer limits saves more than it costs: not where much is looked up in tables, nor where it is
    long."""
    if problem.bass is not None or problem.surround is not None:
        return False
    return not known_of(problem, best).hard or hardness_of(problem, best).seconds <= DEAR


def _share(problem: Problem, best: Solution, each: float, effort: float) -> float:
    """The effort for a first look at each move, of which there is so much for ``each``; none where so many proofs are
    out of reach: then better designs are looked for, and bounds."""
    if each >= LIKELY * UNKNOWN:  # enough for any proof
        return min(effort, each if known_of(problem, best).hard else max(FIRST, 0.5 * each))
    hardness = hardness_of(problem, best)
    likely = min(hardness.seconds, UNKNOWN)
    once, again = (GONE_THROUGH, ANEW) if hardness.trails else (LIKELY, AGAIN)
    return 0.0 if once * likely > each else min(effort, max(FIRST, 0.5 * each, again * likely))


def in_order(group: Sequence[Price]) -> list[Price]:
    """The two steps of a subject that are told, the better first."""
    return sorted(group, key=lambda p: -(p.gain if p.gain is not None else -1e3))[:2]


def _rank(group: Sequence[Price]) -> tuple:
    """The greatest gain first; then the greatest loss; what becomes impossible counts as losing all."""
    gains = [p.gain if p.gain is not None else (0.0 if p.unknown else -100.0) for p in group]
    return (-max(0.0, *gains), min(0.0, *gains))


# --- moves --------------------------------------------------------------------------------------


def all_moves(problem: Problem, steps: Mapping[str, float], *, every: bool = False, built: bool = True) -> list[Move]:
    """Every demand by a step either way, then, where ``built``, the numbers of the room (or, with ``every``, all)."""
    found: list[Move] = []
    for member in members(problem):
        if not member.own:
            found += _member_moves(problem, member, steps)
    for at in parts(problem) if built else ():
        measured = at.path.startswith(MEASURED) and at.kind != "money" and ".absorption." not in at.path
        if at.path == "seating.aisle.width" and problem.seating.aisle.sides == "none":
            continue  # no aisle, no width
        if not at.decided and at.path not in UNMOVED and (every or measured):
            step = step_of(at.kind, problem.show, steps)
            for after in (at.value + step, at.value - step):  # type: ignore[operator]
                found.append(Move(None, at.path, at.kind, float(at.value), float(after)))  # type: ignore[arg-type]
    return found


def _member_moves(problem: Problem, member: Member, steps: Mapping[str, float]) -> list[Move]:
    kind = quantity_of(problem, member)
    step = step_of(kind, problem.show, steps)
    if member.kind != "value":
        wanted = wanted_of(problem, member)
        outward = -1.0 if member.end == "at_least" or member.kind == "from" else 1.0
        ends = [(_sensible(problem, member, wanted, wanted + way * step), way == outward) for way in (1.0, -1.0)]
        moves = [Move(member, member.path, kind, wanted, after, looser) for after, looser in ends if after != wanted]
        return sorted(moves, key=lambda move: not move.looser)
    at = part(problem, member.path)
    values, wide = values_of(at.value), natural(problem, at)  # type: ignore[arg-type]
    assert wide is not None
    others: Sequence[float] = (min(values) - step, max(values) + step)
    if name_of(member.path) == "screen.aspect":
        if _made_so(problem, at):
            return []
        others = [shape for shape in SHAPES if all(abs(shape / own - 1.0) > ALIKE for own in values)]
    found = []
    for after in others:
        if wide.low - 1e-9 <= after <= wide.high + 1e-9:
            found.append(Move(member, member.path, kind, None, after, True))  # beside what is there
    return found


def _made_so(problem: Problem, at: Part) -> bool:
    """Whether it is the shape of an image that is not projected: a panel has the shape that it is made in."""
    screen = screen_at(problem, at.path)
    return name_of(at.path) == "screen.aspect" and screen is not None and screen.type != "projected"


def unasked(problem: Problem, moves: Sequence[Move]) -> tuple[str, ...]:
    """Names of the decisions that are pinned, or that the file takes from a list, and that none of the moves is about:
    places of bass loudspeakers, the side of an aisle, a kind of screen, one of several chairs, which have no step. Seats
    one behind the other, as they are in a file that says nothing of it, are none; nor is the shape of a panel, which is
    made so, or of a wall of tiles, which they give."""
    about = {move.path for move in moves} | {at.path for at in parts(problem) if _made_so(problem, at)}
    pinned = [at for at in parts(problem) if isinstance(at.value, (Fixed, Choice)) and at.path not in about]
    shifted = max(problem.seating.rows) > 1 and set(values_of(problem.seating.stagger)) != {0.0}
    found = [name for at in pinned if (name := name_of(at.path)) != "seating.stagger" or shifted]
    found += ["aisle.side"] if problem.seating.aisle.sides in ("left", "right") else []
    found += ["screen.type"] if problem.kind_picked else []
    things = [one for one in problem.listings if isinstance(one.pick, Fixed) and len(one.items) > 1]
    return (*found, *(one.of for one in things))


def _sensible(problem: Problem, member: Member, wanted: float, after: float) -> float:
    """Where a step of an end stops: of a limit at 0, unless its measure can be negative; of a range at the least and the
    most that its decision may be, and where it began if that is none of what it may be."""
    if member.about_limit:
        signed = catalogue()[all_limits(problem)[member.index].measure].signed
        return after if signed or wanted < 0.0 else max(0.0, after)
    bounds = part(problem, member.path).bounds
    if bounds.above is not None and after <= bounds.above:
        return wanted
    after = after if bounds.least is None else max(float(bounds.least), after)
    return after if bounds.most is None else min(float(bounds.most), after)


def _one_way(problem: Problem, move: Move) -> bool | None:
    """Whether a move can only admit more designs, or only fewer (False), and each scores what it did; None where it may
    do either."""
    return None if move.member is not None and hangs_on(problem, move.member.path) else move.looser


def read_move(problem: Problem, path: str, text: str) -> Move:
    """A move as typed: ``room.doors.entry.hinge`` and ``+6 in``, ``-6 in`` or ``5 ft``; decisions by their
    names, limits as ``limits.2.at_least`` with their number in the file. Raises UsageError."""
    text = text.strip()
    if path.startswith("limits."):
        return _limit_move(problem, path, text)
    row = split_row(path)
    if row is not None and f"seating.place.{path}" not in {p.path for p in parts(problem)}:
        most = max(problem.seating.rows)
        why = f"there is no row {row[0]}: the file allows {most} at most"
        ask = f"the file says nothing of it that could be moved: 'why-not --set {path}=...' asks for a value of it"
        raise UsageError(f"{path}: {why if row[0] > most else ask}")
    at = part(problem, path)
    before = None if at.decided and len(set(values_of(at.value))) > 1 else _number(at)  # type: ignore[arg-type]
    after = _typed(at.bounds.kind, path, text, before)
    member = next((m for m in members(problem) if m.path == at.path and m.kind == "value"), None)
    if at.decided and member is None:
        member = Member("value", path=at.path)
    return Move(member if at.decided else None, at.path, at.kind, before, after)


def _number(at: Part) -> float:
    return values_of(at.value)[0] if at.decided else float(at.value)  # type: ignore[arg-type]


def _limit_move(problem: Problem, path: str, text: str) -> Move:
    _, number, end = (path.split(".") + ["", ""])[:3]
    about = [n for n, limit in enumerate(problem.limits, start=1) if limit.measure == number]
    if len(about) > 1:
        raise UsageError(f"'{path}': limits {listed(map(str, about))} are about {number}: write one of their numbers")
    number = str(about[0]) if about else number
    if not number.isdigit() or not 1 <= int(number) <= len(problem.limits) or end not in ("at_least", "at_most"):
        raise UsageError(
            f"'{path}' names no limit: write limits.{about[0] if about else 1}.at_least, with the limit's number in the file, or its measure"
        )
    limit = problem.limits[int(number) - 1]
    before = getattr(limit, end)
    if before is None:
        raise UsageError(f"{path}: this limit has no {end}")
    member = Member("limit", int(number) - 1, end, firm=limit.firm)
    kind = quantity_of(problem, member)
    after = _typed(kind, path, text, before)
    return Move(member, "", kind, before, after, (after < before) == (end == "at_least"))


def _typed(kind: str, path: str, text: str, before: float | None) -> float:
    relative = text[:1] in ("+", "-")
    try:
        value = float(parse(kind, text, signed=True))  # type: ignore[arg-type]
    except QuantityError as error:
        raise UsageError(f"{path}: {error}") from None
    if not relative or kind == "level":
        return value
    if before is None:
        raise UsageError(f"{path} has several values: write the one to try, without a sign")
    return before + value


def moved(problem: Problem, move: Move) -> Problem:
    """The problem with a move made. Raises UsageError where it would make no sense."""
    member = move.member
    if member is None:
        return with_value(problem, move.path, move.after)
    if member.about_limit:
        return with_end(problem, member, move.after)
    if member.kind != "value":
        return with_value(problem, member.path, part(with_end(problem, member, move.after), member.path).value)
    if move.looser:
        values = values_of(part(problem, member.path).value)  # type: ignore[arg-type]
        return with_values(problem, member, {*values, move.after})
    return with_value(problem, member.path, move.after)


def new_only(problem: Problem, move: Move) -> tuple[Problem, ...]:
    """The problem with one demand loosened, without designs that keep it as it was: one, or several that have no design in
    common; none where they cannot be told apart by ranges, lists or a limit."""
    member = move.member
    if member is None or move.before is None and member.kind != "value":
        return ()
    if member.about_limit:
        limit = problem.limits[member.index]
        if catalogue()[limit.measure].per_row and limit.row != "reference":
            return ()
        other, inner = ("at_most", min) if member.end == "at_least" else ("at_least", max)
        known = getattr(limit, other)
        before = move.before if known is None else inner(known, move.before)
        return (with_end(with_end(problem, member, move.after), replace(member, end=other), before),)  # type: ignore[arg-type]
    if problem.bass is not None or problem.surround is not None:
        return ()  # where fewer designs are allowed, these may be told otherwise: see hangs_on()
    if member.path == "seating.seats" and member.kind == "value":
        return _new_seats(problem, move)
    names = [governed(problem, member.path, rows) for rows in problem.seating.rows]
    # a row whose platform may have other heights may have more steps up to each of them
    if any(len(name) != 1 or name[0].endswith((".platform", ".risers")) for name in names):
        return ()
    if member.kind == "value":
        return (with_values(problem, member, {move.after}),)
    if not isinstance(part(problem, member.path).value, Range):
        return ()
    other = replace(member, kind="to" if member.kind == "from" else "from")
    return (with_end(with_end(problem, member, move.after), other, move.before),)  # type: ignore[arg-type]


def _new_seats(problem: Problem, move: Move) -> tuple[Problem, ...]:
    """Of another number of seats in every row, for each row the designs in which it is the first to have that many."""
    seating, member = problem.seating, move.member
    if seating.bar is not None:
        return ()  # a row is the bar in some designs, and one of chairs in others
    assert member is not None
    before = set(values_of(part(problem, member.path).value))  # type: ignore[arg-type]
    loose, placed = with_values(problem, member, {*before, move.after}), dict(seating.place)
    found, earlier = [], {}
    for number in range(1, max(seating.rows) + 1):
        name = f"row{number}.seats"
        if name in placed:
            continue
        place = (*seating.place, *earlier.items(), (name, one_of({move.after})))
        rows = tuple(rows for rows in seating.rows if rows >= number)
        found.append(replace(loose, seating=replace(loose.seating, place=place, rows=rows)))
        earlier[name] = one_of(before)
    return tuple(found)


# --- solving ------------------------------------------------------------------------------------


class _Work:
    """Moves being priced, several at a time: what was ``found`` of each, the effort that is ``left``, and moves by which
    the best design is ``lost``, and all that is near it."""

    def __init__(
        self,
        problem: Problem,
        best: Solution,
        left: float,
        trails: bool,
        executor: Executor | None,
        progress: Progress,
    ) -> None:
        self.problem, self.best, self.left, self._trails = problem, best, left, trails
        self.found: dict[Move, Price | str] = {}
        self.lost: list[Move] = []
        self._better: dict[Move, Mapping[str, float]] = {}
        self._how = {"executor": executor, "progress": progress}

    @property
    def open(self) -> list[Move]:
        """Moves of which neither a price is proven nor that there is none."""
        return [move for move, price in self.found.items() if isinstance(price, Price) and not price.proven]

    def settle(
        self, moves: Sequence[Move], share: float, ways: Sequence[Move] = (), spared: Sequence[Move] = ()
    ) -> set[Move]:
        """Price moves with so much effort each, and meanwhile see which of several ``ways``, each of which loosens a
        demand, bring nothing, and which of those that may be ``spared`` touch nothing: these are returned. Moves that lose
        the best design are left, and said to be ``lost``, until they are asked for again."""
        of = self.problem, self.best
        looks = [(_together, ways), (_untouching, spared)]
        tasks = [partial(look, *of, tuple(some), 0.5 * self.left) for look, some in looks if some]
        several = len(tasks)
        tasks += [
            partial(_priced, *of, move, share, self._better.get(move), self._instead(move), self._trails)
            for move in moves
        ]
        told = together(_answered, tasks, "prices", **self._how) if tasks else []
        idle: set[Move] = set()
        for nothing, better, took in told[:several]:
            idle |= nothing
            self._better.update(better)
            self.left -= took
        self.found.update((move, _idle(move, self.best)) for move in idle)
        for move, (price, took) in zip(moves, told[several:]):
            self.left -= took
            if price is None:
                self.lost.append(move)
                continue
            self.found[move] = price
            if isinstance(price, Price) and price.design is not None and price.gain is not None and price.gain > 0.0:
                self._better[move] = price.design
        return idle

    def _instead(self, move: Move) -> tuple[Mapping[str, float], ...] | None:
        """Designs to begin from with a move that loses the best: what was found of others that do; None where it is not
        known to."""
        if move not in self.lost:
            return None
        found = (self.found.get(other) for other in (move, *self.lost))
        return tuple(price.design for price in found if isinstance(price, Price) and price.design is not None)

    def bound(self) -> None:
        """Say at least coarsely what no design scores more than, where a price stays open."""
        tasks = [
            (self.problem, self.best, price) for move in self.open if (price := self.found[move]).design is not None
        ]
        for price in together(_bounded, tasks, "bounds on prices", **self._how) if tasks else ():
            self.found[price.move] = price


Looked = tuple[set[Move], dict[Move, Mapping[str, float]], float]
"""Of several moves those that bring nothing (proven); of others a better design, if one was found; and the effort that it
took."""


Design = Mapping[str, float]


def _answered(task: Callable[[], Any]) -> Any:
    """What a task gives, wherever it is done."""
    return task()


@dataclass(frozen=True)
class _Made:
    """A move, to be made to a problem; plain data, as other processes may have to make it."""

    move: Move

    def __call__(self, problem: Problem) -> Problem:
        return moved(problem, self.move)


def _together(problem: Problem, best: Solution, moves: Sequence[Move], effort: float) -> Looked:
    """Of the demands that are loosened, those that bring nothing (proven), shown several at a time; for those
    that do, a better design; and the effort that it took."""
    ways = [Loose(move.member, _Made(move)) for move in moves if move.member is not None]
    idle, better, took = earning(problem, best, ways, effort, known_of(problem, best).hard)
    return {moves[at] for at in idle}, {moves[at]: design for at, design in better.items()}, took


def _may_be_spared(best: Solution, move: Move) -> bool:
    """Whether it is likely that a move changes nothing on which it hangs that the best design is the best: no decision's
    range, no limit at which it lies."""
    if move.member is None:
        return True
    assert best.card is not None
    binding = {result.index for result in best.card.limits if result.binds}
    return bool(move.member.about_limit and move.looser and move.member.index not in binding)


def _untouching(problem: Problem, best: Solution, moves: Sequence[Move], effort: float) -> Looked:
    """The moves that change nothing on which it hangs that the best design is the best; and the effort that it took."""
    grounds = Grounds(problem, best, effort)
    others = {move: _other(problem, move) for move in moves}
    idle = {move for move, other in others.items() if other is not None and grounds.spare(other)}
    return idle, {}, effort - grounds.left


def _other(problem: Problem, move: Move) -> Problem | None:
    """The problem with a move made; None where it would make no sense."""
    try:
        return moved(problem, move)
    except (UsageError, ProblemFileError):
        return None


@lru_cache(maxsize=4)
def _spaces(problem: Problem, grid: float) -> tuple[Space, ...]:
    return tuple(spaces(problem, grid=grid))


def _nothing(move: Move, best: Solution, most: float, least: float = 0.0) -> Price:
    return Price(move, 0.0, least, most, 0.0, space=best.space, design=best.design)


def _idle(move: Move, best: Solution) -> Price:
    """Of a move that leaves the best design as it is, and admits none that is better by more than is promised. What there
    was may have been better than is known of the best, and is still there only where a demand gives way."""
    assert best.score is not None and best.bound is not None
    return _nothing(move, best, PROMISE, 0.0 if move.looser else min(0.0, best.score - best.bound))


def _priced(
    problem: Problem,
    best: Solution,
    move: Move,
    effort: float,
    better: Design | None,
    instead: tuple[Design, ...] | None,
    trails: bool,
) -> tuple[Price | str | None, float]:
    """A move's price, or why the moved problem would make no sense, or None where it loses the best design and there is
    no word of what to begin from ``instead``; and the effort that it took."""
    assert best.design is not None and best.score is not None and best.bound is not None
    way = _one_way(problem, move)
    try:
        other = moved(problem, move)
        if way is False and _held(best, (Scorer(other, s) for s in spaces(other, grid=best.grid, of=best.design))):
            return _nothing(move, best, 0.0), 0.0
        known = known_of(problem, best)
        new = _new_scorers(problem, best, move) if way and known.hard else None
        scorers = new or [Scorer(other, space) for space in spaces(other, grid=best.grid)]
        still = None if new or way is False else _held(best, scorers)
        if move.member is None and still:
            # the same geometry, or one of which what differs is no limit's and no goal's concern
            same = _spaces(problem, best.grid) == tuple(scorer.space for scorer in scorers)
            if same and room_limits(problem) == room_limits(other):
                return _nothing(move, best, 0.0), 0.0
        denied, how = known.denied, {"hard": known.hard}
        if trails:
            hardness = hardness_of(problem, best)
            denied, how["trails"] = denied | hardness.denied, hardness.trails
        search = Sparing(other, best.grid, effort=effort, denied=denied, scorers=scorers, **how)
        if new and better is not None and not any(s.space.has(better) and s.possible(better) for s in scorers):
            better = None  # it is one of the designs that there were
        if better is None and (new or still):
            settled, bound = True, search.beyond(best, still)
        else:
            start = best.design if better is None else better
            if not search.set_out(start, better=better is not None) and instead is None:
                return None, effort - search.left
            settled, bound = search.answer(start, instead=instead)
        bound = max(best.bound, bound) if new else bound  # the designs that there were are none of these
    except (UsageError, ProblemFileError) as error:
        return str(error), 0.0
    if search.design is None:
        return Price(move, None, None, None, None, unknown=not settled), effort - search.left
    least, most = search.score - best.bound, bound - best.score
    if way:
        least = max(0.0, least)  # the best design is still there
    elif way is False:
        most = min(most, best.bound - best.score)  # no design is new
    image = search.design["screen.width"] - best.design["screen.width"]
    gain = search.score - best.score
    full = 100.0 - best.score - 1e-9
    price = Price(move, gain, least, most, image, full=full, space=search.space, design=search.design)
    return price, effort - search.left


def _new_scorers(problem: Problem, best: Solution, move: Move) -> list[Scorer] | None:
    """The spaces of those designs that a demand's loosening admits; None where they are not told apart, or there is none."""
    found = []
    for only in new_only(problem, move):
        try:
            found += [Scorer(only, space) for space in spaces(only, grid=best.grid)]
        except ProblemFileError:  # none that lies on the grid
            continue
    return found or None


def _bounded(task: tuple[Problem, Solution, Price]) -> Price:
    """A price of which only is known what the moved problem's best is at least, with a bound on what it is at most."""
    problem, best, price = task
    assert best.score is not None and price.gain is not None and price.most is not None
    bound = ceiling(moved(problem, price.move), best.grid, best.score + price.gain)
    return replace(price, most=min(price.most, bound - best.score))


def _held(best: Solution, scorers: Iterable[Scorer]) -> Space | None:
    """The space of a moved problem in which the best design is, holds its limits and scores the same; None where it does
    not."""
    assert best.design is not None and best.score is not None
    there = next((scorer for scorer in scorers if scorer.space.has(best.design)), None)
    score = None if there is None else score_among([there], best.design)
    return there.space if there is not None and score is not None and abs(score - best.score) < 1e-9 else None
