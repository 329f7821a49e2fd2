"""A first problem file for a room of given size: commented, complete, and ready to be changed."""

from __future__ import annotations

import math
from collections.abc import Mapping

from optimiser.errors import UsageError, of_each
from optimiser.problem.codes import NONE
from optimiser.problem.decisions import MOST_ROWS
from optimiser.quantity import SYSTEMS, Number, parse, show, show_grid

INCH = 0.0254
LEAST: dict[str, float] = {"length": 2.8, "width": 2.0, "height": 2.1}  # m; smaller rooms hold no screen and chair
GREATEST = 40.0  # m

# Millimetres and inches that a file in either system starts from: neither is a conversion of the
# other, both are round.
_ROUND: dict[str, tuple[int, float]] = {
    "baffle from": (300, 12),
    "baffle to": (500, 20),
    "margin": (50, 2),
    "bezel wide": (100, 4),
    "bezel slim": (50, 2),
    "gap": (75, 3),
    "bottom from": (500, 20),
    "bottom to": (1100, 44),
    "least image": (1500, 60),
    "chair width": (760, 30),
    "chair depth": (960, 38),
    "chair reclined": (1680, 66),
    "eye height": (1120, 44),
    "eye to back": (200, 8),
    "head above eye": (115, 4.5),
    "aisle": (915, 36),
    "platform step": (10, 0.5),
    "going": (280, 11),
    "end from": (150, 6),
    "end to": (1500, 60),
    "listening": (2100, 84),
    "sightline limit": (60, 2.5),
    "sightline goal": (120, 4.75),
    "sightline fade": (60, 2.25),
    "walkway": (305, 12),
    "riser": (196, 7.75),
    "headroom": (2032, 80),
    "midpoint": (400, 16),
    "behind": (900, 36),
}


class _Words:
    """Lengths in the words of the file's system."""

    def __init__(self, system: str) -> None:
        self.system = system
        self.imperial = system in ("ft-in", "in")

    def metres(self, name: str) -> float:
        millimetres, inches = _ROUND[name]
        return inches * INCH if self.imperial else millimetres / 1000

    def __call__(self, name: str) -> str:
        millimetres, inches = _ROUND[name]
        if self.imperial:
            return self.exactly(inches * INCH)
        return self.exactly(millimetres / 1000)

    def exactly(self, value: Number) -> str:
        """A length as the file shows it; lengths up to 8 ft stay in inches."""
        system = "in" if self.system == "ft-in" and abs(float(value)) <= 96 * INCH else self.system
        return show("length", value, system)

    def kept(self, value: Number, typed: str | None) -> str:
        """A length that somebody measured: as the file shows it where that is the length itself, else as it was typed."""
        shown = self.exactly(value)
        if math.isclose(float(parse("length", shown)), float(value), rel_tol=1e-9):
            return shown
        return " ".join(typed.split()) if typed else show_grid(value, self.system)

    def rounded(self, value: Number) -> str:
        """A length down to a whole inch or centimetre."""
        unit = INCH if self.imperial else 0.01
        return self.exactly(int(float(value) / unit + 1e-6) * unit)


def size_fault(name: str, value: Number, system: str) -> str:
    """Why no file can begin with this length, width or height [m] of a room; empty where one can."""
    # to a millimetre, for the ends are shown rounded
    if LEAST[name] - 0.001 <= value <= GREATEST + 0.001:
        return ""
    least, greatest, given = (show("length", size, system) for size in (LEAST[name], GREATEST, value))
    return f"a room's {name} must be from {least} to {greatest}, not {given}"


def rows_fault(rows: int | None) -> str:
    """Why no file can begin with this number of rows; empty where one can."""
    return "" if rows is None or 1 <= rows <= MOST_ROWS else f"from 1 to {MOST_ROWS}, not {rows}"


def title_fault(title: str) -> str:
    """Why no file can have this title; empty where one can."""
    from optimiser.problem.fields import LONGEST_TEXT  # what starter() itself need not wait for
    from optimiser.problem.yaml_reader import NOT_YAML

    text = " ".join(title.split())
    if NOT_YAML.search(text):
        return "it holds a control character"
    if len(text) > LONGEST_TEXT:
        return f"it is longer than {LONGEST_TEXT} characters"
    return "" if text else "write a word or two"


def starter(
    *,
    length: Number,
    width: Number,
    height: Number,
    show: str,
    rows: int | None = None,
    title: str = "A first look at the room",
    typed: Mapping[str, str] | None = None,
) -> str:
    """The text of a problem file for a room of these dimensions (m), in the units of ``show``; a dimension that these show
    only rounded stands as it was ``typed``, by its name.

    ``rows`` is the greatest number of rows to consider; left out, what the length has space for.
    Raises UsageError for rooms and numbers of rows that no file can begin with, a line each.
    """
    if show not in SYSTEMS:
        raise UsageError(f"show: '{show}' is not one of {', '.join(SYSTEMS)}")

    def check(item: tuple[str, Number | int | None]) -> None:
        name, value = item
        fault = rows_fault(value) if name == "rows" else size_fault(name, value, show)
        if fault:
            raise UsageError(f"{name}: {fault}")

    of_each(check, {"length": length, "width": width, "height": height, "rows": rows}.items())
    words = _Words(show)
    if rows is None:
        pitch = words.metres("chair reclined") + words.metres("walkway")
        rows = max(1, min(3, int((float(length) - words.metres("baffle from") - 1.5) / pitch)))
    lines = [
        *_head(title, show),
        *_room(words, {"length": length, "width": width, "height": height}, typed or {}),
        *_front(words, width, height),
        *_seating(words, width, height, rows),
        *_limits(words, rows),
        *_goals(words, width, rows),
    ]
    return "\n".join(lines) + "\n"


def _head(title: str, system: str) -> list[str]:
    quoted = " ".join(title.split()).replace("\\", "\\\\").replace('"', '\\"')
    return [
        "# A problem file: a room as it stands, what may be chosen in it, what must hold, what should hold.",
        "# Lengths carry their unit: 18 ft 9 in, 114 in, 2.4 m, 295 cm, 2400 mm. A decision is a value,",
        "# or {from: ..., to: ...} for the optimiser to settle, or {choose: [...]} for it to pick.",
        "# Change what does not fit your room; every key is checked, and told to you if it is wrong.",
        "format: 1",
        f'title: "{quoted}"',
        f"show: {system}",
        "",
    ]


def _room(words: _Words, sizes: Mapping[str, Number], typed: Mapping[str, str]) -> list[str]:
    width, height = sizes["width"], sizes["height"]
    hinge, leaf = words.rounded(1.6), words.rounded(0.82)
    across = f"[{words.rounded(0)}, {words.rounded(width)}]"
    along = f"[{words.rounded(0)}, {words.rounded(0.6)}]"
    up = f"[{words.rounded(float(height) - 0.3)}, {words.rounded(height)}]"
    return [
        "# The room, finished face to finished face: length from the front wall, which has the image, to",
        "# the rear wall. Lay each door in: how far its hinge is from the front wall (or, in the front and",
        "# rear walls, from the left wall), to which side of the hinge it lies closed, and how it opens.",
        "room:",
        *(f"  {name}: {words.kept(size, typed.get(name))}" for name, size in sizes.items()),
        "  doors: []",
        f"  # - {{name: entry, wall: left, hinge: {hinge}, leaf: {leaf}, towards: front, opens: in}}",
        "  obstructions: []",
        f"  # - {{name: soffit, x: {across}, y: {along}, z: {up}}}",
        "",
    ]


def _front(words: _Words, width: Number, height: Number) -> list[str]:
    frame = 2 * (words.metres("bezel slim") + words.metres("margin"))
    widest = float(width) - frame
    top_of_bottom = min(words.metres("bottom to"), 0.4 * float(height))
    return [
        "# The front: a baffle wall deep enough for the loudspeakers, and the image in its frame. Depth",
        "# and frame are the optimiser's to choose; the deeper the wall, the harder a door bites.",
        "front:",
        f"  baffle: {{depth: {{from: {words('baffle from')}, to: {words('baffle to')}}}, margin: {words('margin')}, solid: true}}",
        "  screen:",
        '    aspect: {choose: ["16:9", "2.40:1"]}',
        f"    width: {{from: {words.rounded(min(words.metres('least image'), 0.5 * widest))}, to: {words.rounded(widest)}}}",
        f"    bezel: {{choose: [{words('bezel wide')}, {words('bezel slim')}]}}",
        f"    gap: {words('gap')}",
        f"    bottom: {{from: {words('bottom from')}, to: {words.rounded(top_of_bottom)}}}",
        "  # How high the loudspeakers' axes are behind the image: level with the ears, unless a goal asks for more.",
        f"  loudspeakers: {{z: {{from: {words('bottom from')}, to: {words.rounded(0.75 * float(height))}}}}}",
        "",
    ]


def _seats(words: _Words, width: Number, rows: int) -> tuple[int, bool]:
    """Most seats in a row, and whether an aisle fits beside them: rows stand in the middle."""
    chair, aisle = words.metres("chair width"), words.metres("aisle")
    beside_aisle = int((float(width) - 2 * aisle) / chair + 1e-9)
    if beside_aisle >= (1 if rows > 1 else 2):
        return min(5, beside_aisle), True
    return min(5, int(float(width) / chair + 1e-9)), False


def _seating(words: _Words, width: Number, height: Number, rows: int) -> list[str]:
    seats, aisle = _seats(words, width, rows)
    choice = f"{{choose: [{seats - 1}, {seats}]}}" if seats > 1 else "1"
    heads = 1.25  # m; top of a seated head above its platform
    highest = min(0.2 * (rows - 1) + 0.1, float(height) - heads - 0.8) if rows > 1 else 0.0
    lines = [
        "# The seats: how many rows and how many in each; measure your own chair. A row's place is that of",
        "# its people's eyes and ears.",
        "seating:",
        f"  rows: {f'{{from: 1, to: {rows}}}' if rows > 1 else 1}",
        "  reference_row: 1",
        f"  seats: {choice}",
        "  chair:",
        f"    width: {words('chair width')}",
        f"    depth: {words('chair depth')}",
        f"    reclined: {words('chair reclined')}",
        f"    eye_height: {words('eye height')}",
        f"    eye_to_back: {words('eye to back')}",
        f"    head_above_eye: {words('head above eye')}",
    ]
    if aisle:
        lines.append(f"  aisle: {{sides: one, width: {words('aisle')}}}")
    if highest >= 0.05:
        lines += [
            "  # The last platform runs to the rear wall. Before a door there that opens in, on to the floor, it must end",
            f"  # behind its chairs: add behind: {{from: {words('end from')}, to: {words('end to')}}}, and steps lead down.",
            "  # Steps up to a row lie in the aisle, each as deep as going says where the rows leave room for it.",
            f"  platform: {{step: {words('platform step')}, to: {words.rounded(highest)}, going: {words('going')}}}",
        ]
    return [*lines, ""]


def _limits(words: _Words, rows: int) -> list[str]:
    lines = [
        "# What must hold. Steps, headroom and guards are matters of safety: the values here are a common",
        "# building code's and no advice; ask the local building authority, and a licensed professional.",
        "# codes: us-dwelling or uk-dwelling brings more of them, each with its clause.",
        f"codes: {NONE}",
        "limits:",
        f"  - {{measure: listening_distance, at_least: {words('listening')}}}",
        f"  - {{measure: walkway, at_least: {words('walkway')}}}",
    ]
    if rows > 1:
        lines += [
            f"  - {{measure: sightline_clearance, at_least: {words('sightline limit')}}}",
            f"  - {{measure: riser_step, at_most: {words('riser')}, firm: true}}         # IRC 2018 R311.7.5.1",
            f"  - {{measure: standing_headroom, at_least: {words('headroom')}, firm: true}}  # IRC 2018 R311.7.2, for stairs",
        ]
    return [*lines, ""]


def _goals(words: _Words, width: Number, rows: int) -> list[str]:
    image = 0.85 * float(width)
    lines = [
        "# What should hold: full score in the band, none beyond the fade. Weights are shares: what matters",
        "# twice as much gets twice the weight. The bands are common practice; put your own in their place.",
        "goals:",
        "  - {measure: horizontal_angle, row: reference, band: [45 deg, 55 deg], fade: 10 deg, weight: 5}",
        "  - {measure: upward_angle, row: all, at_most: 15 deg, fade: 10 deg, weight: 2}",
        "  - {measure: length_fraction, row: reference, band: [0.58, 0.72], fade: 0.12, weight: 3}",
        f"  - {{measure: midpoint_offset, row: all, at_least: {words('midpoint')}, fade: {words('midpoint')}, weight: 2}}",
        f"  - {{measure: image_width, at_least: {words.rounded(image)}, fade: {words.rounded(0.5 * image)}, weight: 2}}",
        f"  - {{measure: rear_wall_distance, row: all, at_least: {words('behind')}, fade: {words('behind')}, weight: 1}}",
    ]
    if rows > 1:
        lines.append(
            f"  - {{measure: sightline_clearance, row: all, at_least: {words('sightline goal')}, fade: {words('sightline fade')}, weight: 2}}"
        )
    wanted = _seats(words, width, rows)[0] * min(rows, 2)
    return [
        *lines,
        f"  - {{measure: seat_count, at_least: {wanted}, fade: {max(1, wanted // 2)}, weight: 2}}",
    ]
