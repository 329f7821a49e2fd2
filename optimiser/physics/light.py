"""Light on a projected image: luminance, lamp light needed, throw, and perforated screens.

A matt screen of gain 1 is taken to spread its light evenly (Lambert's law), the image to be lit
evenly, and the room to be dark. The projector's lumens are those that leave the lens for the full
chip; a lens, a filter or an aged lamp must be allowed for in that number.
"""

from __future__ import annotations

import numpy as np

from optimiser.physics.checks import finite, number, positive
from optimiser.physics.viewing import area_of_width, width_of_area

FOOT = 0.3048
FOOT_LAMBERT = 1.0 / (np.pi * FOOT**2)
"""One foot-lambert in cd/m2: by definition 1/pi candela on each square foot."""

ARC_MINUTE = np.pi / (180.0 * 60.0)


def foot_lamberts(*, luminance):
    """A luminance in foot-lamberts [fL]; luminance [cd/m2] >= 0. Source: 1 fL = (1/pi) cd/ft2."""
    return number("luminance", luminance, at_least=0.0) / FOOT_LAMBERT


def luminance_of_foot_lamberts(*, foot_lamberts):
    """A luminance [cd/m2] from foot-lamberts [fL] >= 0; inverse of foot_lamberts(). Source: as there."""
    return number("foot_lamberts", foot_lamberts, at_least=0.0) * FOOT_LAMBERT


def share_of_chip(*, aspect, chip_aspect):
    """Share of the chip's light that falls within the image [1], in (0, 1].

    aspect of the image [1] > 0, chip_aspect of the projector's chip [1] > 0. An image wider than
    the chip's shape leaves rows dark, a narrower one columns; an anamorphic lens is not supposed.
    Source: geometry, the smaller aspect over the larger.
    """
    aspect, chip_aspect = positive("aspect", aspect), positive("chip_aspect", chip_aspect)
    return np.minimum(aspect, chip_aspect) / np.maximum(aspect, chip_aspect)


def gain_of_perforated(*, gain, open_area):
    """Gain of a screen after the light lost through its holes [1].

    gain of the same surface without holes [1] > 0; open_area, the holes' share of the surface [1]
    in [0, 1). Source: reflected share = 1 - open area, as quoted by a general article on screens
    (weak source); open areas there are 5 to 7 %.
    """
    return positive("gain", gain) * (1.0 - number("open_area", open_area, at_least=0.0, below=1.0))


def luminance(*, lumens, width, aspect, gain, open_area=0.0):
    """Luminance of the image's white [cd/m2].

    lumens within the image [lm] > 0 (of the full chip's light: times share_of_chip), width [m] > 0,
    aspect [1] > 0, gain [1] > 0 without holes, open_area [1] in [0, 1).
    Source: L = gain lumens / (pi area), the definition of gain against a Lambertian white.
    """
    area = area_of_width(width=width, aspect=aspect)
    return gain_of_perforated(gain=gain, open_area=open_area) * positive("lumens", lumens) / (np.pi * area)


def lumens_for_luminance(*, luminance, width, aspect, gain, open_area=0.0):
    """Lumens needed within the image [lm]; luminance [cd/m2] > 0, the rest as for luminance().

    Inverse of luminance() in its lumens. Source: as there.
    """
    area = area_of_width(width=width, aspect=aspect)
    return positive("luminance", luminance) * np.pi * area / gain_of_perforated(gain=gain, open_area=open_area)


def width_for_luminance(*, luminance, lumens, aspect, gain, open_area=0.0):
    """Image width at which the lumens give a luminance [m]; luminance [cd/m2] > 0, the rest as above.

    Inverse of luminance() in its width; a wider image is dimmer. Source: as there.
    """
    area = gain_of_perforated(gain=gain, open_area=open_area) * positive("lumens", lumens)
    return width_of_area(area=area / (np.pi * positive("luminance", luminance)), aspect=aspect)


def throw_ratio(*, distance, width):
    """Throw distance over image width [1].

    distance [m] > 0, lens to screen; width [m] > 0, of the image the chip fills. Source: D / W, as
    quoted by a glossary of audio-visual terms.
    """
    return positive("distance", distance) / positive("width", width)


def path_quotient(*, image_bottom, lens_height, throw, distance, head):
    """Numerator and denominator of the light's clearance over a head, from anything that adds and multiplies.

    Numbers, arrays and linear expressions alike, unchecked; arguments as for path_clearance().
    Source: the straight line from lens to image edge, on one denominator.
    """
    return (image_bottom - head) * throw + (lens_height - image_bottom) * distance, throw


def path_clearance(*, image_bottom, lens_height, throw, distance, head):
    """How far the light on its way to the image's lower edge passes above a head [m]; negative: a shadow.

    image_bottom, lens_height and head [m] above one floor; throw [m] > 0 from lens to image;
    distance [m] > 0 from head to image, below the throw (behind the lens there is no light).
    Source: plane geometry, bottom + (lens - bottom) distance / throw - head.
    """
    throw = positive("throw", throw)
    distance = positive("distance", distance)
    if np.any(distance >= throw):
        raise ValueError("distance must be less than the throw: behind the lens there is no light")
    above, below = path_quotient(
        image_bottom=finite("image_bottom", image_bottom),
        lens_height=finite("lens_height", lens_height),
        throw=throw,
        distance=distance,
        head=finite("head", head),
    )
    return above / below


def chip_image_width(*, width, aspect, chip_aspect):
    """Width that the whole chip would fill on the screen [m], for an image within it.

    width [m] > 0, aspect [1] > 0, chip_aspect [1] > 0. Equal to the image's width unless the image
    is narrower in shape than the chip; this is the width a throw ratio speaks of.
    Source: geometry.
    """
    widening = np.maximum(positive("chip_aspect", chip_aspect) / positive("aspect", aspect), 1.0)
    return positive("width", width) * widening


def resolved_distance(*, pitch):
    """Distance beyond which holes (or pixels) of a pitch are no longer seen apart [m].

    pitch [m] > 0, centre to centre. Source: visual acuity of one arc-minute, pitch / tan(1').
    """
    return positive("pitch", pitch) / np.tan(ARC_MINUTE)
