"""What comes out: PDF bytes that are tagged, whole, the same every time, on the right paper."""

import io
import itertools
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pypdfium2 as pdfium
import pytest

from pipeline.leaflet.papers import PAPERS

LOCALES = ("en", "es", "ar", "ja")
MM = 72 / 25.4


def elements(node: Any) -> Iterator[Any]:
    """Every structure element below a node."""
    kids = node.get("/K", []) if isinstance(node, pikepdf.Dictionary) else []
    for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield kid
            yield from elements(kid)


@pytest.mark.parametrize("tag", LOCALES)
def test_a_leaflet_says_what_pdf_ua_asks_for(leaflets: dict[tuple[str, str], bytes], tag: str) -> None:
    """ISO 14289-1:2014: part 1, tagged, language, title shown, /Alt on every figure, no heading skipped."""
    with pikepdf.open(io.BytesIO(leaflets[tag, "a4"])) as pdf:
        root = pdf.Root
        assert root.Lang == tag
        assert root.MarkInfo.Marked
        assert root.ViewerPreferences.DisplayDocTitle
        with pdf.open_metadata() as metadata:
            assert metadata["pdfuaid:part"] == "1"
            assert metadata["dc:title"]
        found = list(elements(root.StructTreeRoot))
        figures = [element for element in found if element.S == "/Figure"]
        assert len(figures) > 20
        assert all(str(figure.get("/Alt", "")).strip() for figure in figures)
        levels = [int(str(element.S)[2:]) for element in found if str(element.S) in {"/H1", "/H2", "/H3"}]
        assert levels[0] == 1
        assert all(b <= a + 1 for a, b in itertools.pairwise(levels))


@pytest.mark.parametrize("tag", LOCALES)
def test_every_font_is_embedded_and_can_be_read_back(leaflets: dict[tuple[str, str], bytes], tag: str) -> None:
    """ISO 14289-1, 7.21: fonts are embedded, and map to Unicode."""
    with pikepdf.open(io.BytesIO(leaflets[tag, "a4"])) as pdf:
        fonts = [o for o in pdf.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/Font"]
        composite = [font for font in fonts if font.get("/Subtype") == "/Type0"]
        assert composite
        for font in composite:
            assert "/ToUnicode" in font
            assert "/FontFile2" in font.DescendantFonts[0].FontDescriptor


def test_pictures_are_vector_forms(leaflets: dict[tuple[str, str], bytes]) -> None:
    """No picture of a leaflet is made of pixels."""
    with pikepdf.open(io.BytesIO(leaflets["en", "a4"])) as pdf:
        streams = [o for o in pdf.objects if isinstance(o, pikepdf.Stream)]
        kinds = [str(stream.get("/Subtype", "")) for stream in streams]
    assert kinds.count("/Form") > 20
    assert "/Image" not in kinds


@pytest.mark.parametrize(
    ("paper", "width", "height"),
    [("a4", 210, 297), ("a5", 148, 210), ("letter", 215.9, 279.4)],
)
def test_pages_have_the_size_of_their_paper(
    leaflets: dict[tuple[str, str], bytes], paper: str, width: float, height: float
) -> None:
    """ISO 216 (A4 210 × 297, A5 148 × 210 mm) and US Letter, 8.5 × 11 in, to a tenth of a millimetre."""
    assert (PAPERS[paper].width, PAPERS[paper].height) == (width, height)
    with pikepdf.open(io.BytesIO(leaflets["en", paper])) as pdf:
        for page in pdf.pages:
            box = [float(value) for value in page.mediabox]
            assert box[2:] == pytest.approx([width * MM, height * MM], abs=0.1 * MM)


def test_arabic_keeps_its_numbers_in_order(leaflets: dict[tuple[str, str], bytes]) -> None:
    """The page number runs left to right: the page stands left of the number of pages."""
    document = pdfium.PdfDocument(leaflets["ar", "a4"])
    page = document[1]
    text = page.get_textpage()
    pages = len(document)
    places = {}
    for index in range(text.count_chars()):
        left, bottom, _, _ = text.get_charbox(index)
        character = text.get_text_range(index, 1)
        if bottom < 20 * MM and left < 40 * MM and character in {"2", "/", str(pages)}:
            places[character] = left
    assert places["2"] < places["/"] < places[str(pages)]


def test_a_leaflet_says_its_title_and_figures(leaflets: dict[tuple[str, str], bytes]) -> None:
    """Text can be taken out again, in every locale."""
    for tag, title in (("en", "First Frost"), ("ja", "初霜")):
        document = pdfium.PdfDocument(leaflets[tag, "a4"])
        text = "".join(document[number].get_textpage().get_text_range() for number in range(len(document)))
        assert title in text
        assert "72" in text


def test_qpdf_finds_nothing(leaflets: dict[tuple[str, str], bytes], tmp_path: Path) -> None:
    """Qpdf --check is clean for every locale and paper."""
    for (tag, paper), data in leaflets.items():
        file = tmp_path / f"{tag}.{paper}.pdf"
        file.write_bytes(data)
        done = subprocess.run(["qpdf", "--check", file], capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stdout + done.stderr
