"""Scenes brought onto paper: the largest usual scale that fits, one below the other, ready to print."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from optimiser.sheet.paper import scale_bar, scale_words, scales
from optimiser.sheet.scene import Scene, joined
from optimiser.sheet.svg import Drawing, document

BETWEEN = 7.0
"""Millimetres between drawings that stand one below the other."""

EDGE = 1.0
"""Millimetres of paper around a plate, for the thickness of its outer lines."""

BAR = 12.0
"""Millimetres that a scale bar takes below the drawings."""


@dataclass(frozen=True)
class Plate:
    """A drawing ready to be set into a page: its SVG, its size in mm, and its words."""

    name: str
    title: str
    description: str
    width: float
    height: float
    svg: str
    scale: str = ""


LITTLE = 8.0
"""Millimetres by which drawings that are too high at every scale may be higher at a larger one."""


def size(scenes: Sequence[Scene]) -> tuple[float, float]:
    """Width and height in mm of scenes stacked with their origins in line."""
    extents = [s.extent() for s in scenes]
    a, _, c, _ = joined(extents)
    paper = scenes[0].paper
    return paper(c - a), sum(paper(e[3] - e[1]) for e in extents) + BETWEEN * (len(scenes) - 1)


def stacked(
    scenes: Sequence[Scene], left: float, top: float, *, centred: float | None = None
) -> tuple[list[str], float]:
    """SVG elements of scenes one below the other, and the y at which they end. The stack begins at
    ``left`` mm, or is ``centred`` in so many mm from there."""
    a, _, c, _ = joined([s.extent() for s in scenes])
    paper = scenes[0].paper
    indent = 0.0 if centred is None else 0.5 * (centred - paper(c - a))
    x = left + indent - paper(a)
    elements: list[str] = []
    y = top
    for scene in scenes:
        _, low, _, high = scene.extent()
        y += paper(high)
        elements += Drawing(scene, (x, y)).elements()
        y += paper(-low) + BETWEEN
    return elements, y - BETWEEN


def plate(name: str, scenes: Sequence[Scene], title: str, *, system: str | None = None) -> Plate:
    """A plate of scenes at one scale, with a scale bar where ``system`` says how to write it."""
    width, height = size(scenes)
    elements, end = stacked(scenes, EDGE, EDGE)
    denominator, scale = scenes[0].denominator, ""
    if system is not None:
        scale = scale_words(denominator, system)
        bar = scale_bar(denominator, system)
        elements += Drawing(bar, (EDGE + 2.0, end + 7.0)).elements()
        a, _, c, _ = bar.extent()
        width, height = max(width, bar.paper(c) + 2.0), height + BAR
    description = " ".join(s.description for s in scenes)
    w, h = width + 2 * EDGE, height + 2 * EDGE
    return Plate(name, title, description, w, h, document(w, h, title, description, elements, name=name), scale)


def fits(scenes: Sequence[Scene], width: float, height: float) -> bool:
    """Whether a plate of scenes is within ``width`` by ``height`` mm."""
    w, h = size(scenes)
    return w <= width - 2 * EDGE and h <= height - 2 * EDGE


def fitted(
    make: Callable[[float], Sequence[Scene]], system: str, length: float, width: float, height: float
) -> Sequence[Scene]:
    """The scenes at the largest usual scale at which they fit into ``width`` by ``height`` mm; ``length``
    is a length [m] that is surely drawn across. Where none fits, as lettering alone is too high, that at which the most of
    them does: too wide at none, if it can be, and little higher at the largest scale than at any other."""
    last = scales(system)[-1]
    tried: list[tuple[bool, float, Sequence[Scene]]] = []
    for denominator in scales(system):
        if 1000.0 * length / denominator > width and denominator != last:
            continue
        scenes = make(denominator)
        if fits(scenes, width, height):
            return scenes
        across, high = size(scenes)
        tried.append((across > width - 2 * EDGE, high, scenes))
    narrow = [one for one in tried if not one[0]] or tried
    least = min(high for _, high, _ in narrow)
    return next(scenes for _, high, scenes in narrow if high <= least + LITTLE)


def detail(
    make: Callable[[float], Sequence[Scene]],
    system: str,
    length: float,
    than: float,
    rooms: Sequence[tuple[float, float]],
) -> Sequence[Scene] | None:
    """The scenes of a detail, drawn larger than the drawing at 1 to ``than`` that it belongs to: in the first of the
    ``rooms`` (width and height in mm) that holds them so, at the largest usual scale there; ``length`` is a length [m]
    that is surely drawn across. None where no room does, and that drawing shows as much."""
    for width, height in rooms:
        for denominator in scales(system):
            if denominator >= than or 1000.0 * length / denominator > width:
                continue
            scenes = make(denominator)
            if fits(scenes, width, height):
                return scenes
    return None
