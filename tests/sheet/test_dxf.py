"""The DXF, read back: by the library that wrote it, and by GDAL's reader, which shares no code with it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import ezdxf
import numpy as np
import pyogrio
import pytest
import shapely
from ezdxf import bbox

from optimiser.problem.read import loads
from optimiser.quantity import parse
from optimiser.sheet.drawings import drawings
from optimiser.sheet.dxf import drawing, dxf
from optimiser.sheet.elevation import elevation
from optimiser.sheet.figures import figure
from optimiser.sheet.make import gather
from optimiser.sheet.paper import A4
from optimiser.sheet.picture import along
from optimiser.sheet.plan import plan
from optimiser.sheet.section import section
from tests.sheet.conftest import text

ROOT = Path(__file__).parents[2]

# Lengths of the room in conftest.py, in mm, worked out by hand from its text. Image 2800 wide and 16:9, so
# 1575 high, from 650; bezel 60 and margin 50 at each side; room 4400 wide.
LENGTHS = {
    "image width": 2800.0,
    "baffle width": 3020.0,
    "baffle face": 400.0,
    "right wall": 4400.0,
    "rear wall": 7200.0,
    "eyes, row 1": 3600.0,
    "eyes, row 2": 5300.0,
    "platform 2": 3800.0,
    "ceiling": 2700.0,
    "platform, row 2": 300.0,
}


@pytest.fixture(scope="module", params=("mm", "ft-in"))
def drawn(request, tmp_path_factory):
    from tests.sheet.conftest import built

    return _write(tmp_path_factory.mktemp("dxf") / "drawings.dxf", *built(rows=2, show=request.param, projector=True))


def _write(path: Path, problem, space, design) -> tuple[Path, float]:
    shown, system = figure(problem, space, design), problem.show
    denominator = 48 if system == "ft-in" else 50
    upper = plan(shown, system, denominator)
    along(upper, shown, system)
    scenes = [upper, section(shown, system, denominator), elevation(shown, system, denominator)]
    path.write_bytes(dxf(scenes, system, problem.title))
    return path, 25.4 if system == "ft-in" else 1.0  # millimetres in a unit of the file


def test_it_passes_the_librarys_audit(drawn):
    document = ezdxf.readfile(drawn[0])
    audit = document.audit()
    assert not audit.errors and not audit.fixes
    assert document.header["$INSUNITS"] == (1 if drawn[1] > 1 else 4)  # 1: inches, 4: millimetres
    assert document.header["$MEASUREMENT"] == (0 if drawn[1] > 1 else 1)
    assert document.header["$LUNITS"] == (4 if drawn[1] > 1 else 2)  # 4: architectural, 2: decimal


def test_every_key_dimension_equals_the_design(drawn):
    path, unit = drawn
    document = ezdxf.readfile(path)
    found: dict[str, set[float]] = {}
    for entity in document.modelspace().query("DIMENSION"):
        name = entity.dxf.text.replace("<>", "").strip()
        found.setdefault(name, set()).add(round(entity.get_measurement() * unit, 3))
    for name, length in LENGTHS.items():
        assert any(abs(value - length) < 0.1 for value in found[name]), (name, found[name])
    # heights of the image's lower and upper edge, and distances of its edges and of its plane
    for length in (650.0, 650.0 + 1575.0, 800.0, 3600.0, 475.0):
        assert any(abs(value - length) < 0.1 for value in found["image"]), length
    for length in (590.0, 2285.0):
        assert any(abs(value - length) < 0.1 for value in found["frame"]), length
    # from the left wall, over the image's middle; its height; from the front wall
    assert sorted(found["lens"]) == pytest.approx([2200.0, 2400.0, 5500.0], abs=0.1)
    # the file says nothing: 0.9 of half the image's width to either side of its middle (docs/problem-file.md)
    assert [v for n in "LR" for v in sorted(found[f"axis {n}"])] == pytest.approx(
        [2200 - 0.9 * 1400, 2200 + 0.9 * 1400]
    )


def test_doors_and_seats_are_dimensioned(drawn):
    """From the file: a leaf of 800 mm towards the front from its hinge at 1600, one of 700 mm towards the right from
    400; three chairs 760 mm wide, their middle on the image's at 2200 mm."""
    path, unit = drawn
    found: dict[str, list[float]] = {}
    for entity in ezdxf.readfile(path).modelspace().query("DIMENSION"):
        name = entity.dxf.text.replace("<>", "").strip()
        found.setdefault(name, []).append(entity.get_measurement() * unit)
    for name, places in (("entry", (800, 1600)), ("store", (400, 1100)), ("end seats", (1440, 2960))):
        assert sorted(found[name]) == pytest.approx(places, abs=0.1), name


def test_dimensions_say_what_they_measure_in_any_program(drawn):
    """A dimension style of factor 1, so that a text recomputed elsewhere stays right."""
    document = ezdxf.readfile(drawn[0])
    assert document.dimstyles.get("SHEET").dxf.dimlfac == 1.0
    for entity in document.modelspace().query("DIMENSION"):
        assert entity.dxf.dimstyle == "SHEET" and "<>" in entity.dxf.text
        assert entity.dxf.geometry in document.blocks


def test_what_a_dimension_shows_is_what_it_measures(drawn):
    """To a tenth of a millimetre, or to half of 1/16 in, in programs that show what the file has drawn."""
    path, unit = drawn
    seen = 0
    document = ezdxf.readfile(path)
    for entity in document.modelspace().query("DIMENSION"):
        (shown,) = [one.plain_text() for one in entity.get_geometry_block() if one.dxftype() == "MTEXT"]
        name = entity.dxf.text.replace("<>", "").strip()
        told, measured = shown.removesuffix(name).strip(), entity.get_measurement() * unit
        if unit > 1:
            assert 1000.0 * float(parse("length", told)) == pytest.approx(measured, abs=25.4 / 32 + 1e-6), shown
        else:
            assert float(told) == pytest.approx(measured, abs=0.05 + 1e-6), shown
        seen += told not in ("0", "0 in")
    assert seen > 30


def test_dimension_lines_of_one_chain_lie_6_mm_of_paper_apart(drawn):
    """At 1:50, or 1:48 in feet and inches: so that no two of them run into one another."""
    path, unit = drawn
    lines: dict[str, list[float]] = {}
    for entity in ezdxf.readfile(path).modelspace().query("DIMENSION"):
        name = entity.dxf.text.replace("<>", "").strip()
        lines.setdefault(name, []).append(entity.dxf.defpoint.y * unit)
    first, second, last = (lines[name][0] for name in ("eyes, row 1", "eyes, row 2", "rear wall"))  # of the plan
    tier = 6 * (48 if unit > 1 else 50)
    for gap in (abs(second - first), abs(last - second)):
        assert gap / tier == pytest.approx(round(gap / tier), abs=1e-6) and 1 <= round(gap / tier) <= 10


@pytest.mark.parametrize("denominator", [25, 50])
def test_letters_are_as_high_on_paper_as_their_size_and_read_the_same_way(room, denominator):
    """A point is 25.4 / 72 mm; capitals of DejaVu Sans Mono are 1493 of 2048 units high (the font's
    OS/2 table). Drawn in millimetres; the baffle wall's name lies along it where that is deep enough."""
    scene = plan(figure(*room(rows=1)), "mm", denominator)
    labels = {label.text: label for label in scene.texts()}
    written = [e for e in drawing([scene], "mm", "A room").modelspace().query("TEXT") if e.dxf.text in labels]
    assert len(written) >= 5
    assert [e.dxf.text for e in written if e.dxf.rotation == 90.0] == ["baffle wall"] * (denominator == 25)
    for entity in written:
        label = labels[entity.dxf.text]
        height = label.size * 25.4 / 72 * 1493 / 2048 * denominator
        assert entity.dxf.height == pytest.approx(height, rel=0.01), label
        assert entity.dxf.rotation == (90.0 if label.turned else 0.0), label


def test_dashes_have_gaps_between_them(drawn):
    """In a line type's pattern what is drawn is positive and a gap is negative (DXF reference,
    LTYPE, group 49), by turns; group 40 is the length of all of it."""
    document = ezdxf.readfile(drawn[0])
    known = [one for one in document.linetypes if one.dxf.name.upper() not in ("CONTINUOUS", "BYLAYER", "BYBLOCK")]
    assert known
    for one in known:
        pattern = [tag.value for tag in one.pattern_tags.tags if tag.code == 49]
        assert pattern and all(length > 0.0 for length in pattern[::2]), one.dxf.name
        assert all(length < 0.0 for length in pattern[1::2]) and len(pattern) % 2 == 0
        (whole,) = (tag.value for tag in one.pattern_tags.tags if tag.code == 40)
        assert whole == pytest.approx(sum(map(abs, pattern)))


def test_layers_by_trade_and_a_block_for_each_chair(drawn):
    document = ezdxf.readfile(drawn[0])
    space = document.modelspace()
    layers = {e.dxf.layer for e in space}
    wanted = {"ROOM-WALLS", "ROOM-DOORS", "JOINERY-BAFFLE", "SCREEN-IMAGE", "CARPENTRY-PLATFORMS", "SEATING-CHAIRS"}
    assert wanted <= layers and "0" not in layers
    inserts = [e.dxf.name for e in space.query("INSERT")]
    assert inserts.count("CHAIR-PLAN") == 6 and inserts.count("CHAIR-SECTION") == 2


def test_titles_of_drawings_keep_apart_however_long_that_of_the_room_is():
    source = text(rows=2)
    titled = "A room whose owner likes a long title, with all that may be said of it in one line and some more " * 2
    document = drawing(drawings(gather(loads(source, "x"), source, "x", prices=False), A4), "mm", titled)
    ends = []
    for name in ("Plan", "Long section", "Front elevation"):
        (found,) = [
            e for e in document.modelspace().query("TEXT MTEXT") if e.dxf.get("text", "").startswith(f"{name}: ")
        ]
        box = bbox.extents([found])
        ends.append((box.extmin.x, box.extmax.x))
        assert found.dxf.text.endswith("…")
    assert ends[0][1] < ends[1][0] and ends[1][1] < ends[2][0]


def test_another_reader_finds_the_same_lines(drawn):
    path, unit = drawn
    meta, _, wkb, fields = pyogrio.raw.read(path)
    layer = dict(zip(meta["fields"], fields))["Layer"]
    shapes = shapely.from_wkb(wkb)

    def sizes(name: str) -> list[tuple[float, float]]:
        boxes = [shapely.bounds(s) for s, own in zip(shapes, layer) if own == name]
        return [tuple(np.round((b[2:] - b[:2]) * unit, 3)) for b in boxes]

    def has(name: str, u: float, v: float) -> bool:
        return any(abs(a - u) < 0.1 and abs(b - v) < 0.1 for a, b in sizes(name))

    assert has("SCREEN-IMAGE", 0.0, 2800.0)  # in plan
    assert has("SCREEN-IMAGE", 0.0, 1575.0)  # in section
    assert has("SCREEN-IMAGE", 2800.0, 1575.0)  # in elevation
    assert has("JOINERY-BAFFLE", 400.0, 3020.0)
    assert has("JOINERY-BAFFLE", 3020.0, 2700.0)
    assert has("CARPENTRY-PLATFORMS", 7200.0 - 3800.0, 4400.0)
    assert has("ROOM-DOORS", 800.0, 800.0)  # the arc, a quarter turn of a leaf of 800 mm
    assert any(s is not None for s, own in zip(shapes, layer) if own == "NOTES-DIMENSIONS")


def test_titles_cannot_carry_codes_into_cad(room, tmp_path):
    from dataclasses import replace

    problem, space, design = room(rows=1)
    nasty = r"a%%d {\fArial;x} \P ^J עברית 🎬" + "y" * 260
    path, _ = _write(tmp_path / "nasty.dxf", replace(problem, title=nasty), space, design)
    document = ezdxf.readfile(path)
    assert not document.audit().errors
    texts = [e.dxf.text for e in document.modelspace().query("TEXT")]
    (heading,) = [t for t in texts if t.startswith("Plan:")]
    assert "עברית 🎬" in heading
    assert not any("%%" in t or "\\" in t or "{" in t or "^" in t for t in texts)


def test_same_design_same_bytes_whatever_the_hash_seed(tmp_path):
    script = (
        "import sys; from pathlib import Path; from tests.sheet.conftest import built; "
        "from tests.sheet.test_dxf import _write; _write(Path(sys.argv[1]), *built(rows=2))"
    )
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        subprocess.run([sys.executable, "-c", script, str(tmp_path / seed)], check=True, cwd=ROOT, env=environment)
    assert (tmp_path / "1").read_bytes() == (tmp_path / "2").read_bytes()


def _boxes_of_texts(document) -> dict[str, tuple[float, float, float, float]]:
    """What each text takes: letters of DejaVu Sans Mono are 1233 of 2048 units wide and its capitals 1493 high (the font's
    tables)."""
    found = {}
    written = list(document.modelspace().query("TEXT"))
    for entity in document.modelspace().query("DIMENSION"):
        written += [one for one in entity.get_geometry_block() if one.dxftype() == "MTEXT"]
    for number, entity in enumerate(written):
        if entity.dxftype() == "TEXT":
            words, high, turned = entity.dxf.text, entity.dxf.height, entity.dxf.rotation == 90.0
            name, at, _ = entity.get_placement()
            back = 0.5 if "CENTER" in name.name else 1.0 if "RIGHT" in name.name else 0.0
        else:
            words, high, at = entity.plain_text(), entity.dxf.char_height, entity.dxf.insert
            turned = entity.get_rotation() == pytest.approx(90.0)
            assert entity.dxf.attachment_point == 5  # by the middle
            back = 0.5
        wide = len(words) * high * 1233 / 1493
        low, left = -0.5 * high, -back * wide
        along, across = (left, left + wide), (low, low + high)
        (x, x1), (y, y1) = (across, along) if turned else (along, across)
        found[f"{number}: {words}"] = (at[0] + x, at[1] + y, at[0] + x1, at[1] + y1)
    return found


def test_no_text_lies_on_another(drawn):
    boxes = list(_boxes_of_texts(ezdxf.readfile(drawn[0])).items())
    assert len(boxes) > 40
    for k, (name, one) in enumerate(boxes):
        for other, two in boxes[:k]:
            apart = one[0] >= two[2] or two[0] >= one[2] or one[1] >= two[3] or two[1] >= one[3]
            assert apart, (name, other)


def test_programs_open_on_all_that_is_drawn(drawn):
    """The view is as high and wide as all walls and texts; decimals are told with a point, as on the sheet."""
    document = ezdxf.readfile(drawn[0])
    boxes = np.array(list(_boxes_of_texts(document).values()))
    low, high = document.header["$EXTMIN"], document.header["$EXTMAX"]
    assert low[0] <= boxes[:, 0].min() and low[1] <= boxes[:, 1].min()
    assert high[0] >= boxes[:, 2].max() and high[1] >= boxes[:, 3].max()
    (view,) = document.viewports.get("*Active")
    assert view.dxf.height >= high[1] - low[1] and view.dxf.height * 2.0 > high[0] - low[0] - 1e-6
    assert view.dxf.center[0] == pytest.approx(0.5 * (low[0] + high[0]))
    assert document.dimstyles.get("SHEET").dxf.dimdsep == ord(".")
