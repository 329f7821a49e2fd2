"""Plan outlines of a study's designs side by side, all to one scale: what the numbers look like."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from optimiser.errors import UsageError
from optimiser.quantity import show
from optimiser.sheet.figures import Figure as Outline
from optimiser.sheet.figures import figure as outline_of
from optimiser.sheet.results.canvas import look, new_figure
from optimiser.sheet.results.words import objective_amounts
from optimiser.sheet.style import BLUE, INK, PAPER, RUST, SOFT
from optimiser.study.reading import Study

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST = 12
ACROSS = 4

Records = Sequence[Mapping[str, Any]]


def plans_chart(study: Study) -> Figure:
    """Up to a dozen plans, evenly along the study; a front's knee and its best score are always there."""
    records = [r for r in study.records() if r.get("design")]
    if not records:
        raise UsageError("this study has no design to draw")
    if study.kind == "front":
        records.sort(key=lambda r: r["values"])
    chosen = _chosen(study, records)
    drawn = []
    for record in chosen:
        found = study.design_of(record)
        assert found is not None
        problem, space, design, _ = found
        drawn.append((record, problem.show, outline_of(problem, space, design)))
    long = max(f.length for *_, f in drawn)
    wide = max(f.width for *_, f in drawn)
    columns = min(ACROSS, len(drawn))
    rows = math.ceil(len(drawn) / columns)
    with look():
        each = 2.6
        figure = new_figure(each * columns, rows * (each * wide / long + 0.55) + 0.6)
        title = study.problem.title if study.problem is not None else "Many rooms"
        figure.suptitle(title, x=0.01, ha="left", fontweight="bold", fontsize=11)
        figure.supxlabel(_legend(study), x=0.01, ha="left", fontsize=7.5)
        panels = figure.subplots(rows, columns, squeeze=False).flat
        for axes in panels:
            axes.set_axis_off()
        for axes, (record, system, outline) in zip(figure.axes, drawn):
            _plan(axes, outline)
            axes.set_xlim(-0.15, long + 0.15)
            axes.set_ylim(-0.25, wide + 0.25)
            axes.set_aspect("equal", anchor="SW")
            axes.set_title(_caption(study, record, system), fontsize=7.5, fontweight="normal")
    return figure


def described(study: Study) -> str:
    """The plans in words."""
    count = len(_chosen(study, [r for r in study.records() if r.get("design")]))
    return f"Plans of {count} designs of the study, front wall to the left, all to one scale."


def _chosen(study: Study, records: Records) -> Records:
    if len(records) <= MOST:
        return records
    places = {round(k * (len(records) - 1) / (MOST - 1)) for k in range(MOST)}
    if study.kind == "front":
        marked = [at for at, r in enumerate(records) if r.get("knee")][:2]
        scores = [r.get("score") or 0.0 for r in records]
        for at in [*marked, scores.index(max(scores))]:
            if at not in places:
                inner = sorted(places)[1:-1]
                places.discard(min((p for p in inner if p not in marked), key=lambda p: abs(p - at)))
                places.add(at)
    return [records[at] for at in sorted(places)]


def _legend(study: Study) -> str:
    words = "Front wall to the left, all to one scale; filled seats: the reference row; shaded: platforms."
    if study.kind == "front":
        names = "; ".join(o["label"] for o in study.header["objectives"])
        return f"Above each plan: {names}. {words}"
    if study.kind == "sweep":
        return f"Above each plan: {', '.join(i.path for i in study.sweep.inputs)}. {words}"
    return words


def _caption(study: Study, record: Mapping[str, Any], system: str) -> str:
    if study.kind == "batch":
        first = record["name"] if len(record["name"]) <= 30 else record["name"][:29] + "…"
    elif study.kind == "sweep":
        place = study.sweep.place(record["index"])
        first = ", ".join(i.shown(at, system) for i, at in zip(study.sweep.inputs, place))
    else:
        first = ", ".join(objective_amounts(study, record, system))
        first += "  (knee)" if record.get("knee") else ""
    second = f"score {record['score']:.1f}, " if record.get("score") is not None else ""
    return f"{first}\n{second}image {show('length', record['design']['screen.width'], system)}"


def _plan(axes: Axes, f: Outline) -> None:
    """The outline of a room, its front, its doors and its rows; the front wall to the left."""
    from matplotlib.patches import Circle, Rectangle, Wedge

    def box(y: tuple[float, float], x: tuple[float, float], **how: Any) -> None:
        axes.add_patch(Rectangle((y[0], x[0]), y[1] - y[0], x[1] - x[0], **how))

    box((0.0, f.length), (0.0, f.width), facecolor=PAPER, edgecolor=INK, linewidth=1.2)
    for (start, end), _ in f.platforms:
        box((start, end), (0.0, f.width), facecolor="#f0ece2", edgecolor=SOFT, linewidth=0.5)
    for body in f.obstructions:
        box(body.y, body.x, facecolor="none", edgecolor=SOFT, linewidth=0.5, linestyle=(0, (3, 1.5)))
    for _, sweep in f.doors:
        if sweep.sweep <= 0.0:
            continue
        hinge = (sweep.hinge[1], sweep.hinge[0])
        first, last = (90.0 - math.degrees(a) for a in (sweep.start + sweep.sweep, sweep.start))
        axes.add_patch(Wedge(hinge, sweep.radius, first, last, facecolor="none", edgecolor=SOFT, linewidth=0.5))
    box((0.0, f.baffle_depth), f.baffle, facecolor="#d9d9dc", edgecolor=INK, linewidth=0.7)
    axes.plot([f.image_y, f.image_y], list(f.image), color=BLUE, linewidth=2.4, solid_capstyle="butt")
    if f.projector is not None:
        axes.plot([f.projector[0]], [f.centre], marker="s", markersize=3, color=SOFT)
    for row in f.rows:
        reference = row.number == f.reference
        axes.plot([row.y, row.y], list(row.x), color=RUST if reference else INK, linewidth=0.7)
        for x in row.people:
            fill = RUST if reference else PAPER
            axes.add_patch(
                Circle((row.y, x), 0.16, facecolor=fill, edgecolor=RUST if reference else INK, linewidth=0.9)
            )
