"""The search of a problem's spaces for its best design, and the proof that no other is better.

Finding and proving are kept apart. A model with few score levels finds a good design quickly, linear
programs along the slopes of goals and limits sharpen it, and a last model with many levels is asked
for a better one: that there is none is the proof.
"""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from optimiser.ascent import ascended
from optimiser.boxes import EMPTY, LARGEST, Boxes
from optimiser.climb import Ground, highest
from optimiser.compile import Compiled
from optimiser.compile.frame import Frame
from optimiser.compile.tables import TooLarge
from optimiser.design import Domain, Listed, Space, spaces
from optimiser.engine import EFFORT, PIECES, decide, load_solver, run
from optimiser.errors import InternalError
from optimiser.parts import at_edge, halved, neighbourhood
from optimiser.problem.items import LISTED
from optimiser.problem.model import Problem
from optimiser.requirements import Bound, Target
from optimiser.score import Scorecard, Scorer
from optimiser.tidy import tidied
from optimiser.trails import Trail

MARGIN = 0.05
"""Points by which the proof asks for a better design than the best found; below PROMISE, above
what the last model's levels and straight pieces can blur."""

PATIENCE = 0.015
"""Deterministic seconds that a proof may take at first; at the next try more is said about products."""

LONG = (1.0, 4.0, 16.0)
"""Deterministic seconds of a proof after which the best of all designs is asked for, as long again, before the proof has
all of the effort: it may be told where what lies above one score is not, and the other way round."""

WHOLE, NEARLY = 0.25, 1.0
"""Share of the effort for that, where the proof came to no end; and points above the best score within which a bound must
lie to be asked for a second time before that."""

PERSISTENCE, MORE = 0.15, 5
"""Deterministic seconds for the second try, and how many times as much for each further one, while it is
not the only proof that is open."""

BOXES, BOX = 40, 0.015
"""Boxes that a proof looks into before the solver may take a deterministic second; and the deterministic seconds that
each counts for, about what it takes."""

ALMOST, LONGER = 2, 1.5
"""With how many boxes left a proof is as good as done; and how many times as many boxes it may then look into."""

LISTS = 3
"""With how many lists of three things or more to choose from a space is looked through twice."""

LEAF = 2
"""Boxes more for which a box counts that the solver is asked in."""

RISEN, CLIMBED = (3, 9), frozenset(3**k for k in range(3, 12))
"""After how many boxes it is looked for designs near where the last of them would score best, and by a crowd."""

PART = 0.02
"""Deterministic seconds for a part of a space in which rows look up tables, before it is halved again. A model
holds only mixtures of a table's points together: where few are in reach, they say more."""

COMPILING = 5e-5
"""Deterministic seconds that each variable of a model counts for, where many parts of a space are proven: to make
their models takes longer than to solve them."""

MOST_POINTS = 3000
"""Points of a table for which a model has literals; where more are in reach, designs are looked for without the
solver, and the space is proven part by part."""

FEW_POINTS = 220
"""Points of a table up to which a first look, or a first try at a proof, has literals for them: with more it ends before it
comes to anything."""

COARSE = 200
"""Score levels of the model that searches."""

GLANCE = 0.02
"""Deterministic seconds for a first look at each space, where its model is small."""

FURTHER, STEPS = 4.0, 5
"""How much further each look goes than the one before where no design is found, and how many there are up to all of the
effort: with any design at hand, better ones are found sooner by other means."""

PROMISED = 8
"""Spaces up to which it is reckoned what each may hold before any is looked at: that of many takes longer than to find
with a first look at each that most hold nothing better."""

SMALL = 150
"""Variables of a small model: to read a greater one takes its share of the time, and the proof of a greater one so long
that it is worth having the solver, too, look near a good design."""

BEYOND = (0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 5.0, 10.0)
"""Points above the best score for which designs are asked that lie between the grid's points, or need not have what
is looked up."""

SEVERAL, CROWDS = 6, (2, 3, 4)
"""Parts of a space after which further crowds go through it, and their seeds: bass has many hills, and what the first
crowd missed makes every part take longer."""

CLIMB, WORTH = 0.06, 0.1
"""Deterministic seconds for one look near a good design, and at least what share of those that it took to find it: to be
refused again by a proof that starts anew would take as long as that."""


class Found(NamedTuple):
    """What was found where designs of some score were asked for: the solver's status, a design if there is one, and the
    deterministic seconds that it took the solver."""

    status: str
    design: Mapping[str, float] | None = None
    took: float = 0.0


class Search:
    """One problem being solved: its spaces, the best design so far, and the time it took."""

    def __init__(
        self,
        problem: Problem,
        step: float,
        *,
        effort: float = EFFORT,
        scorers: Sequence[Scorer] | None = None,
        least: float | None = None,
        margin: float = MARGIN,
        glance: float = GLANCE,
        patience: float = PATIENCE,
    ) -> None:
        """``scorers``: in place of the problem's spaces with its limits; ``least``: only designs that score
        at least so many points are looked for; ``margin``: points by which the proof asks for a better
        one; ``glance``: effort of the first look at each space, ``patience``: of the first try to prove it."""
        load_solver()  # its import is no part of the time to compile
        self.problem = problem
        self.step = step
        self.effort = effort
        self._begun, self._compiling = time.perf_counter(), 0.0
        self._used = 0.0  # deterministic seconds
        # models of brief tries at a proof, with the score that they asked for
        self._open: dict[Scorer, tuple[float, Compiled]] = {}
        # the boxes of spaces, as far as these were looked into
        self._boxes: dict[Scorer, Boxes] = {}
        self._parts: Counter[Scorer] = Counter()  # of each space, how many were begun
        self._sizes: Counter[Hashable] = Counter()  # variables of the largest model of each space, by its key
        # how it was shown of problems much like this one that a space has nothing better, by its key
        self.trails: Mapping[Hashable, tuple[Trail, Frame]] = {}
        self.scorers = (
            [Scorer(problem, space) for space in spaces(problem, grid=step)] if scorers is None else list(scorers)
        )
        self._compiling += time.perf_counter() - self._begun
        self.least, self.margin, self.glance, self.patience = least, margin, glance, patience
        self.tell: Callable[[str, int, int], None] = lambda what, done, of: None
        self.score = -1.0
        self.space: Space | None = None
        self.design: dict[str, float] | None = None
        self._card: Scorecard | None = None
        self._grounds: dict[Scorer, Ground] = {}

    @property
    def seconds(self) -> dict[str, float]:
        """What the search has taken so far, its library loaded: to lay out spaces and make models, and all the rest, which
        is to solve them."""
        return {"compile": self._compiling, "solve": time.perf_counter() - self._begun - self._compiling}

    @property
    def card(self) -> Scorecard | None:
        """The scorecard of the best design."""
        if self._card is None and self.design is not None:
            self._card = check(self._scorer(), self.design)
        return self._card

    def _tell(self, what: str, done: int, of: int) -> None:
        """Let whoever watches hear how many spaces are done, and what is known so far."""
        best = "no design yet" if self.design is None else f"best so far {self.score:.1f}"
        self.tell(f"{what}: {best}, bound 100", done, of)

    # --- finding ------------------------------------------------------------------------------

    def begin(self, design: Mapping[str, float]) -> bool:
        """Start from the best design of a problem much like this one: itself, if its limits hold here,
        else the best near it. Whether there is one."""
        for scorer in self.scorers:
            if scorer.space.has(design) and scorer.possible(design):
                return self._take(scorer, {name: design[name] for name in scorer.space.domains})
        for scorer in self.scorers:
            if scorer.space.names(design):
                self._approach(scorer, design)
        return self.design is not None

    def _approach(self, scorer: Scorer, design: Mapping[str, float]) -> None:
        """From a design of a problem much like this one, whose limits may break here, to the best near it."""
        self._climb(scorer, design, self.score)

    def find(self) -> list[Scorer]:
        """Look for good designs; the spaces that may hold a better one, the most promising first."""
        most, models = self._promises()
        reached = [-1.0] * len(self.scorers)
        for done, number in enumerate(sorted(range(len(most)), key=lambda n: -most[n])):
            self._tell("looking through spaces", done, len(self.scorers))
            hopeless = most[number] == -math.inf or (self.design is not None and most[number] <= self.score)
            reached[number] = -math.inf if hopeless else self._glance(self.scorers[number], models[number])
        able = [n for n, look in enumerate(reached) if look > -math.inf and most[n] > self.score]
        hopeful = sorted(able, key=lambda n: -reached[n])
        if self.design is None:
            hopeful = [n for n in hopeful if self._explore(self.scorers[n])]
        elif self.space is not None:
            self._sharpen(self._scorer())
        return [self.scorers[n] for n in hopeful]

    def _promises(self) -> tuple[list[float], list[Compiled | None]]:
        """Points that no design of each space scores more than, as far as one linear program tells, -inf where it tells
        that there is none; and the models for first looks that came up on the way."""
        count = len(self.scorers)
        if not 1 < count <= PROMISED:
            return [100.0] * count, [None] * count
        found = [self._promise(scorer) for scorer in self.scorers]
        return [most for most, _ in found], [model for _, model in found]

    def _promise(self, scorer: Scorer) -> tuple[float, Compiled | None]:
        """The same of one space, as if all that is looked up were as good as can be."""
        plain = scorer.looking_nothing_up
        if not plain.targets or not plain.weight:
            return 100.0, None
        every_goal = not scorer.looks_up
        least = self.least if every_goal else None
        model = self.compiled(scorer.space, plain.bounds, plain.targets, levels=COARSE, least=least)
        if model.size > LARGEST:
            return 100.0, None
        boxes = Boxes(model)
        most = boxes.most
        self.spend(BOX * boxes.cost * EMPTY)
        others = scorer.weight - plain.weight
        return (most * plain.weight + 100.0 * others) / scorer.weight, model if every_goal else None

    def _scorer(self) -> Scorer:
        return next(s for s in self.scorers if s.space is self.space)

    def _glance(self, scorer: Scorer, model: Compiled | None = None) -> float:
        """A quick search of one space, and a longer one as long as there is no design at all: the score that it reached
        (-1: none; -inf: nothing there is better than the best). ``model``: the one to begin with, while there is none."""
        first = self.design is None
        try:
            compiled = model
            if compiled is None or not first:
                how = {"levels": COARSE, "least": self._wanted, "most_points": FEW_POINTS}
                compiled = self.compiled(scorer.space, scorer.bounds, scorer.targets, **how)
            status, solver = self.look(compiled, self.glance * max(1.0, compiled.size / SMALL), of=scorer)
        except TooLarge:
            return self._draw(scorer, self._keeping(scorer), quick=False)  # no more than this will be found
        if status == "INFEASIBLE":
            return -math.inf
        if status not in ("OPTIMAL", "FEASIBLE"):
            return self._draw(scorer, self._keeping(scorer), quick=False) if first else -1.0
        design = compiled.read(solver)
        reached = self._reckon(scorer, design)
        if status == "OPTIMAL":
            return reached
        reached = max(reached, self._draw(scorer, design))
        if not first or _lists(scorer.space.domains) < LISTS:
            return reached
        self._sharpen(scorer)
        more = self._glance(scorer)  # asked for more, the solver finds its way through lists sooner than a crowd
        return more if more == -math.inf else max(reached, more)

    def _plain_limits(self, scorer: Scorer) -> Compiled:
        """A model of the designs of a space that keep the limits that look nothing up."""
        return self.compiled(scorer.space, scorer.looking_nothing_up.bounds, [], levels=1)

    def _keeping(self, scorer: Scorer) -> Mapping[str, float] | None:
        """A design of a space that keeps the limits that look nothing up, whatever it scores."""
        compiled = self._plain_limits(scorer)
        status, solver = self.run(compiled, effort=PERSISTENCE, sure=False)
        return compiled.read(solver) if status in ("OPTIMAL", "FEASIBLE") else None

    def _draw(self, scorer: Scorer, design: Mapping[str, float] | None = None, *, quick: bool = True) -> float:
        """A search of one space without the solver, which is slow to find good designs where a space is large, and
        quick to deny better ones; the score it reaches, -1 for none. ``design``: one that is there already."""
        found = highest(self._ground(scorer), design, everywhere=True, quick=quick)
        if found is None or (self.least is not None and self._scored(scorer, found) < self.least):
            return -1.0
        return self._reckon(scorer, found)

    def _explore(self, scorer: Scorer) -> bool:
        """A full search of one space; whether it may hold a better design than the best."""
        try:
            compiled = self.compiled(
                scorer.space, scorer.bounds, scorer.targets, levels=COARSE, least=self._wanted, most_points=MOST_POINTS
            )
        except TooLarge:
            return self._allowed(scorer)
        for after in reversed(range(STEPS)):  # the last look has all of the effort, however it is rounded
            status, solver = self.look(compiled, self.effort / FURTHER**after, of=scorer)
            if status != "UNKNOWN" or self.design is not None:  # another space's will do
                break
        if status in ("OPTIMAL", "FEASIBLE"):
            design = compiled.read(solver)
            self._take(scorer, design)
            self._draw(scorer, design)
            self._sharpen(scorer)
        return status != "INFEASIBLE"

    def _allowed(self, scorer: Scorer) -> bool:
        """Whether a space whose tables are too large may hold a design, by the limits that look nothing up; one
        that holds all of them is taken."""
        compiled = self._plain_limits(scorer)
        status, solver = self.look(compiled)
        if status in ("OPTIMAL", "FEASIBLE"):
            design = compiled.read(solver)
            card = scorer.card({**scorer.space.settled, **design})
            if not card.broken and (self.least is None or card.score >= self.least):
                self._reckon(scorer, design)
                self._sharpen(scorer)
        return status != "INFEASIBLE"

    @property
    def _wanted(self) -> float | None:
        """What a design must score to be worth finding."""
        return self.least if self.design is None else self.score

    def _take(self, scorer: Scorer, design: Mapping[str, float]) -> bool:
        """Whether a design scores more than the best so far; then it is the best."""
        before = self.score
        return self._reckon(scorer, design) > before

    def _reckon(self, scorer: Scorer, design: Mapping[str, float]) -> float:
        """The score of a design, which is the best from now on if none scored as much."""
        score = self._scored(scorer, design)
        if score > self.score:
            self.score, self.space, self.design, self._card = score, scorer.space, scorer.space.complete(design), None
        return score

    def _scored(self, scorer: Scorer, design: Mapping[str, float]) -> float:
        """The score of a design that was found in a space; an error if it breaks a limit."""
        ground, whole = self._ground(scorer), {**scorer.space.settled, **design}
        if ground.hold(whole, 1)[0]:
            return float(ground.scores(whole, 1)[0])
        return check(scorer, design).score  # a steep measure may be farther off than what it is made of

    def _ground(self, scorer: Scorer) -> Ground:
        """The designs of a space as points."""
        if scorer not in self._grounds:
            self._grounds[scorer] = Ground(scorer)
        return self._grounds[scorer]

    def _sharpen(self, scorer: Scorer, effort: float = CLIMB) -> None:
        """Look for better designs near the best one, if it is of this space: where the proof takes long, with the solver
        too."""
        if self.space is scorer.space and self.design is not None:
            self._ascend(scorer, self.design)
            if self._sizes[scorer.space.key] > SMALL and not scorer.looks_up:
                self._climb(scorer, self.design, self.score, effort)

    def _ascend(self, scorer: Scorer, design: Mapping[str, float]) -> bool:
        """From a design of a space to the best near it, its counts and choices as they are; whether there is one."""
        found = ascended(self._ground(scorer), design)
        if found is None or (self.least is not None and self._scored(scorer, found) < self.least):
            return False
        self._reckon(scorer, found)
        return True

    def _climb(self, scorer: Scorer, design: Mapping[str, float], score: float, effort: float = CLIMB) -> None:
        """From a design of a space to the best near it, with all score levels, and on from there."""
        while scorer.targets:
            near = replace(scorer.space, domains=neighbourhood(scorer.space, design))
            compiled = self.compiled(near, scorer.bounds, scorer.targets)
            compiled.hint(design)
            status, solver = self.look(compiled, effort)
            if status not in ("OPTIMAL", "FEASIBLE"):
                return
            design, before = compiled.read(solver), score
            score = self._reckon(scorer, design)
            if score < before + 0.01 or not at_edge(near.domains, scorer.space.domains, design):
                return

    # --- proving ------------------------------------------------------------------------------

    def prove(self, open_: Sequence[Scorer]) -> float:
        """A bound on the score in all ``open_`` spaces; the best design improves on the way.

        They take turns, each time with more effort: which of them has the best design, and which is hard to
        close without it, is not known beforehand.
        """
        bound, effort, left = self.score, min(self.patience, self.effort), list(open_)
        while left:
            waiting = []
            for at, scorer in enumerate(left):
                done = len(open_) - (len(left) - at) - len(waiting)
                self._tell("proving, spaces closed", done, len(open_))
                found = self.close(scorer, effort)
                if found is None:
                    waiting.append(scorer)
                else:
                    bound = max(bound, found)
            left = waiting
            effort = min(self.effort, max(PERSISTENCE, effort * MORE)) if len(left) > 1 else self.effort
        return bound

    def close(self, scorer: Scorer, effort: float) -> float | None:
        """A bound on the score in one space; None where that takes more than so much ``effort``."""
        until = self._used + self.effort / len(self.scorers)
        if self.score >= 100.0 - 1e-9:
            return 100.0
        most, first = 100.0, True
        for long in (some for some in LONG if some < effort == self.effort):
            found = self._closed(scorer, long, None, until)
            if found is not None:
                break
            if self.space is scorer.space and self.design is not None:
                # the better the best, the sooner that nothing is better
                self._climb(scorer, self.design, self.score, max(CLIMB, WORTH * long))
            # else four times the effort is for nothing
            if first or (not scorer.looks_up and most <= self.score + NEARLY):
                most, first = min(most, self._at_most(scorer, long)), False
            if most <= self.score + self.margin:
                return most
        else:
            found = self._closed(scorer, effort, None, until)
        if found == 100.0 and (first or not scorer.looks_up):
            found = self._at_most(scorer, WHOLE * self.effort)
        return None if found is None else min(most, found)

    def _closed(
        self, scorer: Scorer, effort: float, domains: Mapping[str, Domain] | None, until: float
    ) -> float | None:
        """As close(), or of the part of a space that has such ``domains``; 100 once so much effort ``until`` was used."""
        pieces = PIECES if effort > self.patience else 1
        space = scorer.space if domains is None else replace(scorer.space, domains=domains)
        brief = effort <= self.patience and effort < self.effort
        most_points = FEW_POINTS if brief else MOST_POINTS
        while True:
            target = min(100.0, self.score + self.margin)
            if self.score >= 100.0 - 1e-9 or not scorer.targets:
                return 100.0
            try:
                compiled = self._asking(scorer, space, target, most_points)
            except TooLarge as large:
                halves = halved(large.ways, large.domains)
                if brief:
                    return None
                return self._apart(scorer, halves, until) if halves and not self.spent else 100.0
            halves = halved(compiled.looking, compiled.domains) if effort > self.patience else []
            if not brief and domains is None and not halves and compiled.size <= self.boxed_up_to:
                found = self._boxed(scorer, compiled, target, effort)
            else:
                self._divide(compiled, pieces)
                found = self._asked(compiled, min(effort, PERSISTENCE) if halves else effort)
            if found.status == "INFEASIBLE":
                return target
            if found.design is None:
                if halves and not self.spent:
                    return self._apart(scorer, halves, until)
                if brief and domains is None:
                    self._open[scorer] = target, compiled
                return 100.0 if effort >= self.effort else None
            if self._take(scorer, found.design):
                self._sharpen(scorer, max(CLIMB, WORTH * found.took))
                continue
            # straight pieces over-estimate here: only the greatest level tells how far
            compiled = self.compiled(space, scorer.bounds, scorer.targets, least=target)
            status, solver = self.run(compiled)
            if status in ("OPTIMAL", "FEASIBLE"):
                self._take(scorer, compiled.read(solver))
                return compiled.bound_points(solver.best_objective_bound)
            return 100.0 if status != "INFEASIBLE" else target

    def _scour(self, scorer: Scorer) -> None:
        """Have further crowds look for designs in a space of which there is much to be proven."""
        before = self.score
        for seed in CROWDS:
            found = highest(self._ground(scorer), everywhere=True, quick=True, seed=seed)
            if found is not None and (self.least is None or self._scored(scorer, found) >= self.least):
                self._take(scorer, found)
        if self.score > before:
            self._sharpen(scorer)

    def _asking(self, scorer: Scorer, space: Space, target: float, most_points: int) -> Compiled:
        """A model of the designs that score at least ``target``: the one that a brief try left open, if that asked for
        the same."""
        before, compiled = self._open.pop(scorer, (math.nan, None)) if space is scorer.space else (math.nan, None)
        if compiled is not None and before == target:
            return compiled
        return self.compiled(space, scorer.bounds, scorer.targets, least=target, most_points=most_points)

    def _divide(self, compiled: Compiled, pieces: int) -> None:
        """Say more about a model's products, the time for it counted."""
        start = time.perf_counter()
        compiled.divide_levels(pieces)
        self._compiling += time.perf_counter() - start

    def _boxed(self, scorer: Scorer, compiled: Compiled, target: float, effort: float) -> Found:
        """Whether a space has a design that scores at least ``target``, of which there is such a model: first boxes are
        looked into, then the solver is asked in what the first of them left."""
        boxes, trail = self._boxes.get(scorer), self.trails.get(scorer.space.key)
        new = boxes is None
        if boxes is None:
            boxes = self._boxes[scorer] = Boxes(compiled)
        boxes.ask(compiled.asked(target))
        if new and trail is not None:
            boxes.follow(*trail)
            self.spend(BOX * boxes.cost * boxes.work)
        better = self._looked(scorer, boxes, target, round(self.boxes_a_second * min(effort, self.spare) / boxes.cost))
        if better is not None or not boxes.left:
            return Found("INFEASIBLE" if better is None else "FEASIBLE", better)
        whole = replace(scorer.space, domains=boxes.domains)
        rest = self.compiled(whole, scorer.bounds, scorer.targets, least=target, pieces=PIECES)
        return self._asked(rest, effort)

    def _looked(self, scorer: Scorer, boxes: Boxes, target: float, most: int) -> Mapping[str, float] | None:
        """Look into so many boxes at most, some more where few are left, or until a design is found that scores at
        least ``target``: by the solver where boxes tell no more, and now and then near where a box would score best if
        all that is relaxed held, or by a crowd from there. The design."""
        begun, better = boxes.count, None
        while boxes.more and better is None and not self.spent:
            if boxes.count - begun >= most * (LONGER if boxes.waiting <= ALMOST else 1.0):
                break
            before = boxes.work
            leaf = boxes.look()
            self.spend(BOX * boxes.cost * (boxes.work - before))
            if leaf is not None:
                begun -= LEAF  # each takes the solver some time
                model = self.compiled(replace(scorer.space, domains=leaf), scorer.bounds, scorer.targets, least=target)
                found = self._asked(model, PERSISTENCE)
                better = found.design
                if found.status == "INFEASIBLE":
                    boxes.deny()
                elif better is not None:
                    boxes.reopen()  # there may be still better ones
            elif boxes.more and (boxes.count in RISEN or boxes.count in CLIMBED):
                ground = self._ground(scorer)
                near = boxes.count in RISEN
                there = ascended(ground, boxes.design) if near else highest(ground, boxes.design, quick=True)
                better = there if there is not None and self._scored(scorer, there) >= target else None
        return better

    def _asked(self, compiled: Compiled, effort: float) -> Found:
        """What the solver says to a model that asks for a score."""
        status, solver = self.run(compiled, maximise=False, effort=effort)
        if status not in ("OPTIMAL", "FEASIBLE"):
            return Found(status)
        return Found(status, compiled.read(solver), solver.response_proto.deterministic_time)

    def _apart(self, scorer: Scorer, parts: Sequence[Mapping[str, Domain]], until: float) -> float | None:
        """A bound on the score in several parts of a space together; None where one of them takes too much."""
        bound = self.score
        for domains in parts:
            if self._used >= until:
                return 100.0
            self._parts[scorer] += 1
            if self._parts[scorer] == SEVERAL:
                self._scour(scorer)
            found = self._closed(scorer, PART, domains, until)
            if found is None:
                found = self._closed(scorer, self.effort, domains, until)
            if found is None or found >= 100.0:
                return found
            bound = max(bound, found)
        return bound

    def _at_most(self, scorer: Scorer, effort: float) -> float:
        """A bound on the score in a space that no better was told of: of the best of all its designs, which may be told
        where what lies above one score is not; as if all that is looked up were as good as can be, for which less than
        such an ``effort`` does."""
        plain = scorer.looking_nothing_up
        if self.spent or not plain.targets or not plain.weight:
            return 100.0
        every_goal = not scorer.looks_up
        compiled = self.compiled(scorer.space, plain.bounds, plain.targets)
        status, solver = self.run(compiled, effort=effort if every_goal else PERSISTENCE * MORE)
        if status not in ("OPTIMAL", "FEASIBLE"):
            return 100.0
        if every_goal and len(plain.bounds) == len(scorer.bounds):
            self._take(scorer, compiled.read(solver))
        others = scorer.weight - plain.weight
        best = compiled.bound_points(solver.best_objective_bound)
        most = max(self.score, (best * plain.weight + 100.0 * others) / scorer.weight)
        return most if every_goal or status == "OPTIMAL" else min(most, self._asked_at_most(scorer, plain, most))

    def _asked_at_most(self, scorer: Scorer, plain: Scorer, most: float) -> float:
        """The least of several scores below ``most`` that no design comes to by the goals of ``plain``, the others met
        in full. Each is asked by itself, which is told sooner than the best."""
        found = -1.0
        for target in (self.score + more for more in BEYOND):
            asked = (target * scorer.weight - 100.0 * (scorer.weight - plain.weight)) / plain.weight
            if target >= most or asked <= found:
                continue
            compiled = self.compiled(scorer.space, plain.bounds, plain.targets, least=max(0.0, asked), pieces=PIECES)
            status, solver = self.run(compiled, maximise=False, effort=PERSISTENCE * MORE)
            if status == "INFEASIBLE":
                return target
            if status in ("OPTIMAL", "FEASIBLE"):
                found = plain.card({**scorer.space.settled, **compiled.read(solver)}).score
        return most

    boxed_up_to: int = LARGEST
    """Variables of the largest model whose space is proven box by box."""

    boxes_a_second: float = BOXES
    """How many boxes are looked into for each deterministic second that the solver may then take."""

    @property
    def spare(self) -> float:
        """Deterministic seconds that are left for anything more."""
        return math.inf

    @property
    def spent(self) -> bool:
        """Whether there are none."""
        return self.spare <= 0.0

    def spend(self, seconds: float) -> None:
        """Count so many deterministic seconds as used."""
        self._used += seconds

    def tidy(self) -> None:
        """Among designs as good as the best, take the one that is easiest to build."""
        scorer = self._scorer()
        design = tidied(scorer, self.design)
        self._card, self.design = check(scorer, design), scorer.space.complete(design)
        self.score = self._card.score

    def prove_between(self, step: float) -> float:
        """A bound on the score of every design, whether or not it lies on the grid.

        Each space is asked for designs that score some more than the best, and more again until it has none: that is
        told sooner than how much the best of all such designs would score."""
        bound = self.score
        open_ = list(spaces(self.problem, grid=step, between=True))
        for number, space in enumerate(open_):
            self._tell("proving between the grid's points", number, len(open_))
            scorer = Scorer(self.problem, space)
            if not scorer.targets:
                return 100.0
            bound = max(bound, self._bounded_between(scorer, bound))
        return bound

    def _bounded_between(self, scorer: Scorer, bound: float) -> float:
        """A bound on the score in one space between the grid's points, no less than ``bound``."""
        targets = [bound, *(self.score + more for more in BEYOND if self.score + more > bound)]
        for target in targets:
            if target >= 100.0:
                break
            compiled = self.compiled(
                scorer.space, scorer.bounds, scorer.targets, between=True, least=target, pieces=PIECES
            )
            if self.run(compiled, maximise=False, effort=PERSISTENCE * MORE)[0] == "INFEASIBLE":
                return target
        return 100.0

    # --- the solver ---------------------------------------------------------------------------

    def compiled(self, space: Space, bounds: Sequence[Bound], targets: Sequence[Target], **how) -> Compiled:
        """A model, with the time it takes counted; ``how`` as Compiled takes it."""
        start = time.perf_counter()
        model = Compiled(space, bounds, targets, **how)
        self._compiling += time.perf_counter() - start
        self._used += COMPILING * model.size
        self._sizes[space.key] = max(self._sizes[space.key], model.size)
        return model

    def look(self, compiled: Compiled, effort: float | None = None, of: Scorer | None = None):
        """Solve a model for the design that it may find: what is found is scored exactly, and only that there
        is none must be sure. Where the model is that of all designs ``of`` a space, whatever they score, that is told
        soonest by the limits alone."""
        status, solver = self.run(compiled, effort=effort, sure=False)
        if status != "INFEASIBLE" or not compiled.heavy:
            return status, solver
        if of is not None and self._wanted is None:
            limits = self.compiled(of.space, of.bounds, [], levels=1, most_points=MOST_POINTS)
            status, denied = self.run(limits, effort=effort)
            if status == "INFEASIBLE":
                return status, denied
        return self.run(compiled, effort=effort)

    def run(self, compiled: Compiled, *, maximise: bool = True, effort: float | None = None, sure: bool = True):
        """Solve a model; the status's name, and the solver to read the answer from. ``sure`` as in run()."""
        if maximise and compiled.objective is not None:
            compiled.model.maximize(compiled.objective)
        answer = run(compiled, self.effort if effort is None else min(effort, self.effort), sure=sure)
        self.spend(answer[1].response_proto.deterministic_time)
        return answer

    def decide(self, compiled: Compiled) -> str:
        """Whether a model without a score has a design: the status's name."""
        status, _, took = decide(compiled, self.effort)
        self.spend(took)
        return status


def _lists(domains: Mapping[str, Domain]) -> int:
    """How many lists of three things or more there are to choose from, each with its sizes and prices."""
    return sum(isinstance(domains.get(name), Listed) and len(domains[name].values) > 2 for name in LISTED)  # type: ignore[union-attr]


def check(scorer: Scorer, design: Mapping[str, float]) -> Scorecard:
    """The exact scorecard of a solver's design; an error if a limit that the solver was given breaks."""
    card = scorer.card({**scorer.space.settled, **design})
    if card.broken:
        worst = min(card.broken, key=lambda r: r.slack)
        raise InternalError(
            f"the solver's design breaks {worst.limit.measure} by {-worst.slack:g} (SI); this is a fault of the program"
        )
    return card
