"""Of the designs at one point of a front, the one that scores best.

A front's objectives leave some decisions free. This last question asks for the score among designs that
are at least as good in every objective; the point's own proof says that none of them is better in one by
more than its blur.
"""

from __future__ import annotations

from dataclasses import replace

from optimiser.engine import load_solver
from optimiser.errors import UsageError
from optimiser.score import Scorer
from optimiser.search import Search
from optimiser.solve import PROMISE
from optimiser.study.aims import Blend
from optimiser.study.oracle import EVEN, Oracle
from optimiser.study.zones import Point

BRIEFLY = 2.0
"""Deterministic seconds for one model: most are settled in a tenth of that."""


def best_scoring(oracle: Oracle, point: Point) -> Point:
    """The point with the best-scoring design that was found at its heights; ``scored``: what no design
    there scores more than, infinite where that was not settled."""
    load_solver()
    scorers = [Scorer.of(g.space, g.bounded(point.heights), g.scorer.targets) for g in oracle.grounds]
    search = Search(oracle.problem, oracle.step, effort=BRIEFLY, scorers=scorers)
    if not search.begin(point.design):
        return point
    bound = search.prove(search.find())
    ground = next(g for g in oracle.grounds if g.space is search.space)
    heights = ground.heights(search.design)
    worse = any(h < own - EVEN * max(1.0, abs(own)) for h, own in zip(heights, point.heights, strict=True))
    if not worse:  # the solver may let through what falls short by its rounding
        point = replace(point, heights=heights, design=dict(search.design), score=search.score)
    return replace(point, scored=bound if bound <= point.score + PROMISE else float("inf"))


def refuse_unless_sharp(oracle: Oracle) -> None:
    """Raise UsageError where an objective is a mean of scores: no limit can hold designs to its value."""
    blends = [
        objective.text
        for k, objective in enumerate(oracle.objectives)
        if any(isinstance(ground.aims[k], Blend) for ground in oracle.grounds)
    ]
    if blends:
        raise UsageError(f"the best-scoring designs can be asked for between measures, not beside {blends[0]}")
