"""Shrink the ranges of decisions by the limits that must hold, before any search.

Only what interval arithmetic on a limit's linear cuts proves is cut away, so no design that holds
its limits is lost; narrower ranges make every later piece of the model smaller and tighter.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

import numpy as np

from optimiser.design import Domain, Steps
from optimiser.forms import All, Condition, Cut
from optimiser.linear import Linear

ROUNDS = 8


def necessary(conditions: Iterable[Condition]) -> list[Linear]:
    """Linear expressions that are >= 0 wherever all the conditions hold."""
    found: list[Linear] = []
    for condition in conditions:
        if isinstance(condition, All):
            found += necessary(condition.parts)
        elif isinstance(condition, Cut) and not np.ndim(condition.c) and math.isfinite(float(condition.c)):
            over, under = condition.numerator, condition.denominator
            if isinstance(over, Linear) and isinstance(under, Linear):
                found.append((over - under * float(condition.c)) * float(condition.sense))
    return found


def tightened(domains: Mapping[str, Domain], expressions: Iterable[Linear], slack: float) -> dict[str, Domain]:
    """The domains with grid points dropped at which some expression must fall below ``-slack``.

    A domain that would become empty keeps its last point: the solver then finds the contradiction.
    """
    box = {name: domain.ends for name, domain in domains.items()}
    shrunk = dict(domains)
    active = [e for e in expressions if e.terms]
    for _ in range(ROUNDS):
        changed = False
        for expression in active:
            high = expression.interval(box)[1] + slack
            for name, coefficient in expression.terms:
                domain = shrunk[name]
                if not isinstance(domain, Steps) or domain.low == domain.high:
                    continue
                low, top = box[name]
                reach = high - coefficient * (top if coefficient > 0 else low)
                edge = -reach / coefficient  # the value beyond which the expression must be negative
                if coefficient > 0:
                    first = min(math.ceil(edge / domain.step - 1e-9), domain.high)
                    new = Steps(domain.step, max(domain.low, first), domain.high, domain.rounded)
                else:
                    last = max(math.floor(edge / domain.step + 1e-9), domain.low)
                    new = Steps(domain.step, domain.low, min(domain.high, last), domain.rounded)
                if new != domain:
                    shrunk[name], box[name], changed = new, new.ends, True
                    high = expression.interval(box)[1] + slack
        if not changed:
            break
    return shrunk
