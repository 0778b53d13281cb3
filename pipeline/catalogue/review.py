"""Review a locale: its catalogues, its short forms, and whether every pattern's leaflet holds its texts."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from babel.messages.catalog import Catalog

from pipeline.catalogue.make import Drawn, Making, Shelf, pages_of
from pipeline.catalogue.messages import Stock, catalogue_file
from pipeline.craft.check import Checked
from pipeline.language.catalogue import BrokenCatalogue, read_catalog, texts_of
from pipeline.language.checking import Bench, Fault, catalogue_faults, short_form_faults
from pipeline.language.fonts import fonts_of
from pipeline.language.glossary import load_english, load_glossary
from pipeline.language.locales import LocaleInfo
from pipeline.language.speech import PATTERNS, PROGRAM
from pipeline.problems import Finding, Problem, Span, in_order, place
from pipeline.source import failed
from pipeline.typeset import overflows

TRIED_PAPERS: Final = ("a4", "a5")
"""Leaflets are tried on these: the usual one, and the one with the narrowest columns."""


@dataclass(frozen=True, slots=True)
class _File:
    """A catalogue on disk."""

    path: Path
    lines: tuple[str, ...]
    catalog: Catalog

    def problem(self, fault: Fault) -> Problem:
        """A fault at its message."""
        number = fault.message.lineno if fault.message and fault.message.lineno else 1
        number = next((n for n in range(number, len(self.lines) + 1) if self.lines[n - 1].startswith("msgstr")), number)
        text = self.lines[number - 1] if number <= len(self.lines) else ""
        return place(Finding(fault.code, facts=fault.facts), str(self.path), Span(number, 1), text)


def review(
    stock: Stock, locale: LocaleInfo, shelf: Shelf, patterns: Mapping[str, tuple[Checked, Drawn]]
) -> tuple[Problem, ...]:
    """Everything that is wrong with a locale, file by file; leaflets are tried once its catalogues are good.

    ``patterns`` by id, with the pictures drawn so far. Raises ``FontsMissing`` and ``BrokenLocale``.
    """
    layers = stock.workspace.layers("locales")
    bench = Bench(locale, load_english(layers), load_glossary(layers, locale), fonts_of(locale, shelf.fonts))
    child = len(locale.fallbacks) > 1 and any((layer / locale.fallbacks[1]).is_dir() for layer in layers)
    problems: list[Problem] = []
    files: list[_File] = []
    for domain in (PROGRAM, PATTERNS):
        wanted = stock.template(domain, locale)
        path = catalogue_file(stock.folder, locale, domain)
        if not len(wanted):
            continue
        try:
            file = _open(path, locale)
        except BrokenCatalogue as error:
            problems += error.problems
            continue
        files.append(file)
        faults = list(catalogue_faults(file.catalog, wanted, bench, child=child))
        if domain == PROGRAM:
            faults += short_form_faults(file.catalog, bench)
        problems += in_order(map(file.problem, faults))
    if not problems:
        problems += _overflow_problems(locale, shelf, patterns.values(), files)
    return tuple(problems)


def _open(path: Path, locale: LocaleInfo) -> _File:
    """A catalogue; an empty one where there is no file, so that its messages are missing one by one."""
    if not path.is_file():
        return _File(path, (), Catalog(locale=locale.folder))
    return _File(path, tuple(path.read_text(encoding="utf-8").splitlines()), read_catalog(path, locale.folder))


def _overflow_problems(
    locale: LocaleInfo, shelf: Shelf, patterns: Iterable[tuple[Checked, Drawn]], files: Sequence[_File]
) -> Iterator[Problem]:
    """Texts that do not fit, each at the message it comes from, once."""
    seen: set[str] = set()
    for checked, drawn in patterns:
        for paper in TRIED_PAPERS:
            pages = pages_of(checked, shelf, locale, Making(paper), drawn)
            for text in overflows(pages.leaflet, pages.stamped, pages.press):
                if text not in seen:
                    seen.add(text)
                    facts = {"text": text, "paper": paper, "pattern": checked.id}
                    yield _at_its_message(text, Fault("text-overflows", None, facts), checked, files)


def _at_its_message(text: str, fault: Fault, checked: Checked, files: Sequence[_File]) -> Problem:
    words = "".join(character for character in text if character not in "\u2066\u2067\u2068\u2069").strip()
    for file in files:
        for message in file.catalog:
            if message.id and any(words in each for each in texts_of(message)):
                return file.problem(Fault(fault.code, message, fault.facts))
    return failed(checked.file, fault.code, **fault.facts)
