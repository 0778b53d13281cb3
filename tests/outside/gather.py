"""Gather what other programs and the CLDR itself say of our locales, as data for ``test_outside_locales.py``.

Run by hand where they are at hand, not by the suite::

    python tests/outside/gather.py icu > tests/outside/icu.json      # needs PyICU (PyPI) and the ICU library
    python tests/outside/gather.py cldr FOLDER > tests/outside/cldr.json
        # FOLDER has the unpacked npm packages cldr-core, cldr-numbers-full and cldr-units-full

The data are facts of the Unicode CLDR (Unicode licence v3) for the locales that are shipped, and a few beside them.
"""

import json
import sys
from datetime import UTC, datetime
from pathlib import Path

LOCALES = [
    "en",
    "es",
    "es-PY",
    "pt-BR",
    "fr",
    "it",
    "de",
    "nl",
    "da",
    "sv",
    "hr",
    "pl",
    "uk",
    "ar",
    "ar-EG",
    "he",
    "hi",
    "ja",
    "zh-Hans",
    "fi",
    "en-US",
    "es-MX",
]
UNITS = ("length-millimeter", "length-meter", "mass-gram", "length-inch", "length-yard", "mass-ounce")


def icu_data() -> object:
    """Plural categories, numbers, measures, lists and dates, as the ICU library writes them."""
    import icu  # noqa: PLC0415

    def locale_data(tag: str) -> object:
        locale = icu.Locale.forLanguageTag(tag)
        rules, numbers = icu.PluralRules.forLocale(locale), icu.NumberFormat.createInstance(locale)
        short = icu.MeasureFormat(locale, icu.UMeasureFormatWidth.SHORT)
        units = {
            "length-millimeter": icu.MeasureUnit.createMillimeter(),
            "length-meter": icu.MeasureUnit.createMeter(),
            "mass-gram": icu.MeasureUnit.createGram(),
            "length-inch": icu.MeasureUnit.createInch(),
        }
        day = icu.DateFormat.createDateInstance(icu.DateFormat.kLong, locale)
        day.setTimeZone(icu.TimeZone.getGMT())
        lists = icu.ListFormatter.createInstance(locale)
        return {
            "plurals": [rules.select(count) for count in range(121)],
            "numbers": {str(value): numbers.format(value) for value in (0.25, 7.5, 1234.5, 12345.67)},
            "units": {
                name: {str(value): short.formatMeasure(icu.Measure(value, unit)) for value in (1, 2.5, 12)}
                for name, unit in units.items()
            },
            "lists": [lists.format(items) for items in (["4", "2"], ["5", "3", "4"])],
            "day": day.format(datetime(2026, 3, 14, 12, tzinfo=UTC)),
        }

    return {"source": f"ICU {icu.ICU_VERSION} by PyICU {icu.VERSION}", "locales": {t: locale_data(t) for t in LOCALES}}


def cldr_data(folder: Path) -> object:
    """Plural rules with their samples, number symbols, unit patterns, paper, measures, digits.

    Of every locale there is, beside those of the list: how many digits stand before the first group at least.
    """

    def read(package: str, name: str) -> dict:  # type: ignore[type-arg]
        return json.loads((folder / package / name).read_text(encoding="utf-8"))  # type: ignore[no-any-return]

    def main(package: str, tag: str, name: str) -> dict:  # type: ignore[type-arg]
        for known in (tag, tag.removesuffix("-Hans").removesuffix("-BR").removesuffix("-US")):
            file = folder / package / "main" / known / name
            if file.is_file():
                return read(package, f"main/{known}/{name}")["main"][known]  # type: ignore[no-any-return]
        raise FileNotFoundError(tag)

    plurals = read("cldr-core", "supplemental/plurals.json")["supplemental"]
    measures = read("cldr-core", "supplemental/measurementData.json")["supplemental"]["measurementData"]
    systems = read("cldr-core", "supplemental/numberingSystems.json")["supplemental"]["numberingSystems"]
    locales = {}
    for tag in LOCALES:
        numbers = main("cldr-numbers-full", tag, "numbers.json")["numbers"]
        system = numbers["defaultNumberingSystem"]
        symbols = numbers[f"symbols-numberSystem-{system}"]
        short = main("cldr-units-full", tag, "units.json")["units"]["short"]
        locales[tag] = {
            "plurals": plurals["plurals-type-cardinal"][tag.split("-")[0]],
            "system": system,
            "decimal": symbols["decimal"],
            "group": symbols["group"],
            "least_grouping": numbers["minimumGroupingDigits"],
            "units": {
                unit: {
                    key.removeprefix("unitPattern-count-"): pattern
                    for key, pattern in short[unit].items()
                    if key.startswith("unitPattern-count-")
                }
                for unit in UNITS
            },
        }
    grouping = {}
    for file in (folder / "cldr-numbers-full" / "main").glob("*/numbers.json"):
        tag = file.parent.name
        grouping[tag] = int(main("cldr-numbers-full", tag, "numbers.json")["numbers"]["minimumGroupingDigits"])
    return {
        "source": "Unicode CLDR " + read("cldr-core", "package.json")["version"],
        "paper": measures["paperSize"],
        "measures": measures["measurementSystem"],
        "digits": {name: entry["_digits"] for name, entry in systems.items() if entry["_type"] == "numeric"},
        "grouping": {
            str(least): " ".join(sorted(tag for tag, found in grouping.items() if found == least))
            for least in sorted(set(grouping.values()))
        },
        "locales": locales,
    }


if __name__ == "__main__":
    data = icu_data() if sys.argv[1] == "icu" else cldr_data(Path(sys.argv[2]))
    json.dump(data, sys.stdout, ensure_ascii=False, indent=1, sort_keys=True)
    sys.stdout.write("\n")
