"""Colours on the page are told apart, also in grey."""

import pytest

from pipeline.drawing.picture import ACCENT, INK, LINEN, PAPER, QUIET_GLYPH, RULE, SECONDARY


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


def grey(colour: str) -> float:
    """How dark a colour is on a grey copy, in per cent: ITU-R BT.601 luma, 0.299 R + 0.587 G + 0.114 B."""
    red, green, blue = (int(colour[place : place + 2], 16) for place in (1, 3, 5))
    return 100 * (1 - (0.299 * red + 0.587 * green + 0.114 * blue) / 255)


@pytest.mark.parametrize(
    ("colour", "on_white", "as_grey"),
    [
        (INK, 16.6, 88),
        (ACCENT, 7.4, 69),
        (SECONDARY, 8.1, 69),
        (QUIET_GLYPH, 3.1, 42),
        (RULE, 1.7, 21),
        (LINEN, 1.3, 10),
    ],
)
def test_colours_are_those_of_the_design(colour: str, on_white: float, as_grey: float) -> None:
    """Look section 7: contrast on white to a tenth, darkness on a grey copy to a per cent."""
    assert contrast(colour) == pytest.approx(on_white, abs=0.06)
    assert grey(colour) == pytest.approx(as_grey, abs=0.6)


def test_a_grey_copy_still_parts_ink_from_what_is_only_ornament() -> None:
    """Look section 7: whatever says something is at least 40 % grey (the accent 55 %), ornament less than half of that."""
    assert min(grey(colour) for colour in (INK, ACCENT, SECONDARY, QUIET_GLYPH)) > 40
    assert grey(ACCENT) >= 55
    assert max(grey(colour) for colour in (RULE, LINEN)) < 22
    assert grey(PAPER) == pytest.approx(0)
