"""Papers: standard sizes, the margins of the design, and pictures that fit."""

import io
import math
from collections.abc import Iterator
from pathlib import Path

import pikepdf
import pypdfium2 as pdfium
import pytest
from PIL import ImageStat

from pipeline.catalogue.make import Making, drawn_for, figures_of, pages_of, subject_of
from pipeline.commands.desk import shelf_of
from pipeline.drawing.picture import Clipped, Item, Words
from pipeline.files import check_file
from pipeline.language.fonts import find_fonts
from pipeline.language.locales import load_locales
from pipeline.language.speech import load_speech
from pipeline.leaflet.papers import LARGE, PAPERS
from pipeline.leaflet.steps import Told
from pipeline.typeset import typeset
from pipeline.workspace import shipped, workspace_of

PATTERNS = Path(__file__).parents[2] / "patterns"

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
    width, height = paper.step_size
    if paper.large:  # words stand below the picture
        assert width <= paper.text_width
    else:
        assert paper.text_width - paper.number_width - width >= 50
        assert height < paper.step_height
    assert paper.album.portrait_width <= paper.text_width
    assert paper.chart_width <= paper.text_width + 0.2
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


def test_the_common_paper_lies_inside_both_others() -> None:
    """ISO 216 A4 is 210 × 297 mm, US Letter 215.9 × 279.4 mm: what both have is 210 × 279.4 mm."""
    common, a4, letter = PAPERS["common"], PAPERS["a4"], PAPERS["letter"]
    assert (common.width, common.height) == (min(a4.width, letter.width), min(a4.height, letter.height))


@pytest.mark.parametrize("name", [name for name in sorted(PAPERS) if name.endswith(LARGE)])
@pytest.mark.parametrize("demo", ["first-frost", "willow-walk", "drift-ice"])
def test_large_print_is_large_everywhere(name: str, demo: str) -> None:
    """Clear print for low vision: 18 pt for what is read, nothing under 14 pt (common practice, no source).

    The figures in pictures with it: every one is measured at the size in which it is printed.
    """
    paper = PAPERS[name]
    assert paper.text[0] >= 18
    assert min(paper.label[0], paper.furniture[0], paper.notation[0], paper.heading[0]) >= 14
    locale = load_locales([shipped("locales")])["en"]
    file = PATTERNS / f"{demo}.yaml"
    subject = subject_of(check_file(file), shelf_of(workspace_of(file)))
    told = Told(
        subject.pattern, subject.lace, subject.lines, subject.shelf.symbols, load_speech([shipped("locales")], locale)
    )
    found = 0
    for picture in drawn_for(told, paper, figures_of(find_fonts("Latn", ()))):
        kind = picture.id.partition("-")[0]
        enlarged = {"truesize": 1.0, "step": paper.album.step_enlarged, "laying": paper.album.step_enlarged}.get(
            kind, paper.album.enlarged
        )
        for words in figures_in(picture.items):
            found += 1
            assert words.size * enlarged / (25.4 / 72) >= 13.9, (picture.id, words.text)
    assert found > 50


def figures_in(items: tuple[Item, ...]) -> Iterator[Words]:
    """All figures of a picture."""
    for item in items:
        if isinstance(item, Clipped):
            yield from figures_in(item.items)
        elif isinstance(item, Words):
            yield item


@pytest.mark.parametrize("paper", ["a4", "a5"])
def test_ink_is_saved(paper: str) -> None:
    """The thrifty title page takes a quarter less ink at least, by how dark it is on the whole; words are the rest."""
    file = PATTERNS / "willow-walk.yaml"
    subject = subject_of(check_file(file), shelf_of(workspace_of(file)))
    speech = load_speech([shipped("locales")], load_locales([shipped("locales")])["en"])
    dark = []
    for saved in (False, True):
        pages = pages_of(subject, speech, Making(paper, ink_saver=saved))
        pdf = typeset(pages.leaflet, pages.stamped, pages.press, pages.enclosed)
        page = pdfium.PdfDocument(pdf)[0].render(scale=1).to_pil().convert("L")
        dark.append(255 - ImageStat.Stat(page).mean[0])
    assert dark[1] < 0.75 * dark[0]


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
