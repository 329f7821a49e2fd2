"""Questions about one problem's designs, answered by the solver with proof.

A question names floors for the objectives and the order in which to raise them. Whatever a search
finds is only a candidate: an answer ends with floors a little higher at which there is no design.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from optimiser.design import spaces
from optimiser.engine import EFFORT
from optimiser.errors import OptimiserError, UsageError
from optimiser.measures import catalogue
from optimiser.problem.model import Problem
from optimiser.requirements import having
from optimiser.score import Scorer, holds
from optimiser.search import Search, check
from optimiser.study.aims import Blend, Sharp, aim_of
from optimiser.study.floored import Floored
from optimiser.study.ground import ASIDE, BEYOND, Ground, Unsettled
from optimiser.study.objectives import Objective
from optimiser.study.zones import Answer, Point, Question

FINE = 1e-6
"""Gain, in SI units and as a share of an objective's range, that does not count as one."""

BLUR = 5e-4
"""The same for a blend of score levels, as a share of its full value: what its levels can tell. Beside
a blend the other objectives are told no finer, as a share of their range."""

ROUGH = 1e-3
"""The same for a sum of forms or a table, as a share of all that it may be: the solver takes it on scales."""

CLOSE = 0.5
"""Points of 100 to which a score on a front is proven: to prove one as closely as an answer's takes minutes
where much is given up for little."""

BESIDE = 0.01
"""Share of an objective's range to which it is told beside the score."""

GLANCE = 0.1
"""Deterministic seconds for a first look at each space, where the score is raised."""

NEAR = 5e-4
"""Share of an objective's range to which a point inside the front must have the most of the first."""

WELL_ABOVE = 1e-4
"""Share of an objective's span far above what drives are rounded to."""

ASKED, HAIR = 4, 1e-9
"""How often a score is asked for again where a design is below a floor by what a model's levels blur; and by how little
one may be below."""

EVEN = 1e-9
"""Share of an objective's range that rounding may cost a design that is no worse."""

PASSES = 200
"""Looks for a better design, after which something is wrong."""


@dataclass(frozen=True)
class Found:
    """A design in one space with its heights, and a height of the objective raised that none passes."""

    ground: Ground
    design: Mapping[str, float]
    heights: tuple[float, ...]
    ceiling: float = math.inf
    scored: float = math.inf  # the score that none passes


class Oracle:
    """All spaces that have all the objectives. ``close``: points of the score to which it is proven, where
    it is one of them."""

    def __init__(
        self,
        objectives: Sequence[Objective],
        grounds: Sequence[Ground],
        *,
        problem: Problem | None = None,
        step: float = 0.0,
        close: float = CLOSE,
        effort: float = EFFORT,
    ) -> None:
        self.problem, self.step, self.close, self.effort = problem, step, close, effort
        self.objectives = tuple(objectives)
        self.grounds = list(grounds)
        self.total = self.grounds[0].total
        self.finest = tuple(self._finest(k) for k in range(len(objectives)))
        self._share = BLUR if any(isinstance(aim, Blend) for ground in self.grounds for aim in ground.aims) else FINE
        if self.total is not None:
            self._share = BESIDE

    def _finest(self, k: int) -> float:
        # a goal that is a mean over rows is a blend only where there are several
        sharp = [(g.aims[k], *g.intervals[k]) for g in self.grounds if isinstance(g.aims[k], Sharp)]
        blends = [g.aims[k] for g in self.grounds if isinstance(g.aims[k], Blend)]
        widths = [high - low for aim, low, high in sharp if aim.rough]
        return max(
            [FINE, *(ROUGH * width for width in widths if math.isfinite(width))]
            + [self.close if aim.total else BLUR * aim.full for aim in blends]
        )

    def same(self, k: int) -> bool:
        """Whether every design, of whatever space, has the same of an objective: nothing open bears on it."""
        ends = [end for ground in self.grounds for end in ground.intervals[k]]
        return max(ends) - min(ends) <= self.finest[k]

    @property
    def solves(self) -> int:
        return sum(ground.solves for ground in self.grounds)

    # --- questions ----------------------------------------------------------------------------

    def answer(self, question: Question) -> Answer:
        """The point that a question asks for, proven."""
        fine = self._fine(question)
        if question.exact:
            found = self._lexicographic(question, fine)
        else:
            main = question.order[0]
            gap = max(fine[main], NEAR * (question.ideal[main] - question.nadir[main]))
            found = self._raised(main, question.floors, gap, self._spans(question))
        if found is None:
            return Answer(None, -math.inf)
        best, blur = self._undominated(found, fine, self._spans(question))
        if not all(holds(bound, best.design) for bound in best.ground.scorer.bounds):
            check(best.ground.scorer, best.design)
        point = Point(best.heights, dict(best.design), tuple(blur), float(best.ground.scorer.scores(best.design)))
        return Answer(point, max(found.ceiling, best.heights[question.order[0]]))

    def _fine(self, question: Question) -> list[float]:
        ranges = [i - n if math.isfinite(i - n) else 0.0 for i, n in zip(question.ideal, question.nadir, strict=True)]
        if self.total is not None:
            ranges = self._spans(question)
        return [max(f, self._share * r) for f, r in zip(self.finest, ranges, strict=True)]

    def _spans(self, question: Question) -> list[float]:
        """The range of each objective, as far as it is known; never nothing."""
        spans = []
        for k, (low, high) in enumerate(zip(question.nadir, question.ideal, strict=True)):
            if not math.isfinite(high - low):
                ends = [min(max(e, -BEYOND), BEYOND) for g in self.grounds for e in g.intervals[k]]
                low, high = min(ends), max(ends)
            spans.append(max(high - low, 1e3 * self.finest[k]))
        return spans

    def _lexicographic(self, question: Question, fine: Sequence[float]) -> Found | None:
        """Raise each objective in turn as far as it goes, keeping what the ones before have."""
        floors, first, scored, best = list(question.floors), None, math.inf, None
        for k in question.order:
            found = self._raised(k, floors, fine[k], self._spans(question))
            if found is None:
                break
            best = found
            first = found.ceiling if first is None else first
            scored = min(scored, found.scored)
            if k == self.total:
                break  # what else there is to gain is for the proof to find
            floors[k] = found.heights[k]
        return None if best is None else replace(best, ceiling=first, scored=scored)

    def _raised(self, k: int, floors: Sequence[float], gap: float, spans: Sequence[float]) -> Found | None:
        """One objective raised, over all spaces, until none has a gap more of it; None: no design at all."""
        if k == self.total:
            return self._scored(k, floors)
        best: Found | None = None
        ceiling = -math.inf
        for ground in self.grounds:
            found = self._climbed(ground, k, floors, None if best is None else best.heights[k] + gap, gap, spans)
            if found is None:
                continue
            ceiling = max(ceiling, found.ceiling)
            if best is None or found.heights[k] > best.heights[k]:
                best = found
        if best is None:
            return None
        if math.isinf(best.heights[k]):  # as how far the only door is, where there is none
            anywhere = [-math.inf] * len(floors)
            if any(self._climbed(ground, k, anywhere, -BEYOND, gap, spans) for ground in self.grounds):
                end = "at_least" if self.objectives[k].raised else "at_most"
                raise UsageError(
                    f"{self.objectives[k].words} has no end in some of the designs that nothing beats: a limit on it "
                    f"({end}) leaves those out"
                )
            raise self._endless(k)
        return replace(best, ceiling=max(ceiling, best.heights[k] + (gap if len(self.grounds) > 1 else 0.0)))

    def _endless(self, k: int) -> UsageError:
        what = "greatest" if self.objectives[k].raised else "least"
        return UsageError(f"{self.objectives[k].words} has no {what} value here: nothing bounds it")

    def _scored(self, k: int, floors: Sequence[float]) -> Found | None:
        """The score raised, over all spaces, by the search that answers a problem."""
        found = self._searched(k, floors)
        asked, first = list(floors), found
        for _ in range(ASKED):
            if found is None:
                return first
            short = [max(0.0, floor - height) for floor, height in zip(floors, found.heights, strict=True)]
            low = [j for j in range(len(floors)) if isinstance(found.ground.aims[j], Blend) and short[j] > HAIR]
            if not any(j != k for j in low):
                break
            # a few levels below its floor: such a design may hide another that is not
            asked = [a + 1.02 * short[j] + HAIR if j in low and j != k else a for j, a in enumerate(asked)]
            found = self._searched(k, asked)
        assert first is not None
        return first if found is None else replace(found, ceiling=first.ceiling, scored=first.scored)

    def _searched(self, k: int, floors: Sequence[float]) -> Found | None:
        """The best score at the floors, of which those of blends may be missed by a few levels."""
        scorers = [Scorer.of(g.space, g.bounded(floors), g.scorer.targets) for g in self.grounds]
        blends = {
            scorer: [
                (aim, floor)
                for j, (aim, floor) in enumerate(zip(ground.aims, floors, strict=True))
                if j != k and isinstance(aim, Blend) and floor > 0.0
            ]
            for scorer, ground in zip(scorers, self.grounds, strict=True)
        }
        how = {"effort": self.effort, "least": max(0.0, floors[k]), "margin": self.close, "glance": GLANCE}
        if any(blends.values()):
            search: Search = Floored(self.problem, self.step, floors=blends, **how)
        else:
            search = Search(self.problem, self.step, scorers=scorers, **how)
        open_ = search.find()
        if search.design is None:
            if open_:
                raise Unsettled("the solver gave up before it had either a design or a proof")
            return None
        ceiling = search.prove(open_)
        ground = next(g for g in self.grounds if g.space is search.space)
        return Found(ground, search.design, ground.heights(search.design), ceiling, ceiling)

    def _climbed(
        self, ground: Ground, k: int, floors: Sequence[float], above: float | None, gap: float, spans: Sequence[float]
    ) -> Found | None:
        """One objective raised in one space; None where no design is at the floors and ``above``."""
        best: Found | None = None
        low, high = ground.intervals[k]
        floor, step = floors[k] if above is None else max(floors[k], above), gap
        for _ in range(PASSES):
            if floor > high:
                break
            branch = ground.branch([floor if j == k else f for j, f in enumerate(floors)])
            at = floor if math.isfinite(floor) else 0.5 * (max(low, -BEYOND) + min(high, BEYOND))
            beside = {
                j: f for j, f in enumerate(floors) if j != k and math.isfinite(f) and gap > 4.0 * ASIDE * spans[k]
            }
            branch.model.maximize(ground.drive(branch, {k: at if best is None else best.heights[k]}, spans, beside))
            design = ground.ask(branch)
            if design is None:
                break
            heights = ground.heights(design)
            if heights[k] == math.inf:
                raise self._endless(k)
            if best is None or heights[k] > best.heights[k]:
                best = Found(ground, design, heights)
            if heights[k] < floor - 0.5 * gap:
                step *= 4.0  # let through by the solver's rounding: it can't tell so little
            floor = max(floor, best.heights[k] if math.isfinite(best.heights[k]) else -BEYOND) + step
            if ground.counted[k] and ground.settled and gap >= WELL_ABOVE * spans[k]:
                break  # driven as far as it goes: the next look would find nothing
        else:
            raise OptimiserError(f"how far {self.objectives[k].words} goes could not be settled")
        if best is None:
            return None
        return replace(best, ceiling=min(max(floor, best.heights[k]), max(high, best.heights[k])))

    def _undominated(self, found: Found, fine: Sequence[float], spans: Sequence[float]) -> tuple[Found, list[float]]:
        """The design, or one that beats it, with the proof that nothing beats that by more than a blur."""
        blur = list(fine)
        for _ in range(PASSES):
            try:
                tried = (self._better(ground, found, blur, spans) for ground in self.grounds)
                better = next((b for b in tried if b is not None), None)
            except Unsettled:  # a greater gain is easier to rule out
                if all(b >= s for k, (b, s) in enumerate(zip(blur, spans, strict=True)) if k != self.total):
                    raise
                blur = [b if k == self.total else 4.0 * b for k, b in enumerate(blur)]
                continue
            if better is None:
                if self.total is not None:
                    blur[self.total] = max(found.scored - found.heights[self.total], 0.0)
                return found, blur
            gains = [after - before for after, before in zip(better.heights, found.heights, strict=True)]
            real = [g > 0.5 * b for g, b in zip(gains, blur, strict=True)]
            if any(real) and all(g > -EVEN * s for g, s in zip(gains, spans, strict=True)):
                found = replace(better, scored=found.scored)
            else:  # the solver's rounding let through what costs a little elsewhere: ask for more gain
                blur = [4.0 * b if r or not any(real) else b for r, b in zip(real, blur, strict=True)]
        raise OptimiserError("a point of the front could not be settled")

    def _better(self, ground: Ground, found: Found, blur: Sequence[float], spans: Sequence[float]) -> Found | None:
        """A design at least as good in all and better by a blur in one; None where there is none."""
        branch = ground.branch(found.heights)
        gains = []
        for k, height in enumerate(found.heights):
            if k == self.total and found.scored < math.inf:
                continue  # no design at lower floors scores more than that
            if height + blur[k] <= ground.intervals[k][1]:
                gains.append(branch.model.new_bool_var(""))
                ground.raise_floor(branch, k, height + blur[k], [gains[-1]])
        if not gains:
            return None
        branch.model.add_bool_or(gains)
        branch.model.maximize(ground.drive(branch, dict(enumerate(found.heights)), spans))
        design = ground.ask(branch)
        return None if design is None else Found(ground, design, ground.heights(design))


@lru_cache(maxsize=4)
def oracle(problem: Problem, objectives: tuple[Objective, ...], step: float, close: float = CLOSE) -> Oracle:
    """The oracle of a problem, made once in each process."""
    grounds = []
    for objective in objectives:
        if objective.measure is not None and objective.goal is None:
            problem = having(problem, catalogue()[objective.measure], objective.row)
    for space in spaces(problem, grid=step):
        aims = [aim_of(problem, space, objective) for objective in objectives]
        if not any(aim is None for aim in aims):
            grounds.append(Ground(Scorer(problem, space), aims, EFFORT))
    if not grounds:
        wanted = ", ".join(o.text for o in objectives)
        raise UsageError(f"no number of rows that the file allows has all of these: {wanted}")
    return Oracle(objectives, grounds, problem=problem, step=step, close=close)
