"""What the parts of the seating must agree on: arms, recliners, platforms, a bar, a wheelchair's place, a stagger."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from optimiser.problem.decisions import ends_of, split_row
from optimiser.problem.listed import Place, variants
from optimiser.problem.model import Decision

Complain = Callable[..., None]  # (path, message, remedy, key=False)


def largest(decision: Decision) -> float:
    """The greatest value that a decision may take."""
    return ends_of(decision)[1]


def check_rows(seating: Any, complain: Complain) -> None:
    """All checks on what people sit on and beside, of which any part may be None: unreadable, and told already."""
    if seating.chair is not None:
        for place, chair in variants(seating.chair, ("seating", "chair")):
            _chair(chair, place, complain)
    if seating.platform is not None:
        _platform(seating.platform, seating.place, complain)
    most = None if seating.rows is None else int(largest(seating.rows))
    if seating.bar is not None:
        _bar(seating.bar, most, complain)
    if seating.wheelchair is not None and most is not None:
        _wheelchair(seating, most, complain)


def _known(*values: object) -> bool:
    return all(value is not None for value in values)


def _chair(chair: Any, place: Place, complain: Complain) -> None:
    if _known(chair.arms, chair.arm):
        if chair.arms == "own" and chair.arm > 0:
            complain(place("arm"), "the arm of a chair that shares none", "write arms: shared, or leave arm out")
        if chair.arms == "shared" and chair.arm == 0:
            complain(place("arms"), "shared arms without a width", "write the width of one as arm:")
    if _known(chair.width, chair.arm) and chair.arm >= chair.width:
        complain(place("arm"), "the arm is as wide as the chair", "check arm and width, which is over the arms")
    grows = chair.reclined - chair.depth if _known(chair.depth, chair.reclined) else None
    if _known(grows, chair.travel) and chair.travel > 0 and chair.travel > grows + 1e-9:
        complain(
            place("travel"),
            "the back travels further than the chair grows when it reclines",
            "check travel, depth and reclined",
        )


def _platform(platform: Any, place: Any, complain: Complain) -> None:
    own = any((split_row(name) or ("", ""))[1] == "platform" for name, _ in place or ())
    if own or not _known(platform.to, platform.first) or platform.to > 0.0 or largest(platform.first) > 0.0:
        return
    for key, what in (("behind", "no platform to end"), ("going", "no platform for steps to lead up to")):
        if getattr(platform, key) is not None:
            remedy = f"write to, the greatest height of one, or leave {key} out"
            complain(("seating", "platform", key), f"there is {what}", remedy)


def _bar(bar: Any, most: int | None, complain: Complain) -> None:
    path = ("seating", "bar")
    if most == 1:
        complain(path, "a bar takes the place of the last row, and the file allows only one row", "raise seating.rows")
    if _known(bar.height, bar.eye_height) and bar.height >= bar.eye_height:
        key = "height" if "height" in bar.written else "eye_height"
        complain((*path, key), "the eyes at the bar are below its counter", "check height and eye_height")


def _wheelchair(seating: Any, most: int, complain: Complain) -> None:
    row = seating.wheelchair.row
    if not _known(row):
        return
    if row > most:
        complain(
            ("seating", "wheelchair", "row"),
            f"the file allows at most {most} row{'s' if most > 1 else ''}",
            "name one of them",
        )
    elif row == most > 1 and seating.bar is not None:
        complain(("seating", "wheelchair", "row"), f"row {most} is the bar", "name a row of chairs")
