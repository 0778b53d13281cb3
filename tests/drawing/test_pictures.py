"""Pictures: true to measure, inside their frame, drawn once, written as clean operators."""

import itertools
import math
import re
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pipeline.craft.assembly import Lace
from pipeline.craft.check import Checked
from pipeline.drawing.album import draw
from pipeline.drawing.chart import ChartLayout, chart, spread_levels
from pipeline.drawing.glyphs import glyph_items
from pipeline.drawing.operators import picture_operators
from pipeline.drawing.outline import arc, circle, svg, vertices_of
from pipeline.drawing.picture import Area, Clipped, Figures, Item, Line, Picture, Placed
from pipeline.drawing.steps import round_layers
from pipeline.drawing.strands import darned_rows, strands
from pipeline.language.fonts import find_fonts
from pipeline.leaflet.papers import PAPERS
from pipeline.notation import write
from pipeline.symbols import BOX, SymbolSet

CheckText = Callable[..., Checked]


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


def flat(items: Sequence[Item]) -> Iterator[Line | Area | Placed]:
    """All items but what is cut off anyway."""
    for item in items:
        if not isinstance(item, Clipped):
            yield item


def reach(picture: Picture) -> tuple[float, float, float, float]:
    """How far the ink goes: left, foot, right, top."""
    boxes = []
    for item in flat(picture.items):
        if isinstance(item, Line | Area):
            extra = item.width / 2 if isinstance(item, Line) else 0.0
            box = item.path.get_extents()
            boxes.append((box.x0 - extra, box.y0 - extra, box.x1 + extra, box.y1 + extra))
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


def test_every_node_stands_at_its_true_radius(lace: Lace, symbols: SymbolSet, figures: Figures) -> None:
    """The ring threads' corners lie at radius × scale about one centre, to 0.05 mm."""
    picture = chart(lace, write(lace), symbols, figures, ChartLayout(58.0, 174.0))[0]
    rings = [
        item.path for item in picture.items if isinstance(item, Line) and item.width == 0.36 and item.cap == "round"
    ]
    knotted = [done for done in lace.rounds if done.worked.nodes]
    assert len(rings) == len(knotted)
    for ring, done in zip(rings, knotted, strict=True):
        corners = vertices_of(ring)[:-1]
        distances = np.hypot(*(corners - corners.mean(axis=0)).T)
        assert distances == pytest.approx(done.radius * 58.0 / 40.0, abs=0.05)


def test_an_arc_is_a_circle_s() -> None:
    """Every drawn point of an arc is on its circle, to a thousandth of the radius."""
    path = arc(10.0, 0.3, 4.0)
    ends = vertices_of(path)[[0, -1]]
    assert ends == pytest.approx(np.array([[10 * math.sin(a), 10 * math.cos(a)] for a in (0.3, 4.0)]))
    points = np.concatenate([curve(np.linspace(0, 1, 9)) for curve, code in path.iter_bezier() if code == path.CURVE4])
    assert len(points) > 30
    assert np.hypot(*points.T) == pytest.approx(10.0, abs=0.01)
    assert np.hypot(*vertices_of(circle(5.0))[::3].T) == pytest.approx(5.0, abs=1e-6)


def test_a_path_string_is_read_as_svg_says() -> None:
    """SVG 2, paths: M, L, C, Z absolute; a close comes back to the start."""
    path = svg("M1 2 L3 4 C5 6 7 8 9 10 Z")
    assert vertices_of(path)[:6].tolist() == [[1, 2], [3, 4], [5, 6], [7, 8], [9, 10], [1, 2]]


def test_a_ray_is_drawn_once_for_every_round_that_takes_it(lace: Lace) -> None:
    """Darn and knots take all 48 rays, the edge too: four pieces a ray, and one to its pin."""
    laid = strands(lace, 1.0)
    for number in range(4):
        assert sorted(ray for ray, _ in laid.between(number)) == list(range(48))
    assert sorted(ray for ray, _ in laid.outward(3)) == list(range(48))


def test_half_of_a_darn_s_pieces_lie_on_each_side(lace: Lace) -> None:
    """24 bundles in 3 rows: 36 pieces pass over on this side, the other 36 on the far side."""
    near = darned_rows(lace, lace.rounds[0], 1.0)
    far = darned_rows(lace, lace.rounds[0], 1.0, far_side=True)
    starts = [int((np.asarray(path.codes) == path.MOVETO).sum()) for path in (near, far)]
    assert starts == [36, 36]


def test_steps_share_their_layers(lace: Lace, symbols: SymbolSet, figures: Figures) -> None:
    """N rounds are N drawings of rays, thread and hitches; the last step stamps those of all rounds."""
    assert len(round_layers(lace, PAPERS["a4"].album.step)) == len(lace.rounds)
    pictures = draw(lace, write(lace), symbols, figures=figures, colours={"A": "#1b4f72"}, layout=PAPERS["a4"].album)
    layers = {picture.id: {layer.id for layer in picture_operators(picture).layers} for picture in pictures}
    assert {"r1-thread", "r2-thread", "r3-thread", "r4-thread"} <= layers["step-4"]
    assert layers["step-1"] == {"r1-held", "r1-free", "r1-thread"}


def test_a_layer_has_neither_colour_nor_width(lace: Lace, symbols: SymbolSet, figures: Figures) -> None:
    """So it takes both from where it is stamped: path operators and one stroke, no more (ISO 32000-1, 8.5)."""
    pictures = draw(lace, write(lace), symbols, figures=figures, colours={"A": "#1b4f72"}, layout=PAPERS["a4"].album)
    step = next(picture for picture in pictures if picture.id == "step-4")
    for layer in picture_operators(step).layers:
        assert set(re.findall(rb"[A-Za-z]+", layer.content)) <= {b"m", b"l", b"c", b"h", b"S"}


def test_glyphs_stay_in_their_box_and_differ(symbols: SymbolSet) -> None:
    """Ink, stroke width included, lies inside the box; no two glyphs are drawn alike; each is derived in a line."""
    everything = {**symbols.stitches, **symbols.signs}
    assert len(everything) > 30
    drawings = set()
    for symbol_id, symbol in everything.items():
        picture = Picture(symbol_id, BOX, BOX, tuple(glyph_items(symbol, size=BOX)))
        left, foot, right, top = reach(picture)
        # Butt ends do not reach as far as half a stroke, which `reach` adds everywhere.
        assert min(left, foot) >= -0.15, symbol_id
        assert max(right, top) <= BOX + 0.15, symbol_id
        assert len(symbol.shows) > 20, symbol_id
        drawings.add(tuple(stroke.d for stroke in symbol.glyph))
    assert len(drawings) == len(everything)


def test_levels_are_spread_in_order() -> None:
    """Rungs keep their order and their distance, and stay between the bounds where there is room."""
    levels = spread_levels([10.0, 11.0, 12.0, 40.0], 9.0, 5.0, 60.0)
    assert levels == sorted(levels)
    assert all(b - a >= 9.0 for a, b in itertools.pairwise(levels))
    assert levels[0] >= 5.0
    assert levels[-1] <= 60.0


def test_only_figures_and_a_unit_are_written_in_pictures() -> None:
    """Whatever is set as text in a picture comes from numbers, or from the unit mm."""
    source = "".join(
        path.read_text(encoding="utf-8")
        for path in (Path(__file__).parent.parent.parent / "pipeline" / "drawing").glob("*.py")
    )
    written = set(re.findall(r"""text\(\s*f?["']([^"']*)["']""", source))
    assert all(re.fullmatch(r"(\{[^}]*\}|[ 0-9]|mm)*", words) for words in written), written
