"""Which of several demands could be loosened, each by itself, without any gain: asked of the solver at once.

In one model every demand may be loosened, but no design may make use of more than one of them. That no
design there is better shows it for each of them alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from optimiser.compile import Compiled
from optimiser.compile.tables import TooLarge
from optimiser.design import Space, settlements, spaces
from optimiser.engine import PIECES, run
from optimiser.explain.demands import demand
from optimiser.explain.members import Member
from optimiser.problem.model import Problem
from optimiser.score import Scorer, score_among
from optimiser.search import MOST_POINTS
from optimiser.solve import PROMISE, Solution

FEWEST = 4
"""Demands that are still worth asking about together where that was not settled for twice as many."""

FIRST, SECOND = 0.1, 0.4
"""Deterministic seconds for each question, and for it with more said about products; after that, halves are
asked about."""


@dataclass(frozen=True)
class Loose:
    """One demand, loosened: ``make`` does it to a problem, and to one in which others are already."""

    member: Member
    make: Callable[[Problem], Problem]


def earning(
    problem: Problem, best: Solution, ways: Sequence[Loose], effort: float, hard: bool = False
) -> tuple[set[int], dict[int, Mapping[str, float]], float]:
    """The ways to loosen the problem, by number, that admit no better design (proven); and those that do,
    each with one; and the effort that it took. Of others nothing is known. ``effort``: the solver's at most;
    ``hard``: whether a proof is known to take long."""
    assert best.space is not None and best.score is not None
    if best.score >= 100.0 - PROMISE:
        return set(range(len(ways))), {}, 0.0  # nothing scores more than 100
    together = problem
    for way in ways:
        together = way.make(together)
    idle, better, left, settled = set(range(len(ways))), {}, effort, best.space.settled
    known, made = settlements(problem, grid=best.grid), {}
    # where the best is, most of those come to light that do bring something, and burden no other question then
    for space in sorted(spaces(together, grid=best.grid), key=lambda s: s.settled != settled):
        concerned = sorted(idle)
        if space.settled not in known:  # only what makes this space has a say in it
            made = made or {at: settlements(ways[at].make(problem), grid=best.grid) for at in range(len(ways))}
            concerned = [at for at in concerned if space.settled in made[at]]
        scorer, waiting, open_ = Scorer(together, space), [concerned], set(concerned)
        while waiting:
            several = waiting.pop()
            if not several or left <= 0.0:
                continue
            status, design, took = _ask(problem, best, scorer, ways, several, left, hard)
            left -= took
            if status == "INFEASIBLE":
                open_.difference_update(several)
                continue
            using = [] if design is None else [at for at in several if _uses(problem, space, ways[at].member, design)]
            earn = [at for at in using if design is not None and _earns(ways[at].make(problem), best, design)]
            if earn and design is not None:
                better.update((at, design) for at in earn)
                members = {ways[at].member for at in earn}
                waiting.append([at for at in several if ways[at].member not in members])
            elif len(several) >= 2 * FEWEST:
                waiting += [several[len(several) // 2 :], several[: len(several) // 2]]
        idle -= open_
    return idle, better, effort - left


def _ask(
    problem: Problem,
    best: Solution,
    scorer: Scorer,
    ways: Sequence[Loose],
    several: Sequence[int],
    effort: float,
    hard: bool,
) -> tuple[str, Mapping[str, float] | None, float]:
    """Whether some design that makes use of one of several ways at most is better than the best: the
    solver's status, the design, and the effort that it took."""
    assert best.score is not None
    free, status, design, took = {ways[at].member for at in several}, "UNKNOWN", None, 0.0
    for pieces, share in ((PIECES, SECOND),) if hard else ((1, FIRST), (PIECES, SECOND)):
        if status != "UNKNOWN" or took >= effort:
            break
        target = min(100.0, best.score + PROMISE)
        try:
            compiled = Compiled(
                scorer.space, scorer.bounds, scorer.targets, least=target, pieces=pieces, most_points=MOST_POINTS
            )
        except TooLarge:
            break
        used = []
        for member in dict.fromkeys(way.member for way in ways):
            wish = demand(problem, member, scorer.space)
            if wish is None:
                continue
            as_asked = wish.form.at_least(wish.wanted) if wish.greatest else wish.form.at_most(wish.wanted)
            if member in free:
                used.append(compiled.model.new_bool_var(""))
                compiled.post(as_asked, [used[-1].negated()])
            else:
                compiled.post(as_asked, [])
        if used:
            compiled.model.add_at_most_one(used)
        status, solver = run(compiled, min(share, effort - took))
        took += solver.response_proto.deterministic_time
        if status in ("OPTIMAL", "FEASIBLE"):
            design = scorer.space.complete(compiled.read(solver))
    return status, design, took


def _uses(problem: Problem, space: Space, member: Member, design: Mapping[str, float]) -> bool:
    """Whether a design of a space does without a demand; True too where the space has nothing that it is about."""
    wish = demand(problem, member, space)
    return wish is None or wish.missing(float(wish.form.value(design))) > 1e-9


def _earns(problem: Problem, best: Solution, design: Mapping[str, float]) -> bool:
    """Whether a design is a problem's own, keeps its limits and is better than the best."""
    assert best.score is not None
    score = score_among((Scorer(problem, space) for space in spaces(problem, grid=best.grid, of=design)), design)
    return score is not None and score > best.score + 1e-6
