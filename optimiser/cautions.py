"""What a design must not leave unsaid where it could hurt someone. Codes and professionals decide."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from optimiser.bass_notes import at_the_doors
from optimiser.design import DOORWAY, Space, kept
from optimiser.forms import fixed
from optimiser.hanging import HEADROOM, below_the_projector, projector_in_the_room, settled
from optimiser.linear import constant
from optimiser.measures.base import Measure
from optimiser.measures.layout import Layout, Row
from optimiser.measures.people import (
    REAR_GOING,
    THRESHOLD,
    TOUCHES,
    any_guard,
    front_steps,
    laid_out,
    over_floors,
    platform_end,
    platform_front,
    rear_edge,
    rear_guard,
    rear_headroom,
    rear_landing,
    rear_steps,
    rise,
    riser_step,
    standing_headroom,
)
from optimiser.measures.safety import least_riser, passing_way, slope_of_going, stair_width, stride_of_going
from optimiser.measures.shape import least as least_of
from optimiser.measures.shape import over_treads, rectangle_clearance
from optimiser.measures.ways import at_aisles, way_beside
from optimiser.physics.stairs import CODES, aisle_accessway
from optimiser.problem.codes import EDITIONS, NONE, looser
from optimiser.problem.items import chosen
from optimiser.problem.model import Door, Opening, Problem
from optimiser.problem.shell import wall_height
from optimiser.quantity import show
from optimiser.requirements import all_limits, bounds_on
from optimiser.underfoot import LEVEL, PASSED, Walked, aisle_walls, level_stretch, low_things
from optimiser.words import bound_words, listed, measure_words, quantity_of, unnamed

DEFER = "Local codes decide; have a licensed professional confirm."

CLEAR_WIDTH = float(aisle_accessway(seats=1))
"""Metres between rows that are kept clear at least, as assembly seating is given."""

PLACE_WIDE, PLACE_BESIDE, PLACE_DEEP = 36 * 0.0254, 33 * 0.0254, 48 * 0.0254
"""Metres of clear floor that a wheelchair's place has at least: wide, each wide where several are side by side, deep (2010
ADA Standards 802.1.2 and 802.1.3, as quoted by two copies of the text)."""

SHOULDER = 0.2
"""Metres from a wall within which nobody's head comes: common practice, no source."""


def cautions(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """Sentences to print beside this design, in a fixed order."""
    rows = space.layout.rows
    heights = [float(row.platform.value(design)) for row in rows]
    said = _of_codes(problem)
    if any(h > 0.0 for h in heights):
        said.append(
            "Steps and platforms: keep risers even, mark and light the edges, and build platforms to carry a crowd. "
            + DEFER
        )
        said += _steep(problem, space, design) + _low(problem, space, design) + _behind(problem, space, design)
        if max(heights) > CODES["adk_guard_drop_dwelling"].value:
            said.append(
                "A platform lies more than 600 mm (23 5/8 in) above the floor: some codes ask for a guard at its open sides, "
                "others from 30 in (762 mm). " + DEFER
            )
    low, lowest = min((float(standing_headroom.form(space.layout, row).value(design)), row.number) for row in rows)
    if low < CODES["irc_ceiling_least"].value:
        stairs = CODES["irc_stair_headroom_least"].value
        other = show("length", CODES["adk_headroom_least"].value, problem.show)
        strikes = f"Codes give stairs {other} to {show('length', stairs, problem.show)}: who gets up here may strike their head"
        said.append(
            f"Headroom over row {lowest} is {show('length', low, problem.show)}, under 7 ft (2.13 m): check it against the code for "
            "habitable rooms and for stairs. "
            + (strikes + _limited(problem, space, "standing_headroom", {lowest: low}) if low < stairs - LEVEL else "")
            + DEFER
        )
    behind = _behind_the_last_row(space, design)
    if behind is not None and behind < min(low, CODES["irc_stair_headroom_least"].value) - LEVEL:
        said.append(
            f"Behind the last row the ceiling, or what hangs there, comes down to {show('length', behind, problem.show)} over its "
            "floor. Nobody should have to pass or stand up under it"
            + _limited(problem, space, "rear_headroom", {None: behind})
            + DEFER
        )
    told = min(low, CODES["irc_stair_headroom_least"].value, *([] if behind is None else [behind]))
    beside, row = min((_beside(space, design, row), row.number) for row in rows)
    if beside < told - LEVEL:
        said.append(
            f"Beside row {row}, or before it, {show('length', SHOULDER, problem.show)} or more from the side walls and the rear wall "
            "(nearer to them no head is reckoned with, though it may be lower there), the ceiling or what hangs there comes down to "
            f"{show('length', beside, problem.show)} over the floor{' or the platform there' if heights[row - 1] > 0.0 else ''}; limits on "
            "headroom look at chairs and aisles alone. Nobody should have to pass under it: keep people away, or pad it and mark "
            "it. " + DEFER
        )
    said += _over_steps(problem, space, design)
    if any_guard(space.layout, design):
        said.append(
            "Guards: their strength, their openings and their height beside steps are for a qualified person to design; only their "
            "height and what they hide of the image are reckoned with here. " + DEFER
        )
    said += _tight(problem, space, design) + _past_the_rows(problem, space, design)
    if problem.seating.wheelchair is not None:
        said.append(
            f"The place for a wheelchair is clear floor of {_size_of_place(problem)}. The way to it, its width, turning space, "
            f"doors and ramps are not checked. {_small_place(problem)}" + DEFER
        )
    said += _not_level(problem, space, design)
    if problem.room.doors:
        said.append(
            "Exits: keep every door, its swing and the way to it clear, also with chairs reclined and in the dark. "
            + DEFER
        )
    elif _ways(problem):
        said.append(
            "Exits: the file names openings and no door. Keep every opening that leads out and the way to it clear, also with "
            "chairs reclined and in the dark. " + DEFER
        )
    else:
        said.append("The file names no door: show the ways out, and keep them clear. " + DEFER)
    said += _blocked(problem, space, design) + _under_low_walls(problem) + _underfoot(problem, space, design)
    doors = at_the_doors(problem, space, design)
    if doors:
        said.append(
            f"A bass loudspeaker stands in the way of {listed(doors)}, for which no limit asks: give it another place, so that all can "
            "leave in the dark. " + DEFER
        )
    said += [
        _threshold(problem, way, floor, *_before(space, design, way))
        for way, floor in thresholds(problem, space, design)
    ]
    said += _onto_steps(problem, space, design) + _beside_doors(problem, space, design)
    said += _up_to_the_first(problem, space, design) + _narrow_steps(problem, space, design)
    said += _at_windows(problem, space, design)
    room_below = below_the_projector(space, design)
    if room_below is not None and room_below < HEADROOM - LEVEL:
        said.append(
            f"The projector hangs about {show('length', room_below, problem.show)} above the floor below it, less than the "
            f"{show('length', HEADROOM, problem.show)} of headroom that stairs are commonly given: let nobody pass or stand up "
            "under it, and mark or shield it. " + DEFER
        )
    weight = None if space.layout.lens is None else chosen(problem, design).projector.weight
    if weight is not None:
        behind = design["projector.y"] > problem.room.length
        where = "stands or hangs behind the rear wall" if behind else "is fixed overhead"
        said.append(
            f"The projector weighs {show('mass', weight, problem.show)} and {where}: what it hangs from or stands on "
            "must carry it with a wide margin, and a second fixing must catch it. A qualified person should design and "
            "check both."
        )
    said.append(
        "Screen, frame, loudspeakers and anything hung overhead are heavy: fixings and structure are for a qualified person "
        "to design. Electrical work is for a licensed electrician."
    )
    said.append(
        "Loud sound harms hearing: set the system so that long listening stays within accepted exposure limits."
    )
    return said


def _steep(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On risers higher than stairs are given, where no code's limits are asked for."""
    if problem.codes != NONE:
        return []
    most, other = CODES["irc_riser_most"].value, CODES["adk_private_riser_most"].value
    each, _ = _risers(problem, space, design, riser_step, lambda step: step > most + LEVEL)
    if not each:
        return []
    return [
        f"Risers are high: {each}. Stairs in dwellings are given {show('length', most, problem.show)} at most by some codes, "
        f"{show('length', other, problem.show)} by others. Allow more risers (seating.platform.risers), or set a limit on "
        "riser_step. " + DEFER
    ]


def _limited(problem: Problem, space: Space, measure: str, low: Mapping[int | None, float]) -> str:
    """How a sentence on so ``low`` values of a measure [SI] ends, by rows (None: of the whole design): by what a limit on
    it does there, or would do."""
    asked: dict[int | None, list[float]] = {row: [] for row in low}
    for bound in bounds_on(problem, space, (measure,)):
        if bound.limit.at_least is not None and not bound.own:
            asked.get(bound.row, []).append(bound.limit.at_least)
    if not all(asked.values()):  # one on another row is none here
        return f": set a limit on {measure}. "
    # one that is broken is told as such
    passed = all(max(asked[row]) <= value + LEVEL for row, value in low.items())
    return f", though the limit on {measure} lets it pass. " if passed else ". "


def _low(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On risers lower than steps are given."""
    least, other = CODES["ibc_aisle_riser_least"].value, CODES["adk_private_riser_least"].value
    each, low = _risers(problem, space, design, least_riser, lambda step: step < least - LEVEL)
    if not each:
        return []
    return [
        f"Risers are low: {each}. A low step is easily missed, and people trip over it: some codes ask for "
        f"{show('length', least, problem.show)} at least, others for {show('length', other, problem.show)}. Keep the row on the "
        "level of the one in front, or have a higher step" + _limited(problem, space, "least_riser", low) + DEFER
    ]


def _tight(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On rows that nobody can walk along."""
    ways = [(row, float(passing_way.form(space.layout, row).value(design))) for row in space.layout.rows]
    tight = [
        f"{show('length', way, problem.show)} {'behind' if row.bar else 'before'} row {row.number}"
        for row, way in ways
        if way < CLEAR_WIDTH - LEVEL
    ]
    if not tight:
        return []
    return [
        f"The way to the seats is narrow: {listed(tight)}, with the chairs of the row upright and those in front reclined. Between rows of "
        f"assembly seats {show('length', CLEAR_WIDTH, problem.show)} are kept clear at least: set a limit on passing_way or on "
        "walkway. " + DEFER
    ]


def _past_the_rows(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On rows that one leaves by a narrow way beside them, since every way out lies behind them and no aisle is asked for."""
    layout, ways = space.layout, _ways(problem)
    if layout.aisle_sides != "none" or not ways:
        return []
    nearest = min(0.0 if way.wall == "front" else layout.length if way.wall == "rear" else way.jambs[0] for way in ways)
    tight = []
    for row in layout.rows:
        y = platform_front(layout, row), row.back
        wider = max(float(way_beside(layout, row, side, y).value(design)) for side in ("left", "right"))
        if not row.bar and float(row.back.value(design)) <= nearest + LEVEL and wider < PASSED - LEVEL:
            tight.append(f"{show('length', wider, problem.show)} beside row {row.number}")
    if not tight:
        return []
    return [
        f"Every way out lies behind the seats, and the wider way past them is narrow: {listed(tight)}. Less than "
        f"{show('length', PASSED, problem.show)} is hard to pass in the dark: give the file an aisle (seating.aisle), or set a limit on "
        "aisle_width. " + DEFER
    ]


def _behind(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On the edge of a last platform that ends before the rear wall, and the steps down from it."""
    last, steps = space.layout.rows[-1], rear_steps(space.layout, design)
    if not steps:
        return []
    edge, high = steps[0]

    def length(value: float) -> str:
        return show("length", value, problem.show)

    drop, guard = float(last.platform.value(design)), rear_guard(space.layout, design)
    near = edge - float(last.back.value(design))
    words = f"The last platform ends {length(near)} behind its chairs, where the floor lies {length(drop)} lower"
    words += ". " if guard is not None else ": nothing keeps a chair or a foot from that edge. "
    words += f"{len(steps)} riser{'s' if len(steps) > 1 else ''} of {length(high)} lead{'' if len(steps) > 1 else 's'} down there"
    if len(steps) > 1:
        words += f", beside the chairs on treads of {length(REAR_GOING)}"
    front = float(platform_front(space.layout, last).value(design))
    needed, deep = edge - steps[-1][0], edge - front
    landing, least = float(rear_landing.form(space.layout).value(design)), CODES["irc_landing_least"].value
    if needed > deep + LEVEL:
        words += (
            f". That is {length(needed)} of treads, and the platform is no more than {length(deep)} deep: not all of these steps can "
            "be cut into it. End it farther behind its chairs (seating.platform.behind), or have the rest stand on the floor "
            "behind it, clear of any door"
        )
    elif len(steps) > 1 and steps[-1][0] < _way_in(last, design) - LEVEL:
        words += "; they take up the aisle as far as the way into the row, which is then no longer level"
    level = deep - needed
    if 0.0 <= level + LEVEL and level < least - LEVEL and front_steps(space.layout, last, design):
        words += (
            f". Between them and the steps up from the front the aisle is level for {length(max(0.0, level))} only, and some codes ask "
            f"for {length(least)} between flights: end the platform farther behind its chairs (seating.platform.behind)"
        )
    words += ". "
    if landing < least - LEVEL:
        words += (
            f"The floor that they end on is {length(landing)} deep, past what stands there, and some codes ask for {length(least)} at "
            "the foot of a stair" + _limited(problem, space, "rear_landing", {None: landing})
        )
    return [words + DEFER]


def _way_in(row: Row, design: Mapping[str, float]) -> float:
    """y [m] as far as the aisle beside a row must be level for people to walk into it: to its chairs, which are upright
    then, from before their feet; to a bar's stools from behind them."""
    return float(row.back.value(design)) + CLEAR_WIDTH if row.bar else float(row.upright_feet.value(design))


def _over_steps(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On little height over the steps up to a row."""
    layout, least = space.layout, CODES["irc_stair_headroom_least"].value
    over = {
        row.number: float(
            at_aisles(layout, lambda side, row=row: least_of(over_treads(layout, row, side))).value(design)
        )
        for row in layout.rows
    }
    low = {n: clear for n, clear in over.items() if clear < least - LEVEL}
    if not low:
        return []
    each = listed(f"{show('length', clear, problem.show)} over those up to row {n}" for n, clear in low.items())
    limited = _limited(problem, space, "aisle_headroom", low)
    if layout.aisle_sides == "none":  # no limit looks at steps that are in no aisle
        limited = ": let the file have an aisle (seating.aisle), and set a limit on aisle_headroom. "
    return [
        f"Little height is left over the steps, under the ceiling or what hangs there: {each}. Stairs are given "
        f"{show('length', least, problem.show)}" + limited + DEFER
    ]


def _risers(
    problem: Problem, space: Space, design: Mapping[str, float], measure: Measure, told: Callable[[float], bool]
) -> tuple[str, dict[int, float]]:
    """The risers that are to be ``told`` of, each with the row that it leads up to, and their heights [m] by that row;
    empty where there is none."""
    all_ = {row.number: float(measure.form(space.layout, row).value(design)) for row in space.layout.rows}
    steps = {number: step for number, step in all_.items() if told(step)}
    return listed(f"{show('length', step, problem.show)} up to row {n}" for n, step in steps.items()), steps


def _behind_the_last_row(space: Space, design: Mapping[str, float]) -> float | None:
    """Least height over the floors behind the last row [m]; None where nobody gets there."""
    high = float(rear_headroom.form(space.layout).value(design))
    return high if math.isfinite(high) else None


def _beside(space: Space, design: Mapping[str, float], row: Row) -> float:
    """Least height from wall to wall over a row's platform [m], and over the floor before the first row."""
    layout = space.layout
    x = constant(SHOULDER), constant(layout.width - SHOULDER)
    front, end = platform_front(layout, row), platform_end(layout, row)
    wall = constant(layout.length - SHOULDER)
    floors = [((front, wall if row is layout.rows[-1] else end), row.platform)]
    if row is layout.rows[-1] and rear_edge(layout, design) is not None:
        floors = [((front, end), row.platform)]
        if float((wall - end).value(design)) > 0.0:
            floors.append(((end, wall), constant(0.0)))
    if row.number == 1:
        floors.append(((layout.image_y, front), constant(0.0)))
    return float(over_floors(layout, x=x, floors=floors, above=row.head).value(design))


@dataclass(frozen=True)
class Way:
    """A door, or an opening without one: its wall, its extent along it, and the level [m] that it is at."""

    name: str
    wall: str
    jambs: tuple[float, float]
    level: float
    door: bool
    given: Door | Opening  # as the file has it

    @property
    def kind(self) -> str:
        """What it is called."""
        return "door" if self.door else "opening"


def _ways(problem: Problem) -> list[Way]:
    room = problem.room
    doors = [Way(one.name, one.wall, one.jambs, one.level, True, one) for one in room.doors]
    return doors + [Way(one.name, one.wall, one.along, one.z[0], False, one) for one in room.ways]


def thresholds(problem: Problem, space: Space, design: Mapping[str, float]) -> list[tuple[Way, float]]:
    """Ways in at another level than that of the floor [m] within, which is a platform's where one reaches the way:
    where several do, or end before it, the level that differs most."""
    found = []
    for way in _ways(problem):
        platforms, floor_too = _before(space, design, way)
        floor = max([*platforms, *([0.0] if floor_too else [])], key=lambda level: abs(level - way.level))
        if abs(floor - way.level) > LEVEL:
            found.append((way, floor))
    return found


def _reach(layout: Layout, way: Way) -> tuple[float, float]:
    """From where to where along the room [m] a way in reaches."""
    return {"front": (0.0, 0.0), "rear": (layout.length, layout.length)}.get(way.wall, way.jambs)


def _before(space: Space, design: Mapping[str, float], way: Way) -> tuple[list[float], bool]:
    """Heights [m] of the platforms that reach a way in, and whether the room's own floor lies before it too."""
    layout = space.layout
    first, last = _reach(layout, way)
    levels, covered = [], 0.0
    for row in layout.rows:
        start, end = (float(e.value(design)) for e in (platform_front(layout, row), platform_end(layout, row)))
        common = _common((start, end), (first, last))
        # a platform that ends at the wall reaches the doors in it, though its end is a sum; beside a door it only touches
        reaches = common > LEVEL if last > first else common >= -TOUCHES
        if reaches and row.platform.value(design) > 0.0:
            levels.append(float(row.platform.value(design)))
            covered += common
    return levels, not levels or covered < last - first - LEVEL


def _size_of_place(problem: Problem) -> str:
    """The size of a place for a wheelchair, and where it is from."""
    place = problem.seating.wheelchair
    assert place is not None
    size = _floor_of(problem, place.width, place.depth)
    return f"{size} ({place.source or 'as the file has it, without a source'})"


def _floor_of(problem: Problem, width: float, depth: float) -> str:
    """A size of clear floor [m] in words."""
    return f"{show('length', width, problem.show)} by {show('length', depth, problem.show)}"


def _small_place(problem: Problem) -> str:
    """On a place for wheelchairs that is smaller than public ones are; empty where it is none."""
    place = problem.seating.wheelchair
    assert place is not None
    least = PLACE_WIDE if place.places == 1 else PLACE_BESIDE
    if place.width >= least - LEVEL and place.depth >= PLACE_DEEP - LEVEL:
        return ""
    each = "" if place.places == 1 else " for each"
    return (
        f"The file gives {_floor_of(problem, place.width, place.depth)}{each}; a standard for public places asks for "
        f"{_floor_of(problem, least, PLACE_DEEP)} "
        "at least. "
    )


def _not_level(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On places for wheelchairs to which steps lead from every way in: platforms run from wall to wall."""
    row, ways = space.layout.wheelchair_row, _ways(problem)
    if row is None or not ways:
        return []
    (first, last), level = level_stretch(space.layout, design, float(row.y.value(design)))

    def on_the_level(way: Way) -> bool:
        near, far = _reach(space.layout, way)
        return first - LEVEL <= near and far <= last + LEVEL and abs(way.level - level) <= THRESHOLD + LEVEL

    if any(on_the_level(way) for way in ways):
        return []
    names = listed([_named(way.kind, way.name) for way in ways])
    return [
        f"The place for a wheelchair in row {row.number} cannot be reached on the level: steps or a platform's edge lie between it and "
        f"{names}, and no ramp or lift is in the design. Have a way in at the level of its row, or give the place to a row at the "
        "level of a way in (seating.wheelchair.row). " + DEFER
    ]


@dataclass(frozen=True)
class Flight:
    """Steps beside the rows, or one at a platform's edge: in words, from where to where along the room [m], and the row
    whose limit on door_to_step sees them."""

    where: str
    ends: tuple[float, float]
    row: int
    how: str = ""


def _onto_steps(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On doors and openings beside the rows, within whose width steps lie."""
    layout, said = space.layout, []
    for way in _ways(problem):
        for flight in _flights(layout, design) if way.wall in aisle_walls(layout, design) else ():
            if _common(flight.ends, way.jambs) > LEVEL:
                first, edge = (show("length", end, problem.show) for end in flight.ends)
                asked = f"; {_limit_asks(problem)}" if way.door else ""
                said.append(
                    f"{_begun(_named(way.kind, way.name))} opens on to the steps {flight.where}, {flight.how} from {first} to {edge} from "
                    f"the front wall. Codes commonly ask for level floor before a {'door' if way.door else 'way through'}{asked}. "
                    + DEFER
                )
    return said


def _up_to_the_first(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On steps up to the first row: where they lie, if the file does not say it, and what no limit asks of them."""
    layout, first = space.layout, space.layout.rows[0]

    def length(value: float) -> str:
        return show("length", value, problem.show)

    steps = front_steps(layout, first, {**space.settled, **design})
    if len(steps) < 2 or float(first.platform.value(design)) <= LEVEL:
        return []
    if not laid_out(first):
        return [
            f"{len(steps)} risers lead up to row 1, and nothing says where they lie: keep floor before its platform free for them, also "
            "of doors' swings; no limit does. With a depth for steps (seating.platform.going) they are laid out beside the row, before "
            "its platform. " + DEFER
        ]
    said = []
    face = float(layout.baffle_depth.value(design))
    landing, least = steps[0][0] - face, CODES["irc_landing_least"].value
    if landing < least - LEVEL:
        before = "the wall in front" if face <= LEVEL else "the baffle wall"
        left = f"leave {length(landing)} of floor before {before}" if landing > LEVEL else f"reach into {before}"
        said.append(
            f"The {len(steps)} risers up to row 1 {left}, and some codes ask for {length(least)} at the foot of a stair; no limit "
            "looks at it. " + DEFER
        )
    built = {
        "step_going": fixed(first.going),
        "walking_line": stride_of_going(layout, first, first.going),
        "aisle_slope": slope_of_going(layout, first, first.going),
    }
    for limit in all_limits(problem):
        if limit.measure not in built or limit.row not in ("all", "worst"):  # one row is another
            continue
        value, (low, high) = float(built[limit.measure].value({**space.settled, **design})), limit.ends
        if (low is not None and value < low - LEVEL) or (high is not None and value > high + LEVEL):
            said.append(
                f"Of the steps up to row 1 {limit.measure} is {show(quantity_of(limit), value, problem.show)}, where the limit asks for "
                f"{bound_words(limit, problem.show)}: it counts from the second row on. " + DEFER
            )
    return said


def _narrow_steps(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On steps in an aisle that are narrower than the file asks an aisle to be, past what stands there."""
    layout, whole = space.layout, {**space.settled, **design}
    wide = {row.number: float(stair_width.form(layout, row).value(whole)) for row in layout.rows}
    low = {n: way for n, way in wide.items() if way < layout.aisle_width - LEVEL}
    if not low:
        return []
    each = listed(f"{show('length', max(0.0, way), problem.show)} up to row {n}" for n, way in low.items())
    return [
        f"The way over the steps is narrower than the aisle, past what stands there: {each}, where the file asks for "
        f"{show('length', layout.aisle_width, problem.show)}" + _limited(problem, space, "stair_width", low) + DEFER
    ]


def _beside_doors(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On steps close beside a door or an opening in a side wall, where none lie within its width."""
    layout, said = space.layout, []
    least, at_a_step = CODES["adk_door_to_step_least"].value, [way for way, _ in thresholds(problem, space, design)]
    for way in _ways(problem):
        if way.wall not in ("left", "right") or way in at_a_step:
            continue
        there = [
            *_edges(layout, design),
            *(_flights(layout, design) if way.wall in aisle_walls(layout, design) else ()),
        ]
        gap, near = min(
            ((-_common(one.ends, way.jambs), one) for one in there), key=lambda it: it[0], default=(least, None)
        )
        if near is None or not -LEVEL <= gap < least - LEVEL:
            continue  # far off, or told of as steps that it opens on to
        limited = _limited(problem, space, "door_to_step", {near.row: gap}) if way.door else ". "
        said.append(
            f"The way {near.where} has a step {show('length', gap, problem.show)} beside {_named(way.kind, way.name)}: who comes in, or "
            f"leaves in the dark, may miss it. Some codes ask for {show('length', least, problem.show)} between a door and a stair"
            + limited
            + DEFER
        )
    return said


def _at_windows(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On windows that lie low over a platform, which the room's own floor would leave higher."""
    glass, sill = CODES["adk_glass_above_floor_least"].value, CODES["irc_window_sill_least"].value
    said = []
    for one in (opening for opening in problem.room.openings if opening.kind == "window"):
        platforms, _ = _before(space, design, Way(one.name, one.wall, one.along, one.z[0], False, one))
        floor = max(platforms, default=0.0)
        if floor <= LEVEL or not one.z[0] < floor + glass - LEVEL or floor >= one.z[1] - LEVEL:
            continue
        low = one.z[0] - floor
        lies = f"begins {show('length', low, problem.show)} above" if low > LEVEL else "reaches down to or below"
        said.append(
            f"{_begun(_named('window', one.name))} {lies} a platform that is {show('length', floor, problem.show)} high: who stands or "
            f"stumbles there may fall against it, or out of it. Some codes ask for a guard where a window that opens begins less than "
            f"{show('length', sill, problem.show)} above the floor, and for safety glass less than {show('length', glass, problem.show)} "
            "above it; no limit looks at windows. " + DEFER
        )
    return said


def _edges(layout: Layout, design: Mapping[str, float]) -> Iterator[Flight]:
    """The steps at the edges of platforms, which run from wall to wall."""
    for row in layout.rows:
        if abs(float(rise(layout, row).value(design))) > LEVEL:
            edge = float(platform_front(layout, row).value(design))
            yield Flight(f"up to row {row.number}", (edge, edge), row.number)
    if (end := rear_edge(layout, design)) is not None:
        yield Flight("down behind the last row", (end, end), layout.rows[-1].number)


def _flights(layout: Layout, design: Mapping[str, float]) -> Iterator[Flight]:
    """Steps in the aisles: before a platform's edge, and cut into the last platform."""
    for row in layout.rows:
        steps = front_steps(layout, row, design) if laid_out(row) else ()
        if len(steps) > 1 and float(rise(layout, row).value(design)) > LEVEL:
            yield Flight(f"up to row {row.number}", (steps[0][0], steps[-1][0]), row.number, "which lie before it")
    steps = rear_steps(layout, design)
    if len(steps) > 1:
        ends = steps[-1][0], steps[0][0]
        yield Flight("down behind the last row", ends, layout.rows[-1].number, "which are cut into its platform")


def _blocked(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On what the file itself puts in the way of a door or an opening: no limit asks for it, for nothing that is decided
    here could mend it; and on a projector that hangs there."""
    room, projector, said = problem.room, projector_in_the_room(space, design), []
    bodies = [settled(body, design) for body in space.layout.bodies]
    hung = [] if projector is None else [projector]
    high = f"{show('length', DOORWAY, problem.show)} high"
    for door, (_, sweep) in zip(room.doors, space.layout.sweeps, strict=True):
        for body in (*bodies, *hung):
            x, y = (tuple(constant(end) for end in ends) for ends in (body.x, body.y))
            deep = -float(rectangle_clearance(sweep, x, y).value({}))
            strikes = door.opens == "in" and deep > LEVEL
            if not strikes or _common(body.z, (door.level, door.level + DOORWAY)) <= LEVEL:
                continue
            if body is projector:
                said.append(
                    f"{_begun(_named('door', door.name))} cannot open as this design has it: the projector hangs "
                    f"{show('length', deep, problem.show)} in what its leaf sweeps, which is taken to be {high}. Give either another "
                    "place. " + DEFER
                )
            else:
                said.append(
                    f"{_begun(_named('door', door.name))} cannot open as the file has it: '{body.name}' stands "
                    f"{show('length', deep, problem.show)} in what its leaf sweeps. Check both in the file. " + DEFER
                )
    for way in _ways(problem):
        clear = kept(way.given, length=room.length, width=room.width)
        for body in (*bodies, *hung):
            over = _common(body.x, clear.x), _common(body.y, clear.y), _common(body.z, (way.level, clear.z[1]))
            if min(over) <= LEVEL:
                continue
            if body is projector:
                said.append(
                    f"The projector hangs over the floor that {_named(way.kind, way.name)} keeps clear before it, less than "
                    f"{show('length', DOORWAY, problem.show)} over it. "
                    "Give either another place. " + DEFER
                )
            else:
                said.append(
                    f"'{body.name}' is on or over the floor that {_named(way.kind, way.name)} keeps clear before it. Check both in the "
                    "file. " + DEFER
                )
    return said


def _under_low_walls(problem: Problem) -> list[str]:
    """On doors, windows and openings that are higher than their wall, under a ceiling that comes down to it."""
    room, said = problem.room, []
    for door in room.doors:
        wall = wall_height(room, door.wall, door.jambs)
        if wall < door.level + DOORWAY - LEVEL:
            said.append(
                f"The wall is {show('length', wall, problem.show)} high at most at {_named('door', door.name)}, less than the "
                f"{show('length', DOORWAY, problem.show)} over its threshold that a doorway is taken to have here: who comes in may "
                "strike their head, if the door is there at all. " + DEFER
            )
    for opening in room.openings:
        wall = wall_height(room, opening.wall, opening.along)
        if opening.z[1] > wall + LEVEL:
            said.append(
                f"{_begun(_named(opening.kind, opening.name))} reaches {show('length', opening.z[1], problem.show)} up, but its wall is "
                f"{show('length', wall, problem.show)} high there at most, under the ceiling. Check both in the file."
            )
    return said


def _underfoot(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On low things where people walk."""
    room, doorways, ways_in = problem.room, [], []
    for way in _ways(problem):
        wide = replace(way.given, keep=max(way.given.keep, PASSED))
        before = kept(wide, length=room.length, width=room.width)
        ways_in.append(before.y)
        if way.given.keep < PASSED:  # what stands on floor that is kept clear is told of as standing there
            doorways.append(Walked(f"before {_named(way.kind, way.name)}", before.x, before.y, way.level))
    return [
        f"'{name}' rises {show('length', high, problem.show)} above the floor where people "
        f"walk: {listed(where)}. So low a thing is easily missed in the dark, and people trip over it: take it away or level "
        "it with the floor, else mark and light it. " + DEFER
        for name, (high, where) in low_things(space, design, doorways, ways_in).items()
    ]


def _common(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Length that two stretches have in common; negative: how far they are apart."""
    return min(one[1], other[1]) - max(one[0], other[0])


def _named(kind: str, name: str) -> str:
    """A door or an opening by its name, where it has one."""
    return f"{kind} '{name}'" if name else unnamed(kind)


def _begun(words: str) -> str:
    """Words as a sentence begins."""
    return words[:1].upper() + words[1:]


def _threshold(problem: Problem, way: Way, floor: float, platforms: Sequence[float], floor_too: bool) -> str:
    """On a way in at another level than the floor within; which ``platforms`` reach it, and whether the room's own floor
    lies before it too."""
    high = abs(floor - way.level)
    step = show("length", high, problem.show)
    up = "up" if floor > way.level else "down"
    if not way.door:
        asked = "before a way through; no limit asks for it at an opening, and the height that is left in it is not checked. "
    elif platforms and high <= THRESHOLD + 1e-9:
        asked = (
            f"before a door; a limit on door_to_step lets {show('length', THRESHOLD, problem.show)} pass, over which one "
            "may trip all the same. "
        )
    elif platforms:
        asked = (
            f"before a door, and {_limit_asks(problem)} here; the height that is left in the doorway is not checked. "
        )
    else:
        asked = (
            "before a door; no limit asks for it where no platform reaches the door, and the landing or the steps that lead "
            "down from it are not in the design. "
        )
    edges = "" if len({*platforms, *([0.0] if floor_too else [])}) == 1 else "A platform's edge lies within its width. "
    return (
        f"{_begun(_named(way.kind, way.name))} opens on to a step of {step} {up} into the room. {edges}Codes commonly ask for level floor {asked}"
        + DEFER
    )


def _limit_asks(problem: Problem) -> str:
    """What a limit on door_to_step asks for, or would ask for if there were one."""
    if any(limit.measure == "door_to_step" for limit in all_limits(problem)):
        return "the limit on door_to_step asks for it"
    return "a limit on door_to_step, if there were one, would ask for it"


WALKED = (
    "riser_step",
    "least_riser",
    "riser_difference",
    "step_going",
    "walking_line",
    "aisle_slope",
    "stair_width",
    "standing_headroom",
    "aisle_headroom",
    "rear_headroom",
    "rear_landing",
    "guard_drop",
    "unguarded_drop",
    "guard_height",
    "door_to_step",
    "wheelchair_rise",
)
"""Measures of what people climb, fall from, strike their heads on or leave by."""


def of_limits(problem: Problem) -> str | None:
    """What to say where limits are weighed against one another and some of them keep people from harm."""
    if any(limit.measure in WALKED for limit in problem.limits):
        return "Steps, guards, headroom and exits are not to be traded for a better picture. " + DEFER
    return None


def of_designs(problem: Problem, designs: Sequence[tuple[str, Space, Mapping[str, float]]]) -> list[str]:
    """Sentences to print beside several designs, given with their names: each once, in the order of its first design;
    those that are not about all of them say about which they are."""
    found: dict[str, list[str]] = {}
    for name, space, design in designs:
        for said in cautions(problem, space, design):
            found.setdefault(said, []).append(f"'{name}'")
    return [said if len(of) == len(designs) else f"{listed(of)}: {said}" for said, of in found.items()]


def of_study(designs: Iterable[Mapping[str, Any]]) -> str | None:
    """What to say beside a table of many designs (as records keep them), that has no room for the cautions
    of each; None where it has no design."""
    raised = [any(name.endswith(".platform") and height > 0.0 for name, height in d.items()) for d in designs]
    if not raised:
        return None
    steps = "steps, platforms, guards, headroom, " if any(raised) else ""
    return (
        f"Each of these designs decides {steps}ways out and what hangs overhead; 'optimiser solve' tells its cautions in full. "
        + DEFER
    )


def _of_codes(problem: Problem) -> list[str]:
    """Whose limits on steps, guards and headroom these are, and which of them the file has loosened."""
    if problem.codes == NONE:
        return []
    said = [
        f"Codes: limits on steps, guards and headroom are those of the {EDITIONS[problem.codes]}, some of them as quoted by others "
        "or from memory, and only what a plan of rows can show: handrails, lighting, materials, ways of escape and more are not "
        "checked. " + DEFER
    ]
    for mine, code in looser(problem):
        said.append(
            f"The file's own limit on {measure_words(mine.measure)}, {bound_words(mine, problem.show)}, is looser than "
            f"{bound_words(code.limit, problem.show)} of the {code.code.edition}, {code.code.clause}. " + DEFER
        )
    return said
