"""The compiler's parts: whatever is rounded, no design is lost, and little is gained."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.compile import LEVELS, Compiled
from optimiser.compile.envelope import lines_under
from optimiser.compile.integers import common_unit, exact_counts, exact_integers, scaled, scaled_counts
from optimiser.compile.shadows import most_of
from optimiser.compile.tighten import outlook, tightened
from optimiser.compile.variables import Variables
from optimiser.design import Held, Listed, Steps, spaces
from optimiser.engine import run
from optimiser.forms import ONE, Cut, Greatest, Least, Tabulated
from optimiser.linear import Linear, Quadratic, constant, variable
from optimiser.measures import catalogue
from optimiser.problem.model import Fixed, Range
from optimiser.problem.read import load
from optimiser.requirements import targets
from optimiser.score import Scorer
from optimiser.search import Search
from optimiser.solve import solve
from tests.support.checker import judge_of
from tests.support.effort import examples
from tests.support.files import FOLDER
from tests.support.rooms import INCH, choice, goal, limit, long_room, small_room

NAMES = ("a", "b", "c")
numbers = st.floats(-50, 50).map(lambda x: round(x, 3))


def linears() -> st.SearchStrategy[Linear]:
    return st.builds(Linear.of, st.dictionaries(st.sampled_from(NAMES), numbers, max_size=3), numbers)


boxes = st.fixed_dictionaries({n: st.tuples(numbers, numbers).map(lambda e: tuple(sorted(e))) for n in NAMES})


# --- expressions ------------------------------------------------------------------------------


@examples(100)
@given(linears(), linears(), numbers, st.fixed_dictionaries({n: numbers for n in NAMES}))
def test_expressions_add_and_multiply_as_numbers_do(one, two, factor, env):
    a, b = one.value(env), two.value(env)
    near = dict(rel=1e-9, abs=1e-6)
    assert (one + two).value(env) == pytest.approx(a + b, **near)
    assert (one - two).value(env) == pytest.approx(a - b, **near)
    assert (factor - one).value(env) == pytest.approx(factor - a, **near)
    assert (one * factor).value(env) == pytest.approx(a * factor, **near)
    assert (one * two).value(env) == pytest.approx(a * b, **near)
    assert (one * two + one - one * one * factor).value(env) == pytest.approx(a * b + a - a * a * factor, **near)
    assert (one * two - factor).value(env) == pytest.approx(a * b - factor, **near)
    assert (one - two * two).value(env) == pytest.approx(a - b * b, **near)


@examples(100)
@given(linears(), linears(), boxes, st.lists(st.floats(0, 1), min_size=3, max_size=3))
def test_intervals_contain_what_the_box_holds(one, two, box, shares):
    env = {n: low + share * (high - low) for (n, (low, high)), share in zip(box.items(), shares)}
    square, product = Quadratic(one, ((1.5, two, two),)), Quadratic(one, ((-2.0, one, two), (0.5, two, two)))
    for expression in (one, square, product):
        low, high = expression.interval(box)
        value = expression.value(env)
        slack = 1e-9 * (1 + abs(value) + abs(low) + abs(high))
        assert low - slack <= value <= high + slack


@examples(50)
@given(linears(), boxes)
def test_the_interval_of_a_linear_expression_is_exact(one, box):
    corners = [one.value(dict(zip(box, ends))) for ends in itertools.product(*box.values())]
    low, high = one.interval(box)
    assert low == pytest.approx(min(corners), abs=1e-9, rel=1e-9) and high == pytest.approx(
        max(corners), abs=1e-9, rel=1e-9
    )


# --- lines and ranges -------------------------------------------------------------------------


@examples(100)
@given(
    st.lists(st.floats(-10, 10), min_size=1, max_size=60),
    st.floats(0.001, 5.0),
    st.booleans(),
)
def test_lines_lie_under_every_sample(values, tolerance, convex):
    """And their greatest lies within the tolerance of each; of a convex function they are found."""
    f = np.cumsum(np.cumsum(np.abs(values))) if convex else np.array(values)
    x = np.arange(3, 3 + len(f))
    allowed = np.full(len(f), tolerance if not convex else max(tolerance, 0.05 * np.ptp(f)))
    lines = lines_under(x, f, allowed)
    if lines is None:
        assert not convex
        return
    best = np.max([a + b * x for a, b in lines], axis=0)
    scale = 1e-9 * (1 + np.abs(f).max())
    assert np.all(best <= f + scale)
    assert np.all(f - best <= allowed + scale)


@examples(100)
@given(
    st.lists(linears(), min_size=1, max_size=4),
    st.fixed_dictionaries({n: st.tuples(st.integers(-40, 40), st.integers(0, 12)) for n in NAMES}),
    st.sampled_from([0.001, 0.1, INCH / 16, 1.0]),
)
def test_tightening_drops_no_point_that_may_hold(expressions, ranges, step):
    domains = {n: Steps(step, low, low + more) for n, (low, more) in ranges.items()}
    shrunk = tightened(domains, expressions, 1e-9)
    counts = np.array(np.meshgrid(*[np.arange(d.low, d.high + 1) for d in domains.values()])).reshape(3, -1)
    env = {n: step * c for n, c in zip(domains, counts)}
    holds = np.all([np.broadcast_to(e.value(env), counts[0].shape) >= 0.0 for e in expressions], axis=0)
    for name, row in zip(domains, counts):
        kept = (row >= shrunk[name].low) & (row <= shrunk[name].high)
        assert kept[holds].all(), name


def test_tightening_drops_from_lists_what_cannot_be():
    """1 + b - c - 3 >= 0 with c >= 0: b of 0 is out, and with 2 and 5 c may go up to 3."""
    domains = {"a": Held(1.0), "b": Listed((0.0, 2.0, 5.0)), "c": Steps(1.0, 0, 10)}
    shrunk = tightened(domains, [variable("a") + variable("b") - variable("c") - 3.0], 1e-9)
    assert shrunk == {"a": Held(1.0), "b": Listed((2.0, 5.0)), "c": Steps(1.0, 0, 3)}


@examples(60)
@given(
    st.lists(linears(), min_size=1, max_size=4),
    st.lists(numbers, min_size=1, max_size=5, unique=True),
    st.integers(0, 30),
)
def test_tightening_keeps_every_value_of_a_list_that_may_hold(expressions, values, more):
    domains = {"a": Listed(tuple(values)), "b": Steps(0.5, -10, -10 + more), "c": Held(2.0)}
    shrunk = tightened(domains, expressions, 1e-9)
    for value, count in itertools.product(values, range(-10, -10 + more + 1)):
        if all(e.value({"a": value, "b": 0.5 * count, "c": 2.0}) >= 0.0 for e in expressions):
            assert value in shrunk["a"].values and shrunk["b"].low <= count <= shrunk["b"].high


@examples(100)
@given(
    st.lists(linears(), min_size=1, max_size=4),
    st.fixed_dictionaries({n: st.tuples(st.integers(-40, 40), st.integers(0, 12)) for n in NAMES}),
)
def test_no_hope_is_given_up_where_a_point_holds_all(expressions, ranges):
    domains = {n: Steps(0.5, low, low + more) for n, (low, more) in ranges.items()}
    cuts = [Cut(expression, ONE, 0.0, 1) for expression in expressions]
    view = outlook(domains, (), cuts, [], [], levels=LEVELS, least=None, between=False)
    points = itertools.product(*(range(d.low, d.high + 1) for d in domains.values()))
    envs = ({n: 0.5 * k for n, k in zip(domains, point)} for point in points)
    some = any(all(e.value(env) >= 0.0 for e in expressions) for env in envs)
    assert not (some and view.hopeless)


@pytest.mark.parametrize("asked", ["a limit", "a score"])
def test_a_space_without_hope_is_told_without_its_rows(asked):
    """An image 9 m wide in a room 3.2 m wide; a score of 100 where a seat cannot be where its goal asks for it."""
    if asked == "a limit":
        problem = small_room(limits=(limit("image_width", 9.0),), goals=())
    else:
        problem = small_room(goals=(goal("listening_distance", 30.0, 31.0, fade=1.0),))
    for space in spaces(problem, grid=0.001):
        scorer = Scorer(problem, space)
        model = Compiled(space, scorer.bounds, scorer.targets, least=100.0 if scorer.targets else None)
        assert run(model)[0] == "INFEASIBLE"
        assert len(model.model.proto.constraints) < 5


# --- whole numbers ----------------------------------------------------------------------------


def test_lengths_of_one_system_have_a_common_unit():
    """84 in and 112.3125 in are 1344 and 1797 sixteenths, as whole numbers have it."""
    unit, counts = exact_integers([84 * INCH, 112.3125 * INCH])
    assert counts == [448, 599] and unit == pytest.approx(3 * INCH / 16)


def test_numbers_without_a_common_unit_are_known_for_it():
    assert exact_integers([1.0, math.pi]) is None
    assert common_unit([(0, 1.0), (1, math.sqrt(2))], [(0, 10), (0, 10)]) is None


@examples(100)
@given(
    st.lists(st.tuples(st.floats(1e-9, 1e3), st.integers(1, 10**6), st.booleans()), min_size=1, max_size=6),
    st.floats(1e3, 1e12),
)
def test_scaled_sums_err_by_no_more_than_they_say(terms, scale):
    coefficients = [c if positive else -c for c, _, positive in terms]
    reach = [r for _, r, _ in terms]
    used, counts, error = scaled(coefficients, reach, scale)
    assert used <= scale * (1 + 1e-12)
    worst = sum(abs(n - c * used) * r for n, c, r in zip(counts, coefficients, reach))
    assert worst <= error * (1 + 1e-9) + 1e-6


# --- models that once lost or gained something ------------------------------------------------


@pytest.mark.parametrize("unit", [0.01, 1 / 3, 0.137, math.pi])
def test_long_rows_are_scaled_as_short_ones_are(unit):
    """Many coefficients, most of them alike and a few of them whole parts of no one unit."""
    random = np.random.default_rng(4)
    for odd in (0.0, math.sqrt(2.0)):
        values = unit * random.integers(1, 40, 200).astype(float)
        values[7] += odd
        found, expected = exact_counts(values), exact_integers(values.tolist())
        assert (found is None) == (expected is None)
        if expected is not None:
            assert (found[0], found[1].tolist()) == expected
        reach = random.integers(1, 9, 200)
        scale, counts, error = scaled_counts(values, reach, 1e6)
        same = scaled(values.tolist(), reach.tolist(), 1e6)
        assert (scale, counts.tolist()) == same[:2] and error == pytest.approx(same[2], rel=1e-9)


def greatest_level(problem, design) -> tuple[int, float]:
    """The first goal's greatest level in the model, and its exact score in levels."""
    from tests.test_one_definition import exact_scores, fixed_status

    (space,) = spaces(problem)
    (target,) = targets(problem, space)
    compiled = Compiled(space, [], [target])
    feasible, objective = fixed_status(compiled, design, maximise=True)
    assert feasible
    judge = judge_of(problem, {**space.settled, **design})
    return round(objective / compiled.weights[0]), sum(exact_scores(judge, target, design)) * LEVELS


@pytest.mark.parametrize("y", np.arange(2.2, 4.9, 0.173).round(3))
def test_a_level_that_one_of_several_nulls_gives_is_not_lost(y):
    """The quietest of three modes' places: each place reaches another part of the band."""
    problem = small_room(
        goals=(goal("mode_level", None, -11.0, fade=11.0, order=3, axis="length"),),
        limits=(),
        baffle=replace(small_room().baffle, solid=False),
    )
    design = {
        "screen.width": 2.0,
        "screen.bezel": 0.05,
        "screen.bottom": 0.7,
        "baffle.depth": 0.4,
        "row1.y": float(y),
        "row1.platform": 0.0,
        "row1.seats": 3.0,
        "row1.risers": 1.0,
    }
    level, exact = greatest_level(problem, design)
    assert math.floor(exact - 1e-6) <= level <= exact + 4


HERE = Tabulated(None, 0, ("here",)), Tabulated(None, 1, ("here",))
THERE = Tabulated(None, 0, ("there",))
"""Two functions of a table at one place, and one at another."""


@pytest.mark.parametrize(
    ("form", "sense", "places", "most"),
    [
        # by hand: at the two points here the functions are 1 and 5, or 4 and 3; at the three there 0, 2 and 6
        (Greatest, 1, "here", None),  # as much as there is there
        (Least, 1, "here", [1, 3]),  # no more than the lesser function here
        (Greatest, -1, "here", [-5, -4]),  # no less than the greater function here
        (Least, -1, "here", None),  # as little as there is there
        (Greatest, 1, "both", [[5, 5, 6], [4, 4, 6]]),
        (Least, 1, "both", [[0, 1, 1], [0, 2, 3]]),
        (Greatest, -1, "both", [[-5, -5, -6], [-4, -4, -6]]),
        (Least, -1, "both", [[0, -1, -1], [0, -2, -3]]),
    ],
)
def test_what_a_point_allows_whatever_other_places_are(form, sense, places, most):
    """A place that nothing is known of may be as loud or as quiet as it likes."""
    axes = [("here", np.array([[1.0, 5.0], [4.0, 3.0]])), ("there", np.array([[0.0], [2.0], [6.0]]))]
    axes = axes if places == "both" else axes[:1]
    found = most_of([(1.0, form((*HERE, THERE)))], sense, axes, lambda one: one.place[0], {})
    assert (found is None) is (most is None)
    if most is not None:
        np.testing.assert_array_equal(found, most)


@pytest.mark.parametrize(("wanted", "most"), [(3.0001, 2399), (2.9, 2666), (5.0, 0)])
def test_the_most_that_is_within_reach_is_a_level_too(wanted, most):
    """An image of 2.4 m, the widest there is, where so much is wanted, and 1.5 m less scores
    nothing: 1 - (3.0001 - 2.4) / 1.5 is 2399.7 of 4000 levels, and 2 / 3 2666.7."""
    problem = small_room(
        goals=(goal("image_width", wanted, fade=1.5),),
        limits=(),
        screen=replace(small_room().screen, width=choice(1.8, 2.4)),
    )
    design = {
        "screen.width": 2.4,
        "screen.bezel": 0.05,
        "screen.bottom": 0.7,
        "baffle.depth": 0.4,
        "row1.y": 3.1,
        "row1.platform": 0.0,
        "row1.seats": 3.0,
        "row1.risers": 1.0,
    }
    assert LEVELS == 4000
    assert most <= greatest_level(problem, design)[0] <= most + 4


@pytest.mark.parametrize("panels, y", [(3.0, 2.9), (11.0, 3.517), (27.0, 4.1)])
def test_a_goal_whose_fade_is_short_is_judged_by_levels_of_its_own(panels, y):
    """Panels and a row's distance add up, each on a scale: its steps are no longer than the levels of a fade of 0.6 dB,
    so that no more is added than straight pieces and rounding do."""
    from tests.test_one_definition import BLUR, exact_scores, fixed_status

    room = load(FOLDER / "hay-loft.yaml")
    given = replace(room, goals=(goal("direct_to_reverberant", None, None, row="1", fade=0.6),), limits=())
    space = next(iter(spaces(given)))
    ends = {n: d.ends for n, d in space.domains.items()}
    design = {n: low for n, (low, _) in ends.items()} | {"row2.y": ends["row2.y"][1]}
    design |= {"treatment.panels": panels, "row1.y": y}
    value = catalogue()["direct_to_reverberant"].form(space.layout, space.layout.rows[0]).value(design)
    asked = replace(given, goals=(goal("direct_to_reverberant", float(value) + 0.2, None, row="1", fade=0.6),))
    (target,) = targets(asked, space)
    compiled = Compiled(space, [], [target])
    feasible, objective = fixed_status(compiled, design, maximise=True)
    (exact,) = exact_scores(judge_of(asked, {**space.settled, **design}), target, design)
    assert exact == pytest.approx(2 / 3, abs=1e-6)
    assert feasible
    assert math.floor(exact * LEVELS - 1e-3) <= objective / compiled.weights[0] <= exact * LEVELS + BLUR + 1


@pytest.mark.parametrize(
    ("sizes", "vast"),
    [
        # 2^20 x 2^20 = 2^40, times 2^20: 60 bits; beside it 2^22 x 2 = 2^23, times 2^22: 45 bits, but 2^40 x 2^22: 62
        ((20, 20, 22, 1), False),
        ((20, 20, 24, 1), True),  # 2^40 x 2^24: 64 bits, though 2^40 x 2^20 and 2^25 x 2^24 are less
        ((22, 22, 1, 1), True),  # 2^44 x 2^22
    ],
)
def test_products_and_factors_beyond_64_bits_make_a_model_vast(sizes, vast):
    """The slope of one product's line times what another comes to: by hand."""
    variables = Variables({name: Steps(1.0, 0, 2**size) for name, size in zip("abcd", sizes)}, between=False)
    for one, other in ("ab", "cd"):
        variables.expression(variable(one) * variable(other))
    assert variables.vast is vast and variables.branch().vast is vast


@pytest.mark.parametrize("diagonals", [(1.24, 2.47, 2.56), (85.0 * INCH, 112.3125 * INCH), (65 * INCH, 1.5)])
def test_panels_are_judged_finely_whatever_their_diagonals(diagonals):
    base = small_room()
    problem = small_room(
        screen=replace(base.screen, type="panel", width=None, diagonal=choice(*diagonals), bezel=Range(0.01, 0.1)),
        seating=replace(base.seating, seats=choice(2, 3, 4)),
        goals=(goal("worst_seat_angle", 0.67, fade=0.26),),
        limits=(),
    )
    for diagonal in diagonals:
        for y in (2.5, 3.1, 4.4):
            design = {
                "screen.diagonal": diagonal,
                "screen.bezel": 0.058,
                "screen.bottom": 0.7,
                "baffle.depth": 0.4,
                "row1.y": y,
                "row1.platform": 0.0,
                "row1.seats": 3.0,
                "row1.risers": 1.0,
            }
            level, exact = greatest_level(problem, design)
            assert math.floor(exact - 1e-6) <= level <= exact + 4, (diagonal, y)


WEIGHTS = (
    math.pi,
    math.e,
    1.23456789,
    0.987654321,
    5.4321987,
    math.sqrt(5),
    math.sqrt(3),
    math.sqrt(2),
    1.1,
    1.2,
    1.3,
    1.7,
)


@pytest.mark.parametrize("factor", [1.0, 1e-9, 1e6])
def test_weights_of_any_kind_and_size_are_kept(factor):
    """Only their ratios count, and the bound holds although they are rounded."""
    base = long_room()
    problem = long_room(goals=tuple(replace(g, weight=w * factor) for g, w in zip(base.goals, WEIGHTS)))
    solution = solve(problem)
    assert solution.status == "optimal"
    exact = float(judge_of(problem, solution.design).score(solution.design))
    assert solution.score == pytest.approx(exact, abs=1e-6)
    assert exact <= solution.bound + 1e-9


def test_what_rounded_weights_can_come_to_in_the_score_is_known():
    """A goal's share of the score is its weight's of all weights. Shares that are rounded differ
    most where just the goals score full whose share grows: what that comes to must be counted into
    the bound, and there is something of it."""
    base = long_room()
    problem = long_room(goals=tuple(replace(g, weight=w) for g, w in zip(base.goals, WEIGHTS)))
    space = next(iter(spaces(problem)))
    found = targets(problem, space)
    compiled = Compiled(space, [], found)
    rows = [1 if target.worst else len(target.forms) for target in found]
    shares = [Fraction(target.goal.weight) / n for target, n in zip(found, rows) for _ in range(n)]
    rounded = [Fraction(weight, sum(compiled.weights)) for weight in compiled.weights]
    assert len(rounded) == len(shares)
    off = 100 * float(sum(max(mine - share / sum(shares), 0) for mine, share in zip(rounded, shares)))
    assert 0.0 < off <= compiled.blur


def test_weights_that_are_all_alike_are_counted_simply():
    space = next(iter(spaces(small_room())))
    problem = small_room(goals=tuple(replace(g, weight=1 / 3) for g in small_room().goals))
    assert Compiled(space, [], targets(problem, space)).weights == [1, 1, 1]


def test_a_range_without_length_has_a_point_between_grid_points():
    """1000.5 steps: half a step from 1000, and from 1001."""
    base = small_room()
    problem = small_room(screen=replace(base.screen, width=Range(2.001, 2.001)))
    (space,) = spaces(problem, grid=0.002, between=True)
    low, high = space.domains["screen.width"].ends
    assert low - 0.001 <= 2.001 <= high + 0.001 + 1e-12


def test_a_limit_at_the_loudest_place_can_be_met():
    """In the middle of 5.2 m the second mode is at its full level, 0 dB, and no place is louder."""
    base = small_room()
    problem = small_room(
        limits=(limit("mode_level", 0.0, order=2, axis="length"),),
        goals=(goal("image_width", 3.0, fade=1.2),),
        room=replace(base.room, doors=()),
        seating=replace(base.seating, place=(("row1.y", Fixed(2.6)),)),
        baffle=replace(base.baffle, solid=False),
    )
    assert solve(problem).status == "optimal"


def test_constant_expressions_multiply_to_linear_ones():
    assert constant(2.0) * variable("a") == variable("a") * 2.0 == Linear((("a", 2.0),))


@pytest.mark.parametrize("pieces", [2, 3, 8])
def test_the_best_design_stays_where_products_are_bounded_in_pieces(pieces):
    """With planes also under its largest product, 3e11, the solver held that there is no such design."""
    problem = load(FOLDER / "boathouse-loft.yaml")
    best = solve(problem)
    (scorer,) = (s for s in Search(problem, best.grid).scorers if s.space.settled == best.space.settled)
    compiled = Compiled(scorer.space, scorer.bounds, scorer.targets, least=best.score - 1.0, pieces=pieces)
    assert run(compiled)[0] in ("OPTIMAL", "FEASIBLE")
    assert run(compiled, presolve=False)[0] in ("OPTIMAL", "FEASIBLE")


@pytest.mark.parametrize("pieces", [2, 3, 8, 50])
def test_a_product_bounded_in_pieces_keeps_every_point_of_the_grid(pieces):
    from ortools.sat.python import cp_model

    variables = Variables({"a": Steps(0.1, -3, 4), "b": Steps(0.25, -2, 6), "c": Steps(0.1, 5, 9)}, between=False)
    for other in ("b", "c"):
        variables.expression(variable("a") * variable(other))
    variables.divide(pieces, frozenset())
    found = []

    class Collect(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            found.append(tuple(round(v / step) for v, step in zip(variables.read(self).values(), (0.1, 0.25, 0.1))))

    solver = cp_model.CpSolver()
    solver.parameters.enumerate_all_solutions = True
    assert solver.solve(variables.model, Collect()).name == "OPTIMAL"
    # each point once: the pieces leave no choice
    assert sorted(found) == sorted(itertools.product(range(-3, 5), range(-2, 7), range(5, 10)))
