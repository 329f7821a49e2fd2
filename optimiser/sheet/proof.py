"""What was proven of a design, in words."""

from __future__ import annotations

from optimiser.quantity import show
from optimiser.solve import Solution


def proof_words(solution: Solution) -> str:
    """What was proven, in one sentence."""
    grid = show("length", solution.grid, solution.problem.show)
    where = "no design at all" if solution.between else f"no design on the {grid} grid"
    if not solution.problem.goals:
        return "All limits hold; the file states no goals, so nothing was scored."
    if solution.status == "optimal":
        return f"Scores {solution.score:.1f} of 100. Proven: {where} scores more than {solution.bound:.2f}."
    return (
        f"Scores {solution.score:.1f} of 100. Not proven best: {where} scores more than {solution.bound:.2f}, "
        f"but one up to {solution.gap:.2f} points better may exist."
    )
