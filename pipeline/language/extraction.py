"""Gather what can be translated.

Messages of the program are found in its code by Babel's own extractor; those of symbols and patterns are read
from their YAML here. The context of a symbol's message is its id and field, that of a pattern's its id.
"""

from collections.abc import Container, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from babel.messages.extract import extract_from_dir

from pipeline.pattern_model import Pattern
from pipeline.records import NamedLoom
from pipeline.symbol_model import Sentence
from pipeline.symbols import SymbolSet

KEYWORDS: Final = {"pgettext": ((1, "c"), 2), "npgettext": ((1, "c"), 2, 3)}
COMMENT: Final = "Translators:"
TITLE: Final = "Title of the pattern."
"""What a translator is told of a pattern's title; by it the message is known again."""


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

    yield entry(pattern.title, TITLE)
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
