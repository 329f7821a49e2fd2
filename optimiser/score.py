"""The scorecard of any design, exactly: each limit with its slack, each goal with its score.

All functions take numbers or numpy arrays for the decisions; arrays score many designs at once.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from functools import reduce

import numpy as np

from optimiser.design import Space
from optimiser.forms import Asked, Form
from optimiser.measures import catalogue
from optimiser.problem.model import Goal, Limit, Problem
from optimiser.requirements import Bound, Target, bounds, targets
from optimiser.tape import Tape

TOLERANCE = 1e-6
"""How far a limit may be missed and still hold, in SI units of the measure or of the quotient that
it is a function of: well above the solver's rounding, far below what can be built."""

CLOSE = {"length": 0.006, "angle": 0.01, "level": 0.25}
"""Slack up to which a limit counts as binding, by quantity (SI): what is lost in building. 0.001 for the others."""

SMALL = 0.2
"""Share of what a limit on a length or an angle allows that is as much as that where it allows little."""

NEAR = {"length": 0.0254, "angle": 0.0175, "level": 0.5}
"""Slack below which a designer keeps an eye on a limit that does not bind, by quantity (SI)."""


@dataclass(frozen=True)
class LimitResult:
    """A limit on one row: its value, and its slack (negative: by how much it breaks). ``settled``
    where no open decision can change the value, or bring it beyond the limit."""

    index: int
    limit: Limit
    own: bool
    quantity: str
    row: int | None
    value: float
    slack: float
    holds: bool
    settled: bool
    seat: int | None = None  # counted from the left, where the limit is on every seat
    least: bool = False  # whether the value is the least that the measure can be
    there: bool = True  # whether the design has what is measured at all

    @property
    def binds(self) -> bool:
        """Whether the value lies at the limit: not of what is not built."""
        close = CLOSE.get(self.quantity, 1e-3)
        ends = [end for end in (self.limit.at_least, self.limit.at_most) if end is not None]
        if self.quantity in ("length", "angle") and ends:
            nearer = abs(min(ends, key=lambda end: abs(self.value - end)))
            close = min(close, SMALL * nearer) if nearer else close
        return self.there and abs(self.slack) <= close

    @property
    def near(self) -> bool:
        """Whether the value lies near enough to the limit for a designer to care: not where it is the least that it can be,
        and the limit above it merely small, as of the difference between equal risers."""
        if self.binds:
            return True
        merely_small = self.least and self.limit.at_least is None
        return self.there and not merely_small and abs(self.slack) < NEAR.get(self.quantity, 1e-3)


@dataclass(frozen=True)
class GoalResult:
    """A goal: for each row (or each of its seats) value and score, and the goal's own score from 0 to 1."""

    index: int
    goal: Goal
    quantity: str
    rows: tuple[int | None, ...]
    values: tuple[float, ...]
    scores: tuple[float, ...]
    score: float
    seats: tuple[int, ...] = ()  # counted from the left, where the goal is on every seat

    @property
    def worst(self) -> int:
        """Which of the values scores least: of equal scores, the one that lies least far inside the goal's band, or
        farthest outside."""
        far = [float(inside(self.goal.low, self.goal.high, value)) for value in self.values]
        return min(range(len(far)), key=lambda k: (self.scores[k], far[k]))

    @property
    def told(self) -> tuple[float, ...]:
        """The values to tell where there is no place for whose they are: each row's, of seats the worst one's."""
        return (self.values[self.worst],) if self.seats else self.values


@dataclass(frozen=True)
class Scorecard:
    """What a design achieves. ``score`` is the weighted mean of the goals, 0 to 100."""

    score: float
    limits: tuple[LimitResult, ...]
    goals: tuple[GoalResult, ...]

    @property
    def broken(self) -> tuple[LimitResult, ...]:
        return tuple(r for r in self.limits if not r.holds)

    @property
    def breaking(self) -> list[LimitResult]:
        """The broken limits; of the room's own only those that say more than the file's do."""
        return [r for r in self.broken if not self._restated(r)]

    @property
    def tightest(self) -> list[LimitResult]:
        """Each limit once, on the row where it is tightest, in the order of the file."""
        found: dict[int, LimitResult] = {}
        for result in self.limits:
            if result.index not in found or result.slack < found[result.index].slack:
                found[result.index] = result
        return [found[k] for k in sorted(found)]

    @property
    def telling(self) -> list[LimitResult]:
        """The tightest of each limit of the file; of the room's own those that break, and those that are near and say
        more than the file's do."""
        return [r for r in self.tightest if not self._quiet(r) and not (r.holds and self._restated(r))]

    @property
    def quiet(self) -> int:
        """How many of the room's own limits hold, none of them near."""
        return sum(self._quiet(r) for r in self.tightest)

    @staticmethod
    def _quiet(result: LimitResult) -> bool:
        return result.own and result.holds and (result.settled or not result.near)

    def _restated(self, own: LimitResult) -> bool:
        """Whether a limit of the file asks at least as much, of the same row, as one of the room's own."""
        return own.own and any(
            not r.own
            and (r.limit.measure, r.limit.options, r.row, r.seat)
            == (own.limit.measure, own.limit.options, own.row, own.seat)
            and r.slack <= own.slack
            for r in self.limits
        )


def goal_score(goal: Goal, value):
    """1 inside the band, falling in a straight line to 0 over the fade outside it; 1 for NaN, where
    there is nothing to measure."""
    value = np.asarray(value, dtype=float)
    short = 0.0
    if goal.low is not None:
        short = np.maximum(short, goal.low - value)
    if goal.high is not None:
        short = np.maximum(short, value - goal.high)
    # fmin leaves a NaN out, maximum does not
    return np.fmin(1.0, np.maximum(0.0, 1.0 - short / goal.fade))


def slack_of(limit: Limit, value):
    """Distance of a value from the nearer end of its limit; negative beyond it, +inf for NaN."""
    return inside(limit.at_least, limit.at_most, value)


def inside(low: float | np.ndarray | None, high: float | np.ndarray | None, value):
    """Distance of a value from the nearer of two ends; negative beyond them, +inf for NaN."""
    value = np.asarray(value, dtype=float)
    slack = np.inf
    if low is not None:
        slack = value - low
    if high is not None:
        slack = np.fmin(slack, high - value)  # one is no number where value and end are endless alike
    return np.fmin(slack, np.inf)  # which leaves a NaN out


def holds(bound: Bound, designs: Mapping[str, np.ndarray], slack=None):
    """Whether a limit holds, to within TOLERANCE. ``slack``: its slack, where that is known already."""
    close = (slack_of(bound.limit, bound.form.value(designs)) if slack is None else slack) >= -TOLERANCE
    if np.all(close):
        return close
    loose = np.asarray(True)
    for condition in bound.conditions():
        loose = loose & condition.holds(designs, tolerance=TOLERANCE)
    return close | loose


def combined(scores: list[np.ndarray], worst: bool):
    """A goal's score from those of its rows."""
    return reduce(np.minimum, scores) if worst else reduce(np.add, scores) / len(scores)


def total_score(parts: list[tuple[float, np.ndarray]]):
    """Weighted mean of goal scores in points of 100; a problem without goals scores 100."""
    weight = sum(w for w, _ in parts)
    if weight == 0.0:
        return np.float64(100.0)
    return 100.0 * sum(w * s for w, s in parts) / weight


class Scorer:
    """The limits and goals of a problem in one space, ready to score designs one or many at a time."""

    def __init__(self, problem: Problem, space: Space) -> None:
        self.space = space
        self.bounds: list[Bound] = bounds(problem, space)
        self.targets: list[Target] = targets(problem, space)
        self._settled: dict[int, bool] = {}
        self._tapes: dict[tuple[int, ...], Tape] = {}

    @classmethod
    def of(cls, space: Space, bounds: Sequence[Bound], targets: Sequence[Target]) -> Scorer:
        """A scorer of other limits and goals than a problem's own."""
        scorer = cls.__new__(cls)
        scorer.space, scorer.bounds, scorer.targets = space, list(bounds), list(targets)
        scorer._settled, scorer._tapes = {}, {}
        return scorer

    def tape(self, forms: Sequence[Form]) -> Tape:
        """Some forms laid out for many designs at once; the same for the same forms."""
        key = tuple(map(id, forms))  # the tape keeps them
        if key not in self._tapes:
            self._tapes[key] = Tape(forms)
        return self._tapes[key]

    @property
    def looks_up(self) -> bool:
        """Whether a goal reads something from a table."""
        return any(target.looks_up for target in self.targets)

    @property
    def looking_nothing_up(self) -> Scorer:
        """A scorer of those limits and goals alone that read nothing from a table."""
        bounds, targets = ([one for one in all_ if not one.looks_up] for all_ in (self.bounds, self.targets))
        return Scorer.of(self.space, bounds, targets)

    def touched(self, names: Set[str]) -> Scorer:
        """A scorer of those limits and goals alone that look at some of these decisions."""
        bounds, targets = ([one for one in all_ if one.decisions & names] for all_ in (self.bounds, self.targets))
        return Scorer.of(self.space, bounds, targets)

    @property
    def weight(self) -> float:
        """What the goals weigh together."""
        return sum(target.goal.weight for target in self.targets)

    def scores(self, designs: Mapping[str, np.ndarray]) -> np.ndarray:
        """Scores of many designs (arrays in the place of decisions), limits left aside."""
        designs = Asked(designs)
        with np.errstate(all="ignore"):
            return self.score_of([form.value(designs) for form in self.goal_forms])

    @property
    def goal_forms(self) -> list[Form]:
        """The forms of all goals, one goal after the other."""
        return [form for target in self.targets for form in target.forms]

    def score_of(self, values: Iterable[np.ndarray]) -> np.ndarray:
        """The score, by the values of the goals' forms."""
        rest = iter(values)
        scores = [(t, [goal_score(t.goal, next(rest)) for _ in t.forms]) for t in self.targets]
        return np.asarray(total_score([(t.goal.weight, combined(own, t.worst)) for t, own in scores]))

    def shortfall(self, designs: Mapping[str, np.ndarray]) -> np.ndarray:
        """For many designs: the sum of all limits' shortfalls, 0 where every limit holds."""
        designs = Asked(designs)
        with np.errstate(all="ignore"):
            slacks = [slack_of(b.limit, b.form.value(designs)) for b in self.bounds]
            short = [np.where(holds(b, designs, s), 0.0, -s) for b, s in zip(self.bounds, slacks)]
        return np.sum(np.broadcast_arrays(*short), axis=0) if short else np.float64(0.0)

    def possible(self, design: Mapping[str, float]) -> bool:
        """Whether one design is one at all, and holds every limit."""
        if not self.space.sensible(design):
            return False
        design = Asked(design)
        with np.errstate(all="ignore"):
            for bound in self.bounds:
                value = float(bound.form.value(design))
                # a row that has no such value has nothing to hold
                if not math.isnan(value) and not holds(bound, design, slack_of(bound.limit, value)):
                    return False
        return True

    def card(self, design: Mapping[str, float]) -> Scorecard:
        """The full scorecard of one design."""
        design = Asked(design)
        with np.errstate(all="ignore"):
            told = (self._limit(k, b, design) for k, b in enumerate(self.bounds))
            limits = tuple(r for r in told if r.seat is None or not math.isnan(r.value))
            goals, parts = [], []
            for t in self.targets:
                values, score = self._goal(t, design)
                goals.append(self._result(t, [float(v) for v in values], float(score)))
                parts.append((t.goal.weight, score))
        return Scorecard(float(total_score(parts)), limits, tuple(goals))

    @staticmethod
    def _result(target: Target, values: list[float], score: float) -> GoalResult:
        # a seat that is not there is left out; a row without a value is told as one, in its place
        there = [k for k, value in enumerate(values) if not (target.seats and math.isnan(value))]
        return GoalResult(
            target.index,
            target.goal,
            target.measure.quantity,
            tuple(target.rows[k] for k in there),
            tuple(values[k] for k in there),
            tuple(float(goal_score(target.goal, values[k])) for k in there),
            score,
            tuple(target.seats[k] for k in there) if target.seats else (),
        )

    @staticmethod
    def _goal(target: Target, designs: Mapping) -> tuple[list, np.ndarray]:
        values = [form.value(designs) for form in target.forms]
        return values, combined([goal_score(target.goal, v) for v in values], target.worst)

    def _limit(self, number: int, bound: Bound, design: Mapping[str, float]) -> LimitResult:
        if number not in self._settled:  # the same for every design
            low, high = bound.form.interval(self.space.bounds)
            self._settled[number] = low == high or bool(min(slack_of(bound.limit, np.array([low, high]))) >= 0.0)
        value = float(bound.form.value(design))
        slack = float(slack_of(bound.limit, value))
        return LimitResult(
            bound.index,
            bound.limit,
            bound.own,
            bound.measure.quantity,
            bound.row,
            value,
            slack,
            holds=bool(holds(bound, design, slack)),
            settled=self._settled[number],
            seat=bound.seat,
            least=not bound.measure.signed and value == 0.0,
            there=bound.measure.built is None or bound.measure.built(self.space.layout, design, bound.row),
        )


def score_among(scorers: Iterable[Scorer], design: Mapping[str, float]) -> float | None:
    """The score of a design in that of several spaces which has it; None where none has it, or it breaks a limit there."""
    for scorer in scorers:
        if scorer.space.has(design):
            return float(scorer.scores(design)) if scorer.possible(design) else None
    return None


def measures_of(space: Space, design: Mapping[str, float]) -> dict[str, object]:
    """Every measure of a design in SI: a number, or a list with one entry a row (None where the row
    has no such value). Measures with options give a record of them; those that the file's data do
    not allow are left out."""
    found: dict[str, object] = {}
    layout = space.layout
    with np.errstate(all="ignore"):
        for measure in catalogue().values():
            if not measure.exists(layout) or any(getattr(layout, need) is None for need in measure.needs):
                continue
            for label, options in _settings(measure.options):
                if measure.per_row:
                    there = {
                        r.number: float(measure.asked_form(layout, r, **options).value(design))
                        for r in measure.rows_of(layout)
                    }
                    value: object = [there.get(r.number) for r in layout.rows]
                else:
                    value = float(measure.form(layout, **options).value(design))
                found[measure.name + label] = value
    return found


def _settings(options: Mapping[str, tuple]) -> list[tuple[str, dict]]:
    settings: list[dict] = [{}]
    for name, values in options.items():
        settings = [{**s, name: v} for s in settings for v in values]
    return [("" if not s else "[" + ",".join(f"{k}={v}" for k, v in s.items()) + "]", s) for s in settings]
