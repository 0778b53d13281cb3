"""Pictures as files: each opens in a library of its own, has its size, and is the same twice."""

import io
import re
import xml.etree.ElementTree as ET

import numpy as np
import pikepdf
import pytest
from PIL import Image

from pipeline.drawing.export import export
from pipeline.drawing.outline import circle, polyline, rectangle
from pipeline.drawing.picture import Area, Clipped, Layer, Line, Picture, Placed

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
