"""Files of studies that were cut off or edited: told of by line, with what to do, and gone on with where that works."""

import json
import math

import pytest
from click.testing import CliRunner

import optimiser
from optimiser.cli import program
from optimiser.errors import UsageError
from tests.study.rooms import STORE

LENGTHS = ["5.2 m", "5.6 m", "6 m", "2 m"]
"""The last is too short for a chair behind the image."""

AGAIN = "take line 3 out and go on with --resume, or make the study again"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("damaged")
    (folder / "store.yaml").write_text(STORE, encoding="utf-8")
    sweep, front = folder / "sweep.jsonl", folder / "front.jsonl"
    optimiser.sweep(folder / "store.yaml", {"room.length": LENGTHS}, out=sweep, workers=1)
    between = ["rear_wall_distance", "listening_distance"]
    optimiser.front(folder / "store.yaml", between, points=4, out=front, workers=1)
    batch = folder / "batch.jsonl"
    rooms = [{"name": "a", "room.length": "5.2 m"}, {"name": "b", "room.length": "6 m"}]
    optimiser.batch(rooms, folder / "store.yaml", out=batch, workers=1)
    return {path.stem: path for path in (sweep, front, batch)}


def shown(path):
    return CliRunner().invoke(program, ["show", str(path)], standalone_mode=False)


def edited(path, folder, line, edit):
    """The file with a line's record edited."""
    lines = path.read_text(encoding="utf-8").splitlines()
    record = json.loads(lines[line - 1])
    edit(record)
    lines[line - 1] = json.dumps(record)
    out = folder / path.name
    out.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return out


def renamed(old, new):
    def edit(record):
        record[new] = record.pop(old)

    return edit


def put(**values):
    return lambda record: record.update(values)


@pytest.mark.parametrize(
    ("kind", "line", "edit", "message"),
    [
        ("sweep", 3, put(index=99), f"'index' is 99, and there are 4 records, from 0: {AGAIN}"),
        ("sweep", 3, put(score="abc"), f"'score' is not a number: {AGAIN}"),
        ("sweep", 3, put(values=[]), f"'values' has 0 for 1: {AGAIN}"),
        ("sweep", 3, renamed("design", "desing"), f"'design' is missing: {AGAIN}"),
        (
            "sweep",
            3,
            lambda r: renamed("row1.y", "row1.z")(r["design"]),
            "'design' is damaged (unknown decision 'row1.z'",
        ),
        ("sweep", 3, lambda r: r["design"].pop("row1.y"), f"'design' has no row1.y: {AGAIN}"),
        (
            "sweep",
            3,
            lambda r: r["design"].update({"screen.width": "wide"}),
            "holds 'screen.width', which is not a number",
        ),
        ("sweep", 1, renamed("over", "ovre"), "'over' is missing: make the study again"),
        ("batch", 3, put(inputs=None), f"'inputs' is not a mapping: {AGAIN}"),
        ("batch", 1, put(rooms="two"), "'rooms' is not a whole number: make the study again"),
        ("front", 3, put(values=["a", 2.0]), "'values' holds what is not a number: make the study again"),
        ("front", 3, renamed("proven", "poven"), "'proven' is missing: make the study again"),
        (
            "sweep",
            3,
            lambda r: r["design"].update({"row1.platform": None}),
            "holds 'row1.platform', which is not a number",
        ),
        (
            "sweep",
            3,
            lambda r: r["design"].update({"row1.y": 1e308}),
            "holds 'row1.y', which is no number that it could be",
        ),
        (
            "sweep",
            3,
            lambda r: r["design"].update({"row1.y": math.nan}),
            "holds 'row1.y', which is no number that it could",
        ),
        (
            "sweep",
            3,
            lambda r: r["design"].update({"screen.aspect": ""}),
            "holds 'screen.aspect', which is none that it",
        ),
        ("sweep", 1, put(fixed="x"), "'fixed' is not a mapping: make the study again"),
        ("sweep", 1, put(fixed={"rows": []}), "'fixed' holds 'rows', which is not a number or a word: make the study"),
        ("front", 1, lambda r: r["finished"].update(ends=[]), "'finished' has not one end for each objective: make"),
        ("front", 1, lambda r: r["finished"].update(knees=[99]), "'finished' names a point that there is not: make"),
        ("front", 1, put(objectives=[{}]), "'objectives' holds what 'name' is missing: make the study again"),
    ],
)
def test_a_damaged_line_is_told_of_by_place(made, tmp_path, kind, line, edit, message):
    path = edited(made[kind], tmp_path, line, edit)
    error = shown(path).exception
    assert isinstance(error, UsageError) and error.exit_code == 2
    assert str(error).startswith(f"{path}, line {line}: ") and message in str(error)


def test_a_line_that_is_no_record(made, tmp_path):
    path = tmp_path / "sweep.jsonl"
    for spoilt in (b"[1]", b"{index: 1}", b"\xff\xfe"):
        lines = made["sweep"].read_bytes().splitlines(keepends=True)
        path.write_bytes(b"".join([*lines[:2], spoilt + b"\n", *lines[3:]]))
        assert str(shown(path).exception) == f"{path}, line 3: it is no record: {AGAIN}"


def test_what_is_said_to_mend_it_mends_it(made, tmp_path):
    """The line taken out, the study goes on, and is what it was."""
    whole = made["sweep"].read_bytes()
    lines = whole.splitlines(keepends=True)
    path = tmp_path / "sweep.jsonl"
    path.write_bytes(b"".join([*lines[:2], *lines[3:]]))
    said = shown(path)
    assert (
        said.exit_code == 0
        and "3 of 4 records are there; the command that made it goes on with --resume" in said.output
    )
    store = made["sweep"].parent / "store.yaml"
    optimiser.sweep(store, {"room.length": LENGTHS}, out=path, resume=True, workers=1)
    assert path.read_bytes() == whole


def test_a_study_cut_off_after_it_was_finished(made, tmp_path):
    path = tmp_path / "cut.jsonl"
    path.write_bytes(b"".join(made["sweep"].read_bytes().splitlines(keepends=True)[:3]))
    assert "2 of 4 records are there" in shown(path).output
    whole = made["front"].read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(whole[:3]))
    error = shown(path).exception
    assert isinstance(error, UsageError)
    assert str(error).endswith(f"2 of {len(whole) - 1} records are there, though it was finished: make the study again")


def test_whole_studies_are_shown(made):
    for path in made.values():
        said = shown(path)
        assert said.exit_code == 0 and "not finished" not in said.output, said.output
