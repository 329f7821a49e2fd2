"""The light on its way against boxes: whether the two meet, by linear programming."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.optimize import linprog

from optimiser.extremes import extreme
from optimiser.forms import Least
from optimiser.linear import constant, variable
from optimiser.measures.beam import beam_separation, under_ceiling
from optimiser.measures.layout import Body, Ceiling
from optimiser.physics.ceiling import hanging_edges
from tests.measures.conftest import problem
from tests.measures.test_projection import BEAM

LAYOUT = SimpleNamespace(
    lens=SimpleNamespace(y=variable("lens.y"), z=variable("lens.z")),
    image_centre=variable("centre"),
    image_width=variable("width"),
    image_height=variable("width") * (9 / 16),
    image_bottom=variable("bottom"),
    image_y=constant(0.5),
)


def separation(body: Body, **design: float) -> float:
    return float(beam_separation(LAYOUT, body).value({name.replace("_", "."): v for name, v in design.items()}))


def shared(body: Body, *, centre: float, width: float, bottom: float, lens_y: float, lens_z: float) -> float:
    """How far the light, the convex hull of image and lens, reaches into a box; negative: how much the box would have to
    grow [m]. By scipy's linear programming."""
    sides, ends = (centre - 0.5 * width, centre + 0.5 * width), (bottom, bottom + width * 9 / 16)
    corners = np.array([(x, 0.5, z) for x in sides for z in ends] + [(centre, lens_y, lens_z)]).T
    low, high = np.array([body.x, body.y, body.z]).T
    rows = np.block([[corners, np.ones((3, 1))], [-corners, np.ones((3, 1))]])
    found = linprog(
        [0] * 5 + [-1],
        A_ub=rows,
        b_ub=np.r_[high, -low],
        A_eq=[[1] * 5 + [0]],
        b_eq=[1],
        bounds=[(0, None)] * 5 + [(None, None)],
    )
    return float(found.x[-1])


@pytest.mark.parametrize("seed", range(4))
def test_light_and_box_are_apart_where_they_do_not_meet(seed):
    random = np.random.default_rng(seed)

    def extent(most: float, long: float) -> tuple[float, float]:
        start = random.uniform(0.0, most)
        return start, start + random.uniform(0.05, long)

    for _ in range(150):
        design = {
            "centre": random.uniform(2.0, 3.0),
            "width": random.uniform(1.5, 4.0),
            "bottom": random.uniform(0.3, 1.2),
            "lens_y": random.uniform(3.0, 7.0),
            "lens_z": random.uniform(0.5, 3.2),
        }
        body = Body("box", extent(5.0, 2.0), extent(7.0, 5.0), extent(3.0, 1.0))
        into, apart = shared(body, **design), separation(body, **design)
        assert abs(into) < 1e-6 or (into < 0.0) == (apart > 0.0), (body, design, into, apart)


@pytest.mark.parametrize(("under", "clear"), [(2.30, 0.10), (2.25, 0.05), (2.15, -0.05)])
def test_a_soffit_along_a_side_wall_is_over_the_light_at_the_image_and_beside_it_at_the_lens(under, clear):
    """An image from 1 m to 4 m across, its upper edge 2 m up, and a lens 2.6 m up over its middle, 2.5 m across. Seen along
    the room, the light's edge rises from (1, 2) to (2.5, 2.6) m, 0.4 m each metre: at a soffit's corner 1.5 m across it is
    2.2 m up. At the lens the light is higher than the soffit's lower face, at the image wider than it leaves room."""
    soffit = Body("soffit", (0.0, 1.5), (0.0, 8.0), (under, 2.7))
    design = {"centre": 2.5, "width": 3.0, "bottom": 2.0 - 3.0 * 9 / 16, "lens_y": 6.0, "lens_z": 2.6}
    assert separation(soffit, **design) == pytest.approx(clear)
    assert (shared(soffit, **design) < 0.0) == (clear > 0.0)
    mirrored = Body("soffit", (3.5, 5.0), (0.0, 8.0), (under, 2.7))
    assert separation(mirrored, **design) == pytest.approx(clear)


def test_a_sill_under_the_light_of_a_lens_near_the_floor():
    """As the soffit, upside down: the image's lower edge 1 m up, the lens 0.4 m up, a bench along the left wall."""
    bench = Body("bench", (0.0, 1.5), (0.0, 8.0), (0.0, 0.7))
    design = {"centre": 2.5, "width": 3.0, "bottom": 1.0, "lens_y": 6.0, "lens_z": 0.4}
    assert separation(bench, **design) == pytest.approx(0.8 - 0.7)
    assert shared(bench, **design) < 0.0


# --- under a ceiling that is not the same across the room -------------------------------------------


def test_edges_that_hang_down():
    """A gable has none, a valley its lowest point, a tray and a beam the lower ends of their steps, a kink that bends up, a
    thin fin its foot, and hides no valley behind it."""
    assert hanging_edges(((0.0, 1.3), (2.8, 3.5), (5.6, 1.3))) == ()
    assert hanging_edges(((0.0, 3.0), (2.0, 2.0), (4.0, 3.0))) == ((2.0, 2.0),)
    tray = ((0.0, 2.2), (1.0, 2.2), (1.0, 2.6), (4.0, 2.6), (4.0, 2.2), (5.0, 2.2))
    assert hanging_edges(tray) == ((1.0, 2.2), (4.0, 2.2))
    beam = ((0.0, 2.6), (2.0, 2.6), (2.0, 2.3), (3.0, 2.3), (3.0, 2.6), (5.0, 2.6))
    assert hanging_edges(beam) == ((2.0, 2.3), (3.0, 2.3))
    assert hanging_edges(((0.0, 2.0), (1.0, 2.1), (2.0, 2.6), (3.0, 2.6), (3.0, 2.6), (4.0, 2.6))) == ((1.0, 2.1),)
    fin = ((0.0, 2.6), (1.0, 2.6), (1.0, 2.2), (1.0, 2.6), (2.0, 2.4), (5.0, 2.8))
    assert hanging_edges(fin) == ((1.0, 2.2), (2.0, 2.4))


def under(profile, **design: float) -> float:
    layout = SimpleNamespace(**vars(LAYOUT), ceiling=Ceiling(3.0, (), profile))
    parts = under_ceiling(layout)
    values = {name.replace("_", "."): v for name, v in design.items()}
    return float(Least(tuple(parts)).value(values)) if parts else np.inf


@pytest.mark.parametrize(("low", "clear"), [(2.30, 0.10), (2.15, -0.05)])
def test_light_passes_under_the_edge_of_a_tray(low, clear):
    """As under the soffit above: 1.5 m across the light's edge is 2.2 m up."""
    tray = ((0.0, low), (1.5, low), (1.5, 2.8), (3.5, 2.8), (3.5, low), (5.0, low))
    design = {"centre": 2.5, "width": 3.0, "bottom": 2.0 - 3.0 * 9 / 16, "lens_y": 6.0, "lens_z": 2.6}
    assert under(tray, **design) == pytest.approx(clear)


def test_light_of_a_lens_within_the_images_height_passes_an_edge_by_its_upper_edge():
    """Image to 2 m up, lens 1.8 m up: over its whole width the light reaches 2 m; an edge at 2.1 m is 0.1 m over it. One
    beside the image is no matter."""
    design = {"centre": 2.5, "width": 3.0, "bottom": 2.0 - 3.0 * 9 / 16, "lens_y": 6.0, "lens_z": 1.8}
    assert under(((0.0, 2.6), (2.0, 2.1), (5.0, 2.6)), **design) == pytest.approx(0.1)
    assert under(((0.0, 2.6), (0.9, 2.1), (5.0, 2.6)), **design) == np.inf


@pytest.mark.parametrize("seed", range(3))
def test_light_is_under_a_ceiling_just_where_all_its_points_are(seed):
    """Points of the light drawn at random, as mixtures of its corners, against the profile by numpy's interpolation. Image
    and lens themselves are under it, as limits of their own ask."""
    random = np.random.default_rng(seed)
    seen = set()
    for _ in range(150):
        places = np.sort(random.uniform(0.3, 4.7, 4))
        profile = tuple(zip([0.0, *places, 5.0], random.uniform(1.6, 2.8, 6)))
        design = {
            "centre": random.uniform(2.0, 3.0),
            "width": random.uniform(1.5, 3.0),
            "bottom": 0.4,
            "lens_y": 6.0,
            "lens_z": random.uniform(1.5, 2.7),
        }
        half, top = 0.5 * design["width"], 0.4 + design["width"] * 9 / 16
        x, z = np.array(profile).T
        ends = np.linspace(design["centre"] - half, design["centre"] + half, 400)
        if np.min(np.interp(ends, x, z)) < top or np.interp(design["centre"], x, z) < design["lens_z"]:
            continue
        corners = np.array([(ends[0], top), (ends[-1], top), (design["centre"], design["lens_z"])])
        points = random.dirichlet((0.4, 0.4, 0.4), 20000) @ corners
        free = float(np.min(np.interp(points[:, 0], x, z) - points[:, 1]))
        found = under(profile, **design)
        assert free >= 0.0 or found < 0.0
        assert free < 0.02 or found >= 0.0
        seen.add(found < 0.0)
    assert seen == {False, True}


def test_no_light_through_a_tray_though_nothing_else_hangs_in_the_room():
    """A lens 2.5 m up over the middle of an image that begins 0.6 m up, and a tray 2.08 m up as far as 1 m from the middle.
    There the light's edge is 2.5 - (1.9 - 9/16 w) * 2 / w m up: under the tray up to an image 3.8 / 1.545 = 2.459 m wide."""
    tray = (
        "[{x: 1.2 m, height: 2.08 m}, {x: 1.2 m, height: 2.7 m}, {x: 3.2 m, height: 2.7 m}, {x: 3.2 m, height: 2.08 m}]"
    )
    found = problem(
        ("height: 2.7 m, reverberation", f"height: 2.7 m, ceiling_across: {tray}, reverberation"),
        ("bottom: {from: 0.6 m, to: 1 m}", "bottom: 0.6 m"),
        more=BEAM.replace("z: {from: 2 m, to: 2.5 m}", "z: 2.5 m"),
    )
    assert extreme(found, "image_width", greatest=True).value == pytest.approx(2.459)
