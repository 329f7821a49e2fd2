"""A front as a chart: the designs that no other beats, the knee, the best score, and the file's own designs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import TYPE_CHECKING, Any

from optimiser.sheet.results.canvas import dress, factor_of, grid, look, new_figure, row_legend, row_mark
from optimiser.sheet.results.words import objective_amounts, unit_of
from optimiser.sheet.style import BLUE, INK, PAPER, RUST, SOFT
from optimiser.study.reading import Study

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Records = Sequence[Mapping[str, Any]]


def front_chart(study: Study) -> Figure:
    """The chart of a front between two objectives, or of each pair of three."""
    problem = study.problem
    assert problem is not None
    records = list(study.records())
    objectives = study.header["objectives"]
    pairs = list(combinations(range(len(objectives)), 2))
    with look():
        figure = new_figure(7.0, 5.0) if len(pairs) == 1 else new_figure(11.0, 4.4)
        figure.suptitle(problem.title, x=0.01, ha="left", fontweight="bold", fontsize=11)
        panels = figure.subplots(1, len(pairs), squeeze=False)[0]
        for axes, (one, two) in zip(panels, pairs):
            _panel(axes, study, records, one, two, problem.show)
        handles, labels = panels[0].get_legend_handles_labels()
        handles = [*row_legend([r["design"]["rows"] for r in records if r.get("design")]), *handles]
        panels[0].legend(
            handles=handles, loc="best", markerscale=0.7, frameon=True, framealpha=0.9, edgecolor="none", fontsize=8
        )
    return figure


def described(study: Study) -> str:
    """The chart in words."""
    names = " and ".join(o["label"] for o in study.header["objectives"])
    knees = [r for r in study.records() if r.get("knee")]
    count = sum(1 for _ in study.records())
    words = f"{count} designs of which none is beaten in all of {names}"
    if not knees:
        return words + "."
    problem = study.problem
    assert problem is not None
    at = ", ".join(objective_amounts(study, knees[0], problem.show))
    return f"{words}; the knee is at {at}."


def _panel(axes: Axes, study: Study, records: Records, one: int, two: int, system: str) -> None:
    objectives = study.header["objectives"]
    kinds = [o["kind"] for o in objectives]
    scales = [factor_of(kinds[k], system)[0] for k in (one, two)]

    def at(values: Sequence[float]) -> tuple[float, float]:
        return values[one] / scales[0], values[two] / scales[1]

    points = [at(r["values"]) for r in records]
    if len(objectives) == 2:
        line = sorted(points)
        axes.plot([p[0] for p in line], [p[1] for p in line], color=SOFT, linewidth=0.8, zorder=1)
    for record, (x, y) in zip(records, points):
        axes.plot([x], [y], linestyle="none", markersize=4.5, zorder=2, **row_mark(record["design"]["rows"]))
    better = tuple(18.0 if objectives[k]["sense"] == "raise" else -18.0 for k in (one, two))
    _special(axes, records, points, study, at, better)
    _ends(axes, objectives, one, two)
    for which, k in (("x", one), ("y", two)):
        dress(axes, which, _named(objectives[k]), kinds[k], unit_of(study, kinds[k], objectives[k]["unit"]), system)
    grid(axes)


def _named(objective: Mapping[str, Any]) -> str:
    arrow = "more is better" if objective["sense"] == "raise" else "less is better"
    return f"{objective['label']} ({arrow})"


_CENTRED = {"ha": "center", "va": "center"}


def _special(
    axes: Axes,
    records: Records,
    points: Sequence[tuple[float, float]],
    study: Study,
    at: Any,
    better: tuple[float, float],
) -> None:
    """The designs that are marked. ``better``: in points, a step to where both objectives are better, which
    is clear of the front."""
    knees = [p for r, p in zip(records, points) if r.get("knee")]
    ring: dict[str, Any] = {"linestyle": "none", "markerfacecolor": "none", "zorder": 3}
    if knees:
        axes.plot(
            *zip(*knees), marker="D", markersize=12, markeredgecolor=RUST, markeredgewidth=1.4, label="knee", **ring
        )
        for x, y in knees[:1]:
            axes.annotate("knee", (x, y), better, textcoords="offset points", fontsize=8, color=RUST, **_CENTRED)
    scored = [(r["score"], p) for r, p in zip(records, points) if r.get("score") is not None]
    if scored:
        best = max(scored, key=lambda pair: pair[0])[1]
        axes.plot([best[0]], [best[1]], marker="s", markersize=13, markeredgecolor=INK, label="best score here", **ring)
    for name, values in study.own_designs():
        x, y = at(values)
        axes.plot([x], [y], marker="X", markersize=8, color=INK, markeredgecolor=PAPER, linestyle="none", zorder=3)
        axes.annotate(name, (x, y), (8, -10), textcoords="offset points", fontsize=8, color=INK)


def _ends(axes: Axes, objectives: Sequence[Mapping[str, Any]], one: int, two: int) -> None:
    """Room around the points, and an arrow to where both are better."""
    axes.margins(0.08)
    right = objectives[one]["sense"] == "raise"
    up = objectives[two]["sense"] == "raise"
    tip = (0.985 if right else 0.015, 0.985 if up else 0.015)
    tail = (tip[0] + (-0.07 if right else 0.07), tip[1] + (-0.07 if up else 0.07))
    axes.annotate(
        "", tip, tail, xycoords="axes fraction", textcoords="axes fraction",
        arrowprops={"arrowstyle": "->", "color": BLUE, "linewidth": 1.2},
    )  # fmt: skip
