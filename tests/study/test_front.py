"""Fronts are exact: a published example, every design of coarse grids, and what is promised of spacing."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from optimiser.design import Space, Steps
from optimiser.engine import EFFORT
from optimiser.errors import ImpossibleProblem, UsageError
from optimiser.forms import Least, Link, Linked, Sum, affine
from optimiser.linear import variable
from optimiser.problem.model import Choice, Fixed, Limit, Platforms
from optimiser.problem.read import loads
from optimiser.requirements import Bound
from optimiser.score import Scorer
from optimiser.sheet.fronts import alone_words, apart_words, print_front
from optimiser.solve import PROMISE, solve
from optimiser.study.aims import Sharp
from optimiser.study.front import front
from optimiser.study.ground import Ground
from optimiser.study.objectives import Objective, read_objective
from optimiser.study.oracle import Oracle
from optimiser.study.zones import INF, Question, find_front
from tests.study.rooms import STORE
from tests.support.effort import examples
from tests.support.enumeration import best, count, every
from tests.support.rooms import limit, small_room
from tests.support.strategies import FROM_ROW_2
from tests.test_optimum import KINDS, MANY, TWO_ROWS

# --- the published example ----------------------------------------------------------------------


class Plane(Space):
    """Two numbers and nothing of a room."""

    sense = ()

    def complete(self, values):
        return dict(values)


@pytest.fixture(scope="module")
def published():
    """Max x1 and 3 x1 + 4 x2; x1 <= 20, x2 <= 40, 5 x1 + 4 x2 <= 200: G. Mavrotas, Applied Mathematics
    and Computation 213 (2009) 455-465, as restated in the documents and tests of a program for the method."""
    x1, x2 = variable("x1"), variable("x2")
    domains = {"x1": Steps(0.25, 0, 80, True), "x2": Steps(0.0625, 0, 640, True)}
    space = Plane(0, 1.0, {}, domains, SimpleNamespace())
    roof = Bound(0, Limit("image_width", "all", None, 200.0), False, None, None, affine(x1 * 5.0 + x2 * 4.0))
    objectives = (Objective("image_width"), Objective("image_height"))
    aims = [Sharp(o, (affine(f),), None) for o, f in zip(objectives, (x1, x1 * 3.0 + x2 * 4.0))]
    return Oracle(objectives, [Ground(Scorer.of(space, [roof], ()), aims, EFFORT)])


def test_the_ends_of_the_published_example_are_lexicographic(published):
    """(20, 160) and (8, 184): raising x1 alone would stop anywhere from (20, 60) on."""
    found = find_front(lambda qs: [published.answer(q) for q in qs], 2, least=2, finest=published.finest)
    heights = [p.heights for p in found.points]
    assert heights[found.ends[0]] == pytest.approx((20.0, 160.0), abs=1e-9)
    assert heights[found.ends[1]] == pytest.approx((8.0, 184.0), abs=1e-9)


@pytest.mark.parametrize(("floor", "most"), [(160, 20), (166, 17), (172, 14), (178, 11), (184, 8)])
def test_the_published_grid_of_epsilons_gives_the_published_points(published, floor, most):
    answer = published.answer(Question((0, 1), (-INF, float(floor)), (8.0, 160.0), (20.0, 184.0)))
    assert answer.point.heights == pytest.approx((most, floor), abs=1e-9)
    assert most <= answer.ceiling < most + 0.01


def test_all_of_the_published_front_lies_on_its_line(published):
    found = find_front(lambda qs: [published.answer(q) for q in qs], 2, spacing=(0.2, 0.2), finest=published.finest)
    assert len(found.points) == 49  # x1 from 8 to 20 by quarters: x2 = (200 - 5 x1) / 4 is of its grid then
    assert all(x == pytest.approx(20.0 - (f - 160.0) / 2.0, abs=1e-9) for x, f in (p.heights for p in found.points))


def two_cuts() -> Ground:
    """The lesser of x1 and 10 - x1 as one objective, x1 as another."""
    x1, x2 = variable("x1"), variable("x2")
    space = Plane(0, 1.0, {}, {"x1": Steps(0.25, -4000, 80, True), "x2": Steps(1.0, 0, 3, True)}, SimpleNamespace())
    forms = Least((affine(x1), affine(10.0 - x1))), affine(x1 + x2)
    objectives = (Objective("image_width"), Objective("image_height"))
    return Ground(Scorer.of(space, (), ()), [Sharp(o, (f,), None) for o, f in zip(objectives, forms)], EFFORT)


def test_the_same_drive_is_the_same_in_each_branch():
    ground, models = two_cuts(), []
    for _ in range(3):
        branch = ground.branch([-INF, -INF])
        branch.model.maximize(ground.drive(branch, {0: 2.0}, [10.0, 10.0]))
        models.append(str(branch.model.proto))
    assert models[0] == models[1] == models[2]


def test_a_drive_rules_no_design_out():
    """x1 = -1000 is a thousand times what the objective is known to range over below where it is driven from."""
    ground = two_cuts()
    branch = ground.branch([-INF, -INF])
    branch.model.maximize(ground.drive(branch, {0: 2.0}, [1.0, 1.0]))
    branch.post(affine(variable("x1")).at_most(-1000.0), [])
    assert ground.ask(branch)["x1"] == -1000.0


def test_a_sum_of_forms_is_an_objective_like_any_other():
    """x1 + 4 sqrt(x2) against what x1 and x2 leave of a budget: 21 times 41 pairs, all tried."""
    x1, x2 = variable("x1"), variable("x2")
    root = Linked(affine(x2), Link(np.sqrt, np.square, low=0.0))
    space = Plane(0, 1.0, {}, {"x1": Steps(1.0, 0, 20, True), "x2": Steps(1.0, 0, 40, True)}, SimpleNamespace())
    forms = (Sum(((1.0, affine(x1)), (4.0, root))), affine(x1 * -5.0 + x2 * -4.0 + 260.0))
    objectives = (Objective("image_width"), Objective("image_height"))
    aims = [Sharp(o, (form,), None) for o, form in zip(objectives, forms)]
    oracle = Oracle(objectives, [Ground(Scorer.of(space, (), ()), aims, EFFORT)])
    found = find_front(lambda qs: [oracle.answer(q) for q in qs], 2, spacing=(1e-4, 1e-4), finest=oracle.finest)
    a, b = np.meshgrid(np.arange(21.0), np.arange(41.0))
    there = np.stack([a + 4.0 * np.sqrt(b), 260.0 - 5.0 * a - 4.0 * b], axis=-1).reshape(-1, 2)
    best = undominated(there)
    ours = np.array([p.heights for p in found.points])
    assert len(best) > 20
    for own, point in zip(ours, found.points):
        assert np.min(np.max(np.abs(there - own), axis=1)) < 1e-9
        better = np.all(there >= own, axis=1) & np.any(there > own + np.array(point.blur) + 1e-9, axis=1)
        assert not np.any(better), (own, there[better])
    for one in best:
        assert np.any(np.all(one < ours + 1e-4 + [found.excess, 0.0] + 1e-6, axis=1)), one


# --- against every design of a coarse grid ------------------------------------------------------


def tried(problem, grid, objectives) -> np.ndarray:
    """The heights of every design that holds all limits, by the formulas alone."""
    rows = []
    for some in every(problem, grid):
        parts = [o.sign * height(some, problem, o) for o in objectives]
        stacked = np.stack([np.broadcast_to(p, some.shape) for p in parts], axis=-1)
        rows.append(stacked[np.broadcast_to(some.good, some.shape)])
    return np.concatenate(rows) if rows else np.zeros((0, len(objectives)))


def height(some, problem, objective):
    judge, mesh = some.judge, some.mesh
    if objective.measure is None:
        return judge.score(mesh)
    if objective.goal is not None:
        return next(score for at, _, score in judge.goal_scores(mesh) if at == objective.goal)
    options = dict(objective.options)
    if objective.row == "all":
        return judge.value(objective.measure, mesh, **options)
    first = FROM_ROW_2.get(objective.measure, 1)
    numbers = {"reference": [judge.reference], "worst": range(first, some.rows + 1)}.get(objective.row)
    values = [judge.value(objective.measure, mesh, n, **options) for n in numbers or [int(objective.row)]]
    stacked = np.stack(np.broadcast_arrays(*values))
    return stacked.min(axis=0) if objective.raised else stacked.max(axis=0)


def hold_to_every_design(problem, grid, texts, **how):
    """A front against all designs there are: real, proven, apart, and nothing left out."""
    objectives = [read_objective(problem, t) for t in texts]
    found = front(problem, texts, grid=grid, **how)
    degrees = [180.0 / math.pi if o.kind == "angle" else 1.0 for o in objectives]
    signs = np.array([o.sign for o in objectives])
    there = tried(problem, grid, objectives) * degrees
    ours = np.array([p.values for p in found.points]) * signs
    slack = 1e-6 * np.array(degrees)
    for index, (own, point) in enumerate(zip(ours, found.points, strict=True)):
        apart = np.max(np.abs(there - own) / slack, axis=1)
        assert apart.min() < 10.0, (index, own)  # the formulas know such a design
        no_worse = np.all(there >= own, axis=1)
        better = np.any(there > own + np.array(point.proven) + slack, axis=1)
        assert not np.any(no_worse & better), (index, own, there[no_worse & better][:3])
    spacing = np.array(found.spacing)
    for i in range(len(ours)):
        for j in range(i):
            if {i, j} <= set(found.ends):
                continue  # ends are there however near to each other they lie
            assert np.any(np.abs(ours[i] - ours[j]) >= 0.99 * spacing), (ours[i], ours[j])
    excess = np.zeros(len(objectives))
    excess[next((k for k, o in enumerate(objectives) if o.measure is None), 0)] = found.summary["excess"]
    assert found.summary["complete"]
    left_out = there
    for own in ours:
        left_out = left_out[~np.all(left_out < own + spacing + excess + slack, axis=1)]
    assert not len(left_out), left_out[:3]
    for k, end in enumerate(found.ends):
        assert there[:, k].max() <= ours[end, k] + found.points[end].proven[k] + slack[k]
    return found, there, ours


def undominated(there: np.ndarray) -> np.ndarray:
    """The different heights that no others beat: a few good ones first, then by comparing all with all."""
    unique = np.unique(np.round(there, 9), axis=0)
    for weights in np.random.default_rng(1).random((300, unique.shape[1])):
        good = unique[int(np.argmax(unique @ weights))]
        unique = unique[~(np.all(unique <= good, axis=1) & np.any(unique < good, axis=1))]
    beaten = np.array([np.any(np.all(unique >= u, axis=1) & np.any(unique > u, axis=1)) for u in unique])
    return unique[~beaten]


BASE = small_room()


@pytest.mark.parametrize(
    ("problem", "grid", "texts"),
    [
        (BASE, 0.1, ["image_width", "upward_angle:lower"]),
        (BASE, 0.1, ["horizontal_angle", "length_fraction"]),
        (BASE, 0.1, ["length_fraction:closeness", "pixels_per_degree:lower"]),
        (TWO_ROWS, 0.2, ["sightline_clearance[row=2]", "platform_height[row=2]:lower"]),
        (TWO_ROWS, 0.2, ["image_width", "upward_angle[row=worst]:lower", "rear_wall_distance[row=2]"]),
        (TWO_ROWS, 0.2, ["horizontal_angle[row=1]:lower", "row_pitch", "midpoint_offset[row=worst]"]),
    ],
    ids=lambda v: " ".join(v) if isinstance(v, list) else None,
)
def test_with_a_fine_spacing_it_is_the_whole_front(problem, grid, texts):
    assert count(problem, grid) < MANY
    fine = {t: 1e-5 for t in texts}
    found, there, ours = hold_to_every_design(problem, grid, texts, spacing=fine)
    assert len(ours) > 1
    whole = undominated(there)
    apart = np.max(np.abs(whole[:, None, :] - ours[None, :, :]), axis=2)
    assert apart.min(axis=1).max() < 2e-3  # degrees; each point of the whole front is there, or one beside it
    assert apart.min(axis=0).max() < 2e-3


def test_an_end_is_there_that_the_first_spacing_would_have_left_out():
    """The least angle has less than a third of the range more of anything than the end with the widest image."""
    problem, grid = KINDS["a panel, off the middle, and the worst seat"]
    texts = ["image_width", "horizontal_angle:lower", "length_fraction:lower"]
    found, there, ours = hold_to_every_design(problem, grid, texts, points=12)
    assert ours[found.ends[1], 1] == pytest.approx(there[:, 1].max(), abs=1e-6)


def test_the_ends_are_there_though_they_lie_nearer_to_each_other_than_the_spacing():
    texts = ["image_width", "upward_angle:lower"]
    found, there, ours = hold_to_every_design(BASE, 0.1, texts, spacing={"image_width": 9.0, "upward_angle": 1.5})
    assert found.ends == (0, 1) and len(ours) == 2
    assert np.all(np.abs(ours[0] - ours[1]) < found.spacing)
    assert "unless both are ends" in apart_words(found)
    assert "unless" not in apart_words(front(BASE, texts, points=5))


@pytest.mark.parametrize(
    "texts",
    [
        ["score", "rear_wall_distance[row=2]"],
        ["image_width", "score"],
        ["midpoint_offset:closeness", "upward_angle:closeness"],
        ["score", "upward_angle:closeness"],
        ["score", "midpoint_offset:closeness"],
        ["midpoint_offset:closeness", "upward_angle:closeness", "score"],
        ["score", "sightline_clearance[row=2]", "upward_angle[row=1]:lower"],
    ],
    ids=" ".join,
)
def test_scores_and_means_over_rows_are_proven_to_what_is_stated(texts):
    hold_to_every_design(TWO_ROWS, 0.2, texts, points=8)


def test_of_one_design_that_has_the_most_of_both_it_is_told_how_closely_that_is_proven():
    """A score is proven to half a point: another design may still have so much more, and less of the other."""
    found, _, _ = hold_to_every_design(TWO_ROWS, 0.2, ["score", "seat_count:closeness"], points=4)
    assert len(found.points) == 1
    words = alone_words(found)
    assert "by more than is told apart" in words
    assert words.endswith("has, to within 0.5 points in score and 1 % in closeness of seat count.")
    # of all there is nothing has more, and a millionth of a metre nobody asks about
    full = alone_words(front(BASE, ["score", "image_width:closeness"], grid=0.1))
    exact = alone_words(front(BASE, ["image_width", "image_height"], grid=0.1))
    assert "told apart" not in full + exact and full.endswith("image width that any design has.")


@pytest.mark.parametrize(
    ("problem", "grid", "texts"),
    [(BASE, 0.1, ["image_width", "image_height"]), (TWO_ROWS, 0.2, ["image_width", "platform_height[row=2]:lower"])],
    ids=lambda v: " ".join(v) if isinstance(v, list) else None,
)
def test_each_design_can_be_the_best_scoring_at_its_point(problem, grid, texts):
    """Against every design with the same values."""
    score = read_objective(problem, "score")
    objectives = [read_objective(problem, t) for t in texts]
    scale = np.array([180.0 / math.pi if o.kind == "angle" else 1.0 for o in objectives])
    every_one = tried(problem, grid, [*objectives, score])
    there, scores = every_one[:, :-1] * scale, every_one[:, -1]
    any_, best_ = (front(problem, texts, grid=grid, points=8, best_scoring=wanted) for wanted in (False, True))
    assert [p.values for p in best_.points] == [pytest.approx(p.values, abs=1e-6) for p in any_.points]
    signs = np.array([o.sign for o in objectives])
    for point in best_.points:
        same = np.all(there >= np.array(point.values) * signs - 1e-7, axis=1)
        assert same.any() and point.scored is not None
        assert scores[same].max() <= point.scored + 1e-6 <= point.score + PROMISE + 2e-6
        assert point.score <= scores[same].max() + 1e-6
    assert sum(p.score for p in best_.points) > sum(p.score for p in any_.points)
    assert all(p.scored is None for p in any_.points)


POOL = (
    "image_width",
    "horizontal_angle:lower",
    "upward_angle[row=worst]:lower",
    "listening_distance",
    "length_fraction:lower",
    "rear_wall_distance",
    "midpoint_offset[row=worst]",
    "door_clearance",
    "off_axis_angle[row=worst]:lower",
    "mode_level[row=reference,order=2,axis=length]:lower",
    "pixels_per_degree",
    "horizontal_angle:closeness",
)
"""Objectives that most rooms have."""


@examples(5)
@given(st.sampled_from(sorted(KINDS)), st.lists(st.sampled_from(POOL), min_size=2, max_size=3, unique=True))
def test_fronts_of_many_kinds_of_room_hold_to_every_design(kind, texts):
    problem, grid = KINDS[kind]
    try:
        hold_to_every_design(problem, max(grid, 0.1), texts, points=12)
    except UsageError as error:  # the room has no such door, goal or row, or several such goals
        assert "nothing bounds it" in str(error) or "goal" in str(error) or "has all of these" in str(error)
    except ImpossibleProblem:
        assert best(problem, max(grid, 0.1)).score is None


# --- what is promised, and what is refused ------------------------------------------------------


@pytest.mark.parametrize("text", ["mode_level[order=2,row=1]", "mode_level[1,order=2]"])
def test_a_row_is_known_by_its_number_alone(text):
    """As wishes have it: what stands alone in the brackets is a row."""
    found = read_objective(BASE, text)
    assert (found.row, dict(found.options)["order"]) == ("1", 2)


def test_objectives_that_do_not_pull_give_one_point():
    found = front(BASE, ["image_width", "image_height"], grid=0.05)
    assert len(found.points) == 1 and found.ends == (0, 0) and found.knees == ()


def test_a_spacing_asked_for_is_kept_and_the_rest_is_chosen():
    found = front(BASE, ["image_width", "upward_angle:lower"], spacing={"image_width": "25 cm"}, points=3)
    widths = [p.values[0] for p in found.points]
    assert found.spacing[0] == pytest.approx(0.25)
    assert widths == sorted(widths, reverse=True)


def test_more_points_come_of_a_finer_spacing():
    few, many = (front(BASE, ["image_width", "upward_angle:lower"], points=n) for n in (5, 60))
    assert len(few.points) >= 5 and len(many.points) >= 60
    assert all(a <= b for a, b in zip(many.spacing, few.spacing))


KINDS_OF_SCREEN = STORE.replace(
    'screen: {aspect: "16:9", width: 2.4 m, bezel: 50 mm, bottom: 0.7 m, pixels: 3840}',
    'screens: [{type: projected, aspect: "16:9", width: {from: 2 m, to: 2.4 m}, bezel: 50 mm, bottom: 0.7 m},'
    " {type: panel, diagonal: 2 m, bezel: 10 mm, bottom: 0.8 m}]",
).replace("seating:\n", "projector: {y: 4 m, z: 2.3 m, lumens: 1500, throw_ratio: [1.2, 2.2]}\nseating:\n")


def test_designs_that_an_objective_is_not_about_are_said_to_be_left_out():
    """A panel throws no light from anywhere: all of them are left out, and no number of rows is."""
    found = front(loads(KINDS_OF_SCREEN), ["throw_ratio", "image_width"], grid=0.1)
    assert found.summary["left_out"] == 1 and {p.design["screen.type"] for p in found.points} == {"projected"}
    out = io.StringIO()
    print_front(Console(file=out, width=200), found)
    assert "their kind of screen, are left out" in out.getvalue()


@pytest.mark.parametrize(("angle", "same"), [(30.0, True), (30.4, False)])
def test_values_that_differ_in_the_table_are_not_said_to_be_the_same(angle, same):
    """Two designs whose angles of 30 and 30.4 degrees lie within what is proven of them, half a degree."""
    found = front(BASE, ["image_width", "upward_angle:lower"], points=5)
    first, *_, last = found.points
    points = [replace(one, values=(one.values[0], at), proven=(0.0, 0.5)) for one, at in ((first, 30.0), (last, angle))]
    summary = {**found.summary, "ends": [0, 1], "knees": []}
    header = {**found.header, "finished": summary}
    out = io.StringIO()
    print_front(Console(file=out, width=200), replace(found, points=tuple(points), header=header))
    assert ("All have the same upward angle" in out.getvalue()) == same
    assert ("In upward angle, reference row they differ by no more than" in out.getvalue()) == (not same)


def test_where_only_designs_without_an_objective_are_possible_no_limits_are_blamed():
    """The panel's image is 1.74 m wide, the projected ones 2 m at least."""
    problem = loads(KINDS_OF_SCREEN.replace("limits:\n", "limits:\n  - {measure: image_width, at_most: 1.9 m}\n"))
    assert solve(problem, grid=0.1).design is not None
    with pytest.raises(UsageError, match="no design that has all of these holds all limits"):
        front(problem, ["throw_ratio", "image_width"], grid=0.1)


@pytest.mark.parametrize("text", ["door_clearance", "door_clearance:lower"])
def test_how_far_the_only_door_is_where_there_is_none_has_no_end(text):
    bare = replace(BASE, room=replace(BASE.room, doors=()))
    for texts in ([text, "image_width"], ["image_width", text]):
        with pytest.raises(UsageError, match="nothing bounds it"):
            front(bare, texts, grid=0.1)


@pytest.mark.parametrize("lowered_first", [True, False])
def test_what_has_no_end_only_where_there_are_no_steps_is_not_called_endless(lowered_first):
    """The most headroom over row 2 is on the floor, which takes no steps: how far they are from the door has no end
    there. On 0.3 m it has: there is then 0.3 m less of the room's height over the row."""
    place = ("row2.platform", Choice((0.0, 0.3), ("0 m", "0.3 m")))
    room = replace(TWO_ROWS.room, doors=BASE.room.doors)
    stepped = replace(TWO_ROWS, room=room, limits=(), seating=replace(TWO_ROWS.seating, place=(place,)))
    texts = ["standing_headroom[row=2]", "door_to_step[row=2]:lower"]
    texts = texts[::-1] if lowered_first else texts
    with pytest.raises(UsageError, match=r"no end in some of the designs .* a limit on it \(at_most\)"):
        front(stepped, texts, grid=0.2, points=4)
    # no step is farther from the door than the room is long
    ended = replace(stepped, limits=(Limit("door_to_step", "2", None, room.length),))
    (point,) = front(ended, texts, grid=0.2, points=4).points
    assert dict(zip(texts, point.values))[texts[lowered_first]] == pytest.approx(room.height - 0.3)


def test_the_stride_of_steps_has_an_end_though_level_rows_have_none():
    """The least is 10 mm in three risers, twice that and a tread of 280 mm, whatever is beside it."""
    platforms = Platforms(0.01, 0.35, Fixed(0.0), 3, going=0.28)
    risen = replace(TWO_ROWS, limits=(), seating=replace(TWO_ROWS.seating, platforms=platforms))
    (point,) = front(risen, ["image_width", "walking_line[row=2]:lower"], grid=0.2, points=4).points
    assert point.values[1] == pytest.approx(2 * 0.01 / 3 + 0.28)


def test_a_mean_over_rows_is_an_objective_where_there_may_be_one_row_or_two():
    """With one row it is that row's score, which the solver knows exactly; with two a sum of levels."""
    some = replace(TWO_ROWS, seating=replace(TWO_ROWS.seating, rows=(1, 2)))
    found, _, _ = hold_to_every_design(some, 0.2, ["upward_angle:closeness", "horizontal_angle[row=1]"], points=6)
    assert len(found.points) > 1
    with pytest.raises(UsageError, match="not beside upward_angle"):
        front(some, ["upward_angle:closeness", "image_width"], grid=0.2, best_scoring=True)


def test_a_room_in_which_nothing_fits_has_no_front():
    with pytest.raises(ImpossibleProblem, match="no design holds all limits"):
        front(small_room(limits=(limit("listening_distance", 9.0),)), ["image_width", "horizontal_angle"])


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        (["image_width"], "two objectives or three"),
        (["image_width", "image_width:lower"], "twice"),
        (["image_with", "score"], "did you mean 'image_width'"),
        (["image_width", "listening_distance:closeness"], "no such goal"),
        (["image_width", "score:lower"], "there to be raised"),
        (["image_width", "horizontal_angle[3]"], "row is reference, worst or a number from 1 to 1"),
        (["image_width", "horizontal_angle[1,row=1]"], "each once"),
        (["image_width", "horizontal_angle[row=3]"], "row is reference, worst or a number from 1 to 1"),
        (["image_width[row=1]", "score"], "leave row out"),
        (["image_width", "mode_level[order=9]"], "'9' is no order: write 1, 2, 3 or 4"),
        (["image_width", "mode_level[ordr=1]"], "did you mean 'order'"),
        (["image_width", "horizontal_angle["], "should read like"),
        (["image_width", "horizontal_angle:up"], "unknown ':up'"),
    ],
    ids=lambda v: " ".join(v) if isinstance(v, list) else None,
)
def test_what_is_no_objective_is_refused_with_a_remedy(texts, words):
    with pytest.raises(UsageError, match="(?s)" + words.replace("[", r"\[").replace("(", r"\(")):
        front(BASE, texts)


@pytest.mark.parametrize("between", [["image_width", "guard_sightline"], ["guard_sightline:lower", "score"]])
def test_what_an_objective_needs_of_the_file_is_told_without_a_place_in_it(between):
    """The call is at fault, and no line of the file; UsageError is told with exit code 2."""
    with pytest.raises(UsageError) as told:
        front(BASE, between)
    assert str(told.value) == (
        "guard_sightline needs seating.guard, which the file does not give: add seating.guard to the file, or ask for another "
        "measure"
    )
    assert told.value.exit_code == 2


def test_a_call_that_is_refused_leaves_the_files_as_they_are(tmp_path):
    """Neither is a file begun that the mended call would find in its way, nor one given up that is to be overwritten."""
    path = tmp_path / "front.jsonl"
    for before in (None, "kept\n"):
        if before is not None:
            path.write_text(before, encoding="utf-8")
        with pytest.raises(UsageError, match=r"needs seating\.guard"):
            front(BASE, ["image_width", "guard_sightline"], out=path, text=STORE, overwrite=True)
        assert (path.read_text(encoding="utf-8") if path.exists() else None) == before


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ({"spacing": {"score": 1.0}}, "none of the objectives"),
        ({"spacing": {"image_width": "0 cm"}}, "more than nothing"),
        ({"spacing": {"image_width": "12"}}, "spacing of image_width"),
        ({"points": 1}, "two points"),
        ({"out": "front.jsonl"}, "text of its problem file"),
        ({"between": ["score", "image_width"], "best_scoring": True}, "between measures, not beside score"),
    ],
)
def test_calls_that_make_no_sense_are_refused(how, words):
    with pytest.raises(UsageError, match=words):
        front(BASE, **{"between": ["image_width", "upward_angle:lower"], **how})
