"""Every demo in every language: a leaflet is made, whole, without a word to say against it."""

import io
from pathlib import Path

import pypdfium2 as pdfium
import pytest

from pipeline.catalogue.make import Making, make, pages_of, subject_of
from pipeline.commands.desk import shelf_of
from pipeline.files import check_file
from pipeline.language.locales import load_locales
from pipeline.language.speech import load_speech
from pipeline.typeset import typeset
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


@pytest.mark.parametrize("paper", ["a4", "a5", "a4-large"])
@pytest.mark.parametrize("demo", ["night-heron", "willow-walk"])
@pytest.mark.parametrize("tag", ["de", "en"])
def test_what_is_needed_is_not_torn_apart(demo: str, paper: str, tag: str) -> None:
    """No need stands alone at the foot of a page or on the next one; all cautions stand together."""
    file = PATTERNS / f"{demo}.yaml"
    speech = load_speech([shipped("locales")], LOCALES[tag])
    found = pages_of(subject_of(check_file(file), shelf_of(workspace_of(file))), speech, Making(paper))
    pdf = pdfium.PdfDocument(typeset(found.leaflet, found.stamped, found.press))
    texts = [bare(page.get_textpage().get_text_range()) for page in pdf]
    needs = [bare((need.detail[0] if need.detail else need.value).text) for need in found.leaflet.materials]
    counts = [sum(need in text for need in needs) for text in texts]
    assert sum(counts) >= len(needs)
    assert 1 not in counts, counts
    cautions = [bare(caution.text) for caution in found.leaflet.cautions]
    assert any(all(caution in text for caution in cautions) for text in texts)


@pytest.mark.parametrize("paper", ["a4-large", "letter-large"])
@pytest.mark.parametrize("tag", ["de", "uk"])
def test_no_page_of_large_print_has_two_lines_on_it(paper: str, tag: str) -> None:
    """The demo with the longest steps: a page without a picture has three lines at least between head and foot."""
    file = PATTERNS / "willow-walk.yaml"
    speech = load_speech([shipped("locales")], LOCALES[tag])
    found = pages_of(subject_of(check_file(file), shelf_of(workspace_of(file))), speech, Making(paper))
    pdf = pdfium.PdfDocument(typeset(found.leaflet, found.stamped, found.press))
    worded = [page for page in pdf if not any(each.type == pdfium.raw.FPDF_PAGEOBJ_FORM for each in page.get_objects())]
    assert worded
    for page in worded:
        lines = [line for line in page.get_textpage().get_text_range().splitlines() if line.strip()]
        assert len(lines) >= 3 + HEAD_AND_FOOT, lines


HEAD_AND_FOOT = 2
"""Lines of them."""


def bare(text: str) -> str:
    """Without spaces and breaks."""
    return "".join(text.split())
