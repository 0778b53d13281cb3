"""Pictures as files: each opens in a library of its own, has its size, and is the same twice."""

import io
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2 as pdfium
import pytest
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import maximum_filter, minimum_filter  # type: ignore[import-untyped]

from pipeline.catalogue.make import figures_of
from pipeline.craft.shapes import Box, HalfCircle, Oval
from pipeline.drawing.chart import ChartLayout, chart
from pipeline.drawing.export import export
from pipeline.drawing.lettering import at, written
from pipeline.drawing.marks import dashes, dot, number_in_ring, rim
from pipeline.drawing.operators import picture_operators
from pipeline.drawing.outline import circle, polyline, rectangle
from pipeline.drawing.picture import ACCENT, Area, Clipped, Layer, Line, Picture, Placed
from pipeline.files import check_file, symbols_of
from pipeline.language.fonts import find_fonts
from pipeline.notation import write
from pipeline.workspace import Workspace

PICTURE = Picture(
    "trial",
    40.0,
    20.0,
    (
        Area(rectangle(0, 0, 10, 20), "#ff0000"),
        Clipped(rectangle(0, 10, 40, 10), (Area(rectangle(30, 0, 10, 20), "#0000ff"),)),
        Placed(Layer("a", polyline([(0, -1), (0, 1)])), 2.0, 5.0, 20.0, 10.0, 0.0, "#00ff00"),
        Line(circle(2.0, 15, 5), 0.3),
    ),
)


@pytest.mark.parametrize("file_format", ["svg", "pdf", "png"])
def test_the_same_picture_gives_the_same_bytes(file_format: str) -> None:
    """Nothing of the clock or of chance is in them: no date, no year."""
    first = export(PICTURE, file_format)
    assert first == export(PICTURE, file_format)
    assert not re.search(rb"CreationDate|ModDate|<dc:date>|tIME", first)


def test_an_svg_opens_and_has_its_size() -> None:
    """SVG 2: width and height in pt for 40 by 20 mm; text is drawn, not written."""
    root = ET.fromstring(export(PICTURE, "svg"))  # noqa: S314
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert float(root.attrib["width"].removesuffix("pt")) == pytest.approx(40 * 72 / 25.4, abs=0.01)
    assert float(root.attrib["height"].removesuffix("pt")) == pytest.approx(20 * 72 / 25.4, abs=0.01)
    assert not list(root.iter("{http://www.w3.org/2000/svg}text"))
    assert "#ff0000" in export(PICTURE, "svg").decode()


def test_a_pdf_opens_and_has_its_size() -> None:
    """One page of 40 by 20 mm."""
    with pikepdf.open(io.BytesIO(export(PICTURE, "pdf"))) as pdf:
        assert len(pdf.pages) == 1
        box = [float(value) for value in pdf.pages[0].mediabox]
    assert box == pytest.approx([0, 0, 40 * 72 / 25.4, 20 * 72 / 25.4], abs=0.01)


def test_a_png_shows_what_was_drawn_where() -> None:
    """At 254 dpi a mm is ten pixels: red at the left, blue only above (it is clipped), green upright in the middle."""
    image = Image.open(io.BytesIO(export(PICTURE, "png", dpi=254, ground="#ffffff"))).convert("RGB")
    assert image.size == (400, 200)
    pixels = np.asarray(image)
    at = {name: tuple(int(v) for v in pixels[199 - 10 * y, 10 * x]) for name, (x, y) in PLACES.items()}
    assert at == {
        "red": (255, 0, 0),
        "blue": (0, 0, 255),
        "cut": (255, 255, 255),
        "green": (0, 255, 0),
        "bare": (255, 255, 255),
    }


PLACES = {"red": (5, 15), "blue": (35, 15), "cut": (35, 5), "green": (20, 13), "bare": (25, 10)}
"""In mm from the lower left."""


def page(picture: Picture) -> bytes:
    """A PDF of one page that is a picture, made of the operators that a leaflet is made of."""
    drawn = picture_operators(picture)
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(drawn.width, drawn.height))
        forms = pikepdf.Dictionary()
        for layer in drawn.layers:
            box = pikepdf.Array([-layer.reach, -layer.reach, layer.reach, layer.reach])
            form = pikepdf.Stream(pdf, layer.content, Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form, BBox=box)
            forms[f"/i{layer.id}0"] = pdf.make_indirect(form)
        pdf.pages[0].obj.Resources = pikepdf.Dictionary(XObject=forms)
        pdf.pages[0].obj.Contents = pikepdf.Stream(pdf, drawn.content)
        file = io.BytesIO()
        pdf.save(file)
    return file.getvalue()


def everything() -> Picture:
    """Every kind of item, told by turns and not, as thin and as small as they come."""
    figures = figures_of(find_fonts("Latn", ()))
    return Picture("all", 60.0, 40.0, (
        *PICTURE.items,
        Placed(replace(rim(Box(40.0, 60.0)), id="box"), 0.25, 0.1, 50.0, 10.0, cap="round"),
        Placed(replace(rim(Oval(40.0, 60.0)), id="oval"), 0.25, 0.1, 50.0, 30.0, 0.4, flip=True),
        Placed(replace(rim(HalfCircle(40.0)), id="half"), 0.25, 0.1, 25.0, 28.0, cap="round"),
        Placed(dashes(closed=True), 0.16, 6.0, 25.0, 30.0, colour=ACCENT),
        *number_in_ring("12", 35.0, 30.0, figures, ring_mm=3.8),
        dot(38.0, 35.0, 1.1, ACCENT), dot(38.111, 33.333, 1.1, ACCENT),
        at(written("20 mm", size_pt=7, font=figures.regular), 2.0, 30.0),
    ))  # fmt: skip


def wheel() -> Picture:
    """The chart of a demo."""
    lace = check_file(Path(__file__).parents[2] / "patterns" / "mussel-shell.yaml").lace
    assert lace
    figures = figures_of(find_fonts("Latn", ()))
    return chart(lace, write(lace), symbols_of(Workspace(None)), figures, ChartLayout(58.0, 174.0))[0]


@pytest.mark.parametrize("make", [everything, wheel])
def test_a_file_shows_what_a_leaflet_shows(make: Callable[[], Picture]) -> None:
    """Drawn by two programs, with layers as forms and without: what one has inked the other has, to 0.2 mm."""
    picture = make()
    grey = Image.open(io.BytesIO(export(picture, "png", dpi=254, ground="#ffffff"))).convert("L")
    other = pdfium.PdfDocument(page(picture))[0].render(scale=254 / 72).to_pil().convert("L")
    width, height = min(grey.width, other.width), min(grey.height, other.height)
    shown = [np.asarray(image, dtype=float)[-height:, :width] for image in (grey, other)]
    assert not differing(*shown).any()
    assert not differing(*shown[::-1]).any()


def differing(shown: NDArray[np.float64], other: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Pixels that are much darker or lighter than all the other has within two of them."""
    darker, lighter = minimum_filter(other, 5) - shown, shown - maximum_filter(other, 5)
    found: NDArray[np.bool_] = np.maximum(darker, lighter) > 128
    return found
