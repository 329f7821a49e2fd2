"""The questions a sheet asks about an answer: what binds and what a step of it would gain; or why there is no answer, and
what would have to give."""

from __future__ import annotations

from optimiser.explain.concessions import concessions_of
from optimiser.explain.conflicts import conflicts_of
from optimiser.explain.freedom import freedom_of
from optimiser.explain.members import values_at
from optimiser.explain.possible import Oracle
from optimiser.explain.prices import Move, all_moves, prices_of
from optimiser.problem.model import Choice, Problem, Range
from optimiser.problem.parts import part
from optimiser.score import CLOSE
from optimiser.sheet.material import LOSS, Reasons
from optimiser.solve import Solution

MOST_CONFLICTS = 2
"""Conflicts that a sheet tells: more would hide what matters."""


def asked(solution: Solution, *, prices: bool = True, freedom: bool = False) -> Reasons:
    """Ask about a solution what its sheet will say; with ``freedom`` also how far the design may move,
    which takes longer than everything else; without ``prices`` not what a step of what binds would gain."""
    problem = solution.problem
    if solution.design is not None:
        moves = binding_moves(problem, solution) if prices else []
        return Reasons(
            prices=prices_of(problem, solution, moves=moves) if moves else None,
            freedom=freedom_of(problem, solution, losses=(LOSS,), others=0) if freedom else None,
        )
    if solution.status != "impossible":
        return Reasons()
    oracle = Oracle(problem, grid=solution.grid)
    conflicts = conflicts_of(oracle, most=MOST_CONFLICTS)
    return Reasons(conflicts=conflicts, concessions=concessions_of(oracle, problem))


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
    return any(abs(value - end) <= CLOSE["length"] for value in values_at(problem, member.path, solution.design))
