"""Designs drawn outward, many at a time, by the exact scorer alone: good designs found cheaply.

Nothing is proven here. What is found is where a proof then begins: the solver is asked only whether
anything lies beyond, which it denies sooner than it finds the way itself. The steps are drawn from a
fixed seed, so that the same question has the same answer.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from optimiser.design import HAIR, Domain, Held, Listed, Space, Steps
from optimiser.forms import Asked, Form
from optimiser.requirements import Bound
from optimiser.score import TOLERANCE, Scorer, inside, slack_of

SEED = 1

CHILDREN = 24
"""Designs tried from each design that is out farthest, in each round."""

ROUNDS = 120
"""Rounds at most."""

IDLE = 10
"""Rounds without any progress that end it."""

GAIN = 5e-3
"""Points that count as progress on the way to the highest score."""

WIDEST = 64
"""Grid steps of the widest step."""

FIRST, CROWD = 256, 48
"""Designs looked at to begin with, and how many of them are kept, on the way to the highest score."""

FOREMOST, AROUND, NEW = 8, 8, 4
"""Of how many designs the surroundings are looked at in each round, at how many points each, and how many of these
join the crowd."""

STILL = 10
"""Rounds without progress that end it."""

QUICK_GAIN, QUICK_STILL, QUICK_FOREMOST = 2e-2, 6, 4
"""The same, and of how many designs the surroundings are looked at, where the solver goes on from what is found."""

MOST_SHORT = 1e3
"""SI units by which a limit counts as missed at most, where it is missed without end."""

FARTHER = 1e6
"""SI units that set apart what is no design, and what the room does not allow: more than all limits can be missed by."""

Values = Callable[[Mapping[str, np.ndarray]], np.ndarray]
"""What is to be raised, of many designs."""


class Ground:
    """The designs of a space as points: counts of steps, places in lists. ``domains``: those of the
    space, or narrower ones; a decision that is held is no part of a point."""

    def __init__(self, scorer: Scorer, domains: Mapping[str, Domain] | None = None) -> None:
        self.space: Space = scorer.space
        self.scorer = scorer
        domains = scorer.space.domains if domains is None else domains
        box = {name: domain.ends for name, domain in domains.items()}
        # what every design keeps need not be looked at again
        bounds = [b for b in scorer.bounds if any(slack_of(b.limit, end) < 0.0 for end in b.form.interval(box))]
        # what the room itself asks comes first: without it, other measures may not be numbers
        own, others = [b for b in bounds if b.own], [b for b in bounds if not b.own]
        self.bounds = [*own, *others]  # the limits that some design of the space breaks
        self._asked = [([b.form for b in some], *_ends(some)) for some in (own, others)]
        self.sense = [e for e in scorer.space.sense if e.interval(box)[0] < 0.0]
        self._held = {name: domain.value for name, domain in domains.items() if isinstance(domain, Held)}
        self._open = {name: domain for name, domain in domains.items() if not isinstance(domain, Held)}
        ends = [(0, len(d.values) - 1) if isinstance(d, Listed) else (d.low, d.high) for d in self._open.values()]  # type: ignore[union-attr]
        self.low, self.high = (np.array([e[k] for e in ends], dtype=np.int64) for k in (0, 1))

    @property
    def names(self) -> tuple[str, ...]:
        """The decisions that a point has, column by column; ``domains``: theirs."""
        return tuple(self._open)

    @property
    def domains(self) -> tuple[Domain, ...]:
        return tuple(self._open.values())

    @property
    def steps(self) -> np.ndarray:
        """The step of each decision that a point has; of places in lists there is none, which is endless."""
        return np.array([d.step if isinstance(d, Steps) else np.inf for d in self.domains])

    def designs(self, points: np.ndarray) -> dict[str, np.ndarray]:
        """The decisions of many points, one a row; lengths may lie between steps."""
        found: dict[str, np.ndarray] = {**self.space.settled, **self._held}  # type: ignore[dict-item]
        for column, (name, domain) in zip(points.T, self._open.items()):
            if isinstance(domain, Steps):
                found[name] = domain.step * column
            else:
                found[name] = np.array(domain.values)[column.astype(int)]  # type: ignore[union-attr]
        return found

    def point(self, design: Mapping[str, float]) -> np.ndarray:
        """The point of a design, or the nearest there is."""
        place = []
        for name, domain in self._open.items():
            if isinstance(domain, Steps):
                place.append(round(design[name] / domain.step))
            else:
                place.append(int(np.argmin(np.abs(np.array(domain.values) - design[name]))))  # type: ignore[union-attr]
        return np.clip(np.array(place, dtype=np.int64), self.low, self.high)

    def design(self, point: np.ndarray) -> dict[str, float]:
        """The full record of one point's design."""
        found = self.designs(point[None, :])
        return self.space.complete({n: float(np.ravel(v)[0]) for n, v in found.items()})

    def scores(self, designs: Mapping[str, np.ndarray], count: int) -> np.ndarray:
        """Scores of many designs."""
        with np.errstate(all="ignore"):
            values = self.values(self.scorer.goal_forms, designs, count)
            return np.broadcast_to(self.scorer.score_of(values), (count,))

    def sensible(self, designs: Mapping[str, np.ndarray], count: int) -> np.ndarray:
        """Which are designs at all: of others measures, and so scores, may not be numbers."""
        return self._nonsense(designs, count) == 0.0

    def values(self, forms: Sequence[Form], designs: Mapping[str, np.ndarray], count: int) -> np.ndarray:
        """Forms of many designs, in rows."""
        return self.scorer.tape(forms).values(Asked(designs), count)

    def _nonsense(self, designs: Mapping[str, np.ndarray], count: int) -> np.ndarray:
        """By how much designs are none at all (SI units added up)."""
        short = np.zeros(count)
        for expression in self.sense:
            short += np.maximum(0.0, -HAIR - np.asarray(expression.value(designs)))
        return short

    def hold(self, designs: Mapping[str, np.ndarray], count: int) -> np.ndarray:
        """Which designs keep every limit, and are designs at all."""
        return self.short(designs, count) == 0.0

    def short(self, designs: Mapping[str, np.ndarray], count: int) -> np.ndarray:
        """By how much designs miss the limits in all (SI units added up), 0 where every limit holds. What is
        no design at all is farther off than what misses the room's own limits, and that than any other."""
        with np.errstate(all="ignore"):
            short = self._nonsense(designs, count)
            for forms, low, high in self._asked:
                short[short > 0.0] += FARTHER
                good = np.flatnonzero(short == 0.0)
                if not len(good):
                    break
                some = {n: v[good] if np.ndim(v) else v for n, v in designs.items()}
                slack = inside(low, high, self.values(forms, some, len(good)))
                short[good] += np.where(slack < -TOLERANCE, np.minimum(-slack, MOST_SHORT), 0.0).sum(axis=0)
        return short

    def spread(self, rng: np.random.Generator, count: int) -> np.ndarray:
        """Points from all over the space, its middle among them."""
        found = rng.integers(self.low, self.high + 1, size=(count, len(self.low)))
        found[0] = (self.low + self.high) // 2
        return found


def _ends(bounds: Sequence[Bound]) -> tuple[np.ndarray, np.ndarray]:
    """Between what limits keep their values, as two columns."""
    low = [-np.inf if b.limit.at_least is None else b.limit.at_least for b in bounds]
    high = [np.inf if b.limit.at_most is None else b.limit.at_most for b in bounds]
    return np.array(low)[:, None], np.array(high)[:, None]


def near(space: Space, design: Mapping[str, float], reach: float) -> dict[str, Domain]:
    """The domains of a space, of lengths what lies within ``reach`` [m] of a design."""
    found: dict[str, Domain] = {}
    for name, domain in space.domains.items():
        if isinstance(domain, Steps) and domain.rounded:
            at = min(max(round(design[name] / domain.step), domain.low), domain.high)
            steps = math.ceil(reach / domain.step)
            domain = replace(domain, low=max(domain.low, at - steps), high=min(domain.high, at + steps))
        found[name] = domain
    return found


def outermost(
    ground: Ground,
    floor: float,
    starts: Sequence[Mapping[str, float]],
    raised: Values,
    *,
    children: int = CHILDREN,
    rounds: int = ROUNDS,
    close: np.ndarray | float = 1e-9,
) -> list[dict[str, float]] | None:
    """For each row of what ``raised`` gives of many designs (rows of values, to be as great as can be), the
    design found to have most of it, of those that keep all limits and score at least ``floor``; None
    where no start does. ``close``: a gain that counts as none."""
    rng = np.random.default_rng(SEED)
    begun, values = _good(ground, floor, np.array([ground.point(d) for d in starts]), raised)
    if not len(begun):
        return None
    best = np.argmax(values, axis=1)
    tops, top_values = begun[best], values[np.arange(len(values)), best]
    idle = 0
    for _ in range(rounds if len(ground.low) else 0):
        tried = _children(ground, rng, tops, np.concatenate([begun, tops]), children)
        points, values = _good(ground, floor, tried, raised)
        if len(points):
            best = np.argmax(values, axis=1)
            there = values[np.arange(len(values)), best]
            ahead = there > top_values
            idle = 0 if np.any(there > top_values + close) else idle + 1
            tops[ahead], top_values[ahead] = points[best[ahead]], there[ahead]
        else:
            idle += 1
        if idle >= IDLE:
            break
    return [ground.design(top) for top in tops]


def highest(
    ground: Ground,
    start: Mapping[str, float] | None = None,
    *,
    everywhere: bool = False,
    quick: bool = False,
    seed: int = SEED,
) -> dict[str, float] | None:
    """A design that keeps all limits and scores as much as can be found, None where none was found: begun from one
    that may miss some of them, and (``everywhere``, or without a ``start``) from many all over the space.
    ``quick``: the last points are left to be found otherwise; ``seed``: another one, another crowd.

    A crowd of designs: each is now and then moved by differences between others, and gives way to what is better;
    steps about the foremost take the places of the last.
    """
    rng = np.random.default_rng(seed)
    points = np.empty((0, len(ground.low)), dtype=np.int64)
    if start is not None:
        point = ground.point(start)[None, :]
        points = np.concatenate([point, _children(ground, rng, point, point, 0 if everywhere else FIRST)])
    if start is None or everywhere:
        points = np.concatenate([points, ground.spread(rng, FIRST)])
    points, merits = _foremost(points, merits_of(ground, points), CROWD)
    gain, still, foremost = (QUICK_GAIN, QUICK_STILL, QUICK_FOREMOST) if quick else (GAIN, STILL, FOREMOST)
    idle = 0
    for _ in range(ROUNDS if len(ground.low) and len(points) > 1 else 0):
        before, size = merits[0], len(points)
        moved = _moved(ground, rng, points)
        about = _children(ground, rng, points[:foremost], points[:foremost], AROUND)
        found = merits_of(ground, np.concatenate([moved, about]))
        better = found[:size] >= merits
        points, merits = np.where(better[:, None], moved, points), np.where(better, found[:size], merits)
        ahead, gains = _foremost(about, found[size:], NEW)
        last = np.argsort(merits, kind="stable")[: len(ahead)]
        worse = [k for k, at in enumerate(last) if gains[k] > merits[at] and not (points == ahead[k]).all(axis=1).any()]
        points[last[worse]], merits[last[worse]] = ahead[worse], gains[worse]
        points, merits = _foremost(points, merits, size)
        idle = 0 if merits[0] > before + gain else idle + 1
        if idle >= still:
            break
    return ground.design(points[0]) if merits[0] >= 0.0 else None


def _foremost(points: np.ndarray, merits: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    best = np.argsort(-merits, kind="stable")[:count]
    return points[best], merits[best]


def _moved(ground: Ground, rng: np.random.Generator, points: np.ndarray) -> np.ndarray:
    """Each of a crowd (the best first) moved some way towards one of the foremost and along the difference of two
    others, in some of its decisions: differential evolution, "current to p-best"."""
    count, size = points.shape
    foremost = points[rng.integers(max(2, count // 6), size=count)]
    one, other = points[rng.integers(count, size=(2, count))]
    share = rng.choice([0.3, 0.6, 0.9], size=(count, 1))
    aim = points + share * (foremost - points) + share * (one - other)
    changed = rng.random((count, size)) < rng.choice([0.2, 0.5, 0.9], size=(count, 1))
    changed[np.arange(count), rng.integers(size, size=count)] = True
    aim = np.where(changed, np.rint(aim + rng.random((count, size)) - 0.5), points)
    return np.clip(aim, ground.low, ground.high).astype(np.int64)


def merits_of(ground: Ground, points: np.ndarray) -> np.ndarray:
    """The score of designs that keep all limits; below 0, by how much others miss them."""
    short = ground.short(ground.designs(points), len(points))
    good = np.flatnonzero(short == 0.0)
    merits = -short
    if len(good):
        merits[good] = ground.scores(ground.designs(points[good]), len(good))
    return merits


def _good(ground: Ground, floor: float, points: np.ndarray, raised: Values) -> tuple[np.ndarray, np.ndarray]:
    """The points that score enough and keep all limits, with what is to be raised, one row each."""
    points = points[ground.sensible(ground.designs(points), len(points))]
    points = points[ground.scores(ground.designs(points), len(points)) >= floor]
    if len(points):
        points = points[ground.hold(ground.designs(points), len(points))]
    if not len(points):
        return points, np.empty((0, 0))
    return points, raised(ground.designs(points))


def _children(
    ground: Ground, rng: np.random.Generator, tops: np.ndarray, known: np.ndarray, children: int
) -> np.ndarray:
    """Points about the outermost ones, each a third: a few decisions some way aside; a few a step aside, which
    is how the last steps are found; and along the way from one of the points known to another, which is
    where the limits and the score leave way."""
    count, size = tops.shape
    many = count * children
    few = rng.random((many, size)) < rng.choice([1.0, 2.0, 3.0, 5.0], (many, 1)) / max(1, size)
    wide = np.rint(WIDEST ** rng.random((many, 1)) * rng.standard_normal((many, size)))
    near = np.rint(1.2 * rng.standard_normal((many, size)))
    one, other = rng.integers(len(known), size=(2, many))
    share = rng.choice([0.25, 0.5, 1.0, 1.5], (many, 1))
    along = np.rint(share * (known[one] - known[other]) + 0.6 * rng.standard_normal((many, size)))
    kind = rng.integers(3, size=(many, 1))
    step = np.where(kind == 0, few * wide, np.where(kind == 1, few * near, along)).astype(np.int64)
    return np.unique(np.clip(np.repeat(tops, children, axis=0) + step, ground.low, ground.high), axis=0)
