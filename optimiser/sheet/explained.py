"""Explanations as text for a terminal: conflicts, concessions, prices, what pulls."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from optimiser.cautions import of_limits
from optimiser.design import spaces
from optimiser.explain.concessions import Concession, Concessions
from optimiser.explain.conflicts import Conflicts
from optimiser.explain.freedom import Freedom
from optimiser.explain.prices import Price, Prices, in_order
from optimiser.explain.pulls import Pull
from optimiser.explain.reasons import Explanation
from optimiser.explain.sayings import (
    aside_words,
    chance_words,
    common_words,
    conflict_words,
    gain_words,
    given_words,
    image_words,
    least_words,
    loosening_words,
    member_words,
    move_words,
    outcome_words,
    place_words,
    rounding_words,
    scope_words,
    shortfall_words,
    standing_words,
    subject_name,
    subject_value,
    subject_words,
    unasked_words,
    unmoved_words,
    way_out_words,
)
from optimiser.problem.model import Goal, Problem
from optimiser.quantity import show_grid
from optimiser.sheet import prose
from optimiser.sheet.cells import BLANK, decided_words
from optimiser.sheet.terminal import print_design, proof_words
from optimiser.sheet.whole import plain_table
from optimiser.standing import broken
from optimiser.words import decision_words, goal_row_words, measure_words, rounded_words, score_words


def print_explanation(console: Console, found: Explanation, pinned: Mapping[str, str] | None = None) -> None:
    """All that is to be said about a problem; ``pinned``: decisions that were fixed beside the file."""
    problem = found.problem
    if found.possible:
        assert found.best is not None and found.prices is not None
        console.print(Text(problem.title, style="bold"))
        console.print(f"Its demands can all hold. {proof_words(found.best)}")
        console.print()
        print_prices(
            console, problem, found.prices, title="What holds it back: each demand moved by a step, solved again"
        )
        print_pulls(console, problem, found.pulls)
        return
    assert found.conflicts is not None and found.concessions is not None
    print_conflicts(console, problem, found.conflicts, found.grid)
    if said := standing_words(problem, pinned or {}):
        console.print()
        console.print(said)
    print_concessions(console, problem, found.concessions)


EXACT = 1e-6
"""Steps within which the least in all is the total that was found; else no more is told than is proven."""

LITTLE = 0.02
"""Share by which the least in all must undercut the least alone to be worth telling apart."""


def print_conflicts(console: Console, problem: Problem, conflicts: Conflicts, grid: float) -> None:
    """All conflicts found, each with how nearly its demands can be met."""
    console.print(Text(problem.title, style="bold"))
    console.print()
    count = len(conflicts.found)
    if conflicts.undecided:
        console.print(prose.MORE_PERHAPS if count else prose.NONE_PROVEN)
    if not count:
        return
    where = f"the {show_grid(grid, problem.show)} grid"
    many = "1 conflict" if count == 1 else f"{count} conflicts"
    more = "" if conflicts.complete or conflicts.undecided else " shown; there are more"
    order = ", the smallest first" if more or count > 1 else ""
    console.print(
        f"Impossible: its demands cannot all hold. {many}{more}{order}. "
        f"Proven on {where}: each fails as it stands, and holds once any one of its demands is left out."
    )
    console.print(f"{prose.SHORTFALLS} {prose.ENOUGH.format(prose.POSSIBLE)}")
    for number, conflict in enumerate(conflicts.found, start=1):
        console.print()
        console.print(Text(f"Conflict {number}", style="bold"))
        console.print(Padding(Text(conflict_words(problem, conflict)), (0, 0, 0, 2)))
        for short in conflict.shortfalls:
            place = place_words(problem, short.member)
            line = f"- {shortfall_words(problem, short)}" + (f"  [{place}]" if place else "")
            console.print(Padding(Text(line), (0, 0, 0, 4)))
    common = common_words(problem, conflicts.found)
    for said in filter(None, (common, way_out_words(problem, conflicts.found))):
        console.print()
        console.print(Padding(Text(said), (0, 0, 0, 2)))
    print_caution(console, problem)


def print_caution(console: Console, problem: Problem) -> None:
    """What is not to be forgotten where limits are weighed."""
    said = of_limits(problem)
    if said is not None:
        console.print()
        console.print(Padding(Text(said), (0, 0, 0, 2), expand=False))


def print_concessions(console: Console, problem: Problem, concessions: Concessions) -> None:
    """What would have to give, and the nearest design that results."""
    console.print()
    console.print(Text(prose.POSSIBLE, style="bold"))
    if concessions.hopeless:
        console.print(f"  {prose.HOPELESS}")
    if concessions.undecided:
        console.print("  The solver could not settle every question in its time; what follows may not be all.")
    for concession in concessions.alone:
        (one,) = concession.loosenings
        words = loosening_words(problem, one) + least_words(problem, concession)
        line = f"- This alone: {words}. {outcome_words(concession)}"
        console.print(Padding(Text(line), (0, 0, 0, 2)))
    if concessions.aside is not None:
        line = f"- This alone: {aside_words(problem, concessions.aside)}. {outcome_words(concessions.aside)}"
        console.print(Padding(Text(line), (0, 0, 0, 2)))
    elif not concessions.alone and not concessions.hopeless:
        console.print(f"  {prose.NONE_KNOWN if concessions.undecided else prose.NO_CONCESSION}")
    joint = concessions.joint
    if joint is None:
        return
    console.print(Padding(Text(f"- The least in all: {_joint_words(problem, concessions, joint)}"), (0, 0, 0, 2)))
    console.print()
    console.print(Text("The nearest design (no answer: it does not keep what the file asks)", style="bold"))
    solution = joint.solution
    assert solution.space is not None and solution.design is not None
    for words in given_words(problem, broken(solution.space, solution.design, joint.card), joint.loosenings):
        console.print(Padding(Text(f"- {words}"), (0, 0, 0, 2)))
    rounding = rounding_words(problem, joint.loosenings)
    if rounding:
        console.print(Padding(Text(rounding), (0, 0, 0, 2)))
    print_design(console, problem, solution.space, solution.design, joint.card)


def _joint_words(problem: Problem, concessions: Concessions, joint: Concession) -> str:
    words = "; ".join(loosening_words(problem, one) for one in joint.loosenings)
    stepwise = [c for c in concessions.alone if not c.loosenings[0].member.path]
    if len(joint.loosenings) > 1 and stepwise and joint.total > (1.0 - LITTLE) * min(c.total for c in stepwise):
        alone = min(stepwise, key=lambda c: c.total)
        who = member_words(problem, alone.loosenings[0].member)
        steps = f"{joint.total:.2f} against {alone.total:.2f} steps"
        return f"sharing it out saves next to nothing over '{who}' giving way alone ({steps}); the nearest design shares it out."
    total = f"{joint.total:.2f}"
    least = total if joint.least >= joint.total - EXACT else rounded_words(joint.least, 2, up=False)
    proof = f"{total} steps in all, proven that less than {least} does not do"
    return f"{words} ({proof}). {outcome_words(joint)}"


# --- prices -------------------------------------------------------------------------------------


def print_prices(console: Console, problem: Problem, prices: Prices, *, title: str) -> None:
    """The table of prices, the dearest first, and what does not matter."""
    console.print(Text(title, style="bold"))
    table = plain_table(
        "as it is", "moved by", "score", "image", "moved by ", "score ", "image ", right=("score", "score ")
    )
    silent = [g for g in prices.open if g not in prices.losing]
    for group in (*prices.found, *prices.losing):
        cells = [c for price in in_order(group) for c in _price_cells(problem, price)]
        table.add_row(subject_words(problem, group[0]), *cells)
    if table.row_count:
        console.print(Padding(table, (0, 0, 0, 2)))
        if chance := chance_words(problem, (price for group in (*prices.found, *prices.losing) for price in group)):
            console.print()
            console.print(Padding(Text(chance), (0, 0, 0, 2)))
    elif not (prices.open or prices.still):
        console.print("  Nothing was moved.")
    else:
        nothing = "Nothing that was moved is proven to change" if prices.open else "Nothing that was moved changes"
        console.print(f"  {nothing} the best score.")
    if silent:
        console.print()
        console.print(Padding(Text(_open_words(problem, silent)), (0, 0, 0, 2)))
    if prices.still:
        names = "; ".join(subject_words(problem, group[0]) for group in prices.still)
        console.print()
        console.print(
            Padding(Text(f"Without effect at this step (less than 0.1 points, proven): {names}."), (0, 0, 0, 2))
        )
    if prices.unmoved:
        console.print()
        console.print("  Not moved, as the file would make no sense:")
        for move, why in prices.unmoved:
            console.print(Padding(Text(f"- {unmoved_words(problem, move, why)}"), (0, 0, 0, 4)))
    if prices.unasked:
        console.print()
        console.print(Padding(Text(unasked_words(prices.unasked)), (0, 0, 0, 2)))
    print_caution(console, problem)


def _open_words(problem: Problem, groups: Sequence[Sequence[Price]]) -> str:
    """What is known of moves for which neither a better design was found nor a proof that there is none."""
    said = []
    for bounded in (True, False):
        some = [g for g in groups if all(not p.unbounded and p.most is not None for p in g) == bounded]
        if some:
            names = "; ".join(subject_words(problem, group[0]) for group in some)
            most = max((p.most for group in some for p in group if p.most is not None), default=0.0)
            known = f" (no better design was found; a gain of more than {most:.1f} is ruled out)" if bounded else ""
            said.append(f"Not settled in the effort that prices have{known}: {names}.")
    return " ".join(said) + " Ask for some of them with --try, or for all with --thorough."


def _price_cells(problem: Problem, price: Price) -> tuple[str, str, str]:
    return move_words(problem, price.move), gain_words(price), image_words(problem, price)


def print_pulls(console: Console, problem: Problem, pulls: Sequence[Pull]) -> None:
    """How hard each goal pulls."""
    if not pulls:
        return
    console.print()
    console.print(Text("What pulls: points that the other goals would gain without this one", style="bold"))
    table = plain_table(
        "goal", "row", "its score", "the others gain", "it would fall to", right=("its score", "the others gain")
    )
    quiet = [p for p in pulls if p.proven and p.least <= 0.0 and p.costs < 0.05]
    for pull in (p for p in pulls if p not in quiet):
        table.add_row(
            measure_words(pull.goal.measure, pull.goal.options),
            goal_row_words(pull.goal),
            score_words(pull.score),
            f"{pull.costs:.1f}" if pull.proven else f"between {max(0.0, pull.least):.1f} and {pull.most:.1f}",
            _fallen(pull) if pull.proven else "",
        )
    if len(quiet) < len(pulls):
        console.print(Padding(table, (0, 0, 0, 2)))
    if quiet:
        names = "; ".join(_goal_words(p.goal, pulls) for p in quiet)
        console.print(Padding(Text(f"The others lose nothing to: {names}."), (0, 0, 0, 2)))


def _fallen(pull: Pull) -> str:
    """What a goal would fall to if it were not asked for."""
    return "nothing to score" if pull.drops is None else f"{100 * (pull.score - pull.drops):.0f} %"


def _goal_words(goal: Goal, pulls: Sequence[Pull]) -> str:
    """A goal's measure; with its row where another goal is on the same."""
    words = measure_words(goal.measure, goal.options)
    alike = [p for p in pulls if (p.goal.measure, p.goal.options) == (goal.measure, goal.options)]
    row = goal_row_words(goal)
    if len(alike) < 2 or not row:
        return words
    return f"{words} ({f'row {row}' if row.isdigit() else row})"


# --- freedom ------------------------------------------------------------------------------------


def print_freedom(console: Console, problem: Problem, freedom: Freedom) -> None:
    """How far everything can move, and designs that do as well."""
    console.print(Text("How far each can move while the score stays near the best", style="bold"))
    within = [f"within {loss:g} point{'' if loss == 1.0 else 's'}" for loss in freedom.losses]
    for heading, measured in (("decision", False), ("measure", True)):
        groups = [g for g in freedom.scopes if bool(g[0].subject.measure) == measured]
        if not groups:
            continue
        table = plain_table(heading, "at best", *within)
        for group in groups:
            first = group[0]
            best = "" if first.at_best is None else subject_value(problem, first.subject, first.at_best)
            table.add_row(subject_name(first.subject), best, *(scope_words(problem, scope) for scope in group))
        console.print(Padding(table, (0, 0, 0, 2)))
        console.print()
    ends = (
        "Each end is that of a design which keeps all limits and scores so, to a twentieth of a point; that none "
        f"goes much farther is proven{_among(problem, freedom)}: mostly by a fiftieth of what lies between, at most by "
        "a fifth."
    )
    console.print(Padding(Text(ends), (0, 0, 0, 2), expand=False))
    if any("perhaps" in scope_words(problem, scope) for group in freedom.scopes for scope in group):
        console.print("  'Perhaps' is what is proven where the solver could not settle an end in its time.")
    print_caution(console, problem)
    if not freedom.others:
        return
    console.print()
    loss = f"{freedom.loss:g} point{'' if freedom.loss == 1.0 else 's'}"
    console.print(Text(f"Designs within {loss} that differ", style="bold"))
    assert freedom.best.design is not None
    names = [g[0].subject.name for g in freedom.scopes if not g[0].subject.measure]
    table = plain_table("", "best", *(f"other {at}" for at in range(1, len(freedom.others) + 1)))
    table.add_row("score", *(f"{s:.1f}" for s in (freedom.best.score, *(o.score for o in freedom.others))))
    for name in names:
        table.add_row(
            decision_words(name),
            *(decided_words(problem, one.space, one.design, name) or BLANK for one in (freedom.best, *freedom.others)),
        )
    console.print(Padding(table, (0, 0, 0, 2)))


def _among(problem: Problem, freedom: Freedom) -> str:
    """Of which designs it is proven how far they go, where it is not all of them."""
    several = sum(1 for _ in spaces(problem, grid=freedom.best.grid)) > 1
    return (
        " of designs with as many rows, this kind and shape of screen and places of the bass loudspeakers"
        if several
        else ""
    )
