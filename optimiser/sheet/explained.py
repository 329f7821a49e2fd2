"""Explanations as text for a terminal: conflicts and concessions of an impossible problem."""

from __future__ import annotations

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from optimiser.explain.concessions import Concession, Concessions
from optimiser.explain.conflicts import Conflicts
from optimiser.explain.sayings import conflict_words, loosening_words, member_words, place_words, shortfall_words
from optimiser.problem.model import Problem
from optimiser.quantity import show
from optimiser.sheet.terminal import print_design
from optimiser.words import measure_words, row_words

LITTLE = 0.02
"""Share by which the least in all must undercut the least alone to be worth telling apart."""


def print_conflicts(console: Console, problem: Problem, conflicts: Conflicts, grid: float) -> None:
    """All conflicts found, each with how nearly its demands can be met."""
    console.print(Text(problem.title, style="bold"))
    console.print()
    count = len(conflicts.found)
    if conflicts.undecided:
        console.print("The solver could not settle every question in its time: there may be more conflicts, and smaller ones.")
    if not count:
        return
    where = f"the {show('length', grid, problem.show)} grid"
    many = "1 conflict" if count == 1 else f"{count} conflicts"
    more = "" if conflicts.complete else " shown; there are more"
    console.print(
        f"Impossible: its demands cannot all hold. {many}{more}, the smallest first. "
        f"Proven on {where}: each fails as it stands, and holds once any one of its demands is left out."
    )
    for number, conflict in enumerate(conflicts.found, start=1):
        console.print()
        console.print(Text(f"Conflict {number}", style="bold"))
        console.print(Padding(Text(conflict_words(problem, conflict)), (0, 0, 0, 2)))
        for short in conflict.shortfalls:
            place = place_words(problem, short.member)
            console.print(Padding(Text(f"- {shortfall_words(problem, short)}{f'  [{place}]' if place else ''}"), (0, 0, 0, 4)))


def print_concessions(console: Console, problem: Problem, concessions: Concessions) -> None:
    """What would have to give, and the nearest design that results."""
    console.print()
    console.print(Text("What would make it possible", style="bold"))
    if concessions.hopeless:
        console.print("  Nothing that may give way is enough: what is left is firm, or the room's own.")
    if concessions.undecided:
        console.print("  The solver could not settle every question in its time; what follows may not be all.")
    for concession in concessions.alone:
        (one,) = concession.loosenings
        words = loosening_words(problem, one)
        line = f"- This alone: {words}. {_outcome(concession)}"
        console.print(Padding(Text(line), (0, 0, 0, 2)))
    if not concessions.alone and not concessions.hopeless:
        console.print("  No demand is enough by giving way alone.")
    joint = concessions.joint
    if joint is None:
        return
    console.print(Padding(Text(f"- The least in all: {_joint_words(problem, concessions, joint)}"), (0, 0, 0, 2)))
    console.print()
    console.print(Text("The nearest design (no answer: it does not keep what the file asks)", style="bold"))
    for result in joint.card.broken:
        name = measure_words(result.limit.measure, result.limit.options)
        row = f", row {row_words(result.row)}" if result.row else ""
        value = show(result.quantity, result.value, problem.show)
        off = show(result.quantity, -result.slack, problem.show)
        console.print(Padding(Text(f"- breaks {name}{row}: {value}, off by {off}"), (0, 0, 0, 2)))
    solution = joint.solution
    assert solution.space is not None and solution.design is not None
    print_design(console, problem, solution.space, solution.design, joint.card)


def _outcome(concession: Concession) -> str:
    solution = concession.solution
    if not solution.problem.goals:
        return ""
    proven = "" if solution.status == "optimal" else " (not proven best)"
    return f"The best design then scores {solution.score:.1f}{proven}."


def _joint_words(problem: Problem, concessions: Concessions, joint: Concession) -> str:
    words = "; ".join(loosening_words(problem, one) for one in joint.loosenings)
    stepwise = [c for c in concessions.alone if not c.loosenings[0].member.path]
    if len(joint.loosenings) > 1 and stepwise and joint.total > (1.0 - LITTLE) * min(c.total for c in stepwise):
        alone = min(stepwise, key=lambda c: c.total)
        who = member_words(problem, alone.loosenings[0].member)
        return f"sharing it out saves next to nothing over '{who}' giving way alone ({joint.total:.2f} against {alone.total:.2f} steps)."
    proof = f"{joint.total:.2f} steps in all, proven that less than {joint.least:.2f} does not do"
    return f"{words} ({proof}). {_outcome(joint)}"
