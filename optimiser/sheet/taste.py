"""How the answer leans on the goals' weights, as text for a terminal."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from optimiser.explain.differences import difference
from optimiser.explain.pulls import Pull
from optimiser.explain.sayings import row_phrase
from optimiser.explain.taste import FAR, End, Leaning
from optimiser.explain.telling import what_moves
from optimiser.problem.model import Problem
from optimiser.score import Scorer
from optimiser.sheet.explained import print_pulls
from optimiser.sheet.whole import plain_table
from optimiser.solve import Solution
from optimiser.words import goal_row_words, listed, measure_words, rounded_words


def print_taste(
    console: Console, problem: Problem, best: Solution, loss: float, found: Sequence[Leaning], pulls: Sequence[Pull]
) -> None:
    """Ranges of weights, the narrowest first, and how hard each goal pulls."""
    points = f"{loss:g} point{'' if loss == 1.0 else 's'}"
    console.print(Text("Does it hang on a weight?", style="bold"))
    firm = [one for one in found if _open(one.low) and _open(one.high)]
    bound = [one for one in found if one not in firm]
    if bound:
        table = plain_table("goal", "row", "weight", "from", "to", right=("weight", "from", "to"))
        for one in bound:
            table.add_row(
                measure_words(one.goal.measure, one.goal.options),
                goal_row_words(one.goal),
                f"{one.goal.weight:g}",
                _end_words(one.low, down=True),
                _end_words(one.high, down=False),
            )
        console.print(Padding(table, (0, 0, 0, 2), expand=False))
    if firm:
        names = listed(dict.fromkeys(_name(one) for one in firm))
        text = f"It does not hang on these, from a tenth to {FAR:g} times their weight: {names}."
        console.print(Padding(Text(text), (0, 0, 0, 2), expand=False))
    if found:
        console.print()
        # of weights that stand in no table there are no columns and no marks to explain
        where, marks = "within that", ""
        if bound:
            where = "from 'from' to 'to'" + (", or within that" if firm else "")
            marks = f" '<' and '>' mark the farthest weights tried, a tenth and {FAR:g} times."
        console.print(
            f"Proven: with one weight anywhere {where}, and the others as they are, no design is more than {points} "
            f"better than this one.{marks}"
        )
    else:
        console.print("  There are no two goals to weigh against each other.")
    if any(not end.settled for one in found for end in (one.low, one.high)):
        console.print("'?' marks ends where the solver could not tell more in its time.")
    for line in _beyond(problem, best, loss, found):
        console.print(Padding(Text(f"- {line}"), (0, 0, 0, 2), expand=False))
    print_pulls(console, problem, pulls)


def _open(end: End) -> bool:
    return end.settled and end.beyond is None


def _name(one: Leaning) -> str:
    return measure_words(one.goal.measure, one.goal.options) + row_phrase(one.goal.row)


def _end_words(end: End, *, down: bool) -> str:
    """A weight rounded inwards, so that what is said is still proven."""
    mark = ("<" if down else ">") if _open(end) else ""
    return f"{'' if end.settled else '?'}{mark}{_weight_words(end.weight, up=down)}"


def _weight_words(weight: float, *, up: bool) -> str:
    """A weight to two figures or more, rounded up or down."""
    digits = 1 if weight >= 10.0 else max(2, 1 - math.floor(math.log10(weight)))
    return rounded_words(weight, digits, up=up)


def _beyond(problem: Problem, best: Solution, loss: float, found: Sequence[Leaning]) -> list[str]:
    """What would be better beyond the ends, the nearest first; where it is the same, said once."""
    ends = [(one, end, down) for one in found for end, down in ((one.low, True), (one.high, False)) if end.beyond]
    ends.sort(key=lambda e: max(e[1].beyond / e[0].goal.weight, e[0].goal.weight / e[1].beyond))
    weights: dict[str, list[str]] = {}
    for one, end, down in ends:
        assert best.space is not None and best.design is not None and best.card is not None
        assert end.space is not None and end.design is not None
        other = Scorer(problem, end.space).card(end.design)
        moves = what_moves(problem, difference(best.design, best.card, end.design, other))
        # rounded outwards: from there on the other design is better
        from_there = _weight_words(end.beyond, up=not down)
        weights.setdefault(moves, []).append(f"{'below' if down else 'above'} {from_there} on {_name(one)}")
    return [
        f"With a weight {listed(some, 'or')} another design is more than {loss:g} better: {moves}."
        for moves, some in weights.items()
    ]
