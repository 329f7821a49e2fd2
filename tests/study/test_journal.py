"""The file of a study: grows line by line, survives being cut off anywhere, ends up in order."""

import json
import random

import pytest

from optimiser.errors import UsageError
from optimiser.journal import Journal, read_header, read_records

HEADER = {"study": "sweep", "format": 1, "title": "a room"}
RECORDS = [{"index": n, "score": n / 7, "words": "é\n" * n} for n in range(12)]


def finished(path, order):
    journal = Journal(path, HEADER)
    for n in order:
        journal.add(RECORDS[n])
    journal.finish()
    return path.read_bytes()


def test_any_order_of_arrival_gives_the_same_file(tmp_path):
    orders = [random.Random(seed).sample(range(12), 12) for seed in range(5)]
    files = {finished(tmp_path / f"{i}.jsonl", order) for i, order in enumerate(orders)}
    assert len(files) == 1
    first, *rest = files.pop().decode().splitlines()
    assert json.loads(first) == {**HEADER, "finished": True}
    assert [json.loads(line) for line in rest] == RECORDS


def test_a_file_cut_anywhere_is_taken_up_without_loss_or_repeat(tmp_path):
    whole = finished(tmp_path / "whole.jsonl", range(12))
    path = tmp_path / "cut.jsonl"
    journal = Journal(path, HEADER)
    for record in RECORDS[:7]:
        journal.add(record)
    journal.close()
    grown = path.read_bytes()
    begin = grown.index(b"\n") + 1
    for cut in range(begin, len(grown) + 1):
        path.write_bytes(grown[:cut])
        again = Journal(path, HEADER, resume=True)
        there = [r["index"] for r in again.records()]
        assert there == list(range(grown[:cut].count(b"\n") - 1))
        for record in RECORDS[len(there) :]:
            again.add(record)
        again.finish()
        assert path.read_bytes() == whole


def test_a_record_told_twice_is_kept_once(tmp_path):
    assert finished(tmp_path / "a.jsonl", [0, 1, 1, 2, 0]) == finished(tmp_path / "b.jsonl", [0, 1, 2])


def test_nothing_is_overwritten_or_taken_over_unasked(tmp_path):
    path = tmp_path / "study.jsonl"
    finished(path, range(3))
    before = path.read_bytes()
    with pytest.raises(UsageError, match="--resume to go on with it, --overwrite"):
        Journal(path, HEADER)
    with pytest.raises(UsageError, match=r"another study \(title differs\)"):
        Journal(path, {**HEADER, "title": "another room"}, resume=True)
    with pytest.raises(UsageError, match=r"another study \(grid differs\)"):
        Journal(path, {**HEADER, "grid": 0.001}, resume=True)
    assert path.read_bytes() == before
    assert Journal(path, HEADER, resume=True).finished
    Journal(path, HEADER, overwrite=True).close()
    assert list(read_records(path)) == []


@pytest.mark.parametrize("content", [b"", b"format: 1\n", b"[1, 2]\n", b'{"format": 1}\n', b"\xff\xfe\n"])
def test_what_is_no_study_is_refused(tmp_path, content):
    path = tmp_path / "other.txt"
    path.write_bytes(content)
    with pytest.raises(UsageError, match="is not a study"):
        read_header(path)
    with pytest.raises(UsageError, match="is not a study"):
        Journal(path, HEADER, resume=True)
    assert path.read_bytes() == content


def test_places_that_cannot_be_written_are_said(tmp_path):
    with pytest.raises(UsageError, match="is not a folder"):
        Journal(tmp_path / "nowhere" / "study.jsonl", HEADER)
    with pytest.raises(UsageError, match="cannot be read"):
        read_header(tmp_path / "nothing.jsonl")


def test_to_resume_and_to_overwrite_are_two_things(tmp_path):
    path = tmp_path / "study.jsonl"
    finished(path, range(3))
    before = path.read_bytes()
    with pytest.raises(UsageError, match="say one of the two"):
        Journal(path, HEADER, resume=True, overwrite=True)
    assert path.read_bytes() == before


def test_numbers_without_an_end_never_get_into_a_file(tmp_path):
    journal = Journal(tmp_path / "study.jsonl", HEADER)
    with pytest.raises(ValueError):
        journal.add({"index": 0, "score": float("nan")})
