"""The checker's formulas for rows as people use them; a part of checker.Judge. Views are drawn as lines
between points, and who sits in whose way is found by looking at every pair of people."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.support.shape import LATE

STEP = 1e-3
"""Rise from which there is a step to climb."""

CREVICE = 1e-3
"""By how much less than a door's width a platform reaches it all the same."""

HEAD_ASIDE = 0.2

BEHIND = {
    "row_gap": 2,
    "walking_line": 2,
    "aisle_slope": 2,
    "stagger": 2,
    "clear_view": 2,
    "two_row_clearance": 3,
}
"""Measures of a row that need rows before it, and the first row that has them."""


@dataclass(frozen=True)
class Row:
    """One row of people, all in metres."""

    number: int
    bar: bool
    y: object
    floor: object
    seats: object
    risers: object
    eye: object
    head: object
    feet: object
    feet_upright: object
    back: object
    pitch: float
    first: object  # x of the first chair's middle
    places: tuple  # x of places for wheelchairs
    left: object  # x of the row's ends
    right: object

    @property
    def last(self):
        return self.first + (self.seats - 1) * self.pitch

    @property
    def leftmost(self):
        return np.minimum.reduce(np.broadcast_arrays(self.first, *self.places))

    @property
    def rightmost(self):
        return np.maximum.reduce(np.broadcast_arrays(self.last, *self.places))


class OfRows:
    """Needs problem, count, centre, screen_y and the ways of the judge."""

    def row(self, d, n: int) -> Row:
        seating = self.problem.seating
        chair, y, floor, seats = seating.chair, d[f"row{n}.y"], d[f"row{n}.platform"], np.asarray(d[f"row{n}.seats"])
        bar = seating.bar if n == self.count > 1 else None
        middle = d.get("seating.centre", self.centre(d))
        if n % 2 == 0:
            pitch = chair.width - (chair.arm if chair.arms == "shared" else 0)
            middle = middle + d.get("seating.stagger", 0.0) * pitch
        if bar:
            half = seats * bar.place / 2
            return Row(
                number=n,
                bar=True,
                y=y,
                floor=floor,
                seats=seats,
                risers=d[f"row{n}.risers"],
                eye=floor + bar.eye_height,
                head=floor + bar.eye_height + bar.head_above_eye,
                feet=y - bar.eye_to_counter - bar.counter,
                feet_upright=y - bar.eye_to_counter - bar.counter,
                back=y + bar.eye_to_back,
                pitch=bar.place,
                first=middle - half + bar.place / 2,
                places=(),
                left=middle - half,
                right=middle + half,
            )
        shared = chair.arms == "shared"
        pitch = chair.width - chair.arm if shared else chair.width
        chairs = seats * chair.width - ((seats - 1) * chair.arm if shared else 0)  # one arm less a gap
        place, taken = seating.wheelchair, 0.0
        back, feet = y + chair.eye_to_back + chair.travel, y + chair.eye_to_back + chair.travel - chair.reclined
        upright = y + chair.eye_to_back - chair.depth
        if place is not None and n == self.wheelchair_number():
            taken = place.places * place.width
            feet, upright = np.minimum(feet, back - place.depth), np.minimum(upright, back - place.depth)
        left, right = middle - (chairs + taken) / 2, middle + (chairs + taken) / 2
        outside = [(k + 0.5) * place.width for k in range(place.places)] if taken else []
        at_left = bool(taken) and place.side == "left"
        return Row(
            number=n,
            bar=False,
            y=y,
            floor=floor,
            seats=seats,
            risers=d[f"row{n}.risers"],
            eye=floor + chair.eye_height,
            head=floor + chair.eye_height + chair.head_above_eye,
            feet=feet,
            feet_upright=upright,
            back=back,
            pitch=pitch,
            first=left + (taken if at_left else 0.0) + chair.width / 2,
            places=tuple(left + way if at_left else right - way for way in outside),
            left=left,
            right=right,
        )

    def wheelchair_number(self) -> int:
        """The row of chairs with the place: the file's, or the last."""
        chairs = self.count - (1 if self.problem.seating.bar is not None and self.count > 1 else 0)
        return min(self.problem.seating.wheelchair.row, chairs)

    def seat_places(self, row: Row):
        """x of everyone whom the row may have, and whether it has them."""
        for j in range(int(np.max(row.seats))):
            yield row.first + j * row.pitch, j < row.seats
        for x in row.places:
            yield x, np.True_

    def row_limits(self):
        """What a bar and a wheelchair ask of any room."""
        seating = self.problem.seating
        bar = [] if seating.bar is None else [("row_gap", "all", 0.0, None, {})]
        return bar + ([] if seating.wheelchair is None else [("wheelchair_rise", "all", None, 0.0, {})])

    # --- ways ---------------------------------------------------------------------------------------

    def row_gap(self, d, r):
        return r.feet - self.row(d, r.number - 1).back

    def passing_way(self, d, r):
        if r.bar:
            return self.on_the_last_level(d)
        return self.across(d, r, self.screen_y(d) if r.number == 1 else self.row(d, r.number - 1).back, r.feet_upright)

    # --- steps and guards ---------------------------------------------------------------------------

    def stair_width(self, d, r):
        way = self.aisle_width(d, r)
        if r.number > 1:
            way = np.minimum(way, self.aisle_width(d, self.row(d, r.number - 1)))
        way = np.minimum(way, self.on_steps(d, r))
        way = np.where(self.climb(d, r) > STEP + LATE, way, np.inf)
        if "platform.behind" in d and r.number == self.count:
            way = np.minimum(way, np.where(r.floor > STEP + LATE, self.aisle_width(d, r), np.inf))
        return way

    def least_riser(self, d, r):
        return np.where(self.climb(d, r) > STEP + LATE, self.riser_step(d, r), np.inf)

    def riser_difference(self, d):
        steps = [(self.climb(d, r), self.riser_step(d, r)) for r in (self.row(d, n) for n in range(1, self.count + 1))]
        there = [rise >= STEP - LATE for rise, _ in steps]
        least = self._least(np.where(t, s, np.inf) for t, (_, s) in zip(there, steps))
        most = self._greatest([np.where(t, s, -np.inf) for t, (_, s) in zip(there, steps)])
        return np.where(np.isfinite(most), np.maximum(most - least, 0), 0.0)

    def walking_line(self, d, r):
        return 2 * self.riser_step(d, r) + self.step_going(d, r)

    def aisle_slope(self, d, r):
        return np.arctan2(self.riser_step(d, r), self.step_going(d, r))

    def unguarded_drop(self, d, r):
        guard = self.problem.seating.guard
        if guard is None:
            return r.floor
        before = 0.0 if r.number == 1 else self.row(d, r.number - 1).floor
        guarded = r.floor - before > guard.over + LATE
        return np.where(guarded, np.minimum(r.floor, guard.over), r.floor)

    def guard_height(self, d):
        return self.problem.seating.guard.height

    def wheelchair_rise(self, d):
        floor = self.row(d, self.wheelchair_number()).floor
        doors = self.problem.room.doors
        if "platform.behind" not in d or self.wheelchair_number() < self.count:
            return self._least(np.abs(floor - level) for level in [door.level for door in doors] or [0.0])
        end = self.last_end(d)
        rises = [] if doors else [floor]
        for door in doors:
            reached = self.swept(door)[:, 1].max() < end + CREVICE
            # else down to the room's floor, and up from it
            rises.append(np.where(reached, np.abs(floor - door.level), np.maximum(floor, door.level)))
        return self._least(rises)

    # --- views over rows ----------------------------------------------------------------------------

    def _passes(self, d, r, at, z):
        """How far above a point the line from the eyes to the image's lower edge passes."""
        share = (at - self.screen_y(d)) / (r.y - self.screen_y(d))
        return d["screen.bottom"] + (r.eye - d["screen.bottom"]) * share - z

    def two_row_clearance(self, d, r):
        front = self.row(d, r.number - 2)
        return self._passes(d, r, front.y, front.eye)

    def _asides(self, d, r):
        """How far everyone is aside of everyone in front, infinite for who is not there."""
        front = self.row(d, r.number - 1)
        if front.pitch == r.pitch and not r.places and not front.places:
            # seats in a regular row: whatever is nearest to a whole number of seats
            seats = (r.first - front.first) / r.pitch
            yield np.abs(seats - np.round(seats)) * r.pitch
            return
        for x, there in self.seat_places(r):
            for ahead, there_too in self.seat_places(front):
                yield np.where(there & there_too, np.abs(x - ahead), np.inf)

    def stagger(self, d, r):
        return self._least(self._asides(d, r))

    def clear_view(self, d, r):
        front = self.row(d, r.number - 1)
        over = self._passes(d, r, front.y, front.eye)
        beyond = self.two_row_clearance(d, r) if r.number > 2 else np.inf
        return np.where(self.stagger(d, r) >= HEAD_ASIDE - LATE, np.maximum(over, beyond), over)

    def guard_sightline(self, d, r):
        guard = self.problem.seating.guard
        passes = self._passes(d, r, self.front_of_platform(d, r), r.floor + guard.height)
        return np.where(self.climb(d, r) > guard.over + LATE, passes, np.inf)
