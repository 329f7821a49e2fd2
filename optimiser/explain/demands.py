"""What a member demands of a design, as a form that can be raised or lowered towards it."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.design import Space
from optimiser.explain.members import Member, governed, offset_of, screen_at, values_of
from optimiser.forms import LATCH, Form, Gate, Greatest, Least, Unless, absolute, affine
from optimiser.linear import Linear, constant, variable
from optimiser.measures import catalogue
from optimiser.problem.decisions import ends_of
from optimiser.problem.model import Choice, Decision, Fixed, Problem, Range
from optimiser.problem.parts import part
from optimiser.requirements import all_limits, bounds_of


@dataclass(frozen=True)
class Demand:
    """``form`` is to be at least (``greatest``) or at most ``wanted``. For a fixed value or a list of
    them the form is the distance to the nearest allowed one, and wanted is 0."""

    form: Form
    greatest: bool
    wanted: float

    def missing(self, value: float) -> float:
        """By how much a value falls short of what is wanted; negative where it goes beyond."""
        return self.wanted - value if self.greatest else value - self.wanted


def quantity_of(problem: Problem, member: Member) -> str:
    """The kind of quantity that a member is about."""
    if member.about_limit:
        return catalogue()[all_limits(problem)[member.index].measure].quantity
    return part(problem, member.path).kind


def wanted_of(problem: Problem, member: Member) -> float:
    """The value at which a limit or a range ends."""
    if member.about_limit:
        return float(getattr(all_limits(problem)[member.index], member.end))
    value = part(problem, member.path).value
    if not isinstance(value, (Fixed, Range, Choice)):
        return value
    low, high = ends_of(value)
    return low if member.kind == "from" else high


def demand(problem: Problem, member: Member, space: Space) -> Demand | None:
    """A member's demand in a space of the problem (or of a relaxed one with the same limits); None
    where the space has nothing that it is about, or settles it."""
    if member.about_limit:
        limit = all_limits(problem)[member.index]
        up = member.end == "at_least"
        forms = [where_there(bound.form, up) for bound in bounds_of(problem, space, member.index, limit)]
        if not forms:
            return None
        return Demand(_worst(forms, up), up, wanted_of(problem, member))
    screen = screen_at(problem, member.path)
    if screen is not None and space.layout.screen_type != screen.type:
        return None
    offset = offset_of(problem, member.path)
    decisions = [
        space.layout.tile_rows if name == "screen.tile_rows" else variable(name)
        for name in governed(problem, member.path, space.rows)
        if name in space.domains or name == "screen.tile_rows"
    ]
    if not decisions:
        return None
    decisions = [d - offset for d in decisions if d is not None]
    if member.kind == "value":
        value = part(problem, member.path).value
        distances = [_distance(decision, value) for decision in decisions]
        return Demand(distances[0] if len(distances) == 1 else Greatest(tuple(distances)), False, 0.0)
    up = member.kind == "from"
    return Demand(_worst([affine(d) for d in decisions], up), up, wanted_of(problem, member))


def where_there(form: Form, up: bool) -> Form:
    """A form that says the same of a seat, or a step, that is there, and is never the worst of several where it is
    not: endless, ``up`` or down."""
    if not isinstance(form, Unless):
        return form
    if up:
        return Greatest((Gate(form.absent), form.inner))
    return Least((Gate(-form.absent - 2.0 * LATCH), form.inner))


def _worst(forms: list[Form], up: bool) -> Form:
    if len(forms) == 1:
        return forms[0]
    return Least(tuple(forms)) if up else Greatest(tuple(forms))


def _distance(decision: Linear, allowed: float | Decision) -> Form:
    assert isinstance(allowed, (Fixed, Choice))
    parts = [absolute(decision - constant(v)) for v in values_of(allowed)]
    return parts[0] if len(parts) == 1 else Least(tuple(parts))
