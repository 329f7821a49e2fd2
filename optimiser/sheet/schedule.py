"""What a builder sets out and makes: sizes, and distances from fixed corners of the room."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from optimiser.bill import bill, heading, money_words, total
from optimiser.design import MILLIMETRE, Design, Listed, Space, Steps, spaces
from optimiser.hanging import HAIR, clear_height, into_the_building, too_low
from optimiser.linear import Linear, decisions_of, variable
from optimiser.measures import catalogue
from optimiser.measures.beam import light_at
from optimiser.measures.layout import Layout
from optimiser.measures.listening import listening
from optimiser.measures.projection import chip_width
from optimiser.problem.items import chosen
from optimiser.problem.listed import WORDS
from optimiser.problem.model import Choice, Fixed, Goal, Limit, Problem, Range
from optimiser.quantity import show, show_within
from optimiser.score import Scorer, holds
from optimiser.sheet import prose
from optimiser.sheet.cells import BLANK
from optimiser.sheet.document import Beside, Table
from optimiser.sheet.figures import Cabinet, Figure, Span
from optimiser.tidy import LOSS

TRIED = 400
"""Places of the lens, or of the loudspeakers' axes, that are tried between the ends of their range."""

FINER = 1000
"""Places that are tried between the last of those that will do and the next."""

ROUND = 5e-4
"""Metres that do not matter where a place is compared with the ends of a range."""

BETTER = 0.01
"""Points by which another place must be better to be told as that."""


def front_table(f: Figure, system: str) -> Beside:
    """The baffle wall, the frame and the image."""

    def length(value: float) -> str:
        return show("length", value, system)

    frame_width, frame_height = f.frame[1] - f.frame[0], f.image_height + 2 * f.bezel
    wall = (
        ("baffle wall, width", length(f.baffle[1] - f.baffle[0])),
        ("baffle wall, face from the front wall", length(f.baffle_depth)),
        ("baffle wall, left edge from the left wall", length(f.baffle[0])),
        ("baffle wall, right edge from the right wall", length(f.width - f.baffle[1])),
    )
    frame = (
        *(wall if f.baffle_depth else ()),
        ("frame, outside", f"{length(frame_width)} × {length(frame_height)}"),
        ("frame, left edge from the left wall", length(f.frame[0])),
        ("frame, both diagonals outside", length(math.hypot(frame_width, frame_height))),
        ("frame, width of its members", length(f.bezel)),
        ("frame, underside above the floor", length(f.bottom - f.bezel)),
    )
    image = (
        ("image, within the frame", f"{length(f.image_width)} × {length(f.image_height)}"),
        ("image, diagonal", length(math.hypot(f.image_width, f.image_height))),
        ("image, lower edge above the floor", length(f.bottom)),
        ("image, plane from the front wall", length(f.image_y)),
        ("image, centre line from the left wall", length(f.centre)),
    )
    head = ("what", "dimension")
    return Beside(
        (Table("Baffle wall and frame" if f.baffle_depth else "Frame", head, frame), Table("Image", head, image))
    )


def platform_table(f: Figure, system: str) -> Table | None:
    """Heights, edges and depths of the platforms."""
    raised = [row for row in f.rows if row.platform > 0.0]
    if not raised:
        return None

    def length(value: float) -> str:
        return show("length", value, system)

    rows = []
    for row, ((start, end), _) in zip(raised, f.platforms):
        up = f"{row.risers} of {length(row.rise / row.risers)}" if row.rise > 0.0 else "level"
        rows.append((f"row {row.number}", *(length(v) for v in (row.platform, start, end, end - start)), up))
    head = ("platform", "height", "front edge at", "rear edge at", "depth", "risers up")
    return Table("Platforms", head, tuple(rows))


def steps_table(f: Figure, system: str) -> Table | None:
    """Where each riser on the way up to a platform stands, the platform's front edge last, its rear edge first."""

    def length(value: float) -> str:
        return show("length", value, system)

    rows = tuple(
        (
            f"row {row.number}",
            ", ".join(length(y) for y, _ in row.steps),
            ", ".join(length(tread) for _, tread in row.steps),
            length(row.going or 0.0),
            ", ".join(f"{length(near)} to {length(far)}" for near, far in f.stairs(row)),
        )
        for row in f.rows
        if f.stairs(row)
    )
    if f.rear_stairs:
        rows += (
            (
                f"row {f.rows[-1].number}, from behind",
                ", ".join(length(y) for y, _ in f.rear_steps),
                ", ".join(length(tread) for _, tread in f.rear_steps),
                length(f.rear_steps[0][0] - f.rear_steps[1][0]),
                ", ".join(f"{length(near)} to {length(far)}" for near, far in f.rear_stairs),
            ),
        )
    head = ("steps up to", "risers at", "treads above the floor", "going", "from the left wall")
    return Table("Steps", head, rows) if rows else None


def fixtures_table(f: Figure, system: str) -> Table | None:
    """The bar's counter, clear floor for wheelchairs, and guards."""

    def length(value: float) -> str:
        return show("length", value, system)

    def span(low: float, high: float) -> str:
        return f"{length(low)} to {length(high)}"

    rows = []
    for row in f.rows:
        if row.bar and f.bar is not None:
            near, top = row.y - f.bar.eye_to_counter, row.platform + f.bar.height
            rows.append(("bar counter", span(near - f.bar.counter, near), span(*row.x), length(top)))
        for x in row.places:
            along, half = span(row.back - f.wheelchair.depth, row.back), 0.5 * f.wheelchair.width
            rows.append((f"wheelchair's clear floor, row {row.number}", along, span(x - half, x + half), ""))
    rows += [(f"guard, row {r.number}", length(r.edge), span(*f.guarded(r)), length(top)) for r, top in f.guards]
    if f.rear_guard is not None:
        behind = f.rear_edge, f.rear_guarded
        rows.append(
            (f"guard behind row {f.rows[-1].number}", length(behind[0]), span(*behind[1]), length(f.rear_guard))
        )
    head = ("what", "from the front wall", "from the left wall", "top above the floor")
    return Table("Bar, clear floor and guards", head, tuple(rows)) if rows else None


def seats_table(f: Figure, system: str) -> Table:
    """Where rows and chairs stand."""

    def length(value: float) -> str:
        return show("length", value, system)

    rows = tuple(
        (
            f"row {row.number}" + (" (bar)" if row.bar else ""),
            length(row.y),
            length(row.back),
            "" if row.bar else length(row.y - f.chair.ahead),  # a wheelchair's floor, farther ahead, is told by itself
            length(row.eye),
            ", ".join([*(length(x) for x in row.seats), *(f"{length(x)} (wheelchair)" for x in row.places)]),
        )
        for row in f.rows
    )
    head = (
        "row",
        "eyes at",
        "backs, reclined" if f.chair.travel else "chair backs at",
        "feet, reclined",
        "eyes above floor",
        "middles of seats from the left wall",
    )
    return Table("Rows and chairs", head, rows, wide=((5, 1.0),))


def equipment_table(problem: Problem, space: Space, design: Design) -> Table | None:
    """What is bought, with prices where the file has them."""
    positions = bill(problem, space, design)
    if not positions:
        return None
    rows = [
        (WORDS[one.of], one.model, money_words(one.price), str(one.count), money_words(one.amount)) for one in positions
    ]
    if total(positions) is not None:
        rows.append(("together", "", "", "", money_words(total(positions))))
    return Table(heading(problem), ("what", "model", "price", "number", "cost"), tuple(rows), wide=((0, 1.0), (1, 1.5)))


@dataclass(frozen=True)
class Window:
    """Where something may lie, all else as it is: from the first of its places [m] to the last or, where they are
    ``listed``, at one of them. ``at``: where it does lie."""

    places: tuple[float, ...]
    at: float
    listed: bool = False

    def words(self, system: str) -> str:
        """A stretch as text, with the place itself in it as the papers tell that; or each place of a list."""
        if self.listed:
            shown = [show("length", place, system) for place in self.places]
            return f"{', '.join(shown[:-1])} or {shown[-1]}" if len(shown) > 1 else f"only {shown[0]}"
        first, last = show_within(*self.places, system, about=self.at)
        return f"only {first}" if first == last else f"{first} to {last}"


def asks_apart(problem: Problem) -> bool:
    """Whether the file says how far apart the left and right loudspeakers stand, or asks for an angle to them."""
    items: tuple[Limit | Goal, ...] = (*problem.limits, *problem.goals)
    return problem.loudspeakers.apart is not None or any(item.measure == "loudspeaker_angle" for item in items)


def speaker_window(f: Figure, problem: Problem, space: Space, design: Design) -> tuple[Window, Window | None] | None:
    """How far off the image's centre line [m] a left and a right loudspeaker may both lie, all else as it is, so that
    every limit holds and no goal loses anything, within what the file lets them be; and, where it does not let them be
    chosen, how far would be better, if any other place were. None where the file asks nothing of it."""
    if not asks_apart(problem):
        return None
    decided = isinstance(problem.loudspeakers.apart, (Range, Choice)) and f.place != "beside"
    if not decided:
        problem, space, design = _apart_let_go(problem, space, design)
    left, right = (space_for(f, one) for one in f.loudspeakers if one.name != "C")
    span = max(0.0, f.centre - left[1], right[0] - f.centre), min(f.centre - left[0], right[1] - f.centre)
    scorer = Scorer(problem, space)
    # of loudspeakers that the image's width sets apart some limits ask nothing, and these they may well break
    scorer = Scorer.of(space, [bound for bound in scorer.bounds if holds(bound, design)], scorer.targets)
    offset = space.layout.speakers.offset
    window = _kept(scorer, design, offset, span, scored=True)
    if decided:
        return window, None
    name, tried = "loudspeakers.apart", np.linspace(*window.places, TRIED)
    scores = np.broadcast_to(scorer.scores({**design, name: 2.0 * tried}), tried.shape)
    best = int(np.argmax(scores))
    if scores[best] < float(scorer.scores(design)) + BETTER:
        return window, None
    better = _kept(scorer, {**design, name: 2.0 * float(tried[best])}, offset, window.places, scored=True)
    low, high = better.places
    # a place that is best by itself is an end of those that lose nothing
    told = high - low > ROUND and not low - ROUND <= window.at <= high + ROUND
    return window, better if told else None


def lens_window(problem: Problem, space: Space, design: Design) -> tuple[Window, Window | None] | None:
    """From where to where the lens may stand, all else as it is, so that every limit holds: from the front wall, by
    its throw ratio, and above the floor, by its lens offset (None where the file gives none). A lens in the room stays
    in it, and one behind the rear wall there; it stays where the file lets it be, but a place that the file fixes is
    moved as if it did not. A projector that people can pass under, and see past, stays so, one that hangs lower comes no
    lower, and one that goes into no wall, ceiling or obstruction stays clear of them, though no limit may ask for it."""
    if space.layout.lens is None or problem.projector is None:
        return None
    problem, space = _lens_let_go(problem, space, design)
    layout, projector = space.layout, chosen(problem, design).projector
    if layout.lens is None or projector is None:
        return None
    plane, width = float(layout.image_y.value(design)), float(chip_width(layout).value(design))
    first, last = (plane + ratio * width for ratio in projector.throw_ratio)
    if design["projector.y"] > layout.length:
        first = max(first, layout.length)
    else:
        last = min(last, layout.length)
    scorer = Scorer(problem, space)
    inside = design["projector.y"] <= layout.length
    low_by = max(0.0, too_low(space, design)) if inside else math.inf
    fits = inside and not into_the_building(space, design)

    def hangs_well(moved: Design) -> bool:
        return too_low(space, moved) <= low_by + HAIR and not (fits and into_the_building(space, moved))

    along = _kept(scorer, design, layout.lens.y, (first, last), also=hangs_well)
    if projector.lens_offset is None:
        return along, None
    middle = float((layout.image_bottom + layout.image_height * 0.5).value(design))
    low, high = (middle + share * width / layout.lens.chip for share in projector.lens_offset)
    if inside:
        low = max(low, clear_height(space, design) - low_by)
    return along, _kept(scorer, design, layout.lens.z, (low, high), also=hangs_well)


def axis_window(problem: Problem, space: Space, design: Design) -> Window | None:
    """From where to where above the floor the axes of loudspeakers behind the image may lie, all else as it is, so that
    every limit holds and no goal loses anything, within what the file lets them be, where it does not fix them; None
    where it says nothing of their height."""
    middle, given = space.layout.loudspeaker_height, problem.loudspeakers
    if "loudspeakers.z" not in space.domains or middle is None:
        return None
    if isinstance(given.z, Fixed):
        problem, space = _let_go(
            replace(problem, loudspeakers=replace(given, z=Range(0.0, problem.room.height))), design
        )
        middle = space.layout.loudspeaker_height
    bottom, high = (float(e.value(design)) for e in (space.layout.image_bottom, space.layout.image_height))
    return _kept(Scorer(problem, space), design, middle, (bottom, bottom + high), scored=True)


def _lens_let_go(problem: Problem, space: Space, design: Design) -> tuple[Problem, Space]:
    """The same problem and space with the lens free to move, where the file fixes its place."""
    lens, room = problem.projector, problem.room
    places = {"z": Range(0.0, room.height)} if isinstance(lens.z, Fixed) else {}
    if isinstance(lens.y, Fixed):
        places["y"] = Range(0.0, room.length)
    if isinstance(lens.behind, Fixed):
        places["behind"] = Range(0.0, room.length)
    if not places:
        return problem, space
    return _let_go(replace(problem, projector=replace(lens, **places)), design)


def _let_go(problem: Problem, design: Design) -> tuple[Problem, Space]:
    """A problem with something free to move that its file fixes, and the space that a design lies in."""
    return problem, next(one for one in spaces(problem) if one.names(design))


def _apart_let_go(problem: Problem, space: Space, design: Design) -> tuple[Problem, Space, Design]:
    """The same problem, space and design with the loudspeakers free to be as far apart as the room is wide, where the
    file fixes that or the image says it. A gap beside the image is then what their places leave of it; the baffle wall
    stays as it is."""
    name, layout = "loudspeakers.apart", space.layout
    given = layout.speakers
    design = {**design, name: 2.0 * float(given.offset.value(design))}
    offset = variable(name) * 0.5
    speakers = replace(given, offset=offset, usual=given.offset if given.place != "beside" else None)
    edges = layout.baffle_left, layout.baffle_right
    if given.place == "beside":
        gap = offset - (layout.image_width * 0.5 + layout.bezel + 0.5 * given.width)
        speakers = replace(speakers, gap=gap)
        if not design["baffle.depth"]:  # where there is no wall, they are its edges
            edges = edges[0] - (gap - given.gap), edges[1] + (gap - given.gap)
    layout = replace(layout, speakers=speakers, baffle_left=edges[0], baffle_right=edges[1])
    domains = {**space.domains, name: Steps(MILLIMETRE, 0, math.floor(layout.width / MILLIMETRE))}
    free = replace(problem, loudspeakers=replace(problem.loudspeakers, apart=Range(0.0, layout.width)))
    return free, replace(space, domains=domains, layout=layout), design


def _kept(
    scorer: Scorer,
    design: Design,
    place: Linear,
    span: Span,
    *,
    scored: bool = False,
    also: Callable[[Design], bool] = lambda _: True,
) -> Window:
    """Of a span, the stretch about a place in which every limit holds, and what ``also`` asks for, and, if it is
    ``scored``, no point is lost. It ends where the file's range for the decision does: who wrote it may know of what no
    limit tells. Of a list, those of its places in the span where that is so."""
    at, (name,) = float(place.value(design)), decisions_of(place)
    rate, domain = dict(place.terms)[name], scorer.space.domains[name]
    enough = float(scorer.scores(design)) - LOSS if scored else -math.inf

    def moved(places: np.ndarray | float) -> dict[str, Any]:
        return {**design, name: design[name] + (places - at) / rate}

    def holding(places: np.ndarray) -> np.ndarray:
        """Which of some places will do; the place as it is always does."""
        there = moved(places)
        good = np.broadcast_to(scorer.shortfall(there) == 0.0, places.shape)
        if scored:
            good = good & (scorer.scores(there) >= enough)
        fit = [bool(one) and also(moved(float(place))) for one, place in zip(good, places)]
        return np.array(fit) | (places == at)

    def end(tried: np.ndarray) -> float:
        """How far from the place on they will do, without a break, to a thousandth of the way between two of them."""
        good = holding(tried)
        if good.all():
            return float(tried[-1])
        first = int(np.argmin(good))
        between = np.linspace(tried[first - 1], tried[first], FINER + 1)
        return float(between[int(np.argmin(holding(between))) - 1])

    if isinstance(domain, Listed):
        places = at + (np.array(sorted(domain.values)) - design[name]) * rate
        near = (span[0] - ROUND <= places) & (places <= span[1] + ROUND) & holding(places) | (abs(places - at) < ROUND)
        return Window(tuple(float(place) for place in places[near]), at, listed=True)
    ends = sorted(at + (end - design[name]) * rate for end in domain.ends)
    low, high = min(at, max(span[0], ends[0])), max(at, min(span[1], ends[1]))
    return Window((end(np.linspace(at, low, TRIED)), end(np.linspace(at, high, TRIED))), at)


MAY_LIE = "may lie, all else as it is"


def places_table(f: Figure, problem: Problem, space: Space, design: Design) -> Table:
    """Loudspeakers in the baffle, and the projector's lens, with how far each may be moved."""
    system = problem.show

    def length(value: float) -> str:
        return show("length", value, system)

    layout = space.layout
    left, right = _aside(layout, design)
    middle = float((layout.reference_row.middle - layout.image_centre).value(design))
    centre = math.atan2(abs(middle), float(listening(layout, layout.reference_row).value(design)))
    aside = {name: show("angle", angle) for name, angle in (("L", left), ("C", centre), ("R", right))}
    names = {"L": "left", "C": "centre", "R": "right"}
    window = speaker_window(f, problem, space, design)
    up = axis_window(problem, space, design)

    def across(one: Cabinet) -> str:
        if window is None or one.name == "C":
            return ""
        side = 1.0 if one.name == "R" else -1.0
        kept, better = window
        off = kept if better is None else better
        places = (f.centre + side * offset for offset in off.places)
        there = replace(off, places=tuple(sorted(places)), at=one.x if better is None else f.centre + side * off.at)
        return f"{'' if better is None else 'better '}{there.words(system)} from the left wall"

    def allowed(one: Cabinet) -> str:
        above = "" if up is None else f"{up.words(system)} above the floor"
        return ", ".join(filter(None, (across(one), above)))

    rows = [
        (
            f"loudspeaker, {names[one.name]}",
            length(one.x),
            length(f.baffle_depth),
            _height(f, one, system),
            aside[one.name],
            allowed(one),
        )
        for one in f.loudspeakers
    ]
    rows += [("loudspeaker, bass", length(x), length(y), length(z), "", "") for x, y, z in f.bass]
    if f.projector is not None:
        y, z = f.projector
        # nobody measures through the wall
        name = "projector, lens" + (f", {length(y - f.length)} behind the rear wall's face" if y > f.length else "")
        rows.append((name, length(f.centre), length(y), length(z), "", _lens_words(problem, space, design)))
    head = (
        "what",
        "from the left wall",
        "from the front wall",
        "above the floor",
        "aside, from the reference row",
        MAY_LIE,
    )
    title = "Loudspeakers" if f.projector is None else "Loudspeakers and projector"
    told = any(row[-1] for row in rows)
    filled = tuple(tuple(cell or BLANK for cell in (row if told else row[:-1])) for row in rows)
    return Table(title, head, filled, wide=((0, 1.0), (5, 1.2))) if told else Table(title, head[:-1], filled)


def port_words(f: Figure, space: Space, design: Design, system: str) -> str | None:
    """Where the light of a lens behind the rear wall comes through that wall's face; None where the lens is in the room."""
    if f.projector is None or f.projector[0] <= f.length:
        return None
    spans = [[float(end.value(design)) for end in ends] for ends in light_at(space.layout, f.length)]
    (left, right), (low, top) = spans
    told = {"wide": right - left, "high": top - low, "x": 0.5 * (left + right), "low": low, "top": top}
    return prose.PORT.format(**{name: show("length", value, system) for name, value in told.items()})


def _aside(layout: Layout, design: Design) -> tuple[float, float]:
    """Angles [rad] of the left and the right loudspeaker from the middle of the reference row, each to its side."""
    row = layout.reference_row
    left, right = catalogue()["loudspeaker_angle"].build(layout, row, x=row.middle)
    return float(left.value(design)), float(right.value(design))


def behind(f: Figure, one: Cabinet) -> bool:
    """Whether a loudspeaker stands behind the image, and not in the baffle wall beside it."""
    return one.z is None and f.image[0] <= one.x <= f.image[1]


def stand(f: Figure) -> str:
    """Where the front loudspeakers stand, said of the image."""
    outside = f.place == "behind" and not all(behind(f, one) for one in f.loudspeakers)
    return "behind and beside" if outside else f.place


def space_for(f: Figure, one: Cabinet) -> Span:
    """From where to where there is space for the axis of a left or right loudspeaker: behind the image, or from the
    frame, and the gap that the file has beside it, to the baffle wall's edge (without one, to the side wall)."""
    if behind(f, one):
        return f.image
    half = 0.0 if one.z is None else 0.5 * one.width
    least, most = f.baffle if f.baffle_depth else (0.0, f.width)
    least, most = least + half, most - half
    if f.place in ("under", "over"):
        return least, most
    away = half + (f.gap if f.place == "beside" else 0.0)
    return (least, f.frame[0] - away) if one.x < f.centre else (f.frame[1] + away, most)


def _height(f: Figure, one: Cabinet, system: str) -> str:
    if one.z is None:
        where = "behind the image" if behind(f, one) else "beside the image"
        return where if one.axis is None else f"{show('length', one.axis, system)}, {where}"
    return " to ".join(show("length", end, system) for end in one.z)


def _lens_words(problem: Problem, space: Space, design: Design) -> str:
    found = lens_window(problem, space, design)
    if found is None:
        return ""
    along, up = found

    words = f"{along.words(problem.show)} from the front wall"
    if up is None:
        return f"{words}; how high hangs on its lens offset, which the file does not give"
    return f"{words}, {up.words(problem.show)} above the floor"
