"""Texts of a file in letters that PDFs can show, all else as it is."""

from __future__ import annotations

import dataclasses
from typing import Any

from optimiser.design import Space
from optimiser.problem.model import Problem
from optimiser.sheet.material import Material, Reasons
from optimiser.sheet.pdf import printable, unprintable
from optimiser.solve import Solution


def legible(material: Material) -> Material:
    """The material with every text in letters that PDFs here can show; itself where it is so already."""
    problem = material.problem
    names = [one.name for one in (*problem.room.doors, *problem.room.obstructions, *problem.room.openings)]
    names += [item.name for one in problem.listings for item in one.items] + [problem.currency]
    sources = [one.source or "" for one in (*problem.goals, *problem.limits)]
    labels = [label for label, _ in material.designs]
    if not unprintable([problem.title, material.text, material.name, *names, *sources, *labels]):
        return material
    return dataclasses.replace(
        material,
        solution=_legible_solution(material.solution),
        text=printable(material.text),
        original=material.text,
        name=printable(material.name),
        designs=tuple(
            (printable(label), dataclasses.replace(completed, space=_legible_space(completed.space)))
            for label, completed in material.designs
        ),
        reasons=_legible_reasons(material.reasons),
    )


def _named(things: tuple[Any, ...]) -> tuple[Any, ...]:
    return tuple(dataclasses.replace(one, name=printable(one.name)) for one in things)


def _legible_space(space: Space) -> Space:
    """Limits say by name what a design comes up against, and that is in the layout."""
    layout = space.layout
    sweeps = tuple((printable(name), sweep) for name, sweep in layout.sweeps)
    return dataclasses.replace(
        space, layout=dataclasses.replace(layout, sweeps=sweeps, bodies=_named(layout.bodies), kept=_named(layout.kept))
    )


def _legible_problem(problem: Problem) -> Problem:
    def sourced(things: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(dataclasses.replace(o, source=printable(o.source) if o.source else o.source) for o in things)

    room = problem.room
    return dataclasses.replace(
        problem,
        title=printable(problem.title),
        room=dataclasses.replace(
            room, doors=_named(room.doors), obstructions=_named(room.obstructions), openings=_named(room.openings)
        ),
        goals=sourced(problem.goals),
        limits=sourced(problem.limits),
        listings=tuple(dataclasses.replace(one, items=_named(one.items)) for one in problem.listings),
        currency=printable(problem.currency),
    )


def _legible_solution(solution: Solution) -> Solution:
    problem, card = _legible_problem(solution.problem), solution.card
    if card is not None:
        # the card carries the goals, whose sources are printed
        shown = tuple(dataclasses.replace(one, goal=problem.goals[one.index]) for one in card.goals)
        card = dataclasses.replace(card, goals=shown)
    space = solution.space and _legible_space(solution.space)
    return dataclasses.replace(solution, problem=problem, space=space, card=card)


def _legible_reasons(reasons: Reasons) -> Reasons:
    """The nearest design too is drawn with names from the file."""
    found = reasons.concessions
    if found is None or found.joint is None:
        return reasons
    joint = dataclasses.replace(found.joint, solution=_legible_solution(found.joint.solution))
    return dataclasses.replace(reasons, concessions=dataclasses.replace(found, joint=joint))
