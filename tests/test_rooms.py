"""The rooms of problems/: every answer judged again by the independent checker, and what two of them are there to show."""

from __future__ import annotations

import pytest

from optimiser.notes import notes
from optimiser.problem.read import load
from optimiser.solve import PROMISE, solve
from tests.support.checker import judge_of
from tests.support.files import POSSIBLE


@pytest.mark.parametrize("name", POSSIBLE)
def test_the_checker_confirms_the_answer(name):
    problem = load(POSSIBLE[name])
    found = solve(problem)
    assert found.status == "optimal" and found.bound - found.score <= PROMISE
    judge = judge_of(problem, found.design)
    # the checker's bass is told more closely than the program's table: to 0.01 dB of a fade of decibels
    allowed = 0.05 if problem.bass is not None else 1e-6
    assert float(judge.score(found.design)) == pytest.approx(found.score, abs=allowed)
    assert bool(judge.holds(found.design))


def test_the_hay_loft_stands_back_rows_on_the_landing_and_says_that_it_is_no_box():
    problem = load(POSSIBLE["hay-loft"])
    found = solve(problem)
    assert found.design["row2.platform"] == pytest.approx(
        0.36, abs=0.015
    )  # the landing's level, a threshold's height off
    # V = 7.8 m * (5.6 m * 1.3 m + 5.6 m * 2.2 m / 2) = 104.8 m3
    assert found.space.layout.volume == pytest.approx(104.83, abs=0.01)
    said = notes(problem, found.space, found.design)
    assert any("in 105 m3" in note for note in said) and any("This room is no box" in note for note in said)


def test_the_pump_house_keeps_clear_of_its_flue_and_says_what_modal_control_does():
    problem = load(POSSIBLE["pump-house"])
    found = solve(problem)
    # the image and its two loudspeakers between the flue's side at 0.70 m and the right wall, whole tiles of 0.6 m
    assert found.design["baffle.left"] >= 0.70 and found.design["screen.width"] == pytest.approx(
        0.6 * found.design["screen.columns"]
    )
    said = notes(problem, found.space, found.design)
    assert any(note.startswith("With several subwoofers") for note in said)
    assert not any("are in the way" in note for note in said)
