"""A small problem file that tests change by text, and random designs of its spaces."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.design import Held, Listed, Steps, spaces
from optimiser.problem.read import loads

BASE = """\
format: 1
title: Test room
show: m
room: {length: 7.2 m, width: 4.4 m, height: 2.7 m, reverberation_time: 0.3 s}
front:
  baffle: {depth: {from: 0.3 m, to: 0.5 m}, margin: 50 mm}
  screen: {aspect: "16:9", width: {from: 2 m, to: 3.6 m}, bezel: 50 mm, gap: 80 mm, bottom: {from: 0.6 m, to: 1 m},
           pixels: 3840}
seating:
  rows: 2
  seats: {choose: [3, 4]}
  chair: {width: 0.7 m, depth: 0.9 m, reclined: 1.5 m, eye_height: 1.1 m, eye_to_back: 0.2 m, head_above_eye: 0.12 m}
  platform: {step: 10 mm, to: 0.6 m}
goals:
  - {measure: horizontal_angle, row: reference, band: [45 deg, 55 deg], fade: 10 deg}
"""


def problem(*changes: tuple[str, str], more: str = ""):
    """The problem of BASE with texts replaced, each of which must be there, and more text at the end."""
    return loads(text_of(*changes) + more, "test.yaml")


def text_of(*changes: tuple[str, str]) -> str:
    """BASE with texts replaced, each of which must be there."""
    text = BASE
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def designs(space, count: int, seed: int = 1):
    """Random designs of a space, as arrays; not all of them make sense, all have the rows in order."""
    random = np.random.default_rng(seed)
    drawn = {}
    for name, domain in space.domains.items():
        if isinstance(domain, Held):
            drawn[name] = np.full(count, domain.value)
        elif isinstance(domain, Listed):
            drawn[name] = random.choice(domain.values, count)
        else:
            assert isinstance(domain, Steps)
            drawn[name] = domain.step * random.integers(domain.low, domain.high + 1, count)
    ys = np.sort(random.uniform(2.5, space.layout.length - 0.3, (space.rows, count)), axis=0)
    for n in range(space.rows):
        drawn[f"row{n + 1}.y"] = np.round(ys[n] + 0.5 * n * (ys[n] < 0), 3)
    return drawn


def agree(form, drawn, thresholds) -> None:
    """The form's value and its conditions must say the same at every design and threshold."""
    value = np.asarray(form.value(drawn), dtype=float)
    for t in thresholds:
        # the value's own rounding may decide either way within a hair of the threshold
        far = np.abs(value - t) > 1e-9 * (1.0 + abs(t))
        least, most = (np.broadcast_to(c.holds(drawn), value.shape) for c in (form.at_least(t), form.at_most(t)))
        np.testing.assert_array_equal(least[far], (value >= t)[far])
        np.testing.assert_array_equal(most[far], (value <= t)[far])


@pytest.fixture
def only_space():
    def found(problem):
        (space,) = spaces(problem)
        return space

    return found
