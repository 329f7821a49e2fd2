"""Where answers go: letters that an encoding lacks, readers who have gone, full disks, files that cannot be."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from optimiser.commands._progress import watched

ROOT = Path(__file__).parents[1]
FULL = Path("/dev/full")  # takes no byte: as a disk without space does
ROOM = """\
format: 1
title: Café Žižka ∞
room: {length: 6 m, width: 4 m, height: 2.6 m}
front: {screen: {bottom: 0.7 m, width: 2.5 m}, baffle: {depth: 0.3 m}}
seating: {rows: 1, seats: 3, place: {row1.y: 3.5 m}}
goals: [{measure: horizontal_angle, band: [45 deg, 55 deg], fade: 8 deg}]
"""


@pytest.fixture(scope="module")
def room(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("room") / "room.yaml"
    path.write_text(ROOM, encoding="utf-8")
    return path


def run(*words, encoding: str | None = None, **how) -> subprocess.CompletedProcess:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)} | ({"PYTHONIOENCODING": encoding} if encoding else {})
    how = {"stdout": subprocess.PIPE} | how
    command = [sys.executable, "-m", "optimiser", *map(str, words)]
    return subprocess.run(command, stderr=subprocess.PIPE, env=environment, **how)


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252"])
def test_letters_that_cannot_be_printed_are_replaced(room, encoding):
    done = run("solve", room, encoding=encoding)
    assert done.returncode == 0 and done.stderr == b""
    printed = done.stdout.decode(encoding)
    assert printed.startswith({"ascii": "Caf? ?i?ka ?", "latin-1": "Café ?i?ka ?", "cp1252": "Café Žižka ?"}[encoding])
    # the angle of a 2.5 m image: its sign for degrees is in the latter two
    assert re.search(r"\d\.\d\?" if encoding == "ascii" else r"\d\.\d°", printed)


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "utf-8"])
def test_a_record_keeps_its_letters(room, encoding):
    done = run("solve", room, "--json", encoding=encoding)
    assert done.returncode == 0
    text = done.stdout.decode("latin-1" if encoding == "latin-1" else "utf-8")
    assert json.loads(text)["title"] == "Café Žižka ∞"


def test_a_record_has_no_negative_zero(tmp_path):
    """A wheelchair's place on the floor lies nothing above it: 0, whichever way the difference is taken."""
    given = ROOM.replace("seats: 3,", "seats: 3, wheelchair: {}, aisle: {sides: none},")
    path = tmp_path / "room.yaml"
    path.write_text(given, encoding="utf-8")
    text = run("solve", path, "--json").stdout.decode()
    assert json.loads(text)["measures"]["wheelchair_rise"] == 0.0
    assert not re.search(r"-0\.0\b(?!\d)", text)


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_errors_are_told_in_any_encoding(room, tmp_path, encoding):
    done = run("solve", tmp_path / "ž∞.yaml", encoding=encoding)
    assert done.returncode == 2 and b"there is no such file" in done.stderr and b"Traceback" not in done.stderr


WORDS = [("solve", "FILE"), ("solve", "FILE", "--json"), ("schema",), ("measures",), ("measures", "image_width")]


@pytest.mark.skipif(not FULL.exists(), reason="no device that is always full")
@pytest.mark.parametrize("words", WORDS)
def test_a_full_disk_is_told_in_a_line(room, words):
    with FULL.open("wb") as full:
        done = run(*(room if w == "FILE" else w for w in words), stdout=full)
    assert done.returncode == 1
    assert done.stderr.decode() == "the output cannot be written (No space left on device)\n"


@pytest.mark.parametrize("words", [*WORDS, ("--help",), ("solve", "--help")])
def test_a_reader_who_has_gone_is_no_fault(room, words):
    reading, writing = os.pipe()
    os.close(reading)
    try:
        done = run(*(room if w == "FILE" else w for w in words), stdout=writing)
    finally:
        os.close(writing)
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.parametrize("command", ["solve", "prices"])
class TestPictures:
    def refused(self, command, room, *words) -> str:
        done = run(command, room, "--picture", *words)
        said = done.stderr.decode()
        assert done.returncode == 2 and said.count("\n") == 1, said
        return said

    def test_only_svg(self, command, room, tmp_path):
        for name in ("x.png", "x", "svg"):
            said = self.refused(command, room, tmp_path / name)
            assert said == f"--picture: {tmp_path / name} should end in .svg: the picture is an SVG file\n"
            assert not (tmp_path / name).exists()

    def test_a_folder_is_no_picture(self, command, room, tmp_path):
        folder = tmp_path / "plans.svg"
        folder.mkdir()
        assert self.refused(command, room, folder, "--overwrite").endswith("is a folder; name a file in it\n")
        assert self.refused(command, room, tmp_path / "none" / "x.svg", "--overwrite").endswith("is not a folder\n")

    @pytest.mark.skipif(not Path("/proc/self").exists(), reason="no folder in which nobody may write")
    def test_where_nobody_may_write(self, command, room):
        assert (
            self.refused(command, room, "/proc/x.svg") == "/proc/x.svg cannot be written (No such file or directory)\n"
        )

    @pytest.mark.skipif(not FULL.exists(), reason="no device that is always full")
    def test_where_there_is_no_space(self, command, room, tmp_path):
        full = tmp_path / "full.svg"
        full.symlink_to(FULL)
        said = self.refused(command, room, full, "--overwrite")
        assert said == f"{full} cannot be written (No space left on device)\n"


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="no folder in which nobody may write")
def test_a_sheet_where_nobody_may_write(room):
    done = run("sheet", room, "--out", "/proc/sheet", "--only", "svg")
    assert (done.returncode, done.stderr) == (2, b"/proc/sheet cannot be written (No such file or directory)\n")


@pytest.mark.skipif(not FULL.exists(), reason="no device that is always full")
@pytest.mark.parametrize(("kind", "name"), [("svg", "plan.svg"), ("dxf", "drawings.dxf")])
def test_a_sheet_where_there_is_no_space(room, tmp_path, kind, name):
    (tmp_path / name).symlink_to(FULL)
    done = run("sheet", room, "--out", tmp_path, "--only", kind, "--overwrite")
    said = f"{tmp_path / name} cannot be written (No space left on device)\n"
    assert (done.returncode, done.stderr.decode()) == (2, said)


@pytest.mark.parametrize("command", ["solve", "explain"])
def test_a_narrow_terminal_has_no_longer_lines(room, command):
    """In 60 columns no line is longer, and no word is left out."""
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "60", "NO_COLOR": "1", "TERM": "dumb"}
    words = [sys.executable, "-m", "optimiser", command, str(room)]
    process = subprocess.Popen(words, stdout=theirs, stderr=subprocess.DEVNULL, env=environment)
    os.close(theirs)
    printed = b""
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:  # how a terminal says that nobody writes to it any more
            break
        if not piece:
            break
        printed += piece
    os.close(ours)
    assert process.wait() == 0
    lines = printed.decode("utf-8").replace("\r", "").splitlines()
    assert len(lines) > 20
    assert max(map(len, lines)) <= 60
    assert "…" not in "".join(lines)


def test_a_progress_bar_starts_no_thread(monkeypatch):
    """A process that has threads is not forked, so that each worker would have to begin anew."""

    class Terminal(io.StringIO):
        def isatty(self):
            return True

    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    before = threading.active_count()
    with watched() as progress:
        progress("the best design")
        progress("prices", 3, 17)
        assert threading.active_count() == before
    assert "the best design" in screen.getvalue() and "3/17" in screen.getvalue()
