"""Loudspeakers beside an image whose baffle wall may have no depth: numbers worked by hand.

In the room of conftest.py, 4.4 m wide, with an image of 2 m in its middle, in a frame of 50 mm: it ends 3.25 m from the left
wall, and a cabinet 0.3 m wide stands from 3.3 m to 3.6 m. A chimney breast takes the corner from 3.4 m on, 0.2 m deep.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from optimiser.notes import notes
from tests.measures.conftest import problem
from tests.measures.test_rows import design, measured

FRONT = "           pixels: 3840}\n"
FROM_NOTHING = ("depth: {from: 0.3 m, to: 0.5 m}", "depth: {from: 0 m, to: 0.5 m}")
BREAST = "obstructions: [{name: breast, x: [3.4 m, 4.4 m], y: [0 m, 0.2 m], z: [0 m, 2.7 m]}]"
DOOR = "doors: [{name: entry, wall: right, hinge: 1 m, leaf: 0.9 m, towards: front}]"


def text(more: str, *, depth: str = "") -> list[tuple[str, str]]:
    own = FRONT + f"  loudspeakers: {{place: beside, width: 0.3 m, height: 0.6 m, gap: 50 mm{depth}}}\n"
    return [(FRONT, own), FROM_NOTHING, ("reverberation_time: 0.3 s}", f"reverberation_time: 0.3 s, {more}}}")]


@pytest.mark.parametrize(("wall", "clear"), [(0.0, -0.1), (0.3, 0.1)])
def test_cabinets_that_no_wall_holds_keep_clear_of_a_chimney_breast(only_space, wall, clear):
    """Without a wall, cabinet and breast share 0.2 m across the room and, along it, what image and frame stand out: 80 mm
    and 20 mm. A wall 0.3 m deep has the breast 0.1 m behind its face."""
    found = measured(only_space, "front_obstruction_clearance", text=text(BREAST), baffle_depth=wall, screen_width=2.0)
    assert found == pytest.approx(clear, abs=1e-9)


@pytest.mark.parametrize(("wall", "clear"), [(0.0, -0.2), (0.3, -0.15)])
def test_cabinets_of_known_depth_stand_before_the_front_wall_without_a_baffle(only_space, wall, clear):
    """Cabinets 0.25 m deep: before the front wall they meet the breast over its whole 0.2 m, as across; let into a wall
    0.3 m deep they begin 50 mm from the front wall, 0.15 m before the breast ends."""
    found = measured(
        only_space,
        "loudspeaker_obstruction_clearance",
        text=text(BREAST, depth=", depth: 0.25 m"),
        baffle_depth=wall,
        screen_width=2.0,
    )
    assert found == pytest.approx(clear, abs=1e-9)


def test_a_door_keeps_clear_of_them(only_space):
    """From the hinge, 4.4 m from the left wall and 1 m from the front wall, to the cabinet's corner, 3.6 m and 0.1 m, less
    the leaf."""
    found = measured(only_space, "door_clearance", text=text(DOOR), baffle_depth=0.0, screen_width=2.0)
    assert found == pytest.approx(math.hypot(0.8, 0.9) - 0.9, abs=1e-9)


@pytest.mark.parametrize(("wall", "across", "along"), [(None, 0.8, 0.75), (0.0, 0.8, 0.75), (0.3, 0.75, 0.7)])
def test_a_door_keeps_clear_of_cabinets_of_known_depth(only_space, wall, across, along):
    """Cabinets 0.25 m deep stand out farther than the frame, which ends 0.1 m from the front wall: to their corner it is
    0.8 m across the room and 0.75 m along it. Let into a wall 0.3 m deep they end with its face, and its own corner, 50 mm
    farther out, is the nearest. None: the file has no baffle wall at all."""
    changes = text(DOOR, depth=", depth: 0.25 m")
    changes += [("  baffle: {depth: {from: 0 m, to: 0.5 m}, margin: 50 mm}\n", "")] if wall is None else []
    found = measured(only_space, "door_clearance", text=changes, baffle_depth=wall or 0.0, screen_width=2.0)
    assert found == pytest.approx(math.hypot(across, along) - 0.9, abs=1e-9)


@pytest.mark.parametrize(("depth", "clear"), [("", 0.0), (", depth: 0.25 m", -0.1)])
def test_the_floor_before_an_opening_is_kept_clear_of_them(only_space, depth, clear):
    """The floor kept clear begins 0.1 m from the front wall and 3.5 m from the left one. The frame ends there; a cabinet
    0.25 m deep stands on 0.1 m of it across the room, and on 0.15 m along it."""
    way = "openings: [{name: arch, wall: right, along: [0.1 m, 0.9 m], z: [0 m, 2.1 m], keep: 0.9 m}]"
    changes = text(way, depth=depth)
    found = measured(only_space, "opening_clearance", text=changes, baffle_depth=0.0, screen_width=2.0)
    assert found == pytest.approx(clear, abs=1e-9)


@pytest.mark.parametrize(
    ("wall", "place", "y", "clear"),
    [
        # a cabinet from 3.3 m to 3.6 m, 1.06 m to 1.66 m high where an image of 2 m hangs at 0.8 m; row 1 is 2.1 m wide, from 1.15
        # m to 3.25 m, and passes between the two
        (0.0, "beside", 1.4, 0.05),
        # of three over the image the middle one is over the image's middle, from 2.025 m up; heads at 1.22 m
        (0.0, "over", 1.4, 2.025 - 1.22),
        # under an image at 0.9 m: from 0.6 m to 0.8 m high, 0.25 m deep; the feet of who sits at 1.4 m, 1.3 m behind them, are at 0.1 m
        (0.0, "under", 1.4, 0.1 - 0.25),
        (0.0, "under", 1.65, 0.35 - 0.25),
        (0.3, "under", 1.65, math.inf),  # let into a wall
    ],
)  # fmt: skip
def test_chairs_keep_clear_of_cabinets_that_no_wall_holds(only_space, wall, place, y, clear):
    size = "width: 0.3 m, height: 0.6 m" if place == "beside" else "width: 0.3 m, height: 0.2 m"
    changes = text(DOOR, depth=", depth: 0.25 m")
    changes[0] = (FRONT, FRONT + f"  loudspeakers: {{place: {place}, {size}, gap: 50 mm, depth: 0.25 m}}\n")
    low = {"screen_bottom": 0.9 if place == "under" else 0.8}
    found = measured(
        only_space,
        "row_obstruction_clearance",
        1,
        text=changes,
        baffle_depth=wall,
        screen_width=2.0,
        row1_y=y,
        **low,
    )
    assert found == pytest.approx(clear, abs=1e-9)


@pytest.mark.parametrize(("depth", "way"), [("", 2.2 - 0.08), (", depth: 0.25 m", 2.2 - 0.25)])
@pytest.mark.parametrize("name", ["walkway", "passing_way"])
def test_the_way_before_the_first_row_leads_past_them(only_space, name, depth, way):
    """Reclined feet at 3.5 m less 1.3 m; upright ones, 0.6 m farther back. The image hangs 80 mm from the front wall, and the
    cabinets under it stand out 0.25 m; people walk beside what is up to 2 m high (Approved Document K 1.11, as quoted)."""
    changes = text(DOOR)
    changes[0] = (FRONT, FRONT + f"  loudspeakers: {{place: under, width: 0.3 m, height: 0.2 m, gap: 50 mm{depth}}}\n")
    found = measured(only_space, name, 1, text=changes, baffle_depth=0.0, screen_width=2.0, screen_bottom=0.9)
    assert found == pytest.approx(way + (0.6 if name == "passing_way" else 0.0), abs=1e-9)


@pytest.mark.parametrize(
    ("x", "depth", "deep"),
    [("3.4 m, 4.4 m", "", "100 mm"), ("3.7 m, 4.4 m", "", None), ("3.4 m, 4.4 m", ", depth: 0.25 m", None)],
)
def test_cabinets_of_unknown_depth_that_may_meet_a_breast_in_the_baffle_are_told(only_space, x, depth, deep):
    """The wall is 0.3 m deep and the breast 0.2 m: 0.1 m are left before it, where it reaches behind the cabinet. Where the
    file gives the depth a limit keeps them apart."""
    given = problem(*text(BREAST.replace("3.4 m, 4.4 m", x), depth=depth), ("show: m\n", "show: mm\n"))
    chosen = design(baffle_depth=0.3, screen_width=2.0)
    said = [note for note in notes(given, only_space(given), chosen) if "clear of 'breast'" in note]
    assert len(said) == (deep is not None)
    assert all(f"there is room for {deep} of depth" in note and "front.loudspeakers" in note for note in said)


@pytest.mark.parametrize(
    ("gap", "wall", "width", "told"),
    [("0 mm", 0.0, 1.5, True), ("50 mm", 0.0, 1.5, False), ("0 mm", 0.3, 1.5, False), ("0 mm", 0.0, 2.0, False)],
)
def test_what_they_hide_of_the_image_is_told(only_space, gap, wall, width, told):
    """An image of 1.5 m, 80 mm from the front wall, begins 1.45 m from the left wall, and a cabinet 0.5 m deep ends at 1.4 m, or
    50 mm farther aside. The outer of four people sits at 1.15 m, 2 m from the front wall: the line from there to the image's edge
    passes the cabinet's face at 1.45 m less 0.3 m times 0.42 / 1.92, 1.384 m. Where the image is 2 m wide, at 1.2 m less a
    hundredth of a metre, and the cabinet ends at 1.15 m."""
    given = problem(*text(DOOR, depth=", depth: 0.5 m"))
    given = replace(given, loudspeakers=replace(given.loudspeakers, gap=float(gap.split()[0]) / 1000))
    space = only_space(given)
    chosen = design(1, baffle_depth=wall, screen_width=width, row1_y=2.0, row1_seats=4.0)
    chosen |= {name: value for name, value in design(2).items() if name.startswith("row2")}
    said = [note for note in notes(given, space, space.complete(chosen)) if "loudspeaker hides" in note]
    assert [note.split(",")[0] for note in said if "row 1" in note] == [
        f"The {side} loudspeaker hides 1 % of the image from seat {seat} of row 1"
        for side, seat in (("left", 1), ("right", 4))
        if told
    ]
