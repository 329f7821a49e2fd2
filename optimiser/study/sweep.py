"""Sweeps: the best design again at each value of one input, or at each pair of values of two.

A point starts from the answer at a neighbour. Which neighbour is settled beforehand, by halving the
range again and again, so that the answers are the same whoever works on them, and in which order.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from math import prod
from typing import Any

from optimiser import __version__
from optimiser.engine import EFFORT
from optimiser.errors import UsageError
from optimiser.study.asking import Asked
from optimiser.study.inputs import Input, Value, read_input
from optimiser.study.pins import check_pins
from optimiser.study.records import Record
from optimiser.work import Task

MOST_INPUTS = 2
MOST_POINTS = 200_000


@dataclass
class Sweep:
    """A sweep as asked: a problem file's text and name, the inputs, and what holds at all points."""

    text: str
    name: str
    inputs: tuple[Input, ...]
    fixed: tuple[tuple[str, str], ...] = ()
    grid: float | None = None
    effort: float = EFFORT
    _answers: dict[int, Record | None] = field(default_factory=dict, repr=False)

    @property
    def header(self) -> dict[str, Any]:
        """What the study's file begins with."""
        return {
            "study": "sweep",
            "version": __version__,
            "problem": self.text,
            "name": self.name,
            "over": [
                {"path": i.path, "kind": i.kind, "unit": i.unit, "texts": list(i.texts), "values": list(i.outward)}
                for i in self.inputs
            ],
            "fixed": dict(self.fixed),
            "grid": self.grid,
            "effort": self.effort,
        }

    @property
    def shape(self) -> tuple[int, ...]:
        """How many values each input takes."""
        return tuple(len(i.texts) for i in self.inputs)

    @property
    def count(self) -> int:
        """How many points there are."""
        return prod(self.shape)

    def place(self, index: int) -> tuple[int, ...]:
        """Which value of each input a point has."""
        found = []
        for size in reversed(self.shape):
            index, at = divmod(index, size)
            found.append(at)
        return tuple(reversed(found))

    def index(self, place: Sequence[int]) -> int:
        """The number of a point; the last input runs fastest."""
        index = 0
        for at, size in zip(place, self.shape, strict=True):
            index = index * size + at
        return index

    def head(self, index: int) -> Record:
        """What a point's record begins with."""
        place = self.place(index)
        return {"index": index, "values": [i.outward[at] for i, at in zip(self.inputs, place, strict=True)]}

    def note(self, record: Record) -> None:
        """Keep what later points start from."""
        design = record.get("design")
        self._answers[record["index"]] = {"design": design} if design else None

    def tasks(self) -> Iterator[Task | None]:
        """Points in an order in which each comes after its neighbour."""
        trees = [halvings(size) for size in self.shape]
        order = sorted(product(*map(range, self.shape)), key=lambda place: _depth(trees, place))
        for place in order:
            index = self.index(place)
            if index in self._answers:
                continue
            parent = _parent(trees, place)
            while parent is not None and self.index(parent) not in self._answers:
                yield None
            yield index, self.asked(place, self._nearest(trees, parent))

    def _nearest(self, trees: Sequence[Tree], place: tuple[int, ...] | None) -> Record | None:
        """The answer at a point, or at the nearest of those before it that have a design."""
        while place is not None:
            found = self._answers[self.index(place)]
            if found is not None:
                return found
            place = _parent(trees, place)
        return None

    def asked(self, place: Sequence[int], start: Record | None = None) -> Asked:
        """The problem at a point."""
        changes = tuple((i.path, i.texts[at]) for i, at in zip(self.inputs, place, strict=True))
        return Asked(self.text, self.name, changes, self.fixed, self.grid, self.effort, start)


def sweep_of(
    text: str,
    name: str,
    over: Mapping[str, Value | Sequence[Value]],
    *,
    fixed: Mapping[str, str] | None = None,
    grid: float | None = None,
    effort: float = EFFORT,
) -> Sweep:
    """A sweep of a problem file's text over one or two inputs. Raises UsageError."""
    if not isinstance(over, Mapping):
        raise UsageError('a sweep goes over a mapping, as {"room.length": "16 ft..24 ft step 6 in"}')
    if not 1 <= len(over) <= MOST_INPUTS:
        raise UsageError("a sweep goes over one input or two")
    inputs = tuple(read_input(text, name, path, values) for path, values in over.items())
    if len({i.path for i in inputs}) < len(inputs):
        raise UsageError(f"{inputs[0].path} is given twice")
    check_pins(text, name, fixed or {}, [i.path for i in inputs], "the sweep")
    found = Sweep(text, name, inputs, tuple((fixed or {}).items()), grid, effort)
    if found.count > MOST_POINTS:
        raise UsageError(f"that makes {found.count:,} points; take larger steps")
    return found


def sweep_from(header: Mapping[str, Any]) -> Sweep:
    """The sweep that a study's file holds."""
    over = {i["path"]: i["texts"] for i in header["over"]}
    return sweep_of(
        header["problem"], header["name"], over, fixed=header["fixed"], grid=header["grid"], effort=header["effort"]
    )


# --- neighbours ---------------------------------------------------------------------------------

Tree = tuple[tuple[int, int | None], ...]
"""Of each value of an input: how many halvings lead to it, and the value that it starts from."""


def halvings(size: int) -> Tree:
    """The middle first, then the middles of both halves, and so on; each next to one that went before."""
    found: list[tuple[int, int | None]] = [(0, None)] * size
    halves: list[tuple[int, int, int, int | None]] = [(0, size, 0, None)]
    while halves:
        low, high, depth, before = halves.pop()
        if low >= high:
            continue
        middle = (low + high) // 2
        # the nearer of the two ends that are known already: both lie just outside low and high
        ends = [end for end in (low - 1, high) if 0 <= end < size]
        found[middle] = (depth, min(ends, key=lambda end: (abs(end - middle), end)) if before is not None else None)
        halves += [(low, middle, depth + 1, middle), (middle + 1, high, depth + 1, middle)]
    return tuple(found)


def _depth(trees: Sequence[Tree], place: Sequence[int]) -> tuple[int, tuple[int, ...]]:
    return sum(tree[at][0] for tree, at in zip(trees, place, strict=True)), tuple(place)


def _parent(trees: Sequence[Tree], place: Sequence[int]) -> tuple[int, ...] | None:
    """The point that one starts from: a halving less in the input that has had most; None for the first."""
    depths = [tree[at][0] for tree, at in zip(trees, place, strict=True)]
    axis = max(range(len(place)), key=lambda k: (depths[k], k))
    before = trees[axis][place[axis]][1]
    if before is None:
        return None
    return (*place[:axis], before, *place[axis + 1 :])
