"""The design sheet's content: which sections, in which order, with which words, tables and plates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from optimiser import __version__
from optimiser.cautions import cautions
from optimiser.complete import Completed
from optimiser.measures import catalogue
from optimiser.problem.model import Fixed, Problem
from optimiser.quantity import show
from optimiser.requirements import all_limits
from optimiser.sheet import tables
from optimiser.sheet.brief import brief, decision_range, things
from optimiser.sheet.charts import OTHERS, overlay, score_bars
from optimiser.sheet.document import Block, Facts, Listing, Paragraph, Plates, Section, Sheet, Verbatim
from optimiser.sheet.elevation import elevation
from optimiser.sheet.figures import Figure, figure
from optimiser.sheet.paper import Paper
from optimiser.sheet.picture import along, one_line
from optimiser.sheet.plan import plan
from optimiser.sheet.plates import Plate, fitted, plate
from optimiser.sheet.proof import proof_words
from optimiser.sheet.scene import Scene
from optimiser.sheet.schedule import ASSUMED, front_table, places_table, platform_table, seats_table
from optimiser.sheet.section import section
from optimiser.sheet.studies import fan, pressure, sight, swing
from optimiser.solve import Solution
from optimiser.words import bound_words, measure_words

SIDES = 18.0
"""Millimetres of free paper at the left and right of a page."""

TALLEST = 200.0
"""Millimetres that a plate may be tall and still leave room for its heading on the page."""


@dataclass(frozen=True)
class Material:
    """What a sheet is made from: a solution, the file's text, and its own designs, completed."""

    solution: Solution
    text: str
    name: str  # of the problem file
    designs: tuple[tuple[str, Completed], ...] = ()

    @property
    def problem(self) -> Problem:
        return self.solution.problem

    @property
    def figure(self) -> Figure:
        return figure(self.problem, self.solution.space, self.solution.design)


def drawings(material: Material, paper: Paper) -> list[Scene]:
    """Plan, section and elevation at one scale: what is written as SVG and DXF."""
    f, system = material.figure, material.problem.show
    pair = fitted(lambda n: _pair(f, system, n), system, f.length, paper.width - 2 * SIDES, TALLEST)
    return [*pair, elevation(f, system, pair[0].denominator)]


def _pair(f: Figure, system: str, denominator: float, *, across: bool = True) -> list[Scene]:
    """Plan and section; without ``across`` their dimensions at the front are left to the elevation."""
    upper = plan(f, system, denominator, measured=across)
    along(upper, f, system)
    return [upper, section(f, system, denominator, front_measured=across)]


def sheet(material: Material, paper: Paper) -> Sheet:
    """The whole design sheet, its plates fitted to a size of paper."""
    solution, problem = material.solution, material.problem
    if solution.design is None:
        return _impossible(material)
    f = material.figure
    width = paper.width - 2 * SIDES
    line = one_line(f, problem.show)
    sections = [
        Section("The room and the brief", tuple(Paragraph(p) for p in brief(problem)), "brief"),
        _design(material, f, width, paper),
        _score(material, width),
        _limits(material),
        *_designs(material, f, width),
        _rows(material, f, width),
        *_door(material, f, width),
        _places(material, f),
        _schedule(material, f),
        Section("Cautions", (Listing(tuple(cautions(problem, solution.space, solution.design))),), "cautions"),
        _method(material),
        _file(material),
    ]
    diagonal = float(catalogue()["image_diagonal"].form(solution.space.layout).value(solution.design))
    facts = (
        ("score", f"{solution.score:.1f} of 100"),
        ("image width", show("length", f.image_width, problem.show)),
        ("image diagonal", show("length", diagonal, problem.show)),
        ("rows and seats", f"{things(len(f.rows), 'row')}, {things(sum(len(r.seats) for r in f.rows), 'seat')}"),
        ("baffle wall", f"{show('length', f.baffle[1] - f.baffle[0], problem.show)} wide"),
    )
    return Sheet(problem.title, line + ".", proof_words(solution), facts, tuple(sections), __version__)


def _design(material: Material, f: Figure, width: float, paper: Paper) -> Section:
    system = material.problem.show
    pair = fitted(lambda n: _pair(f, system, n, across=False), system, f.length, width, TALLEST)
    front = fitted(lambda n: [elevation(f, system, n)], system, f.width, width, 76.0)
    both = plate("plan-section", pair, "Plan and long section", system=system)
    face = plate("elevation", front, "Front elevation", system=system)
    blocks: tuple[Block, ...] = (
        tables.decisions_tables(material.problem, material.solution.space, material.solution.design),
        Plates(
            (face,), (f"Front elevation, seen from the seats, {face.scale}. Dash-dotted: axes of the loudspeakers.",)
        ),
        Plates(
            (both,), (f"Plan and long section, {both.scale}. Distances run from the dot, the front wall or the floor.",)
        ),
    )
    return Section("The design", blocks, "design")


def _score(material: Material, width: float) -> Section:
    solution, system = material.solution, material.problem.show
    if not solution.card.goals:
        return Section("The score", (Paragraph("The file states no goals, so nothing was scored."),), "score")
    chart = plate("scores", [score_bars(solution.card, system, width - 4.0)], "Goals and scores")
    blocks: tuple[Block, ...] = (
        Paragraph(
            "A goal scores 100 % inside its band and falls in a straight line to nothing over the fade beside it. "
            "The design's score is the mean of its goals by weight."
        ),
        tables.goals_table(solution.card, system),
        Plates(
            (chart,),
            (
                "Each goal's band (tinted) with its fade, and where the design comes to lie: a filled pointer scores in "
                "full. Numbers before a value are rows. The bar at the right is the goal's weight.",
            ),
        ),
    )
    return Section("The score", blocks, "score")


def _limits(material: Material) -> Section:
    table, rest = tables.limits_table(material.solution.card, material.problem.show)
    words = "Limits must hold and earn nothing. Slack is how far a value lies inside its limit."
    if rest:
        words += (
            f" The room itself sets {things(rest, 'limit')} more, that nothing overlaps or sticks out; none is near."
        )
    return Section("Limits", (Paragraph(words), table) if table.rows else (Paragraph(words),), "limits")


def _designs(material: Material, best: Figure, width: float) -> list[Section]:
    if not material.designs:
        return []
    problem, solution = material.problem, material.solution
    columns = [("best", solution.design, solution.card)]
    columns += [(name, c.design, c.card) for name, c in material.designs]
    blocks: list[Block] = [
        Paragraph(
            "The file describes designs of its own. What such a design leaves open was chosen to suit it best; it was "
            "then scored as the best design was."
        )
    ]
    for start in range(1, len(columns), 3):
        blocks.append(tables.designs_table(problem.show, [columns[0], *columns[start : start + 3]]))
    others = [(name, figure(problem, c.space, c.design)) for name, c in material.designs]
    for start in range(0, len(others), len(OTHERS)):
        some = others[start : start + len(OTHERS)]
        scenes = fitted(lambda n, some=some: [overlay(best, some, n)], problem.show, best.length, 0.8 * width, 80.0)
        drawn = plate(f"overlay-{start // len(OTHERS) + 1}", scenes, "Where the designs differ")
        caption = (
            "The best design in full lines; dashed, the file's own: the front they build and where their rows sit."
        )
        blocks.append(Plates((drawn,), (caption,)))
    return [Section("Designs that were looked at", tuple(blocks), "designs")]


def _rows(material: Material, f: Figure, width: float) -> Section:
    problem, solution = material.problem, material.solution
    system = problem.show
    form = catalogue()["horizontal_angle"].form
    angles = {
        r.number: float(form(solution.space.layout, r).value(solution.design)) for r in solution.space.layout.rows
    }
    half = 0.5 * width - 3.0
    blocks: list[Block] = [tables.row_table(problem, solution.space, solution.design)]
    plates: list[Plate] = [
        plate("fan", fitted(lambda n: [fan(f, n, angles)], system, f.length, half, 90.0), "Viewing angles")
    ]
    captions = ["The angle that the image's width fills, seen from the middle of each row."]
    if len(f.rows) > 1:
        # more than two rows need the whole width to be told apart
        room = half if len(f.rows) == 2 else width
        seen = fitted(lambda n: [sight(f, system, n)], system, f.length, room, 80.0)
        plates.append(plate("sight", seen, "Over the row in front"))
        captions.append(
            "Lines of sight to the image's lower edge, over the eyes in front. Heights are drawn twice as large."
        )
    modes = fitted(lambda n: [pressure(f, n)], system, f.length, width, 60.0)
    if len(f.rows) == 2:
        blocks.append(Plates(tuple(plates), tuple(captions)))
    else:
        blocks += [Plates((one,), (caption,)) for one, caption in zip(plates, captions)]
    blocks.append(
        Plates(
            (plate("pressure", modes, "Length modes"),),
            (
                "The first three length modes between rigid walls, and where the rows sit on them. At a null a mode is not heard.",
            ),
        )
    )
    return Section("Row by row", tuple(blocks), "rows")


def _door(material: Material, f: Figure, width: float) -> list[Section]:
    problem, solution = material.problem, material.solution
    depth = problem.baffle.depth
    ends = (
        [depth.value]
        if isinstance(depth, Fixed)
        else (list(depth.values) if hasattr(depth, "values") else [depth.low, depth.high])
    )
    clearance = float(catalogue()["door_clearance"].form(solution.space.layout).value(solution.design))
    if swing(f, problem.show, 50.0, ends, clearance) is None:
        return []
    scenes = fitted(lambda n: [swing(f, problem.show, n, ends, clearance)], problem.show, 0.5, width, 62.0)
    drawn = plate("swing", scenes, "Door and baffle", system=problem.show)
    caption = (
        f"Detail of the plan, {drawn.scale}. The deeper the baffle wall, the nearer its corner comes to the door's sweep; "
        f"it may be {decision_range('length', depth, problem.show)} deep."
    )
    return [Section("The door and the baffle", (Plates((drawn,), (caption,)),), "door")]


def _places(material: Material, f: Figure) -> Section:
    solution, problem = material.solution, material.problem
    blocks: tuple[Block, ...] = (
        places_table(f, solution.space, solution.design, problem.show),
        Paragraph(
            f"The front loudspeakers stand {f.place} the image. ITU-R BS.775-3 shows the left and right ones 30° aside. "
            "How the centre is heard where nothing can stand behind the image is for the sound system's designer."
            if f.place == "beside"
            else f"The front loudspeakers stand {f.place} the image. ITU-R BS.775-3 shows the left and right ones 30° aside."
        ),
    )
    return Section("Loudspeakers and projector", blocks, "places")


def _schedule(material: Material, f: Figure) -> Section:
    system = material.problem.show
    blocks: list[Block] = [Paragraph(ASSUMED), front_table(f, system)]
    platforms = platform_table(f, system)
    if platforms is not None:
        blocks.append(platforms)
    blocks.append(seats_table(f, system))
    return Section("For the builder", tuple(blocks), "builder")


def _method(material: Material) -> Section:
    solution, problem = material.solution, material.problem
    covers = (
        "every design whatever, on the grid or between its points"
        if solution.between
        else f"every design on the {show('length', solution.grid, problem.show)} grid"
    )
    certificate: list[tuple[str, str]] = [("status", solution.status)]
    if solution.score is not None:
        certificate += [
            ("score", f"{solution.score:.4f} of 100, by exact formulas"),
            ("bound", f"{solution.bound:.4f}" if solution.bound is not None else "none"),
            ("gap", f"{solution.gap:.4f}" if solution.gap is not None else "none"),
        ]
    certificate += [
        ("covers", covers),
        ("program", f"screening-room-optimiser {__version__}"),
        ("made by", f"optimiser sheet {material.name} --out ."),
    ]
    blocks: tuple[Block, ...] = (
        Paragraph(
            "All decisions were settled together. Each limit and goal was written as inequalities over the decisions, exactly or "
            "rounded so that no design is lost, and given to a constraint solver, which searched for the best design and then "
            "proved that none scores more than the bound. The design was then scored again by the formulas themselves; the "
            "same file gives the same answer on any machine. Formulas and sources of every measure: optimiser measures NAME."
        ),
        Facts(tuple(certificate)),
    )
    return Section("Method and certificate", blocks, "method")


def _file(material: Material) -> Section:
    blocks = (Paragraph("With this file anyone can run the problem again."), Verbatim(material.text, material.name))
    return Section("The problem file", blocks, "file")


def _impossible(material: Material) -> Sheet:
    solution, problem = material.solution, material.problem
    limits = all_limits(problem)
    if solution.status == "impossible":
        line = "No design holds all the limits."
        proof = f"Proven: no design on the {show('length', solution.grid, problem.show)} grid holds them all."
        said = [_conflict_line(problem, i, limits) for i in solution.conflict]
        words = (
            "These cannot all hold together; without any one of them the others can:"
            if said
            else "The ranges of the decisions alone leave no design: rows cannot lie behind the image inside the room."
        )
        why: tuple[Block, ...] = (Paragraph(words), Listing(tuple(said))) if said else (Paragraph(words),)
    else:
        line = "No design was found, and none was proven impossible."
        proof = "The effort allowed was spent before an answer was reached."
        why = (Paragraph("Ask again with narrower ranges or fewer choices."),)
    sections = (
        Section("Why there is no design", why, "conflict"),
        Section("The room and the brief", tuple(Paragraph(p) for p in brief(problem)), "brief"),
        _method(material),
        _file(material),
    )
    return Sheet(problem.title, line, proof, (), sections, __version__)


def _conflict_line(problem: Problem, index: int, limits: Sequence) -> str:
    limit = limits[index]
    row = f", row {limit.row}" if catalogue()[limit.measure].per_row and limit.row != "all" else ""
    if index >= len(problem.limits):
        origin = "the room itself"
    else:
        origin = f"line {limit.where.line} of the file" if limit.where else "the file"
    return f"{measure_words(limit.measure, limit.options)}{row} {bound_words(limit, problem.show)} ({origin})"
