"""Of designs that score the same, the one that a designer would draw."""

from __future__ import annotations

import pytest

from optimiser.bill import bill
from optimiser.problem.read import loads
from optimiser.score import Scorer
from optimiser.solve import solve
from optimiser.tidy import tidied

HALL = """\
format: 1
title: Wide hall
show: cm
room: {length: 5.2 m, width: 6.4 m, height: 2.6 m}
front:
  baffle: {depth: 40 cm, margin: 5 cm, centred: false}
  screen: {aspect: "16:9", width: 2.4 m, bezel: 5 cm, bottom: 0.7 m, centre: {from: 2.2 m, to: 4 m}, price: 900}
seating:
  rows: 1
  seats: 3
  chair: {width: 0.75 m, depth: 0.95 m, reclined: 1.65 m, eye_height: 1.1 m, eye_to_back: 0.2 m, price: 300, name: Wren}
goals:
  - {measure: horizontal_angle, row: all, band: [45 deg, 50 deg], fade: 20 deg}
"""


def answer(source: str):
    solution = solve(loads(source, "hall.yaml"))
    assert solution.status == "optimal"
    return solution


def test_an_image_that_may_stand_anywhere_stands_in_the_middle():
    """The hall is 6.4 m wide: its middle is at 3.2 m."""
    assert answer(HALL).design["screen.centre"] == pytest.approx(3.2)


def test_the_middle_is_kept_for_no_rounder_place():
    """The middle of 6.47 m is at 3.235 m."""
    assert answer(HALL.replace("width: 6.4 m", "width: 6.47 m")).design["screen.centre"] == pytest.approx(3.235)


def test_or_as_near_to_it_as_the_file_lets_it():
    source = HALL.replace("{from: 2.2 m, to: 4 m}", "{from: 2.2 m, to: 2.87 m}")
    assert answer(source).design["screen.centre"] == pytest.approx(2.87, abs=0.05)


def test_panels_that_no_goal_asks_for_are_left_out():
    source = HALL.replace(
        "height: 2.6 m}",
        "height: 2.6 m, surfaces: [{name: walls, of: walls, material: concrete}, {of: floor, material: thin carpet}], "
        "treatment: {panels: {from: 3, to: 9}, panel: 0.6 m2, on: walls, material: mineral wool 50 mm}}",
    )
    # more than 2 s, as bare as the hall is, whatever the panels
    source += "  - {measure: reverberation_time, at_most: 0.2 s, fade: 0.1 s}\n"
    solution = answer(source)
    scorer = Scorer(solution.problem, solution.space)
    many = {**solution.design, "treatment.panels": 7.0}
    assert float(scorer.scores(many)) == pytest.approx(solution.score)
    assert tidied(scorer, many, solution.score)["treatment.panels"] == 3.0


def test_what_the_file_gives_no_name_is_not_named_twice():
    solution = answer(HALL)
    found = {one.of: one.model for one in bill(solution.problem, solution.space, solution.design)}
    assert found == {"screen": "", "chair": "Wren"}
