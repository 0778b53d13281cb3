"""A locale's glossary (``glossary.yaml`` in its folder): what each thing is called there, and the names of stitches.

The English one says which things there are and what they mean; those of other locales say which word stands for each,
in which forms it may occur, and which words must not be used for it.
"""

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from pydantic import Field

from pipeline.fields import Record, Tag, Text
from pipeline.language.catalogue import PLACEHOLDER
from pipeline.language.locales import SOURCE_LOCALE, LocaleInfo, read_record

FILE: Final = "glossary.yaml"


class Term(Record):
    """A word of a glossary."""

    term: Text | None = None
    about: Text | None = None
    """What is meant; in the English glossary."""
    forms: tuple[Text, ...] = ()
    """What a text has that uses it: in English whole words, elsewhere stems."""
    never: tuple[Text, ...] = Field(default=(), alias="not")
    """Beginnings of words that would be another name for the same thing."""
    source: Text | None = None

    @property
    def stems(self) -> tuple[str, ...]:
        """What shows in a text that it uses the word."""
        return self.forms or ((self.term,) if self.term else ())


class GlossaryFile(Record):
    """What a ``glossary.yaml`` says."""

    glossary: Tag
    terms: dict[str, Term] = Field(default_factory=dict)
    stitch_names: tuple[Text, ...] = ()


@dataclass(frozen=True, slots=True)
class Glossary:
    """The words of a locale, its own over its parent's; by the English name of each thing."""

    terms: Mapping[str, Term]
    stitch_names: frozenset[str]

    def called(self, thing: str) -> str | None:
        """What a thing is called."""
        return self.terms[thing].term if thing in self.terms else None


def load_glossary(folders: Iterable[Path], locale: LocaleInfo) -> Glossary:
    """The glossary of a locale, later folders over earlier ones. Raises ``BrokenLocale``."""
    terms: dict[str, Term] = {}
    names: set[str] = set()
    layers = list(folders)
    files = (layer / folder / FILE for folder in reversed(locale.fallbacks) for layer in layers)
    for _, found in (read_record(file, GlossaryFile) for file in files if file.is_file()):
        terms |= found.terms
        names |= set(found.stitch_names)
    return Glossary(terms, frozenset(names))


def things_in(english: Glossary, text: str) -> Iterator[str]:
    """The things of the English glossary that a text names; what stands in braces is no text."""
    plain = PLACEHOLDER.sub(" ", text).casefold()
    for thing, term in english.terms.items():
        if any(re.search(rf"(?<![\w-]){re.escape(form.casefold())}(?![\w-])", plain) for form in term.stems):
            yield thing


def new_glossary(english: Glossary, tag: str) -> str:
    """A glossary ready to fill: everything that wants a word, with what is meant."""
    lines = [
        "# What each thing is called in this language: one word for one thing. Write it before what is meant:",
        "#   ray: {term: …, forms: [stems that a text with this word has], not: [words not to be used], source: …}",
        f"glossary: {tag}",
        "terms:",
        *(f"  {thing}: {_asked(term)}" for thing, term in english.terms.items()),
        "# Names of stitches of needle lace in this language: no short form may be one of them.",
        "stitch_names: []",
    ]
    return "\n".join(lines) + "\n"


def _asked(term: Term) -> str:
    return f"{{about: {json.dumps(term.about, ensure_ascii=False)}}}" if term.about else "{}"


def load_english(folders: Iterable[Path]) -> Glossary:
    """The glossary that says which things there are. Raises ``BrokenLocale``."""
    return load_glossary(folders, LocaleInfo(SOURCE_LOCALE, "source"))
