"""How hard each goal pulls at the best design: what the others would gain if it were not there."""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from optimiser.engine import EFFORT
from optimiser.explain.sparing import AGAIN, HARDEST, Sparing, ceiling, hardness_of, known_of
from optimiser.explain.together import together
from optimiser.problem.model import Goal, Problem
from optimiser.progress import Progress, silent
from optimiser.score import Scorer
from optimiser.search import Search
from optimiser.solve import PROMISE, Solution

BUDGET = 1.5
"""Deterministic seconds for all goals together, if that lets each have what the proof of the best design takes. What is
not proven by then is told with its bounds."""


FIRM = 0.1
"""Deterministic seconds for each look at what can be ruled out, where the proof was not had."""


@dataclass(frozen=True)
class Pull:
    """One goal. ``costs``: points of the whole score that the other goals would gain without it, between
    ``least`` and ``most`` (proven); ``drops``: how far its own score (0 to 1) falls then, None where
    the best design has nothing then that it is about."""

    index: int
    goal: Goal
    score: float
    costs: float
    least: float
    most: float
    drops: float | None
    design: Mapping[str, float] | None

    @property
    def proven(self) -> bool:
        """Whether the gain is known as closely as a best score is."""
        return self.most - self.costs <= PROMISE + 1e-9


def pulls_of(
    problem: Problem,
    best: Solution,
    *,
    effort: float = EFFORT,
    executor: Executor | None = None,
    progress: Progress = silent,
) -> tuple[Pull, ...]:
    """Every goal that the best design is scored on, the strongest first."""
    if best.card is None or len(best.card.goals) < 2:
        return ()
    needed = hardness_of(problem, best)  # what is known is made here once, there for all processes
    again = AGAIN * needed.seconds if needed.seconds <= HARDEST else 0.0
    share = min(effort, max(BUDGET / len(best.card.goals), again))
    tasks = [(problem, best, result.index, share) for result in best.card.goals]
    found = together(_pull, tasks, "how each goal pulls", executor=executor, progress=progress)
    return tuple(sorted((p for p in found if p is not None), key=lambda p: -p.costs))


def without_goal(problem: Problem, index: int) -> Problem:
    """The problem with one goal left out."""
    return replace(problem, goals=(*problem.goals[:index], *problem.goals[index + 1 :]))


def _pull(task: tuple[Problem, Solution, int, float]) -> Pull | None:
    problem, best, index, effort = task
    assert best.card is not None and best.design is not None and best.space is not None
    others = without_goal(problem, index)
    hard, trails = known_of(problem, best).hard, hardness_of(problem, best).trails
    search = Sparing(others, best.grid, effort=effort, hard=hard, trails=trails)
    mine = next(r for r in best.card.goals if r.index == index)
    # points of the whole: the others' share of all weights
    share = 1.0 - mine.goal.weight / sum(r.goal.weight for r in best.card.goals)
    now = float(Scorer(others, best.space).card(best.design).score)
    known = _at_most(best, search, mine.goal)
    if share * (known - now) <= PROMISE + 1e-9:  # it earns nothing that the others could have
        return Pull(index, mine.goal, mine.score, 0.0, 0.0, share * (known - now), 0.0, best.design)
    _, bound = search.answer(best.design)
    if search.design is None or search.space is None:
        return None
    if bound >= 100.0 > search.score + PROMISE:
        bound = ceiling(others, best.grid, search.score, FIRM, below=known)
    after = next((r.score for r in Scorer(problem, search.space).card(search.design).goals if r.index == index), None)
    drops = None if after is None else mine.score - after
    gains = [share * (value - now) for value in (search.score, search.score, min(bound, known))]
    return Pull(index, mine.goal, mine.score, *gains, drops, search.design)


def _at_most(best: Solution, search: Search, goal: Goal) -> float:
    """What the others score at most without a goal: with it no design scores more than the best's bound, and what it
    adds there is no less than nothing."""
    sums = [scorer.weight for scorer in search.scorers]
    assert best.bound is not None
    if min(sums, default=0.0) <= 0.0:
        return 100.0
    return min(100.0, max(best.bound * (1.0 + goal.weight / others) for others in sums))
