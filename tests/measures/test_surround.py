"""Surround windows: against polygons laid over one another, against angles point by point, in the solver."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from optimiser.design import spaces
from optimiser.errors import ProblemFileError
from optimiser.measures import catalogue
from optimiser.measures.surround import stretches
from optimiser.notes import on_numbers
from optimiser.physics.windows import LAYOUTS
from optimiser.problem.read import loads
from optimiser.record import solution_record
from optimiser.score import Scorer
from optimiser.solve import solve
from tests.measures.conftest import agree, designs, problem
from tests.support.checker import Judge
from tests.support.surround import OF_LAYOUT

ROOM = "room: {length: 7.2 m, width: 4.4 m, height: 2.7 m, reverberation_time: 0.3 s}"
WIDE = """room:
  length: 7.2 m
  width: 5.6 m
  height: 3.1 m
  doors: [{name: side, wall: left, hinge: 4.0 m, leaf: 0.9 m, towards: rear, opens: out},
          {name: back, wall: rear, hinge: 4.9 m, leaf: 0.8 m, towards: left, opens: out}]
  obstructions: [{name: beam, x: [0 m, 5.6 m], y: [5.2 m, 5.5 m], z: [2.8 m, 3.1 m]}]"""
SEATS = ("seats: {choose: [3, 4]}", "seats: {choose: [2, 3]}")


def room(layout="5+4", *changes):
    return problem((ROOM, WIDE), SEATS, *changes, ("seating:\n", f"surround: {{layout: {layout}}}\nseating:\n"))


def measured(space, name, drawn, seats="every"):
    return catalogue()[name].form(space.layout, seats=seats).value(drawn)


def test_the_data_are_the_published_ones():
    # typed a second time in tests.support.surround, from the data of ITU-R BS.2051-1
    for name, windows in LAYOUTS.items():
        ours = [(*np.degrees(w.azimuth), *np.degrees(w.elevation), w.overhead) for w in windows]
        assert [tuple(np.round(w, 9)) for w in ours] == [tuple(map(float, w)) for w in OF_LAYOUT[name]]


@pytest.mark.parametrize("layout", sorted(LAYOUTS))
@pytest.mark.parametrize("rows", [1, 2])
def test_stretches_are_those_of_polygons(layout, rows):
    given = room(layout, *([("  rows: 2\n", "  rows: 1\n")] if rows == 1 else []))
    (space,) = spaces(given)
    drawn = designs(space, 60, seed=rows)
    judge = Judge(given, space.rows, space.aspect)
    served = 0
    for seats in ("every", "middle", "reference"):
        reach, theirs = (
            measured(space, "surround_reach", drawn, seats),
            judge.value("surround_reach", drawn, seats=seats),
        )
        stretch, longest = (
            f("surround_stretch")
            for f in (
                lambda n, seats=seats: measured(space, n, drawn, seats),
                lambda n, seats=seats: judge.value(n, drawn, seats=seats),
            )
        )
        clear = np.abs(stretch) > 1e-6
        np.testing.assert_allclose(reach[clear & (theirs == 1)], 1.0)
        # a loudspeaker may miss by less than a micrometre in one and not the other; none of 60 does in all
        assert np.mean(np.abs(reach - theirs) < 1e-9) > 0.98
        whole = (theirs == 1.0) & clear
        served += int(whole.sum())
        np.testing.assert_allclose(stretch[whole], longest[whole], atol=1e-6)
        assert np.all(stretch[(theirs < 1.0) & clear] < 0.0)
    assert served or rows == 2 or "+" in layout


def test_every_point_of_a_stretch_is_in_every_window():
    # independent of all straight lines: angles by arctangents, in space
    names = {"side": 0, "overhead front": 1, "overhead rear": 2}
    given = room("5+4", ("  rows: 2\n", "  rows: 1\n"))
    (space,) = spaces(given)
    drawn = designs(space, 40, seed=8)
    judge = Judge(given, 1, space.aspect)
    looked = 0
    for k in range(40):
        design = {name: float(values[k]) for name, values in drawn.items()}
        for one in stretches(space.layout, design):
            if one.seats != "every":
                continue
            first, last, low, high, overhead = OF_LAYOUT["5+4"][names[one.speaker.rpartition(" ")[0]]]
            sign = 1 if one.speaker.endswith("left") else -1
            for t in np.linspace(one.start, one.end, 9):
                x, y = (one.at, t) if one.along == "y" else (t, one.at)
                for sx, sy, eye in judge._listeners(design, "every"):
                    azimuth = math.degrees(math.atan2(sign * (sx - x), sy - y))
                    z = 3.1 if overhead else eye
                    elevation = math.degrees(math.atan2(z - eye, math.hypot(x - sx, y - sy)))
                    assert first - 1e-6 <= azimuth <= last + 1e-6
                    assert low - 1e-6 <= elevation <= high + 1e-6
                    looked += 1
    assert looked > 500


GABLE = "ceiling_across: [{x: 0 m, height: 1.6 m}, {x: 2 m, height: 3.1 m}, {x: 3.6 m, height: 3.1 m}, {x: 5.6 m, height: 1.6 m}]"
STEPS = (
    "ceiling: [{y: 0 m, height: 2.6 m}, {y: 3 m, height: 2.6 m}, {y: 3 m, height: 3.1 m}, {y: 7.2 m, height: 2.8 m}]"
)


@pytest.mark.parametrize("slope", [GABLE, STEPS])
def test_every_point_of_a_stretch_under_a_slope_is_in_every_window(slope):
    """As above, at the height that the ceiling has at the point."""
    points = [tuple(map(float, one)) for one in re.findall(r"[xy]: ([\d.]+) m, height: ([\d.]+) m", slope)]
    given = room("5+4", ("  rows: 2\n", "  rows: 1\n"), ("  height: 3.1 m\n", f"  height: 3.1 m\n  {slope}\n"))
    (space,) = spaces(given)
    drawn = designs(space, 40, seed=8)
    judge, looked = Judge(given, 1, space.aspect), 0
    names = {"overhead front": 1, "overhead rear": 2}
    for k in range(40):
        design = {name: float(values[k]) for name, values in drawn.items()}
        for one in stretches(space.layout, design):
            if one.seats != "every" or "overhead" not in one.speaker:
                continue
            first, last, low, high, _ = OF_LAYOUT["5+4"][names[one.speaker.rpartition(" ")[0]]]
            sign = 1 if one.speaker.endswith("left") else -1
            for y in np.linspace(one.start + 1e-6, one.end - 1e-6, 9):
                z = np.interp(one.at if "across" in slope else y, *zip(*points))
                for sx, sy, eye in judge._listeners(design, "every"):
                    azimuth = math.degrees(math.atan2(sign * (sx - one.at), sy - y))
                    elevation = math.degrees(math.atan2(z - eye, math.hypot(one.at - sx, y - sy)))
                    assert first - 1e-4 <= azimuth <= last + 1e-4 and low - 1e-4 <= elevation <= high + 1e-4
                    looked += 1
    assert looked > 100


def test_a_row_too_near_the_rear_wall_and_rows_too_far_apart_show():
    given = room("5", ("  rows: 2\n", "  rows: 1\n"))
    (space,) = spaces(given)
    base = {name: values[0] for name, values in designs(space, 1).items()} | {"row1.seats": 2.0}
    # the right one of two seats 0.7 m apart is 3.15 m from the left wall: there its window begins 3.15 cot(80 deg)
    # = 0.555 m behind it, and the loudspeaker's middle must be 0.125 m before the rear wall: 7.2 - 0.68 = 6.52 m
    surfaces = {
        y: {s.surface for s in stretches(space.layout, base | {"row1.y": y}) if s.seats == "every"}
        for y in (6.51, 6.53)
    }
    assert "left wall" in surfaces[6.51] and "left wall" not in surfaces[6.53]
    # then the rear wall serves: between 3.15 - d tan 80 and 2.45 - d tan 60 from the left wall, d to the wall behind;
    # that is nothing once d (tan 80 - tan 60) < 0.7, d < 0.178 m
    for y, reach in ((7.01, 1.0), (7.03, 0.0)):
        assert measured(space, "surround_reach", base | {"row1.y": y}) == reach
    (space,) = spaces(room("5"))
    base = {name: values[0] for name, values in designs(space, 1).items()} | {"row1.seats": 2.0, "row2.seats": 2.0}
    base |= {"row1.y": 1.9, "row1.platform": 0.0, "row2.platform": 0.0}
    # the left seat's window ends 2.45 cot(60 deg) = 1.415 m behind it, the one behind begins 0.555 m behind that
    for apart, reach in ((0.85, 1.0), (0.87, 0.0)):
        assert measured(space, "surround_reach", base | {"row2.y": 1.9 + apart}) == reach


def test_a_place_that_is_too_short_to_keep_to_is_told_of():
    """Of 1.415 m, at 0.85 m between the rows, 0.555 m and those are left out: 9 mm; at 0.75 m 109 mm."""
    given = room("5")
    (space,) = spaces(given)
    base = {name: values[0] for name, values in designs(space, 1).items()} | {"row1.seats": 2.0, "row2.seats": 2.0}
    base |= {"row1.y": 1.9, "row1.platform": 0.0, "row2.platform": 0.0}
    for apart, told in ((0.85, True), (0.75, False)):
        drawn = {name: float(value) for name, value in (base | {"row2.y": 1.9 + apart}).items()}
        said = " ".join(on_numbers(given, space, drawn))
        assert ("the places for 'side left' (0.009 m) and 'side right' (0.009 m) are short" in said) == told
        assert ("A limit on surround_stretch asks for more" in said) == told


def test_a_door_takes_its_place():
    (space,) = spaces(room("5", ("  rows: 2\n", "  rows: 1\n")))
    base = {name: values[0] for name, values in designs(space, 1).items()} | {"row1.seats": 2.0}
    # the window on the left wall is from y + 0.555 to y + 1.415; the door and half a loudspeaker take 3.875 to 5.025
    on_left = {
        y: [s for s in stretches(space.layout, base | {"row1.y": y}) if s.speaker == "side left"] for y in (2.6, 3.4)
    }
    (free,), (taken,) = on_left[2.6], on_left[3.4]
    assert (free.start, free.end) == pytest.approx((3.1554, 3.875), abs=1e-3)
    assert taken.seats == "none"  # from 3.955 to 4.815 the door's
    assert measured(space, "surround_reach", base | {"row1.y": 3.4}) == 0.5


def test_where_the_rows_are_too_far_apart_the_reference_row_alone_is_told():
    """By hand, layout 5, whose window is 100 to 120 degrees from ahead: eyes at 3 m and 5.4 m, 2.8 m from the left wall.
    On it the first row has 3 + 2.8 cot 80 = 3.494 to 3 + 2.8 cot 60 = 4.617 m, of which the door and half a cabinet leave what is before 4 - 0.125 m; the other begins at
    5.894 m."""
    (space,) = spaces(room("5"))
    base = {name: values[0] for name, values in designs(space, 1).items()} | {"row1.seats": 2.0, "row2.seats": 2.0}
    design = base | {"row1.y": 3.0, "row2.y": 5.4}
    told = {s.speaker: s for s in stretches(space.layout, design) if s.surface in ("left wall", "")}
    assert space.layout.reference_row.number == 1
    assert told["side left"].seats == "reference"
    assert (told["side left"].start, told["side left"].end) == pytest.approx((3.494, 3.875), abs=1e-3)
    for seats, reach in (("every", 0.0), ("middle", 0.0), ("reference", 1.0)):
        assert catalogue()["surround_reach"].form(space.layout, seats=seats).value(design) == reach


def test_conditions_say_what_values_say():
    (space,) = spaces(room("7+4"))
    drawn = designs(space, 80, seed=5)
    for seats in ("every", "middle", "reference"):
        agree(catalogue()["surround_reach"].form(space.layout, seats=seats), drawn, [0.1, 0.3, 0.6, 0.9])
        agree(catalogue()["surround_stretch"].form(space.layout, seats=seats), drawn, [-0.5, 0.0, 0.2])


def test_the_answer_is_the_best_of_all():
    """Every place of one row on a coarse grid, scored one by one."""
    goals = """\
  - {measure: horizontal_angle, row: reference, band: [38 deg, 41 deg], fade: 10 deg}
  - {measure: surround_reach, at_least: 1, fade: 1, weight: 2}
  - {measure: surround_stretch, seats: middle, at_least: 60 cm, fade: 60 cm}
"""
    given = room(
        "5+4",
        ("  rows: 2\n", "  rows: 1\n"),
        ("depth: {from: 0.3 m, to: 0.5 m}", "depth: 0.4 m"),
        ("width: {from: 2 m, to: 3.6 m}", "width: 3 m"),
        ("bottom: {from: 0.6 m, to: 1 m}", "bottom: 0.7 m"),
        ("  - {measure: horizontal_angle, row: reference, band: [45 deg, 55 deg], fade: 10 deg}\n", goals),
    )
    solution = solve(given, grid=0.01)
    (space,) = spaces(given, grid=0.01)
    domain, best = space.domains["row1.y"], -1.0
    y = np.arange(domain.low, domain.high + 1) * domain.step
    for count in (2.0, 3.0):
        every = {n: np.full(len(y), d.value) for n, d in space.domains.items() if hasattr(d, "value")}
        every |= {"row1.y": y, "row1.seats": np.full(len(y), count)}
        scorer = Scorer(given, space)
        best = max(best, float(np.where(scorer.shortfall(every) > 0, -1.0, scorer.scores(every)).max()))
    assert solution.status == "optimal"
    assert solution.score == pytest.approx(best, abs=0.1) and best <= solution.bound + 1e-9
    record = solution_record(solution)
    assert len(record["surround"]) >= 6 and {one["seats"] for one in record["surround"]} <= {
        "every",
        "middle",
        "reference",
        "none",
    }


def test_surround_is_needed_for_its_measures():
    bare = problem(
        (
            "  - {measure: horizontal_angle",
            "  - {measure: surround_reach, at_least: 1, fade: 1}\n  - {measure: horizontal_angle",
        )
    )
    (space,) = spaces(bare)
    with pytest.raises(ProblemFileError, match="surround_reach needs surround"):
        Scorer(bare, space)


WINDOWS = """\
format: 1
title: "Windows beside the seat"
show: m
room:
  length: 6 m
  width: 4.4 m
  height: 2.6 m
  openings:
    - {kind: window, wall: left, along: [0.5 m, 5.5 m], z: [1.3 m, 2 m]}
    - {kind: window, wall: right, along: [0.5 m, 5.5 m], z: [1.3 m, 2 m]}
front:
  baffle: {depth: 0.3 m}
  screen: {width: 2.6 m, bottom: 0.7 m, aspect: "16:9"}
surround: {layout: "5", width: 0.2 m}
seating:
  rows: 1
  seats: 1
  platform: {step: 0.1 m, to: 0.6 m, first: {from: 0 m, to: 0.6 m}}
  chair: {width: 0.7 m, depth: 0.9 m, reclined: 1.5 m, eye_height: 1.1 m}
  place: {row1.y: 3.9 m}
limits:
  - {measure: surround_reach, at_least: 1}
goals:
  - {measure: platform_height, row: 1, at_least: 1 m, fade: 1 m}
"""


class TestTheHeightOfTheEars:
    """By hand: a seat 2.2 m from each side wall, whose windows (100 to 120 degrees from ahead) take 2.2 (cot 60 -
    cot 80) = 0.882 m of wall, from 4.288 to 5.170 m. The glass lies over it from 1.3 to 2 m: in the way of a
    loudspeaker at ears 1.1 m over a platform of 0.3 to 0.8 m, and of none at ears lower than the sill. The rear wall
    is 2.1 m behind: at 120 degrees that is 3.64 m to the side, and the wall ends at 2.2 m."""

    def test_a_wall_is_free_under_the_sill_whatever_else_a_file_allows(self):
        (space,) = spaces(loads(WINDOWS))
        design = {name: values[0] for name, values in designs(space, 1).items()} | {"row1.y": 3.9}
        for height, reach, stretch in ((0.0, 1.0, 0.882), (0.1, 1.0, 0.882), (0.3, 0.0, None), (0.6, 0.0, None)):
            there = design | {"row1.platform": height}
            assert measured(space, "surround_reach", there) == reach
            longest = float(measured(space, "surround_stretch", there))
            assert longest == pytest.approx(stretch, abs=1e-3) if stretch else longest < 0.0
            assert {s.seats for s in stretches(space.layout, there)} == {"every" if reach else "none"}
            # the same design, where the file allows no other
            (alone,) = spaces(loads(WINDOWS.replace("{from: 0 m, to: 0.6 m}", f"{height} m")))
            assert measured(alone, "surround_reach", there) == reach
            assert measured(alone, "surround_stretch", there) == pytest.approx(longest, abs=1e-9)

    def test_loudspeakers_hang_at_the_highest_ears_of_all_rows(self):
        rows = ("rows: 1", "rows: 2"), ("first: {from: 0 m, to: 0.6 m}", "risers: 3"), ("row1.y: 3.9 m", "row1.y: 3 m")
        text = WINDOWS
        for old, new in rows:
            text = text.replace(old, new)
        (space,) = spaces(loads(text))
        design = {name: values[0] for name, values in designs(space, 1).items()} | {"row1.y": 3.0, "row2.y": 4.4}
        for height, reach in ((0.1, 1.0), (0.4, 0.0)):
            there = design | {"row1.platform": 0.0, "row2.platform": height}
            assert measured(space, "surround_reach", there, "reference") == reach

    def test_the_solver_finds_what_it_finds_where_a_file_allows_nothing_else(self):
        solution = solve(loads(WINDOWS), grid=0.1)
        assert solution.status == "optimal"
        # 0.2 m brings the ears to the sill
        assert solution.design["row1.platform"] == pytest.approx(0.2)
        drawn = {"row1.platform": np.arange(7) * 0.1}
        drawn |= {name: values[0] for name, values in designs(solution.space, 1).items() if name not in drawn}
        for measure, thresholds in (("surround_reach", [0.5, 1.0]), ("surround_stretch", [-0.5, 0.0, 0.5])):
            agree(catalogue()[measure].form(solution.space.layout, seats="every"), drawn, thresholds)


@pytest.mark.parametrize("height, served", [(2.44, False), (2.47, True)])
def test_the_least_place_on_the_ceiling_is_found(height, served):
    """By hand: of two seats 0.7 m apart, the left one's window (30 to 45 degrees from ahead) ends at x - d tan 30, d before the
    row, and the right one's begins at x + 0.7 - d: from d = 0.7 / (1 - tan 30) = 1.656 m on there is something between. There
    the right one is d (cos 37.5 + sin 37.5) = 2.322 m away along the middle of its window, which may be h cos 7.5 / tan 30 for
    h over the ears: h = 1.3524 m, 2.4524 m over the floor. Just above that it is a triangle of few centimetres."""
    changes = ("  height: 3.1 m\n", f"  height: {height} m\n"), ("[2.8 m, 3.1 m]}]", f"[2.2 m, {height} m]}}]")
    (space,) = spaces(room("5+4", ("  rows: 2\n", "  rows: 1\n"), *changes))
    design = {name: float(values[0]) for name, values in designs(space, 1).items()}
    design |= {"row1.y": 3.6, "row1.seats": 2.0, "baffle.depth": 0.3}
    found = [one for one in stretches(space.layout, design) if one.speaker == "overhead front left"]
    assert [one.seats for one in found] == ["every" if served else "middle"]
    if served:
        (one,) = found
        assert 0.0 < one.end - one.start < 0.05
        assert one.at == pytest.approx(2.8 - 0.35 - 1.656 * math.tan(math.radians(30)), abs=0.03)
        assert one.end == pytest.approx(3.6 - 1.656, abs=0.03)


@pytest.mark.parametrize("slope", [GABLE, STEPS, f"{GABLE}\n  {STEPS}"])
def test_under_a_slope_every_place_is_found(slope):
    """Points all over the ceiling, each at its own height there: where one lies in all windows, as straight lines bound them,
    with some room to spare, a place is found, and none where not even one nearly does."""
    profiles = {
        axis: np.array(
            [tuple(map(float, one)) for one in re.findall(rf"{axis}: ([\d.]+) m, height: ([\d.]+) m", slope)]
        )
        for axis in "xy"
    }
    given = room("5+4", ("  rows: 2\n", "  rows: 1\n"), ("  height: 3.1 m\n", f"  height: 3.1 m\n  {slope}\n"))
    (space,) = spaces(given)
    half = 0.5 * given.surround.width
    x, y = np.meshgrid(np.arange(half, 5.6 - half, 0.011), np.arange(half, 7.2 - half, 0.011))
    z = np.minimum(3.1, np.inf)
    for axis, at in (("x", x), ("y", y)):
        if len(profiles[axis]):
            z = np.minimum(z, np.interp(at, *profiles[axis].T))
    drawn, judge, told = designs(space, 25, seed=8), Judge(given, 1, space.aspect), set()
    for k in range(25):
        design = {name: float(values[k]) for name, values in drawn.items()}
        served = {one.speaker for one in stretches(space.layout, design) if one.seats == "every"}
        hung = (y > 5.2 - half) & (y < 5.5 + half) & (z < 3.1 + 0.5)  # the beam reaches up to 3.1 m
        free = ~hung & (y > design["baffle.depth"] + half)
        for name, (first, last, low, high, _) in zip(("front", "rear"), OF_LAYOUT["5+4"][1:]):
            for side, sign, here in (("left", 1, x < 2.8), ("right", -1, x > 2.8)):
                spare = np.where(free & here, np.inf, -np.inf)  # how far inside of all windows' sides [m]
                out, wide = math.radians(0.5 * (first + last)), math.radians(0.5 * (last - first))
                for sx, sy, eye in judge._listeners(design, "every"):
                    left, ahead, up = sign * (sx - x), sy - y, z - eye
                    away = left * math.sin(out) + ahead * math.cos(out)
                    aside = left * math.cos(out) - ahead * math.sin(out)
                    spare = np.minimum(spare, away - up / math.tan(math.radians(high)))
                    spare = np.minimum(spare, up * math.cos(wide) / math.tan(math.radians(low)) - away)
                    spare = np.minimum(spare, away * math.sin(wide) - np.abs(aside) * math.cos(wide))
                most, found = spare.max(), f"overhead {name} {side}" in served
                if most > 1e-6:
                    assert found, (k, name, side, most)
                elif most < -0.03:  # no point of the raster lies nearer
                    assert not found, (k, name, side, most)
                told.add((most > 1e-6, found))
    assert {(True, True), (False, False)} <= told
