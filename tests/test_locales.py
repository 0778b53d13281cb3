"""Every catalogue: nothing lost, nothing invented, nothing empty; and how locales write."""

import re
import subprocess
from decimal import Decimal
from pathlib import Path

import pytest
from babel.messages.catalog import Message

from pipeline.language.catalogue import read_catalog
from pipeline.language.glossary import load_glossary
from pipeline.language.locales import LocaleInfo, load_locales
from pipeline.language.speech import FIRST_STRONG, POP, Speech, load_speech
from pipeline.symbols import SymbolSet
from pipeline.workspace import shipped

FOLDER = shipped("locales")
LOCALES = load_locales([FOLDER])
CATALOGUES = sorted(FOLDER.glob("*/LC_MESSAGES/*.po"))


def names(text: str) -> set[str]:
    """Its placeholders."""
    return set(re.findall(r"\{(\w+)\}", text))


@pytest.fixture(params=sorted(LOCALES))
def speech(request: pytest.FixtureRequest) -> Speech:
    """Each locale."""
    return load_speech([FOLDER], LOCALES[request.param])


@pytest.mark.parametrize("file", CATALOGUES, ids=lambda file: f"{file.parent.parent.name}-{file.stem}")
def test_msgfmt_takes_it(file: Path) -> None:
    """GNU gettext's own check is content."""
    done = subprocess.run(["msgfmt", "-c", "-o", "/dev/null", file], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(("tag", "number"), [("en", "1,234.5"), ("es", "1234,5"), ("ar", "1,234.5"), ("ja", "1,234.5")])
def test_separators_are_cldr_s(tag: str, number: str) -> None:
    """Unicode CLDR 48: decimal comma in es (grouping from five digits on), point in en, ar and ja."""
    speech = load_speech([FOLDER], LOCALES[tag])
    assert speech.number(Decimal("1234.5")) == number


def test_what_is_filled_in_is_isolated_only_where_it_must() -> None:
    """Unicode UAX #9: values in right-to-left text stand between U+2068 and U+2069."""
    arabic, english = (load_speech([FOLDER], LOCALES[tag]) for tag in ("ar", "en"))
    assert arabic.fill("x {n} y", n="8 mm") == f"x {FIRST_STRONG}8 mm{POP} y"
    assert english.fill("x {n} y", n="8 mm") == "x 8 mm y"


def test_every_count_can_be_said(speech: Speech) -> None:
    """Zero, one, two, few, many: each has a form, with its number in it unless the form is that number's alone."""
    for count in (0, 1, 2, 5, 21, 1000):
        text = speech.fill(speech.npgettext("facts", "{count} ray", "{count} rays", count), count=count)
        assert speech.number(count) in text or count < 3
        assert "{" not in text


def test_scripts_and_directions() -> None:
    """ISO 15924 scripts by CLDR likely subtags; Arabic and Hebrew run from the right."""
    found = {
        tag: (LocaleInfo(tag, "draft").script, LocaleInfo(tag, "draft").direction)
        for tag in ("ar", "he", "ja", "zh-Hans", "es-PY")
    }
    assert found == {
        "ar": ("Arab", "rtl"),
        "he": ("Hebr", "rtl"),
        "ja": ("Jpan", "ltr"),
        "zh-Hans": ("Hans", "ltr"),
        "es-PY": ("Latn", "ltr"),
    }


PLURALS = [message for message in read_catalog(FOLDER / "spokeleaf.pot", "en") if message.id and message.pluralizable]


@pytest.mark.parametrize("message", PLURALS, ids=lambda message: f"{message.context}-{message.id[0][:30]}")
def test_every_plural_message_can_be_said_of_every_count(speech: Speech, message: Message) -> None:
    """Of 0, 1, 2, 5, 21 and 1,000, all braces filled, with the locale's own number in the text of all from three on."""
    one, other = message.id[0], message.id[1]
    for count in (0, 1, 2, 5, 21, 1000):
        text = speech.npgettext(str(message.context), one, other, count)
        said = speech.fill(text, **dict.fromkeys(names(other), count))
        assert "{" not in said
        assert speech.number(count) in said or count < 3


def test_a_fraction_can_be_said(speech: Speech) -> None:
    """A half has the locale's own point, and a measure keeps it."""
    assert re.fullmatch(r"0[.,]5", speech.number(Decimal("0.5")))
    assert speech.number(Decimal("0.5")) in speech.mm(0.5)


def test_there_are_plurals_to_say() -> None:
    """The list above is not empty: rays, rounds, rows, knots, lengths and pins are counted."""
    assert len(PLURALS) >= 6


def test_no_english_short_form_is_one_of_another_craft(symbols: SymbolSet) -> None:
    """As `locale check` asks of every other language: who crochets or knits must not read a stitch of theirs."""
    shorts = {each.texts.short for each in (*symbols.stitches.values(), *symbols.signs.values())}
    assert not shorts & load_glossary([FOLDER], LOCALES["en"]).stitch_names
    assert {"sc", "tr"} <= load_glossary([FOLDER], LOCALES["en"]).stitch_names
