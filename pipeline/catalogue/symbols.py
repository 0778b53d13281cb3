"""Symbols of a workspace shown: the specimen, the universal key."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from pipeline.catalogue.make import figures_of
from pipeline.drawing.album import glyphs, strip
from pipeline.drawing.export import export
from pipeline.drawing.legibility import specimen
from pipeline.language.fonts import find_fonts, fonts_of_all
from pipeline.language.locales import LocaleInfo
from pipeline.language.speech import load_speech
from pipeline.leaflet.markup import render_key
from pipeline.leaflet.papers import PAPERS
from pipeline.leaflet.universal import universal_key
from pipeline.symbols import SymbolSet
from pipeline.typeset import press, stamps, typeset_markup


def key_bytes(
    symbols: SymbolSet, layers: Sequence[Path], locales: Mapping[str, LocaleInfo], fonts: Sequence[Path], paper: str
) -> bytes:
    """The universal key as PDF bytes: every symbol with its name in all locales. Raises ``FontsMissing``."""
    speeches = [load_speech(layers, locale) for locale in locales.values()]
    entries = universal_key(symbols, speeches)
    faces = fonts_of_all(locales.values(), fonts)
    drawn = [*glyphs(symbols.everything, symbols), strip(sorted(symbols.stitches), symbols)]
    return typeset_markup(render_key(entries), stamps(drawn), press(faces, PAPERS[paper], "ltr"))


def specimen_files(symbols: SymbolSet, fonts: Sequence[Path], file_format: str) -> Iterator[tuple[str, bytes]]:
    """The specimen's sheets as files: name and bytes."""
    for sheet in specimen(symbols.everything, figures_of(find_fonts("Latn", tuple(fonts)))):
        yield f"{sheet.id}.{file_format}", export(sheet, file_format, ground="#ffffff")
