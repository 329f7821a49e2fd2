"""How long it takes to sharpen a design, along slopes and by the solver; and to score many, together and one form by one.

``python -m tests.benchmarks.bench_sharpening [--starts N] [NAME ...]`` prints, for every possible file of ``problems/``,
from designs whose lengths are up to 60 mm aside of the best one and that still keep all limits: the seconds of processor
time that a walk along slopes takes, and the solver in a neighbourhood (middle of the starts), with the points that each
is short of the best; and the seconds of all limits and goals of 80 designs, laid out on a tape and form by form.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from rich.console import Console
from rich.table import Table

from optimiser.ascent import ascended
from optimiser.climb import Ground
from optimiser.design import Steps, grid_of
from optimiser.forms import Asked, Form
from optimiser.problem.read import load
from optimiser.score import Scorer
from optimiser.search import Search
from optimiser.solve import Solution, solve
from optimiser.tape import Tape
from tests.support.files import POSSIBLE

ASIDE = 0.06
"""Metres by which lengths are moved at most."""

TRIED = 4000
"""Designs tried for some that keep all limits."""

TOGETHER, AGAIN = 80, 20
"""Designs that are scored together, and how often."""


def timed(work: Callable, *of: object) -> tuple[float, Any]:
    """Seconds of processor time, and the result."""
    begun = time.process_time()
    result = work(*of)
    return time.process_time() - begun, result


def starts_of(solution: Solution, ground: Ground, count: int) -> list[dict[str, float]]:
    """Designs some way aside of the best that keep all limits."""
    rng, best = np.random.default_rng(1), ground.point(solution.design)
    reach = [ASIDE / d.step if isinstance(d, Steps) and d.rounded else 0.0 for d in ground.domains]
    far = rng.uniform(-1.0, 1.0, (TRIED, len(best))) * np.array(reach) * rng.random((TRIED, 1))
    points = np.clip(np.rint(best + far), ground.low, ground.high).astype(np.int64)
    good = points[ground.hold(ground.designs(points), TRIED)]
    return [ground.design(point) for point in good[:count]]


def by_the_solver(solution: Solution, start: dict[str, float]) -> float:
    """The score that the solver comes to in a neighbourhood, and on from there."""
    search = Search(solution.problem, grid_of(solution.problem))
    scorer = next(s for s in search.scorers if s.space.key == solution.space.key)
    search._take(scorer, {name: start[name] for name in scorer.space.domains})
    search._climb(scorer, search.design, search.score)
    return search.score


def together(tape: Tape, designs: dict[str, np.ndarray]) -> None:
    for _ in range(AGAIN):
        tape.values(Asked(designs), TOGETHER)


def alone(forms: Sequence[Form], designs: dict[str, np.ndarray]) -> None:
    for _ in range(AGAIN):
        asked = Asked(designs)
        for form in forms:
            form.value(asked)


def sharpened(solution: Solution, ground: Ground, count: int) -> tuple[int, list[float]]:
    """How many starts there were; middle seconds and points short of the best along slopes, and by the solver."""
    tries = []
    for start in starts_of(solution, ground, count):
        took, found = timed(ascended, ground, start)
        climb, score = timed(by_the_solver, solution, start)
        tries.append((took, solution.score - ground.scorer.card(found).score, climb, solution.score - score))
    return len(tries), [statistics.median(one) for one in zip(*tries)]


def scored(solution: Solution, ground: Ground) -> tuple[float, float]:
    """Seconds of all limits and goals of some designs, on a tape and form by form."""
    designs = ground.designs(np.repeat(ground.point(solution.design)[None], TOGETHER, axis=0))
    forms = [b.form for b in ground.scorer.bounds] + [f for t in ground.scorer.targets for f in t.forms]
    with np.errstate(all="ignore"):
        return timed(together, Tape(forms), designs)[0] / AGAIN, timed(alone, forms, designs)[0] / AGAIN


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--starts", type=int, default=5)
    parser.add_argument("names", nargs="*")
    given = parser.parse_args()
    heads = ("slopes s", "short", "solver s", "short", "slopes/solver", "tape s", "forms s", "tape/forms")
    table, ratios, shares = Table("problem", "starts", *heads), [], []
    for name, path in POSSIBLE.items():
        if given.names and name not in given.names:
            continue
        solution = solve(load(path))
        ground = Ground(Scorer(solution.problem, solution.space))
        starts, found = sharpened(solution, ground, given.starts)
        cells = [""] * 5
        if found:
            walk, left, climb, less = found
            ratios.append(walk / climb)
            cells = [f"{walk:.4f}", f"{left:.3f}", f"{climb:.3f}", f"{less:.3f}", f"{walk / climb:.2f}"]
        tape, forms = scored(solution, ground)
        shares.append(tape / forms)
        table.add_row(name, str(starts), *cells, f"{tape:.5f}", f"{forms:.5f}", f"{tape / forms:.2f}")
    console = Console(width=150)
    console.print(table)
    means = [f"{statistics.geometric_mean(some):.2f}" for some in (ratios, shares) if some]
    console.print("geometric means:", ", ".join(means))


if __name__ == "__main__":
    main()
