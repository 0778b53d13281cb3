"""The locator: where a round begins on the whole loom, and how many rays lie before it."""

from collections.abc import Callable
from typing import Any

import pytest

from pipeline.craft.assembly import Lace
from pipeline.drawing.locator import locator
from pipeline.drawing.picture import ACCENT, INK, Area, Figures, Words
from pipeline.language.fonts import find_fonts

FILES = find_fonts("Latn", ()).files
FIGURES = Figures(FILES[0].path, FILES[1].path)
PlaceTree = Callable[[dict[str, Any]], Lace]


@pytest.mark.parametrize(
    ("stitch", "count"),
    [
        ({"knot": {"rays": 6}, "at": "20 mm"}, None),
        ({"knot": {"rays": 6, "shift": 5}, "at": "20 mm"}, "5"),
        ({"edge-loops": {}}, None),
        ({"edge-arches": {}}, "1"),
        ({"knot": {"rays": 2}, "at": "20 mm", "part": {"from": 8, "rays": 12, "every": 24}}, "8"),
    ],
)
def test_rays_from_the_mark_are_counted(
    place_tree: PlaceTree, example: dict[str, Any], stitch: dict[str, Any], count: str | None
) -> None:
    """A figure where the round does not begin at the mark, also where its notation has no sign for that."""
    lace = place_tree(example | {"rounds": [stitch]})
    items = list(locator(lace, lace.rounds[0], FIGURES))
    assert [item.text for item in items if isinstance(item, Words)] == ([count] if count else [])


@pytest.mark.parametrize("quarter", range(4))
def test_the_wedge_stands_where_the_round_begins(place_tree: PlaceTree, example: dict[str, Any], quarter: int) -> None:
    """After so many quarters of the rays: at the top, right, below, left of the loom; the mark stays at the top."""
    lace = place_tree(
        example | {"rounds": [{"knot": {"rays": 4, "shift": quarter * example["loom"]["pins"] // 2}, "at": "20 mm"}]}
    )
    areas = [item for item in locator(lace, lace.rounds[0], FIGURES) if isinstance(item, Area)]
    dot, mark, wedge = (item.path.get_extents() for item in areas)
    assert [item.colour for item in areas[1:]] == [INK, ACCENT]
    middle = complex((dot.y0 + dot.y1) / 2, (dot.x0 + dot.x1) / 2)
    assert mark.y0 > middle.real + 3
    aside = complex((wedge.y0 + wedge.y1) / 2, (wedge.x0 + wedge.x1) / 2) - middle
    assert (aside * (-1j) ** quarter).real > 1.5


def test_a_half_circle_has_none(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Its rows begin at one end or the other, as the fan shows."""
    loom = {"shape": "half-circle", "diameter": "84 mm", "pins": 30}
    lace = place_tree(example | {"loom": loom, "rounds": [{"knot": {"rays": 4}, "at": "20 mm"}]})
    assert not list(locator(lace, lace.rounds[0], FIGURES))
