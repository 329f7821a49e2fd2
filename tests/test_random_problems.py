"""Problems that nobody thought of: no traceback, no broken limit, no score above the bound, and the
same answer to the same question."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.design import spaces
from optimiser.errors import ProblemFileError
from optimiser.problem.model import Problem
from optimiser.solve import Solution, solve
from tests.support.checker import judge_of
from tests.support.effort import examples
from tests.support.strategies import near, one_of, problems, random_designs

EFFORT = 0.2
"""Deterministic seconds for each model: enough for most, and what is not proven then must say so."""


def solved(problem: Problem, **how) -> Solution | None:
    """The solution; None where the problem's ranges leave no grid point, and it says so."""
    try:
        return solve(problem, effort=EFFORT, **how)
    except ProblemFileError as error:
        assert "range" in str(error)
        return None


def check(problem: Problem, solution: Solution) -> None:
    """What every answer promises, judged by the formulas."""
    if solution.design is None:
        assert solution.status in ("impossible", "unknown")
        assert solution.score is None and solution.bound is None and solution.gap is None
        return
    judge = judge_of(problem, solution.design)
    broken = {key: float(slack) for key, slack in judge.slacks(solution.design).items() if slack < 0}
    assert not broken
    assert judge.holds(solution.design)
    score = float(judge.score(solution.design))
    assert solution.score == pytest.approx(score, abs=1e-5)
    assert score <= solution.bound + 1e-6 and solution.bound <= 100.0 + 1e-9
    assert solution.gap == pytest.approx(max(0.0, solution.bound - solution.score), abs=1e-9)
    assert solution.status == ("optimal" if solution.gap <= 0.1 else "feasible")


def challenge(problem: Problem, solution: Solution, seed: int, count: int = 400, **grid) -> None:
    """Throw designs at the answer, some of them near it: none that holds every limit may beat the bound,
    and none may exist where the problem was called impossible."""
    bound = -math.inf if solution.status == "impossible" else solution.bound
    for space in spaces(problem, **grid):
        tries = [random_designs(space, seed, count)]
        if space.settled.items() <= (solution.design or {}).items():
            tries.append(near(space, solution.design, seed, count))
        for designs in tries:
            if len(designs["row1.y"]) and bound is not None:
                judge = judge_of(problem, {**space.settled})
                better = judge.holds(designs) & (judge.score(designs) > bound + 1e-6)
                assert not np.any(better), one_of(designs, int(np.argmax(better)))


@examples(25)
@given(problems(), st.integers(0, 2**32 - 1))
def test_every_answer_keeps_its_promises(problem, seed):
    solution = solved(problem)
    if solution is not None:
        check(problem, solution)
        challenge(problem, solution, seed)


@examples(6)
@given(problems(most_rows=2, most_goals=4), st.sampled_from([0.002, 0.013, 0.1]))
def test_on_any_grid_and_between_its_points(problem, grid):
    on, between = solved(problem, grid=grid), solved(problem, grid=grid, between=True)
    if on is None or between is None:
        return
    check(problem, between)
    assert on.status in ("unknown", "impossible") or on.design == between.design
    if on.design is not None:
        assert between.bound >= on.score - 1e-9
        for name, value in on.design.items():
            # a place of the solver's own choice lies on the grid
            if name.endswith(".y") and name.startswith("row") and name not in dict(problem.seating.place):
                assert math.isclose(value / grid, round(value / grid), abs_tol=1e-6), name


@examples(6)
@given(problems(most_rows=2))
def test_the_same_problem_has_the_same_answer(problem):
    first, second = solved(problem), solved(problem)
    if first is not None:
        assert (first.status, first.score, first.bound, first.design) == (
            second.status,
            second.score,
            second.bound,
            second.design,
        )
