"""Charts with matplotlib: one look, readable in grey and to colour-blind eyes, the same bytes each time."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

from optimiser.errors import UsageError
from optimiser.quantity import show
from optimiser.sheet.style import BLUE, INK, PAPER, SOFT

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

KINDS = (".svg", ".png")
INCHES = {"ft-in": 0.0254, "in": 0.0254}
METRIC = {"m": 1.0, "cm": 0.01, "mm": 0.001}

LOOK: dict[str, Any] = {
    "font.family": "DejaVu Sans",
    "font.size": 9.0,
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 0.7,
    "axes.titlesize": 9.0,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "figure.facecolor": PAPER,
    "savefig.facecolor": PAPER,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "hatch.linewidth": 0.5,
    "svg.hashsalt": "studies",
    "svg.fonttype": "none",
}

SHAPES = ("o", "s", "^", "D", "v", "P", "X", "*")
"""Marks for 1, 2, 3, ... rows: told apart without colour."""


def missing() -> str | None:
    """Why no chart can be drawn; None where one can."""
    try:
        import matplotlib  # noqa: F401
    except ImportError:
        return 'a chart needs matplotlib: pip install "screening-room-optimiser[charts]"'
    return None


def checked(path: Path) -> Path:
    """A path that a chart can be drawn to. Raises UsageError."""
    why = missing()
    if path.suffix.lower() not in KINDS:
        why = f"{path}: a chart is drawn as .svg or .png"
    if why:
        raise UsageError(why)
    return path


@contextmanager
def look() -> Iterator[None]:
    """The look of all charts, whatever the user's own settings of matplotlib."""
    from matplotlib import rc_context, rcParamsDefault

    settings: dict[str, Any] = {
        k: v for k, v in rcParamsDefault.items() if k not in ("backend", "backend_fallback", "interactive")
    }
    with rc_context({**settings, **LOOK}):  # type: ignore[dict-item]
        yield


def new_figure(width: float, height: float) -> Figure:
    """An empty figure, in inches."""
    from matplotlib.figure import Figure

    return Figure(figsize=(width, height), layout="constrained")


def rendered(figure: Figure, kind: str, title: str, description: str) -> bytes:
    """The bytes of a figure as svg or png; an SVG says in words what it shows."""
    stream = io.BytesIO()
    with look():
        if kind == "png":
            figure.savefig(stream, format="png", dpi=160, metadata={"Software": None, "Title": title})
            return stream.getvalue()
        figure.savefig(stream, format="svg", metadata={"Date": None, "Creator": None, "Title": title})
    text = stream.getvalue().decode("utf-8")
    at = text.index(">", text.index("<svg")) + 1
    words = f"\n <title>{escape(title)}</title>\n <desc>{escape(description)}</desc>"
    return (text[: at - 1] + ' role="img">' + words + text[at:]).encode("utf-8")


# --- axes ---------------------------------------------------------------------------------------


def factor_of(kind: str, system: str) -> tuple[float, str]:
    """What divides a record's value for an axis, and the unit to name there."""
    if kind == "length":
        return (INCHES[system], "in") if system in INCHES else (METRIC[system], system)
    return 1.0, ""


def feet_ticks(low: float, high: float, most: int = 8) -> list[float]:
    """Round places for ticks between two lengths in inches."""
    for step in (0.5, 1, 2, 3, 6, 12, 24, 48, 60, 120, 240, 600):
        if (high - low) / step <= most:
            break
    return [step * k for k in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)]


def dress(axes: Axes, which: str, label: str, kind: str, unit: str, system: str) -> None:
    """Label an axis of numbers; lengths of imperial files get ticks at whole inches and feet."""
    axis = axes.xaxis if which == "x" else axes.yaxis
    if kind == "length" and system in INCHES:
        low, high = sorted(axes.get_xlim() if which == "x" else axes.get_ylim())
        ticks = feet_ticks(low, high)
        axis.set_ticks(ticks, [show("length", t * 0.0254, system) for t in ticks])
        axis.set_label_text(label)
        return
    shown = unit if kind != "length" else factor_of(kind, system)[1]
    shown = {"deg": "°", "1": "", "points": "points of 100"}.get(shown, shown)
    axis.set_label_text(f"{label} [{shown}]" if shown else label)


def grid(axes: Axes, axis: str = "both") -> None:
    """Quiet lines to read values by."""
    axes.grid(True, axis=axis, color="#dddddf", linewidth=0.5)  # type: ignore[arg-type]
    axes.set_axisbelow(True)


def row_mark(rows: int) -> dict[str, Any]:
    """How a design of so many rows is marked."""
    filled = rows % 2 == 1
    return {
        "marker": SHAPES[(rows - 1) % len(SHAPES)],
        "markerfacecolor": BLUE if filled else PAPER,
        "markeredgecolor": BLUE,
    }


def row_words(rows: int) -> str:
    """How a legend names a number of rows."""
    return "1 row" if rows == 1 else f"{rows} rows"


def row_legend(counts: Sequence[int]) -> list[Any]:
    """Entries of a legend that tell marks of rows."""
    from matplotlib.lines import Line2D

    return [
        Line2D([], [], linestyle="none", markersize=5, label=row_words(n), **row_mark(n)) for n in sorted(set(counts))
    ]
