"""Many rooms: a record a room, whatever becomes of it."""

from pathlib import Path

import pytest

from optimiser.errors import UsageError
from optimiser.problem.read import loads
from optimiser.solve import PROMISE, solve
from optimiser.study.batch import answer_room, batch_of_files, batch_of_table
from optimiser.study.reading import open_study
from optimiser.study.running import carry_out
from optimiser.work import Workers
from tests.study.rooms import STORE

ROOMS = """\
name,room.length,room.width [m],limits.listening_distance.at_least
attic,5.2 m,3.6,
cellar,17 ft,12 ft,3 m
"hut, small",3.6 m,3.6,2.9 m
slip,5.2,3.6,
,5.2 m,3.6,
"""


def carried(plan, path, workers=1, **how):
    with Workers(workers=workers) as hands:
        carry_out(plan, answer_room, path, hands, **how)
    return open_study(path)


@pytest.fixture(scope="module")
def rooms(tmp_path_factory):
    return carried(
        batch_of_table(ROOMS, "rooms.csv", STORE, "store.yaml"), tmp_path_factory.mktemp("b") / "rooms.jsonl"
    )


def test_a_record_a_room(rooms):
    records = list(rooms.records())
    assert [r["name"] for r in records] == ["attic", "cellar", "hut, small", "slip", "room 5"]
    assert [r["status"] for r in records] == ["optimal", "optimal", "impossible", "failed", "optimal"]
    assert records[1]["inputs"] == {
        "room.length": "17 ft",
        "room.width": "12 ft",
        "limits.listening_distance.at_least": "3 m",
    }
    assert "room.length: '5.2' has no unit" in records[3]["error"]
    # 3.6 m of room less 0.4 m of baffle and 0.5 m behind leave 2.7 m of the 2.9 m asked for
    assert {c["limit"] for c in records[2]["conflict"]} == {"listening_distance", "rear_wall_distance"}


def test_a_room_of_a_table_is_the_file_that_says_so(rooms):
    """Against a file edited by hand."""
    _, cellar, *_ = rooms.records()
    edited = STORE.replace("length: 5.2 m, width: 3.6 m", "length: 17 ft, width: 12 ft").replace(
        "at_least: 2 m", "at_least: 3 m"
    )
    alone = solve(loads(edited))
    assert abs(cellar["score"] - alone.score) <= PROMISE
    problem, *_, card = rooms.design_of(cellar)
    assert problem.room.length == pytest.approx(17 * 0.3048)
    assert card.score == pytest.approx(cellar["score"], abs=1e-6)


def test_files_good_and_bad(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("good.yaml").write_text(STORE)
    Path("bad.yaml").write_text(STORE.replace("rows: 1", "rows: none"))
    Path("noise.yaml").write_bytes(b"\xff\xfe\x00nonsense")
    names = ["good.yaml", "bad.yaml", "noise.yaml", "none.yaml", "."]
    plan = batch_of_files([Path(n) for n in names])
    study = carried(plan, tmp_path / "b.jsonl")
    records = list(study.records())
    assert [r["name"] for r in records] == names
    assert [r["status"] for r in records] == ["optimal", "failed", "failed", "failed", "failed"]
    assert records[1]["error"].startswith("bad.yaml:9:9: seating.rows: ")
    assert "cannot be read (No such file or directory)" in records[3]["error"]
    assert study.design_of(records[0])[0].title == "Apple store"
    again = carried(batch_of_files([Path(n) for n in names]), tmp_path / "c.jsonl", workers=2)
    assert again.path.read_bytes() == study.path.read_bytes()


@pytest.mark.parametrize("cell", ["100 3/4", "100-3/4", "100¾", "100.75", "100 3/4 in", "8' 4 3/4in"])
def test_a_tape_in_inches_is_read_with_its_fractions(cell):
    """100 3/4 in are 2.55905 m, by hand."""
    plan = batch_of_table(f"name,room.height [in]\nattic,{cell}\n", "rooms.csv", STORE, "store.yaml")
    ((_, asked),) = plan._rooms()
    assert not isinstance(asked, str), asked
    assert float(asked.problem().room.height) == pytest.approx(2.55905)


def test_a_table_that_was_edited_is_another_study(rooms, tmp_path):
    edited = batch_of_table(ROOMS.replace("17 ft", "18 ft"), "rooms.csv", STORE, "store.yaml")
    with pytest.raises(UsageError, match=r"another study \(sha256 differs\)"):
        carried(edited, rooms.path, resume=True)


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ("", "the first line should name columns"),
        ("name,room.length\n", "no room stands below"),
        ("name,room.lenght\na,3 m\n", "rooms.csv: unknown input 'room.lenght': did you mean 'room.length'?"),
        ("room.length,room.length [m]\n1,2\n", "two columns are headed 'room.length'"),
        ('name,"room.length\n', "not a table"),
        ("name,[m]\na,b\n", "a column is headed"),
    ],
)
def test_a_table_that_cannot_be_read_is_said(table, message):
    with pytest.raises(UsageError) as refused:
        batch_of_table(table, "rooms.csv", STORE, "store.yaml")
    assert message in str(refused.value)


def test_a_pin_that_makes_a_table_false_is_refused():
    table = "name,row1.y\na,2.4 m\nb,2.9 m\n"
    with pytest.raises(
        UsageError, match=r"row1\.y is pinned to 2\.5 m, so that seating\.place\.row1\.y of fx\.csv would"
    ):
        batch_of_table(table, "fx.csv", STORE, "store.yaml", fixed={"row1.y": "2.5 m"})
    assert batch_of_table(table, "fx.csv", STORE, "store.yaml", fixed={"screen.bottom": "0.7 m"}).count == 2
    with pytest.raises(UsageError, match=r"unknown decision 'screen\.widt': did you mean 'screen\.width'"):
        batch_of_files([Path("store.yaml")], fixed={"screen.widt": "2 m"})


def test_other_separators_and_ragged_lines():
    plan = batch_of_table("Name;room.length\na;5 m\nb;5 m;7\nc\n", "rooms.csv", STORE, "store.yaml")
    found = dict(plan.tasks())
    assert plan.count == 3
    assert found[0].changes == (("room.length", "5 m"),)
    assert found[1] == "rooms.csv, room 2: there are more cells than columns"
    assert found[2].changes == ()


def test_tables_are_drawn_as_workers_take_them():
    """Memory does not grow with the number of rooms."""
    many = "name,room.length\n" + "".join(f"r{n},5 m\n" for n in range(5000))
    plan = batch_of_table(many, "rooms.csv", STORE, "store.yaml")
    tasks = plan.tasks()
    for n in range(5000):
        index, _ = next(tasks)
        plan.note(plan.head(index))
        assert index == n and not plan._in_hand
