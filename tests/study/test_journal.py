"""The file of a study: grows line by line, survives being cut off anywhere, ends up in order."""

import errno
import json
import os
import random
from pathlib import Path

import pytest

from optimiser.errors import UsageError
from optimiser.journal import Journal, complete, due, line_of, read_header, read_records

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


@pytest.mark.parametrize("content", [b"format: 1", b"format: 1\n", b"[1, 2]\n", b'{"format": 1}\n', b"\xff\xfe\n"])
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


def test_a_file_that_was_hardly_begun_is_begun_again(tmp_path):
    """A power cut may leave any part of the first line, and nothing too."""
    whole = finished(tmp_path / "whole.jsonl", range(12))
    first = line_of(HEADER)
    path = tmp_path / "cut.jsonl"
    for cut in range(len(first)):
        path.write_bytes(first[:cut])
        again = Journal(path, HEADER, resume=True)
        assert list(again.records()) == [] and path.read_bytes() == first
        for record in RECORDS:
            again.add(record)
        again.finish()
        assert path.read_bytes() == whole
    path.write_bytes(line_of({**HEADER, "title": "another room"})[:-1])
    with pytest.raises(UsageError, match="is not a study|belongs to another"):
        Journal(path, HEADER, resume=True)


def test_a_finished_file_that_lost_records_is_not_finished(tmp_path):
    """Twelve records are due; a copy that stopped half way holds fewer, and its first line says nothing of it."""
    header = {**HEADER, "over": [{"texts": ["a", "b", "c"]}, {"texts": ["1", "2", "3", "4"]}]}
    path = tmp_path / "study.jsonl"
    journal = Journal(path, header)
    for record in RECORDS:
        journal.add(record)
    journal.finish()
    whole = path.read_bytes()
    assert due(header) == 12 and complete(path, read_header(path))
    begin = whole.index(b"\n") + 1
    for cut in (begin, begin + 5, len(whole) // 2, len(whole) - 1):
        path.write_bytes(whole[:cut])
        assert not complete(path, read_header(path))
        again = Journal(path, header, resume=True)
        assert not again.finished
        there = {r["index"] for r in again.records()}
        assert len(there) == whole[:cut].count(b"\n") - 1
        for record in RECORDS:
            if record["index"] not in there:
                again.add(record)
        again.finish()
        assert path.read_bytes() == whole
    path.write_bytes(whole + line_of(RECORDS[3]))
    with pytest.raises(UsageError, match="13 of 12 records are there, though it was finished: make the study again"):
        Journal(path, header, resume=True)


def test_a_finished_front_that_lost_points_is_to_be_made_again(tmp_path):
    path = tmp_path / "front.jsonl"
    header = {"study": "front"}
    journal = Journal(path, header)
    journal.finish(RECORDS, summary={"points": 12})
    assert Journal(path, header, resume=True).finished
    path.write_bytes(path.read_bytes()[: -len(line_of(RECORDS[-1]))])
    with pytest.raises(UsageError, match="11 of 12 records are there, though it was finished: make the study again"):
        Journal(path, header, resume=True)


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no full disk to write on")
@pytest.mark.parametrize("path", ["/dev/full", "/dev/null"])
def test_what_the_system_says_to_writing_is_told(path):
    """The one takes nothing, the other cannot be forced to the disk."""
    with pytest.raises(UsageError, match=f"{path} cannot be written \\((No space left|Invalid argument)"):
        Journal(Path(path), HEADER, overwrite=True)


def test_a_disk_that_fills_up_on_the_way_leaves_what_was_written(tmp_path, monkeypatch):
    path = tmp_path / "study.jsonl"
    journal = Journal(path, HEADER)
    journal.add(RECORDS[0])

    def full(handle):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as now:
        now.setattr(os, "fsync", full)
        with pytest.raises(
            UsageError, match=r"cannot be written \(No space left on device\); what was written until now"
        ):
            journal.add(RECORDS[1])
        with pytest.raises(UsageError, match="No space left on device"):
            journal.finish()
        journal.close()
    assert [r["index"] for r in read_records(path)][:1] == [0]
    assert [p.name for p in tmp_path.iterdir()] == ["study.jsonl"]
    again = Journal(path, HEADER, resume=True)
    again.add(RECORDS[2])
    again.finish()
    assert [r["index"] for r in read_records(path)] == [0, 1, 2]


def test_numbers_without_an_end_never_get_into_a_file(tmp_path):
    journal = Journal(tmp_path / "study.jsonl", HEADER)
    with pytest.raises(ValueError):
        journal.add({"index": 0, "score": float("nan")})
