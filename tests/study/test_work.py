"""The runner: every task ends in exactly one outcome, whoever works and whatever breaks."""

import os
import subprocess
import sys
import textwrap
import time
from concurrent.futures import ThreadPoolExecutor

import pytest

from optimiser import work
from optimiser.errors import InternalError, UsageError
from optimiser.work import Beside, Workers
from tests.study import tasks

EXECUTORS = {
    "this process": lambda: Workers(workers=1),
    "two processes": lambda: Workers(workers=2),
    "threads": lambda: Workers(executor=ThreadPoolExecutor(3)),
}


@pytest.mark.parametrize("who", EXECUTORS)
def test_each_task_has_one_outcome(who):
    with EXECUTORS[who]() as workers:
        outcomes = list(workers.run(tasks.square, ((n, n) for n in range(100))))
    assert sorted(o.index for o in outcomes) == list(range(100))
    assert all(o.value == o.index**2 and o.error is None for o in outcomes)


@pytest.mark.parametrize("who", EXECUTORS)
def test_failures_stand_beside_successes(who):
    with EXECUTORS[who]() as workers:
        outcomes = {o.index: o for o in workers.run(tasks.fussy, ((n, n) for n in range(12)))}
    assert len(outcomes) == 12
    assert (outcomes[3].error, outcomes[3].exit_code, outcomes[3].value) == ("3 cannot be", 3, None)
    assert (outcomes[4].error, outcomes[4].exit_code) == ("4 is not wanted", 2)
    assert outcomes[6].error.startswith("ZeroDivisionError: ")
    assert [o.value for n, o in sorted(outcomes.items()) if o.error is None] == [0, 1, 2, 5, 7, 9, 10]


def test_processes_do_the_work_and_are_kept():
    with Workers(workers=2) as workers:
        first = {o.value for o in workers.run(tasks.own_process, ((n, n) for n in range(40)))}
        second = {o.value for o in workers.run(tasks.own_process, ((n, n) for n in range(40)))}
    assert os.getpid() not in first | second
    assert len(first | second) <= 2


def test_tasks_are_drawn_only_as_they_are_needed():
    drawn = []

    def many():
        for n in range(10_000):
            drawn.append(n)
            yield n, n

    with Workers(workers=2) as workers:
        results = workers.run(tasks.square, many())
        next(results)
        assert len(drawn) < 30
        results.close()


def test_the_task_that_kills_its_worker_is_the_only_one_given_up():
    with Workers(workers=2) as workers:
        outcomes = list(workers.run(tasks.deadly, ((n, n) for n in range(40))))
    assert sorted(o.index for o in outcomes) == list(range(40))
    assert [o.index for o in outcomes if o.error] == [13]
    assert "ended without a word" in next(o.error for o in outcomes if o.error)


def test_a_worker_that_dies_once_costs_nothing(tmp_path):
    mark = str(tmp_path / "mark")
    with Workers(workers=2) as workers:
        outcomes = list(workers.run(tasks.deadly_once, ((n, (n, mark)) for n in range(20))))
    assert sorted(o.value for o in outcomes) == list(range(20))


def test_who_works_is_said_once():
    with pytest.raises(UsageError, match="not several"):
        Workers(workers=2, executor=ThreadPoolExecutor(1))
    with pytest.raises(UsageError, match="at least one"):
        Workers(workers=0)


def test_a_given_executor_is_left_running():
    with ThreadPoolExecutor(1) as executor:
        with Workers(executor=executor) as workers:
            list(workers.run(tasks.square, [(0, 3)]))
        assert executor.submit(tasks.square, 4).result() == 16


def test_while_others_work_it_is_told_now_and_then():
    heard = []
    with Workers(workers=2) as workers:
        list(workers.run(tasks.slow_square, [(0, (2, 1.3)), (1, (3, 0.0))], waiting=lambda: heard.append(1)))
    assert 1 <= len(heard) <= 3  # every half a second


@pytest.mark.parametrize("count", [1, 2])
class TestBeside:
    """One call in another process, or, where there is one core, in this."""

    @pytest.fixture(autouse=True)
    def processors(self, monkeypatch, count):
        monkeypatch.setattr(work, "cores", lambda: count)

    def test_its_value(self):
        with Beside(tasks.square, 12) as there:
            assert there.value() == 144

    def test_where_it_is_called(self, count):
        with Beside(tasks.own_process, 0) as there:
            assert (there.value() == os.getpid()) == (count == 1)

    def test_what_it_fails_with(self, count):
        with Beside(tasks.fussy, 4) as there, pytest.raises(UsageError, match="4 is not wanted"):
            there.value()
        with Beside(tasks.fussy, 6) as there, pytest.raises(ZeroDivisionError if count == 1 else InternalError):
            there.value()

    def test_a_process_that_dies_is_made_up_for(self, tmp_path):
        mark = tmp_path / "mark"
        mark.touch()
        if work.cores() > 1:
            mark.unlink()
        with Beside(tasks.deadly_once, (5, str(mark))) as there:
            assert there.value() == 5
        assert mark.exists()

    def test_who_does_not_ask_does_not_wait(self):
        began = time.monotonic()
        with Beside(tasks.slow_square, (2, 60.0)):
            pass
        assert time.monotonic() - began < 30.0


@pytest.mark.skipif(os.name != "posix", reason="sends POSIX signals")
def test_workers_do_not_outlive_a_killed_parent(tmp_path):
    script = tmp_path / "script.py"
    script.write_text(
        textwrap.dedent(
            """
            from optimiser.work import Workers
            from tests.study import tasks
            if __name__ == "__main__":
                with Workers(workers=2) as workers:
                    pids = {o.value for o in workers.run(tasks.own_process, ((n, n) for n in range(40)))}
                    print(*pids, flush=True)
                    list(workers.run(tasks.slow_square, ((n, (n, 60.0)) for n in range(2))))
            """
        )
    )
    parent = subprocess.Popen(
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )
    pids = [int(p) for p in parent.stdout.readline().split()]
    assert pids
    parent.kill()
    parent.wait()
    deadline = time.monotonic() + 15.0
    while any(map(_alive, pids)):
        assert time.monotonic() < deadline, "a worker outlived its parent"
        time.sleep(0.1)


def _alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    with open(f"/proc/{pid}/stat") as stat:  # a zombie that init has yet to reap is dead
        return stat.read().rsplit(")", 1)[1].split()[0] != "Z"
