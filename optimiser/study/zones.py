"""Exact fronts by an augmented epsilon-constraint method, on any oracle that answers its questions.

An oracle raises one objective as far as it goes under floors for the others (the epsilons), then the
rest, and proves both. The front is cut into zones between the points known; a question either brings
a point into a zone, at least a spacing away from all others, or shows the zone to be empty. At the
end every design has a point that is short of it by less than a spacing in each objective.

Method: G. Mavrotas, Applied Mathematics and Computation 213 (2009) 455-465 (augmented
epsilon-constraint, lexicographic ends); zones by local bounds, as of K. Daechert and K. Klamroth
(2015), from memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

INF = math.inf

AT_ONCE = 8
"""Questions of one round: a fixed number, so that the front is the same whoever works on it."""


DENSE = 1.6
"""Spacings along the range of each of three objectives, at first, for the root of the points wanted: so that one pass
mostly finds them. A second, finer one asks again about each zone that the first has shown to be empty."""


@dataclass(frozen=True)
class Point:
    """A point of a front: ``heights`` (more is better), its design, and ``blur``: no design is at
    least as good in all and better by more than this in one. ``scored``: none of its heights scores more."""

    heights: tuple[float, ...]
    design: object
    blur: tuple[float, ...] = ()
    score: float = math.nan
    scored: float = INF


@dataclass(frozen=True)
class Question:
    """Raise objective ``order[0]`` as far as it goes among designs at or above ``floors``, then the
    others in order. ``exact`` asks for the exact extreme of each in turn. ``nadir`` and ``ideal``:
    heights between which the front is known to lie."""

    order: tuple[int, ...]
    floors: tuple[float, ...]
    nadir: tuple[float, ...]
    ideal: tuple[float, ...]
    exact: bool = False


@dataclass(frozen=True)
class Answer:
    """A point (None: proven that there is none), and the height of the main objective that no design
    at the floors passes."""

    point: Point | None
    ceiling: float


Ask = Callable[[Sequence[Question]], Sequence[Answer]]


@dataclass
class Found:
    """``points`` by falling height of the first objective; ``spacing``: any two points, unless both are ends,
    are so far apart in one objective at least, and whatever design there is, some point is short of it by less than that
    in every objective (in the first: by ``excess`` more); ``ends``: which point has the most of each."""

    points: list[Point]
    spacing: tuple[float, ...]
    nadir: tuple[float, ...]
    ideal: tuple[float, ...]
    ends: tuple[int, ...]
    excess: float = 0.0
    complete: bool = True
    questions: int = 0


@dataclass
class _State:
    """What is known while a front is being found."""

    count: int
    spacing: np.ndarray
    finest: np.ndarray
    points: list[Point] = field(default_factory=list)
    corners: np.ndarray = field(default_factory=lambda: np.empty((0, 0)))  # zones: strictly above each
    cones: list[np.ndarray] = field(default_factory=list)  # no design at or above any of these
    barren: list[bool] = field(default_factory=list)  # whether a cone came of an empty answer
    _table: np.ndarray = field(default_factory=lambda: np.empty((0, 0)))
    excess: float = 0.0  # how much more of the first objective than a cone says there may be

    def add(self, point: Point) -> None:
        self.points.append(point)
        self.corners = _split(self.corners, np.array(point.heights))

    def close(self, cone: Sequence[float], barren: bool) -> None:
        self.cones.append(np.array(cone))
        self.barren.append(barren)

    def open_(self) -> np.ndarray:
        """Corners, one a row, of zones that may hold a design more than a spacing above them."""
        floors = self.corners + self.spacing
        return self.corners[~_reached(self.table, floors).all(axis=2).any(axis=1)]

    def open_at(self, floors: np.ndarray) -> bool:
        """Whether a design at or above these floors is not ruled out."""
        return not np.any(np.all(self.table <= floors, axis=1))

    @property
    def table(self) -> np.ndarray:
        """All cones, one a row."""
        if len(self._table) < len(self.cones):
            self._table = np.array(self.cones)
        return self._table

    def holds(self, floors: np.ndarray) -> bool:
        """Whether some zone still reaches down to these floors."""
        return bool(np.any(np.all(self.corners + self.spacing <= floors, axis=1)))

    def admits(self, heights: np.ndarray) -> bool:
        """Whether a point lies a spacing above the corner of some zone."""
        return bool(np.any(np.all(heights >= self.corners + self.spacing - self.tolerance, axis=1)))

    def matched(self, point: Point) -> bool:
        """Whether a point found already is as good in all, as far as can be told."""
        least = np.array(point.heights) - np.maximum(np.array(point.blur or 0.0), self.tolerance)
        return any(np.all(np.array(other.heights) >= least) for other in self.points)

    @property
    def tolerance(self) -> np.ndarray:
        """What the oracle can't tell apart: by so much a point may fall short of the spacing."""
        return np.minimum(self.finest, 0.25 * self.spacing)


def find_front(
    ask: Ask,
    count: int,
    *,
    least: int = 40,
    spacing: Sequence[float | None] | None = None,
    finest: Sequence[float] | None = None,
    most: int = 5000,
    told: Callable[[int, float], None] | None = None,
) -> Found | None:
    """The front of ``count`` objectives; None where there is no design at all.

    The spacing of objectives for which ``spacing`` gives none is halved until there are ``least``
    points, or it comes to four times ``finest``, what the oracle can tell. At most about ``most`` points
    are found; then ``complete`` is false. ``told`` hears of the number of points and a guess at the share
    done.
    """
    orders = [tuple((k + j) % count for j in range(count)) for k in range(count)]
    wide = Question((), (-INF,) * count, (-INF,) * count, (INF,) * count)
    answers = list(ask([Question(order, wide.floors, wide.nadir, wide.ideal, exact=True) for order in orders]))
    if any(a.point is None for a in answers):
        return None
    ends = [a.point for a in answers]
    nadir = tuple(min(p.heights[k] for p in ends) for k in range(count))
    ideal = tuple(max(answers[k].ceiling, ends[k].heights[k]) for k in range(count))
    given = np.array([INF if g is None else g for g in spacing or [None] * count], dtype=float)
    smallest = np.array(finest or [0.0] * count)
    floor = np.maximum(4.0 * smallest, 1e-12)
    parts = max(2.0, least / 2.0) if count == 2 else max(2.0, DENSE * math.sqrt(least))
    state = _State(count, np.array(ideal) - np.array(nadir), smallest, corners=np.full((1, count), -INF))
    state.spacing = np.where(np.isinf(given), np.maximum(state.spacing / parts, floor), given)
    for k, answer in enumerate(answers):
        if not state.matched(answer.point):  # the ends are there, however near to each other they lie
            state.add(answer.point)
        cone = [-INF] * count
        cone[k] = ideal[k]
        state.close(cone, False)
    asked = count
    while True:
        zones = state.open_()
        if len(state.points) >= most:
            break
        if not len(zones):
            finer = np.where(np.isinf(given), np.maximum((0.5 if count == 2 else 0.7) * state.spacing, floor), given)
            if len(state.points) >= least or np.all(finer == state.spacing):
                break
            state.spacing = finer
            continue
        chosen = _chosen(state, zones, np.array(nadir), np.array(ideal))
        questions = [Question(orders[0], tuple(map(float, f)), nadir, ideal) for f in chosen]
        for question, answer in zip(questions, ask(questions), strict=True):
            floors = np.array(question.floors)
            if answer.point is None:
                state.close(floors, True)
                continue
            cone = floors.copy()
            cone[0] = max(floors[0], answer.ceiling)
            state.close(cone, False)
            if state.admits(np.array(answer.point.heights)):
                state.add(answer.point)
            elif state.holds(floors) and state.open_at(floors):
                # short of the floors by the oracle's own blur: nothing there that can be told from it
                state.close(floors, True)
                if math.isfinite(floors[0]):
                    state.excess = max(state.excess, float(cone[0] - floors[0]))
        asked += len(questions)
        if told:
            told(len(state.points), asked / (asked + len(zones)))
    points = sorted(state.points, key=lambda p: tuple(-h for h in p.heights))
    best = tuple(max(range(len(points)), key=lambda i, k=k: points[i].heights[k]) for k in range(count))
    return Found(points, tuple(map(float, state.spacing)), nadir, ideal, best, state.excess, not len(zones), asked)


def _chosen(state: _State, zones: np.ndarray, nadir: np.ndarray, ideal: np.ndarray) -> list[np.ndarray]:
    """Floors for one round: zones far apart, so that no answer makes another useless."""
    size = np.maximum(ideal - nadir, state.spacing)
    floors = zones + state.spacing
    rooms, barren = _rooms(state, floors)
    reach = np.minimum(rooms, ideal) - np.maximum(floors, nadir)
    if state.count == 2:
        # half-way up; where that half was found empty, the lower end is asked next
        half = np.maximum(floors[:, 1], 0.5 * (zones[:, 1] + rooms[:, 1]))
        floors[:, 1] = np.where(barren[:, 1], floors[:, 1], half)
    shares = np.prod(np.maximum(reach, 0.0) / size, axis=1)
    rest = floors[np.lexsort((*floors.T[::-1], -shares))]
    chosen = [rest[0]]
    apart = _apart(rest, chosen[0], state.spacing)
    while len(chosen) < AT_ONCE:
        at = int(np.argmax(apart))
        if apart[at] < 2.0:
            break
        chosen.append(rest[at])
        apart = np.minimum(apart, _apart(rest, chosen[-1], state.spacing))
    return chosen


def _apart(floors: np.ndarray, one: np.ndarray, spacing: np.ndarray) -> np.ndarray:
    """How many spacings lie between floors (one zone a row) and those of one zone, the first objective aside."""
    return np.max(np.abs(_less(floors[:, 1:], one[1:])) / spacing[1:], axis=1)


def _less(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """a - b, where floors that are both absent do not differ."""
    with np.errstate(invalid="ignore"):
        return np.where(a == b, 0.0, a - b)


def _reached(table: np.ndarray, floors: np.ndarray) -> np.ndarray:
    """[i, j, k]: whether floors i are at or above cone j in objective k."""
    return table[None, :, :] <= floors[:, None, :]


def _rooms(state: _State, floors: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How high each objective may still go above each row of floors, as far as is proven, and whether an
    empty answer drew that line."""
    table, barren = state.table, np.array(state.barren)
    reached = _reached(table, floors)
    tops, empty = np.full(floors.shape, INF), np.zeros(floors.shape, dtype=bool)
    for axis in range(state.count):
        drawn = np.delete(reached, axis, axis=2).all(axis=2)
        lines = np.where(drawn, table[:, axis], INF)
        at = np.argmin(lines, axis=1)
        tops[:, axis] = lines[np.arange(len(floors)), at]
        empty[:, axis] = barren[at] & drawn.any(axis=1)
    return tops, empty


def _split(corners: np.ndarray, point: np.ndarray) -> np.ndarray:
    """The zones' lower corners once a point is known: what lies above it in one objective at least."""
    hit = np.all(point > corners, axis=1)
    parts = [corners[~hit]]
    for k in range(len(point)):
        raised = corners[hit].copy()
        raised[:, k] = point[k]
        parts.append(raised)
    every = np.concatenate(parts)
    below = np.all(every[None, :, :] <= every[:, None, :], axis=2)  # [i, j]: corner j at or below corner i
    same = below & below.T
    earlier = np.tril(np.ones(below.shape, dtype=bool), -1)
    redundant = np.any((below & ~same) | (same & earlier), axis=1)
    return every[~redundant]
