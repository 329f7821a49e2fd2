"""Published bands as data: the sets of goals in optimiser/targets/, each band with its source.

A set is a small YAML file like the goals of a problem file; ``trust`` says how far the source was
checked. Fades and weights are this program's: sources give bands, not how much a miss matters.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Annotated, Any

from pydantic import ValidationError

from optimiser.errors import InternalError, UsageError, did_you_mean
from optimiser.problem import written
from optimiser.problem.bounds import Rows, read_goal
from optimiser.problem.fields import FormatNumber, OneOf
from optimiser.problem.model import Goal, Mark
from optimiser.problem.readable import readable
from optimiser.problem.yaml_reader import read_file

FOLDER = Path(__file__).resolve().parent.parent / "targets"
NAMES = written.TARGETS

TRUST = {
    "read": "read in the document itself",
    "quoted": "as quoted by a secondary source",
    "memory": "from memory, unverified",
    "practice": "common practice, no source",
}
"""How far a band can be trusted, by the word that a set's file has for it."""


class TargetGoal(written.Goal):
    """A goal of a set."""

    source: written.Name
    """where the band comes from"""
    trust: Annotated[Any, OneOf(*TRUST)]
    """how far the source was checked"""


class TargetFile(written.Part):
    """A set of published bands."""

    format: Annotated[Any, FormatNumber()]
    title: written.Name
    about: Annotated[str, ...]
    goals: list[TargetGoal]


@dataclass(frozen=True)
class TargetSet:
    """A set of published bands under the name that problem files call it by."""

    name: str
    title: str
    about: str
    goals: tuple[Goal, ...]


def target_set(name: str, catalogue: Mapping[str, Any] | None = None) -> TargetSet:
    """The set of this name. Raises UsageError naming the nearest known one."""
    if name not in NAMES:
        raise UsageError(f"unknown targets '{name}': {did_you_mean(name, NAMES)}")
    if catalogue is None:
        return _usual(name)
    return _read(name, catalogue)


@cache
def _usual(name: str) -> TargetSet:
    from optimiser import measures

    return _read(name, measures.catalogue())


def _read(name: str, catalogue: Mapping[str, Any]) -> TargetSet:
    source = read_file(FOLDER / f"{name}.yaml")
    try:
        file = TargetFile.model_validate(source.value)
    except ValidationError as error:
        raise InternalError(f"the targets {name} are damaged: {error}") from None
    seen = readable(TargetFile, source.value)
    goals = []
    for at, item in enumerate(seen.goals):
        goal = read_goal(item, ("goals", at), None, source.fault, catalogue, Rows(1))
        if goal is None:
            raise InternalError(f"the targets {name} are damaged: {source.faults[-1]}")
        goals.append(replace(goal, trust=item.trust, targets=name))
    return TargetSet(name, file.title, " ".join(file.about.split()), tuple(goals))


def under(own: tuple[Goal, ...], found: TargetSet, where: Mark | None) -> tuple[Goal, ...]:
    """A file's own goals, and under them those of a set whose measure the file has no goal for."""
    taken = {(goal.measure, goal.options) for goal in own}
    return own + tuple(replace(g, where=where) for g in found.goals if (g.measure, g.options) not in taken)
