"""How far the numbers of a design can be trusted, said in words where a formula is stretched."""

from __future__ import annotations

from collections.abc import Mapping

from optimiser.design import Space
from optimiser.measures.reverberation import decay_time
from optimiser.physics import acoustics
from optimiser.problem.lining import face_area
from optimiser.problem.model import Problem
from optimiser.requirements import wanting

STATISTICAL = (
    "reverberation_time",
    "reverberation_ratio",
    "mean_absorption",
    "direct_to_reverberant",
    "transition_frequency",
)
"""Measures that suppose a diffuse field."""

COMPLETE = 0.05
"""Share of the room's faces by which the surfaces listed may miss them without a word."""


def notes(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """Sentences to print beside this design, in a fixed order; none where nothing is stretched."""
    used = {item.measure for item in (*problem.limits, *problem.goals)}
    said = _left_out(problem, space)
    if used & set(STATISTICAL):
        said += _diffuse(problem, space, design)
        said += _surfaces(problem)
    return said


def _left_out(problem: Problem, space: Space) -> list[str]:
    """On published bands that the file has no data for."""
    missing: dict[tuple[str, str], list[str]] = {}
    for goal in problem.goals:
        key = wanting(goal, space.layout) if goal.targets is not None else None
        if key is not None:
            missing.setdefault((goal.targets, key), []).append(goal.measure.replace("_", " "))
    return [
        f"The targets '{name}' also ask for {' and '.join(measures)}; that needs {key}, which the file does not give, "
        "so it does not count."
        for (name, key), measures in missing.items()
    ]


def _faces(problem: Problem) -> float:
    """Area of the room's six faces [m2]."""
    room = problem.room
    sizes = {"length": room.length, "width": room.width, "height": room.height}
    return sum(face_area(face, **sizes) for face in ("floor", "ceiling", "walls"))


def _diffuse(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On the field that reverberation formulas suppose."""
    layout = space.layout
    if layout.decay is None:
        return []
    time = float(decay_time(layout).value(design))
    mean = float(
        acoustics.absorption_of_eyring(
            volume=layout.volume,
            surface=_faces(problem),
            reverberation_time=time,
            speed_of_sound=layout.speed_of_sound,
        )
    )
    if mean <= acoustics.DIFFUSE:
        return []
    ruled = float(acoustics.transition_frequency(volume=layout.volume, reverberation_time=time))
    return [
        f"A small, dry room: a reverberation time of {time:.2f} s in {layout.volume:.0f} m3 means that the surfaces "
        f"absorb about {100 * mean:.0f} % of the sound that meets them. Much above 20 % no field is diffuse, and "
        "reverberation time, critical distance and direct over reverberant sound compare seats and designs; they do not predict what "
        f"will be measured. Below about {ruled:.0f} Hz single modes rule and these values mean nothing."
    ]


def _surfaces(problem: Problem) -> list[str]:
    """On surfaces that the file leaves out."""
    room = problem.room
    if not room.surfaces:
        return []
    sizes = {"length": room.length, "width": room.width, "height": room.height}
    listed = sum(s.area if s.area is not None else face_area(s.of, **sizes) for s in room.surfaces)
    faces = _faces(problem)
    if abs(listed - faces) <= COMPLETE * faces:
        return []
    return [
        f"The surfaces listed add up to {listed:.0f} m2, the room's six faces to {faces:.0f} m2: what is not listed "
        "counts as absorbing nothing, and what stands in the room adds to the faces."
    ]
