"""What is said of a design's bass: on what it is computed from, how closely, and where its loudspeakers stand."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optimiser.design import Space
from optimiser.hanging import settled
from optimiser.measures.bass import RowBass, seat_levels, table_error
from optimiser.measures.layout import Bass, Body, Layout, Row
from optimiser.measures.people import platform_end, platform_front
from optimiser.measures.reverberation import decay_time
from optimiser.measures.seats import present
from optimiser.physics import modal
from optimiser.physics.materials import OCTAVE_BANDS
from optimiser.physics.sector import Sector, support
from optimiser.problem.bass import OWN, bass
from optimiser.problem.model import MODAL_CONTROL, Limit, Problem
from optimiser.problem.shell import boxed
from optimiser.quantity import show
from optimiser.requirements import MODAL, bounds_on
from optimiser.score import slack_of
from optimiser.views import hidden
from optimiser.words import bound_words, ends_decimals, listed, rounded_words, unnamed

NEAR = 0.3
"""Metres from a door's sweep within which no bass loudspeaker may be: half the size of a large one. Common practice,
no source."""

CABINET = 0.45
"""Metres that a usual bass loudspeaker is wide, deep and high. Common practice, no source."""

LEAST_WAY = 0.6
"""Metres by which one passes a bass loudspeaker at least, whatever the file asks for. Common practice, no source."""

WAYS = ("aisle_width", "walkway", "rear_walkway", "rear_landing")

BOXED = (*MODAL, "room_proportion")
"""Measures, beside those of bass, that take the room for a box of its greatest dimensions."""

WALLED = ("rear_wall_distance", "side_wall_distance")
"""Measures that look past what stands before a wall."""

FILLED = 0.05
"""Share of the floor on which things may stand from floor to ceiling without a word."""

SAME_PLACE, SAME_TIME = 0.01, 0.005
"""Metres, and seconds, by which two bass rooms may differ and be the same one."""

FULL = 0.9
"""Share of the room's height over which a thing stands from floor to ceiling."""

CONTROLS = {"several_subwoofers": "With several subwoofers as modal control", "active": "With active modal control"}


def bass_notes(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """Sentences on bass to print beside this design, in a fixed order."""
    used = {item.measure for item in (*problem.limits, *problem.goals)}
    bass = space.layout.bass
    said = []
    if problem.bass is not None and any(goal.measure in MODAL for goal in problem.goals):
        said += _control(problem.bass.modal_control)
    if bass is not None:
        said += _computed(problem, space)
    if (bass is not None or used & set(BOXED)) and not boxed(problem.room):
        said.append(
            "This room is no box: its ceiling is in places lower than "
            f"{show('length', problem.room.height, problem.show)}, and its modes are others than those of the box of "
            "that height that the numbers on bass, modes and proportions are for. Under a sloped or stepped ceiling they compare "
            "seats and arrangements only roughly."
        )
    if bass is not None or used & {*BOXED, *WALLED}:
        said += _corners(problem)
    if bass is not None:
        said += _by_the_sum(problem, space, design)
        said += _as_built(problem, space, design)
        standing = list(_standing(problem, space, design))
        said += _in_the_way(problem, space, design, standing)
        said += _in_platforms(problem, space, design, standing)
        said += _before_the_image(problem, space, design, standing)
    return said


def _corners(problem: Problem) -> list[str]:
    """On a room that what stands in it from floor to ceiling makes another shape than its box."""
    room = problem.room
    tall = [box for box in room.obstructions if box.z[1] - box.z[0] >= FULL * room.height]
    share = sum((box.x[1] - box.x[0]) * (box.y[1] - box.y[0]) for box in tall) / (room.length * room.width)
    if share < FILLED:
        return []
    names = listed(dict.fromkeys(f"'{box.name}'" for box in tall))
    return [
        f"This room is no box: {names} {'stands' if len(tall) == 1 else 'stand'} from floor to ceiling on {100 * share:.0f} % of "
        "its floor. The numbers on bass, modes and proportions are those of the whole box, and compare seats and arrangements "
        "only roughly; distances to walls are to its walls, though what stands there may be nearer."
    ]


def _control(kind: str) -> list[str]:
    """On weights that another remedy for the bass scales down."""
    factor = MODAL_CONTROL[kind]
    if factor == 1.0:
        return []
    return [
        f"{CONTROLS[kind]}, goals on midpoints and single modes count {100 * factor:.0f} % of the "
        "weight that the file gives them. The share is common practice and has no source."
    ]


def _computed(problem: Problem, space: Space) -> list[str]:
    """On what the bass is computed from."""
    layout, field = space.layout, space.layout.bass.field
    front = layout.acoustic_front.interval(space.bounds)
    said = (
        f"Bass is that of a rigid, empty box with a reverberation time of {field.reverberation_time:.2f} s, in third octaves "
        f"from {field.band[0]:.0f} Hz to {field.band[1]:.0f} Hz: it compares seats and arrangements. Doors, windows, light "
        "walls, furniture and people change it; measure before you buy."
    )
    if front[1] - front[0] > 1e-9:
        said += f" The box begins {show('length', layout.bass.front, problem.show)} from the front wall, in the middle of what the file allows."
    if layout.panels is not None and not layout.panels.is_constant:
        said += " Its reverberation time is that with the fewest panels."
    return [said]


def _by_the_sum(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On how closely the bass is computed, and on limits that lie within that of their ends."""
    layout = space.layout
    spread, dips = _summed(layout, design)
    errors = {row.number: table_error(layout, row, design) for row in layout.rows}
    spacing, error = float(RowBass(layout, layout.rows[0]).table.steps[1]), max(errors.values())
    itself = f"By the modal sum itself, seat-to-seat spread is {spread:.1f} dB and the deepest dip {max(dips.values()):.1f} dB."
    apart = show("length", spacing, problem.show)
    said = [
        f"While it searches, bass is read from a table of points {apart} apart, which at these rows is "
        f"proven to lie within {rounded_words(error, 1, up=True)} dB of the modal sum in any third octave. {itself}"
        if math.isfinite(error)
        else f"Bass is read from a table of points {apart} apart; a seat here lies so near a null that "
        f"nothing is proven of the table's error. {itself}"
    ]
    for bound in bounds_on(problem, space, ("seat_to_seat_spread", "deepest_dip")):
        value = spread if bound.row is None else dips[bound.row]
        # both measures are differences of two levels
        nearest = 2.0 * (error if bound.row is None else errors[bound.row])
        read = float(slack_of(bound.limit, bound.form.value(design)))
        if abs(read) <= nearest:
            said.append(_verdict(bound.limit, bound.row, read, value, problem.show))
    return said


def _summed(layout: Layout, design: Mapping[str, float]) -> tuple[float, dict[int, float]]:
    """Seat-to-seat spread and each row's deepest dip by the modal sum itself [dB]."""
    rows = {
        row.number: np.array([seat_levels(layout, row, x, design, table=False) for _, x in present(row, design)])
        for row in layout.rows
    }
    spread = float(modal.seat_to_seat_spread(levels=np.concatenate(list(rows.values()))))
    return spread, {number: float(modal.deepest_dip(levels=levels)) for number, levels in rows.items()}


def _built(problem: Problem, space: Space, design: Mapping[str, float]) -> Bass | None:
    """The bass room that a design makes, where that is another one than designs were sought for: all of them share one
    acoustic front and one reverberation time."""
    layout, whole = space.layout, {**space.settled, **design}
    begins, time = float(layout.acoustic_front.value(whole)), layout.bass.field.reverberation_time
    if problem.bass is not None and problem.bass.reverberation_time is None and problem.room.reverberation_time is None:
        time = float(decay_time(layout, int(OCTAVE_BANDS[0])).value(whole))
    if abs(begins - layout.bass.front) < SAME_PLACE and abs(time - layout.bass.field.reverberation_time) < SAME_TIME:
        return None
    return bass(problem, whole["bass.arrangement"], (begins, begins), layout.bass.field.ears, time)


def _as_built(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On the bass in the room that the design itself makes, and on limits that do not hold there."""
    built = _built(problem, space, design)
    if built is None:
        return []
    spread, dips = _summed(replace(space.layout, bass=built), design)
    sought, others = space.layout.bass, []
    if abs(built.front - sought.front) >= SAME_PLACE:
        others.append(f"begins {show('length', built.front, problem.show)} from the front wall")
    if abs(built.field.reverberation_time - sought.field.reverberation_time) >= SAME_TIME:
        others.append(f"has a reverberation time of {built.field.reverberation_time:.2f} s at {OCTAVE_BANDS[0]:.0f} Hz")
    said = (
        f"As this design is built the box {' and '.join(others)}: there the modal sum gives a seat-to-seat spread of {spread:.1f} dB "
        f"and a deepest dip of {max(dips.values()):.1f} dB."
    )
    for bound in bounds_on(problem, space, ("seat_to_seat_spread", "deepest_dip")):
        if float(slack_of(bound.limit, spread if bound.row is None else dips[bound.row])) < 0.0:
            said += f" {_limit_words(bound.limit, bound.row, problem.show)} does not hold there."
    return [said]


def _limit_words(limit: Limit, row: int | None, system: str) -> str:
    """One limit, as a sentence about it begins."""
    of = limit.measure.replace("_", " ") + ("" if row is None else f" of row {row}")
    return f"The limit on {of}, {bound_words(limit, system)},"


def _verdict(limit: Limit, row: int | None, read: float, value: float, system: str) -> str:
    """On one limit that the table's error may decide."""
    slack = float(slack_of(limit, value))
    decimals = max(2, ends_decimals("level", limit.at_least, limit.at_most))
    while abs(slack) > 0.0 and round(abs(slack), decimals) == 0.0 and decimals < 6:
        decimals += 1  # as many as tell the value from the limit's end
    if slack < 0.0:
        told = (
            "it does not hold by the sum, whatever the table says"
            if read >= 0.0
            else "it does not hold by the sum either"
        )
    else:
        told = "it holds by the sum too" if read >= 0.0 else "it holds by the sum"
    return (
        f"{_limit_words(limit, row, system)} is nearer its end than the table is proven to be right. By the modal "
        f"sum the value is {show('level', value, decimals=decimals)}: {told}."
    )


# --- where the loudspeakers stand -----------------------------------------------------------------


def _own(space: Space, design: Mapping[str, float]) -> bool:
    """Whether the loudspeakers stand where the file itself puts them."""
    return design.get("bass.arrangement", space.settled.get("bass.arrangement")) == OWN


def bass_places(problem: Problem, space: Space, design: Mapping[str, float]) -> list[tuple[float, float, float]]:
    """Where the bass loudspeakers stand (x, y, z) [m], in the order of the field's sources; none where the file has no bass.

    Usual arrangements are told in shares of the design's own acoustic length; the bass itself is reckoned with the middle
    of all that the front may be. Beside a baffle that leaves no space for a cabinet, theirs are at its edge. Of places of
    the file's own those in the baffle are at its face, those beside it where the file has them."""
    given, bass = problem.bass, space.layout.bass
    if given is None or bass is None:
        return []
    front, left, right = _front(space, design)
    if _own(space, design):
        return [(x, max(y, front) if left <= x <= right else y, z) for x, y, z in given.positions]
    scale = (space.layout.length - front) / bass.field.size[0]
    places = [(x, front + y * scale, z) for y, x, z in bass.field.sources]
    if front <= 0.0:  # no baffle stands in the way
        return places
    least, most = (left if left < CABINET else 0.0), (right if space.layout.width - right < CABINET else math.inf)
    return [(min(max(x, least), most) if y <= front else x, y, z) for x, y, z in places]


def _front(space: Space, design: Mapping[str, float]) -> tuple[float, float, float]:
    """How far the face of a solid baffle is from the front wall (0 without one), and its edges from the left wall [m]."""
    layout = space.layout
    front, left, right = (
        float(one.value(design)) for one in (layout.acoustic_front, layout.baffle_left, layout.baffle_right)
    )
    return front, left, right


@dataclass(frozen=True)
class Stand:
    """One bass loudspeaker: its ``place`` (x, y, z), what its cabinet takes, and whether it is in a solid baffle. Metres."""

    place: tuple[float, float, float]
    body: Body
    inside: bool


def bass_stands(problem: Problem, space: Space, design: Mapping[str, float]) -> list[Stand]:
    """What the bass loudspeakers take, as they stand, in the order of the field's sources. The file says nothing of their
    size: each is one of usual size about its place, moved into what there is; one in a solid baffle is behind its face,
    as deep as there is room."""
    length, width, height = space.layout.length, space.layout.width, space.layout.height
    front, left, right = _front(space, design)
    found = []
    for x, y, z in bass_places(problem, space, design):
        before = front > 0.0 and left <= x <= right
        inside = before and y <= front
        if inside:
            deep, wide = (max(0.0, front - CABINET), front), cabinet(x, left, right)
        else:
            deep, ends = cabinet(y, front if before else 0.0, length), (0.0, width)
            free = (0.0, left) if x < left else (right, width)
            if not before and deep[0] < front and free[1] - free[0] >= CABINET:
                ends = free
            wide = cabinet(x, *ends)
        found.append(Stand((x, y, z), Body("bass loudspeaker", wide, deep, cabinet(z, 0.0, height)), inside))
    return found


def _standing(
    problem: Problem, space: Space, design: Mapping[str, float]
) -> Iterator[tuple[tuple[float, float], Body | None]]:
    """Where each loudspeaker is (from the left and from the front wall) and the cabinet that stands there; none of one that
    is in a solid baffle."""
    for one in bass_stands(problem, space, design):
        yield one.place[:2], None if one.inside else one.body


def _the_one(problem: Problem, place: tuple[float, float]) -> str:
    """A loudspeaker by where it is."""
    x, y = (show("length", value, problem.show) for value in place)
    return f"the one {x} from the left and {y} from the front wall"


Standing = Sequence[tuple[tuple, Body | None]]
"""Each bass loudspeaker's place, and what it takes where its height is known."""


def _in_the_way(problem: Problem, space: Space, design: Mapping[str, float], standing: Standing) -> list[str]:
    """On bass loudspeakers where something else has to be."""

    def taken(place: tuple, box: Body | None) -> Iterator[str]:
        doors = list(_at_doors(space, place))
        found = [f"where {_called('door', name)} is" for name in doors]
        if box is not None:
            found += _in_bodies(space, box, design, doors)
            found += _in_ways(problem, space, box, design)
        if found:
            yield f"stands {listed(found)}"

    told = _of_each(problem, standing, taken)
    if not told:
        return []
    size, own = show("length", CABINET, problem.show), _own(space, design)
    return [
        f"Bass loudspeakers (reckoned {size} wide and deep) are in the way: {told}. Nothing else may stand "
        f"there. {'Give other positions.' if own else 'Choose another arrangement, or give positions of your own.'}"
    ]


def _in_platforms(problem: Problem, space: Space, design: Mapping[str, float], standing: Standing) -> list[str]:
    """On bass loudspeakers within a platform, which runs from wall to wall: their heights are over the room's floor."""

    def within(place: tuple, box: Body | None) -> Iterator[str]:
        for row in () if box is None else space.layout.rows:
            ends = (platform_front(space.layout, row), platform_end(space.layout, row))
            front, end, high = (float(form.value(design)) for form in (*ends, row.platform))
            if _meet(box, Body("", box.x, (front, end), (0.0, high))):
                yield f"in that of row {row.number}, {show('length', high, problem.show)} high"

    told = _of_each(problem, standing, within)
    if not told:
        return []
    size = show("length", CABINET, problem.show)
    higher = "their z" if _own(space, design) else "bass.height"
    return [
        f"Bass loudspeakers (reckoned {size} wide, deep and high, their heights from the room's own floor) stand in platforms: "
        f"{told}. Leave the platform out there, or have them stand on it and give {higher} as it is then."
    ]


def _before_the_image(problem: Problem, space: Space, design: Mapping[str, float], standing: Standing) -> list[str]:
    """On bass loudspeakers before the eyes of those who look at the image."""

    def hides(place: tuple, box: Body | None) -> Iterator[str]:
        if box is not None and (views := hidden(space, design, [box])):
            yield f"hides {listed(one.words('it') for one in views)}"

    told = _of_each(problem, standing, hides)
    if not told:
        return []
    size = show("length", CABINET, problem.show)
    other = "Give other positions" if _own(space, design) else "Choose another bass.height, another arrangement"
    return [
        f"Bass loudspeakers (reckoned {size} wide, deep and high) stand before the image: {told}. {other} or a narrower image."
    ]


def _of_each(problem: Problem, standing: Standing, words: Callable[[tuple, Body | None], Iterator[str]]) -> str:
    """What there is to say of each loudspeaker, after what it is called; nothing where that is nothing."""
    return "; ".join(f"{_the_one(problem, place)} {said}" for place, box in standing for said in words(place, box))


def cabinet(at: float, low: float, high: float) -> tuple[float, float]:
    """From where to where a loudspeaker about a point reaches [m] in one direction, moved into what there is between two
    ends where its point is nearer to one of them."""
    first = max(min(at - 0.5 * CABINET, high - CABINET), low)
    return first, first + CABINET


def _called(kind: str, name: str) -> str:
    return f"'{name}'" if name else unnamed(kind)


def at_the_doors(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """The doors in whose way a bass loudspeaker stands, as they are called in a sentence."""
    if space.layout.bass is None:
        return []
    names = [name for place, _ in _standing(problem, space, design) for name in _at_doors(space, place)]
    return [f"the door '{name}'" if name else unnamed("door") for name in dict.fromkeys(names)]


def _at_doors(space: Space, place: tuple[float, float]) -> Iterator[str]:
    """Names of the doors in whose way a loudspeaker is."""
    for name, sweep in space.layout.sweeps:
        if _reaches(sweep, place):
            yield name


def _reaches(sweep: Sector, place: tuple[float, float]) -> bool:
    """Whether a door's sweep or opening comes within NEAR of a place, as seen along many directions."""
    angles = np.linspace(0.0, 2.0 * math.pi, 73)
    beyond = np.cos(angles) * place[0] + np.sin(angles) * place[1] - support(sweep, angle=angles)
    return float(beyond.max()) < NEAR


def _in_bodies(space: Space, box: Body, design: Mapping[str, float], told: list[str]) -> Iterator[str]:
    """Kept floor, but of the doors already told of, obstructions and rows that a loudspeaker stands in."""
    for kept in space.layout.kept:
        if kept.name not in told and _meet(box, kept):
            yield f"on the floor kept clear before {_called('opening', kept.name)}"
    for body in space.layout.bodies:
        if _meet(box, body):
            yield f"where {_called('obstruction', body.name)} is"
    for row in space.layout.rows:
        if _meet(box, _of_row(row, design)):
            yield f"in or under the chairs of row {row.number}"


def _of_row(row: Row, design: Mapping[str, float]) -> Body:
    """The row's reclined chairs and people, and what is below them."""
    return settled(Body("", row.span, (row.feet, row.back), (0.0, row.head)), design)


def _meet(one: Body, other: Body) -> bool:
    pairs = ((one.x, other.x), (one.y, other.y), (one.z, other.z))
    return all(a[0] < b[1] - 1e-6 and b[0] < a[1] - 1e-6 for a, b in pairs)


def _in_ways(problem: Problem, space: Space, box: Body, design: Mapping[str, float]) -> Iterator[str]:
    """Ways that a loudspeaker leaves too little of, by the measures of those ways themselves."""
    crowded = replace(space, layout=replace(space.layout, bodies=(*space.layout.bodies, box)))
    found = []
    for before, after in zip(bounds_on(problem, space, WAYS), bounds_on(problem, crowded, WAYS)):
        limit = after.limit
        if limit.at_least is None or (limit.measure == "aisle_width" and space.layout.aisle_sides == "none"):
            continue
        least, left = max(limit.at_least, LEAST_WAY), float(after.form.value(design))
        if left < least - 1e-6 and left < float(before.form.value(design)) - 1e-6:
            words = {
                "aisle_width": f"in the aisle beside row {after.row}",
                "walkway": f"in the way before row {after.row}",
                "rear_walkway": "in the way behind the last row",
                "rear_landing": "on the floor behind the last platform, where steps lead down",
            }[limit.measure]
            found += [words] if words not in found else []
    yield from found
