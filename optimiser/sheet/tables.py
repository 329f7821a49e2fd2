"""Tables of the sheet: goals, limits, rows, and the file's designs side by side."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from optimiser.design import Design, Space
from optimiser.measures import catalogue
from optimiser.problem.model import Goal, Limit, Problem
from optimiser.quantity import other_system, parse, show
from optimiser.requirements import room_asks
from optimiser.score import LimitResult, Scorecard, measures_of
from optimiser.seats import seats
from optimiser.sheet.cells import (
    BLANK,
    SURROUND,
    SURROUND_HEADS,
    bass_words,
    figure_words,
    goal_values,
    limit_figures,
    limit_place,
    standing,
    surround_rows,
)
from optimiser.sheet.charts import goal_label
from optimiser.sheet.document import Beside, Table
from optimiser.standing import met
from optimiser.words import (
    band_words,
    beside_the_front,
    both_systems,
    bound_words,
    decided,
    decision_words,
    listed,
    measure_words,
    of_no_wall,
    score_words,
    seats_words,
)

UNSOURCED = "stated in the file"

LONG_CELL = 24
"""Letters of what stands in one place of a table of designs beyond which its column shares the width that is left."""


def goals_table(space: Space, design: Design, card: Scorecard, system: str) -> Table:
    """Each goal with its band, fade, values, score, weight, and where its band comes from."""
    rows = []
    for result in card.goals:
        goal = result.goal
        values = goal_values(space, design, result, system)
        shown = values[0] if len(set(values)) == 1 else " / ".join(values)
        rows.append(
            (
                goal_label(result),
                band_words(goal, system),
                show(result.quantity, goal.fade, system),
                shown,
                score_words(result.score),
                f"{goal.weight:g}",
                goal.source or UNSOURCED,
            )
        )
    head = ("goal", "band", "fade", "value", "score", "weight", "where the band comes from")
    return Table(
        "Goals, with the values of each row from the front", head, tuple(rows), right=(4, 5), wide=((0, 1.0), (6, 1.4))
    )


def limits_table(space: Space, design: Design, card: Scorecard, system: str) -> tuple[Table, int]:
    """The file's limits, each on its tightest row, and those of the room itself that are near; and how
    many of the room's are not listed."""
    rows = [
        (
            measure_words(result.limit.measure, result.limit.options),
            limit_place(space, design, result),
            bound_words(result.limit, system),
            *limit_figures(result, system),
            standing(result) or "holds",
            "; up against ".join(
                filter(None, (_asked_by(result), listed(f"'{name}'" for name in met(space, design, result))))
            ),
        )
        for result in card.telling
    ]
    head = ("limit", "row", "must be", "is", "slack", "", "asked by")
    wide = ((6, 1.4),) if any(limit.source for limit in (result.limit for result in card.limits)) else ()
    return Table("Limits, each on the row where it is tightest", head, tuple(rows), wide=wide), card.quiet


def _asked_by(result: LimitResult) -> str:
    """What a limit comes from."""
    return room_asks(result.limit) if result.own else result.limit.source or "the file"


SHOWN_MODES = ("mode_level[order=1,axis=length]", "mode_level[order=2,axis=length]", "mode_level[order=3,axis=length]")


def row_table(problem: Problem, space: Space, design: Design) -> Table | Beside:
    """Every measure that a row has, one column a row."""
    system = problem.show
    items: tuple[Limit | Goal, ...] = (*problem.goals, *problem.limits)
    asked = {_label(item.measure, item.options) for item in items}
    rows = []
    for label, values in measures_of(space, design).items():
        if not isinstance(values, list) or ("[" in label and label not in asked and label not in SHOWN_MODES):
            continue
        name, _, options = label.partition("[")
        kind = catalogue()[name].quantity
        words = name.replace("_", " ")
        if options:
            words += " (" + options[:-1].replace("=", " ").replace(",", ", ") + ")"
        cells = ["" if v is None else figure_words(kind, v, system) if math.isfinite(v) else BLANK for v in values]
        if any(v is not None and math.isfinite(v) for v in values):
            rows.append((words, *cells))
    head = ("measure", *(f"row {r.number}" for r in space.layout.rows))
    if space.rows > 3:
        return Table("Each row in figures", head, tuple(rows))
    half = (len(rows) + 1) // 2
    first, second = (
        Table(c, head, tuple(r)) for c, r in (("Each row in figures", rows[:half]), ("Continued", rows[half:]))
    )
    return Beside((first, second))


def pictures_table(space: Space, design: Design, system: str) -> Table:
    """Programmes and films of several shapes, each as large as the image surface holds it, and how they fill the view."""
    layout, angle = space.layout, catalogue()["picture_angle"]
    rows = []
    for shape in angle.options["shape"]:
        width = float(catalogue()["picture_width"].form(layout, shape=shape).value(design))
        height = width / float(parse("aspect", shape))
        seen = [float(angle.form(layout, row, shape=shape).value(design)) for row in layout.rows]
        diagonal = show("length", math.hypot(width, height), system)
        size = f"{show('length', width, system)} × {show('length', height, system)}"
        rows.append((shape, size, diagonal, *(show("angle", one) for one in seen)))
    head = ("shape of the picture", "width and height", "diagonal", *(f"row {row.number}" for row in layout.rows))
    return Table("Pictures of other shapes on this image surface, and the angle that each fills", head, tuple(rows))


PLACES = {"chair": "seat", "stool": "stool", "wheelchair": "wheelchair, place"}


def seat_table(space: Space, design: Design, system: str) -> Table:
    """What is seen and heard from every seat."""
    rows = []
    for seat in seats(space, design):
        left, right = (show("angle", a) for a in seat.loudspeakers)
        rows.append(
            (
                f"row {seat.row}, {PLACES[seat.kind]} {seat.number}",
                show("length", seat.x, system),
                show("length", seat.distance, system),
                show("angle", seat.horizontal_angle),
                show("angle", seat.off_axis),
                f"{left} / {right}",
                "–" if seat.sightline is None else show("length", seat.sightline, system),
                *bass_words(seat),
            )
        )
    head = (
        "seat, from the left",
        "from the left wall",
        "to the image",
        "viewing angle",
        "off axis",
        "loudspeakers left / right",
        "over the eyes in front",
        *(("bass", "bass dip") if space.layout.bass is not None else ()),
    )
    return Table("Every seat", head, tuple(rows))


def surround_table(space: Space, design: Design, system: str) -> Table | None:
    """Where surround and overhead loudspeakers may go, where the file asks for them."""
    if space.layout.surround is None:
        return None
    return Table(SURROUND, SURROUND_HEADS, tuple(surround_rows(space, design, system)))


def _label(measure: str, options: Sequence[tuple[str, object]]) -> str:
    return measure + ("[" + ",".join(f"{k}={v}" for k, v in options) + "]" if options else "")


def decisions_tables(problem: Problem, space: Space, design: Design) -> Beside:
    """What was decided, in both systems of units: the front, and the rows."""
    system, other = problem.show, other_system(problem.show)
    open_front = () if problem.baffle.centred else ("screen.centre",)
    without = () if design["baffle.depth"] else ("baffle.depth",)
    front = [n for n in (*FRONT, *open_front) if n in design and n not in without and not of_no_wall(n, design)]
    front += beside_the_front(space.domains, design)
    first = Table(
        "The front",
        ("decision", "value", f"in {other}"),
        tuple((decision_words(name), *both_systems(problem, name, design[name])) for name in front),
    )
    rows = []
    for row in space.layout.rows:
        y, height = float(row.y.value(design)), float(row.platform.value(design))
        rows.append(
            (
                f"row {row.number}",
                show("length", y, system),
                show("length", y, other),
                show("length", height, system) if height else "on the floor",
                seats_words(row, design),
            )
        )
    head = ("row", "ears from front wall", f"in {other}", "platform", "seats")
    # of words as long as '5 + 1 wheelchair' the rows' own names would be broken
    wide = ((0, 1.0),) if all(row[-1].isdigit() for row in rows) else ((4, 1.0),)
    return Beside((first, Table("The rows", head, tuple(rows), wide=wide)))


def panel_words(problem: Problem, design: Design) -> str:
    """The absorbing panels that are to be hung."""
    treatment, count = problem.room.treatment, round(design["treatment.panels"])
    assert treatment is not None
    one = show("area", treatment.panel, problem.show)
    if not count:
        return "Absorbing panels: none."
    each = "" if count == 1 else f" of {one} each, {show('area', count * treatment.panel, problem.show)} in all"
    return f"Absorbing panels: {count}{each or ' of ' + one}, on {treatment.on}."


FRONT = (
    "screen.type",
    "screen.diagonal",
    "screen.columns",
    "screen.tile_rows",
    "screen.width",
    "screen.aspect",
    "screen.bezel",
    "screen.bottom",
    "loudspeakers.apart",
    "loudspeakers.z",
    "baffle.width",
    "baffle.depth",
    "baffle.left",
    "baffle.right",
    "bass.arrangement",
)


def designs_table(problem: Problem, designs: Sequence[tuple[str, Mapping[str, float], Scorecard]]) -> Table:
    """Designs side by side: decisions, score, broken limits, and the score of each goal."""
    names: list[str] = []
    for _, design, _ in designs:
        found = [n for n in design if n.partition(".")[0] in ("screen", "baffle")]
        found += [n for n in design if n not in found and not n.startswith(("screen.", "baffle.", "row"))]
        found += sorted(n for n in design if n.startswith("row") and n.partition(".")[2] in ("y", "platform", "seats"))
        names += [n for n in found if n not in names]
    rows = [("score", *(f"{card.score:.1f}" for _, _, card in designs))]
    broken = [_broken(card, problem.show) for _, _, card in designs]
    rows.append(("limits broken", *broken))
    shared = 0
    for name in names:
        shown = [decided(problem, name, d) or "–" for _, d, _ in designs]
        if len(set(shown)) == 1:
            shared += 1
        else:
            rows.append((decision_words(name), *shown))
    for result in designs[0][2].goals:
        scores = [
            next((score_words(g.score) for g in card.goals if g.index == result.index), "–") for _, _, card in designs
        ]
        if len(set(scores)) == 1:
            shared += 1
        else:
            rows.append((f"goal: {goal_label(result)}", *scores))
    caption = "Designs side by side" + (", where they differ" if shared else "")
    # a design that breaks much, or has a long name, leaves the names of the lines their share of the width
    long = [k for k, words in enumerate(broken, 1) if max(len(words), len(designs[k - 1][0])) > LONG_CELL]
    wide = ((0, 1.0), *((k, 1.0) for k in long))
    return Table(caption, ("", *(name for name, _, _ in designs)), tuple(rows), wide=wide)


def _broken(card: Scorecard, system: str) -> str:
    breaking = card.breaking
    broken = [r for r in card.tightest if r in breaking]
    if not broken:
        return "none"
    return "; ".join(
        f"{measure_words(r.limit.measure, r.limit.options)} by {show(r.quantity, -r.slack, system)}" for r in broken
    )
