"""Conflicts and corrections against published examples, and against every subset looked at."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.explain.subsets import conflicts, corrections, deletion_filter, grown, quickxplain


def every_conflict(members, holds):
    """By looking at every subset."""
    sets = [frozenset(c) for size in range(len(members) + 1) for c in combinations(members, size)]
    return {s for s in sets if not holds(s) and all(holds(s - {m}) for m in s)}


def every_correction(members, holds):
    everyone = frozenset(members)
    sets = [frozenset(c) for size in range(len(members) + 1) for c in combinations(members, size)]
    return {s for s in sets if holds(everyone - s) and all(not holds(everyone - s | {m}) for m in s)}


# Junker, AAAI-04, Tables 1 and 2: five options and a budget of 3000.
COST = {1: 500, 2: 500, 3: 800, 4: 500, 5: 2600}


def within_budget(chosen):
    return sum(COST[x] for x in chosen) <= 3000


# CPMpy, tests/test_tools_mus.py: {b, d} and {a, b, c} exclude each other.
def two_conflicts(chosen):
    return not (set("bd") <= chosen or set("abc") <= chosen)


# "Representative Explanations for Over-Constrained Problems", AAAI-07: the budget is a member too,
# and c2 and c3 exclude each other.
CAR = {2: 500, 3: 500, 4: 500, 5: 2600}


def car(chosen):
    return not {2, 3} <= chosen and not (1 in chosen and sum(CAR.get(x, 0) for x in chosen) > 3000)


# CPMpy, TestMARCOMUS.test_php: five pigeons (1 to 5) into three holes (x, y, z).
def pigeons(chosen):
    holes = sum(isinstance(m, str) for m in chosen)
    return sum(isinstance(m, int) for m in chosen) <= 3 if holes == 3 else True


class TestPublished:
    def test_quickxplain_of_the_paper(self):
        assert quickxplain([1, 2, 3, 4, 5], within_budget) == (1, 5)
        assert quickxplain([3, 1, 2, 5, 4], within_budget) == (3, 5)

    def test_deletion_filter(self):
        assert deletion_filter([1, 2, 3, 4, 5], within_budget) == (4, 5)  # the minimal conflict of the paper's table
        assert set(deletion_filter([5, 4, 3, 2, 1], within_budget)) == {1, 5}

    def test_preferred_conflict(self):
        assert set(quickxplain("abcd", two_conflicts)) == set("abc")
        assert set(quickxplain("dcba", two_conflicts)) == set("bd")

    def test_lightest_conflict(self):
        for weights, lightest in (((1, 1, 2, 4), "abc"), ((2, 3, 4, 2), "bd")):
            weighed = dict(zip("abcd", weights, strict=True))
            assert next(conflicts("abcd", two_conflicts, weights=weighed)) == tuple(lightest)

    def test_all_conflicts_of_the_options(self):
        found = list(conflicts([1, 2, 3, 4, 5], within_budget))
        assert found == [(1, 5), (2, 5), (3, 5), (4, 5)]
        assert list(corrections([1, 2, 3, 4, 5], found)) == [(5,), (1, 2, 3, 4)]

    def test_all_conflicts_of_the_car(self):
        found = list(conflicts([1, 2, 3, 4, 5], car))
        assert found == [(2, 3), (1, 2, 5), (1, 3, 5), (1, 4, 5)]
        assert set(corrections([1, 2, 3, 4, 5], found)) == {(1, 2), (1, 3), (2, 5), (3, 5), (2, 3, 4)}

    def test_pigeonhole(self):
        members = [1, 2, 3, 4, 5, "x", "y", "z"]
        found = list(conflicts(members, pigeons))
        assert len(found) == 5
        assert len(list(corrections(members, found))) == 13


# Random monotone tests: a few forbidden sets over up to eight members.
MEMBERS = list("abcdefgh")
FORBIDDEN = st.lists(st.frozensets(st.sampled_from(MEMBERS), min_size=1), max_size=7)


def unless(forbidden):
    """The test that holds for what has none of the forbidden sets inside it."""
    return lambda s: not any(f <= s for f in forbidden)


class TestAgainstEverySubset:
    @settings(max_examples=60, deadline=None)
    @given(FORBIDDEN)
    def test_all_conflicts_smallest_first(self, forbidden):
        holds = unless(forbidden)
        found = list(conflicts(MEMBERS, holds))
        assert len(set(found)) == len(found)
        assert {frozenset(c) for c in found} == every_conflict(MEMBERS, holds)
        assert [len(c) for c in found] == sorted(len(c) for c in found)
        if found:
            assert {frozenset(c) for c in corrections(MEMBERS, found)} == every_correction(MEMBERS, holds)

    @settings(max_examples=60, deadline=None)
    @given(FORBIDDEN.filter(bool), st.permutations(MEMBERS))
    def test_single_conflicts_are_minimal(self, forbidden, order):
        holds = unless(forbidden)
        every = every_conflict(MEMBERS, holds)
        assert frozenset(deletion_filter(order, holds)) in every
        assert frozenset(quickxplain(order, holds)) in every

    @settings(max_examples=60, deadline=None)
    @given(FORBIDDEN.filter(bool), st.lists(st.integers(1, 9), min_size=8, max_size=8))
    def test_lightest_first(self, forbidden, numbers):
        holds = unless(forbidden)
        weights = dict(zip(MEMBERS, numbers, strict=True))
        totals = [sum(weights[m] for m in c) for c in conflicts(MEMBERS, holds, weights=weights)]
        assert totals == sorted(totals)
        assert len(totals) == len(every_conflict(MEMBERS, holds))

    @settings(max_examples=40, deadline=None)
    @given(FORBIDDEN, st.randoms(use_true_random=False))
    def test_what_a_witness_fulfils_changes_nothing_but_the_work(self, forbidden, random):
        asked = []

        def holds(s):
            asked.append(s)
            return not any(f <= s for f in forbidden)

        def extent(s):
            more = list(MEMBERS)
            random.shuffle(more)
            for m in more[:4]:
                if not any(f <= s | {m} for f in forbidden):
                    s = s | {m}
            return s

        plain = {frozenset(c) for c in conflicts(MEMBERS, holds)}
        assert {frozenset(c) for c in conflicts(MEMBERS, holds, extent=extent)} == plain

    def test_growing_stops_only_when_nothing_can_join(self):
        kept = grown(frozenset(), [1, 2, 3, 4, 5], car)
        assert car(kept) and not any(car(kept | {m}) for m in {1, 2, 3, 4, 5} - kept)


def test_nothing_holds():
    def never(_):
        return False

    assert list(conflicts([1, 2], never)) == [()]
    assert quickxplain([1, 2], never) == ()
    assert deletion_filter([1, 2], never) == ()


def test_everything_holds():
    assert list(conflicts([1, 2], lambda s: True)) == []


def test_early_members_win_among_equals():
    assert next(conflicts([3, 1, 2, 4, 5], within_budget)) == (3, 5)


@pytest.mark.parametrize("count", [30])
def test_many_members_need_few_questions(count):
    """One conflict of four among thirty: far fewer questions than its 2^30 subsets."""
    asked = []

    def holds(s):
        asked.append(s)
        return not {3, 11, 17, 29} <= s

    assert list(conflicts(range(count), holds)) == [(3, 11, 17, 29)]
    assert len(asked) < 40 * 8
