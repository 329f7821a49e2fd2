"""From a design to the best near it: goals and limits taken for straight lines about it, again and again.

Near a design, what is measured hardly bends. A linear program finds where, within some reach, the lines score most and
the limits still hold; there all is measured anew (sequential linear programming with a trust region, and missed limits at
a price; R. Fletcher, Practical Methods of Optimization, 2nd ed., 1987, chapter 12; from memory). Lengths leave the grid on
the way; the exact scorer puts them back on it. Nothing is proven here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import product

import numpy as np

from optimiser.climb import SEED, Ground, merits_of
from optimiser.compile.relaxation import Relaxation
from optimiser.design import Steps
from optimiser.forms import Asked
from optimiser.slopes import PRICE, Lines, Slopes

REACH, WIDEST, NEAREST = 0.1, 0.5, 2e-3
"""Metres that a length may move at first, at most, and at least while the lines still promise something."""

NARROWER, WIDER, FAR = 0.3, 2.0, 0.99
"""What the reach is multiplied by where the lines promised too much, and where they led as far (as a share) as they might."""

TRIES = 14
"""Linear programs at most on one way up."""

WORTH = 2e-3
"""Points that a stride must promise to be tried."""

LOSS = 0.05
"""Points that heights on their steps may cost before others are tried."""

ROUNDED, EITHER = 200, 0.05
"""In how many ways lengths are put on the grid, and the chance at least with which each goes either way."""

CLOSE = 0.02
"""Points by which the best of them may score less than the lines do before others are looked for."""

NEXT, ASIDE = 3.0, 6
"""Steps that the others may give way when one length after the other is put on the grid; and in how many lengths at once
it is looked at what lies a step aside."""

NO_PART = 1e-6
"""Steps that are none, where whole steps are asked for."""

LOWEST = -5.0
"""The score of a goal, on its line beyond its fade, below which it is not followed."""


def ascended(ground: Ground, start: Mapping[str, float]) -> dict[str, float] | None:
    """The best design found near one that may miss some limits: its lengths are moved, with heights that come in steps;
    its counts and choices are as they were. None where none that keeps all limits was found."""
    walk = _Walk(ground, start)
    walk.up()
    return walk.on_the_grid()


class _Walk:
    """A walk on a ground; ``at``: where it is, in steps of each decision, lengths between them too; ``most``: the merit
    there."""

    def __init__(self, ground: Ground, start: Mapping[str, float]) -> None:
        self._ground, self._start, self.most = ground, ground.point(start), -np.inf
        self.at = self._start.astype(float)
        self._step = ground.steps
        self._length = self._step < 1.0
        self._fine = self._length & np.array([isinstance(d, Steps) and d.rounded for d in ground.domains], dtype=bool)
        with np.errstate(all="ignore"):
            self._slopes = Slopes(ground, Asked(ground.design(self._start)))

    # --- going ----------------------------------------------------------------------------------

    def up(self) -> None:
        """To where the lines promise no more: with heights that come in steps as they are, and where more would come of
        it, with those nearest to where all lengths free lead, or on the other side of that."""
        fine, stepped = np.flatnonzero(self._fine), self._length & ~self._fine
        self.most = self._up(fine)
        if not stepped.any():
            return
        ends = [(self.most, self.at)]
        free = self._up(np.flatnonzero(self._length))
        at, nearest = self.at, np.where(stepped, np.rint(self.at), self.at)
        for heights in (nearest, np.floor(at) + np.ceil(at) - nearest):
            if free > max(merit for merit, _ in ends) + LOSS:
                self.at = np.clip(np.where(stepped, heights, at), self._ground.low, self._ground.high)
                ends.append((self._up(fine), self.at))
        self.most, self.at = max(ends, key=lambda end: end[0])

    def _up(self, moving: np.ndarray) -> float:
        """As far as it goes with some decisions that move: the merit there."""
        reach, here = REACH, self._slopes.lines(self.at, moving)
        for _ in range(TRIES if len(moving) else 0):
            far = np.maximum(1.0, reach / self._step[moving])
            stride, promised = self._stride(here, *self._within(moving, far))
            if promised < here.merit + WORTH:
                break
            there = self.at.copy()
            there[moving] += stride
            lines = self._slopes.lines(there, moving)
            if lines.merit > here.merit:
                as_far = (np.abs(stride) > FAR * far).any()
                self.at, here, reach = there, lines, min(WIDEST, reach * WIDER) if as_far else reach
            elif reach > NEAREST:
                reach *= NARROWER
            else:
                break
        return here.merit

    def _within(self, moving: np.ndarray, far: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """By how many steps decisions may move down and up, ``far`` at most, and no farther than the ground goes."""
        at, ground = self.at[moving], self._ground
        return np.maximum(-far, ground.low[moving] - at), np.minimum(far, ground.high[moving] - at)

    def _stride(self, here: Lines, least: np.ndarray, most: np.ndarray) -> tuple[np.ndarray, float]:
        """How far each decision moves, between two ends, to where the lines score most; and the merit there by the lines."""
        slopes = self._slopes
        first, last = len(least), len(least) + len(slopes.shares)
        changed = np.abs(here.limit_slopes) @ np.maximum(np.abs(least), np.abs(most))
        near = here.limits < changed
        count = last + int(near.sum())
        # columns: how far decisions move, what is scored, and by how much limits are missed
        low, high, cost = np.zeros(count), np.ones(count), np.full(count, PRICE)
        low[:first], high[:first] = least, most
        low[first:last], high[last:] = LOWEST, (changed - here.limits)[near]
        cost[first:last] = -slopes.shares
        goals = np.zeros((len(here.goals), count))
        goals[:, :first] = here.goal_slopes
        goals[np.arange(len(goals)), first + slopes.scores] = -1.0
        limits = np.zeros((count - last, count))
        limits[:, :first], limits[:, last:] = here.limit_slopes[near], np.eye(count - last)
        rows, ends = np.concatenate([goals, limits]), -np.concatenate([here.goals, here.limits[near]])
        program = Relaxation(rows, ends, (low, high))
        lowest = program.lowest({k: float(cost[k]) for k in range(first, count)})
        if lowest is None or not program.solved:
            return np.zeros(first), -np.inf
        return np.clip(program.point(range(first)), least, most), -lowest

    # --- back on the grid -----------------------------------------------------------------------

    def on_the_grid(self) -> dict[str, float] | None:
        """The best design of the grid about where the walk has come to, or the one that it started from."""
        rng, floor = np.random.default_rng(SEED), np.floor(self.at + 1e-9)
        up = rng.random((ROUNDED, len(floor))) < np.clip(self.at - floor, EITHER, 1.0 - EITHER)
        drawn = np.where(self._length, floor + up, floor)
        best, merit = self._best(np.concatenate([self._start[None], np.rint(self.at)[None], drawn]))
        if merit < self.most - CLOSE:
            best, merit = self._best(np.stack([best, self._one_by_one()]))
        if 0.0 <= merit < self.most - CLOSE:
            lengths = rng.permutation(np.flatnonzero(self._fine))[:ASIDE]
            aside = np.array(list(product((0, 1, -1), repeat=len(lengths))), dtype=np.int64)
            about = np.tile(best, (len(aside), 1))
            about[:, lengths] += aside
            best, merit = self._best(about)
        return self._ground.design(best) if merit >= 0.0 else None

    def _one_by_one(self) -> np.ndarray:
        """A point of the grid, as one length after the other is put on it, the nearest first, and the others give way by
        the lines."""
        fine = np.flatnonzero(self._fine)
        at = self.at[fine]
        here = whole_steps(self._slopes.lines(self.at, fine), at)
        low, high = self._within(fine, np.full(len(fine), NEXT))
        stride, left = self._stride(here, low, high)[0], list(range(len(fine)))
        while left:
            there = at + stride
            k = min(left, key=lambda k: abs(there[k] - np.rint(there[k])))
            left.remove(k)
            nearest = np.rint(there[k])
            tried = []
            for place in (nearest, nearest + (1.0 if there[k] > nearest else -1.0)):
                low[k] = high[k] = place - at[k]
                tried.append((*self._stride(here, low, high), place))
                if tried[0][1] > here.merit - CLOSE:
                    break
            stride, _, place = max(tried, key=lambda one: one[1])
            low[k] = high[k] = place - at[k]
        found = self.at.copy()
        found[fine] += stride
        return np.rint(found)

    def _best(self, points: np.ndarray) -> tuple[np.ndarray, float]:
        """The best of several points, once they are on the ground, and its merit."""
        points = np.clip(points, self._ground.low, self._ground.high).astype(np.int64)
        merits = merits_of(self._ground, points)
        best = int(np.argmax(merits))
        return points[best], float(merits[best])


def whole_steps(lines: Lines, at: np.ndarray) -> Lines:
    """The same lines, but where a limit weighs lengths by whole numbers, as two rows a walkway apart, it asks for the next
    whole number: no point of the grid keeps it by less (a Chvatal-Gomory cut)."""
    slopes = np.abs(lines.limit_slopes)
    unit = np.min(np.where(slopes > 0.0, slopes, np.inf), axis=1)
    weights = lines.limit_slopes / unit[:, None]
    whole = (np.abs(weights - np.rint(weights)) < NO_PART).all(axis=1)
    there = lines.limit_slopes @ at
    asked = there - unit * np.ceil((there - lines.limits) / unit - NO_PART)
    return replace(lines, limits=np.where(whole, asked, lines.limits))
