"""Wishes and comparisons against every design looked at; how they read."""

import json
from dataclasses import replace
from io import StringIO
from math import atan, degrees
from types import SimpleNamespace

import pytest
from click.testing import CliRunner
from rich.console import Console
from rooms import GRID, ONE_ROW, TWO_ROWS, allowed, best_score, changed, one_row, two_rows

from optimiser.cli import program
from optimiser.complete import complete
from optimiser.errors import UsageError
from optimiser.explain import wishes
from optimiser.explain.comparison import compared, read_saved
from optimiser.explain.differences import difference
from optimiser.explain.prices import moved
from optimiser.explain.records import why_not_record
from optimiser.explain.telling import told_whole, what_moves
from optimiser.explain.wishes import decision_wish, granted, measure_wish, why_not
from optimiser.measures import catalogue
from optimiser.problem.decisions import read_value, with_fixed
from optimiser.problem.read import loads
from optimiser.search import MARGIN
from optimiser.sheet.compared import print_comparison, print_why_not, wish_words
from optimiser.solve import PROMISE, solve


def run(*words):
    return CliRunner().invoke(program, [str(w) for w in words], standalone_mode=False, catch_exceptions=False)


@pytest.fixture
def den(tmp_path):
    path = tmp_path / "den.yaml"
    path.write_text(ONE_ROW, encoding="utf-8")
    return path


def printed(show, found):
    console = Console(file=StringIO(), width=100)
    show(console, found)
    return " ".join(console.file.getvalue().split())


def replace_value(wish, value):
    return replace(wish, value=value, limit=replace(wish.limit, at_least=value))


class TestWhyNot:
    @pytest.mark.parametrize("place", ["2.6 m", "3.4 m", "3.9 m"])
    def test_the_best_under_a_wish_and_its_cost(self, place):
        problem = one_row()
        found = why_not(problem, (decision_wish(problem, "row1.y", place),), grid=GRID)
        with_wish = with_fixed(problem, "row1.y", place)
        assert found.wished.score == pytest.approx(best_score(with_wish), abs=MARGIN)
        assert found.best.score == pytest.approx(best_score(problem), abs=MARGIN)
        told = found.difference
        assert told.points == pytest.approx(found.wished.score - found.best.score)
        assert sum(g.points for g in told.goals) == pytest.approx(told.points, abs=1e-9)
        assert found.conflicts is None and not found.against

    def test_what_stops_it_is_what_would_make_it_better(self):
        problem = one_row(text={"to: 3.2 m}": "to: 2.8 m}"})
        found = why_not(problem, (decision_wish(problem, "row1.y", "3.9 m"),), grid=GRID, steps={"length": 0.1})
        base = best_score(found.problem)
        assert [p.move.member.path for p in found.stops] == ["front.screen.width", "front.baffle.depth"]
        for price in found.stops:
            better = best_score(moved(found.problem, price.move))
            assert better - base == pytest.approx(price.gain, abs=PROMISE) and better > base
            assert price.move.member.path != "seating.place.row1.y"

    def test_of_an_impossible_file_a_wish_is_told_what_is_its_own(self, tmp_path):
        """An image of 3.5 m is wider than the screen's 3.2 m, wherever people sit. At 4.6 m of 5.2 m they are 0.6 m
        from the rear wall, and 0.9 m are asked for; at 3.4 m nothing is against them."""
        asked = "  - {measure: rear_wall_distance, at_least: 0.9 m}\n"
        path = tmp_path / "den.yaml"
        path.write_text(ONE_ROW.replace(asked, asked + "  - {measure: image_width, at_least: 3.5 m}\n"))
        problem = loads(path.read_text(), "den.yaml")
        found = why_not(problem, (decision_wish(problem, "row1.y", "4.6 m"),), grid=GRID)
        assert found.hopeless and [problem.limits[m.index].measure for m in found.set_aside] == ["image_width"]
        for conflict in found.conflicts.found:
            assert any(m.path == "seating.place.row1.y" for m in conflict.members)
        first = {m.path or problem.limits[m.index].measure for m in found.conflicts.found[0].members}
        assert first == {"seating.place.row1.y", "rear_wall_distance"}
        printed = run("why-not", path, "--set", "row1.y=4.6 m", "--grid", "10 cm").output
        told = " ".join(printed.split())
        at = [
            told.index(words)
            for words in (
                "impossible without the wish already",
                "'optimiser explain",
                "left out: image width",
                "even then",
            )
        ]
        assert at == sorted(at) and "That cannot be" not in told
        told = " ".join(run("why-not", path, "--set", "row1.y=3.4 m", "--grid", "10 cm").output.split())
        assert "impossible without the wish already" in told and "it runs into nothing more" in told

    def test_of_a_possible_file_a_wish_is_what_is_impossible(self, den):
        told = " ".join(run("why-not", den, "--set", "row1.y=4.6 m", "--grid", "10 cm").output.split())
        assert "That cannot be" in told and "already" not in told

    def test_a_wish_for_a_measure(self):
        problem = one_row()
        wish = measure_wish("horizontal_angle[1]", "50 deg", at_least=True)
        found = why_not(problem, (wish,), grid=GRID)
        scores = []
        for space, designs, values in allowed(problem):
            row = space.layout.rows[0]
            angle = catalogue()["horizontal_angle"].form(space.layout, row).value(designs)
            scores.append(values[angle >= wish.value - 1e-9].max())
        assert found.wished.score == pytest.approx(max(scores), abs=MARGIN)

    def test_a_wish_is_not_among_what_stops_it(self):
        """By hand: an image of 3.2 m at most fills 60 degrees from 1.6 / tan 30 = 2.77 m, nearer than the best; six degrees
        less would do better, but are another wish."""
        wish = measure_wish("horizontal_angle[1]", "60 deg", at_least=True)
        found = why_not(one_row(), (wish,), grid=GRID, steps={"length": 0.1, "angle": 0.1})
        assert found.difference.points < -1.0
        assert best_score(granted(one_row(), (replace_value(wish, wish.value - 0.1),))) > found.wished.score + PROMISE
        assert not [p for p in found.stops if p.move.member.about_limit and p.move.member.index >= 3]

    def test_what_was_not_settled_of_a_wish_is_told(self):
        problem = one_row(text={"to: 3.2 m}": "to: 2.8 m}"})
        found = why_not(problem, (decision_wish(problem, "row1.y", "3.9 m"),), grid=GRID, steps={"length": 0.1})
        said = "Not all could be settled"
        assert found.stops and found.settled and said not in printed(print_why_not, found)
        assert why_not_record(found)["settled"] is True
        open_ = replace(found, settled=False)
        assert said in printed(print_why_not, open_) and why_not_record(open_)["settled"] is False

    def test_that_there_are_more_conflicts_is_told(self):
        problem = one_row()
        found = why_not(problem, (decision_wish(problem, "row1.y", "4.6 m"),), grid=GRID)
        assert found.conflicts.complete and "there are more" not in printed(print_why_not, found)
        first = replace(found.conflicts, found=found.conflicts.found[:1], complete=False)
        assert "1 conflict shown; there are more" in printed(print_why_not, replace(found, conflicts=first))

    def test_a_wish_beyond_a_limit_is_a_conflict(self):
        problem = one_row()
        found = why_not(problem, (decision_wish(problem, "row1.y", "4.6 m"),), grid=GRID)
        assert found.wished.design is None and found.difference is None
        members = [m for c in found.conflicts.found for m in c.members]
        assert any(m.path == "seating.place.row1.y" for m in members)
        assert any(m.about_limit and problem.limits[m.index].measure == "rear_wall_distance" for m in members)

    def test_a_wish_against_the_files_own_range(self):
        problem = one_row(text={"to: 3.2 m}": "to: 2.4 m}"})
        found = why_not(problem, (decision_wish(problem, "screen.width", "2.8 m"),), grid=GRID)
        (member,) = found.against
        assert (member.path, member.kind) == ("front.screen.width", "to")
        assert found.wished.score == pytest.approx(best_score(granted(problem, found.wishes)), abs=MARGIN)

    @pytest.mark.parametrize(
        ("name", "value", "against"),
        [
            ("row1.seats", "2", [("seating.seats", "value")]),
            ("row2.seats", "3", []),
            ("row1.platform", "0.1 m", [("seating.platform.first", "value")]),
            ("row2.platform", "0.4 m", []),
            ("row2.platform", "0.5 m", [("seating.platform.to", "to")]),
            ("row2.risers", "3", [("seating.platform.risers", "to")]),
            ("row1.y", "3 m", []),
            ("screen.bezel", "0.2 m", [("front.screen.bezel", "value")]),
            ("rows", "1", [("seating.rows", "value")]),
            ("seating.centre", "2 m", [("seating.centre", "value")]),
        ],
    )
    def test_a_wish_for_one_row_is_against_what_the_file_asks_of_all(self, name, value, against, monkeypatch):
        """Of two rows the file asks for 3 seats each, the first on the floor, platforms of 0.4 m at most, 2 risers,
        both in the middle of 4.2 m."""
        monkeypatch.setattr(wishes, "solve", lambda problem, **how: SimpleNamespace(design=None, status="unknown"))
        monkeypatch.setattr(wishes, "conflicts_of", lambda *asked, **how: None)
        problem = two_rows(text={"  seats: 3\n": "  seats: 3\n  centre: 2.1 m\n"})
        found = why_not(problem, (decision_wish(problem, name, value),), grid=GRID)
        assert [(m.path, m.kind) for m in found.against] == against

    @pytest.mark.parametrize("shape", ["16:9", "1.85:1", "4:3"])
    def test_a_picture_of_a_shape_can_be_wished_for(self, shape):
        wish = measure_wish(f"picture_angle[1,shape={shape}]", "45 deg", at_least=True)
        assert (wish.limit.row, dict(wish.limit.options)) == ("1", {"shape": shape})
        assert wish_words(one_row(), wish) == f"picture angle (shape {shape}) (row 1) at least 45.0°"

    @pytest.mark.parametrize(
        ("make", "message"),
        [
            (lambda: decision_wish(one_row(), "row1.z", "1 m"), "unknown decision 'row1.z'"),
            (lambda: measure_wish("horizontal_angel", "1 deg", at_least=True), "unknown measure 'horizontal_angel'"),
            (
                lambda: measure_wish("image_width[1]", "1 m", at_least=True),
                "image_width is one value for the whole design",
            ),
            (
                lambda: measure_wish("mode_level[row=1,odr=2]", "-6 dB", at_least=True),
                "'mode_level[row=1,odr=2]': mode_level has no option 'odr'",
            ),
            (
                lambda: measure_wish("mode_level[order=9]", "-6 dB", at_least=True),
                "'mode_level[order=9]': '9' is no order: write 1, 2, 3 or 4",
            ),
            (lambda: measure_wish("upward_angle[x]", "1 deg", at_least=True), "upward_angle[x]: write reference, all"),
            (lambda: measure_wish("upward_angle", "1", at_least=True), "upward_angle: '1' has no unit"),
        ],
    )
    def test_wishes_that_cannot_be_read(self, make, message):
        with pytest.raises(UsageError) as refused:
            make()
        assert str(refused.value).startswith(message)

    def test_brackets_are_read_as_objectives_have_them(self, den):
        plain, named = (measure_wish(f"upward_angle[{row}]", "9 deg", at_least=False) for row in ("2", "row=2"))
        assert plain.limit == named.limit and named.limit.row == "2"
        wish = measure_wish("mode_level[order=2, row=worst]", "-6 dB", at_least=True).limit
        assert wish.row == "worst" and dict(wish.options) == {"order": 2, "axis": "length"}
        told = run("why-not", den, "--grid", "10 cm", "--at-least", "horizontal_angle[row=1]=20 deg").output
        assert "why not horizontal angle (row 1) at least 20.0°?" in " ".join(told.split())

    def test_the_command(self, den):
        answer = run("why-not", den, "--grid", "10 cm", "--step", "length=10 cm", "--set", "row1.y=2.8 m")
        text = " ".join(answer.output.split())
        assert "why not row 1, ears from the front wall 2.800 m?" in text
        assert "What it costs, goal by goal" in text and "What stops it from being better" in text
        assert answer.return_value != 3
        assert "Local codes decide; have a licensed professional confirm." in text
        assert "fixings and structure are for a qualified person" in text

    def test_the_command_where_it_cannot_be(self, den):
        answer = run("why-not", den, "--grid", "10 cm", "--set", "row1.y=4.6 m")
        assert 3 in (answer.return_value, answer.exit_code)
        text = " ".join(answer.output.split())
        assert "That cannot be: no design on the grid has it and keeps the rest. Proven." in text
        assert "rear wall distance can be 0.600 m at most: 0.300 m short" in text

    def test_the_record(self, den):
        record = json.loads(run("why-not", den, "--grid", "10 cm", "--set", "row1.y=2.6 m", "--json").output)
        assert record["possible"] is True
        assert sum(g["points"] for g in record["difference"]["goals"]) == pytest.approx(
            record["score"] - record["best_score"]
        )


DESIGNS = """\
designs:
  as it stands: {screen.width: 2.6 m, screen.bottom: 0.7 m, baffle.depth: 0.4 m, row1.y: 3.6 m, row2.y: 5.4 m,
                 row2.platform: 0.3 m, row2.risers: 2}
  seats forward: {screen.width: 2.6 m, screen.bottom: 0.7 m, baffle.depth: 0.4 m, row1.y: 3.1 m, row2.y: 4.9 m,
                  row2.platform: 0.3 m, row2.risers: 2}
  seats back: {screen.width: 2.6 m, screen.bottom: 0.7 m, baffle.depth: 0.4 m, row1.y: 3.8 m, row2.y: 5.6 m,
               row2.platform: 0.3 m, row2.risers: 2}
  larger image: {screen.width: 3.2 m, screen.bottom: 0.7 m, baffle.depth: 0.4 m, row1.y: 3.6 m, row2.y: 5.4 m,
                 row2.platform: 0.3 m, row2.risers: 2}
"""


@pytest.fixture(scope="module")
def four():
    return compared(loads(TWO_ROWS + DESIGNS), grid=GRID)


class TestComparison:
    def test_the_designs_are_scored_as_they_are(self, four):
        names = [e.name for e in four.entries]
        assert names == ["as it stands", "seats forward", "seats back", "larger image", "best"]
        by_name = {e.name: e for e in four.entries}
        # by hand: 2 atan(W / 2D), D from the eyes to the image 0.4 + 0.1 m from the front wall
        for name, width, y in (("as it stands", 2.6, 3.6), ("seats forward", 2.6, 3.1), ("larger image", 3.2, 3.6)):
            goal = by_name[name].card.goals[0]
            assert degrees(goal.values[0]) == pytest.approx(degrees(2 * atan(width / 2 / (y - 0.5))), abs=1e-6)
        assert by_name["best"].card.score == max(e.card.score for e in four.entries if not e.card.broken)
        assert by_name["best"].proven >= by_name["best"].card.score - 1e-9

    def test_moving_the_seats_against_a_larger_image_in_words(self, four):
        forward, back, larger, _ = (told_whole(four.problem, told) for told in four.differences)
        assert forward.startswith(
            "The same image; the seats moved forward, row 1 by 0.500 m and row 2 by 0.500 m. It scores"
        )
        assert back.startswith("The same image; the seats moved back, row 1 by 0.200 m and row 2 by 0.200 m. It scores")
        assert larger.startswith("A larger image, 0.600 m wider at 3.200 m; the seats in place. It scores")
        # 2 atan(1.3 / 2.6) is 53.1 degrees and 2 atan(1.6 / 3.1) 54.6: both in the band of 48 to 55; 45.5 before
        assert "on horizontal angle in the reference row (53.1° instead of 45.5°; wanted 48.0° to 55.0°)" in forward
        assert "on horizontal angle in the reference row (54.6° instead of 45.5°; wanted 48.0° to 55.0°)" in larger
        # seats forward leave the good part of the room's length: (3.6, 3.1) / 6.6 m; a larger image does not
        assert "It loses" in forward
        assert "length fraction in the reference row (0.470 instead of 0.545; wanted 0.520 to 0.620)" in forward
        assert "length fraction" not in larger

    def test_risers_that_nobody_climbs_are_no_risers(self):
        """Row 1 stands on the floor, and row 2 of the flat design too: a decision on how many lead up to them says nothing."""
        place = "screen.width: 2.6 m, screen.bottom: 0.7 m, baffle.depth: 0.4 m, row1.y: 3.6 m, row2.y: 5.4 m, row2.risers: 2"
        own = f"designs:\n  raised: {{{place}, row2.platform: 0.3 m}}\n  flat: {{{place}, row2.platform: 0 m}}\n"
        console = Console(file=StringIO(), width=100)
        print_comparison(console, compared(loads(TWO_ROWS + own), best=False, grid=GRID))
        lines = console.file.getvalue().splitlines()
        assert not [line for line in lines if "row 1, risers" in line]
        assert [line.split()[-2:] for line in lines if "row 2, risers" in line] == [["2", "none"]]

    def test_points_add_up(self, four):
        for told, entry in zip(four.differences, four.entries[1:]):
            assert sum(g.points for g in told.goals) == pytest.approx(entry.card.score - four.entries[0].card.score)

    def test_a_design_against_itself_differs_in_nothing(self, four):
        entry = four.entries[0]
        told = difference(entry.design, entry.card, entry.design, entry.card)
        assert not told.decisions and told.points == 0.0
        assert what_moves(four.problem, told) == "the same image; the seats in place"

    def test_broken_limits_are_named(self):
        problem = loads(TWO_ROWS + DESIGNS.replace("row2.y: 5.6 m", "row2.y: 6.3 m"))
        found = compared(problem, ["as it stands", "seats back"], best=False, grid=GRID)
        broken = "It breaks sightline clearance in row 2 by 0.052 m and rear wall distance in row 2 by 0.200 m."
        assert told_whole(problem, found.differences[0]).endswith(broken)

    def test_an_image_and_a_baffle_wall_that_move_aside_are_told(self):
        """The image's middle 0.4 m farther right, the wall 0.2 m wider: 1.5 to 1.9 m, and 2.6 to 2.8 m."""
        aside = {
            "margin: 0.05 m": "margin: 0.05 m, centred: false, width: {from: 2 m, to: 3 m}",
            "bottom: {from: 0.5 m, to: 0.8 m}": "bottom: 0.6 m, centre: {from: 1.2 m, to: 2.4 m}",
        }
        problem = one_row(text=aside)
        design = {"screen.width": 2.0, "screen.bezel": 0.1, "baffle.depth": 0.2, "row1.y": 3.0, "row1.seats": 2.0}
        one, other = (
            complete(problem, {**design, "screen.centre": centre, "baffle.width": width}, grid=GRID)
            for centre, width in ((1.5, 2.6), (1.9, 2.8))
        )
        said = what_moves(problem, difference(one.design, one.card, other.design, other.card))
        assert "the image stands 0.400 m farther right" in said and "the baffle wall is 0.200 m wider" in said
        back = what_moves(problem, difference(other.design, other.card, one.design, one.card))
        assert "0.400 m farther left" in back and "0.200 m narrower" in back

    def test_a_wider_image_of_another_shape_is_not_called_larger(self):
        """3.0 m at 2.40:1 is 1.25 m high and covers 3.75 m2; 2.8 m at 16:9 is 1.575 m high and covers 4.41 m2."""
        text = {"gap: 0.05 m,": "gap: 0.05 m, aspect: {choose: ['16:9', '2.40:1']},"}
        problem = one_row(text=text)
        rest = {"screen.bezel": 0.1, "screen.bottom": 0.5, "baffle.depth": 0.2, "row1.y": 3.6, "row1.seats": 2.0}
        tall, wide = (
            complete(problem, {**rest, "screen.aspect": aspect, "screen.width": width}, grid=GRID)
            for aspect, width in ((16 / 9, 2.8), (2.4, 3.0))
        )
        said = what_moves(problem, difference(tall.design, tall.card, wide.design, wide.card))
        assert said.startswith("an image of another shape, 0.200 m wider at 3.000 m; the seats in place")
        back = what_moves(problem, difference(wide.design, wide.card, tall.design, tall.card))
        assert back.startswith("an image of another shape, 0.200 m narrower at 2.800 m; the seats in place")

    @pytest.mark.parametrize("own", [True, False])
    def test_seats_that_move_across_the_room_are_not_said_to_be_in_place(self, own):
        """By a middle of their own, or with the image that they are in line with."""
        text = {
            "margin: 0.05 m": "margin: 0.05 m, centred: false",
            "bottom: {from: 0.5 m, to: 0.8 m}": "bottom: 0.6 m, centre: {from: 1.2 m, to: 2.4 m}",
        }
        if own:
            text["  rows: 1\n"] = "  rows: 1\n  centre: {from: 1.2 m, to: 2.4 m}\n"
        problem = one_row(text=text)
        rest = {"screen.width": 2.0, "screen.bezel": 0.1, "baffle.depth": 0.2, "row1.seats": 2.0}
        rest |= {"screen.centre": 1.8} if own else {}
        name = "seating.centre" if own else "screen.centre"
        one, other, back = (
            complete(problem, {**rest, name: middle, "row1.y": y}, grid=GRID)
            for middle, y in ((1.8, 3.0), (1.6, 3.0), (2.1, 3.2))
        )
        image = "" if own else "; the image stands 0.200 m farther left"
        said = what_moves(problem, difference(one.design, one.card, other.design, other.card))
        assert said == f"the same image; the seats moved 0.200 m to the left{image}"
        said = what_moves(problem, difference(one.design, one.card, back.design, back.card))
        assert "the seats moved back, row 1 by 0.200 m, and all 0.300 m to the right" in said

    def test_another_number_of_seats_in_a_row_leaves_the_row_in_place_and_not_its_seats(self):
        """A third chair beside two in the middle of the room moves each of those by half of its 0.75 m."""
        problem = one_row()
        rest = {"screen.width": 2.0, "screen.bezel": 0.1, "screen.bottom": 0.5, "baffle.depth": 0.2, "row1.y": 3.0}
        two, three = (complete(problem, {**rest, "row1.seats": n}, grid=GRID) for n in (2.0, 3.0))
        said = what_moves(problem, difference(two.design, two.card, three.design, three.card))
        assert said == "the same image; the rows in place; 1 seat more in row 1"

    def test_a_baffle_wall_that_follows_the_image_is_not_told_beside_it(self, four):
        wider = compared(four.problem, ["as it stands", "larger image"], best=False, grid=GRID).differences[0]
        assert "baffle.width" in {c.name for c in wider.decisions}
        assert "baffle wall is" not in what_moves(four.problem, wider)

    def test_a_design_that_scores_more_than_the_best_does_not_belie_the_proof(self):
        """The best of these rooms without the limit sits at 3.3 m behind the image; the limit asks for 4.2 m."""
        text = {"listening_distance, at_least: 2.2 m": "listening_distance, at_least: 4.2 m"}
        problem = loads(changed(TWO_ROWS, {"text": text}) + "designs:\n  near: {row1.y: 3.6 m}\n")
        found = compared(problem, grid=GRID)
        near, best = found.entries
        assert near.card.breaking and near.card.score > best.proven
        said = printed(print_comparison, found)
        assert "No design on the grid that holds every limit and keeps to what the file decides scores more" in said

    def test_a_saved_result_comes_back_as_it_was(self, den, tmp_path):
        saved = tmp_path / "first.json"
        saved.write_text(run("solve", den, "--json", "--grid", "10 cm").output, encoding="utf-8")
        problem = one_row()
        (design,) = read_saved(problem, saved).values()
        best = solve(problem, grid=GRID)
        assert design["row1.y"] == pytest.approx(best.design["row1.y"])
        found = compared(problem, saved=[saved], given={"nearer": {"row1.y": 2.6}}, grid=GRID)
        assert [e.name for e in found.entries] == ["first", "nearer", "best"]
        assert found.entries[0].card.score == pytest.approx(best.score, abs=1e-6)
        assert found.differences[1].points == pytest.approx(0.0, abs=1e-6)

    def test_a_saved_panel_is_none_of_the_other_kind_of_screen(self, tmp_path):
        """Of 65 in by 16:9 it is 1.439 m wide: that follows from its diagonal, and is no width of a projected image."""
        own = "screen: {width: {from: 1.8 m, to: 3.2 m}, bezel: {choose: [0.1 m, 0.05 m]}, gap: 0.05 m,\n           bottom"
        both = (
            "screens:\n    - {type: projected, width: {from: 1.8 m, to: 3.2 m}, bottom: 0.6 m}\n"
            "    - {type: panel, diagonal: {choose: [55 in, 65 in]}, bottom"
        )
        room, saved = tmp_path / "both.yaml", tmp_path / "panel.json"
        room.write_text(changed(ONE_ROW, {"text": {own: both}}), encoding="utf-8")
        pinned = ("--fix", "screen.type=panel", "--fix", "screen.diagonal=65 in")
        saved.write_text(run("solve", room, "--json", "--grid", "10 cm", *pinned).output, encoding="utf-8")
        found = compared(loads(room.read_text(encoding="utf-8")), saved=[saved], grid=GRID)
        assert found.entries[0].space.layout.screen_type == "panel"
        assert found.entries[0].design["screen.diagonal"] == pytest.approx(65 * 0.0254)

    def test_a_result_of_another_room_is_scored_in_this_one(self, den, tmp_path):
        saved = tmp_path / "other.json"
        saved.write_text(run("solve", den, "--json", "--grid", "10 cm").output, encoding="utf-8")
        smaller = one_row(text={"length: 5.2 m": "length: 4.4 m"})
        found = compared(smaller, saved=[saved], grid=GRID)
        assert found.entries[0].design["row1.y"] == pytest.approx(solve(one_row(), grid=GRID).design["row1.y"])

    @pytest.mark.parametrize(
        ("text", "message"),
        [
            ("{", "is no JSON"),
            ("[]x", "is no JSON"),
            ('{"a": 1}', "holds no design"),
            ("[1]", "holds no design"),
            ('{"design": {"moon": 1}}', "its design has none of this problem's decisions"),
            ('{"design": {"row1.y": null, "rows": 1}}', "row1.y is no value"),
            ('{"design": {"row1.y": -3, "rows": 1}}', "row1.y: -3.000 m is too small"),
        ],
    )
    def test_saved_files_that_are_none(self, tmp_path, text, message):
        path = tmp_path / "saved.json"
        path.write_text(text, encoding="utf-8")
        with pytest.raises(UsageError) as refused:
            read_saved(one_row(), path)
        assert message in str(refused.value)

    def test_a_design_of_another_file_is_told_by_its_own(self, tmp_path):
        path = tmp_path / "flat.json"
        path.write_text('{"design": {"rows": 1, "screen.type": "panel", "row1.y": 2.6}}', encoding="utf-8")
        with pytest.raises(
            UsageError, match="flat.json: its design cannot be one of this file's: screen.type: the file"
        ):
            compared(one_row(), saved=[path], grid=GRID)
        with pytest.raises(UsageError, match="^'mine': screen.type: the file has projected only"):
            compared(
                one_row(), given={"mine": {"screen.type": read_value(one_row(), "screen.type", "panel")}}, grid=GRID
            )

    def test_one_design_is_no_comparison(self):
        with pytest.raises(UsageError, match="two designs at least"):
            compared(one_row(), grid=GRID)
        with pytest.raises(UsageError, match="the file has no design 'x'"):
            compared(one_row(), ["x"], grid=GRID)

    def test_an_impossible_file_still_compares_its_designs(self):
        impossible = (
            changed(TWO_ROWS, {"text": {"length: 6.6 m": "length: 5.0 m", "at_least: 2.2 m": "at_least: 4 m"}})
            + DESIGNS
        )
        found = compared(loads(impossible), ["seats forward", "larger image"], grid=GRID)
        assert [e.name for e in found.entries] == ["seats forward", "larger image"]

    def test_the_command(self, tmp_path):
        path = tmp_path / "four.yaml"
        path.write_text(TWO_ROWS + DESIGNS, encoding="utf-8")
        text = " ".join(run("compare", path, "--grid", "10 cm").output.split())
        assert "'seats forward' against 'as it stands'" in text
        assert "No design on the grid scores more than" in text
        # each caution once, however many of the designs it is about
        assert text.count("Screen, frame, loudspeakers and anything hung overhead are heavy") == 1
        assert "Steps and platforms: keep risers even" in text and "have a licensed professional confirm." in text
        record = json.loads(run("compare", path, "--grid", "10 cm", "--no-best", "--json").output)
        assert [d["name"] for d in record["designs"]] == ["as it stands", "seats forward", "seats back", "larger image"]
        assert record["differences"][2]["to"] == "larger image"


@pytest.mark.parametrize(
    ("rows", "name", "message"),
    [
        (1, "horizontal_angle[7]", "horizontal_angle[7]: there is no row 7: the file allows 1 at most"),
        (1, "horizontal_angle[0]", "horizontal_angle[0]: there is no row 0: the file allows 1 at most"),
        (1, "sightline_clearance[2]", "sightline_clearance[2]: there is no row 2: the file allows 1 at most"),
        (
            1,
            "sightline_clearance[all]",
            "sightline_clearance[all]: sightline_clearance begins at row 2; the file allows 1",
        ),
        (2, "sightline_clearance[1]", "sightline_clearance[1]: sightline_clearance begins at row 2; the file allows 2"),
        (2, "sightline_clearance", "sightline_clearance begins at row 2, after the reference row: name a row"),
    ],
)
def test_a_wish_about_a_row_that_is_not_there_is_refused(tmp_path, rows, name, message):
    """As the reader of files and fronts refuse it: no design has the measure, so none can grant the wish."""
    path = tmp_path / "den.yaml"
    path.write_text(TWO_ROWS.replace("rows: 2", f"rows: {rows}"), encoding="utf-8")
    with pytest.raises(UsageError) as refused:
        run("why-not", path, "--grid", "10 cm", "--at-least", f"{name}={'1 cm' if 'sight' in name else '20 deg'}")
    assert message in str(refused.value)


def test_a_wish_for_a_row_leaves_designs_without_it_out():
    problem = loads(TWO_ROWS.replace("rows: 2", "rows: {from: 1, to: 2}"))
    for name, rows in (
        ("sightline_clearance[2]", (2,)),
        ("horizontal_angle[1]", (1, 2)),
        ("horizontal_angle[2]", (2,)),
    ):
        text = "1 cm" if "sight" in name else "5 deg"
        assert granted(problem, (measure_wish(name, text, at_least=True),)).seating.rows == rows
    one = replace(problem, seating=replace(problem.seating, rows=(1,)))
    more = (measure_wish("horizontal_angle[2]", "5 deg", at_least=True), decision_wish(one, "rows", "2"))
    assert granted(one, more).seating.rows == (2,)  # whoever wishes for two rows has a second


def test_a_measure_of_the_whole_design_has_no_row_in_the_table_of_costs(den):
    """As in a comparison: 'all' would be all rows."""
    text = run("why-not", den, "--grid", "10 cm", "--set", "screen.width=2 m").output
    (line,) = [line for line in text.partition("What it costs")[2].splitlines() if line.startswith("  image width ")]
    assert line.split()[2].rstrip("%").isdigit(), line  # the words of the goal, then its score without the wish


def test_rows_that_are_not_there_do_not_count():
    """A goal on row 2 counts in a design of two rows only; the points still add up."""
    problem = loads(TWO_ROWS.replace("rows: 2", "rows: {from: 1, to: 2}"))
    one, two = (solve(replace(problem, seating=replace(problem.seating, rows=(n,))), grid=GRID) for n in (1, 2))
    told = difference(one.design, one.card, two.design, two.card)
    assert sum(g.points for g in told.goals) == pytest.approx(told.points, abs=1e-9)
    assert "2 rows of seats instead of 1" in what_moves(problem, told)


class TestFaultyWords:
    """Every fault of a command line is told at once, a line each, as those of a file are."""

    @pytest.mark.parametrize("command", ["score", "why-not", "tolerances", "compare"])
    def test_of_decisions(self, den, command):
        words = ("--set", "row1.y=3", "--set", "screen.widht=2 m", "--set", "seats=3", "--set", "row1.seats=2.5")
        with pytest.raises(UsageError) as told:
            run(command, den, *words)
        lines = str(told.value).splitlines()
        assert [line.partition(":")[0] for line in lines] == [
            "row1.y",
            "unknown decision 'screen.widht'",
            "unknown decision 'seats'",
            "row1.seats",
        ]

    def test_of_decisions_that_the_problem_has_not(self, den):
        with pytest.raises(UsageError) as told:
            run("solve", den, "--fix", "projector.y=3 m", "--fix", "row3.y=3 m", "--fix", "row1.y=3 m")
        assert [line.partition(":")[0] for line in str(told.value).splitlines()] == ["projector.y", "row3.y"]

    @pytest.mark.parametrize(
        ("words", "message"),
        [
            (("solve", "--fix", "seats=2"), "unknown decision 'seats': did you mean 'row1.seats'?"),
            (("tolerances", "--spread", "seats=1"), "unknown input 'seats': did you mean 'row1.seats'?"),
            (
                ("why-not", "--set", "row9.y=2 m"),
                "unknown decision 'row9.y': there is no row 9: there can be 1 at most",
            ),
            (("score", "--set", "row0.y=2 m"), "unknown decision 'row0.y': there is no row 0: there can be 1 at most"),
            (("solve", "--fix", "row1.yy=2 m"), "unknown decision 'row1.yy': did you mean 'row1.y'?"),
        ],
    )
    def test_of_rows_that_the_file_has_not(self, den, words, message):
        """The den has one row: no other is proposed."""
        command, *rest = words
        with pytest.raises(UsageError) as told:
            run(command, den, *rest)
        assert str(told.value) == message

    def test_of_words_that_assign_nothing(self, den):
        with pytest.raises(UsageError) as told:
            run("solve", den, "--fix", "row1.y", "--fix", "row1.y=3 m", "--fix", "row1.y=4 m")
        assert str(told.value).splitlines() == [
            "'row1.y' should read like screen.width=\"118 in\"",
            "row1.y is given twice",
        ]

    def test_of_measures_steps_and_spreads(self, den):
        with pytest.raises(UsageError) as told:
            run("why-not", den, "--at-least", "horizontal_angle=50", "--at-most", "image_wdth=2 m", "--set", "row1.y=1")
        assert len(str(told.value).splitlines()) == 3
        with pytest.raises(UsageError) as told:
            run("prices", den, "--step", "length=0 m", "--step", "lenght=2 m")
        assert len(str(told.value).splitlines()) == 2
        with pytest.raises(UsageError) as told:
            run("tolerances", den, "--spread", "row1.y=2", "--spread", "row1.z=2 cm")
        assert len(str(told.value).splitlines()) == 2


def test_a_problem_that_was_not_settled_is_not_called_impossible(monkeypatch):
    plain = one_row()

    def solved(problem, **how):
        found = solve(problem, **how)
        return replace(found, status="unknown", design=None, card=None) if problem == plain else found

    monkeypatch.setattr(wishes, "solve", solved)
    with pytest.raises(UsageError, match="no proof that there is none"):
        why_not(plain, (decision_wish(plain, "screen.bottom", "0.6 m"),), grid=GRID)


def test_conflicts_that_are_proven_are_shown_though_not_every_question_was_settled(den, monkeypatch):
    """At 4.6 m of 5.2 m people sit 0.6 m from the rear wall, where 0.9 m are asked for: that is proven, whatever else
    the solver may give up on."""
    asked = wishes.conflicts_of
    for found in (slice(None), slice(0)):

        def given_up(oracle, found=found, **how):
            whole = asked(oracle, **how)
            return replace(whole, found=whole.found[found], complete=False, undecided=True, possible=False)

        monkeypatch.setattr(wishes, "conflicts_of", given_up)
        told = " ".join(run("why-not", den, "--set", "row1.y=4.6 m", "--grid", "10 cm").output.split())
        if found.stop is None:
            assert "That cannot be" in told and "there may be other conflicts" in told
            assert "rear wall distance can be 0.600 m at most" in told
        else:
            assert "could not settle in its time whether that can be" in told and "Proven" not in told
