"""One design against another: what was moved, and what that does to each goal and limit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from optimiser.problem.model import Goal
from optimiser.score import GoalResult, Scorecard
from optimiser.standing import Broken

SEEN = 1e-6
"""SI units below which two values are the same."""


@dataclass(frozen=True)
class DecisionChange:
    """A decision's value before and after; None where the design has no such decision."""

    name: str
    before: float | None
    after: float | None


@dataclass(frozen=True)
class GoalChange:
    """What a goal had and has: values a row, its own score (0 to 1), and the points of the whole score
    that this adds or takes. ``before`` or ``after`` is None where the goal does not count there."""

    goal: Goal
    quantity: str
    before: GoalResult | None
    after: GoalResult | None
    points: float


@dataclass(frozen=True)
class Difference:
    """From one design to another. The goals' points add up to the difference in score."""

    decisions: tuple[DecisionChange, ...]
    goals: tuple[GoalChange, ...]
    score_before: float
    score_after: float
    broken: tuple[Broken, ...] = ()  # limits that the later design breaks

    @property
    def points(self) -> float:
        return self.score_after - self.score_before

    @property
    def gained(self) -> tuple[GoalChange, ...]:
        """Goals that do better, the greatest gain first."""
        return tuple(sorted((g for g in self.goals if g.points > 5e-3), key=lambda g: -g.points))

    @property
    def lost(self) -> tuple[GoalChange, ...]:
        """Goals that do worse, the greatest loss first."""
        return tuple(sorted((g for g in self.goals if g.points < -5e-3), key=lambda g: g.points))


def difference(
    before: Mapping[str, float],
    card_before: Scorecard,
    after: Mapping[str, float],
    card_after: Scorecard,
    broken: tuple[Broken, ...] = (),
) -> Difference:
    """What changes from one design to another, which may have ``broken`` limits."""
    names = list(dict.fromkeys((*before, *after)))
    decisions = tuple(
        DecisionChange(name, before.get(name), after.get(name))
        for name in names
        if name not in before or name not in after or abs(before[name] - after[name]) > SEEN
    )
    had, has = ({r.index: r for r in card.goals} for card in (card_before, card_after))
    goals = []
    for index in sorted({*had, *has}):
        one, other = had.get(index), has.get(index)
        known = one or other
        assert known is not None
        points = _points(other, card_after) - _points(one, card_before)
        goals.append(GoalChange(known.goal, known.quantity, one, other, points))
    return Difference(decisions, tuple(goals), card_before.score, card_after.score, broken)


def _points(result: GoalResult | None, card: Scorecard) -> float:
    """Points of the whole score that a goal brings."""
    whole = sum(r.goal.weight for r in card.goals)
    return 0.0 if result is None or not whole else 100.0 * result.goal.weight * result.score / whole
