"""Steps, guards and ways as codes look at them; people who bring their own chair."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import combinations

from optimiser.forms import Form, Gate, Greatest, Least, Quotient, absolute, affine, fixed
from optimiser.measures.base import measure
from optimiser.measures.layout import Layout, Row
from optimiser.measures.people import (
    A_STEP,
    CODES,
    aisle_width,
    any_guard,
    behind_the_row_before,
    beside_steps,
    laid_out,
    level_with_front,
    no_guard,
    pitch,
    platform_end,
    rise,
    riser_step,
    way_behind,
)
from optimiser.measures.viewing import SLOPE
from optimiser.measures.ways import at_aisles, standing, way_across
from optimiser.physics import sector as door

CREVICE = 0.001
"""Metres by which a platform may end before the far side of a door and still reach it."""

IRC = "as quoted by a county's building department"


def no_step(layout: Layout, row: Row) -> Gate:
    """A gate that opens where the row lies level with the one in front."""
    return Gate(level_with_front(layout, row))


@measure(
    quantity="length",
    per_row=True,
    formula="feet of upright chairs, or front of the floor for wheelchairs, - back of the row in front, reclined (row 1: - image); of a "
    "bar, the way behind its stools",
    source="12 in between rows in assembly seating, more in long rows with one end open: IBC 1030.13.2, as quoted by a "
    "code forum; " + CODES,
)
def passing_way(layout: Layout, row: Row) -> Form:
    """Clear way before the row with its own chairs upright and those in front reclined, past what stands
    there; behind the stools of a bar."""
    if row.bar:
        return way_behind(layout)
    return way_across(layout, row, (behind_the_row_before(layout, row), row.upright_feet))


@measure(quantity="length", per_row=True, first_row=2, formula="feet - back of the row in front", source="definition")
def row_gap(layout: Layout, row: Row) -> Form:
    """From the backs of the row in front to the feet of this one, or to its counter."""
    return affine(row.feet - layout.row_before(row).back)


@measure(
    quantity="length",
    per_row=True,
    formula="lesser aisle width of the row and of the one in front, where there is a step up to the row, and from its end to "
    "the wall past what stands on its steps; of the last row too where its platform ends before the rear wall; no bound where "
    "there is no step",
    source=f"36 in clear for a stair: IRC 2018 R311.7.1, {IRC}; " + CODES,
)
def stair_width(layout: Layout, row: Row) -> Form:
    """Clear way beside a row to which one must climb, over the steps up to it, and beside the row in front; beside the last
    row where steps lead down behind it, though it may lie level with the one in front."""
    passed = [row] if row.number == 1 else [layout.row_before(row), row]
    ways = [aisle_width.form(layout, one) for one in passed]
    if laid_out(row) and row.flights[-1] > 1 and standing(layout):
        ways.append(at_aisles(layout, lambda side: Least(tuple(beside_steps(layout, row, side)))))
    up = Greatest((no_step(layout, row), Least(tuple(ways))))
    if layout.platform_behind is None or row.number < len(layout.rows):
        return up
    return Least((up, Greatest((Gate(A_STEP - row.platform), aisle_width.form(layout, row)))))


@measure(
    quantity="length",
    signed=False,
    formula="greatest - least riser, of the rows that have a step",
    source=f"at most 3/8 in in a flight: IRC 2018 R311.7.5.1, {IRC}; 3/16 in in assembly aisles: IBC 1028.11.1, as quoted by a "
    "code forum; " + CODES,
)
def riser_difference(layout: Layout) -> Form:
    """By how much the risers on the way from the floor to the last row differ."""
    parts: list[Form] = [fixed(0.0)]
    for one, other in combinations(layout.rows, 2):
        up, over = (one, other), (other, one)
        both = [Gate(rise(layout, row) - A_STEP) for row in (one, other)]
        for a, b in (up, over):
            apart = Quotient(rise(layout, a) * b.risers - rise(layout, b) * a.risers, a.risers * b.risers)
            parts.append(Least((*both, apart)))
    return Greatest(tuple(parts))


@measure(
    quantity="length",
    per_row=True,
    formula="riser step; no bound where the row lies level with the one in front",
    source="at least 150 mm for private stairs: Approved Document K (2013), Table 1.1; 4 in for assembly aisles: IBC 1028.11.2, as "
    "quoted by a code forum; " + CODES,
)
def least_riser(layout: Layout, row: Row) -> Form:
    """Height of each riser up to this row, where there is a step at all: low ones trip people."""
    return Greatest((no_step(layout, row), riser_step.form(layout, row)))


@measure(
    quantity="length",
    per_row=True,
    first_row=2,
    absent=level_with_front,
    formula="2 riser + going; no value where the row lies level with the one in front",
    source="550 to 700 mm for stairs: Approved Document K (2013), notes to Table 1.1; platforms are deeper than stairs; "
    + CODES,
)
def walking_line(layout: Layout, row: Row) -> Form:
    """Twice the riser and the going, the stride that the steps up to this row ask for."""
    shared = Quotient(rise(layout, row) * 2.0 + pitch(layout, row), row.risers)
    if row.going is None:
        return shared
    return Least((stride_of_going(layout, row, row.going), shared))


def stride_of_going(layout: Layout, row: Row, going: float) -> Form:
    """The stride that steps up to a row ask for, each so deep [m]."""
    return Quotient(rise(layout, row) * 2.0 + row.risers * going, row.risers)


@measure(
    quantity="angle",
    per_row=True,
    first_row=2,
    formula="atan(riser / going)",
    source="at most 42 degrees for private stairs, 35 for gangways to seats: Approved Document K (2013), Table 1.1 and 1.4; "
    + CODES,
)
def aisle_slope(layout: Layout, row: Row) -> Form:
    """Slope of the steps in the aisle from the row in front up to this one; of a single riser, as if more followed."""
    shared = Quotient(rise(layout, row), pitch(layout, row), SLOPE)
    if row.going is None:
        return shared
    both = slope_of_going(layout, row, row.going), shared
    # the lesser going is built: the steeper of the two, upwards or down
    return Greatest((Least(both), Least((Greatest(both), Gate(rise(layout, row))))))


def slope_of_going(layout: Layout, row: Row, going: float) -> Form:
    """The slope of steps up to a row, each so deep [m]."""
    return Quotient(rise(layout, row), row.risers * going, SLOPE)


def _unguarded(layout: Layout, design: Mapping[str, float], number: int | None) -> bool:
    """Whether no guard is built at the front of a row's platform."""
    row = layout.rows[(number or 1) - 1]
    return layout.guard is None or float(no_guard(layout, row).value(design)) >= 0.0


@measure(
    quantity="length",
    signed=False,
    per_row=True,
    built=_unguarded,
    formula="platform height; where a guard is built at the platform's front, at most the drop over which the file has them built",
    source=f"a guard over 30 in: IRC 2018 R312.1.1, {IRC}; over 600 mm in dwellings: Approved Document K 1.40 to 1.41; "
    + CODES,
)
def unguarded_drop(layout: Layout, row: Row) -> Form:
    """Greatest drop at an open side of the row's platform that no guard is built for."""
    if layout.guard is None:
        return affine(row.platform)
    return Least((affine(row.platform), Greatest((no_guard(layout, row), fixed(layout.guard[1])))))


@measure(
    quantity="length",
    signed=False,
    needs=("guard",),
    built=lambda layout, design, _: any_guard(layout, design),
    formula="as the file gives it",
    source=f"at least 36 in: IRC 2018 R312.1.2, {IRC}; 900 mm in dwellings: Approved Document K, Diagram 3.1, from memory; "
    + CODES,
)
def guard_height(layout: Layout) -> Form:
    """Height of guards above the platform."""
    return fixed(layout.guard[0])


@measure(
    quantity="length",
    signed=False,
    needs=("wheelchair_row",),
    formula="|platform - level that a door opens at|, the least of all doors; platform where the file names no door; behind a last "
    "platform that ends before a door, the greater of platform and that level",
    source="definition; changes in level are not permitted in a wheelchair space: 2010 ADA Standards 802.1.1, as quoted by two copies "
    "of the text; the ramp that a rise asks for, commonly 1 in 12, is not planned here; " + CODES,
)
def wheelchair_rise(layout: Layout) -> Form:
    """Step between the way in and the row with places for wheelchairs. Between a last platform and a door that it ends
    before lies the room's floor: who comes in there goes down to it, and up from it."""
    row = layout.wheelchair_row
    if layout.platform_behind is None or row.number < len(layout.rows):
        levels = sorted(set(layout.thresholds)) or [0.0]
        return Least(tuple(absolute(row.platform - level) for level in levels))
    parts: list[Form] = [] if layout.sweeps else [absolute(row.platform)]
    for (_, sweep), level in zip(layout.sweeps, layout.thresholds, strict=True):
        beyond = door.support(sweep, angle=math.pi / 2) - platform_end(layout, row)
        parts.append(Greatest((absolute(row.platform - level), Gate(beyond - CREVICE))))
        parts.append(Greatest((affine(row.platform), fixed(level))))
    return Least(tuple(parts))
