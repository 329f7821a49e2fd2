"""The greatest or least value of a measure that the limits allow, proven, and the best design there.

A measure is raised as if it were a goal whose band lies just beyond reach: its score then is where
the value lies between a value that can be had and one that can't. The range is narrowed until
neither matters.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from optimiser.compile import Compiled
from optimiser.design import grid_of
from optimiser.engine import EFFORT
from optimiser.errors import UsageError, did_you_mean
from optimiser.measures import catalogue
from optimiser.measures.base import Measure
from optimiser.problem.model import Goal, Limit, Problem
from optimiser.requirements import targets
from optimiser.search import Search
from optimiser.solve import Solution, solve

NARROW = 1e-6
"""Width of the proven range, in SI units, at which a measure's extreme counts as known."""


@dataclass(frozen=True)
class Extreme:
    """The extreme ``value`` of a measure, the ``bound`` that no design passes, and the best design
    that keeps the value. Where the limits cannot hold at all, ``solution`` says so and the rest is None."""

    measure: str
    row: str
    greatest: bool
    value: float | None
    bound: float | None
    solution: Solution


def extreme(
    problem: Problem,
    name: str,
    *,
    greatest: bool,
    row: str = "reference",
    options: tuple[tuple[str, object], ...] = (),
    grid: float | None = None,
    effort: float = EFFORT,
) -> Extreme:
    """Raise (or lower) one measure as far as the limits allow, then take the best score that keeps it.

    ``row``: reference, worst or a number. UsageError where the measure is unknown, or nothing bounds it.
    """
    known = catalogue()
    if name not in known:
        raise UsageError(f"unknown measure '{name}': {did_you_mean(name, known)}")
    if not known[name].per_row:
        row = "all"
    elif row == "all":
        row = "worst"
    problem = _with_rows_for(problem, known[name], row)
    step = grid_of(problem) if grid is None else grid
    start = solve(replace(problem, goals=()), grid=step, effort=effort)
    if start.design is None:
        return Extreme(name, row, greatest, None, None, start)
    sign = 1.0 if greatest else -1.0
    value, bound = _reached(problem, start, name, row, options), _reach(problem, step, name, row, options, greatest)
    if value is None or bound is None:
        raise UsageError(f"{name} has no value for row '{row}' in any design that the limits allow")
    if not math.isfinite(bound):
        raise UsageError(f"{name} has no {'greatest' if greatest else 'least'} value here: nothing bounds it")
    while sign * (bound - value) > NARROW:
        solution = solve(_raised(problem, name, row, options, value, bound, greatest), grid=step, effort=effort)
        if solution.design is None or solution.bound is None:
            break
        width = bound - value
        reached = _reached(problem, solution, name, row, options)
        bound = min(bound * sign, (value + width * solution.bound / 100.0) * sign) * sign
        if reached is None or sign * (reached - value) <= 0.0:
            if abs(bound - value) > 0.5 * abs(width):
                break
            continue
        value = reached
    kept = (
        Limit(name, row, value - NARROW, None, options) if greatest else Limit(name, row, None, value + NARROW, options)
    )
    return Extreme(
        name,
        row,
        greatest,
        value,
        bound,
        solve(replace(problem, limits=(*problem.limits, kept)), grid=step, effort=effort),
    )


def _with_rows_for(problem: Problem, measure: Measure, row: str) -> Problem:
    """The problem without the numbers of rows for which the measure has no value."""
    least = max(measure.first_row, int(row)) if row.isdigit() else measure.first_row
    if row == "reference":
        least = max(least, min(problem.seating.reference_row, max(problem.seating.rows)))
    rows = tuple(n for n in problem.seating.rows if n >= least)
    if not rows or (row == "reference" and problem.seating.reference_row < measure.first_row):
        raise UsageError(f"{measure.name} has no value for row '{row}': it needs a row {least} or a later one")
    return replace(problem, seating=replace(problem.seating, rows=rows))


def _raised(problem, name, row, options, value, bound, greatest) -> Problem:
    fade = abs(bound - value)
    goal = Goal(name, row, bound if greatest else None, None if greatest else bound, fade, 1.0, options)
    return replace(problem, goals=(goal,))


def _reached(problem: Problem, solution: Solution, name: str, row: str, options) -> float | None:
    """The measure's value in a solved design; over several rows the worst for raising it."""
    probe = replace(problem, goals=(Goal(name, row, 0.0, None, 1.0, 1.0, options),))
    found = targets(probe, solution.space)
    values = [float(form.value(solution.design)) for form in found[0].forms] if found else []
    return min((v for v in values if not math.isnan(v)), default=None)


def _reach(problem: Problem, step: float, name: str, row: str, options, greatest: bool) -> float | None:
    """A value that interval arithmetic shows no design to pass."""
    ends = []
    probe = replace(problem, goals=(Goal(name, row, 0.0, None, 1.0, 1.0, options),))
    for scorer in Search(probe, step).scorers:
        box = Compiled(scorer.space, scorer.bounds, []).box
        for target in scorer.targets:
            intervals = [form.interval(box) for form in target.forms]
            ends.append(min(i[1] for i in intervals) if greatest else max(i[0] for i in intervals))
    return (max(ends) if greatest else min(ends)) if ends else None
