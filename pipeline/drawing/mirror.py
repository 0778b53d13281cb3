"""Pictures for left-handed work: the same, mirrored; figures stay upright and can be read."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from pipeline.drawing.ink import box_of
from pipeline.drawing.outline import moved
from pipeline.drawing.picture import Clipped, Item, Picture, Placed, Words


def mirrored(picture: Picture) -> Picture:
    """The whole picture mirrored about its upright middle."""
    return replace(picture, items=tuple(mirrored_items(picture.items, picture.width / 2)))


def mirrored_items(items: Iterable[Item], axis: float) -> Iterator[Item]:
    """Items mirrored about an upright line at ``axis``; words are only moved."""
    for item in items:
        if isinstance(item, Clipped):
            yield Clipped(moved(item.path, flip=True, x=2 * axis), tuple(mirrored_items(item.items, axis)))
        elif isinstance(item, Placed):
            yield replace(item, x=2 * axis - item.x, flip=not item.flip)
        elif isinstance(item, Words):
            left, _, right, _ = box_of(item)
            yield replace(item, x=item.x + 2 * axis - left - right)
        else:
            yield replace(item, path=moved(item.path, flip=True, x=2 * axis))
