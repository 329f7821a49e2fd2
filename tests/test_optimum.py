"""The answer is the best there is: on grids so coarse that every design can be tried."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from optimiser.climb import highest
from optimiser.engine import EFFORT, run
from optimiser.errors import ProblemFileError
from optimiser.problem.model import Aisle, Box, Door, Fixed, Platforms, Problem, Range
from optimiser.search import Search
from optimiser.solve import PROMISE, solve
from tests.support.effort import examples
from tests.support.enumeration import best, count
from tests.support.rooms import DEGREE, choice, goal, limit, small_room
from tests.support.strategies import problems

MANY = 2_000_000
"""Designs that are tried at most."""


def compare(problem: Problem, grid: float) -> None:
    """Solve a problem, and try every design."""
    solution, plain = solve(problem, grid=grid), best(problem, grid)
    if plain.score is None:
        assert solution.status == "impossible"
        return
    assert solution.design is not None, plain
    assert solution.status == "optimal"
    assert plain.score <= solution.bound + 1e-6, (plain, solution.design)
    assert solution.score <= plain.score + 1e-6, (plain, solution.design)  # nothing that is not there
    assert plain.score <= solution.score + PROMISE, (plain, solution.design)


BASE = small_room()
TWO_ROWS = small_room(
    room=replace(BASE.room, length=6.2),
    baffle=replace(BASE.baffle, depth=Fixed(0.4)),
    seating=replace(
        BASE.seating,
        rows=(2,),
        seats=choice(2, 3),
        aisle=Aisle("left", 0.7),
        platforms=Platforms(0.15, 0.45, Fixed(0.0), 2),
    ),
    limits=(limit("riser_step", None, 0.2), limit("sightline_clearance", 0.04), limit("listening_distance", 1.8)),
    goals=(
        goal("horizontal_angle", 45 * DEGREE, 52 * DEGREE, fade=10 * DEGREE, weight=4, row="reference"),
        goal("horizontal_angle", 30 * DEGREE, fade=10 * DEGREE, weight=1, row="worst"),
        goal("image_width", 3.0, fade=1.2, weight=2),
        goal("sightline_clearance", 0.12, fade=0.06, weight=2),
        goal("seat_count", 6, fade=3, weight=1.5),
        goal("midpoint_offset", 0.45, fade=0.4),
        goal("upward_angle", None, 15 * DEGREE, fade=12 * DEGREE),
        goal("standing_headroom", 2.0, fade=0.3),
    ),
)

KINDS: dict[str, tuple[Problem, float]] = {
    "one row beside a door": (small_room(), 0.05),
    "a door that bites deeper the deeper the wall": (
        small_room(
            baffle=replace(BASE.baffle, depth=Range(0.2, 1.0)),
            goals=(
                *BASE.goals,
                goal("door_clearance", 0.15, 0.4, fade=0.3, weight=2),
                goal("loudspeaker_angle", 24 * DEGREE, 30 * DEGREE, fade=8 * DEGREE),
            ),
        ),
        0.05,
    ),
    "doors in all walls": (
        small_room(
            room=replace(
                BASE.room,
                doors=(
                    Door("a", "right", 0.3, 0.9, "rear", "in", 80 * DEGREE),
                    Door("b", "rear", 1.0, 0.8, "right", "in", 110 * DEGREE),
                    Door("c", "front", 0.1, 0.7, "right", "out", 90 * DEGREE),
                    Door("d", "left", 3.9, 0.8, "rear", "in", 90 * DEGREE),
                ),
            ),
            goals=(*BASE.goals, goal("door_to_step", 0.4, fade=0.5)),
        ),
        0.05,
    ),
    "two rows, a platform, a choice of frame and seats": (TWO_ROWS, 0.2),
    "one row or two, and two shapes of image": (
        replace(
            TWO_ROWS,
            seating=replace(TWO_ROWS.seating, rows=(1, 2)),
            screen=replace(BASE.screen, aspect=choice(16 / 9, 2.4), bezel=Fixed(0.05)),
        ),
        0.2,
    ),
    "places between the nulls of several modes": (
        small_room(
            screen=replace(BASE.screen, bottom=Fixed(0.7), bezel=Fixed(0.05)),
            goals=(
                goal("mode_null_offset", 0.3, fade=0.3, order=2, axis="length", weight=2),
                goal("mode_null_offset", 0.3, 0.5, fade=0.25, order=3, axis="length"),
                goal("mode_level", -12.0, -3.0, fade=6.0, order=2, axis="length", weight=2),
                goal("mode_level", None, -9.0, fade=9.0, order=4, axis="length"),
                goal("midpoint_offset", 0.4, 0.6, fade=0.3),
                goal("horizontal_angle", 45 * DEGREE, 50 * DEGREE, fade=10 * DEGREE),
            ),
            limits=(limit("mode_level", -20.0, order=3, axis="length"),),
        ),
        0.02,
    ),
    "seats across the nulls of the width": (
        small_room(
            baffle=replace(BASE.baffle, centred=False, depth=Fixed(0.4)),
            screen=replace(BASE.screen, bottom=Fixed(0.7), bezel=Fixed(0.05)),
            seating=replace(BASE.seating, seats=choice(1, 2, 3)),
            goals=(
                goal("mode_level", -10.0, fade=10.0, order=2, axis="width", weight=2),
                goal("mode_level", None, -6.0, fade=6.0, order=1, axis="width"),
                goal("mode_null_offset", 0.25, fade=0.25, order=3, axis="width"),
                goal("seat_count", 3, fade=2),
                goal("off_centre", None, 0.0, fade=0.6),
                goal("side_wall_distance", 0.9, fade=0.6),
            ),
        ),
        0.05,
    ),
    "a panel, off the middle, and the worst seat": (
        small_room(
            baffle=replace(BASE.baffle, centred=False),
            loudspeakers=replace(BASE.loudspeakers, place="under", height=0.2),
            screen=replace(
                BASE.screen,
                type="panel",
                width=None,
                diagonal=choice(1.65, 1.956, 2.159, 2.489),
                bezel=choice(0.01, 0.02),
            ),
            seating=replace(BASE.seating, seats=choice(2, 3, 4)),
            goals=(
                goal("worst_seat_angle", 35 * DEGREE, 45 * DEGREE, fade=12 * DEGREE, weight=3),
                goal("seat_count", 4, fade=3, weight=2),
                goal("off_axis_angle", None, 15 * DEGREE, fade=15 * DEGREE),
                goal("picture_heights", 2.0, 2.6, fade=1.0),
                goal("door_clearance", 0.3, fade=0.3),
                goal("pixels_per_degree", 60.0, fade=25.0),
            ),
            limits=(limit("worst_seat_angle", 20 * DEGREE), limit("door_clearance", 0.02)),
        ),
        0.1,
    ),
    "things overhead": (
        replace(
            TWO_ROWS,
            room=replace(
                TWO_ROWS.room,
                obstructions=(
                    Box("soffit", (0.0, 3.6), (3.0, 3.9), (2.2, 2.5)),
                    Box("breast", (0.0, 0.3), (2.0, 2.6), (0.0, 2.5)),
                ),
            ),
            goals=(
                *TWO_ROWS.goals,
                goal("seated_headroom", 0.9, fade=0.3),
                goal("row_obstruction_clearance", 0.2, fade=0.2),
            ),
        ),
        0.2,
    ),
    "limits that cannot all hold": (
        small_room(limits=(limit("image_width", 3.0), limit("frame_to_ceiling", 0.9))),
        0.1,
    ),
}


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_on_the_grid_is_better(kind):
    problem, grid = KINDS[kind]
    assert 1_000 < count(problem, grid) <= MANY
    compare(problem, grid)


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_is_better_where_proofs_lose_patience_at_once(kind, monkeypatch):
    monkeypatch.setitem(Search.__init__.__kwdefaults__, "patience", 0.0)
    compare(*KINDS[kind])


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_is_better_where_every_proof_is_long(kind, monkeypatch):
    """Each proof goes through all steps of effort; first designs are found by the solver alone, from little effort on."""
    for name, value in {"patience": 1e-5, "glance": 1e-6}.items():
        monkeypatch.setitem(Search.__init__.__kwdefaults__, name, value)
    monkeypatch.setattr("optimiser.search.LONG", (1e-4, 1e-3))
    monkeypatch.setattr("optimiser.search.FURTHER", 40.0)
    monkeypatch.setattr("optimiser.search.highest", lambda *_, **__: None)
    efforts = []
    before = Search._closed

    def closed(search, scorer, effort, *where):
        efforts.append(effort)
        return before(search, scorer, effort, *where)

    monkeypatch.setattr(Search, "_closed", closed)
    compare(*KINDS[kind])
    if kind.startswith(("two rows", "a panel")):  # else a step or two are enough
        assert {1e-4, 1e-3, EFFORT} <= set(efforts)


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_is_better_where_no_model_is_closed_above_a_score(kind, monkeypatch):
    """What is asked for designs above a score is never told: the best of all designs still is, and bounds them."""

    def unsure(compiled, *how, presolve=True, sure=True):
        status, answer = run(compiled, *how, presolve=presolve, sure=sure)
        return (
            "UNKNOWN" if sure and compiled.objective is not None and not compiled.model.proto.objective.vars else status
        ), answer

    monkeypatch.setattr("optimiser.search.run", unsure)
    compare(*KINDS[kind])


def test_no_space_has_a_better_design_than_it_promises():
    """One row or two, of two shapes: in each space the best of all designs, tried one by one, is under its bound, which
    says something."""
    problem, grid = KINDS["one row or two, and two shapes of image"]
    search = Search(problem, grid)
    promised, _ = search._promises()
    assert len(promised) == 4
    for scorer, most in zip(search.scorers, promised):
        seating = replace(problem.seating, rows=(scorer.space.rows,))
        alone = replace(problem, seating=seating, screen=replace(problem.screen, aspect=Fixed(scorer.space.aspect)))
        there = best(alone, grid).score
        assert there is None or there <= most + 1e-9
    assert max(promised) < 100.0


def test_the_spaces_that_promise_most_are_looked_at_first(monkeypatch):
    problem, grid = KINDS["one row or two, and two shapes of image"]
    search, looked = Search(problem, grid), []
    promised = dict(zip(search.scorers, search._promises()[0]))
    before = Search._glance

    def glance(self, scorer, model=None):
        looked.append(promised[scorer])
        return before(self, scorer, model)

    monkeypatch.setattr(Search, "_glance", glance)
    search.find()
    assert looked == sorted(looked, reverse=True) and looked
    # what promises no more than is there needs no look, and is not left open
    assert all(promised[scorer] > search.score for scorer in search.find())


def test_a_first_design_is_found_where_first_looks_find_none(monkeypatch):
    """The limits alone tell one, and a crowd goes on from there, which by itself would not know where to begin."""
    problem, grid = KINDS["two rows, a platform, a choice of frame and seats"]

    def begun(ground, start=None, **how):
        return None if start is None else highest(ground, start, **how)

    monkeypatch.setattr("optimiser.search.highest", begun)
    monkeypatch.setattr(Search, "_explore", lambda *_: pytest.fail("a first look in full"))
    search = Search(problem, grid, glance=1e-9)
    assert search.find() and search.design is not None and not search.card.broken


@examples(12)
@given(problems(most_rows=2, most_limits=2, most_goals=4), st.sampled_from([0.08, 0.15, 0.3]))
def test_nothing_on_the_grid_is_better_in_any_room(problem, grid):
    assume(count(problem, grid) <= 400_000)
    try:
        compare(problem, grid)
    except ProblemFileError as error:
        assert "range" in str(error)


def test_the_count_of_designs_is_that_of_the_grid():
    """50 mm: widths 1.60 to 3.20 m are 33, depths 7, bottoms 11, two frames, places 0 to 5.20 m 105."""
    assert count(small_room(), 0.05) == 33 * 7 * 11 * 2 * 105
    assert math.isclose(best(small_room(goals=(goal("image_width", 2.0, fade=1.0),), limits=()), 0.1).score, 100.0)
