"""All pictures of a lace together: inside their frame on every paper, in few words, as clean operators."""

import math
import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pipeline.craft.assembly import Lace
from pipeline.craft.check import Checked
from pipeline.drawing.album import draw
from pipeline.drawing.ink import box_of
from pipeline.drawing.inline import inlays
from pipeline.drawing.operators import UNITS_PER_MM, picture_operators
from pipeline.drawing.outline import vertices_of
from pipeline.drawing.picture import Clipped, Figures, Item, Layer, Picture, Placed
from pipeline.drawing.truesize import true_size_pages
from pipeline.files import check_file
from pipeline.language.fonts import find_fonts
from pipeline.leaflet.papers import PAPERS
from pipeline.notation import write
from pipeline.symbols import SymbolSet

CheckText = Callable[..., Checked]
PlaceTree = Callable[[dict[str, Any]], Lace]
DRAWING = Path(__file__).parent.parent.parent / "pipeline" / "drawing"
PATTERNS = Path(__file__).parents[2] / "patterns"


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


@pytest.mark.parametrize("only", [{"darn": {}}, {"knot": {"rays": 4}, "at": "12 mm"}, {"edge-loops": {}}])
def test_a_lace_of_one_kind_of_stitch_is_written(
    place_tree: PlaceTree, example: dict[str, Any], symbols: SymbolSet, figures: Figures, only: dict[str, Any]
) -> None:
    """Where nothing is darned, or nothing tied, the layer of that is empty, as operators and as an inlay."""
    lace = place_tree(example | {"rounds": [only]})
    pictures = draw(lace, write(lace), symbols, figures=figures, colours={"A": "#1b4f72"}, layout=PAPERS["a4"].album)
    layers = [layer for picture in pictures for layer in picture_operators(picture).layers]
    assert any(not layer.content for layer in layers)
    assert set(inlays(pictures).by_id) == {picture.id for picture in pictures}


def test_a_layer_has_neither_colour_nor_width(lace: Lace, symbols: SymbolSet, figures: Figures) -> None:
    """So it takes both from where it is stamped: paths that are stroked, or one that is filled, no more (ISO 32000-1, 8.5).

    What is told by turns is only ever turned: a matrix that made it larger would make its strokes wider.
    """
    pictures = draw(lace, write(lace), symbols, figures=figures, colours={"A": "#1b4f72"}, layout=PAPERS["a4"].album)
    step = next(picture for picture in pictures if picture.id == "step-4")
    turned = 0
    for layer in picture_operators(step).layers:
        names = re.findall(r"[A-Za-z]+", layer.content.decode())
        stroked = "S" in names and set(names) <= {"m", "l", "c", "h", "S", "q", "cm", "Q"}
        assert stroked or (names.count("f") == 1 and set(names) <= {"m", "l", "c", "h", "f"})
        assert names.count("q") == names.count("Q") <= names.count("S")
        for a, b, c, d, x, y in re.findall(r"(\S+) (\S+) (\S+) (\S+) (\S+) (\S+) cm", layer.content.decode()):
            assert (float(a), float(b)) == (float(d), -float(c))
            assert math.hypot(float(a), float(b)) == pytest.approx(1.0)
            assert (x, y) == ("0", "0")
            turned += 1
    assert turned


def placed(items: Iterable[Item]) -> Iterator[Placed]:
    """Every layer that is placed, also in what is clipped."""
    for item in items:
        if isinstance(item, Placed):
            yield item
        elif isinstance(item, Clipped):
            yield from placed(item.items)


@pytest.fixture(scope="module", params=["drift-ice", "low-sun", "mussel-shell", "window-frost"])
def whole_album(request: pytest.FixtureRequest, symbols: SymbolSet, figures: Figures) -> tuple[Picture, ...]:
    """All pictures of a leaflet that have layers: of a mat, a half-circle, an oval and a square."""
    checked = check_file(PATTERNS / f"{request.param}.yaml")
    assert checked.lace
    assert checked.pattern
    lace, layout = checked.lace, PAPERS["a4"].album
    pictures = draw(lace, write(lace), symbols, figures=figures, colours=checked.pattern.colours, layout=layout)
    return (*pictures, *true_size_pages(lace, checked.pattern.loom, figures, layout.truesize))


def test_layers_of_one_name_are_one_drawing(whole_album: tuple[Picture, ...]) -> None:
    """Pictures of a leaflet share layers by their names, so no name stands for two paths."""
    drawn: dict[str, Layer] = {}
    for picture in whole_album:
        for item in placed(picture.items):
            layer, first = item.layer, drawn.setdefault(item.layer.id, item.layer)
            assert first.filled == layer.filled
            assert np.array_equal(vertices_of(first.path), vertices_of(layer.path)), (picture.id, layer.id)
            assert np.array_equal(np.asarray(first.path.codes), np.asarray(layer.path.codes)), (picture.id, layer.id)
    assert {"rim", "hole", "dashes", "chart-pins", "laying-pins", "whole-rays", "r1-thread"} <= set(drawn)


def test_no_stroke_of_a_layer_is_cut_off(whole_album: tuple[Picture, ...]) -> None:
    """The box of its form holds every layer with the widest stroke that it is ever placed in."""
    numbers: dict[str, str] = {}
    forms = {form.id: form for picture in whole_album for form in picture_operators(picture, numbers).layers}
    for picture in whole_album:
        for item in placed(picture.items):
            furthest = np.abs(vertices_of(item.layer.path)).max(initial=0.0) + item.width / item.scale / 2
            assert furthest * UNITS_PER_MM <= forms[numbers[item.layer.id]].reach, (picture.id, item.layer.id)


def test_only_figures_and_a_unit_are_written_in_pictures() -> None:
    """Whatever is set as text in a picture comes from numbers, or from the unit mm."""
    source = "".join(path.read_text(encoding="utf-8") for path in DRAWING.glob("*.py"))
    written = set(re.findall(r"""written\(\s*f?["']([^"']*)["']""", source))
    assert written
    assert all(re.fullmatch(r"(\{[^}]*\}|[ 0-9/]|mm)*", words) for words in written), written
