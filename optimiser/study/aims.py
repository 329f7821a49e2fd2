"""Objectives in one space: what they are worth on designs, and what they ask of the solver.

An aim's *height* is its value in the sense in which more is better. Most aims can be asked for at
any height exactly; a blend (the total score, or a goal that is a mean over rows) is a sum of score
levels, which the solver may take to be up to a few levels higher than it is.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optimiser.design import Space
from optimiser.forms import AnyOf, Capped, Cases, Condition, Form, Greatest, Least, Linked, Sum, Tabulated, Unless
from optimiser.measures import catalogue
from optimiser.problem.model import Goal, Limit, Problem
from optimiser.record import outward
from optimiser.requirements import Bound, Target, targets
from optimiser.score import combined, goal_score, total_score
from optimiser.study.objectives import Objective

Designs = Mapping[str, "float | np.ndarray"]

FLOOR = 10**6
"""Number of a limit that a front sets: no limit of a problem has it."""


@dataclass(frozen=True, eq=False)
class Sharp:
    """One form, or the worst of several, of a measure (``goal`` None) or as a goal scores it."""

    objective: Objective
    forms: tuple[Form, ...]
    goal: Goal | None

    @property
    def rough(self) -> bool:
        """Whether the solver takes it on a scale, and so a little too high."""
        return any(_rough(form) for form in self.forms)

    def height(self, designs: Designs):
        """How good designs are, more being better."""
        with np.errstate(all="ignore"):
            values = [np.asarray(form.value(designs), dtype=float) for form in self.forms]
        if self.goal is None:  # where there is nothing to measure, as at a seat that is not there
            values = [np.where(np.isnan(v), math.inf * self.objective.sign, v) for v in values]
        else:
            values = [goal_score(self.goal, v) for v in values]
        stacked = np.stack(np.broadcast_arrays(*values)) * self.objective.sign
        return stacked.min(axis=0)

    def at_least(self, height) -> list[Condition]:
        """What a height (or each of an array of heights) asks of a design."""
        t = np.asarray(height, dtype=float) * self.objective.sign
        if self.goal is not None and not t.ndim and (t <= 0.0 or t > 1.0):
            return [] if t <= 0.0 else [AnyOf(())]  # any design; none
        found: list[Condition] = []
        for form in self.forms:
            if self.goal is None:
                found.append(form.at_least(t) if self.objective.raised else form.at_most(t))
                continue
            short = self.goal.fade * (1.0 - t)
            if self.goal.low is not None:
                found.append(form.at_least(self.goal.low - short))
            if self.goal.high is not None:
                found.append(form.at_most(self.goal.high + short))
        return found

    def bounds(self, height: float) -> list[Bound]:
        """The same as limits, one on each form."""
        limit = self._limit(height)
        measure = catalogue()[self.objective.measure]
        return [] if limit is None else [Bound(FLOOR, limit, False, measure, None, form) for form in self.forms]

    def _limit(self, height: float) -> Limit | None:
        name, row, options = self.objective.measure, self.objective.row, self.objective.options
        value = height * self.objective.sign
        if self.goal is None:
            return Limit(name, row, *((value, None) if self.objective.raised else (None, value)), options)
        if value <= 0.0:
            return None
        short = self.goal.fade * (1.0 - value)
        low, high = self.goal.low, self.goal.high
        return Limit(name, row, None if low is None else low - short, None if high is None else high + short, options)

    def interval(self, box) -> tuple[float, float]:
        """Heights that no design of the box leaves."""
        if self.goal is not None:
            return 0.0, 1.0
        ends = [form.interval(box) for form in self.forms]
        if not self.objective.raised:
            ends = [(-high, -low) for low, high in ends]
        return min(e[0] for e in ends), min(e[1] for e in ends)


@dataclass(frozen=True, eq=False)
class Blend:
    """A mean of goals' scores, times ``full``: the total score, or one goal over several rows."""

    objective: Objective
    targets: tuple[Target, ...]
    full: float

    @property
    def total(self) -> bool:
        """Whether this is the score of the whole design."""
        return self.objective.measure is None

    def height(self, designs: Designs):
        with np.errstate(all="ignore"):
            parts = [
                (t.goal.weight, combined([goal_score(t.goal, form.value(designs)) for form in t.forms], t.worst))
                for t in self.targets
            ]
        return np.asarray(total_score(parts)) * (self.full / 100.0)

    def interval(self, box) -> tuple[float, float]:
        return 0.0, self.full


Aim = Sharp | Blend


def _rough(form: Form) -> bool:
    if isinstance(form, Sum | Tabulated):
        return True
    if isinstance(form, Linked | Unless | Capped):
        return _rough(form.inner)
    if isinstance(form, Cases):
        return any(_rough(inner) for _, inner in form.cases)
    return isinstance(form, Least | Greatest) and any(_rough(part) for part in form.parts)


def aim_of(problem: Problem, space: Space, objective: Objective) -> Aim | None:
    """The objective in a space; None where the space has no row for it."""
    if objective.measure is None:
        there = tuple(targets(problem, space))
        return Blend(objective, there, 100.0) if there else None
    goals: Sequence[Goal]
    if objective.goal is not None:
        goals = (problem.goals[objective.goal],)
    else:
        goals = (Goal(objective.measure, objective.row, 0.0, None, 1.0, 1.0, objective.options),)
    found = targets(replace(problem, goals=tuple(goals)), space)
    if not found:
        return None
    target = found[0]
    if objective.goal is None:
        return Sharp(objective, target.forms, None)
    target = replace(target, index=objective.goal)  # as in the whole file: another goal's levels are not its own
    if target.worst or len(target.forms) == 1:
        return Sharp(objective, target.forms, target.goal)
    return Blend(objective, (target,), 1.0)


def told(
    problem: Problem, space: Space, design: Mapping[str, float], objectives: Sequence[Objective]
) -> tuple[float, ...] | None:
    """What objectives are worth on a design of a space, as a record tells them (SI and degrees); None where it
    lacks one, or one is no number there."""
    values = []
    for objective in objectives:
        aim = aim_of(problem, space, objective)
        value = None if aim is None else outward(objective.kind, float(aim.height(design)) * objective.sign)
        if value is None:
            return None
        values.append(value)
    return tuple(values)
