"""The sheet's section on a front: every figure stands in the front's file, and the picture can be read."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace

import pytest
from click.testing import CliRunner

from optimiser.cli import program
from optimiser.errors import UsageError
from optimiser.problem.read import loads
from optimiser.sheet.bargain import front_section
from optimiser.sheet.fronts import apart_words
from optimiser.sheet.make import gather
from optimiser.sheet.scene import overlap
from optimiser.study.front import read_front
from tests.sheet.conftest import text

OPEN = (
    text(rows=2, show="mm")
    .replace("width: 2800 mm", "width: {from: 2000 mm, to: 3400 mm}")
    .replace("row1.y: 3.600 m", "row1.y: {from: 3 m, to: 5 m}")
    .replace("row2.y: 5.300 m", "row2.y: {from: 4.8 m, to: 6.6 m}")
)


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A problem file with room for choice, and the file of its front of width against distance."""
    folder = tmp_path_factory.mktemp("traded")
    file, study = folder / "room.yaml", folder / "front.jsonl"
    file.write_text(OPEN, encoding="utf-8")
    words = ["trade", str(file), "--between", "image_width", "--and", "horizontal_angle[row=1]:lower", "--points", "8"]
    done = CliRunner().invoke(program, [*words, "--workers", "1", "--out", str(study)])
    assert done.exit_code == 0, done.output
    return file, study


def _section(kept):
    file, study = kept
    problem = loads(OPEN, str(file))
    found = read_front(study, problem)
    return found, front_section(gather(problem, OPEN, file.name, prices=False, front=found), found)


def test_the_table_says_what_the_file_says(kept):
    _, study = kept
    records = [json.loads(line) for line in study.read_text(encoding="utf-8").splitlines()[1:]]
    found, section = _section(kept)
    table = section.blocks[-1]
    assert len(records) >= 8 and len(found.points) == len(records)
    *points, best = table.rows
    assert {"1", str(len(records))} <= {row[0] for row in points}
    for number, width, angle, score, *_ in points:
        record = records[int(number) - 1]
        assert width == f"{round(1000 * record['values'][0])} mm"
        assert angle == f"{record['values'][1]:.1f}°"
        assert score == f"{record['score']:.1f}"
    assert best[0] == "best" and best[-1] == "this sheet"
    assert float(best[3]) >= max(float(row[3]) for row in points)  # nothing scores more than the best


def test_one_design_is_told_as_one(tmp_path):
    """Width and area of an image of one shape go together: one design has the most of both, and nothing lies between
    points."""
    file, study = tmp_path / "room.yaml", tmp_path / "front.jsonl"
    file.write_text(OPEN, encoding="utf-8")
    words = ["trade", str(file), "--between", "image_width", "--and", "image_area", "--points", "4"]
    done = CliRunner().invoke(program, [*words, "--workers", "1", "--out", str(study)])
    assert done.exit_code == 0, done.output
    found, section = _section((file, study))
    assert len(found.points) == 1
    said, table = section.blocks  # and no picture of a single point
    assert said.text.startswith("More image width against more image area. These do not pull against each other")
    assert "one design has the most image width and the most image area" in said.text
    assert "Any two" not in said.text and "Whatever" not in said.text
    assert table.caption == "A design that no design beats in both"


def test_knees_are_explained_where_there_are_some(kept):
    found, _ = _section(kept)
    problem = loads(OPEN)
    material = gather(problem, OPEN, "room.yaml", prices=False)

    def caption(knees):
        points = tuple(replace(point, knee=k in knees) for k, point in enumerate(found.points))
        bent = replace(
            found, points=points, header={**found.header, "finished": {**found.summary, "knees": list(knees)}}
        )
        (words,) = front_section(material, bent).blocks[1].captions
        return words

    each = "Each point is a design that no design beats in both; numbers are those of the table"
    assert (
        caption((3,))
        == f"{each}, filled points are knees, where the front bends, the square is the design of this sheet."
    )
    assert caption(()) == f"{each}, the square is the design of this sheet."


def test_points_as_near_as_their_proofs_are_told_so(kept):
    """Two points that differ in nothing by more than twice what is left unproven have no distance to tell."""
    found, _ = _section(kept)
    alike = tuple(replace(found.points[0], proven=(1.0, 90.0)) for _ in range(2))
    said = apart_words(replace(found, points=alike))
    assert said == "They differ by no more than what is left unproven of each."


def test_the_pictures_letters_keep_apart(kept):
    from optimiser.sheet.bargain import _picture
    from optimiser.study.aims import told

    found, _ = _section(kept)
    problem = loads(OPEN)
    material = gather(problem, OPEN, "room.yaml", prices=False)
    scene = _picture(found, told(problem, material.space, material.design, found.objectives))
    assert len([item for item in scene.items if type(item).__name__ == "Circle"]) == len(found.points)
    for one, two in itertools.combinations(scene.texts(), 2):
        assert not overlap(scene.text_box(one), scene.text_box(two)), (one.text, two.text)


def test_the_command_shows_a_front_and_refuses_another_files(kept, tmp_path):
    file, study = kept
    call = ["sheet", str(file), "--quick", "--only", "html", "--front", str(study), "--out"]
    done = CliRunner().invoke(program, [*call, str(tmp_path / "one")])
    assert done.exit_code == 0, done.output
    assert "What else could be had" in (tmp_path / "one" / "sheet.html").read_text(encoding="utf-8")

    other = tmp_path / "other.yaml"
    other.write_text(OPEN.replace("4.4 m", "4.5 m"), encoding="utf-8")
    done = CliRunner().invoke(program, ["sheet", str(other), *call[2:], str(tmp_path / "two")])
    assert isinstance(done.exception, UsageError) and "front of another problem file" in str(done.exception)
    assert not (tmp_path / "two").exists()


@pytest.mark.parametrize(
    "value, words",
    [(0.0, "0"), (5.7e-5, "less than 0.001"), (0.0123, "0.012"), (1.78, "1.8"), (432.4, "432"), (901.0, "901")],
)
def test_amounts_are_told_without_powers_of_ten(value, words):
    from optimiser.sheet.fronts import _digits

    assert _digits(value) == words


@pytest.mark.parametrize(
    "measure, system, value, words",
    [
        ("image_area", "m", 0.15, "0.15 m2"),
        ("image_area", "ft-in", 0.15, "1.6 ft2"),  # 0.15 / 0.3048^2 = 1.61
        ("luminance", "m", 0.5, "0.5 cd/m2"),
        ("luminance", "ft-in", 0.5, "0.15 fL"),  # 0.5 / 3.426 = 0.146
        ("horizontal_angle", "m", 0.25, "0.25°"),
        ("pixels_per_degree", "m", 2.0, "2 px/deg"),
        ("deepest_dip", "m", 0.3, "0.3 dB"),
        ("seat_count", "m", 1.0, "1"),
        ("reverberation_time", "m", 0.02, "0.02 s"),
        ("image_width", "m", 0.0082, "8.2 mm"),
        ("image_width", "cm", 0.0082, "0.82 cm"),
        ("image_width", "ft-in", 0.0082, "0.32 in"),  # 8.2 / 25.4 = 0.323
        ("image_width", "in", 0.0000123, "less than 0.001 in"),  # 0.00048 in
        ("image_width", "ft-in", 0.02, "13/16 in"),  # 0.787 in, to a sixteenth
    ],
)
def test_amounts_have_the_unit_that_the_file_shows(measure, system, value, words):
    from optimiser.sheet.fronts import fine
    from optimiser.study.objectives import Objective

    assert fine(Objective(measure), value, system) == words
