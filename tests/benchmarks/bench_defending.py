"""How long it takes to defend an answer and to hand it over: ``python -m tests.benchmarks.bench_defending [NAME ...]``.

For each file of ``problems/`` (or those named) the whole commands, importing included, with the workers they take
by themselves (two processors are assumed): one solve; ``explain``, ``prices`` and ``freedom``; the design sheet with
everything, and the drawings alone from a saved result. And 10,000 samples of all measures of a room with
tolerances, in process. By the clock, with the processor time that went into it; beside what is wanted, and as
a multiple of one solve of the same file, which a slow machine does not change.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from optimiser.explain.tolerances import tolerated
from optimiser.problem.read import loads
from optimiser.solve import solve
from tests.support.files import FOLDER, POSSIBLE

ROOT = Path(__file__).resolve().parent.parent.parent
SAMPLES = 10_000
TOLERANCES = """
tolerances:
  row1.y: ±1/2 in
  row2.y: ±1/2 in
  front.baffle.depth: ±1/4 in
  room.length: ±1/2 in
  room.width: ±1/4 in
  room.doors.entry.hinge: ±1/4 in
  room.reverberation_time: ±20 ms
  people: {table: ansur_ii, women: 0.5}
"""

WANTED = {"explain": 10.0, "prices": 5.0, "freedom": 5.0, "sheet": 5.0, "drawings": 1.0}
"""Seconds; of prices and freedom for rooms of two rows, of the sheet too."""


def timed(*words: str, out: Path | None = None) -> tuple[float, float]:
    """Seconds of a command by the clock, and of processor time with all its workers."""

    def used() -> float:
        children = resource.getrusage(resource.RUSAGE_CHILDREN)
        return children.ru_utime + children.ru_stime

    start, before = time.perf_counter(), used()
    command = [sys.executable, "-m", "optimiser", *words]
    done = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=False)
    if done.returncode not in (0, 3):
        raise SystemExit(f"{' '.join(words)}: exit code {done.returncode}")
    if out is not None:
        out.write_bytes(done.stdout)
    return time.perf_counter() - start, used() - before


def bench_file(name: str, path: Path) -> None:
    """One line for each command."""
    with tempfile.TemporaryDirectory() as folder:
        saved = Path(folder, "saved.json")
        solved, _ = timed("solve", str(path), "--json", out=saved)
        print(f"{name:<18} solve {solved:6.2f} s", flush=True)
        calls = {"explain": ["explain", str(path)]}
        if name in POSSIBLE:
            calls |= {"prices": ["prices", str(path)], "freedom": ["freedom", str(path)]}
            drawn = ["--from", str(saved), "--only", "svg", "--only", "dxf", "--out", str(Path(folder, "drawings"))]
            calls["drawings"] = ["sheet", str(path), *drawn]
        calls["sheet"] = ["sheet", str(path), "--out", str(Path(folder, "sheet"))]
        for what, words in calls.items():
            seconds, processor = timed(*words)
            print(
                f"{'':<18} {what:<9} {seconds:6.2f} s ({processor:.2f} used)   wanted: < {WANTED[what]:g} s   "
                f"{seconds / solved:5.1f} solves   {'yes' if seconds < WANTED[what] else 'NO'}",
                flush=True,
            )


def bench_samples() -> None:
    """All measures of many cases of one design."""
    problem = loads((FOLDER / "boathouse-loft.yaml").read_text(encoding="utf-8") + TOLERANCES)
    best = solve(problem)
    taken = []
    for _ in range(3):
        start = time.process_time()
        found = tolerated(problem, best.space, best.design, samples=SAMPLES)
        taken.append(time.process_time() - start)
    first, least = taken[0], min(taken)
    print(
        f"{found.count} samples of all measures: {least:.2f} s of a processor, {first:.2f} the first time   "
        f"wanted: < 1 s   {'yes' if least < 1 else 'NO'}"
    )


def main() -> None:
    """Run what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*")
    names = parser.parse_args().names
    for path in sorted(FOLDER.glob("*.yaml")):
        if not names or path.stem in names:
            bench_file(path.stem, path)
    bench_samples()


if __name__ == "__main__":
    main()
