"""Usual arrangements of bass loudspeakers, as data: no physics, so that files can be read without it."""

from __future__ import annotations

from types import MappingProxyType

ARRANGEMENTS = MappingProxyType(
    {
        # (x/L from the front wall, y/W from the left wall) of each source
        "one_corner": ((0.0, 0.0),),
        "front_midpoint": ((0.0, 0.5),),
        "front_corners": ((0.0, 0.0), (0.0, 1.0)),
        "front_pair": ((0.0, 0.25), (0.0, 0.75)),
        "opposite_midpoints": ((0.0, 0.5), (1.0, 0.5)),
        "four_corners": ((0.0, 0.0), (0.0, 1.0), (1.0, 0.0), (1.0, 1.0)),
        "four_midpoints": ((0.0, 0.5), (1.0, 0.5), (0.5, 0.0), (0.5, 1.0)),
        "quarter_points": ((0.25, 0.25), (0.25, 0.75), (0.75, 0.25), (0.75, 0.75)),
    }
)
"""Usual arrangements of bass loudspeakers in plan, by name."""
