"""The drawings: plan, long section and front elevation of a design at one scale, or the room alone."""

from __future__ import annotations

from collections.abc import Callable

from optimiser.sheet import lettering
from optimiser.sheet.elevation import elevation
from optimiser.sheet.figures import Figure, shell
from optimiser.sheet.material import Material
from optimiser.sheet.paper import Paper
from optimiser.sheet.picture import along
from optimiser.sheet.plan import plan
from optimiser.sheet.plates import EDGE, fitted
from optimiser.sheet.room import room_scenes
from optimiser.sheet.scene import Scene, Text
from optimiser.sheet.section import section
from optimiser.sheet.spelt import spelt_out

SIDES = 15.0
"""Millimetres of free paper at the left and right of a page."""

MARK = 9.0
"""Points of what a drawing says first."""

TALLEST = 200.0
"""Millimetres that a plate may be tall and still leave room for its heading on the page."""


def drawings(material: Material, paper: Paper) -> list[Scene]:
    """Plan, section and elevation at one scale: what is written as DXF. Without a design, the room's."""
    system = material.problem.show
    if material.solution.design is None:
        return room_alone(material, paper.width - 2 * SIDES, TALLEST)
    f = material.figure
    mark = material.mark
    two = fitted(lambda n: marked(pair(f, system, n), mark), system, f.length, paper.width - 2 * SIDES, TALLEST)
    return [*two, *marked([elevation(f, system, two[0].denominator)], mark)]


def apart(material: Material, paper: Paper) -> list[Scene]:
    """Plan, section and elevation, each by itself as large as the paper allows, upright or turned: what is written as SVG
    and PDF. Without a design, the room's."""
    system, width = material.problem.show, paper.width - 2 * SIDES
    if material.solution.design is None:
        names = shell(material.problem.room).names
        return [
            one for room in room_alone(material, width, TALLEST) for one in spelt_out([room], names, width - 2.0 * EDGE)
        ]
    f = material.figure

    pages = (width, TALLEST), (paper.height - 2 * SIDES, paper.width - 2 * SIDES)

    def alone(view: Callable[[Figure, str, float], Scene], across: float) -> Scene:
        def on(wide: float, high: float) -> Scene:
            def made(n: float) -> list[Scene]:
                return spelt_out(marked([view(f, system, n)], material.mark), f.names, wide - 2.0 * EDGE)

            (scene,) = fitted(made, system, across, wide, high)
            return scene

        return min((on(*page) for page in pages), key=lambda scene: scene.denominator)

    return [alone(whole_plan, f.length), alone(section, f.length), alone(elevation, f.width)]


def marked(scenes: list[Scene], mark: str) -> list[Scene]:
    """The scenes, each with what it has to say first above it, and first in its words for those who cannot see it."""
    for scene in scenes if mark else ():
        left, _, _, top = scene.extent()
        at = (max(left, 0.0), top + scene.mm(0.5 * lettering.height(MARK) + 1.5))
        scene.add(Text(at, mark, "note", MARK, bold=True))
        scene.description = f"{mark}. {scene.description}"
    return scenes


def whole_plan(f: Figure, system: str, denominator: float, *, across: bool = True) -> Scene:
    """The plan with its dimensions; without ``across`` those at the front are left to the elevation."""
    upper = plan(f, system, denominator, measured=across)
    along(upper, f, system, doors=across)
    return upper


def pair(f: Figure, system: str, denominator: float, *, across: bool = True) -> list[Scene]:
    """Plan and section; ``across`` as for the plan."""
    return [whole_plan(f, system, denominator, across=across), section(f, system, denominator, front_measured=across)]


def room_alone(material: Material, width: float, height: float) -> list[Scene]:
    """Plan and section of the room without a design."""
    room, system = shell(material.problem.room), material.problem.show
    return list(fitted(lambda n: room_scenes(room, system, n), system, room.length, width, height))
