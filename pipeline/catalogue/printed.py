"""Make the printed catalogue of a workspace: its pictures once, then one PDF for each locale.

Takes subjects, patterns without errors (``make.subject_of``); the date is given, nothing looks at a clock.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from pipeline.catalogue.make import Shelf, Subject, untranslated
from pipeline.drawing.album import glyphs
from pipeline.drawing.gallery import VIEW_MM, leaves, own, views
from pipeline.drawing.picture import Picture
from pipeline.language.catalogue import BrokenCatalogue
from pipeline.language.fonts import FontsMissing, fonts_of, named
from pipeline.language.locales import LocaleInfo
from pipeline.language.speech import Speech, load_speech
from pipeline.leaflet.compose import LEVELS
from pipeline.leaflet.entries import Entry, Printed
from pipeline.leaflet.imprint import LOGOS
from pipeline.leaflet.markup import render_printed
from pipeline.leaflet.papers import PAPERS
from pipeline.leaflet.printed import compose_printed
from pipeline.photos import FINEST_DPI, ready
from pipeline.problems import Problem
from pipeline.source import failed
from pipeline.typeset import CharactersMissing, Enclosed, press, stamps, typeset_markup

SIGNS: Final = ("lay", "loom", "pin", "thread", "lift", "cut")
"""Signs whose glyphs stand in every catalogue."""
PHOTO_DPI: Final = 200
"""Of small photographs: enough for print, and light to send."""

PrintedCatalogue = tuple[str, bytes | None, tuple[Problem, ...]]
"""A file's name, its bytes where there are any, and what there is to say of it."""


@dataclass(frozen=True, slots=True)
class Printing:
    """How a catalogue is printed: the day on its cover; its paper, where not the locale's."""

    issued: date
    paper: str | None = None

    def paper_for(self, locale: LocaleInfo) -> str:
        """The name of the paper in this locale."""
        return self.paper or locale.paper

    def name(self, locale: LocaleInfo) -> str:
        """The file's name."""
        return f"catalogue.{locale.tag}.{self.paper_for(locale)}.pdf"


@dataclass(frozen=True, slots=True)
class Gallery:
    """What the catalogues of all locales show."""

    stamped: Mapping[str, Any]
    photos: Mapping[str, bytes]

    @property
    def shown(self) -> tuple[str, ...]:
        """The ids of everything in it."""
        return (*(name.removeprefix("stamp:") for name in self.stamped), *self.photos)


def make_printed(
    subjects: Iterable[Subject], shelf: Shelf, locales: Iterable[LocaleInfo], printing: Printing
) -> Iterator[PrintedCatalogue]:
    """A catalogue of all subjects, of which there is at least one, for every locale, in order."""
    listed = sorted(subjects, key=lambda subject: subject.pattern.id)
    gallery = gallery_of(listed, shelf)
    for locale in locales:
        name, file = printing.name(locale), listed[0].checked.file
        try:
            speech = load_speech(shelf.catalogues, locale)
            printed = composed(listed, speech, printing, gallery)
            yield (
                name,
                printed_catalogue(printed, shelf, speech, printing, gallery),
                tuple(_lacking(listed, printed, locale)),
            )
        except FontsMissing as error:
            yield name, None, (error.problem(file),)
        except BrokenCatalogue as error:
            yield name, None, error.problems
        except CharactersMissing as error:
            yield name, None, _unwritten(listed, printed, locale, error.characters)


def gallery_of(subjects: Sequence[Subject], shelf: Shelf) -> Gallery:
    """Everything that is drawn, once for all locales and papers, and photographs of titles made small."""
    stitches = {done.symbol for subject in subjects for done in subject.lace.rounds}
    pictures = (
        *(picture for subject in subjects for picture in _views(subject)),
        *glyphs({*SIGNS, *stitches}, shelf.symbols),
        *(leaves(level, LEVELS, shelf.symbols) for level in range(1, LEVELS + 1)),
        *shelf.drawn_logo,
    )
    photos = dict(photo for subject in subjects for photo in _photos(subject))
    return Gallery(stamps(pictures), photos | ({LOGOS[1]: shelf.logo} if isinstance(shelf.logo, bytes) else {}))


def _views(subject: Subject) -> Iterator[Picture]:
    return views(subject.pattern.id, subject.lace, subject.pattern.colours)


def _photos(subject: Subject) -> Iterator[tuple[str, bytes]]:
    """The photograph of the title, as large as an entry shows it."""
    side = VIEW_MM * PHOTO_DPI / FINEST_DPI
    for number, photo in enumerate(subject.pattern.photos, 1):
        if photo.place == "title":
            name = f"photo-{number}"
            yield own(name, subject.pattern.id), ready(subject.photos[name], (side, side))
            return


def composed(subjects: Sequence[Subject], speech: Speech, printing: Printing, gallery: Gallery) -> Printed:
    """The texts of a catalogue in one locale."""
    told = [subject.told(speech) for subject in subjects]
    return compose_printed(told, subjects[0].shelf.publisher, gallery.shown, printing.issued)


def printed_catalogue(printed: Printed, shelf: Shelf, speech: Speech, printing: Printing, gallery: Gallery) -> bytes:
    """A catalogue as PDF bytes. Raises ``FontsMissing`` and ``CharactersMissing``."""
    locale = speech.locale
    paper = PAPERS[printing.paper_for(locale)]
    ready_press = press(
        fonts_of(locale, shelf.fonts), paper, locale.direction, locale.digits, shelf.accent, template="catalogue.css"
    )
    return typeset_markup(render_printed(printed), gallery.stamped, ready_press, Enclosed(gallery.photos))


def _lacking(subjects: Sequence[Subject], printed: Printed, locale: LocaleInfo) -> Iterator[Problem]:
    """A note for every pattern that is not wholly translated."""
    counts = {entry.id: entry.untranslated for entry in printed.entries}
    for subject in subjects:
        yield from untranslated(subject.checked, locale, counts[subject.pattern.id])


def _unwritten(
    subjects: Sequence[Subject], printed: Printed, locale: LocaleInfo, characters: str
) -> tuple[Problem, ...]:
    """Characters that no font has, at the pattern that has them, or at the first where none does."""
    files = {subject.pattern.id: subject.checked.file for subject in subjects}
    found = [(files[entry.id], those) for entry in printed.entries if (those := _in(entry, characters))]
    return tuple(
        failed(file, "character-without-font", locale=locale.tag, characters=named(those))
        for file, those in found or [(subjects[0].checked.file, characters)]
    )


def _in(entry: Entry, characters: str) -> str:
    """Those of some characters that an entry prints."""
    phrases = (entry.title, entry.summary, *(detail for fact in entry.facts for detail in fact.detail))
    text = entry.sku + "".join(phrase.text for phrase in phrases if phrase)
    return "".join(character for character in characters if character in text)
