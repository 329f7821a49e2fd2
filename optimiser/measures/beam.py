"""The light on its way from the lens to the image, as a pyramid that boxes and ceilings must miss."""

from __future__ import annotations

from optimiser.forms import Form, Gate, Greatest, Least, Quotient, affine
from optimiser.linear import Linear, constant
from optimiser.measures.layout import Body, Layout
from optimiser.physics import light
from optimiser.physics.ceiling import hanging_edges


def _ray(layout: Layout, at_image: Linear, at_lens: Linear, y: float) -> Quotient:
    """Where a straight ray from the lens to the image passes a plane at ``y``, beyond its ends too."""
    throw = layout.lens.y - layout.image_y
    above, below = light.path_quotient(
        image_bottom=at_image, lens_height=at_lens, throw=throw, distance=y - layout.image_y, head=0.0
    )
    return Quotient(above, below)


def light_at(layout: Layout, y: float) -> tuple[tuple[Form, Form], tuple[Form, Form]]:
    """From where to where the light reaches across (x) and above the floor (z) [m] where it passes a plane between the
    image and the lens."""
    lens, centre, half = layout.lens, layout.image_centre, layout.image_width * 0.5
    top, bottom = layout.image_bottom + layout.image_height, layout.image_bottom
    across = (_ray(layout, centre - half, centre, y), _ray(layout, centre + half, centre, y))
    return across, (_ray(layout, bottom, lens.z, y), _ray(layout, top, lens.z, y))


def _beyond(ray: Quotient, sign: float, edge: Linear) -> Form:
    """How far an edge lies beyond a ray (sign +1: above or right of it)."""
    return Quotient((edge * ray.denominator - ray.numerator) * sign, ray.denominator)


def _clipped(free: Form, one: Form, other: Form) -> Form:
    """The middle one of three distances: of a ray that ends at the image and at the lens."""
    return Greatest((Least((free, one)), Least((Greatest((free, one)), other))))


def _over_an_edge(layout: Layout, x: float, z: float, side: float) -> Quotient:
    """How far a line along the room at ``x`` and ``z`` lies above the light's upper edge at one side (-1: left), as seen
    along the room, where that edge goes on to both sides."""
    lens, half = layout.lens, layout.image_width * 0.5
    top = layout.image_bottom + layout.image_height
    return Quotient((z - lens.z) * half + (lens.z - top) * (x - layout.image_centre) * side, half)


def _past_the_edges(layout: Layout, body: Body) -> list[Form]:
    """How far a box keeps beyond the light's long edges, upwards or downwards, as seen along the room: a box along a side
    wall may lie over the light at the image and beside it at the lens."""
    lens, half = layout.lens, layout.image_width * 0.5
    top, bottom = layout.image_bottom + layout.image_height, layout.image_bottom
    found: list[Form] = []
    for x, side in ((body.x[1], -1.0), (body.x[0], 1.0)):
        # seen so, the light ends at such an edge only where the lens is over the image, or under it
        under = Quotient((lens.z - body.z[1]) * half + (bottom - lens.z) * (x - layout.image_centre) * side, half)
        found += [
            Least((_over_an_edge(layout, x, body.z[0], side), Gate(lens.z - top))),
            Least((under, Gate(bottom - lens.z))),
        ]
    return found


def beam_separation(layout: Layout, body: Body) -> Form:
    """Greatest separation between the light and a box: over it, under it, at either side, beyond one of its long edges,
    behind the image or behind the lens. At least 0 wherever they do not meet: two convex bodies that do not are apart along
    one of these planes."""
    lens, centre, half = layout.lens, layout.image_centre, layout.image_width * 0.5
    top, bottom = layout.image_bottom + layout.image_height, layout.image_bottom

    def past(edge: float, sign: float, at_image: Linear, at_lens: Linear) -> Form:
        """How far the box keeps beyond the ray, at both of its ends, as far as there is a ray."""
        bound, ends = constant(edge), (affine((edge - at_image) * sign), affine((edge - at_lens) * sign))
        return Least(tuple(_clipped(_beyond(_ray(layout, at_image, at_lens, y), sign, bound), *ends) for y in body.y))

    behind = affine(body.y[0] - lens.y)
    whole = Greatest(
        (
            past(body.z[0], +1.0, top, lens.z),
            past(body.z[1], -1.0, bottom, lens.z),
            past(body.x[0], +1.0, centre + half, centre),
            past(body.x[1], -1.0, centre - half, centre),
            affine(layout.image_y - body.y[1]),
            behind,
            *_past_the_edges(layout, body),
        )
    )
    # no more than the lens itself keeps from a box that reaches behind it: that follows from the rays, but only through
    # products, and so the solver would be long about a lens that can be nowhere in a box
    at_lens = (body.z[0] - lens.z, lens.z - body.z[1], body.x[0] - centre, centre - body.x[1])
    around = Greatest((Gate(lens.y - body.y[1]), *(affine(side) for side in at_lens), behind))
    return Least((whole, around))


def under_ceiling(layout: Layout) -> list[Form]:
    """How far the light passes below each corner of a ceiling that slopes along the room, and below each edge that comes
    down from one that slopes across it; no bound for corners that it does not pass."""
    top, lens = layout.image_bottom + layout.image_height, layout.lens
    along: list[Form] = [
        Greatest(
            (
                Gate(layout.image_y - y),
                Gate(y - lens.y),
                _beyond(_ray(layout, top, lens.z, y), +1.0, constant(height)),
            )
        )
        for y, height in layout.ceiling.along
    ]
    centre, half = layout.image_centre, layout.image_width * 0.5
    across: list[Form] = []
    for x, height in hanging_edges(layout.ceiling.across):
        # as seen along the room the light is the image with the lens over it, or within its height
        tent = Greatest(tuple(_over_an_edge(layout, x, height, side) for side in (-1.0, 1.0)))
        across.append(Greatest((Gate(centre - half - x), Gate(x - centre - half), Least((affine(height - top), tent)))))
    return along + across
