"""Charts of the sheet: each goal's value against its band."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, pairwise

from optimiser.quantity import show
from optimiser.score import GoalResult, Scorecard
from optimiser.sheet import lettering
from optimiser.sheet.cells import from_row
from optimiser.sheet.labels import spread
from optimiser.sheet.scene import Scene, Text
from optimiser.words import FULL, measure_words, row_words, score_words

PAPER = 1000.0
"""Denominator of scenes that are charts: one metre of theirs is a millimetre of paper."""

ROW = 9.4
"""Millimetres that one goal's strip is tall, with its lettering."""

NAME = 62.0
SHARE = 30.0
"""Millimetres for a goal's name at the left, and for its score and weight at the right."""

STRIP = 2.6


def goal_label(result: GoalResult) -> str:
    """A goal's name with the rows that it is about."""
    name = measure_words(result.goal.measure, result.goal.options)
    if result.rows == (None,):
        return name
    row = result.goal.row
    words = {"all": "each row", "worst": "worst row", "worst seat": "worst seat", "reference": f"row {result.rows[0]}"}
    return f"{name}, {words.get(row, f'row {row_words(row)}')}{from_row(result)}"


def score_bars(card: Scorecard, system: str, width: float) -> Scene:
    """For each goal its band, the fade beside it, and where the design's rows come to lie; then the
    score that follows, and the goal's share of the whole."""
    scene = Scene("scores", "Goals", PAPER)
    total = sum(g.goal.weight for g in card.goals) or 1.0
    largest = max((g.goal.weight for g in card.goals), default=1.0)
    for k, result in enumerate(card.goals):
        _goal(scene, result, system, -k * ROW, width, largest, total)
    heading = 0.75 * ROW
    scene.add(Text((width - SHARE + 3.0, heading), "score", "quiet"))
    scene.add(Text((width, heading), "share", "quiet", anchor="end"))
    said = "; ".join(f"{goal_label(g)}: {score_words(g.score)}" for g in card.goals)
    scene.description = f"Each goal's value against its band, with its score. {said}."
    return scene


def _goal(scene: Scene, result: GoalResult, system: str, v: float, width: float, largest: float, total: float) -> None:
    goal = result.goal
    left, right = NAME + 3.0, width - SHARE - 3.0
    name = lettering.shortened(goal_label(result), 1.8 * NAME, lettering.LEAST)
    lines = lettering.lines(name, NAME, lettering.LEAST)
    for j, line in enumerate(lines):
        scene.add(Text((0.0, v + 1.7 * (len(lines) - 1) - 3.4 * j), line))
    finite = [x for x in result.values if abs(x) < 1e9]
    low = goal.low if goal.low is not None else None
    high = goal.high if goal.high is not None else None
    inner = [x for x in (low, high) if x is not None]
    ends = [x - goal.fade for x in inner] + [x + goal.fade for x in inner] + finite
    least, most = min(ends), max(ends)
    pad = 0.04 * (most - least)
    least, most = least - pad, most + pad

    def at(value: float) -> float:
        return left + (right - left) * (value - least) / (most - least)

    a, b = (at(low) if low is not None else left), (at(high) if high is not None else right)
    half = 0.5 * STRIP
    scene.box("band", (a, b), (v - half, v + half))
    if low is not None:
        scene.area("fade", (at(low - goal.fade), v - half), (a, v - half), (a, v + half))
    if high is not None:
        scene.area("fade", (b, v - half), (at(high + goal.fade), v - half), (b, v + half))
    scene.line("axis", (left, v - half), (right, v - half))
    _values(scene, result, system, v, at, left, right)
    for bound, anchor in ((low, "end"), (high, "start")):
        if bound is not None:
            _bound(scene, show(result.quantity, bound, system), at(bound), v - half - 1.5, left, right, anchor)
    scene.add(Text((width - SHARE + 12.0, v), score_words(result.score), anchor="end", bold=True))
    bar = 9.0 * goal.weight / largest
    scene.box("share", (width - SHARE + 13.5, width - SHARE + 13.5 + bar), (v - 1.0, v + 1.0))
    scene.add(Text((width, v), f"{100 * goal.weight / total:.0f} %", "quiet", anchor="end"))


def _values(scene: Scene, result: GoalResult, system: str, v: float, at, left: float, right: float) -> None:
    """A pointer at each row's or seat's value, filled where it scores in full, and the values of _told() above them."""
    half = 0.5 * STRIP
    known = [k for k, x in enumerate(result.values) if abs(x) < 1e9]
    known.sort(key=lambda k: result.values[k])
    if len({show(result.quantity, result.values[k], system) for k in known}) == 1:
        known = known[:1]
    for k in known:
        u = at(result.values[k])
        role = "value" if result.scores[k] >= FULL else "miss"
        scene.area(role, (u, v - half), (u - 1.1, v + half + 0.5), (u + 1.1, v + half + 0.5))
    told = _told(result, known, system, right - left)
    widths = [_taken(text) for _, text in told]
    gaps = [0.5 * sum(pair) for pair in pairwise(widths)]
    centres = spread([at(result.values[k]) for k, _ in told], gaps)
    if centres:
        centres = _within(centres, gaps, left + 0.5 * widths[0], right - 0.5 * widths[-1])
    for (_, text), centre in zip(told, centres):
        scene.add(Text((centre, v + half + 1.8), text, anchor="middle"))


def _told(result: GoalResult, known: Sequence[int], system: str, room: float) -> list[tuple[int, str]]:
    """Which of the ``known`` values are written, in their order, with the row's number where there are several: of a
    row's seats the worst alone, and of more values than there is ``room`` for those that score least. The table has
    those of all rows."""
    worst = sorted(known, key=lambda k: (result.scores[k], abs(result.values[k] - result.values[result.worst])))
    first = {result.rows[k]: k for k in reversed(worst)}
    kept = [k for k in worst if not result.seats or first[result.rows[k]] == k]

    def text(k: int) -> str:
        number = f"{result.rows[k]}: " if result.rows[k] is not None and len(known) > 1 else ""
        return number + show(result.quantity, result.values[k], system)

    while len(kept) > 1 and sum(_taken(text(k)) for k in kept) > room:
        kept.pop()
    return [(k, text(k)) for k in known if k in kept]


def _taken(text: str) -> float:
    """Millimetres that a value takes, with what keeps it from the next."""
    return lettering.width(text, lettering.LEAST) + 1.8


def _within(centres: list[float], gaps: list[float], first: float, last: float) -> list[float]:
    """Centres, apart by ``gaps`` or more, moved no more than need be so that they lie between two places; from the
    first of them on where there is not space enough."""
    before = list(accumulate(gaps, initial=0.0))
    most = max(first, last - before[-1])
    return [min(max(c - b, first), most) + b for c, b in zip(centres, before)]


def _bound(scene: Scene, text: str, u: float, v: float, left: float, right: float, anchor: str) -> None:
    size = lettering.width(text, lettering.LEAST)
    if anchor == "end" and u - size < left:
        u = left + size
    if anchor == "start" and u + size > right:
        u = right - size
    scene.add(Text((u, v), text, "quiet", anchor=anchor))
