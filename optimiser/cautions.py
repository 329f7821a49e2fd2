"""What a design must not leave unsaid where it could hurt someone. Codes and professionals decide."""

from __future__ import annotations

from collections.abc import Mapping

from optimiser.design import Space
from optimiser.physics.stairs import CODES
from optimiser.problem.model import Problem

DEFER = "Local codes decide; have a licensed professional confirm."


def cautions(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """Sentences to print beside this design, in a fixed order."""
    rows = space.layout.rows
    heights = [float(row.platform.value(design)) for row in rows]
    said = []
    if any(h > 0.0 for h in heights):
        said.append(
            "Steps and platforms: keep risers even, mark and light the edges, and build platforms to carry a crowd. " + DEFER
        )
        if max(heights) > CODES["adk_guard_drop_dwelling"].value:
            said.append(
                "A platform lies more than 600 mm (23 5/8 in) above the floor: some codes ask for a guard at its open sides, "
                "others from 30 in (762 mm). " + DEFER
            )
        low = min(problem.room.height - h for h in heights)
        if low < 2.134:
            said.append(
                "Headroom over a platform is under 7 ft (2.13 m): check it against the code for habitable rooms and for stairs. "
                + DEFER
            )
    if problem.room.doors:
        said.append(
            "Exits: keep every door, its swing and the way to it clear, also with chairs reclined and in the dark. " + DEFER
        )
    else:
        said.append("The file names no door: show the ways out, and keep them clear. " + DEFER)
    said.append(
        "Screen, frame, loudspeakers and anything hung overhead are heavy: fixings and structure are for a qualified person "
        "to design. Electrical work is for a licensed electrician."
    )
    said.append("Loud sound harms hearing: set the system so that long listening stays within accepted exposure limits.")
    return said
