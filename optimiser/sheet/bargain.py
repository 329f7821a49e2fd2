"""The sheet's section on a front: what else could be had, and for what."""

from __future__ import annotations

from collections.abc import Sequence

from optimiser.record import decisions_record
from optimiser.sheet.charts import PAPER
from optimiser.sheet.document import Block, Paragraph, Plates, Section, Table
from optimiser.sheet.fronts import (
    alone_words,
    apart_words,
    cells,
    deciding,
    front_words,
    listed_points,
    marked,
    proven_words,
    shown,
)
from optimiser.sheet.labels import Placer
from optimiser.sheet.material import Material
from optimiser.sheet.plates import plate
from optimiser.sheet.scene import Circle, Scene, Text
from optimiser.study.aims import told
from optimiser.study.front import Front
from optimiser.words import decision_words

LISTED = 9
"""Points of a front that the sheet lists, beside its ends and knees."""

DEEP = 62.0
"""Millimetres that the picture of a front is tall."""

WIDE = 104.0
DOT, BIG = 0.7, 1.3

BEST = "best"


def front_section(material: Material, found: Front) -> Section:
    """The front in a table and, of two objectives, in a picture, with the sheet's own design among it."""
    best = told(material.problem, material.space, material.design, found.objectives)
    several = len(found.points) > 1
    said = f"{proven_words(found)} {apart_words(found)}" if several else alone_words(found)
    blocks: list[Block] = [Paragraph(f"{front_words(found.objectives).capitalize()}. {said}")]
    if len(found.objectives) == 2 and several:
        drawn = plate("front", [_picture(found, best)], "The front")
        caption = "Each point is a design that no design beats in both; numbers are those of the table"
        caption += ", filled points are knees, where the front bends" if found.knees else ""
        blocks.append(Plates((drawn,), (caption + (", the square is the design of this sheet." if best else "."),)))
    names = deciding(found)
    scored = any(o.measure is None for o in found.objectives)  # the score is told among the objectives
    first = (*(o.words for o in found.objectives), *(() if scored else ("score",)))
    head = ("", *first, *(decision_words(n) for n in names), "")
    rows = []
    for k in listed_points(found, LISTED):
        point = found.points[k]
        told_of = cells(found, point.values, None if scored else point.score, point.design, names)
        rows.append((str(k + 1), *told_of, marked(point)))
    if best is not None:
        own = decisions_record(found.problem, material.design)
        rows.append((BEST, *cells(found, best, None if scored else material.card.score, own, names), "this sheet"))
    some = "" if len(found.points) <= len(rows) else f", {len(rows) - (best is not None)} of {len(found.points)}"
    last = len(head) - 1
    caption = f"{'Designs' if several else 'A design'} that no design beats in {_all(found)}{some}"
    blocks.append(Table(caption, head, tuple(rows), right=tuple(range(last)), wide=((last, 1.0),)))
    return Section("What else could be had", tuple(blocks), "front")


def _all(found: Front) -> str:
    return "both" if len(found.objectives) == 2 else "all three"


def _picture(found: Front, best: tuple[float, ...] | None) -> Scene:
    """Both objectives' values, the first across."""
    system = found.problem.show
    scene = Scene("front", "The front", PAPER)
    every = [p.values for p in found.points] + ([best] if best else [])
    ends = [(min(v[k] for v in every), max(v[k] for v in every)) for k in (0, 1)]
    spans = [(high - low) or 1.0 for low, high in ends]

    def at(values: Sequence[float]) -> tuple[float, float]:
        return WIDE * (values[0] - ends[0][0]) / spans[0], DEEP * (values[1] - ends[1][0]) / spans[1]

    pad = 4.0
    scene.line("axis", (-pad, -pad), (WIDE + pad, -pad))
    scene.line("axis", (-pad, -pad), (-pad, DEEP + pad))
    for k, (u, v, anchor) in ((0, (0.0, -pad - 3.0, "middle")), (1, (-pad - 1.5, 0.0, "end"))):
        scene.add(Text((u, v), shown(found.objectives[k], ends[k][0], system), anchor=anchor))
        far = (WIDE, v) if k == 0 else (u, DEEP)
        scene.add(Text(far, shown(found.objectives[k], ends[k][1], system), anchor=anchor))
    scene.add(Text((0.5 * WIDE, -pad - 6.5), found.objectives[0].words, "quiet", anchor="middle"))
    scene.add(Text((-pad, DEEP + pad + 3.0), found.objectives[1].words, "quiet"))
    for point in found.points:
        scene.add(Circle(at(point.values), BIG if point.knee else DOT, "value" if point.knee else "miss"))
    if best is not None:
        u, v = at(best)
        scene.box("share", (u - BIG, u + BIG), (v - BIG, v + BIG))
    place = Placer(scene)
    if best is not None:
        place.put(BEST, at(best), prefer=("above right", "right", "above"), gap=1.8, bold=True)
    listed = listed_points(found, LISTED)
    for k in listed if len(listed) <= 2 * LISTED else sorted({*found.knees, *found.ends}):
        place.put(str(k + 1), at(found.points[k].values), prefer=("above right", "right", "above", "left"), gap=1.6)
    scene.description = f"{len(found.points)} designs between {' and '.join(o.words for o in found.objectives)}."
    return scene
