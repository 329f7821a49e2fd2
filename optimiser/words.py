"""How limits, goals and decisions read: one place for the words of tables, sheets and errors."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

from optimiser.measures import catalogue
from optimiser.measures.layout import Row
from optimiser.measures.seats import seats_of
from optimiser.measures.ways import OVER_HEADS
from optimiser.problem.decisions import Words, bounds_of, kind_of, split_row, written_value
from optimiser.problem.model import Box, Goal, Limit, Problem
from optimiser.quantity import other_system, parse, show


def listed(words: Iterable[str], last: str = "and") -> str:
    """``a, b and c``, or ``a; b, c; and d`` where commas are in them; or with another word before the last."""
    texts = list(words)
    apart = ";" if any(", " in text for text in texts) else ","
    before = f"{apart} {last} " if apart == ";" else f" {last} "
    return before.join(filter(None, (f"{apart} ".join(texts[:-1]), *texts[-1:])))


def rounded_words(value: float, digits: int, *, up: bool) -> str:
    """A number with so many digits, rounded up or down: what is proven with a bound is then true of what is told of it."""
    step = 10.0**-digits
    count = value / step
    return f"{(math.ceil(count - 1e-9) if up else math.floor(count + 1e-9)) * step:.{digits}f}"


def quantity_of(item: Limit | Goal) -> str:
    """The kind of quantity that a limit or goal is about."""
    return catalogue()[item.measure].quantity


def measure_words(name: str, options: tuple[tuple[str, Any], ...] = ()) -> str:
    """A measure's name as a person reads it, with its options."""
    words = name.replace("_", " ")
    given = ", ".join(f"{key} {value}" for key, value in options)
    return f"{words} ({given})" if given else words


def bound_words(limit: Limit, system: str) -> str:
    """What a limit asks for: ``>= 8 ft``, ``9 in to 12 in``."""
    return range_words(quantity_of(limit), limit.at_least, limit.at_most, system)


def band_words(goal: Goal, system: str) -> str:
    """A goal's band."""
    return range_words(quantity_of(goal), goal.low, goal.high, system)


def range_words(kind: str, low: float | None, high: float | None, system: str) -> str:
    """A range with one or two ends."""
    decimals = ends_decimals(kind, low, high)
    first, last = ("" if end is None else _end_words(kind, end, system, decimals) for end in (low, high))
    if low is not None and high is not None:
        return f"{first} to {last}" if low != high else first
    if low is not None:
        return f"at least {first}"
    return f"at most {last}" if high is not None else "any"


def unnamed(kind: str) -> str:
    """What a thing is called that the file gives no name: ``a door``, ``an opening``."""
    return f"a{'n' if kind[0] in 'aeiou' else ''} {kind}"


OFF = 0.02
"""Share of a length by which an end may be rounded: of a limit of a few millimetres more would be told than it lets be."""


def _end_words(kind: str, end: float, system: str, decimals: int) -> str:
    """An end of a range; a small length in millimetres, where the units of all others would round it away."""
    words = show(kind, end, system, decimals=decimals)
    if kind == "length" and math.isfinite(end) and abs(float(parse(kind, words, signed=True)) - end) > OFF * abs(end):
        return show(kind, end, "mm")
    return words


FULL = 1.0 - 1e-8
"""A goal's score that is all there is, but for rounding."""


def score_words(share: float) -> str:
    """A goal's score in percent, from a share of 0 to 1: what is short of all by a hair is not told as all, nor what is
    more than nothing as nothing."""
    percent = 100.0 * share
    if 99.5 <= percent and share < FULL:
        return f"{math.floor(10.0 * percent) / 10.0:.1f} %"
    if 1e-6 < percent <= 0.5:
        return f"{math.ceil(10.0 * percent) / 10.0:.1f} %"
    return f"{percent:.0f} %"


def ends_decimals(kind: str, *ends: float | None) -> int:
    """Decimals at which a level's range has its own ends, and not a rounding of them: one to three."""
    known = [end for end in ends if end is not None] if kind == "level" else []
    return next((n for n in (1, 2) if all(abs(round(end, n) - end) < 1e-9 for end in known)), 3)


def row_words(row: int | str | None) -> str:
    """A row's number or role, empty for the whole design."""
    return "" if row is None else str(row)


def goal_row_words(goal: Goal) -> str:
    """Which rows a goal is about, empty where it is about the whole design."""
    return row_words(goal.row) if catalogue()[goal.measure].per_row else ""


def exclusion_words(count: int, where: str, *, smallest: bool = True) -> str:
    """What is said above a set of limits that cannot hold: of the set alone, and of no other limit. ``smallest``:
    each of them is known to be needed in it."""
    if count == 1:
        return f"This limit cannot hold by itself {where}:"
    if not smallest:
        return f"These {count} limits cannot hold together {where}; whether fewer of them can is not proven:"
    rest = "the other one" if count == 2 else f"the other {count - 1}"
    return f"These {count} limits cannot hold together {where}; with any one of them left out, {rest} can:"


def remedy_words(problem: Problem, measures: Iterable[str], boxes: Collection[Box] | None = None) -> list[str]:
    """Keys of a problem file, not used in this one, that may let limits on such measures hold together, and the ``boxes``
    that stand in their way; None where nobody asked which do, and then none is named."""
    concerned, said = set(measures), []
    if problem.seating.platforms.behind is None and {"door_platform_clearance", "door_to_step"} & concerned:
        said.append(
            "The last platform runs to the rear wall: seating.platform.behind lets it end behind its chairs, and leaves a door there "
            "the room's floor."
        )
    platforms = problem.seating.platforms
    steps = {"door_platform_clearance", "door_to_step", "aisle_headroom"} & concerned
    if steps and platforms.going is None and platforms.to > 0.0 and platforms.risers > 1:
        said.append(
            "The steps up to each row are spread over the row pitch: seating.platform.going gives each its depth, and they stand "
            "together before the platform's edge."
        )
    speakers = problem.loudspeakers
    beside = all(speakers.place_with(screen) == "beside" for screen in problem.screens)
    if speakers.apart is None and not beside and {"loudspeaker_to_edge", "loudspeaker_spacing"} & concerned:
        said.append(
            "The front loudspeakers are as far apart as the image is wide, times their spread: front.loudspeakers.apart lets that be "
            "decided by itself."
        )
    if problem.seating.centre is None and _beside_rows(problem) & concerned:
        said.append(
            "The rows are in line with the image's middle: seating.centre lets them stand aside of it by themselves."
        )
    low = f"What stands on the floor, or hangs less than {show('length', OVER_HEADS, problem.show)} over it or over a platform, may take"
    if WAYS & concerned and boxes is None and in_the_ways(problem):
        said.append(f"{low} its share of the ways there; which of it does, if any, was not asked here.")
    if WAYS & concerned and boxes:
        named = dict.fromkeys(f"'{box.name}'" for box in boxes)  # several may go by one name
        said.append(f"{low} its share of the ways there: see {listed(named)} in the file.")
    return said


def _beside_rows(problem: Problem) -> set[str]:
    """Measures that rows aside of the image, which leave more room at one side and less at the other, may help."""
    room, aisle = problem.room, problem.seating.aisle
    found = {"door_row_clearance", "row_opening_clearance"}
    if any(box.x[0] > 0.0 or box.x[1] < room.width for box in room.obstructions):
        found.add("row_obstruction_clearance")
    return found | ({"aisle_width", "stair_width"} if aisle.sides in ("one", "left", "right") else set())


WAYS = frozenset({"walkway", "passing_way", "rear_walkway", "rear_landing", "aisle_width", "stair_width"})
"""Measures of clear width to walk in, which a box narrows."""


def in_the_ways(problem: Problem) -> list[Box]:
    """Boxes of the room that may stand, or hang too low, where people walk."""
    highest = OVER_HEADS + problem.seating.platforms.to
    return [box for box in problem.room.obstructions if box.z[0] < highest]


def decision_words(name: str) -> str:
    """A decision's name as a person reads it."""
    head, _, tail = name.partition(".")
    if head.startswith("row") and head[3:].isdigit():
        return f"row {head[3:]}, " + {"y": "ears from the front wall"}.get(tail, tail)
    return {
        "screen": "screen model",
        "projector": "projector model",
        "loudspeakers": "loudspeaker model",
        "chair": "chair model",
        "screen.type": "screen",
        "screen.columns": "columns of tiles",
        "screen.tile_rows": "rows of tiles",
        "projector.y": "lens from the front wall",
        "projector.z": "lens above the floor",
        "loudspeakers.apart": "left to right loudspeaker",
        "loudspeakers.z": "loudspeakers' axes above the floor",
        "screen.width": "image width",
        "screen.diagonal": "panel diagonal",
        "screen.aspect": "aspect ratio",
        "screen.bezel": "bezel",
        "screen.bottom": "image bottom above the floor",
        "screen.centre": "image centre from the left wall",
        "baffle.depth": "baffle wall depth",
        "baffle.width": "baffle wall width",
        "baffle.left": "baffle wall's left edge from the left wall",
        "baffle.right": "baffle wall's right edge from the left wall",
        "rows": "rows",
        "seating.centre": "middle of the rows from the left wall",
        "seating.stagger": "shift of every second row, in seats",
        "platform.behind": "last platform behind its chairs",
        "aisle.side": "side of the aisle",
        "bass.arrangement": "bass loudspeakers",
        "treatment.panels": "absorbing panels",
    }.get(name, name.replace(".", " "))


def value_words(problem: Problem, name: str, value: float) -> str:
    """A decision's value as a person reads it."""
    return spoken(name, written_value(problem, name, value))


def spoken(name: str, written: str) -> str:
    """A decision's value as a file writes it, without the underscores that files have in their own words; a name that
    the file gives to a thing stays as it is."""
    return written.replace("_", " ") if isinstance(bounds_of(name), Words) else written


def both_systems(problem: Problem, name: str, value: float) -> tuple[str, str]:
    """A decision's value in the file's units and in the other system (empty where there is no other), for people."""
    kind = kind_of(name)
    first = value_words(problem, name, value)
    return first, (show(kind, value, other_system(problem.show)) if kind == "length" else "")


def of_no_wall(name: str, design: Mapping[str, float]) -> bool:
    """Whether a decision says how wide the baffle wall is, or where, of a design that has none."""
    return name in ("baffle.width", "baffle.left", "baffle.right") and not design["baffle.depth"]


def of_no_platform(name: str, design: Mapping[str, float]) -> bool:
    """Whether a decision says where the last platform ends, of a design whose last row stands on the floor."""
    if name != "platform.behind":
        return False
    rows = [row for row in map(split_row, design) if row is not None and row[1] == "platform"]
    return not rows or not design["row{}.{}".format(*max(rows))]


def decided(problem: Problem, name: str, design: Mapping[str, float]) -> str:
    """A decision of one of several designs side by side; empty where this one has no such decision."""
    if name not in design or of_no_wall(name, design):
        return ""
    if name == "baffle.depth" and not design[name]:
        return "no wall"
    return "none" if of_no_platform(name, design) else value_words(problem, name, design[name])


BESIDE = ("projector.", "treatment.", "seating.", "platform.", "aisle.")
"""Beginnings of the names of decisions that are told after those of the front."""


def beside_the_front(names: Iterable[str], design: Mapping[str, float]) -> list[str]:
    """Of the decisions of a space those that are told of a design after those of its front; an aisle's side too where it
    was pinned, and the space has it no more."""
    every = dict.fromkeys([*names, *({"aisle.side"} & set(design))])
    return [name for name in every if name.startswith(BESIDE) and not of_no_platform(name, design)]


def seats_words(row: Row, design: Mapping[str, float]) -> str:
    """How many people a row has places for, and on what: ``4``, ``3 + 1 wheelchair``, ``6 at the bar``."""
    count = str(round(float(row.seats.value(design))))
    if row.bar:
        return f"{count} at the bar"
    return f"{count} + {len(row.places)} wheelchair{'s' if len(row.places) > 1 else ''}" if row.places else count


def seats_called(row: Row, numbers: Sequence[int], design: Mapping[str, float]) -> str:
    """Some of the seats of a row, by their numbers in ``seats_of``, as people call them: ``seats 1 and 2``, ``stool 4``, ``seat 1
    and the wheelchair's place``; of several such places each by its number from the left."""
    own = {n: x for n, _, x in seats_of(row) if n > row.most_seats}
    along = sorted(own, key=lambda n: float(own[n].value(design)))
    chairs, places = [str(n) for n in numbers if n not in own], [str(along.index(n) + 1) for n in numbers if n in own]
    found = []
    if chairs:
        found.append(f"{'stool' if row.bar else 'seat'}{'s' if len(chairs) > 1 else ''} {listed(chairs)}")
    if places and len(own) == 1:
        found.append("the wheelchair's place")
    elif places:
        found.append(("wheelchairs' places " if len(places) > 1 else "wheelchair's place ") + listed(sorted(places)))
    return " and ".join(found)
