"""Linear programs over a box of a model, and what of their answers is certain.

A linear program is solved in floating point, with tolerances. None of that need be believed: from the
multipliers that come with an answer, whatever they are worth, a bound follows that holds by itself
(A. Neumaier, O. Shcherbina, Safe bounds in linear and mixed-integer linear programming, Mathematical
Programming 99, 2004; from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from optimiser.compile.frame import Box

ROUNDING = 4.0 * 2.0**-53
"""What a term of a sum can lose in double precision, with some to spare."""

SURE = 1e-7
"""By how much rows, their coefficients scaled to 1, must fail to hold together to count as contradictory: far above what
rounding does."""

TIGHT = 1e-5
"""By how much a row, its coefficients scaled to 1, may be kept with room to spare and still bear on an answer: more than
the solver's tolerances."""


class Rows:
    """Rows ``matrix @ x >= least``, with each variable in terms of its ``unit``, which is its greatest magnitude in a box,
    and each row in terms of its greatest coefficient, its ``size``."""

    def __init__(self, matrix: np.ndarray, least: np.ndarray, box: Box) -> None:
        self.unit = np.maximum(1.0, np.maximum(np.abs(box[0]), np.abs(box[1])))
        scaled = matrix * self.unit
        self.size = np.maximum(1e-300, np.abs(scaled).max(axis=1, initial=0.0))
        self.matrix, self.least = scaled / self.size[:, None], least / self.size

    def certain(self, cost: np.ndarray, multipliers: np.ndarray, box: Box, rows: np.ndarray | slice = slice(None)):
        """What ``cost @ x``, x in units, is at least in a box, for certain: some ``rows``, so counted, weighed by multipliers
        that are none below 0, and for the rest the box; less what rounding may have added. Of several costs at once, each
        with its multipliers as a row."""
        matrix, least, low, high = self.matrix[rows], self.least[rows], box[0] / self.unit, box[1] / self.unit
        # "@" of two matrices may wake threads, which keep a core busy long after that
        weighed = multipliers @ matrix if multipliers.ndim == 1 else np.einsum("ki,ij->kj", multipliers, matrix)
        rest = cost - weighed
        found = multipliers @ least + np.minimum(rest * low, rest * high).sum(axis=-1)
        # what all the roundings on the way there can come to
        reach = np.maximum(np.abs(low), np.abs(high))
        size = np.abs(cost) @ reach + multipliers @ (np.abs(least) + np.abs(matrix) @ reach)
        return found - ROUNDING * (sum(matrix.shape) + 4) * size

    def contradictory(self, multipliers: np.ndarray, box: Box, rows: np.ndarray | slice = slice(None)) -> bool:
        """Whether some rows cannot be kept together in a box: weighed by multipliers, which count as if they came to no more
        than 1."""
        multipliers = multipliers / max(1.0, multipliers.sum())  # what the shortfall itself costs
        return bool(self.certain(np.zeros(self.matrix.shape[1]), multipliers, box, rows) > SURE)


class Relaxation:
    """``matrix @ x >= least`` within a box; ``solved``: whether the last program was, and has a solution. Rows that say
    nothing in the box are left out."""

    def __init__(self, matrix: np.ndarray, least: np.ndarray, box: Box) -> None:
        from ortools.linear_solver import pywraplp

        low, high = box
        self._optimal, self._none = pywraplp.Solver.OPTIMAL, pywraplp.Solver.INFEASIBLE
        self._says = np.minimum(matrix * low, matrix * high).sum(axis=1) < least
        self._lines = Rows(matrix[self._says], least[self._says], box)
        self._unit, self._box, self._last = self._lines.unit, box, np.zeros(0)
        matrix, least, low, high = self._lines.matrix, self._lines.least, low / self._unit, high / self._unit
        self._solver = solver = pywraplp.Solver.CreateSolver("GLOP")
        solver.SetSolverSpecificParametersAsString("use_preprocessing: false use_scaling: false")
        self._columns = [solver.NumVar(a, b, "") for a, b in zip(low.tolist(), high.tolist())]
        self._short = solver.NumVar(0.0, 0.0, "")  # by how much every row may be missed: not at all
        infinity = solver.infinity()
        self._rows = [solver.Constraint(end, infinity) for end in least.tolist()]
        at, of = np.nonzero(matrix)
        for row, column, coefficient in zip(at.tolist(), of.tolist(), matrix[at, of].tolist()):
            self._rows[row].SetCoefficient(self._columns[column], coefficient)
        for row in self._rows:
            row.SetCoefficient(self._short, 1.0)
        self._objective = solver.Objective()
        self._cost = np.zeros(len(self._columns))
        self.solved = False

    def lowest(self, weights: Mapping[int, float]) -> float | None:
        """What the weighted sum of some variables is at least, as far as can be told; None where the rows cannot be kept
        together, for certain."""
        self._cost = cost = np.zeros(len(self._columns))
        self._objective.Clear()
        for k, weight in weights.items():
            cost[k] = weight * self._unit[k]
            self._objective.SetCoefficient(self._columns[k], cost[k])
        self._objective.SetMinimization()
        status = self._solver.Solve()
        self.solved = status == self._optimal
        if self.solved:
            return self._objective.Value()
        if status == self._none and self._contradictory():
            return None
        low, high = self._box[0] / self._unit, self._box[1] / self._unit
        return float(np.minimum(cost * low, cost * high).sum())

    def point(self, at: Sequence[int]) -> np.ndarray:
        """The values of some variables where the last program was ``solved``."""
        return np.array([self._columns[k].solution_value() for k in at]) * self._unit[at]

    def multipliers(self) -> np.ndarray:
        """Those of the rows that say anything, in the last program, which was ``solved``."""
        # rows that are kept with room to spare weigh nothing; to ask each of them for that takes long
        tight = np.flatnonzero(np.array(self._solver.ComputeConstraintActivities()) < self._lines.least + TIGHT)
        found = np.zeros(len(self._rows))
        found[tight] = [self._rows[k].dual_value() for k in tight.tolist()]
        self._last = np.maximum(0.0, found)
        return self._last

    def surely(self) -> float:
        """What the sum of the last program, which was ``solved``, is at least, for certain."""
        return float(self._lines.certain(self._cost, self.multipliers(), self._box))

    def certain(self, ends: Sequence[tuple[int, float]], multipliers: Sequence[np.ndarray]) -> np.ndarray:
        """What variables, each times a sign, are at least, for certain, by as many sets of ``multipliers``."""
        costs = np.zeros((len(ends), len(self._columns)))
        for row, (k, sign) in zip(costs, ends):
            row[k] = sign * self._unit[k]
        weighed = np.reshape(multipliers, (len(ends), len(self._rows)))
        some = np.flatnonzero(weighed.any(axis=0))
        return self._lines.certain(costs, weighed[:, some], self._box, some)

    @property
    def shown(self) -> np.ndarray:
        """By which multipliers of the rows as they were given the last bound, or that they contradict each other, was shown."""
        return self.of_all(self._last)

    def of_all(self, multipliers: np.ndarray) -> np.ndarray:
        """Multipliers of the rows that say anything, as those of all rows as they were given."""
        shown = np.zeros(len(self._says))
        shown[self._says] = multipliers / self._lines.size
        return shown

    def within(self, box: Box) -> None:
        """From now on, look into a part of the box only; the rows stay as they are."""
        before, self._box = self._box, box
        low, high = box[0] / self._unit, box[1] / self._unit
        for k in np.flatnonzero((before[0] != box[0]) | (before[1] != box[1])).tolist():
            self._columns[k].SetBounds(float(low[k]), float(high[k]))

    def _contradictory(self) -> bool:
        """Whether the rows cannot be kept together: by how much all must be missed at least, for that to be possible."""
        self._short.SetBounds(0.0, self._solver.infinity())
        self._objective.Clear()
        self._objective.SetCoefficient(self._short, 1.0)
        self._objective.SetMinimization()
        sure = False
        if self._solver.Solve() == self._optimal:
            sure = self._lines.contradictory(self.multipliers(), self._box)
        self._short.SetBounds(0.0, 0.0)
        return sure
