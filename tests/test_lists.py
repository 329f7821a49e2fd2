"""Lists of things to buy: the answer takes the best of each, and the bill adds up."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.bill import Position, bill, heading, money_words, total
from optimiser.complete import complete
from optimiser.design import settlements, spaces
from optimiser.errors import UsageError
from optimiser.extremes import extreme
from optimiser.notes import notes
from optimiser.problem.decisions import plain_value, read_value, with_fixed, written_value
from optimiser.problem.items import chosen
from optimiser.problem.model import Fixed, Projector
from optimiser.problem.parts import part, with_value
from optimiser.problem.read import load, loads
from optimiser.record import solution_record
from optimiser.sheet.restored import restored
from optimiser.solve import PROMISE, solve
from tests import test_one_definition, test_random_problems
from tests.measures.conftest import text_of
from tests.support.effort import examples
from tests.support.enumeration import count
from tests.support.kit import combinations, lists, shapes, to_buy
from tests.support.rooms import DEGREE, choice, goal, limit, small_room
from tests.support.strategies import problems_to_buy_for
from tests.test_optimum import compare

ROOM = small_room()
TO_BUY = to_buy(
    small_room(
        projector=Projector(1.0, (1.0, 2.0), Fixed(4.8), Fixed(2.2)),
        screen=replace(ROOM.screen, bottom=choice(0.5, 0.7), bezel=Fixed(0.05)),
        baffle=replace(ROOM.baffle, depth=choice(0.3, 0.45)),
        seating=replace(ROOM.seating, seats=choice(2, 3)),
        limits=(limit("cost", None, 9_000.0),),
        goals=(
            goal("horizontal_angle", 45 * DEGREE, 50 * DEGREE, fade=10 * DEGREE, weight=3),
            goal("luminance", 48.0, fade=40.0, weight=2),
            goal("chair_width", 0.75, fade=0.3, weight=2),
            goal("direct_to_reverberant", -3.0, fade=4.0),
            goal("seat_count", 3, fade=2),
            goal("cost", None, 6_000.0, fade=4_000.0),
        ),
    )
)
"""A room where all is to be bought: 4 screens, 3 projectors, 2 sets of loudspeakers, 3 chairs."""

LIBRARY = Path(__file__).parents[1] / "problems" / "library-budget.yaml"
GRID = 0.05


@pytest.fixture(scope="module")
def library():
    return load(LIBRARY)


@pytest.fixture(scope="module")
def best(library):
    return solve(library)


def test_the_bill_adds_up(library, best):
    """By hand: one screen, one set of loudspeakers, one projector, and a chair for every seat."""
    prices = {item.name: item.price for one in library.listings for item in one.items}
    assert (prices["Linen 130"], prices["Oak"], prices["Lantern"], prices["Heron"]) == (2100, 4200, 1900, 1450)
    positions = bill(library, best.space, best.design)
    seats = sum(value for name, value in best.design.items() if name.endswith(".seats"))
    assert {p.of: p.count for p in positions} == {"screen": 1, "loudspeakers": 1, "projector": 1, "chair": seats}
    by_hand = sum(prices[p.name] * (seats if p.of == "chair" else 1) for p in positions)
    assert total(positions) == by_hand <= 18_000
    assert float(best.space.layout.cost.value(best.design)) == pytest.approx(by_hand)


def test_where_nothing_has_a_price_there_is_no_total():
    given, free = Position("chair", "Heron", 1450.0, 4), Position("screen", "Linen", None, 1)
    assert total((given, free)) == 4 * 1450
    assert total((free,)) is None and total(()) is None
    assert (money_words(free.price), money_words(free.amount)) == ("", "")


def test_the_bill_names_the_currency_where_the_file_has_one(library):
    assert heading(replace(library, currency="crowns")) == "Equipment, prices in crowns"
    assert heading(replace(library, currency="")) == "Equipment"


def test_no_other_things_are_better(library):
    """Every combination of things is solved by itself, as if the file named nothing else."""
    coarse = with_fixed(replace(library, seating=replace(library.seating, rows=(1,))), "projector", "Lantern")
    answer = solve(coarse, grid=GRID)
    scores = {}
    for aspect in shapes(coarse):
        for picks, only in combinations(coarse, aspect):
            alone = solve(only, grid=GRID)
            if alone.score is not None:
                scores[tuple(picks.values())] = alone.score
    assert len(scores) > 20  # of 4 x 3 x 4; the rest fit no room, no budget
    assert max(scores.values()) == pytest.approx(answer.score, abs=PROMISE)
    taken = tuple(answer.design[of] for of in lists(coarse))
    assert scores[taken] == pytest.approx(answer.score, abs=PROMISE)


def test_nothing_that_can_be_bought_is_better():
    """Every design of a coarse grid with every combination of things, by the plain formulas."""
    assert 20_000 < count(TO_BUY, 0.1) < 100_000
    compare(TO_BUY, 0.1)


ONE_DEFINITION = (
    test_one_definition.test_values_are_those_of_the_formulas,
    test_one_definition.test_conditions_say_what_values_say,
    test_one_definition.test_intervals_contain_every_value,
    test_one_definition.test_model_allows_what_a_limit_allows,
    test_one_definition.test_model_scores_what_a_goal_scores,
)


@pytest.mark.parametrize("held", ONE_DEFINITION, ids=lambda test: test.__name__[5:])
@examples(8)
@given(problem=problems_to_buy_for(), seed=st.integers(0, 2**32 - 1))
def test_lists_have_one_definition(held, problem, seed):
    """What holds of any problem, of problems with lists of things."""
    held.hypothesis.inner_test(problem, seed)


@examples(5)
@given(problems_to_buy_for(), st.integers(0, 2**32 - 1))
def test_answers_with_lists_keep_their_promises(problem, seed):
    test_random_problems.test_every_answer_keeps_its_promises.hypothesis.inner_test(problem, seed)


def test_what_is_taken_stands_in_the_record(library, best):
    record = json.loads(json.dumps(solution_record(best)))
    assert record["design"]["chair"] == "Heron"
    assert record["equipment"]["currency"] == "crowns"
    assert record["equipment"]["total"] == record["measures"]["cost"] == 16_900
    assert {"of": "chair", "name": "Heron", "price": 1450, "count": 6, "amount": 8700} in record["equipment"]["things"]
    again = restored(library, record)
    assert again.design == pytest.approx(dict(best.design))


def test_a_thing_can_be_pinned_by_its_name(library, best):
    owls = solve(with_fixed(library, "chair", "Owl"))
    assert written_value(library, "chair", owls.design["chair"]) == "Owl"
    assert owls.score <= best.score
    assert next(g for g in owls.card.goals if g.goal.measure == "chair_width").values == (pytest.approx(0.88),)
    with pytest.raises(UsageError, match="chair: 'Own' is not in the list: did you mean 'Owl'"):
        with_fixed(library, "chair", "Own")
    with pytest.raises(UsageError, match=r"screen\.width: the list of screens gives it"):
        with_fixed(library, "screen.width", "3 m")
    with pytest.raises(UsageError, match="the problem file has no list"):
        read_value(load(LIBRARY.with_name("box-room.yaml")), "chair", "Owl")


@pytest.mark.parametrize(
    ("system", "words"), [("ft-in", "85 in"), ("in", "85 in"), ("m", "2.159 m"), ("mm", "2159 mm")]
)
def test_panels_go_by_their_inches_where_feet_are_shown(system, words):
    """Common practice, no source: a diagonal of 85 in is never told as 7 ft 1 in."""
    assert plain_value("screen.diagonal", 85 * 0.0254, system) == words


def test_the_one_screen_of_its_kind_is_pinned_by_its_kind():
    """A name beside a list of panels, of a projected screen of which there is no choice."""
    kinds = (
        "  screens:\n    - {width: {from: 2 m, to: 3 m}, bottom: 0.7 m, name: Gauze, price: 900}\n    - type: panel\n      bottom: 0.7 m\n"
        "      choose: [{name: Slate, diagonal: 83 in, price: 4100}, {name: Shale, diagonal: 98 in, price: 6900}]\n"
    )
    text, found = re.subn(r"  screen: .*\n.*pixels: 3840}\n", kinds, text_of())
    assert found == 1
    with pytest.raises(
        UsageError,
        match=r"screen: 'Gauze' is not in the list: it is the one screen of its kind: write screen\.type=projected",
    ):
        with_fixed(loads(text), "screen", "Gauze")
    assert with_fixed(loads(text), "screen", "Slate")


def test_a_kind_of_screen_is_no_thing_of_a_list(library):
    """Answers head both with 'screen', so that a reader writes screen=panel."""
    for problem, kind in ((library, "projected"), (load(LIBRARY.with_name("wool-loft.yaml")), "panel")):
        with pytest.raises(UsageError, match=rf"screen: '{kind}' is not in the list: .* write screen\.type={kind}"):
            with_fixed(problem, "screen", kind)


def test_money_that_no_goal_asks_to_save_is_told_of(library, best):
    """By the file's prices: of the screens, loudspeakers and chairs taken there are cheaper ones, of the projectors none. Its
    goal asks for 14000 crowns at most, which 16900 miss: so long as that pulls, nothing is said."""
    words = "No goal asks for a lower cost than 16900: with a cheaper choice of chairs, loudspeakers and screen"
    prices = {listing.of: {item.name: item.price for item in listing.items} for listing in library.listings}
    taken = {"screen": "Linen 130", "loudspeakers": "Oak", "projector": "Lantern", "chair": "Heron"}
    dearer = {of for of, name in taken.items() if prices[of][name] > min(prices[of].values())}
    assert dearer == {"screen", "loudspeakers", "chair"}
    assert not [note for note in notes(library, best.space, best.design) if words in note]
    for goals in (
        tuple(one for one in library.goals if one.measure != "cost"),
        tuple(replace(one, high=17_000.0) if one.measure == "cost" else one for one in library.goals),
    ):
        assert [note for note in notes(replace(library, goals=goals), best.space, best.design) if words in note]
    # without a goal there is no score that as much of could be had for less, nor a front with it
    assert not [note for note in notes(replace(library, goals=()), best.space, best.design) if "No goal asks" in note]


def test_designs_may_name_things(library):
    ((_, given),) = library.designs
    done = complete(library, dict(given))
    assert [r.limit.measure for r in done.card.broken] == ["cost", "aisle_width"]
    # 3300 + 8900 + 4200 + 7 x 1450
    assert done.card.broken[0].value == pytest.approx(26_550)


def test_the_least_cost_is_that_of_the_cheapest_things(library):
    """Without goals and with one row of three: 1400 + 2400 + 1900 + 3 x 240, if they fit; they do."""
    found = extreme(replace(library, goals=library.goals[:1]), "cost", greatest=False)
    assert found.value == pytest.approx(1400 + 2400 + 1900 + 3 * 240)
    assert found.bound == pytest.approx(found.value, abs=1.0)


def test_an_answer_without_lists_is_the_same(library, best):
    """The problem that names only what was taken has the same best score."""
    alone = solve(chosen(library, best.design))
    assert alone.score == pytest.approx(best.score, abs=PROMISE)
    assert {"chair", "screen"} & set(alone.design) == set()


def test_prices_and_sizes_of_things_can_be_varied(library):
    at = part(library, "seating.chair.choose.Heron.price")
    assert (at.value, at.kind) == (1450.0, "money")
    dearer = with_value(library, at.path, "1600")
    assert part(dearer, at.path).value == 1600.0
    assert part(library, "projector.choose.Lamp.throw_ratio.to").value == 2.2
    wider = with_value(library, "seating.chair.choose.Owl.width", "95 cm")
    (space, *_) = spaces(with_fixed(wider, "chair", "Owl"))
    assert space.layout.chair_width.constant == pytest.approx(0.95)
    with pytest.raises(UsageError, match="less deep reclined than upright"):
        with_value(library, "seating.chair.choose.Owl.reclined", "90 cm")


PRICED = """
format: 1
room: {length: 6 m, width: 4.4 m, height: 2.6 m}
front:
  screen:
    type: tiled
    tile: {width: 600 mm, height: 337.5 mm, pitch: 1.2 mm, price: 300}
    columns: {from: 3, to: 6}
    tile_rows: {from: 3, to: 6}
    bottom: 0.5 m
seating: {rows: 1, seats: {choose: [2, 3]}, chair: {price: 400, name: Wren}}
limits: [{measure: cost, at_most: 6000}]
goals: [{measure: image_area, at_least: 8 m2, fade: 8 m2}, {measure: seat_count, at_least: 3, fade: 3}]
"""


def test_tiles_cost_each():
    """6000 buys 2 chairs and 17 tiles or 3 chairs and 16; 4 x 4 is the largest wall of up to 17 in whole rows."""
    solution = solve(loads(PRICED))
    assert (solution.design["screen.columns"], solution.design["screen.tile_rows"]) == (4.0, 4.0)
    assert [(p.of, p.name, p.count) for p in bill(solution.problem, solution.space, solution.design)] == [
        ("tiles", "tiles", 16),
        ("chair", "Wren", 3),
    ]
    assert math.isclose(total(bill(solution.problem, solution.space, solution.design)), 16 * 300 + 3 * 400)


def test_cost_needs_prices(library):
    bare = replace(library, listings=(), seating=chosen(library, {"screen.aspect": 1.0, "chair": 2.0}).seating)
    bare = replace(
        bare,
        screen=replace(
            library.screen, width=Fixed(2.0), bezel=Fixed(0.1), aspect=Fixed(16 / 9), gain=1.0, open_area=0.0
        ),
    )
    bare = replace(
        bare, projector=None, loudspeakers=chosen(library, {"screen.aspect": 1.0, "loudspeakers": 0.0}).loudspeakers
    )
    with pytest.raises(Exception, match="cost needs prices, which the file does not give"):
        solve(bare)


TREATED = """
format: 1
room:
  {surfaces}
  length: 4.1 m
  width: 4.3 m
  height: 3 m
  treatment: {{panels: {{from: 2, to: 12}}, panel: 0.6 m2, on: walls, material: mineral wool 50 mm}}
front:
  baffle: {{depth: 45 cm}}
  screen: {{bottom: 1 m}}
  loudspeakers: {{choose: [{things}]}}
seating: {{rows: 1, seats: 2}}
goals: [{{measure: direct_to_reverberant, band: [-10.94 dB, -8.94 dB], fade: 8 dB}}]
"""
SURFACES = (
    "surfaces: [{of: floor, absorption: [0.55, 0.43, 0.58, 0.32, 0.04, 0.4]}, {name: walls, of: walls, material: gypsum board}, "
    "{of: ceiling, absorption: [0.11, 0.2, 0.58, 0.1, 0.15, 0.49]}]"
)
HORN = "{name: Horn, width: 20 cm, height: 45 cm, depth: 20 cm, directivity: 5, least_distance: 1.7 m}"
BOX = "{name: Box, width: 20 cm, height: 45 cm, depth: 20 cm, directivity: 3, least_distance: 1.7 m}"


def test_what_can_be_had_with_one_thing_can_be_had_with_a_list():
    """Two directivities beside the absorption of panels make products beyond 64 bits, of which the solver may find a
    contradiction where there is none. A choice of two is as good as the better of them."""
    alone = [solve(loads(TREATED.format(surfaces=SURFACES, things=thing)), grid=0.05).score for thing in (HORN, BOX)]
    both = solve(loads(TREATED.format(surfaces=SURFACES, things=f"{HORN}, {BOX}")), grid=0.05)
    assert both.score == pytest.approx(max(alone), abs=PROMISE)


@pytest.mark.parametrize("file", sorted(LIBRARY.parent.glob("*.yaml")), ids=lambda path: path.stem)
def test_what_spaces_settle_is_known_without_them(file):
    """And a design's own space is found among them."""
    problem = load(file)
    there = list(spaces(problem))
    assert settlements(problem) == [space.settled for space in there]
    for space in there:
        assert list(spaces(problem, of=space.settled)) == [space]
    assert list(spaces(problem, of={**there[0].settled, "rows": 9.0})) == []
