"""Every seat of a design, against plain coordinates; and goals and limits on the worst of them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from optimiser.design import spaces
from optimiser.errors import ProblemFileError
from optimiser.measures import catalogue
from optimiser.record import solution_record
from optimiser.score import Scorer
from optimiser.seats import seats
from optimiser.solve import solve
from tests.measures.conftest import problem
from tests.support.checker import judge_of
from tests.support.seats import PER_SEAT

DESIGN = {
    "screen.width": 3.0,
    "screen.bezel": 0.05,
    "screen.bottom": 0.8,
    "baffle.depth": 0.42,
    "row1.y": 3.5,
    "row1.platform": 0.0,
    "row1.seats": 3.0,
    "row1.risers": 1.0,
    "row2.y": 5.2,
    "row2.platform": 0.3,
    "row2.seats": 4.0,
    "row2.risers": 2.0,
}


def number(text: str) -> float:
    """A number as it is written above, in metres or radians where it has a unit."""
    value, _, unit = text.partition(" ")
    return math.radians(float(value)) if unit == "deg" else float(value)


def between(a, b) -> float:
    """Angle between two directions."""
    return math.acos(np.dot(a, b) / np.linalg.norm(a) / np.linalg.norm(b))


def test_every_seat_by_coordinates():
    (space,) = spaces(problem())
    found = seats(space, DESIGN)
    assert [(s.row, s.number) for s in found] == [(1, 1), (1, 2), (1, 3), (2, 1), (2, 2), (2, 3), (2, 4)]
    # 0.7 m seats about the middle of a room of 4.4 m
    assert [s.x for s in found] == pytest.approx([1.5, 2.2, 2.9, 1.15, 1.85, 2.55, 3.25])
    for seat in found:
        eye = np.array([seat.x, seat.y])
        left, middle, right = (np.array([2.2 + dx, 0.5]) - eye for dx in (-1.5, 0.0, 1.5))
        assert seat.horizontal_angle == pytest.approx(between(left, right))
        assert seat.off_axis == pytest.approx(between(middle, (0.0, -1.0)), abs=1e-7)
        assert seat.distance == pytest.approx(np.linalg.norm(middle))
        to_left, to_right = (np.array([2.2 + dx, 0.42]) - eye for dx in (-1.35, 1.35))
        # turned away from straight ahead: to the left counts for the left one, to the right for the right one
        assert seat.loudspeakers == pytest.approx(
            (math.atan2(-to_left[0], -to_left[1]), math.atan2(to_right[0], -to_right[1]))
        )
    assert [s.sightline for s in found[:3]] == [None] * 3
    over = float(catalogue()["sightline_clearance"].form(space.layout, space.layout.rows[1]).value(DESIGN))
    assert [s.sightline for s in found[3:]] == [over] * 4


def test_the_worst_seat_is_the_worst_of_the_table():
    goals = "".join(
        f"  - {{measure: {name}, row: worst seat, band: [{low}, {high}], fade: {fade}}}\n"
        for name, (low, high, fade) in PER_SEAT.items()
    )
    found = problem(more=goals)
    (space,) = spaces(found)
    card = Scorer(found, space).card(DESIGN)
    table = seats(space, DESIGN)
    values = {
        "horizontal_angle": [s.horizontal_angle for s in table],
        "off_axis_angle": [s.off_axis for s in table],
        "loudspeaker_angle": [a for s in table for a in s.loudspeakers],
        # from each seat's ears to the nearest of the three in front, 1.35 m apart at 0.42 m from the front wall
        "listening_distance": [
            min(math.dist((s.x, s.y), (2.2 + across, 0.42)) for across in (-1.35, 0.0, 1.35)) for s in table
        ],
        "picture_heights": [s.distance / (3.0 / (16 / 9)) for s in table],
    }
    for result in card.goals[1:]:
        low, high, fade = (number(text) for text in PER_SEAT[result.goal.measure])
        measured = np.array(values[result.goal.measure])
        outside = max(np.max(low - measured), np.max(measured - high), 0)
        assert 0.0 < result.score < 1.0, result.goal.measure
        assert result.score == pytest.approx(1 - outside / fade), result.goal.measure
        worst = result.worst
        of_it = [s for s in table if (s.row, s.number) == (result.rows[worst], result.seats[worst])]
        assert len(of_it) == 1


def test_of_seats_that_all_score_in_full_the_one_nearest_to_the_end_is_told():
    """By hand: from the middle one of three seats, 3 m before the image, its 3 m fill 2 atan(1.5 / 3) = 53.1 degrees,
    from those at the ends less. All are well within 80 degrees; the middle one is the nearest to that."""
    found = problem(
        ("rows: 2", "rows: 1"), more="  - {measure: horizontal_angle, row: worst seat, at_most: 80 deg, fade: 30 deg}\n"
    )
    (space,) = spaces(found)
    design = {k: v for k, v in DESIGN.items() if not k.startswith("row2")} | {"row1.seats": 3.0}
    result = Scorer(found, space).card(design).goals[1]
    assert result.score == 1.0
    assert result.seats[result.worst] == 2
    assert math.degrees(result.values[result.worst]) == pytest.approx(2 * math.degrees(math.atan(1.5 / 3.0)))


def test_a_seat_that_is_not_there_misses_nothing():
    """Row 1 of three seats is judged without the fourth seat that the file would allow."""
    found = problem(
        ("rows: 2", "rows: 1"), more="  - {measure: off_axis_angle, row: worst seat, at_most: 0 deg, fade: 30 deg}\n"
    )
    (space,) = spaces(found)
    one = {k: v for k, v in DESIGN.items() if not k.startswith("row2")}
    scorer = Scorer(found, space)
    for count, aside in ((3.0, 0.7), (4.0, 1.05)):
        design = one | {"row1.seats": count}
        expected = 1 - math.degrees(math.atan(aside / 3.0)) / 30
        assert scorer.card(design).goals[1].score == pytest.approx(expected)
    many = {k: np.full(2, v) for k, v in one.items()} | {"row1.seats": np.array([3.0, 4.0])}
    singly = [float(scorer.scores(one | {"row1.seats": n})) for n in (3.0, 4.0)]
    np.testing.assert_allclose(scorer.scores(many), singly)


@pytest.mark.parametrize("name", PER_SEAT)
def test_solved_for_the_worst_seat(name):
    """The second opinion scores the answer alike, and a limit on the worst seat holds in every seat."""
    low, high, fade = PER_SEAT[name]
    more = f"  - {{measure: {name}, row: worst seat, band: [{low}, {high}], fade: {fade}, weight: 3}}\n"
    more += "limits: [{measure: off_axis_angle, row: worst seat, at_most: 18 deg}]\n"
    found = problem(more=more)
    solution = solve(found, grid=0.02)
    assert solution.status == "optimal"
    judge = judge_of(found, solution.design)
    assert float(judge.score(solution.design)) == pytest.approx(solution.score, abs=1e-6)
    assert bool(judge.holds(solution.design))
    assert max(s.off_axis for s in seats(solution.space, solution.design)) <= math.radians(18) + 1e-6


def test_the_record_has_every_seat():
    solution = solve(problem(("rows: 2", "rows: 1")), grid=0.05)
    record = solution_record(solution)
    assert len(record["seats"]) == record["design"]["row1.seats"]
    first = record["seats"][0]
    assert (first["row"], first["seat"], first["sightline_clearance"]) == (1, 1, None)
    assert first["horizontal_angle"] == pytest.approx(
        math.degrees(seats(solution.space, solution.design)[0].horizontal_angle)
    )
    assert all(len(seat["loudspeaker_angles"]) == 2 for seat in record["seats"])


def test_measures_that_are_alike_along_a_row_have_no_worst_seat():
    with pytest.raises(ProblemFileError, match="upward_angle has one value for a whole row: write all or worst"):
        problem(more="  - {measure: upward_angle, row: worst seat, at_most: 15 deg, fade: 10 deg}\n")
