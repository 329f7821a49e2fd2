"""Limits and goals of a problem, expanded for one space: which form, on which row, against what."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from functools import cached_property

from optimiser.design import Space
from optimiser.errors import Fault, ProblemFileError, UsageError
from optimiser.forms import Condition, Form, decisions_in, looks_up, size_of
from optimiser.measures import catalogue
from optimiser.measures.base import KEYS, Measure
from optimiser.measures.front import UNDER_OR_OVER
from optimiser.measures.layout import Layout, Row
from optimiser.measures.seats import unlike_seats
from optimiser.problem.items import gives, listed_keys
from optimiser.problem.model import MODAL_CONTROL, Goal, Limit, Problem

MODAL = ("midpoint_offset", "mode_null_offset", "mode_level")
"""Measures of single modes, which matter less where something else evens out the bass."""

WORST_SEAT = "worst seat"
"""What a limit or goal writes for its row where it is about each seat by itself."""


@dataclass(frozen=True, eq=False)
class Bound:
    """A limit on one form. ``index`` numbers the limits of the problem, the room's own after the
    file's; a limit on all rows gives one bound a row, all with the same index."""

    index: int
    limit: Limit
    own: bool  # of the room itself, not of the file
    measure: Measure
    row: int | None
    form: Form
    seat: int | None = None  # counted from the left, where the limit is on every seat

    @cached_property
    def looks_up(self) -> bool:
        """Whether its form reads anything from a table."""
        return looks_up(self.form)

    @cached_property
    def size(self) -> int:
        """How many single forms its form is made of."""
        return size_of(self.form)

    @cached_property
    def decisions(self) -> frozenset[str]:
        """The decisions that its form looks at."""
        return decisions_in(self.form)

    def conditions(self) -> list[Condition]:
        """What the limit asks of its form."""
        return list(self._conditions)

    @cached_property
    def _conditions(self) -> tuple[Condition, ...]:
        limit = self.limit
        least = [] if limit.at_least is None else [self.form.at_least(limit.at_least)]
        most = [] if limit.at_most is None else [self.form.at_most(limit.at_most)]
        return (*least, *most)


@dataclass(frozen=True, eq=False)
class Target:
    """A goal with the forms that it scores; ``worst`` scores the least of them, else their mean."""

    index: int
    goal: Goal
    measure: Measure
    rows: tuple[int | None, ...]
    forms: tuple[Form, ...]
    worst: bool
    seats: tuple[int, ...] = ()  # counted from the left, one a form, where the goal is on every seat

    @cached_property
    def looks_up(self) -> bool:
        """Whether any of its forms reads anything from a table."""
        return any(map(looks_up, self.forms))

    @cached_property
    def decisions(self) -> frozenset[str]:
        """The decisions that its forms look at."""
        return frozenset().union(*map(decisions_in, self.forms))


def room_limits(problem: Problem) -> tuple[Limit, ...]:
    """What must hold in any room, whatever the file says: nothing sticks out or overlaps."""

    def at_least(measure: str, value: float = 0.0) -> Limit:
        return Limit(measure, "all", value, None)

    aisle, projector = problem.seating.aisle, problem.projector
    light: tuple[Limit, ...] = ()
    if projector is not None:
        seated = (("posture", "seated"),)
        path = Limit("light_path_clearance", "all", 0.0, None, seated)
        light = (*_of_the_lens(problem, "throw_ratio"), path, *_of_the_lens(problem, "lens_offset"))
    return (
        at_least("baffle_margin", problem.baffle.margin),
        at_least("side_room"),
        at_least("frame_to_ceiling"),
        at_least("frame_to_floor"),
        at_least("door_clearance"),
        at_least("front_obstruction_clearance"),
        at_least("walkway"),
        at_least("rear_walkway"),
        at_least("aisle_width", 0.0 if aisle.sides == "none" else aisle.width),
        at_least("row_to_wall"),
        at_least("riser_step"),
        at_least("seated_headroom"),
        at_least("row_obstruction_clearance"),
        at_least("loudspeaker_room"),
        *light,
        *(at_least(measure) for measure in _of_the_shape(problem)),
        *(() if problem.seating.wheelchair is None else (Limit("wheelchair_rise", "all", None, 0.0),)),
    )


STATED = {
    "baffle_margin": "front.baffle.margin",
    "aisle_width": "seating.aisle.width",
    "throw_ratio": "projector.throw_ratio",
    "throw_ratio_margin": "projector.throw_ratio",
    "lens_offset": "projector.lens_offset",
    "lens_offset_margin": "projector.lens_offset",
    "listening_distance_margin": "front.loudspeakers.least_distance",
}
"""Keys of the file that say how far the limits go that otherwise hold in any room."""


def stated_at(limit: Limit) -> str | None:
    """The key of the file behind one of the room's own limits; None where the room itself asks for it."""
    bare = limit.measure in ("baffle_margin", "aisle_width") and limit.at_least == 0.0
    return None if bare else STATED.get(limit.measure)


def room_asks(limit: Limit) -> str:
    """What one of the room's own limits comes from, in words: the key of the file behind it, else the room itself."""
    return stated_at(limit) or "the room itself"


def _of_the_lens(problem: Problem, measure: str) -> tuple[Limit, ...]:
    """What keeps a measure within the projector's range; of projectors to choose from, each within its own."""
    ends = getattr(problem.projector, measure)
    if measure in listed_keys(problem, "projector"):
        return (Limit(measure + "_margin", "all", 0.0, None),)
    return () if ends is None else (Limit(measure, "all", *ends),)


def _of_the_shape(problem: Problem) -> list[str]:
    """Measures that must not be negative where the room has doors, openings, corners, a projector, or
    loudspeakers of known depth, under or over the image, or apart by a decision. Never by what a decision is: with it
    loosened the limits must be the same."""
    room = problem.room
    names = ["door_row_clearance", "door_platform_clearance"] if room.doors else []
    if problem.seating.platforms.behind is not None:
        names += ["rear_landing"]
    kept = any(spread.path.endswith(".keep") for spread in problem.tolerances)  # so that all cases have the same limits
    if room.openings or kept or any(door.keep for door in room.doors):
        names += ["opening_clearance", "row_opening_clearance"]
    if problem.seating.bar is not None:
        names += ["row_gap"]
    if gives(problem, "loudspeakers", "least_distance"):
        names += ["listening_distance_margin"]
    if gives(problem, "loudspeakers", "depth"):
        names += ["loudspeaker_obstruction_clearance"] if room.obstructions else []
        names += ["loudspeaker_depth_room", "loudspeaker_to_edge"]
    sized = gives(problem, "loudspeakers", "depth")
    if sized or problem.loudspeakers.place in UNDER_OR_OVER or problem.loudspeakers.apart is not None:
        names += ["loudspeaker_spacing"]
    if sized or any(problem.loudspeakers.place_with(screen) == "beside" for screen in problem.screens):
        names += ["cabinet_room"]
    if problem.projector is not None:
        shaped = room.obstructions or room.ceiling or room.ceiling_across
        names += ["light_path_obstruction_clearance"] if shaped else []
        names += ["lens_to_ceiling"]
    return names


def all_limits(problem: Problem) -> tuple[Limit, ...]:
    """The file's limits, then the room's own; bounds carry the index into this."""
    return problem.limits + room_limits(problem)


def bounds(problem: Problem, space: Space) -> list[Bound]:
    """Every limit on every row that it concerns."""
    return [
        bound for index, limit in enumerate(all_limits(problem)) for bound in bounds_of(problem, space, index, limit)
    ]


def bounds_on(problem: Problem, space: Space, measures: Collection[str]) -> list[Bound]:
    """The limits on these measures alone, on every row that they concern."""
    return [
        bound
        for index, limit in enumerate(all_limits(problem))
        if limit.measure in measures
        for bound in bounds_of(problem, space, index, limit)
    ]


def bounds_of(problem: Problem, space: Space, index: int, limit: Limit) -> list[Bound]:
    """One limit, the problem's ``index``-th, on every row that it concerns."""
    made, own = space.layout.made, index >= len(problem.limits)
    key = (Bound, index, limit, own)
    if key not in made:
        measure = _measure(problem, space.layout, limit)
        several = _forms(limit, measure, space.layout)
        made[key] = [Bound(index, limit, own, measure, row and row.number, form, seat) for row, seat, form in several]
    return list(made[key])


def targets(problem: Problem, space: Space) -> list[Target]:
    """Every goal that this space has something for; a goal on rows (or on a projector) that are not
    there does not count."""
    found = []
    for index, goal in enumerate(problem.goals):
        if goal.targets is not None and wanting(goal, space.layout):
            continue
        target = _target(problem, space.layout, index, weighed(problem, goal))
        found += [] if target is None else [target]
    return found


def _target(problem: Problem, layout: Layout, index: int, goal: Goal) -> Target | None:
    """A goal, the problem's ``index``-th, with what it scores; None where there is nothing for it."""
    key = (Target, index, goal)
    if key not in layout.made:
        measure = _measure(problem, layout, goal)
        several = _forms(goal, measure, layout)
        rows, seats, forms = zip(*several) if several else ((), (), ())
        numbers = tuple(r and r.number for r in rows)
        worst = goal.row in ("worst", WORST_SEAT)
        target = Target(index, goal, measure, numbers, forms, worst, seats if goal.row == WORST_SEAT else ())
        layout.made[key] = target if several else None
    return layout.made[key]


def weighed(problem: Problem, goal: Goal) -> Goal:
    """The goal with the weight that it has beside whatever else evens out the bass."""
    if problem.bass is None or goal.measure not in MODAL:
        return goal
    return replace(goal, weight=goal.weight * MODAL_CONTROL[problem.bass.modal_control])


def _forms(item: Limit | Goal, measure: Measure, layout: Layout) -> list[tuple[Row | None, int | None, Form]]:
    """Rows, seats (counted from the left) and forms that a limit or goal is about."""
    key = (Form, measure.name, item.row, item.options)
    if key not in layout.made:
        layout.made[key] = _formed(item, measure, layout)
    return layout.made[key]


def _formed(item: Limit | Goal, measure: Measure, layout: Layout) -> list[tuple[Row | None, int | None, Form]]:
    """The same, made anew."""
    options = dict(item.options)
    if item.row != WORST_SEAT:
        return [(row, None, measure.asked_form(layout, row, **options)) for row in _rows(item.row, measure, layout)]
    return [
        (row, number, form)
        for row in _rows("all", measure, layout)
        for number, absent, x in unlike_seats(layout, row)
        for form in measure.seat_forms(layout, row, absent, x, **options)
    ]


def _measure(problem: Problem, layout: Layout, item: Limit | Goal) -> Measure:
    measure = catalogue()[item.measure]
    for need in measure.needs if measure.exists(layout) else ():
        if getattr(layout, need) is None:
            key = key_of(need, layout)
            lacks, where = f"{item.measure} needs {key}, which the file does not give", item.where
            if where is None:  # asked for in a call: no place in the file is at fault
                raise UsageError(f"{lacks}: add {key} to the file, or ask for another measure")
            at = Fault(
                problem.file or "problem", where.line, where.column, where.path, lacks, f"add {key}, or leave this out"
            )
            raise ProblemFileError([at])
    return measure


def wanting(goal: Goal, layout: Layout) -> str | None:
    """The key of the problem file without which a goal's measure cannot be had; None where it can."""
    measure = catalogue()[goal.measure]
    missing = [need for need in measure.needs if getattr(layout, need) is None] if measure.exists(layout) else []
    return key_of(missing[0], layout) if missing else None


def key_of(need: str, layout: Layout) -> str:
    """The key of the problem file from which the layout would know what a measure needs."""
    if need == "light":
        return "projector" if layout.screen_type == "projected" else "front.screen.luminance"
    return KEYS[need]


def having(problem: Problem, measure: Measure, row: str) -> Problem:
    """The problem without the designs in which a measure of steps has no value: those that have a row, of the rows meant,
    level with the one in front."""
    if measure.absent is None:
        return problem
    rows = range(measure.first_row, max(problem.seating.rows) + 1)
    if row == "reference":
        rows = [problem.seating.reference_row]
    elif row.isdigit():
        rows = [int(row)]
    # no end to the least riser where there is none; no riser is higher than the room
    climbed = tuple(Limit("least_riser", str(n), None, problem.room.height) for n in rows)
    return replace(problem, limits=(*problem.limits, *climbed))


def _rows(which: str, measure: Measure, layout: Layout) -> tuple[Row | None, ...]:
    if not measure.exists(layout):
        return ()
    if not measure.per_row:
        return (None,)
    there = measure.rows_of(layout)
    if which in ("all", "worst"):
        return there
    number = layout.reference if which == "reference" else int(which)
    return tuple(r for r in there if r.number == number)
