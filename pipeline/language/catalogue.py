"""Catalogues: gettext PO files read in layers, a workspace's over the shipped ones, message by message."""

import gettext
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from babel.messages.catalog import Catalog, Message
from babel.messages.mofile import write_mo
from babel.messages.pofile import PoFileError, PoFileParser, denormalize

from pipeline.language.locales import LocaleInfo
from pipeline.language.plurals import plural_tags, workable
from pipeline.language.pseudo import PseudoTranslations
from pipeline.problems import Finding, Problem, Span, Unusable, place
from pipeline.source import UNPRINTABLE, failed, unreadable
from pipeline.workspace import contents

LARGEST_BYTES: Final = 32 << 20
"""Of a catalogue: the texts of ten thousand patterns."""
MOST_FORMS: Final = 9
PLACEHOLDER: Final = re.compile(r"\{(\w+)\}")
"""A word in braces, in whose place a value is put."""
EDITION_NOTE: Final = re.compile(r"edition: ([0-9]{1,9})")
"""A translator's comment on the title of a pattern: from which edition its texts were last wholly translated."""


@dataclass(frozen=True, slots=True)
class Catalogues:
    """The texts of one domain in one locale."""

    translations: gettext.NullTranslations
    translated: frozenset[tuple[str | None, str]]
    """Context and English (or the pattern's own) text of every message that has a translation."""
    editions: Mapping[str, int] = field(default_factory=dict)
    """By pattern: the edition its texts were last wholly translated from."""

    def pgettext(self, context: str, message: str) -> str:
        """The translation, else the message itself."""
        return self.translations.pgettext(context, message)

    def npgettext(self, context: str, one: str, other: str, count: int) -> str:
        """The translation in the plural form that ``count`` takes."""
        return self.translations.npgettext(context, one, other, count)

    def has(self, context: str, message: str) -> bool:
        """Whether there is a translation."""
        return (context, message) in self.translated or isinstance(self.translations, PseudoTranslations)


def load_catalogues(layers: Iterable[Path], locale: LocaleInfo, domain: str) -> Catalogues:
    """The catalogues of a domain, the nearest first: the locale's own over its parent's, the last layer on top.

    Raises ``BrokenCatalogue``.
    """
    if locale.pseudo:
        return Catalogues(PseudoTranslations(locale.pseudo), frozenset())
    first: gettext.NullTranslations | None = None
    editions: dict[str, int] = {}
    translated: set[tuple[str | None, str]] = set()
    folders = list(layers)
    for folder in locale.fallbacks:
        for layer in reversed(folders):
            file = layer / folder / "LC_MESSAGES" / f"{domain}.po"
            if file.is_file():
                catalog = read_catalog(file, folder)
                if not workable(catalog.plural_expr):
                    raise BrokenCatalogue(_unworkable(file, locale))
                for problem in _unfillable(file, catalog):
                    raise BrokenCatalogue(problem)
                translated |= set(_translated(catalog))
                editions = {**edition_notes(catalog), **editions}
                compiled = _compiled(catalog)
                if first is None:
                    first = compiled
                else:
                    first.add_fallback(compiled)
    return Catalogues(first or gettext.NullTranslations(), frozenset(translated), editions)


def edition_notes(catalog: Catalog) -> dict[str, int]:
    """By pattern, the edition that a catalogue's own comment names."""
    found = (
        (message.context, EDITION_NOTE.fullmatch(comment)) for message in catalog for comment in message.user_comments
    )
    return {context: int(note[1]) for context, note in found if context and note}


_FORMER: Final = b"#|", b"#~|"
"""How lines begin that have what a translation was made from; the second in an entry that nothing asks for any more."""
_LINE: Final = re.compile(r'(#.*)?|((msgctxt|msgid|msgid_plural|msgstr(\[\d\])?)\s+)?"([^"\\]|\\.)*"')
"""GNU gettext manual, The Format of PO Files."""


class BrokenCatalogue(Unusable):
    """A PO file cannot be read."""

    def __init__(self, problem: Problem) -> None:
        super().__init__((problem,))


def read_catalog(file: Path, folder: str) -> Catalog:
    """One PO file, with the texts that stale translations were made from, which Babel writes but does not read.

    Raises ``BrokenCatalogue``.
    """
    lines = [line.strip() for line in lines_of(file)]
    for problem in _strange(file, lines):
        raise BrokenCatalogue(problem)
    try:
        catalog = _Bounded(locale=folder)
        # It would take what a translation was made from for a comment of the translator's, or for no PO at all.
        PoFileParser(catalog, abort_invalid=True).parse(b"" if line.startswith(_FORMER) else line for line in lines)
        messages, _, text = list(catalog), catalog.num_plurals, b"\n".join(lines).decode(catalog.charset, "replace")
    except (PoFileError, LookupError, ValueError) as error:
        raise BrokenCatalogue(_unreadable(file, error)) from error
    for problem in _unprintable(file, messages):
        raise BrokenCatalogue(problem)
    for entry in text.split("\n\n"):
        _note_previous(catalog, entry.split("\n"))
    return catalog


def several(texts: str | Sequence[str] | None) -> Sequence[str]:
    """A message's text, or those of a plural, one by one."""
    return (texts,) if isinstance(texts, str) else texts or ()


def lines_of(file: Path) -> list[bytes]:
    """A PO file's lines without their ends: of bytes, as ``str`` ends lines where editors do not.

    Raises ``BrokenCatalogue``.
    """
    try:
        data = contents(file, LARGEST_BYTES)
    except OSError as error:
        raise BrokenCatalogue(unreadable(str(file), error)) from error
    if len(data) > LARGEST_BYTES:
        raise BrokenCatalogue(failed(str(file), "file-too-large", most=LARGEST_BYTES))
    return data.splitlines()


def _strange(file: Path, lines: Iterable[bytes]) -> Iterator[Problem]:
    """Lines that are none of PO's: Babel passes over them, and what it passes over would be lost."""
    finding = Finding("catalogue-unreadable", facts={"reason": "neither a keyword with a text nor a comment"})
    for number, line in enumerate(lines, 1):
        text = line.decode("utf-8", "replace")
        if not _LINE.fullmatch(text.strip()):
            yield place(finding, str(file), Span(number, 1), text)


def _unprintable(file: Path, messages: Iterable[Message]) -> Iterator[Problem]:
    """Messages with a character that no text may hold."""
    for each in messages:
        said = (each.context, *several(each.id), *several(each.string))
        if found := next(filter(None, map(UNPRINTABLE.search, filter(None, said))), None):
            finding = Finding("control-character", facts={"code_point": f"{ord(found[0]):04X}"})
            yield place(finding, str(file), Span(each.lineno or 1, 1), found.string)


def _note_previous(catalog: Catalog, entry: Sequence[str]) -> None:
    """Read what an entry's translation was made from."""
    before = [line.removeprefix("#|").strip() for line in entry if line.startswith("#|")]
    message = catalog.get(*_identity(entry)) if before else None
    if message:
        message.previous_id = [text for name, text in _strings(before) if name.startswith("msgid")]


def _unreadable(file: Path, error: Exception) -> Problem:
    number = (getattr(error, "lineno", None) or 0) + 1
    reason = str(error).partition(" on ")[0] or type(error).__name__
    finding = Finding("catalogue-unreadable", facts={"reason": reason})
    return place(finding, str(file), Span(number, 1), str(getattr(error, "line", "") or ""))


def _unworkable(file: Path, locale: LocaleInfo) -> Problem:
    """A catalogue whose plurals nobody can choose from."""
    lines = [line.decode("utf-8", "replace") for line in lines_of(file)]
    number = next((number for number, line in enumerate(lines, 1) if "plural-forms:" in line.casefold()), 1)
    tags = plural_tags(locale)
    finding = Finding("plural-rule", facts={"forms": ", ".join(tags), "count": len(tags)})
    return place(finding, str(file), Span(number, 1), lines[number - 1])


def _unfillable(file: Path, catalog: Catalog) -> Iterator[Problem]:
    """Translations with words in braces that their messages have not: there is nothing to put in their place."""
    for message in catalog:
        known = {name for text in several(message.id) for name in PLACEHOLDER.findall(text)}
        for text in texts_of(message) if message.id and is_done(message) else ():
            if unknown := sorted(set(PLACEHOLDER.findall(text)) - known):
                facts = {"names": ", ".join(f"{{{name}}}" for name in unknown), "text": text}
                yield place(Finding("placeholder-unknown", facts=facts), str(file), Span(message.lineno or 1, 1), text)


class _Bounded(Catalog):
    """A catalogue of no more plural forms than a language can have: so many texts are made of every message."""

    @property
    def num_plurals(self) -> int:
        found = super().num_plurals
        if not 1 <= found <= MOST_FORMS:
            raise ValueError(f"it speaks of {found} plural forms")
        return found


def _identity(lines: Iterable[str]) -> tuple[str, str | None]:
    """Text and context of an entry's lines."""
    found = dict(_strings(line for line in lines if not line.startswith("#")))
    return found.get("msgid", ""), found.get("msgctxt")


def _strings(lines: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Keywords of an entry with their texts, which may go on over several lines."""
    name, quoted = "", ""
    for line in lines:
        keyword, _, rest = line.partition(" ")
        if line.startswith('"'):
            quoted += f"\n{line}"
            continue
        if name:
            yield name, denormalize(quoted)
        name, quoted = keyword, rest
    if name:
        yield name, denormalize(quoted)


def _translated(catalog: Catalog) -> Iterator[tuple[str | None, str]]:
    for message in catalog:
        if message.id and is_done(message):
            yield message.context, english_of(message)


def is_done(message: Message) -> bool:
    """Whether a message has all its texts, and none is to be looked at again."""
    return all(texts_of(message)) and not message.fuzzy


def texts_of(message: Message) -> tuple[str, ...]:
    """A translation, form by form; one empty text where there is none."""
    return (message.string or "",) if isinstance(message.string, str | None) else tuple(message.string) or ("",)


def english_of(message: Message) -> str:
    """What is translated; of a plural the singular."""
    return message.id if isinstance(message.id, str) else str(message.id[0])


def _compiled(catalog: Catalog) -> gettext.GNUTranslations:
    """In the form that gettext reads; a plural without all its forms is left out as a whole."""
    buffer = io.BytesIO()
    whole = Catalog(locale=catalog.locale, fuzzy=False)
    whole.mime_headers = [("Plural-Forms", catalog.plural_forms)]  # in UTF-8, whatever the file was written in
    for message in catalog:
        if message.id and is_done(message):
            whole[message.id] = message
    write_mo(buffer, whole)
    buffer.seek(0)
    return gettext.GNUTranslations(buffer)
