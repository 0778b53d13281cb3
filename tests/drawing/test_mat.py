"""A mat on paper: every wheel and join in its place, and the pins that meet by their numbers."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from pipeline.craft.assembly import Lace
from pipeline.drawing.ink import box_of
from pipeline.drawing.mat import JOIN_MM, mat
from pipeline.drawing.outline import point, vertices_of
from pipeline.drawing.picture import ACCENT, Figures, Line, Picture, Placed, Words
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
    """One rim to a wheel, with the rounds in it; one mark to a join, on the rim of its wheel at its pin."""
    assert lace.mat is not None
    rims, rounds = (
        [item for item in picture.items if isinstance(item, Placed) and item.layer.id == name]
        for name in ("rim", "mat-rounds")
    )
    marks = [item for item in picture.items if isinstance(item, Line) and item.colour == ACCENT]
    marks = [item for item in marks if item.width == JOIN_MM]
    assert [(item.x, item.y, item.scale) for item in rims] == [(item.x, item.y, item.scale) for item in rounds]
    middles = np.array([(item.x, item.y) for item in rims])
    scale = rims[0].scale
    centres = np.array([point(centre) for centre in lace.mat.centres])
    assert middles - middles[0] == pytest.approx((centres - centres[0]) * scale)
    joins = np.array([point(lace.mat.centres[join.wheel] + lace.loom.point(join.pin)) for join in lace.mat.joins])
    places = np.array([vertices_of(item.path).mean(axis=0) for item in marks])
    assert places - middles[0] == pytest.approx((joins - centres[0]) * scale)
    assert np.hypot(*vertices_of(rims[0].layer.path)[::3].T) == pytest.approx(lace.loom.radius)


def test_the_pins_that_meet_are_numbered_from_one(lace: Lace) -> None:
    """Both pins of every join between the first two wheels."""
    picture = mat(lace, FIGURES, width=174.0, height=130.0)
    said = [item.text for item in picture.items if isinstance(item, Words) and item.font == FIGURES.bold]
    assert lace.mat is not None
    first = lace.mat.joins[0]
    pairs = [join for join in lace.mat.joins if (join.wheel, join.other) == (first.wheel, first.other)]
    assert said == [str(pin + 1) for join in pairs for pin in (join.pin, join.other_pin)]
