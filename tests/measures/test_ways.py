"""Ways under what hangs low, and what is said of it."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from optimiser.cautions import cautions
from optimiser.cli import program
from tests.measures.conftest import problem, text_of
from tests.measures.test_projection import ONE, value

AISLE = ("seating:\n", "seating:\n  aisle: {sides: both, width: 0.5 m}\n")


def beam(low: str):
    """A beam from wall to wall over the first row, 0.2 m long."""
    box = f"{{name: steel, x: [0 m, 4.4 m], y: [3.0 m, 3.2 m], z: [{low}, 2.7 m]}}"
    return "reverberation_time: 0.3 s}", f"reverberation_time: 0.3 s, obstructions: [{box}]}}"


@pytest.mark.parametrize(
    ("low", "passes"),
    [
        ("6 ft 8 in", True),  # what the IRC 2018, R311.7.2, as quoted, asks over stairs
        ("2.0 m", True),  # what Approved Document K, 1.11, as quoted, asks there
        ("1.99 m", False),
    ],
)
def test_one_passes_under_what_hangs_as_high_as_a_code_asks(only_space, low, passes):
    space = only_space(problem(beam(low), AISLE))
    # row 1 in the middle of 4.4 m, four chairs of 0.7 m: 0.8 m at either side
    seated = ONE | {"row1.y": 3.4, "row1.seats": 4.0, "seats": 4.0}
    assert value(space, "aisle_width", 1, design=seated) == pytest.approx(0.8 if passes else 0.0)
    assert value(space, "standing_headroom", 1, design=seated) == pytest.approx(
        float(low.split()[0]) if "m" in low else 2.032
    )


def test_the_row_with_little_headroom_is_named(only_space):
    """The beam hangs over row 1, on the floor; row 2 alone has a platform."""
    given = problem(beam("2.05 m"))
    said = " ".join(cautions(given, only_space(given), ONE | {"row1.y": 3.4, "row2.y": 5.6}))
    assert "Headroom over row 1 is 2.050 m" in said


@pytest.mark.parametrize(("low", "told"), [("1.95 m", True), ("2.65 m", False)])
def test_what_takes_of_the_ways_is_named_where_they_cannot_be(tmp_path, low, told):
    path = tmp_path / "room.yaml"
    chairs = ("rows: 2\n", "rows: 2\n  place: {row1.y: 3.4 m, row2.y: 4.9 m}\n")
    limits = "limits:\n  - {measure: aisle_width, at_least: 1.2 m}\n"
    path.write_text(text_of(beam(low), AISLE, chairs) + limits, encoding="utf-8")
    for command in ("solve", "explain"):
        said = CliRunner().invoke(program, [command, str(path), "--grid", "5 cm"]).output
        assert "Conflict" in said or "Impossible" in said
        assert ("see 'steel' in the file" in " ".join(said.split())) is told, said
