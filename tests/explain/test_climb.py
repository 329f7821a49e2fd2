"""What is found without the solver, against every design of small rooms looked at."""

import numpy as np
import pytest
from rooms import allowed, best_score, every_design, one_row, two_rows

from optimiser.climb import Ground, highest, near, outermost
from optimiser.explain.reach import ENOUGH, Reach
from optimiser.forms import affine
from optimiser.linear import variable
from optimiser.problem.parts import with_value
from optimiser.score import Scorer

ROOMS = pytest.mark.parametrize("room", [one_row, two_rows])


def only(problem):
    (space, designs, scores), *_ = allowed(problem)
    return Scorer(problem, space), designs, scores


@ROOMS
def test_what_holds_and_what_falls_short_is_the_scorers_word(room):
    problem = room()
    space, designs = next(iter(every_design(problem)))
    scorer = Scorer(problem, space)
    count = len(designs["row1.y"])
    some = {name: values[:: max(1, count // 5000)] for name, values in designs.items()}
    count = len(some["row1.y"])
    ground = Ground(scorer)
    holds = ground.hold(some, count)
    assert 0 < holds.sum() < count
    assert np.array_equal(holds, np.broadcast_to(scorer.shortfall(some) == 0.0, (count,)))
    assert np.array_equal(holds, ground.short(some, count) == 0.0)
    first = {name: float(values[0]) for name, values in some.items()}
    assert ground.design(ground.point(first)) == pytest.approx(first, abs=1e-9)


@ROOMS
def test_the_highest_is_that_of_all_designs(room):
    """From a design of another room, whose limits it may break here."""
    problem = room()
    scorer, designs, scores = only(problem)
    best = int(np.argmax(scores))
    start = {name: float(values[best]) for name, values in designs.items()}
    for path, value in (("room.length", "6.9 m"), ("front.baffle.margin", "0.1 m"), ("room.height", "2.4 m")):
        other = with_value(problem, path, value)
        there, _, _ = only(other)
        found = highest(Ground(there), start)
        assert found is not None and not there.card(found).broken
        assert found == highest(Ground(there), start)  # the same answer every time
        assert there.card(found).score == pytest.approx(best_score(other), abs=0.1)


def test_where_nothing_holds_nothing_is_found():
    problem = one_row(text={"at_least: 2.2 m": "at_least: 4.2 m"})
    space, designs = next(iter(every_design(problem)))
    start = {name: float(values[0]) for name, values in designs.items()}
    assert highest(Ground(Scorer(problem, space)), start) is None


@ROOMS
def test_the_outermost_go_as_far_as_any(room):
    scorer, designs, scores = only(room())
    floor = float(scores.max()) - 3.0
    best = {name: float(values[int(np.argmax(scores))]) for name, values in designs.items()}
    names = ("row1.y", "screen.bottom")

    def raised(some):
        return np.array([some[name] for name in names] + [-some[name] for name in names])

    found = outermost(Ground(scorer), floor, [best], raised)
    assert all(not scorer.card(d).broken and scorer.card(d).score >= floor for d in found)
    good = {name: values[scores >= floor] for name, values in designs.items()}
    far = [good[n].max() for n in names] + [-good[n].min() for n in names]
    there = [sign * d[n] for d, n, sign in zip(found, names * 2, (1.0, 1.0, -1.0, -1.0))]
    assert all(t <= f + 1e-9 for t, f in zip(there, far))
    if room is one_row:  # among two rows, designs as good lie in islands, and a grid of 10 cm leaves no way over
        assert there == pytest.approx(far, abs=1e-9)
    assert outermost(Ground(scorer), 101.0, [best], raised) is None


def test_of_rows_in_one_place_no_score_is_asked():
    """Level rows in one place have no slope between them: 0 over 0 is no number."""
    level = {
        "step: 0.1 m, to: 0.4 m, risers: 2": "step: 0.1 m",
        "  - {measure: sightline_clearance, at_least: 0.05 m}\n": "",
        "goals:": "goals:\n  - {measure: aisle_slope, at_most: 10 deg, fade: 10 deg, weight: 9}",
    }
    scorer, designs, scores = only(two_rows(text=level))
    best = int(np.argmax(scores))
    start = {name: float(values[best]) for name, values in designs.items()}
    together = {**start, "row2.y": start["row1.y"]}
    ground = Ground(scorer)
    assert ground.sensible(ground.designs(np.array([ground.point(d) for d in (start, together)])), 2).tolist() == [1, 0]

    def raised(some):
        return np.array([some["row2.y"]])

    (found,) = outermost(ground, float(scores[best]) - 3.0, [start, together], raised)
    near = designs["row2.y"][scores >= scores[best] - 3.0]
    assert found["row2.y"] == pytest.approx(near.max(), abs=1e-9)


def test_near_a_design_lengths_are_fewer_and_choices_are_not():
    scorer, designs, _ = only(one_row())
    best = {name: float(values[0]) for name, values in designs.items()}
    narrow = near(scorer.space, best, 0.2)
    low, high = narrow["row1.y"].ends
    assert best["row1.y"] - 0.2 - 1e-9 <= low <= best["row1.y"] <= high <= best["row1.y"] + 0.2 + 1e-9
    assert narrow["row1.seats"] == scorer.space.domains["row1.seats"]


@ROOMS
@pytest.mark.parametrize("effort", [1e-9, 5.0])
def test_an_end_that_is_not_shown_is_told_with_what_is(room, effort):
    scorer, designs, scores = only(room())
    floor = float(scores.max()) - 2.0
    reach = Reach(scorer.space, scorer.bounds, scorer.targets, floor=floor)
    best = {name: float(values[int(np.argmax(scores))]) for name, values in designs.items()}
    near_, enough = (scores >= floor), (scores >= floor - ENOUGH - 1e-9)
    for name in ("row1.y", "screen.width", "screen.bottom"):
        form, values = affine(variable(name)), designs[name]
        for greatest, sign in ((True, 1.0), (False, -1.0)):
            found = reach.closed(form, best, greatest=greatest, close=0.05, effort=effort)
            assert sign * found.bound >= max(sign * values[near_]) - 1e-9
            assert sign * found.bound >= sign * found.value - 1e-9
            assert sign * found.value <= max(sign * values[enough]) + 1e-9
            if effort > 1.0:
                assert sign * found.value >= max(sign * values[near_]) - 0.05 - 1e-9
