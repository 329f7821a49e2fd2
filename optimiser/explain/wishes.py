"""Why not so? The best design under a wish, what it costs goal by goal, and what stops it from being better
or from being at all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from optimiser.design import grid_of
from optimiser.errors import QuantityError, Undecided, UsageError, did_you_mean
from optimiser.explain.conflicts import Conflicts, conflicts_of
from optimiser.explain.differences import Difference, difference
from optimiser.explain.members import Member, governed, keeps, members, name_of, offset_of
from optimiser.explain.possible import Oracle
from optimiser.explain.prices import Price, all_moves, prices_of
from optimiser.explain.steps import on_grid
from optimiser.explain.subsets import grown
from optimiser.measures import catalogue
from optimiser.measures.brackets import read_brackets, split_asked
from optimiser.problem.decisions import LISTS_MEASURES, read_value, split_row, with_fixed, with_rows_for
from optimiser.problem.model import Limit, Problem
from optimiser.problem.parts import part, parts
from optimiser.progress import Progress, silent
from optimiser.quantity import parse
from optimiser.solve import Solution, solve

CONFLICTS = 3
"""Conflicts to show for a wish that cannot be."""


@dataclass(frozen=True)
class Wish:
    """A decision at a value, or an end for a measure (a limit of the wisher's own)."""

    name: str
    value: float
    limit: Limit | None = None


@dataclass(frozen=True)
class WhyNot:
    """The answer to a wish. ``against`` are the file's own ranges and fixed values that the wish is
    outside of, and which give way to it here. ``wished`` is the best design under the wish, with its
    ``difference`` from the best without; ``stops`` are the demands that, moved a step looser, would make
    it better; ``settled``: whether that is proven of no other. Where there is no such design, ``conflicts``
    says why. Where there is none without the wish either (``hopeless``), the demands ``set_aside`` are left out
    of them, without which all others can hold: each conflict then has the wish in it, and if there is none the
    wish can hold beside those others."""

    problem: Problem
    wishes: tuple[Wish, ...]
    against: tuple[Member, ...]
    best: Solution
    wished: Solution
    difference: Difference | None
    stops: tuple[Price, ...]
    conflicts: Conflicts | None
    settled: bool = True
    hopeless: bool = False
    set_aside: tuple[Member, ...] = ()


def why_not(
    problem: Problem,
    wishes: tuple[Wish, ...],
    *,
    steps: Mapping[str, float] | None = None,
    grid: float | None = None,
    progress: Progress = silent,
) -> WhyNot:
    """Weigh a wish against the best design. UsageError where there is no best design to weigh it against."""
    if not wishes:
        raise UsageError('no wish: give one with --set, e.g. --set row1.y="10 ft"')
    step = grid_of(problem) if grid is None else grid
    other = granted(problem, wishes)
    progress("the best design")
    best = solve(problem, grid=step)
    progress("the best design under the wish")
    wished = solve(other, grid=step, start=best.design)
    against = tuple(m for wish in wishes for m in _against(problem, wish))
    if wished.design is None and best.status == "impossible":
        progress("what the wish itself runs into")
        aside, found = _of_the_wish(problem, Oracle(other, grid=step), progress)
        return WhyNot(other, wishes, against, best, wished, None, (), found, hopeless=True, set_aside=aside)
    if wished.design is None:
        found = conflicts_of(Oracle(other, grid=step), most=CONFLICTS, progress=progress)
        return WhyNot(other, wishes, against, best, wished, None, (), found)
    assert wished.card is not None
    if best.design is None or best.card is None:
        if best.status == "impossible":
            raise UsageError("the problem is impossible without the wish; explain says why")
        raise UsageError("the solver found no design without the wish, and no proof that there is none")
    told = difference(best.design, best.card, wished.design, wished.card)
    stops: tuple[Price, ...] = ()
    settled = True
    if told.points < 0.0:
        moves = [
            m
            for m in all_moves(other, on_grid(steps, wished.grid, other.show))
            if m.member is not None and m.looser and not _asked_for(problem, wishes, m.member)
        ]
        prices = prices_of(other, wished, moves=moves, progress=progress)
        stops = tuple(p for group in prices.found for p in group if p.matters and p.gain is not None and p.gain > 0.0)
        settled = not prices.open
    return WhyNot(other, wishes, against, best, wished, told, stops, None, settled)


def _asked_for(problem: Problem, wishes: tuple[Wish, ...], member: Member) -> bool:
    """Whether a demand of the problem with the wishes is one of them: to loosen it is to give the wish up."""
    if member.about_limit:
        return not member.own and member.index >= len(problem.limits)
    return name_of(member.path).removeprefix("seating.") in {wish.name for wish in wishes}


def _of_the_wish(problem: Problem, oracle: Oracle, progress: Progress) -> tuple[tuple[Member, ...], Conflicts]:
    """Of a problem that is impossible without the wish: demands that must be set aside for all others to hold
    (of the file's limits rather than of its decisions, and none of the firm ones if that can be), and the
    conflicts of those others with the wish."""
    everyone = members(oracle.problem)
    wish = frozenset(m for m in everyone if _wished(problem, oracle.problem, m))
    file = [m for m in everyone if m not in wish]
    order = sorted(file, key=lambda m: (not m.firm, m.about_limit))
    try:
        if not oracle.holds(frozenset()):
            return (), conflicts_of(oracle, most=CONFLICTS, progress=progress)
        kept = grown(frozenset(), order, oracle.holds, lambda some: oracle.extent(some).intersection(file))
    except Undecided:
        return (), Conflicts((), False, True, False)
    among = [m for m in everyone if m in kept or m in wish]
    aside = tuple(m for m in file if m not in kept)
    return aside, conflicts_of(oracle, among=among, most=CONFLICTS, progress=progress)


def _wished(problem: Problem, other: Problem, member: Member) -> bool:
    """Whether a demand of the problem with the wishes is one of them, or was changed for one."""
    if member.about_limit:
        return not member.own and member.index >= len(problem.limits)
    before = {p.path: p.value for p in parts(problem)}
    return part(other, member.path).value != before.get(member.path)


def granted(problem: Problem, wishes: tuple[Wish, ...]) -> Problem:
    """The problem with the wishes as demands. UsageError where one is about a row that it has not."""
    for wish in sorted(wishes, key=lambda w: w.name not in ("rows", "screen.type")):
        if wish.limit is not None:
            problem = _with_rows_for(problem, wish.name, wish.limit)
            problem = replace(problem, limits=(*problem.limits, wish.limit))
        else:
            problem = with_fixed(problem, wish.name, wish.value)
    return problem


def _with_rows_for(problem: Problem, name: str, limit: Limit) -> Problem:
    """The problem with those numbers of rows only that have what a wish is about: else a design without it would
    count as one that grants it."""
    measure = catalogue()[limit.measure]
    if not measure.per_row:
        return problem
    seating, first, most = problem.seating, measure.first_row, max(problem.seating.rows)
    least = max(first, int(limit.row)) if limit.row.isdigit() else first
    allows = f"the file allows {most} at most"
    if limit.row.isdigit() and not 1 <= int(limit.row) <= most:
        raise UsageError(f"{name}: there is no row {limit.row}: {allows}")
    if most < first or (limit.row.isdigit() and int(limit.row) < first):
        raise UsageError(f"{name}: {measure.name} begins at row {first}; {allows}")
    if limit.row == "reference" and seating.reference_row < first:
        raise UsageError(f"{name}: {measure.name} begins at row {first}, after the reference row: name a row")
    return replace(problem, seating=with_rows_for(seating, least))


def _against(problem: Problem, wish: Wish) -> list[Member]:
    """The file's own demands on the decision that a wish is outside of."""
    if wish.limit is not None:
        return []
    values = {p.path: p.value for p in parts(problem)}
    row = split_row(wish.name)
    rows = [n for n in problem.seating.rows if row is None or n >= row[0]]

    def beyond(member: Member) -> bool:
        governs = any(wish.name in governed(problem, member.path, n) for n in rows)
        return governs and not keeps(member, values[member.path], wish.value - offset_of(problem, member.path))

    return [member for member in members(problem) if not member.about_limit and beyond(member)]


# --- reading ------------------------------------------------------------------------------------


def decision_wish(problem: Problem, name: str, text: str) -> Wish:
    """A wish for a decision, as ``row1.y`` and ``10 ft``. Raises UsageError."""
    return Wish(name, read_value(problem, name, text))


def measure_wish(name: str, text: str, *, at_least: bool) -> Wish:
    """A wish for a measure, as ``horizontal_angle[1]`` and ``50 deg``; in brackets a row's number, reference (if
    nothing is said), all or worst, and options, as objectives have them: ``mode_level[row=2,order=2]``. Raises
    UsageError."""
    (asked, inside), known = split_asked(name), catalogue()
    if asked not in known:
        raise UsageError(
            f"unknown measure '{name}': {did_you_mean(name.partition('[')[0], known, lists=LISTS_MEASURES)}"
        )
    measure = known[asked]
    said, chosen = read_brackets(name, inside, measure)
    said = said or ""
    row = (str(int(said)) if said.isdigit() else said) or ("reference" if measure.per_row else "all")
    if not measure.per_row and said:
        raise UsageError(f"{measure.name} is one value for the whole design: leave [{row}] out")
    if measure.per_row and row not in ("reference", "all", "worst") and not row.isdigit():
        raise UsageError(f"{name}: write reference, all, worst or the number of a row")
    try:
        value = float(parse(measure.quantity, text, signed=True))
    except QuantityError as error:
        raise UsageError(f"{name}: {error}") from None
    options = tuple((option, chosen.get(option, values[0])) for option, values in measure.options.items())
    ends = (value, None) if at_least else (None, value)
    return Wish(name, value, Limit(measure.name, row, *ends, options))
