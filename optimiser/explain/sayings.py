"""How demands, conflicts and concessions read, in plain words with their numbers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from optimiser.explain.concessions import Aside, Concession, Loosening
from optimiser.explain.conflicts import Conflict, RoomNeed, Shortfall
from optimiser.explain.freedom import Scope, Subject
from optimiser.explain.members import Member, members, name_of, settled, values_of
from optimiser.explain.prices import Move, Price
from optimiser.explain.steps import fine, rounded_up, shown_up
from optimiser.measures import catalogue
from optimiser.physics.materials import OCTAVE_BANDS
from optimiser.problem.decisions import Words, bounds_of, ends_of
from optimiser.problem.model import Choice, Fixed, Limit, Problem, Range
from optimiser.problem.parts import part
from optimiser.quantity import show
from optimiser.requirements import all_limits, stated_at
from optimiser.standing import Broken
from optimiser.words import decision_words, listed, measure_words, remedy_words, rounded_words, value_words

_OWN = {
    "side_room": "the baffle wall inside the room's width",
    "frame_to_ceiling": "the frame under the ceiling",
    "frame_to_floor": "the frame above the floor",
    "door_clearance": "the door's swing clear of the baffle wall",
    "front_obstruction_clearance": "the baffle wall and the frame clear of obstructions",
    "opening_clearance": "the front clear of the floor before windows, openings and outward doors",
    "row_opening_clearance": "each row clear of the floor before windows, openings and outward doors",
    "door_row_clearance": "the doors' swing clear of each row",
    "walkway": "each row's feet clear of what is in front",
    "rear_walkway": "the last row's chairs in front of the rear wall",
    "rear_landing": "the last platform in front of the rear wall",
    "door_platform_clearance": "each platform clear of what inward doors sweep",
    "row_to_wall": "each row inside the room's width",
    "riser_step": "no row lower than the one in front",
    "seated_headroom": "heads under the ceiling",
    "row_obstruction_clearance": "each row clear of obstructions and the projector",
    "row_gap": "each row's feet, or its counter, behind the backs in front",
    "wheelchair_rise": "no step up to the place for wheelchairs",
}
"""What the room itself asks for, where it asks for no more than zero, or none."""

_DIMENSIONS = {"room.length": "long", "room.width": "wide", "room.height": "high"}


def member_words(problem: Problem, member: Member) -> str:
    """A demand as a person reads it, with its number."""
    if member.about_limit:
        return _limit_words(problem, all_limits(problem)[member.index], member)
    return _part_words(problem, member)


def standing_words(problem: Problem, pinned: Mapping[str, str]) -> str:
    """What is to be said of choices that were pinned and that no room bounds, such as a thing of a list or the side of an
    aisle: they are no demands that could give way; empty where there is none."""
    known = {name_of(member.path) for member in members(problem)} | {"rows"}
    standing = listed(f"{name}={value}" for name, value in pinned.items() if name not in known)
    if not standing:
        return ""
    return (
        f"All of this is so with {standing}: such a choice counts as no demand that could give way, and with another one more "
        "may hold together."
    )


def place_words(problem: Problem, member: Member) -> str:
    """Where a demand stands in the file, if it does; with what else asks the same there."""
    if member.about_limit:
        limits = all_limits(problem)
        limit = limits[member.index]
        if limit.where is None:
            return stated_at(limit) or "the room's own"
        same = (limit.measure, limit.options, getattr(limit, member.end))
        others = (o for o in limits[len(problem.limits) :] if (o.measure, o.options, getattr(o, member.end)) == same)
        also = next((stated_at(other) for other in others if stated_at(other)), None)
        return f"line {limit.where.line}" + (f"; {also} asks the same" if also else "")
    value = part(problem, member.path).value
    where = getattr(value, "where", None)
    return f"line {where.line}" if where else ""


def row_phrase(row: str, per_row: bool = True) -> str:
    """Which rows a limit or goal means, as part of a sentence."""
    if not per_row or row in ("all", "worst"):
        return ""
    return {"reference": " in the reference row", "worst seat": " in every seat"}.get(row, f" in row {row}")


def _limit_words(problem: Problem, limit: Limit, member: Member) -> str:
    value = getattr(limit, member.end)
    if member.own and value == 0.0 and limit.measure in _OWN:
        return _OWN[limit.measure]
    measure = catalogue()[limit.measure]
    shown = show(measure.quantity, value, problem.show)
    if member.own and limit.measure == "baffle_margin":
        return f"{shown} of baffle beyond the frame at each side"
    if member.own and limit.measure == "aisle_width":
        return (f"an aisle of {shown}" if value else "an aisle of some width") + _beside(problem)
    words = measure_words(limit.measure, limit.options)
    return f"{words}{row_phrase(limit.row, measure.per_row)} {member.end.replace('_', ' ')} {shown}"


def _beside(problem: Problem) -> str:
    """What else takes of the room's width, where no demand names it: an aisle at one side of rows in the middle of
    the room needs as much at the other."""
    seating = problem.seating
    middle = seating.aisle.sides == "one" and seating.centre is None and problem.baffle.centred
    words = " beside rows in the middle of the room" if middle else ""
    return words + (" with a place for a wheelchair" if seating.wheelchair is not None else "")


def _part_words(problem: Problem, member: Member) -> str:
    at = part(problem, member.path)
    value = at.value

    def shown(number: float) -> str:
        return show(at.kind, number, problem.show)

    if member.path == "seating.platform.to":
        return f"platforms at most {shown(float(value))} high"  # type: ignore[arg-type]
    if member.path == "seating.platform.risers":
        return f"at most {shown(float(value))} risers to a row"  # type: ignore[arg-type]
    assert isinstance(value, (Fixed, Range, Choice))
    low, high = ends_of(value)
    if isinstance(value, Range):
        end = f"at least {shown(low)}" if member.kind == "from" else f"at most {shown(high)}"
        return f"{_named(member.path)} {end}"
    texts = listed((shown(v) for v in (value.values if isinstance(value, Choice) else (value.value,))), "or")
    if member.path == "seating.rows":
        return f"{texts} row{'' if texts == '1' else 's'}"
    if member.path == "seating.seats":
        return f"{texts} seat{'' if texts == '1' else 's'} in a row"
    if member.path == "seating.bar.seats":
        return f"{texts} place{'' if texts == '1' else 's'} at the bar"
    if member.path == "seating.platform.first" and value == Fixed(0.0):
        return "row 1 on the floor"
    return f"{_named(member.path)} {'' if name_of(member.path) == 'screen.aspect' else 'of '}{texts}"


def _named(path: str) -> str:
    shared = {
        "seating.seats": "seats in a row",
        "seating.bar.seats": "places at the bar",
        "seating.platform.first": "row 1, platform",
    }
    words = shared.get(path) or decision_words(name_of(path))
    return f"{words} of the {path.split('.')[2]} screen" if path.startswith("front.screens.") else words


# --- conflicts ----------------------------------------------------------------------------------


def conflict_words(problem: Problem, conflict: Conflict) -> str:
    """One conflict as a sentence or two: who is in it, and what room would hold them all."""
    if not conflict.members:
        return "Even without any limit the room has no place for the rows behind the image."
    who = listed(member_words(problem, m) for m in conflict.members)
    who = who[0].upper() + who[1:]
    if not conflict.needs:
        return f"{who} cannot hold together." if len(conflict.members) > 1 else f"{who} cannot hold."
    several = len(conflict.members) > 1
    alone = "by themselves" if several else "by itself"
    limits = all_limits(problem)
    waves = any(m.about_limit and limits[m.index].measure in _WAVES for m in conflict.members)
    return f"{who} {alone} {_need_words(problem, conflict.needs, several=several, waves=waves)}"


def way_out_words(problem: Problem, conflicts: Sequence[Conflict]) -> str:
    """What a file can say that may let its demands hold together; empty where nothing is known."""
    limits = all_limits(problem)
    concerned = [limits[m.index].measure for c in conflicts for m in c.members if m.about_limit]
    return " ".join(remedy_words(problem, concerned, {box: None for c in conflicts for box in c.boxes}))


def outcome_words(conceded: Concession | Aside) -> str:
    """What the best design scores where something gives way, and how far that is proven; empty where nothing is scored."""
    solution = conceded.solution
    if not solution.problem.goals or solution.score is None:
        return ""
    if solution.status == "optimal":
        return f"The best design then scores {solution.score:.1f}."
    none = "" if solution.bound is None else f", none more than {rounded_words(solution.bound, 1, up=True)}"
    return f"The best design found then scores {solution.score:.1f}{none}: it is not proven to be the best."


def common_words(problem: Problem, conflicts: Sequence[Conflict]) -> str:
    """What several conflicts have in common: several that look alike are mostly one trouble, told from all sides."""
    if len(conflicts) < 2:
        return ""
    common = [m for m in conflicts[0].members if all(m in c.members for c in conflicts[1:])]
    if not common:
        return "No single demand is in all of these sets."
    return f"In every one of these sets: {listed(member_words(problem, m) for m in common)}."


_WAVES = {"mode_null_offset", "mode_level", "seat_to_seat_spread", "deepest_dip", "room_proportion"}
"""Measures that go up and down as a room grows: of a room with which they hold it is not said that less will not do."""


def _need_words(problem: Problem, needs: tuple[RoomNeed, ...], *, several: bool, waves: bool) -> str:
    said = []
    need_, with_ = ("would hold in", "would hold with") if waves else (f"need{'' if several else 's'}",) * 2
    for at, need in enumerate(needs):
        now = show("length", need.now, problem.show)
        needed = shown_up("length", need.needed, problem.show) if need.needed > need.now else None
        if need.path in _DIMENSIONS:
            begin = f"{need_} a room" if at == 0 else "or"
            said.append(f"{begin} {needed} {_DIMENSIONS[need.path]}, where it is {now}")
        else:
            name = need.path.removeprefix("room.doors.").removesuffix(".hinge")
            there = needed or show("length", need.needed, problem.show)
            begin = with_ if at == 0 else "or"
            said.append(f"{begin} the hinge of the door '{name}' at {there}, where it is at {now}")
    return ", ".join(said) + (" (perhaps with a smaller change, too)." if waves else ".")


def shortfall_words(problem: Problem, short: Shortfall) -> str:
    """How nearly one demand of a conflict can be met beside the others."""
    name = _subject(problem, short.member)
    if short.member.own and (said := member_words(problem, short.member)) in _OWN.values():
        name += f" ({said})"  # as the conflict calls it
    if settled(short.member.path):
        if not short.works:
            return f"with only these others, what {name} can be was not settled in the solver's time"
        works, perhaps = (
            listed((show(short.quantity, v, problem.show) for v in vs), "or") for vs in (short.works, short.perhaps)
        )
        open_ = f"; whether it can be {perhaps} was not settled in the solver's time" if perhaps else ""
        return f"with only these others, {name} can be {works}{open_}"
    if short.reached is None and short.short is None:
        if short.endless:
            return f"with only these others, nothing bounds {name}"
        known = (
            ""
            if short.known is None
            else f"; a design comes within {shown_up(short.quantity, short.known, problem.show)}"
        )
        return f"with only these others, how near {name} can come was not settled in the solver's time{known}"
    assert short.short is not None
    by = shown_up(short.quantity, short.short, problem.show)
    if short.reached is None:
        return f"with only these others, {name} comes within {by}"
    if short.member.kind == "value":
        reached = show(short.quantity, short.reached, problem.show)
        return f"with only these others, {name} can be {reached} at the nearest: {by} away"
    raised = short.member.end == "at_least" or short.member.kind == "from"
    amount = rounded_up(short.quantity, short.short, problem.show)  # so that what is reached adds up with what is short
    reached = show(short.quantity, short.wanted - amount if raised else short.wanted + amount, problem.show)
    return f"with only these others, {name} can be {reached} at {'most' if raised else 'least'}: {by} {_lack(short.member)}"


def off_words(problem: Problem, one: Broken) -> str:
    """A limit that a nearest design breaks, in the figures of what has to give: ``breaks row gap, row 2: 4 in, off
    by 2 in``."""
    result, place = one.result, f", {one.place}" if one.place else ""
    limit = result.limit
    amount = rounded_up(result.quantity, -result.slack, problem.show)
    low = limit.at_least is not None and result.value < limit.at_least
    value = limit.at_least - amount if low else limit.at_most + amount  # type: ignore[operator]
    shown, off = (show(result.quantity, one, problem.show) for one in (value, amount))
    return f"breaks {measure_words(limit.measure, limit.options)}{one.against}{place}: {shown}, off by {off}"


def given_words(problem: Problem, breaks: Iterable[Broken], loosenings: Iterable[Loosening]) -> tuple[str, ...]:
    """What a nearest design does not keep: the limits that it ``breaks``, and what gives way beside limits."""
    beside = (loosening_words(problem, one) for one in loosenings if not one.member.about_limit)
    return (*(off_words(problem, one) for one in breaks), *beside)


def rounding_words(problem: Problem, loosenings: Iterable[Loosening]) -> str:
    """What is to be said where the figures of what has to give are not those of the design's tables."""
    apart = any(
        shown_up(one.quantity, one.by, problem.show) != show(one.quantity, one.by, problem.show)
        for one in loosenings
        if not one.admitted
    )
    return "What gives way is rounded up, so that it is enough; tables round to the nearest." if apart else ""


def _lack(member: Member) -> str:
    return "short" if member.end == "at_least" or member.kind == "from" else "over"


def _subject(problem: Problem, member: Member) -> str:
    if member.about_limit:
        limit = all_limits(problem)[member.index]
        measure = catalogue()[limit.measure]
        return measure_words(limit.measure, limit.options) + row_phrase(limit.row, measure.per_row)
    names = {
        "seating.rows": "the number of rows",
        "seating.seats": "the number of seats in a row",
        "seating.bar.seats": "the number of places at the bar",
        "seating.platform.to": "the height of platforms",
        "seating.platform.risers": "the number of risers to a row",
    }
    return names.get(member.path) or _named(member.path)


# --- concessions --------------------------------------------------------------------------------


def loosening_words(problem: Problem, one: Loosening) -> str:
    """What a demand has to give: ``rear wall distance gives way by 3 11/16 in, to at least 5 ft 7 in``."""
    name = _subject(problem, one.member)
    by = shown_up(one.quantity, one.by, problem.show)
    if one.admitted:
        own = sorted(set(values_of(part(problem, one.member.path).value)))  # type: ignore[arg-type]
        there, here = (listed((show(one.quantity, v, problem.show) for v in vs), "or") for vs in (one.admitted, own))
        away = "" if settled(one.member.path) else f", {by} away"  # from one shape to another is no distance
        return f"{name}: {there} in place of {here}{away}"
    assert one.given is not None
    if not one.member.about_limit and _limited(problem, name):
        name = f"the range of {name}"
    raised = one.member.end == "at_least" or one.member.kind == "from"
    amount = rounded_up(one.quantity, one.by, problem.show)  # so that what is left adds up with what is given
    given = one.wanted - amount if raised else one.wanted + amount
    return f"{name} gives way by {by}, to at {'least' if raised else 'most'} {show(one.quantity, given, problem.show)}"


def _limited(problem: Problem, name: str) -> bool:
    """Whether a decision is called as a measure is that a limit is about."""
    return any(measure_words(limit.measure, limit.options) == name for limit in all_limits(problem))


def least_words(problem: Problem, alone: Concession) -> str:
    """What is to be said of a demand that gives way alone where it is not proven that it has to give so much."""
    (one,) = alone.loosenings
    least = one.by * alone.least / alone.total if alone.total > 0.0 else one.by
    if one.by - least <= 2.0 * fine(one.quantity):
        return ""
    if settled(one.member.path):
        return " (whether less of a change does was not settled in the solver's time)"
    return f" (proven only that less than {show(one.quantity, least, problem.show)} does not do)"


def aside_words(problem: Problem, aside: Aside) -> str:
    """By how much the image would have to leave the centre line: ``the image stands 20.0 cm off the room's centre
    line (front: baffle: centred: false)``."""
    by = shown_up("length", aside.by, problem.show)
    return f"the image stands {by} off the room's centre line (front: baffle: {{centred: false}})"


# --- prices -------------------------------------------------------------------------------------

_INPUTS = {
    "room.length": "room length",
    "room.width": "room width",
    "room.height": "room height",
    "room.reverberation_time": "reverberation time",
    "front.baffle.margin": "baffle beyond the frame, at each side",
    "front.screen.gap": "baffle face to image",
    "seating.aisle.width": "aisle width",
}


def input_words(path: str) -> str:
    """A number of the file as a person reads it."""
    if path in _INPUTS:
        return _INPUTS[path]
    keys = path.split(".")
    if keys[:2] == ["room", "doors"] and len(keys) == 4:
        how = {
            "hinge": "hinge from the wall's end",
            "angle": "opening angle",
            "level": "floor level",
            "keep": "floor kept before it",
        }
        return f"door '{keys[2]}', {how.get(keys[3], keys[3])}"
    if keys[:2] == ["room", "obstructions"]:
        return f"'{'.'.join(keys[2:-2])}', {keys[-2]} {keys[-1]}"
    if keys[:2] in (["room", "ceiling"], ["room", "ceiling_across"]) and len(keys) == 4:
        return f"{keys[1].replace('_', ' ')}, point {keys[2]}, {keys[3]}"
    if keys[:2] == ["room", "openings"]:
        tail = 1 if keys[-1] == "keep" else 2
        return f"'{'.'.join(keys[2:-tail])}', {'floor kept before it' if tail == 1 else ' '.join(keys[-2:])}"
    if keys[:2] in (["room", "surfaces"], ["room", "treatment"]):
        return _lining_words(keys)
    return " ".join(keys[1:]).replace("_", " ")


def _lining_words(keys: list[str]) -> str:
    """A number of a surface or of the panels: their area, or what they absorb in one octave."""
    octave = keys[-1] if keys[-2] == "absorption" else ""
    if keys[1] == "treatment":
        name = "absorbing panels"
    else:
        called = ".".join(keys[2 : -2 if octave else -1])
        name = f"surface {called}" if called.isdigit() else f"'{called}'"
    if octave:
        return f"{name}, absorption at {show('frequency', OCTAVE_BANDS[int(octave) - 1])}"
    return f"{name}, area of one" if keys[-1] == "panel" else f"{name}, {keys[-1]}"


def subject_words(problem: Problem, one: Price | Move) -> str:
    """What a move, or its price, is about, as it stands."""
    move = one.move if isinstance(one, Price) else one
    if move.member is not None:
        return member_words(problem, move.member)
    assert move.before is not None
    return f"{input_words(move.path)} {show(move.quantity, move.before, problem.show)}"


def move_words(problem: Problem, move: Move) -> str:
    """The step of a move: ``+1 in``, ``1 1/2 in too``."""
    if move.member is not None and move.member.kind == "value" and move.looser:
        return f"{show(move.quantity, move.after, problem.show)} too"
    if move.before is None:
        return f"at {show(move.quantity, move.after, problem.show)}"
    change = move.after - move.before
    return f"{'+' if change > 0 else '-'}{show(move.quantity, abs(change), problem.show)}"


def unmoved_words(problem: Problem, move: Move, why: str) -> str:
    """A move that makes no sense, and why: ``room length 5 m, -6 m: ...``."""
    return f"{subject_words(problem, move)}, {move_words(problem, move)}: {why.removeprefix(f'{move.path}: ')}"


def unasked_words(names: Sequence[str]) -> str:
    """Decisions that have no price, and how to ask what another value of one brings."""
    which = "; ".join(f"{decision_words(name)} ({name})" for name in names)
    they = "it has" if len(names) == 1 else "they have"
    return f"Not asked, as {they} no step: {which}. 'why-not --set {names[0]}=...' tells what another value would cost."


UNSETTLED = "not settled"
"""What is said of a gain of which nothing is known."""


def gain_words(price: Price) -> str:
    """A gain in points, what it lies between where it is not proven, or why there is none."""
    if price.unknown:
        return UNSETTLED
    if price.gain is None:
        return "impossible"
    if price.unbounded:
        return UNSETTLED if abs(price.least) < 0.1 else f"at least {_points(price.least)}"
    if not price.proven:
        assert price.least is not None and price.most is not None
        return f"between {_points(price.least)} and {_points(price.most)}"
    return f"{price.gain:+.1f}" if price.matters else "0"


def _points(gain: float) -> str:
    """Points gained, with their sign."""
    return f"{gain:+.1f}" if abs(gain) >= 0.1 else "0"


def image_words(problem: Problem, price: Price) -> str:
    """The image's gain in width; nothing where it is not known which design is the best."""
    if price.image is None or not price.proven:
        return ""
    text = show("length", abs(price.image), problem.show)
    return "0" if abs(price.image) < 5e-4 else f"{'+' if price.image > 0 else '-'}{text}"


OF_THE_IMAGE = {"image_width", "image_height", "image_diagonal", "image_area", "picture_width"}
"""Measures that say how large an image is, wherever people sit."""


def chance_words(problem: Problem, prices: Iterable[Price]) -> str:
    """That a change of the image may be chance, where some prices tell of one and no goal asks how large it is."""
    asked = any(goal.measure in OF_THE_IMAGE for goal in problem.goals)
    if asked or all(image_words(problem, price) in ("", "0") for price in prices):
        return ""
    return (
        "No goal asks how large the image is: designs that score the same may differ in it, and a change of it may be chance "
        "and not what the step brings."
    )


# --- freedom ------------------------------------------------------------------------------------


def subject_name(subject: Subject) -> str:
    """A decision or measure whose freedom is told."""
    if not subject.measure:
        return decision_words(subject.name)
    words = measure_words(subject.measure, subject.options)
    return f"{words}, row {subject.row}" if subject.row else words


def subject_value(problem: Problem, subject: Subject, value: float) -> str:
    """A value of a decision or measure."""
    if subject.measure:
        return show(subject.quantity, value, problem.show)
    return value_words(problem, subject.name, value)


BLURRED = 0.2
"""Share of a range by which what is proven about an end may lie beyond it for the end to be told alone."""


def between(scope: Scope) -> str:
    """The word between the two ends of a scope: nothing lies between left and right."""
    named = not scope.subject.measure and isinstance(bounds_of(scope.subject.name), Words)
    return "or" if named or scope.choices else "to"


def scope_words(problem: Problem, scope: Scope) -> str:
    """How far a decision or measure goes: ``10 ft 7 in to 10 ft 9 in``."""

    def shown(value: float) -> str:
        return subject_value(problem, scope.subject, value)

    if not scope.settled:
        return "not settled"
    if scope.nowhere:
        return "none"
    if scope.choices:
        return listed((shown(v) for v in scope.choices), "or")
    low, high = shown(scope.low), shown(scope.high)
    words = low if low == high else f"{low} {between(scope)} {high}"
    # an end is known to what a twentieth of a point makes of it; more apart, the solver has given up on it
    apart = max(scope.low - scope.low_bound, scope.high_bound - scope.high)
    if apart > max(BLURRED * (scope.high - scope.low), 20.0 * fine(scope.subject.quantity)):
        words += f", perhaps {shown(scope.low_bound)} to {shown(scope.high_bound)}"
    return words
