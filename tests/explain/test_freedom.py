"""Freedom against every design of small rooms looked at."""

import json
import pickle
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner
from rooms import GRID, ONE_ROW, allowed, one_row, two_rows

from optimiser.cli import program
from optimiser.design import spaces
from optimiser.errors import UsageError
from optimiser.explain.freedom import Scope, Subject, begun_of, distance, form_of, freedom_of, subjects
from optimiser.explain.sayings import scope_words, subject_name
from optimiser.problem.read import loads
from optimiser.score import Scorer
from optimiser.search import MARGIN
from optimiser.solve import solve

LOSSES = (1.0, 5.0)


@pytest.fixture(scope="module", params=[one_row, two_rows], ids=["one row", "two rows"])
def free(request):
    problem = request.param()
    best = solve(problem, grid=GRID)
    (_, designs, scores), *_ = allowed(problem)
    return problem, best, freedom_of(problem, best, losses=LOSSES), designs, scores


def test_every_range_is_that_of_all_designs_near_the_best(free):
    _, best, freedom, designs, scores = free
    assert len(freedom.scopes) > 12
    for group in freedom.scopes:
        form = form_of(best.space, group[0].subject)
        with np.errstate(all="ignore"):
            values = np.broadcast_to(form.value(designs), scores.shape)
        for scope in group:
            assert scope.settled
            assert scope.at_best == pytest.approx(float(form.value(best.design)), abs=1e-9)
            floor = best.score - scope.loss
            certain, possible = values[scores >= floor + 0.1], values[scores >= floor - MARGIN - 1e-9]
            exact = values[scores >= floor]
            name = scope.subject.name
            # no farther than designs that score so go, and as far as those that score a hair more
            assert possible.min() - 1e-6 <= scope.low <= certain.min() + 1e-3, name
            assert certain.max() - 1e-3 <= scope.high <= possible.max() + 1e-6, name
            # and what is proven holds for every design
            assert scope.low_bound <= exact.min() + 1e-6 and scope.high_bound >= exact.max() - 1e-6, name
            assert scope.low_bound <= scope.low + 1e-9 and scope.high_bound >= scope.high - 1e-9
            if scope.choices:
                assert set(np.unique(certain)) <= set(scope.choices) <= set(np.unique(possible)), name


def test_more_loss_gives_more_freedom(free):
    _, _, freedom, _, _ = free
    for narrow, wide in freedom.scopes:
        assert wide.low <= narrow.low + 1e-6 and wide.high >= narrow.high - 1e-6


def test_designs_that_differ_are_as_good_and_apart(free):
    problem, best, freedom, designs, scores = free
    assert freedom.others
    spans = {g[0].subject.name: g[0].high - g[0].low for g in freedom.scopes if not g[0].subject.measure}
    spans = {name: span for name, span in spans.items() if span > 1e-9}
    seen = [best.design]
    near = scores >= best.score - freedom.loss
    for other in freedom.others:
        card = Scorer(problem, other.space).card(other.design)
        assert not card.broken
        assert card.score == pytest.approx(other.score) and other.score >= best.score - freedom.loss - 1e-6
        assert other.distance == pytest.approx(min(distance(other.design, d, spans) for d in seen))
        apart = np.min([sum(np.abs(designs[n] - d[n]) / s for n, s in spans.items()) for d in seen], axis=0)
        assert apart[near].max() <= other.farthest + 1e-6
        assert other.distance > 0.0
        seen.append(other.design)
    first = freedom.others[0]
    apart = sum(np.abs(designs[n] - best.design[n]) / s for n, s in spans.items())
    assert first.distance >= 0.9 * apart[near].max()


LOFT = """\
format: 1
title: Mill loft
show: cm
room:
  length: 6.10 m
  width: 3.90 m
  height: 2.55 m
  doors:
    - {name: door, wall: left, hinge: 5.9 m, leaf: 0.8 m, towards: front, opens: out}
  reverberation_time: 0.3 s
front:
  baffle: {depth: {from: 30 cm, to: 50 cm}, margin: 5 cm}
  screen: {aspect: "16:9", width: {from: 2.2 m, to: 3.2 m}, bezel: 6 cm, gap: 5 cm, bottom: {from: 50 cm, to: 90 cm}}
seating:
  rows: 2
  reference_row: 1
  seats: 3
  chair: {width: 70 cm, depth: 90 cm, reclined: 140 cm, eye_height: 106 cm, eye_to_back: 20 cm, head_above_eye: 12 cm}
  aisle: {sides: one, width: 80 cm}
  platform: {step: 1 cm, to: 35 cm, risers: 2}
limits:
  - {measure: listening_distance, at_least: 2.3 m}
  - {measure: walkway, at_least: 35 cm}
  - {measure: sightline_clearance, at_least: 6 cm}
  - {measure: rear_wall_distance, at_least: 0.5 m}
  - {measure: standing_headroom, at_least: 2.0 m, firm: true}
goals:
  - {measure: horizontal_angle, row: reference, band: [48 deg, 54 deg], fade: 8 deg, weight: 5}
  - {measure: upward_angle, at_most: 15 deg, fade: 15 deg, weight: 2}
  - {measure: midpoint_offset, at_least: 45 cm, fade: 45 cm, weight: 2}
  - {measure: sightline_clearance, at_least: 12 cm, fade: 6 cm, weight: 2}
  - {measure: image_width, at_least: 2.9 m, fade: 0.8 m, weight: 2}
"""


def test_no_design_that_is_shown_lies_beyond_an_end_that_is_told():
    """Ends are known to a share of the way between them, and one of the designs that differ lay 2 mm beyond one."""
    problem = loads(LOFT)
    best = solve(problem)
    freedom = freedom_of(problem, best)
    assert freedom.others
    # shown with their scores under 'within 1 point': 1.05 points less reads as 1.1
    assert all(other.score >= best.score - 1.0 - 1e-6 for other in freedom.others)
    for (scope,) in freedom.scopes:
        form = form_of(best.space, scope.subject)
        for other in freedom.others:
            assert scope.low - 1e-9 <= float(form.value(other.design)) <= scope.high + 1e-9, scope.subject
        assert scope.low_bound <= scope.low <= scope.high <= scope.high_bound


def test_every_measure_can_be_asked_for():
    problem = one_row()
    best = solve(problem, grid=GRID)
    few, many = freedom_of(problem, best, others=0), freedom_of(problem, best, every=True, others=0)
    assert {g[0].subject.name for g in few.scopes} < {g[0].subject.name for g in many.scopes}
    assert "baffle_width" in {g[0].subject.name for g in many.scopes}
    assert not many.others


def test_the_space_is_the_best_designs_own():
    """Spaces that differ in nothing but where the bass loudspeakers stand are told apart."""
    bass = (
        "bass: {arrangement: {choose: [front_pair, one_corner, four_corners]}, height: 0.3 m}\nseating:\n",
        "  - {measure: deepest_dip, row: all, at_most: 3 dB, fade: 12 dB, weight: 4}\n",
    )
    problem = loads(ONE_ROW.replace("seating:\n", bass[0]) + bass[1])
    best = solve(problem, grid=GRID)
    others = [s for s in spaces(problem, grid=GRID) if s.settled != best.space.settled]
    assert others[0].settled["bass.arrangement"] < best.space.settled["bass.arrangement"]  # not the first of them
    freedom = freedom_of(problem, best, others=0)
    for (scope,) in freedom.scopes:
        assert scope.settled and scope.low <= scope.at_best <= scope.high


def test_it_is_the_same_begun_beforehand(free):
    problem, best, freedom, _, _ = free
    begun = begun_of(problem, best, losses=LOSSES)
    there = freedom_of(problem, best, losses=LOSSES, begun=pickle.loads(pickle.dumps(begun)))
    assert there == freedom
    assert [dict(domains).keys() for domains in begun.domains] == [best.space.domains.keys()] * len(LOSSES)


def test_an_impossible_problem_has_no_freedom():
    problem = one_row(text={"at_least: 2.2 m": "at_least: 4.2 m"})
    with pytest.raises(UsageError, match="an impossible problem has no freedom"):
        freedom_of(problem, solve(problem, grid=GRID))


def test_words(free):
    problem, _, freedom, _, _ = free
    by_name = {subject_name(g[0].subject): scope_words(problem, g[0]) for g in freedom.scopes}
    width = next(g[0] for g in freedom.scopes if g[0].subject.name == "screen.width")
    assert by_name["image width"].startswith(f"{width.low:.3f} m")
    assert any(name.startswith("horizontal angle, row 1") for name in by_name)
    assert "perhaps" not in by_name["image width"]
    given_up = replace(width, low_bound=width.low - 0.5, high_bound=width.high + 0.25)
    beyond = f"perhaps {width.low - 0.5:.3f} m to {width.high + 0.25:.3f} m"
    assert scope_words(problem, given_up) == f"{width.low:.3f} m to {width.high:.3f} m, {beyond}"


class TestCommand:
    def run(self, tmp_path, *words):
        path = tmp_path / "den.yaml"
        path.write_text(ONE_ROW, encoding="utf-8")
        words = ["freedom", str(path), "--grid", "10 cm", *words]
        return CliRunner().invoke(program, words, standalone_mode=False, catch_exceptions=False).output

    def test_table(self, tmp_path):
        text = self.run(tmp_path, "--within", "1", "--within", "5")
        assert "within 1 point" in text and "within 5 points" in text
        assert "Designs within 1 point that differ" in text
        assert "row 1, ears from the front wall" in text

    def test_record(self, tmp_path):
        record = json.loads(self.run(tmp_path, "--json", "--others", "1"))
        scope = next(s for s in record["scopes"] if s["decision"] == "screen.width")
        (within,) = scope["within"]
        assert within["proven_from"] <= within["from"] <= scope["at_best"] <= within["to"] <= within["proven_to"]
        assert len(record["others"]) == 1


def test_nothing_lies_between_left_and_right():
    """Of an aisle at one side, which may be either; of numbers of risers two lies between one and three."""
    problem = two_rows()
    both = Scope(Subject("aisle.side", "count"), 1.0, 0.0, 0.0, 1.0, 0.0, 1.0)
    assert scope_words(problem, both) == "left or right"
    assert scope_words(problem, replace(both, high=0.0, high_bound=0.0)) == "left"
    risers = replace(both, subject=Subject("row2.risers", "count"), low=1.0, low_bound=1.0, high=3.0, high_bound=3.0)
    assert scope_words(problem, risers) == "1 to 3"


STEPPED = """\
format: 1
title: One step or none
show: cm
room: {length: 6.6 m, width: 4.2 m, height: 2.7 m}
front: {screen: {aspect: "16:9", width: {from: 2.4 m, to: 3.4 m}, bottom: 70 cm}}
seating:
  rows: 2
  seats: 3
  platform: {step: 2 cm, to: 20 cm, risers: 2, going: 28 cm}
limits:
  - {measure: walking_line, at_most: 70 cm}
goals:
  - {measure: horizontal_angle, row: reference, band: [48 deg, 55 deg], fade: 15 deg, weight: 5}
  - {measure: platform_height, row: 2, at_most: 0 cm, fade: 100 cm, weight: 1}
"""


def test_no_freedom_of_steps_that_no_design_has():
    """Within 0.02 points the platform is at most 0.12 cm high, and so level on a grid of 2 cm; within 2 points it may have
    a step. A last platform's end behind its chairs is nothing where it lies on the floor."""
    problem = loads(STEPPED.replace("going: 28 cm}", "going: 28 cm, behind: {from: 60 cm, to: 80 cm}}"))
    best = solve(problem)

    def told(loss):
        found = freedom_of(problem, best, losses=(loss,), others=2)
        return {group[0].subject.name for group in found.scopes}, found

    assert best.design["row2.platform"] == 0.0
    level, found = told(0.02)
    steps = {"row2.risers", "platform.behind"}
    assert not steps & level and "row2.platform" in level
    assert steps <= told(2.0)[0]


def test_what_is_proven_is_never_beyond_a_limit():
    """Where the solver has next to no time, a limit on a measure is what is proven of it."""
    problem = loads(STEPPED.replace("walking_line, at_most: 70 cm}", "sightline_clearance, at_least: -20 cm}"))
    best = solve(problem)
    found = freedom_of(problem, best, losses=(60.0,), others=0, effort=1e-9)
    (scope,) = next(g for g in found.scopes if g[0].subject.measure == "sightline_clearance")
    assert -0.2 - 2e-6 <= scope.low_bound <= scope.low
    form = form_of(best.space, scope.subject)
    assert form.interval(best.space.bounds)[0] < -0.2  # without it, anything


def test_rows_that_lie_level_do_not_count_in_the_reach_of_what_is_measured_of_steps():
    """By hand: a row that lies level has no step and no walking line (2 risers and a going). A weight of 1 in 6 over
    100 cm is 1 point for 6 cm, so that within 2 points a platform is 12 cm high at most: one step of 12 cm over a going
    of 28 cm makes 52 cm, two of 1 cm make 30 cm."""
    problem = loads(STEPPED)
    best = solve(problem)
    (line,) = (
        g
        for g in freedom_of(problem, best, losses=(0.2, 2.0), others=0).scopes
        if g[0].subject.measure == "walking_line"
    )
    near, far = line
    assert best.design["row2.platform"] == 0.0
    assert near.at_best is None and near.nowhere and scope_words(problem, near) == "none"
    assert (far.low, far.high) == (pytest.approx(0.30), pytest.approx(0.52))
    assert far.low_bound <= far.low and far.high <= far.high_bound
    level = loads(STEPPED.replace("platform: {step: 2 cm, to: 20 cm, risers: 2, going: 28 cm}", "platform: {to: 0 cm}"))
    assert "walking_line" not in {s.measure for s in subjects(level, solve(level).space)}
