"""What varies in a problem, by its name: a decision or a number of the file, and how far it may be off."""

from __future__ import annotations

from collections.abc import Callable

from optimiser.errors import QuantityError, UsageError, did_you_mean
from optimiser.problem.decisions import DECISIONS, ROW_DECISIONS, Bounds, bounds_of, names, split_row
from optimiser.problem.items import NOT_GIVEN_AT_0, gives
from optimiser.problem.model import Fixed, Mark, People, Problem, Spread
from optimiser.problem.parts import LISTS, PLACED, parts, stated
from optimiser.problem.tolerances import PEOPLE
from optimiser.quantity import KINDS, parse, show

VARIED = ("length", "angle", "ratio", "time", "number", "flux", "area")
"""Kinds of quantity that can be a little off; numbers of things and words cannot."""

TAIL = 3.0
"""Times its standard deviation that a number with a normal spread is off in no more than one case of some hundred."""

SIGNS = ("±", "+/-", "+-")


def read_tolerances(
    written: tuple[tuple[tuple[str, str, str], ...], tuple[str, float] | None],
    problem: Problem,
    fault: Callable[..., None],
    mark: Callable[[tuple], Mark],
) -> tuple[tuple[Spread, ...], People | None]:
    """The spreads and people of a file whose other parts are read; complaints go to ``fault``."""
    spreads, people = written
    found: list[Spread] = []
    for name, how, text in spreads:
        path = ("tolerances", name)
        try:
            one = spread(problem, name, text, how=how, where=mark(path))
            if one.path in {other.path for other in found}:
                fault(path, f"{one.path} has two spreads", "keep one of them", key=True)
            found.append(one)
        except QuantityError as error:
            fault((*path, how) if how == "sigma" else path, error.message, error.remedy)
        except UsageError as error:
            message, _, remedy = str(error).partition(": ")
            fault(path, message, remedy, key=True)
    return tuple(found), None if people is None else People(*people, mark(("tolerances", PEOPLE)))


def spread(problem: Problem, name: str, text: str, *, how: str = "within", where: Mark | None = None) -> Spread:
    """A spread of a decision or a number of the file, as ``row1.y`` and ``±1/2 in``.

    Raises UsageError for a name that nothing has, QuantityError for an amount that cannot be read.
    """
    path, bounds = varied(problem, name)
    bare = text.strip()
    for sign in SIGNS:
        bare = bare.removeprefix(sign)
    amount = float(parse(bounds.kind, bare))
    if not 0.0 < amount < float("inf"):
        raise QuantityError(f"'{text.strip()}' is too small", "it must be more than zero")
    whole = _fixed_at(problem, path, bounds)
    if whole is not None and amount >= whole / (1.0 if how == "within" else TAIL):
        number = show(bounds.kind, whole, problem.show)
        share = "" if how == "within" else "a third of "
        raise QuantityError(
            f"'{text.strip()}' is too large for {path}, which is {number}", f"write less than {share}that"
        )
    if how == "within":
        return Spread(path, bounds.kind, within=amount, where=where)
    return Spread(path, bounds.kind, sigma=amount, where=where)


def _fixed_at(problem: Problem, path: str, bounds: Bounds) -> float | None:
    """What the file fixes a number at of which something must be left; None where it need not, or is not fixed."""
    if max((end for end in (bounds.least, bounds.above) if end is not None), default=-1) < 0:
        return None
    at = stated(problem, path)
    value = None if at is None else at.value.value if isinstance(at.value, Fixed) else at.value
    return value if isinstance(value, float) and value > 0.0 else None


def varied(problem: Problem, name: str) -> tuple[str, Bounds]:
    """The name of a decision, or the path of a number in the file, that may be a little off."""
    for before in PLACED:  # a decision's path in the file is as good as its name
        short = name.removeprefix(before)
        if short in DECISIONS or split_row(short) is not None:
            name = short
    row = split_row(name)
    most = max(problem.seating.rows)
    if row is not None and row[0] > most:
        raise UsageError(f"unknown input '{name}': the file allows at most {most} row{'s' if most > 1 else ''}")
    if row is not None or name in DECISIONS:
        bounds = bounds_of(name)
        if bounds.kind not in VARIED:
            what = KINDS[bounds.kind].name if bounds.kind in KINDS else "a word"
            raise UsageError(f"'{name}' is {what}: it cannot be a little off")
        return name, bounds
    if name in ROW_DECISIONS:
        raise UsageError(f"unknown input '{name}': did you mean 'row1.{name}'?")
    numbers = {p.path: p for p in parts(problem) if not p.decided}
    if name not in numbers:
        raise UsageError(f"unknown input '{name}': {did_you_mean(name, [*numbers, *names(most)])}")
    if numbers[name].kind not in VARIED:
        raise UsageError(f"'{name}' is {KINDS[numbers[name].kind].name}: it cannot be a little off")
    if _counts_as_not_given(problem, name):
        # a little off from nothing it would be given, and other limits would hold than on the design as drawn
        raise UsageError(f"'{name}' is 0, which counts as not given: give it, and let that be a little off")
    return name, numbers[name].bounds


def _counts_as_not_given(problem: Problem, path: str) -> bool:
    """Whether a number of the file is 0 and so counts as not given, with whatever a list has in its place."""
    before, _, key = path.rpartition(".")
    return any(
        f"{before}.".startswith(".".join(LISTS[of]) + ".") and key in keys and not gives(problem, of, key)
        for of, keys in NOT_GIVEN_AT_0.items()
    )
