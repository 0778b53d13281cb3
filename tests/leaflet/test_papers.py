"""Papers: standard sizes, the margins of the design, and pictures that fit."""

import io
import math

import pikepdf
import pypdfium2 as pdfium
import pytest

from pipeline.leaflet.papers import PAPERS

MM = 72 / 25.4


def test_iso_papers_keep_their_proportion() -> None:
    """ISO 216: A4 is 210 × 297 mm, A5 148 × 210 mm, half of it; both stand as 1 to √2, to the rounded millimetre."""
    a4, a5 = PAPERS["a4"], PAPERS["a5"]
    assert (a4.width, a4.height, a5.width, a5.height) == (210, 297, 148, 210)
    assert a5.height == a4.width
    assert a5.width == a4.height // 2
    for paper in (a4, a5):
        assert paper.height / paper.width == pytest.approx(math.sqrt(2), abs=0.006)


def test_letter_is_in_inches() -> None:
    """US Letter: 8.5 × 11 in of 25.4 mm."""
    assert (PAPERS["letter"].width, PAPERS["letter"].height) == pytest.approx((8.5 * 25.4, 11 * 25.4))


@pytest.mark.parametrize(("name", "width"), [("a4", 174), ("a5", 124), ("letter", 174)])
def test_text_is_as_wide_as_the_design_says(name: str, width: float) -> None:
    """Look section 8: 174, 124 and 174 mm between the side margins; so A4 and Letter share their pictures."""
    assert PAPERS[name].text_width == pytest.approx(width, abs=0.05)
    assert PAPERS[name].album.chart.width == pytest.approx(width, abs=0.05)


@pytest.mark.parametrize("name", sorted(PAPERS))
def test_pictures_fit_between_the_margins(name: str) -> None:
    """The step's picture leaves the words their room; chart and portrait are no wider than the text."""
    paper = PAPERS[name]
    words = paper.text_width - paper.number_width - paper.album.step.width
    assert words >= 50
    assert paper.album.step.height < paper.step_height
    assert paper.album.portrait_width <= paper.text_width
    assert 2 * paper.album.chart.wheel < paper.album.chart.width
    assert paper.album.portrait_height < paper.height - paper.top - paper.foot


@pytest.mark.parametrize("name", sorted(PAPERS))
def test_type_is_large_enough_to_read(name: str) -> None:
    """ISO/IEC Guide 37:2012: running text of printed instructions at 10 pt or more; lines are set apart by a fifth at least."""
    paper = PAPERS[name]
    assert paper.text[0] >= 10
    for size, line in (paper.heading, paper.notation, paper.text, paper.label):
        assert line >= 1.2 * size
    assert paper.title[0] > paper.heading[0] > paper.text[0] > paper.label[0]


@pytest.mark.parametrize("paper", ["a4", "a5", "letter"])
def test_boxes_of_real_pages_are_the_paper_s(leaflets: dict[tuple[str, str], bytes], paper: str) -> None:
    """To 0.1 mm, upright, from nought; no other box cuts a page."""
    with pikepdf.open(io.BytesIO(leaflets["en", paper])) as pdf:
        assert len(pdf.pages) >= 4
        for page in pdf.pages:
            for box in (page.mediabox, page.cropbox, page.trimbox):
                found = [float(value) / MM for value in box]
                assert found == pytest.approx([0, 0, PAPERS[paper].width, PAPERS[paper].height], abs=0.1)
            assert int(page.get("/Rotate", 0)) == 0


@pytest.mark.parametrize(
    ("tag", "paper"), [("en", "a4"), ("es", "a4"), ("ar", "a4"), ("ja", "a4"), ("en", "a5"), ("en", "letter")]
)
def test_no_text_runs_into_the_margin(leaflets: dict[tuple[str, str], bytes], tag: str, paper: str) -> None:
    """Every letter of every page lies between the side margins, and none is off the sheet above or below."""
    sheet = PAPERS[paper]
    document = pdfium.PdfDocument(leaflets[tag, paper])
    low, high = (sheet.side - 0.6) * MM, (sheet.width - sheet.side + 0.6) * MM
    for number in range(len(document)):
        page = document[number].get_textpage()
        boxes = [page.get_rect(place) for place in range(page.count_rects())]
        assert boxes
        for left, foot, right, top in boxes:
            words = page.get_text_bounded(left, foot, right, top)
            assert left >= low, (number, words)
            assert right <= high, (number, words)
            assert foot >= 3 * MM, (number, words)
            assert top <= (sheet.height - 3) * MM, (number, words)
