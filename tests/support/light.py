"""The checker's formulas for lens, light and the kinds of screen; a part of checker.Judge."""

from __future__ import annotations

import math

import numpy as np

from tests.support.shape import LATE


class OfLight:
    """Reads ``self.problem``, whose screen is of the kind that is judged."""

    # --- kinds of screen ------------------------------------------------------------------------

    @property
    def kind(self) -> str:
        return self.problem.screen.type

    def cabinets(self):
        """Where the front loudspeakers stand, and what one and its gap take."""
        given = self.problem.loudspeakers
        place = "beside" if given.place == "behind" and self.kind != "projected" else given.place
        return place, given.width, given.height, given.gap

    def beside_frame(self) -> float:
        place, wide, _, gap = self.cabinets()
        return wide + gap if place == "beside" else 0.0

    def top_of_front(self, d):
        place, _, high, gap = self.cabinets()
        top = d["screen.bottom"] + self.height(d) + d["screen.bezel"]
        return top + gap + high if place == "over" else top

    def pitch(self, d):
        """From pixel to pixel."""
        screen = self.problem.screen
        if self.kind == "tiled":
            return screen.tile.pitch
        projected = self.kind == "projected" and self.problem.projector is not None
        return (self.chip_size(d)[0] if projected else self.width(d)) / screen.pixels

    def loudspeaker_room(self, d):
        place, _, high, gap = self.cabinets()
        if place == "under":
            return d["screen.bottom"] - d["screen.bezel"] - gap - high
        if place == "behind" and "loudspeakers.z" in d:
            top = d["screen.bottom"] + self.height(d)
            inside = np.minimum(d["loudspeakers.z"] - d["screen.bottom"], top - d["loudspeakers.z"])
            return np.minimum(inside, self.aside_inside(d))
        if place == "behind":
            return self.aside_inside(d)
        if place != "over":
            return np.inf
        outer = self.speaker_offset(d) + self.cabinets()[1] / 2
        ends = self.centre(d) - outer, self.centre(d) + outer
        return self.air(ends, (d["baffle.depth"], self.screen_y(d) + 0.02)) - self.top_of_front(d)

    def aside_inside(self, d):
        """How far the outer axes are inside of the image, where the file lets them be anywhere."""
        return (self.width(d) - d["loudspeakers.apart"]) / 2 if "loudspeakers.apart" in d else np.inf

    def speaker_height(self, d):
        """Of what radiates, above the floor: the middle of a cabinet."""
        place, _, high, gap = self.cabinets()
        if place == "behind":
            return d["loudspeakers.z"]
        if place == "beside":
            return d["screen.bottom"] + self.height(d) / 2
        return (
            self.top_of_front(d) - high / 2
            if place == "over"
            else d["screen.bottom"] - d["screen.bezel"] - gap - high / 2
        )

    def loudspeaker_elevation(self, d, r):
        return np.arctan2(self.speaker_height(d) - r.eye, r.y - d["baffle.depth"])

    def sound_path_clearance(self, d, r):
        """By similar triangles from the loudspeaker's height down or up to the ears."""
        start, rooms = self.speaker_height(d), []
        for n in range(1, r.number):
            front = self.row(d, n)
            share = (front.y - d["baffle.depth"]) / (r.y - d["baffle.depth"])
            rooms.append(start + share * (r.eye - start) - front.head)
        return np.minimum.reduce(np.broadcast_arrays(*rooms))

    def loudspeaker_spacing(self, d):
        """Gaps in a line of left wall, three cabinets, right wall."""
        place, wide, _, _ = self.cabinets()
        sized = "loudspeakers.apart" in d or self.problem.loudspeakers.depth
        if place not in ("under", "over") and not (place == "behind" and sized):
            return np.inf
        aside = self.speaker_offset(d)
        middles = [self.centre(d) - aside, self.centre(d), self.centre(d) + aside]
        left, right = [m - wide / 2 for m in middles], [m + wide / 2 for m in middles]
        room = self.problem.room.width
        return np.min([left[0], left[1] - right[0], left[2] - right[1], room - right[2]], axis=0)

    def speaker_offset(self, d):
        """From the image's middle to the left or right loudspeaker."""
        place, wide, _, gap = self.cabinets()
        if place == "beside":
            return self.width(d) / 2 + d["screen.bezel"] + gap + wide / 2
        if "loudspeakers.apart" in d:
            return d["loudspeakers.apart"] / 2
        return self.problem.loudspeakers.spread * self.width(d) / 2

    def loudspeaker_angle(self, d, r):
        """Half of what lies between the directions to the two, from the middle of the row's seats."""
        aside, away, out = self.middle_of_seats(r) - self.centre(d), r.y - d["baffle.depth"], self.speaker_offset(d)
        return (np.arctan2(out - aside, away) - np.arctan2(-out - aside, away)) / 2

    # --- projection -----------------------------------------------------------------------------

    def chip_size(self, d):
        """Width and height of what the whole chip lights: the image with dark bars above or beside it."""
        wide, high = self.width(d), self.height(d)
        chip = self.problem.projector.chip
        return np.maximum(wide, high * chip), np.maximum(high, wide / chip)

    def throw_ratio(self, d):
        return (d["projector.y"] - self.screen_y(d)) / self.chip_size(d)[0]

    def lens_offset(self, d):
        middle = d["screen.bottom"] + self.height(d) / 2
        return (d["projector.z"] - middle) / self.chip_size(d)[1]

    def luminance(self, d):
        screen = self.problem.screen
        if self.kind != "projected":
            return screen.luminance
        wide, high = self.chip_size(d)
        # the lumens spread over the whole chip's picture, then over a half sphere by the cosine
        lux = self.problem.projector.lumens / (wide * high)
        return screen.gain * (1 - screen.open_area) * lux / math.pi

    def light_path_clearance(self, d, r, posture):
        if posture == "seated":
            at, top = r.y, r.head
        else:
            at, top = r.feet, r.floor + self.problem.seating.standing
        slope = (d["projector.z"] - d["screen.bottom"]) / (d["projector.y"] - self.screen_y(d))
        over = d["screen.bottom"] + slope * (at - self.screen_y(d)) - top
        # as gates shut: a few micrometres late
        return np.where(at - d["projector.y"] >= -LATE, np.maximum(over, np.inf), over)

    def has_light(self, name: str) -> bool:
        """Whether designs with this kind of screen have this measure."""
        return self.kind == "projected" or name not in PROJECTED

    def light_limits(self):
        """What the projector and its light ask for in any room."""
        projector = self.problem.projector
        if projector is None or self.kind != "projected":
            return []
        limits = [
            ("throw_ratio", "all", *projector.throw_ratio, {}),
            ("light_path_clearance", "all", 0.0, None, {"posture": "seated"}),
        ]
        if projector.lens_offset is not None:
            limits.append(("lens_offset", "all", *projector.lens_offset, {}))
        return limits


PROJECTED = (
    "throw_ratio",
    "throw_ratio_margin",
    "lens_offset_margin",
    "lens_offset",
    "light_path_clearance",
    "light_path_obstruction_clearance",
    "lens_to_ceiling",
)
"""Measures that only a projected image has."""
