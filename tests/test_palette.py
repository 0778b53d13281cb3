"""Colours on the page are told apart, also in grey."""

import pytest

from pipeline.drawing.picture import ACCENT, INK, QUIET_GLYPH, SECONDARY


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(colour: str) -> float:
    """Contrast on white, WCAG 2.2: (L1 + 0.05) / (L2 + 0.05)."""
    return 1.05 / (luminance(colour) + 0.05)


@pytest.mark.parametrize("colour", [INK, ACCENT, SECONDARY])
def test_text_stands_out(colour: str) -> None:
    """WCAG 2.2, 1.4.3: text at least 4.5 to 1."""
    assert contrast(colour) >= 4.5


def test_glyphs_in_the_foot_stand_out() -> None:
    """WCAG 2.2, 1.4.11: graphics at least 3 to 1."""
    assert contrast(QUIET_GLYPH) >= 3


def test_the_formula_is_the_standard_s() -> None:
    """WCAG 2.2: black on white is 21 to 1; #767676 is the lightest grey that passes 4.5 (common practice, no source)."""
    assert contrast("#000000") == pytest.approx(21)
    assert contrast("#767676") >= 4.5 > contrast("#777777")
