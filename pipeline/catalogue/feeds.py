"""The catalogue for programs: JSON in the words of schema.org, CSV for a shop's import, a map of the site, a manifest.

Takes what the site has of every pattern; addresses are relative to the site, or whole where its base is known.

``catalogue.json`` is JSON-LD 1.1 in the words of schema.org: an ``OfferCatalog`` with the publisher's name, whose
``itemListElement`` has one ``Product`` a pattern:

- ``productID``, ``sku``; ``name`` and ``description`` as lists of ``{"@language", "@value"}``, one a locale;
- ``releaseDate``, ``version``: date and number of the edition; ``image``: the finished lace;
- ``offers``: an ``Offer`` with ``price`` (decimal text) and ``priceCurrency`` (ISO 4217), where there is a price;
- ``additionalProperty``: ``PropertyValue``s by ``propertyID``: ``level`` (of ``maxValue``), ``shape``, ``pins``,
  ``width`` and ``height`` of the loom, ``thread-A`` … the length of each thread, ``size-S`` … pins of other sizes with
  their ``width`` as ``valueReference``; lengths are in mm (``unitCode`` MMT, UN/CEFACT Recommendation 20);
- ``subjectOf``: a ``WebPage`` a locale; ``associatedMedia``: a ``MediaObject`` a file to have, its paper as ``name``.

``catalogue.csv`` (RFC 4180, UTF-8) has a line for every pattern and locale, with the columns of ``COLUMNS``. A cell
that a spreadsheet would take for a formula begins with an apostrophe.
"""

import csv
import hashlib
import io
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import quote
from xml.sax.saxutils import escape, quoteattr

from pipeline.craft.assembly import Lace
from pipeline.leaflet.compose import LEVELS
from pipeline.pattern_model import Pattern

COLUMNS: Final = (
    "id", "locale", "sku", "title", "summary", "price", "currency", "level", "shape", "width_mm", "height_mm", "pins",
    "thread_mm", "edition", "date", "tags", "image", "page", "files",
)  # fmt: skip
_FORMULA: Final = re.compile(
    r"[\s\u200b-\u200f\ufeff]*[=+@\-\uff1d\uff0b\uff20\uff0d]|[\t\r\n]",
)
"""How cells begin that spreadsheets work out, also behind what is not seen, and with signs as wide as they are high."""
_ISOLATES: Final = re.compile("[\u2066-\u2069]")


@dataclass(frozen=True, slots=True)
class Edition:
    """A pattern in one locale: its texts, its page, files to have by paper."""

    tag: str
    title: str
    summary: str
    page: str
    files: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Listed:
    """A pattern as the catalogue lists it."""

    pattern: Pattern
    lace: Lace
    sizes: tuple[tuple[str, Lace], ...]
    image: str
    editions: tuple[Edition, ...]


def whole_address(address: str, base: str | None) -> str:
    """An address of the site, quoted (RFC 3986), whole where the base is known.

    >>> whole_address("en/a b.html", None), whole_address("en/a.html", "https://example.org/lace")
    ('en/a%20b.html', 'https://example.org/lace/en/a.html')
    """
    return f"{base.rstrip('/')}/{quote(address)}" if base else quote(address)


def catalogue_json(listed: Sequence[Listed], publisher: str, base: str | None) -> bytes:
    """The catalogue in the words of schema.org."""
    tree = {
        "@context": "https://schema.org",
        "@type": "OfferCatalog",
        **({"name": publisher} if publisher else {}),
        "numberOfItems": len(listed),
        "itemListElement": [_product(each, base) for each in listed],
    }
    return (json.dumps(tree, ensure_ascii=False, indent=1) + "\n").encode()


def _product(listed: Listed, base: str | None) -> dict[str, Any]:
    pattern, editions = listed.pattern, listed.editions
    told = {
        "name": [{"@language": each.tag, "@value": bare(each.title)} for each in editions],
        "description": [{"@language": each.tag, "@value": bare(each.summary)} for each in editions if each.summary],
    }
    price = pattern.price
    offer = price and {"@type": "Offer", "price": str(price.amount), "priceCurrency": price.currency}
    return {
        "@type": "Product",
        "productID": pattern.id,
        **({"sku": pattern.sku} if pattern.sku else {}),
        **told,
        "releaseDate": pattern.edition.date.isoformat(),
        "version": pattern.edition.number,
        "image": whole_address(listed.image, base),
        **({"keywords": list(pattern.tags)} if pattern.tags else {}),
        **({"offers": offer} if offer else {}),
        "additionalProperty": list(_properties(listed)),
        "subjectOf": [
            {"@type": "WebPage", "inLanguage": each.tag, "url": whole_address(each.page, base)} for each in editions
        ],
        "associatedMedia": [
            {"@type": "MediaObject", "inLanguage": each.tag, "name": paper, "contentUrl": whole_address(address, base)}
            for each in editions for paper, address in each.files
        ],
    }  # fmt: skip


def _properties(listed: Listed) -> Iterator[dict[str, Any]]:
    """What a pattern is like, in figures."""
    pattern, lace = listed.pattern, listed.lace
    width, height = _extent(lace)
    yield {"@type": "PropertyValue", "propertyID": "level", "value": pattern.level, "maxValue": LEVELS}
    yield {"@type": "PropertyValue", "propertyID": "shape", "value": pattern.loom.shape}
    yield {"@type": "PropertyValue", "propertyID": "pins", "value": lace.loom.pins}
    lengths = {"width": width, "height": height}
    lengths |= {f"thread-{letter}": _thread_mm(lace, letter) for letter in lace.totals}
    for name, value in lengths.items():
        yield {"@type": "PropertyValue", "propertyID": name, "value": value, "unitCode": "MMT"}
    for name, other in listed.sizes:
        wide = {"@type": "QuantitativeValue", "value": _extent(other)[0], "unitCode": "MMT"}
        pins = other.loom.pins
        yield {"@type": "PropertyValue", "propertyID": f"size-{name}", "value": pins, "valueReference": wide}


def _extent(lace: Lace) -> tuple[float, float]:
    """Width and height of the loom, mm."""
    up, across, down = lace.loom.shape.bounds
    return round(2 * across, 3), round(up + down, 3)


def _thread_mm(lace: Lace, letter: str) -> float:
    """A thread's length, measured on a sample where there is one."""
    total = lace.totals[letter]
    return round(total.total if total.measured is None else total.measured, 1)


def catalogue_csv(listed: Iterable[Listed], base: str | None) -> bytes:
    """A line for every pattern and locale."""
    text = io.StringIO(newline="")
    lines = csv.writer(text, lineterminator="\r\n")
    lines.writerow(COLUMNS)
    for each in listed:
        for edition in each.editions:
            lines.writerow([harmless(cell) for cell in _cells(each, edition, base)])
    return text.getvalue().encode()


def _cells(listed: Listed, edition: Edition, base: str | None) -> tuple[str, ...]:
    pattern, lace, price = listed.pattern, listed.lace, listed.pattern.price
    width, height = _extent(lace)
    return (
        pattern.id, edition.tag, pattern.sku or "", edition.title, edition.summary,
        str(price.amount) if price else "", price.currency if price else "",
        str(pattern.level), pattern.loom.shape, f"{width:g}", f"{height:g}", str(lace.loom.pins),
        " ".join(f"{letter}={_thread_mm(lace, letter):.0f}" for letter in lace.totals),
        str(pattern.edition.number), pattern.edition.date.isoformat(), ", ".join(pattern.tags),
        whole_address(listed.image, base), whole_address(edition.page, base),
        " ".join(whole_address(address, base) for _, address in edition.files),
    )  # fmt: skip


def harmless(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula.

    >>> harmless("=1+1"), harmless("Night Heron")
    ("'=1+1", 'Night Heron')
    """
    text = bare(cell)
    return f"'{text}" if _FORMULA.match(text) else text


def bare(text: str) -> str:
    """A text without the marks that keep it apart from its neighbours on a page."""
    return _ISOLATES.sub("", text)


def sitemap(listed: Sequence[Listed], tags: Sequence[str], base: str) -> bytes:
    """The map of the site (sitemaps.org, protocol 0.9), every page with its editions in other languages."""
    latest = max((each.pattern.edition.date for each in listed), default=None)
    galleries = {tag: f"{tag}/index.html" for tag in tags}
    groups = [(latest, galleries)]
    groups += [(each.pattern.edition.date, {e.tag: e.page for e in each.editions}) for each in listed]
    said = ['<?xml version="1.0" encoding="UTF-8"?>\n']
    said.append(
        '<urlset xmlns="http://www.sitemaps.org/schemas/sitemap/0.9" xmlns:xhtml="http://www.w3.org/1999/xhtml">\n'
    )
    for day, pages in groups:
        links = "".join(
            f'<xhtml:link rel="alternate" hreflang={quoteattr(tag)} href={quoteattr(whole_address(page, base))}/>\n'
            for tag, page in pages.items()
        )
        dated = f"<lastmod>{day.isoformat()}</lastmod>\n" if day else ""
        said += [
            f"<url>\n<loc>{escape(whole_address(page, base))}</loc>\n{dated}{links}</url>\n" for page in pages.values()
        ]
    return ("".join(said) + "</urlset>\n").encode()


def manifest(files: Mapping[str, tuple[int, str]]) -> bytes:
    """Every file by name with its size and SHA-256, sorted."""
    entries = {name: {"bytes": size, "sha256": digest} for name, (size, digest) in sorted(files.items())}
    return (json.dumps({"files": entries}, ensure_ascii=False, indent=1) + "\n").encode()


def noted(data: bytes) -> tuple[int, str]:
    """What the manifest says of a file."""
    return len(data), hashlib.sha256(data).hexdigest()
