"""Lengths and thread counts: text in, millimetres and tex out, and the one rounding rule.

Lengths in a pattern file are text with a unit; ``%`` is of the loom's shortest radius. Everything after
this module is in millimetres, tex and radians.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

MILLIMETRES: Final = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
"""Millimetres in one of each unit; the inch is exact (international yard and pound agreement, 1959)."""

LONGEST_MM: Final = 10_000_000.0
"""Ten kilometres: more thread than any piece takes, so a slip of the unit."""

_LENGTH: Final = re.compile(r"([0-9]{1,9}(?:\.[0-9]{1,9})?)\s*([^\s0-9.,]+)?")

TEX_PER_NE: Final = 590.541
"""Tex times cotton count: 10⁶ · 0.45359237 kg / (840 yd · 0.9144 m), the definition of the hank."""


class UnitError(ValueError):
    """A text that is no length; ``code`` and ``facts`` are those of a problem."""

    def __init__(self, code: str, **facts: object) -> None:
        super().__init__(code)
        self.code = code
        self.facts = facts


@dataclass(frozen=True, slots=True)
class Length:
    """A length as written."""

    value: float
    unit: str

    def mm(self, radius_mm: float) -> float:
        """Millimetres, with ``%`` of ``radius_mm``."""
        if self.unit == "%":
            return self.value / 100 * radius_mm
        return self.value * MILLIMETRES[self.unit]


def parse_length(text: str) -> Length:
    """Read a length.

    >>> parse_length("1.2 cm")
    Length(value=1.2, unit='cm')
    >>> parse_length("12mm").mm(0)
    12.0
    >>> parse_length("35%").mm(40)
    14.0

    Raises ``UnitError``.
    """
    written = text.strip()
    match = _LENGTH.fullmatch(written)
    if match is None:
        comma = re.fullmatch(r"([0-9]+),([0-9]+)\s*(\S+)", written)
        if comma:
            raise UnitError("decimal-comma", written=text, better="{}.{} {}".format(*comma.groups()))
        if re.fullmatch(r"-\s*[0-9.]+\s*\S*", written):
            raise UnitError("length-negative", written=text)
        raise UnitError("length-unreadable", written=text)
    number, unit = match.groups()
    if unit is None:
        raise UnitError("unit-missing", written=text, better=f"{number} mm")
    if unit != "%" and unit not in MILLIMETRES:
        raise UnitError("unit-unknown", written=text, unit=unit)
    length = Length(float(number), unit)
    if length.mm(100.0) > LONGEST_MM:
        raise UnitError("length-absurd", written=text)
    return length


def tex_from_ne(ne: float) -> float:
    """Tex of a cotton count.

    >>> round(tex_from_ne(10), 4)
    59.0541
    """
    return TEX_PER_NE / ne


def tex_from_nm(nm: float) -> float:
    """Tex of a metric count: metres in a gram.

    >>> tex_from_nm(50)
    20.0
    """
    return 1000 / nm


def tex_from_denier(denier: float) -> float:
    """Tex of grams in 9,000 m.

    >>> tex_from_denier(180)
    20.0
    """
    return denier / 9


_COUNT: Final = re.compile(
    r"(?:(?P<before>[A-Za-z]+)\s*)?(?P<number>[0-9]{1,7}(?:\.[0-9]{1,6})?)\s*(?P<after>[A-Za-z]+)?"
)


def parse_count(text: str) -> float:
    """Tex of a thread count written with its system, before or after the number.

    >>> parse_count("60tex"), parse_count("Nm 50"), parse_count("180 denier")
    (60.0, 20.0, 20.0)

    Raises ``ValueError``.
    """
    match = _COUNT.fullmatch(text.strip())
    before, number, after = match.groups() if match else (None, "0", None)
    system = (before or after or "").lower()
    if system not in _TEX or (before and after) or float(number) == 0:
        raise ValueError(f"`{text}` is no thread count; write it like 60tex, 10ne, 16nm or 540denier")
    return _TEX[system](float(number))


def tex_from_put_up(grams: float, metres: float) -> float:
    """Tex of a ball of so many grams and metres.

    >>> tex_from_put_up(10, 120)
    83.33333333333333
    """
    return 1000 * grams / metres


_TEX: Final[Mapping[str, Callable[[float], float]]] = {
    "tex": float, "dtex": lambda dtex: dtex / 10, "ne": tex_from_ne, "nm": tex_from_nm, "denier": tex_from_denier,
}  # fmt: skip
"""Systems of thread counts; ISO 1144 has tex, the others are of the trade."""


def rounded(value: float, places: int) -> Decimal:
    """``value`` to so many decimal places, halves away from zero: the rule for every printed number.

    >>> rounded(2.25, 1), rounded(9.0, 1)
    (Decimal('2.3'), Decimal('9.0'))
    """
    # Twelve digits first, so that 2.25 reached by arithmetic is the 2.25 a person would compute.
    exact = Decimal(f"{value:.12g}")
    return exact.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)


def tenths(value_mm: float) -> int:
    """Whole tenths of a millimetre, by the same rule.

    >>> tenths(8.588)
    86
    """
    return int(rounded(value_mm, 1) * 10)
