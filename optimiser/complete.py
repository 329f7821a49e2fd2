"""Complete a design of which only some decisions are given: the others are chosen to suit it best."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from optimiser.compile import Compiled
from optimiser.compile.tables import TooLarge
from optimiser.design import APART, Space, grid_of, spaces
from optimiser.engine import EFFORT
from optimiser.errors import ImpossibleProblem, Undecided
from optimiser.problem.decisions import split_row, with_all_fixed
from optimiser.problem.model import Goal, Problem
from optimiser.quantity import show
from optimiser.requirements import Bound, Target
from optimiser.score import Scorecard, Scorer
from optimiser.search import COARSE, MOST_POINTS, Search
from optimiser.solve import settle

HAIR = 1e-9
"""SI units by which a limit is let out beyond what a design has."""

ARRANGEMENT = ("rows", "screen.type", "screen.aspect", "bass.arrangement")
"""Decisions that each space of a problem settles for itself."""


@dataclass(frozen=True)
class Completed:
    """A full design around given decisions, scored exactly; its limits may be broken."""

    space: Space
    design: Mapping[str, float]
    card: Scorecard
    given: Mapping[str, float]


def arrangement_chosen(problem: Problem, completed: Completed) -> tuple[str, ...]:
    """Of number of rows, kind and shape of image and places of the bass loudspeakers, what was not given and could
    have been otherwise."""
    given, grid = completed.given, grid_of(problem)
    least = max((found[0] for name in given if (found := split_row(name))), default=1)
    kept = [
        space.settled
        for space in spaces(problem, grid=grid)
        if space.rows >= least and all(space.settled.get(name, value) == value for name, value in given.items())
    ]
    names = [name for name in ARRANGEMENT if name in completed.space.settled and name not in given]
    if completed.space.layout.screen_type == "tiled":
        names = [name for name in names if name != "screen.aspect"]  # it follows from the tiles
    return tuple(name for name in names if len({one.get(name) for one in kept}) > 1)


def complete(problem: Problem, given: Mapping[str, float], *, grid: float | None = None) -> Completed:
    """The given decisions with the best values for the rest.

    Where all limits can hold, they do. Else as many hold as can, as a coarse search finds, each row's counted by itself;
    the others are broken by no more than they need be, and the score is the best there is then. ImpossibleProblem where
    no arrangement has these decisions, Undecided where none was found in the time that the solver has.
    """
    step = grid_of(problem) if grid is None else grid
    pinned = with_all_fixed(problem, given)
    solution = settle(Search(pinned, step), excluding=False)
    if solution.design is not None:
        return Completed(solution.space, solution.design, solution.card, given)
    return _least_broken(pinned, step, given)


def refuse_senseless(problem: Problem, given: Mapping[str, float]) -> None:
    """Refuse, without any solving, given decisions that the problem does not have (UsageError), or with which rows, image
    and lens cannot lie in order in any arrangement (ImpossibleProblem). What passes may still prove to be impossible."""
    step = grid_of(problem)
    found = list(spaces(with_all_fixed(problem, given), grid=step))
    if all(_wrong(space) for space in found):
        raise _no_arrangement(problem, found)


def _least_broken(problem: Problem, step: float, given: Mapping[str, float]) -> Completed:
    best: tuple[int, float] | None = None
    found: Completed | None = None
    search, undecided = Search(problem, step, effort=EFFORT / 10), False
    for scorer in search.scorers:
        compiled, status, solver = _keeping_most(search, scorer)
        undecided = undecided or status == "UNKNOWN"
        if status not in ("OPTIMAL", "FEASIBLE"):
            continue
        design = scorer.space.complete(compiled.read(solver))
        card = scorer.card(design)
        rank = (-len(card.broken), card.score)
        if best is None or rank > best:
            best, found = rank, Completed(scorer.space, design, card, given)
    if found is None and undecided:
        raise Undecided(
            "no design with these decisions was found in the time that the solver has, and none is ruled out: give more of "
            "the decisions"
        )
    if found is None:
        raise _no_arrangement(problem, [scorer.space for scorer in search.scorers])
    return _nearer(problem, step, found)


def _keeping_most(search: Search, scorer: Scorer):
    """The model of a space's designs in which as many limits hold on as many rows as can, the solver's status, and the
    solver. Where it finds nothing in its time, as tables may make it, what looks anything up is left aside: what is found
    is scored exactly in any case."""
    for one in (scorer, scorer.looking_nothing_up):
        compiled = _kept_model(one)
        kept = sum(compiled.literals) * (compiled.full + 1)
        compiled.model.maximize(kept + compiled.objective if compiled.objective is not None else kept)
        status, solver = search.run(compiled, maximise=False)
        if status != "UNKNOWN":
            break
    return compiled, status, solver


def _kept_model(scorer: Scorer) -> Compiled:
    """A model of a space in which each limit may be broken; where its tables are too large, without what looks
    anything up: what is found is scored exactly in any case."""
    how = {"assume": True, "levels": COARSE}
    try:
        return Compiled(scorer.space, scorer.bounds, scorer.targets, most_points=MOST_POINTS, **how)
    except TooLarge:
        plain = scorer.looking_nothing_up
        return Compiled(plain.space, plain.bounds, plain.targets, **how)


def _nearer(problem: Problem, step: float, found: Completed) -> Completed:
    """Of the designs that hold what a found one holds, the best of those that break the rest by least. Where several
    limits are broken, each counts by how much of what the found design lacks is still lacking."""
    scorer = Scorer(problem, found.space)
    gaps = {(result.index, result.row, result.seat): -result.slack for result in found.card.broken}
    if not all(map(math.isfinite, gaps.values())):
        return found
    broken = [bound for bound in scorer.bounds if _on(bound) in gaps]
    kept = [bound for bound in scorer.bounds if _on(bound) not in gaps]
    aims = [_aim(gaps[_on(bound)], bound) for bound in broken]
    least = _best(problem, step, Scorer.of(found.space, kept, aims))
    if least is None:
        return found
    loose = [_let_out(bound, least) for bound in broken]
    best = _best(problem, step, Scorer.of(found.space, [*kept, *loose], scorer.targets))
    if best is None:
        return found
    return Completed(found.space, best, scorer.card(best), found.given)


def _on(bound: Bound) -> tuple[int, int | None, int | None]:
    """Which limit, on which row and seat."""
    return bound.index, bound.row, bound.seat


def _aim(gap: float, bound: Bound) -> Target:
    """A limit that cannot hold as something to come near to, from so far away."""
    limit = bound.limit
    goal = Goal(limit.measure, "worst", limit.at_least, limit.at_most, gap, 1.0)
    return Target(bound.index, goal, bound.measure, (bound.row,), (bound.form,), True)


def _let_out(bound: Bound, design: Mapping[str, float]) -> Bound:
    """A limit that lets a design pass, and nothing that breaks it by more."""
    value = float(bound.form.value(design))
    low, high = bound.limit.at_least, bound.limit.at_most
    ends = {
        "at_least": None if low is None else min(low, value - HAIR),
        "at_most": None if high is None else max(high, value + HAIR),
    }
    return replace(bound, limit=replace(bound.limit, **ends))


def _best(problem: Problem, step: float, scorer: Scorer) -> Mapping[str, float] | None:
    """The best design of one space by a scorer of it, as far as little effort tells."""
    return settle(Search(problem, step, effort=EFFORT / 10, scorers=[scorer]), excluding=False).design


def _wrong(space: Space) -> list[tuple[float, int]]:
    """What no design of a space can have of what makes sense: by how much at least it is short of that (below zero), and
    which it is."""
    most = [(expression.interval(space.bounds)[1], at) for at, expression in enumerate(space.sense)]
    return [one for one in most if one[0] < 0.0]


def _no_arrangement(problem: Problem, found: Sequence[Space]) -> ImpossibleProblem:
    return ImpossibleProblem(f"no arrangement has these decisions: {_why(problem, found)}")


def _why(problem: Problem, found: Sequence[Space]) -> str:
    """What no arrangement can have, of the space that is least short of it."""
    wrong = [(short, space, at) for space in found for short, at in _wrong(space)]
    if not wrong:
        return "rows must lie in order, and behind the image, the feet of reclined chairs too"
    least, space, at = max(wrong, key=lambda one: one[0])
    if at == 0:
        before = show("length", -least, problem.show)
        return f"the feet of row 1, its chairs reclined, would come {before} before the image"
    if at < space.rows:
        return f"row {at + 1} must lie {show('length', APART, problem.show)} behind row {at} at least"
    return "the projector's lens must lie behind the image"
