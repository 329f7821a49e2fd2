"""Blocks that stand for chairs and people, sized by the chair that the problem file describes.

Origins: in plan, under the eyes of whoever sits there; in section, on the row's floor below them.
"""

from __future__ import annotations

from optimiser.problem.model import Bar, Chair, Wheelchair
from optimiser.sheet.scene import Circle, Item, Path

CHAIR_PLAN = "CHAIR-PLAN"
CHAIR_SECTION = "CHAIR-SECTION"
STOOL_PLAN = "STOOL-PLAN"
STOOL_SECTION = "STOOL-SECTION"
CLEAR_FLOOR = "CLEAR-FLOOR"

Span = tuple[float, float]


def _box(role: str, u: Span, v: Span) -> Path:
    return Path(((u[0], v[0]), (u[1], v[0]), (u[1], v[1]), (u[0], v[1])), role, closed=True)


def chair_plan(chair: Chair) -> tuple[Item, ...]:
    """A chair seen from above, u to the rear, with the outline it takes when reclined."""
    back, half = chair.eye_to_back, 0.5 * chair.width
    front, feet = back - chair.depth, -chair.ahead
    arm, rest = chair.arm or 0.14 * chair.width, min(0.16 * chair.depth, 0.8 * back)
    return (
        _box("recline", (feet, back + chair.travel), (-half, half)),
        _box("chair", (front, back), (-half, half)),
        Path(((back - rest, -half + arm), (front, -half + arm)), "chair"),
        Path(((back - rest, half - arm), (front, half - arm)), "chair"),
        Path(((back - rest, -half), (back - rest, half)), "chair"),
        Circle((0.0, 0.0), min(0.1, 0.3 * half), "head"),
    )


def chair_section(chair: Chair) -> tuple[Item, ...]:
    """A reclined chair and its sitter from the side, u to the rear, front to the left."""
    eye, back, feet = chair.eye_height, chair.eye_to_back + chair.travel, chair.ahead
    seat = 0.40 * eye
    hip, knee = -0.16 * feet, -0.55 * feet
    head = min(chair.head_above_eye, 0.13)
    skull = (0.6 * head, eye + chair.head_above_eye - head)
    body = (
        (knee, 0.06 * eye),
        (0.75 * back, 0.06 * eye),
        (back, 0.86 * eye),
        (0.72 * back, 0.90 * eye),
        (hip + 0.14 * feet, seat + 0.04),
        (knee, seat + 0.06),
    )
    rest = ((knee, seat + 0.06), (-0.98 * feet, 0.36 * eye), (-feet, 0.30 * eye), (knee, seat - 0.06))
    sitter = (
        (0.5 * head, eye - 0.12),
        (hip + 0.12 * feet, seat + 0.16),
        (knee, seat + 0.18),
        (-0.97 * feet, 0.45 * eye),
    )
    return (
        Path(body, "chair", closed=True),
        Path(rest, "chair", closed=True),
        Path(sitter, "recline"),
        Circle(skull, head, "head"),
        Circle((0.0, eye), 0.018, "head"),
    )


def stool_plan(bar: Bar) -> tuple[Item, ...]:
    """A stool at a bar seen from above."""
    seat = min(0.19, 0.42 * bar.place, 0.8 * bar.eye_to_back)
    return (Circle((0.0, 0.0), seat, "chair"), Circle((0.0, 0.0), 0.5 * seat, "head"))


def stool_section(bar: Bar) -> tuple[Item, ...]:
    """A counter with a stool and its sitter from the side, u to the rear."""
    eye, top, near = bar.eye_height, bar.height, -bar.eye_to_counter
    far, seat = near - bar.counter, 0.5 * eye
    head = min(bar.head_above_eye, 0.13)
    board, half = min(0.05, 0.1 * top), min(0.18, 0.8 * bar.eye_to_back)
    return (
        _box("counter", (far, near), (top - board, top)),
        _box("counter", (far, far + 0.3 * bar.counter), (0.0, top - board)),
        _box("chair", (-half, half), (seat - 0.06, seat)),
        Path(((0.0, 0.0), (0.0, seat - 0.06)), "chair"),
        Path(((-half, 0.0), (half, 0.0)), "chair"),
        Path(((0.5 * head, eye - 0.12), (0.25 * half, seat), (near, seat + 0.02)), "recline"),
        Circle((0.6 * head, eye + bar.head_above_eye - head), head, "head"),
        Circle((0.0, eye), 0.018, "head"),
    )


def clear_floor(wheelchair: Wheelchair, behind: float) -> tuple[Item, ...]:
    """Clear floor for a wheelchair seen from above; ``behind`` the eyes [m] it ends with its row."""
    front, half = behind - wheelchair.depth, 0.5 * wheelchair.width
    wheel = min(0.3, 0.25 * wheelchair.depth)
    return (
        _box("clear floor", (front, behind), (-half, half)),
        *(Path(((-wheel, v), (min(wheel, 0.9 * behind), v)), "chair") for v in (-0.7 * half, 0.7 * half)),
        Circle((0.0, 0.0), min(0.1, 0.3 * half), "head"),
    )
