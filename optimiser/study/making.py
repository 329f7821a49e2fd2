"""From a study as asked to the finished study: in a file, or where none is named, in memory."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from optimiser.engine import load_solver
from optimiser.errors import UsageError
from optimiser.study.reading import Study, open_study
from optimiser.study.records import Record
from optimiser.study.running import Plan, Told, carry_out
from optimiser.work import Workers


def make_study(
    plan: Plan,
    function: Callable[[Any], Record],
    workers: Callable[[], Workers],
    *,
    out: Path | None = None,
    resume: bool = False,
    overwrite: bool = False,
    told: Told | None = None,
) -> Study:
    """Carry a study out and open it. ``workers`` says who works; it is asked once all is loaded, so that
    processes of our own have it too."""
    if out is None and (resume or overwrite):
        raise UsageError("to resume or to overwrite, name the study's file")
    load_solver()
    if out is not None:
        with workers() as hands:
            carry_out(plan, function, out, hands, resume=resume, overwrite=overwrite, told=told)
        return open_study(out)
    with tempfile.TemporaryDirectory() as folder, workers() as hands:
        path = Path(folder, "study.jsonl")
        carry_out(plan, function, path, hands, told=told)
        return open_study(path).in_memory()
