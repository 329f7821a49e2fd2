"""The problem files of ``problems/``, by whether their wishes can be had at all."""

from __future__ import annotations

from pathlib import Path

FOLDER = Path(__file__).parents[2] / "problems"

IMPOSSIBLE = {"attic-too-much"}
"""Files that show what becomes of wishes that cannot all be had."""

POSSIBLE = {path.stem: path for path in sorted(FOLDER.glob("*.yaml")) if path.stem not in IMPOSSIBLE}
