"""Every shape of loom with every stitch: all pictures stay inside their frame, on wide and on narrow paper."""

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import pytest

from pipeline.craft.assembly import Lace
from pipeline.drawing.album import draw
from pipeline.drawing.ink import box_of
from pipeline.drawing.picture import Clipped, Figures, Item, Placed
from pipeline.language.fonts import find_fonts
from pipeline.leaflet.papers import PAPERS
from pipeline.notation import write
from pipeline.symbols import SymbolSet

PlaceTree = Callable[[dict[str, Any]], Lace]
FILES = find_fonts("Latn", ()).files
FIGURES = Figures(FILES[0].path, FILES[1].path)

LOOMS: dict[str, dict[str, Any]] = {
    "circle": {"shape": "circle", "diameter": "90 mm", "pins": 48},
    "wide-oval": {"shape": "oval", "width": "110 mm", "height": "80 mm", "pins": 48},
    "tall-oval": {"shape": "oval", "width": "80 mm", "height": "120 mm", "pins": 48},
    "square": {"shape": "square", "side": "84 mm", "pins": 48},
    "rectangle": {"shape": "rectangle", "width": "120 mm", "height": "80 mm", "pins": 48},
    "half-circle": {"shape": "half-circle", "diameter": "120 mm", "pins": 48},
}
FILLED: list[dict[str, Any]] = [
    {"darn": {}, "at": "9 mm", "rows": 3},
    {"knot": {"rays": 4}, "at": "14 mm"},
    {"knot": {"rays": 4}, "at": "24 mm"},
    {"wrap": {"rays": [4, {"pass": 4}]}, "at": "16 mm", "to": "22 mm"},
    {"weave": {"rays": [6, {"pass": 6}], "as": "leaf"}, "at": "26 mm", "to": "32 mm"},
    {"edge-picots": {"height": "2 mm", "inset": "4 mm"}},
]
WAVY: list[dict[str, Any]] = [
    {"rib": {}, "at": "14 mm", "rows": 2, "thread": ["A", "B"]},
    {"knot": {"rays": 4}, "at": ["18 mm", "22 mm"]},
    {"darn": {}, "at": "26 mm", "rows": 3, "part": {"from": 0, "rays": 36, "every": 48}, "thread": ["A", "B"]},
    {"knot": {"rays": 4, "shift": 2}, "at": "31 mm", "close": False},
    {"edge-loops": {}},
]
LOOM = {"rim", "laying-pins"}
"""Layers of the bare loom: the laying shows it whole, and so does the locator of every step."""


def reaches(items: Sequence[Item]) -> Iterator[tuple[float, float, float, float]]:
    """How far the ink goes; of what is clipped only its frame."""
    for item in items:
        yield box_of(item)


@pytest.mark.parametrize(("rounds", "paper"), [(FILLED, "a4"), (WAVY, "a5")], ids=["filled", "wavy"])
@pytest.mark.parametrize("loom", sorted(LOOMS))
def test_every_picture_of_every_shape_lies_inside_its_frame(
    place_tree: PlaceTree,
    symbols: SymbolSet,
    example: dict[str, Any],
    loom: str,
    rounds: list[dict[str, Any]],
    paper: str,
) -> None:
    """Ovals, boxes and half-circles with fillings, parts, wavy rounds, spirals and picots; nothing is left out."""
    if loom == "half-circle":
        rounds = [{key: value for key, value in entry.items() if key != "close"} for entry in rounds]
    threads = dict.fromkeys("AB", example["threads"]["A"])
    lace = place_tree(example | {"loom": LOOMS[loom], "rounds": rounds, "threads": threads})
    assert len(lace.rounds) == len(rounds), lace.findings
    colours = {"A": "#1b4f72", "B": "#b8862f"}
    pictures = draw(lace, write(lace), symbols, figures=FIGURES, colours=colours, layout=PAPERS[paper].album)
    assert {f"step-{number + 1}" for number in range(len(rounds))} <= {picture.id for picture in pictures}
    for picture in pictures:
        for left, foot, right, top in reaches(picture.items):
            assert left >= -0.3, picture.id
            assert foot >= -0.3, picture.id
            assert right <= picture.width + 0.3, picture.id
            assert top <= picture.height + 0.3, picture.id


def test_a_clip_holds_what_is_placed(place_tree: PlaceTree, symbols: SymbolSet, example: dict[str, Any]) -> None:
    """Layers of the lace are only ever placed inside a frame, but in the chart and the portrait, which show all of it."""
    lace = place_tree(example | {"loom": LOOMS["square"], "rounds": FILLED})
    pictures = draw(lace, write(lace), symbols, figures=FIGURES, colours={"A": "#1b4f72"}, layout=PAPERS["a4"].album)
    clipped = [item for picture in pictures for item in picture.items if isinstance(item, Clipped)]
    assert clipped
    for picture in pictures:
        unclipped = {item.layer.id for item in picture.items if isinstance(item, Placed)}
        assert picture.id in {"chart", "portrait"} or unclipped <= LOOM, picture.id
