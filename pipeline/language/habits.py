"""Habits of regions: paper, measures, digits. What a ``locale.yaml`` leaves out comes from here.

Paper and measures: Unicode CLDR 48, supplemental/measurementData (Unicode licence v3), which Babel leaves out, as it
does from how many digits on thousands are set apart (minimumGroupingDigits of the same, less three). Digits:
default numbering systems of Babel's CLDR; their signs are those of the Unicode character database.
"""

import unicodedata
from typing import Final

from babel import Locale
from babel.core import get_global

LETTER_REGIONS: Final = frozenset(["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"])
"""Regions whose paper is US Letter; everywhere else it is A4."""
INCH_REGIONS: Final = frozenset({"US", "LR"})
"""Regions that measure in inches; the other two with a system of their own, GB and MM, are metric in this craft."""
GROUPED_FROM: Final = {
    "be": 5, "bg": 5, "ee": 6, "es": 5, "es_419": 4, "et": 5, "hu": 5, "hy": 5, "ia": 5, "ie": 5, "it": 5, "ka": 5,
    "lv": 5, "pl": 5, "pt_AO": 4, "pt_PT": 5, "ru_UA": 5, "sl": 5, "sq": 5,
}  # fmt: skip
"""From how many digits on thousands are set apart; regions do as their parents. Everywhere else from four on."""
ZEROS: Final = {
    "latn": "0", "arab": "\u0660", "arabext": "\u06f0", "deva": "\u0966", "beng": "\u09e6", "guru": "\u0a66",
    "gujr": "\u0ae6", "tamldec": "\u0be6", "telu": "\u0c66", "knda": "\u0ce6", "mlym": "\u0d66", "thai": "\u0e50",
    "laoo": "\u0ed0", "tibt": "\u0f20", "mymr": "\u1040", "khmr": "\u17e0",
}  # fmt: skip
"""The nought of each numbering system; its other digits follow."""
COUNTERS: Final = {
    "arab": "arabic-indic", "arabext": "persian", "deva": "devanagari", "beng": "bengali", "guru": "gurmukhi",
    "gujr": "gujarati", "tamldec": "tamil", "telu": "telugu", "knda": "kannada", "mlym": "malayalam", "thai": "thai",
    "laoo": "lao", "tibt": "tibetan", "mymr": "myanmar", "khmr": "khmer",
}  # fmt: skip
"""CSS names of the same systems (CSS Counter Styles 3), for page numbers; ``decimal`` otherwise."""


def paper_of(locale: Locale) -> str:
    """A region's paper; A4 where no region is named, as most of the world prints on it.

    >>> paper_of(Locale("es", "MX")), paper_of(Locale("es", "PY")), paper_of(Locale("en"))
    ('letter', 'a4', 'a4')
    """
    return "letter" if locale.territory in LETTER_REGIONS else "a4"


def units_of(locale: Locale) -> str:
    """``metric`` or ``inches``.

    >>> units_of(Locale("en", "US")), units_of(Locale("en", "GB")), units_of(Locale("en"))
    ('inches', 'metric', 'metric')
    """
    return "inches" if locale.territory in INCH_REGIONS else "metric"


def digits_of(locale: Locale) -> str:
    """The default numbering system.

    >>> digits_of(Locale("ar", "EG")), digits_of(Locale("ar")), digits_of(Locale("hi"))
    ('arab', 'latn', 'latn')
    """
    system = str(locale.default_numbering_system)
    return system if system in ZEROS else "latn"


def grouped_from(locale: Locale) -> int:
    """From how many digits on the thousands of a number are set apart.

    >>> grouped_from(Locale("es")), grouped_from(Locale("es", "PY")), grouped_from(Locale("en"))
    (5, 4, 4)
    """
    place, elsewhere = str(locale), get_global("parent_exceptions")
    while place and place not in GROUPED_FROM:
        place = elsewhere.get(place) or place.rpartition("_")[0]
    return GROUPED_FROM.get(place, 4)


def native(text: str, system: str) -> str:
    """Western digits in the signs of another system.

    >>> native("1.5", "deva") == "\u0967.\u096b"
    True
    """
    nought = ord(ZEROS[system])
    return text.translate({ord("0") + value: nought + value for value in range(10)})


def western(text: str) -> str:
    """Digits of any system as Western ones."""
    return "".join(str(unicodedata.decimal(c, c)) for c in text)
