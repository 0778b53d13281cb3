"""Review a locale: its catalogues, its short forms, and whether every pattern's leaflet holds its texts."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from babel.messages.catalog import Catalog

from pipeline.catalogue.make import Making, Shelf, Subject, pages_of, unwritable
from pipeline.catalogue.messages import Stock, catalogue_file
from pipeline.language.catalogue import BrokenCatalogue, lines_of, read_catalog, texts_of
from pipeline.language.checking import Bench, Fault, catalogue_faults, short_form_faults
from pipeline.language.fonts import fonts_of
from pipeline.language.glossary import load_english, load_glossary
from pipeline.language.locales import LocaleInfo
from pipeline.language.speech import PATTERNS, PROGRAM, Speech, load_speech
from pipeline.problems import Finding, Problem, Span, in_order, place
from pipeline.source import failed
from pipeline.typeset import UNSEEN, CharactersMissing, overflows

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


def review(stock: Stock, locale: LocaleInfo, shelf: Shelf, subjects: Iterable[Subject]) -> tuple[Problem, ...]:
    """Everything that is wrong with a locale, file by file; leaflets are tried once its catalogues are good.

    Raises ``FontsMissing`` and ``BrokenLocale``, and ``BrokenCatalogue`` for one that leaflets read beside these.
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
        problems += _overflow_problems(load_speech(shelf.catalogues, locale), subjects, files)
    return tuple(problems)


def _open(path: Path, locale: LocaleInfo) -> _File:
    """A catalogue; an empty one where there is no file, so that its messages are missing one by one."""
    if not path.is_file():
        return _File(path, (), Catalog(locale=locale.folder))
    catalog = read_catalog(path, locale.folder)
    return _File(path, tuple(line.decode(catalog.charset, "replace") for line in lines_of(path)), catalog)


def _overflow_problems(speech: Speech, subjects: Iterable[Subject], files: Sequence[_File]) -> Iterator[Problem]:
    """Texts that do not fit, each at the message it comes from, once; letters no font has, once for each pattern."""
    seen: set[str] = set()
    for subject in subjects:
        try:
            for text, paper in _overflowing(subject, speech):
                if text not in seen:
                    seen.add(text)
                    facts = {"text": text, "paper": paper, "pattern": subject.pattern.id}
                    yield _at_its_message(text, Fault("text-overflows", None, facts), subject.checked.file, files)
        except CharactersMissing as error:
            yield unwritable(subject.checked, speech.locale, error)


def _overflowing(subject: Subject, speech: Speech) -> Iterator[tuple[str, str]]:
    """Texts of a pattern's leaflets that do not fit, each with its paper. Raises ``CharactersMissing``."""
    for paper in TRIED_PAPERS:
        pages = pages_of(subject, speech, Making(paper))
        lines = overflows(pages.leaflet, pages.stamped, pages.press, pages.enclosed.photos)
        yield from ((text, paper) for line in lines if (text := line.strip(f" ·{UNSEEN}")))


def _at_its_message(text: str, fault: Fault, file_of_pattern: str, files: Sequence[_File]) -> Problem:
    words = "".join(character for character in text if character not in "\u2066\u2067\u2068\u2069").strip()
    for file in files:
        for message in file.catalog:
            if message.id and any(words in each for each in texts_of(message)):
                return file.problem(Fault(fault.code, message, fault.facts))
    return failed(file_of_pattern, fault.code, **fault.facts)
