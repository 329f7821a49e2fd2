"""The program from Python: load a problem, solve it, and make studies; results that notebooks can show.

``from optimiser import load, solve, front, sweep, batch``. Functions raise the errors of
:mod:`optimiser.errors`, which say what is wrong and how to mend it. In a script, worker processes
need the usual ``if __name__ == "__main__":`` around whatever starts them; ``workers=1`` needs none.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import fields
from functools import partial
from numbers import Real
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any, Union

from optimiser.design import checked_grid
from optimiser.engine import EFFORT, load_solver
from optimiser.errors import QuantityError, UsageError
from optimiser.outputs import keep_apart
from optimiser.problem.changed import with_texts
from optimiser.problem.decisions import with_all_fixed
from optimiser.problem.model import Problem
from optimiser.problem.read import load as load_problem
from optimiser.quantity import parse
from optimiser.record import solution_record
from optimiser.solve import Solution
from optimiser.solve import solve as solve_problem
from optimiser.study.asking import answer
from optimiser.study.batch import Batch, answer_room, batch_of_files, batch_of_table, read_table
from optimiser.study.front import front as find_front
from optimiser.study.inputs import Value
from optimiser.study.making import make_study
from optimiser.study.oracle import CLOSE
from optimiser.study.reading import Study, open_study
from optimiser.study.running import Plan, Told
from optimiser.study.sweep import sweep_of
from optimiser.work import Workers

if TYPE_CHECKING:
    from pandas import DataFrame  # type: ignore[import-untyped]

File = str | Path
Values = Value | Sequence[Value]
Table = Union[File, Sequence[Mapping[str, Any]], "DataFrame"]

SHOWN = 20
"""Records that a notebook shows of a study."""


def load(file: File) -> Problem:
    """Read a problem file. Raises ProblemFileError with all its faults, UsageError where ``file`` is no path."""
    return load_problem(_path(file, "a problem file"))


# --- one problem --------------------------------------------------------------------------------


class Answer(Solution):
    """The answer to a problem: status, score, bound, design, scorecard; a notebook draws it."""

    def record(self) -> dict[str, Any]:
        """All of the answer as plain data, as ``optimiser solve --json`` prints it."""
        return solution_record(self)

    def _repr_svg_(self) -> str | None:
        """Plan and section, to scale; None where there is no design."""
        from optimiser.sheet.picture import picture

        if self.design is None or self.space is None:
            return None
        return picture(self.problem, self.space, self.design, score=self.score)

    def _repr_html_(self) -> str:
        """What was found and proven, with plan and section."""
        from optimiser.sheet.results.pages import solution_html

        return solution_html(self, self._repr_svg_())


def solve(
    problem: Problem | File, *, grid: str | float | None = None, between: bool = False, effort: float = EFFORT
) -> Answer:
    """The best design of a problem, or of a problem file, proven.

    ``grid``: step of the lengths to choose from, ``"5 mm"`` or in metres; left out, the file's own.
    ``between``: make the proof hold for designs between grid points too. ``effort``: limit on the
    solver's deterministic seconds for each of its models. An impossible problem has an answer too, whose ``status``
    says so. Raises ProblemFileError with all faults of a file, and UsageError for a grid or an effort that cannot be.
    """
    asked = problem if isinstance(problem, Problem) else load(problem)
    found = solve_problem(asked, grid=_metres(grid), between=between, effort=_effort(effort))
    return Answer(**{f.name: getattr(found, f.name) for f in fields(found)})


# --- studies ------------------------------------------------------------------------------------


class Results(Study):
    """A study's results: its records as plain data, as a DataFrame, as files, and as a notebook shows them."""

    def __iter__(self) -> Iterator[dict[str, Any]]:
        return self.records()

    def __len__(self) -> int:
        return sum(1 for _ in self.records())

    def rows(self) -> list[dict[str, Any]]:
        """Each record as one flat row: SI units and degrees, a name with its unit for each value."""
        from optimiser.sheet.results.flat import columns_of, goal_scores, rows_of

        columns = columns_of(self)
        titles = [c.title for c in columns.all]
        found = []
        for record, cells in rows_of(self, columns):
            scores = goal_scores(record)
            found.append(dict(zip(titles, cells)) | {f"score of {g}": scores.get(g) for g in columns.goals})
        return found

    def frame(self) -> DataFrame:
        """The rows as a pandas DataFrame. Raises UsageError where pandas is not installed."""
        try:
            from pandas import DataFrame
        except ImportError:
            raise UsageError("a DataFrame needs pandas: pip install pandas") from None
        return DataFrame(self.rows())

    def save(self, file: File, *, plans: bool = False) -> Path:
        """Write the results as .csv, .xlsx, or as a chart, .svg or .png (``plans``: plan outlines instead)."""
        from optimiser.sheet.results.comma import write_csv
        from optimiser.sheet.results.draw import write_chart
        from optimiser.sheet.results.workbook import write_workbook

        path = Path(file)
        keep_apart([path], [self.path] if self.held is None else [])
        if path.suffix.lower() == ".csv":
            write_csv(path, self)
        elif path.suffix.lower() == ".xlsx":
            write_workbook(path, self)
        else:
            write_chart(path, self, outlines=plans)
        return path

    def _repr_svg_(self) -> str | None:
        """The study's chart; None where matplotlib is not installed."""
        from optimiser.sheet.results.canvas import missing
        from optimiser.sheet.results.draw import chart

        return None if missing() else chart(self, "svg").decode("utf-8")

    def _repr_html_(self) -> str:
        """The study's chart, and the first of its records."""
        from optimiser.sheet.results.pages import study_html

        return study_html(self, self._repr_svg_(), SHOWN)


def read(study: File) -> Results:
    """The results in a study's file, without solving. Raises UsageError where it is none, or is damaged."""
    return _results(open_study(Path(_path(study, "a study"))))


def front(
    problem: Problem | File,
    between: Sequence[str],
    *,
    points: int = 40,
    spacing: Mapping[str, str | float] | None = None,
    close: float | None = None,
    best_scoring: bool = False,
    out: File | None = None,
    resume: bool = False,
    overwrite: bool = False,
    workers: int | None = None,
    executor: Executor | None = None,
    cluster: str | None = None,
    fixed: Mapping[str, str] | None = None,
    grid: str | float | None = None,
    told: Callable[[int, float], None] | None = None,
) -> Results:
    """The designs that none beats in all of two or three objectives, every one proven.

    ``between``: ``image_width``, ``upward_angle[row=2]:lower``, ``length_fraction:closeness``, ``score``.
    ``points``: how many to find at least; ``spacing``: how far apart they are in an objective, instead.
    ``close``: points of 100 to which a score is proven, where it is an objective. ``best_scoring``:
    of the designs at a point take the one that scores best, where else any will do. ``told`` hears how many
    designs there are, and a guess at the share of the work that is done. The other arguments are those
    of ``sweep``. Raises ImpossibleProblem where no design holds all limits, and what ``sweep`` raises.
    """
    _spare(out, problem)
    text, name = _text_of(problem)
    asked = with_all_fixed(with_texts(text, name, {}), fixed or {})
    load_solver()
    with Workers(workers=workers, executor=executor, cluster=cluster) as hands:
        found = find_front(
            asked,
            between,
            points=points,
            spacing=spacing,
            grid=_metres(grid),
            close=CLOSE if close is None else close,
            best_scoring=best_scoring,
            workers=hands,
            out=None if out is None else Path(out),
            text=text,
            fixed=fixed,
            resume=resume,
            overwrite=overwrite,
            told=told,
        )
    held = None if out is not None else tuple(found.records())
    return Results(Path("study.jsonl") if out is None else Path(out), found.header, held)


def sweep(
    problem: Problem | File,
    over: Mapping[str, Values],
    *,
    out: File | None = None,
    resume: bool = False,
    overwrite: bool = False,
    workers: int | None = None,
    executor: Executor | None = None,
    cluster: str | None = None,
    fixed: Mapping[str, str] | None = None,
    grid: str | float | None = None,
    effort: float = EFFORT,
    told: Told | None = None,
) -> Results:
    """The best design at each value of one input, or at each pair of values of two.

    ``over``: paths of the problem file with their values, ``{"room.length": "16 ft..24 ft step 6 in"}`` or
    a list of texts or numbers (metres, degrees and otherwise SI), ``[2, 3]``, ``[True, False]``. ``out``: the study's file; ``resume`` goes on with it, ``overwrite`` begins again.
    ``workers``: processes, one a core if left out; or ``executor``, any of concurrent.futures, or
    ``cluster``, the address of a Dask scheduler. ``fixed``: decisions to pin, by name. ``told`` hears
    how many points are done, of how many, and how many were there before. A value with which the file makes no
    sense is a record like any other. Raises ProblemFileError with all faults of the file as it stands; UsageError
    for inputs, values, pins, a grid or an effort that cannot be, and for a file that is there, belongs to another
    study, is damaged, or cannot be written.
    """
    _spare(out, problem)
    text, name = _text_of(problem)
    plan = sweep_of(text, name, over, fixed=fixed, grid=_metres(grid), effort=_effort(effort))
    who = partial(Workers, workers=workers, executor=executor, cluster=cluster)
    return _made(plan, answer, who, out, resume, overwrite, told)


def batch(
    rooms: Sequence[File] | Table,
    template: Problem | File | None = None,
    *,
    out: File | None = None,
    resume: bool = False,
    overwrite: bool = False,
    workers: int | None = None,
    executor: Executor | None = None,
    cluster: str | None = None,
    fixed: Mapping[str, str] | None = None,
    grid: str | float | None = None,
    effort: float = EFFORT,
    told: Told | None = None,
) -> Results:
    """The best design of many rooms. A room that cannot be read, or is impossible, is a record like any other.

    ``rooms``: problem files; or with a ``template``, a table of rooms over it: a CSV file, mappings or a
    DataFrame with columns ``name``, ``room.length``, ``room.width [m]`` and whatever else the file says.
    The other arguments are those of ``sweep``, and so are the errors, of the template and of the call.
    """
    if not isinstance(rooms, (str, Path, Iterable)):
        raise UsageError(f"rooms: {rooms!r} are none: give problem files, or a table of rooms with a template")
    named = [rooms] if isinstance(rooms, (str, Path)) else [] if hasattr(rooms, "to_dict") else rooms
    _spare(out, template, *named)
    step, effort = _metres(grid), _effort(effort)
    plan: Batch
    if template is None:
        if isinstance(rooms, (str, Path)) or not all(isinstance(room, (str, Path)) for room in rooms):
            raise UsageError("give a list of problem files, or a table of rooms with a template")
        plan = batch_of_files([Path(room) for room in rooms], fixed=fixed, grid=step, effort=effort)  # type: ignore[arg-type]
    else:
        text, name = _text_of(template)
        table, called = _table(rooms)
        plan = batch_of_table(table, called, text, name, fixed=fixed, grid=step, effort=effort)
    who = partial(Workers, workers=workers, executor=executor, cluster=cluster)
    return _made(plan, answer_room, who, out, resume, overwrite, told)


# --- arguments ----------------------------------------------------------------------------------


def _spare(out: File | None, *sources: Any) -> None:
    """Refuse a study's file that is one of the files that it is made of."""
    files = [s.file if isinstance(s, Problem) else s for s in sources]
    keep_apart([None if out is None else Path(out)], [Path(f) for f in files if isinstance(f, (str, Path))])


def _made(
    plan: Plan,
    function: Callable[[Any], Any],
    who: Callable[[], Workers],
    out: File | None,
    resume: bool,
    overwrite: bool,
    told: Told | None,
) -> Results:
    path = None if out is None else Path(out)
    return _results(make_study(plan, function, who, out=path, resume=resume, overwrite=overwrite, told=told))


def _results(study: Study) -> Results:
    return Results(study.path, study.header, study.held)


def _metres(grid: str | float | None) -> float | None:
    """A step of lengths [m] from text or number. Raises UsageError."""
    if grid is None:
        return None
    try:
        step = parse("length", grid) if isinstance(grid, str) else grid
    except QuantityError as error:
        raise UsageError(f"grid: {error}") from None
    if isinstance(step, bool) or not isinstance(step, Real):
        raise UsageError(f"grid: {grid!r} is no step: write it as '5 mm', or in metres")
    try:
        return checked_grid(float(step))
    except UsageError as error:
        raise UsageError(f"grid: {error}") from None


def _effort(effort: float) -> float:
    """A limit on deterministic seconds. Raises UsageError."""
    if isinstance(effort, bool) or not isinstance(effort, Real) or not 0.0 < effort < math.inf:
        raise UsageError(f"effort: {effort!r} is no limit: give seconds, more than nothing")
    return float(effort)


def _path(file: Any, what: str) -> File:
    if not isinstance(file, (str, PathLike)):
        raise UsageError(f"{what} is named by its path, not by {file!r}")
    return Path(file) if not isinstance(file, str) else file


def _text_of(problem: Problem | File) -> tuple[str, str]:
    """The text and name of a problem file. A Problem must be as its file has it: studies send files about."""
    if isinstance(problem, Problem):
        if problem.file is None or not Path(problem.file).is_file() or load(problem.file) != problem:
            raise UsageError(
                "a study is made of a problem file as it stands: change the file, or name its paths in the study"
            )
        problem = problem.file
    else:
        load(problem)  # all its faults at once
    path = Path(problem)
    return path.read_text(encoding="utf-8-sig"), path.name


def _table(rooms: Any) -> tuple[str, str]:
    """The text and name of a table of rooms."""
    if isinstance(rooms, (str, Path)):
        return read_table(Path(rooms)), Path(rooms).name
    lines = rooms.to_dict("records") if hasattr(rooms, "to_dict") else list(rooms)
    if not lines or not all(isinstance(line, Mapping) for line in lines):
        raise UsageError("a table of rooms is a CSV file, a list of mappings or a DataFrame")
    stream = io.StringIO()
    writer = csv.DictWriter(stream, list(dict.fromkeys(key for line in lines for key in line)), lineterminator="\n")
    writer.writeheader()
    writer.writerows(lines)
    return stream.getvalue(), "table of rooms"
