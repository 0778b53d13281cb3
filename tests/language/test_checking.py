"""Translations checked: whatever is taken out of a catalogue, or put in wrongly, is found."""

import copy
import re
from collections.abc import Callable, Iterator
from functools import cache

import pytest
from babel.messages.catalog import Catalog, Message

from pipeline.language.catalogue import read_catalog
from pipeline.language.checking import Bench, catalogue_faults, short_form_faults
from pipeline.language.fonts import fonts_of
from pipeline.language.glossary import load_english, load_glossary
from pipeline.language.locales import load_locales
from pipeline.language.plurals import plural_forms
from pipeline.workspace import shipped

FOLDER = shipped("locales")
LOCALES = load_locales([FOLDER])
TAGS = sorted(tag for tag in LOCALES if tag not in {"en", "es-PY"})
DOMAINS = ("spokeleaf", "patterns")
Change = Callable[[Message], None]


@cache
def bench(tag: str) -> Bench:
    """What a locale is checked against."""
    locale = LOCALES[tag]
    return Bench(locale, load_english([FOLDER]), load_glossary([FOLDER], locale), fonts_of(locale, ()))


@cache
def shipped_catalog(tag: str, domain: str) -> Catalog:
    """A catalogue as it is."""
    return read_catalog(FOLDER / LOCALES[tag].folder / "LC_MESSAGES" / f"{domain}.po", LOCALES[tag].folder)


def messages(tag: str) -> Iterator[Message]:
    """All messages of a locale."""
    yield from (message for domain in DOMAINS for message in shipped_catalog(tag, domain) if message.id)


def codes(tag: str, message: Message, change: Change | None = None, *, child: bool = False) -> list[str]:
    """What is found in a catalogue of this message alone, changed."""
    catalog, wanted = (Catalog(locale=LOCALES[tag].folder, fuzzy=False) for _ in range(2))
    changed = copy.copy(message)
    if change:
        change(changed)
    for each, held in ((catalog, changed), (wanted, message)):
        each.mime_headers = [("Plural-Forms", plural_forms(LOCALES[tag]))]
        each[message.id] = held
    return [fault.code for fault in catalogue_faults(catalog, wanted, bench(tag), child=child)]


def put(text: str, place: int = 0) -> Change:
    """Another text for a form."""

    def change(message: Message) -> None:
        if isinstance(message.string, str):
            message.string = text
        else:
            message.string = tuple(text if n == place else each for n, each in enumerate(message.string))

    return change


def texts(message: Message) -> list[str]:
    """All forms."""
    return [message.string] if isinstance(message.string, str) else list(message.string)


@pytest.mark.parametrize("tag", TAGS)
def test_what_is_shipped_has_no_fault(tag: str) -> None:
    """Every message of every catalogue is whole, in the glossary's words, and no two short forms are alike."""
    assert [(m.context, m.id, found) for m in messages(tag) if (found := codes(tag, m))] == []
    assert list(short_form_faults(shipped_catalog(tag, "spokeleaf"), bench(tag))) == []
    assert len(list(messages(tag))) > 300


def test_a_regional_locale_may_be_incomplete_but_not_wrong() -> None:
    """es-PY has only what differs from es; what it has is whole."""
    found = [message for message in messages("es-PY") if any(texts(message))]
    assert 5 < len(found) < 100
    assert [m.id for m in messages("es-PY") if codes("es-PY", m, child=True)] == []
    empty = next(message for message in messages("es-PY") if not any(texts(message)))
    assert codes("es-PY", empty) == ["translation-missing"]


@pytest.mark.parametrize("tag", TAGS)
def test_any_translation_that_is_taken_out_is_missed(tag: str) -> None:
    """One after another, every message of the locale; and any one form of a plural."""
    for message in messages(tag):
        everything = texts(message)

        def none(changed: Message, count: int = len(everything)) -> None:
            changed.string = "" if count == 1 and isinstance(changed.string, str) else ("",) * count

        assert codes(tag, message, none) == ["translation-missing"], message.id
        for place in range(len(everything) if len(everything) > 1 else 0):
            assert codes(tag, message, put("", place)) == ["plural-form-missing"], message.id


@pytest.mark.parametrize("tag", TAGS)
def test_any_word_in_braces_that_is_lost_is_missed(tag: str) -> None:
    """One after another; a form that stands for one number alone may leave one out."""
    found = 0
    for message in messages(tag):
        for place, text in enumerate(texts(message)):
            plural = len(texts(message)) > 1
            if plural and bench(tag).only_one(bench(tag).forms[place]):
                continue
            for name in set(re.findall(r"\{\w+\}", text)):
                found += 1
                assert "placeholder-lost" in codes(tag, message, put(text.replace(name, "…"), place)), text
    assert found > 80


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("{size} {colour}", "placeholder-unknown"),
        ("{size} }", "placeholder-broken"),
        ("<b>{size}</b>", "text-markup"),
        ("{size} &amp; mehr", "text-markup"),
        ("\u2067{size}", "direction-open"),
        ("{size}\u2069", "direction-open"),
        ("{size} 17", "number-in-text"),
        ("{size} \u0661\u0667", "number-in-text"),
        ("{size} \U00013000", "character-without-font"),
        ("{size} Speiche", "glossary-word"),
    ],
)
def test_what_is_put_in_wrongly_is_found(text: str, code: str) -> None:
    """An invented or broken brace, markup, an open mark of direction, a number, a letter without a font, another word."""
    message = next(m for m in messages("de") if m.context == "knot: step" and "{size}" in str(m.id))
    assert code in codes("de", message, put(text, 1))


def test_a_word_the_glossary_rules_out_is_found() -> None:
    """In German a loom is no `Webstuhl` or whatever its glossary forbids."""
    thing, term = next((thing, term) for thing, term in bench("de").glossary.terms.items() if term.never)
    message = next(m for m in messages("de") if m.context == "key")
    assert "glossary-not" in codes("de", message, put(term.never[0])), thing


def test_a_closed_mark_of_direction_is_no_fault() -> None:
    """Unicode UAX #9: an isolate that is closed."""
    message = next(m for m in messages("ar") if m.context == "key" and m.id == "Name")
    assert codes("ar", message, put("\u2067" + str(message.string) + "\u2069")) == []


def test_a_plural_rule_of_another_language_is_found() -> None:
    """The head of a Polish catalogue with the German rule, and with so few forms."""
    message = next(m for m in messages("pl") if isinstance(m.id, tuple))
    catalog, wanted = (Catalog(locale="pl", fuzzy=False) for _ in range(2))
    wanted[message.id] = message
    catalog.mime_headers = [("Plural-Forms", "nplurals=2; plural=(n != 1);")]
    short = copy.copy(message)
    short.string = tuple(texts(message)[:2])
    catalog[message.id] = short
    assert [fault.code for fault in catalogue_faults(catalog, wanted, bench("pl"))] == ["plural-rule", "plural-forms"]


def test_a_translation_to_be_looked_at_is_found() -> None:
    """Marked fuzzy by an editor or by an update."""
    message = next(messages("fr"))
    assert codes("fr", message, lambda changed: setattr(changed, "flags", {"fuzzy"})) == ["translation-fuzzy"]


@pytest.mark.parametrize(("text", "code"), [("knot: short", "twice"), ("darn: name", "name"), ("trade", "stitch")])
def test_short_forms_are_told_apart(text: str, code: str) -> None:
    """A short form like another's, like the name of another sign, or like a stitch of the trade."""
    catalog = copy.deepcopy(shipped_catalog("de", "spokeleaf"))
    by_context = {message.context: message for message in catalog if message.id}
    trade = min(bench("de").glossary.stitch_names - {str(m.string) for m in catalog})
    by_context["rib: short"].string = trade if text == "trade" else by_context[text].string
    assert [fault.code for fault in short_form_faults(catalog, bench("de"))] == [f"short-form-{code}"]
