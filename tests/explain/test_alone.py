"""Demands loosened one at a time, asked about at once, against every design of small rooms looked at."""

import pytest
from rooms import GRID, best_score, one_row, two_rows

from optimiser.design import spaces
from optimiser.explain.alone import Loose, earning
from optimiser.explain.prices import all_moves, moved
from optimiser.score import Scorer
from optimiser.solve import PROMISE, solve

STEPS = {"length": 0.1, "angle": 0.035}
PLACES = "place: {row1.y: {from: 2.6 m, to: 3.4 m}, row2.y: {from: 4.2 m, to: 5.6 m}}\n  platform: {step"

TIGHT = one_row(text={"rear_wall_distance, at_least: 0.9 m": "rear_wall_distance, at_least: 2 m"})


def asked(problem, effort=20.0, **how):
    best = solve(problem, grid=GRID)
    moves = [m for m in all_moves(problem, STEPS) if m.looser and m.member is not None]
    ways = [Loose(m.member, lambda p, m=m: moved(p, m)) for m in moves]
    return best, moves, earning(problem, best, ways, effort, **how)


@pytest.mark.parametrize(
    ("problem", "hard"),
    [(TIGHT, False), (TIGHT, True), (two_rows(text={"platform: {step": PLACES}), False)],
    ids=["one row", "one row, hard", "two rows"],
)
def test_what_brings_nothing_alone_is_told_from_what_does(problem, hard):
    best, moves, (idle, better, took) = asked(problem, hard=hard)
    base = best_score(problem)
    assert idle and better and not idle & set(better) and took > 0.0
    apart = 1 if problem.seating.rows == (1,) else 4  # two rows have many designs
    for at, move in list(enumerate(moves))[::apart]:
        other = moved(problem, move)
        gain = best_score(other) - base
        if at in idle:
            assert gain <= PROMISE + 1e-6, move
        if gain > 0.3:
            assert at not in idle, move
        if at in better:
            (space,) = (s for s in spaces(other, grid=GRID) if s.has(better[at]))
            card = Scorer(other, space).card(better[at])
            assert not card.broken and best.score < card.score <= base + gain + 1e-6


def test_without_effort_nothing_is_known():
    _, _, (idle, better, took) = asked(TIGHT, effort=0.0)
    assert not idle and not better and took == 0.0


def test_what_scores_all_there_is_gains_nothing():
    best, moves, (idle, better, _) = asked(one_row())
    assert best.score == pytest.approx(100.0) and idle == set(range(len(moves))) and not better
