"""What was proven of a design, in words."""

from __future__ import annotations

from collections.abc import Mapping

from optimiser.measures import catalogue
from optimiser.quantity import show_grid
from optimiser.solve import Solution
from optimiser.words import listed, measure_words, rounded_words


def proof_words(solution: Solution) -> str:
    """What was proven, in one sentence."""
    grid = show_grid(solution.grid, solution.problem.show)
    where = f"no design at all{_read(solution)}" if solution.between else f"no design on the {grid} grid"
    where = " ".join([where, *([listed(solution.asked)] if solution.asked else [])])
    if not solution.problem.goals:
        return "All limits hold; the file states no goals, so nothing was scored."
    most = most_words(solution.score, solution.bound)
    if solution.status == "optimal":
        return f"Scores {solution.score:.1f} of 100. Proven: {where} scores more than {most}."
    return (
        f"Scores {solution.score:.1f} of 100. Not proven best: {where} scores more than {most}, "
        f"but one up to {solution.gap:.2f} points better may exist."
    )


def extreme_words(measure: str, options: tuple[tuple[str, object], ...], row: str, greatest: bool) -> str:
    """What a measure that was raised or lowered as far as it goes adds to "no design"."""
    of_row = {"worst": " of the worst row", "worst seat": " of the worst seat"}.get(row, "")
    of_row = f" in row {row}" if row.isdigit() else of_row
    return f"with the {'greatest' if greatest else 'least'} {measure_words(measure, options)}{of_row}"


def most_words(score: float, bound: float) -> str:
    """A proven bound as it is printed beside a score: rounded up, and no less than the score is printed as."""
    return rounded_words(max(bound, round(score, 1)), 2, up=True)


def pins_words(fixed: Mapping[str, str]) -> tuple[str, ...]:
    """What decisions that were fixed beside the file add to "no design"; nothing where none were."""
    return (f"with {listed(f'{name}={value}' for name, value in fixed.items())}",) if fixed else ()


def _read(solution: Solution) -> str:
    """What a proof takes as it is read from a table, also between the grid's points."""
    problem = solution.problem
    asked = (item.measure for item in (*problem.limits, *problem.goals))
    return ", bass as read from its table," if any("bass" in catalogue()[name].needs for name in asked) else ""
