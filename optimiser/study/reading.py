"""A study read back from its file: what was asked, its records, and the problem behind each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from optimiser.design import Space, grid_of, spaces
from optimiser.errors import QuantityError, UsageError
from optimiser.journal import complete, read_header, read_records
from optimiser.problem.changed import WORD, text_at, with_texts
from optimiser.problem.decisions import with_all_fixed
from optimiser.problem.model import Problem
from optimiser.quantity import parse
from optimiser.score import Scorecard, Scorer
from optimiser.study.aims import told
from optimiser.study.inputs import Input
from optimiser.study.objectives import read_objective
from optimiser.study.records import Record, design_of
from optimiser.study.shapes import check_header, record_fault
from optimiser.study.sweep import Sweep, sweep_from

KINDS = ("front", "sweep", "batch")


@dataclass(frozen=True)
class Study:
    """A study's file. Records are read when they are asked for, so that its size does not matter."""

    path: Path
    header: Mapping[str, Any]
    held: tuple[Record, ...] | None = None  # the records, where they are in memory and not in the file

    @property
    def kind(self) -> str:
        """front, sweep or batch."""
        return self.header["study"]

    @cached_property
    def finished(self) -> bool:
        """Whether all records are there."""
        return bool(self.header.get("finished")) if self.held is not None else complete(self.path, self.header)

    def records(self) -> Iterator[Record]:
        """The records, by index."""
        if self.held is not None:
            return iter(self.held)
        if self.finished:
            return read_records(self.path, record_fault(self.header))
        unique = {record["index"]: record for record in read_records(self.path, record_fault(self.header))}
        found = [unique[index] for index in sorted(unique)]
        # a front at work also keeps the questions to which the answer was: none
        return iter([r for r in found if self.kind != "front" or r["values"] is not None])

    def in_memory(self) -> Study:
        """The study without its file."""
        return replace(self, held=tuple(self.records()))

    @cached_property
    def sweep(self) -> Sweep:
        """The sweep that was asked; only of a sweep."""
        return sweep_from(self.header)

    @cached_property
    def problem(self) -> Problem | None:
        """The file's own problem; None where each record has another file."""
        return self._read({}) if "problem" in self.header else None

    def own_value(self, over: Input) -> float | None:
        """The value (SI) that the file itself has at an input; None where it has none, or several."""
        text = text_at(self.header["problem"], self.header["name"], over.path)
        if text is None or over.kind == WORD:
            return None
        try:
            return float(parse(over.kind, text, signed=True))
        except QuantityError:
            return None

    def own_designs(self) -> list[tuple[str, tuple[float, ...]]]:
        """Of a front: the problem file's own designs that leave nothing open, with the values that the
        front's objectives have there. The others would have to be solved for."""
        assert self.problem is not None
        problem = self.problem
        step = self.header.get("grid") or grid_of(problem)
        objectives = [read_objective(problem, o["name"]) for o in self.header["objectives"]]
        found = []
        for name, values in problem.designs:
            given = dict(values)
            space = next((s for s in spaces(problem, grid=step) if s.names({**s.held, **given})), None)
            values_there = None if space is None else told(problem, space, {**space.held, **given}, objectives)
            if values_there is not None:
                found.append((name, values_there))
        return found

    def problem_of(self, record: Mapping[str, Any]) -> Problem:
        """The problem that a record is about. Raises ProblemFileError or UsageError where it is none."""
        if self.kind == "sweep":
            return self.sweep.asked(self.sweep.place(record["index"])).problem()
        if self.kind == "batch" and "problem" in record:
            return self._fixed(with_texts(record["problem"], record["name"], {}))
        if self.kind == "batch":
            return self._read(record["inputs"])
        assert self.problem is not None
        return self.problem

    def design_of(self, record: Mapping[str, Any]) -> tuple[Problem, Space, dict[str, float], Scorecard] | None:
        """A record's design with its problem, space and scorecard; None where it has no design."""
        if not record.get("design"):
            return None
        problem = self.problem_of(record)
        step = self.header.get("grid") or grid_of(problem)
        design = design_of(problem, record, step)
        assert design is not None
        space = next((s for s in spaces(problem, grid=step) if s.names(design)), None)
        if space is None:
            raise UsageError(f"{self.path}: the design of record {record['index']} is none of its problem's")
        return problem, space, design, Scorer(problem, space).card(design)

    def _read(self, changes: Mapping[str, str]) -> Problem:
        return self._fixed(with_texts(self.header["problem"], self.header["name"], changes))

    def _fixed(self, problem: Problem) -> Problem:
        return with_all_fixed(problem, self.header.get("fixed") or {})


def open_study(path: Path) -> Study:
    """A study's file, opened. Raises UsageError where it is none, or is damaged beyond going on with it."""
    header = read_header(path)
    if header["study"] not in KINDS:
        raise UsageError(f"{path} is a study of another kind: {header['study']}")
    check_header(path, header)
    return Study(path, header)
