"""The sections of a sheet that describe a design."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from itertools import chain

from optimiser.bass_notes import CABINET
from optimiser.measures import catalogue
from optimiser.notes import on_goals
from optimiser.problem.model import Fixed, Problem
from optimiser.quantity import show
from optimiser.score import Scorecard
from optimiser.sheet import prose, tables
from optimiser.sheet.brief import decision_range, things
from optimiser.sheet.cells import on_seats
from optimiser.sheet.charts import score_bars
from optimiser.sheet.document import Block, Paragraph, Plates, Section
from optimiser.sheet.drawings import TALLEST, marked, pair
from optimiser.sheet.elevation import elevation
from optimiser.sheet.figures import Figure, figure
from optimiser.sheet.material import Material
from optimiser.sheet.overlay import overlay
from optimiser.sheet.plates import Plate, detail, fits, fitted, plate
from optimiser.sheet.scene import Scene
from optimiser.sheet.schedule import (
    MAY_LIE,
    asks_apart,
    equipment_table,
    fixtures_table,
    front_table,
    places_table,
    platform_table,
    port_words,
    seats_table,
    stand,
    steps_table,
)
from optimiser.sheet.studies import OVER, biting, fan, pressure, sight, standing_words, swing, swing_title
from optimiser.words import listed

LOWER = 190.0
"""Millimetres that a plate may be tall and still stand on one page with what is said of it."""

FRONT = (76.0, 90.0, 105.0, 120.0, 140.0)
"""Millimetres that the front elevation may be tall, and where the page has room for more."""

APART = 5.0
"""Millimetres between plates side by side."""

DETAIL = 60.0
"""Millimetres that the detail of a door may be tall, where that is tall enough."""

ABREAST = 3
"""Small plans side by side at most."""


def plans(material: Material, f: Figure, width: float) -> Sequence[Scene]:
    """Plan and long section as large as a page ``width`` mm wide allows."""
    system, mark = material.problem.show, material.mark
    return fitted(
        lambda n: marked(pair(f, system, n, across=False), mark), system, f.length, width, LOWER if mark else TALLEST
    )


def design(material: Material, f: Figure, width: float, two: Sequence[Scene]) -> Section:
    """What was decided, with plan and long section (``two``) and front elevation. A design that is no answer is drawn
    first, below what is said of it, and its captions say so too."""
    system = material.problem.show
    mark = material.mark
    said = f"{mark}. " if mark else ""
    both = plate("plan-section", two, "Plan and long section", system=system)
    equipment = equipment_table(material.problem, material.space, material.design)
    bought: tuple[Block, ...] = () if equipment is None else (equipment,)

    @cache
    def seen(denominator: float) -> list[Scene]:
        return marked([elevation(f, system, denominator)], mark)

    def front(height: float) -> tuple[Plate, str]:
        scenes = fitted(seen, system, f.width, width, height)
        drawn = plate("elevation", scenes, "Front elevation", system=system)
        return (
            drawn,
            f"{said}Front elevation, seen from the seats, {drawn.scale}. {_legend(scenes, prose.ON_FRONT, f, system)}".strip(),
        )

    face, below = front(FRONT[0])
    larger = {one.scale: (one, words) for one, words in map(front, reversed(FRONT[1:])) if one.scale != face.scale}
    faces = Plates((face,), (below,), larger=tuple(larger.values()))
    cut = prose.CUT.format(centre=show("length", f.centre, system))
    legend = _legend(two, prose.ON_PLAN, f, system)
    caption = f"{said}Plan and long section, {both.scale}. {cut} {prose.TAPES} {legend}".strip()
    plans = Plates((both,), (caption,), floats=not mark)
    decided = tables.decisions_tables(material.problem, material.space, material.design)
    if mark:
        return Section("The nearest design", (plans, decided, *bought, faces), "nearest")
    return Section("The design", (decided, *bought, faces, plans), "design")


def _legend(scenes: Sequence[Scene], words: Mapping[str, str], f: Figure, system: str) -> str:
    """What the kinds of line mean that these drawings have."""
    items = [item for scene in scenes for item in (*scene.items, *chain(*scene.blocks.values()))]
    roles = {getattr(item, "role", "") for item in items}
    told = {"size": show("length", CABINET, system), "place": stand(f)}
    return " ".join(text.format(**told) for role, text in words.items() if role in roles)


def door(material: Material, f: Figure, width: float, scale: float) -> list[tuple[Plate, str]]:
    """The door leaf against the depth of the baffle wall, or what hangs without one, with its caption, where one comes near the
    other: larger than the plan, which is at 1 to ``scale``. It takes half of a page's ``width`` where that is enough."""
    if biting(f) is None:
        return []
    problem = material.problem
    depth = problem.baffle.depth
    ends = (
        [depth.value]
        if isinstance(depth, Fixed)
        else (list(depth.values) if hasattr(depth, "values") else [depth.low, depth.high])
    )
    clearance = float(catalogue()["door_clearance"].form(material.space.layout).value(material.design))
    scenes = detail(
        lambda n: [swing(f, problem.show, n, ends, clearance)],
        problem.show,
        0.5,
        scale,
        [(0.5 * (width - APART), DETAIL), (width, DETAIL), (width, TALLEST)],
    )
    if scenes is None:
        return []
    drawn = plate("swing", scenes, swing_title(f), system=problem.show)
    if not f.baffle_depth:
        bare = f"Detail of the plan, {drawn.scale}: the door's sweep beside {standing_words(f)}."
        return [(drawn, f"{bare} No corner of what stands there may cross the dash-dotted line.")]
    caption = (
        f"Detail of the plan, {drawn.scale}. The deeper the baffle wall, the nearer its corner and the frame's come to the "
        "door's sweep, and may not cross the dash-dotted line; the wall may be "
        f"{decision_range('length', depth, problem.show)} deep."
    )
    return [(drawn, caption)]


def score(material: Material, width: float) -> Section:
    """Each goal with its band, value, source and score."""
    system = material.problem.show
    said = tuple(Paragraph(note) for note in on_goals(material.problem, material.space, material.design))
    if not material.card.goals:
        none = "The file states no goals, so nothing was scored." if not said else "Nothing was scored."
        return Section("The score", (Paragraph(none), *said), "score")
    chart = plate("scores", [score_bars(material.card, system, width - 4.0)], "Goals and scores")
    blocks: tuple[Block, ...] = (
        Paragraph(prose.SCORING),
        tables.goals_table(material.space, material.design, material.card, system),
        *said,
        Plates((chart,), (prose.BARS,), floats=chart.height > 60.0),
    )
    return Section("The score", blocks, "score")


def limits(material: Material) -> Section:
    """The limits that the design comes near to, and how many hold with room to spare."""
    table, rest = tables.limits_table(material.space, material.design, material.card, material.problem.show)
    words = prose.LIMITS
    if rest:
        words += (
            f" The room itself sets {things(rest, 'limit')} more, that nothing overlaps or sticks out; none is near."
        )
    return Section("Limits", (Paragraph(words), table) if table.rows else (Paragraph(words),), "limits")


def designs(material: Material, best: Figure, width: float) -> list[Section]:
    """The designs of the file beside the best."""
    if not material.designs:
        return []
    from optimiser.explain.departures import departure_words  # drawings alone need not wait for it

    problem = material.problem
    columns: list[tuple[str, Mapping[str, float], Scorecard]] = [("best", material.design, material.card)]
    columns += [(name, c.design, c.card) for name, c in material.designs]
    blocks: list[Block] = [Paragraph(prose.DESIGNS)]
    for start in range(1, len(columns), 3):
        blocks.append(tables.designs_table(problem, [columns[0], *columns[start : start + 3]]))
    for name, design, _ in columns[1:]:
        if words := departure_words(problem, design):
            blocks.append(Paragraph(f"'{name}' {words}"))
    others = [(name, figure(problem, c.space, c.design)) for name, c in material.designs]
    blocks += _overlays(problem, best, others, width)
    return [Section("Designs that were looked at", tuple(blocks), "designs")]


def _overlays(problem: Problem, best: Figure, others: Sequence[tuple[str, Figure]], width: float) -> list[Block]:
    """A small plan for each other design, all at the scale that the widest of them takes, side by side."""
    columns = min(len(others), ABREAST)
    room = min((width - APART * (columns - 1)) / columns, 0.5 * width)

    fit = [fitted(lambda n, o=one: [overlay(best, *o, n)], problem.show, best.length, room, 56.0) for one in others]
    scale = max(scene.denominator for (scene,) in fit)
    drawn = [overlay(best, name, f, scale) for name, f in others]
    plates = [plate(f"overlay-{k}", [scene], scene.title) for k, scene in enumerate(drawn, start=1)]
    captions = [f"'{name}'" for name, _ in others]
    lines = [slice(start, start + columns) for start in range(0, len(others), columns)]
    return [Paragraph(prose.OVERLAY), *(Plates(tuple(plates[one]), tuple(captions[one])) for one in lines)]


def rows(material: Material, f: Figure, width: float, scale: float) -> Section:
    """What each row and each seat sees and hears. ``scale``: the plan is at 1 to that."""
    problem = material.problem
    system = problem.show
    form = catalogue()["horizontal_angle"].form
    angles = {
        r.number: float(form(material.space.layout, r).value(material.design)) for r in material.space.layout.rows
    }
    half = 0.5 * (width - APART)

    def modes(room: float) -> tuple[Plate, str]:
        scenes = fitted(lambda n: [pressure(f, n)], system, f.length, room, 56.0)
        return plate("pressure", scenes, "Length modes"), prose.MODES

    def over(room: float) -> tuple[Plate, str]:
        def drawn(n: float) -> list[Scene]:
            # long words beside a short room: no scale makes them narrower, another place for them does
            ways = (OVER[k:] + OVER[:k] for k in range(len(OVER)))
            tried = [[sight(f, system, n, over=some)] for some in ways]
            return next((one for one in tried if fits(one, room, 80.0)), tried[0])

        scenes = fitted(drawn, system, f.length, room, 80.0)
        return plate("sight", scenes, "Over the row in front"), prose.SIGHT

    fans = fitted(lambda n: [fan(f, n, angles)], system, f.length, half, 90.0)
    seen = (plate("fan", fans, "Viewing angles"), prose.FAN)
    swings = door(material, f, width, scale)
    last: list[list[tuple[Plate, str]]] = []
    narrow = all(one.width <= half for one, _ in swings)
    if len(f.rows) == 1 and swings and narrow:
        lines, last = [[seen, *swings]], [[modes(width)]]
    elif len(f.rows) == 1:
        lines, last = [[seen, modes(half)]], [swings]
    elif len(f.rows) == 2 and narrow:
        lines, last = [[seen, over(half)]], [[modes(width - sum(one.width + APART for one, _ in swings)), *swings]]
    elif len(f.rows) == 2:
        lines, last = [[seen, over(half)]], [[modes(width)], swings]
    else:
        # more than two rows need the whole width to be told apart
        lines, last = [[seen, modes(half)]], [[over(width)], swings]
    told: list[Block] = [
        tables.row_table(problem, material.space, material.design),
        tables.seat_table(material.space, material.design, system),
        *map(Paragraph, on_seats(material.space, material.design)),
        tables.pictures_table(material.space, material.design, system),
    ]
    before = [_side_by_side(line) for line in lines]
    after = [_side_by_side(line, floats=True) for line in last if line]
    return Section("Row by row, seat by seat", (*before, *told, *after), "rows")


def _side_by_side(drawn: list[tuple[Plate, str]], *, floats: bool = False) -> Plates:
    return Plates(tuple(one for one, _ in drawn), tuple(caption for _, caption in drawn), floats)


def places(material: Material, f: Figure) -> Section:
    """Where the loudspeakers and the projector go, and how far they may stray."""
    problem = material.problem
    words = prose.SPEAKERS.format(place=stand(f))
    if f.place == "beside":
        words += " " + prose.NO_CENTRE
    table = places_table(f, problem, material.space, material.design)
    if f.bass:
        words += " " + prose.POINTS
    if MAY_LIE in table.head:
        words += " " + prose.STRAY
        if any(row[-1].startswith("better ") for row in table.rows):
            words += " " + prose.BETTER
    if not asks_apart(problem):
        words += " " + prose.UNASKED
    blocks: tuple[Block, ...] = (table, Paragraph(words))
    if (port := port_words(f, material.space, material.design, problem.show)) is not None:
        blocks += (Paragraph(port),)
    around = tables.surround_table(material.space, material.design, problem.show)
    return Section(table.caption, (*blocks, around) if around is not None else blocks, "places")


def schedule(material: Material, f: Figure) -> Section:
    """What is to be built, set out from the room's fixed corners."""
    system = material.problem.show
    drawn = prose.WALL_DRAWN if f.baffle_depth else ""
    if f.platforms:
        drawn += prose.PLATFORMS_DRAWN
    if names := listed(dict.fromkeys(f"'{box.name}'" for box in f.in_platforms)):
        drawn += prose.IN_PLATFORMS.format(names=names)
    blocks: list[Block] = [Paragraph(prose.SETTING_OUT.format(drawn=drawn)), front_table(f, system)]
    told = (platform_table(f, system), steps_table(f, system), seats_table(f, system), fixtures_table(f, system))
    blocks += [table for table in told if table is not None]
    if "treatment.panels" in material.design:
        blocks.append(Paragraph(tables.panel_words(material.problem, material.design)))
    return Section("For the builder", tuple(blocks), "builder")
