"""Changes that are told to touch nothing, against every design of small rooms looked at."""

from dataclasses import replace

import pytest
from rooms import GRID, best_score, one_row, two_rows

from optimiser.design import spaces
from optimiser.errors import ProblemFileError, UsageError
from optimiser.explain.prices import all_moves, moved, prices_of, read_move
from optimiser.explain.untouched import Grounds, Read, _read_of
from optimiser.problem.parts import with_value
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
