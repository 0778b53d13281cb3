"""The leaflet for screens: one file of HTML that holds all it shows and asks nothing of anything outside it.

Takes the ``Leaflet`` of the paper edition, its pictures as inlays and its photographs as bytes. The page fits any
width, follows the reader's light or dark, and keeps ticks of steps in the reader's browser. It promises what its
policy says (Content Security Policy Level 3): nothing is fetched, and only the style and the script written here
are used. The loom at true size is for paper and is left out; square codes are links.
"""

import hashlib
import re
from base64 import b64encode
from collections.abc import Callable, Mapping
from typing import Final

from markupsafe import Markup

from pipeline.drawing.album import AlbumLayout
from pipeline.drawing.chart import ChartLayout
from pipeline.drawing.fan import StepLayout
from pipeline.drawing.inline import Inlays
from pipeline.drawing.picture import ACCENT, INK, LINEN, PAPER, QUIET_GLYPH, RULE, SECONDARY
from pipeline.drawing.truesize import TrueSizeLayout
from pipeline.fields import ADDRESS_SHAPE
from pipeline.leaflet.content import Leaflet, Shown
from pipeline.leaflet.markup import environment
from pipeline.leaflet.wordless import NO_LANGUAGE

LAYOUT: Final = AlbumLayout(
    ChartLayout(40.0, 100.0), StepLayout(74.0, 50.0), 120.0, 115.0, 110.0, TrueSizeLayout(174.0, 210.0)
)
"""Sizes of pictures, mm: small enough for figures to be read where the whole is as wide as a telephone."""

LIGHT: Final[Mapping[str, str]] = {
    "ground": PAPER, "ink": INK, "secondary": SECONDARY, "accent": ACCENT, "quiet": QUIET_GLYPH, "rule": RULE,
    "linen": LINEN,
}  # fmt: skip
DARK: Final[Mapping[str, str]] = {
    "ground": "#161a20", "ink": "#ece7dd", "secondary": "#b9b5ab", "accent": "#ee8d7b", "quiet": "#8e949a",
    "rule": "#444a52", "linen": LINEN,
}  # fmt: skip
"""The palette by name, on a light ground and on a dark one."""

_KINDS: Final = ((b"\xff\xd8\xff", "image/jpeg"), (b"\x89PNG\r\n\x1a\n", "image/png"), (b"RIFF", "image/webp"))
"""How the files of photographs begin, and their media types (WHATWG MIME Sniffing, 6.1)."""


def render_screen(
    leaflet: Leaflet, pictures: Inlays, photos: Mapping[str, bytes], *, edition: int, accent: str = ACCENT
) -> str:
    """The file's text; the same input gives the same text.

    ``photos`` by id, those that are not there are left out; ``edition`` is the number under which ticks are kept;
    ``accent`` is the publisher's colour of rules.
    """
    style, script = screen_style(accent), screen_script()
    held = {photo_id: _held(photo) for photo_id, photo in photos.items()}
    values = screen_values(leaflet, pictures, held, edition=edition)
    return filled("screen.html", policy=_policy(style, script), style=style, script=script, **values)


def screen_style(accent: str) -> Markup:
    """Its style sheet."""
    return filled("screen.css", light=LIGHT, dark=DARK, mark=accent)


def screen_script() -> Markup:
    """Its script."""
    return filled("screen.js")


def screen_values(leaflet: Leaflet, pictures: Inlays, photos: Mapping[str, str], *, edition: int) -> dict[str, object]:
    """What its template is filled with beside style, script and policy; a page of a site is made from the same.

    ``photos``: by id, the address that each is found at.
    """
    return {
        "leaflet": leaflet,
        "worded": leaflet.lang != NO_LANGUAGE,
        "ticks": f"{leaflet.id}/{edition}",
        "definitions": Markup(pictures.definitions),  # noqa: S704
        "picture": placer(pictures, photos),
        "photos": photos,
        "address": address,
    }


def address(line: str) -> str:
    """The address that a line of the imprint is, or nothing; its isolates are not part of it.

    >>> address("https://example.org"), address("Example Press")
    ('https://example.org', '')
    """
    bare = line.strip("\u2066\u2067\u2068\u2069")
    return bare if re.fullmatch(ADDRESS_SHAPE, bare) else ""


def filled(name: str, **values: object) -> Markup:
    """A template filled, as text that is already markup."""
    return Markup(environment().get_template(name).render(values))  # noqa: S704


def _policy(style: str, script: str) -> str:
    """Nothing from anywhere but what stands in the file: this style, this script, pictures."""
    hashes = (b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in (style, script))
    style_hash, script_hash = hashes
    return (
        f"default-src 'none'; style-src 'sha256-{style_hash}'; script-src 'sha256-{script_hash}'; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )


def placer(pictures: Inlays, photos: Mapping[str, str]) -> Callable[..., Markup]:
    """What puts a picture or photograph into the page, with the words that stand for it."""

    def place(shown: Shown, css_class: str = "", *, hushed: bool = False) -> Markup:
        if shown.id in pictures.by_id:
            return Markup(pictures.by_id[shown.id].placed("" if hushed else shown.alt, css_class))  # noqa: S704
        return Markup('<img class="{}" src="{}" alt="{}">').format(css_class, photos[shown.id], shown.alt)

    return place


def _held(photo: bytes) -> str:
    """A photograph as an address that holds it (RFC 2397)."""
    return f"data:{media_type(photo)};base64,{b64encode(photo).decode()}"


def media_type(photo: bytes) -> str:
    """The media type of a photograph."""
    return next(kind for start, kind in _KINDS if photo.startswith(start))
