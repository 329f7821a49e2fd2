"""What would have to give for an impossible problem to become possible, and how much: each demand
alone, and the least in all. The design that results is the nearest one, and never an answer."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from optimiser.design import Space
from optimiser.errors import Undecided
from optimiser.explain.conflicts import nearest, shortfall
from optimiser.explain.demands import Demand, demand, quantity_of, wanted_of
from optimiser.explain.members import (
    Member,
    kept_bounds,
    members,
    name_of,
    one_end,
    relaxed,
    settled,
    values_at,
    values_of,
    with_end,
    with_values,
)
from optimiser.explain.possible import NOT_DECIDED, Oracle, Witness
from optimiser.explain.steps import rounded_up, step_of
from optimiser.extremes import extreme
from optimiser.forms import affine
from optimiser.linear import constant
from optimiser.measures.base import Measure
from optimiser.problem.model import Goal, Problem
from optimiser.problem.parts import part
from optimiser.progress import Progress, silent
from optimiser.requirements import Bound, Target, bounds
from optimiser.score import Scorecard, Scorer
from optimiser.search import Search
from optimiser.solve import PROMISE, Solution, solve

ROUNDS = 6
"""How often the scale of the least total is narrowed down."""

EVEN = 1e-3
"""Share of a total by which another counts as no more: less than what is shown of it."""

OVER = ("limits", "limits and ranges", "limits, ranges and rows", "limits, ranges, rows and shapes")
"""What may give way in the least in all: more than limits only where these are not enough. Another number of rows is
another design, and another shape of image yet another, so these come last."""

HAIR = 1e-7
"""SI units by which a loosened limit is set beyond the value it must admit."""


@dataclass(frozen=True)
class Loosening:
    """One demand that gives way, ``by`` so much at least, from ``wanted`` to ``given`` (SI), which is rounded to what
    is shown of it so that it is enough. ``admitted`` are the values that a list or a fixed value would have to admit."""

    member: Member
    quantity: str
    wanted: float
    given: float | None
    by: float
    admitted: tuple[float, ...] = ()


@dataclass(frozen=True)
class Concession:
    """Demands loosened until a design holds the rest. ``total`` is the sum of loosenings in steps, times
    their weights; no set of loosenings of the same demands totals less than ``least`` (proven).
    ``solution`` is the best design then, ``card`` its scorecard against the problem as it stands."""

    loosenings: tuple[Loosening, ...]
    total: float
    least: float
    solution: Solution
    card: Scorecard


@dataclass(frozen=True)
class Aside:
    """An image that stands ``by`` metres off the room's centre line, the least with which all demands hold
    (proven that less than ``least`` does not do). ``solution`` is the best design with its image there."""

    by: float
    least: float
    solution: Solution


@dataclass(frozen=True)
class Concessions:
    """``alone``: demands that suffice by themselves, the least first. ``aside``: a centred image that may leave
    the centre line suffices. ``joint``: the least in all over the demands in ``over`` (one of OVER). None where the
    solver cannot tell, or where nothing that may give way suffices (``hopeless``)."""

    alone: tuple[Concession, ...]
    joint: Concession | None
    over: str
    hopeless: bool
    undecided: bool
    aside: Aside | None = None


def concessions_of(
    oracle: Oracle,
    problem: Problem,
    candidates: Collection[Member] | None = None,
    *,
    weights: Mapping[str, float] | None = None,
    steps: Mapping[str, float] | None = None,
    ranges: bool = False,
    progress: Progress = silent,
) -> Concessions:
    """Concessions for an impossible problem (``problem`` has the goals that the oracle's lacks).

    ``candidates``: the demands that can suffice alone, if conflicts told. ``weights``: by measure or
    path, how dear a step is (1 if not given). ``ranges``: let ranges and fixed values of decisions give
    way in the joint concession too; else only where limits alone do not suffice.
    """
    ask = _Asker(oracle, problem, weights or {}, steps or {})
    everyone = members(oracle.problem)
    alone, undecided = [], False
    asked = [m for m in everyone if not m.firm and (candidates is None or m in candidates)]
    for at, member in enumerate(asked):
        progress("what each demand alone would have to give", at, len(asked))
        try:
            if oracle.holds(frozenset(everyone) - {member}):
                given = ask.alone(member, frozenset(everyone) - {member})
                alone.append(given)
                undecided = undecided or given is None  # it is enough, and how much of it is not known
        except Undecided:
            undecided = True
    aside = None
    progress("whether the image would have to leave the centre line")
    try:
        aside = _aside(oracle, problem)
    except Undecided:
        undecided = True
    progress("the least that would have to give in all")
    joint, over, hopeless = None, "limits", False
    try:
        for over in OVER[1:] if ranges else OVER:
            loose = _able(everyone, over)
            hopeless = not oracle.holds(frozenset(everyone) - set(loose))
            if not hopeless:
                joint = _even(ask.spared(loose, everyone), alone, loose)
                undecided = undecided or joint is None
                break
    except Undecided:  # that less is not enough was proven, and no more
        undecided, hopeless = True, False
    found = sorted((c for c in alone if c is not None), key=lambda c: (_settled(c), c.total))
    return Concessions(tuple(found), joint, over, hopeless, undecided, aside)


def _able(everyone: Collection[Member], over: str) -> list[Member]:
    """The demands that may give way together."""
    able = {"seating.rows": OVER.index(over) >= 2, "screen.aspect": OVER.index(over) >= 3}
    return [
        m
        for m in everyone
        if not m.firm and (m.about_limit or (able[name_of(m.path)] if settled(m.path) else over != OVER[0]))
    ]


def _aside(oracle: Oracle, problem: Problem) -> Aside | None:
    """The least by which a centred image would have to leave the centre line for all demands to hold; None where it
    is not centred, or nothing else that is asked holds then either. Raises Undecided."""
    if not problem.baffle.centred:
        return None
    free = replace(problem, baffle=replace(problem.baffle, centred=False))
    if not Oracle(free, grid=oracle.grid, effort=oracle.effort).holds(members(free)):
        return None
    found = extreme(free, "off_centre", greatest=False, grid=oracle.grid, effort=oracle.effort)
    if found.value is None or found.bound is None or found.solution.design is None:
        raise Undecided(NOT_DECIDED)
    return Aside(found.value, max(0.0, found.bound), found.solution)


def _even(joint: Concession | None, alone: Sequence[Concession | None], loose: Collection[Member]) -> Concession | None:
    """The least in all; where one demand alone takes no more steps than several that share them, that one: fewer
    demands are then broken, and less is left to weigh."""
    if joint is None or len(joint.loosenings) < 2:
        return joint
    same = [c for c in alone if c and c.loosenings[0].member in loose and c.total <= joint.total * (1.0 + EVEN) + 1e-9]
    if not same:
        return joint
    one = min(same, key=lambda c: c.total)
    return replace(one, least=min(joint.least, one.total))


def _settled(concession: Concession) -> bool:
    """Whether it is another number of rows or aspect ratio: no matter of a step more or less."""
    return any(settled(one.member.path) for one in concession.loosenings)


MET = Demand(affine(constant(0.0)), False, 0.0)
"""The demand of a space that has nothing that a member is about."""


def _wish(problem: Problem, member: Member, space: Space) -> Demand | None:
    """A member's demand in a space, also of what the space has settled: how far that is from it is the same for each
    of the space's designs."""
    if not settled(member.path):
        return demand(problem, member, space)
    values = values_at(problem, member.path, space.settled)
    if not values:
        return None
    if member.kind == "value":
        admitted = values_of(part(problem, member.path).value)  # type: ignore[arg-type]
        return Demand(affine(constant(min(abs(values[0] - v) for v in admitted))), False, 0.0)
    return Demand(affine(constant(values[0])), member.kind == "from", wanted_of(problem, member))


class _Asker:
    """One problem's concessions: steps, weights, and the solver's questions."""

    def __init__(
        self, oracle: Oracle, problem: Problem, weights: Mapping[str, float], steps: Mapping[str, float]
    ) -> None:
        self.oracle, self.problem = oracle, problem
        self.weights, self.steps = weights, steps

    def price(self, member: Member) -> float:
        """What one SI unit of a member's quantity costs: its weight in steps."""
        kind = quantity_of(self.problem, member)
        name = self.problem.limits[member.index].measure if member.about_limit else member.path
        return self.weights.get(name, 1.0) / step_of(kind, self.problem.show, self.steps)

    def _allowed_near(self, member: Member, value: float) -> float:
        """What the file allows at a member's place that is nearest to ``value``."""
        allowed = values_of(part(self.problem, member.path).value)  # type: ignore[arg-type]
        return min(allowed, key=lambda one: abs(value - one))

    def alone(self, member: Member, others: frozenset[Member]) -> Concession | None:
        if settled(member.path):
            short = shortfall(self.oracle, member, others)
            if not short.works:
                return None

            def apart(value: float) -> float:
                return abs(value - self._allowed_near(member, value))

            away = min(short.works, key=apart)
            by, least = apart(away), min(map(apart, (away, *short.perhaps)))
            loosening = Loosening(member, short.quantity, self._allowed_near(member, away), away, by, (away,))
            return self._conceded((loosening,), by * self.price(member), least * self.price(member))
        found = nearest(self.oracle, member, others)
        if found is None or math.isinf(found.value):
            return None
        wish = demand(self.problem, member, found.space)
        assert wish is not None
        loosening = self._loosening(member, wish, found.space, found.design)
        least = max(0.0, wish.missing(found.bound)) * self.price(member)
        return self._conceded((loosening,), loosening.by * self.price(member), least)

    def spared(self, loose: Sequence[Member], everyone: Sequence[Member]) -> Concession | None:
        """The least weighted total over ``loose``; of those that total no more, one that no single demand can be left
        out of for a design that scores as well: what gives a hair where others could as well is broken for nothing,
        and which of several gives may be all the same to the total and not to the goals."""
        found = self.joint(loose, frozenset(everyone) - set(loose))
        if found is None:
            return None
        giving = [one.member for one in sorted(found.loosenings, key=lambda one: -one.by * self.price(one.member))]
        for member in tuple(giving):
            left = [m for m in giving if m != member]
            try:
                if not left or not self.oracle.holds(frozenset(everyone) - set(left)):
                    continue
                other = self.joint(left, frozenset(everyone) - set(left))
            except Undecided:  # what was found stands
                continue
            if other is None or other.total > found.total * (1.0 + EVEN) + 1e-9:
                continue
            if other.card.score >= found.card.score - PROMISE:
                found, giving = replace(other, least=min(found.least, other.total)), left
        return found

    def joint(self, loose: Sequence[Member], kept: frozenset[Member]) -> Concession | None:
        """The least weighted total over ``loose``, by scoring each as a goal whose fade is what it would
        cost if it gave way alone."""
        start = self.oracle.witness(kept)
        assert start is not None
        total = self._total(loose, start)
        scale, found, least = (total if math.isfinite(total) else 1000.0), start, 0.0
        for _ in range(ROUNDS):
            search = self._elastic(loose, kept, scale)
            open_ = search.find()
            if search.design is None:
                break
            bound = search.prove(open_)
            least = max(least, scale * len(loose) * (1.0 - bound / 100.0))
            assert search.space is not None
            better = Witness(search.space, search.design)
            before, reached = total, self._total(loose, better)
            # a range's end that gives way by more than the scale counts no more than the scale: it may be farther off
            if reached < total:
                found, total = better, reached
            if not math.isfinite(total) or total > 0.7 * min(before, scale):
                break
            scale = total
        if not math.isfinite(total):
            return None
        loosenings = []
        for member in loose:
            wish = _wish(self.problem, member, found.space)
            if wish is not None and wish.missing(_value(wish, found.design)) > 1e-6:
                loosenings.append(self._loosening(member, wish, found.space, found.design))
        return self._conceded(tuple(loosenings), total, min(least, total))

    def _total(self, loose: Sequence[Member], witness: Witness) -> float:
        total = 0.0
        for member in loose:
            wish = _wish(self.problem, member, witness.space)
            if wish is not None:
                total += max(0.0, wish.missing(_value(wish, witness.design))) * self.price(member)
        return total

    def _elastic(self, loose: Sequence[Member], kept: frozenset[Member], scale: float) -> Search:
        relaxed_problem = relaxed(self.oracle.problem, kept)
        search = Search(relaxed_problem, self.oracle.grid, effort=self.oracle.effort)
        for scorer in search.scorers:
            firm = kept_bounds(relaxed_problem, scorer.space, kept)
            near, targets = self._goals(scorer.space, loose, scale)
            scorer.bounds, scorer.targets = [*firm, *near], targets
        return search

    def _goals(self, space: Space, loose: Sequence[Member], scale: float) -> tuple[list[Bound], list[Target]]:
        """The loose demands as goals with equal weights, and as limits so far out that going farther
        would cost more than ``scale`` by itself. A score is the mean of all of them in every space, so that more of it
        is always a smaller total: what a space has nothing of is met there."""
        near, targets = [], []
        for at, member in enumerate(loose):
            wish = _wish(self.problem, member, space) or MET
            reach = scale / self.price(member) * (1.0 + 1e-9) + 1e-9
            low, high = (wish.wanted, None) if wish.greatest else (None, wish.wanted)
            goal = Goal(f"demand {at}", "worst", low, high, reach, 1.0)
            measure = _as_measure(goal.measure, quantity_of(self.problem, member))
            targets.append(Target(at, goal, measure, (None,), (wish.form,), True))
            if member.about_limit:
                edge = wish.wanted - reach if wish.greatest else wish.wanted + reach
                for bound in bounds(self.problem, space):
                    if bound.index == member.index:
                        single = replace(one_end(bound.limit, member.end), **{member.end: edge})
                        near.append(replace(bound, limit=single))
        return near, targets

    def _loosening(self, member: Member, wish: Demand, space: Space, design: Mapping[str, float]) -> Loosening:
        value = _value(wish, design)
        kind, wanted = quantity_of(self.problem, member), wanted_of(self.problem, member)
        if member.kind == "value":
            values = tuple(sorted(set(values_at(self.problem, member.path, design))))
            if len(values) == 1:
                wanted = self._allowed_near(member, values[0])
            return Loosening(member, kind, wanted, values[0] if len(values) == 1 else None, value, values)
        by = max(0.0, wish.missing(value))
        # what a design scores then is so for whoever writes the figure that is told into the file
        told = rounded_up(kind, by, self.problem.show)
        given = wanted - told if member.end == "at_least" or member.kind == "from" else wanted + told
        return Loosening(member, kind, wanted, given, by)

    def _conceded(self, loosenings: tuple[Loosening, ...], total: float, least: float) -> Concession | None:
        loose = loosened(self.problem, loosenings)
        solution = solve(loose, grid=self.oracle.grid, effort=self.oracle.effort)
        if solution.design is None or solution.space is None:
            return None
        card = Scorer(self.problem, solution.space).card(solution.design)
        return Concession(loosenings, total, least, solution, card)


def loosened(problem: Problem, loosenings: Sequence[Loosening]) -> Problem:
    """The problem with its demands loosened so."""
    for one in loosenings:
        member = one.member
        if member.kind == "value":
            admitted = values_of(part(problem, member.path).value)  # type: ignore[arg-type]
            problem = with_values(problem, member, {*admitted, *one.admitted})
        else:
            assert one.given is not None
            beyond = HAIR if member.about_limit else 0.0
            problem = with_end(problem, member, one.given + (beyond if member.end == "at_most" else -beyond))
    return problem


def _value(wish: Demand, design: Mapping[str, float]) -> float:
    return float(wish.form.value(design))


def _as_measure(name: str, quantity: str) -> Measure:
    """A stand-in for the measure of a goal that is none of the catalogue's."""

    def build(*_: object) -> object:
        raise AssertionError("the form is given with the goal")

    return Measure(name, "", quantity, False, 1, {}, "", "", "", build=build)  # type: ignore[arg-type]
