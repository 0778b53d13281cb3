"""Check translations: every message of a catalogue, alone and together with the others of its locale.

A check is a plain function over messages; what it finds has the line of the message in its file.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import takewhile
from typing import Final

from babel.messages.catalog import Catalog, Message

from pipeline.language.catalogue import PLACEHOLDER, english_of, several, texts_of
from pipeline.language.fonts import Fonts, named
from pipeline.language.glossary import Glossary, things_in
from pipeline.language.habits import western
from pipeline.language.locales import LocaleInfo
from pipeline.language.plurals import agrees, counts_of, plural_tags
from pipeline.source import is_closed

_MARKUP: Final = re.compile(r"[<>]|&\w+;")
_NUMBER_WORDS: Final = {
    "1": "a all an by each every first next one once single",
    "2": "both pair second two twice",
    "3": "three",
    "4": "four",
    "5": "five",
    "6": "six",
    "7": "seven",
    "8": "eight",
    "9": "nine",
    "10": "ten",
    "12": "dozen twelve",
}
"""Where an English text has one of these words, a translation may have the figure."""


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a message: a code of ``problems.RULES`` and its facts."""

    code: str
    message: Message | None
    facts: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Bench:
    """What translations of a locale are checked against."""

    locale: LocaleInfo
    english: Glossary
    glossary: Glossary
    fonts: Fonts

    @property
    def forms(self) -> tuple[str, ...]:
        """The names of its plural forms."""
        return plural_tags(self.locale)

    def only_one(self, form: str) -> bool:
        """Whether a plural form stands for a single number, which a text may leave unsaid."""
        return len(counts_of(self.locale, form)) == 1


def catalogue_faults(catalog: Catalog, wanted: Catalog, bench: Bench, *, child: bool = False) -> Iterator[Fault]:
    """Everything in one catalogue; a regional ``child`` need not have every message."""
    yield from _header_faults(catalog, bench)
    for message in wanted:
        if not message.id:
            continue
        found = catalog.get(message.id, message.context)
        if found is None:
            if not child:
                yield Fault("translation-missing", None, {"text": english_of(message), "context": message.context})
        elif found.fuzzy:
            yield Fault("translation-fuzzy", found, {"text": english_of(found)})
        else:
            yield from _message_faults(found, bench, child=child)


def _header_faults(catalog: Catalog, bench: Bench) -> Iterator[Fault]:
    """Plural forms that are not the locale's."""
    tags = bench.forms
    if catalog.num_plurals != len(tags) or not agrees(bench.locale, catalog.plural_expr):
        yield Fault("plural-rule", None, {"forms": ", ".join(tags), "count": len(tags)})


def _message_faults(message: Message, bench: Bench, *, child: bool) -> Iterator[Fault]:
    plural = isinstance(message.id, tuple | list)
    texts = texts_of(message)
    if not any(texts):
        if not child:
            yield Fault("translation-missing", message, {"text": english_of(message), "context": message.context})
        return
    forms = bench.forms if plural else ("",)
    if len(texts) != len(forms):
        yield Fault("plural-forms", message, {"found": len(texts), "count": len(forms), "forms": ", ".join(forms)})
        return
    for form, text in zip(forms, texts, strict=True):
        if not text.strip():
            yield Fault("plural-form-missing", message, {"form": form, "text": english_of(message)})
            continue
        yield from _placeholder_faults(message, text, form, bench)
        yield from _text_faults(message, text, bench)


def _placeholder_faults(message: Message, text: str, form: str, bench: Bench) -> Iterator[Fault]:
    """Words in braces: all there, none new; where a form stands for one number, the count may be unsaid."""
    singular, *rest = several(message.id)
    every = {name for each in (singular, *rest) for name in PLACEHOLDER.findall(each)}
    single = bool(form) and bench.only_one(form)
    needed = set(PLACEHOLDER.findall(rest[0] if rest else singular))
    if single:
        needed &= set(PLACEHOLDER.findall(singular))
    found = set(PLACEHOLDER.findall(text))
    lost = sorted(needed - found)
    if lost and not (single and lost == [_counted(singular, *rest)]):
        yield Fault("placeholder-lost", message, {"names": ", ".join(f"{{{name}}}" for name in lost), "text": text})
    if unknown := sorted(found - every):
        yield Fault(
            "placeholder-unknown", message, {"names": ", ".join(f"{{{name}}}" for name in unknown), "text": text}
        )
    if re.search(r"[{}]", PLACEHOLDER.sub("", text)):
        yield Fault("placeholder-broken", message, {"text": text})


def _counted(singular: str, plural: str) -> str | None:
    """Which word in braces is the count: the one called so, or the last before the two English forms part.

    >>> _counted("Over {over} and under {under} ray.", "Over {over} and under {under} rays.")
    'under'
    """
    if "count" in PLACEHOLDER.findall(plural):
        return "count"
    alike = takewhile(lambda pair: pair[0] == pair[1], zip(singular, plural, strict=False))
    return next(reversed(PLACEHOLDER.findall("".join(first for first, _ in alike))), None)


def _text_faults(message: Message, text: str, bench: Bench) -> Iterator[Fault]:
    english = " ".join(several(message.id))
    if _MARKUP.search(text) and not _MARKUP.search(english):
        yield Fault("text-markup", message, {"text": text})
    if not is_closed(text):
        yield Fault("direction-open", message, {"text": text})
    if numbers := _own_numbers(text, english):
        yield Fault("number-in-text", message, {"numbers": ", ".join(numbers), "text": text})
    if missing := bench.fonts.missing(text):
        facts = {"locale": bench.locale.tag, "characters": named(missing)}
        yield Fault("character-without-font", message, facts)
    if not (message.context or "").endswith(": short"):
        yield from _glossary_faults(message, text, bench)


def _own_numbers(text: str, english: str) -> list[str]:
    """Numbers of a translation that its English text has neither as figures nor as words."""
    words = set(re.findall(r"[a-z]+", PLACEHOLDER.sub(" ", english).casefold()))
    said = set(re.findall(r"\d+", PLACEHOLDER.sub(" ", english)))
    said |= {figure for figure, names in _NUMBER_WORDS.items() if words & set(names.split())}
    found = re.findall(r"\d+", western(PLACEHOLDER.sub(" ", text)))
    return sorted(set(found) - said)


def _glossary_faults(message: Message, text: str, bench: Bench) -> Iterator[Fault]:
    """Another word than the glossary's, or one it forbids."""
    folded = _folded(PLACEHOLDER.sub(" ", text))
    for thing in things_in(bench.english, " ".join(several(message.id))):
        stems = bench.glossary.terms[thing].stems if thing in bench.glossary.terms else ()
        if stems and not any(_folded(stem) in folded for stem in stems):
            yield Fault("glossary-word", message, {"thing": thing, "word": bench.glossary.called(thing), "text": text})
    for thing, term in bench.glossary.terms.items():
        for word in term.never:
            if re.search(rf"(?<!\w){re.escape(_folded(word))}", folded):
                yield Fault("glossary-not", message, {"word": word, "thing": thing, "use": term.term, "text": text})


def short_form_faults(messages: Iterable[Message], bench: Bench) -> Iterator[Fault]:
    """Short forms that two signs share, or that are the name of another sign or of a stitch of the trade."""
    names: dict[str, str] = {}
    shorts: list[tuple[str, Message]] = []
    for message in messages:
        symbol, _, kind = (message.context or "").partition(": ")
        text = _folded(texts_of(message)[0])
        if text and kind == "name":
            names.setdefault(text, symbol)
        elif text and kind == "short":
            shorts.append((text, message))
    seen: dict[str, Message] = {}
    trade = {_folded(name) for name in bench.glossary.stitch_names}
    for text, message in shorts:
        symbol = str(message.context).partition(": ")[0]
        if text in seen:
            other = str(seen[text].context).partition(": ")[0]
            yield Fault("short-form-twice", message, {"short": texts_of(message)[0], "one": other, "other": symbol})
        elif names.get(text, symbol) != symbol:
            yield Fault("short-form-name", message, {"short": texts_of(message)[0], "other": names[text]})
        elif text in trade and names.get(text) != symbol:
            yield Fault("short-form-stitch", message, {"short": texts_of(message)[0]})
        seen.setdefault(text, message)


def _folded(text: str) -> str:
    return unicodedata.normalize("NFC", text).casefold()
