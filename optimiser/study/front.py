"""Fronts: the designs that no other design beats in all of two or three objectives.

``front(problem, ["image_width", "upward_angle:lower"])`` is what the package offers as
``optimiser.front``; ``optimiser trade`` is the same on the command line. What is found is kept, line
by line, in a file (docs/studies.md, "Fronts"), or in memory as the same records.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from optimiser import __version__
from optimiser.design import grid_of, spaces
from optimiser.errors import ImpossibleProblem, OptimiserError, UsageError, whole
from optimiser.journal import Journal, read_header, read_records
from optimiser.problem.model import Problem
from optimiser.record import UNITS, decisions_record, outward
from optimiser.study.aims import aim_of
from optimiser.study.knees import knees
from optimiser.study.objectives import Objective, read_objective, read_spacing
from optimiser.study.oracle import CLOSE, Oracle, oracle
from optimiser.study.scored import best_scoring as scoring_best
from optimiser.study.scored import refuse_unless_sharp
from optimiser.study.shapes import check_header, record_fault
from optimiser.study.zones import Answer, Found, Point, Question, find_front
from optimiser.work import Workers

Told = Callable[[int, float], None]
"""Hears how many points there are, and a guess at the share of the work that is done."""


@dataclass(frozen=True)
class FrontPoint:
    """One design of a front. ``values`` in the order of the objectives, SI and degrees; ``proven``: by how
    much in each another design may be better that is no worse in the rest. ``scored``: no design with the
    same values scores more than that; None where it was not asked, or not settled."""

    values: tuple[float, ...]
    score: float
    design: Mapping[str, Any]
    proven: tuple[float, ...]
    knee: bool
    ends: tuple[int, ...]
    scored: float | None = None

    def record(self, index: int) -> dict[str, Any]:
        """As it stands in a study's file."""
        return {
            "index": index,
            "values": list(self.values),
            "score": self.score,
            "feasible": True,
            "knee": self.knee,
            "ends": list(self.ends),
            "design": dict(self.design),
            "proven": list(self.proven),
        } | ({} if self.scored is None else {"scored": self.scored})


@dataclass(frozen=True)
class Front:
    """A front: its ``points`` from the most of the first objective on. ``knees``: indices, the most marked
    first. ``header`` is the first line of its file."""

    problem: Problem
    objectives: tuple[Objective, ...]
    points: tuple[FrontPoint, ...]
    header: Mapping[str, Any]

    @property
    def summary(self) -> Mapping[str, Any]:
        """What holds for the front as a whole: spacing, knees, ends, whether it is complete."""
        return self.header["finished"]

    @property
    def knees(self) -> tuple[int, ...]:
        return tuple(self.summary["knees"])

    @property
    def ends(self) -> tuple[int, ...]:
        """For each objective the index of the point that has the most of it (the least, if lowered)."""
        return tuple(self.summary["ends"])

    @property
    def spacing(self) -> tuple[float, ...]:
        """Any two points are so far apart in one objective at least, unless both are ends; and whatever design
        there is, some point is short of it by less than that in every objective."""
        return tuple(self.summary["spacing"])

    def records(self) -> Iterator[dict[str, Any]]:
        """The points as they stand in a study's file."""
        return (point.record(index) for index, point in enumerate(self.points))


def front(
    problem: Problem,
    between: Sequence[str | Objective],
    *,
    points: int = 40,
    spacing: Mapping[str, str | float] | None = None,
    grid: float | None = None,
    close: float = CLOSE,
    best_scoring: bool = False,
    workers: Workers | int | None = None,
    out: Path | str | None = None,
    text: str | None = None,
    fixed: Mapping[str, str] | None = None,
    resume: bool = False,
    overwrite: bool = False,
    told: Told | None = None,
) -> Front:
    """The front between two or three objectives, every point proven.

    ``between``: ``image_width``, ``upward_angle[row=2]:lower``, ``length_fraction:closeness``, ``score``.
    ``points``: how many to find at least, where there are so many that differ; ``spacing``: how far apart
    they are in an objective, by its text, in place of that. ``close``: points of the score to which it is
    proven, where it is an objective. ``best_scoring``: of the designs at a point take the one that scores
    best, where else any will do. ``workers``: how many processes, or workers of optimiser.work at work
    already; else this process alone.
    ``out``: keep the study in this file; it then needs the problem file's ``text`` and what is ``fixed`` in
    it. UsageError where an objective is none, or none of the designs that have all of them holds all limits;
    ImpossibleProblem where no design does.
    """
    asked = _asked(problem, between, points, spacing or {}, grid, close, best_scoring, text, fixed or {})
    journal = None
    if out is not None:
        if text is None:
            raise UsageError("a front that is kept in a file needs the text of its problem file")
        _refuse_what_the_file_lacks(asked)  # before a file is begun, or another one is given up for it
        journal = Journal(Path(out), asked.header, resume=resume, overwrite=overwrite)
        if journal.finished:
            journal.close()
            return read_front(Path(out), problem)
    try:
        if isinstance(workers, Workers):
            return _carried_out(asked, journal, workers, told)
        asked.prepare()
        with Workers(workers=1 if workers is None else workers) as hands:
            return _carried_out(asked, journal, hands, told)
    finally:
        if journal is not None:
            journal.close()


def read_front(path: Path, problem: Problem) -> Front:
    """A front from its finished file; ``problem`` is the one that its header holds."""
    header = read_header(path)
    if header["study"] != "front" or not header.get("finished"):
        raise UsageError(f"{path} is no finished front; 'optimiser trade' with --resume goes on with it")
    check_header(path, header)
    objectives = tuple(read_objective(problem, o["name"]) for o in header["objectives"])
    points = tuple(
        FrontPoint(
            tuple(r["values"]),
            r["score"],
            r["design"],
            tuple(r["proven"]),
            r["knee"],
            tuple(r["ends"]),
            r.get("scored"),
        )
        for r in read_records(path, record_fault(header))
    )
    return Front(problem, objectives, points, header)


# --- what is asked ------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Asked:
    """A front to be found. ``order``: the objectives as the solver takes them, a score first."""

    problem: Problem
    objectives: tuple[Objective, ...]
    order: tuple[int, ...]
    points: int
    spacing: tuple[float | None, ...]
    step: float
    close: float
    best: bool
    header: Mapping[str, Any] = field(compare=False)

    @property
    def oracle(self) -> Oracle:
        return oracle(self.problem, tuple(self.objectives[k] for k in self.order), self.step, self.close)

    def prepare(self) -> None:
        """Make the models before any processes begin, which then have them too."""
        _ = self.oracle


def _asked(problem, between, points, spacing, grid, close, best, text, fixed) -> _Asked:
    if isinstance(between, str) or not isinstance(between, Iterable):
        raise UsageError(f"a front is between two objectives or three: give them in a list, not as {between!r}")
    between = list(between)
    other = next((o for o in between if not isinstance(o, (str, Objective))), None)
    if other is not None:
        raise UsageError(f"{other!r} is no objective: write a text, as 'image_width' or 'upward_angle[row=2]:lower'")
    found = tuple(o if isinstance(o, Objective) else read_objective(problem, o) for o in between)
    if not 2 <= len(found) <= 3:
        raise UsageError("a front is between two objectives or three")
    if len({o.bare for o in found}) < len(found):
        raise UsageError("a front is between different objectives; one of these is there twice")
    if whole(points, "points") < 2:
        raise UsageError("at least two points, please")
    if not 0.01 <= close <= 20.0:
        raise UsageError("the score is proven to within 0.01 to 20 points")
    apart = read_spacing(problem, found, spacing)
    header = {
        "study": "front",
        "version": __version__,
        "problem": text,
        "name": Path(problem.file).name if problem.file else problem.title,
        "objectives": [_objective_record(o) for o in found],
        "points": points,
        "spacing": [None if a is None else outward(o.kind, a) for o, a in zip(found, apart, strict=True)],
        "fixed": dict(fixed),
        "grid": grid,
        "close": close,
    } | ({"best_scoring": True} if best else {})
    # the score is raised by a search of its own, which wants the other objectives as limits
    order = tuple(sorted(range(len(found)), key=lambda k: found[k].measure is not None))
    step = grid_of(problem) if grid is None else grid
    asked = _Asked(problem, found, order, points, apart, step, close, best, header)
    if best:
        refuse_unless_sharp(asked.oracle)
    return asked


def _refuse_what_the_file_lacks(asked: _Asked) -> None:
    """UsageError where an objective needs what the problem file does not give."""
    for space in spaces(asked.problem, grid=asked.step):
        for objective in asked.objectives:
            if objective.measure is not None:
                aim_of(asked.problem, space, objective)


def _objective_record(objective: Objective) -> dict[str, Any]:
    unit = {"points": "points", "closeness": None}.get(objective.kind, UNITS.get(objective.kind))
    return {
        "name": objective.text,
        "label": objective.words,
        "sense": "raise" if objective.raised else "lower",
        "unit": None if unit == "1" else unit,
        "kind": objective.kind,
    }


# --- carrying it out ----------------------------------------------------------------------------


def answer(task: tuple[Problem, tuple[Objective, ...], float, float, bool, Question]) -> Answer:
    """What a worker does: one question."""
    problem, objectives, step, close, best, question = task
    asked = oracle(problem, objectives, step, close)
    found = asked.answer(question)
    return replace(found, point=scoring_best(asked, found.point)) if best and found.point is not None else found


def _carried_out(asked: _Asked, journal: Journal | None, hands: Workers, told: Told | None) -> Front:
    ledger = _Ledger(asked, journal, hands)
    given = [asked.spacing[k] for k in asked.order]
    found = find_front(
        ledger.ask, len(asked.order), least=asked.points, spacing=given, finest=asked.oracle.finest, told=told
    )
    if found is None:
        if _left_out(asked):
            wanted = ", ".join(objective.text for objective in asked.objectives)
            raise UsageError(
                f"no design that has all of these holds all limits, and designs that lack one were not looked at: {wanted}"
            )
        raise ImpossibleProblem(f"{asked.problem.title}: no design holds all limits")
    result = _front(asked, found)
    if journal is not None:
        journal.finish(result.records(), summary=dict(result.summary))
    return result


class _Ledger:
    """Questions put to workers, or to the file where it has the answer; answers kept as they come."""

    def __init__(self, asked: _Asked, journal: Journal | None, hands: Workers) -> None:
        self.asked = asked
        self.journal = journal
        self.hands = hands
        self.count = 0
        there = journal.records(record_fault(journal.header)) if journal is not None else ()
        self.kept = {r["index"]: r["answer"] | {"record": r} for r in there}

    def ask(self, questions: Sequence[Question]) -> list[Answer]:
        """The answers, in the order of the questions."""
        numbered = list(enumerate(questions, self.count))
        self.count += len(questions)
        answers = {n: self._again(n, q) for n, q in numbered if n in self.kept}
        a = self.asked
        objectives = tuple(a.objectives[k] for k in a.order)
        tasks = [(n, (a.problem, objectives, a.step, a.close, a.best, q)) for n, q in numbered if n not in answers]
        whose = dict(numbered)
        for outcome in self.hands.run(answer, tasks):
            if outcome.error is not None:
                raise UsageError(outcome.error) if outcome.exit_code == 2 else OptimiserError(outcome.error)
            answers[outcome.index] = self._keep(outcome.index, whose[outcome.index], outcome.value)
        return [answers[n] for n, _ in numbered]

    def _keep(self, number: int, question: Question, found: Answer) -> Answer:
        record: dict[str, Any] = {"index": number, "values": None, "feasible": False}
        told: dict[str, Any] = {"floors": _finite(question.floors), "ceiling": None, "heights": None, "blur": None}
        if found.point is not None:
            kept = self._described(found.point)
            found = replace(found, point=replace(found.point, design=kept))
            told |= {
                "ceiling": found.ceiling,
                "heights": list(found.point.heights),
                "blur": list(found.point.blur),
            }
            record |= {"values": kept["values"], "score": kept["score"], "feasible": True, "design": kept["design"]}
            record |= {key: kept[key] for key in ("proven", "scored") if key in kept}
        if self.journal is not None:
            self.journal.add(record | {"answer": told})
        return found

    def _described(self, point: Point) -> dict[str, Any]:
        """What a record says of a point."""
        objectives = [self.asked.objectives[k] for k in self.asked.order]
        values = [outward(o.kind, h * o.sign) for o, h in zip(objectives, point.heights, strict=True)]
        proven = [outward(o.kind, b) for o, b in zip(objectives, point.blur, strict=True)]
        back = [self.asked.order.index(k) for k in range(len(objectives))]
        return {
            "values": [values[k] for k in back],
            "score": float(f"{point.score:.10g}"),
            "design": decisions_record(self.asked.problem, point.design),
            "proven": [proven[k] for k in back],
        } | ({"scored": float(f"{point.scored:.10g}")} if math.isfinite(point.scored) else {})

    def _again(self, number: int, question: Question) -> Answer:
        told = self.kept[number]
        record = told["record"]
        if told["floors"] != _finite(question.floors):
            raise UsageError(f"{self.journal.path} was begun by another version of the program; say --overwrite")
        if told["heights"] is None:
            return Answer(None, -math.inf)
        kept = {key: record[key] for key in ("values", "score", "design", "proven", "scored") if key in record}
        return Answer(Point(tuple(told["heights"]), kept, tuple(told["blur"])), told["ceiling"])


def _finite(floors: Sequence[float]) -> list[float | None]:
    return [None if math.isinf(f) else float(f) for f in floors]


def _left_out(asked: _Asked) -> int:
    """How many spaces lack an objective."""
    return sum(1 for _ in spaces(asked.problem, grid=asked.step)) - len(asked.oracle.grounds)


def _front(asked: _Asked, found: Found) -> Front:
    """The front in the order of its objectives, with its knees."""
    back = [asked.order.index(k) for k in range(len(asked.order))]
    order = sorted(range(len(found.points)), key=lambda i: [-found.points[i].heights[k] for k in back])
    heights = [[found.points[i].heights[k] for k in back] for i in order]
    bends = knees(heights)
    ends = [max(range(len(order)), key=lambda i, k=k: heights[i][k]) for k in range(len(back))]
    points = []
    for at, i in enumerate(order):
        kept = found.points[i].design
        points.append(
            FrontPoint(
                tuple(kept["values"]),
                kept["score"],
                kept["design"],
                tuple(kept["proven"]),
                at in bends,
                tuple(k for k, end in enumerate(ends) if end == at),
                kept.get("scored"),
            )
        )
    objectives = asked.objectives
    same = [k for k, at in enumerate(back) if asked.oracle.same(at)]
    summary: dict[str, Any] = {
        "points": len(points),
        "spacing": [outward(o.kind, found.spacing[k]) for o, k in zip(objectives, back, strict=True)],
        "excess": outward(objectives[asked.order[0]].kind, found.excess),
        "knees": bends,
        "ends": ends,
        "complete": found.complete,
        "questions": found.questions,
        "left_out": _left_out(asked),
    } | ({"same": same} if same else {})
    return Front(asked.problem, objectives, tuple(points), {**asked.header, "finished": summary})
