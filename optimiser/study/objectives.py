"""What a front is between: measures, closeness of goals, the total score, each raised or lowered.

Written ``image_width``, ``upward_angle[row=2]:lower``, ``mode_null_offset[order=2,axis=length]``,
``length_fraction[row=reference]:closeness``, ``score``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from optimiser.errors import QuantityError, UsageError, did_you_mean
from optimiser.measures import catalogue
from optimiser.measures.brackets import read_brackets
from optimiser.problem.decisions import LISTS_MEASURES
from optimiser.problem.model import Goal, Problem
from optimiser.quantity import parse, show
from optimiser.words import measure_words

SCORE = "score"
_TEXT = re.compile(r"\s*([a-z_0-9]+)\s*(?:\[([^\]]*)\])?\s*((?::\s*[a-z]+\s*)*)")
_ENDINGS = ("closeness", "raise", "lower")


@dataclass(frozen=True)
class Objective:
    """A quantity to raise or to lower. ``goal`` is the number of the goal whose closeness it is, None
    for a measure itself; the total score has neither measure nor goal."""

    measure: str | None
    row: str = "all"
    options: tuple[tuple[str, object], ...] = ()
    goal: int | None = None
    raised: bool = True

    @property
    def kind(self) -> str:
        """The kind of quantity that its values are."""
        if self.measure is None:
            return "points"
        return "closeness" if self.goal is not None else catalogue()[self.measure].quantity

    @property
    def sign(self) -> float:
        return 1.0 if self.raised else -1.0

    @property
    def text(self) -> str:
        """As it is written on the command line, nothing left out."""
        if self.measure is None:
            return SCORE
        parts = [] if self.row == "all" and self.goal is None else [f"row={self.row}"]
        if self.goal is not None and not catalogue()[self.measure].per_row:
            parts = []
        parts += [f"{key}={value}" for key, value in self.options]
        ending = (":closeness" if self.goal is not None else "") + ("" if self.raised else ":lower")
        return self.measure + (f"[{','.join(parts)}]" if parts else "") + ending

    @property
    def bare(self) -> tuple:
        """What it is about, whichever way it goes."""
        return self.measure, self.row, self.options, self.goal

    @property
    def words(self) -> str:
        """As a person reads it."""
        if self.measure is None:
            return "score"
        per_row = catalogue()[self.measure].per_row
        named = {"reference": "reference row", "worst": "worst row", "all": "all rows"}
        where = f", {named.get(self.row, f'row {self.row}')}" if per_row else ""
        name = measure_words(self.measure, self.options) + where
        return f"closeness of {name}" if self.goal is not None else name

    def show(self, value: float, system: str) -> str:
        """A value (SI) with its unit."""
        return _shown(self.kind, value, system)


def show_recorded(kind: str, value: float, system: str) -> str:
    """An objective's value as it stands in a record (angles in degrees), with its unit."""
    return _shown(kind, math.radians(value) if kind == "angle" else value, system)


def _shown(kind: str, value: float, system: str) -> str:
    if kind == "points":
        return f"{value:.1f}"
    if kind == "closeness":
        return f"{100.0 * value:.1f} %"
    return show(kind, value, system)


def read_objective(problem: Problem, text: str) -> Objective:
    """An objective from its text, checked against the problem. Raises UsageError."""
    match = _TEXT.fullmatch(text)
    if not match:
        raise UsageError(f"'{text}' should read like image_width, upward_angle[row=2]:lower or score")
    name, inside, tail = match[1], match[2], match[3]
    endings = [e.strip() for e in tail.split(":") if e.strip()]
    for ending in endings:
        if ending not in _ENDINGS:
            raise UsageError(f"'{text}': unknown ':{ending}': {did_you_mean(ending, _ENDINGS)}")
    if len(set(endings)) < len(endings) or {"raise", "lower"} <= set(endings):
        raise UsageError(f"'{text}': say ':raise' or ':lower', once")
    raised = "lower" not in endings
    if not raised and (name == SCORE or "closeness" in endings):
        raise UsageError(f"'{text}': a score is there to be raised; lower the measure itself instead")
    if name == SCORE:
        if inside or "closeness" in endings:
            raise UsageError(f"'{text}': score is one number for the whole design; write it bare")
        if not problem.goals:
            raise UsageError("the problem file states no goals, so there is no score")
        return Objective(None)
    if name not in catalogue():
        raise UsageError(f"unknown measure '{name}': {did_you_mean(name, [*catalogue(), SCORE], lists=LISTS_MEASURES)}")
    row, options = read_brackets(text, inside, catalogue()[name])
    if "closeness" in endings:
        return _closeness(problem, text, name, row, options)
    return _measure(problem, text, name, row, options, raised)


def read_spacing(
    problem: Problem, objectives: Sequence[Objective], given: Mapping[str, str | float]
) -> tuple[float | None, ...]:
    """Distances (SI) by objectives' texts; None for objectives that are not named. Raises UsageError."""
    found: list[float | None] = [None] * len(objectives)
    for text, amount in given.items():
        meant = read_objective(problem, text).bare
        at = [k for k, objective in enumerate(objectives) if objective.bare == meant]
        if not at:
            raise UsageError(f"a spacing is given for '{text}', which is none of the objectives")
        found[at[0]] = _amount(objectives[at[0]], amount)
    return tuple(found)


def _amount(objective: Objective, amount: str | float) -> float:
    kind = "ratio" if objective.kind in ("points", "closeness") else objective.kind
    try:
        value = float(parse(kind, amount)) if isinstance(amount, str) else float(amount)
    except QuantityError as error:
        raise UsageError(f"the spacing of {objective.text}: {error}") from None
    if not 0.0 < value < math.inf:
        raise UsageError(f"the spacing of {objective.text} must be more than nothing")
    return value


def _row(problem: Problem, text: str, name: str, row: str | None) -> str:
    """The row meant: the reference row if none is given and it has the measure, else the worst."""
    measure = catalogue()[name]
    if not measure.per_row:
        if row is not None:
            raise UsageError(f"'{text}': {name} is one value for the whole design; leave row out")
        return "all"
    most = max(problem.seating.rows)
    if most < measure.first_row:
        raise UsageError(f"'{text}': {name} begins at row {measure.first_row}; the file allows {most}")
    if row is None:
        return "reference" if problem.seating.reference_row >= measure.first_row else "worst"
    if row == "all":
        return "worst"
    if row == "reference" and problem.seating.reference_row < measure.first_row:
        raise UsageError(f"'{text}': {name} begins at row {measure.first_row}, after the reference row")
    if row in ("reference", "worst"):
        return row
    if not row.isdigit() or not measure.first_row <= int(row) <= most:
        raise UsageError(f"'{text}': row is reference, worst or a number from {measure.first_row} to {most}")
    return str(int(row))


def _measure(
    problem: Problem, text: str, name: str, row: str | None, options: Mapping[str, object], raised: bool
) -> Objective:
    full = tuple((key, options.get(key, values[0])) for key, values in catalogue()[name].options.items())
    return Objective(name, _row(problem, text, name, row), full, None, raised)


def _closeness(problem: Problem, text: str, name: str, row: str | None, options: Mapping[str, object]) -> Objective:
    def meant(goal: Goal) -> bool:
        there = dict(goal.options)
        return (
            goal.measure == name
            and row in (None, goal.row)
            and all(there.get(key) == value for key, value in options.items())
        )

    found = [index for index, goal in enumerate(problem.goals) if meant(goal)]
    if not found:
        there = dict.fromkeys(goal.measure for goal in problem.goals)
        near = "" if name in there else f": {did_you_mean(name, there)}"
        raise UsageError(f"'{text}': the file has no such goal{near}")
    if len(found) > 1:
        listed = ", ".join(Objective(name, problem.goals[i].row, problem.goals[i].options, i).text for i in found)
        raise UsageError(f"'{text}' may mean several goals: write one of {listed}")
    goal = problem.goals[found[0]]
    return Objective(name, goal.row, goal.options, found[0])
