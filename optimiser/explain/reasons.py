"""An explanation of a whole problem: why it is impossible and what would have to give, or what holds
its best design back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from optimiser.errors import UsageError, did_you_mean
from optimiser.explain.concessions import Concessions, concessions_of
from optimiser.explain.conflicts import MOST, Conflicts, conflicts_of
from optimiser.explain.members import members
from optimiser.explain.possible import Oracle
from optimiser.explain.prices import Prices, prices_of
from optimiser.explain.pulls import Pull, pulls_of
from optimiser.problem.model import Problem
from optimiser.progress import Progress, silent
from optimiser.solve import Solution, solve


@dataclass(frozen=True)
class Explanation:
    """``conflicts`` and ``concessions`` of an impossible problem; ``best``, ``prices`` of its demands and
    the ``pulls`` of its goals where it has an answer."""

    problem: Problem
    grid: float
    possible: bool
    conflicts: Conflicts | None = None
    concessions: Concessions | None = None
    best: Solution | None = None
    prices: Prices | None = None
    pulls: tuple[Pull, ...] = ()


def explained(
    problem: Problem,
    oracle: Oracle,
    *,
    most: int = MOST,
    ranges: bool = False,
    weights: Mapping[str, float] | None = None,
    steps: Mapping[str, float] | None = None,
    progress: Progress = silent,
) -> Explanation:
    """Explain a problem; ``oracle`` is one of the same problem."""
    progress("is there any design at all?")
    there = oracle.witness(members(oracle.problem))
    if there is not None:
        progress("the best design")
        best = solve(problem, grid=oracle.grid, effort=oracle.effort)
        if best.design is None:  # where the search finds none in its time, one is known all the same
            best = solve(problem, grid=oracle.grid, effort=oracle.effort, start=there.design)
        prices = prices_of(problem, best, steps=steps, built=False, effort=oracle.effort, progress=progress)
        pulls = pulls_of(problem, best, effort=oracle.effort, progress=progress)
        return Explanation(problem, oracle.grid, True, best=best, prices=prices, pulls=pulls)
    conflicts = conflicts_of(oracle, most=most, progress=progress)
    everywhere = [set(c.members) for c in conflicts.found]
    candidates = set.intersection(*everywhere) if everywhere and not conflicts.undecided else None
    concessions = concessions_of(
        oracle, problem, candidates, weights=weights, steps=steps, ranges=ranges, progress=progress
    )
    return Explanation(problem, oracle.grid, False, conflicts=conflicts, concessions=concessions)


def read_weights(problem: Problem, texts: Iterable[str]) -> dict[str, float]:
    """Weights of limits (by measure) and ranges (by path) from ``NAME=NUMBER``. Raises UsageError."""
    paths = [m.path for m in members(problem) if m.path]
    known = list(dict.fromkeys([limit.measure for limit in problem.limits] + paths))  # of two ends one name
    found = {}
    for text in texts:
        name, _, number = (part.strip() for part in text.partition("="))
        if name not in known:
            raise UsageError(f"no limit or range is called '{name}': {did_you_mean(name, known)}")
        try:
            found[name] = float(number)
        except ValueError:
            raise UsageError(f"'{text}' should read like {name}=2") from None
        if not 0.0 < found[name] < 1e6:
            raise UsageError(f"{name}: a weight is more than 0 and less than a million")
    return found
