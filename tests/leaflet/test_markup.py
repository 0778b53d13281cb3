"""Markup: escaped, strict, and without words of its own."""

import re
from dataclasses import fields, replace
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace
from typing import Any, Protocol

import jinja2
import pytest

from pipeline.language.fonts import find_fonts
from pipeline.language.speech import Phrase
from pipeline.leaflet.content import Leaflet
from pipeline.leaflet.markup import render, style
from pipeline.leaflet.papers import PAPERS
from pipeline.workspace import shipped

TEMPLATES = Path(shipped("symbols").parent / "pipeline" / "leaflet")
HOSTILE = "<b>Salt</b> & \"pepper\" 'n' {{ 7*7 }} </title><img src=x>"


class Compose(Protocol):
    """A demo in a locale."""

    def __call__(self, demo: str, tag: str, /) -> Leaflet: ...


class Reader(HTMLParser):
    """Collects texts and attributes of a page."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        self.feed(page)
        self.close()

    def handle_data(self, data: str) -> None:
        """A text node."""
        self.texts.append(data)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A tag and what it says."""
        self.attributes += [(tag, name, value or "") for name, value in attrs]


def test_a_pattern_s_text_is_text_wherever_it_stands(composed: Compose) -> None:
    """Angle brackets, ampersands, quotes and braces are printed: in the title, a note, an alternative text, a caution."""
    leaflet = composed("first-frost", "en")
    plain = Reader(render(leaflet))
    steps = (replace(leaflet.steps[0], note=Phrase(HOSTILE, "es")), *leaflet.steps[1:])
    portrait = replace(leaflet.portrait, alt=HOSTILE)
    page = Reader(render(replace(leaflet, title=Phrase(HOSTILE), steps=steps, portrait=portrait)))
    assert page.texts.count(HOSTILE) == 3
    assert ("img", "alt", HOSTILE) in page.attributes
    assert ("span", "lang", "es") in page.attributes
    assert {tag for tag, _, _ in page.attributes} == {tag for tag, _, _ in plain.attributes}
    assert "src" not in {name for tag, name, value in page.attributes if value == "x"}


@pytest.mark.parametrize(
    "missing", [field.name for field in fields(Leaflet) if field.name not in {"untranslated", "ticks"}]
)
def test_a_field_that_is_not_there_stops_the_page(composed: Compose, missing: str) -> None:
    """Every field of a leaflet stands in the template, those for screens apart, and without it there is no page with a hole."""
    leaflet = composed("tide-table", "en")
    kept: dict[str, Any] = {field.name: getattr(leaflet, field.name) for field in fields(leaflet)}
    assert render(SimpleNamespace(**kept)) == render(leaflet)  # type: ignore[arg-type]
    del kept[missing]
    with pytest.raises(jinja2.UndefinedError):
        render(SimpleNamespace(**kept))  # type: ignore[arg-type]


def test_the_template_holds_no_words() -> None:
    """Without its tags and what is filled in, only spaces and signs are left; alternative texts are all filled in."""
    source = (TEMPLATES / "leaflet.html").read_text(encoding="utf-8")
    for text in re.findall(r'(?:alt|title|content|aria-label)="([^"]*)"', source):
        assert not re.search(r"[^\W\d_]", re.sub(r"\{\{.*?\}\}", "", text)), text
    bare = re.sub(r"<[^>]*>", " ", re.sub(r"\{%.*?%\}|\{\{.*?\}\}", "", source, flags=re.DOTALL))
    assert not re.search(r"[^\W_]", bare), bare.split()
    assert "·" in bare


def test_the_style_sheet_holds_no_words() -> None:
    """Whatever it writes by itself is a counter, a running element or a sign."""
    source = (TEMPLATES / "leaflet.css").read_text(encoding="utf-8")
    written = re.findall(r"content:\s*([^;}]*)", source)
    assert len(written) > 3
    for value in written:
        for text in re.findall(r'"([^"]*)"', value):
            assert not re.search(r"[^\W\d_]", re.sub(r"\\[0-9a-f]+", "", text)), value


@pytest.mark.parametrize("tag", ["en", "es", "ar", "ja"])
def test_every_text_node_comes_from_the_leaflet(composed: Compose, tag: str) -> None:
    """Nothing with a letter stands on the page that the leaflet does not hold."""
    leaflet = composed("tide-table", tag)
    held = repr(leaflet)
    for text in Reader(render(leaflet)).texts:
        for piece in re.split(r"\s·\s", text.strip()):
            if re.search(r"[^\W\d_]", piece):
                assert repr(piece.strip(" ·"))[1:-1] in held, piece


def test_words_of_the_key_take_what_its_panels_leave(composed: Compose) -> None:
    """Beside four panels the narrow column, beside fewer a wider one, without panels the whole line."""
    leaflet = composed("willow-walk", "de")
    rows = re.findall(r'<div class="(say[^"]*)">(?:(?!</tr>).)*</tr>', render(leaflet), flags=re.DOTALL)
    wanted = ["say four" if len(row.panels) == 4 else "say" if row.panels else "say alone" for row in leaflet.key]
    assert rows == wanted
    assert set(wanted) == {"say four", "say", "say alone"}


@pytest.mark.parametrize(("tag", "direction"), [("en", "ltr"), ("ar", "rtl")])
def test_the_page_says_its_language_and_direction(composed: Compose, tag: str, direction: str) -> None:
    """HTML: lang and dir on the root; notation lines and the whole-lace row run left to right in both."""
    attributes = Reader(render(composed("first-frost", tag))).attributes
    assert ("html", "lang", tag) in attributes
    assert ("html", "dir", direction) in attributes
    assert attributes.count(("p", "dir", "ltr")) == 4
    assert ("div", "dir", "ltr") in attributes


def test_columns_mirror_with_the_direction() -> None:
    """Start is the right in Arabic, the left in English; nothing else of the sheet need know."""
    fonts = find_fonts("Arab", ())
    left, right = style(PAPERS["a4"], fonts, "ltr"), style(PAPERS["a4"], fonts, "rtl")
    assert "text-align: left" in left
    assert "text-align: right" in right
    assert '@bottom-left { content: ""' in left
    assert '@bottom-right { content: ""' in right


@pytest.mark.parametrize("script", ["Latn", "Arab", "Jpan"])
def test_only_listed_fonts_are_asked_for(script: str) -> None:
    """Every address in the style sheet is a font of the script or a stamp: nothing from anywhere else."""
    sheet = style(PAPERS["a5"], find_fonts(script, ()), "ltr")
    addresses = re.findall(r"url\(([^)]*)\)", sheet)
    assert len(addresses) >= 3
    assert all(re.fullmatch(r"font:[\w-]+\.ttf|stamp:strip", address) for address in addresses)
    assert "@import" not in sheet
