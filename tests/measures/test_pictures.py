"""Pictures of other shapes on one image surface: their width, and the angle that they fill."""

from __future__ import annotations

import math

import pytest

from optimiser.measures import catalogue
from optimiser.sheet.tables import pictures_table
from optimiser.solve import solve
from tests.measures.conftest import problem
from tests.measures.test_rows import design

WIDE = 'aspect: "16:9"', 'aspect: "2.40:1"'


@pytest.mark.parametrize(("shape", "angle"), [("16:9", 47.925), ("1.85:1", 49.641), ("2.39:1", 61.717)])
def test_the_angle_at_two_picture_heights(shape, angle, only_space):
    """2 atan(a / 2h) at h = 2 heights of the picture: plane trigonometry, computed by hand. The surface is 3 m wide in
    2.40:1 and 1.25 m high, the eyes 2.5 m before it."""
    layout = only_space(problem(WIDE)).layout
    form = catalogue()["picture_angle"].form(layout, layout.rows[0], shape=shape)
    assert math.degrees(form.value(design(row1_y=3.0))) == pytest.approx(angle, abs=5e-3)


@pytest.mark.parametrize(
    ("aspect", "shape", "width"),
    [
        ("2.40:1", "16:9", 1.25 * 16 / 9),  # as high as the surface
        ("2.40:1", "4:3", 1.25 * 4 / 3),
        ("16:9", "2.39:1", 3.0),  # as wide as the surface
        ("16:9", "16:9", 3.0),
        ("4:3", "1.85:1", 3.0),
    ],
)
def test_a_picture_is_as_wide_or_as_high_as_the_surface(aspect, shape, width, only_space):
    layout = only_space(problem((WIDE[0], f'aspect: "{aspect}"'))).layout
    assert float(catalogue()["picture_width"].form(layout, shape=shape).value(design())) == pytest.approx(width)


def test_the_shape_of_the_screen_may_follow_from_what_is_watched():
    """A row 5 m from the front. 2.40:1 wins where only the image's width counts and less of a look up; where 16:9 is
    watched too, the same width in 16:9 shows it larger."""
    either = (WIDE[0], 'aspect: {choose: ["16:9", "2.40:1"]}')
    look = "  - {measure: upward_angle, at_most: 5 deg, fade: 40 deg}\n"
    watched = '  - {measure: picture_angle, shape: "16:9", at_least: 45 deg, fade: 20 deg, weight: 4}\n'
    wide, tall = (solve(problem(either, ("rows: 2", "rows: 1"), more=look + more), grid=0.02) for more in ("", watched))
    assert wide.design["screen.aspect"] == pytest.approx(2.4)
    assert tall.design["screen.aspect"] == pytest.approx(16 / 9)


def test_the_sheet_lists_them(only_space):
    """Of a surface 3 m wide in 2.40:1: 16:9 is 1.25 m high, 2.222 m wide, hypot of both 2.550 m."""
    space = only_space(problem(WIDE))
    lines = {row[0]: row[1:] for row in pictures_table(space, space.complete(design(row1_y=3.0)), "m").rows}
    assert lines["16:9"][:3] == ("2.222 m × 1.250 m", "2.550 m", "47.9°")
    assert lines["2.39:1"][2] == "61.7°" and len(lines) == 5
