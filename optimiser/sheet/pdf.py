"""The design sheet, and single drawings, as PDF."""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from optimiser.errors import UsageError
from optimiser.sheet.document import Sheet, kept_whole
from optimiser.sheet.paper import Paper
from optimiser.sheet.plates import Plate

TEMPLATES = Path(__file__).parent / "templates"
NO_TIME = 0
"""Time stamp of every file: the same input gives the same bytes."""

WAYS = tuple((tight, False, whole) for whole in (False, True) for tight in (0, 1, 2)) + (
    (-1, False, False),
    (0, True, False),
)
"""How a sheet may be set, the best to look at first: how closely (-1 is with more air), whether the problem file
begins a page of its own, and whether drawings keep out of the table of goals, for which a page may have to end early."""

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


def sheet_pdf(sheet: Sheet, paper: Paper) -> bytes:
    """The sheet on a size of paper, set as closely as it must be to fill its pages well: three to six, none
    nearly empty, no drawing between the goals, and no few lines of the problem file alone at a page's foot. Where no
    way does, the one nearest to that number, of these one with no such break, of these the one with the fullest last
    page."""
    record, size = _record(kept_whole(sheet)), {"width": paper.width, "height": paper.height}
    best: tuple[tuple[int, bool, float], bytes] | None = None
    for tight, apart, whole in WAYS:
        compiler = _compiler(
            "sheet.typ", {"sheet": record, "paper": size, "tight": tight, "apart": apart, "whole": whole}
        )
        made = _pdf(compiler)
        end = json.loads(compiler.query("<end>", field="value", one=True))
        pages, share = int(end["pages"]), float(end["share"])
        cut = not whole and len(set(json.loads(compiler.query("<goals>", field="value")))) > 1
        for file in json.loads(compiler.query("<file>", field="value")):
            cut = cut or (int(file["page"]) < pages and float(file["share"]) > LOWEST)
        if LEAST_PAGES <= pages <= MOST_PAGES and share >= LEAST_SHARE and not cut:
            return made
        rank = (max(pages - MOST_PAGES, LEAST_PAGES - pages, 0), share < LEAST_SHARE or cut, -share)
        if best is None or rank < best[0]:
            best = rank, made
    assert best is not None
    return best[1]


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
        return {key: one if key in ("plates", "key", "original") else _broken(one) for key, one in thing.items()}
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
