"""Drawings as SVG, read back: lengths of the room are those of the design."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest

from optimiser.sheet.figures import figure
from optimiser.sheet.plan import plan
from optimiser.sheet.section import section
from optimiser.sheet.svg import Drawing

NUMBER = re.compile(r"-?\d+(?:\.\d+)?")

# mm from the front wall, of the room in conftest.py, from its text: baffle face, platform 2, rear wall; and from its left
# wall: the baffle wall's and the image's edges, about the middle of 4400; and from its floor: the image's edges, 16:9
ALONG = (400.0, 3800.0, 7200.0)
ACROSS = (690.0, 800.0, 3600.0, 3710.0, 4400.0)
UP = (650.0, 2225.0, 2700.0)


def places(scene, axis: int, denominator: float) -> list[float]:
    """All coordinates along one axis of paths and lines [mm of the room]."""
    found = []
    for element in ET.fromstring(f"<svg>{''.join(Drawing(scene, (0.0, 0.0)).elements())}</svg>").iter():
        names = (("x1", "x2", "x"), ("y1", "y2", "y"))[axis]
        found += [float(element.get(name)) for name in names if element.get(name) and element.tag in ("line", "rect")]
        for points in (element.get("points"), element.get("d")):
            found += [float(n) for n in NUMBER.findall(points or "")[axis::2]]
    return [one * denominator for one in found]


@pytest.mark.parametrize("denominator", [75, 128, 200])
def test_key_dimensions_equal_the_design_to_a_tenth_of_a_millimetre(room, denominator):
    shown = figure(*room(rows=2))
    drawn = {view: view(shown, "mm", denominator) for view in (plan, section)}
    for scene, axis, sense, lengths in (
        (drawn[plan], 0, 1.0, ALONG),
        (drawn[plan], 1, -1.0, ACROSS),
        (drawn[section], 1, -1.0, UP),
    ):
        there = [sense * one for one in places(scene, axis, denominator)]
        # the scene's origin lies in the paper's: what is measured from it is where the paper has it
        for length in lengths:
            assert any(abs(one - length) < 0.1 for one in there), (scene.name, length)
