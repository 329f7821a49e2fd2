"""A sweep as a chart: score and image over the input, and below, which limits bind where."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from optimiser.quantity import show
from optimiser.sheet.results.canvas import dress, factor_of, grid, look, new_figure, row_legend, row_mark
from optimiser.sheet.results.terminal import structure_of
from optimiser.sheet.results.words import limit_words, status_words, unit_of
from optimiser.sheet.style import BLUE, INK, PAPER, RUST, SOFT
from optimiser.study.changes import binding, changes
from optimiser.study.inputs import Input
from optimiser.study.reading import Study

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_LIMITS = 12
"""Limits that have a lane: those that bind most often."""

LETTERS = 10
"""Letters of the name of a region that a cell of the map is wide, about."""

Records = Sequence[Mapping[str, Any]]


def sweep_chart(study: Study) -> Figure:
    """The chart of a sweep over one input or two."""
    records = list(study.records())
    with look():
        if len(study.sweep.shape) == 2:
            return _map(study, records)
        return _line(study, records)


def described(study: Study) -> str:
    """The chart in words."""
    records = list(study.records())
    scores = [r["score"] for r in records if r["feasible"]]
    over = " and ".join(i.path for i in study.sweep.inputs)
    words = f"Best score at {len(records)} values of {over}"
    if not scores:
        return words + "; none is possible."
    without = len(records) - len(scores)
    end = f"; {without} without a design" if without else ""
    return f"{words}, from {min(scores):.1f} to {max(scores):.1f} of 100{end}."


# --- one input ----------------------------------------------------------------------------------


def _line(study: Study, records: Records) -> Figure:
    problem = study.problem
    assert problem is not None
    (over,) = study.sweep.inputs
    lanes = _lanes(records)
    tall = [2.4, 1.5] + ([0.45 + 0.22 * len(lanes)] if lanes else [])
    figure = new_figure(7.5, sum(tall) + 0.9)
    figure.suptitle(problem.title, x=0.01, ha="left", fontweight="bold", fontsize=11)
    panels = figure.subplots(len(tall), 1, sharex=True, gridspec_kw={"height_ratios": tall}, squeeze=False)[
        :, 0
    ].tolist()
    x, half = _places(over, records, problem.show)
    _score(panels[0], records, x, half)
    _image(panels[1], records, x, problem.show)
    if lanes:
        _binding(panels[2], records, x, half, lanes)
    for axes in panels:
        _edges(axes, records, x, half)
    _own(panels, study, over, problem.show)
    last = panels[-1]
    if over.values[0] is None or over.kind == "aspect":
        last.set_xticks(x, [over.shown(r["index"], problem.show) for r in records])
        last.set_xlabel(over.path)
    else:
        dress(last, "x", over.path, over.kind, unit_of(study, over.kind, over.unit), problem.show)
    return figure


def _places(over: Input, records: Records, system: str) -> tuple[list[float], list[float]]:
    """Where each record stands on the axis, and half the way to its neighbours."""
    if over.values[0] is None or over.kind == "aspect":
        return [float(at) for at in range(len(records))], [0.5] * len(records)
    factor, _ = factor_of(over.kind, system)
    x = [float(over.outward[r["index"]]) / factor for r in records]  # type: ignore[arg-type]
    gaps = [b - a for a, b in zip(x, x[1:])] or [1.0]
    near = [min(gaps[max(0, at - 1)], gaps[min(at, len(gaps) - 1)]) / 2 for at in range(len(x))]
    return x, near


def _runs(flags: Sequence[object]) -> list[tuple[int, int]]:
    """First and last place of each run of equal true flags."""
    runs: list[tuple[int, int]] = []
    for at, flag in enumerate(flags):
        if not flag:
            continue
        if runs and runs[-1][1] == at - 1 and flags[at - 1] == flag:
            runs[-1] = (runs[-1][0], at)
        else:
            runs.append((at, at))
    return runs


def _score(axes: Axes, records: Records, x: Sequence[float], half: Sequence[float]) -> None:
    kinds = [structure_of(r) if r["feasible"] else None for r in records]
    for first, last in _runs(kinds):
        chosen = slice(first, last + 1)
        rows = kinds[first][0]  # type: ignore[index]
        scores = [r["score"] for r in records[chosen]]
        size = 4.5 if len(records) <= 60 else 2.5
        axes.plot(x[chosen], scores, color=BLUE, linewidth=1.2, markersize=size, **row_mark(rows))
    _without(axes, records, x, half)
    axes.set_ylabel("score")
    grid(axes)
    handles = row_legend([k[0] for k in kinds if k])
    if handles:
        axes.legend(handles=handles, loc="best", frameon=True, framealpha=0.9, edgecolor="none", fontsize=8)


def _without(axes: Axes, records: Records, x: Sequence[float], half: Sequence[float]) -> None:
    """Stretches without a design, hatched and named."""
    for first, last in _runs([status_words(r) for r in records]):
        left, right = x[first] - half[first], x[last] + half[last]
        axes.axvspan(left, right, facecolor="#eeeeef", edgecolor=SOFT, hatch="////", linewidth=0.0)
        axes.text(
            0.5 * (left + right), 0.5, status_words(records[first]), transform=axes.get_xaxis_transform(),
            ha="center", va="center", rotation=90, fontsize=8,
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 1.5},
        )  # fmt: skip


def _image(axes: Axes, records: Records, x: Sequence[float], system: str) -> None:
    factor, _ = factor_of("length", system)
    kinds = [structure_of(r) if r["feasible"] else None for r in records]
    for first, last in _runs(kinds):
        chosen = slice(first, last + 1)
        widths = [r["design"]["screen.width"] / factor for r in records[chosen]]
        dots = "." if first == last else ""
        axes.plot(x[chosen], widths, color=INK, linewidth=1.2, marker=dots, drawstyle="default")
    low, high = axes.get_ylim()
    wide = max(high - low, 0.05 / factor)
    axes.set_ylim(0.5 * (low + high - 1.15 * wide), 0.5 * (low + high + 1.15 * wide))
    dress(axes, "y", "image width", "length", "m", system)
    grid(axes)


def _edges(axes: Axes, records: Records, x: Sequence[float], half: Sequence[float]) -> None:
    """Lines where rows, seats or screen change; the first panel names what comes."""
    for at in range(1, len(records)):
        found = [c for c in changes(records[at - 1], records[at]) if c.what not in ("binding", "possible")]
        if found:
            axes.axvline(0.5 * (x[at - 1] + x[at]), color=RUST, linewidth=0.8, linestyle=(0, (4, 2)))
    if axes.get_subplotspec() is not None and axes.get_subplotspec().rowspan.start == 0:  # type: ignore[union-attr]
        for at in range(1, len(records)):
            found = [c for c in changes(records[at - 1], records[at]) if c.what not in ("binding", "possible")]
            if found:
                axes.text(
                    0.5 * (x[at - 1] + x[at]), 1.01, _short(records[at]), transform=axes.get_xaxis_transform(),
                    ha="center", va="bottom", fontsize=7, color=RUST,
                )  # fmt: skip


def _short(record: Mapping[str, Any]) -> str:
    _, seats, _, aspect = structure_of(record)
    return f"{_seats_words(seats)}\n{aspect}"


def _seats_words(seats: Sequence[int]) -> str:
    """Seats of each row from the front: ``3+4 seats``."""
    return f"{'+'.join(map(str, seats))} seat{'' if tuple(seats) == (1,) else 's'}"


def _lanes(records: Records) -> list[str]:
    counts: dict[str, int] = {}
    for record in records:
        for label in binding(record):
            counts[label] = counts.get(label, 0) + 1
    order = {label: at for at, label in enumerate(counts)}
    most = sorted(counts, key=lambda label: (-counts[label], order[label]))[:MOST_LIMITS]
    return sorted(most, key=order.__getitem__)


def _binding(axes: Axes, records: Records, x: Sequence[float], half: Sequence[float], lanes: Sequence[str]) -> None:
    for lane, label in enumerate(lanes):
        for first, last in _runs([label in binding(r) for r in records]):
            left, right = x[first] - half[first], x[last] + half[last]
            axes.plot([left, right], [lane, lane], color=INK, linewidth=4.0, solid_capstyle="butt")
    axes.set_yticks(range(len(lanes)), [limit_words(label) for label in lanes], fontsize=8)
    axes.set_ylim(len(lanes) - 0.4, -0.6)
    axes.set_title("limits that bind")
    axes.tick_params(axis="y", length=0)
    grid(axes, "x")


def _own(panels: Sequence[Axes], study: Study, over: Input, system: str) -> None:
    """The file's own value, where the sweep passes it."""
    own = study.own_value(over)
    numbers = [v for v in over.values if v is not None]
    if own is None or not numbers or over.kind == "aspect" or not min(numbers) <= own <= max(numbers):
        return
    from optimiser.record import outward

    at = outward(over.kind, own)
    assert at is not None
    x = at / factor_of(over.kind, system)[0]
    for axes in panels:
        axes.axvline(x, color=SOFT, linewidth=0.8, linestyle=(0, (1, 1.5)))
    panels[0].text(
        x, 0.02, " the file's own: " + show(over.kind, own, system), transform=panels[0].get_xaxis_transform(),
        ha="left", va="bottom", fontsize=7, color=SOFT,
    )  # fmt: skip


# --- two inputs ---------------------------------------------------------------------------------


def _map(study: Study, records: Records) -> Figure:
    problem, sweep = study.problem, study.sweep
    assert problem is not None
    down, across = sweep.inputs
    height, width = sweep.shape
    by_place = {sweep.place(r["index"]): r for r in records}
    figure = new_figure(min(11.0, 2.2 + max(0.42 * width, 3.2)), min(10.0, 1.8 + max(0.34 * height, 1.6)))
    figure.suptitle(problem.title, x=0.01, ha="left", fontweight="bold", fontsize=11)
    axes = figure.subplots()
    scores = [[_score_at(by_place, (i, j)) for j in range(width)] for i in range(height)]
    known = [s for row in scores for s in row if s is not None]
    low, high = (min(known), max(known)) if known else (0.0, 100.0)
    from matplotlib.cm import ScalarMappable
    from matplotlib.colors import LinearSegmentedColormap, Normalize
    from matplotlib.patches import Rectangle

    shades = LinearSegmentedColormap.from_list("scores", ["#f7f7f4", "#b9cde0", "#0b5394"])
    scale = Normalize(low, high if high > low else low + 1.0)
    for i, j in by_place:
        score = scores[i][j]
        if score is None:
            axes.add_patch(
                Rectangle((j - 0.5, i - 0.5), 1, 1, facecolor="#eeeeef", edgecolor=SOFT, hatch="////", linewidth=0)
            )
            continue
        shade = shades(scale(score))
        axes.add_patch(Rectangle((j - 0.5, i - 0.5), 1, 1, facecolor=shade, edgecolor="none"))
        if width * height <= 400:
            dark = 0.299 * shade[0] + 0.587 * shade[1] + 0.114 * shade[2] < 0.55
            axes.text(j, i, f"{score:.0f}", ha="center", va="center", fontsize=7, color=PAPER if dark else INK)
    _borders(axes, by_place, height, width)
    axes.set_xlim(-0.5, width - 0.5)
    axes.set_ylim(-0.5, height - 0.5)
    every_x, every_y = max(1, -(-width // 8)), max(1, -(-height // 14))
    axes.set_xticks(range(0, width, every_x), [across.shown(j, problem.show) for j in range(0, width, every_x)])
    axes.set_yticks(range(0, height, every_y), [down.shown(i, problem.show) for i in range(0, height, every_y)])
    axes.set_xlabel(across.path)
    axes.set_ylabel(down.path)
    for label in axes.get_xticklabels():
        label.set_rotation(30 if width > 4 else 0)
        label.set_horizontalalignment("right" if width > 4 else "center")
    bar = figure.colorbar(ScalarMappable(scale, shades), ax=axes, pad=0.02)
    bar.set_label("score")
    bar.outline.set_visible(False)  # type: ignore[operator]
    return figure


def _score_at(by_place: Mapping[tuple[int, ...], Mapping[str, Any]], place: tuple[int, int]) -> float | None:
    record = by_place.get(place)
    return record["score"] if record is not None and record["feasible"] else None


def _borders(axes: Axes, by_place: Mapping[tuple[int, ...], Mapping[str, Any]], height: int, width: int) -> None:
    """Lines between cells whose designs differ in rows, seats or screen, and the structure of each region."""
    kinds = {p: structure_of(r) if r["feasible"] else None for p, r in by_place.items()}
    cells: dict[tuple, list[tuple[int, int]]] = {}
    for i in range(height):
        for j in range(width):
            here = kinds.get((i, j))
            if j + 1 < width and (i, j + 1) in kinds and kinds[i, j + 1] != here:
                axes.plot([j + 0.5, j + 0.5], [i - 0.5, i + 0.5], color=RUST, linewidth=1.6)
            if i + 1 < height and (i + 1, j) in kinds and kinds[i + 1, j] != here:
                axes.plot([j - 0.5, j + 0.5], [i + 0.5, i + 0.5], color=RUST, linewidth=1.6)
            if here is not None:
                cells.setdefault(here, []).append((i, j))
    taken: set[tuple[int, int]] = set()
    for (_, seats, _, aspect), there in cells.items():
        words = f"{_seats_words(seats)}, {aspect}"
        most = -(-len(words) // LETTERS)  # cells that the words may cover, from the edge inwards
        spans = [(i, max(0, min(j, width - most)), j) for i, j in there]
        covered = [{(i, k) for k in range(first, first + most)} for i, first, _ in spans]
        at = next((n for n, c in enumerate(covered) if not c & taken), 0)
        taken |= covered[at]
        i, first, j = spans[at]
        left = first == j  # else the words would run over the edge of the map
        axes.text(
            j - 0.46 if left else j + 0.46, i + 0.44, words, ha="left" if left else "right", va="top", fontsize=5.5,
            color=INK, bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6, "alpha": 0.85},
        )  # fmt: skip
