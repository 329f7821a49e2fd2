"""The picture of plan and section: to scale, legible, with labels that keep apart."""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from optimiser.design import spaces
from optimiser.problem.read import loads
from optimiser.seats import Seat
from optimiser.sheet import lettering
from optimiser.sheet.cells import bass_words
from optimiser.sheet.elevation import elevation
from optimiser.sheet.figures import figure, shell
from optimiser.sheet.labels import named, rows_named, spread, taped, together
from optimiser.sheet.picture import along, picture
from optimiser.sheet.plan import WALL, bass_boxes, plan
from optimiser.sheet.room import room_scenes
from optimiser.sheet.scene import (
    Circle,
    Dimension,
    Insert,
    Path,
    Running,
    Scene,
    Text,
    crosses,
    dimension_text,
    overlap,
    segments,
)
from optimiser.sheet.section import section
from optimiser.sheet.studies import fan
from optimiser.sheet.style import PAPER, STYLES, contrast
from optimiser.sheet.svg import Drawing
from tests.sheet.conftest import text

SVG = "{http://www.w3.org/2000/svg}"
CASES = [
    dict(rows=rows, show=show, projector=projector)
    for rows, show, projector in itertools.product((1, 2, 3, 4), ("mm", "ft-in"), (False, True))
] + [dict(rows=rows, show="mm", habits=True) for rows in (2, 3, 4)]
CORNERS = "bass: {arrangement: four_corners, height: 300 mm}"
OWN = "bass: {arrangement: own, positions: [{x: 1.1 m, y: 0 m, z: 0.3 m}, {x: 2.0 m, y: 6.9 m, z: 0.3 m}]}"
CASES += [dict(rows=2, bass=CORNERS), dict(rows=2, bass=OWN)]


def drawings(room, denominator: float, **case) -> list[Scene]:
    problem, space, design = room(**case)
    shown = figure(problem, space, design)
    upper = plan(shown, problem.show, denominator)
    along(upper, shown, problem.show)
    face = elevation(shown, problem.show, denominator)
    return [upper, section(shown, problem.show, denominator), face]


@pytest.mark.parametrize("denominator", (50, 75, 128))
@pytest.mark.parametrize("case", CASES)
def test_labels_do_not_overlap(room, case, denominator):
    for scene in drawings(room, denominator, **case):
        texts = scene.texts()
        assert len(texts) > 5
        for one, two in itertools.combinations(texts, 2):
            assert not overlap(scene.text_box(one), scene.text_box(two)), (scene.name, one.text, two.text)


@pytest.mark.parametrize("denominator", (50, 75, 128, 192))
@pytest.mark.parametrize("case", CASES)
def test_no_label_lies_on_the_line_of_a_running_dimension(room, case, denominator):
    for scene in drawings(room, denominator, **case):
        lines = [line for item in scene.items if isinstance(item, Running) for line in segments(item, scene.blocks)]
        assert lines
        for label, line in itertools.product((i for i in scene.items if isinstance(i, Text)), lines):
            assert not crosses(line, scene.text_box(label)), (scene.name, label.text)


@pytest.mark.parametrize("show", ("mm", "ft-in"))
def test_no_dimension_covers_the_ticks_at_its_ends(room, show):
    moved = 0
    for denominator in (20, 50, 75, 128, 192):
        face = drawings(room, denominator, show=show)[-1]
        for one in (item for item in face.items if isinstance(item, Dimension)):
            box = face.text_box(dimension_text(one))
            for u, v in (one.a, one.b):
                u, v = (u, one.line) if one.axis == "u" else (one.line, v)
                inside = box[0] < u < box[2] and box[1] < v < box[3]
                assert not inside, (denominator, one.text)
            moved += bool(one.shift or one.beside)
    assert moved  # at some scale the text is longer than what it measures


def test_what_stands_at_the_front_is_not_named_on_the_image(room):
    problem, space, design = room()
    shown = figure(problem, space, design)
    face = elevation(shown, problem.show, 64)
    (name,) = [one for one in face.texts() if one.text == "duct"]
    assert not overlap(face.text_box(name), (shown.image[0], shown.bottom, shown.image[1], shown.top))


@pytest.mark.parametrize("denominator", (50, 75, 128))
def test_what_is_smaller_than_its_name_is_named_beside_it(denominator):
    """A column of 30 cm: 6 mm at 1:50, where its name takes more."""
    post = "    - {name: column, x: [3.6 m, 3.9 m], y: [5.6 m, 5.9 m], z: [0 m, 2.7 m]}\n"
    problem = loads(text(rows=1).replace("  obstructions:\n", f"  obstructions:\n{post}"))
    (space,) = spaces(problem)
    design = {name: domain.ends[0] for name, domain in space.domains.items()} | space.settled
    shown = plan(figure(problem, space, design), problem.show, denominator)
    (name,) = [one for one in shown.texts() if one.text == "column"]
    assert not overlap(shown.text_box(name), (5.6, 3.6, 5.9, 3.9))


def test_the_elevation_has_the_outline_of_the_roof():
    """A gable of 1.4 m at the walls and 2.7 m at the ridge, over a room 4.4 m wide: the baffle and the walls end where it
    does, the height of the wall is told beside the ridge's, and the long section is cut at the image's middle."""
    gable = "ceiling_across: [{x: 0 m, height: 1.4 m}, {x: 2.2 m, height: 2.7 m}, {x: 4.4 m, height: 1.4 m}]"
    problem = loads(text(rows=1).replace("  height: 2.7 m\n", f"  height: 2.7 m\n  {gable}\n"))
    (space,) = spaces(problem)
    design = {name: domain.ends[0] for name, domain in space.domains.items()} | space.settled
    shown = figure(problem, space, design)
    face = elevation(shown, problem.show, 64)
    (baffle,) = [one for one in face.items if getattr(one, "role", "") == "baffle"]
    # 2.8 m of image, its frame and margins: 3.02 m, from x = 0.69 m; the slope rises 1.3 m in 2.2 m
    edge = 1.4 + 1.3 / 2.2 * 0.69
    expected = [(0.69, 0.0), (0.69, edge), (2.2, 2.7), (3.71, edge), (3.71, 0.0)]
    assert [pytest.approx(point) for point in expected] == list(baffle.points)
    walls = [one.points for one in face.items if getattr(one, "role", "") == "wall"]
    assert {(0.0, 1.4), (4.4, 1.4)} <= {point for wall in walls for point in wall}
    assert max(z for wall in walls for _, z in wall) == pytest.approx(2.7 + face.mm(WALL))
    words = [one.text for one in face.texts()]
    assert any("left wall" in word and "1400" in word for word in words) and any("2700" in word for word in words)
    assert shown.ceiling == ((0.0, 2.7), (7.2, 2.7))


def test_a_long_name_is_cut_in_the_drawings():
    source = text(rows=2).replace("name: duct", f"name: {'long ' * 16}").replace("name: store", f"name: {'x' * 80}")
    problem = loads(source)
    (space,) = spaces(problem)
    design = space.complete({name: domain.value for name, domain in space.domains.items()})
    for scene in drawings(lambda: (problem, space, design), 50):
        cut = [one for one in scene.texts() if "…" in one.text]
        names = [(one.text.rpartition(" mm ")[2], one.size) for one in cut]  # on a tape a length stands before
        assert cut and all(lettering.width(name, size) <= 42.0 for name, size in names)


def test_a_picture_has_in_full_below_it_what_it_cuts():
    """80 letters are cut on the plan; a name of 20 is cut on its tape and stands whole in the room."""
    source = (
        text(rows=2).replace("name: store", f"name: {'x' * 80}").replace("name: entry", "name: entry from the stair")
    )
    problem = loads(source)
    (space,) = spaces(problem)
    design = space.complete({name: domain.value for name, domain in space.domains.items()})
    words = [one.text or "" for one in ET.fromstring(picture(problem, space, design)).iter(f"{SVG}text")]
    start = next(n for n, word in enumerate(words) if word.startswith("In full: "))
    assert "x" * 80 in "".join(words[start:]) and "entry from the stair" in words
    assert not any("entry" in word for word in words[start : start + 2])


def test_long_names_that_end_otherwise_stay_apart():
    """7 points are 2.47 mm, and a letter 0.602 of that wide: 28 letters fit into 42 mm, 9 of them from the end."""
    left, right = (named(f"double door to the conservatory ({side} leaf)", "door") for side in ("left", "right"))
    assert left == "double door to the…eft leaf)" and right == "double door to the…ght leaf)"
    # on a tape 18 letters fit into 28 mm: 6 of them from the end would be alike, 9 are not
    both = [f"double door to the conservatory ({side} leaf)" for side in ("left", "right")]
    assert [taped(one, "door", both) for one in both] == ["double d…eft leaf)", "double d…ght leaf)"]
    assert named("e\u0301" * 60, "door").count("\u0301") == named("e\u0301" * 60, "door").count("e")
    assert named("", "door") == "door"


def test_steps_lie_beside_the_chairs_in_front_too(room):
    """Three seats in front of two: the wider row's chairs end nearer to the wall."""
    problem, space, design = room(rows=3)
    shown = figure(problem, space, design)
    front, back = shown.rows[1:]
    assert front.x[0] < back.x[0]
    assert shown.stairs(back) == ((0.0, front.x[0]),)


def test_no_text_is_smaller_than_seven_points(room):
    # 7 pt is 7 * 25.4 / 72 = 2.469 mm (definition of the desktop publishing point)
    for case in CASES:
        problem, space, design = room(**case)
        tree = ET.fromstring(picture(problem, space, design))
        sizes = [float(t.get("font-size")) for t in tree.iter(f"{SVG}text")]
        assert len(sizes) > 10 and min(sizes) >= 2.465


def test_the_page_is_in_millimetres_and_has_words_for_those_who_cannot_see_it(room):
    tree = ET.fromstring(picture(*room()))
    assert tree.get("role") == "img"
    view = [float(v) for v in tree.get("viewBox").split()]
    assert [tree.get("width"), tree.get("height")] == [f"{side:.10g}mm" for side in view[2:]]
    assert view[2] in (210, 297)
    named = {e.get("id"): e.text for e in tree.iter() if e.get("id")}
    title, words = (named[i] for i in tree.get("aria-labelledby").split())
    assert title == "A room"
    for fact in ("7200 mm long", "4400 mm wide", "image 2800 mm wide", "Row 2 sits on a platform 300 mm high"):
        assert fact in words


def corners(scene: Scene) -> set[tuple[float, float]]:
    """Every point of every line that the SVG of a scene has, in mm."""
    found: set[tuple[float, float]] = set()
    for element in Drawing(scene, (0.0, 0.0)).elements():
        for points in re.findall(r'points="([^"]*)"', element):
            x_y = (pair.split(",") for pair in points.split())
            found |= {(float(x), float(y)) for x, y in x_y}
    return found


def test_things_lie_where_the_design_puts_them(room):
    """Coordinates on paper against the file's own lengths, at 1:50 (1 m = 20 mm)."""
    upper, lower, _ = drawings(room, 50, rows=2)
    found = corners(upper)
    # image: at 400 + 75 mm from the front wall, from 800 to 3600 mm of a room 4400 mm wide
    assert {(9.5, -16.0), (9.5, -72.0)} <= found
    # baffle: 2800 + 2 (60 + 50) = 3020 mm wide, so from 690 to 3710 mm, 400 mm deep
    assert {(8.0, -13.8), (8.0, -74.2), (0.0, -13.8), (0.0, -74.2)} <= found
    # platform 2 begins behind row 1's chairs: 3600 + 200 mm
    assert (76.0, 0.0) in found and (144.0, 0.0) in found
    # image from 650 to 650 + 2800 / (16/9) = 2225 mm; eyes of row 2 at 300 + 1120 mm, 5300 mm from the front
    assert {(9.5, -13.0), (9.5, -44.5), (106.0, -28.4)} <= corners(lower)


def test_the_door_opens_into_the_room_towards_its_hinge(room):
    """Hinge at 1.6 m, leaf 0.8 m towards the front: open by 90 degrees it stands at right angles to the
    left wall at the hinge, and its edge sweeps from (0.8 m, 0) to (1.6 m, 0.8 m) in (y, x)."""
    upper = drawings(room, 50, rows=1)[0]
    elements = Drawing(upper, (0.0, 0.0)).elements()
    assert any('points="32,0 32,-16"' in e for e in elements)
    (arc,) = [e for e in elements if e.startswith("<path") and "Z" in e]
    numbers = [float(n) for n in re.findall(r"-?\d+\.?\d*", arc.split('"')[1])]
    assert {(numbers[0], numbers[1]), (numbers[7], numbers[8])} == {(16.0, 0.0), (32.0, -16.0)}
    assert numbers[2:4] == [16.0, 16.0] and numbers[9:] == [32.0, 0.0]


def test_a_door_that_opens_out_stands_outside(room):
    """Hinge in the rear wall 0.4 m from the left wall, leaf 0.7 m towards the right, open by 90 degrees."""
    elements = Drawing(drawings(room, 50, rows=1)[0], (0.0, 0.0)).elements()
    assert any('points="144,-8 158,-8"' in e for e in elements)
    (arc,) = [e for e in elements if e.startswith("<path") and "Z" not in e]
    numbers = [float(n) for n in re.findall(r"-?\d+\.?\d*", arc.split('"')[1])]
    assert {(numbers[0], numbers[1]), (numbers[7], numbers[8])} == {(158.0, -8.0), (144.0, -22.0)}


def test_the_clearance_that_is_written_is_the_one_that_is_drawn(room):
    """Row 2's line of sight to the image's lower edge, by similar triangles from the file's lengths."""
    scene = drawings(room, 50, rows=2)[1]
    eye1, eye2, d1, d2, bottom = 1.12, 1.42, 3.6 - 0.475, 5.3 - 0.475, 0.65
    over = bottom + (eye2 - bottom) * d1 / d2 - eye1
    assert any(t.text == f"row 2 over row 1: {1000 * over:.1f} mm" for t in scene.texts())


@pytest.mark.parametrize("denominator", (50, 75, 128))
@pytest.mark.parametrize("rows, show", list(itertools.product((2, 3, 4), ("mm", "ft-in"))))
def test_a_clearance_stands_at_the_heads_that_it_passes_over(room, rows, show, denominator):
    """It names both rows, and a line leads from it to the eyes in front, in the heights of the file: 1.12 m and
    300 mm a platform; each row behind is 1.7, 1.5 or 1 m farther back."""
    scene = drawings(room, denominator, rows=rows, show=show)[1]
    first, pitch = {2: (3.6, 1.7), 3: (2.9, 1.5), 4: (2.9, 1.0)}[rows]
    leaders = [item.points for item in scene.items if isinstance(item, Path) and item.role == "leader"]
    for front in range(1, rows):
        (label,) = [t for t in scene.texts() if t.text.startswith(f"row {front + 1} over row {front}: ")]
        box, y, eye = scene.text_box(label), first + (front - 1) * pitch, 1.12 + 0.3 * (front - 1)
        (leader,) = [points for points in leaders if touches(points[-1], box)]
        assert leader[0][0] == pytest.approx(y) and eye < leader[0][1] < eye + 0.35


def touches(point: tuple[float, float], box: tuple[float, float, float, float]) -> bool:
    return box[0] - 1e-9 <= point[0] <= box[2] + 1e-9 and box[1] - 1e-9 <= point[1] <= box[3] + 1e-9


@pytest.mark.parametrize("denominator", (50, 75, 128))
@pytest.mark.parametrize("case", CASES)
def test_labels_hide_no_head(room, case, denominator):
    for scene in drawings(room, denominator, **case):
        spots = [
            (part, item.at) for item in scene.items if isinstance(item, Insert) for part in scene.blocks[item.block]
        ] + [(item, (0.0, 0.0)) for item in scene.items]
        heads = [(c.centre[0] + u, c.centre[1] + v, c.radius) for c, (u, v) in spots if isinstance(c, Circle)]
        for label in scene.texts():
            a, b, c, d = scene.text_box(label)
            for u, v, r in heads:
                assert not (a < u + r and u - r < c and b < v + r and v - r < d), (scene.name, label.text)


@pytest.mark.parametrize(
    "title",
    [
        '<script>alert(1)</script> & "quotes"',
        "אולם הקרנה קטן",
        "قاعة عرض",
        "Loft 🎬🍿",
        "x" * 300,
        "long words " * 27,
    ],
)
def test_titles_are_text_whatever_they_hold(room, title):
    problem, space, design = room()
    svg = picture(replace(problem, title=title), space, design)
    tree = ET.fromstring(svg)
    assert tree.find(f"{SVG}title").text == title
    assert "<script" not in svg
    width = float(tree.get("viewBox").split()[2])
    for one in tree.iter(f"{SVG}text"):
        if one.get("font-weight") == "bold" and float(one.get("font-size")) > 4:
            assert float(one.get("x")) + lettering.width(one.text, 14) <= width


def test_same_design_same_bytes(room):
    assert picture(*room(rows=3)) == picture(*room(rows=3))


def test_inks_are_legible_on_paper_and_on_tints():
    """4.5 to 1 is WCAG 2.2's least contrast of text (success criterion 1.4.3)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)  # WCAG's own example
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # a grey known to fail just so
    inks = {s.stroke for s in STYLES.values() if s.stroke}
    for ink in inks:
        assert contrast(ink, PAPER) >= 4.5


def test_lines_that_could_be_confused_differ_in_more_than_colour():
    thin = [(name, s) for name, s in STYLES.items() if s.layer.startswith("STUDY")]
    for (one, a), (two, b) in itertools.combinations(thin, 2):
        if a.stroke != b.stroke and {one, two} != {"curve", "clearance"}:
            assert (a.dash, a.weight) != (b.dash, b.weight), (one, two)


def test_spread_moves_places_apart_and_no_more_than_needed():
    assert spread([0.0, 10.0], 3.0) == [0.0, 10.0]
    assert spread([0.0, 1.0], 3.0) == [-1.0, 2.0]
    assert spread([5.0, 5.0, 5.0], 2.0) == [3.0, 5.0, 7.0]
    # each pair by its own, by hand: the three at 0, 2 and 5 from the first, whose mean is to stay at 5
    assert spread([5.0, 5.0, 5.0], [2.0, 3.0]) == pytest.approx([5 - 7 / 3, 7 - 7 / 3, 10 - 7 / 3])
    assert spread([0.0, 4.0, 4.5], [3.0, 1.0]) == pytest.approx([0.0, 3.75, 4.75])


def test_a_line_through_a_box_is_seen():
    box = (0.0, 0.0, 2.0, 1.0)
    assert crosses(((-1.0, 0.5), (3.0, 0.5)), box)
    assert crosses(((0.5, 0.5), (0.6, 0.5)), box)
    assert not crosses(((-1.0, 2.0), (3.0, 1.5)), box)
    assert not crosses(((-1.0, 0.5), (-0.1, 0.5)), box)
    assert not crosses(((1.0, 1.5), (1.0, 3.0)), box)


def test_bar_wheelchair_and_guard_are_drawn_where_they_are(room):
    """By hand, from the text of the room: rows 1.7 m apart from 3.6 m, a stagger of half of 0.76 m, one place
    of 0.9 m beside three seats of 0.76 m in a room 4.4 m wide, whose middle is 2.2 m."""
    problem, space, design = room(rows=2, habits=True)
    shown = figure(problem, space, design)
    first, bar = shown.rows
    assert bar.bar and not first.bar
    assert first.x == pytest.approx((2.2 - (3 * 0.76 + 0.9) / 2, 2.2 + (3 * 0.76 + 0.9) / 2))
    assert first.places == pytest.approx([first.x[1] - 0.45])
    views = fan(
        shown, 50, {1: 0.8, 2: 0.6}
    )  # everyone is in the plan of viewing angles: three, one, and three at the bar
    assert sum(getattr(item, "role", "") == "head" for item in views.items) == 7
    assert bar.seats == pytest.approx([2.2 + 0.38 + 0.6 * k for k in (-1, 0, 1)])
    assert (bar.feet, bar.back) == pytest.approx((5.3 - 0.45, 5.6))
    assert [(row.number, top) for row, top in shown.guards] == [(2, pytest.approx(1.2))]
    upper, lower, _ = drawings(room, 50, rows=2, habits=True)
    counters = [item for item in upper.items if getattr(item, "role", "") == "counter"]
    assert [min(p[0] for p in c.points) for c in counters] == pytest.approx([4.85])
    guards = [item.points for item in lower.items if getattr(item, "role", "") == "guard"]
    assert [tuple(p) for p in guards[0]] == [pytest.approx((3.8, 0.3)), pytest.approx((3.8, 1.2))]
    names = {text.text for text in (*upper.texts(), *lower.texts())}
    assert {"row 2 (bar)", "wheelchair", "guard"} <= names


@pytest.mark.parametrize(
    "words, places",
    (
        # by their definition: corners of the floor from the baffle's face, 400 mm from the front wall, to the rear wall
        (CORNERS, [(0.4, 0.0), (0.4, 4.4), (7.2, 0.0), (7.2, 4.4)]),
        # as the file says; what stands in the baffle plays from its face
        (OWN, [(0.4, 1.1), (6.9, 2.0)]),
    ),
)
def test_bass_loudspeakers_stand_where_the_arrangement_has_them(room, words, places):
    problem, space, design = room(rows=2, bass=words)
    shown = figure(problem, space, design)
    for x, y, _ in shown.bass:
        assert any((y, x) == pytest.approx(place) for place in places)
    assert len(shown.bass) == len(places)
    assert {z for _, _, z in shown.bass} == {0.3}
    boxes = sorted(bass_boxes(shown))
    assert len(boxes) == len(places)
    for (deep, wide), (y, x) in zip(sorted(boxes, key=lambda one: (one[0][0] > 1.0, one[1])), places):
        # in the room, against a wall or about its place; behind the baffle's face where it is in the baffle, which is
        # between 690 and 3710 mm from the left wall
        assert 0.0 <= deep[0] and deep[1] <= 7.2 and 0.0 <= wide[0] and wide[1] <= 4.4
        assert deep[1] == pytest.approx(0.4) if y == 0.4 and 0.69 < x < 3.71 else deep[0] <= y <= deep[1]
        assert wide[0] <= x <= wide[1]
    assert sum(one.text == "bass" for one in plan(shown, "mm", 50).texts()) == len(places)


def test_loudspeakers_that_no_baffle_holds_are_drawn_before_the_front_wall():
    """Cabinets 0.3 m deep beside an image on the wall: from the wall, at 0, into the room, in plan and section."""
    free = (
        "baffle: {depth: 0 mm}\n  loudspeakers: {place: beside, width: 0.25 m, height: 0.5 m, gap: 50 mm, depth: 0.3 m}"
    )
    problem = loads(text(rows=1).replace("baffle: {depth: 400 mm, margin: 50 mm}", free))
    (space,) = spaces(problem)
    design = {name: domain.ends[0] for name, domain in space.domains.items()} | space.settled
    shown = figure(problem, space, design)
    for drawn, count in ((plan(shown, "mm", 50), 2), (section(shown, "mm", 50), 1)):
        points = [i.points for i in drawn.items if getattr(i, "role", "") == "loudspeaker" and len(i.points) == 4]
        assert [(min(x for x, _ in each), max(x for x, _ in each)) for each in points] == [(0.0, 0.3)] * count


@pytest.mark.parametrize("place", ["beside", "under", "over"])
def test_loudspeakers_that_no_baffle_holds_have_their_letters_and_the_image_its_name_beside_them(place):
    """The cabinets are 0.3 m deep and 0.25 m wide. Each letter lies within 0.2 m before its face; the name of the image lies on no
    cabinet, in plan and section."""
    free = f"baffle: {{depth: 0 mm}}\n  loudspeakers: {{place: {place}, width: 0.25 m, height: 0.25 m, gap: 50 mm, depth: 0.3 m}}"
    source = text(rows=1).replace("baffle: {depth: 400 mm, margin: 50 mm}", free)
    problem = loads(source.replace("2800 mm", "2400 mm"))
    (space,) = spaces(problem)
    design = {name: domain.ends[0] for name, domain in space.domains.items()} | space.settled
    shown = figure(problem, space, design)
    found = plan(shown, "mm", 50)
    for one in shown.loudspeakers:
        (letter,) = [t for t in found.texts() if t.text == one.name]
        assert 0.3 < letter.at[0] < 0.5 and abs(letter.at[1] - one.x) < 0.2
    for drawn in (found, section(shown, "mm", 50)):
        (name,) = [t for t in drawn.texts() if t.text == "image"]
        a, b, c, d = drawn.text_box(name)
        for each in (i.points for i in drawn.items if getattr(i, "role", "") == "loudspeaker" and len(i.points) == 4):
            (left, low), (right, high) = map(min, zip(*each)), map(max, zip(*each))
            assert c < left or right < a or d < low or high < b


@pytest.mark.parametrize(
    ("level", "said"), [(0.04, "0.0 dB"), (-0.04, "0.0 dB"), (-0.06, "-0.1 dB"), (0.24, "+0.2 dB")]
)
def test_a_seat_that_hears_the_mean_is_told_without_a_sign(level, said):
    seat = Seat(1, 1, 2.0, 3.0, 3.0, 0.8, 0.0, (0.4, 0.4), None, bass=level, bass_dip=2.0)
    assert bass_words(seat) == (said, "2.0 dB")


def test_what_rows_have_at_one_place_is_named_once():
    """Four rows on one level floor: their eyes are all 1.1 m above it."""
    assert together(["eyes, row 1", "eyes, row 2", "eyes, row 3", "eyes, row 4"]) == "eyes, rows 1 to 4"
    assert together(["image", "eyes, row 1", "lens", "eyes, row 3"]) == "image, eyes, rows 1 and 3, lens"
    assert together(["image", "image"]) == "image" and together(["eyes, row 2"]) == "eyes, row 2"
    assert rows_named([1, 2]) == "rows 1 and 2" and rows_named([1, 2, 4]) == "rows 1, 2 and 4"


@pytest.mark.parametrize(
    ("along", "across", "names"),
    [
        ("", "", {"ceiling": 3.22}),
        (
            "y: 0 m, height: 2.5 m}, {y: 7.2 m, height: 3.22 m",
            "",
            {"ceiling at front wall": 2.5, "ceiling at baffle": 2.54},
        ),
        ("", "x: 0 m, height: 2.4 m}, {x: 4.4 m, height: 3.22 m", {"ceiling": 2.81, "highest ceiling": 3.22}),
    ],
)
def test_a_ceilings_height_is_told_with_its_place(along, across, names):
    """By hand: a rise of 720 mm over 7200 mm is 40 mm at the baffle's face, 400 mm from the front wall; the section is cut in
    the middle of the room, half of the way up a slope across it."""
    given = "".join(
        f"  {key}: [{{{points}}}]\n" for key, points in (("ceiling", along), ("ceiling_across", across)) if points
    )
    problem = loads(text(rows=1).replace("  height: 2.7 m\n", f"  height: 3.22 m\n{given}"))
    (space,) = spaces(problem)
    shown = figure(problem, space, {name: domain.ends[0] for name, domain in space.domains.items()} | space.settled)
    found = {}
    for scene in (section(shown, problem.show, 64), elevation(shown, problem.show, 64)):
        tape = next(item for item in scene.items if isinstance(item, Running) and item.axis == "v")
        found |= {mark.name: round(mark.position, 6) for mark in tape.marks if "ceiling" in mark.name}
    assert found == names


def test_a_stepped_ceiling_is_cut_and_measured():
    """2.7 m as far as 5 m from the front, 2.3 m behind: both heights on the tape at the rear, and the face between them
    as thick as a wall, on its lower side."""
    low = "ceiling: [{y: 0 m, height: 2.7 m}, {y: 5 m, height: 2.7 m}, {y: 5 m, height: 2.3 m}, {y: 7.2 m, height: 2.3 m}]"
    problem = loads(text(rows=1).replace("  height: 2.7 m\n", f"  height: 2.7 m\n  {low}\n"))
    (space,) = spaces(problem)
    design = {name: domain.ends[0] for name, domain in space.domains.items()} | space.settled
    cut = section(figure(problem, space, design), problem.show, 64)
    tapes = [item for item in cut.items if isinstance(item, Running)]
    assert {round(mark.position, 6) for mark in tapes[1].marks if mark.name == "ceiling"} == {2.3, 2.7}
    walls = [item.points for item in cut.items if getattr(item, "role", "") == "wall"]
    thick = cut.mm(WALL)
    face = {(5.0, 2.3), (5.0 + thick, 2.3), (5.0 + thick, 2.7 + thick), (5.0, 2.7 + thick)}
    assert any(face == set(wall) for wall in walls)


def test_the_tint_of_a_door_hides_no_step_and_no_obstruction(room):
    """What is drawn later covers what is drawn before: a person must see the step that lies in a door's sweep."""
    problem, space, design = room(rows=2)
    shown = figure(problem, space, design)
    for scene in (plan(shown, "mm", 50), room_scenes(shell(problem.room), "mm", 50)[0]):
        roles = [getattr(item, "role", "") for item in scene.items]
        tinted = max(k for k, role in enumerate(roles) if role == "swing")
        assert all(k > tinted for k, role in enumerate(roles) if role in ("step", "obstruction", "overhead"))
        assert {"obstruction", "overhead"} & set(roles)


def test_the_tint_of_a_door_hides_no_platforms_edge():
    """The platform of row 2 begins at 3.8 m; a door from 3.4 m to 4.2 m opens out over it, and floor is kept before it."""
    source = text(rows=2).replace("hinge: 1.6 m", "hinge: 4.2 m").replace("opens: in, angle: 90 deg", "opens: out")
    problem = loads(source, "x")
    (space,) = spaces(problem)
    design = space.complete({name: domain.value for name, domain in space.domains.items()})
    scene = plan(figure(problem, space, design), "mm", 50)
    roles = [getattr(item, "role", "") for item in scene.items]
    tinted = max(k for k, role in enumerate(roles) if role == "swing")
    after = [item.points for k, item in enumerate(scene.items) if k > tinted and roles[k] == "platform"]
    assert [tuple(p) for p in after[0]] == [pytest.approx((3.8, 0.0)), pytest.approx((3.8, 4.4))]
