"""Answers against a general solver of nonlinear programs (SCIP), which knows no grid and none of our compiling.

Checked on every possible file of ``problems/``: SCIP's optimum over real-valued lengths is under the
bound that is stated for designs between the grid's points, and within PROMISE of the answer; the answer
is under SCIP's own bound.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimiser.problem.items import chosen
from optimiser.problem.read import load
from optimiser.score import Scorer
from optimiser.solve import PROMISE, solve
from tests.support import global_solver
from tests.support.files import POSSIBLE
from tests.support.rooms import limit, long_room

SLACK = 1e-5
"""How far SCIP may let a constraint be missed: ten times its feasibility tolerance, for cuts of some metres."""

HUNDREDTH = 0.01
"""Points by which SCIP's score of its own design may differ from the exact one."""

UNKNOWN: dict[str, str] = {
    "coach-house": "Cases",
    "hay-loft": "a function that is not known",
    "pump-house": "Tabulated",
}
"""Files with measures that cannot be told to SCIP, and which ones they are."""


def agree(problem) -> None:
    theirs = global_solver.solve(problem, seconds=300.0)
    assert theirs.whole and theirs.design is not None
    card = Scorer(problem, theirs.space).card(theirs.design)
    # one that holds with less slack stands at the edge of what a limit is about, as a projector just clear of a row
    assert not [r for r in card.limits if r.slack < -SLACK and not r.holds]
    assert card.score == pytest.approx(theirs.score, abs=HUNDREDTH)

    ours = solve(problem, between=True)
    assert ours.score <= theirs.bound + HUNDREDTH
    assert theirs.score <= ours.bound + HUNDREDTH
    assert theirs.score - ours.score <= PROMISE


@pytest.mark.parametrize("name", POSSIBLE)
def test_a_general_solver_finds_nothing_better_in_any_file(name):
    problem = load(POSSIBLE[name])
    if problem.listings:  # SCIP is told what was taken, and chooses all else
        problem = chosen(problem, solve(problem).design)
    if name in UNKNOWN:
        with pytest.raises(NotImplementedError, match=UNKNOWN[name]):
            global_solver.solve(problem)
    else:
        agree(problem)


def test_a_general_solver_finds_nothing_better_in_the_hay_loft_by_sabines_formula():
    """Eyring's is a function that SCIP is not told; Sabine's is a quotient. Nor is direct over reverberant sound, whose
    distance may come to nothing in the rows' ranges."""
    problem = load(POSSIBLE["hay-loft"])
    goals = tuple(goal for goal in problem.goals if goal.measure != "direct_to_reverberant")
    agree(replace(problem, room=replace(problem.room, formula="sabine"), goals=goals))


@pytest.mark.parametrize("rows", [1, 2, 3])
def test_a_general_solver_finds_nothing_better_for_a_dozen_goals(rows):
    agree(long_room((rows,)))


def test_a_general_solver_finds_a_room_impossible_too():
    """Rows 8 m apart in a room of 7.1 m."""
    problem = long_room((2,), limits=(*long_room().limits, limit("row_pitch", 8.0)))
    assert global_solver.solve(problem).design is None
    assert solve(problem).status == "impossible"
