"""A mat on paper: every wheel and join in its place, and the pins that meet by their numbers."""

from collections.abc import Callable
from typing import Any

import pytest

from pipeline.craft.assembly import Lace
from pipeline.drawing.ink import box_of
from pipeline.drawing.mat import mat
from pipeline.drawing.outline import vertices_of
from pipeline.drawing.picture import ACCENT, Area, Figures, Line, Picture, Words
from pipeline.language.fonts import find_fonts

PlaceTree = Callable[[dict[str, Any]], Lace]
FILES = find_fonts("Latn", ()).files
FIGURES = Figures(FILES[0].path, FILES[1].path)
LAYOUTS = [
    {"layout": "hex", "columns": 3, "rows": 2, "joins": 3},
    {"layout": "grid", "columns": 2, "rows": 4, "joins": 2},
    {"layout": "strip", "columns": 5, "rows": 1, "joins": 1},
]


@pytest.fixture(params=LAYOUTS, ids=["hex", "grid", "strip"])
def lace(request: pytest.FixtureRequest, place_tree: PlaceTree, example: dict[str, Any]) -> Lace:
    """A mat of small wheels."""
    rounds = [{"knot": {"rays": 4}, "at": "15 mm"}, {"edge-loops": {}}]
    return place_tree(example | {"rounds": rounds, "assembly": request.param})


@pytest.fixture
def picture(lace: Lace) -> Picture:
    """It on A4."""
    return mat(lace, FIGURES, width=174.0, height=130.0)


def test_a_mat_lies_inside_its_frame(picture: Picture) -> None:
    """No ink leaves the picture, which is as wide as the text."""
    assert picture.width == 174.0
    for item in picture.items:
        left, low, right, high = box_of(item)
        assert left >= -0.1
        assert low >= -0.1
        assert right <= picture.width + 0.1
        assert high <= picture.height + 0.1


def test_every_wheel_and_every_join_is_drawn(lace: Lace, picture: Picture) -> None:
    """One rim to a wheel, one mark to a join; circles are 25 points each, eight cubics and their start."""
    assert lace.mat is not None
    rims = next(item for item in picture.items if isinstance(item, Line) and item.width == 0.3)
    marks = next(item for item in picture.items if isinstance(item, Area) and item.colour == ACCENT)
    assert len(vertices_of(rims.path)) == 25 * len(lace.mat.centres)
    assert len(vertices_of(marks.path)) == 25 * len(lace.mat.joins)


def test_the_pins_that_meet_are_numbered_from_one(lace: Lace) -> None:
    """Both pins of every join between the first two wheels."""
    picture = mat(lace, FIGURES, width=174.0, height=130.0)
    said = [item.text for item in picture.items if isinstance(item, Words) and item.font == FIGURES.bold]
    assert lace.mat is not None
    first = lace.mat.joins[0]
    pairs = [join for join in lace.mat.joins if (join.wheel, join.other) == (first.wheel, first.other)]
    assert said == [str(pin + 1) for join in pairs for pin in (join.pin, join.other_pin)]
