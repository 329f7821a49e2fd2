"""The handbook's worked room, and the reverberation times of lined rooms."""

import math

import numpy as np
import pytest

from optimiser.physics import materials
from optimiser.physics.materials import MATERIALS, Material

FOOT = 0.3048

# Master Handbook of Acoustics, reverberation example 2: 23.3 x 16 x 10 ft, 3728 ft3
HANDBOOK_ROOM = [
    (MATERIALS["concrete"], 373 * FOOT**2),
    (MATERIALS["gypsum board"], 1159 * FOOT**2),
    (MATERIALS["acoustical tile"], 340 * FOOT**2),
]


def test_handbook_sabins():
    # the book rounds each product before it adds: within 0.2 sabin
    got = materials.absorption_area(lining=HANDBOOK_ROOM) / FOOT**2
    np.testing.assert_allclose(got, [370.4, 214.8, 328.8, 339.5, 336.8, 329.4], atol=0.2)


def test_handbook_reverberation_times():
    got = materials.reverberation_sabine(volume=3728 * FOOT**3, lining=HANDBOOK_ROOM, speed_of_sound=343.2)
    # printed to 0.01 s, from the constant 0.049 s/ft, which is 0.2 % below the exact one
    np.testing.assert_allclose(got, [0.49, 0.85, 0.56, 0.54, 0.54, 0.55], atol=0.0065)


def test_eyring_is_shorter_and_close_for_little_absorption():
    room = {"volume": 3728 * FOOT**3, "lining": HANDBOOK_ROOM, "speed_of_sound": 343.2}
    sabine, eyring = materials.reverberation_sabine(**room), materials.reverberation_eyring(**room)
    assert np.all(eyring < sabine)
    # independent: the ratio is -a / ln(1 - a), a the mean coefficient of the book's sabins over 1872 ft2
    mean = np.array([370.4, 214.8, 328.8, 339.5, 336.8, 329.4]) / 1872
    np.testing.assert_allclose(eyring / sabine, -mean / np.log(1 - mean), rtol=1e-3)


def test_bare_concrete_room_by_hand():
    # a 5 m cube of concrete: A = 150 * 0.02 = 3 m2 at 1 kHz, T = 55.262 * 125 / (343.2 * 3) = 6.709 s
    lining = [(MATERIALS["concrete"], 150.0)]
    got = materials.reverberation_sabine(volume=125.0, lining=lining, speed_of_sound=343.2)
    assert got[materials.OCTAVE_BANDS.index(1000.0)] == pytest.approx(6.709, abs=1e-3)
    assert materials.surface_area(lining=lining) == 150.0


def test_a_generator_of_surfaces_may_be_used():
    total = materials.absorption_area(lining=(pair for pair in HANDBOOK_ROOM))
    np.testing.assert_allclose(total, materials.absorption_area(lining=HANDBOOK_ROOM))


def test_every_material_names_its_source():
    for name, material in MATERIALS.items():
        assert material.name == name
        assert material.source
    with pytest.raises(TypeError):
        MATERIALS["velvet"] = None


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda: Material("felt", (0.1, 0.2), "a report"), "needs 6 values"),
        (lambda: Material("felt", (0.1, 0.2, 0.3, 0.4, 0.5, -0.1), "a report"), "zero or more"),
        (lambda: Material("felt", (0.1, 0.2, 0.3, 0.4, 0.5, 1.3), "a report"), "at most 1.2"),
        (lambda: Material("felt", (0.1, 0.2, 0.3, 0.4, 0.5, math.nan), "a report"), "NaN"),
        (lambda: materials.absorption_area(lining=[]), "at least one surface"),
        (lambda: materials.absorption_area(lining=[(MATERIALS["concrete"], 0.0)]), "area of concrete must be positive"),
        (lambda: materials.surface_area(lining=[(MATERIALS["concrete"], math.nan)]), "NaN"),
        (
            lambda: materials.reverberation_sabine(
                volume=-1.0, lining=[(MATERIALS["concrete"], 1.0)], speed_of_sound=343.2
            ),
            "volume must be positive",
        ),
        (
            lambda: materials.reverberation_eyring(
                volume=1.0, lining=[(Material("foam", (1.1,) * 6, "a report"), 1.0)], speed_of_sound=343.2
            ),
            "at most 1",
        ),
    ],
)
def test_bad_input(call, words):
    with pytest.raises(ValueError, match=words):
        call()
