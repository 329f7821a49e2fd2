"""How the answer leans on weights, as a plain record for JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from optimiser.explain.pulls import Pull
from optimiser.explain.records import pull_record
from optimiser.explain.taste import End, Leaning
from optimiser.problem.model import Problem
from optimiser.record import decisions_record
from optimiser.solve import Solution


def taste_record(
    problem: Problem, best: Solution, loss: float, found: Sequence[Leaning], pulls: Sequence[Pull]
) -> dict[str, Any]:
    """Each goal's range of weights, and how hard each pulls."""
    return {
        "format": 1,
        "title": problem.title,
        "score": best.score,
        "bound": best.bound,
        "within": loss,
        "weights": [
            {
                "measure": one.goal.measure,
                "row": one.goal.row,
                "options": dict(one.goal.options),
                "weight": one.goal.weight,
                "score": one.score,
                "low": _end(problem, one.low),
                "high": _end(problem, one.high),
            }
            for one in found
        ],
        "pulls": [pull_record(pull) for pull in pulls],
    }


def _end(problem: Problem, end: End) -> dict[str, Any]:
    return {
        "proven_to": end.weight,
        "another_is_better_beyond": end.beyond,
        "that_design": None if end.design is None else decisions_record(problem, end.design),
        "settled": end.settled,
    }
