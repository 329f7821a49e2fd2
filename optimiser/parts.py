"""Parts of a space: what lies near a design, and halves of a way along which tables are looked up."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from optimiser.design import Domain, Held, Listed, Space, Steps

APART = 0.1
"""Metres of a row's way that are not halved any more."""

NEAR = 0.08
"""Metres to each side that the sharpening model looks at."""

NEAR_STEPS, NEAR_WHOLE = 4, 3
"""Steps of a platform's height, and whole things, to each side that it looks at."""


def neighbourhood(space: Space, design: Mapping[str, float]) -> dict[str, Domain]:
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


def at_edge(near: Mapping[str, Domain], whole: Mapping[str, Domain], design: Mapping[str, float]) -> bool:
    """Whether a design lies where a neighbourhood ends but its space goes on."""
    for name, domain in near.items():
        space = whole[name]
        if isinstance(domain, Steps) and isinstance(space, Steps):
            at = round(design[name] / domain.step)
            if (at == domain.low > space.low) or (at == domain.high < space.high):
                return True
    return False


def halved(looking: Iterable[str], domains: Mapping[str, Domain]) -> list[Mapping[str, Domain]]:
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
