"""The text of a PDF is the text of its leaflet: it can be searched, copied and read aloud in every script."""

import re
import unicodedata
from pathlib import Path

import pypdfium2 as pdfium
import pytest

from pipeline.catalogue.make import Making, Pages, pages_of, subject_of
from pipeline.commands.desk import shelf_of
from pipeline.files import check_file
from pipeline.language.locales import load_locales
from pipeline.language.speech import load_speech
from pipeline.typeset import typeset
from pipeline.workspace import shipped, workspace_of

DEMO = Path(__file__).resolve().parent.parent / "patterns" / "first-frost.yaml"
ISOLATES = dict.fromkeys(map(ord, "\u2066\u2067\u2068\u2069"))


def pages(tag: str) -> Pages:
    """The demo in a locale."""
    locale = load_locales([shipped("locales")])[tag]
    subject = subject_of(check_file(DEMO), shelf_of(workspace_of(DEMO)))
    return pages_of(subject, load_speech([shipped("locales")], locale), Making())


def sentences(tag: str, found: Pages) -> list[str]:
    """What its steps and its title say."""
    said = [found.leaflet.title.text, *(text for step in found.leaflet.steps for text in step.sentences)]
    assert len(said) > 15, tag
    return [text.translate(ISOLATES) for text in said]


def extracted(found: Pages) -> str:
    """All text of the PDF, as PDFium reads it (what a browser searches and copies)."""
    document = pdfium.PdfDocument(typeset(found.leaflet, found.stamped, found.press))
    return "\n".join(page.get_textpage().get_text_range() for page in document)


@pytest.mark.parametrize("tag", ["hi", "ja", "zh-Hans", "uk", "de"])
def test_every_sentence_can_be_read_off_the_pages(tag: str) -> None:
    """In logical order, letter by letter; where lines break is not text. Devanagari, Han, kana, Cyrillic, Latin."""
    found = pages(tag)
    text = re.sub(r"[\s\u00ad\u2010]", "", extracted(found)).replace("-", "")
    for sentence in sentences(tag, found):
        assert re.sub(r"\s", "", sentence).replace("-", "") in text, sentence


def letters(word: str) -> str:
    """A Hebrew word as it is; an Arabic one by its letters, as readers turn those round that are one glyph together."""
    plain = "".join(c for c in unicodedata.normalize("NFKD", word) if not unicodedata.combining(c))
    return "".join(sorted(plain)) if plain[0] >= "\u0621" else plain


@pytest.mark.parametrize("tag", ["ar", "he"])
def test_every_word_that_runs_from_right_to_left_can_be_read_off_the_pages(tag: str) -> None:
    """Letters in logical order. Readers of PDF put glyphs into order by themselves, but for ligatures."""
    found = pages(tag)
    words = re.compile(r"[\u05d0-\u05ea\u0621-\u064a\u064b-\u0652]{3,}")
    there = {letters(word) for word in words.findall(extracted(found))}
    said = [word for sentence in sentences(tag, found) for word in words.findall(sentence)]
    wanted = {letters(word) for word in said if not any(map(unicodedata.combining, word))}
    assert len(wanted) > 40
    assert wanted - there == set()
