"""What the commands say to whoever asks: conflicts, designs that cannot be, grids, names, options."""

from __future__ import annotations

import json
import math
import re
import shlex
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from optimiser.cli import program
from optimiser.measures import catalogue
from optimiser.measures.front import FRAME_DEPTH
from optimiser.problem.decisions import with_fixed
from optimiser.problem.read import load
from optimiser.solve import settle
from tests.support.files import FOLDER

HIGH = """\
format: 1
title: Nothing fits
show: cm
room: {length: 500 cm, width: 400 cm, height: 230 cm}
front:
  baffle: {depth: 30 cm}
  screen: {width: {from: 300 cm, to: 320 cm}, aspect: "4:3", bezel: 10 cm, bottom: {from: 40 cm, to: 60 cm}}
seating: {rows: 1, seats: 3}
limits:
  - {measure: listening_distance, at_least: 250 cm}
  - {measure: rear_wall_distance, at_least: 300 cm}
goals: [{measure: image_width, at_least: 320 cm, fade: 50 cm}]
"""
"""The least image is 300 cm x 225 cm; with frame and the least bottom it ends at 40 + 225 + 10 = 275 cm,
under a ceiling of 230 cm: the ceiling alone excludes it. Listening and rear wall ask for 30 + 250 + 300 cm
of 500 cm, which is no part of that."""

LOW = HIGH.replace("height: 230 cm", "height: 300 cm")
"""High enough; now what excludes each other is the room's length."""


def ask(*words) -> Result:
    return CliRunner().invoke(program, [str(w) for w in words])


@pytest.fixture
def file(tmp_path):
    def write(text: str, name: str = "room.yaml") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


class TestConflicts:
    def test_one_limit_that_cannot_hold(self, file):
        path = file(HIGH.replace("  - {measure: rear_wall_distance, at_least: 300 cm}\n", ""))
        done = ask("solve", path)
        assert done.exit_code == 3
        text = " ".join(done.output.split())
        assert (
            "This limit cannot hold by itself in this room, within the ranges that the file gives: "
            "frame to ceiling at least 0.0 cm (the room itself) 'optimiser explain" in text
        )
        assert "without any one" not in text and "together" not in text
        assert f"explain{path}'showseveryconflict" in done.output.replace("\n", "").replace(" ", "")

    def test_two_limits_that_exclude_each_other(self, file):
        done = ask("solve", file(LOW))
        assert done.exit_code == 3
        text = " ".join(done.output.split())
        assert (
            "These 2 limits cannot hold together in this room, within the ranges that the file gives; with any one "
            "of them left out, the other one can: listening distance at least 250.0 cm [line 10] rear wall distance "
            "at least 300.0 cm [line 11]" in text
        )

    @pytest.mark.parametrize("command", ["solve", "prices"])
    def test_the_command_that_explains_has_what_was_fixed(self, file, command, monkeypatch):
        """The same room explained without it is possible: row 1 at 200 cm breaks the 250 cm to listen from."""
        path = file(LOW.replace("rear_wall_distance, at_least: 300 cm", "rear_wall_distance, at_least: 30 cm"))
        monkeypatch.chdir(path.parent)  # a name short enough for a line
        path = path.name
        assert ask("solve", path).exit_code == 0
        done = ask(command, path, "--fix", "row1.y=200 cm", "--grid", "10 cm")
        assert done.exit_code == 3
        text = " ".join(done.output.split())
        said = re.search(r"'(optimiser explain .*)' (shows|says)", text)[1]
        assert said == f'optimiser explain {path} --fix "row1.y=200 cm" --grid "10 cm"'
        assert "in this room, within the ranges" not in text
        assert ask(*shlex.split(said)[1:]).exit_code == 3
        assert ("with what is fixed" in text) == (command == "solve")

    def test_what_the_solver_gave_up_on_is_not_claimed(self, file, monkeypatch):
        """As if it could not tell of any set without one of its limits."""
        monkeypatch.setattr(sys.modules[settle.__module__], "_possible", lambda search, limits: None)
        done = ask("solve", file(LOW))
        text = " ".join(done.output.split())
        assert done.exit_code == 3
        assert "limits cannot hold together in this room, within the ranges that the file gives; whether fewer" in text
        assert "left out" not in text


DESIGNS = (
    LOW.replace("  - {measure: rear_wall_distance, at_least: 300 cm}\n", "").replace("rows: 1", "rows: 2")
    + """\
designs:
  good: {screen.width: 310 cm}
  beyond: {row1.y: 12 m}
  wrong kind: {screen.diagonal: 300 cm}
  also good: {screen.width: 305 cm}
"""
)


class TestScores:
    """A design that cannot be hides none that can."""

    def test_designs_that_can_be_are_scored(self, file):
        done = ask("score", file(DESIGNS))
        assert done.exit_code == 2
        assert "Nothing fits: good\n" in done.stdout and "Nothing fits: also good\n" in done.stdout
        lines = done.stderr.splitlines()
        assert len(lines) == 2
        assert lines[0].startswith("not scored: beyond: row1.y of 1200.0 cm is outside the room, 500.0 cm long; no ")
        assert lines[1].startswith("not scored: wrong kind: screen.diagonal: ")

    def test_as_records(self, file):
        done = ask("score", file(DESIGNS), "--json")
        assert done.exit_code == 2
        records = json.loads(done.stdout)
        assert [r["name"] for r in records] == ["good", "beyond", "wrong kind", "also good"]
        assert [r["status"] for r in records] == ["scored", "failed", "failed", "scored"]
        assert "no arrangement has these decisions" in records[1]["error"]

    def test_those_that_are_asked_for(self, file):
        path = file(DESIGNS)
        assert ask("score", path, "--design", "good").exit_code == 0
        alone = ask("score", path, "--design", "beyond")
        assert (alone.exit_code, alone.stdout) == (2, "")

    def test_a_sheet_names_the_design_that_cannot_be(self, file, tmp_path):
        text = DESIGNS.replace("  wrong kind: {screen.diagonal: 300 cm}\n", "")
        done = ask("sheet", file(text), "--out", tmp_path / "out", "--only", "html", "--quick")
        assert str(done.exception).startswith("designs: beyond: no arrangement has these decisions")


def test_a_grid_in_other_units_than_the_file_is_named_in_its_own(file):
    """5 mm are no whole sixteenths of an inch: 3/16 in is 4.76 mm."""
    possible = LOW.replace("rear_wall_distance, at_least: 300", "rear_wall_distance, at_least: 100")
    done = ask("solve", file(possible.replace("show: cm", "show: ft-in")), "--grid", "5 mm")
    assert done.exit_code == 0 and "no design on the 5 mm grid scores more" in done.output


@pytest.mark.parametrize(
    ("name", "remedy"),
    [
        ("screen.width", "that is a decision; its measure is 'image_width'"),
        ("row2.platform", "that is a decision; its measure is 'platform_height', of row 2"),
        ("row1.seats", "that is a decision; its measure is 'seat_count', of all rows"),
        ("baffle.depth", "that is a decision, and no measure tells it alone"),
        ("image_with", "did you mean 'image_width'?"),
    ],
)
def test_a_decision_where_a_measure_is_due(file, name, remedy):
    said = f"unknown measure '{name}': {remedy}"
    assert str(ask("solve", file(HIGH), "--maximise", name).exception) == said
    assert str(ask("measures", name).exception) == said
    path = file(HIGH.replace("measure: image_width", f"measure: {name}"))
    assert str(ask("solve", path).exception).endswith(f"goals.1.measure: {said}")


class TestExtremes:
    def test_rows_without_a_measure_on_rows(self, file):
        path = file(LOW)
        assert str(ask("solve", path, "--row", "1").exception) == "--row goes with --maximise or --minimise"
        said = str(ask("solve", path, "--maximise", "image_width", "--row", "1").exception)
        assert said == "image_width is one value for the whole design: leave the row out"

    def test_options_of_a_measure_are_told(self, file):
        path = file(LOW.replace("rear_wall_distance, at_least: 300", "rear_wall_distance, at_least: 100"))
        done = ask("solve", path, "--minimise", "mode_null_offset", "--grid", "10 cm")
        assert "The least mode null offset (order 1, axis length), reference row" in " ".join(done.output.split())
        record = json.loads(ask("solve", path, "--minimise", "mode_null_offset", "--grid", "10 cm", "--json").output)
        assert record["extreme"]["options"] == {"order": 1, "axis": "length"}


def test_an_example_of_a_measure_takes_no_side(file):
    """A step is wished low, and an angle off axis too: neither is an example of at_least alone."""
    for name in ("riser_step", "off_axis_angle", "image_width"):
        lines = ask("measures", name).output.splitlines()
        assert f"  - {{measure: {name}, at_least: ..., at_most: ...}}" in lines
        assert f"  - {{measure: {name}, band: [..., ...], fade: ...}}" in lines


@pytest.mark.parametrize(
    ("name", "seats"), [("horizontal_angle", True), ("upward_angle", False), ("image_width", False)]
)
def test_a_measure_says_whether_each_seat_has_it(name, seats):
    """How far up one looks to a level edge is the same all along a row; how wide the image looks is not."""
    (line,) = [one for one in ask("measures", name).output.splitlines() if one.startswith("for:")]
    assert ("row: worst seat" in line) == seats


class TestStart:
    def test_all_that_is_wrong_is_told_at_once_in_the_units_given(self, tmp_path):
        """2.8 m and 40 m are 110.24 in and 1574.80 in, 2.1 m are 210 cm: by hand."""
        words = ("--length", "2000 ft", "--width", "3", "--height", "120 cm", "--rows", "99")
        done = ask("start", tmp_path / "none" / "new.yaml", *words)
        assert str(done.exception).splitlines() == [
            f"{tmp_path / 'none'} is not a folder",
            "--length: a room's length must be from 9 ft 2 1/4 in to 131 ft 2 13/16 in, not 2000 ft",
            "--width: '3' has no unit: write '3 ft', '3 in', '3 m', '3 cm' or '3 mm'",
            "--height: a room's height must be from 210.0 cm to 4000.0 cm, not 120.0 cm",
            "--rows: from 1 to 8, not 99",
        ]
        assert done.exception.exit_code == 2

    @pytest.mark.parametrize(
        ("length", "system"),
        [
            ("23 ft 4 in", "ft-in"),
            ("23' 4\"", "ft-in"),
            ("280 in", "in"),
            ("7.2 m", "m"),
            ("720 cm", "cm"),
            ("7200 mm", "mm"),
        ],
    )
    def test_lengths_are_shown_as_the_length_is_given(self, tmp_path, length, system):
        """What the help of --show says; --show itself has the last word."""
        others = ("--width", "14 ft", "--height", "2.6 m")
        ask("start", tmp_path / "new.yaml", "--length", length, *others)
        assert load(tmp_path / "new.yaml").show == system
        ask("start", tmp_path / "told.yaml", "--length", length, *others, "--show", "m")
        assert load(tmp_path / "told.yaml").show == "m"

    @pytest.mark.parametrize(
        ("width", "words", "metres"),
        [
            ("411.48 cm", "411.48 cm", 4.1148),  # though centimetres are shown to one place
            (" 13  ft 6 in", "13 ft 6 in", 4.1148),  # 411.48 cm too
            ("411.5 cm", "411.5 cm", 4.115),
            ("4.1 m", "410.0 cm", 4.1),  # the same length in the file's units
        ],
    )
    def test_a_measured_length_is_kept(self, tmp_path, width, words, metres):
        ask("start", tmp_path / "new.yaml", "--length", "720 cm", "--width", width, "--height", "260 cm")
        assert f"  width: {words}\n" in (tmp_path / "new.yaml").read_text(encoding="utf-8")
        assert load(tmp_path / "new.yaml").room.width == pytest.approx(metres, abs=1e-12)

    def test_the_ends_as_shown_are_taken(self, tmp_path):
        words = ("--length", "131 ft 2 13/16 in", "--width", "2 m", "--height", "6 ft 10 11/16 in")
        assert ask("start", tmp_path / "new.yaml", *words).exit_code == 0
        assert load(tmp_path / "new.yaml").room.width == pytest.approx(2.0, abs=0.001)
        again = ask("start", tmp_path / "new.yaml", *words)
        assert str(again.exception) == f"{tmp_path / 'new.yaml'} exists already; nothing was written"


@pytest.mark.parametrize("columns", [None, "60"])
def test_measures_can_be_searched_for(columns):
    """Every name stands in one piece, also where the table is narrow."""
    output = CliRunner().invoke(program, ["measures"], env={"COLUMNS": columns}).output
    firsts = {line.split(" ")[0] for line in output.splitlines()}
    assert set(catalogue()) <= firsts


def test_measures_are_told_without_names_of_the_program():
    """A frame is 20 mm deep: docs/measures/front.md."""
    for name, measure in catalogue().items():
        assert not re.search(r"\b[A-Z]{2,}_[A-Z_]+\b", f"{measure.about} {measure.formula} {measure.source}"), name
    assert "20 mm" in ask("measures", "door_clearance").output and math.isclose(FRAME_DEPTH, 0.02)


def test_a_record_of_what_was_pinned_in_python_is_not_of_the_file(tmp_path):
    """The command tells what was pinned beside the file; from Python nothing does, and so no file is told."""
    problem = load(FOLDER / "box-room.yaml")
    assert problem.said is not None
    assert with_fixed(problem, "screen.width", "2 m").said is None
    found = CliRunner().invoke(program, ["solve", str(FOLDER / "box-room.yaml"), "--fix", "rows=1", "--json"])
    record = json.loads(found.output)
    assert (record["file"], record["fixed"]) == (problem.said, {"rows": "1"})
