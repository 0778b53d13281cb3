"""Figures: their size, their advance, one letter drawn once."""

import pytest

from pipeline.drawing.lettering import centred, letters, outline, width, written
from pipeline.drawing.outline import MM_PER_PT
from pipeline.language.fonts import find_fonts

REGULAR = find_fonts("Latn", ()).files[0].path


def test_figures_have_the_size_asked_for() -> None:
    """Noto Sans figures are 0.714 em high (font metrics): 10 pt gives 2.52 mm, on the baseline."""
    box = outline(written("1", size_pt=10, font=REGULAR)).get_extents()
    assert box.y0 == pytest.approx(0, abs=0.02)
    assert box.y1 == pytest.approx(0.714 * 10 * 25.4 / 72, abs=0.03)
    assert pytest.approx(0.3528, abs=1e-4) == MM_PER_PT


def test_more_figures_are_wider() -> None:
    """Tabular figures: three take an advance (0.572 em) each more than one; nothing has no width."""
    one, three = (width(written(words, size_pt=10, font=REGULAR)) for words in ("8", "888"))
    assert three - one == pytest.approx(2 * 0.572 * 10 * 25.4 / 72, abs=0.02)
    assert width(written("", size_pt=10, font=REGULAR)) == 0.0


def test_a_letter_is_drawn_once() -> None:
    """The same layer wherever the figure stands and however large; a blank has none, and takes room."""
    first, second = ([layer for layer, _ in letters(written("1 1", size_pt=size, font=REGULAR))] for size in (7, 9))
    assert [layer.id for layer in first] == [layer.id for layer in second]
    assert len(first) == 2
    assert all(layer is first[0] for layer in (*first, *second))


def test_words_stand_in_the_middle_of_their_place() -> None:
    """Ink as far to the left as to the right, as far up as down."""
    box = outline(centred(written("20 mm", size_pt=9, font=REGULAR), 5.0, 7.0)).get_extents()
    assert ((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2) == pytest.approx((5.0, 7.0))
