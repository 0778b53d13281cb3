"""Pseudo-locales: English made long or turned round, whole and fillable, and no language."""

import re

import pytest
from babel.messages.catalog import Message
from hypothesis import given
from hypothesis import strategies as st

from pipeline.language.catalogue import read_catalog
from pipeline.language.fonts import fonts_of
from pipeline.language.locales import PSEUDO_LOCALES, LocaleInfo, load_locales
from pipeline.language.pseudo import OVERRIDE, POP, accented, turned
from pipeline.language.speech import Phrase, load_speech
from pipeline.workspace import shipped

FOLDER = shipped("locales")
ACCENT, MIRROR = (LocaleInfo(tag, "pseudo") for tag in PSEUDO_LOCALES)
MESSAGES = [message for message in read_catalog(FOLDER / "spokeleaf.pot", "en") if message.id]
PIECES = st.lists(st.sampled_from(["{count}", "{size}", " rays, ", "Knot", " × ", ".", "äßу", ""]), max_size=6)


def english(message: Message) -> tuple[str, ...]:
    """The texts of a message."""
    return (message.id,) if isinstance(message.id, str) else tuple(message.id)


def names(text: str) -> list[str]:
    """Words in braces, as they stand."""
    return re.findall(r"\{\w+\}", text)


@pytest.mark.parametrize("locale", [ACCENT, MIRROR], ids=PSEUDO_LOCALES)
def test_every_message_keeps_its_words_in_braces(locale: LocaleInfo) -> None:
    """Of every message of the program and both its forms, in order; the text itself is another."""
    speech = load_speech([FOLDER], locale)
    for message in MESSAGES:
        context, texts = str(message.context), english(message)
        said = [speech.pgettext(context, texts[0])]
        if len(texts) == 2:
            said = [speech.npgettext(context, *texts, count) for count in (1, 2)]
        assert [names(text) for text in said] == [names(text) for text in texts]
        for text, before in zip(said, texts, strict=True):
            assert text != before or not re.search("[A-Za-z]", re.sub(r"\{\w+\}", "", before)), before
    assert len(MESSAGES) > 250


@given(PIECES)
def test_words_in_braces_are_never_touched(pieces: list[str]) -> None:
    """However text and braces stand side by side; what is turned round is the text again without its marks."""
    text = "".join(pieces)
    assert names(accented(text)) == names(turned(text)) == names(text)
    assert turned(text).replace(OVERRIDE, "").replace(POP, "") == text
    assert turned(text).count(OVERRIDE) == turned(text).count(POP)


def test_texts_are_longer_by_a_quarter_and_have_no_bare_vowel() -> None:
    """All messages together; W3C, Text size in translation: long texts grow by less, short ones by more."""
    texts = [text for message in MESSAGES for text in english(message)]
    longer = [accented(text) for text in texts]
    assert sum(map(len, longer)) > 1.25 * sum(map(len, texts))
    assert not re.search("[AaEeIiOoUu]", "".join(re.sub(r"\{\w+\}", "", text) for text in longer))


def test_one_runs_from_the_left_and_one_from_the_right() -> None:
    """Direction and script are those of a page; paper, measures and digits those of English."""
    assert [(locale.pseudo, locale.direction, locale.script) for locale in (ACCENT, MIRROR)] == [
        ("accent", "ltr", "Latn"),
        ("mirror", "rtl", "Latn"),
    ]
    assert {(locale.paper, locale.units, locale.digits) for locale in (ACCENT, MIRROR)} == {("a4", "metric", "latn")}
    assert LocaleInfo("en", "source").pseudo is None


def test_values_are_isolated_where_the_text_is_turned_round() -> None:
    """Unicode UAX #9: as in any text that runs from the right."""
    assert load_speech([FOLDER], MIRROR).fill("{a}", a="8 mm") == "\u20688 mm\u2069"
    assert load_speech([FOLDER], ACCENT).fill("{a}", a="8 mm") == "8 mm"


def test_a_pattern_s_texts_are_changed_like_all_others() -> None:
    """Nothing counts as untranslated, so that a leaflet has no word of another kind."""
    assert load_speech([FOLDER], ACCENT).phrase("none", "Frost", "en") == Phrase("Fŕööšţ")


@pytest.mark.parametrize("locale", [ACCENT, MIRROR], ids=PSEUDO_LOCALES)
def test_their_letters_have_a_font(locale: LocaleInfo) -> None:
    """A layout is tried with letters, not with boxes."""
    speech, fonts = load_speech([FOLDER], locale), fonts_of(locale, ())
    said = "".join(speech.pgettext(str(message.context), english(message)[0]) for message in MESSAGES)
    assert fonts.missing(said) == ""


def test_they_are_in_no_list() -> None:
    """They are asked for by name; no folder and no file says that there are any."""
    assert not set(PSEUDO_LOCALES) & set(load_locales([FOLDER]))
