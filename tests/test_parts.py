"""The numbers and decisions of a problem by their paths in the file: all there, read, changed, checked."""

import pytest

from optimiser.errors import UsageError
from optimiser.problem.model import Choice, Fixed, Range
from optimiser.problem.parts import parts, with_value
from optimiser.problem.read import loads
from tests.test_problem_files import FULL

INCH = 0.0254


@pytest.fixture(scope="module")
def problem():
    return loads(FULL)


# What a person reading FULL would expect to find, in SI by hand.
EXPECTED = {
    "room.length": (23 * 12 + 4) * INCH,
    "room.doors.entry.hinge": 62 * INCH,
    "room.doors.door.leaf": 30 * INCH,
    "room.obstructions.duct box.z.from": 96 * INCH,
    "room.ceiling.2.height": 96 * INCH,
    "room.reverberation_time": 0.32,
    "front.baffle.margin": 2 * INCH,
    "front.screen.gap": 3 * INCH,
    "front.loudspeakers.spread": 0.85,
    "projector.throw_ratio.to": 2.1,
    "seating.reference_row": 2.0,
    "seating.chair.eye_height": 45 * INCH,
    "seating.aisle.width": 36 * INCH,
    "seating.platform.to": 30 * INCH,
}


def test_parts_are_found_under_the_paths_of_the_file(problem):
    found = {p.path: p for p in parts(problem)}
    for path, value in EXPECTED.items():
        assert found[path].value == pytest.approx(value, abs=1e-12), path
        assert not found[path].decided
    assert isinstance(found["front.baffle.depth"].value, Range)
    assert isinstance(found["front.screen.bezel"].value, Choice)
    assert found["seating.rows"].value == Choice((1.0, 3.0), ("1", "3"))
    assert found["seating.place.row1.y"].value == Fixed(12 * 12 * INCH)
    assert len(found) == len(parts(problem))


def test_every_part_can_be_put_back_and_gives_the_same_problem(problem):
    for one in parts(problem):
        assert with_value(problem, one.path, one.value) == problem, one.path


UNDER_THE_CEILING = ("room.ceiling.1.height", "room.ceiling.2.height") + tuple(
    f"room.obstructions.duct box.z.{end}" for end in ("from", "to")
)
"""What goes up with a higher room: the duct's top, at 107 in, is above the lower end of the ceiling, at 96 in."""


def test_every_number_can_be_changed_alone():
    inside = FULL.replace("y: 280 in", "y: 270 in").replace("height: 9 ft}", "height: 8 ft 6 in}")
    problem = loads(inside.replace("x: [0 in, 170 in]", "x: [1 in, 169 in]").replace("96 in, 108 in", "96 in, 107 in"))
    for one in parts(problem):
        if one.decided:
            continue
        # a hair off; whole numbers and what is at the end of its bounds stay
        value = one.value if one.kind == "count" else one.value * (1 - 1e-9)
        changed = {p.path: p.value for p in parts(with_value(problem, one.path, value))}
        before = {p.path: p.value for p in parts(problem)}
        assert changed.pop(one.path) == pytest.approx(value, abs=0)
        before.pop(one.path)
        if one.path == "room.width":  # the image may not stay wider than the room
            changed.pop("front.screen.width"), before.pop("front.screen.width")
        for path in UNDER_THE_CEILING if one.path == "room.height" else ():
            assert changed.pop(path) - before.pop(path) == pytest.approx(value - one.value, abs=1e-12)
        assert changed == before, one.path


def test_texts_numbers_and_decisions_are_accepted(problem):
    assert with_value(problem, "room.length", "24 ft").room.length == pytest.approx(24 * 12 * INCH)
    assert with_value(problem, "room.length", 7.5).room.length == 7.5
    assert with_value(problem, "screen.width", "118 in").screen.width == Fixed(pytest.approx(118 * INCH))
    assert with_value(problem, "screen.width", Range(2.0, 3.0)).screen.width == Range(2.0, 3.0)
    assert with_value(problem, "rows", "3").seating.rows == (3,)
    assert with_value(problem, "seating.rows", Range(3, 4)).seating.rows == (3, 4)
    assert with_value(problem, "row1.y", "10 ft").seating.place[0] == ("row1.y", Fixed(pytest.approx(120 * INCH)))
    assert with_value(problem, "front.screen.pixels", "4096").screen.pixels == 4096


def test_an_image_as_wide_as_the_room_follows_the_room():
    text = FULL.replace("width: {from: 80 in, to: 170 in}", "width: {from: 80 in, to: 14 ft 2 in}")
    wider = with_value(loads(text), "room.width", "16 ft")
    assert wider.screen.width.high == wider.room.width
    held = with_value(loads(text.replace("to: 14 ft 2 in}", "to: 14 ft}")), "room.width", "16 ft")
    assert held.screen.width.high == pytest.approx(14 * 12 * INCH)


@pytest.mark.parametrize(
    ("path", "value", "message"),
    [
        ("rom.length", "3 m", "unknown input 'rom.length': did you mean 'room.length'?"),
        ("room.length", "3", "room.length: '3' has no unit: write '3 ft', '3 in', '3 m', '3 cm' or '3 mm'"),
        ("room.length", "50 cm", "room.length: '50 cm' is too small: it must be at least 1 m (3 ft 3 3/8 in)"),
        (
            "room.doors.entry.hinge",
            "1 in",
            "room.doors.entry.hinge: the closed door reaches 2 ft 7 in past the front end of its wall: "
            "check hinge, leaf and towards",
        ),
        (
            "seating.chair.reclined",
            "1 in",
            "seating.chair.reclined: the chair is less deep reclined than upright: check depth and reclined",
        ),
        ("room.length", Fixed(3.0), "room.length: one value is due here"),
        ("seating.rows", "2", "seating.rows: the file allows at most 2 rows: raise seating.rows, or leave it out"),
    ],
)
def test_what_cannot_be_is_refused_in_words(problem, path, value, message):
    with pytest.raises(UsageError) as refused:
        with_value(problem, path, value)
    assert str(refused.value) == message
