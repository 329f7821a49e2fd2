"""The projector as it hangs over people and before their eyes, in a finished design."""

from __future__ import annotations

from collections.abc import Mapping

from optimiser.design import Space
from optimiser.linear import Linear
from optimiser.measures.layout import Body
from optimiser.measures.people import platform_end, platform_front
from optimiser.measures.shape import lens_to_ceiling
from optimiser.physics.stairs import CODES

HEADROOM = CODES["irc_stair_headroom_least"].value
"""Metres under the projector that let people pass and stand: what a code gives stairs in dwellings."""

TOUCHES = 1e-3
"""Metres by which things of assumed size may meet without a word."""

HAIR = 1e-9
"""Metres that are rounding."""

Span = tuple[float, float]


def settled(body: Body, design: Mapping[str, float]) -> Body:
    """A box where a design has it."""
    x, y, z = (
        tuple(float(end.value(design)) if isinstance(end, Linear) else end for end in ends)
        for ends in (body.x, body.y, body.z)
    )
    return Body(body.name, x, y, z)


def projector_in_the_room(space: Space, design: Mapping[str, float]) -> Body | None:
    """The projector where a design has it; None where there is none, or its lens looks in from behind the rear wall."""
    lens = space.layout.lens
    if lens is None or float(lens.y.value(design)) >= space.layout.length:
        return None
    return settled(lens.body, design)


def below_the_projector(space: Space, design: Mapping[str, float]) -> float | None:
    """Height [m] from the floor under the projector, or the highest platform there, up to it; None where none is in the
    room."""
    body = projector_in_the_room(space, design)
    return None if body is None else body.z[0] - _floor(space, design, body.y)


def into_the_building(space: Space, design: Mapping[str, float]) -> dict[str, float]:
    """How far [m] a projector whose lens is in the room would go into the rear wall, the ceiling and the file's
    obstructions, by what it goes into; nothing of what it stays clear of."""
    layout, body = space.layout, projector_in_the_room(space, design)
    if body is None:
        return {}
    above = body.z[1] - float(layout.lens.z.value(design))
    into = {
        "the rear wall": body.y[1] - layout.length,
        "the ceiling": above - float(lens_to_ceiling.form(layout).value(design)),
    }
    for box in (settled(one, design) for one in layout.bodies):
        # into a box as far as the shortest way out of it again
        ends = ((body.x, box.x), (body.y, box.y), (body.z, box.z))
        depth = min(min(mine[1] - its[0], its[1] - mine[0]) for mine, its in ends)
        into[f"'{box.name}'"] = max(depth, into.get(f"'{box.name}'", depth))
    return {what: depth for what, depth in into.items() if depth > TOUCHES}


def clear_height(space: Space, design: Mapping[str, float]) -> float:
    """Least height [m] of the lens at which the projector leaves HEADROOM under it and hides nothing of the image from
    any row, all else as it is."""
    layout, lens = space.layout, space.layout.lens
    body = settled(lens.body, design)
    at = {name: float(getattr(layout, f"image_{name}").value(design)) for name in ("y", "bottom", "height")}
    needed = [_floor(space, design, body.y) + HEADROOM]
    for row in layout.rows:
        y, eye = float(row.y.value(design)), float(row.eye.value(design))
        for end in body.y:
            if end < y:  # the line from the eyes to the image's upper edge, where it passes the projector
                needed.append(eye + (at["bottom"] + at["height"] - eye) * (y - end) / (y - at["y"]))
    return max(needed) + float(lens.z.value(design)) - body.z[0]


def hangs_high(space: Space, design: Mapping[str, float]) -> bool:
    """Whether people can pass under the projector and see past it."""
    return too_low(space, design) <= HAIR


def too_low(space: Space, design: Mapping[str, float]) -> float:
    """By how much [m] the projector hangs lower than that people can pass under it and see past it; negative: how much
    higher."""
    return clear_height(space, design) - float(space.layout.lens.z.value(design))


def _floor(space: Space, design: Mapping[str, float], y: Span) -> float:
    """Level [m] of the floor under a stretch of the room's length, or of the highest platform there."""
    layout, levels = space.layout, [0.0]
    for row in layout.rows:
        start, end = (float(e.value(design)) for e in (platform_front(layout, row), platform_end(layout, row)))
        if min(end, y[1]) - max(start, y[0]) > TOUCHES:
            levels.append(float(row.platform.value(design)))
    return max(levels)
