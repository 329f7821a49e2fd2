"""Shrink the ranges of decisions, before any search, by what must hold.

What must hold are the limits and, where only designs above some score are asked for, the score that
each goal must then reach at least: a goal may lose no more than all goals together may lose. Only
what interval arithmetic proves is cut away, so no design that is asked for is lost; narrower ranges
make every later piece of the model smaller and tighter.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from optimiser.compile.intervals import EXACTNESS, Box, at_level, finite, top_level, truth
from optimiser.design import Domain, Listed, Steps
from optimiser.forms import All, AnyOf, Condition, Cut
from optimiser.linear import Entry, Linear, Term

ROUNDS = 8


@dataclass(frozen=True)
class Outlook:
    """Domains, and for each goal's score variable the lowest and highest level left. ``hopeless``
    where no design can be what was asked for."""

    domains: Mapping[str, Domain]
    levels: tuple[tuple[int, int], ...]
    hopeless: bool


def outlook(
    domains: Mapping[str, Domain],
    sense: Iterable[Linear],
    certain: Sequence[Condition],
    goals: Sequence[Sequence[Condition]],
    weights: Sequence[int],
    *,
    levels: int,
    least: int | None,
    between: bool,
) -> Outlook:
    """Shrink domains by expressions ``sense`` >= 0, conditions that hold, and, where ``least`` is
    given, goals whose weighted levels sum up to at least that. ``between`` widens everything by half
    a step, so that designs between grid points are kept too."""
    steps = {n: d.step for n, d in domains.items() if between and isinstance(d, Steps) and d.rounded}
    ranges = [(0, levels)] * len(goals)
    lines: dict[int, Linear] = {}
    for _ in range(ROUNDS):
        box = _box(domains, steps)
        rows = [*sense, *necessary(certain, box, lines)]
        if least is not None:
            tops = [min((top_level(c, box, levels) for c in conditions), default=levels) for conditions in goals]
            spare = sum(w * top for w, top in zip(weights, tops)) - least
            if spare < 0:
                return Outlook(domains, tuple(ranges), True)
            ranges = [(max(0, top - spare // w) if w else 0, top) for w, top in zip(weights, tops)]
            for conditions, (low, _) in zip(goals, ranges):
                if low > 0:
                    rows += necessary([at_level(c, low) for c in conditions], box)
        widened = [e + 0.5 * sum(abs(c) * _step(term, steps) for term, c in e.terms) for e in rows]
        shrunk = tightened(domains, widened, EXACTNESS)
        if shrunk == domains:
            ends = {name: domain.ends for name, domain in domains.items()}
            return Outlook(domains, tuple(ranges), any(e.interval(ends)[1] < -EXACTNESS for e in widened))
        domains = shrunk
    return Outlook(domains, tuple(ranges), False)


def _step(term: Term, steps: Mapping[str, float]) -> float:
    """By how much a term changes in a step of the decision that it is, or counts."""
    if isinstance(term, str):
        return steps.get(term, 0.0)
    return max(abs(entry) for _, entry in term.values) * steps.get(term.times, 0.0)


def _box(domains: Mapping[str, Domain], steps: Mapping[str, float]) -> Box:
    box = {}
    for name, domain in domains.items():
        low, high = domain.ends
        half = 0.5 * steps.get(name, 0.0)
        box[name] = (low - half, high + half)
    return box


def necessary(conditions: Iterable[Condition], box: Box, lines: dict[int, Linear] | None = None) -> list[Linear]:
    """Linear expressions that are >= 0 wherever in the box all the conditions hold. ``lines``: those of cuts
    that are asked about again and again, by identity; the cuts must outlive it."""
    found: list[Linear] = []
    for condition in conditions:
        if isinstance(condition, All):
            found += necessary(condition.parts, box, lines)
        elif isinstance(condition, AnyOf):
            possible = [p for p in condition.parts if truth(p, box) is not False]
            if len(possible) == 1:
                found += necessary(possible, box, lines)
        elif isinstance(condition, Cut) and finite(condition):
            over, under = condition.numerator, condition.denominator
            if isinstance(over, Linear) and isinstance(under, Linear):
                line = None if lines is None else lines.get(id(condition))
                if line is None:
                    line = _line(over, under, float(condition.c), condition.sense)
                    if lines is not None:
                        lines[id(condition)] = line
                found.append(line)
    return found


def _line(over: Linear, under: Linear, c: float, sense: int) -> Linear:
    """``sense * (over - c * under)``."""
    line = Linear(over.terms, over.constant - c * under.constant) if under.is_constant else over - under * c
    return line if sense > 0 else -line


def tightened(domains: Mapping[str, Domain], expressions: Iterable[Linear], slack: float) -> dict[str, Domain]:
    """The domains with values dropped at which some expression must fall below ``-slack``.

    A domain that would become empty keeps its last value: the solver then finds the contradiction.
    """
    box = {name: domain.ends for name, domain in domains.items()}
    shrunk = dict(domains)
    active = [e for e in expressions if e.terms]
    for _ in range(ROUNDS):
        changed = False
        for expression in active:
            high = expression.interval(box)[1] + slack
            for term, coefficient in expression.terms:
                name = term if isinstance(term, str) else term.of
                low, top = box[name] if isinstance(term, str) else term.interval(box)
                if low == top:
                    continue
                reach = high - coefficient * (top if coefficient > 0 else low)
                edge = -reach / coefficient  # the value beyond which the expression must be negative
                if isinstance(term, str):
                    new = _beyond(shrunk[name], edge, coefficient > 0)
                else:
                    new = _without(shrunk[name], term, edge, coefficient > 0, box)
                if new != shrunk[name]:
                    shrunk[name], box[name], changed = new, new.ends, True
                    high = expression.interval(box)[1] + slack
        if not changed:
            break
    return shrunk


def _beyond(domain: Domain, edge: float, above: bool) -> Domain:
    """The domain's values above (or below) an edge."""
    if isinstance(domain, Steps):
        if above:
            first = min(math.ceil(edge / domain.step - 1e-9), domain.high)
            return Steps(domain.step, max(domain.low, first), domain.high, domain.rounded)
        last = max(math.floor(edge / domain.step + 1e-9), domain.low)
        return Steps(domain.step, domain.low, min(domain.high, last), domain.rounded)
    if isinstance(domain, Listed):
        kept = tuple(v for v in domain.values if (v >= edge - 1e-9 if above else v <= edge + 1e-9))
        return Listed(kept) if kept and kept != domain.values else domain
    return domain


def _without(domain: Domain, entry: Entry, edge: float, above: bool, box: Box) -> Domain:
    """A list without the things whose entry, at its best, stays below (or above) an edge."""
    if not isinstance(domain, Listed):
        return domain

    def best(number: float) -> float:
        low, high = entry.interval({**box, entry.of: (number, number)})
        return high if above else low

    kept = tuple(n for n in domain.values if (best(n) >= edge - 1e-9 if above else best(n) <= edge + 1e-9))
    return Listed(kept) if kept and kept != domain.values else domain
