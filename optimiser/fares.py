"""How one design fares under several sets of published bands, each by itself."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from optimiser.design import Space
from optimiser.problem.model import Problem
from optimiser.problem.targets import NAMES, TargetSet, target_set
from optimiser.requirements import wanting
from optimiser.score import GoalResult, Scorer


@dataclass(frozen=True)
class Fare:
    """A design's score under one set. ``score`` is None where no band of the set applies to it;
    ``left_out`` names measures that the file has no data for, with the key that would give them."""

    targets: TargetSet
    score: float | None
    goals: tuple[GoalResult, ...]
    left_out: tuple[tuple[str, str], ...]


def fares(problem: Problem, space: Space, design: Mapping[str, float], names: Iterable[str] = NAMES) -> list[Fare]:
    """The design under each of the sets named, the file's own goals left aside."""
    return [_fare(problem, space, design, target_set(name)) for name in names]


def _fare(problem: Problem, space: Space, design: Mapping[str, float], found: TargetSet) -> Fare:
    card = Scorer(replace(problem, goals=found.goals), space).card(design)
    missing = ((goal.measure, wanting(goal, space.layout)) for goal in found.goals)
    left_out = tuple((measure, key) for measure, key in missing if key is not None)
    return Fare(found, card.score if card.goals else None, card.goals, left_out)
