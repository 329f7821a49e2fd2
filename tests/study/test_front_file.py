"""A front's file: taken up wherever it was cut off, the same whoever worked on it; the command; the knees."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimiser.cli import program
from optimiser.errors import UsageError
from optimiser.problem.read import load
from optimiser.study.front import front, read_front
from optimiser.study.knees import knees
from tests.support.signals import hearing

ROOT = Path(__file__).resolve().parents[2]
FILE = ROOT / "problems" / "box-room.yaml"
TEXT = FILE.read_text(encoding="utf-8")
BETWEEN = ["image_width", "upward_angle:lower"]
HOW = {"points": 10, "grid": 0.02, "text": TEXT}


@pytest.fixture(scope="module")
def problem():
    return load(FILE)


@pytest.fixture(scope="module")
def whole(problem, tmp_path_factory):
    """A finished file, and all that it held while it grew, line by line."""
    path = tmp_path_factory.mktemp("front") / "whole.jsonl"
    lines: list[bytes] = []

    def told(points, share):
        lines[:] = path.read_bytes().splitlines(keepends=True)

    front(problem, BETWEEN, out=path, told=told, **HOW)
    return path.read_bytes(), lines


def test_a_file_says_what_it_is_and_holds_the_front(problem, whole, tmp_path):
    path = tmp_path / "front.jsonl"
    path.write_bytes(whole[0])
    header, *records = map(json.loads, whole[0].decode().splitlines())
    assert header["study"] == "front" and header["problem"] == TEXT and header["name"] == "box-room.yaml"
    assert [(o["name"], o["sense"], o["unit"]) for o in header["objectives"]] == [
        ("image_width", "raise", "m"),
        ("upward_angle[row=reference]:lower", "lower", "deg"),
    ]
    assert [r["index"] for r in records] == list(range(len(records))) and len(records) >= 10
    assert all(r["feasible"] and len(r["values"]) == len(r["proven"]) == 2 for r in records)
    assert header["finished"]["knees"] == [r["index"] for r in records if r["knee"]]
    assert records[0]["ends"] == [0] and records[-1]["ends"] == [1]
    widths, angles = zip(*(r["values"] for r in records))
    assert list(widths) == sorted(widths, reverse=True) and list(angles) == sorted(angles, reverse=True)
    assert all(r["design"]["screen.width"] == pytest.approx(w, abs=1e-9) for r, w in zip(records, widths))
    again = read_front(path, problem)
    assert again == front(problem, BETWEEN, **(HOW | {"text": TEXT}))


def test_a_file_cut_off_anywhere_ends_up_the_same(problem, whole, tmp_path):
    finished, lines = whole
    path = tmp_path / "cut.jsonl"
    for kept in (1, 2, len(lines) // 2, len(lines)):
        path.write_bytes(b"".join(lines[:kept]) + (lines[kept][: len(lines[kept]) // 2] if kept < len(lines) else b""))
        front(problem, BETWEEN, out=path, resume=True, **HOW)
        assert path.read_bytes() == finished, kept


def test_what_is_answered_already_is_not_asked_again(problem, whole, tmp_path, monkeypatch):
    from optimiser.study import front as module

    path = tmp_path / "front.jsonl"
    path.write_bytes(b"".join(whole[1]))
    monkeypatch.setattr(module, "answer", None)
    front(problem, BETWEEN, out=path, resume=True, **HOW)
    assert path.read_bytes() == whole[0]
    assert front(problem, BETWEEN, out=path, resume=True, **HOW).summary["complete"]


def test_two_workers_write_the_same_file(problem, whole, tmp_path):
    path = tmp_path / "two.jsonl"
    front(problem, BETWEEN, out=path, workers=2, **HOW)
    assert path.read_bytes() == whole[0]


def test_another_question_does_not_take_the_file_over(problem, whole, tmp_path):
    path = tmp_path / "front.jsonl"
    path.write_bytes(whole[0])
    for other in ({"points": 11}, {"grid": 0.03}):
        with pytest.raises(UsageError, match="another study"):
            front(problem, BETWEEN, out=path, resume=True, **(HOW | other))
    with pytest.raises(UsageError, match="exists already"):
        front(problem, BETWEEN, out=path, **HOW)
    assert path.read_bytes() == whole[0]


def test_answers_to_other_questions_are_refused(problem, whole, tmp_path):
    path = tmp_path / "front.jsonl"
    header, first, second, third, *rest = whole[1]
    changed = third.replace(b'"floors":[', b'"floors":[1.5,', 1)
    path.write_bytes(header + first + second + changed + b"".join(rest))
    with pytest.raises(UsageError, match="another version"):
        front(problem, BETWEEN, out=path, resume=True, **HOW)


# --- the command --------------------------------------------------------------------------------


def call(*words):
    return of_file(FILE.name, *words)


def of_file(name, *words):
    return CliRunner().invoke(program, ["trade", str(ROOT / "problems" / name), *words], standalone_mode=False)


def between(*texts):
    return [word for text in texts for word in ("--between", text)]


def test_the_command_lists_the_front_and_keeps_it(tmp_path):
    path = tmp_path / "front.jsonl"
    words = [*between(*BETWEEN), "--points", "10", "--grid", "2 cm", "--workers", "1", "--out", str(path)]
    first = call(*words)
    assert first.exit_code == 0, first.output
    assert "more image width against less upward angle, reference row" in first.output
    records = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()[1:]]
    assert f"{len(records)} designs that no design beats" in first.output
    assert f"1 has the most image width; {len(records)} has the least upward angle" in first.output.replace("\n", " ")
    again = call(*words, "--resume")
    assert again.output == first.output
    with pytest.raises(UsageError, match="exists already"):
        raise call(*words).exception


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (between("image_width"), "two objectives or three"),
        ([*between(*BETWEEN), "--resume"], "go with --out"),
        ([*between(*BETWEEN), "--spacing", "2 in"], "should read like"),
        ([*between(*BETWEEN), "--spacing", "image_width=2"], "spacing of image_width"),
        ([*between(*BETWEEN), "--spacing", "upward_angle[row=1]=1 deg"], "none of the objectives"),
        ([*between(*BETWEEN), "--workers", "0"], "at least one worker"),
        ([*between(*BETWEEN), "--close", "50"], "0.01 to 20"),
    ],
)
def test_a_call_that_makes_no_sense_ends_in_words(words, message):
    error = call(*words).exception
    assert isinstance(error, UsageError) and message in str(error), error


def test_an_impossible_room_is_code_3(tmp_path):
    path = tmp_path / "small.yaml"
    path.write_text(TEXT.replace("limits:", "limits:\n  - {measure: image_width, at_least: 9 m}", 1), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "optimiser", "trade", str(path), *between(*BETWEEN), "--workers", "1"],
        capture_output=True,
        text=True,
        cwd=ROOT,
    )
    assert done.returncode == 3, done
    assert "no design holds all limits" in done.stderr and "explain" in done.stderr


def test_ctrl_c_keeps_what_is_done_and_resume_goes_on(problem, tmp_path):
    path = tmp_path / "front.jsonl"
    words = [sys.executable, "-m", "optimiser", "trade", str(FILE), *between(*BETWEEN), "--spacing", "image_width=1 mm"]
    words += ["--points", "5000", "--out", str(path), "--workers", "2"]
    study = subprocess.Popen(
        words, stderr=subprocess.PIPE, text=True, cwd=ROOT, start_new_session=True, preexec_fn=hearing
    )
    try:
        end = time.monotonic() + 60
        while time.monotonic() < end and study.poll() is None:
            if path.exists() and path.read_bytes().count(b"\n") > 6:
                break
            time.sleep(0.02)
        os.killpg(study.pid, signal.SIGINT)
        _, said = study.communicate(timeout=60)
    finally:
        if study.poll() is None:
            study.kill()
    assert study.returncode == 130 and "--resume goes on" in said, said
    held = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    assert "finished" not in held[0] and len(held) > 6


# --- knees --------------------------------------------------------------------------------------


def test_a_corner_is_a_knee_and_a_straight_line_has_none():
    corner = [(1.0, 0.0), (0.95, 0.5), (0.9, 0.9), (0.5, 0.95), (0.0, 1.0)]
    assert knees(corner) == [2]
    assert knees([(1.0 - k / 10, k / 10) for k in range(11)]) == []


def test_units_do_not_matter_and_the_most_marked_knee_comes_first():
    stairs = [(10.0, 0.0), (9.8, 3.0), (9.0, 3.2), (6.0, 7.8), (5.5, 8.0), (1.0, 8.5), (0.0, 10.0)]
    first = knees(stairs)
    assert first[0] == 3 and 1 in first
    assert knees([(1000.0 * a - 7.0, 0.01 * b) for a, b in stairs]) == first


def test_a_small_bump_is_no_knee():
    assert knees([(1.0, 0.0), (0.75, 0.26), (0.5, 0.5), (0.25, 0.76), (0.0, 1.0)]) == []


def test_the_knee_of_a_surface_is_its_corner():
    """A box's corner: near it all three are nearly whole, at the edges one is lost."""
    points = [(0.9, 0.9, 0.9)]
    for a in (0.0, 0.3, 0.6):
        for b in (0.0, 0.3, 0.6):
            points += [(1.0, a, b), (a, 1.0, b), (a, b, 1.0)]
    assert knees(points) == [0]


def test_fewer_than_three_points_or_a_flat_objective_have_no_knee():
    assert knees([]) == knees([(1.0, 0.0), (0.0, 1.0)]) == knees([(1.0, 0.5), (0.5, 0.5), (0.0, 0.5)]) == []


def test_a_file_of_the_best_scoring_designs_says_so_and_goes_on(problem, tmp_path):
    path = tmp_path / "front.jsonl"
    words = [
        *between(*BETWEEN),
        "--points",
        "4",
        "--grid",
        "10 cm",
        "--workers",
        "1",
        "--out",
        str(path),
        "--best-scoring",
    ]
    first = call(*words)
    assert first.exception is None and "scores best: proven, to 0.1 points, of each" in " ".join(first.output.split())
    header, *records = map(json.loads, path.read_text(encoding="utf-8").splitlines())
    assert header["best_scoring"] and all(r["score"] <= r["scored"] <= r["score"] + 0.1 for r in records)
    assert [p.scored for p in read_front(path, problem).points] == [r["scored"] for r in records]
    assert call(*words, "--resume").output == first.output
    assert isinstance(call(*words[:-1], "--resume").exception, UsageError)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        # the file holds the image at 280 cm
        (["screen-stays.yaml", *between("image_width", "score")], "All designs have the same image width (280.0 cm)"),
        # 2 m are 78.74 in: 6 ft 6 3/4 in
        (
            ["box-room.yaml", *between("image_width", "midpoint_offset"), "--fix", "screen.width=2 m"],
            "All designs have the same image width (6 ft 6 3/4 in)",
        ),
    ],
)
def test_an_objective_that_nothing_moves_is_told_of(words, told, tmp_path):
    file, *rest = words
    out = tmp_path / "front.jsonl"
    done = of_file(file, *rest, "--points", "5", "--workers", "1", "--out", str(out))
    assert done.exit_code == 0, done.output
    assert told in " ".join(done.stdout.split())
    assert json.loads(out.read_text().splitlines()[0])["finished"]["same"] == [0]


@pytest.mark.parametrize(
    ("words", "name", "option"),
    [
        (["trade", *between("image_width", "score")], "front.xlsx", "--xlsx"),
        (["sweep", "--over", "room.length=6 m..7 m step 1 m"], "widths.svg", "--chart"),
        (["batch"], "rooms.CSV", "--csv"),
    ],
)
def test_a_study_is_not_kept_under_the_name_of_a_workbook_or_a_chart(words, name, option, tmp_path):
    command, *rest = words
    room = Path(__file__).parents[2] / "problems" / "box-room.yaml"
    done = CliRunner().invoke(program, [command, str(room), *rest, "--out", str(tmp_path / name)])
    study = f"{name.partition('.')[0]}.jsonl"
    assert isinstance(done.exception, UsageError)
    assert f"write --out {study}, and then 'optimiser show {study} {option} {name}'" in str(done.exception)
    assert not list(tmp_path.iterdir())


def test_an_objective_that_nothing_moves_stands_beside_two_others():
    done = of_file(
        "screen-stays.yaml", "--workers", "1", "--points", "3", "--grid", "5 cm",
        *between("image_width", "upward_angle[row=1]:lower"), "--and", "horizontal_angle[row=1]",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    assert "All have the same image width: it does not pull against the others." in done.stdout
