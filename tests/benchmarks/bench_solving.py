"""How long an answer takes, beside a general solver and a heuristic, in one run.

``python -m tests.benchmarks.bench_solving [--runs N] [--seeds N] [--patience SECONDS] [NAME ...]`` prints, for two
and three rows of a room with a dozen goals on a grid of 1 mm and for every possible file of ``problems/``: the time
until the answer is proven (least of the runs, compiling included), that SCIP takes to a relative gap of 1e-4, and
that differential evolution takes to come within half a point of the answer (middle of the seeds). Each works
in one thread; seconds are of processor time, so that other work on the machine does not count.
"""

from __future__ import annotations

import argparse
import math
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace

from rich.console import Console
from rich.table import Table

from optimiser.problem.read import load
from optimiser.solve import Solution, solve
from tests.support import global_solver
from tests.support.evolution import race
from tests.support.files import FOLDER, POSSIBLE
from tests.support.rooms import long_room

NEAR = 0.5
"""Points from the best at which the heuristic has arrived."""

PATIENCE = 60.0
"""Seconds after which the heuristic is stopped; it then counts as having taken so long."""


def timed(work: Callable, runs: int, clock: Callable[[], float] = time.process_time) -> tuple[float, object]:
    """Least time of several runs of the same work [s], and its result."""
    times = []
    for _ in range(runs):
        start = clock()
        result = work()
        times.append(clock() - start)
    return min(times), result


def built_in() -> dict:
    """The two problems whose sizes the targets are stated for."""
    return {f"{rows} rows, 12 goals, 1 mm": replace(long_room((rows,)), show="mm") for rows in (2, 3)}


def heuristic(solution: Solution, seeds: int, patience: float) -> tuple[float, str]:
    """Middle time of several seeds, a search that did not arrive counting as ``patience``; how many arrived.
    Once more than half did not, the middle is known and the others are left out."""
    times: list[float] = []
    for seed in range(1, seeds + 1):
        one = race(solution.problem, solution.score - NEAR, seed=seed, most=patience)
        times.append(one.seconds if one.arrived else patience)
        if times.count(patience) > seeds // 2:
            return patience, f"{len(times) - times.count(patience)}/{len(times)}"
    return statistics.median(times), f"{len(times) - times.count(patience)}/{len(times)}"


def mean(ratios: list[float]) -> float:
    """Geometric mean."""
    return math.exp(statistics.fmean(map(math.log, ratios)))


def command(words: list[str]) -> float:
    """Seconds of a whole command, importing included: the least of five."""

    def children() -> float:
        used = resource.getrusage(resource.RUSAGE_CHILDREN)
        return used.ru_utime + used.ru_stime

    return timed(
        lambda: subprocess.run([sys.executable, "-m", "optimiser", *words], capture_output=True, check=True),
        5,
        children,
    )[0]


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--seeds", type=int, default=5)
    parser.add_argument("--patience", type=float, default=PATIENCE, help="seconds after which the heuristic is stopped")
    parser.add_argument("names", nargs="*")
    given = parser.parse_args()
    problems = built_in() | {name: load(path) for name, path in POSSIBLE.items()}
    wanted = {name: p for name, p in problems.items() if not given.names or name in given.names}

    solve(long_room((1,)))  # loads the solver
    table = Table("problem", "rows", "score", "gap", "ours s", "SCIP s", "ours/SCIP", "DE s", "arrived", "ours/DE")
    against_scip, against_de = [], []
    for name, problem in wanted.items():
        ours, solution = timed(lambda p=problem: solve(p), given.runs)
        try:
            scip, _ = timed(lambda p=problem: global_solver.solve(p), given.runs)
            against_scip.append(ours / scip)
            scip_cells = [f"{scip:.3f}", f"{ours / scip:.2f}"]
        except NotImplementedError:  # it has lists of things, or a table
            scip_cells = ["cannot be told", ""]
        evolved, arrived = heuristic(solution, given.seeds, given.patience)
        rows = solution.space.rows
        if rows >= 2:
            against_de.append(ours / evolved)
        table.add_row(
            name,
            str(rows),
            f"{solution.score:.2f}",
            f"{solution.gap:.3f}",
            f"{ours:.3f}",
            *scip_cells,
            f"{evolved:.2f}",
            arrived,
            f"{ours / evolved:.3f}",
        )
    console = Console(width=130)
    console.print(table)
    if against_scip:
        console.print(f"ours/SCIP, geometric mean of {len(against_scip)}: {mean(against_scip):.2f}")
    if against_de:
        console.print(
            f"ours/DE on two rows and more, geometric mean of {len(against_de)}: {mean(against_de):.3f}; "
            f"most {max(against_de):.3f}"
        )
    console.print(f"optimiser --help: {command(['--help']):.2f} s")
    console.print(
        f"optimiser solve problems/boathouse-loft.yaml: {command(['solve', str(FOLDER / 'boathouse-loft.yaml')]):.2f} s"
    )
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    console.print(f"most memory of those commands: {most:.0f} MiB")


if __name__ == "__main__":
    main()
