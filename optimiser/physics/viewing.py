"""Viewing geometry: angles, picture heights, pixels, and the sizes of an image.

Lengths in metres, angles in radians, aspect = width / height. The angle formulas are plane
geometry and hold for a flat image seen by a point eye; they are the ones behind the viewing
angles of Rec. ITU-R BS.775-3 (Fig. 1) and of cinema practice.
"""

from __future__ import annotations

import numpy as np

from optimiser.physics.checks import finite, number, positive

ONE_DEGREE = np.pi / 180.0


def horizontal_angle(*, width, distance):
    """Angle the image's width subtends at an eye on its centre line [rad].

    width [m] > 0, distance [m] > 0, eye to image plane. Result in (0, pi).
    Source: plane geometry, 2 atan(W / 2D).
    """
    return angle_of_half_ratio(ratio=positive("width", width) / (2.0 * positive("distance", distance)))


def angle_of_half_ratio(*, ratio):
    """The angle 2 atan(ratio) [rad] for ratio = (W / 2) / D.

    ratio [1] any; infinity gives pi. An image before the eye has a ratio above zero; below zero the
    function goes on as an odd one, so that it can be inverted and searched without a special case.
    Raises ValueError for NaN. Source: plane geometry.
    """
    return 2.0 * np.arctan(number("ratio", ratio, infinite=True))


def half_ratio_of_angle(*, angle):
    """The ratio (W / 2) / D at which an image subtends ``angle``; inverse of angle_of_half_ratio.

    angle [rad] in [-pi, pi]; the ends give infinities. ValueError outside. Source: plane geometry.
    """
    return slope_of_angle(angle=number("angle", angle, unit="rad", at_least=-np.pi, at_most=np.pi) / 2.0)


def subtended_quotient(*, width, distance, offset):
    """Numerator and denominator of the cotangent of the angle an image's width subtends.

    Numbers, arrays and linear expressions alike, unchecked; arguments as for subtended_angle().
    Source: the cotangent of a sum of two arctangents, (D^2 + x^2 - W^2/4) / (W D).
    """
    return distance * distance + offset * offset - width * width * 0.25, width * distance


def subtended_angle(*, width, distance, offset):
    """Angle the image's width subtends at an eye off the centre line [rad].

    width [m] > 0, distance [m] > 0 measured square to the image plane, offset [m] any, sideways
    from the image's centre line. Result in (0, pi), never above horizontal_angle.
    Source: plane geometry, atan((W/2 - x)/D) + atan((W/2 + x)/D).
    """
    above, below = subtended_quotient(
        width=positive("width", width), distance=positive("distance", distance), offset=finite("offset", offset)
    )
    return angle_of_cotangent(cotangent=above / below)


def angle_of_cotangent(*, cotangent):
    """The angle in (0, pi) whose cotangent is given [rad].

    cotangent [1] any, also infinite (then 0 or pi). For the seat of ``subtended_angle`` the
    cotangent is (D^2 + x^2 - W^2/4) / (W D). Raises ValueError for NaN. Source: definition.
    """
    return np.arctan2(1.0, number("cotangent", cotangent, infinite=True))


def cotangent_of_angle(*, angle):
    """The cotangent of an angle [1]; inverse of angle_of_cotangent.

    angle [rad] in [0, pi]; the ends give +infinity and -infinity. Raises ValueError outside.
    Source: definition.
    """
    angle = number("angle", angle, unit="rad", at_least=0.0, at_most=np.pi)
    with np.errstate(divide="ignore"):
        cotangent = np.cos(angle) / np.sin(angle)
    return np.where(angle == np.pi, -np.inf, cotangent)[()]


def slanting_quotient(*, width, distance, offset, slant):
    """Numerator and denominator of what ``angle_of_slanting`` bounds the angle by that an image's width fills.

    Numbers, arrays and linear expressions alike, unchecked; width, distance and offset as for subtended_angle(); slant
    [rad] in (-pi/2, pi/2), a number. Source: there.
    """
    return (offset * float(np.sin(slant)) + distance * float(np.cos(slant))) * 4.0, width


def angle_of_slanting(*, ratio, slant):
    """What the angle that an image's width W fills is at most [rad], for ratio = 4 (x sin slant + D cos slant) / W.

    ratio [1] any, slant [rad] in (-pi/2, pi/2). Result in (0, pi]; for slant 0 the angle from straight before the image at
    the same distance. Source: the inscribed angle theorem. The image fills an angle a or more within a circle of radius
    W / (2 sin a) whose middle is W / (2 tan a) before it, so x sin slant + (D - W / (2 tan a)) cos slant <= W / (2 sin a),
    a tangent of the circle; with t = tan(a / 2) that is ratio <= (1 + cos slant) / t + (1 - cos slant) t, which falls as
    far as to t = cot(slant / 2).
    """
    ratio, cosine = number("ratio", ratio, infinite=True), np.cos(slant)
    least = 2.0 * np.abs(np.sin(slant))  # of what the sum of both takes: below it nothing is bounded
    with np.errstate(invalid="ignore", divide="ignore"):
        # the smaller root of (1 - cos) t^2 - ratio t + (1 + cos), without a difference of what is nearly the same
        root = np.sqrt(np.maximum(np.square(ratio) - np.square(least), 0.0))
        half = 2.0 * (1.0 + cosine) / (ratio + root)
        return np.where(np.asarray(ratio) > least, 2.0 * np.arctan(half), np.pi)[()]


def slanting_of_angle(*, angle, slant):
    """The greatest ratio at which ``angle_of_slanting`` allows an angle [1]; angle [rad] in (0, pi], slant as there.

    Source: there. Beyond the angle from which on nothing is bounded, the least ratio.
    """
    cosine = np.cos(slant)
    with np.errstate(divide="ignore"):
        most = np.divide(1.0, np.abs(np.tan(0.5 * slant)))
    half = np.minimum(np.tan(0.5 * np.minimum(number("angle", angle, unit="rad"), np.pi)), most)
    half = np.where(half < 0.0, most, half)  # the tangent of a right angle, rounded
    return ((1.0 + cosine) / half + ((1.0 - cosine) * half if slant else 0.0))[()]


def elevation(*, rise, run):
    """Angle above (positive) or below (negative) the horizontal [rad].

    rise [m] any, run [m] > 0. Result in (-pi/2, pi/2). Source: plane geometry, atan(rise / run).
    """
    return angle_of_slope(slope=finite("rise", rise) / positive("run", run))


def angle_of_slope(*, slope):
    """The angle atan(slope) [rad]; slope [1] any, infinity gives pi/2. ValueError for NaN.

    Source: definition.
    """
    return np.arctan(number("slope", slope, infinite=True))


def slope_of_angle(*, angle):
    """The slope tan(angle) [1]; inverse of angle_of_slope.

    angle [rad] in [-pi/2, pi/2]; the ends give infinities. ValueError outside. Source: definition.
    """
    angle = number("angle", angle, unit="rad", at_least=-np.pi / 2.0, at_most=np.pi / 2.0)
    return np.where(np.abs(angle) == np.pi / 2.0, np.copysign(np.inf, angle), np.tan(angle))[()]


def square_of_distance(*, ahead, aside):
    """Square of the distance in plan of what lies so far ahead and so far aside [m2].

    Numbers, arrays and linear expressions alike, unchecked: ahead, aside [m] any. Source: Pythagoras.
    """
    return ahead * ahead + aside * aside


def distance_of_square(*, square):
    """The distance [m] of its square [m2], at least 0; what rounding left below that counts as 0. ValueError for NaN.

    Source: definition.
    """
    return np.sqrt(np.maximum(0.0, number("square", square, infinite=True)))


def picture_heights(*, distance, height):
    """Viewing distance counted in image heights [1].

    distance [m] > 0, height [m] > 0. Source: definition, as used by Rec. ITU-R BT.500.
    """
    return positive("distance", distance) / positive("height", height)


def pixels_per_degree(*, pixels, width, distance):
    """Pixels within one degree at the image's centre, seen square on [1/deg].

    pixels [1] > 0 across the width, width [m] > 0, distance [m] > 0. Counts the pixels on the
    length D tan(1 deg); the mean over a wide image is higher, as its edges are seen aslant.
    Source: plane geometry.
    """
    return positive("pixels", pixels) * positive("distance", distance) * np.tan(ONE_DEGREE) / positive("width", width)


def image_size(*, diagonal, aspect):
    """Width and height of an image [m, m] from its diagonal.

    diagonal [m] > 0, aspect [1] > 0. Source: plane geometry.
    """
    diagonal = positive("diagonal", diagonal)
    aspect = positive("aspect", aspect)
    root = np.hypot(aspect, 1.0)
    return diagonal * aspect / root, diagonal / root


def diagonal_of_width(*, width, aspect):
    """Diagonal of an image [m]; width [m] > 0, aspect [1] > 0. Source: plane geometry."""
    return positive("width", width) * np.hypot(1.0, 1.0 / positive("aspect", aspect))


def area_of_width(*, width, aspect):
    """Area of an image [m2]; width [m] > 0, aspect [1] > 0. Source: plane geometry, W^2 / aspect."""
    return positive("width", width) ** 2 / positive("aspect", aspect)


def width_of_area(*, area, aspect):
    """Width of an image [m] of a given area [m2] > 0; inverse of area_of_width. aspect [1] > 0.

    Source: plane geometry.
    """
    return np.sqrt(positive("area", area) * positive("aspect", aspect))


def picture_width(*, width, aspect, shape):
    """Width of the largest picture of another shape that an image surface holds [m].

    width [m] > 0 of the image surface, aspect > 0 its width / height, shape > 0 the picture's. A wider picture takes
    the whole width, a narrower one the whole height. Source: definition of the aspect ratio.
    """
    return positive("width", width) * np.minimum(1.0, positive("shape", shape) / positive("aspect", aspect))
