"""Among designs that are equally good, the one that is easiest to build.

A proven best design often leaves freedom that no goal speaks of: three risers where one would do, a length to the
sixteenth where a whole inch is as good, a dear chair where a cheaper one would do. One decision at a time, this takes
what costs less (a projector also from another place), seats that cost nothing (also with the aisle on the other side),
what is less work, a last platform whose edge keeps from the chairs, the image in the middle of the room and the rows in
the middle of the image, the aisle away from doors and where people stand up most freely, a baffle wall no wider than it
must be, then what is rounder, and the projector out of the way, wherever every limit still holds and no point is lost.
An image and rows of their own place go to the middle together, since apart each would lose the other; platforms that
must be alike are lowered together.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from optimiser.design import HAIR, Held, Listed, Steps
from optimiser.hanging import clear_height, hangs_high, into_the_building
from optimiser.linear import decisions_of
from optimiser.measures.layout import Row
from optimiser.measures.people import past_rear_steps, past_steps, rise
from optimiser.measures.shape import aisle_headroom
from optimiser.physics.stairs import CODES, riser_count
from optimiser.score import Scorer

LOSS = 1e-9
"""Points that count as none."""

THRIFTY = ("platform", "depth", "panels")
"""Decisions of which less is less work: a lower platform, a shallower wall, fewer absorbing panels."""

EDGES = {"baffle.width": -1.0, "baffle.left": 1.0, "baffle.right": -1.0}
"""By which way each of a baffle wall's measurements makes it narrower: nobody wants it for its own sake (docs/decisions/baffle-width.md)."""

CLIMBABLE = CODES["irc_riser_most"].value
"""Metres of a riser that people climb without a second thought: the most that a code gives stairs in dwellings."""

LANDING = CODES["irc_landing_least"].value
"""Metres of floor between a door and steps that are enough, or between chairs and a drop: what a code gives the foot of a
stair."""

ALONG = 0.6
"""Metres by which rows may move along the room for image and rows to come to their middles."""

PLACES = 48
"""Places aside, and ways along to either side, that are tried for that."""

LENSES = 100
"""Places along the room, and heights, at which a cheaper projector is tried."""

COARSER = {"inch": (0.0254, 0.0127, 0.00635), "metric": (0.05, 0.01, 0.005)}


def tidied(scorer: Scorer, design: Mapping[str, float]) -> dict[str, float]:
    """A design that keeps its limits, with thriftier and rounder values, its score and its limits kept."""
    tidy = dict(design)
    cost = scorer.space.layout.cost
    for name in () if cost is None else sorted(decisions_of(cost)):
        domain = scorer.space.domains[name]
        if isinstance(domain, Listed):
            prices = {float(cost.value({**tidy, name: value})): value for value in domain.values}
            cheaper = sorted(price for price in prices if price < float(cost.value(tidy)))
            _take_first(scorer, tidy, name, np.array([prices[price] for price in cheaper]))
            if name == "projector":
                _take(scorer, tidy, _hung_elsewhere(scorer, tidy, [prices[price] for price in cheaper]))
    free = {n: d for n, d in scorer.space.domains.items() if not isinstance(d, Held)}
    for name in (f"row{row.number}.seats" for row in scorer.space.layout.rows):
        if name in free and (cost is None or name not in decisions_of(cost)):
            values = _values(free[name])
            more = values[values > tidy[name] + LOSS][::-1]
            _take_first(scorer, tidy, name, more)
            if "aisle.side" in free:
                more = more[more > tidy[name] + LOSS]
                _take(scorer, tidy, {name: more, "aisle.side": np.full(len(more), 1.0 - round(tidy["aisle.side"]))})
    steps = {n: d for n, d in free.items() if isinstance(d, Steps)}
    for name, domain in free.items():
        if name.rpartition(".")[2] in THRIFTY:
            values = _values(domain)
            _take_first(scorer, tidy, name, values[values < tidy[name] - LOSS])
    _take(scorer, tidy, _lower_together(scorer, tidy, free))
    if "platform.behind" in free:
        _take_first(scorer, tidy, "platform.behind", _off_the_edge(scorer, tidy, free["platform.behind"]))
    for shallower in _shallower_and_along(tidy, free, scorer.space.layout.length):
        _take(scorer, tidy, shallower)
    _set_edges(scorer, tidy, steps, inward=False)  # so that it keeps the image from no place
    middles = _middles(scorer, tidy)
    if "screen.centre" in steps and "seating.centre" in steps:
        _take_first_of_both(scorer, tidy, ("screen.centre", "seating.centre"), middles["screen.centre"])
    for name in middles:
        if name in free:
            nearer = _nearer(tidy[name], _middles(scorer, tidy)[name], free[name])
            _take_first(scorer, tidy, name, nearer)
            _take(scorer, tidy, _nearer_and_along(scorer, tidy, name, free))
    if "aisle.side" in steps:
        _take_first(scorer, tidy, "aisle.side", _higher_side(scorer, tidy))
    _place_loudspeakers(scorer, tidy)
    _set_edges(scorer, tidy, steps, inward=True)
    for row in scorer.space.layout.rows:
        name = f"row{row.number}.risers"
        if name in steps:
            _take_first(scorer, tidy, name, _risers(scorer, tidy, row, steps[name]))
    for name, domain in steps.items():
        middle = name in middles and abs(tidy[name] - _middles(scorer, tidy)[name]) < domain.step
        if domain.rounded and not middle:  # no figure is rounder than the middle
            _take_first(scorer, tidy, name, _rounder(tidy[name], domain))
    _place_loudspeakers(scorer, tidy)  # image and rows may have moved since
    for name in LOUDSPEAKERS:
        if name in steps:
            _take_first(scorer, tidy, name, _rounder(tidy[name], steps[name]))
    if "projector.z" in free and scorer.space.layout.lens is not None:
        _take_first(scorer, tidy, "projector.z", _out_of_the_way(scorer, tidy, free["projector.z"]))
    if "projector.y" in free and scorer.space.layout.lens is not None:
        _take(scorer, tidy, _along_out_of_the_way(scorer, tidy, free))
    return tidy


def _hung_elsewhere(scorer: Scorer, design: Mapping[str, float], picks: Sequence[float]) -> dict[str, np.ndarray]:
    """Projectors that cost less than the design's, the cheapest first, each with other places for its lens, the nearest
    first: each throws its image from a way of its own."""
    cost, domains = scorer.space.layout.cost, scorer.space.domains
    assert cost is not None
    there = float(cost.value(design))
    cheaper = [pick for pick in picks if float(cost.value({**design, "projector": pick})) < there - LOSS]
    places = {name: domains[name] for name in ("projector.y", "projector.z") if name in domains}
    if not cheaper or not all(isinstance(domain, Steps) for domain in places.values()):
        return {"projector": np.array([])}
    each = [_thinned(_values(domain), design[name]) for name, domain in places.items()]  # type: ignore[arg-type]
    grid = np.stack(np.meshgrid(*each, indexing="ij"), axis=-1).reshape(-1, len(each))
    grid = grid[np.argsort(np.abs(grid - [design[name] for name in places]).sum(axis=1), kind="stable")]
    return {
        "projector": np.repeat(np.array(cheaper), len(grid)),
        **{name: np.tile(grid[:, k], len(cheaper)) for k, name in enumerate(places)},
    }


def _thinned(values: np.ndarray, there: float) -> np.ndarray:
    """At most about LENSES of some places, evenly, the design's own among them."""
    found = values[:: max(1, len(values) // LENSES)]
    return np.append(found, there)


def _lower_together(
    scorer: Scorer, design: Mapping[str, float], free: Mapping[str, Steps | Listed]
) -> dict[str, np.ndarray]:
    """All platforms that are above the floor lower by the same, the lowest first: alone none may be, where their risers are
    to be alike or rows lie level with each other. Nothing where that is one row's alone."""
    names = [f"row{row.number}.platform" for row in scorer.space.layout.rows]
    raised = {name: free.get(name) for name in names if design.get(name, 0.0) > LOSS}
    steps = {name: domain for name, domain in raised.items() if isinstance(domain, Steps)}
    if len(steps) < 2 or len(steps) < len(raised):
        return {names[0]: np.array([])}
    step = max(domain.step for domain in steps.values())
    count = int(min(design[name] for name in steps) / step + HAIR)
    moved, inside = _moved(design, steps, -step * np.arange(count, 0, -1))
    return {name: there[inside] for name, there in moved.items()}


def _off_the_edge(scorer: Scorer, design: Mapping[str, float], domain: Steps | Listed) -> np.ndarray:
    """How far the last platform may go on behind its chairs that suits better than the design's, the best first: to the
    wall, where there is no drop, or so far that chairs keep from the drop, and people at its foot from the wall, by as
    much as can be, up to a landing; of equals the platform that ends sooner."""
    last, whole = scorer.space.layout.rows[-1], {**scorer.space.settled, **design}
    floor = scorer.space.layout.length - float(last.back.value(whole))
    raised = float(last.platform.value(whole)) > LOSS

    def kept(behind: np.ndarray) -> np.ndarray:
        to_the_wall = (behind >= floor - LOSS) | (not raised)
        return np.where(to_the_wall, LANDING, np.minimum(LANDING, np.minimum(behind, floor - behind)))

    there, values = np.array([design["platform.behind"]]), _values(domain)
    better = np.round(kept(values) - kept(there), 9)
    suits = (better > 0.0) | ((better == 0.0) & (values < there - LOSS))
    order = np.lexsort((values, -better))
    return values[order[suits[order]]]


def _set_edges(scorer: Scorer, tidy: dict[str, float], steps: Mapping[str, Steps], *, inward: bool) -> None:
    """The baffle wall as narrow, or as wide, as costs nothing."""
    for name, narrower in EDGES.items():
        if name in steps:
            values, way = _values(steps[name]), narrower if inward else -narrower
            _take_first(scorer, tidy, name, values[way * (values - tidy[name]) > LOSS][:: -int(way)])


def _place_loudspeakers(scorer: Scorer, tidy: dict[str, float]) -> None:
    """Front loudspeakers at their share of the image's width, and at the ears' height, as nearly as costs nothing."""
    for name, nearer in LOUDSPEAKERS.items():
        domain = scorer.space.domains.get(name)
        if domain is not None and not isinstance(domain, Held):
            _take_first(scorer, tidy, name, nearer(scorer, tidy, domain))


def _values(domain: Steps | Listed) -> np.ndarray:
    """All that a decision may be, in order."""
    if isinstance(domain, Steps):
        return domain.step * np.arange(domain.low, domain.high + 1)
    return np.array(sorted(domain.values))


def _out_of_the_way(scorer: Scorer, design: Mapping[str, float], domain: Steps | Listed) -> np.ndarray:
    """Heights of the lens that suit better than the design's, the best first: the lowest at which nobody passes or
    looks through the projector, round ones before others; where there is none, the highest. None where the design's will
    do."""
    whole = {**scorer.space.settled, **design}
    clear, there = clear_height(scorer.space, whole), design["projector.z"]
    if there >= clear - LOSS:
        return np.array([])
    values = _values(domain)
    higher = values[values > there + LOSS]
    enough = higher[higher >= clear - LOSS]
    units = _coarser(domain) if isinstance(domain, Steps) else ()
    round_ = [v for unit in units for v in enough if abs(v / unit - round(v / unit)) < 1e-6]
    return np.array([*round_, *enough, *higher[higher < clear - LOSS][::-1]])


def _along_out_of_the_way(
    scorer: Scorer, design: Mapping[str, float], free: Mapping[str, Steps | Listed]
) -> dict[str, np.ndarray]:
    """Places of the lens along the room, round ones, the nearest first, each with a height at which nobody passes or looks
    through the projector, and it goes into no wall, ceiling or obstruction; none where that is so already."""
    domain, space = free["projector.y"], scorer.space
    whole = {**space.settled, **design}

    def suits(there: Mapping[str, float]) -> bool:
        return hangs_high(space, there) and not into_the_building(space, there)

    found: list[tuple[float, float]] = []
    if whole["projector.y"] < space.layout.length and not suits(whole):
        places = _values(domain)
        places = places[places < space.layout.length]  # a hole in the wall is more work
        if isinstance(domain, Steps):
            unit = _coarser(domain)[0]
            places = places[np.abs(places / unit - np.round(places / unit)) < 1e-6]
        for y in places[np.argsort(np.abs(places - whole["projector.y"]), kind="stable")]:
            moved = {**whole, "projector.y": float(y)}
            higher = _out_of_the_way(scorer, moved, free["projector.z"])[:1] if "projector.z" in free else ()
            found += [
                (float(y), z) for z in (whole["projector.z"], *higher) if suits({**moved, "projector.z": float(z)})
            ]
    return {name: np.array([one[k] for one in found]) for k, name in enumerate(("projector.y", "projector.z"))}


def _middles(scorer: Scorer, design: Mapping[str, float]) -> dict[str, float]:
    """Where the image and the rows belong, from the left wall [m]: in the middle of the room, and of the image."""
    layout = scorer.space.layout
    image = float(layout.image_centre.value({**scorer.space.settled, **design}))
    return {"screen.centre": 0.5 * layout.width, "seating.centre": image}


def _nearer(there: float, middle: float, domain: Steps | Listed) -> np.ndarray:
    """Places that are nearer to a middle than the design's, the nearest first."""
    places, least = _values(domain), 0.5 * domain.step if isinstance(domain, Steps) else LOSS
    nearer = places[np.abs(places - middle) < abs(there - middle) - least]
    return nearer[np.argsort(np.abs(nearer - middle), kind="stable")]


def _nearer_to_spread(scorer: Scorer, design: Mapping[str, float], domain: Steps | Listed) -> np.ndarray:
    """Ways from the left to the right loudspeaker that are nearer to the share of the image that the file has for them."""
    usual = scorer.space.layout.speakers.usual
    assert usual is not None
    whole = 2.0 * float(usual.value({**scorer.space.settled, **design}))
    return _nearer(design["loudspeakers.apart"], whole, domain)


def _nearer_to_ears(scorer: Scorer, design: Mapping[str, float], domain: Steps | Listed) -> np.ndarray:
    """Heights of the loudspeakers' axes that are nearer to the ears of the reference row, where ITU-R BS.775-3 has them."""
    ears = float(scorer.space.layout.reference_row.eye.value({**scorer.space.settled, **design}))
    return _nearer(design["loudspeakers.z"], ears, domain)


LOUDSPEAKERS = {"loudspeakers.apart": _nearer_to_spread, "loudspeakers.z": _nearer_to_ears}
"""Where front loudspeakers belong, by the decision on it."""


def _nearer_and_along(
    scorer: Scorer, design: Mapping[str, float], name: str, free: Mapping[str, Steps | Listed]
) -> dict[str, np.ndarray]:
    """Places nearer to the middle, the nearest first, each with all rows moved along the room by the same way, the
    shortest first: from straight before it an image looks wider."""
    places = _nearer(design[name], _middles(scorer, design)[name], free[name])
    places = places[:: max(1, len(places) // PLACES)]
    rows = {row: free.get(row) for row in (f"row{n}.y" for n in range(1, scorer.space.rows + 1))}
    ways = {row: domain for row, domain in rows.items() if isinstance(domain, Steps)}
    shifts = np.linspace(-ALONG, ALONG, 2 * PLACES + 1)
    shifts = shifts[np.argsort(np.abs(shifts), kind="stable")]
    moved, inside = _moved(design, ways, shifts)
    each = {row: np.tile(there[inside], len(places)) for row, there in moved.items()}
    return {name: np.repeat(places, np.count_nonzero(inside)), **each}


def _moved(
    design: Mapping[str, float], ways: Mapping[str, Steps], shifts: np.ndarray
) -> tuple[dict[str, np.ndarray], np.ndarray]:
    """Places to which several decisions come by the same ``shifts``, each on its grid, and which of the shifts all of their
    ranges allow."""
    counts = {name: np.round((design[name] + shifts) / domain.step) for name, domain in ways.items()}
    inside = np.ones(shifts.shape, dtype=bool)
    for name, domain in ways.items():
        inside &= (counts[name] >= domain.low) & (counts[name] <= domain.high)
    return {name: domain.step * counts[name] for name, domain in ways.items()}, inside


def _shallower_and_along(
    design: Mapping[str, float], free: Mapping[str, Steps | Listed], length: float
) -> Iterator[dict[str, np.ndarray]]:
    """Shallower baffle walls, the shallowest first, with all rows, or all rows and the lens, moved along with the face:
    from there all is seen and heard as before. Nothing where one of them cannot; a lens behind the rear wall, ``length``
    [m] from the front one, stays behind it."""
    name, lens = "baffle.depth", "projector.y"
    rows = {one: free.get(one) for one in design if one.startswith("row") and one.endswith(".y")}
    if name not in free:
        return
    values = _values(free[name])
    depths = values[values < design[name] - LOSS]
    for moving in (rows, {**rows, lens: free[lens]} if lens in free else {}):
        if not moving or not all(isinstance(domain, Steps) for domain in moving.values()):
            continue
        moved, there = _moved(design, moving, depths - design[name])
        if lens in moving:
            there &= (moved[lens] >= length) | (design[lens] < length)
        yield {name: depths[there], **{one: places[there] for one, places in moved.items()}}


def _higher_side(scorer: Scorer, design: Mapping[str, float]) -> np.ndarray:
    """The other side for the aisle, where its steps lie farther from doors and openings; else where there is more height
    over it: under a slope, or a box."""
    layout = scorer.space.layout
    there = round(design["aisle.side"])
    # steps that are yet to come, which a limit might refuse at this side
    risers = {
        name: max(design[name], float(min(domain.high, _fewest(scorer, design, row, domain))))
        for row in layout.rows
        if isinstance(domain := scorer.space.domains.get(name := f"row{row.number}.risers"), Steps)
    }

    def at(side: int) -> dict[str, float]:
        return {**scorer.space.settled, **design, **risers, "aisle.side": float(side)}

    sweeps = (*(sweep for _, sweep in layout.sweeps), *layout.passages)
    ways = [past_steps(layout, row, sweep) for row in layout.rows for sweep in sweeps]
    if layout.platform_behind is not None:
        ways += [past_rear_steps(layout, sweep) for sweep in sweeps]

    def to_doors(side: int) -> float:
        return min([LANDING, *(float(way.value(at(side))) for way in ways)])

    def height(side: int) -> float:
        return min(float(aisle_headroom.form(layout, row).value(at(side))) for row in layout.rows)

    apart = to_doors(1 - there) - to_doors(there)
    uneven = layout.hanging or layout.ceiling.across  # else there is as much height at both sides
    better = apart > LOSS or (apart > -LOSS and bool(uneven) and height(1 - there) > height(there) + LOSS)
    return np.array([1.0 - there] if better else [])


def _coarser(domain: Steps) -> tuple[float, ...]:
    """Coarser grids than a decision's own, the coarsest first."""
    return COARSER["metric" if abs(domain.step * 1000 - round(domain.step * 1000)) < 1e-9 else "inch"]


def _risers(scorer: Scorer, design: Mapping[str, float], row: Row, domain: Steps) -> np.ndarray:
    """Numbers of risers up to a row that suit better than the design's, the best first: the fewest that are climbable,
    then as many as can be."""
    fewest = _fewest(scorer, design, row, domain)
    order = [*range(fewest, domain.high + 1), *range(fewest - 1, domain.low - 1, -1)]
    return np.array(order[: order.index(round(design[f"row{row.number}.risers"]))], dtype=float)


def _fewest(scorer: Scorer, design: Mapping[str, float], row: Row, domain: Steps) -> int:
    """The fewest risers up to a row that are climbable; one more than there may be where so many are not."""
    up = max(0.0, float(rise(scorer.space.layout, row).value({**scorer.space.settled, **design})))
    return max(domain.low, min(domain.high + 1, int(riser_count(rise=up, limit=CLIMBABLE))))


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


def _take_first_of_both(scorer: Scorer, design: dict[str, float], names: tuple[str, str], middle: float) -> None:
    """Move two places together, the first of them as near to a middle as costs nothing."""
    first, second = (scorer.space.domains[name] for name in names)
    nearer = _nearer(design[names[0]], middle, first)
    along = design[names[1]] + nearer - design[names[0]]
    count = np.round(along / second.step)
    there = (np.abs(count * second.step - along) < 1e-9) & (count >= second.low) & (count <= second.high)
    _take(scorer, design, {names[0]: nearer[there], names[1]: count[there] * second.step})


def _take_first(scorer: Scorer, design: dict[str, float], name: str, values: np.ndarray) -> None:
    """Put the first of ``values`` in place that costs nothing, if there is one."""
    _take(scorer, design, {name: values})


def _take(scorer: Scorer, design: dict[str, float], values: Mapping[str, np.ndarray]) -> None:
    """Put the first of several values of one decision, or of a few side by side, in place that costs nothing."""
    count = len(next(iter(values.values())))
    if not count:
        return
    there = {name: np.append(one, design[name]) for name, one in values.items()}  # the design itself comes last
    tried = {**scorer.space.settled, **design, **there}
    touched = scorer.touched(values.keys())  # the others are as they were
    scores = np.broadcast_to(touched.scores(tried), (count + 1,))
    share = touched.weight / scorer.weight if touched.weight else 0.0
    good = (touched.shortfall(tried) <= 0.0) & ((scores - scores[-1]) * share >= -LOSS)
    first = int(np.argmax(np.broadcast_to(good, (count + 1,))))
    if first < count:
        design.update({name: float(one[first]) for name, one in values.items()})
