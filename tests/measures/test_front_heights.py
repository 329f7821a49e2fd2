"""How high the front loudspeakers are, and what lies between them and the ears: numbers worked by hand.

In the room of conftest.py, with the design of test_rows.py, the baffle's face is 0.42 m from the front wall, ears are at
3.5 m and 5.2 m, 1.1 m and 1.4 m high, the heads of row 1 at 1.22 m; the image is 3 m by 1.6875 m, its lower edge at 0.8 m.
"""

from __future__ import annotations

import math

import pytest

from optimiser.errors import UsageError
from optimiser.problem.decisions import with_fixed
from optimiser.score import Scorer
from optimiser.solve import solve
from tests.measures.conftest import problem
from tests.measures.test_rows import design, measured

FRONT = "           pixels: 3840}\n"
HIGH = (FRONT, FRONT + "  loudspeakers: {z: %s}\n")
TYPE = ('{aspect: "16:9", width: {from: 2 m, to: 3.6 m}', '{type: panel, aspect: "16:9", diagonal: 3 m')


def behind(z: str) -> tuple[str, str]:
    return HIGH[0], HIGH[1] % z


@pytest.mark.parametrize(("row", "degrees"), [(1, 9.2208), (2, 2.3959)])
def test_elevation_is_that_of_the_axes_over_the_ears(only_space, row, degrees):
    """atan(0.5 / 3.08) and atan(0.2 / 4.78)."""
    found = measured(only_space, "loudspeaker_elevation", row, text=[behind("1.6 m")], **{"loudspeakers_z": 1.6})
    assert math.degrees(found) == pytest.approx(degrees, abs=1e-4)


def test_loudspeakers_at_the_height_of_the_ears_are_level(only_space):
    """ITU-R BS.775-3, Fig. 1: at 1.2 m, the height of the ears, without inclination."""
    found = measured(only_space, "loudspeaker_elevation", 1, text=[behind("1.1 m")], **{"loudspeakers_z": 1.1})
    assert found == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(("z", "over"), [(1.6, 0.2511), (0.9, 0.0022)])
def test_the_sound_passes_over_the_heads_in_front(only_space, z, over):
    """At 3.08 m of the 4.78 m from the baffle the straight line is 1.6 - 0.2 x 3.08 / 4.78 = 1.4711 m high, or
    0.9 + 0.5 x 3.08 / 4.78 = 1.2222 m."""
    found = measured(only_space, "sound_path_clearance", 2, text=[behind(f"{z} m")], **{"loudspeakers_z": z})
    assert found == pytest.approx(over, abs=1e-4)


def test_of_two_rows_in_front_the_one_in_the_way_counts(only_space):
    """Ears of row 3 at 6.9 m, 1.7 m up, the axes at 1 m: over row 2 (heads 1.52 m, 4.78 m of 6.48 m away) the line is
    1.5164 m high, over row 1 1.3327 m: 3.6 mm under the heads of row 2, 113 mm over those of row 1."""
    found = measured(only_space, "sound_path_clearance", 3, text=[behind("1 m")], rows=3, **{"loudspeakers_z": 1.0})
    assert found == pytest.approx(1.0 + 0.7 * 4.78 / 6.48 - 1.52, abs=1e-9)


@pytest.mark.parametrize(
    ("place", "high"),
    # a panel of 3 m in 16:9 is 1.4708 m high, its frame 50 mm; the cabinet 0.6 m, 50 mm off the frame
    [("beside", 0.8 + 1.4708 / 2), ("under", 0.8 - 0.05 - 0.05 - 0.3), ("over", 0.8 + 1.4708 + 0.05 + 0.05 + 0.3)],
)
def test_beside_under_and_over_an_image_their_height_follows_from_it(only_space, place, high):
    text = [(FRONT, FRONT + f"  loudspeakers: {{place: {place}, width: 0.3 m, height: 0.6 m, gap: 50 mm}}\n"), TYPE]
    found = measured(only_space, "loudspeaker_elevation", 1, text=text, **{"screen_diagonal": 3.0})
    assert math.tan(found) * 3.08 + 1.1 == pytest.approx(high, abs=1e-4)


@pytest.mark.parametrize(("z", "room"), [(0.9, 0.1), (2.4, 0.0875), (0.7, -0.1), (2.5, -0.0125)])
def test_loudspeakers_behind_the_image_stay_behind_it(only_space, z, room):
    """Between 0.8 m and 2.4875 m."""
    assert measured(only_space, "loudspeaker_room", text=[behind(f"{z} m")], **{"loudspeakers_z": z}) == pytest.approx(
        room
    )
    space = only_space(problem(behind(f"{z} m")))
    card = Scorer(problem(behind(f"{z} m")), space).card({**space.settled, **design(), "loudspeakers.z": z})
    assert ("loudspeaker_room" in {r.limit.measure for r in card.broken}) == (room < 0)


@pytest.mark.parametrize(("z", "clear"), [(1.0, 0.2), (1.6, -0.08), (None, -0.05625)])
def test_cabinets_behind_the_image_are_where_their_axes_are(only_space, z, clear):
    """Cabinets of 0.4 m each way, from 20 mm off the front wall, and a pipe along it, 0.1 m deep and 1.4 m to 1.5 m up. About
    1 m they end at 1.2 m, 0.2 m under it; about 1.6 m they begin at 1.4 m, and reach 80 mm into its depth. Where no height
    is given they are about the image's middle, 1.64375 m, and begin at 1.44375 m."""
    axes = "" if z is None else f", z: {z} m"
    own = f"  loudspeakers: {{width: 0.4 m, height: 0.4 m, depth: 0.4 m{axes}}}\n"
    pipe = "obstructions: [{name: pipe, x: [0 m, 4.4 m], y: [0 m, 0.1 m], z: [1.4 m, 1.5 m]}]"
    text = [(FRONT, FRONT + own), ("reverberation_time: 0.3 s}", f"reverberation_time: 0.3 s, {pipe}}}")]
    there = {} if z is None else {"loudspeakers_z": z}
    found = measured(only_space, "loudspeaker_obstruction_clearance", text=text, **there)
    assert found == pytest.approx(clear, abs=1e-9)


def test_where_nothing_asks_for_another_height_it_is_that_of_the_reference_rows_ears():
    """1.1 m; ITU-R BS.775-3, Fig. 1."""
    found = solve(problem(behind("{from: 0.8 m, to: 2 m}")))
    assert found.design["loudspeakers.z"] == pytest.approx(1.1)


def test_a_goal_lifts_them_no_higher_than_it_asks_for():
    """From 3 degrees over the ears of whoever sits highest."""
    goal = "  - {measure: loudspeaker_elevation, row: worst, at_least: 3 deg, fade: 1 deg, weight: 9}\n"
    found = solve(problem(behind("{from: 0.8 m, to: 2 m}"), more=goal))
    for n in (1, 2):
        up = found.design["loudspeakers.z"] - 1.1 - found.design[f"row{n}.platform"]
        assert up >= (found.design[f"row{n}.y"] - found.design["baffle.depth"]) * math.tan(math.radians(3.0)) - 1e-6
    assert found.design["loudspeakers.z"] < 1.1 + found.design["row2.platform"] + 0.5


def test_without_a_height_behind_the_image_nothing_is_said_of_it(only_space):
    assert only_space(problem()).layout.loudspeaker_height is None


def test_only_loudspeakers_behind_an_image_can_be_given_a_height():
    given = with_fixed(problem(), "loudspeakers.z", "1.3 m")
    assert given.loudspeakers.z.value == pytest.approx(1.3)
    over = problem((FRONT, FRONT + "  loudspeakers: {place: over}\n"))
    with pytest.raises(UsageError, match="stand over the image"):
        with_fixed(over, "loudspeakers.z", "1.3 m")
