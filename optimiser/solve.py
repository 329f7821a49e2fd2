"""A problem solved: its best design, scored exactly, with the certificate of how good any other can be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from optimiser.design import Space, grid_of
from optimiser.engine import EFFORT
from optimiser.problem.model import Problem
from optimiser.score import Scorecard
from optimiser.search import Search

PROMISE = 0.1
"""Points of 100 within which an answer counts as proven best."""


@dataclass(frozen=True)
class Solution:
    """The answer to a problem, with its certificate.

    ``status`` is optimal (the bound is within PROMISE of the score), feasible (it is not), or
    impossible (no design on the grid holds all limits; then there is no design, and ``conflict``
    names limits that cannot hold together; ``smallest``: the rest of them can, with any one left out). ``bound`` holds for every design on the grid, with
    ``between`` for every design whatever; where more was asked than the file says, for those of them that are as
    ``asked`` has it in words.
    """

    problem: Problem
    status: str
    grid: float
    between: bool
    bound: float | None
    space: Space | None = None
    design: Mapping[str, float] | None = None
    card: Scorecard | None = None
    conflict: tuple[int, ...] = ()
    smallest: bool = True
    asked: tuple[str, ...] = ()
    seconds: Mapping[str, float] = field(default_factory=dict)

    @property
    def score(self) -> float | None:
        return None if self.card is None else self.card.score

    @property
    def gap(self) -> float | None:
        return None if self.card is None or self.bound is None else max(0.0, self.bound - self.card.score)


def solve(
    problem: Problem,
    *,
    grid: float | None = None,
    between: bool = False,
    effort: float = EFFORT,
    start: Mapping[str, float] | None = None,
) -> Solution:
    """The best design of a problem on its grid, proven.

    ``grid`` [m] overrides the file's grid; ``between`` makes the bound hold for designs off the grid
    too; ``effort`` limits the solver's deterministic time for each of its models; ``start`` is a
    design, as the best of a problem much like this one, to begin with if its limits hold here.
    """
    return settle(Search(problem, grid_of(problem) if grid is None else grid, effort=effort), between, start)


def settle(
    search: Search, between: bool = False, start: Mapping[str, float] | None = None, *, excluding: bool = True
) -> Solution:
    """Find, prove and tidy up the best design of a search. ``excluding``: where there is none, also find which limits
    exclude each other."""
    problem, step = search.problem, search.step
    begun = start is not None and search.begin(start)
    open_ = sorted(search.scorers, key=lambda s: s.space is not search.space) if begun else search.find()
    if search.design is None:
        if open_:
            return Solution(problem, "unknown", step, between, None, seconds=search.seconds)
        found, smallest = conflict(search) if excluding else ((), False)
        how = {"conflict": found, "smallest": smallest, "seconds": search.seconds}
        return Solution(problem, "impossible", step, between, None, **how)
    bound = search.prove(open_)
    search.tidy()
    if between:
        bound = max(bound, search.prove_between(step))
    status = "optimal" if bound - search.score <= PROMISE else "feasible"
    return Solution(
        problem, status, step, between, bound, search.space, search.design, search.card, seconds=search.seconds
    )


def stopped(search: Search, between: bool = False) -> Solution | None:
    """The best design that a search had found when it was stopped, of which nothing is proven but that its limits
    hold; None where it had found none."""
    if search.design is None:
        return None
    how = {"seconds": search.seconds}
    return Solution(
        search.problem, "feasible", search.step, between, 100.0, search.space, search.design, search.card, **how
    )


def conflict(search: Search) -> tuple[tuple[int, ...], bool]:
    """Indices of limits that cannot hold together in any space, and whether the rest of them is known to hold
    with any one left out: not where the solver gave up on one of these questions."""
    count = max((b.index for s in search.scorers for b in s.bounds), default=-1) + 1
    kept, sure = list(range(count)), True
    tabled = {b.index for s in search.scorers for b in s.bounds if b.looks_up}
    without = [index for index in kept if index not in tabled]
    if tabled and _possible(search, without) is False:
        kept = without  # what is looked up may take tables too large for any answer
    # the room's own limits come last: try to do without them last, so that the file's remain few
    for index in list(kept):
        search.tell("impossible: which limits exclude each other", index, count)
        rest = [i for i in kept if i != index]
        possible = _possible(search, rest)
        if possible is False:
            kept = rest
        elif possible is None:
            sure = False
    return tuple(kept), sure


def _possible(search: Search, limits: Sequence[int]) -> bool | None:
    """Whether these limits can hold together; None where the solver gave up."""
    wanted, open_ = set(limits), False
    for scorer in search.scorers:
        compiled = search.compiled(scorer.space, [b for b in scorer.bounds if b.index in wanted], [], levels=1)
        status = search.decide(compiled)
        if status in ("OPTIMAL", "FEASIBLE"):
            return True
        open_ = open_ or status != "INFEASIBLE"
    return None if open_ else False
