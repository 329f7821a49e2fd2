"""The projector over people and before their eyes, against lengths added up by hand.

A projector reaches 40 cm from its lens away from the image, 20 cm to either side, 10 cm down and 12 cm up: common
practice, no source.
"""

from __future__ import annotations

import pytest

from optimiser.hanging import below_the_projector, clear_height, into_the_building
from optimiser.notes import notes
from optimiser.score import Scorer
from optimiser.solve import solve
from optimiser.tidy import tidied
from optimiser.views import hidden
from tests.measures.conftest import problem
from tests.measures.test_projection import BEAM, ONE, value

OVER = ONE | {"projector.y": 5.0, "projector.z": 2.4}
"""The lens 2.4 m up over row 2, whose chairs go from 3.9 to 5.4 m; platform 0.3 m, heads at 1.52 m."""


def test_headroom_is_measured_under_the_projector(only_space):
    space = only_space(problem(more=BEAM))
    assert value(space, "standing_headroom", 2, design=OVER) == pytest.approx(2.4 - 0.1 - 0.3)
    assert value(space, "seated_headroom", 2, design=OVER) == pytest.approx(2.4 - 0.1 - 1.52)
    assert value(space, "standing_headroom", 1, design=OVER) == pytest.approx(2.7)
    assert below_the_projector(space, OVER) == pytest.approx(2.0)


def test_a_projector_behind_the_last_row_or_the_wall_is_over_nobody(only_space):
    behind = OVER | {"projector.y": 5.5}
    space = only_space(problem(more=BEAM))
    assert value(space, "standing_headroom", 2, design=behind) == pytest.approx(2.7 - 0.3)
    outside = OVER | {"projector.y": 7.5}
    assert below_the_projector(space, outside) is None


@pytest.mark.parametrize(("y", "z", "apart"), [(5.0, 1.55, -0.07), (5.0, 1.67, 0.05), (5.45, 1.2, 0.05)])
def test_the_projector_is_not_where_people_sit(only_space, y, z, apart):
    """0.1 m under the lens against heads at 1.52 m; or 5 cm behind chairs that end at 5.4 m."""
    space = only_space(problem(more=BEAM))
    there = OVER | {"projector.y": y, "projector.z": z}
    assert value(space, "row_obstruction_clearance", 2, design=there) == pytest.approx(apart)


def test_what_the_projector_hides_of_the_image(only_space):
    """Eyes at 5.2 m and 1.4 m look over an underside at 1.4 m into a body as far as 4.5 m, as high as 1.62 m: to them it
    hides all of the image, 0.8 m to 2.4875 m, that is higher than 1.4 m."""
    space = only_space(problem(more=BEAM))
    before = OVER | {"projector.y": 4.5, "projector.z": 1.5}
    (one,) = hidden(space, before)
    assert (one.row, one.projector) == (2, True) and 2 in one.seats
    assert one.share == pytest.approx((2.4875 - 1.4) / 1.6875, abs=1 / 27)
    assert any(
        "projector hides" in note and "hang it higher" in note for note in notes(problem(more=BEAM), space, before)
    )
    # the line to the upper edge passes 4.5 m at 1.4 + 1.0875 * 0.7 / 4.7; headroom needs more: 0.3 + 2.032 + 0.1
    assert clear_height(space, before) == pytest.approx(0.3 + 2.032 + 0.1)
    assert not hidden(space, before | {"projector.z": 1.4 + 1.0875 * 0.7 / 4.7 + 0.1 + 1e-6})


@pytest.mark.parametrize(("highest", "lens"), [("2.55 m", 2.45), ("2.2 m", 2.2)])
def test_among_equal_places_the_lens_hangs_out_of_the_way(highest, lens):
    """Over a platform of 0.3 m that leaves 2.032 m from 2.432 m on, 2.45 m in round figures; else as high as it can be."""
    more = BEAM.replace("y: {from: 5 m, to: 6.5 m}", "y: 5 m").replace(
        "z: {from: 2 m, to: 2.5 m}", "z: {from: 1.7 m, to: %s}"
    )
    fixed = (
        "  rows: 2\n",
        "  rows: 2\n  place: {row1.y: 3.5 m, row2.y: 5.2 m, row1.platform: 0 m, row2.platform: 30 cm}\n",
    )
    found = solve(problem(fixed, more=more % highest))
    assert found.design["projector.z"] == pytest.approx(lens)


@pytest.mark.parametrize(
    ("z", "boxes", "found"),
    [
        ("{from: 2 m, to: 2.38 m}", (), (6.0, 2.38)),
        ("2.38 m", (), (6.0, 2.38)),
        ("{from: 2 m, to: 2.45 m}", (), (5.5, 2.45)),  # where it is, higher
        # a projector 0.4 m long does not go between a duct that ends at 6.12 m and another that begins at 6.5 m
        ("2.38 m", ("[5.8 m, 6.12 m]", "[6.5 m, 6.6 m]"), (6.6, 2.38)),
    ],
)
def test_where_the_lens_may_hang_no_higher_it_hangs_over_lower_floor(only_space, z, boxes, found):
    """2.032 m under a projector, which reaches 0.1 m down: a lens at 2.38 m has that over the floor, and not over the
    platform of 0.3 m, which ends at 6 m. Its throw lets it be as far as 2.1 x 3 m from the image, that is at 6.8 m."""
    more = BEAM.replace("to: 6.5 m}", "to: 7 m}").replace("z: {from: 2 m, to: 2.5 m}", f"z: {z}")
    rows = "  place: {row1.y: 3.5 m, row2.y: 5.2 m, row1.platform: 0 m, row2.platform: 30 cm}\n"
    changes = [("to: 0.6 m}\n", "to: 0.6 m, behind: 0.6 m}\n" + rows)]
    ducts = ", ".join(f"{{x: [2 m, 2.4 m], y: {span}, z: [2.45 m, 2.7 m]}}" for span in boxes)
    changes.append(("reverberation_time: 0.3 s}", f"reverberation_time: 0.3 s, obstructions: [{ducts}]}}"))
    given = problem(*changes, more=more)
    space = only_space(given)
    there = space.complete(OVER | {"projector.y": 5.5, "projector.z": 2.38, "platform.behind": 0.6})
    tidy = tidied(Scorer(given, space), there)
    assert (tidy["projector.y"], tidy["projector.z"]) == pytest.approx(found)


def test_a_projector_low_over_a_platform_is_not_moved_out_of_the_room(only_space):
    """The platform of 0.3 m goes on to the rear wall, 7.2 m from the front: over it a lens at 2.38 m hangs too low
    everywhere. Its throw and the file would let it be in the next room, behind a hole in the wall."""
    rows = "  place: {row1.y: 3.5 m, row2.y: 5.2 m, row1.platform: 0 m, row2.platform: 30 cm}\n"
    beam = BEAM.replace("2.1]", "3]").replace("to: 6.5 m}", "to: 8 m}").replace("{from: 2 m, to: 2.5 m}", "2.38 m")
    given = problem(("  rows: 2\n", "  rows: 2\n" + rows), more=beam)
    space = only_space(given)
    tidy = tidied(Scorer(given, space), space.complete(OVER | {"projector.y": 6.0, "projector.z": 2.38}))
    assert tidy["projector.y"] == pytest.approx(6.0)


def test_a_projector_behind_the_rear_wall_is_not_tidied_into_the_room(only_space):
    """Its throw is 2.24 times an image of 3 m, and no more: a shallower baffle wall, 80 mm before the image, takes lens and
    rows along. From 7.3 m that goes as far as the wall, at 7.2 m, and 0.1 m less than 0.5 m of depth."""
    beam = BEAM.replace("2.1]", "2.24]").replace("to: 6.5 m}", "to: 8 m}").replace("{from: 2 m, to: 2.5 m}", "2.38 m")
    rows = "  place: {row1.platform: 0 m, row2.platform: 30 cm}\n"
    given = problem(("  rows: 2\n", "  rows: 2\n" + rows), ("width: {from: 2 m, to: 3.6 m}", "width: 3 m"), more=beam)
    space = only_space(given)
    there = {"baffle.depth": 0.5, "projector.y": 7.3, "projector.z": 2.38, "row1.y": 3.6, "row2.y": 5.3}
    tidy = tidied(Scorer(given, space), space.complete(OVER | there))
    assert (tidy["projector.y"], tidy["baffle.depth"]) == pytest.approx((7.2, 0.4))


def test_a_projector_over_a_platforms_edge_hangs_over_the_platform(only_space):
    """Its lens is 0.1 m before the platform of 0.3 m, which begins behind row 1's chairs at 3.7 m, and the rest over it."""
    space = only_space(problem(more=BEAM))
    assert below_the_projector(space, OVER | {"projector.y": 3.6}) == pytest.approx(2.4 - 0.1 - 0.3)
    assert below_the_projector(space, OVER | {"projector.y": 3.3}) == pytest.approx(2.4 - 0.1)


@pytest.mark.parametrize("z", [2.4, 1.6, 1.5])
def test_a_projector_hangs_however_low_it_is(only_space, z):
    """Over the way before row 2, which ends at its feet, 3.9 m: one passes under it at 1.3 m as little as at 2.1 m, though
    heads there are at 1.52 m."""
    space = only_space(problem(more=BEAM))
    there = OVER | {"projector.y": 3.75, "projector.z": z, "row1.y": 3.4}
    assert value(space, "standing_headroom", 2, design=there) == pytest.approx(z - 0.1 - 0.3)


@pytest.mark.parametrize(
    ("y", "ceiling", "told"),
    [
        (7.5, "", "2.700 m"),
        (7.5, ", ceiling: [{y: 0 m, height: 2.7 m}, {y: 7.2 m, height: 2.6 m}]", "2.600 m"),
        (7.2, "", None),  # at the wall's face
        (5.0, "", None),
    ],
)
def test_what_is_taken_of_the_next_room_is_told(only_space, y, ceiling, told):
    """The file describes one room; of a lens behind its rear wall, at 7.2 m, the ceiling is taken to be that at the wall."""
    given = problem(("reverberation_time: 0.3 s}", f"reverberation_time: 0.3 s{ceiling}}}"), more=BEAM)
    space, there = only_space(given), OVER | {"projector.y": y, "projector.z": 2.5}
    said = [note for note in notes(given, space, there) if note.startswith("The lens is behind the rear wall")]
    assert len(said) == bool(told) and all(f"as high as the room's at that wall, {told}," in note for note in said)


@pytest.mark.parametrize(
    ("y", "z", "into"),
    [
        # the room is 7.2 m long and 2.7 m high
        (6.8, 2.58, {}),
        (6.95, 2.4, {"the rear wall": 6.95 + 0.4 - 7.2}),
        (5.0, 2.65, {"the ceiling": 2.65 + 0.12 - 2.7}),
        (7.0, 2.69, {"the rear wall": 7.0 + 0.4 - 7.2, "the ceiling": 2.69 + 0.12 - 2.7}),
        (7.5, 2.65, {}),  # behind the wall, where the file says nothing of a ceiling
    ],
)
def test_a_projector_that_would_not_fit_is_told_of(only_space, y, z, into):
    given = problem(more=BEAM)
    space, there = only_space(given), OVER | {"projector.y": y, "projector.z": z}
    assert into_the_building(space, there) == pytest.approx(into)
    said = [note for note in notes(given, space, there) if note.startswith("The projector is taken to reach")]
    assert bool(said) == bool(into) and all(what in note for note in said for what in into)


@pytest.mark.parametrize(
    ("y", "z", "into"),
    [
        # from y to y + 0.4 and from z - 0.1 to z + 0.12, where the beam goes from 5.2 to 5.45 m, and up from 2.2 m
        (4.9, 2.5, {"'steel'": 4.9 + 0.4 - 5.2}),
        (4.7, 2.5, {}),  # before the beam
        (4.8, 2.5, {}),  # at its face
        (5.0, 2.05, {}),  # under it
        (5.0, 2.14, {"'steel'": 2.14 + 0.12 - 2.2}),  # the shortest way out is down
    ],
)
def test_a_projector_that_would_go_into_a_beam_is_told_of(only_space, y, z, into):
    steel = "{name: steel, x: [0 m, 4.4 m], y: [5.2 m, 5.45 m], z: [2.2 m, 2.7 m]}"
    beam = ("reverberation_time: 0.3 s}", f"reverberation_time: 0.3 s, obstructions: [{steel}]}}")
    given = problem(beam, more=BEAM)
    space, there = only_space(given), OVER | {"projector.y": y, "projector.z": z}
    assert into_the_building(space, there) == pytest.approx(into)
    said = [note for note in notes(given, space, there) if note.startswith("The projector is taken to reach")]
    assert bool(said) == bool(into) and all(what in note for note in said for what in into)
    assert all("0.100 m below it and 0.200 m to either side: here" in note for note in said)
