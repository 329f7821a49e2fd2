"""No line ends inside a quantity: in a terminal, on a page, in a PDF. Texts and widths are made up here."""

from __future__ import annotations

import io
import re
from html import unescape

import pytest
from rich.padding import Padding
from rich.text import Text

from optimiser.quantity import unbroken
from optimiser.sheet.document import Listing, Paragraph, Section, Sheet, Table, Verbatim, kept_whole
from optimiser.sheet.html import html
from optimiser.sheet.whole import STAND_IN, Columns, Terminal

LENGTHS = ("22 ft 3 1/2 in", "-4 7/16 in", "7.112 m", "91 %", "1/2 in", "2.5 m2", "24.3 px/deg")


@pytest.mark.parametrize("length", LENGTHS)
def test_spaces_inside_a_quantity_are_marked_and_no_others(length):
    text = unbroken(f"row 3 is {length}, off by {length}: 12 of 24 in all", "_")
    marked = length.replace(" ", "_")
    assert text == f"row 3 is {marked}, off by {marked}: 12 of 24_in all"  # '24 in' reads like a length: no harm


def test_where_feet_and_inches_do_not_fit_the_inches_stay_whole():
    assert unbroken("22 ft 3 1/2 in", "_", width=14) == "22_ft_3_1/2_in"
    assert unbroken("22 ft 3 1/2 in", "_", width=13) == "22 ft 3_1/2_in"
    assert unbroken("22 ft 3 1/2 in", "_", width=7) == "22 ft 3 1/2 in"


def printed(thing, width: int) -> list[str]:
    out = io.StringIO()
    Terminal(file=out, width=width, highlight=False, markup=False, emoji=False).print(thing)
    assert STAND_IN not in out.getvalue()
    return [line.rstrip() for line in out.getvalue().splitlines()]


@pytest.mark.parametrize("width", range(16, 60))
def test_lines_of_a_paragraph(width):
    words = "The image is 15 ft 8 1/4 in wide, -4 7/16 in over the eyes, 7.112 m from the wall; 91 % of it is seen."
    for thing in (words, Text(words), Padding(Text(words), (0, 0, 0, 1))):
        lines = printed(thing, width)
        assert max(map(len, lines)) <= width
        assert " ".join(" ".join(lines).split()) == words
        for whole in ("15 ft 8 1/4 in", "-4 7/16 in", "7.112 m", "91 %"):
            assert any(whole in line for line in lines), whole


@pytest.mark.parametrize("width", range(47, 80))
def test_columns_of_a_table(width):
    """14 + 17 + 4 letters, 6 of the longest word, and 3 * 2 columns between them: 47 at the least."""
    table = Columns(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for head in ("what it is", "value", "in short", ""):
        table.add_column(head, overflow="fold")
    table.add_row("a name that goes on for longer than its column is", "22 ft 3 1/2 in", "16 ft 11 15/16 in", "91 %")
    lines = printed(table, width)
    assert max(map(len, lines)) <= width
    for whole in ("22 ft 3 1/2 in", "16 ft 11 15/16 in", "91 %", "longer"):
        assert any(whole in line for line in lines), whole


def test_a_table_too_narrow_for_its_lengths_is_no_wider_than_the_terminal():
    table = Columns(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for head in "abc":
        table.add_column(head, overflow="fold")
    table.add_row(*3 * ["16 ft 11 15/16 in"])
    lines = printed(table, 40)
    assert max(map(len, lines)) <= 40
    assert sum(line.count("11 15/16 in") for line in lines) == 3


@pytest.mark.parametrize("width", range(78, 120))
def test_no_letter_is_lost_beside_a_column_with_a_least_width(width):
    """24 + 5 + 10 + 13 letters, and 3 * 2 columns between them: 58 at the least."""
    table = Columns(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for head in ("room.doors.kitchen.hinge", "score", "rows at", "what changes"):
        table.add_column(head, overflow="fold")
    table.columns[0].min_width = 24
    words = "binding: walkway (row 2), sightline clearance (row 2), stair width (row 2), aisle width (row 2)"
    table.add_row("18 ft", "81.7", "10 ft 10 1/4 in 2.40:1, 12 ft 9 in, 19 ft 3 in", words)
    lines = printed(table, width)
    assert max(map(len, lines)) <= width
    for word in words.split():
        assert any(word in line.split() for line in lines), word


SAID = "It is 22 ft 3 1/2 in, off by -4 7/16 in."
FILE = "room: {length: 22 ft 3 1/2 in}"


def made() -> Sheet:
    table = Table("Over 3 ft", ("what", "how much"), (("it", "22 ft 3 1/2 in"),))
    blocks = (Paragraph(SAID), Listing((SAID,)), table, Verbatim(FILE, "room.yaml", FILE, "the file"))
    return Sheet("A 9 ft room", SAID, SAID, (("width", "7 ft 1 in"),), (Section("One", blocks, "one"),))


def test_a_page():
    page = unescape(html(made()))
    body = page[page.index("<main>") :]
    assert body.count("22\u00a0ft\u00a03\u00a01/2\u00a0in") == 3 and body.count("-4\u00a07/16\u00a0in") == 2
    assert "Over 3\u00a0ft" in body and "7\u00a0ft\u00a01\u00a0in" in page
    assert FILE in body  # as it is to be copied
    assert not re.search(r"\d (ft|in)\b", body.replace(FILE, ""))


def test_a_pdf():
    pytest.importorskip("typst")
    pypdf = pytest.importorskip("pypdf")
    from optimiser.sheet.paper import A4
    from optimiser.sheet.pdf import sheet_pdf

    whole = kept_whole(made())
    assert whole.sections[0].blocks[3] == made().sections[0].blocks[3]
    words = "".join(f"{'so ' * (n % 7)}it is 22 ft 3 {2 * n + 1}/64 in there, " for n in range(32))
    sheet = Sheet("x", "", "", (), (Section("One", (Paragraph(words),), "one"),))
    text = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(sheet_pdf(sheet, A4))).pages)
    lines = [line.replace("\u00a0", " ") for line in text.splitlines()]
    assert sum(len(re.findall(r"22 ft 3 \d+/64 in", line)) for line in lines) == 32
