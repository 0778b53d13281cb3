"""Which messages a workspace has for which locale, and its catalogues brought up to them.

The program's own texts are translated where they are at home, and in a workspace for a locale that is not shipped. A
pattern needs no translation into its own language.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from babel.messages.catalog import Catalog

from pipeline.language.extraction import Entry, free_tools, pattern_entries, program_entries, symbol_entries
from pipeline.language.glossary import Glossary, load_english, load_glossary, things_in
from pipeline.language.locales import SOURCE_LOCALE, LocaleInfo, load_locales
from pipeline.language.merging import Help, merge, po_bytes, template
from pipeline.language.speech import PATTERNS, PROGRAM
from pipeline.pattern_model import Pattern
from pipeline.symbols import SymbolSet
from pipeline.workspace import Workspace, shipped

PACKAGE = Path(__file__).resolve().parent.parent


@dataclass(frozen=True, slots=True)
class Stock:
    """What can be translated in a workspace."""

    workspace: Workspace
    symbols: SymbolSet
    patterns: tuple[Pattern, ...]

    @property
    def folder(self) -> Path:
        """Where its own catalogues lie."""
        assert self.workspace.root is not None  # noqa: S101
        return self.workspace.root / "locales"

    @property
    def at_home(self) -> bool:
        """Whether the shipped locales are its own."""
        return self.folder.resolve() == shipped("locales").resolve()

    def locales(self) -> dict[str, LocaleInfo]:
        """Those that have a folder here. Raises ``BrokenLocale``."""
        known = load_locales(self.workspace.layers("locales"))
        return {tag: info for tag, info in known.items() if (self.folder / info.folder).is_dir()}

    def template(self, domain: str, locale: LocaleInfo | None = None) -> Catalog:
        """The messages of a domain, all of them or those a locale wants."""
        if domain == PROGRAM:
            return template(self._program(locale))
        return template(self._patterns(locale))

    def _program(self, locale: LocaleInfo | None) -> Sequence[Entry]:
        if locale and locale.tag == SOURCE_LOCALE:
            return ()
        locales = [locale] if locale else list(self.locales().values())
        if self.at_home or any(each.tag not in _shipped_tags() for each in locales):
            return (*_program(), *symbol_entries(self.symbols))
        return tuple(symbol_entries(self.symbols, self.symbols.own))

    def _patterns(self, locale: LocaleInfo | None) -> Sequence[Entry]:
        own = {folder.replace("_", "-") for folder in locale.fallbacks} if locale else set()
        foreign = [pattern for pattern in self.patterns if pattern.language not in own]
        return [e for pattern in foreign for e in (*pattern_entries(pattern), *free_tools(pattern, self.symbols))]

    def editions(self) -> dict[str, int]:
        """By pattern, its edition."""
        return {pattern.id: pattern.edition.number for pattern in self.patterns}


@lru_cache(maxsize=1)
def _program() -> tuple[Entry, ...]:
    return tuple(program_entries(PACKAGE))


@lru_cache(maxsize=1)
def _shipped_tags() -> frozenset[str]:
    return frozenset(load_locales([shipped("locales")]))


def updated_files(stock: Stock) -> Iterator[tuple[Path, bytes]]:
    """Templates and catalogues as they should be; none that would be empty.

    Raises ``BrokenLocale`` and ``BrokenCatalogue``.
    """
    layers = stock.workspace.layers("locales")
    english = load_english(layers)
    for domain in (PROGRAM, PATTERNS):
        pot = stock.template(domain)
        if len(pot):
            yield stock.folder / f"{domain}.pot", po_bytes(pot)
    for locale in stock.locales().values():
        told = Help(stock.editions(), _words(english, load_glossary(layers, locale)))
        for domain in (PROGRAM, PATTERNS):
            place = catalogue_file(stock.folder, locale, domain)
            pot = stock.template(domain, locale)
            if len(pot) or place.is_file():
                yield place, po_bytes(merge(pot, place, locale, told))


def catalogue_file(folder: Path, locale: LocaleInfo, domain: str) -> Path:
    """Where a catalogue lies in a folder ``locales/``."""
    return folder / locale.folder / "LC_MESSAGES" / f"{domain}.po"


def _words(english: Glossary, own: Glossary) -> Callable[[str], Sequence[str]]:
    """What the glossary says of a text, for the comments of a catalogue: one line, or none."""

    def words(text: str) -> Sequence[str]:
        called = {thing: own.called(thing) for thing in things_in(english, text)}
        found = [f"{thing}: {word}" for thing, word in called.items() if word]
        return [f"Glossary: {'; '.join(found)}"] if found else []

    return words
