"""What is read is never written over, however it is named."""

import os

import pytest
from click.testing import CliRunner

import optimiser
from optimiser.cli import program
from optimiser.errors import UsageError
from optimiser.outputs import keep_apart
from tests.study.rooms import STORE

TABLE = "name,room.length\na,5.2 m\n"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "store.yaml").write_text(STORE, encoding="utf-8")
    (tmp_path / "rooms.csv").write_text(TABLE, encoding="utf-8")
    os.symlink("store.yaml", tmp_path / "link.yaml")
    return tmp_path


COMMANDS = [
    ["sweep", "store.yaml", "--over", "room.length=5 m, 6 m", "--out", "store.yaml"],
    ["sweep", "store.yaml", "--over", "room.length=5 m, 6 m", "--out", "./link.yaml"],
    ["batch", "store.yaml", "--out", "store.yaml"],
    ["batch", "--table", "rooms.csv", "--template", "store.yaml", "--out", "rooms.csv"],
    ["batch", "--table", "rooms.csv", "--template", "store.yaml", "--out", "store.yaml"],
    ["trade", "store.yaml", "--between", "image_width", "--and", "score", "--out", "store.yaml"],
    ["prices", "store.yaml", "--picture", "store.yaml"],
    ["solve", "store.yaml", "--picture", "link.yaml"],
]


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: f"{words[0]} {words[-1]}")
def test_a_command_spares_what_it_reads(folder, words):
    refused = CliRunner().invoke(program, [*words, "--overwrite"], standalone_mode=False).exception
    assert isinstance(refused, UsageError) and "would be written over" in str(refused)
    assert (folder / "store.yaml").read_text(encoding="utf-8") == STORE
    assert (folder / "rooms.csv").read_text(encoding="utf-8") == TABLE


def test_show_spares_the_study(folder):
    optimiser.sweep("store.yaml", {"room.length": ["5.2 m"]}, out="s.jsonl", workers=1)
    before = (folder / "s.jsonl").read_bytes()
    for words in (["--csv", "s.jsonl"], ["--csv", "./s.jsonl"]):
        refused = (
            CliRunner().invoke(program, ["show", "s.jsonl", *words, "--overwrite"], standalone_mode=False).exception
        )
        assert isinstance(refused, UsageError) and "would be written over" in str(refused)
    twice = ["show", "s.jsonl", "--csv", "a.csv", "--xlsx", "a.csv", "--overwrite"]
    refused = CliRunner().invoke(program, twice, standalone_mode=False).exception
    assert isinstance(refused, UsageError) and "named for two things" in str(refused)
    assert (folder / "s.jsonl").read_bytes() == before and not (folder / "a.csv").exists()
    with pytest.raises(UsageError, match="would be written over"):
        optimiser.read("s.jsonl").save("s.jsonl")


def test_functions_spare_what_they_read(folder):
    with pytest.raises(UsageError, match="would be written over"):
        optimiser.sweep("store.yaml", {"room.length": ["5.2 m"]}, out="link.yaml", overwrite=True, workers=1)
    with pytest.raises(UsageError, match="would be written over"):
        optimiser.batch(["store.yaml"], out="store.yaml", overwrite=True, workers=1)
    with pytest.raises(UsageError, match="would be written over"):
        optimiser.batch("rooms.csv", "store.yaml", out="rooms.csv", overwrite=True, workers=1)
    with pytest.raises(UsageError, match="would be written over"):
        optimiser.front("store.yaml", ["image_width", "score"], out="store.yaml", overwrite=True, workers=1)
    assert (folder / "store.yaml").read_text(encoding="utf-8") == STORE


def test_files_that_are_not_there_yet_and_files_not_asked_for(tmp_path):
    keep_apart([tmp_path / "new.csv", None], [tmp_path / "old.yaml", None])
    with pytest.raises(UsageError):
        keep_apart([tmp_path / "a" / ".." / "new.csv"], [tmp_path / "new.csv"])
