"""Modes, and the plain sum over them that tests of bass are held to, against image sources, finite elements, a tube, and hand-made tables."""

import itertools
import math

import numpy as np
import pytest

from optimiser.physics import acoustics, modal
from tests.support.modal_sum import bass_frequencies, image_sum, levels, response

ROOM = {"length": 6.52, "width": 4.20, "height": 2.68}
SIZE = np.array([6.52, 4.20, 2.68])
C = 343.2

MODES = ((1, 0), (2, 0), (3, 0), (4, 0), (0, 1), (0, 2), (0, 4), (1, 1), (2, 2))


@pytest.mark.parametrize(
    "arrangement, row",
    # sums of cosines at 0, 90, 180 ... degrees, by hand: 1, 0, -1; at 45 degrees they cancel in pairs
    [
        ("one_corner", (1, 1, 1, 1, 1, 1, 1, 1, 1)),
        ("front_midpoint", (1, 1, 1, 1, 0, -1, 1, 0, -1)),
        ("front_corners", (2, 2, 2, 2, 0, 2, 2, 0, 2)),
        ("opposite_midpoints", (0, 2, 0, 2, 0, -2, 2, 0, -2)),
        ("front_pair", (2, 2, 2, 2, 0, 0, -2, 0, 0)),
        ("four_corners", (0, 4, 0, 4, 0, 4, 4, 0, 4)),
        ("four_midpoints", (0, 0, 0, 4, 0, 0, 4, 0, -4)),
        ("quarter_points", (0, 0, 0, -4, 0, 0, -4, 0, 0)),
    ],
)
def test_coupling(arrangement, row):
    got = modal.coupling(sources=modal.ARRANGEMENTS[arrangement], order=MODES)
    np.testing.assert_allclose(got, row, atol=1e-12)


def test_every_arrangement_is_listed_in_the_coupling_table():
    assert set(modal.ARRANGEMENTS) == {
        mark.args[1][i][0] for mark in test_coupling.pytestmark for i in range(len(mark.args[1]))
    }


def test_arrangement_positions():
    got = modal.arrangement_positions(arrangement="four_midpoints", length=6.0, width=4.0, height=0.2)
    np.testing.assert_allclose(got, [[0, 2, 0.2], [6, 2, 0.2], [3, 0, 0.2], [3, 4, 0.2]])


def test_modes_against_finite_elements():
    # independent: quadratic elements on the same box. Their frequencies lie above the true ones by about (k h)^4 / 1440
    # in each direction, h an element's length: at most (3 pi/14)^4 / 1440 = 1.4e-4 for the first twelve modes
    fem = pytest.importorskip("skfem")
    from scipy.sparse.linalg import eigsh

    mesh = fem.MeshHex.init_tensor(np.linspace(0, 6.52, 15), np.linspace(0, 4.20, 11), np.linspace(0, 2.68, 7))
    basis = fem.Basis(mesh, fem.ElementHex2())
    stiffness = fem.BilinearForm(lambda u, v, w: sum(a * b for a, b in zip(u.grad, v.grad, strict=True))).assemble(
        basis
    )
    mass = fem.BilinearForm(lambda u, v, w: u * v).assemble(basis)
    values, vectors = eigsh(stiffness, k=13, M=mass, sigma=-0.01)
    found = C * np.sqrt(np.maximum(values, 0.0)) / (2 * math.pi)

    orders = np.array([o for o in itertools.product(range(5), range(4), range(3)) if any(o)])
    frequencies = acoustics.mode_frequency(**ROOM, order=orders, speed_of_sound=C)
    first = np.argsort(frequencies)[:12]
    assert np.argsort(found)[0] == 0 and found[0] < 0.1  # the constant pressure
    np.testing.assert_allclose(found[1:], frequencies[first], rtol=2e-4)
    assert np.all(found[1:] >= frequencies[first] * (1 - 1e-9))
    corner = int(np.argmin(np.sum(basis.doflocs**2, axis=0)))
    for number, order in enumerate(orders[first], start=1):
        shape = vectors[:, number] / vectors[corner, number]
        expected = modal.mode_shape(position=np.clip(basis.doflocs.T / SIZE, 0, 1), order=order)
        np.testing.assert_allclose(shape, expected, atol=5e-3)


BAND = [20.0, 26.3, 43.3, 80.0, 200.0]
# T = 0.1 s: the sound falls by 1 neper in 5 m, so that images beyond 85 m (exp(-17)) are below 1e-6
SHORT = 0.1


@pytest.mark.parametrize(
    "source, receiver",
    [
        ((0.3, 1.0, 0.0), (4.1, 2.1, 1.1)),  # over the height
        ((0.0, 0.0, 0.0), (6.52, 4.2, 2.68)),  # corner to corner
        ((0.3, 1.0, 1.0), (4.1, 2.1, 1.1)),  # level with the ears: over the length
        ((3.2, 0.0, 1.0), (3.3, 2.1, 1.1)),  # level and beside: over the width
        ((3.0, 1.0, 1.0), (3.1, 1.3, 1.1)),  # close by
        ((3.0, 1.0, 1.1), (3.0, 2.0, 1.1)),  # apart along the width alone
    ],
)
def test_response_against_image_sources(source, receiver):
    got = response(
        **ROOM,
        sources=[source],
        receivers=[receiver],
        frequencies=BAND,
        reverberation_time=SHORT,
        speed_of_sound=C,
        tolerance=1e-7,
    )
    assert got.shape == (1, len(BAND))
    np.testing.assert_allclose(got[0], image_sum(SIZE, source, receiver, BAND, SHORT, C), atol=2e-6)


def test_response_against_the_images_of_pyroomacoustics():
    other = pytest.importorskip("pyroomacoustics")
    # 21 mirrorings reach past 60 m in every direction; at T = 0.05 s what lies beyond is below exp(-24)
    source, receiver, time = [0.6, 0.5, 0.3], [4.0, 2.6, 1.2], 0.05
    room = other.ShoeBox(SIZE, fs=16000, materials=other.Material(1e-9), max_order=24)
    room.add_source(source)
    room.add_microphone(receiver)
    room.image_source_model()
    distance = np.linalg.norm(room.sources[0].images - np.array(receiver)[:, None], axis=0)
    assert len(distance) > 10000
    k = (2 * math.pi * np.array(BAND) - 1j * math.log(1000) / time) / C
    expected = np.sum(np.exp(-1j * k[:, None] * distance) / distance, axis=1)
    got = response(
        **ROOM,
        sources=[source],
        receivers=[receiver],
        frequencies=BAND,
        reverberation_time=time,
        speed_of_sound=C,
        tolerance=1e-7,
    )[0]
    np.testing.assert_allclose(got, expected, atol=1e-5)


def test_plain_modal_sum_approaches_the_response():
    # independent: the triple sum as textbooks write it, cut off ever higher; its remainder falls slowly
    source, receiver, time, frequency = np.array([0.0, 1.05, 0.0]), np.array([4.1, 2.6, 1.1]), 0.3, 47.0
    exact = response(
        **ROOM, sources=[source], receivers=[receiver], frequencies=frequency, reverberation_time=time, speed_of_sound=C
    )[0, 0]
    k = (2 * math.pi * frequency - 1j * math.log(1000) / time) / C
    errors = []
    for cutoff in (10.0, 30.0, 90.0):
        counts = [np.arange(int(cutoff * size / math.pi) + 1) for size in SIZE]
        p, q, r = np.meshgrid(*counts, indexing="ij", sparse=True)
        squares = sum((math.pi * n / size) ** 2 for n, size in zip((p, q, r), SIZE, strict=True))
        shape = math.prod(
            np.where(n > 0, 2.0, 1.0) * np.cos(math.pi * n * a / size) * np.cos(math.pi * n * b / size)
            for n, size, a, b in zip((p, q, r), SIZE, source, receiver, strict=True)
        )
        terms = np.where(squares <= cutoff**2, shape / (squares - k**2), 0.0)
        errors.append(abs(4 * math.pi * terms.sum() / math.prod(SIZE) - exact))
    assert errors[-1] < 0.02 * abs(exact)
    assert errors[-1] < errors[0]


def test_truncation_stays_within_its_bound():
    source, receivers = (0.0, 1.05, 0.0), np.array([(4.1, 2.6, 1.1), (1.0, 0.3, 0.8), (0.0, 1.05, 0.6)])
    frequencies = np.array([20.0, 45.0, 80.0, 200.0])
    truth = np.array([image_sum(SIZE, source, r, frequencies, SHORT, C) for r in receivers])
    errors = []
    for tolerance in (1.0, 0.1, 1e-2, 1e-3, 1e-4):
        got = response(
            **ROOM,
            sources=[source],
            receivers=receivers,
            frequencies=frequencies,
            reverberation_time=SHORT,
            speed_of_sound=C,
            tolerance=tolerance,
        )
        errors.append(np.max(np.abs(got - truth)))
        assert errors[-1] <= tolerance
    assert errors[0] > 10 * errors[-1]  # the first cut is felt, so the check above is not empty


def test_bound_falls_with_the_cutoff_and_is_infinite_too_low():
    case = {"frequency": 200.0, "separation": 1.0, "size": 2.7, "cross_section": (6.5, 4.2), "speed_of_sound": C}
    bounds = [modal.truncation_bound(cutoff=k, **case) for k in (2.0, 6.0, 10.0, 20.0)]
    assert bounds[0] == math.inf
    assert bounds[1] > bounds[2] > bounds[3] > 0.0


@pytest.mark.parametrize("cutoff", (4.6, 4.8, 5.5, 8.0))
def test_what_is_left_out_is_within_the_bound_where_it_is_most(cutoff):
    """Everything beyond the cut, added up for a source in a corner and a receiver above it, where every mode counts in
    full. Along the height a mode beyond cut-off falls as cosh(a (H - d)) / (a sinh(a H)), the closed form of a column
    of air driven at one end."""
    frequency, separation, height, length, width = 200.0, 1.0, 2.7, 6.5, 4.2
    m, n = np.meshgrid(np.arange(400), np.arange(400))
    across = np.hypot(math.pi * m / length, math.pi * n / width)
    weight = np.where(m > 0, 2.0, 1.0) * np.where(n > 0, 2.0, 1.0) / (length * width)
    a = np.sqrt(across[across > cutoff] ** 2 - (2 * math.pi * frequency / C) ** 2)
    falls = np.exp(-a * separation) * (1 + np.exp(-2 * a * (height - separation))) / (a * (1 - np.exp(-2 * a * height)))
    rest = 4 * math.pi * np.sum(weight[across > cutoff] * falls)
    case = {"frequency": frequency, "separation": separation, "size": height, "cross_section": (length, width)}
    bound = modal.truncation_bound(cutoff=cutoff, speed_of_sound=C, **case)
    assert rest <= bound <= 30 * rest


def test_narrow_tube():
    # independent: plane waves in a closed tube of section A, volume source at s: the pressure is
    # -4 pi cos(k s) cos(k (L - r)) / (A k sin(k L)) re the free field at 1 m (s < r)
    length, side, s, r, time = 9.0, 0.3, 1.2, 7.9, 0.4
    frequencies = np.linspace(20.0, 200.0, 37)
    k = (2 * math.pi * frequencies - 1j * math.log(1000) / time) / C
    expected = -4 * math.pi * np.cos(k * s) * np.cos(k * (length - r)) / (side**2 * k * np.sin(k * length))
    got = response(
        length=length,
        width=side,
        height=side,
        sources=[(s, 0.1, 0.05)],
        receivers=[(r, 0.2, 0.3)],
        frequencies=frequencies,
        reverberation_time=time,
        speed_of_sound=C,
    )[0]
    np.testing.assert_allclose(got, expected, rtol=1e-5)


def test_peak_has_the_half_power_width_of_its_decay():
    # independent: a mode decaying by 60 dB in T is 2.2 / T wide at -3 dB (3 ln 10 / pi = 2.199)
    time = 4.0
    peak = acoustics.mode_frequency(**ROOM, order=(1, 0, 0), speed_of_sound=C)
    frequencies = np.linspace(peak - 1.0, peak + 1.0, 4001)
    level = levels(
        **ROOM,
        sources=[(0.0, 2.1, 0.0)],
        receivers=[(6.52, 2.1, 2.68)],
        frequencies=frequencies,
        reverberation_time=time,
        speed_of_sound=C,
    )[0]
    assert frequencies[np.argmax(level)] == pytest.approx(peak, abs=0.02)
    wide = frequencies[level >= level.max() - 10 * math.log10(2)]
    assert wide[-1] - wide[0] == pytest.approx(2.199 / time, rel=0.03)


def arguments(**change):
    good = {
        **ROOM,
        "sources": [(0.0, 0.0, 0.0)],
        "receivers": [(4.0, 2.0, 1.1)],
        "frequencies": bass_frequencies(),
        "reverberation_time": 0.3,
        "speed_of_sound": C,
    }
    return {**good, **change}


def test_source_and_receiver_may_change_places():
    a, b = (0.0, 1.0, 0.3), (4.0, 2.9, 1.2)
    there = response(**arguments(sources=[a], receivers=[b], tolerance=1e-9))
    back = response(**arguments(sources=[b], receivers=[a], tolerance=1e-9))
    np.testing.assert_allclose(there, back, atol=1e-8)


def test_sources_add_up():
    sources = modal.arrangement_positions(arrangement="four_midpoints", length=6.52, width=4.2, height=1.0)
    receivers = [(4.0, 2.0, 1.1), (5.0, 1.0, 1.4), (3.3, 3.0, 0.2)]  # some level with the sources, some not
    together = response(**arguments(sources=sources, receivers=receivers, tolerance=1e-7))
    alone = sum(response(**arguments(sources=[s], receivers=receivers, tolerance=1e-7)) for s in sources)
    np.testing.assert_allclose(together, alone, atol=1e-6)


def test_decay_may_change_with_frequency():
    frequencies = np.array([30.0, 60.0])
    both = response(**arguments(frequencies=frequencies, reverberation_time=[0.5, 0.3]))[0]
    for value, f, t in zip(both, frequencies, (0.5, 0.3), strict=True):
        assert value == pytest.approx(response(**arguments(frequencies=f, reverberation_time=t))[0, 0], abs=2e-4)


TABLE = np.array([[80.0, 84.0, 70.0, 86.0], [82.0, 80.0, 80.0, 86.0]])


def test_seat_to_seat_spread_by_hand():
    # differences 2, 4, 10, 0: mean 4
    assert modal.seat_to_seat_spread(levels=TABLE) == 4.0
    assert modal.seat_to_seat_spread(levels=TABLE[:1]) == 0.0
    np.testing.assert_allclose(modal.seat_to_seat_spread(levels=np.stack([TABLE, TABLE + 5.0])), [4.0, 4.0])


def test_spread_is_linear_in_the_loudest_and_the_quietest():
    # that the solver's form takes its shares from; the mean of four: a quarter each
    loudest, quietest = modal.loudest_and_quietest(levels=TABLE)
    assert list(loudest) == [82.0, 84.0, 80.0, 86.0] and list(quietest) == [80.0, 80.0, 70.0, 86.0]
    np.testing.assert_array_equal(modal.spread_between(loudest=np.eye(4), quietest=np.zeros((4, 4))), [0.25] * 4)


def test_deepest_dip_by_hand():
    assert list(modal.dips(levels=TABLE)) == [10.0, 2.0]
    # seat 1: mean 80, lowest 70; seat 2: mean 82, lowest 80
    assert modal.deepest_dip(levels=TABLE) == 10.0
    assert modal.deepest_dip(levels=TABLE[1:]) == 2.0
    assert modal.deepest_dip(levels=np.full((3, 5), 75.0)) == 0.0


def test_more_sources_even_out_the_seats_here():
    # from memory, unverified: four sources at the wall midpoints even out a rectangular room best; here against one
    # corner, four corners, and a pair in front, for two rows of three
    receivers = [(y, x, 1.1) for y in (3.9, 5.2) for x in (1.3, 2.1, 2.9)]
    spread = {}
    for name in ("one_corner", "front_pair", "four_corners", "four_midpoints"):
        sources = modal.arrangement_positions(arrangement=name, length=6.52, width=4.2, height=0.0)
        spread[name] = modal.seat_to_seat_spread(levels=levels(**arguments(sources=sources, receivers=receivers)))
    assert min(spread, key=spread.get) == "four_midpoints"
    assert max(spread, key=spread.get) in ("one_corner", "front_pair")


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda: modal.mode_shape(position=(0.5, 1.1), order=(1, 0)), "at most 1"),
        (lambda: modal.mode_shape(position=(0.5, 0.5), order=(1, -1)), "zero or more"),
        (lambda: modal.mode_shape(position=(0.5, 0.5), order=(1, 0, 0)), "one entry for each direction"),
        (lambda: modal.coupling(sources=(0.5, 0.5), order=(1, 0)), "list of positions"),
        (lambda: modal.coupling(sources=[(0.5, 0.5)], order=1), "one entry for each direction"),
        (lambda: modal.coupling(sources=[(0.5, math.nan)], order=(1, 0)), "NaN"),
        (
            lambda: modal.arrangement_positions(arrangement="ring", length=1.0, width=1.0, height=0.0),
            "arrangement must be one of",
        ),
        (
            lambda: modal.arrangement_positions(arrangement="one_corner", length=1.0, width=1.0, height=-1.0),
            "height must be zero or more",
        ),
        (lambda: modal.seat_to_seat_spread(levels=[80.0, 81.0]), "table of seats"),
        (lambda: modal.seat_to_seat_spread(levels=[[80.0, math.nan]]), "NaN"),
        (lambda: modal.deepest_dip(levels=np.empty((0, 4))), "table of seats"),
        (lambda: modal.deepest_dip(levels=[[80.0, math.nan]]), "NaN"),
    ],
)
def test_bad_input(call, words):
    with pytest.raises(ValueError, match=words):
        call()
