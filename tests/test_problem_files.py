"""Problem files: what a good one means, what is said about a bad one, schema and starter."""

import dataclasses
import math
import os
import re
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.design import spaces
from optimiser.errors import ProblemFileError, UsageError
from optimiser.problem import yaml_reader
from optimiser.problem.decisions import kind_of, names, with_all_fixed, with_fixed
from optimiser.problem.model import Choice, Fixed, Range
from optimiser.problem.read import load, loads
from optimiser.problem.schema import json_schema
from optimiser.problem.starter import starter, title_fault
from optimiser.solve import solve

BAD_FILES = sorted((Path(__file__).parent / "bad_files").glob("*.yaml"))

FULL = """\
format: 1
title: Boathouse loft
show: ft-in
room:
  length: 23 ft 4 in
  width: 14 ft 2 in
  height: 9 ft
  doors:
    - {name: entry, wall: left, hinge: 5 ft 2 in, leaf: 32 in, towards: front, opens: in, angle: 80 deg}
    - {wall: rear, hinge: 3 ft, leaf: 30 in, towards: right}
  obstructions:
    - {name: duct box, x: [0 in, 170 in], y: [0 in, 20 in], z: [96 in, 108 in]}
  ceiling: [{y: 0 in, height: 9 ft}, {y: 280 in, height: 8 ft}]
  reverberation_time: 0.32 s
  temperature: 68 degF
front:
  baffle: {depth: {from: 12 in, to: 20 in}, width: {from: 9 ft, to: 14 ft}, margin: 2 in, solid: no, centred: false}
  screen: {type: projected, aspect: {choose: ["16:9", 2.40:1]}, width: {from: 80 in, to: 170 in},
           bezel: {choose: [4 in, 2 in]}, gap: 3 in, bottom: {from: 24 in, to: 44 in}, pixels: 3840, gain: 1.1,
           centre: {from: 6 ft, to: 8 ft}}
  loudspeakers: {spread: 85 %, directivity: 6}
projector: {lumens: 2000, throw_ratio: [1.3, 2.1], y: {from: 15 ft, to: 22 ft}, z: 8 ft}
seating:
  rows: {choose: [3, 1]}
  reference_row: 2
  seats: {choose: [3, 4]}
  chair: {width: 31 in, depth: 39 in, reclined: 67 in, eye_height: 45 in, eye_to_back: 9 in, head_above_eye: 5 in,
          arms: shared, arm: 5 in, travel: 2 in}
  aisle: {sides: one, width: 36 in}
  centre: {from: 80 in, to: 84 in}
  stagger: {choose: [0, 0.5]}
  bar: {counter: 15 in, height: 40 in, place: 22 in, eye_to_counter: 7 in, eye_to_back: 11 in, eye_height: 58 in,
        head_above_eye: 4 in, seats: {choose: [4, 5]}}
  wheelchair: {row: 2, places: 2, width: 33 in, depth: 60 in, side: left}
  guard: {height: 42 in, over: 24 in}
  platform: {step: 1 in, to: 30 in, first: {from: 0 in, to: 6 in}, risers: 2}
  place: {row1.y: 12 ft, row2.platform: {from: 0 in, to: 14 in}, row3.seats: 2}
limits:
  - {measure: listening_distance, at_least: 8 ft}
  - {measure: riser_step, row: 2, at_most: 7.75 in, firm: true}
  - {measure: mode_level, axis: width, at_most: -3 dB}
goals:
  - {measure: horizontal_angle, row: reference, band: [50 deg, 55 deg], fade: 8 deg, weight: 5, source: a book}
  - {measure: mode_null_offset, order: 2, row: worst, at_least: 16 in, fade: 16 in}
  - {measure: image_width, at_most: 150 in, fade: 60 in, weight: 2}
  - {measure: seat_count, at_least: 6, fade: 1.5}
designs:
  as drawn: {screen.width: 122 in, row1.y: 12 ft 8 in, rows: 1, screen.aspect: "16:9"}
"""

SMALL = """\
format: 1
room: {length: 6 m, width: 4 m, height: 2.6 m}
front: {screen: {bottom: 0.7 m}}
seating: {rows: 1, seats: 3}
goals: [{measure: horizontal_angle, band: [45 deg, 55 deg], fade: 8 deg}]
"""


def measure(name, quantity, *, per_row=True, first_row=1, **options):
    return SimpleNamespace(
        name=name,
        quantity=quantity,
        per_row=per_row,
        first_row=first_row,
        options=options,
        about="A measure.",
    )


CATALOGUE = {
    item.name: item
    for item in (
        measure("horizontal_angle", "angle"),
        measure("sightline_clearance", "length", first_row=2),
        measure("image_width", "length", per_row=False),
        measure("seat_count", "count", per_row=False),
        measure("listening_distance", "length"),
        measure("riser_step", "length"),
        measure("mode_null_offset", "length", order=(1, 2, 3, 4), axis=("length", "width")),
        measure("mode_level", "level", order=(1, 2, 3, 4), axis=("length", "width")),
    )
}
INCH = 0.0254


def inches_of(data):
    """The lengths among the fields of frozen data, in inches."""
    values = (getattr(data, f.name) for f in dataclasses.fields(data))
    return tuple(value / INCH for value in values if isinstance(value, float))


def read(text):
    return loads(text, "test.yaml", CATALOGUE)


def faults(text):
    with pytest.raises(ProblemFileError) as caught:
        read(text)
    return str(caught.value).splitlines()


# --- good files ---------------------------------------------------------------------------------


def test_every_key_arrives_in_si():
    p = read(FULL)
    assert (p.title, p.show, p.file) == ("Boathouse loft", "ft-in", "test.yaml")
    assert p.room.length == pytest.approx(280 * INCH)
    assert p.room.width == pytest.approx(170 * INCH)
    assert p.room.height == pytest.approx(108 * INCH)
    entry, rear = p.room.doors
    assert (entry.name, entry.wall, entry.towards, entry.opens) == ("entry", "left", "front", "in")
    assert (entry.hinge, entry.leaf) == pytest.approx((62 * INCH, 32 * INCH))
    assert entry.angle == pytest.approx(math.radians(80))
    assert (rear.name, rear.opens, rear.angle) == ("door", "in", pytest.approx(math.pi / 2))
    (duct,) = p.room.obstructions
    assert duct.z == pytest.approx((96 * INCH, 108 * INCH))
    assert p.room.ceiling == (
        (0.0, pytest.approx(108 * INCH)),
        (pytest.approx(280 * INCH), pytest.approx(96 * INCH)),
    )
    assert p.room.reverberation_time == 0.32
    assert p.room.speed_of_sound == pytest.approx(343.2)  # ISO 9613-1 at 20 degC, which is 68 degF
    assert p.baffle.depth == Range(pytest.approx(12 * INCH), pytest.approx(20 * INCH))
    assert p.baffle.width == Range(pytest.approx(108 * INCH), pytest.approx(168 * INCH))
    assert (p.baffle.margin, p.baffle.solid, p.baffle.centred) == (pytest.approx(2 * INCH), False, False)
    assert p.screen.aspect == Choice((16 / 9, 2.4), ("16:9", "2.40:1"))
    assert p.screen.bezel == Choice((pytest.approx(4 * INCH), pytest.approx(2 * INCH)), ("4 in", "2 in"))
    assert (p.screen.pixels, p.screen.gain, p.screen.diagonal) == (3840, 1.1, None)
    assert p.screen.centre == Range(pytest.approx(72 * INCH), pytest.approx(96 * INCH))
    assert (p.loudspeakers.spread, p.loudspeakers.directivity) == (0.85, 6)
    assert p.projector.throw_ratio == (1.3, 2.1)
    assert p.projector.z == Fixed(pytest.approx(96 * INCH))
    s = p.seating
    assert (s.rows, s.reference_row, s.seats) == ((1, 3), 2, Choice((3.0, 4.0), ("3", "4")))
    assert inches_of(s.chair) == pytest.approx((31, 39, 67, 45, 9, 5, 5, 2))
    assert s.chair.arms == "shared"
    assert s.centre == Range(pytest.approx(80 * INCH), pytest.approx(84 * INCH))
    assert s.stagger == Choice((0.0, 0.5), ("0", "0.5"))
    assert inches_of(s.bar) == pytest.approx((15, 40, 22, 7, 11, 58, 4))
    assert s.bar.seats == Choice((4.0, 5.0), ("4", "5"))
    assert (s.wheelchair.row, s.wheelchair.places, s.wheelchair.side) == (2, 2, "left")
    assert (s.wheelchair.width, s.wheelchair.depth) == pytest.approx((33 * INCH, 60 * INCH))
    assert inches_of(s.guard) == pytest.approx((42, 24))
    assert (s.aisle.sides, s.aisle.width) == ("one", pytest.approx(36 * INCH))
    assert (s.platforms.step, s.platforms.to) == pytest.approx((INCH, 30 * INCH))
    assert s.platforms.risers == 2
    assert s.platforms.first == Range(0.0, pytest.approx(6 * INCH))
    assert dict(s.place) == {
        "row1.y": Fixed(pytest.approx(144 * INCH)),
        "row2.platform": Range(0.0, pytest.approx(14 * INCH)),
        "row3.seats": Fixed(2.0),
    }
    listening, riser, mode = p.limits
    assert (listening.row, listening.at_least, listening.at_most) == ("all", pytest.approx(96 * INCH), None)
    assert (riser.row, riser.at_most, riser.firm) == ("2", pytest.approx(7.75 * INCH), True)
    assert (mode.at_most, mode.options) == (-3.0, (("order", 1), ("axis", "width")))
    angle, null, image, seats = p.goals
    assert (angle.low, angle.high, angle.fade) == pytest.approx(tuple(math.radians(d) for d in (50, 55, 8)))
    assert (angle.row, angle.weight, angle.source) == ("reference", 5.0, "a book")
    assert (null.row, null.options, null.weight) == ("worst", (("order", 2), ("axis", "length")), 1.0)
    assert (image.low, image.high) == (None, pytest.approx(150 * INCH))
    assert (seats.low, seats.fade) == (6.0, 1.5)
    ((name, settings_),) = p.designs
    assert name == "as drawn"
    assert dict(settings_) == {
        "screen.width": pytest.approx(122 * INCH),
        "row1.y": pytest.approx(152 * INCH),
        "rows": 1.0,
        "screen.aspect": 16 / 9,
    }


def test_what_may_be_left_out():
    p = read(SMALL)
    assert (p.title, p.show, p.projector, p.limits, p.designs) == ("Untitled", "m", None, (), ())
    assert (p.room.doors, p.room.obstructions, p.room.ceiling) == ((), (), ())
    assert p.room.reverberation_time is None
    assert p.room.speed_of_sound == pytest.approx(343.2)
    assert p.baffle.depth == Fixed(0.0)
    assert (p.baffle.width, p.baffle.margin, p.baffle.solid, p.baffle.centred) == (None, 0.0, True, True)
    assert (p.screen.type, p.screen.aspect, p.screen.width) == ("projected", Fixed(16 / 9), Range(0.5, 4.0))
    assert (p.screen.bezel, p.screen.gap, p.screen.pixels, p.screen.gain) == (Fixed(0.0), 0.0, None, 1.0)
    assert (p.loudspeakers.spread, p.loudspeakers.directivity) == (0.9, 5.0)
    assert p.seating.rows == (1,)
    assert (p.seating.reference_row, p.seating.aisle.sides, p.seating.place) == (1, "none", ())
    assert inches_of(p.seating.chair) == pytest.approx((30, 38, 66, 44, 8, 4.5, 0, 0))
    assert p.seating.chair.arms == "own"
    assert (p.seating.centre, p.seating.stagger, p.codes) == (None, Fixed(0.0), "none")
    assert (p.seating.bar, p.seating.wheelchair, p.seating.guard) == (None, None, None)
    assert p.seating.platforms.to == 0.0
    assert p.seating.platforms.first == Fixed(0.0)
    assert (p.seating.platforms.step, p.seating.platforms.risers) == (0.01, 3)


def test_platform_steps_follow_the_units_shown():
    assert read(SMALL + "show: in\n").seating.platforms.step == pytest.approx(INCH / 2)


def test_a_panel_from_a_list():
    p = read(SMALL.replace("bottom: 0.7 m", "type: panel, diagonal: {choose: [65 in, 77 in]}, bottom: 0.7 m"))
    assert p.screen.diagonal == Choice((pytest.approx(65 * INCH), pytest.approx(77 * INCH)), ("65 in", "77 in"))
    assert p.screen.width is None


def test_values_know_their_places():
    p = read(FULL)
    assert (p.baffle.depth.where.line, p.baffle.depth.where.column) == (17, 19)
    assert p.baffle.depth.where.path == "front.baffle.depth"
    assert (p.limits[1].where.line, p.goals[0].where.line, p.room.doors[1].where.line) == (40, 43, 10)
    assert dict(p.seating.place)["row1.y"].where.path == "seating.place.row1.y"


def test_places_take_no_part_in_equality():
    moved = read("# a line before\n" + FULL)
    assert dataclasses.replace(moved) == read(FULL)
    assert moved.goals[0].where != read(FULL).goals[0].where


def test_a_file_is_read_like_its_text(tmp_path):
    path = tmp_path / "loft.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + FULL.replace("\n", "\r\n").encode())
    assert dataclasses.replace(load(path, CATALOGUE), file="test.yaml") == read(FULL)


def test_problems_are_frozen():
    with pytest.raises(dataclasses.FrozenInstanceError):
        read(SMALL).title = "another"


# --- bad files ----------------------------------------------------------------------------------


@pytest.mark.parametrize("path", BAD_FILES, ids=lambda path: path.stem)
def test_bad_files_are_told_exactly_what_is_wrong(path):
    with pytest.raises(ProblemFileError) as caught:
        load(path, CATALOGUE)
    said = str(caught.value).replace(str(path), path.name) + "\n"
    assert said == path.with_suffix(".expected").read_text(encoding="utf-8")
    assert caught.value.exit_code == 2


@pytest.mark.parametrize(
    "old, new, told",
    [
        (
            "width: {from: 2 m, to: 3.5 m}",
            "width: {from: 5 m, to: 6 m}",
            "bad.yaml:16:12: front.screen.width: the range begins at 5.000 m, and the room ends at 4.000 m: write one that begins "
            "within the room",
        ),
        (
            "bottom: {from: 0.5 m, to: 1 m}",
            "bottom: {from: 2.7 m, to: 3 m}",
            "bad.yaml:17:13: front.screen.bottom: the range begins at 2.700 m, and the room ends at 2.600 m: write one that begins "
            "within the room",
        ),
        (
            "width: {from: 2 m, to: 3.5 m}",
            "width: {from: 2.0001 m, to: 2.0002 m}",
            "bad.yaml:16:12: front.screen.width: no step of the grid lies in this range: widen it, or ask for a finer grid (--grid)",
        ),
        (
            "platform: {to: 0.3 m}",
            "platform: {step: 0.1 m, to: 0.3 m, first: {from: 0.12 m, to: 0.18 m}}",
            "bad.yaml:21:45: seating.platform.first: no whole multiple of seating.platform.step (0.100 m) lies in this range: "
            "widen it, or write another step",
        ),
    ],
)
def test_a_range_that_leaves_nothing_to_choose_is_told_where_it_is(old, new, told):
    text = (BAD_FILES[0].parent / "one_ended_extent.yaml").read_text(encoding="utf-8").replace("[0 m]", "[0 m, 4 m]")
    assert text.count(old) == 1
    with pytest.raises(ProblemFileError) as caught:
        list(spaces(loads(text.replace(old, new), "bad.yaml")))
    assert str(caught.value) == told


@pytest.mark.parametrize(
    "title, fault",
    [
        ("A room", ""),
        ("", "write a word or two"),
        (" \n ", "write a word or two"),
        ("bell \a", "it holds a control character"),
        ("x" * 501, "it is longer than 500 characters"),
        ("Žižka 🎬 سينما", ""),
    ],
)
def test_a_starter_file_has_no_title_that_no_file_can_have(title, fault):
    assert title_fault(title) == fault
    room = {"length": 6, "width": 4, "height": 2.6, "show": "m", "title": title}
    if fault:
        with pytest.raises(ProblemFileError):
            loads(starter(**room))
    else:
        assert loads(starter(**room)).title == title


def test_the_corpus_is_whole():
    assert len(BAD_FILES) >= 35
    assert {path.stem for path in BAD_FILES} == {path.stem for path in BAD_FILES[0].parent.glob("*.expected")}


def test_files_too_large(tmp_path):
    path = tmp_path / "huge.yaml"
    path.write_bytes(b"#" * 1_000_001)
    with pytest.raises(ProblemFileError, match="larger than 1 MB"):
        load(path, CATALOGUE)
    assert faults("#" * 1_000_001) == [
        "test.yaml: the file is larger than 1 MB: a problem file has a few kB; is this the right file?"
    ]
    many = "format: 1\nroom:\n" + "".join(f"  k{n}: 1\n" for n in range(20_000))
    assert faults(many) == [
        "test.yaml:20000:11: room.k19997: the file has more than 20,000 entries: a problem file has a few hundred"
    ]


def test_files_that_are_not_there(tmp_path):
    with pytest.raises(ProblemFileError, match=r"nothing\.yaml: there is no such file"):
        load(tmp_path / "nothing.yaml", CATALOGUE)
    with pytest.raises(ProblemFileError, match="this is a directory"):
        load(tmp_path, CATALOGUE)


def test_faults_come_in_order_of_place():
    lines = faults(SMALL.replace("length: 6 m", "length: 6").replace("0.7 m", "0.7").replace("seats: 3", "seats: 0"))
    assert [line.split(":")[1] for line in lines] == ["2", "3", "4"]


def test_cross_checks_see_past_other_faults():
    """A door against its wall is judged though the room's height is missing and its title is bad."""
    text = FULL.replace("  height: 9 ft\n", "").replace("leaf: 30 in", "leaf: 15 ft").replace("Boathouse loft", "[]")
    said = "\n".join(faults(text))
    assert "'height' is missing" in said
    assert "title: a text is due here" in said
    assert "room.doors.2.leaf: the door is wider than its wall (15 ft in a wall of 14 ft 2 in)" in said


@pytest.mark.parametrize("loader", ["SafeLoader", "CSafeLoader"])
def test_both_parsers_of_pyyaml_agree(loader, monkeypatch):
    if not hasattr(yaml, loader):
        pytest.skip(f"PyYAML is built without {loader}")
    monkeypatch.setattr(yaml_reader, "_Loader", getattr(yaml, loader))
    assert read(FULL).goals[0].where.column == 5
    for name in (
        "duplicate_key",
        "alias_bomb",
        "tag",
        "merge_key",
        "deep_nesting",
        "tab",
        "tab_for_indent",
        "unclosed_quote",
    ):
        path = BAD_FILES[0].parent / f"{name}.yaml"
        with pytest.raises(ProblemFileError) as caught:
            load(path, CATALOGUE)
        said = str(caught.value).replace(str(path), path.name) + "\n"
        assert said == path.with_suffix(".expected").read_text(encoding="utf-8")


LINES = FULL.splitlines()


@settings(max_examples=300)
@given(
    st.integers(0, len(LINES) - 1),
    st.integers(0, 100),
    st.integers(0, 12),
    st.text(alphabet="0123456789 .,:-'\"{}[]&*!#%ftinmdegcode\n\t<", max_size=8),
)
def test_a_damaged_file_is_read_or_refused(line, start, cut, inserted):
    damaged = list(LINES)
    damaged[line] = damaged[line][:start] + inserted + damaged[line][start + cut :]
    try:
        read("\n".join(damaged))
    except ProblemFileError as error:
        assert all(fault.message for fault in error.faults)


PLAIN = st.recursive(
    st.none() | st.text(max_size=6) | st.sampled_from(["1", "3 m", "all", "16:9"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(min_size=1, max_size=5), inner, max_size=3),
    max_leaves=6,
)
KEYS = [
    ("room",), ("room", "length"), ("room", "doors"), ("room", "obstructions"), ("room", "ceiling"),
    ("front",), ("front", "baffle"), ("front", "screen"), ("front", "screen", "aspect"), ("projector",),
    ("seating",), ("seating", "rows"), ("seating", "place"), ("seating", "chair"), ("limits",), ("goals",),
    ("designs",), ("format",), ("title",), ("show",),
]  # fmt: skip


@settings(max_examples=300)
@given(st.sampled_from(KEYS), PLAIN)
def test_anything_in_the_place_of_anything(path, value):
    data = yaml.safe_load(FULL)
    around = data
    for step in path[:-1]:
        around = around[step]
    around[path[-1]] = value
    try:
        read(yaml.safe_dump(data, allow_unicode=True, width=1000))
    except ProblemFileError as error:
        assert error.faults


# --- decisions ----------------------------------------------------------------------------------


def test_kinds_of_decisions():
    assert kind_of("screen.width") == "length"
    assert kind_of("screen.aspect") == "aspect"
    assert kind_of("row3.seats") == "count"
    assert {kind_of(name) for name in names()} == {"length", "aspect", "count", "word", "ratio"}
    with pytest.raises(UsageError, match=r"unknown decision 'screen\.widht': did you mean 'screen\.width'\?"):
        kind_of("screen.widht")
    with pytest.raises(UsageError, match=r"did you mean 'row2\.platform'\?"):
        kind_of("row2.platfrom")


@pytest.mark.parametrize(
    ("name", "remedy"),
    [
        ("front.screen.width", "did you mean 'screen.width'?"),
        ("seating.rows", "did you mean 'rows'?"),
        ("seating.chair", "did you mean 'chair'?"),
        ("seating.aisle.side", "did you mean 'aisle.side'?"),
        ("seating.place.row2.y", "did you mean 'row2.y'?"),
        ("seating.seats", "did you mean 'row1.seats'?"),
        ("projector.behind", "write 'projector.y', the lens from the front wall"),
        ("image_width", "that is a measure; its decision is 'screen.width'"),
        ("platform_height", "that is a measure; its decision is 'row1.platform'"),
    ],
)
def test_a_path_of_the_file_or_a_measure_where_a_decision_is_due(name, remedy):
    with pytest.raises(UsageError) as told:
        kind_of(name)
    assert str(told.value) == f"unknown decision '{name}': {remedy}"


FIXED = [
    ("screen.width", "118 in", lambda p: p.screen.width, 118 * INCH),
    ("screen.width", 3.0, lambda p: p.screen.width, 3.0),
    ("screen.width", Fraction(3), lambda p: p.screen.width, 3.0),
    ("screen.aspect", "2.40:1", lambda p: p.screen.aspect, 2.4),
    ("screen.bezel", "2 in", lambda p: p.screen.bezel, 2 * INCH),
    ("screen.bottom", "2 ft", lambda p: p.screen.bottom, 24 * INCH),
    ("baffle.depth", "0 in", lambda p: p.baffle.depth, 0.0),
    ("baffle.width", "12 ft", lambda p: p.baffle.width, 144 * INCH),
    ("projector.y", "18 ft", lambda p: p.projector.y, 216 * INCH),
    ("row1.y", "13 ft", lambda p: dict(p.seating.place)["row1.y"], 156 * INCH),
    ("row2.risers", "2", lambda p: dict(p.seating.place)["row2.risers"], 2.0),
]


@pytest.mark.parametrize(("name", "value", "get", "expected"), FIXED)
def test_a_decision_can_be_pinned(name, value, get, expected):
    problem = read(FULL)
    pinned = with_fixed(problem, name, value)
    assert get(pinned) == Fixed(pytest.approx(expected))
    assert problem == read(FULL)


def test_pinning_rows_and_centre():
    assert with_fixed(read(FULL), "rows", "2").seating.rows == (2,)
    pinned = with_fixed(read(SMALL), "screen.centre", "1.9 m")
    assert (pinned.screen.centre, pinned.baffle.centred) == (Fixed(1.9), False)


@pytest.mark.parametrize(
    ("pins", "rows"),
    [
        ({"row3.y": "20 ft"}, (3,)),
        ({"row2.risers": "2"}, (3,)),
        ({"row1.y": "13 ft"}, (1, 3)),
        ({"row1.y": "13 ft", "rows": "1"}, (1,)),
    ],
)
def test_a_pin_on_a_row_asks_for_that_row(pins, rows):
    """The file allows one row or three. A design of one has no third row that stands 20 ft from the wall, and what is
    proven of all that have it must not be said of that design."""
    assert tuple(sorted(with_all_fixed(read(FULL), pins).seating.rows)) == rows


def test_a_pin_on_a_row_that_another_pin_takes_away():
    with pytest.raises(UsageError, match="row3.y: the problem has at most 1 row"):
        with_all_fixed(read(FULL), {"row3.y": "20 ft", "rows": "1"})


@pytest.mark.parametrize(
    ("text", "name", "value", "message"),
    [
        (SMALL, "screen.width", "3", "screen.width: '3' has no unit: write '3 ft'"),
        (SMALL, "screen.width", "-3 m", "screen.width: '-3 m' has a sign"),
        (SMALL, "screen.width", 0.0, "screen.width: 0.000 m is too small: it must be more than zero"),
        (SMALL, "screen.width", float("nan"), "screen.width: nan is not a number"),
        (SMALL, "screen.width", float("inf"), "screen.width: inf is not a number"),
        (SMALL, "rows", 1.5, "rows: 1.5 is not a whole number"),
        (SMALL, "rows", "99", "rows: '99' is too large: it must be at most 8"),
        (
            FULL,
            "row2.risers",
            "0",
            "row2.risers: '0' is too small: it must be at least 1",
        ),  # a level row has them unused
        (SMALL, "row2.y", "3 m", "row2.y: the problem has at most 1 row"),
        (SMALL, "projector.y", "3 m", "projector.y: the problem file has no projector"),
        (SMALL, "screen.diagonal", "77 in", "fix screen.width"),
        (SMALL, "length", "3 m", "unknown decision 'length'"),
    ],
)
def test_what_cannot_be_pinned(text, name, value, message):
    with pytest.raises(UsageError) as caught:
        with_fixed(read(text), name, value)
    assert message in str(caught.value)
    assert caught.value.exit_code == 2


# --- schema -------------------------------------------------------------------------------------


def core_values(text):
    """A file as editors see it: YAML 1.2's core schema, in which 16:9 is text and no is no."""

    class Loader(yaml.SafeLoader):
        pass

    Loader.yaml_implicit_resolvers = {}

    Loader.add_implicit_resolver("tag:yaml.org,2002:int", re.compile(r"^[-+]?[0-9]+$"), list("-+0123456789"))
    Loader.add_implicit_resolver("tag:yaml.org,2002:float", re.compile(r"^[-+]?[0-9]*\.[0-9]+$"), list("-+.0123456789"))
    Loader.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile(r"^(true|false)$"), list("tf"))
    return yaml.load(text, Loader=Loader)


@pytest.fixture(scope="module")
def validator():
    jsonschema = pytest.importorskip("jsonschema")
    schema = json_schema(CATALOGUE)
    jsonschema.Draft7Validator.check_schema(schema)
    return jsonschema.Draft7Validator(schema)


STARTERS = [
    {"length": 7.1, "width": 4.3, "height": 2.74, "show": "ft-in"},
    {"length": 2.8, "width": 2.0, "height": 2.1, "show": "mm"},
    {"length": 12.0, "width": 6.0, "height": 2.6, "show": "in", "rows": 4},
    {"length": 40.0, "width": 40.0, "height": 40.0, "show": "cm"},
    {
        "length": Fraction("5.7277"),
        "width": Fraction("3.81"),
        "height": Fraction("2.4384"),
        "show": "m",
        "rows": 1,
    },
]


def test_the_schema_takes_good_files(validator):
    for text in (FULL, SMALL):
        assert [error.message for error in validator.iter_errors(core_values(text))] == []
        assert [error.message for error in validator.iter_errors(yaml_reader.read_text(text, "x").value)] == []


def test_the_schema_is_the_same_text_whatever_the_hash_seed():
    command = [sys.executable, "-m", "optimiser", "schema"]
    texts = {
        subprocess.run(command, check=True, capture_output=True, env={**os.environ, "PYTHONHASHSEED": seed}).stdout
        for seed in ("1", "2", "3")
    }
    assert len(texts) == 1


def test_the_schema_says_what_every_key_is_about():
    schema = json_schema(CATALOGUE)
    definitions = {"file": schema, **schema["definitions"]}
    mute = {
        f"{name}.{key}"
        for name, definition in definitions.items()
        for key, item in definition.get("properties", {}).items()
        if "description" not in item
    }
    assert mute == set()
    # of a thing in a list, what is said of its part
    assert definitions["ScreenThing"]["properties"]["gain"]["description"].startswith("of a projected image's surface")


STRUCTURAL = ["unknown_key", "later_section", "missing_room", "missing_part", "old_format", "list_for_section", "value_for_list", "one_ended_extent", "no_goals", "unknown_word", "neither_true_nor_false", "bare_number", "half_a_range", "strange_range", "choice_of_nothing", "list_for_choice", "range_of_aspects", "unknown_measure", "bad_option", "mistyped_option", "unknown_row", "goal_without_band", "limit_without_bound", "missing_fade", "wrong_kind", "design_of_nothing", "design_without_unit", "place_of_nothing", "list_for_value", "decimal_comma"]  # fmt: skip


@pytest.mark.parametrize("name", STRUCTURAL)
def test_the_schema_finds_faults_of_structure(validator, name):
    text = (BAD_FILES[0].parent / f"{name}.yaml").read_text(encoding="utf-8")
    assert list(validator.iter_errors(core_values(text)))


LENGTHS = [
    "18 ft 9 in",
    "18' 9 1/2\"",
    "18'-6½\"",
    "18’ 6”",
    "6-1/2 in",
    "¾ in",
    ".5 m",
    "2400mm",
    "2 m 40 cm",
    "8 ft. 6 in.",
    "2.4 m.",
]


def test_the_schema_takes_lengths_however_written(validator):
    for text in LENGTHS:
        data = core_values(SMALL)
        data["front"]["screen"]["gap"] = text
        assert [error.message for error in validator.iter_errors(data)] == []


ALSO_READ = [
    ("gap", "8 IN"),
    ("gap", "8''"),
    ("gap", "0' 8''"),
    ("gap", "20 CM"),
    ("gap", "0.2 M"),
    ("aspect", "16/9"),
    ("pixels", 1920),
]


@pytest.mark.parametrize("key, value", ALSO_READ)
def test_the_schema_takes_what_the_reader_takes(validator, key, value):
    read(SMALL.replace("bottom: 0.7 m}", f'bottom: 0.7 m, {key}: "{value}"}}'))
    data = core_values(SMALL)
    data["front"]["screen"][key] = value
    data["title"] = 1950
    assert [error.message for error in validator.iter_errors(data)] == []


@pytest.mark.parametrize(
    "path, value",
    [
        (("seating", "rows"), 0),
        (("seating", "rows"), 9),
        (("seating", "seats"), 0),
        (("goals", 0, "weight"), 0),
        (("goals", 0, "weight"), -3),
        (("front", "screen", "pixels"), 0),
    ],
)
def test_the_schema_knows_the_bounds_of_bare_numbers(validator, path, value):
    data = core_values(SMALL)
    assert not list(validator.iter_errors(data))
    *around, key = path
    there = data
    for step in around:
        there = there[step]
    there[key] = value
    assert list(validator.iter_errors(data))


def test_the_schema_explains_every_key():
    schema = json_schema(CATALOGUE)
    assert schema["$schema"] == "http://json-schema.org/draft-07/schema#"
    for name, definition in schema["definitions"].items():
        assert definition["description"], name
        for key, value in definition["properties"].items():
            assert value.get("description"), f"{name}.{key}"
    measures = schema["definitions"]["Goal"]["properties"]["measure"]
    assert measures["enum"] == list(CATALOGUE)
    assert len(measures["enumDescriptions"]) == len(CATALOGUE)


def test_the_schema_knows_the_real_measures():
    from optimiser.measures import catalogue

    assert json_schema()["definitions"]["Limit"]["properties"]["measure"]["enum"] == list(catalogue())


# --- starter ------------------------------------------------------------------------------------


@pytest.mark.parametrize("room", STARTERS, ids=lambda room: str(room["show"]))
def test_a_starter_file_loads_with_its_room(room, validator):
    text = starter(**room)
    problem = loads(text)
    step = 0.0254 / 16 if room["show"] in ("ft-in", "in") else 0.001
    for name in ("length", "width", "height"):
        assert getattr(problem.room, name) == pytest.approx(float(room[name]), abs=step)
    assert problem.show == room["show"]
    assert problem.goals
    assert problem.limits
    assert max(problem.seating.rows) == room.get("rows", max(problem.seating.rows))
    every_section_is_explained = [line for line in text.splitlines() if line.startswith("#")]
    assert len(every_section_is_explained) >= 10


@given(
    st.floats(2.8, 40),
    st.floats(2, 40),
    st.floats(2.1, 40),
    st.sampled_from(["ft-in", "in", "m", "cm", "mm"]),
    st.none() | st.integers(1, 8),
)
@settings(max_examples=40, deadline=None)
def test_any_room_has_a_starter_file(length, width, height, show, rows):
    made = loads(starter(length=length, width=width, height=height, show=show, rows=rows, title='A "title": \\ # x'))
    assert (made.room.length, made.room.width, made.room.height) == pytest.approx((length, width, height), rel=1e-8)


def test_the_least_room_that_has_a_starter_file_has_an_answer():
    """Ears 2.1 m from a baffle 0.3 m deep, 0.2 m of chair behind them: 2.6 m, and 0.2 m to spare."""
    solution = solve(loads(starter(length=2.8, width=2.0, height=2.1, show="mm")), grid=0.02)
    assert solution.status == "optimal"
    assert 2.4 - 1e-6 <= solution.design["row1.y"] <= 2.6 + 1e-6


def test_the_examples_in_a_starter_file_work():
    """Its commented lines, once uncommented, are part of the format too."""
    text = starter(length=6, width=4, height=2.6, show="m")
    text = text.replace("doors: []\n  # - ", "doors:\n  - ").replace("obstructions: []\n  # - ", "obstructions:\n  - ")
    problem = loads(text)
    assert len(problem.room.doors) == len(problem.room.obstructions) == 1


@pytest.mark.parametrize(
    "change",
    [
        {"length": 1},
        {"width": 0},
        {"height": 100},
        {"height": math.nan},
        {"show": "yd"},
        {"rows": 0},
        {"rows": 9},
    ],
)
def test_what_has_no_starter_file(change):
    with pytest.raises(UsageError):
        starter(**{"length": 6, "width": 4, "height": 2.6, "show": "m"} | change)


def test_where_no_measure_is_near_the_command_that_lists_them_is_named():
    from optimiser.measures import catalogue as every
    from optimiser.problem.decisions import nearest_measure

    assert nearest_measure("bass_evenness", every()).endswith("'optimiser measures' lists them all")
    assert nearest_measure("horizontal_angel", every()) == "did you mean 'horizontal_angle'?"
