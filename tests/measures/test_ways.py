"""Ways under what hangs low, and what is said of it."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from optimiser.cautions import cautions
from optimiser.cli import program
from optimiser.solve import solve
from optimiser.words import remedy_words
from tests.measures.conftest import problem, text_of
from tests.measures.test_projection import ONE, value

AISLE = ("seating:\n", "seating:\n  aisle: {sides: both, width: 0.5 m}\n")


def beam(low: str, x: str = "0 m, 4.4 m", y: str = "3.0 m, 3.2 m"):
    """A beam from wall to wall over the first row, 0.2 m long, or another."""
    box = f"{{name: steel, x: [{x}], y: [{y}], z: [{low}, 2.7 m]}}"
    return "reverberation_time: 0.3 s}", f"reverberation_time: 0.3 s, obstructions: [{box}]}}"


@pytest.mark.parametrize(
    ("low", "passes"),
    [
        ("6 ft 8 in", True),  # what the IRC 2018, R311.7.2, as quoted, asks over stairs
        ("2.0 m", True),  # what Approved Document K, 1.11, as quoted, asks there
        ("1.99 m", False),
    ],
)
def test_one_passes_under_what_hangs_as_high_as_a_code_asks(only_space, low, passes):
    space = only_space(problem(beam(low), AISLE))
    # row 1 in the middle of 4.4 m, four chairs of 0.7 m: 0.8 m at either side
    seated = ONE | {"row1.y": 3.4, "row1.seats": 4.0, "seats": 4.0}
    assert value(space, "aisle_width", 1, design=seated) == pytest.approx(0.8 if passes else 0.0)
    assert value(space, "standing_headroom", 1, design=seated) == pytest.approx(
        float(low.split()[0]) if "m" in low else 2.032
    )


def boxes(*places: tuple[str, str]):
    """Boxes on the floor, 1 m high, each with its extents along x and y."""
    told = ", ".join(f"{{name: box {k}, x: [{x}], y: [{y}], z: [0 m, 1 m]}}" for k, (x, y) in enumerate(places))
    return "reverberation_time: 0.3 s}", f"reverberation_time: 0.3 s, obstructions: [{told}]}}"


COLUMN, RADIATOR = ("0.9 m, 1.05 m", "3.2 m, 3.4 m"), ("0 m, 0.35 m", "3.1 m, 3.6 m")


@pytest.mark.parametrize(
    ("there", "wide"),
    [
        ([COLUMN], 0.9),  # between column and wall
        ([RADIATOR], 0.8),  # between radiator and row
        ([COLUMN, RADIATOR], 0.55),  # between the two, whichever the file names first
        ([RADIATOR, COLUMN], 0.55),
        ([COLUMN, RADIATOR, ("0.5 m, 0.6 m", "3.3 m, 3.5 m")], 0.3),  # 0.15 m, 0.3 m, 0.1 m
        ([COLUMN, ("0 m, 0.35 m", "3.4 m, 3.6 m")], 0.8),  # one after the other: past each by itself
    ],
)
def test_a_way_past_several_things_is_the_widest_between_them(only_space, there, wide):
    """Row 1 ends 1.15 m from the left wall: three chairs of 0.7 m in a room of 4.4 m; the aisle is on that side."""
    space = only_space(problem(boxes(*there), ("seating:\n", "seating:\n  aisle: {sides: left, width: 0.5 m}\n")))
    seated = ONE | {"row1.y": 3.4, "row1.seats": 3.0}
    assert value(space, "aisle_width", 1, design=seated) == pytest.approx(wide)


@pytest.mark.parametrize(
    ("column", "high"),
    [
        (("0.9 m, 1.05 m", "3.2 m, 3.4 m"), 1.4 + 1.3 * 0.4 / 1.1),  # past it from 0.4 m to 0.9 m from the wall
        (("0 m, 0.1 m", "3.2 m, 3.4 m"), 1.4 + 1.3 * 0.65 / 1.1),  # beyond the aisle, which begins 0.65 m from the wall
    ],
)
def test_the_aisle_is_as_high_as_the_way_past_what_stands_in_it(only_space, column, high):
    """A roof that rises from 1.4 m at the left wall to 2.7 m at 1.1 m from it; row 1 ends 1.15 m from that wall, and the file
    asks for 0.5 m beside it."""
    roof = ", ceiling_across: [{x: 0 m, height: 1.4 m}, {x: 1.1 m, height: 2.7 m}, {x: 4.4 m, height: 2.7 m}]}"
    where, told = boxes(column)
    left = ("seating:\n", "seating:\n  aisle: {sides: left, width: 0.5 m}\n")
    space = only_space(problem((where, told[:-1] + roof), left))
    seated = ONE | {"row1.y": 3.4, "row1.seats": 3.0}
    assert value(space, "aisle_headroom", 1, design=seated) == pytest.approx(high)


def test_a_walkway_past_two_things_is_the_widest_between_them(only_space):
    """Behind row 1, whose backs are at 3.6 m, and before row 2's feet, at 4.9 m: boxes from 3.7 m to 4 m and from 4.3 m to
    4.7 m leave 0.3 m between them, and 0.1 m and 0.2 m on either side."""
    there = ("1.5 m, 2 m", "3.7 m, 4 m"), ("1.8 m, 2.4 m", "4.3 m, 4.7 m")
    space = only_space(problem(boxes(*there)))
    seated = ONE | {"row1.y": 3.4, "row2.y": 6.2, "row1.seats": 3.0, "row2.seats": 3.0}
    assert value(space, "walkway", 2, design=seated) == pytest.approx(0.3)


@pytest.mark.parametrize(("low", "wide"), [("2.15 m", 0.25), ("2.29 m", 0.25), ("2.31 m", 1.15)])
def test_what_hangs_beside_a_raised_row_hangs_over_its_own_floor(only_space, low, wide):
    """A box 0.9 m wide at the left wall beside row 2, whose floor lies at 0.3 m: less than 2.0 m
    over that (Approved Document K, 1.11, as quoted) it stands in the way. Three chairs of 0.7 m
    leave 1.15 m at each side of a room 4.4 m wide."""
    space = only_space(problem(beam(low, x="0 m, 0.9 m", y="4.8 m, 5 m"), AISLE))
    raised = ONE | {"row1.y": 3.4, "row2.y": 5.2, "row2.platform": 0.3, "row2.seats": 3.0}
    assert value(space, "aisle_width", 2, design=raised) == pytest.approx(wide)
    assert value(space, "aisle_width", 2, design=raised | {"row2.platform": 0.0}) == pytest.approx(1.15)


def test_the_row_with_little_headroom_is_named(only_space):
    """The beam hangs over row 1, on the floor; row 2 alone has a platform."""
    given = problem(beam("2.05 m"))
    said = " ".join(cautions(given, only_space(given), ONE | {"row1.y": 3.4, "row2.y": 5.6}))
    assert "Headroom over row 1 is 2.050 m" in said


LEAST = "limits:\n  - {measure: standing_headroom, at_least: 1.4 m}\n"


@pytest.mark.parametrize(
    ("low", "limits", "told"),
    [
        ("1.5 m", "", ": set a limit on standing_headroom. "),
        ("1.5 m", LEAST, ", though the limit on standing_headroom lets it pass. "),
        ("2.05 m", "", None),
    ],
)
def test_who_cannot_stand_up_is_told_of(only_space, low, limits, told):
    """A person 1.5 m tall strikes a beam at 1.5 m; stairs are given 6 ft 8 in, 2.032 m (IRC 2018 R311.7.2, as quoted), or 2.0 m (Approved Document K 1.11, as quoted)."""
    given = problem(beam(low), more=limits)
    said = " ".join(cautions(given, only_space(given), ONE | {"row1.y": 3.4, "row2.y": 5.6}))
    assert f"Headroom over row 1 is {low[:-2].ljust(5, '0')} m" in said
    strikes = "Codes give stairs 2.000 m to 2.032 m: who gets up here may strike their head"
    assert strikes + told in said if told else strikes not in said


@pytest.mark.parametrize(("low", "told"), [("1.95 m", True), ("2.65 m", False)])
def test_what_takes_of_the_ways_is_named_where_they_cannot_be(tmp_path, low, told):
    path = tmp_path / "room.yaml"
    chairs = ("rows: 2\n", "rows: 2\n  place: {row1.y: 3.4 m, row2.y: 4.9 m}\n")
    limits = "limits:\n  - {measure: aisle_width, at_least: 1.2 m}\n"
    path.write_text(text_of(beam(low), AISLE, chairs) + limits, encoding="utf-8")
    for command in ("solve", "explain"):
        said = CliRunner().invoke(program, [command, str(path), "--grid", "5 cm"]).output
        assert "Conflict" in said or "Impossible" in said
        words = "share of the ways there; which of it does" if command == "solve" else "see 'steel' in the file"
        assert (words in " ".join(said.split())) is told, said


@pytest.mark.parametrize(("aisle", "named"), [("0.7 m", "'steel'"), ("1.3 m", None)])
def test_a_box_is_named_where_the_ways_would_be_there_without_it(tmp_path, aisle, named):
    """Beside three chairs of 0.7 m in a room of 4.4 m there is 1.15 m: a post against the wall, 0.5 m wide, leaves 0.65 m of it.
    A cupboard at the front stands in no way; and 1.3 m the room itself does not have."""
    post = "{name: steel, x: [0 m, 0.5 m], y: [3.0 m, 3.2 m], z: [0 m, 2.7 m]}"
    cupboard = "{name: cupboard, x: [0 m, 0.3 m], y: [0.6 m, 0.8 m], z: [0 m, 1 m]}"
    boxes = ("reverberation_time: 0.3 s}", f"reverberation_time: 0.3 s, obstructions: [{post}, {cupboard}]}}")
    chairs = ("rows: 2\n", "rows: 1\n  place: {row1.y: 3.4 m, row1.seats: 3}\n")
    path = tmp_path / "room.yaml"
    path.write_text(text_of(boxes, chairs, AISLE).replace("width: 0.5 m}", f"width: {aisle}}}"), encoding="utf-8")
    said = " ".join(CliRunner().invoke(program, ["explain", str(path), "--grid", "5 cm"]).output.split())
    assert "Conflict 1" in said
    assert (f"share of the ways there: see {named} in the file" in said) is (named is not None)
    assert "cupboard" not in said and ("steel" in said) is (named is not None)
    # who only asks for the answer is not told of boxes that may be of no matter
    said = CliRunner().invoke(program, ["solve", str(path), "--grid", "5 cm"]).output
    assert "Impossible" in said and "cupboard" not in said and "steel" not in said


def test_boxes_of_one_name_are_named_once():
    post = "{x: [1 m, 1.1 m], y: [3 m, 3.1 m], z: [0 m, 2.7 m]}"
    given = problem(("reverberation_time: 0.3 s}", f"reverberation_time: 0.3 s, obstructions: [{post}, {post}]}}"))
    (said,) = remedy_words(given, ["walkway"], given.room.obstructions)
    assert said.endswith("see 'obstruction' in the file.")


CLIMB = ONE | {"row1.y": 3.4, "row2.y": 5.2, "row2.seats": 4.0}
"""Row 1 to 3.6 m, 2.1 m wide; row 2 on 0.3 m behind it, 2.8 m wide: its aisles from 0.3 to 0.8 m and as far at the right.
Steps lie before 3.6 m, spread over 1.8 m from row to row: one tread of 0.9 m, 0.15 m high, or two of 0.6 m, 0.1 and 0.2 m high."""


@pytest.mark.parametrize(
    ("risers", "box", "clear"),
    [
        (1, {}, 2.7 - 0.3),  # no tread; over the platform nothing but the ceiling
        (2, {}, 2.1 - 0.15),
        (3, {}, 2.1 - 0.2),
        (2, {"y": "2.5 m, 2.65 m"}, 2.7 - 0.3),  # before the first riser, at 2.7 m
        (3, {"y": "2.5 m, 2.65 m"}, 2.1 - 0.1),
        (3, {"x": "0.5 m, 0.6 m"}, 2.1 - 0.2),
        (3, {"x": "0.9 m, 1.1 m"}, 2.7 - 0.3),  # over the aisle of row 1, beside which the steps do not lie
    ],
)
def test_headroom_in_the_aisle_counts_over_the_steps_too(only_space, risers, box, clear):
    """IRC 2018, R311.7.2, as quoted, and Approved Document K, 1.11, as quoted, measure it from the line of the nosings."""
    given = problem(beam("2.1 m", **box), AISLE)
    there = CLIMB | {"row2.risers": float(risers)}
    assert value(only_space(given), "aisle_headroom", 2, design=there) == pytest.approx(clear)
    said = " ".join(cautions(given, only_space(given), there))
    assert (f"{clear:.3f} m over those up to row 2" in said) is (clear < 2.032)


def test_level_rows_have_no_steps_to_strike_a_head_over(only_space):
    space = only_space(problem(beam("2.1 m"), AISLE))
    level = CLIMB | {"row2.platform": 0.0, "row2.risers": 3.0}
    assert value(space, "aisle_headroom", 2, design=level) == pytest.approx(2.7)


def test_the_answer_has_headroom_over_its_steps():
    """Two risers up to 0.3 m leave 1.95 m over the tread under the beam, three 1.9 m: one riser it is, however high."""
    chairs = ("rows: 2\n", "rows: 2\n  place: {row1.y: 3.4 m, row2.y: 5.2 m, row2.platform: 30 cm}\n")
    for limits, risers in (("", 2.0), ("limits:\n  - {measure: aisle_headroom, at_least: 2 m}\n", 1.0)):
        found = solve(problem(beam("2.1 m"), AISLE, chairs, more=limits), grid=0.05)
        assert found.design["row2.risers"] == risers


@pytest.mark.parametrize(
    ("door", "aisle", "told"),
    [
        ("wall: rear, hinge: 0.3 m, towards: right", "", True),
        ("wall: front, hinge: 0.1 m, towards: right", "", False),
        ("wall: left, hinge: 1.9 m, towards: front", "", False),  # before the seats
        (
            "wall: rear, hinge: 0.3 m, towards: right",
            "  aisle: {sides: left, width: 0.5 m}\n",
            False,
        ),  # as the file has it
    ],
)
def test_a_narrow_way_past_the_seats_to_the_only_door_is_told(only_space, door, aisle, told):
    """Three chairs of 0.7 m in 3.2 m leave 0.55 m at either side."""
    room = (
        "width: 4.4 m, height: 2.7 m, reverberation_time: 0.3 s}",
        f"width: 3.2 m, height: 2.7 m, reverberation_time: 0.3 s, doors: [{{{door}, leaf: 0.8 m, opens: out}}]}}",
    )
    given = problem(room, ("seating:\n", "seating:\n" + aisle))
    said = " ".join(cautions(given, only_space(given), ONE))
    assert ("0.550 m beside row 1 and 0.550 m beside row 2" in said) is told


@pytest.mark.parametrize(("going", "told"), [("", True), (", going: 28 cm", False)])
def test_where_steps_are_in_the_way_their_depth_is_told_of(tmp_path, going, told):
    """A door's swing ends at 3.4 m, 0.2 m before the platform, and 0.25 m are asked for before any step."""
    path = tmp_path / "room.yaml"
    chairs = ("rows: 2\n", "rows: 2\n  place: {row1.y: 3.4 m, row2.y: 5.2 m, row2.platform: 30 cm}\n")
    door = "{name: side, wall: left, hinge: 2.5 m, leaf: 0.9 m, towards: rear, opens: in}"
    text = [("reverberation_time: 0.3 s}", f"doors: [{door}]}}"), ("to: 0.6 m}", f"to: 0.6 m{going}}}"), AISLE, chairs]
    limit = "limits:\n  - {measure: door_to_step, at_least: 25 cm}\n"
    path.write_text(text_of(*text) + limit, encoding="utf-8")
    said = CliRunner().invoke(program, ["explain", str(path), "--grid", "5 cm"]).output
    assert "Impossible" in said or "Conflict" in said
    assert ("seating.platform.going gives each its depth" in " ".join(said.split())) is told, said


@pytest.mark.parametrize("end", ["x.to", "y.from"])
def test_things_side_by_side_that_may_be_off_are_taken_many_cases_at_once(tmp_path, end):
    """Column and radiator leave 0.55 m between them, 10240 cases at once; each of some is held against a room of its own."""
    where = boxes(("0.9 m, 1.05 m", "3.2 m, 3.4 m"), ("0 m, 0.35 m", "3.1 m, 3.6 m"))
    path = tmp_path / "room.yaml"
    path.write_text(text_of(where, ("seating:\n", "seating:\n  aisle: {sides: left, width: 0.5 m}\n")))
    done = CliRunner().invoke(program, ["tolerances", str(path), "--spread", f"room.obstructions.box 1.{end}=2 cm"])
    assert done.exit_code == 0, done.output
    assert "10,240 cases" in done.output and "a room of its own" not in done.output
