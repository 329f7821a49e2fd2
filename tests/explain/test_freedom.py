"""Freedom against every design of small rooms looked at."""

import json
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner
from rooms import GRID, ONE_ROW, allowed, one_row, two_rows

from optimiser.cli import program
from optimiser.design import spaces
from optimiser.errors import UsageError
from optimiser.explain.freedom import distance, form_of, freedom_of
from optimiser.explain.sayings import scope_words, subject_name
from optimiser.problem.read import loads
from optimiser.score import Scorer
from optimiser.search import MARGIN
from optimiser.solve import solve

LOSSES = (1.0, 5.0)


@pytest.fixture(scope="module", params=[one_row, two_rows], ids=["one row", "two rows"])
def free(request):
    problem = request.param()
    best = solve(problem, grid=GRID)
    (_, designs, scores), *_ = allowed(problem)
    return problem, best, freedom_of(problem, best, losses=LOSSES), designs, scores


def test_every_range_is_that_of_all_designs_near_the_best(free):
    _, best, freedom, designs, scores = free
    assert len(freedom.scopes) > 12
    for group in freedom.scopes:
        form = form_of(best.space, group[0].subject)
        with np.errstate(all="ignore"):
            values = np.broadcast_to(form.value(designs), scores.shape)
        for scope in group:
            assert scope.settled
            assert scope.at_best == pytest.approx(float(form.value(best.design)), abs=1e-9)
            floor = best.score - scope.loss
            certain, possible = values[scores >= floor + 0.1], values[scores >= floor - MARGIN - 1e-9]
            exact = values[scores >= floor]
            name = scope.subject.name
            # no farther than designs that score so go, and as far as those that score a hair more
            assert possible.min() - 1e-6 <= scope.low <= certain.min() + 1e-3, name
            assert certain.max() - 1e-3 <= scope.high <= possible.max() + 1e-6, name
            # and what is proven holds for every design
            assert scope.low_bound <= exact.min() + 1e-6 and scope.high_bound >= exact.max() - 1e-6, name
            assert scope.low_bound <= scope.low + 1e-9 and scope.high_bound >= scope.high - 1e-9
            if scope.choices:
                assert set(np.unique(certain)) <= set(scope.choices) <= set(np.unique(possible)), name


def test_more_loss_gives_more_freedom(free):
    _, _, freedom, _, _ = free
    for narrow, wide in freedom.scopes:
        assert wide.low <= narrow.low + 1e-6 and wide.high >= narrow.high - 1e-6


def test_designs_that_differ_are_as_good_and_apart(free):
    problem, best, freedom, designs, scores = free
    assert freedom.others
    spans = {g[0].subject.name: g[0].high - g[0].low for g in freedom.scopes if not g[0].subject.measure}
    spans = {name: span for name, span in spans.items() if span > 1e-9}
    seen = [best.design]
    near = scores >= best.score - freedom.loss
    for other in freedom.others:
        card = Scorer(problem, other.space).card(other.design)
        assert not card.broken
        assert card.score == pytest.approx(other.score) and other.score >= best.score - freedom.loss - MARGIN - 1e-9
        assert other.distance == pytest.approx(min(distance(other.design, d, spans) for d in seen))
        apart = np.min([sum(np.abs(designs[n] - d[n]) / s for n, s in spans.items()) for d in seen], axis=0)
        assert apart[near].max() <= other.farthest + 1e-6
        assert other.distance > 0.0
        seen.append(other.design)
    first = freedom.others[0]
    apart = sum(np.abs(designs[n] - best.design[n]) / s for n, s in spans.items())
    assert first.distance >= 0.9 * apart[near].max()


def test_every_measure_can_be_asked_for():
    problem = one_row()
    best = solve(problem, grid=GRID)
    few, many = freedom_of(problem, best, others=0), freedom_of(problem, best, every=True, others=0)
    assert {g[0].subject.name for g in few.scopes} < {g[0].subject.name for g in many.scopes}
    assert "baffle_width" in {g[0].subject.name for g in many.scopes}
    assert not many.others


def test_the_space_is_the_best_designs_own():
    """Spaces that differ in nothing but where the bass loudspeakers stand are told apart."""
    bass = (
        "bass: {arrangement: {choose: [front_pair, one_corner, four_corners]}, height: 0.3 m}\nseating:\n",
        "  - {measure: deepest_dip, row: all, at_most: 3 dB, fade: 12 dB, weight: 4}\n",
    )
    problem = loads(ONE_ROW.replace("seating:\n", bass[0]) + bass[1])
    best = solve(problem, grid=GRID)
    others = [s for s in spaces(problem, grid=GRID) if s.settled != best.space.settled]
    assert others[0].settled["bass.arrangement"] < best.space.settled["bass.arrangement"]  # not the first of them
    freedom = freedom_of(problem, best, others=0)
    for (scope,) in freedom.scopes:
        assert scope.settled and scope.low <= scope.at_best <= scope.high


def test_an_impossible_problem_has_no_freedom():
    problem = one_row(text={"at_least: 2.2 m": "at_least: 4.2 m"})
    with pytest.raises(UsageError, match="an impossible problem has no freedom"):
        freedom_of(problem, solve(problem, grid=GRID))


def test_words(free):
    problem, _, freedom, _, _ = free
    by_name = {subject_name(g[0].subject): scope_words(problem, g[0]) for g in freedom.scopes}
    width = next(g[0] for g in freedom.scopes if g[0].subject.name == "screen.width")
    assert by_name["image width"].startswith(f"{width.low:.3f} m")
    assert any(name.startswith("horizontal angle, row 1") for name in by_name)
    assert "perhaps" not in by_name["image width"]
    given_up = replace(width, low_bound=width.low - 0.5, high_bound=width.high + 0.25)
    beyond = f"perhaps {width.low - 0.5:.3f} m to {width.high + 0.25:.3f} m"
    assert scope_words(problem, given_up) == f"{width.low:.3f} m to {width.high:.3f} m, {beyond}"


class TestCommand:
    def run(self, tmp_path, *words):
        path = tmp_path / "den.yaml"
        path.write_text(ONE_ROW, encoding="utf-8")
        words = ["freedom", str(path), "--grid", "10 cm", *words]
        return CliRunner().invoke(program, words, standalone_mode=False, catch_exceptions=False).output

    def test_table(self, tmp_path):
        text = self.run(tmp_path, "--within", "1", "--within", "5")
        assert "within 1 point" in text and "within 5 points" in text
        assert "Designs within 1 point that differ" in text
        assert "row 1, ears from the front wall" in text

    def test_record(self, tmp_path):
        record = json.loads(self.run(tmp_path, "--json", "--others", "1"))
        scope = next(s for s in record["scopes"] if s["decision"] == "screen.width")
        (within,) = scope["within"]
        assert within["proven_from"] <= within["from"] <= scope["at_best"] <= within["to"] <= within["proven_to"]
        assert len(record["others"]) == 1
