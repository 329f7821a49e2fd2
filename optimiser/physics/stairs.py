"""Steps, walkways and guards: formulas, and the building codes' limits as data.

Codes differ by place and edition, and the assembly rules here do not bind a private room. The
values are for guidance: local codes decide, and a licensed professional should confirm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from optimiser.physics.checks import number, positive, whole

INCH = 0.0254
MILLIMETRE = 0.001
DEGREE = math.pi / 180.0


def riser_height(*, rise, count):
    """Height of each of ``count`` equal risers [m]; rise [m] > 0, count whole, >= 1. Source: definition."""
    return positive("rise", rise) / whole("count", count, at_least=1)


def riser_count(*, rise, limit):
    """Fewest equal risers [1] that keep each within ``limit`` [m] > 0; rise [m] >= 0 (0 needs none).

    A rise within 1e-9 of a whole number of limits does not ask for one more. Source: definition.
    """
    ratio = number("rise", rise, at_least=0.0) / positive("limit", limit)
    return np.ceil(ratio - 1e-9).astype(np.int64)[()]


def pitch(*, riser, going):
    """Pitch of a stair above the horizontal [rad]; riser [m] > 0, going [m] > 0. Source: definition."""
    return np.arctan(positive("riser", riser) / positive("going", going))


def walking_line(*, riser, going):
    """Twice the riser plus the going [m], the stride a stair asks for; riser [m] > 0, going [m] > 0.

    Source: 2R + G, Approved Document K (2013), notes to Table 1.1.
    """
    return 2.0 * positive("riser", riser) + positive("going", going)


def aisle_accessway(*, seats):
    """Clear width between rows that can be left at one end only [m].

    seats in the row, whole, >= 1. 12 in, plus 0.6 in for each seat beyond seven, at most 22 in.
    Source: California Building Code 1030.13.2.2, as quoted in a building-code forum; the same rule
    stands in the New York City Building Code 1029.8.1, as quoted by an insurance-law library.
    """
    beyond = np.maximum(whole("seats", seats, at_least=1) - 7, 0)
    return np.minimum(12.0 + 0.6 * beyond, 22.0) * INCH


@dataclass(frozen=True)
class CodeValue:
    """A code's limit: ``value`` in SI (``unit`` m, rad or 1), where it stands, how far it was checked."""

    value: float
    unit: str
    clause: str
    edition: str
    trust: str


PRIMARY = "read in the document itself"
QUOTED = "as quoted by a secondary source"
MEMORY = "from memory, unverified"


def _inches(value: float, clause: str, edition: str, trust: str) -> CodeValue:
    # The code's inches govern; its own millimetres are rounded down (7 3/4 in is printed as 196 mm).
    return CodeValue(value * INCH, "m", clause, edition, trust)


def _millimetres(value: float, clause: str, edition: str, trust: str) -> CodeValue:
    return CodeValue(value * MILLIMETRE, "m", clause, edition, trust)


IRC = "International Residential Code 2018"
IBC = "International Building Code 2018"
IBC_EARLIER = "International Building Code 2009 and 2012"
CBC = "California Building Code, edition not stated by the source"
ADK = "Approved Document K, 2013 edition (England)"

CODES = MappingProxyType(
    {
        "irc_riser_most": _inches(7.75, "R311.7.5.1", IRC, QUOTED),
        "irc_riser_difference_most": _inches(0.375, "R311.7.5.1", IRC, QUOTED),
        "irc_going_least": _inches(10.0, "R311.7.5.2", IRC, QUOTED),
        "irc_stair_headroom_least": _inches(80.0, "R311.7.2", IRC, QUOTED),
        "irc_stair_width_least": _inches(36.0, "R311.7.1", IRC, QUOTED),
        "irc_landing_least": _inches(36.0, "R311.7.6", IRC, MEMORY),
        "irc_guard_drop": _inches(30.0, "R312.1.1", IRC, QUOTED),
        "irc_guard_reach": _inches(36.0, "R312.1.1", IRC, QUOTED),
        "irc_guard_height_least": _inches(36.0, "R312.1.2", IRC, QUOTED),
        "irc_stair_guard_height_least": _inches(34.0, "R312.1.2", IRC, QUOTED),
        "irc_guard_opening": _inches(4.0, "R312.1.3", IRC, QUOTED),
        "irc_window_sill_least": _inches(24.0, "R312.2.1", IRC, MEMORY),
        "irc_ceiling_least": _inches(84.0, "R305.1", IRC, MEMORY),
        "irc_egress_door_width_least": _inches(32.0, "R311.2", IRC, MEMORY),
        "irc_egress_door_height_least": _inches(78.0, "R311.2", IRC, MEMORY),
        "ibc_aisle_tread_least": _inches(11.0, "1028.11.1 (2018: 1029.14.2.1)", IBC_EARLIER, QUOTED),
        "ibc_aisle_tread_difference_most": _inches(0.1875, "1028.11.1 (2018: 1029.14.2.1)", IBC_EARLIER, QUOTED),
        "ibc_aisle_riser_least": _inches(4.0, "1028.11.2", IBC_EARLIER, QUOTED),
        "ibc_aisle_riser_most": _inches(8.0, "1028.11.2", IBC_EARLIER, QUOTED),
        "ibc_stepped_aisle_both_sides_least": _inches(48.0, "1029.9.1", IBC, QUOTED),
        "ibc_stepped_aisle_one_side_least": _inches(36.0, "1029.9.1", IBC, MEMORY),
        "ibc_level_aisle_both_sides_least": _inches(42.0, "1029.9.1", IBC, MEMORY),
        "ibc_level_aisle_one_side_least": _inches(36.0, "1029.9.1", IBC, MEMORY),
        "ibc_small_aisle_least": _inches(30.0, "1029.9.1 (14 seats or fewer)", IBC, MEMORY),
        "ibc_stair_headroom_least": _inches(80.0, "1011.3", IBC, MEMORY),
        "ibc_egress_ceiling_least": _inches(90.0, "1003.2", IBC, MEMORY),
        "cbc_accessway_least": _inches(12.0, "1030.13.2", CBC, QUOTED),
        "cbc_accessway_one_ended_most": _inches(22.0, "1030.13.2.2", CBC, QUOTED),
        "adk_private_riser_least": _millimetres(150.0, "Table 1.1, private stair", ADK, PRIMARY),
        "adk_private_riser_most": _millimetres(220.0, "Table 1.1, private stair", ADK, PRIMARY),
        "adk_private_going_least": _millimetres(220.0, "Table 1.1, private stair", ADK, PRIMARY),
        "adk_private_going_most": _millimetres(300.0, "Table 1.1, private stair", ADK, PRIMARY),
        "adk_private_pitch_most": CodeValue(42.0 * DEGREE, "rad", "Table 1.1, notes", ADK, PRIMARY),
        "adk_utility_riser_least": _millimetres(150.0, "Table 1.1, utility stair", ADK, PRIMARY),
        "adk_utility_riser_most": _millimetres(190.0, "Table 1.1, utility stair", ADK, PRIMARY),
        "adk_utility_going_least": _millimetres(250.0, "Table 1.1, utility stair", ADK, PRIMARY),
        "adk_utility_going_most": _millimetres(400.0, "Table 1.1, utility stair", ADK, PRIMARY),
        "adk_general_riser_least": _millimetres(150.0, "Table 1.1, general access stair", ADK, PRIMARY),
        "adk_general_riser_most": _millimetres(170.0, "Table 1.1, general access stair", ADK, PRIMARY),
        "adk_general_going_least": _millimetres(250.0, "Table 1.1, general access stair", ADK, PRIMARY),
        "adk_general_going_most": _millimetres(400.0, "Table 1.1, general access stair", ADK, PRIMARY),
        "adk_walking_line_least": _millimetres(550.0, "Table 1.1, notes", ADK, PRIMARY),
        "adk_walking_line_most": _millimetres(700.0, "Table 1.1, notes", ADK, PRIMARY),
        "adk_gangway_pitch_most": CodeValue(35.0 * DEGREE, "rad", "1.4 a", ADK, PRIMARY),
        "adk_headroom_least": _millimetres(2000.0, "1.11", ADK, QUOTED),
        "adk_door_to_step_least": _millimetres(400.0, "1.22", ADK, QUOTED),
        "adk_guard_drop_dwelling": _millimetres(600.0, "1.40 to 1.41", ADK, PRIMARY),
        "adk_guard_height_dwelling_least": _millimetres(900.0, "Diagram 3.1", ADK, MEMORY),
        "adk_guard_height_other_least": _millimetres(1100.0, "Diagram 3.1", ADK, MEMORY),
        "adk_glass_above_floor_least": _millimetres(800.0, "Diagram 5.1", ADK, MEMORY),
    }
)
"""The limits by name. ``least`` and ``most`` are bounds; a ``drop`` is the height from which a rule applies."""
