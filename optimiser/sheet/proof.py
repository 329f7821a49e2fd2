"""What was proven of a design, in words."""

from __future__ import annotations

from collections.abc import Mapping

from optimiser.measures import catalogue
from optimiser.quantity import show_grid
from optimiser.solve import Solution
from optimiser.words import listed


def proof_words(solution: Solution) -> str:
    """What was proven, in one sentence."""
    grid = show_grid(solution.grid, solution.problem.show)
    where = f"no design at all{_read(solution)}" if solution.between else f"no design on the {grid} grid"
    where = " ".join([where, *([listed(solution.asked)] if solution.asked else [])])
    if not solution.problem.goals:
        return "All limits hold; the file states no goals, so nothing was scored."
    if solution.status == "optimal":
        return f"Scores {solution.score:.1f} of 100. Proven: {where} scores more than {solution.bound:.2f}."
    return (
        f"Scores {solution.score:.1f} of 100. Not proven best: {where} scores more than {solution.bound:.2f}, "
        f"but one up to {solution.gap:.2f} points better may exist."
    )


def pins_words(fixed: Mapping[str, str]) -> tuple[str, ...]:
    """What decisions that were fixed beside the file add to "no design"; nothing where none were."""
    return (f"with {listed(f'{name}={value}' for name, value in fixed.items())}",) if fixed else ()


def _read(solution: Solution) -> str:
    """What a proof takes as it is read from a table, also between the grid's points."""
    problem = solution.problem
    asked = (item.measure for item in (*problem.limits, *problem.goals))
    return ", bass as read from its table," if any("bass" in catalogue()[name].needs for name in asked) else ""
