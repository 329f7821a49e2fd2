"""From a space with its limits and goals to a CP-SAT model, and back from its answer to a design."""

from optimiser.compile.conditions import LEVELS, Compiled
from optimiser.compile.intervals import EXACTNESS

__all__ = ["EXACTNESS", "LEVELS", "Compiled"]
