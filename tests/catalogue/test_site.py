"""The web catalogue: every page leads to pages that are there, shows what is written as text, and asks for nothing else."""

import json
import posixpath
import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from typing import Any
from urllib.parse import unquote
from xml.etree.ElementTree import Element

import pytest
import tinyhtml5

from pipeline.catalogue.make import Subject, subject_of
from pipeline.catalogue.site import POLICY, data_text, make_site
from pipeline.craft.check import Checked
from pipeline.language.speech import Phrase, Speech
from pipeline.leaflet.content import Shown
from pipeline.leaflet.gallery import Card, choices, site_words

Site = dict[str, bytes]
TAGS = ("en", "ar", "ja", "pt-BR")
XHTML = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"
NOT_OURS = {"pdf/night heron.en.a4.pdf", "pdf/night-heron.en.letter.pdf"}
"""Files that whoever asks for the site has made."""


@cache
def parsed(data: bytes) -> Element:
    """The document as a browser takes it apart (WHATWG HTML, 13.2)."""
    root = tinyhtml5.parse(data.decode())
    for element in root.iter():
        element.tag = element.tag.removeprefix(XHTML) if isinstance(element.tag, str) else ""
    return root


def pages(site: Site) -> Iterator[tuple[str, Element]]:
    """Every page with its name."""
    return ((name, parsed(data)) for name, data in site.items() if name.endswith(".html"))


def bare(text: str) -> str:
    """A text without isolates, with single plain spaces."""
    return re.sub(r"\s+", " ", re.sub("[\u2066-\u2069]", "", text))


def test_there_is_a_page_for_every_pattern_and_locale(site: Site) -> None:
    """And a gallery for each locale, and one page that chooses; all else is a feed or an asset with its hash."""
    wanted = {f"{tag}/{page}.html" for tag in TAGS for page in ("index", "low-sun", "night-heron")} | {"index.html"}
    assert {name for name, _ in pages(site)} == wanted
    rest = {name for name in site if not name.endswith(".html")}
    assert {name for name in rest if not name.startswith("assets/")} == {
        "catalogue.json", "catalogue.csv", "sitemap.xml", "manifest.json",
    }  # fmt: skip
    assert all(re.fullmatch(r"assets/[\w.-]+\.[0-9a-f]{12}\.(css|js|svg)", name) for name in rest if "/" in name)


def test_a_pattern_called_as_the_gallery_is_has_a_page_of_its_own(
    check_text: Callable[..., Checked], example: dict[str, Any], subjects: list[Subject], speeches: list[Speech]
) -> None:
    """No file of a site is written twice; the gallery and the feeds lead to the pattern's page."""
    subject = subject_of(check_text(example | {"id": "index"}, "index"), subjects[0].shelf)
    files = list(make_site([subject], speeches[:2], {}, "https://example.org/lace"))
    assert max(Counter(name for name, _ in files).values()) == 1
    made = dict(files)
    assert 'href="index-.html"' in made["en/index.html"].decode()
    assert {"en/index-.html", "ar/index-.html"} < set(made)
    assert b"https://example.org/lace/ar/index-.html" in made["sitemap.xml"]


def test_pictures_and_ways_are_shared_by_all_languages(site: Site) -> None:
    """One portrait and one way for each pattern, whatever the number of languages."""
    kinds = Counter((name.split("/")[1].split(".")[0], name.rpartition(".")[2]) for name in site if "assets/" in name)
    for demo in ("low-sun", "night-heron"):
        assert kinds[demo, "svg"] == kinds[demo, "js"] == 1
    used = {tag: set(re.findall(rb"assets/[\w.-]+", site[f"{tag}/night-heron.html"])) for tag in TAGS}
    assert used["en"] == used["ar"] == used["ja"]


def test_every_link_leads_to_a_file_that_is_there(site: Site) -> None:
    """Pages, anchors, styles, scripts, pictures and files to have; nothing leads outside but the publisher's address."""
    outside = set()
    for name, root in pages(site):
        ids = {element.get("id") for element in root.iter()}
        for element in root.iter():
            for target in (element.get("href"), element.get("src")):
                if target is None or target.startswith("data:"):
                    continue
                if target.startswith("#"):
                    assert target[1:] in ids or element.tag.startswith(SVG), (name, target)
                elif "://" in target:
                    outside.add((element.tag, target))
                else:
                    place = posixpath.normpath(posixpath.join(posixpath.dirname(name), unquote(target)))
                    assert place in site or place in NOT_OURS, (name, target)
    assert {target for tag, target in outside if tag == "a"} == {"https://example.org/trial"}
    assert {tag for tag, _ in outside} == {"a", "link"}
    assert all(target.startswith("https://example.org/lace/") for tag, target in outside if tag == "link")


def test_files_to_have_stand_on_the_page_of_their_language(site: Site) -> None:
    """By their paper; where none are given nothing is offered."""
    offered = {
        (tag, demo): [element.get("href") for element in parsed(site[f"{tag}/{demo}.html"]).iter("a")
                      if (element.get("href") or "").endswith(".pdf")]
        for tag in ("en", "ar") for demo in ("low-sun", "night-heron")
    }  # fmt: skip
    assert offered["en", "night-heron"] == ["../pdf/night%20heron.en.a4.pdf", "../pdf/night-heron.en.letter.pdf"]
    assert not any(links for key, links in offered.items() if key != ("en", "night-heron"))
    assert 'id="download"' in site["en/night-heron.html"].decode()
    assert 'id="download"' not in site["ar/night-heron.html"].decode()


def test_the_gallery_says_what_there_is_to_know(site: Site, subjects: list[Subject]) -> None:
    """Title, summary, level, size, stitches and price of every pattern, and where its page is."""
    root = parsed(site["en/index.html"])
    cards = [element for element in root.iter("li") if element.get("class") == "card"]
    assert len(cards) == len(subjects)
    for found, subject, price in zip(cards, subjects, ("€5.50", "€7.50"), strict=True):
        said = bare("".join(found.itertext()))
        pattern = subject.pattern
        assert pattern.summary is not None
        assert all(text in said for text in (pattern.title, bare(pattern.summary), "Darning", "Loop edge", price))
        assert next(found.iter("a")).get("href") == f"{pattern.id}.html"
        levels = [element for element in found.iter() if element.get("class") == "level"]
        assert [element.get("aria-label") for element in levels] == [f"Level {pattern.level} of 5"]
    arabic = parsed(site["ar/index.html"])
    assert (arabic.get("lang"), arabic.get("dir")) == ("ar", "rtl")


def test_without_a_script_nothing_is_offered_that_does_not_work(site: Site) -> None:
    """The form and the player are hidden until their script shows them; cards are a plain list."""
    gallery, page = parsed(site["en/index.html"]), parsed(site["en/night-heron.html"])
    assert next(gallery.iter("form")).get("hidden") is not None
    assert not [element for element in gallery.iter("li") if element.get("hidden") is not None]
    (way,) = [element for element in page.iter("section") if element.get("class") == "way"]
    assert way.get("hidden") is not None
    assert len(list(parsed(site["index.html"]).iter("a"))) == len(TAGS)


def test_choices_are_those_there_are(site: Site, subjects: list[Subject], speeches: list[Speech]) -> None:
    """Shapes, levels and stitches of the patterns on the page; of one pattern alone there is nothing to choose."""
    root = parsed(site["en/index.html"])
    offered = {each.get("id"): [option.get("value") for option in each.iter("option")] for each in root.iter("select")}
    assert list(offered) == ["shape", "level", "stitch"]
    assert offered["shape"] == ["", "circle", "half-circle"]
    assert offered["level"] == ["", *sorted({str(subject.pattern.level) for subject in subjects})]
    assert set(offered["stitch"]) == {"", *(done.symbol for subject in subjects for done in subject.lace.rounds)}
    alone = parsed(dict(make_site(subjects[:1], speeches[:1], {}))["en/index.html"])
    assert [each.get("id") for each in alone.iter("select")] == ["stitch"]


@pytest.mark.parametrize(
    ("widths", "offered"), [((60, 124), ["60", "80", "100"]), ((112, 124), []), ((2500, 30), ["40", "2000"])]
)
def test_sizes_to_choose_are_those_that_tell_patterns_apart(
    speeches: list[Speech], widths: tuple[float, ...], offered: list[str]
) -> None:
    """At most so much: some patterns are as small and some are not, and a pattern as large as the limit is within it."""
    small = Card("a", Phrase("A"), None, (), "", 1, Shown("portrait", ""), "", 0.0, "circle", (), "", "")
    found = list(choices(speeches[0], [replace(small, width_mm=float(width)) for width in widths]))
    values = [value for choice in found if choice.name == "size" for value, _ in choice.values]
    assert set(offered) <= set(values)
    assert bool(values) == bool(offered)
    assert all(min(widths) <= int(value) < max(widths) for value in values)


def test_the_policy_is_strict_and_nothing_stands_in_its_way(site: Site) -> None:
    """No page has a style or script of its own, nor an attribute that holds one."""
    for name, root in pages(site):
        (policy,) = [e.get("content") for e in root.iter("meta") if e.get("http-equiv") == "Content-Security-Policy"]
        assert policy == POLICY
        assert "unsafe" not in POLICY
        assert list(root.iter("style")) == []
        assert all(s.get("src") or s.get("type") == "application/json" for s in root.iter("script")), name
        assert not [key for e in root.iter() for key in e.attrib if key == "style" or key.startswith("on")], name


def test_style_and_scripts_name_nothing_outside(site: Site) -> None:
    """No address is fetched by any of them; portraits have nothing in them but paths."""
    for name, data in site.items():
        if name.endswith((".css", ".js")):
            assert not re.search(rb"https?://(?!www\.w3\.org/2000/svg)|@import|url\(|fetch\(|import\(", data), name
        if name.endswith(".svg"):
            assert not re.search(rb"<script|<image|<foreignObject|https?://(?!www\.w3\.org)", data), name


def test_what_a_pattern_or_publisher_says_is_text(hostile_site: Site) -> None:
    """Markup in any text field is shown as it was written; no script, picture, handler or address comes of it."""
    for name, root in pages(hostile_site):
        scripts = [script for script in root.iter("script") if script.get("type") != "application/json"]
        assert all(re.fullmatch(r"(\.\./)?assets/[\w.-]+\.js", script.get("src") or "") for script in scripts), name
        assert all("assets/trial." in (picture.get("src") or "") for picture in root.iter("img")), name
        assert not [key for element in root.iter() for key in element.attrib if key.startswith("on")], name
        for element in root.iter():
            assert not re.match(r"\s*javascript:", element.get("href") or element.get("src") or "", re.IGNORECASE)
        said = bare("".join(root.itertext()) + " ".join(v for e in root.iter() for v in e.attrib.values()))
        assert "alert(1)" in said
        assert "{{ 7 * 7 }}" in said
        for script in root.iter("script"):
            if script.get("type") == "application/json":
                json.loads(script.text or "")
    read = bare("".join(parsed(hostile_site["en/trial.html"]).itertext()))
    for place in (
        "=Title",
        "+Summary",
        "Tool",
        "Label",
        "Text",
        "@Sku",
        "Note",
        "Colour",
        "Size",
        "Publisher",
        "Licence",
    ):
        assert f"{place} </style></script><script>alert(1)" in read, place


def test_data_cannot_end_the_script_that_holds_them() -> None:
    """Whatever is in them, and they read back the same."""
    data = {"</script>": ["<!--", "&lt;", "\u2028", '"', "\\"]}
    text = data_text(data)
    assert not set("<>&\u2028") & set(text)
    assert json.loads(text) == data


def test_a_way_that_is_too_long_has_no_player(
    subjects: list[Subject], speeches: list[Speech], monkeypatch: pytest.MonkeyPatch
) -> None:
    """More than a page should load: it is left out with its script, and the page is whole without it."""
    monkeypatch.setattr("pipeline.catalogue.site.LARGEST_WAY", 12_000)
    made = dict(make_site(subjects, speeches[:1], {}))
    ways = [name for name in made if re.match(r"assets/(low-sun|night-heron)\.\w+\.js", name)]
    assert [name.split(".")[0] for name in ways] == ["assets/low-sun"]
    small, large = (parsed(made[f"en/{demo}.html"]) for demo in ("low-sun", "night-heron"))
    for root, players in ((small, 1), (large, 0)):
        assert len([e for e in root.iter("input") if e.get("type") == "range"]) == players
        assert len([e for e in root.iter("script") if "assets/player" in (e.get("src") or "")]) == players
        assert len([e for e in root.iter("input") if e.get("type") == "checkbox"]) > 4


def test_the_same_input_gives_the_same_bytes(subjects: list[Subject], speeches: list[Speech], site: Site) -> None:
    """Made anew, one language of it, byte for byte but for the list of languages."""
    one = dict(make_site(subjects, speeches[:1], {}))
    assert one == dict(make_site(subjects, speeches[:1], {}))
    shared = {name for name in one if name.startswith("assets/")}
    assert all(one[name] == site[name] for name in shared)


@pytest.mark.parametrize("tag", TAGS)
def test_every_page_is_in_its_language_and_leads_to_the_others(site: Site, tag: str, speeches: list[Speech]) -> None:
    """With each language's own name, and this one marked."""
    words = site_words(next(speech for speech in speeches if speech.locale.tag == tag))
    for page in ("index", "night-heron"):
        root = parsed(site[f"{tag}/{page}.html"])
        assert root.get("lang") == tag
        (nav,) = [element for element in root.iter("nav") if element.get("class") == "tongues"]
        assert nav.get("aria-label") == words.language
        links = list(nav.iter("a"))
        assert [link.get("href") for link in links] == [f"../{other}/{page}.html" for other in TAGS]
        assert [link.get("lang") for link in links if link.get("aria-current")] == [tag]


def test_photographs_are_files_of_their_own(subjects: list[Subject], speeches: list[Speech]) -> None:
    """Written once for all languages, by their hash and kind; the pages name them."""
    logo = b"\x89PNG\r\n\x1a\n trial"
    made = dict(make_site([replace(subjects[0], photos={"photo-logo": logo})], speeches[:2], {}))
    (name,) = [name for name, data in made.items() if data == logo]
    assert re.fullmatch(r"assets/low-sun\.photo-logo\.[0-9a-f]{12}\.png", name)
    for tag in TAGS[:2]:
        (shown,) = parsed(made[f"{tag}/low-sun.html"]).iter("img")
        assert (shown.get("src"), shown.get("alt")) == (f"../{name}", "Trial Press")


def test_a_site_of_nothing_can_be_made(speeches: list[Speech]) -> None:
    """No pattern, or no language: pages that say so little are pages still."""
    assert "en/index.html" in dict(make_site([], speeches[:1], {}))
    assert "index.html" in dict(make_site([], [], {}))
