"""What somebody who begins a pattern asks for, and the readers of her answers.

A reader takes what was typed and gives what is meant, or raises ``Unclear`` with words that help; so the same answer is
judged alike whether it was asked for or given as an option.
"""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from pipeline.fields import ID_SHAPE, TAG_SHAPE
from pipeline.problems import RULES, nearest
from pipeline.records import FIBRES
from pipeline.source import UNPRINTABLE, is_closed
from pipeline.units import Length, UnitError, parse_count, parse_length

FEWEST, MOST = 12, 240
"""Pins of a new pattern; a file may have others later."""
SMALLEST_MM, LARGEST_MM = 20.0, 1000.0
"""Measures of its loom."""
FINEST_TEX, THICKEST_TEX = 1.0, 5000.0
LONGEST_TEXT: Final = 120
LONGEST_ID: Final = 60

_BALL: Final = re.compile(r"([0-9]{1,6}(?:\.[0-9]{1,3})?)\s*m\s*[/,]?\s*([0-9]{1,6}(?:\.[0-9]{1,3})?)\s*g")
_COUNT: Final = re.compile(r"([a-z]*)\s*([0-9.]+)\s*([a-z]*)")
_KEYS: Final = ("tex", "ne", "nm", "denier")
_UNSEEN: Final = frozenset({"Cc", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Categories of characters that stand in no line of text."""
_SPELLED: Final = str.maketrans({
    "ß": "ss", "ø": "o", "ł": "l", "đ": "d", "æ": "ae", "œ": "oe", "þ": "th", "ð": "d", "ı": "i",
})  # fmt: skip
"""Small letters that Unicode takes to no letters of ASCII, as they are spelled in addresses."""


class Unclear(ValueError):
    """An answer that cannot be used; its words say why and what could be."""


@dataclass(frozen=True, slots=True)
class Wish:
    """A pattern to begin."""

    id: str
    title: str
    language: str
    day: date
    measures: Mapping[str, Length]
    pins: int
    fibre: str
    weight: Mapping[str, str]
    """How thick the thread is, as keys and numbers of a pattern file."""
    colour: str
    colour_name: str


def line_of(text: str) -> str:
    """A line of text.

    >>> line_of(" Sea Foam ")
    'Sea Foam'
    """
    found = unicodedata.normalize("NFC", text).strip()
    if not found:
        raise Unclear("nothing is written here")
    unseen = any(unicodedata.category(character) in _UNSEEN for character in found)
    if unseen or UNPRINTABLE.search(found) or not is_closed(found):
        raise Unclear("there are characters in it that cannot be written in a line")
    if len(found) > LONGEST_TEXT:
        raise Unclear(f"{len(found)} characters are too many; at most {LONGEST_TEXT}")
    return found


def id_of(text: str) -> str:
    """An id, which is a file's name too."""
    found = text.strip()
    if not re.fullmatch(ID_SHAPE, found) or len(found) > LONGEST_ID:
        what = f"`{text}` is no id" if found else "nothing is written here"
        raise Unclear(f"{what}: at most {LONGEST_ID} small letters, digits and single hyphens, like sea-foam")
    return found


def id_from(title: str) -> str | None:
    """The id that a title suggests, if its letters are of the Latin script.

    >>> id_from("Écume de Mer!"), id_from("Große Œuvre"), id_from("雪")
    ('ecume-de-mer', 'grosse-oeuvre', None)
    """
    spelled = title.lower().translate(_SPELLED)
    plain = unicodedata.normalize("NFKD", spelled).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain)[:LONGEST_ID].strip("-") or None


def language_of(text: str) -> str:
    """A language tag."""
    found = text.strip()
    if not re.fullmatch(TAG_SHAPE, found):
        raise Unclear(f"`{text}` is no language tag; write it like en, es, pt-BR or zh-Hans")
    return found


def measure_of(text: str) -> Length:
    """A measure of a loom."""
    try:
        length = parse_length(text)
    except UnitError as error:
        rule = RULES[error.code]
        raise Unclear(f"{rule.message.format(**error.facts)}; {rule.hint.format(**error.facts)}") from error
    if length.unit == "%" or not SMALLEST_MM <= length.mm(0) <= LARGEST_MM:
        raise Unclear(f"a loom measures from {SMALLEST_MM:g} mm to {LARGEST_MM:g} mm, and `{text}` is no such length")
    return length


def pins_of(text: str, divisor: int) -> int:
    """A number of pins that divides by ``divisor``."""
    found = text.strip()
    if not re.fullmatch("[0-9]{1,4}", found) or not FEWEST <= int(found) <= MOST:
        raise Unclear(f"`{text}` is no number of pins from {FEWEST} to {MOST}")
    pins = int(found)
    if pins % divisor:
        fewer = max(pins // divisor, -(-FEWEST // divisor)) * divisor
        more = min(pins // divisor + 1, MOST // divisor) * divisor
        near = f"{fewer} or {more}" if fewer != more else str(fewer)
        raise Unclear(f"{pins} pins do not divide by {divisor}; take {near}")
    return pins


def fibre_of(text: str) -> str:
    """What a thread is made of."""
    found = text.strip().lower()
    if found not in FIBRES:
        raise Unclear(f"`{text}` is none of {', '.join(FIBRES)}; {nearest(found, FIBRES)}")
    return found


def weight_of(text: str) -> Mapping[str, str]:
    """How thick a thread is, by its count or by the metres and grams of its ball, as keys of a pattern file.

    >>> weight_of("83.3 tex"), weight_of("Ne 10"), weight_of("120 m / 10 g")
    ({'tex': '83.3'}, {'ne': '10'}, {'metres': '120', 'grams': '10'})
    """
    ball = _BALL.fullmatch(text.strip())
    if ball and float(ball[1]) and float(ball[2]):
        _within(1000 * float(ball[2]) / float(ball[1]), text)
        return {"metres": ball[1], "grams": ball[2]}
    try:
        tex = parse_count(text)
    except ValueError as error:
        raise Unclear(f"`{text}` is no thickness; write it like 83.3 tex, Ne 10, Nm 16 or 120 m / 10 g") from error
    _within(tex, text)
    written = _COUNT.fullmatch(text.strip().lower())
    before, number, after = written.groups() if written else ("", "", "")
    key = before or after
    return {key: number} if key in _KEYS else {"tex": f"{tex:g}"}


def weight_spelled(weight: Mapping[str, str]) -> str:
    """How thick a thread is, as it would be typed.

    >>> weight_spelled({"tex": "83.3"}), weight_spelled({"metres": "120", "grams": "10"})
    ('83.3 tex', '120 m / 10 g')
    """
    if "metres" in weight:
        return f"{weight['metres']} m / {weight['grams']} g"
    return " and ".join(f"{number} {key}" for key, number in weight.items())


def _within(tex: float, text: str) -> None:
    if not FINEST_TEX <= tex <= THICKEST_TEX:
        raise Unclear(f"`{text}` is {tex:.4g} tex; threads from {FINEST_TEX:g} to {THICKEST_TEX:g} tex can be worked")


def colour_of(text: str) -> str:
    """A colour as six digits, with # or without.

    >>> colour_of("1B4F72")
    '#1b4f72'
    """
    found = text.strip().lower().removeprefix("#")
    if not re.fullmatch("[0-9a-f]{6}", found):
        raise Unclear(f"`{text}` is no colour; write six digits, red, green, blue: 1b4f72")
    return f"#{found}"
