"""The shape of the room: what doors, windows, slopes and corners leave for rows, baffle and loudspeakers."""

from __future__ import annotations

import itertools
import math
from collections.abc import Hashable

from optimiser.forms import Form, Gate, Greatest, Least, affine
from optimiser.linear import Linear, constant
from optimiser.measures.base import measure
from optimiser.measures.beam import beam_separation, under_ceiling
from optimiser.measures.ceilings import Span, clear_height
from optimiser.measures.front import (
    baffle_edges,
    cabinet_middle,
    corner_clearance,
    frame_depth,
    free_cabinets,
    front_separation,
    loudspeakers,
    walled,
)
from optimiser.measures.layout import Body, Layout, Row
from optimiser.measures.people import (
    CODES,
    goings,
    other_flight,
    over_floors,
    overhead,
    past_steps,
    platform_end,
    platform_front,
    rise,
    riser_y,
    row_separation,
)
from optimiser.measures.projection import PROJECTED
from optimiser.measures.safety import no_step
from optimiser.measures.ways import aisle_span, at_aisles, out_of_the_way
from optimiser.physics import sector as door

QUARTER = 0.5 * math.pi
ABREAST = 1e-4
"""Metres within which two rows reach equally far aside, or two goings are one."""

SIDES = {"side": ("nearer", "left", "right")}


def unbounded() -> Form:
    """The form of a measure that nothing bounds here."""
    return Gate(constant(0.0))


def least(parts: list[Form]) -> Form:
    """The least of the parts; no bound where there are none."""
    return Least(tuple(parts)) if parts else unbounded()


# --- doors ------------------------------------------------------------------------------------


@measure(
    quantity="length",
    per_row=True,
    formula="signed distance from the swept sector to the row's rectangle",
    source="plane geometry of a circle's sector and a rectangle, exact; negative: how deep the leaf would strike",
)
def door_row_clearance(layout: Layout, row: Row) -> Form:
    """Least distance between what a door's leaf sweeps (or an outward door's opening) and the row's
    chairs, reclined."""
    return least([rectangle_clearance(sweep, row.span, (row.feet, row.back)) for _, sweep in layout.sweeps])


def rectangle_clearance(sweep: door.Sector, x: tuple[Linear, Linear], y: tuple[Linear, Linear]) -> Form:
    """Signed distance from what a door sweeps to a rectangle seen from above."""
    return Greatest(
        (
            corner_clearance(sweep, x[0], y[0], 0.0, QUARTER),
            corner_clearance(sweep, x[1], y[0], QUARTER, 2.0 * QUARTER),
            corner_clearance(sweep, x[1], y[1], -2.0 * QUARTER, -QUARTER),
            corner_clearance(sweep, x[0], y[1], -QUARTER, 0.0),
        )
    )


@measure(
    quantity="length",
    per_row=True,
    formula="greater separation along y, of an inward door's sweep and the platform, with the steps up to it; no bound where the "
    "platform lies no higher than the door's level",
    source="definition; the last platform runs to the rear wall, or as far behind its chairs as the file says",
)
def door_platform_clearance(layout: Layout, row: Row) -> Form:
    """How far an inward door's leaf stays clear of the row's platform and its steps, before or behind it. No bound where the
    platform lies at the level that the door opens at, or below: the leaf opens above it."""
    front, end = platform_front(layout, row), platform_end(layout, row)
    parts: list[Form] = []
    for (_, sweep), level in zip(layout.sweeps, layout.thresholds, strict=True):
        if sweep.sweep == 0.0:
            continue
        nearest, farthest = -door.support(sweep, angle=-QUARTER), door.support(sweep, angle=QUARTER)
        above = Gate(level - row.platform)
        parts.append(Greatest((above, affine(front - farthest), affine(nearest - end))))
        parts.append(Greatest((above, past_steps(layout, row, sweep))))
    return least(parts)


# --- windows and openings ---------------------------------------------------------------------


@measure(
    quantity="length",
    formula="greatest separation along x, y or z",
    source="definition; the floor to keep clear before each is the file's, common practice where it says none",
)
def opening_clearance(layout: Layout) -> Form:
    """Least distance along an axis between the baffle wall with its frame, or loudspeakers that no wall holds, and what
    a window, an opening or an outward door needs clear before it."""
    parts = [front_separation(layout, body, behind=False) for body in layout.kept]
    if free_cabinets(layout):
        parts += [
            Greatest((walled(layout), cabinet_separation(layout, x, body)))
            for x in loudspeakers(layout).values()
            for body in layout.kept
        ]
    return least(parts)


@measure(
    quantity="length",
    per_row=True,
    formula="greatest separation along x, y or z",
    source="definition; the floor to keep clear before each is the file's, common practice where it says none",
)
def row_opening_clearance(layout: Layout, row: Row) -> Form:
    """Least distance along an axis between the row's seated people with their chairs and what a window,
    an opening or an outward door needs clear before it."""
    return least([row_separation(row, body) for body in layout.kept])


# --- the aisle --------------------------------------------------------------------------------


@measure(
    quantity="length",
    per_row=True,
    formula="ceiling or lowest thing over the aisle, from the backs of the row in front (row 1: its own feet) to its own backs - "
    "platform; over the steps up to it - tread; past what stands in it, over the way between that and the wall",
    source="at least 6 ft 8 in: IRC 2018 R311.7.2, as quoted by a county's building department; 2.0 m: Approved "
    "Document K 1.11, as quoted; " + CODES,
)
def aisle_headroom(layout: Layout, row: Row) -> Form:
    """Height to walk in beside the row and over the steps up to it, over the width that the file asks of an aisle; no
    bound without an aisle."""
    if layout.aisle_sides == "none":
        return unbounded()
    aisle = layout.aisle_sides, layout.aisle_width, layout.aisle_side
    of = aisle, layout.rows, layout.ceiling, layout.bodies, layout.lens and layout.lens.body, row.number
    try:
        known = _known.get(of)
    except TypeError:  # many cases at once have no hash
        return _aisle_headroom(layout, row)
    if known is None:
        known = _known[of] = _aisle_headroom(layout, row)
        if len(_known) > KEPT:
            del _known[next(iter(_known))]
    return known


KEPT = 48
"""Forms of headroom over aisles and steps that are kept: with flights of many risers each takes long to make, and what
image there is changes none of them."""

_known: dict[Hashable, Form] = {}


def _aisle_headroom(layout: Layout, row: Row) -> Form:
    y = platform_front(layout, row), row.back

    def beside(side: str) -> Form:
        x = aisle_span(layout, row, side)
        over = overhead(layout, x=x, y=y, level=row.platform, above=row.head)
        return least([over, *over_treads(layout, row, side), *_past_boxes(layout, row, side, y)])

    return at_aisles(layout, beside)


def _past_boxes(layout: Layout, row: Row, side: str, y: Span) -> list[Form]:
    """Height over the ways past what stands in the aisle, where they lead between it and the wall."""
    (left, right), width = row.span, layout.aisle_width
    found: list[Form] = []
    for body in layout.bodies:
        if side == "left":
            elsewhere = left - body.x[1] - width, body.x[0] - left
            x = body.x[0] - width, body.x[0]
        else:
            elsewhere = body.x[0] - right - width, right - body.x[1]
            x = body.x[1], body.x[1] + width
        way = (constant(x[0]), constant(x[1])), (constant(body.y[0]), constant(body.y[1]))
        over = overhead(layout, x=way[0], y=way[1], level=row.platform, above=row.head)
        found.append(Greatest((*out_of_the_way(row.platform, body, y), *map(Gate, elsewhere), over)))
    return found


def over_treads(layout: Layout, row: Row, side: str) -> list[Form]:
    """Height over each tread of the steps up to a row, which lie beside the row in front, too; none where nothing says
    where they begin."""
    edge, up = platform_front(layout, row), rise(layout, row)
    # the heads of people on the level from which the steps lead up: what begins lower stands in their way
    if row.number == 1:
        outer, level, above = [((), aisle_span(layout, row, side))], constant(0.0), row.head - row.platform
    else:
        before = layout.row_before(row)
        outer, level, above = _outer_aisles(layout, row, before, side), before.platform, before.head
    found: list[Form] = []
    for risers in row.flights:
        ways: list[Form] = []
        for (other, going), (shut, x) in itertools.product(_goings(layout, row, risers), outer):
            floors = [
                (
                    (riser_y(edge, going, risers - tread), riser_y(edge, going, risers - tread - 1)),
                    level + up * (tread / risers),
                )
                for tread in range(1, risers)
            ]
            if floors:
                over = over_floors(layout, x=x, floors=floors, above=above)
                ways.append(Greatest((*other, *shut, over)) if other or shut else over)
        if ways:
            found.append(Greatest((no_step(layout, row), *other_flight(row, risers), least(ways))))
    return found


def _goings(layout: Layout, row: Row, risers: int) -> list[tuple[tuple[Gate, ...], Linear]]:
    """What the going of so many steps may be; with the gates that open where it is the other."""
    found = goings(layout, row, risers)
    if len(found) < 2:
        return [((), one) for one in found]
    shared, own = found
    return [((Gate(own - shared),), own), ((Gate(shared - own - ABREAST),), shared)]


def _outer_aisles(layout: Layout, one: Row, other: Row, side: str) -> list[tuple[tuple[Gate, ...], Span]]:
    """x of the aisle beside two rows, of the one that reaches farther to a side; with the gates that open where it is the other."""
    left = side == "left"
    farther = other.span[0] - one.span[0] if left else one.span[1] - other.span[1]
    spans = aisle_span(layout, one, side), aisle_span(layout, other, side)
    if not farther.terms:
        return [((), spans[0 if farther.constant >= 0.0 else 1])]
    return [((Gate(-farther - ABREAST),), spans[0]), ((Gate(farther),), spans[1])]


# --- loudspeakers and baffle ------------------------------------------------------------------


@measure(
    quantity="length",
    options=SIDES,
    formula="x of the left loudspeaker's middle, room width - x of the right one's",
    source="definition; at least 1 m: ITU-R BS.1116, from memory, unverified",
)
def loudspeaker_wall_distance(layout: Layout, side: str) -> Form:
    """From the middle of the left or right front loudspeaker to its side wall."""
    at = loudspeakers(layout)
    left, right = affine(at["left"]), affine(layout.width - at["right"])
    return {"left": left, "right": right, "nearer": Least((left, right))}[side]


def cabinet_separation(layout: Layout, x: Linear, body: Body) -> Form:
    """Greatest separation [m] along x, y or z of a cabinet of known depth, its middle at ``x``, from a body."""
    speakers, middle = layout.speakers, cabinet_middle(layout)
    half, up = 0.5 * speakers.width, 0.5 * speakers.height
    before = affine(body.y[0] - layout.baffle_depth)
    if speakers.place != "behind":  # where no baffle wall holds them they stand before the front wall
        free = Greatest((affine(body.y[0] - speakers.depth), affine(constant(-body.y[1]))))
        held = Least((walled(layout), before))
        before = Greatest((held, Least((Gate(-layout.baffle_depth), free))))
    return Greatest(
        (
            affine(x - half - body.x[1]),
            affine(body.x[0] - half - x),
            affine(layout.baffle_depth - speakers.depth - body.y[1]),
            before,
            affine(body.z[0] - up - middle),
            affine(middle - up - body.z[1]),
        )
    )


@measure(
    quantity="length",
    formula="greatest separation along x, y or z, over all cabinets",
    source="definition; cabinets are flush in the baffle's face, or stand before the front wall where there is no baffle "
    "and they are not behind the image, their middles at the height of their axes; at the image's middle where that is not "
    "given behind it",
)
def loudspeaker_obstruction_clearance(layout: Layout) -> Form:
    """Least distance along an axis between a front loudspeaker's cabinet and any obstruction; no bound
    where the file gives no depth of the cabinets."""
    if layout.speakers.depth is None:
        return unbounded()
    at = loudspeakers(layout).values()
    return least([cabinet_separation(layout, x, body) for x in at for body in layout.bodies])


def _in_a_baffle(layout: Layout, form: Form) -> Form:
    """A form that bounds nothing where the baffle has no depth: there is none then, and cabinets are in none."""
    return Greatest((Gate(-layout.baffle_depth), form))


@measure(
    quantity="length",
    formula="the lesser of z - height / 2 and lowest ceiling over a cabinet - z - height / 2, over all cabinets; no bound under the "
    "image, nor behind it where the file does not give z and depth",
    source="definition; cabinets lie from the baffle's face back by their depth, or stand before the front wall where there is "
    "no baffle; beside the image along the room as its frame, where the file gives no depth",
)
def cabinet_room(layout: Layout) -> Form:
    """Room that the front loudspeakers' cabinets leave to the floor, and to the ceiling where that is lowest over them."""
    speakers = layout.speakers
    if speakers.place == "under" or (speakers.place == "behind" and None in (speakers.depth, speakers.middle)):
        return unbounded()
    middle, half, up = cabinet_middle(layout), 0.5 * speakers.width, 0.5 * speakers.height

    def under(y: Span) -> list[Form]:
        spans = [(x - half, x + half) for x in loudspeakers(layout).values()]
        return [clear_height(layout.ceiling, x=x, y=y, level=middle + up) for x in spans]

    parts: list[Form] = [affine(middle - up)]
    if speakers.depth is None:
        return least([*parts, *under(frame_depth(layout))])
    wall = layout.baffle_depth - speakers.depth, layout.baffle_depth
    parts += [_in_a_baffle(layout, one) for one in under(wall)]
    if free_cabinets(layout):
        parts += [Greatest((walled(layout), one)) for one in under((constant(0.0), speakers.depth))]
    return least(parts)


@measure(quantity="length", formula="baffle depth - depth of a cabinet", source="definition")
def loudspeaker_depth_room(layout: Layout) -> Form:
    """Depth left between a front loudspeaker's cabinet, flush in the baffle's face, and the front wall;
    no bound where the file gives no depth of the cabinets, or there is no baffle."""
    if layout.speakers.depth is None:
        return unbounded()
    return _in_a_baffle(layout, affine(layout.baffle_depth - layout.speakers.depth))


@measure(
    quantity="length",
    formula="loudspeaker's outer side - baffle's edge, the lesser of left and right",
    source="definition",
)
def loudspeaker_to_edge(layout: Layout) -> Form:
    """From the outer side of the left or right cabinet to the baffle wall's edge beside it; no bound
    where the file gives no depth of the cabinets, or there is no baffle."""
    if layout.speakers.depth is None:
        return unbounded()
    at, (left, right) = loudspeakers(layout), baffle_edges(layout)
    half = 0.5 * layout.speakers.width
    return _in_a_baffle(layout, Least((affine(at["left"] - half - left), affine(right - at["right"] - half))))


@measure(
    quantity="length",
    options={"side": ("left", "right")},
    formula="x of the left edge; room width - x of the right edge",
    source="definition",
)
def baffle_side_room(layout: Layout, side: str) -> Form:
    """From the baffle wall's left or right edge to the side wall beside it."""
    left, right = baffle_edges(layout)
    return affine(left) if side == "left" else affine(layout.width - right)


# --- light ------------------------------------------------------------------------------------

PROJECTOR_SIZE = 0.3
"""Metres of length and width that a projector takes around its lens, where the ceiling may slope."""


@measure(
    quantity="length",
    screens=PROJECTED,
    needs=("lens",),
    formula="greatest separation over, under, beside, before or behind the light, or beyond its long edges, of a box that reaches "
    "behind the lens at most that of the lens; least below the ceiling's corners",
    source="plane geometry; the light is a pyramid from the image to the lens, on the image's centre line",
)
def light_path_obstruction_clearance(layout: Layout) -> Form:
    """Least distance between the light on its way and any obstruction or corner of the ceiling."""
    return least([beam_separation(layout, body) for body in layout.bodies] + under_ceiling(layout))


@measure(
    quantity="length",
    screens=PROJECTED,
    needs=("lens",),
    formula="lowest ceiling within 150 mm of the lens, along and across - z of the lens",
    source="definition; the projector's own height above its lens is not in the file",
)
def lens_to_ceiling(layout: Layout) -> Form:
    """From the lens up to the ceiling, where that is lowest over the projector."""
    half, lens = 0.5 * PROJECTOR_SIZE, layout.lens
    x = layout.image_centre - half, layout.image_centre + half
    return clear_height(layout.ceiling, x=x, y=(lens.y - half, lens.y + half), level=lens.z)
