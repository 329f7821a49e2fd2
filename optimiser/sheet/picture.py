"""Plan and long section of one design on one page, to scale, with the dimensions one builds from."""

from __future__ import annotations

from pathlib import Path

from optimiser.design import Design, Space
from optimiser.errors import writing
from optimiser.problem.model import Problem
from optimiser.quantity import INCH, show
from optimiser.sheet import lettering
from optimiser.sheet.figures import Figure, figure
from optimiser.sheet.labels import tape, taped
from optimiser.sheet.paper import MARGIN, Paper, paper_for, scale_bar, scales
from optimiser.sheet.plan import beside, plan
from optimiser.sheet.scene import Scene, Text, joined
from optimiser.sheet.section import section
from optimiser.sheet.spelt import spelt_out
from optimiser.sheet.svg import Drawing, document

TITLE = 14.0
"""Points of the title."""

HEAD = 34.0
"""Millimetres that title, the line below it and the scale bar take."""

BETWEEN = 8.0
"""Millimetres between plan and section, beyond what each takes."""


def write_picture(path: Path, problem: Problem, space: Space, design: Design, *, score: float | None = None) -> None:
    """Write the picture of a design into an SVG file. UsageError where it cannot be written."""
    drawn = picture(problem, space, design, score=score)
    with writing(path):
        path.write_text(drawn, encoding="utf-8", newline="\n")


def picture(
    problem: Problem, space: Space, design: Design, *, score: float | None = None, paper: Paper | None = None
) -> str:
    """The SVG of a page with plan and section, in the units that the problem file shows."""
    shown = figure(problem, space, design)
    sheet = paper or paper_for(problem.show)
    denominator, page, scenes = _fit(shown, problem.show, sheet)
    return _page(problem, shown, score, page, denominator, scenes)


def one_line(f: Figure, system: str, score: float | None = None) -> str:
    """The design in a line."""
    diagonal = (f.image_width**2 + f.image_height**2) ** 0.5
    words = [
        f"image {show('length', f.image_width, system)} wide ({show('aspect', f.aspect)}, "
        f"diagonal {diagonal / float(INCH):.0f} in)",  # as the public names it, whole
        f"baffle wall {show('length', f.baffle[1] - f.baffle[0], system)} wide, "
        f"{show('length', f.baffle_depth, system)} deep"
        if f.baffle_depth
        else "no baffle wall",
        _seats(f),
    ]
    if score is not None:
        words.append(f"score {score:.1f} of 100")
    text = "; ".join(words)
    return text[:1].upper() + text[1:]


def _seats(f: Figure) -> str:
    counts = [len(r.seats) for r in f.rows if not r.bar]
    at_bar = sum(len(r.seats) for r in f.rows if r.bar)
    wheelchairs = sum(len(r.places) for r in f.rows)
    extra = [f"a bar with {at_bar} stools"] if at_bar else []
    extra += (
        [f"{wheelchairs} places for wheelchairs" if wheelchairs > 1 else "a place for a wheelchair"]
        if wheelchairs
        else []
    )
    return " and ".join(filter(None, (", ".join([_chairs(counts), *extra[:-1]]), *extra[-1:])))


def _chairs(counts: list[int]) -> str:
    seats = "1 seat" if counts[0] == 1 else f"{counts[0]} seats"
    if len(counts) == 1:
        return f"one row of {seats}"
    if len(set(counts)) == 1:
        return f"{len(counts)} rows of {seats} each"
    return f"{len(counts)} rows of {', '.join(map(str, counts[:-1]))} and {counts[-1]} seats"


def along(scene: Scene, f: Figure, system: str, *, doors: bool = True) -> None:
    """Distances from the front wall, on a tape below the plan: what the rows are set out from; with ``doors`` also
    the hinges and the leaves' ends of those in the side walls, the steps that lead up to the platforms, and a
    bar's counter."""
    features = [
        *([("baffle face", f.baffle_depth, (f.baffle_depth, f.baffle[0]))] if f.baffle_depth else []),
        ("image", f.image_y, (f.image_y, f.image[0])),
        ("rear wall", f.length, (f.length, 0.0)),
    ]
    for row in f.rows:
        features.append((f"eyes, row {row.number}", row.y, (row.y, row.x[0])))
        if row.platform > 0.0:
            features.append((f"platform {row.number}", row.edge, (row.edge, 0.0)))
        for near, _ in f.stairs(row)[:1] if doors else ():
            features += [(f"step, row {row.number}", y, (y, near)) for y, _ in row.steps[:-1]]
        if doors and row.bar and f.bar is not None:
            features += [("counter", y, (y, row.x[0])) for y in (row.feet, row.y - f.bar.eye_to_counter)]
    if f.rear_edge is not None:
        features.append(("platform's rear", f.rear_edge, (f.rear_edge, 0.0)))
        for near, _ in f.rear_stairs[:1] if doors else ():
            features += [("step behind", y, (y, near)) for y, _ in f.rear_steps[1:]]
    end = f.length
    if f.projector is not None:
        features.append(("lens", f.projector[0], (f.projector[0], f.centre)))
        end = max(end, f.projector[0])  # that may be behind the rear wall
    sides = {"left": 0.0, "right": f.width}
    for door in [door for door, _ in f.doors if doors and door.wall in sides]:
        features += [(taped(door.name, "door", f.names), y, (y, sides[door.wall])) for y in door.jambs]
    written = [(name, y, show("length", y, system), p) for name, y, p in features]
    scene.add(tape(scene, "u", 0.0, end, beside(scene, f, "left"), -1, written))


def _scenes(f: Figure, system: str, denominator: float) -> tuple[Scene, Scene]:
    upper = plan(f, system, denominator)
    along(upper, f, system)
    return upper, section(f, system, denominator)


def _fit(f: Figure, system: str, paper: Paper) -> tuple[float, Paper, tuple[Scene, Scene]]:
    """The largest usual scale at which both drawings fit, and the paper upright or turned for it."""
    for denominator in scales(system):
        if f.length * 1000 / denominator > max(paper.width, paper.height):
            continue
        upper, lower = spelt_out(_scenes(f, system, denominator), f.names, paper.width - 2 * MARGIN)
        scenes = upper, lower
        width, height = _needed(scenes)
        for page in (paper, paper.turned):
            if width <= page.width - 2 * MARGIN and height + HEAD <= page.height - 2 * MARGIN:
                return denominator, page, scenes
    return denominator, paper, scenes


def _needed(scenes: tuple[Scene, Scene]) -> tuple[float, float]:
    """Width and height in mm of the two drawings, one below the other with their fronts in line."""
    extents = [s.extent() for s in scenes]
    a, _, c, _ = joined(extents)
    paper = scenes[0].paper
    return paper(c - a), sum(paper(e[3] - e[1]) for e in extents) + BETWEEN


def _page(
    problem: Problem, f: Figure, score: float | None, page: Paper, denominator: float, scenes: tuple[Scene, Scene]
) -> str:
    upper, lower = scenes
    elements: list[str] = []
    text = Scene("text", "", 1000.0)  # one metre of this scene is a millimetre of paper

    def write(x: float, y: float, words: str, **how) -> None:
        text.add(Text((x, -y), words, **how))

    room = page.width - 2 * MARGIN
    y = MARGIN + 4.0
    for line in lettering.lines(lettering.shortened(problem.title, 1.9 * room, TITLE), room, TITLE):
        write(MARGIN, y, line, size=TITLE, bold=True)
        y += 6.5
    y += 0.5
    for line in lettering.lines(one_line(f, problem.show, score), room, 8.0):
        write(MARGIN, y, line, size=8.0)
        y += 3.9
    y += 2.0
    a, _, c, _ = joined([s.extent() for s in scenes])
    left = MARGIN + 0.5 * (room - upper.paper(c - a)) - upper.paper(a)
    for scene in (upper, lower):
        _, low, _, high = scene.extent()
        y += scene.paper(high)
        elements += Drawing(scene, (left, y)).elements()
        y += scene.paper(-low) + BETWEEN
    bar = scale_bar(denominator, problem.show)
    foot = y + 2.0
    elements += Drawing(bar, (MARGIN + 2.0, foot)).elements()
    elements += Drawing(text, (0.0, 0.0)).elements()
    description = f"{upper.description} {lower.description}"
    return document(page.width, foot + MARGIN, problem.title, description, elements, name="picture")
