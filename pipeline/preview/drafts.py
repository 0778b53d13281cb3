"""Drafts of leaflets: their pictures, drawn no more often than they change, and pages to be looked at once.

The first page is made by itself, from the few pictures that stand on it; all others can wait. A ``Printer`` and what
it gives belongs to one thread (``typeset.set_up``).
"""

import io
from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, field
from typing import Any, Final, TypeVar

import pypdfium2

from pipeline.catalogue.make import Making, Subject, figures_of, signs_for
from pipeline.drawing.album import front, inner, joining
from pipeline.drawing.picture import Figures, Picture
from pipeline.drawing.squarecode import square_code
from pipeline.drawing.truesize import true_size_pages
from pipeline.language.fonts import Fonts, fonts_of
from pipeline.language.habits import native
from pipeline.language.speech import Speech
from pipeline.leaflet.compose import CHARTS, compose, glyph_ids, key_ids, strip_ids
from pipeline.leaflet.markup import render
from pipeline.leaflet.papers import Paper
from pipeline.leaflet.steps import Told
from pipeline.pattern_model import Pattern
from pipeline.typeset import Press, draft, set_up, stamps

T = TypeVar("T")

SCALE: Final = 2.0
"""Pixels of a page to a point: 144 dpi."""
QUALITY: Final = 92
"""Of JPEG: letters keep their edges."""
KEPT: Final = 4
"""Albums and sets of signs kept from draft to draft."""
TITLE_ENDS: Final = '<section class="part first">'
"""Where the title page ends in the markup of a leaflet."""
_UNDRAWN: Final[dict[str, object]] = {
    "title": "", "summary": None, "corrections": (), "tags": (), "sku": None, "price": None, "level": 1,
    "accepts": {}, "measured": {}, "photos": (),
}  # fmt: skip
"""What no picture of a pattern shows."""


@dataclass(slots=True)
class _Album:
    """Pictures of a lace as stamps, as far as they are drawn."""

    stamped: dict[str, Any] = field(default_factory=dict)
    charts: dict[str, Picture] = field(default_factory=dict)
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Draft:
    """A leaflet on its way to pages, in one locale on one paper."""

    subject: Subject
    told: Told
    sheet: Paper
    figures: Figures
    press: Press
    album: _Album
    """That of an earlier draft where nothing that is drawn has changed."""


@dataclass(frozen=True, slots=True)
class Page:
    """A page as a picture: PNG or JPEG, and its size in pixels."""

    number: int
    of: int
    data: bytes
    width: int
    height: int


class Printer:
    """What stays warm from draft to draft."""

    def __init__(self) -> None:
        self._presses: dict[Hashable, Press] = {}
        self._albums: dict[Hashable, _Album] = {}
        self._signs: dict[Hashable, dict[str, Any]] = {}
        self._numbers: dict[str, str] = {}

    def draft(self, subject: Subject, speech: Speech, paper: str | None) -> Draft:
        """A leaflet in a locale. Raises ``FontsMissing``."""
        shelf, locale = subject.shelf, speech.locale
        fonts, sheet = fonts_of(locale, shelf.fonts), Making(paper).sheet(locale)
        told = subject.told(speech)
        ready = self._press(fonts, sheet, locale.direction, locale.digits, shelf.accent)
        figures = figures_of(fonts)
        key = (drawn_from(told.pattern), _Same(told.symbols), sheet, figures)
        return Draft(subject, told, sheet, figures, ready, _kept(self._albums, key, _Album))

    def _press(self, fonts: Fonts, sheet: Paper, direction: str, digits: str, accent: str) -> Press:
        key = (fonts, sheet, direction, digits, accent)
        if key not in self._presses:
            self._presses[key] = set_up(fonts, sheet, direction, digits, accent)
        return self._presses[key]

    def title_page(self, made: Draft, of: int) -> bytes:
        """The first page alone, as a PDF; ``of`` says at its foot how many there are. Raises ``CharactersMissing``."""
        album, told = made.album, made.told
        if not album.stamped:
            album.stamped |= stamps(
                front(told.lace, told.pattern.colours, made.sheet.album), self._numbers, in_full=True
            )
        stamped = {**album.stamped, **self._signs_of(made)}
        markup = render(compose(told, made.subject.shelf.publisher, [*CHARTS, *made.subject.photos]))
        title, found, _ = markup.partition(TITLE_ENDS)
        assert found, "a leaflet begins with its title page"  # noqa: S101
        return draft(f"{title}</body></html>", stamped, made.press, made.subject.photos, rules=_foot(told.speech, of))

    def drawing(self, made: Draft) -> Iterator[Picture]:
        """Draw what the other pages show, where it is not drawn yet: one picture after the other."""
        album = made.album
        if album.whole:
            return
        for picture in _inner(made):
            album.stamped |= stamps((picture,), self._numbers, in_full=True)
            album.charts |= {picture.id: picture} if picture.id in {"chart", "ladder"} else {}
            yield picture
        album.whole = True

    def charts(self, made: Draft) -> tuple[Picture, ...]:
        """The chart, and its ladder where that is a picture of its own; everything must be drawn."""
        return tuple(made.album.charts.values())

    def pages(self, made: Draft) -> bytes:
        """All pages, as a PDF; everything must be drawn. Raises ``CharactersMissing``."""
        stamped = {**made.album.stamped, **self._signs_of(made)}
        shown = [*(name.removeprefix("stamp:") for name in stamped), *made.subject.photos]
        markup = render(compose(made.told, made.subject.shelf.publisher, shown))
        return draft(markup, stamped, made.press, made.subject.photos)

    def _signs_of(self, made: Draft) -> dict[str, Any]:
        """Glyphs and panels; the logo stands among them."""
        told, shelf = made.told, made.subject.shelf
        key = (glyph_ids(told), key_ids(told), strip_ids(told), _Same(told.symbols), _Same(shelf.logo))
        return _kept(
            self._signs, key,
            lambda: dict(stamps((*signs_for(told), *shelf.drawn_logo), self._numbers, in_full=True)),
        )  # fmt: skip


@dataclass(frozen=True, eq=False, slots=True)
class _Same:
    """The same object, not an equal one: as part of a key it is found at once."""

    thing: object

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.thing is self.thing

    def __hash__(self) -> int:
        return id(self.thing)


def _kept(known: dict[Hashable, T], key: Hashable, make: Callable[[], T]) -> T:
    """What is kept under a key, or made now; what was not asked for the longest is forgotten."""
    found = known.pop(key) if key in known else make()
    known[key] = found
    for old in list(known)[:-KEPT]:
        del known[old]
    return found


def drawn_from(pattern: Pattern) -> str:
    """What pictures are drawn from, as text: all a pattern says, but for its words."""
    rounds = tuple(entry.model_copy(update={"note": None}) for entry in pattern.rounds)
    return repr(pattern.model_copy(update=_UNDRAWN | {"rounds": rounds}))


def _inner(made: Draft) -> Iterator[Picture]:
    """Every picture that does not stand on the title page."""
    told, layout = made.told, made.sheet.album
    yield from joining(told.lace, made.figures, layout)
    yield from inner(told.lace, told.lines, told.symbols, figures=made.figures, layout=layout)
    yield from true_size_pages(told.lace, told.pattern.loom, made.figures, layout.truesize)
    yield from (square_code(f"code-{number}", link.url) for number, link in enumerate(told.pattern.links, 1))


def _foot(speech: Speech, of: int) -> str:
    """Style that says which page this is of how many: they are not all there to be counted."""
    place, of_all = (native(str(number), speech.locale.digits) for number in (1, of))
    corner = "left" if speech.locale.direction == "rtl" else "right"
    return f'@page {{ @bottom-{corner} {{ content: "\u2066{place} / {of_all}\u2069" }} }}'


def rasterized(pdf: bytes, *, quickly: bool = False) -> Iterator[Page]:
    """Every page of a PDF as a picture; ``quickly``: as JPEG, which is done in a fifth of the time of PNG."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        for number in range(len(document)):
            picture = document[number].render(scale=SCALE, rev_byteorder=True).to_pil()
            data = io.BytesIO()
            if quickly:
                picture.save(data, "JPEG", quality=QUALITY, subsampling=0)
            else:
                picture.save(data, "PNG", compress_level=1)
            yield Page(number + 1, len(document), data.getvalue(), *picture.size)
    finally:
        document.close()
