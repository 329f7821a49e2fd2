"""A room built a little off, or many at once: the same formulas for decisions and numbers that differ.

``shifted`` moves decisions, numbers of the file and people by given amounts: single ones, with the
decisions still open, for the solver; or arrays, one entry a case, for a design that is known. Where
a formula cannot be had for many cases at once, it is had for one after another: the same numbers,
only later.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from optimiser.design import Held, Space, layout_of
from optimiser.errors import InternalError, UsageError
from optimiser.explain.together import Progress, silent
from optimiser.forms import Form
from optimiser.linear import Linear, Sampled, constant, variable
from optimiser.problem.items import chosen
from optimiser.problem.model import Problem
from optimiser.problem.parts import part, parts, with_part

Offsets = Mapping[str, "float | np.ndarray"]
"""How far off: by a decision's name, a path in the file, or ``eye.1`` and ``head.1`` for the people in row 1."""

CHECKED = 3
"""Cases that are had a second time one by one, to hold the many at once against."""

AGREE = 1e-7
"""Difference between both ways (SI, or as a share) that the last bits of sums explain."""

Build = Callable[[Problem, Space], Sequence[Form]]


def eye(row: int) -> str:
    """Name of the offset of a row's eyes."""
    return f"eye.{row}"


def head(row: int) -> str:
    """Name of the offset of a row's heads above the eyes."""
    return f"head.{row}"


def shifted(
    problem: Problem, space: Space, offsets: Offsets, design: Mapping[str, float] | None = None
) -> tuple[Problem, Space]:
    """The problem and the space with everything moved by ``offsets``: of a design, or with decisions open.

    What follows from a decision or a number moves with it. With arrays, a design is due.
    """
    moved = problem
    numbers = {p.path for p in parts(problem) if not p.decided}
    for path in offsets:
        if path in numbers:
            at = part(moved, path)
            moved = with_part(moved, at, at.value + offsets[path])  # type: ignore[operator]
    if design is not None:
        moved = chosen(moved, design)
    screen = next(s for s in moved.screens if s.type == space.layout.screen_type)
    single = replace(moved, screen=screen, other_screens=())

    def read(name: str) -> Linear:
        off = offsets.get(name, 0.0)
        if design is not None:
            return Sampled(design[name] + off)
        domain = space.domains[name]
        return constant(domain.value + off) if isinstance(domain, Held) else variable(name) + off

    layout = layout_of(single, space.rows, space.aspect, space.domains, read)
    rows = []
    for row in layout.rows:
        up, over = offsets.get(eye(row.number), 0.0), offsets.get(head(row.number), 0.0)
        rows.append(replace(row, eye=row.eye + up, head=row.head + up + over))
    return moved, replace(space, layout=replace(layout, rows=tuple(rows)))


class Cases:
    """Many cases of one design, each off by its own entry of ``offsets``. ``slow`` counts the formulas that
    had to be had case by case."""

    def __init__(
        self,
        problem: Problem,
        space: Space,
        design: Mapping[str, float],
        offsets: Mapping[str, np.ndarray],
        *,
        progress: Progress = silent,
    ) -> None:
        self.problem, self.space, self.design, self.offsets = problem, space, dict(design), dict(offsets)
        self.count = len(next(iter(offsets.values())))
        self.slow = 0
        self._progress = progress
        self._singles: dict[int, tuple[Problem, Space]] = {}
        try:
            self.many: tuple[Problem, Space] | None = shifted(problem, space, self.offsets, design)
        except (TypeError, ValueError):  # something of the geometry asks questions of single numbers
            self.many = None

    def values(self, build: Build) -> list[np.ndarray]:
        """The value in each case of the forms that ``build`` makes of a problem and a space."""
        with np.errstate(all="ignore"):
            found = self._at_once(build)
            if found is None:
                self.slow += 1
                return self._one_by_one(build)
            self._check(build, found)
        return found

    def single(self, at: int) -> tuple[Problem, Space]:
        """Problem and space of one case."""
        if at not in self._singles:
            off = {name: float(values[at]) for name, values in self.offsets.items()}
            try:
                self._singles[at] = shifted(self.problem, self.space, off, self.design)
            except ValueError as error:
                raise UsageError(f"so far off, the room makes no sense: {error}") from None
        return self._singles[at]

    def _at_once(self, build: Build) -> list[np.ndarray] | None:
        if self.many is None:
            return None
        try:
            values = [np.asarray(form.value({}), dtype=float) for form in build(*self.many)]
            return [np.broadcast_to(v, (self.count,)) for v in values]
        except (TypeError, ValueError):
            return None

    def _one_by_one(self, build: Build) -> list[np.ndarray]:
        rows = []
        for at in range(self.count):
            if at % 256 == 0:
                self._progress("case by case", at, self.count)
            rows.append(self._values_of(build, at))
        return list(np.array(rows, dtype=float).reshape(self.count, -1).T)

    def _values_of(self, build: Build, at: int) -> list[float]:
        try:
            return [float(form.value({})) for form in build(*self.single(at))]
        except ValueError as error:
            raise UsageError(f"so far off, the room makes no sense: {error}") from None

    def _check(self, build: Build, found: Sequence[np.ndarray]) -> None:
        for at in np.linspace(0, self.count - 1, CHECKED).astype(int):
            there, again = [v[at] for v in found], self._values_of(build, int(at))
            if len(there) != len(again) or not np.allclose(there, again, rtol=AGREE, atol=AGREE, equal_nan=True):
                raise InternalError("many cases at once and one by one do not agree; this is a fault of the program")
