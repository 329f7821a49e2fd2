"""Small rooms whose every design on a coarse grid can be looked at, and the looking itself."""

import numpy as np

from optimiser.design import Held, Listed, spaces
from optimiser.problem.read import loads
from optimiser.score import Scorer

GRID = 0.1

ONE_ROW = """\
format: 1
title: Small den
show: m
room:
  length: 5.2 m
  width: 3.6 m
  height: 2.5 m
  doors:
    - {name: entry, wall: left, hinge: 1.3 m, leaf: 0.8 m, towards: front, opens: in}
  reverberation_time: 0.3 s
front:
  baffle: {depth: {from: 0.2 m, to: 0.4 m}, margin: 0.05 m}
  screen: {width: {from: 1.8 m, to: 3.2 m}, bezel: {choose: [0.1 m, 0.05 m]}, gap: 0.05 m,
           bottom: {from: 0.5 m, to: 0.8 m}}
seating:
  rows: 1
  seats: {choose: [2, 3]}
  chair: {width: 0.75 m, depth: 0.95 m, reclined: 1.6 m, eye_height: 1.1 m, eye_to_back: 0.25 m, head_above_eye: 0.12 m}
  aisle: {sides: one, width: 0.6 m}
limits:
  - {measure: listening_distance, at_least: 2.2 m}
  - {measure: rear_wall_distance, at_least: 0.9 m}
  - {measure: upward_angle, at_most: 32 deg}
goals:
  - {measure: horizontal_angle, band: [50 deg, 55 deg], fade: 20 deg, weight: 5}
  - {measure: midpoint_offset, at_least: 0.6 m, fade: 0.6 m, weight: 2}
  - {measure: image_width, at_least: 3 m, fade: 1.5 m, weight: 2}
  - {measure: seat_count, at_least: 3, fade: 2, weight: 1}
"""

TWO_ROWS = """\
format: 1
title: Long den
show: m
room:
  length: 6.6 m
  width: 4.2 m
  height: 2.6 m
  reverberation_time: 0.35 s
front:
  baffle: {depth: {from: 0.3 m, to: 0.4 m}, margin: 0.05 m}
  screen: {width: {from: 2.4 m, to: 3.4 m}, bezel: 0.1 m, gap: 0.1 m, bottom: {from: 0.6 m, to: 0.8 m}}
seating:
  rows: 2
  seats: 3
  chair: {width: 0.75 m, depth: 0.95 m, reclined: 1.6 m, eye_height: 1.1 m, eye_to_back: 0.25 m, head_above_eye: 0.12 m}
  platform: {step: 0.1 m, to: 0.4 m, risers: 2}
limits:
  - {measure: listening_distance, at_least: 2.2 m}
  - {measure: riser_step, at_most: 0.2 m, firm: true}
  - {measure: sightline_clearance, at_least: 0.05 m}
  - {measure: rear_wall_distance, at_least: 0.5 m}
goals:
  - {measure: horizontal_angle, row: reference, band: [48 deg, 55 deg], fade: 15 deg, weight: 5}
  - {measure: length_fraction, row: reference, band: [0.52, 0.62], fade: 0.15, weight: 2}
  - {measure: sightline_clearance, at_least: 0.12 m, fade: 0.07 m, weight: 2}
  - {measure: image_width, at_least: 3.2 m, fade: 1.2 m, weight: 2}
"""


def one_row(**changes):
    return loads(changed(ONE_ROW, changes))


def two_rows(**changes):
    return loads(changed(TWO_ROWS, changes))


def changed(text, changes):
    for before, after in changes.get("text", {}).items():
        assert before in text, before
        text = text.replace(before, after)
    return text


def every_design(problem, grid=GRID):
    """Each space with all of its designs, as arrays."""
    for space in spaces(problem, grid=grid):
        axes = []
        for domain in space.domains.values():
            if isinstance(domain, Held):
                axes.append([domain.value])
            elif isinstance(domain, Listed):
                axes.append(list(domain.values))
            else:
                axes.append([domain.step * n for n in range(domain.low, domain.high + 1)])
        mesh = np.meshgrid(*axes, indexing="ij")
        designs = {name: m.ravel() for name, m in zip(space.domains, mesh, strict=True)}
        designs |= {name: np.full(mesh[0].size, value) for name, value in space.settled.items()}
        for name, form in (
            ("screen.width", space.layout.image_width),
            ("baffle.width", space.layout.baffle_width),
            ("screen.centre", space.layout.image_centre),
        ):
            designs[name] = np.broadcast_to(form.value(designs), (mesh[0].size,))
        sense = np.ones(mesh[0].size, dtype=bool)
        for expression in space.sense:
            sense &= np.broadcast_to(expression.value(designs) >= -1e-9, sense.shape)
        yield space, {name: values[sense] for name, values in designs.items()}


def allowed(problem, grid=GRID):
    """Each space with its designs that hold every limit, and their scores."""
    for space, designs in every_design(problem, grid):
        scorer = Scorer(problem, space)
        count = len(designs["row1.y"])
        good = np.broadcast_to(scorer.shortfall(designs) <= 0.0, (count,))
        kept = {name: values[good] for name, values in designs.items()}
        scores = np.broadcast_to(scorer.scores(kept), (int(good.sum()),))
        yield space, kept, scores


def best_score(problem, grid=GRID):
    """The best score by looking at every design; None where no design holds all limits."""
    scores = [float(s.max()) for _, _, s in allowed(problem, grid) if len(s)]
    return max(scores) if scores else None
