"""From what a file says about seating to the rows of a layout: chairs, a bar, a wheelchair's place."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from optimiser.linear import Linear, constant, greater
from optimiser.measures.layout import Row
from optimiser.problem.model import Bar, Chair, Decision, Fixed, Problem, Range, Seating

Read = Callable[[str], Linear]

LENGTH, PLATFORM, WHOLE = "length", "platform", "whole"
"""In which steps a decision comes: the grid's, those of platforms, or whole things."""


def is_bar(seating: Seating, number: int, count: int) -> bool:
    """Whether this row of so many is the bar: the last one, where there is one."""
    return seating.bar is not None and number == count and count > 1


def wheelchair_row(seating: Seating, count: int) -> int | None:
    """Number of the row of so many that has places for wheelchairs: the file's, or the last row of chairs."""
    if seating.wheelchair is None:
        return None
    return min(seating.wheelchair.row, count - 1 if is_bar(seating, count, count) else count)


def row_decisions(problem: Problem, count: int) -> Iterator[tuple[str, Decision, str]]:
    """Every decision of so many rows, with the steps that it comes in."""
    seating, length = problem.seating, problem.room.length
    place, steps = dict(seating.place), seating.platforms
    if seating.centre is not None:
        yield "seating.centre", seating.centre, LENGTH
    if seating.stagger != Fixed(0.0) and count > 1:
        yield "seating.stagger", seating.stagger, WHOLE
    if steps.behind is not None:
        yield "platform.behind", steps.behind, LENGTH
    if chooses_side(problem, count):
        yield "aisle.side", Range(0.0, 1.0), WHOLE
    for n in range(1, count + 1):
        own = f"row{n}."
        yield own + "y", place.get(own + "y", Range(0.0, length)), LENGTH
        height: Decision = steps.first if n == 1 else Range(0.0, steps.to)
        yield own + "platform", place.get(own + "platform", height), PLATFORM
        usual = seating.bar.seats if is_bar(seating, n, count) and seating.bar.seats is not None else seating.seats
        yield own + "seats", place.get(own + "seats", usual), WHOLE
        level = place.get(own + "platform", height) == height == Fixed(0.0)
        risers: Decision = Fixed(1.0) if level or steps.risers == 1 else Range(1.0, float(steps.risers))
        yield own + "risers", place.get(own + "risers", risers), WHOLE


def chooses_side(problem: Problem, count: int) -> bool:
    """Whether it matters to which side of the rows the one aisle lies: where the sides differ, from row
    to row or along a row."""
    seating, room = problem.seating, problem.room
    if seating.aisle.sides != "one":
        return False
    staggered = seating.stagger != Fixed(0.0) and count > 1
    # steps lie in the aisle: not before a door or an opening beside it
    ways = (*room.doors, *room.ways)
    steps = count > 1 and seating.platforms.to > 0.0 and any(way.wall in ("left", "right") for way in ways)
    return bool(staggered or steps or room.obstructions or room.ceiling_across or seating.wheelchair is not None)


def layout_rows(
    problem: Problem, count: int, domains: Mapping[str, object], read: Read, image: Linear
) -> tuple[Row, ...]:
    """The rows, from the front; ``image`` is the image's centre line."""
    seating = problem.seating
    centre = read("seating.centre") if "seating.centre" in domains else image
    if "seating.stagger" in domains:
        shift = read("seating.stagger") * seating.chair.spacing
    else:
        shift = constant(0.0)
    return tuple(
        _row(seating, n, count, domains, read, centre + shift if n % 2 == 0 else centre) for n in range(1, count + 1)
    )


def _counts(domain) -> tuple[int, ...]:
    """The whole numbers that a domain has, ascending."""
    low, high = domain.ends
    return tuple(sorted(round(v) for v in getattr(domain, "values", range(round(low), round(high) + 1))))


def _row(seating: Seating, n: int, count: int, domains: Mapping, read: Read, centre: Linear) -> Row:
    seat: Chair | Bar = seating.bar if is_bar(seating, n, count) else seating.chair
    y, platform, seats = read(f"row{n}.y"), read(f"row{n}.platform"), read(f"row{n}.seats")
    eye = platform + seat.eye_height
    width, places = seats * seat.spacing + seat.ends, ()
    ahead, upright = seat.ahead, seat.ahead_upright
    middle, side = centre, 0.0
    wheelchair = seating.wheelchair
    if wheelchair is not None and n == wheelchair_row(seating, count):
        taken = wheelchair.places * wheelchair.width
        width = width + taken
        floor = wheelchair.depth - seat.eye_to_back - seat.travel
        ahead, upright = greater(ahead, floor), greater(upright, floor)
        side = -1.0 if wheelchair.side == "left" else 1.0
        middle = centre - side * 0.5 * taken
        end = centre + width * (0.5 * side)
        places = tuple(end - side * (k + 0.5) * wheelchair.width for k in range(wheelchair.places))
    half = (seats - 1.0) * (0.5 * seat.spacing)
    left, right = middle - half, middle + half
    if places:
        left, right = (places[0], right) if side < 0.0 else (left, places[0])
    return Row(
        number=n,
        y=y,
        platform=platform,
        seats=seats,
        counts=_counts(domains[f"row{n}.seats"]),
        risers=read(f"row{n}.risers"),
        flights=_counts(domains[f"row{n}.risers"]),
        going=seating.platforms.going,
        centre=centre,
        eye=eye,
        head=eye + seat.head_above_eye,
        feet=y - ahead,
        back=y + (seat.eye_to_back + seat.travel),
        upright_feet=y - upright,
        width=width,
        pitch=seat.spacing,
        middle=middle,
        places=places,
        outermost=(left, right),
        bar=is_bar(seating, n, count),
    )
