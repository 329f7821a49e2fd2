"""Forms evaluated together give what they give alone, to the last bit; and what is no number stays none."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.climb import Ground
from optimiser.forms import (
    Asked,
    Capped,
    Cases,
    Gate,
    Greatest,
    Least,
    Link,
    Linked,
    Quotient,
    Sum,
    Unless,
    absolute,
    affine,
)
from optimiser.linear import constant, entry, variable
from optimiser.problem.read import load
from optimiser.score import Scorer, slack_of
from optimiser.solve import solve
from optimiser.tape import Tape
from tests.support.files import POSSIBLE

X, Y, PICK = variable("x"), variable("y"), entry("pick", {0.0: 2.0, 1.0: 5.0, 2.0: 7.0})
ROOT = Link(np.sqrt, np.square, low=0.0)
DESIGNS = {
    "x": np.array([1.0, -2.0, 0.0, 3.0]),
    "y": np.array([4.0, 1.0, 0.0, -1.0]),
    "pick": np.array([0.0, 1.0, 2.0, 1.0]),
}


def told(form):
    with np.errstate(all="ignore"):
        return Tape([form]).values(Asked(DESIGNS), 4)[0].tolist()


@pytest.mark.parametrize(
    ("form", "expected"),  # by hand
    [
        (affine(X * 2.0 + Y + 1.0), [7.0, -2.0, 1.0, 6.0]),
        (affine(PICK + X), [3.0, 3.0, 7.0, 8.0]),
        (affine(constant(3.0)), [3.0] * 4),
        (Quotient(X * X + Y, constant(2.0)), [2.5, 2.5, 0.0, 4.0]),
        (Quotient(X * X, Y * Y + 1.0), [1 / 17, 2.0, 0.0, 4.5]),
        (Linked(affine(X * 0.0 + 9.0), ROOT), [3.0] * 4),
        (Gate(X), [np.inf, -np.inf, np.inf, np.inf]),
        (absolute(X), [1.0, 2.0, 0.0, 3.0]),
        (Least((affine(X), Greatest((affine(Y), Gate(X))))), [1.0, -2.0, 0.0, 3.0]),
        (Capped(affine(X), (affine(Y),)), [1.0, -2.0, 0.0, 3.0]),
        (Sum(((2.0, affine(X)), (-1.0, affine(Y)))), [-2.0, -5.0, 0.0, 7.0]),
        (Cases(variable("pick"), ((0, affine(X)), (1, affine(Y)), (2, affine(X - Y)))), [1.0, 1.0, 0.0, -1.0]),
    ],
)
def test_by_hand(form, expected):
    assert told(form) == expected


def test_what_is_not_there_has_no_number():
    np.testing.assert_array_equal(told(Unless(X, affine(Y))), [np.nan, 1.0, np.nan, np.nan])


def test_nothing_over_nothing_is_no_number_where_the_form_refuses_it():
    def positive(ratio):
        if np.isnan(ratio).any():
            raise ValueError("no number")
        return 2.0 * ratio

    form = Quotient(X, Y, Link(positive, lambda t: t / 2.0))
    with pytest.raises(ValueError, match="no number"), np.errstate(all="ignore"):
        form.value(DESIGNS)
    np.testing.assert_array_equal(told(form), [0.5, -4.0, np.nan, -6.0])


def test_no_forms_have_no_values():
    assert Tape([]).values(Asked(DESIGNS), 4).shape == (0, 4)


@pytest.mark.parametrize("name", sorted(POSSIBLE))
def test_every_limit_and_goal_to_the_last_bit(name):
    """At designs all over the space, and about the best one, that keep what the room itself asks."""
    problem = load(POSSIBLE[name])
    solution = solve(problem)
    ground, rng = Ground(Scorer(problem, solution.space)), np.random.default_rng(3)
    best = ground.point(solution.design)
    about = best + np.rint(20.0 * rng.standard_normal((200, len(best))) * (rng.random((200, len(best))) < 0.5))
    points = np.concatenate([ground.spread(rng, 200), about, best[None]])
    points = np.clip(points, ground.low, ground.high).astype(np.int64)
    with np.errstate(all="ignore"):
        designs = ground.designs(points)
        good = ground.sensible(designs, len(points))
        for bound in (b for b in ground.bounds if b.own):
            slack = slack_of(bound.limit, np.broadcast_to(bound.form.value(designs), good.shape))
            good = good & (slack >= -1e-6)
        points = points[good]
        assert len(points)
        forms = [b.form for b in ground.scorer.bounds] + [f for t in ground.scorer.targets for f in t.forms]
        designs = Asked(ground.designs(points))
        alone = [np.broadcast_to(form.value(designs), (len(points),)) for form in forms]
        np.testing.assert_array_equal(Tape(forms).values(designs, len(points)), alone)
