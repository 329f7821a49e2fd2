"""A room built a little off, or many at once: the same formulas for decisions and numbers that differ.

``shifted`` moves decisions, numbers of the file and people by given amounts: single ones, with the
decisions still open, for the solver; or arrays, one entry a case, for a design that is known. Where
a formula cannot be had for many cases at once, it is had for one after another: the same numbers,
only later.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optimiser.design import Held, Space, layout_of
from optimiser.errors import InternalError, UsageError
from optimiser.explain.together import together
from optimiser.forms import Form, looks_up
from optimiser.linear import Linear, Sampled, constant, variable
from optimiser.measures.layout import Bass, Layout
from optimiser.problem.items import chosen
from optimiser.problem.model import Fixed, Limit, Problem
from optimiser.problem.parts import parts, with_part, with_parts
from optimiser.problem.walls import FACES, PROFILES, carried
from optimiser.progress import Progress, silent
from optimiser.requirements import all_limits

Offsets = Mapping[str, "float | np.ndarray"]
"""How far off: by a decision's name, a path in the file, or ``eye.1`` and ``head.1`` for the people in row 1."""

CHECKED = 3
"""Cases that are had a second time one by one, to hold the many at once against."""

PORTION = 64
"""Cases that are had one by one in one go: what each of them needed is given up before the next portion, and how
far all have come is told."""

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
    moved = numbers_moved(problem, offsets)
    if design is None:
        layout = _laid_out(moved, space, _opened(space, offsets))
    else:
        before, moved = moved, chosen(moved, design)
        layout = _laid_out(moved, space, _decided(moved, space, offsets, design))
        if layout.bass is not None:
            layout = replace(layout, bass=_bass(before, space, offsets))
    rows = []
    for row in layout.rows:
        up, over = offsets.get(eye(row.number), 0.0), offsets.get(head(row.number), 0.0)
        # its bass table has the points that the design as drawn is scored by, though the row's middle is a number here
        begins = space.layout.rows[row.number - 1].across
        rows.append(replace(row, eye=row.eye + up, head=row.head + up + over, begins=begins))
    return moved, replace(space, layout=replace(layout, rows=tuple(rows)))


def numbers_moved(problem: Problem, offsets: Offsets) -> Problem:
    """The problem with its numbers moved, decisions and people apart. What reaches a wall that is moved goes with it."""
    known = {p.path: p for p in parts(problem) if not p.decided and p.path in offsets}
    there: dict[tuple, float | np.ndarray] = {}
    for path in known:
        if path in FACES:
            there |= _with_face(problem, path, known[path].value + offsets[path])  # type: ignore[operator]
    moved = with_parts(problem, there)
    for path, at in known.items():
        moved = with_part(moved, at, there.get(at.steps, at.value) + offsets[path])  # type: ignore[operator]
    return moved


def _with_face(problem: Problem, path: str, face: np.ndarray) -> dict[tuple, np.ndarray]:
    """Numbers that are elsewhere where a wall, or the ceiling, is. Points of a ceiling that a wall is moved past are at
    the wall."""
    there = carried(problem, path, face)
    key = PROFILES.get(path, "")
    for at, (place, _) in enumerate(getattr(problem.room, key) if key else ()):
        steps = ("room", key, at, 0)
        there[steps] = np.minimum(there.get(steps, place), face)
    return there


def _laid_out(problem: Problem, space: Space, read: Callable[[str], Linear]) -> Layout:
    """The geometry with what the space has settled."""
    screen = next(s for s in problem.screens if s.type == space.layout.screen_type)
    problem = replace(problem, screen=screen, other_screens=())
    if problem.bass is not None:
        arrangement = Fixed(space.settled["bass.arrangement"])
        problem = replace(problem, bass=replace(problem.bass, arrangement=arrangement))
    return layout_of(problem, space.rows, space.aspect, space.domains, read)


def _opened(space: Space, offsets: Offsets) -> Callable[[str], Linear]:
    def read(name: str) -> Linear:
        domain, off = space.domains[name], offsets.get(name, 0.0)
        return constant(domain.value + off) if isinstance(domain, Held) else variable(name) + off

    return read


def _decided(problem: Problem, space: Space, offsets: Offsets, design: Mapping[str, float]) -> Callable[[str], Linear]:
    """Reads a design's decisions. What a list of screens gives is no decision: ``problem`` has it, moved already.
    What the space leaves no choice in is told as it tells it, so that a front without a baffle wall has none here."""
    screen = next(s for s in problem.screens if s.type == space.layout.screen_type)
    listed = {"screen.width": screen.width, "screen.diagonal": screen.diagonal, "screen.bezel": screen.bezel}

    def read(name: str) -> Linear:
        given, domain, off = listed.get(name), space.domains.get(name), offsets.get(name, 0.0)
        if domain is None and isinstance(given, Fixed):
            return Sampled(given.value)
        if isinstance(domain, Held) and not np.ndim(off):
            return constant(domain.value + off)
        return Sampled(design[name] + off)

    return read


def _bass(problem: Problem, space: Space, offsets: Offsets) -> Bass | None:
    """The bass of a room as the scorer knows it: reckoned for all depths that the baffle wall may have and all
    heights that ears may be at, also where a design is known. TypeError where it is another in each case."""
    own = {name: off for name, off in offsets.items() if name == "baffle.depth" or name.endswith(".platform")}
    if any(np.ndim(off) for off in own.values()):
        raise TypeError("each case has a bass of its own")
    layout = _laid_out(problem, space, _opened(space, own))
    if any(isinstance(row.eye, Sampled) for row in layout.rows):
        # the heights of all ears are part of what a bass is reckoned for
        raise TypeError("each case has a bass of its own")
    return layout.bass


@dataclass(frozen=True)
class _Several:
    """What several builds make, one after another."""

    builds: tuple[Build, ...]

    def __call__(self, problem: Problem, space: Space) -> Sequence[Form]:
        return [form for build in self.builds for form in build(problem, space)]


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
        self._checked = {int(at): None for at in np.linspace(0, self.count - 1, CHECKED)}
        self._singles: dict[int, tuple[Problem, Space]] = {}
        self.many, self._bass = self._all(problem), True
        if self.many is None and problem.bass is not None:
            # the field of another room's bass is another one: only what is asked about bass must wait for it
            self.many, self._bass = self._all(replace(problem, bass=None)), False

    def _all(self, problem: Problem) -> tuple[Problem, Space] | None:
        """All cases at once; None where something of the geometry asks questions of single numbers."""
        try:
            return shifted(problem, self.space, self.offsets, self.design)
        except (TypeError, ValueError):
            return None

    def values(self, build: Build) -> list[np.ndarray]:
        """The value in each case of the forms that ``build`` makes of a problem and a space."""
        with np.errstate(all="ignore"):
            found = self._at_once(build)
            if found is None:
                self.slow += 1
                return self._one_by_one(build)
            self._check(build, found)
        return found

    def waiting(self, builds: Sequence[Build]) -> int:
        """How many of several builds make forms that have to be had case by case."""
        with np.errstate(all="ignore"):
            return sum(self._at_once(build) is None for build in builds)

    def values_of(self, builds: Sequence[Build]) -> list[list[np.ndarray]]:
        """The values of what each of several builds makes. Those that are had one by one are had together: a
        case is set up once for all of them."""
        with np.errstate(all="ignore"):
            found = [self._at_once(build) for build in builds]
            waiting = [build for build, values in zip(builds, found) if values is None]
            for build, values in zip(builds, found):
                if values is not None:
                    self._check(build, values)
            self.slow += len(waiting)
            late = iter(self._one_by_one(_Several(tuple(waiting))) if waiting else ())
            sizes = [len(build(self.problem, self.space)) for build in builds]
        return [[next(late) for _ in range(size)] if v is None else v for v, size in zip(found, sizes)]

    def limits(self) -> list[tuple[Limit, ...]]:
        """All limits of the problem in each case, the file's and the room's own; one entry, with arrays, for all of
        them where they can be had at once."""
        try:
            return [all_limits(numbers_moved(self.problem, self.offsets))]
        except (TypeError, ValueError):  # as for the values: one case after another
            each = [{name: float(values[at]) for name, values in self.offsets.items()} for at in range(self.count)]
            return [all_limits(numbers_moved(self.problem, one)) for one in each]

    def single(self, at: int) -> tuple[Problem, Space]:
        """Problem and space of one case. Those that are had again for every formula are kept, and no others:
        thousands of them fill the memory."""
        if at not in self._singles:
            found = _single(self.problem, self.space, self.design, self.offsets, at)
            if at not in self._checked:
                return found
            self._singles[at] = found
        return self._singles[at]

    def _at_once(self, build: Build) -> list[np.ndarray] | None:
        if self.many is None:
            return None
        if not self._bass and any(map(looks_up, build(self.problem, self.space))):
            return None
        try:
            values = [np.asarray(form.value({}), dtype=float) for form in build(*self.many)]
            return [np.broadcast_to(v, (self.count,)) for v in values]
        except (TypeError, ValueError):
            return None

    def _one_by_one(self, build: Build) -> list[np.ndarray]:
        tasks = []
        for start in range(0, self.count, PORTION):
            part_ = {name: values[start : start + PORTION] for name, values in self.offsets.items()}
            tasks.append((self.problem, self.space, self.design, part_, build))
        if len(tasks) == 1:
            return list(_portion(tasks[0]))
        return list(np.concatenate(together(_portion, tasks, "case by case", progress=self._progress), axis=1))

    def _check(self, build: Build, found: Sequence[np.ndarray]) -> None:
        for at in self._checked:
            there, again = [v[at] for v in found], _values_of(build, self.single(at))
            if len(there) != len(again) or not np.allclose(there, again, rtol=AGREE, atol=AGREE, equal_nan=True):
                raise InternalError("many cases at once and one by one do not agree; this is a fault of the program")


def senseless(error: ValueError) -> UsageError:
    """What is told of a room in which not everything can be as far off as the file says."""
    return UsageError(
        f"so far off, the room makes no sense: {error}; write smaller tolerances, and none for what is at a wall, which goes "
        "with it"
    )


def _single(
    problem: Problem, space: Space, design: Mapping[str, float], offsets: Mapping[str, np.ndarray], at: int
) -> tuple[Problem, Space]:
    """Problem and space of one of many cases."""
    try:
        return shifted(problem, space, {name: float(values[at]) for name, values in offsets.items()}, design)
    except ValueError as error:
        raise senseless(error) from None


def _values_of(build: Build, single: tuple[Problem, Space]) -> list[float]:
    """The values of forms in one case."""
    try:
        return [float(form.value({})) for form in build(*single)]
    except ValueError as error:
        raise senseless(error) from None


def _portion(task: tuple[Problem, Space, Mapping[str, float], Mapping[str, np.ndarray], Build]) -> np.ndarray:
    """The values of forms in some cases, one after another: (forms, cases)."""
    problem, space, design, offsets, build = task
    count = len(next(iter(offsets.values())))
    with np.errstate(all="ignore"):
        rows = [_values_of(build, _single(problem, space, design, offsets, at)) for at in range(count)]
    return np.array(rows, dtype=float).reshape(count, -1).T
