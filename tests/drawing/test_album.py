"""All pictures of a lace together: inside their frame on every paper, in few words, as clean operators."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pipeline.craft.assembly import Lace
from pipeline.craft.check import Checked
from pipeline.drawing.album import draw
from pipeline.drawing.ink import box_of
from pipeline.drawing.operators import picture_operators
from pipeline.drawing.picture import Figures, Picture
from pipeline.language.fonts import find_fonts
from pipeline.leaflet.papers import PAPERS
from pipeline.notation import write
from pipeline.symbols import SymbolSet

CheckText = Callable[..., Checked]
DRAWING = Path(__file__).parent.parent.parent / "pipeline" / "drawing"


@pytest.fixture(scope="session")
def figures() -> Figures:
    """The Latin faces."""
    files = find_fonts("Latn", ()).files
    return Figures(files[0].path, files[1].path)


@pytest.fixture
def lace(check_text: CheckText, example: dict[str, Any]) -> Lace:
    """A darn, two rounds of knots and an edge on 24 pins of an 80 mm loom."""
    example["rounds"] = [
        {"darn": {}, "rows": 3},
        {"knot": {"rays": 4}, "at": "12 mm"},
        {"knot": {"rays": 4, "shift": 2}, "gap": "9 mm"},
        {"edge-loops": {}},
    ]
    found = check_text(example).lace
    assert found is not None
    return found


def reach(picture: Picture) -> tuple[float, float, float, float]:
    """How far the ink goes: left, foot, right, top; without what is cut off anyway."""
    boxes = [box_of(item) for item in picture.items]
    lows, highs = np.min(boxes, axis=0), np.max(boxes, axis=0)
    return float(lows[0]), float(lows[1]), float(highs[2]), float(highs[3])


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_drawn_things_lie_inside_their_picture(lace: Lace, symbols: SymbolSet, figures: Figures, paper: str) -> None:
    """No ink is outside the frame, on any paper."""
    pictures = draw(lace, write(lace), symbols, figures=figures, colours={"A": "#1b4f72"}, layout=PAPERS[paper].album)
    assert len(pictures) >= 7
    for picture in pictures:
        left, foot, right, top = reach(picture)
        assert left >= -0.3, picture.id
        assert foot >= -0.3, picture.id
        assert right <= picture.width + 0.3, picture.id
        assert top <= picture.height + 0.3, picture.id


def test_a_layer_has_neither_colour_nor_width(lace: Lace, symbols: SymbolSet, figures: Figures) -> None:
    """So it takes both from where it is stamped: path operators and one stroke or fill, no more (ISO 32000-1, 8.5)."""
    pictures = draw(lace, write(lace), symbols, figures=figures, colours={"A": "#1b4f72"}, layout=PAPERS["a4"].album)
    step = next(picture for picture in pictures if picture.id == "step-4")
    for layer in picture_operators(step).layers:
        assert set(re.findall(rb"[A-Za-z]+", layer.content)) <= {b"m", b"l", b"c", b"h", b"S", b"f"}
        assert len(re.findall(rb"[Sf]", layer.content)) == 1


def test_only_figures_and_a_unit_are_written_in_pictures() -> None:
    """Whatever is set as text in a picture comes from numbers, or from the unit mm."""
    source = "".join(path.read_text(encoding="utf-8") for path in DRAWING.glob("*.py"))
    written = set(re.findall(r"""written\(\s*f?["']([^"']*)["']""", source))
    assert written
    assert all(re.fullmatch(r"(\{[^}]*\}|[ 0-9/]|mm)*", words) for words in written), written
