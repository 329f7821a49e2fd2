"""The program from Python: quick to import, the same answers, results as plain data."""

import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

import optimiser
from optimiser.errors import ProblemFileError, UsageError
from tests.study.rooms import STORE

ROOT = Path(__file__).resolve().parent.parent.parent


@pytest.fixture()
def store(tmp_path):
    path = tmp_path / "store.yaml"
    path.write_text(STORE)
    return path


def test_importing_the_package_loads_nothing_heavy():
    code = (
        "import sys, optimiser; dir(optimiser)\n"
        "heavy = {'numpy', 'pydantic', 'ortools', 'click', 'pandas', 'matplotlib'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
        "assert {'load', 'solve', 'front', 'sweep', 'batch'} <= set(dir(optimiser))"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT)


@pytest.mark.parametrize("before", ["", "import optimiser.solve; ", "from optimiser.solve import Solution; "])
def test_solve_is_the_function_whatever_was_imported_before(before):
    code = f"{before}from optimiser import solve; assert callable(solve), solve; from optimiser.solve import Search"
    subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT)


def test_what_is_not_there_is_said():
    with pytest.raises(AttributeError, match="no attribute 'improve'"):
        optimiser.improve  # noqa: B018


def test_an_answer_shows_itself(store):
    answer = optimiser.solve(optimiser.load(store))
    assert answer.status == "optimal" and answer.score == pytest.approx(100.0)
    assert answer.record()["design"]["rows"] == 1
    assert answer._repr_svg_().startswith("<svg")
    page = answer._repr_html_()
    assert "Apple store" in page and "Proven" in page and "<svg" in page
    coarse = optimiser.solve(store, grid="10 cm")
    assert coarse.grid == pytest.approx(0.1)


def test_an_impossible_problem_shows_what_excludes_each_other(store):
    store.write_text(STORE.replace("at_least: 2 m", "at_least: 4.5 m"))  # 4.3 m is all there is: see test_sweep.py
    answer = optimiser.solve(store)
    assert answer.status == "impossible" and answer._repr_svg_() is None
    assert "Cannot hold together: listening distance, rear wall distance" in answer._repr_html_()


def test_a_sweep_from_python(store, tmp_path):
    problem = optimiser.load(store)
    heard = []
    with ThreadPoolExecutor(1) as executor:
        found = optimiser.sweep(
            problem, {"limits.1.at_least": "3 m..4.5 m step 0.5 m"}, executor=executor, told=lambda *n: heard.append(n)
        )
    assert len(found) == 4 and heard[-1] == (4, 4, 0)
    assert [r["feasible"] for r in found] == [True, True, True, False]
    assert [row["limits.1.at_least [m]"] for row in found.rows()] == [3.0, 3.5, 4.0, 4.5]
    assert [row["row1.y [m]"] for row in found.rows()[:3]] == [pytest.approx(0.4 + d, abs=0.002) for d in (3, 3.5, 4)]
    page = found._repr_html_()
    assert "listening distance (row 1)" in page and "impossible" in page
    kept = optimiser.sweep(store, {"limits.1.at_least": "3 m, 3.5 m"}, out=tmp_path / "s.jsonl", workers=1)
    assert list(optimiser.read(tmp_path / "s.jsonl")) == list(kept)
    with pytest.raises(UsageError, match="exists already"):
        optimiser.sweep(store, {"limits.1.at_least": "3 m, 3.5 m"}, out=tmp_path / "s.jsonl", workers=1)
    assert kept.save(tmp_path / "s.csv").read_text().startswith("index,limits.1.at_least [m],status,score")


def test_a_front_from_python(store, tmp_path):
    """In the store only the row's place is open: to sit nearer is to see more and to hear from nearer."""
    found = optimiser.front(store, ["horizontal_angle", "listening_distance"], points=5, workers=1)
    first, *_, last = found
    angle, distance = (r["values"] for r in (first, last))
    assert angle[1] == pytest.approx(2.0, abs=0.002) and distance[1] == pytest.approx(4.3, abs=0.002)
    assert angle[0] == pytest.approx(61.93, abs=0.05)  # 2 atan(1.2 / 2), in degrees
    assert len(found) >= 5 and "listening distance" in found._repr_html_()
    kept = optimiser.front(
        store, ["horizontal_angle", "listening_distance"], points=5, workers=1, out=tmp_path / "f.jsonl"
    )
    assert list(optimiser.read(tmp_path / "f.jsonl")) == list(kept) == list(found)


def test_rooms_from_python(store, tmp_path):
    rooms = [{"name": "long", "room.length": "6 m"}, {"name": "wide", "room.width [m]": 4}]
    found = optimiser.batch(rooms, store, workers=1)
    assert [(r["name"], r["inputs"]) for r in found] == [
        ("long", {"room.length": "6 m"}),
        ("wide", {"room.width": "4 m"}),
    ]
    assert all(r["feasible"] for r in found) and "wide" in found._repr_html_()
    files = optimiser.batch([store, tmp_path / "none.yaml"], workers=1)
    assert [r["status"] for r in files] == ["optimal", "failed"]


def test_a_frame_has_a_row_a_record(store):
    pandas = pytest.importorskip("pandas")
    table = pandas.DataFrame({"name": ["a", "b"], "room.length [m]": [5.2, 6.0]})
    frame = optimiser.batch(table, store, workers=1).frame()
    assert list(frame["name"]) == ["a", "b"] and frame["score"].notna().all()
    assert list(frame["screen.width [m]"]) == [2.4, 2.4]


@pytest.mark.parametrize("grid", [0, "0 mm", float("nan"), -1, 1e-7, 0.6, "x", [1], True])
def test_a_grid_that_cannot_be_is_refused_everywhere(store, grid):
    """As on the command line: from 0.1 mm to 500 mm."""
    calls = (
        lambda: optimiser.solve(store, grid=grid),
        lambda: optimiser.front(store, ["image_width", "score"], grid=grid),
        lambda: optimiser.sweep(store, {"room.length": "5 m"}, grid=grid, workers=1),
        lambda: optimiser.batch([store], grid=grid, workers=1),
    )
    for call in calls:
        with pytest.raises(UsageError, match=r"^grid: "):
            call()


@pytest.mark.parametrize("effort", [-1, 0, float("nan"), float("inf"), "long", None, True])
def test_an_effort_that_cannot_be_is_refused_everywhere(store, effort):
    calls = (
        lambda: optimiser.solve(store, effort=effort),
        lambda: optimiser.sweep(store, {"room.length": "5 m"}, effort=effort, workers=1),
        lambda: optimiser.batch([store], effort=effort, workers=1),
    )
    for call in calls:
        with pytest.raises(UsageError, match=r"^effort: "):
            call()


@pytest.mark.parametrize(
    ("path", "values", "texts", "told"),
    [
        ("seating.seats", [2, 3], ["2", "3"], [2.0, 3.0]),
        ("seating.seats", [3.0], ["3"], [3.0]),
        ("front.baffle.solid", [True, False], ["true", "false"], ["true", "false"]),
        ("room.length", 5.25, ["5.25 m"], [5.25]),
        ("room.length", (5, "18 ft"), ["5 m", "18 ft"], [5.0, 5.4864]),  # a foot is 0.3048 m
        ("goals.1.band.from", [40], ["40 deg"], [40.0]),
        ("limits.2.at_least", [0], ["0 m"], [0.0]),
    ],
)
def test_numbers_and_booleans_are_values_too(store, path, values, texts, told):
    """Numbers are metres, degrees and otherwise SI, as records tell them."""
    found = optimiser.sweep(store, {path: values}, workers=1)
    assert found.header["over"][0]["texts"] == texts
    assert [r["values"][0] for r in found] == [pytest.approx(t) if isinstance(t, float) else t for t in told]
    assert all(r["feasible"] for r in found)


def test_arguments_of_another_kind_are_said(store):
    for call, message in (
        (lambda: optimiser.load(None), "a problem file is named by its path, not by None"),
        (lambda: optimiser.solve(3), "a problem file is named by its path, not by 3"),
        (lambda: optimiser.read(None), "a study is named by its path, not by None"),
        (lambda: optimiser.front(store, ["image_width", 3]), "3 is no objective"),
        (lambda: optimiser.front(store, "image_width"), "give them in a list, not as 'image_width'"),
        (lambda: optimiser.sweep(store, "room.length"), "a sweep goes over a mapping"),
        (lambda: optimiser.sweep(store, {"seating.seats": [None]}), "seating.seats: None is no value"),
        (lambda: optimiser.sweep(store, {"seating.seats": [float("nan")]}), "seating.seats: nan is no value"),
        (lambda: optimiser.sweep(store, {"room.length": "5 m"}, fixed={"screen.widt": "2 m"}), "unknown decision"),
        (lambda: optimiser.batch([store], fixed={"screen.widt": "2 m"}), "unknown decision 'screen.widt'"),
        (lambda: optimiser.batch(None), "rooms: None are none"),
    ):
        with pytest.raises(UsageError) as refused:
            call()
        assert message in str(refused.value)


def test_wrong_calls_are_said(store, monkeypatch):
    with pytest.raises(ProblemFileError, match="there is no such file"):
        optimiser.sweep("nothing.yaml", {"room.length": "3 m"})
    with pytest.raises(UsageError, match="list of problem files, or a table of rooms with a template"):
        optimiser.batch("rooms.csv")
    with pytest.raises(UsageError, match="a table of rooms is a CSV file"):
        optimiser.batch([], store)
    with pytest.raises(UsageError, match="a problem file as it stands"):
        from dataclasses import replace

        optimiser.sweep(replace(optimiser.load(store), title="changed"), {"room.length": "5 m"})
    with pytest.raises(UsageError, match="give workers, an executor or a cluster"):
        optimiser.sweep(store, {"room.length": "5 m"}, workers=1, executor=ThreadPoolExecutor(1))
    monkeypatch.setitem(sys.modules, "pandas", None)
    found = optimiser.sweep(store, {"room.length": "5 m"}, workers=1)
    with pytest.raises(UsageError, match="pip install pandas"):
        found.frame()


@pytest.mark.parametrize("number", ["5", 2.5, True])
def test_whole_numbers_are_asked_for_as_such(number, store):
    with pytest.raises(UsageError, match=f"a whole number of points, please, not {re.escape(repr(number))}"):
        optimiser.front(store, ["image_width", "rear_wall_distance"], points=number)
    with pytest.raises(UsageError, match=f"a whole number of workers, please, not {re.escape(repr(number))}"):
        optimiser.sweep(store, {"room.length": "5 m, 6 m"}, workers=number)
