"""The best design whose limits hold however it is built, within stated tolerances.

A corner of the tolerances has every spread at one of its two ends, and in each row a small or a
large person. All corners' limits are put to the solver beside those of the design as drawn; what it
finds is scored again corner by corner, each from a problem moved there as a whole.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from optimiser.design import Space, grid_of
from optimiser.engine import EFFORT
from optimiser.errors import InternalError, UsageError
from optimiser.explain.cases import Offsets, eye, head, senseless, shifted
from optimiser.explain.people import extremes
from optimiser.explain.tolerances import Tolerated, in_force, tolerated
from optimiser.forms import All, AnyOf, Condition, Cut, SumCut, TableCut
from optimiser.linear import Expression, Linear
from optimiser.problem.model import Limit, Problem, Spread
from optimiser.progress import Progress, silent
from optimiser.requirements import Bound, all_limits, bounds
from optimiser.score import Scorer, holds, slack_of
from optimiser.search import Search
from optimiser.solve import Solution, settle, solve

SIGMAS = 2.0
"""Where a spread is normal, its ends are taken so many standard deviations out."""

MOST = 8
"""Most spreads and rows of people at once: they have 256 corners."""

LARGEST = 0.14
"""Metres of a spread of a length beyond which rows that must be apart could meet."""

SHRINKS = 7
"""How often the corners are drawn in by half of what is left, where a share of cases is enough."""


@dataclass(frozen=True)
class Corner:
    """One corner: which offsets, and of all limits there, the one nearest to breaking and by how much it
    holds (SI of its measure)."""

    offsets: Mapping[str, float]
    holds: bool
    tightest: Limit | None
    row: int | None
    slack: float


@dataclass(frozen=True)
class Robust:
    """A design whose limits hold as drawn and at every corner, each checked by itself. ``solution`` has its
    score as drawn, and the bound on the score of every other such design on the grid. ``plain`` is the best
    without tolerances. ``reach`` is how far out the corners are, as a share of the tolerances: less than 1
    where only a share of cases was asked for; ``cases`` is what was found in sampled cases."""

    solution: Solution
    plain: Solution
    spreads: tuple[Spread, ...]
    corners: tuple[Corner, ...]
    reach: float
    share: float | None = None
    cases: Tolerated | None = None

    @property
    def conflicting(self) -> tuple[Limit, ...]:
        """Where no design holds at every corner: limits that cannot hold together there."""
        limits = all_limits(self.solution.problem)
        return tuple(limits[index] for index in self.solution.conflict)


def ends_of(spread: Spread) -> float:
    """How far to either side a spread's corners are."""
    return spread.within if spread.within is not None else SIGMAS * spread.sigma  # type: ignore[operator]


def corners(problem: Problem, space: Space, reach: float = 1.0) -> Iterator[dict[str, float]]:
    """Every corner of the tolerances that concern a space, drawn in to a share ``reach`` of them."""
    spreads, _ = in_force(problem, space)
    choices: list[list[dict[str, float]]] = [
        [{spread.path: -reach * ends_of(spread)}, {spread.path: reach * ends_of(spread)}] for spread in spreads
    ]
    if problem.people is not None:
        for row in range(1, space.rows + 1):
            choices.append([{eye(row): reach * up, head(row): reach * over} for up, over in extremes(problem.people)])
    for picked in itertools.product(*choices):
        yield {name: value for one in picked for name, value in one.items()}


def robust(
    problem: Problem,
    *,
    share: float | None = None,
    samples: int | None = None,
    grid: float | None = None,
    effort: float = EFFORT,
    progress: Progress = silent,
) -> Robust:
    """The best design whose limits hold at every corner of the problem's tolerances; with ``share``, at corners
    drawn in as far as that share of the sampled cases allows."""
    if not problem.tolerances and problem.people is None:
        raise UsageError("nothing varies: say what, under 'tolerances:' in the file or with --spread or --people")
    count = len(problem.tolerances) + (max(problem.seating.rows) if problem.people is not None else 0)
    if count > MOST:
        raise UsageError(f"{count} tolerances and rows of people have too many corners: at most {MOST}, please")
    for spread in problem.tolerances:
        if spread.quantity == "length" and ends_of(spread) > LARGEST:
            raise UsageError(f"{spread.path}: more than {LARGEST:g} m to either side is no tolerance of a building")
    step = grid_of(problem) if grid is None else grid
    progress("the best design as drawn")
    plain = solve(problem, grid=step, effort=effort)
    if plain.design is None:
        return Robust(plain, plain, (), (), 1.0, share)
    if share is None:
        progress("the best design at every corner")
        result = _checked(problem, plain, _solved(problem, step, 1.0, effort, plain), 1.0)
        there = result.solution
        if there.design is None or there.space is None:
            return result
        progress("cases")
        return replace(result, cases=tolerated(problem, there.space, there.design, samples=samples, progress=progress))
    return _for_share(problem, plain, share, samples, step, effort, progress)


def _for_share(
    problem: Problem, plain: Solution, share: float, samples: int | None, step: float, effort: float, progress: Progress
) -> Robust:
    """Corners as near as will do: halved between some that are enough and some that are not."""
    if not 0.0 < share < 1.0:
        raise UsageError("the share of cases lies between 0 % and 100 %")

    def tried(reach: float, number: int) -> tuple[Solution, Tolerated | None]:
        progress("corners drawn in", number, SHRINKS + 2)
        solution = plain if reach == 0.0 else _solved(problem, step, reach, effort, plain)
        if solution.design is None or solution.space is None:
            return solution, None
        return solution, tolerated(problem, solution.space, solution.design, samples=samples)

    def enough(cases: Tolerated | None) -> bool:
        return cases is not None and cases.all_hold.value - cases.all_hold.error >= share

    solution, cases = tried(0.0, 0)
    reach = 0.0
    if not enough(cases):
        low, reach = 0.0, 1.0
        solution, cases = tried(1.0, 1)
        if not enough(cases) and solution.design is not None:
            return _short(problem, plain, solution, share, cases)
        for number in range(SHRINKS):
            middle = 0.5 * (low + reach)
            nearer, found = tried(middle, number + 2)
            # too far out there may be no design at all, and farther in one that is enough
            if enough(found) or (nearer.design is None and not enough(cases)):
                reach, solution, cases = middle, nearer, found
            else:
                low = middle
        if not enough(cases):
            return _short(problem, plain, solution, share, cases)
    result = _checked(problem, plain, solution, reach)
    return replace(result, share=share, cases=cases)


def _short(problem: Problem, plain: Solution, solution: Solution, share: float, cases: Tolerated | None) -> Robust:
    """That no design was found whose limits hold in that share of cases."""
    missing = Solution(problem, "unknown", solution.grid, False, plain.bound, seconds=solution.seconds)
    return Robust(missing, plain, (), (), 1.0, share, cases)


def _solved(problem: Problem, step: float, reach: float, effort: float, plain: Solution) -> Solution:
    search = Search(problem, step, effort=effort)
    search.scorers = [
        Scorer.of(s.space, [*s.bounds, *corner_bounds(problem, s, reach)], s.targets) for s in search.scorers
    ]
    found = settle(search, start=plain.design)
    if found.design is None:
        return found
    assert found.space is not None
    return replace(found, card=Scorer(problem, found.space).card(found.design))


def corner_bounds(problem: Problem, scorer: Scorer, reach: float) -> list[Bound]:
    """The limits at all corners of a space, but for those that say the same as one before."""
    seen = {_key(bound) for bound in scorer.bounds}
    found = []
    for offsets in corners(problem, scorer.space, reach):
        moved = shifted_space(problem, scorer.space, offsets)
        for bound in bounds(*moved):
            key = _key(bound)
            if key not in seen:
                seen.add(key)
                found.append(bound)
    return found


def shifted_space(problem: Problem, space: Space, offsets: Offsets) -> tuple[Problem, Space]:
    """Problem and space moved to a corner. UsageError where the room then makes no sense."""
    try:
        return shifted(problem, space, offsets)
    except ValueError as error:
        raise senseless(error) from None


def _key(bound: Bound) -> tuple:
    """What a limit asks, so that two that ask the same are equal."""
    return bound.index, bound.row, bound.seat, tuple(_condition(c) for c in bound.conditions())


def _condition(condition: Condition) -> tuple:
    if isinstance(condition, Cut):
        c = float(np.asarray(condition.c))
        return "cut", _expression(condition.numerator), _expression(condition.denominator), c, condition.sense
    if isinstance(condition, TableCut):
        form, c = condition.form, float(np.asarray(condition.c))
        return "table", form.table, form.function, tuple(_expression(e) for e in form.place), c, condition.sense
    if isinstance(condition, SumCut):
        return "sum", object()  # its forms hold functions, of which none can be told the same
    kind = "all" if isinstance(condition, All) else "any"
    assert isinstance(condition, (All, AnyOf))
    return kind, tuple(_condition(part) for part in condition.parts)


def _expression(expression: Expression) -> tuple:
    if isinstance(expression, Linear):
        return expression.terms, expression.constant
    products = tuple((c, _expression(a), _expression(b)) for c, a, b in expression.products)
    return _expression(expression.linear), products


def _checked(problem: Problem, plain: Solution, solution: Solution, reach: float) -> Robust:
    """The answer with every corner looked at by itself."""
    if solution.design is None or solution.space is None:
        return Robust(solution, plain, problem.tolerances, (), reach)
    spreads, _ = in_force(problem, solution.space)
    found = tuple(
        corner(problem, solution.space, solution.design, offsets) for offsets in corners(problem, solution.space, reach)
    )
    broken = [c for c in found if not c.holds]
    if broken and solution is not plain:
        raise InternalError(
            f"{broken[0].tightest and broken[0].tightest.measure} breaks at a corner that the solver was given; "
            "this is a fault of the program"
        )
    return Robust(solution, plain, spreads, found, reach)


def corner(problem: Problem, space: Space, design: Mapping[str, float], offsets: Mapping[str, float]) -> Corner:
    """One corner of a design, from the problem moved there as a whole."""
    moved, there = shifted(problem, space, offsets, design)
    least: tuple[float, Bound | None] = (np.inf, None)
    good = True
    with np.errstate(all="ignore"):
        for bound in bounds(moved, there):
            good = good and bool(holds(bound, {}))
            slack = float(slack_of(bound.limit, bound.form.value({})))
            if slack < least[0]:
                least = (slack, bound)
    slack, tightest = least
    return Corner(offsets, good, tightest and tightest.limit, tightest and tightest.row, slack)
