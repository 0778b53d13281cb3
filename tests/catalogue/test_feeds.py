"""The catalogue for programs: the same facts as on the pages, in the forms they are documented in."""

import csv
import hashlib
import io
import json
from decimal import Decimal
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from pipeline.catalogue.feeds import COLUMNS, harmless
from pipeline.catalogue.make import Subject
from pipeline.catalogue.site import make_site
from pipeline.language.speech import Speech

Site = dict[str, bytes]
TAGS = ["en", "ar", "ja", "pt-BR"]
BASE = "https://example.org/lace/"
SITEMAP = "{http://www.sitemaps.org/schemas/sitemap/0.9}"
XHTML = "{http://www.w3.org/1999/xhtml}"


def rows(site: Site) -> list[dict[str, str]]:
    """The lines of the feed for shops."""
    return list(csv.DictReader(io.StringIO(site["catalogue.csv"].decode(), newline=""), strict=True))


def products(site: Site) -> dict[str, dict[str, Any]]:
    """The products of the feed for programs, by id."""
    tree = json.loads(site["catalogue.json"])
    assert (tree["@context"], tree["@type"]) == ("https://schema.org", "OfferCatalog")
    assert tree["numberOfItems"] == len(tree["itemListElement"])
    return {each["productID"]: each for each in tree["itemListElement"]}


def test_a_product_says_what_the_pattern_says(site: Site, subjects: list[Subject]) -> None:
    """Sku, price, level, loom, pins and the thread of every pattern, as its file and its lace have them."""
    found = products(site)
    assert list(found) == [subject.pattern.id for subject in subjects]
    for subject in subjects:
        product, pattern, lace = found[subject.pattern.id], subject.pattern, subject.lace
        assert pattern.price is not None
        assert product["@type"] == "Product"
        assert product["sku"] == pattern.sku
        assert product["offers"]["@type"] == "Offer"
        assert Decimal(product["offers"]["price"]) == pattern.price.amount
        assert product["offers"]["priceCurrency"] == pattern.price.currency
        facts = {each["propertyID"]: each["value"] for each in product["additionalProperty"]}
        up, across, down = lace.loom.shape.bounds
        assert (facts["level"], facts["shape"], facts["pins"]) == (pattern.level, pattern.loom.shape, lace.loom.pins)
        assert (facts["width"], facts["height"]) == pytest.approx((2 * across, up + down), abs=1e-3)
        for letter, total in lace.totals.items():
            assert facts[f"thread-{letter}"] == pytest.approx(total.measured or total.total, abs=0.05)


def test_a_product_is_told_in_every_language(site: Site) -> None:
    """A name, a description and a page for each, and the files there are; all addresses are whole."""
    product = products(site)["night-heron"]
    assert [each["@language"] for each in product["name"]] == TAGS
    assert [each["@language"] for each in product["description"]] == TAGS
    assert len({each["@value"] for each in product["name"]}) > 1
    assert [each["url"] for each in product["subjectOf"]] == [f"{BASE}{tag}/night-heron.html" for tag in TAGS]
    assert [each["contentUrl"] for each in product["associatedMedia"]] == [
        f"{BASE}pdf/night%20heron.en.a4.pdf", f"{BASE}pdf/night-heron.en.letter.pdf",
    ]  # fmt: skip
    assert product["image"].removeprefix(BASE) in site


def test_there_is_a_line_for_every_pattern_and_locale(site: Site, subjects: list[Subject]) -> None:
    """With the columns that are documented, lines ended as RFC 4180 wants, and numbers without a locale."""
    lines = rows(site)
    assert tuple(lines[0]) == COLUMNS
    assert [(line["id"], line["locale"]) for line in lines] == [(s.pattern.id, tag) for s in subjects for tag in TAGS]
    assert site["catalogue.csv"].count(b"\r\n") == len(lines) + 1
    for line in lines:
        assert Decimal(line["price"]) > 0
        assert line["page"].removeprefix(BASE) in site
        assert "\u2066" not in "".join(line.values())
    (heron,) = [line for line in lines if (line["id"], line["locale"]) == ("night-heron", "en")]
    assert heron["title"] == "Night Heron"
    assert len(heron["files"].split()) == 2


def test_no_cell_is_a_formula(hostile_site: Site) -> None:
    """Titles, summaries and skus that begin like one are text, whatever stands round them on a page, in every language."""
    lines = rows(hostile_site)
    assert len(lines) == 2
    for line in lines:
        assert all(not cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in line.values())
        assert line["title"].startswith("'=Title")
        assert line["summary"].startswith("'+Summary")
        assert line["sku"].startswith("'@Sku")
        assert line["tags"].startswith("'-Tag")


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\u2068=", "\u2066\u2068@"])
def test_whatever_a_spreadsheet_works_out_is_made_text(start: str) -> None:
    """Also behind marks of direction, which are taken away; other texts stay as they are."""
    assert harmless(f"{start}SUM(A1)").startswith("'")
    assert harmless("SUM(A1) = 2") == "SUM(A1) = 2"


def test_the_manifest_names_every_file(site: Site) -> None:
    """With its size and SHA-256, sorted, all but itself."""
    told = json.loads(site["manifest.json"])["files"]
    assert list(told) == sorted(told)
    assert set(told) == set(site) - {"manifest.json"}
    for name, entry in told.items():
        assert entry == {"bytes": len(site[name]), "sha256": hashlib.sha256(site[name]).hexdigest()}


def test_the_map_of_the_site_has_every_page_in_every_language(site: Site) -> None:
    """Whole addresses of pages that exist, each with all its editions; nothing else."""
    root = ET.fromstring(site["sitemap.xml"])  # noqa: S314
    found = {}
    for entry in root:
        links = {link.get("hreflang"): link.get("href") for link in entry.iter(f"{XHTML}link")}
        found[entry.findtext(f"{SITEMAP}loc")] = links
    pages = {f"{BASE}{name}" for name in site if name.endswith(".html") and "/" in name}
    assert set(found) == pages
    for place, links in found.items():
        assert list(links) == TAGS
        assert place in links.values()
        assert set(links.values()) <= pages


def test_without_an_address_there_is_no_map(subjects: list[Subject], speeches: list[Speech], site: Site) -> None:
    """And addresses are relative; with one that is none nothing is made."""
    bare = dict(make_site(subjects[:1], speeches[:1], {}))
    assert "sitemap.xml" not in bare
    assert products(bare)["low-sun"]["subjectOf"][0]["url"] == "en/low-sun.html"
    assert b"hreflang" not in bare["en/low-sun.html"]
    assert b'rel="alternate"' in site["en/low-sun.html"]
    for base in ("javascript:alert(1)", "lace", "file:///lace", "https://"):
        with pytest.raises(ValueError, match="no address"):
            list(make_site(subjects[:1], speeches[:1], {}, base))


def test_other_sizes_are_listed(hostile_site: Site) -> None:
    """By name, with their pins and width; a hostile name is a text among others."""
    facts = products(hostile_site)["trial"]["additionalProperty"]
    (size,) = [each for each in facts if each["propertyID"].startswith("size-")]
    assert size["propertyID"].startswith("size-Size </style>")
    assert (size["value"], size["valueReference"]["value"]) == (24, 60.0)


def test_patterns_folder_has_no_part_in_feeds(site: Site) -> None:
    """No feed tells where the files lay that it was made from."""
    here = str(Path(__file__).resolve().parents[2]).encode()
    assert all(here not in data for data in site.values())
