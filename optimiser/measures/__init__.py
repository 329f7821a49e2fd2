"""Measures, one file a family. ``catalogue()`` finds them all; nothing is registered by hand."""

from __future__ import annotations

from functools import lru_cache

FAMILIES = (
    "viewing",
    "front",
    "projection",
    "listening",
    "reverberation",
    "bass",
    "surround",
    "people",
    "safety",
    "sightlines",
    "shape",
    "equipment",
)


@lru_cache(maxsize=1)
def catalogue() -> dict:
    """Every measure by name, in the order of the families and of their files."""
    from importlib import import_module

    from optimiser.measures.base import Measure

    found: dict[str, Measure] = {}
    for family in FAMILIES:
        module = import_module(f"optimiser.measures.{family}")
        for item in vars(module).values():
            if isinstance(item, Measure):
                found[item.name] = item
    return found
