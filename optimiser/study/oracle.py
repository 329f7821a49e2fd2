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
from optimiser.errors import OptimiserError, UsageError
from optimiser.problem.model import Problem
from optimiser.score import Scorer, holds
from optimiser.solve import EFFORT, check
from optimiser.study.aims import Blend, aim_of
from optimiser.study.front import Answer, Point, Question
from optimiser.study.ground import Ground
from optimiser.study.objectives import Objective

FINE = 1e-6
"""Gain, in SI units and as a share of an objective's range, that does not count as one."""

BLUR = 5e-4
"""The same for a blend of score levels, as a share of its full value: what its levels can tell. Beside
a blend the other objectives are told no finer, as a share of their range."""

NEAR = 5e-4
"""Share of an objective's range to which a point inside the front must have the most of the first."""

EVEN = 1e-9
"""Share of an objective's range that rounding may cost a design that is no worse."""

BEYOND = 1e6
"""A height, in SI units, that only what has no bound passes."""

PASSES = 200
"""Looks for a better design, after which something is wrong."""


@dataclass(frozen=True)
class Found:
    """A design in one space with its heights, and a height of the objective raised that none passes."""

    ground: Ground
    design: Mapping[str, float]
    heights: tuple[float, ...]
    ceiling: float = math.inf


class Oracle:
    """All spaces of a problem that have all the objectives."""

    def __init__(self, problem: Problem, objectives: Sequence[Objective], step: float, effort: float = EFFORT) -> None:
        self.objectives = tuple(objectives)
        self.grounds: list[Ground] = []
        self.left_out = 0
        for space in spaces(problem, grid=step):
            aims = [aim_of(problem, space, objective) for objective in objectives]
            if any(aim is None for aim in aims):
                self.left_out += 1
            else:
                self.grounds.append(Ground(Scorer(problem, space), aims, effort))
        if not self.grounds:
            wanted = ", ".join(o.text for o in objectives)
            raise UsageError(f"no number of rows that the file allows has all of these: {wanted}")
        aims = self.grounds[0].aims
        self.finest = tuple(BLUR * aim.full if isinstance(aim, Blend) else FINE for aim in aims)
        self._share = BLUR if any(isinstance(aim, Blend) for aim in aims) else FINE

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
        point = Point(best.heights, dict(best.design), tuple(blur))
        return Answer(point, max(found.ceiling, best.heights[question.order[0]]))

    def _fine(self, question: Question) -> list[float]:
        ranges = [i - n if math.isfinite(i - n) else 0.0 for i, n in zip(question.ideal, question.nadir, strict=True)]
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
        floors, first, best = list(question.floors), None, None
        for k in question.order:
            found = self._raised(k, floors, fine[k], self._spans(question))
            if found is None:
                break
            best = found
            first = found.ceiling if first is None else first
            floors[k] = found.heights[k]
        return None if best is None else replace(best, ceiling=first)

    def _raised(self, k: int, floors: Sequence[float], gap: float, spans: Sequence[float]) -> Found | None:
        """One objective raised, over all spaces, until none has a gap more of it; None: no design at all."""
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
        return replace(best, ceiling=max(ceiling, best.heights[k] + (gap if len(self.grounds) > 1 else 0.0)))

    def _climbed(
        self, ground: Ground, k: int, floors: Sequence[float], above: float | None, gap: float, spans: Sequence[float]
    ) -> Found | None:
        """One objective raised in one space; None where no design is at the floors and ``above``."""
        best: Found | None = None
        low, high = ground.intervals[k]
        floor = floors[k] if above is None else max(floors[k], above)
        for _ in range(PASSES):
            if floor > high:
                break
            branch = ground.branch([floor if j == k else f for j, f in enumerate(floors)])
            at = floor if math.isfinite(floor) else 0.5 * (max(low, -BEYOND) + min(high, BEYOND))
            branch.model.maximize(ground.drive(branch, {k: at if best is None else best.heights[k]}, spans))
            design = ground.ask(branch)
            if design is None:
                break
            heights = ground.heights(design)
            if heights[k] >= BEYOND:
                what = "greatest" if self.objectives[k].raised else "least"
                raise UsageError(f"{self.objectives[k].words} has no {what} value here: nothing bounds it")
            if best is None or heights[k] > best.heights[k]:
                best = Found(ground, design, heights)
            floor = max(floor, best.heights[k]) + gap
        else:
            raise OptimiserError(f"how far {self.objectives[k].words} goes could not be settled")
        return None if best is None else replace(best, ceiling=min(max(floor, best.heights[k]), max(high, best.heights[k])))

    def _undominated(self, found: Found, fine: Sequence[float], spans: Sequence[float]) -> tuple[Found, list[float]]:
        """The design, or one that beats it, with the proof that nothing beats that by more than a blur."""
        blur = list(fine)
        for _ in range(PASSES):
            better = next((b for ground in self.grounds if (b := self._better(ground, found, blur, spans)) is not None), None)
            if better is None:
                return found, blur
            gains = [after - before for after, before in zip(better.heights, found.heights, strict=True)]
            real = [g > 0.5 * b for g, b in zip(gains, blur, strict=True)]
            if any(real) and all(g > -EVEN * s for g, s in zip(gains, spans, strict=True)):
                found = better
            else:  # the solver's rounding let through what costs a little elsewhere: ask for more gain
                blur = [4.0 * b if r or not any(real) else b for r, b in zip(real, blur, strict=True)]
        raise OptimiserError("a point of the front could not be settled")

    def _better(self, ground: Ground, found: Found, blur: Sequence[float], spans: Sequence[float]) -> Found | None:
        """A design at least as good in all and better by a blur in one; None where there is none."""
        branch = ground.branch(found.heights)
        gains = []
        for k, height in enumerate(found.heights):
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
def oracle(problem: Problem, objectives: tuple[Objective, ...], step: float) -> Oracle:
    """The oracle of a problem, made once in each process."""
    return Oracle(problem, objectives, step)
