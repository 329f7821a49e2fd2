"""Changes of a problem that touch nothing on which it hangs that the best design is the best.

That no design is better mostly follows from a few of the limits. The others are left out, the proof is made once without
them, and what it reads of the room is noted: a change of anything else leaves that proof as it stands, and with it, where
the best design keeps what has changed, the best design.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from optimiser.climb import Ground, highest
from optimiser.design import Space, spaces
from optimiser.errors import ProblemFileError
from optimiser.explain.sparing import Sparing, asking, hardness_of, known_of, shown_empty
from optimiser.measures.layout import Layout
from optimiser.problem.model import Problem
from optimiser.requirements import all_limits, bounds_of, targets
from optimiser.score import Scorer, holds
from optimiser.solve import PROMISE, Solution

TRIES = 6
"""Crowds at most that look for better designs in a space without the limits that are left out."""

UNLIKE = 6
"""Models that may come out otherwise, and no others that come out the same, until no more are made: each takes time."""

FIELDS = tuple(field.name for field in fields(Layout))


class Read(Layout):
    """A layout that notes what is read of it."""

    @staticmethod
    def of(layout: Layout) -> Read:
        """The same layout, of which nothing has been read."""
        noting = object.__new__(Read)
        object.__getattribute__(noting, "__dict__").update(layout.__getstate__(), _read=set())
        return noting

    def __getattribute__(self, name: str):
        object.__getattribute__(self, "__dict__")["_read"].add(name)
        return object.__getattribute__(self, name)


class _Change(NamedTuple):
    """In what another problem differs: its ``spaces``, for each the fields in which its layout is ``apart``, and the numbers
    of the ``limits`` that say something else."""

    spaces: tuple[Space, ...]
    apart: tuple[frozenset[str], ...]
    limits: frozenset[int]


class Grounds:
    """On what it hangs that the best design is the best: the limits by number that are ``needed`` for it, and what the
    proof reads of each space. ``proven``: whether that is known at all, after so much ``effort``, of which ``left``
    remains."""

    def __init__(self, problem: Problem, best: Solution, effort: float) -> None:
        assert best.design is not None and best.card is not None and best.score is not None
        self._problem, self._best, self._limits = problem, best, all_limits(problem)
        self.left = effort
        self._spaces = tuple(spaces(problem, grid=best.grid))
        self._scorers = [Scorer(problem, space) for space in self._spaces]
        self._own = next((space for space in self._spaces if space.has(best.design)), None)
        self.needed = {result.index for result in best.card.limits if result.binds}
        self._full = best.score >= 100.0 - PROMISE  # and nothing scores more than 100
        self._like = self._unlike = 0
        self.proven = self._own is not None and (self._full or (self._tried() and self._proved()))

    def spare(self, other: Problem) -> bool:
        """Whether the best design of another problem is the same, and what it scores: no other is shown to be better by
        more than is promised."""
        change = self._change(other) if self.proven else None
        if change is None or (change.limits & self.needed and not self._full):
            return False
        for at, (space, apart) in enumerate(zip(change.spaces, change.apart)):
            if self._spaces[at] is self._own and not self._kept(other, space, self._touched(change.limits, apart)):
                return False
            if not self._full and self._read[at] & apart and not self._same(at, other, space):
                return False
        return True

    def _change(self, other: Problem) -> _Change | None:
        """In what another problem differs; None where it has other spaces, decisions, goals, or limits on something else."""
        limits = all_limits(other)
        if other.goals != self._problem.goals or other.bass != self._problem.bass:
            return None
        if [one.measure for one in limits] != [one.measure for one in self._limits]:
            return None
        try:
            found = tuple(spaces(other, grid=self._best.grid))
        except ProblemFileError:  # without any design
            return None
        if [(one.settled, one.domains) for one in found] != [(one.settled, one.domains) for one in self._spaces]:
            return None
        changed = frozenset(at for at, pair in enumerate(zip(self._limits, limits)) if pair[0] != pair[1])
        return _Change(found, tuple(map(_apart, self._spaces, found)), changed)

    def _touched(self, changed: frozenset[int], apart: frozenset[str]) -> set[int]:
        """The limits that have changed, or that read what has."""
        return {at for at, read in enumerate(self._read_by_limits) if at in changed or read & apart}

    def _kept(self, other: Problem, space: Space, touched: set[int]) -> bool:
        """Whether the best design keeps limits of another problem that are touched, and scores what it did."""
        best, limits = self._best, all_limits(other)
        assert best.design is not None and best.score is not None
        several = [bound for at in sorted(touched) for bound in bounds_of(other, space, at, limits[at])]
        scorer = Scorer.of(space, several, targets(other, space))
        return scorer.possible(best.design) and abs(float(scorer.scores(best.design)) - best.score) < 1e-9

    def _same(self, at: int, other: Problem, space: Space) -> bool:
        """Whether the model of another problem's better designs is word for word that of ours, which has none."""
        ours = self._models[at] if self._unlike < UNLIKE + self._like else None
        compiled = None if ours is None else asking(self._lean(other, space), self._better)
        same = compiled is not None and str(compiled.model.proto) == ours
        self._like, self._unlike = self._like + same, self._unlike + (not same)
        return same

    @property
    def _better(self) -> float:
        """The score from which a design would be better by more than is promised."""
        assert self._best.score is not None
        return min(100.0, self._best.score + PROMISE)

    @cached_property
    def _read_by_limits(self) -> list[frozenset[str]]:
        return [self._read_by(at) for at in range(len(self._limits))]

    @cached_property
    def _models(self) -> list[str | None]:
        """For each space the model of better designs, as text; None where it is not shown by itself to have none."""
        found = []
        for space in self._spaces:
            text, took = shown_empty(self._lean(self._problem, space), self._better, max(0.0, self.left))
            self.left -= took
            found.append(text)
        return found

    def _read_by(self, at: int) -> frozenset[str]:
        """What is read of the room to see whether the best design keeps a limit."""
        assert self._best.design is not None and self._own is not None
        space = replace(self._own, layout=Read.of(self._own.layout))
        Scorer.of(space, bounds_of(self._problem, space, at, self._limits[at]), ()).card(self._best.design)
        return _read_of(space)

    # --- the proof ------------------------------------------------------------------------------

    def _lean(self, problem: Problem, space: Space) -> Scorer:
        """The goals, and of the limits those that are needed."""
        needed = [bound for at in sorted(self.needed) for bound in bounds_of(problem, space, at, self._limits[at])]
        return Scorer.of(space, needed, targets(problem, space))

    def _missed(self, design: Mapping[str, float]) -> bool:
        """Whether a design breaks limits that are not among those needed, to which they are added."""
        before = len(self.needed)
        for scorer in self._scorers:
            if scorer.space.has(design):
                with np.errstate(all="ignore"):
                    self.needed.update(bound.index for bound in scorer.bounds if not holds(bound, design))
        return len(self.needed) > before

    def _tried(self) -> bool:
        """Add limits to those needed until a crowd finds no better design; whether that helps."""
        best = self._best
        assert best.design is not None and best.score is not None
        for scorer in self._scorers:
            start = best.design if scorer.space.has(best.design) else None
            for _ in range(TRIES if scorer.targets else 0):
                lean = self._lean(self._problem, scorer.space)
                found = highest(Ground(lean), start, everywhere=start is None, quick=True)
                if found is None or float(lean.scores(found)) <= best.score + PROMISE:
                    break
                if not self._missed(found):
                    return False
        return True

    def _proved(self) -> bool:
        """Add limits to those needed until it is proven that there is no better design; whether it is. What the proof
        reads is noted, and what the best design is judged by."""
        problem, best = self._problem, self._best
        assert best.design is not None and best.score is not None
        known = known_of(problem, best)
        trails = (hardness_of(problem, best).trails or None) if known.hard else None
        while self.left > 0.0:
            noting = [replace(space, layout=Read.of(space.layout)) for space in self._spaces]
            scorers = [self._lean(problem, space) for space in noting]
            own = next(one for one, space in zip(scorers, self._spaces) if space is self._own)
            own.card(best.design)
            search = Sparing(problem, best.grid, effort=self.left, hard=known.hard, trails=trails, scorers=scorers)
            bound = search.beyond(best, own.space)
            self.left = search.left
            if bound <= best.score + PROMISE + 1e-9:
                self._read = [_read_of(space) for space in noting]
                return True
            if search.design is None or not self._missed(search.design):
                return False
        return False


def _read_of(space: Space) -> frozenset[str]:
    """The fields of a space's layout that were read."""
    return frozenset(object.__getattribute__(space.layout, "__dict__")["_read"]).intersection(FIELDS)


def _apart(one: Space, other: Space) -> frozenset[str]:
    """The fields in which the layouts of two spaces differ."""
    return frozenset(name for name in FIELDS if getattr(one.layout, name) != getattr(other.layout, name))
