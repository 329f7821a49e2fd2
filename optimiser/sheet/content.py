"""The design sheet's content: which sections, in which order."""

from __future__ import annotations

import shlex
from dataclasses import replace

from optimiser import __version__
from optimiser.cautions import cautions, of_limits
from optimiser.explain.sayings import given_words, rounding_words
from optimiser.measures import catalogue
from optimiser.notes import on_numbers
from optimiser.quantity import show, show_grid
from optimiser.record import PROGRAM
from optimiser.sheet import chapters, prose
from optimiser.sheet.brief import brief, things
from optimiser.sheet.document import Block, Facts, Listing, Paragraph, Plates, Section, Sheet, Verbatim
from optimiser.sheet.drawings import SIDES, TALLEST, room_alone
from optimiser.sheet.material import Material
from optimiser.sheet.paper import Paper
from optimiser.sheet.picture import one_line
from optimiser.sheet.plates import plate
from optimiser.sheet.proof import proof_words
from optimiser.sheet.reasons import conflict_sections, freedom_section, prices_section
from optimiser.standing import broken
from optimiser.words import listed


def sheet(material: Material, paper: Paper) -> Sheet:
    """The whole design sheet, its plates fitted to a size of paper."""
    solution, problem = material.solution, material.problem
    if solution.design is None:
        return _impossible(material, paper)
    f = material.figure
    width = paper.width - 2 * SIDES
    two = chapters.plans(material, f, width)
    line = one_line(f, problem.show)
    sections = [
        Section("The room and the brief", tuple(Paragraph(p) for p in brief(problem)), "brief"),
        chapters.design(material, f, width, two),
        chapters.score(material, width),
        chapters.limits(material),
        *prices_section(problem, material.reasons),
        *freedom_section(problem, material.reasons),
        *chapters.designs(material, f, width),
        *_front(material),
        chapters.rows(material, f, width, two[0].denominator),
        chapters.places(material, f),
        chapters.schedule(material, f),
        *_trust(material),
        Section("Cautions", (Listing(tuple(cautions(problem, material.space, material.design))),), "cautions"),
        _method(material),
        _file(material),
    ]
    diagonal = float(catalogue()["image_diagonal"].form(material.space.layout).value(material.design))
    facts = (
        ("score", f"{solution.score:.1f} of 100"),
        ("image width", show("length", f.image_width, problem.show)),
        ("image diagonal", show("length", diagonal, problem.show)),
        (
            "rows and seats",
            f"{things(len(f.rows), 'row')}, {things(sum(len(r.seats) + len(r.places) for r in f.rows), 'seat')}",
        ),
        (
            "baffle wall",
            f"{show('length', f.baffle[1] - f.baffle[0], problem.show)} wide" if f.baffle_depth else "none",
        ),
    )
    return Sheet(problem.title, line + ".", proof_words(solution), facts, tuple(sections), __version__)


def _front(material: Material) -> list[Section]:
    """The front that was handed over, where one was; most sheets have none, and need not wait for its modules."""
    if material.front is None:
        return []
    from optimiser.sheet.bargain import front_section

    return [front_section(material, material.front)]


def _trust(material: Material) -> list[Section]:
    """How far the numbers can be trusted, where a formula is stretched."""
    said = on_numbers(material.problem, material.space, material.design)
    return [Section("How far to trust the numbers", tuple(Paragraph(note) for note in said), "trust")] if said else []


def _method(material: Material) -> Section:
    solution, problem = material.solution, material.problem
    covers = (
        "every design whatever, on the grid or between its points"
        if solution.between
        else f"every design on the {show_grid(solution.grid, problem.show)} grid"
    )
    covers = " ".join([covers, *([listed(solution.asked)] if solution.asked else [])])
    made = material.made or f"optimiser sheet {shlex.quote(material.name)} --out ."
    certificate: list[tuple[str, str]] = [("status", solution.status)]
    if solution.score is not None:
        certificate += [
            ("score", f"{solution.score:.4f} of 100, by exact formulas"),
            ("bound", f"{solution.bound:.4f}" if solution.bound is not None else "none"),
            ("gap", f"{solution.gap:.4f}" if solution.gap is not None else "none"),
        ]
    certificate += [
        *([("covers", covers)] if solution.design is not None or solution.status == "impossible" else []),
        ("program", PROGRAM),
        ("made by", made),
    ]
    blocks: tuple[Block, ...] = (
        Paragraph(f"{prose.METHOD}{_proven(material)} {prose.SAME}"),
        Facts(tuple(certificate)),
    )
    return Section("Method and certificate", blocks, "method")


def _proven(material: Material) -> str:
    """What the solver was asked, and what it found."""
    solution = material.solution
    if solution.design is None and solution.status != "impossible":
        return prose.METHOD_UNKNOWN
    if solution.design is None:
        near = material.reasons.nearest
        return prose.METHOD_NONE if near is None else f"{prose.METHOD_NONE} {prose.METHOD_NEAR}"
    return prose.METHOD_BEST if solution.problem.goals else prose.METHOD_ANY


def _file(material: Material) -> Section:
    original = material.text if material.original is None else material.original
    blocks = (
        Paragraph(prose.AGAIN),
        Verbatim(material.text, material.name, original, prose.ATTACHED.format(material.name)),
    )
    return Section("The problem file", blocks, "file")


def _impossible(material: Material, paper: Paper) -> Sheet:
    solution, problem = material.solution, material.problem
    if solution.status == "impossible":
        line = "No design holds all the limits."
        proof = f"Proven: no design on the {show_grid(solution.grid, problem.show)} grid holds them all."
        why = conflict_sections(problem, material.reasons)
    else:
        line = "No design was found, and none was proven impossible."
        proof = "The effort allowed was spent before an answer was reached."
        why = [Section("Why there is no design", (Paragraph(prose.UNKNOWN),), "conflict")]
    sections = (
        *why,
        Section("The room and the brief", tuple(Paragraph(p) for p in brief(problem)), "brief"),
        *_nearest(material, paper),
        *_without_design(material),
        *_empty(material, paper),
        _method(material),
        _file(material),
    )
    return Sheet(problem.title, line, proof, (), sections, __version__)


def _nearest(material: Material, paper: Paper) -> list[Section]:
    """The design that the least concession makes possible, drawn."""
    nearest = material.reasons.nearest
    if nearest is None or nearest.solution.design is None:
        return []
    problem = material.problem
    solution = nearest.solution
    breaks = broken(solution.space, solution.design, nearest.card)
    gives = given_words(problem, breaks, nearest.loosenings)
    mark = prose.MARK_LIMITS if len(gives) == len(breaks) else prose.MARK_BOTH if breaks else prose.MARK_RANGES
    mark = mark.format(things(len(breaks), "limit"))
    near = replace(material, solution=nearest.solution, mark=mark)
    f, width = near.figure, paper.width - 2 * SIDES
    shown = chapters.design(near, f, width, chapters.plans(near, f, width))
    said = " ".join(words for words in (prose.NEAREST, rounding_words(problem, nearest.loosenings)) if words)
    return [replace(shown, blocks=(Paragraph(said), Listing(gives), *shown.blocks))]


def _empty(material: Material, paper: Paper) -> list[Section]:
    """The room alone, drawn where there is no design near enough to draw."""
    nearest = material.reasons.nearest
    if nearest is not None and nearest.solution.design is not None:
        return []
    drawn = plate(
        "room", room_alone(material, paper.width - 2 * SIDES, TALLEST), "The room", system=material.problem.show
    )
    sides = [door for door in material.problem.room.doors if door.wall in ("left", "right")]
    caption = f"Plan and long section of the room, {drawn.scale}. {prose.TAPES}" + (f" {prose.ROOM}" if sides else "")
    words = prose.NO_DESIGN if material.solution.status == "impossible" else prose.NO_ANSWER
    return [Section("The room alone", (Paragraph(words), Plates((drawn,), (caption,))), "room")]


def _without_design(material: Material) -> list[Section]:
    """Cautions of the nearest design; where none is drawn, what is to be said of the file's limits on safety, if it has
    any: there is nothing else to be careful of."""
    nearest = material.reasons.nearest
    if nearest is None or nearest.solution.design is None:
        said = list(filter(None, [of_limits(material.problem)]))
    else:
        near = replace(material, solution=nearest.solution)
        said = cautions(material.problem, near.space, near.design)
    return [Section("Cautions", (Listing(tuple(said)),), "cautions")] if said else []
