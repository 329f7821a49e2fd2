"""Sightlines: the clearance ("C-value") of one row's view over the eyes of the row in front.

The construction is the one of stadium design; EN 13200-1 states in its scope that it is not
applicable to cinemas, so the formula is used here without any claim of conformity.
"""

from __future__ import annotations

from optimiser.physics.checks import finite, positive


def clearance_quotient(*, focus_distance, eye_above_focus, row_pitch, rise):
    """Numerator and denominator of the clearance, from anything that adds and multiplies.

    Numbers, arrays and linear expressions alike, unchecked; arguments as for clearance().
    Source: C = D (N + R) / (D + T) - R on one denominator.
    """
    return focus_distance * rise - eye_above_focus * row_pitch, focus_distance + row_pitch


def clearance(*, focus_distance, eye_above_focus, row_pitch, rise):
    """How far the rear row's line of sight to the focus passes above the front row's eye [m].

    focus_distance D [m] > 0: front eye to the focus, horizontally; eye_above_focus R [m], any:
    front eye above the focus (negative where it sits below); row_pitch T [m] > 0: front eye to
    rear eye, horizontally; rise N [m], any: rear eye above front eye. Negative results mean that
    the front eye stands in the way. The head's height above the eye is not deducted.
    Source: C = D (N + R) / (D + T) - R, a teaching item on stadium sightlines, plus.maths.org.
    """
    focus_distance = positive("focus_distance", focus_distance)
    eye_above_focus = finite("eye_above_focus", eye_above_focus)
    row_pitch = positive("row_pitch", row_pitch)
    rise = finite("rise", rise)
    above, below = clearance_quotient(
        focus_distance=focus_distance, eye_above_focus=eye_above_focus, row_pitch=row_pitch, rise=rise
    )
    return above / below


def rise_for_clearance(*, focus_distance, eye_above_focus, row_pitch, clearance):
    """The rise from the front eye to the rear eye [m] that gives a clearance; inverse of clearance.

    Arguments as for clearance(), and clearance C [m], any.
    Source: N = (R + C)(D + T) / D - R, the same formula solved for the rise.
    """
    focus_distance = positive("focus_distance", focus_distance)
    eye_above_focus = finite("eye_above_focus", eye_above_focus)
    row_pitch = positive("row_pitch", row_pitch)
    clearance = finite("clearance", clearance)
    return (eye_above_focus + clearance) * (focus_distance + row_pitch) / focus_distance - eye_above_focus
