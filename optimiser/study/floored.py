"""A search for the best score among designs that keep floors under blends: goals that are means over several rows.

A blend is a sum of score levels, and no limit that a model could hold exactly. So each model has the floor as a row of
its levels, which lets a few levels less through, and what is found is looked at once more by the formulas.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from optimiser.compile import LEVELS, Compiled
from optimiser.design import Space
from optimiser.requirements import Bound, Target
from optimiser.score import Scorer
from optimiser.search import Search, check
from optimiser.study.aims import Blend
from optimiser.study.ground import post_floor

LET_THROUGH = 2e-3
"""Share of its full value by which a blend may be below its floor and count as found: more than a model's levels blur.
"""


class Floored(Search):
    """A search under ``floors``: for each space, of which there is a scorer, blends and their floors."""

    def __init__(self, *given, floors: Mapping[Scorer, Sequence[tuple[Blend, float]]], **how) -> None:
        super().__init__(*given, scorers=list(floors), **how)
        self._by_key = {scorer.space.key: some for scorer, some in floors.items()}

    def compiled(self, space: Space, bounds: Sequence[Bound], targets: Sequence[Target], **how) -> Compiled:
        """A model with the floors, where the goals that they are about are in it."""
        there = {target.index for target in targets}
        asked = [(b, f) for b, f in self._of(space) if all(t.index in there for t in b.targets)]
        if asked and "levels" in how:
            how["levels"] = LEVELS  # with few levels much that is below a floor would be let through
        model = super().compiled(space, bounds, targets, **how)
        for blend, floor in asked:
            post_floor(model, targets, blend, floor, [])
        return model

    def _of(self, space: Space) -> Sequence[tuple[Blend, float]]:
        """The floors in a space, or in a part of one."""
        return self._by_key[space.key]

    def _reckon(self, scorer: Scorer, design: Mapping[str, float]) -> float:
        """The score of a design that keeps the floors; -1 of one that was found without heed of them."""
        for blend, floor in self._of(scorer.space):
            if float(blend.height({**scorer.space.settled, **design})) < floor - LET_THROUGH * blend.full:
                check(scorer, design)
                return -1.0
        return super()._reckon(scorer, design)
