"""What goals and limits ask near a design, as straight lines.

Forms are taken apart at their corners, since a slope across a corner leads nowhere: of the least of several parts each is
asked by itself. Of several ways to keep a limit the one is asked for that a design takes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from optimiser.climb import Ground
from optimiser.design import HAIR
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

PRICE = 10.0
"""Points that it costs to miss a limit by what a step of every decision together could mend."""

HOPELESS = 1e9
"""Points that it costs to miss one that nothing which moves can mend."""

TABLED = 0.02
"""Metres to either side at which what is looked up in a table is read for its slope."""


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
class Lines:
    """Goals and limits about a point, in rows: what each goal scores there by one of its pieces, and by how much each
    piece of a limit is kept, in terms of its steepness; and their slopes by each decision that moves. ``merit``: the score
    less the price of what is missed."""

    goals: np.ndarray
    goal_slopes: np.ndarray
    limits: np.ndarray
    limit_slopes: np.ndarray
    merit: float


class Slopes:
    """Goals and limits as straight lines anywhere near a design. ``scores``: which score each line of a goal bounds;
    ``shares``: points that each score brings."""

    def __init__(self, ground: Ground, design: Mapping[str, float]) -> None:
        self._ground = ground
        self._forms: list[Form] = []  # what is asked, and below, what each of them should come to
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
        self.shares = np.array(shares)
        kept, scored = np.array(self._kept).reshape(-1, 3), np.array(self._scored).reshape(-1, 5)
        self._limits, self._limit_signs, self._least = kept[:, 0].astype(int), kept[:, 1], kept[:, 2]
        self._goals, self.scores = scored[:, 0].astype(int), scored[:, 4].astype(int)
        self._goal_signs, self._ends, self._fades = scored[:, 1:4].T
        tabled = np.array([looks_up(form) for form in self._forms], dtype=bool)
        self._plain, self._tabled = np.flatnonzero(~tabled), np.flatnonzero(tabled)
        self._tapes = [Tape([self._forms[k] for k in some]) for some in (self._plain, self._tabled)]
        looked = frozenset().union(*(decisions_in(self._forms[k]) for k in self._tabled))
        self._looked = np.array([name in looked for name in ground.names], dtype=bool)

    def _numbered(self, form: Form) -> int:
        self._forms.append(form)
        return len(self._forms) - 1

    def _stay(self, gate: Gate, open_: bool) -> None:
        """Ask that a gate be open, or that it be shut."""
        self._kept.append((self._numbered(affine(gate.expression)), 1.0 if open_ else -1.0, -LATCH if open_ else LATCH))

    def lines(self, at: np.ndarray, moving: np.ndarray) -> Lines:
        """The lines about a point, which counts steps of each decision, by those decisions that move."""
        values, slopes = self._measured(at, moving)
        limits = self._limit_signs * values[self._limits] - self._least
        limit_slopes = self._limit_signs[:, None] * slopes[self._limits]
        size = np.abs(limit_slopes).sum(axis=1)
        price = HOPELESS * np.count_nonzero((limits == -np.inf) | ((size == 0.0) & (limits < -LATCH)))
        # what is no number, or has no end, as where there is nothing to measure, asks for nothing
        asked = np.isfinite(limits) & np.isfinite(size) & (size > 0.0)
        limits, limit_slopes = limits[asked] / size[asked], limit_slopes[asked] / size[asked, None]
        price += PRICE * float(np.maximum(0.0, -limits).sum())
        goals = 1.0 + (self._goal_signs * values[self._goals] - self._ends) / self._fades
        goals = np.where(np.isnan(goals), 1.0, goals)
        goal_slopes = (self._goal_signs / self._fades)[:, None] * slopes[self._goals]
        scores = np.ones(len(self.shares))
        np.minimum.at(scores, self.scores, goals)
        # beyond the fade nothing is lost any more, or won
        flat = (scores[self.scores] <= 0.0) | ~np.isfinite(goals) | ~np.isfinite(goal_slopes).all(axis=1)
        goals, goal_slopes = np.where(flat, np.clip(goals, 0.0, 1.0), goals), np.where(flat[:, None], 0.0, goal_slopes)
        merit = float(np.maximum(0.0, scores) @ self.shares) - price
        return Lines(goals, goal_slopes, limits, limit_slopes, merit)

    def _measured(self, at: np.ndarray, moving: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Values of all forms, and their slopes by each decision that moves, in steps."""
        values = np.empty(len(self._forms))
        slopes = np.zeros((len(values), len(moving)))
        values[self._plain], slopes[self._plain] = self._read(self._tapes[0], at, moving, np.ones(len(moving)))
        if len(self._tabled):
            columns = np.flatnonzero(self._looked[moving])
            wide = np.maximum(1.0, np.round(TABLED / self._ground.steps[moving[columns]]))
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
            # a length that is given has no way, and nothing changes with it
            return found[:, 0], np.where(apart > 0.0, (found[:, above] - found[:, below]) / apart, 0.0)
