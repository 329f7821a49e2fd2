"""The ceiling as forms: how much height is left under it, over a part of the floor."""

from __future__ import annotations

from itertools import pairwise

from optimiser.forms import Form, Gate, Greatest, Least, affine
from optimiser.linear import Linear, constant
from optimiser.measures.layout import Ceiling

OUTSIDE = 100.0
"""Metres by which a ceiling goes on outside the room, for designs that reach out of it."""

Span = tuple[Linear, Linear]
"""From and to along x or y, the first not after the second."""


def clear_height(ceiling: Ceiling, *, x: Span, y: Span, level: Linear) -> Form:
    """Least height of the ceiling above ``level`` over the rectangle x by y."""
    parts: list[Form] = [affine(ceiling.height - level)]
    parts += _under(ceiling.along, y, level, ceiling.height)
    parts += _under(ceiling.across, x, level, ceiling.height)
    return Least(tuple(parts)) if len(parts) > 1 else parts[0]


def _under(profile: tuple[tuple[float, float], ...], span: Span, level: Linear, height: float) -> list[Form]:
    """One form for each straight piece of a profile: the least height under it where the span reaches
    it, no bound where the span ends before or begins behind it."""
    if not profile:
        return []
    low, high = span
    found: list[Form] = []
    (first, z_first), (last, z_last) = profile[0], profile[-1]
    for (a, za), (b, zb) in pairwise(((first - OUTSIDE, z_first), *profile, (last + OUTSIDE, z_last))):
        if b <= a or min(za, zb) >= height:
            continue
        slope = (zb - za) / (b - a)
        # the lowest point under a rising piece is where the span begins, but not before the piece does
        here = low if slope > 0.0 else high
        parts: list[Form] = [Gate(low - b), Gate(a - high), affine(constant(min(za, zb)) - level)]
        if slope != 0.0:
            parts.append(affine((here - a) * slope + za - level))
        found.append(Greatest(tuple(parts)))
    return found
