"""Pictures as inlays: what a browser draws of them is what every other output shows."""

import base64
import io
import math
import re
import xml.etree.ElementTree as ET
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.path import Path as Outline
from numpy.typing import NDArray
from PIL import Image

from pipeline.catalogue.make import figures_of
from pipeline.drawing.album import draw, glyphs, panels
from pipeline.drawing.export import export
from pipeline.drawing.inline import NAMED, UNITS_PER_MM, Inlays, inlays, path_data
from pipeline.drawing.lettering import written
from pipeline.drawing.mirror import mirrored
from pipeline.drawing.outline import arc, circle, joined, moved, polyline, rectangle
from pipeline.drawing.picture import ACCENT, INK, LINEN, PAPER, Area, Clipped, Layer, Line, Picture, Placed
from pipeline.files import check_file
from pipeline.language.fonts import find_fonts
from pipeline.leaflet.screen import LAYOUT, LIGHT
from pipeline.notation import write
from pipeline.symbols import SymbolSet

PATTERNS = Path(__file__).resolve().parent.parent.parent / "patterns"
PX_PER_MM = 6
DPI = PX_PER_MM * 25.4
FIGURES = figures_of(find_fonts("Latn", ()))

Shoot = Callable[[Iterable[Picture]], list[NDArray[np.float64]]]


def album(demo: str, symbols: SymbolSet, *, left_handed: bool = False) -> tuple[Picture, ...]:
    """The pictures of a demo, drawn for screens; room above them fills up their last pixel."""
    checked = check_file(PATTERNS / f"{demo}.yaml")
    assert checked.lace is not None
    assert checked.pattern is not None
    drawn = draw(checked.lace, write(checked.lace), symbols, figures=FIGURES, colours=checked.pattern.colours, layout=LAYOUT,
                 left_handed=left_handed)  # fmt: skip
    return tuple(replace(picture, height=math.ceil(picture.height * PX_PER_MM) / PX_PER_MM) for picture in drawn)


@pytest.fixture
def shoot(browser: Any, tmp_path: Path) -> Shoot:
    """What a browser draws of pictures that stand one below the other in one page, in grey, 0 black to 255."""

    def run(pictures: Iterable[Picture]) -> list[NDArray[np.float64]]:
        shown = list(pictures)
        page = tmp_path / "page.html"
        page.write_text(page_of(inlays(shown)), encoding="utf-8")
        browser.get(page.as_uri())
        return [_grey(_shot(browser, place)) for place in _places(shown)]

    return run


def page_of(drawn: Inlays) -> str:
    """A page of all pictures, each as large as it is on paper."""
    palette = "".join(f"--{name}: {colour};" for name, colour in LIGHT.items())
    sizes = "".join(
        f".of-{name} {{ width: {each.width / UNITS_PER_MM * PX_PER_MM}px; height: {each.height / UNITS_PER_MM * PX_PER_MM}px }}"
        for name, each in drawn.by_id.items()
    )
    placed = "".join(each.placed(name, f"of-{name}") for name, each in drawn.by_id.items())
    style = f":root {{ {palette} color: {INK} }} body {{ margin: 0 }} svg {{ display: block }} .definitions {{ position: absolute }}"
    return f"<!DOCTYPE html><meta charset=utf-8><style>{style}{sizes}</style>{drawn.definitions}{placed}"


def _places(pictures: Iterable[Picture]) -> Iterator[tuple[float, float, float]]:
    """Top, width and height of each in the page, px."""
    top = 0.0
    for picture in pictures:
        width, height = picture.width * PX_PER_MM, picture.height * PX_PER_MM
        yield top, width, height
        top += height


def _shot(browser: Any, place: tuple[float, float, float]) -> bytes:
    top, width, height = place
    clip = {"x": 0, "y": top, "width": width, "height": height, "scale": 1}
    taken = browser.execute_cdp_cmd("Page.captureScreenshot", {"clip": clip, "captureBeyondViewport": True})
    return base64.b64decode(taken["data"])


def _grey(png: bytes) -> NDArray[np.float64]:
    return np.asarray(Image.open(io.BytesIO(png)).convert("L"), dtype=np.float64)


def difference(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    """The mean difference of two grey pictures as a share of the ink in the second; their edges may be a pixel apart."""
    height, width = (min(sides) for sides in zip(one.shape, other.shape, strict=True))
    one, other = one[:height, :width], other[:height, :width]
    return float(np.abs(one - other).sum() / (255 - other).sum())


def exported(picture: Picture) -> NDArray[np.float64]:
    """The same picture as every other output shows it."""
    return _grey(export(picture, "png", dpi=DPI, ground=PAPER))


@pytest.mark.parametrize(
    ("demo", "hand", "names"),
    [
        ("night-heron", "right", {"swatch-A", "portrait", "sector", "laying", "step-1", "step-4", "chart", "ladder"}),
        ("drift-ice", "left", {"mat", "step-3", "portrait", "chart"}),
    ],
)
def test_a_browser_draws_what_a_file_of_its_own_shows(
    demo: str, hand: str, names: set[str], symbols: SymbolSet, shoot: Shoot
) -> None:
    """Wheels, fans, figures, clips, threads on linen, mirrored ones too: no more than the edges of strokes differ."""
    pictures = [picture for picture in album(demo, symbols, left_handed=hand == "left") if picture.id in names]
    assert {picture.id for picture in pictures} == names
    for picture, seen in zip(pictures, shoot(pictures), strict=True):
        assert difference(seen, exported(picture)) < 0.16, picture.id


def bent(name: str) -> Layer:
    """A layer that is no mirror image of itself and turned into itself by no angle."""
    return Layer(name, joined([arc(4.0, 0.0, 1.3), polyline([(0, 0), (0, 4), (2, 3)])]))


@pytest.mark.parametrize("way", ["as it is", "mirrored"])
@pytest.mark.parametrize("turn", [0.0, 0.8])
@pytest.mark.parametrize("scale", [0.5, 1.0, 2.5])
def test_a_layer_lies_where_it_was_placed_and_its_stroke_is_of_paper(
    scale: float, turn: float, way: str, shoot: Shoot
) -> None:
    """Scaled, turned clockwise, mirrored: 2 mm wide all the same; a stroke wider by a twelfth, or the mirror image, is told from it."""
    placed = Placed(bent("bent"), 2.0, scale, 15.0, 13.0, turn, cap="round", flip=way == "mirrored")
    (seen,) = shoot([Picture("trial", 30.0, 25.0, (placed,))])
    assert difference(seen, exported(Picture("trial", 30.0, 25.0, (placed,)))) < 0.03
    wider = replace(placed, width=2.0 * 13 / 12)
    assert difference(seen, exported(Picture("trial", 30.0, 25.0, (wider,)))) > 0.04
    other = replace(placed, flip=not placed.flip)
    assert difference(seen, exported(Picture("trial", 30.0, 25.0, (other,)))) > 0.2


@pytest.mark.parametrize("times", [7, 36, 61])
def test_what_repeats_round_the_centre_is_told_by_turns(times: int, shoot: Shoot) -> None:
    """All of it is there, also a prime number of times, and it takes less than a third of the words."""
    petal = joined([polyline([(0.3, 3), (0.4, 6), (0.1, 9)]), arc(9.5, 0.0, 0.06)])
    wheel = Layer("wheel", joined(moved(petal, turn=math.tau * number / times) for number in range(times)))
    picture = Picture("trial", 22.0, 22.0, (Placed(wheel, 0.3, 1.0, 11.0, 11.0),))
    (seen,) = shoot([picture])
    assert difference(seen, exported(picture)) < 0.08
    told = inlays([picture])
    if times > 30:
        assert len(told.definitions) < len(path_data(wheel.path)) / 3 + 200


def elements(drawn: Inlays) -> list[ET.Element]:
    """Every element of a page that holds all pictures once."""
    text = drawn.definitions + "".join(each.placed(name) for name, each in drawn.by_id.items())
    return list(ET.fromstring(f"<page>{text}</page>").iter())  # noqa: S314


def test_every_id_is_there_once_and_every_reference_leads_somewhere(symbols: SymbolSet) -> None:
    """In a page of an album, glyphs and panels; layers and letters that many pictures share are drawn once."""
    drawn = inlays([*album("night-heron", symbols), *glyphs(symbols.signs, symbols), *panels(["knot"], symbols)])
    found = elements(drawn)
    ids = Counter(element.get("id") for element in found if element.get("id"))
    assert set(ids.values()) == {1}
    used = {element.get("href", "").removeprefix("#") for element in found if element.tag == "use"}
    used |= {name for element in found for name in re.findall(r"url\(#(\w+)\)", element.get("clip-path", ""))}
    assert used <= set(ids)
    assert {"L0", "C0", "glyph-start"} <= set(ids)
    assert any(name.startswith("panel") for name in ids)
    placings = Counter(name for each in drawn.by_id.values() for name in set(re.findall(r'"#(L\d+)"', each.content)))
    assert max(placings.values()) > 5


def test_a_glyph_is_drawn_once_and_referred_to(symbols: SymbolSet) -> None:
    """It is placed by its name; a chart, which stands in one place, is written there."""
    drawn = inlays([*glyphs(["knot"], symbols), Picture("chart", 10.0, 10.0, (Line(circle(2.0, 5, 5), 0.3),))])
    assert drawn.by_id["glyph-knot"].content == '<use href="#glyph-knot"/>'
    assert "<path" in drawn.by_id["chart"].content
    assert drawn.definitions.count("<symbol") == 1


def test_letters_are_drawn_once() -> None:
    """Three figures, two of them alike: two letters are defined, three are placed, each further along."""
    words = replace(written("121", size_pt=9, font=FIGURES.regular), x=1.0, y=2.0)
    drawn = inlays([Picture("trial", 10.0, 5.0, (words,))])
    assert drawn.definitions.count("<path id=") == 2
    places = [(element.get("href"), int(element.get("x", ""))) for element in elements(drawn) if element.tag == "use"]
    assert [name for name, _ in places] == ["#L0", "#L1", "#L0"]
    assert [x for _, x in places] == sorted({x for _, x in places})


def test_colours_of_the_palette_are_left_to_the_page() -> None:
    """Ink is the colour of the text, others are named; the page's palette has all of these names."""
    picture = Picture("trial", 10.0, 10.0, (Line(circle(2.0, 5, 5), 0.3), Area(circle(1.0, 5, 5), ACCENT),
                                           Area(circle(1.0, 2, 2), PAPER), Area(circle(1.0, 8, 8), "#123456")))  # fmt: skip
    content = inlays([picture]).by_id["trial"].content
    assert re.findall(r'(?:fill|stroke)="([^"]+)"', content) == [
        "currentColor", "var(--accent)", "var(--ground)", "#123456",
    ]  # fmt: skip
    assert {name[6:-1] for name in NAMED.values() if name.startswith("var")} <= set(LIGHT)


@pytest.mark.parametrize(("name", "ground"), [("swatch-A", LINEN), ("logo", "#00ff00")])
def test_colours_on_linen_and_of_a_logo_stay_what_they_are(name: str, ground: str) -> None:
    """A thread of the colour of our ink, or of paper, is that in the dark too."""
    items = (Area(rectangle(0, 0, 10, 10), ground), Line(circle(2.0, 5, 5), 0.3, INK), Area(circle(1.0, 5, 5), PAPER))
    content = inlays([Picture(name, 10.0, 10.0, items)]).by_id[name].content
    assert re.findall(r'(?:fill|stroke)="([^"]+)"', content) == [ground, INK, PAPER]


def test_a_picture_says_what_it_shows_or_is_silent() -> None:
    """Words stand for it, escaped; without words it is hidden from those who listen."""
    inlay = inlays([Picture("trial", 10.0, 10.0, (Line(circle(2.0, 5, 5), 0.3),))]).by_id["trial"]
    alt = 'a <b> & "c"'
    shown = ET.fromstring(inlay.placed(alt, "wide"))  # noqa: S314
    assert (shown.get("role"), shown.get("aria-label"), shown.get("class")) == ("img", alt, "wide")
    silent = ET.fromstring(inlay.placed(""))  # noqa: S314
    assert (silent.get("role"), silent.get("aria-hidden")) == (None, "true")


def test_what_is_clipped_is_clipped_by_a_path_that_is_drawn_once() -> None:
    """Two items cut to one outline in two pictures: one clip, with y downward."""
    cut = Clipped(rectangle(0, 0, 4, 4), (Area(circle(3.0, 4, 4)),))
    drawn = inlays([Picture(name, 10.0, 10.0, (cut,)) for name in ("one", "two")])
    assert drawn.definitions.count("<clipPath") == 1
    assert path_data(rectangle(0, 0, 4, 4), 500) == "M0 500l200 0 0-200-200 0z"
    assert all('clip-path="url(#C0)"' in each.content for each in drawn.by_id.values())


def test_a_path_is_told_from_point_to_point_without_drift() -> None:
    """A thousand steps of 0.013 mm: each is rounded, the end is where it was."""
    ends = [(0.013 * step, 0.0) for step in range(1001)]
    steps = path_data(polyline(ends)).removeprefix("M0 0l").replace("-", " -").split()
    assert sum(map(int, steps[::2])) == round(13.0 * UNITS_PER_MM)
    with pytest.raises(KeyError):
        path_data(Outline([(0, 0), (1, 1), (2, 0)], [Outline.MOVETO, Outline.CURVE3, Outline.CURVE3]))


def test_the_same_pictures_give_the_same_text(symbols: SymbolSet) -> None:
    """Twice drawn, twice the same; a mirrored picture is another one."""
    first, second = inlays(album("first-frost", symbols)), inlays(album("first-frost", symbols))
    assert first == second
    assert inlays(map(mirrored, album("first-frost", symbols))) != first
