"""Every design of a small room with all its demands set aside, and how much each lacks of each demand:
found by looking, to hold against what the solver says about conflicts and concessions."""

from dataclasses import replace

import numpy as np
from rooms import every_design

from optimiser.explain.members import members, relaxed
from optimiser.problem.model import Choice, Fixed, Range
from optimiser.problem.parts import part
from optimiser.requirements import all_limits, bounds

HELD = 1e-6


class Table:
    """``lacks[member]``: for every design of one row what it lacks of a demand, 0 where it has it."""

    def __init__(self, problem, grid):
        self.members = members(problem)
        loose = relaxed(problem, ())
        loose = replace(loose, seating=replace(loose.seating, rows=(1,)))
        found = {m: [] for m in self.members}
        for space, designs in every_design(loose, grid):
            limits = all_limits(loose)
            values = {}
            for bound in bounds(loose, space):
                with np.errstate(all="ignore"):
                    value = np.broadcast_to(bound.form.value(designs), designs["row1.y"].shape)
                values.setdefault(bound.index, []).append(value)
            for member in self.members:
                if member.about_limit:
                    target = getattr(limits[member.index], member.end)
                    if member.end == "at_least":
                        lack = target - np.min(values[member.index], axis=0)
                    else:
                        lack = np.max(values[member.index], axis=0) - target
                else:
                    lack = self._lack(problem, member, designs)
                found[member].append(np.where(lack <= HELD, 0.0, lack))
        self.lacks = {m: np.concatenate(parts) for m, parts in found.items()}
        self.held = np.stack([self.lacks[m] == 0.0 for m in self.members])

    @staticmethod
    def _lack(problem, member, designs):
        names = {
            "seating.rows": "rows",
            "seating.seats": "row1.seats",
            "seating.platform.first": "row1.platform",
            "seating.platform.risers": "row1.risers",
        }
        value = designs[names.get(member.path, member.path.removeprefix("front.").removeprefix("seating.place."))]
        asked = part(problem, member.path).value
        if not isinstance(asked, (Fixed, Range, Choice)):
            return value - asked
        if member.kind == "from":
            return asked.low - value
        if member.kind == "to":
            return value - asked.high
        allowed = asked.values if isinstance(asked, Choice) else (asked.value,)
        return np.min([np.abs(value - a) for a in allowed], axis=0)

    def holds(self, kept):
        """Whether some design has all of these."""
        rows = [i for i, m in enumerate(self.members) if m in kept]
        return bool(np.any(np.all(self.held[rows], axis=0))) if rows else True

    def conflicts(self):
        """All smallest sets that no design has, from what each design lacks: the sets that meet them all."""
        distinct = np.unique(self.held, axis=1)
        missing = [frozenset(m for m, h in zip(self.members, column, strict=True) if not h) for column in distinct.T]
        missing = [s for s in missing if not any(t < s for t in missing)]
        found = [frozenset()]
        for one in missing:
            new = [s for s in found if s & one]
            for s in found:
                if not s & one:
                    new += [s | {m} for m in one]
            found = [s for s in set(new) if not any(t < s for t in set(new))]
        return set(found)

    def among(self, others):
        """Which designs have all of these."""
        rows = [i for i, m in enumerate(self.members) if m in others]
        return np.all(self.held[rows], axis=0)
