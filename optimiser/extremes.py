"""The greatest or least value of a measure that the limits allow, proven, and the best design there.

A measure is raised as if it were a goal whose band lies just beyond reach: its score then is where
the value lies between a value that can be had and one that can't. The range is narrowed until
neither matters.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from optimiser.compile import Compiled
from optimiser.design import grid_of
from optimiser.engine import EFFORT
from optimiser.errors import OptimiserError, UsageError
from optimiser.forms import Unless
from optimiser.measures import catalogue
from optimiser.measures.base import Measure
from optimiser.measures.brackets import read_brackets, split_asked
from optimiser.problem.decisions import nearest_measure, with_rows_for
from optimiser.problem.model import Goal, Limit, Problem
from optimiser.requirements import WORST_SEAT, having, targets
from optimiser.search import Search
from optimiser.solve import Solution, solve

NARROW = 1e-6
"""Width of the proven range, in SI units, at which a measure's extreme counts as known."""

BEYOND = 1e6
"""A value in SI units that only a measure without any bound passes; a cost, which has bounds, may."""


@dataclass(frozen=True)
class Extreme:
    """The extreme ``value`` of a measure with these ``options``, the ``bound`` that no design passes, and the
    best design that keeps the value. Where the limits cannot hold at all, ``solution`` says so and the rest
    is None."""

    measure: str
    row: str
    options: tuple[tuple[str, object], ...]
    greatest: bool
    value: float | None
    bound: float | None
    solution: Solution


def extreme(
    problem: Problem,
    name: str,
    *,
    greatest: bool,
    row: str | None = None,
    options: tuple[tuple[str, object], ...] = (),
    grid: float | None = None,
    effort: float = EFFORT,
) -> Extreme:
    """Raise (or lower) one measure as far as the limits allow, then take the best score that keeps it.

    ``row``: reference (also where none is given), all or worst (both: the row where it is least, or for the
    least value greatest), worst seat, or a number; only for measures that every row has. ``options`` that
    are left out hold as the measure says. UsageError where the measure or the row is unknown, or nothing
    bounds it.
    """
    measure = _measure(name)
    row = _row(measure, row)
    options = tuple((key, dict(options).get(key, values[0])) for key, values in measure.options.items())
    whole, problem = problem, _with_it(problem, measure, row)
    step = grid_of(problem) if grid is None else grid
    start = solve(replace(problem, goals=()), grid=step, effort=effort)
    if start.design is None:
        fewer = (problem.seating.rows, problem.screens) != (
            whole.seating.rows,
            whole.screens,
        ) or measure.absent is not None
        asked_more = fewer and start.status == "impossible"
        if asked_more and solve(replace(whole, goals=()), grid=step, effort=effort).design is not None:
            there = f"{name} for row '{row}'" if measure.per_row else name
            raise UsageError(f"no design that has {there} holds all limits; there are others that do")
        return Extreme(name, row, options, greatest, None, None, start)
    sign = 1.0 if greatest else -1.0
    value, there = _reached(problem, start, name, row, options, greatest), start.design
    bound = _reach(problem, step, name, row, options, greatest)
    if value is None or bound is None:
        raise UsageError(f"{name} has no value for row '{row}' in any design that the limits allow")
    endless = UsageError(f"{name} has no {'greatest' if greatest else 'least'} value here: nothing bounds it")
    if math.isinf(bound):
        beyond = _kept(name, row, options, sign * BEYOND, greatest)
        far = solve(replace(problem, goals=(), limits=(*problem.limits, beyond)), grid=step, effort=effort)
        if far.status != "impossible":
            raise endless
        bound = sign * BEYOND
    if math.isinf(value):  # as how far the only door is, where there is none: is there any design with a number?
        within = _kept(name, row, options, -sign * BEYOND, greatest)
        near = solve(replace(problem, goals=(), limits=(*problem.limits, within)), grid=step, effort=effort)
        value = None if near.design is None else _reached(problem, near, name, row, options, greatest)
        if near.status == "unknown":
            raise OptimiserError(f"how far {name} goes could not be settled")
        if near.design is None or value is None or math.isinf(value):
            raise endless
        there = near.design
    while sign * (bound - value) > NARROW:
        solution = solve(_raised(problem, name, row, options, value, bound, greatest), grid=step, effort=effort)
        if solution.design is None or solution.bound is None:
            break
        width = bound - value
        reached = _reached(problem, solution, name, row, options, greatest)
        bound = min(bound * sign, (value + width * solution.bound / 100.0) * sign) * sign
        if reached is None or sign * (reached - value) <= 0.0:
            if abs(bound - value) > 0.5 * abs(width):
                break
            continue
        value, there = reached, solution.design
    bound = sign * max(sign * bound, sign * value)
    kept = _kept(name, row, options, value - sign * NARROW, greatest)
    # a design that has the value is known: so near the edge the solver may not find one again
    best = solve(replace(problem, limits=(*problem.limits, kept)), grid=step, effort=effort, start=there)
    return Extreme(name, row, options, greatest, value, bound, best)


def asked_for(text: str, row: str | None = None) -> dict[str, Any]:
    """What extreme() is asked for by a text such as ``mode_level[order=2]`` and a ``row`` that is given apart. UsageError
    where that makes no sense."""
    name, inside = split_asked(text)
    said, options = read_brackets(text, inside, _measure(name))
    if said is not None and row is not None:
        raise UsageError(f"'{text}': the row is given twice, here and by --row")
    return {"name": name, "row": row if said is None else said, "options": tuple(options.items())}


def asked_words(name: str, options: tuple[tuple[str, object], ...]) -> str:
    """A measure and its options as asked_for() reads them: the name alone, where these are what holds if none is said."""
    usual = tuple((key, values[0]) for key, values in catalogue()[name].options.items())
    inside = ",".join(f"{key}={value}" for key, value in options)
    return name if options == usual else f"{name}[{inside}]"


def _measure(name: str) -> Measure:
    known = catalogue()
    if name not in known:
        raise UsageError(f"unknown measure '{name}': {nearest_measure(name, known)}")
    return known[name]


def _row(measure: Measure, row: str | None) -> str:
    """The row that is meant, as limits and goals write it."""
    if not measure.per_row:
        if row is not None:
            raise UsageError(f"{measure.name} is one value for the whole design: leave the row out")
        return "all"
    if row is None:
        return "reference"
    if row == WORST_SEAT and not measure.per_seat:
        raise UsageError(f"{measure.name} has one value for a whole row: write worst instead of worst seat")
    if row in ("reference", WORST_SEAT):
        return row
    if row in ("all", "worst"):
        return "worst"
    if not row.isascii() or not row.isdigit() or int(row[:6]) < 1:
        raise UsageError(f"there is no row '{row}': write reference, worst, worst seat or a number")
    return str(int(row[:6]))


def _with_it(problem: Problem, measure: Measure, row: str) -> Problem:
    """The problem without the kinds of screen, the numbers of rows and the level rows for which the measure has no value."""
    screens = [s for s in problem.screens if not measure.screens or s.type in measure.screens]
    if not screens:
        raise UsageError(f"{measure.name} is only for {' or '.join(measure.screens)} screens, and the file has none")
    least = max(measure.first_row, int(row)) if row.isdigit() else measure.first_row
    seating = with_rows_for(problem.seating, least)
    early = row == "reference" and problem.seating.reference_row < measure.first_row
    if not seating.rows or early or (row.isdigit() and int(row) < measure.first_row):
        raise UsageError(f"{measure.name} has no value for row '{row}': it needs a row {least} or a later one")
    problem = replace(problem, seating=seating, screen=screens[0], other_screens=tuple(screens[1:]))
    return having(problem, measure, row)


def _raised(problem, name, row, options, value, bound, greatest) -> Problem:
    fade = abs(bound - value)
    goal = Goal(name, row, bound if greatest else None, None if greatest else bound, fade, 1.0, options)
    return replace(problem, goals=(goal,))


def _kept(name, row, options, value, greatest) -> Limit:
    return Limit(name, row, value if greatest else None, None if greatest else value, options)


def _probe(problem: Problem, name, row, options) -> Problem:
    """The problem with nothing but the measure as its goal, for the forms that are asked about."""
    return replace(problem, goals=(Goal(name, row, 0.0, None, 1.0, 1.0, options),))


def _reached(problem: Problem, solution: Solution, name, row, options, greatest: bool) -> float | None:
    """The measure's value in a solved design; of several rows or seats that of the worst, which is the least
    where it is raised, and the greatest where it is lowered."""
    found = targets(_probe(problem, name, row, options), solution.space)
    with np.errstate(all="ignore"):
        values = [float(form.value(solution.design)) for form in found[0].forms] if found else []
    there = [v for v in values if not math.isnan(v)]
    return (min(there) if greatest else max(there)) if there else None


def _reach(problem: Problem, step: float, name, row, options, greatest: bool) -> float | None:
    """A value that interval arithmetic shows no design to pass."""
    ends = []
    for scorer in Search(_probe(problem, name, row, options), step).scorers:
        box = Compiled(scorer.space, scorer.bounds, []).box
        for target in scorer.targets:
            high = [form.interval(box)[1] for form in target.forms]
            low = [form.interval(box)[0] for form in target.forms]
            # seats that may be missing hold the others back no more: without them the farthest of all counts
            always = [k for k, form in enumerate(target.forms) if not isinstance(form, Unless)]
            if greatest:
                ends.append(min(high[k] for k in always) if always else max(high))
            else:
                ends.append(max(low[k] for k in always) if always else min(low))
    return (max(ends) if greatest else min(ends)) if ends else None
