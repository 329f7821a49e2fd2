"""Extremes of measures are those of all designs, on grids so coarse that every design can be tried."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from optimiser import extremes
from optimiser.errors import UsageError
from optimiser.extremes import asked_for, asked_words, extreme
from optimiser.measures import catalogue
from optimiser.problem.model import Aisle, Fixed, Limit, Platforms, Range
from optimiser.problem.read import loads
from optimiser.sheet.proof import extreme_words, most_words
from optimiser.solve import solve
from optimiser.study.front import front
from tests.study.rooms import STORE
from tests.support.enumeration import every
from tests.support.rooms import choice, limit, small_room
from tests.support.seats import PER_SEAT

GRID = 0.1
BASE = small_room()
ONE_ROW = small_room(
    room=replace(BASE.room, doors=()),
    screen=replace(BASE.screen, bezel=Fixed(0.05)),
    seating=replace(BASE.seating, seats=choice(1, 2, 3)),
)
TWO_ROWS = small_room(
    room=replace(BASE.room, length=6.2, doors=()),
    baffle=replace(BASE.baffle, depth=Fixed(0.4)),
    screen=replace(BASE.screen, width=Range(1.6, 2.6), bezel=Fixed(0.05), bottom=Range(0.6, 0.8)),
    seating=replace(
        BASE.seating,
        rows=(2,),
        seats=choice(2, 3),
        aisle=Aisle("one", 0.7),
        platforms=Platforms(0.15, 0.45, Fixed(0.0), 2),
    ),
    limits=(limit("riser_step", None, 0.2), limit("sightline_clearance", 0.04), limit("listening_distance", 1.8)),
    goals=(),
)
ASKED = [
    ("upward_angle", "worst"),
    ("upward_angle", "all"),
    ("upward_angle", "reference"),
    ("upward_angle", "2"),
    ("downward_angle", "worst"),
    ("horizontal_angle", "worst"),
    ("off_axis_angle", "worst"),
    ("off_axis_angle", "worst seat"),
    ("horizontal_angle", "worst seat"),
    ("riser_step", "worst"),
    ("midpoint_offset", "worst"),
    ("walkway", "worst"),
    ("walkway", "2"),
    ("rear_wall_distance", "worst"),
    ("sightline_clearance", "worst"),
    ("image_width", None),
]


def farthest(problem, name: str, row: str | None, greatest: bool) -> float:
    """The extreme of all designs that hold every limit; of several rows or seats, of the worst of them."""
    found = []
    for tried in every(problem, GRID):
        if row == "worst seat":
            several = [
                s for r in tried.judge.rows_of(name, "all") for s in tried.judge.seat_values(name, tried.mesh, r)
            ]
        else:
            which = "worst" if row == "all" else row or "all"
            several = [(tried.judge.value(name, tried.mesh, r), True) for r in tried.judge.rows_of(name, which)]
        missing = np.inf if greatest else -np.inf
        values = np.stack([np.broadcast_to(np.where(there, value, missing), tried.shape) for value, there in several])
        worst = values.min(axis=0) if greatest else values.max(axis=0)
        inside = worst[np.broadcast_to(tried.good, tried.shape)]
        if inside.size:
            found.append(inside.max() if greatest else inside.min())
    return float(max(found) if greatest else min(found))


@pytest.mark.parametrize("greatest", [True, False], ids=["greatest", "least"])
@pytest.mark.parametrize(("name", "row"), ASKED)
def test_two_rows(name, row, greatest):
    expected = farthest(TWO_ROWS, name, row, greatest)
    found = extreme(TWO_ROWS, name, greatest=greatest, row=row, grid=GRID)
    assert found.value == pytest.approx(expected, abs=3e-6)
    assert found.bound == pytest.approx(expected, abs=1e-5)
    assert (found.bound >= found.value) if greatest else (found.bound <= found.value)
    # the design that follows is there, and keeps the value
    assert found.solution.status == "optimal" and not found.solution.card.broken
    kept = found.solution.problem.limits[-1]
    assert kept.measure == name
    assert (kept.at_least if greatest else kept.at_most) == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize("greatest", [True, False], ids=["greatest", "least"])
@pytest.mark.parametrize("name", sorted(PER_SEAT))
def test_a_seat_that_may_be_missing_holds_nobody_back(name, greatest):
    """With 1 to 3 seats the outer ones are there or not."""
    expected = farthest(ONE_ROW, name, "worst seat", greatest)
    found = extreme(ONE_ROW, name, greatest=greatest, row="worst seat", grid=GRID)
    assert found.value == pytest.approx(expected, abs=3e-6)
    assert found.bound == pytest.approx(expected, abs=1e-5)


def test_nobody_sits_off_axis_with_one_seat():
    """A single seat stands on the image's centre line: by definition."""
    assert extreme(ONE_ROW, "off_axis_angle", greatest=False, row="worst seat", grid=GRID).value == pytest.approx(0.0)


def test_options_that_are_not_given_are_told():
    found = extreme(ONE_ROW, "mode_null_offset", greatest=False, grid=GRID)
    assert found.options == (("order", 1), ("axis", "length"))
    found = extreme(ONE_ROW, "mode_null_offset", greatest=False, options=(("order", 2),), grid=GRID)
    assert found.options == (("order", 2), ("axis", "length"))


@pytest.mark.parametrize(
    "text, row, expected",
    [
        ("image_width", None, {"name": "image_width", "row": None, "options": ()}),
        ("row_pitch", "2", {"name": "row_pitch", "row": "2", "options": ()}),
        ("row_pitch[2]", None, {"name": "row_pitch", "row": "2", "options": ()}),
        ("mode_level[row=worst, order=2]", None, {"name": "mode_level", "row": "worst", "options": (("order", 2),)}),
    ],
)
def test_an_extreme_is_asked_for_by_a_text(text, row, expected):
    assert asked_for(text, row) == expected


@pytest.mark.parametrize(
    "text, row, message",
    [
        ("row_pitch[2]", "3", "the row is given twice"),
        ("image_width[order=2]", None, "image_width has no option 'order'"),
        ("mode_level[order=9]", None, "'9' is no order: write 1, 2, 3 or 4"),
        ("imag_width[order=2]", None, "unknown measure 'imag_width': did you mean 'image_width'"),
    ],
)
def test_an_extreme_that_cannot_be_asked_for_is_refused(text, row, message):
    with pytest.raises(UsageError, match=re.escape(message)):
        asked_for(text, row)


def test_a_measure_with_options_is_raised_and_the_proof_says_of_which_designs_it_is():
    """The second mode's nulls lie at 1/4 and 3/4 of the length: a row can be no farther from both than at 1/2, or at an end."""
    found = extreme(ONE_ROW, **asked_for("mode_null_offset[order=2]"), greatest=True, grid=GRID)
    assert found.options == (("order", 2), ("axis", "length"))
    first = extreme(ONE_ROW, "mode_null_offset", greatest=True, grid=GRID)
    assert found.value == pytest.approx(float(found.bound), abs=1e-6) and found.value != pytest.approx(first.value)
    words = extreme_words(found.measure, found.options, found.row, found.greatest)
    assert words == "with the greatest mode null offset (order 2, axis length)"
    assert asked_words(found.measure, found.options) == "mode_null_offset[order=2,axis=length]"
    assert asked_words(first.measure, first.options) == "mode_null_offset"


def test_what_interval_arithmetic_leaves_open_may_have_an_end():
    """The door's step is a distance along the room, and none is longer than the room; without a step there is
    no bound."""
    room = replace(TWO_ROWS, room=replace(TWO_ROWS.room, doors=BASE.room.doors))
    found = extreme(room, "door_to_step", greatest=False, row="2", grid=GRID)
    assert found.value == pytest.approx(farthest(room, "door_to_step", "2", False), abs=3e-6)
    with pytest.raises(UsageError, match="nothing bounds it"):
        extreme(room, "door_to_step", greatest=True, row="1", grid=GRID)


def test_with_fewer_rows_the_last_is_the_reference_row():
    """Two rows do not fit into 3.6 m; of one row, the reference row is the only one."""
    room = replace(ONE_ROW.room, length=3.6)
    short = replace(ONE_ROW, room=room, seating=replace(ONE_ROW.seating, rows=(1, 2), reference_row=2))
    found = extreme(short, "horizontal_angle", greatest=True, grid=GRID)
    alone = replace(short, seating=replace(short.seating, rows=(1,), reference_row=1))
    assert found.value == pytest.approx(farthest(alone, "horizontal_angle", "1", True), abs=3e-6)
    with pytest.raises(UsageError, match="no design that has horizontal_angle for row '2' holds all limits"):
        extreme(short, "horizontal_angle", greatest=True, row="2", grid=GRID)


def test_no_limits_are_blamed_for_a_row_of_which_the_solver_could_not_tell(monkeypatch):
    """That it found no design of two rows is no proof that there is none."""

    def solved(problem, **how):
        found = solve(problem, **how)
        return replace(found, status="unknown", design=None, card=None) if problem.seating.rows == (2,) else found

    monkeypatch.setattr("optimiser.extremes.solve", solved)
    some = replace(ONE_ROW, seating=replace(ONE_ROW.seating, rows=(1, 2)))
    found = extreme(some, "horizontal_angle", greatest=True, row="2", grid=GRID)
    assert (found.value, found.bound, found.solution.status) == (None, None, "unknown")


def test_a_cost_of_millions_has_an_end_like_any_other():
    """One to three chairs at two millions each, in a currency of small coin."""
    dear = STORE.replace("seats: 3", "seats: {choose: [1, 2, 3]}").replace(
        "head_above_eye: 0.12 m}", "head_above_eye: 0.12 m, price: 2000000}"
    )
    problem = loads(dear.replace("format: 1", "format: 1\ncurrency: groats"))
    for greatest, value in ((True, 6e6), (False, 2e6)):
        found = extreme(problem, "cost", greatest=greatest, grid=GRID)
        assert (found.value, found.bound) == pytest.approx((value, value))
    points = front(problem, ["cost", "rear_wall_distance:lower"], grid=GRID).points
    assert [p.values for p in points] == [pytest.approx((6e6, 0.5))]


@pytest.mark.parametrize("greatest", [True, False])
def test_how_far_the_only_door_is_where_there_is_none_has_no_end(greatest):
    with pytest.raises(UsageError, match=f"no {'greatest' if greatest else 'least'} value here: nothing bounds it"):
        extreme(ONE_ROW, "door_clearance", greatest=greatest, grid=GRID)


@pytest.mark.parametrize(
    ("name", "row", "message"),
    [
        ("image_width", "1", "image_width is one value for the whole design: leave the row out"),
        ("upward_angle", "worst seat", "upward_angle has one value for a whole row"),
        ("upward_angle", "banana", "there is no row 'banana': write reference, worst, worst seat or a number"),
        ("upward_angle", "0", "there is no row '0'"),
        ("upward_angle", "3", "it needs a row 3 or a later one"),
        ("sightline_clearance", "1", "it needs a row 2 or a later one"),
        ("throw_ratio", None, "throw_ratio needs projector"),
    ],
)
def test_what_cannot_be_asked(name, row, message):
    with pytest.raises(Exception, match=message) as refused:
        extreme(TWO_ROWS, name, greatest=True, row=row, grid=GRID)
    assert refused.value.exit_code == 2


@pytest.mark.parametrize(("greatest", "stride"), [(True, 2 * 0.35 + 0.28), (False, 2 * 0.01 / 3 + 0.28)])
def test_the_stride_of_steps_is_told_of_rows_that_have_some(greatest, stride):
    """Up to 350 mm in one riser, or 10 mm in three, on treads of 280 mm. On the floor there is no stride, neither long
    nor short, and a platform of nothing has none at all."""
    platforms = Platforms(0.01, 0.35, Fixed(0.0), 3, going=0.28)
    risen = replace(TWO_ROWS, limits=(), seating=replace(TWO_ROWS.seating, platforms=platforms))
    assert extreme(risen, "walking_line", greatest=greatest, row="2").value == pytest.approx(stride)
    flat = replace(risen, seating=replace(risen.seating, place=(("row2.platform", Fixed(0.0)),)))
    with pytest.raises(UsageError, match="no design that has walking_line for row '2' holds all limits"):
        extreme(flat, "walking_line", greatest=greatest, row="2")


def test_impossible_problems_stay_impossible():
    never = replace(TWO_ROWS, limits=(*TWO_ROWS.limits, Limit("listening_distance", "all", 9.0, None)))
    found = extreme(never, "upward_angle", greatest=False, row="worst", grid=GRID)
    assert found.value is None and found.solution.status == "impossible"


def test_the_best_design_at_an_extreme_is_looked_for_from_one_that_has_it(monkeypatch):
    """So near the edge a solver may give up before it finds one again: then the extreme, known, would have no design."""
    begun = []

    def watched(problem, *, start=None, **how):
        begun.append(start)
        return solve(problem, start=start, **how)

    solve = extremes.solve
    monkeypatch.setattr(extremes, "solve", watched)
    found = extreme(TWO_ROWS, "walkway", greatest=True, row="2", grid=GRID)
    assert found.solution.design is not None and begun[-1] is not None
    measure = catalogue()["walkway"]
    row = found.solution.space.layout.rows[1]
    assert float(measure.form(found.solution.space.layout, row).value(begun[-1])) == pytest.approx(found.value)


def test_a_printed_bound_is_never_less_than_what_is_proven_or_than_the_printed_score():
    assert most_words(96.0605, 96.0933) == "96.10"
    assert most_words(92.0, 92.041) == "92.05"
    assert most_words(92.06, 92.06) == "92.10"  # the score is printed as 92.1
    assert most_words(100.0, 100.0) == "100.00"
