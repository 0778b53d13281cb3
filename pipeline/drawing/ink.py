"""Where the ink of an item lies on paper."""

from matplotlib.path import Path

from pipeline.drawing.lettering import outline
from pipeline.drawing.outline import moved
from pipeline.drawing.picture import Area, Clipped, Item, Placed, Words


def path_of(item: Item) -> Path:
    """What is stroked or filled, in mm of the picture; of clipped items what they are cut to."""
    if isinstance(item, Words):
        return outline(item)
    if isinstance(item, Placed):
        return moved(moved(item.layer.path, scale=item.scale, turn=item.turn), flip=item.flip, x=item.x, y=item.y)
    return item.path


def box_of(item: Item) -> tuple[float, float, float, float]:
    """Left, low, right, high, half a stroke included."""
    box = path_of(item).get_extents()
    extra = 0.0 if isinstance(item, Area | Clipped | Words) else item.width / 2
    return float(box.x0) - extra, float(box.y0) - extra, float(box.x1) + extra, float(box.y1) + extra
