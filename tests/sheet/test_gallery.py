"""The gallery in docs/ is what its command makes today."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pypdf
import pytest

GALLERY = Path(__file__).parents[2] / "docs" / "gallery"
AGAIN = "make the gallery again: python docs/gallery/make.py"


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> Path:
    spec = importlib.util.spec_from_file_location("gallery_make", GALLERY / "make.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    folder = tmp_path_factory.mktemp("gallery")
    module.main(folder)
    return folder


def files(folder: Path) -> set[str]:
    return {str(p.relative_to(folder)) for p in folder.rglob("*") if p.suffix in (".html", ".pdf", ".md")}


def test_the_gallery_is_current(made):
    assert files(GALLERY) == files(made), AGAIN
    for name in sorted(files(made)):
        if not name.endswith(".pdf"):
            assert (GALLERY / name).read_text(encoding="utf-8") == (made / name).read_text(encoding="utf-8"), AGAIN


def test_its_pdfs_say_the_same(made):
    """Words, not bytes: another version of the PDF compiler may write others."""
    for name in sorted(n for n in files(made) if n.endswith(".pdf")):
        pages = len(pypdf.PdfReader(made / name).pages)
        assert 3 <= pages <= 6, f"{name} has {pages} pages"
        one, two = ("\n".join(p.extract_text() for p in pypdf.PdfReader(root / name).pages) for root in (GALLERY, made))
        assert one.split() == two.split(), f"{name}: {AGAIN}"
