"""Designs that cannot be: what is really in the way."""

import pytest

from optimiser.complete import complete
from optimiser.errors import ImpossibleProblem, UsageError
from optimiser.problem.decisions import read_values
from optimiser.problem.read import loads
from tests.study.rooms import BARN, STORE


def test_feet_that_would_come_before_the_image():
    """By hand: a reclined chair of 1.65 m with 0.2 m of it behind the eyes reaches 1.45 m ahead of them, so at 1.8 m
    the feet are at 0.35 m; the image is at 0.4 m."""
    with pytest.raises(ImpossibleProblem) as refused:
        complete(loads(STORE), {"row1.y": 1.8})
    assert str(refused.value) == (
        "no arrangement has these decisions: the feet of row 1, its chairs reclined, would come 50 mm before the image"
    )
    assert complete(loads(STORE), {"row1.y": 1.86}).card.broken  # 2 m to the image are asked for


def test_a_row_outside_the_room():
    """The store is 5.2 m long."""
    with pytest.raises(UsageError) as refused:
        read_values(loads(STORE), {"row1.y": "30 m"})
    assert str(refused.value) == "row1.y: 30000 mm lies outside the room, which is 5200 mm long"
    assert read_values(loads(STORE), {"row1.y": "5.2 m"}) == {"row1.y": 5.2}
    inside = complete(loads(STORE), {"row1.y": 5.1})  # in the rear wall with its back: told as a limit that breaks
    assert {r.limit.measure for r in inside.card.broken} >= {"rear_walkway"}


def test_rows_that_are_not_in_order():
    with pytest.raises(ImpossibleProblem, match="row 2 must lie 300 mm behind row 1 at least"):
        complete(loads(BARN), {"rows": 2.0, "row1.y": 4.0, "row2.y": 3.9})
