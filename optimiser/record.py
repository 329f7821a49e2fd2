"""Designs and solutions as plain records for JSON: SI units, angles in degrees. Stable keys."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from optimiser import __version__
from optimiser.bill import bill, total
from optimiser.cautions import cautions
from optimiser.complete import Completed
from optimiser.design import Space
from optimiser.extremes import Extreme
from optimiser.fares import Fare
from optimiser.measures import catalogue
from optimiser.measures.surround import NOBODY, Stretch, stretches
from optimiser.notes import notes
from optimiser.problem.decisions import kind_of, written_value
from optimiser.problem.model import Limit, Problem
from optimiser.problem.targets import TargetSet
from optimiser.requirements import all_limits
from optimiser.score import GoalResult, LimitResult, Scorecard, measures_of
from optimiser.seats import Seat, seats
from optimiser.solve import Solution

PROGRAM = f"screening-room-optimiser {__version__}"

UNITS = {
    "length": "m",
    "angle": "deg",
    "ratio": "1",
    "time": "s",
    "frequency": "Hz",
    "level": "dB",
    "count": "1",
    "area": "m2",
    "pixels_per_degree": "px/deg",
    "luminance": "cd/m2",
    "mass": "kg",
    "money": "money",
}


def solution_record(
    solution: Solution,
    *,
    load_seconds: float = 0.0,
    extreme: Extreme | None = None,
    fixed: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """All of a solution: status, score, bound, design, limits, goals, measures, cautions. ``fixed``: the decisions that were
    pinned beside the file, as they were written."""
    record: dict[str, Any] = {
        "format": 1,
        "program": PROGRAM,
        "title": solution.problem.title,
        "file": solution.problem.said,
        "status": solution.status,
        "score": _number(solution.score),
        "bound": _number(solution.bound),
        "gap": _number(solution.gap),
        "grid": solution.grid,
        "between_grid": solution.between,
        "seconds": {"load": round(load_seconds, 4), **{k: round(v, 4) for k, v in solution.seconds.items()}},
    }
    if fixed:
        record["fixed"] = dict(fixed)
    if extreme is not None:
        kind = catalogue()[extreme.measure].quantity
        record["extreme"] = {
            "measure": extreme.measure,
            "row": extreme.row,
            "options": dict(extreme.options),
            "of": "greatest" if extreme.greatest else "least",
            "value": outward(kind, extreme.value),
            "bound": outward(kind, extreme.bound),
            "unit": UNITS[kind],
        }
    if solution.design is None:
        limits = all_limits(solution.problem)
        record["conflict"] = [_bare_limit(limits[i], own=i >= len(solution.problem.limits)) for i in solution.conflict]
        return record
    return record | design_record(solution.problem, solution.space, solution.design, solution.card)


def completed_record(
    problem: Problem, completed: Completed, *, name: str, unkept: Iterable[str] = ()
) -> dict[str, Any]:
    """A scored design of one's own: which decisions were given, at which paths of the file it does not keep to what
    that says (``unkept``), and all that a solution has but proof."""
    head = {
        "format": 1,
        "program": PROGRAM,
        "title": problem.title,
        "name": name,
        "status": "scored",
        "score": _number(completed.card.score),
        "given": decisions_record(problem, completed.given),
        "holds": not completed.card.broken,
        "unkept": sorted(set(unkept)),
    }
    return head | design_record(problem, completed.space, completed.design, completed.card)


def failed_record(problem: Problem, why: str, *, name: str) -> dict[str, Any]:
    """A design of one's own that cannot be, and why."""
    return {"format": 1, "title": problem.title, "name": name, "status": "failed", "error": why}


def design_record(problem: Problem, space: Space, design: Mapping[str, float], card: Scorecard) -> dict[str, Any]:
    """The part of a record that describes one design."""
    return {
        "design": decisions_record(problem, design),
        "equipment": _equipment(problem, space, design),
        "limits": [_limit(result) for result in card.limits],
        "goals": [_goal(result) for result in card.goals],
        "measures": _measures(space, design),
        "seats": [_seat(seat) for seat in seats(space, design)],
        "surround": [_stretch(one) for one in stretches(space.layout, design)],
        "notes": notes(problem, space, design),
        "cautions": cautions(problem, space, design),
    }


def _equipment(problem: Problem, space: Space, design: Mapping[str, float]) -> dict[str, Any] | None:
    """What is bought, in the file's currency; None where the file has neither lists nor prices."""
    positions = bill(problem, space, design)
    if not positions:
        return None
    things = [
        {"of": p.of, "name": p.name, "price": _number(p.price), "count": p.count, "amount": _number(p.amount)}
        for p in positions
    ]
    return {"currency": problem.currency, "things": things, "total": _number(total(positions))}


def decisions_record(problem: Problem, design: Mapping[str, float]) -> dict[str, Any]:
    """Decisions by name, counts as whole numbers."""
    return {
        name: _decision(problem, name, value)
        for name, value in sorted(design.items(), key=lambda item: _order(item[0]))
    }


def _decision(problem: Problem, name: str, value: float) -> Any:
    if kind_of(name) == "word":
        return written_value(problem, name, value)
    return round(value) if kind_of(name) == "count" else float(f"{value:.10g}")


def outward(kind: str, value: float | None) -> float | None:
    """A value as it leaves the program: degrees for angles, None for what has no number."""
    if value is None:
        return None
    return _number(math.degrees(value) if kind == "angle" else value)


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(f"{value:.10g}") + 0.0  # no negative zero


def _order(name: str) -> tuple[int, str]:
    parts = ("type", "width", "diagonal", "columns", "tile_rows", "aspect", "bezel", "bottom", "centre")
    order = (
        *(f"screen.{part}" for part in parts),
        "baffle.depth",
        "baffle.width",
        "baffle.left",
        "baffle.right",
        "rows",
    )
    return (order.index(name) if name in order else len(order), name)


def _limit(result: LimitResult) -> dict[str, Any]:
    kind = result.quantity
    return {
        "measure": result.limit.measure,
        "row": result.row,
        "seat": result.seat,
        "options": dict(result.limit.options),
        "value": outward(kind, result.value),
        "unit": UNITS[kind],
        "at_least": outward(kind, result.limit.at_least),
        "at_most": outward(kind, result.limit.at_most),
        "slack": outward(kind, result.slack),
        "holds": result.holds,
        "from": "room" if result.own else asked_by(result.limit),
        "source": result.limit.source,
    }


def asked_by(limit: Limit) -> str:
    """Who asks for a limit that is not the room's own: the file itself, or the codes that it names."""
    return "file" if limit.source is None else "codes"


def _bare_limit(limit: Limit, *, own: bool) -> dict[str, Any]:
    kind = catalogue()[limit.measure].quantity
    return {
        "measure": limit.measure,
        "row": limit.row,
        "options": dict(limit.options),
        "unit": UNITS[kind],
        "at_least": outward(kind, limit.at_least),
        "at_most": outward(kind, limit.at_most),
        "from": "room" if own else asked_by(limit),
        "source": limit.source,
    }


def _goal(result: GoalResult) -> dict[str, Any]:
    kind, goal = result.quantity, result.goal
    return {
        "measure": goal.measure,
        "row": goal.row,
        "options": dict(goal.options),
        "rows": list(result.rows),
        "seats": list(result.seats),
        "value": _one_or_many([outward(kind, v) for v in result.values]),
        "unit": UNITS[kind],
        "band": [outward(kind, goal.low), outward(kind, goal.high)],
        "fade": outward(kind, goal.fade),
        "weight": goal.weight,
        "score": _number(result.score),
        "scores": _one_or_many([_number(s) for s in result.scores]),
        "source": goal.source,
        "trust": goal.trust,
        "targets": goal.targets,
    }


def _seat(seat: Seat) -> dict[str, Any]:
    return {
        "row": seat.row,
        "seat": seat.number,
        "kind": seat.kind,
        "x": _number(seat.x),
        "y": _number(seat.y),
        "distance": _number(seat.distance),
        "horizontal_angle": outward("angle", seat.horizontal_angle),
        "off_axis_angle": outward("angle", seat.off_axis),
        "loudspeaker_angles": [outward("angle", angle) for angle in seat.loudspeakers],
        "sightline_clearance": _number(seat.sightline),
        "bass_level": _number(seat.bass),
        "bass_dip": _number(seat.bass_dip),
    }


def _stretch(stretch: Stretch) -> dict[str, Any]:
    """Where a loudspeaker may be; one without a place has no surface."""
    if stretch.seats == NOBODY:
        return {"loudspeaker": stretch.speaker, "seats": NOBODY}
    return {
        "loudspeaker": stretch.speaker,
        "seats": stretch.seats,
        "surface": stretch.surface,
        "along": stretch.along,
        "at": _number(stretch.at),
        "from": _number(stretch.start),
        "to": _number(stretch.end),
    }


def fare_record(fare: Fare) -> dict[str, Any]:
    """A design under one set of published bands."""
    return {
        "name": fare.targets.name,
        "score": _number(fare.score),
        "goals": [_goal(result) for result in fare.goals],
        "left_out": [{"measure": measure, "needs": key} for measure, key in fare.left_out],
    }


def target_set_record(found: TargetSet) -> dict[str, Any]:
    """A set of published bands."""
    return {
        "name": found.name,
        "title": found.title,
        "about": found.about,
        "goals": [
            {
                "measure": goal.measure,
                "row": goal.row,
                "options": dict(goal.options),
                "unit": UNITS[(kind := catalogue()[goal.measure].quantity)],
                "band": [outward(kind, goal.low), outward(kind, goal.high)],
                "fade": outward(kind, goal.fade),
                "weight": goal.weight,
                "source": goal.source,
                "trust": goal.trust,
            }
            for goal in found.goals
        ],
    }


def _one_or_many(values: Sequence[Any]) -> Any:
    return values[0] if len(values) == 1 else list(values)


def _measures(space: Space, design: Mapping[str, float]) -> dict[str, Any]:
    known = catalogue()
    found = {}
    for name, value in measures_of(space, design).items():
        kind = known[name.partition("[")[0]].quantity
        found[name] = [outward(kind, v) for v in value] if isinstance(value, list) else outward(kind, value)
    return found
