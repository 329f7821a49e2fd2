"""From what a file says about screen, loudspeakers and projector to the shapes and places of a layout."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from optimiser.linear import Expression, Linear, constant
from optimiser.measures.layout import Body, Lens, Speakers
from optimiser.physics import light, viewing
from optimiser.problem import items
from optimiser.problem.model import Choice, Decision, Fixed, Problem, Range, Screen

Read = Callable[[str], Linear]


def shapes(problem: Problem) -> Iterator[tuple[float, Decision | None]]:
    """Every aspect ratio that the problem's screen may have; for a tiled wall, with the columns that give it."""
    screen = problem.screen
    if screen.type != "tiled":
        for aspect in items.aspects(problem, () if screen.aspect is None else items.values_of(screen.aspect)):
            yield aspect, None
        return
    wide, high = (sorted({int(v) for v in items.values_of(d)}) for d in (screen.columns, screen.tile_rows))
    ratios: dict[tuple[int, int], list[int]] = {}
    for columns in wide:
        for rows in high:
            shared = math.gcd(columns, rows)
            ratios.setdefault((columns // shared, rows // shared), []).append(columns)
    for (columns, rows), counts in ratios.items():
        values = tuple(float(n) for n in sorted(set(counts)))
        yield columns * screen.tile.width / (rows * screen.tile.height), Choice(values, tuple(f"{v:g}" for v in values))


def image_width(screen: Screen, aspect: float, read: Read) -> Linear:
    """Width of the image."""
    if isinstance(screen.width, Linear):  # a list gives it
        return screen.width
    if screen.type == "tiled":
        return read("screen.columns") * screen.tile.width
    if screen.type == "panel":
        return read("screen.diagonal") * float(viewing.image_size(diagonal=1.0, aspect=aspect)[0])
    return read("screen.width")


def tile_rows(screen: Screen, aspect: float, read: Read) -> Linear | None:
    """Tiles one above the other in a tiled wall."""
    if screen.type != "tiled":
        return None
    return read("screen.columns") * (screen.tile.width / (aspect * screen.tile.height))


def pixel_pitch(
    problem: Problem, numbers: items.Numbers, width: Linear, aspect: float, lens: Lens | None
) -> Expression | None:
    """From pixel to pixel, where the file tells. An image narrower in shape than the projector's chip leaves columns of
    the chip dark."""
    if problem.screen.type == "tiled":
        return constant(problem.screen.tile.pitch)
    if lens is not None:
        width = width * float(light.chip_image_width(width=1.0, aspect=aspect, chip_aspect=lens.chip))
    return items.pixel_pitch(problem, numbers, width)


@dataclass(frozen=True)
class Image:
    """Width and height of the image, its lower edge above the floor, and the width of its frame."""

    width: Linear
    height: Linear
    bottom: Linear
    bezel: Linear


def speakers(
    problem: Problem, numbers: items.Numbers, image: Image, axis: Linear | None, apart: Linear | None
) -> Speakers:
    """The front loudspeakers with such an image; ``axis``: of those behind it, how high above the floor; ``apart``: from the
    left to the right one, where that is decided."""
    given = problem.loudspeakers
    place = given.place_with(problem.screen)
    aside = image.bezel + (given.gap + 0.5 * given.width)
    usual = image.width * 0.5 + aside if place == "beside" else image.width * (0.5 * given.spread)
    away = image.bezel + (given.gap + 0.5 * given.height)
    middle = {
        "behind": axis,
        "beside": image.bottom + image.height * 0.5,
        "under": image.bottom - away,
        "over": image.bottom + image.height + away,
    }[place]
    depth, least = (
        items.expression(one) if isinstance(one, Linear) or np.any(one) else None
        for one in (given.depth, given.least_distance)
    )
    directivity, root = items.root(problem, numbers, "loudspeakers", lambda own: own["directivity"])
    return Speakers(
        place,
        usual if apart is None else apart * 0.5,
        middle,
        given.width,
        given.height,
        given.gap,
        directivity,
        depth,
        root,
        least,
        None if apart is None else usual,
    )


PROJECTOR = {"aside": 0.2, "behind": 0.4, "below": 0.1, "above": 0.12}
"""Metres that a projector reaches from its lens to each side, away from the image, down and up: one of middling size;
common practice, no source."""


def lens(problem: Problem, numbers: items.Numbers, read: Read, centre: Linear) -> Lens | None:
    """The projector's lens, on the image's ``centre`` line, where the screen is projected on."""
    if problem.projector is None or problem.screen.type != "projected":
        return None
    given = problem.projector
    lumens, root = items.root(problem, numbers, "projector", lambda own: own["lumens"])
    throw, offset = (
        None if ends is None else tuple(items.expression(end) for end in ends)
        for ends in (given.throw_ratio, given.lens_offset)
    )
    y, z, size = read("projector.y"), read("projector.z"), PROJECTOR
    body = Body(
        "projector",
        (centre - size["aside"], centre + size["aside"]),
        (y, y + size["behind"]),
        (z - size["below"], z + size["above"]),
    )
    return Lens(y, z, lumens, given.chip, root, throw, offset, body)


def lens_place(problem: Problem) -> Decision:
    """Where the lens may be, from the front wall."""
    decision, length = problem.projector.behind, problem.room.length
    if decision is None:
        return problem.projector.y
    if isinstance(decision, Fixed):
        return replace(decision, value=length + decision.value)
    if isinstance(decision, Range):
        return replace(decision, low=length + decision.low, high=length + decision.high)
    return replace(decision, values=tuple(length + value for value in decision.values))
