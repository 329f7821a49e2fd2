"""Designs side by side, and the answer to a wish, as text for a terminal."""

from __future__ import annotations

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from optimiser.cautions import cautions, of_designs
from optimiser.explain.comparison import Comparison
from optimiser.explain.departures import departure_words
from optimiser.explain.sayings import (
    conflict_words,
    gain_words,
    member_words,
    move_words,
    shortfall_words,
    standing_words,
    subject_words,
    way_out_words,
)
from optimiser.explain.telling import broken_words, told_whole
from optimiser.explain.wishes import WhyNot, Wish
from optimiser.problem.model import Problem
from optimiser.sheet import prose
from optimiser.sheet.cells import decided_words, goal_values
from optimiser.sheet.explained import print_caution
from optimiser.sheet.proof import most_words, proof_words
from optimiser.sheet.terminal import print_cautions
from optimiser.sheet.whole import plain_table
from optimiser.standing import broken
from optimiser.words import (
    band_words,
    bound_words,
    decision_words,
    goal_row_words,
    listed,
    measure_words,
    score_words,
    value_words,
)


def print_comparison(console: Console, found: Comparison) -> None:
    """Scores, goals and decisions side by side, then the differences in words."""
    problem, entries = found.problem, found.entries
    console.print(Text(problem.title, style="bold"))
    console.print()
    names = [e.name for e in entries]
    table = plain_table("goal", "row", "wanted", *names, right=tuple(names))
    table.add_row("score of 100", "", "", *(Text(f"{e.card.score:.1f}", style="bold") for e in entries))
    counts = [str(len({(r.index, r.row) for r in e.card.breaking}) or "none") for e in entries]
    table.add_row("limits broken", "", "", *counts)
    seen = {r.index: r.goal for e in entries for r in e.card.goals}
    for index, goal in sorted(seen.items()):
        cells = []
        for entry in entries:
            result = next((r for r in entry.card.goals if r.index == index), None)
            if result is None:
                cells.append("no such row")
                continue
            values = " / ".join(goal_values(entry.space, entry.design, result, problem.show))
            cells.append(f"{values}  {score_words(result.score)}")
        row = goal_row_words(goal)
        table.add_row(measure_words(goal.measure, goal.options), row, band_words(goal, problem.show), *cells)
    console.print(Padding(table, (0, 0, 0, 2)))
    console.print()
    decisions = plain_table("decision", *names, right=tuple(names))
    every = list(dict.fromkeys(n for e in entries for n in e.design))
    for name in every:
        told = [decided_words(problem, e.space, e.design, name) for e in entries]
        if set(told) - {"", "none"}:
            decisions.add_row(decision_words(name), *told)
    console.print(Padding(decisions, (0, 0, 0, 2)))
    first = entries[0]
    if first.card.broken:
        console.print()
        breaks = broken(first.space, first.design, first.card)
        words = listed(dict.fromkeys(broken_words(problem, one) for one in breaks))
        console.print(Padding(Text(f"'{first.name}' breaks {words}."), (0, 0, 0, 2)))
    for entry in entries:
        if left := departure_words(problem, entry.design):
            console.print()
            console.print(Padding(Text(f"'{entry.name}' {left}"), (0, 0, 0, 2)))
    for entry, told in zip(entries[1:], found.differences):
        console.print()
        console.print(Text(f"'{entry.name}' against '{first.name}'", style="bold"))
        console.print(Padding(Text(told_whole(problem, told)), (0, 0, 0, 2)))
    for entry in entries:
        if entry.proven is not None:
            console.print()
            # a design that breaks limits, or what the file decides, may score more
            beyond = any(e.card.score > entry.proven for e in entries)
            kind = " that holds every limit and keeps to what the file decides" if beyond else ""
            words = (
                f"No design on the grid{kind} scores more than {most_words(entry.card.score, entry.proven)} (proven)."
            )
            console.print(Padding(Text(words), (0, 0, 0, 2)))
    print_cautions(console, of_designs(problem, [(e.name, e.space, e.design) for e in entries]))


def wish_words(problem: Problem, wish: Wish) -> str:
    """A wish as a person would say it."""
    if wish.limit is None:
        return f"{decision_words(wish.name)} {value_words(problem, wish.name, wish.value)}"
    row = "" if wish.limit.row == "all" else f" (row {wish.limit.row})"
    return f"{measure_words(wish.limit.measure, wish.limit.options)}{row} {bound_words(wish.limit, problem.show)}"


def print_why_not(console: Console, found: WhyNot) -> None:
    """What a wish costs, and what stands in its way."""
    problem = found.problem
    console.print(
        Text(f"{problem.title}: why not {listed(wish_words(problem, w) for w in found.wishes)}?", style="bold")
    )
    console.print()
    for member in found.against:
        console.print(
            f"The file itself asks for something else, which gives way to the wish here: {_own(found, member)}."
        )
    if found.conflicts is not None:
        _print_conflicts(console, found)
        return
    assert found.difference is not None
    console.print(f"Best without the wish: {found.best.score:.1f}. With it: {proof_words(found.wished)}")
    console.print()
    console.print(Padding(Text(told_whole(problem, found.difference)), (0, 0, 0, 2)))
    costs = plain_table("goal", "row", "without", "with", "costs", right=("without", "with", "costs"))
    for change in sorted(found.difference.goals, key=lambda c: c.points):
        if abs(change.points) < 0.05:
            continue
        before, after = (score_words(r.score) if r else "" for r in (change.before, change.after))
        name = measure_words(change.goal.measure, change.goal.options)
        row = goal_row_words(change.goal)
        costs.add_row(name, row, before, after, f"{-change.points:+.1f}")
    if costs.row_count:
        console.print()
        console.print(Text("What it costs, goal by goal (points; less than nothing is a gain)", style="bold"))
        console.print(Padding(costs, (0, 0, 0, 2)))
    if found.stops:
        console.print()
        console.print(Text("What stops it from being better: a step looser, and solved again", style="bold"))
        table = plain_table("demand", "moved by", "score", right=("score",))
        for price in found.stops:
            table.add_row(subject_words(problem, price), move_words(problem, price.move), gain_words(price))
        console.print(Padding(table, (0, 0, 0, 2)))
        if not found.settled:
            console.print("  Not all could be settled in the solver's time: others may stop it, too.")
    elif found.difference.points < 0.0:
        console.print()
        found_none = (
            "would make it better" if found.settled else "was found to make it better; not all could be settled"
        )
        console.print(f"  No single demand, moved a step looser, {found_none}.")
    assert found.wished.space is not None and found.wished.design is not None
    print_cautions(console, cautions(problem, found.wished.space, found.wished.design))


def _own(found: WhyNot, member) -> str:
    return member_words(found.best.problem, member)


def _print_conflicts(console: Console, found: WhyNot) -> None:
    problem, conflicts = found.problem, found.conflicts
    assert conflicts is not None
    if found.hopeless:
        console.print(
            "The file is impossible without the wish already (proven): "
            f"'optimiser explain {problem.file or 'FILE'}' says why, and what would make it possible."
        )
        if found.set_aside:
            aside = "; ".join(member_words(problem, m) for m in found.set_aside)
            console.print(f"All its other demands can hold once these are left out: {aside}.")
    if conflicts.possible:
        console.print("The wish can hold beside those others: it runs into nothing more.")
        print_caution(console, problem)
        return
    if not conflicts.found:
        console.print("The solver could not settle in its time whether that can be.")
        return
    if found.set_aside:
        console.print("The wish cannot be even then. What it runs into itself, proven:")
    elif not found.hopeless:
        console.print("That cannot be: no design on the grid has it and keeps the rest. Proven.")
    if conflicts.undecided:  # what was found is proven all the same
        console.print(prose.MORE_PERHAPS)
    elif not conflicts.complete:
        count = len(conflicts.found)
        console.print(f"{count} conflict{'s' if count > 1 else ''} shown; there are more, the smallest first.")
    console.print(prose.SHORTFALLS)
    for number, conflict in enumerate(conflicts.found, start=1):
        console.print()
        console.print(Text(f"Conflict {number}", style="bold"))
        console.print(Padding(Text(conflict_words(problem, conflict)), (0, 0, 0, 2)))
        for short in conflict.shortfalls:
            console.print(Padding(Text(f"- {shortfall_words(problem, short)}"), (0, 0, 0, 4)))
    chosen = {w.name: value_words(problem, w.name, w.value) for w in found.wishes if w.limit is None}
    for said in filter(None, (standing_words(problem, chosen), way_out_words(problem, conflicts.found))):
        console.print()
        console.print(said)
    print_caution(console, problem)
