"""Goals that count for nothing because their fades are too short: told, with the fade that would change that."""

from __future__ import annotations

import re

import pytest
from click.testing import CliRunner

from optimiser.cli import program
from optimiser.design import spaces
from optimiser.notes import notes
from optimiser.problem.read import loads
from tests.sheet.conftest import text


def told(goal: str) -> list[str]:
    """What is said of one goal by a room with an image 2.8 m wide, 475 mm from the front wall, and two rows of three
    seats, at 3.6 m and 5.3 m."""
    problem = loads(text(rows=2).replace("goals:\n", f"goals:\n  - {{measure: {goal}}}\n"))
    (space,) = spaces(problem)
    design = space.complete({name: domain.value for name, domain in space.domains.items()})
    return [note for note in notes(problem, space, design) if note.startswith("The goal for") and "0 %" in note]


NEARER = "scores 0 %, and a design a little nearer to it would score no more: its fade is"
WITH = "this design would score on it."


@pytest.mark.parametrize(
    ("goal", "note"),
    [
        ("seat_count, at_least: 9, fade: 2", f"seat count {NEARER} 2; with one of more than 3 {WITH}"),
        ("seat_count, at_most: 4, fade: 2", f"seat count {NEARER} 2; with one of more than 2 {WITH}"),
        (
            "image_width, at_least: 3 m, fade: 10 cm",
            f"image width {NEARER} 100 mm; with one of more than 200 mm {WITH}",
        ),
        # 2 atan(1.4 / 3.125) = 48.3 degrees in row 1, 2 atan(1.4 / 4.825) = 32.4 in row 2
        (
            "horizontal_angle, row: worst, at_least: 70 deg, fade: 5 deg",
            f"horizontal angle (worst) {NEARER} 5.0°; with one of more than 37.6° {WITH}",
        ),
        (
            "horizontal_angle, row: all, at_least: 70 deg, fade: 5 deg",
            f"horizontal angle (all) {NEARER} 5.0°; with one of more than 21.7° {WITH}",
        ),
    ],
)
def test_a_goal_beyond_its_fade_is_told(goal, note):
    assert told(goal) == [f"The goal for {note}"]


def test_a_goal_within_its_fade_is_not():
    assert told("seat_count, at_least: 9, fade: 4") == []


def test_it_is_told_beside_the_goals(tmp_path):
    """Not among what is said of how far numbers can be trusted, where nobody looks who wonders about a goal of 0 %."""
    room = tmp_path / "room.yaml"
    room.write_text(text(rows=2).replace("goals:\n", "goals:\n  - {measure: seat_count, at_least: 9, fade: 2}\n"))
    said = CliRunner().invoke(program, ["solve", str(room)]).output
    goals, limits = said.index("\nGoals\n"), said.index("\nLimits\n")
    assert goals < said.index("The goal for seat count scores 0 %") < limits
    assert CliRunner().invoke(program, ["sheet", str(room), "--out", str(tmp_path / "sheet")]).exit_code == 0
    page = (tmp_path / "sheet" / "sheet.html").read_text(encoding="utf-8").replace("\xa0", " ")
    (section,) = re.findall(r'<section[^>]* id="score".*?</section>', page, re.DOTALL)
    assert "The goal for seat count scores 0 %" in section and page.count("The goal for seat count scores 0 %") == 1
