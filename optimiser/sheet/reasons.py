"""Why the answer is as it is, or why there is none, in words: the reasons that were asked for, as sections of a sheet."""

from __future__ import annotations

from collections.abc import Sequence

from optimiser.explain.concessions import Aside, Concession, Concessions
from optimiser.explain.conflicts import Conflicts
from optimiser.explain.prices import Price
from optimiser.explain.sayings import (
    aside_words,
    between,
    chance_words,
    common_words,
    conflict_words,
    gain_words,
    loosening_words,
    member_words,
    move_words,
    outcome_words,
    place_words,
    shortfall_words,
    subject_value,
    way_out_words,
)
from optimiser.problem.model import Problem
from optimiser.quantity import show
from optimiser.sheet import prose
from optimiser.sheet.document import Block, Listing, Paragraph, Section, Table
from optimiser.sheet.material import LOSS, Reasons
from optimiser.solve import PROMISE
from optimiser.words import decision_words


def prices_section(problem: Problem, reasons: Reasons) -> list[Section]:
    """What binds, and what it would cost to give."""
    if reasons.prices is None:
        return []
    prices = reasons.prices
    told = [p for group in (*prices.found, *prices.open) for p in group if p.move.looser]
    rows = [_price_row(problem, price) for price in told if _says(price)]
    still = [p for group in prices.still for p in group if p.move.looser]
    blocks: list[Block] = [Paragraph(prose.PRICES)]
    if rows:
        head = ("what binds", "let out to", "the score gains", "the image gains")
        blocks.append(Table("What binds, and what a step would bring", head, tuple(rows)))
        if chance := chance_words(problem, filter(_says, told)):
            blocks.append(Paragraph(chance))
    if still:
        words = dict.fromkeys(member_words(problem, price.move.member) for price in still)  # a list has two ends
        blocks.append(Paragraph(f"{prose.NO_GAIN.format(too=' too' if rows else '')} {'; '.join(words)}."))
    if unsettled := dict.fromkeys(member_words(problem, p.move.member) for p in told if not _says(p)):
        blocks.append(Paragraph(f"{prose.NOT_SETTLED} {'; '.join(unsettled)}."))
    return [Section("What binds, and what it would cost to give", tuple(blocks), "prices")]


def _says(price: Price) -> bool:
    """Whether a price says something of what there is to gain, or that there is no design."""
    return price.proven or (price.least is not None and price.least >= PROMISE)


def _price_row(problem: Problem, price: Price) -> tuple[str, ...]:
    move = price.move
    choice = move.member is not None and move.member.kind == "value"
    given = move_words(problem, move) if choice else show(move.quantity, move.after, problem.show)
    gain = gain_words(price) if price.gain is None or not price.proven else f"{price.gain:+.1f} points"
    image = "" if price.image is None or not price.proven else show("length", price.image, problem.show)
    return member_words(problem, move.member), given, gain, image


def freedom_section(problem: Problem, reasons: Reasons) -> list[Section]:
    """How far each decision may move while the score stays near the best."""
    if reasons.freedom is None:
        return []
    rows = []
    for (scope,) in reasons.freedom.scopes:
        if scope.subject.measure or not scope.settled:
            continue
        subject = scope.subject
        ends = [subject_value(problem, subject, value) for value in (scope.choices or (scope.low, scope.high))]
        span = f" {between(scope)} ".join(ends)
        best = "" if scope.at_best is None else subject_value(problem, subject, scope.at_best)
        rows.append((decision_words(scope.subject.name), best, span if len(set(ends)) > 1 else "only so"))
    head = ("decision", "at best", "may be")
    table = Table(f"Freedom, within {LOSS:g} point of the best score", head, tuple(rows), wide=((0, 1.0), (2, 1.0)))
    return [Section("How far it may move", (Paragraph(prose.FREEDOM), table), "freedom")]


def conflict_sections(problem: Problem, reasons: Reasons) -> list[Section]:
    """Why there is no design, and what would make one possible."""
    sections = []
    if reasons.conflicts is not None:
        further = reasons.concessions is not None
        blocks = tuple(_conflicts(problem, reasons.conflicts, further))
        sections.append(Section("Why there is no design", blocks, "conflict"))
    if reasons.concessions is not None:
        blocks = tuple(_concessions(problem, reasons.concessions))
        sections.append(Section(prose.POSSIBLE, blocks, "concessions"))
    return sections


def _conflicts(problem: Problem, conflicts: Conflicts, further: bool) -> list[Block]:
    """``further``: whether the sheet goes on to what would be enough."""
    said_first = [prose.CONFLICTS, prose.SHORTFALLS, *([prose.ENOUGH.format(prose.POSSIBLE)] if further else [])]
    blocks: list[Block] = [Paragraph(" ".join(said_first))]
    if not conflicts.complete:
        blocks.append(Paragraph(prose.MAYBE_MORE if conflicts.undecided else prose.MORE_CONFLICTS))
    for conflict in conflicts.found:
        blocks.append(Paragraph(conflict_words(problem, conflict)))
        said = []
        for short in conflict.shortfalls:
            place = place_words(problem, short.member)
            said.append(shortfall_words(problem, short) + (f" ({place})" if place else ""))
        blocks.append(Listing(tuple(said)))
    more = common_words(problem, conflicts.found), way_out_words(problem, conflicts.found)
    return [*blocks, *map(Paragraph, filter(None, more))]


def _concessions(problem: Problem, concessions: Concessions) -> list[Block]:
    said = [f"this alone: {_loosened(problem, c.loosenings)}{_outcome(c)}" for c in concessions.alone]
    if concessions.aside is not None:
        said.append(f"this alone: {aside_words(problem, concessions.aside)}{_outcome(concessions.aside)}")
    if concessions.joint is not None:
        said.append(
            f"the least in all: {_loosened(problem, concessions.joint.loosenings)}{_outcome(concessions.joint)}"
        )
    blocks: list[Block] = [Paragraph(prose.HOPELESS)] if concessions.hopeless else []
    if said:
        blocks += [Paragraph(prose.CONCESSIONS), Listing(tuple(said))]
    elif not concessions.hopeless:
        blocks.append(Paragraph(prose.NONE_KNOWN if concessions.undecided else prose.NO_CONCESSION))
    if concessions.undecided:
        blocks.append(Paragraph(prose.UNDECIDED))
    return blocks


def _loosened(problem: Problem, loosenings: Sequence) -> str:
    return "; ".join(loosening_words(problem, one) for one in loosenings)


def _outcome(conceded: Concession | Aside) -> str:
    said = outcome_words(conceded)
    return f". {said}" if said else "."
