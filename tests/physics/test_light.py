"""Light on the screen against published luminances and worked examples."""

import math

import numpy as np
import pytest

from optimiser.physics import light

FOOT = 0.3048


@pytest.mark.parametrize(
    "foot_lamberts, candelas",
    [
        # SMPTE ST 431-1:2006 (ISO 26431-1:2008), as quoted: 48.0 cd/m2 (14.0 fL); bands 3.5 and 10.2 cd/m2
        (14.0, 48.0),
        (11.03, 37.8),
        (16.99, 58.2),
        (12.99, 44.5),
        (15.03, 51.5),
        # SMPTE EG 3-1994, 4.1: 16 fL (55 cd/m2)
        (16.0, 55.0),
    ],
)
def test_published_pairs(foot_lamberts, candelas):
    assert light.luminance_of_foot_lamberts(foot_lamberts=foot_lamberts) == pytest.approx(candelas, abs=0.2)
    assert light.foot_lamberts(luminance=candelas) == pytest.approx(foot_lamberts, abs=0.06)


def test_light_over_a_head():
    # by similar triangles: a lens 2.4 m up and 6 m away, an image from 0.6 m: 0.3 m up for each metre
    got = light.path_clearance(image_bottom=0.6, lens_height=2.4, throw=6.0, distance=np.array([2.0, 4.0]), head=1.25)
    np.testing.assert_allclose(got, [0.6 + 0.6 - 1.25, 0.6 + 1.2 - 1.25])
    # a head on the line from (0, 0.5) to (5, 2.5): at 2 m it is 1.3 m up
    on_it = light.path_clearance(image_bottom=0.5, lens_height=2.5, throw=5.0, distance=2.0, head=1.3)
    assert on_it == pytest.approx(0.0)
    with pytest.raises(ValueError, match="behind the lens"):
        light.path_clearance(image_bottom=0.6, lens_height=2.4, throw=6.0, distance=6.0, head=1.25)
    with pytest.raises(ValueError, match="throw"):
        light.path_clearance(image_bottom=0.6, lens_height=2.4, throw=0.0, distance=1.0, head=1.25)


def test_foot_lambert():
    # a glossary of audio-visual terms: 1/pi candela per square foot, or 3.426 cd/m2
    assert light.luminance_of_foot_lamberts(foot_lamberts=1.0) == pytest.approx(3.426, abs=5e-4)
    assert light.luminance_of_foot_lamberts(foot_lamberts=1.0) == pytest.approx(3.4262591, abs=1e-7)
    values = np.linspace(0.0, 60.0, 13)
    there = light.foot_lamberts(luminance=light.luminance_of_foot_lamberts(foot_lamberts=values))
    np.testing.assert_allclose(there, values, atol=1e-12)


@pytest.mark.parametrize("lumens, foot_lamberts", [(1000.0, 20.83), (2000.0, 41.66)])
def test_published_example_six_by_eight_feet(lumens, foot_lamberts):
    # a primer on video projection of 2003: lumens over 48 square feet; the page cuts off after two decimals
    got = light.luminance(lumens=lumens, width=8 * FOOT, aspect=8 / 6, gain=1.0)
    assert light.foot_lamberts(luminance=got) == pytest.approx(foot_lamberts, abs=0.01)


def test_luminance_of_a_lambertian_sheet():
    # independent: a matt white sheet of illuminance E shines with L = E / pi; integrate L cos over the hemisphere
    lumens, width, aspect = 1000.0, 2.54 * 0.871576, 16 / 9
    got = light.luminance(lumens=lumens, width=width, aspect=aspect, gain=1.0)
    theta = np.linspace(0.0, math.pi / 2, 20001)
    leaving = np.trapezoid(got * np.cos(theta) * 2 * math.pi * np.sin(theta), theta)
    assert leaving * width**2 / aspect == pytest.approx(lumens, rel=1e-6)
    # 1000 lm on a 100 in 16:9 image of 2.7568 m2: 115.46 cd/m2, 33.70 fL
    assert got == pytest.approx(115.46, abs=0.01)


@pytest.mark.parametrize("gain, lumens", [(1.0, 567.9), (0.8, 709.8)])
def test_lumens_for_the_cinema_white(gain, lumens):
    # pi 48 9/2.39 by calculator
    got = light.lumens_for_luminance(luminance=48.0, width=3.0, aspect=2.39, gain=gain)
    assert got == pytest.approx(lumens, abs=0.1)
    assert light.luminance(lumens=got, width=3.0, aspect=2.39, gain=gain) == pytest.approx(48.0)


def test_width_for_luminance_inverts():
    for width in (1.5, 2.7, 4.2):
        white = light.luminance(lumens=1800.0, width=width, aspect=2.35, gain=1.1, open_area=0.06)
        got = light.width_for_luminance(luminance=white, lumens=1800.0, aspect=2.35, gain=1.1, open_area=0.06)
        assert got == pytest.approx(width)


def test_perforation():
    # 5 % of holes leave 95 % of the gain (a general article on screen materials; weak source); none leaves it whole
    assert light.gain_of_perforated(gain=1.2, open_area=0.05) == pytest.approx(1.14)
    assert light.gain_of_perforated(gain=1.2, open_area=0.0) == 1.2
    whole = light.luminance(lumens=1000.0, width=3.0, aspect=1.78, gain=1.0)
    holed = light.luminance(lumens=1000.0, width=3.0, aspect=1.78, gain=1.0, open_area=0.07)
    assert holed / whole == pytest.approx(0.93)


def test_share_of_chip():
    # rows of a 3840 x 2160 chip under a 2.39:1 image: 1606.69 of 2160, 74.384 %; 4:3 takes 2880 of 3840 columns
    assert light.share_of_chip(aspect=2.39, chip_aspect=16 / 9) == pytest.approx(0.74384, abs=1e-5)
    assert light.share_of_chip(aspect=4 / 3, chip_aspect=16 / 9) == pytest.approx(2880 / 3840)
    assert light.share_of_chip(aspect=16 / 9, chip_aspect=16 / 9) == 1.0


def test_same_width_means_same_luminance_within_the_chip():
    # a letterboxed image of the same width is lit as the full picture was: the chip's light over the chip's area
    full = light.luminance(lumens=2000.0, width=3.0, aspect=16 / 9, gain=1.0)
    share = light.share_of_chip(aspect=2.4, chip_aspect=16 / 9)
    assert light.luminance(lumens=2000.0 * share, width=3.0, aspect=2.4, gain=1.0) == pytest.approx(full)


@pytest.mark.parametrize("distance, width, ratio", [(2.0, 1.0, 2.0), (4.5, 3.0, 1.5)])
def test_throw_ratio(distance, width, ratio):
    # a glossary of audio-visual terms: a ratio of 2.0 means 2 feet of distance for each foot of width
    assert light.throw_ratio(distance=distance, width=width) == pytest.approx(ratio)


def test_chip_image_width():
    # a 4:3 image 3 m wide is 2.25 m high; the 16:9 chip round it is 4 m wide. A wider image fills the chip's width
    assert light.chip_image_width(width=3.0, aspect=4 / 3, chip_aspect=16 / 9) == pytest.approx(4.0)
    assert light.chip_image_width(width=3.0, aspect=2.4, chip_aspect=16 / 9) == 3.0


@pytest.mark.parametrize("pitch, metres", [(0.001, 3.438), (0.002, 6.875), (0.005, 17.189)])
def test_resolved_distance(pitch, metres):
    # one arc-minute is 1/3437.75 rad: pitch times 3437.75
    assert light.resolved_distance(pitch=pitch) == pytest.approx(metres, abs=1e-3)


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda v: light.luminance(lumens=v, width=3.0, aspect=2.0, gain=1.0), "lumens"),
        (lambda v: light.luminance(lumens=1.0, width=v, aspect=2.0, gain=1.0), "width"),
        (lambda v: light.luminance(lumens=1.0, width=3.0, aspect=v, gain=1.0), "aspect"),
        (lambda v: light.luminance(lumens=1.0, width=3.0, aspect=2.0, gain=v), "gain"),
        (lambda v: light.lumens_for_luminance(luminance=v, width=3.0, aspect=2.0, gain=1.0), "luminance"),
        (lambda v: light.width_for_luminance(luminance=v, lumens=1.0, aspect=2.0, gain=1.0), "luminance"),
        (lambda v: light.width_for_luminance(luminance=1.0, lumens=v, aspect=2.0, gain=1.0), "lumens"),
        (lambda v: light.share_of_chip(aspect=v, chip_aspect=1.0), "aspect"),
        (lambda v: light.share_of_chip(aspect=1.0, chip_aspect=v), "chip_aspect"),
        (lambda v: light.gain_of_perforated(gain=v, open_area=0.0), "gain"),
        (lambda v: light.throw_ratio(distance=v, width=1.0), "distance"),
        (lambda v: light.throw_ratio(distance=1.0, width=v), "width"),
        (lambda v: light.chip_image_width(width=v, aspect=1.0, chip_aspect=1.0), "width"),
        (lambda v: light.resolved_distance(pitch=v), "pitch"),
    ],
)
@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_quantities_must_be_positive_numbers(call, words, bad):
    with pytest.raises(ValueError, match=words):
        call(bad)


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda: light.foot_lamberts(luminance=-1.0), "zero or more"),
        (lambda: light.luminance_of_foot_lamberts(foot_lamberts=math.nan), "NaN"),
        (lambda: light.gain_of_perforated(gain=1.0, open_area=1.0), "below 1"),
        (lambda: light.gain_of_perforated(gain=1.0, open_area=-0.1), "zero or more"),
        (lambda: light.luminance(lumens=1.0, width=1.0, aspect=1.0, gain=1.0, open_area=math.nan), "NaN"),
    ],
)
def test_out_of_range_is_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
