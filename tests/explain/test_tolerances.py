"""Chances and spreads against closed forms, against formulas written again, and case by case."""

import io
import json
import math
from dataclasses import replace
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest
from click.testing import CliRunner
from rich.console import Console
from rooms import GRID, ONE_ROW, one_row, two_rows

from optimiser.cli import program
from optimiser.design import spaces
from optimiser.errors import UsageError
from optimiser.explain.cases import CHECKED, PORTION, Cases, eye, head, shifted
from optimiser.explain.people import TABLES, drawn, mean
from optimiser.explain.tolerances import SAMPLES, SEQUENCES, SLOW, _Goals, estimate, sampled, tolerated
from optimiser.problem.model import People
from optimiser.problem.parts import parts, with_value
from optimiser.problem.read import load, loads
from optimiser.problem.spreads import VARIED, spread
from optimiser.requirements import all_limits, bounds, bounds_of, targets
from optimiser.score import Scorer
from optimiser.sheet.tolerances import people_words, print_tolerated
from optimiser.solve import solve
from tests.support.checker import Judge

ROOT = Path(__file__).parents[2]


def varying(problem, *, people=None, **spreads):
    """The problem with spreads: ``row1__y="2 cm"``, or ``sigma 2 cm``."""
    found = []
    for name, text in spreads.items():
        how = "sigma" if text.startswith("sigma") else "within"
        found.append(spread(problem, name.replace("__", "."), text.removeprefix("sigma").strip(), how=how))
    return replace(problem, tolerances=tuple(found), people=people)


def drawn_at(problem, **decisions):
    """The problem's best design with some decisions elsewhere."""
    best = solve(problem, grid=GRID)
    values = {name.replace("__", "."): value for name, value in decisions.items()}
    return best.space, best.space.complete({**best.design, **values})


def odds_of(found, measure, row=None):
    return next(o for o in found.limits if o.limit.measure == measure and o.row == row and not o.own)


# --- closed forms -------------------------------------------------------------------------------


@pytest.mark.parametrize("spare", [-0.015, -0.004, 0.0, 0.01, 0.018, 0.025])
def test_a_limit_under_an_even_spread_holds_as_often_as_the_share_of_the_range_says(spare):
    problem = varying(one_row(), row1__y="2 cm")
    space, design = drawn_at(problem, row1__y=5.2 - 0.9 - spare)  # rear wall distance: at least 0.9 m
    odds = odds_of(tolerated(problem, space, design), "rear_wall_distance", 1)
    exact = min(1.0, max(0.0, (0.02 + spare) / 0.04))
    assert odds.chance.value == pytest.approx(exact, abs=2e-4)
    assert abs(odds.chance.value - exact) <= max(odds.chance.error, 3.0 / SAMPLES)
    assert odds.drawn == pytest.approx(0.9 + spare)
    # 5 % and 95 % points of an even spread
    assert odds.values.low == pytest.approx(0.9 + spare - 0.9 * 0.02, abs=2e-5)
    assert odds.values.high == pytest.approx(0.9 + spare + 0.9 * 0.02, abs=2e-5)


@pytest.mark.parametrize("spare", [-0.01, 0.0, 0.004, 0.012])
def test_a_limit_under_a_normal_spread_holds_as_often_as_the_normal_distribution_says(spare):
    problem = varying(one_row(), row1__y="sigma 6 mm", room__length="sigma 8 mm")
    space, design = drawn_at(problem, row1__y=5.2 - 0.9 - spare)
    odds = odds_of(tolerated(problem, space, design), "rear_wall_distance", 1)
    exact = NormalDist(0.0, 0.010).cdf(spare)  # 6 and 8 mm: 10 mm together
    assert odds.chance.value == pytest.approx(exact, abs=2e-3)
    assert abs(odds.chance.value - exact) <= 2.0 * odds.chance.error
    assert odds.values.high == pytest.approx(NormalDist(0.9 + spare, 0.010).inv_cdf(0.95), abs=1e-4)


def test_two_even_spreads_add_up_as_a_trapezium():
    problem = varying(one_row(), row1__y="1 cm", room__length="3 cm")
    space, design = drawn_at(problem, row1__y=5.2 - 0.9 - 0.025)
    odds = odds_of(tolerated(problem, space, design), "rear_wall_distance", 1)
    # the sum's density is 1/0.06 within 20 mm and falls to 0 at 40 mm: what lies beyond 25 mm is 15^2 / (2 * 20 * 60)
    assert odds.chance.value == pytest.approx(1.0 - 15.0**2 / 2400.0, abs=2e-3)


@pytest.mark.parametrize("spare", [-0.01, 0.0, 0.015])
def test_a_projector_from_a_list_is_held_to_its_own_range(spare):
    """The nearest lens of throw ratio 1.5 is 3.0 m from an image 2 m wide; of the other thing in the list nothing is asked.
    Loudspeakers without a depth, where others of their list have one, leave the limits in their order."""
    lists = (
        "  loudspeakers:\n    choose:\n      - {name: Elm, depth: 0 m, price: 100}\n"
        "      - {name: Ash, depth: 0.35 m, price: 900}\n"
        "projector:\n  y: {from: 2 m, to: 5 m}\n  z: 2.1 m\n  choose:\n"
        "    - {name: Owl, lumens: 1500, throw_ratio: [1.5, 2.0], price: 100}\n"
        "    - {name: Jay, lumens: 1500, throw_ratio: [0.4, 0.5], price: 900}\nseating:\n"
    )
    problem = varying(loads(ONE_ROW.replace("seating:\n", lists, 1)), projector__y="sigma 1 cm")
    space, design = drawn_at(problem, screen__width=2.0, projector=0.0, loudspeakers=0.0)  # Owl and Elm
    plane = float(space.layout.image_y.value(design))
    design = {**design, "projector.y": plane + 3.0 + spare}
    found = tolerated(problem, space, design)
    (odds,) = [o for o in found.limits if o.limit.measure == "throw_ratio_margin"]
    assert odds.drawn == pytest.approx(spare / 2.0)
    assert odds.chance.value == pytest.approx(NormalDist(0.0, 0.01).cdf(spare), abs=2e-3)
    assert all(o.chance.value == 1.0 for o in found.limits if o.own and o is not odds)


@pytest.mark.parametrize(
    ("listed", "path", "width"),
    [  # by hand: a 16:9 image of diagonal d is 16 / sqrt(16^2 + 9^2) d wide
        ("choose: [{name: Elm, width: 2.4 m}, {name: Ash, width: 2 m}]", "Elm.width", 1.0),
        ('choose: [{name: Elm, diagonal: 2.6 m, aspect: "16:9"}]', "Elm.diagonal", 16.0 / math.hypot(16.0, 9.0)),
        ("type: panel, choose: [{name: Elm, diagonal: 2.6 m}]", "Elm.diagonal", 16.0 / math.hypot(16.0, 9.0)),
    ],
)
def test_a_screen_from_a_list_varies_as_its_list_says(listed, path, width):
    screen = "screen: {width: {from: 1.8 m, to: 3.2 m}, bezel: {choose: [0.1 m, 0.05 m]}"
    assert screen in ONE_ROW
    listed = listed.replace("name: Elm", "name: Elm, bezel: 0.1 m").replace("name: Ash", "name: Ash, bezel: 0.05 m")
    problem = loads(ONE_ROW.replace(screen, f"screen: {{{listed}"))
    best = solve(problem, grid=GRID)
    assert best.space is not None and best.design is not None and best.design["screen"] == 0.0  # the wider one
    for name, image, frame in ((path, 0.03 * width, 0.0), ("Elm.bezel", 0.0, 0.03)):
        _, there = shifted(problem, best.space, {f"front.screen.choose.{name}": 0.03}, best.design)
        assert there.layout.image_width.value({}) == pytest.approx(best.design["screen.width"] + image, abs=1e-9)
        assert there.layout.bezel.value({}) == pytest.approx(0.1 + frame, abs=1e-9)
    varied = replace(problem, tolerances=(spread(problem, f"front.screen.choose.{path}", "3 cm"),))
    found = tolerated(varied, best.space, best.design, samples=64)
    (odds,) = [g for g in found.goals if g.goal.measure == "image_width"]
    assert odds.moves


def test_a_goal_on_its_slope_spreads_as_its_measure_does():
    problem = varying(one_row(), screen__width="3 cm")
    space, design = drawn_at(problem, screen__width=2.6)
    found = tolerated(problem, space, design)
    goal = next(o for o in found.goals if o.goal.measure == "image_width")  # at least 3 m, fade 1.5 m
    assert goal.drawn == pytest.approx(1.0 - 0.4 / 1.5)
    assert goal.mean.value == pytest.approx(goal.drawn, abs=1e-5)
    assert abs(goal.mean.value - goal.drawn) <= goal.mean.error + 1e-9
    assert goal.scores.high - goal.scores.low == pytest.approx(0.9 * 0.06 / 1.5, abs=1e-4)
    still = next(o for o in found.goals if o.goal.measure == "seat_count")
    assert not still.moves and still.mean.error == 0.0


def test_the_sampling_error_covers_the_truth_about_as_often_as_it_says():
    """Means of u^2 over plain random numbers: the 95 % error must cover 1/3 in about 95 of 100 trials."""
    rng = np.random.default_rng(4)
    hits = 0
    for _ in range(400):
        found = estimate(rng.random(SEQUENCES * 64) ** 2)
        hits += abs(found.value - 1.0 / 3.0) <= found.error
    assert 0.91 <= hits / 400 <= 0.985


def test_sampling_is_much_better_than_chance():
    """Drawn at random, 10,240 cases of a half would be off by 0.5 % one time in three."""
    problem = varying(one_row(), row1__y="2 cm", room__length="1 cm", screen__width="1 cm")
    space, design = drawn_at(problem, row1__y=5.2 - 0.9)
    odds = odds_of(tolerated(problem, space, design), "rear_wall_distance", 1)
    assert odds.chance.value == pytest.approx(0.5, abs=1.5e-3)


# --- people -------------------------------------------------------------------------------------

# mm: 5th, 50th and 95th percentiles, computed from the public data files of ANSUR II (2012, report
# NATICK/TR-15/007) by linear interpolation; DIN 33402-2:2005-12 as quoted in a lecture
PUBLISHED = {
    ("ansur_ii", 1.0): ((698, 748, 799), (96, 109, 123)),
    ("ansur_ii", 0.0): ((750, 804, 860), (100, 114, 129)),
    ("din_33402_2", 1.0): ((705, 755, 805), None),
    ("din_33402_2", 0.0): ((740, 795, 855), None),
}
SITTING = {1.0: (803, 857, 912), 0.0: (860, 918, 977)}  # ANSUR II, sitting height


@pytest.mark.parametrize(("table", "women"), PUBLISHED)
def test_people_have_the_published_percentiles(table, women):
    from scipy.stats.qmc import Sobol

    people = People(table, women)
    up, over = drawn(people, Sobol(3, seed=1).random_base2(14) + 2.0**-40)
    eyes, heads = (1000.0 * (v + m) for v, m in zip((up, over), mean(people), strict=True))
    wanted_eyes, wanted_heads = PUBLISHED[table, women]
    assert np.percentile(eyes, (5, 50, 95)) == pytest.approx(wanted_eyes, abs=3.0)
    if wanted_heads:
        assert np.percentile(heads, (5, 50, 95)) == pytest.approx(wanted_heads, abs=2.0)
        assert np.percentile(eyes + heads, (5, 50, 95)) == pytest.approx(SITTING[women], abs=2.0)


def test_a_mixed_crowd_has_the_right_share_of_each_sex():
    from scipy.stats.qmc import Sobol

    people = People("ansur_ii", 0.3)
    up, _ = drawn(people, Sobol(3, seed=2).random_base2(14) + 2.0**-40)
    women, men = TABLES["ansur_ii"]
    middle = 0.3 * women.eye + 0.7 * men.eye
    assert up.mean() == pytest.approx(0.0, abs=1e-4)
    variance = 0.3 * (women.eye_sd**2 + (women.eye - middle) ** 2) + 0.7 * (men.eye_sd**2 + (men.eye - middle) ** 2)
    assert up.std() == pytest.approx(math.sqrt(variance), rel=0.01)


def test_people_move_eyes_and_heads_of_each_row_by_themselves():
    problem = varying(two_rows(), people=People("ansur_ii", 0.5))
    best = solve(problem, grid=GRID)
    offsets = sampled(problem, best.space, 640)
    assert set(offsets) == {eye(1), head(1), eye(2), head(2)}
    assert abs(np.corrcoef(offsets[eye(1)], offsets[eye(2)])[0, 1]) < 0.05
    cases = Cases(problem, best.space, best.design, offsets)
    # (D N - R T) / (D + T), with everybody's own eyes
    d, layout = best.design, best.space.layout
    image = float(layout.image_y.value(d))
    one = d["row1.platform"] + 1.1 + offsets[eye(1)]
    two = d["row2.platform"] + 1.1 + offsets[eye(2)]
    distance, pitch = d["row1.y"] - image, d["row2.y"] - d["row1.y"]
    clearance = (distance * (two - one) - (one - d["screen.bottom"]) * pitch) / (distance + pitch)
    index = next(i for i, limit in enumerate(problem.limits) if limit.measure == "sightline_clearance")
    (values,) = cases.values(lambda p, s: [b.form for b in bounds_of(p, s, index, problem.limits[index])])
    assert values == pytest.approx(clearance, abs=1e-12)
    top = next(i for i, limit in enumerate(all_limits(problem)) if limit.measure == "seated_headroom")
    rows = cases.values(lambda p, s: [b.form for b in bounds_of(p, s, top, all_limits(problem)[top])])
    for n, value in enumerate(rows, start=1):
        up = d[f"row{n}.platform"] + 1.1 + 0.12 + offsets[eye(n)] + offsets[head(n)]
        assert value == pytest.approx(2.6 - up, abs=1e-12)


# --- against formulas written again, and one by one ---------------------------------------------


def test_decisions_a_little_off_are_judged_as_the_formulas_judge_them():
    problem = load(ROOT / "problems" / "boathouse-loft.yaml")
    problem = varying(
        problem, row1__y="1/2 in", row2__y="sigma 1/4 in", baffle__depth="1/2 in", screen__width="3/4 in",
        screen__bottom="1/2 in", row2__platform="1/4 in", screen__bezel="1/8 in",
    )  # fmt: skip
    best = solve(problem)
    found = tolerated(problem, best.space, best.design, samples=2000)
    offsets = sampled(problem, best.space, 2000)
    count = found.count
    designs = {name: np.full(count, value) for name, value in best.design.items()}
    for name, off in offsets.items():
        designs[name] = designs[name] + off
    judge = Judge(problem, best.space.rows, best.space.aspect)
    score = np.broadcast_to(judge.score(designs), (count,))
    assert found.score.value == pytest.approx(float(score.mean()), abs=1e-6)
    assert found.scores.low == pytest.approx(float(np.quantile(score, 0.05, method="inverted_cdf")), abs=1e-6)
    held = np.broadcast_to(judge.holds(designs), (count,))
    assert 0.02 < held.mean() < 0.98
    assert found.all_hold.value == pytest.approx(held.mean(), abs=2.0 / count)
    checked = 0
    for key, slack in judge.slacks(designs).items():
        index, _, row, _ = key
        odds = [o for o in found.limits if (o.index, o.row) == (index, row) and o.seat is None]
        if len(odds) == 1 and odds[0].limit.at_most is None:
            share = float(np.mean(np.broadcast_to(slack, (count,)) >= -1e-6))
            assert odds[0].chance.value == pytest.approx(share, abs=2.0 / count), key
            checked += 1
    assert checked >= 10


NUMBERS = {
    name: [p.path for p in parts(load(ROOT / "problems" / f"{name}.yaml")) if not p.decided and p.kind in VARIED]
    for name in ("boathouse-loft", "chimney-room")
}


@pytest.mark.parametrize("name", NUMBERS)
def test_numbers_a_little_off_are_those_of_the_problem_with_the_number_changed(name):
    """Every number of a file, each limit and goal: many at once against problems changed one by one."""
    problem = load(ROOT / "problems" / f"{name}.yaml")
    best = solve(problem)
    assert len(NUMBERS[name]) > 15
    kept = ("room.", "seating.chair", "front.", "projector.")
    for path in [p for p in NUMBERS[name] if p.startswith(kept)]:
        value = next(p.value for p in parts(problem) if p.path == path)
        amounts = np.array([-1.0, 0.0, 0.7]) * (0.002 * abs(value) if value else 0.001)
        try:
            others = [with_value(problem, path, value + a) for a in amounts]
        except UsageError:  # the file says that it can be no more, or no less
            continue
        cases = Cases(problem, best.space, best.design, {path: amounts})
        try:
            again = [next(s for s in spaces(o) if s.names(best.design)) for o in others]
        except StopIteration:
            continue
        for at, (other, space) in enumerate(zip(others, again, strict=True)):
            scorer = Scorer(other, space)
            limits = cases.values(lambda p, s: [b.form for b in bounds(p, s)])
            mine = [float(b.form.value(best.design)) for b in scorer.bounds]
            assert np.allclose([v[at] for v in limits], mine, rtol=1e-9, atol=1e-9, equal_nan=True), path
            goals = cases.values(lambda p, s: [f for t in targets(p, s) for f in t.forms])
            mine = [float(f.value(best.design)) for t in scorer.targets for f in t.forms]
            assert np.allclose([v[at] for v in goals], mine, rtol=1e-9, atol=1e-9, equal_nan=True), path


BESIDE = {
    "  baffle: {depth: {from: 0.2 m, to: 0.4 m}, margin: 0.05 m}\n": "",
    "screen: {width: {from: 1.8 m, to: 3.2 m}, bezel: {choose: [0.1 m, 0.05 m]}": "screen: {width: 1.6 m, bezel: 0.05 m",
    "bottom: {from: 0.5 m, to: 0.8 m}}": "bottom: 0.5 m}\n"
    "  loudspeakers: {place: beside, width: 0.25 m, height: 0.5 m, depth: 0.1 m, gap: 0.1 m}",
}


def test_without_a_baffle_wall_a_door_meets_the_loudspeakers_beside_the_image_in_every_case():
    problem = varying(one_row(text=BESIDE), row1__y="2 cm")
    space, design = drawn_at(problem)
    (odds,) = [o for o in tolerated(problem, space, design, samples=64).limits if o.limit.measure == "door_clearance"]
    # from the hinge, 1.3 m from the front wall, to the loudspeaker's outer corner at its own depth, which is more than the
    # image's plane and the frame's 20 mm come to, less the leaf of 0.8 m
    edge, face = 1.8 - (0.8 + 0.05 + 0.1 + 0.25), 0.1
    by_hand = math.hypot(edge, 1.3 - face) - 0.8
    assert odds.drawn == pytest.approx(by_hand)
    assert (odds.values.low, odds.values.high) == pytest.approx((by_hand, by_hand))
    assert not odds.moves


def test_only_what_is_asked_about_bass_waits_for_each_rooms_own_field():
    """A room whose height varies has another bass in each case, and everything else at once: the numbers of rooms
    changed one by one, and no room is kept that is not needed again."""
    bass = (
        "bass: {arrangement: front_pair, height: 0.3 m}\nseating:\n",
        "  - {measure: deepest_dip, at_most: 3 dB, fade: 12 dB}\n",
    )
    problem = varying(loads(ONE_ROW.replace("seating:\n", bass[0]) + bass[1]), room__height="1 cm", row1__y="2 cm")
    best = solve(problem, grid=GRID)
    found = tolerated(problem, best.space, best.design, samples=40)
    assert found.slow == 1
    said = Console(file=io.StringIO(), width=200)
    print_tolerated(said, found)
    assert "1 of the limits and goals takes a room of its own" in said.file.getvalue()
    offsets = sampled(problem, best.space, 700)
    cases = Cases(problem, best.space, best.design, offsets)
    every = cases.values_of([_Goals(goal) for goal in problem.goals])
    assert cases.slow == 1 and len(cases._singles) <= CHECKED
    for at in (0, 300, 600):  # in other portions, and other processes
        other = with_value(problem, "room.height", 2.5 + float(offsets["room.height"][at]))
        (space,) = spaces(other, grid=GRID)
        design = {**best.design, "row1.y": best.design["row1.y"] + float(offsets["row1.y"][at])}
        values = [float(f.value(design)) for t in targets(other, space) for f in t.forms]
        assert values == pytest.approx([v[at] for group in every for v in group], abs=1e-9)


def test_where_nothing_is_off_the_bass_is_that_of_the_arrangement_chosen_and_of_the_score():
    problem = load(ROOT / "problems" / "coach-house.yaml")
    best = solve(problem)
    assert best.space.settled["bass.arrangement"] != problem.bass.arrangement.values[0]  # else nothing is shown
    told = [value for goal in best.card.goals for value in goal.values]
    same = [float(f.value({})) for t in targets(*shifted(problem, best.space, {}, best.design)) for f in t.forms]
    asked = [float(f.value(best.design)) for t in targets(*shifted(problem, best.space, {})) for f in t.forms]
    assert same == pytest.approx(told, abs=1e-9) and asked == pytest.approx(told, abs=1e-9)


def test_a_case_that_makes_no_sense_is_the_users_matter():
    bass = (
        "bass: {arrangement: front_pair, height: 2.2 m}\nseating:\n",
        "  - {measure: deepest_dip, at_most: 3 dB, fade: 12 dB}\n",
    )
    problem = varying(loads(ONE_ROW.replace("seating:\n", bass[0]) + bass[1]), bass__height="0.4 m")
    best = solve(replace(problem, tolerances=()), grid=GRID)
    with pytest.raises(UsageError, match="so far off"):
        tolerated(problem, best.space, best.design, samples=1300)


@pytest.mark.parametrize(
    ("second", "off", "told"),
    [
        ("5.2 m", "1 cm", "room.ceiling: point 3 of the profile lies outside the room; write smaller tolerances"),
        ("4.995 m", "1 cm", "room.ceiling: point 3 of the profile lies before the one before it"),
    ],
)
def test_a_point_of_the_ceiling_that_can_be_nowhere_is_named(second, off, told):
    """The room is 5.2 m long: a point on its rear wall may not lie 10 mm farther, nor one 5 mm behind another 10 mm nearer."""
    points = f"[{{y: 0 m, height: 2.4 m}}, {{y: 4.99 m, height: 2.5 m}}, {{y: {second}, height: 2.4 m}}]"
    problem = varying(
        loads(ONE_ROW.replace("room:\n", f"room:\n  ceiling: {points}\n")), **{"room__ceiling__3__y": off}
    )
    best = solve(replace(problem, tolerances=()), grid=GRID)
    with pytest.raises(UsageError, match=f"so far off, the room makes no sense: {told}"):
        tolerated(problem, best.space, best.design, samples=200)


@pytest.mark.parametrize("key", ["length", "width"])
def test_a_ceiling_that_slopes_to_the_wall_ends_at_it_wherever_the_wall_is(key):
    """Where the room is 20 mm longer or shorter, what is over the seats stays: a slope from 2 m in front of the wall, at
    the wall, and a step 5 mm before it."""
    along, end = {"length": ("ceiling", 5.2), "width": ("ceiling_across", 3.6)}[key]
    axis = "y" if key == "length" else "x"
    points = ((end - 2.0, 2.5), (end - 0.005, 2.2), (end - 0.005, 2.1), (end, 2.1))
    profile = ", ".join(f"{{{axis}: {at:.3f} m, height: {height} m}}" for at, height in points)
    source = ONE_ROW.replace("  reverberation_time", f"  {along}: [{profile}]\n  reverberation_time", 1)
    problem = varying(loads(source), **{f"room__{key}": "2 cm"})
    best = solve(problem, grid=GRID)
    found = tolerated(problem, best.space, best.design, samples=SEQUENCES * 4)
    headroom = [o for o in found.limits if o.limit.measure == "seated_headroom"]
    assert headroom and all(o.chance.value == 1.0 for o in headroom)
    moved = shifted(problem, best.space, {f"room.{key}": -0.02})[0].room
    assert getattr(moved, along)[-1] == pytest.approx((end - 0.02, 2.1))


@pytest.mark.parametrize("text", ["50 m", "sigma 50 m", "0.6 m"])
def test_a_spread_that_is_a_slip_of_the_pen_is_refused(text):
    """No room is built 50 m off; half a metre is more than any tolerance of a building."""
    problem = varying(loads(ONE_ROW), row1__y=text)
    best = solve(replace(problem, tolerances=()), grid=GRID)
    with pytest.raises(UsageError, match=r"row1\.y: more than 0\.5 m to either side is no tolerance of a building"):
        tolerated(problem, best.space, best.design, samples=100)
    tolerated(varying(problem, row1__y="0.2 m"), best.space, best.design, samples=100)


def test_ten_thousand_samples_of_all_measures_are_taken_at_once():
    problem = load(ROOT / "problems" / "boathouse-loft.yaml")
    problem = varying(
        problem, row1__y="1/2 in", row2__y="1/2 in", baffle__depth="1/4 in", room__length="1/2 in",
        room__width="1/4 in", room__doors__entry__hinge="1/4 in", room__reverberation_time="20 ms", people=People("ansur_ii", 0.5),
    )  # fmt: skip
    best = solve(problem)
    found = tolerated(problem, best.space, best.design)
    assert found.count >= 10_000 and found.slow == 0


# --- files and command line ---------------------------------------------------------------------

STATED = """
tolerances:
  row1.y: ±2 cm
  front.baffle.depth: {sigma: 3 mm}
  room.length: {within: 1 cm}
  people: {table: ansur_ii, women: 40 %}
"""


def test_a_file_states_what_varies():
    problem = one_row(text={"limits:\n": STATED.lstrip() + "limits:\n"})
    assert [(s.path, s.within, s.sigma) for s in problem.tolerances] == [
        ("row1.y", 0.02, None),
        ("baffle.depth", None, 0.003),
        ("room.length", 0.01, None),
    ]
    assert (problem.people.table, problem.people.women) == ("ansur_ii", 0.4)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("row1.z: 2 cm", "did you mean 'row1.y'"),
        ("row2.y: 2 cm", "at most 1 row"),
        ("row1.y: 2", "unit"),
        ("row1.y: 0 cm", "too small"),
        (
            "front.baffle.margin: 5 cm",
            "'5 cm' is too large for front.baffle.margin, which is 0.050 m: write less than that",
        ),
        ("front.baffle.margin: {sigma: 2 cm}", "which is 0.050 m: write less than a third of that"),
        ("row1.y: {spread: 2 cm}", "'within' and 'sigma'"),
        ("row1.seats: 1", "whole number"),
        ("screen.aspect: 0.1", "cannot be a little off"),
        ("people: {table: ansur}", "ansur_ii"),
        ("people: {table: ansur_ii, men: 50 %}", "unknown key 'men'"),
    ],
)
def test_what_cannot_vary_is_told_with_its_place(line, words):
    from rooms import ONE_ROW

    from optimiser.errors import ProblemFileError

    with pytest.raises(ProblemFileError) as error:
        loads(ONE_ROW + f"tolerances:\n  {line}\n")
    assert words in str(error.value) and "tolerances" in str(error.value)


def run(*arguments):
    return CliRunner().invoke(program, list(arguments))


def test_the_command_tells_chances(tmp_path):
    from rooms import ONE_ROW

    path = tmp_path / "room.yaml"
    path.write_text(ONE_ROW + STATED)
    told = run("tolerances", str(path), "--grid", "10 cm")
    assert told.exit_code == 0, told.output
    assert "ears from the front wall ±0.02 m" in told.output.replace("±0.020 m", "±0.02 m")
    assert "40 % women" in told.output and "10,240 cases" in told.output
    record = json.loads(run("tolerances", str(path), "--grid", "10 cm", "--json").output)
    assert record["cases"] == 10_240 and record["people"]["women"] == 0.4
    assert {v["input"] for v in record["varies"]} == {"row1.y", "baffle.depth", "room.length"}
    assert all(0.0 <= limit["holds"]["value"] <= 1.0 for limit in record["limits"])


def test_without_anything_that_varies_the_command_says_how_to_state_it(tmp_path):
    from rooms import ONE_ROW

    path = tmp_path / "room.yaml"
    path.write_text(ONE_ROW)
    told = run("tolerances", str(path), "--grid", "10 cm")
    assert told.exit_code != 0 and isinstance(told.exception, UsageError)
    assert "tolerances:" in str(told.exception)
    told = run("tolerances", str(path), "--grid", "10 cm", "--spread", "row1.y=2 cm", "--set", "row1.y=3 m")
    assert told.exit_code == 0 and "as given" in told.output


BASS = {
    "seating:\n": "bass: {arrangement: front_pair, height: 0.3 m}\nseating:\n",
    "goals:\n": "goals:\n  - {measure: deepest_dip, at_most: 3 dB, fade: 12 dB}\n",
}


def test_ears_of_another_height_have_a_bass_of_their_own():
    """The heights of all ears are part of what a bass is reckoned for: the numbers of problems changed one by one."""
    problem = varying(one_row(text=BASS), seating__chair__eye_height="2 cm")
    best = solve(problem, grid=GRID)
    offsets = sampled(problem, best.space, 40)
    cases = Cases(problem, best.space, best.design, offsets)
    every = cases.values_of([_Goals(goal) for goal in problem.goals])
    assert cases.slow == 1
    for at in (0, 17, 39):
        other = with_value(problem, "seating.chair.eye_height", 1.1 + float(offsets["seating.chair.eye_height"][at]))
        scorer = Scorer(other, next(s for s in spaces(other, grid=GRID) if s.names(best.design)))
        values = [float(f.value(best.design)) for t in scorer.targets for f in t.forms]
        assert values == pytest.approx([v[at] for group in every for v in group], abs=1e-9)


def test_floor_that_is_kept_clear_in_some_cases_only_is_asked_for_in_those():
    """A door that keeps nothing, but for what it varies by: the limits are the same in all cases."""
    problem = one_row(text={"towards: front, opens: in}": "towards: front, opens: in, keep: 0 m}"})
    problem = replace(problem, tolerances=(spread(problem, "room.doors.entry.keep", "1 cm"),))
    best = solve(problem, grid=GRID)
    found = tolerated(problem, best.space, best.design, samples=40)
    assert [o.limit.measure for o in found.limits if o.limit.measure == "opening_clearance"] == ["opening_clearance"]
    assert found.all_hold.value == 1.0  # no row is within 10 cm of the door's opening


LISTED = {
    "chair: {width: 0.75 m, depth: 0.95 m, reclined: 1.6 m, eye_height: 1.1 m, eye_to_back: 0.25 m,"
    " head_above_eye: 0.12 m}": "stagger: 0.5\n  chair:\n    depth: 0.95 m\n    reclined: 1.6 m\n    eye_height: 1.1 m\n"
    "    eye_to_back: 0.25 m\n    head_above_eye: 0.12 m\n"
    "    choose: [{name: Wren, width: 0.6 m}, {name: Heron, width: 0.75 m}]",
    "seating:\n": "bass: {arrangement: own, positions: [{x: 0.3 m, y: 0.3 m, z: 0.3 m}]}\nseating:\n",
    "limits:\n": "limits:\n  - {measure: seat_to_seat_spread, at_most: 30 dB}\n",
}


def test_a_row_that_is_aside_by_half_a_chair_of_a_list_has_the_bass_that_it_is_scored_by():
    """Which chair was taken is known of a design and not of a space: the table's points are the same."""
    problem = varying(two_rows(text=LISTED), screen__bottom="1 cm")
    best = solve(problem, grid=GRID)
    for y in np.arange(4.2, 5.2, 0.1):
        design = {**best.design, "row2.y": float(y)}
        for odds in tolerated(problem, best.space, design, samples=SEQUENCES * 2).limits:
            if odds.limit.measure == "seat_to_seat_spread":
                assert odds.values.low == odds.values.high == pytest.approx(odds.drawn, abs=1e-9)
                assert not odds.moves


def test_where_each_case_takes_a_room_of_its_own_fewer_are_tried_and_the_error_is_told():
    problem = varying(one_row(text=BASS), bass__height="2 cm")
    best = solve(problem, grid=GRID)
    heard = []
    found = tolerated(
        problem, best.space, best.design, progress=lambda what, done=0, of=0: heard.append((what, done, of))
    )
    assert (found.count, found.slow) == (SLOW, 1)
    told = [done for what, done, of in heard if what == "case by case" and of == SLOW // PORTION]
    assert told == sorted(told)  # now and then the same again, while it goes on
    assert list(dict.fromkeys(told)) == list(range(SLOW // PORTION + 1))
    again = tolerated(problem, best.space, best.design, samples=SEQUENCES * 4)
    assert again.count == SEQUENCES * 4
    # the mean of more cases lies within what both can be off
    assert abs(again.score.value - found.score.value) <= again.score.error + found.score.error


@pytest.mark.parametrize("path", ["room__length", "room__surfaces__walls__absorption__4"])
def test_rooms_with_surfaces_are_had_at_once(path):
    lined = {
        "reverberation_time: 0.3 s": "surfaces:\n"
        "    - {of: floor, material: carpet on felt}\n"
        "    - {name: walls, of: walls, material: two layers of plasterboard}\n"
        "  treatment: {panels: {from: 0, to: 6}, panel: 0.7 m2, on: walls, material: mineral wool 50 mm}",
        "goals:\n": "goals:\n  - {measure: direct_to_reverberant, at_least: 0 dB, fade: 20 dB, weight: 1}\n",
    }
    problem = varying(one_row(text=lined), **{path: "2 cm" if path == "room__length" else "0.02"})
    best = solve(problem, grid=GRID)
    found = tolerated(problem, best.space, best.design)
    assert (found.count, found.slow) == (10_240, 0)
    assert found.goals[0].moves


def test_peoples_sizes_are_told_in_the_files_units():
    """The mean woman of ANSUR II: eyes 747.7 mm above the seat, 29.44 in; top of the head 108.9 mm above them, 4.29 in."""
    people = People("ansur_ii", 1.0)
    assert "eyes 2 ft 5 7/16 in above the seat and the head 4 5/16 in above them" in people_words(people, "ft-in")
    assert "eyes 74.8 cm above the seat and the head 10.9 cm above them" in people_words(people, "cm")


@pytest.mark.parametrize("name", ["platform.behind", "seating.platform.behind"])
def test_a_last_platform_cannot_end_farther_off_than_it_is_behind_its_chairs(name):
    """Less than nothing is no length: half a metre may be off by less than that, by its name as by its path."""
    from rooms import TWO_ROWS

    from optimiser.errors import ProblemFileError

    text = TWO_ROWS.replace("platform: {step", "platform: {behind: 0.5 m, step") + "tolerances:\n  %s: %s\n"
    with pytest.raises(ProblemFileError, match="too large for platform.behind, which is 0.500 m"):
        loads(text % (name, "60 cm"))
    (spread,) = loads(text % (name, "2 cm")).tolerances
    assert (spread.path, spread.within) == ("platform.behind", pytest.approx(0.02))
