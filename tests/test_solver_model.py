"""The few methods that the package calls on the solver's extension module, against the solver's documented layer."""

from __future__ import annotations

import subprocess
import sys

from optimiser.compile.model import Answer, copy_of, library, new_model


def test_a_model_is_what_the_documented_layer_makes_of_it():
    from ortools.sat.python import cp_model

    def small(model, rows):
        x, y = model.new_int_var(-3, 40, "x"), model.new_int_var(0, 7, "y")
        product, pick, other = model.new_int_var(-300, 300, "p"), model.new_bool_var("a"), model.new_bool_var("b")
        model.add_multiplication_equality(product, [x, y])
        model.add_exactly_one([pick, other])
        model.add_at_most_one([pick, other.negated()])
        model.add_bool_or([pick.negated(), other])
        model.add(x + 2 * y <= 30).only_enforce_if(pick)
        rows(model, x, y, pick, other)
        model.add_hint(x, 5)
        model.maximize(3 * x - 2 * y + product + 7)
        return model

    def documented(model, x, y, pick, other):
        model.add_linear_constraint(5 * x - 3 * y + 0 * pick, -20, 90)
        model.add_linear_constraint(x - y, 2, 2**63 - 1).only_enforce_if(pick.negated(), other)

    def ours(model, x, y, pick, other):
        model.add_row([x.index, y.index, pick.index], [5, -3, 0], -20, 90)
        model.add_row([x.index, y.index], [1, -1], 2, 2**63 - 1, [pick.negated(), other])

    theirs, mine = small(cp_model.CpModel(), documented), small(new_model(), ours)
    assert str(mine.proto) == str(theirs.proto) == str(copy_of(mine).proto)
    assert mine.validate() == ""

    solver, parameters = cp_model.CpSolver(), library().SatParameters()
    solver.parameters.num_workers = parameters.num_workers = 1
    status = solver.solve(theirs)
    answer = Answer(mine, parameters)
    assert answer.status == status.name == "OPTIMAL"
    assert answer.best_objective_bound == solver.best_objective_bound == solver.objective_value
    mine.clear_objective()
    assert not mine.proto.has_objective()


def test_a_solve_loads_no_library_of_data_tables():
    """Half the time of a whole command, and nothing of it is used."""
    words = "import sys; from optimiser import load, solve; solve(load(sys.argv[1])); print('pandas' in sys.modules)"
    from tests.support.files import FOLDER

    done = subprocess.run(
        [sys.executable, "-c", words, str(FOLDER / "snug-panel.yaml")], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "False"
