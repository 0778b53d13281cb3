"""Make the leaflets of one pattern for screens: its pictures once, then a file of HTML for each locale."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain

from pipeline.catalogue.make import Making, Shelf, Subject, figures_of, subject_of, untranslated
from pipeline.craft.check import Checked
from pipeline.drawing.album import draw, glyphs, panels
from pipeline.drawing.inline import Inlays, inlays
from pipeline.drawing.picture import Picture
from pipeline.language.catalogue import BrokenCatalogue
from pipeline.language.fonts import find_fonts
from pipeline.language.locales import LocaleInfo
from pipeline.language.speech import load_speech
from pipeline.leaflet.compose import compose, glyph_ids, key_ids
from pipeline.leaflet.content import Leaflet
from pipeline.leaflet.screen import LAYOUT, render_screen
from pipeline.leaflet.steps import Told
from pipeline.leaflet.wordless import wordless
from pipeline.problems import Problem


@dataclass(frozen=True, slots=True)
class MadeScreen:
    """One leaflet for screens, or why there is none."""

    locale: LocaleInfo
    html: bytes | None
    problems: tuple[Problem, ...]


def make_screens(checked: Checked, shelf: Shelf, locales: Iterable[LocaleInfo], making: Making) -> Iterator[MadeScreen]:
    """A leaflet for every locale, in order. ``checked`` must be without errors."""
    subject, drawn = subject_of(checked, shelf), None
    for locale in locales:
        try:
            speech = load_speech(shelf.catalogues, locale)
        except BrokenCatalogue as error:
            yield MadeScreen(locale, None, error.problems)
            continue
        told = subject.told(speech, left_handed=making.left_handed)
        drawn = drawn or inlays(screen_pictures(told, shelf))
        leaflet = screen_leaflet(told, subject, drawn, making)
        lacking = untranslated(checked, locale, leaflet.untranslated if making.words else 0)
        yield MadeScreen(locale, screen_of(leaflet, subject, drawn).encode(), lacking)


def screen_name(pattern_id: str, locale: LocaleInfo, making: Making) -> str:
    """The file's name."""
    language = locale.tag if making.words else "wordless"
    return ".".join([pattern_id, language, *(["left-handed"] if making.left_handed else []), "html"])


def screen_pictures(told: Told, shelf: Shelf) -> Iterator[Picture]:
    """Everything a leaflet shows on a screen; figures are written by the Latin faces in every script."""
    album = draw(
        told.lace,
        told.lines,
        told.symbols,
        figures=figures_of(find_fonts("Latn", shelf.fonts)),
        colours=told.pattern.colours,
        layout=LAYOUT,
        left_handed=told.left_handed,
    )
    return chain(
        album,
        glyphs(glyph_ids(told), told.symbols),
        panels(key_ids(told), told.symbols, left_handed=told.left_handed),
        shelf.drawn_logo,
    )


def screen_leaflet(told: Told, subject: Subject, drawn: Inlays, making: Making) -> Leaflet:
    """The leaflet with what there is to be shown on a screen."""
    leaflet = compose(told, subject.shelf.publisher, [*drawn.by_id, *subject.photos])
    return leaflet if making.words else wordless(leaflet, subject.pattern.edition.number)


def screen_of(leaflet: Leaflet, subject: Subject, drawn: Inlays) -> str:
    """The file's text."""
    edition, accent = subject.pattern.edition.number, subject.shelf.accent
    return render_screen(leaflet, drawn, subject.photos, edition=edition, accent=accent)
