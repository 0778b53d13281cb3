"""Symbols of a workspace shown: the specimen, the universal key."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from pipeline.catalogue.make import figures_of
from pipeline.drawing.album import glyphs, strip
from pipeline.drawing.export import export
from pipeline.drawing.legibility import specimen
from pipeline.language.fonts import find_fonts, fonts_of_all, named
from pipeline.language.locales import LocaleInfo
from pipeline.language.speech import load_speech
from pipeline.leaflet.markup import render_key
from pipeline.leaflet.papers import PAPERS
from pipeline.leaflet.universal import KeyEntry, universal_key
from pipeline.problems import Problem, Unusable
from pipeline.source import failed
from pipeline.symbols import SymbolSet
from pipeline.typeset import CharactersMissing, press, stamps, typeset_markup


def key_bytes(
    symbols: SymbolSet, layers: Sequence[Path], locales: Mapping[str, LocaleInfo], fonts: Sequence[Path], paper: str
) -> bytes:
    """The universal key as PDF bytes: every symbol with its name in all locales. Raises ``Unusable``."""
    speeches = [load_speech(layers, locale) for locale in locales.values()]
    entries = universal_key(symbols, speeches)
    faces = fonts_of_all(locales.values(), fonts)
    drawn = [*glyphs(symbols.everything, symbols), strip(sorted(symbols.stitches), symbols)]
    try:
        return typeset_markup(render_key(entries), stamps(drawn), press(faces, PAPERS[paper], "ltr"))
    except CharactersMissing as error:
        raise Unusable(tuple(_unwritable(entries, error.characters))) from error


def _unwritable(entries: Iterable[KeyEntry], characters: str) -> Iterator[Problem]:
    """Characters that no font has, told of every locale whose names have some."""
    by_locale: dict[str, str] = defaultdict(str)
    for entry in entries:
        for name in entry.names:
            by_locale[name.tag] += name.text
    for tag, text in by_locale.items():
        if those := "".join(character for character in characters if character in text):
            yield failed("key", "character-without-font", locale=tag, characters=named(those))


def specimen_files(symbols: SymbolSet, fonts: Sequence[Path], file_format: str) -> Iterator[tuple[str, bytes]]:
    """The specimen's sheets as files: name and bytes."""
    for sheet in specimen(symbols.everything, figures_of(find_fonts("Latn", tuple(fonts)))):
        yield f"{sheet.id}.{file_format}", export(sheet, file_format, ground="#ffffff")
