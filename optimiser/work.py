"""Many independent tasks on any executor: a few in hand at a time, each told of as it ends.

Used by everything that solves more than once. A task that fails is an outcome like any other; a
worker process that dies is replaced, and only the task that kills it twice is given up.
"""

from __future__ import annotations

import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from optimiser.errors import InternalError, OptimiserError, UsageError, whole

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.process import BaseProcess

TRIES = 2
"""How often a task may bring its worker process down before it is given up."""

AHEAD = 4
"""Tasks handed out for each worker: enough that none is idle, few enough that memory stays flat."""

PAUSE = 0.5
"""Seconds of waiting after which it is told that the others still work."""

PATIENCE = 10.0
"""Seconds that a cluster has to answer."""

Task = tuple[int, Any]

_NO_MORE: Task = (-1, None)


@dataclass(frozen=True)
class Outcome:
    """What became of the task ``index``: a value, or an error in words with its exit code."""

    index: int
    value: Any = None
    error: str | None = None
    exit_code: int = 0

    def result(self) -> Any:
        """The value. Raises UsageError where that is what it failed with, else InternalError."""
        if self.error is not None:
            raise (UsageError if self.exit_code == UsageError.exit_code else InternalError)(self.error)
        return self.value


def cores() -> int:
    """Processors that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class Workers:
    """Whoever does the work: this process, processes of its own, a given executor, or a cluster.

    ``workers``: how many processes; one means this process itself. ``executor``: any executor of
    the standard library's kind, left running. ``cluster``: address of a Dask scheduler. Functions
    must be importable by name, their arguments and results picklable.
    """

    def __init__(
        self, *, workers: int | None = None, executor: Executor | None = None, cluster: str | None = None
    ) -> None:
        if sum(x is not None for x in (workers, executor, cluster)) > 1:
            raise UsageError("give workers, an executor or a cluster, not several of them")
        if workers is not None and whole(workers, "workers") < 1:
            raise UsageError("at least one worker, please")
        self.count = workers or cores()
        self._given = executor
        self._client = None
        self._executor: Executor | None = executor
        if cluster is not None:
            self._client = _client(cluster)
            self._executor = self._client.get_executor(pure=False)
        if executor is not None or cluster is not None:
            self.count = max(1, getattr(executor, "_max_workers", None) or _size_of(self._client) or cores())
        self._alone = executor is None and cluster is None and self.count == 1

    def __enter__(self) -> Workers:
        if self._executor is None and not self._alone:
            self._executor = _pool(self.count)
        return self

    def __exit__(self, kind, error, trace) -> None:
        if self._client is not None:
            self._executor.shutdown(wait=False)  # what was in hand is cancelled already
            self._client.close()
        elif self._given is None and self._executor is not None:
            _end(self._executor, at_once=kind is not None)
        self._executor = None

    def run(
        self,
        function: Callable[[Any], Any],
        tasks: Iterable[Task | None],
        *,
        waiting: Callable[[], object] | None = None,
    ) -> Iterator[Outcome]:
        """Outcomes in the order in which they end. Tasks are drawn only as workers take them; None among
        them says that the next one waits for an outcome of those in hand. ``waiting`` is called now and then while
        other processes work."""
        if self._alone:
            for task in tasks:
                if task is None:
                    raise InternalError("a task waits for one that nobody works on")
                yield _outcome(task[0], *guarded(function, task[1]))
            return
        yield from self._spread(function, iter(tasks), waiting)

    # --- spreading ----------------------------------------------------------------------------

    def _spread(
        self, function: Callable[[Any], Any], tasks: Iterator[Task | None], waiting: Callable[[], object] | None
    ) -> Iterator[Outcome]:
        running: dict[Future, Task] = {}
        suspects: deque[Task] = deque()  # in hand when a worker died: tried again one by one
        strikes: dict[int, int] = {}
        try:
            while True:
                if suspects and not running:
                    self._hand(function, suspects.popleft(), running)
                while (
                    not suspects and not strikes.keys() & {t[0] for t in running.values()} and len(running) < self._most
                ):
                    task = next(tasks, _NO_MORE)
                    if task is None and not running:
                        raise InternalError("a task waits for one that nobody works on")
                    if task is None or task is _NO_MORE:
                        break
                    self._hand(function, task, running)
                if not running:
                    return
                done, _ = wait(running, timeout=waiting and PAUSE, return_when=FIRST_COMPLETED)
                if not done and waiting:
                    waiting()
                ended = sorted(((running.pop(future), future) for future in done), key=lambda pair: pair[0][0])
                for task, future in ended:
                    try:
                        yield _outcome(task[0], *future.result())
                        strikes.pop(task[0], None)
                    except CancelledError:
                        raise OptimiserError("the executor gave the work up; what was finished is kept") from None
                    except BrokenExecutor:
                        if self._given is not None:
                            raise OptimiserError(
                                "the executor given has broken down; what was finished is kept"
                            ) from None
                        strikes[task[0]] = strikes.get(task[0], 0) + 1
                        if strikes[task[0]] >= TRIES:
                            strikes.pop(task[0])
                            yield Outcome(task[0], None, "its worker process ended without a word, twice", 1)
                        else:
                            suspects.append(task)
                    except Exception as error:  # the executor's own, as a cluster that gives a task up
                        yield Outcome(task[0], None, f"{type(error).__name__}: {error}", 1)
        finally:
            if self._given is not None or self._client is not None:
                for future in running:
                    future.cancel()
            # processes of our own end with the pool, which falls over futures that others cancelled

    @property
    def _most(self) -> int:
        return AHEAD * self.count

    def _hand(self, function: Callable[[Any], Any], task: Task, running: dict[Future, Task]) -> None:
        try:
            future = self._executor.submit(guarded, function, task[1])
        except BrokenExecutor:
            if self._given is not None:
                raise
            _end(self._executor, at_once=True)
            self._executor = _pool(self.count)
            future = self._executor.submit(guarded, function, task[1])
        running[future] = task


def guarded(function: Callable[[Any], Any], argument: Any) -> tuple[bool, Any, int]:
    """Call a function where it runs, and bring its failure home as words: (worked, value or words, exit code)."""
    try:
        return True, function(argument), 0
    except OptimiserError as error:
        return False, str(error), error.exit_code
    except Exception as error:  # whatever a task does, the others go on
        return False, f"{type(error).__name__}: {error}", 1


def _outcome(index: int, worked: bool, value: Any, exit_code: int) -> Outcome:
    return Outcome(index, value) if worked else Outcome(index, None, value, exit_code)


class Beside:
    """One call in a process of its own while this one goes on; in this one, once asked for, where there is no second
    core. The function must be importable by name, argument and value picklable.

        with Beside(function, argument) as there:
            ...
            value = there.value()
    """

    def __init__(self, function: Callable[[Any], Any], argument: Any) -> None:
        self._function, self._argument = function, argument
        self._process: BaseProcess | None = None

    def __enter__(self) -> Beside:
        if cores() > 1:
            context = _context()
            self._ear, mouth = context.Pipe(duplex=False)
            self._process = context.Process(target=_tell, args=(os.getpid(), mouth, self._function, self._argument))
            with _interrupts_later():
                self._process.start()
            mouth.close()
        return self

    def value(self) -> Any:
        """What the call gave. Raises as it did, or InternalError for what is no error of ours."""
        if self._process is None:
            return self._function(self._argument)
        try:
            outcome = _outcome(0, *self._ear.recv())
        except (EOFError, OSError):  # the process is gone without a word, or in the middle of one
            return self._function(self._argument)
        return outcome.result()

    def __exit__(self, kind, error, trace) -> None:
        if self._process is not None:
            self._process.terminate()
            self._process.join()
            self._ear.close()


def _tell(parent: int, mouth: Connection, function: Callable[[Any], Any], argument: Any) -> None:
    _settle(parent)
    mouth.send(guarded(function, argument))
    mouth.close()


# --- processes of our own -----------------------------------------------------------------------


def _pool(count: int) -> ProcessPoolExecutor:
    pool = ProcessPoolExecutor(count, mp_context=_context(), initializer=_settle, initargs=(os.getpid(),))
    with _interrupts_later():
        for _ in range(count):
            pool.submit(int)  # the processes start now, before a progress bar or anything else starts threads
    return pool


@contextmanager
def _interrupts_later() -> Iterator[None]:
    """Leave Ctrl-C waiting while a process is started: what is started has not yet been told to leave it to its parent."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _context():
    from multiprocessing import get_context

    # a forked child starts at once and has all modules; but a fork among threads may lock up
    return get_context("fork" if os.name == "posix" and os.uname().sysname == "Linux" and _only_thread() else "spawn")


def _only_thread() -> bool:
    return threading.active_count() == 1


def _settle(parent: int) -> None:
    """In a new worker: leave Ctrl-C to the parent, and do not outlive it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if os.name == "posix":
        threading.Thread(target=_watch, args=(parent,), daemon=True).start()


def _watch(parent: int) -> None:
    pause = threading.Event()
    while os.getppid() == parent:
        pause.wait(1.0)
    os._exit(1)


def _end(executor: Executor, *, at_once: bool) -> None:
    processes = list((getattr(executor, "_processes", None) or {}).values()) if at_once else []
    executor.shutdown(wait=not at_once, cancel_futures=True)
    for process in processes:
        process.terminate()


# --- a cluster ----------------------------------------------------------------------------------


def _client(address: str):
    try:
        from distributed import Client
    except ImportError:
        raise UsageError('a cluster needs Dask: pip install "screening-room-optimiser[cluster]"') from None
    try:
        _ask(address)  # first: a client that finds nobody leaves a complaint behind when the program ends
        return Client(address, timeout=f"{PATIENCE:g}s", set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        why = str(error) if isinstance(error, ValueError) else type(error).__name__
        raise UsageError(
            f"no Dask scheduler answers at {address} ({why}): write its address as tcp://host:8786"
        ) from None


def _ask(address: str) -> None:
    """Ask a scheduler who it is, without a client. Raises ValueError for what is no address, OSError or TimeoutError
    where nobody answers."""
    import asyncio
    from concurrent.futures import ThreadPoolExecutor

    from distributed.comm.addressing import get_address_host_port, parse_address
    from distributed.core import rpc

    if parse_address(address)[0] == "inproc":
        return  # in this process: nothing to knock at
    get_address_host_port(address)

    async def identity() -> None:
        async with rpc(address, timeout=PATIENCE) as there:
            await asyncio.wait_for(there.identity(), PATIENCE)

    with ThreadPoolExecutor(1) as thread:  # a notebook's own thread has a loop already
        thread.submit(asyncio.run, identity()).result()


def _size_of(client) -> int:
    return 0 if client is None else sum(client.nthreads().values())
