"""Lettering of the drawings: one typeface whose every letter is equally wide, so that the room a
label takes is known before it is drawn, in whatever typeface of its kind a reader's program has."""

from __future__ import annotations

import unicodedata

FAMILY = "DejaVu Sans Mono"
STACK = "'DejaVu Sans Mono', Menlo, Consolas, 'Liberation Mono', 'Courier New', monospace"

ADVANCE = 0.602
"""Width of a letter in ems; the widest of the common typefaces of this kind (others: 0.55 to 0.60)."""

WIDE = 1.3
"""Width in ems allowed for East Asian letters and pictographs, which come from some other typeface."""

LEAST = 7.0
"""Points below which nothing is set: the smallest text that prints legibly."""

HEIGHT = 1.25
"""Height of a line's box in ems, with its descenders and a little air."""

JOINING = "\u200d\ufe0e\ufe0f"
"""What joins letters to one, or says how the one before looks."""

POINT = 25.4 / 72
"""Millimetres in a point."""


def ems(text: str) -> float:
    """Width of a text in ems."""
    total = 0.0
    for letter in text:
        if unicodedata.combining(letter):
            continue
        wide = unicodedata.east_asian_width(letter) in ("W", "F") or ord(letter) > 0x2FFF
        total += WIDE if wide else ADVANCE
    return total


def width(text: str, size: float) -> float:
    """Width in mm of a text set at ``size`` points."""
    return ems(text) * size * POINT


def height(size: float) -> float:
    """Height in mm of the box of a line set at ``size`` points."""
    return HEIGHT * size * POINT


def shortened(text: str, most: float, size: float, ending: float = 0.0) -> str:
    """The text, cut with an ellipsis where it is wider than ``most`` mm; of that, ``ending`` is for its last letters."""
    if width(text, size) <= most:
        return text
    last = ""
    for letter in reversed(text):
        if width(letter + last, size) > ending * most:
            break
        last = letter + last
    while last and (unicodedata.combining(last[0]) or last[0] in JOINING):
        last = last[1:]  # belongs to a letter that is cut off
    last, kept = last.lstrip(), ""
    for letter in text:
        if width(kept + letter + "…" + last, size) > most:
            break
        kept += letter
    return kept.rstrip() + "…" + last


def lines(text: str, most: float, size: float) -> list[str]:
    """The text broken into lines of at most ``most`` mm, between words where it can be."""
    found: list[str] = []
    line = ""
    for word in text.split():
        trial = f"{line} {word}" if line else word
        if width(trial, size) <= most:
            line = trial
            continue
        if line:
            found.append(line)
        while width(word, size) > most:
            cut = next(i for i in range(len(word), 0, -1) if i == 1 or width(word[:i], size) <= most)
            found.append(word[:cut])
            word = word[cut:]
        line = word
    return found + [line] if line else found
