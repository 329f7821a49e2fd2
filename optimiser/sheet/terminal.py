"""The answer as tables for a terminal: plain enough to read aloud to a client."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from rich.console import Console, Group
from rich.padding import Padding
from rich.text import Text

from optimiser.bill import bill, heading, money_words, total
from optimiser.cautions import cautions, of_limits
from optimiser.complete import Completed, arrangement_chosen
from optimiser.design import Space
from optimiser.extremes import Extreme
from optimiser.measures import catalogue
from optimiser.measures.people import rise
from optimiser.measures.safety import A_STEP
from optimiser.notes import on_goals, on_numbers
from optimiser.problem.codes import clauses
from optimiser.problem.listed import WORDS
from optimiser.problem.model import Problem
from optimiser.quantity import other_system, show
from optimiser.requirements import all_limits, room_asks
from optimiser.score import Scorecard
from optimiser.seats import seats
from optimiser.sheet.cells import (
    SURROUND,
    SURROUND_HEADS,
    bass_words,
    from_row,
    goal_values,
    limit_figures,
    limit_place,
    on_seats,
    standing,
    surround_rows,
)
from optimiser.sheet.proof import proof_words
from optimiser.sheet.whole import Columns, plain_table
from optimiser.solve import Solution
from optimiser.standing import broken, limit_words
from optimiser.words import (
    band_words,
    beside_the_front,
    both_systems,
    bound_words,
    decision_words,
    exclusion_words,
    measure_words,
    of_no_wall,
    remedy_words,
    row_words,
    score_words,
    seats_words,
)


def print_solution(
    console: Console,
    solution: Solution,
    *,
    extreme: Extreme | None = None,
    explain: str = "optimiser explain FILE",
    pinned: bool = False,
) -> None:
    """A solution with its proof; where there is none, the command that can ``explain`` it. ``pinned``: whether
    decisions were fixed that the file leaves open."""
    problem = solution.problem
    console.print(Text(problem.title, style="bold"))
    if solution.design is None:
        console.print()
        _print_conflict(console, solution, explain, pinned)
        return
    if extreme is not None:
        console.print(_extreme_words(extreme, problem.show))
    console.print(proof_words(solution))
    print_design(console, problem, solution.space, solution.design, solution.card)


def print_completed(console: Console, problem: Problem, completed: Completed, *, name: str) -> None:
    """A design of one's own, scored; its broken limits come first."""
    from optimiser.explain.departures import departure_words  # what solve alone need not wait for

    console.print(Text(f"{problem.title}: {name}", style="bold"))
    card = completed.card
    console.print(f"Scores {card.score:.1f} of 100 on the goals.")
    if card.broken:
        console.print(f"It breaks {len(card.breaking)} limit{'s' if len(card.breaking) > 1 else ''}:")
        for one in broken(completed.space, completed.design, card):
            result = one.result
            about = ", ".join(filter(None, (one.place, *(f"'{name}'" for name in one.names))))
            row = f" ({about})" if about else ""
            value = show(result.quantity, result.value, problem.show)
            short = show(result.quantity, -result.slack, problem.show)
            name_ = measure_words(result.limit.measure, result.limit.options)
            console.print(
                f"  {name_}{row} is {value}, must be {bound_words(result.limit, problem.show)}: off by {short}"
            )
    else:
        console.print("All limits hold.")
    if told := departure_words(problem, completed.design):
        console.print(f"It {told}")
    chosen = list(arrangement_chosen(problem, completed))
    chosen += [n for n in completed.space.domains if n not in completed.given and _open(completed, n)]
    if chosen:
        words = "; ".join(decision_words(n) for n in chosen)
        console.print(f"Not given, so chosen to suit it best: {words}.")
    print_design(console, problem, completed.space, completed.design, card)


def _open(completed: Completed, name: str) -> bool:
    low, high = completed.space.domains[name].ends
    return low != high


def _extreme_words(extreme: Extreme, system: str) -> str:
    kind = catalogue()[extreme.measure].quantity
    value = show(kind, extreme.value, system)
    other = f" ({show(kind, extreme.value, other_system(system))})" if kind in ("length", "area") else ""
    what = "greatest" if extreme.greatest else "least"
    row = f", row {extreme.row}" if extreme.row.isdigit() else (f", {extreme.row} row" if extreme.row != "all" else "")
    row = row.replace("worst seat row", "worst seat")
    bound = show(kind, extreme.bound, system)
    proof = "Proven." if bound == value else f"Proven: no design passes {bound}."
    return (
        f"The {what} {measure_words(extreme.measure, extreme.options)}{row} that the limits allow is {value}{other}. "
        f"{proof} Below is the best design that keeps it."
    )


def print_design(
    console: Console, problem: Problem, space: Space, design: Mapping[str, float], card: Scorecard
) -> None:
    """Decisions, rows, goals, limits and cautions of one design."""
    system = problem.show
    beside = {"Seats": on_seats(space, design), "Goals": on_goals(problem, space, design)}
    for title, table in (
        ("Front of the room", _front(problem, space, design)),
        (heading(problem), _equipment(problem, space, design)),
        ("Rows", _rows(problem, space, design)),
        ("Seats", _seats(problem, space, design)),
        (SURROUND, _surround(space, design, system)),
        ("Goals", _goals(space, design, card, system)),
        ("Limits", _limits(problem, space, design, card)),
    ):
        said = beside.get(title, [])
        if table is not None or said:
            console.print()
            console.print(Text(title, style="bold"))
        if table is not None:
            console.print(Padding(table, (0, 0, 0, 2), expand=False))
        for note in said:
            console.print(Padding(Text(note), (0, 0, 0, 2)))
    said = on_numbers(problem, space, design)
    if said:
        console.print()
        console.print(Text("How far to trust the numbers", style="bold"))
    for note in said:
        console.print(Padding(Text(note), (0, 0, 0, 2)))
    print_cautions(console, cautions(problem, space, design))


def print_cautions(console: Console, said: Iterable[str]) -> None:
    """What designs must not leave unsaid where they could hurt someone."""
    console.print()
    console.print(Text("Cautions", style="bold"))
    for caution in said:
        console.print(Padding(Text(caution), (0, 0, 0, 2), expand=False))


def _front(problem: Problem, space: Space, design: Mapping[str, float]) -> Columns:
    system, layout = problem.show, space.layout
    table = plain_table("", "", "")
    diagonal = float(catalogue()["image_diagonal"].form(layout).value(design))
    height = float(layout.image_height.value(design))
    other = other_system(system)

    def length(words: str, value: float) -> None:
        table.add_row(words, show("length", value, system), show("length", value, other))

    def decision(name: str) -> None:
        table.add_row(decision_words(name), *both_systems(problem, name, design[name]))

    if problem.other_screens or space.layout.screen_type != "projected":
        decision("screen.type")
    if "screen.columns" in design:
        decision("screen.columns")
        decision("screen.tile_rows")
    decision("screen.width")
    length("image diagonal", diagonal)
    length("image height", height)
    common = float(catalogue()["picture_width"].form(layout).value(design))
    if common < 0.99 * design["screen.width"]:
        length("width of a 16:9 picture on it", common)
    for name in ("screen.aspect", "screen.bottom", "screen.bezel"):
        decision(name)
    for name in ("loudspeakers.apart", "loudspeakers.z"):
        if name in design:
            decision(name)
    if design["baffle.depth"]:
        decision("baffle.width")
        decision("baffle.depth")
    else:
        table.add_row("baffle wall", "none", "")
    for name in ("baffle.left", "baffle.right"):
        if name in design and not of_no_wall(name, design):
            decision(name)
    if not problem.baffle.centred:
        decision("screen.centre")
    for name in beside_the_front(space.domains, design):
        decision(name)
    if "bass.arrangement" in design:
        decision("bass.arrangement")
    return table


def _equipment(problem: Problem, space: Space, design: Mapping[str, float]) -> Columns | None:
    positions = bill(problem, space, design)
    if not positions:
        return None
    table = plain_table("", "model", "price", "number", "cost", right=("price", "number", "cost"))
    for one in positions:
        count = str(one.count) if one.count > 1 else ""
        table.add_row(WORDS[one.of], one.model, money_words(one.price), count, money_words(one.amount))
    if total(positions) is not None:
        table.add_row("together", "", "", "", money_words(total(positions)))
    return table


def _rows(problem: Problem, space: Space, design: Mapping[str, float]) -> Columns:
    system, other = problem.show, other_system(problem.show)
    table = plain_table(
        "row", "ears from the front wall", "", "platform", " ", "risers", "seats", right=("risers", "seats")
    )
    for row in space.layout.rows:
        y, platform = float(row.y.value(design)), float(row.platform.value(design))
        steps = float(rise(space.layout, row).value(design)) >= A_STEP
        risers = round(float(row.risers.value(design))) if steps else 0
        mark = " (reference)" if row.number == space.layout.reference and space.rows > 1 else ""
        table.add_row(
            f"{row.number}{mark}",
            show("length", y, system),
            show("length", y, other),
            show("length", platform, system) if platform else "on the floor",
            show("length", platform, other) if platform else "",
            str(risers) if risers else "",
            seats_words(row, design),
        )
    return table


SEAT_MARKS = {"chair": "", "stool": " (stool)", "wheelchair": " (wheelchair)"}


def _seats(problem: Problem, space: Space, design: Mapping[str, float]) -> Columns:
    """What is seen and heard from each seat, seats counted from the left, facing the image."""
    system = problem.show
    numbers = ("seat", "image", "off axis", "to L", "to R", "bass", "dip")
    heads = ["row", "seat", "to the image", "image", "off axis", "to L", "to R", "over eyes"]
    if space.layout.bass is not None:
        heads += ["bass", "dip"]
    table = plain_table(*heads, right=numbers)
    for seat in seats(space, design):
        table.add_row(
            str(seat.row),
            f"{seat.number}{SEAT_MARKS[seat.kind]}",
            show("length", seat.distance, system),
            show("angle", seat.horizontal_angle, system),
            show("angle", seat.off_axis, system),
            *(show("angle", angle, system) for angle in seat.loudspeakers),
            "" if seat.sightline is None else show("length", seat.sightline, system),
            *bass_words(seat),
        )
    return table


def _surround(space: Space, design: Mapping[str, float], system: str) -> Columns | None:
    """Where surround and overhead loudspeakers may be, from the front wall (on the rear wall, the left wall)."""
    if space.layout.surround is None:
        return None
    table = plain_table(*SURROUND_HEADS)
    for row in surround_rows(space, design, system):
        table.add_row(*row)
    return table


def _goals(space: Space, design: Mapping[str, float], card: Scorecard, system: str) -> Columns | None:
    if not card.goals:
        return None
    table = plain_table("goal", "row", "value", "band", "score", "weight", right=("score", "weight"))
    for result in card.goals:
        values = " / ".join(goal_values(space, design, result, system))
        table.add_row(
            measure_words(result.goal.measure, result.goal.options),
            "" if result.rows == (None,) else row_words(result.goal.row) + from_row(result),
            values,
            band_words(result.goal, system),
            score_words(result.score),
            f"{result.goal.weight:g}",
        )
    return table


def _limits(problem: Problem, space: Space, design: Mapping[str, float], card: Scorecard) -> Group:
    system = problem.show
    known = clauses(problem)
    codes = [known.get((result.limit.measure, result.limit.source), "") for result in card.telling]
    coded = any(codes)
    table = plain_table("limit", "row", "value", "must be", *(["code"] if coded else []), "slack", "")
    for result, clause in zip(card.telling, codes):
        value, slack = limit_figures(result, system)
        table.add_row(
            limit_words(space, design, result),
            limit_place(space, design, result),
            value,
            bound_words(result.limit, system),
            *([clause] if coded else []),
            slack,
            standing(result),
        )
    parts: list = [table] if table.row_count else []
    if card.quiet:
        parts.append(Text(f"The room's own limits hold too: {card.quiet} more, none of them near."))
    return Group(*parts)


def _print_conflict(console: Console, solution: Solution, explain: str, pinned: bool) -> None:
    problem = solution.problem
    if solution.status == "unknown":
        console.print("No design was found, and none was proven impossible, within the effort allowed.")
        return
    console.print("Impossible: no design on the grid holds all the limits.")
    if not solution.conflict:
        console.print(
            "The ranges of the decisions alone leave no design: rows, one behind the other, and the lens of a projector must lie "
            "behind the image inside the room."
        )
        return
    where = (
        "in this room, " + ("with what is fixed, and else " if pinned else "") + "within the ranges that the file gives"
    )
    console.print(exclusion_words(len(solution.conflict), where, smallest=solution.smallest))
    limits = all_limits(problem)
    for index in solution.conflict:
        limit = limits[index]
        row = f", row {limit.row}" if catalogue()[limit.measure].per_row and limit.row != "all" else ""
        asked = room_asks(limit) if index >= len(problem.limits) else limit.source
        origin = f" ({asked})" if asked else ""
        place = f"  [line {limit.where.line}]" if limit.where else ""
        name = measure_words(limit.measure, limit.options)
        console.print(Text(f"  {name}{row} {bound_words(limit, problem.show)}{origin}{place}"))
    for remedy in remedy_words(problem, [limits[index].measure for index in solution.conflict]):
        console.print(remedy)
    console.print(
        f"'{explain}' shows every conflict, those of ranges and fixed values too, and what would have to give."
    )
    said = of_limits(problem)
    if said is not None:
        console.print(said)
