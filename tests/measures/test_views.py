"""What obstructions hide of the image, against similar triangles worked by hand."""

from __future__ import annotations

import pytest

from optimiser.cautions import cautions
from optimiser.measures.layout import Body
from optimiser.notes import notes
from optimiser.views import hidden
from tests.measures.conftest import problem
from tests.measures.test_rows import design

ROOM = "reverberation_time: 0.3 s}"
POST = "reverberation_time: 0.3 s, obstructions: [{name: post, x: [%s m, %s m], y: [2.4 m, 2.5 m], z: [%s m, %s m]}]}"


def looked_at(only_space, *box):
    space = only_space(problem(("  rows: 2\n", "  rows: 1\n"), (ROOM, POST % box)))
    return {(one.row, seat): one.share for one in hidden(space, design(1)) for seat in one.seats}, space


def test_a_post_before_the_middle_seat_hides_its_width_threefold(only_space):
    """The image, 3 m wide, is 3 m from the eye; the post's near face, 0.2 m wide, 1 m from it: 0.6 m of 3 m."""
    shares, _ = looked_at(only_space, 2.1, 2.3, 0.0, 2.7)
    assert shares[1, 2] == pytest.approx(0.2, abs=0.006)


def test_what_a_post_hides_is_told_to_a_per_cent(only_space):
    """3 m from the eye at 2.2 m the image goes from 0.7 to 3.7 m. The post, 1 m to 1.1 m away and 0.41 to 0.47 m to its right,
    hides from 0.41 x 3 / 1.1 = 1.118 to 0.47 x 3 = 1.41 m: 0.292 of 3 m."""
    shares, _ = looked_at(only_space, 2.61, 2.67, 0.0, 2.7)
    assert shares[1, 2] == pytest.approx(0.292 / 3, abs=0.006)


def test_a_sill_hides_what_lies_below_its_edge(only_space):
    """From an eye at 1.1 m over an edge at 0.97 m, 1 m away, one sees down to 1.1 - 3 x 0.13 = 0.71 m: the whole image,
    from 0.8 m up, and over its far edge, 1.1 m away, to 0.745 m. At 1.03 m the far edge hides up to 1.1 - 3 x 0.07 / 1.1 = 0.909 m:
    0.109 m of 1.6875."""
    shares, space = looked_at(only_space, 0.0, 4.4, 0.0, 0.97)
    assert not shares and not any("hides" in note for note in notes(problem(), space, design(1)))
    shares, space = looked_at(only_space, 0.0, 4.4, 0.0, 1.03)
    assert shares[1, 2] == pytest.approx(0.109 / 1.6875, abs=0.006)
    assert any("post hides" in note and "row 1" in note for note in notes(problem(), space, design(1)))


def test_what_is_behind_the_eyes_or_beside_the_view_hides_nothing(only_space):
    shares, _ = looked_at(only_space, 0.0, 0.3, 0.0, 2.7)
    assert not shares


@pytest.mark.parametrize(("hinge", "told"), [("3.9 m", True), ("1.5 m", False)])
def test_a_bass_loudspeaker_in_a_doorway_is_told_of(only_space, hinge, told):
    """Four midpoints put one in the middle of the left wall, 3.6 m of 7.2 m from the front; the door is 0.8 m wide."""
    door = f"reverberation_time: 0.3 s, doors: [{{name: side door, wall: left, hinge: {hinge}, leaf: 0.8 m, towards: front, opens: out}}]}}"
    bass = "bass: {arrangement: four_midpoints, height: 0.3 m, front: wall}\n"
    found = problem(("  rows: 2\n", "  rows: 1\n"), (ROOM, door), more=bass.replace(", front: wall", ""))
    space = only_space(found)
    said = " ".join(notes(found, space, design(1)))
    assert ("stands where 'side door' is. Nothing" in said) == told
    warned = " ".join(cautions(found, space, design(1)))
    assert ("A bass loudspeaker stands in the way of the door 'side door'" in warned) == told


OWN = "bass: {arrangement: own, positions: [{x: 2.2 m, y: 1 m, z: %s m}]}\n"


@pytest.mark.parametrize(("height", "share"), [(2.15, 0.0545), (0.225, None)])
def test_a_bass_loudspeaker_before_the_image_is_told_of(only_space, height, share):
    """A cabinet 0.45 m wide, deep and high before the middle seat: its near face (3.5 - 1.225) m = 2.275 m from the eye, its
    far one 2.725 m, the image 3 m. At 2.15 m, from 1.925 m on, its under side covers the image from 1.1 + 0.825 x 3 / 2.725 =
    2.008 m, 0.495 m wide, to 1.1 + 0.825 x 3 / 2.275 = 2.188 m, 0.593 m wide, and its near face the rest up to 2.4875 m:
    0.18 x 0.544 + 0.2995 x 0.593 = 0.276 m2 of 3 m x 1.6875 m. On the floor its top, at 0.45 m, is seen below the image."""
    found = problem(("  rows: 2\n", "  rows: 1\n"), more=OWN % height)
    said = [note for note in notes(found, only_space(found), design(1)) if "before the image" in note]
    assert len(said) == (share is not None)
    if share is not None:
        assert "2.200 m from the left and 1.000 m from the front wall hides up to" in said[0]
        assert "of it from seats 1, 2 and 3 of row 1" in said[0]
        cabinet = Body("", (1.975, 2.425), (0.775, 1.225), (1.925, 2.375))
        (one,) = hidden(only_space(found), design(1, row1_seats=1.0), [cabinet])
        assert one.share == pytest.approx(share, abs=0.003) and one.seats == (1,)


@pytest.mark.parametrize(("wide", "told"), [("3.6 m", True), ("3.4 m", False)])
def test_a_bass_loudspeaker_in_a_front_corner_hides_the_edge_of_a_wide_image(only_space, wide, told):
    """No baffle wall: the image hangs 80 mm from the wall, and cabinets 0.45 m wide and deep stand in the corners of a room
    4.4 m wide. An image 3.6 m wide begins 0.4 m from the wall, one of 3.4 m 0.5 m from it. They reach up to
    0.915 m, the image down to 0.8 m: 0.05 m x 0.115 m of 3.6 m x 2.025 m are 0.1 %, told as the least that is told."""
    found = problem(
        ("  rows: 2\n", "  rows: 1\n"),
        ("depth: {from: 0.3 m, to: 0.5 m}", "depth: 0 m"),
        ("width: {from: 2 m, to: 3.6 m}", f"width: {wide}"),
        more="bass: {arrangement: front_corners, height: 0.69 m}\n",
    )
    chosen = design(1, screen_width=float(wide[:3]), baffle_depth=0.0)
    said = [note for note in notes(found, only_space(found), chosen) if "stand before the image" in note]
    assert len(said) == told
    for note in said:
        assert "0.000 m from the left" in note and "4.400 m from the left" in note and "up to 1 % of it" in note
