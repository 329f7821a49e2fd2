"""A room's volume and faces under ceilings that are not level, by hand."""

import math

import pytest

from optimiser.physics import ceiling

ATTIC = {"length": 6.0, "width": 4.4, "height": 3.0, "across": ((0.0, 1.0), (2.2, 3.0), (4.4, 1.0))}
SLOPE = math.hypot(2.2, 2.0)  # of one side of the roof: 2.973 m

STEP = {"length": 7.0, "width": 4.0, "height": 3.0, "along": ((0.0, 3.0), (3.0, 3.0), (3.0, 2.4), (7.0, 2.4))}

BOTH = {
    "length": 5.0,
    "width": 4.0,
    "height": 3.0,
    "along": ((0.0, 2.5), (2.0, 2.5), (2.0, 2.0), (5.0, 2.0)),  # a step of 0.5 m across the room
    "across": ((0.0, 1.5), (2.0, 3.5), (4.0, 3.5)),  # 45 degrees on the left, above the rest at the right
}


def areas(room):
    return {
        f: ceiling.face_area(face=f, **room) for f in ("floor", "ceiling", "left", "right", "front", "rear", "walls")
    }


def test_a_box():
    found = areas({"length": 5.0, "width": 4.0, "height": 3.0})
    assert found == {"floor": 20, "ceiling": 20, "left": 15, "right": 15, "front": 12, "rear": 12, "walls": 54}


def test_a_gable():
    found = areas(ATTIC)
    assert found["floor"] == pytest.approx(26.4)
    assert found["ceiling"] == pytest.approx(2 * 6.0 * SLOPE)  # 35.68
    assert found["left"] == found["right"] == pytest.approx(6.0)
    assert found["front"] == found["rear"] == pytest.approx(4.4 * 1.0 + 0.5 * 4.4 * 2.0)  # 8.8
    assert found["walls"] == pytest.approx(29.6)
    assert ceiling.volume(**ATTIC) == pytest.approx(52.8)


def test_a_gable_cut_off_by_the_room_s_height():
    # at 2 m the slopes are half way up: 1.1 m from each wall, and 2.2 m between them are level
    found = areas({**ATTIC, "height": 2.0})
    assert found["ceiling"] == pytest.approx(6.0 * (SLOPE + 2.2))
    assert found["front"] == pytest.approx(4.4 * 1.0 + (2.2 + 4.4) / 2 * 1.0)


def test_the_upright_face_of_a_step_is_ceiling():
    found = areas(STEP)
    assert found["ceiling"] == pytest.approx(7.0 * 4.0 + 0.6 * 4.0)
    assert found["left"] == found["right"] == pytest.approx(3.0 * 3.0 + 4.0 * 2.4)
    assert (found["front"], found["rear"]) == (pytest.approx(12.0), pytest.approx(9.6))
    # turned by a right angle, it is the same room
    turned = areas({"length": 4.0, "width": 7.0, "height": 3.0, "across": STEP["along"]})
    assert turned["ceiling"] == pytest.approx(found["ceiling"])
    assert turned["left"] == pytest.approx(found["front"]) and turned["front"] == pytest.approx(found["left"])


def test_a_slope_that_meets_a_step():
    # in front the ceiling is at 2.5 m where the slope is higher, beyond 1 m from the left wall; behind at 2.0 m,
    # beyond 0.5 m. The step stands where both are below the slope, and as a triangle under it:
    # 3 m wide at its top, 3.5 m at its foot, 0.5 m high
    found = areas(BOTH)
    level = 2.0 * 3.0 + 3.0 * 3.5
    sloped = math.sqrt(2) * (2.0 * 1.0 + 3.0 * 0.5)
    assert found["ceiling"] == pytest.approx(level + sloped + 0.5 * (3.0 + 3.5) / 2)
    assert found["left"] == pytest.approx(5.0 * 1.5)
    assert found["right"] == pytest.approx(2.0 * 2.5 + 3.0 * 2.0)
    assert found["front"] == pytest.approx(4.0 * 2.5 - 0.5 * 1.0)
    assert found["rear"] == pytest.approx(4.0 * 2.0 - 0.5 * 0.25)
    assert ceiling.volume(**BOTH) == pytest.approx(2.0 * found["front"] + 3.0 * found["rear"])


def test_where_both_profiles_are_level_at_one_height_the_ceiling_counts_once():
    flat = ((0.0, 2.4), (9.0, 2.4))
    room = {"length": 9.0, "width": 9.0, "height": 3.0, "along": flat, "across": flat}
    assert areas(room)["ceiling"] == pytest.approx(81.0)
    assert areas(room)["walls"] == pytest.approx(4 * 9.0 * 2.4)


def test_a_step_at_a_wall_has_no_face():
    room = {"length": 5.0, "width": 4.0, "height": 3.0, "along": ((0.0, 2.0), (0.0, 3.0), (5.0, 3.0), (5.0, 1.0))}
    assert areas(room)["ceiling"] == pytest.approx(20.0)
    assert areas(room)["front"] == areas(room)["rear"] == pytest.approx(12.0)


def test_several_points_at_one_place_are_one_step():
    # 3 to 2 m by way of 1 m and 4 m: the ceiling is the step between the first and the last
    along = ((0.0, 3.0), (2.0, 3.0), (2.0, 1.0), (2.0, 4.0), (2.0, 2.0), (5.0, 2.0))
    assert areas({"length": 5.0, "width": 4.0, "height": 3.0, "along": along})["ceiling"] == pytest.approx(20.0 + 4.0)


def test_there_is_no_other_face():
    with pytest.raises(ValueError, match="no face 'roof'"):
        ceiling.face_area(face="roof", length=5.0, width=4.0, height=3.0)
