"""Many rooms as a chart: a bar a room, or of more rooms their scores in order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from optimiser.sheet import lettering
from optimiser.sheet.results.canvas import grid, look, new_figure, row_words
from optimiser.sheet.results.words import status_words
from optimiser.sheet.style import BLUE, INK, PAPER, SOFT
from optimiser.study.reading import Study

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_BARS = 40

WIDEST = 50.0
"""Millimetres for the name of a room, of the chart's 190."""

HATCHES = ("", "////", "....", "xxxx", "----", "++++", "oooo", "****")

Bar = tuple[str, float | None, int, str]
"""A room's name, its score, its rows, and why it has no design."""


def batch_chart(study: Study) -> Figure:
    """The chart of many rooms."""
    bars = [_bar(r) for r in study.records()]
    with look():
        tall = 1.0 + 0.2 * len(bars) if len(bars) <= MOST_BARS else 4.2
        figure = new_figure(7.5, max(2.2, tall))
        title = study.problem.title if study.problem is not None else "Many rooms"
        figure.suptitle(f"{title}: {len(bars)} rooms", x=0.01, ha="left", fontweight="bold", fontsize=11)
        axes = figure.subplots()
        if len(bars) <= MOST_BARS:
            _bars(axes, bars)
        else:
            _ranked(axes, bars)
    return figure


def described(study: Study) -> str:
    """The chart in words."""
    bars = [_bar(r) for r in study.records()]
    scores = [score for _, score, _, _ in bars if score is not None]
    if not scores:
        return f"{len(bars)} rooms, none with a design."
    return f"{len(bars)} rooms, {len(scores)} with a design; scores from {min(scores):.1f} to {max(scores):.1f} of 100."


def _bar(record: Mapping[str, Any]) -> Bar:
    if not record["feasible"]:
        return record["name"], None, 0, status_words(record)
    return record["name"], record["score"], record["design"]["rows"], ""


def _look_of(rows: int) -> dict[str, Any]:
    """How a bar of so many rows is filled: told apart by hatching as well as by shade."""
    return {"facecolor": "#b9cde0" if rows > 1 else BLUE, "edgecolor": INK, "hatch": HATCHES[(rows - 1) % len(HATCHES)]}


def _legend(axes: Axes, rows: Sequence[int], outside: bool = False) -> None:
    from matplotlib.patches import Patch

    handles = [Patch(label=row_words(n), linewidth=0.4, **_look_of(n)) for n in sorted(set(rows))]
    if handles:
        where = {"loc": "lower left", "bbox_to_anchor": (0.0, 1.0), "ncols": 6} if outside else {"loc": "lower left"}
        axes.legend(handles=handles, frameon=not outside, framealpha=0.9, edgecolor="none", fontsize=8, **where)


def _bars(axes: Axes, bars: Sequence[Bar]) -> None:
    for at, (_, score, rows, why) in enumerate(bars):
        if score is None:
            axes.text(1.0, at, why, va="center", fontsize=8, color=SOFT)
            continue
        axes.barh(at, score, height=0.62, linewidth=0.4, **_look_of(rows))
        axes.text(score + 0.8, at, f"{score:.1f}", va="center", fontsize=8)
    axes.set_yticks(range(len(bars)), [_short(name) for name, *_ in bars], fontsize=8)
    axes.set_ylim(len(bars) - 0.4, -0.6)
    axes.set_xlim(0, 108)
    axes.set_xticks(range(0, 101, 20))
    axes.set_xlabel("score")
    axes.tick_params(axis="y", length=0)
    grid(axes, "x")
    _legend(axes, [rows for _, score, rows, _ in bars if score is not None], outside=True)


def _short(name: str) -> str:
    """A name that leaves most of the chart to the bars."""
    return lettering.shortened(name, WIDEST, 8.0)


def _ranked(axes: Axes, bars: Sequence[Bar]) -> None:
    ranked = sorted((bar for bar in bars if bar[1] is not None), key=lambda bar: -(bar[1] or 0.0))
    for rows in sorted({bar[2] for bar in ranked}):
        places = [(at, bar[1]) for at, bar in enumerate(ranked, start=1) if bar[2] == rows]
        style: dict[str, Any] = {"color": BLUE, "markerfacecolor": BLUE if rows == 1 else PAPER, "markersize": 3.5}
        axes.plot(*zip(*places), linestyle="none", marker="os^DvPX*"[(rows - 1) % 8], label=row_words(rows), **style)
    without = len(bars) - len(ranked)
    if without:
        left = len(ranked) + 0.5
        axes.axvspan(left, len(bars) + 0.5, facecolor="#eeeeef", edgecolor=SOFT, hatch="////", linewidth=0.0)
        axes.annotate(
            f"{without} without a design", (left, 0.5), (-6, 0), xycoords=("data", "axes fraction"),
            textcoords="offset points", ha="right", va="center", fontsize=8,
        )  # fmt: skip
    axes.set_xlim(0.5, len(bars) + 0.5)
    axes.set_xlabel("rooms, the best first")
    axes.set_ylabel("score")
    grid(axes)
    axes.legend(loc="lower left", frameon=True, framealpha=0.9, edgecolor="none", fontsize=8)
