"""A few rooms with every decision taken, so that drawings can be checked without solving anything."""

from __future__ import annotations

import pytest

from optimiser.design import spaces
from optimiser.problem.read import loads

METRIC = """
format: 1
title: {title}
show: {show}
room:
  length: 7.2 m
  width: 4.4 m
  height: 2.7 m
  doors:
    - {{name: entry, wall: left, hinge: 1.6 m, leaf: 0.8 m, towards: front, opens: in, angle: 90 deg}}
    - {{name: store, wall: rear, hinge: 0.4 m, leaf: 0.7 m, towards: right, opens: out}}
  obstructions:
    - {{name: duct, x: [0 m, 4.4 m], y: [0 m, 0.5 m], z: [2.45 m, 2.7 m]}}
    - {{name: radiator, x: [4.28 m, 4.4 m], y: [2 m, 3.4 m], z: [0.1 m, 0.7 m]}}
  reverberation_time: 0.3 s
front:
  baffle: {{depth: 400 mm, margin: 50 mm}}
  screen: {{aspect: "16:9", width: 2800 mm, bezel: 60 mm, gap: 75 mm, bottom: 650 mm, pixels: 3840}}
{projector}
{bass}
seating:
  rows: {rows}
  seats: 3
  chair: {{width: 0.76 m, depth: 0.96 m, reclined: {reclined},
          eye_height: 1.12 m, eye_to_back: 0.2 m, head_above_eye: 115 mm}}
  aisle: {{sides: left, width: 0.9 m}}
  platform: {{step: 10 mm, to: 1.2 m}}
{habits}
  place:
{place}
goals:
  - {{measure: horizontal_angle, row: reference, band: [45 deg, 55 deg], fade: 10 deg, weight: 3}}
  - {{measure: image_width, at_least: 3 m, fade: 1 m, weight: 1}}
limits:
  - {{measure: listening_distance, row: all, at_least: 2 m}}
"""


HABITS = """\
  bar: {counter: 0.35 m, height: 1.05 m, place: 0.6 m, eye_to_counter: 0.1 m, eye_to_back: 0.3 m, eye_height: 1.45 m}
  wheelchair: {row: 1, width: 0.9 m, depth: 1.2 m, side: right}
  guard: {height: 0.9 m, over: 0.25 m}
  stagger: 0.5"""
"""Everything that rows can have beside chairs."""


PITCH = {1: 1.7, 2: 1.7, 3: 1.5, 4: 1.0}


def text(
    *,
    rows: int = 2,
    show: str = "mm",
    title: str = "'A room'",
    projector: bool = False,
    habits: bool = False,
    bass: str = "",
) -> str:
    """A problem file in which nothing is left to choose."""
    place = []
    first = {1: 3.6, 2: 3.6, 3: 2.9, 4: 2.9}[rows]
    for n in range(1, rows + 1):
        place.append(f"    row{n}.y: {first + (n - 1) * PITCH[rows]:.3f} m")
        place.append(f"    row{n}.platform: {300 * (n - 1)} mm")
        place.append(f"    row{n}.risers: {2 if n > 1 else 1}")
        place.append(f"    row{n}.seats: {2 if n == 3 else 3}")
    beam = "projector: {lumens: 2000, throw_ratio: [1.3, 2.2], y: 5.5 m, z: 2.4 m}" if projector else ""
    reclined = "1.5 m" if rows < 4 else "0.98 m"
    return METRIC.format(
        title=title,
        show=show,
        rows=rows,
        place="\n".join(place),
        projector=beam,
        reclined=reclined,
        habits=HABITS if habits else "",
        bass=bass,
    )


def built(**options):
    """The problem, its only space and its only design."""
    problem = loads(text(**options))
    (space,) = spaces(problem)
    design = space.complete({name: domain.value for name, domain in space.domains.items()})
    return problem, space, design


@pytest.fixture
def room():
    return built
