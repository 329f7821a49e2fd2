"""The questions a sheet asks about an answer: what binds and what a step of it would gain; or why there is no answer, and
what would have to give."""

from __future__ import annotations

from collections.abc import Sequence

from optimiser.explain import prices
from optimiser.explain.concessions import concessions_of
from optimiser.explain.conflicts import conflicts_of
from optimiser.explain.freedom import Begun, Freedom, begun_of, freedom_of
from optimiser.explain.members import governed, values_at
from optimiser.explain.possible import Oracle
from optimiser.explain.prices import Move, Prices, all_moves, prices_of
from optimiser.problem.model import Choice, Problem, Range
from optimiser.problem.parts import part
from optimiser.progress import Progress, silent
from optimiser.score import CLOSE
from optimiser.sheet.cells import of_nothing
from optimiser.sheet.material import LOSS, Reasons
from optimiser.solve import Solution
from optimiser.work import Beside

MOST_CONFLICTS = 2
"""Conflicts that a sheet tells: more would hide what matters."""


def begun_beside(solution: Solution) -> Beside:
    """What a solution's freedom begins from, made in a process beside this one until it is needed."""
    return Beside(_begun, solution)


def _begun(solution: Solution) -> Begun:
    return begun_of(solution.problem, solution, losses=(LOSS,))


def prepared(solution: Solution) -> list[Move]:
    """The moves whose prices a sheet tells, what these begin from being made now."""
    moves = binding_moves(solution.problem, solution)
    prices.prepared(solution.problem, solution, moves)
    return moves


def priced(solution: Solution, moves: Sequence[Move], progress: Progress = silent) -> Prices | None:
    """What these moves would gain; None where there are none."""
    return prices_of(solution.problem, solution, moves=moves, progress=progress) if moves else None


def freed(solution: Solution, begun: Beside, progress: Progress = silent) -> Freedom:
    """How far a best design may move, from where that begins: it takes longer than everything else."""
    progress("how far each can move")
    return freedom_of(solution.problem, solution, losses=(LOSS,), others=0, begun=begun.value(), progress=progress)


def denied(solution: Solution, progress: Progress = silent) -> Reasons:
    """Why a problem is impossible, and what would have to give; nothing of one of which that is not known."""
    if solution.status != "impossible":
        return Reasons()
    oracle = Oracle(solution.problem, grid=solution.grid)
    conflicts = conflicts_of(oracle, most=MOST_CONFLICTS, progress=progress)
    return Reasons(conflicts=conflicts, concessions=concessions_of(oracle, solution.problem, progress=progress))


def binding_moves(problem: Problem, solution: Solution) -> list[Move]:
    """A step outward for each of the file's demands that the best design comes up against."""
    return [
        move
        for move in all_moves(problem, {})
        if move.looser and move.member is not None and _binds(problem, solution, move)
    ]


def _binds(problem: Problem, solution: Solution, move: Move) -> bool:
    member = move.member
    assert member is not None
    if member.about_limit:
        return any(r.binds for r in solution.card.limits if r.index == member.index)
    given = part(problem, member.path).value
    if isinstance(given, Range):
        end = given.low if member.kind == "from" else given.high
    elif isinstance(given, Choice):
        least, most = min(given.values), max(given.values)
        if least < move.after < most or least == most:
            return False
        end = least if move.after < least else most
    else:
        return False
    names = governed(problem, member.path, solution.space.rows)
    if all(of_nothing(solution.space, solution.design, name) for name in names):
        return False
    return any(abs(value - end) <= CLOSE["length"] for value in values_at(problem, member.path, solution.design))
