"""What a builder with nothing but the papers needs: every place from a fixed corner, in each of them the same.

Lengths are worked out by hand from the file in conftest.py: image 2800 mm wide over the middle of a room 4400 by 7200 mm,
baffle wall 400 mm deep; chairs 760 mm wide, 960 mm deep, eyes 200 mm before their backs; rows at 3600 and 5300 mm.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from fractions import Fraction
from itertools import combinations

import ezdxf
import pytest

from optimiser.bass_notes import bass_notes
from optimiser.design import spaces
from optimiser.measures.surround import Stretch
from optimiser.problem.read import loads
from optimiser.sheet.brief import brief
from optimiser.sheet.drawings import pair, whole_plan
from optimiser.sheet.dxf import drawing
from optimiser.sheet.elevation import elevation
from optimiser.sheet.figures import Figure, figure, shell
from optimiser.sheet.labels import from_box
from optimiser.sheet.plan import bass_boxes, plan
from optimiser.sheet.plates import fitted
from optimiser.sheet.room import room_scenes
from optimiser.sheet.scene import (
    Circle,
    Dimension,
    Path,
    Running,
    Scene,
    Text,
    around,
    crosses,
    overlap,
    pointers,
    segments,
)
from optimiser.sheet.schedule import fixtures_table, front_table, places_table, platform_table, seats_table, steps_table
from optimiser.sheet.section import section
from optimiser.sheet.studies import swing
from optimiser.sheet.style import STYLES
from tests.sheet.conftest import text

SCALES = (50, 75, 100, 128, 192)


def settled(*changes: tuple[str, str], **options):
    """The problem of the file with changes, its only space and its only design."""
    source = text(**options)
    for old, new in changes:
        assert old in source, old
        source = source.replace(old, new)
    problem = loads(source)
    (space,) = spaces(problem)
    return problem, space, space.complete({name: domain.value for name, domain in space.domains.items()})


def drawn(*changes: tuple[str, str], **options) -> Figure:
    return figure(*settled(*changes, **options))


def told(scene: Scene, axis: str) -> dict[str, list[float]]:
    """Places on the running dimensions along an axis, in mm, by name."""
    found: dict[str, list[float]] = {}
    for item in scene.items:
        for mark in item.marks if isinstance(item, Running) and item.axis == axis else ():
            found.setdefault(mark.name, []).append(round(1000.0 * mark.position, 3))
    return found


# --- the schedule -----------------------------------------------------------------------------------


def test_each_riser_and_tread_has_its_place():
    """300 mm up in two risers over the pitch of 1700 mm: goings of 850 mm before the platform's edge, which is at the
    backs in front, 3600 + 200 mm. Row 1 is 3 x 760 mm wide: its left end is 1060 mm from the wall."""
    f = drawn()
    assert steps_table(f, "mm").rows == (("row 2", "2950 mm, 3800 mm", "150 mm, 300 mm", "850 mm", "0 mm to 1060 mm"),)
    assert platform_table(f, "mm").rows == (("row 2", "300 mm", "3800 mm", "7200 mm", "3400 mm", "2 of 150 mm"),)


@pytest.mark.parametrize(
    "going, expected",
    [
        (
            ", going: 280 mm",
            [("row 1", "1740 mm, 2020 mm, 2300 mm", "100 mm, 200 mm, 300 mm", "280 mm", "0 mm to 1060 mm")],
        ),
        ("", []),  # nothing says where they lie
    ],
)
def test_steps_up_to_a_raised_first_row_are_set_out_where_the_file_says_how_deep_they_are(going, expected):
    """Its platform begins at its feet, 3600 + 200 - 1500 mm from the front wall; four chairs of the row behind leave less of a
    way than its own three do."""
    up = f"platform: {{step: 10 mm, to: 1.2 m, first: 300 mm{going}}}"
    f = drawn(
        ("platform: {step: 10 mm, to: 1.2 m}", up),
        ("row1.platform: 0 mm", "row1.platform: 300 mm"),
        ("row1.risers: 1", "row1.risers: 3"),
        ("row2.seats: 3", "row2.seats: 4"),
        ("row2.risers: 2", "row2.risers: 1"),
    )
    assert list(steps_table(f, "mm").rows if expected else (steps_table(f, "mm") or ())) == expected


def test_a_chain_of_feet_and_inches_adds_up():
    """Each place and size to the nearest sixteenth of an inch: a sum of two may differ from the third by one of them."""

    def sixteenths(words: str) -> int:
        found = re.findall(r"([\d/ ]+?) (ft|in)", words)
        return int(16 * sum(sum(map(Fraction, number.split())) * {"ft": 12, "in": 1}[unit] for number, unit in found))

    for row in platform_table(drawn(rows=4), "ft-in").rows:
        start, end, depth = map(sixteenths, row[2:5])
        assert abs(start + depth - end) <= 1, row


def test_a_guard_leaves_no_gap_beside_steps_that_are_narrower_than_the_way():
    """Row 1 has four chairs of 760 mm, row 2 three: the steps up to row 2 take up what row 1 leaves of the left-hand way,
    from the wall to 2200 - 1520 = 680 mm, and not row 2's own 1060 mm. From there on a guard stands to the other wall."""
    guard = "  stagger: 0\n  guard: {height: 0.9 m, over: 0.25 m}\n  place:\n"
    f = drawn(("row1.seats: 3", "row1.seats: 4"), ("  place:\n", guard), ("width: 0.9 m}", "width: 0.6 m}"), rows=2)
    (steps,) = f.stairs(f.rows[1])
    assert steps == pytest.approx((0.0, 0.68)) and f.rows[1].x[0] == pytest.approx(1.06)
    assert f.guarded(f.rows[1]) == pytest.approx((0.68, 4.4))


def test_counter_clear_floor_and_guard_are_set_out():
    """Row 2 is the bar: eyes at 5300 mm, 100 mm behind a counter 350 mm deep and 1050 mm over a platform of 300 mm; three
    places of 600 mm, half a chair (380 mm) to the right of the middle. The chairs and the wheelchair of row 1 take 3 x 760 + 900
    mm about the middle, and the clear floor ends with their backs. The guard leaves the steps on the left open, as far
    as the first chair of row 1, at 2200 - 1590 mm."""
    f = drawn(("depth: 1.2 m", "depth: 1.6 m"), rows=2, habits=True)
    assert fixtures_table(f, "mm").rows == (
        ("wheelchair's clear floor, row 1", "2200 mm to 3800 mm", "2890 mm to 3790 mm", ""),
        ("bar counter", "4850 mm to 5200 mm", "1680 mm to 3480 mm", "1350 mm"),
        ("guard, row 2", "3800 mm", "610 mm to 4400 mm", "1200 mm"),
    )
    # the feet of a chair are 1500 - 200 mm before its eyes, though the clear floor reaches farther
    first, last = seats_table(f, "mm").rows
    assert first[3] == "2300 mm" and last[3] == ""
    assert fixtures_table(drawn(), "mm") is None


def test_the_frame_has_a_place_from_the_corner():
    """60 mm of frame beside an image from 800 mm."""
    (wall, _) = front_table(drawn(), "mm").tables
    assert ("frame, left edge from the left wall", "740 mm") in wall.rows


def test_a_lens_behind_the_rear_wall_is_told_from_there():
    problem, space, design = settled(
        ("y: 5.5 m", "behind: 0.1 m"), ("throw_ratio: [1.3, 2.2]", "throw_ratio: [1.3, 2.9]"), projector=True
    )
    rows = places_table(figure(problem, space, design), problem, space, design).rows
    (lens,) = [row for row in rows if row[0].startswith("projector")]
    assert lens[0] == "projector, lens, 100 mm behind the rear wall's face" and lens[2] == "7300 mm"


AXES = ("pixels: 3840}\n", "pixels: 3840}\n  loudspeakers: {z: 1.4 m}\n")
LOW = ("limits:\n", "limits:\n  - {measure: loudspeaker_elevation, row: 1, at_most: 8 deg}\n")


def test_a_projector_behind_the_rear_wall_has_its_name_on_the_plan():
    f = drawn(("y: 5.5 m", "behind: 0.1 m"), ("throw_ratio: [1.3, 2.2]", "throw_ratio: [1.3, 2.9]"), projector=True)
    (name,) = [label for label in plan(f, "mm", 50).texts() if label.text == "projector"]
    assert name.at[0] > 7.2


def test_loudspeakers_behind_the_image_have_their_height_and_how_far_they_may_stray():
    """From the image's lower edge at 650 mm to 8 degrees over ears 1.12 m high, 3.2 m away: 1120 + 3200 tan 8 degrees."""
    problem, space, design = settled(AXES, LOW)
    rows = places_table(figure(problem, space, design), problem, space, design).rows
    assert [row[3] for row in rows[:3]] == ["1400 mm, behind the image"] * 3
    low, high = re.fullmatch(r"(\S+) mm to (\S+) mm above the floor", rows[1][5]).groups()
    assert float(low) == 650.0 and 1120 + 3200 * math.tan(math.radians(8)) - 5 <= float(high) <= 1569.8


ANGLES = (
    "goals:\n",
    "goals:\n  - {measure: loudspeaker_angle, row: 1, band: [21 deg, 60 deg], fade: 5 deg, weight: 1}\n",
)


def may_lie(loudspeakers: str, *changes: tuple[str, str], **values: float) -> list[str]:
    """What the schedule says of where the left loudspeaker may lie; ``values``: of decisions on loudspeakers [m]."""
    source = text(rows=1)
    given = ("pixels: 3840}\n", f"pixels: 3840}}\n  loudspeakers: {{{loudspeakers}}}\n")
    for old, new in (ANGLES, given, *changes):
        assert old in source, old
        source = source.replace(old, new)
    problem = loads(source)
    (space,) = spaces(problem)
    taken = {name: getattr(domain, "value", None) for name, domain in space.domains.items()}
    design = space.complete({**taken, **{f"loudspeakers.{name}": value for name, value in values.items()}})
    left, *_ = places_table(figure(problem, space, design), problem, space, design).rows
    return left[5].split(", ")


@pytest.mark.parametrize(
    ("apart", "width", "words"),
    [
        # cabinets stay in the baffle wall, whose edge is 690 mm from the left wall
        ("2520 mm", 400, "890 mm to 971.6 mm"),
        ("2520 mm", 440, "910 mm to 971.6 mm"),
        # and no farther apart than the file lets them be: 2200 less half of that
        ("{from: 2400 mm, to: 2560 mm}", 400, "920 mm to 971.6 mm"),
        ("{from: 2500 mm, to: 2900 mm}", 400, "890 mm to 950 mm"),
        ("{from: 2520 mm, to: 2520 mm}", 400, "only 940 mm"),
        # of a list its own places: 2400 mm is less than 21 degrees, 2700 mm out of the wall
        ("{choose: [2400 mm, 2520 mm, 2600 mm, 2700 mm]}", 400, "900 mm or 940 mm"),
        ("{choose: [2400 mm, 2520 mm, 2700 mm]}", 400, "only 940 mm"),
    ],
)
def test_loudspeakers_may_lie_where_every_limit_and_the_file_let_them(apart, width, words):
    """They are 2520 mm apart about 2200 mm. At 21 degrees, 3200 mm from the ears, each is 1228.4 mm off that: 971.6 mm from
    the wall."""
    cabinets = f"apart: {apart}, width: {width} mm, height: 500 mm, depth: 300 mm"
    assert may_lie(cabinets, apart=2.52) == [f"{words} from the left wall"]


@pytest.mark.parametrize(
    ("baffle", "words"),
    [
        # a wall from 100 mm on, of which 50 mm are to show: 100 + 50 + 150
        ("depth: 400 mm, width: 4200 mm, margin: 50 mm", "300 mm to 540 mm"),
        # one that is made as wide as they need
        ("depth: 400 mm, margin: 50 mm", "only 540 mm"),
        # without a wall they may stand at the side wall
        ("depth: 0 mm, margin: 0 mm", "150 mm to 540 mm"),
    ],
)
def test_loudspeakers_beside_the_image_keep_the_gap_and_the_margin(baffle, words):
    """Cabinets of 300 mm, 50 mm from a frame whose edge is at 740 mm: 740 - 50 - 150 mm."""
    cabinets = "place: beside, width: 300 mm, height: 600 mm, gap: 50 mm"
    assert may_lie(cabinets, ("depth: 400 mm, margin: 50 mm", baffle)) == [f"{words} from the left wall"]


def test_heights_from_a_list_are_told_as_a_list():
    """The image is from 650 to 2225 mm above the floor: 2300 mm is not behind it."""
    told_of = may_lie("z: {choose: [1.2 m, 1.4 m, 1.8 m, 2.3 m]}", z=1.4)
    assert ", ".join(told_of[1:]) == "1200 mm, 1400 mm or 1800 mm above the floor"


def test_heights_of_loudspeakers_behind_the_image_are_on_the_elevations_tape():
    at = told(elevation(drawn(AXES), "mm", 50), "v")
    assert at["loudspeakers"] == [1400.0]
    assert "loudspeakers" not in told(elevation(drawn(), "mm", 50), "v")


def test_loudspeakers_of_a_known_height_are_in_the_section_too():
    """In the baffle, whose face is 0.4 m from the front wall, about their axes."""
    cut = section(drawn(AXES), "mm", 50)
    assert told(cut, "v")["loudspeakers"] == [1400.0]
    front, *_ = [item.points for item in cut.items if isinstance(item, Path) and item.role == "loudspeaker"]
    assert max(u for u, _ in front) == pytest.approx(0.4)
    assert 0.5 * (min(v for _, v in front) + max(v for _, v in front)) == pytest.approx(1.4)
    assert not [item for item in section(drawn(), "mm", 50).items if getattr(item, "role", "") == "loudspeaker"]


def test_the_level_of_a_door_is_told():
    problem, *_ = settled(("towards: right, opens: out", "towards: right, opens: out, level: 0.35 m"))
    assert "towards the right, opens out at a floor 350 mm above the room's" in brief(problem)[0]
    assert "above the room's" not in brief(settled()[0])[0]


# --- the drawings -----------------------------------------------------------------------------------


def test_steps_and_clear_floor_are_on_the_plans_tapes():
    f = drawn(rows=2, habits=True)
    scene = whole_plan(f, "mm", 50)
    assert told(scene, "u")["step, row 2"] == [2950.0]
    # from the left wall to the chairs of row 1, 3 x 760 and 900 mm about the middle; the counter as in the schedule
    assert told(scene, "v")["steps, row 2"] == [610.0]
    assert told(scene, "u")["counter"] == [4850.0, 5200.0] and told(scene, "v")["counter"] == [1680.0, 3480.0]
    # 2200 + (3 x 760 + 900) / 2 less half of the clear floor's 900 mm
    assert told(scene, "v")["wheelchair, row 1"] == [3340.0]


@pytest.mark.parametrize("centre, ends", (("1.9 m", [1140.0, 2660.0]), ("2.2 m", None)))
def test_rows_off_the_middle_have_their_place_across_on_the_sheets_plan(centre, ends):
    """Three chairs 760 mm wide: the outer ones a chair's width to either side of the rows' middle."""
    f = drawn(("  seats: 3\n", f"  seats: 3\n  centre: {centre}\n"))
    upper, _ = pair(f, "mm", 100, across=False)
    assert told(upper, "v").get("end seats") == ends
    tapes = [item for item in upper.items if isinstance(item, Running) and item.axis == "v"]
    assert all(item.base > f.length and item.origin == 0.0 for item in tapes)


@pytest.mark.parametrize("centre", ["1.9 m", "2.5 m"])
def test_the_centre_loudspeaker_turns_to_rows_off_the_middle(centre):
    """Rows 300 mm to one side or the other of the image's middle, ears 3600 - 400 mm from the baffle's face."""
    problem, space, design = settled(("  seats: 3\n", f"  seats: 3\n  centre: {centre}\n"))
    rows = places_table(figure(problem, space, design), problem, space, design).rows
    (turned,) = [row[4] for row in rows if row[0] == "loudspeaker, centre"]
    assert float(turned.rstrip("°")) == pytest.approx(math.degrees(math.atan(0.3 / 3.2)), abs=0.06)


def test_a_sloped_ceiling_is_drawn_from_wall_to_wall():
    """2.7 m at the front wall, 2.3 m at the rear one; and 1.5 m at the left wall, 2.7 m from 2 m off it."""
    ceiling = "ceiling: [{y: 0 m, height: 2.7 m}, {y: 7.2 m, height: 2.3 m}]"
    f = drawn(("  height: 2.7 m\n", f"  height: 2.7 m\n  {ceiling}\n"), rows=1)
    assert {(0.0, 2.7), (7.2, 2.3)} <= set(_ceiling(section(f, "mm", 50)))
    across = "ceiling_across: [{x: 0 m, height: 1.5 m}, {x: 2 m, height: 2.7 m}, {x: 4.4 m, height: 2.7 m}]"
    f = drawn(("  height: 2.7 m\n", f"  height: 2.7 m\n  {across}\n"), rows=1)
    assert {(0.0, 1.5), (2.0, 2.7), (4.4, 2.7)} <= set(_ceiling(elevation(f, "mm", 50)))


def test_each_bend_of_a_ceiling_across_the_room_is_on_the_elevations_tapes():
    """1.5 m at the left wall, 2.7 m from 2 m off it, a step down to 2.3 m at 3.5 m, 2.1 m at the right wall."""
    across = (
        "ceiling_across: [{x: 0 m, height: 1.5 m}, {x: 2 m, height: 2.7 m}, {x: 3.5 m, height: 2.7 m}, "
        "{x: 3.5 m, height: 2.3 m}, {x: 4.4 m, height: 2.1 m}]"
    )
    face = elevation(drawn(("  height: 2.7 m\n", f"  height: 2.7 m\n  {across}\n"), rows=1), "mm", 50)
    assert told(face, "u")["ceiling"] == [2000.0, 3500.0]
    up = told(face, "v")
    assert (up["left wall"], up["right wall"], up["ceiling"], up["highest ceiling"]) == (
        [1500.0],
        [2100.0],
        [2300.0],
        [2700.0],
    )
    assert not paths(face, "ceiling behind")


def test_a_step_across_the_room_is_on_the_elevation_where_the_ceiling_over_the_baffle_is_lower():
    """2.4 m over the first metre, so 2.4 m at the baffle's face, 0.4 m from the front wall; behind, 2.7 m from the left
    wall, 2.5 m from 3 m off it. Between them nothing of the step is in a cut at the baffle."""
    along = "ceiling: [{y: 0 m, height: 2.4 m}, {y: 1 m, height: 2.4 m}, {y: 1 m, height: 2.7 m}, {y: 7.2 m, height: 2.7 m}]"
    across = "ceiling_across: [{x: 0 m, height: 2.7 m}, {x: 3 m, height: 2.7 m}, {x: 3 m, height: 2.5 m}, {x: 4.4 m, height: 2.5 m}]"
    face = elevation(drawn(("  height: 2.7 m\n", f"  height: 2.7 m\n  {along}\n  {across}\n"), rows=1), "mm", 50)
    assert paths(face, "ceiling behind") == [((0.0, 2.4), (0.0, 2.7), (3.0, 2.7), (3.0, 2.5), (4.4, 2.5), (4.4, 2.4))]
    assert told(face, "v")["ceiling behind"] == [2500.0, 2700.0] and told(face, "u")["ceiling behind"] == [3000.0]
    spans = [item.line for item in face.items if isinstance(item, Dimension) and item.axis == "u"]
    assert min(spans) > 2.7, "no dimension line lies in the ceiling"


@pytest.mark.parametrize(
    ("x", "z", "outline"),
    [
        # the slope rises from 1.5 m by 0.6 m a metre, to 2.7 m at 2 m: it passes 2.1 m at 1 m and 2.4 m at 1.5 m
        ("[0 m, 0.5 m]", "[0 m, 2.7 m]", [(0.0, 0.0), (0.0, 1.5), (0.5, 1.8), (0.5, 0.0)]),
        ("[0.5 m, 3 m]", "[0 m, 2.7 m]", [(0.5, 0.0), (0.5, 1.8), (2.0, 2.7), (3.0, 2.7), (3.0, 0.0)]),
        ("[0 m, 3 m]", "[2.1 m, 2.4 m]", [(1.0, 2.1), (1.5, 2.4), (2.0, 2.4), (3.0, 2.4), (3.0, 2.1)]),
        ("[0 m, 0.5 m]", "[2.1 m, 2.7 m]", None),  # all of it over the ceiling
        ("[3 m, 4 m]", "[0 m, 2.7 m]", [(3.0, 0.0), (4.0, 0.0), (4.0, 2.7), (3.0, 2.7)]),
    ],
)
def test_what_reaches_a_sloped_ceiling_ends_there(x, z, outline):
    across = "ceiling_across: [{x: 0 m, height: 1.5 m}, {x: 2 m, height: 2.7 m}, {x: 4.4 m, height: 2.7 m}]"
    box = f"  obstructions:\n    - {{name: breast, x: {x}, y: [0 m, 0.45 m], z: {z}}}\n"
    f = drawn(("  height: 2.7 m\n", f"  height: 2.7 m\n  {across}\n"), ("  obstructions:\n", box), rows=1)
    shapes = [i.points for i in elevation(f, "mm", 50).items if isinstance(i, Path) and i.role == "obstruction"]
    duct = [points for points in shapes if (4.4, 2.45) in points]  # the file's own
    assert len(duct) == 1 and len(shapes) == 1 + (outline is not None)
    if outline is not None:
        (found,) = [points for points in shapes if points not in duct]
        assert list(found) == [pytest.approx(point) for point in outline]


STEPPED = "[{y: 0 m, height: 2.7 m}, {y: 4 m, height: 2.7 m}, {y: 4 m, height: 2.4 m}, {y: 7.2 m, height: 2.4 m}]"
SLOPED = "[{y: 0 m, height: 2.7 m}, {y: 6 m, height: 2.1 m}, {y: 7.2 m, height: 2.1 m}]"


@pytest.mark.parametrize(
    ("ceiling", "y", "z", "outline"),
    [
        # under the step as far as 2.4 m
        (
            STEPPED,
            "[1 m, 7.2 m]",
            "[2.2 m, 2.7 m]",
            [(1.0, 2.2), (1.0, 2.7), (4.0, 2.7), (4.0, 2.4), (7.2, 2.4), (7.2, 2.2)],
        ),
        (STEPPED, "[1 m, 7.2 m]", "[2.5 m, 2.7 m]", [(1.0, 2.5), (1.0, 2.7), (4.0, 2.7), (4.0, 2.5)]),
        (STEPPED, "[1 m, 4 m]", "[2.2 m, 2.7 m]", [(1.0, 2.2), (4.0, 2.2), (4.0, 2.7), (1.0, 2.7)]),
        (STEPPED, "[4 m, 5 m]", "[2.2 m, 2.7 m]", [(4.0, 2.2), (4.0, 2.4), (5.0, 2.4), (5.0, 2.2)]),
        (STEPPED, "[5 m, 6 m]", "[2.4 m, 2.7 m]", None),
        # the slope falls by 0.1 m a metre: it is 2.5 m high at 2 m, and 2.4 m at 3 m
        (SLOPED, "[1 m, 5 m]", "[2.4 m, 2.5 m]", [(1.0, 2.4), (1.0, 2.5), (2.0, 2.5), (3.0, 2.4)]),
    ],
)
def test_what_nothing_may_enter_is_cut_off_at_the_ceiling_in_the_section(ceiling, y, z, outline):
    """In the section of a design and in that of the room alone; what is not in the cut has no name there either."""
    box = f"  obstructions:\n    - {{name: trunk, x: [0 m, 0.3 m], y: {y}, z: {z}}}\n"
    changes = ("  height: 2.7 m\n", f"  height: 2.7 m\n  ceiling: {ceiling}\n"), ("  obstructions:\n", box)
    problem, space, design = settled(*changes, rows=1)
    alone = room_scenes(shell(problem.room), "mm", 50)[1]
    for scene in (section(figure(problem, space, design), "mm", 50), alone):
        shapes = [i.points for i in scene.items if isinstance(i, Path) and i.role == "overhead"]
        trunk = [points for points in shapes if min(v for _, v in points) > 1.0]  # not the radiator
        assert len(trunk) == (outline is not None)
        assert ("trunk" in {one.text for one in scene.texts()}) == (outline is not None)
        if outline is not None:
            assert list(trunk[0]) == [pytest.approx(point) for point in outline]


def _ceiling(scene: Scene) -> tuple[tuple[float, float], ...]:
    (found,) = [i.points for i in scene.items if isinstance(i, Path) and i.role == "wall" and len(i.points) > 4]
    return found


def test_heights_of_what_hangs_and_of_loudspeakers_are_told():
    """The duct of the file is 2450 mm above the floor; cabinets of 180 mm, 40 mm under a frame that begins at 590 mm."""
    low = "\n  loudspeakers: {place: under, width: 420 mm, height: 180 mm, gap: 40 mm}"
    f = drawn(("pixels: 3840}", "pixels: 3840}" + low), rows=1)
    heights = told(section(f, "mm", 50), "v")
    assert heights["under duct"] == [2450.0] and "under radiator" not in heights  # which stands at the wall
    assert told(elevation(f, "mm", 50), "v")["loudspeakers"] == [370.0, 550.0]


@pytest.mark.parametrize("denominator", [20, 50])
def test_drawings_stand_beside_one_another_in_cad(denominator):
    """The section's own origin is 3800 mm before the edge of its platform; it begins right of the
    plan."""
    f = drawn()
    scenes = [whole_plan(f, "mm", denominator), section(f, "mm", denominator)]
    document = drawing(scenes, "mm", "A room")
    (edge,) = document.modelspace().query("DIMENSION[text=='<> platform, row 2']")
    begins = edge.dxf.defpoint3.x - 3800.0 + 1000.0 * scenes[1].extent()[0]
    assert 0.0 < begins - 1000.0 * scenes[0].extent()[2]


def paths(scene: Scene, role: str) -> list[tuple[tuple[float, float], ...]]:
    return [i.points for i in scene.items if isinstance(i, Path) and i.role == role]


def test_steps_are_in_the_section_with_each_riser_and_tread():
    """Two risers of 150 mm up to row 2: the first 1700 / 2 mm before the platform's edge at 3800
    mm."""
    (steps,) = paths(section(drawn(), "mm", 50), "step")
    assert list(steps) == [pytest.approx(point) for point in ((2.95, 0.0), (2.95, 0.15), (3.8, 0.15))]


def test_the_clearance_over_the_eyes_in_front_is_in_the_section():
    """From row 2's eyes, at 1420 mm and 5300 mm from the front wall, to the image's lower edge, at
    650 mm and 475 mm: over row 1's, at 1120 mm and 3600 mm, the line is at 650 + 770 * 3125 / 4825
    mm."""
    (clear,) = paths(section(drawn(), "mm", 50), "clearance")
    assert list(clear) == [pytest.approx((3.6, 1.12)), pytest.approx((3.6, 0.65 + 0.77 * 3.125 / 4.825))]


def test_the_wheelchairs_name_stands_on_its_floor():
    """1200 mm from the backs of row 1, at 3800 mm, to the front, 900 mm wide right of three chairs
    of 760 mm."""
    scene = plan(drawn(habits=True), "mm", 50)
    (name,) = [label for label in scene.texts() if label.text == "wheelchair"]
    left = 0.5 * (4.4 - 3 * 0.76 - 0.9) + 3 * 0.76
    assert 2.6 < name.at[0] < 3.8 and left < name.at[1] < left + 0.9


@pytest.mark.parametrize(
    ("wall", "axis", "face"), [("left", 1, 0.0), ("right", 1, -4.4), ("front", 0, 0.0), ("rear", 0, -7.2)]
)
def test_windows_are_drawn_in_their_walls(wall, axis, face):
    """Two lines behind the wall's inner face, which is at 0 or at the room's width or length."""
    window = f"  openings: [{{name: pane, kind: window, wall: {wall}, along: [2 m, 3 m], z: [0.9 m, 2 m]}}]\n"
    f = drawn(("  obstructions:\n", window + "  obstructions:\n"))
    lines = paths(plan(f, "mm", 50), "window")
    assert len(lines) == 2
    for points in lines:
        assert [point[1 - axis] for point in points] == pytest.approx([2.0, 3.0])
        behind = {abs(point[axis] + face) for point in points}
        assert len(behind) == 1 and 0.0 < behind.pop() < 0.1
        assert all((point[axis] < 0.0) == (face == 0.0) for point in points)


def test_heights_of_the_front_are_on_the_sections_tape():
    """The image from 650 to 650 + 1575 mm, in a frame of 60 mm, under a ceiling of 2700 mm."""
    heights = told(section(drawn(), "mm", 50), "v")
    assert (heights["frame"], heights["image"], heights["ceiling"]) == ([590.0, 2285.0], [650.0, 2225.0], [2700.0])


@pytest.mark.parametrize("options", [{"projector": True}, {"habits": True}], ids=str)
def test_a_tapes_marks_are_where_what_they_name_is(options):
    """A mark's place is told on paper; CAD measures it anew, from the tape's origin to what it is of."""
    f, seen = drawn(**options), 0
    for scene in (plan(f, "mm", 50), whole_plan(f, "mm", 50), section(f, "mm", 50), elevation(f, "mm", 50)):
        for item in scene.items:
            for mark in item.marks if isinstance(item, Running) else ():
                at = mark.feature[0] if item.axis == "u" else mark.feature[1]
                assert abs(at - item.origin) == pytest.approx(abs(mark.position), abs=1e-9), mark.name
                seen += 1
    assert seen > 30


def test_the_corner_of_the_plan_is_the_origin_in_cad():
    f = drawn()
    document = drawing([whole_plan(f, "mm", 50), section(f, "mm", 50)], "mm", "A room")
    (rear,) = document.modelspace().query("DIMENSION[text=='<> rear wall']")
    assert rear.dxf.defpoint2.x == pytest.approx(0.0) and rear.dxf.defpoint3.isclose((7200.0, 0.0, 0.0))
    (lowest,) = document.modelspace().query("DIMENSION[text=='<> platform, row 2']")
    assert lowest.dxf.defpoint3.x % 1000.0 == pytest.approx(800.0)  # its edge at 3800, off a whole metre
    assert not ezdxf.audit.Auditor(document).errors


# --- names ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("denominator", SCALES)
def test_no_name_lies_on_the_lines_of_a_tape(denominator):
    """A small image over loudspeakers, where little is left of the baffle wall for its name."""
    low = "\n  loudspeakers: {place: under, width: 280 mm, height: 180 mm, gap: 40 mm}"
    f = drawn(("pixels: 3840}", "pixels: 3840}" + low), ("width: 2800 mm", "width: 1400 mm"), rows=1)
    face = elevation(f, "mm", denominator)
    lines = [
        line
        for item in face.items
        if isinstance(item, Running)
        for one in pointers(item, face)
        for line in zip(one, one[1:])
    ]
    for label in (item for item in face.items if isinstance(item, Text)):
        assert not any(crosses(line, face.text_box(label)) for line in lines), label.text


@pytest.mark.parametrize("denominator", SCALES)
def test_no_name_lies_on_a_sloped_ceiling(denominator):
    ceiling = "ceiling: [{y: 0 m, height: 2.7 m}, {y: 4 m, height: 2.55 m}, {y: 7.2 m, height: 2.2 m}]"
    f = drawn(("  height: 2.7 m\n", f"  height: 2.7 m\n  {ceiling}\n"), rows=4, habits=True)
    cut = section(f, "mm", denominator)
    roof = _ceiling(cut)
    for label in (item for item in cut.items if isinstance(item, Text)):
        assert not any(crosses(line, cut.text_box(label)) for line in zip(roof, roof[1:])), label.text


@pytest.mark.parametrize("denominator", SCALES)
def test_no_rows_name_stands_at_the_bar_behind_it(denominator):
    f = drawn(rows=4, habits=True)
    cut = section(f, "mm", denominator)
    bar = f.rows[-1]
    leaders = [item.points for item in cut.items if isinstance(item, Path) and item.role == "leader"]
    for row in f.rows[:-1]:
        (name,) = [one for one in cut.texts() if one.text == f"row {row.number}"]
        box = cut.text_box(name)
        led = any((row.y, row.head) in points and from_box(points[-1], box) < 1e-9 for points in leaders)
        counter = (bar.y, 0.5 * (bar.platform + bar.eye))
        assert led or from_box((row.y, row.head), box) < from_box(counter, box), row.number


@pytest.mark.parametrize(("rows", "denominator"), [(3, 50), (3, 100), (3, 128), (3, 150), (4, 50), (4, 75), (4, 100)])
def test_each_rows_name_is_nearest_to_its_own_row(rows, denominator):
    """Names in the order of the rows would be in each other's way: three of four stood nearer to another row at 1:128."""
    f = drawn(rows=rows, habits=True, projector=True)
    cut = section(f, "mm", denominator)
    for row in f.rows:
        (name,) = [one for one in cut.texts() if one.text.removesuffix(" (bar)") == f"row {row.number}"]
        box = cut.text_box(name)
        others = [(one.y, z) for one in f.rows if one is not row for z in (one.eye, 0.5 * (one.platform + one.eye))]
        assert all(from_box((row.y, row.head), box) < from_box(other, box) for other in others), row.number
    names = [cut.text_box(one) for one in cut.texts()]
    assert not any(overlap(one, other) for one, other in combinations(names, 2))


@pytest.mark.parametrize("denominator", SCALES)
def test_no_number_of_risers_stands_on_another_flight(denominator):
    """Rows 1.5 m apart: the edge of row 2's platform, up one riser, lies at 3.1 m, and right behind it, from 3.6 m on, are
    the first two of row 3's three risers, 500 mm apart, whose last is at 4.6 m."""
    one = ("row2.risers: 2", "row2.risers: 1"), ("row3.risers: 2", "row3.risers: 3")
    f = drawn(*one, ("to: 1.2 m}", "to: 1.2 m, risers: 3, going: 500 mm}"), rows=3)
    flights = {row.number: [(y, x) for y, _ in row.steps for x in (0.0, 0.9)] for row in f.rows if row.rise > 0.0}
    assert [y for y, _ in f.rows[2].steps] == pytest.approx([3.6, 4.1, 4.6], abs=1e-9) and f.rows[1].edge == 3.1
    scene = plan(f, "mm", denominator)
    for words, others in (("1 riser up", flights[3]), ("3 risers up", flights[2])):
        (label,) = [one for one in scene.texts() if one.text == words]
        box = scene.text_box(label)
        assert not any(box[0] <= y <= box[2] and box[1] < 0.9 for y, _ in others), words


@pytest.mark.parametrize("denominator", SCALES)
def test_no_name_but_its_own_lies_in_a_doors_opening(denominator):
    """A door in the rear wall beside the last row, whose name is long: it may not close the opening."""
    store = "hinge: 3.4 m, leaf: 0.9 m, towards: right"
    f = drawn(("hinge: 0.4 m, leaf: 0.7 m, towards: right", store), rows=4, habits=True)
    scene = plan(f, "mm", denominator)
    opening = (f.length, 3.4, f.length + 0.001, 4.3)
    for label in (item for item in scene.items if isinstance(item, Text) and item.text != "store"):
        assert not overlap(scene.text_box(label), opening), label.text


def test_bass_loudspeakers_in_the_front_have_their_places_on_the_elevation():
    """Of two, one at the front wall behind the baffle wall's face (400 mm) and one at the rear: only the first is shown,
    1100 mm from the left wall and 300 mm above the floor as the file says."""
    own = "bass: {arrangement: own, positions: [{x: 1.1 m, y: 0 m, z: 0.3 m}, {x: 2.0 m, y: 6.9 m, z: 0.3 m}]}"
    scene = elevation(drawn(rows=1, bass=own), "mm", 50)
    assert told(scene, "u")["bass"] == [1100.0] and told(scene, "v")["bass"] == [300.0]
    assert sum(one.text == "bass" for one in scene.texts() if isinstance(one, Text)) == 1
    assert "bass" not in told(elevation(drawn(rows=1), "mm", 50), "u")


def test_what_is_in_the_front_wall_is_on_the_elevation():
    """The room is 4400 mm wide and the baffle wall 3020 mm, from 690 to 3710 mm: a doorway of 600 mm beside it, hinged
    4350 mm from the left wall, and a window from 100 to 500 mm, 900 to 2000 mm high."""
    doors = "  doors:\n    - {name: yard, wall: front, hinge: 4.35 m, leaf: 0.6 m, towards: left, opens: in}\n"
    window = "  openings: [{name: pane, kind: window, wall: front, along: [100 mm, 500 mm], z: [0.9 m, 2.0 m]}]\n"
    f = drawn(("  doors:\n", window + doors), rows=1)
    scene = elevation(f, "mm", 50)
    across, up = told(scene, "u"), told(scene, "v")
    assert across["yard"] == [3750.0, 4350.0] and across["pane"] == [100.0, 500.0] and up["pane"] == [900.0, 2000.0]
    boxes = {item.role: around(item.points) for item in scene.items if isinstance(item, Path) and item.closed}
    assert boxes["window"] == pytest.approx((0.1, 0.9, 0.5, 2.0))
    assert boxes["swing"][::2] == pytest.approx((3.75, 4.35)) and boxes["swing"][1] == 0.0
    assert {"yard", "pane"} <= {one.text for one in scene.texts() if isinstance(one, Text)}
    assert "yard" not in told(elevation(drawn(rows=1), "mm", 50), "u")


@pytest.mark.parametrize("denominator", (50, 75, 100))
def test_no_name_hides_where_a_surround_loudspeaker_may_stand(denominator):
    """Overhead stretches of a 7+4 layout run over the chairs, with the names of both of them and of the row about."""
    f = drawn(("seating:\n", "surround: {layout: 7+4}\nseating:\n"), rows=1)
    plan = whole_plan(f, "mm", denominator)
    hides_nothing(plan, "surround", 4)


@pytest.mark.parametrize("denominator", (50, 75, 100, 128))
@pytest.mark.parametrize("rows", (2, 3, 4))
def test_a_name_touches_what_it_names_or_a_line_leads_there(rows, denominator):
    """Bar, guard, wheelchair, projector and the loudspeakers of a 7+4 layout: each name within 2 mm of paper of a thing that
    it names, or a line between them."""
    f = drawn(("seating:\n", "surround: {layout: 7+4}\nseating:\n"), rows=rows, habits=True, projector=True)
    scene = whole_plan(f, "mm", denominator)
    things: dict[str, list[tuple[float, ...]]] = {}
    for one in f.surround:
        # on a wall the line is drawn 1 mm of paper inside of it
        ends, aside = sorted((one.start, one.end)), (one.at - scene.mm(1.0), one.at + scene.mm(1.0))
        along, across = (ends, aside) if one.along == "y" else (aside, ends)
        things.setdefault(one.speaker, []).append((along[0], across[0], along[1], across[1]))
    for row, _ in f.guards:
        things.setdefault("guard", []).append((row.edge, 0.0, row.edge, f.width))
    for x in f.rows[0].places:  # 0.9 by 1.2 m, as the file has it; behind the eyes it ends with its row
        things["wheelchair"] = [(f.rows[0].back - 1.2, x - 0.45, f.rows[0].back, x + 0.45)]
    body = f.projector_body
    things["projector"] = [(body.y[0], body.x[0], body.y[1], body.x[1])]
    assert {"guard", "wheelchair", "projector", "overhead front right"} < set(things)
    leaders = [item.points for item in scene.items if getattr(item, "role", "") == "leader"]
    labels = [label for label in scene.texts() if label.text in things]
    assert {label.text for label in labels} == set(things)
    for label in labels:
        own, box = things[label.text], scene.text_box(label)
        led = [a for a, b in leaders if from_box(b, box) < 1e-9 and any(from_box(a, one) < 1e-9 for one in own)]
        apart = [
            math.hypot(max(c - x, a - z, 0.0), max(d - y, b - t, 0.0)) for a, b, x, y in own for c, d, z, t in [box]
        ]
        assert led or min(apart) <= scene.mm(2.0) + 1e-9, label.text


@pytest.mark.parametrize("off", (0.9, 1.4, 1.9))
def test_no_name_hides_a_part_of_a_surround_loudspeakers_line(off):
    """The stretches are drawn 0.7 and 1 mm thick on paper, by their style: a name keeps half of that from their middle."""
    wide, room = ("width: 4.4 m", f"width: {4.4 + off} m"), ("surround: {layout: 7+4}\nseating:\n")
    hides_nothing(whole_plan(drawn(wide, ("seating:\n", room), rows=1), "mm", 64), "surround", 4)


@pytest.mark.parametrize("lens", (5.9, 6.1, 6.3))
@pytest.mark.parametrize("denominator", (50, 64, 75))
def test_no_name_hides_an_edge_of_the_projector(denominator, lens):
    """The middle of a window in the rear wall is 0.1 m aside of the projector's: its name, inside, would lie on that."""
    window = "  openings: [{name: bay window, kind: window, wall: rear, along: [1.5 m, 2.7 m], z: [0.9 m, 2 m]}]\n"
    nearer = ("y: 5.5 m", f"y: {lens} m")
    f = drawn(("  doors:\n", window + "  doors:\n"), nearer, rows=1, projector=True)
    hides_nothing(whole_plan(f, "mm", denominator), "projector", 4)


def hides_nothing(scene: Scene, role: str, least: int) -> None:
    """No name of a drawing lies on lines of a role, of which there are so many, or on a part of their width."""
    lines = [
        (line, scene.mm(0.5 * STYLES[item.role].weight))
        for item in scene.items
        if getattr(item, "role", "").startswith(role)
        for line in segments(item, {})
    ]
    assert len(lines) >= least
    for label in (item for item in scene.items if isinstance(item, Text)):
        a, b, c, d = scene.text_box(label)
        for line, half in lines:
            assert not crosses(line, (a - half, b - half, c + half, d + half)), label.text


@pytest.mark.parametrize("denominator", (50, 100, 128))
@pytest.mark.parametrize("width", (2.0, 2.4, 2.8))
def test_the_baffle_walls_name_is_not_on_the_frame(denominator, width):
    f = drawn(("width: 2800 mm", f"width: {width} m"), rows=1)
    scene = elevation(f, "mm", denominator)
    name = next(one for one in scene.texts() if one.text == "baffle wall")
    frame = (f.frame[0], f.bottom - f.bezel, f.frame[1], f.top + f.bezel)
    assert not overlap(scene.text_box(name), frame)


@pytest.mark.parametrize("denominator", (50, 60, 75, 100))
def test_no_name_lies_on_the_line_of_the_images_height(denominator):
    """A chimney breast of 700 mm beside the baffle wall leaves no room for its name but over the image or beside the room,
    where the image's height is written."""
    breast = "  obstructions:\n    - {name: chimney breast, x: [3.7 m, 4.4 m], y: [0 m, 0.45 m], z: [0 m, 2.45 m]}\n"
    face = elevation(drawn(("  obstructions:\n", breast), rows=1), "mm", denominator)
    (up,) = [i for i in face.items if isinstance(i, Dimension) and i.name == "image height"]
    line = (up.line, up.a[1]), (up.line, up.b[1])
    for label in (item for item in face.items if isinstance(item, Text)):
        assert not crosses(line, face.text_box(label)), label.text


@pytest.mark.parametrize("denominator", SCALES[:2])
def test_the_baffle_walls_name_is_not_on_what_hangs_before_it(denominator):
    """A duct 500 mm deep, from 2150 mm up to the ceiling, hides the top of the baffle wall, 400 mm deep; the strip over
    the image is the higher one without it."""
    duct, image = ("z: [2.45 m, 2.7 m]", "z: [2.15 m, 2.7 m]"), ("bottom: 650 mm", "bottom: 300 mm")
    scene = elevation(drawn(duct, image, rows=1), "mm", denominator)
    name = next(one for one in scene.texts() if one.text == "baffle wall")
    assert not overlap(scene.text_box(name), (0.0, 2.15, 4.4, 2.7))


@pytest.mark.parametrize(
    ("depth", "x", "shown"),
    [
        (460, 1.1, "bass hidden"),
        (300, 1.1, "bass hidden"),  # no deeper than there is room behind the face, from which it plays
        (460, 0.3, "bass"),  # beside the baffle wall, which begins 690 mm from the left wall
    ],
)
def test_bass_loudspeakers_are_hidden_where_the_plan_has_them_behind_the_baffle(depth, x, shown):
    own = f"bass: {{arrangement: own, positions: [{{x: {x} m, y: 0 m, z: 0.3 m}}]}}"
    f = drawn(("depth: 400 mm", f"depth: {depth} mm"), rows=1, bass=own)
    across = pytest.approx((x - 0.225, x + 0.225))
    (box,) = [i for i in elevation(f, "mm", 50).items if isinstance(i, Path) and around(i.points)[::2] == across]
    assert box.role == shown
    ((along, _),) = bass_boxes(f)
    assert (along[1] <= 0.001 * depth and x > 0.69) == (shown == "bass hidden")
    # a loudspeaker is the sound trade's in CAD, hidden or not
    assert STYLES[box.role].layer == "SOUND-BASS"


@pytest.mark.parametrize(
    ("arrangement", "margin", "place", "deep", "wide", "role"),
    [
        # beside the wall, whose edge is at 690 mm: about its place at the wall's face, and against the side wall
        ("four_corners", 50, (0.0, 0.4), (0.175, 0.625), (0.0, 0.45), "bass"),
        # 2200 - 1400 - 60 - 440 mm: in a strip of 300 mm no cabinet stands; it is in the wall, 400 mm deep
        ("four_corners", 440, (0.3, 0.4), (0.0, 0.4), (0.3, 0.75), "bass hidden"),
        # a quarter of the width, 1100 mm, is behind the wall's face
        ("front_pair", 50, (1.1, 0.4), (0.0, 0.4), (0.875, 1.325), "bass hidden"),
    ],
)
def test_bass_loudspeakers_at_the_front_are_in_one_place_everywhere(arrangement, margin, place, deep, wide, role):
    """Cabinets are 450 mm wide and deep (common practice, no source), a baffle wall 400 mm. The schedule, the plan, the
    elevation, and the word on a box that stands where the cabinet is."""
    bass = f"bass: {{arrangement: {arrangement}, height: 300 mm}}"
    margins = "margin: 50 mm", f"margin: {margin} mm"
    pier = "x: [0 m, 0.1 m], y: [0.5 m, 0.6 m], z: [0 m, 0.6 m]"
    pier = "  obstructions:\n", f"  obstructions:\n    - {{name: pier, {pier}}}\n"
    problem, space, design = settled(margins, pier, rows=1, bass=bass)
    f = figure(problem, space, design)
    rows = [row[1:3] for row in places_table(f, problem, space, design).rows if row[0].endswith("bass")]
    at = rows.index(tuple(f"{1000 * v:.0f} mm" for v in place))
    assert bass_boxes(f)[at] == (pytest.approx(deep), pytest.approx(wide))
    boxes = [i for i in elevation(f, "mm", 50).items if isinstance(i, Path) and i.role.startswith("bass")]
    assert [box.role for box in boxes] == [role] * 2
    assert around(boxes[0].points)[::2] == pytest.approx(wide)
    said = [note for note in bass_notes(problem, space, design) if "where 'pier' is" in note]
    meets = wide[0] < 0.1 and deep[1] > 0.5
    assert len(said) == meets and all("the one 0 mm from the left and 400 mm from the front wall" in w for w in said)


@pytest.mark.parametrize("deep", [150, 380])
def test_cabinets_are_drawn_as_deep_as_the_file_says(deep):
    """Flush in the baffle's face, which is 400 mm from the front wall; under an image 650 mm above the floor."""
    cabinets = f"loudspeakers: {{place: under, spread: 0.6, width: 300 mm, height: 300 mm, depth: {deep} mm}}"
    f = drawn(("pixels: 3840}", f"pixels: 3840}}\n  {cabinets}"), rows=1)
    for scene in (plan(f, "mm", 50), section(f, "mm", 50)):
        boxes = [around(i.points) for i in scene.items if isinstance(i, Path) and i.role == "loudspeaker" and i.closed]
        assert boxes and all(box[:1] + box[2:3] == pytest.approx((0.4 - 0.001 * deep, 0.4)) for box in boxes), boxes


@pytest.mark.parametrize("margin", [50, 250])
def test_the_doors_detail_shows_something_on_half_a_page(margin):
    """Whichever corner is the nearer one to the sweep of a leaf of 800 mm: the baffle wall's, or the frame's before it. Half
    a page is 88 mm wide; at 1:75 the leaf is 11 mm long."""
    f = drawn(("margin: 50 mm", f"margin: {margin} mm"), rows=1)
    (scene,) = fitted(lambda n: [swing(f, "mm", n, [0.4], 0.1)], "mm", 0.5, 88.0, 60.0)
    assert scene.denominator <= 75
    assert {"corner: 400 mm deep", "100 mm clear"} <= {one.text for one in scene.texts()}


@pytest.mark.parametrize(
    ("door", "deep", "dot"),
    [
        # a leaf of 800 mm that swings about a hinge 1600 mm from the front wall comes nearest to the cabinet's corner
        ("hinge: 1.6 m, leaf: 0.8 m, towards: front", 850, (0.85, 0.39)),
        # one of 350 mm that opens to lie along the front wall, 100 mm from it, comes nearest to the cabinet's side
        ("hinge: 0.1 m, leaf: 0.35 m, towards: rear", 300, (0.1, 0.39)),
    ],
)
def test_without_a_baffle_wall_the_doors_detail_shows_the_cabinet_that_the_leaf_comes_near(door, deep, dot):
    """Beside a frame from 740 mm on, 50 mm from it and 300 mm wide, a cabinet stands from 390 to 690 mm."""
    cabinets = f"loudspeakers: {{place: beside, width: 300 mm, height: 600 mm, gap: 50 mm, depth: {deep} mm}}"
    f = drawn(
        ("baffle: {depth: 400 mm, margin: 50 mm}", "baffle: {depth: 0 mm}"),
        ("pixels: 3840}", f"pixels: 3840}}\n  {cabinets}"),
        ("hinge: 1.6 m, leaf: 0.8 m, towards: front", door),
        rows=1,
    )
    scene = swing(f, "mm", 20, [0.0], 0.04)
    boxes = {item.role: around(item.points) for item in scene.items if isinstance(item, Path) and item.closed}
    assert boxes["loudspeaker"] == pytest.approx((0.0, 0.39, 0.001 * deep, 0.69)) and "baffle" not in boxes
    (spot,) = [item.centre for item in scene.items if isinstance(item, Circle)]
    assert spot == pytest.approx(dot)
    told_of = {one.text for one in scene.texts()}
    assert {f"corner: {deep} mm deep", "40 mm clear"} <= told_of and "corner: 0 mm deep" not in told_of
    assert "baffle wall holds" in scene.description and "corners of the baffle wall" not in scene.description


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ([], "The projector gives 2000 lm and throws over 1.3 to 2.2 widths of its picture."),
        ([], "Its lens: 5500 mm from the front wall, 2400 mm above the floor."),
        (
            [("y: 5.5 m", "behind: {from: 0.1 m, to: 0.3 m}")],
            "Its lens: 100 mm to 300 mm behind the rear wall's face, ",
        ),
        ([], "An aisle 900 mm wide leads along the left wall."),
        ([("sides: left", "sides: both")], "Aisles 900 mm wide lead along both side walls."),
        (
            [("seating:\n", "surround: {layout: 5+2}\nseating:\n")],
            "Surround loudspeakers: layout 5+2, five at the ears' height with the three in front, and two overhead.",
        ),
        (
            [("seating:\n", "surround: {layout: '7'}\nseating:\n")],
            "Surround loudspeakers: layout 7, seven at the ears' height with the three in front.",
        ),
    ],
)
def test_projector_aisle_and_surround_are_in_the_brief(changes, said):
    source = text(rows=1, projector=True)
    for old, new in changes:
        assert old in source, old
        source = source.replace(old, new)
    assert said in " ".join(brief(loads(source)))


def test_a_place_without_length_for_a_surround_loudspeaker_is_seen_on_the_plan():
    """A line from a point to itself has no ink. A dot of a millimetre of paper, 50 mm of the room, marks it; a stretch that
    is longer than that has no dot."""
    f = drawn(rows=1)
    point = Stretch("rear left", "each", "rear wall", "x", 7.2, 0.868, 0.868)
    longer = Stretch("side left", "each", "left wall", "y", 0.0, 3.0, 3.1)
    scene = plan(replace(f, surround=(point, longer)), "mm", 50)
    (dot,) = [item for item in scene.items if isinstance(item, Circle) and item.role.startswith("surround")]
    assert dot.centre == pytest.approx((7.15, 0.868))
