"""Every design of a problem on a coarse grid, judged by the formulas: the plainest optimum there is."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from optimiser.problem.model import Choice, Decision, Fixed, Problem, Range
from tests.support.checker import Judge
from tests.support.kit import combinations, shapes

APART = 0.3
"""Metres between rows below which they are one."""


@dataclass(frozen=True)
class Best:
    """The best score of all designs that hold every limit (None: no design does), the design, and how
    many designs there were."""

    score: float | None
    design: dict[str, float] | None
    count: int


def points(decision: Decision, step: float, low: float = -math.inf, high: float = math.inf) -> list[float]:
    """The values that a decision may take: whole multiples of a step, inside a range."""
    if isinstance(decision, Fixed):
        return [decision.value]
    if isinstance(decision, Choice):
        return list(decision.values)
    low, high = max(low, decision.low), min(high, decision.high)
    return [step * k for k in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)]


def moved(decision: Decision, by: float) -> Decision:
    """The decision counted from elsewhere."""
    if isinstance(decision, Fixed):
        return Fixed(decision.value + by)
    if isinstance(decision, Range):
        return Range(decision.low + by, decision.high + by)
    return replace(decision, values=tuple(value + by for value in decision.values))


def axes(problem: Problem, rows: int, grid: float) -> dict[str, list[float]]:
    """The values of each decision, for a number of rows and one kind of screen."""
    room, screen, seating, projector = problem.room, problem.screen, problem.seating, problem.projector
    found: dict[str, list[float]] = {}
    if screen.type == "tiled":
        found["screen.columns"] = points(screen.columns, 1.0)
    elif screen.diagonal is not None:
        found["screen.diagonal"] = points(screen.diagonal, grid)
    else:
        found["screen.width"] = points(screen.width, grid, high=room.width)
    found["screen.bezel"] = points(screen.bezel, grid)
    found["screen.bottom"] = points(screen.bottom, grid, high=room.height)
    found["baffle.depth"] = points(problem.baffle.depth, grid)
    if problem.baffle.width is not None:
        found["baffle.width"] = points(problem.baffle.width, grid, high=room.width)
    for edge in ("left", "right"):
        if getattr(problem.baffle, edge) is not None:
            found[f"baffle.{edge}"] = points(getattr(problem.baffle, edge), grid, high=room.width)
    if not problem.baffle.centred:
        found["screen.centre"] = points(screen.centre or Range(0.0, room.width), grid, 0.0, room.width)
    if projector is not None and screen.type == "projected":
        behind = projector.behind and moved(projector.behind, room.length)
        found["projector.y"] = points(behind or projector.y, grid)
        found["projector.z"] = points(projector.z, grid)
    speakers = problem.loudspeakers
    if speakers.z is not None and speakers.place == "behind" and screen.type == "projected":
        found["loudspeakers.z"] = points(speakers.z, grid, high=room.height)
    if speakers.apart is not None and (speakers.place != "behind" or screen.type == "projected"):
        found["loudspeakers.apart"] = points(speakers.apart, grid, high=room.width)
    if room.treatment is not None:
        found["treatment.panels"] = points(room.treatment.panels, 1.0)
    if seating.centre is not None:
        found["seating.centre"] = points(seating.centre, grid)
    if seating.stagger != Fixed(0.0) and rows > 1:
        found["seating.stagger"] = points(seating.stagger, 1.0)
    place, platforms = dict(seating.place), seating.platforms
    ways = [*room.doors, *(one for one in room.openings if one.kind == "opening")]
    beside = rows > 1 and platforms.to > 0.0 and any(way.wall in ("left", "right") for way in ways)
    if seating.aisle.sides == "one" and beside:
        found["aisle.side"] = [0.0, 1.0]
    if platforms.behind is not None:
        found["platform.behind"] = points(platforms.behind, grid)
    for n in range(1, rows + 1):
        height = place.get(f"row{n}.platform", platforms.first if n == 1 else Range(0.0, platforms.to))
        # of what lies level with the floor there is nothing to climb
        risers = Fixed(1.0) if height == Fixed(0.0) else Range(1.0, float(platforms.risers))
        found[f"row{n}.y"] = points(place.get(f"row{n}.y", Range(0.0, room.length)), grid)
        found[f"row{n}.platform"] = points(height, platforms.step)
        found[f"row{n}.seats"] = points(place.get(f"row{n}.seats", seating.seats), 1.0)
        found[f"row{n}.risers"] = points(place.get(f"row{n}.risers", risers), 1.0)
    return found


def variants(problem: Problem) -> Iterator[tuple[Problem, int, float]]:
    """The problem with one kind of screen, a number of rows, and an aspect ratio; of a tiled wall with
    one number of tiles, too."""
    for rows in problem.seating.rows:
        for screen in problem.screens:
            only = replace(problem, screen=screen, other_screens=())
            if screen.type != "tiled":
                for aspect in shapes(only):
                    for _, made in combinations(only, aspect):
                        yield made, rows, aspect
                continue
            for columns, high in itertools.product(points(screen.columns, 1.0), points(screen.tile_rows, 1.0)):
                aspect = columns * screen.tile.width / (high * screen.tile.height)
                for _, made in combinations(only, aspect):
                    yield replace(made, screen=replace(screen, columns=Fixed(columns))), rows, aspect


def count(problem: Problem, grid: float) -> int:
    """How many designs there are, sensible or not."""
    return sum(math.prod(map(len, axes(only, rows, grid).values())) for only, rows, _ in variants(problem))


@dataclass(frozen=True)
class Tried:
    """Every design with a number of rows and one kind of screen: ``mesh`` holds the decisions' values, each
    along an axis of its own, ``good`` says which designs hold every limit."""

    problem: Problem
    judge: Judge
    rows: int
    aspect: float
    axes: dict[str, list[float]]
    mesh: dict[str, np.ndarray]
    good: np.ndarray

    @property
    def shape(self) -> tuple[int, ...]:
        return tuple(map(len, self.axes.values()))


def every(problem: Problem, grid: float) -> Iterator[Tried]:
    """All designs that there are, one kind of screen and number of rows after another."""
    for only, rows, aspect in variants(problem):
        values = axes(only, rows, grid)
        if not all(values.values()):
            continue
        mesh = dict(zip(values, np.meshgrid(*map(np.asarray, values.values()), indexing="ij", sparse=True)))
        judge = Judge(only, rows, aspect)
        good = judge.holds(mesh)
        for n in range(2, rows + 1):
            good = good & (mesh[f"row{n}.y"] - mesh[f"row{n - 1}.y"] >= APART - 1e-9)
        if "projector.y" in mesh:
            good = good & (mesh["projector.y"] - judge.screen_y(mesh) >= APART - 1e-9)
        yield Tried(only, judge, rows, aspect, values, mesh, good)


def best(problem: Problem, grid: float) -> Best:
    """Try them all."""
    score, design = None, None
    for tried in every(problem, grid):
        scores = np.broadcast_to(np.where(tried.good, tried.judge.score(tried.mesh), -1.0), tried.shape)
        at = np.unravel_index(int(np.argmax(scores)), tried.shape)
        if scores[at] >= 0.0 and (score is None or scores[at] > score):
            score = float(scores[at])
            design = {name: column[i] for (name, column), i in zip(tried.axes.items(), at)}
            design |= {"rows": tried.rows, "screen.aspect": tried.aspect, "screen.type": tried.problem.screen.type}
    return Best(score, design, count(problem, grid))
