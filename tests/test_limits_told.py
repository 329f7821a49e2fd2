"""Which limits a result lists: the file's, and of the room's own those that say something."""

from __future__ import annotations

import pytest

from optimiser.design import spaces
from optimiser.problem.model import Limit
from optimiser.requirements import room_limits, stated_at
from optimiser.score import LimitResult, Scorer
from optimiser.sheet.tables import limits_table
from tests.measures.conftest import problem
from tests.measures.test_projection import BEAM, ONE

DESIGN = {name: value for name, value in ONE.items() if not name.startswith("projector")}


def told(limits: str, **changes):
    found = problem(more=limits)
    card = Scorer(found, next(iter(spaces(found, grid=0.001)))).card(DESIGN | changes)
    return [(r.limit.measure, r.row, r.own, r.holds) for r in card.telling], card


@pytest.mark.parametrize("asked", [False, True])
def test_what_the_file_says_already_is_said_once(asked):
    """Row 1's chairs end at 3.5 + 0.2 = 3.7 m; row 2's begin 1.3 m before its eyes: at 5.0 m the way between is 0."""
    limits = "limits:\n  - {measure: walkway, row: 2, at_least: 0 m}\n" if asked else ""
    found, _ = told(limits, **{"row2.y": 5.0})
    assert [one for one in found if one[0] == "walkway"] == [("walkway", 2, not asked, True)]


def test_a_looser_limit_of_the_file_says_less():
    limits = "limits:\n  - {measure: walkway, row: 2, at_least: -1 m}\n"
    found, _ = told(limits, **{"row2.y": 5.0})
    assert [one for one in found if one[0] == "walkway"] == [("walkway", 2, False, True), ("walkway", 2, True, True)]


def test_a_broken_limit_of_the_room_is_always_told():
    limits = "limits:\n  - {measure: walkway, row: 2, at_least: 0 m}\n"
    found, _ = told(limits, **{"row2.y": 4.9})
    assert [one for one in found if one[0] == "walkway"] == [("walkway", 2, False, False), ("walkway", 2, True, False)]


def test_what_no_design_can_break_is_not_near():
    """The first row stands on the floor: its risers are 0, and no decision of the file makes them less."""
    found, card = told("")
    assert not [one for one in found if one[0] == "riser_step"]
    assert any(r.limit.measure == "riser_step" and r.settled for r in card.limits)


@pytest.mark.parametrize(("most", "risers", "near"), [("3/8 in", 2, False), ("1/2 in", 1, False), ("0 in", 2, True)])
def test_risers_that_are_equal_are_near_no_limit_above_nothing(most, risers, near):
    """One flight's risers are equal: a difference of 0, which is as small as any, though 3/8 in is less than the inch within
    which other lengths are near their limits. At a limit of 0 it binds all the same."""
    steps = {"row2.platform": 0.2, "row2.risers": float(risers)}
    _, card = told(f"limits:\n  - {{measure: riser_difference, at_most: {most}}}\n", **steps)
    (found,) = [r for r in card.tightest if r.limit.measure == "riser_difference" and not r.own]
    assert (found.value, found.near) == (0.0, near)


@pytest.mark.parametrize(
    ("least", "most", "slack", "binds"),
    [
        (None, 0.009525, 0.003175, False),  # risers 1/4 in apart, where 3/8 in are allowed: a third of it is left
        (None, 0.009525, 0.0019, True),
        (0.02, None, 0.004, True),
        (0.02, None, 0.0041, False),
        (0.0, None, 0.006, True),
        (2.0, None, 0.006, True),
        (2.0, None, 0.0061, False),
        (0.01, 3.0, 0.004, True),  # of two ends the nearer one
    ],
)
def test_a_limit_binds_within_what_is_lost_in_building_and_no_more_than_a_fifth_of_it(least, most, slack, binds):
    limit = Limit("row_gap", "all", least, most)
    value = most - slack if most is not None else least + slack
    assert LimitResult(0, limit, False, "length", None, value, slack, True, False).binds == binds


def test_what_a_key_of_the_file_asks_is_not_put_on_the_room():
    """An aisle of 0.8 m and a throw of 1.3 to 2.1 are the file's wishes; that a frame is under the ceiling is not."""
    found = problem(("  chair:", "  aisle: {sides: both, width: 0.8 m}\n  chair:"), more=BEAM)
    asked = {limit.measure: stated_at(limit) for limit in room_limits(found)}
    assert (asked["aisle_width"], asked["throw_ratio"]) == ("seating.aisle.width", "projector.throw_ratio")
    assert asked["frame_to_ceiling"] is asked["walkway"] is None
    assert {stated_at(limit) for limit in room_limits(problem(("margin: 50 mm", "margin: 0 mm")))} == {None}
    space, design = next(iter(spaces(found, grid=0.001))), ONE | {"aisle.side": 0.0, "projector.y": 4.4}
    table, _ = limits_table(space, design, Scorer(found, space).card(design), "m")
    assert [row[-1] for row in table.rows if row[0] == "throw ratio"] == ["projector.throw_ratio"]
