"""What a limit has come up against, told by name: a room in which nothing is left to choose, reckoned by hand."""

from __future__ import annotations

import pytest

from optimiser.design import spaces
from optimiser.problem.read import loads
from optimiser.score import Scorer
from optimiser.sheet.tables import limits_table
from optimiser.standing import in_the_way, limit_words
from tests.sheet.conftest import text

# the baffle wall is 2800 + 2 * 60 + 2 * 50 = 3020 mm wide in the middle of 4400 mm: 690 to 3710 mm
RIGHT = "{name: breast, x: [3.71 m, 4.4 m], y: [0 m, 0.4 m], z: [0 m, 2.4 m]}"
LEFT = "{name: flue, x: [0 m, 0.69 m], y: [0 m, 0.4 m], z: [0 m, 2.4 m]}"
# three chairs of 760 mm take 1060 to 3340 mm; of the row, 3600 mm off, from 2800 to 3800 mm about
BESIDE = "{name: column, x: [0.16 m, 0.36 m], y: [3.2 m, 3.4 m], z: [0 m, 2.7 m]}"
HUNG = "{name: beam, x: [0 m, 4.4 m], y: [3.4 m, 3.6 m], z: [2.2 m, 2.7 m]}"


def told(boxes, measure: str, limit: str) -> list[str]:
    source = text(rows=1).replace("  obstructions:\n", "  obstructions:\n" + "".join(f"    - {one}\n" for one in boxes))
    problem = loads(source.replace("limits:\n", f"limits:\n  - {{measure: {measure}, {limit}}}\n"))
    (space,) = spaces(problem)
    design = space.complete({name: domain.value for name, domain in space.domains.items()})
    card = Scorer(problem, space).card(design)
    result = next(one for one in card.limits if one.limit.measure == measure)
    names = in_the_way(space, design, result)
    table, _ = limits_table(space, design, card, "mm")
    asked = [row[-1] for row in table.rows if row[0] == measure.replace("_", " ")]
    words = "; up against " + " and ".join(repr(name) for name in names) if names else ""
    assert any(one.endswith(words) and ("against" in one) == bool(names) for one in asked) or not result.near
    brackets = f" ({' and '.join(repr(name) for name in names)})" if names and result.near else ""
    assert limit_words(space, design, result) == measure.replace("_", " ") + brackets
    return names


@pytest.mark.parametrize(
    ("boxes", "measure", "limit", "names"),
    [
        ([RIGHT], "front_obstruction_clearance", "at_least: 0 m", ["breast"]),
        ([RIGHT, LEFT], "front_obstruction_clearance", "at_least: 0 m", ["breast", "flue"]),
        # from the hinge at 1600 mm to the frame's corner, 740 mm aside and 495 mm off: 1330 mm, less the leaf's 800 mm
        ([], "door_clearance", "at_least: 530 mm", ["entry"]),
        # 1060 mm to the left wall, of which the column leaves 700 mm before the chairs
        ([BESIDE], "aisle_width", "at_least: 690 mm", ["column"]),
        ([], "aisle_width", "at_least: 1050 mm", []),  # the wall itself
        ([HUNG], "standing_headroom", "at_least: 2.18 m", ["beam"]),
        ([], "standing_headroom", "at_least: 2.68 m", []),  # the ceiling
        ([], "listening_distance", "at_least: 3.2 m", []),
    ],
)
def test_what_a_limit_has_come_up_against_is_named(boxes, measure, limit, names):
    assert told(boxes, measure, limit) == names
