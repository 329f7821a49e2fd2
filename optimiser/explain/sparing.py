"""A search that makes do with a given effort, and says honestly how far it came.

For questions of which there are many, and of which each is worth a little time only. The effort is
the solver's deterministic time, so that the same question has the same answer on every machine. A good
design is looked for without the solver, which is then asked whether there is a better one.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from optimiser.boxes import LARGEST, Boxes
from optimiser.climb import Ground, highest, near
from optimiser.compile import Compiled
from optimiser.compile.frame import Frame
from optimiser.compile.tables import TooLarge
from optimiser.design import Space, spaces
from optimiser.engine import PIECES, run
from optimiser.problem.model import Problem
from optimiser.score import Scorer
from optimiser.search import BOX, CLIMB, GLANCE, MOST_POINTS, Found, Search
from optimiser.solve import PROMISE, Solution
from optimiser.trails import Trail

REACH = 0.25
"""Metres to each side of a design that lengths are looked through for a better one."""

PATIENCE = 0.03
"""Deterministic seconds that a proof may take at first: longer than where a design was only just found, since for so
small a change it takes about what it took before."""

HARDEST = 0.25
"""Deterministic seconds of a proof that is still worth repeating for every change of a problem."""

TRAILED = 0.6
"""Deterministic seconds that a proof box by box may take once, to be gone through again for every change of a problem."""

AGAIN = 1.6
"""What the proof for a change of a problem may take, in terms of what that of its best design takes."""

COARSE = (4.0, 2.0, 1.0, 0.5, 0.25)
"""Points above a score that are ruled out one after the other where the proof of the best takes too long."""


@dataclass(frozen=True)
class Known:
    """What the proof of a best design is like. ``denied``: models without a solution, as text; ``waiting``: numbers of
    the spaces of which more must be said about products for it."""

    denied: frozenset[str]
    waiting: tuple[int, ...]

    @property
    def hard(self) -> bool:
        """Whether there are such spaces."""
        return bool(self.waiting)


@lru_cache(maxsize=4)
def denials(problem: Problem, grid: float, score: float) -> Known:
    """What shows that none of a problem's designs scores so much."""
    denied, waiting = [], []
    for number, scorer in enumerate(_scorers(problem, grid)):
        if scorer.targets:
            status, compiled, _ = _tried(scorer, score, 1, PATIENCE)
            denied += [str(compiled.model.proto)] if status == "INFEASIBLE" and compiled is not None else []
            waiting += [number] if status == "UNKNOWN" else []
    return Known(frozenset(denied), tuple(waiting))


class Hardness(NamedTuple):
    """Deterministic seconds that it takes to show, with more said about products where that is needed, that none of a
    problem's designs scores so much; inf where it takes more than HARDEST. ``trails``: how it is shown box by box, of each
    space that more must be said of, by its key, to be gone through again; none where it is not. ``denied``: the models
    of those spaces, as text."""

    seconds: float
    trails: Mapping[Hashable, tuple[Trail, Frame]]
    denied: frozenset[str] = frozenset()


@lru_cache(maxsize=4)
def hardness(problem: Problem, grid: float, score: float) -> Hardness:
    """How hard it is to show that none of a problem's designs scores so much, by what shows it sooner."""
    scorers = _scorers(problem, grid)
    waiting = [scorers[number] for number in denials(problem, grid, score).waiting]
    trails, denied, seconds = {}, [], 0.0
    for scorer in waiting:
        compiled = asking(scorer, score)
        boxes = None if compiled is None else _emptied(compiled, score, TRAILED)
        if boxes is None:
            break
        trails[scorer.space.key] = boxes.trail, boxes.frame
        denied.append(str(compiled.model.proto))
        seconds += BOX * boxes.cost * boxes.work
    else:
        return Hardness(seconds, trails, frozenset(denied))
    total = 0.0
    for scorer in waiting:
        status, _, took = _tried(scorer, score, PIECES, HARDEST - total) if total < HARDEST else ("UNKNOWN", None, 0.0)
        total += took if status == "INFEASIBLE" else math.inf
    return Hardness(total if total <= HARDEST else math.inf, {})


def _emptied(compiled: Compiled, score: float, effort: float) -> Boxes | None:
    """The boxes by which it is shown that a model has no design that scores so much; None where it takes more than so much
    effort."""
    if compiled.size > LARGEST:
        return None
    boxes = Boxes(compiled, noted=True)
    boxes.ask(compiled.asked(score))
    while boxes.more and BOX * boxes.cost * boxes.work < effort:
        if boxes.look() is not None:
            return None  # the solver would have to be asked
    return None if boxes.left else boxes


def _scorers(problem: Problem, grid: float) -> list[Scorer]:
    return [Scorer(problem, space) for space in spaces(problem, grid=grid)]


def asking(scorer: Scorer, score: float, pieces: int = 1) -> Compiled | None:
    """A model of a space's designs that score so much; None where its tables are too large for one."""
    try:
        return Compiled(
            scorer.space, scorer.bounds, scorer.targets, least=score, pieces=pieces, most_points=MOST_POINTS
        )
    except TooLarge:
        return None


def shown_empty(scorer: Scorer, score: float, effort: float) -> tuple[str | None, float]:
    """The model of a space's designs that score so much, as text, where it is shown to have none; and the effort taken."""
    status, compiled, took = _tried(scorer, score, 1, min(PATIENCE, effort))
    if compiled is None:
        return None, took
    text = str(compiled.model.proto)
    if status == "UNKNOWN" and took < effort:
        boxes = _emptied(compiled, score, min(TRAILED, effort - took))
        if boxes is not None:
            return text, took + BOX * boxes.cost * boxes.work
        status, _, more = _tried(scorer, score, PIECES, effort - took)
        took += more
    return (text if status == "INFEASIBLE" else None), took


def _tried(scorer: Scorer, score: float, pieces: int, effort: float) -> tuple[str, Compiled | None, float]:
    """Whether a space has a design that scores so much: the solver's status, the model, and the effort taken; of
    a space whose tables are too large for a model nothing is known."""
    compiled = asking(scorer, score, pieces)
    if compiled is None:
        return "UNKNOWN", None, 0.0
    status, solver = run(compiled, effort)
    return status, compiled, solver.response_proto.deterministic_time


def ceiling(problem: Problem, grid: float, score: float, effort: float = GLANCE, *, below: float = 100.0) -> float:
    """What no design of a problem scores more than: the lowest of COARSE above a ``score`` that can be ruled out
    with so much ``effort`` for each space; what is known already (``below``) where none can."""
    targets = [score + more for more in COARSE if score + more < below]
    scorers = _scorers(problem, grid) if targets else []
    if not targets or not all(scorer.targets for scorer in scorers):  # what no goal is about scores all there is
        return below
    pieces = PIECES if effort > PATIENCE else 1
    bound = targets[-1]
    for scorer in scorers:
        if _denied(scorer, bound, pieces, effort):  # as most spaces are
            continue
        coarser, bound = [target for target in targets if target > bound], below
        for target in coarser:
            if not _denied(scorer, target, pieces, effort):
                break
            bound = target
        if bound == below:
            break
    return bound


def _denied(scorer: Scorer, score: float, pieces: int, effort: float) -> bool:
    """Whether it is shown that no design of a space scores so much."""
    return _tried(scorer, score, pieces, effort)[0] == "INFEASIBLE"


def known_of(problem: Problem, best: Solution) -> Known:
    """What it takes to deny what is better than the best by more than is promised."""
    assert best.score is not None
    return denials(problem, best.grid, min(100.0, best.score + PROMISE))


def hardness_of(problem: Problem, best: Solution) -> Hardness:
    """How much effort that takes, as hardness() tells it."""
    assert best.score is not None
    return hardness(problem, best.grid, min(100.0, best.score + PROMISE))


class Sparing(Search):
    """A search whose models together take so much effort and no more; ``left`` is what remains of it.
    ``denied``: models, as text, of which it is known that they have no solution; ``hard``: whether a proof is
    known to take long, and is begun with more said about products; ``trails``: how it goes box by box."""

    def __init__(
        self,
        problem: Problem,
        step: float,
        *,
        effort: float,
        denied: frozenset[str] = frozenset(),
        hard: bool = False,
        trails: Mapping[Hashable, tuple[Trail, Frame]] | None = None,
        scorers: Sequence[Scorer] | None = None,
    ) -> None:
        super().__init__(problem, step, effort=effort, margin=PROMISE, patience=PATIENCE, scorers=scorers)
        self.left, self._few = effort, False
        self.denied, self.hard = denied, hard
        self.trails = trails or {}
        self.boxed_up_to, self.boxes_a_second = LARGEST if trails else 0, 1.0 / BOX

    def run(self, compiled: Compiled, *, maximise: bool = True, effort: float | None = None, sure: bool = True):
        """Solve a model with what is left; the status's name, and the solver to read the answer from."""
        if self.denied and str(compiled.model.proto) in self.denied:
            return "INFEASIBLE", None
        if self.left <= 0.0:
            return "UNKNOWN", None  # every caller reads an answer only where there is one
        return super().run(compiled, maximise=maximise, effort=min(self.left, effort or self.left), sure=sure)

    @property
    def spare(self) -> float:
        return self.left

    def spend(self, seconds: float) -> None:
        super().spend(seconds)
        self.left -= seconds

    def _boxed(self, scorer: Scorer, compiled: Compiled, target: float, effort: float) -> Found:
        if self.denied and str(compiled.model.proto) in self.denied:
            return Found("INFEASIBLE")
        return super()._boxed(scorer, compiled, target, effort)

    def _approach(self, scorer: Scorer, design: Mapping[str, float]) -> None:
        """Along slopes, and by a crowd only where that finds nothing."""
        if not self._ascend(scorer, design):
            self._climb(scorer, design, self.score)

    def _climb(self, scorer: Scorer, design: Mapping[str, float], score: float, effort: float = CLIMB) -> None:
        """From a design of a space to the best near it, found without the solver and its ``effort``."""
        found = highest(Ground(scorer, near(scorer.space, design, REACH)), design)
        if found is not None:
            self._take(scorer, {name: found[name] for name in scorer.space.domains})

    def prove(self, open_: Sequence[Scorer]) -> float:
        """A bound on the score in all ``open_`` spaces, given up at the first of which there is none."""
        bound = self.score
        for scorer in open_:
            bound = max(bound, self._bound(scorer))
            if bound >= 100.0:
                break
        return max(bound, self.score)

    def _bound(self, scorer: Scorer) -> float:
        """A bound on the score in one space, or 100 where the effort ends before there is one."""
        at_once = scorer.space.key in self.trails if self.trails else self.hard
        at_once = at_once and not self._few
        found = None
        for effort in (self.effort,) if at_once else (PATIENCE, self.effort):
            if self.left > 0.0 and found is None:
                found = self.close(scorer, effort)
        most = 100.0 if found is None else found
        return min(most, self._boxes[scorer].most) if most >= 100.0 and scorer in self._boxes else most

    def _turn(self, scorer: Scorer) -> tuple[bool, bool]:
        """When the turn of a space comes to be proven: what is hard last, and where the best is, first."""
        return scorer.space.key in self.trails, scorer.space is not self.space

    def beyond(self, best: Solution, there: Space | None = None) -> float:
        """What no design of these spaces scores more than, or the score of the ``best`` so far; the search has the best of
        all. ``there``: that of the spaces which it is in, where it scores the same; None where these are but a few designs
        more."""
        assert best.score is not None and best.design is not None
        self._few = there is None
        self.score, self.space, self.design, self._card = best.score, there or best.space, dict(best.design), best.card
        return self._ended(sorted(self.scorers, key=self._turn), best.design)

    def set_out(self, start: Mapping[str, float], *, better: bool = False) -> bool:
        """From a design of a problem much like this one to that itself, or the best near it: whether any is possible.
        ``better``: it is known to be better than it was, and so may its neighbours be."""
        begun = self.begin(start)
        if begun and better and self.design is not None and dict(self.design) == dict(start):
            self._sharpen(self._scorer())
        return begun

    def answer(
        self, start: Mapping[str, float], *, instead: Sequence[Mapping[str, float]] | None = None
    ) -> tuple[bool, float]:
        """From where the search has set out, or sets out now from the ``start``, to the best that the effort allows:
        whether it is settled that there is a design or none, and what no design scores more than. The design is the
        search's own. ``instead``: where it has set out in vain, designs to begin from, one after the other."""
        begun = self.design is not None or (instead is None and self.set_out(start))
        if not begun and any(self.begin(design) for design in instead or ()):
            self._sharpen(self._scorer())
            begun = True
        open_ = sorted(self.scorers, key=self._turn) if begun else self.find()
        if self.design is None:
            return not open_, 100.0
        return True, self._ended(open_, start)

    def _ended(self, open_: Sequence[Scorer], start: Mapping[str, float]) -> float:
        """As prove(); the best design, if it is another than at the ``start``, made easy to build."""
        bound = self.prove(open_)
        assert self.design is not None
        if dict(self.design) != dict(start):
            self.tidy()
        return bound
