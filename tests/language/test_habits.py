"""Habits of regions: paper, measures, digits and groups, from the CLDR or from the locale's own file."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from babel import Locale

from pipeline.language.habits import COUNTERS, ZEROS, digits_of, grouped_from, native, paper_of, units_of, western
from pipeline.language.locales import BrokenLocale, LocaleInfo, load_locales
from pipeline.language.speech import FIRST_STRONG, POP, Speech, load_speech
from pipeline.workspace import shipped

FOLDER = shipped("locales")


def spoken(tag: str, *, units: str | None = None, digits: str | None = None) -> Speech:
    """A locale with habits of its own."""
    return load_speech([FOLDER], replace(LocaleInfo(tag, "draft"), own_units=units, own_digits=digits))


def plain(text: str) -> str:
    """Without isolates, with common spaces."""
    return text.replace(FIRST_STRONG, "").replace(POP, "").replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("tag", "paper", "units"),
    [
        ("en", "a4", "metric"),
        ("en_US", "letter", "inches"),
        ("en_GB", "a4", "metric"),
        ("en_CA", "letter", "metric"),
        ("es_MX", "letter", "metric"),
        ("es_PY", "a4", "metric"),
        ("en_LR", "a4", "inches"),
        ("my_MM", "a4", "metric"),
        ("zh_Hans", "a4", "metric"),
    ],
)
def test_a_region_has_its_paper_and_its_measures(tag: str, paper: str, units: str) -> None:
    """CLDR 48, supplemental/measurementData: Letter in the Americas' north, inches in US and LR; no region, no Letter."""
    locale = Locale.parse(tag)
    assert (paper_of(locale), units_of(locale)) == (paper, units)


@pytest.mark.parametrize(
    ("tag", "system"),
    [("ar_EG", "arab"), ("ar", "latn"), ("fa", "arabext"), ("bn", "beng"), ("mr", "deva"), ("hi", "latn")],
)
def test_a_region_has_its_digits(tag: str, system: str) -> None:
    """CLDR 48, defaultNumberingSystem: Hindi and Arabic in general write Western digits, Marathi and Egypt do not."""
    assert digits_of(Locale.parse(tag)) == system


def test_what_a_file_says_goes_before_the_region_s_habit(tmp_path: Path) -> None:
    """Paper, units and digits of ``locale.yaml``; what it leaves out is the CLDR's."""
    for name, own in (("es_MX", "paper: a5\nunits: both\ndigits: latn\n"), ("ar_EG", "units: inches\n")):
        (tmp_path / name).mkdir()
        text = f"locale: {name.replace('_', '-')}\nstatus: draft\n{own}"
        (tmp_path / name / "locale.yaml").write_text(text, encoding="utf-8")
    found = load_locales([tmp_path])
    assert [(info.paper, info.units, info.digits) for info in found.values()] == [
        ("a4", "inches", "arab"),
        ("a5", "both", "latn"),
    ]


@pytest.mark.parametrize("line", ["paper: a3", "units: feet", "digits: roman"])
def test_a_habit_nobody_has_is_told(tmp_path: Path, line: str) -> None:
    """A paper, a unit or digits that are not known: at the value, in the third line."""
    (tmp_path / "es").mkdir()
    (tmp_path / "es" / "locale.yaml").write_text(f"locale: es\nstatus: draft\n{line}\n", encoding="utf-8")
    with pytest.raises(BrokenLocale) as caught:
        load_locales([tmp_path])
    place = line.index(" ") + 2
    assert [(p.code, p.span.line, p.span.column) for p in caught.value.problems] == [("not-one-of", 3, place)]


@pytest.mark.parametrize("system", sorted(ZEROS))
def test_digits_go_there_and_back(system: str) -> None:
    """Ten signs, none twice; letters, points and signs stay."""
    there = native("0123456789 mm, 1.5", system)
    assert len(set(there[:10])) == 10
    assert western(there) == "0123456789 mm, 1.5"
    assert (there == "0123456789 mm, 1.5") == (system == "latn")


def test_page_numbers_have_the_same_digits() -> None:
    """CSS Counter Styles 3, ready-made: the names of those that are plain digits."""
    ready = {"arabic-indic", "bengali", "devanagari", "gujarati", "gurmukhi", "kannada", "khmer", "lao", "malayalam"}
    ready |= {"myanmar", "persian", "tamil", "telugu", "thai", "tibetan"}
    assert set(COUNTERS.values()) == ready


@pytest.mark.parametrize(
    ("tag", "digits", "number", "length", "day"),
    [
        ("ar-EG", None, "١٬٢٣٤٫٥", "٨٫٣ مم", "١٤ مارس ٢٠٢٦"),
        ("ar-EG", "latn", "1,234.5", "8.3 مم", "14 مارس 2026"),
        ("hi", "deva", "१,२३४.५", "८.३ मि॰मी॰", "१४ मार्च २०२६"),
        ("en", "thai", "๑,๒๓๔.๕", "๘.๓ mm", "March ๑๔, ๒๐๒๖"),
    ],
)
def test_numbers_measures_and_days_have_the_locale_s_digits(
    tag: str, digits: str | None, number: str, length: str, day: str
) -> None:
    """CLDR 48: Egypt has U+066B and U+066C beside its digits; Western ones can be had; separators stay where a locale has no others."""
    speech = spoken(tag, digits=digits)
    assert plain(speech.number(Decimal("1234.5"))) == number
    assert plain(speech.mm(8.25)) == length
    assert plain(speech.day(date(2026, 3, 14))) == day


def test_a_number_in_a_text_has_them_too() -> None:
    """Whole numbers that fill braces are written as all others; texts that fill them stay."""
    assert plain(spoken("ar-EG").fill("{count} {name}", count=1234, name="S 12")) == "١٬٢٣٤ S 12"


def test_lengths_are_had_in_millimetres_inches_or_both() -> None:
    """By hand: 25.4 mm are 1 in, 50 mm are 1.97 in, 36 in are a yard; an ounce is 28.35 g."""
    metric, inches, both = (spoken("en", units=units) for units in ("metric", "inches", "both"))
    assert [plain(speech.mm(50)) for speech in (metric, inches, both)] == ["50 mm", "1.97 in", "50 mm (1.97 in)"]
    assert [plain(speech.metres(9144)) for speech in (metric, inches, both)] == ["9.1 m", "10 yd", "9.1 m (10 yd)"]
    assert [plain(speech.grams(56.7)) for speech in (metric, inches, both)] == ["56.7 g", "2 oz", "56.7 g (2 oz)"]
    assert plain(both.area(25.4, 50.8)) == "25.4 × 50.8 mm (1 × 2 in)"


def test_a_thickness_is_always_in_millimetres() -> None:
    """The notation line is read back with it, so it has one unit everywhere."""
    assert {plain(spoken("en", units=units).thickness(0.297)) for units in ("metric", "inches", "both")} == {"0.30 mm"}


def test_both_measures_are_said_in_the_locale_s_words() -> None:
    """Each is isolated in text that runs from the right, and both together."""
    text = spoken("ar", units="both").mm(25.4)
    assert plain(text) == "25.4 مم (1 بوصة)"
    assert text.count(FIRST_STRONG) == text.count(POP) == 4


@pytest.mark.parametrize(
    ("tag", "first", "four", "five"),
    [
        ("ka", 5, "1234", "12 345"),
        ("pl", 5, "1234", "12 345"),
        ("es-PY", 4, "1.234", "12.345"),
        ("es", 5, "1234", "12.345"),
    ],
)
def test_thousands_are_set_apart_as_the_locale_does(tag: str, first: int, four: str, five: str) -> None:
    """CLDR 48, minimumGroupingDigits: two in ka, pl and es, one in es-PY; numbers and measures alike."""
    speech = spoken(tag)
    assert grouped_from(speech.locale.cldr) == first
    assert [plain(speech.number(value)) for value in (1234, 12345)] == [four, five]
    assert [plain(speech.mm(value)).rpartition(" ")[0] for value in (1234, 12345)] == [four, five]
