"""Stretches of a line."""

from __future__ import annotations

from collections.abc import Iterable

Span = tuple[float, float]


def left_over(whole: Span, taken: Iterable[Span]) -> list[Span]:
    """What is left of a stretch once others are taken from it, in order; pieces without length are none."""
    at, end = whole
    pieces = []
    for low, high in sorted(taken):
        if min(low, end) > at:
            pieces.append((at, min(low, end)))
        at = max(at, high)
    return [*pieces, (at, end)] if end > at else pieces
