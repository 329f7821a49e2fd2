"""The empty room, drawn where no design exists: its sheet, its drawings, its dimensions."""

from __future__ import annotations

import io
import itertools
import re

import ezdxf
import pypdf
import pytest

from optimiser.explain.concessions import Concessions
from optimiser.problem.read import loads
from optimiser.sheet.brief import brief
from optimiser.sheet.content import sheet
from optimiser.sheet.dxf import dxf
from optimiser.sheet.figures import shell
from optimiser.sheet.html import html
from optimiser.sheet.make import KINDS, write
from optimiser.sheet.material import Material, Reasons
from optimiser.sheet.paper import A4, LETTER
from optimiser.sheet.pdf import sheet_pdf
from optimiser.sheet.room import room_scenes
from optimiser.sheet.scene import overlap
from optimiser.solve import Solution
from tests.sheet.conftest import text

WINDOW = (
    "  openings:\n    - {name: dormer, kind: window, wall: right, along: [4 m, 5.2 m], z: [0.9 m, 2 m], keep: 100 mm}\n"
)


def source(show: str = "mm") -> str:
    """Ears 9 m from the baffle at least, in a room 7.2 m long; and that limit is firm."""
    return (
        text(rows=1, show=show)
        .replace("row: all, at_least: 2 m}", "row: all, at_least: 9 m, firm: true}")
        .replace("  obstructions:\n", WINDOW + "  obstructions:\n")
    )


def hopeless_material(show: str = "mm") -> Material:
    """A room in which nothing can be built, and nothing that may give way is enough."""
    none = Solution(loads(source(show), "x"), "impossible", 0.001, False, None)
    return Material(none, source(show), "x", reasons=Reasons(concessions=Concessions((), None, "limits", True, False)))


@pytest.fixture(scope="module")
def hopeless(tmp_path_factory):
    """The folder with all that is written of such a room."""
    folder = tmp_path_factory.mktemp("hopeless")
    write(hopeless_material(), folder, KINDS, (A4, LETTER))
    return folder


def test_where_nothing_can_give_way_the_room_is_shown_and_no_seat(hopeless):
    page = (hopeless / "sheet.html").read_text(encoding="utf-8")
    headings = re.findall(r'<h2 id="(\w+)-heading">', page)
    # the file has no limit on safety, and there is nothing to caution about
    assert headings == ["concessions", "brief", "room", "method", "file"]
    assert "No design exists that holds all the limits" in page and "The nearest design" not in page
    assert page.count("<svg") == 1
    words = re.findall(r"<text[^>]*>([^<]*)</text>", page)
    for name in (
        "entry",
        "store",
        "duct",
        "radiator",
        "dormer",
        "front wall",
        "7200 mm rear wall",
        "4400 mm right wall",
    ):
        assert name in words, name
    assert not any("row" in w or "image" in w or "baffle" in w for w in words)


def test_its_drawings_are_the_rooms(hopeless):
    names = {p.name for p in hopeless.iterdir()}
    drawn = {f"room-{view}.{kind}" for view in ("plan", "section") for kind in ("svg", "pdf")}
    assert names == {"sheet.html", "sheet-a4.pdf", "sheet-letter.pdf", "room.dxf"} | drawn


def test_every_place_in_the_dxf_is_the_rooms(hopeless):
    """By hand from the file: a door's leaf lies 800 mm towards the front from its hinge at 1600, another one's
    700 mm towards the right from 400; the duct ends at 500 mm and hangs at 2450; the radiator is 100 mm off the floor."""
    document = ezdxf.readfile(hopeless / "room.dxf")
    audit = document.audit()
    assert not audit.errors and not audit.fixes
    found: dict[str, set[float]] = {}
    for entity in document.modelspace().query("DIMENSION"):
        for name in entity.dxf.text.replace("<>", "").split(","):
            found.setdefault(name.strip(), set()).add(round(entity.get_measurement(), 3))
    assert found == {
        "entry": {800.0, 1600.0},
        "store": {400.0, 1100.0},
        "duct": {500.0, 2450.0},
        "radiator": {2000.0, 3400.0, 4280.0, 100.0, 700.0},
        "rear wall": {7200.0},
        "right wall": {4400.0},
        "ceiling": {2700.0},
    }
    layers = {e.dxf.layer for e in document.modelspace()}
    assert {"ROOM-WALLS", "ROOM-DOORS", "ROOM-OBSTRUCTIONS", "ROOM-WINDOWS"} <= layers
    assert not any(name.startswith(("SEATING", "SCREEN", "CARPENTRY", "JOINERY")) for name in layers)


@pytest.mark.parametrize("show, denominator", list(itertools.product(("mm", "ft-in"), (48, 75, 128))))
def test_its_labels_do_not_overlap(show, denominator):
    room = shell(loads(source(show), "x").room)
    for scene in room_scenes(room, show, denominator):
        assert scene.description and len(scene.texts()) > 5
        for one, two in itertools.combinations(scene.texts(), 2):
            assert not overlap(scene.text_box(one), scene.text_box(two)), (scene.name, one.text, two.text)
        assert all(t.size >= 7.0 for t in scene.texts())


def test_same_room_same_bytes(tmp_path):
    room = shell(loads(source(), "x").room)
    for name in ("one.dxf", "two.dxf"):
        (tmp_path / name).write_bytes(dxf(room_scenes(room, "mm", 50), "mm", "A room"))
    assert (tmp_path / "one.dxf").read_bytes() == (tmp_path / "two.dxf").read_bytes()


def test_a_window_is_told_and_breaks_the_wall_that_it_is_in():
    problem = loads(source(), "x")
    assert (
        "dormer in the right wall, 4000 mm to 5200 mm from the front wall, 900 mm to 2000 mm above" in brief(problem)[0]
    )
    plan = room_scenes(shell(problem.room), "mm", 50)[0]
    panes = [i.points for i in plan.items if getattr(i, "role", "") == "window"]
    assert len(panes) == 2 and all({p[0] for p in points} == {4.0, 5.2} for points in panes)
    right = [i.points for i in plan.items if getattr(i, "role", "") == "wall" and min(v for _, v in i.points) >= 4.4]
    gaps = sorted((min(u for u, _ in p), max(u for u, _ in p)) for p in right)
    assert any(high == 4.0 for _, high in gaps) and any(low == 5.2 for low, _ in gaps)


@pytest.mark.parametrize("paper, show", list(itertools.product((A4, LETTER), ("mm", "ft-in"))))
def test_the_room_is_drawn_in_either_system_on_either_paper(paper, show):
    pages = pypdf.PdfReader(io.BytesIO(sheet_pdf(sheet(hopeless_material(show), paper), paper))).pages
    words = "".join(page.extract_text() for page in pages)
    assert 2 <= len(pages) <= 6
    assert "The room alone" in words and "Nothing that may give way is enough" in words


def test_where_nothing_was_found_nothing_is_called_impossible():
    problem = loads(source(), "x")
    none = Solution(problem, "feasible", 0.001, False, None)
    page = html(sheet(Material(none, source(), "x"), A4))
    assert "The room alone" in page and "No design was found that holds all the limits" in page
    assert "No design exists" not in page and "Proven" not in page
    assert "neither found a design that keeps every limit nor proved that there is none" in page
    assert "which proved" not in page and "every design on the" not in page
