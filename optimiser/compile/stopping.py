"""Ctrl-C while the solver is at work: it ends at once, and whoever called it hears of it.

Without this whoever called it hears of it when the model in hand is done with, as of any other call into a library.
"""

from __future__ import annotations

import signal
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager


class Stop:
    """The solver that is at work, if any."""

    def __init__(self) -> None:
        self.working = None

    def solved(self, wrapper, proto):
        """The solver's response; KeyboardInterrupt follows soon after Ctrl-C where somebody listens."""
        self.working = wrapper
        try:
            return wrapper.solve(proto)
        finally:
            self.working = None

    def _listen(self, reader: socket.socket) -> None:
        while reader.recv(1):
            working = self.working
            if working is not None:
                working.stop_search()


STOP = Stop()


@contextmanager
def stoppable() -> Iterator[None]:
    """Within it Ctrl-C stops the solver and then raises KeyboardInterrupt. For the main thread only."""
    reader, writer = socket.socketpair()
    writer.setblocking(False)
    before = signal.set_wakeup_fd(writer.fileno(), warn_on_full_buffer=False)
    listener = threading.Thread(target=STOP._listen, args=(reader,), daemon=True)
    listener.start()
    try:
        yield
    finally:
        signal.set_wakeup_fd(before)
        writer.close()  # ends the listener
        listener.join()
        reader.close()
