"""How a locale speaks: numbers, measures, lists, dates, and values in the braces of a message."""

from datetime import date
from decimal import Decimal
from gettext import c2py
from pathlib import Path

import pytest
from babel.plural import PluralRule
from hypothesis import given
from hypothesis import strategies as st

from pipeline.language.catalogue import read_catalog
from pipeline.language.locales import LocaleInfo, load_locales
from pipeline.language.speech import FIRST_STRONG, LEFT_TO_RIGHT, POP, Phrase, load_speech
from pipeline.workspace import shipped

FOLDER = shipped("locales")
LOCALES = load_locales([FOLDER])
TAGS = sorted(LOCALES)
SPOKEN = {tag: load_speech([FOLDER], LOCALES[tag]) for tag in TAGS}
CLDR_ORDER = ("zero", "one", "two", "few", "many", "other")


def bare(text: str) -> str:
    """A text without its isolates."""
    return "".join(character for character in text if character not in {FIRST_STRONG, LEFT_TO_RIGHT, POP})


@pytest.mark.parametrize(
    ("tag", "number", "written"),
    [
        ("en", 12345, "12,345"),
        ("es", 1234, "1234"),
        ("es", 12345, "12.345"),
        ("ja", 1234567, "1,234,567"),
        ("ar", 12345, "12,345"),
        ("en", Decimal("0.5"), "0.5"),
        ("es", Decimal("0.5"), "0,5"),
        ("ar", Decimal("0.5"), "0.5"),
        ("ja", 0, "0"),
    ],
)
def test_a_number_has_the_locale_s_separators(tag: str, number: int | Decimal, written: str) -> None:
    """Unicode CLDR 48: comma in es, point in en, ar and ja; es sets thousands apart from five digits on."""
    assert SPOKEN[tag].number(number) == written


@pytest.mark.parametrize(
    ("tag", "whole", "long", "thin"),
    [
        ("en", "72 mm", "1,234.5 m", "0.30 mm"),
        ("es", "72 mm", "1234,5 m", "0,30 mm"),
        ("ja", "72 mm", "1,234.5 m", "0.30 mm"),
    ],
)
def test_a_measure_has_number_and_unit(tag: str, whole: str, long: str, thin: str) -> None:
    """Unicode CLDR 48, short units; only a thickness keeps its nought, and the thousands of es stay together."""
    speech = SPOKEN[tag]
    said = [speech.mm(72.0), speech.mm(72.4, 0), speech.metres(1_234_500.0), speech.thickness(0.297)]
    assert [text.replace("\u00a0", " ") for text in said] == [whole, whole, long, thin]


def test_an_arabic_measure_is_isolated_and_keeps_western_digits() -> None:
    """Unicode CLDR 48: مم for millimetres; the whole measure stands between isolates, so the unit stays with it."""
    assert SPOKEN["ar"].mm(8.25) == f"{FIRST_STRONG}8.3\u00a0مم{POP}"


@given(st.integers(min_value=0, max_value=10**7))
def test_measures_are_rounded_by_the_one_rule(hundredths: int) -> None:
    """Halves go away from zero, by whole arithmetic: 2.25 mm is printed as 2.3."""
    tenths = (hundredths + 5) // 10
    wanted = f"{tenths // 10:,}.{tenths % 10}".removesuffix(".0") + "\u00a0mm"
    assert SPOKEN["en"].mm(hundredths / 100) == wanted


@pytest.mark.parametrize(
    ("tag", "written"),
    [("en", "March 14, 2026"), ("es", "14 de marzo de 2026"), ("ar", "14 مارس 2026"), ("ja", "2026年3月14日")],
)
def test_a_day_is_written_out(tag: str, written: str) -> None:
    """Unicode CLDR 48, long dates (from memory)."""
    assert bare(SPOKEN[tag].day(date(2026, 3, 14))) == written


@pytest.mark.parametrize(
    ("tag", "three", "two"),
    [
        ("en", "a, b, and c", "a and b"),
        ("es", "a, b y c", "a y b"),
        ("ar", "a وb وc", "a وb"),
        ("ja", "a、b、c", "a、b"),
    ],
)
def test_a_list_has_the_locale_s_and(tag: str, three: str, two: str) -> None:
    """Unicode CLDR 48, standard lists (from memory); one item stands alone."""
    speech = SPOKEN[tag]
    assert [bare(speech.listed(items)) for items in (["a", "b", "c"], ["a", "b"], ["a"])] == [three, two, "a"]


def test_arabic_list_items_are_isolated_one_by_one() -> None:
    """Unicode UAX #9: three items, three isolates, each closed."""
    text = SPOKEN["ar"].listed(["a", "b", "c"])
    assert text.count(FIRST_STRONG) == text.count(POP) == 3


def test_left_to_right_text_is_marked_only_where_text_runs_the_other_way() -> None:
    """Unicode UAX #9: U+2066 LRI in Arabic, nothing in English."""
    assert SPOKEN["ar"].left_to_right("3 / 7") == f"{LEFT_TO_RIGHT}3 / 7{POP}"
    assert SPOKEN["en"].left_to_right("3 / 7") == "3 / 7"


def test_a_number_in_braces_is_written_by_the_locale() -> None:
    """Whole numbers get separators, texts stay as they are."""
    assert SPOKEN["es"].fill("{a} {b}", a=12345, b="12345") == "12.345 12345"


def test_a_message_with_an_unknown_brace_is_refused() -> None:
    """A translation cannot ask for a value that is not there."""
    with pytest.raises(KeyError):
        SPOKEN["en"].fill("{size} rays", count=3)


def test_a_value_with_braces_is_not_filled_again() -> None:
    """A pattern's own text with braces in it passes through whole."""
    assert SPOKEN["en"].fill("{a}!", a="{b}") == "{b}!"


def test_a_pattern_s_text_without_translation_keeps_its_language() -> None:
    """Design section 3: it is printed as written, with its ``lang``; in its own locale it needs none."""
    assert SPOKEN["es"].phrase("no-such-pattern", "Hoarfrost", "en") == Phrase("Hoarfrost", "en")
    assert SPOKEN["en"].phrase("no-such-pattern", "Hoarfrost", "en") == Phrase("Hoarfrost", None)


def test_a_pattern_s_text_with_translation_is_the_locale_s() -> None:
    """The title of a demo is not the English one, and carries no language of its own."""
    phrase = SPOKEN["ja"].phrase("first-frost", "First Frost", "en")
    assert phrase.lang is None
    assert phrase.text != "First Frost"


@pytest.mark.parametrize(("tag", "name"), [("en", "Spanish"), ("es", "español"), ("ja", "スペイン語")])
def test_a_language_has_a_name_in_every_locale(tag: str, name: str) -> None:
    """Unicode CLDR 48, display names (from memory)."""
    assert SPOKEN[tag].language_name("es") == name


@pytest.mark.parametrize("tag", [tag for tag in TAGS if tag != "en"])
@pytest.mark.parametrize("domain", ["spokeleaf", "patterns"])
def test_plural_forms_stand_in_cldr_s_order(tag: str, domain: str) -> None:
    """Form by form zero, one, two, few, many, other, as translators' tools expect, for every count to 999."""
    catalog = read_catalog(FOLDER / LOCALES[tag].folder / "LC_MESSAGES" / f"{domain}.po", LOCALES[tag].folder)
    rule: PluralRule = LOCALES[tag].cldr.plural_form
    categories = {count: rule(count) for count in range(1000)}
    order = [category for category in CLDR_ORDER if category in categories.values()]
    form = c2py(catalog.plural_expr)
    assert catalog.num_plurals == len(order)
    assert {count: form(count) for count in categories} == {
        count: order.index(category) for count, category in categories.items()
    }


@pytest.mark.parametrize(
    ("count", "noun"),
    [(3, "أشعة"), (10, "أشعة"), (11, "شعاعًا"), (36, "شعاعًا"), (99, "شعاعًا"), (100, "شعاع"), (144, "شعاعًا")],
)
def test_an_arabic_count_has_the_noun_grammar_asks_for(count: int, noun: str) -> None:
    """Arabic grammar (from memory): plural from 3 to 10, accusative singular from 11 to 99, else singular."""
    speech = SPOKEN["ar"]
    text = bare(speech.fill(speech.npgettext("facts", "{count} ray", "{count} rays", count), count=count))
    assert text.split() == [str(count), noun]


def test_a_workspace_s_texts_lie_over_the_shipped_ones(tmp_path: Path) -> None:
    """Design section 3: message by message; what the workspace leaves out is the shipped text."""
    folder = tmp_path / "es" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    head = 'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n'
    own = 'msgctxt "knot: name"\nmsgid "Knot"\nmsgstr "Nudillo"\n'
    (folder / "spokeleaf.po").write_text(head + own, encoding="utf-8")
    speech = load_speech([FOLDER, tmp_path], LOCALES["es"])
    assert speech.pgettext("knot: name", "Knot") == "Nudillo"
    assert speech.pgettext("facts", "Loom") == SPOKEN["es"].pgettext("facts", "Loom") != "Loom"


def test_a_region_falls_back_to_its_language() -> None:
    """BCP 47 (RFC 5646): es-PY finds what es says."""
    speech = load_speech([FOLDER], LocaleInfo("es-PY", "draft"))
    assert speech.pgettext("knot: name", "Knot") == SPOKEN["es"].pgettext("knot: name", "Knot") != "Knot"


def test_a_fuzzy_translation_is_not_used(tmp_path: Path) -> None:
    """What a translator has not confirmed is as good as missing."""
    folder = tmp_path / "es" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    head = 'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n\n'
    entry = '#, fuzzy\nmsgctxt "trial"\nmsgid "Trial"\nmsgstr "Juicio"\n'
    (folder / "patterns.po").write_text(head + entry, encoding="utf-8")
    speech = load_speech([tmp_path], LOCALES["es"])
    assert speech.phrase("trial", "Trial", "en") == Phrase("Trial", "en")
