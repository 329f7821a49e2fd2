"""Every seat of a design: what is seen and heard from it, each by the measure that defines it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from optimiser.design import Space
from optimiser.forms import Form
from optimiser.linear import Linear
from optimiser.measures import catalogue
from optimiser.measures.bass import seat_levels
from optimiser.measures.layout import Layout, Row
from optimiser.measures.seats import present
from optimiser.measures.viewing import distance
from optimiser.physics.modal import dips
from optimiser.tabulated import GRAIN


@dataclass(frozen=True)
class Seat:
    """One seat; lengths in metres, angles in radians, None where there is nothing to measure.

    ``distance`` is from the eyes to the middle of the image in plan; ``loudspeakers`` are the angles
    of the left and the right one from straight ahead; ``sightline`` is the clearance over the eyes of
    the row in front. ``bass``: the seat's mean level over the bass band less that of all seats;
    ``bass_dip``: by how much its poorest third octave lies below its mean [dB]; both to 0.01 dB.
    """

    row: int
    number: int  # of its kind, from the left, facing the image
    x: float
    y: float
    distance: float
    horizontal_angle: float
    off_axis: float
    loudspeakers: tuple[float, float]
    sightline: float | None
    kind: str = "chair"  # chair | stool | wheelchair
    bass: float | None = None
    bass_dip: float | None = None


def seats(space: Space, design: Mapping[str, float]) -> tuple[Seat, ...]:
    """All seats, row by row, from the left."""
    layout = space.layout
    there: list[tuple[Row, int, Linear, str]] = []
    for row in layout.rows:
        chairs = [(n, x) for n, x in present(row, design) if x not in row.places]
        own = sorted(row.places, key=lambda x: float(x.value(design)))
        kind = "stool" if row.bar else "chair"
        there += [(row, n, x, kind) for n, x in chairs]
        there += [(row, n, x, "wheelchair") for n, x in enumerate(own, start=1)]
    found = [_seat(layout, row, n, x, kind, design) for row, n, x, kind in there]
    if layout.bass is None:
        return tuple(found)
    levels = np.array([seat_levels(layout, row, x, design) for row, _, x, _ in there])
    # to the grain that goals and limits on bass are told in: rounded from other digits the same dip may read otherwise
    above, below = (GRAIN * np.round(one / GRAIN) for one in (levels.mean(axis=1) - levels.mean(), dips(levels=levels)))
    return tuple(replace(seat, bass=float(bass), bass_dip=float(dip)) for seat, bass, dip in zip(found, above, below))


def _seat(layout: Layout, row: Row, number: int, x: Linear, kind: str, design: Mapping[str, float]) -> Seat:
    known = catalogue()

    def measured(name: str) -> list[float]:
        made = known[name].build(layout, row, x=x)
        forms: tuple[Form, ...] = made if isinstance(made, tuple) else (made,)
        return [float(form.value(design)) for form in forms]

    away = float(distance(layout, row).value(design))
    across = float(x.value(design))
    aside = across - float(layout.image_centre.value(design))
    sightline = known["sightline_clearance"]
    over = float(sightline.form(layout, row).value(design)) if row.number >= sightline.first_row else None
    left, right = measured("loudspeaker_angle")
    return Seat(
        row=row.number,
        number=number,
        x=across,
        y=float(row.y.value(design)),
        distance=float(np.hypot(away, aside)),
        horizontal_angle=measured("horizontal_angle")[0],
        off_axis=abs(measured("off_axis_angle")[0]),
        loudspeakers=(left, right),
        sightline=over,
        kind=kind,
    )
