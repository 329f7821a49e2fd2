"""Models for the solver, and its answers.

The solver's documented Python layer also loads a library of data tables that is of no use here and takes
most of a second. These are the few methods that this package needs, straight on the solver's own
extension module; a test holds them against the documented layer.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from optimiser.compile.stopping import STOP

if TYPE_CHECKING:
    from ortools.sat.python import cp_model_helper as helper


@lru_cache(maxsize=1)
def library():
    """The solver's extension module."""
    from ortools.sat.python import cp_model_helper

    return cp_model_helper


@lru_cache(maxsize=1)
def _class() -> type:
    from ortools.util.python.sorted_interval_list import Domain

    lib = library()
    either, one = lib.BoolArgumentConstraint.bool_or, lib.BoolArgumentConstraint.exactly_one
    most = lib.BoolArgumentConstraint.at_most_one
    product, both = lib.LinearArgumentConstraint.prod, Domain(0, 1)

    class Model(lib.CpBaseModel):
        """Integer variables, rows and clauses. Names are those of the solver's documented layer."""

        def __init__(self) -> None:
            super().__init__(None)

        @property
        def proto(self) -> helper.CpModelProto:
            return self.model_proto

        def new_int_var(self, low: int, high: int, name: str) -> helper.IntVar:
            return lib.IntVar(self.model_proto).with_name(name).with_domain(Domain(low, high))

        def new_bool_var(self, name: str) -> helper.IntVar:
            return lib.IntVar(self.model_proto).with_name(name).with_domain(both)

        def add(self, row: helper.BoundedLinearExpression) -> helper.Constraint:
            return self._add_bounded_linear_expression(row)

        def add_row(
            self,
            variables: Sequence[int],
            counts: Sequence[int],
            low: int,
            high: int,
            enforce: Iterable[helper.Literal] = (),
        ) -> None:
            """``low <= sum of count * variable <= high`` under literals; variables by their index."""
            constraint = self.model_proto.constraints.add()
            constraint.linear.vars.extend([v for v, n in zip(variables, counts) if n])
            constraint.linear.coeffs.extend([n for n in counts if n])
            constraint.linear.domain.extend((low, high))
            constraint.enforcement_literal.extend([literal.index for literal in enforce])

        def add_bool_or(self, literals: Iterable[helper.Literal]) -> helper.Constraint:
            return self._add_bool_argument_constraint(either, *literals)

        def add_at_most_one(self, literals: Iterable[helper.Literal]) -> helper.Constraint:
            return self._add_bool_argument_constraint(most, *literals)

        def add_exactly_one(self, literals: Iterable[helper.Literal]) -> helper.Constraint:
            return self._add_bool_argument_constraint(one, *literals)

        def add_multiplication_equality(
            self, target: helper.IntVar, factors: Sequence[helper.IntVar]
        ) -> helper.Constraint:
            return self._add_linear_argument_constraint(product, target, *factors)

        def add_hint(self, variable: helper.IntVar, value: int) -> None:
            self.model_proto.solution_hint.vars.append(variable.index)
            self.model_proto.solution_hint.values.append(int(value))

        def maximize(self, expression: helper.LinearExpr | int) -> None:
            self.clear_objective()
            if isinstance(expression, int):  # the same for every design: any will do
                return
            flat, objective = lib.FlatIntExpr(expression), self.model_proto.objective
            objective.vars.extend([variable.index for variable in flat.vars])
            objective.coeffs.extend([-count for count in flat.coeffs])
            objective.offset, objective.scaling_factor = -flat.offset, -1.0

        def clear_objective(self) -> None:
            self.model_proto.clear_objective()

        def validate(self) -> str:
            return lib.CpSatHelper.validate_model(self.model_proto)

    return Model


def new_model():
    """An empty model."""
    return _class()()


def copy_of(model):
    """A model like another, to be added to on its own; expressions over the other's variables fit it."""
    copied = new_model()
    copied.proto.copy_from(model.proto)
    copied.rebuild_constant_map()
    return copied


class Answer:
    """What the solver says to a model under ``parameters``."""

    def __init__(self, model, parameters: helper.SatParameters) -> None:
        wrapper = library().SolveWrapper()
        parameters.catch_sigint_signal = False  # else it takes Ctrl-C for itself, in worker processes too
        wrapper.set_parameters(parameters)
        self.response_proto: helper.CpSolverResponse = STOP.solved(wrapper, model.proto)

    @property
    def status(self) -> str:
        return self.response_proto.status.name

    @property
    def best_objective_bound(self) -> float:
        return self.response_proto.best_objective_bound

    def value(self, expression) -> int:
        """The value of a variable or expression in the best solution found."""
        return library().ResponseHelper.value(self.response_proto, expression)
