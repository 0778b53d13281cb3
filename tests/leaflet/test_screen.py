"""The leaflet for screens: everything is on it, said once for eyes and ears, and nothing comes from elsewhere."""

import hashlib
import itertools
import re
from base64 import b64decode, b64encode
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import pytest
import tinyhtml5

from pipeline.catalogue.make import Making, Shelf, subject_of
from pipeline.catalogue.screens import make_screens, screen_leaflet, screen_name, screen_of, screen_pictures
from pipeline.craft.check import Checked
from pipeline.drawing.inline import Inlays, inlays
from pipeline.files import check_file
from pipeline.language.locales import load_locales
from pipeline.language.speech import Phrase, load_speech
from pipeline.leaflet.content import Leaflet, LinkPart, Photographs, Shown
from pipeline.leaflet.screen import DARK, LIGHT, render_screen
from pipeline.leaflet.steps import Told
from pipeline.leaflet.wordless import UNITS
from pipeline.publisher import Publisher
from pipeline.symbols import SymbolSet
from pipeline.workspace import shipped

PATTERNS = Path(__file__).resolve().parent.parent.parent / "patterns"
PUBLISHER = Publisher(
    publisher="Trial Press", contact="trial@example.org", address="https://example.org/trial",
    copyright="© 2026 Trial Press", licence="All rights reserved", terms=("copy-for-self", "name-publisher"),
)  # fmt: skip
DEMOS = ("first-frost", "night-heron", "drift-ice")
TAGS = ("en", "es", "ar", "ja")
EVERY = [(demo, tag) for demo in DEMOS for tag in TAGS]
PHOTOS = {"photo-1": b"\xff\xd8\xff\xe0 trial", "photo-logo": b"\x89PNG\r\n\x1a\n trial"}
XHTML = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"

Make = Callable[..., tuple[Leaflet, Inlays, str]]


@pytest.fixture(scope="session")
def make(symbols: SymbolSet) -> Make:
    """A demo's leaflet, its pictures, and the file."""
    shelf = Shelf(symbols, PUBLISHER, (shipped("locales"),), ())
    locales = load_locales(shelf.catalogues)

    @cache
    def run(demo: str, tag: str, making: Making = Making()) -> tuple[Leaflet, Inlays, str]:  # noqa: B008
        subject = subject_of(check_file(PATTERNS / f"{demo}.yaml"), shelf)
        speech = load_speech(shelf.catalogues, locales[tag])
        told = Told(subject.pattern, subject.lace, subject.lines, symbols, speech, subject.sizes, making.left_handed)
        drawn = inlays(screen_pictures(told, shelf))
        leaflet = screen_leaflet(told, subject, drawn, making)
        return leaflet, drawn, screen_of(leaflet, subject, drawn)

    return run


@cache
def parsed(html: str) -> Element:
    """The document as a browser takes it apart (WHATWG HTML, 13.2); the tags of HTML without their namespace."""
    root = tinyhtml5.parse(html)
    for element in root.iter():
        element.tag = element.tag.removeprefix(XHTML) if isinstance(element.tag, str) else ""
    return root


def bare(text: str) -> str:
    """A text without isolates, with single plain spaces."""
    return re.sub(r"\s+", " ", re.sub("[\u2066-\u2069]", "", text))


def seen(root: Element) -> str:
    """All that is written for eyes."""
    body = next(root.iter("body"))
    hidden = {element for element in body.iter() if element.tag in {"script", "style"}}
    return bare(" ".join(text for text in _texts(body, hidden) if text.strip()))


def _texts(element: Element, hidden: set[Element]) -> Iterator[str]:
    if element not in hidden:
        yield element.text or ""
        for child in element:
            yield from _texts(child, hidden)
            yield child.tail or ""


def heard(root: Element) -> str:
    """All that stands for pictures, and what a program is told."""
    names = ("aria-label", "alt", "content")
    return bare(" ".join(element.get(name, "") for element in root.iter() for name in names))


NOT_SHOWN = {"true_size", "code", "id", "role", "lang", "direction"}
"""Fields for paper, and fields that are no texts."""


def texts(node: object, name: str = "") -> Iterator[tuple[str, str]]:
    """Every text of a leaflet, with the field it stands in."""
    if isinstance(node, str):
        yield name, node
    elif isinstance(node, tuple):
        for entry in node:
            yield from texts(entry, name)
    elif is_dataclass(node):
        for field in fields(node):
            if field.name not in NOT_SHOWN:
                yield from texts(getattr(node, field.name), f"{name}.{field.name}")


@pytest.mark.parametrize(("demo", "tag"), EVERY)
def test_every_text_of_the_leaflet_is_there(make: Make, demo: str, tag: str) -> None:
    """For eyes or, where it stands for a picture, for ears; but for the loom at true size and square codes."""
    leaflet, _, html = make(demo, tag)
    root = parsed(html)
    read, listened = seen(root), heard(root)
    absent = {
        f".headings.{part}" for part in ("corrections", "links", "mat", "sizes", "terms")
        if not (leaflet.imprint.terms if part == "terms" else getattr(leaflet, part))
    } | {".headings.true_size"}  # fmt: skip
    for name, text in texts(leaflet):
        if name.endswith(".alt"):
            assert bare(text) in f"{listened} {read}", (name, text)
        elif name != ".iso_date" and name not in absent:
            assert bare(text).strip() in read, (name, text)
    assert leaflet.iso_date in {element.get("datetime") for element in root.iter("time")}
    assert leaflet.true_size.sentences[0] not in read


@pytest.mark.parametrize(("demo", "tag"), EVERY)
def test_there_are_no_words_but_those_of_the_leaflet(make: Make, demo: str, tag: str) -> None:
    """With all its texts taken out, no letter is left on the page."""
    leaflet, _, html = make(demo, tag)
    left = seen(parsed(html))
    for text in sorted({bare(text).strip() for _, text in texts(leaflet)} | {"·"}, key=len, reverse=True):
        left = left.replace(text, "") if text else left
    assert re.findall(r"\w+", left) == []


@pytest.mark.parametrize("tag", ["en", "ar"])
@pytest.mark.parametrize("words", [True, False], ids=["words", "wordless"])
def test_headings_and_landmarks_stand_in_order(make: Make, tag: str, words: bool) -> None:  # noqa: FBT001
    """One title, no level left out, no heading empty; one of each landmark; the language and its direction."""
    leaflet, _, html = make("drift-ice", tag, Making(words=words))
    root = parsed(html)
    assert html.startswith("<!DOCTYPE html>")
    assert (root.get("lang"), root.get("dir")) == ("zxx" if not words else tag, leaflet.direction)
    headings = [element for element in root.iter() if re.fullmatch("h[1-6]", element.tag)]
    levels = [int(element.tag[1]) for element in headings]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))
    assert max(levels) == (3 if words else 2)
    assert all(bare("".join(element.itertext())).strip() or list(element.iter(f"{SVG}svg")) for element in headings)
    tags = Counter(element.tag for element in root.iter())
    assert [tags[name] for name in ("main", "footer", "header", "nav", "progress")] == [1, 1, words, words, 1]


@pytest.mark.parametrize("making", [Making(), Making(words=False), Making(left_handed=True)], ids=str)
def test_every_id_is_there_once_and_every_reference_leads_to_one(make: Make, making: Making) -> None:
    """Anchors, labels, names, and what pictures are made of."""
    root = parsed(make("drift-ice", "en", making)[2])
    ids = Counter(element.get("id") for element in root.iter() if element.get("id"))
    assert set(ids.values()) == {1}
    wanted = {element.get(name) for element in root.iter() for name in ("for", "aria-labelledby")}
    wanted |= {element.get("href", "")[1:] for element in root.iter() if element.get("href", "").startswith("#")}
    assert wanted - {None} <= set(ids)


@pytest.mark.parametrize("making", [Making(), Making(words=False)], ids=str)
def test_no_picture_is_without_words(make: Make, making: Making) -> None:
    """Each says what it shows; the silent ones are definitions, leaves of one level, or stand beside their name."""
    root = parsed(make("night-heron", "en", making)[2])
    parents = {child: parent for parent in root.iter() for child in parent}
    drawn = list(root.iter(f"{SVG}svg"))
    assert len(drawn) > 80
    for picture in drawn:
        if picture.get("role") == "img":
            assert (picture.get("aria-label") or "").strip()
        else:
            assert picture.get("aria-hidden") == "true"
            named = parents[picture].get("aria-label") or "".join(parents[picture].itertext()).strip()
            assert named or picture.get("class") == "definitions"


@pytest.mark.parametrize("tag", TAGS)
def test_tables_say_what_their_cells_belong_to(make: Make, tag: str) -> None:
    """Each head of a column or row has its scope; the key keeps its roles where it is laid out as blocks."""
    root = parsed(make("drift-ice", tag)[2])
    assert {head.get("scope") for head in root.iter("th")} == {"col", "row"}
    key = next(table for table in root.iter("table") if table.get("class") == "key")
    roles = {"table": "table", "thead": "rowgroup", "tbody": "rowgroup", "tr": "row", "td": "cell"}
    for part in key.iter():
        if part.tag in roles:
            assert part.get("role") == roles[part.tag]
    rows = list(next(key.iter("tbody")))
    assert {len(row) for row in rows} == {len(next(key.iter("tr")))} == {4}


@pytest.mark.parametrize("demo", DEMOS)
def test_every_step_has_a_box_of_its_own(make: Make, demo: str) -> None:
    """Called by its number and what is worked; kept under a name no language changes; the bar counts to their number."""
    leaflet, _, html = make(demo, "en")
    root = parsed(html)
    steps = [*leaflet.steps, *leaflet.finishing]
    labels = [label for label in root.iter("label") if list(label.iter("input"))]
    names = [bare("".join(label.itertext())).strip() for label in labels]
    assert names == [
        f"{step.number} {step.line[0].glyph.alt}" if step.number else step.glyph.alt  # type: ignore[union-attr]
        for step in steps
    ]
    kept = [[box.get("data-step") for box in parsed(make(demo, tag)[2]).iter("input")] for tag in TAGS]
    assert all(each == kept[0] for each in kept)
    assert len(set(kept[0])) == len(steps)
    assert next(root.iter("progress")).get("max") == str(len(steps))
    assert (
        next(root.iter("body")).get("data-ticks")
        == f"{demo}/{check_file(PATTERNS / f'{demo}.yaml').pattern.edition.number}"
    )  # type: ignore[union-attr]


def test_without_a_script_nothing_is_offered_that_does_not_work(make: Make) -> None:
    """The bar and the button are hidden until the script shows them; boxes need none."""
    root = parsed(make("first-frost", "en")[2])
    parents = {child: parent for parent in root.iter() for child in parent}
    for element in (next(root.iter("progress")), next(root.iter("button"))):
        assert parents[element].get("hidden") is not None
    assert all(box.get("type") == "checkbox" for box in root.iter("input"))


@pytest.mark.parametrize("tag", ["ar", "en"])
def test_notation_runs_from_left_to_right(make: Make, tag: str) -> None:
    """In every language: each line of it, and the whole lace in one row."""
    root = parsed(make("night-heron", tag)[2])
    lines = [element for element in root.iter() if element.get("class") in {"line", "whole"}]
    assert len(lines) == 1 + 6
    assert {line.get("dir") for line in lines} == {"ltr"}


def urls(root: Element) -> set[str]:
    """Every address that something of the document names."""
    named = {element.get(name, "") for element in root.iter() for name in ("href", "src", "action", "data", "poster")}
    named |= {found for element in root.iter() for value in element.attrib.values()
              for found in re.findall(r"url\(([^)]*)\)", value)}  # fmt: skip
    return {url for url in named if url and not url.startswith(("#", "data:"))}


@pytest.mark.parametrize("tag", ["en", "ar"])
def test_nothing_leads_outside_but_the_links_that_are_printed(make: Make, tag: str) -> None:
    """Those of the pattern and the publisher's address, as plain links; no style, script or picture names any."""
    leaflet, drawn, _ = make("first-frost", tag)
    links = ("https://example.org/a?b=1&c=2", "https://example.org/corrections")
    more = replace(
        leaflet,
        links=tuple(
            LinkPart(Phrase(f"link {number}"), url, Shown(f"code-{number}", url)) for number, url in enumerate(links)
        ),
    )
    root = parsed(render_screen(more, drawn, {}, edition=1))
    assert urls(root) == {*links, "https://example.org/trial"}
    assert [element.tag for element in root.iter() if element.get("href", "").startswith("http")] == ["a"] * 3
    assert not [element for element in root.iter() if element.tag in {"link", "iframe", "object", "base", "form"}
                and element.get("href") != "data:,"]  # fmt: skip


def test_the_policy_allows_this_style_and_this_script_and_nothing_else(make: Make) -> None:
    """CSP 3: by their hashes; no attribute holds style or script, and pictures come from the file alone."""
    root = parsed(make("first-frost", "en")[2])
    (policy,) = [e.get("content", "") for e in root.iter("meta") if e.get("http-equiv") == "Content-Security-Policy"]
    allowed = {rule.split()[0]: rule.split()[1:] for rule in policy.split(";")}
    (style,), (script,) = list(root.iter("style")), list(root.iter("script"))
    for name, element in (("style-src", style), ("script-src", script)):
        assert element.attrib == {}
        digest = b64encode(hashlib.sha256((element.text or "").encode()).digest()).decode()
        assert allowed.pop(name) == [f"'sha256-{digest}'"]
    assert allowed == {
        "default-src": ["'none'"], "img-src": ["data:"], "base-uri": ["'none'"], "form-action": ["'none'"],
    }  # fmt: skip
    assert not [name for element in root.iter() for name in element.attrib if name == "style" or name.startswith("on")]


HOSTILE = '</style></script><script>alert(1)</script>"><img src=x onerror=alert(2)> & {{ 7 * 7 }}'


def test_what_a_pattern_says_is_text(check_text: Callable[..., Checked], example: Any, symbols: SymbolSet) -> None:
    """Markup in a title, a note, a label, a colour's name or a correction is shown as it was written."""
    example |= {
        "title": f"Title {HOSTILE}", "summary": f"Summary {HOSTILE}", "tools": [f"Tool {HOSTILE}"],
        "links": [{"url": "https://example.org/?a=1&copy=2", "label": f"Label {HOSTILE}"}],
        "corrections": [{"edition": 1, "text": f"Text {HOSTILE}"}], "sku": f"Sku {HOSTILE}",
    }  # fmt: skip
    example["rounds"][1]["note"] = f"Note {HOSTILE}"
    example["threads"]["A"]["colour_name"] = f"Colour {HOSTILE}"
    checked = check_text(example)
    assert checked.ok, checked.problems
    publisher = Publisher(publisher=f"Publisher {HOSTILE}", licence=f"Licence {HOSTILE}")
    shelf = Shelf(symbols, publisher, (shipped("locales"),), ())
    (made,) = make_screens(checked, shelf, [load_locales(shelf.catalogues)["en"]], Making())
    assert made.html is not None
    root = parsed(made.html.decode())
    assert len(list(root.iter("script"))) == len(list(root.iter("style"))) == 1
    assert list(root.iter("img")) == []
    read = seen(root)
    for place in ("Title", "Summary", "Tool", "Label", "Text", "Sku", "Note", "Colour", "Publisher", "Licence"):
        assert bare(f"{place} {HOSTILE}") in read, place
    assert "49" not in read
    assert "https://example.org/?a=1&copy=2" in urls(root)


def test_a_leaflet_without_words_has_none_for_eyes(make: Make) -> None:
    """The title taken out, no letters are left but units and threads' letters; it can be listened to all the same."""
    leaflet, _, html = make("night-heron", "en", Making(words=False))
    root = parsed(html)
    words = set(re.findall(r"[^\W\d_]+", seen(root).replace(leaflet.title.text, "")))
    assert words <= {*UNITS, "A", "B"}
    assert "mm" in words
    assert list(root.iter("button")) == []
    assert next(root.iter("progress")).get("aria-label") == leaflet.title.text


def test_photographs_are_in_the_file(make: Make) -> None:
    """As they are, each in its kind, with its words; one that is not there is left out."""
    leaflet, drawn, _ = make("first-frost", "en")
    shown, gone = Shown("photo-1", "The wheel on a table"), Shown("photo-2", "A second one")
    more = replace(
        leaflet,
        photographs=Photographs(shown, (gone,), (shown,)),
        imprint=replace(leaflet.imprint, logo=Shown("photo-logo", "Trial Press")),
    )
    pictures = list(parsed(render_screen(more, drawn, PHOTOS, edition=1)).iter("img"))
    assert [picture.get("alt") for picture in pictures] == [shown.alt, shown.alt, "Trial Press"]
    for picture, name, kind in zip(
        pictures, ("photo-1", "photo-1", "photo-logo"), ("jpeg", "jpeg", "png"), strict=True
    ):
        head, _, data = (picture.get("src") or "").partition(",")
        assert head == f"data:image/{kind};base64"
        assert b64decode(data) == PHOTOS[name]
    assert (
        list(parsed(render_screen(more, drawn, {"photo-logo": PHOTOS["photo-logo"]}, edition=1)).iter("img"))[1:] == []
    )


def test_left_handed_leaflets_mirror_pictures_and_words_but_no_sign(make: Make) -> None:
    """Charts and panels differ, glyphs are the same; the way round is said the other way."""
    (leaflet, right, _), (other, left, html) = (
        make("first-frost", "en"),
        make("first-frost", "en", Making(left_handed=True)),
    )
    assert right.by_id["chart"] != left.by_id["chart"]
    pick = re.compile(r'<symbol id="(glyph-[^"]+)".*?</symbol>')
    found = [{m[1]: m[0] for m in pick.finditer(drawn.definitions)} for drawn in (right, left)]
    assert found[0] == found[1]
    assert len(found[0]) > 10
    assert leaflet.steps[0].sentences != other.steps[0].sentences
    assert all(bare(sentence) in seen(parsed(html)) for sentence in other.steps[0].sentences)


def test_the_loom_at_true_size_and_square_codes_stay_on_paper(make: Make) -> None:
    """Neither is drawn, nor asked for."""
    for demo in DEMOS:
        _, drawn, html = make(demo, "en")
        assert not [name for name in drawn.by_id if name.startswith(("truesize", "code", "strip"))]
        assert "truesize" not in html


@pytest.mark.parametrize(("palette", "name"), [(LIGHT, "light"), (DARK, "dark")], ids=["light", "dark"])
def test_text_stands_out_on_both_grounds(palette: dict[str, str], name: str) -> None:
    """WCAG 2.2: text at least 4.5 to 1 (1.4.3), graphics 3 to 1 (1.4.11)."""
    assert (luminance(palette["ground"]) > 0.5) == (name == "light")
    assert min(contrast(palette[each], palette["ground"]) for each in ("ink", "secondary", "accent")) >= 4.5
    assert contrast(palette["quiet"], palette["ground"]) >= 3
    assert set(LIGHT) == set(DARK)


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_publisher_s_colour_is_that_of_notes_and_links(make: Make) -> None:
    """On the light ground; pictures keep theirs."""
    leaflet, drawn, _ = make("first-frost", "en")
    (style,) = parsed(render_screen(leaflet, drawn, {}, edition=1, accent="#123456")).iter("style")
    assert "--mark: #123456" in (style.text or "")
    assert f"--accent: {LIGHT['accent']}" in (style.text or "")


@pytest.mark.parametrize("tag", ["en", "ar"])
def test_the_same_leaflet_gives_the_same_file(make: Make, tag: str) -> None:
    """Made anew, byte for byte; another edition keeps its ticks elsewhere."""
    leaflet, drawn, html = make("first-frost", tag)
    again = make.__wrapped__("first-frost", tag)[2]  # type: ignore[attr-defined]
    assert again == html
    assert render_screen(leaflet, drawn, {}, edition=7) != html


def test_files_are_called_by_pattern_language_and_kind() -> None:
    """Beside the PDFs, and never by the name of one."""
    locale = load_locales([shipped("locales")])["pt-BR"]
    names = [screen_name("trial", locale, making) for making in
             (Making(), Making(left_handed=True), Making(words=False), Making(words=False, left_handed=True))]  # fmt: skip
    assert names == [
        "trial.pt-BR.html", "trial.pt-BR.left-handed.html", "trial.wordless.html", "trial.wordless.left-handed.html",
    ]  # fmt: skip
