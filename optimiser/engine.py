"""The solver run on one model: with which parameters, for how long, and what may be believed of its answer."""

from __future__ import annotations

from optimiser.compile import Compiled
from optimiser.compile.model import Answer, library
from optimiser.errors import InternalError

EFFORT = 60.0
"""Deterministic seconds of the solver for one model: the same limit on every machine."""

BRIEFLY = 0.01
"""Deterministic seconds in which most answers show, with little said about products."""

FEW, AT_ONCE = 70, 0.001
"""Variables of a small model, and deterministic seconds for which it is first taken as it stands: most of what the solver
takes for an easy one is to simplify it."""

PIECES = 8
"""Pieces in which products are then bounded."""


def load_solver() -> None:
    """Load the solver's library now, so that processes which begin after this have it already."""
    library()


def parameters_of(effort: float):
    """With which the solver gives the same answer every time: one worker, a fixed seed, deterministic time."""
    parameters = library().SatParameters()
    parameters.num_workers = 1
    parameters.random_seed = 1
    parameters.linearization_level = 2
    parameters.max_deterministic_time = effort
    return parameters


def run(compiled: Compiled, effort: float = EFFORT, *, presolve: bool = True, sure: bool = True):
    """Solve a model; the status's name, and the solver to read the answer from. Without ``presolve`` it is taken as it
    stands, and so is a small one at first. Unless it is to be ``sure``, that there is no solution, or none better,
    may be wrong where the model is heavy; a solution never is."""
    if presolve and compiled.size <= FEW and effort > AT_ONCE:
        status, answer = run(compiled, AT_ONCE, presolve=False, sure=sure)
        if status in ("OPTIMAL", "INFEASIBLE"):
            return status, answer
    parameters = parameters_of(effort)
    parameters.cp_model_presolve = presolve
    if sure and compiled.heavy:
        # A step that this limit of 0 leaves out adds up coefficients of booleans in 32 bits, in version 9.15 of
        # the solver: a heavy row under a literal might be made to hold always, and designs be lost to the proof.
        parameters.presolve_inclusion_work_limit = 0
        # without that step, probing may go on a hundred times as long as a proof takes
        parameters.cp_model_probing_level = 0
    if compiled.vast:
        # A factor of two values makes two lines of a product. Where such lines meet, version 9.15 of the solver, with
        # this on, multiplies the slope of one by what the other comes to, in 64 bits: beyond them it finds a contradiction.
        parameters.auto_detect_greater_than_at_least_one_of = False
    answer = Answer(compiled.model, parameters)
    if answer.status == "MODEL_INVALID":
        raise InternalError(
            "the model was refused by the solver; this is a fault of the program: " + compiled.model.validate()
        )
    return answer.status, answer


def decide(compiled: Compiled, effort: float = EFFORT):
    """As run(), begun with little said about products; where no answer shows soon, they are bounded piece by piece in the
    same model. The status's name, the solver to read the answer from, and the deterministic seconds of both tries."""
    status, answer = run(compiled, min(BRIEFLY, effort))
    took = answer.response_proto.deterministic_time
    if status in ("OPTIMAL", "INFEASIBLE") or took >= effort:
        return status, answer, took
    compiled.divide_levels(PIECES)
    again, better = run(compiled, effort - took)
    took += better.response_proto.deterministic_time
    return (status, answer, took) if again == "UNKNOWN" else (again, better, took)


def ask_for(compiled: Compiled, score: float) -> None:
    """Ask a model only for designs that score at least so many points."""
    if compiled.objective is not None:
        compiled.model.add(compiled.objective >= compiled.asked(score))
