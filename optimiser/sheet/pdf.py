"""The design sheet, and single drawings, as PDF."""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from optimiser.errors import UsageError
from optimiser.sheet.document import Sheet, kept_whole
from optimiser.sheet.paper import Paper
from optimiser.sheet.plates import Plate
from optimiser.work import cores

TEMPLATES = Path(__file__).parent / "templates"
Way = tuple[int, bool, bool]

NO_TIME = 0
"""Time stamp of every file: the same input gives the same bytes."""

WAYS: tuple[Way, ...] = tuple((tight, False, whole) for whole in (False, True) for tight in (0, 1, 2)) + (
    (-1, False, False),
    (0, True, False),
    *((tight, False, whole) for tight in (3, 4, 5) for whole in (False, True)),
)
"""How a sheet may be set, the best to look at first: how closely (-1 is with more air, 3 to 5 for what is too much else),
whether the problem file begins a page of its own, and whether drawings keep out of the table of goals, for which a page
may have to end early."""

AT_ONCE = 2
"""Ways that are tried side by side. The first good one is taken, in whatever order they end."""

LONG = 32
"""Letters of a word beyond which it may be broken anywhere."""

FOOT = 100
"""Letters of the title at the foot of a page."""

LEAST_PAGES, MOST_PAGES = 3, 6
"""Pages that a sheet should have."""

LEAST_SHARE = 0.33
"""Share of the last page that should be filled."""

LOWEST = 0.85
"""Share of a page beyond which the problem file should not begin on it, unless it ends there too."""


@dataclasses.dataclass(frozen=True)
class _Set:
    """A sheet as it came out in one ``way``, in the ``compiler`` that can print it: its pages, what share of the last one is
    filled, whether something is divided that should not be, on which page each section begins, and what is free (page, mm)
    below each drawing that may be larger and below each section."""

    compiler: Any
    way: Way
    pages: int
    share: float
    cut: bool
    begins: dict[str, int]
    free: list[tuple[int, float]]
    closed: dict[str, tuple[int, float]]

    @property
    def good(self) -> bool:
        return LEAST_PAGES <= self.pages <= MOST_PAGES and self.share >= LEAST_SHARE and not self.cut

    @property
    def rank(self) -> tuple[int, bool, int, float]:
        """The lower, the better. What is too long however closely it is set is set as openly as that allows."""
        outside = max(self.pages - MOST_PAGES, LEAST_PAGES - self.pages, 0)
        return outside, self.share < LEAST_SHARE or self.cut, abs(self.way[0]) if outside else 0, -self.share


def sheet_pdf(sheet: Sheet, paper: Paper) -> bytes:
    """The sheet on a size of paper, set as closely as it must be to fill its pages well: three to six, none
    nearly empty, no drawing between the goals, and no few lines of the problem file alone at a page's foot. Where no
    way does, the one nearest to that number, of these one with no such break, of these the most open one, then the one
    with the fullest last page. A drawing is larger where its page would else stay empty below it."""
    record = _record(kept_whole(sheet))
    best: _Set | None = None
    too_long: list[Way] = []
    left = list(WAYS)
    count = min(AT_ONCE, cores())
    with ThreadPoolExecutor(count) as threads:  # the compiler leaves other threads alone while it works
        while left and not (best is not None and best.good):
            ways, left = left[:count], left[count:]
            for way, made in zip(ways, threads.map(lambda way: _set(record, paper, way), ways)):
                if _takes_no_less(way, too_long):
                    continue  # the same is found however many are tried at once
                if best is None or not best.good and (made.good or made.rank < best.rank):
                    best = made
                too_long += [way] if made.pages > MOST_PAGES else []
            left = [way for way in left if not _takes_no_less(way, too_long)]
    assert best is not None
    larger = _larger(record, best)
    again = best if larger is None else _set(larger, paper, best.way)
    kept = again.rank[:2] <= best.rank[:2] and again.begins == best.begins
    return _pdf((again if kept else best).compiler)


def _takes_no_less(way: Way, others: Sequence[Way]) -> bool:
    """Whether a sheet set in one way is as long as in one of the others, or longer: no more closely, and with as much kept
    whole or on pages of its own."""
    return any(way[0] <= tight and way[1] >= apart and way[2] >= whole for tight, apart, whole in others)


def _set(record: dict[str, Any], paper: Paper, way: Way) -> _Set:
    """The sheet set in one of the WAYS."""
    tight, apart, whole = way
    size = {"width": paper.width, "height": paper.height}
    compiler = _compiler("sheet.typ", {"sheet": record, "paper": size, "tight": tight, "apart": apart, "whole": whole})

    def seen(label: str) -> Any:
        return json.loads(compiler.query(f"<{label}>", field="value"))

    (end,) = seen("end")
    pages, share = int(end["pages"]), float(end["share"])
    cut = not whole and len(set(seen("goals"))) > 1
    for file in seen("file"):
        cut = cut or (int(file["page"]) < pages and float(file["share"]) > LOWEST)
    begins = {one["key"]: int(one["page"]) for one in seen("section")}
    free = [(int(one["page"]), float(one["free"])) for one in seen("roomy")]
    closed = {one["key"]: (int(one["page"]), float(one["free"])) for one in seen("closed")}
    return _Set(compiler, way, pages, share, cut, begins, free, closed)


def _larger(record: dict[str, Any], made: _Set) -> dict[str, Any] | None:
    """The record with the drawing that may be larger at the largest scale for which there is room, where what comes next
    begins on a later page anyway, or ends on this one; None where there is no such room."""
    sections = record["sections"]
    places = [(n, k) for n, s in enumerate(sections) for k, b in enumerate(s["blocks"]) if b.get("larger")]
    for (number, at), (page, free) in zip(places, made.free):
        block, after = sections[number]["blocks"][at], sections[number + 1 :]
        here = [one["key"] for one in after if made.begins[one["key"]] == page]
        if here:  # they move down, and what is free is below the last of them
            ends, free = made.closed[here[-1]]
            if ends != page:
                continue
        for drawn, caption in block["larger"]:
            if drawn["height"] - block["plates"][0]["height"] <= free:
                changed = {**block, "plates": [drawn], "captions": [caption]}
                blocks = [*sections[number]["blocks"][:at], changed, *sections[number]["blocks"][at + 1 :]]
                return {**record, "sections": [*sections[:number], {**sections[number], "blocks": blocks}, *after]}
    return None


def plate_pdf(plate: Plate) -> bytes:
    """One drawing on a page of its own size."""
    return _pdf(_compiler("plate.typ", {"plate": dataclasses.asdict(plate)}))


def _record(sheet: Sheet) -> dict[str, Any]:
    record = _broken(dataclasses.asdict(sheet))
    record |= {"title": sheet.title, "heading": breakable(sheet.title), "footer": shortened(sheet.title)}
    for section, made in zip(record["sections"], sheet.sections):
        for block, item in zip(section["blocks"], made.blocks):
            block["kind"] = type(item).__name__
    return record


def breakable(text: str) -> str:
    """The text with places at which words that may be longer than a line can be broken."""
    words = re.split(r"(\s+)", text)
    return "".join("\u200b".join(w[i : i + 8] for i in range(0, len(w), 8)) if len(w) > LONG else w for w in words)


def shortened(text: str) -> str:
    """The text, cut where it would surely not fit into the line at a page's foot."""
    return text if len(text) <= FOOT else text[: FOOT - 1].rstrip() + "…"


def _broken(thing: Any) -> Any:
    """A record with every text breakable; drawings, and what is said about them, stay as they are, and so does a file
    that is carried along."""
    if isinstance(thing, str):
        return breakable(thing)
    if isinstance(thing, dict):
        return {
            key: one if key in ("plates", "larger", "key", "original") else _broken(one) for key, one in thing.items()
        }
    return [_broken(one) for one in thing] if isinstance(thing, (list, tuple)) else thing


def _compiler(template: str, data: dict[str, Any]) -> Any:
    """A compiler of a template with data. Texts go in as data and are never read as markup."""
    try:
        import typst
    except ModuleNotFoundError as error:
        raise UsageError("PDF needs the extra 'pdf': pip install 'screening-room-optimiser[pdf]'") from error
    return typst.Compiler(
        TEMPLATES / template,
        root=TEMPLATES,
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
    )


def _pdf(compiler: Any) -> bytes:
    return compiler.compile(format="pdf", timestamp=NO_TIME)


def unprintable(texts: Sequence[str]) -> bool:
    """Whether some letter is in none of the typefaces that PDFs are set in."""
    return any(not _known(c) for text in texts for c in text)


def printable(text: str) -> str:
    """The text with letters that no typeface here has written as their code, such as [U+1F3AC]."""
    return "".join(c if _known(c) else f"[U+{ord(c):04X}]" for c in text)


KNOWN = (
    (0x0020, 0x007E), (0x00A0, 0x00AC), (0x00AE, 0x0377), (0x0388, 0x038A), (0x038E, 0x03A1), (0x03A3, 0x04FF),
    (0x0531, 0x0556), (0x0559, 0x058A), (0x05D0, 0x05EA), (0x0621, 0x063A), (0x0640, 0x0655), (0x0660, 0x066D),
    (0x067E, 0x067E), (0x0686, 0x0686), (0x0698, 0x0698), (0x06A9, 0x06A9), (0x06AF, 0x06AF), (0x06CC, 0x06CC),
    (0x06F0, 0x06F9), (0x10D0, 0x10FF), (0x1E00, 0x1F15), (0x2010, 0x2027), (0x202F, 0x2040), (0x2044, 0x2052),
    (0x2070, 0x2071), (0x2074, 0x208E), (0x20A0, 0x20BF), (0x2100, 0x211E), (0x2153, 0x2184), (0x2190, 0x23FF),
    (0x2500, 0x2606),
)  # fmt: skip
"""Letters that the typefaces embedded in the PDF compiler have, by ranges of code points."""


def _known(letter: str) -> bool:
    return letter in "\n\t" or any(a <= ord(letter) <= b for a, b in KNOWN)
