"""How results read: figures that agree, nothing said twice, lists that can be told apart."""

import io
import json
import math
import re
from dataclasses import replace

import pytest
from click.testing import CliRunner
from rich.console import Console
from rooms import GRID, ONE_ROW, TWO_ROWS, one_row, two_rows
from test_taste import PULLED

from optimiser.cli import program
from optimiser.complete import complete
from optimiser.design import spaces
from optimiser.errors import UsageError
from optimiser.explain.comparison import compared
from optimiser.explain.concessions import Loosening, concessions_of
from optimiser.explain.conflicts import Shortfall
from optimiser.explain.departures import departures
from optimiser.explain.differences import Difference, GoalChange, difference
from optimiser.explain.members import members
from optimiser.explain.possible import Oracle
from optimiser.explain.reasons import read_weights
from optimiser.explain.sayings import (
    loosening_words,
    member_words,
    off_words,
    place_words,
    rounding_words,
    shortfall_words,
    standing_words,
)
from optimiser.explain.taste import End, Leaning, taste_of
from optimiser.explain.telling import goal_words, what_follows
from optimiser.explain.tolerances import Estimate, tolerated
from optimiser.problem.decisions import read_value, with_fixed
from optimiser.problem.model import Goal
from optimiser.problem.read import loads
from optimiser.quantity import show
from optimiser.requirements import all_limits
from optimiser.score import GoalResult, LimitResult
from optimiser.sheet.cells import figure_words
from optimiser.sheet.compared import print_comparison
from optimiser.sheet.taste import _beyond, _end_words, print_taste
from optimiser.sheet.terminal import print_completed
from optimiser.sheet.tolerances import _error, chance_words, print_tolerated
from optimiser.sheet.whole import Terminal
from optimiser.solve import solve
from optimiser.standing import Broken, broken
from optimiser.words import goal_row_words, listed

INCH = 0.0254
DOORWAY = {
    "show: m": "show: ft-in",
    "limits:\n": "limits:\n  - {measure: door_clearance, at_least: 2 in}\n",
}


def test_what_gives_way_and_what_is_broken_are_the_same_figures():
    """4.063 in of 4 in wanted: rounded up to sixteenths 4 1/8 in, and what is left -1/8 in."""
    text = {"show: m": "show: ft-in", "limits:\n": "limits:\n  - {measure: rear_walkway, at_least: 4 in}\n"}
    problem = one_row(text=text)
    (member,) = (m for m in members(problem) if m.about_limit and m.index == 0)
    for short, words in ((4.063, "4 1/8 in"), (4.0, "4 in")):
        loosening = Loosening(member, "length", 4 * INCH, (4 - short) * INCH, short * INCH)
        value = (4 - short) * INCH
        result = LimitResult(0, problem.limits[0], False, "length", None, value, -short * INCH, False, False)
        left = "-1/8 in" if short > 4.0 else "0 in"
        assert loosening_words(problem, loosening) == f"rear walkway gives way by {words}, to at least {left}"
        assert off_words(problem, Broken(result)) == f"breaks rear walkway: {left}, off by {words}"
        assert bool(rounding_words(problem, [loosening])) == (short > 4.0)
    limit = replace(problem.limits[0], at_least=None, at_most=4 * INCH)
    result = LimitResult(0, limit, False, "length", 2, 8.063 * INCH, -4.063 * INCH, False, False)
    assert off_words(problem, Broken(result, "row 2")) == "breaks rear walkway, row 2: 8 1/8 in, off by 4 1/8 in"
    by = Broken(result, "row 2, stool 3", ("column",))
    assert off_words(problem, by).startswith("breaks rear walkway ('column'), row 2, stool 3: ")


def test_what_the_room_asks_goes_by_the_name_that_the_conflict_gives_it():
    """A file's own limit on the walkway may stand beside it, and is another demand."""
    problem = one_row(text={"limits:\n": "limits:\n  - {measure: walkway, at_least: 0.3 m}\n"})
    ours, own = (m for m in members(problem) if m.about_limit and all_limits(problem)[m.index].measure == "walkway")
    said = [shortfall_words(problem, Shortfall(m, "length", 0.0, -0.5, 0.5)) for m in (ours, own)]
    assert said[0] == "with only these others, walkway can be -0.500 m at most: 0.500 m short"
    feet = "walkway (each row's feet clear of what is in front) can be -0.500 m at most"
    assert feet in said[1] and member_words(problem, own) in said[1]


def test_a_number_of_rows_that_was_not_settled_is_told_so():
    problem = two_rows()
    (rows,) = (m for m in members(problem) if m.path == "seating.rows")
    said = shortfall_words(problem, Shortfall(rows, "count", 2.0, None, None))
    assert said == "with only these others, what the number of rows can be was not settled in the solver's time"


def test_a_bar_has_places_and_no_seats_of_a_path():
    bar = "  platform: {step: 0.1 m, to: 0.4 m, risers: 2}\n  bar: {seats: {choose: [3, 4]}}\n"
    problem = two_rows(text={"  platform: {step: 0.1 m, to: 0.4 m, risers: 2}\n": bar})
    said = {member_words(problem, member) for member in members(problem)}
    assert "3 or 4 places at the bar" in said and not any("seating" in words for words in said)


def test_one_demand_that_gives_way_is_not_split_without_need():
    """30 + 250 + 175 + 90 = 545 cm are asked of 540 cm: 5 cm of any one distance are enough, and 4.9 and 0.1 cm of two
    are no less."""
    problem = loads(
        """\
format: 1
title: A little short
show: cm
room: {length: 5.40 m, width: 4.20 m, height: 2.50 m}
front:
  baffle: {depth: {from: 30 cm, to: 45 cm}, margin: 5 cm, solid: true}
  screen: {width: {from: 180 cm, to: 390 cm}, bezel: 5 cm, gap: 5 cm, bottom: {from: 50 cm, to: 100 cm}}
seating:
  rows: 2
  seats: 2
  chair: {width: 70 cm, depth: 90 cm, reclined: 130 cm, eye_height: 106 cm, eye_to_back: 20 cm, head_above_eye: 12 cm}
  aisle: {sides: one, width: 70 cm}
  platform: {step: 1 cm, to: 35 cm}
limits:
  - {measure: listening_distance, at_least: 2.5 m}
  - {measure: rear_wall_distance, at_least: 0.9 m}
  - {measure: row_pitch, at_least: 1.75 m}
goals:
  - {measure: horizontal_angle, row: reference, band: [45 deg, 52 deg], fade: 8 deg, weight: 4}
""",
        "short.yaml",
    )
    found = concessions_of(Oracle(problem), problem)
    assert len(found.alone) >= 3
    assert len(found.joint.loosenings) == 1 and found.joint.loosenings[0].by == pytest.approx(0.05, abs=1e-6)
    assert {r.limit.measure for r in found.joint.card.broken} == {found.joint.card.breaking[0].limit.measure}
    assert found.joint.least <= found.joint.total + 1e-9 and found.joint.total == pytest.approx(2.0, abs=1e-3)


def test_a_limit_of_the_room_that_the_file_restates_is_told_once():
    """The leaf of 0.8 m, hinged at 1 m, strikes the corner at 0.4 m of a baffle wall 3.5 m wide in 3.6 m: 0.6 m away."""
    problem = one_row(text={**DOORWAY, "hinge: 1.3 m": "hinge: 1.0 m"})
    done = complete(problem, {"baffle.depth": 0.4, "screen.width": 3.2}, grid=GRID)
    both = [r for r in done.card.broken if r.limit.measure == "door_clearance"]
    assert [r.own for r in both] == [False, True]
    assert [r.own for r in done.card.breaking if r.limit.measure == "door_clearance"] == [False]
    assert [r.own for r in done.card.telling if r.limit.measure == "door_clearance"] == [False, True]  # of the table
    told = difference(done.design, done.card, done.design, done.card, broken(done.space, done.design, done.card))
    assert what_follows(problem, told).count("door clearance") == 1
    assert "door clearance ('entry') by" in what_follows(problem, told)  # as solve and score have it
    out = io.StringIO()
    print_completed(Terminal(file=out, width=110), problem, done, name="drawn")
    first = out.getvalue().split("Front of the room")[0]
    assert first.count("door clearance") == 1
    assert f"breaks {len(done.card.breaking)} limit" in first


def test_a_limit_of_the_room_that_asks_more_than_the_file_is_told():
    text = {**DOORWAY, "hinge: 1.3 m": "hinge: 1.0 m"}
    problem = one_row(text={k: v.replace("2 in", "-40 in") for k, v in text.items()})
    card = complete(problem, {"baffle.depth": 0.4, "screen.width": 3.2}, grid=GRID).card
    assert [r.own for r in card.breaking if r.limit.measure == "door_clearance"] == [True]


@pytest.mark.parametrize(
    "before, after, words",
    [
        (90.0, 90.0, "It scores the same (90.0)."),
        (90.04, 90.06, "It scores the same (90.1, 90.0 before)."),
        (90.0, 91.0, "It scores 1.0 points more (91.0 instead of 90.0)."),
    ],
)
def test_what_scores_the_same(before, after, words):
    assert what_follows(one_row(), Difference((), (), before, after, ())) == words


def test_of_seats_the_worst_is_told_where_there_is_no_place_for_all():
    """Off-axis angles of five seats, of which 30 degrees are wanted at most."""
    goal = Goal("off_axis_angle", "worst seat", None, math.radians(30), math.radians(20), 1.0)

    def result(*degrees):
        values = tuple(math.radians(one) for one in degrees)
        scores = tuple(1.0 if one <= 30 else 1.0 - (one - 30) / 20 for one in degrees)
        seats = tuple(range(1, len(degrees) + 1))
        return GoalResult(0, goal, "angle", (1,) * len(seats), values, scores, min(scores), seats)

    change = GoalChange(goal, "angle", result(12, 20, 34, 31, 8), result(12, 20, 40, 31, 8), -3.0)
    assert (
        goal_words(one_row(), change)
        == "3.0 on off axis angle in every seat (40.0° instead of 34.0° at the worst; wanted at most 30.0°)"
    )


def test_a_sampling_error_is_never_shown_as_nothing():
    assert _error(0.001) == " ± 0.01" and _error(0.011) == " ± 0.02" and _error(0.02) == " ± 0.02"
    assert _error(0.0) == "" and _error(0.001, 1) == " ± 0.1"
    assert chance_words(Estimate(0.9999, 1e-6)) == "99.99 % ± 0.01"


def test_lists_with_commas_in_them():
    assert listed(["a", "b", "c"]) == "a, b and c" and listed(["a", "b"], "or") == "a or b" and listed(["a"]) == "a"
    assert listed(["row 1, seats", "bezel", "row 2, ears"]) == "row 1, seats; bezel; and row 2, ears"
    assert listed([]) == ""


def test_what_was_not_given_can_be_told_apart(tmp_path):
    path = tmp_path / "den.yaml"
    path.write_text(ONE_ROW, encoding="utf-8")
    output = CliRunner().invoke(program, ["score", str(path), "--set", "screen.width=2.5 m"]).output
    (line,) = (text for text in " ".join(output.split()).split(". ") if "Not given, so chosen to suit it best:" in text)
    names = line.split("best: ")[1].split(". ")[0].split("; ")
    assert "row 1, ears from the front wall" in names and "row 1, seats" in names


def test_rows_and_shape_that_were_not_given_are_told_too():
    text = ONE_ROW.replace("rows: 1", "rows: {from: 1, to: 2}").replace(
        "width: {", 'aspect: {choose: ["16:9", "2.40:1"]}, width: {'
    )
    problem = loads(text, "den.yaml")

    def told(given):
        out = io.StringIO()
        print_completed(Terminal(file=out, width=110), problem, complete(problem, given, grid=GRID), name="drawn")
        (words,) = (one for one in " ".join(out.getvalue().split()).split(". ") if one.startswith("Not given"))
        return words.split(": ")[1].split("; ")

    assert told({"screen.width": 2.5})[:2] == ["rows", "aspect ratio"]
    assert "aspect ratio" not in told({"screen.width": 2.5, "screen.aspect": 16 / 9})
    assert "rows" not in told({"screen.width": 2.5, "rows": 1})
    assert "rows" not in told({"row2.y": 4.2})  # there are no more


def test_goals_that_one_design_lacks_are_said_to_move_the_others_share():
    """Of weights 5 + 2 + 2 + 2 the one row lacks a sight line's 2: a goal kept in full gains 100 / 9 - 100 / 11 each."""
    problem = loads(TWO_ROWS.replace("rows: 2", "rows: {from: 1, to: 2}"), "den.yaml")
    one, two = (complete(problem, {"rows": n}, grid=GRID) for n in (1, 2))
    said = "Where a goal counts in one of the two only, each of the others has another share of the score"
    assert said in what_follows(problem, difference(two.design, two.card, one.design, one.card))
    other = complete(problem, {"rows": 2, "screen.width": 2.4}, grid=GRID)
    assert said not in what_follows(problem, difference(two.design, two.card, other.design, other.card))


def test_a_goal_on_the_whole_design_is_about_no_row():
    problem = one_row()
    names = {goal.measure: goal_row_words(goal) for goal in problem.goals}
    assert names == {"horizontal_angle": "all", "midpoint_offset": "all", "image_width": "", "seat_count": ""}


@pytest.mark.parametrize("share", (1.0, 0.01))
def test_every_end_of_a_weight_says_what_lies_beyond_it(share):
    """And what is told of weights holds as it reads, where they are shares of 1 too: what lies within is rounded inwards,
    from what lies beyond on another design is better."""
    plain = one_row(text=PULLED)
    problem = replace(plain, goals=tuple(replace(goal, weight=share * goal.weight) for goal in plain.goals))
    best = solve(problem, grid=GRID)
    found = taste_of(problem, best)
    ends = [(e, down) for one in found for e, down in ((one.low, True), (one.high, False)) if e.beyond is not None]
    lines = _beyond(problem, best, 1.0, found)
    assert len(ends) > 3  # else it would not be seen whether all are told
    told = [(way == "below", float(w)) for line in lines for way, w in re.findall(r"(above|below) ([0-9.]+) on", line)]
    assert len(told) == len(ends)
    for end, down in ends:
        near = [w for below, w in told if below == down and w == pytest.approx(end.beyond, rel=0.1)]
        assert any(w <= end.beyond if down else w >= end.beyond for w in near)
    assert len({line.split("better: ")[1] for line in lines}) == len(lines)
    for one in found:
        low, high = (float(_end_words(e, down=down).strip("<>?")) for e, down in ((one.low, True), (one.high, False)))
        assert one.low.weight <= low + 1e-12 and low <= one.goal.weight <= high and high <= one.high.weight + 1e-12


def test_a_saved_result_that_is_none_is_refused_in_words(tmp_path):
    room, saved = tmp_path / "den.yaml", tmp_path / "saved"
    room.write_text(ONE_ROW, encoding="utf-8")
    for data in (b"no JSON", b"\xff\xfe", b"[" * 100_000):
        saved.write_bytes(data)
        done = CliRunner().invoke(program, ["sheet", str(room), "--out", str(tmp_path / "out"), "--from", str(saved)])
        assert str(done.exception) == f"{saved} is no JSON: save a result with 'optimiser solve FILE --json'"


def test_what_nothing_bounds_reads_alike_in_every_table():
    """A view over nobody has no end: tables of goals and of rows say so in one word, not by a sign and a dash."""
    assert figure_words("length", math.inf, "m", 0.06) == show("length", math.inf, "m") == "unlimited"


def test_a_design_that_leaves_what_the_file_decides_is_told_so(tmp_path):
    """It may score more than any that keeps to the file, and then the proof about the best would seem untrue."""
    room, saved = tmp_path / "den.yaml", tmp_path / "saved.json"
    room.write_text(ONE_ROW, encoding="utf-8")  # image width to 3.2 m, bottom from 0.5 m
    call = ["score", str(room), "--grid", "10 cm", "--set", "row1.y=3.4 m", "--set", "screen.width="]

    def said(width, *more):
        done = CliRunner().invoke(program, [*call[:-1], call[-1] + width, *more])
        assert done.exit_code == 0, done.output
        return done.output

    assert "does not keep" not in said("3.2 m")
    beyond = ("3.3 m", "--set", "screen.bottom=0.4 m")
    assert (
        "does not keep to what the file decides (image width at most 3.200 m and image bottom above the floor at least 0.500 m);"
        in " ".join(said(*beyond).split())
    )
    saved.write_text(said(*beyond, "--json"), encoding="utf-8")
    record = json.loads(saved.read_text(encoding="utf-8"))
    assert [one["unkept"] for one in (record if isinstance(record, list) else [record])] == [
        ["front.screen.bottom", "front.screen.width"]
    ]
    done = CliRunner().invoke(program, ["compare", str(room), "--grid", "10 cm", "--saved", str(saved)])
    assert (
        " ".join(done.output.split()).count("does not keep to what the file decides (image width at most 3.200 m") == 1
    )


KEEPING = """\
format: 1
title: Keeping
show: cm
room: {length: 7 m, width: 5 m, height: 2.8 m, reverberation_time: 0.3 s}
front:
  baffle: {depth: 30 cm, margin: 5 cm}
  screen: {width: {from: 2 m, to: 3.5 m}, bottom: {from: 60 cm, to: 100 cm}, bezel: 5 cm, gap: 5 cm}
bass: {arrangement: {choose: [front_pair, four_corners]}}
seating:
  rows: 2
  seats: 3
  chair: {width: 70 cm, depth: 90 cm, reclined: 130 cm, eye_height: 106 cm, eye_to_back: 20 cm}
  aisle: {sides: right, width: 60 cm}
  platform: {step: 10 cm, to: 40 cm}
  stagger: {choose: [0, 0.5]}
goals:
  - {measure: horizontal_angle, row: reference, band: [40 deg, 50 deg], fade: 10 deg}
"""


@pytest.mark.parametrize(
    "name, kept, left, path, words",
    [
        ("seating.stagger", "0.5", "0.3", "seating.stagger", "shift of every second row, in seats of 0.000 or 0.500"),
        ("row2.platform", "20 cm", "15 cm", "seating.platform.step", "platforms in steps of 10.0 cm"),
        ("screen.centre", "250 cm", "260 cm", "front.baffle.centred", "the image in the middle of the room"),
        ("seating.centre", "250 cm", "240 cm", "seating.centre", "the rows' middle at the image's"),
        ("aisle.side", "right", "left", "seating.aisle.sides", "the aisle at the right"),
        (
            "bass.arrangement",
            "four_corners",
            "one_corner",
            "bass.arrangement",
            "bass loudspeakers of front pair or four corners",
        ),
    ],
)
def test_what_no_room_bounds_is_told_of_too_where_a_design_leaves_it(name, kept, left, path, words):
    problem = loads(KEEPING)
    space = next(iter(spaces(problem)))
    usual = {"screen.width": 3.0, "screen.bottom": 0.7, "row1.y": 3.0, "row2.y": 4.6, "row2.platform": 0.2}
    design = space.complete({n: d.ends[0] for n, d in space.domains.items()}) | usual
    for text, expected in ((kept, []), (left, [(path, words)])):
        assert departures(problem, design | {name: read_value(problem, name, text)}) == expected


def test_what_is_saved_or_given_is_set_beside_the_files_own_designs():
    problem = one_row(text={"limits:\n": "designs:\n  one: {row1.y: 3.2 m}\n  two: {row1.y: 3.4 m}\nlimits:\n"})
    given = {"third": {"row1.y": 3.0}}
    for names, told in (((), ["one", "two", "third"]), (("two",), ["two", "third"])):
        found = compared(problem, names, given=given, best=False, grid=GRID)
        assert [entry.name for entry in found.entries] == told


def test_of_weights_in_no_table_no_columns_are_explained():
    """No goal here has an end at which another design is better."""
    console = Console(file=io.StringIO(), width=200)
    problem = one_row()
    best = solve(problem, grid=GRID)
    ends = [End(weight, None) for weight in (0.1, 10.0)]
    firm = [Leaning(n, goal, 1.0, *ends) for n, goal in enumerate(problem.goals)]
    print_taste(console, problem, best, 1.0, firm, ())
    words = console.file.getvalue()
    assert "Proven: with one weight anywhere within that, and the others as they are, no design is more than" in words
    assert "'from'" not in words and "'<'" not in words


def test_of_two_ends_of_a_range_the_name_is_told_once():
    with pytest.raises(UsageError) as told:
        read_weights(one_row(), ["nonsense=2"])
    assert str(told.value).count("front.screen.width") == 1


PLACED = """\
format: 1
title: A place beside two chairs
show: cm
room:
  length: 6.6 m
  width: 4.8 m
  height: 2.7 m
  obstructions: [{name: column, x: [4.3 m, 4.8 m], y: [1.9 m, 2.3 m], z: [0 m, 2.7 m]}]
front: {screen: {aspect: "16:9", width: 3.4 m, bottom: 60 cm}}
seating:
  rows: 1
  seats: 2
  aisle: {sides: right, width: 80 cm}
  wheelchair: {row: 1, width: 0.9 m, depth: 1.2 m, side: right}
limits: [{measure: off_axis_angle, row: worst seat, at_most: 20 deg}]
goals: [{measure: horizontal_angle, row: reference, band: [48 deg, 55 deg], fade: 15 deg}]
tolerances: {row1.y: 2 cm}
designs:
  near: {row1.y: 2.0 m}
  nearer: {row1.y: 1.8 m}
"""


def test_broken_limits_name_a_wheelchairs_place_and_what_stands_in_the_way_wherever_they_are_told():
    """Two chairs and a place at their right: the third of three, as it is numbered, is no seat. The column leaves less
    than 80 cm of the aisle at the right."""
    problem = loads(PLACED)
    said = []
    for tell in (
        lambda out: print_comparison(out, compared(problem, best=False)),
        lambda out: print_completed(out, problem, complete(problem, {"row1.y": 2.0}), name="near"),
    ):
        out = io.StringIO()
        tell(Terminal(file=out, width=400))
        said.append(out.getvalue())
    assert "off axis angle in row 1, the wheelchair's place by" in said[0]
    assert "aisle width ('column') in row 1 by" in said[0]
    after = said[0].partition("'nearer' against 'near'")[2]
    assert "off axis angle in row 1, the wheelchair's place by" in after and "aisle width ('column')" in after
    assert "aisle width (row 1, 'column')" in said[1] and "(row 1, the wheelchair's place)" in said[1]
    assert "seat 3" not in "".join(said)


def test_tolerances_name_a_wheelchairs_place():
    problem = loads(PLACED.replace("at_most: 20 deg", "at_most: 60 deg").replace("row1.y: 2.0 m", "row1.y: 4 m"))
    done = complete(problem, {"row1.y": 4.0})
    out = io.StringIO()
    print_tolerated(Terminal(file=out, width=200), tolerated(problem, done.space, done.design, samples=64))
    rows = [line.split("  ") for line in out.getvalue().splitlines() if line.startswith("  off axis angle  ")]
    assert [next(filter(None, cells[2:])).strip() for cells in rows] == [
        "1, seat 1",
        "1, seat 2",
        "1, the wheelchair's place",
    ]


def test_choices_that_no_room_bounds_are_told_of_beside_conflicts():
    """A thing of a list, or the side of an aisle, is no end that could give way."""
    problem = with_fixed(one_row(), "row1.y", "3 m")
    assert standing_words(problem, {"rows": "1", "row1.y": "3 m", "screen.width": "3 m"}) == ""
    told = standing_words(problem, {"row1.y": "3 m", "chair": "Heron", "aisle.side": "left"})
    assert told.startswith("All of this is so with chair=Heron and aisle.side=left: such a choice counts as no demand")


def test_what_the_room_asks_as_a_limit_does_is_told_beside_it():
    problem = one_row(text={"limits:\n": "limits:\n  - {measure: aisle_width, at_least: 0.7 m}\n"})
    (limit,) = (m for m in members(problem) if m.about_limit and m.index == 0)
    same = problem.seating.aisle.width == 0.7
    assert ("seating.aisle.width asks the same" in place_words(problem, limit)) == same
    wide = replace(problem.seating.aisle, width=0.7, sides="one")
    whole = replace(problem, seating=replace(problem.seating, aisle=wide))
    assert re.fullmatch(r"line \d+; seating.aisle.width asks the same", place_words(whole, limit))
    narrow = replace(whole, seating=replace(whole.seating, aisle=replace(wide, width=0.6)))
    assert re.fullmatch(r"line \d+", place_words(narrow, limit))


def test_a_range_and_a_limit_of_one_name_are_told_apart():
    problem = one_row(text={"limits:\n": "limits:\n  - {measure: image_width, at_least: 2.5 m}\n"})
    by_path = {m.path or m.index: m for m in members(problem) if m.kind in ("limit", "from", "to")}
    told = [
        loosening_words(problem, Loosening(by_path[at], "length", wanted, wanted - 0.1, 0.1))
        for at, wanted in ((0, 2.5), ("front.screen.width", 3.2))
    ]
    assert told[0].startswith("image width gives way") and told[1].startswith("the range of image width gives way")
