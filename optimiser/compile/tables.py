"""Tabulated functions: sums over the points in reach of their table, a literal for each.

A place has one nearest point, whose literal is true; each function is the sum of literal times value. That
leaves the solver's relaxation no room beyond mixtures of points. Functions get no variables of their own:
the solver would encode each of their many values.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations

import numpy as np

from optimiser.compile.integers import Terms
from optimiser.compile.intervals import EXACTNESS
from optimiser.compile.shadows import most_of
from optimiser.compile.sums import Sums
from optimiser.design import Domain
from optimiser.forms import ONE, All, Cases, Condition, Cut, Form, Greatest, Least, SumCut, TableCut, Tabulated
from optimiser.linear import Linear, decisions_of, variable
from optimiser.tabulated import GRAIN, Block

PARTS = 12
"""Parts of a place's longest side, in each of which more is known of the points of another place."""


class TooLarge(Exception):
    """A table with more points in reach than a model should have literals for. ``ways``: the decisions that reach
    for them; ``domains``: what is left of all decisions."""

    def __init__(self, ways: frozenset[str], domains: Mapping[str, Domain]) -> None:
        super().__init__("more points of a table are in reach than a model should have")
        self.ways, self.domains = ways, domains


@dataclass
class Looked:
    """A table at one place: the points in reach, a literal for each, and the functions asked for. ``layers``: a
    literal for each step along the longest side, and the number of each point's; ``parts``: literals of several
    steps together, each with its points, once they are asked for."""

    points: np.ndarray
    picks: list[int]
    layers: list = field(default_factory=list)
    layer: np.ndarray = field(default_factory=lambda: np.empty(0, dtype=int))
    functions: set[int] = field(default_factory=set)
    parts: list[tuple[object, np.ndarray]] = field(default_factory=list)

    def copy(self) -> Looked:
        return replace(self, functions=set(self.functions), parts=list(self.parts))


class Tables(Sums):
    """The part of a model that holds tabulated functions. ``most_points``: how many points of one table it may
    have in reach; None for any number."""

    most_points: int | None = None

    def post_table(self, cut: TableCut, enforce: list, level: int | None, skip: int) -> None:
        """A cut of a tabulated function under literals; for a goal, at the score that ``level`` takes."""
        if level is None or not np.ndim(cut.c):
            self.post(Cut(self.stand_in(cut.form), ONE, cut.c, cut.sense), enforce, level, skip)
            return
        looked = self._looked_at(cut.form)
        values = GRAIN * cut.form.table.grains_of(cut.form.function, looked.points).astype(float)
        self._cap(level, looked, _steps(cut, cut.sense * values, skip), enforce)

    def post_sum(self, cut: SumCut, enforce: list, level: int | None, skip: int) -> None:
        """A sum under literals; one of tabulated functions also by what each of their places allows."""
        super().post_sum(cut, enforce, level, skip)
        forms = {self._key(form): form for _, term in cut.terms for form in _tabulated(term)}
        if not forms:
            return
        places = [self._looked_at(form) for form in forms.values()]
        axes = [
            (key, GRAIN * form.table.grains(looked.points).astype(float))
            for (key, form), looked in zip(forms.items(), places)
        ]
        for one, other in combinations(range(len(axes)), 2):
            most = most_of(cut.terms, cut.sense, [axes[one], axes[other]], self._key, self.box)
            if most is not None:
                self._cap_pair(cut, level, skip, (places[one], places[other]), most, enforce)
        if len(axes) == 1:
            most = most_of(cut.terms, cut.sense, axes, self._key, self.box)
            if most is not None:
                self._allow(cut, level, skip, places[0], most, enforce)

    def _cap_pair(
        self, cut: SumCut, level: int | None, skip: int, places: Sequence[Looked], most: np.ndarray, enforce: list
    ) -> None:
        """What each of two places allows whatever the other is, and what it does where that lies in one part."""
        for one, other, pairs in ((*places, most), (*places[::-1], most.T)):
            self._allow(cut, level, skip, one, pairs.max(axis=1), enforce)
            for literal, points in self._parts_of(other):
                self._allow(cut, level, skip, one, pairs[:, points].max(axis=1), [*enforce, literal])

    def _allow(
        self, cut: SumCut, level: int | None, skip: int, looked: Looked, most: np.ndarray, enforce: list
    ) -> None:
        """Keep to points at which a sum may come to what is asked: ``most`` is what it comes to at each."""
        if level is not None and np.ndim(cut.c):
            self._cap(level, looked, _steps(cut, most, skip), enforce)
            return
        short = np.flatnonzero(most < cut.sense * float(cut.c) - EXACTNESS)
        if len(short):
            picks = [self._variables[looked.picks[k]] for k in short]
            self.model.add(self._expr.sum(picks) == 0).only_enforce_if(enforce)

    def _cap(self, level: int, looked: Looked, steps: np.ndarray, enforce: list) -> None:
        """That a score is no higher than the point that is picked allows."""
        if steps.min() >= self._ends[level][1]:
            return
        terms = Terms(float(steps.min()))
        terms.add(level, -1.0)
        terms.add_all(looked.picks, (steps - steps.min()).astype(float).tolist())
        self.post_row(terms, 0.0, enforce)

    def _parts_of(self, looked: Looked) -> list[tuple[object, np.ndarray]]:
        """Literals of parts of a place's longest side, each with the points in it."""
        if not looked.parts and len(looked.layers) > 1:
            for several in np.array_split(np.arange(len(looked.layers)), min(PARTS, len(looked.layers))):
                literal = self.model.new_bool_var("")
                self.model.add(self._expr.sum([looked.layers[k] for k in several]) == literal)
                looked.parts.append((literal, np.flatnonzero(np.isin(looked.layer, several))))
        return looked.parts

    def _key(self, form: Tabulated) -> tuple:
        return form.table, tuple(self._reduced(e) for e in form.place)

    def _looked_at(self, form: Tabulated) -> Looked:
        key = self._key(form)
        if key not in self._looked:
            self._looked[key] = self._begin(form, key[1])
        return self._looked[key]

    def stand_in(self, form: Tabulated) -> Linear:
        """The variable that is a tabulated function's value."""
        key, looked = self._key(form), self._looked_at(form)
        name = f"table {list(self._looked).index(key)}.{form.function}"
        if form.function not in looked.functions:
            grains = form.table.grains_of(form.function, looked.points)
            self._decisions[name] = terms = Terms(GRAIN * float(grains.min()))
            terms.add_all(looked.picks, (GRAIN * (grains - grains.min()).astype(float)).tolist())
            self.box[name] = (GRAIN * float(grains.min()), GRAIN * float(grains.max()))
            looked.functions.add(form.function)
        return variable(name)

    def _counting(self, name: str, low: int, high: int) -> int:
        """A variable that counts grains, known under a name as a decision is."""
        index = self.new(low, high, name)
        self._decisions[name] = terms = Terms()
        terms.add(index, GRAIN)
        self.box[name] = (GRAIN * low, GRAIN * high)
        return index

    @property
    def looking(self) -> frozenset[str]:
        """The decisions by which tables are looked up."""
        places = [e for _, place in self._looked for e in place]
        return frozenset(name for e in places for name in decisions_of(e) if name in self.domains)

    # --- points -----------------------------------------------------------------------------------

    def _begin(self, form: Tabulated, place: tuple[Linear, ...]) -> Looked:
        ends = [e.interval(self.box) for e in place]
        block = form.table.block([low for low, _ in ends], [high for _, high in ends])
        if self.most_points is not None and math.prod(block.shape) > self.most_points:
            ways = frozenset(name for e in place for name in decisions_of(e) if name in self.domains)
            raise TooLarge(ways, self.domains)
        points = block.points
        picks = [self.new(0, 1) for _ in points]
        self.model.add_exactly_one(self._variables[p] for p in picks)
        grid = np.array([self._variables[p] for p in picks], dtype=object).reshape(block.shape)
        longest, looked = int(np.argmax(block.shape)), Looked(points, picks)
        for axis, e in enumerate(place):
            if block.shape[axis] > 1:
                sides = self._along(form, axis, e, block, grid)
                if axis == longest:
                    looked.layers, looked.layer = sides, points[:, axis] - block.low[axis]
        return looked

    def _along(self, form: Tabulated, axis: int, e: Linear, block: Block, grid: np.ndarray) -> list:
        """That the place lies, along an axis, in the cell of the point that is picked."""
        whole = self._whole(e)
        numbers = range(block.low[axis], block.high[axis] + 1)
        sides = [self.model.new_bool_var("") for _ in numbers]
        for side, layer in zip(sides, np.moveaxis(grid, axis, 0)):
            self.model.add(self._expr.sum(list(layer.ravel())) == side)
        marks = [(form.table.edge(axis, n) - whole.offset) / whole.unit for n in (*numbers, numbers[-1] + 1)]
        slack = abs(whole.error / whole.unit)
        low, high = self._ends[whole.index]
        first, last = [], []
        for a, b in zip(marks, marks[1:]):
            first.append(max(low, math.ceil(min(a, b) - slack)))
            last.append(min(high, math.floor(max(a, b) + slack)))
        count = self._variables[whole.index]
        self.model.add(count >= self._expr.weighted_sum(sides, first))
        self.model.add(count <= self._expr.weighted_sum(sides, last))
        return sides

    # --- sums of greatest and least functions -----------------------------------------------------

    def _direct(self, form: Form, upward: bool) -> Linear | None:
        """A variable that is no greater (upward: no less) than a form of tabulated functions, and may be the
        form itself; None for any other form, and where a least (greatest) is asked for that is a choice."""
        if isinstance(form, Tabulated):
            return self.stand_in(form)
        if not _bounded(form, upward):
            return None
        key = (id(form), upward)
        if key not in self._bounds:
            low, high = form.interval(self.box)
            name = f"bound {len(self._bounds)}"
            self._counting(name, round(low / GRAIN), round(high / GRAIN))
            self._bounds[key] = (form, name)
            self.post(self._beyond(form, variable(name), upward), [])
        return variable(self._bounds[key][1])

    def _beyond(self, form: Form, bound: Linear, upward: bool) -> Condition:
        """That ``bound`` is no less (or, not upward, no greater) than a form."""
        if isinstance(form, Tabulated):
            return Cut(bound - self.stand_in(form), ONE, 0.0, 1 if upward else -1)
        if isinstance(form, Cases):
            return form.each([self._beyond(case, bound, upward) for _, case in form.cases])
        return All(tuple(self._beyond(part, bound, upward) for part in form.parts))


def _tabulated(form: Form) -> Iterator[Tabulated]:
    """The tabulated functions in a form."""
    if isinstance(form, Tabulated):
        yield form
    elif isinstance(form, Cases):
        for _, case in form.cases:
            yield from _tabulated(case)
    elif isinstance(form, (Greatest, Least)):
        for part in form.parts:
            yield from _tabulated(part)


def _steps(cut: TableCut | SumCut, most: np.ndarray, skip: int) -> np.ndarray:
    """The highest score level that each of several values allows, -1 for none; ``most`` is the value times the
    cut's sense. Levels below ``skip`` ask for nothing."""
    asked = np.maximum.accumulate(np.asarray(cut.c, dtype=float) * cut.sense)
    return np.maximum(min(skip, 1) - 1, np.searchsorted(asked, most + EXACTNESS, side="right") - 1)


def _bounded(form: Form, upward: bool) -> bool:
    """Whether a form is a greatest (or, not upward, a least) of tabulated functions."""
    if isinstance(form, Tabulated):
        return True
    if isinstance(form, Cases):
        return all(_bounded(case, upward) for _, case in form.cases)
    return isinstance(form, Greatest if upward else Least) and all(_bounded(part, upward) for part in form.parts)
