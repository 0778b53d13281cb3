"""Every demo in every language: a leaflet is made, whole, without a word to say against it."""

import io
from pathlib import Path

import pypdfium2 as pdfium
import pytest

from pipeline.catalogue.make import Making, make
from pipeline.commands.desk import shelf_of
from pipeline.files import check_file
from pipeline.language.locales import load_locales
from pipeline.workspace import shipped, workspace_of

PATTERNS = Path(__file__).resolve().parent.parent / "patterns"
DEMOS = sorted(file for file in PATTERNS.glob("*.yaml") if file.stem != "publisher")
LOCALES = load_locales([shipped("locales")])


@pytest.mark.parametrize("file", DEMOS, ids=lambda file: file.stem)
def test_a_demo_becomes_a_leaflet_in_every_language(file: Path) -> None:
    """Eighteen languages; no text untranslated, no character without a font; as many pages as its words need."""
    found = list(make(check_file(file), shelf_of(workspace_of(file)), LOCALES.values(), Making()))
    assert [made.locale.tag for made in found] == sorted(LOCALES)
    assert len(found) == 18
    assert [problem.message for made in found for problem in made.problems] == []
    pages = {made.locale.tag: len(pdfium.PdfDocument(io.BytesIO(made.pdf or b""))) for made in found}
    assert min(pages.values()) >= 7
    assert max(pages.values()) <= pages["en"] + 2, pages
