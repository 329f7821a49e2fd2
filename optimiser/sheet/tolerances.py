"""Tolerances as text for a terminal: chances and spreads, and designs that hold at every corner."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from optimiser.explain.people import SOURCES, mean
from optimiser.explain.robust import SIGMAS, Robust
from optimiser.explain.sayings import input_words, row_phrase
from optimiser.explain.tolerances import SAMPLES, TAILS, Band, Estimate, GoalOdds, LimitOdds, Tolerated
from optimiser.problem.decisions import DECISIONS, split_row
from optimiser.problem.model import Goal, People, Problem, Spread
from optimiser.quantity import show, show_grid
from optimiser.sheet.proof import most_words, proof_words
from optimiser.sheet.terminal import print_design, print_solution
from optimiser.sheet.whole import plain_table
from optimiser.standing import place_called
from optimiser.words import (
    band_words,
    bound_words,
    decision_words,
    exclusion_words,
    listed,
    measure_words,
    row_words,
)


def spread_words(problem: Problem, spread: Spread) -> str:
    """A spread: ``image width ±1/2 in``."""
    known = spread.path in DECISIONS or split_row(spread.path) is not None
    name = decision_words(spread.path) if known else input_words(spread.path)
    if spread.within is not None:
        return f"{name} ±{show(spread.quantity, spread.within, problem.show)}"
    return f"{name} normal, sigma {show(spread.quantity, spread.sigma or 0.0, problem.show)}"


def people_words(people: People, system: str) -> str:
    """Whose eyes and heads."""
    women = f"{100 * people.women:g} % women"
    eye, head = (show("length", height, system) for height in mean(people))
    return (
        f"someone else in each row, {women}: {SOURCES[people.table]}. The chair's eye height is taken as that of "
        f"their mean, who sits with the eyes {eye} above the seat and the head {head} "
        "above them"
    )


def varying_words(problem: Problem, spreads: Sequence[Spread], people: People | None) -> list[str]:
    """All that varies, a line each."""
    lines = [spread_words(problem, spread) for spread in spreads]
    return lines + ([people_words(people, problem.show)] if people is not None else [])


def chance_words(found: Estimate) -> str:
    """How often something holds, with the sampling error."""
    if found.value in (0.0, 1.0):
        return "always" if found.value else "never"
    places = 1 if found.error >= 5e-4 else 2
    return f"{100 * found.value:.{places}f} %{_error(100 * found.error, places)}"


def _error(error: float, places: int = 2) -> str:
    """What follows a mean: its sampling error, rounded up and so never shown as nothing; no word of it where there is
    none."""
    least = 10.0**-places
    return f" ± {max(1, math.ceil(error / least - 1e-6)) * least:.{places}f}" if error > 0.0 else ""


def print_tolerated(console: Console, found: Tolerated) -> None:
    """What tolerances do to a design."""
    problem = found.problem
    _lines(console, "What varies", varying_words(problem, found.spreads, found.people))
    for spread in found.left_out:
        console.print(f"  (left out, as this design has no such row: {spread_words(problem, spread)})")
    console.print()
    always = found.all_hold.value == 1.0
    console.print(
        f"All limits hold together {'in every one' if always else f'in {chance_words(found.all_hold)}'} of "
        f"{found.count:,} cases."
        if found.all_hold.value
        else f"In none of {found.count:,} cases do all limits hold together."
    )
    if problem.goals:
        console.print(
            f"Score: {found.card.score:.1f} as drawn; {found.score.value:.2f}{_error(found.score.error)} on average, "
            f"{found.scores.low:.1f} to {found.scores.high:.1f} in all but 5 % of cases at either end."
        )
    console.print(
        "The cases are drawn evenly, not proven: ± is the sampling error (95 %), and 'always' means that fewer than "
        f"{100 * 3.0 / found.count:.2f} % can be otherwise."
    )
    if found.slow and found.count < SAMPLES:
        console.print(
            f"Fewer cases than elsewhere, as {found.slow} of the limits and goals {'takes' if found.slow == 1 else 'take'} a room of its own for each: "
            "--samples tries more."
        )
    _print_limits(console, found)
    _print_goals(console, found)


def _print_limits(console: Console, found: Tolerated) -> None:
    moving = [o for o in found.limits if o.moves]
    told = sorted((o for o in moving if not o.own or o.chance.value < 1.0), key=lambda o: o.chance.value)
    console.print()
    console.print(Text("Limits", style="bold"))
    if told:
        table = plain_table("limit", "row", "must be", "as drawn", "in most cases", "holds")
        for odds in told:
            table.add_row(*_limit_cells(found, odds))
        console.print(Padding(table, (0, 0, 0, 2)))
    rest = [o for o in moving if o.own and o.chance.value == 1.0]
    if rest:
        console.print(f"  The room's own limits that move hold always: {len(rest)}.")
    broken = [o for o in found.limits if not o.moves and o.chance.value == 0.0]
    for odds in broken:
        name = measure_words(odds.limit.measure, odds.limit.options)
        console.print(f"  Nothing that varies moves {name}, which breaks as drawn.")
    still = [o for o in found.limits if not o.moves and o.chance.value == 1.0]
    if still:
        console.print(f"  Nothing that varies moves the other limits: {len(still)}, which hold.")


def _limit_cells(found: Tolerated, odds: LimitOdds) -> tuple[str, ...]:
    system = found.problem.show
    return (
        measure_words(odds.limit.measure, odds.limit.options),
        place_called(found.space, found.design, odds.row, odds.seat).removeprefix("row "),
        bound_words(odds.limit, system),
        show(odds.quantity, odds.drawn, system),
        _band_words(odds.quantity, odds.values, system),
        chance_words(odds.chance),
    )


def _print_goals(console: Console, found: Tolerated) -> None:
    system = found.problem.show
    moving = [o for o in found.goals if o.moves]
    if not found.goals:
        return
    console.print()
    console.print(Text("Goals", style="bold"))
    if moving:
        table = plain_table("goal", "row", "band", "in most cases", "score", "on average", "in most cases")
        for odds in moving:
            table.add_row(*_goal_cells(odds, system))
        console.print(Padding(table, (0, 0, 0, 2)))
    still = [_goal_words(o.goal) for o in found.goals if not o.moves]
    if still:
        console.print(Padding(Text(f"Nothing that varies moves: {listed(still)}."), (0, 0, 0, 2), expand=False))
    console.print()
    console.print(f"  'In most cases': {100 * TAILS[0]:.0f} % are below, {100 * (1 - TAILS[1]):.0f} % above.")


def _goal_words(goal: Goal) -> str:
    """A goal's measure and the rows that it is on."""
    return measure_words(goal.measure, goal.options) + row_phrase(goal.row)


def _goal_cells(odds: GoalOdds, system: str) -> tuple[str, ...]:
    values = " / ".join(_band_words(odds.quantity, band, system) for band in dict.fromkeys(odds.values))
    return (
        measure_words(odds.goal.measure, odds.goal.options),
        "" if odds.rows == (None,) else row_words(odds.goal.row),
        band_words(odds.goal, system),
        values,
        f"{100 * odds.drawn:.0f} %",
        f"{100 * odds.mean.value:.1f} %{_error(100 * odds.mean.error, 1)}",
        f"{100 * odds.scores.low:.0f} to {100 * odds.scores.high:.0f} %",
    )


def _band_words(kind: str, band: Band, system: str) -> str:
    low, high = show(kind, band.low, system), show(kind, band.high, system)
    return low if low == high else f"{low} to {high}"


def _lines(console: Console, heading: str, lines: Sequence[str]) -> None:
    console.print(Text(heading, style="bold"))
    for line in lines:
        console.print(Padding(Text(f"- {line}"), (0, 0, 0, 2), expand=False))


# --- robust designs -------------------------------------------------------------------------------


def robust_words(found: Robust) -> list[str]:
    """What was proven of a design that holds at corners, and what was only tried."""
    solution, plain, cases = found.solution, found.plain, found.cases
    assert solution.score is not None and solution.bound is not None and cases is not None
    grid = show_grid(solution.grid, solution.problem.show)
    most = most_words(solution.score, solution.bound)
    better = f"no design on the {grid} grid that holds at all of these corners scores more than {most}"
    proven = (
        f"Proven: {better}."
        if solution.status == "optimal"
        else f"Not proven best: {better}, but one up to {solution.gap:.2f} points better may exist."
    )
    said = [f"Scores {solution.score:.1f} of 100 as drawn; without tolerances the best scores {plain.score:.1f}."]
    if found.reach == 0.0:
        said.append("The best design as drawn is good enough as it is.")
    else:
        drawn_in = "" if found.reach == 1.0 else f", drawn in to {100 * found.reach:.0f} % of the tolerances"
        count = len(found.corners)
        said.append(f"All limits hold as drawn and at each of {count} corners{drawn_in}; each was checked.")
        said.append(proven)
    if found.share is not None:
        said.append(
            f"All limits hold in {_often(cases)}, where {100 * found.share:g} % were asked for. That is sampled, not "
            "proven; nor is it proven that no other design holds in so many cases and scores better: what is proven "
            f"is that none whose limits hold as drawn scores more than {most_words(plain.score, plain.bound)}."
        )
    else:
        said.append(f"Between and beyond the corners nothing is proven; all limits hold in {_often(cases)} tried.")
    if any(spread.sigma for spread in found.spreads):
        said.append(f"The corners of a normal spread are {SIGMAS:g} standard deviations out.")
    if solution.problem.people is not None:
        said.append("The corners of people are someone small (5th percentile) or large (95th) in each row.")
    return said


def _often(cases: Tolerated) -> str:
    held = {1.0: "every one", 0.0: "none"}.get(cases.all_hold.value) or chance_words(cases.all_hold)
    return f"{held} of {cases.count:,} cases"


def print_robust(
    console: Console, found: Robust, *, explain: str = "optimiser explain FILE", pinned: bool = False
) -> None:
    """A design whose limits hold within tolerances, or why there is none."""
    problem, solution = found.solution.problem, found.solution
    if found.plain.design is None:
        print_solution(console, found.plain, explain=explain, pinned=pinned)
        return
    console.print(Text(problem.title, style="bold"))
    if solution.design is None:
        _print_none(console, found)
        return
    for line in robust_words(found):
        console.print(line)
    console.print()
    _lines(console, "Tolerances", varying_words(problem, found.spreads, problem.people))
    assert solution.space is not None and solution.card is not None
    print_design(console, problem, solution.space, solution.design, solution.card)


def _print_none(console: Console, found: Robust) -> None:
    console.print(f"Without tolerances: {proof_words(found.plain)}")
    if found.solution.status == "impossible":
        console.print("Impossible with them: no design on the grid holds its limits at every corner.")
        problem = found.solution.problem
        names = [measure_words(limit.measure, limit.options) for limit in found.conflicting]
        if names:
            console.print(f"{exclusion_words(len(names), 'there', smallest=found.solution.smallest)} {listed(names)}.")
        _lines(console, "Tolerances", varying_words(problem, problem.tolerances, problem.people))
    elif found.share is not None:
        console.print(
            f"No design was found whose limits hold in {100 * found.share:g} % of cases; the one that holds at the "
            "corners farthest out does not, or there is none."
        )
    else:
        console.print("No design was found, and none was proven impossible, within the effort allowed.")
