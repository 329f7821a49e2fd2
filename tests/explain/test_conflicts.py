"""Conflicts and concessions of small rooms against every design looked at; how they read."""

import json
from dataclasses import replace
from functools import partial
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from click.testing import CliRunner
from rich.console import Console
from rooms import GRID, TWO_ROWS, best_score, changed, one_row, two_rows
from table import Table

from optimiser.cli import program
from optimiser.engine import decide
from optimiser.explain import concessions, possible, reasons
from optimiser.explain import members as members_module
from optimiser.explain.concessions import Loosening, concessions_of, loosened
from optimiser.explain.conflicts import Conflict, RoomNeed, _follows, _in_the_way, conflicts_of, shortfall
from optimiser.explain.demands import quantity_of, wanted_of
from optimiser.explain.members import held_by, members, relaxed
from optimiser.explain.possible import Oracle, Undecided, off_grid
from optimiser.explain.sayings import conflict_words, least_words, loosening_words, shortfall_words
from optimiser.explain.steps import shown_up, step_of
from optimiser.explain.subsets import conflicts as minimal_sets
from optimiser.explain.wishes import granted, measure_wish
from optimiser.problem.decisions import with_fixed
from optimiser.problem.parts import with_value
from optimiser.problem.read import load, loads
from optimiser.quantity import parse, show
from optimiser.requirements import all_limits
from optimiser.score import Scorer
from optimiser.sheet.explained import print_concessions, print_conflicts
from optimiser.sheet.material import Reasons
from optimiser.sheet.reasons import conflict_sections
from optimiser.solve import solve
from tests.study.rooms import STORE

ROOT = Path(__file__).parents[2]
COARSE = 0.5
ENOUGH_SAID = 6
TOO_MUCH = {
    "length: 5.2 m": "length: 5 m",
    "at_least: 2.2 m": "at_least: 2.5 m",
    "{measure: rear_wall_distance, at_least: 0.9 m}": "{measure: rear_wall_distance, at_least: 2 m}",
    "{measure: upward_angle, at_most: 32 deg}": "{measure: upward_angle, at_most: 20 deg}\n"
    "  - {measure: horizontal_angle, at_least: 45 deg, firm: true}\n"
    "  - {measure: image_width, at_least: 2.5 m}\n"
    "  - {measure: midpoint_offset, at_least: 0.75 m}",
    "depth: {from: 0.2 m, to: 0.4 m}": "depth: {from: 0.5 m, to: 1 m}",
    "width: {from: 1.8 m, to: 3.2 m}": "width: {from: 1.5 m, to: 3 m}",
    "bottom: {from: 0.5 m, to: 0.8 m}": "bottom: {from: 0.5 m, to: 1 m}",
    "bezel: {choose: [0.1 m, 0.05 m]}": "bezel: 0 m",
    "aisle: {sides: one, width: 0.6 m}": "platform: {step: 0.9 m, to: 0 m}",
}


@pytest.fixture(scope="module")
def crowded():
    """A one-row problem that asks for too much, and its table; other aspect ratios are not thought of."""
    before, members_module.ASPECTS = members_module.ASPECTS, (16 / 9,)
    problem = one_row(text=TOO_MUCH)
    yield problem, Table(problem, COARSE)
    members_module.ASPECTS = before


@pytest.mark.parametrize("bulky", (possible.BULKY, 0))
def test_every_conflict_is_found_and_nothing_else(crowded, bulky, monkeypatch):
    """Also where every limit is left out of the model until a design breaks it."""
    monkeypatch.setattr(possible, "BULKY", bulky)
    problem, table = crowded
    oracle = Oracle(problem, grid=COARSE)
    found = list(minimal_sets(members(oracle.problem), oracle.holds, extent=oracle.extent))
    expected = table.conflicts()
    assert {frozenset(c) for c in found} == expected
    assert len(expected) >= 2
    assert [len(c) for c in found] == sorted(len(c) for c in found)
    # and each is one: it fails, and without any one of its members it holds
    for conflict in found:
        assert not table.holds(conflict)
        assert all(table.holds(set(conflict) - {m}) for m in conflict)


def test_what_a_witness_has_is_what_it_is_said_to_have(crowded):
    problem, table = crowded
    oracle = Oracle(problem, grid=COARSE)
    for kept in ((), table.members[:3], table.members[4:8]):
        witness = oracle.witness(kept)
        assert (witness is not None) == table.holds(kept)
        if witness is not None:
            assert set(kept) <= held_by(oracle.problem, witness.space, witness.design)


def test_how_far_each_demand_can_go(crowded):
    problem, table = crowded
    found = conflicts_of(Oracle(problem, grid=COARSE), most=20)
    assert found.complete and not found.undecided and not found.possible
    checked = 0
    for conflict in found.found:
        for short in conflict.shortfalls:
            others = set(conflict.members) - {short.member}
            least = table.lacks[short.member][table.among(others)].min()
            if short.short is not None:
                assert short.short == pytest.approx(least, abs=1e-3), short
                checked += 1
    assert checked >= 9


def test_no_more_than_asked_for(crowded):
    problem, _ = crowded
    oracle = Oracle(problem, grid=COARSE)
    one = conflicts_of(oracle, most=1)
    assert len(one.found) == 1 and not one.complete
    assert len(one.found[0].members) == min(len(c.members) for c in conflicts_of(oracle, most=20).found)


class Tired(Oracle):
    """One that gives up as soon as it has said of so many sets that they cannot hold."""

    def witness(self, kept):
        new = frozenset(kept) not in self._known
        found = super().witness(kept)
        if new and found is None and sum(one is None for one in self._known.values()) > ENOUGH_SAID:
            raise Undecided("too long")
        return found


def test_what_was_found_stands_where_the_solver_gives_up_later(crowded, capsys):
    """Every conflict that is told is proven by then; that there are more is not."""
    problem, _ = crowded
    whole = conflicts_of(Oracle(problem, grid=COARSE), most=20)
    assert whole.complete and len(whole.found) > 1

    some = conflicts_of(Tired(problem, grid=COARSE), most=20)
    assert some.undecided and not some.complete and not some.possible
    assert 0 < len(some.found) < len(whole.found)
    assert {c.members for c in some.found} <= {c.members for c in whole.found}
    print_conflicts(Console(width=100), problem, some, COARSE)
    said = capsys.readouterr().out
    assert "there may be other conflicts" in said and "there are more" not in said
    print_conflicts(Console(width=100), problem, replace(some, found=()), COARSE)
    assert "no conflict is proven" in capsys.readouterr().out


def test_the_first_conflicts_are_the_same_however_many_are_asked_for():
    """People 10 cm from the rear wall are against the walk behind them that the file asks for, against their
    distance from it, and, with 25 cm from eyes to back, against the wall itself: the last says the first more
    sharply, though it is found later."""
    asked = "  - {measure: listening_distance, at_least: 2.2 m}"
    text = {asked: "  - {measure: rear_walkway, at_least: 0.1 m}", "rows: 1\n": "rows: 1\n  place: {row1.y: 5.1 m}\n"}
    oracle = Oracle(one_row(text=text), grid=GRID)
    told = [[c.members for c in conflicts_of(oracle, most=most).found] for most in (1, 2, 20)]
    assert told[0] == told[2][:1] and told[1] == told[2][:2] and len(told[2]) >= 2
    measures = [{m.path or (m.own, all_limits(oracle.problem)[m.index].measure) for m in c} for c in told[2][:2]]
    place = "seating.place.row1.y"
    assert measures == [{place, (False, "rear_wall_distance")}, {place, (True, "rear_walkway")}]


def test_a_demand_that_another_implies_is_not_told_twice(crowded):
    """The file's walkway says more than the room's own; where the room's own fails too, that is the news."""
    problem, _ = crowded
    wider = replace(problem, limits=(*problem.limits, replace(problem.limits[0], measure="walkway", at_least=0.5)))
    found = conflicts_of(Oracle(wider, grid=COARSE), most=30).found
    for one in found:
        for other in found:
            if one is not other:
                assert not set(one.members) <= set(other.members)


SHAPES = """\
format: 1
title: Shapes
show: cm
room: {length: 5 m, width: 4 m, height: 2.6 m}
front: {screen: {aspect: {choose: ["4:3", "2.00:1", "2.40:1"]}, width: 2 m, bottom: 80 cm}}
seating: {rows: 1, seats: 2}
limits:
  - {measure: image_height, at_least: 1.06 m, firm: true}
  - {measure: image_height, at_most: 1.14 m, firm: true}
goals: [{measure: image_width, at_least: 2 m, fade: 1 m}]
"""


class TestConcessions:
    def test_alone(self, crowded):
        problem, table = crowded
        oracle = Oracle(problem, grid=COARSE)
        given = concessions_of(oracle, problem)
        told = {c.loosenings[0].member: c for c in given.alone}
        for member in table.members:
            others = set(table.members) - {member}
            among = table.among(others)
            enough = bool(among.any()) and not member.firm
            assert (member in told) == enough, member
            if enough:
                least = table.lacks[member][among].min()
                assert told[member].loosenings[0].by == pytest.approx(least, abs=1e-6)
                assert told[member].solution.design is not None

    def test_least_in_all(self, crowded):
        problem, table = crowded
        oracle = Oracle(problem, grid=COARSE)
        for ranges in (False, True):
            given = concessions_of(oracle, problem, (), ranges=ranges)
            assert given.over == ("limits and ranges" if ranges else "limits")
            loose = [m for m in table.members if not m.firm and (m.about_limit or ranges)]
            loose = [m for m in loose if m.path not in ("seating.rows", "front.screen.aspect")]
            among = table.among(set(table.members) - set(loose))
            kinds = {m: kind for m, kind in zip(loose, map(partial(quantity_of, problem), loose), strict=True)}
            totals = sum(table.lacks[m][among] / step_of(kinds[m], "m") for m in loose)
            least = float(np.min(totals))
            assert given.joint.total == pytest.approx(least, rel=0.01)
            assert given.joint.least <= least + 1e-6
            assert given.joint.total >= least - 1e-6

    def test_weights_move_the_burden(self, crowded):
        problem, _ = crowded
        oracle = Oracle(problem, grid=COARSE)
        plain = concessions_of(oracle, problem, ()).joint
        burdened = {_name(problem, one.member) for one in plain.loosenings}
        dear = concessions_of(oracle, problem, (), weights=dict.fromkeys(burdened, 50.0)).joint
        assert {_name(problem, one.member) for one in dear.loosenings} != burdened

    def test_firm_limits_never_give(self, crowded):
        problem, _ = crowded
        given = concessions_of(Oracle(problem, grid=COARSE), problem)
        for concession in (*given.alone, given.joint):
            assert not any(one.member.firm for one in concession.loosenings)
            assert not any(r.limit.firm for r in concession.card.broken)

    def test_the_nearest_design_is_the_best_that_the_loosened_problem_has(self, crowded):
        problem, _ = crowded
        joint = concessions_of(Oracle(problem, grid=COARSE), problem).joint
        loose = loosened(problem, joint.loosenings)
        assert joint.solution.score == pytest.approx(best_score(loose, COARSE), abs=0.05)
        assert joint.card.broken  # it is no answer, and its scorecard says so
        assert not Scorer(loose, joint.solution.space).card(joint.solution.design).broken

    def test_what_a_design_scores_then_is_for_the_figure_that_is_told(self):
        """A sight line is no sum of places on the grid: what it must give is told in whole millimetres, and whoever writes
        that into the file gets the score that is told beside it."""
        asked = {"{measure: sightline_clearance, at_least: 0.05 m}": "{measure: sightline_clearance, at_least: 0.6 m}"}
        problem = two_rows(text=asked)
        found = concessions_of(Oracle(problem, grid=GRID), problem)
        (concession,) = [c for c in found.alone if _is_sightline(problem, c)]
        (one,) = concession.loosenings
        told = parse("length", show("length", one.given, "m"))
        assert one.given == pytest.approx(told, abs=1e-9) and one.wanted - one.given >= one.by - 1e-9
        assert abs(1e3 * one.by - round(1e3 * one.by)) > 1e-3  # the least itself is no whole millimetre
        loose = two_rows(text={before: after.replace("0.6 m", f"{told} m") for before, after in asked.items()})
        assert concession.solution.score == pytest.approx(best_score(loose, GRID), abs=0.06)

    def test_how_far_a_shape_is_from_a_list_is_told_from_the_nearest_of_it(self, monkeypatch):
        """An image 2 m wide and 1.06 m to 1.14 m high is 1.754 to 1.887 times as wide as high: of the shapes in use 16:9 and
        1.85:1 are, and 1.85 lies 0.15 below 2, which the file has too; 16:9 lies 0.44 above 4:3."""
        monkeypatch.setattr(members_module, "ASPECTS", (4 / 3, 16 / 9, 1.85, 2.0, 2.4))
        problem = loads(SHAPES)
        found = concessions_of(Oracle(problem, grid=GRID), problem)
        (one,) = [c.loosenings[0] for c in found.alone if c.loosenings[0].member.path == "front.screen.aspect"]
        assert (one.wanted, one.given, one.by) == pytest.approx((2.0, 1.85, 0.15))

    def test_the_least_in_all_is_the_least_of_all_numbers_of_rows(self):
        """By hand: on the grid of 0.1 m an image of 3.3 m, 1.856 m high, is the widest that stands 0.6 m above the floor
        with 0.1 m of frame under a ceiling of 2.6 m: 0.3 m short of 3.6 m, 12 steps. One row seats 3 of the 4 asked for,
        a step more; two rows seat 6 and miss the sight line by more than a step. Limits that one row has nothing of make
        its total no greater."""
        asked = {
            "  rows: 2\n": "  rows: {from: 1, to: 2}\n",
            "sightline_clearance, at_least: 0.05 m": "sightline_clearance, at_least: 0.2235 m",
            "limits:\n": "limits:\n  - {measure: image_width, at_least: 3.6 m}\n  - {measure: seat_count, at_least: 4}\n",
        }
        problem = two_rows(text=asked)
        joint = concessions_of(Oracle(problem, grid=GRID), problem).joint
        given = {problem.limits[one.member.index].measure: one.by for one in joint.loosenings}
        assert given == {"image_width": pytest.approx(0.3), "seat_count": pytest.approx(1.0)}
        assert joint.total == pytest.approx(13.0) and joint.least <= 13.0 + 1e-9

    def test_all_firm_is_hopeless(self, crowded):
        problem, _ = crowded
        firm = replace(problem, limits=tuple(replace(limit, firm=True) for limit in problem.limits))
        given = concessions_of(Oracle(firm, grid=COARSE), firm, ())
        assert given.hopeless or given.over == "limits and ranges"

    def test_a_fixed_number_of_rows_gives_way_where_nothing_less_is_enough(self):
        """By hand: two rows of chairs 1.6 m long reclined are 3.2 m, in a room of 3 m; six chairs of 0.75 m are 4.5 m in
        one of 4.2 m. Neither a row less nor a seat less is enough alone; both together are, and are two steps."""
        asked = {
            "length: 6.6 m": "length: 3 m",
            "  seats: 3\n": "  seats: 6\n",
            "listening_distance, at_least: 2.2 m": "listening_distance, at_least: 0.5 m",
            "rear_wall_distance, at_least: 0.5 m": "rear_wall_distance, at_least: 0.1 m",
        }
        problem = two_rows(text=asked)
        given = concessions_of(Oracle(problem, grid=GRID), problem)
        assert not given.hopeless and given.alone == () and given.over == "limits, ranges and rows"
        assert {one.member.path: one.given for one in given.joint.loosenings} == {
            "seating.rows": pytest.approx(1.0),
            "seating.seats": pytest.approx(5.0),
        }
        assert given.joint.total == pytest.approx(2.0) and 1.9 < given.joint.least <= 2.0 + 1e-9
        assert given.joint.solution.design["rows"] == 1


def _is_sightline(problem, concession):
    member = concession.loosenings[0].member
    return member.about_limit and _name(problem, member) == "sightline_clearance"


def _name(problem, member):
    return problem.limits[member.index].measure


# --- chains along the room, by hand ---------------------------------------------------------------

CHAIN = {
    "length: 6.6 m": "length: 5.4 m",
    "{measure: listening_distance, at_least: 2.2 m}": "{measure: listening_distance, at_least: 2.5 m}",
    "{measure: rear_wall_distance, at_least: 0.5 m}": "{measure: rear_wall_distance, at_least: 0.9 m}\n"
    "  - {measure: row_pitch, at_least: 1.75 m}",
    "depth: {from: 0.3 m, to: 0.4 m}": "depth: 0.5 m",
}


@pytest.fixture(scope="module")
def chain():
    problem = two_rows(text=CHAIN)
    return problem, conflicts_of(Oracle(problem, grid=0.05), most=9)


def chained(chain):
    problem, found = chain
    wanted = {"listening_distance", "rear_wall_distance", "row_pitch"}
    return next(
        c
        for c in found.found
        if wanted <= {problem.limits[m.index].measure for m in c.members if m.about_limit and not m.own}
    )


def test_a_chain_of_distances_adds_up(chain):
    """0.5 m of baffle, 2.5 m to row 1, 1.75 m to row 2 and 0.9 m behind it are 5.65 m; the room has 5.4 m."""
    problem, _ = chain
    conflict = chained(chain)
    (need,) = [n for n in conflict.needs if n.path == "room.length"]
    assert need.now == pytest.approx(5.4)
    assert need.needed == pytest.approx(5.65, abs=1e-6)
    assert need.fails == pytest.approx(5.60, abs=1e-6)
    for short in conflict.shortfalls:
        if short.member.about_limit:
            assert short.short == pytest.approx(0.25, abs=1e-3)
    longer = with_value(problem, "room.length", 5.65)
    assert Oracle(longer, grid=0.05).holds(conflict.members)
    assert not Oracle(with_value(problem, "room.length", 5.6), grid=0.05).holds(conflict.members)


def test_the_chain_in_words(chain):
    problem, _ = chain
    conflict = chained(chain)
    assert conflict_words(problem, conflict) == (
        "Listening distance at least 2.500 m, rear wall distance at least 0.900 m, row pitch at least 1.750 m, "
        "baffle wall depth of 0.500 m and 2 rows by themselves need a room 5.650 m long, where it is 5.400 m."
    )
    said = [shortfall_words(problem, s) for s in conflict.shortfalls]
    assert said == [
        "with only these others, listening distance can be 2.250 m at most: 0.250 m short",
        "with only these others, rear wall distance can be 0.650 m at most: 0.250 m short",
        "with only these others, row pitch can be 1.500 m at most: 0.250 m short",
        "with only these others, baffle wall depth can be 0.250 m at the nearest: 0.250 m away",
        "with only these others, the number of rows can be 1",
    ]


def test_values_that_could_not_be_decided_are_not_told_as_failing(monkeypatch):
    """Of three aspect ratios one is never decided. Without any other demand both others will do; the change
    from 16:9 to 2.40 is then not proven to be the least, if only that and 2.00 are left."""
    problem = one_row(text={"gap: 0.05 m,": 'gap: 0.05 m, aspect: "16:9",'})
    oracle = Oracle(problem, grid=GRID)
    (aspect,) = (m for m in members(oracle.problem) if m.path == "front.screen.aspect")

    def giving_up(compiled, effort):
        if compiled.space.settled["screen.aspect"] == 2.0:
            return "UNKNOWN", None, effort
        return decide(compiled, effort)

    monkeypatch.setattr("optimiser.explain.conflicts.decide", giving_up)
    monkeypatch.setattr(members_module, "ASPECTS", (16 / 9, 2.0, 2.4))
    short = shortfall(oracle, aspect, frozenset())
    assert short.perhaps == (2.0,) and short.works == (16 / 9, 2.4)
    said = shortfall_words(problem, replace(short, works=(2.4,)))
    assert said == (
        "with only these others, aspect ratio can be 2.40:1; whether it can be 2.00:1 was not settled in the solver's time"
    )
    monkeypatch.setattr(concessions, "shortfall", lambda *_: replace(short, works=(2.4,)))
    alone = concessions._Asker(oracle, problem, {}, {}).alone(aspect, frozenset())
    assert alone.least == pytest.approx(alone.total * (2.0 - 16 / 9) / (2.4 - 16 / 9))
    assert least_words(problem, alone) == " (whether less of a change does was not settled in the solver's time)"


def test_what_nothing_bounds_and_what_is_not_settled_are_not_told_alike(chain):
    """That the solver gave up says nothing about the room, and a design that it found is told."""
    problem, _ = chain
    one = replace(chained(chain).shortfalls[0], reached=None, short=None)
    begin = "with only these others, "
    assert shortfall_words(problem, replace(one, endless=True)) == begin + "nothing bounds listening distance"
    unsettled = begin + "how near listening distance can come was not settled in the solver's time"
    assert shortfall_words(problem, one) == unsettled
    assert shortfall_words(problem, replace(one, known=0.3)) == unsettled + "; a design comes within 0.300 m"


def test_what_is_reached_adds_up_with_what_is_short_or_given(chain):
    """4 in wanted and 2.61 in reached: 1.39 in short, rounded up to 1 7/16 in, which leaves 2 9/16 in (by hand)."""
    problem, _ = chain
    inch = 0.0254
    problem = replace(problem, show="ft-in")
    least = chained(chain).shortfalls[1]
    assert least.member.end == "at_least"
    short = replace(least, wanted=4 * inch, reached=2.61 * inch, short=1.39 * inch)
    assert shortfall_words(problem, short).endswith("can be 2 9/16 in at most: 1 7/16 in short")
    given = Loosening(least.member, "length", 4 * inch, 2.61 * inch, 1.39 * inch)
    assert loosening_words(problem, given).endswith("gives way by 1 7/16 in, to at least 2 9/16 in")


def test_concessions_in_words(chain):
    problem, _ = chain
    given = concessions_of(Oracle(problem, grid=0.05), problem)
    words = {loosening_words(problem, c.loosenings[0]) for c in given.alone}
    assert "rear wall distance gives way by 0.250 m, to at least 0.650 m" in words
    assert "baffle wall depth: 0.250 m in place of 0.500 m, 0.250 m away" in words
    assert not any(w.startswith("row pitch") for w in words)  # nearer rows would leave no way between the chairs
    assert "the number of rows: 1 in place of 2" in words
    assert all(abs(c.solution.score - solve(c.solution.problem, grid=0.05).score) < 0.05 for c in given.alone)


def test_a_demand_that_is_enough_by_an_unknown_amount_is_not_passed_over(chain, monkeypatch, capsys):
    """Of the demands that are enough alone none is told as none, where only by how much was not settled."""
    problem, _ = chain
    monkeypatch.setattr(concessions, "nearest", lambda *_, **__: None)
    given = concessions_of(Oracle(problem, grid=0.05), problem)
    assert given.undecided
    print_concessions(Console(width=200), problem, given)
    assert "could not settle every question" in capsys.readouterr().out


def test_what_a_search_does_not_find_in_its_time_stands_on_the_design_that_is_known(chain, monkeypatch):
    """How far the rear wall distance has to give was measured at a design: so there is one."""
    problem, _ = chain

    def tired(problem, *, start=None, **how):
        found = solve(problem, start=start, **how)
        return found if start is not None else replace(found, status="unknown", design=None, space=None, card=None)

    monkeypatch.setattr(concessions, "solve", tired)
    given = concessions_of(Oracle(problem, grid=0.05), problem)
    assert any(
        "rear wall distance gives way by 0.250 m" in loosening_words(problem, c.loosenings[0])
        and c.solution.design is not None
        for c in given.alone
    )


def test_of_an_amount_that_is_not_proven_it_is_told_what_is(chain, monkeypatch, capsys):
    """As found, 0.25 m of the rear wall distance are needed; here it is proven of less than 0.10 m only."""
    problem, _ = chain
    given = concessions_of(Oracle(problem, grid=0.05), problem)
    print_concessions(Console(width=200), problem, given)
    assert "proven only" not in capsys.readouterr().out
    found = concessions.nearest

    def loosely(oracle, member, others, **how):
        reached = found(oracle, member, others, **how)
        rear = member.about_limit and problem.limits[member.index].measure == "rear_wall_distance"
        return replace(reached, bound=reached.value + 0.15) if rear else reached

    monkeypatch.setattr(concessions, "nearest", loosely)
    print_concessions(Console(width=200), problem, concessions_of(Oracle(problem, grid=0.05), problem))
    told = capsys.readouterr().out
    assert "to at least 0.650 m (proven only that less than 0.100 m does not do)." in told
    assert told.count("proven only") == 1


@pytest.mark.parametrize(("least", "told"), [(1.999, "1.99"), (2.0, "2.00"), (2.0 - 1e-9, "2.00")])
def test_no_more_of_the_least_in_all_is_told_than_is_proven(chain, capsys, least, told):
    problem, _ = chain
    given = concessions_of(Oracle(problem, grid=0.05), problem)
    joint = replace(given.joint, loosenings=given.joint.loosenings[:1], total=2.0, least=least)
    print_concessions(Console(width=300), problem, replace(given, joint=joint))
    assert f"2.00 steps in all, proven that less than {told} does not do" in capsys.readouterr().out


def test_a_problem_of_which_a_design_is_known_is_not_called_impossible(monkeypatch):
    """That its demands can hold is seen by a design; the search for the best may still come to none in its time."""
    problem = one_row()

    def solved(problem, *, start=None, **how):
        found = solve(problem, start=start, **how)
        return found if start is not None else replace(found, status="unknown", design=None, card=None)

    monkeypatch.setattr(reasons, "solve", solved)
    told = reasons.explained(problem, Oracle(problem, grid=GRID))
    assert told.possible and told.best.score == pytest.approx(best_score(problem, GRID), abs=0.05)


def test_of_waves_no_room_is_said_to_be_the_least_that_will_do():
    """By hand: rigid walls 4.5 m apart have nulls of the fourth length mode at 1/8, 3/8, 5/8 and 7/8 of that, the third at
    2.813 m; ears at 2.75 m are 0.4 m from every null in a room of 5.1 m (1.913 m, 3.188 m), not in one of 6.5 m (2.438 m),
    and again in one of 8.45 m (3.169 m)."""
    for length, holds in ((4.5, False), (5.1, True), (6.5, False), (8.45, True)):
        assert (min(abs(2.75 - length * k / 8) for k in (1, 3, 5, 7)) >= 0.4) == holds
    problem = one_row(
        text={"limits:\n": "limits:\n  - {measure: mode_null_offset, order: 4, axis: length, at_least: 0.4 m}\n"}
    )
    (member,) = (m for m in members(problem) if m.about_limit and m.index == 0)
    conflict = Conflict((member,), (), (RoomNeed("room.length", 4.5, 8.45, 8.4),))
    words = conflict_words(problem, conflict)
    assert "would hold in a room 8.450 m long, where it is 4.500 m (perhaps with a smaller change, too)." in words
    other = next(m for m in members(problem) if m.about_limit and m.index == 1)
    assert "needs a room 8.450 m long" in conflict_words(problem, replace(conflict, members=(other,)))


def test_what_is_said_to_be_enough_is_rounded_up():
    assert shown_up("length", 0.1079, "ft-in") == "4 1/4 in"  # 4.248 in
    assert shown_up("length", 0.10796, "ft-in") == "4 5/16 in"  # 4.2504 in, beyond what a 1/16 forgives
    assert shown_up("length", 0.2501, "m") == "0.251 m"
    assert shown_up("angle", np.radians(1.01), "m") == "1.1°"


def test_a_door_in_the_way_asks_for_another_hinge():
    """The image must reach into the door's swing: the hinge has to move back, by as much as solving says."""
    changes = {"width: {from: 1.8 m, to: 3.2 m}": "width: {from: 3.2 m, to: 3.2 m}", "hinge: 1.3 m": "hinge: 0.9 m"}
    problem = one_row(text=changes)
    oracle = Oracle(problem, grid=GRID)
    assert best_score(problem) is None
    assert not oracle.holds(members(oracle.problem))
    found = conflicts_of(oracle, most=5)
    needs = [n for c in found.found for n in c.needs if n.path.endswith("hinge")]
    assert needs
    for conflict in found.found:
        for need in conflict.needs:
            assert Oracle(with_value(problem, need.path, need.needed), grid=GRID).holds(conflict.members)
            assert not Oracle(with_value(problem, need.path, need.fails), grid=GRID).holds(conflict.members)


def test_a_door_too_near_a_row_asks_for_a_hinge_nearer_the_front():
    """Three chairs of 0.75 m stand 0.975 m from the left wall, their feet at 3 + 0.25 - 1.6 = 1.65
    m. Of the open leaf, 0.8 m long, they are to keep 0.5 m: it lies sqrt(0.5^2 - 0.175^2) = 0.468 m
    before them, its hinge at 1.18 m at most, on the grid from 1.3 m at 1.1 m. Farther back are the
    rows."""
    door = "{name: side, wall: left, hinge: 1.3 m, leaf: 0.8 m, towards: front, opens: in}"
    place = "place: {row1.y: 3 m, row2.y: 4.7 m}\n  platform: {step"
    limit = "limits:\n  - {measure: door_row_clearance, row: 1, at_least: 0.5 m}\n"
    room = "  reverberation_time: 0.35 s\n"
    changes = {room: f"{room}  doors: [{door}]\n", "platform: {step": place, "limits:\n": limit}
    found = conflicts_of(Oracle(two_rows(text=changes), grid=GRID), most=5).found
    (needs,) = [c.needs for c in found if "seating.place.row1.y" in {m.path for m in c.members}]
    told = {need.path: (need.needed, need.fails) for need in needs}
    assert told["room.doors.side.hinge"] == pytest.approx((1.1, 1.2))
    # with the hinge where it is they may keep sqrt(0.5^2 - 0.35^2) m beside the leaf: 2.25 m + 2 * 1.157 m
    assert told["room.width"] == pytest.approx((4.6, 4.5))


@pytest.mark.parametrize(
    ("weak", "strong", "follows"),
    [
        # who keeps an angle under 32 degrees in all rows keeps it under 32 and 40 in one, and maybe not under 30
        ("upward_angle, row: 1, at_most: 32 deg", "upward_angle, at_most: 32 deg", True),
        ("upward_angle, row: 1, at_most: 40 deg", "upward_angle, at_most: 32 deg", True),
        ("upward_angle, row: 1, at_most: 30 deg", "upward_angle, at_most: 32 deg", False),
        ("listening_distance, row: 1, at_least: 2 m", "listening_distance, at_least: 2 m", True),
        ("listening_distance, row: 1, at_least: 1 m", "listening_distance, at_least: 2 m", True),
        ("listening_distance, row: 1, at_least: 3 m", "listening_distance, at_least: 2 m", False),
        ("upward_angle, at_most: 40 deg", "upward_angle, row: 1, at_most: 32 deg", False),  # of another row
        ("listening_distance, at_least: 1 m", "upward_angle, at_most: 32 deg", False),
    ],
)
def test_what_follows_from_a_limit_on_the_same_measure(weak, strong, follows):
    lines = TWO_ROWS.splitlines(keepends=True)
    start, end = lines.index("limits:\n"), lines.index("goals:\n")
    asked = [f"  - {{measure: {one}}}\n" for one in (weak, strong)]
    problem = loads("".join([*lines[: start + 1], *asked, *lines[end:]]))
    first, second = (m for m in members(problem) if m.about_limit and m.index < 2)
    assert _follows(problem, first, second) is follows


@pytest.mark.parametrize(("score", "spared"), [(80.0, True), (90.0, True), (79.0, False)])
def test_a_demand_is_spared_only_where_designs_score_as_well_without_it(monkeypatch, score, spared):
    """Two demands give, and score 80; one of them alone would take no more, the other would."""
    both = (Loosening("far", "length", 0.0, 2.0, 2.0), Loosening("near", "length", 0.0, 1.0, 1.0))
    together = concessions.Concession(both, 2.0, 1.9, None, SimpleNamespace(score=80.0))
    found = {
        ("far", "near"): together,
        ("far",): replace(together, loosenings=both[:1], least=2.0, card=SimpleNamespace(score=score)),
        ("near",): replace(together, loosenings=both[1:], total=3.0, card=SimpleNamespace(score=100.0)),
    }
    monkeypatch.setattr(concessions._Asker, "price", lambda asker, member: 1.0)
    monkeypatch.setattr(concessions._Asker, "joint", lambda asker, loose, kept: found[tuple(loose)])
    asker = concessions._Asker(SimpleNamespace(holds=lambda demands: True), None, {}, {})
    told = asker.spared(["far", "near"], ["far", "near"])
    assert told.loosenings == (both[:1] if spared else both)
    assert told.least == 1.9  # less than that is not proven of either


def test_a_seat_that_a_row_may_lack_is_passed_by(monkeypatch):
    """From 3 picture heights, an image of 16:9 is seen from its middle at 2 atan(16 / 9 / 6), 33.0 degrees: 12 short
    of 45. One seat alone sits there, and all the others are not there."""
    monkeypatch.setattr(members_module, "ASPECTS", (16 / 9,))
    changes = {
        "gap: 0.05 m": "gap: 0 m",
        "  - {measure: listening_distance, at_least: 2.2 m}": "  - {measure: picture_heights, at_least: 3}\n"
        "  - {measure: horizontal_angle, row: worst seat, at_least: 45 deg}",
    }
    problem = one_row(text=changes)
    oracle = Oracle(problem, grid=GRID)
    first, angle = members(oracle.problem)[:2]
    told = {c.members: c.shortfalls for c in conflicts_of(oracle, most=10).found}[first, angle]
    short = {one.member: one.short for one in told}
    assert np.degrees(short[angle]) == pytest.approx(45 - np.degrees(2 * np.arctan(16 / 9 / 6)), abs=0.06)
    joint = concessions_of(oracle, problem).joint
    assert joint is not None and np.isfinite(joint.total)


NO_BAFFLE = """\
format: 1
title: No baffle
show: m
room:
  length: 5 m
  width: 4 m
  height: 2.5 m
  ceiling: [{y: 1 m, height: 2.5 m}, {y: 5 m, height: 2 m}]
front:
  baffle: {depth: 0 m}
  screen: {width: {from: 1.6 m, to: 2.4 m}, bottom: 0.6 m}
  loudspeakers: {depth: 0.3 m}
projector: {lumens: 2000, throw_ratio: [0.1, 9], y: {from: 3 m, to: 4.6 m}, z: 2.45 m}
seating:
  rows: 1
  seats: 2
  chair: {width: 0.7 m, depth: 0.9 m, reclined: 1.3 m, eye_height: 1.06 m, eye_to_back: 0.2 m, head_above_eye: 0.12 m}
goals:
  - {measure: image_width, at_least: 2 m, fade: 1 m}
"""


def test_a_lens_under_a_slope_has_nothing_to_do_with_loudspeakers_in_no_baffle():
    """The projector reaches 0.15 m behind its lens: with the lens at 3 m, the ceiling there has come down by 1/8 of
    what 3.15 m is more than 1 m, to 2.231 m. So a lens 2.45 m high cannot be 3 m back, and nothing else is in the way."""
    oracle = Oracle(loads(NO_BAFFLE), grid=GRID)
    (found,) = conflicts_of(oracle, most=5).found
    told = {m.path or all_limits(oracle.problem)[m.index].measure: m.end or m.kind for m in found.members}
    assert told == {"projector.y": "from", "projector.z": "value", "lens_to_ceiling": "at_least"}
    short = {s.member.path: s.short for s in found.shortfalls}
    assert short["projector.z"] == pytest.approx(0.25)  # 2.2 m, the last step of the grid below 2.231 m


def test_what_the_room_asks_is_the_same_whatever_demands_are_left_out():
    """Demands are known by the number of their limit; and a room that may do more must not be asked for more."""
    files = sorted((ROOT / "problems").glob("*.yaml"))
    assert files
    for problem in (loads(NO_BAFFLE), *map(load, files)):
        assert all_limits(relaxed(problem, ())) == all_limits(problem)


def test_fewer_rows_are_no_way_out_for_a_row_that_was_pinned():
    """Row 1 hears from 2.2 m at least, and row 2 sits behind it: it is not 2 m from the front wall. With one row there
    is no row 2 to stand there, and the file never asked for two."""
    some = two_rows(text={"rows: 2\n": "rows: {choose: [1, 2]}\n"})
    found = conflicts_of(Oracle(with_fixed(some, "row2.y", "2 m"), grid=GRID), most=3).found
    about = [{member.path for member in conflict.members} for conflict in found]
    assert about and all("seating.place.row2.y" in paths and "seating.rows" not in paths for paths in about)


def test_fewer_rows_are_no_way_out_for_a_wish_about_a_row():
    """Row 1 hears from 2.2 m at least, and row 2 sits behind it: nobody in it hears from 2 m."""
    some = two_rows(text={"rows: 2\n": "rows: {choose: [1, 2]}\n"})
    wish = measure_wish("listening_distance[2]", "2 m", at_least=False)
    found = conflicts_of(Oracle(granted(some, (wish,)), grid=GRID), most=3).found
    assert found and not any(member.path == "seating.rows" for one in found for member in one.members)


def test_no_baffle_is_one_of_the_depths_that_a_range_from_0_has():
    """A baffle that may be 0.2 m deep at most holds no cabinet of 0.3 m; without a baffle there is none to hold."""
    alone = solve(loads(NO_BAFFLE.replace("z: 2.45 m", "z: 2.2 m")), grid=GRID)
    ranged = NO_BAFFLE.replace("z: 2.45 m", "z: 2.2 m").replace("depth: 0 m", "depth: {from: %s m, to: 0.2 m}")
    assert alone.status == "optimal" == solve(loads(ranged % 0), grid=GRID).status
    assert solve(loads(ranged % 0.1), grid=GRID).status == "impossible"


COLUMN = """\
format: 1
title: Column in the corner
show: m
room:
  length: 5.2 m
  width: 5 m
  height: 2.5 m
  obstructions:
    - {name: column, x: [0 m, 0.8 m], y: [0 m, 1 m], z: [0 m, 2.5 m]}
front:
  baffle: {depth: {from: 0.2 m, to: 0.4 m}, margin: 0 m}
  screen: {width: 3.6 m, bezel: 0.1 m, gap: 0.05 m, bottom: {from: 0.2 m, to: 0.3 m}}
seating:
  rows: 1
  seats: 2
  chair: {width: 0.75 m, depth: 0.95 m, reclined: 1.6 m, eye_height: 1.1 m, eye_to_back: 0.25 m, head_above_eye: 0.12 m}
limits:
  - {measure: listening_distance, at_least: 2.2 m}
goals:
  - {measure: rear_wall_distance, at_least: 0.9 m, fade: 0.5 m, weight: 1}
"""


def test_an_image_off_the_centre_line_and_the_least_in_all_beside_a_column(tmp_path):
    """By hand: a frame of 3.6 + 2 x 0.1 m stands 0.6 m from either wall, and the column takes 0.8 m: 0.2 m aside is
    enough. In the middle the frame may be 3.4 m wide: without its bezel (4 steps of 25 mm) the image gives 0.2 m
    (8 steps), with it 0.4 m (16); a baffle wall before the column gives 0.6 m (24)."""
    file = tmp_path / "column.yaml"
    file.write_text(COLUMN, encoding="utf-8")
    answer = run("explain", file, "--grid", "10 mm")
    words = " ".join(answer.output.split())
    assert "This alone: the image stands 0.200 m off the room's centre line (front: baffle: {centred: false})." in words
    assert (
        "The least in all: image width: 3.400 m in place of 3.600 m, 0.200 m away; bezel: 0.000 m in place of 0.100 m, "
        "0.100 m away (12.00 steps in all" in words
    )
    assert (
        "In every one of these sets: baffle wall depth at most 0.400 m, image width of 3.600 m and the baffle wall and "
        "the frame clear of obstructions." in words
    )
    # and so the file says it must be written
    file.write_text(COLUMN.replace("margin: 0 m}", "margin: 0 m, centred: false}"), encoding="utf-8")
    assert run("explain", file, "--grid", "10 mm").return_value != 3
    found = json.loads(run("solve", file, "--grid", "10 mm", "--minimise", "off_centre", "--json").output)
    assert found["design"]["screen.centre"] == pytest.approx(2.7)


def test_a_sheet_tells_of_an_image_aside_where_nothing_that_may_give_way_is_enough():
    """As explain does: to stand aside is not to give way."""
    problem = loads(COLUMN)
    given = concessions_of(Oracle(problem, grid=0.05), problem)
    hopeless = replace(given, hopeless=True, alone=(), joint=None)
    said = str(conflict_sections(problem, Reasons(concessions=hopeless)))
    assert (
        "Nothing that may give way is enough" in said and "the image stands 0.200 m off the room's centre line" in said
    )
    none = str(conflict_sections(problem, Reasons(concessions=replace(hopeless, aside=None))))
    assert "Nothing that may give way is enough" in none and "makes a design possible" not in none


def test_no_image_aside_where_that_does_not_help(tmp_path):
    """By hand: with columns in both corners there are 3.4 m between them wherever the frame of 3.8 m stands."""
    both = COLUMN.replace(
        "z: [0 m, 2.5 m]}", "z: [0 m, 2.5 m]}\n    - {name: pier, x: [4.2 m, 5 m], y: [0 m, 1 m], z: [0 m, 2.5 m]}"
    )
    file = tmp_path / "columns.yaml"
    file.write_text(both, encoding="utf-8")
    record = json.loads(run("explain", file, "--grid", "10 mm", "--json").output)
    assert record["concessions"]["aside"] is None and record["concessions"]["alone"]


# --- the command ----------------------------------------------------------------------------------


def run(*words):
    return CliRunner().invoke(program, [str(w) for w in words], standalone_mode=False, catch_exceptions=False)


def test_the_command_says_it_and_exits_with_3(tmp_path):
    file = tmp_path / "chain.yaml"
    file.write_text(changed(TWO_ROWS, {"text": CHAIN}), encoding="utf-8")
    answer = run("explain", file, "--grid", "50 mm", "--most", "9")
    assert answer.return_value == 3 or answer.exit_code == 3
    text = " ".join(answer.output.split())
    assert "Impossible: its demands cannot all hold." in text
    assert "by themselves need a room 5.650 m long, where it is 5.400 m." in text
    line = 1 + file.read_text(encoding="utf-8").splitlines().index("  - {measure: row_pitch, at_least: 1.75 m}")
    assert f"row pitch can be 1.500 m at most: 0.250 m short [line {line}]" in text
    assert "This alone: rear wall distance gives way by 0.250 m, to at least 0.650 m." in text
    assert "The nearest design (no answer: it does not keep what the file asks)" in text
    assert "breaks" in text and "Cautions" in text


def test_what_a_conflict_needs_is_not_said_to_be_enough(tmp_path):
    """By hand: 52° over 2.9 m take 1.45 / tan 26° = 2.973 m, and 2 m behind; with the image in the front wall (the
    40 mm gap kept) that is 5.013 m. The baffle of the file is 0.3 m deep, so that 5.02 m are not enough."""
    limits = "".join(
        f"  - {{measure: {m}, {e}: {v}}}\n"
        for m, e, v in (
            ("image_width", "at_least", "2.9 m"),
            ("rear_wall_distance", "at_least", "2 m"),
            ("horizontal_angle", "at_most", "52 deg"),
        )
    )
    for length in ("5 m", "5.02 m"):
        text = STORE.replace("length: 5.2 m", f"length: {length}").replace("depth: 0.4 m", "depth: 0.3 m")
        text = text.replace("width: 2.4 m, bezel: 50 mm", "width: {from: 1.5 m, to: 3 m}, bezel: 40 mm, gap: 40 mm")
        before, _, after = text.replace("show: mm", "show: m").partition("limits:")
        goals = after.partition("goals:")[2]
        file = tmp_path / "store.yaml"
        file.write_text(f"{before}limits:\n{limits}goals:{goals}", encoding="utf-8")
        answer = run("explain", file, "--grid", "1 mm", "--most", "1")
        assert answer.return_value == 3 or answer.exit_code == 3
        words = " ".join(answer.output.split())
        if length == "5 m":
            assert "by themselves need a room 5.013 m long, where it is 5.000 m." in words
            assert "so much may not be enough. What is enough stands under 'What would make it possible'." in words


def test_the_record(tmp_path):
    file = tmp_path / "chain.yaml"
    file.write_text(changed(TWO_ROWS, {"text": CHAIN}), encoding="utf-8")
    record = json.loads(run("explain", file, "--grid", "50 mm", "--json").output)
    assert record["possible"] is False
    assert record["nearest"]["is_an_answer"] is False
    assert any(
        n["path"] == "room.length" and abs(n["holds_at"] - 5.65) < 1e-9 for c in record["conflicts"] for n in c["needs"]
    )
    assert all(c["loosenings"][0]["by"] > 0 for c in record["concessions"]["alone"])


def test_wanted_values_are_the_files(chain):
    problem, _ = chain
    for member in members(problem):
        if member.about_limit and not member.own:
            assert wanted_of(problem, member) == getattr(problem.limits[member.index], member.end)


FIRMLY = {
    "listening_distance, at_least: 2.2 m": "listening_distance, at_least: 3.6 m, firm: true",
    "rear_wall_distance, at_least: 0.9 m": "rear_wall_distance, at_least: 1.7 m",
    "{measure: upward_angle, at_most: 32 deg}": "{measure: length_fraction, at_most: 0.6}",
}
"""By hand: the room is 5.2 m long. Ears 3.6 m from a baffle wall are that far from the front wall at least, even without
its depth, and leave 1.6 m behind; 3.6 / 5.2 is 0.69. Only the firm distance is in the way of both others."""


def test_where_only_a_firm_demand_would_be_enough_none_is_said_to_be_none(capsys):
    problem = one_row(text=FIRMLY)
    given = concessions_of(Oracle(problem, grid=GRID), problem)
    alone = replace(problem, limits=problem.limits[1:])
    assert Oracle(alone, grid=GRID).witness(members(alone)) is not None  # without the firm one all others hold
    assert given.alone == () and not given.hopeless and not given.undecided
    print_concessions(Console(width=200), problem, given)
    assert "No demand that may give way is enough by itself." in capsys.readouterr().out


def test_what_was_not_settled_is_not_called_hopeless(monkeypatch, capsys):
    """That limits are not enough is proven; whether ranges are is not settled, and nothing is said of it."""
    problem = one_row(text={"listening_distance, at_least: 2.2 m": "upward_angle, at_most: 1 deg, firm: true"})
    holds, ranged = Oracle.holds, {m for m in members(problem) if not m.about_limit}

    def settled(oracle, kept):
        if not ranged <= set(kept):
            raise Undecided("no time")
        return holds(oracle, kept)

    oracle = Oracle(problem, grid=GRID)
    limits = {m for m in members(problem) if m.about_limit and not m.firm}
    assert not oracle.holds(frozenset(members(problem)) - limits)
    monkeypatch.setattr(Oracle, "holds", settled)
    given = concessions_of(oracle, problem)
    assert given.undecided and not given.hopeless
    print_concessions(Console(width=200), problem, given)
    told = capsys.readouterr().out
    assert "Nothing that may give way is enough" not in told
    assert "No demand is known to be enough by giving way alone." in told


BESIDE = {
    "{width: {from: 1.8 m, to: 3.2 m}, bezel: {choose: [0.1 m, 0.05 m]}": "{type: panel, diagonal: 2.15 m, bezel: 0.1 m",
    "{measure: listening_distance, at_least: 2.2 m}": "{measure: image_width, at_least: 1.85 m, at_most: 1.9 m}",
    "rear_wall_distance, at_least: 0.9 m": "rear_wall_distance, at_least: 6 m",
}
"""By hand: 16:9 panels of 2.1, 2.15 and 2.2 m are 1.830, 1.874 and 1.917 m wide, so that of these only the file's own, which
lies beside a grid of 0.1 m, is as wide as is asked. In a room of 5.2 m nobody sits 6 m before the rear wall."""


def test_a_value_beside_the_grid_is_thought_of_where_its_decision_is_free():
    """Two limits on the width and the shape are no conflict, as the file's own panel keeps all three."""
    problem = one_row(text=BESIDE)
    three = [m for m in members(problem) if (m.about_limit and m.index == 0) or m.path == "front.screen.aspect"]
    assert len(three) == 3 and Oracle(problem, grid=GRID).holds(three)
    found = conflicts_of(Oracle(problem, grid=GRID), most=20)
    assert found.complete and not any(set(c.members) <= set(three) for c in found.found)


def test_demands_that_hold_with_more_are_never_said_not_to_hold():
    """Whatever was asked before: a design is at hand for each set of demands that holds."""
    problem = one_row(text=BESIDE)
    everyone = [
        m for m in members(problem) if not m.about_limit or problem.limits[1:2] != all_limits(problem)[m.index :][:1]
    ]
    for first in (False, True):
        oracle = Oracle(problem, grid=GRID)
        fewer = frozenset(m for m in everyone if m.path != "front.screen.diagonal")
        if first:
            assert oracle.witness(frozenset(everyone)) is not None
        assert oracle.holds(fewer) and oracle.witness(fewer) is not None
        assert oracle.extent(fewer) >= fewer


STEPPED = {
    "risers: 2}\n": "risers: 2}\n  place: {row2.platform: 0.23 m}\n",
    "{measure: sightline_clearance, at_least: 0.05 m}": "{measure: platform_height, row: 2, at_least: 0.22 m, at_most: 0.24 m}",
}
"""Platforms in steps of 0.1 m: of heights from 0.22 to 0.24 m there is only the file's own, though it lies on a grid of 0.01 m."""


def test_a_height_between_its_steps_is_thought_of_where_it_is_free():
    problem = two_rows(text=STEPPED)
    kept = [m for m in members(problem) if m.index == 2 or m.path == "seating.rows"]
    assert len(kept) == 3 and Oracle(problem, grid=0.01).holds(kept)


MANY_BESIDE = BESIDE | {
    "{width: {from: 1.8 m, to: 3.2 m}, bezel: {choose: [0.1 m, 0.05 m]}": "{type: panel, diagonal: 2.15 m, bezel: 0.07 m",
    "baffle: {depth: {from: 0.2 m, to: 0.4 m}": "baffle: {depth: 0.25 m",
    "bottom: {from: 0.5 m, to: 0.8 m}": "bottom: 0.55 m",
    "seats: {choose: [2, 3]}\n": "seats: {choose: [2, 3]}\n  place: {row1.y: 3.05 m}\n",
}


@pytest.mark.parametrize(("rear", "told"), [("{measure: upward_angle, at_most: 80 deg}", True), (None, False)])
def test_of_many_values_beside_the_grid_no_more_is_said_than_was_tried(rear, told):
    """Of five fixed lengths beside a grid of 0.1 m: only the file's own panel is as wide as is asked, and only on the grid is the
    frame 0.4 m over the floor. Where the row too must be 2.15 m before the rear wall, as the file has it, a design has two of
    the file's values beside the grid, and such pairs are not tried."""
    rear = rear or "{measure: rear_wall_distance, at_least: 2.14 m, at_most: 2.16 m}"
    problem = one_row(
        text=MANY_BESIDE
        | {
            "rear_wall_distance, at_least: 6 m": "frame_to_floor, at_least: 0.39 m, at_most: 0.41 m",
            "{measure: upward_angle, at_most: 32 deg}": rear,
        }
    )
    oracle = Oracle(problem, grid=GRID)
    asked = [m for m in members(problem) if (m.about_limit and not m.own) or m.path == "front.screen.aspect"]
    assert len(off_grid(problem, GRID)) == 5
    if told:
        assert oracle.holds(asked)
    else:
        with pytest.raises(Undecided):
            oracle.holds(asked)


def test_demands_that_fail_wherever_lengths_lie_take_one_question():
    """In a room of 5.2 m nobody sits 6 m before the rear wall: on the grid, at the file's values or elsewhere."""
    problem = one_row(text=BESIDE)
    asked = Oracle(problem, grid=GRID)
    far = [m for m in members(problem) if m.about_limit and m.index == 1]
    assert not asked.holds(far) and asked.asked == 1
    assert not asked.holds([*far, *(m for m in members(problem) if m.index == 0)]) and asked.asked == 1  # nor with more


POST = {
    "reverberation_time: 0.3 s": "reverberation_time: 0.3 s\n  obstructions: [{name: post, x: [2.9 m, 3.6 m], y: [0 m, 5.2 m], z: [0 m, 2.5 m]}]",
    "seating:\n": "  loudspeakers: {place: beside, width: 0.1 m, height: 0.2 m, depth: 0.1 m}\nseating:\n"
    "  wheelchair: {row: 1, width: 0.9 m, depth: 1.2 m, side: right}\n",
}


def test_a_conflict_is_asked_for_without_boxes_by_what_its_limits_are():
    """Without its only box the room has fewer limits of its own, as none asks how near cabinets are to boxes. An empty room has
    a place for a level row with nothing in its way: so the post it is."""
    problem = one_row(text=POST)
    names = {"row_obstruction_clearance", "wheelchair_rise"}
    chosen = [m for m in members(problem) if m.about_limit and all_limits(problem)[m.index].measure in names]
    assert len(chosen) == 2 and max(m.index for m in chosen) == len(all_limits(problem)) - 1
    bare = replace(problem, room=replace(problem.room, obstructions=()))
    assert len(all_limits(bare)) < len(all_limits(problem))
    assert _in_the_way(Oracle(problem, grid=GRID), chosen) == problem.room.obstructions


def test_that_a_design_is_not_proven_the_best_is_told_in_terminal_and_sheet(chain, capsys):
    """Two seconds of the solver are given to a proof, which may take more; a bound is told so that it holds as told."""
    problem, _ = chain
    given = concessions_of(Oracle(problem, grid=0.05), problem)
    assert given.alone and all(c.solution.status == "optimal" for c in given.alone)
    open_ = [replace(c, solution=replace(c.solution, status="feasible", bound=99.81)) for c in given.alone]
    for told, proven in ((given, True), (replace(given, alone=tuple(open_), joint=None), False)):
        print_concessions(Console(width=200), problem, told)
        for said in (capsys.readouterr().out, str(conflict_sections(problem, Reasons(concessions=told)))):
            assert ("none more than 99.9: it is not proven to be the best" in said) is not proven
