"""Where another design differs from the best: both in one small plan, one pair to a plan, so that each can be read."""

from __future__ import annotations

from optimiser.sheet.figures import Figure
from optimiser.sheet.labels import Placer
from optimiser.sheet.plan import walls
from optimiser.sheet.scene import Circle, Scene


def overlay(best: Figure, name: str, other: Figure, denominator: float) -> Scene:
    """The best design in plan, in full lines with its rows' numbers above them, and where the one of this ``name`` places
    the front and the rows, dashed with its rows' numbers below."""
    scene = Scene("overlay", f"The best design and '{name}'", denominator)
    walls(scene, best)
    _outline(scene, best, "face", "image")
    _outline(scene, other, "other", "other image")
    place = Placer(scene, clear=("face", "image", "other", "other image"))
    for f, end, way, bold in ((best, 1, "above", True), (other, 0, "below", False)):
        ends = [(row.y, row.x[end]) for row in f.rows]
        for row, at in zip(f.rows, ends):
            rivals = [one for one in ends if one != at]
            place.put(f"{row.number}", at, prefer=(way, f"{way} left", f"{way} right"), bold=bold, rivals=rivals)
    scene.description = f"Plan with the best design in full lines and, dashed, the file's own '{name}'."
    return scene


def _outline(scene: Scene, f: Figure, role: str, image: str) -> None:
    if f.baffle_depth:
        left, right = f.baffle
        scene.line(role, (0.0, left), (f.baffle_depth, left), (f.baffle_depth, right), (0.0, right))
    scene.line(image, (f.image_y, f.image[0]), (f.image_y, f.image[1]))
    for row in f.rows:
        scene.line(role, (row.y, row.x[0]), (row.y, row.x[1]))
        for x in row.people:
            # heads are too small for dashes; the line that they sit on tells whose they are
            scene.add(Circle((row.y, x), 0.08, "other seat" if role == "other" else role))
