"""What is said where a design could hurt someone: steps at doors, and what hangs low."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from optimiser.cautions import cautions, of_designs, thresholds
from optimiser.design import spaces
from optimiser.hanging import below_the_projector
from optimiser.measures.people import door_to_step
from optimiser.problem.model import Limit
from optimiser.problem.read import loads
from tests.sheet.conftest import text


def drawn(source: str):
    problem = loads(source)
    (space,) = spaces(problem)
    return problem, space, space.complete({name: domain.value for name, domain in space.domains.items()})


@pytest.mark.parametrize(
    "entry, store, expected",
    [
        # the platform, 300 mm high, runs from 3600 + 200 mm to the rear wall
        ("hinge: 1.6 m", "opens: out", {"store": 0.3}),
        ("hinge: 1.6 m", "opens: out, level: 300 mm", {}),
        ("hinge: 1.6 m", "opens: out, level: 500 mm", {"store": 0.3}),
        ("hinge: 5.0 m", "opens: out", {"entry": 0.3, "store": 0.3}),  # from 4200 to 5000 mm
        ("hinge: 5.0 m, level: 300 mm", "opens: out", {"store": 0.3}),
        ("hinge: 4.0 m", "opens: out", {"entry": 0.3, "store": 0.3}),  # from 3200 mm: half on it
        ("hinge: 4.0 m, level: 300 mm", "opens: out", {"entry": 0.0, "store": 0.3}),
    ],
)
def test_a_door_on_another_level_is_told(entry, store, expected):
    source = (
        text(rows=2)
        .replace("hinge: 1.6 m", entry)
        .replace("opens: out", store)
        .replace("opens: in, angle: 90 deg", "opens: out")
    )
    problem, space, design = drawn(source)
    found = {door.name: floor for door, floor in thresholds(problem, space, design)}
    assert found == pytest.approx(expected)
    said = [words for words in cautions(problem, space, design) if "opens on to a step" in words]
    assert [words.split("'")[1] for words in said] == list(expected)


@pytest.mark.parametrize(
    "kind, low, expected", [("opening", "0 m", [0.3]), ("opening", "300 mm", []), ("window", "0 m", [])]
)
def test_a_way_through_without_a_door_is_told_too(kind, low, expected):
    """The platform, 300 mm high, runs to the rear wall, where the way is."""
    way = (
        f"  openings: [{{name: arch, kind: {kind}, wall: rear, along: [1.5 m, 2.5 m], z: [{low}, 2.1 m], keep: 0 m}}]\n"
    )
    problem, space, design = drawn(text(rows=2).replace("  obstructions:\n", way + "  obstructions:\n"))
    assert [floor for one, floor in thresholds(problem, space, design) if not one.door] == pytest.approx(expected)
    said = [
        words for words in cautions(problem, space, design) if words.startswith("Opening 'arch' opens on to a step")
    ]
    assert len(said) == len(expected) and all("300 mm up into the room" in words for words in said)


@pytest.mark.parametrize(
    "place, told",
    [
        ("y: 5.5 m", "weighs 12.0 kg and is fixed overhead"),
        ("behind: 0.5 m", "and stands or hangs behind the rear wall"),
    ],
)
def test_where_a_heavy_projector_is(place, told):
    source = text(rows=1, projector=True).replace("2.2], y: 5.5 m, z", f"2.6], weight: 12 kg, {place}, z")
    (said,) = [words for words in cautions(*drawn(source)) if words.startswith("The projector weighs")]
    assert told in said


@pytest.mark.parametrize(
    "kind, wall, along, z, told",
    [
        # the platform, 300 mm high, runs from 3800 mm to the rear wall, and from wall to wall; glass within 800 mm of a
        # floor: Approved Document K (2013), Diagram 5.1, from memory
        ("window", "rear", "[1.5 m, 2.5 m]", "[900 mm, 2.1 m]", "begins 600 mm above a platform that is 300 mm high"),
        ("window", "rear", "[1.5 m, 2.5 m]", "[1099 mm, 2.1 m]", "begins 799 mm above"),
        ("window", "rear", "[1.5 m, 2.5 m]", "[1100 mm, 2.1 m]", ""),
        ("window", "rear", "[1.5 m, 2.5 m]", "[0 m, 2.1 m]", "reaches down to or below a platform"),
        ("window", "rear", "[1.5 m, 2.5 m]", "[0 m, 300 mm]", ""),  # covered
        ("window", "right", "[3.5 m, 4.2 m]", "[500 mm, 2.1 m]", "begins 200 mm above"),
        ("window", "right", "[2.0 m, 3.7 m]", "[500 mm, 2.1 m]", ""),  # before the platform
        ("opening", "rear", "[1.5 m, 2.5 m]", "[900 mm, 2.1 m]", ""),
    ],
)
def test_a_window_low_over_a_platform_is_told_of(kind, wall, along, z, told):
    way = f"  openings: [{{name: sash, kind: {kind}, wall: {wall}, along: {along}, z: {z}, keep: 0 m}}]\n"
    said = cautions(*drawn(text(rows=2).replace("  obstructions:\n", way + "  obstructions:\n")))
    found = [words for words in said if words.startswith("Window 'sash'")]
    assert len(found) == bool(told) and all(told in words and "609.6 mm" in words for words in found)


@pytest.mark.parametrize(
    "place, told",
    [
        # 36 by 48 in are 914.4 by 1219.2 mm, 33 in are 838.2 mm: 2010 ADA Standards 802.1.2 and .3, as quoted
        ("width: 915 mm, depth: 1220 mm", ""),
        ("{}", ""),
        (
            "width: 900 mm, depth: 1220 mm",
            "gives 900 mm by 1220 mm; a standard for public places asks for 914.4 mm by 1219.2 mm",
        ),
        ("width: 915 mm, depth: 0.4 m", "gives 915 mm by 400 mm; a standard"),
        ("places: 2, width: 840 mm, depth: 1220 mm", ""),
        (
            "places: 2, width: 820 mm, depth: 1220 mm",
            "820 mm by 1220 mm for each; a standard for public places asks for 838.2 mm by",
        ),
    ],
)
def test_a_small_place_for_a_wheelchair_is_told_of(place, told):
    given = place if place == "{}" else f"{{{place}}}"
    source = text(rows=1).replace("  place:\n", f"  wheelchair: {given}\n  place:\n")
    (said,) = [
        words for words in cautions(*drawn(source)) if words.startswith("The place for a wheelchair is clear floor")
    ]
    assert ("The file gives" in said) == bool(told) and told in said


@pytest.mark.parametrize(
    "row, entry, level, store, told",
    [
        # row 1 on the floor; the platform of row 2, 300 mm high, runs from 3800 mm to the rear wall
        (1, "1.6 m", 0, "opens: out", False),  # the entry, from 0.8 m to 1.6 m, is on the floor
        (1, "5.0 m", 0, "opens: out", True),  # both doors open on to the platform
        (1, "4.0 m", 0, "opens: out", True),  # half of the entry is before the platform's edge
        (1, "3.8 m", 0, "opens: out", False),
        (1, "1.6 m", 300, "opens: out", True),  # a step down from the entry
        (2, "1.6 m", 0, "opens: out, level: 300 mm", False),
        (2, "1.6 m", 0, "opens: out, level: 310 mm", False),  # 15 mm of threshold: Approved Document M, from memory
        (2, "1.6 m", 0, "opens: out", True),
        (2, "1.6 m", 300, "opens: out", True),  # the entry is level with the row, and the floor between them lower
    ],
)
def test_a_wheelchairs_place_that_is_up_or_down_steps_is_told_of(row, entry, level, store, told):
    """Changes in level are not permitted in a wheelchair space: 2010 ADA Standards 802.1.1, as quoted; and the way there
    has none either."""
    source = text(rows=2).replace("hinge: 1.6 m", f"hinge: {entry}, level: {level} mm").replace("opens: out", store)
    source = source.replace("opens: in, angle: 90 deg", "opens: out")
    source = source.replace("  place:\n", f"  wheelchair: {{row: {row}, width: 0.9 m, depth: 1.2 m}}\n  place:\n")
    said = [words for words in cautions(*drawn(source)) if "cannot be reached on the level" in words]
    assert bool(said) == told
    assert all(f"in row {row} " in words and "door 'entry' and door 'store'" in words for words in said)


@pytest.mark.parametrize(
    "box, opens, told",
    [
        # the leaf, 0.8 m wide and hung at 1.6 m in the left wall, stands open along y = 1.6 m: of all ways out of what it
        # sweeps the shortest for a box from y = 1.5 m on is 100 mm to the rear
        ("x: [0.5 m, 1.0 m], y: [1.5 m, 1.8 m], z: [0 m, 1 m]", "in", "'box' stands 100 mm in what its leaf sweeps"),
        ("x: [0.5 m, 1.0 m], y: [1.5 m, 1.8 m], z: [2.1 m, 2.5 m]", "in", ""),  # over the leaf
        ("x: [0.5 m, 1.0 m], y: [1.7 m, 1.9 m], z: [0 m, 1 m]", "in", ""),  # behind it
        ("x: [0.7 m, 1.0 m], y: [0.8 m, 1.0 m], z: [0 m, 1 m]", "in", ""),  # 0.92 m from the hinge
        ("x: [0 m, 0.1 m], y: [1.0 m, 1.2 m], z: [0 m, 1 m]", "out", "keeps clear before it"),  # in the doorway
        ("x: [0.5 m, 1.0 m], y: [1.5 m, 1.8 m], z: [0 m, 1 m]", "out", "keeps clear before it"),  # within 0.9 m
        ("x: [0.95 m, 1.2 m], y: [1.0 m, 1.2 m], z: [0 m, 1 m]", "out", ""),
        # it hangs 1.9 m over the floor before the door, which is kept clear up to 2 m
        (
            "x: [0.5 m, 1.0 m], y: [1.0 m, 1.2 m], z: [1.9 m, 2.6 m]",
            "out",
            "'box' is on or over the floor that door 'entry'",
        ),
    ],
)
def test_a_box_in_the_way_of_a_door_is_told_of(box, opens, told):
    source = text(rows=1).replace("opens: in, angle: 90 deg", f"opens: {opens}")
    source = source.replace("  obstructions:\n", f"  obstructions:\n    - {{name: box, {box}}}\n")
    said = [words for words in cautions(*drawn(source)) if "'box'" in words]
    assert len(said) == bool(told) and all(told in words and "door 'entry'" in words.lower() for words in said)


@pytest.mark.parametrize("z, told", [("[0 m, 1 m]", True), ("[0 m, 0.3 m]", False), ("[2.2 m, 2.6 m]", False)])
def test_a_box_in_a_way_through_is_told_of(z, told):
    """The way begins at a landing of 300 mm, which may be a box itself."""
    way = "  openings: [{name: arch, wall: rear, along: [1.5 m, 2.5 m], z: [300 mm, 2.1 m]}]\n"
    box = f"  obstructions:\n    - {{name: box, x: [1.2 m, 3 m], y: [6.5 m, 7.2 m], z: {z}}}\n"
    said = [
        words for words in cautions(*drawn(text(rows=1).replace("  obstructions:\n", way + box))) if "'box'" in words
    ]
    assert bool(said) == told and all("opening 'arch' keeps clear" in words for words in said)


@pytest.mark.parametrize(
    "box, told",
    [
        # the seats, 2.28 m wide about x = 2.2 m, have the aisle, 0.9 m wide, from x = 0.16 m to 1.06 m; the first row's feet
        # are at y = 3.6 + 0.2 - 1.5 = 2.3 m, its backs at 3.8 m, where the platform of the second begins, 0.3 m high; its feet 4 m
        (
            "x: [0.5 m, 0.8 m], y: [2.5 m, 2.7 m], z: [0 m, 0.1 m]",
            "100 mm above the floor where people walk: in the aisle beside row 1.",
        ),
        ("x: [0.5 m, 0.8 m], y: [2.5 m, 2.7 m], z: [0 m, 0.35 m]", ""),  # walked round
        ("x: [0 m, 0.15 m], y: [2.5 m, 2.7 m], z: [0 m, 0.1 m]", ""),  # at the wall, beside the aisle
        ("x: [0.5 m, 0.8 m], y: [4.2 m, 4.4 m], z: [0 m, 0.3 m]", ""),  # under the platform
        (
            "x: [0.5 m, 0.8 m], y: [4.2 m, 4.4 m], z: [0 m, 0.36 m]",
            "60 mm above the floor where people walk: in the aisle beside row 2.",
        ),
        (
            "x: [0.5 m, 0.8 m], y: [1.8 m, 2 m], z: [0 m, 0.1 m]",
            "on the way to row 1.",
        ),  # from the door at 0.8 m to 1.6 m
        (
            "x: [0.5 m, 0.8 m], y: [6 m, 6.2 m], z: [0 m, 0.4 m]",
            "100 mm above the floor where people walk: on the way to row 2.",
        ),
        ("x: [2 m, 2.4 m], y: [1.9 m, 2.1 m], z: [0 m, 0.1 m]", "before row 1."),  # within 0.6 m of the feet
        ("x: [2 m, 2.4 m], y: [1.3 m, 1.5 m], z: [0 m, 0.1 m]", ""),  # farther off
        (
            "x: [2 m, 2.4 m], y: [3.85 m, 3.95 m], z: [0 m, 0.35 m]",
            "50 mm above the floor where people walk: before row 2.",
        ),
        ("x: [0.02 m, 0.1 m], y: [0.9 m, 1.5 m], z: [0 m, 0.05 m]", "before door 'entry'."),
    ],
)
def test_low_things_where_people_walk_are_told_of(box, told):
    source = text(rows=2).replace("  obstructions:\n", f"  obstructions:\n    - {{name: curb, {box}}}\n")
    said = [words for words in cautions(*drawn(source)) if words.startswith("'curb' rises")]
    assert len(said) == bool(told) and all(told in words and "Local codes decide" in words for words in said)


@pytest.mark.parametrize(("seats", "told"), [(4, True), (5, False)])
def test_where_no_way_lies_beside_a_row_nobody_stumbles_there(seats, told):
    """Beside four chairs of 760 mm in 4400 mm there are 680 mm, beside five 300 mm: less than the
    600 mm that people pass (common practice, no source)."""
    source = text(rows=1).replace("  aisle: {sides: left, width: 0.9 m}\n", "")
    source = source.replace("row1.seats: 3", f"row1.seats: {seats}").replace("seats: 3\n  chair", "seats: 5\n  chair")
    box = "    - {name: curb, x: [0.1 m, 0.25 m], y: [2.5 m, 2.7 m], z: [0 m, 0.1 m]}\n"
    source = source.replace("  obstructions:\n", "  obstructions:\n" + box)
    said = [words for words in cautions(*drawn(source)) if words.startswith("'curb' rises")]
    assert len(said) == told and all("walk: beside row 1." in words for words in said)


@pytest.mark.parametrize(
    ("x", "where"),
    [
        ("0.5 m, 0.8 m", "walk: beside row 1."),  # the seats, 2.28 m wide about 2.2 m, begin at 1.06 m
        ("0.2 m, 0.4 m", None),  # more than 0.6 m beside them
    ],
)
def test_without_an_aisle_people_walk_beside_the_rows(x, where):
    source = text(rows=2).replace("  aisle: {sides: left, width: 0.9 m}\n", "")
    box = f"    - {{name: curb, x: [{x}], y: [2.5 m, 2.7 m], z: [0 m, 0.1 m]}}\n"
    source = source.replace("  obstructions:\n", "  obstructions:\n" + box)
    said = [words for words in cautions(*drawn(source)) if words.startswith("'curb' rises")]
    assert len(said) == (where is not None) and all(where in words for words in said)


@pytest.mark.parametrize(
    ("y", "told"),
    [
        ("1.2 m, 1.6 m", True),  # between the image, at 475 mm, and the feet of row 1, at 2300 mm
        ("0.1 m, 0.4 m", False),  # in front of the image
    ],
)
def test_what_hangs_low_before_the_first_row_is_told(y, told):
    """1700 mm over the floor, less than the 80 in (2032 mm) that stairs are given: IRC 2018
    R311.7.2, as quoted."""
    box = f"    - {{name: lamp, x: [1 m, 3 m], y: [{y}], z: [1.7 m, 2.7 m]}}\n"
    source = text(rows=1).replace("  obstructions:\n", "  obstructions:\n" + box)
    said = [words for words in cautions(*drawn(source)) if words.startswith("Beside row 1, or before it")]
    assert len(said) == told and all("comes down to 1700 mm over the floor;" in words for words in said)


@pytest.mark.parametrize(("level", "high", "told"), [(0, 50, True), (50, 50, False), (50, 90, True)])
def test_a_landing_as_high_as_the_door_before_it_is_no_low_thing(level, high, told):
    """A board on the floor before a door that opens so high over it: 50 mm are no step there, 90 mm
    are one of 40 mm."""
    box = f"x: [0.02 m, 0.1 m], y: [0.9 m, 1.5 m], z: [0 m, {high} mm]"
    source = text(rows=2).replace("  obstructions:\n", f"  obstructions:\n    - {{name: curb, {box}}}\n")
    source = source.replace("hinge: 1.6 m", f"hinge: 1.6 m, level: {level} mm")
    assert any(words.startswith("'curb' rises") for words in cautions(*drawn(source))) is told


def test_a_room_with_an_opening_and_no_door_is_not_told_to_show_its_ways_out():
    way = "  openings: [{name: arch, wall: rear, along: [1.5 m, 2.5 m], z: [0 m, 2.1 m]}]\n"
    plain = "".join(
        line for line in text(rows=1).splitlines(True) if "name: entry" not in line and "name: store" not in line
    )
    plain = plain.replace("  doors:\n", "")
    for source, words in (
        (plain, "The file names no door:"),
        (plain.replace("  obst", way + "  obst"), "openings and no door"),
    ):
        assert any(words in one for one in cautions(*drawn(source)))
        assert sum("the way" in one for one in cautions(*drawn(source))) == 1


def test_it_is_told_which_way_the_step_goes():
    problem, space, design = drawn(text(rows=2).replace("opens: out", "opens: out, level: 500 mm"))
    assert any("'store' opens on to a step of 200 mm down into" in words for words in cautions(problem, space, design))


@pytest.mark.parametrize(("rows", "asked"), [(1, False), (2, True)])
def test_a_limit_on_door_to_step_is_named_only_where_it_asks_for_anything(rows, asked):
    """The store's door opens in the rear wall, 500 mm up: in front of it lies the platform of row 2, or with one row the
    room's own floor, of which the measure knows nothing: without a step up to a row it has no bound."""
    problem, space, design = drawn(text(rows=rows).replace("opens: out", "opens: out, level: 500 mm"))
    (said,) = [words for words in cautions(problem, space, design) if "Door 'store' opens on to a step" in words]
    bound = min(float(door_to_step.form(space.layout, row).value(design)) for row in space.layout.rows)
    assert (bound < math.inf) == asked
    assert ("a limit on door_to_step, if there were one, would ask for it here" in said) == asked
    limited = replace(problem, limits=(*problem.limits, Limit("door_to_step", "all", 0.0, None)))
    (said,) = [words for words in cautions(limited, space, design) if "Door 'store' opens on to a step" in words]
    assert ("the limit on door_to_step asks for it here" in said) == asked
    assert ("no limit asks for it" in said) != asked


@pytest.mark.parametrize(("level", "passes"), [(290, True), (315, True), (320, False)])
def test_a_threshold_that_a_limit_lets_pass_is_not_told_as_if_it_asked(level, passes):
    """A threshold of 15 mm is no step: Approved Document M, from memory. The platform before the store lies at 300 mm."""
    problem, space, design = drawn(text(rows=2).replace("opens: out", f"opens: out, level: {level} mm"))
    (said,) = [words for words in cautions(problem, space, design) if "Door 'store' opens on to a step" in words]
    bound = min(float(door_to_step.form(space.layout, row).value(design)) for row in space.layout.rows)
    assert (bound > 0.0) == passes == ("lets 15 mm pass" in said)
    assert ("would ask for it here" in said) != passes


@pytest.mark.parametrize(("y", "told"), [(4.80, "240 mm"), (4.86, "300 mm"), (4.87, None), (5.3, None)])
def test_rows_that_nobody_can_walk_along_are_told_of(y, told):
    """The backs of row 1 lie 3600 + 200 mm from the front wall, the feet of row 2, upright, 760 mm before its eyes: 960 mm
    of chair less 200. Between rows of assembly seats 12 in (305 mm): IBC 1030.13.2, as quoted by a code forum."""
    source = text(rows=2).replace("reclined: 1.5 m", "reclined: 0.97 m").replace("row2.y: 5.300 m", f"row2.y: {y} m")
    said = [words for words in cautions(*drawn(source)) if words.startswith("The way to the seats is narrow")]
    assert [words.split(": ")[1].split(",")[0] for words in said] == [f"{told} before row 2"] * (told is not None)


@pytest.mark.parametrize(("hinge", "told"), [("4.0 m", True), ("5.0 m", False)])
def test_a_platforms_edge_in_a_doorway_is_told(hinge, told):
    """The platform begins 3600 + 200 mm from the front wall; the doorway lies over 800 mm before the hinge."""
    source = text(rows=2).replace("hinge: 1.6 m", f"hinge: {hinge}").replace("opens: in, angle: 90 deg", "opens: out")
    (said,) = [words for words in cautions(*drawn(source)) if "Door 'entry' opens on to a step" in words]
    assert ("A platform's edge lies within its width." in said) == told


@pytest.mark.parametrize("hinge", ["3.80 m", "3.7995 m"])
def test_a_platforms_edge_at_a_doorways_jamb_is_beside_it(hinge):
    """The platform begins 3600 + 200 mm from the front wall, where the doorway ends: its edge is no step that the door opens
    on to, but a step close beside it, of which some codes have 400 mm between (Approved Document K 1.22, as quoted)."""
    source = text(rows=2).replace("hinge: 1.6 m", f"hinge: {hinge}").replace("opens: in, angle: 90 deg", "opens: out")
    source = source.replace("risers: 2", "risers: 1")  # all of the way up at the edge
    said = [words for words in cautions(*drawn(source)) if "door 'entry'" in words.lower()]
    assert not any("opens on to" in words or "within its width" in words for words in said)
    assert sum(words.startswith("The way up to row 2 has a step") for words in said) == 1


@pytest.mark.parametrize(
    ("platform", "limit", "told"),
    # 4 in (102 mm) in aisles: IBC 1028.11.2, as quoted; 150 mm for private stairs: Approved Document K (2013), Table 1.1
    [(20, "", True), (100, "", True), (110, "", False), (0, "", False), (20, "least_riser, at_least: 10 mm", True)],
)
def test_steps_so_low_that_people_trip_over_them_are_told_of(platform, limit, told):
    source = (
        text(rows=2)
        .replace("row2.platform: 300 mm", f"row2.platform: {platform} mm")
        .replace("row2.risers: 2", "row2.risers: 1")
    )
    if limit:
        source = source.replace("limits:\n", f"limits:\n  - {{measure: {limit}}}\n")
    found = [words for words in cautions(*drawn(source)) if words.startswith("Risers are low")]
    assert [words.split(".")[0] for words in found] == [f"Risers are low: {platform} mm up to row 2"] * told
    how = "though the limit on least_riser lets it pass" if limit else "set a limit on least_riser"
    assert all(how in words for words in found)


@pytest.mark.parametrize(
    ("limit", "how"),
    [
        ("", ": set a limit on standing_headroom."),
        ("1.7 m", ", though the limit on standing_headroom lets it pass."),
        ("1.7 m, row: 1", ": set a limit on standing_headroom."),  # which is about no platform
        ("1.9 m, row: 1", ": set a limit on standing_headroom."),
        ("1.9 m", "may strike their head. Local codes"),  # that one is broken, and is told as that
    ],
)
def test_a_limit_that_lets_low_headroom_pass_does_not_silence_what_is_said_of_it(limit, how):
    """A ceiling of 2.1 m over a platform of 300 mm: 1.8 m to stand up in, under the 80 in = 2032 mm of stairs (IRC 2018
    R311.7.2, as quoted)."""
    source = text(rows=2).replace("height: 2.7 m", "height: 2.1 m").replace("[2.45 m, 2.7 m]", "[2 m, 2.1 m]")
    if limit:
        source = source.replace("limits:\n", f"limits:\n  - {{measure: standing_headroom, at_least: {limit}}}\n")
    (said,) = [words for words in cautions(*drawn(source)) if words.startswith("Headroom over row 2")]
    assert how in said and "Headroom over row 2 is 1800 mm" in said


@pytest.mark.parametrize("y, z, height", [(5.5, 2.5, 2.1), (5.5, 2.4, 2.0), (3.0, 2.1, 2.0), (3.0, 2.2, 2.1)])
def test_a_projector_low_over_the_floor_is_told(y, z, height):
    """Headroom of stairs 80 in = 2032 mm (IRC 2018 R311.7.2, as quoted); the platform of 300 mm begins at 3800 mm. A
    projector reaches 10 cm below its lens (common practice, no source)."""
    source = text(rows=2, projector=True).replace("y: 5.5 m, z: 2.4 m", f"y: {y} m, z: {z} m")
    problem, space, design = drawn(source)
    assert below_the_projector(space, design) == pytest.approx(height)
    said = [words for words in cautions(problem, space, design) if "projector hangs about" in words]
    assert bool(said) == (height < 2.032)


def test_without_a_projector_nothing_is_said_of_one():
    _, space, design = drawn(text(rows=2))
    assert below_the_projector(space, design) is None


def test_a_caution_of_some_designs_says_of_which():
    """A platform of 300 mm has a step at the store's door, one of 500 mm a greater one; all else is said of both."""
    problem = loads(text(rows=2).replace("row2.platform: 300 mm", "row2.platform: {from: 300 mm, to: 500 mm}"))
    (space,) = spaces(problem)
    low, high = (
        space.complete({name: getattr(domain, "value", platform) for name, domain in space.domains.items()})
        for platform in (0.3, 0.5)
    )
    said = of_designs(problem, [("low", space, low), ("high", space, high)])
    steps = [words.split(" into")[0] for words in said if "on to a step" in words]
    assert steps == [
        f"'{name}': Door 'store' opens on to a step of {step} mm up" for name, step in (("low", 300), ("high", 500))
    ]
    assert not [words for words in said if words.startswith("'") and "headroom" not in words and "step" not in words]
    assert any(words.startswith("Exits:") for words in said)
    assert of_designs(problem, [("low", space, low)]) == cautions(problem, space, low)


@pytest.mark.parametrize(
    ("wall", "hinge", "limit", "told"),
    [
        # the platform, 300 mm high, begins at 3800 mm; at the left, in the aisle, two risers share out a pitch of 1700 mm:
        # the lower lies at 2950 mm. The doorway lies over the 800 mm before the hinge.
        ("left", "2.85 m", "", "100 mm beside door 'entry'"),
        ("left", "2.50 m", "", None),  # 450 mm before it
        ("right", "2.85 m", "", None),  # no aisle there: 950 mm to the platform's edge
        ("right", "3.70 m", "", "100 mm beside door 'entry'"),
        ("right", "4.70 m, level: 300 mm", "", "100 mm beside door 'entry'"),  # on the platform, behind its edge
        ("right", "4.70 m", "", None),  # a step at the threshold itself, told as that
        ("left", "3.20 m", "", None),  # opens on to the steps, told as that
        ("right", "3.70 m", "50 mm", "though the limit on door_to_step lets it pass"),
        ("right", "3.70 m", "400 mm", "between a door and a stair. Local codes"),  # broken, and told as that
    ],
)
def test_a_step_close_beside_a_door_is_told(wall, hinge, limit, told):
    """400 mm between a door and a stair: Approved Document K 1.22, as quoted."""
    source = text(rows=2).replace("wall: left, hinge: 1.6 m", f"wall: {wall}, hinge: {hinge}")
    source = source.replace("opens: in, angle: 90 deg", "opens: out")
    if limit:
        source = source.replace("limits:\n", f"limits:\n  - {{measure: door_to_step, at_least: {limit}}}\n")
    said = [words for words in cautions(*drawn(source)) if "has a step" in words]
    assert len(said) == (told is not None)
    if told:
        assert told in said[0] and said[0].startswith("The way up to row 2") and "400 mm" in said[0]
        assert ("set a limit on door_to_step" in said[0]) == (not limit)


def test_a_step_cut_into_the_last_platform_close_beside_a_door_is_told():
    """The backs of row 2 lie 5500 mm from the front wall, the platform ends 600 mm behind them; two risers lead down on a
    tread of 11 in (279.4 mm): the upper one lies at 5820.6 mm, 120.6 mm behind a door at the platform's level."""
    source = (
        text(rows=2)
        .replace("hinge: 1.6 m", "hinge: 5.7 m, level: 300 mm")
        .replace("opens: in, angle: 90 deg", "opens: out")
        .replace("to: 1.2 m}", "to: 1.2 m, behind: 0.6 m}")
    )
    (said,) = [words for words in cautions(*drawn(source)) if "has a step" in words]
    assert said.startswith("The way down behind the last row has a step 120.6 mm beside door 'entry'")
    assert "set a limit on door_to_step" in said


def test_a_step_close_beside_an_opening_is_told_though_no_limit_sees_it():
    way = "  openings: [{name: arch, wall: right, along: [2.8 m, 3.7 m], z: [0 m, 2.1 m], keep: 0 m}]\n"
    source = text(rows=2).replace("  obstructions:\n", way + "  obstructions:\n")
    (said,) = [words for words in cautions(*drawn(source)) if "has a step" in words]
    assert "100 mm beside opening 'arch'" in said and "limit on door_to_step" not in said


@pytest.mark.parametrize(
    "height, hinge, opens, told",
    [
        # the projector reaches from 5.5 to 5.9 m along the room, in its middle: a leaf of 0.8 m hung at 2 m in the rear wall,
        # 7.2 m from the front, sweeps from 6.4 m on; hung at 6 m in the left wall it comes no nearer than 0.8 m to the wall
        ("1.9 m", "wall: rear, hinge: 1.9 m, towards: right", "in", False),
        ("1.9 m", "wall: left, hinge: 6 m, towards: front", "in", False),
        ("1.9 m", "wall: left, hinge: 6 m, towards: front, leaf: 2.4 m", "in", True),
        ("2.2 m", "wall: left, hinge: 6 m, towards: front, leaf: 2.4 m", "in", False),  # its underside is 0.1 m lower
        ("1.9 m", "wall: left, hinge: 6 m, towards: front", "out, keep: 2.2 m", True),
        ("2.2 m", "wall: left, hinge: 6 m, towards: front", "out, keep: 2.2 m", False),
    ],
)
def test_a_projector_in_the_way_of_a_door_is_told_of(height, hinge, opens, told):
    leaf = "" if "leaf" in hinge else ", leaf: 0.8 m"
    door = f"    - {{name: back, {hinge}{leaf}, opens: {opens}}}\n"
    source = text(rows=1, projector=True).replace("z: 2.4 m}", f"z: {height}}}")
    source = source.replace("  doors:\n", "  doors:\n" + door)
    said = [words for words in cautions(*drawn(source)) if "rojector hangs" in words and "'back'" in words]
    assert bool(said) == told


@pytest.mark.parametrize(
    "wall, along, top, told",
    [
        # 1.5 m at the left wall, 2.5 m from 1 m on: 1.9 m at 0.4 m, 2.1 m at 0.6 m
        ("left", "[1 m, 2 m]", "1.6 m", True),
        ("left", "[1 m, 2 m]", "1.5 m", False),
        ("rear", "[0.1 m, 0.4 m]", "2.0 m", True),
        ("rear", "[0.1 m, 0.6 m]", "2.0 m", False),
        ("right", "[1 m, 2 m]", "2.4 m", False),
    ],
)
def test_a_window_higher_than_its_wall_is_told_of(wall, along, top, told):
    room = "  ceiling_across: [{x: 0 m, height: 1.5 m}, {x: 1 m, height: 2.5 m}, {x: 4.4 m, height: 2.5 m}]\n"
    window = f"  openings: [{{name: light, kind: window, wall: {wall}, along: {along}, z: [1 m, {top}]}}]\n"
    source = text(rows=1).replace("  obstructions:\n", room + window + "  obstructions:\n")
    said = [words for words in cautions(*drawn(source)) if "'light' reaches" in words]
    assert bool(said) == told and all("high there at most" in words for words in said)
    # the only door is in the left wall
    low = [words for words in cautions(*drawn(source)) if "1500 mm high at most at door 'entry'" in words]
    assert len(low) == 1


@pytest.mark.parametrize(
    "place, told",
    [
        ("{}", "914.4 mm by 1219.2 mm (2010 ADA Standards 802.1.2 and 802.1.3, as quoted)"),  # 36 in by 48 in
        ("{width: 920 mm}", "920 mm by 1219.2 mm (as the file has it, without a source)"),
        ("{width: 920 mm, source: who comes}", "920 mm by 1219.2 mm (who comes)"),
    ],
)
def test_where_the_size_of_a_wheelchairs_place_is_from(place, told):
    source = text(rows=1).replace("  place:\n", f"  wheelchair: {place}\n  place:\n")
    assert any(f"clear floor of {told}" in words for words in cautions(*drawn(source)))


@pytest.mark.parametrize(
    "platform, risers, going, limit, told",
    [
        ("0 mm", 2, ", going: 280 mm", "", []),
        ("200 mm", 1, ", going: 280 mm", "", []),  # the riser is the platform's edge
        ("300 mm", 2, ", going: 280 mm", "", []),
        (
            "450 mm",
            3,
            ", going: 600 mm",
            "",
            ["The 3 risers up to row 1 leave 700 mm of floor before the baffle wall, and some"],
        ),
        (
            "450 mm",
            4,
            ", going: 800 mm",
            "",
            ["The 4 risers up to row 1 reach into the baffle wall, and some codes ask for"],
        ),
        (
            "300 mm",
            2,
            "",
            "",
            ["2 risers lead up to row 1, and nothing says where they lie: keep floor before its platform"],
        ),
        (
            "300 mm",
            2,
            ", going: 200 mm",
            "step_going, at_least: 220 mm",
            [
                "Of the steps up to row 1 step_going is 200 mm, where the limit asks for at least 220 mm: it counts from the"
            ],
        ),
        ("300 mm", 2, ", going: 280 mm", "walking_line, at_most: 700 mm", []),  # 2 * 150 + 280
        (
            "300 mm",
            2,
            ", going: 420 mm",
            "walking_line, at_most: 700 mm",
            ["Of the steps up to row 1 walking_line is 720 mm, where the limit asks for at most 700 mm: it"],
        ),
        ("300 mm", 2, ", going: 200 mm", "step_going, row: 2, at_least: 220 mm", []),  # of another row
        ("300 mm", 2, ", going: 200 mm", "aisle_slope, at_most: 37 deg", []),  # atan(150 / 200) = 36.9 degrees
        (
            "300 mm",
            2,
            ", going: 200 mm",
            "aisle_slope, at_most: 36 deg",
            ["Of the steps up to row 1 aisle_slope is 36.9°, where the limit asks for at most 36.0°: it counts from"],
        ),
    ],
)
def test_what_is_told_of_the_steps_up_to_the_first_row(platform, risers, going, limit, told):
    """Row 1's platform begins at its feet, 2.3 m from the front wall (ears at 3.6 m, 0.2 m to the backs, 1.5 m reclined); the
    baffle is 0.4 m deep."""
    source = text(rows=2).replace("row1.platform: 0 mm", f"row1.platform: {platform}")
    source = source.replace("row1.risers: 1", f"row1.risers: {risers}")
    source = source.replace(
        "platform: {step: 10 mm, to: 1.2 m}",
        f"platform: {{step: 10 mm, to: 1.2 m, first: {platform}, risers: 4{going}}}",
    )
    if limit:
        source = source.replace("limits:\n", f"limits:\n  - {{measure: {limit}}}\n")
    said = [
        words
        for words in cautions(*drawn(source))
        if "up to row 1" in words and not words.startswith(("Risers", "Door", "The way"))
    ]
    assert len(said) == len(told) and all(words.startswith(start) for words, start in zip(said, told)), said


@pytest.mark.parametrize("wide, told", [("150 mm", False), ("200 mm", True)])
def test_steps_that_something_makes_narrower_than_the_aisle_are_told_of(wide, told):
    """Both rows end 1.06 m from the left wall, where the file asks for an aisle of 0.9 m; the steps up to row 2 lie from 2.95 m to
    3.8 m, and a box stands there at the wall."""
    box = f"    - {{name: box, x: [0 m, {wide}], y: [3.0 m, 3.1 m], z: [0 m, 1 m]}}\n"
    source = text(rows=2).replace("  obstructions:\n", f"  obstructions:\n{box}")
    said = [words for words in cautions(*drawn(source)) if "narrower than the aisle" in words]
    assert bool(said) == told
    assert all(
        ": 860 mm up to row 2, where the file asks for 900 mm: set a limit on stair_width." in one for one in said
    )
