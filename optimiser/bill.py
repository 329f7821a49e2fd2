"""What a design buys: the things that it takes from lists, and what the file has a price of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from optimiser.design import Space
from optimiser.problem.items import listing_of, taken
from optimiser.problem.listed import WORDS
from optimiser.problem.model import Problem
from optimiser.quantity import show


@dataclass(frozen=True)
class Position:
    """Some things of one kind. ``price`` is that of one, in the file's currency; None where the file has none."""

    of: str
    name: str
    price: float | None
    count: int

    @property
    def model(self) -> str:
        """What it is called; empty where the file gives it no name."""
        return "" if self.name == WORDS[self.of] else self.name

    @property
    def amount(self) -> float | None:
        return None if self.price is None else self.price * self.count


def bill(problem: Problem, space: Space, design: Mapping[str, float]) -> tuple[Position, ...]:
    """All that a design buys, in the order of the room: from the front to the seats."""
    picked = taken(problem, design)
    found = []
    for of, count in space.layout.counts.items():
        listing = listing_of(problem, of, space.layout.screen_type)
        number = round(float(count.value(design)))
        if listing is not None and number:
            item = picked.get(of, listing.items[0])
            found.append(Position(of, item.name, item.price, number))
    return tuple(found)


def total(positions: tuple[Position, ...]) -> float | None:
    """What the positions come to; None where none has a price."""
    amounts = [one.amount for one in positions if one.amount is not None]
    return sum(amounts) if amounts else None


def money_words(amount: float | None) -> str:
    """An amount as the file would write it; empty where there is none."""
    return "" if amount is None else show("money", amount)


def heading(problem: Problem) -> str:
    """What a list of equipment is headed with."""
    return f"Equipment, prices in {problem.currency}" if problem.currency else "Equipment"
