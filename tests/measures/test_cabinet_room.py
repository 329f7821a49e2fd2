"""Room that the front loudspeakers' cabinets have to floor and ceiling: numbers worked by hand.

In the room of conftest.py, 4.4 m wide and 2.7 m high, with an image of 2 m, 1.125 m high, 0.7 m above the floor.
"""

from __future__ import annotations

import math

import pytest

from optimiser.requirements import room_limits
from tests.measures.conftest import problem
from tests.measures.test_rows import measured

FRONT = "           pixels: 3840}\n"
ROOM = "reverberation_time: 0.3 s}"
GABLE = "ceiling_across: [{x: 0 m, height: 1.2 m}, {x: 2.2 m, height: 2.7 m}, {x: 4.4 m, height: 1.2 m}]"
LEAN_TO = "ceiling: [{y: 0 m, height: 1.2 m}, {y: 0.8 m, height: 2.7 m}, {y: 7.2 m, height: 2.7 m}]"
THERE = {"screen_width": 2.0, "screen_bottom": 0.7, "baffle_depth": 0.4}


def text(loudspeakers: str, ceiling: str = "") -> list[tuple[str, str]]:
    own = FRONT + f"  loudspeakers: {{{loudspeakers}}}\n"
    return [(FRONT, own), *([(ROOM, f"reverberation_time: 0.3 s, {ceiling}}}")] if ceiling else [])]


@pytest.mark.parametrize("depth", ["", ", depth: 0.25 m"])
def test_cabinets_beside_the_image_stay_under_a_gable(only_space, depth):
    """They end 1.4 m from the middle (half the image 1 m, bezel and gap 50 mm each, 0.3 m wide), where the roof is
    2.7 - 1.5 * 1.4 / 2.2 = 1.7455 m high; their middles are at 1.2625 m, their tops 0.3 m above that."""
    given = text("place: beside, width: 0.3 m, height: 0.6 m, gap: 50 mm" + depth, GABLE)
    assert measured(only_space, "cabinet_room", text=given, **THERE) == pytest.approx(1.7455 - 1.5625, abs=1e-4)
    assert "cabinet_room" in {limit.measure for limit in room_limits(problem(*given))}


def test_tall_cabinets_beside_a_low_image_reach_the_floor(only_space):
    """2.6 m high about 1.2625 m: 37.5 mm into the floor, and 0.1375 m below the ceiling."""
    given = text("place: beside, width: 0.3 m, height: 2.6 m, gap: 50 mm")
    assert measured(only_space, "cabinet_room", text=given, **THERE) == pytest.approx(-0.0375)


@pytest.mark.parametrize(
    ("more", "room"),
    [
        ("height: 1.8 m, depth: 0.25 m, z: 0.8 m", -0.1),  # 0.8 - 0.9
        ("height: 1.8 m, depth: 0.25 m, z: 1.9 m", -0.1),  # 2.7 - 1.9 - 0.9
        ("height: 1.8 m, z: 0.8 m", math.inf),  # of no depth nothing is known
        ("height: 1.8 m, depth: 0.25 m", math.inf),  # nor of cabinets that may be at any height
    ],
)
def test_cabinets_behind_the_image_where_the_file_says_how_high_they_are(only_space, more, room):
    there = THERE | ({"loudspeakers_z": float(more.split("z: ")[1][:-2])} if "z:" in more else {})
    assert measured(only_space, "cabinet_room", text=text("width: 0.3 m, " + more), **there) == pytest.approx(room)


def test_cabinets_behind_the_image_stay_under_a_roof_that_rises_from_the_front(only_space):
    """0.25 m deep in a wall 0.4 m deep: they begin 0.15 m from the front wall, where the roof is 1.2 + 1.5 * 0.15 / 0.8 =
    1.48125 m high; their tops are at 1.2 + 0.3 m."""
    given = text("width: 0.3 m, height: 0.6 m, depth: 0.25 m, z: 1.2 m", LEAN_TO)
    assert measured(only_space, "cabinet_room", text=given, loudspeakers_z=1.2, **THERE) == pytest.approx(-0.01875)


def test_cabinets_of_known_depth_behind_the_image_do_not_overlap(only_space):
    """0.45 of an image of 2 m from the middle to the outer ones: cabinets 1 m wide overlap by 0.1 m."""
    given = text("spread: 0.9, width: 1 m, height: 0.6 m, depth: 0.25 m")
    assert measured(only_space, "loudspeaker_spacing", text=given, **THERE) == pytest.approx(-0.1)
    assert "loudspeaker_spacing" in {limit.measure for limit in room_limits(problem(*given))}
