"""What doors, low boxes and people in front leave of the front and the rows, against numbers worked by hand."""

from __future__ import annotations

import math

import pytest

from optimiser.cautions import cautions
from optimiser.errors import ProblemFileError
from optimiser.notes import notes
from optimiser.solve import solve
from optimiser.views import behind_heads
from tests.measures.conftest import problem
from tests.measures.test_rows import DOORS, design, measured

BAFFLE = "  baffle: {depth: {from: 0.3 m, to: 0.5 m}, margin: 50 mm}\n"
ROOM = "reverberation_time: 0.3 s}"
ALONE = "  rows: 2\n", "  rows: 1\n"


def doors(door: str) -> tuple[str, str]:
    return DOORS[0], DOORS[1] % door


def box(x: str, y: str, z: str) -> tuple[str, str]:
    return ROOM, f"reverberation_time: 0.3 s, obstructions: [{{name: box, x: [{x}], y: [{y}], z: [{z}]}}]}}"


# --- doors and the front ----------------------------------------------------------------------------


def test_the_frame_before_the_baffle_may_be_nearer_to_the_leaf_than_its_corner(only_space):
    """The frame's corner is at 2.2 - 1.5 - 0.05 = 0.65 m, 0.42 + 0.08 + 0.02 m from the front; the baffle's at 0.6 m,
    0.42 m. The leaf turns about 1.2 m."""
    leaf = doors("{wall: left, hinge: 1.2 m, leaf: 0.9 m, towards: front, opens: in}")
    found = measured(only_space, "door_clearance", text=[leaf])
    assert found == pytest.approx(math.hypot(0.65, 1.2 - 0.52) - 0.9)
    assert found < math.hypot(0.6, 1.2 - 0.42) - 0.9


@pytest.mark.parametrize("opens", ["in", "out"])
def test_no_screen_hangs_over_a_door(opens, only_space):
    """Without a baffle wall the frame is 0.08 + 0.02 m from the front, in front of the closed leaf."""
    leaf = doors(f"{{wall: front, hinge: 1.8 m, leaf: 0.85 m, towards: right, opens: {opens}}}")
    found = problem((BAFFLE, ""), leaf, ALONE, ("from: 2 m", "from: 2.5 m"))
    assert solve(found, grid=0.05).status == "impossible"
    assert measured(only_space, "door_clearance", text=[leaf, (BAFFLE, "")]) == pytest.approx(-0.1)


@pytest.mark.parametrize(("keep", "left"), [("", 0.25), (", keep: 1.3 m", -0.15), (", keep: 0.2 m", 0.95)])
def test_a_door_that_opens_out_keeps_floor_clear_before_it(keep, left, only_space):
    """Three chairs 0.7 m wide in a room of 4.4 m end at 3.25 m; the floor kept begins at 4.4 - 0.9 m."""
    leaf = doors(f"{{wall: right, hinge: 4 m, leaf: 0.8 m, towards: rear, opens: out{keep}}}")
    assert measured(only_space, "row_opening_clearance", 2, text=[leaf]) == pytest.approx(left)


def test_a_door_that_opens_in_keeps_what_it_sweeps(only_space):
    leaf = doors("{wall: right, hinge: 4 m, leaf: 0.8 m, towards: rear, opens: in}")
    assert measured(only_space, "row_opening_clearance", 2, text=[leaf]) == math.inf


def test_chairs_do_not_stand_in_the_only_doorway():
    leaf = doors("{wall: left, hinge: 3.4 m, leaf: 0.8 m, towards: front, opens: out}")
    narrow = "width: 4.4 m", "width: 3.2 m"
    found = solve(problem(leaf, narrow, ALONE, ("from: 2 m, to: 3.6 m", "from: 2 m, to: 2.8 m")), grid=0.05)
    row = found.design["row1.y"]
    assert row - 1.3 >= 3.4 - 1e-9 or row + 0.2 <= 2.6 + 1e-9  # feet behind the doorway, or backs before it


def test_more_floor_than_there_is_cannot_be_kept():
    with pytest.raises(ProblemFileError, match=r"only 4.400 m of floor before it"):
        problem(doors("{wall: right, hinge: 4 m, leaf: 0.8 m, towards: rear, opens: out, keep: 5 m}"))


# --- low boxes and the front ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("where", "text", "away"),
    [
        (("1.6 m, 2.8 m", "0 m, 0.1 m", "0 m, 0.5 m"), [(BAFFLE, "")], 0.8 - 0.05 - 0.5),  # under the frame
        (("1.6 m, 2.8 m", "0 m, 0.1 m", "0 m, 0.9 m"), [(BAFFLE, "")], -0.1),  # behind it: the frame would have to move
        (("1.6 m, 2.8 m", "0 m, 0.1 m", "0 m, 0.5 m"), [], 0.42 - 0.1),  # the wall is built around it
        (("1.6 m, 2.8 m", "0.45 m, 0.6 m", "0 m, 0.5 m"), [], 0.45 - 0.42),  # before the wall, under the frame
        (("1.6 m, 2.8 m", "0.45 m, 0.6 m", "0 m, 1.5 m"), [], 0.45 - 0.52),  # in the frame's way
    ],
)
def test_a_hung_frame_clears_what_stands_below_it(where, text, away, only_space):
    found = measured(only_space, "front_obstruction_clearance", text=[box(*where), *text])
    assert found == pytest.approx(away)


# --- heads ------------------------------------------------------------------------------------------


def test_heads_hide_what_is_below_the_line_over_them(only_space):
    """From 1.4 m, 4.7 m from the image, over a head 1.22 m high and 1.7 to 1.5 m away: down to 1.4 - 0.18 x 4.7 / 1.7 =
    0.902 m, over 0.16 x 4.7 / 1.5 m of its 3 m; the image begins at 0.8 m and is 1.6875 m high."""
    space = only_space(problem())
    (one,) = behind_heads(space, design())
    assert one.row == 2 and one.seats == (1, 2, 3)
    straight = 0.102 / 1.6875 * 0.501 / 3.0
    assert straight - 2 / 1296 <= one.share <= 2.5 * straight  # from the end seats, a neighbour's head too
    (said,) = [note for note in notes(problem(), space, design()) if "Heads in front" in note]
    # 0.8 + 0.6 x 3 / 4.7 - 1.1 = 0.083 m
    assert "0.083 m over the eyes in row 1, and heads there rise 0.120 m" in said
    (low,) = [note for note in notes(problem(), space, design(row2_platform=0.0)) if "Heads in front" in note]
    assert "below the eyes in row 1" in low


def test_heads_two_rows_in_front_are_told_of_as_theirs(only_space):
    """By similar triangles, from eyes at 7.5 m, 0.36 + 1.1 = 1.46 m high, to the image's lower edge 0.5 m from the wall and
    0.8 m high: the line passes 3.5 m at 0.8 + 0.66 x 3 / 7 = 1.083 m, 17 mm below the eyes of row 1, and 5.2 m at
    0.8 + 0.66 x 4.7 / 7 = 1.243 m, over the top of the heads of row 2, 1.22 m, if that lies as low as row 1."""
    found = problem(("length: 7.2 m", "length: 9 m"), ("  rows: 2\n", "  rows: 3\n"))
    space = only_space(found)
    seen = design(rows=3, row2_platform=0.0, row3_y=7.5, row3_platform=0.36, row3_seats=3.0, row3_risers=2.0)
    (one,) = [one for one in behind_heads(space, seen) if one.row == 3]
    assert one.over == 1
    (said,) = [note for note in notes(found, space, seen) if "from row 3" in note]
    assert "0.017 m below the eyes in row 1" in said


def test_who_sees_over_the_heads_is_told_nothing(only_space):
    """0.8 + 0.66 x 3 / 4.7 = 1.221 m at the eyes in front, whose heads are 1.22 m high."""
    space, seen = only_space(problem()), design(row2_platform=0.36)
    assert behind_heads(space, seen) == ()
    assert not any("Heads" in note for note in notes(problem(), space, seen))


# --- steps, headroom and eyes -----------------------------------------------------------------------


def said(found, space, chosen) -> str:
    return " ".join(cautions(found, space, chosen))


def test_steps_that_nobody_climbs_are_told_of(only_space):
    """7 3/4 in is 0.197 m: IRC 2018 R311.7.5.1, as quoted; 220 mm: Approved Document K, Table 1.1."""
    space = only_space(problem())
    assert "Risers are high: 0.540 m up to row 2" in said(problem(), space, design(row2_platform=0.54, row2_risers=1.0))
    assert "Risers are high" not in said(problem(), space, design(row2_platform=0.38, row2_risers=2.0))


@pytest.mark.parametrize(("platform", "risers"), [(0.19, 1), (0.2, 2), (0.39, 2), (0.4, 3), (0.59, 3)])
def test_no_more_risers_than_one_climbs_with_and_no_fewer(platform, risers):
    """7 3/4 in, 0.19685 m, to a riser at most: IRC 2018 R311.7.5.1, as quoted."""
    place = f"  platform: {{step: 10 mm, to: 0.6 m}}\n  place: {{row2.platform: {platform} m}}\n"
    found = solve(problem(("  platform: {step: 10 mm, to: 0.6 m}\n", place)), grid=0.05)
    assert found.design["row2.platform"] == pytest.approx(platform) and found.design["row2.risers"] == risers


@pytest.mark.parametrize(("row", "told"), [(5.2, True), (6.9, False)])
def test_a_ceiling_that_comes_down_behind_the_last_row_is_told_of(row, told, only_space):
    """2 m at the rear wall, over a platform of 0.3 m; backs 0.2 m behind the eyes, the wall at 7.2 m."""
    slope = (
        ROOM,
        "reverberation_time: 0.3 s, ceiling: [{y: 0 m, height: 2.7 m}, {y: 5.5 m, height: 2.7 m}, {y: 7.2 m, height: 2 m}]}",
    )
    found = problem(slope)
    words = said(found, only_space(found), design(row2_y=row))
    assert ("Behind the last row" in words) == told
    assert ("comes down to 1.700 m" in words) == told


@pytest.mark.parametrize(("x", "height"), [("[0 m, 0.7 m]", "1.800 m"), ("[0 m, 0.18 m]", None)])
def test_what_hangs_low_beside_the_rows_is_told_of(x, height, only_space):
    """Underside 2.1 m over the room's floor, 1.8 m over a platform of 0.3 m, beside the chairs; not where it reaches
    less than a shoulder's breadth from the wall."""
    duct = (ROOM, f"reverberation_time: 0.3 s, obstructions: [{{x: {x}, y: [4.6 m, 7.2 m], z: [2.1 m, 2.7 m]}}]}}")
    found = problem(duct)
    words = said(found, only_space(found), design(row2_y=5.2))
    assert ("Beside row 2" in words) == (height is not None)
    if height is not None:
        assert f"comes down to {height} over the floor or the platform there; limits" in words
        assert "row 2, or before it, 0.200 m or more from the side walls and the rear wall (nearer to them" in words


def test_a_goal_on_a_row_that_is_not_there_is_told_of(only_space):
    goal = "  - {measure: horizontal_angle, row: 2, at_least: 30 deg, fade: 5 deg}\n"
    found = problem(("rows: 2", "rows: {choose: [1, 2]}"), more=goal)
    from optimiser.design import spaces

    one, two = sorted(spaces(found), key=lambda space: space.rows)
    assert any(
        "horizontal angle of row 2 is not counted: this design has 1 row" in n for n in notes(found, one, design(1))
    )
    assert not any("not counted" in note for note in notes(found, two, design()))


@pytest.mark.parametrize(("height", "told"), [("44 mm", True), ("1.1 m", False), ("1.6 m", True)])
def test_eyes_where_nobodys_are_are_told_of(height, told, only_space):
    found = problem(ALONE, ("eye_height: 1.1 m", f"eye_height: {height}"))
    assert (
        any("look at seating.chair.eye_height again" in n for n in notes(found, only_space(found), design(1))) == told
    )
