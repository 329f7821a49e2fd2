"""How far a form can be raised or lowered in a space, with a design that gets there and a proof.

Where a design is known that may be out farthest, the solver is asked whether any goes beyond it.
Where none is, or one does: an affine form is counted by the solver itself, and any other is put on a
gauge between a value that a design has and one that none passes, and the gauge is narrowed until the
two meet.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from optimiser.boxes import LARGEST, Boxes
from optimiser.climb import Ground, outermost
from optimiser.compile import LEVELS, Compiled
from optimiser.design import Domain, Space
from optimiser.engine import EFFORT, PIECES, ask_for, decide, run
from optimiser.errors import OptimiserError
from optimiser.forms import Condition, Form, Quotient
from optimiser.linear import Linear
from optimiser.requirements import Bound, Target
from optimiser.score import TOLERANCE, Scorer
from optimiser.search import MARGIN

CLOSE = 1e-6
"""SI units between a value had and a value proven out of reach at which both count as the same."""

BEYOND = 1e6
"""A value that only forms without any bound pass."""

TRIES = 4
"""How often to ask for a little more score, where the solver's estimate of it was a little high."""

BRIEFLY = 0.05
"""Deterministic seconds in which most ends are shown, with little said about products."""

HAIR = 1e-9
"""Points that are rounding."""

ENOUGH = MARGIN
"""Points by which a score may be short and still count as enough: the best itself is known no better."""


SOON = 0.5
"""Deterministic seconds for whether any design reaches an edge, where no score has to be kept."""

CHILDREN = 200
"""Designs tried in each round from a single one that goes far."""

NO_FARTHER = 0.02
"""Share of one decision's freedom by which a design must be farther from others to count as a step on the way."""

AGAIN = 3
"""How often to ask whether any design goes beyond the farthest known."""

CLIMB = 0.5
"""Share of how closely an end is to be known that counts as a step on the way to it."""

WIDER = (4.0, 16.0)
"""How much farther out the bound is then looked for."""

BOXES = 40
"""Boxes of an ordinary model that are looked into, of the designs that score enough, before anything is asked about them."""

PARTS = 500
"""Parts of a gauge: with many the solver takes long over each of its answers, with few there must be more of them."""


class Unsettled(OptimiserError):
    """The solver gave up before it had either a design or a proof."""


@dataclass(frozen=True)
class Reached:
    """``value`` is what ``design`` has, exactly; no design of the space passes ``bound``."""

    value: float
    bound: float
    space: Space
    design: Mapping[str, float]


def narrowed(space: Space, bounds: Sequence[Bound], targets: Sequence[Target], floor: float) -> dict[str, Domain]:
    """The domains of the decisions in which the designs lie together that score at least so many points, as far as a
    few boxes tell."""
    compiled = Compiled(space, bounds, Scorer.of(space, bounds, targets).targets, levels=LEVELS, least=floor)
    if compiled.size > LARGEST:
        return dict(space.domains)
    boxes = Boxes(compiled)
    while boxes.more and boxes.count < BOXES / boxes.cost:
        boxes.look(oldest=True)
    return boxes.hull if boxes.left else dict(compiled.domains)


class Reach:
    """A space under limits, and with ``floor`` only designs that score at least so many points: what
    its designs can reach. The model is made once and asked many times; ``effort`` is each question's, ``budget`` that of
    all together, of which ``left`` is what remains (deterministic seconds). ``domains``: what is known of where the
    designs lie that score so much, if it is known already."""

    def __init__(
        self,
        space: Space,
        bounds: Sequence[Bound],
        targets: Sequence[Target] = (),
        *,
        floor: float | None = None,
        effort: float = EFFORT,
        budget: float = math.inf,
        domains: Mapping[str, Domain] | None = None,
    ) -> None:
        self.space = space
        self.effort = effort
        self.left = budget
        self.floor = floor
        self._scorer = Scorer.of(space, bounds, targets if floor is not None else ())
        # with a score to keep, most of a proof goes into products
        pieces = 1 if floor is None else PIECES
        if floor is not None:
            domains = narrowed(space, bounds, targets, floor) if domains is None else domains
            space = replace(space, domains=dict(domains))
        self._plain = Compiled(space, bounds, self._scorer.targets, levels=LEVELS, least=floor)
        self._base = self._plain
        if pieces > 1:
            self._base = Compiled(space, bounds, self._scorer.targets, levels=LEVELS, least=floor, pieces=pieces)
        self._seen: dict[str, list[float]] = {}
        self.known_count = 0

    def limited(self, measure: str, row: int | None, options: tuple[tuple[str, object], ...]) -> tuple[float, float]:
        """Between what the limits on a measure itself let it be, to within what they may be missed by."""
        low, high = -math.inf, math.inf
        for bound in self._scorer.bounds:
            if (bound.measure.name, bound.row, bound.limit.options, bound.seat) == (measure, row, options, None):
                low = max(low, -math.inf if bound.limit.at_least is None else bound.limit.at_least - TOLERANCE)
                high = min(high, math.inf if bound.limit.at_most is None else bound.limit.at_most + TOLERANCE)
        return low, high

    def known(self, design: Mapping[str, float]) -> None:
        """Tell of a design that the space has and that holds its limits; kept if it scores enough."""
        if self._short(design) <= ENOUGH:
            for name, value in design.items():
                self._seen.setdefault(name, []).append(value)
            self.known_count += 1

    def extreme(self, form: Form, *, greatest: bool, close: float = CLOSE) -> Reached | None:
        """The greatest (or least) value of a form, with the bound known to within ``close``; None where
        the space has no design. Infinite where designs exist that nothing bounds. Raises Unsettled.

        With a floor the design scores that much to within ENOUGH, and nothing that scores so much
        passes the bound, which may lie a little beyond the value.
        """
        outer = self._asked(form, greatest, self.floor, close)
        if outer is None:
            return None
        asked, inner = self.floor, outer
        for _ in range(TRIES):
            short = self._short(inner.design)
            if short <= ENOUGH:
                break
            asked += 1.02 * short + 1e-3
            inner = self._asked(form, greatest, asked, close)
            if inner is None:
                break
        best = self._farthest_seen(form, greatest)
        return None if best is None else Reached(self._value(form, best), outer.bound, self.space, best)

    @cached_property
    def ground(self) -> Ground:
        """The designs that score enough may be looked for among these."""
        return Ground(self._scorer, self._base.domains)

    def outermost(
        self, forms: Sequence[Form], starts: Sequence[Mapping[str, float]], close: Sequence[float]
    ) -> list[tuple[dict, dict]]:
        """For each form, designs near the best that have little and much of it, found without the solver;
        nothing is proven. ``starts``: designs near the best to begin with; ``close``: for each form, what is no step on the
        way."""

        def raised(designs):
            count = next(len(v) for v in designs.values() if np.ndim(v))
            with np.errstate(all="ignore"):
                values = self.ground.values(forms, designs, count)
            return np.nan_to_num(np.concatenate([-values, values]), nan=-BEYOND, posinf=BEYOND, neginf=-BEYOND)

        assert self.floor is not None
        found = outermost(self.ground, self.floor - ENOUGH, starts, raised, close=np.array([*close, *close]))
        assert found is not None  # the starts are
        return list(zip(found[: len(forms)], found[len(forms) :]))

    def apart(
        self, seen: Sequence[Mapping[str, float]], spans: Mapping[str, float], starts: Sequence[Mapping[str, float]]
    ) -> dict[str, float]:
        """A design near the best as far as can be found from all of ``seen``: far is the sum of differences
        as shares of ``spans``. ``starts``: designs near the best to begin with, one of which scores the floor at least."""

        def raised(designs):
            away = [sum(abs(designs[name] - d[name]) / span for name, span in spans.items()) for d in seen]
            return np.atleast_2d(np.min(away, axis=0))

        assert self.floor is not None
        # no nearer the best than is said: these are shown with their scores, and what is short by a hair is seen
        found = outermost(self.ground, self.floor - HAIR, starts, raised, children=CHILDREN, close=NO_FARTHER)
        assert found is not None  # the best is one of the starts
        return found[0]

    def some(self, condition: Condition, effort: float) -> bool:
        """Whether some design near the best fulfils a condition. Raises Unsettled."""
        asked, left = self.floor, effort
        for _ in range(TRIES):
            for model, most in self._models(left):
                branch = model.branch()
                ask_for(branch, asked)
                branch.post(condition, [])
                status, solver = self._spend(branch, min(left, most))
                left -= solver.response_proto.deterministic_time
                if status != "UNKNOWN" or left <= 0.0:
                    break
            if status == "INFEASIBLE":
                return False
            if status not in ("OPTIMAL", "FEASIBLE"):
                raise Unsettled("the solver found neither a design nor a proof that there is none")
            short = self._short(self.space.complete(branch.read(solver)))
            if short <= ENOUGH:
                return True
            asked += 1.02 * short + 1e-3
        return False

    def none_beyond(self, form: Form, edge: float, *, greatest: bool) -> bool:
        """Whether it soon shows that no design reaches an edge; False also where that is not known."""
        return self._passed(form, edge, greatest, SOON)[0] == "INFEASIBLE"

    def closed(
        self,
        form: Form,
        design: Mapping[str, float],
        *,
        greatest: bool,
        close: float,
        effort: float,
        within: tuple[float, float] = (-math.inf, math.inf),
    ) -> Reached:
        """The greatest (or least) value of a form, begun from a design near the best that may be out
        farthest. The bound is known to within ``close`` if ``effort`` suffices for the proof; else it is
        what is proven by then. What is beyond the bound scores less than the floor; the value is that
        of a design which scores so much to within ENOUGH. ``within``: what limits let the form be."""
        sign, left = (1.0 if greatest else -1.0), effort
        value, outer = self._value(form, design), dict(design)
        if not math.isfinite(value):
            return self._endless(form, outer, greatest, close, left)
        # no design near the best is beyond this
        last = sign * min(sign * ends[1 if greatest else 0] for ends in (form.interval(self._base.box), within))
        for _ in range(AGAIN):
            if sign * (last - value) <= close:
                return Reached(value, sign * max(sign * value, sign * last), self.space, outer)
            status, there, took = self._passed(form, value + sign * close, greatest, left)
            left -= took
            if status == "INFEASIBLE":
                return Reached(value, value + sign * close, self.space, outer)
            if there is None or self._short(there) > ENOUGH or sign * (self._value(form, there) - value) <= 0.0:
                break
            outer = self._climbed(form, there, sign, CLIMB * close)
            value = self._value(form, outer)
        # by a hair too little in score to count, designs may lie beyond for the solver: so far and no farther
        for edge in (value + sign * times * close for times in WIDER):
            if sign * (last - edge) <= 0.0:
                break
            status, _, took = self._passed(form, edge, greatest, max(left, BRIEFLY))
            left -= took
            if status == "INFEASIBLE":
                return Reached(value, edge, self.space, outer)
        return Reached(value, last, self.space, outer)

    def _passed(self, form: Form, edge: float, greatest: bool, effort: float):
        """Whether a design reaches an edge: the solver's status, a design that does, and the effort it took;
        with more said about products where that does not show soon."""
        status, there, took = "UNKNOWN", None, 0.0
        for model, most in self._models(effort):
            if status == "UNKNOWN" and effort > took:
                status, there, more = self._beyond(model, form, edge, greatest, min(most, effort - took))
                took += more
        return status, there, took

    def _models(self, effort: float) -> list[tuple[Compiled, float]]:
        """The models to ask a question of, one after another, and the effort for each at most."""
        brief = [] if self._plain is self._base else [(self._plain, BRIEFLY)]
        return [*brief, (self._base, effort)]

    def _beyond(self, model: Compiled, form: Form, edge: float, greatest: bool, effort: float):
        """Whether a design of one of the models reaches an edge."""
        branch = model.branch()
        branch.post(form.at_least(edge) if greatest else form.at_most(edge), [])
        status, solver = self._spend(branch, effort)
        design = self.space.complete(branch.read(solver)) if status in ("OPTIMAL", "FEASIBLE") else None
        return status, design, solver.response_proto.deterministic_time

    def _climbed(self, form: Form, design: Mapping[str, float], sign: float, close: float) -> dict[str, float]:
        """From a design as far as can be had without the solver; what brings less than ``close`` is no step."""

        def raised(designs):
            return np.atleast_2d(sign * np.asarray(form.value(designs)))

        assert self.floor is not None
        found = outermost(self.ground, self.floor - ENOUGH, [design], raised, children=CHILDREN, close=close)
        return dict(design) if found is None else found[0]

    def _endless(self, form: Form, design: Mapping[str, float], greatest: bool, close: float, effort: float) -> Reached:
        """How far a form goes, begun from a design where it has no end, in so much effort."""
        alone = copy(self)
        alone.effort, alone._seen, alone.known_count = max(effort, BRIEFLY), {}, 0
        alone.known(design)
        try:
            found = alone.extreme(form, greatest=greatest, close=close)
        except Unsettled:
            found = None
        if found is None:
            value = self._value(form, design)
            return Reached(value, math.inf if greatest else -math.inf, self.space, design)
        return found

    def _short(self, design: Mapping[str, float]) -> float:
        """Points by which a design's score falls short of the floor."""
        return 0.0 if self.floor is None else self.floor - float(self._scorer.scores(design))

    def _farthest_seen(self, form: Form, greatest: bool) -> dict[str, float] | None:
        """Of the designs seen so far, the one that goes farthest."""
        if not self.known_count:
            return None
        with np.errstate(all="ignore"):
            values = form.value({name: np.array(seen) for name, seen in self._seen.items()})
        at = int(np.argmax(values if greatest else -np.asarray(values))) if np.ndim(values) else 0
        return {name: seen[at] for name, seen in self._seen.items()}

    def _value(self, form: Form, design: Mapping[str, float]) -> float:
        with np.errstate(all="ignore"):
            return float(form.value(design))

    def branch(self, floor: float | None) -> Compiled:
        """A copy of the model, to be added to, in which designs score at least so many points."""
        branch = self._base.branch()
        if floor is not None and floor != self.floor:
            ask_for(branch, floor)
        return branch

    def _spend(self, branch: Compiled, effort: float):
        """The solver's status and answer for a model, with so much effort or what is left. Raises Unsettled."""
        if self.left <= 0.0:
            raise Unsettled("all effort is spent")
        asked = min(effort, self.left)
        if self.floor is None:
            status, solver, took = decide(branch, asked)
        else:  # the model itself says more about products
            status, solver = run(branch, asked)
            took = solver.response_proto.deterministic_time
        self.left -= took
        return status, solver

    def _run(self, branch: Compiled) -> tuple[object, dict[str, float]] | None:
        """Solver and design of a branch; None where it has none."""
        status, solver = self._spend(branch, self.effort)
        if status == "INFEASIBLE":
            return None
        if status not in ("OPTIMAL", "FEASIBLE"):
            raise Unsettled("the solver found neither a design nor a proof that there is none")
        design = self.space.complete(branch.read(solver))
        self.known(design)
        return solver, design

    def _asked(self, form: Form, greatest: bool, floor: float | None, close: float) -> Reached | None:
        if isinstance(form, Quotient) and form.link is None and isinstance(form.numerator, Linear):
            if isinstance(form.denominator, Linear) and form.denominator.is_constant:
                return self._counted(floor, form, form.numerator * (1.0 / form.denominator.constant), greatest)
        return self._gauged(floor, form, greatest, close)

    def _some(self, floor: float | None, form: Form, greatest: bool) -> dict[str, float] | None:
        """Of the designs seen so far the one that goes farthest; if none was seen, any at all."""
        best = self._farthest_seen(form, greatest)
        if best is None:
            found = self._run(self.branch(floor))
            best = None if found is None else found[1]
        return best

    def _counted(self, floor: float | None, form: Form, expression: Linear, greatest: bool) -> Reached | None:
        branch = self.branch(floor)
        counted = branch.counted(expression)
        if counted is None:  # no decision changes it
            design = self._some(floor, form, greatest)
            if design is None:
                return None
            value = self._value(form, design)
            return Reached(value, value, self.space, design)
        variable, whole = counted
        up = greatest == (whole.unit > 0)
        branch.model.maximize(variable if up else -variable)
        found = self._run(branch)
        if found is None:
            return None
        solver, design = found
        best = solver.best_objective_bound * (1.0 if up else -1.0)
        bound = whole.unit * best + whole.offset + (whole.error if greatest else -whole.error)
        return Reached(self._value(form, design), bound, self.space, design)

    def _halved(
        self, form: Form, greatest: bool, start: float, bound: float, design: dict[str, float], close: float
    ) -> tuple[float, float, dict[str, float]]:
        """A value had, one that none passes and a design with the first, brought near each other by asking whether
        any design reaches the middle between them; as near as they come while that shows soon."""
        sign = 1.0 if greatest else -1.0
        # where next to nothing is to be gained that is asked first
        edge = start + sign * close
        while sign * (bound - start) > close:
            status, there, _ = self._passed(form, edge, greatest, SOON)
            if status == "INFEASIBLE":
                bound = edge
            elif there is None or sign * (value := self._value(form, there) - start) <= 0.0:
                break
            else:
                start, design = start + value, there
                self.known(there)
            edge = 0.5 * (start + bound)
        return start, bound, design

    def _gauged(self, floor: float | None, form: Form, greatest: bool, close: float) -> Reached | None:
        sign = 1.0 if greatest else -1.0
        design = self._some(floor, form, greatest)
        if design is None:
            return None
        if self._value(form, design) == sign * math.inf:
            return Reached(sign * math.inf, sign * math.inf, self.space, design)
        bound = form.interval(self._base.box)[1 if greatest else 0]
        if not math.isfinite(bound):
            branch = self.branch(floor)
            branch.post(form.at_least(BEYOND) if greatest else form.at_most(-BEYOND), [])
            passed = self._run(branch)
            if passed is not None:
                return Reached(sign * math.inf, sign * math.inf, self.space, passed[1])
            bound = sign * BEYOND
        # where every design seen is endless the wrong way, the gauge begins beyond all that is finite
        start = self._value(form, design)
        start = start if math.isfinite(start) else math.copysign(BEYOND, start)
        if floor is None:
            start, bound, design = self._halved(form, greatest, start, bound, design, close)
        while sign * (bound - start) > close:
            branch = self.branch(floor)
            gauge = branch.gauge(form, start, bound, PARTS)
            branch.model.maximize(gauge)
            found = self._run(branch)
            if found is None:
                return None
            solver, there = found
            width, before = bound - start, start
            bound = start + width * min(1.0, (solver.best_objective_bound + 1.0) / PARTS)
            if sign * (self._value(form, there) - start) > 0.0:
                start, design = self._value(form, there), there
            if abs(bound - start) > 0.5 * abs(width) and start == before:
                break
        value = self._value(form, design)
        return Reached(value, value if math.isinf(value) else bound, self.space, design)


def farthest(found: Sequence[Reached | None], *, greatest: bool) -> Reached | None:
    """What several spaces together reach: the best value, and a bound that holds for all of them."""
    there = [f for f in found if f is not None]
    if not there:
        return None
    pick = max if greatest else min
    best = pick(there, key=lambda f: f.value)
    return Reached(best.value, pick(f.bound for f in there), best.space, best.design)
