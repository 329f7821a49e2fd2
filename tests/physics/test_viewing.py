"""Viewing geometry against published angles and distances, and against plain trigonometry."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.physics import viewing

DEG = math.pi / 180.0


def angle_at_heights(heights: float, aspect: float) -> float:
    return viewing.horizontal_angle(width=aspect, distance=heights) / DEG


@pytest.mark.parametrize(
    "heights, aspect, degrees, tolerance",
    [
        # Rec. ITU-R BS.775-3 (08/2012), Fig. 1: screens at 3 H and 2 H subtend 33 and 48 degrees (16:9)
        (3.0, 16 / 9, 33.0, 0.1),
        (2.0, 16 / 9, 48.0, 0.1),
        # angles at 2, 3 and 4 picture heights for 2.39:1, as quoted by a film-forum page (frontdesk.co.in)
        (2.0, 2.39, 61.8, 0.1),
        (3.0, 2.39, 43.4, 0.1),
        (4.0, 2.39, 33.3, 0.1),
        # ITU-R BT.1845-1 (2010), from memory, unverified; 32 degrees at 3.1 H for 1920 x 1080
        (3.1, 16 / 9, 32.0, 0.05),
    ],
)
def test_angle_at_published_picture_heights(heights, aspect, degrees, tolerance):
    assert angle_at_heights(heights, aspect) == pytest.approx(degrees, abs=tolerance)


@pytest.mark.parametrize(
    "widths, degrees",
    # "two and six" rule: first row at 2 W, last row at 6 W (britannica.com, motion-picture technology);
    # the angles are those of the right triangle with legs 0.5 and the distance, in degrees
    [(2.0, 28.07), (6.0, 9.53)],
)
def test_angle_at_two_and_six_widths(widths, degrees):
    assert viewing.horizontal_angle(width=1.0, distance=widths) / DEG == pytest.approx(degrees, abs=0.01)


@pytest.mark.parametrize(
    "degrees, distance_over_width",
    # 1 / (2 tan(angle / 2)) by hand; 60 degrees is the equilateral triangle (sqrt(3)/2), 90 the half square
    [(30, 1.8660), (36, 1.5388), (40, 1.3737), (45, 1.2071), (50, 1.0723), (60, math.sqrt(3) / 2), (90, 0.5)],
)
def test_distance_for_an_angle(degrees, distance_over_width):
    ratio = viewing.half_ratio_of_angle(angle=degrees * DEG)
    assert 0.5 / ratio == pytest.approx(distance_over_width, abs=1e-4)


def test_horizontal_angle_against_the_law_of_cosines():
    # the triangle eye, left edge, right edge: cos = (a^2 + b^2 - W^2) / 2ab
    for width, distance, offset in [(3.0, 3.5, 0.0), (3.0, 3.5, 1.0), (2.4, 1.0, 3.0), (4.0, 0.3, 0.7)]:
        a, b = math.hypot(distance, offset + width / 2), math.hypot(distance, offset - width / 2)
        expected = math.acos((a * a + b * b - width * width) / (2 * a * b))
        seen = viewing.subtended_angle(width=width, distance=distance, offset=offset)
        assert seen == pytest.approx(expected, abs=1e-9)
        assert seen == pytest.approx(viewing.subtended_angle(width=width, distance=distance, offset=-offset), abs=1e-12)
        cotangent = (distance**2 + offset**2 - width**2 / 4) / (width * distance)
        assert viewing.angle_of_cotangent(cotangent=cotangent) == pytest.approx(expected, abs=1e-9)


def test_worked_angles():
    # 2 atan(1.5/3.5) and atan(0.5/3.5) + atan(2.5/3.5) on a pocket calculator
    assert viewing.horizontal_angle(width=3.0, distance=3.5) / DEG == pytest.approx(46.397, abs=1e-3)
    assert viewing.subtended_angle(width=3.0, distance=3.5, offset=1.0) / DEG == pytest.approx(43.668, abs=1e-3)


def test_centre_seat_sees_the_widest_angle():
    offsets = np.linspace(-5.0, 5.0, 101)
    angles = viewing.subtended_angle(width=3.0, distance=2.0, offset=offsets)
    assert angles.shape == offsets.shape
    assert np.argmax(angles) == 50
    assert np.all((angles > 0.0) & (angles < math.pi))
    assert angles[50] == pytest.approx(viewing.horizontal_angle(width=3.0, distance=2.0), abs=1e-12)


def test_links_and_their_inverses():
    angles = np.linspace(1e-6, math.pi - 1e-6, 1001)
    there = viewing.angle_of_half_ratio(ratio=viewing.half_ratio_of_angle(angle=angles))
    np.testing.assert_allclose(there, angles, atol=1e-9)
    there = viewing.angle_of_cotangent(cotangent=viewing.cotangent_of_angle(angle=angles))
    np.testing.assert_allclose(there, angles, atol=1e-9)
    slopes = np.linspace(-1.5, 1.5, 301)
    np.testing.assert_allclose(viewing.angle_of_slope(slope=viewing.slope_of_angle(angle=slopes)), slopes, atol=1e-12)


def test_link_ends():
    assert viewing.half_ratio_of_angle(angle=math.pi) == math.inf
    assert viewing.half_ratio_of_angle(angle=0.0) == 0.0
    assert viewing.angle_of_half_ratio(ratio=math.inf) == pytest.approx(math.pi)
    assert viewing.cotangent_of_angle(angle=0.0) == math.inf
    assert viewing.cotangent_of_angle(angle=math.pi) == -math.inf
    assert viewing.cotangent_of_angle(angle=math.pi / 2) == pytest.approx(0.0, abs=1e-15)
    assert viewing.angle_of_cotangent(cotangent=math.inf) == 0.0
    assert viewing.angle_of_cotangent(cotangent=-math.inf) == pytest.approx(math.pi)
    assert viewing.slope_of_angle(angle=math.pi / 2) == math.inf
    assert viewing.slope_of_angle(angle=-math.pi / 2) == -math.inf


@pytest.mark.parametrize(
    "rise, run, degrees",
    [
        # edges of an image from 0.90 to 2.60 m seen from 1.10 m high, by calculator
        (1.5, 3.5, 23.199),
        (-0.2, 3.5, -3.270),
        (1.5, 2.5, 30.964),
        # Rec. ITU-R BT.1845 reference screen: corner at azimuth 29, elevation -17.3 degrees, aspect 1.78,
        # as used by the ITU-R BS.2076 guidelines; elevation of the lower edge at the middle of the side
        (-math.tan(29 * DEG) / 1.78, 1.0, -17.3),
        (1.0, 1.0, 45.0),
    ],
)
def test_elevation(rise, run, degrees):
    assert viewing.elevation(rise=rise, run=run) / DEG == pytest.approx(degrees, abs=5e-3)


@pytest.mark.parametrize(("ahead", "aside", "straight"), [(3.0, 4.0, 5.0), (12.0, -5.0, 13.0), (2.5, 0.0, 2.5)])
def test_distances_in_plan(ahead, aside, straight):
    """Right triangles of whole numbers: elementary geometry."""
    square = viewing.square_of_distance(ahead=ahead, aside=aside)
    assert viewing.distance_of_square(square=square) == pytest.approx(straight, rel=1e-12)


def test_a_distance_is_never_below_nothing_and_never_no_number():
    assert viewing.distance_of_square(square=-1e-18) == 0.0
    with pytest.raises(ValueError, match="square"):
        viewing.distance_of_square(square=math.nan)


def test_reference_screen_width_in_picture_heights():
    # Rec. ITU-R BT.1845 as used by ITU-R BS.2076: width 58 degrees at aspect 1.78 is the 1.6 H of ITU-R
    # BT.2022 (viewing-distance table, from memory, unverified)
    distance = 0.5 / viewing.half_ratio_of_angle(angle=58 * DEG)
    assert viewing.picture_heights(distance=distance, height=1 / 1.78) == pytest.approx(1.6, abs=0.01)


@pytest.mark.parametrize(
    "lines, heights",
    # ITU-R BT.2022 (08/2012) and BT.500-14 (2019): design viewing distance, from memory, unverified
    [(720, 4.8), (1080, 3.2), (2160, 1.6), (4320, 0.8)],
)
def test_design_viewing_distance_puts_sixty_pixels_in_a_degree(lines, heights):
    # one arc-minute a pixel is 60 pixels a degree; the printed distances are rounded to a tenth
    per_degree = viewing.pixels_per_degree(pixels=1.0, width=1.0 / lines, distance=heights)
    assert per_degree == pytest.approx(60.0, rel=0.01)


def test_pixels_per_degree_worked():
    # one pixel of 3 m / 3840 at 3.5 m is 0.012789 degree, the reciprocal 78.19; D tan(1 deg) gives 78.20
    assert viewing.pixels_per_degree(pixels=3840, width=3.0, distance=3.5) == pytest.approx(78.20, abs=0.01)
    assert viewing.pixels_per_degree(pixels=3840, width=3.0, distance=3.5) == pytest.approx(
        1.0 / math.degrees(math.atan(3.0 / 3840 / 3.5)), rel=2e-4
    )


@pytest.mark.parametrize(
    "aspect, width, height",
    # a diagonal of 100, Pythagoras by hand; 4:3 is the 3-4-5 triangle
    [(16 / 9, 87.158, 49.026), (1.85, 87.971, 47.552), (2.39, 92.250, 38.599), (2.40, 92.308, 38.462), (4 / 3, 80, 60)],
)
def test_image_size(aspect, width, height):
    got = viewing.image_size(diagonal=100.0, aspect=aspect)
    assert got == pytest.approx((width, height), abs=1e-3)
    assert viewing.diagonal_of_width(width=width, aspect=aspect) == pytest.approx(100.0, abs=2e-3)


def test_digital_cinema_containers():
    # 4096 x 1716 and 3998 x 2160 pixels (from memory, unverified): square pixels, so the area is the count
    for columns, rows in [(4096, 1716), (3998, 2160)]:
        area = viewing.area_of_width(width=columns, aspect=columns / rows)
        assert area == pytest.approx(columns * rows)
        assert viewing.width_of_area(area=columns * rows, aspect=columns / rows) == pytest.approx(columns)


def test_area_of_a_hundred_inch_image():
    # 87.158 in x 49.026 in = 4273.0 square inches = 2.7568 m2
    width, _ = viewing.image_size(diagonal=2.54, aspect=16 / 9)
    assert viewing.area_of_width(width=width, aspect=16 / 9) == pytest.approx(2.7568, abs=1e-4)


def test_arrays_broadcast():
    angles = viewing.horizontal_angle(width=np.array([[2.0], [3.0]]), distance=np.array([3.0, 4.0, 5.0]))
    assert angles.shape == (2, 3)
    assert angles[1, 2] == pytest.approx(2 * math.atan(0.3))


@pytest.mark.parametrize(
    "call",
    [
        lambda v: viewing.horizontal_angle(width=v, distance=1.0),
        lambda v: viewing.horizontal_angle(width=1.0, distance=v),
        lambda v: viewing.subtended_angle(width=v, distance=1.0, offset=0.0),
        lambda v: viewing.subtended_angle(width=1.0, distance=v, offset=0.0),
        lambda v: viewing.elevation(rise=0.0, run=v),
        lambda v: viewing.picture_heights(distance=v, height=1.0),
        lambda v: viewing.picture_heights(distance=1.0, height=v),
        lambda v: viewing.pixels_per_degree(pixels=v, width=1.0, distance=1.0),
        lambda v: viewing.pixels_per_degree(pixels=1.0, width=v, distance=1.0),
        lambda v: viewing.pixels_per_degree(pixels=1.0, width=1.0, distance=v),
        lambda v: viewing.image_size(diagonal=v, aspect=1.0),
        lambda v: viewing.image_size(diagonal=1.0, aspect=v),
        lambda v: viewing.diagonal_of_width(width=v, aspect=1.0),
        lambda v: viewing.diagonal_of_width(width=1.0, aspect=v),
        lambda v: viewing.area_of_width(width=v, aspect=1.0),
        lambda v: viewing.width_of_area(area=v, aspect=1.0),
        lambda v: viewing.width_of_area(area=1.0, aspect=v),
    ],
)
@pytest.mark.parametrize("bad, words", [(0.0, "positive"), (-1.0, "positive"), (math.nan, "NaN"), (math.inf, "finite")])
def test_sizes_must_be_positive_numbers(call, bad, words):
    with pytest.raises(ValueError, match=words):
        call(bad)
    with pytest.raises(ValueError, match=words):
        call(np.array([1.0, bad]))


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda: viewing.half_ratio_of_angle(angle=3.2), "at most"),
        (lambda: viewing.half_ratio_of_angle(angle=-3.2), "at least"),
        (lambda: viewing.cotangent_of_angle(angle=-0.1), "zero or more"),
        (lambda: viewing.cotangent_of_angle(angle=3.2), "at most"),
        (lambda: viewing.slope_of_angle(angle=1.6), "at most"),
        (lambda: viewing.slope_of_angle(angle=-1.6), "at least"),
        (lambda: viewing.angle_of_slope(slope=math.nan), "NaN"),
        (lambda: viewing.angle_of_half_ratio(ratio=math.nan), "NaN"),
        (lambda: viewing.angle_of_cotangent(cotangent=math.nan), "NaN"),
        (lambda: viewing.subtended_angle(width=1.0, distance=1.0, offset=math.inf), "finite"),
        (lambda: viewing.horizontal_angle(width="3", distance=1.0), "must be a number"),
        (lambda: viewing.horizontal_angle(width=None, distance=1.0), "must be a number"),
        (lambda: viewing.horizontal_angle(width=True, distance=1.0), "must be a number"),
    ],
)
def test_out_of_range_is_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_positional_arguments_are_refused():
    with pytest.raises(TypeError):
        viewing.horizontal_angle(3.0, 3.5)


# --- what an angle is at most ---------------------------------------------------------------------


@given(
    width=st.floats(0.5, 6.0),
    distance=st.floats(0.3, 9.0),
    offset=st.floats(-5.0, 5.0),
    slant=st.sampled_from((0.0, 0.3, -0.3, 1.2)),
)
def test_no_seat_sees_an_image_wider_than_a_tangent_lets_it(width, distance, offset, slant):
    """The angle as the sum of those to the two edges, by the textbook."""
    seen = math.atan((width / 2 - offset) / distance) + math.atan((width / 2 + offset) / distance)
    above, below = viewing.slanting_quotient(width=width, distance=distance, offset=offset, slant=slant)
    assert viewing.angle_of_slanting(ratio=above / below, slant=slant) >= seen - 1e-9


@pytest.mark.parametrize("slant", [0.0, 0.3, -0.3, 0.7])
@pytest.mark.parametrize("degrees", [20.0, 45.0, 60.0, 89.0, 100.0])
def test_a_tangent_touches_the_circle_from_which_an_image_is_seen_so_wide(slant, degrees):
    """The inscribed angle theorem: the points from which 3 m fill an angle a lie on a circle of radius 1.5 / sin a about a
    point 1.5 / tan a before the image."""
    angle = math.radians(degrees)
    radius = 1.5 / math.sin(angle)
    offset, distance = radius * math.sin(slant), 1.5 / math.tan(angle) + radius * math.cos(slant)
    seen = math.atan((1.5 - offset) / distance) + math.atan((1.5 + offset) / distance)
    assert seen == pytest.approx(angle)
    above, below = viewing.slanting_quotient(width=3.0, distance=distance, offset=offset, slant=slant)
    assert viewing.angle_of_slanting(ratio=above / below, slant=slant) == pytest.approx(angle)
    assert viewing.slanting_of_angle(angle=angle, slant=slant) == pytest.approx(above / below)


def test_beyond_where_a_tangent_bounds_anything():
    """1 - cos and 1 + cos of 0.3 as they stand in it: the least of (1 + c) / t + (1 - c) t is 2 sin 0.3, at t = cot 0.15."""
    least = 2.0 * math.sin(0.3)
    assert viewing.angle_of_slanting(ratio=0.99 * least, slant=0.3) == math.pi
    assert viewing.angle_of_slanting(ratio=math.inf, slant=0.3) == 0.0
    turned = 2.0 * math.atan(1.0 / math.tan(0.15))
    assert viewing.slanting_of_angle(angle=np.array([turned, 3.1, math.pi]), slant=0.3) == pytest.approx([least] * 3)
