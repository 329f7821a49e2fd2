"""Ranges of weights against every design of small rooms, and against solves at weights inside and outside."""

import json

import numpy as np
import pytest
from click.testing import CliRunner
from rooms import GRID, ONE_ROW, allowed, changed, one_row, two_rows

from optimiser.cli import program
from optimiser.errors import UsageError
from optimiser.explain.taste import FAR, taste_of, with_weight
from optimiser.requirements import targets
from optimiser.score import Scorer, combined, goal_score
from optimiser.search import MARGIN
from optimiser.solve import PROMISE, solve

LOSS = 1.0
PULLED = {
    "rear_wall_distance, at_least: 0.9 m": "rear_wall_distance, at_least: 2.0 m",
    "goals:\n": "goals:\n  - {measure: upward_angle, at_most: 10 deg, fade: 25 deg, weight: 2}\n"
    "  - {measure: image_height, at_most: 1.4 m, fade: 0.6 m, weight: 2}\n",
}  # a large image against one that is easy to look up to
PLACES = "place: {row1.y: {from: 2.6 m, to: 3.4 m}, row2.y: {from: 4.2 m, to: 5.6 m}}\n  platform: {step"
EITHER = {
    "rows: 2": "rows: {from: 1, to: 2}\n  reference_row: 1",
    "platform: {step": PLACES,
    "goals:\n": "goals:\n  - {measure: horizontal_angle, row: 2, at_least: 38 deg, fade: 12 deg, weight: 3}\n",
}  # one row or two, with a goal that one row does not have


def pulled_row():
    return one_row(text=PULLED)


def either():
    return two_rows(text=EITHER)


ROOMS = {"one row": pulled_row, "two rows": lambda: two_rows(text={"platform: {step": PLACES}), "either": either}


@pytest.fixture(scope="module", params=ROOMS)
def leaning(request):
    problem = ROOMS[request.param]()
    best = solve(problem, grid=GRID)
    return problem, best, taste_of(problem, best, loss=LOSS)


def goal_scores(problem):
    """Of every design that holds all limits: each goal's score (0 to 1), NaN where it does not count."""
    rows = []
    for space, designs, scores in allowed(problem):
        found = np.full((len(problem.goals), len(scores)), np.nan)
        for target in targets(problem, space):
            with np.errstate(all="ignore"):
                each = [goal_score(target.goal, form.value(designs)) for form in target.forms]
            found[target.index] = np.broadcast_to(combined(each, target.worst), scores.shape)
        rows.append(found)
    return np.concatenate(rows, axis=1)


def weighed(scores, weights):
    """Scores of all designs under weights."""
    counts = ~np.isnan(scores)
    weights = np.asarray(weights)[:, None]
    return 100.0 * np.nansum(scores * weights, axis=0) / np.sum(counts * weights, axis=0)


def own_scores(problem, best):
    found = np.full((len(problem.goals), 1), np.nan)
    for result in best.card.goals:
        found[result.index] = result.score
    return found


def test_inside_no_design_is_better_by_more_and_beyond_one_is(leaning):
    problem, best, found = leaning
    every, own = goal_scores(problem), own_scores(problem, best)
    weights = [goal.weight for goal in problem.goals]
    assert len(found) == len(best.card.goals)
    ends = 0

    def lead(index, weight):
        changed = [*weights[:index], weight, *weights[index + 1 :]]
        return float(weighed(every, changed).max() - weighed(own, changed)[0])

    for one in found:
        assert one.low.weight <= one.goal.weight <= one.high.weight
        assert one.low.settled and one.high.settled
        for weight in np.geomspace(one.low.weight, one.high.weight, 25):
            assert lead(one.index, weight) <= LOSS + 1e-6, (one.goal, weight)
        for end, farthest in ((one.low, one.goal.weight / FAR), (one.high, one.goal.weight * FAR)):
            if end.beyond is None:
                assert end.weight == pytest.approx(farthest)
                continue
            ends += 1
            outward = end.beyond * (0.999 if end is one.low else 1.001)
            assert lead(one.index, outward) > LOSS - 1e-6
            # what is left open between the two is little: the lead there is near the loss
            assert lead(one.index, end.weight) >= LOSS - 0.35
            # and the design that is told of is one that leads
            card = Scorer(with_weight(problem, one.index, outward), end.space).card(end.design)
            mine = Scorer(with_weight(problem, one.index, outward), best.space).card(best.design)
            assert not card.broken and card.score - mine.score > LOSS - 1e-3
    assert ends >= 2  # else the test would show little


def test_solving_again_at_weights_inside_and_outside_says_the_same(leaning):
    problem, best, found = leaning
    narrow = found[0]
    for end, out in ((narrow.low, 0.97), (narrow.high, 1.03)):
        there = with_weight(problem, narrow.index, end.weight)
        again = solve(there, grid=GRID)
        assert again.score - Scorer(there, best.space).card(best.design).score <= LOSS + 1e-6
        if end.beyond is not None:
            there = with_weight(problem, narrow.index, end.beyond * out)
            again = solve(there, grid=GRID)
            assert again.score - Scorer(there, best.space).card(best.design).score > LOSS - PROMISE


def test_more_loss_gives_more_room(leaning):
    problem, best, found = leaning
    wide = {one.index: one for one in taste_of(problem, best, loss=3.0)}
    for one in found:
        assert wide[one.index].low.weight <= one.low.weight + 1e-9
        assert wide[one.index].high.weight >= one.high.weight - 1e-9


def test_the_narrowest_comes_first(leaning):
    _, _, found = leaning
    widths = [one.high.weight / one.low.weight for one in found]
    assert widths == sorted(widths)


def test_less_than_the_proof_leaves_open_is_refused():
    problem = pulled_row()
    best = solve(problem, grid=GRID)
    assert 0.0 < best.gap <= MARGIN + 1e-9
    with pytest.raises(UsageError, match="proven to within"):
        taste_of(problem, best, loss=0.5 * best.gap)


def test_the_command_says_what_is_proven(tmp_path):
    path = tmp_path / "room.yaml"
    path.write_text(changed(ONE_ROW, {"text": PULLED}))
    told = CliRunner().invoke(program, ["taste", str(path), "--grid", "10 cm"])
    assert told.exit_code == 0, told.output
    words = " ".join(told.output.split())
    assert "Proven: with one weight anywhere from 'from' to 'to', or within that, and the others as they are" in words
    assert "another design is more than 1 better" in words
    assert "What pulls" in words
    record = json.loads(CliRunner().invoke(program, ["taste", str(path), "--grid", "10 cm", "--json"]).output)
    for one in record["weights"]:
        assert one["low"]["proven_to"] <= one["weight"] <= one["high"]["proven_to"]
        assert (one["low"]["that_design"] is None) == (one["low"]["another_is_better_beyond"] is None)


def test_another_design_differs_in_nothing_that_no_goal_asks_for():
    """Ears are at 1.1 m, where loudspeakers hang that no goal speaks of: ITU-R BS.775-3, Fig. 1, has them there."""
    heard = {
        "           bottom: {from: 0.5 m, to: 0.8 m}}\n": "           bottom: {from: 0.5 m, to: 0.8 m}}\n"
        "  loudspeakers: {z: {from: 0.8 m, to: 1.6 m}}\n"
    }
    problem = one_row(text=PULLED | heard)
    best = solve(problem, grid=GRID)
    others = [end.design for one in taste_of(problem, best, loss=LOSS) for end in (one.low, one.high) if end.design]
    assert len(others) >= 2
    assert [one["loudspeakers.z"] for one in (best.design, *others)] == pytest.approx([1.1] * (1 + len(others)))
