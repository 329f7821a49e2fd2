"""What is said of numbers that no room, image or person has, and of limits that are small."""

from __future__ import annotations

import pytest

from optimiser.design import spaces
from optimiser.notes import on_numbers
from optimiser.problem.read import loads
from optimiser.words import range_words, score_words
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


@pytest.mark.parametrize(
    ("low", "high", "system", "told"),
    [
        # 3/8 in is 9.525 mm, and would be 1.0 cm or 0.010 m
        (None, 0.009525, "cm", "at most 9.5 mm"),
        (None, 0.009525, "m", "at most 9.5 mm"),
        (None, 0.009525, "in", "at most 3/8 in"),
        (0.003, None, "ft-in", "at least 3 mm"),  # 1/8 in is 3.175 mm
        (0.12, None, "ft-in", "at least 4 3/4 in"),  # 120.65 mm
        (0.9144, None, "cm", "at least 91.4 cm"),
        (-0.4, 0.0, "cm", "-40.0 cm to 0.0 cm"),
        (0.001, 0.5, "cm", "0.1 cm to 50.0 cm"),
    ],
)
def test_small_limits_are_not_rounded_away(low, high, system, told):
    assert range_words("length", low, high, system) == told


@pytest.mark.parametrize(
    ("share", "told"),
    [(1.0, "100 %"), (1.0 - 1e-12, "100 %"), (0.9995, "99.9 %"), (0.996, "99.6 %"), (0.99, "99 %"), (0.945, "94 %"),
     (0.001, "0.1 %"), (0.0004, "0.1 %"), (0.0, "0 %")],
)  # fmt: skip
def test_a_score_that_is_short_by_a_hair_is_not_told_as_all(share, told):
    assert score_words(share) == told
