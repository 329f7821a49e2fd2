"""Lists of things of which one is taken, and the prices of what is taken.

A list gives some numbers of its part of the file: there the part itself has None. ``in_forms`` puts
expressions in their place, for a layout; ``chosen`` puts the numbers of the things that a design
takes there, and leaves a problem without lists.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from optimiser.linear import Expression, Linear, constant, entry
from optimiser.physics import light, viewing
from optimiser.problem.model import Chair, Choice, Decision, Fixed, Item, Listing, Problem, Screen

DECIDED = ("width", "diagonal", "bezel", "aspect")
"""Keys of a screen that are decisions where no list gives them."""

LISTED = ("screen", "projector", "loudspeakers", "chair")
"""Parts that may have a list: the names of the decisions that choose from them."""

Numbers = Mapping[str, tuple[float, ...]]
"""Of each list that a space chooses from, the numbers of the things that it may take."""


def listing_of(problem: Problem, of: str, screen_type: str = "") -> Listing | None:
    """The list of a part; of screens, that of one type (of the problem's first one, if none is said)."""
    kind = (screen_type or problem.screen.type) if of in ("screen", "tiles") else ""
    return next((one for one in problem.listings if one.of == of and one.type == kind), None)


def listed_keys(problem: Problem, of: str) -> tuple[str, ...]:
    """The keys of a part that its list gives."""
    listing = listing_of(problem, of)
    return () if listing is None else listing.keys


def item_names(problem: Problem, of: str) -> dict[str, int]:
    """The things that a decision may take, by name: their numbers."""
    return {
        item.name: item.number
        for listing in problem.listings
        if listing.of == of and listing.pick is not None
        for item in listing.items
    }


def chairs(problem: Problem) -> tuple[Chair, ...]:
    """Every chair that there is to take."""
    listing = listing_of(problem, "chair")
    if listing is None or listing.pick is None:
        return (problem.seating.chair,)
    return tuple(replace(problem.seating.chair, **dict(item.own)) for item in listing.items)  # type: ignore[arg-type]


NOT_GIVEN_AT_0 = {"loudspeakers": ("depth", "least_distance")}
"""Keys of parts that count as not given where they are 0: limits of the room's own hang on whether they are given."""


def gives(problem: Problem, of: str, key: str) -> bool:
    """Whether a number of NOT_GIVEN_AT_0 is given, by the part or by any of its list."""
    listing = listing_of(problem, of)
    if listing is not None and key in listing.keys:
        return any(dict(item.own)[key] for item in listing.items)
    return bool(getattr(getattr(problem, of), key))


# --- what a space may take --------------------------------------------------------------------


def picks(problem: Problem, aspect: float) -> dict[str, Decision]:
    """What designs with one kind of screen and one aspect ratio choose from lists."""
    found: dict[str, Decision] = {}
    for of in LISTED:
        listing = listing_of(problem, of)
        if listing is None or listing.pick is None or (of == "projector" and problem.screen.type != "projected"):
            continue
        allowed = _allowed(listing)
        if "aspect" in listing.keys:
            allowed = [item for item in allowed if abs(dict(item.own)["aspect"] - aspect) < 1e-9]
        numbers = tuple(float(item.number) for item in allowed)
        found[of] = Fixed(numbers[0]) if len(numbers) == 1 else Choice(numbers, tuple(item.name for item in allowed))
    return found


def aspects(problem: Problem, decided: Iterable[float]) -> tuple[float, ...]:
    """The aspect ratios of the problem's screen: as decided, or those of its list."""
    listing = listing_of(problem, "screen")
    if listing is None or "aspect" not in listing.keys:
        return tuple(decided)
    wanted = tuple(decided)
    ratios = dict.fromkeys(float(dict(item.own)["aspect"]) for item in _allowed(listing))
    return tuple(ratio for ratio in ratios if not wanted or any(abs(ratio - other) < 1e-9 for other in wanted))


def _allowed(listing: Listing) -> list[Item]:
    return [item for item in listing.items if item.number in values_of(listing.pick)]  # type: ignore[arg-type]


# --- as expressions ---------------------------------------------------------------------------


def looked_up(listing: Listing, numbers: Numbers, said: Callable[[dict[str, Any]], float]) -> Linear:
    """What ``said`` reads off the thing that is taken."""
    return _entry(listing, numbers, lambda item: said(dict(item.own)))


def _entry(listing: Listing, numbers: Numbers, said: Callable[[Item], float]) -> Linear:
    values = {float(item.number): said(item) for item in listing.items}
    taken = numbers[listing.of] if listing.pick is not None else tuple(values)
    if len(taken) == 1:
        return constant(values[taken[0]])
    return entry(listing.of, {number: values[number] for number in taken})


def expression(value: Any) -> Linear:
    """A number as an expression; an expression as it is."""
    return value if isinstance(value, Linear) else constant(value)


def in_forms(problem: Problem, numbers: Numbers, aspect: float) -> Problem:
    """The problem with expressions in the place of lengths and ratios that lists give."""
    for of in numbers:
        listing = listing_of(problem, of)
        assert listing is not None
        given: dict[str, Any] = {}
        for key in listing.keys:
            if key in ("throw_ratio", "lens_offset"):
                given[key] = tuple(looked_up(listing, numbers, lambda own, k=key, e=e: own[k][e]) for e in (0, 1))
            elif key in ("width", "diagonal") and of == "screen":
                given["width"] = looked_up(listing, numbers, lambda own: width_of(own, aspect))
            elif key not in ("aspect", "pixels", "gain", "open_area", "lumens", "directivity", "weight"):
                given[key] = looked_up(listing, numbers, lambda own, k=key: own[k])
        problem = _with_fields(problem, of, given)
    return problem


def width_of(own: Mapping[str, Any], aspect: float) -> float:
    """Width of the image of a screen that is listed by its width or by its diagonal."""
    if "width" in own:
        return float(own["width"])
    return float(viewing.image_size(diagonal=own["diagonal"], aspect=aspect)[0])


def root(problem: Problem, numbers: Numbers, of: str, said: Callable[[dict[str, Any]], float]) -> tuple[float, Linear]:
    """The greatest of what ``said`` reads off a part (its own numbers, or those of the things that may be
    taken), and the root of what is taken as a share of it."""
    part = getattr(problem, of)
    listing = listing_of(problem, of) if of in numbers else None

    def value(own: dict[str, Any]) -> float:
        return said({**vars(part), **own})

    if listing is None:
        return value({}), constant(1.0)
    greatest = max(value(dict(item.own)) for item in listing.items if item.number in numbers[of])
    return greatest, looked_up(listing, numbers, lambda own: math.sqrt(value(own) / greatest))


def gain_said(own: Mapping[str, Any]) -> float:
    """Gain of a surface with its holes."""
    return light.gain_of_perforated(gain=own["gain"], open_area=own["open_area"])


def pixel_pitch(problem: Problem, numbers: Numbers, width: Linear) -> Expression | None:
    """From pixel to pixel, where the file tells how many there are."""
    listing = listing_of(problem, "screen") if "screen" in numbers else None
    if listing is not None and "pixels" in listing.keys:
        return width * looked_up(listing, numbers, lambda own: 1.0 / own["pixels"])
    return None if problem.screen.pixels is None else width * (1.0 / problem.screen.pixels)


def cost(problem: Problem, numbers: Numbers, counts: Mapping[str, Expression]) -> Expression | None:
    """What all that has a price comes to: each thing's price as many times as ``counts`` has it there
    (nothing where it has not); None where the file has no prices."""
    if not any(item.price is not None for listing in problem.listings for item in listing.items):
        return None
    total: Expression = constant(0.0)
    for of, count in counts.items():
        listing = listing_of(problem, of)
        if listing is not None and listing.items[0].price is not None:
            price = _entry(listing, numbers, lambda item: item.price or 0.0)
            total = total + (price * count if isinstance(count, Linear) else count * price.constant)
    return total


# --- as numbers -------------------------------------------------------------------------------


def taken(problem: Problem, design: Mapping[str, float]) -> dict[str, Item]:
    """The things that a design takes from lists, by decision."""
    found: dict[str, Item] = {}
    for listing in problem.listings:
        if listing.pick is not None and listing.of in design:
            found.update((listing.of, item) for item in listing.items if item.number == round(design[listing.of]))
    return found


def chosen(problem: Problem, design: Mapping[str, float]) -> Problem:
    """The problem with the things that a design takes, and without lists."""
    for of, item in taken(problem, design).items():
        problem = with_item(problem, of, item, float(design["screen.aspect"]))
    return problem


def with_item(problem: Problem, of: str, item: Item, aspect: float) -> Problem:
    """The problem with one of the things of a list in the place of the list."""
    listing = next(one for one in problem.listings if one.of == of and item in one.items)
    given = dict(item.own)
    if of == "screen":
        if listing.type == "projected" and {"width", "diagonal"} & set(given):
            given["width"] = width_of(given, aspect)
            given.pop("diagonal", None)
        given = {key: Fixed(value) if key in DECIDED else value for key, value in given.items()}
    alone = replace(listing, items=(replace(item, own=()),), pick=None)
    listings = tuple(alone if one is listing else one for one in problem.listings)
    return replace(_with_fields(problem, of, given, listing.type), listings=listings)


def _with_fields(problem: Problem, of: str, given: Mapping[str, Any], kind: str = "") -> Problem:
    if of == "screen":
        screens = [replace(s, **given) if kind in ("", s.type) else s for s in problem.screens]
        return replace(problem, screen=screens[0], other_screens=tuple(screens[1:]))
    if of == "chair":
        return replace(problem, seating=replace(problem.seating, chair=replace(problem.seating.chair, **given)))
    return replace(problem, **{of: replace(getattr(problem, of), **given)})


def each(problem: Problem) -> Iterator[Problem]:
    """Problems without lists, in which each thing of each list is taken at least once."""
    lists = [one for one in problem.listings if one.pick is not None]
    for at in range(max((len(one.items) for one in lists), default=1)):
        made = problem
        for one in lists:
            item = one.items[min(at, len(one.items) - 1)]
            screen = next((s for s in problem.screens if s.type == one.type), problem.screen)
            ratio = dict(item.own).get("aspect") or (1.0 if screen.aspect is None else values_of(screen.aspect)[0])
            made = with_item(made, one.of, item, float(ratio))
        yield made


def values_of(decision: Decision) -> tuple[float, ...]:
    """The values among which a decision chooses; a range must be one of whole numbers."""
    if isinstance(decision, Fixed):
        return (decision.value,)
    if isinstance(decision, Choice):
        return decision.values
    return tuple(float(n) for n in range(math.ceil(decision.low), math.floor(decision.high) + 1))


def restricted(problem: Problem, of: str, number: int) -> Problem:
    """The problem with only one thing of a list left to take; of screens, with its kind of screen only."""
    holder = next(one for one in problem.listings if one.of == of and any(i.number == number for i in one.items))
    listings = tuple(replace(one, pick=Fixed(float(number))) if one is holder else one for one in problem.listings)
    kept: tuple[Screen, ...] = tuple(s for s in problem.screens if of != "screen" or s.type == holder.type)
    return replace(problem, listings=listings, screen=kept[0], other_screens=kept[1:])
