"""Bass at the seats: how it differs between them, and what each of them lacks."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from optimiser.forms import Cases, Form, Greatest, Least, Sum, Tabulated
from optimiser.linear import Entry, Linear, variable
from optimiser.measures.base import measure
from optimiser.measures.bass_table import table_of
from optimiser.measures.layout import Layout, Row
from optimiser.measures.seats import seats_of
from optimiser.physics import modal

SOURCE = (
    "damped modal sum of a rigid box, room acoustics textbooks; the measure is a definition of this program, "
    "no standard has one"
)


class RowBass:
    """The ears of one row in its bass table, for each chair and each number of seats that the row may have."""

    def __init__(self, layout: Layout, row: Row) -> None:
        self.layout, self.row = layout, row
        self.bands = layout.bass.field.bands
        middle = not row.places and row.middle.is_constant and abs(row.middle.constant - 0.5 * layout.width) < 1e-9
        self.mirrored = layout.bass.mirrored and middle
        self.chairs = _things(row.pitch)
        seatings = tuple(
            tuple(sorted({self._ear(x) for x in self._aside(chair, count)}))
            for chair in self.chairs or [{}]
            for count in row.counts
        )
        self.table = table_of(layout.bass.field, seatings, (row.across, 0.0, layout.bass.field.ears[0]))
        self.place = (row.middle, row.y - layout.bass.front, row.eye)

    def _aside(self, chair: Mapping[str, float], count: int) -> list[float]:
        """Offsets of the seats from the row's middle, with so many seats of such chairs."""
        most = self.row.most_seats
        there = [x for number, _, x in seats_of(self.row) if number <= count or number > most]
        aside = [x - self.row.middle for x in there]
        taken = {**chair, **{name: float(count) for name, _ in self.row.seats.terms}}
        return [float(x.value(taken)) for x in aside]

    def _ear(self, aside: float) -> float:
        """A seat's offset in the table; where left and right are alike, one stands for both."""
        return round(abs(aside) if self.mirrored else aside, 9)

    def of(self, function: Callable[[int], int]) -> Form:
        """A function of the table, by the number that it has for each seating."""
        counts = self.row.counts
        first = range(0, max(1, len(self.chairs)) * len(counts), len(counts))
        forms = [self._of_counts(function, seating) for seating in first]
        if len(forms) == 1:
            return forms[0]
        (of,) = self.chairs[0]
        return Cases(variable(of), tuple((round(chair[of]), form) for chair, form in zip(self.chairs, forms)))

    def _of_counts(self, function: Callable[[int], int], first: int) -> Form:
        """The same, with the chairs whose seatings begin with the ``first``."""
        forms = [Tabulated(self.table, function(first + k), self.place) for k in range(len(self.row.counts))]
        return forms[0] if len(forms) == 1 else Cases(self.row.seats, tuple(zip(self.row.counts, forms)))

    def at(self, design) -> np.ndarray:
        """Where the row is in its table [m]."""
        return np.array([[float(e.value(design)) for e in self.place]])

    def ear(self, x: Linear, design) -> int:
        """The number of the ear at ``x`` among the table's offsets."""
        aside = self._ear(float((x - self.row.middle).value(design)))
        return int(np.argmin(np.abs(self.table.offsets - aside)))


def _things(pitch: Linear | float) -> list[dict[str, float]]:
    """What the list may have taken that the seats' pitch is looked up in, thing by thing; none where it is
    the same whatever is taken."""
    terms = pitch.terms if isinstance(pitch, Linear) else ()
    return [{term.of: number} for term, _ in terms if isinstance(term, Entry) for number, _ in term.values]


def seat_levels(layout: Layout, row: Row, x: Linear, design, *, table: bool = True) -> np.ndarray:
    """Level of each band in the seat at ``x`` [dB]: at the nearest point of the table, or by the modal sum at
    the place itself."""
    of_row = RowBass(layout, row)
    place = of_row.at(design)
    if table:
        place = of_row.table.origin + of_row.table.steps * of_row.table.nearest(place)
    return of_row.table.levels(place)[0, of_row.ear(x, design)]


def table_error(layout: Layout, row: Row, design) -> float:
    """Proven bound of how far any level of a row's table lies from the modal sum, where the row is [dB]."""
    of_row = RowBass(layout, row)
    return float(of_row.table.error(of_row.at(design)).max())


@measure(
    quantity="level",
    signed=False,
    needs=("bass",),
    formula="mean over bands of greatest - least level at any two seats",
    source=SOURCE,
)
def seat_to_seat_spread(layout: Layout) -> Form:
    """How much the bass differs between the room's seats: in each third octave, counted from the lowest frequency judged,
    the loudest seat less the quietest, and of these the mean."""
    rows = [RowBass(layout, row) for row in layout.rows]
    bands = rows[0].bands
    shares = modal.spread_between(loudest=np.eye(bands), quietest=np.zeros((bands, bands)))
    terms: list[tuple[float, Form]] = []
    for band, share in enumerate(shares.tolist()):
        loudest = Greatest(tuple(r.of(lambda n, t=r.table, band=band: t.loudest(n, band)) for r in rows))
        quietest = Least(tuple(r.of(lambda n, t=r.table, band=band: t.quietest(n, band)) for r in rows))
        terms += [(share, loudest), (-share, quietest)]
    return Sum(tuple(terms))


@measure(
    quantity="level",
    signed=False,
    per_row=True,
    needs=("bass",),
    formula="greatest over seats and bands of the seat's mean level - level",
    source=SOURCE,
)
def deepest_dip(layout: Layout, row: Row) -> Form:
    """How far the poorest third octave of any seat in the row lies below that seat's own mean level."""
    of_row = RowBass(layout, row)
    return of_row.of(of_row.table.dip)
