"""What obstructions hide of the image, against similar triangles worked by hand."""

from __future__ import annotations

import pytest

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
    said = " ".join(notes(found, only_space(found), design(1)))
    assert ("stands where side door is. Nothing" in said) == told
