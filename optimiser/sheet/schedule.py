"""What a builder sets out and makes: sizes, and distances from fixed corners of the room."""

from __future__ import annotations

import math

from optimiser.design import Design, Space
from optimiser.measures import catalogue
from optimiser.quantity import show
from optimiser.sheet.document import Table
from optimiser.sheet.figures import Figure


def front_table(f: Figure, system: str) -> Table:
    """The baffle wall, the frame and the image."""

    def length(value: float) -> str:
        return show("length", value, system)

    frame_width, frame_height = f.frame[1] - f.frame[0], f.image_height + 2 * f.bezel
    rows = (
        ("baffle wall, width", length(f.baffle[1] - f.baffle[0])),
        ("baffle wall, face from the front wall", length(f.baffle_depth)),
        ("baffle wall, left edge from the left wall", length(f.baffle[0])),
        ("baffle wall, right edge from the right wall", length(f.width - f.baffle[1])),
        ("frame, outside", f"{length(frame_width)} × {length(frame_height)}"),
        ("frame, diagonal outside (square when both are equal)", length(math.hypot(frame_width, frame_height))),
        ("frame, width of its members", length(f.bezel)),
        ("frame, underside above the floor", length(f.bottom - f.bezel)),
        ("image, within the frame", f"{length(f.image_width)} × {length(f.image_height)}"),
        ("image, diagonal", length(math.hypot(f.image_width, f.image_height))),
        ("image, lower edge above the floor", length(f.bottom)),
        ("image, plane from the front wall", length(f.image_y)),
        ("image, centre line from the left wall", length(f.centre)),
    )
    return Table("Front", ("what", "dimension"), rows, wide=((1, 1.0),))


def platform_table(f: Figure, system: str) -> Table | None:
    """Heights, edges and depths of the platforms, and the steps up to them."""
    raised = [row for row in f.rows if row.platform > 0.0]
    if not raised:
        return None

    def length(value: float) -> str:
        return show("length", value, system)

    spans = dict(zip([row.number for row in raised], [span for span, _ in f.platforms]))
    rows = []
    for row in raised:
        start, end = spans[row.number]
        steps = f"{row.risers} of {length(row.rise / row.risers)}" if row.rise > 0.0 else "level"
        going = length(row.going) if row.going is not None and row.risers > 1 and row.rise > 0.0 else ""
        rows.append(
            (f"row {row.number}", length(row.platform), length(start), length(end), length(end - start), steps, going)
        )
    head = ("platform", "height", "front edge at", "rear edge at", "depth", "risers up", "going")
    return Table("Platforms and steps", head, tuple(rows))


def seats_table(f: Figure, system: str) -> Table:
    """Where rows and chairs stand."""

    def length(value: float) -> str:
        return show("length", value, system)

    rows = tuple(
        (
            f"row {row.number}",
            length(row.y),
            length(row.back),
            length(row.feet),
            length(row.eye),
            ", ".join(length(x) for x in row.seats),
        )
        for row in f.rows
    )
    head = (
        "row",
        "eyes at",
        "chair backs at",
        "feet, reclined",
        "eyes above floor",
        "middles of seats from the left wall",
    )
    return Table("Rows and chairs", head, rows, wide=((5, 1.0),))


def places_table(f: Figure, space: Space, design: Design, system: str) -> Table:
    """Loudspeakers in the baffle, and the projector's lens."""

    def length(value: float) -> str:
        return show("length", value, system)

    layout = space.layout
    angle = float(catalogue()["loudspeaker_angle"].form(layout, layout.reference_row).value(design))
    aside = {"L": show("angle", angle), "C": show("angle", 0.0), "R": show("angle", angle)}
    names = {"L": "left", "C": "centre", "R": "right"}
    rows = [
        (
            f"loudspeaker, {names[one.name]}",
            length(one.x),
            length(f.baffle_depth),
            "behind the image" if one.z is None else f"{length(one.z[0])} to {length(one.z[1])}",
            aside[one.name],
        )
        for one in f.loudspeakers
    ]
    if f.projector is not None:
        y, z = f.projector
        rows.append(("projector, lens", length(f.centre), length(y), length(z), ""))
    head = ("what", "from the left wall", "from the front wall", "above the floor", "aside, from the reference row")
    return Table("Loudspeakers and projector", head, tuple(rows))
