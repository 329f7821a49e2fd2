"""Changes that are told to touch nothing, against every design of small rooms looked at."""

from dataclasses import replace

import pytest
from rooms import GRID, best_score, one_row, two_rows

from optimiser.design import spaces
from optimiser.errors import ProblemFileError, UsageError
from optimiser.explain.prices import all_moves, moved, prices_of, read_move
from optimiser.explain.untouched import Grounds, Read, _read_of
from optimiser.problem.parts import with_value
from optimiser.problem.read import loads
from optimiser.score import Scorer
from optimiser.solve import PROMISE, solve

PLACES = "place: {row1.y: {from: 2.6 m, to: 3.4 m}, row2.y: {from: 4.2 m, to: 5.6 m}}\n  platform: {step"
BODIES = """reverberation_time: 0.35 s
  doors:
    - {name: side, wall: right, hinge: 5.1 m, leaf: 0.8 m, towards: rear, opens: out, keep: 0.6 m}
  obstructions:
    - {name: beam, x: [0 m, 4.2 m], y: [4.4 m, 4.6 m], z: [2.3 m, 2.6 m]}
    - {name: pier, x: [0 m, 0.3 m], y: [1.2 m, 1.5 m], z: [0 m, 2.6 m]}"""


def with_bodies():
    """Two rows, a door, a beam over one of them and a pier beside the image."""
    return two_rows(text={"platform: {step": PLACES, "reverberation_time: 0.35 s": BODIES})


@pytest.fixture(scope="module", params=[one_row, with_bodies], ids=["one row", "two rows"])
def grounds(request):
    problem = request.param()
    best = solve(problem, grid=GRID)
    return problem, best, Grounds(problem, best, 10.0)


@pytest.mark.parametrize("step", [0.02, 0.3])
def test_what_is_spared_changes_nothing(grounds, step):
    """Of every number of the room: where it is told to touch nothing, no design is better than the best by more than is
    promised, and the best is still one."""
    problem, best, there = grounds
    assert there.proven
    base, spared, others = best_score(problem), 0, 0
    for move in all_moves(problem, {"length": step, "angle": 2 * step}, every=True):
        try:
            other = moved(problem, move)
        except (ProblemFileError, UsageError):
            continue  # it makes no sense
        if not there.spare(other):
            others += 1
            continue
        spared += 1
        assert best_score(other) == pytest.approx(base, abs=PROMISE), move
        assert any(s.has(best.design) and Scorer(other, s).possible(best.design) for s in spaces(other, grid=GRID))
    assert spared >= 8 and others >= 8


def test_a_demand_at_which_the_best_lies_is_needed(grounds):
    problem, best, there = grounds
    binding = {result.index for result in best.card.limits if result.binds}
    assert binding <= there.needed
    assert len(there.needed) < len(best.card.limits)


def test_other_goals_are_another_matter(grounds):
    problem, _, there = grounds
    goal = problem.goals[0]
    assert there.spare(problem)
    assert not there.spare(replace(problem, goals=(replace(goal, weight=2.0 * goal.weight), *problem.goals[1:])))
    assert not there.spare(replace(problem, limits=problem.limits[1:]))
    assert not there.spare(with_value(problem, "room.length", problem.room.length + 0.2))


HELD = BODIES.replace("x: [0 m, 0.3 m], y: [1.2 m, 1.5 m]", "x: [0 m, 0.75 m], y: [0 m, 0.5 m]")
FAR = {"rear_wall_distance, at_least: 0.9 m": "rear_wall_distance, at_least: 2.3 m"}


def beside_a_pier():
    return two_rows(text={"platform: {step": PLACES, "reverberation_time: 0.35 s": HELD})


def far_from_the_wall():
    return one_row(text=FAR)


@pytest.mark.parametrize(
    "make, path",
    [
        (beside_a_pier, "room.obstructions.pier.x.to"),
        (far_from_the_wall, "limits.2.at_least"),
    ],
    ids=["a pier beside the image", "a limit"],
)
def test_what_holds_the_best_back_is_not_spared(make, path):
    """The best is still one, and a better one is let in."""
    problem = make()
    best, base = solve(problem, grid=GRID), best_score(problem)
    there = Grounds(problem, best, 10.0)
    other = moved(problem, read_move(problem, path, "-0.3 m"))
    assert best_score(other) > base + 1.0
    assert any(s.has(best.design) and Scorer(other, s).possible(best.design) for s in spaces(other, grid=GRID))
    assert there.proven and not there.spare(other)


def test_where_the_best_has_all_points_nothing_can_be_better():
    """But what it scores must stay, and what it keeps."""
    problem = one_row()
    assert best_score(problem) > 97.0
    easy = replace(problem, goals=problem.goals[:1])
    best = solve(easy, grid=GRID)
    assert best.score == 100.0 == best_score(easy)
    there, spared = Grounds(easy, best, 0.0), 0
    for move in all_moves(easy, {"length": 0.2, "angle": 0.2}):
        try:
            other = moved(easy, move)
            if not there.spare(other):
                continue
        except UsageError:
            continue  # it makes no sense
        spared += 1
        assert any(
            s.has(best.design)
            and Scorer(other, s).possible(best.design)
            and Scorer(other, s).card(best.design).score == 100.0
            for s in spaces(other, grid=GRID)
        )
    assert spared >= 8


def test_too_little_effort_spares_nothing():
    problem = with_bodies()
    there = Grounds(problem, solve(problem, grid=GRID), 0.0)
    assert not there.proven and not there.spare(problem)


def test_what_is_read_of_a_layout():
    (space,) = spaces(with_bodies(), grid=GRID)
    noting = replace(space, layout=Read.of(space.layout))
    assert noting.layout.height == space.layout.height
    assert _read_of(noting) == {"height"}
    assert noting.layout.hanging == space.layout.hanging  # made of the bodies, and of the lens if there is one
    assert _read_of(noting) == {"height", "bodies", "lens"}
    assert noting.sense == space.sense
    assert {"rows", "image_y"} <= _read_of(noting)


@pytest.mark.parametrize("make", [one_row, with_bodies], ids=["one row", "two rows"])
def test_prices_are_the_same(monkeypatch, make):
    problem = make()
    best = solve(problem, grid=GRID)
    monkeypatch.setattr(Grounds, "spare", lambda *_: False)
    whole = prices_of(problem, best)
    monkeypatch.undo()
    some = prices_of(problem, best)

    def told(all_):
        return {p.move: p for group in (*all_.found, *all_.open, *all_.still) for p in group}

    one, other = told(whole), told(some)
    assert one.keys() == other.keys()
    for move, price in one.items():
        assert (price.gain is None) == (other[move].gain is None)
        if price.gain is not None:
            assert price.gain == pytest.approx(other[move].gain, abs=PROMISE), move


LENS = """\
format: 1
title: A lens close to the image
show: m
room: {length: 5 m, width: 4 m, height: 2.6 m, reverberation_time: 0.3 s}
front:
  baffle: {depth: 0.2 m, margin: 0.05 m}
  screen: {width: {from: 1.5 m, to: 2.4 m}, bezel: 0.05 m, gap: 0.05 m, bottom: {from: 0.7 m, to: 1 m}}
projector: {lumens: 2200 lm, throw_ratio: [0.1, 2.0], y: 0.56 m, z: 0.4 m}
seating:
  rows: 1
  seats: 3
  chair: {width: 0.7 m, depth: 0.9 m, reclined: 1.5 m, eye_height: 1.08 m, eye_to_back: 0.2 m, head_above_eye: 0.12 m}
limits: [{measure: listening_distance, at_least: 2 m}]
goals: [%s]
"""
PLAIN = "{measure: seat_count, at_least: 5, fade: 4}"
FULL = "{measure: horizontal_angle, at_least: 20 deg, fade: 8 deg}"
STEEP = "{measure: horizontal_angle, at_least: 80 deg, fade: 70 deg}"


@pytest.mark.parametrize("goal", [PLAIN, FULL, STEEP])
def test_what_is_no_design_any_more_is_not_spared(goal):
    """A lens lies 0.3 m behind the image at least: 0.56 m from the wall and the image 0.25 m, so that an image 2.5 cm
    farther from the wall leaves no design at all."""
    problem = loads(LENS % goal)
    best = solve(problem, grid=GRID)
    other = with_value(problem, "front.screen.gap", 0.075)
    assert solve(other, grid=GRID).status == "impossible"
    assert not Grounds(problem, best, 10.0).spare(other)
    found = prices_of(problem, best)
    (price,) = [
        p
        for g in (*found.found, *found.open, *found.still)
        for p in g
        if p.move.path == "front.screen.gap" and p.move.after > 0.05
    ]
    assert price.gain is None and not price.unknown
    (alone,) = prices_of(problem, best, moves=[price.move]).found[0]
    assert alone.gain is None and not alone.unknown


def test_what_a_measurement_of_the_room_leaves_as_it_is_may_cost_what_the_best_is_not_known_to_be():
    """The least that a step brings is proven too: what there was may have been better by what its bound leaves."""
    problem = with_bodies()
    best = solve(problem, grid=GRID)
    still = [p for g in prices_of(problem, best).still for p in g if p.gain == 0.0]
    assert still and best.bound > best.score
    for price in still:
        looser = price.move.looser
        assert price.least == 0.0 if looser else price.least >= best.score - best.bound - 1e-9
    assert any(p.least < 0.0 for p in still)


@pytest.mark.parametrize("control", ["several_subwoofers", "active"])
def test_what_evens_out_the_bass_is_another_matter(control):
    """It weighs goals that look at single modes."""
    source = LENS % ("{measure: midpoint_offset, at_least: 0.2 m, fade: 0.5 m}, " + PLAIN)
    problem = loads(source + "bass: {arrangement: front_pair}\n")
    best = solve(problem, grid=GRID)
    there = Grounds(problem, best, 10.0)
    assert there.spare(problem)
    assert not there.spare(replace(problem, bass=replace(problem.bass, modal_control=control)))
