"""Among designs that are equally good, the one that is easiest to build.

A proven best design often leaves freedom that no goal speaks of: three risers where one would do, a
length to the sixteenth where a whole inch is as good, a dear chair where a cheaper one would do. One
decision at a time, this takes what costs less, what is less work, the image in the middle of the room, and then what is
rounder, wherever every limit still holds and no point is lost.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from optimiser.design import Listed, Steps
from optimiser.forms import decisions_in
from optimiser.hanging import clear_height
from optimiser.linear import decisions_of
from optimiser.measures.layout import Row
from optimiser.measures.people import rise
from optimiser.physics.stairs import CODES, riser_count
from optimiser.score import Scorer

LOSS = 1e-9
"""Points that count as none."""

THRIFTY = ("platform", "depth", "panels")
"""Decisions of which less is less work: a lower platform, a shallower wall, fewer absorbing panels."""

CLIMBABLE = CODES["irc_riser_most"].value
"""Metres of a riser that people climb without a second thought: the most that a code gives stairs in dwellings."""

COARSER = {"inch": (0.0254, 0.0127, 0.00635), "metric": (0.05, 0.01, 0.005)}


def tidied(scorer: Scorer, design: Mapping[str, float], score: float) -> dict[str, float]:
    """The design with thriftier and rounder values, its score and its limits kept."""
    tidy = dict(design)
    cost = scorer.space.layout.cost
    for name in () if cost is None else sorted(decisions_of(cost)):
        domain = scorer.space.domains[name]
        if isinstance(domain, Listed):
            prices = {float(cost.value({**tidy, name: value})): value for value in domain.values}
            cheaper = sorted(price for price in prices if price < float(cost.value(tidy)))
            _take_first(scorer, tidy, name, np.array([prices[price] for price in cheaper]), score)
    steps = {n: d for n, d in scorer.space.domains.items() if isinstance(d, Steps)}
    for name, domain in steps.items():
        if name.rpartition(".")[2] in THRIFTY:
            least = domain.step * np.arange(domain.low, round(tidy[name] / domain.step))
            _take_first(scorer, tidy, name, least, score)
    if "screen.centre" in steps:
        _take_first(scorer, tidy, "screen.centre", _nearer_to_the_middle(scorer, tidy, steps["screen.centre"]), score)
    for row in scorer.space.layout.rows:
        name = f"row{row.number}.risers"
        if name in steps:
            _take_first(scorer, tidy, name, _risers(scorer, tidy, row, steps[name]), score)
    for name, domain in steps.items():
        middle = name == "screen.centre" and abs(tidy[name] - 0.5 * scorer.space.layout.width) < domain.step
        if domain.rounded and not middle:  # no figure is rounder than the middle
            _take_first(scorer, tidy, name, _rounder(tidy[name], domain), score)
    if "projector.z" in steps and scorer.space.layout.lens is not None:
        _take_first(scorer, tidy, "projector.z", _out_of_the_way(scorer, tidy, steps["projector.z"]), score)
    return tidy


def _out_of_the_way(scorer: Scorer, design: Mapping[str, float], domain: Steps) -> np.ndarray:
    """Heights of the lens that suit better than the design's, the best first: the lowest at which nobody passes or
    looks through the projector, round ones before others; where there is none, the highest. None where the design's will
    do."""
    whole = {**scorer.space.settled, **design}
    clear, there = clear_height(scorer.space, whole), round(design["projector.z"] / domain.step)
    if there * domain.step >= clear - LOSS:
        return np.array([])
    higher = domain.step * np.arange(there + 1, domain.high + 1)
    enough = higher[higher >= clear - LOSS]
    round_ = [v for unit in _coarser(domain) for v in enough if abs(v / unit - round(v / unit)) < 1e-6]
    return np.array([*round_, *enough, *higher[higher < clear - LOSS][::-1]])


def _nearer_to_the_middle(scorer: Scorer, design: Mapping[str, float], domain: Steps) -> np.ndarray:
    """Places of the image's middle that are nearer to the room's than the design's, the nearest first."""
    room, there = 0.5 * scorer.space.layout.width, design["screen.centre"]
    places = domain.step * np.arange(domain.low, domain.high + 1)
    nearer = places[np.abs(places - room) < abs(there - room) - 0.5 * domain.step]
    return nearer[np.argsort(np.abs(nearer - room), kind="stable")]


def _coarser(domain: Steps) -> tuple[float, ...]:
    """Coarser grids than a decision's own, the coarsest first."""
    return COARSER["metric" if abs(domain.step * 1000 - round(domain.step * 1000)) < 1e-9 else "inch"]


def _risers(scorer: Scorer, design: Mapping[str, float], row: Row, domain: Steps) -> np.ndarray:
    """Numbers of risers up to a row that suit better than the design's, the best first: the fewest that are climbable,
    then as many as can be."""
    up = max(0.0, float(rise(scorer.space.layout, row).value({**scorer.space.settled, **design})))
    fewest = max(domain.low, min(domain.high + 1, int(riser_count(rise=up, limit=CLIMBABLE))))
    order = [*range(fewest, domain.high + 1), *range(fewest - 1, domain.low - 1, -1)]
    return np.array(order[: order.index(round(design[f"row{row.number}.risers"]))], dtype=float)


def _rounder(value: float, domain: Steps) -> np.ndarray:
    """Values near this one on coarser grids, coarsest first, that the decision's own grid has too."""
    found: list[float] = []
    for unit in _coarser(domain):
        if abs(value / unit - round(value / unit)) < 1e-6:
            break
        for near in (np.floor(value / unit), np.ceil(value / unit)):
            count = round(near * unit / domain.step)
            if domain.low <= count <= domain.high and abs(count * domain.step - near * unit) < 1e-9:
                found.append(count * domain.step)
    return np.array(found)


def _take_first(scorer: Scorer, design: dict[str, float], name: str, values: np.ndarray, score: float) -> None:
    """Put the first of ``values`` in place that costs nothing, if there is one."""
    if not len(values):
        return
    tried = {**scorer.space.settled, **design, name: values}
    touched = [b for b in scorer.bounds if name in decisions_in(b.form)]  # the others hold as they did
    short = Scorer.of(scorer.space, touched, ()).shortfall(tried)
    good = (short <= 0.0) & (scorer.scores(tried) >= score - LOSS)
    good = np.broadcast_to(good, values.shape)
    if good.any():
        design[name] = float(values[int(np.argmax(good))])
