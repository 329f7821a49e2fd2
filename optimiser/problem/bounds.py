"""Limits and goals: bounds and bands in the unit of their measure, rows, options."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping
from typing import Any, ClassVar, NamedTuple

from optimiser.errors import QuantityError, cut_by_comma, did_you_mean
from optimiser.problem.decisions import nearest_measure
from optimiser.problem.fields import either
from optimiser.problem.model import Goal, Limit, Mark
from optimiser.quantity import KINDS, parse

Complain = Callable[..., None]

# A width of so many whole things need not be whole itself.
_FADE_KIND = {"count": "number"}
ENDS = ("at_least", "at_most")
ROW_WORDS = ("reference", "all", "worst", "worst seat")


class Rows(NamedTuple):
    """How many rows there are at most, and which the reference row is, if that is known."""

    most: int
    reference: int | None = None


class Bound:
    """One limit or goal: what could be read of it, and where to complain about the rest."""

    elsewhere: ClassVar[Mapping[str, str]] = {}  # keys that belong elsewhere, and what to write here

    def __init__(self, item: Any, path: tuple, complain: Complain, catalogue: Mapping, rows: Rows) -> None:
        self.item = item
        self.path = path
        self.complain = complain
        self.catalogue = catalogue
        self.rows, self.reference = rows
        self.sound = True
        self.meant: set[str] = set()  # keys that mistyped ones stand for
        self.measure = catalogue.get(item.measure) if item.measure is not None else None
        if item.measure is not None and self.measure is None:
            self.wrong(("measure",), f"unknown measure '{item.measure}'", nearest_measure(item.measure, catalogue))

    def wrong(self, below: tuple, message: str, remedy: str = "", **place: bool) -> None:
        """Complain about something under this item."""
        self.sound = False
        self.complain((*self.path, *below), message, remedy, **place)

    def value(self, text: object, *below: object, fade: bool = False) -> float | None:
        """A value in the measure's unit."""
        if self.measure is None:
            return None
        kind = self.measure.quantity
        kind = _FADE_KIND.get(kind, kind) if fade else kind
        if isinstance(text, (dict, list)):
            self.wrong(below, "one value is due here", f"write it like '{KINDS[kind].example}'")
            return None
        try:
            value = float(parse(kind, "" if text is None else text, signed=not fade))  # type: ignore[arg-type]
        except QuantityError as error:
            self.wrong(below, error.message, error.remedy)
            return None
        if not math.isfinite(value):
            self.wrong(below, f"'{text}' is too large")
            return None
        return value

    def row(self) -> str:
        """Which rows it is about."""
        row = self.item.row
        if row is None or self.measure is None:
            return "all"
        if "row" in self.item.written and not self.measure.per_row:
            self.wrong(("row",), f"{self.measure.name} is one value for the whole design", "leave row out", key=True)
            return "all"
        if row == "worst seat" and not getattr(self.measure, "per_seat", False):
            self.wrong(("row",), f"{self.measure.name} has one value for a whole row", "write all or worst")
        first = getattr(self.measure, "first_row", 1)
        if row == "reference" and self.reference is not None and self.reference < first:
            told = f"{self.measure.name} begins at row {first}, after the reference row"
            self.wrong(("row",), told, f"write {first} or more, all or worst")
        if row in ROW_WORDS:
            return row
        if not row.isascii() or not row.isdigit():
            # 'first' is spelt like 'worst'
            near = did_you_mean(row, [one for one in ROW_WORDS if one[0] == row[:1]])
            self.wrong(
                ("row",),
                f"'{row}'",
                near if near.startswith("did") else f"write {either(ROW_WORDS)}, or a number",
            )
            return "all"
        number = int(row[:6])
        if number > self.rows or number < 1:
            self.wrong(("row",), f"there is no row {number}: the file allows at most {self.rows}", "name one of them")
        elif number < first:
            self.wrong(("row",), f"{self.measure.name} begins at row {first}", f"write {first} or more")
        return str(number)

    def options(self) -> tuple[tuple[str, object], ...]:
        """All options of the measure, with defaults for those left out."""
        if self.measure is None:  # any measure's options may be meant
            self._unknown_keys({name for item in self.catalogue.values() for name in item.options})
            return ()
        known = self.measure.options
        self._unknown_keys(known)
        chosen = []
        for name, allowed in known.items():
            written = self.item.extra.get(name, str(allowed[0]))
            found = [value for value in allowed if str(value) == written]
            if found:
                chosen.append((name, found[0]))
            else:
                shown = f"'{written}'" if isinstance(written, str) else "one word is due here"
                self.wrong((name,), shown, f"write {either(allowed)}")
        return tuple(chosen)

    def _unknown_keys(self, options: Collection[str]) -> None:
        keys = [*self.item.keys, *options]
        for name in self.item.extra:
            if name not in options:
                near = did_you_mean(name, keys)
                self.meant.update(key for key in keys if near == f"did you mean '{key}'?")
                if not near.startswith("did you"):
                    taker = self.measure.name if self.measure else "it"
                    near = f"{taker} takes {', '.join(options) or 'no options'}"
                remedy = self.elsewhere.get(name, cut_by_comma(name, self.item.extra[name]) or near)
                self.wrong((name,), f"unknown key '{name}'", remedy, key=True)


class LimitBound(Bound):
    """A limit."""

    elsewhere: ClassVar[Mapping[str, str]] = {
        "band": "write at_least: and at_most: in a limit",
        "fade": "a limit has none; a goal has",
        "weight": "a limit has none; a goal has",
    }


def read_limit(
    item: Any, path: tuple, where: Mark | None, complain: Complain, catalogue: Mapping, rows: Rows
) -> Limit | None:
    """A limit; None (and complaints) if something is wrong with it."""
    bound = LimitBound(item, path, complain, catalogue, rows)
    row, options = bound.row(), bound.options()
    ends = _ends(bound)
    if not {"band", *ENDS} & (item.written | bound.meant):
        bound.wrong((), "a limit without a bound", "write at_least: or at_most:")
    if not bound.sound or bound.measure is None or item.firm is None:
        return None
    return Limit(item.measure, row, *ends, options=options, firm=item.firm, where=where)


def read_goal(
    item: Any, path: tuple, where: Mark | None, complain: Complain, catalogue: Mapping, rows: Rows
) -> Goal | None:
    """A goal; None (and complaints) if something is wrong with it."""
    bound = Bound(item, path, complain, catalogue, rows)
    row, options = bound.row(), bound.options()
    single = [key for key in ENDS if key in item.written]
    if "band" in item.written and single:
        bound.wrong((single[0],), f"'{single[0]}' beside 'band'", "keep one of them", key=True)
    if "band" in item.written:
        low = high = None
        if item.band is not None:
            low, high = (bound.value(text, "band", at) for at, text in enumerate(item.band))
            if low is not None and high is not None and low > high:
                bound.wrong(
                    ("band",),
                    "the band is upside down, its first end is more than its second",
                    "write [low, high]",
                )
    else:
        low, high = _ends(bound)
        if not {"band", *ENDS} & (item.written | bound.meant):
            bound.wrong((), "a goal without a band", "write band: [low, high], at_least: or at_most:")
    fade = bound.value(item.fade, "fade", fade=True) if "fade" in item.written else None
    if fade is not None and fade <= 0:
        bound.wrong(("fade",), f"'{item.fade}' is too small", "it must be more than zero")
    if not bound.sound or bound.measure is None or fade is None or item.weight is None:
        return None
    return Goal(item.measure, row, low, high, fade, item.weight, options, item.source, where)


def _ends(bound: Bound) -> tuple[float | None, float | None]:
    """at_least and at_most, as far as they are written."""
    low, high = (bound.value(getattr(bound.item, key), key) if key in bound.item.written else None for key in ENDS)
    if low is not None and high is not None and low > high:
        bound.wrong(
            ("at_most",),
            "at_least is more than at_most, so nothing can be both",
            "exchange the two, or drop one",
        )
    return low, high
