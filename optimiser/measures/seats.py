"""Where the seats of a row are."""

from __future__ import annotations

from optimiser.linear import Linear
from optimiser.measures.layout import Layout, Row


def end_seat_offset(layout: Layout, row: Row) -> Linear:
    """From the row's middle to the middle of its last seat."""
    return (row.seats - 1.0) * (0.5 * layout.seat_width)


def seats_of(layout: Layout, row: Row) -> list[tuple[int, Linear, Linear]]:
    """Each possible seat: its number from the left, an expression that is >= 0 where the row has no
    such seat, and its x."""
    first = row.centre - end_seat_offset(layout, row)
    return [(j + 1, float(j) - row.seats, first + j * layout.seat_width) for j in range(row.most_seats)]


def unlike_seats(layout: Layout, row: Row) -> list[tuple[int, Linear, Linear]]:
    """The seats of ``seats_of`` without those that only mirror another one: where the row stands in the
    middle of the image, every seat to the right has its like on the left."""
    seats = seats_of(layout, row)
    return seats[: (len(seats) + 1) // 2] if row.centre == layout.image_centre else seats
