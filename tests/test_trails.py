"""Proofs gone through again for another problem: no design of that is lost, and what nothing has changed for is shown."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimiser.boxes import LARGEST, Boxes
from optimiser.climb import Ground, highest
from optimiser.compile import Compiled
from optimiser.design import grid_of, spaces
from optimiser.errors import ProblemFileError, UsageError
from optimiser.explain.prices import _priced, all_moves, moved, new_only, prices_of, read_move
from optimiser.explain.pulls import without_goal
from optimiser.explain.sparing import Sparing, hardness_of, known_of
from optimiser.problem.read import load
from optimiser.score import Scorer
from optimiser.solve import PROMISE, solve
from tests.support.files import FOLDER
from tests.test_boxes import _has

FILES = ["boathouse-loft", "chimney-room", "hay-loft", "library-budget", "low-cellar"]
STEPS = {"length": 0.15, "angle": 0.1, "time": 0.05, "ratio": 0.1, "count": 1.0}
"""Wider than what prices move by: here something else is to come of it."""


def trails_of(problem, best):
    """Of each space that has a small enough model what showed that nothing there is better, if not all of it."""
    for space in spaces(problem, grid=best.grid):
        scorer = Scorer(problem, space)
        compiled = Compiled(space, scorer.bounds, scorer.targets, least=min(100.0, best.score + PROMISE))
        if compiled.size <= LARGEST and not compiled.looking:
            boxes = Boxes(compiled, noted=True)
            boxes.ask(compiled.asked(best.score + PROMISE))
            while boxes.more and boxes.count < 12:
                if boxes.look() is not None:
                    boxes.deny()
            yield space.key, (boxes.trail, boxes.frame)


def others_of(problem, best):
    """Problems much like this one, and less so: with a demand or a number moved, or a goal left out."""
    made = [problem, *(without_goal(problem, result.index) for result in best.card.goals[::4])]
    for move in all_moves(problem, STEPS)[::7]:
        try:
            made.append(moved(problem, move))
        except (UsageError, ProblemFileError):
            continue
    return made


def good_designs(scorer, seed):
    """Designs of a space that keep all limits, near some that score well, with their scores."""
    ground, rng, found = Ground(scorer), np.random.default_rng(seed), []
    for crowd in (1, 2):
        top = highest(ground, everywhere=True, quick=True, seed=crowd)
        if top is not None:
            point = ground.point(top)
            aside = np.rint(rng.normal(0.0, 30.0, (150, len(point))) * (rng.random((150, len(point))) < 0.3))
            points = np.clip(point + aside.astype(int), ground.low, ground.high)
            points = points[ground.hold(ground.designs(points), len(points))]
            scores = ground.scores(ground.designs(points), len(points)) if len(points) else []
            found += [(float(score), ground.design(point)) for score, point in zip(scores, points)]
    return found


@pytest.mark.parametrize("name", FILES)
def test_no_good_design_of_another_problem_is_lost(name):
    """Every design that scores what is asked for is in what a trail leaves, whatever the trail is of; in that of the
    problem itself, too, where less is asked for than was denied."""
    problem = load(FOLDER / f"{name}.yaml")
    best = solve(problem)
    trails, seen = dict(trails_of(problem, best)), 0
    for number, other in enumerate(others_of(problem, best)):
        for space in spaces(other, grid=best.grid):
            scorer = Scorer(other, space)
            if space.key not in trails or not scorer.targets:
                continue
            designs = sorted(good_designs(scorer, number), key=lambda one: -one[0])
            for asked in [designs[at][0] - 1e-3 for at in (0, len(designs) // 3) if designs]:
                compiled = Compiled(space, scorer.bounds, scorer.targets, least=asked)
                if compiled.size > LARGEST:
                    continue
                boxes = Boxes(compiled)
                boxes.ask(compiled.asked(asked))
                boxes.follow(*trails[space.key])
                domains = [boxes.frame.domains(box) for box, _ in boxes._open]
                for score, design in designs:
                    assert score < asked or any(_has(there, design) for there in domains)
                seen += 1
                assert boxes.most >= designs[0][0]
                while boxes.more and boxes.count < 2:
                    boxes.look()
                # what the solver is asked in, where boxes come to be many
                left = boxes.domains if boxes.left else {}
                held = [design for score, design in designs if score >= asked and left and _has(left, design)]
                assert len(held) == sum(score >= asked for score, _ in designs)
    assert seen >= 10


@pytest.mark.parametrize("name", FILES[:1] + FILES[3:])
@pytest.mark.parametrize("effort", [0.1, 0.4])
def test_no_bound_is_below_a_design_that_there_is(name, effort):
    """Whatever is proven of other problems by trails, in whatever effort, where less is asked for than there is."""
    problem = load(FOLDER / f"{name}.yaml")
    best = solve(problem)
    trails, seen = dict(trails_of(problem, best)), 0
    for number, other in enumerate(others_of(problem, best)[:8]):
        for space in spaces(other, grid=best.grid):
            scorer = Scorer(other, space)
            designs = good_designs(scorer, number) if space.key in trails and scorer.targets else []
            if not designs:
                continue
            most = max(score for score, _ in designs)
            search = Sparing(other, best.grid, effort=effort, hard=True, trails=trails, scorers=[scorer])
            search.score = most - 2.0 * PROMISE
            found = search.close(scorer, effort)
            assert found is None or max(found, search.score) >= most - 1e-9
            seen += 1
    assert seen >= 4


@pytest.mark.parametrize("name", ["boathouse-loft", "low-cellar", "sail-loft", "coach-house", "signal-box"])
def test_what_a_loosened_demand_admits_is_what_there_was_and_what_is_new(name):
    """Of many designs of the loosened problem: each is one that there was, or one of the problem of those that are new; and
    scores the same there, on goals that another program scores."""
    problem = load(FOLDER / f"{name}.yaml")
    grid, seen, rng = grid_of(problem), 0, np.random.default_rng(3)
    for move in all_moves(problem, STEPS):
        only = new_only(problem, move) if move.looser else ()
        if not only:
            continue
        loosened = moved(problem, move)
        there = [Scorer(one, space) for one in (problem, *only) for space in spaces(one, grid=grid)]
        for space in spaces(loosened, grid=grid):
            scorer = Scorer(loosened, space)
            ground = Ground(scorer)
            points = ground.spread(rng, 1500)
            holding = points[ground.hold(ground.designs(points), len(points))][:60]
            for design in [*(ground.design(p) for p in holding), *(d for _, d in good_designs(scorer, 1)[:20])]:
                score = float(scorer.scores(design))
                found = [float(s.scores(design)) for s in there if s.space.has(design) and s.possible(design)]
                assert found and max(found) == pytest.approx(score, abs=1e-9)
                seen += 1
    assert seen >= 100


def test_a_better_design_that_there_was_is_no_reason_to_call_a_demand_impossible():
    """Five rows do not fit into the low cellar: what three rows are like is what there is then."""
    problem = load(FOLDER / "low-cellar.yaml")
    best = solve(problem)
    move = read_move(problem, "seating.rows", "5")
    move = replace(move, looser=True)
    assert new_only(problem, move) and known_of(problem, best).hard
    price, _ = _priced(problem, best, move, 0.3, best.design, None, False)
    assert price.gain == 0.0 and price.least == 0.0


def test_where_bass_is_judged_other_heights_of_platforms_are_priced_as_they_are():
    """The points at which bass is tabulated begin at the lowest ears that the file allows."""
    problem = load(FOLDER / "coach-house.yaml")
    best = solve(problem)
    moves = [m for m in all_moves(problem, {"length": 0.15}) if m.path == "seating.platform.first"]
    assert moves and all(not new_only(problem, move) for move in moves)
    for move in moves:
        (price,) = [p for g in prices_of(problem, best, moves=[move]).found for p in g] or [None]
        again = solve(moved(problem, move))
        if price is not None and price.proven:
            assert price.least - 1e-9 <= again.score - best.score <= price.most + 1e-9


@pytest.mark.parametrize("name", FILES[:1] + FILES[3:])
def test_what_nothing_has_changed_for_is_shown_at_once(name):
    """The same problem, and one with another number that no limit of consequence hangs on."""
    problem = load(FOLDER / f"{name}.yaml")
    best = solve(problem)
    assert known_of(problem, best).hard
    hardness = hardness_of(problem, best)
    for space in spaces(problem, grid=best.grid):
        if space.key in hardness.trails:
            scorer = Scorer(problem, space)
            compiled = Compiled(space, scorer.bounds, scorer.targets, least=best.score + PROMISE)
            boxes = Boxes(compiled)
            boxes.ask(compiled.asked(best.score + PROMISE))
            boxes.follow(*hardness.trails[space.key])
            assert not boxes.left
            assert str(compiled.model.proto) in hardness.denied
    assert hardness.trails
