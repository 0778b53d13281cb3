"""Items moved as they are to another place of a picture."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from pipeline.drawing.outline import moved
from pipeline.drawing.picture import Clipped, Item, Placed, Words


def moved_items(items: Iterable[Item], x: float, y: float) -> Iterator[Item]:
    """Items so far to the right and up."""
    for item in items:
        if isinstance(item, Clipped):
            yield Clipped(moved(item.path, x=x, y=y), tuple(moved_items(item.items, x, y)))
        elif isinstance(item, Placed | Words):
            yield replace(item, x=item.x + x, y=item.y + y)
        else:
            yield replace(item, path=moved(item.path, x=x, y=y))
