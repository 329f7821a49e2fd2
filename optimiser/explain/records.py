"""Explanations as plain records for JSON: SI units, angles in degrees."""

from __future__ import annotations

from typing import Any

from optimiser.explain.comparison import Comparison
from optimiser.explain.concessions import Aside, Concession, Loosening
from optimiser.explain.conflicts import Conflict, Shortfall
from optimiser.explain.departures import departures
from optimiser.explain.differences import DecisionChange, Difference
from optimiser.explain.freedom import Freedom, Scope
from optimiser.explain.members import Member
from optimiser.explain.prices import Price, Prices
from optimiser.explain.pulls import Pull
from optimiser.explain.reasons import Explanation
from optimiser.explain.sayings import aside_words, conflict_words, loosening_words, member_words, subject_words
from optimiser.explain.telling import told_whole
from optimiser.explain.wishes import WhyNot
from optimiser.problem.decisions import written_value
from optimiser.problem.model import Problem
from optimiser.record import UNITS, asked_by, decisions_record, design_record, outward
from optimiser.requirements import all_limits

UNIT_OF = {**UNITS, "aspect": "1", "number": "1", "flux": "lm", "volume": "m3", "temperature": "K", "word": "1"}


def explanation_record(found: Explanation) -> dict[str, Any]:
    """All of an explanation."""
    problem = found.problem
    record: dict[str, Any] = {"format": 1, "title": problem.title, "grid": found.grid, "possible": found.possible}
    if found.possible:
        assert found.best is not None and found.prices is not None
        return record | {
            "score": found.best.score,
            "bound": found.best.bound,
            "prices": prices_record(problem, found.prices),
            "not_asked": list(found.prices.unasked),
            "pulls": [pull_record(p) for p in found.pulls],
        }
    assert found.conflicts is not None and found.concessions is not None
    concessions = found.concessions
    joint = concessions.joint
    return record | {
        "conflicts": [_conflict(problem, c) for c in found.conflicts.found],
        "complete": found.conflicts.complete,
        "undecided": found.conflicts.undecided or concessions.undecided,
        "concessions": {
            "hopeless": concessions.hopeless,
            "alone": [_concession(problem, c) for c in concessions.alone],
            "aside": None if concessions.aside is None else _aside(problem, concessions.aside),
            "joint": None if joint is None else _concession(problem, joint) | {"over": concessions.over},
        },
        "nearest": None
        if joint is None or joint.solution.space is None or joint.solution.design is None
        else {"is_an_answer": False} | design_record(problem, joint.solution.space, joint.solution.design, joint.card),
    }


def member_record(problem: Problem, member: Member) -> dict[str, Any]:
    """One demand."""
    words = {"words": member_words(problem, member), "firm": member.firm, "from": "room" if member.own else "file"}
    if not member.about_limit:
        return {"path": member.path, "end": member.kind, **words}
    limit = all_limits(problem)[member.index]
    if not member.own:
        words["from"] = asked_by(limit)
    return {
        "measure": limit.measure,
        "row": limit.row,
        "options": dict(limit.options),
        "end": member.end,
        "line": limit.where.line if limit.where else None,
        **words,
    }


def _conflict(problem: Problem, conflict: Conflict) -> dict[str, Any]:
    return {
        "words": conflict_words(problem, conflict),
        "members": [member_record(problem, s.member) | _shortfall(s) for s in conflict.shortfalls],
        "needs": [{"path": n.path, "now": n.now, "holds_at": n.needed, "fails_at": n.fails} for n in conflict.needs],
    }


def _shortfall(short: Shortfall) -> dict[str, Any]:
    kind = short.quantity
    return {
        "unit": UNIT_OF[kind],
        "wanted": outward(kind, short.wanted),
        "reached": outward(kind, short.reached),
        "short": outward(kind, short.short),
        "works": [outward(kind, v) for v in short.works],
        "perhaps": [outward(kind, v) for v in short.perhaps],
        "endless": short.endless,
        "known": outward(kind, short.known),
    }


def _concession(problem: Problem, concession: Concession) -> dict[str, Any]:
    return {
        "loosenings": [_loosening(problem, one) for one in concession.loosenings],
        "total": concession.total,
        "least": concession.least,
        "score": concession.solution.score,
        "bound": concession.solution.bound,
    }


def _aside(problem: Problem, aside: Aside) -> dict[str, Any]:
    return {
        "says": aside_words(problem, aside),
        "by": aside.by,
        "least": aside.least,
        "score": aside.solution.score,
        "bound": aside.solution.bound,
    }


def _loosening(problem: Problem, one: Loosening) -> dict[str, Any]:
    kind = one.quantity
    return member_record(problem, one.member) | {
        "says": loosening_words(problem, one),
        "unit": UNIT_OF[kind],
        "wanted": outward(kind, one.wanted),
        "given": outward(kind, one.given),
        "by": outward(kind, one.by),
        "admitted": [outward(kind, v) for v in one.admitted],
    }


def prices_record(problem: Problem, prices: Prices) -> list[dict[str, Any]]:
    """Every price, the dearest subject first; then those that are open, and last those without effect."""
    return [
        {
            "words": subject_words(problem, group[0]),
            **(member_record(problem, group[0].move.member) if group[0].move.member else {"path": group[0].move.path}),
            "matters": any(p.matters for p in group),
            "moves": [_price(problem, p) for p in group],
        }
        for group in (*prices.found, *prices.open, *prices.still)
    ]


def unmoved_record(problem: Problem, prices: Prices) -> list[dict[str, Any]]:
    """Every move that was not made, as the file would make no sense, and why."""
    return [
        {
            "words": subject_words(problem, move),
            "path": move.path,
            "unit": UNIT_OF[move.quantity],
            "before": outward(move.quantity, move.before),
            "after": outward(move.quantity, move.after),
            "error": why,
        }
        for move, why in prices.senseless
    ]


def _price(problem: Problem, price: Price) -> dict[str, Any]:
    kind = price.move.quantity
    return {
        "unit": UNIT_OF[kind],
        "before": outward(kind, price.move.before),
        "after": outward(kind, price.move.after),
        "gain": price.gain,
        "gain_at_least": price.least,
        "gain_at_most": price.most,
        "image_gain": price.image,
        "impossible": price.gain is None and not price.unknown,
        "settled": not price.unknown,
        "proven": price.proven,
        "design": None if price.design is None else decisions_record(problem, price.design),
    }


def pull_record(pull: Pull) -> dict[str, Any]:
    """How hard one goal pulls."""
    return {
        "measure": pull.goal.measure,
        "row": pull.goal.row,
        "options": dict(pull.goal.options),
        "weight": pull.goal.weight,
        "score": pull.score,
        "costs_others": pull.costs,
        "at_most": pull.most,
        "would_fall_to": None if pull.drops is None else pull.score - pull.drops,
    }


def freedom_record(problem: Problem, freedom: Freedom) -> dict[str, Any]:
    """How far everything can move, and designs that do as well."""
    return {
        "format": 1,
        "title": problem.title,
        "score": freedom.best.score,
        "bound": freedom.best.bound,
        "scopes": [_scopes(problem, group) for group in freedom.scopes],
        "others": [
            {
                "within": freedom.loss,
                "score": o.score,
                "distance": o.distance,
                "farthest": o.farthest,
                "design": decisions_record(problem, o.design),
            }
            for o in freedom.others
        ],
    }


def _scopes(problem: Problem, group: tuple[Scope, ...]) -> dict[str, Any]:
    subject = group[0].subject
    kind = subject.quantity

    def told(value: float | None) -> Any:
        if kind == "word" and value is not None:
            return written_value(problem, subject.name, value)
        return outward(kind, value)

    return {
        "decision": None if subject.measure else subject.name,
        "measure": subject.measure or None,
        "row": subject.row,
        "options": dict(subject.options),
        "unit": UNIT_OF[kind],
        "at_best": told(group[0].at_best),
        "within": [
            {
                "points": scope.loss,
                "from": told(scope.low),
                "to": told(scope.high),
                "proven_from": told(scope.low_bound),
                "proven_to": told(scope.high_bound),
                "choices": [told(v) for v in scope.choices],
                "settled": scope.settled,
            }
            for scope in group
        ],
    }


# --- comparisons and wishes ---------------------------------------------------------------------


def difference_record(problem: Problem, told: Difference) -> dict[str, Any]:
    """From one design to another."""
    return {
        "words": told_whole(problem, told),
        "points": told.points,
        "decisions": [_decision_change(problem, change) for change in told.decisions],
        "goals": [
            {
                "measure": g.goal.measure,
                "row": g.goal.row,
                "options": dict(g.goal.options),
                "points": g.points,
                "before": None if g.before is None else g.before.score,
                "after": None if g.after is None else g.after.score,
            }
            for g in told.goals
        ],
    }


def _decision_change(problem: Problem, change: DecisionChange) -> dict[str, Any]:
    before, after = (
        None if v is None else decisions_record(problem, {change.name: v})[change.name]
        for v in (change.before, change.after)
    )
    return {"decision": change.name, "before": before, "after": after}


def comparison_record(found: Comparison) -> dict[str, Any]:
    """Designs side by side, each with its difference from the first."""
    problem = found.problem
    return {
        "format": 1,
        "title": problem.title,
        "designs": [
            {
                "name": e.name,
                "score": e.card.score,
                "bound": e.proven,
                "given": decisions_record(problem, e.given),
                "unkept": sorted({path for path, _ in departures(problem, e.design)}),
            }
            | design_record(problem, e.space, e.design, e.card)
            for e in found.entries
        ],
        "differences": [
            {"from": found.entries[0].name, "to": e.name} | difference_record(problem, told)
            for e, told in zip(found.entries[1:], found.differences)
        ],
    }


def why_not_record(found: WhyNot) -> dict[str, Any]:
    """The answer to a wish."""
    problem, wished = found.problem, found.wished
    record: dict[str, Any] = {
        "format": 1,
        "title": problem.title,
        "possible": wished.design is not None,
        "status": wished.status,
        "against": [member_record(found.best.problem, m) for m in found.against],
        "best_score": found.best.score,
        "score": wished.score,
        "bound": wished.bound,
    }
    if found.conflicts is not None:
        return record | {
            "impossible_without": found.hopeless,
            "set_aside": [member_record(problem, m) for m in found.set_aside],
            "conflicts": [_conflict(problem, c) for c in found.conflicts.found],
            "complete": found.conflicts.complete,
            "undecided": found.conflicts.undecided,
        }
    assert found.difference is not None and wished.space is not None
    assert wished.design is not None and wished.card is not None
    stops = [
        member_record(problem, p.move.member) | {"moves": [_price(problem, p)]} for p in found.stops if p.move.member
    ]
    return (
        record
        | {"difference": difference_record(problem, found.difference), "stops": stops, "settled": found.settled}
        | design_record(problem, wished.space, wished.design, wished.card)
    )
