"""Blocks that stand for chairs and people, sized by the chair that the problem file describes.

Origins: in plan, under the eyes of whoever sits there; in section, on the row's floor below them.
"""

from __future__ import annotations

from optimiser.problem.model import Chair
from optimiser.sheet.scene import Circle, Item, Path

CHAIR_PLAN = "CHAIR-PLAN"
CHAIR_SECTION = "CHAIR-SECTION"


def chair_plan(chair: Chair) -> tuple[Item, ...]:
    """A chair seen from above, u to the rear, with the outline it takes when reclined."""
    back, half = chair.eye_to_back, 0.5 * chair.width
    front, feet = back - chair.depth, back - chair.reclined
    arm, rest = 0.14 * chair.width, min(0.16 * chair.depth, 0.8 * back)

    def box(role: str, u: tuple[float, float], v: tuple[float, float]) -> Path:
        return Path(((u[0], v[0]), (u[1], v[0]), (u[1], v[1]), (u[0], v[1])), role, closed=True)

    return (
        box("recline", (feet, back), (-half, half)),
        box("chair", (front, back), (-half, half)),
        Path(((back - rest, -half + arm), (front, -half + arm)), "chair"),
        Path(((back - rest, half - arm), (front, half - arm)), "chair"),
        Path(((back - rest, -half), (back - rest, half)), "chair"),
        Circle((0.0, 0.0), min(0.1, 0.3 * half), "head"),
    )


def chair_section(chair: Chair) -> tuple[Item, ...]:
    """A reclined chair and its sitter from the side, u to the rear, front to the left."""
    eye, back, feet = chair.eye_height, chair.eye_to_back, chair.reclined - chair.eye_to_back
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
