"""The room and the brief in words, from the problem file."""

from __future__ import annotations

from collections.abc import Callable

from optimiser.measures import catalogue
from optimiser.problem.codes import EDITIONS, NONE
from optimiser.problem.items import item_names, listing_of
from optimiser.problem.model import Box, Choice, Decision, Door, Fixed, Goal, Opening, Problem, Screen
from optimiser.quantity import other_system, show
from optimiser.words import band_words, listed, measure_words

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def number_words(count: int) -> str:
    """A small number as a word, a greater one in figures."""
    return NUMBERS[count] if 0 <= count < len(NUMBERS) else str(count)


def things(count: int, one: str, many: str | None = None) -> str:
    """A number of things in words."""
    return f"{number_words(count)} {one if count == 1 else many or one + 's'}"


def sentence(text: str) -> str:
    """The text with a capital letter at its head."""
    return text[:1].upper() + text[1:]


def brief(problem: Problem) -> list[str]:
    """Paragraphs: the room as it stands, what may be chosen, what is asked."""
    return [_room(problem), _choices(problem), _wishes(problem)]


def _room(problem: Problem) -> str:
    room, system = problem.room, problem.show

    def size(unit: str) -> str:
        return " × ".join(show("length", v, unit) for v in (room.length, room.width, room.height))

    words = [f"The room is {size(system)} (length, width, height; {size(other_system(system))})."]
    for wall, points in (("front", room.ceiling), ("left", room.ceiling_across)):
        if points:
            profile = ", ".join(f"{show('length', z, system)} at {show('length', at, system)}" for at, z in points)
            words.append(f"Its ceiling, from the {wall} wall: {profile}.")
    if room.doors:
        words.append(f"It has {things(len(room.doors), 'door')}: {'; '.join(_door(d, system) for d in room.doors)}.")
    else:
        words.append("The file names no doors.")
    if room.openings:
        words.append(f"In its walls: {'; '.join(_opening(o, system) for o in room.openings)}.")
    if room.obstructions:
        boxes = "; ".join(_box(b, system) for b in room.obstructions)
        words.append(f"Nothing may enter {things(len(room.obstructions), 'space')}: {boxes}.")
    if room.reverberation_time is not None:
        words.append(f"Its reverberation time is {show('time', room.reverberation_time)}.")
    elif room.surfaces:
        words.append(f"Its reverberation time follows from its surfaces, by {room.formula.capitalize()}'s formula.")
    return " ".join(words)


def _door(door: Door, system: str) -> str:
    wall = {"left": "front wall", "right": "front wall", "front": "left wall", "rear": "left wall"}[door.wall]
    swing = f"opens in by {show('angle', door.angle)}" if door.opens == "in" else "opens out"
    if door.level:
        swing += f" at a floor {show('length', door.level, system)} above the room's"
    return (
        f"{door.name or 'a door'} in the {door.wall} wall, hinge {show('length', door.hinge, system)} from the {wall}, "
        f"leaf {show('length', door.leaf, system)} towards the {door.towards}, {swing}"
    )


def _opening(one: Opening, system: str) -> str:
    wall = "front wall" if one.wall in ("left", "right") else "left wall"
    along = " to ".join(show("length", v, system) for v in one.along)
    height = " to ".join(show("length", v, system) for v in one.z)
    return f"{one.name or f'a {one.kind}'} in the {one.wall} wall, {along} from the {wall}, {height} above the floor"


def _box(box: Box, system: str) -> str:
    spans = [
        f"{axis} {show('length', a, system)} to {show('length', b, system)}"
        for axis, (a, b) in zip("xyz", (box.x, box.y, box.z))
    ]
    return f"{box.name or 'an obstruction'} ({', '.join(spans)})"


def decision_range(kind: str, decision: Decision, system: str) -> str:
    """What a decision may be."""
    if isinstance(decision, Fixed):
        return show(kind, decision.value, system)
    if isinstance(decision, Choice):
        return listed([show(kind, v, system) for v in decision.values], "or")
    return f"{show(kind, decision.low, system)} to {show(kind, decision.high, system)}"


def _choices(problem: Problem) -> str:
    system, seating = problem.show, problem.seating

    def of(kind: str, decision: Decision) -> str:
        return decision_range(kind, decision, system)

    hung = [_hung(one, of) for one in problem.screens]
    alike = len(set(hung)) == 1
    screens = "; or ".join(
        _screen(problem, one, of) + ("" if alike else f", {where}") for one, where in zip(problem.screens, hung)
    )
    rows = listed([number_words(n) for n in seating.rows], "or")
    most = "row" if seating.rows == (1,) else "rows"
    words = [
        f"The image: {screens}{f'; {hung[0]}' if alike else ''}.",
        "There is no baffle wall."
        if problem.baffle.depth == Fixed(0.0)
        else f"The baffle wall: {of('length', problem.baffle.depth)} deep, "
        + ("sound meets it as a wall." if problem.baffle.solid else "sound passes it."),
        f"The seats: {rows} {most} of {of('count', seating.seats)}; row {seating.reference_row} is the reference.",
    ]
    for of_, what in (("loudspeakers", "The loudspeakers"), ("projector", "The projector"), ("chair", "The chairs")):
        names = list(item_names(problem, of_))
        if names:
            words.append(f"{what}: {listed(names, 'or')}.")
    words += _light_and_surround(problem)
    chair = seating.chair
    if chair.width is not None and chair.reclined is not None and chair.eye_height is not None:
        words.append(
            f"Chairs are {show('length', chair.width, system)} wide, "
            f"{show('length', chair.reclined, system)} long when reclined, "
            f"eyes {show('length', chair.eye_height, system)} above the row's floor."
        )
    return " ".join([*words, *_habits(problem)])


def _light_and_surround(problem: Problem) -> list[str]:
    """Sentences on the projector and on surround loudspeakers, where the file has them; of a list of projectors, where
    each gives and throws something else, on the lens alone."""
    said, system = [], problem.show
    projector = problem.projector
    if projector is not None:
        able = []
        if projector.lumens is not None:
            able.append(f"gives {show('flux', projector.lumens)}")
        if projector.throw_ratio is not None:
            throws = " to ".join(show("number", one) for one in projector.throw_ratio)
            able.append(f"throws over {throws} widths of its picture")
        if able:
            said.append(f"The projector {listed(able)}.")
        along, wall = (projector.y, "from the front wall")
        if along is None:
            along, wall = (projector.behind, "behind the rear wall's face")
        assert along is not None
        far, high = (decision_range("length", one, system) for one in (along, projector.z))
        said.append(f"Its lens: {far} {wall}, {high} above the floor.")
    if problem.surround is not None:
        ears, _, over = problem.surround.layout.partition("+")
        overhead = f", and {number_words(int(over))} overhead" if over else ""
        said.append(
            f"Surround loudspeakers: layout {problem.surround.layout}, {number_words(int(ears))} at the ears' height with "
            f"the three in front{overhead}."
        )
    return said


AISLES = {
    "one": "An aisle {wide} wide leads along one side wall.",
    "left": "An aisle {wide} wide leads along the left wall.",
    "right": "An aisle {wide} wide leads along the right wall.",
    "both": "Aisles {wide} wide lead along both side walls.",
}
"""What the brief says of aisles, by the sides that the file gives them."""


def _habits(problem: Problem) -> list[str]:
    """Sentences on aisles, arms, a stagger, a bar, places for wheelchairs, guards and codes, where the file has any."""
    seating, system = problem.seating, problem.show
    said = []

    def length(value: float) -> str:
        return show("length", value, system)

    if seating.aisle.sides in AISLES:
        said.append(AISLES[seating.aisle.sides].format(wide=length(seating.aisle.width)))
    if seating.chair.arms == "shared":
        wide = "" if seating.chair.arm is None else f" of {length(seating.chair.arm)}"
        said.append(f"Neighbours share an arm{wide}.")
    if seating.stagger != Fixed(0.0):
        said.append(f"Every second row is shifted by {decision_range('number', seating.stagger, system)} of a seat.")
    if seating.platforms.behind is not None:
        behind = decision_range("length", seating.platforms.behind, system)
        said.append(f"The last platform ends {behind} behind its chairs, and the room's floor goes on from there.")
    if seating.platforms.going is not None:
        said.append(
            f"Steps in the aisle are {length(seating.platforms.going)} deep where the rows leave room for them."
        )
    if seating.bar is not None:
        seats = seating.bar.seats or seating.seats
        said.append(f"The last of two or more rows is a bar with {decision_range('count', seats, system)} stools.")
    if seating.wheelchair is not None:
        place = seating.wheelchair
        said.append(
            f"At the {place.side} end of row {place.row}: {things(place.places, 'place')} for "
            f"{'a wheelchair' if place.places == 1 else 'wheelchairs'}, {length(place.width)} × {length(place.depth)}{'' if place.places == 1 else ' each'}"
            f"{f' ({place.source})' if place.source else ''}."
        )
    if seating.guard is not None:
        said.append(
            f"Guards {length(seating.guard.height)} high are built over drops of more than {length(seating.guard.over)}."
        )
    if problem.codes != NONE:
        said.append(f"Steps, guards and headroom follow {problem.codes}: {EDITIONS[problem.codes]}.")
    return said


def _hung(screen: Screen, of: Callable[[str, Decision], str]) -> str:
    """How high an image hangs, and in what frame: each kind of screen to choose from has its own."""
    frame = "" if screen.bezel is None else f", in a frame of {of('length', screen.bezel)}"
    return f"its lower edge {of('length', screen.bottom)} above the floor{frame}"


def _screen(problem: Problem, screen: Screen, of: Callable[[str, Decision], str]) -> str:
    if screen.tile is not None and screen.columns is not None and screen.tile_rows is not None:
        tile = f"{of('length', Fixed(screen.tile.width))} × {of('length', Fixed(screen.tile.height))}"
        return f"a wall of tiles {tile}, {of('count', screen.columns)} across and {of('count', screen.tile_rows)} up"
    kind = {"projected": "projected", "panel": "a flat panel"}[screen.type]
    listing = listing_of(problem, "screen", screen.type)
    if listing is not None and listing.pick is not None:
        names = [item.name for item in listing.items]
        return f"{kind}, {listed(names, 'or')}"
    size = ""
    if isinstance(screen.diagonal, Choice):  # as the file has them: panels go by their inches everywhere
        size = f"diagonal {listed(list(screen.diagonal.labels), 'or')}"
    elif screen.diagonal:
        size = f"diagonal {of('length', screen.diagonal)}"
    if screen.width is not None:
        size = f"width {of('length', screen.width)}"
    return f"{kind}, {size}, aspect {of('aspect', screen.aspect)}"


def _wishes(problem: Problem) -> str:
    goals, limits = problem.goals, problem.limits
    stated = f"the file sets {things(len(limits), 'limit')}"
    if not goals:
        return sentence(f"{stated}, beside those of the room itself, and no goals.")
    weight = sum(g.weight for g in goals)  # no share of the score: that is of the goals alone that a design has
    heaviest = sorted(goals, key=lambda g: -g.weight)[:3]
    words = listed([_wish(g, problem.show, weight) for g in heaviest])
    return sentence(f"{stated}, beside those of the room itself, and {things(len(goals), 'goal')}. Heaviest: {words}.")


def _wish(goal: Goal, system: str, total: float) -> str:
    name = measure_words(goal.measure, goal.options)
    per_row = catalogue()[goal.measure].per_row
    rows = {
        "all": " in each row",
        "worst": " in the worst row",
        "reference": " in the reference row",
        "worst seat": " at the worst seat",
    }
    row = rows.get(goal.row, f" in row {goal.row}")
    return f"{name}{row if per_row else ''} {band_words(goal, system)} (weight {goal.weight:g} of {total:g})"
