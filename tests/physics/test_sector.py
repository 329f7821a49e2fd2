"""Door sweeps: placed walls and hinges by hand, distances against brute force and shapely."""

import itertools
import math

import numpy as np
import pytest

from optimiser.linear import variable
from optimiser.measures.front import corner_clearance
from optimiser.physics import sector as door

DEG = math.pi / 180.0
ROOM = {"room_length": 6.0, "room_width": 4.0}

WALLS = {
    # wall: (hinge point of hinge coordinate h, unit vector along the closed leaf by side, into the room)
    "left": (lambda h: (0.0, h), {"front": (0, -1), "rear": (0, 1)}, (1, 0)),
    "right": (lambda h: (4.0, h), {"front": (0, -1), "rear": (0, 1)}, (-1, 0)),
    "front": (lambda h: (h, 0.0), {"left": (-1, 0), "right": (1, 0)}, (0, 1)),
    "rear": (lambda h: (h, 6.0), {"left": (-1, 0), "right": (1, 0)}, (0, -1)),
}
CASES = [(wall, side) for wall, (_, sides, _) in WALLS.items() for side in sides]
ANGLES = [30, 60, 89.9, 90, 110, 150, 180]


def clearance_to_quadrant(sector, *, corner, first, last):
    """The signed distance as the program defines it: the form that scorer and solver share."""
    form = corner_clearance(sector, variable("x"), variable("y"), first, last)
    return form.value({"x": np.asarray(corner[0], float), "y": np.asarray(corner[1], float)})


def swept_points(wall, side, hinge, leaf, degrees, steps=61):
    """Points of the sweep built from vectors, without the code's angle convention."""
    place, sides, inward = WALLS[wall]
    origin, closed, inward = np.array(place(hinge)), np.array(sides[side]), np.array(inward)
    turn = np.linspace(0.0, degrees * DEG, steps)
    tips = origin + leaf * (np.cos(turn)[:, None] * closed + np.sin(turn)[:, None] * inward)
    return np.vstack([origin, tips])


def brute_support(points, phi):
    return np.max(points @ np.stack([np.cos(phi), np.sin(phi)]), axis=0)


@pytest.mark.parametrize("wall, side", CASES)
@pytest.mark.parametrize("degrees", ANGLES)
def test_every_wall_both_hinges(wall, side, degrees):
    hinge, leaf = 2.0, 0.8
    swept = door.door_sector(wall=wall, hinge=hinge, leaf=leaf, towards=side, opens="in", angle=degrees * DEG, **ROOM)
    assert swept.sweep == pytest.approx(degrees * DEG)
    points = swept_points(wall, side, hinge, leaf, degrees, steps=20001)
    phi = np.linspace(-math.pi, math.pi, 361)
    np.testing.assert_allclose(door.support(swept, angle=phi), brute_support(points, phi), atol=2e-8)
    # the closed leaf and the open leaf are the sector's two straight edges
    edges = np.array([swept.end(swept.start), swept.end(swept.start + swept.sweep)])
    for tip in (points[1], points[-1]):
        assert np.min(np.linalg.norm(edges - tip, axis=1)) < 1e-9
    inside = points[:, 0] >= -1e-9, points[:, 1] >= -1e-9
    assert all(np.all(i) for i in inside)


@pytest.mark.parametrize("wall, side", CASES)
def test_outward_door_leaves_only_the_doorway(wall, side):
    place, sides, _ = WALLS[wall]
    doorway = door.door_sector(wall=wall, hinge=2.0, leaf=0.8, towards=side, opens="out", angle=90 * DEG, **ROOM)
    assert doorway.sweep == 0.0
    points = np.array([place(2.0), np.add(place(2.0), 0.8 * np.array(sides[side]))])
    phi = np.linspace(-math.pi, math.pi, 721)
    np.testing.assert_allclose(door.support(doorway, angle=phi), brute_support(points, phi), atol=1e-12)


@pytest.mark.parametrize("wall, side", CASES)
@pytest.mark.parametrize("degrees", [0, 30, 90, 135, 180])
@pytest.mark.parametrize(
    "first, last", [(-0.5 * math.pi, 0.0), (-math.pi, -0.5 * math.pi), (0.0, 2 * math.pi), (5.0, 9.3)]
)
def test_pieces_give_the_support_function(wall, side, degrees, first, last):
    swept = make(wall, side, degrees)
    pieces = door.support_pieces(swept, first=first, last=last)
    assert pieces[0].first == pytest.approx(first)
    assert pieces[-1].last == pytest.approx(last)
    points = swept_points(wall, side, 2.0, 0.8, degrees, steps=20001)
    for before, after in itertools.pairwise(pieces):
        assert before.last == after.first
        assert (before.centre, before.radius) != (after.centre, after.radius)
    for piece in pieces:
        phi = np.linspace(piece.first, piece.last, 200)
        normals = np.stack([np.cos(phi), np.sin(phi)])
        np.testing.assert_allclose(
            np.array(piece.centre) @ normals + piece.radius, brute_support(points, phi), atol=2e-8
        )


def make(wall, side, degrees, hinge=2.0, leaf=0.8):
    opens, angle = ("in", degrees * DEG) if degrees else ("out", 90 * DEG)
    return door.door_sector(wall=wall, hinge=hinge, leaf=leaf, towards=side, opens=opens, angle=angle, **ROOM)


QUARTERS = {"left part": (-0.5 * math.pi, 0.0), "right part": (-math.pi, -0.5 * math.pi)}


@pytest.mark.parametrize("wall, side", CASES)
@pytest.mark.parametrize("degrees", [0, 30, 60, 90, 120, 180])
@pytest.mark.parametrize("first, last", QUARTERS.values(), ids=QUARTERS.keys())
def test_clearance_against_brute_force(wall, side, degrees, first, last):
    swept = make(wall, side, degrees)
    points = swept_points(wall, side, 2.0, 0.8, degrees, steps=2001)
    # the directions square to the two straight edges join the 10^4, as a greatest value may peak sharply there
    edges = points[[1, -1]] - points[0]
    square = np.arctan2(edges[:, 1], edges[:, 0])[:, None] + np.array([-0.5, 0.5]) * math.pi
    square = first + np.mod(square.ravel() - first, 2 * math.pi)
    phi = np.concatenate([np.linspace(first, last, 10001), square[square <= last]])
    normals = np.stack([np.cos(phi), np.sin(phi)])
    reach = brute_support(points, phi)
    random = np.random.default_rng(3)
    x, y = random.uniform(-0.5, 4.5, 60), random.uniform(-0.5, 6.5, 60)
    expected = np.max(np.stack([x, y], axis=1) @ normals - reach, axis=1)
    got = clearance_to_quadrant(swept, corner=(x, y), first=first, last=last)
    # elsewhere the value is smooth: the grid misses at most 8 m (1.6e-4)^2 / 8, the arc's points 0.8 m (pi/2000)^2 / 8
    np.testing.assert_allclose(got, expected, atol=4e-7)


@pytest.mark.parametrize("wall, side", CASES)
@pytest.mark.parametrize("degrees", [0, 30, 90, 120, 180])
@pytest.mark.parametrize("which", QUARTERS)
def test_positive_clearance_is_the_distance_shapely_measures(wall, side, degrees, which):
    shapely = pytest.importorskip("shapely")
    first, last = QUARTERS[which]
    swept = make(wall, side, degrees)
    points = swept_points(wall, side, 2.0, 0.8, degrees, steps=721)
    figure = shapely.Polygon(points) if degrees else shapely.LineString(points[:2])
    far = 100.0
    random = np.random.default_rng(5)
    positive = 0
    for x, y in zip(random.uniform(0.0, 4.0, 25), random.uniform(0.0, 6.0, 25)):
        # the baffle wall with its depth: towards the front (y below the corner), and to one side of the corner
        body = shapely.box(x, y - far, x + far, y) if which == "left part" else shapely.box(x - far, y - far, x, y)
        got = clearance_to_quadrant(swept, corner=(x, y), first=first, last=last)
        gap = figure.distance(body)
        if got > 0.0:
            positive += 1
            assert got == pytest.approx(gap, abs=1e-5)
        else:
            assert gap < 1e-5
    assert positive > 0 or degrees == 180 or wall == "front"


def test_penetration_is_the_least_shift_that_frees_the_leaf():
    # a leaf swung 90 degrees from the left wall at y = 2 to 1.2; baffle corner at x = 0.5, depth 1.4: the arc
    # dips below y = 1.4 beyond x = 0.5. Shifting by the depth along the best normal just frees it.
    shapely = pytest.importorskip("shapely")
    swept = make("left", "front", 90)
    x, y, (first, last) = 0.5, 1.5, QUARTERS["left part"]
    depth = -clearance_to_quadrant(swept, corner=(x, y), first=first, last=last)
    assert depth > 0.0
    polygon = shapely.Polygon(swept_points("left", "front", 2.0, 0.8, 90, steps=2001))
    body = shapely.box(x, y - 50, x + 50, y)
    assert polygon.intersection(body).area > 0.0

    def overlap(phi, shift):
        moved = shapely.affinity.translate(polygon, -shift * math.cos(phi), -shift * math.sin(phi))
        return moved.intersection(body).area

    directions = np.linspace(first, last, 181)
    assert min(overlap(phi, depth * 1.001) for phi in directions) == pytest.approx(0.0, abs=1e-9)
    assert all(overlap(phi, depth * 0.97) > 0.0 for phi in directions)


def test_worked_clearances():
    # hinge (0, 2), leaf 0.8 towards the front, quarter circle: the corner at (0.6, 1.2) lies 1.0 from the hinge
    # (3-4-5 triangle), so 0.2 clear of the arc; straight below, at (0.0, 1.0), 0.2 below the leaf's end
    swept = make("left", "front", 90)
    first, last = QUARTERS["left part"]
    assert clearance_to_quadrant(swept, corner=(0.6, 1.2), first=first, last=last) == pytest.approx(0.2)
    assert clearance_to_quadrant(swept, corner=(0.0, 1.0), first=first, last=last) == pytest.approx(0.2)
    assert clearance_to_quadrant(swept, corner=(1.0, 3.0), first=first, last=last) == pytest.approx(0.2)
    # an outward door there only needs its doorway: 0.6 to the right
    doorway = make("left", "front", 0)
    assert clearance_to_quadrant(doorway, corner=(0.6, 3.0), first=first, last=last) == pytest.approx(0.6)


def test_doorway_ends_are_merged():
    # every normal with a component towards the front finds the doorway's front end: one piece
    doorway = make("left", "front", 0)
    pieces = door.support_pieces(doorway, first=-math.pi + 1e-3, last=-1e-3)
    assert len(pieces) == 1
    assert pieces[0].centre == pytest.approx((0.0, 1.2))
    assert pieces[0].radius == 0.0


def test_a_single_direction_is_one_piece():
    swept = make("left", "front", 90)
    for angle in np.linspace(-7.0, 7.0, 57):
        (piece,) = door.support_pieces(swept, first=angle, last=angle)
        reach = math.cos(angle) * piece.centre[0] + math.sin(angle) * piece.centre[1] + piece.radius
        assert reach == pytest.approx(door.support(swept, angle=angle), abs=1e-9)


def test_directions_a_turn_away_are_the_same():
    swept = make("right", "rear", 120)
    plain = clearance_to_quadrant(swept, corner=(2.0, 1.0), first=-math.pi, last=-0.5 * math.pi)
    turned = clearance_to_quadrant(swept, corner=(2.0, 1.0), first=math.pi, last=1.5 * math.pi)
    assert plain == pytest.approx(turned)


def test_widest_opening():
    # hinge 0.4 m from the corner behind it: the 0.8 m leaf's end meets the front wall where cos = -1/2, at 120 degrees
    spec = {"wall": "left", "hinge": 0.4, "leaf": 0.8, "towards": "rear", "opens": "in", **ROOM}
    assert door.door_sector(angle=120 * DEG, **spec).sweep == pytest.approx(120 * DEG)
    with pytest.raises(ValueError, match="strikes another wall at 120.0 degrees"):
        door.door_sector(angle=121 * DEG, **spec)
    # a leaf of 1 m in a room 0.5 m wide stops at 30 degrees
    with pytest.raises(ValueError, match="30.0 degrees"):
        door.door_sector(
            wall="left",
            hinge=3.0,
            leaf=1.0,
            towards="rear",
            opens="in",
            angle=31 * DEG,
            room_length=6.0,
            room_width=0.5,
        )


def test_doorway_up_to_the_corner_fits():
    assert door.door_sector(
        wall="left", hinge=0.8, leaf=0.8, towards="front", opens="in", angle=90 * DEG, **ROOM
    ).hinge == (0.0, 0.8)
    assert door.door_sector(
        wall="rear", hinge=3.2, leaf=0.8, towards="right", opens="out", angle=90 * DEG, **ROOM
    ).hinge == (3.2, 6.0)


GOOD = {"wall": "left", "hinge": 2.0, "leaf": 0.8, "towards": "front", "opens": "in", "angle": 90 * DEG, **ROOM}


@pytest.mark.parametrize(
    "change, words",
    [
        ({"wall": "north"}, "wall must be one of"),
        ({"towards": "left"}, "closes towards front or rear"),
        ({"wall": "rear"}, "closes towards left or right"),
        ({"opens": "inwards"}, "in or out"),
        ({"hinge": -0.1}, "hinge must be zero or more"),
        ({"hinge": 0.7}, "does not fit"),
        ({"hinge": 6.1}, "does not fit"),
        ({"hinge": 5.5, "towards": "rear"}, "does not fit"),
        ({"hinge": math.nan}, "NaN"),
        ({"leaf": 0.0}, "leaf must be positive"),
        ({"leaf": -0.8}, "leaf must be positive"),
        ({"leaf": math.inf}, "finite"),
        ({"angle": 0.0}, "angle must be positive"),
        ({"angle": 181 * DEG}, "at most"),
        ({"room_length": 0.0}, "room_length must be positive"),
        ({"room_width": math.nan}, "NaN"),
    ],
)
def test_bad_doors(change, words):
    with pytest.raises(ValueError, match=words):
        door.door_sector(**{**GOOD, **change})


@pytest.mark.parametrize(
    "change, words",
    [
        ({"radius": 0.0}, "radius must be positive"),
        ({"sweep": -0.1}, "sweep must be zero or more"),
        ({"sweep": 3.2}, "at most"),
        ({"start": math.nan}, "NaN"),
        ({"hinge": (0.0, math.inf)}, "finite"),
    ],
)
def test_bad_sectors(change, words):
    with pytest.raises(ValueError, match=words):
        door.Sector(**{"hinge": (0.0, 0.0), "radius": 1.0, "start": 0.0, "sweep": 1.0, **change})


def test_bad_ranges():
    swept = make("left", "front", 90)
    with pytest.raises(ValueError, match="last must not lie before first"):
        door.support_pieces(swept, first=1.0, last=0.0)
    with pytest.raises(ValueError, match="full turn"):
        door.support_pieces(swept, first=0.0, last=7.0)
    with pytest.raises(ValueError, match="NaN"):
        door.support(swept, angle=math.nan)
