"""Bass in third octaves against image sources' equal, a tube's closed form, and the planes that bound it."""

import math

import numpy as np
import pytest

from optimiser.physics.arrangements import ARRANGEMENTS
from optimiser.physics.bass import LINES, BassField
from tests.support.modal_sum import image_sum, response

C = 343.2
SIZE = (6.2, 4.1, 2.7)


def field(arrangement="four_corners", *, time=0.35, ears=(1.1, 1.6), band=(20.0, 80.0)):
    sources = tuple((y * SIZE[0], x * SIZE[1], 0.3) for y, x in ARRANGEMENTS[arrangement])
    return BassField(SIZE, sources, ears, band, time, C)


def means(bands, response):
    return 10 * np.log10((np.abs(response) ** 2).reshape(-1, bands, LINES).mean(axis=2))


@pytest.mark.parametrize("arrangement", sorted(ARRANGEMENTS))
def test_levels_are_means_of_the_response(arrangement):
    # the plain sum is held to image sources and finite elements in test_modal; its error and the field's are
    # each at most 1e-3 a source of the free field at 1 m, which is 0.1 dB at a level of -20 dB
    made = field(arrangement)
    random = np.random.default_rng(3)
    ears = random.uniform((0.0, 0.5, 1.1), (4.1, 6.2, 1.6), (12, 3))
    plain = response(
        length=SIZE[0],
        width=SIZE[1],
        height=SIZE[2],
        sources=[list(s) for s in made.sources],
        receivers=[[y, x, z] for x, y, z in ears],
        frequencies=made.frequencies,
        reverberation_time=0.35,
        speed_of_sound=C,
        tolerance=1e-5,
    )
    expected = means(made.bands, plain)
    allowed = 20 * np.log10(1 + 1e-3 * len(made.sources) / 10 ** (expected / 20)) + 1e-3
    assert np.all(np.abs(made.levels(ears=ears) - expected) <= allowed)


def test_levels_against_image_sources():
    # mirror images, no mode among them; at T = 0.1 s the sound falls by 1 neper in 5 m, so that those left out, beyond
    # 85 m, are below 1e-6. The field's own error is at most 2e-3 of the free field at 1 m: 0.02 dB where it is as loud
    made = field("front_pair", time=0.1)
    ears = np.array([(1.0, 2.4, 1.1), (2.05, 4.0, 1.3), (3.4, 5.9, 1.6)])
    images = sum(
        np.array([image_sum(SIZE, s, (y, x, z), made.frequencies, 0.1, C) for x, y, z in ears]) for s in made.sources
    )
    np.testing.assert_allclose(made.levels(ears=ears), means(made.bands, images), atol=0.05)


def test_bands_are_third_octaves():
    made = field()
    assert made.bands == 6
    # third octaves from 20 to 80 Hz: middles at 20 * 2^(1/6), 20 * 2^(1/2), ...
    np.testing.assert_allclose(made.centres, [22.45, 28.28, 35.64, 44.90, 56.57, 71.27], atol=0.01)
    assert len(made.frequencies) == 6 * LINES and made.frequencies.min() > 20 and made.frequencies.max() < 80


def test_a_tube_in_closed_form():
    # a tube 8 m long and 0.3 m wide, 0.8 m high: across it nothing resonates below 214 Hz, and what does not
    # travel has fallen by exp(-pi / 0.8 * 2) = 4e-4 of the travelling wave two metres away.
    # One dimension, closed ends: p = (4 pi / S) cos(k y0) cos(k (L - y)) / (k sin(k L)), y0 the nearer to the front.
    length, width, height, time = 8.0, 0.3, 0.8, 0.3
    made = BassField((length, width, height), ((0.7, 0.1, 0.05),), (0.5, 0.7), (20.0, 80.0), time, C)
    y = np.array([2.9, 4.0, 5.1, 6.3, 8.0])
    ears = np.column_stack([np.full(5, 0.2), y, np.full(5, 0.6)])
    k = (2 * math.pi * made.frequencies - 1j * math.log(1000) / time) / C
    pressure = (
        4 * np.pi / (width * height) * np.cos(k * 0.7) * np.cos(k * (length - y[:, None])) / (k * np.sin(k * length))
    )
    np.testing.assert_allclose(made.levels(ears=ears), means(6, pressure), atol=0.02)


@pytest.mark.parametrize("half", [(0.0, 0.02, 0.0), (0.0, 0.05, 0.1), (0.03, 0.05, 0.05)])
def test_levels_lie_between_the_planes(half):
    made = field("opposite_midpoints")
    random = np.random.default_rng(5)
    offsets = np.array([-0.7, 0.0, 0.7])
    middles = random.uniform((1.8, 2.0, 1.25), (2.3, 5.5, 1.45), (8, 3))
    planes = made.planes(middle=middles, half=np.tile(half, (8, 1)), offsets=offsets)
    for n, middle in enumerate(middles):
        away = random.uniform(-1, 1, (40, 3)) * half
        away[:8] = np.array(half) * np.array(np.meshgrid(*[[-1, 1]] * 3)).reshape(3, -1).T  # the corners
        ears = (middle + away)[:, None, :] + np.array([1.0, 0.0, 0.0]) * offsets[None, :, None]
        levels = made.levels(ears=ears.reshape(-1, 3)).reshape(40, 3, -1)
        plane = planes.level[n] + np.einsum("ebk,pk->peb", planes.slope[n], away)
        assert np.all(levels <= plane + planes.above[n] + 1e-9)
        assert np.all(levels >= plane - planes.below[n] - 1e-9)
    # and close: away from nulls the bound is of the size of the bend that it bounds
    assert np.median(planes.above + planes.below) < 0.6


def test_what_is_refused():
    with pytest.raises(ValueError, match="ears' height"):
        BassField(SIZE, ((0.0, 0.0, 1.0),), (1.1, 1.6), (20.0, 80.0), 0.3, C)
    with pytest.raises(ValueError, match="band must rise"):
        field(band=(80.0, 20.0))
    with pytest.raises(ValueError, match="sources"):
        BassField(SIZE, (), (1.1, 1.6), (20.0, 80.0), 0.3, C)
    with pytest.raises(ValueError, match="sources"):
        BassField(SIZE, ((7.0, 0.0, 0.0),), (1.1, 1.6), (20.0, 80.0), 0.3, C)
