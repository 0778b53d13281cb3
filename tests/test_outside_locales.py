"""Our locales against the ICU library and the CLDR itself (``tests/outside``, made by ``gather.py`` there).

Where Babel's edition of the CLDR (47), the ICU's (42) and the CLDR's own files (48) differ, it is said by name, and the
difference is tested: it must be there.
"""

import json
import re
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from babel import Locale
from babel.localedata import locale_identifiers

from pipeline.language.habits import COUNTERS, INCH_REGIONS, LETTER_REGIONS, ZEROS, grouped_from, native, western
from pipeline.language.locales import LocaleInfo
from pipeline.language.plurals import COUNTED, form_chooser, plural_forms, plural_tags
from pipeline.language.speech import Speech, load_speech
from pipeline.workspace import shipped

HERE = Path(__file__).parent / "outside"
ICU: dict[str, Any] = json.loads((HERE / "icu.json").read_text(encoding="utf-8"))
CLDR: dict[str, Any] = json.loads((HERE / "cldr.json").read_text(encoding="utf-8"))
TAGS = sorted(ICU["locales"])
UNITS = ("length-millimeter", "length-meter", "mass-gram", "length-inch")


@cache
def spoken(tag: str) -> Speech:
    """A locale, whether it is shipped or not."""
    return load_speech([shipped("locales")], LocaleInfo(tag, "draft"))


def plain(text: str) -> str:
    """Without isolates, and with common spaces."""
    return re.sub("[\u00a0\u202f]", " ", re.sub("[\u2066-\u2069\u200e\u200f\u061c]", "", text))


@pytest.mark.parametrize("tag", TAGS)
def test_plural_categories_are_those_of_icu(tag: str) -> None:
    """ICU, PluralRules.select, for 0 to 120."""
    rule = LocaleInfo(tag, "draft").cldr.plural_form
    assert [rule(count) for count in range(121)] == ICU["locales"][tag]["plurals"]


@pytest.mark.parametrize("tag", TAGS)
def test_plural_categories_are_those_of_the_samples_in_the_cldr(tag: str) -> None:
    """CLDR 48, supplemental/plurals: every whole number it gives as a sample of a rule."""
    locale, seen = LocaleInfo(tag, "draft"), 0
    for name, rule in CLDR["locales"][tag]["plurals"].items():
        category = name.removeprefix("pluralRule-count-")
        samples = re.search(r"@integer ([^@]*)", rule)
        for sample in (samples[1] if samples else "").split(","):
            ends = re.fullmatch(r"(\d+)(?:~(\d+))?", sample.strip())
            for count in range(int(ends[1]), int(ends[2] or ends[1]) + 1) if ends else ():
                assert locale.cldr.plural_form(count) == category, count
                assert category in plural_tags(locale) or count >= 1000
                seen += 1
    assert seen > 10


@pytest.mark.parametrize("tag", TAGS)
def test_the_head_of_a_catalogue_counts_as_the_cldr_does(tag: str) -> None:
    """The gettext expression we write picks the form with the CLDR's name for every count below a thousand."""
    locale = LocaleInfo(tag, "draft")
    head = re.fullmatch(r"nplurals=(\d); plural=(.*);", plural_forms(locale))
    assert head
    names, chosen = plural_tags(locale), form_chooser(head[2])
    assert int(head[1]) == len(names)
    assert [names[chosen(count)] for count in range(121)] == ICU["locales"][tag]["plurals"]
    assert [names[chosen(count)] for count in COUNTED] == [locale.cldr.plural_form(count) for count in COUNTED]


FOUR_DIGITS = (
    "ICU's older DecimalFormat takes no notice of minimumGroupingDigits (decimfmt.h); the CLDR groups from five"
)
ARABIC = "Arabic digits in CLDR 42, Western ones since"
NUMBERS_DIFFER = {
    **{(tag, "1234.5"): FOUR_DIGITS for tag in ("es", "it", "pl")},
    **{("ar", value): ARABIC for value in ("0.25", "7.5", "1234.5", "12345.67")},
}
"""What ICU writes otherwise, and why."""


@pytest.mark.parametrize("tag", TAGS)
@pytest.mark.parametrize("value", ["0.25", "7.5", "1234.5", "12345.67"])
def test_numbers_are_written_as_icu_does(tag: str, value: str) -> None:
    """Decimal mark, groups from four or five digits on, native digits in ar-EG."""
    wanted = plain(ICU["locales"][tag]["numbers"][value])
    same = plain(spoken(tag).number(Decimal(value))) == wanted
    assert same != ((tag, value) in NUMBERS_DIFFER), wanted


@pytest.mark.parametrize("tag", TAGS)
def test_separators_are_the_cldr_s(tag: str) -> None:
    """CLDR 48: decimal mark, group mark, and from how many digits on groups are set apart."""
    entry = CLDR["locales"][tag]
    written = plain(spoken(tag).number(Decimal("1234567.5")))
    digits = LocaleInfo(tag, "draft").digits
    assert digits == entry["system"]
    assert native("1234567.5", digits).replace(".", entry["decimal"]) == written.replace(plain(entry["group"]), "", 2)
    least = int(entry["least_grouping"])
    assert (plain(entry["group"]) in plain(spoken(tag).number(1234))) == (least == 1)


def test_groups_begin_where_the_cldr_says_in_every_locale() -> None:
    """CLDR 48, minimumGroupingDigits, of all locales that Babel knows; one that the CLDR leaves out is as its language."""
    least = {tag: int(count) for count, tags in CLDR["grouping"].items() for tag in tags.split()}
    known = {str(identifier).replace("_", "-") for identifier in locale_identifiers()}
    found = {tag: grouped_from(Locale.parse(tag, sep="-")) for tag in sorted(known & set(least))}
    assert found == {tag: 3 + least[tag] for tag in found}
    assert len(found) > 600
    assert grouped_from(Locale("es", "ES")) == grouped_from(Locale("ka", "GE")) == 5


NO_FIGURE = "the CLDR writes the unit alone; a leaflet always has the figure"
UNITS_DIFFER = {
    **{("ar", unit, value): ARABIC for unit in UNITS for value in ("1", "2.5", "12")},
    **{("ar-EG", unit, "1"): NO_FIGURE for unit in ("length-meter", "mass-gram")},
    **{("he", unit, "1"): "the unit stands first in CLDR 42" for unit in ("length-millimeter", "mass-gram")},
}
"""What ICU writes otherwise, and why."""


@pytest.mark.parametrize("tag", TAGS)
@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("value", ["1", "2.5", "12"])
def test_measures_are_written_as_icu_does(tag: str, unit: str, value: str) -> None:
    """ICU, MeasureFormat SHORT: figure and unit in the locale's order, the unit in the form that the figure takes."""
    wanted = plain(ICU["locales"][tag]["units"][unit][value])
    same = plain(spoken(tag).measure(float(value), unit, 1)) == wanted
    assert same != ((tag, unit, value) in UNITS_DIFFER), wanted


@pytest.mark.parametrize("tag", TAGS)
def test_measures_are_written_as_the_cldr_says(tag: str) -> None:
    """CLDR 48, short unit patterns, of yards and ounces too; never the unit without its figure, as in Arabic for one."""
    for unit, patterns in CLDR["locales"][tag]["units"].items():
        for value in (Decimal(1), Decimal(2), Decimal("2.5"), Decimal(12), Decimal(100)):
            own = patterns.get(LocaleInfo(tag, "draft").cldr.plural_form(value), "")
            pattern = own if "{0}" in own else patterns["other"]
            written = plain(pattern).replace("{0}", plain(spoken(tag).number(value)))
            assert plain(spoken(tag).measure(float(value), unit, 1)) == written


@pytest.mark.parametrize("tag", TAGS)
def test_lists_are_written_as_icu_does(tag: str) -> None:
    """ICU, ListFormatter: two and three figures, with the Hebrew hyphen before what is no word."""
    found = [plain(spoken(tag).listed(items)) for items in (["4", "2"], ["5", "3", "4"])]
    assert found == [plain(text) for text in ICU["locales"][tag]["lists"]]


@pytest.mark.parametrize("tag", TAGS)
def test_days_are_written_as_icu_does(tag: str) -> None:
    """ICU, DateFormat LONG, 14 March 2026; its older edition has Arabic digits in ar."""
    wanted = plain(ICU["locales"][tag]["day"])
    assert plain(spoken(tag).day(date(2026, 3, 14))) == (western(wanted) if tag == "ar" else wanted)


def test_paper_and_measures_are_the_cldr_s() -> None:
    """CLDR 48, supplemental/measurementData."""
    assert {region for region, paper in CLDR["paper"].items() if paper == "US-Letter"} == LETTER_REGIONS
    assert {region for region, system in CLDR["measures"].items() if system == "US"} == INCH_REGIONS


def test_digits_are_the_cldr_s() -> None:
    """CLDR 48, supplemental/numberingSystems; each has a name in CSS but the Western ones."""
    assert {name: native("0123456789", name) for name in ZEROS} == {name: CLDR["digits"][name] for name in ZEROS}
    assert set(COUNTERS) == set(ZEROS) - {"latn"}
