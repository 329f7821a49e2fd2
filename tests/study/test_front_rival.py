"""Fronts against a genetic algorithm's, by hypervolume."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.rooms import long_room

moocore = pytest.importorskip("moocore")
pytest.importorskip("pymoo")

from tests.benchmarks.bench_fronts import evolved, hypervolume, proven, volumes  # noqa: E402


def test_hypervolumes_are_the_published_ones():
    """Four points and their volume above the origin, as moocore's documentation gives it: 39."""
    points = np.array([(5.0, 5.0), (4.0, 6.0), (2.0, 7.0), (7.0, 4.0)])
    assert hypervolume(points, np.zeros(2)) == pytest.approx(39.0, abs=1e-12)
    assert hypervolume(np.zeros((0, 2)), np.zeros(2)) == 0.0


def test_the_front_holds_more_than_a_genetic_algorithm_finds():
    problem, texts = long_room(), ("image_width", "upward_angle[row=1]:lower", "rear_wall_distance[row=2]")
    ours, _, summary = proven(problem, texts, 40, 1)
    theirs = [evolved(problem, texts, start, 60, 40)[0] for start in (1, 2)]
    own, *others = volumes([ours, *theirs])
    assert summary["complete"] and min(map(len, theirs)) > 5
    assert own >= max(others) > 0.0
    # and none of theirs is better than all of ours by more than the spacing that is promised
    scale = np.array([1.0, np.pi / 180.0, 1.0])
    spacing = np.array(summary["spacing"]) * scale + [summary["excess"], 0.0, 0.0] + 1e-5
    for found in np.concatenate(theirs):
        assert np.any(np.all(found < ours + spacing, axis=1)), found
