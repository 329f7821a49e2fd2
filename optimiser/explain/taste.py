"""Does the answer hang on a weight? For each goal the weights, from a tenth to ten times its own, with which the
best design is still near the best, proven, and the weights with which another is better by more.

What proves a whole range: with one weight w changing, a design's score is (a + w g) / (b + w k), where b and k
are the same for all designs of a kind. If at two weights no design scores more than some M, then a + w g of
every design is at most what lies on the straight line between M (b + w k) at the one and at the other.
"""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from optimiser.design import Space
from optimiser.errors import UsageError
from optimiser.explain.together import together
from optimiser.problem.model import Goal, Problem
from optimiser.progress import Progress, silent
from optimiser.score import Scorer
from optimiser.search import Search
from optimiser.solve import Solution
from optimiser.tidy import LOSS as NOTHING
from optimiser.tidy import tidied

LOSS = 1.0
"""Points below the best that count as near it."""

FAR = 10.0
"""How many times as great or as small a weight is tried."""

SHORT = 0.25
"""Points by which a design that comes too near is kept at a distance when the next weight is tried: more than what
the solver's levels blur, so that the proof is no hair's breadth."""

PATIENCE = 4.0
"""Deterministic seconds of the solver for one weight; where they are not enough, a nearer one is tried."""

GLANCE = 0.1
"""Deterministic seconds of the solver to look for a design that is much better, not only enough."""

STEPS = 24
"""Weights to try at most in one direction."""

SPLITS = 6
"""How often a range is halved that is not proven by its two ends."""

Line = tuple[float, float, float, float]
"""A design's a, g, b and k: it scores 100 (a + w g) / (b + w k) where the goal weighs w."""


@dataclass(frozen=True)
class End:
    """How far a weight may go one way. At every weight from its own to ``weight`` the best design is proven to be
    within the loss; ``beyond``, no farther out, is a weight from which another ``design`` is better by more (None:
    the range goes on to the farthest weight tried). ``settled``: the solver could tell."""

    weight: float
    beyond: float | None
    space: Space | None = None
    design: Mapping[str, float] | None = None
    settled: bool = True


@dataclass(frozen=True)
class Leaning:
    """How the answer leans on one goal's weight."""

    index: int
    goal: Goal
    score: float  # the goal's own, 0 to 1, at the best design
    low: End
    high: End

    @property
    def width(self) -> float:
        """How many times as great the greatest safe weight is as the least."""
        return self.high.weight / self.low.weight


def taste_of(
    problem: Problem,
    best: Solution,
    *,
    loss: float = LOSS,
    effort: float = PATIENCE,
    executor: Executor | None = None,
    progress: Progress = silent,
) -> tuple[Leaning, ...]:
    """Every goal that counts at the best design, the narrowest range first."""
    if best.design is None or best.card is None or best.score is None or best.bound is None:
        raise UsageError("an impossible problem has no best design; explain tells what would have to give")
    if best.bound - best.score >= loss:
        raise UsageError(
            f"the best design is proven to within {best.bound - best.score:.2f} points only: ask for more than that"
        )
    if len(best.card.goals) < 2:
        return ()
    goals = best.card.goals
    tasks = [(problem, best, r.index, up, loss, effort) for r in goals for up in (False, True)]
    ends = together(_end, tasks, "how far each weight may go", executor=executor, progress=progress)
    found = [
        Leaning(r.index, problem.goals[r.index], r.score, ends[2 * n], ends[2 * n + 1]) for n, r in enumerate(goals)
    ]
    return tuple(sorted(found, key=lambda one: one.width))


def with_weight(problem: Problem, index: int, weight: float) -> Problem:
    """The problem with another weight of one goal."""
    goals = list(problem.goals)
    goals[index] = replace(goals[index], weight=weight)
    return replace(problem, goals=tuple(goals))


def scored(line: Line, weight: float) -> float:
    """Points of a design where the goal has this weight."""
    a, g, b, k = line
    return 100.0 * (a + weight * g) / (b + weight * k)


def line_of(scorer: Scorer, design: Mapping[str, float], index: int, weight: float) -> Line:
    """A design's line, from its scores where the goal has this weight."""
    card = scorer.card({**scorer.space.settled, **design})
    a = sum(r.goal.weight * r.score for r in card.goals if r.index != index)
    own = [r for r in card.goals if r.index == index]
    b, k = kind_of_line(scorer, index, weight)
    return a, sum(r.goal.weight / weight * r.score for r in own), b, k


def kind_of_line(scorer: Scorer, index: int, weight: float) -> tuple[float, float]:
    """b and k of all designs of a space."""
    others = sum(t.goal.weight for t in scorer.targets if t.index != index)
    return others, sum(t.goal.weight / weight for t in scorer.targets if t.index == index)


class _Way:
    """One goal's weight on its way up or down."""

    def __init__(self, problem: Problem, best: Solution, index: int, loss: float, effort: float) -> None:
        assert best.space is not None and best.design is not None
        self.problem, self.best, self.index, self.loss, self.effort = problem, best, index, loss, effort
        self.own = problem.goals[index].weight
        base = Search(problem, best.grid, effort=effort)
        self.kinds = sorted({kind_of_line(s, index, self.own) for s in base.scorers})
        scorer = next(s for s in base.scorers if s.space.has(best.design))
        self.line = line_of(scorer, best.design, index, self.own)

    def ask(self, weight: float) -> tuple[str, Space | None, dict[str, float] | None, Line | None]:
        """Whether some design is better than the best by the loss at a weight: INFEASIBLE proves that none is."""
        if self.plain(weight):
            return "INFEASIBLE", None, None, None
        other = with_weight(self.problem, self.index, weight)
        search = Search(other, self.best.grid, effort=self.effort)
        asked = scored(self.line, weight) + self.loss
        if asked >= 100.0:
            return "INFEASIBLE", None, None, None
        status = "INFEASIBLE"
        for scorer in search.scorers:
            if not scorer.targets:
                continue  # it scores 100, whatever the weight
            compiled = search.compiled(scorer.space, scorer.bounds, scorer.targets, least=asked)
            # one that is much better takes the search a long way: look a little for it before taking any
            answer, solver = search.run(compiled, effort=GLANCE)
            if answer == "UNKNOWN":
                compiled.model.clear_objective()
                answer, solver = search.run(compiled, maximise=False)
            if answer in ("OPTIMAL", "FEASIBLE"):
                design = scorer.space.complete(compiled.read(solver))
                return "FEASIBLE", scorer.space, design, line_of(scorer, design, self.index, weight)
            if answer != "INFEASIBLE":
                status = "UNKNOWN"
        return status, None, None, None

    def tidy(self, design: dict[str, float], weight: float) -> dict[str, float]:
        """A design that is better than the best by the loss from a weight on, as it would be built: what it has by chance
        otherwise than the best, such as how high loudspeakers are, is no news."""
        search = Search(with_weight(self.problem, self.index, weight), self.best.grid, effort=self.effort)
        scorer = next(s for s in search.scorers if s.space.has(design))
        tidy = scorer.space.complete(tidied(scorer, design))
        lines = (line_of(scorer, one, self.index, weight) for one in (design, tidy))
        before, after = (self.advantage(line, weight) for line in lines)
        return tidy if after >= before - NOTHING else design

    def plain(self, weight: float) -> bool:
        """Whether the proof for the goal's own weight is enough for another: where the goal weighs more, a design
        gains at most the whole of that, and where it weighs less, nothing."""
        assert self.best.bound is not None
        for others, own in self.kinds:
            at_own = self.best.bound / 100.0 * (others + self.own * own)
            most = 100.0 * (at_own + max(0.0, weight - self.own) * own) / (others + weight * own)
            if most > scored(self.line, weight) + self.loss:
                return False
        return True

    def covered(self, one: tuple[float, float], other: tuple[float, float]) -> bool:
        """Whether two weights, with what no design there scores more than, prove all weights between: for every
        kind of design, on the straight line between."""
        (w1, m1), (w2, m2) = sorted((one, other))
        if w2 - w1 < 1e-12 * w2:
            return True
        a, g, b, k = self.line
        for others, own in self.kinds:
            # most(w), linear in w, times the best's denominator, less (its score + loss) times the other's:
            # a quadratic in the share t of the way, which must nowhere be above 0
            e1, e2 = (m * (others + w * own) / 100.0 for w, m in ((w1, m1), (w2, m2)))

            def excess(t: float, e1=e1, e2=e2, others=others, own=own) -> float:
                w = w1 + t * (w2 - w1)
                allowed = a + w * g + self.loss / 100.0 * (b + w * k)
                return (e1 + t * (e2 - e1)) * (b + w * k) - allowed * (others + w * own)

            ends, middle = (excess(0.0), excess(1.0)), excess(0.5)
            curve = 2.0 * (ends[0] + ends[1] - 2.0 * middle)
            slope = ends[1] - ends[0] - curve
            tops = [*ends]
            if curve < 0.0 and 0.0 < -slope / (2.0 * curve) < 1.0:
                tops.append(excess(-slope / (2.0 * curve)))
            if max(tops) > 1e-9 * (others + w2 * own) * (b + w2 * k):
                return False
        return True

    def advantage(self, line: Line, weight: float) -> float:
        """Points by which a design is better than the best at a weight."""
        return scored(line, weight) - scored(self.line, weight)

    def crossing(self, line: Line, points: float, near: float, far: float) -> float:
        """A weight between ``near``, where a design is not so much better, and ``far``, where it is, at which it is
        better by just so many points."""
        for _ in range(60):
            middle = 0.5 * (near + far)
            if self.advantage(line, middle) > points:
                far = middle
            else:
                near = middle
        return near


def _end(task: tuple[Problem, Solution, int, bool, float, float]) -> End:
    problem, best, index, up, loss, effort = task
    way = _Way(problem, best, index, loss, effort)
    assert best.bound is not None
    start = (way.own, best.bound)
    weight = way.own * (FAR if up else 1.0 / FAR)
    beyond: float | None = None
    space: Space | None = None
    witness: dict[str, float] | None = None
    settled = True

    def told(proven: float, settled: bool) -> End:
        design = witness if witness is None or beyond is None else way.tidy(witness, beyond)
        return End(proven, beyond, space, design, settled=settled)

    for _ in range(STEPS):
        status, there, design, line = way.ask(weight)
        if status == "INFEASIBLE":
            proven = _outward(way, start, weight)
            return told(proven, settled and proven == weight)
        if status == "UNKNOWN" or line is None:
            settled, weight = False, (way.own * weight) ** 0.5
            continue
        ahead = way.advantage(line, weight)
        if ahead > loss:
            # beyond: where it is better by just the loss, or the least that shows
            beyond, space, witness = way.crossing(line, loss, way.own, weight), there, design
        closer = loss - SHORT
        if ahead <= closer:
            break  # the solver's levels see what is not there
        weight = way.crossing(line, closer, way.own, weight)
    return told(way.own, False)


def _outward(way: _Way, start: tuple[float, float], weight: float) -> float:
    """The farthest weight up to which all are proven, where the ends are: halved where they do not do."""
    for _ in range(SPLITS):
        most = scored(way.line, weight) + way.loss
        if way.covered(start, (weight, most)):
            return weight
        middle = 0.5 * (start[0] + weight)
        if way.ask(middle)[0] != "INFEASIBLE":
            return start[0]
        at = (middle, scored(way.line, middle) + way.loss)
        if way.covered(start, at):
            start = at
        else:
            weight = middle
    return start[0]
