"""The sheet in a real browser: an accessibility checker, no overflow, nothing fetched.

Runs where a Chromium is installed and the extra ``browser`` is there; CI installs both.
"""

from __future__ import annotations

import shutil

import pytest

from optimiser.sheet.content import sheet
from optimiser.sheet.html import html
from optimiser.sheet.make import gather
from optimiser.sheet.paper import A4
from tests.sheet.conftest import built, text
from tests.sheet.test_sheet import NASTY, loads

api = pytest.importorskip("playwright.sync_api", reason="needs the extra 'browser'")
axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="needs the extra 'browser'")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium is installed")


@pytest.fixture(scope="module")
def browser():
    with api.sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield found
        found.close()


def pages() -> dict[str, str]:
    found = {}
    for name, source in {
        "two rows": text(rows=2, projector=True) + "designs:\n  as drawn: {row1.y: 3.6 m}\n",
        "four rows in feet": text(rows=4, show="ft-in"),
        "impossible": text(rows=1).replace("at_least: 2 m}", "at_least: 7 m}"),
        "nasty title": text(rows=1, title='"' + NASTY[1] + " <b> 🎬 " + "x" * 150 + '"'),
    }.items():
        found[name] = html(sheet(gather(loads(source, name), source, f"{name}.yaml"), A4))
    return found


@pytest.mark.parametrize("width", (1200, 380))
def test_no_violation_no_overflow_no_request(browser, tmp_path, width):
    for name, source in pages().items():
        file = tmp_path / "sheet.html"
        file.write_text(source, encoding="utf-8")
        # the page's own policy forbids scripts, also the checker's
        context = browser.new_context(viewport={"width": width, "height": 900}, bypass_csp=True)
        page = context.new_page()
        asked: list[str] = []
        page.on("request", lambda request, asked=asked: asked.append(request.url))
        page.goto(file.as_uri())
        assert asked == [file.as_uri()], name
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        results = axe.Axe().run(page)
        said = [(v["id"], v["impact"], [n["target"] for n in v["nodes"]][:3]) for v in results.response["violations"]]
        assert not said, (name, said)
        context.close()


def test_a_long_word_widens_no_page_and_breaks_no_other(browser, tmp_path):
    """A design's name of 200 letters stands in the head of a table, in a figure's caption and in sentences; no short word of a head is
    broken for it."""
    name = "n" * 200
    source = text(rows=2) + f"designs:\n  {name}: {{row1.y: 3.6 m}}\n"
    file = tmp_path / "sheet.html"
    file.write_text(html(sheet(gather(loads(source, "long"), source, "long.yaml"), A4)), encoding="utf-8")
    for width in (1200, 380):
        page = browser.new_page(viewport={"width": width, "height": 900})
        page.goto(file.as_uri())
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        # a table may be moved sideways on a telephone, but not for a name
        tables = page.evaluate("[...document.querySelectorAll('table')].map(t => t.offsetWidth)")
        assert max(tables) <= max(width, 900)
        # a head of one short word stands on one line
        heads = page.evaluate(
            "[...document.querySelectorAll('thead th')].filter(c => /^[a-z]{3,15}$/.test(c.textContent)).map(c => { const r = "
            "document.createRange(); r.selectNodeContents(c); return r.getClientRects().length })"
        )
        assert heads and set(heads) == {1}
        page.close()


def test_labels_keep_apart_in_the_browsers_own_typefaces(browser, tmp_path):
    """Boxes that the browser gives the letters of a drawing, whatever typeface of the family it has."""
    from optimiser.sheet.picture import picture

    file = tmp_path / "picture.svg"
    for rows in (1, 2, 3, 4):
        file.write_text(picture(*built(rows=rows, show="ft-in", projector=True)), encoding="utf-8")
        page = browser.new_page()
        page.goto(file.as_uri())
        boxes = page.evaluate(
            "[...document.querySelectorAll('text')].map(t => { const b = t.getBBox(); "
            "return [t.textContent, b.x, b.y, b.x + b.width, b.y + b.height, t.getAttribute('transform') !== null] })"
        )
        level = [b for b in boxes if not b[5]]
        assert len(level) > 15
        for i, (one, a, b, c, d, _) in enumerate(level):
            for two, e, f, g, h, _ in level[i + 1 :]:
                # a line's box has air above and below its letters: boxes may touch, not lie on each other
                across = min(c, g) - max(a, e)
                down = min(d, h) - max(b, f)
                assert across <= 0.05 or down <= 0.4, (rows, one, two, across, down)
        page.close()
