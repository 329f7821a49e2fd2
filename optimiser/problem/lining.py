"""What a room's surfaces absorb: read from a file, checked, and brought into a layout."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from optimiser.errors import did_you_mean
from optimiser.linear import Linear, constant
from optimiser.measures.layout import Decay
from optimiser.measures.reverberation import time_of
from optimiser.physics.materials import MATERIALS, OCTAVE_BANDS
from optimiser.problem.model import FACES, Choice, Fixed, Room, Surface
from optimiser.problem.shell import face_area, volume

WALLS = tuple(face for face in FACES if face not in ("floor", "ceiling", "walls"))

Complain = Callable[..., None]
Read = Callable[[str], Linear]


def area_of(surface: Surface, room: Room) -> float:
    """Area of a surface [m2]."""
    if surface.area is not None:
        return surface.area
    return face_area(surface.of, room)


def absorption_of(written: Any) -> tuple[float, ...]:
    """The six coefficients of what a file says: its own, or those of a material."""
    if written.absorption is not None:
        return tuple(float(value) for value in written.absorption)
    return MATERIALS[written.material].absorption


def decay(room: Room, read: Read) -> Decay | None:
    """How sound dies away, where the file says enough to tell."""
    if room.reverberation_time is not None:
        return Decay(room.reverberation_time, (), 0.0, room.formula)
    if not room.surfaces:
        return None
    areas = [area_of(surface, room) for surface in room.surfaces]
    bands = []
    for band in range(len(OCTAVE_BANDS)):
        total = constant(sum(a * s.absorption[band] for a, s in zip(areas, room.surfaces)))
        if room.treatment is not None:
            covered = next(s for s in room.surfaces if s.name == room.treatment.on)
            gain = room.treatment.absorption[band] - covered.absorption[band]
            total = total + panel_area(room, read) * gain
        bands.append(total)
    return Decay(None, tuple(bands), sum(areas), room.formula)


def panel_area(room: Room, read: Read) -> Linear | None:
    """Area of the absorbing panels."""
    return None if room.treatment is None else read("treatment.panels") * room.treatment.panel


def most_panels(room: Room) -> int | None:
    """As many panels as the surface that they are on has room for; None without panels."""
    if room.treatment is None:
        return None
    covered = next(s for s in room.surfaces if s.name == room.treatment.on)
    return math.floor(area_of(covered, room) / room.treatment.panel + 1e-9)


def too_many(covered: float, on: str, area: float) -> str:
    """What is said of panels that cover more than there is [m2]."""
    return f"so many panels cover {covered:.4g} m2, more than '{on}' has ({area:.4g} m2)"


def lowest_time(room: Room) -> float | None:
    """Reverberation time of the lowest octave band with the fewest panels [s], where surfaces are listed."""
    if not room.surfaces:
        return None
    panels = room.treatment.panels if room.treatment is not None else Fixed(0.0)
    fewest = panels.value if isinstance(panels, Fixed) else min(getattr(panels, "values", None) or (panels.low,))
    found = decay(room, lambda name: constant(fewest))
    link = time_of(found, volume=volume(room), speed=room.speed_of_sound)
    return float(link.forward(found.absorption[0].constant))


# --- checks ---------------------------------------------------------------------------------------


def check_lining(room: Any, complain: Complain) -> None:
    """What the keys about surfaces must agree on; unreadable parts are None and passed over."""
    surfaces = list(enumerate(room.surfaces or ()))
    path = ("room", "surfaces")
    if surfaces and "reverberation_time" in room.written:
        complain(path, "'surfaces' beside 'reverberation_time'", "keep one of them", key=True)
    for at, surface in surfaces:
        if surface is not None:
            _surface(surface, (*path, at), complain)
            earlier = [other.name for _, other in surfaces[:at] if other is not None]
            if surface.name is not None and surface.name in earlier and "name" in surface.written:
                complain((*path, at, "name"), f"a second surface is called '{surface.name}'", "name each by itself")
            twice = [other.of for _, other in surfaces[:at] if other is not None and _overlap(other.of, surface.of)]
            if twice:
                again = f"a second surface of: {surface.of}"
                complain(
                    (*path, at, "of"),
                    again if twice[0] == surface.of else f"{again}, beside one of: {twice[0]}",
                    "each takes all of it; write areas for parts, as area: 12 m2",
                )
    if room.treatment is not None:
        _treatment(room, complain)
    if surfaces and all(_whole(surface) for _, surface in surfaces):
        _enough(room, path, complain)


def _overlap(one: str | None, other: str | None) -> bool:
    """Whether two surfaces lie on the same face of the room."""
    faces = [set(WALLS) if of == "walls" else {of} for of in (one, other)]
    return one is not None and other is not None and bool(faces[0] & faces[1])


def _surface(surface: Any, path: tuple, complain: Complain) -> None:
    _one_of(surface, path, ("of", "area"), "how large it is", "write of: floor, or area: 12 m2", complain)
    _absorbs(surface, path, complain)


def _absorbs(part: Any, path: tuple, complain: Complain) -> None:
    remedy = f"write material: {next(iter(MATERIALS))}, or absorption: [six values, 125 Hz to 4 kHz]"
    _one_of(part, path, ("material", "absorption"), "what it absorbs", remedy, complain)


def _one_of(part: Any, path: tuple, keys: tuple[str, str], what: str, remedy: str, complain: Complain) -> None:
    there = [key for key in keys if key in part.written]
    if len(there) == 2:
        complain((*path, there[1]), f"'{there[1]}' beside '{there[0]}'", "keep one of them", key=True)
    elif not there and not any(
        did_you_mean(name, part.keys) == f"did you mean '{k}'?" for name in part.extra for k in keys
    ):
        complain(path, f"nothing says {what}", remedy)


def _treatment(room: Any, complain: Complain) -> None:
    treatment, path = room.treatment, ("room", "treatment")
    _absorbs(treatment, path, complain)
    if not room.surfaces:
        complain(path, "a treatment without surfaces", "list room.surfaces; one of them is covered")
        return
    known = [surface for surface in room.surfaces if surface is not None]
    called = [surface.name for surface in known].count(treatment.on)
    own = [surface.name for surface in known if surface.name is not None and "name" in surface.written]
    if treatment.on is None or called == 1 or treatment.on in own:  # that two have one name is told elsewhere
        return
    if any(surface.of == treatment.on and "name" not in surface.written for surface in known):
        message = f"the surface of: {treatment.on} has no name"
        remedy = f"give it one, as {{name: {treatment.on}, of: {treatment.on}, ...}}"
    else:
        message = f"there is no surface '{treatment.on}'"
        remedy = did_you_mean(treatment.on, own) if own else "give the one that the panels cover a name"
    complain((*path, "on"), message, remedy)


def _whole(surface: Any) -> bool:
    """Whether all that counts of a surface could be read."""
    if surface is None or (surface.of is None) == (surface.area is None):
        return False
    absorption = surface.absorption
    return surface.material is not None or (absorption is not None and None not in absorption)


def _enough(room: Any, path: tuple, complain: Complain) -> None:
    """The surfaces must absorb something in each band, but no more than falls on them, whatever the panels."""
    if None in (room.length, room.width, room.height):
        return
    shape = _shape(room)
    if shape is None:
        return
    areas = [area_of(one, shape) for one in room.surfaces]
    rows = np.array([absorption_of(one) for one in room.surfaces])
    least = most = np.array(areas) @ rows
    treatment = room.treatment
    if treatment is not None and _readable(treatment) and treatment.on in [one.name for one in room.surfaces]:
        at = [one.name for one in room.surfaces].index(treatment.on)
        covered = _most(treatment.panels) * treatment.panel
        if covered > areas[at] + 1e-9:
            complain(
                ("room", "treatment", "panels"),
                too_many(covered, treatment.on, areas[at]),
                "allow fewer, or smaller ones",
            )
        change = covered * (np.array(absorption_of(treatment)) - rows[at])
        least, most = least + np.minimum(change, 0.0), most + np.maximum(change, 0.0)
    for band, low, high in zip(OCTAVE_BANDS, least, most):
        if low <= 0.0:
            complain(path, f"the surfaces absorb nothing at {band:g} Hz", "check their absorption")
            return
        if high >= sum(areas):
            complain(path, f"the surfaces absorb more than falls on them at {band:g} Hz", "check their absorption")
            return


def _shape(room: Any) -> Room | None:
    """The room with nothing in it, where its ceiling could be read and has its points in order within the room."""
    profiles = []
    for points, axis, end in ((room.ceiling, "y", room.length), (room.ceiling_across, "x", room.width)):
        read = [(getattr(p, axis), p.height) for p in points or () if p is not None]
        places = [a for a, _ in read]
        if len(read) != len(points or ()) or any(None in point for point in read) or len(read) == 1:
            return None
        if places != sorted(places) or any(a > end + 1e-9 for a in places):
            return None
        profiles.append(tuple(read))
    along, across = profiles
    return Room(room.length, room.width, room.height, (), (), along, None, 343.2, ceiling_across=across)


def _readable(treatment: Any) -> bool:
    known = treatment.material is not None or (treatment.absorption is not None and None not in treatment.absorption)
    return known and treatment.panels is not None and treatment.panel is not None


def _most(panels: Any) -> float:
    if isinstance(panels, Fixed):
        return panels.value
    return max(panels.values) if isinstance(panels, Choice) else panels.high
