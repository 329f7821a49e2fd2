"""The proof that a model has no solution, box by box.

A box is narrowed by interval arithmetic, then by linear programs: how small, and how great, each variable that decides
can be where all rows hold. The narrower the box, the nearer the planes about its products. What is left is halved.

The solver for whole numbers learns from what it tried, and forgets nothing; but what it knows of products it knows of
their whole range. Where many rows and their heights hang together, boxes are empty long before it is done.
"""

from __future__ import annotations

import math

import numpy as np

from optimiser.compile import Compiled
from optimiser.compile.frame import WHOLE, Box, Frame
from optimiser.compile.relaxation import Relaxation
from optimiser.design import Domain
from optimiser.errors import InternalError
from optimiser.trails import BRIEFLY, Alike, Round, Trail, followed, halves_of

LARGEST = 400
"""Variables of the largest model whose rows are written out as whole matrices."""

ORDINARY = 150
"""Variables of a model up to which boxes take what they ordinarily do."""

AGAIN, ROUNDS = 0.15, 2
"""Share of its range that some variable must lose for a box to be narrowed by linear programs once more; and how often
at most."""

NEAR = 0.15
"""Share of its range within which a variable was seen near its end: that end is then not asked for."""

GAIN = 0.02
"""Share of its range by which an end must come nearer for it to be worth telling for certain by how much."""

OFF = 1e-4
"""Share of its range by which a product may be missed."""

FRACTION = 1e-3
"""By how much a variable of two values lies between them where it is undecided."""

LOOKED = 8
"""Variables of two values, and others, of which it is looked at what halving them would bring."""

IDLE = 4
"""After how many of them in a row that bring no more than the best so far no other is looked at."""

INWARD = 0.2
"""Share of a range that each part of it has at least."""

SMALLEST = 1e-3
"""Share of the score by which a half counts as worse at least: so that of two poor halves both count."""

EMPTY, FOLLOWED = 0.25, 0.04
"""What a box that is empty at once takes, in terms of one that is narrowed and halved; and one of a trail that is followed."""

Part = tuple[Box, Trail]


class Boxes:
    """The parts of a model's range that may hold a solution; ``count``: how many were looked into, ``work``: what that
    took, in terms of boxes that are narrowed and halved; ``trail``: how all that was shown, if it is ``noted``."""

    def __init__(self, compiled: Compiled, *, noted: bool = False) -> None:
        self.frame = frame = Frame(compiled)
        self._score = {v.index: -float(w) for v, w in zip(compiled.scores, compiled.weights)}
        self._full = float(compiled.full)
        self._keys, self._every = frame.decisive, list(range(frame.count))
        self.trail, self._noted = Trail(), noted
        self._open: list[Part] = [(frame.box, self.trail)]
        self._held: list[Part] = []
        self._asked = -math.inf
        self._width = np.maximum(1.0, frame.box[1] - frame.box[0])
        self._first: Box = frame.box
        self._point = 0.5 * (frame.box[0] + frame.box[1])
        self.count, self.work, self._followed = 0, 0.0, False
        self._bound = compiled.bound_points

    def ask(self, least: float) -> None:
        """From now on, look for solutions whose objective comes to so much: no less than was asked before, by which boxes
        were emptied. What was held is looked into again where it is more."""
        if least < self._asked:
            raise InternalError("boxes that are emptied are asked for less")
        if least > self._asked:
            self._open, self._held, self._asked = [*self._held, *self._open], [], least
        self.frame.ask({k: -cost for k, cost in self._score.items()}, least)

    def follow(self, trail: Trail, frame: Frame) -> None:
        """Go through what showed that a model much like this one has no solution; what it leaves stays to be looked into."""
        left = followed(trail, Alike(frame, self.frame), self.frame, self.frame.box)
        self.work += FOLLOWED * trail.boxes
        self._open, self._followed = [(box, Trail()) for box in left], True
        if left:
            low, high = self._around()
            self._width = np.maximum(1.0, high - low)

    @property
    def cost(self) -> float:
        """What each box takes in terms of an ordinary one."""
        return max(1.0, self.frame.count / ORDINARY)

    @property
    def more(self) -> bool:
        """Whether there are boxes that were not looked into."""
        return bool(self._open)

    @property
    def waiting(self) -> int:
        """How many they are."""
        return len(self._open)

    @property
    def left(self) -> bool:
        """Whether there may still be a solution."""
        return bool(self._open or self._held)

    @property
    def domains(self) -> dict[str, Domain]:
        """The decisions' domains, as narrowed before anything was halved; of what a trail left, as it lies together."""
        return self.hull if self._followed and self.left else self.frame.domains(self._first)

    @property
    def hull(self) -> dict[str, Domain]:
        """The decisions' domains, as narrow as what is left lies together."""
        return self.frame.domains(self._around())

    def _around(self) -> Box:
        left = [box for box, _ in (*self._open, *self._held)]
        return np.min([low for low, _ in left], axis=0), np.max([high for _, high in left], axis=0)

    @property
    def design(self) -> dict[str, float]:
        """The decisions where the last box that was not empty would score best, if all that is relaxed held."""
        return self.frame.design(self._point)

    def look(self, *, oldest: bool = False) -> dict[str, Domain] | None:
        """Look into one box more: the last found, or the ``oldest``. Domains in which nothing tells any more why there
        should be no solution, where that is all it came to; they may hold one until denied."""
        self.count += 1
        whole, trail = self._open.pop(0 if oldest else -1)
        found = self._narrowed(whole, trail)
        if found is None:
            return None
        box, relaxation, self._point = found
        if self.count == 1 and not self._followed:
            self._first, self._width = box, np.maximum(1.0, box[1] - box[0])
        halves = self._halved(box, trail, relaxation, self._point)
        if halves is None:
            self._held.append((box, trail))
            return self.frame.domains(box)
        self._open += halves
        return None

    def deny(self) -> None:
        """Take away the box of which look() last told: there is no solution in it."""
        self._held.pop()

    def reopen(self) -> None:
        """Have the box of which look() last told looked into again: more is asked for from now on."""
        self._open.append(self._held.pop())

    @property
    def most(self) -> float:
        """Points that no design scores more than in what is left, for certain."""
        most = self._asked
        for box, _ in (*self._open, *self._held):
            narrowed = self.frame.narrowed(box)
            relaxation = None if narrowed is None else Relaxation(*self.frame.planes(narrowed), narrowed)
            if relaxation is not None and relaxation.lowest(self._score) is not None:
                most = max(most, -relaxation.surely() if relaxation.solved else math.inf)
        return self._bound(min(most, self._full))

    # --- narrowing ------------------------------------------------------------------------------

    def _narrowed(self, box: Box, trail: Trail) -> tuple[Box, Relaxation, np.ndarray] | None:
        """What is left of a box, a linear program over it, and where that would score best; None where nothing is."""
        self.work += EMPTY
        narrowed = self.frame.narrowed(box)
        for again in range(ROUNDS):
            if narrowed is None:
                return None
            box = narrowed
            relaxation = Relaxation(*self.frame.planes(box), box)
            now = Round()
            if self._noted:
                trail.rounds.append(now)
            if relaxation.lowest(self._score) is None:
                now.empty(relaxation.shown)
                return None
            self.work += 0.0 if again else 1.0 - EMPTY
            point = relaxation.point(self._every) if relaxation.solved else 0.5 * (box[0] + box[1])
            ends = self._ends(box, relaxation, point, now)
            if ends is None:
                return None
            lost = 1.0 - (ends[1] - ends[0]) / np.maximum(1.0, box[1] - box[0])
            narrowed = self.frame.narrowed(ends)
            if np.where(box[1] > box[0], lost, 0.0)[self._keys].max(initial=0.0) < AGAIN:
                break
        return None if narrowed is None else (narrowed, relaxation, np.clip(point, *narrowed))

    def _ends(self, box: Box, relaxation: Relaxation, point: np.ndarray, now: Round) -> Box | None:
        """A box with the ends of what decides as near as linear programs tell; None where nothing is left."""
        keys = self._keys
        width = (box[1] - box[0])[keys]
        known = [self._near(box, point[keys], side) | (width < 1.0) for side in (0, 1)]
        moved: list[tuple[int, float]] = []
        shown: list[np.ndarray] = []  # by which multipliers
        for side, sense in ((0, 1.0), (1, -1.0)):
            for at, k in enumerate(keys):
                if known[side][at]:
                    continue
                lowest = relaxation.lowest({k: sense})
                if lowest is None:
                    now.empty(relaxation.shown)
                    return None
                if not relaxation.solved:
                    continue
                if abs(lowest * sense - box[side][k]) > GAIN * width[at]:
                    moved.append((k, sense))
                    shown.append(relaxation.multipliers())
                there = relaxation.point(keys)
                for other in (0, 1):
                    known[other] |= self._near(box, there, other)
        low, high = box[0].copy(), box[1].copy()
        for (k, sense), least, multipliers in zip(moved, relaxation.certain(moved, shown), shown):
            if sense > 0.0:
                low[k] = max(low[k], math.ceil(least - WHOLE))
            else:
                high[k] = min(high[k], math.floor(WHOLE - least))
            if self._noted:
                now.end(k, sense, relaxation.of_all(multipliers))
        return None if (low > high).any() else (low, high)

    def _near(self, box: Box, point: np.ndarray, side: int) -> np.ndarray:
        """Which variables that decide lie near an end of a box."""
        return np.abs(point - box[side][self._keys]) <= NEAR * (box[1] - box[0])[self._keys]

    # --- halving --------------------------------------------------------------------------------

    def _halved(self, box: Box, trail: Trail, relaxation: Relaxation, point: np.ndarray) -> list[Part] | None:
        """Two parts of a box, apart where that brings most, the more hopeful last; one, where the other is empty;
        None where no variable is seen by which it should be halved."""
        best, found, narrower, idle = -1.0, None, False, 0
        for k in self._candidates(box, point):
            if box[1][k] - box[0][k] < 1.0 or idle >= IDLE:
                continue
            at, parts = self._place(box, point, k), (Trail(), Trail())
            halves = [self._seen(half, relaxation, part) for half, part in zip(halves_of(box, k, at), parts)]
            left = [half for half in halves if half is not None]
            if len(left) == 2:
                brought = math.prod(max(SMALLEST * self._full, self._full - most) for _, most in left)
                idle += 1
                if brought > best:
                    best, found, idle = brought, (k, at, left, parts), 0
                continue
            trail.apart(k, at, parts)
            if not left:
                return []
            there = int(halves[0] is None)
            box, trail, narrower = left[0][0], parts[there], True
        if found is None:
            return [(box, trail)] if narrower else None
        k, at, left, parts = found
        trail.apart(k, at, parts)
        both = [
            ((np.maximum(low, box[0]), np.minimum(high, box[1])), own, most)
            for ((low, high), most), own in zip(left, parts)
        ]
        both.sort(key=lambda part: part[2])
        return [((low, high), own) for (low, high), own, _ in both if (low <= high).all()]

    def _seen(self, box: Box, relaxation: Relaxation, trail: Trail) -> tuple[Box, float] | None:
        """A part of the box of a linear program, narrowed, and what the score can be there at most, as far as can be told;
        None where it is empty. ``trail``: the part's own, told what shows that, if a linear program does."""
        narrowed = self.frame.narrowed(box, BRIEFLY)
        if narrowed is None:
            return None
        relaxation.within(narrowed)
        lowest = relaxation.lowest(self._score)
        if lowest is None:
            trail.outright = relaxation.shown
            return None
        return narrowed, -lowest

    def _candidates(self, box: Box, point: np.ndarray) -> list[int]:
        """The variables by which a box may be halved, the most promising first."""
        low, high = box
        undecided = np.where(self.frame.whether & (high > low), np.minimum(point - low, high - point), 0.0)
        found = [int(k) for k in np.argsort(-undecided, kind="stable")[:LOOKED] if undecided[k] > FRACTION]
        target, one, other = self.frame.products.T
        begun, ended = self.frame.box
        missed = np.abs(point[target] - point[one] * point[other]) / np.maximum(1.0, ended[target] - begun[target])
        missed[missed <= OFF] = 0.0
        worth = np.zeros(self.frame.count)
        for factor in (one, other):
            np.add.at(worth, factor, missed * (high - low)[factor] / self._width[factor])
        worth[high - low < 1.0] = 0.0
        wide = [int(k) for k in np.argsort(-worth, kind="stable")[:LOOKED] if worth[k] > 0.0]
        return found + [k for k in wide if k not in found]

    def _place(self, box: Box, point: np.ndarray, k: int) -> int:
        """The place in a variable's range at which to halve it, near where the point is."""
        low, high = box[0][k], box[1][k]
        at = 0.7 * 0.5 * (low + high) + 0.3 * point[k]
        at = math.floor(min(max(at, low + INWARD * (high - low)), high - INWARD * (high - low)))
        return min(max(at, low), high - 1.0)
