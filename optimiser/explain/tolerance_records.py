"""Tolerances as plain records for JSON: SI units, angles in degrees."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from optimiser.explain.records import UNIT_OF
from optimiser.explain.robust import Robust
from optimiser.explain.tolerances import Band, Estimate, Tolerated
from optimiser.problem.model import People, Spread
from optimiser.record import decisions_record, outward, solution_record


def tolerated_record(found: Tolerated) -> dict[str, Any]:
    """A design under its tolerances."""
    return {
        "format": 1,
        "title": found.problem.title,
        "design": decisions_record(found.problem, found.design),
        "varies": [spread_record(spread) for spread in found.spreads],
        "left_out": [spread.path for spread in found.left_out],
        "people": people_record(found.people),
        "cases": found.count,
        "case_by_case": found.slow,
        "all_limits_hold": _estimate(found.all_hold),
        "score": {"as_drawn": found.card.score, "mean": _estimate(found.score), **_band("number", found.scores)},
        "limits": [
            {
                "measure": o.limit.measure,
                "options": dict(o.limit.options),
                "row": o.row,
                "seat": o.seat,
                "from": "room" if o.own else "file",
                "unit": UNIT_OF[o.quantity],
                "as_drawn": outward(o.quantity, o.drawn),
                **_band(o.quantity, o.values),
                "holds": _estimate(o.chance),
                "moves": o.moves,
            }
            for o in found.limits
        ],
        "goals": [
            {
                "measure": o.goal.measure,
                "options": dict(o.goal.options),
                "row": o.goal.row,
                "unit": UNIT_OF[o.quantity],
                "values": [{"row": row, **_band(o.quantity, band)} for row, band in zip(o.rows, o.values, strict=True)],
                "score": {"as_drawn": o.drawn, "mean": _estimate(o.mean), **_band("number", o.scores)},
                "moves": o.moves,
            }
            for o in found.goals
        ],
    }


def robust_record(
    found: Robust, *, load_seconds: float = 0.0, fixed: Mapping[str, str] | None = None
) -> dict[str, Any]:
    """A solution that holds within tolerances: all that a solution has, and what was asked of it."""
    problem = found.solution.problem
    return solution_record(found.solution, load_seconds=load_seconds, fixed=fixed) | {
        "robust": {
            "varies": [spread_record(spread) for spread in problem.tolerances],
            "people": people_record(problem.people),
            "corners": len(found.corners),
            "reach": found.reach,
            "share": found.share,
            "score_without_tolerances": found.plain.score,
            "bound_without_tolerances": found.plain.bound,
            "cases": None if found.cases is None else found.cases.count,
            "all_limits_hold": None if found.cases is None else _estimate(found.cases.all_hold),
        }
    }


def spread_record(spread: Spread) -> dict[str, Any]:
    """One thing that varies."""
    return {
        "input": spread.path,
        "unit": UNIT_OF[spread.quantity],
        "within": None if spread.within is None else outward(spread.quantity, spread.within),
        "sigma": None if spread.sigma is None else outward(spread.quantity, spread.sigma),
    }


def people_record(people: People | None) -> dict[str, Any] | None:
    """Whose eyes and heads."""
    return None if people is None else {"table": people.table, "women": people.women}


def _estimate(found: Estimate) -> dict[str, float]:
    return {"value": found.value, "error": found.error}


def _band(kind: str, band: Band) -> dict[str, Any]:
    return {"low": outward(kind, band.low), "middle": outward(kind, band.middle), "high": outward(kind, band.high)}
