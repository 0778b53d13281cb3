"""Items put elsewhere, and made larger: strokes, figures and layers with them."""

import pytest

from pipeline.drawing.ink import box_of
from pipeline.drawing.lettering import written
from pipeline.drawing.moving import moved_items
from pipeline.drawing.outline import circle, rectangle
from pipeline.drawing.picture import Area, Clipped, Item, Layer, Line, Placed
from pipeline.language.fonts import find_fonts

ITEMS: tuple[Item, ...] = (
    Line(circle(2.0, 5.0, 5.0), 0.5),
    Area(rectangle(1.0, 2.0, 3.0, 4.0)),
    written("12", size_pt=9, font=find_fonts("Latn", ()).files[0].path),
    Placed(Layer("a", rectangle(-1.0, -2.0, 3.0, 4.0)), 0.5, 2.0, 3.0, 4.0, turn=0.3),
    Clipped(rectangle(1.0, 2.0, 3.0, 4.0), (Line(circle(2.0, 5.0, 5.0), 0.5),)),
)


def inner(item: Item) -> Item:
    """What is clipped, in place of what it is clipped to."""
    return item.items[0] if isinstance(item, Clipped) else item


@pytest.mark.parametrize("scale", [1.0, 0.4, 3.0])
def test_the_ink_of_an_item_is_scaled_about_the_origin_and_moved(scale: float) -> None:
    """Every edge, half its stroke included, is where the sum says; also of what is clipped."""
    found = list(moved_items(ITEMS, 10.0, -5.0, scale=scale))
    for before, after in zip([*ITEMS, *map(inner, ITEMS)], [*found, *map(inner, found)], strict=True):
        left, low, right, high = (edge * scale for edge in box_of(before))
        assert box_of(after) == pytest.approx((left + 10, low - 5, right + 10, high - 5), abs=1e-6)
