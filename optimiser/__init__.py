"""Constraint-solver design optimiser for private screening rooms."""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from optimiser.api import batch, front, load, read, solve, sweep

__version__ = "0.1.0"
__all__ = ["batch", "front", "load", "read", "solve", "sweep"]


class _Package(ModuleType):
    """The package: its functions are loaded when they are asked for, so that importing it is quick."""

    def __getattr__(self, name: str) -> Any:
        if name in __all__:
            return getattr(import_module("optimiser.api"), name)
        raise AttributeError(f"module 'optimiser' has no attribute '{name}'")

    @property
    def solve(self) -> Any:
        """The function, not the module of that name, which ``from optimiser.solve import ...`` still finds."""
        return import_module("optimiser.api").solve

    @solve.setter
    def solve(self, module: ModuleType) -> None:
        """What the import system sets for the module: not kept, or the function would depend on what was
        imported before."""

    def __dir__(self) -> list[str]:
        return sorted({*vars(self), *__all__})


sys.modules[__name__].__class__ = _Package
