"""Fronts as text for a terminal."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from optimiser.cautions import of_study
from optimiser.design import grid_of
from optimiser.problem.decisions import read_value
from optimiser.problem.items import LISTED
from optimiser.quantity import parse, show, show_grid
from optimiser.sheet.whole import plain_table
from optimiser.solve import PROMISE
from optimiser.study.front import Front, FrontPoint
from optimiser.study.objectives import Objective, show_recorded
from optimiser.words import decision_words, value_words

SHOWN = 21
"""Points of a front that are listed, beside its ends and knees, unless all are wanted."""

COLUMNS = 5
"""Objectives and decisions that are listed with each point, beside what is taken from lists."""

LESS = "less than"
"""How an amount is told that is too small to be told."""

FIRST = (
    "rows",
    "screen.type",
    "screen.aspect",
    "screen.width",
    "row1.y",
    "row2.y",
    "row3.y",
    "row2.platform",
    "row3.platform",
    "screen.bottom",
    "baffle.depth",
)
"""Decisions that tell most about a design, in order."""


def print_front(console: Console, found: Front, *, every: bool = False) -> None:
    """A front point by point, what was proven, and where it bends."""
    problem, objectives = found.problem, found.objectives
    console.print(Text(f"{problem.title}: {front_words(objectives)}", style="bold"))
    if len(found.points) == 1:
        console.print(alone_words(found))
    else:
        console.print(f"{len(found.points)} designs that no design beats. {proven_words(found)}")
        console.print(apart_words(found) + scored_words(found))
    console.print()
    scored = any(o.measure is None for o in objectives)
    listed = range(len(found.points)) if every else listed_points(found, SHOWN)
    names = deciding(found)
    while True:  # things from lists may have long names: as many as there is space for
        heads = ["", *(o.words for o in objectives), *([] if scored else ["score"])]
        heads += [*(decision_words(name) for name in names), ""]
        rows = []
        for index in listed:
            point = found.points[index]
            shown_cells = cells(found, point.values, None if scored else point.score, point.design, names)
            rows.append((str(index + 1), *shown_cells, marked(point)))
        widths = _widths(heads, rows, console.width - 2)
        if sum(widths) + 2 * (len(widths) - 1) <= console.width - 2 or not names or names[-1] not in LISTED:
            break
        names.pop()
    table = plain_table(*heads, right=tuple(heads[:-1]))
    for column, width in zip(table.columns, widths, strict=True):
        column.width = width
    for row in rows:
        table.add_row(*row[:-1], Text(row[-1], style="bold"))
    console.print(Padding(table, (0, 0, 0, 2)))
    if len(listed) < len(found.points):
        console.print(f"  {len(listed)} of {len(found.points)} designs; --all lists every one.", style="dim")
    for words in _further(found):
        console.print()
        console.print(words)
    said = of_study(point.design for point in found.points)
    if said is not None:
        console.print()
        console.print(said)


def _widths(heads: Sequence[str], rows: Sequence[Sequence[str]], most: int) -> list[int]:
    """Columns wide enough for each value on one line and each word of a head, and for whole heads as far as there
    is space for them."""
    widths = [
        max([len(row[k]) for row in rows] + [len(word) for word in head.split()], default=1) or 1
        for k, head in enumerate(heads)
    ]
    spare = most - sum(widths) - 2 * (len(widths) - 1)
    while spare > 0 and (short := [k for k, head in enumerate(heads) if widths[k] < len(head)]):
        widths[min(short, key=lambda k: (widths[k], k))] += 1
        spare -= 1
    return widths


def front_words(objectives: Sequence[Objective]) -> str:
    """What a front is between."""
    return " against ".join(f"{'more' if o.raised else 'less'} {o.words}" for o in objectives)


def shown(objective: Objective, value: float, system: str) -> str:
    """A value as it stands in a record (angles in degrees), with its unit."""
    return show_recorded(objective.kind, value, system)


def proven_words(found: Front) -> str:
    """How closely every point is proven."""
    blurs = [max(p.proven[k] for p in found.points) for k in range(len(found.objectives))]
    parts = [f"{fine(o, b, found.problem.show)} in {o.words}" for o, b in zip(found.objectives, blurs, strict=True)]
    grid = show_grid(found.header["grid"] or grid_of(found.problem), found.problem.show)
    return (
        f"Proven of each, on the {grid} grid: a design that is no worse in "
        f"{'the other' if len(parts) == 2 else 'the others'} is at most so much better: {', '.join(parts)}."
    )


def apart_words(found: Front) -> str:
    """How far apart the points, of which there are several, are, and that nothing is left out between them."""
    there = [k for k in range(len(found.objectives)) if _varies(found, k)]
    objectives, system = found.objectives, found.problem.show
    parts = [(fine(objectives[k], found.spacing[k], system), objectives[k].words) for k in there]
    if not found.summary["complete"]:
        return "The search was ended before the front was covered: parts of it may have no point."
    if not parts:
        return "They differ by no more than what is left unproven of each."
    excess = found.summary["excess"]
    first = "" if excess < 1e-9 else f", and {excess:.2g} more in the score"
    told = [f"{amount} in {words}" for amount, words in parts if not amount.startswith(LESS)]
    tiny = [f"in {words}" for amount, words in parts if amount.startswith(LESS)]
    more = "apart or more" if tiny else "apart, or more"
    apart = [*([f"are {' or '.join(told)} {more}"] if told else []), *(f"differ {words}" for words in tiny)]
    short = "less than that in each" if not tiny else "less than that" if told else "nothing that could be told"
    rest = f", and by nothing that could be told {' or '.join(tiny)}" if told and tiny else ""
    return (
        f"Any two{_but_ends(found)} {', or '.join(apart)}. Whatever other design there is, one of these is short "
        f"of it by {short}{rest}{first}."
    )


def scored_words(found: Front) -> str:
    """Which design stands at each point, where that was asked."""
    if not found.header.get("best_scoring"):
        return ""
    proven = sum(point.scored is not None for point in found.points)
    many = "each" if proven == len(found.points) else f"{proven} of {len(found.points)}"
    return f" Of the designs with the same values each is the one that scores best: proven, to {PROMISE:g} points, of {many}."


def _but_ends(found: Front) -> str:
    """That the spacing does not hold between ends, where some lie nearer to each other."""
    ends = [found.points[k].values for k in sorted(set(found.ends))]
    near = [
        all(abs(x - y) < 0.99 * apart for x, y, apart in zip(a, b, found.spacing, strict=True))
        for at, a in enumerate(ends)
        for b in ends[:at]
    ]
    return ", unless both are ends," if any(near) else ""


def _varies(found: Front, k: int) -> bool:
    """Whether an objective differs along the front by more than it is told."""
    values = [p.values[k] for p in found.points]
    return max(values) - min(values) > 2.0 * max(p.proven[k] for p in found.points)


FULL = {"points": 100.0 - 1e-9, "closeness": 1.0 - 1e-9}
"""What nothing has more of than."""

UNSEEN = 1e-5
"""An amount (metres, shares) that nobody asks about."""

FINE = {"ft-in": "in", "in": "in", "cm": "cm", "m": "mm", "mm": "mm"}
"""Units of small lengths, by how a file shows lengths."""


def fine(objective: Objective, value: float, system: str) -> str:
    """A small amount with its unit: too small for how lengths are written, it gets a unit of its own."""
    if objective.kind == "length":
        if value >= 0.01:
            return show("length", value, system)
        unit = FINE[system]
        return f"{_digits(value / float(parse('length', f'1 {unit}')))} {unit}"
    if objective.kind == "points":
        return f"{_digits(value)} points"
    if objective.kind == "closeness":
        return f"{_digits(100.0 * value)} %"
    if objective.kind == "angle":
        return f"{_digits(value)}°"
    _, space, unit = shown(objective, 1.0, system).partition(" ")
    one = float(parse(objective.kind, f"1 {unit}")) if unit else 1.0  # a unit may end in a figure, as m2 and ft2 do
    return f"{_digits(value / one)}{space}{unit}"


def _digits(value: float) -> str:
    """An amount to two figures, or whole, without powers of ten."""
    if 0.0 < value < 0.001:
        return f"{LESS} 0.001"
    return f"{value:.0f}" if value >= 100.0 else f"{value:.2g}"


def alone_words(found: Front) -> str:
    """Why there is one design and no front."""
    objectives, same = found.objectives, found.summary.get("same", [])
    if same:
        values = [f"{objectives[k].words} ({_value(found, k)})" for k in same]
        return f"All designs have the same {' and '.join(values)}: there is nothing to give up for the other."
    most = " and ".join(f"the {'most' if o.raised else 'least'} {o.words}" for o in objectives)
    point, system = found.points[0], found.problem.show
    blurs = [
        (fine(o, blur, system), o.words)
        for o, value, blur in zip(objectives, point.values, point.proven, strict=True)
        if value < FULL.get(o.kind, math.inf) and blur > UNSEEN
    ]
    told = " and ".join(f"{amount} in {words}" for amount, words in blurs if not amount.startswith(LESS))
    if told:  # as a score, which is proven to half a point: less than that may still be had for another
        return (
            f"These do not pull against each other by more than is told apart: one design has {most} that any design "
            f"has, to within {told}."
        )
    return f"These do not pull against each other: one design has {most} that any design has."


def _value(found: Front, k: int) -> str:
    return shown(found.objectives[k], found.points[0].values[k], found.problem.show)


def listed_points(found: Front, most: int) -> list[int]:
    """Indices of about so many points, evenly along the front, and of all its ends and knees."""
    count = len(found.points)
    even = {round(k * (count - 1) / (most - 1)) for k in range(most)} if count > most else set(range(count))
    return sorted(even | set(found.knees) | set(found.ends))


def cells(
    found: Front, values: Sequence[float], score: float | None, design: Mapping[str, object], names: Sequence[str]
) -> tuple[str, ...]:
    """What a table tells of a design: its objectives, its score unless None, and the decisions named."""
    problem = found.problem
    told = [shown(o, v, problem.show) for o, v in zip(found.objectives, values, strict=True)]
    scored = [] if score is None else [f"{score:.1f}"]
    choices = [value_words(problem, n, read_value(problem, n, design[n])) if n in design else "–" for n in names]
    return (*told, *scored, *choices)


def marked(point: FrontPoint) -> str:
    """What a table says beside a point: whether it is a knee, or an end."""
    return " ".join(word for word, there in (("knee", point.knee), ("end", bool(point.ends))) if there)


def deciding(found: Front) -> list[str]:
    """Decisions that change along the front, those that tell most first."""
    there = [n for n in (*FIRST, *LISTED) if all(n in p.design for p in found.points)]
    if any(o.measure == "image_width" for o in found.objectives):
        there = [n for n in there if n != "screen.width"]
    changing = [n for n in there if len({p.design[n] for p in found.points}) > 1]
    things = [n for n in changing if n in LISTED]
    return [n for n in changing if n not in LISTED][: COLUMNS - len(found.objectives)] + things


def _further(found: Front) -> list[str]:
    words = []
    if len(found.points) > 1:
        most = [
            f"{found.ends[k] + 1} has the {'most' if o.raised else 'least'} {o.words}"
            for k, o in enumerate(found.objectives)
            if _varies(found, k)
        ]
        words.append(f"Ends: {'; '.join(most)}.")
    if len(found.points) > 2 and not found.knees:
        words.append("No knee: nowhere does the front bend enough to favour one design by itself.")
    elif found.knees:
        listed = ", ".join(str(k + 1) for k in found.knees)
        several = len(found.knees) > 1
        words.append(
            f"Knee{'s' if several else ''}: {listed}. Whichever way one goes from {'each' if several else 'there'}, more is lost of one than is gained of another, "
            "each as a share of its range on the front."
        )
    for k, objective in enumerate(found.objectives):
        if len(found.points) > 1 and not _varies(found, k):
            told = {shown(objective, point.values[k], found.problem.show) for point in found.points}
            words.append(
                f"All have the same {objective.words}: it does not pull against the others."
                if len(told) == 1
                else f"In {objective.words} they differ by no more than what is left unproven of each."
            )
    if found.summary["left_out"]:
        words.append("Designs that have no such value, for their number of rows or their kind of screen, are left out.")
    return words
