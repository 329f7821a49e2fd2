"""Where the seats of a row are."""

from __future__ import annotations

from collections.abc import Mapping

from optimiser.linear import Linear, constant
from optimiser.measures.layout import Layout, Row


def end_seat_offset(row: Row) -> Linear:
    """From the middle of the row's seats to that of its last seat."""
    return (row.seats - 1.0) * (row.pitch * 0.5)


def seats_of(row: Row) -> list[tuple[int, Linear, Linear]]:
    """Each possible seat: its number from the left, an expression that is >= 0 where the row has no
    such seat, and its x. Places for wheelchairs come last, at whichever end they are."""
    first = row.middle - end_seat_offset(row)
    chairs = [(j + 1, float(j) - row.seats, first + row.pitch * float(j)) for j in range(row.most_seats)]
    return chairs + [(row.most_seats + k, constant(-1.0), x) for k, x in enumerate(row.places, start=1)]


def present(row: Row, design: Mapping[str, float]) -> list[tuple[int, Linear]]:
    """Number from the left, and x, of the seats of ``seats_of`` that a design has."""
    return [(number, x) for number, absent, x in seats_of(row) if float(absent.value(design)) < 0.0]


def symmetrical(layout: Layout, row: Row) -> bool:
    """Whether the row stands in the middle of the image, every seat to the right like one on the left."""
    return row.middle == layout.image_centre and not row.places


def unlike_seats(layout: Layout, row: Row) -> list[tuple[int, Linear, Linear]]:
    """The seats of ``seats_of`` without those that only mirror another one."""
    seats = seats_of(row)
    return seats[: (len(seats) + 1) // 2] if symmetrical(layout, row) else seats
