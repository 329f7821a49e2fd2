"""How far decisions and measures can move while the score stays near the best, and how different the
designs are that do as well. Every end is reached by a design scored exactly, and bounded by a proof."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

from optimiser.design import Design, Domain, Held, Listed, Space, Steps
from optimiser.engine import EFFORT
from optimiser.errors import UsageError
from optimiser.explain.demands import where_there
from optimiser.explain.reach import BEYOND, Reach, Unsettled, narrowed
from optimiser.explain.steps import fine
from optimiser.explain.together import together
from optimiser.forms import LATCH, Condition, Form, Quotient, Unless, absolute, affine
from optimiser.linear import Entry, Linear, decisions_of, variable
from optimiser.measures import catalogue
from optimiser.problem.decisions import kind_of, split_row
from optimiser.problem.model import Problem
from optimiser.progress import Progress, silent
from optimiser.requirements import bounds, targets
from optimiser.score import Scorer
from optimiser.search import Search
from optimiser.solve import Solution

LOSSES = (1.0,)
"""Points below the best that count as near it."""

SEVERAL = 3
"""Designs to show that differ."""

BUDGET = 12.0
"""Deterministic seconds for all ends together. What is not proven by then is told with its bounds."""

RESOLVED = 2.0
"""Halves of the last digit shown to within which an end is to be known."""

SHARE = 0.02
"""Share of what lies between the ends to within which they are to be known, where that is more."""

LEAST = 0.3
"""Deterministic seconds that each end has in any case."""


@dataclass(frozen=True)
class Subject:
    """A decision (``measure`` is empty) or a measure, whose reach is asked for."""

    name: str
    quantity: str
    measure: str = ""
    row: int | None = None
    options: tuple[tuple[str, object], ...] = ()


@dataclass(frozen=True)
class Scope:
    """What a subject is at best (None where the best design has none), and how far it goes with at most ``loss`` points
    less: from ``low`` to ``high`` by designs that hold and score so; nothing beyond ``low_bound`` and ``high_bound`` does
    (proven). ``choices`` of a list, in place of ends. ``settled``: the solver could tell."""

    subject: Subject
    loss: float
    at_best: float | None
    low: float
    high: float
    low_bound: float
    high_bound: float
    choices: tuple[float, ...] = ()
    settled: bool = True

    @property
    def nowhere(self) -> bool:
        """Whether no design near the best has what is measured (proven)."""
        return self.settled and self.low > self.high


@dataclass(frozen=True)
class Other:
    """A design near the best in score and far from it and from those before. ``distance`` is the sum over
    decisions of the difference as a share of the decision's freedom, to the nearest of them; no design
    near the best is farther than ``farthest`` (proven)."""

    space: Space
    design: Mapping[str, float]
    score: float
    distance: float
    farthest: float


@dataclass(frozen=True)
class Freedom:
    """Scopes for each loss, and designs that differ within ``loss``."""

    best: Solution
    losses: tuple[float, ...]
    scopes: tuple[tuple[Scope, ...], ...]
    loss: float
    others: tuple[Other, ...]


Domains = tuple[tuple[str, Domain], ...]


@dataclass(frozen=True)
class Begun:
    """Where a freedom is begun from, for each loss in ascending order: ``domains`` of the decisions that hold every
    design near the best, as far as a few boxes tell, and ``ends``, for each subject that is solved for designs that have
    little and much of it."""

    domains: tuple[Domains, ...]
    ends: tuple[tuple[tuple[Design, Design], ...], ...]


def begun_of(problem: Problem, best: Solution, *, losses: Sequence[float] = LOSSES, every: bool = False) -> Begun:
    """Where a freedom is begun from: all of it that is not solved for. ``losses``, ``every``: as of freedom_of."""
    assert best.design is not None and best.space is not None and best.score is not None
    solved = _solved(problem, best.space, every)
    forms = [form_of(best.space, subject) for subject in solved]
    close = [_finest(best.space, subject) for subject in solved]
    domains, ends, starts = [], [], [best.design]
    for loss in sorted(losses):  # what is near the best within less is so within more
        domains.append(_narrowed(problem, best, loss))
        ends.append(
            tuple(_reach_near(problem, best, loss, domains[-1]).outermost(forms, starts, close)) if forms else ()
        )
        starts = [best.design, *(design for two in ends[-1] for design in two)]
    return Begun(tuple(domains), tuple(ends))


def freedom_of(
    problem: Problem,
    best: Solution,
    *,
    losses: Sequence[float] = LOSSES,
    every: bool = False,
    others: int = SEVERAL,
    begun: Begun | None = None,
    effort: float = EFFORT,
    executor: Executor | None = None,
    progress: Progress = silent,
) -> Freedom:
    """The freedom around a best design: of its decisions, and of the measures in the file's limits and
    goals (``every``: of all measures). Other numbers of rows and other screens are not looked into:
    freedom is that of this kind of design. ``begun``: what begun_of makes of the same, if it is made already."""
    if best.design is None or best.space is None or best.score is None:
        raise UsageError("an impossible problem has no freedom; explain tells what would have to give")
    asked = subjects(problem, best.space, every=every)
    solved = _solved(problem, best.space, every)
    share = min(effort, max(LEAST, BUDGET / (2.0 * max(1, len(losses) * len(solved)))))
    begun = begun or begun_of(problem, best, losses=losses, every=every)
    within = dict(zip(sorted(losses), begun.domains))
    tasks = [
        _Task(problem, best, subject, loss, within[loss], share, two)
        for loss, ends in zip(sorted(losses), begun.ends)
        for subject, two in zip(solved, ends)
    ]
    for loss in within:  # made here once, there for all processes
        _reach_near(problem, best, loss, within[loss])
    found = together(_scope, tasks, "how far each can move", executor=executor, progress=progress)
    known = {(scope.subject, scope.loss): scope for scope in found}
    scopes = tuple(tuple(_known(best.space, known, s, loss) for loss in losses) for s in asked)
    scopes = tuple(group for group in scopes if not _of_nothing(best.space, known, losses, group[0].subject))
    loss = losses[0]
    starts = [best.design, *(design for task in tasks if task.loss == loss for design in task.ends)]
    reach = _reach_near(problem, best, loss, within[loss])
    different = _others(problem, best, reach, [group[0] for group in scopes], starts, others, progress)
    # an end is looked for no closer than its bound is wanted, and a design found for something else may lie beyond it
    for at, most in enumerate(losses):
        there = [design for task in tasks if task.loss <= most for design in task.ends]
        there += [other.design for other in different if loss <= most]
        scopes = tuple(_replaced(group, at, _widened(best.space, group[at], there)) for group in scopes)
    return Freedom(best, tuple(losses), scopes, loss, different)


def _replaced(group: tuple[Scope, ...], at: int, scope: Scope) -> tuple[Scope, ...]:
    return (*group[:at], scope, *group[at + 1 :])


def _widened(space: Space, scope: Scope, designs: Sequence[Design]) -> Scope:
    """A scope that reaches as far as these designs near the best do."""
    form = form_of(space, scope.subject)
    if form is None or scope.choices or not scope.settled or not designs:
        return scope
    values = [v for v in (float(form.value(design)) for design in designs) if math.isfinite(v)]
    low, high = min([scope.low, *values]), max([scope.high, *values])
    return replace(
        scope, low=low, high=high, low_bound=min(low, scope.low_bound), high_bound=max(high, scope.high_bound)
    )


def _of_nothing(space: Space, known: Mapping[tuple, Scope], losses: Sequence[float], subject: Subject) -> bool:
    """Whether a decision is about steps, or about a platform, that no design near the best has."""

    def height(number: int) -> float | None:
        """That of a row's platform, where all these designs have the same."""
        name = f"row{number}.platform"
        domain = space.domains.get(name)
        if domain is None or isinstance(domain, Held):
            return 0.0 if domain is None else domain.value
        ends = [known[Subject(name, kind_of(name)), loss] for loss in losses]
        return ends[0].low if all(end.low_bound == end.high_bound == ends[0].low for end in ends) else None

    of_row = split_row(subject.name) if not subject.measure else None
    if of_row is not None and of_row[1] == "risers":
        own = height(of_row[0])
        return own is not None and own == height(of_row[0] - 1)
    return subject == Subject("platform.behind", kind_of("platform.behind")) and height(space.rows) == 0.0


def _solved(problem: Problem, space: Space, every: bool) -> list[Subject]:
    """The subjects that are solved for: the others follow one of them."""
    return [s for s in subjects(problem, space, every=every) if _follows(space, s) is None]


def _follows(space: Space, subject: Subject) -> Subject | None:
    """The one decision that a measure follows, rising or falling with it all the way; None for others."""
    form = form_of(space, subject) if subject.measure else None
    if not isinstance(form, Quotient) or not isinstance(form.denominator, Linear) or not form.denominator.is_constant:
        return None
    if isinstance(form.numerator, Linear) and any(isinstance(term, Entry) for term, _ in form.numerator.terms):
        return None  # what stands in a list neither rises nor falls with the number of a thing
    open_ = [n for n in decisions_of(form.numerator) if not isinstance(space.domains[n], Held)]
    if len(open_) != 1 or not isinstance(form.numerator, Linear):
        return None
    return Subject(open_[0], kind_of(open_[0]))


def _known(space: Space, known: Mapping[tuple, Scope], subject: Subject, loss: float) -> Scope:
    """A subject's scope: as solved, or as its one decision's scope has it."""
    decision = _follows(space, subject)
    if decision is None:
        return known[subject, loss]
    scope, form = known[decision, loss], form_of(space, subject)
    assert form is not None

    def value(at: float | None) -> float:
        return float(form.value({**space.held, decision.name: at}))

    rising = value(scope.high) >= value(scope.low)
    ends = [value(v) for v in (scope.low, scope.high, scope.low_bound, scope.high_bound)]
    low, high, low_bound, high_bound = ends if rising else (ends[1], ends[0], ends[3], ends[2])
    choices = tuple(sorted(value(v) for v in scope.choices))
    return Scope(subject, loss, value(scope.at_best), low, high, low_bound, high_bound, choices, scope.settled)


def subjects(problem: Problem, space: Space, *, every: bool = False) -> list[Subject]:
    """The open decisions of a space, then the measures that the file names, or all there are."""
    found = [Subject(name, kind_of(name)) for name, domain in space.domains.items() if not isinstance(domain, Held)]
    layout = space.layout
    wanted: dict[tuple, Subject] = {}
    if every:
        for measure in catalogue().values():
            if not measure.exists(layout) or any(getattr(layout, need) is None for need in measure.needs):
                continue
            rows = measure.rows_of(layout) if measure.per_row else (None,)
            for row in rows:
                number = row and row.number
                wanted[measure.name, number] = Subject(measure.name, measure.quantity, measure.name, number)
    named = [(b.limit, b.measure, b.row) for b in bounds(problem, space) if not b.own and b.seat is None]
    named += [(t.goal, t.measure, row) for t in targets(problem, space) if not t.seats for row in t.rows]
    for item, measure, row in named:
        subject = Subject(measure.name, measure.quantity, measure.name, row, item.options)
        wanted[measure.name, row, item.options] = subject
    return found + [s for s in wanted.values() if not _fixed(space, s)]


def form_of(space: Space, subject: Subject) -> Form | None:
    """The subject's form in a space, which counts only where a row has what is measured; None where it has none."""
    if not subject.measure:
        return affine(variable(subject.name)) if subject.name in space.domains else None
    measure = catalogue()[subject.measure]
    if not measure.per_row:
        return measure.form(space.layout, **dict(subject.options))
    rows = [r for r in measure.rows_of(space.layout) if r.number == subject.row]
    return measure.asked_form(space.layout, rows[0], **dict(subject.options)) if rows else None


def _fixed(space: Space, subject: Subject) -> bool:
    form = form_of(space, subject)
    if form is None:
        return True
    if isinstance(form, Unless) and form.absent.interval(space.bounds)[0] >= -LATCH:
        return True  # no design has what is measured
    low, high = form.interval(space.bounds)
    return low == high


# --- ranges -------------------------------------------------------------------------------------


class _Task(NamedTuple):
    """What one scope is asked for with: designs near the best lie within ``domains``; ``ends`` have little and much of
    the subject."""

    problem: Problem
    best: Solution
    subject: Subject
    loss: float
    domains: Domains
    effort: float
    ends: tuple[Design, Design]


def _scorer(problem: Problem, grid: float, key: frozenset[tuple[str, float]]) -> Scorer:
    """The scorer of the space of the best design, known by what it settles."""
    for scorer in Search(problem, grid).scorers:
        if scorer.space.key == key:
            return scorer
    raise UsageError("the best design is none of this problem's")


def _narrowed(problem: Problem, best: Solution, loss: float) -> Domains:
    assert best.space is not None and best.score is not None
    scorer = _scorer(problem, best.grid, best.space.key)
    return tuple(narrowed(scorer.space, scorer.bounds, scorer.targets, best.score - loss).items())


@lru_cache(maxsize=8)
def _reach(problem: Problem, grid: float, key: frozenset[tuple[str, float]], floor: float, domains: Domains) -> Reach:
    """The space of the best design under a floor; made once in each process."""
    scorer = _scorer(problem, grid, key)
    return Reach(scorer.space, scorer.bounds, scorer.targets, floor=floor, domains=dict(domains))


def _reach_near(problem: Problem, best: Solution, loss: float, domains: Domains) -> Reach:
    assert best.space is not None and best.score is not None
    return _reach(problem, best.grid, best.space.key, best.score - loss, domains)


def _scope(task: _Task) -> Scope:
    """One scope, begun from designs that have little and much of the subject."""
    problem, best, subject, loss, domains, effort, ends = task
    reach = _reach_near(problem, best, loss, domains)
    form = form_of(reach.space, subject)
    assert form is not None and best.design is not None
    at_best = None if math.isnan(value := float(form.value(best.design))) else value
    domain = reach.space.domains.get(subject.name) if not subject.measure else None
    two = [where_there(form, up) for up in (True, False)]
    least, most = (float(one.value(end)) for one, end in zip(two, ends))
    try:
        if least == -most == math.inf and not reach.some(two[0].at_most(BEYOND), effort):
            return Scope(subject, loss, None, math.inf, -math.inf, math.inf, -math.inf)
        if isinstance(domain, Listed):
            seen = {float(form.value(design)) for design in (best.design, *ends)}
            kept = tuple(v for v in domain.values if v in seen or reach.some(_is(form, v), effort))
            return Scope(subject, loss, at_best, min(kept), max(kept), min(kept), max(kept), kept)
    except Unsettled:
        known = math.nan if at_best is None else at_best
        return Scope(subject, loss, at_best, known, known, -math.inf, math.inf, settled=False)
    finest = _finest(reach.space, subject)
    close = max(finest, SHARE * (most - least)) if math.isfinite(most - least) else finest
    within = reach.limited(subject.measure, subject.row, subject.options)
    low, high = (
        reach.closed(one, end, greatest=up, close=close, effort=effort, within=within)
        for one, end, up in zip(two, ends, (False, True))
    )
    if isinstance(domain, Steps):
        bounds = (
            domain.step * math.ceil(low.bound / domain.step - 1e-6),
            domain.step * math.floor(high.bound / domain.step + 1e-6),
        )
    else:
        bounds = (low.bound, high.bound)
    return Scope(subject, loss, at_best, low.value, high.value, min(low.value, bounds[0]), max(high.value, bounds[1]))


def _finest(space: Space, subject: Subject) -> float:
    """How closely an end is ever to be known: what lies on a grid has nothing between two of its points."""
    domain = space.domains.get(subject.name) if not subject.measure else None
    return 0.5 * domain.step if isinstance(domain, Steps) else RESOLVED * fine(subject.quantity)


def _is(form: Form, value: float) -> Condition:
    """That a decision has this value of its list."""
    return absolute(form.numerator - value).at_most(1e-9)  # type: ignore[union-attr]


# --- different designs --------------------------------------------------------------------------


def _others(
    problem: Problem,
    best: Solution,
    reach: Reach,
    scopes: Sequence[Scope],
    starts: Sequence[Mapping[str, float]],
    count: int,
    progress: Progress,
) -> tuple[Other, ...]:
    """Designs within the loss, each far from the best and from those before it."""
    spans = {s.subject.name: s.high - s.low for s in scopes if not s.subject.measure and s.high - s.low > 1e-9}
    found: list[Other] = []
    assert best.design is not None and best.score is not None
    for at in range(count if spans else 0):
        progress("designs that differ", at, count)
        seen = [best.design, *(o.design for o in found)]
        other = _farthest(problem, reach, seen, scopes, spans, starts)
        if other.distance < 0.02 * len(spans):
            break
        found.append(other)
    return tuple(found)


def distance(one: Mapping[str, float], other: Mapping[str, float], spans: Mapping[str, float]) -> float:
    """Sum over decisions of the difference as a share of what the decision is free to do."""
    return sum(abs(one[name] - other[name]) / span for name, span in spans.items())


def _farthest(
    problem: Problem,
    reach: Reach,
    seen: Sequence[Mapping[str, float]],
    scopes: Sequence[Scope],
    spans: Mapping[str, float],
    starts: Sequence[Mapping[str, float]],
) -> Other:
    design = reach.apart(seen, spans, starts)
    away = min(distance(design, d, spans) for d in seen)
    # no decision goes beyond its own bounds, so none of these designs is farther from the nearest than that
    ends = {
        s.subject.name: (s.low_bound, s.high_bound) for s in scopes if s.subject.name in spans and not s.subject.measure
    }
    outer = min(
        sum(max(d[name] - low, high - d[name]) / spans[name] for name, (low, high) in ends.items()) for d in seen
    )
    score = float(Scorer(problem, reach.space).scores(design))
    return Other(reach.space, design, score, away, max(away, outer))
