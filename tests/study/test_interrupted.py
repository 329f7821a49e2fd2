"""Ctrl-C, a killed program, a killed cluster worker: what was finished is kept, and the file ends up the same."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from optimiser.commands._study import pace
from tests.study.rooms import STORE
from tests.support.signals import hearing

ROOT = Path(__file__).resolve().parent.parent.parent
OVER = "room.length=5 m..5.6 m step 10 mm"
POINTS = 61

pytestmark = pytest.mark.skipif(os.name != "posix", reason="sends POSIX signals")
ENVIRONMENT = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"}


def start(folder, *words):
    command = [sys.executable, "-m", "optimiser", "sweep", "room.yaml", "--over", OVER, "--out", "study.jsonl", *words]
    return subprocess.Popen(
        command,
        preexec_fn=hearing,
        cwd=folder,
        env=ENVIRONMENT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


def finished(process):
    out, err = process.communicate(timeout=120)
    assert process.returncode == 0, err
    return out


def lines(folder):
    path = Path(folder, "study.jsonl")
    return path.read_bytes().count(b"\n") if path.exists() else 0


def wait_for(condition, what, seconds=60.0):
    deadline = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < deadline, what
        time.sleep(0.02)


def room(folder):
    Path(folder, "room.yaml").write_text(STORE)
    return folder


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory):
    folder = room(tmp_path_factory.mktemp("whole"))
    finished(start(folder, "--workers", "1"))
    content = Path(folder, "study.jsonl").read_bytes()
    assert content.count(b"\n") == POINTS + 1
    return content


@pytest.mark.parametrize("blow", [signal.SIGINT, signal.SIGKILL], ids=["Ctrl-C", "killed"])
def test_what_was_finished_is_kept_and_gone_on_with(undisturbed, tmp_path, blow):
    process = start(room(tmp_path), "--workers", "2")
    wait_for(lambda: lines(tmp_path) > 8, "nothing gets done")
    os.killpg(process.pid, blow)
    _, err = process.communicate(timeout=30)
    kept = [json.loads(line)["index"] for line in Path(tmp_path, "study.jsonl").read_bytes().split(b"\n")[1:-1]]
    assert 8 <= len(kept) < POINTS and len(set(kept)) == len(kept)
    if blow == signal.SIGINT:
        assert process.returncode == 130
        assert err == "stopped; what was finished is in study.jsonl, and --resume goes on\n"
    refused = start(tmp_path)
    assert "study.jsonl exists already; say --resume" in refused.communicate(timeout=60)[1] and refused.returncode == 2
    finished(start(tmp_path, "--workers", "2", "--resume"))
    assert Path(tmp_path, "study.jsonl").read_bytes() == undisturbed


def test_a_cluster_that_loses_a_worker_loses_and_doubles_nothing(undisturbed, tmp_path):
    """A real scheduler and two worker processes; one is killed while it solves."""
    pytest.importorskip("distributed")
    room(tmp_path)
    place = str(tmp_path / "scheduler.json")
    quiet = {"env": ENVIRONMENT, "cwd": tmp_path, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    shape = ["--nthreads", "1", "--no-nanny", "--no-dashboard", "--host", "127.0.0.1"]
    started = []
    try:
        scheduler = [sys.executable, "-m", "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0"]
        started.append(subprocess.Popen([*scheduler, "--no-dashboard", "--scheduler-file", place], **quiet))
        worker = [sys.executable, "-m", "distributed.cli.dask_worker", "--scheduler-file", place, *shape]
        started += [subprocess.Popen(worker, **quiet) for _ in range(2)]
        wait_for(lambda: Path(place).exists() and Path(place).stat().st_size > 0, "no scheduler began")
        address = json.loads(Path(place).read_text())["address"]
        process = start(tmp_path, "--cluster", address)
        wait_for(lambda: lines(tmp_path) > 8, "the cluster does nothing")
        started[1].kill()
        out = finished(process)
    finally:
        for one in started:
            one.kill()
            one.wait()
    assert Path(tmp_path, "study.jsonl").read_bytes() == undisturbed
    assert f"{POINTS} values of room.length" in out


def test_the_bar_tells_rate_and_time_left():
    """By hand: 30 in 10 s are 3 a second, so 600 more take 200 s; 5 in 60 s are 5 a minute, 800 more take 160."""
    assert pace(30, 600, 10.0) == "3.0/s, 3:20 left"
    assert pace(5, 800, 60.0) == "5.0/min, 2:40:00 left"
    assert pace(0, 10, 5.0) == ""


@pytest.mark.parametrize("address", ["nonsense", "tcp://127.0.0.1:9"])
def test_a_cluster_that_is_not_there_is_said_and_nothing_else(address):
    """In a process of its own: a client that has found nobody complains when the program ends."""
    pytest.importorskip("distributed")
    code = (
        "from optimiser import work\nfrom optimiser.errors import UsageError\nwork.PATIENCE = 1.0\n"
        f"try:\n    work.Workers(cluster={address!r})\nexcept UsageError as error:\n    print(error)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=ENVIRONMENT, timeout=120)
    assert done.stdout.startswith(f"no Dask scheduler answers at {address} ("), done
    assert "write its address as tcp://host:8786" in done.stdout and done.stderr == ""
