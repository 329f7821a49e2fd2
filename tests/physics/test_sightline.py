"""Sightline clearance against the published stadium exercise and against straight lines."""

import math

import numpy as np
import pytest

from optimiser.physics import sightline


@pytest.mark.parametrize(
    "clearance, rise",
    # D = 30 m, R = 10 m, T = 1 m, C = 0.15 m are the inputs of the published exercise (plus.maths.org,
    # item 8823); the rises are worked by hand, (10 + C) 31/30 - 10
    [(0.15, 0.488333), (0.06, 0.39533), (0.09, 0.42633), (0.12, 0.45733)],
)
def test_stadium_exercise(clearance, rise):
    got = sightline.rise_for_clearance(focus_distance=30.0, eye_above_focus=10.0, row_pitch=1.0, clearance=clearance)
    assert got == pytest.approx(rise, abs=1e-5)


@pytest.mark.parametrize(
    "eye_above_focus, clearance, rise",
    # D = 3.5 m, T = 1.2 m, by hand: (R + C) 4.7/3.5 - R; the last with the image's foot above the eye
    [
        (0.30, 0.06, 0.18343),
        (0.30, 0.09, 0.22371),
        (0.30, 0.12, 0.26400),
        (0.30, 0.15, 0.30429),
        (-0.10, 0.12, 0.12686),
    ],
)
def test_small_room(eye_above_focus, clearance, rise):
    got = sightline.rise_for_clearance(
        focus_distance=3.5, eye_above_focus=eye_above_focus, row_pitch=1.2, clearance=clearance
    )
    assert got == pytest.approx(rise, abs=1e-5)


def test_clearance_is_the_height_of_a_straight_line_over_the_front_eye():
    # independent: interpolate the line from the focus (0, 0) to the rear eye at the front eye's distance
    random = np.random.default_rng(7)
    for _ in range(200):
        d, t = random.uniform(1.0, 8.0), random.uniform(0.5, 2.0)
        r, n = random.uniform(-1.0, 1.0), random.uniform(-0.2, 0.8)
        height = np.interp(d, [0.0, d + t], [0.0, r + n])
        got = sightline.clearance(focus_distance=d, eye_above_focus=r, row_pitch=t, rise=n)
        assert got == pytest.approx(height - r, abs=1e-12)
        back = sightline.rise_for_clearance(focus_distance=d, eye_above_focus=r, row_pitch=t, clearance=got)
        assert back == pytest.approx(n, abs=1e-12)


def test_row_chain_against_its_closed_form():
    # with constant C the slopes add up: R_n/D_n = R_1/D_1 + C sum 1/D_k
    distance, above, pitch, wanted = 4.0, 0.4, 1.0, 0.12
    rises = []
    for _ in range(4):
        rise = sightline.rise_for_clearance(
            focus_distance=distance, eye_above_focus=above, row_pitch=pitch, clearance=wanted
        )
        rises.append(rise)
        distance, above = distance + pitch, above + rise
    closed = 8.0 * (0.4 / 4.0 + 0.12 * (1 / 4 + 1 / 5 + 1 / 6 + 1 / 7))
    assert above == pytest.approx(closed, abs=1e-12)
    assert rises == pytest.approx([0.25, 0.274, 0.294, 0.31114], abs=1e-5)
    assert rises == sorted(rises)


def test_line_of_sight_at_the_focus_height_needs_no_slope():
    # R + C = 0: the sight line is level at the focus, so N = -R whatever the distances
    for d, t in [(2.0, 0.9), (7.0, 1.6)]:
        got = sightline.rise_for_clearance(focus_distance=d, eye_above_focus=-0.2, row_pitch=t, clearance=0.2)
        assert got == pytest.approx(0.2)


def test_front_eye_in_the_way_is_negative():
    assert sightline.clearance(focus_distance=3.0, eye_above_focus=0.3, row_pitch=1.0, rise=0.0) < 0.0


def test_arrays():
    got = sightline.clearance(focus_distance=3.0, eye_above_focus=0.0, row_pitch=1.0, rise=np.array([0.0, 0.2, 0.4]))
    np.testing.assert_allclose(got, [0.0, 0.15, 0.30], atol=1e-12)


GOOD = {"focus_distance": 3.0, "eye_above_focus": 0.3, "row_pitch": 1.0}


@pytest.mark.parametrize(
    "name, bad, words",
    [
        ("focus_distance", 0.0, "focus_distance must be positive"),
        ("focus_distance", -1.0, "focus_distance must be positive"),
        ("focus_distance", math.nan, "NaN"),
        ("row_pitch", 0.0, "row_pitch must be positive"),
        ("row_pitch", math.inf, "finite"),
        ("eye_above_focus", math.nan, "NaN"),
    ],
)
def test_bad_input(name, bad, words):
    with pytest.raises(ValueError, match=words):
        sightline.clearance(**{**GOOD, name: bad}, rise=0.2)
    with pytest.raises(ValueError, match=words):
        sightline.rise_for_clearance(**{**GOOD, name: bad}, clearance=0.1)
    with pytest.raises(ValueError, match="NaN"):
        sightline.clearance(**GOOD, rise=math.nan)
    with pytest.raises(ValueError, match="NaN"):
        sightline.rise_for_clearance(**GOOD, clearance=math.nan)
