"""Catalogues: gettext PO files read in layers, a workspace's over the shipped ones, message by message."""

import gettext
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from pipeline.language.locales import LocaleInfo


@dataclass(frozen=True, slots=True)
class Catalogues:
    """The texts of one domain in one locale."""

    translations: gettext.NullTranslations
    translated: frozenset[tuple[str | None, str]]
    """Context and English (or the pattern's own) text of every message that has a translation."""

    def pgettext(self, context: str, message: str) -> str:
        """The translation, else the message itself."""
        return self.translations.pgettext(context, message)

    def npgettext(self, context: str, one: str, other: str, count: int) -> str:
        """The translation in the plural form that ``count`` takes."""
        return self.translations.npgettext(context, one, other, count)

    def has(self, context: str, message: str) -> bool:
        """Whether there is a translation."""
        return (context, message) in self.translated


def load_catalogues(layers: Iterable[Path], locale: LocaleInfo, domain: str) -> Catalogues:
    """The catalogues of a domain, the nearest first: the locale's own over its parent's, the last layer on top."""
    first: gettext.NullTranslations | None = None
    translated: set[tuple[str | None, str]] = set()
    folders = list(layers)
    for folder in locale.fallbacks:
        for layer in reversed(folders):
            file = layer / folder / "LC_MESSAGES" / f"{domain}.po"
            if file.is_file():
                catalog = read_catalog(file, folder)
                translated |= set(_translated(catalog))
                compiled = _compiled(catalog)
                if first is None:
                    first = compiled
                else:
                    first.add_fallback(compiled)
    return Catalogues(first or gettext.NullTranslations(), frozenset(translated))


def read_catalog(file: Path, folder: str) -> Catalog:
    """One PO file."""
    with file.open("rb") as opened:
        return read_po(opened, locale=folder, abort_invalid=True)


def _translated(catalog: Catalog) -> Iterator[tuple[str | None, str]]:
    for message in catalog:
        if message.id and message.string and "fuzzy" not in message.flags:
            singular = message.id if isinstance(message.id, str) else message.id[0]
            yield message.context, singular


def _compiled(catalog: Catalog) -> gettext.GNUTranslations:
    buffer = io.BytesIO()
    write_mo(buffer, catalog)
    buffer.seek(0)
    return gettext.GNUTranslations(buffer)
