"""Problem files for the tests of studies, invented, small and quick."""

STORE = """\
format: 1
title: Apple store
show: mm
room: {length: 5.2 m, width: 3.6 m, height: 2.5 m, reverberation_time: 0.3 s}
front:
  baffle: {depth: 0.4 m, margin: 50 mm, solid: true}
  screen: {aspect: "16:9", width: 2.4 m, bezel: 50 mm, bottom: 0.7 m, pixels: 3840}
seating:
  rows: 1
  seats: 3
  chair: {width: 0.75 m, depth: 0.95 m, reclined: 1.65 m, eye_height: 1.1 m, eye_to_back: 0.2 m, head_above_eye: 0.12 m}
limits:
  - {measure: listening_distance, at_least: 2 m}
  - {measure: rear_wall_distance, at_least: 0.5 m}
goals:
  - {measure: horizontal_angle, row: all, band: [45 deg, 50 deg], fade: 20 deg}
"""
"""One row, of which only the place is open. Image at y = 0.4 m, 2.4 m wide."""

BARN = """\
format: 1
title: Small barn
show: mm
room: {length: 6.4 m, width: 4.2 m, height: 2.8 m, reverberation_time: 0.3 s}
front:
  baffle: {depth: 0.4 m, margin: 50 mm, solid: true}
  screen:
    aspect: {choose: ["16:9", "2.40:1"]}
    width: {from: 1.8 m, to: 3.4 m}
    bezel: 50 mm
    gap: 50 mm
    bottom: {from: 0.6 m, to: 1 m}
    pixels: 3840
seating:
  rows: {from: 1, to: 2}
  seats: {choose: [2, 3, 4]}
  chair: {width: 0.75 m, depth: 0.95 m, reclined: 1.65 m, eye_height: 1.1 m, eye_to_back: 0.2 m, head_above_eye: 0.12 m}
  platform: {step: 50 mm, to: 0.4 m}
limits:
  - {measure: listening_distance, at_least: 2.2 m}
  - {measure: sightline_clearance, at_least: 60 mm}
goals:
  - {measure: horizontal_angle, row: reference, band: [45 deg, 50 deg], fade: 15 deg, weight: 3}
  - {measure: seat_count, at_least: 6, fade: 6, weight: 2}
  - {measure: image_width, at_least: 3.2 m, fade: 1.5 m, weight: 1}
  - {measure: rear_wall_distance, row: worst, at_least: 1 m, fade: 1 m, weight: 1}
"""
"""One row or two, four kinds of space: quick, but with a structure that changes."""
