"""From a design to the best near it: goals and limits taken for straight lines about it, again and again.

Near a design, what is measured hardly bends. A linear program finds where, within some reach, the lines score most and
the limits still hold; there all is measured anew (sequential linear programming with a trust region, and missed limits at
a price; R. Fletcher, Practical Methods of Optimization, 2nd ed., 1987, chapter 12; from memory). Lengths leave the grid on
the way; the exact scorer puts them back on it. Nothing is proven here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from optimiser.climb import SEED, Ground, merits_of
from optimiser.compile.relaxation import Relaxation
from optimiser.design import HAIR, Steps
from optimiser.forms import (
    LATCH,
    Asked,
    Capped,
    Cases,
    Form,
    Gate,
    Greatest,
    Least,
    Linked,
    Unless,
    affine,
    decisions_in,
    looks_up,
)
from optimiser.tape import Tape

REACH, WIDEST, NEAREST = 0.1, 0.5, 2e-3
"""Metres that a length may move at first, at most, and at least while the lines still promise something."""

NARROWER, WIDER, FAR = 0.3, 2.0, 0.99
"""What the reach is multiplied by where the lines promised too much, and where they led as far (as a share) as they might."""

PRICE = 10.0
"""Points that it costs to miss a limit by what a step of every decision together could mend."""

HOPELESS = 1e9
"""Points that it costs to miss one that nothing which moves can mend."""

TRIES = 14
"""Linear programs at most on one way up."""

WORTH = 2e-3
"""Points that a stride must promise to be tried."""

LOSS = 0.05
"""Points that heights on their steps may cost before others are tried."""

TABLED = 0.02
"""Metres to either side at which what is looked up in a table is read for its slope."""

ROUNDED, EITHER = 200, 0.05
"""In how many ways lengths are put on the grid, and the chance at least with which each goes either way."""

CLOSE = 0.02
"""Points by which the best of them may score less than the lines do before others are looked for."""

NEXT, ASIDE = 3.0, 6
"""Steps that the others may give way when one length after the other is put on the grid; and in how many lengths at once
it is looked at what lies a step aside."""

LOWEST = -5.0
"""The score of a goal, on its line beyond its fade, below which it is not followed."""


def ascended(ground: Ground, start: Mapping[str, float]) -> dict[str, float] | None:
    """The best design found near one that may miss some limits: its lengths are moved, with heights that come in steps;
    its counts and choices are as they were. None where none that keeps all limits was found."""
    walk = _Walk(ground, start)
    walk.up()
    return walk.on_the_grid(ground.point(start))


def pieces(form: Form, up: bool, design: Mapping[str, float]) -> Iterator[Form]:
    """Forms that must all be great (``up``), or all be small, for a form to be so near a design; of several ways to that,
    the one which the design takes. Corners of the form, where one of its parts takes over from another, lie between them.
    A gate among them is to be open for a form to be great; else it is to stay as it is."""
    if isinstance(form, Capped):
        yield from pieces(form.inner, up, design)
    elif isinstance(form, Unless):
        absent = Gate(form.absent)
        yield from (absent,) if _is_open(absent, design) else pieces(form.inner, up, design)
    elif isinstance(form, Cases):
        for number, case in form.cases:
            if abs(form.selector.value(design) - number) < 0.5:
                yield from pieces(case, up, design)
    elif isinstance(form, (Least, Greatest)):
        parts = form.parts
        if isinstance(form, Least) != up:
            parts = ((max if up else min)(parts, key=lambda part: float(part.value(design))),)
        for part in parts:
            yield from pieces(part, up, design)
    elif isinstance(form, Linked) and isinstance(form.inner, (Least, Greatest)):
        for piece in pieces(form.inner, up == form.link.increasing, design):
            yield Linked(piece, form.link)
    else:
        yield form


def _is_open(gate: Gate, design: Mapping[str, float]) -> bool:
    return bool(gate.expression.value(design) >= -LATCH)


@dataclass(frozen=True)
class _Lines:
    """Goals and limits about a point, in rows: what each goal scores there by one of its pieces, and by how much each
    piece of a limit is kept, in terms of its steepness; and their slopes by each decision that moves. ``merit``: the score
    less the price of what is missed."""

    goals: np.ndarray
    goal_slopes: np.ndarray
    limits: np.ndarray
    limit_slopes: np.ndarray
    merit: float


class _Asks:
    """What goals and limits ask near a design: ``forms``, and what each of them should come to."""

    def __init__(self, ground: Ground, design: Mapping[str, float]) -> None:
        self.forms: list[Form] = []
        self._kept: list[tuple[int, float, float]] = []  # a form, times a sign, is at least so much
        self._scored: list[tuple[int, float, float, float, int]] = []  # the same within a fade, for one of the scores
        for bound in ground.bounds:
            for end, sign in ((bound.limit.at_least, 1.0), (bound.limit.at_most, -1.0)):
                for piece in () if end is None else pieces(bound.form, sign > 0.0, design):
                    if isinstance(piece, Gate):
                        self._stay(piece, sign > 0.0 or _is_open(piece, design))
                    else:
                        self._kept.append((self._numbered(piece), sign, sign * end))
        self._kept += [(self._numbered(affine(expression)), 1.0, -HAIR) for expression in ground.sense]
        shares: list[float] = []
        targets = ground.scorer.targets
        whole = sum(target.goal.weight for target in targets)
        for target in targets:
            goal, count = target.goal, 1 if target.worst else len(target.forms)
            for k, form in enumerate(target.forms):
                score = len(shares) + (0 if target.worst else k)
                for end, sign in ((goal.low, 1.0), (goal.high, -1.0)):
                    for piece in () if end is None else pieces(form, sign > 0.0, design):
                        if isinstance(piece, Gate) and (_is_open(piece, design) or sign < 0.0):
                            self._stay(piece, _is_open(piece, design))
                        else:
                            self._scored.append((self._numbered(piece), sign, sign * end, goal.fade, score))
            shares += [100.0 * goal.weight / whole / count] * count
        self.shares = np.array(shares)  # points that each score brings
        kept, scored = np.array(self._kept).reshape(-1, 3), np.array(self._scored).reshape(-1, 5)
        self.limits, self.limit_signs, self.least = kept[:, 0].astype(int), kept[:, 1], kept[:, 2]
        self.goals, self.scores = scored[:, 0].astype(int), scored[:, 4].astype(int)
        self.goal_signs, self.ends, self.fades = scored[:, 1:4].T

    def _numbered(self, form: Form) -> int:
        self.forms.append(form)
        return len(self.forms) - 1

    def _stay(self, gate: Gate, open_: bool) -> None:
        """Ask that a gate be open, or that it be shut."""
        self._kept.append((self._numbered(affine(gate.expression)), 1.0 if open_ else -1.0, -LATCH if open_ else LATCH))


class _Walk:
    """A walk on a ground; ``at``: where it is, in steps of each decision, lengths between them too; ``most``: the merit
    there."""

    def __init__(self, ground: Ground, start: Mapping[str, float]) -> None:
        self._ground, self.at, self.most = ground, ground.point(start).astype(float), -np.inf
        self._step = np.array([d.step if isinstance(d, Steps) else np.inf for d in ground.domains])
        self._length = self._step < 1.0
        self._fine = self._length & np.array([isinstance(d, Steps) and d.rounded for d in ground.domains], dtype=bool)
        with np.errstate(all="ignore"):
            self._asks = _Asks(ground, Asked(ground.design(ground.point(start))))
        tabled = np.array([looks_up(form) for form in self._asks.forms], dtype=bool)
        self._plain, self._tabled = np.flatnonzero(~tabled), np.flatnonzero(tabled)
        self._tapes = [Tape([self._asks.forms[k] for k in some]) for some in (self._plain, self._tabled)]
        looked = frozenset().union(*(decisions_in(self._asks.forms[k]) for k in self._tabled))
        self._looked = np.array([name in looked for name in ground.names], dtype=bool)

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
        reach, here = REACH, self._lines(self.at, moving)
        for _ in range(TRIES if len(moving) else 0):
            far = np.maximum(1.0, reach / self._step[moving])
            stride, promised = self._stride(here, *self._within(moving, far))
            if promised < here.merit + WORTH:
                break
            there = self.at.copy()
            there[moving] += stride
            lines = self._lines(there, moving)
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

    def _stride(self, here: _Lines, least: np.ndarray, most: np.ndarray) -> tuple[np.ndarray, float]:
        """How far each decision moves, between two ends, to where the lines score most; and the merit there by the lines."""
        asks = self._asks
        first, last = len(least), len(least) + len(asks.shares)
        changed = np.abs(here.limit_slopes) @ np.maximum(np.abs(least), np.abs(most))
        near = here.limits < changed
        count = last + int(near.sum())
        # columns: how far decisions move, what is scored, and by how much limits are missed
        low, high, cost = np.zeros(count), np.ones(count), np.full(count, PRICE)
        low[:first], high[:first] = least, most
        low[first:last], high[last:] = LOWEST, (changed - here.limits)[near]
        cost[first:last] = -asks.shares
        goals = np.zeros((len(here.goals), count))
        goals[:, :first] = here.goal_slopes
        goals[np.arange(len(goals)), first + asks.scores] = -1.0
        limits = np.zeros((count - last, count))
        limits[:, :first], limits[:, last:] = here.limit_slopes[near], np.eye(count - last)
        rows, ends = np.concatenate([goals, limits]), -np.concatenate([here.goals, here.limits[near]])
        program = Relaxation(rows, ends, (low, high))
        lowest = program.lowest({k: float(cost[k]) for k in range(first, count)})
        if lowest is None or not program.solved:
            return np.zeros(first), -np.inf
        return np.clip(program.point(range(first)), least, most), -lowest

    # --- lines ----------------------------------------------------------------------------------

    def _lines(self, at: np.ndarray, moving: np.ndarray) -> _Lines:
        asks = self._asks
        values, slopes = self._measured(at, moving)
        limits = asks.limit_signs * values[asks.limits] - asks.least
        limit_slopes = asks.limit_signs[:, None] * slopes[asks.limits]
        size = np.abs(limit_slopes).sum(axis=1)
        price = HOPELESS * np.count_nonzero((limits == -np.inf) | ((size == 0.0) & (limits < -LATCH)))
        # what is no number, or has no end, as where there is nothing to measure, asks for nothing
        asked = np.isfinite(limits) & np.isfinite(size) & (size > 0.0)
        limits, limit_slopes = limits[asked] / size[asked], limit_slopes[asked] / size[asked, None]
        price += PRICE * float(np.maximum(0.0, -limits).sum())
        goals = 1.0 + (asks.goal_signs * values[asks.goals] - asks.ends) / asks.fades
        goals = np.where(np.isnan(goals), 1.0, goals)
        goal_slopes = (asks.goal_signs / asks.fades)[:, None] * slopes[asks.goals]
        scores = np.ones(len(asks.shares))
        np.minimum.at(scores, asks.scores, goals)
        # beyond the fade nothing is lost any more, or won
        flat = (scores[asks.scores] <= 0.0) | ~np.isfinite(goals) | ~np.isfinite(goal_slopes).all(axis=1)
        goals, goal_slopes = np.where(flat, np.clip(goals, 0.0, 1.0), goals), np.where(flat[:, None], 0.0, goal_slopes)
        merit = float(np.maximum(0.0, scores) @ asks.shares) - price
        return _Lines(goals, goal_slopes, limits, limit_slopes, merit)

    def _measured(self, at: np.ndarray, moving: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Values of all forms, and their slopes by each decision that moves, in steps."""
        values = np.empty(len(self._asks.forms))
        slopes = np.zeros((len(values), len(moving)))
        values[self._plain], slopes[self._plain] = self._read(self._tapes[0], at, moving, np.ones(len(moving)))
        if len(self._tabled):
            columns = np.flatnonzero(self._looked[moving])
            wide = np.maximum(1.0, np.round(TABLED / self._step[moving[columns]]))
            values[self._tabled], found = self._read(self._tapes[1], at, moving[columns], wide)
            slopes[np.ix_(self._tabled, columns)] = found
        return values, slopes

    def _read(self, tape: Tape, at: np.ndarray, moving: np.ndarray, wide: np.ndarray) -> Sequence[np.ndarray]:
        """Values of the forms of a tape at a point, and slopes from so many steps to either side of it."""
        count, ground = len(moving), self._ground
        points = np.tile(at, (1 + 2 * count, 1))
        above, below = np.arange(1, 1 + count), np.arange(1 + count, 1 + 2 * count)
        points[above, moving] = np.minimum(at[moving] + wide, ground.high[moving])
        points[below, moving] = np.maximum(at[moving] - wide, ground.low[moving])
        apart = points[above, moving] - points[below, moving]
        designs = Asked(ground.designs(points))
        with np.errstate(all="ignore"):
            found = tape.values(designs, len(points))
            return found[:, 0], (found[:, above] - found[:, below]) / apart

    # --- back on the grid -----------------------------------------------------------------------

    def on_the_grid(self, start: np.ndarray) -> dict[str, float] | None:
        """The best design of the grid about where the walk has come to, or the one it ``start``ed from."""
        rng, floor = np.random.default_rng(SEED), np.floor(self.at + 1e-9)
        up = rng.random((ROUNDED, len(floor))) < np.clip(self.at - floor, EITHER, 1.0 - EITHER)
        drawn = np.where(self._length, floor + up, floor)
        best, merit = self._best(np.concatenate([start[None], np.rint(self.at)[None], drawn]))
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
        """A point of the grid, as one length after the other is put on it, and the others give way by the lines."""
        fine = np.flatnonzero(self._fine)
        here, at = self._lines(self.at, fine), self.at[fine]
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
