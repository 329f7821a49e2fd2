"""Half-planes that are to hold at once, against linear programs of a general library (scipy)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import linprog

from optimiser.physics.halfplanes import cancelling, longest_along_y

BOX = [((1.0, 0.0), 0.0), ((-1.0, 0.0), -5.0), ((0.0, 1.0), 0.0), ((0.0, -1.0), -7.0)]


def sides_of(rng: np.random.Generator, count: int):
    """A rectangle of 5 by 7 and some half-planes through points of it, two of them opposite."""
    angles = rng.uniform(0.0, 2.0 * math.pi, count)
    angles[1] = angles[0] + math.pi
    found = []
    for angle, through in zip(angles, rng.uniform((0.0, 0.0), (5.0, 7.0), (count, 2))):
        direction = math.cos(angle), math.sin(angle)
        found.append((direction, float(np.dot(direction, through)) - rng.uniform(-0.5, 1.5)))
    return BOX + found


def longest_by_program(sides):
    """The greatest t for which (x, y) and (x, y + t) lie in all half-planes; below 0 where nothing does."""
    rows = [[-a, -b, max(0.0, -b)] for (a, b), _ in sides]
    return linprog([0.0, 0.0, -1.0], A_ub=rows, b_ub=[-place for _, place in sides], bounds=[(None, None)] * 3)


@pytest.mark.parametrize("count", [2, 3, 4, 6])
def test_what_cancels_says_whether_anything_is_left_and_how_long_it_is(count):
    rng, told = np.random.default_rng(count), set()
    for _ in range(150):
        sides = sides_of(rng, count)
        lengths, empty = [math.inf], False
        for shares in cancelling(directions=[direction for direction, _ in sides]):
            assert all(0.0 < share <= 1.0 for _, share in shares) and max(share for _, share in shares) == 1.0
            total = np.sum([share * np.array(sides[k][0]) for k, share in shares], axis=0)
            np.testing.assert_allclose(total, 0.0, atol=1e-8)
            missing = sum(share * sides[k][1] for k, share in shares)
            along = sum(share * max(0.0, -sides[k][0][1]) for k, share in shares)
            if along > 1e-9:
                lengths.append(-missing / along)
            else:
                empty |= missing > 0.0
        found = linprog(
            [0.0, 0.0], A_ub=[[-a, -b] for (a, b), _ in sides], b_ub=[-p for _, p in sides], bounds=[(None, None)] * 2
        )
        there = found.status == 0
        told.add(there)
        assert there == (min(lengths) >= -1e-9 and not empty)
        stretch = longest_along_y(sides=sides)
        assert (stretch is not None) == there
        if there:
            x, start, end = stretch
            most = -longest_by_program(sides).fun
            assert end - start == pytest.approx(most, abs=1e-7) and min(lengths) == pytest.approx(most, abs=1e-7)
            for y in (start, end):
                assert all(a * x + b * y >= place - 1e-7 for (a, b), place in sides)
    assert told == {True, False}


def test_of_stretches_that_are_as_long_the_middle_one_is_taken():
    assert longest_along_y(sides=BOX) == pytest.approx((2.5, 0.0, 7.0))


def test_a_side_without_a_direction_holds_or_does_not():
    assert cancelling(directions=[(0.0, 0.0), (1.0, 0.0)]) == [((0, 1.0),)]
    assert longest_along_y(sides=[*BOX, ((0.0, 0.0), -0.1)]) == pytest.approx((2.5, 0.0, 7.0))
    assert longest_along_y(sides=[*BOX, ((0.0, 0.0), 0.1)]) is None
