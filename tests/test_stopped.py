"""A hard problem shows how far it has come, and Ctrl-C ends it with what was found, told as not proven."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.signals import hearing

ROOT = Path(__file__).resolve().parent.parent
COMMAND = [sys.executable, "-m", "optimiser", "solve", str(ROOT / "problems" / "coach-house.yaml")]
ENVIRONMENT = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1", "TERM": "xterm", "COLUMNS": "120"}

pytestmark = pytest.mark.skipif(os.name != "posix", reason="sends POSIX signals, needs a terminal")


def watched_until(words, *options):
    """Start with a terminal for the messages and press Ctrl-C once some words are there: exit code, output, messages."""
    ours, theirs = os.openpty()
    process = subprocess.Popen(
        [*COMMAND, *options],
        env=ENVIRONMENT,
        stdout=subprocess.PIPE,
        stderr=theirs,
        start_new_session=True,
        preexec_fn=hearing,
    )
    os.close(theirs)
    seen, pressed = b"", False
    while True:
        try:
            more = os.read(ours, 4096)
        except OSError:  # the other end is closed
            break
        if not more:
            break
        seen += more
        if not pressed and words in seen:
            pressed = True
            process.send_signal(signal.SIGINT)
    out = process.stdout.read().decode()
    os.close(ours)
    return process.wait(), out, seen.decode()


def test_who_stops_it_gets_the_best_so_far_and_is_told_that_nothing_is_proven():
    code, out, told = watched_until(b"best so far", "--json")
    record = json.loads(out)
    assert code == 130
    assert "looking through spaces: no design yet, bound 100" in told
    assert "stopped before the proof was done; this is the best design found so far" in told
    assert (record["status"], record["bound"]) == ("feasible", 100.0)
    assert 0.0 < record["score"] < 100.0
    assert all(limit["holds"] for limit in record["limits"])


def test_before_there_is_any_design_it_just_stops():
    code, out, told = watched_until(b"no design yet")
    assert (code, out) == (130, "")
    assert told.rstrip().endswith("stopped")


def test_in_a_pipe_nothing_is_said():
    answer = subprocess.run([*COMMAND, "--grid", "5 cm"], env=ENVIRONMENT, capture_output=True, text=True)
    assert (answer.returncode, answer.stderr) == (0, "")
    assert "Proven" in answer.stdout


HARD = """
import os, random, signal, threading, time
from optimiser.compile.model import Answer, new_model
from optimiser.compile.stopping import stoppable
from optimiser.engine import parameters_of

draw, model = random.Random(1), new_model()
there = [model.new_bool_var(f"x{n}") for n in range(50)]
for _ in range(6):
    counts = [draw.randrange(100) for _ in there]
    model.add_row([x.index for x in there], counts, sum(counts) // 2, sum(counts) // 2)
start = time.monotonic()
try:
    with stoppable():
        threading.Timer(0.5, os.kill, (os.getpid(), signal.SIGINT)).start()
        print(Answer(model, parameters_of(60.0)).status)
except KeyboardInterrupt:
    print("heard", time.monotonic() - start < 10.0)
"""


def test_the_solver_ends_at_once():
    """Six sums of fifty numbers that are to be halved exactly: far more than it can decide in a minute."""
    answer = subprocess.run(
        [sys.executable, "-c", HARD], env=ENVIRONMENT, capture_output=True, text=True, preexec_fn=hearing
    )
    assert (answer.stdout, answer.stderr) == ("heard True\n", "")
