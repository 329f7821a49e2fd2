"""The design sheet, and single drawings, as PDF."""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from optimiser.errors import UsageError
from optimiser.sheet.document import Sheet, Verbatim
from optimiser.sheet.paper import Paper
from optimiser.sheet.plates import Plate

TEMPLATES = Path(__file__).parent / "templates"
NO_TIME = 0
"""Time stamp of every file: the same input gives the same bytes."""


def sheet_pdf(sheet: Sheet, paper: Paper) -> bytes:
    """The sheet on a size of paper."""
    return _compile("sheet.typ", {"sheet": _record(sheet), "paper": {"width": paper.width, "height": paper.height}})


def plate_pdf(plate: Plate) -> bytes:
    """One drawing on a page of its own size."""
    return _compile("plate.typ", {"plate": dataclasses.asdict(plate)})


def _record(sheet: Sheet) -> dict[str, Any]:
    record = dataclasses.asdict(sheet)
    for section, made in zip(record["sections"], sheet.sections):
        for block, item in zip(section["blocks"], made.blocks):
            block["kind"] = type(item).__name__
            if isinstance(item, Verbatim):
                block["text"] = breakable(item.text)
    return record


def breakable(text: str) -> str:
    """The text with places at which words longer than a line may be broken."""
    words = re.split(r"(\s+)", text)
    return "".join("\u200b".join(w[i : i + 60] for i in range(0, len(w), 60)) if len(w) > 60 else w for w in words)


def _compile(template: str, data: dict[str, Any]) -> bytes:
    try:
        import typst
    except ModuleNotFoundError as error:
        raise UsageError("PDF needs the extra 'pdf': pip install 'screening-room-optimiser[pdf]'") from error
    # texts go in as data and are never read as markup
    return typst.compile(
        TEMPLATES / template,
        root=TEMPLATES,
        format="pdf",
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
        timestamp=NO_TIME,
    )


def unprintable(texts: Sequence[str]) -> bool:
    """Whether some letter is in none of the typefaces that PDFs are set in."""
    return any(not _known(c) for text in texts for c in text)


def printable(text: str) -> str:
    """The text with letters that no typeface here has written as their code, such as [U+1F3AC]."""
    return "".join(c if _known(c) else f"[U+{ord(c):04X}]" for c in text)


KNOWN = (
    (0x0020, 0x007E), (0x00A0, 0x024F), (0x0300, 0x0345), (0x0370, 0x03FF), (0x0400, 0x052F), (0x05D0, 0x05EA),
    (0x0621, 0x063A), (0x0640, 0x0652), (0x0660, 0x0669), (0x1E00, 0x1EFF), (0x1F00, 0x1FFE),
    (0x2010, 0x2027), (0x202F, 0x205E),
    (0x2070, 0x208E), (0x20A0, 0x20B5), (0x2190, 0x21FF), (0x2200, 0x22FF), (0x2500, 0x257F), (0x25A0, 0x25FF),
)  # fmt: skip
"""Letters that the typefaces embedded in the PDF compiler have, by ranges of code points."""


def _known(letter: str) -> bool:
    return letter in "\n\t" or any(a <= ord(letter) <= b for a, b in KNOWN)
