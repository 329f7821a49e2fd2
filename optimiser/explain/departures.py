"""Where a design of one's own departs from what the file decides: then what is proven of the best design is not about it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from optimiser.explain.members import SAVED, governed, unkept, values_of
from optimiser.explain.sayings import member_words
from optimiser.problem.model import Decision, Problem, Range
from optimiser.quantity import show
from optimiser.words import decision_words, listed, value_words

STEPPED = 1e-6
"""Share of a step by which a height may miss a whole number of them."""


def departures(problem: Problem, design: Mapping[str, float]) -> list[tuple[str, str]]:
    """What the file says of decisions and a design has otherwise: for each where in the file that is, and in words."""
    found = [(member.path, member_words(problem, member)) for member in unkept(problem, design)]
    return found + [one for one in _others(problem, design) if one[0] not in {path for path, _ in found}]


def departure_words(problem: Problem, design: Mapping[str, float]) -> str:
    """The same as the end of a sentence; empty where there is nothing."""
    found = departures(problem, design)
    if not found:
        return ""
    who = listed(words for _, words in found)
    return f"does not keep to what the file decides ({who}); what is proven of the best design is about those that do."


def _others(problem: Problem, design: Mapping[str, float]) -> Iterator[tuple[str, str]]:
    """Decisions that no room bounds, and those that the file leaves as they usually are."""
    seating, room, baffle = problem.seating, problem.room, problem.baffle
    rows = round(design["rows"])
    middle = 0.5 * room.width
    centre = design.get("screen.centre", middle)
    if rows > 1 and not _allowed(values_of(seating.stagger), design.get("seating.stagger")):
        yield "seating.stagger", _words(problem, "seating.stagger", seating.stagger)
    if baffle.centred and abs(centre - middle) > SAVED:
        yield "front.baffle.centred", "the image in the middle of the room"
    if seating.centre is None and abs(design.get("seating.centre", centre) - centre) > SAVED:
        yield "seating.centre", "the rows' middle at the image's"
    if seating.aisle.sides in ("left", "right"):
        if not _allowed((float(seating.aisle.sides == "right"),), design.get("aisle.side")):
            yield "seating.aisle.sides", f"the aisle at the {seating.aisle.sides}"
    if problem.bass is not None and not _allowed(values_of(problem.bass.arrangement), design.get("bass.arrangement")):
        yield "bass.arrangement", _words(problem, "bass.arrangement", problem.bass.arrangement)
    step = seating.platforms.step
    stepped = [n for path in ("seating.platform.first", "seating.platform.to") for n in governed(problem, path, rows)]
    if not isinstance(seating.platforms.first, Range):  # which stands for itself, whatever the step
        stepped = [name for name in stepped if name != "row1.platform"]
    heights = (design.get(name, 0.0) / step for name in stepped)
    if any(abs(height - round(height)) > STEPPED for height in heights):
        yield "seating.platform.step", f"platforms in steps of {show('length', step, problem.show)}"


def _allowed(values: Collection[float], value: float | None) -> bool:
    """Whether a value, if there is one, is among some."""
    return value is None or any(abs(value - one) <= SAVED for one in values)


def _words(problem: Problem, name: str, decision: Decision) -> str:
    """A decision of which the file has one value or a list, with these."""
    return f"{decision_words(name)} of {listed((value_words(problem, name, v) for v in values_of(decision)), 'or')}"
