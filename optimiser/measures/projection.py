"""Light: where the lens may stand, what passes over the heads, and how bright the image is."""

from __future__ import annotations

from optimiser.forms import Form, Gate, Greatest, Least, Link, Linked, Quotient, affine
from optimiser.linear import Linear, constant
from optimiser.measures.base import measure
from optimiser.measures.layout import Layout, Row
from optimiser.physics import light

PROJECTED = ("projected",)


def throw(layout: Layout) -> Linear:
    """From the lens to the plane of the image."""
    return layout.lens.y - layout.image_y


def chip_width(layout: Layout) -> Linear:
    """Width that the projector's whole chip would fill in the plane of the image."""
    one = light.chip_image_width(width=1.0, aspect=layout.aspect, chip_aspect=layout.lens.chip)
    return layout.image_width * float(one)


@measure(
    quantity="ratio",
    screens=PROJECTED,
    needs=("lens",),
    formula="(lens - image) / width of the chip's image",
    source="definition; the width is the image's, or that of a wider chip around it",
)
def throw_ratio(layout: Layout) -> Form:
    """Throw distance over the width of the image that the projector's whole chip would fill."""
    return Quotient(throw(layout), chip_width(layout))


@measure(
    quantity="ratio",
    screens=PROJECTED,
    needs=("lens",),
    formula="(z - bottom - H / 2) / height of the chip's image",
    source="definition; 0 on the image's middle, 0.5 level with the upper edge of the chip's image",
)
def lens_offset(layout: Layout) -> Form:
    """How far the lens lies above the middle of the image, in heights of the chip's image."""
    above = layout.lens.z - layout.image_bottom - layout.image_height * 0.5
    return Quotient(above, chip_width(layout) * (1.0 / layout.lens.chip))


@measure(
    quantity="ratio",
    screens=PROJECTED,
    needs=("lens",),
    formula="the lesser of throw ratio - least and greatest - throw ratio, of the projector's range",
    source="definition; negative: how far outside",
)
def throw_ratio_margin(layout: Layout) -> Form:
    """How far the throw ratio lies within the range of the projector's lens."""
    (least, most), width, away = layout.lens.throw_ratio, chip_width(layout), throw(layout)
    return Least((Quotient(away - least * width, width), Quotient(most * width - away, width)))


@measure(
    quantity="ratio",
    screens=PROJECTED,
    needs=("lens",),
    formula="the lesser of lens offset - least and greatest - lens offset, of the projector's range",
    source="definition; negative: how far outside; no bound where the file gives no range",
)
def lens_offset_margin(layout: Layout) -> Form:
    """How far the lens offset lies within what the projector's lens can be shifted by."""
    if layout.lens.offset is None:
        return Gate(constant(0.0))
    (least, most), height = layout.lens.offset, chip_width(layout) * (1.0 / layout.lens.chip)
    above = layout.lens.z - layout.image_bottom - layout.image_height * 0.5
    return Least((Quotient(above - least * height, height), Quotient(most * height - above, height)))


@measure(
    quantity="luminance",
    needs=("light",),
    formula="gain (1 - open area) lumens share of chip / (pi W H); of a panel or tiles as the file gives it",
    source="definition of gain against a Lambertian white; cinemas 48 cd/m2: SMPTE ST 431-1:2006, as quoted",
)
def luminance(layout: Layout) -> Form:
    """Luminance of the image's white."""
    if layout.screen_type != "projected":
        return affine(layout.white)
    used = float(light.share_of_chip(aspect=layout.aspect, chip_aspect=layout.lens.chip)) * layout.lens.lumens
    link = Link(
        lambda w: light.luminance(lumens=used, width=w, aspect=layout.aspect, gain=layout.gain),
        lambda level: light.width_for_luminance(luminance=level, lumens=used, aspect=layout.aspect, gain=layout.gain),
        increasing=False,
        low=0.0,
    )
    # the image is as bright as one that the greatest light and gain there are make, wider by the root of
    # what is lacking of them
    return Linked(Quotient(layout.image_width, layout.lens.root * layout.gain_root), link)


@measure(
    quantity="length",
    per_row=True,
    screens=PROJECTED,
    needs=("lens",),
    options={"posture": ("seated", "standing")},
    formula="height of the line from the lens to the image's lower edge, less the head's; no bound behind the lens",
    source="plane geometry; seated: the head where the eyes are; standing: where the reclined chairs begin",
)
def light_path_clearance(layout: Layout, row: Row, posture: str) -> Form:
    """How far the light passes over the heads of the row, taken over the whole width of the image."""
    at, head = (row.y, row.head) if posture == "seated" else (row.feet, row.platform + layout.standing)
    above, below = light.path_quotient(
        image_bottom=layout.image_bottom,
        lens_height=layout.lens.z,
        throw=throw(layout),
        distance=at - layout.image_y,
        head=head,
    )
    return Greatest((Gate(at - layout.lens.y), Quotient(above, below)))
