"""How far apart the front loudspeakers are, where the file decides it: numbers worked by hand.

In the room of conftest.py, 4.4 m wide, with the design of test_rows.py, the baffle's face is 0.42 m from the front wall, the
ears of row 1 at 3.5 m, the image 3 m wide in the middle, its lower edge at 0.8 m.
"""

from __future__ import annotations

import math

import pytest
from click.testing import CliRunner

from optimiser.cli import program
from optimiser.errors import UsageError
from optimiser.problem.decisions import with_fixed
from optimiser.solve import solve
from tests.measures.conftest import problem, text_of
from tests.measures.test_rows import measured

FRONT = "           pixels: 3840}\n"
TYPE = ('{aspect: "16:9", width: {from: 2 m, to: 3.6 m}', '{type: panel, aspect: "16:9", diagonal: 3 m')
INCH = 0.0254


def said(more: str) -> tuple[str, str]:
    return FRONT, FRONT + "  loudspeakers: {%s}\n" % more  # noqa: UP031


def test_the_angle_is_that_of_the_loudspeakers_and_not_of_the_image(only_space):
    """atan(1.2 / 3.08); by the usual share of the image, 0.9, it would be atan(1.35 / 3.08)."""
    found = measured(only_space, "loudspeaker_angle", 1, text=[said("apart: 2.4 m")], loudspeakers_apart=2.4)
    assert math.degrees(found) == pytest.approx(21.286, abs=1e-3)
    assert math.degrees(measured(only_space, "loudspeaker_angle", 1)) == pytest.approx(23.669, abs=1e-3)


@pytest.mark.parametrize(
    ("more", "room"),
    [
        ({}, (3.0 - 2.4) / 2),
        ({"loudspeakers_z": 0.9}, 0.9 - 0.8),  # nearer to the image's lower edge than to its sides
    ],
)
def test_axes_stay_behind_the_image(only_space, more, room):
    text = said("apart: 2.4 m" + (", z: 0.9 m" if more else ""))
    assert measured(only_space, "loudspeaker_room", text=[text], loudspeakers_apart=2.4, **more) == pytest.approx(room)


def test_a_spread_wider_than_the_image_is_the_files_own_to_say(only_space):
    assert measured(only_space, "loudspeaker_room", text=[said("spread: 1.2")]) == math.inf


def test_under_a_panel_they_must_miss_each_other_and_the_walls(only_space):
    """Cabinets of 12 in: from the middle of the centre one to that of a left one 0.9 m."""
    text = [TYPE, said("place: under, apart: 1.8 m")]
    found = measured(only_space, "loudspeaker_spacing", text=text, loudspeakers_apart=1.8, screen_diagonal=3.0)
    assert found == pytest.approx(0.9 - 12 * INCH)


@pytest.mark.parametrize(
    ("more", "changes", "room"),
    [
        (
            "apart: 0.5 m, width: 0.4 m",
            {"loudspeakers_apart": 0.5},
            0.25 - 0.4,
        ),  # three cabinets would lie in one another
        ("apart: 2.4 m, width: 0.4 m", {"loudspeakers_apart": 2.4}, (4.4 - 2.4 - 0.4) / 2),  # to the side walls
        ("spread: 0.9, width: 0.4 m", {}, math.inf),  # not decided here
    ],
)
def test_behind_an_image_they_must_miss_each_other_where_how_far_apart_is_decided(only_space, more, changes, room):
    assert measured(only_space, "loudspeaker_spacing", text=[said(more)], **changes) == pytest.approx(room)


def test_no_angle_is_had_by_cabinets_that_lie_in_one_another():
    """Of cabinets 0.5 m wide left and right are 1 m apart at least, the centre one between them."""
    narrow = "  - {measure: loudspeaker_angle, row: reference, at_most: 2 deg, fade: 9 deg}\n"
    made = problem(said("apart: {from: 0.2 m, to: 3 m}, width: 0.5 m"), more=narrow)
    assert solve(made, grid=0.05).design["loudspeakers.apart"] == pytest.approx(1.0)


GOAL = "  - {measure: loudspeaker_angle, row: reference, band: [20 deg, 20.5 deg], fade: 4 deg}\n"
WIDE = "  - {measure: image_width, at_least: 3.2 m, fade: 1 m}\n"


def test_image_and_angle_are_had_both_where_both_are_decided():
    """An image of 3.2 m fills 55 degrees from 3.07 m or farther; its loudspeakers at 0.9 of the width stand 1.44 m aside
    and need 3.85 m for 20.5 degrees: then the image fills 45 degrees or less from somewhat farther back, which the file
    allows; nearer, only loudspeakers nearer together hold the angle."""
    near = "limits:\n  - {measure: listening_distance, row: 1, at_most: 3.2 m}\n"
    by_share = solve(problem(more=GOAL + WIDE + near), grid=0.01)
    decided = solve(problem(said("apart: {from: 1 m, to: 3 m}"), more=GOAL + WIDE + near), grid=0.01)
    assert decided.score == pytest.approx(100.0) and by_share.score < 95.0
    half, away = 0.5 * decided.design["loudspeakers.apart"], decided.design["row1.y"] - decided.design["baffle.depth"]
    assert 20.0 - 1e-9 <= math.degrees(math.atan(half / away)) <= 20.5 + 1e-9


def test_of_equally_good_ways_apart_the_usual_share_of_the_image_is_taken():
    found = solve(problem(said("apart: {from: 1 m, to: 3 m}")), grid=0.01)
    assert found.design["loudspeakers.apart"] == pytest.approx(0.9 * found.design["screen.width"], abs=0.05)


def test_they_can_be_pinned_where_the_image_does_not_say_where_they_are():
    found = solve(with_fixed(problem(), "loudspeakers.apart", "2 m"), grid=0.05)
    assert found.design["loudspeakers.apart"] == pytest.approx(2.0)
    with pytest.raises(UsageError, match="stand beside the image, and how far apart they are follows from it"):
        with_fixed(problem(said("place: beside")), "loudspeakers.apart", "2 m")


def test_where_the_spread_lets_cabinets_overlap_the_way_out_is_told(tmp_path):
    """Three cabinets 1.2 m wide under a panel 2.615 m wide (3 m across, 16:9) lie 0.9 / 2 of that apart, 1.18 m."""
    wide = "place: under, width: 1.2 m, height: 0.2 m"
    for more, told in (("", True), (", apart: {from: 2.3 m, to: 2.35 m}", False)):
        path = tmp_path / "room.yaml"
        text = text_of(TYPE, said(wide + more)).replace("pixels: 3840", "luminance: 300 cd/m2")
        path.write_text(text, encoding="utf-8")
        printed = " ".join(CliRunner().invoke(program, ["solve", str(path), "--grid", "5 cm"]).output.split())
        assert "Impossible" in printed and ("front.loudspeakers.apart lets that be decided" in printed) is told, printed
