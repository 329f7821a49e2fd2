"""Bass loudspeakers: what the file says about them, checked, and brought into a layout."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from optimiser.measures.layout import Bass
from optimiser.physics.arrangements import ARRANGEMENTS
from optimiser.problem import lining
from optimiser.problem.decisions import ARRANGEMENT_NAMES
from optimiser.problem.model import Choice, Decision, Fixed, Problem

Complain = Callable[..., None]

LEAST_RISE = 0.4
"""Metres by which bass loudspeakers lie above or below all ears: see physics.bass."""

LEAST_BAND = 2.0 ** (1 / 3)
"""Highest over lowest frequency: a third of an octave."""

OWN = float(ARRANGEMENT_NAMES.index("own"))


def arrangements(problem: Problem) -> tuple[float, ...]:
    """Every arrangement that may be chosen, by number."""
    if problem.bass is None:
        return ()
    decision = problem.bass.arrangement
    return decision.values if isinstance(decision, Choice) else (decision.value,)


def bass(
    problem: Problem, arrangement: float | None, front: tuple[float, float], ears: tuple[float, float]
) -> Bass | None:
    """The bass room with one arrangement. ``front``: between which distances from the front wall the
    acoustic length begins, of which the middle is taken; ``ears``: between which heights all ears are."""
    given, time = problem.bass, bass_time(problem)
    if given is None or arrangement is None or time is None:
        return None
    from optimiser.physics.bass import BassField

    room, begins = problem.room, 0.5 * (front[0] + front[1])
    length = room.length - begins
    if arrangement == OWN:
        # what stands before the acoustic front, as in the baffle, plays from its face
        sources = tuple((max(0.0, y - begins), x, z) for x, y, z in given.positions)
    else:
        plan = ARRANGEMENTS[ARRANGEMENT_NAMES[int(arrangement)]]
        sources = tuple((y * length, x * room.width, given.height) for y, x in plan)
    field = BassField((length, room.width, room.height), sources, ears, given.band, time, room.speed_of_sound)
    return Bass(field, begins, _mirrored(sources, room.width))


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


def check_bass(file: Any, complain: Complain) -> None:
    """What the keys about bass must agree on with each other and the room."""
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
        _inside(given, room, complain)
    ears = _ears(file)
    if ears is not None:
        _heights(given, ears, complain)


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


def _inside(given: Any, room: Any, complain: Complain) -> None:
    for at, place in enumerate(given.positions or ()):
        for key, extent in (("x", room.width), ("y", room.length), ("z", room.height)):
            value = None if place is None else getattr(place, key)
            if value is not None and extent is not None and value > extent + 1e-9:
                complain(("bass", "positions", at, key), "the loudspeaker stands outside the room", "check it")
    if given.height is not None and room.height is not None and given.height > room.height:
        complain(("bass", "height"), "the loudspeakers stand above the ceiling", "check it")


def _ears(file: Any) -> tuple[float, float] | None:
    """Between which heights ears can be."""
    seating = file.seating
    if seating is None or seating.chair is None or seating.platform is None:
        return None
    eye, to, first = seating.chair.eye_height, seating.platform.to, seating.platform.first
    if None in (eye, to, first):
        return None
    highest = first.value if isinstance(first, Fixed) else max(getattr(first, "values", ()) or (first.high,))
    return eye, eye + max(to, highest)


def _heights(given: Any, ears: tuple[float, float], complain: Complain) -> None:
    low, high = ears[0] - LEAST_RISE, ears[1] + LEAST_RISE
    remedy = f"put it below {low:.2f} m or above {high:.2f} m: nearer the ears' height its bass is not computed"
    chosen = _values(given.arrangement) or ()
    if given.height is not None and low < given.height < high and any(value != OWN for value in chosen):
        complain(("bass", "height"), "the loudspeakers stand at the height of the ears", remedy)
    for at, place in enumerate(given.positions or ()):
        if place is not None and place.z is not None and low < place.z < high:
            complain(("bass", "positions", at, "z"), "the loudspeaker stands at the height of the ears", remedy)
