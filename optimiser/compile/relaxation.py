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


class Relaxation:
    """``matrix @ x >= least`` within a box; ``solved``: whether the last program was, and has a solution."""

    def __init__(self, matrix: np.ndarray, least: np.ndarray, box: Box) -> None:
        from ortools.linear_solver import pywraplp

        low, high = box
        self._optimal, self._none = pywraplp.Solver.OPTIMAL, pywraplp.Solver.INFEASIBLE
        # each variable counts in its greatest magnitude, each row in its greatest coefficient
        self._unit = np.maximum(1.0, np.maximum(np.abs(low), np.abs(high)))
        scaled = matrix * self._unit
        size = np.maximum(1e-300, np.abs(scaled).max(axis=1, initial=0.0))
        self._matrix, self._least = scaled / size[:, None], least / size
        self._low, self._high = low / self._unit, high / self._unit
        self._solver = solver = pywraplp.Solver.CreateSolver("GLOP")
        solver.SetSolverSpecificParametersAsString("use_preprocessing: false")
        self._columns = [solver.NumVar(a, b, "") for a, b in zip(self._low.tolist(), self._high.tolist())]
        self._short = solver.NumVar(0.0, 0.0, "")  # by how much every row may be missed: not at all
        infinity = solver.infinity()
        self._rows = [solver.Constraint(end, infinity) for end in self._least.tolist()]
        at, of = np.nonzero(self._matrix)
        for row, column, coefficient in zip(at.tolist(), of.tolist(), self._matrix[at, of].tolist()):
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
        return float(np.minimum(cost * self._low, cost * self._high).sum())

    def point(self, at: Sequence[int]) -> np.ndarray:
        """The values of some variables where the last program was ``solved``."""
        return np.array([self._columns[k].solution_value() for k in at]) * self._unit[at]

    def certain(self) -> float:
        """What the sum of the last program, which was ``solved``, is at least, for certain."""
        return self._certain(self._cost, self._multipliers())

    def within(self, box: Box) -> None:
        """From now on, look into a part of the box only; the rows stay as they are."""
        self._low, self._high = box[0] / self._unit, box[1] / self._unit
        for column, a, b in zip(self._columns, self._low.tolist(), self._high.tolist()):
            column.SetBounds(a, b)

    def _multipliers(self) -> np.ndarray:
        return np.maximum(0.0, np.array([row.dual_value() for row in self._rows]))

    def _certain(self, cost: np.ndarray, multipliers: np.ndarray) -> float:
        """What ``cost @ x`` is at least: rows weighed by multipliers that are none below 0, and for the rest the box; less
        what rounding may have added."""
        rest = cost - multipliers @ self._matrix
        found = multipliers @ self._least + np.minimum(rest * self._low, rest * self._high).sum()
        # what all the roundings on the way there can come to
        reach = np.maximum(np.abs(self._low), np.abs(self._high))
        size = multipliers @ np.abs(self._least) + (np.abs(cost) + multipliers @ np.abs(self._matrix)) @ reach
        return float(found - ROUNDING * (sum(self._matrix.shape) + 4) * size)

    def _contradictory(self) -> bool:
        """Whether the rows cannot be kept together: by how much all must be missed at least, for that to be possible."""
        self._short.SetBounds(0.0, self._solver.infinity())
        self._objective.Clear()
        self._objective.SetCoefficient(self._short, 1.0)
        self._objective.SetMinimization()
        sure = False
        if self._solver.Solve() == self._optimal:
            multipliers = self._multipliers()
            multipliers /= max(1.0, multipliers.sum())  # what the shortfall itself costs
            sure = self._certain(np.zeros(len(self._columns)), multipliers) > SURE
        self._short.SetBounds(0.0, 0.0)
        return sure
