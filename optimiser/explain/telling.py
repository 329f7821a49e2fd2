"""How two designs differ, in sentences."""

from __future__ import annotations

from optimiser.explain.differences import DecisionChange, Difference, GoalChange
from optimiser.explain.sayings import row_phrase
from optimiser.problem.decisions import kind_of, split_row
from optimiser.problem.model import Problem
from optimiser.quantity import show
from optimiser.standing import Broken
from optimiser.words import band_words, decision_words, listed, measure_words, value_words

FOLLOWS = "screen.tile_rows"
"""A decision that follows from others and is not worth a word of its own."""

VISIBLE = 5e-4
"""Metres below which nobody would move anything."""

_WITHIN = {"seating.stagger", "chair"}
"""Decisions that move seats within rows that stay in place."""

_MORE_LESS = {
    "screen.bottom": ("the image stands {} higher", "the image stands {} lower"),
    "screen.centre": ("the image stands {} farther right", "the image stands {} farther left"),
    "baffle.width": ("the baffle wall is {} wider", "the baffle wall is {} narrower"),
    "baffle.left": ("the baffle wall begins {} farther right", "the baffle wall begins {} farther left"),
    "baffle.right": ("the baffle wall ends {} farther right", "the baffle wall ends {} farther left"),
    "baffle.depth": ("the baffle wall is {} deeper", "the baffle wall is {} shallower"),
    "screen.bezel": ("the bezel is {} wider", "the bezel is {} narrower"),
    "projector.y": ("the lens is {} farther back", "the lens is {} farther forward"),
    "projector.z": ("the lens is {} higher", "the lens is {} lower"),
    "platform.behind": (
        "the last platform runs {} farther behind its chairs",
        "the last platform runs {} less far behind its chairs",
    ),
    "loudspeakers.apart": ("the loudspeakers are {} farther apart", "the loudspeakers are {} nearer together"),
    "loudspeakers.z": ("the loudspeakers are {} higher", "the loudspeakers are {} lower"),
}


def what_moves(problem: Problem, told: Difference) -> str:
    """What was done to get from one design to the other: the image, the seats, the rest."""
    changed = {c.name: c for c in told.decisions if _visible(c)}
    parts = [_image(problem, changed), _seats(problem, changed)]
    rest = [_other(problem, c) for c in changed.values() if _is_rest(problem, c.name, changed)]
    return "; ".join([*parts, *filter(None, rest)])


def _visible(change: DecisionChange) -> bool:
    if change.before is None or change.after is None:
        return True
    return kind_of(change.name) != "length" or abs(change.after - change.before) >= VISIBLE


def _by(problem: Problem, change: DecisionChange) -> str:
    assert change.before is not None and change.after is not None
    return show("length", abs(change.after - change.before), problem.show)


def _image(problem: Problem, changed: dict[str, DecisionChange]) -> str:
    change = changed.get("screen.width")
    if "screen.type" in changed and changed["screen.type"].after is not None:
        return f"another kind of screen ({value_words(problem, 'screen.type', changed['screen.type'].after)})"
    if change is None or change.before is None or change.after is None:
        return "the same image" if "screen.aspect" not in changed else "an image of another shape"
    wider = change.after > change.before
    by = f"{_by(problem, change)} {'wider' if wider else 'narrower'} at {show('length', change.after, problem.show)}"
    if "screen.aspect" in changed:  # a wider one may be the smaller, and lower
        return f"an image of another shape, {by}"
    return f"{'a larger' if wider else 'a smaller'} image, {by}"


def _seats(problem: Problem, changed: dict[str, DecisionChange]) -> str:
    rows = changed.get("rows")
    if rows is not None and rows.before is not None and rows.after is not None:
        return f"{rows.after:g} row{'' if rows.after == 1.0 else 's'} of seats instead of {rows.before:g}"
    moves = [c for name, c in changed.items() if (found := split_row(name)) and found[1] == "y"]
    aside = _aside(problem, changed)
    if not moves:
        if aside:
            return f"the seats moved {aside}"
        within = any((found := split_row(name)) and found[1] == "seats" for name in changed) or _WITHIN & set(changed)
        return "the rows in place" if within else "the seats in place"
    steps = [c.after - c.before for c in moves if c.after is not None and c.before is not None]
    each = listed(f"row {split_row(c.name)[0]} by {_by(problem, c)}" for c in moves)  # type: ignore[index]
    too = f", and all {aside}" if aside else ""
    if all(step < 0.0 for step in steps):
        return f"the seats moved forward, {each}{too}"
    if all(step > 0.0 for step in steps):
        return f"the seats moved back, {each}{too}"
    ways = [
        f"row {split_row(c.name)[0]} {_by(problem, c)} {'back' if s > 0 else 'forward'}" for c, s in zip(moves, steps)
    ]  # type: ignore[index]
    return f"the seats moved: {listed(ways)}{too}"


def _middle(problem: Problem) -> str:
    """The decision that says where the middle of the rows is: the image's, where they are in line with it."""
    return "screen.centre" if problem.seating.centre is None else "seating.centre"


def _aside(problem: Problem, changed: dict[str, DecisionChange]) -> str:
    """How far all rows moved across the room, seen by who faces the image; empty where they did not."""
    change = changed.get(_middle(problem))
    if change is None or change.before is None or change.after is None:
        return ""
    return f"{_by(problem, change)} to the {'right' if change.after > change.before else 'left'}"


def _is_rest(problem: Problem, name: str, changed: dict[str, DecisionChange]) -> bool:
    """Whether a change is told beside those of image and seats: not where it follows from others."""
    row = split_row(name)
    if row is not None:
        return row[1] != "y" and "rows" not in changed
    if name == "seating.centre":
        return "rows" in changed  # else the seats are told to have moved
    if name == "baffle.width":
        return problem.baffle.width is not None
    return name not in ("screen.width", "screen.type", "rows", FOLLOWS)


def _other(problem: Problem, change: DecisionChange) -> str:
    row = split_row(change.name)
    if change.before is None or change.after is None:
        return ""
    more = change.after > change.before
    if row is not None and row[1] == "platform":
        return f"platform {row[0]} {_by(problem, change)} {'higher' if more else 'lower'}"
    if row is not None and row[1] == "seats":
        count = abs(change.after - change.before)
        return f"{count:g} seat{'' if count == 1.0 else 's'} {'more' if more else 'fewer'} in row {row[0]}"
    if row is not None:
        return (
            f"{change.after:g} riser{'' if change.after == 1.0 else 's'} to row {row[0]} instead of {change.before:g}"
        )
    if change.name in _MORE_LESS:
        return _MORE_LESS[change.name][0 if more else 1].format(_by(problem, change))
    before, after = (value_words(problem, change.name, v) for v in (change.before, change.after))
    return f"{decision_words(change.name)} {after} instead of {before}"


ONE_ONLY = (
    "Where a goal counts in one of the two only, each of the others has another share of the score in the other: some "
    "points are gained or lost by that alone."
)


def what_follows(problem: Problem, told: Difference, *, most: int = 4) -> str:
    """What that does to the score and to the goals."""
    points = told.points
    before, after = f"{told.score_before:.1f}", f"{told.score_after:.1f}"
    if abs(points) < 0.05:
        instead = after if before == after else f"{after}, {before} before"  # as near as that, and rounded apart
        sentences = [f"It scores the same ({instead})."]
    else:
        more = "more" if points > 0 else "less"
        sentences = [f"It scores {abs(points):.1f} points {more} ({after} instead of {before})."]
    for verb, changes in (("gains", told.gained), ("loses", told.lost)):
        seen = [c for c in changes if abs(c.points) >= 0.05]
        if seen:
            words = [goal_words(problem, change) for change in seen[:most]]
            more = f", and {len(seen) - most} more" if len(seen) > most else ""
            sentences.append(f"It {verb} {'; '.join(words)}{more}.")
    if any(c.before is None or c.after is None for c in told.goals) and len(sentences) > 1:
        sentences.append(ONE_ONLY)
    if told.broken:
        sentences.append(f"It breaks {listed(dict.fromkeys(broken_words(problem, r) for r in told.broken))}.")
    return " ".join(sentences)


def goal_words(problem: Problem, change: GoalChange) -> str:
    """A goal's change: ``2.1 on horizontal angle in row 1 (49.1° instead of 44.2°; wanted 50.0° to 55.0°)``."""
    goal = change.goal
    name = measure_words(goal.measure, goal.options) + row_phrase(goal.row)
    if change.before is None or change.after is None:
        return f"{abs(change.points):.1f} on {name}, which counts in one of the two only"
    before, after = (
        " / ".join(show(change.quantity, v, problem.show) for v in r.told) for r in (change.before, change.after)
    )
    values = f"{after} instead of {before}" if before != after else f"{after} as before"
    values += " at the worst" if change.after.seats else ""
    return f"{abs(change.points):.1f} on {name} ({values}; wanted {band_words(goal, problem.show)})"


def broken_words(problem: Problem, one: Broken) -> str:
    """A limit that a design breaks, what it has come up against, and by how much: ``aisle width ('column') in row 1 by
    4 in``."""
    limit = one.result.limit
    place = f" in {one.place}" if one.place else ""
    off = show(one.result.quantity, -one.result.slack, problem.show)
    return f"{measure_words(limit.measure, limit.options)}{one.against}{place} by {off}"


def told_whole(problem: Problem, told: Difference) -> str:
    """What moves and what follows, as one text that begins with a capital letter."""
    moves = what_moves(problem, told)
    return f"{moves[0].upper()}{moves[1:]}. {what_follows(problem, told)}"
