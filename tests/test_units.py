"""Lengths and counts."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.units import (
    Length,
    UnitError,
    parse_count,
    parse_length,
    rounded,
    tenths,
    tex_from_denier,
    tex_from_ne,
    tex_from_nm,
    tex_from_put_up,
)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("12 mm", 12.0),
        ("12mm", 12.0),
        ("1.2 cm", 12.0),
        ("2 m", 2000.0),
        # The inch is 25.4 mm exactly: international yard and pound agreement, 1959.
        ("0.5 in", 12.7),
        ("35%", 14.0),
        ("  7 mm ", 7.0),
    ],
)
def test_a_length_with_a_unit_is_read(text: str, mm: float) -> None:
    """Every unit the design names is read, with or without a space; per cent is of the radius (here 40 mm)."""
    assert parse_length(text).mm(40) == pytest.approx(mm, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "code", "better"),
    [
        ("9,5 mm", "decimal-comma", "9.5 mm"),
        ("9,5", "length-unreadable", None),
        ("15", "unit-missing", "15 mm"),
        ("80 mn", "unit-unknown", None),
        ("12 MM", "unit-unknown", None),
        ("-15 mm", "length-negative", None),
        ("mm", "length-unreadable", None),
        ("", "length-unreadable", None),
        ("1e3 mm", "length-unreadable", None),
        ("nan mm", "length-unreadable", None),
        ("12 mm wide", "length-unreadable", None),
        ("1000000 m", "length-absurd", None),
    ],
)
def test_a_text_that_is_no_length_says_why(text: str, code: str, better: str | None) -> None:
    """Each usual slip has its own code, and where a better text is plain it is offered."""
    with pytest.raises(UnitError) as caught:
        parse_length(text)
    assert caught.value.code == code
    assert caught.value.facts.get("better") == better


@given(number=st.decimals(0, 9999, places=3), unit=st.sampled_from(["mm", "cm", "m", "in", "%"]))
def test_a_length_written_out_is_read_back(number: Decimal, unit: str) -> None:
    """Whatever number and unit are written, they are the ones read."""
    assert parse_length(f"{number:f} {unit}") == Length(float(number), unit)


def test_tex_of_a_cotton_count_is_that_of_the_hank() -> None:
    """One hank is 840 yards and Ne hanks weigh a pound: tex follows within the six digits of the constant.

    Source: definition of the cotton count (840 yd to the pound), yard 0.9144 m and pound 453.59237 g of the
    international agreement of 1959.
    """
    for ne in (1, 6, 14.5, 80):
        grams, metres = Fraction("453.59237"), Fraction(str(ne)) * 840 * Fraction("0.9144")
        assert tex_from_ne(ne) == pytest.approx(float(1000 * grams / metres), rel=1e-6)


def test_counts_of_the_same_thread_agree() -> None:
    """A thread of 20 tex is Nm 50 and 180 denier, and 5 g of it are 250 m.

    Source: definitions: tex is grams in 1,000 m (ISO 1144), denier grams in 9,000 m, Nm metres in a gram.
    """
    assert tex_from_nm(50) == pytest.approx(20)
    assert tex_from_denier(180) == pytest.approx(20)
    assert tex_from_put_up(5, 250) == pytest.approx(20)


def test_metric_and_cotton_count_are_in_their_published_ratio() -> None:
    """Nm = 1.6934 · Ne, as the conversion tables of the trade print it.

    Source: textilelearner.blogspot.com/2012/12, conversion factors.
    """
    assert 1000 / tex_from_ne(1) == pytest.approx(1.6934, abs=5e-5)


@pytest.mark.parametrize(
    "text",
    ["20tex", "20 tex", "tex 20", "Tex20", "200 dtex", "Nm 50", "50nm", "180 denier", "DENIER 180", " 29.52705 Ne "],
)
def test_a_count_is_read_with_its_system_before_or_after_it(text: str) -> None:
    """The same thread in every system, however it is written.

    Source: definitions: tex grams in 1,000 m (ISO 1144), dtex in 10,000 m, denier in 9,000 m, Nm metres in a gram, Ne
    hanks of 840 yards in a pound.
    """
    assert parse_count(text) == pytest.approx(20, rel=1e-6)


@pytest.mark.parametrize(
    "text",
    ["", "20", "tex", "20 mm", "0 tex", "-20 tex", "Ne 20 tex", "20,5 tex", "1e3 tex", "20 tex 3", "nan tex", "٣ tex"],
)
def test_a_text_that_is_no_count_is_refused(text: str) -> None:
    """No number, no system, two systems, nothing at all: refused with an example of what is meant."""
    with pytest.raises(ValueError, match="60tex"):
        parse_count(text)


# Source: conversion tables of the trade as printed at business.vsnl.com/balasubramanian/conversionfactors.html:
# Ne × denier = 5315; and ISO 2947, whose rounded values are not more than 2 % off.
@given(ne=st.integers(1, 200))
def test_cotton_count_times_denier_is_the_published_number(ne: int) -> None:
    """A count of Ne has 5315/Ne denier."""
    assert parse_count(f"{ne} ne") * 9 * ne == pytest.approx(5315, rel=1e-4)


@pytest.mark.parametrize(
    ("value", "places", "printed"),
    [(2.25, 1, "2.3"), (2.35, 1, "2.4"), (-2.25, 1, "-2.3"), (0.5, 0, "1"), (9.0, 1, "9.0"), (0.1 + 0.2, 1, "0.3")],
)
def test_halves_are_rounded_away_from_zero(value: float, places: int, printed: str) -> None:
    """The one rounding rule is the one taught at school, and keeps its zeros."""
    assert str(rounded(value, places)) == printed


def test_a_half_reached_by_arithmetic_is_rounded_like_a_half_written() -> None:
    """0.15 + 0.1, which a machine keeps as a little less than 0.25, prints as 0.3."""
    assert rounded(0.35 - 0.1, 1) == rounded(0.25, 1) == Decimal("0.3")


@given(value=st.integers(0, 10**6))
def test_tenths_are_whole_tenths(value: int) -> None:
    """So many tenths of a millimetre come back as so many."""
    assert tenths(value / 10) == value
