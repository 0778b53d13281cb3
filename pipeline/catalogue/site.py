"""The web catalogue: a site of plain files for all patterns of a workspace, in every locale asked for.

Takes subjects, speeches and what files there are to be had; gives names and bytes. ``index.html`` chooses a language,
``<locale>/index.html`` is the gallery, ``<locale>/<pattern>.html`` the leaflet for screens with its price, files to
have and the player. Style, scripts, portraits, photographs and ways of threads are made once and shared, under
``assets/``, by the hash of their bytes. Pages work from a folder, without a server; without a script the gallery is
a list. Nothing comes from elsewhere, which the pages' policy (Content Security Policy Level 3) enforces.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final
from urllib.parse import quote, urlsplit

from markupsafe import Markup

from pipeline.catalogue.feeds import (
    Edition,
    Listed,
    catalogue_csv,
    catalogue_json,
    manifest,
    noted,
    sitemap,
    whole_address,
)
from pipeline.catalogue.make import Making, Subject
from pipeline.catalogue.screens import screen_leaflet, screen_pictures
from pipeline.drawing.album import glyphs
from pipeline.drawing.inline import Inlays, inlays, picture_file
from pipeline.drawing.picture import ACCENT
from pipeline.drawing.player import ThreadWay, player_data, thread_way
from pipeline.drawing.portrait import portrait
from pipeline.language.speech import Speech
from pipeline.leaflet.content import Leaflet
from pipeline.leaflet.gallery import Card, card, choices, found_texts, site_words, way_texts
from pipeline.leaflet.screen import (
    DARK,
    LIGHT,
    address,
    filled,
    media_type,
    placer,
    screen_script,
    screen_style,
    screen_values,
)
from pipeline.leaflet.steps import Told

Files = Mapping[tuple[str, str], Sequence[tuple[str, str]]]
"""By pattern and locale, the files there are to be had: paper and address in the site."""

POLICY: Final = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; base-uri 'none'; form-action 'none'"
)
GALLERY: Final = "index"
"""The name of a gallery's page."""
SIDE_MM: Final = 110.0
"""Of a portrait in the gallery."""
LARGEST_WAY: Final = 60 * 1024
"""Bytes of a way of threads; a longer one has no player."""
PAPERS: Final = {"a4": "A4", "a5": "A5", "letter": "Letter", "common": "A4 / Letter"}
_ENDINGS: Final = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}
_SAFE: Final = str.maketrans({"<": "\\u003c", ">": "\\u003e", "&": "\\u0026", "\u2028": "\\u2028", "\u2029": "\\u2029"})
"""Characters that could end a script, written so that they cannot (JSON, RFC 8259, section 7)."""


@dataclass(frozen=True, slots=True)
class _Shown:
    """A pattern with what its pages share in all languages; addresses are those of assets."""

    subject: Subject
    drawn: Inlays
    photos: Mapping[str, str]
    portrait: str
    way: ThreadWay | None
    way_file: str


@dataclass(frozen=True, slots=True)
class _Site:
    """What is gathered while a site is made."""

    files: Files
    base: str | None
    accent: str
    publisher: str
    speeches: Mapping[str, Speech]
    written: dict[str, bytes] = field(default_factory=dict)
    """Assets by name."""

    def asset(self, name: str, data: bytes) -> str:
        """An asset's address, with its hash before the ending."""
        stem, _, ending = name.rpartition(".")
        found = f"assets/{stem}.{hashlib.sha256(data).hexdigest()[:12]}.{ending}"
        self.written[found] = data
        return found


def make_site(
    subjects: Sequence[Subject], speeches: Sequence[Speech], files: Files, base: str | None = None
) -> Iterator[tuple[str, bytes]]:
    """The site's files: names and bytes; the same input gives the same. Raises ``ValueError`` for a base that is none.

    ``base`` is the address that the site will have (``https://…``); without it there is no ``sitemap.xml``. The
    files of ``files`` are not in the manifest: whoever has them adds them (``feeds.manifest``).
    """
    seen: dict[str, tuple[int, str]] = {}
    for name, data in _files(subjects, speeches, files, _checked_base(base)):
        seen[name] = noted(data)
        yield name, data
    yield "manifest.json", manifest(seen)


def _checked_base(base: str | None) -> str | None:
    if base is not None and (urlsplit(base).scheme not in {"https", "http"} or not urlsplit(base).hostname):
        raise ValueError(f"`{base}` is no address of a site")
    return base


def _files(
    subjects: Sequence[Subject], speeches: Sequence[Speech], files: Files, base: str | None
) -> Iterator[tuple[str, bytes]]:
    shelf = subjects[0].shelf if subjects else None
    publisher = shelf.publisher.publisher if shelf and shelf.publisher else ""
    tongues = {speech.locale.tag: speech for speech in speeches}
    site = _Site(files, base, shelf.accent if shelf else ACCENT, publisher, tongues)
    assets = _assets(site)
    shown = [_shown(site, subject, speeches[0]) for subject in subjects] if speeches else []
    editions: dict[str, list[Edition]] = {each.subject.pattern.id: [] for each in shown}
    for speech in speeches:
        cards: list[Card] = []
        leaflet = None
        for each in shown:
            told = each.subject.told(speech)
            leaflet = screen_leaflet(told, each.subject, each.drawn, Making())
            cards.append(card(told, leaflet))
            yield _page(site, each, (told, leaflet, cards[-1]), assets)
            editions[each.subject.pattern.id].append(_edition(site, leaflet, speech))
        yield _gallery(site, speech, (cards, leaflet), shown, assets)
    yield "index.html", _languages(site, assets)
    yield from sorted(site.written.items())
    listed = [_listed(each, editions[each.subject.pattern.id]) for each in shown]
    yield "catalogue.json", catalogue_json(listed, site.publisher, base)
    yield "catalogue.csv", catalogue_csv(listed, base)
    if base:
        yield "sitemap.xml", sitemap(listed, list(site.speeches), base)


def _listed(shown: _Shown, editions: Sequence[Edition]) -> Listed:
    """A pattern as the feeds list it."""
    subject = shown.subject
    return Listed(subject.pattern, subject.lace, subject.sizes, shown.portrait, tuple(editions))


def _assets(site: _Site) -> dict[str, str]:
    """Style and scripts."""
    style = screen_style(site.accent) + filled("site.css", light=LIGHT, dark=DARK)
    texts = {"screen": screen_script(), **{name: filled(f"{name}.js") for name in ("player", "gallery", "languages")}}
    return {
        "style": site.asset("style.css", style.encode()),
        **{name: site.asset(f"{name}.js", text.encode()) for name, text in texts.items()},
    }


def _shown(site: _Site, subject: Subject, speech: Speech) -> _Shown:
    """What is the same in every language; a speech is needed for none of it but to list what is shown."""
    pattern = subject.pattern
    photos = {
        photo_id: f"../{site.asset(f'{pattern.id}.{photo_id}.{_ENDINGS[media_type(photo)]}', photo)}"
        for photo_id, photo in subject.photos.items()
    }
    way = thread_way(subject.lace)
    script = f"globalThis.spokeleafWay={data_text(player_data(way, pattern.colours))};\n".encode()
    kept = len(script) <= LARGEST_WAY
    drawn = portrait(subject.lace, pattern.colours, width=SIDE_MM, height=SIDE_MM)
    return _Shown(
        subject,
        inlays(screen_pictures(subject.told(speech), subject.shelf)),
        photos,
        site.asset(f"{pattern.id}.svg", picture_file(drawn)),
        way if kept else None,
        site.asset(f"{pattern.id}.js", script) if kept else "",
    )


def data_text(data: Any) -> str:
    r"""Data as JSON that can stand in a script: nothing in it ends one.

    >>> print(data_text(["</script>"]))
    ["\u003c/script\u003e"]
    """
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")).translate(_SAFE)


def _frame(site: _Site, speech: Speech, page: str, assets: Mapping[str, str]) -> dict[str, object]:
    """What the head and the top of a page are filled with."""
    tongues = [(tag, each.language_name(tag)) for tag, each in site.speeches.items()]
    pages = {tag: f"{tag}/{page}.html" for tag in site.speeches}
    return {
        "policy": POLICY,
        "assets": assets,
        "up": "../",
        "alternates": [(tag, whole_address(name, site.base)) for tag, name in pages.items()] if site.base else [],
        "words": site_words(speech),
        "tongues": tongues,
        "tongue": speech.language_name(speech.locale.tag),
        "lang": speech.locale.tag,
        "direction": speech.locale.direction,
        "page": page,
        "publisher": site.publisher,
    }


def page_of(pattern_id: str) -> str:
    """The name of a pattern's page, never that of the gallery; no id ends with a hyphen.

    >>> page_of("low-sun"), page_of("index")
    ('low-sun', 'index-')
    """
    return f"{pattern_id}-" if pattern_id == GALLERY else pattern_id


def _page(site: _Site, shown: _Shown, told: tuple[Told, Leaflet, Card], assets: Mapping[str, str]) -> tuple[str, bytes]:
    """A pattern's page."""
    whole, leaflet, its_card = told
    pattern, tag = shown.subject.pattern, whole.speech.locale.tag
    texts = way_texts(whole, shown.way) if shown.way else None
    values = screen_values(leaflet, shown.drawn, shown.photos, edition=pattern.edition.number)
    html = filled(
        "site.html",
        **values,
        **_frame(site, whole.speech, page_of(pattern.id), assets),
        home=True,
        card=its_card,
        downloads=[(PAPERS.get(paper, paper), quote(name)) for paper, name in site.files.get((pattern.id, tag), ())],
        way=shown.way_file,
        stops=len(texts.used) - 1 if texts else 0,
        texts=Markup(data_text({"parts": texts.parts, "used": texts.used})) if texts else "",  # noqa: S704
    )
    return f"{tag}/{page_of(pattern.id)}.html", html.encode()


def _edition(site: _Site, leaflet: Leaflet, speech: Speech) -> Edition:
    """What the feeds say of a pattern in one locale."""
    tag = speech.locale.tag
    summary = leaflet.summary.text if leaflet.summary else ""
    files = tuple(site.files.get((leaflet.id, tag), ()))
    return Edition(tag, leaflet.title.text, summary, f"{tag}/{page_of(leaflet.id)}.html", files)


def _gallery(
    site: _Site,
    speech: Speech,
    found: tuple[Sequence[Card], Leaflet | None],
    shown: Sequence[_Shown],
    assets: Mapping[str, str],
) -> tuple[str, bytes]:
    """The gallery of a locale; the last leaflet says who publishes."""
    cards, leaflet = found
    drawn = inlays(glyphs(("leaf", "leaf-filled"), shown[0].subject.shelf.symbols)) if shown else inlays(())
    html = filled(
        "gallery.html",
        **_frame(site, speech, GALLERY, assets),
        home=False,
        cards=cards,
        choices=tuple(choices(speech, cards)),
        pages={each.id: page_of(each.id) for each in cards},
        portraits={each.subject.pattern.id: each.portrait for each in shown},
        definitions=Markup(drawn.definitions),  # noqa: S704
        picture=placer(drawn, {}),
        lines=leaflet.imprint.lines if leaflet else (),
        address=address,
        found=Markup(data_text(found_texts(speech, len(cards)))),  # noqa: S704
    )
    return f"{speech.locale.tag}/{GALLERY}.html", html.encode()


def _languages(site: _Site, assets: Mapping[str, str]) -> bytes:
    """The page that chooses a language."""
    entries = [
        (tag, speech.locale.direction, speech.language_name(tag), site_words(speech).patterns)
        for tag, speech in site.speeches.items()
    ]
    html = filled(
        "languages.html", policy=POLICY, assets=assets, up="", alternates=[], publisher=site.publisher, entries=entries
    )
    return html.encode()
