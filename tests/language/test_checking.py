"""Translations checked: whatever is taken out of a catalogue, or put in wrongly, is found."""

import copy
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache

import pytest
from babel.messages.catalog import Catalog, Message

from pipeline.language.catalogue import read_catalog
from pipeline.language.checking import Bench, catalogue_faults, short_form_faults
from pipeline.language.fonts import fonts_of
from pipeline.language.glossary import Glossary, load_english, load_glossary, things_in
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
def wordless(tag: str) -> Bench:
    """The same without the words of its glossary, which take long to look for."""
    return replace(bench(tag), english=Glossary({}, frozenset()), glossary=Glossary({}, frozenset()))


@cache
def head(tag: str) -> str:
    """Its plural forms."""
    return plural_forms(LOCALES[tag])


@cache
def shipped_catalog(tag: str, domain: str) -> Catalog:
    """A catalogue as it is."""
    return read_catalog(FOLDER / LOCALES[tag].folder / "LC_MESSAGES" / f"{domain}.po", LOCALES[tag].folder)


def messages(tag: str) -> Iterator[Message]:
    """All messages of a locale."""
    yield from (message for domain in DOMAINS for message in shipped_catalog(tag, domain) if message.id)


def codes(
    tag: str, message: Message, change: Change | None = None, *, child: bool = False, on: Bench | None = None
) -> list[str]:
    """What is found in a catalogue of this message alone, changed."""
    catalog, wanted = (Catalog(locale=LOCALES[tag].folder, fuzzy=False) for _ in range(2))
    catalog.mime_headers = [("Plural-Forms", head(tag))]
    changed = copy.copy(message)
    if change:
        change(changed)
    for each, held in ((catalog, changed), (wanted, message)):
        each[message.id] = held
    return [fault.code for fault in catalogue_faults(catalog, wanted, on or bench(tag), child=child)]


def put(text: str, place: int = 0) -> Change:
    """Another text for a form."""

    def change(message: Message) -> None:
        if isinstance(message.string, str):
            message.string = text
        else:
            message.string = tuple(text if n == place else each for n, each in enumerate(message.string or ()))

    return change


def texts(message: Message) -> list[str]:
    """All forms."""
    return [message.string] if isinstance(message.string, str) else list(message.string or ())


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

        assert codes(tag, message, none, on=wordless(tag)) == ["translation-missing"], message.id
        for place in range(len(everything) if len(everything) > 1 else 0):
            assert codes(tag, message, put("", place), on=wordless(tag)) == ["plural-form-missing"], message.id


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
                assert "placeholder-lost" in codes(
                    tag, message, put(text.replace(name, "…"), place), on=wordless(tag)
                ), text
    assert found > 80


SLIPS = {
    "placeholder-unknown": "{nobody_says_this}",
    "placeholder-broken": "}",
    "text-markup": "<b>",
    "direction-open": "\u2067",
    "number-in-text": "7041",
    "character-without-font": "\U00013000",
}
"""What must not be in any text, by what is found."""


@pytest.mark.parametrize("tag", TAGS)
def test_any_slip_is_found_in_any_message(tag: str) -> None:
    """Every message and form: an invented brace, a lone one, markup, an open mark, a number, no font, each beside the others."""
    for message in messages(tag):
        for place, text in enumerate(texts(message)):
            assert codes(tag, message, put(" ".join([text, *SLIPS.values()]), place), on=wordless(tag)) == list(
                SLIPS
            ), text


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


@pytest.mark.parametrize("tag", TAGS)
def test_any_message_without_its_glossary_s_words_is_found(tag: str) -> None:
    """Whatever the English text names: once for each thing; short forms have no words."""
    found = 0
    for message in messages(tag):
        english = " ".join([message.id] if isinstance(message.id, str) else message.id)
        things = [thing for thing in things_in(bench(tag).english, english) if bench(tag).glossary.terms[thing].stems]
        silent = " ".join(re.findall(r"\{\w+\}", texts(message)[0]))
        expected = [] if str(message.context).endswith(": short") else ["glossary-word"] * len(things)
        assert codes(tag, message, put(f"… {silent}")) == expected, english
        found += len(expected)
    assert found > 200


@pytest.mark.parametrize("tag", TAGS)
def test_any_word_the_glossary_rules_out_is_found(tag: str) -> None:
    """In German a loom is no `Webstuhl`: one after another, at the beginning of a word, in capitals too, not within one."""
    message = next(m for m in messages(tag) if m.context == "key" and m.id == "Name")
    ruled_out = [word for term in bench(tag).glossary.terms.values() for word in term.never]
    for word in ruled_out:
        assert "glossary-not" in codes(tag, message, put(f"{texts(message)[0]} {word.upper()}")), word
        assert codes(tag, message, put(f"{texts(message)[0]} x{word}")) == [], word
    assert ruled_out


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


def test_a_form_for_a_single_number_may_leave_it_unsaid() -> None:
    """Arabic forms for none, one and two need no figure of what is counted; other forms do, and of the rest all do."""
    message = next(m for m in messages("ar") if m.context == "darn: step" and "{under}" in str(m.id))
    first, second = re.findall(r"\{\w+\}", message.id[1])
    forms = bench("ar").forms
    free = re.sub(r"\{\w+\}", "", texts(message)[forms.index("many")])
    lost = {form: codes("ar", message, put(f"{free} {first}", place)) for place, form in enumerate(forms)}
    assert {form for form, found in lost.items() if "placeholder-lost" not in found} == {"zero", "one", "two"}
    assert "placeholder-lost" in codes("ar", message, put(free, forms.index("two")))
    assert "placeholder-lost" in codes("ar", message, put(f"{free} {second}", forms.index("two")))
    assert "placeholder-lost" not in codes("ar", message, put(f"{free} {first} {second}", forms.index("many")))


@pytest.mark.parametrize("tag", TAGS)
@pytest.mark.parametrize(("text", "code"), [("knot: short", "twice"), ("darn: name", "name"), ("trade", "stitch")])
def test_short_forms_are_told_apart(tag: str, text: str, code: str) -> None:
    """A short form like another's, like the name of another sign, or like a stitch of the trade."""
    catalog = {message.context: copy.copy(message) for message in shipped_catalog(tag, "spokeleaf") if message.id}
    taken = {str(message.string).casefold() for message in catalog.values()}
    trade = min(name for name in bench(tag).glossary.stitch_names if name.casefold() not in taken)
    catalog["rib: short"].string = trade if text == "trade" else catalog[text].string
    assert [fault.code for fault in short_form_faults(catalog.values(), bench(tag))] == [f"short-form-{code}"]
