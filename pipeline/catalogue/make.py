"""Make the leaflets of one pattern: draw its pictures once, compose and typeset each locale."""

import errno
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from pipeline.craft.adapt import sized
from pipeline.craft.assembly import Lace
from pipeline.craft.check import Checked
from pipeline.drawing.album import draw, glyphs, panels, strip
from pipeline.drawing.export import export
from pipeline.drawing.picture import ACCENT, Figures, Picture
from pipeline.drawing.squarecode import square_code
from pipeline.drawing.template import template
from pipeline.drawing.truesize import true_size_pages
from pipeline.language.catalogue import BrokenCatalogue
from pipeline.language.fonts import Fonts, FontsMissing, find_fonts, fonts_of, named
from pipeline.language.locales import LocaleInfo
from pipeline.language.speech import Speech, load_speech
from pipeline.leaflet.compose import compose, glyph_ids, key_ids, strip_ids
from pipeline.leaflet.content import Leaflet, Photographs
from pipeline.leaflet.markup import render
from pipeline.leaflet.metadata import metadata
from pipeline.leaflet.papers import LARGE, PAPERS, Paper, thrifty
from pipeline.leaflet.steps import Told
from pipeline.leaflet.wordless import wordless
from pipeline.notation import Line, write
from pipeline.pattern_model import Pattern
from pipeline.photos import BOXES_MM, Refused, ready
from pipeline.problems import Problem
from pipeline.publisher import Publisher
from pipeline.source import failed
from pipeline.symbols import SymbolSet
from pipeline.typeset import CharactersMissing, Enclosed, Press, press, stamps, typeset_markup


@dataclass(frozen=True, slots=True)
class Shelf:
    """What leaflets of a workspace are made with: folders of catalogues and fonts, lower layers first."""

    symbols: SymbolSet
    publisher: Publisher | None
    catalogues: tuple[Path, ...]
    fonts: tuple[Path, ...]
    logo: Picture | bytes | None = None
    """The publisher's: a drawing, or a JPEG."""

    @property
    def accent(self) -> str:
        """The publisher's colour, or ours."""
        return (self.publisher and self.publisher.colours.accent) or ACCENT

    @property
    def drawn_logo(self) -> tuple[Picture, ...]:
        """The logo, where it is a drawing."""
        return (self.logo,) if isinstance(self.logo, Picture) else ()


@dataclass(frozen=True, slots=True)
class Making:
    """What kind of leaflet is made; where no paper is named, that of its locale."""

    paper: str | None = None
    words: bool = True
    left_handed: bool = False
    large: bool = False
    ink_saver: bool = False

    def paper_for(self, locale: LocaleInfo) -> str:
        """The name of the paper of a leaflet in this locale."""
        return self.paper or locale.paper

    def sheet(self, locale: LocaleInfo) -> Paper:
        """The paper with its type and the size of its pictures."""
        sheet = PAPERS[self.paper_for(locale) + (LARGE if self.large else "")]
        return thrifty(sheet) if self.ink_saver else sheet

    def name(self, pattern_id: str, locale: LocaleInfo) -> str:
        """The file's name."""
        language = locale.tag if self.words else "wordless"
        kinds = {"large-print": self.large, "ink-saver": self.ink_saver, "left-handed": self.left_handed}
        return ".".join(
            [pattern_id, language, self.paper_for(locale), *(k for k, is_so in kinds.items() if is_so), "pdf"]
        )


@dataclass(frozen=True, slots=True)
class Made:
    """One leaflet, or why there is none."""

    locale: LocaleInfo
    pdf: bytes | None
    problems: tuple[Problem, ...]
    markup: str = ""
    """Of its pages."""


@dataclass(frozen=True, slots=True)
class Pages:
    """A leaflet ready to be typeset: its texts, its pictures, its fonts and style."""

    leaflet: Leaflet
    stamped: Mapping[str, Any]
    press: Press
    enclosed: Enclosed


@dataclass(frozen=True, slots=True)
class Subject:
    """A pattern on its way to leaflets: what all languages share, worked out once."""

    checked: Checked
    shelf: Shelf
    pattern: Pattern
    lace: Lace
    lines: tuple[Line, ...]
    sizes: tuple[tuple[str, Lace], ...]
    photos: Mapping[str, bytes]
    """Photographs ready to print, by id."""
    stamped: dict[tuple[Paper, bool], Mapping[str, Any]] = field(default_factory=dict)
    """By paper and hand: its pictures as stamps, added when they are first asked for."""

    def told(self, speech: Speech, *, left_handed: bool = False) -> Told:
        """What it is told from in a language."""
        symbols = self.shelf.symbols
        return Told(self.pattern, self.lace, self.lines, symbols, speech, self.sizes, left_handed)


MakeReady = Callable[[bytes, tuple[float, float]], bytes]
"""Makes a photograph ready to print in a box, mm, as ``photos.ready`` does."""


def subject_of(checked: Checked, shelf: Shelf, make_ready: MakeReady = ready) -> Subject:
    """A pattern without errors, ready to be told in any language.

    Raises ``OSError`` where a photograph is not what it was when the pattern was checked.
    """
    assert checked.pattern is not None  # noqa: S101
    assert checked.lace is not None  # noqa: S101
    sizes = tuple((size.name, lace) for size, lace in sized(checked.pattern, shelf.symbols))
    photos = dict(_photos(checked, shelf, make_ready))
    return Subject(checked, shelf, checked.pattern, checked.lace, write(checked.lace), sizes, photos)


def _photos(checked: Checked, shelf: Shelf, make_ready: MakeReady) -> Iterator[tuple[str, bytes]]:
    """The pattern's photographs, from the folder it stands in, and a logo that is a picture."""
    assert checked.pattern is not None  # noqa: S101
    for number, photo in enumerate(checked.pattern.photos, 1):
        file = Path(checked.file).parent / photo.file
        try:
            yield f"photo-{number}", make_ready(file.read_bytes(), BOXES_MM[photo.place])
        except Refused as refused:
            reason = "it is another file than the one that was checked"
            raise OSError(errno.ESTALE, reason, str(file)) from refused
    if isinstance(shelf.logo, bytes):
        yield "photo-logo", shelf.logo


def make(checked: Checked, shelf: Shelf, locales: Iterable[LocaleInfo], making: Making) -> Iterator[Made]:
    """A leaflet for every locale, in order. ``checked`` must be without errors."""
    subject = subject_of(checked, shelf)
    for locale in locales:
        try:
            yield made_of(subject, load_speech(shelf.catalogues, locale), making)
        except BrokenCatalogue as error:
            yield Made(locale, None, error.problems)


def made_of(subject: Subject, speech: Speech, making: Making) -> Made:
    """The leaflet of one locale."""
    checked, locale = subject.checked, speech.locale
    try:
        pages = pages_of(subject, speech, making)
        markup = render(pages.leaflet)
        pdf = typeset_markup(markup, pages.stamped, pages.press, pages.enclosed)
    except FontsMissing as error:
        return Made(locale, None, (error.problem(checked.file),))
    except CharactersMissing as error:
        return Made(locale, None, (unwritable(checked, locale, error),))
    count = pages.leaflet.untranslated if making.words else 0
    return Made(locale, pdf, untranslated(checked, locale, count), markup)


def pages_of(subject: Subject, speech: Speech, making: Making) -> Pages:
    """What is typeset for one locale. Raises ``FontsMissing``."""
    locale, shelf = speech.locale, subject.shelf
    fonts, sheet = fonts_of(locale, shelf.fonts), making.sheet(locale)
    told = subject.told(speech, left_handed=making.left_handed)
    key = (sheet, making.left_handed)
    if key not in subject.stamped:
        subject.stamped[key] = stamps((*drawn_for(told, sheet, figures_of(fonts)), *shelf.drawn_logo))
    stamped = subject.stamped[key]
    leaflet = compose(told, shelf.publisher, [*(name.removeprefix("stamp:") for name in stamped), *subject.photos])
    leaflet = leaflet if making.words else wordless(leaflet, subject.pattern.edition.number)
    leaflet = replace(leaflet, photographs=Photographs()) if making.ink_saver else leaflet
    ready_press = press(fonts, sheet, locale.direction, locale.digits, shelf.accent)
    return Pages(leaflet, stamped, ready_press, _enclosed(subject, leaflet))


def _enclosed(subject: Subject, leaflet: Leaflet) -> Enclosed:
    """Photographs, what programs are told, and the pattern's file where the publisher gives it away."""
    publisher, pattern = subject.shelf.publisher, subject.pattern
    source = None
    if publisher and publisher.attach_source:
        source = (f"{pattern.id}.yaml", Path(subject.checked.file).read_bytes(), pattern.edition.date)
    return Enclosed(subject.photos, metadata(pattern, leaflet, publisher), source)


def drawn_for(told: Told, sheet: Paper, figures: Figures) -> tuple[Picture, ...]:
    """Everything a leaflet shows: the album, glyphs, panels, the strip at the foot."""
    album = draw(
        told.lace, told.lines, told.symbols,
        figures=figures, colours=told.pattern.colours, layout=sheet.album, left_handed=told.left_handed,
    )  # fmt: skip
    whole = true_size_pages(told.lace, told.pattern.loom, figures, sheet.album.truesize, left_handed=told.left_handed)
    return (
        *album,
        *whole,
        *(square_code(f"code-{number}", link.url) for number, link in enumerate(told.pattern.links, 1)),
        *signs_for(told),
    )


def signs_for(told: Told) -> tuple[Picture, ...]:
    """What is the same for all patterns that are worked with the same symbols."""
    return (
        *glyphs(glyph_ids(told), told.symbols),
        *panels(key_ids(told), told.symbols, left_handed=told.left_handed),
        strip(strip_ids(told), told.symbols),
    )


PICTURES: Final = ("chart", "sector", "steps", "laying", "portrait", "mat", "template")
"""What can be had as picture files."""


def picture_files(checked: Checked, shelf: Shelf, kind: str, file_format: str) -> Iterator[tuple[str, bytes]]:
    """Pictures as files of their own: name and bytes. ``checked`` must be without errors."""
    assert checked.lace is not None  # noqa: S101
    assert checked.pattern is not None  # noqa: S101
    figures = figures_of(find_fonts("Latn", shelf.fonts))
    if kind == "template":
        pictures: tuple[Picture, ...] = (template(checked.lace, checked.pattern.loom, figures),)
    else:
        colours = checked.pattern.colours
        lines, layout = write(checked.lace), PAPERS["a4"].album
        drawn = draw(checked.lace, lines, shelf.symbols, figures=figures, colours=colours, layout=layout)
        pictures = tuple(picture for picture in drawn if _kind(picture) == kind)
    for picture in pictures:
        yield f"{checked.id}.{picture.id}.{file_format}", export(picture, file_format, ground="#ffffff")


def _kind(picture: Picture) -> str:
    """Of which of ``PICTURES`` a picture of the album is."""
    return {"step": "steps", "ladder": "chart"}.get(picture.id.partition("-")[0], picture.id)


def figures_of(fonts: Fonts) -> Figures:
    """The faces that write figures in pictures: the Latin ones, which every script's list begins with."""
    regular, bold = fonts.files[0].path, fonts.files[1].path
    return Figures(regular, bold)


def unwritable(checked: Checked, locale: LocaleInfo, error: CharactersMissing) -> Problem:
    """Characters that no font of a locale has."""
    return failed(checked.file, "character-without-font", locale=locale.tag, characters=named(error.characters))


def untranslated(checked: Checked, locale: LocaleInfo, count: int) -> tuple[Problem, ...]:
    """A note where so many texts of a leaflet stand in the pattern's own language."""
    if not count or checked.pattern is None:
        return ()
    facts = {"count": count, "locale": locale.tag, "folder": locale.folder}
    return (failed(checked.file, "text-untranslated", **facts),)
