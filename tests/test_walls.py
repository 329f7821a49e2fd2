"""What goes with a wall or the ceiling when that is moved: by hand, through every way that moves it."""

from pathlib import Path

import numpy as np
import pytest

from optimiser.explain.cases import numbers_moved
from optimiser.explain.prices import Move, prices_of
from optimiser.problem.changed import with_texts
from optimiser.problem.parts import with_value
from optimiser.problem.read import loads
from optimiser.solve import solve

LOW_CELLAR = Path(__file__).resolve().parent.parent / "problems" / "low-cellar.yaml"

ROOM = """
format: 1
title: A room full of things at its walls
show: mm
room:
  length: 7 m
  width: 5 m
  height: 3 m
  reverberation_time: 0.3 s
  openings:
    - {name: high window, kind: window, wall: rear, along: [1 m, 2 m], z: [2 m, 3 m]}
    - {name: alcove, wall: left, along: [6 m, 7 m], z: [0 m, 2 m], keep: 0 m}
  obstructions:
    - {name: duct, x: [0 m, 5 m], y: [0 m, 0.4 m], z: [2.8 m, 3 m]}
    - {name: breast, x: [4.6 m, 5 m], y: [3 m, 4 m], z: [0 m, 3 m]}
    - {name: radiator, x: [2 m, 3 m], y: [6.8 m, 7 m], z: [0.1 m, 0.7 m]}
    - {name: beam, x: [0 m, 5 m], y: [5.5 m, 5.7 m], z: [2.4 m, 2.6 m]}
    - {name: shelf, x: [0 m, 0.3 m], y: [1 m, 2 m], z: [1 m, 1.1 m]}
  ceiling: [{y: 0 m, height: 3 m}, {y: 5 m, height: 3 m}, {y: 7 m, height: 2.2 m}]
front:
  baffle: {depth: 0.4 m}
  screen: {width: {from: 2 m, to: 3.5 m}, bottom: {from: 0.6 m, to: 1.2 m}}
seating: {rows: 1, seats: 3, chair: {width: 0.7 m, depth: 0.9 m, eye_height: 1.1 m}}
bass: {arrangement: own, positions: [{x: 0 m, y: 7 m, z: 0 m}, {x: 5 m, y: 0.4 m, z: 0 m}]}
goals:
  - {measure: horizontal_angle, row: reference, band: [50 deg, 55 deg], fade: 8 deg}
"""

MOVED = {
    # what stands at the wall, by hand: what is from wall to wall grows, what else reaches the wall goes along
    ("room.length", "7.5 m"): {
        ("radiator", "y"): (7.3, 7.5),
        ("alcove", "along"): (6.5, 7.5),
        "ceiling": ((0, 3), (5, 3), (7.5, 2.2)),
        "bass": ((0, 7.5, 0), (5, 0.4, 0)),
    },
    ("room.width", "4.9 m"): {
        ("duct", "x"): (0, 4.9),
        ("beam", "x"): (0, 4.9),
        ("breast", "x"): (4.5, 4.9),
        "bass": ((0, 7, 0), (4.9, 0.4, 0)),
    },
    # over the beam the ceiling falls from 3 - 0.8 x 0.5 / 2 = 2.8 to 2.72 m, and the beam ends at 2.6: it does not hang
    ("room.height", "3.2 m"): {
        ("duct", "z"): (3.0, 3.2),
        ("breast", "z"): (0, 3.2),
        ("high window", "z"): (2.2, 3.2),
        "ceiling": ((0, 3.2), (5, 3.2), (7, 2.4)),
    },
}


def _features(problem):
    room = problem.room
    found = {(b.name, axis): getattr(b, axis) for b in room.obstructions for axis in ("x", "y", "z")}
    found |= {(o.name, key): getattr(o, key) for o in room.openings for key in ("along", "z")}
    return found | {"ceiling": room.ceiling, "bass": problem.bass.positions}


def _flat(where, at):
    """All numbers of nested tuples, of arrays the one for a case."""
    if isinstance(where, tuple):
        return [number for part in where for number in _flat(part, at)]
    return [float(np.broadcast_to(where, 3)[at])]


@pytest.mark.parametrize("move", MOVED)
@pytest.mark.parametrize("way", ["part", "text"])
def test_what_reaches_a_wall_goes_with_it_and_nothing_else(move, way):
    before = loads(ROOM)
    after = with_value(before, *move) if way == "part" else with_texts(ROOM, "room.yaml", dict([move]))
    expected = {**_features(before), **MOVED[move]}
    for name, where in _features(after).items():
        assert np.allclose(where, expected[name], rtol=0, atol=1e-9), name


def test_walls_of_many_cases_move_as_one_wall_does():
    before = loads(ROOM)
    off = np.array([-0.01, 0.0, 0.02])
    for path, end in (("room.length", 7.0), ("room.width", 5.0), ("room.height", 3.0)):
        many = _features(numbers_moved(before, {path: off}))
        for at, by in enumerate(off):
            one = _features(with_value(before, path, end + by))
            for name, where in many.items():
                assert np.allclose(_flat(where, at), _flat(one[name], at), rtol=0, atol=1e-9), (path, name)


def test_what_a_question_says_itself_comes_before_what_goes_along():
    changes = {"room.length": "7.5 m", "room.ceiling.3.y": "7.2 m", "room.obstructions.radiator.y.to": "7.4 m"}
    after = with_texts(ROOM, "room.yaml", changes)
    assert after.room.ceiling[-1] == (pytest.approx(7.2), pytest.approx(2.2))
    assert after.room.obstructions[2].y == (pytest.approx(7.3), pytest.approx(7.4))


def test_the_height_of_a_low_cellar_is_worth_what_the_file_with_all_of_it_higher_is():
    """Its duct hangs under the ceiling: two inches more height, with the duct two inches higher, written by hand."""
    text = LOW_CELLAR.read_text()
    higher = text.replace("height: 7 ft 10 in", "height: 8 ft").replace("z: [90 in, 94 in]", "z: [92 in, 96 in]")
    assert higher.count("8 ft\n") == 1 and "[92 in, 96 in]" in higher
    best, other = solve(loads(text)), solve(loads(higher))
    move = Move(None, "room.height", "length", 94 * 0.0254, 96 * 0.0254)
    (price,) = (p for group in prices_of(best.problem, best, moves=[move], thorough=True).found for p in group)
    assert price.gain == pytest.approx(other.score - best.score, abs=0.1)
    assert price.gain > 1.0


@pytest.mark.parametrize(
    ("between", "lowest"), [((1.0, 4.0), 3.0), ((1.0, 5.0), 3.0), ((5.0, 6.0), 2.25), ((4.0, 6.0), 2.25)]
)
def test_what_reaches_the_lowest_of_the_ceiling_over_it_hangs(between, lowest):
    """Under a ceiling of 3 m that steps down to 2.5 m at 5 m, and falls to 2 m at 7 m, by hand; at the step the far side
    is not over a box that ends there. A beam up to there goes up with the room by 0.2 m, one a millimetre lower does
    not."""
    stepped = ROOM.replace(
        "{y: 5 m, height: 3 m}, {y: 7 m, height: 2.2 m}",
        "{y: 5 m, height: 3 m}, {y: 5 m, height: 2.5 m}, {y: 7 m, height: 2 m}",
    )
    for top, up in ((lowest, 0.2), (lowest - 0.001, 0.0)):
        beam = f"y: [{between[0]} m, {between[1]} m], z: [1.9 m, {top} m]"
        after = with_value(loads(stepped.replace("y: [5.5 m, 5.7 m], z: [2.4 m, 2.6 m]", beam)), "room.height", "3.2 m")
        assert after.room.obstructions[3].z == pytest.approx((1.9 + up, top + up))
