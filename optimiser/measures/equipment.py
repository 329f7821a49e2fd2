"""Equipment: what it costs, and what one sits in."""

from __future__ import annotations

from optimiser.forms import Form, Quotient, affine
from optimiser.measures.base import measure
from optimiser.measures.layout import Layout


@measure(
    quantity="money",
    needs=("cost",),
    formula="price of screen, projector and loudspeakers + price of a chair * seats + price of a panel * panels; tiles each",
    source="the file's prices; what has no price in the file counts nothing",
)
def cost(layout: Layout) -> Form:
    """What the things come to that have a price in the file: those that are taken from its lists, and those
    that it has without a choice."""
    return Quotient(layout.cost)


@measure(quantity="length", signed=False, formula="width over the arms", source="definition")
def chair_width(layout: Layout) -> Form:
    """Width of a chair."""
    return affine(layout.chair_width)


@measure(quantity="length", formula="depth reclined - depth upright", source="definition")
def chair_recline(layout: Layout) -> Form:
    """By how much a chair is longer when reclined: how far one can lie back in it."""
    return affine(layout.recline)
