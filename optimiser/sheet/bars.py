"""Prices as a bar picture: what each step gains or loses, the dearest first."""

from __future__ import annotations

from pathlib import Path

from optimiser.errors import writing
from optimiser.explain.prices import Price, Prices
from optimiser.explain.sayings import gain_words, move_words, subject_words
from optimiser.problem.model import Problem
from optimiser.sheet import lettering
from optimiser.sheet.scene import Text
from optimiser.sheet.style import INK, PAPER, SOFT
from optimiser.sheet.svg import clean, document, letters, number

WIDTH = 190.0  # mm
MARGIN = 8.0
LABEL = 78.0  # mm for the names
ROW = 10.0
SIZE = 7.5  # points
MOST = 24
"""Subjects that one picture shows."""


def write_prices(path: Path, problem: Problem, prices: Prices) -> None:
    """Write the picture of prices into an SVG file. UsageError where it cannot be written."""
    drawn = prices_picture(problem, prices)
    with writing(path):
        path.write_text(drawn, encoding="utf-8", newline="\n")


def prices_picture(problem: Problem, prices: Prices) -> str:
    """The SVG: a pair of bars a subject. A gain is filled, a loss hatched; a problem that becomes
    impossible has a cross instead of a bar. Every bar carries its step and its points."""
    groups = prices.found[:MOST]  # what is open has no length to draw
    height = 2 * MARGIN + 16.0 + ROW * max(1, len(groups)) + 6.0
    gains = [abs(p.gain) for group in groups for p in group if p.gain is not None]
    scale = (WIDTH - LABEL - 2 * MARGIN) * 0.27 / max([1e-9, *gains])
    zero = MARGIN + LABEL + 0.5 * (WIDTH - LABEL - 2 * MARGIN)
    title = f"{problem.title}: what a step is worth"
    below = "Points of score gained or lost when one thing moves by a step and all is solved again."
    parts = [_hatch(), _write(MARGIN, MARGIN + 3.0, title, size=11.0, bold=True)]
    parts.append(_write(MARGIN, MARGIN + 9.0, f"{below} Best now: {prices.best.score:.1f}.", size=SIZE))
    top = MARGIN + 16.0
    if not groups:
        parts.append(_write(MARGIN, top + 3.0, "Nothing that was moved is proven to change the best score.", size=SIZE))
    for at, group in enumerate(groups):
        y = top + ROW * at
        name = lettering.shortened(subject_words(problem, group[0]), LABEL - 3.0, SIZE)
        parts.append(_write(MARGIN, y + 0.42 * ROW, name, size=SIZE))
        for lane, price in enumerate(sorted(group, key=lambda p: -(p.gain if p.gain is not None else -1e9))[:2]):
            parts += _bar(problem, price, zero, y + 0.8 + 4.1 * lane, scale)
    line = f'<line x1="{number(zero)}" y1="{number(top - 1.5)}" x2="{number(zero)}" y2="{number(height - MARGIN)}"'
    parts.append(f'{line} stroke="{INK}" stroke-width="0.25"/>')
    said = "; ".join(_said(problem, p) for group in groups for p in group) or "no price differs from zero"
    return document(WIDTH, height, f"{problem.title}: prices", said, parts, name="prices")


def _said(problem: Problem, price: Price) -> str:
    return f"{subject_words(problem, price)} {move_words(problem, price.move)}: {gain_words(price)}"


def _bar(problem: Problem, price: Price, zero: float, y: float, scale: float) -> list[str]:
    thick = 3.0
    label = f"{move_words(problem, price.move)}: {gain_words(price)}"
    if price.gain is None:
        return [_write(zero - 1.5, y + 0.5 * thick, f"{label}  ×", size=6.0, anchor="end")]
    gain = price.gain if price.matters else 0.0
    length = abs(gain) * scale
    x = zero if gain >= 0.0 else zero - length
    fill = INK if gain >= 0.0 else "url(#loss)"
    box = f'x="{number(x)}" y="{number(y)}" width="{number(max(length, 0.01))}" height="{number(thick)}"'
    title = f"<title>{clean(_said(problem, price))}</title>"
    bar = f'<rect {box} fill="{fill}" stroke="{INK}" stroke-width="0.2">{title}</rect>'
    outside = zero + length + 1.2 if gain >= 0.0 else zero - length - 1.2
    return [bar, _write(outside, y + 0.5 * thick, label, size=6.0, anchor="start" if gain >= 0.0 else "end")]


def _hatch() -> str:
    lines = f'<rect width="1.4" height="1.4" fill="{PAPER}"/><line y1="0" y2="1.4" stroke="{SOFT}" stroke-width="0.9"/>'
    units = 'patternUnits="userSpaceOnUse" patternTransform="rotate(45)"'
    return f'<defs><pattern id="loss" width="1.4" height="1.4" {units}>{lines}</pattern></defs>'


def _write(x: float, y: float, text: str, **how) -> str:
    return letters(Text((0.0, 0.0), text, **how), x, y)
