"""Proofs box by box: what is cut away holds no solution, and what is told of linear programs is certain."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import linprog

from optimiser.boxes import Boxes
from optimiser.compile import Compiled
from optimiser.compile.frame import Frame
from optimiser.compile.model import Answer, new_model
from optimiser.compile.relaxation import Relaxation, Rows
from optimiser.design import grid_of, spaces
from optimiser.engine import parameters_of
from optimiser.errors import ProblemFileError
from optimiser.problem.read import load
from optimiser.score import Scorer
from optimiser.search import Search
from optimiser.solve import PROMISE, solve
from tests.support.effort import examples
from tests.support.enumeration import best, count
from tests.support.files import FOLDER
from tests.support.strategies import problems
from tests.test_optimum import KINDS, compare


def models(name: str):
    """The models of a file's spaces, with little asked of the score, but those with tables of the bass."""
    problem = load(FOLDER / f"{name}.yaml")
    for space in spaces(problem, grid=grid_of(problem)):
        scorer = Scorer(problem, space)
        yield Compiled(space, scorer.bounds, scorer.targets, least=40.0)


def solutions(compiled: Compiled, how_many: int):
    """The values of all variables in several solutions that the solver finds, far from each other."""
    rng = np.random.default_rng(1)
    for seed in range(how_many):
        branch = compiled.branch()
        ways = [v for v in branch._variables[:40]]
        branch.model.maximize(branch._expr.weighted_sum(ways, [int(w) for w in rng.integers(-9, 10, len(ways))]))
        parameters = parameters_of(0.05)
        parameters.random_seed = seed
        answer = Answer(branch.model, parameters)
        if answer.status in ("OPTIMAL", "FEASIBLE"):
            yield np.array(list(answer.response_proto.solution), dtype=float)


@pytest.mark.parametrize("name", ["boathouse-loft", "chimney-room", "library-budget", "tithe-barn", "snug-panel"])
def test_every_solution_of_a_model_is_in_its_frame(name):
    """The solver's solutions keep all rows, planes and products, and interval arithmetic never cuts one away; what the
    solver is told of no solution for, as rows and products, is checked the other way by the tests of proofs below."""
    found = 0
    for compiled in models(name):
        frame = Frame(compiled)
        whole = frame.narrowed(frame.box)
        for x in solutions(compiled, 6):
            found += 1
            assert whole is not None and (whole[0] <= x).all() and (x <= whole[1]).all()
            target, one, other = frame.products.T
            assert (x[target] == x[one] * x[other]).all()
            matrix, least = frame.planes(whole)
            size = np.abs(matrix) @ np.abs(x)
            assert (matrix @ x >= least - 1e-9 * (1.0 + size)).all()
            # a part of the box about the solution, as narrow as may be, keeps it too
            for reach in (0.0, 3.0, 200.0):
                box = np.maximum(whole[0], x - reach), np.minimum(whole[1], x + reach)
                narrowed = frame.narrowed(box)
                assert narrowed is not None and (narrowed[0] <= x).all() and (x <= narrowed[1]).all()
                matrix, least = frame.planes(narrowed)
                assert (matrix @ x >= least - 1e-9 * (1.0 + np.abs(matrix) @ np.abs(x))).all()
            design = compiled.space.complete(frame.design(x))
            domains = frame.domains((x, x))
            assert all(d.ends == (design[n], design[n]) for n, d in domains.items())
    assert found >= 6


@examples(60)
@given(st.integers(0, 2**32))
def test_a_frame_says_what_a_model_says(seed):
    """Small models of every kind of constraint, all points of which are tried: the frame's rows, products and planes hold at
    the solutions, at no other point all of them, and no solution is cut away."""
    rng = np.random.default_rng(seed)
    model, ends = new_model(), [(-2, 2), (0, 3), (-6, 6), (0, 1), (0, 1), (0, 1)]
    x, y, product, a, b, c = (model.new_int_var(low, high, "") for low, high in ends)
    model.add_multiplication_equality(product, [x, y] if seed % 2 else [x, x])
    literals = [a, b, c, a.negated(), b.negated(), c.negated()]
    for _ in range(3):
        counts = [int(n) for n in rng.integers(-3, 4, 4)]
        low = int(rng.integers(-6, 2))
        guard = [literals[k] for k in rng.choice(6, int(rng.integers(0, 3)), replace=False)]
        model.add_row([x.index, y.index, product.index, a.index], counts, low, int(low + rng.integers(2, 14)), guard)
    for add in (model.add_exactly_one, model.add_at_most_one, model.add_bool_or):
        if rng.random() < 0.4:
            add([literals[k] for k in rng.choice(6, 2, replace=False)])
    points = np.array(list(itertools.product(*(range(low, high + 1) for low, high in ends))), dtype=float)
    good = np.array([holds(model.proto, point) for point in points])
    count = len(model.proto.variables)
    frame = Frame(SimpleNamespace(model=model, places={}, domains={}, labels=range(count), units=[1.0] * count))
    target, one, other = frame.products.T
    matrix, least = frame.planes(frame.box)
    kept = (points @ matrix.T >= least - 1e-9).all(axis=1)
    # at whole points the planes leave no more than the rows do; products are said by themselves
    assert (kept & (points[:, target] == points[:, one] * points[:, other]).all(axis=1) == good).all()
    for _ in range(8):
        corner = points[rng.integers(len(points), size=2)]
        box = corner.min(axis=0), corner.max(axis=0)
        inside = good & ((box[0] <= points) & (points <= box[1])).all(axis=1)
        narrowed = frame.narrowed(box)
        assert narrowed is not None or not inside.any()
        if narrowed is not None:
            assert ((narrowed[0] <= points[inside]) & (points[inside] <= narrowed[1])).all()
            matrix, least = frame.planes(narrowed)
            assert (points[inside] @ matrix.T >= least - 1e-9).all()


def holds(proto, point) -> bool:
    """Whether a point keeps all constraints of a model."""

    def true(literal: int) -> bool:
        return bool(point[literal] if literal >= 0 else 1 - point[-literal - 1])

    for one in proto.constraints:
        if not all(true(literal) for literal in one.enforcement_literal):
            continue
        if one.has_linear():
            total = sum(n * point[v] for v, n in zip(one.linear.vars, one.linear.coeffs))
            good = one.linear.domain[0] <= total <= one.linear.domain[1]
        elif one.has_int_prod():
            first, second = (e.vars[0] for e in one.int_prod.exprs)
            good = point[one.int_prod.target.vars[0]] == point[first] * point[second]
        elif one.has_exactly_one():
            good = sum(map(true, one.exactly_one.literals)) == 1
        elif one.has_at_most_one():
            good = sum(map(true, one.at_most_one.literals)) <= 1
        else:
            good = any(map(true, one.bool_or.literals))
        if not good:
            return False
    return True


@st.composite
def programs(draw):
    """Rows, their least, a box and a cost, of a linear program."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32)))
    size, rows = int(rng.integers(2, 9)), int(rng.integers(1, 14))
    matrix = np.where(rng.random((rows, size)) < 0.6, np.rint(rng.normal(0.0, 6.0, (rows, size))), 0.0)
    matrix *= 10.0 ** rng.integers(-2, 5, (rows, 1))
    low = np.rint(rng.normal(0.0, 50.0, size))
    high = low + np.rint(rng.random(size) * 10.0 ** rng.integers(0, 4, size))
    within = low + rng.random(size) * (high - low)
    spare = rng.normal(0.3, 0.5, rows) * np.abs(matrix).sum(axis=1)
    return matrix, matrix @ within - spare, (low, high), np.rint(rng.normal(0.0, 3.0, size))


@examples(300)
@given(programs(), st.integers(0, 2**32))
def test_what_a_linear_program_is_at_least_is_certain(program, seed):
    """Beside scipy's HiGHS: the bound is no higher than the optimum, and not much lower; that there is no solution is said
    only where there is none; and whatever the multipliers, what follows from them is no higher."""
    matrix, least, box, cost = program
    ours = Relaxation(matrix, least, box)
    lowest = ours.lowest({k: float(c) for k, c in enumerate(cost)})
    theirs = linprog(cost, -matrix, -least, bounds=np.array(box).T, method="highs")
    if theirs.status == 2:
        # by less than SURE, a contradiction is not told
        assert lowest is None or not ours.solved
        return
    assert theirs.status == 0 and lowest is not None
    size = 1.0 + np.abs(cost) @ np.maximum(np.abs(box[0]), np.abs(box[1]))
    if ours.solved:
        assert theirs.fun - 1e-6 * size <= ours.surely() <= theirs.fun + 1e-9 * size
        x = ours.point(list(range(len(cost))))
        assert math.isclose(float(cost @ x), theirs.fun, rel_tol=1e-6, abs_tol=1e-6 * size)
    some = np.random.default_rng(seed).exponential(1.0, len(least)) * size
    rows = Rows(matrix, least, box)
    assert rows.certain(cost * rows.unit, some, box) <= theirs.fun + 1e-9 * (size + some.sum())


def test_no_whole_solution_is_below_what_is_certain_whatever_the_rounding():
    """Two rows nearly parallel, far from the origin; 4 x + 9 y, 3 x + 7 y are what they must be at x, y exactly."""
    matrix, least = (
        np.array([[4.0, 9.0], [-3.0, -7.0], [3.0, 7.0]]),
        np.array([1355754817.0, -1042329282.0, 1042329282.0]),
    )
    x = 109320181, 102052677
    assert 4 * x[0] + 9 * x[1] >= 1355754817 and 3 * x[0] + 7 * x[1] == 1042329282
    program = Relaxation(matrix, least, (np.zeros(2), np.full(2, 2.0**27)))
    assert program.lowest({0: 1.0}) is not None and program.surely() <= x[0]


@examples(300)
@given(st.integers(0, 2**32))
def test_whole_solutions_are_never_below_what_is_certain(seed):
    """Rows through a whole point, all of them tight there, with whole coefficients: exact in double precision."""
    rng = np.random.default_rng(seed)
    size, rows = int(rng.integers(2, 5)), int(rng.integers(2, 8))
    matrix = np.rint(rng.normal(0.0, 10.0 ** rng.integers(1, 4), (rows, size)))
    most = 2.0 ** int(rng.integers(8, 28))
    x = np.floor(rng.random(size) * most)
    program = Relaxation(matrix, matrix @ x, (np.zeros(size), np.full(size, most)))
    ends, one_by_one, multipliers = [], [], []
    for k in range(size):
        for sense in (1.0, -1.0):
            assert program.lowest({k: sense}) is not None
            if program.solved:
                ends.append((k, sense))
                one_by_one.append(program.surely())
                multipliers.append(program.multipliers())
                assert one_by_one[-1] <= sense * x[k]
    together = program.certain(ends, multipliers)
    assert (together <= [sense * x[k] for k, sense in ends]).all()
    assert np.allclose(together, one_by_one, rtol=1e-9, atol=1e-6)


def test_a_contradiction_is_told_and_the_program_goes_on():
    """x + y >= 3 and x - y >= 2 within 0 to 2: x 2 would need y at least 1 and at most 0."""
    box = np.array([0.0, 0.0]), np.array([2.0, 2.0])
    against = Relaxation(np.array([[1.0, 1.0], [1.0, -1.0]]), np.array([3.0, 2.0]), box)
    assert against.lowest({0: 1.0}) is None
    against.within((np.array([0.0, 0.0]), np.array([4.0, 2.0])))
    assert math.isclose(against.lowest({0: 1.0}), 2.5) and math.isclose(against.surely(), 2.5)
    # what rounding may be is no contradiction
    almost = Relaxation(np.array([[1.0, 0.0]]), np.array([2.0 + 1.2e-7]), box)
    assert almost.lowest({1: 1.0}) == 0.0


@pytest.mark.parametrize("kind", KINDS)
def test_no_box_with_a_good_design_is_emptied(kind):
    """The best design is in what is left where a little less than its score is asked for; where more is asked for than any
    design has of all that are tried, nothing is left but what the solver then denies."""
    problem, grid = KINDS[kind]
    plain, solution = best(problem, grid), solve(problem, grid=grid)
    if plain.score is None:
        assert solution.status == "impossible"
        return
    assert plain.score is not None and plain.score - PROMISE <= solution.score <= plain.score + 1e-9
    seen, design = 0, solution.design
    for space in spaces(problem, grid=grid):
        scorer = Scorer(problem, space)
        for asked, there in ((solution.score - 0.01, space.has(design)), (plain.score + 0.2, False)):
            compiled = Compiled(space, scorer.bounds, scorer.targets, least=asked)
            if compiled.looking:
                continue
            boxes, leaves = Boxes(compiled), []
            while boxes.more and boxes.count < 300:
                leaf = boxes.look()
                seen += 1
                leaves += [] if leaf is None else [leaf]
            holds = [_has(leaf, design) for leaf in leaves]
            if boxes.more:
                assert not there or any(holds) or _has(boxes.hull, design)
            else:
                assert any(holds) or not there
            if asked > plain.score:
                for leaf in leaves:
                    rest = Compiled(replace(space, domains=leaf), scorer.bounds, scorer.targets, least=asked)
                    assert Answer(rest.model, parameters_of(10.0)).status == "INFEASIBLE"
    assert seen


def _has(domains, design) -> bool:
    """Whether a design lies in domains."""
    for name, domain in domains.items():
        values = getattr(domain, "values", None)
        low, high = domain.ends
        if not low - 1e-9 <= design[name] <= high + 1e-9:
            return False
        if values is not None and not any(abs(v - design[name]) < 1e-9 for v in values):
            return False
    return True


@pytest.fixture
def boxes_alone(monkeypatch):
    """Proofs that never lose patience with boxes, and ask the solver where these tell no more."""
    monkeypatch.setitem(Search.__init__.__kwdefaults__, "patience", 0.0)
    monkeypatch.setattr(Search, "boxes_a_second", 1e6)


@pytest.mark.parametrize("found", ["first", "in boxes"])
@pytest.mark.parametrize("kind", KINDS)
def test_nothing_is_better_than_what_is_proven_box_by_box(kind, found, boxes_alone, monkeypatch):
    """Also where good designs are found by the way only, in boxes of which nothing more can be told."""
    if found == "in boxes":
        monkeypatch.setattr("optimiser.search.highest", lambda *_, **__: None)
        monkeypatch.setitem(Search.__init__.__kwdefaults__, "glance", 1e-6)
    compare(*KINDS[kind])


@examples(60)
@given(problems(most_rows=2, most_limits=2, most_goals=4), st.sampled_from([0.08, 0.15, 0.3]))
def test_nothing_is_better_in_any_room_than_what_is_proven_box_by_box(problem, grid):
    assume(count(problem, grid) <= 400_000)
    with pytest.MonkeyPatch.context() as patched:
        patched.setitem(Search.__init__.__kwdefaults__, "patience", 0.0)
        patched.setattr(Search, "boxes_a_second", 1e6)
        try:
            compare(problem, grid)
        except ProblemFileError as error:
            assert "range" in str(error)
