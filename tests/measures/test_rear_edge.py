"""A last platform that ends behind its chairs, with the room's floor behind it: numbers worked by hand.

In the room of conftest.py, 7.2 m long, with the design of test_rows.py, the chairs of row 2 end at 5.4 m, on a platform of
0.3 m that two risers lead up to; with ``behind: 0.6 m`` the platform ends at 6 m, 1.2 m before the rear wall.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from click.testing import CliRunner

from optimiser.cautions import cautions, thresholds
from optimiser.cli import program
from optimiser.hanging import below_the_projector
from optimiser.measures.people import platform_end, rear_steps
from optimiser.notes import notes
from optimiser.problem.decisions import with_fixed
from optimiser.problem.model import Limit
from optimiser.score import Scorer
from optimiser.sheet.figures import figure
from optimiser.sheet.labels import from_box
from optimiser.sheet.plan import plan
from optimiser.sheet.schedule import fixtures_table, platform_table, steps_table
from optimiser.solve import solve
from optimiser.views import guards_in_light
from tests.measures.conftest import problem, text_of
from tests.measures.test_rows import BAR, DOORS, INCH, PLACE, SEATING, design, measured

PLATFORM = "  platform: {step: 10 mm, to: 0.6 m}\n"
INWARD = "{name: yard, wall: rear, hinge: 0.3 m, leaf: 0.9 m, towards: right, opens: in}"


def ends(behind: str = "0.6 m") -> tuple[str, str]:
    return PLATFORM, PLATFORM.replace("0.6 m}", f"0.6 m, behind: {behind}}}")


def doors(one: str) -> tuple[str, str]:
    return DOORS[0], DOORS[1] % one


def boxes(*several: str) -> tuple[str, str]:
    return "reverberation_time: 0.3 s}", f"reverberation_time: 0.3 s, obstructions: [{', '.join(several)}]}}"


def of(only_space, *text: tuple[str, str], more: str = "", **changes):
    """The problem, its space and a whole design of it."""
    made = problem(*text, more=more)
    space = only_space(made)
    thrown = design(space.rows, **{"platform_behind": 0.6, **changes})
    return made, space, space.complete(thrown)


@pytest.mark.parametrize(
    ("box", "deep"),
    [
        (None, 7.2 - 6.0),
        ("{x: [1 m, 2 m], y: [6.9 m, 7.2 m], z: [0 m, 1 m]}", 6.9 - 6.0),  # a cupboard against the rear wall
        ("{x: [0 m, 1 m], y: [6.9 m, 7.2 m], z: [0 m, 1 m]}", 7.2 - 6.0),  # not behind the row, which begins at 1.15 m
        (
            "{x: [1 m, 2 m], y: [6.9 m, 7.2 m], z: [2.2 m, 2.7 m]}",
            7.2 - 6.0,
        ),  # over the heads of who stands on the floor
    ],
)
def test_the_landing_is_what_is_left_of_the_floor(only_space, box, deep):
    text = [ends(), *([boxes(box)] if box else [])]
    assert measured(only_space, "rear_landing", text=text, platform_behind=0.6) == pytest.approx(deep)


def test_without_a_platform_there_is_no_edge(only_space):
    found = measured(only_space, "rear_landing", text=[ends()], platform_behind=0.6, row2_platform=0.0)
    assert found == float("inf")


@pytest.mark.parametrize(
    ("behind", "height", "way"),
    [
        (0.6, 0.3, 1.2),  # on the floor
        (1.0, 0.3, 1.0),  # on the platform, behind which 0.8 m are left
        (0.6, 0.0, 1.8),  # all on one level, as far as the wall
    ],
)
def test_one_passes_behind_the_chairs_on_one_level(only_space, behind, height, way):
    changes = {"platform_behind": behind, "row2_platform": height}
    assert measured(only_space, "rear_walkway", text=[ends(f"{behind} m")], **changes) == pytest.approx(way)


@pytest.mark.parametrize("height", [0.0, 0.3])
def test_chairs_in_the_wall_leave_no_way_behind_them(only_space, height):
    """Ears at 7.1 m: the backs would be 0.1 m behind the rear wall."""
    changes = {"platform_behind": 0.6, "row2_platform": height, "row2_y": 7.1}
    assert measured(only_space, "rear_walkway", text=[ends()], **changes) <= -0.1 + 1e-9


@pytest.mark.parametrize("name", ["walkway", "passing_way"])
def test_behind_a_bar_one_stands_on_its_own_platform(only_space, name):
    """Backs of the stools at 5.2 + 0.3 m, the platform's edge 0.6 m behind them."""
    text = [ends(), (SEATING, SEATING + BAR)]
    assert measured(only_space, name, 2, text=text, platform_behind=0.6) == pytest.approx(0.6)


@pytest.mark.parametrize(
    ("door", "clear"),
    [
        (INWARD, 7.2 - 0.9 - 6.0),  # sweeps the floor from 6.3 m
        ("{wall: left, hinge: 6.2 m, leaf: 0.8 m, towards: rear, opens: in}", 6.2 - 6.0),
        ("{wall: left, hinge: 5.5 m, leaf: 0.8 m, towards: rear, opens: in}", 5.5 - 6.0),  # half over the platform
        (INWARD.replace("opens: in", "opens: in, level: 0.3 m"), float("inf")),  # opens over it
    ],
)
def test_an_inward_door_behind_the_last_platform(only_space, door, clear):
    text = [ends(), doors(door)]
    assert measured(only_space, "door_platform_clearance", 2, text=text, platform_behind=0.6) == pytest.approx(clear)


@pytest.mark.parametrize(
    ("door", "far"),
    [
        (INWARD, 6.3 - 6.0),  # to the step up from behind; that from the front is 2.6 m away
        ("{wall: rear, hinge: 0.3 m, leaf: 0.9 m, towards: right, opens: out}", 7.2 - 6.0),
        ("{wall: left, hinge: 2.4 m, leaf: 0.9 m, towards: front, opens: out}", 2.85 - 2.4),  # to those from the front
        # on the platform's level, before the steps cut into it
        ("{wall: left, hinge: 5.6 m, leaf: 0.9 m, towards: front, opens: out, level: 0.3 m}", 6.0 - 11 * INCH - 5.6),
    ],
)
def test_a_door_and_the_steps_behind(only_space, door, far):
    """400 mm from a door to a stair: Approved Document K 1.22, as quoted. Distances by hand."""
    text = [ends(), doors(door)]
    assert measured(only_space, "door_to_step", 2, text=text, platform_behind=0.6) == pytest.approx(far)


ON_IT = "{wall: left, hinge: 5.4 m, leaf: 0.8 m, towards: front, opens: out, level: %s}"


@pytest.mark.parametrize(
    ("aisle", "level", "changes", "far"),
    [
        ("left", "0.3 m", {"row2_risers": 3.0}, 6.0 - 2 * 11 * INCH - 5.4),
        ("left", "0.3 m", {"row2_risers": 1.0}, 6.0 - 5.4),  # to the edge
        ("right", "0.3 m", {"row2_risers": 3.0}, 6.0 - 5.4),  # the steps lie at the other side
        ("one", "0.3 m", {"row2_risers": 3.0, "aisle_side": 0.0}, 6.0 - 2 * 11 * INCH - 5.4),
        ("one", "0.3 m", {"row2_risers": 3.0, "aisle_side": 1.0}, 6.0 - 5.4),
        # two risers up to row 1 and one from there to row 2 are three down behind
        ("left", "0.3 m", {"row1_platform": 0.2, "row1_risers": 2.0, "row2_risers": 1.0}, 6.0 - 2 * 11 * INCH - 5.4),
        # row 2 lies no higher than row 1: only those up to row 1 count
        ("left", "0.2 m", {"row1_platform": 0.2, "row1_risers": 2.0, "row2_platform": 0.2, "row2_risers": 3.0},
         6.0 - 11 * INCH - 5.4),
        # the platform reaches the wall, or there is none: nothing leads down
        ("left", "0.3 m", {"platform_behind": 1.8}, 4.6 - 3.7),
        ("left", "0 m", {"row2_platform": 0.0, "row2_risers": 3.0}, float("inf")),
    ],
)  # fmt: skip
def test_a_door_is_kept_clear_of_all_the_steps_down_behind(only_space, aisle, level, changes, far):
    """A door on the platform, from 4.6 to 5.4 m, and steps on treads of 11 in from its rear edge at 6 m forwards (assembly
    aisles, IBC 1028.11.1, as quoted); the platform begins at 3.7 m."""
    first = ("to: 0.6 m}", "to: 0.6 m, first: {from: 0 m, to: 0.6 m}, behind: {from: 0.6 m, to: 1.8 m}}")
    text = [first, doors(ON_IT % level), (SEATING, SEATING + f"  aisle: {{sides: {aisle}, width: 0.9 m}}\n")]
    changes = {"platform_behind": 0.6, "row1_platform": 0.0, **changes}
    assert measured(only_space, "door_to_step", 2, text=text, **changes) == pytest.approx(far)


@pytest.mark.parametrize(("wall", "side"), [("left", 1.0), ("right", 0.0)])
def test_the_steps_down_behind_lie_at_the_side_without_a_door(wall, side):
    """Among equally good designs; the steps up from the front, at 3.42 m and 3.7 m, are far from the door."""
    text = [("to: 0.6 m}", "to: 0.6 m, behind: 0.6 m, going: 28 cm}")]
    text += [doors((ON_IT % "0.3 m").replace("left", wall).replace("5.4", "5.7"))]
    place = "  place: {row1.y: 3.5 m, row2.y: 5.2 m, row2.platform: 0.3 m, row2.risers: 2}\n"
    text += [(SEATING, SEATING + "  aisle: {sides: one, width: 0.8 m}\n" + place)]
    assert solve(problem(*text), grid=0.05).design["aisle.side"] == side


def test_a_flush_door_in_the_wall_that_the_platform_reaches_has_no_step_before_it(only_space):
    door = "{wall: rear, hinge: 0.3 m, leaf: 0.9 m, towards: right, opens: out, level: 0.3 m}"
    text = [ends("{from: 0.6 m, to: 1.8 m}"), doors(door)]
    assert measured(only_space, "door_to_step", 2, text=text, platform_behind=1.8) == pytest.approx(7.2 - 3.7)


@pytest.mark.parametrize(
    ("jambs", "wall", "risers", "told"),
    [
        ("hinge: 5.9 m", "left", 2, True),  # from 5 m to 5.9 m
        ("hinge: 5.9 m", "right", 2, False),  # the steps lie at the left
        ("hinge: 5.7 m", "left", 2, False),  # before them
        ("hinge: 5.7 m", "left", 3, True),  # from 6 m less two treads, 5.441 m
        ("hinge: 5.9 m", "left", 1, False),  # none but at the edge
    ],
)
def test_a_door_on_to_the_steps_down_behind_is_told_of(only_space, jambs, wall, risers, told):
    """Two risers are a tread of 11 in, 0.279 m: from 5.721 m to the edge at 6 m."""
    door = f"{{name: yard, wall: {wall}, {jambs}, leaf: 0.9 m, towards: front, opens: out, level: 0.3 m}}"
    aisle = (SEATING, SEATING + "  aisle: {sides: left, width: 0.9 m}\n")
    made, space, there = of(only_space, ends(), doors(door), aisle, row2_risers=float(risers))
    said = " ".join(cautions(made, space, there))
    first = 6.0 - (risers - 1) * 11 * 0.0254
    words = f"Door 'yard' opens on to the steps down behind the last row, which are cut into its platform from {first:.3f} m to 6.000 m"
    assert (words in said) is told


def test_a_room_entered_from_behind_has_a_raised_row_only_so():
    """A door that opens inwards, on to the floor, forbids a platform that runs to its wall (common practice, no
    source); one that ends 1.2 m before it leaves it 0.3 m."""
    raised = (
        "limits:\n  - {measure: platform_height, row: 2, at_least: 0.3 m}\n  - {measure: riser_step, at_most: 0.2 m}\n"
    )
    shut = solve(problem(doors(INWARD), more=raised), grid=0.05)
    found = solve(problem(doors(INWARD), ends("{from: 0.1 m, to: 2 m}"), more=raised), grid=0.05)
    assert shut.status == "impossible" and found.status == "optimal"
    last = found.design["row2.y"] + 0.2 + found.design["platform.behind"]
    assert last <= 7.2 - 0.9 + 1e-9
    # of all that are as good it ends 36 in behind the chairs, the least of 5 cm steps that is as much, and leaves that to
    # the wall (IRC 2018 R311.7.6, a landing, as quoted)
    assert found.design["platform.behind"] == pytest.approx(0.95) and 7.2 - last >= 36 * 0.0254


def test_any_platform_can_be_ended_by_pinning():
    made = with_fixed(problem(), "platform.behind", "0.4 m")
    found = solve(made, grid=0.05)
    assert found.design["platform.behind"] == pytest.approx(0.4)


def test_as_many_risers_lead_down_behind_as_up_before(only_space):
    """0.3 m in two risers to either side; treads of 11 in (assembly aisles, IBC 1028.11.1, as quoted) beside the chairs."""
    _, space, drawn = of(only_space, ends())
    assert rear_steps(space.layout, drawn) == (
        (pytest.approx(6.0), pytest.approx(0.15)),
        (pytest.approx(6.0 - 0.2794), pytest.approx(0.3)),
    )


def test_no_riser_behind_is_higher_than_the_highest_before(only_space):
    """Up 0.1 m in one riser and 0.3 m in two: 0.4 m in three behind, 133 mm each."""
    changes = {"row2_platform": 0.1, "row2_risers": 1, "row3_platform": 0.4, "row3_risers": 2, "row3_y": 6.2}
    _, space, drawn = of(only_space, ends(), ("  rows: 2\n", "  rows: 3\n"), **changes)
    assert [height for _, height in rear_steps(space.layout, drawn)] == pytest.approx([0.4 / 3, 0.8 / 3, 0.4])


@pytest.mark.parametrize("text", [[], [ends("1.8 m")]])
def test_a_platform_that_reaches_the_wall_has_no_rear_edge(only_space, text):
    _, space, drawn = of(only_space, *text, platform_behind=1.8)
    assert rear_steps(space.layout, drawn) == ()


@pytest.mark.parametrize(
    ("door", "rise"),
    [
        ("{wall: rear, hinge: 1 m, leaf: 0.9 m, towards: right, opens: out, level: 0.3 m}", 0.3),  # the floor between
        ("{wall: rear, hinge: 1 m, leaf: 0.9 m, towards: right, opens: out, level: 0.5 m}", 0.5),
        (
            "{wall: right, hinge: 5.5 m, leaf: 0.9 m, towards: rear, opens: in, level: 0.3 m}",
            0.3,
        ),  # half behind the edge
        ("{wall: right, hinge: 4.5 m, leaf: 0.9 m, towards: rear, opens: in, level: 0.3 m}", 0.0),  # on to the platform
        ("{wall: right, hinge: 2 m, leaf: 0.9 m, towards: rear, opens: in}", 0.3),  # from the floor in front
    ],
)
def test_no_wheelchair_crosses_the_floor_behind_the_platform_level(only_space, door, rise):
    """Row 2 stands on 0.3 m, as far as 6 m; changes in level are not permitted in a wheelchair space: 2010 ADA Standards
    802.1.1, as quoted by two copies of the text. Heights by hand."""
    text = [ends(), doors(door), (SEATING, SEATING + PLACE.replace("row: 1", "row: 2"))]
    assert measured(only_space, "wheelchair_rise", text=text, platform_behind=0.6) == pytest.approx(rise)


def test_a_wheelchair_is_not_put_on_a_platform_that_ends_before_its_door():
    raised = "limits:\n  - {measure: platform_height, row: 2, at_least: 0.25 m}\n"
    level = "{wall: rear, hinge: 1 m, leaf: 0.9 m, towards: right, opens: out, level: 0.3 m}"
    row = SEATING, SEATING + PLACE.replace("row: 1", "row: 2")
    found = solve(problem(doors(level), row, ends("{from: 0.1 m, to: 2 m}"), more=raised), grid=0.05)
    reach = found.design["row2.y"] + 0.2 + found.design["platform.behind"]
    assert found.status == "optimal" and reach == pytest.approx(7.2)


# --- cautions -------------------------------------------------------------------------------------


def test_the_edge_behind_the_chairs_is_told(only_space):
    made, space, drawn = of(only_space, ends())
    (said,) = [words for words in cautions(made, space, drawn) if "last platform ends" in words]
    assert "ends 0.600 m behind its chairs, where the floor lies 0.300 m lower: nothing keeps" in said
    assert "2 risers of 0.150 m lead down there" in said and "Local codes decide" in said
    assert "beside the chairs on treads of 0.279 m" in said  # 11 in, as aisles are given
    (said,) = [words for words in cautions(*of(only_space, ends(), row2_risers=1)) if "last platform ends" in words]
    assert "1 riser of 0.300 m leads down there" in said and "treads" not in said  # it is the edge itself
    made, space, drawn = of(
        only_space, ends(), (PLATFORM[:10], "  guard: {height: 0.9 m, over: 0.2 m}\n" + PLATFORM[:10])
    )
    (said,) = [words for words in cautions(made, space, drawn) if "last platform ends" in words]
    assert "nothing keeps" not in said
    made, space, drawn = of(only_space)
    assert not [words for words in cautions(made, space, drawn) if "last platform ends" in words]


@pytest.mark.parametrize(
    ("bar", "behind", "risers", "told"),
    [
        (True, 0.6, 2, False),  # from the stools' backs at 5.5 m to the inner riser at 6.1 m less a tread: 320 mm
        (True, 0.55, 2, True),  # 50 mm less
        (True, 0.6, 3, True),  # a tread less
        (True, 0.4, 1, False),  # none but at the edge
        (False, 0.1, 4, False),  # from 5.5 m less three treads, 162 mm behind the feet of upright chairs at 4.5 m
        (False, 0.1, 5, True),  # a tread less
    ],
)
def test_steps_cut_into_the_way_to_a_bars_stools_are_told_of(only_space, bar, behind, risers, told):
    """Treads of 11 in (IBC 1028.11.1, as quoted); 12 in of way, as between rows of assembly seats (IBC 1030.13.2, as quoted)."""
    text = [ends("{from: 0.1 m, to: 1 m}"), *([(SEATING, SEATING + BAR)] if bar else [])]
    made, space, drawn = of(only_space, *text, platform_behind=behind, row2_risers=risers)
    (said,) = [words for words in cautions(made, space, drawn) if "last platform ends" in words]
    assert ("no longer level" in said) == told


@pytest.mark.parametrize(("risers", "level"), [(3, None), (4, None), (5, "0.682 m"), (7, "0.124 m")])
def test_a_short_landing_between_two_flights_is_told_of(only_space, risers, level):
    """The platform from 3.7 m to 5.5 m, less a tread of 11 in for each riser behind but one; 36 in of landing, IRC 2018
    R311.7.6, from memory."""
    made, space, drawn = of(only_space, ends("{from: 0.1 m, to: 1 m}"), platform_behind=0.1, row2_risers=risers)
    (said,) = [words for words in cautions(made, space, drawn) if "last platform ends" in words]
    assert ("between flights" in said) == (level is not None)
    assert level is None or f"the aisle is level for {level} only" in said


def test_a_door_behind_the_edge_opens_on_to_the_floor(only_space):
    made, space, drawn = of(only_space, ends(), doors(INWARD))
    assert thresholds(made, space, drawn) == []
    made, space, drawn = of(only_space, doors(INWARD))
    assert [floor for _, floor in thresholds(made, space, drawn)] == pytest.approx([0.3])


def test_headroom_behind_the_edge_is_over_the_floor(only_space):
    """A duct 2 m over the floor, from 6.1 m on: over a platform of 0.3 m it would leave 1.7 m."""
    duct = boxes("{x: [0 m, 4.4 m], y: [6.1 m, 7.2 m], z: [2 m, 2.7 m]}")
    for text, high in (([ends()], "2.000 m"), ([], "1.700 m")):
        made, space, drawn = of(only_space, duct, *text)
        (said,) = [words for words in cautions(made, space, drawn) if words.startswith("Behind the last row")]
        assert f"comes down to {high}" in said


def test_who_has_a_limit_on_the_height_behind_is_not_told_to_set_one(only_space):
    """2 m, as Approved Document K 1.11 asks (as quoted), lets pass what is less than the 6 ft 8 in (2.032 m) of others."""
    duct = boxes("{x: [0 m, 4.4 m], y: [6.1 m, 7.2 m], z: [2 m, 2.7 m]}")
    for limits, told in (
        ("", "set a limit on rear_headroom"),
        ("2 m", "though the limit on rear_headroom lets it pass"),
    ):
        made, space, drawn = of(only_space, duct, ends())
        if limits:
            made = replace(made, limits=(*made.limits, Limit("rear_headroom", "all", 2.0, None)))
        (said,) = [words for words in cautions(made, space, drawn) if words.startswith("Behind the last row")]
        assert told in said and "comes down to 2.000 m" in said and said.count("rear_headroom") == 1


LENS = "projector: {lumens: 2000, throw_ratio: [1, 3], y: {from: 3 m, to: 7 m}, z: {from: 1 m, to: 2.6 m}}\n"


def test_a_projector_behind_the_edge_hangs_over_the_floor(only_space):
    """The projector reaches 0.1 m below its lens: 2.3 - 0.1 m over the floor at 6.5 m, 0.3 m less over the platform at 5.8 m."""
    for y, high in ((6.5, 2.2), (5.8, 1.9)):
        made, space, drawn = of(only_space, ends(), more=LENS, projector_y=y, projector_z=2.3)
        assert below_the_projector(space, drawn) == pytest.approx(high)


def test_a_guard_behind_the_chairs_may_stand_in_the_light(only_space):
    """From a lens at 6.9 m, 1.3 m up, the light to the image's lower edge at 0.8 m, 0.5 m from the front wall, is 1.2297 m
    high at 6 m, where the guard's top is at 1.2 m: 30 mm under it, as it is built from 5.95 m some 26 mm; a guard 0.2 m
    higher is in it."""
    guard = "  guard: {height: %s, over: 0.2 m}\n"
    for height, found in (("0.9 m", set()), ("1.1 m", {"guard behind row 2"})):
        text = [ends(), (SEATING, SEATING + guard % height)]
        made, space, drawn = of(only_space, *text, more=LENS, projector_y=6.9, projector_z=1.3)
        assert {name for name in guards_in_light(space, drawn) if "behind" in name} == found


# --- for the builder ------------------------------------------------------------------------------


def test_the_builder_is_told_the_edge_the_steps_and_the_guard(only_space):
    """Row 2 is 3 x 0.7 m wide about 2.2 m: the way beside it runs to 1.15 m on the left, where the aisle is."""
    aisle = (SEATING, SEATING + "  guard: {height: 0.9 m, over: 0.25 m}\n  aisle: {sides: left, width: 0.9 m}\n")
    made, space, drawn = of(only_space, ends(), aisle)
    f = figure(made, space, drawn)
    assert platform_table(f, "mm").rows == (("row 2", "300 mm", "3700 mm", "6000 mm", "2300 mm", "2 of 150 mm"),)
    assert steps_table(f, "mm").rows[-1] == (
        "row 2, from behind",
        "6000 mm, 5720.6 mm",
        "150 mm, 300 mm",
        "279.4 mm",
        "0 mm to 1150 mm",
    )
    assert fixtures_table(f, "mm").rows[-1] == ("guard behind row 2", "6000 mm", "1150 mm to 4400 mm", "1200 mm")


def test_the_scorer_has_the_landing_among_the_rooms_own_limits(only_space):
    """A platform that would go on into the wall is none."""
    made, space, drawn = of(only_space, ends("2 m"), platform_behind=2.0)
    assert "rear_landing" in {r.limit.measure for r in Scorer(made, space).card(drawn).broken}


def test_where_a_door_excludes_a_raised_row_the_way_out_is_told(tmp_path):
    """Of a file that does not end its last platform, and of no other: chairs from 5.96 m on and 0.5 m behind them end in
    the door's swing, which begins at 6.3 m."""
    raised = (
        "limits:\n  - {measure: platform_height, row: 2, at_least: 0.3 m}\n"
        "  - {measure: length_fraction, row: 2, at_least: 0.8}\n"
    )
    for text, told in (([doors(INWARD)], True), ([doors(INWARD), ends("{from: 0.5 m, to: 2 m}")], False)):
        path = tmp_path / "room.yaml"
        path.write_text(text_of(*text) + raised, encoding="utf-8")
        for command in ("solve", "explain"):
            said = CliRunner().invoke(program, [command, str(path), "--grid", "5 cm"]).output
            assert "Conflict" in said or "Impossible" in said
            assert ("seating.platform.behind lets it end behind its chairs" in " ".join(said.split())) is told, said


DUCT = "{x: [0 m, 4.4 m], y: [6.1 m, 7.2 m], z: [2 m, 2.7 m]}"


@pytest.mark.parametrize(
    ("text", "height", "clear"),
    [
        ([], 0.3, 2.7 - 0.3),  # under a level ceiling, on the platform
        ([boxes(DUCT)], 0.3, 2.0 - 0.3),
        ([boxes(DUCT), ends()], 0.3, 2.0),  # the duct is over the floor, the platform ends at 6 m
        ([ends("1 m"), boxes(DUCT)], 0.3, 1.7),  # and here at 6.4 m, under it
        ([ends(), boxes(DUCT)], 0.0, 2.0),
        ([boxes("{x: [0 m, 0.5 m], y: [6.1 m, 7.2 m], z: [2 m, 2.7 m]}")], 0.3, 2.4),  # beside the row, from 1.15 m on
        ([boxes("{x: [0 m, 4.4 m], y: [6.9 m, 7.2 m], z: [0 m, 1 m]}")], 0.3, 2.4),  # a cupboard is under nobody's feet
    ],
)
def test_headroom_behind_the_last_row(only_space, text, height, clear):
    """6 ft 8 in over stairs: IRC 2018 R311.7.2, as quoted. Heights by hand."""
    behind = {"platform_behind": 1.0 if ends("1 m") in text else 0.6}
    found = measured(only_space, "rear_headroom", text=text, row2_platform=height, **behind)
    assert found == pytest.approx(clear)


def test_where_nobody_passes_there_is_no_headroom_to_ask_for(only_space):
    """0.25 m behind chairs that end at 6.95 m."""
    assert measured(only_space, "rear_headroom", text=[boxes(DUCT)], row2_y=6.75) == float("inf")


# --- the steps down, and where they end -------------------------------------------------------------

AISLE = SEATING, SEATING + "  aisle: {sides: left, width: 0.9 m}\n"
"""The row is 2.1 m wide about 2.2 m: the aisle beside it lies from 0.25 to 1.15 m."""


@pytest.mark.parametrize(
    ("text", "deep"),
    [
        ([], 7.2 - 6.0),
        (
            [boxes("{x: [0 m, 1.1 m], y: [6.05 m, 7.2 m], z: [0 m, 1 m]}")],
            6.05 - 6.0,
        ),  # a press at the foot of the steps
        ([boxes("{x: [0 m, 0.2 m], y: [6.05 m, 7.2 m], z: [0 m, 1 m]}")], 7.2 - 6.0),  # beside the aisle
        ([boxes("{x: [3.4 m, 4.4 m], y: [6.05 m, 7.2 m], z: [0 m, 1 m]}")], 7.2 - 6.0),  # where no steps end
    ],
)
def test_the_landing_is_at_the_foot_of_the_steps_too(only_space, text, deep):
    """Steps lie in the aisle: whoever comes down them must not step into what stands there (common practice, no source)."""
    assert measured(only_space, "rear_landing", text=[ends(), AISLE, *text], platform_behind=0.6) == pytest.approx(deep)


@pytest.mark.parametrize(
    ("name", "changes", "wide"),
    [
        ("aisle_width", {}, 0.25),  # from the row's end at 1.15 m to the box
        ("stair_width", {}, 0.25),
        ("aisle_width", {"row2_platform": 0.0}, 1.15),  # nothing to climb: behind the row lies one floor
        ("stair_width", {"row2_platform": 0.0}, float("inf")),
    ],
)
def test_what_stands_in_the_steps_down_narrows_the_way(only_space, name, changes, wide):
    text = [ends(), AISLE, boxes("{x: [0 m, 0.9 m], y: [5.5 m, 6 m], z: [0 m, 1 m]}")]
    assert measured(only_space, name, 2, text=text, platform_behind=0.6, **changes) == pytest.approx(wide)


def test_the_way_up_counts_beside_the_steps_down(only_space):
    """A box 0.9 m wide beside row 1, where the steps up to row 2 begin, leaves 0.25 m of 1.15 m."""
    text = [ends(), AISLE, boxes("{x: [0 m, 0.9 m], y: [2.5 m, 3 m], z: [0 m, 1 m]}")]
    assert measured(only_space, "stair_width", 2, text=text, platform_behind=0.6) == pytest.approx(0.25)


def test_steps_down_have_a_width_also_where_the_last_row_lies_level(only_space):
    """Rows 2 and 3 on one platform: nothing to climb between them, and two risers down behind row 3."""
    changes = {"rows": 3, "row3_platform": 0.3, "row3_y": 6.2, "platform_behind": 0.3}
    level = {"name": "stair_width", "row": 3, **changes}
    assert measured(only_space, text=[ends("0.3 m"), AISLE], **level) == pytest.approx(1.15)
    assert measured(only_space, text=[AISLE], **level) == float("inf")


@pytest.mark.parametrize(
    ("place", "told"), [("{x: 0.6 m, y: 6.6 m, z: 0.2 m}", True), ("{x: 4 m, y: 6.9 m, z: 0.2 m}", False)]
)
def test_no_bass_loudspeaker_stands_at_the_foot_of_the_steps(only_space, place, told):
    """Of 1.2 m behind the platform's edge it leaves less than 0.6 m to step down on: common practice, no source."""
    own = "seating:\n", f"bass: {{arrangement: own, positions: [{place}]}}\nseating:\n"
    deep = "  baffle: {depth: {from: 0.3 m, to: 0.5 m}", "  baffle: {depth: 0.42 m"
    said = " ".join(notes(*of(only_space, ends(), AISLE, own, deep)))
    assert ("stands on the floor behind the last platform" in said) is told, said


def of_the_edge(made, space, drawn) -> str:
    (said,) = [words for words in cautions(made, space, drawn) if "last platform ends" in words]
    return said


def test_steps_that_are_longer_than_the_platform_are_told(only_space):
    """0.8 m in six risers: five treads of 11 in, 1.397 m, while row 3 has its platform from 5.4 to 6.5 m alone."""
    changes = {"row2_platform": 0.4, "row2_risers": 3, "row3_platform": 0.8, "row3_risers": 3, "row3_y": 6.2}
    for behind, told in ((0.1, True), (0.5, False)):
        text = ends(f"{behind} m"), ("  rows: 2\n", "  rows: 3\n"), ("to: 0.6 m", "to: 0.9 m")
        said = of_the_edge(*of(only_space, *text, platform_behind=behind, **changes))
        assert ("1.397 m of treads, and the platform is no more than 1.100 m deep" in said) is told, said


@pytest.mark.parametrize(("last", "told"), [(0.3, False), (0.6, True)])
def test_between_flights_there_is_only_a_level_where_there_are_two(only_space, last, told):
    """Row 3's platform runs from 5.4 m to 6.5 m, less one or three treads of 11 in: under 36 in of
    landing, IRC 2018 R311.7.6, from memory. Where it lies level with row 2's, no steps lead up to
    it from the front."""
    changes = {"row2_platform": 0.3, "row3_platform": last, "row3_y": 6.2, "row3_risers": 2}
    text = ends("0.1 m"), ("  rows: 2\n", "  rows: 3\n")
    said = of_the_edge(*of(only_space, *text, platform_behind=0.1, **changes))
    assert ("Between them and the steps up from the front" in said) is told, said


def test_a_shallow_floor_behind_the_platform_is_told(only_space):
    """36 in at the foot of a stair: IRC 2018 R311.7.6, from memory. The platform ends at 6.6 m, 0.6 m before the wall."""
    limit = "limits:\n  - {measure: rear_landing, at_least: 0.5 m}\n"
    for behind, more, told in (
        (1.2, "", ": set a limit on rear_landing."),
        (1.2, limit, ", though the limit on rear_landing lets it pass."),
        (0.6, "", ""),
    ):
        said = of_the_edge(*of(only_space, ends(f"{behind} m"), more=more, platform_behind=behind))
        words = f"is 0.600 m deep, past what stands there, and some codes ask for 0.914 m at the foot of a stair{told}"
        assert (words in said) is bool(told), said


def test_a_platform_that_ends_at_the_wall_reaches_the_door_in_it(only_space):
    """5.31 + 0.2 + 1.69 m come to a hair less than 7.2 m: there is no floor behind it all the same."""
    outward = INWARD.replace("opens: in", "opens: out, level: 0.3 m")
    made, space, drawn = of(only_space, ends("1.69 m"), doors(outward), row2_y=5.31, platform_behind=1.69)
    assert float(platform_end(space.layout, space.layout.rows[-1]).value(drawn)) < 7.2
    assert thresholds(made, space, drawn) == []


def test_where_the_last_row_stands_on_the_floor_nothing_leads_down_behind_it(only_space):
    """Row 2 on a platform and row 3 on the floor again, 1.7 m behind it: its chairs end 0.2 m after its eyes."""
    changes = {"row3_platform": 0.0, "row3_y": 6.2, "platform_behind": 0.6}
    made, space, drawn = of(only_space, ends(), ("  rows: 2\n", "  rows: 3\n"), **changes)
    assert rear_steps(space.layout, drawn) == ()
    assert not [words for words in cautions(made, space, drawn) if "last platform ends" in words]
    raised = of(only_space, ends(), ("  rows: 2\n", "  rows: 3\n"), **{**changes, "row3_platform": 0.3})
    assert [y for y, _ in rear_steps(raised[1].layout, raised[2])][0] == pytest.approx(6.2 + 0.2 + 0.6)


def test_where_the_last_row_stands_on_the_floor_no_end_of_its_platform_is_told(tmp_path):
    """Set beside a design that has one, a decision is told as 'none' of a design that has nothing to decide there."""
    rows = "row1.y: 3.5 m, row2.y: 5.2 m, platform.behind: 0.6 m"
    own = f"designs:\n  flat: {{{rows}, row2.platform: 0 m}}\n  high: {{{rows}, row2.platform: 0.3 m}}\n"
    path = tmp_path / "room.yaml"
    path.write_text(text_of(ends("{from: 0.5 m, to: 2 m}")) + own, encoding="utf-8")
    printed = CliRunner().invoke(program, ["compare", str(path), "--no-best", "--grid", "5 cm"]).output
    (line,) = [one for one in printed.splitlines() if one.strip().startswith("last platform behind its chairs")]
    assert line.split()[-3:] == ["none", "0.600", "m"], printed


@pytest.mark.parametrize("behind", [0.2, 0.4, 0.6])
def test_on_a_short_platform_each_edge_has_its_own_risers_by_its_name(only_space, behind):
    """Row 2 on a platform from 3.7 m to 5.6, 5.8 or 6 m: 'up' stands at its front edge, 'down' at its rear edge, or a line
    leads there."""
    made, space, drawn = of(only_space, ends(f"{behind} m"), AISLE, row2_risers=2, platform_behind=behind)
    scene = plan(figure(made, space, drawn), "mm", 200)
    edges = {"2 risers up": 3.7, "2 risers down": 5.4 + behind}
    middle = 0.5 * 1.15  # of the way beside the row
    for label in scene.texts():
        if label.text in edges:
            at, other = ((edges[one], middle) for one in (label.text, next(e for e in edges if e != label.text)))
            box = scene.text_box(label)
            led = any(getattr(i, "role", "") == "leader" and i.points[0] == pytest.approx(at) for i in scene.items)
            assert led or from_box(at, box) < from_box(other, box), label.text
