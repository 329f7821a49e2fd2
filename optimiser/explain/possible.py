"""Whether a set of demands can hold together: asked of the solver, answered with a design or a proof."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations

from optimiser.compile import Compiled
from optimiser.compile.tables import TooLarge
from optimiser.design import Space, grid_of, spaces
from optimiser.engine import EFFORT, decide
from optimiser.errors import InternalError, Undecided
from optimiser.explain.members import Member, held_by, kept_bounds, members, offset_of, relaxed, values_of
from optimiser.problem.model import Problem
from optimiser.problem.parts import part
from optimiser.requirements import Bound, all_limits
from optimiser.score import holds
from optimiser.search import MOST_POINTS

MANY_POINTS = 10 * MOST_POINTS
"""Points of a table for which a model of limits alone has literals: without a score it is a small one else."""

BULKY = 40
"""Single forms from which on a limit is put into a model only once a design breaks it."""

STEPPED, MANY_RISERS = frozenset({"aisle_headroom"}), 6
"""Measures that are made of every tread of every flight that there may be; and risers of a flight from which on it takes
longer to say what they are than to find out that they do not matter."""

ASKED = 20.0
"""Deterministic seconds for one question, of all its spaces together: many times what one takes that is ever decided."""

NOT_DECIDED = "the solver could not decide a question in the time it has; nothing is claimed about it"

FEW_APART = 4
"""Decisions with values beside the grid of which all sets are tried at their values; of more, all together and each alone."""

Settled = frozenset[tuple[str, float]]


@dataclass(frozen=True)
class Witness:
    """A design that fulfils a set of demands, in its space of the relaxed problem."""

    space: Space
    design: Mapping[str, float]


def off_grid(problem: Problem, grid: float) -> tuple[Member, ...]:
    """Fixed lengths, and lists of them, of which some value is none that the decision has where it is free: it lies beside
    the grid, or, of a platform's height, between its steps."""

    def beside(member: Member) -> bool:
        step = problem.seating.platforms.step if _in_steps(member) else grid
        offset = offset_of(problem, member.path)
        counts = [(value + offset) / step for value in values_of(part(problem, member.path).value)]  # type: ignore[arg-type]
        return any(abs(count - round(count)) > 1e-6 for count in counts)

    fixed = (m for m in members(problem) if m.kind == "value" and part(problem, m.path).kind == "length")
    return tuple(m for m in fixed if beside(m))


def _in_steps(member: Member) -> bool:
    """Whether a demand is about the height of a platform, which comes in steps of its own."""
    return member.path == "seating.platform.first" or member.path.endswith(".platform")


class Oracle:
    """Answers for one problem and grid, remembered. ``asked`` counts the questions put to the solver."""

    def __init__(self, problem: Problem, *, grid: float | None = None, effort: float = EFFORT) -> None:
        self.problem = replace(problem, goals=())
        self.grid = grid_of(problem) if grid is None else grid
        self.effort = effort
        self.asked = 0
        self._known: dict[frozenset[Member], Witness | None] = {}
        self._extents: list[tuple[frozenset[Member], Witness]] = []
        self._apart = off_grid(self.problem, self.grid)
        self._relaxed: dict[frozenset[Member], tuple[Problem, dict[Settled, Space]]] = {}
        self._fails: dict[Settled, list[frozenset[Member]]] = {}
        self._nowhere: list[frozenset[Member]] = []
        self._last: Settled = frozenset()

    def __getstate__(self) -> dict[str, object]:
        # other processes make the spaces sooner than they would be told of them
        return {**self.__dict__, "_relaxed": {}}

    def holds(self, kept: Collection[Member]) -> bool:
        """Whether some design on the grid fulfils these demands. Raises Undecided."""
        return self.witness(kept) is not None

    def extent(self, kept: Collection[Member]) -> frozenset[Member]:
        """For demands that hold: all that one and the same design fulfils."""
        wanted = frozenset(kept)
        if self.witness(wanted) is None:
            raise ValueError("these demands do not hold together")
        return next(seen for seen, there in reversed(self._extents) if wanted <= seen and there is self._known[wanted])

    def witness(self, kept: Collection[Member]) -> Witness | None:
        """A design that fulfils these demands; None where none on the grid does. Raises Undecided."""
        wanted = frozenset(kept)
        if wanted not in self._known:  # what was told of demands stands
            self._known[wanted] = next((there for seen, there in self._extents if wanted <= seen), None) or self._new(
                wanted
            )
        return self._known[wanted]

    def _new(self, wanted: frozenset[Member]) -> Witness | None:
        """A design that fulfils demands of which nothing is known yet."""
        if any(some <= wanted for some in self._nowhere):
            return None
        found = self._found(wanted, frozenset())
        free = [member for member in self._apart if member not in wanted]
        if found is not None or not free or self._none_between(wanted):
            return found
        for pinned in _pins(free):
            found = self._found(wanted, pinned)
            if found is not None:
                return found
        if len(free) > FEW_APART:  # not all was tried
            raise Undecided(NOT_DECIDED)
        return None

    def _found(self, wanted: frozenset[Member], pinned: frozenset[Member]) -> Witness | None:
        found = self._ask(wanted | pinned)
        if found is not None:
            self._extents.append((held_by(self.problem, found.space, found.design) | wanted | pinned, found))
        return found

    def _none_between(self, kept: frozenset[Member]) -> bool:
        """Whether it is proven at once that no design fulfils these demands, wherever its lengths lie: on the grid, at the
        file's values or elsewhere. What is made of much, or looked up, is left out: it would take long, and rarely decides."""
        if any(_in_steps(member) for member in self._apart if member not in kept):
            return False  # heights in steps are never between them
        problem, left = self._spaces(kept)[0], min(self.effort, ASKED)
        kept = _apart(problem, kept)[0]
        for space in spaces(problem, grid=self.grid, between=True):
            asked = [b for b in kept_bounds(problem, space, kept) if b.size <= BULKY and not b.looks_up]
            status, _, took = decide(Compiled(space, asked, [], levels=1, between=True), left)
            left -= took
            if status != "INFEASIBLE" or left <= 0.0:
                return False
        self._nowhere.append(kept)
        return True

    def _ask(self, kept: frozenset[Member]) -> Witness | None:
        self.asked += 1
        undecided, denied, left = False, set(), min(self.effort, ASKED)
        problem, there = self._spaces(kept)
        soon, late = _apart(problem, kept)
        # a space that fails some demands fails more; where the last design was there mostly is another
        for settled, space in sorted(there.items(), key=lambda item: item[0] != self._last):
            fails = self._fails.setdefault(settled, [])
            # of more demands fewer designs are left, but for values beside the grid, which only these demands let in
            if any(some <= kept and (kept - some).isdisjoint(self._apart) for some in fails):
                continue
            later = partial(kept_bounds, problem, space, late)
            bounds = kept_bounds(problem, space, soon)
            status, design, took = _decided(space, bounds, later, left, denied if len(there) > 1 else None)
            left -= took
            if design is not None:
                self._last = settled
                return Witness(space, design)
            if status == "INFEASIBLE":
                fails.append(kept)
            undecided = undecided or status != "INFEASIBLE"
        if undecided:
            raise Undecided(NOT_DECIDED)
        return None

    def _spaces(self, kept: frozenset[Member]) -> tuple[Problem, dict[Settled, Space]]:
        """The problem without the demands that are not kept, and its spaces, which no limit changes, by what they have
        settled: by that a space is known again in a problem with other demands."""
        decided = frozenset(member for member in kept if not member.about_limit)
        if decided not in self._relaxed:
            problem = relaxed(self.problem, decided)
            there = {space.key: space for space in spaces(problem, grid=self.grid)}
            self._relaxed[decided] = problem, there
        return self._relaxed[decided]


def _pins(free: Sequence[Member]) -> Iterator[frozenset[Member]]:
    """Demands to be kept for once beside others: a decision that is free of what the file says of it lies on the
    grid, or still where the file has it, which may be beside the grid. What holds with a demand holds without."""
    sizes = range(len(free), 0, -1) if len(free) <= FEW_APART else (len(free), 1)
    for size in sizes:
        yield from map(frozenset, combinations(free, size))


def _apart(problem: Problem, kept: frozenset[Member]) -> tuple[frozenset[Member], frozenset[Member]]:
    """Demands, and of these apart what is made of every tread, where flights of very many risers may be thought of."""
    if problem.seating.platforms.risers < MANY_RISERS:
        return kept, frozenset()
    limits = all_limits(problem)
    late = frozenset(m for m in kept if m.about_limit and limits[m.index].measure in STEPPED)
    return kept - late, late


def _decided(
    space: Space, bounds: list[Bound], later: Callable[[], list[Bound]], effort: float, denied: set[str] | None
) -> tuple[str, dict[str, float] | None, float]:
    """Whether a space has a design that holds the limits: the solver's status, the design, and the deterministic seconds it
    took. ``later``: makes further limits, once a design holds the others. ``denied``: the models that are known to have no
    design, which grow; None where there is only one to ask.

    A limit that is made of much is in the model only where a design without it breaks it: mostly none does, and where
    there is no design without it there is none with it."""
    asked, rest, all_made = [b for b in bounds if b.size <= BULKY], [b for b in bounds if b.size > BULKY], False
    took = 0.0
    while True:
        compiled, whole = _model(space, asked)
        # spaces differ in what these demands may not be about: their models are the same then
        text = "" if denied is None else str(compiled.model.proto)
        if denied and text in denied:
            return "INFEASIBLE", None, took
        if took >= effort:
            return "UNKNOWN", None, took
        status, solver, more = decide(compiled, effort - took)
        took += more
        if status == "INFEASIBLE" and denied is not None:
            denied.add(text)
        if status not in ("OPTIMAL", "FEASIBLE"):
            return status, None, took
        design = space.complete(compiled.read(solver))
        broken = [bound for bound in bounds if not bool(holds(bound, design))]
        if not broken and not all_made:
            further, all_made = later(), True
            bounds, rest = [*bounds, *further], [*rest, *further]
            broken = [bound for bound in further if not bool(holds(bound, design))]
        if not broken:
            return status, design, took
        left_out = [bound for bound in broken if bound in rest]
        asked, rest = [*asked, *left_out], [bound for bound in rest if bound not in left_out]
        told = [bound for bound in broken if bound not in left_out and (whole or not bound.looks_up)]
        if told:
            raise InternalError(f"the solver's design breaks {told[0].limit.measure}; this is a fault of the program")
        if not left_out:  # what it breaks could not be told: the tables are too large
            return "UNKNOWN", None, took


def _model(space: Space, bounds: list[Bound]) -> tuple[Compiled, bool]:
    """A model of the limits in a space, and whether of all of them: where its tables are too large, of those alone
    that look nothing up, which may exclude each other by themselves."""
    try:
        return Compiled(space, bounds, [], levels=1, most_points=MANY_POINTS), True
    except TooLarge:
        return Compiled(space, [bound for bound in bounds if not bound.looks_up], [], levels=1), False
