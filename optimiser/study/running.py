"""Carrying a study out: tasks to workers, records to the file as they come, until all are there."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any, Protocol

from optimiser.journal import Journal
from optimiser.study.records import Record, failed_record
from optimiser.study.shapes import record_fault
from optimiser.work import Task, Workers

Told = Callable[[int, int, int], None]
"""Hears how many records there are, of how many, and how many of them were there from before."""


class Plan(Protocol):
    """What a study asks, in pieces that do not depend on who works on them, or in which order."""

    @property
    def header(self) -> Mapping[str, Any]:
        """What the study's file begins with."""

    @property
    def count(self) -> int:
        """How many records there will be."""

    def tasks(self) -> Iterator[Task | None]:
        """Tasks that have no record yet; None where the next one waits for a record of another."""

    def head(self, index: int) -> Record:
        """What a record begins with: its index and what was asked. Called once it is answered."""

    def note(self, record: Record) -> None:
        """Hear of a record, old or new, before more tasks are drawn."""


def carry_out(
    plan: Plan,
    function: Callable[[Any], Record],
    path: Path,
    workers: Workers,
    *,
    resume: bool = False,
    overwrite: bool = False,
    told: Told | None = None,
) -> None:
    """Carry a study out into its file. Whatever breaks in, what was finished is kept there."""
    journal = Journal(path, plan.header, resume=resume, overwrite=overwrite)
    try:
        done = 0
        seen: set[int] = set()
        for record in journal.records(record_fault(journal.header)):
            if record["index"] not in seen:
                seen.add(record["index"])
                plan.note(record)
                done += 1
        before = done
        if told:
            told(done, plan.count, before)
        if journal.finished:
            return
        for outcome in workers.run(function, plan.tasks()):
            body = failed_record(outcome.error) if outcome.error is not None else outcome.value
            record = plan.head(outcome.index) | body
            journal.add(record)
            plan.note(record)
            done += 1
            if told:
                told(done, plan.count, before)
        journal.finish()
    finally:
        journal.close()
