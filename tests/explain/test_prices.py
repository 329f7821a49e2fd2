"""Prices against every design of small rooms looked at; pulls of goals; how they read."""

import io
import json
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from click.testing import CliRunner
from rich.console import Console
from rooms import GRID, ONE_ROW, best_score, one_row, two_rows

from optimiser.cli import program
from optimiser.design import spaces
from optimiser.errors import UsageError
from optimiser.explain.prices import all_moves, moved, prices_of, read_move, unasked
from optimiser.explain.pulls import Pull, pulls_of, without_goal
from optimiser.explain.records import pull_record, unmoved_record
from optimiser.explain.sayings import gain_words, image_words, move_words, subject_words
from optimiser.explain.sparing import COARSE, ceiling
from optimiser.explain.steps import fine, step_of
from optimiser.problem.decisions import with_fixed
from optimiser.problem.items import LISTED
from optimiser.problem.model import Goal
from optimiser.problem.parts import part, with_value
from optimiser.problem.read import loads
from optimiser.quantity import KINDS, SYSTEMS
from optimiser.score import Scorer
from optimiser.search import MARGIN
from optimiser.sheet.bars import prices_picture
from optimiser.sheet.explained import print_prices, print_pulls
from optimiser.solve import PROMISE, solve

PLACES = "place: {row1.y: {from: 2.6 m, to: 3.4 m}, row2.y: {from: 4.2 m, to: 5.6 m}}\n  platform: {step"


def near_two_rows():
    """Two rows whose places are bounded, so that all designs can be looked at many times."""
    return two_rows(text={"platform: {step": PLACES})


STEPS = {"length": 0.1, "angle": 0.035}


@pytest.fixture(scope="module", params=[one_row, near_two_rows], ids=["one row", "two rows"])
def priced(request):
    problem = request.param()
    best = solve(problem, grid=GRID)
    return problem, best, prices_of(problem, best, steps=STEPS, every=True)


def everything(prices):
    return [price for group in (*prices.found, *prices.open, *prices.still) for price in group]


@pytest.mark.parametrize("measure", ["image_width", "upward_angle"])
def test_where_no_goal_asks_for_the_image_a_change_of_it_is_told_as_chance(priced, measure):
    """Of designs that score the same one is told: what its image is wider by is then no gain of the step."""
    problem, _, prices = priced
    console = Console(file=io.StringIO(), width=200)
    asked = replace(problem, goals=(Goal(measure, "all", 1.0, None, 0.5, 1.0),))
    print_prices(console, asked, prices, title="Prices")
    assert any(price.proven and price.image for price in everything(prices))
    assert ("No goal asks how large the image is" in console.file.getvalue()) == (measure != "image_width")


def test_every_price_is_the_difference_of_two_best_scores(priced):
    problem, best, prices = priced
    base = best_score(problem)
    assert best.score == pytest.approx(base, abs=MARGIN)
    found = everything(prices)
    assert len(found) > 30
    apart = 1 if problem.seating.rows == (1,) else 9  # two rows have many designs
    for price in found[::apart]:
        other = best_score(moved(problem, price.move))
        if other is None:
            assert price.gain is None and not price.unknown
            continue
        assert price.gain == pytest.approx(other - base, abs=PROMISE), price.move
        assert price.least - 1e-9 <= other - base <= price.most + 1e-9, price.move


@pytest.mark.parametrize("below", [0.0, 0.7, 2.8])
def test_a_coarse_bound_lies_over_the_best_of_all_designs(below):
    """Asked from some points below the best of all designs, as where the best that is known is not the best there is."""
    problem = near_two_rows()
    base = best_score(problem)
    bound = ceiling(problem, GRID, base - below)
    assert base <= bound
    assert bound == pytest.approx(base - below + min(more for more in COARSE if more > below))


def test_all_are_proven_where_there_is_no_hurry():
    """As many moves as in a hurry leave something open, and none of it is then."""
    problem = one_row()
    best = solve(problem, grid=GRID)
    prices = prices_of(problem, best, steps=STEPS, thorough=True)
    assert not prices.open and all(price.proven for price in everything(prices))


def test_what_is_not_proven_is_told_with_its_bounds():
    """With next to no effort: every price lies within its bounds, and only what is known closely is called proven."""
    problem = one_row()
    best = solve(problem, grid=GRID)
    prices = prices_of(problem, best, steps=STEPS, effort=1e-9)
    assert prices.open
    base = best_score(problem)
    for price in everything(prices):
        other = best_score(moved(problem, price.move))
        if price.gain is None:
            assert price.unknown or other is None
            continue
        assert price.least - 1e-9 <= other - base <= price.most + 1e-9, price.move
        if price.proven:
            assert price.gain == pytest.approx(other - base, abs=PROMISE)
        else:
            words = gain_words(price)
            if price.most < 100.0 - best.score - 1e-6:
                assert words.startswith("between ")
            else:  # nothing is ruled out: no bound is told
                assert words == "not settled" or words.startswith("at least ")
            assert image_words(problem, price) == ""
    for group in prices.open:
        assert not all(p.proven for p in group) and not any(p.matters for p in group)
    console = Console(width=200, file=io.StringIO())
    print_prices(console, problem, prices, title="Prices")
    text = console.file.getvalue()
    proven = text.partition("(less than 0.1 points, proven)")[2]
    for group in prices.open:
        assert subject_words(problem, group[0]) in text and f"{subject_words(problem, group[0])};" not in proven


def test_the_dearest_come_first_and_what_matters_is_proven(priced):
    _, _, prices = priced
    gains = [max([0.0, *(p.gain for p in group if p.gain is not None)]) for group in prices.found]
    assert gains == sorted(gains, reverse=True)
    assert prices.found and prices.still
    for group in prices.found:
        assert any(p.gain is None or p.least > 0.0 or p.most < 0.0 for p in group)
    for group in prices.still:
        assert all(p.gain is not None and p.least <= 0.0 <= p.most <= p.gain + PROMISE + 1e-9 for p in group)


def test_looser_never_loses_and_tighter_never_gains(priced):
    _, _, prices = priced
    for price in everything(prices):
        if price.move.looser is True:
            assert price.gain >= -1e-9
        elif price.move.looser is False and price.gain is not None:
            assert price.most <= MARGIN + 1e-9


def test_a_price_comes_with_the_design_that_earns_it(priced):
    problem, best, prices = priced
    for price in everything(prices):
        if price.gain is None:
            continue
        other = moved(problem, price.move)
        scorers = [Scorer(other, s) for s in spaces(other, grid=GRID) if s.has(price.design)]
        assert scorers, price.move
        card = scorers[0].card(price.design)
        assert not card.broken
        assert card.score == pytest.approx(best.score + price.gain, abs=1e-6)
        width = price.design["screen.width"] - best.design["screen.width"]
        assert price.image == pytest.approx(width, abs=1e-9)


def test_a_room_can_be_asked_about():
    problem = one_row()
    best = solve(problem, grid=GRID)
    asked = {
        "room.doors.entry.hinge": "+15 cm",
        "front.screen.bezel": "5 cm",
        "front.baffle.margin": "0 m",
        "limits.2.at_least": "-20 cm",
        "limits.3.at_most": "40 deg",
        "room.length": "5.6 m",
    }
    moves = [read_move(problem, path, text) for path, text in asked.items()]
    after = [m.after for m in moves]
    assert after == pytest.approx([1.45, 0.05, 0.0, 0.7, 0.6981317, 5.6])
    prices = prices_of(problem, best, moves=moves)
    assert len(everything(prices)) == len(asked)
    for price in everything(prices):
        assert price.gain == pytest.approx(best_score(moved(problem, price.move)) - best.score, abs=PROMISE)
    assert moved(problem, moves[1]) == with_value(problem, "front.screen.bezel", 0.05)


@pytest.mark.parametrize(
    ("path", "text", "message"),
    [
        (
            "limits.9.at_least",
            "1 m",
            "'limits.9.at_least' names no limit: write limits.1.at_least, with the limit's number",
        ),
        ("limits.1.at_most", "1 m", "limits.1.at_most: this limit has no at_most"),
        ("room.lenght", "1 m", "unknown input 'room.lenght': did you mean 'room.length'?"),
        ("front.screen.bezel", "+1 cm", "front.screen.bezel has several values: write the one to try, without a sign"),
        ("room.length", "+1", "room.length: '+1' has no unit"),
        ("row1.y", "3 m", "row1.y: the file says nothing of it that could be moved: 'why-not --set row1.y=...' asks"),
        ("row3.y", "3 m", "row3.y: there is no row 3: the file allows 1 at most"),
    ],
)
def test_what_cannot_be_moved_is_refused_in_words(path, text, message):
    with pytest.raises(UsageError) as refused:
        read_move(one_row(), path, text)
    assert str(refused.value).startswith(message)


def test_an_impossible_problem_has_no_prices():
    problem = one_row(text={"at_least: 2.2 m": "at_least: 4.2 m"})
    best = solve(problem, grid=GRID)
    with pytest.raises(UsageError, match="an impossible problem has no prices"):
        prices_of(problem, best)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_quantity_has_a_step_and_a_last_digit(kind):
    """'prices --all' moves every number of a file, whatever it is of."""
    for system in SYSTEMS:
        assert step_of(kind, system) > fine(kind) > 0.0


LINED = {
    "reverberation_time: 0.3 s": """\
openings:
    - {name: bay, kind: window, wall: right, along: [3 m, 4 m], z: [1 m, 2 m]}
  ceiling: [{y: 0 m, height: 2.5 m}, {y: 5.2 m, height: 2.4 m}]
  surfaces:
    - {name: slab, of: floor, material: carpet on felt}
    - {of: walls, absorption: [0.1, 0.1, 0.1, 0.1, 0.1, 0.1]}
    - {name: chairs, area: 4 m2, material: upholstered seats}
  treatment: {on: slab, panels: 2, panel: 0.72 m2, material: mineral wool 50 mm}""",
}


def test_numbers_of_a_lining_a_ceiling_and_an_opening_have_words():
    problem = one_row(text=LINED)
    plain, every = (
        {m.path: subject_words(problem, m) for m in all_moves(problem, {}, every=e) if m.path} for e in (False, True)
    )
    words = {
        "room.ceiling.2.height": "ceiling, point 2, height 2.400 m",
        "room.openings.bay.along.to": "'bay', along to 4.000 m",
        "room.openings.bay.keep": "'bay', floor kept before it 0.300 m",
        "room.surfaces.chairs.area": "'chairs', area 4.00 m2",
        "room.treatment.panel": "absorbing panels, area of one 0.72 m2",
    }
    assert {path: plain[path] for path in words} == words
    absorbed = {
        "room.surfaces.surface.absorption.1": "'surface', absorption at 125 Hz 0.1",
        "room.treatment.absorption.6": "absorbing panels, absorption at 4000 Hz 0.88",
    }
    assert {path: every[path] for path in absorbed} == absorbed
    assert not [path for path in plain if "absorption" in path]  # 24 prices and more, of what no builder measures


def test_a_pull_that_is_not_proven_has_its_bounds():
    problem = near_two_rows()
    best = solve(problem, grid=GRID)
    pulls = pulls_of(problem, best, effort=1e-9)
    assert any(not pull.proven for pull in pulls)
    for pull, known in zip(
        sorted(pulls, key=lambda p: p.index), sorted(pulls_of(problem, best), key=lambda p: p.index)
    ):
        assert pull.least - 1e-9 <= known.most and known.least <= pull.most + 1e-9
    console = Console(width=200, file=io.StringIO())
    print_pulls(console, problem, pulls)
    assert "between 0.0 and " in console.file.getvalue()


def test_goals_that_pull_nothing_are_told_apart_by_their_rows():
    def quiet(index: int, measure: str, row: str) -> Pull:
        return Pull(index, Goal(measure, row, 0.5, None, 0.1, 1.0), 1.0, 0.0, 0.0, 0.0, 0.0, None)

    console = Console(width=200, file=io.StringIO())
    pulls = [
        quiet(0, "horizontal_angle", "reference"),
        quiet(1, "horizontal_angle", "2"),
        quiet(2, "image_width", "all"),
    ]
    print_pulls(console, near_two_rows(), pulls)
    said = "The others lose nothing to: horizontal angle (reference); horizontal angle (row 2); image width."
    assert said in console.file.getvalue()


def test_pulls_are_what_the_others_would_gain():
    for room in (one_row, near_two_rows):
        problem = room()
        best = solve(problem, grid=GRID)
        weights = [goal.weight for goal in problem.goals]
        for pull in pulls_of(problem, best):
            others = without_goal(problem, pull.index)
            share = 1.0 - weights[pull.index] / sum(weights)
            # the best design's own score on the others, from its card
            now = sum(r.goal.weight * r.score for r in best.card.goals if r.index != pull.index)
            now *= 100.0 / (sum(weights) - weights[pull.index])
            assert pull.costs == pytest.approx(share * (best_score(others) - now), abs=PROMISE)
            assert pull.least - 1e-9 <= pull.costs <= pull.most + 1e-9


def test_a_goal_that_the_best_without_it_has_nothing_of_falls_to_no_number():
    """Row 2 is there for the goal on its pitch alone: without that one row is better, and has no pitch to score."""
    text = {
        "rows: 2\n": "rows: {from: 1, to: 2}\n  reference_row: 1\n",
        "band: [48 deg, 55 deg], fade: 15 deg": "band: [80 deg, 85 deg], fade: 50 deg",
        "goals:\n": "goals:\n  - {measure: row_pitch, at_least: 1.7 m, fade: 1 m, weight: 20}\n"
        "  - {measure: rear_wall_distance, row: worst, at_least: 2 m, fade: 2 m, weight: 4}\n",
        "{measure: sightline_clearance, at_least: 0.12 m, fade": "{measure: standing_headroom, at_least: 2 m, fade",
    }
    problem = two_rows(text=text)
    best = solve(problem, grid=GRID)
    (pull,) = [p for p in pulls_of(problem, best) if p.goal.measure == "row_pitch"]
    assert best.design["rows"] == 2 and pull.design["rows"] == 1 and pull.proven
    assert pull.drops is None and pull_record(pull)["would_fall_to"] is None
    console = Console(file=io.StringIO(), width=120)
    print_pulls(console, problem, [pull])
    (line,) = [line for line in console.file.getvalue().splitlines() if "row pitch" in line]
    assert line.rstrip().endswith("nothing to score") and "0 %" not in line.replace("100 %", "")


def test_a_list_of_one_is_moved_as_the_value_alone_is():
    """Both admit that value and nothing else: a step beside it may only admit more."""
    told = []
    for text in ("bezel: 0.1 m", "bezel: {choose: [0.1 m]}"):
        problem = one_row(text={"bezel: {choose: [0.1 m, 0.05 m]}": text})
        moves = [m for m in all_moves(problem, {"length": 0.05}) if m.path == "front.screen.bezel"]
        told.append([(round(m.after, 9), m.looser, move_words(problem, m)) for m in moves])
    assert told[0] == told[1] == [(0.05, True, "0.050 m too"), (0.15, True, "0.150 m too")]


def test_what_cannot_be_negative_is_stepped_to_0_at_most():
    """Risers differ by nothing at least, rows stand on the floor at least; sight lines may pass below eyes."""
    limits = (
        "limits:\n  - {measure: riser_difference, at_most: 3 mm}\n  - {measure: guard_drop, at_most: 0 m, row: 1}\n"
        "  - {measure: sightline_clearance, at_least: 3 mm, row: 2}\n  - {measure: seat_count, at_least: 0}\n"
    )
    problem = two_rows(text={"limits:\n": limits, "step: 0.1 m, to: 0.4 m": "step: 0.02 m, to: 0.04 m"})
    moves = [m for m in all_moves(problem, STEPS) if m.member is not None]

    def ends(**of):
        return [(round(m.after, 9), m.looser) for m in moves if all(getattr(m.member, k) == v for k, v in of.items())]

    assert ends(kind="limit", index=0) == [(0.103, True), (0.0, False)]
    assert ends(kind="limit", index=1) == [(0.1, True)]
    assert ends(kind="limit", index=2) == [(-0.097, True), (0.103, False)]
    assert ends(kind="limit", index=3) == [(1.0, False)]
    assert ends(path="seating.platform.to") == [(0.14, True), (0.0, False)]


def test_words():
    problem = one_row()
    best = solve(problem, grid=GRID)
    moves = all_moves(problem, STEPS)
    words = {subject_words(problem, p) for p in everything(prices_of(problem, best, moves=moves))}
    assert {"listening distance at least 2.200 m", "bezel of 0.100 m or 0.050 m", "door 'entry', leaf 0.800 m"} <= words
    moves = [read_move(problem, "room.length", "+10 cm"), read_move(problem, "front.screen.bezel", "2 cm")]
    assert [move_words(problem, m) for m in moves] == ["+0.100 m", "at 0.020 m"]
    narrow = prices_of(problem, best, moves=[read_move(problem, "room.length", "-2.5 m")])
    assert gain_words(everything(narrow)[0]) == "impossible"


def test_the_picture_is_svg_with_a_bar_for_each_price(priced):
    problem, _, prices = priced
    root = ET.fromstring(prices_picture(problem, prices))
    space = "{http://www.w3.org/2000/svg}"
    assert root.get("role") == "img" and root.find(f"{space}title").text == f"{problem.title}: prices"
    titles = [t.text for t in root.iter(f"{space}title")]
    shown = [p for group in prices.found for p in group[:2] if p.gain is not None]
    for price in shown:
        said = f"{subject_words(problem, price)} {move_words(problem, price.move)}: {gain_words(price)}"
        assert said in titles
    bars = {r.find(f"{space}title").text: r for r in root.iter(f"{space}rect") if r.find(f"{space}title") is not None}
    lengths = {
        title: float(bar.get("width")) for title, bar in bars.items() if not title.endswith((": 0", "impossible"))
    }
    by_gain = {t: abs(float(t.rpartition(": ")[2])) for t in lengths}
    longest = max(by_gain, key=by_gain.get)
    for title, gain in by_gain.items():  # lengths tell the truth, to the tenth that is printed
        assert lengths[title] == pytest.approx(lengths[longest] * gain / by_gain[longest], abs=lengths[longest] * 0.06)


def test_the_picture_shows_what_is_not_settled_otherwise_and_cuts_no_text(priced):
    """A bar only for what is proven; else a broken line from the least to the most that a gain may be, open where
    nothing is ruled out. Letters of this kind are 0.6 em wide: 0.6 x 7 pt x 0.353 mm a letter."""
    problem, _, prices = priced
    group = next(g for g in prices.found if len(g) == 2 and all(p.gain is not None for p in g))
    between = replace(group[0], gain=0.2, least=0.2, most=4.3, full=13.0)
    bounded = replace(group[1], gain=-2.3, least=-2.3, most=13.0, full=13.0)
    unknown = [replace(p, gain=None, least=None, most=None, unknown=True) for p in group]
    settled = [replace(p, gain=gain, least=gain, most=gain) for p, gain in zip(group, (4.0, -4.0))]
    shown = replace(prices, found=((between, unknown[1]), tuple(settled)), open=((bounded, unknown[0]),))
    root = ET.fromstring(prices_picture(problem, shown))
    space = "{http://www.w3.org/2000/svg}"

    def said(price):
        return f"{subject_words(problem, price)} {move_words(problem, price.move)}: {gain_words(price)}"

    drawn = {one.find(f"{space}title").text: one for one in root.iter() if one.find(f"{space}title") is not None}
    bars = {title: one for title, one in drawn.items() if one.tag == f"{space}rect"}
    assert set(bars) == {said(p) for p in settled}
    unit = float(bars[said(settled[0])].get("width")) / 4.0
    for price, length, ticks in ((between, 4.1, 2), (bounded, 15.3, 1)):
        broken, *ends = drawn[said(price)].iter(f"{space}line")
        assert broken.get("stroke-dasharray") and len(ends) == ticks
        assert float(broken.get("x2")) - float(broken.get("x1")) == pytest.approx(length * unit, abs=0.02)
    for price in unknown:
        (sign,) = [text.text for text in drawn[said(price)].iter(f"{space}text")]
        assert sign == "?"
    assert "between +0.2 and +4.3" in said(between) and "at least -2.3" in said(bounded)
    width = float(root.get("viewBox").split()[2])
    for text in root.iter(f"{space}text"):
        assert text.get("text-anchor") is None
        assert float(text.get("x")) + 0.6 * float(text.get("font-size")) * len(text.text) < width
        assert float(text.get("font-size")) >= 2.4694  # 7 points


class TestCommand:
    @pytest.fixture
    def file(self, tmp_path):
        path = tmp_path / "den.yaml"
        path.write_text(ONE_ROW, encoding="utf-8")
        return path

    def run(self, *words):
        return CliRunner().invoke(program, [str(w) for w in words], standalone_mode=False, catch_exceptions=False)

    def test_table_and_picture(self, file, tmp_path):
        picture = tmp_path / "prices.svg"
        answer = self.run("prices", file, "--grid", "10 cm", "--step", "length=10 cm", "--picture", picture)
        assert "What a step is worth, solved again each time" in answer.output
        assert "Without effect at this step" in answer.output
        assert picture.read_text(encoding="utf-8").startswith("<svg")

    def test_record(self, file):
        answer = self.run("prices", file, "--grid", "10 cm", "--json", "--try", "room.doors.entry.hinge=+15 cm")
        record = json.loads(answer.output)
        (price,) = record["prices"]
        assert price["path"] == "room.doors.entry.hinge"
        (move,) = price["moves"]
        assert move["before"] == pytest.approx(1.3) and move["after"] == pytest.approx(1.45)
        assert move["gain_at_least"] <= move["gain"] <= move["gain_at_most"]

    def test_explain_of_a_possible_problem_says_what_holds_it_back(self, file):
        answer = self.run("explain", file, "--grid", "10 cm", "--step", "length=10 cm")
        assert "Its demands can all hold." in answer.output
        assert "What holds it back" in answer.output and "What pulls" in answer.output
        assert answer.return_value != 3


def test_moves_that_make_no_sense_are_told_with_why(tmp_path):
    """A room of 5.2 m less 6 m is no room; one of 105.2 m is longer than any that a file may have (100 m)."""
    problem = one_row()
    best = solve(problem, grid=GRID)
    asked = [read_move(problem, "room.length", "-6 m"), read_move(problem, "room.width", "+10 cm")]
    prices = prices_of(problem, best, moves=asked)
    ((move, why),) = prices.senseless
    assert (
        move == asked[0] and why.startswith("room.length: -0.800 m is too small") and prices.unmoved == prices.senseless
    )
    assert [p.move for p in everything(prices)] == [asked[1]]
    ((moved_, why),) = prices_of(problem, best, moves=[read_move(problem, "room.length", "+100 m")]).senseless
    assert "105.200 m is too large: it must be at most 100 m" in why

    def said(prices):
        console = Console(width=200, file=io.StringIO())
        print_prices(console, problem, prices, title="Prices")
        return console.file.getvalue()

    told = "Not moved, as the file would make no sense:\n    - room length 5.200 m, -6.000 m: -0.800 m is too small"
    assert told in said(prices) and "Without effect at this step" in said(prices)
    alone = said(prices_of(problem, best, moves=asked[:1]))
    assert told in alone and "Nothing was moved." in alone and "changes the best score" not in alone
    (record,) = unmoved_record(problem, prices)
    assert record["path"] == "room.length" and record["after"] == pytest.approx(-0.8) and "too small" in record["error"]
    # a door cannot hang lower than the floor, which is no news where it can be raised
    assert "floor level" not in said(prices_of(problem, best, steps=STEPS)).partition("Not moved")[2]


def test_an_aspect_ratio_is_priced_against_others_in_use():
    """The shapes are facts of the trade (4:3, 16:9, 1.85:1, 2:1 and scope); the gains, all designs looked at."""
    problem = one_row(text={"gap: 0.05 m,": 'gap: 0.05 m, aspect: "16:9",'})
    best = solve(problem, grid=GRID)
    moves = [move for move in all_moves(problem, STEPS) if move.path == "front.screen.aspect"]
    assert [round(move.after, 2) for move in moves] == [1.33, 1.85, 2.0, 2.4]
    assert move_words(problem, moves[-1]) == "2.40:1 too"
    for price in everything(prices_of(problem, best, moves=moves)):
        other = best_score(moved(problem, price.move))
        assert price.gain == pytest.approx(other - best.score, abs=PROMISE), price.move
    both = one_row(text={"gap: 0.05 m,": 'gap: 0.05 m, aspect: {choose: ["16:9", "2.39:1"]},'})
    moves = [move for move in all_moves(both, STEPS) if move.path == "front.screen.aspect"]
    assert [round(move.after, 2) for move in moves] == [1.33, 1.85, 2.0]  # 2.40 is 2.39 to the eye
    panel = one_row(text={"width: {from: 1.8 m, to: 3.2 m}": "type: panel, diagonal: {choose: [2.2 m, 2.5 m]}"})
    assert not [move for move in all_moves(panel, STEPS) if move.path == "front.screen.aspect"]


@pytest.mark.parametrize(
    "screen",
    [
        "type: panel, diagonal: {choose: [2.2 m, 2.5 m]}",
        "type: tiled, tile: {width: 0.6 m, height: 0.3375 m, pitch: 1.2 mm}, columns: {from: 3, to: 5}, tile_rows: {from: 3, to: 5}",
    ],
)
def test_the_shape_of_what_is_made_in_one_is_not_told_as_a_decision(screen):
    """Nobody buys a panel of 16:9 in 4:3, and tiles are laid to the shape that they give."""
    problem = one_row(text={"width: {from: 1.8 m, to: 3.2 m}": screen})
    assert unasked(problem, all_moves(problem, STEPS)) == ()


@pytest.mark.parametrize(
    ("pins", "named"),
    [
        ({}, ()),
        ({"chair": "Wren"}, ("chair",)),
        ({"loudspeakers": "Reed", "chair": "Owl"}, ("loudspeakers", "chair")),
        ({"screen.type": "panel"}, ("screen.type",)),
    ],
)
def test_what_is_pinned_out_of_a_list_is_named(pins, named):
    """What the file leaves open has no price to be missed; of what is pinned the file has others."""
    loudspeakers = "loudspeakers: {place: beside, choose: [{name: Reed, width: 0.2 m, price: 1}, {name: Oak, width: 0.3 m, price: 2}]}"
    panel = "{type: panel, diagonal: {choose: [2.2 m, 2.5 m]}, bottom: 0.6 m}"
    text = {
        "  screen: ": f"  {loudspeakers}\n  screens:\n    - {panel}\n    - ",
        "chair: {width: 0.75 m, ": "chair: {choose: [{name: Wren, width: 0.7 m}, {name: Owl, width: 0.8 m}], ",
    }
    problem = one_row(text=text)
    for name, value in pins.items():
        problem = with_fixed(problem, name, value)
    moves = all_moves(problem, STEPS)
    assert tuple(name for name in unasked(problem, moves) if name in ("screen.type", *LISTED)) == named


def test_a_kind_of_screen_that_the_file_leaves_no_other_for_is_not_named():
    problem = with_fixed(one_row(), "screen.type", "projected")
    assert unasked(problem, all_moves(problem, STEPS)) == ()


def test_pinned_decisions_without_a_price_are_named():
    """Neither a side of the room nor how rows are staggered has a step; the table must not look as if all was asked."""
    problem = two_rows(text={"  seats: 3\n": "  seats: 3\n  stagger: 0.5\n  aisle: {sides: left, width: 0.3 m}\n"})
    best = solve(problem, grid=GRID)
    prices = prices_of(problem, best, steps=STEPS, built=False)
    assert prices.unasked == ("seating.stagger", "aisle.side")
    console = Console(file=io.StringIO(), width=200)
    print_prices(console, problem, prices, title="Prices")
    said = console.file.getvalue()
    assert "Not asked, as they have no step" in said and "side of the aisle (aisle.side)" in said
    some = [move for move in all_moves(problem, STEPS) if move.path == "front.screen.bezel"]
    assert prices_of(problem, best, moves=some).unasked == ()  # who asks for some knows what else there is
    silent = two_rows()  # its file says nothing of how the rows are shifted
    assert unasked(silent, all_moves(silent, STEPS)) == ()


WALL = """\
format: 1
title: A wall of tiles
show: m
room: {length: 4 m, width: 3 m, height: 2.4 m, reverberation_time: 0.25 s}
front:
  screen: {type: tiled, bottom: 0.5 m, tile: {width: 0.6 m, height: 0.3375 m, pitch: 1.25 mm}, columns: {from: 3, to: 4},
           tile_rows: 3}
seating: {rows: 1, seats: 1, place: {row1.y: {from: 1 m, to: 3 m}}}
goals: [{measure: horizontal_angle, band: [45 deg, 55 deg], fade: 8 deg}]
"""


def test_a_wide_step_goes_no_farther_than_a_decision_may():
    """A wall has one column of tiles at least; three less than three are none."""
    problem = loads(WALL)
    moves = [m for m in all_moves(problem, {"count": 3, "length": 1.2}) if m.member is not None]
    assert {m.after for m in moves if m.path == "front.screen.columns"} >= {1.0, 6.0, 7.0}
    for move in moves:
        bounds = part(problem, move.path).bounds
        assert bounds.least is None or move.after >= bounds.least, move
        assert bounds.above is None or move.after > bounds.above, move
    best = solve(problem, grid=GRID)
    assert prices_of(problem, best, steps={"count": 3}).still


@pytest.mark.parametrize(
    ("grid", "steps", "by"), [(GRID, {}, GRID), (0.005, {}, 0.025), (GRID, {"length": 0.05}, 0.05)]
)
def test_on_a_grid_coarser_than_the_step_lengths_move_by_the_grid(grid, steps, by):
    """An end that moves by less than from one point of the grid to the next admits what it did; who asks for a step has
    it."""
    problem = one_row()
    found = prices_of(problem, solve(problem, grid=grid), steps=steps)
    moves = [price.move for price in everything(found) if price.move.quantity == "length" and price.move.before]
    assert {round(abs(move.after - move.before), 9) for move in moves} == {by}


def test_a_limit_is_named_by_its_measure_or_by_its_number():
    limits = "limits:\n  - {measure: walkway, at_least: 0.4 m}\n  - {measure: walkway, row: 2, at_least: 0.5 m}\n  - {measure: seat_count, at_least: 2}\n"
    problem = two_rows(text={"limits:\n": limits})
    for name in ("limits.3.at_least", "limits.seat_count.at_least"):
        member = read_move(problem, name, "3").member
        assert (member.kind, member.index, member.end) == ("limit", 2, "at_least")
    with pytest.raises(UsageError, match="limits 1 and 2 are about walkway: write one of their numbers"):
        read_move(problem, "limits.walkway.at_least", "0.3 m")
    with pytest.raises(UsageError, match="names no limit"):
        read_move(problem, "limits.nothing.at_least", "0.3 m")
    with pytest.raises(UsageError, match="this limit has no at_most"):
        read_move(problem, "limits.seat_count.at_most", "3")
