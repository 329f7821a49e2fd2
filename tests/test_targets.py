"""Published bands: what the sources say, what a file makes of a set, how a design fares under all."""

from __future__ import annotations

import json
import math

import pytest
from click.testing import CliRunner

from optimiser.cli import program
from optimiser.errors import ProblemFileError, UsageError
from optimiser.fares import fares
from optimiser.measures import catalogue
from optimiser.problem.read import loads
from optimiser.problem.targets import FOLDER, NAMES, TRUST, target_set
from optimiser.solve import solve

DEG = math.pi / 180

# What the sources say, typed from them and not from the files: SI, radians.
PUBLISHED = [
    ("review-room", "picture_heights", 2.0, 4.0),  # SMPTE 196M-2003 cl. 9: 3 picture heights, give or take 1
    ("review-room", "off_axis_angle", None, 15 * DEG),  # the same: within 15 degrees of the perpendicular
    ("review-room", "upward_angle", None, 15 * DEG),
    ("review-room", "luminance", 48 - 3.5, 48 + 3.5),  # SMPTE ST 431-1:2006, review rooms
    ("cinema", "luminance", 48 - 10.2, 48 + 10.2),  # the same, theatres
    ("cinema", "horizontal_angle", 30 * DEG, None),  # SMPTE EG 18-1994
    ("cinema", "picture_heights", 1.0, 5.0),  # ITU-R BR.1220-1, Annex 1
    ("picture-house", "sightline_clearance", 4 * 0.0254, None),  # Theatre Catalog, 1945: 4 in
    ("picture-house", "upward_angle", None, 40 * DEG),
    # 2 and 6 image widths: 2 atan(1/12) and 2 atan(1/4)
    ("picture-house", "horizontal_angle", 2 * math.atan(1 / 12), 2 * math.atan(1 / 4)),
    ("surround-sound", "loudspeaker_angle", 30 * DEG, 30 * DEG),  # ITU-R BS.775-3, Fig. 1
    # the same figure's screens: 3 and 2 heights of a 16:9 image
    ("surround-sound", "horizontal_angle", 2 * math.atan(16 / 9 / 6), 2 * math.atan(16 / 9 / 4)),
    ("listening-room", "loudspeaker_angle", 22.5 * DEG, 37.5 * DEG),  # EBU Tech 3276: 60 give or take 15, halved
    ("large-picture", "horizontal_angle", 56 * DEG, 60 * DEG),  # around BT.1845's 58 degrees
]

ROOM = """\
format: 1
room: {length: 6 m, width: 4 m, height: 2.6 m}
front: {screen: {bottom: 0.7 m, width: {from: 1.5 m, to: 3.8 m}}}
seating: {rows: 1, seats: 3}
"""


@pytest.mark.parametrize(("name", "measure", "low", "high"), PUBLISHED)
def test_bands_are_those_of_the_sources(name, measure, low, high):
    (goal,) = [g for g in target_set(name).goals if g.measure == measure]
    near = 0.1 * DEG if measure.endswith("angle") else 5e-4
    for got, said in ((goal.low, low), (goal.high, high)):
        assert (got is None) == (said is None)
        assert got is None or got == pytest.approx(said, abs=near)


def test_every_band_says_where_it_comes_from():
    assert len(NAMES) >= 5 and set(NAMES) == {path.stem for path in FOLDER.glob("*.yaml")}
    for name in NAMES:
        found = target_set(name)
        assert found.title and len(found.about.split()) > 15
        for goal in found.goals:
            assert goal.measure in catalogue() and goal.trust in TRUST and goal.targets == name
            assert len(goal.source) > 10 and goal.row in ("reference", "all", "worst")
            if "as quoted" in goal.source or "as used by" in goal.source:
                assert goal.trust == "quoted"
            if goal.trust == "practice":
                assert "common practice" in goal.source
            if "from memory" in goal.source:
                assert goal.trust in ("memory", "read")  # of a band that was read, the fade may be remembered


def test_sets_disagree_where_sources_do():
    """No image suits the 1940s' rows, a review room's distances and one pixel an arc minute at once."""

    def angle(name):
        return next(g for g in target_set(name).goals if g.measure == "horizontal_angle")

    assert angle("picture-house").high < angle("cinema").low < angle("surround-sound").high < angle("large-picture").low


def test_a_file_takes_a_set_instead_of_goals():
    problem = loads(ROOM + "targets: surround-sound\n")
    assert [g.measure for g in problem.goals] == [g.measure for g in target_set("surround-sound").goals]
    assert problem.goals[0].where.line == 5
    solution = solve(problem, grid=0.01)
    assert solution.status == "optimal" and solution.score > 50


def test_own_goals_stand_above_those_of_a_set():
    own = "goals: [{measure: horizontal_angle, row: all, band: [40 deg, 44 deg], fade: 5 deg}]\n"
    problem = loads(ROOM + own + "targets: surround-sound\n")
    (angle,) = [g for g in problem.goals if g.measure == "horizontal_angle"]
    assert angle.low == pytest.approx(40 * DEG) and angle.targets is None
    assert len(problem.goals) == len(target_set("surround-sound").goals)


def test_what_the_file_has_no_data_for_is_left_out_and_told():
    problem = loads(ROOM + "targets: listening-room\n")
    solution = solve(problem, grid=0.01)
    assert "reverberation_ratio" in [g.measure for g in problem.goals]
    assert "reverberation_ratio" not in [g.goal.measure for g in solution.card.goals]
    from optimiser.notes import notes

    (said,) = [n for n in notes(problem, solution.space, solution.design) if "listening-room" in n]
    assert "reverberation ratio" in said and "room.reverberation_time" in said


def test_a_goal_of_ones_own_without_data_is_still_an_error():
    goals = "goals: [{measure: reverberation_ratio, at_most: 1.2, fade: 0.2}]\n"
    with pytest.raises(ProblemFileError, match="reverberation_ratio needs room.reverberation_time"):
        solve(loads(ROOM + goals), grid=0.01)


def test_unknown_sets():
    with pytest.raises(UsageError, match="did you mean 'cinema'"):
        target_set("cinemas")
    with pytest.raises(ProblemFileError, match="targets: 'cinemas': did you mean 'cinema'"):
        loads(ROOM + "targets: cinemas\n")


def test_scores_under_sets_are_those_of_files_with_the_sets():
    """A design scores under a set what it scores in a file that has the set for its goals."""
    problem = loads(ROOM + "targets: private-room\n")
    solution = solve(problem, grid=0.01)
    by_name = {fare.targets.name: fare for fare in fares(problem, solution.space, solution.design)}
    assert set(by_name) == set(NAMES)
    assert by_name["private-room"].score == pytest.approx(solution.score, abs=1e-9)
    assert ("luminance", "projector") in by_name["review-room"].left_out
    # a hand count: 2 atan(W / 2D) against the 1940s' 9.53 to 28.07 degrees, fade 8
    design = solution.design
    seen = 2 * math.atan(design["screen.width"] / 2 / design["row1.y"]) / DEG
    (angle,) = [g for g in by_name["picture-house"].goals if g.goal.measure == "horizontal_angle"]
    assert angle.score == pytest.approx(max(0.0, 1 - max(0.0, seen - 28.07) / 8), abs=1e-9)


def run(*arguments):
    result = CliRunner().invoke(program, list(arguments))
    assert result.exit_code == 0, result.output
    return result.output


def test_commands(tmp_path):
    listed = run("targets")
    assert "9.5-28.1°'" in listed and "44.5-51.5'" in listed and "30°" in listed and "designer to judge" in listed
    told = run("targets", "cinema", "--show", "ft-in")
    assert "at least 4 in" in told and "Theatre Catalog, 1945" in told
    assert "not found in its text" in " ".join(told.split())
    (first, *_) = json.loads(run("targets", "--json"))
    assert first["name"] == "cinema" and first["goals"][0]["band"] == [30.0, None]
    path = tmp_path / "room.yaml"
    path.write_text(ROOM + "targets: private-room\n")
    scored = json.loads(run("score", str(path), "--targets", "all", "--json", "--grid", "10 mm"))
    assert [one["name"] for one in scored["targets"]] == list(NAMES)
    shown = run("score", str(path), "--targets", "picture-house", "--grid", "10 mm", "--set", "screen.width=2 m")
    assert "Under published bands" in shown and "picture-house" in shown and "cinema" not in shown
    wrong = CliRunner().invoke(program, ["targets", "cinem"])
    assert isinstance(wrong.exception, UsageError) and "did you mean 'cinema'" in str(wrong.exception)


@pytest.mark.parametrize("system", ["ft-in", "in", "m", "cm", "mm"])
def test_how_far_each_band_is_to_be_trusted_is_in_the_list_whole(system):
    listed = run("targets", "--show", system).split("no mark:")[0]
    goals = [goal for name in NAMES for goal in target_set(name, catalogue()).goals]
    for mark, trust in (("?", "memory"), ("~", "practice"), ("'", "quoted")):
        assert listed.count(mark) == sum(goal.trust == trust for goal in goals), trust
