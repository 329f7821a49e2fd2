"""The solver's model class without what costs time and is not used here."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ortools.sat.python import cp_model


@lru_cache(maxsize=1)
def _lean() -> type[cp_model.CpModel]:
    from ortools.sat.python import cp_model

    class Lean(cp_model.CpModel):
        """A model that does not give itself the old names of its methods, some seventy of them: with
        them, to make a model takes as long as to solve a small one."""

        def _add_pre_pep8_methods(self) -> None:
            pass

    return Lean


def new_model() -> cp_model.CpModel:
    """An empty model."""
    return _lean()()


def copy_of(model: cp_model.CpModel) -> cp_model.CpModel:
    """A model like another, to be added to on its own; expressions over the other's variables fit it."""
    copied = _lean()()
    copied.proto.copy_from(model.proto)
    copied.rebuild_constant_map()
    return copied
