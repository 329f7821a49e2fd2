"""The front of the room: image, frame, baffle wall, and the doors that swing beside it."""

from __future__ import annotations

import math

import numpy as np

from optimiser.forms import LATCH, Form, Gate, Greatest, Least, Link, Linked, Quotient, absolute, affine
from optimiser.linear import Linear, constant
from optimiser.measures.base import measure
from optimiser.measures.ceilings import clear_height
from optimiser.measures.layout import Body, Layout
from optimiser.physics import sector as door
from optimiser.physics import viewing

FRAME_DEPTH = 0.02
"""Metres that the frame stands out before the image."""

UNDER_OR_OVER = ("under", "over")
"""Places of front loudspeakers in which left, middle and right ones stand side by side."""


def front_top(layout: Layout) -> Linear:
    """Height of the frame's upper edge, or of loudspeakers over it."""
    top = layout.image_bottom + layout.image_height + layout.bezel
    speakers = layout.speakers
    return top + (speakers.gap + speakers.height) if speakers.place == "over" else top


def baffle_edges(layout: Layout) -> tuple[Linear, Linear]:
    """x of the baffle wall's left and right edge."""
    return layout.baffle_left, layout.baffle_right


def frame_depth(layout: Layout) -> tuple[Linear, Linear]:
    """y from the baffle's face to the front of the frame, which has some depth also where the image lies in
    the baffle's face."""
    return layout.baffle_depth, layout.image_y + FRAME_DEPTH


def frame_edges(layout: Layout) -> tuple[Linear, Linear]:
    """x of the frame's left and right edge."""
    half = layout.image_width * 0.5 + layout.bezel
    return layout.image_centre - half, layout.image_centre + half


@measure(quantity="length", signed=False, formula="W", source="a decision")
def image_width(layout: Layout) -> Form:
    """Width of the image."""
    return affine(layout.image_width)


@measure(quantity="length", signed=False, formula="H = W / aspect", source="definition of the aspect ratio")
def image_height(layout: Layout) -> Form:
    """Height of the image."""
    return affine(layout.image_height)


@measure(
    quantity="length",
    signed=False,
    formula="W sqrt(1 + 1/aspect^2)",
    source="Pythagoras; the public's name for a screen's size",
)
def image_diagonal(layout: Layout) -> Form:
    """Diagonal of the image."""
    return affine(layout.image_width * float(viewing.diagonal_of_width(width=1.0, aspect=layout.aspect)))


@measure(quantity="area", formula="W H", source="definition")
def image_area(layout: Layout) -> Form:
    """Area of the image."""
    link = Link(
        lambda w: viewing.area_of_width(width=w, aspect=layout.aspect),
        lambda a: viewing.width_of_area(area=a, aspect=layout.aspect),
        low=0.0,
    )
    return Linked(affine(layout.image_width), link)


@measure(
    quantity="length",
    formula="a decision; right edge - left edge; or W + 2 bezel + 2 margin, beside + 2 (gap + cabinet)",
    source="definition",
)
def baffle_width(layout: Layout) -> Form:
    """Width of the baffle wall."""
    return affine(layout.baffle_width)


@measure(
    quantity="length",
    formula="frame's edge - baffle's edge - loudspeakers beside, the lesser of left and right",
    source="definition",
)
def baffle_margin(layout: Layout) -> Form:
    """How much of the baffle wall shows beyond the frame (and loudspeakers beside it), at the side where
    it is less."""
    (left, right), (frame_left, frame_right) = baffle_edges(layout), frame_edges(layout)
    aside = layout.speakers.aside
    margins = frame_left - left - aside, right - frame_right - aside
    if layout.baffle_centred:
        return affine(margins[0])
    return Least((affine(margins[0]), affine(margins[1])))


@measure(quantity="length", formula="the lesser of left edge and room width - right edge", source="definition")
def side_room(layout: Layout) -> Form:
    """From the baffle wall's nearer edge to the side wall."""
    left, right = baffle_edges(layout)
    return Least((affine(left), affine(layout.width - right)))


@measure(
    quantity="length",
    formula="lowest ceiling over the frame, from the baffle's face to 20 mm before the image - bottom - H - bezel",
    source="definition",
)
def frame_to_ceiling(layout: Layout) -> Form:
    """From the top of the frame to the ceiling, where that is lowest over the frame and, along the room, from the baffle's face
    to the frame's front."""
    top = layout.image_bottom + layout.image_height + layout.bezel
    return clear_height(layout.ceiling, x=frame_edges(layout), y=frame_depth(layout), level=top)


@measure(quantity="length", formula="bottom - bezel", source="definition")
def frame_to_floor(layout: Layout) -> Form:
    """From the floor to the lower edge of the frame."""
    return affine(layout.image_bottom - layout.bezel)


@measure(
    quantity="length",
    formula="bottom - bezel - gap - height under the image; to the ceiling over it; behind it the lesser of z - bottom and "
    "top - z, where the file gives z, and of (W - apart) / 2, where it gives apart; else no bound",
    source="definition",
)
def loudspeaker_room(layout: Layout) -> Form:
    """Room left to floor or ceiling by front loudspeakers under or over the image; behind it, from their axes to its
    nearest edge, as far as the file lets them be anywhere behind it."""
    speakers = layout.speakers
    if speakers.place == "behind":
        inside = [layout.image_width * 0.5 - speakers.offset] if speakers.usual is not None else []
        if speakers.middle is not None:
            over = speakers.middle - layout.image_bottom
            inside += [over, layout.image_height - over]
        return Least(tuple(map(affine, inside))) if inside else Gate(constant(0.0))
    if speakers.place == "under":
        return affine(layout.image_bottom - layout.bezel - (speakers.gap + speakers.height))
    if speakers.place == "over":
        outer = speakers.offset + 0.5 * speakers.width
        span = layout.image_centre - outer, layout.image_centre + outer
        return clear_height(layout.ceiling, x=span, y=frame_depth(layout), level=front_top(layout))
    return Gate(constant(0.0))


@measure(
    quantity="length",
    formula="half the way from left to right - width of a cabinet; outer cabinet's side to the side wall; no bound beside, nor "
    "behind where the file gives neither apart nor depth",
    source="definition",
)
def loudspeaker_spacing(layout: Layout) -> Form:
    """Least distance across the room from one front loudspeaker under or over the image, or behind it where the file
    decides how far apart they are, or gives their depth, to the next, and from the outer ones to the side walls."""
    speakers, centre = layout.speakers, layout.image_centre
    sized = speakers.place == "behind" and (speakers.usual is not None or speakers.depth is not None)
    if speakers.place not in UNDER_OR_OVER and not sized:
        return Gate(constant(0.0))
    outer = speakers.offset + 0.5 * speakers.width
    return Least(
        (affine(speakers.offset - speakers.width), affine(centre - outer), affine(layout.width - centre - outer))
    )


@measure(quantity="length", signed=False, formula="|image centre - room width / 2|", source="definition")
def off_centre(layout: Layout) -> Form:
    """How far the image's centre lies from the room's centre line."""
    return absolute(layout.image_centre - 0.5 * layout.width)


def corner_clearance(sweep: door.Sector, x: Linear, y: Linear, first: float, last: float) -> Form:
    """Signed distance from what a door sweeps to the quadrant behind the corner (x, y).

    It is the greatest, over outward normals n between the angles ``first`` and ``last``, of
    n . corner - support(n). Where the support point stays the same (a hinge, a leaf's edge, the
    centre of the arc) that is a distance to a point, less the radius; it counts where the corner
    lies in that range of directions, and at the ends of the range the normal itself decides.
    """
    parts: list[Form] = []
    for piece in door.support_pieces(sweep, first=first, last=last):
        cx, cy = piece.centre
        dx, dy = x - cx, y - cy
        ends = [(math.cos(a), math.sin(a)) for a in (piece.first, piece.last)]
        for nx, ny in ends:
            parts.append(affine(dx * nx + dy * ny - piece.radius))
        (ax, ay), (bx, by) = ends
        radius = piece.radius
        away = Link(lambda q, r=radius: np.sqrt(q) - r, lambda t, r=radius: (t + r) ** 2, low=-radius)
        parts.append(
            Least((Gate(dy * ax - dx * ay), Gate(dx * by - dy * bx), Quotient(dx * dx + dy * dy, constant(1.0), away)))
        )
    return Greatest(tuple(parts))


def has_baffle(layout: Layout) -> bool:
    """Whether the front has a baffle wall at all, and not the frame alone."""
    return not (layout.baffle_depth.is_constant and layout.baffle_depth.constant == 0.0)


def front_plans(layout: Layout) -> list[tuple[Linear, Linear, Linear]]:
    """What stands at the front wall, seen from above: x of the left and right edge, and y of the face, of the baffle
    wall and of the frame before it; without a baffle wall, of the frame with loudspeakers beside it."""
    face = layout.image_y + FRAME_DEPTH
    if not has_baffle(layout):
        return [(*baffle_edges(layout), face)]
    return [(*baffle_edges(layout), layout.baffle_depth), (*frame_edges(layout), face)]


def frame_alone(layout: Layout) -> Gate | None:
    """Shut where loudspeakers beside the image hang with its frame, as the baffle wall may have no depth; None
    where there is always a wall that holds them, or never (then they are counted with the frame)."""
    return walled(layout) if layout.speakers.place == "beside" and not layout.baffle_depth.is_constant else None


def walled(layout: Layout) -> Gate:
    """Shut where there is no baffle wall to hold loudspeakers."""
    return Gate(layout.baffle_depth - 3.0 * LATCH)


def frame_alone_plan(layout: Layout) -> tuple[Linear, Linear, Linear]:
    """What loudspeakers beside the image take with the frame between them, as front_plans() has it where there is never
    a baffle wall."""
    frame, speakers = frame_edges(layout), layout.speakers
    return frame[0] - speakers.aside, frame[1] + speakers.aside, layout.image_y + FRAME_DEPTH


def loudspeakers(layout: Layout) -> dict[str, Linear]:
    """x of the front loudspeakers' middles; no centre one where all stand beside the image."""
    centre, offset = layout.image_centre, layout.speakers.offset
    found = {"left": centre - offset, "centre": centre, "right": centre + offset}
    if layout.speakers.place == "beside":
        del found["centre"]
    return found


def cabinet_middle(layout: Layout) -> Linear:
    """Height of the cabinets' middles: that of their axes; the image's, where the file says nothing of those behind it."""
    middle = layout.speakers.middle
    return layout.image_bottom + layout.image_height * 0.5 if middle is None else middle


def free_cabinets(layout: Layout) -> list[Body]:
    """Cabinets of known depth, not behind the image, as they stand before the front wall where walled() is shut: they may
    stand out beyond the frame. None where there is always a baffle wall that holds them."""
    speakers, always = layout.speakers, layout.baffle_depth.is_constant and layout.baffle_depth.constant > 0.0
    if speakers.place == "behind" or speakers.depth is None or always:
        return []
    aside, up, middle = 0.5 * speakers.width, 0.5 * speakers.height, cabinet_middle(layout)
    return [
        Body(f"{name} loudspeaker", (x - aside, x + aside), (0.0, speakers.depth), (middle - up, middle + up))
        for name, x in loudspeakers(layout).items()
    ]


@measure(
    quantity="length",
    formula="signed distance from the swept sector to the corners of baffle wall and frame",
    source="plane geometry of a circle's sector and a rectangle, exact; negative: how deep the leaf would strike",
)
def door_clearance(layout: Layout) -> Form:
    """Least distance between what a door's leaf sweeps (or an outward door's opening) and the baffle wall with its
    depth, the frame that stands before it by the gap and the frame's own 20 mm, or loudspeakers that no wall holds."""
    held: Gate | None = frame_alone(layout)
    plans = [(plan, None) for plan in front_plans(layout)]
    plans += [(frame_alone_plan(layout), held)] if held is not None else []
    plans += [((*body.x, body.y[1]), walled(layout)) for body in free_cabinets(layout)]
    parts = [
        Greatest(
            (
                corner_clearance(sweep, left, face, -math.pi / 2, 0.0),
                corner_clearance(sweep, right, face, -math.pi, -math.pi / 2),
                *([] if gate is None else [gate]),
            )
        )
        for _, sweep in layout.sweeps
        for (left, right, face), gate in plans
    ]
    return Least(tuple(parts)) if parts else Gate(constant(0.0))


def front_separation(layout: Layout, body: Body, *, behind: bool) -> Form:
    """Greatest separation along x, y or z between a box and what stands at the front wall, the lesser of the baffle
    wall's, which stands on the floor, and the frame's, which hangs; with ``behind``, a box that lies wholly behind
    the baffle's face is clear of it too."""

    def apart(left: Linear, right: Linear, face: Linear) -> list[Form]:
        gaps = left - body.x[1], body.x[0] - right, body.y[0] - face, body.z[0] - front_top(layout)
        return [affine(gap) for gap in gaps]

    *walls, frame = front_plans(layout)
    behind_the_face = affine(layout.baffle_depth - body.y[1])
    under = Least(tuple(affine(low - body.z[1]) for low in front_bottoms(layout)))
    # behind the wall's face there may be the wall itself, but not the frame
    frame_apart = Greatest((*apart(*frame), under, *([behind_the_face] if walls else ())))
    walls_apart = [Greatest((*apart(*wall), *([behind_the_face] if behind else ()))) for wall in walls]
    if (held := frame_alone(layout)) is not None:
        beneath = affine(_cabinets_bottom(layout) - body.z[1])
        walls_apart.append(Greatest((held, *apart(*frame_alone_plan(layout)), Least((under, beneath)))))
    return Least((*walls_apart, frame_apart))


def _cabinets_bottom(layout: Layout) -> Linear:
    """Height of the lower edge of loudspeakers beside the image."""
    return cabinet_middle(layout) - 0.5 * layout.speakers.height


def front_bottoms(layout: Layout) -> list[Linear]:
    """Heights of the lower edges of the frame, and of loudspeakers under or beside it; the lowest counts."""
    frame, speakers = layout.image_bottom - layout.bezel, layout.speakers
    if speakers.place == "under":
        return [frame - (speakers.gap + speakers.height)]
    if speakers.place == "beside" and not has_baffle(layout):
        return [frame, _cabinets_bottom(layout)]
    return [frame]


@measure(
    quantity="length",
    formula="greatest separation along x, y or z",
    source="definition; a box beside, before, behind or over another, or under the hung frame, is clear of it",
)
def front_obstruction_clearance(layout: Layout) -> Form:
    """Least distance along an axis between any obstruction and the baffle wall or the frame before it; one that
    lies wholly behind the baffle's face is clear of both, as the wall is built around it."""
    parts = [front_separation(layout, body, behind=True) for body in layout.bodies]
    return Least(tuple(parts)) if parts else Gate(constant(0.0))
