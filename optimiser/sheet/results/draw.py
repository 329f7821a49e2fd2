"""Which chart a study has, and how it gets into a file."""

from __future__ import annotations

from pathlib import Path

from optimiser.errors import UsageError
from optimiser.sheet.results import batch_chart, front_chart, plans, sweep_chart
from optimiser.sheet.results.canvas import checked, rendered
from optimiser.study.reading import Study

CHARTS = {
    "front": (front_chart.front_chart, front_chart.described),
    "sweep": (sweep_chart.sweep_chart, sweep_chart.described),
    "batch": (batch_chart.batch_chart, batch_chart.described),
}


def chart(study: Study, kind: str = "svg") -> bytes:
    """A study's chart as svg or png."""
    draw, described = CHARTS[study.kind]
    return rendered(draw(study), kind, _title(study), described(study))


def plan_outlines(study: Study, kind: str = "svg") -> bytes:
    """Plans of a study's designs side by side, as svg or png."""
    return rendered(plans.plans_chart(study), kind, _title(study), plans.described(study))


def write_chart(path: Path, study: Study, *, outlines: bool = False) -> None:
    """Draw a study's chart, or its plans, into an SVG or PNG file."""
    kind = checked(path).suffix.lower()[1:]
    content = plan_outlines(study, kind) if outlines else chart(study, kind)
    try:
        path.write_bytes(content)
    except OSError as error:
        raise UsageError(f"{path} cannot be written ({error.strerror})") from None


def _title(study: Study) -> str:
    return study.problem.title if study.problem is not None else "Many rooms"
