"""All that a page needs to speak one locale: texts, numbers, measures, lists, dates.

Messages hold their values in braces and are filled whole; nothing is glued from pieces. What is filled in is
isolated in right-to-left text (Unicode UAX #9), so that a number keeps its unit and its order. Digits are
those of the locale; in notation and pictures, which are the same for all, they are Western.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Final

from babel import Locale
from babel.dates import format_date
from babel.lists import format_list
from babel.numbers import format_currency, format_decimal

from pipeline.language.catalogue import PLACEHOLDER, Catalogues, load_catalogues
from pipeline.language.habits import grouped_from, native
from pipeline.language.locales import LocaleInfo
from pipeline.units import rounded

PROGRAM, PATTERNS = "spokeleaf", "patterns"
"""Domains of messages: the program's with its symbols', and those of patterns."""

FIRST_STRONG, POP = "\u2068", "\u2069"
NO_BREAK: Final = "\u00a0"
LEFT_TO_RIGHT: Final = "\u2066"

_HEBREW: Final = re.compile(r"\u2068?[\u05d0-\u05ea]")
"""The "and" of Hebrew is joined to a word, and set apart by a hyphen from what is none, as the ICU library does."""

_MM: Final = ("length-millimeter", 1.0, 0)
_INCH: Final = ("length-inch", 25.4, 2)
"""A unit's CLDR id, its size in mm, and the least places it is written with."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """A text with its language, where that is not the page's own."""

    text: str
    lang: str | None = None


@dataclass(frozen=True, slots=True)
class Speech:
    """One locale, ready to speak."""

    locale: LocaleInfo
    program: Catalogues
    patterns: Catalogues

    def pgettext(self, context: str, message: str) -> str:
        """A text of the program in this locale."""
        return self.program.pgettext(context, message)

    def npgettext(self, context: str, one: str, other: str, count: int) -> str:
        """A text of the program in the plural form that ``count`` takes, its ``{count}`` still to be filled."""
        return self.program.npgettext(context, one, other, count)

    def fill(self, message: str, **values: str | int) -> str:
        """Put values into a message's braces; numbers are written by the locale's rules. Raises ``KeyError``."""
        written = {name: self.number(value) if isinstance(value, int) else value for name, value in values.items()}
        return PLACEHOLDER.sub(lambda found: self.isolated(written[found[1]]), message)

    def phrase(self, pattern_id: str, text: str, language: str) -> Phrase:
        """A text of a pattern: translated, or as written with its language."""
        if self.patterns.has(pattern_id, text):
            return Phrase(self.patterns.pgettext(pattern_id, text))
        if language == self.locale.tag:
            return Phrase(text)
        return Phrase(self.isolated(text), language)

    def isolated(self, text: str) -> str:
        """Text that neighbours cannot pull apart or turn round."""
        return f"{FIRST_STRONG}{text}{POP}" if self.locale.direction == "rtl" else text

    def left_to_right(self, text: str) -> str:
        """Text that runs left to right in any locale: figures with a unit, a fraction of pages."""
        return f"{LEFT_TO_RIGHT}{text}{POP}" if self.locale.direction == "rtl" else text

    def number(self, value: float | Decimal) -> str:
        """A number with the locale's separators."""
        written = format_decimal(
            value, locale=self.locale.cldr, group_separator=self._groups(value), numbering_system=self._symbols
        )
        return native(written, self.locale.digits)

    @property
    def _symbols(self) -> str:
        """Whose separators are written; those of Western digits where the locale has none for its own."""
        return self.locale.digits if self.locale.digits in self.locale.cldr.number_symbols else "latn"

    def _groups(self, value: float | Decimal) -> bool:
        """Whether the thousands of a number are set apart."""
        return len(str(abs(int(value)))) >= grouped_from(self.locale.cldr)

    def measure(self, value: float, unit: str, places: int, *, exact: bool = False) -> str:
        """A value rounded to so many places with its unit (a CLDR id: ``length-millimeter``).

        ``exact`` keeps noughts at the end.
        """
        number = rounded(value, places)
        digits = f"{'#,##0' if self._groups(number) else '0'}.{('0' if exact else '#') * places}"
        cldr = self.locale.cldr
        written = format_decimal(number, digits, locale=cldr, numbering_system=self._symbols)
        text = _unit_pattern(cldr, unit, number if exact else number.normalize()).format(written)
        return self.isolated(native(text.replace(" ", NO_BREAK), self.locale.digits))

    def mm(self, value: float, places: int = 1) -> str:
        """A length given in mm, in millimetres or inches, as the reader measures."""
        unit, size, least = _INCH
        return self._measured(value, (*_MM[:2], places), (unit, size, max(least, places)))

    def area(self, width: float, height: float, places: int = 1) -> str:
        """Width by height, both in mm."""
        kinds = {"metric": _MM, "inches": _INCH}
        texts = [
            # Isolated as a whole: an isolate inside would be passed over when its direction is found.
            f"{self.number(rounded(width / size, digits))} × "
            f"{self.measure(height / size, unit, digits).strip(FIRST_STRONG + POP)}"
            for unit, size, least in (kinds[name] for name in self._systems)
            for digits in (max(least, places),)
        ]
        return self.isolated(self._once_or_twice(texts))

    def thickness(self, value: float) -> str:
        """A thread's thickness in mm, to a hundredth: the notation line is read back with it."""
        return self.measure(value, "length-millimeter", 2, exact=True)

    def metres(self, value_mm: float) -> str:
        """A thread's length given in mm, in metres or yards to a tenth."""
        return self._measured(value_mm, ("length-meter", 1000.0, 1), ("length-yard", 914.4, 1))

    def grams(self, value: float) -> str:
        """Grams to a tenth, or ounces to a hundredth."""
        return self._measured(value, ("mass-gram", 1.0, 1), ("mass-ounce", 28.349523125, 2))

    def _measured(self, value: float, metric: tuple[str, float, int], inches: tuple[str, float, int]) -> str:
        """A value in the unit a reader takes, or in both; a unit is its CLDR id, its size and its places."""
        kinds = {"metric": metric, "inches": inches}
        chosen = (kinds[name] for name in self._systems)
        return self._once_or_twice([self.measure(value / size, unit, places) for unit, size, places in chosen])

    @property
    def _systems(self) -> tuple[str, ...]:
        return ("metric", "inches") if self.locale.units == "both" else (self.locale.units,)

    def _once_or_twice(self, texts: Sequence[str]) -> str:
        if len(texts) == 1:
            return texts[0]
        # Translators: the same measure twice, as in 25.4 mm (1 in).
        return self.fill(self.pgettext("units", "{metric} ({inches})"), metric=texts[0], inches=texts[1])

    def listed(self, items: Iterable[str]) -> str:
        """Items with the locale's commas and its "and"."""
        listed = [self.isolated(item) for item in items]
        if self.locale.cldr.language == "he" and len(listed) > 1 and not _HEBREW.match(listed[-1]):
            listed[-1] = f"-{listed[-1]}"
        return format_list(listed, locale=self.locale.cldr)

    def price(self, amount: Decimal, currency: str) -> str:
        """An amount of a currency (ISO 4217), with the places it has."""
        written = format_currency(
            amount, currency, locale=self.locale.cldr, group_separator=self._groups(amount),
            numbering_system=self._symbols,
        )  # fmt: skip
        return self.isolated(native(written, self.locale.digits))

    def day(self, value: date) -> str:
        """A date, written out."""
        return self.isolated(native(format_date(value, format="long", locale=self.locale.cldr), self.locale.digits))

    def short_day(self, value: date) -> str:
        """A date as short as it can be told from any other, for the foot of a page."""
        return self.isolated(native(format_date(value, format="medium", locale=self.locale.cldr), self.locale.digits))

    def language_name(self, tag: str) -> str:
        """What a language is called here."""
        known = LocaleInfo(tag, "source").cldr.get_display_name(self.locale.cldr)
        return str(known or tag)


def _unit_pattern(locale: Locale, unit: str, number: Decimal) -> str:
    """How a locale writes a figure with a unit: in the number's form, or the general one where that has no figure."""
    patterns = locale._data["unit_patterns"][unit]["short"]  # noqa: SLF001  (format_unit would leave the figure out)
    own = str(patterns.get(locale.plural_form(number), ""))
    return own if "{0}" in own else str(patterns["other"])


def load_speech(layers: Iterable[Path], locale: LocaleInfo) -> Speech:
    """Read a locale's catalogues, its parent's among them. Raises ``BrokenCatalogue``."""
    folders = tuple(layers)
    return Speech(locale, load_catalogues(folders, locale, PROGRAM), load_catalogues(folders, locale, PATTERNS))
