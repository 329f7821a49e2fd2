"""Answers and studies as pieces of HTML, as a notebook shows them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from itertools import islice

from optimiser.quantity import show
from optimiser.requirements import all_limits
from optimiser.sheet.proof import proof_words
from optimiser.sheet.results.words import (
    binding_words,
    first_words,
    limit_words,
    objective_heads,
    objective_values,
    status_words,
    trouble_words,
)
from optimiser.solve import Solution
from optimiser.study.reading import Study
from optimiser.study.records import label_of
from optimiser.words import decision_words, value_words


def solution_html(solution: Solution, svg: str | None) -> str:
    """An answer: what was proven, the decisions, and a drawing."""
    problem = solution.problem
    parts = [f"<h4>{escape(problem.title)}</h4>"]
    if solution.design is None:
        limits = all_limits(problem)
        names = ", ".join(limit_words(label_of(limits[i])) for i in solution.conflict)
        parts.append(
            f"<p>No design: {escape(solution.status)}{'. Cannot hold together: ' + escape(names) if names else ''}.</p>"
        )
        return "<div>" + "".join(parts) + "</div>"
    parts.append(f"<p>{escape(proof_words(solution))}</p>")
    lines = [[decision_words(name), value_words(problem, name, value)] for name, value in solution.design.items()]
    parts.append(_table(["decision", "value"], lines))
    return "<div>" + "".join(parts) + (svg or "") + "</div>"


def study_html(study: Study, svg: str | None, most: int) -> str:
    """A study: its chart, and the first of its records."""
    title = study.problem.title if study.problem is not None else "Many rooms"
    heads, lines = _lines(study)
    shown = list(islice(lines, most + 1))
    note = f"<p>The first {most} records.</p>" if len(shown) > most else ""
    return f"<div><h4>{escape(title)}</h4>{svg or ''}{_table(heads, shown[:most])}{note}</div>"


def _lines(study: Study) -> tuple[list[str], Iterable[Sequence[str]]]:
    if study.kind == "sweep":
        return [i.path for i in study.sweep.inputs] + _DESIGN, (
            [i.shown(at, _system(study)) for i, at in zip(study.sweep.inputs, study.sweep.place(r["index"]))]
            + _design(study, r)
            for r in study.records()
        )
    if study.kind == "batch":
        return ["room", *_DESIGN], ([r["name"], *_design(study, r)] for r in study.records())
    system = _system(study)
    lines = (objective_values(study, record, system) + _design(study, record) for record in study.records())
    return objective_heads(study) + _DESIGN, lines


_DESIGN = ["score", "rows", "image", "binding, or why not"]


def _system(study: Study) -> str:
    return study.problem.show if study.problem is not None else "m"


def _design(study: Study, record: dict) -> list[str]:
    if not record.get("design"):
        return ["", "", "", f"{status_words(record)}: {first_words(trouble_words(record))}"]
    score = "" if record.get("score") is None else f"{record['score']:.1f}"
    width = show("length", record["design"]["screen.width"], _system(study))
    note = "knee" if record.get("knee") else binding_words(record)
    return [score, str(record["design"]["rows"]), width, note]


def _table(heads: Sequence[str], lines: Iterable[Sequence[str]]) -> str:
    head = "".join(f"<th>{escape(one)}</th>" for one in heads)
    body = "".join("<tr>" + "".join(f"<td>{escape(str(cell))}</td>" for cell in line) + "</tr>" for line in lines)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
