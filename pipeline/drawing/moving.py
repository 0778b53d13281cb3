"""Items moved to another place of a picture, as they are or at another size."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from pipeline.drawing.outline import moved
from pipeline.drawing.picture import Clipped, Item, Line, Placed, Words


def moved_items(items: Iterable[Item], x: float, y: float, *, scale: float = 1.0) -> Iterator[Item]:
    """Items scaled about the origin, their strokes with them, then so far to the right and up."""
    for item in items:
        if isinstance(item, Words):
            yield replace(item, size=item.size * scale, x=item.x * scale + x, y=item.y * scale + y)
        elif isinstance(item, Placed):
            width, larger = item.width * scale, item.scale * scale
            yield replace(item, width=width, scale=larger, x=item.x * scale + x, y=item.y * scale + y)
        else:
            path = moved(item.path, scale=scale, x=x, y=y)
            if isinstance(item, Clipped):
                yield Clipped(path, tuple(moved_items(item.items, x, y, scale=scale)))
            elif isinstance(item, Line):
                yield replace(item, path=path, width=item.width * scale)
            else:
                yield replace(item, path=path)
