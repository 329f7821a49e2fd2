"""Prices as a bar picture: what each step gains or loses, the dearest first."""

from __future__ import annotations

import math
from pathlib import Path

from optimiser.errors import writing
from optimiser.explain.prices import Price, Prices, in_order
from optimiser.explain.sayings import UNSETTLED, gain_words, move_words, subject_words
from optimiser.problem.model import Problem
from optimiser.sheet import lettering
from optimiser.sheet.scene import Point, Text
from optimiser.sheet.style import INK, PAPER, SOFT
from optimiser.sheet.svg import clean, document, letters, number

WIDTH = 190.0  # mm, or more where texts need it
MARGIN = 8.0
LABEL = 70.0  # mm for the names
BARS = 60.0
"""Millimetres that bars have at least."""

ROW = 10.0
SIZE = 7.5  # points
THICK = 3.0
END = 1.1
"""Millimetres of the tick at the end of a line on which a gain lies, above and below it."""

KEY = "Filled: gained. Hatched: lost. Broken line: lies on it, not settled where. ×: impossible. ?: not settled."
MOST = 24
"""Subjects that one picture shows."""


def write_prices(path: Path, problem: Problem, prices: Prices) -> None:
    """Write the picture of prices into an SVG file. UsageError where it cannot be written."""
    drawn = prices_picture(problem, prices)
    with writing(path):
        path.write_text(drawn, encoding="utf-8", newline="\n")


def prices_picture(problem: Problem, prices: Prices) -> str:
    """The SVG: a pair of lanes a subject, each with its step and its points at the right. A gain is filled, a loss
    hatched; what is not settled is a broken line over all that the gain may be, with a tick where that ends, or a
    question mark where nothing is ruled out; a problem that becomes impossible has a cross."""
    groups = [in_order(group) for group in (*prices.found, *prices.losing)[:MOST]]
    shown = [price for group in groups for price in group]
    texts = max((lettering.width(_label(problem, p), lettering.LEAST) for p in shown), default=0.0)
    width = max(WIDTH, 2 * MARGIN + LABEL + BARS + 3.0 + texts)
    left, right = MARGIN + LABEL, width - MARGIN - 3.0 - texts
    ends = [0.0, *(end for price in shown for end in _span(price))]
    scale = (right - left) / max(1e-9, max(ends) - min(ends))
    zero = left - min(ends) * scale
    height = 2 * MARGIN + 16.0 + ROW * max(1, len(groups)) + 6.0
    title = f"{problem.title}: what a step is worth"
    below = "Points of score gained or lost when one thing moves by a step and all is solved again."
    room = width - 2 * MARGIN
    parts = [_hatch(), _write(MARGIN, MARGIN + 3.0, lettering.shortened(title, room, 11.0), size=11.0, bold=True)]
    parts.append(_write(MARGIN, MARGIN + 9.0, f"{below} Best now: {prices.best.score:.1f}.", size=SIZE))
    top = MARGIN + 16.0
    if not groups:
        parts.append(_write(MARGIN, top + 3.0, "Nothing that was moved is proven to change the best score.", size=SIZE))
    for at, group in enumerate(groups):
        y = top + ROW * at
        name = lettering.shortened(subject_words(problem, group[0]), LABEL - 3.0, SIZE)
        parts.append(_write(MARGIN, y + 0.42 * ROW, name, size=SIZE))
        for lane, price in enumerate(group):
            middle = y + 0.8 + 4.1 * lane + 0.5 * THICK
            parts += _drawn(problem, price, zero, middle, scale)
            parts.append(_write(right + 3.0, middle, _label(problem, price), size=lettering.LEAST))
    foot = height - MARGIN - 4.0
    parts.append(_line((zero, top - 1.5), (zero, foot - 1.0), 0.25))
    if groups:
        parts.append(_write(MARGIN, foot + 3.0, KEY, size=lettering.LEAST))
    said = "; ".join(_said(problem, p) for p in shown) or "no price differs from zero"
    return document(width, height, f"{problem.title}: prices", said, parts, name="prices")


def _span(price: Price) -> tuple[float, ...]:
    """What of a price is drawn to scale: its gain, or the ends between which it is proven to lie."""
    if price.gain is None or gain_words(price) == UNSETTLED:
        return ()
    if price.proven:
        return (price.gain if price.matters else 0.0,)
    assert price.least is not None and price.most is not None
    most = price.full if price.unbounded else price.most
    return price.least, most if math.isfinite(most) else max(0.0, price.least)


def _said(problem: Problem, price: Price) -> str:
    return f"{subject_words(problem, price)} {move_words(problem, price.move)}: {gain_words(price)}"


def _label(problem: Problem, price: Price) -> str:
    return f"{move_words(problem, price.move)}: {gain_words(price)}"


def _drawn(problem: Problem, price: Price, zero: float, y: float, scale: float) -> list[str]:
    """One price in its lane, whose middle is at ``y``."""
    title = f"<title>{clean(_said(problem, price))}</title>"
    ends = _span(price)
    if not ends:
        sign = "×" if price.gain is None and not price.unknown else "?"
        return [f"<g>{title}{_write(zero + 1.5, y, sign, size=SIZE, bold=True)}</g>"]
    if len(ends) == 1:
        gain = ends[0]
        length = abs(gain) * scale
        x = zero if gain >= 0.0 else zero - length
        fill = INK if gain >= 0.0 else "url(#loss)"
        box = f'x="{number(x)}" y="{number(y - 0.5 * THICK)}" width="{number(max(length, 0.01))}"'
        look = f'height="{number(THICK)}" fill="{fill}" stroke="{INK}" stroke-width="0.2"'
        return [f"<rect {box} {look}>{title}</rect>"]
    low, high = (zero + end * scale for end in ends)
    ticks = [low] if price.unbounded else [low, high]  # no tick where nothing is ruled out
    lines = [_line((low, y), (high, y), 0.35, dash="1 0.8")]
    return [f"<g>{title}{''.join(lines + [_line((x, y - END), (x, y + END), 0.35) for x in ticks])}</g>"]


def _line(start: Point, end: Point, weight: float, *, dash: str = "") -> str:
    places = " ".join(f'{k}="{number(v)}"' for k, v in zip(("x1", "y1", "x2", "y2"), (*start, *end)))
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<line {places} stroke="{INK}" stroke-width="{weight}"{dashed}/>'


def _hatch() -> str:
    lines = f'<rect width="1.4" height="1.4" fill="{PAPER}"/><line y1="0" y2="1.4" stroke="{SOFT}" stroke-width="0.9"/>'
    units = 'patternUnits="userSpaceOnUse" patternTransform="rotate(45)"'
    return f'<defs><pattern id="loss" width="1.4" height="1.4" {units}>{lines}</pattern></defs>'


def _write(x: float, y: float, text: str, **how) -> str:
    return letters(Text((0.0, 0.0), text, **how), x, y)
