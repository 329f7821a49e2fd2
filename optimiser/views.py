"""What obstructions, the projector and heads hide of the image, seat by seat. Looked at in a finished design; no limit asks for it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from optimiser.design import Space
from optimiser.hanging import settled
from optimiser.measures.beam import beam_separation
from optimiser.measures.layout import Body, Row
from optimiser.measures.people import platform_front, rear_edge, rear_guard
from optimiser.measures.seats import present
from optimiser.measures.sightlines import guard_sightline
from optimiser.words import seats_called

ACROSS, UP = 192, 108
"""Points of the image, each in the middle of its share, to which lines of sight are drawn: shares are told in whole per cents."""


@dataclass(frozen=True)
class Hidden:
    """What an obstruction hides of the image from a row's seats (their numbers, and what they are called): at most
    ``share``."""

    name: str
    row: int
    seats: tuple[int, ...]
    called: str
    share: float
    projector: bool = False

    def words(self, of: str) -> str:
        """How much of it, and from where: ``up to 4 % of the image from seats 1 and 2 of row 1``."""
        most = "" if len(self.seats) == 1 else "up to "
        return f"{most}{max(1.0, 100.0 * self.share):.0f} % of {of} from {self.called} of row {self.row}"


THIN = 0.02
"""Metres that a guard is taken to be thick: common practice, no source."""

HEAD = 0.16, 0.2
"""Width and depth of a head [m]: common practice, no source."""


@dataclass(frozen=True)
class BehindHeads:
    """What the heads in front hide of the image from a row's seats (their numbers from the left): at most ``share``; the
    heads of which row, ``over``, hide the most of it."""

    row: int
    seats: tuple[int, ...]
    share: float
    over: int


def behind_heads(space: Space, design: Mapping[str, float]) -> tuple[BehindHeads, ...]:
    """What people in front, as wide as a head from their floor to the top of their heads, hide from each row; nothing of
    rows that see all of the image over them."""
    points = _image(space, design)
    found: list[BehindHeads] = []
    in_front: dict[int, list[Body]] = {}
    for row in space.layout.rows:
        seats, share = _behind([head for heads in in_front.values() for head in heads], row, points, design)
        if seats:
            most = max(in_front, key=lambda number: (_behind(in_front[number], row, points, design)[1], number))
            found.append(BehindHeads(row.number, seats, share, most))
        floor, top = (float(e.value(design)) for e in (row.platform, row.head))
        in_front[row.number] = [
            Body("head", (x - HEAD[0] / 2, x + HEAD[0] / 2), (y, y + HEAD[1]), (floor, top))
            for x, y, _ in _eyes(row, design).values()
        ]
    return tuple(found)


def hidden(space: Space, design: Mapping[str, float], bodies: Sequence[Body] | None = None) -> tuple[Hidden, ...]:
    """What each obstruction, and the projector, hides from each row, or each of other ``bodies``; nothing of those that hide
    nothing."""
    layout, points = space.layout, _image(space, design)
    found = []
    for body in layout.hanging if bodies is None else bodies:
        for row in layout.rows:
            seats, share = _behind([settled(body, design)], row, points, design)
            if seats:
                projector = bodies is None and body not in layout.bodies
                called = seats_called(row, seats, design)
                found.append(Hidden(body.name, row.number, seats, called, share, projector))
    return tuple(found)


def behind_guards(space: Space, design: Mapping[str, float]) -> tuple[Hidden, ...]:
    """What each guard that is built hides from the rows behind it, as if nobody saw through it; nothing of those that
    hide nothing."""
    points, found = _image(space, design), []
    for number, guard in _guards(space, design):
        for row in space.layout.rows[number - 1 :]:
            seats, share = _behind([guard], row, points, design)
            if seats:
                found.append(Hidden(guard.name, row.number, seats, seats_called(row, seats, design), share))
    return tuple(found)


def guards_in_light(space: Space, design: Mapping[str, float]) -> dict[str, float]:
    """How far [m] guards that are built reach into the projector's light; nothing of those that do not."""
    if space.layout.lens is None:
        return {}
    built = [guard for _, guard in _guards(space, design)]
    edge, z = rear_edge(space.layout, design), rear_guard(space.layout, design)
    if edge is not None and z is not None:
        name = f"guard behind row {len(space.layout.rows)}"
        built.append(Body(name, (0.0, space.layout.width), (edge - THIN, edge), z))
    apart = {guard.name: float(beam_separation(space.layout, guard).value(design)) for guard in built}
    return {name: -away for name, away in apart.items() if away < 0.0}


def _guards(space: Space, design: Mapping[str, float]) -> list[tuple[int, Body]]:
    """The guards that are built at the platforms' front edges, each with the number of its row."""
    layout, found = space.layout, []
    for row in layout.rows if layout.guard is not None else ():
        if math.isfinite(float(guard_sightline.form(layout, row).value(design))):
            edge, floor = (float(e.value(design)) for e in (platform_front(layout, row), row.platform))
            z = (floor, floor + layout.guard[0])
            found.append(
                (row.number, Body(f"guard before row {row.number}", (0.0, layout.width), (edge, edge + THIN), z))
            )
    return found


def _behind(bodies: Sequence[Body], row: Row, points: np.ndarray, design: Mapping[str, float]) -> tuple[tuple, float]:
    """The seats of a row from which boxes hide some of the image, and the most that they hide from one."""
    shares = {
        number: float(np.mean(np.any([_cut(body, eye, points) for body in bodies], axis=0)))
        for number, eye in (_eyes(row, design) if bodies else {}).items()
    }
    return tuple(number for number, share in shares.items() if share > 0.0), max(shares.values(), default=0.0)


def _image(space: Space, design: Mapping[str, float]) -> np.ndarray:
    """Points all over the image, one a row: x, y, z."""
    layout = space.layout
    value = {
        name: float(getattr(layout, f"image_{name}").value(design))
        for name in ("width", "height", "bottom", "centre", "y")
    }
    across = value["centre"] + value["width"] * ((np.arange(ACROSS) + 0.5) / ACROSS - 0.5)
    up = value["bottom"] + value["height"] * (np.arange(UP) + 0.5) / UP
    x, z = (side.ravel() for side in np.meshgrid(across, up))
    return np.column_stack([x, np.full(len(x), value["y"]), z])


def _eyes(row: Row, design: Mapping[str, float]) -> dict[int, np.ndarray]:
    """x, y and z of the eyes in each seat, by its number."""
    return {
        number: np.array([float(e.value(design)) for e in (x, row.y, row.eye)]) for number, x in present(row, design)
    }


def _cut(body: Body, eye: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Whether each line from an eye to a point passes through a box: where it is between each pair of its faces."""
    enters, leaves = np.zeros(len(points)), np.ones(len(points))
    with np.errstate(divide="ignore", invalid="ignore"):
        for axis, (low, high) in enumerate((body.x, body.y, body.z)):
            way = points[:, axis] - eye[axis]
            one, other = (low - eye[axis]) / way, (high - eye[axis]) / way
            inside = low < eye[axis] < high
            still = way == 0.0
            enters = np.maximum(enters, np.where(still, 0.0 if inside else np.inf, np.minimum(one, other)))
            leaves = np.minimum(leaves, np.where(still, 1.0 if inside else -np.inf, np.maximum(one, other)))
    return enters < leaves
