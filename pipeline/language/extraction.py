"""Gather what can be translated, and merge it into catalogues.

Messages of the program are found in its code by Babel's own extractor; those of symbols and patterns are read
from their YAML here. The context of a symbol's message is its id and field, that of a pattern's its id. Files
are the same every time: sorted, without a clock.
"""

import io
from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import write_po

from pipeline.language.catalogue import read_catalog
from pipeline.language.locales import LocaleInfo
from pipeline.language.plurals import plural_forms
from pipeline.pattern import Pattern
from pipeline.records import NamedLoom
from pipeline.symbols import Sentence, SymbolSet

NO_CLOCK: Final = datetime(2026, 1, 1, tzinfo=UTC)
KEYWORDS: Final = {"pgettext": ((1, "c"), 2), "npgettext": ((1, "c"), 2, 3)}
NOBODY: Final = "nobody yet <>"
COMMENT: Final = "Translators:"
HEADER: Final = "# Messages of Spokeleaf.\n# Braces hold values that are filled in; keep them as they are.\n#"


@dataclass(frozen=True, slots=True)
class Entry:
    """One message: its context, its text (and plural), a comment for translators, where it is used."""

    context: str
    text: str
    plural: str | None
    comment: str
    place: str


def program_entries(package: Path) -> Iterator[Entry]:
    """The messages in the program's code."""
    found = extract_from_dir(
        str(package),
        method_map=[("**.py", "python")],
        keywords=KEYWORDS,
        comment_tags=(COMMENT,),
        strip_comment_tags=True,
    )
    for file, _, message, comments, context in found:
        texts = message if isinstance(message, tuple) else (message, None)
        place = f"pipeline/{Path(file).as_posix()}"
        yield Entry(context or "", texts[0], texts[1], " ".join(comments), place)


def symbol_entries(symbols: SymbolSet, ids: Container[str] | None = None) -> Iterator[Entry]:
    """The messages of stitches and signs, or of those with these ids."""
    for symbol_id, symbol in sorted(symbols.everything.items()):
        if ids is not None and symbol_id not in ids:
            continue
        place = f"symbols/{symbol_id}.yaml"
        yield Entry(f"{symbol_id}: name", symbol.texts.name, None, f"Name. {symbol.shows}", place)
        if symbol.texts.short:
            yield Entry(f"{symbol_id}: short", symbol.texts.short, None, "Short form, unique in your language.", place)
        yield Entry(f"{symbol_id}: do", symbol.texts.do, None, "What to do, on the key page.", place)
        if symbol.texts.do_left:
            yield Entry(f"{symbol_id}: do", symbol.texts.do_left, None, "The same for left-handed work.", place)
        for sentence in symbol.texts.step:
            yield Entry(f"{symbol_id}: step", *sentence_texts(sentence), "A sentence of a step.", place)


def sentence_texts(sentence: Sentence) -> tuple[str, str | None]:
    """A sentence's message and its plural."""
    return (sentence.text, None) if sentence.text else (sentence.one or "", sentence.other)


def pattern_entries(pattern: Pattern) -> Iterator[Entry]:
    """The messages of a pattern."""
    place = f"patterns/{pattern.id}.yaml"

    def entry(text: str, comment: str) -> Entry:
        return Entry(pattern.id, text, None, comment, place)

    yield entry(pattern.title, "Title of the pattern.")
    if pattern.summary:
        yield entry(pattern.summary, "What it is, in one sentence.")
    for spec in [*pattern.threads.values(), *([pattern.holding_thread] if pattern.holding_thread else [])]:
        yield entry(spec.colour_name, "Name of a thread's colour.")
    if isinstance(pattern.loom, NamedLoom):
        yield entry(pattern.loom.name, "What kind of loom it is.")
    notes = [(done.note, f"Note of round {number}.") for number, done in enumerate(pattern.rounds, 1) if done.note]
    texts = [
        *((size.name, "Name of a size.") for size in pattern.sizes),
        *notes,
        *((correction.text, f"Correction of edition {correction.edition}.") for correction in pattern.corrections),
        *((photo.alt, "What a photograph shows, for people who do not see it.") for photo in pattern.photos),
        *((link.label, "Label of an address.") for link in pattern.links),
    ]
    yield from (entry(text, comment) for text, comment in texts)


def free_tools(pattern: Pattern, symbols: SymbolSet) -> Iterator[Entry]:
    """Tools that the pattern names in its own words."""
    for tool in pattern.tools:
        if tool not in symbols.signs:
            yield Entry(pattern.id, tool, None, "A tool.", f"patterns/{pattern.id}.yaml")


def template(entries: Iterable[Entry]) -> Catalog:
    """A catalogue of messages without translations, sorted by context and text."""
    catalog = Catalog(
        project="Spokeleaf",
        version="1",
        copyright_holder="",
        msgid_bugs_address=NOBODY,
        last_translator=NOBODY,
        language_team="source",
        creation_date=NO_CLOCK,
        revision_date=NO_CLOCK,
        header_comment=HEADER,
        fuzzy=False,
    )
    merged: dict[tuple[str, str], tuple[Entry, list[str], list[str]]] = {}
    for entry in entries:
        _, places, comments = merged.setdefault((entry.context, entry.text), (entry, [], []))
        if entry.place not in places:
            places.append(entry.place)
        if entry.comment and entry.comment not in comments:
            comments.append(entry.comment)
    for (context, text), (entry, places, comments) in sorted(merged.items()):
        identity = (text, entry.plural) if entry.plural else text
        locations: list[tuple[str, int]] = [(place, 0) for place in sorted(places)]
        catalog.add(identity, None, locations, auto_comments=sorted(comments), context=context)
    return catalog


def merge(pot: Catalog, file: Path, locale: LocaleInfo) -> Catalog:
    """A locale's catalogue brought up to a template: work is kept, nothing is guessed."""
    if file.is_file():
        catalog = read_catalog(file, locale.folder)
        catalog.update(pot, no_fuzzy_matching=True)
    else:
        catalog = Catalog(locale=locale.folder, project="Spokeleaf", version="1", fuzzy=False)
        for message in pot:
            if message.id:
                catalog[message.id] = Message(
                    message.id, None, message.locations, auto_comments=message.auto_comments, context=message.context
                )
    catalog.mime_headers = [("Plural-Forms", plural_forms(locale))]
    catalog.msgid_bugs_address = NOBODY
    if catalog.last_translator.startswith("FULL NAME"):
        catalog.last_translator = NOBODY
    catalog.creation_date = catalog.revision_date = NO_CLOCK
    catalog.fuzzy = False
    catalog.header_comment = HEADER
    catalog.language_team = locale.tag
    return catalog


def po_bytes(catalog: Catalog) -> bytes:
    """A PO file's bytes: sorted, unwrapped, without line numbers."""
    buffer = io.BytesIO()
    write_po(buffer, catalog, width=0, sort_output=True, include_lineno=False, include_previous=True)
    return buffer.getvalue()


def templates(package: Path, symbols: SymbolSet, patterns: Sequence[Pattern]) -> dict[str, Catalog]:
    """The templates of both domains."""
    program = [*program_entries(package), *symbol_entries(symbols)]
    own = [entry for pattern in patterns for entry in (*pattern_entries(pattern), *free_tools(pattern, symbols))]
    return {"spokeleaf": template(program), "patterns": template(own)}
