"""Rows as people use them: chairs side by side, a bar, a wheelchair's place, staggered views, steps and guards,
against numbers worked by hand and against what codes and handbooks print."""

from __future__ import annotations

import io
import math
from dataclasses import replace

import pytest
from click.testing import CliRunner

from optimiser.cautions import cautions, of_limits
from optimiser.cli import program
from optimiser.design import spaces
from optimiser.errors import UsageError
from optimiser.explain.members import natural
from optimiser.measures import catalogue
from optimiser.measures.seats import present
from optimiser.notes import notes
from optimiser.problem.decisions import with_fixed
from optimiser.problem.model import Goal
from optimiser.problem.parts import part
from optimiser.record import solution_record
from optimiser.requirements import bounds
from optimiser.score import Scorer
from optimiser.seats import seats
from optimiser.sheet.terminal import print_design
from optimiser.sheet.whole import Terminal
from optimiser.solve import solve
from optimiser.views import behind_guards, guards_in_light
from optimiser.words import beside_the_front, seats_called
from tests.measures.conftest import problem, text_of

INCH = 0.0254
ROW = "  chair: {width: 0.7 m, depth: 0.9 m, reclined: 1.5 m, eye_height: 1.1 m, eye_to_back: 0.2 m, head_above_eye: 0.12 m}\n"
SEATING = "  seats: {choose: [3, 4]}\n"
BAR = "  bar: {counter: 0.4 m, height: 1.05 m, place: 0.6 m, eye_to_counter: 0.15 m, eye_to_back: 0.3 m, eye_height: 1.5 m, seats: 5}\n"


def design(rows: int = 2, **changes) -> dict[str, float]:
    """Image 3 m wide half a metre from the front wall, its lower edge at 0.8 m; rows 1.7 m apart."""
    found = {"screen.width": 3.0, "screen.bezel": 0.05, "screen.bottom": 0.8, "baffle.depth": 0.42}
    for n in range(1, rows + 1):
        found |= {f"row{n}.y": 3.5 + 1.7 * (n - 1), f"row{n}.platform": 0.3 * (n - 1)}
        found |= {f"row{n}.seats": 3.0, f"row{n}.risers": 2.0 if n > 1 else 1.0}
    return found | {name.replace("_", "."): value for name, value in changes.items()}


def measured(only_space, name, row=None, *, text=(), more="", rows=2, **changes):
    space = only_space(problem(("  rows: 2\n", f"  rows: {rows}\n"), *text, more=more))
    chosen = design(rows, **changes)
    return float(catalogue()[name].form(space.layout, row and space.layout.rows[row - 1]).value(chosen))


# --- doors and platforms --------------------------------------------------------------------------

DOORS = "reverberation_time: 0.3 s}", "reverberation_time: 0.3 s, doors: [%s]}"


@pytest.mark.parametrize(
    ("door", "away"),
    [
        # row 2 stands on 0.3 m from the backs of row 1, 3.5 + 0.2 m, to the rear wall
        ("{wall: rear, hinge: 0.3 m, leaf: 0.9 m, towards: right, opens: out}", 0.0),
        ("{wall: left, hinge: 5 m, leaf: 0.9 m, towards: front, opens: out}", 0.0),
        ("{wall: rear, hinge: 0.3 m, leaf: 0.9 m, towards: right, opens: out, level: 0.3 m}", 7.2 - 3.7),
        ("{wall: rear, hinge: 0.3 m, leaf: 0.9 m, towards: right, opens: out, level: 0.29 m}", 7.2 - 3.7),  # 10 mm
        ("{wall: rear, hinge: 0.3 m, leaf: 0.9 m, towards: right, opens: out, level: 0.28 m}", 0.0),  # 20 mm
        ("{wall: left, hinge: 2.4 m, leaf: 0.9 m, towards: front, opens: out}", 2.85 - 2.4),  # to the steps
        ("{wall: left, hinge: 1.4 m, leaf: 0.9 m, towards: rear, opens: in}", 2.85 - 2.3),
        ("{wall: left, hinge: 2.9 m, leaf: 0.9 m, towards: rear, opens: out, level: 0.3 m}", 2.9 - 3.7),  # over them
        ("{wall: front, hinge: 0.3 m, leaf: 0.9 m, towards: right, opens: in}", 2.85 - 0.9),
        (
            "{wall: front, hinge: 1.2 m, leaf: 0.9 m, towards: right, opens: in}",
            3.7 - 0.9,
        ),  # behind it stand the chairs
    ],
)
def test_a_step_at_a_doors_threshold_is_at_the_door(only_space, door, away):
    """400 mm from a door to a stair: Approved Document K 1.22, as quoted; thresholds up to 15 mm: Approved Document
    M, from memory. Distances by hand: rows 1.7 m apart and two risers, the first of them 0.85 m before the platform."""
    text = [(DOORS[0], DOORS[1] % door)]
    assert measured(only_space, "door_to_step", 2, text=text) == pytest.approx(away)


@pytest.mark.parametrize(
    ("door", "row", "last", "away"),
    [
        # row 2's platform runs from 3.7 m to 5.4 m, where the step up to row 3 is: that is row 3's
        ("{wall: rear, hinge: 0.3 m, leaf: 0.9 m, towards: right, opens: out}", 2, 0.6, 7.2 - 3.7),
        ("{wall: rear, hinge: 0.3 m, leaf: 0.9 m, towards: right, opens: out}", 3, 0.6, 0.0),
        ("{wall: left, hinge: 4.6 m, leaf: 0.8 m, towards: front, opens: out}", 2, 0.6, 0.0),
        ("{wall: left, hinge: 4.6 m, leaf: 0.8 m, towards: front, opens: out}", 3, 0.6, 5.4 - 0.85 - 4.6),
        # row 3 lies level with row 2: no step leads up to it
        ("{wall: left, hinge: 2.4 m, leaf: 0.9 m, towards: front, opens: out}", 2, 0.3, 2.85 - 2.4),
        ("{wall: left, hinge: 2.4 m, leaf: 0.9 m, towards: front, opens: out}", 3, 0.3, math.inf),
    ],
)
def test_of_each_row_the_steps_up_to_it_count(only_space, door, row, last, away):
    """Distances by hand: rows 1.7 m apart, two risers up to each that is raised."""
    text = [(DOORS[0], DOORS[1] % door)]
    assert measured(only_space, "door_to_step", row, text=text, rows=3, row3_platform=last) == pytest.approx(away)


@pytest.mark.parametrize(
    ("aisle", "changes", "away"),
    [
        ("both", {}, 2.85 - 2.4),
        ("left", {}, 2.85 - 2.4),
        ("right", {}, 3.7 - 2.4),  # the steps lie at the other side
        ("one", {"aisle_side": 0.0}, 2.85 - 2.4),
        ("one", {"aisle_side": 1.0}, 3.7 - 2.4),
        ("left", {"row2_risers": 1.0}, 3.7 - 2.4),  # none but at the platform's edge
        ("left", {"row2_risers": 3.0}, 3.7 - 1.7 * 2 / 3 - 2.4),
        ("left", {"row2_platform": 0.0}, float("inf")),
    ],
)
def test_steps_lie_in_the_aisle(only_space, aisle, changes, away):
    text = [(DOORS[0], DOORS[1] % "{wall: left, hinge: 2.4 m, leaf: 0.9 m, towards: front, opens: out}")]
    text += [(SEATING, SEATING + f"  aisle: {{sides: {aisle}, width: 0.9 m}}\n")]
    assert measured(only_space, "door_to_step", 2, text=text, **changes) == pytest.approx(away)


@pytest.mark.parametrize(
    ("going", "risers", "first", "depth"),
    [
        ("28 cm", 2, 3.7 - 0.28, 0.28),
        ("28 cm", 3, 3.7 - 2 * 0.28, 0.28),
        ("28 cm", 1, 3.7, 0.28),
        ("90 cm", 2, 3.7 - 0.85, 0.85),  # rows 1.7 m apart have room for no more
        ("85 cm", 2, 3.7 - 0.85, 0.85),  # just as deep as they have
        ("60 cm", 3, 3.7 - 1.7 * 2 / 3, 1.7 / 3),
    ],
)
def test_steps_are_as_deep_as_the_file_says_where_there_is_room(only_space, going, risers, first, depth):
    """All before the platform's edge at 3.7 m: what a door keeps from them, and what hangs over them."""
    risen = {"row2_risers": float(risers)}
    text = [
        ("to: 0.6 m}", f"to: 0.6 m, going: {going}}}"),
        (SEATING, SEATING + "  aisle: {sides: left, width: 0.9 m}\n"),
    ]
    door = DOORS[1] % "{wall: left, hinge: 2.4 m, leaf: 0.9 m, towards: front, opens: out}"
    assert measured(only_space, "step_going", 2, text=text, **risen) == pytest.approx(depth)
    assert measured(only_space, "door_to_step", 2, text=[*text, (DOORS[0], door)], **risen) == pytest.approx(
        first - 2.4
    )
    riser = 0.3 / risers
    assert measured(only_space, "walking_line", 2, text=text, **risen) == pytest.approx(2 * riser + depth)
    assert measured(only_space, "aisle_slope", 2, text=text, **risen) == pytest.approx(math.atan(riser / depth))
    # row 1 on 0.6 m and row 2 on 0.3 m: down by as much as it was up
    down = [("to: 0.6 m}", f"to: 0.6 m, first: {{from: 0 m, to: 0.6 m}}, going: {going}}}"), *text[1:]]
    slope = measured(only_space, "aisle_slope", 2, text=down, row1_platform=0.6, **risen)
    assert slope == pytest.approx(-math.atan(riser / depth))
    # a beam of 1 cm, just behind the first riser: over the first tread, or over the platform where there is none
    box = f"{{name: beam, x: [0 m, 4.4 m], y: [{first + 0.01:.4f} m, {first + 0.02:.4f} m], z: [2.2 m, 2.7 m]}}"
    beam = (DOORS[0], f"reverberation_time: 0.3 s, obstructions: [{box}]}}")
    clear = measured(only_space, "aisle_headroom", 2, text=[*text, beam], **risen)
    assert clear == pytest.approx(2.2 - 0.3 / risers)
    box = f"{{name: beam, x: [0 m, 4.4 m], y: [{first - 0.02:.4f} m, {first - 0.01:.4f} m], z: [2.2 m, 2.7 m]}}"
    beam = (DOORS[0], f"reverberation_time: 0.3 s, obstructions: [{box}]}}")
    clear = measured(only_space, "aisle_headroom", 2, text=[*text, beam], **risen)
    assert clear == pytest.approx(2.7 - 0.3)  # before them it hangs over row 1's aisle alone


@pytest.mark.parametrize(
    ("going", "high", "risers", "first", "tread"),
    [
        (", going: 28 cm", 0.3, 2, 2.2 - 0.28, 0.15),
        (", going: 28 cm", 0.3, 3, 2.2 - 2 * 0.28, 0.1),
        (", going: 28 cm", 0.15, 1, 2.2, None),
        (", going: 28 cm", 0.0, 2, None, None),  # level with the floor
        ("", 0.3, 2, 2.2, None),  # nothing says where they begin
    ],
)
def test_steps_up_to_the_first_row_lie_before_its_platform(only_space, going, high, risers, first, tread):
    """Its platform begins at its feet, 3.5 + 0.2 - 1.5 m from the front wall: what a door keeps from the steps, what hangs over
    their treads, and what stands beside them. Four chairs of 0.7 m leave 0.8 m at either side of 4.4 m."""
    up = {"row1_platform": high, "row1_risers": float(risers), "row1_seats": 4.0, "row2_platform": high}
    text = [
        ("to: 0.6 m}", f"to: 0.6 m, first: {{from: 0 m, to: 0.6 m}}{going}}}"),
        (SEATING, SEATING + "  aisle: {sides: left, width: 0.8 m}\n"),
    ]
    door = DOORS[1] % "{wall: left, hinge: 1.4 m, leaf: 0.9 m, towards: front, opens: out}"
    apart = measured(only_space, "door_to_step", 1, text=[*text, (DOORS[0], door)], **up)
    assert apart == pytest.approx(math.inf if first is None else first - 1.4)

    def with_box(name, y, z, x):
        box = f"{{name: box, x: [{x}], y: [{y:.4f} m, {y + 0.01:.4f} m], z: [{z}]}}"
        room = DOORS[0], f"reverberation_time: 0.3 s, obstructions: [{box}]}}"
        return measured(only_space, name, 1, text=[*text, room], **up)

    at = first or 2.2
    over, before = (with_box("aisle_headroom", y, "2.2 m, 2.7 m", "0 m, 4.4 m") for y in (at + 0.01, at - 0.02))
    assert over == pytest.approx(
        2.2 - (tread or high)
    )  # over the first tread, or over the platform where there is none
    assert before == pytest.approx(2.7 - high)
    beside, farther = (with_box("stair_width", y, "0 m, 1 m", "0 m, 0.5 m") for y in (at + 0.01, at - 0.02))
    assert (beside, farther) == (pytest.approx((0.3, 0.8)) if high else (math.inf, math.inf))


@pytest.mark.parametrize(
    ("going", "y", "wide"),
    [
        (", going: 28 cm", 3.45, 0.25),  # on the tread, which begins 0.28 m before the edge at 3.7 m
        (
            ", going: 28 cm",
            3.38,
            0.6,
        ),  # before it, beside the narrower row in front, 0.95 m from the wall: 0.6 m past the box
        ("", 3.38, 0.25),  # the tread is half of the row pitch, 0.85 m
        (", going: 28 cm", 2.0, 0.6),  # before the feet of the row in front
    ],
)
def test_steps_past_what_stands_on_them_are_as_wide_as_beside_the_wider_row(only_space, going, y, wide):
    """Row 1 has three chairs of 0.7 m and ends 1.15 m from the left wall, row 2 four and ends 0.8 m from it; a box 0.55 m wide
    stands at the wall, row 1's feet are 2.2 m from the front wall."""
    text = [
        ("to: 0.6 m}", f"to: 0.6 m{going}}}"),
        (SEATING, SEATING + "  aisle: {sides: left, width: 0.2 m}\n"),
        (
            DOORS[0],
            f"reverberation_time: 0.3 s, obstructions: [{{name: b, x: [0 m, 0.55 m], y: [{y} m, {y + 0.02} m], z: [0 m, 1 m]}}]}}",
        ),
    ]
    found = measured(only_space, "stair_width", 2, text=text, row2_seats=4.0)
    assert found == pytest.approx(wide if y > 2.2 else 0.8)


@pytest.mark.parametrize(
    ("aisle", "way", "told"),
    [
        ("left", "doors: [{name: way, wall: left, hinge: 3.3 m, leaf: 0.9 m, towards: front, opens: out}]", True),
        ("right", "doors: [{name: way, wall: left, hinge: 3.3 m, leaf: 0.9 m, towards: front, opens: out}]", False),
        ("left", "doors: [{name: way, wall: left, hinge: 2.8 m, leaf: 0.9 m, towards: front, opens: out}]", False),
        ("both", "openings: [{name: way, wall: right, along: [2 m, 3 m], z: [0 m, 2.1 m]}]", True),
        ("both", "openings: [{name: way, kind: window, wall: right, along: [2 m, 3 m], z: [1 m, 2.1 m]}]", False),
        ("both", "doors: [{name: way, wall: front, hinge: 0.1 m, leaf: 0.9 m, towards: right, opens: out}]", False),
    ],
)
def test_a_way_in_on_to_steps_is_told_of(only_space, aisle, way, told):
    """Two risers up to row 2, from 2.85 to 3.7 m."""
    text = [(DOORS[0], f"reverberation_time: 0.3 s, {way}}}")]
    made = problem(*text, (SEATING, SEATING + f"  aisle: {{sides: {aisle}, width: 0.9 m}}\n"))
    space = only_space(made)
    said = " ".join(cautions(made, space, space.complete(design())))
    assert ("'way' opens on to the steps up to row 2, which lie before it from 2.850 m to 3.700 m" in said) is told


@pytest.mark.parametrize(
    ("door", "limits"),
    [(True, ""), (True, "limits:\n  - {measure: door_to_step, row: all, at_least: 40 cm}\n"), (False, "")],
    ids=["door", "door and limit", "opening"],
)
@pytest.mark.parametrize("risers", [", row2.risers: 2", ""])
@pytest.mark.parametrize(("wall", "side"), [("left", 1.0), ("right", 0.0)])
def test_the_steps_lie_at_the_side_without_a_door(wall, side, risers, limits, door):
    """Among equally good designs, and with the risers that 30 cm ask for: two, each under 7 3/4 in, IRC 2018 R311.7.5.1, as
    quoted. One alone, at 3.7 m, is 0.5 m from the door, which opens from 2.3 m to 3.2 m; the first of two lies at 2.85 m."""
    if door:
        text = [(DOORS[0], DOORS[1] % f"{{wall: {wall}, hinge: 3.2 m, leaf: 0.9 m, towards: front, opens: out}}")]
    else:
        way = f"openings: [{{wall: {wall}, along: [2.3 m, 3.2 m], z: [0 m, 2.1 m], keep: 0 m}}]"
        text = [(DOORS[0], f"reverberation_time: 0.3 s, {way}}}")]
    place = f"  place: {{row1.y: 3.5 m, row2.y: 5.2 m, row2.platform: 0.3 m{risers}}}\n"
    text += [(SEATING, SEATING + "  aisle: {sides: one, width: 0.8 m}\n" + place)]
    found = solve(problem(*text, more=limits), grid=0.05).design
    assert (found["aisle.side"], found["row2.risers"]) == (side, 2.0)


@pytest.mark.parametrize(
    ("door", "away"),
    [
        ("opens: in", 2.85 - 3.4),  # from 2.5 to 3.4 m; the platform alone is 0.3 m away
        ("opens: in, level: 0.3 m", float("inf")),
        ("opens: out", float("inf")),
    ],
)
def test_a_leaf_cannot_open_through_steps(only_space, door, away):
    text = [(DOORS[0], DOORS[1] % f"{{wall: left, hinge: 3.4 m, leaf: 0.9 m, towards: front, {door}}}")]
    text += [(SEATING, SEATING + "  aisle: {sides: left, width: 0.9 m}\n")]
    assert measured(only_space, "door_platform_clearance", 2, text=text) == pytest.approx(away)


# --- seats to one side ----------------------------------------------------------------------------


def test_angles_of_a_row_are_those_of_its_own_middle(only_space):
    """The image 3 m wide with its middle at 2.2 m, the seats' middle at 1.2 m, 3 m from it: by hand, the edges lie
    at atan(2.5 / 3) and atan(0.5 / 3) to both sides."""
    text = [(SEATING, SEATING + "  centre: 1.2 m\n")]
    seen = measured(only_space, "horizontal_angle", 1, text=text)
    assert seen == pytest.approx(math.atan(2.5 / 3.0) + math.atan(0.5 / 3.0))
    # how far out the loudspeakers are shows in the angle from the middle, 3.5 - 0.42 m away
    spread = float(catalogue()["loudspeaker_angle"].form(*_middle(only_space)).value(design()))
    out = (3.5 - 0.42) * math.tan(spread)
    heard = measured(only_space, "loudspeaker_angle", 1, text=text)
    assert heard == pytest.approx(0.5 * (math.atan((out + 1) / 3.08) + math.atan((out - 1) / 3.08)))


def test_a_stagger_for_which_there_is_no_room_is_none():
    """Three seats of 0.7 m in a room of 4.4 m leave 1.15 m at each side; half a seat less is under 1 m."""
    more = "limits:\n  - {measure: row_to_wall, at_least: 1 m}\n"
    angle = "  - {measure: horizontal_angle, row: 2, band: [30 deg, 35 deg], fade: 10 deg}\n"
    chosen = solve(problem((SEATING, "  seats: 3\n  stagger: {choose: [0, 0.5]}\n"), more=angle + more), grid=0.05)
    plain = solve(problem((SEATING, "  seats: 3\n"), more=angle + more), grid=0.05)
    assert chosen.status == "optimal" and chosen.score == pytest.approx(plain.score, abs=0.1)
    assert chosen.design["seating.stagger"] == 0.0


def _middle(only_space):
    layout = only_space(problem()).layout
    return layout, layout.rows[0]


# --- chairs side by side --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arms", "across"),
    [
        ("", 3 * 0.7),  # three chairs, each with both its arms
        (", arms: shared, arm: 0.15 m", 3 * 0.7 - 2 * 0.15),  # between neighbours one arm instead of two
    ],
)
def test_seats_across_from_chair_width_and_arms(only_space, arms, across):
    chair = ROW.replace("head_above_eye: 0.12 m", "head_above_eye: 0.12 m" + arms)
    beside = measured(only_space, "row_to_wall", 1, text=[(ROW, chair)])
    assert beside == pytest.approx((4.4 - across) / 2)  # the room is 4.4 m wide


def test_a_recliner_that_travels_needs_room_behind_and_less_before(only_space):
    chair = ROW.replace("head_above_eye: 0.12 m", "head_above_eye: 0.12 m, travel: 0.1 m")
    text = [(ROW, chair)]
    # backs at 5.2 + 0.2 + 0.1 of a room 7.2 m long; feet at 3.5 + 0.3 - 1.5, the image at 0.5
    assert measured(only_space, "rear_walkway", text=text) == pytest.approx(7.2 - 5.5)
    assert measured(only_space, "walkway", 1, text=text) == pytest.approx(3.5 + 0.3 - 1.5 - 0.5)
    # upright, the chair begins 0.9 m before its own back, wherever it travels when it reclines
    assert measured(only_space, "passing_way", 2, text=text) == pytest.approx(5.2 + 0.2 - 0.9 - (3.5 + 0.2 + 0.1))


def test_rows_may_stand_off_the_image(only_space):
    assert measured(only_space, "row_to_wall", 1, text=[(SEATING, SEATING + "  centre: 2 m\n")]) == pytest.approx(
        2 - 1.05
    )
    # the left end seat is 0.7 m left of 2 m, the image's middle is at 2.2 m: 0.9 m aside, 3 m away
    far = measured(only_space, "off_axis_angle", 1, text=[(SEATING, SEATING + "  centre: 2 m\n")])
    assert far == pytest.approx(math.atan(0.9 / 3.0))


def test_as_many_chairs_may_be_thought_of_as_fit_between_the_walls():
    # 4.4 m: six chairs of 0.7 m; with arms of 0.15 m shared (4.4 - 0.15) / 0.55, so seven; stools of 0.6 m seven
    chair = ROW.replace("head_above_eye: 0.12 m", "head_above_eye: 0.12 m, arms: shared, arm: 0.15 m")
    for text, path, most in (
        ([], "seating.seats", 6),
        ([(ROW, chair)], "seating.seats", 7),
        ([(SEATING, SEATING + BAR)], "seating.bar.seats", 7),
    ):
        found = problem(*text)
        assert natural(found, part(found, path)).high == most


# --- the bar ----------------------------------------------------------------------------------------


def test_a_bar_takes_the_place_of_the_last_row(only_space):
    text = [(SEATING, SEATING + BAR)]
    at_bar = dict(row2_seats=5.0)
    assert measured(only_space, "seat_count", text=text, **at_bar) == 3 + 5
    assert measured(only_space, "row_to_wall", 2, text=text, **at_bar) == pytest.approx((4.4 - 5 * 0.6) / 2)
    # one comes to it from behind: stools and people end 0.3 m behind the eyes
    assert measured(only_space, "walkway", 2, text=text, **at_bar) == pytest.approx(7.2 - 5.5)
    assert measured(only_space, "passing_way", 2, text=text, **at_bar) == pytest.approx(7.2 - 5.5)
    # its counter begins 0.15 + 0.4 m before the eyes; the backs in front are at 3.7
    assert measured(only_space, "row_gap", 2, text=text, **at_bar) == pytest.approx(5.2 - 0.55 - 3.7)
    # eyes at 0.3 + 1.5 over eyes at 1.1: similar triangles from the image's lower edge, 0.8 m up, 4.7 m away
    over = 0.8 + (1.8 - 0.8) * 3.0 / 4.7 - 1.1
    assert measured(only_space, "sightline_clearance", 2, text=text, **at_bar) == pytest.approx(over)


@pytest.mark.parametrize(
    ("y", "z", "clear"),
    [
        ("y: 5.9 m", 2.4, 2.4 - 0.1 - 0.3),  # 10 cm under the lens, behind the stools, which end at 5.5 m
        ("y: 5.9 m", 1.9, 1.9 - 0.1 - 0.3),  # lower than those who sit there: one passes there all the less
        ("behind: 10 cm", 2.4, 2.7 - 0.3),
    ],
)
def test_the_way_to_a_bar_lies_behind_its_stools(only_space, y, z, clear):
    lens = f"projector: {{lumens: 2000, throw_ratio: [1.0, 3.0], {y}, z: {z} m}}\n"
    text = [(SEATING, SEATING + BAR)]
    assert measured(only_space, "standing_headroom", 2, text=text, more=lens, row2_seats=5.0) == pytest.approx(clear)


def test_one_row_is_no_bar():
    one, two = spaces(problem(("  rows: 2\n", "  rows: {choose: [1, 2]}\n"), (SEATING, SEATING + BAR)))
    assert [row.bar for row in (*one.layout.rows, *two.layout.rows)] == [False, False, True]


# --- a place for a wheelchair -----------------------------------------------------------------------

PLACE = (
    "  wheelchair: {row: 1, width: 36 in, depth: 48 in, side: left}\n"  # 2010 ADA Standards 802.1.2 and .3, as quoted
)


def test_a_wheelchair_has_its_floor_at_the_rows_end(only_space):
    text = [(SEATING, SEATING + PLACE)]
    floor = 36 * INCH
    assert measured(only_space, "row_to_wall", 1, text=text) == pytest.approx((4.4 - 3 * 0.7 - floor) / 2)
    assert measured(only_space, "seat_count", text=text) == 3 + 1 + 3
    space = only_space(problem(*text))
    found = [(s.row, s.kind, s.number, s.x) for s in seats(space, design()) if s.row == 1]
    left = (4.4 - 3 * 0.7 - floor) / 2
    middles = [left + floor + 0.35 + 0.7 * k for k in range(3)]
    assert found == [
        *((1, "chair", k + 1, pytest.approx(x)) for k, x in enumerate(middles)),
        (1, "wheelchair", 1, pytest.approx(left + floor / 2)),
    ]


def test_what_a_file_leaves_out_of_a_wheelchairs_place(only_space):
    # 2010 ADA Standards 802.1.2 and 802.1.3, as quoted by two copies of the text: 36 in wide, 48 in deep from the front
    said = problem((SEATING, SEATING + "  wheelchair: {}\n")).seating.wheelchair
    assert (said.places, said.width, said.depth) == (1, pytest.approx(36 * INCH), pytest.approx(48 * INCH))


def test_a_deep_floor_reaches_further_than_feet(only_space):
    text = [(SEATING, SEATING + PLACE.replace("48 in", "2 m"))]
    assert measured(only_space, "walkway", 1, text=text) == pytest.approx(3.5 + 0.2 - 2.0 - 0.5)


def test_people_pass_before_a_wheelchairs_floor_as_before_chairs_upright(only_space):
    """Row 1's backs at 3.7 m; its chairs, upright, begin 0.9 m before that, the floor 48 in; the image hangs at 0.5 m."""
    assert measured(only_space, "passing_way", 1) == pytest.approx(3.7 - 0.9 - 0.5)
    text = [(SEATING, SEATING + PLACE)]
    assert measured(only_space, "passing_way", 1, text=text) == pytest.approx(3.7 - 48 * INCH - 0.5)
    small = [(SEATING, SEATING + PLACE.replace("48 in", "0.8 m"))]
    assert measured(only_space, "passing_way", 1, text=small) == pytest.approx(3.7 - 0.9 - 0.5)


@pytest.mark.parametrize(("level", "rise"), [("0 m", 0.3), ("0.3 m", 0.0), ("0.2 m", 0.1)])
def test_its_row_needs_no_step_from_a_door(only_space, level, rise):
    doors = f", doors: [{{wall: rear, hinge: 1 m, leaf: 0.9 m, towards: right, opens: out, level: {level}}}]}}\n"
    text = [(", reverberation_time: 0.3 s}\n", ", reverberation_time: 0.3 s" + doors)]
    text += [(SEATING, SEATING + PLACE.replace("row: 1", "row: 2"))]
    assert measured(only_space, "wheelchair_rise", text=text) == pytest.approx(rise)


@pytest.mark.parametrize(("level", "rise"), [("0 m", 0.3), ("0.3 m", 0.0), ("0.5 m", 0.2)])
def test_before_other_rows_its_platform_is_compared_with_every_door(only_space, level, rise):
    """Row 1 on 0.3 m: by the measure's formula, |platform - level|, whatever lies between it and a
    door in the rear wall."""
    door = f"{{wall: rear, hinge: 1 m, leaf: 0.9 m, towards: right, opens: out, level: {level}}}"
    text = [(DOORS[0], DOORS[1] % door), (SEATING, SEATING + PLACE + "  place: {row1.platform: 0.3 m}\n")]
    assert measured(only_space, "wheelchair_rise", text=text, row1_platform=0.3, row2_platform=0.6) == pytest.approx(
        rise
    )


def test_the_answer_keeps_the_wheelchair_on_the_level_of_the_way_in():
    asked = problem(
        (SEATING, SEATING + PLACE.replace("row: 1", "row: 2")),
        more="limits:\n  - {measure: row_pitch, at_least: 1.6 m}\n",
    )
    solution = solve(asked)
    assert solution.status == "optimal" and solution.design["row2.platform"] == 0.0  # the file names no door: the floor


# --- over two rows, between two heads -----------------------------------------------------------------


def chain(only_space, name, row, **changes):
    """Rows 1 m apart, the first 4 m from the image and its eyes 0.4 m above the image's lower edge, with the
    rises of a constant C-value of 0.12 m: worked from the formula for stands, N = (R + C)(D + T) / D - R."""
    text = [("length: 7.2 m", "length: 12 m")]
    levels = (0.0, 0.25, 0.524, 0.818)
    places = {f"row{n}_y": 3.5 + n for n in range(1, 5)} | {
        f"row{n}_platform": z for n, z in enumerate(levels, start=1)
    }
    return measured(only_space, name, row, text=text, rows=4, **{"screen_bottom": 0.7, **places, **changes})


def test_the_chain_of_a_constant_clearance(only_space):
    for row in (2, 3, 4):
        assert chain(only_space, "sightline_clearance", row) == pytest.approx(0.12, abs=2e-5)


def test_over_two_rows_it_is_the_same_formula_with_twice_the_depth(only_space):
    # C = D (N + R) / (D + T) - R with T = 2 m and the rise of two rows, N = 0.524 m
    assert chain(only_space, "two_row_clearance", 3) == pytest.approx(4 * (0.524 + 0.4) / 6 - 0.4)


def test_half_a_seat_aside_one_looks_over_the_row_before_the_one_in_front(only_space):
    together = chain(only_space, "clear_view", 3)
    staggered = chain(only_space, "clear_view", 3, row2_seats=4.0)  # three seats behind four stand between them
    assert chain(only_space, "stagger", 3) == 0.0
    assert chain(only_space, "stagger", 3, row2_seats=4.0) == pytest.approx(0.35)  # half of 0.7 m
    assert together == pytest.approx(0.12, abs=2e-5)
    assert staggered == pytest.approx(0.216, abs=1e-9)
    # about twice what each row gives: 4 in a row, 8 in between the heads in front (Theatre Catalog, 1945)
    assert staggered / together == pytest.approx(2.0, abs=0.25)


def test_a_stagger_shifts_every_second_row(only_space):
    text = [(SEATING, SEATING + "  stagger: 0.5\n")]
    assert measured(only_space, "stagger", 2, text=text) == pytest.approx(0.35)
    assert measured(only_space, "row_to_wall", 2, text=text) == pytest.approx((4.4 - 2.1) / 2 - 0.35)
    # three seats half a seat aside of four are in line again
    assert measured(only_space, "stagger", 2, text=text, row1_seats=4.0) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(("front", "behind"), [(1, 5), (5, 1), (2, 4)])
def test_rows_of_very_different_length_about_one_middle(only_space, front, behind):
    """Chairs of 0.7 m at -1.4, -0.7, 0, 0.7 and 1.4 m from the middle, the only one of the other
    row at 0; and at -1.05, -0.35, 0.35 and 1.05 m, of which the two of the other row share those in
    the middle."""
    own = f"  place: {{row1.seats: {front}, row2.seats: {behind}}}\n"
    text = [(SEATING, "  seats: {from: 1, to: 5}\n" + own)]
    seats = {"row1_seats": float(front), "row2_seats": float(behind)}
    assert measured(only_space, "stagger", 2, text=text, **seats) == pytest.approx(0.0, abs=1e-12)


def test_who_sits_in_a_wheelchair_in_front_counts_for_the_stagger(only_space):
    """Floor 36 in wide left of three chairs of 0.7 m: who sits there has 1.05 m to the row's middle
    at 2.2 m, whatever that floor's width, as has the first of four chairs behind."""
    text = [(SEATING, SEATING + PLACE)]
    assert measured(only_space, "stagger", 2, text=text, row2_seats=4.0) == pytest.approx(0.0, abs=1e-9)
    # three chairs behind, at 1.5, 2.2 and 2.9 m; those in front begin at 2.2 - 1.05 + 18 in, and 0.35 m
    apart = 2.2 - 1.05 + 18 * INCH + 0.35 - 2.2
    assert measured(only_space, "stagger", 2, text=text) == pytest.approx(-apart)


def test_stools_of_another_width_stand_aside_as_they_happen_to(only_space):
    text = [(SEATING, SEATING + BAR.replace("seats: 5", "seats: {choose: [2, 3]}"))]
    # stools at -0.6, 0, 0.6 from the middle, chairs at -0.7, 0, 0.7: the middle one has a head before him
    assert measured(only_space, "stagger", 2, text=text) == 0.0
    # two stools at -0.3 and 0.3: nearest are 0.3 from the middle chair
    assert measured(only_space, "stagger", 2, text=text, row2_seats=2.0) == pytest.approx(0.3)


def test_the_solver_staggers_where_that_shows_more():
    asked = problem(
        ("  rows: 2\n", "  rows: 3\n"),
        ("length: 7.2 m", "length: 9 m"),
        ("{choose: [3, 4]}\n", "4\n  stagger: {choose: [0, 0.5]}\n"),
        ("to: 0.6 m}", "to: 0.2 m}"),
        ("goals:\n", "goals:\n  - {measure: clear_view, row: all, at_least: 120 mm, fade: 120 mm, weight: 5}\n"),
    )
    free, in_line = solve(asked), solve(with_fixed(asked, "seating.stagger", 0.0))
    assert free.status == in_line.status == "optimal"
    assert free.design["seating.stagger"] == 0.5 and free.score > in_line.bound


# --- guards -------------------------------------------------------------------------------------------


def test_the_line_over_a_guard(only_space):
    text = [(SEATING, SEATING + "  guard: {height: 0.9 m, over: 0.6 m}\n")]
    raised = dict(row2_platform=0.7)
    # eyes at 1.8; the guard stands behind the chairs in front, at y = 3.7, its top at 1.6; the image at 0.5, from 0.8 up
    line = 0.8 + (1.8 - 0.8) * (3.7 - 0.5) / (5.2 - 0.5)
    assert measured(
        only_space, "guard_sightline", 2, text=[*text, ("to: 0.6 m", "to: 0.8 m")], **raised
    ) == pytest.approx(line - 1.6)
    assert measured(only_space, "guard_sightline", 2, text=text) == math.inf  # 0.3 m need none


@pytest.mark.parametrize(
    ("over", "drops"),
    [
        (None, (0.0, 0.4, 0.8)),
        (0.6, (0.0, 0.4, 0.8)),  # 0.4 m from row to row ask for none: none is built, and none counts
        (0.3, (0.0, 0.3, 0.3)),
    ],
)
def test_only_guards_that_are_built_make_a_drop_less(only_space, over, drops):
    guard = [] if over is None else [(SEATING, SEATING + f"  guard: {{height: 0.9 m, over: {over} m}}\n")]
    text, floors = [*guard, ("to: 0.6 m", "to: 0.9 m")], {"row2_platform": 0.4, "row3_platform": 0.8}
    found = [measured(only_space, "unguarded_drop", row, text=text, rows=3, **floors) for row in (1, 2, 3)]
    assert found == pytest.approx(drops)
    if over is not None:
        built = [
            math.isfinite(measured(only_space, "guard_sightline", row, text=text, rows=3, **floors)) for row in (2, 3)
        ]
        assert built == [drop == over for drop in drops[1:]]


@pytest.mark.parametrize(("over", "told"), [(0.6, False), (0.3, True)])
def test_who_builds_guards_is_told_where_there_are_any(only_space, over, told):
    asked = problem(
        ("  rows: 2\n", "  rows: 3\n"),
        (SEATING, SEATING + f"  guard: {{height: 0.9 m, over: {over} m}}\n"),
        ("to: 0.6 m", "to: 0.9 m"),
    )
    said = cautions(asked, only_space(asked), design(3, row2_platform=0.4, row3_platform=0.8))
    assert any(words.startswith("Guards: their strength") for words in said) == told


def test_a_file_without_guards_is_told_nothing_of_their_strength(only_space):
    """However high its platforms are; that some codes ask for guards there is told."""
    asked = problem(("  rows: 2\n", "  rows: 3\n"), ("to: 0.6 m", "to: 0.9 m"))
    said = cautions(asked, only_space(asked), design(3, row2_platform=0.4, row3_platform=0.8))
    assert not any(words.startswith("Guards:") for words in said)
    assert sum("some codes ask for a guard at its open sides" in words for words in said) == 1


@pytest.mark.parametrize(("floor", "binds"), [(0.6, True), (0.7, False)])
def test_a_drop_with_a_guard_does_not_bind(only_space, floor, binds):
    """Of 0.6 m, for which none is built over more than 0.6 m, the limit is reached; of 0.7 m a guard takes care."""
    text = [(SEATING, SEATING + "  guard: {height: 0.9 m, over: 0.6 m}\n"), ("to: 0.6 m", "to: 0.8 m")]
    given = problem(*text, more="limits:\n  - {measure: unguarded_drop, at_most: 0.6 m}\n")
    card = Scorer(given, only_space(given)).card(design(row2_platform=floor))
    (found,) = (one for one in card.limits if one.limit.measure == "unguarded_drop" and one.row == 2)
    assert found.holds and found.slack == pytest.approx(0.0)
    assert (found.binds, found.near) == (binds, binds)


@pytest.mark.parametrize(("floor", "binds"), [(0.3, False), (0.7, True)])
def test_the_height_of_a_guard_binds_only_where_one_is_built(only_space, floor, binds):
    """Guards 0.9 m high, as is asked, over drops of more than 0.6 m: a platform of 0.3 m has none."""
    text = [(SEATING, SEATING + "  guard: {height: 0.9 m, over: 0.6 m}\n"), ("to: 0.6 m", "to: 0.8 m")]
    given = problem(
        ("  rows: 2\n", "  rows: 2\n"), *text, more="limits:\n  - {measure: guard_height, at_least: 0.9 m}\n"
    )
    card = Scorer(given, only_space(given)).card(design(row2_platform=floor))
    (found,) = (one for one in card.limits if one.limit.measure == "guard_height")
    assert found.holds and found.slack == pytest.approx(0.0)
    assert (found.binds, found.near) == (binds, binds)


@pytest.mark.parametrize("floor", [0.7, 0.3])
def test_what_a_guard_hides_of_the_image_is_told(only_space, floor):
    """Eyes at 1.8 m, 5.2 m from the front wall, over a guard's top at 1.6 m and 3.7 m: the line meets the image, which is
    1.6875 m high, at 1.8 - 0.2 * 4.7 / 1.5 = 1.173 m, and it begins at 0.8 m. A platform of 0.3 m has no guard."""
    text = [(SEATING, SEATING + "  guard: {height: 0.9 m, over: 0.6 m}\n"), ("to: 0.6 m", "to: 0.8 m")]
    given = problem(*text)
    space, chosen = only_space(given), design(2, row2_platform=floor)
    found = behind_guards(space, chosen)
    said = [note for note in notes(given, space, chosen) if note.startswith("The guard before row 2 hides")]
    assert len(found) == len(said) == (floor > 0.6)
    for one in found:
        assert one.row == 2 and one.share == pytest.approx((1.8 - 0.2 * 4.7 / 1.5 - 0.8) / 1.6875, abs=1 / 27)


@pytest.mark.parametrize(("y", "z", "deep"), [(5.5, 2.0, 1.6 - 1.568), (5.5, 2.2, None), (3.6, 2.0, None)])
def test_a_guard_in_the_projectors_light_is_told(only_space, y, z, deep):
    """The light's lower edge leads from the lens to the image's, 0.8 m up and 0.5 m from the front wall: at the guard's
    front, 3.7 m, it is 0.8 + 1.2 * 3.2 / 5.0 = 1.568 m up, under the guard's top at 1.6 m; 1.696 m from a lens 2.2 m up.
    A lens before the guard throws no light on it."""
    beam = f"projector: {{lumens: 2000, throw_ratio: [0.8, 2.1], y: {y} m, z: {z} m}}\n"
    text = [(SEATING, SEATING + "  guard: {height: 0.9 m, over: 0.6 m}\n"), ("to: 0.6 m", "to: 0.8 m")]
    given = problem(*text, more=beam)
    space = only_space(given)
    chosen = design(2, row2_platform=0.7) | {"projector.y": y, "projector.z": z}
    assert list(guards_in_light(space, chosen).values()) == ([] if deep is None else [pytest.approx(deep, abs=1e-3)])
    said = [note for note in notes(given, space, chosen) if "into the projector's light" in note]
    assert len(said) == (deep is not None)


# --- steps and what codes say of them -------------------------------------------------------------------


def steps(only_space, name, row, *, rise, run, risers):
    """A measure of the steps from a first row on the floor up to a second one."""
    text = [("to: 0.6 m", "to: 1 m")]
    return measured(only_space, name, row, text=text, row2_y=3.5 + run, row2_platform=rise, row2_risers=float(risers))


@pytest.mark.parametrize(
    ("riser", "going", "slope"),
    # Approved Document K (2013), Table 1.1: 42 degrees for private stairs; slopes by trigonometry
    [(0.220, 0.220, 45.0), (0.220, 0.245, 41.92), (0.180, 0.280, 32.74), (0.175, 0.250, 34.99), (0.190, 0.250, 37.24)],
)
def test_slopes_and_strides_of_stairs(only_space, riser, going, slope):
    flight = dict(rise=3 * riser, run=3 * going, risers=3)
    assert math.degrees(steps(only_space, "aisle_slope", 2, **flight)) == pytest.approx(slope, abs=0.01)
    assert steps(only_space, "walking_line", 2, **flight) == pytest.approx(2 * riser + going)
    assert steps(only_space, "least_riser", 2, **flight) == pytest.approx(riser)
    assert steps(only_space, "stair_width", 2, **flight) == pytest.approx((4.4 - 2.1) / 2)


def test_steps_begin_beside_the_row_in_front(only_space):
    """Four chairs of 0.7 m before three, in a room 4.4 m wide, the last riser at the backs of the four: the steps before it
    lie beside them. A post of 0.3 m at the wall beside the four takes as much of the stair."""
    assert measured(only_space, "stair_width", 2, row1_seats=4.0) == pytest.approx((4.4 - 2.8) / 2)
    post = "obstructions: [{x: [0 m, 0.3 m], y: [3 m, 3.3 m], z: [0 m, 2.7 m]}]"
    text = [("reverberation_time: 0.3 s}", f"reverberation_time: 0.3 s, {post}}}")]
    assert measured(only_space, "stair_width", 2, text=text) == pytest.approx((4.4 - 2.1) / 2 - 0.3)


def test_where_there_is_no_step_nothing_is_asked_of_it(only_space):
    level = dict(row2_platform=0.0)
    assert measured(only_space, "least_riser", 2, **level) == math.inf
    assert measured(only_space, "stair_width", 2, **level) == math.inf
    assert measured(only_space, "riser_difference", **level) == 0.0


@pytest.mark.parametrize("going", ["", ", going: 28 cm"])
@pytest.mark.parametrize("name", ["step_going", "walking_line"])
def test_level_rows_have_no_stride_and_limits_on_it_refuse_none(only_space, name, going):
    """550 to 700 mm are for stairs (Approved Document K (2013), notes to Table 1.1): where nobody climbs nothing is asked, at
    neither end."""
    text = [("to: 0.6 m}", f"to: 0.6 m{going}}}")]
    space = only_space(problem(*text))
    form = catalogue()[name].asked_form(space.layout, space.layout.rows[1])
    for risers in (1.0, 3.0):
        level, up = (design(2, row2_platform=height, row2_risers=risers) for height in (0.0, 0.01))
        # rows 1.7 m apart: 1.7 m or a third of it, or 280 mm as the file says, and twice a riser of 10 or 3.3 mm
        line = (0.28 if going else 1.7 / risers) + (0.0 if name == "step_going" else 2 * 0.01 / risers)
        for condition, held in ((form.at_least(0.7), line >= 0.7), (form.at_most(0.55), line <= 0.55)):
            assert condition.holds(level) and math.isnan(form.value(level))
            assert bool(condition.holds(up)) == held


def test_a_goal_on_the_stride_of_level_rows_is_met(only_space):
    """Two risers of 150 mm on treads of 280 mm: 580 mm, in the middle of what the goal asks. Row 2 lies level with row 1."""
    goal = Goal("walking_line", "all", 0.55, 0.61, 0.01, 1.0)
    text = problem(("  rows: 2\n", "  rows: 3\n"), ("to: 0.6 m}", "to: 0.6 m, going: 28 cm}"))
    asked = replace(text, goals=(goal,))
    space = only_space(asked)
    scorer = Scorer(asked, space)
    one_step = design(3, row2_platform=0.0, row3_platform=0.3)
    one_step = {name: getattr(domain, "value", one_step.get(name)) for name, domain in space.domains.items()}
    one_step = space.complete(one_step)
    card = scorer.card(one_step)
    assert [(r.rows, r.values[1], r.scores, r.score) for r in card.goals] == [
        ((2, 3), pytest.approx(0.58), (1.0, 1.0), 1.0)
    ]
    out = io.StringIO()
    print_design(Terminal(file=out, width=120), asked, space, one_step, card)
    assert "n/a / 0.580 m" in next(line for line in out.getvalue().splitlines() if "walking line" in line)
    flat = design(3, row2_platform=0.0, row3_platform=0.0)
    assert scorer.card(flat).score == 100.0


def test_risers_that_differ(only_space):
    # rises of 14 in and 20 in, in two and three risers: 7 in and 6 2/3 in, a third of an inch apart
    found = measured(
        only_space,
        "riser_difference",
        text=[("length: 7.2 m", "length: 9 m")],
        rows=3,
        row2_platform=14 * INCH,
        row2_risers=2.0,
        row3_platform=34 * INCH,
        row3_risers=3.0,
    )
    assert found == pytest.approx(INCH / 3)


CODES = {
    # measure, end: value; where the value was read
    "us-dwelling": {
        ("riser_step", "at_most"): 7.75 * INCH,  # IRC 2018 R311.7.5.1, a county's building department
        ("riser_difference", "at_most"): 0.375 * INCH,  # the same clause, several pages
        ("step_going", "at_least"): 10 * INCH,  # R311.7.5.2, as the first
        ("stair_width", "at_least"): 36 * INCH,  # R311.7.1, as the first
        ("standing_headroom", "at_least"): 80 * INCH,  # R311.7.2, as the first
        ("aisle_headroom", "at_least"): 80 * INCH,
        ("rear_headroom", "at_least"): 80 * INCH,
        ("unguarded_drop", "at_most"): 30 * INCH,  # R312.1.1, as the first
        ("guard_height", "at_least"): 36 * INCH,  # R312.1.2, as the first
    },
    "uk-dwelling": {
        ("riser_step", "at_most"): 0.220,  # Approved Document K (2013), Table 1.1, private stair, the document itself
        ("least_riser", "at_least"): 0.150,
        ("step_going", "at_least"): 0.220,
        ("step_going", "at_most"): 0.300,  # these three where the file gives a going: the same table and its notes
        ("walking_line", "at_least"): 0.550,
        ("walking_line", "at_most"): 0.700,
        ("aisle_slope", "at_most"): math.radians(42),
        ("standing_headroom", "at_least"): 2.0,  # 1.11, as quoted
        ("aisle_headroom", "at_least"): 2.0,
        ("rear_headroom", "at_least"): 2.0,
        ("door_to_step", "at_least"): 0.4,  # 1.22, as quoted
        ("unguarded_drop", "at_most"): 0.6,  # 1.40 to 1.41, the document itself
        ("guard_height", "at_least"): 0.9,  # Diagram 3.1, from memory, unverified
    },
}


PLATFORM = "  platform: {step: 10 mm, to: 0.6 m}\n"
GOING = "  platform: {step: 10 mm, to: 0.6 m, going: 28 cm}\n"


def coded(name: str, *changes, more: str = "", guard: bool = True):
    guarded = [(SEATING, SEATING + "  guard: {height: 1 m, over: 0.5 m}\n")] if guard else []
    return problem(("title: Test room\n", f"title: Test room\ncodes: {name}\n"), *guarded, *changes, more=more)


@pytest.mark.parametrize("name", CODES)
def test_presets_bring_the_codes_limits(name):
    found = {}
    for limit in coded(name, (PLATFORM, GOING)).limits:
        assert limit.firm and limit.source and limit.where.path == "codes" and limit.row == "all"
        ends = [end for end in ("at_least", "at_most") if getattr(limit, end) is not None]
        found |= {(limit.measure, end): getattr(limit, end) for end in ends}
    assert found == {key: pytest.approx(value) for key, value in CODES[name].items()}
    shared = {(limit.measure, limit.at_most) for limit in coded(name).limits}
    assert "walking_line" not in dict(shared) and ("step_going", 0.3) not in shared
    without = {limit.measure for limit in coded(name, guard=False).limits}
    assert "guard_height" not in without and "unguarded_drop" in without


def test_no_codes_no_limits():
    assert coded("none").limits == problem().limits == ()


@pytest.mark.parametrize(
    ("own", "kept", "looser"),
    [
        ("{measure: riser_step, at_most: 7 in}", 7 * INCH, False),
        ("{measure: riser_step, at_most: 9 in}", 9 * INCH, True),
        ("{measure: riser_step, row: all, at_least: 4 in, at_most: 8 in}", 8 * INCH, True),
    ],
)
def test_a_file_may_set_a_codes_limit_itself_and_is_told_where_it_asks_less(only_space, own, kept, looser):
    asked = coded("us-dwelling", more=f"limits:\n  - {own}\n")
    assert [limit.at_most for limit in asked.limits if limit.measure == "riser_step"] == [pytest.approx(kept)]
    said = [text for text in cautions(asked, only_space(asked), design()) if "looser" in text]
    assert bool(said) == looser and all("R311.7.5.1" in text for text in said)


@pytest.mark.parametrize(
    "own",
    [
        "{measure: riser_step, at_least: 4 in}",
        "{measure: riser_step, row: 2, at_most: 9 in}",
        "{measure: step_going, at_least: 9 in}",
    ],
)
def test_a_limit_on_something_else_leaves_the_codes_in_force(own):
    asked = coded("us-dwelling", more=f"limits:\n  - {own}\n")
    assert any(limit.at_most == pytest.approx(7.75 * INCH) and limit.row == "all" for limit in asked.limits)


@pytest.mark.parametrize(
    ("name", "height", "holds"),
    # a guard over 30 in, which is 762 mm: IRC 2018 R312.1.1, as quoted; over 600 mm: Approved Document K, 1.40 to 1.41
    [
        ("us-dwelling", 0.762, True),
        ("us-dwelling", 0.763, False),
        ("uk-dwelling", 0.600, True),
        ("uk-dwelling", 0.601, False),
    ],
)
def test_drops_that_ask_for_a_guard(only_space, name, height, holds):
    asked = coded(name, ("step: 10 mm, to: 0.6 m", "step: 1 mm, to: 1 m"), guard=False)
    space, chosen = only_space(asked), design(row2_platform=height)

    def kept(problem, space) -> bool:
        (bound,) = [b for b in bounds(problem, space) if b.measure.name == "unguarded_drop" and b.row == 2]
        return all(bool(c.holds(chosen, tolerance=1e-9)) for c in bound.conditions())

    assert kept(asked, space) == holds
    guarded = replace(
        asked,
        seating=replace(
            asked.seating, guard=problem((SEATING, SEATING + "  guard: {height: 1 m, over: 0.5 m}\n")).seating.guard
        ),
    )
    assert kept(guarded, only_space(guarded))


def test_codes_and_wheelchairs_come_with_cautions(only_space):
    asked = coded("uk-dwelling", (ROW, ROW + PLACE), guard=False)
    said = " ".join(cautions(asked, only_space(asked), design()))
    assert "Approved Document K" in said and "wheelchair" in said
    assert said.count("Local codes decide") >= 3


def test_where_limits_are_weighed_those_that_keep_from_harm_are_told_apart():
    assert of_limits(problem()) is None
    assert "Local codes decide" in of_limits(coded("uk-dwelling"))
    assert of_limits(problem(more="limits:\n  - {measure: walkway, at_least: 30 cm}\n")) is None


@pytest.mark.parametrize(("sides", "said"), [("none", "no aisle"), ("both", "an aisle at both sides")])
def test_an_aisle_without_a_choice_of_sides_has_none_to_pin(sides, said):
    aisle = [] if sides == "none" else [(SEATING, SEATING + "  aisle: {sides: both, width: 0.6 m}\n")]
    with pytest.raises(UsageError, match=said):
        with_fixed(problem(*aisle), "aisle.side", "left")
    one = problem((SEATING, SEATING + "  aisle: {sides: one, width: 0.6 m}\n"))
    assert with_fixed(one, "aisle.side", "right").seating.aisle.sides == "right"


@pytest.mark.parametrize(("side", "number"), [("left", 0.0), ("right", 1.0)])
def test_a_pinned_side_of_the_aisle_is_told_with_the_design(side, number):
    """Else a saved answer forgets on which side its aisle is, and is compared with one on the other side as its own."""
    one = problem((SEATING, SEATING + "  aisle: {sides: one, width: 0.6 m}\n"))
    found = solve(with_fixed(one, "aisle.side", side), grid=0.05)
    assert found.design["aisle.side"] == number
    assert solution_record(found)["design"]["aisle.side"] == side
    assert "aisle.side" in beside_the_front(found.space.domains, found.design)


# --- headroom and what stands in the way ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("z", "standing", "collides"),
    [
        ("[0.15 m, 0.45 m]", 2.7, True),  # a casing along the wall: one stands beside it, under the bare ceiling
        ("[1.9 m, 2.2 m]", 1.9, False),  # a duct hangs over those who stand up
    ],
)
def test_only_what_hangs_over_people_takes_headroom(only_space, z, standing, collides):
    box = f", obstructions: [{{name: box, x: [0 m, 1.3 m], y: [0 m, 7.2 m], z: {z}}}]}}\n"
    text = [(", reverberation_time: 0.3 s}\n", ", reverberation_time: 0.3 s" + box)]
    # the row's left end is at 1.15 m, so the box reaches into it; the ceiling is 2.7 m high, heads at 1.22 m
    assert measured(only_space, "standing_headroom", 1, text=text) == pytest.approx(standing)
    # whoever may not sit in the casing is kept from it by another measure
    assert (measured(only_space, "row_obstruction_clearance", 1, text=text) < 0.0) == collides


def test_what_lies_under_a_platform_hangs_over_nobody(only_space):
    box = ", obstructions: [{name: pipe, x: [0 m, 1.3 m], y: [0 m, 7.2 m], z: [0.05 m, 0.25 m]}]}\n"
    text = [(", reverberation_time: 0.3 s}\n", ", reverberation_time: 0.3 s" + box)]
    assert measured(only_space, "standing_headroom", 2, text=text) == pytest.approx(2.7 - 0.3)
    assert measured(only_space, "seated_headroom", 2, text=text) == pytest.approx(2.7 - 0.3 - 1.22)
    # nor does it collide with who sits there: 50 mm of the platform are over it
    assert measured(only_space, "row_obstruction_clearance", 2, text=text) == pytest.approx(0.3 - 0.25)


@pytest.mark.parametrize(("second", "third", "told"), [(0.3, 0.3, ["", "2", ""]), (0.3, 0.6, ["", "2", "2"])])
def test_a_row_on_the_level_of_the_one_in_front_has_no_risers(only_space, second, third, told):
    found = problem(("length: 7.2 m", "length: 9 m"), ("  rows: 2\n", "  rows: 3\n"))
    steps = dict(row2_platform=second, row3_platform=third, row2_risers=2.0, row3_risers=2.0)
    drawn = design(rows=3, row3_y=7.5, row3_seats=3.0, **steps)
    space, out = only_space(found), io.StringIO()
    drawn = space.complete({name: getattr(domain, "value", drawn.get(name)) for name, domain in space.domains.items()})
    print_design(Terminal(file=out, width=120), found, space, drawn, Scorer(found, space).card(drawn))
    head, *lines = out.getvalue().partition("Rows\n")[2].splitlines()[:4]
    column = slice(head.index("risers"), head.index("risers") + len("risers"))
    assert [line[column].strip() for line in lines] == told


@pytest.mark.parametrize(
    "asked",
    [
        ("platform: {", "platform: {first: 0.3 m, "),
        ("platform: {", "place: {row1.platform: 0.3 m}\n  platform: {"),
        None,
    ],
)
def test_up_to_a_first_row_on_a_platform_lead_as_many_risers_as_to_any(asked):
    """300 mm in steps of 190 mm at most are two risers of 150 mm, however the platform was asked for."""
    low = "limits:\n  - {measure: riser_step, at_most: 190 mm}\n"
    found = problem(("  rows: 2\n", "  rows: 1\n"), *([asked] if asked else []), more=low)
    solution = solve(found if asked else with_fixed(found, "row1.platform", 0.3), grid=0.05)
    assert solution.status == "optimal"
    assert solution.design["row1.platform"] == pytest.approx(0.3)
    assert solution.design["row1.risers"] == 2


# --- what seats are called -------------------------------------------------------------------------


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_place_for_a_wheelchair_is_no_seat_with_a_number(only_space, side):
    """Row 1 may have 4 chairs, and has 3: no seat of it is the fourth, or a later one, whoever looks past a post."""
    row = only_space(problem((SEATING, SEATING + PLACE.replace("left", side)))).layout.rows[0]
    numbers = [n for n, _ in present(row, design())]
    assert seats_called(row, numbers, design()) == "seats 1, 2 and 3 and the wheelchair's place"
    assert seats_called(row, numbers[-1:], design()) == "the wheelchair's place"
    two = PLACE.replace("row: 1", "row: 1, places: 2").replace("left", side)
    row = only_space(problem((SEATING, SEATING + two))).layout.rows[0]
    (*_, one, other) = sorted(
        present(row, design()), key=lambda seat: (seat[1] in row.places, float(seat[1].value(design())))
    )
    assert seats_called(row, [one[0]], design()) == "wheelchair's place 1"  # from the left, as tables have them
    assert seats_called(row, [2, other[0]], design()) == "seat 2 and wheelchair's place 2"
    bar = only_space(problem((SEATING, SEATING + BAR))).layout.rows[1]
    assert seats_called(bar, [2, 5], design()) == "stools 2 and 5"


def test_a_worst_seat_that_is_a_wheelchairs_place_is_called_so(tmp_path):
    """3 chairs of 0.7 m and a place of 0.3 m are 2.4 m wide; the place's middle at one end is 1.05 m from the row's, that of
    the chair at the other 0.85 m."""
    place = "  wheelchair: {row: 1, width: 0.3 m, depth: 1.2 m}\n"
    text = text_of(
        (SEATING, "  seats: 3\n" + place), ("  rows: 2\n", "  rows: 1\n"), ("{step: 10 mm, to: 0.6 m}", "{step: 10 mm}")
    )
    text += "  - {measure: off_axis_angle, row: worst seat, at_most: 2 deg, fade: 40 deg}\n"
    (tmp_path / "room.yaml").write_text(text)
    printed = CliRunner().invoke(program, ["solve", str(tmp_path / "room.yaml"), "--grid", "5 cm"]).output
    assert "seat 4" not in printed and "(row 1, the wheelchair's place)" in " ".join(printed.split()), printed


@pytest.mark.parametrize(
    ("sides", "centre", "possible", "told"),
    [("left", "", False, True), ("left", "{from: 2.2 m, to: 3.3 m}", True, False), ("both", "", False, False)],
)
def test_where_rows_in_line_with_the_image_have_no_aisle_the_way_out_is_told(tmp_path, sides, centre, possible, told):
    """3 seats of 0.7 m in the middle of a room 4.4 m wide leave 1.15 m at each side; 2.3 m at one of them, none at the other,
    but never 1.5 m at both."""
    aside = f"  centre: {centre}\n" if centre else ""
    own = f"  seats: 3\n  aisle: {{sides: {sides}, width: 1.5 m}}\n{aside}"
    path = tmp_path / "room.yaml"
    path.write_text(text_of((SEATING, own)), encoding="utf-8")
    printed = " ".join(CliRunner().invoke(program, ["solve", str(path), "--grid", "10 cm"]).output.split())
    assert ("Impossible" not in printed) is possible, printed
    assert ("seating.centre lets them stand aside" in printed) is told, printed


def test_headroom_over_steps_is_made_once_for_all_shapes_of_the_image():
    """With flights of many risers it takes long to make and much to keep; what image there is changes none of it."""
    given = problem(
        ('aspect: "16:9"', 'aspect: {choose: ["16:9", "2.40:1"]}'),
        (SEATING, SEATING + "  aisle: {sides: left, width: 0.9 m}\n"),
        ("to: 0.6 m}", "to: 0.6 m, risers: 12}"),
    )
    one, other = spaces(given)
    measure = catalogue()["aisle_headroom"]
    assert one.aspect != other.aspect
    for row, again in zip(one.layout.rows, other.layout.rows):
        assert measure.form(one.layout, row) is measure.form(other.layout, again)
    assert measure.form(one.layout, one.layout.rows[0]) is not measure.form(one.layout, one.layout.rows[1])
