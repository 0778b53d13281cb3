"""Booklets: pages in the order in which folded sheets are read, at their size."""

import io

import numpy as np
import pikepdf
import pypdfium2 as pdfium
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.booklet import SIDES, impose, order

MM = 72 / 25.4


def leaflet(pages: int) -> bytes:
    """Blank pages of A5, each with a square whose place tells its number."""
    with pikepdf.new() as pdf:
        for number in range(pages):
            pdf.add_blank_page(page_size=(148 * MM, 210 * MM))
            pdf.pages[-1].contents_add(f"{10 + 10 * number} 100 8 8 re f".encode())
        made = io.BytesIO()
        pdf.save(made, deterministic_id=True)
        return made.getvalue()


def folded(sides: list[tuple[int | None, int | None]], *, right_to_left: bool) -> list[int | None]:
    """Read a folded booklet: sheets lie in one another, fronts outside; every leaf has a right and a back side."""
    fronts, backs = sides[::2], sides[1::2]
    first = 0 if right_to_left else 1
    outward = [page for front, back in zip(fronts, backs, strict=True) for page in (front[first], back[1 - first])]
    inward = [
        page
        for front, back in zip(reversed(fronts), reversed(backs), strict=True)
        for page in (back[first], front[1 - first])
    ]
    return outward + inward


@given(st.integers(1, 60), st.booleans())
def test_a_folded_booklet_is_read_in_order(pages: int, right_to_left: bool) -> None:  # noqa: FBT001
    """Whatever the number of pages and the direction: first page outside, one after the other, blanks at the end."""
    sides = list(order(pages, right_to_left=right_to_left))
    assert len(sides) % 2 == 0
    read = folded(sides, right_to_left=right_to_left)
    assert read[:pages] == list(range(pages))
    assert read[pages:] == [None] * (-pages % SIDES)


@pytest.mark.parametrize("pages", [1, 4, 6])
def test_pages_keep_their_size_on_a4(pages: int) -> None:
    """A side is A4 lengthwise, 297 × 210 mm but for the millimetre ISO 216 rounds off; squares are as large as before."""
    pdf = impose(leaflet(pages))
    with pikepdf.open(io.BytesIO(pdf)) as booklet:
        assert len(booklet.pages) == 2 * -(-pages // SIDES)
        for side in booklet.pages:
            box = [float(length) / MM for length in side.mediabox]
            assert box == pytest.approx([0, 0, 296, 210], abs=0.1)
        assert booklet.Root.ViewerPreferences.PrintScaling == "/None"
    front = np.asarray(pdfium.PdfDocument(pdf)[0].render(scale=1).to_pil().convert("L"))
    across = np.flatnonzero((front < 128).any(axis=0))
    right = across[across > 148 * MM]
    assert right.min() == pytest.approx(148 * MM + 10, abs=1.5)
    assert len(right) == pytest.approx(8, abs=1)


def test_the_same_leaflet_gives_the_same_booklet() -> None:
    """Bytes for bytes."""
    assert impose(leaflet(5)) == impose(leaflet(5))
