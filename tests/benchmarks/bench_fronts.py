"""Fronts against a genetic algorithm, and against what is promised: ``python -m tests.benchmarks.bench_fronts``.

The genetic algorithm is NSGA-II as pymoo has it, with 100 designs and 200 generations, whole numbers
for decisions, and the program's own scorer on whole generations at once. What a set of designs is
worth is its hypervolume (moocore): the share of the box from the worst to the best of each objective,
over all that either side has found, that some design of the set reaches. Times are told by the clock,
which is what somebody waits, and in processor time, that of a front's worker processes and of starting
them added, for which other work on the machine does not count.
"""

from __future__ import annotations

import argparse
import statistics
import time
from pathlib import Path

import moocore
import numpy as np
from pymoo.algorithms.moo.nsga2 import NSGA2
from pymoo.core.problem import Problem as Vectorised
from pymoo.operators.crossover.sbx import SBX
from pymoo.operators.mutation.pm import PM
from pymoo.operators.repair.rounding import RoundingRepair
from pymoo.operators.sampling.rnd import IntegerRandomSampling
from pymoo.optimize import minimize

from optimiser.design import Held, Listed, Steps, grid_of
from optimiser.engine import load_solver
from optimiser.problem.model import Problem
from optimiser.problem.read import load
from optimiser.study.front import front
from optimiser.study.objectives import read_objective
from optimiser.study.oracle import oracle
from tests.benchmarks.bench_studies import processor_seconds

ROOM = Path(__file__).resolve().parents[2] / "problems" / "boathouse-loft.yaml"
TWO = ("horizontal_angle[row=2]", "upward_angle[row=1]:lower")
THREE = ("image_width", "upward_angle[row=1]:lower", "rear_wall_distance[row=2]")
POPULATION, GENERATIONS = 100, 200
POINTS, UNDER = 40, 4.0
"""Points that a front between two measures has at least, and the seconds that it takes at most."""

FIFTH = 0.2
"""Share of NSGA-II's time that a front between three measures takes at most."""


class Genetic(Vectorised):
    """A problem as a genetic algorithm takes it: which space, then each decision as a whole number."""

    def __init__(self, problem: Problem, texts: tuple[str, ...]) -> None:
        objectives = tuple(read_objective(problem, text) for text in texts)
        self.grounds = oracle(problem, objectives, grid_of(problem)).grounds
        self.names = sorted({name for g in self.grounds for name in g.space.domains})
        counts = [max(_size(g.space.domains.get(name)) for g in self.grounds) for name in self.names]
        limits = np.array([len(self.grounds), *counts]) - 1
        super().__init__(
            n_var=len(limits), n_obj=len(objectives), n_ieq_constr=1, xl=np.zeros(len(limits)), xu=limits, vtype=int
        )

    def designs(self, x: np.ndarray, ground) -> dict[str, np.ndarray]:
        """Decisions of designs that all lie in one space."""
        found = {}
        for name, column in zip(self.names, x[:, 1:].T):
            domain = ground.space.domains.get(name)
            if isinstance(domain, Steps):
                found[name] = domain.step * (domain.low + np.minimum(column, domain.high - domain.low))
            elif isinstance(domain, Listed):
                found[name] = np.asarray(domain.values)[np.minimum(column, len(domain.values) - 1)]
            elif isinstance(domain, Held):
                found[name] = np.full(len(column), domain.value)
        return found

    def _evaluate(self, x, out, *args, **kwargs) -> None:
        x = np.asarray(x, dtype=int)
        heights, short = np.zeros((len(x), self.n_obj)), np.zeros(len(x))
        for number, ground in enumerate(self.grounds):
            here = x[:, 0] == number
            if not here.any():
                continue
            designs = self.designs(x[here], ground)
            heights[here] = np.stack([np.broadcast_to(a.height(designs), here.sum()) for a in ground.aims], axis=1)
            lacking = np.asarray(ground.scorer.shortfall(designs)) * np.ones(here.sum())
            for expression in ground.space.sense:
                lacking = lacking + np.maximum(0.0, -np.asarray(expression.value(designs)))
            short[here] = lacking
        out["F"] = -np.nan_to_num(heights, nan=-1e9, posinf=1e9, neginf=-1e9)
        out["G"] = short[:, None]


def _size(domain) -> int:
    if isinstance(domain, Steps):
        return domain.high - domain.low + 1
    return len(domain.values) if isinstance(domain, Listed) else 1


def evolved(
    problem: Problem, texts: tuple[str, ...], start: int, population: int = POPULATION, generations: int = GENERATIONS
) -> tuple[np.ndarray, np.ndarray]:
    """The heights of the designs that NSGA-II ends with, and the seconds it took."""
    began = now()
    algorithm = NSGA2(
        pop_size=population,
        sampling=IntegerRandomSampling(),
        crossover=SBX(prob=0.9, eta=15, vtype=float, repair=RoundingRepair()),
        mutation=PM(eta=20, vtype=float, repair=RoundingRepair()),
        eliminate_duplicates=True,
    )
    ended = minimize(Genetic(problem, texts), algorithm, ("n_gen", generations), seed=start, verbose=False)
    heights = np.zeros((0, len(texts))) if ended.F is None else -np.atleast_2d(ended.F)
    return heights, now() - began


def proven(problem: Problem, texts: tuple[str, ...], points: int, workers: int) -> tuple[np.ndarray, np.ndarray, dict]:
    """The heights of a front's points, the seconds it took with everything from the problem on, and more."""
    oracle.cache_clear()
    began = now()
    found = front(problem, texts, points=points, workers=workers)
    seconds = now() - began
    scale = [np.radians(1.0) if o.kind == "angle" else 1.0 for o in found.objectives]
    signs = [o.sign for o in found.objectives]
    return np.array([p.values for p in found.points]) * scale * signs, seconds, dict(found.summary)


def now() -> np.ndarray:
    """Seconds by the clock, and of processor time."""
    return np.array([time.perf_counter(), processor_seconds()])


def volumes(sets: list[np.ndarray]) -> list[float]:
    """The hypervolume of each set, as a share of the box that all of them together span."""
    every = np.concatenate([s for s in sets if len(s)])
    low, high = every.min(axis=0), every.max(axis=0)
    span = np.where(high > low, high - low, 1.0)
    return [hypervolume((s - low) / span, np.zeros(len(low))) for s in sets]


def hypervolume(points: np.ndarray, low: np.ndarray) -> float:
    """What lies between a corner and the points, more being better."""
    return float(moocore.hypervolume(points, ref=low, maximise=True)) if len(points) else 0.0


def compare(problem: Problem, texts: tuple[str, ...], points: int, workers: int, starts: int) -> None:
    """One line each for the two of them, then the ratios."""
    runs = [proven(problem, texts, points, workers) for _ in range(3)]
    ours, summary = runs[0][0], runs[0][2]
    seconds = np.median([r[1] for r in runs], axis=0)
    theirs = [evolved(problem, texts, start) for start in range(1, starts + 1)]
    own, *others = volumes([ours, *(heights for heights, _ in theirs)])
    slow = np.median([s for _, s in theirs], axis=0)
    clock, used = seconds / slow
    print(f"{len(texts)} objectives: {', '.join(texts)}")
    print(
        f"  front:   {len(ours)} points, {summary['questions']} questions, hypervolume {own:.5f}; "
        f"{seconds[0]:.2f} s, {seconds[1]:.2f} s of processor time"
    )
    print(
        f"  NSGA-II: best of {starts} {max(others):.5f}, median {statistics.median(others):.5f}; "
        f"{slow[0]:.2f} s, {slow[1]:.2f} s of processor time, each"
    )
    print(f"  hypervolume, ours to their best: {own / max(others):.4f} (promised: 1 or more)")
    print(f"  time, ours to theirs:            {clock:.3f} (promised for three objectives: {FIFTH} or less)")
    print(f"  the same of processor time:      {used:.3f}")
    if len(texts) == 2:
        print(f"  points, found to promised:       {len(ours) / POINTS:.2f} (promised: 1 or more)")
        print(f"  time, taken to promised:         {seconds[0] / UNDER:.3f} (promised: 1 or less)")
    print(flush=True)


def report(starts: int = 10, workers: int = 2, points: int = POINTS) -> None:
    """Both comparisons."""
    load_solver()
    problem = load(ROOM)
    compare(problem, TWO, POINTS, workers, starts)
    compare(problem, THREE, points, workers, starts)


def main() -> None:
    """Both comparisons, as asked."""
    words = argparse.ArgumentParser(description="Fronts against NSGA-II and against what is promised.")
    words.add_argument("--starts", type=int, default=10, help="random starts of NSGA-II")
    words.add_argument("--workers", type=int, default=2, help="processes for the front")
    words.add_argument("--points", type=int, default=40, help="least points of the front between three")
    asked = words.parse_args()
    report(asked.starts, asked.workers, asked.points)


if __name__ == "__main__":
    main()
