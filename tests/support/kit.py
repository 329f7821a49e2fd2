"""Lists of things, as the checker sees them: one thing at a time, put into the problem by hand.

Nothing here comes from the package but the frozen data of a problem.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np
from hypothesis import strategies as st

from optimiser.problem.model import Choice, Fixed, Item, Listing, Problem, Screen


def lists(problem: Problem) -> dict[str, Listing]:
    """What designs with the problem's (one) kind of screen choose from."""
    here = [one for one in problem.listings if one.pick is not None and one.type in ("", problem.screen.type)]
    return {one.of: one for one in here if one.of != "projector" or problem.screen.type == "projected"}


def shapes(problem: Problem) -> list[float]:
    """The aspect ratios of the problem's screen: its own, or those of its list."""
    listing = lists(problem).get("screen")
    if listing is not None and "aspect" in listing.keys:
        return sorted({dict(item.own)["aspect"] for item in listing.items})
    aspect = problem.screen.aspect
    return [aspect.value] if isinstance(aspect, Fixed) else list(aspect.values)


def combinations(problem: Problem, aspect: float) -> Iterator[tuple[dict[str, float], Problem]]:
    """Every way to take one thing from each list with an image of this shape, and the problem that it leaves."""
    found = lists(problem)
    if problem.screen.type != "tiled":
        problem = replace(problem, screen=replace(problem.screen, aspect=Fixed(aspect)))
    allowed = {
        of: [
            i for i in one.items if i.number in (one.pick.values if isinstance(one.pick, Choice) else (one.pick.value,))
        ]
        for of, one in found.items()
    }
    for items in itertools.product(*allowed.values()):
        picks = dict(zip(found, items))
        if "screen" in picks and dict(picks["screen"].own).get("aspect", aspect) != aspect:
            continue
        yield {of: float(item.number) for of, item in picks.items()}, plain(problem, picks)


def plain(problem: Problem, picks: Mapping[str, Item]) -> Problem:
    """The problem as if its file named these things only."""
    for of, item in picks.items():
        said = dict(item.own)
        if of == "chair":
            problem = replace(problem, seating=replace(problem.seating, chair=replace(problem.seating.chair, **said)))
        elif of == "screen":
            problem = replace(problem, screen=_screen(problem.screen, said))
        else:
            problem = replace(problem, **{of: replace(getattr(problem, of), **said)})
    listings = []
    for one in problem.listings:
        if one.pick is not None and one.of in picks and picks[one.of] in one.items:
            one = replace(one, items=(replace(picks[one.of], own=()),), pick=None)
        listings.append(one)
    return replace(problem, listings=tuple(listings))


def _screen(screen: Screen, said: dict) -> Screen:
    """A screen with what a list says; by its diagonal, it is as wide as Pythagoras has it."""
    said = dict(said)
    if "aspect" in said:
        said["aspect"] = Fixed(said["aspect"])
    if "diagonal" in said and screen.type == "projected":
        ratio = (said.get("aspect") or screen.aspect).value
        said["width"] = said.pop("diagonal") / math.sqrt(1.0 + ratio**-2)
    for key in ("width", "diagonal", "bezel"):
        if key in said:
            said[key] = Fixed(said[key])
    return replace(screen, **said)


def also(problem: Problem) -> dict[str, float]:
    """Decisions that a thing has taken."""
    screen = problem.screen
    found = {"screen.width": screen.width, "screen.diagonal": screen.diagonal, "screen.bezel": screen.bezel}
    return {name: decision.value for name, decision in found.items() if isinstance(decision, Fixed)}


class OfKit:
    """The checker's formulas for what is bought and what it asks; a part of checker.Judge."""

    def cost(self, d):
        bar = self.problem.seating.bar is not None and self.count > 1  # in the place of the last row: no chairs
        seats = sum(d[f"row{n}.seats"] for n in range(1, self.count + 1 - bar))
        counts = {"screen": 1, "loudspeakers": 1, "chair": seats, "panels": d.get("treatment.panels", 0), "tiles": 0}
        if self.kind == "tiled":
            counts["tiles"] = d["screen.columns"] * np.round(self.height(d) / self.problem.screen.tile.height)
        if self.problem.projector is not None and self.kind == "projected":
            counts["projector"] = 1
        total = 0.0
        for one in self.problem.listings:
            if one.of in counts and one.type in ("", self.kind):
                (item,) = one.items
                total = total + (item.price or 0.0) * counts[one.of]
        return total

    def chair_width(self, d):
        return self.problem.seating.chair.width

    def chair_recline(self, d):
        return self.problem.seating.chair.reclined - self.problem.seating.chair.depth

    def throw_ratio_margin(self, d):
        least, most = self.problem.projector.throw_ratio
        return np.minimum(self.throw_ratio(d) - least, most - self.throw_ratio(d))

    def lens_offset_margin(self, d):
        if self.problem.projector.lens_offset is None:
            return np.inf
        least, most = self.problem.projector.lens_offset
        return np.minimum(self.lens_offset(d) - least, most - self.lens_offset(d))

    def listening_distance_margin(self, d, r):
        least = self.problem.loudspeakers.least_distance
        return r.y - d["baffle.depth"] - least if least else np.inf


class WithLists:
    """A judge of a problem with lists: each design is judged as one of the problem without them."""

    def _plain(self, d):
        (found,) = self._several({name: np.asarray(value) for name, value in d.items()})
        return found[1], {name: float(value) for name, value in found[2].items()}

    def _several(self, d):
        """Which designs take the same things, the judge of these, and what it reads of them."""
        shape = np.broadcast_shapes(*(np.shape(value) for value in d.values()))
        full = {name: np.broadcast_to(value, shape) for name, value in d.items()}
        found = []
        for picks, problem in combinations(self.problem, self.aspect):
            mask = np.full(shape, True)
            for of, number in picks.items():
                mask = mask & (full[of] == number)
            if mask.any():
                judge = type(self).without(problem, self.count, self.aspect)
                own = {name: value[mask] if shape else value for name, value in full.items()}
                found.append((mask, judge, {**own, **also(problem)}))
        return found

    def value(self, name, d, row=None, **options):
        return self._each(d, lambda judge, own: judge.value(name, own, row, **options))

    def _each(self, d, judged):
        """What ``judged`` says of each design, by its judge."""
        d = {key: np.asarray(value) for key, value in d.items()}
        shape = np.broadcast_shapes(*(np.shape(value) for value in d.values()))
        found = np.full(shape, np.nan)
        for mask, judge, own in self._several(d):
            found[mask] = judged(judge, own)
        return found

    def room(self, name, d, row, value, **options):
        return self._each(
            d, lambda judge, own: judge.room(name, own, row, judge.value(name, own, row, **options), **options)
        )

    def holds(self, d):
        return self._each(d, lambda judge, own: judge.holds(own)) == 1.0

    def score(self, d):
        return self._each(d, lambda judge, own: judge.score(own))

    def slacks(self, d):
        judge, own = self._plain(d)
        return judge.slacks(own)

    def parts_of(self, goal, d):
        judge, own = self._plain(d)
        return judge.parts_of(goal, own)


# --- random lists -----------------------------------------------------------------------------

NAMES = ("Ash", "Birch", "Cedar", "Dogwood", "Elm")
PRICES = st.sampled_from((0.0, 240.0, 999.5, 1450.0, 5000.0))


@st.composite
def some(draw, of: str, own: Mapping[str, st.SearchStrategy], kind: str = "") -> Listing:
    """A list of a few things that differ in some of the given keys, with prices or without."""
    keys = sorted(draw(st.sets(st.sampled_from(sorted(own)), min_size=1)))
    priced = draw(st.booleans())
    count = draw(st.integers(1, 4))
    items = tuple(
        Item(n, NAMES[n], draw(PRICES) if priced else None, tuple((key, draw(own[key])) for key in keys))
        for n in range(count)
    )
    numbers = tuple(float(n) for n in range(count))
    return Listing(of, items, Choice(numbers, NAMES[:count]), kind)


def listed(problem: Problem, *listings: Listing) -> Problem:
    """The problem with lists, and nothing of its own where a list speaks."""
    for one in listings:
        absent = dict.fromkeys(key for key, _ in one.items[0].own)
        if one.pick is None:
            continue
        if one.of == "chair":
            problem = replace(problem, seating=replace(problem.seating, chair=replace(problem.seating.chair, **absent)))
        elif one.of == "screen":
            absent |= {"width": None} if "diagonal" in absent else {}
            problem = replace(problem, screen=replace(problem.screen, **absent))
        else:
            problem = replace(problem, **{one.of: replace(getattr(problem, one.of), **absent)})
    return replace(problem, listings=(*problem.listings, *listings))


@st.composite
def kits(draw, problem: Problem, length) -> Problem:
    """The problem with lists, or prices, of whatever it has."""
    added: list[Listing] = []
    ratio = st.sampled_from(((0.8, 1.2), (1.2, 1.9), (1.5, 2.4)))
    offset = st.sampled_from(((-0.6, 0.7), (0.0, 0.55), (0.3, 0.6)))
    speakers = {
        "width": length(0.2, 0.4),
        "height": length(0.2, 0.5),
        "depth": length(0.1, 0.4),
        "directivity": st.sampled_from((1.0, 4.0, 9.0)),
        "least_distance": length(0.5, 3.0),
    }
    chairs = {
        "width": length(0.5, 0.9),
        "depth": length(0.6, 0.9),
        "reclined": length(1.0, 1.8),
        "eye_height": length(0.9, 1.2),
        "eye_to_back": length(0.1, 0.4),
        "head_above_eye": length(0.08, 0.15),
    }
    screens = {"bezel": length(0.0, 0.15), "gap": length(0.0, 0.1)}
    kind = problem.screen.type
    if kind == "projected":
        screens |= {"gain": st.sampled_from((0.9, 1.0, 1.4)), "open_area": st.sampled_from((0.0, 0.07))}
        screens |= {"width": length(0.9, 2.5)} if draw(st.booleans()) else {"diagonal": length(1.2, 3.0)}
    elif kind == "panel":
        screens |= {"diagonal": length(1.2, 3.0), "luminance": st.sampled_from((100.0, 250.0))}
    if isinstance(problem.screen.aspect, Fixed):  # else a list of diagonals would have several shapes
        screens |= {"aspect": st.sampled_from((16 / 9, 2.4))}
    for of, own, possible in (
        ("screen", screens, kind != "tiled"),
        (
            "projector",
            {"lumens": st.sampled_from((800.0, 2500.0, 4000.0)), "throw_ratio": ratio, "lens_offset": offset},
            True,
        ),
        ("loudspeakers", speakers, True),
        ("chair", chairs, True),
    ):
        if possible and draw(st.booleans()) and getattr(problem, of, problem.seating) is not None:
            added.append(draw(some(of, own, kind if of == "screen" else "")))
    for of, there in (("panels", problem.room.treatment is not None), ("tiles", kind == "tiled")):
        if there and draw(st.booleans()):
            added.append(Listing(of, (Item(0, of, draw(PRICES)),), None, kind if of == "tiles" else ""))
    return listed(problem, *added)


def a_list(of: str, kind: str = "", **columns) -> Listing:
    """A list of priced things: ``names``, ``prices``, and a column for each key."""
    names, prices = columns.pop("names"), columns.pop("prices")
    items = tuple(
        Item(n, name, float(prices[n]), tuple((key, column[n]) for key, column in columns.items()))
        for n, name in enumerate(names)
    )
    return Listing(of, items, Choice(tuple(map(float, range(len(names)))), tuple(names)), kind)


def to_buy(problem: Problem) -> Problem:
    """A problem with lists of four screens, three projectors, two pairs of loudspeakers and three chairs."""
    wide = 16 / 9
    return listed(
        problem,
        a_list(
            "screen",
            "projected",
            names=("A", "B", "C", "D"),
            prices=(500, 900, 1400, 2000),
            diagonal=(2.2, 2.6, 3.0, 3.1),
            aspect=(wide, wide, wide, 2.4),
            gain=(1.0, 1.3, 0.8, 1.1),
        ),
        a_list(
            "projector",
            names=("E", "F", "G"),
            prices=(800, 2500, 4000),
            lumens=(700.0, 1200.0, 2500.0),
            throw_ratio=((1.2, 1.6), (1.5, 2.4), (0.9, 1.3)),
        ),
        a_list(
            "loudspeakers",
            names=("H", "I"),
            prices=(600, 2200),
            depth=(0.2, 0.4),
            directivity=(3.0, 9.0),
            least_distance=(1.5, 2.6),
        ),
        a_list(
            "chair",
            names=("J", "K", "L"),
            prices=(150, 700, 1300),
            width=(0.55, 0.7, 0.9),
            reclined=(1.0, 1.3, 1.7),
            eye_height=(1.2, 1.1, 1.0),
        ),
    )
