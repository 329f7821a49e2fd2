"""Sweeps: every point is the answer of its own problem, the file is the same whoever worked on it."""

import csv
import io
import json
import math
import random
from concurrent.futures import ThreadPoolExecutor

import pytest
from rich.console import Console

from optimiser.errors import UsageError
from optimiser.problem.read import loads
from optimiser.sheet.results.comma import write_csv
from optimiser.sheet.results.terminal import heading, print_study
from optimiser.solve import PROMISE, solve
from optimiser.study.asking import answer
from optimiser.study.changes import changes
from optimiser.study.reading import open_study
from optimiser.study.running import carry_out
from optimiser.study.sweep import halvings, sweep_of
from optimiser.work import Workers
from tests.study.rooms import BARN, STORE


def swept(path, text, over, workers=None, **how):
    plan = sweep_of(text, "room.yaml", over)
    with Workers(workers=1) if workers is None else workers as hands:
        carry_out(plan, answer, path, hands, **how)
    return open_study(path)


LENGTHS = {"room.length": "5.2 m..7.2 m step 0.4 m"}


@pytest.fixture(scope="module")
def barn(tmp_path_factory):
    return swept(tmp_path_factory.mktemp("sweep") / "barn.jsonl", BARN, LENGTHS)


def test_every_point_is_the_answer_of_a_file_that_says_so(barn):
    """Against files edited by hand and solved alone, from nothing."""
    for at, record in enumerate(barn.records()):
        edited = BARN.replace("length: 6.4 m", f"length: {5.2 + 0.4 * at:.1f} m")
        alone = solve(loads(edited))
        assert record["index"] == at and record["values"] == [pytest.approx(5.2 + 0.4 * at)]
        assert record["status"] == alone.status == "optimal"
        assert abs(record["score"] - alone.score) <= PROMISE
        problem, space, design, card = barn.design_of(record)
        assert problem.room.length == pytest.approx(5.2 + 0.4 * at)
        assert space.has(design) and not card.broken
        assert card.score == pytest.approx(record["score"], abs=1e-6)


def test_where_a_limit_binds_by_hand(tmp_path):
    """In the store the image is 2.4 m wide and only the row's place is open, so with a limit of D on the
    distance beyond the goal's band the row sits at D, and sees 2 atan(1.2 / D); at D > 4.3 m the row
    would be less than 0.5 m from the rear wall."""
    over = {"limits.listening_distance.at_least": "2 m, 2.5 m, 3 m, 3.5 m, 4.3 m, 4.5 m"}
    records = list(swept(tmp_path / "s.jsonl", STORE, over).records())
    for record, distance in zip(records[:5], (2.0, 2.5, 3.0, 3.5, 4.3)):
        angle = math.degrees(2 * math.atan(1.2 / distance))
        score = 100.0 if angle > 45 else 100.0 * (1 - (45 - angle) / 20)
        assert record["score"] == pytest.approx(score, abs=PROMISE)
        if angle < 45:
            assert record["design"]["row1.y"] == pytest.approx(0.4 + distance, abs=0.002)
    binding = [[b["limit"] for b in r.get("binding", ())] for r in records]
    assert binding[:4] == [[], [], ["listening_distance[row=1]"], ["listening_distance[row=1]"]]
    assert set(binding[4]) == {"listening_distance[row=1]", "rear_wall_distance[row=1]"}
    assert records[2]["binding"][0]["end"] == "at_least" and records[2]["binding"][0]["value"] == pytest.approx(
        3.0, abs=0.0254
    )
    assert records[5]["status"] == "impossible"
    assert {c["limit"] for c in records[5]["conflict"]} == {"listening_distance", "rear_wall_distance"}
    told = [changes(a, b) for a, b in zip(records, records[1:])]
    assert [[(c.what, c.limit, c.after) for c in t] for t in told] == [
        [],
        [("binding", "listening_distance[row=1]", True)],
        [],
        [("binding", "rear_wall_distance[row=1]", True)],
        [("possible", "", False)],
    ]


def test_rows_and_screen_that_change_are_told(barn):
    first, *_, last = barn.records()
    assert first["design"]["rows"] == 1 and last["design"]["rows"] == 2  # 5.2 m holds no second row of 4 seats well
    told = {c.what: (c.before, c.after) for c in changes(first, last)}
    assert told["rows"] == (1, 2)
    assert "row2.seats" not in told


@pytest.mark.parametrize(
    "hands",
    [lambda: Workers(workers=2), lambda: Workers(workers=3), lambda: Workers(executor=ThreadPoolExecutor(2))],
    ids=["two processes", "three processes", "threads"],
)
def test_the_file_is_the_same_whoever_works(barn, tmp_path, hands):
    again = swept(tmp_path / "again.jsonl", BARN, LENGTHS, hands())
    assert again.path.read_bytes() == barn.path.read_bytes()


def test_a_study_cut_off_anywhere_goes_on_to_the_same_file(barn, tmp_path):
    whole = barn.path.read_bytes()
    header, *lines = whole.splitlines(keepends=True)
    begun = json.loads(header)
    del begun["finished"]
    grown = json.dumps(begun, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"
    order = sorted(range(len(lines)), key=lambda at: halvings(len(lines))[at][0])  # as one worker writes them
    path = tmp_path / "cut.jsonl"
    for kept in (0, 1, 3, len(lines)):
        torn = lines[order[kept]][: random.Random(kept).randrange(1, 40)] if kept < len(lines) else b""
        path.write_bytes(grown + b"".join(lines[at] for at in order[:kept]) + torn)
        assert not open_study(path).finished
        swept(path, BARN, LENGTHS, resume=True)
        assert path.read_bytes() == whole


def test_a_finished_study_is_not_solved_again(barn, monkeypatch):
    monkeypatch.setattr("optimiser.study.asking.solve", None)
    heard = []
    swept(barn.path, BARN, LENGTHS, resume=True, told=lambda *counts: heard.append(counts))
    assert heard == [(6, 6, 6)]


def test_two_inputs_and_words(tmp_path):
    over = {"seating.seats": "2..3 step 1", "room.reverberation_time": ["0.2 s", "0.3 s"]}
    study = swept(tmp_path / "s.jsonl", STORE, over)
    records = list(study.records())
    assert [r["values"] for r in records] == [[2, 0.2], [2, 0.3], [3, 0.2], [3, 0.3]]
    assert [r["design"]["row1.seats"] for r in records] == [2, 2, 3, 3]
    words = swept(tmp_path / "w.jsonl", STORE, {"front.baffle.solid": "true, false"})
    assert [r["values"] for r in words.records()] == [["true"], ["false"]]


CHAIRS = STORE.replace(
    "chair: {width: 0.75 m, depth: 0.95 m, reclined: 1.65 m, eye_height: 1.1 m, eye_to_back: 0.2 m, head_above_eye: 0.12 m}",
    """chair:
    head_above_eye: 0.12 m
    choose:
      - {name: Finch, width: 0.75 m, depth: 0.95 m, reclined: 1.65 m, eye_height: 1.1 m, eye_to_back: 0.2 m, price: 100}
      - {name: Long crane, width: 0.9 m, depth: 1.2 m, reclined: 2.9 m, eye_height: 1 m, eye_to_back: 0.3 m, price: 200}
      - {name: Rook, width: 1.3 m, depth: 1 m, reclined: 1.65 m, eye_height: 1.1 m, eye_to_back: 0.2 m, price: 300}""",
).replace(
    "goals:",
    "  - {measure: side_wall_distance, at_least: 0.9 m}\ngoals:\n  - {measure: length_fraction, row: all, at_least: 0.8, fade: 0.5}",
)


def test_each_thing_of_a_list_is_taken_in_turn(tmp_path):
    """Against files that list that chair alone. Three of the widest fill 3.9 of 3.6 m."""
    study = swept(tmp_path / "s.jsonl", CHAIRS, {"seating.chair": "Finch, Long crane, Rook"})
    records = list(study.records())
    assert [r["values"] for r in records] == [["Finch"], ["Long crane"], ["Rook"]]
    assert [r["status"] for r in records] == ["optimal", "optimal", "impossible"]
    for name, record in zip(("Finch", "Long crane"), records):
        lines = [one for one in CHAIRS.splitlines(keepends=True) if "{name: " not in one or f"name: {name}," in one]
        alone = solve(loads("".join(lines)))
        assert record["design"]["chair"] == name
        assert abs(record["score"] - alone.score) <= PROMISE
    assert study.problem_of(records[1]).listings[0].items[1].name == "Long crane"


def test_arrangements_of_bass_loudspeakers_are_words_like_others(tmp_path):
    text = STORE.replace("seating:", "bass:\n  arrangement: {choose: [front_pair, four_corners]}\nseating:", 1)
    records = list(swept(tmp_path / "s.jsonl", text, {"bass.arrangement": "front_pair, four_corners"}).records())
    assert [r["design"]["bass.arrangement"] for r in records] == ["front_pair", "four_corners"]
    with pytest.raises(
        UsageError, match="bass.arrangement: 'four_corner' cannot stand here: did you mean 'four_corners'?"
    ):
        sweep_of(text, "room.yaml", {"bass.arrangement": "front_pair, four_corner"})


@pytest.mark.parametrize(
    ("over", "message"),
    [
        ({"chair": "Finch, Rock"}, "chair: 'Rock' cannot stand here: did you mean 'Rook'?"),
        ({"seating.chair": "Finch..Rook step 1"}, "seating.chair: no quantity stands here; list its values"),
        ({"screen": "Linen"}, "screen: the problem file has no list of these to choose from"),
        ({"chair": "Finch", "seating.chair": "Rook"}, "chair is given twice"),
    ],
)
def test_things_that_no_list_has_are_refused(over, message):
    with pytest.raises(UsageError) as refused:
        sweep_of(CHAIRS, "room.yaml", over)
    assert message in str(refused.value)


def test_a_point_that_makes_no_sense_is_told_of_beside_the_others(tmp_path):
    study = swept(tmp_path / "s.jsonl", STORE, {"room.length": "0.5 m, 5 m"})
    bad, good = study.records()
    assert bad["status"] == "failed" and "room.length: '0.5 m' is too small: it must be at least 1 m" in bad["error"]
    assert good["feasible"]


def test_nothing_is_known_of_a_value_that_failed_or_is_not_settled():
    """So nothing changes there; the next value that tells something is set against the last one that did."""
    none = {"status": "impossible", "feasible": False, "conflict": []}
    failed, unknown = {"status": "failed", "feasible": False, "error": "no"}, {"status": "unknown", "feasible": False}
    good = {"status": "optimal", "feasible": True, "design": {"rows": 1}, "binding": []}
    for dark in (failed, unknown, {}):
        for other in (good, none, failed):
            assert changes(dark, other) == changes(other, dark) == ()
    assert [c.after for c in changes(good, none)] == [False] and [c.after for c in changes(none, good)] == [True]


def test_a_failed_value_among_words_is_no_change(tmp_path):
    study = swept(tmp_path / "s.jsonl", STORE, {"front.baffle.solid": "true, maybe, yes", "room.length": "5 m, 2.8 m"})
    table = [cells["changes"] for cells in written(study, tmp_path / "s.csv")]
    # 2.8 m are too short for 2 m to the image, 0.5 m behind and 0.4 m of baffle, whatever the baffle is filled with
    shut = "over room.length: impossible from here"
    assert [r["status"] for r in study.records()] == [
        "optimal",
        "impossible",
        "failed",
        "failed",
        "optimal",
        "impossible",
    ]
    assert table == ["", shut, "", "", "", shut]
    line = swept(tmp_path / "l.jsonl", STORE, {"front.baffle.solid": "true, maybe, yes"})
    console = Console(width=150, file=io.StringIO())
    print_study(console, line)
    assert "failed" in console.file.getvalue() and "possible" not in console.file.getvalue()


def written(study, path):
    write_csv(path, study)
    with open(path, encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.mark.parametrize(
    ("over", "message"),
    [
        ({"room.lenght": "3 m, 4 m"}, "unknown input 'room.lenght': did you mean 'room.length'?"),
        ({"room.length": "3 m..4 m"}, "room.length: say the step too"),
        ({"room.length": "3 m..4 m step 0 m"}, "room.length: the step must be more than nothing"),
        ({"room.length": "4 m..3 m step 1 cm"}, "room.length: the first value is greater than the last"),
        ({"room.length": "3..4 m step 1 cm"}, "room.length: '3' has no unit"),
        ({"room.length": "3 m, 3 m"}, "room.length: a value is listed twice"),
        ({"room.length": "3 m,"}, "room.length: write its values as"),
        ({"room.length": "1 m..99 m step 0.1 mm"}, "room.length: that is 980,001 values"),
        ({"front.baffle.solid": "no..yes step 1"}, "front.baffle.solid: no quantity stands here"),
        ({}, "a sweep goes over one input or two"),
        ({"room.length": "3 m", "room.width": "3 m", "room.height": "3 m"}, "a sweep goes over one input or two"),
        ({"room.length": "3 m..4 m step 1 mm", "room.width": "3 m..4 m step 1 mm"}, "that makes 1,002,001 points"),
        ({"rows": "1", "seating.rows": "2"}, "seating.rows is given twice"),
    ],
)
def test_what_cannot_be_swept_is_said(over, message):
    with pytest.raises(UsageError) as refused:
        sweep_of(STORE, "room.yaml", over)
    assert message in str(refused.value)


@pytest.mark.parametrize(
    ("path", "values", "fixed", "message"),
    [
        ("screen.width", "2 m, 3.1 m", {"screen.width": "2 m"}, "screen.width is pinned to 2 m, so that front.screen"),
        ("front.screen.width.to", "2 m, 3.1 m", {"screen.width": "2 m"}, "front.screen.width.to of the sweep would"),
        ("row1.y", "2.4 m, 2.9 m", {"row1.y": "2.5 m"}, "seating.place.row1.y of the sweep would change nothing"),
        ("rows", "1, 2", {"rows": "2"}, "seating.rows of the sweep would change nothing: leave one of them out"),
        ("seating.aisle.sides", "left, right", {"aisle.side": "left"}, "seating.aisle.sides of the sweep would"),
        ("room.length", "5 m, 6 m", {"screen.widt": "2 m"}, "unknown decision 'screen.widt': did you mean 'screen.w"),
        ("room.length", "5 m, 6 m", {"screen.width": "2"}, "screen.width: '2' has no unit"),
    ],
)
def test_a_pin_that_makes_a_sweep_false_is_refused(path, values, fixed, message):
    """Whatever is pinned holds at every point: a table of a pinned width would not be what it says."""
    with pytest.raises(UsageError) as refused:
        sweep_of(BARN, "room.yaml", {path: values}, fixed=fixed)
    assert message in str(refused.value)


def test_a_pin_beside_what_is_swept_is_allowed():
    assert sweep_of(BARN, "room.yaml", {"rows": "1, 2"}, fixed={"row1.y": "3 m", "screen.width": "2 m"}).count == 2


def test_values_are_exact():
    """Sixteenths of an inch, third parts, degrees and temperatures, by hand."""
    (inches,) = sweep_of(STORE, "r", {"room.length": "16 ft..16 ft 1 in step 1/16 in"}).inputs
    assert (
        len(inches.texts) == 17
        and inches.texts[1] == "4.8783875 m"
        and inches.values[16] == pytest.approx(193 * 0.0254, abs=1e-15)
    )
    (angle,) = sweep_of(STORE, "r", {"goals.1.band.from": "40 deg..41 deg step 0.1 deg"}).inputs
    assert angle.texts[:3] == ("40 deg", "40.1 deg", "40.2 deg") and angle.outward[10] == 41.0
    (warm,) = sweep_of(STORE, "r", {"room.temperature": "10 degC..30 degC step 10 degC"}).inputs
    assert warm.texts == ("283.15 K", "293.15 K", "303.15 K")


@pytest.mark.parametrize(
    ("path", "head"),
    [
        ("room.length", "room.length"),
        ("limits.listening_distance.at_least", "limits.\nlistening_distance.\nat_least"),
        ("room.doors.entry.hinge", "room.doors.entry.hinge"),
        ("front.screens.1.width.from", "front.screens.1.width.\nfrom"),
    ],
)
def test_a_long_path_breaks_after_its_dots(path, head):
    assert heading(path) == head
    assert heading(path).replace("\n", "") == path


def test_the_head_of_a_narrow_table_breaks_no_word(tmp_path):
    line = swept(tmp_path / "l.jsonl", STORE, {"limits.listening_distance.at_least": "2 m, 4.5 m"})
    console = Console(width=80, file=io.StringIO())
    print_study(console, line)
    assert "\nlistening_distance. " in console.file.getvalue()


@pytest.mark.parametrize("size", [1, 2, 3, 10, 33])
def test_neighbours_make_one_tree(size):
    tree = halvings(size)
    assert [at for at, (_, before) in enumerate(tree) if before is None] == [size // 2]
    for depth, before in tree:
        assert before is None or tree[before][0] < depth
    assert max(depth for depth, _ in tree) <= math.log2(size) + 1


SCREENS = STORE.replace(
    'screen: {aspect: "16:9", width: 2.4 m, bezel: 50 mm, bottom: 0.7 m, pixels: 3840}',
    'screens: [{type: projected, aspect: "16:9", width: 2.4 m, bezel: 50 mm, bottom: 0.7 m},'
    " {type: panel, diagonal: 2 m, bezel: 10 mm, bottom: 0.8 m}]",
)


def test_a_decision_of_several_screens_is_swept_as_it_is_pinned(tmp_path):
    """Against files edited by hand: with one of the screens only, and with the same bezel in both."""
    kinds = {
        "projected": ('screens: [{type: projected, aspect: "16:9"', 'screen: {type: projected, aspect: "16:9"'),
        "panel": ("screens: [{type: projected", "screen: {type: panel, diagonal: 2 m, bezel: 10 mm, bottom: 0.8 m}#"),
    }
    study = swept(tmp_path / "kinds.jsonl", SCREENS, {"screen.type": "projected, panel"})
    for (kind, (old, new)), record in zip(kinds.items(), study.records(), strict=True):
        edited = SCREENS.replace(old, new).replace("bottom: 0.7 m}, {type: panel", "bottom: 0.7 m}#")
        alone = solve(loads(edited))
        assert record["status"] == alone.status == "optimal" and record["design"]["screen.type"] == kind
        assert abs(record["score"] - alone.score) <= PROMISE
    study = swept(tmp_path / "bezels.jsonl", SCREENS, {"screen.bezel": "20 mm, 30 mm"})
    assert [r["design"]["screen.bezel"] for r in study.records()] == pytest.approx([0.02, 0.03])


def test_what_each_of_several_screens_says_by_itself_is_named_with_its_kind():
    with pytest.raises(UsageError, match="front.screens.projected.pixels or front.screens.panel.pixels"):
        sweep_of(SCREENS, "room.yaml", {"screen.pixels": "1920, 3840"})
    with pytest.raises(UsageError, match="front.screens.projected.width.to"):
        sweep_of(SCREENS, "room.yaml", {"front.screen.width.to": "2 m, 3 m"})


def test_another_trouble_at_the_next_value_is_told_and_the_same_one_is_not(tmp_path):
    """By hand: the room is 5.2 m long, and 0.5 m behind the ears are asked for. Ears 4.5 m from the image, at 0.4 m,
    leave 0.3 m; ears 5 m from it are behind the rear wall, whatever is asked for behind them."""
    over = {"limits.listening_distance.at_least": "4.4 m, 4.5 m, 5 m, 5.1 m"}
    study = swept(tmp_path / "troubles.jsonl", STORE, over)
    out = io.StringIO()
    print_study(Console(file=out, width=200), study)
    lines = [line for line in out.getvalue().splitlines() if " impossible " in line + " "]
    assert [("together" in line, "cannot hold" in line) for line in lines] == [
        (True, True), (False, False), (False, True), (False, False)
    ]  # fmt: skip
    assert ["as above" in line for line in lines] == [False, True, False, True]


def test_over_two_inputs_it_is_told_once_why_there_is_no_design(tmp_path):
    """Nine rows are none that a file may ask for; in 3 m no row lies so far from the rear wall as it must."""
    source = STORE.replace("limits:", "limits:\n  - {measure: rear_wall_distance, at_least: 2.5 m}", 1)
    study = swept(tmp_path / "s.jsonl", source, {"room.length": "3 m, 5.2 m", "seating.rows": "1, 9"})
    console = Console(file=io.StringIO(), width=200)
    print_study(console, study)
    lines = console.file.getvalue().splitlines()
    (impossible,) = [line for line in lines if line.startswith("impossible at ")]
    assert impossible.startswith("impossible at 3000 mm and 1: cannot hold: rear wall distance")
    (failed,) = [line for line in lines if line.startswith("failed at ")]
    assert failed.startswith("failed at 3000 mm and 9 and 1 more like it: ") and "must be at most 8" in failed
