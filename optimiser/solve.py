"""Run the solver over every space of a problem, re-score its answer exactly, and certify it.

Finding and proving are kept apart. A model with few score levels finds a good design quickly, a
model of its neighbourhood with many levels sharpens it, and a last model with many levels is asked
for a better one: that there is none is the proof.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from optimiser.climb import Ground, highest
from optimiser.compile import Compiled
from optimiser.compile.model import Answer, library
from optimiser.compile.tables import TooLarge
from optimiser.design import Domain, Held, Listed, Space, Steps, grid_of, spaces
from optimiser.errors import InternalError
from optimiser.problem.model import Problem
from optimiser.requirements import Bound, Target
from optimiser.score import Scorecard, Scorer
from optimiser.tidy import tidied

PROMISE = 0.1
"""Points of 100 within which an answer counts as proven best."""

MARGIN = 0.05
"""Points by which the proof asks for a better design than the best found; below PROMISE, above
what the last model's levels and straight pieces can blur."""

EFFORT = 60.0
"""Deterministic seconds of the solver for one model: the same limit on every machine."""

PATIENCE = 0.03
"""Deterministic seconds that a proof may take at first; at the next try more is said about products."""

PERSISTENCE, MORE = 0.15, 5
"""Deterministic seconds for the second try, and how many times as much for each further one, while it is
not the only proof that is open."""

PART, APART = 0.05, 0.1
"""Deterministic seconds for a part of a space in which rows look up tables, before it is halved again; and metres of
a row's way that are not halved any more. A model holds only mixtures of a table's points together: where few are in
reach, they say more."""

MOST_POINTS = 3000
"""Points of a table for which a model has literals; where more are in reach, designs are looked for without the
solver, and the space is proven part by part."""

PIECES = 8
"""Pieces in which products are then bounded."""

COARSE = 200
"""Score levels of the model that searches."""

GLANCE = 0.02
"""Deterministic seconds for a first look at each space, where its model is small."""

SMALL = 150
"""Variables of a small model: to read a greater one takes its share of the time."""

NEAR = 0.08
"""Metres to each side that the sharpening model looks at."""

NEAR_STEPS, NEAR_WHOLE = 4, 3
"""Steps of a platform's height, and whole things, to each side that it looks at."""

CLIMB = 0.06
"""Deterministic seconds for one such look."""


@dataclass(frozen=True)
class Solution:
    """The answer to a problem, with its certificate.

    ``status`` is optimal (the bound is within PROMISE of the score), feasible (it is not), or
    impossible (no design on the grid holds all limits; then there is no design, and ``conflict``
    names limits that cannot hold together). ``bound`` holds for every design on the grid, with
    ``between`` for every design whatever.
    """

    problem: Problem
    status: str
    grid: float
    between: bool
    bound: float | None
    space: Space | None = None
    design: Mapping[str, float] | None = None
    card: Scorecard | None = None
    conflict: tuple[int, ...] = ()
    seconds: Mapping[str, float] = field(default_factory=dict)

    @property
    def score(self) -> float | None:
        return None if self.card is None else self.card.score

    @property
    def gap(self) -> float | None:
        return None if self.card is None or self.bound is None else max(0.0, self.bound - self.card.score)


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
    ) -> None:
        """``scorers``: in place of the problem's spaces with its limits; ``least``: only designs that score
        at least so many points are looked for; ``margin``: points by which the proof asks for a better
        one; ``glance``: effort of the first look at each space."""
        load_solver()  # its import is no part of the time to compile
        self.problem = problem
        self.step = step
        self.effort = effort
        self.seconds = {"compile": 0.0, "solve": 0.0}
        self.scorers = (
            [Scorer(problem, space) for space in spaces(problem, grid=step)] if scorers is None else list(scorers)
        )
        self.least, self.margin, self.glance = least, margin, glance
        self.tell: Callable[[str, int, int], None] = lambda what, done, of: None
        self.score = -1.0
        self.space: Space | None = None
        self.design: dict[str, float] | None = None
        self.card: Scorecard | None = None

    def _tell(self, what: str, done: int, of: int) -> None:
        """Let whoever watches hear how many spaces are done, and what is known so far."""
        best = "no design yet" if self.design is None else f"best so far {self.score:.1f}"
        self.tell(f"{what}: {best}, bound 100", done, of)

    # --- finding ------------------------------------------------------------------------------

    def begin(self, design: Mapping[str, float]) -> bool:
        """Start from the best design of a problem much like this one: itself, if its limits hold here,
        else the best near it. Whether there is one."""
        for scorer in self.scorers:
            if scorer.space.has(design) and not scorer.card(design).broken:
                return self._take(scorer, {name: design[name] for name in scorer.space.domains})
        for scorer in self.scorers:
            if scorer.space.names(design):
                self._climb(scorer, design, self.score)
        return self.design is not None

    def find(self) -> list[Scorer]:
        """Look for good designs; the spaces that may hold a better one, the most promising first."""
        reached = []
        for number, scorer in enumerate(self.scorers):
            self._tell("looking through spaces", number, len(self.scorers))
            reached.append((self._glance(scorer), number))
        hopeful = [n for score, n in sorted(reached, key=lambda r: (-r[0], r[1])) if score > -math.inf]
        if self.design is None:
            hopeful = [n for n in hopeful if self._explore(self.scorers[n])]
        elif self.space is not None:
            self._sharpen(self._scorer())
        return [self.scorers[n] for n in hopeful]

    def _scorer(self) -> Scorer:
        return next(s for s in self.scorers if s.space is self.space)

    def _glance(self, scorer: Scorer) -> float:
        """A quick search of one space: the score it reaches, -1 for none yet, -inf where nothing there
        is better than the best."""
        try:
            compiled = self.compiled(
                scorer.space, scorer.bounds, scorer.targets, levels=COARSE, least=self._wanted, most_points=MOST_POINTS
            )
        except TooLarge:
            return self._draw(scorer)
        status, solver = self.look(compiled, self.glance * max(1.0, compiled.size / SMALL))
        if status == "INFEASIBLE":
            return -math.inf
        design = compiled.read(solver) if status in ("OPTIMAL", "FEASIBLE") else None
        reached = -1.0 if design is None else self._reckon(scorer, design)
        return reached if status == "OPTIMAL" else max(reached, self._draw(scorer, design))

    def _draw(self, scorer: Scorer, design: Mapping[str, float] | None = None) -> float:
        """A search of one space without the solver, which is slow to find good designs where a space is large, and
        quick to deny better ones; the score it reaches, -1 for none. ``design``: one that is there already."""
        found = highest(Ground(scorer), design, everywhere=True)
        if found is None or (self.least is not None and scorer.card(found).score < self.least):
            return -1.0
        return self._reckon(scorer, found)

    def _explore(self, scorer: Scorer) -> bool:
        """A full search of one space; whether it may hold a better design than the best."""
        compiled = self.compiled(scorer.space, scorer.bounds, scorer.targets, levels=COARSE, least=self._wanted)
        status, solver = self.look(compiled)
        if status in ("OPTIMAL", "FEASIBLE"):
            self._take(scorer, compiled.read(solver))
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
        card = check(scorer, design)
        if card.score > self.score:
            whole = scorer.space.complete(design)
            self.score, self.card, self.space, self.design = card.score, card, scorer.space, whole
        return card.score

    def _sharpen(self, scorer: Scorer) -> None:
        """Look for better designs near the best one, with all score levels."""
        if self.space is scorer.space and self.design is not None:
            self._climb(scorer, self.design, self.score)

    def _climb(self, scorer: Scorer, design: Mapping[str, float], score: float) -> None:
        """From a design of a space to the best near it, and on from there."""
        while scorer.targets:
            near = replace(scorer.space, domains=_neighbourhood(scorer.space, design))
            compiled = self.compiled(near, scorer.bounds, scorer.targets)
            compiled.hint(design)
            status, solver = self.look(compiled, CLIMB)
            if status not in ("OPTIMAL", "FEASIBLE"):
                return
            design, before = compiled.read(solver), score
            score = self._reckon(scorer, design)
            if score < before + 0.01 or not _at_edge(near.domains, scorer.space.domains, design):
                return

    # --- proving ------------------------------------------------------------------------------

    def prove(self, open_: Sequence[Scorer]) -> float:
        """A bound on the score in all ``open_`` spaces; the best design improves on the way.

        They take turns, each time with more effort: which of them has the best design, and which is hard to
        close without it, is not known beforehand.
        """
        bound, effort, left = self.score, min(PATIENCE, self.effort), list(open_)
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

    def close(self, scorer: Scorer, effort: float, domains: Mapping[str, Domain] | None = None) -> float | None:
        """A bound on the score in one space, or in the part of it that has such ``domains``; None where that takes
        more than so much ``effort``."""
        pieces = PIECES if effort > PATIENCE else 1
        space = scorer.space if domains is None else replace(scorer.space, domains=domains)
        while True:
            target = min(100.0, self.score + self.margin)
            if self.score >= 100.0 - 1e-9 or not scorer.targets:
                return 100.0
            try:
                compiled = self.compiled(
                    space, scorer.bounds, scorer.targets, least=target, pieces=pieces, most_points=MOST_POINTS
                )
            except TooLarge as large:
                halves = _halves(large.ways, large.domains)
                if effort <= PATIENCE:
                    return None
                return self._apart(scorer, halves) if halves and not self.spent else 100.0
            halves = _halves(compiled.looking, compiled.domains) if effort > PATIENCE else []
            status, solver = self.run(compiled, maximise=False, effort=min(effort, PERSISTENCE) if halves else effort)
            if status == "INFEASIBLE":
                return target
            if status not in ("OPTIMAL", "FEASIBLE"):
                if halves and not self.spent:
                    return self._apart(scorer, halves)
                return 100.0 if effort >= self.effort else None
            if self._take(scorer, compiled.read(solver)):
                self._sharpen(scorer)
                continue
            # straight pieces over-estimate here: only the greatest level tells how far
            compiled = self.compiled(space, scorer.bounds, scorer.targets, least=target)
            status, solver = self.run(compiled)
            if status in ("OPTIMAL", "FEASIBLE"):
                self._take(scorer, compiled.read(solver))
                return compiled.bound_points(solver.best_objective_bound)
            return 100.0 if status != "INFEASIBLE" else target

    def _apart(self, scorer: Scorer, parts: Sequence[Mapping[str, Domain]]) -> float | None:
        """A bound on the score in several parts of a space together; None where one of them takes too much."""
        bound = self.score
        for domains in parts:
            found = self.close(scorer, PART, domains)
            if found is None:
                found = self.close(scorer, self.effort, domains)
            if found is None or found >= 100.0:
                return found
            bound = max(bound, found)
        return bound

    @property
    def spent(self) -> bool:
        """Whether there is no effort left for anything more."""
        return False

    def tidy(self) -> None:
        """Among designs as good as the best, take the one that is easiest to build."""
        scorer = self._scorer()
        design = tidied(scorer, self.design, self.score)
        card = check(scorer, design)
        self.card, self.design = card, scorer.space.complete(design)
        self.score = card.score

    def prove_between(self, step: float) -> float:
        """A bound on the score of every design, whether or not it lies on the grid."""
        bound = self.score
        for space in spaces(self.problem, grid=step, between=True):
            scorer = Scorer(self.problem, space)
            if not scorer.targets:
                return 100.0
            compiled = self.compiled(space, scorer.bounds, scorer.targets, between=True, least=self.score)
            status, solver = self.run(compiled)
            if status in ("OPTIMAL", "FEASIBLE"):
                bound = max(bound, compiled.bound_points(solver.best_objective_bound))
            elif status != "INFEASIBLE":
                return 100.0
        return bound

    # --- the solver ---------------------------------------------------------------------------

    def compiled(self, space: Space, bounds: Sequence[Bound], targets: Sequence[Target], **how) -> Compiled:
        """A model, with the time it takes counted; ``how`` as Compiled takes it."""
        start = time.perf_counter()
        model = Compiled(space, bounds, targets, **how)
        self.seconds["compile"] += time.perf_counter() - start
        return model

    def look(self, compiled: Compiled, effort: float | None = None):
        """Solve a model for the design that it may find: what is found is scored exactly, and only that there
        is none must be sure."""
        status, solver = self.run(compiled, effort=effort, sure=False)
        return self.run(compiled, effort=effort) if status == "INFEASIBLE" and compiled.heavy else (status, solver)

    def run(self, compiled: Compiled, *, maximise: bool = True, effort: float | None = None, sure: bool = True):
        """Solve a model; the status's name, and the solver to read the answer from. ``sure`` as in run()."""
        start = time.perf_counter()
        if maximise and compiled.objective is not None:
            compiled.model.maximize(compiled.objective)
        answer = run(compiled, self.effort if effort is None else min(effort, self.effort), sure=sure)
        self.seconds["solve"] += time.perf_counter() - start
        return answer


def run(compiled: Compiled, effort: float = EFFORT, *, presolve: bool = True, sure: bool = True):
    """Solve a model as it stands; the status's name, and the solver to read the answer from. A small model
    is solved sooner than simplified: without ``presolve`` it is taken as it is. Unless it is to be ``sure``,
    that there is no solution, or none better, may be wrong where the model is heavy; a solution never is."""
    parameters = parameters_of(effort)
    parameters.cp_model_presolve = presolve
    if sure and compiled.heavy:
        # A step that this limit of 0 leaves out adds up coefficients of booleans in 32 bits, in version 9.15 of
        # the solver: a heavy row under a literal might be made to hold always, and designs be lost to the proof.
        parameters.presolve_inclusion_work_limit = 0
    answer = Answer(compiled.model, parameters)
    if answer.status == "MODEL_INVALID":
        raise InternalError(
            "the model was refused by the solver; this is a fault of the program: " + compiled.model.validate()
        )
    return answer.status, answer


def solve(
    problem: Problem,
    *,
    grid: float | None = None,
    between: bool = False,
    effort: float = EFFORT,
    start: Mapping[str, float] | None = None,
) -> Solution:
    """The best design of a problem on its grid, proven.

    ``grid`` [m] overrides the file's grid; ``between`` makes the bound hold for designs off the grid
    too; ``effort`` limits the solver's deterministic time for each of its models; ``start`` is a
    design, as the best of a problem much like this one, to begin with if its limits hold here.
    """
    return settle(Search(problem, grid_of(problem) if grid is None else grid, effort=effort), between, start)


def settle(search: Search, between: bool = False, start: Mapping[str, float] | None = None) -> Solution:
    """Find, prove and tidy up the best design of a search."""
    problem, step = search.problem, search.step
    begun = start is not None and search.begin(start)
    open_ = sorted(search.scorers, key=lambda s: s.space is not search.space) if begun else search.find()
    if search.design is None:
        if open_:
            return Solution(problem, "unknown", step, between, None, seconds=search.seconds)
        return Solution(problem, "impossible", step, between, None, conflict=conflict(search), seconds=search.seconds)
    bound = search.prove(open_)
    search.tidy()
    if between:
        bound = max(bound, search.prove_between(step))
    status = "optimal" if bound - search.score <= PROMISE else "feasible"
    return Solution(
        problem, status, step, between, bound, search.space, search.design, search.card, seconds=search.seconds
    )


def stopped(search: Search, between: bool = False) -> Solution | None:
    """The best design that a search had found when it was stopped, of which nothing is proven but that its limits
    hold; None where it had found none."""
    if search.design is None:
        return None
    how = {"seconds": search.seconds}
    return Solution(
        search.problem, "feasible", search.step, between, 100.0, search.space, search.design, search.card, **how
    )


def load_solver() -> None:
    """Load the solver's library now, so that processes which begin after this have it already."""
    library()


def parameters_of(effort: float):
    """With which the solver gives the same answer every time: one worker, a fixed seed, deterministic time."""
    parameters = library().SatParameters()
    parameters.num_workers = 1
    parameters.random_seed = 1
    parameters.linearization_level = 2
    parameters.max_deterministic_time = effort
    return parameters


def check(scorer: Scorer, design: Mapping[str, float]) -> Scorecard:
    """The exact scorecard of a solver's design; an error if a limit that the solver was given breaks."""
    card = scorer.card({**scorer.space.settled, **design})
    if card.broken:
        worst = min(card.broken, key=lambda r: r.slack)
        raise InternalError(
            f"the solver's design breaks {worst.limit.measure} by {-worst.slack:g} (SI); this is a fault of the program"
        )
    return card


def conflict(search: Search) -> tuple[int, ...]:
    """Indices of limits that cannot hold together in any space: none of them can be left out."""
    count = max((b.index for s in search.scorers for b in s.bounds), default=-1) + 1
    kept = list(range(count))
    # the room's own limits come last: try to do without them last, so that the file's remain few
    for index in range(count):
        search.tell("impossible: which limits exclude each other", index, count)
        rest = [i for i in kept if i != index]
        if not _possible(search, rest):
            kept = rest
    return tuple(kept)


def _possible(search: Search, limits: Sequence[int]) -> bool:
    wanted = set(limits)
    for scorer in search.scorers:
        compiled = search.compiled(scorer.space, [b for b in scorer.bounds if b.index in wanted], [], levels=1)
        if search.run(compiled)[0] != "INFEASIBLE":
            return True
    return False


def ask_for(compiled: Compiled, score: float) -> None:
    """Ask a model only for designs that score at least so many points."""
    if compiled.objective is not None:
        compiled.model.add(compiled.objective >= compiled.asked(score))


def _halves(looking: Iterable[str], domains: Mapping[str, Domain]) -> list[Mapping[str, Domain]]:
    """Two parts of a space in which rows look up tables by some decisions, apart where the longest way is halved;
    none where there is no table, or no way that is worth it."""
    ways = [(d.step * (d.high - d.low), n) for n in looking if isinstance(d := domains[n], Steps)]
    length, name = max(ways, default=(0.0, ""))
    if length < APART:
        return []
    whole = domains[name]
    assert isinstance(whole, Steps)
    middle = (whole.low + whole.high) // 2
    halves = replace(whole, high=middle), replace(whole, low=middle + 1)
    return [{**domains, name: half} for half in halves]


def _at_edge(near: Mapping[str, Domain], whole: Mapping[str, Domain], design: Mapping[str, float]) -> bool:
    """Whether a design lies where a neighbourhood ends but its space goes on."""
    for name, domain in near.items():
        space = whole[name]
        if isinstance(domain, Steps) and isinstance(space, Steps):
            at = round(design[name] / domain.step)
            if (at == domain.low > space.low) or (at == domain.high < space.high):
                return True
    return False


def _neighbourhood(space: Space, design: Mapping[str, float]) -> dict[str, Domain]:
    """Domains around a design: lengths within NEAR, heights and counts within a few, choices as they are (or the
    nearest there is, for a design of another space)."""
    near: dict[str, Domain] = {}
    for name, domain in space.domains.items():
        if isinstance(domain, Steps):
            at = min(max(round(design[name] / domain.step), domain.low), domain.high)
            whole = NEAR_STEPS if domain.step < 1.0 else NEAR_WHOLE
            reach = round(NEAR / domain.step) if domain.rounded else whole
            near[name] = replace(domain, low=max(domain.low, at - reach), high=min(domain.high, at + reach))
        elif isinstance(domain, Listed):
            near[name] = Held(min(domain.values, key=lambda v, to=design[name]: abs(v - to)))
        else:
            near[name] = domain
    return near
