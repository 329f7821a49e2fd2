"""Sheets of paper, the usual scales, and the bar that shows one."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from optimiser.quantity import show
from optimiser.sheet.scene import Path, Scene, Text

MARGIN = 14.0
"""Millimetres of free paper at each side."""


@dataclass(frozen=True)
class Paper:
    """A size of paper in mm, upright."""

    name: str
    width: float
    height: float

    @property
    def turned(self) -> Paper:
        return Paper(self.name, self.height, self.width)


A4 = Paper("A4", 210.0, 297.0)
LETTER = Paper("Letter", 215.9, 279.4)
PAPERS = {"a4": A4, "letter": LETTER}

METRIC = (10, 15, 20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200, 250, 300, 400, 500, 1000)
IMPERIAL = (8, 12, 16, 24, 32, 48, 64, 96, 128, 192, 384, 768)  # 1 1/2 in to 1/64 in for a foot


def imperial(system: str) -> bool:
    """Whether a way of showing lengths is in feet or inches."""
    return system in ("ft-in", "in")


def paper_for(system: str) -> Paper:
    """The paper that goes with a system of units."""
    return LETTER if imperial(system) else A4


def scales(system: str) -> tuple[int, ...]:
    """Denominators in use with a system, the largest scale first."""
    return IMPERIAL if imperial(system) else METRIC


def scale_words(denominator: float, system: str) -> str:
    """A scale as the trade writes it."""
    if imperial(system):
        return f"{Fraction(12) / Fraction(denominator)} in = 1 ft (1:{denominator:g})"
    return f"1:{denominator:g}"


def scale_bar(denominator: float, system: str) -> Scene:
    """A bar of some units' length, with its ends written; its left end at (0, 0)."""
    scene = Scene("scale", "Scale bar", denominator)
    unit = 0.3048 if imperial(system) else 1.0
    for count in (8, 4, 2, 1, 0.5):
        if scene.paper(count * unit) <= 50.0:
            break
    whole = count * unit
    quarter = whole / 4
    thick = scene.mm(1.4)
    for k in range(4):
        scene.add(
            Path(
                ((k * quarter, 0.0), ((k + 1) * quarter, 0.0), ((k + 1) * quarter, thick), (k * quarter, thick)),
                "bar empty" if k % 2 else "bar",
                closed=True,
            )
        )
    level = -scene.mm(2.0)
    scene.add(Text((0.0, level), "0", "quiet", anchor="middle"))
    # the bar's length is exact: no zeros after the point
    end = re.sub(r"\.0+(?= )", "", show("length", whole, system))
    scene.add(Text((whole, level), end, "quiet", anchor="middle"))
    scene.add(Text((whole + scene.mm(14.0), 0.5 * thick), scale_words(denominator, system), "quiet"))
    return scene
