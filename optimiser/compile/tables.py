"""Tabulated functions: sums over the points in reach of their table, a literal for each.

A place has one nearest point, whose literal is true; each function is the sum of literal times value. That
leaves the solver's relaxation no room beyond mixtures of points. Functions get no variables of their own:
the solver would encode each of their many values.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from optimiser.compile.integers import Terms
from optimiser.compile.sums import Sums
from optimiser.forms import ONE, All, Cases, Condition, Cut, Form, Greatest, Least, TableCut, Tabulated
from optimiser.linear import Linear, variable
from optimiser.tabulated import GRAIN, Block


@dataclass
class Looked:
    """A table at one place: the points in reach, a literal for each, and the functions asked for."""

    points: np.ndarray
    picks: list[int]
    functions: set[int] = field(default_factory=set)

    def copy(self) -> Looked:
        return Looked(self.points, self.picks, set(self.functions))


class Tables(Sums):
    """The part of a model that holds tabulated functions."""

    def post_table(self, cut: TableCut, enforce: list, level: int | None, skip: int) -> None:
        """A cut of a tabulated function under literals; for a goal, at the score that ``level`` takes."""
        self.post(Cut(self.stand_in(cut.form), ONE, cut.c, cut.sense), enforce, level, skip)

    def stand_in(self, form: Tabulated) -> Linear:
        """The variable that is a tabulated function's value."""
        place = tuple(self._reduced(e) for e in form.place)
        key = (form.table, place)
        if key not in self._looked:
            self._looked[key] = self._begin(form, place)
        looked = self._looked[key]
        name = f"table {list(self._looked).index(key)}.{form.function}"
        if form.function not in looked.functions:
            grains = form.table.grains(looked.points)[:, form.function]
            self._decisions[name] = terms = Terms(GRAIN * float(grains.min()))
            for pick, value in zip(looked.picks, grains - grains.min()):
                terms.add(pick, GRAIN * float(value))
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

    # --- points -----------------------------------------------------------------------------------

    def _begin(self, form: Tabulated, place: tuple[Linear, ...]) -> Looked:
        ends = [e.interval(self.box) for e in place]
        block = form.table.block([low for low, _ in ends], [high for _, high in ends])
        points = block.points
        picks = [self.new(0, 1) for _ in points]
        self.model.add_exactly_one(self._variables[p] for p in picks)
        grid = np.array([self._variables[p] for p in picks], dtype=object).reshape(block.shape)
        for axis, e in enumerate(place):
            if block.shape[axis] > 1:
                self._along(form, axis, e, block, grid)
        return Looked(points, picks)

    def _along(self, form: Tabulated, axis: int, e: Linear, block: Block, grid: np.ndarray) -> None:
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


def _bounded(form: Form, upward: bool) -> bool:
    """Whether a form is a greatest (or, not upward, a least) of tabulated functions."""
    if isinstance(form, Tabulated):
        return True
    if isinstance(form, Cases):
        return all(_bounded(case, upward) for _, case in form.cases)
    return isinstance(form, Greatest if upward else Least) and all(_bounded(part, upward) for part in form.parts)
