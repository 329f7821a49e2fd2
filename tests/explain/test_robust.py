"""Designs that hold at every corner: corners looked at one by one, and every design of small rooms tried."""

import itertools
import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from rooms import GRID, ONE_ROW, every_design, one_row, two_rows

from optimiser.cli import program
from optimiser.design import spaces
from optimiser.errors import UsageError
from optimiser.explain.people import extremes
from optimiser.explain.robust import corner_bounds, corners, robust
from optimiser.problem.model import Limit, People
from optimiser.problem.parts import parts, with_value
from optimiser.problem.read import load
from optimiser.problem.spreads import spread
from optimiser.requirements import bounds
from optimiser.score import Scorer, slack_of
from optimiser.search import MARGIN
from tests.support.kit import a_list, listed

ROOT = Path(__file__).parents[2]
PLACES = "place: {row1.y: {from: 2.6 m, to: 3.4 m}, row2.y: {from: 4.2 m, to: 5.6 m}}\n  platform: {step"


TIGHT = {"rear_wall_distance, at_least: 0.9 m": "rear_wall_distance, at_least: 1.95 m"}  # short of the midpoint's goal
DEEP = {"depth: {from: 0.2 m, to: 0.4 m}": "depth: {from: 0.5 m, to: 0.7 m}"}  # into the door's way
STEEP = {"platform: {step": PLACES, "to: 0.4 m, risers: 2": "to: 0.9 m, risers: 5"}


def tight_row():
    return one_row(text=TIGHT)


def varying(problem, amounts, people=None):
    return replace(problem, tolerances=tuple(spread(problem, n, t) for n, t in amounts.items()), people=people)


def moved_apart(problem, amounts):
    """Each corner as a problem of its own, changed number by number, and how far its decisions are off."""
    numbers = {p.path: p.value for p in parts(problem) if not p.decided}
    for signs in itertools.product((-1.0, 1.0), repeat=len(amounts)):
        other, off = problem, {}
        for sign, (name, amount) in zip(signs, amounts.items()):
            if name in numbers:
                other = with_value(other, name, numbers[name] + sign * amount)
            else:
                off[name] = sign * amount
        yield other, off


def holds_at(problem, other, space, designs, off):
    """Whether the limits of the first problem hold in the other one, with decisions off by so much."""
    there = next(s for s in spaces(other, grid=GRID) if s.settled == space.settled)
    there = replace(there, domains=space.domains)
    shifted = {name: values + off.get(name, 0.0) for name, values in designs.items()}
    good = np.asarray(True)
    for bound in bounds(other, there):
        good = good & (slack_of(bound.limit, bound.form.value(shifted)) >= -1e-6)
    return good


CASES = {
    "a row and the room's length": (tight_row, {"row1.y": 0.04, "room.length": 0.03}),
    "everything at the front": (one_row, {"screen.width": 0.03, "baffle.depth": 0.02, "front.baffle.margin": 0.01}),
    "the door": (lambda: one_row(text=DEEP), {"room.doors.entry.hinge": 0.05, "baffle.depth": 0.03}),
    "two rows": (
        lambda: two_rows(text={"platform: {step": PLACES}),
        {"row1.y": 0.02, "row2.y": 0.02, "row2.platform": 0.01, "screen.bottom": 0.02},
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_no_design_that_holds_at_every_corner_scores_more(name):
    make, amounts = CASES[name]
    problem = varying(make(), {n: f"{a} m" for n, a in amounts.items()})
    found = robust(problem, grid=GRID, samples=640)
    assert len(found.corners) == 2 ** len(amounts)
    best = -1.0
    for space, designs in every_design(problem):
        kept = {n: np.asarray(v) for n, v in designs.items()}
        good = Scorer(problem, space).shortfall(kept) <= 0.0
        for other, off in moved_apart(problem, amounts):
            good = good & holds_at(problem, other, space, kept, off)
        scores = np.broadcast_to(Scorer(problem, space).scores(kept), np.shape(kept["row1.y"]))[good]
        best = max(best, float(scores.max(initial=-1.0)))
    assert found.solution.status == "optimal"
    assert found.solution.score == pytest.approx(best, abs=MARGIN)
    assert best <= found.solution.bound + 1e-9
    # the tolerances cost something here: else the test would show nothing
    assert found.solution.score < found.plain.score - 0.05 or name == "everything at the front"


def test_each_corner_holds_when_looked_at_by_itself():
    problem = load(ROOT / "problems" / "boathouse-loft.yaml")
    inch = 0.0254
    amounts = {
        "row1.y": inch / 2, "row2.y": inch / 2, "baffle.depth": inch / 4,
        "room.length": inch / 2, "room.doors.entry.hinge": inch / 2,
    }  # fmt: skip
    problem = varying(problem, {n: f"{a} m" for n, a in amounts.items()})
    found = robust(problem, samples=640)
    design, space = found.solution.design, found.solution.space
    plain_breaks = 0
    for other, off in moved_apart(problem, amounts):
        there = next(s for s in spaces(other) if s.settled == space.settled)
        card = Scorer(other, there).card({n: v + off.get(n, 0.0) for n, v in design.items()})
        assert not card.broken
        card = Scorer(other, there).card({n: v + off.get(n, 0.0) for n, v in found.plain.design.items()})
        plain_breaks += bool(card.broken)
    assert plain_breaks > 0
    assert found.solution.status == "optimal" and found.solution.bound < found.plain.score
    assert found.cases.all_hold.value == 1.0  # its limits are monotone in each of these inputs


def test_a_corner_tells_the_limit_that_is_nearest_to_breaking_there():
    """Each corner as a problem of its own, with every limit's slack: its value less what it must be
    at least, or what it may be at most less its value."""
    problem = varying(one_row(), {"row1.y": "4 cm", "room.length": "3 cm"})
    found = robust(problem, grid=GRID, samples=64)
    design = found.solution.design
    assert len(found.corners) == 4
    for corner, (other, off) in zip(found.corners, moved_apart(problem, {"row1.y": 0.04, "room.length": 0.03})):
        there = next(s for s in spaces(other, grid=GRID) if s.settled == found.solution.space.settled)
        apart = {}
        for bound in bounds(other, there):
            value = float(bound.form.value({n: v + off.get(n, 0.0) for n, v in design.items()}))
            least, most = bound.limit.at_least, bound.limit.at_most
            slack = min(math.inf if least is None else value - least, math.inf if most is None else most - value)
            apart[bound.limit.measure, bound.row] = min(slack, apart.get((bound.limit.measure, bound.row), math.inf))
        assert corner.slack == pytest.approx(min(apart.values()), abs=1e-9)
        assert apart[corner.tightest.measure, corner.row] == pytest.approx(corner.slack, abs=1e-9)


def test_people_small_and_large_sit_in_every_row():
    problem = replace(two_rows(text=STEEP), people=People("ansur_ii", 0.5))
    found = robust(problem, grid=GRID, samples=640)
    assert len(found.corners) == 4
    (small, _), (large, _) = extremes(problem.people)
    # ANSUR II: sitting eye height, 5th percentile of women 698 mm, 95th of men 860 mm, about their common mean
    assert small == pytest.approx(0.698 - 0.7761, abs=0.002) and large == pytest.approx(0.860 - 0.7761, abs=0.002)
    design, layout = found.solution.design, found.solution.space.layout
    distance = design["row1.y"] - float(layout.image_y.value(design))
    pitch = design["row2.y"] - design["row1.y"]
    seen = []
    for front, back in itertools.product((small, large), repeat=2):
        eyes = 1.1 + front, design["row2.platform"] + 1.1 + back
        above = eyes[0] - design["screen.bottom"]
        seen.append((distance * (eyes[1] - eyes[0]) - above * pitch) / (distance + pitch))
    assert min(seen) >= 0.05 - 1e-6  # the file's limit: 5 cm


def test_a_share_of_cases_asks_for_less_than_every_corner():
    problem = varying(tight_row(), {"row1.y": "4 cm", "room.length": "3 cm", "screen.width": "2 cm"})
    whole = robust(problem, samples=2000)
    part = robust(problem, share=0.9, samples=2000)
    assert 0.0 < part.reach < 1.0
    assert part.cases.all_hold.value - part.cases.all_hold.error >= 0.9
    assert whole.solution.score - 1e-6 <= part.solution.score <= part.plain.bound
    assert all(c.holds for c in part.corners)
    easy = robust(problem, share=0.0001, samples=640)
    assert easy.reach == 0.0 and easy.solution.score == pytest.approx(easy.plain.score)


def test_a_share_of_cases_may_be_had_where_every_corner_may_not():
    """Between 90.0 cm and 93.6 cm there is no room for 2 cm to either side. A share r of 2 cm from the one end, the
    other is too far to matter as long as r is 0.8 at most: half the cases hold, and r of the other half."""
    narrow = {"rear_wall_distance, at_least: 0.9 m": "rear_wall_distance, at_least: 0.9 m, at_most: 0.936 m"}
    problem = varying(one_row(text=narrow), {"row1.y": "2 cm"})
    assert robust(problem).solution.status == "impossible"
    found = robust(problem, share=0.8, samples=2000)
    assert 0.6 <= found.reach < 0.62
    assert found.cases.all_hold.value - found.cases.all_hold.error >= 0.8
    assert robust(problem, share=0.95, samples=2000).solution.design is None


def test_corners_are_drawn_in_as_told():
    problem = varying(one_row(), {"row1.y": "4 cm", "room.length": "3 cm"})
    space = next(iter(spaces(problem, grid=GRID)))
    assert {tuple(c.values()) for c in corners(problem, space, 0.5)} == {
        (sign * 0.02, other * 0.015) for sign in (-1, 1) for other in (-1, 1)
    }


def test_too_much_is_refused():
    problem = one_row()
    with pytest.raises(UsageError, match="tolerances:"):
        robust(problem)
    with pytest.raises(UsageError, match="no tolerance of a building"):
        robust(varying(problem, {"row1.y": "20 cm"}), grid=GRID)
    every = ["row1.y", "screen.width", "screen.bottom", "baffle.depth", "room.length", "room.width", "room.height"]
    every += ["front.baffle.margin", "front.screen.gap"]
    with pytest.raises(UsageError, match="at most 8"):
        robust(varying(problem, dict.fromkeys(every, "1 cm")), grid=GRID)
    with pytest.raises(UsageError, match="follows from other decisions"):
        robust(varying(problem, {"baffle.width": "1 cm"}), grid=GRID)


def test_as_many_tolerances_as_are_allowed_are_not_too_many(monkeypatch):
    monkeypatch.setattr("optimiser.explain.robust.MOST", 1)
    found = robust(varying(one_row(), {"row1.y": "1 cm"}), grid=GRID, samples=64)
    assert found.solution.status == "optimal" and len(found.corners) == 2
    with pytest.raises(UsageError, match="at most 1"):
        robust(varying(one_row(), {"row1.y": "1 cm", "room.length": "1 cm"}), grid=GRID)


def test_what_is_not_given_cannot_be_a_little_off():
    """Cabinets of a depth that the file leaves out ask for no room behind the baffle's face: a little off from that they
    would, and of the room's own limits there would be others at the corners than on the design as drawn."""
    problem = one_row()
    for key in ("depth", "least_distance"):
        with pytest.raises(UsageError, match="counts as not given"):
            varying(problem, {f"front.loudspeakers.{key}": "1 cm"})
    shallow, deep = (
        a_list("loudspeakers", names=("E", "F"), prices=(1, 2), depth=depths) for depths in ((0, 0), (0, 0.3))
    )
    with pytest.raises(UsageError, match="counts as not given"):
        varying(listed(problem, shallow), {"front.loudspeakers.choose.E.depth": "1 cm"})
    assert varying(listed(problem, deep), {"front.loudspeakers.choose.F.depth": "1 cm"}).tolerances
    given = with_value(problem, "front.loudspeakers.depth", "25 cm")
    assert varying(given, {"front.loudspeakers.depth": "1 cm"}).tolerances


def run(*arguments):
    return CliRunner().invoke(program, list(arguments))


def test_the_command_says_what_is_proven_and_what_is_not(tmp_path):
    path = tmp_path / "room.yaml"
    path.write_text(ONE_ROW)
    common = ("solve", str(path), "--grid", "10 cm", "--robust", "--spread", "row1.y=4 cm")
    told = " ".join(run(*common).output.split())
    assert "without tolerances the best scores" in told
    assert "Proven: no design on the 0.100 m grid that holds at all of these corners scores more than" in told
    assert "Between and beyond the corners nothing is proven" in told
    told = " ".join(run(*common, "--share", "60 %").output.split())
    assert "That is sampled, not proven" in told
    record = json.loads(run(*common, "--json").output)
    assert record["robust"]["corners"] == 2 and record["robust"]["reach"] == 1.0
    assert record["score"] <= record["robust"]["score_without_tolerances"]
    assert run("solve", str(path), "--share", "60 %").exception is not None


def test_an_impossible_wish_for_tolerance_ends_with_code_3(tmp_path):
    path = tmp_path / "room.yaml"
    path.write_text(ONE_ROW.replace("rear_wall_distance, at_least: 0.9 m", "rear_wall_distance, at_least: 2.5 m"))
    tight = ("solve", str(path), "--grid", "10 cm", "--robust", "--spread", "row1.y=13 cm")
    tight += ("--spread", "baffle.depth=13 cm")
    told = run(*tight)
    assert told.exit_code == 3
    assert "no design on the grid holds its limits at every corner" in " ".join(told.output.split())


SURFACES = """surfaces:
    - {name: walls, of: walls, material: gypsum board}
    - {name: floor, of: floor, material: carpet on felt}
  treatment: {panels: {from: 0, to: 30}, panel: 0.72 m2, material: mineral wool 50 mm, on: walls}
"""


def test_limits_on_tables_and_sums_are_asked_at_every_corner():
    """A bass table knows no height of the image: of four corners two ask the same of each row. Of a sum
    nothing can be told the same: it is asked at all four."""
    amounts = {"row1.y": "1 cm", "screen.bottom": "1 cm"}
    bass = load(ROOT / "problems" / "coach-house.yaml")
    bass = replace(bass, limits=(*bass.limits, Limit("deepest_dip", "all", None, 25.0)))
    panels = one_row(text={"reverberation_time: 0.3 s\n": SURFACES})
    panels = replace(panels, limits=(*panels.limits, Limit("direct_to_reverberant", "all", -20.0, None)))
    for problem, measure, times in ((bass, "deepest_dip", 2), (panels, "direct_to_reverberant", 4)):
        problem = varying(problem, amounts)
        found = robust(problem, samples=64)
        assert found.solution.status == "optimal" and len(found.corners) == 4
        scorer = Scorer(problem, found.solution.space)
        plain = [b for b in scorer.bounds if b.limit.measure == measure]
        moved = [b for b in corner_bounds(problem, scorer, 1.0) if b.limit.measure == measure]
        assert len(moved) == times * len(plain) > 0
