"""What becomes of the output: letters that it cannot hold, readers who have gone, a full disk."""

from __future__ import annotations

import codecs
import errno
import io
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

UNWRITTEN = frozenset({errno.ENOSPC, errno.EFBIG, errno.EDQUOT, errno.EIO})
"""What the system says where standard output takes no more."""


class ReaderGone(Exception):
    """Whoever read standard output has gone. No OSError: of those, click makes an exit code of its own."""


@contextmanager
def read_by_somebody() -> Iterator[None]:
    """Around what prints. ReaderGone where nobody reads it any more."""
    try:
        yield
    except BrokenPipeError:
        raise ReaderGone from None


def any_letters(arguments: Sequence[str]) -> None:
    """Let letters that the output's encoding does not have be replaced, and not end the program: in JSON by
    their escapes, so that the record stays what it is; elsewhere by a question mark."""
    codecs.register_error("json-escape", _escaped)
    record = "--json" in arguments or "schema" in arguments[:1]
    for stream, errors in ((sys.stdout, "json-escape" if record else "replace"), (sys.stderr, "replace")):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=errors)


def _escaped(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    units = error.object[error.start : error.end].encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[k]:02x}{units[k + 1]:02x}" for k in range(0, len(units), 2)), error.end


def forget_output() -> None:
    """Let what is still to be printed go nowhere, so that the interpreter does not fail over it at its end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
