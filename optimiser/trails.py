"""How it was shown that a model has no solution, to be gone through again for another model much like it.

Most of the time of such a proof goes into linear programs, of which only the multipliers are needed to show what they
found. Those of one model show nearly as much of another, in which some number is a little different: what they show of
that is as certain, whatever they are worth.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field

import numpy as np

from optimiser.compile.frame import WHOLE, Box, Frame
from optimiser.compile.relaxation import Rows

BRIEFLY = 2
"""Rounds of interval arithmetic for a half that is only looked at."""

GIVEN_UP = 0.42
"""Share of the parts of a box that must stay open for it to be gone into anew as a whole."""

PLANES = 4
"""Planes about each product."""


class Round:
    """What linear programs over one box showed: ends of variables; or that the box is empty."""

    def __init__(self) -> None:
        self.ends: list[tuple[int, float]] = []  # a variable, and +1 for its least, -1 for its greatest
        self._multipliers: list[np.ndarray] = []
        self._against: np.ndarray | None = None
        self._kept: tuple[np.ndarray, np.ndarray] | None = None

    def end(self, k: int, sense: float, multipliers: np.ndarray) -> None:
        """Note by what it was shown that a variable (``sense`` +1) or its opposite (-1) is at least so much."""
        self.ends.append((k, sense))
        self._multipliers.append(multipliers)

    def empty(self, multipliers: np.ndarray) -> None:
        """Note by what it was shown that the rows contradict each other."""
        self._against = multipliers

    def again(self, alike: Alike, planes: Rows, box: Box) -> Box | None:
        """What of a box is left by the same multipliers, of the planes over it; None where that is nothing."""
        if self._against is not None and alike.contradictory(self._against, planes, box):
            return None
        if not self.ends:
            return box
        if self._kept is None:
            all_ = np.array(self._multipliers)
            rows = np.flatnonzero(all_.any(axis=0))
            self._kept = rows, all_[:, rows]
        rows, multipliers = alike.rows_of(*self._kept)
        low, high = box[0].copy(), box[1].copy()
        keys, senses = (np.array(column) for column in zip(*self.ends))
        known = alike.variables[keys] >= 0
        multipliers = multipliers[known] * alike.unit[keys[known], None]
        keys, senses = alike.variables[keys[known]], senses[known]
        cost = np.zeros((len(keys), len(low)))
        cost[np.arange(len(keys)), keys] = senses
        multipliers = multipliers * planes.size[rows] / planes.unit[keys, None]
        found = np.ceil(planes.certain(cost, multipliers, box, rows) * planes.unit[keys] - WHOLE)
        up = senses > 0.0
        np.maximum.at(low, keys[up], found[up])
        np.minimum.at(high, keys[~up], -found[~up])
        return None if (low > high).any() else (low, high)


class Alike:
    """Which variables and planes of a frame are about the same as those of another one, ``there``: of each there its number
    here, -1 where there is none, and what one there comes to here."""

    def __init__(self, there: Frame, here: Frame) -> None:
        at = {label: k for k, label in enumerate(here.labels)}
        self.variables = np.array([at.get(label, -1) for label in there.labels])
        common = np.flatnonzero(self.variables >= 0)
        self.unit = np.ones(there.count)
        self.unit[common] = there.units[common] / here.units[self.variables[common]]
        numbers = np.full(here.count, -1)  # of each variable here its number there
        numbers[self.variables[common]] = common
        alone = np.full(there.count, -1)
        alone[common] = common
        count, products = len(there.least), len(there.products)
        self._planes = np.full(count + PLANES * products, -1)
        self._scale = np.ones(len(self._planes))
        self._match(there, here, common, _about(there, alone), _about(here, numbers))
        known = {tuple(numbers[list(product)]): at for at, product in enumerate(here.products.tolist())}
        for at, product in enumerate(there.products.tolist()):
            for plane in range(PLANES if tuple(product) in known else 0):
                self._planes[count + plane * products + at] = (
                    len(here.least) + plane * len(here.products) + known[tuple(product)]
                )
                self._scale[count + plane * products + at] = 1.0 / self.unit[product[0]]

    def _match(
        self, there: Frame, here: Frame, common: np.ndarray, were: Mapping[Hashable, list[int]], are: Mapping
    ) -> None:
        """Of the rows about the same variables, each there goes with the one here that says most nearly the same, in
        whatever whole numbers: rows are rounded to such."""
        reach = np.maximum(np.abs(there.box[0]), np.abs(there.box[1]))[common]
        old = np.column_stack([there.matrix[:, common] * reach, there.least])
        new = np.column_stack([here.matrix[:, self.variables[common]] * (reach * self.unit[common]), here.least])
        for about, rows in were.items():
            others = are.get(about, [])
            for row in rows if others else ():
                greatest = int(np.argmax(np.abs(old[row, :-1]))) if len(common) else -1
                scale = new[others, greatest] / (old[row, greatest] or 1.0)
                with np.errstate(divide="ignore", invalid="ignore"):
                    off = np.abs(new[others] / scale[:, None] - old[row]).sum(axis=1)
                off[~(scale > 0.0)] = np.inf
                nearest = int(np.argmin(off))
                if off[nearest] < np.inf:
                    self._planes[row], self._scale[row] = others[nearest], scale[nearest]

    def rows_of(self, rows: np.ndarray, multipliers: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The planes here, and the multipliers, of those that there are."""
        here = self._planes[rows]
        return here[here >= 0], (multipliers / self._scale[rows])[..., here >= 0]

    def contradictory(self, multipliers: np.ndarray, planes: Rows, box: Box) -> bool:
        """Whether the planes, weighed so, cannot be kept together in a box."""
        rows = np.flatnonzero(multipliers)
        rows, multipliers = self.rows_of(rows, multipliers[rows])
        return planes.contradictory(multipliers * planes.size[rows], box, rows)


def _about(frame: Frame, numbers: np.ndarray) -> dict[Hashable, list[int]]:
    """The rows of a frame by what they are about, the variables told by other ``numbers``; those below 0 count for
    nothing."""
    found: dict[Hashable, list[int]] = {}
    told = numbers.tolist()
    for row, (at, guard) in enumerate(frame.about):
        about = tuple(sorted(told[k] for k in at if told[k] >= 0))
        under = tuple(sorted((told[max(g, -g - 1)], g >= 0) for g in guard))
        found.setdefault((about, under), []).append(row)
    return found


@dataclass
class Trail:
    """What was done with a box: ``rounds`` of linear programs, and whether it was then taken apart, in ``parts`` up to
    ``at`` of the variable ``by`` and above. ``outright``: what showed, by the planes over the box that it is a part of,
    that it is empty."""

    rounds: list[Round] = field(default_factory=list)
    outright: np.ndarray | None = None
    by: int = -1
    at: float = 0.0
    parts: tuple[Trail, ...] = ()

    def apart(self, by: int, at: float, parts: tuple[Trail, ...]) -> None:
        """Note where it was taken apart, and the trails of both parts."""
        self.by, self.at, self.parts = by, at, parts

    @property
    def boxes(self) -> int:
        """How many boxes there are."""
        return 1 + sum(part.boxes for part in self.parts)


def halves_of(box: Box, k: int, at: float) -> tuple[Box, Box]:
    """The two parts of a box up to a place in a variable's range, and above it."""
    low, high = box
    below, above = high.copy(), low.copy()
    below[k], above[k] = at, at + 1.0
    return (low, below), (above, high)


def followed(trail: Trail, alike: Alike, frame: Frame, box: Box, planes: Rows | None = None) -> list[Box]:
    """What is left of a box of another model by what a trail says, as far as that is ``alike``. ``planes``: those over the
    box that it is a part of."""
    narrowed = frame.narrowed(box) if trail.outright is None else frame.narrowed(box, BRIEFLY)
    if narrowed is None:
        return []
    if trail.outright is not None and planes is not None and alike.contradictory(trail.outright, planes, narrowed):
        return []
    for one in trail.rounds:
        planes = Rows(*frame.planes(narrowed), narrowed)
        there = one.again(alike, planes, narrowed)
        narrowed = None if there is None else frame.narrowed(there)
        if narrowed is None:
            return []
    by = alike.variables[trail.by] if trail.parts else -1
    if by < 0:
        return [narrowed]
    if not narrowed[0][by] <= trail.at < narrowed[1][by]:  # all of it lies to one side
        return followed(trail.parts[int(narrowed[0][by] > trail.at)], alike, frame, narrowed, planes)
    left = []
    for part, half in zip(trail.parts, halves_of(narrowed, by, trail.at)):
        left += followed(part, alike, frame, half, planes)
    return [narrowed] if len(left) > 1 and len(left) > GIVEN_UP * trail.boxes else left
