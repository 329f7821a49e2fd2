"""Results of studies: CSV, workbook, charts and the terminal, held to the records that they show."""

import csv
import json
import math
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimiser.cli import program
from optimiser.problem.read import loads
from optimiser.sheet.results.batch_chart import batch_chart
from optimiser.sheet.results.canvas import SHAPES, row_mark
from optimiser.sheet.results.comma import write_csv
from optimiser.sheet.results.draw import chart, plan_outlines
from optimiser.sheet.results.pages import study_html
from optimiser.sheet.results.plans import plans_chart
from optimiser.study.asking import answer
from optimiser.study.batch import answer_room, batch_of_table
from optimiser.study.front import front
from optimiser.study.reading import open_study
from optimiser.study.running import carry_out
from optimiser.study.sweep import sweep_of
from optimiser.work import Workers
from tests.sheet.conftest import text as drawn
from tests.study.rooms import BARN, STORE

ROOT = Path(__file__).resolve().parent.parent.parent
SVG = "{http://www.w3.org/2000/svg}"

ROOMS = """\
name,room.length,limits.listening_distance.at_least
attic,5.2 m,
"=1+1, a formula",5.5 m,3 m
hut,3.6 m,2.9 m
slip,5.2,
"""


DRAWN = STORE + "designs:\n  as drawn: {row1.y: 3.5 m}\n"
"""The store with a design of its own: 3.1 m from the image, which is 2.4 m wide."""

BETWEEN = ["horizontal_angle", "listening_distance"]


def carried(plan, function, path):
    with Workers(executor=ThreadPoolExecutor(2)) as hands:
        carry_out(plan, function, path, hands)
    return path


@pytest.fixture(scope="module")
def studies(tmp_path_factory):
    """A file of each kind of study."""
    folder = tmp_path_factory.mktemp("studies")
    over = {"limits.listening_distance.at_least": "2.5 m..4.5 m step 0.5 m"}
    grid = {"room.length": "5.2 m, 6.4 m", "rows": "1, 2"}
    found = {
        "sweep": carried(sweep_of(STORE, "store.yaml", over), answer, folder / "sweep.jsonl"),
        "pairs": carried(sweep_of(BARN, "barn.yaml", grid), answer, folder / "pairs.jsonl"),
        "batch": carried(batch_of_table(ROOMS, "rooms.csv", STORE, "store.yaml"), answer_room, folder / "batch.jsonl"),
        "front": folder / "front.jsonl",
    }
    front(loads(DRAWN, "store.yaml"), BETWEEN, points=5, out=found["front"], text=DRAWN)
    return found


@pytest.fixture(params=["sweep", "pairs", "batch", "front"])
def study(studies, request):
    return open_study(studies[request.param])


# --- CSV ----------------------------------------------------------------------------------------


def test_csv_holds_what_the_records_hold(study, tmp_path):
    write_csv(tmp_path / "s.csv", study)
    with open(tmp_path / "s.csv", encoding="utf-8", newline="") as stream:
        lines = list(csv.DictReader(stream))
    records = list(study.records())
    assert len(lines) == len(records)
    for line, record in zip(lines, records):
        assert int(line["index"]) == record["index"]
        assert line["score"] == (f"{record['score']:.10g}" if record.get("score") is not None else "")
        for name, value in (record.get("design") or {}).items():
            unit = (
                " [m]"
                if name.endswith(("width", "bezel", "bottom", "centre", "depth", "left", "right", "y", "platform"))
                else ""
            )
            assert line[name + unit] == (value if isinstance(value, str) else f"{value:.10g}"), name
        for goal in record.get("goals", ()):
            assert float(line[f"score of {goal['goal']}"]) == pytest.approx(goal["score"])


def test_csv_of_a_sweep_marks_changes(studies, tmp_path):
    write_csv(tmp_path / "s.csv", open_study(studies["sweep"]))
    with open(tmp_path / "s.csv", encoding="utf-8", newline="") as stream:
        changes = [line["changes"] for line in csv.DictReader(stream)]
    # the goal's band ends at 2.9 m; 4.3 m is all that the store has: see test_sweep.py
    assert changes == ["", "listening distance (row 1) begins to bind", "", "", "impossible from here"]


def test_csv_starts_no_formula(studies, tmp_path):
    write_csv(tmp_path / "b.csv", open_study(studies["batch"]))
    with open(tmp_path / "b.csv", encoding="utf-8", newline="") as stream:
        cells = [cell for line in csv.reader(stream) for cell in line]
    assert "'=1+1, a formula" in cells
    assert not [cell for cell in cells if cell[:1] in ("=", "@")]


# --- the workbook -------------------------------------------------------------------------------


def read_back(study, path):
    openpyxl = pytest.importorskip("openpyxl")
    pytest.importorskip("xlsxwriter")
    from optimiser.sheet.results.workbook import write_workbook

    write_workbook(path, study)
    return openpyxl.load_workbook(path)


def test_the_workbook_holds_what_the_records_hold(study, tmp_path):
    book = read_back(study, tmp_path / "s.xlsx")
    assert book.sheetnames == ["inputs", "results", "scores", "sources"]
    records = list(study.records())
    heads = [cell.value for cell in book["results"][1]]
    lines = [dict(zip(heads, line)) for line in book["results"].iter_rows(min_row=2, values_only=True)]
    assert [line["index"] for line in lines] == [r["index"] for r in records]
    for line, record in zip(lines, records):
        assert (
            line["score"] == pytest.approx(record["score"])
            if record.get("score") is not None
            else line["score"] is None
        )
        for name, value in (record.get("design") or {}).items():
            if f"{name} [mm]" in line:  # the files show millimetres
                assert line[f"{name} [mm]"] == pytest.approx(value * 1000)
            else:
                assert line[name] == (value if isinstance(value, str) else pytest.approx(value))
    heads = [cell.value for cell in book["scores"][1]]
    assert heads.count("score") == 1 or study.kind == "front"
    inputs = list(book["inputs"].iter_rows(values_only=True))
    scores = list(book["scores"].iter_rows(min_row=2, values_only=True))
    assert len(scores) == len(records)
    for line, record, asked in zip(scores, records, inputs[1:]):
        # each value stands under its own head: what was asked as on the first sheet, the score after it, goals last
        last = len(heads) - 1 - heads[::-1].index("score")
        assert heads[:last] == list(inputs[0][:last]) and line[:last] == asked[:last]
        assert line[last] == (None if record.get("score") is None else pytest.approx(record["score"]))
        goals = [goal["score"] for goal in record.get("goals") or []]
        assert [cell for cell in line[last + 1 :] if cell is not None] == pytest.approx(goals)
    assert not [c for sheet in book for row in sheet.iter_rows() for c in row if c.data_type == "f"]


def test_the_workbook_tells_inputs_and_sources(studies, tmp_path):
    book = read_back(open_study(studies["batch"]), tmp_path / "b.xlsx")
    inputs = list(book["inputs"].iter_rows(values_only=True))
    assert inputs[0] == ("index", "name", "room.length", "limits.listening_distance.at_least")
    assert inputs[2] == (1, "=1+1, a formula", "5.5 m", "3 m")
    sources = list(book["sources"].iter_rows(min_row=2, values_only=True))
    assert sources[0][:6] == ("goal", "horizontal_angle", "45.0° to 50.0°", "20.0°", 1, "the file does not say")
    assert ("limit", "listening_distance", "at least 2000 mm", None, None, "the problem file", None) in sources
    assert ("study", "table of rooms", "rooms.csv", None, None, None, None) in sources


@pytest.mark.parametrize(("currency", "head"), [("currency: crowns\n", " [crowns]"), ("", "")])
def test_the_workbook_tells_money_in_the_files_currency(currency, head, tmp_path):
    source = drawn(rows=1).replace("format: 1\n", f"format: 1\n{currency}").replace("3840}", "3840, price: 900}")
    (tmp_path / "room.yaml").write_text(source, encoding="utf-8")
    study = tmp_path / "s.jsonl"
    over = ["--over", "front.screen.price=900..1000 step 100", "--workers", "1", "--out", str(study)]
    assert CliRunner().invoke(program, ["sweep", str(tmp_path / "room.yaml"), *over]).exit_code == 0
    book = read_back(open_study(study), tmp_path / "s.xlsx")
    for sheet in ("inputs", "results", "scores"):
        rows = list(book[sheet].iter_rows(values_only=True))
        assert rows[0][1] == f"front.screen.price{head}" and [row[1] for row in rows[1:]] == [900, 1000], sheet


def test_the_workbook_is_the_same_each_time(study, tmp_path):
    read_back(study, tmp_path / "one.xlsx")
    read_back(study, tmp_path / "two.xlsx")
    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()


# --- charts -------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def matplotlib():
    return pytest.importorskip("matplotlib")


@pytest.mark.parametrize(
    ("name", "draw"), [("sweep", chart), ("pairs", chart), ("batch", chart), ("front", plan_outlines)]
)
def test_charts_are_the_same_each_time_and_say_what_they_show(studies, matplotlib, name, draw):
    study = open_study(studies[name])
    first = draw(study, "svg")
    with matplotlib.rc_context({"font.size": 30.0, "axes.grid": True, "svg.fonttype": "path"}):  # a user's own taste
        assert draw(study, "svg") == first
    tree = ElementTree.fromstring(first.decode())
    assert tree.get("role") == "img" and tree.find(f"{SVG}title").text == study.problem.title
    assert len(tree.find(f"{SVG}desc").text) > 40


def test_pictures_in_dots_are_the_same_each_time(studies, matplotlib):
    one, two = (chart(open_study(studies["front"]), "png") for _ in range(2))
    assert one == two and one.startswith(b"\x89PNG\r\n")


def _texts(content):
    return [" ".join(t.itertext()) for t in ElementTree.fromstring(content.decode()).iter(f"{SVG}text")]


def test_the_chart_of_a_sweep_names_binding_limits_and_gaps(studies, matplotlib):
    texts = _texts(chart(open_study(studies["sweep"])))
    assert {"listening distance (row 1)", "limits that bind", "impossible", "score", "1 row"} <= set(texts)
    assert "limits.listening_distance.at_least [mm]" in texts


def test_the_chart_of_pairs_shows_each_score(studies, matplotlib):
    study = open_study(studies["pairs"])
    texts = _texts(chart(study))
    for record in study.records():
        assert f"{record['score']:.0f}" in texts
    kinds = {
        ("+".join(str(r["design"][f"row{n + 1}.seats"]) for n in range(r["design"]["rows"]))) for r in study.records()
    }
    for seats in kinds:  # a number by itself would not say of what
        assert any(text.startswith(f"{seats} seats, ") and text.endswith((":9", ":1")) for text in texts), texts


def test_the_chart_of_a_front_marks_knee_and_own_designs(studies, tmp_path, matplotlib):
    texts = _texts(chart(open_study(studies["front"])))
    assert {"as drawn", "best score here"} <= set(texts) and "knee" not in texts  # this front is smooth
    assert "horizontal angle, reference row (more is better) [°]" in texts
    assert "listening distance, reference row (more is better) [mm]" in texts
    head, *lines = studies["front"].read_text().splitlines()
    bent = [line.replace('"knee":false', '"knee":true') if at == 2 else line for at, line in enumerate(lines)]
    (tmp_path / "bent.jsonl").write_text("\n".join([head, *bent]) + "\n")
    assert _texts(chart(open_study(tmp_path / "bent.jsonl"))).count("knee") == 2  # beside the point, and in the legend


def test_the_values_of_a_front_are_in_the_files_units(studies, tmp_path, matplotlib):
    """3.1 m are 122.05 in: 10 ft 2 1/16 in."""
    head, *lines = studies["front"].read_text().splitlines()
    feet, point = json.loads(head), json.loads(lines[1])
    feet["problem"] = feet["problem"].replace("show: mm", "show: ft-in")
    feet["grid"] = 0.003175
    point |= {"values": [42.0, 3.1], "knee": True}
    (tmp_path / "feet.jsonl").write_text("\n".join([json.dumps(feet), lines[0], json.dumps(point), *lines[2:]]) + "\n")
    study = open_study(tmp_path / "feet.jsonl")
    assert study.problem.show == "ft-in"
    table = study_html(study, None, 50)
    assert "<th>listening distance, reference row</th>" in table and "<td>42.0°</td><td>10 ft 2 1/16 in</td>" in table
    assert (
        "the knee is at 42.0°, 10 ft 2 1/16 in."
        in ElementTree.fromstring(chart(study).decode()).find(f"{SVG}desc").text
    )
    sources = list(read_back(study, tmp_path / "f.xlsx")["sources"].iter_rows(values_only=True))
    assert [row[2] for row in sources if row[:2] == ("study", "grid")] == ["1/8 in"]


def test_the_workbook_tells_which_limits_a_code_asks_for(tmp_path):
    """A riser of 7 3/4 in at most: IRC 2018 R311.7.5.1, as problem/codes has it with its clause."""
    source = drawn(rows=1).replace("format: 1\n", "format: 1\ncodes: us-dwelling\n")
    (tmp_path / "room.yaml").write_text(source, encoding="utf-8")
    over = ["--over", "room.width=4.4 m, 4.5 m", "--workers", "1", "--out", str(tmp_path / "s.jsonl")]
    CliRunner().invoke(program, ["sweep", str(tmp_path / "room.yaml"), *over])
    sources = list(
        read_back(open_study(tmp_path / "s.jsonl"), tmp_path / "s.xlsx")["sources"].iter_rows(values_only=True)
    )
    asked = {row[1:3]: row[5] for row in sources if row[0] == "limit"}
    assert "R311.7.5.1" in asked["riser_step", "at most 196.9 mm"]  # 7.75 x 25.4 = 196.85 mm
    assert asked["listening_distance", "at least 2000 mm"] == "the problem file"


def test_own_designs_have_the_values_that_a_pocket_calculator_gives(studies):
    ((name, (angle, distance)),) = open_study(studies["front"]).own_designs()
    assert name == "as drawn" and distance == pytest.approx(3.1)
    assert angle == pytest.approx(math.degrees(2 * math.atan(1.2 / 3.1)), abs=1e-6)


def test_the_chart_of_rooms_names_rooms_and_failures(studies, matplotlib):
    texts = _texts(chart(open_study(studies["batch"])))
    assert {"attic", "hut", "slip", "impossible", "failed"} <= set(texts)


def test_many_rooms_are_drawn_in_order_of_score(tmp_path, matplotlib):
    head, first, *_ = [json.loads(line) for line in _lines_of_many(tmp_path)]
    assert head["rooms"] == 50 and first["index"] == 0
    texts = _texts(chart(open_study(tmp_path / "many.jsonl")))
    assert "rooms, the best first" in texts and "10 without a design" in texts


def test_a_long_name_leaves_the_chart_to_the_bars(tmp_path, matplotlib):
    """Of a picture 7.5 in wide, more than half is for the bars, whatever a room is called."""
    lines = _lines_of_many(tmp_path)[:4]
    head = json.loads(lines[0]) | {"rooms": 3}
    rooms = [json.loads(line) | {"name": f"{n} " + "w" * 300} for n, line in enumerate(lines[1:])]
    path = tmp_path / "long.jsonl"
    path.write_text("".join(json.dumps(line) + "\n" for line in (head, *rooms)), encoding="utf-8")
    figure = batch_chart(open_study(path))
    figure.draw_without_rendering()
    assert figure.axes[0].get_position().width > 0.5


def _lines_of_many(folder):
    rows = {f"row{n}.{what}": value for n in (1, 2) for what, value in (("y", 2.0 + n), ("seats", 3))}
    design = {"rows": 1, "screen.width": 2.4, "screen.aspect": 1.777777778, **rows}
    rest = {"bound": 100.0, "binding": [], "goals": []}
    lines = [{"study": "batch", "version": "0.1.0", "rooms": 50, "problem": STORE, "name": "s.yaml", "finished": True}]
    for n in range(50):
        good = {
            "status": "optimal",
            "feasible": True,
            "score": 50.0 + n,
            **rest,
            "design": {**design, "rows": 1 + n % 2},
        }
        bad = {"status": "failed", "feasible": False, "error": "no"}
        lines.append({"index": n, "name": f"room {n}", "inputs": {}, **(bad if n % 5 == 0 else good)})
    text = [json.dumps(line) + "\n" for line in lines]
    (folder / "many.jsonl").write_text("".join(text))
    return text


def test_numbers_of_rows_are_told_apart_without_colour():
    marks = [(row_mark(n)["marker"], row_mark(n)["markerfacecolor"]) for n in range(1, 9)]
    assert len(set(SHAPES)) == 8 and len({shape for shape, _ in marks}) == 8


# --- the command --------------------------------------------------------------------------------


def test_show_prints_each_kind(studies):
    said = {name: CliRunner().invoke(program, ["show", str(path)]) for name, path in studies.items()}
    assert all(result.exit_code == 0 for result in said.values()), said
    assert "listening distance (row 1) begins to bind" in " ".join(said["sweep"].output.split())  # in a narrow column
    assert "a: seats 4, projected, " in said["pairs"].output
    assert "2 solved, 1 impossible, 1 failed." in said["batch"].output
    assert "designs that no design beats" in said["front"].output
    for name, result in said.items():  # whatever decides steps and ways out defers to codes and professionals, once
        words = " ".join(result.output.split())
        assert words.count("Local codes decide; have a licensed professional confirm.") == 1, name
        assert "ways out and what hangs overhead" in words, name


def test_a_batch_counts_wheelchairs_and_tells_the_first_of_many_faults(tmp_path):
    wider, place = STORE.replace("width: 3.6 m", "width: 4.6 m"), "  wheelchair: {row: 1, width: 0.9 m, depth: 1.2 m}\n"
    (tmp_path / "good.yaml").write_text(wider.replace("limits:\n", place + "limits:\n"))
    (tmp_path / "bad.yaml").write_text(STORE.replace("seats: 3", "seats: three").replace("rows: 1", "rows: one"))
    names = [str(tmp_path / name) for name in ("good.yaml", "bad.yaml")]
    words = " ".join(
        CliRunner().invoke(program, ["batch", *names, "--workers", "1"], env={"COLUMNS": "400"}).output.split()
    )
    assert " 3 (+1 wheelchair) " in words
    assert "seating.rows: 'one'" in words and "; and 1 more fault " in words and "'three'" not in words


def test_everyone_is_in_a_studys_plans(tmp_path):
    """Three chairs and a place for a wheelchair, in one row."""
    from matplotlib.patches import Circle

    place = "  wheelchair: {row: 1, width: 0.9 m, depth: 1.2 m}\n"
    source = STORE.replace("width: 3.6 m", "width: 4.6 m").replace("limits:\n", place + "limits:\n")
    path = carried(sweep_of(source, "store.yaml", {"room.length": "5.0 m, 5.2 m"}), answer, tmp_path / "s.jsonl")
    first = plans_chart(open_study(path)).axes[0]
    assert sum(isinstance(patch, Circle) for patch in first.patches) == 4


def test_show_solves_nothing(studies, tmp_path):
    """The solver is not even loaded."""
    code = (
        "import sys; from optimiser.cli import program\n"
        "program.main(sys.argv[1:], standalone_mode=False)\n"
        "assert 'ortools' not in sys.modules, 'the solver was loaded'"
    )
    words = [
        "show",
        str(studies["front"]),
        "--csv",
        "f.csv",
        "--xlsx",
        "f.xlsx",
        "--chart",
        "f.svg",
        "--plans",
        "f.png",
    ]
    done = subprocess.run(
        [sys.executable, "-c", code, *words],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        env={"PYTHONPATH": str(ROOT)},
    )
    assert done.returncode == 0, done.stderr
    assert sorted(p.name for p in tmp_path.iterdir()) == ["f.csv", "f.png", "f.svg", "f.xlsx"]


def test_show_overwrites_nothing_unasked(studies, tmp_path):
    path = tmp_path / "there.csv"
    path.write_text("mine")
    words = ["show", str(studies["sweep"]), "--csv", str(path)]
    refused = CliRunner().invoke(program, words)
    assert "exists already" in str(refused.exception) and path.read_text() == "mine"
    assert CliRunner().invoke(program, [*words, "--overwrite"]).exit_code == 0 and path.read_text() != "mine"


@pytest.mark.parametrize(
    ("option", "name", "library", "message"),
    [
        ("--xlsx", "s.xlsx", "xlsxwriter", "screening-room-optimiser[workbook]"),
        ("--chart", "s.svg", "matplotlib", "screening-room-optimiser[charts]"),
        ("--chart", "s.gif", "", "a chart is drawn as .svg or .png"),
    ],
)
def test_what_is_missing_is_said(studies, tmp_path, monkeypatch, option, name, library, message):
    if library:
        monkeypatch.setitem(sys.modules, library, None)
    result = CliRunner().invoke(program, ["show", str(studies["sweep"]), option, str(tmp_path / name)])
    assert result.exit_code != 0 and message in str(result.exception)


def test_an_unfinished_study_is_shown_and_said_to_be_one(studies, tmp_path):
    lines = studies["sweep"].read_text().splitlines(keepends=True)
    part = tmp_path / "part.jsonl"
    part.write_text(lines[0].replace(',"finished":true', "") + lines[2] + lines[1] + lines[3][:20])
    result = CliRunner().invoke(program, ["show", str(part)])
    assert result.exit_code == 0 and "not finished" in result.output
    assert [r["index"] for r in open_study(part).records()] == [0, 1]
