"""What every measure is: a name, a quantity, a source, and a function from a layout to a form."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from optimiser.forms import Form, Unless
from optimiser.linear import Linear
from optimiser.measures.layout import Layout, Row

KEYS = {
    "decay": "room.reverberation_time (or room.surfaces)",
    "lining": "room.surfaces",
    "panels": "room.treatment",
    "bass": "bass",
    "surround": "surround",
    "pixel_pitch": "front.screen.pixels",
    "lens": "projector",
    "guard": "seating.guard",
    "wheelchair_row": "seating.wheelchair",
    "cost": "prices",
    "light": "projector (or front.screen.luminance)",
    "platform_behind": "seating.platform.behind",
    "loudspeaker_height": "front.loudspeakers.z (behind an image)",
}
"""What measures need of a layout, by the keys of the problem file that give it."""


POSITIVE = ("area", "count", "flux", "frequency", "luminance", "money", "pixels_per_degree", "time", "volume")
"""Quantities of which nothing is negative."""

Built = Callable[[Layout, Mapping[str, float], "int | None"], bool]
"""Whether a design has what is measured, on a row by its number, or at all."""


@dataclass(frozen=True)
class Measure:
    """A named physical quantity of a design.

    ``quantity`` says how it is read and shown (length, angle, level ...). A ``per_row`` measure has
    a value for every row from ``first_row`` on, the others one for the design. ``options`` lists the
    values each option may take, the first being the one that holds if the file says nothing.
    """

    name: str
    family: str
    quantity: str
    per_row: bool
    first_row: int
    options: Mapping[str, tuple]
    formula: str
    source: str
    about: str
    needs: tuple[str, ...] = ()  # what the layout must know: pixel_pitch, decay
    per_seat: bool = False  # whether ``build`` takes a seat's x, instead of the row's middle
    screens: tuple[str, ...] = ()  # kinds of screen that have it; none named: all
    signed: bool = True  # whether it could be negative
    absent: Callable[[Layout, Row], Linear] | None = (
        None  # >= 0 where a row has none, as one that lies level has no step
    )
    built: Built | None = None  # whether a design has what is measured at all
    build: Callable[..., Form] = field(repr=False, compare=False, kw_only=True)

    def form(self, layout: Layout, row: Row | None = None, **options: object) -> Form:
        """The form for a layout (and one of its rows), with defaults for options left out."""
        chosen = {name: options.get(name, values[0]) for name, values in self.options.items()}
        return self.build(layout, row, **chosen) if self.per_row else self.build(layout, **chosen)

    def asked_form(self, layout: Layout, row: Row | None = None, **options: object) -> Form:
        """The form as limits and goals ask for it: it counts only where a row has what is measured."""
        form = self.form(layout, row, **options)
        return form if self.absent is None or row is None else Unless(self.absent(layout, row), form)

    def seat_forms(self, layout: Layout, row: Row, absent: Linear, x: Linear, **options: object) -> tuple[Form, ...]:
        """The forms for one seat, which count unless it is absent; for two loudspeakers there are two."""
        chosen = {name: options.get(name, values[0]) for name, values in self.options.items()}
        made = self.build(layout, row, x=x, **chosen)
        forms = made if isinstance(made, tuple) else (made,)
        always = absent.is_constant and absent.constant < 0.0
        return forms if always else tuple(Unless(absent, form) for form in forms)

    def exists(self, layout: Layout) -> bool:
        """Whether designs of this layout have this measure at all."""
        return not self.screens or layout.screen_type in self.screens

    def rows_of(self, layout: Layout) -> tuple[Row, ...]:
        """The rows that have this measure."""
        return tuple(r for r in layout.rows if r.number >= self.first_row) if self.per_row else ()


def measure(
    *,
    quantity: str,
    formula: str,
    source: str,
    per_row: bool = False,
    first_row: int = 1,
    options: Mapping[str, tuple] | None = None,
    needs: tuple[str, ...] = (),
    screens: tuple[str, ...] = (),
    per_seat: bool = False,
    signed: bool = True,
    absent: Callable[[Layout, Row], Linear] | None = None,
    built: Built | None = None,
) -> Callable[[Callable[..., Form]], Measure]:
    """Make a Measure of a function; its name and docstring are the measure's."""

    def wrap(build: Callable[..., Form]) -> Measure:
        return Measure(
            name=build.__name__,
            family=build.__module__.rpartition(".")[2],
            quantity=quantity,
            per_row=per_row,
            first_row=first_row,
            options=dict(options or {}),
            formula=formula,
            source=source,
            needs=needs,
            screens=screens,
            per_seat=per_seat,
            signed=signed and quantity not in POSITIVE,
            absent=absent,
            built=built,
            about=" ".join((build.__doc__ or "").split()),
            build=build,
        )

    return wrap
