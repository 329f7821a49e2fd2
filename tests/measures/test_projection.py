"""Lens, light and kinds of screen: values by hand and from published examples, and what a file may choose."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from optimiser.design import spaces
from optimiser.errors import ProblemFileError, UsageError
from optimiser.explain.wishes import decision_wish, granted
from optimiser.measures import catalogue
from optimiser.notes import notes
from optimiser.problem.decisions import with_all_fixed, with_fixed
from optimiser.requirements import bounds, room_limits, targets
from optimiser.solve import solve
from tests.measures.conftest import agree, designs, problem

FOOT = 0.3048
BEAM = "projector: {lumens: 2000, throw_ratio: [1.3, 2.1], y: {from: 5 m, to: 6.5 m}, z: {from: 2 m, to: 2.5 m}}\n"
ONE = {
    "screen.width": 3.0,
    "screen.bezel": 0.05,
    "screen.bottom": 0.8,
    "baffle.depth": 0.42,
    "projector.y": 5.0,
    "projector.z": 2.4,
    "row1.y": 3.5,
    "row1.platform": 0.0,
    "row1.seats": 3.0,
    "row1.risers": 1.0,
    "row2.y": 5.2,
    "row2.platform": 0.3,
    "row2.seats": 3.0,
    "row2.risers": 2.0,
}
"""A design with its image half a metre from the front wall."""


def value(found, name, row=None, design=ONE, **options):
    layout = found.layout
    return float(catalogue()[name].form(layout, row and layout.rows[row - 1], **options).value(design))


# --- the lens and its light ---------------------------------------------------------------------


def test_throw_ratio_of_the_glossary(only_space):
    # a glossary of audio-visual terms: ratio 1.5, width 3 m -> 4.5 m
    space = only_space(problem(more=BEAM))
    assert value(space, "throw_ratio") == pytest.approx((5.0 - 0.5) / 3.0)


@pytest.mark.parametrize(
    ("aspect", "chip_width"),
    [("16:9", 3.0), ("2.40:1", 3.0), ("4:3", 4.0)],  # a 4:3 image of 3 m stands in a 16:9 one of 4 m
)
def test_throw_ratio_speaks_of_the_whole_chip(only_space, aspect, chip_width):
    space = only_space(problem(('aspect: "16:9"', f'aspect: "{aspect}"'), more=BEAM))
    assert value(space, "throw_ratio") == pytest.approx(4.5 / chip_width)


def test_lens_offset(only_space):
    space = only_space(problem(more=BEAM))
    # image 1.6875 m high from 0.8 m: its middle at 1.64375 m
    assert value(space, "lens_offset") == pytest.approx((2.4 - 1.64375) / 1.6875)
    # level with the upper edge: half a height
    assert value(space, "lens_offset", design=ONE | {"projector.z": 0.8 + 1.6875}) == pytest.approx(0.5)
    scope = only_space(problem(('aspect: "16:9"', 'aspect: "2.40:1"'), more=BEAM))
    # the scope image is 1.25 m high, within a 16:9 one of 1.6875 m
    assert value(scope, "lens_offset") == pytest.approx((2.4 - 0.8 - 0.625) / 1.6875)


def test_luminance_by_calculator(only_space):
    # 1000 lm on a 100 in 16:9 image of 2.7568 m2 at gain 1: 115.46 cd/m2, 33.70 fL
    space = only_space(problem(more=BEAM.replace("2000", "1000")))
    assert value(space, "luminance", design=ONE | {"screen.width": 2.54 * 0.871576}) == pytest.approx(115.46, abs=0.01)


def test_luminance_of_the_primer(only_space):
    # a primer on video projection of 2003: 2000 lm on 6 ft x 8 ft give 41.66 lm/ft2, at gain 1 as many foot-lamberts
    found = problem(('aspect: "16:9"', 'aspect: "4:3"'), more=BEAM.replace("z:", 'chip: "4:3", z:'))
    got = value(only_space(found), "luminance", design=ONE | {"screen.width": 8 * FOOT})
    assert got * math.pi * FOOT**2 == pytest.approx(41.66, abs=0.01)


def test_scope_and_holes_take_their_share(only_space):
    plain = value(only_space(problem(more=BEAM)), "luminance")
    scope = value(only_space(problem(('aspect: "16:9"', 'aspect: "2.40:1"'), more=BEAM)), "luminance")
    # the same light on each square metre: fewer lumens on a smaller image
    assert scope == pytest.approx(plain)
    holes = value(
        only_space(problem(("pixels: 3840", "pixels: 3840, gain: 1.2, open_area: 5 %"), more=BEAM)), "luminance"
    )
    assert holes == pytest.approx(plain * 1.2 * 0.95)


@pytest.mark.parametrize("more, columns", [(BEAM, 2880), ("", 3840)])
def test_a_narrow_image_has_a_part_of_the_chips_columns(only_space, more, columns):
    """4:3 within a chip of 16:9 has 3/4 of its columns; without a projector the file's pixels are the image's own."""
    space = only_space(problem(('aspect: "16:9"', 'aspect: "4:3"'), more=more))
    away = ONE["row1.y"] - float(space.layout.image_y.value({**space.settled, **ONE}))
    got = value(space, "pixels_per_degree", 1, design=ONE)
    assert got == pytest.approx(math.tan(math.radians(1.0)) * away * columns / ONE["screen.width"])


def test_light_over_heads(only_space):
    space = only_space(problem(more=BEAM))
    # the ray rises from 0.8 m at the image to 2.4 m at the lens, 4.5 m away
    assert value(space, "light_path_clearance", 1) == pytest.approx(0.8 + 1.6 * 3.0 / 4.5 - 1.22)
    # a standing person of 72 in, at the feet of the reclined chair 1.3 m in front of the eyes
    standing = value(space, "light_path_clearance", 1, posture="standing")
    assert standing == pytest.approx(0.8 + 1.6 * 1.7 / 4.5 - 72 * 0.0254)
    # row 2 sits behind the lens: nothing can be in the light
    assert value(space, "light_path_clearance", 2) == np.inf
    assert value(space, "light_path_clearance", 2, posture="standing") == pytest.approx(
        0.8 + 1.6 * 3.4 / 4.5 - 0.3 - 72 * 0.0254
    )


@pytest.mark.parametrize(
    "name", ["throw_ratio", "lens_offset", "luminance", "light_path_clearance", "pixels_per_degree"]
)
def test_values_and_conditions_agree(name):
    measure = catalogue()[name]
    for space in spaces(problem(('aspect: "16:9"', 'aspect: {choose: ["16:9", "2.40:1"]}'), more=BEAM)):
        drawn = designs(space, 300)
        for row in measure.rows_of(space.layout) if measure.per_row else (None,):
            form = measure.form(space.layout, row)
            finite = np.asarray(form.value(drawn), dtype=float)
            finite = np.broadcast_to(finite, (300,))[np.isfinite(np.broadcast_to(finite, (300,)))]
            agree(form, drawn, np.quantile(finite, [0.05, 0.4, 0.8]))


def test_the_projector_limits_where_it_may_stand():
    found = problem(more=BEAM.replace("z:", "lens_offset: [-50 %, 40 %], z:"))
    own = {b.limit.measure: b.limit for space in spaces(found) for b in bounds(found, space) if b.own}
    assert (own["throw_ratio"].at_least, own["throw_ratio"].at_most) == (1.3, 2.1)
    assert (own["lens_offset"].at_least, own["lens_offset"].at_most) == (-0.5, 0.4)
    assert own["light_path_clearance"].at_least == 0.0
    solution = solve(found, grid=0.01)
    (space,) = spaces(found)
    layout = solution.space.layout
    assert 1.3 <= float(catalogue()["throw_ratio"].form(layout).value(solution.design)) <= 2.1
    assert float(catalogue()["lens_offset"].form(layout).value(solution.design)) <= 0.4 + 1e-9


def test_a_shelf_behind_the_rear_wall(only_space):
    found = problem(more=BEAM.replace("y: {from: 5 m, to: 6.5 m}", "behind: {from: 5 cm, to: 30 cm}"))
    assert only_space(found).domains["projector.y"].ends == pytest.approx((7.25, 7.5))
    fixed = with_fixed(found, "projector.y", "6 m")
    assert only_space(fixed).domains["projector.y"].ends == (6.0, 6.0)


# --- kinds of screen ------------------------------------------------------------------------------

PANEL = ('aspect: "16:9", width: {from: 2 m, to: 3.6 m}', "type: panel, diagonal: {choose: [77 in, 98 in]}")
TILED = (
    'aspect: "16:9", width: {from: 2 m, to: 3.6 m}',
    "type: tiled, tile: {width: 600 mm, height: 337.5 mm, pitch: 1.25 mm}, columns: {from: 4, to: 6}, tile_rows: {from: 4, to: 5}",
)
NO_PIXELS = (",\n           pixels: 3840", "")


def test_a_panel_shines_by_itself(only_space):
    space = only_space(problem(PANEL, ("pixels: 3840", "pixels: 3840, luminance: 350 cd/m2"), more=BEAM))
    assert space.layout.lens is None
    assert "projector.y" not in space.domains
    assert value(space, "luminance", design={}) == 350.0


def test_loudspeakers_beside_a_panel(only_space):
    space = only_space(
        problem(PANEL, ("seating:", "  loudspeakers: {width: 0.3 m, height: 1 m, gap: 0.1 m}\nseating:"))
    )
    design = {"screen.diagonal": 77 * 0.0254, "baffle.depth": 0.4, "screen.bottom": 0.8, "row1.y": 3.4}
    half = 0.5 * 77 * 0.0254 * 16 / math.hypot(16, 9)
    assert value(space, "baffle_width", design=design) == pytest.approx(2 * (half + 0.05 + 0.1 + 0.3 + 0.05))
    assert value(space, "baffle_margin", design=design) == pytest.approx(0.05)
    assert value(space, "loudspeaker_angle", 1, design=design) == pytest.approx(
        math.atan((half + 0.05 + 0.1 + 0.15) / 3.0)
    )
    assert value(space, "loudspeaker_room", design=design) == np.inf


@pytest.mark.parametrize(
    ("place", "room"),
    [("under", 0.8 - 0.05 - 0.1 - 0.4), ("over", 2.7 - 0.8 - 77 * 0.0254 * 9 / math.hypot(16, 9) - 0.05 - 0.1 - 0.4)],
)
def test_loudspeakers_under_and_over_a_panel(only_space, place, room):
    speakers = f"  loudspeakers: {{place: {place}, width: 0.5 m, height: 0.4 m, gap: 0.1 m, spread: 0.8}}\nseating:"
    space = only_space(problem(PANEL, ("seating:", speakers)))
    design = {"screen.diagonal": 77 * 0.0254, "baffle.depth": 0.4, "screen.bottom": 0.8, "row1.y": 3.4}
    width = 77 * 0.0254 * 16 / math.hypot(16, 9)
    assert value(space, "loudspeaker_room", design=design) == pytest.approx(room)
    assert value(space, "baffle_width", design=design) == pytest.approx(width + 0.2)
    assert value(space, "loudspeaker_angle", 1, design=design) == pytest.approx(math.atan(0.4 * width / 3.0))


@pytest.mark.parametrize(
    ("wide", "spread", "least"),
    [
        # by hand: a panel of 77 in is 1.7046 m wide, in the middle of a room of 4.4 m
        (0.5, 0.8, 0.5 * 0.8 * 1.7046 - 0.5),  # from the left cabinet to the middle one
        (0.75, 0.8, 0.5 * 0.8 * 1.7046 - 0.75),  # which it would overlap
        (
            2.0,
            3.0,
            0.5 * 4.4 - 0.5 * 3.0 * 1.7046 - 1.0,
        ),  # from the left cabinet to the wall, through which it would go
    ],
)
@pytest.mark.parametrize("place", ["under", "over"])
def test_loudspeakers_side_by_side_keep_apart(only_space, place, wide, spread, least):
    """Plane geometry: three cabinets in a line, and the side walls at its ends."""
    speakers = (
        f"  loudspeakers: {{place: {place}, width: {wide} m, height: 0.2 m, gap: 0.05 m, spread: {spread}}}\nseating:"
    )
    given = problem(PANEL, ("seating:", speakers))
    space = only_space(given)
    design = {"screen.diagonal": 77 * 0.0254, "baffle.depth": 0.4, "screen.bottom": 0.8, "row1.y": 3.4}
    assert value(space, "loudspeaker_spacing", design=design) == pytest.approx(least, abs=1e-4)
    assert "loudspeaker_spacing" in {limit.measure for limit in room_limits(given)}


@pytest.mark.parametrize(
    ("speakers", "told"),
    [
        ("", True),
        ("  loudspeakers: {width: 0.3 m}\n", True),
        ("  loudspeakers: {width: 0.3 m, height: 1 m}\n", False),
        ("  loudspeakers: {choose: [{name: Oak, width: 0.2 m}, {name: Elm, width: 0.3 m}]}\n", True),
    ],
)
def test_cabinets_of_a_size_that_the_file_does_not_give_are_told_of(speakers, told):
    """12 in by 24 in where nothing is written: 304.8 mm and 609.6 mm."""
    given = problem(PANEL, ("seating:", speakers + "seating:"))
    space = next(iter(spaces(given)))
    design = space.complete({name: domain.ends[0] for name, domain in space.domains.items()})
    said = [note for note in notes(given, space, design) if "size of the front loudspeakers" in note]
    assert len(said) == told
    assert all(("0.305 m wide" in note) == (not speakers) and "0.610 m high beside" in note for note in said)
    through = problem()
    (space,) = spaces(through)
    assert not any("size of the front" in note for note in notes(through, space, ONE))


@pytest.mark.parametrize(
    ("baffle", "deep", "told"), [(0.0, 0.3, True), (0.0, 0.08, False), (0.4, 0.3, False), (0.0, None, False)]
)
def test_cabinets_with_no_baffle_to_be_in_are_told_of(only_space, baffle, deep, told):
    """The image is 80 mm from the front wall where there is no baffle: a cabinet of 80 mm fits behind it, one of 0.3 m
    does not."""
    speakers = "" if deep is None else f"  loudspeakers: {{depth: {deep} m}}\n"
    given = problem(
        ("depth: {from: 0.3 m, to: 0.5 m}", "depth: {from: 0 m, to: 0.5 m}"), ("seating:", speakers + "seating:")
    )
    said = notes(given, only_space(given), ONE | {"baffle.depth": baffle})
    assert any("no baffle wall" in note and "0.080 m from the front wall" in note for note in said) == told


@pytest.mark.parametrize("place", ["beside", "under", "over"])
@pytest.mark.parametrize(
    ("baffle", "deep", "told"), [(0.0, 0.15, True), (0.4, 0.15, False), (0.0, 0.0, False), (0.0, None, False)]
)
def test_cabinets_that_stand_out_into_the_room_are_told_of(only_space, place, baffle, deep, told):
    """Ears 3 m from a wall with cabinets 0.15 m deep before it, 1 m aside, hear them atan(1 / 2.85) aside, 0.9 degrees
    more than of faces in the wall: what is reckoned from the wall is said to be."""
    size = "" if deep is None else f", depth: {deep} m"
    given = problem(
        ("depth: {from: 0.3 m, to: 0.5 m}", "depth: {from: 0 m, to: 0.5 m}"),
        ("seating:", f"  loudspeakers: {{place: {place}{size}}}\nseating:"),
    )
    said = notes(given, only_space(given), ONE | {"baffle.depth": baffle})
    assert any("0.150 m deep: they stand out into the room" in note for note in said) == told


def test_an_image_one_hears_through_has_them_behind(only_space):
    layout = only_space(problem()).layout
    assert layout.speakers.place == "behind"
    assert layout.speakers.offset.value({"screen.width": 3.0}) == pytest.approx(0.9 * 1.5)


def test_tiled_walls_are_of_whole_tiles():
    found = problem(TILED, NO_PIXELS)
    shapes = {}
    for space in spaces(found):
        domain = space.domains["screen.columns"]
        for columns in getattr(domain, "values", None) or (domain.value,):
            design = space.complete({n: d.ends[0] for n, d in space.domains.items()} | {"screen.columns": columns})
            shapes[columns, design["screen.tile_rows"]] = design["screen.width"], space.layout.aspect
    assert set(shapes) == {(c, r) for c in (4.0, 5.0, 6.0) for r in (4.0, 5.0)}
    for (columns, rows), (width, aspect) in shapes.items():
        assert width == pytest.approx(0.6 * columns)
        assert width / aspect == pytest.approx(0.3375 * rows)


def test_pixels_of_a_tiled_wall():
    # 1.25 mm at 3.44 m x 1.25 is one arc minute: 60 pixels to the degree
    for space in spaces(problem(TILED, NO_PIXELS)):
        design = {"row1.y": 0.5 + 0.00125 / math.tan(math.radians(1 / 60)), "baffle.depth": 0.42}
        assert value(space, "pixels_per_degree", 1, design=design) == pytest.approx(60.0, rel=2e-4)


CHOICE = (
    'screen: {aspect: "16:9", width: {from: 2 m, to: 3.6 m}, bezel: 50 mm, gap: 80 mm, bottom: {from: 0.6 m, to: 1 m},\n'
    "           pixels: 3840}",
    "screens:\n"
    "    - {type: projected, width: {from: 2 m, to: 3.6 m}, bezel: 50 mm, gap: 80 mm, bottom: 0.7 m}\n"
    "    - {type: panel, diagonal: {choose: [65 in, 77 in]}, bezel: 15 mm, bottom: 0.7 m, luminance: 300 cd/m2}",
)


def test_a_choice_between_projection_and_panel():
    more = BEAM + "limits: [{measure: listening_distance, at_least: 2.4 m}]\n"
    found = problem(CHOICE, more=more)
    best = solve(found, grid=0.01)
    alone = {kind: solve(with_fixed(found, "screen.type", kind), grid=0.01) for kind in ("projected", "panel")}
    assert best.score == max(s.score for s in alone.values())
    # 45 degrees from 2.4 m need 1.99 m: no panel of 77 in, which is 1.70 m wide
    assert alone["panel"].score < 60.0 < alone["projected"].score
    assert best.space.layout.screen_type == "projected"
    assert best.design["screen.type"] == 0.0


def test_pinning_a_size_leaves_the_screens_that_have_it():
    found = with_fixed(problem(CHOICE, more=BEAM), "screen.diagonal", "65 in")
    assert [s.type for s in found.screens] == ["panel"]
    assert [s.type for s in with_fixed(problem(CHOICE, more=BEAM), "screen.bottom", "0.8 m").screens] == [
        "projected",
        "panel",
    ]


@pytest.mark.parametrize(
    ("name", "value"), [("projector.y", "4 m"), ("projector.z", "2.2 m"), ("loudspeakers.z", "1.2 m")]
)
def test_pinning_what_a_panel_has_not_leaves_it_out(name, value):
    pinned_on_projected_images_only(BEAM, name, value)


def test_pinning_a_projector_of_a_list_leaves_the_panel_out():
    """A panel has none: else the best panel would be called the best of all designs with that projector."""
    models = ", ".join(f"{{name: {name}, lumens: {lumens} lm}}" for name, lumens in (("Moth", 900), ("Owl", 2500)))
    listed = BEAM.replace("lumens: 2000", f"choose: [{models}]")
    pinned_on_projected_images_only(listed, "projector", "Owl")


def pinned_on_projected_images_only(beam, name, value):
    """No lens throws on a panel, and no loudspeaker stands behind one: it has no such decision to keep."""
    given = problem(CHOICE, more=beam)
    assert [s.type for s in with_fixed(given, name, value).screens] == ["projected"]
    panel = with_fixed(given, "screen.type", "panel")
    with pytest.raises(UsageError, match=f"^{name}: .*(not projected|beside the image)"):
        with_fixed(panel, name, value)
    both = {name: value, "screen.type": "panel"}  # in whatever order, it is not that the file has no panel
    with pytest.raises(UsageError, match=f"^{name}: "):
        with_all_fixed(given, both)
    with pytest.raises(UsageError, match=f"^{name}: "):
        granted(given, tuple(decision_wish(given, *item) for item in both.items()))


def test_goals_on_a_projector_do_not_count_where_there_is_none():
    goal = "  - {measure: throw_ratio, band: [1.4, 1.8], fade: 0.2}\n"
    found = problem(CHOICE, more=goal + BEAM)
    counted = {s.layout.screen_type: [t.measure.name for t in targets(found, s)] for s in spaces(found)}
    assert counted == {"projected": ["horizontal_angle", "throw_ratio"], "panel": ["horizontal_angle"]}


@pytest.mark.parametrize(
    ("changes", "goal", "key"),
    [
        ((), "luminance, at_least: 40 cd/m2, fade: 10 cd/m2", "projector"),
        ((PANEL,), "luminance, at_least: 40 cd/m2, fade: 10 cd/m2", "front.screen.luminance"),
        ((NO_PIXELS,), "pixels_per_degree, at_least: 60 px/deg, fade: 10 px/deg", "front.screen.pixels"),
        ((), "throw_ratio, at_least: 1, fade: 1", "projector"),
    ],
)
def test_what_a_measure_needs(changes, goal, key):
    found = problem(*changes, more=f"  - {{measure: {goal}}}\n")
    with pytest.raises(
        ProblemFileError, match=rf"test.yaml:1[56]:5: goals\.2: .*needs {re.escape(key)}, which the file does not give"
    ):
        for space in spaces(found):
            targets(found, space)


@pytest.mark.parametrize(
    ("holes", "place", "told"), [("", "behind", True), ("6 %", "behind", False), ("", "beside", False)]
)
def test_loudspeakers_behind_a_surface_without_holes_are_told_of(only_space, holes, place, told):
    pixels = ("           pixels: 3840}", "           pixels: 3840" + (f", open_area: {holes}" if holes else "") + "}")
    more = ("seating:\n", f"  loudspeakers: {{place: {place}, width: 0.2 m, height: 0.4 m}}\nseating:\n")
    found = problem(pixels, more, more=BEAM)
    said = [note for note in notes(found, only_space(found), ONE) if "no holes" in note]
    assert bool(said) == told


def test_holes_are_those_of_the_screen_that_is_projected_on(only_space):
    """Of kinds of screen to choose from, that of the design is asked, wherever the file lists it."""
    panel = "{type: panel, diagonal: 65 in, bottom: 0.7 m, luminance: 120 cd/m2, pixels: 3840}"
    first = ("  screen: {", f"  screens:\n    - {panel}\n    - {{")
    holes = ("           pixels: 3840}", "           pixels: 3840, open_area: 6 %}")
    for changes, told in ([first], True), ([first, holes], False):
        kinds = problem(*changes, more=BEAM)
        space = next(s for s in spaces(kinds) if s.layout.screen_type == "projected")
        said = [note for note in notes(kinds, space, {**space.held, **ONE}) if "no holes" in note]
        assert bool(said) == told
