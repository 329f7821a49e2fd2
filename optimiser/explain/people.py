"""Whose eyes and heads are in the seats: published body sizes of both sexes, and people drawn from them.

A chair's ``eye_height`` is that of the mean of the people it is meant for. Someone else's eyes are
higher or lower in it by as much as their sitting eye height differs from that mean.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from optimiser.problem.model import People

Z95 = 1.6448536269514722
"""Standard deviations from the mean to the 95th percentile of a normal distribution."""


@dataclass(frozen=True)
class Sex:
    """Sitting eye height above the seat, and the top of the head above the eyes: means and standard
    deviations [m], and how the two go together (correlation). Normal distributions."""

    eye: float
    eye_sd: float
    head: float
    head_sd: float
    together: float


def _measured(eye: tuple, sitting: tuple, head: tuple) -> Sex:
    """From means and standard deviations in millimetres; the sitting height is the sum of the other two,
    so that its variance tells how they go together."""
    together = (sitting[1] ** 2 - eye[1] ** 2 - head[1] ** 2) / (2.0 * eye[1] * head[1])
    return Sex(eye[0] / 1e3, eye[1] / 1e3, head[0] / 1e3, head[1] / 1e3, together)


def _tabled(eye: tuple, sitting: tuple, like: Sex) -> Sex:
    """From 5th, 50th and 95th percentiles in millimetres, which tell nothing of the head above the eyes
    but its middle: that varies as in another table."""
    spread = (eye[2] - eye[0]) / (2.0 * Z95)
    return Sex(eye[1] / 1e3, spread / 1e3, (sitting[1] - eye[1]) / 1e3, like.head_sd, like.together)


_ANSUR = (
    _measured((747.7, 30.4), (856.6, 33.1), (108.9, 8.2)),
    _measured((804.5, 33.2), (918.3, 35.7), (113.8, 9.0)),
)

TABLES: Mapping[str, tuple[Sex, Sex]] = {
    "ansur_ii": _ANSUR,
    "din_33402_2": (
        _tabled((705, 755, 805), (810, 860, 910), _ANSUR[0]),
        _tabled((740, 795, 855), (855, 910, 965), _ANSUR[1]),
    ),
}
"""Women, then men, of each table that a file may name."""

SOURCES: Mapping[str, str] = {
    "ansur_ii": "ANSUR II, 2012 survey of US Army personnel (1,986 women, 4,082 men), report NATICK/TR-15/007, public "
    "data: sitting eye height, sitting height and their difference; soldiers, not the public",
    "din_33402_2": "DIN 33402-2:2005-12, ages 18 to 65, as quoted in a lecture; how far the head above the eyes "
    "varies: ANSUR II",
}


def mean(people: People) -> tuple[float, float]:
    """Mean sitting eye height and head above the eyes [m] of the people."""
    women, men = TABLES[people.table]
    share = people.women
    return share * women.eye + (1 - share) * men.eye, share * women.head + (1 - share) * men.head


def drawn(people: People, shares: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """People from numbers spread evenly over (0, 1), three columns: how far the eyes of each are above those
    of the mean person, and the head above the eyes beyond the mean person's [m]."""
    from scipy.special import ndtri

    sexes = TABLES[people.table]
    woman = shares[:, 0] < people.women
    eye_mean, eye_sd, head_mean, head_sd, together = (
        np.where(woman, getattr(sexes[0], name), getattr(sexes[1], name))
        for name in ("eye", "eye_sd", "head", "head_sd", "together")
    )
    first, second = ndtri(shares[:, 1]), ndtri(shares[:, 2])
    eye = eye_mean + eye_sd * first
    head = head_mean + head_sd * (together * first + np.sqrt(1.0 - together**2) * second)
    middle = mean(people)
    return eye - middle[0], head - middle[1]


def extremes(people: People) -> tuple[tuple[float, float], tuple[float, float]]:
    """The same two numbers for a small person (5th percentile of women in both, or of men where all are) and a
    large one (95th percentile of men, or of women where all are)."""
    women, men = TABLES[people.table]
    small, large = (women if people.women > 0 else men), (men if people.women < 1 else women)
    eye, head = mean(people)
    return (
        (small.eye - Z95 * small.eye_sd - eye, small.head - Z95 * small.head_sd - head),
        (large.eye + Z95 * large.eye_sd - eye, large.head + Z95 * large.head_sd - head),
    )
