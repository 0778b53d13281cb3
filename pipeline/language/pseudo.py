"""Pseudo-locales: English made half as long again with accents, or turned to run right to left, to try layouts with.

They are found by name, never listed, and no leaflet in them is meant for readers. Values in braces stay.
"""

import gettext
import re
from typing import Final

_ACCENTS: Final = str.maketrans(
    "AaCcDdEeGgHhIiKkLlNnOoRrSsTtUuWwYyZz", "ÅåÇçÐðÉéĞğĤĥÎîĶķĻļÑñÖöŔŕŠšŢţÛûŴŵÝýŽž"
)  # fmt: skip
_PIECES: Final = re.compile(r"(\{\w+\})")
_LONGER: Final = re.compile(r"[aeiou]")
OVERRIDE: Final = "\u202e"
POP: Final = "\u202c"


def accented(text: str) -> str:
    """Longer by doubled vowels, every letter accented.

    >>> accented("Pins: {count}")
    'Pîîñš: {count}'
    """
    pieces = _PIECES.split(text)
    return "".join(
        piece if number % 2 else _LONGER.sub(lambda found: found[0] * 2, piece).translate(_ACCENTS)
        for number, piece in enumerate(pieces)
    )


def turned(text: str) -> str:
    """Letters that run from right to left."""
    pieces = _PIECES.split(text)
    return "".join(
        piece if number % 2 or not piece.strip() else f"{OVERRIDE}{piece}{POP}" for number, piece in enumerate(pieces)
    )


class PseudoTranslations(gettext.NullTranslations):
    """A translation for every message there is."""

    def __init__(self, kind: str) -> None:
        super().__init__()
        self.change = {"accent": accented, "mirror": turned}[kind]

    def pgettext(self, context: str, message: str) -> str:
        """The message, changed."""
        return self.change(super().pgettext(context, message))

    def npgettext(self, context: str, msgid1: str, msgid2: str, n: int) -> str:
        """The message in the English form of ``n``, changed."""
        return self.change(super().npgettext(context, msgid1, msgid2, n))
