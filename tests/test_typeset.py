"""What comes out: PDF bytes that are tagged, whole, the same every time, on the right paper."""

import io
import itertools
import re
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pypdfium2 as pdfium
import pytest

from pipeline.drawing.outline import polyline
from pipeline.drawing.picture import Layer, Line, Picture, Placed
from pipeline.language.fonts import find_fonts
from pipeline.leaflet.papers import PAPERS
from pipeline.typeset import FEW, CharactersMissing, Complaint, overflows, press, stamps, typeset

LOCALES = ("en", "es", "ar", "ja")
MM = 72 / 25.4


def elements(node: Any) -> Iterator[Any]:
    """Every structure element below a node."""
    kids: Any = node.get("/K", []) if isinstance(node, pikepdf.Dictionary) else []
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


SMALL = '<html lang="en"><head><title>Small</title></head><body><h1>Small</h1>{}</body></html>'


@pytest.fixture
def set_markup(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], bytes]:
    """Typeset a body of markup as if it were a leaflet's, on A5 with the Latin fonts and a few pictures."""
    dash = Placed(Layer("dash", polyline([(0, 0), (0, 3)])), 1.0, 2.0, 2.0, 6.0)
    far = Picture("far", 10.0, 10.0, (Line(polyline([(-9, -9), (40, 40)]), 0.5), dash))
    square = Picture("square", 10.0, 10.0, (Line(polyline([(1, 1), (9, 1), (9, 9), (1, 9)], closed=True), 0.5),))

    def run(body: str) -> bytes:
        monkeypatch.setattr("pipeline.typeset.render", lambda markup: markup)
        ready = press(find_fonts("Latn", ()), PAPERS["a5"], "ltr")
        pictures = stamps([square, far, Picture("strip", 8.0, 6.0, ())])
        return typeset(SMALL.format(body), pictures, ready)  # type: ignore[arg-type]

    return run


def test_the_same_markup_gives_the_same_bytes(set_markup: Callable[[str], bytes]) -> None:
    """Twice in one process, with another document between; other words give another identifier."""
    first = set_markup("<p>One</p>")
    other = set_markup("<p>Two</p>")
    assert set_markup("<p>One</p>") == first
    identifiers = [pikepdf.open(io.BytesIO(data)).trailer["/ID"][0] for data in (first, other)]
    assert bytes(identifiers[0]) != bytes(identifiers[1])


@pytest.mark.parametrize(
    ("places", "forms"), [(1, 0), (FEW, 0), (FEW + 1, 1)], ids=["written once", "written", "stamped"]
)
def test_a_picture_is_drawn_wherever_it_stands_with_its_words(
    set_markup: Callable[[str], bytes], places: int, forms: int
) -> None:
    """In few places it is written out, in more it is one form that is stamped; each is a figure with /Alt, none an image."""
    image = '<p><img src="stamp:square" alt="A square"/></p>'
    with pikepdf.open(io.BytesIO(set_markup(image * places))) as pdf:
        kinds = [str(o.get("/Subtype", "")) for o in pdf.objects if isinstance(o, pikepdf.Stream)]
        figures = [e for e in elements(pdf.Root.StructTreeRoot) if e.S == "/Figure"]
        assert [str(figure.Alt) for figure in figures] == ["A square"] * places
        content = b"".join(page.Contents.read_bytes() for page in pdf.pages)
        named = {name for page in pdf.pages for name in page.Resources.XObject if "square" in name}
    assert "/Image" not in kinds
    assert len(named) == forms
    assert len(re.findall(rb"square\S* Do", content)) == places * forms
    assert len(re.findall(rb"\bh S\b", content)) == places * (1 - forms)


@pytest.mark.parametrize("name", ["square", "far"])
def test_a_picture_looks_the_same_written_and_stamped(set_markup: Callable[[str], bytes], name: str) -> None:
    """The first picture of a page, alone and before others: the same pixels, cut to its frame in both."""
    image = f'<p><img src="stamp:{name}" style="height: 20mm; width: 30mm" alt="A picture"/></p>'
    alone, before_others = (
        pdfium.PdfDocument(set_markup(image * places))[0].render(scale=2).to_numpy() for places in (1, FEW + 1)
    )
    inked = np.flatnonzero((alone[: len(alone) // 2] < 128).any(axis=(1, 2)))
    last = int(inked.max()) + 1
    assert (alone[last:] != before_others[last:]).any()
    assert (alone[:last] == before_others[:last]).all()


@pytest.mark.parametrize(
    "address",
    ["https://example.org/a.png", "file:///etc/hostname", "data:image/png;base64,AAAA", "a.png", "font:missing.ttf"],
)
def test_nothing_is_fetched(set_markup: Callable[[str], bytes], address: str) -> None:
    """A picture from the net, a disk, the markup itself or a font that is not the script's stops the page."""
    with pytest.raises(BaseException, match="a leaflet asked for"):
        set_markup(f'<p><img src="{address}" alt="x"/></p>')


@pytest.mark.parametrize(
    "body", ['<p><img src="stamp:square"/></p>', '<p style="colour: red">x</p>', '<p><a href="#nowhere">x</a></p>']
)
def test_a_complaint_stops_the_page(
    set_markup: Callable[[str], bytes], caplog: pytest.LogCaptureFixture, body: str
) -> None:
    """A picture without words, an unknown property, a link to nowhere: a bug of ours, never a worse page."""
    with pytest.raises(Complaint):
        set_markup(body)
    caplog.clear()


@pytest.fixture
def too_wide(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], tuple[str, ...]]:
    """The texts that reach out of their place in a body of markup, on A5."""
    monkeypatch.setattr("pipeline.typeset.render", lambda markup: markup)
    ready = press(find_fonts("Latn", ()), PAPERS["a5"], "ltr")
    pictures = stamps([Picture("strip", 8.0, 6.0, ())])

    def run(body: str) -> tuple[str, ...]:
        markup: Any = SMALL.format(body)
        return overflows(markup, pictures, ready)

    return run


@pytest.mark.parametrize(
    ("body", "found"),
    [
        (f"<p>{'many short words ' * 40}</p>", 0),
        (f"<p>{'endless' * 40}</p>", 1),
        (f"<p>{'endless' * 40}</p><p>{'endless' * 40}</p>", 1),
        (f"<p>{'endless' * 40}</p><p>{'boundless' * 40}</p>", 2),
        (f'<div style="width: 20mm">{"endless" * 4}</div>', 1),
        (f'<table style="table-layout: fixed; width: 40mm"><tr><td>{"endless" * 9}</td><td>b</td></tr></table>', 1),
        (f'<p style="width: 20mm">{chr(0xA0) * 40}</p>', 0),
    ],
)
def test_a_text_wider_than_its_place_is_found(
    too_wide: Callable[[str], tuple[str, ...]], body: str, found: int
) -> None:
    """An endless word in a paragraph, a narrow box, a cell of fixed width, each once; not what goes on in the next line, not spaces."""
    assert len(too_wide(body)) == found


@pytest.mark.parametrize(("words", "fits"), [(4, True), (20, False), (60, False)])
def test_a_foot_has_room_for_one_line(too_wide: Callable[[str], tuple[str, ...]], words: int, fits: bool) -> None:  # noqa: FBT001
    """A title, edition and date at the foot of a page: a second line would stand where printers do not reach."""
    assert (too_wide(f'<p class="running-foot">{"title " * words}</p><p>x</p>') == ()) == fits


def test_a_character_without_a_font_is_named(set_markup: Callable[[str], bytes]) -> None:
    """No empty box is ever printed: also not for a character that stands in the markup by number."""
    with pytest.raises(CharactersMissing) as caught:
        set_markup("<p>frost 霜 &#x3042;</p>")
    assert set(caught.value.characters) == {"霜", "あ"}


def shown_codes(page: pikepdf.Page) -> Iterator[int]:
    """Every glyph number that is painted on a page; the fonts are two-byte (Identity-H)."""
    for found in pikepdf.parse_content_stream(page):
        if str(found.operator) in {"Tj", "TJ"}:
            parts = found.operands[0] if str(found.operator) == "TJ" else found.operands
            for part in parts:
                if isinstance(part, pikepdf.String):
                    data = bytes(part)
                    yield from (int.from_bytes(data[at : at + 2], "big") for at in range(0, len(data), 2))


@pytest.mark.parametrize("tag", LOCALES)
def test_no_glyph_is_the_empty_box(leaflets: dict[tuple[str, str], bytes], tag: str) -> None:
    """OpenType: glyph 0 is .notdef; it is painted nowhere."""
    with pikepdf.open(io.BytesIO(leaflets[tag, "a4"])) as pdf:
        codes = [code for page in pdf.pages for code in shown_codes(page)]
    assert len(codes) > 500
    assert 0 not in codes


@pytest.mark.parametrize("tag", LOCALES)
def test_notation_is_western_in_every_locale(leaflets: dict[tuple[str, str], bytes], tag: str) -> None:
    """First Frost by hand: 72 rays are 2+2 × 18 and 4 × 18, its edge 2 × 36; in the text of every locale."""
    document = pdfium.PdfDocument(leaflets[tag, "a4"])
    text = "".join(document[number].get_textpage().get_text_range() for number in range(len(document)))
    figures = re.sub(r"\s+", "", text)
    for counts in ("2+2×18", "4×18", "2×36"):
        assert counts in figures
    assert not re.search("[٠-٩۰-۹]", text)


@pytest.mark.parametrize("tag", LOCALES)
def test_tables_have_heads_and_every_page_its_tags(leaflets: dict[tuple[str, str], bytes], tag: str) -> None:
    """ISO 14289-1, 7.5: every cell names the head of its column; 7.1: every page is in the tree, the file has a title."""
    with pikepdf.open(io.BytesIO(leaflets[tag, "a4"])) as pdf:
        found = list(elements(pdf.Root.StructTreeRoot))
        heads = [element for element in found if element.S == "/TH"]
        cells = [element for element in found if element.S == "/TD"]
        ids = [str(head.ID) for head in heads]
        pages = [tuple(ids[first : first + 2]) for first in range(0, len(ids), 2)]  # a page repeats its heads
        assert len(set(ids)) == len(ids) == 2 * len(pages)
        assert len(cells) >= 2 * 10
        named = [str(name) for cell in cells for name in cell.A.Headers]
        assert len(named) == len(cells)
        rows = [tuple(named[first : first + 2]) for first in range(0, len(named), 2)]
        assert set(rows) == set(pages)
        assert all("/StructParents" in page for page in pdf.pages)
        assert str(pdf.docinfo["/Title"])
