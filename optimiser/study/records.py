"""What a study keeps of one problem: its best design in short, or why there is none."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from optimiser.problem.decisions import kind_of, read_value
from optimiser.problem.model import Goal, Limit, Problem
from optimiser.record import UNITS, decisions_record, outward
from optimiser.requirements import all_limits
from optimiser.score import GoalResult, LimitResult
from optimiser.solve import Solution

Record = dict[str, Any]


def solved_record(problem: Problem, solution: Solution) -> Record:
    """The best design of a problem with score, bound, binding limits and goals; or the limits that
    exclude each other."""
    if solution.design is None:
        limits = all_limits(problem)
        return {
            "status": solution.status,
            "feasible": False,
            "conflict": [limit_record(limits[i], own=i >= len(problem.limits)) for i in solution.conflict],
        }
    assert solution.card is not None and solution.score is not None and solution.bound is not None
    return {
        "status": solution.status,
        "feasible": True,
        "score": _short(solution.score),
        "bound": _short(solution.bound),
        "proven": solution.status == "optimal",
        "design": decisions_record(problem, solution.design),
        "binding": [bound_record(r) for r in solution.card.limits if r.binds and not r.settled],
        "goals": [goal_record(g) for g in solution.card.goals],
    }


def failed_record(words: str) -> Record:
    """A problem that could not be put to the solver, or that it broke down on."""
    return {"status": "failed", "feasible": False, "error": words}


def limit_record(limit: Limit, *, own: bool) -> Record:
    """A limit by name."""
    return {"limit": label_of(limit), "from": "room" if own else "file"}


def bound_record(result: LimitResult) -> Record:
    """A limit that binds, with the row that it binds on and the end that it binds at."""
    limit = result.limit
    ends = {end: getattr(limit, end) for end in ("at_least", "at_most") if getattr(limit, end) is not None}
    end = min(ends, key=lambda name: abs(result.value - ends[name]))
    return {
        "limit": label_of(limit, row=result.row),
        "end": end,
        "value": outward(result.quantity, result.value),
        "unit": UNITS[result.quantity],
        "from": "room" if result.own else "file",
    }


def goal_record(result: GoalResult) -> Record:
    """A goal's score from 0 to 1, and its values."""
    values = [outward(result.quantity, v) for v in result.values]
    return {
        "goal": label_of(result.goal),
        "score": _short(result.score),
        "value": values[0] if len(values) == 1 else values,
        "unit": UNITS[result.quantity],
    }


def label_of(item: Limit | Goal, *, row: int | None = None) -> str:
    """A limit or goal as a study names it: ``sightline_clearance[row=2]``."""
    where = str(row) if row is not None else item.row
    inside = [f"row={where}"] if where != "all" else []
    inside += [f"{key}={value}" for key, value in item.options]
    return item.measure + (f"[{','.join(inside)}]" if inside else "")


def design_of(problem: Problem, record: Mapping[str, Any], grid: float) -> dict[str, float] | None:
    """The design of a record, its lengths back on the grid from which records round them."""
    if not record.get("design"):
        return None
    found = {}
    for name, written in record["design"].items():
        value = read_value(problem, name, written) if isinstance(written, str) else float(written)
        near = round(value / grid) * grid
        found[name] = near if kind_of(name) == "length" and abs(value - near) < 1e-8 else value
    return found


def _short(value: float) -> float:
    return float(f"{value:.10g}")
