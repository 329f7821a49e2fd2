"""Steps and walkways against the codes' own statements and against arithmetic."""

import math

import numpy as np
import pytest

from optimiser.physics import stairs

MM = 0.001
INCH = 0.0254


@pytest.mark.parametrize(
    "riser, going, walking, degrees, passes",
    # private stair of Approved Document K (2013), Table 1.1 and notes: at most 42 degrees, 2R + G between
    # 550 and 700 mm. Angles by calculator.
    [(220, 220, 660, 45.00, False), (220, 245, 685, 41.92, True), (180, 280, 640, 32.74, True)],
)
def test_private_stair(riser, going, walking, degrees, passes):
    line = stairs.walking_line(riser=riser * MM, going=going * MM)
    slope = stairs.pitch(riser=riser * MM, going=going * MM)
    assert line == pytest.approx(walking * MM)
    assert math.degrees(slope) == pytest.approx(degrees, abs=0.01)
    codes = stairs.CODES
    assert codes["adk_walking_line_least"].value <= line <= codes["adk_walking_line_most"].value
    assert (slope <= codes["adk_private_pitch_most"].value) is np.bool_(passes)


@pytest.mark.parametrize("riser, going, degrees, passes", [(175, 250, 34.99, True), (190, 250, 37.24, False)])
def test_gangway(riser, going, degrees, passes):
    # Approved Document K (2013), 1.4 a: gangways to spectator seats at most 35 degrees
    slope = stairs.pitch(riser=riser * MM, going=going * MM)
    assert math.degrees(slope) == pytest.approx(degrees, abs=0.01)
    assert (slope <= stairs.CODES["adk_gangway_pitch_most"].value) is np.bool_(passes)


@pytest.mark.parametrize("seats, inches", [(1, 12.0), (7, 12.0), (8, 12.6), (10, 13.8), (14, 16.2), (30, 22.0)])
def test_aisle_accessway(seats, inches):
    # California Building Code 1030.13.2.2, as quoted: 12 in and 0.6 in a seat beyond 7, at most 22 in
    assert stairs.aisle_accessway(seats=seats) == pytest.approx(inches * INCH)


def test_aisle_accessway_reaches_its_limit_at_24_seats():
    # (22 - 12) / 0.6 = 16.67 seats beyond seven
    widths = stairs.aisle_accessway(seats=np.arange(1, 40))
    assert np.all(np.diff(widths) >= 0.0)
    assert np.flatnonzero(np.isclose(widths, 22.0 * INCH))[0] + 1 == 24


@pytest.mark.parametrize(
    "name, inches",
    # inch values of the International Residential Code 2018, as quoted by a county's building department
    [
        ("irc_riser_most", 7.75),
        ("irc_going_least", 10.0),
        ("irc_stair_headroom_least", 80.0),
        ("irc_stair_width_least", 36.0),
        ("irc_guard_drop", 30.0),
        ("irc_guard_height_least", 36.0),
        ("irc_stair_guard_height_least", 34.0),
        # International Building Code, as quoted in a building-code forum
        ("ibc_aisle_tread_least", 11.0),
        ("ibc_aisle_riser_least", 4.0),
        ("ibc_aisle_riser_most", 8.0),
    ],
)
def test_inch_limits(name, inches):
    assert stairs.CODES[name].value == pytest.approx(inches * INCH, abs=1e-12)


def test_printed_millimetres_are_truncated_inches():
    # the codes print 196, 254, 2032, 914, 762 mm beside their inches (IRC 2018, as quoted)
    for name, printed in [
        ("irc_riser_most", 196),
        ("irc_going_least", 254),
        ("irc_stair_headroom_least", 2032),
        ("irc_stair_width_least", 914),
        ("irc_guard_drop", 762),
    ]:
        assert math.floor(stairs.CODES[name].value * 1000.0 + 1e-6) == printed


@pytest.mark.parametrize(
    "name, millimetres",
    # Approved Document K (2013), Table 1.1, 1.11, 1.22 and 1.41
    [
        ("adk_private_riser_least", 150),
        ("adk_private_riser_most", 220),
        ("adk_private_going_least", 220),
        ("adk_private_going_most", 300),
        ("adk_utility_riser_most", 190),
        ("adk_utility_going_least", 250),
        ("adk_general_riser_most", 170),
        ("adk_general_going_most", 400),
        ("adk_headroom_least", 2000),
        ("adk_door_to_step_least", 400),
        ("adk_guard_drop_dwelling", 600),
    ],
)
def test_millimetre_limits(name, millimetres):
    assert stairs.CODES[name].value == pytest.approx(millimetres * MM, abs=1e-12)


def test_every_limit_says_where_it_stands_and_how_far_to_trust_it():
    trusts = {stairs.PRIMARY, stairs.QUOTED, stairs.MEMORY}
    for name, limit in stairs.CODES.items():
        assert limit.clause and limit.edition, name
        assert limit.trust in trusts, name
        assert limit.unit in ("m", "rad"), name
        assert 0.0 < limit.value < 3.0, name
    with pytest.raises(TypeError):
        stairs.CODES["irc_riser_most"] = None


def test_least_never_exceeds_most():
    for name, limit in stairs.CODES.items():
        if name.endswith("_least") and name[:-6] + "_most" in stairs.CODES:
            assert limit.value < stairs.CODES[name[:-6] + "_most"].value, name


def test_risers_share_the_rise():
    # 24 in in three steps is 8 in each
    assert stairs.riser_height(rise=24 * INCH, count=3) == pytest.approx(8 * INCH)
    np.testing.assert_allclose(stairs.riser_height(rise=0.6, count=np.array([1, 2, 3, 4])), [0.6, 0.3, 0.2, 0.15])


@pytest.mark.parametrize(
    "inches, count", [(0, 0), (4, 1), (7.75, 1), (7.76, 2), (15.5, 2), (15.51, 3), (23.25, 3), (30, 4)]
)
def test_riser_count(inches, count):
    # multiples of 7 3/4 in by hand
    assert stairs.riser_count(rise=inches * INCH, limit=7.75 * INCH) == count


def test_rounding_asks_for_no_extra_riser():
    # 0.1 + 0.2 is 0.30000000000000004 in binary: still three risers of 0.1
    assert stairs.riser_count(rise=0.1 + 0.2, limit=0.1) == 3


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda: stairs.riser_height(rise=0.0, count=1), "rise must be positive"),
        (lambda: stairs.riser_height(rise=0.3, count=0), "count must be at least 1"),
        (lambda: stairs.riser_height(rise=0.3, count=1.5), "whole"),
        (lambda: stairs.riser_height(rise=math.nan, count=1), "NaN"),
        (lambda: stairs.riser_count(rise=-0.1, limit=0.2), "zero or more"),
        (lambda: stairs.riser_count(rise=0.1, limit=0.0), "positive"),
        (lambda: stairs.pitch(riser=-0.1, going=0.3), "riser must be positive"),
        (lambda: stairs.pitch(riser=0.1, going=0.0), "going must be positive"),
        (lambda: stairs.walking_line(riser=math.nan, going=0.3), "NaN"),
        (lambda: stairs.walking_line(riser=0.2, going=math.inf), "finite"),
        (lambda: stairs.aisle_accessway(seats=0), "at least 1"),
        (lambda: stairs.aisle_accessway(seats=3.5), "whole"),
        (lambda: stairs.aisle_accessway(seats=math.nan), "NaN"),
    ],
)
def test_bad_input(call, words):
    with pytest.raises(ValueError, match=words):
        call()
