"""How fast studies are, and whether their cost stays flat: ``python -m tests.benchmarks.bench_studies``.

Prints what it measures beside what is wanted, on the processors that it may use (two are assumed), and
the processor time that went into it, which a busy machine does not change much. Fronts are measured as
``tests.benchmarks.bench_fronts`` does it by itself.
``--rooms`` and ``--flat`` set how many rooms; ``--only`` takes fronts, sweep, rooms or flat.
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from optimiser.engine import load_solver
from optimiser.study.asking import answer
from optimiser.study.batch import answer_room, batch_of_table
from optimiser.study.running import carry_out
from optimiser.study.sweep import sweep_of
from optimiser.work import Workers, cores
from tests.study.rooms import STORE

ROOT = Path(__file__).resolve().parent.parent.parent
TWO_ROWS = ROOT / "problems" / "screen-stays.yaml"
SWEEP = {"room.length": "7 m..8.99 m step 10 mm"}
POINTS = 200
SWEEP_SECONDS = 15.0
ROOMS_A_SECOND = 15.0
FLAT = 1.25
"""How much dearer a room of many may be than one of few, to count as flat."""


def table(count: int, *, long: tuple[float, float], wide: tuple[float, float], high: tuple[float, float]) -> str:
    """A table of so many rooms, always the same ones."""
    chance = random.Random(1)
    lines = ["name,room.length [m],room.width [m],room.height [m]"]
    for n in range(count):
        sizes = (f"{chance.uniform(*span):.2f}" for span in (long, wide, high))
        lines.append(f"room {n + 1},{','.join(sizes)}")
    return "\n".join(lines) + "\n"


def processor_seconds() -> float:
    """Processor time of this process and of all its workers that have ended."""
    both = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(used.ru_utime + used.ru_stime for used in both)


def timed(plan, function: Callable, workers: int | None = None) -> tuple[float, float, int]:
    """Seconds that a study takes, processes and file included, seconds of processor time, and how many of its
    records have a design."""
    load_solver()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "study.jsonl")
        start, before = time.perf_counter(), processor_seconds()
        with Workers(workers=workers) as hands:
            carry_out(plan, function, path, hands)
        seconds, used = time.perf_counter() - start, processor_seconds() - before
        return seconds, used, path.read_text(encoding="utf-8").count('"feasible":true')


def say(what: str, measured: str, wanted: str, ratio: float) -> None:
    """One line of the report; ``ratio``: what is measured to what is wanted, 1 or less being good."""
    print(
        f"{what:<46} {measured:>26}   wanted: {wanted:<16} ratio {ratio:.2f} {'yes' if ratio <= 1.0 else 'NO'}",
        flush=True,
    )


def bench_sweep() -> None:
    """The two-row room at 200 lengths."""
    plan = sweep_of(TWO_ROWS.read_text(encoding="utf-8"), TWO_ROWS.name, SWEEP)
    seconds, used, found = timed(plan, answer)
    assert plan.count == found == POINTS
    say(
        f"{POINTS} points of a sweep, two rows",
        f"{seconds:.1f} s ({used:.1f} used)",
        f"< {SWEEP_SECONDS:g} s",
        seconds / SWEEP_SECONDS,
    )


def bench_rooms(count: int) -> None:
    """Rooms of all sizes over the two-row room."""
    rooms = table(count, long=(7.0, 9.0), wide=(4.2, 5.5), high=(2.5, 3.0))
    plan = batch_of_table(rooms, "rooms.csv", TWO_ROWS.read_text(encoding="utf-8"), TWO_ROWS.name)
    seconds, used, found = timed(plan, answer_room)
    rate = count / seconds
    say(
        f"{count} rooms, two rows ({found} possible)",
        f"{rate:.1f}/s ({count / used:.1f} a processor)",
        f">= {ROOMS_A_SECOND:g} rooms/s",
        ROOMS_A_SECOND / rate,
    )


def one_size(count: int) -> None:
    """In a process of its own: processor seconds a room, and the most memory it and its workers had [MB]."""
    plan = batch_of_table(
        table(count, long=(5.0, 7.0), wide=(3.4, 4.5), high=(2.4, 3.0)), "rooms.csv", STORE, "store.yaml"
    )
    _, used, _ = timed(plan, answer_room)
    here = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    worker = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(used / count, here, worker)


def bench_flat(counts: list[int]) -> None:
    """The same kind of room few and many times over: processor seconds and memory a room."""
    found = []
    for count in counts:
        command = [sys.executable, "-m", "tests.benchmarks.bench_studies", "--one-size", str(count)]
        done = subprocess.run(
            command, cwd=ROOT, env=os.environ | {"PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=True
        )
        each, here, worker = map(float, done.stdout.split())
        print(
            f"{count:>7} rooms, one row: {1000 * each:.1f} ms of a processor each; {here:.0f} MB here, {worker:.0f} MB a worker",
            flush=True,
        )
        found.append((each, here, worker))
    names = f"{counts[0]} to {counts[-1]} rooms"
    for at, what in enumerate(("cost a room", "memory here", "memory of a worker")):
        ratio = found[-1][at] / found[0][at]
        say(f"{what}, {names}", f"x {ratio:.2f}", f"<= x {FLAT:g}", ratio / FLAT)


def main() -> None:
    """Run what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rooms", type=int, default=1000)
    parser.add_argument("--flat", type=int, nargs="+", default=[100, 1000, 10000])
    parser.add_argument("--only", choices=("fronts", "sweep", "rooms", "flat"))
    parser.add_argument("--one-size", type=int, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.one_size:
        one_size(asked.one_size)
        return
    print(f"{cores()} processors")
    if asked.only in (None, "fronts"):
        from tests.benchmarks import bench_fronts  # which takes its clock from here

        bench_fronts.report()
    if asked.only in (None, "sweep"):
        bench_sweep()
    if asked.only in (None, "rooms"):
        bench_rooms(asked.rooms)
    if asked.only in (None, "flat"):
        bench_flat(asked.flat)


if __name__ == "__main__":
    main()
