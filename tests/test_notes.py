"""What is said of numbers that no room, image or person has: mostly another unit was meant."""

from __future__ import annotations

import pytest

from optimiser.design import spaces
from optimiser.notes import on_numbers
from optimiser.problem.read import loads
from tests.sheet.conftest import text


@pytest.mark.parametrize(
    ("given", "instead", "told"),
    [
        # a room of 7.2 m by 4.4 m by 2.7 m, an image of 2.8 m, eyes at 1.12 m; what is usual is common practice, no source
        ("length: 7.2 m", "length: 72 m", "72000 mm is much for room.length"),
        ("height: 2.7 m", "height: 27 m", "27000 mm is much for room.height"),
        ("width: 2800 mm", "width: 280 mm", "280 mm is little for front.screen.width"),
        ("eye_height: 1.12 m", "eye_height: 112 mm", "Eyes 112 mm above the floor are lower than people sit"),
        ("eye_height: 1.12 m", "eye_height: 1.52 m", "Eyes 1520 mm above the floor are higher than people sit"),
        ("length: 7.2 m", "length: 29 m", ""),
        ("height: 2.7 m", "height: 9 m", ""),
    ],
)
def test_unlikely_sizes_are_told(given, instead, told):
    source = text(rows=1)
    assert given in source
    problem = loads(source.replace(given, instead))
    (space,) = spaces(problem)
    design = space.complete({name: domain.value for name, domain in space.domains.items()})
    said = [note for note in on_numbers(problem, space, design) if "look at" in note]
    assert len(said) == bool(told) and all(told in note for note in said)
