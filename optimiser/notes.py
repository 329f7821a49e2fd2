"""How far the numbers of a design can be trusted, said in words where a formula is stretched."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from optimiser.bass_notes import bass_notes
from optimiser.design import Listed, Space
from optimiser.forms import LATCH
from optimiser.hanging import into_the_building
from optimiser.linear import decisions_of
from optimiser.measures.front import free_cabinets
from optimiser.measures.reverberation import decay_time, mean_absorption
from optimiser.measures.shape import cabinet_separation, lens_to_ceiling, loudspeakers
from optimiser.measures.sightlines import over as over_eyes
from optimiser.measures.surround import SEATS, stretches
from optimiser.physics import acoustics
from optimiser.problem.items import chosen
from optimiser.problem.listed import WORDS
from optimiser.problem.model import Problem
from optimiser.problem.screens import PROJECTOR
from optimiser.problem.shell import faces_area
from optimiser.quantity import show
from optimiser.requirements import WORST_SEAT, targets, wanting
from optimiser.score import Scorer, inside
from optimiser.views import behind_guards, behind_heads, guards_in_light, hidden
from optimiser.words import goal_row_words, listed, measure_words

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

NARROW = 0.1
"""Metres of wall or ceiling on which a loudspeaker is mounted as planned without more care than usual (common practice, no
source)."""


def notes(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """Sentences to print beside this design, in a fixed order: on its goals, then on its numbers."""
    return on_goals(problem, space, design) + on_numbers(problem, space, design)


def on_goals(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """Sentences to print beside the goals: on those that do not count, or count for nothing."""
    said = _left_out(problem, space) + _uncounted(problem, space) + _faded(problem, space, design)
    return said + _unthrifty(problem, space, design)


def on_numbers(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """Sentences on how far the numbers of this design can be trusted; none where nothing is stretched."""
    used = {item.measure for item in (*problem.limits, *problem.goals)}
    said = _unlit(problem) + _unlikely_sizes(problem, design) + _unlikely_eyes(problem, space, design)
    if used & set(STATISTICAL):
        said += _diffuse(problem, space, design)
        said += _octaves(problem, space)
        said += _surfaces(problem, space)
    return (
        said
        + bass_notes(problem, space, design)
        + _without_holes(problem, space, design)
        + _unsized(problem, space, design)
        + _no_depth(problem, space, design)
        + _unknown_depth(problem, space, design)
        + _no_place(problem, space, design)
        + _narrow_places(problem, space, design)
        + _behind_the_wall(problem, space, design)
        + _views(space, design)
        + _guards(problem, space, design)
        + _heads(problem, space, design)
    )


def _unlit(problem: Problem) -> list[str]:
    """On a projector that lights nothing."""
    if problem.projector is None or any(screen.type == "projected" for screen in problem.screens):
        return []
    return ["The file has a projector, and no image that is projected: it does nothing here, and is not drawn."]


def _narrow_places(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On surround loudspeakers whose places are so short that whoever mounts them can hardly keep to them."""
    longest: dict[str, float] = {}
    for one in stretches(space.layout, design):
        if one.seats == SEATS[0]:
            longest[one.speaker] = max(longest.get(one.speaker, 0.0), one.end - one.start)
    short = {name: long for name, long in longest.items() if long < NARROW}
    if not short:
        return []
    named = listed(f"'{name}' ({show('length', long, problem.show)})" for name, long in short.items())
    place = "place for {} is" if len(short) == 1 else "places for {} are"
    return [
        f"In the window of every seat the {place.format(named)} short: a loudspeaker, chair or wall that is a little off loses it. "
        "A limit on surround_stretch asks for more."
    ]


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


def _uncounted(problem: Problem, space: Space) -> list[str]:
    """On goals of the file that this design has nothing for."""
    counted = {target.index for target in targets(problem, space)}
    said = []
    for index, goal in enumerate(problem.goals):
        if index in counted or (goal.targets is not None and wanting(goal, space.layout)):
            continue
        words = measure_words(goal.measure, goal.options)
        if goal.row.isdigit():
            there = "1 row" if space.rows == 1 else f"{space.rows} rows"
            said.append(f"The goal for {words} of row {goal.row} is not counted: this design has {there}.")
        else:
            said.append(f"The goal for {words} is not counted: nothing in this design has it.")
    return said


def _faded(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On goals of the file that lie beyond their fade: they count for nothing there, and may seem to pull."""
    said = []
    for result in Scorer.of(space, [], targets(problem, space)).card(design).goals:
        goal = result.goal
        if result.score > 0.0 or goal.targets is not None:
            continue
        away = [-float(inside(goal.low, goal.high, value)) for value in result.values]
        # the worst of the values must come within the fade; of those that are averaged, any
        far = max(away) if goal.row in ("worst", WORST_SEAT) else min(away)
        row, name = goal_row_words(goal), measure_words(goal.measure, goal.options)
        of = f" ({f'row {row}' if row.isdigit() else row})" if row else ""
        words = f"The goal for {name}{of} scores 0 %, and a design a little nearer to it would score no more"
        if math.isfinite(far):
            fade, least = (show(result.quantity, value, problem.show) for value in (goal.fade, far))
            words += f": its fade is {fade}; with one of more than {least} this design would score on it"
        said.append(f"{words}.")
    return said


def _unthrifty(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On money that no goal asks to save, where something dearer than it might be is taken of a list."""
    cost, whole = space.layout.cost, {**space.settled, **design}
    if cost is None or not problem.goals:  # without a score there is nothing to weigh money against
        return []
    goals = [one for one in targets(problem, space) if one.goal.measure == "cost"]
    if any(result.score < 1.0 for result in Scorer.of(space, [], goals).card(design).goals):
        return []
    now = float(cost.value(whole))
    dearer = [
        WORDS[of]
        for of in sorted(decisions_of(cost))
        if isinstance(domain := space.domains.get(of), Listed) and of in WORDS
        if any(float(cost.value({**whole, of: other})) < now for other in domain.values)
    ]
    if not dearer:
        return []
    return [
        f"No goal asks for a lower cost than {show('money', now)}: with a cheaper choice of {listed(dearer)}, and other "
        "decisions to suit it, a design may score as much for less. A goal on cost that asks for less finds it, and "
        "'optimiser trade FILE --between score --and cost:lower' shows what each saving gives up."
    ]


EYES = {False: (0.7, 1.4), True: (1.0, 1.8)}
"""Metres above their floor between which people's eyes are, in chairs and (True) at a bar: common practice, no source."""


SIZES = {
    "room.length": (2.0, 30.0),
    "room.width": (1.5, 25.0),
    "room.height": (1.7, 10.0),
    "front.screen.width": (0.4, 15.0),
}
"""Metres between which private screening rooms and their images are: common practice, no source."""


def _unlikely_sizes(problem: Problem, design: Mapping[str, float]) -> list[str]:
    """On a room or an image of a size that such rooms do not have: mostly its unit is another than was meant."""
    room = problem.room
    sizes = (room.length, room.width, room.height, design["screen.width"])
    found = [(key, size) for (key, (low, high)), size in zip(SIZES.items(), sizes) if not low <= size <= high]
    return [
        f"{show('length', size, problem.show)} is {'little' if size < SIZES[key][0] else 'much'} for {key} in such a room: look at "
        "it again, and at its unit."
        for key, size in found
    ]


def _unlikely_eyes(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On eyes where nobody's are."""
    said = []
    for bar, (low, high) in EYES.items():
        rows = [row for row in space.layout.rows if row.bar == bar]
        height = float((rows[0].eye - rows[0].platform).value(design)) if rows else low
        if not low <= height <= high:
            key = "seating.bar.eye_height" if bar else "seating.chair.eye_height"
            than = "lower than people sit" if height < low else "higher than people sit"
            said.append(f"Eyes {show('length', height, problem.show)} above the floor are {than}: look at {key} again.")
    return said


def _guards(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On guards before the image and in its light, of which no measure tells but the one that a file must ask for."""
    said = [
        f"The {one.name} hides {'' if len(one.seats) == 1 else 'up to '}{max(1.0, 100.0 * one.share):.0f} % of the image from row "
        f"{one.row}, as far as one does not see through it: a limit on guard_sightline keeps it under the line of sight."
        for one in behind_guards(space, design)
    ]
    return said + [
        f"The {name} reaches {show('length', deep, problem.show)} into the projector's light: hang the lens higher, or nearer to the "
        "image than the guard."
        for name, deep in guards_in_light(space, design).items()
    ]


def _heads(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On heads before the image: a clearance over the eyes in front is none over the heads."""
    said = []
    for one in behind_heads(space, design):
        row, front = space.layout.rows[one.row - 1], space.layout.rows[one.over - 1]
        clear = float(over_eyes(space.layout, row, front).value(design))
        over = f"{show('length', abs(clear), problem.show)} {'over' if clear >= 0.0 else 'below'}"
        top = show("length", float((front.head - front.eye).value(design)), problem.show)
        most = "" if len(one.seats) == 1 else "up to "
        said.append(
            f"Heads in front hide {most}{max(1.0, 100.0 * one.share):.0f} % of the image from row {one.row}: the line to its lower "
            f"edge passes {over} the eyes in row {front.number}, and heads there rise {top} above the eyes."
        )
    return said


def _without_holes(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On loudspeakers behind an image surface that lets no sound through, where the light that holes cost would count."""
    if space.layout.lens is None or space.layout.speakers.place != "behind":
        return []
    screens = chosen(problem, design).screens  # the design's is not the first, where the file has kinds to choose from
    if next(screen for screen in screens if screen.type == space.layout.screen_type).open_area > 0.0:
        return []
    return [
        "Loudspeakers stand behind the image surface, and the file gives it no holes: write screen.open_area (5 to 7 % is "
        "usual), which costs as much of the light, or place the loudspeakers elsewhere."
    ]


def _unsized(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On cabinets that take room of which the file says nothing."""
    given, place = chosen(problem, design).loudspeakers, space.layout.speakers.place
    if place == "behind" or not given.assumed:
        return []
    wide, high, gap = (show("length", size, problem.show) for size in (given.width, given.height, given.gap))
    return [
        f"The file does not give the size of the front loudspeakers: cabinets {wide} wide and {high} high {place} the image, "
        f"{gap} from its frame, are taken, and the image leaves room for them. Write the width and height of yours in "
        "front.loudspeakers."
    ]


def _no_depth(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On cabinets that no baffle holds: deeper than what is between an image and the front wall, or before that wall."""
    layout = space.layout
    if layout.speakers.depth is None or design["baffle.depth"] > LATCH:
        return []
    deep, free = (float(e.value(design)) for e in (layout.speakers.depth, layout.image_y))
    if layout.speakers.place != "behind" and deep > LATCH:
        return [
            f"There is no baffle wall, and the front loudspeakers are {show('length', deep, problem.show)} deep: they stand out "
            "into the room. Doors, openings, obstructions, chairs and the ways to walk are kept clear of them; distances and "
            "angles to them are reckoned from the front wall, where their faces would be if they were let into it."
        ]
    if deep <= free + LATCH:
        return []
    deep, free = (show("length", size, problem.show) for size in (deep, free))
    return [
        f"There is no baffle wall, and the front loudspeakers are {deep} deep, where the image is {free} from the front wall: "
        "give front.baffle a depth, or let them into the wall."
    ]


def _unknown_depth(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On cabinets in a baffle wall that may meet an obstruction there, as the file does not say how deep they are."""
    layout = space.layout
    if layout.speakers.depth is not None or design["baffle.depth"] <= LATCH:
        return []
    deepest = replace(layout, speakers=replace(layout.speakers, depth=layout.baffle_depth))
    met = [
        body
        for body in layout.bodies
        if any(
            float(cabinet_separation(deepest, x, body).value(design)) < -LATCH for x in loudspeakers(layout).values()
        )
    ]
    if not met:
        return []
    free = max(0.0, float(layout.baffle_depth.value(design)) - max(body.y[1] for body in met))
    names = listed(f"'{name}'" for name in dict.fromkeys(body.name for body in met))
    return [
        f"The file does not give the depth of the front loudspeakers, and nothing keeps their cabinets clear of {names} in the "
        f"baffle wall: there is room for {show('length', free, problem.show)} of depth before it. Write the depth of yours in "
        "front.loudspeakers."
    ]


def _no_place(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On a projector that would not fit between its lens and the wall, ceiling or obstruction behind it."""
    into = into_the_building(space, design)
    if not into:
        return []
    depths = listed(f"{show('length', depth, problem.show)} into {what}" for what, depth in into.items())
    reach = {side: show("length", far, problem.show) for side, far in PROJECTOR.items()}
    body = [f"{reach['behind']} behind its lens", f"{reach['above']} above it"]
    if any(what.startswith("'") for what in into):  # a box may be at any side of it
        body += [f"{reach['below']} below it", f"{reach['aside']} to either side"]
    return [
        f"The projector is taken to reach {listed(body)}: here it would go {depths}. Check "
        "the size of yours; move its lens, or give it a recess."
    ]


def _behind_the_wall(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On a lens in the next room, which the file does not describe."""
    layout, lens = space.layout, space.layout.lens
    if lens is None or float(lens.y.value(design)) <= layout.length:
        return []
    ceiling = float(lens.z.value(design)) + float(lens_to_ceiling.form(layout).value(design))
    return [
        "The lens is behind the rear wall, and the file does not say what is there: the ceiling is taken to be as high as the "
        f"room's at that wall, {show('length', ceiling, problem.show)}, and no lens is placed above it. Check that projector and "
        "shelf have their room there."
    ]


def _views(space: Space, design: Mapping[str, float]) -> list[str]:
    """On obstructions in the view, and loudspeakers that no wall holds, of which no measure tells."""
    said = []
    for one in hidden(space, design):
        said.append(
            f"The {one.name} hides {one.words('the image')}: "
            + ("hang it higher." if one.projector else "no limit keeps views clear of obstructions.")
        )
    cabinets = free_cabinets(space.layout) if design["baffle.depth"] <= LATCH else []
    for one in hidden(space, design, cabinets):
        said.append(
            f"The {one.name} hides {one.words('the image')}, as it stands out before it: no limit keeps views clear of "
            "loudspeakers. Let them into a wall, have a wider gap from the frame to them (front.loudspeakers.gap), or hang the "
            "image farther from the front wall (front.screen.gap)."
        )
    return said


def _diffuse(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On the field that reverberation formulas suppose."""
    layout = space.layout
    if layout.decay is None:
        return []
    time = float(decay_time(layout).value(design))
    if layout.lining is not None:
        mean = float(mean_absorption.form(layout).value(design))
        dry = f"the surfaces listed absorb about {100 * mean:.0f} % of the sound that meets them, in {show('volume', layout.volume, problem.show)}"
    else:
        mean = float(
            acoustics.absorption_of_eyring(
                volume=layout.volume,
                surface=faces_area(problem.room),
                reverberation_time=time,
                speed_of_sound=layout.speed_of_sound,
            )
        )
        dry = (
            f"a reverberation time of {time:.2f} s in {show('volume', layout.volume, problem.show)} means that the surfaces absorb about "
            f"{100 * mean:.0f} % of the sound that meets them"
        )
    if mean <= acoustics.DIFFUSE:
        return _in_octaves(problem, space, design)
    ruled = float(acoustics.transition_frequency(volume=layout.volume, reverberation_time=time))
    return [
        f"A small, dry room: {dry}. Much above 20 % no field is diffuse, and "
        "reverberation time, critical distance and direct over reverberant sound compare seats and designs; they do not predict what "
        f"will be measured. Below about {ruled:.0f} Hz single modes rule and these values mean nothing.",
        *_overstated(space, design, "mid"),
    ]


def _asked_octaves(problem: Problem) -> list[int]:
    """The octaves that the file has limits or goals on, other than those in the middle."""
    asked = {dict(item.options).get("octave", "mid") for item in (*problem.limits, *problem.goals)}
    return sorted(int(octave) for octave in asked if octave != "mid")  # type: ignore[call-overload]


def _in_octaves(problem: Problem, space: Space, design: Mapping[str, float]) -> list[str]:
    """On octaves in which the field is not diffuse, where it is at 500 Hz and 1 kHz."""
    if space.layout.lining is None:
        return []
    shares = {k: float(mean_absorption.form(space.layout, octave=k).value(design)) for k in _asked_octaves(problem)}
    dry = {octave: share for octave, share in shares.items() if share > acoustics.DIFFUSE}
    if not dry:
        return []
    told = listed(f"{100 * share:.0f} % of the sound at {octave} Hz" for octave, share in dry.items())
    most = max(dry, key=lambda octave: dry[octave])
    return [
        f"The surfaces listed absorb about {told}. Much above 20 % no field is diffuse, and what is said of reverberation there "
        "compares designs; it does not predict what will be measured.",
        *_overstated(space, design, most),
    ]


def _overstated(space: Space, design: Mapping[str, float], octave: int | str) -> list[str]:
    """On the formula of the two that tells longer times the more is absorbed."""
    layout = space.layout
    if layout.lining is None or layout.decay.formula != "sabine":
        return []
    eyring = replace(layout, decay=replace(layout.decay, formula="eyring"))
    longer, shorter = (float(decay_time(each, octave).value(design)) for each in (layout, eyring))
    at = "at 500 Hz and 1 kHz" if octave == "mid" else f"at {octave} Hz"
    return [
        f"The file asks for Sabine's formula, which tells longer times the more is absorbed: {longer:.2f} s {at}, where Eyring's "
        f"tells {shorter:.2f} s."
    ]


def _octaves(problem: Problem, space: Space) -> list[str]:
    """On single octaves that the file tells nothing of."""
    asked = _asked_octaves(problem)
    if space.layout.decay is None or space.layout.decay.time is None or not asked:
        return []
    return [
        f"The file gives one reverberation time, {space.layout.decay.time:.2f} s; it counts at {listed(f'{k} Hz' for k in asked)} "
        "too. In most rooms bass lasts longer: list surfaces, and each octave has a time of its own."
    ]


def _surfaces(problem: Problem, space: Space) -> list[str]:
    """On surfaces that the file leaves out."""
    room = problem.room
    if not room.surfaces:
        return []
    listed, faces = space.layout.lining.surface, faces_area(room)
    if abs(listed - faces) <= COMPLETE * faces:
        return []
    return [
        f"The surfaces listed add up to {show('area', listed, problem.show)}, the room's six faces to {show('area', faces, problem.show)}: what is not listed "
        "counts as absorbing nothing, and what stands in the room adds to the faces."
    ]
