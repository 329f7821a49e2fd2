"""Whatever a good file holds, questions about what cannot be are answered, too."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from rooms import GRID, one_row, two_rows

from optimiser.errors import UsageError
from optimiser.explain.conflicts import conflicts_of
from optimiser.explain.members import members, natural
from optimiser.explain.possible import Oracle
from optimiser.explain.prices import all_moves, moved, prices_of, read_move
from optimiser.explain.wishes import granted, measure_wish
from optimiser.problem.decisions import with_fixed
from optimiser.problem.model import Fixed
from optimiser.problem.parts import part, with_value
from optimiser.problem.read import load
from optimiser.requirements import all_limits
from optimiser.solve import solve

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def coach_house():
    """One row, and a choice of bass loudspeakers."""
    return load(ROOT / "problems" / "coach-house.yaml")


class TestBass:
    def test_a_row_nearer_than_people_fit_is_a_conflict(self, coach_house):
        # by hand: with no baffle the image is 0.08 m from the front wall; a reclined chair reaches
        # 1.50 - 0.20 = 1.30 m before the ears: 1.38 m, on the grid of 20 mm
        wished = with_fixed(coach_house, "row1.y", 0.60)
        found = conflicts_of(Oracle(wished, grid=0.02), most=1)
        (conflict,) = found.found
        (short,) = [s for s in conflict.shortfalls if s.member.path == "seating.place.row1.y"]
        assert short.reached == pytest.approx(1.38, abs=1e-9)

    def test_ears_above_the_ceiling_and_a_baffle_longer_than_the_room_are_impossible(self, coach_house):
        found = solve(with_fixed(coach_house, "row1.platform", 3.0), grid=0.05)
        assert found.status == "impossible"
        assert "seated_headroom" in {all_limits(coach_house)[at].measure for at in found.conflict}
        assert solve(with_fixed(coach_house, "baffle.depth", 7.0), grid=0.05).status == "impossible"

    def test_with_loudspeakers_overhead_no_row_is_thought_of_at_their_height(self, coach_house):
        # by hand: 2.40 m less 0.40 m below which the bass is known less 1.08 m to the ears
        high = with_value(coach_house, "bass.height", 2.40)
        first = part(high, "seating.platform.first")
        assert natural(high, first).high == pytest.approx(0.92)
        assert Oracle(high, grid=0.05).holds(frozenset())
        every = [m for m in members(high) if m.path != "seating.platform.first"]
        assert Oracle(high, grid=0.05).holds(every)

    def test_a_row_put_at_the_loudspeakers_height_is_told(self, coach_house):
        high = with_value(coach_house, "bass.height", 2.40)
        with pytest.raises(
            UsageError, match=r"loudspeaker at 2\.400 m is at the height of the ears: .* below 1\.880 m"
        ):
            solve(with_fixed(high, "row1.platform", 1.2), grid=0.05)

    def test_no_price_is_asked_of_rows_at_the_loudspeakers_height(self):
        # by hand: 1.10 m to the ears, 0.40 m of platform, and 0.40 m below which the bass is known: 1.90 m
        bass = "  reverberation_time: 0.35 s\nbass: {arrangement: front_corners, height: 1.95 m}\n"
        problem = two_rows(text={"  reverberation_time: 0.35 s\n": bass})
        higher = [m for m in all_moves(problem, {"length": 0.1}) if m.path == "seating.platform.to" and m.looser]
        with pytest.raises(UsageError, match="stand at the height of the ears"):
            moved(problem, higher[0])
        assert moved(problem, replace(higher[0], after=0.44)).seating.platforms.to == pytest.approx(0.44)


LINED = {
    "reverberation_time: 0.3 s": "surfaces:\n"
    "    - {of: floor, material: carpet on felt}\n"
    "    - {name: all walls, of: walls, material: two layers of plasterboard}\n"
    "  treatment: {panels: {from: 0, to: 6}, panel: 0.7 m2, on: all walls, material: mineral wool 50 mm}",
}


class TestSurfaces:
    def test_a_room_with_surfaces_has_prices_and_conflicts(self):
        problem = one_row(text=LINED)
        move = read_move(problem, "room.height", "+0.1 m")
        (group,) = prices_of(problem, solve(problem, grid=GRID), moves=[move]).still
        assert group[0].move == move  # by hand: no goal is about how sound dies away, nothing is near the ceiling
        too_wide = granted(problem, (measure_wish("image_width", "5 m", at_least=True),))
        (conflict,) = conflicts_of(Oracle(too_wide, grid=GRID), most=1).found
        (need,) = [need for need in conflict.needs if need.path == "room.width"]
        assert need.needed == pytest.approx(5.0)  # a width of 5 m needs as much

    def test_what_a_file_could_not_say_is_refused(self):
        problem = one_row(text=LINED)
        # by hand: 6 panels of 15 m2 are 90 m2; the walls are 2 (5.2 + 3.6) 2.5 = 44 m2
        with pytest.raises(UsageError, match="so many panels cover 90 m2, more than 'all walls' has"):
            with_value(problem, "room.treatment.panel", 15.0)
        with pytest.raises(UsageError, match="absorb more than falls on them"):
            with_value(one_row(text=BARE), "room.surfaces.surface.absorption.1", 1.0)


BARE = {
    "reverberation_time: 0.3 s": "surfaces: [{of: floor, absorption: [0.1, 0.1, 0.1, 0.1, 0.1, 0.1]}]",
}


class TestDecisionsThatCannotBe:
    def test_positions_of_ones_own_that_the_file_has_not(self, coach_house):
        with pytest.raises(UsageError, match="bass.arrangement: own means positions that the problem file gives"):
            with_fixed(coach_house, "bass.arrangement", "own")

    def test_more_panels_than_the_walls_have_room_for(self):
        problem = one_row(text=LINED)
        # by hand: the walls are 2 (5.2 + 3.6) 2.5 = 44 m2; 62 panels of 0.7 m2 are 43.4 m2, 63 are 44.1 m2
        assert with_fixed(problem, "treatment.panels", "62").room.treatment.panels == Fixed(62.0)
        with pytest.raises(UsageError, match=r"cover 44\.1 m2, more than 'all walls' has \(44 m2\): 62 at most"):
            with_fixed(problem, "treatment.panels", "63")
        assert natural(problem, part(problem, "room.treatment.panels")).high == 62.0

    def test_the_command_says_so_and_exits_with_2(self):
        file = str(ROOT / "problems" / "coach-house.yaml")
        answer = subprocess.run(
            [sys.executable, "-m", "optimiser", "solve", file, "--fix", "bass.arrangement=own"],
            capture_output=True,
            text=True,
        )
        assert (answer.returncode, answer.stdout) == (2, "")
        assert answer.stderr.startswith("bass.arrangement: own means positions")
