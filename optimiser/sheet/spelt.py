"""Names that a drawing cuts, spelt out below it, where it stands without the words of a sheet."""

from __future__ import annotations

from collections.abc import Sequence

from optimiser.sheet import lettering
from optimiser.sheet.labels import named, taped
from optimiser.sheet.scene import Scene, Text

LINE = 120.0
"""Millimetres that a line below a drawing may be wide where that is narrower."""

AIR = 2.0
"""Millimetres between a drawing and the first line."""


def spelt_out(scenes: Sequence[Scene], names: Sequence[str], width: float) -> list[Scene]:
    """The scenes, which stand one below the other, and below the last of them those of the ``names`` in full that they cut
    and nowhere have whole, in lines of at most ``width`` mm."""
    written = [one.text for scene in scenes for one in scene.texts()]
    cut = [
        name
        for name in names
        if not any(name in text for text in written)
        and any(how(name, "", names) in text for how in (named, taped) for text in written)
    ]
    if cut:
        last = scenes[-1]
        left, low, right, _ = last.extent()
        across = min(max(last.paper(right - left), LINE), width)
        step = last.mm(lettering.height(lettering.LEAST) + 0.2)
        lines = lettering.lines(f"In full: {'; '.join(cut)}.", across, lettering.LEAST)
        last.add(*(Text((left, low - last.mm(AIR) - (k + 0.5) * step), line) for k, line in enumerate(lines)))
    return list(scenes)
