"""How many examples a property test tries."""

from __future__ import annotations

import os

from hypothesis import settings

MORE = int(os.environ.get("MORE_EXAMPLES", "1"))


def examples(count: int) -> settings:
    """Settings for ``count`` examples, the same each time; with MORE_EXAMPLES more, and new ones."""
    return settings(max_examples=count * MORE, derandomize=MORE == 1)
