"""Explanations where the bass is judged: it is that of a box which begins in the middle of all depths of the baffle that
the file allows, so that what is said of the depth is about the bass of every design."""

import pytest
from click.testing import CliRunner
from rooms import best_score

from optimiser.cli import program
from optimiser.design import spaces
from optimiser.explain.conflicts import shortfall
from optimiser.explain.members import members, relaxed
from optimiser.explain.possible import Oracle
from optimiser.explain.prices import all_moves, prices_of
from optimiser.measures import catalogue
from optimiser.problem.read import loads
from optimiser.score import Scorer
from optimiser.solve import PROMISE, solve

GRID = 0.1
ROOM = """\
format: 1
title: Bass and baffle
show: m
room: {length: 6 m, width: 4.4 m, height: 2.6 m, reverberation_time: 0.3 s}
front:
  baffle: {depth: {from: 0.3 m, to: 0.6 m}}
  screen: {width: 2.6 m, bottom: 0.7 m, aspect: "16:9"}
bass: {arrangement: own, positions: [{x: 0.3 m, y: 0.3 m, z: 0.3 m}], band: [25 Hz, 80 Hz]}
seating:
  rows: 1
  seats: 3
  chair: {width: 0.7 m, depth: 0.9 m, reclined: 1.5 m, eye_height: 1.1 m}
  place: {row1.y: {from: 3.5 m, to: 4.5 m}}
goals:
  - {measure: seat_to_seat_spread, at_most: 0.1 dB, fade: 6 dB, weight: 3}
  - {measure: baffle_margin, at_least: 0 m, fade: 1 m, weight: 1}
"""
DEPTH = "{from: 0.3 m, to: 0.6 m}"
PLACE = "{from: 3.5 m, to: 4.5 m}"


def test_a_price_of_the_depth_is_the_difference_of_two_files():
    problem = loads(ROOM)
    best = solve(problem, grid=GRID)
    steps = {"length": 0.1}
    moves = [m for m in all_moves(problem, steps) if m.member is not None and m.member.path == "front.baffle.depth"]
    prices = prices_of(problem, best, moves=moves)
    found = [p for group in (*prices.found, *prices.open, *prices.still) for p in group]
    depth = {(p.move.member.kind, round(p.move.after, 3)): p for p in found}
    ends = {("from", 0.2): (0.2, 0.6), ("from", 0.4): (0.4, 0.6), ("to", 0.7): (0.3, 0.7), ("to", 0.5): (0.3, 0.5)}
    assert depth.keys() == ends.keys()
    told = {}
    for end, (low, high) in ends.items():
        # every design of the file with that range, scored one by one
        there = best_score(loads(ROOM.replace(DEPTH, f"{{from: {low} m, to: {high} m}}")), GRID)
        price, told[end] = depth[end], there - best.score
        assert price.gain == pytest.approx(told[end], abs=PROMISE)
        assert price.least - 1e-6 <= told[end] <= price.most + 1e-6
    # a wider range may lose, and a narrower one win
    assert told["to", 0.7] < -PROMISE and told["to", 0.5] > PROMISE


def test_a_design_has_the_same_bass_whatever_demands_are_left_out():
    problem = loads(ROOM.replace(DEPTH, "0.3 m").replace(PLACE, "4 m"))
    drawn = {"row1.y": 4.0, "row1.platform": 0.0, "row1.seats": 3.0, "baffle.depth": 0.3, "screen.width": 2.6}
    spread = catalogue()["seat_to_seat_spread"]
    there, free = (next(iter(spaces(p, grid=GRID))) for p in (problem, relaxed(problem, ())))
    assert free.layout.bass.front == there.layout.bass.front == 0.3
    assert spread.form(free.layout).value(drawn) == pytest.approx(float(spread.form(there.layout).value(drawn)))


def test_no_shortfall_says_less_of_the_bass_than_a_design_has():
    limits = "limits:\n  - {measure: seat_to_seat_spread, at_most: 5 dB}\ngoals:"
    problem = loads(ROOM.replace(DEPTH, "0.3 m").replace(PLACE, "4 m").replace("goals:", limits))
    # the one design of the file, scored, keeps all else that it asks
    (space,) = spaces(problem, grid=GRID)
    card = Scorer(problem, space).card(space.complete({n: d.ends[0] for n, d in space.domains.items()}))
    (broken,) = card.broken
    assert broken.limit.measure == "seat_to_seat_spread"
    oracle = Oracle(problem, grid=GRID)
    (wish,) = (m for m in members(problem) if m.about_limit and not m.own)
    others = {
        m for m in members(problem) if m.path in ("seating.seats", "seating.place.row1.y", "seating.platform.first")
    }
    assert not oracle.holds({wish, *others})
    # free of all else, the spread is no greater than that of a design that keeps all else
    assert shortfall(oracle, wish, frozenset(others)).reached <= broken.value + 1e-6


@pytest.mark.parametrize(
    "asked",
    [
        ("solve",),
        ("compare", "--set", "bass.arrangement=front_pair", "--set", "row1.y=4 m"),
        ("why-not", "--set", "bass.arrangement=front_pair"),
    ],
    ids=lambda asked: asked[0],
)
def test_arrangements_are_told_in_words(tmp_path, asked):
    """A file's keys are quoted where someone is to write them; what a design has is told in words."""
    room = tmp_path / "room.yaml"
    own = "arrangement: own, positions: [{x: 0.3 m, y: 0.3 m, z: 0.3 m}]"
    room.write_text(ROOM.replace(own, "arrangement: {choose: [front_pair, four_corners]}, height: 0.3 m"))
    command, *more = asked
    said = CliRunner().invoke(program, [command, str(room), "--grid", "10 cm", *more]).output
    assert "four corners" in said or "front pair" in said
    prose = [line for line in said.splitlines() if "'why-not --set" not in line]
    assert not [line for line in prose if "four_corners" in line or "front_pair" in line]
