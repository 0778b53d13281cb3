"""Make the leaflets of one pattern: draw its pictures once, compose and typeset each locale."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from pipeline.craft.adapt import sized
from pipeline.craft.check import Checked
from pipeline.drawing.album import draw, glyphs, panels, strip
from pipeline.drawing.export import export
from pipeline.drawing.picture import Figures, Picture
from pipeline.drawing.template import template
from pipeline.language.fonts import Fonts, FontsMissing, find_fonts
from pipeline.language.locales import LocaleInfo
from pipeline.language.speech import Speech, load_speech
from pipeline.leaflet.compose import compose, glyph_ids, key_ids, strip_ids
from pipeline.leaflet.papers import PAPERS, Paper
from pipeline.leaflet.steps import Told
from pipeline.leaflet.wordless import wordless
from pipeline.notation import write
from pipeline.problems import Problem
from pipeline.publisher import Publisher
from pipeline.source import failed
from pipeline.symbols import SymbolSet
from pipeline.typeset import CharactersMissing, press, stamps, typeset


@dataclass(frozen=True, slots=True)
class Shelf:
    """What leaflets of a workspace are made with: folders of catalogues and fonts, lower layers first."""

    symbols: SymbolSet
    publisher: Publisher | None
    catalogues: tuple[Path, ...]
    fonts: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class Making:
    """What kind of leaflet is made."""

    paper: str
    words: bool = True
    left_handed: bool = False

    def name(self, pattern_id: str, tag: str) -> str:
        """The file's name."""
        kind = ".left-handed" if self.left_handed else ""
        return f"{pattern_id}.{tag if self.words else 'wordless'}.{self.paper}{kind}.pdf"


@dataclass(frozen=True, slots=True)
class Made:
    """One leaflet, or why there is none."""

    tag: str
    pdf: bytes | None
    problems: tuple[Problem, ...]


def make(checked: Checked, shelf: Shelf, locales: Mapping[str, LocaleInfo], edition: Making) -> Iterator[Made]:
    """A leaflet for every locale, in order. ``checked`` must be without errors."""
    assert checked.pattern is not None  # noqa: S101
    assert checked.lace is not None  # noqa: S101
    sheet = PAPERS[edition.paper]
    sizes = tuple((size.name, lace) for size, lace in sized(checked.pattern, shelf.symbols))
    pictures: tuple[Picture, ...] | None = None
    for tag, locale in locales.items():
        try:
            fonts = find_fonts(locale.script, shelf.fonts)
        except FontsMissing as error:
            yield Made(tag, None, (_fontless(checked, error),))
            continue
        speech = load_speech(shelf.catalogues, locale)
        told = Told(
            checked.pattern, checked.lace, write(checked.lace), shelf.symbols, speech, sizes, edition.left_handed
        )
        if pictures is None:
            pictures = _pictures(told, sheet, figures_of(fonts))
            stamped = stamps(pictures)
        drawn = {picture.id for picture in pictures}
        charts = [chart for chart in ("chart", "ladder", "sector") if chart in drawn]
        leaflet = compose(told, shelf.publisher, charts)
        leaflet = leaflet if edition.words else wordless(leaflet, checked.pattern.edition.number)
        try:
            pdf = typeset(leaflet, stamped, press(fonts, sheet, locale.direction))
        except CharactersMissing as error:
            facts = {"locale": tag, "characters": " ".join(f"{c} (U+{ord(c):04X})" for c in error.characters)}
            yield Made(tag, None, (failed(checked.file, "character-without-font", **facts),))
            continue
        yield Made(tag, pdf, _untranslated(checked, told.speech, leaflet.untranslated) if edition.words else ())


def _pictures(told: Told, sheet: Paper, figures: Figures) -> tuple[Picture, ...]:
    """Everything a leaflet shows: the album, glyphs, panels, the strip at the foot."""
    colours = {letter: spec.colour for letter, spec in told.pattern.threads.items()}
    album = draw(
        told.lace, told.lines, told.symbols,
        figures=figures, colours=colours, layout=sheet.album, left_handed=told.left_handed,
    )  # fmt: skip
    return (
        *album,
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
        colours = {letter: spec.colour for letter, spec in checked.pattern.threads.items()}
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


def _fontless(checked: Checked, error: FontsMissing) -> Problem:
    package = " and ".join(error.packages) or "a static TrueType font into fonts/"
    return failed(checked.file, "script-without-font", script=error.script, package=package)


def _untranslated(checked: Checked, speech: Speech, count: int) -> tuple[Problem, ...]:
    if not count or checked.pattern is None:
        return ()
    facts = {
        "count": count,
        "locale": speech.locale.tag,
        "language": checked.pattern.language,
        "folder": speech.locale.folder,
    }
    return (failed(checked.file, "text-untranslated", **facts),)
