"""Extremes of forms against every design of small rooms; the solver's hooks that they stand on."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
from rooms import GRID, allowed, best_score, one_row, two_rows

from optimiser.explain.reach import Reach, farthest
from optimiser.forms import affine
from optimiser.linear import variable
from optimiser.measures import catalogue
from optimiser.problem.parts import with_value
from optimiser.score import Scorer
from optimiser.search import MARGIN
from optimiser.solve import PROMISE, solve

FORMS = [
    ("screen.width", None),
    ("row1.y", None),
    ("horizontal_angle", 1),
    ("upward_angle", 1),
    ("worst_seat_angle", 1),
    ("midpoint_offset", 1),
    ("mode_level", 1),
    ("door_clearance", None),
    ("direct_to_reverberant", 1),
    ("sightline_clearance", 2),
    ("image_area", None),
    ("seat_count", None),
]


def form_of(space, name, row):
    if "." in name:
        return affine(variable(name))
    measure = catalogue()[name]
    return measure.form(space.layout, space.layout.rows[row - 1]) if row else measure.form(space.layout)


@pytest.mark.parametrize("room", [one_row, two_rows])
def test_extremes_are_those_of_all_designs(room):
    problem = room()
    (space, designs, _), *_ = allowed(problem)
    scorer = Scorer(problem, space)
    reach = Reach(space, scorer.bounds)
    for name, row in FORMS:
        if row and row > space.rows:
            continue
        form = form_of(space, name, row)
        with np.errstate(all="ignore"):
            values = np.broadcast_to(form.value(designs), designs["row1.y"].shape)
        for greatest, expected in ((True, values.max()), (False, values.min())):
            found = reach.extreme(form, greatest=greatest)
            assert found.value == pytest.approx(expected, abs=2e-6), (name, greatest)
            if math.isfinite(expected):
                assert abs(found.bound - found.value) < 1e-5, (name, greatest)
                assert (found.bound >= found.value - 1e-9) if greatest else (found.bound <= found.value + 1e-9)
            assert not scorer.card(found.design).broken


@pytest.mark.parametrize("room", [one_row, two_rows])
@pytest.mark.parametrize("loss", [1.0, 5.0])
def test_extremes_under_a_floor_of_score(room, loss):
    problem = room()
    (space, designs, scores), *_ = allowed(problem)
    scorer = Scorer(problem, space)
    floor = scores.max() - loss
    good = {name: values[scores >= floor - 1e-9] for name, values in designs.items()}
    nearly = {name: values[scores >= floor - 0.2] for name, values in designs.items()}
    reach = Reach(space, scorer.bounds, scorer.targets, floor=float(floor))
    for name, row in FORMS:
        if row and row > space.rows:
            continue
        form = form_of(space, name, row)
        with np.errstate(all="ignore"):
            inside = np.broadcast_to(form.value(good), good["row1.y"].shape)
            outside = np.broadcast_to(form.value(nearly), nearly["row1.y"].shape)
        high, low = reach.extreme(form, greatest=True), reach.extreme(form, greatest=False)
        assert scorer.scores(high.design) >= floor - 1e-9 and scorer.scores(low.design) >= floor - 1e-9
        # exact on so coarse a grid, unless a design within the solver's blur of the floor goes farther
        if inside.max() == outside.max():
            assert high.value == pytest.approx(inside.max(), abs=2e-6), name
        assert inside.max() - 2e-6 <= high.bound or high.value == pytest.approx(inside.max())
        assert high.value <= inside.max() + 2e-6
        if inside.min() == outside.min():
            assert low.value == pytest.approx(inside.min(), abs=2e-6), name
        assert low.value >= inside.min() - 2e-6


def test_no_design_reaches_nothing():
    problem = one_row(text={"at_least: 2.2 m": "at_least: 4.2 m"})
    for space, designs, _ in allowed(problem):
        assert len(designs["row1.y"]) == 0
        reach = Reach(space, Scorer(problem, space).bounds)
        assert reach.extreme(affine(variable("row1.y")), greatest=True) is None
        assert reach.extreme(form_of(space, "upward_angle", 1), greatest=False) is None
    assert farthest([None, None], greatest=True) is None


def test_what_nothing_bounds_is_endless():
    problem = one_row(
        text={"  doors:\n    - {name: entry, wall: left, hinge: 1.3 m, leaf: 0.8 m, towards: front, opens: in}\n": ""}
    )
    (space, _, _), *_ = allowed(problem)
    found = Reach(space, Scorer(problem, space).bounds).extreme(form_of(space, "door_clearance", None), greatest=True)
    assert found.value == math.inf


def test_several_spaces_go_as_far_as_the_farthest():
    problem = one_row(text={"rows: 1": "rows: 1", "gap: 0.05 m,": 'gap: 0.05 m, aspect: {choose: ["16:9", "2.40:1"]},'})
    found, values = [], []
    for space, designs, _ in allowed(problem):
        form = form_of(space, "image_height", None)
        found.append(Reach(space, Scorer(problem, space).bounds).extreme(form, greatest=True))
        values.append(form.value(designs).max())
    assert len(found) == 2
    assert farthest(found, greatest=True).value == pytest.approx(max(values), abs=1e-6)


class TestWarmStart:
    @pytest.mark.parametrize("room", [one_row, two_rows])
    def test_the_answer_is_the_same_with_and_without(self, room):
        problem = room()
        best = solve(problem, grid=GRID)
        assert best.score == pytest.approx(best_score(problem), abs=MARGIN)
        for path, value in (("room.length", "6.9 m"), ("front.baffle.margin", "0.1 m"), ("room.height", "2.4 m")):
            changed = with_value(problem, path, value)
            cold, warm = solve(changed, grid=GRID), solve(changed, grid=GRID, start=best.design)
            assert warm.score == pytest.approx(cold.score, abs=MARGIN + 1e-9), path
            assert warm.bound <= warm.score + PROMISE and warm.bound >= cold.score - 1e-9
            assert not warm.card.broken

    def test_a_start_that_breaks_a_limit_is_no_start(self):
        problem = one_row()
        best = solve(problem, grid=GRID)
        wrong = {**best.design, "row1.y": 2.3}
        again = solve(problem, grid=GRID, start=wrong)
        assert again.score == pytest.approx(best.score, abs=MARGIN)
        strange = solve(problem, grid=GRID, start={"row1.y": 2.3})
        assert strange.score == pytest.approx(best.score, abs=MARGIN)


@pytest.mark.parametrize(("floor", "asked"), [(None, 1), (50.0, 2)])
def test_one_model_is_asked_once(floor, asked, monkeypatch):
    """With a score to keep there is a brief model and a longer one; without, both are one, and what it does not tell it
    does not tell the second time."""
    problem = one_row()
    (space, _, _), *_ = allowed(problem)
    scorer = Scorer(problem, space)
    reach = Reach(space, scorer.bounds, scorer.targets, floor=floor)
    seen = []

    def giving_up(branch, effort):
        seen.append(effort)
        return "UNKNOWN", SimpleNamespace(response_proto=SimpleNamespace(deterministic_time=0.01))

    monkeypatch.setattr(reach, "_spend", giving_up)
    assert not reach.none_beyond(affine(variable("screen.width")), 3.0, greatest=True)
    assert len(seen) == asked and max(seen) > 0.4  # the last has all that is left of half a second
