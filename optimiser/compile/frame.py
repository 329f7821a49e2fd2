"""A model as arrays: what interval arithmetic and linear programs need to see of it.

All that a model says is said here too, but for which whole numbers lie between a variable's ends: rows
``a x >= b``, under literals or not, and products of two variables.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from optimiser.compile.variables import WHATEVER, Variables, design_at
from optimiser.design import Domain, Listed, Steps
from optimiser.errors import InternalError

SHARE = 1e-9
"""Of the greatest that a row's terms may come to: what is left for rounding before a row counts as broken."""

WHOLE = 1e-6
"""By how much a whole number may be missed and still count as reached."""

ROUNDS, ENOUGH = 8, 0.02
"""Rounds of interval arithmetic at most, and the share of its range that some variable must lose for a further one."""

Box = tuple[np.ndarray, np.ndarray]
"""Least and greatest value of every variable."""


class Frame:
    """The rows ``matrix @ x >= least``, each binding where the literals of its guard are true, the ``products``
    (target, factor, factor), and the ``box`` of the variables, which ``labels`` tell apart; one of each stands for so much
    as its entry of ``units``. ``about``: of each row the variables and the literals of the guard."""

    def __init__(self, variables: Variables) -> None:
        proto = variables.model.proto
        self.count = len(proto.variables)
        ends = [(float(v.domain[0]), float(v.domain[len(v.domain) - 1])) for v in proto.variables]
        low, high = np.array(ends, dtype=float).reshape(-1, 2).T
        self.box: Box = low, high
        self.whether = (low >= 0.0) & (high <= 1.0)  # variables of two values
        # the first row is for what is asked besides
        rows: list[tuple[Sequence[int], Sequence[float], float, Sequence[int]]] = [((), (), 0.0, ())]
        products: list[tuple[int, int, int]] = []
        for constraint in proto.constraints:
            guard = list(constraint.enforcement_literal)
            if constraint.has_linear():
                line = constraint.linear
                at, counts = list(line.vars), [float(c) for c in line.coeffs]
                least, most = line.domain[0], line.domain[len(line.domain) - 1]
                if least > -WHATEVER:
                    rows.append((at, counts, float(least), guard))
                if most < WHATEVER:
                    rows.append((at, [-c for c in counts], -float(most), guard))
            elif constraint.has_int_prod():
                parts = (constraint.int_prod.target, *constraint.int_prod.exprs)
                if guard or len(parts) != 3 or any(list(e.coeffs) != [1] or e.offset for e in parts):
                    raise InternalError("a product in a model is not that of two variables")
                target, one, other = (e.vars[0] for e in parts)
                products.append((target, one, other))
            elif constraint.has_exactly_one():
                rows.append(_count(constraint.exactly_one.literals, 1.0, guard))
                rows.append(_count(constraint.exactly_one.literals, -1.0, guard))
            elif constraint.has_at_most_one():
                rows.append(_count(constraint.at_most_one.literals, -1.0, guard))
            elif constraint.has_bool_or():
                either = [*constraint.bool_or.literals, *(-literal - 1 for literal in guard)]
                rows.append(_count(either, 1.0, ()))
            else:
                raise InternalError("a model holds a kind of constraint that is not known here")
        self.products = np.array(products, dtype=int).reshape(-1, 3)
        self.matrix = np.zeros((len(rows), self.count))
        self.least = np.array([least for _, _, least, _ in rows])
        self._true, self._false = np.zeros_like(self.matrix), np.zeros_like(self.matrix)  # what a row's guard asks
        for row, (at, counts, _, guard) in enumerate(rows):
            np.add.at(self.matrix[row], np.array(at, dtype=int), counts)
            for literal in guard:
                (self._true if literal >= 0 else self._false)[row, literal if literal >= 0 else -literal - 1] = 1.0
        guards = np.concatenate([self._true, self._false], axis=1)
        self._guarded = np.flatnonzero(guards.any(axis=1))
        self._literals = np.nonzero(guards[self._guarded])  # of which guard, and which: true ones, then false ones
        self._first_literals = np.flatnonzero(np.diff(self._literals[0], prepend=-1))
        target, one, other = self.products.T
        # of all least values, then all greatest ones: the corners of each product
        self._corners = (
            np.stack([one, one, one + self.count, one + self.count]),
            np.stack([other, other + self.count, other, other + self.count]),
        )
        self._factors = np.concatenate([self.products[:, [1, 2, 0]], self.products[:, [2, 1, 0]]]).T
        self._derive()
        self.labels, self.units = variables.labels, np.array(variables.units)
        self.about = [(tuple(at), tuple(guard)) for at, _, _, guard in rows]
        self._places = variables.places
        self._domains = dict(variables.domains)

    def _derive(self) -> None:
        """What interval arithmetic needs of the rows' terms: few numbers are none. First those that rise, then those that
        fall, each column by column."""
        of, at = np.nonzero(self.matrix.T)
        count = self.matrix[at, of]
        order = np.argsort(count < 0.0, kind="stable")
        row, column, count = self._terms = at[order], of[order], count[order]
        self._rising = rising = int((count > 0.0).sum())
        # of all greatest values, then all least ones: which makes a term greatest, and which least
        self._greatest = column + np.where(count > 0.0, 0, self.count)
        self._lowest = column + np.where(count > 0.0, self.count, 0)
        self._raised, self._lowered = _starts(column[:rising]), _starts(column[rising:])
        sizes = np.abs(count) * np.maximum(np.abs(self.box[0]), np.abs(self.box[1]))[column]
        self._lacking = self.least - SHARE * (1.0 + np.bincount(row, sizes, len(self.least)))

    def ask(self, weights: Mapping[int, float], least: float) -> None:
        """Ask besides that a weighted sum of variables comes to so much, in place of what was so asked before."""
        self.matrix[0], self.least[0] = 0.0, least
        for k, weight in weights.items():
            self.matrix[0, k] = weight
        self._derive()

    def domains(self, box: Box) -> dict[str, Domain]:
        """The decisions' domains in a box."""
        low, high = box
        found: dict[str, Domain] = {}
        for name, domain in self._domains.items():
            at = self._places[name]
            if isinstance(domain, Steps):
                domain = replace(domain, low=int(low[at[0]]), high=int(high[at[0]]))
            elif isinstance(domain, Listed):
                # none is left where interval arithmetic had not come to it that the box is empty: that is for whoever asks on
                domain = Listed(tuple(v for v, k in zip(domain.values, at) if high[k] > 0.5) or domain.values)
            found[name] = domain
        return found

    def design(self, point: np.ndarray) -> dict[str, float]:
        """The decisions at a point, to the nearest step, and of a list what counts for most."""
        return design_at(self._domains, self._places, point)

    @property
    def decisive(self) -> list[int]:
        """The variables that decide: those of the decisions, and the factors of products."""
        decisions = {k for at in self._places.values() for k in at}
        return sorted(decisions | set(self.products[:, 1:].ravel().tolist()))

    # --- interval arithmetic --------------------------------------------------------------------

    def narrowed(self, box: Box, rounds: int = ROUNDS) -> Box | None:
        """What interval arithmetic leaves of a box; None where that is nothing."""
        low, high = box[0].copy(), box[1].copy()
        for _ in range(rounds):
            before = low.copy(), high.copy()
            if not self._narrow_by_rows(low, high) or not self._narrow_by_products(low, high) or (low > high).any():
                return None
            lost = (before[1] - before[0]) - (high - low)
            if (lost <= ENOUGH * np.maximum(1.0, before[1] - before[0])).all():
                break
        return low, high

    def _binding(self, low: np.ndarray, high: np.ndarray, broken: np.ndarray) -> np.ndarray:
        """Which rows bind, whatever else; a literal that alone would make a row bind that is ``broken`` becomes false."""
        binds = np.ones(len(self.least), dtype=bool)
        if not len(self._guarded):
            return binds
        guard, literal = self._literals
        # literals of the guard that may be false
        unsure = np.add.reduceat(np.concatenate([1.0 - low, high])[literal], self._first_literals)
        binds[self._guarded] = unsure < 0.5
        alone = broken[self._guarded] & (np.abs(unsure - 1.0) < 0.5)
        if alone.any():  # but for those of which one is
            alone &= np.add.reduceat(np.concatenate([1.0 - high, low])[literal], self._first_literals) < 0.5
        for k in np.flatnonzero(alone):
            for one in literal[guard == k]:
                at = one if one < self.count else one - self.count
                if high[at] - low[at] > 0.5:  # anew: one literal may stand in several guards
                    (high if one < self.count else low)[at] = 0.0 if one < self.count else 1.0
        return binds

    def _narrow_by_rows(self, low: np.ndarray, high: np.ndarray) -> bool:
        """Narrow a box, in its place, by the rows that bind; whether none of them is broken all over it."""
        row, _, count = self._terms
        terms = count * np.concatenate([high, low])[self._greatest]
        most = np.bincount(row, terms, len(self.least))
        broken = most < self._lacking
        binds = self._binding(low, high, broken)
        if (binds & broken).any():
            return False
        # each term must make up for what all others come to at most; a row that does not bind asks nothing
        lacking = np.where(binds, self._lacking - most, -np.inf)[row]
        edge, rising = (lacking + terms) / count, self._rising
        if rising:
            columns, starts = self._raised
            ends = np.ceil(np.maximum.reduceat(edge[:rising], starts) - WHOLE)
            low[columns] = np.maximum(low[columns], ends)
        if rising < len(edge):
            columns, starts = self._lowered
            ends = np.floor(np.minimum.reduceat(edge[rising:], starts) + WHOLE)
            high[columns] = np.minimum(high[columns], ends)
        return True

    def _narrow_by_products(self, low: np.ndarray, high: np.ndarray) -> bool:
        """Narrow a box, in its place, by the products; whether something is left."""
        if (low > high).any():
            return False
        target, at = self.products[:, 0], np.concatenate([low, high])
        corners = at[self._corners[0]] * at[self._corners[1]]
        np.maximum.at(low, target, corners.min(axis=0))
        np.minimum.at(high, target, corners.max(axis=0))
        factor, by, target = self._factors
        positive = (low[by] > 0.0) & (low[by] <= high[by]) & (low[factor] >= 0.0) & (low[target] >= 0.0)
        f, b, t = factor[positive], by[positive], target[positive]
        most, least = np.floor(high[t] / low[b] + WHOLE), np.ceil(low[t] / high[b] - WHOLE)
        np.minimum.at(high, f, most)
        np.maximum.at(low, f, least)
        return True

    # --- a linear program -----------------------------------------------------------------------

    def planes(self, box: Box) -> tuple[np.ndarray, np.ndarray]:
        """Rows ``matrix @ x >= least`` that all solutions in a box keep: rows under literals with the least constants that
        free them, products between the planes through their corners."""
        low, high = box
        row, _, count = self._terms
        lowest = np.bincount(row, count * np.concatenate([high, low])[self._lowest], len(self.least))
        spare = np.maximum(0.0, self.least - lowest)[:, None]
        matrix = self.matrix - spare * (self._true - self._false)
        least = self.least - spare[:, 0] * self._true.sum(axis=1)
        target, one, other = self.products.T
        rows, ends = [matrix], [least]
        which = np.arange(len(self.products))
        for a, b, sense in (
            (low[one], low[other], 1.0),
            (high[one], high[other], 1.0),
            (high[one], low[other], -1.0),
            (low[one], high[other], -1.0),
        ):
            planes = np.zeros((len(self.products), self.count))
            planes[which, target] = sense
            np.add.at(planes, (which, other), -sense * a)
            np.add.at(planes, (which, one), -sense * b)
            rows.append(planes)
            ends.append(-sense * a * b)
        return np.concatenate(rows), np.concatenate(ends)


def _starts(columns: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Which columns there are, in order, and where each of them begins."""
    return np.unique(columns, return_index=True)


def _count(
    literals: Sequence[int], sense: float, guard: Sequence[int]
) -> tuple[list[int], list[float], float, Sequence[int]]:
    """At least one literal is true (``sense`` +1), or at most one (-1), as a row."""
    at = [literal if literal >= 0 else -literal - 1 for literal in literals]
    counts = [sense if literal >= 0 else -sense for literal in literals]
    return at, counts, sense * (1.0 - sum(1 for literal in literals if literal < 0)), guard
