"""Differential evolution (scipy) on the package's own scorer: a heuristic to measure the solver against."""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np
from scipy.optimize import differential_evolution

from optimiser.design import Held, Listed, spaces
from optimiser.problem.model import Problem
from optimiser.score import Scorer

PENALTY = 100.0
"""Points taken off for each metre (or other SI unit) by which limits are missed, and once for missing any."""

POPULATION = 15
"""Designs a decision and generation: scipy's own default."""


@dataclass(frozen=True)
class Race:
    """How far the search came: the best score of a design that holds all limits, and the seconds of
    processor time."""

    score: float
    seconds: float
    arrived: bool


def race(problem: Problem, goal: float, *, seed: int, most: float) -> Race:
    """Search until a design that holds all limits scores ``goal`` points, at most ``most`` seconds.

    Whole generations are scored at once. Every decision is a share of its grid or list, and so is the choice
    between numbers of rows, kinds of screen and aspect ratios.
    """
    best = -np.inf
    start = time.process_time()
    scorers = [Scorer(problem, space) for space in spaces(problem)]
    names = sorted({name for s in scorers for name, domain in s.space.domains.items() if not isinstance(domain, Held)})

    def points(shares: np.ndarray) -> np.ndarray:
        nonlocal best
        found = np.empty(shares.shape[1])
        which = np.minimum((shares[0] * len(scorers)).astype(int), len(scorers) - 1)
        for number, scorer in enumerate(scorers):
            mine = which == number
            if not mine.any():
                continue
            designs = _designs(scorer, dict(zip(names, shares[1:, mine])))
            count = int(mine.sum())
            short, scores = (np.broadcast_to(v, count) for v in (scorer.shortfall(designs), scorer.scores(designs)))
            if np.any(short == 0.0):
                best = max(best, float(np.max(scores[short == 0.0])))
            found[mine] = PENALTY * short - scores + np.where(short > 0.0, PENALTY, 0.0)
        return found

    def enough(intermediate_result) -> bool:
        return best >= goal or time.process_time() - start > most

    differential_evolution(
        points,
        [(0.0, 1.0)] * (1 + len(names)),
        vectorized=True,
        updating="deferred",
        popsize=POPULATION,
        maxiter=10**6,
        tol=0.0,
        polish=False,
        rng=seed,
        callback=enough,
    )
    return Race(best, time.process_time() - start, best >= goal)


def _designs(scorer: Scorer, shares: dict[str, np.ndarray]) -> dict[str, object]:
    """Designs of one space from shares of the way through each decision's values."""
    designs: dict[str, object] = {**scorer.space.settled}
    for name, domain in scorer.space.domains.items():
        if isinstance(domain, Held):
            designs[name] = domain.value
        elif isinstance(domain, Listed):
            at = np.minimum((shares[name] * len(domain.values)).astype(int), len(domain.values) - 1)
            designs[name] = np.asarray(domain.values)[at]
        else:
            count = domain.high - domain.low + 1
            designs[name] = domain.step * (domain.low + np.minimum(np.floor(shares[name] * count), count - 1))
    return designs
