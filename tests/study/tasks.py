"""Tasks for workers; importable, as spawned processes and clusters need them."""

import os
import signal
import time
from pathlib import Path

from optimiser.errors import ImpossibleProblem, UsageError


def square(number):
    return number * number


def fussy(number):
    if number % 5 == 3:
        raise ImpossibleProblem(f"{number} cannot be")
    if number % 7 == 4:
        raise UsageError(f"{number} is not wanted")
    if number % 11 == 6:
        return 1 // 0
    return number


def own_process(number):
    return os.getpid()


def deadly(number):
    """Kills its process at 13."""
    if number == 13:
        os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(0.01)
    return number


def deadly_once(argument):
    """Kills its process the first time it is asked."""
    number, mark = argument
    if number == 5 and not Path(mark).exists():
        Path(mark).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def slow_square(argument):
    number, seconds = argument
    time.sleep(seconds)
    return number * number
