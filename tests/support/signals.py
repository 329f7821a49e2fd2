"""Signals of processes that tests start."""

from __future__ import annotations

import signal


def hearing() -> None:
    """For a new process, before it begins: hear Ctrl-C, which a shell has its background jobs ignore."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
