"""A saved result taken up again, once it is clear that it belongs to the problem."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from optimiser.design import Space, spaces
from optimiser.errors import QuantityError, UsageError
from optimiser.problem.decisions import read_value
from optimiser.problem.model import Problem
from optimiser.score import Scorer
from optimiser.solve import Solution

AGREE = 0.01
"""Points within which a saved result's score must agree with the score of its design."""


def read_saved(path: Path) -> Mapping[str, Any]:
    """A result that ``solve --json`` wrote."""
    try:
        saved = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise UsageError(f"{path} cannot be read ({error.strerror})") from None
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError):
        raise UsageError(f"{path} is no JSON: save a result with 'optimiser solve FILE --json'") from None
    if not isinstance(saved, dict):
        raise UsageError(f"{path}: this is not a result of 'optimiser solve --json'")
    return saved


def restored(problem: Problem, saved: Mapping[str, Any]) -> Solution:
    """The solution that ``solve --json`` printed. UsageError where it does not belong to the problem."""
    design = saved.get("design")
    if saved.get("format") != 1 or not isinstance(design, Mapping) or "bound" not in saved:
        raise UsageError("the saved result has no proven design: make it with 'optimiser solve FILE --json'")
    try:
        given = {name: _number(problem, name, value) for name, value in design.items()}
    except (TypeError, ValueError, QuantityError) as error:
        raise UsageError(f"the saved result cannot be read: {error}") from None
    space = _space(problem, given, float(saved["grid"]))
    whole = space.complete(given)
    card = Scorer(problem, space).card(whole)
    if card.broken or abs(card.score - float(saved["score"])) > AGREE:
        raise UsageError(
            f"the saved result does not belong to this file: its design scores {card.score:.2f} here, "
            f"not {float(saved['score']):.2f}" + (", and breaks limits" if card.broken else "")
        )
    return Solution(
        problem,
        str(saved["status"]),
        float(saved["grid"]),
        bool(saved.get("between_grid", False)),
        None if saved["bound"] is None else float(saved["bound"]),
        space,
        whole,
        card,
    )


def _space(problem: Problem, design: Mapping[str, Any], grid: float) -> Space:
    for space in spaces(problem, grid=grid):
        if space.has(design):
            return space
    raise UsageError("the saved result does not belong to this file: its design is none that the file allows")


def _number(problem: Problem, name: str, value: Any) -> float:
    """A decision's value, of which a record writes some as words."""
    return read_value(problem, name, value) if isinstance(value, str) else float(value)
