"""Bass loudspeakers: what the file says about them, checked, and brought into a layout."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from optimiser.errors import UsageError
from optimiser.measures.layout import Bass
from optimiser.problem import lining
from optimiser.problem.decisions import ARRANGEMENT_NAMES, ends_of, split_row
from optimiser.problem.items import chairs
from optimiser.problem.listed import variants
from optimiser.problem.model import Choice, Decision, Fixed, Problem
from optimiser.problem.row_checks import largest
from optimiser.quantity import show

Complain = Callable[..., None]

LEAST_RISE = 0.4
"""Metres by which bass loudspeakers lie above or below all ears: see physics.bass."""

LEAST_BAND = 2.0 ** (1 / 3)
"""Highest over lowest frequency: a third of an octave."""

LEAST_LENGTH = 0.1
"""Metres that are left between a solid baffle and the rear wall at least: a deeper one has no seats behind it, but
bass is asked for before that is known."""

OWN = float(ARRANGEMENT_NAMES.index("own"))


def arrangements(problem: Problem) -> tuple[float, ...]:
    """Every arrangement that may be chosen, by number."""
    if problem.bass is None:
        return ()
    decision = problem.bass.arrangement
    return decision.values if isinstance(decision, Choice) else (decision.value,)


def bass(
    problem: Problem,
    arrangement: float | None,
    front: tuple[float, float],
    ears: tuple[float, float],
    time: float | None = None,
) -> Bass | None:
    """The bass room with one arrangement. ``front``: between which distances from the front wall the
    acoustic length begins, of which the middle is taken; ``ears``: between which heights all ears are; ``time``:
    a reverberation time [s] in the place of the file's.

    Ears above the ceiling count as at it, as a table's places beyond a wall are on it: no design has them, yet
    why there is none may be asked. UsageError where a loudspeaker is at the height of ears.
    """
    given = problem.bass
    if given is None or arrangement is None:
        return None
    time = bass_time(problem) if time is None else time
    if time is None:
        return None
    from optimiser.physics.bass import BassField

    room = problem.room
    begins = min(0.5 * (front[0] + front[1]), room.length - LEAST_LENGTH)
    length = room.length - begins
    ears = (min(ears[0], room.height), min(ears[1], room.height))
    sources = _sources(problem, arrangement, begins)
    low, high = _silent(ears)
    near = [z for _, _, z in sources if low < z < high]
    if near:
        shown = [show("length", value, problem.show) for value in (near[0], low, high)]
        raise UsageError(
            f"bass: a loudspeaker at {shown[0]} is at the height of the ears: put it below {shown[1]} or above {shown[2]}, or the "
            "rows elsewhere: nearer the ears' height its bass is not computed"
        )
    field = BassField((length, room.width, room.height), sources, ears, given.band, time, room.speed_of_sound)
    return Bass(field, begins, _mirrored(sources, room.width))


def depths(problem: Problem) -> tuple[float, float]:
    """The least and the greatest depth of the baffle wall that the bass is for [m]: what the file allows, also where
    an explanation lets the wall go beyond it. Else a design's bass would be another one for each demand left out."""
    if problem.bass is not None and problem.bass.depths is not None:
        return problem.bass.depths
    return ends_of(problem.baffle.depth)


def as_allowed(problem: Problem) -> Problem:
    """The problem with the bass that it has now, whatever depth of its baffle wall is allowed later."""
    if problem.bass is None:
        return problem
    return replace(problem, bass=replace(problem.bass, depths=depths(problem)))


def hangs_on(problem: Problem, path: str) -> bool:
    """Whether what all designs are heard to be like is told otherwise where the file allows something else at a path: the
    depths of a solid baffle wall say which bass there is; the heights and the middles of rows at which points the bass is
    tabulated, and the heights which stretches of wall are clear of all ears."""
    if path == "front.baffle.depth":
        return problem.bass is not None and problem.baffle.solid
    heard = problem.bass is not None or problem.surround is not None
    return heard and (path.startswith("seating.platform.") or path.endswith((".platform", ".centre")))


def _sources(problem: Problem, arrangement: float, begins: float) -> tuple[tuple[float, float, float], ...]:
    """Where the loudspeakers are (along from where the acoustic length begins, across, up) [m]."""
    given, room = problem.bass, problem.room
    length = room.length - begins
    if arrangement == OWN:
        # what stands before the acoustic front, as in the baffle, plays from its face
        return tuple((min(max(0.0, y - begins), length), x, z) for x, y, z in given.positions)
    from optimiser.physics.modal import arrangement_positions

    name = ARRANGEMENT_NAMES[int(arrangement)]
    places = arrangement_positions(arrangement=name, length=length, width=room.width, height=given.height)
    return tuple(tuple(place) for place in places.tolist())


def highest_floor(problem: Problem) -> float:
    """The highest that a row may be thought of [m]: at the ceiling, or with all ears so far below the bass
    loudspeakers above them that the bass is known."""
    highest = problem.room.height
    if problem.bass is None:
        return highest
    seating = problem.seating
    eyes = [chair.eye_height for chair in chairs(problem)]
    eyes += [] if seating.bar is None else [seating.bar.eye_height]
    heights = [z for number in arrangements(problem) for _, _, z in _sources(problem, number, 0.0)]
    return min([highest, *(z - LEAST_RISE - max(eyes) for z in heights if z > max(eyes))])


def bass_time(problem: Problem) -> float | None:
    """Reverberation time at low frequencies, where the file says enough to tell."""
    room = problem.room
    if problem.bass is not None and problem.bass.reverberation_time is not None:
        return problem.bass.reverberation_time
    return room.reverberation_time if room.reverberation_time is not None else lining.lowest_time(room)


def _mirrored(sources: tuple[tuple[float, float, float], ...], width: float) -> bool:
    def rounded(places):
        return sorted(tuple(round(v, 9) for v in place) for place in places)

    return rounded(sources) == rounded((y, width - x, z) for y, x, z in sources)


# --- checks ---------------------------------------------------------------------------------------


def check_bass(file: Any, length: Callable[[float], str], complain: Complain) -> None:
    """What the keys about bass must agree on with each other and the room. ``length``: shows one [m]."""
    given, room = file.bass, file.room
    _choice(given, complain)
    if given.band is not None and None not in given.band:
        low, high = given.band
        if not low < high:
            complain(("bass", "band"), "the band's ends are in the wrong order", "write [20 Hz, 80 Hz]")
        elif high < low * LEAST_BAND * (1.0 - 1e-9):
            complain(("bass", "band"), "the band is narrower than a third of an octave", "write [20 Hz, 80 Hz]")
    if (
        room is not None
        and not {"reverberation_time"} & given.written
        and not {"reverberation_time", "surfaces"} & room.written
    ):
        complain(
            ("bass",), "nothing says how long the bass lasts", "add bass.reverberation_time, or room.reverberation_time"
        )
    if room is not None:
        _inside(given, room, length, complain)
    ears = _ears(file)
    if ears is not None:
        _heights(given, ears, length, complain)


def _choice(given: Any, complain: Complain) -> None:
    chosen = _values(given.arrangement)
    if chosen is None or given.positions is None:
        return
    if OWN in chosen and not given.positions:
        complain(
            ("bass",), "an arrangement of one's own without positions", "list positions: [{x: ..., y: ..., z: ...}]"
        )
    if OWN not in chosen and given.positions:
        complain(
            ("bass", "positions"),
            "positions are given, but the arrangement is not own",
            "write arrangement: own, or leave them out",
            key=True,
        )


def _values(decision: Decision | None) -> tuple[float, ...] | None:
    if decision is None:
        return None
    return (decision.value,) if isinstance(decision, Fixed) else getattr(decision, "values", None)


def _inside(given: Any, room: Any, length: Callable[[float], str], complain: Complain) -> None:
    extents = (("x", room.width, "wide"), ("y", room.length, "long"), ("z", room.height, "high"))
    for at, place in enumerate(given.positions or ()):
        path, outside = ("bass", "positions", at), False
        for key, extent, word in extents:
            value = None if place is None else getattr(place, key)
            if value is not None and extent is not None and value > extent + 1e-9:
                outside = True
                complain(
                    (*path, key),
                    f"the loudspeaker stands outside the room, which is {length(extent)} {word}",
                    f"write {length(extent)} at most",
                )
        ceiling = None if place is None or outside else _ceiling_over(place, room)
        if ceiling is not None and place.z > ceiling + 1e-6:
            complain(
                (*path, "z"),
                f"the loudspeaker stands above the ceiling, which is {length(ceiling)} high there",
                "put it lower, or elsewhere",
            )
    if given.height is not None and room.height is not None and given.height > room.height:
        complain(
            ("bass", "height"),
            f"the loudspeakers stand above the ceiling, which is {length(room.height)} high",
            f"write {length(room.height)} at most",
        )


def _ceiling_over(place: Any, room: Any) -> float | None:
    """Height of a sloped or stepped ceiling over a place [m], at a step the higher; None where it is flat, or the file does
    not tell."""
    if None in (place.x, place.y, place.z, room.height):
        return None
    heights = [room.height]
    for points, axis, at in ((room.ceiling, "y", place.y), (room.ceiling_across, "x", place.x)):
        told = [None if point is None else (getattr(point, axis), point.height) for point in points or ()]
        if any(one is None or None in one for one in told):
            return None
        if told:
            places, high = zip(*told)
            heights.append(float(np.max(np.interp([at - 1e-6, at + 1e-6], places, high))))
    return min(heights) if len(heights) > 1 else None


def _ears(file: Any) -> tuple[float, float] | None:
    """Between which heights ears can be."""
    seating = file.seating
    if seating is None or seating.chair is None or seating.platform is None:
        return None
    eyes = [chair.eye_height for _, chair in variants(seating.chair, ())]
    eyes += [] if seating.bar is None else [seating.bar.eye_height]
    to, first = seating.platform.to, seating.platform.first
    if None in (*eyes, to, first):
        return None
    placed = [
        at for name, at in seating.place or () if at is not None and (split_row(name) or ("", ""))[1] == "platform"
    ]
    return min(eyes), max(eyes) + max(to, largest(first), *map(largest, placed))


def _silent(ears: tuple[float, float]) -> tuple[float, float]:
    """Between which heights no loudspeaker may be."""
    return ears[0] - LEAST_RISE, ears[1] + LEAST_RISE


def _heights(given: Any, ears: tuple[float, float], length: Callable[[float], str], complain: Complain) -> None:
    low, high = _silent(ears)
    remedy = f"put it below {length(low)} or above {length(high)}: nearer the ears' height its bass is not computed"
    chosen = _values(given.arrangement) or ()
    if given.height is not None and low < given.height < high and any(value != OWN for value in chosen):
        complain(("bass", "height"), "the loudspeakers stand at the height of the ears", remedy)
    for at, place in enumerate(given.positions or ()):
        if place is not None and place.z is not None and low < place.z < high:
            complain(("bass", "positions", at, "z"), "the loudspeaker stands at the height of the ears", remedy)
