"""From a solution to the files of its design sheet."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterable, Mapping
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from optimiser.complete import complete
from optimiser.design import Space, spaces
from optimiser.errors import QuantityError, UsageError
from optimiser.problem.decisions import read_value
from optimiser.problem.model import Problem
from optimiser.score import Scorer
from optimiser.sheet.content import drawings, sheet
from optimiser.sheet.html import html
from optimiser.sheet.material import Material
from optimiser.sheet.paper import Paper
from optimiser.sheet.pdf import plate_pdf, printable, sheet_pdf, unprintable
from optimiser.sheet.plates import Plate, plate
from optimiser.sheet.reasons import Reasons, asked
from optimiser.sheet.scene import Scene
from optimiser.solve import Solution, solve
from optimiser.study.front import Front, read_front

KINDS = ("html", "pdf", "svg", "dxf")
NEEDS = {"pdf": ("typst", "pdf"), "dxf": ("ezdxf", "cad")}
"""Kinds of file that need a library beyond the core: its name, and our extra that brings it."""

AGREE = 0.01
"""Points within which a saved result's score must agree with the score of its design."""


def missing(kind: str) -> str | None:
    """Why a kind of file cannot be written here, or None."""
    library, extra = NEEDS.get(kind, ("", ""))
    if not library or find_spec(library) is not None:
        return None
    return f"{kind.upper()} needs the extra '{extra}': pip install 'screening-room-optimiser[{extra}]'"


def read_traded(path: Path, problem: Problem, text: str) -> Front:
    """A front that was kept in a file. UsageError where it is of another problem file."""
    found = read_front(path, problem)
    if found.header.get("problem") != text:
        raise UsageError(f"{path} is a front of another problem file, or of this one before it was changed")
    return found


def gather(
    problem: Problem,
    text: str,
    name: str,
    *,
    saved: Mapping[str, Any] | None = None,
    prices: bool = True,
    freedom: bool = False,
    front: Front | None = None,
) -> Material:
    """Solve a problem, or take a saved result in its place; ask why it is so (without ``prices``, only
    of an impossible problem; with ``freedom``, also how far it may move), and complete the file's own designs.
    ``front``: a front of the same problem, to be shown beside."""
    solution = solve(problem) if saved is None else restored(problem, saved)
    reasons = asked(solution, prices=prices, freedom=freedom)
    if solution.design is None:
        return Material(solution, text, name, reasons=reasons)
    designs = tuple((label, complete(problem, dict(given))) for label, given in problem.designs)
    return Material(solution, text, name, designs, reasons, front)


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


def write(material: Material, folder: Path, kinds: Iterable[str], papers: Iterable[Paper]) -> list[Path]:
    """Write the files of a sheet into a folder; the paths written."""
    papers = tuple(papers)
    written: list[Path] = []

    def put(name: str, data: bytes) -> None:
        path = folder / name
        path.write_bytes(data)
        written.append(path)

    plain = legible(material)  # the material itself, unless some letter cannot be printed
    whole = sheet(material, papers[0]) if "html" in kinds or plain is material else None
    if "html" in kinds and whole is not None:
        put("sheet.html", html(whole).encode("utf-8"))
    if "pdf" in kinds:
        for paper in papers:
            made = whole if whole is not None and plain is material and paper == papers[0] else sheet(plain, paper)
            put(f"sheet-{paper.name.lower()}.pdf", sheet_pdf(made, paper))
    scenes = drawings(material, papers[0])
    if "svg" in kinds:
        for one in _plates(material, scenes):
            put(f"{one.name}.svg", one.svg.encode("utf-8"))
    if "pdf" in kinds:
        for one in _plates(plain, scenes if plain is material else drawings(plain, papers[0])):
            put(f"{one.name}.pdf", plate_pdf(one))
    if "dxf" in kinds:
        from optimiser.sheet.dxf import write_dxf

        path = folder / ("room.dxf" if material.solution.design is None else "drawings.dxf")
        write_dxf(path, scenes, material.problem.show, material.problem.title)
        written.append(path)
    return written


def _plates(material: Material, scenes: Iterable[Scene]) -> list[Plate]:
    """Each drawing by itself."""
    problem = material.problem
    return [plate(one.name, [one], f"{problem.title}: {one.title}", system=problem.show) for one in scenes]


def legible(material: Material) -> Material:
    """The material with every text in letters that PDFs here can show; itself where it is so already."""
    problem = material.problem
    names = [one.name for one in (*problem.room.doors, *problem.room.obstructions, *problem.room.openings)]
    names += [item.name for one in problem.listings for item in one.items] + [problem.currency]
    sources = [one.source or "" for one in (*problem.goals, *problem.limits)]
    labels = [label for label, _ in material.designs]
    if not unprintable([problem.title, material.text, material.name, *names, *sources, *labels]):
        return material
    return dataclasses.replace(
        material,
        solution=_legible_solution(material.solution),
        text=printable(material.text),
        name=printable(material.name),
        designs=tuple((printable(label), completed) for label, completed in material.designs),
        reasons=_legible_reasons(material.reasons),
    )


def _legible_problem(problem: Problem) -> Problem:
    def named(things: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(dataclasses.replace(one, name=printable(one.name)) for one in things)

    def sourced(things: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(dataclasses.replace(o, source=printable(o.source) if o.source else o.source) for o in things)

    room = problem.room
    return dataclasses.replace(
        problem,
        title=printable(problem.title),
        room=dataclasses.replace(
            room, doors=named(room.doors), obstructions=named(room.obstructions), openings=named(room.openings)
        ),
        goals=sourced(problem.goals),
        limits=sourced(problem.limits),
        listings=tuple(dataclasses.replace(one, items=named(one.items)) for one in problem.listings),
        currency=printable(problem.currency),
    )


def _legible_solution(solution: Solution) -> Solution:
    problem, card = _legible_problem(solution.problem), solution.card
    if card is not None:
        # the card carries the goals, whose sources are printed
        shown = tuple(dataclasses.replace(one, goal=problem.goals[one.index]) for one in card.goals)
        card = dataclasses.replace(card, goals=shown)
    return dataclasses.replace(solution, problem=problem, card=card)


def _legible_reasons(reasons: Reasons) -> Reasons:
    """The nearest design too is drawn with names from the file."""
    found = reasons.concessions
    if found is None or found.joint is None:
        return reasons
    joint = dataclasses.replace(found.joint, solution=_legible_solution(found.joint.solution))
    return dataclasses.replace(reasons, concessions=dataclasses.replace(found, joint=joint))


def read_saved(path: Path) -> Mapping[str, Any]:
    """A result that ``solve --json`` wrote."""
    try:
        saved = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, json.JSONDecodeError) as error:
        raise UsageError(f"{path}: {error}") from None
    if not isinstance(saved, dict):
        raise UsageError(f"{path}: this is not a result of 'optimiser solve --json'")
    return saved
