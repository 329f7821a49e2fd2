"""What is left of a stretch, by hand."""

from __future__ import annotations

import pytest

from optimiser.spans import left_over


@pytest.mark.parametrize(
    ("taken", "left"),
    [
        ([], [(1.0, 5.0)]),
        ([(2.0, 3.0)], [(1.0, 2.0), (3.0, 5.0)]),
        ([(4.0, 4.5), (2.0, 3.0), (2.5, 3.5)], [(1.0, 2.0), (3.5, 4.0), (4.5, 5.0)]),  # in any order, over each other
        ([(0.0, 1.5), (4.0, 9.0)], [(1.5, 4.0)]),  # beyond its ends
        ([(-3.0, 0.5), (5.0, 6.0)], [(1.0, 5.0)]),  # beside it
        ([(1.0, 2.0), (2.0, 5.0)], []),
        ([(0.0, 9.0)], []),
    ],
)
def test_what_is_left_of_a_stretch(taken, left):
    assert left_over((1.0, 5.0), taken) == left


def test_of_a_stretch_without_length_nothing_is_left():
    assert left_over((2.0, 2.0), []) == [] and left_over((3.0, 2.0), [(2.2, 2.4)]) == []
