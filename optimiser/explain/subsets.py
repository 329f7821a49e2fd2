"""Which members of a set cannot all hold: pure algorithms on a test ``holds(subset) -> bool``.

The test must be monotone: what holds together holds with any member left out. A *conflict* is a set
that does not hold while each of its proper subsets does; a *correction* is a smallest set to leave
out so that the rest holds. Members may be anything hashable; results keep the members' order.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from typing import TypeVar

T = TypeVar("T", bound=Hashable)
Holds = Callable[[frozenset[T]], bool]


def deletion_filter(members: Sequence[T], holds: Holds[T]) -> tuple[T, ...]:
    """One conflict among members that do not hold together: leave each out in turn, for good where
    the rest still fails. (Chinneck and Dravnieks, ORSA J. Computing 3(2):157-168, 1991; from memory.)"""
    kept = list(members)
    for member in members:
        rest = [m for m in kept if m != member]
        if not holds(frozenset(rest)):
            kept = rest
    return tuple(kept)


def quickxplain(members: Sequence[T], holds: Holds[T]) -> tuple[T, ...]:
    """The preferred conflict, members being in order of preference: whoever comes first would rather
    be in it. Divides and conquers. (Junker, AAAI-04, "Preferred explanations and relaxations for
    over-constrained problems".) Empty where not even the empty set holds."""
    if not holds(frozenset()):
        return ()

    def within(background: frozenset[T], added: bool, part: Sequence[T]) -> list[T]:
        if added and not holds(background):
            return []
        if len(part) == 1:
            return list(part)
        half = len(part) // 2
        first, second = part[:half], part[half:]
        late = within(background | frozenset(first), True, second)
        early = within(background | frozenset(late), bool(late), first)
        return early + late

    found = set(within(frozenset(), False, members))
    return tuple(m for m in members if m in found)


def grown(
    start: frozenset[T],
    members: Sequence[T],
    holds: Holds[T],
    extent: Callable[[frozenset[T]], frozenset[T]] | None = None,
) -> frozenset[T]:
    """The start, which holds, with as many members as can join it one after another.

    ``extent`` may tell, for a set that holds, a larger one that is seen to hold with it (as all that
    one witness fulfils).
    """
    kept = extent(start) if extent else start
    for member in members:
        if member not in kept and holds(kept | {member}):
            kept = kept | {member}
            if extent:
                kept = extent(kept)
    return kept


def conflicts(
    members: Sequence[T],
    holds: Holds[T],
    *,
    weights: Mapping[T, float] | None = None,
    extent: Callable[[frozenset[T]], frozenset[T]] | None = None,
) -> Iterator[tuple[T, ...]]:
    """All conflicts, the smallest first (with ``weights``: the lightest); among equals, those whose
    members come early.

    Every conflict meets every correction. So the lightest set that meets all corrections known so
    far, and has none of the conflicts known so far inside it, is the next conflict if it does not
    hold; if it holds, growing it gives a new correction. When there is no such set, all are found.
    """
    if not holds(frozenset()):
        yield ()
        return
    weight = {m: 1.0 if weights is None else float(weights[m]) for m in members}
    order = _with_order(members, weight)
    corrections: list[frozenset[T]] = []
    found: list[frozenset[T]] = []
    while (chosen := lightest_meeting(members, order, corrections, found)) is not None:
        if holds(chosen):
            corrections.append(frozenset(members) - grown(chosen, members, holds, extent))
            if not corrections[-1]:
                return  # everything holds together
        else:
            found.append(chosen)
            yield tuple(m for m in members if m in chosen)


def corrections(members: Sequence[T], all_conflicts: Iterable[Iterable[T]]) -> Iterator[tuple[T, ...]]:
    """All corrections, the smallest first, from all conflicts: the smallest sets that meet each one.
    (The two are each other's minimal hitting sets: Reiter, Artificial Intelligence 32:57-95, 1987;
    from memory.)"""
    to_meet = [frozenset(c) for c in all_conflicts]
    order = _with_order(members, dict.fromkeys(members, 1.0))
    found: list[frozenset[T]] = []
    while (chosen := lightest_meeting(members, order, to_meet, found)) is not None:
        found.append(chosen)
        yield tuple(m for m in members if m in chosen)


def _with_order(members: Sequence[T], weight: Mapping[T, float]) -> list[float]:
    """Weights with a share for late comers: all of them together weigh less than a twentieth of the
    lightest member, so that they only decide between equals."""
    least = min(weight.values(), default=1.0)
    count = max(1, len(members))
    return [weight[m] + 0.1 * least * at / count**2 for at, m in enumerate(members)]


def lightest_meeting(
    members: Sequence[T], weights: Sequence[float], to_meet: Sequence[frozenset[T]], to_break: Sequence[frozenset[T]]
) -> frozenset[T] | None:
    """The lightest subset that has a member of each set ``to_meet`` and lacks one of each ``to_break``;
    None where there is none."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    if any(not s for s in to_meet) or any(not s for s in to_break):
        return None
    place = {m: i for i, m in enumerate(members)}
    rows, low, high = [], [], []
    for subset, least, most in [
        *((s, 1.0, np.inf) for s in to_meet),
        *((s, -np.inf, len(s) - 1.0) for s in to_break),
    ]:
        row = np.zeros(len(members))
        row[[place[m] for m in subset]] = 1.0
        rows.append(row)
        low.append(least)
        high.append(most)
    if not rows:
        return frozenset()
    answer = milp(
        np.asarray(weights),
        constraints=LinearConstraint(np.array(rows), low, high),
        bounds=Bounds(0, 1),
        integrality=np.ones(len(members)),
        options={"mip_rel_gap": 0.0},
    )
    if answer.status == 2:  # infeasible
        return None
    if answer.x is None:
        raise ArithmeticError(f"no smallest set was found: {answer.message}")
    return frozenset(m for m, x in zip(members, answer.x, strict=True) if x > 0.5)
