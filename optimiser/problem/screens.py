"""From what a file says about screen, loudspeakers and projector to the shapes and places of a layout."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from optimiser.linear import Linear, constant
from optimiser.measures.layout import Lens, Speakers
from optimiser.physics import viewing
from optimiser.problem.model import Choice, Decision, Fixed, Problem, Range, Screen

Read = Callable[[str], Linear]


def values_of(decision: Decision) -> tuple[float, ...]:
    """The values among which a decision chooses; a range must be one of whole numbers."""
    if isinstance(decision, Fixed):
        return (decision.value,)
    if isinstance(decision, Choice):
        return decision.values
    return tuple(float(n) for n in range(math.ceil(decision.low), math.floor(decision.high) + 1))


def shapes(screen: Screen) -> Iterator[tuple[float, Decision | None]]:
    """Every aspect ratio that a screen may have; for a tiled wall, with the columns that give it."""
    if screen.type != "tiled":
        for aspect in values_of(screen.aspect):
            yield aspect, None
        return
    wide, high = (sorted({int(v) for v in values_of(d)}) for d in (screen.columns, screen.tile_rows))
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


def pixel_pitch(screen: Screen, width: Linear) -> Linear | None:
    """From pixel to pixel, where the file tells."""
    if screen.type == "tiled":
        return constant(screen.tile.pitch)
    return None if screen.pixels is None else width * (1.0 / screen.pixels)


def speakers(problem: Problem, width: Linear, bezel: Linear) -> Speakers:
    """The front loudspeakers with a screen of this width."""
    given = problem.loudspeakers
    place = given.place_with(problem.screen)
    offset = (
        width * 0.5 + bezel + (given.gap + 0.5 * given.width) if place == "beside" else width * (0.5 * given.spread)
    )
    depth = Linear.of({}, given.depth) if given.depth else None
    return Speakers(place, offset, given.width, given.height, given.gap, given.directivity, depth)


def lens(problem: Problem, read: Read) -> Lens | None:
    """The projector's lens, where the screen is projected on."""
    if problem.projector is None or problem.screen.type != "projected":
        return None
    return Lens(read("projector.y"), read("projector.z"), problem.projector.lumens, problem.projector.chip)


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
