"""The loom at true size: measured in the finished PDF, rulers and square with it, in one piece and in tiles."""

import itertools
import math
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from pipeline.catalogue.make import Making, Pages, figures_of, pages_of, subject_of
from pipeline.commands.desk import shelf_of
from pipeline.craft.assembly import Lace
from pipeline.drawing.ink import box_of
from pipeline.drawing.outline import vertices_of
from pipeline.drawing.picture import ACCENT, Clipped, Line, Placed, Words
from pipeline.drawing.truesize import OVERLAP_MM, TrueSizeLayout, true_size_pages
from pipeline.files import check_file
from pipeline.language.fonts import find_fonts
from pipeline.language.locales import load_locales
from pipeline.language.speech import load_speech
from pipeline.typeset import typeset
from pipeline.workspace import shipped, workspace_of

PATTERNS = Path(__file__).parents[2] / "patterns"
FIGURES = figures_of(find_fonts("Latn", ()))
MM = 25.4 / 72
Matrix = np.ndarray
Box = tuple[float, float, float, float]


def pages(demo: str, paper: str) -> Pages:
    """A demo in English."""
    file = PATTERNS / f"{demo}.yaml"
    folders = [shipped("locales")]
    speech = load_speech(folders, load_locales(folders)["en"])
    return pages_of(subject_of(check_file(file), shelf_of(workspace_of(file))), speech, Making(paper))


def lace_of(demo: str) -> Lace:
    """Its lace."""
    lace = check_file(PATTERNS / f"{demo}.yaml").lace
    assert lace
    return lace


def matrix(values: list[float]) -> Matrix:
    """A transformation of ISO 32000-1, 8.3.4."""
    a, b, c, d, e, f = values
    return np.array([[a, b, 0], [c, d, 0], [e, f, 1]])


def subpaths(pdf: pikepdf.Pdf, holder: object, at: Matrix) -> Iterator[np.ndarray]:
    """Points of every path that is drawn, in mm of the sheet from its lower left; forms are followed."""
    stack: list[Matrix] = []
    points: list[np.ndarray] = []
    here = at
    for found in pikepdf.parse_content_stream(holder):  # type: ignore[arg-type]
        operands, name = found.operands, str(found.operator)
        if name == "q":
            stack.append(here)
        elif name == "Q":
            here = stack.pop()
        elif name == "cm":
            here = matrix([float(v) for v in operands]) @ here
        elif name in {"m", "l", "c"}:
            if name == "m" and points:
                yield np.array(points)
                points = []
            values = [float(v) for v in operands]
            points += [(np.array([x, y, 1.0]) @ here)[:2] * MM for x, y in zip(values[::2], values[1::2], strict=True)]
        elif name in {"S", "s", "f", "n", "B"} and points:
            yield np.array(points)
            points = []
        elif name == "Do":
            form = holder.Resources.XObject[str(operands[0])]  # type: ignore[attr-defined]
            if form.get("/Subtype") == "/Form":
                inner = matrix([float(v) for v in form.get("/Matrix", [1, 0, 0, 1, 0, 0])])
                yield from chained(subpaths(pdf, form, inner @ here))


def chained(paths: Iterable[np.ndarray]) -> Iterator[np.ndarray]:
    """Paths that begin where the one before ended are one: a layer tells an outline by what repeats in it."""
    chain: list[np.ndarray] = []
    for path in paths:
        if chain and math.dist(chain[-1][-1], path[0]) > 0.05:
            yield np.concatenate(chain)
            chain = []
        chain.append(path)
    if chain:
        yield np.concatenate(chain)


def sizes(paths: list[np.ndarray]) -> list[tuple[float, float]]:
    """Width and height of each."""
    return [(float(np.ptp(each[:, 0])), float(np.ptp(each[:, 1]))) for each in paths]


@pytest.fixture(scope="module", params=["a4", "letter"])
def last_page(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> list[np.ndarray]:
    """Every path on the last page of First Frost."""
    found = pages("first-frost", request.param)
    file = tmp_path_factory.mktemp("pdf") / "x.pdf"
    file.write_bytes(typeset(found.leaflet, found.stamped, found.press))
    with pikepdf.open(file) as pdf:
        assert pdf.Root.ViewerPreferences.PrintScaling == "/None"
        return list(subpaths(pdf, pdf.pages[-1], np.eye(3)))


def test_pins_stand_where_the_loom_has_them(last_page: list[np.ndarray]) -> None:
    """Each of the 36 holes, from the first, to 0.05 mm; the outline is as wide as the loom, 72 mm."""
    holes = [
        each
        for each, (w, h) in zip(last_page, sizes(last_page), strict=True)
        if abs(w - 1.2) < 0.02 and abs(h - 1.2) < 0.02
    ]
    middles = np.array([(each.max(axis=0) + each.min(axis=0)) / 2 for each in holes])
    lace = lace_of("first-frost")
    wanted = np.array([(place.imag, place.real) for place in lace.loom.places])
    assert len(middles) == len(wanted) == 36
    assert np.abs((middles - middles[0]) - (wanted - wanted[0])).max() < 0.05
    assert any(abs(w - 72) < 0.05 and abs(h - 72) < 0.05 for w, h in sizes(last_page))


def test_the_square_and_the_rulers_are_true(last_page: list[np.ndarray]) -> None:
    """50 mm by 50 mm; 100 mm; 4 inches of 25.4 mm; to 0.05 mm."""
    found = sizes(last_page)
    for wanted in ((50.0, 50.0), (100.0, 0.0), (101.6, 0.0)):
        assert any(abs(w - wanted[0]) < 0.05 and abs(h - wanted[1]) < 0.05 for w, h in found), wanted


def test_all_of_it_lies_on_both_papers(last_page: list[np.ndarray]) -> None:
    """Inside 210 by 279.4 mm, what A4 and Letter have in common, 5 mm from its edge, on a sheet of either."""
    everything = np.concatenate([each for each, (w, h) in zip(last_page, sizes(last_page), strict=True) if w + h > 0])
    assert np.ptp(everything[:, 0]) < 210 - 10
    assert np.ptp(everything[:, 1]) < 279.4 - 10


@pytest.mark.parametrize("demo", ["night-heron", "mussel-shell", "window-frost", "low-sun", "drift-ice"])
@pytest.mark.parametrize(
    "layout", [TrueSizeLayout(174.0, 218.0), TrueSizeLayout(124.0, 152.0), TrueSizeLayout(116.0, 150.0)]
)
def test_every_pin_is_on_some_tile_and_tiles_fit_together(demo: str, layout: TrueSizeLayout) -> None:
    """Laid so that seams meet, all tiles show the loom once: neighbours are shifted by their room less the overlap."""
    checked = check_file(PATTERNS / f"{demo}.yaml")
    assert checked.lace
    assert checked.pattern
    tiles = true_size_pages(checked.lace, checked.pattern.loom, FIGURES, layout)
    assert [tile.id for tile in tiles] == [f"truesize-{number}" for number in range(1, len(tiles) + 1)]
    for tile in tiles:
        assert (tile.width, tile.height) == (layout.width, layout.height)
        for item in tile.items:
            left, low, right, high = box_of(item)
            assert left >= -0.2
            assert low >= -0.2
            assert right <= layout.width + 0.2
            assert high <= layout.height + 0.2
    if len(tiles) == 1:
        return
    wholes = [next(item for item in tile.items if isinstance(item, Clipped)) for tile in tiles]
    offsets = [_outline(whole) for whole in wholes]
    steps = {round(b[0] - a[0], 3) for a, b in itertools.pairwise(offsets)}
    assert steps & {-round(layout.room[0] - OVERLAP_MM, 3), 0.0}
    labels = [item.text for tile in tiles for item in tile.items if isinstance(item, Words) and "/" in item.text]
    assert labels == [f"{number} / {len(tiles)}" for number in range(1, len(tiles) + 1)]


@pytest.mark.parametrize("demo", ["night-heron", "mussel-shell", "willow-walk"])
def test_seams_and_page_numbers_leave_every_pin_number_readable(demo: str) -> None:
    """On A5 pins of the middle lie on seams: a seam breaks off beside their numbers; pages are numbered off the loom."""
    checked = check_file(PATTERNS / f"{demo}.yaml")
    assert checked.lace
    assert checked.pattern
    tiles = true_size_pages(checked.lace, checked.pattern.loom, FIGURES, TrueSizeLayout(124.0, 168.0))
    assert len(tiles) > 1
    for tile in tiles:
        loom = next(item for item in tile.items if isinstance(item, Clipped))
        numbers = [box_of(item) for item in loom.items if isinstance(item, Words)]
        seams = [item for item in tile.items if isinstance(item, Line) and item.colour == ACCENT]
        dashes = [dash for seam in seams for dash in _pieces(seam)]
        assert len(numbers) >= 56
        assert len(dashes) > 20
        assert not [number for number in numbers for dash in dashes if _meet(number, dash)]
        label = next(box_of(item) for item in tile.items if isinstance(item, Words) and "/" in item.text)
        pins = [box_of(item) for item in loom.items if isinstance(item, Placed) and item.layer.id == "hole"]
        assert not [each for each in (*numbers, *pins, *dashes) if _meet(label, each)]


def _pieces(seam: Line) -> Iterator[Box]:
    """Every dash of a seam."""
    points = vertices_of(seam.path)
    return ((*low, *high) for low, high in ((np.sort(pair, axis=0)) for pair in points.reshape(-1, 2, 2)))


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _outline(item: object) -> tuple[float, float]:
    """Where the whole outline of a tile's loom begins."""
    assert isinstance(item, Clipped)
    left, low, *_ = box_of(next(each for each in item.items if isinstance(each, Placed) and each.layer.id == "rim"))
    return left, low


def test_the_pages_of_a_leaflet_are_its_tiles() -> None:
    """On A5 Night Heron takes several; each has words that stand for it, and its number; how they are joined is said."""
    found = pages("night-heron", "a5")
    part = found.leaflet.true_size
    assert len(part.pictures) > 1
    assert (len(part.sentences), len(part.joining), len(part.cautions)) == (2, 1, 1)
    assert [shown.id for shown in part.pictures] == [f"truesize-{n}" for n in range(1, len(part.pictures) + 1)]
    assert f"page 2 of {len(part.pictures)}" in part.pictures[1].alt
    assert re.search("100 %", part.sentences[0])
