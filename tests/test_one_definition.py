"""One definition for scorer and solver: what a form says by value, its conditions say as well, and
the compiled model says no more and no less."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from optimiser.compile import LEVELS, Compiled
from optimiser.design import Held, Listed, Space, Steps, spaces
from optimiser.errors import ProblemFileError
from optimiser.forms import Form
from optimiser.measures import catalogue
from optimiser.problem.model import Limit, Problem, Range
from optimiser.requirements import bounds, targets
from tests.support.checker import FROM_ROW_2, WHOLE, Judge
from tests.support.effort import examples
from tests.support.strategies import OPTIONS, USUAL, one_of, problems, random_designs

BLUR = 3
"""Levels by which the model may over-estimate a goal: two for straight pieces, the rest for rounding."""

APART = 2.0
"""How far a threshold lies from the value in the tests of the model, in what a limit may be missed by."""


def forms_of(problem: Problem, space: Space):
    """Every measure with every setting of its options, on every row that has it."""
    layout = space.layout
    for measure in catalogue().values():
        if not measure.exists(layout) or any(getattr(layout, need) is None for need in measure.needs):
            continue
        for options in OPTIONS.get(measure.name, [{}]):
            for row in measure.rows_of(layout) if measure.per_row else [None]:
                yield measure.name, options, row and row.number, measure.form(layout, row, **options)


def values_of(form: Form, designs, count: int) -> np.ndarray:
    with np.errstate(all="ignore"):
        return np.broadcast_to(np.asarray(form.value(designs), dtype=float), (count,))


def test_the_second_opinion_knows_every_measure():
    """A new measure needs its formula in the checker as well, and usual values to draw bands from."""
    known = catalogue()
    assert set(known) == set(USUAL)
    assert {n for n, m in known.items() if not m.per_row} == set(WHOLE)
    assert {n: m.first_row for n, m in known.items() if m.first_row != 1} == FROM_ROW_2
    for name, measure in known.items():
        settings_ = [set(o.items()) for o in OPTIONS.get(name, [{}])]
        assert len(settings_) == math.prod(map(len, measure.options.values())), name


@examples(30)
@given(problems(), st.integers(0, 2**32 - 1))
def test_values_are_those_of_the_formulas(problem, seed):
    """Every measure of random designs against the checker, which is written from the formulas."""
    for space in spaces(problem):
        designs = random_designs(space, seed, 40)
        count = len(designs["row1.y"])
        judge = Judge(problem, space.rows, space.aspect)
        if not count:
            continue
        for name, options, row, form in forms_of(problem, space):
            ours = values_of(form, designs, count)
            theirs = np.broadcast_to(judge.value(name, designs, row, **options), (count,))
            finite = np.isfinite(ours) & np.isfinite(theirs)
            far_down = (ours < -200) & (theirs < -200)  # decibels within rounding of a null
            agrees = (ours == theirs) | far_down
            if options.get("axis") == "width":  # a row wider than the room has no sound at its ends
                agrees |= judge.value("row_to_wall", designs, row) < 0
            # near a null, a level in decibels magnifies the rounding of the cosine
            allowed = 1e-8 * np.maximum(1.0, 10 ** (-np.minimum(ours, 0) / 20)) if name == "mode_level" else 5e-8
            agrees[finite] |= np.abs(ours[finite] - theirs[finite]) <= np.broadcast_to(allowed, (count,))[finite]
            assert agrees.all(), (name, options, row, ours[~agrees][:3], theirs[~agrees][:3])
            if not catalogue()[name].signed:
                assert np.nanmin(theirs, initial=0.0) >= -1e-9, (name, options, row)


@examples(10)
@given(problems(), st.integers(0, 2**32 - 1))
def test_conditions_say_what_values_say(problem, seed):
    """``at_least(t)`` and ``at_most(t)`` hold where the value does, for thresholds near and far, one
    and many at once."""
    random = np.random.default_rng(seed)
    for space in spaces(problem):
        designs = random_designs(space, seed, 40)
        count = len(designs["row1.y"])
        if not count:
            continue
        for name, options, row, form in forms_of(problem, space):
            values = values_of(form, designs, count)
            sample = values[random.integers(count)]
            middle = sample if math.isfinite(sample) else np.mean(USUAL[name])
            away = 10.0 ** random.uniform(-5, 0.5, 6) * random.choice([-1, 1], 6)
            thresholds = np.sort(middle + away)
            at_least, at_most = form.at_least(thresholds), form.at_most(thresholds)
            for k, t in enumerate(thresholds):
                clear = ~(np.abs(values - t) < 1e-9)
                for condition, level, truth in (
                    (form.at_least(t), None, values >= t),
                    (form.at_most(t), None, values <= t),
                    (at_least, k, values >= t),
                    (at_most, k, values <= t),
                ):
                    said = np.broadcast_to(condition.holds(designs, level), (count,))
                    wrong = (said != truth) & clear
                    assert not wrong.any(), (
                        name,
                        options,
                        row,
                        t,
                        values[wrong][:3],
                        one_of(designs, int(np.argmax(wrong))),
                    )


@examples(20)
@given(problems(), st.integers(0, 2**32 - 1))
def test_intervals_contain_every_value(problem, seed):
    for space in spaces(problem):
        designs = random_designs(space, seed, 40)
        count = len(designs["row1.y"])
        for name, options, row, form in forms_of(problem, space):
            low, high = form.interval(space.bounds)
            values = values_of(form, designs, count)
            inside = (values >= low - 1e-9) & (values <= high + 1e-9)
            assert inside.all(), (name, options, row, low, high, values[~inside][:3])


# --- the compiled model -----------------------------------------------------------------------


def fixed_status(compiled: Compiled, design, *, maximise: bool = False):
    """Solve a model with every decision held at a design; the status, and the objective if asked."""
    from ortools.sat.python import cp_model

    for name, domain in compiled.domains.items():
        values = domain.values if isinstance(domain, Listed) else (domain.value,) if isinstance(domain, Held) else ()
        if values and not any(abs(design[name] - value) < 1e-9 for value in values):
            return False, None  # the limits have been found to leave no room for it
    compiled.hint(design)
    hint = compiled.model.proto.solution_hint
    pinned = dict(zip(hint.vars, hint.values))
    for index, value in pinned.items():
        compiled.model.add_row([index], [1], value, value)
    if maximise:
        compiled.model.maximize(compiled.objective)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(compiled.model)
    assert status.name in ("OPTIMAL", "FEASIBLE", "INFEASIBLE"), (status.name, compiled.model.validate())
    return status.name != "INFEASIBLE", solver.objective_value if maximise and status.name != "INFEASIBLE" else None


def settings_of(problem: Problem, space: Space):
    """Measure, options and rows that this problem's data allow, cheap to draw from."""
    layout = space.layout
    return [
        (measure.name, options, row)
        for measure in catalogue().values()
        if measure.exists(layout) and not any(getattr(layout, need) is None for need in measure.needs)
        for options in OPTIONS.get(measure.name, [{}])
        for row in ([str(r.number) for r in measure.rows_of(layout)] if measure.per_row else ["all"])
    ]


@examples(15)
@given(problems(), st.integers(0, 2**32 - 1))
def test_model_allows_what_a_limit_allows(problem, seed):
    """With every decision held, the model is feasible where the limit holds (a tie included), and
    infeasible where the checker would call it broken."""
    random = np.random.default_rng(seed)
    space = random_space(problem, random)
    designs = random_designs(space, seed, 40)
    if not len(designs["row1.y"]):
        return
    known = settings_of(problem, space)
    for _ in range(6):
        name, options, row = known[random.integers(len(known))]
        design = one_of(designs, int(random.integers(len(designs["row1.y"]))))
        judge = Judge(problem, space.rows, space.aspect)
        (measured,) = [b for b in bounds(asking(problem, name, row, options, at_least=0.0), space) if not b.own]
        value = float(measured.form.value(design))
        if not math.isfinite(value) or (name == "mode_level" and value < -60):
            continue
        room = float(judge.room(name, design, measured.row, value, **options))
        for away in (0.0, APART * room, 10.0 ** random.uniform(-4, 0)):
            for sign, kind in ((1, "at_least"), (-1, "at_most")):
                for inside in (True, False):
                    if away < APART * room and not inside:
                        continue
                    bound = value - sign * away if inside else value + sign * away
                    only = asking(problem, name, row, options, **{kind: bound})
                    (wanted,) = [b for b in bounds(only, space) if not b.own]
                    feasible, _ = fixed_status(Compiled(space, [wanted], []), design)
                    assert feasible == inside, (name, options, row, kind, value, bound, value - bound, design)


def exact_scores(judge: Judge, target, design) -> list[float]:
    """The score of each row of a goal; where the worst counts, that one only."""
    scores, worst = judge.parts_of(target.goal, design)
    return [float(min(scores))] if worst else [float(s) for s in scores]


def sticks_out(judge: Judge, design, target) -> bool:
    """Whether a row is wider than the room and the goal asks what is heard there: nothing is, and the
    two definitions need not agree about it."""
    across = target.goal.measure == "mode_level" and dict(target.goal.options)["axis"] == "width"
    return across and any(judge.value("row_to_wall", design, row) < 0 for row in target.rows)


def asking(problem: Problem, name: str, row: str, options, at_least=None, at_most=None) -> Problem:
    """The problem with one limit and no goal."""
    return replace(problem, limits=(Limit(name, row, at_least, at_most, tuple(options.items())),), goals=())


def random_space(problem: Problem, random: np.random.Generator) -> Space:
    found = list(spaces(problem))
    return found[random.integers(len(found))]


@examples(25)
@given(problems(), st.integers(0, 2**32 - 1))
def test_model_scores_what_a_goal_scores(problem, seed):
    """With every decision held, the greatest level of a goal is its score in levels, rounded down:
    never less, and more only by what straight pieces and rounding may add."""
    random = np.random.default_rng(seed)
    space = random_space(problem, random)
    designs = random_designs(space, seed, 40)
    if not len(designs["row1.y"]):
        return
    judge = Judge(problem, space.rows, space.aspect)
    for target in targets(problem, space):
        for _ in range(3):
            design = one_of(designs, int(random.integers(len(designs["row1.y"]))))
            if sticks_out(judge, design, target):
                continue
            exact = exact_scores(judge, target, design)
            compiled = Compiled(space, [], [target])
            feasible, objective = fixed_status(compiled, design, maximise=True)
            assert feasible
            most = round(objective / compiled.weights[0])
            least = sum(math.floor(s * LEVELS - 1e-3) for s in exact)
            assert least <= most <= least + (BLUR + 1) * len(exact), (target.goal, exact, most - least, design)


@examples(20)
@given(problems(), st.integers(0, 2**32 - 1))
def test_model_between_grid_points_loses_no_design(problem, seed):
    """Where the bound is to hold between grid points, the grid point nearest to a design of any
    numbers has every limit that the design holds, and at least its score."""
    random = np.random.default_rng(seed)
    step = float(random.choice([0.001, 0.02, 0.15]))
    try:
        found = list(spaces(problem, grid=step, between=True))
    except ProblemFileError:
        return
    space = found[random.integers(len(found))]
    for design in off_grid_designs(problem, space, random, 3):
        judge = Judge(problem, space.rows, space.aspect)
        known = settings_of(problem, space)
        for _ in range(6):
            name, options, row = known[random.integers(len(known))]
            value = float(judge.value(name, design, int(row) if row != "all" else None, **options))
            across = options.get("axis") == "width" and judge.value("row_to_wall", design, int(row)) < 0
            if not math.isfinite(value) or (name == "mode_level" and (value < -60 or across)):
                continue
            for kind, bound in (("at_least", value - 1e-7), ("at_most", value + 1e-7)):
                only = asking(problem, name, row, options, **{kind: bound})
                (wanted,) = [b for b in bounds(only, space) if not b.own]
                feasible, _ = fixed_status(Compiled(space, [wanted], [], between=True), design)
                assert feasible, (name, options, row, kind, value, design)
        for target in targets(problem, space):
            if sticks_out(judge, design, target):
                continue
            compiled = Compiled(space, [], [target], between=True)
            feasible, objective = fixed_status(compiled, design, maximise=True)
            assert feasible
            exact = exact_scores(judge, target, design)
            assert round(objective / compiled.weights[0]) >= sum(math.floor(s * LEVELS - 1e-3) for s in exact), (
                target.goal,
                exact,
                design,
            )


def off_grid_designs(problem: Problem, space: Space, random: np.random.Generator, count: int):
    """Designs whose lengths are any numbers of the problem's ranges, heights and counts on their steps."""
    for design in _thrown(space, random, count):
        for name, domain in space.domains.items():
            if isinstance(domain, Steps) and domain.rounded:
                low, high = real_range(problem, name)
                design[name] = float(np.clip(design[name] + domain.step * random.uniform(-0.5, 0.5), low, high))
        if all(expression.value(design) >= 0.0 for expression in space.sense):
            yield design


def _thrown(space: Space, random: np.random.Generator, count: int):
    designs = random_designs(space, int(random.integers(2**32)), 40)
    for at in range(min(count, len(designs["row1.y"]))):
        yield one_of(designs, at)


def real_range(problem: Problem, name: str) -> tuple[float, float]:
    """What the problem itself allows: its grid reaches up to half a step further."""
    projector, length = problem.projector, problem.room.length
    written = {
        "screen.width": problem.screen.width,
        "screen.bezel": problem.screen.bezel,
        "screen.bottom": problem.screen.bottom,
        "screen.centre": problem.screen.centre,
        "baffle.depth": problem.baffle.depth,
        "baffle.width": problem.baffle.width,
        "projector.y": projector and projector.y,
        "projector.z": projector and projector.z,
        "loudspeakers.z": problem.loudspeakers.z,
        "loudspeakers.apart": problem.loudspeakers.apart,
        "platform.behind": problem.seating.platforms.behind,
    }.get(name)
    if isinstance(written, Range):
        return written.low, written.high
    if name == "projector.y" and isinstance(projector.behind, Range):
        return length + projector.behind.low, length + projector.behind.high
    return 0.0, problem.room.width if name == "screen.centre" else length
