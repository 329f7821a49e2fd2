"""What becomes of a design where building is not exact and people differ: the chance that each limit holds,
and how the scores spread, each with its sampling error.

Cases are drawn quasi-randomly, by several Sobol sequences scrambled each by itself: their means differ
by chance alone, and so tell how far the mean of all can be off.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optimiser.design import Space
from optimiser.errors import UsageError
from optimiser.explain.cases import Build, Cases, eye, head
from optimiser.explain.people import drawn
from optimiser.forms import Form
from optimiser.problem.decisions import split_row
from optimiser.problem.model import Goal, Limit, People, Problem, Spread
from optimiser.problem.parts import parts
from optimiser.progress import Progress, silent
from optimiser.requirements import all_limits, bounds_of, targets
from optimiser.score import TOLERANCE, Scorecard, Scorer, combined, goal_score, holds, slack_of, total_score

SAMPLES = 10_240
"""Cases to try unless told otherwise."""

SLOW = 640
"""Cases to try instead where each takes a room of its own: its bass is reckoned anew each time."""

SEQUENCES = 10
"""Sobol sequences that are scrambled each by itself."""

MOST = 1_000_000
"""Most cases to try: beyond, memory is the limit."""

FARTHEST = 0.5
"""Metres of a spread of a length beyond which it must be a slip of the pen."""

SURE = 0.975
"""Of both tails together, an error is exceeded with a chance of 5 %."""

TAILS = (0.05, 0.95)
"""The range of values told of holds all cases but these shares at either end."""


@dataclass(frozen=True)
class Estimate:
    """A mean over cases, and how far it can be off for having been sampled (95 % confidence)."""

    value: float
    error: float


@dataclass(frozen=True)
class Band:
    """What a quantity is in the cases: 5 % are below ``low``, half below ``middle``, 5 % above ``high``."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class LimitOdds:
    """A limit on one row (or seat): its value as drawn, and in how many of the cases it holds."""

    index: int
    limit: Limit
    own: bool
    quantity: str
    row: int | None
    seat: int | None
    drawn: float
    values: Band
    chance: Estimate
    moves: bool  # whether anything that varies moves it at all


@dataclass(frozen=True)
class GoalOdds:
    """A goal: for each row its values; its own score (0 to 1) as drawn and in the cases."""

    index: int
    goal: Goal
    quantity: str
    rows: tuple[int | None, ...]
    values: tuple[Band, ...]
    drawn: float
    mean: Estimate
    scores: Band
    moves: bool


@dataclass(frozen=True)
class Tolerated:
    """A design under its tolerances. ``all_hold``: the chance that every limit holds at once; ``score`` in
    points of 100; ``left_out`` are spreads of rows that this design has not; ``slow`` limits and goals whose formulas
    had to be had case by case."""

    problem: Problem
    space: Space
    design: Mapping[str, float]
    card: Scorecard
    spreads: tuple[Spread, ...]
    people: People | None
    count: int
    all_hold: Estimate
    score: Estimate
    scores: Band
    limits: tuple[LimitOdds, ...]
    goals: tuple[GoalOdds, ...]
    left_out: tuple[Spread, ...] = ()
    slow: int = 0


def in_force(problem: Problem, space: Space) -> tuple[tuple[Spread, ...], tuple[Spread, ...]]:
    """The problem's spreads that concern a space, and those of rows that it has not. UsageError for one of a
    decision that this kind of screen does not have."""
    numbers = {p.path for p in parts(problem) if not p.decided}
    found, absent = [], []
    for spread in problem.tolerances:
        row = split_row(spread.path)
        if spread.path in numbers or spread.path in space.domains:
            found.append(spread)
        elif row is not None and row[0] > space.rows:
            absent.append(spread)
        else:
            raise UsageError(
                f"{spread.path} follows from other decisions of this design: give a spread of one of "
                f"{', '.join(n for n in space.domains if split_row(n) is None)}"
            )
    return tuple(found), tuple(absent)


def sampled(problem: Problem, space: Space, samples: int) -> dict[str, np.ndarray]:
    """Offsets of so many cases or a few more, sequence after sequence, equally many of each."""
    from scipy.special import ndtri
    from scipy.stats.qmc import Sobol

    spreads, _ = in_force(problem, space)
    rows = range(1, space.rows + 1) if problem.people is not None else ()
    columns = len(spreads) + 3 * len(rows)
    if not columns:
        raise UsageError("nothing varies: say what, under 'tolerances:' in the file or with --spread or --people")
    exponent = max(1, math.ceil(math.log2(samples / SEQUENCES)))
    half = 2.0**-31  # no number is 0 or 1, where a normal distribution has no value
    drawn_of = [Sobol(columns, bits=30, seed=n).random_base2(exponent) + half for n in range(SEQUENCES)]
    shares = np.concatenate(drawn_of)
    found: dict[str, np.ndarray] = {}
    for at, spread in enumerate(spreads):
        share = shares[:, at]
        found[spread.path] = spread.within * (2.0 * share - 1.0) if spread.within else spread.sigma * ndtri(share)
    for row in rows:
        at = len(spreads) + 3 * (row - 1)
        assert problem.people is not None
        found[eye(row)], found[head(row)] = drawn(problem.people, shares[:, at : at + 3])
    return found


def tolerated(
    problem: Problem,
    space: Space,
    design: Mapping[str, float],
    *,
    samples: int | None = None,
    progress: Progress = silent,
) -> Tolerated:
    """What the problem's tolerances and people do to a design of a space, in so many ``samples`` or a few more;
    unless told, in SAMPLES, or SLOW where a formula has to be had case by case. Raises UsageError for spreads that
    are none."""
    if samples is not None and not SEQUENCES <= samples <= MOST:
        raise UsageError(f"from {SEQUENCES} to {MOST} cases, please")
    for spread in problem.tolerances:
        if spread.quantity == "length" and (spread.within or spread.sigma or 0.0) > FARTHEST:
            raise UsageError(f"{spread.path}: more than {FARTHEST:g} m to either side is no tolerance of a building")
    progress("drawing cases")
    spreads, absent = in_force(problem, space)
    scorer = Scorer(problem, space)
    asked = list(enumerate(all_limits(problem)))
    builds: list[Build] = [_Limits(index, limit) for index, limit in asked]
    builds += [_Goals(problem.goals[target.index]) for target in scorer.targets]
    if samples is None:
        few = Cases(problem, space, design, sampled(problem, space, 2 * SEQUENCES))
        samples = SLOW if few.waiting(builds) else SAMPLES
    cases = Cases(problem, space, design, sampled(problem, space, samples), progress=progress)
    values = cases.values_of(builds)
    progress("limits and goals")
    ends = cases.limits()
    limits, every = [], np.ones(cases.count, dtype=bool)
    for index, limit in asked:
        for odds, held in _limit(cases, index, limit, values[index], [one[index] for one in ends]):
            limits.append(odds)
            every &= held
    goals, weighed = [], []
    for target, found in zip(scorer.targets, values[len(asked) :], strict=True):
        odds, scores = _goal(cases, target, found)
        goals.append(odds)
        weighed.append((target.goal.weight, scores))
    total = np.broadcast_to(total_score(weighed), (cases.count,))
    return Tolerated(
        problem,
        space,
        design,
        scorer.card(design),
        spreads,
        problem.people,
        cases.count,
        chance(every),
        estimate(total),
        band(total),
        tuple(limits),
        tuple(goals),
        absent,
        cases.slow,
    )


@dataclass(frozen=True)
class _Limits:
    """The forms of a limit, of any problem: as other processes can be told of."""

    index: int
    limit: Limit

    def __call__(self, problem: Problem, space: Space) -> Sequence[Form]:
        return [bound.form for bound in bounds_of(problem, space, self.index, self.limit)]


@dataclass(frozen=True)
class _Goals:
    """The forms of a goal, of any problem: as other processes can be told of."""

    goal: Goal

    def __call__(self, problem: Problem, space: Space) -> Sequence[Form]:
        return targets(replace(problem, goals=(self.goal,)), space)[0].forms


def _limit(
    cases: Cases, index: int, limit: Limit, values: Sequence[np.ndarray], moved: Sequence[Limit]
) -> list[tuple[LimitOdds, np.ndarray]]:
    """A limit's odds, row by row, and where it holds; from its values, and what it asks in each case."""
    bounds = bounds_of(cases.problem, cases.space, index, limit)
    asked = limit if index < len(cases.problem.limits) else _asked(limit, moved)
    found = []
    for bound, value in zip(bounds, values, strict=True):
        drawn_ = float(bound.form.value(cases.design))
        if math.isnan(drawn_) and np.isnan(value).all():
            continue  # a seat that the row has not
        held = slack_of(asked, value) >= -TOLERANCE
        same = bool(np.all(np.isclose(value, drawn_, rtol=1e-12, atol=1e-12, equal_nan=True))) and asked is limit
        if same:
            held = np.full(cases.count, bool(holds(bound, cases.design)))
        odds = LimitOdds(
            index,
            limit,
            bound.own,
            bound.measure.quantity,
            bound.row,
            bound.seat,
            drawn_,
            band(value),
            chance(held),
            not same,
        )
        found.append((odds, held))
    return found


def _asked(limit: Limit, moved: Sequence[Limit]) -> Limit:
    """A limit of the room's own with its ends in each case, where a number that varies is one of them."""
    ends = {
        end: None if getattr(limit, end) is None else np.array([getattr(one, end) for one in moved]).ravel()
        for end in ("at_least", "at_most")
    }
    if all(value is None or np.all(value == getattr(limit, end)) for end, value in ends.items()):
        return limit
    return replace(limit, **ends)


def _goal(cases: Cases, target, values: Sequence[np.ndarray]) -> tuple[GoalOdds, np.ndarray]:
    """A goal's odds, and its score in each case, from the values of its forms."""
    scores = np.asarray(combined([goal_score(target.goal, v) for v in values], target.worst))
    drawn_ = [np.asarray(form.value(cases.design), dtype=float) for form in target.forms]
    there = [k for k, v in enumerate(drawn_) if not np.isnan(v)]
    moves = any(not np.allclose(v, d, rtol=1e-12, atol=1e-12, equal_nan=True) for v, d in zip(values, drawn_))
    odds = GoalOdds(
        target.index,
        target.goal,
        target.measure.quantity,
        tuple(target.rows[k] for k in there),
        tuple(band(values[k]) for k in there),
        float(combined([goal_score(target.goal, d) for d in drawn_], target.worst)),
        estimate(scores),
        band(scores),
        moves,
    )
    return odds, scores


# --- estimates ------------------------------------------------------------------------------------


def estimate(values: np.ndarray) -> Estimate:
    """The mean of all cases, with the error that the means of the sequences tell."""
    from scipy.special import stdtrit

    means = values.reshape(SEQUENCES, -1).mean(axis=1)
    error = float(means.std(ddof=1)) / math.sqrt(SEQUENCES) * float(stdtrit(SEQUENCES - 1, SURE))
    return Estimate(float(values.mean()), error)


def chance(held: np.ndarray) -> Estimate:
    """The share of cases in which something holds. Where it always or never does, three in so many cases
    could be otherwise and none have been seen (95 % confidence, as for cases drawn at random)."""
    found = estimate(held.astype(float))
    if found.value in (0.0, 1.0):
        return Estimate(found.value, 3.0 / len(held))
    return Estimate(found.value, max(found.error, 1.0 / len(held)))


def band(values: np.ndarray) -> Band:
    """The range that holds most cases; of what is there at all."""
    there = values[~np.isnan(values)]
    if not len(there):
        return Band(math.nan, math.nan, math.nan)
    with np.errstate(invalid="ignore"):
        low, middle, high = np.quantile(there, (TAILS[0], 0.5, TAILS[1]), method="inverted_cdf")
    return Band(float(low), float(middle), float(high))
