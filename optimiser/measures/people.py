"""People: rows one can walk along, platforms, steps, headroom, doors and steps apart."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from functools import reduce
from itertools import combinations
from operator import add

import numpy as np

from optimiser.forms import Form, Gate, Greatest, Least, Quotient, affine, fixed
from optimiser.linear import Linear, constant
from optimiser.measures.base import measure
from optimiser.measures.ceilings import Span, clear_height
from optimiser.measures.layout import Body, Layout, Row
from optimiser.measures.ways import aisle_span, at_aisles, standing, way_across, way_beside
from optimiser.physics import sector as door
from optimiser.physics.stairs import CODES as STAIRS

CODES = "local codes decide; a licensed professional should confirm"

THRESHOLD = 0.015
"""Metres by which the floor before a door may differ from its threshold without being a step: 15 mm, Approved
Document M, from memory."""

A_STEP = 0.001
"""Metres of rise from which there is a step."""

REAR_GOING = STAIRS["ibc_aisle_tread_least"].value
"""Metres of tread of the steps behind the last platform: the least that assembly aisles are given."""

PASSABLE = 0.3
"""Metres behind a row that people squeeze through: 12 in between rows, as assembly seating is given."""

ASIDE = 0.001
"""Metres that a platform must end before a door, or begin behind it, not to lie before it: in a wall that it reaches a door
is before it."""

TOUCHES = 1e-6
"""Metres within which a platform reaches the rear wall."""


def platform_front(layout: Layout, row: Row) -> Linear:
    """y of the edge at which the row's platform begins: behind the chairs in front, or before its own feet."""
    return row.feet if row.number == 1 else layout.row_before(row).back


def platform_end(layout: Layout, row: Row) -> Linear:
    """y at which the row's platform ends: at the next row's; the last one as far behind its chairs as the file says,
    else at the rear wall."""
    if row.number == len(layout.rows):
        behind = layout.platform_behind
        return constant(layout.length) if behind is None else row.back + behind
    return platform_front(layout, layout.rows[row.number])


def rear_edge(layout: Layout, design: Mapping[str, float]) -> float | None:
    """y [m] of the edge at which the last platform drops to the room's floor; None where there is none."""
    last = layout.rows[-1]
    if layout.platform_behind is None or float(last.platform.value(design)) <= 0.0:
        return None
    edge = float(platform_end(layout, last).value(design))
    return edge if edge < layout.length - TOUCHES else None


def rear_guard(layout: Layout, design: Mapping[str, float]) -> tuple[float, float] | None:
    """Heights [m] from and to which a guard stands at that edge; None where none is built."""
    floor = float(layout.rows[-1].platform.value(design))
    if layout.guard is None or floor <= layout.guard[1] or rear_edge(layout, design) is None:
        return None
    return floor, floor + layout.guard[0]


def no_guard(layout: Layout, row: Row) -> Gate:
    """A gate that opens where no guard is built at the front of the row's platform: the drop there is not more than the
    file says."""
    return Gate(layout.guard[1] - rise(layout, row))


def any_guard(layout: Layout, design: Mapping[str, float]) -> bool:
    """Whether a guard is built at any platform's edge."""
    if layout.guard is None:
        return False
    front = any(float(no_guard(layout, row).value(design)) < 0.0 for row in layout.rows)
    return front or rear_guard(layout, design) is not None


def rear_steps(layout: Layout, design: Mapping[str, float]) -> tuple[tuple[float, float], ...]:
    """(y, height) [m] of each riser up to the last platform from behind, that at its rear edge first; heights are of
    the tread before the riser. They are cut into the platform beside the chairs, so that the floor behind stays whole,
    and as many as lead up to it from the front: none is then higher than the highest of those."""
    edge = rear_edge(layout, design)
    if edge is None:
        return ()
    rises = ((float(rise(layout, row).value(design)), round(float(row.risers.value(design)))) for row in layout.rows)
    count = sum(risers for high, risers in rises if high > 0.0)
    each = float(layout.rows[-1].platform.value(design)) / count
    return tuple((rear_riser_y(edge, k), (k + 1) * each) for k in range(count))


def rear_riser_y(edge, before):
    """y of the riser that lies so many before the rear edge of the last platform."""
    return edge - before * REAR_GOING


def front_steps(layout: Layout, row: Row, design: Mapping[str, float]) -> tuple[tuple[float, float], ...]:
    """(y, height) [m] of each riser on the way up to a row, that at its platform's edge last; heights are of the tread
    behind the riser. Empty where there is no way up; all at a first row's edge where nothing says where they begin."""
    high = float(rise(layout, row).value(design))
    if high <= 0.0:
        return ()
    risers, edge = round(float(row.risers.value(design))), float(platform_front(layout, row).value(design))
    foot = float(row.platform.value(design)) - high
    going = float(step_going.form(layout, row).value(design)) if row.number > 1 else row.going or 0.0
    return tuple((riser_y(edge, going, risers - k), foot + k * high / risers) for k in range(1, risers + 1))


def riser_y(edge, going, after: float):
    """y of the riser on the way up that so many lie ``after``, before a platform's edge, where the last one is."""
    return edge - going * float(after)


def laid_out(row: Row) -> bool:
    """Whether it is known where the steps up to a row lie: before a first row that only the file's going tells."""
    return row.number > 1 or row.going is not None


def rise(layout: Layout, row: Row) -> Linear:
    """From the level of the row in front (or the floor) up to this row's level."""
    return row.platform if row.number == 1 else row.platform - layout.row_before(row).platform


def level_with_front(layout: Layout, row: Row) -> Linear:
    """Not negative where the row lies level with the one in front: then there is no step."""
    return A_STEP - rise(layout, row)


def behind_the_row_before(layout: Layout, row: Row) -> Linear:
    """y of the backs of the row in front, for the first row of the image."""
    return layout.image_y if row.number == 1 else layout.row_before(row).back


def way_behind(layout: Layout) -> Form:
    """Clear way behind the chairs of the last row, on the level that they stand on."""
    last, wall = layout.rows[-1], constant(layout.length)
    if layout.platform_behind is None:
        return way_across(layout, last, (last.back, wall))
    on_platform = way_across(layout, last, (last.back, platform_end(layout, last)))
    # never more than what lies before the wall: chairs in it leave no way behind them
    return Greatest(
        (
            Least((on_platform, affine(wall - last.back))),
            Least((Gate(-last.platform), way_across(layout, last, (last.back, wall)))),
        )
    )


@measure(quantity="length", per_row=True, first_row=2, formula="y - y of the row in front", source="definition")
def row_pitch(layout: Layout, row: Row) -> Form:
    """From the row in front to this one, eye to eye."""
    return affine(pitch(layout, row))


def pitch(layout: Layout, row: Row) -> Linear:
    """The row pitch, which the steps up to a row share out among them where nothing gives them less."""
    return row.y - layout.row_before(row).y


@measure(
    quantity="length",
    per_row=True,
    formula="feet - back of the row in front (row 1: - image)",
    source="definition; 12 in clear between rows in assembly seating: IBC 1030.13.2, as quoted by a code forum; "
    + CODES,
)
def walkway(layout: Layout, row: Row) -> Form:
    """Clear way before the reclined chairs of this row: to the backs of the row in front, for the first
    row to the image. To a bar one comes from behind: for it, the clear way behind its stools."""
    if row.bar:
        return way_behind(layout)
    return way_across(layout, row, (behind_the_row_before(layout, row), row.feet))


@measure(
    quantity="length",
    formula="room length - back of the last row; where its raised platform ends before the rear wall, the wider of what is left "
    "on the platform and behind it",
    source="definition",
)
def rear_walkway(layout: Layout) -> Form:
    """Clear way behind the reclined chairs of the last row, past whatever stands there."""
    if layout.platform_behind is None:
        return way_behind(layout)
    return Greatest((way_behind(layout), _floor_behind(layout)))


def _floor_behind(layout: Layout, x: Span | None = None) -> Form:
    """Clear way on the room's own floor behind the last platform, along its row's span if no other is given."""
    last = layout.rows[-1]
    y = platform_end(layout, last), constant(layout.length)
    return way_across(layout, last, y, level=constant(0.0), x=x)


@measure(
    quantity="length",
    needs=("platform_behind",),
    formula="room length - rear edge of the last platform; no bound where the last row has none",
    source="a landing of 36 in at the foot of a stair: IRC 2018 R311.7.6, from memory; " + CODES,
)
def rear_landing(layout: Layout) -> Form:
    """Depth of the floor behind the last platform, past whatever stands there: behind the row, and behind its aisles,
    where the steps down from it end."""
    last = layout.rows[-1]
    at_foot = at_aisles(layout, lambda side: _floor_behind(layout, aisle_span(layout, last, side)))
    return Greatest((Gate(-last.platform), Least((_floor_behind(layout), at_foot))))


@measure(
    quantity="length",
    per_row=True,
    formula="row's end to side wall, past what stands between the backs of the row in front (row 1: its own feet) and its own: the "
    "lesser side for two aisles or none, the aisle's side for one; beside the last row as far as its platform's rear edge, where a "
    "raised one ends before the rear wall",
    source="definition; 36 in for a stair: IRC 2018 R311.7.1, as quoted by a county's building department; " + CODES,
)
def aisle_width(layout: Layout, row: Row) -> Form:
    """Clear way beside the row's chairs, past whatever stands in it; beside the steps down from the last platform too."""
    y = platform_front(layout, row), row.back

    def beside(side: str) -> Form:
        way = way_beside(layout, row, side, y)
        if layout.platform_behind is None or row.number < len(layout.rows):
            return way
        down = way_beside(layout, row, side, (row.back, platform_end(layout, row)))
        return Least((way, Greatest((Gate(-row.platform), down))))

    return at_aisles(layout, beside)


def beside_steps(layout: Layout, row: Row, side: str) -> list[Form]:
    """Clear ways over the steps up to a row, beside it, past what stands there: one for each number of risers."""
    edge, level = platform_front(layout, row), Gate(level_with_front(layout, row))
    foot = constant(0.0) if row.number == 1 else layout.row_before(row).platform
    found: list[Form] = []
    for risers in row.flights:
        if risers > 1:
            # of two goings the lesser is built: the steps are as few metres long as either says
            firsts = [riser_y(edge, going, risers - 1) for going in goings(layout, row, risers)]
            ways = [way_beside(layout, row, side, (first, edge), foot) for first in firsts]
            found.append(Greatest((level, *other_flight(row, risers), *ways)))
    return found


@measure(quantity="length", per_row=True, formula="the lesser side beside the row", source="definition")
def row_to_wall(layout: Layout, row: Row) -> Form:
    """From the row's end chair to the nearer side wall."""
    left, right = row.span
    return Least((affine(left), affine(layout.width - right)))


@measure(
    quantity="length",
    per_row=True,
    formula="(platform - platform in front) / number of risers",
    source="at most 7 3/4 in: IRC 2018 R311.7.5.1, as quoted by a county's building department; " + CODES,
)
def riser_step(layout: Layout, row: Row) -> Form:
    """Height of each riser on the way from the level in front up to this row."""
    return Quotient(rise(layout, row), row.risers)


@measure(
    quantity="length",
    per_row=True,
    first_row=2,
    absent=level_with_front,
    formula="the file's, at most row pitch / number of risers, which it is where the file says none; no value where the row lies "
    "level with the one in front",
    source="at least 10 in: IRC 2018 R311.7.5.2, as quoted by a county's building department; " + CODES,
)
def step_going(layout: Layout, row: Row) -> Form:
    """Going of each step up to this row: the file's, or the row pitch shared out evenly."""
    shared = Quotient(pitch(layout, row), row.risers)
    return shared if row.going is None else Least((affine(constant(row.going)), shared))


def goings(layout: Layout, row: Row, risers: int) -> list[Linear]:
    """Between which the going of so many steps up to a row is the lesser: the row pitch shared out and, where there is one,
    the file's. Up to a first row there is the file's alone, or none."""
    own = [] if row.going is None else [constant(row.going)]
    return own if row.number == 1 else [pitch(layout, row) * (1.0 / risers), *own]


@measure(quantity="length", signed=False, per_row=True, formula="a decision", source="definition")
def platform_height(layout: Layout, row: Row) -> Form:
    """Height of the row's platform above the room's floor."""
    return affine(row.platform)


def overhead(layout: Layout, *, x: Span, y: Span, level: Linear, above: Linear) -> Form:
    """Least height above ``level`` of the ceiling and of all that hangs over the rectangle x by y; ``above`` as in
    over_floors()."""
    return over_floors(layout, x=x, floors=[(y, level)], above=above)


def over_floors(layout: Layout, *, x: Span, floors: Sequence[tuple[Span, Linear]], above: Linear) -> Form:
    """Least height over several floors, each a stretch of y and its level, that are as wide as ``x``: of the ceiling and of
    all that hangs over them: boxes, the projector.

    A box hangs over people if its underside lies higher than ``above``. One that begins lower stands in
    their way: nobody gets under it, and the ways beside and before it are measured instead. The projector never stands:
    it hangs over people however low it is."""
    parts: list[Form] = [clear_height(layout.ceiling, x=x, y=y, level=level) for y, level in floors]
    projector = None if layout.lens is None else layout.lens.body
    for body in layout.hanging:
        if isinstance(body.z[0], Linear) or np.any(np.greater(body.z[0], 0.0)):
            stands = () if body is projector else (Gate(above - body.z[0]),)
            beside = Gate(x[0] - body.x[1]), Gate(body.x[0] - x[1])
            under = [(Gate(y[0] - body.y[1]), Gate(body.y[0] - y[1]), affine(body.z[0] - level)) for y, level in floors]
            # what is asked once for all floors is put before them: a model grows with every form
            under_it = under[0] if len(under) == 1 else (Least(tuple(map(Greatest, under))),)
            parts.append(Greatest((*stands, *beside, *under_it)))
    return Least(tuple(parts))


@measure(
    quantity="length",
    per_row=True,
    formula="ceiling or lowest thing over the row's span, from the backs of the row in front (row 1: its own feet) to its own backs - "
    "platform; of a bar behind its stools too",
    source="at least 6 ft 8 in: IRC 2018 R311.7.2, as quoted by a county's building department; 2.0 m: Approved Document K 1.11, as "
    "quoted; " + CODES,
)
def standing_headroom(layout: Layout, row: Row) -> Form:
    """Height to stand in on the row's platform, under the ceiling and all that hangs over it as far aside as the row
    reaches: whatever begins higher than the heads of those who sit there. Of a bar, behind its stools too, where the way to it
    lies."""
    over = overhead(layout, x=row.span, y=(platform_front(layout, row), row.back), level=row.platform, above=row.head)
    return Least((over, rear_headroom.form(layout))) if row.bar else over


@measure(
    quantity="length",
    formula="ceiling or lowest thing over the last row's span, behind its backs - platform, or floor behind it; no bound where less "
    "than 0.3 m are left to pass",
    source="at least 6 ft 8 in: IRC 2018 R311.7.2, as quoted by a county's building department, for stairs; nobody passes where "
    "less than 0.3 m are left: common practice, no source; " + CODES,
)
def rear_headroom(layout: Layout) -> Form:
    """Height to walk in behind the last row's chairs, over the row's span, on the platform and on the floor behind it."""
    last, wall = layout.rows[-1], constant(layout.length)
    shut = Gate(last.back + PASSABLE - wall)
    if layout.platform_behind is None:
        return Greatest((shut, _over_floor(layout, last.back, wall, last.platform)))
    end = platform_end(layout, last)
    on_floor = Greatest((Gate(end - wall), _over_floor(layout, end, wall, constant(0.0))))
    return Greatest((shut, Least((_over_floor(layout, last.back, end, last.platform), on_floor))))


def _over_floor(layout: Layout, start: Linear, end: Linear, level: Linear) -> Form:
    last = layout.rows[-1]
    above = level + (last.head - last.platform)  # what begins lower stands in people's way
    return overhead(layout, x=last.span, y=(start, end), level=level, above=above)


@measure(
    quantity="length",
    per_row=True,
    formula="ceiling or lowest thing over the row's span, from the eyes to the backs - top of the head",
    source="definition",
)
def seated_headroom(layout: Layout, row: Row) -> Form:
    """From the heads of the seated row to the ceiling or the lowest thing above, from the eyes to the
    back of the chairs."""
    return overhead(layout, x=row.span, y=(row.y, row.back), level=row.head, above=row.platform)


@measure(
    quantity="length",
    signed=False,
    per_row=True,
    formula="platform height",
    source="guard asked for over 30 in: IRC 2018 R312.1.1, as quoted by a county's building department; over 600 mm in dwellings: "
    "Approved Document K 1.41; " + CODES,
)
def guard_drop(layout: Layout, row: Row) -> Form:
    """Greatest drop at an open side of the row's platform, to the room's floor."""
    return affine(row.platform)


def other_flight(row: Row, risers: int) -> tuple[Gate, Gate]:
    """Gates that open where the way up to a row has fewer or more ``risers``."""
    return Gate(constant(risers - 1) - row.risers), Gate(row.risers - (risers + 1))


def past_steps(layout: Layout, row: Row, sweep: door.Sector) -> Form:
    """Separation along y of a door's sweep or opening and the steps up to a row that lie before its platform's edge, in
    the aisles; no bound where there are none or the door reaches none."""
    if not laid_out(row):
        return Gate(constant(0.0))
    edge, level = platform_front(layout, row), Gate(-rise(layout, row))
    beside = (row,) if row.number == 1 else (row, layout.row_before(row))

    def on(side: str) -> Form:
        aside = _out_of_the_aisle(sweep, side, beside)
        parts: list[Form] = []
        for risers in row.flights:
            if risers > 1:
                # of two goings the lesser is built, and the first riser is the farther one
                firsts = [riser_y(edge, going, risers - 1) for going in goings(layout, row, risers)]
                apart = _along(sweep, firsts, edge)
                parts.append(Greatest((level, *other_flight(row, risers), *aside, *apart)))
        return Least(tuple(parts)) if parts else Gate(constant(0.0))

    return at_aisles(layout, on)


def past_rear_steps(layout: Layout, sweep: door.Sector) -> Form:
    """Separation along y of a door's sweep or opening and the steps that are cut into the last platform from behind, in its
    aisles; no bound where there are none or the door reaches none."""
    last = layout.rows[-1]
    edge = platform_end(layout, last)

    def on(side: str) -> Form:
        parts: list[Form] = []
        for some in _some_of(layout.rows):
            # as many risers as lead up to all rows that are raised; those up to fewer of them reach less far, and are no less clear.
            # A sum over the rows would be one form, but the solver counts sums on a scale, which is no exact limit
            count = reduce(add, (row.risers for row in some))
            level = (Gate(-rise(layout, row)) for row in some)
            first = rear_riser_y(edge, count - 1.0)
            parts.append(Greatest((*level, *_along(sweep, [first], edge))))
        none = Gate(-last.platform), Gate(edge - layout.length)
        return Greatest((*none, *_out_of_the_aisle(sweep, side, (last,)), Least(tuple(parts))))

    return at_aisles(layout, on)


def _some_of(rows: Sequence[Row]) -> Iterator[tuple[Row, ...]]:
    """Each choice of one or more rows."""
    for many in range(1, len(rows) + 1):
        yield from combinations(rows, many)


def _out_of_the_aisle(sweep: door.Sector, side: str, rows: Sequence[Row]) -> list[Gate]:
    """Gates that open where a door does not reach the aisle at one side of rows."""
    if side == "left":
        left = -door.support(sweep, angle=math.pi)
        return [Gate(left - row.span[0]) for row in rows]
    right = door.support(sweep, angle=0.0)
    return [Gate(row.span[1] - right) for row in rows]


def _along(sweep: door.Sector, firsts: Sequence[Linear], edge: Linear) -> list[Form]:
    """Separations along y of a door from steps that run from the farthest of ``firsts`` to ``edge``."""
    nearest, farthest = -door.support(sweep, angle=-math.pi / 2), door.support(sweep, angle=math.pi / 2)
    return [*(affine(first - farthest) for first in firsts), affine(nearest - edge)]


@measure(
    quantity="length",
    per_row=True,
    formula="along y, from the door's sweep or opening to the platform's edge and to the steps beside the row in front, where they "
    "are on the door's side; 0 where it opens at another level than the platform before it; to the last platform's rear edge "
    "and the steps cut into it there too, where it ends before the wall; no bound where there is no step",
    source="400 mm at a stair in dwellings: Approved Document K 1.22, as quoted; " + CODES,
)
def door_to_step(layout: Layout, row: Row) -> Form:
    """From what a door sweeps, or an outward door's opening, to the steps up to this row, from the front or, to a last
    platform that ends before the rear wall, from behind; 0 where the row's platform
    lies before the door at another level than the door's, for then the step is at its threshold."""
    edge, end = platform_front(layout, row), platform_end(layout, row)
    no_step = Gate(-rise(layout, row))
    parts: list[Form] = []
    for (_, sweep), level in zip(layout.sweeps, layout.thresholds, strict=True):
        nearest = -door.support(sweep, angle=-math.pi / 2)
        farthest = door.support(sweep, angle=math.pi / 2)
        before, behind = affine(edge - farthest), affine(nearest - end)
        parts.append(Greatest((no_step, before, affine(nearest - edge))))
        parts.append(past_steps(layout, row, sweep))
        if layout.platform_behind is not None and row.number == len(layout.rows):
            to_the_wall = Gate(end - layout.length)  # then nothing leads down there
            parts.append(Greatest((Gate(-row.platform), to_the_wall, affine(end - farthest), behind)))
            parts.append(past_rear_steps(layout, sweep))
        flush = Least((Gate(row.platform - level + THRESHOLD), Gate(level + THRESHOLD - row.platform)))
        elsewhere = Gate(edge - farthest - ASIDE), Gate(nearest - end - ASIDE)
        parts.append(Greatest((flush, Gate(-row.platform), *elsewhere, fixed(0.0))))
    return Least(tuple(parts)) if parts else Gate(constant(0.0))


@measure(quantity="count", formula="sum of the rows' seats", source="definition")
def seat_count(layout: Layout) -> Form:
    """Number of seats in the room, at a bar and for people who bring their own chair among them."""
    total = constant(0.0)
    for row in layout.rows:
        total = total + row.seats + float(len(row.places))
    return affine(total)


def row_separation(row: Row, body: Body) -> Form:
    """Greatest separation along x, y or z between the row's seated people with their chairs and a box."""
    left, right = row.span
    return Greatest(
        (
            affine(left - body.x[1]),
            affine(body.x[0] - right),
            affine(row.feet - body.y[1]),
            affine(body.y[0] - row.back),
            affine(body.z[0] - row.head),
            affine(row.platform - body.z[1]),
        )
    )


@measure(quantity="length", per_row=True, formula="greatest separation along x, y or z", source="definition")
def row_obstruction_clearance(layout: Layout, row: Row) -> Form:
    """Least distance along an axis between the row's seated people with their chairs and any obstruction, the
    projector, or a loudspeaker that no wall holds, where the file gives its depth."""
    projector = [] if layout.lens is None else [row_separation(row, layout.lens.body)]
    parts = projector + [Greatest((*absent, row_separation(row, body))) for body, absent in standing(layout)]
    return Least(tuple(parts)) if parts else Gate(constant(0.0))
