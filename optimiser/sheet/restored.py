"""A saved result taken up again, once it is clear that it belongs to the problem."""

from __future__ import annotations

import json
import math
import shlex
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from optimiser.design import Space, grid_of, spaces
from optimiser.errors import QuantityError, UsageError
from optimiser.extremes import asked_words
from optimiser.measures import catalogue
from optimiser.problem.decisions import read_value, with_all_fixed
from optimiser.problem.model import Problem
from optimiser.quantity import show_grid
from optimiser.score import Scorer
from optimiser.sheet.proof import extreme_words, pins_words
from optimiser.solve import Solution
from optimiser.words import rounded_words

AGREE = 0.01
"""Points within which a saved result's score must agree with the score of its design."""

PROVEN = frozenset({"status", "score", "bound", "grid"})
"""What a saved result has beside its design."""


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
    """The solution that ``solve --json`` printed, of the problem with what was pinned then. UsageError where it does not
    belong to the problem."""
    design = saved.get("design")
    said, problem = problem.said, with_all_fixed(problem, fixed_in(saved))
    if saved.get("format") == 1 and design is None and saved.get("status") in ("impossible", "unknown"):
        raise UsageError(
            "the saved result has no design: leave out --from, and the sheet tells why there is none, as far as that is known"
        )
    if saved.get("format") != 1 or not isinstance(design, Mapping) or not PROVEN.issubset(saved):
        raise UsageError("the saved result has no proven design: make it with 'optimiser solve FILE --json'")
    try:
        given = {name: _number(problem, name, value) for name, value in design.items()}
        grid, score = float(saved["grid"]), float(saved["score"])
        bound = None if saved["bound"] is None else float(saved["bound"])
    except (TypeError, ValueError, QuantityError) as error:
        raise UsageError(f"the saved result cannot be read: {error}") from None
    if not 0.0 < grid < math.inf:
        raise UsageError(f"the saved result cannot be read: its grid is {grid:g} m")
    if said is not None and saved.get("file") not in (None, said):
        raise UsageError(
            "the saved result does not belong to this file, or to what it says now: what was proven then need not hold of it. "
            "Solve it again"
        )
    space = _space(problem, given, grid)
    whole = space.complete(given)
    card = Scorer(problem, space).card(whole)
    if card.broken or abs(card.score - score) > AGREE:
        raise UsageError(
            f"the saved result does not belong to this file: its design scores {card.score:.2f} here, "
            f"not {score:.2f}" + (", and breaks limits" if card.broken else "")
        )
    return Solution(
        problem,
        str(saved["status"]),
        grid,
        bool(saved.get("between_grid", False)),
        bound,
        space,
        whole,
        card,
        asked=_asked(problem, saved),
    )


def fixed_in(saved: Mapping[str, Any]) -> dict[str, str]:
    """The decisions that were pinned beside the file when a result was made, as they were written."""
    fixed = saved.get("fixed", {})
    if not isinstance(fixed, Mapping) or not all(isinstance(value, str) for value in fixed.values()):
        raise UsageError("the saved result cannot be read: 'fixed' should be decisions by name")
    return dict(fixed)


def made_words(problem: Problem, saved: Mapping[str, Any], name: str) -> str | None:
    """How a sheet of a saved result was made from the file ``name``, where more was asked than what that says."""
    again = f"optimiser sheet {shlex.quote(name)} --from result.json --out ."
    if saved.get("file") is None:
        return f"{again}, of a result that does not say of which file it is, nor all that was asked"
    command = _command_of(problem, saved, name)
    return None if command is None else f"{command} > result.json, then {again}"


def _command_of(problem: Problem, saved: Mapping[str, Any], name: str) -> str | None:
    """How the file was asked for a saved result; None where nothing was asked beside it."""
    words = ["optimiser", "solve", name, *(w for pin in fixed_in(saved).items() for w in ("--fix", "=".join(pin)))]
    plain = len(words)
    if (extreme := saved.get("extreme")) is not None:
        name, known = str(extreme["measure"]), catalogue()
        asked = asked_words(name, tuple(extreme["options"].items())) if name in known else name
        words += ["--maximise" if extreme["of"] == "greatest" else "--minimise", asked]
        words += ["--row", str(extreme["row"])] if name in known and known[name].per_row else []
    if "robust" in saved:
        words += ["--robust", *_varying(problem, saved["robust"])]
    if saved.get("between_grid", False):
        words.append("--between-grid")
    if abs(float(saved["grid"]) - grid_of(problem)) > 1e-9:
        words += ["--grid", show_grid(float(saved["grid"]), "mm")]
    return None if len(words) == plain and not fixed_in(saved) else shlex.join([*words, "--json"])


def _varying(problem: Problem, robust: Mapping[str, Any]) -> list[str]:
    """What was asked of tolerances beside what the file says of them."""
    from optimiser.explain.tolerance_records import people_record, spread_record

    words = []
    try:
        stated = [spread_record(spread) for spread in problem.tolerances]
        for one in robust["varies"]:
            if one not in stated:
                amount, how = (one["within"], "") if one["sigma"] is None else (one["sigma"], "sigma ")
                unit = "" if one["unit"] == "1" else f" {one['unit']}"
                shown = show_grid(amount, problem.show) if one["unit"] == "m" else f"{amount:.10g}{unit}"
                words += ["--spread", f"{one['input']}={how}{shown}"]
        people = robust["people"]
        if people is not None and people != people_record(problem.people):
            words += ["--people", str(people["table"]), "--women", f"{100.0 * people['women']:g} %"]
        if robust["share"] is not None:
            words += ["--share", f"{100.0 * robust['share']:g} %"]
    except (KeyError, TypeError):
        raise UsageError(_UNREADABLE.format("robust")) from None
    return words


def _asked(problem: Problem, saved: Mapping[str, Any]) -> tuple[str, ...]:
    """What a saved result's proof supposes beside the file, after "no design"."""
    words = [] if saved.get("file") is not None else ["of the file as it then was"]
    words += pins_words(fixed_in(saved)) or ([] if words == [] else ["with what may have been pinned then"])
    if (extreme := saved.get("extreme")) is not None:
        try:
            options, greatest = tuple(extreme["options"].items()), extreme["of"] == "greatest"
            words.append(extreme_words(str(extreme["measure"]), options, str(extreme["row"]), greatest))
        except (KeyError, TypeError, AttributeError):
            raise UsageError(_UNREADABLE.format("extreme")) from None
    if "robust" in saved:
        words += _corners(saved["robust"])
    return tuple(words)


_UNREADABLE = "the saved result cannot be read: its '{}' is not as 'optimiser solve' writes it"


def _corners(robust: Any) -> list[str]:
    """At which corners of the tolerances the limits of all designs that a proof is about hold."""
    try:
        reach = float(robust["reach"])
    except (KeyError, TypeError, ValueError):
        raise UsageError(_UNREADABLE.format("robust")) from None
    if reach == 0.0:
        return []
    # rounded up: of designs that hold farther out the proof is true too
    share = "" if reach == 1.0 else f"{rounded_words(100.0 * reach, 0, up=True)} % of "
    return [f"whose limits hold at every corner of {share}the tolerances too"]


def _space(problem: Problem, design: Mapping[str, Any], grid: float) -> Space:
    for space in spaces(problem, grid=grid):
        if space.has(design):
            return space
    raise UsageError("the saved result does not belong to this file: its design is none that the file allows")


def _number(problem: Problem, name: str, value: Any) -> float:
    """A decision's value, of which a record writes some as words."""
    return read_value(problem, name, value) if isinstance(value, str) else float(value)
