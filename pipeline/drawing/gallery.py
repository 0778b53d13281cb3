"""Pictures of several patterns for one document: small views, threads, marks of levels, each with an id of its own."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Final

from pipeline.craft.assembly import Lace
from pipeline.drawing.glyphs import glyph_items
from pipeline.drawing.picture import Clipped, Item, Picture, Placed
from pipeline.drawing.portrait import portrait
from pipeline.drawing.swatch import swatch
from pipeline.symbols import SymbolSet

VIEW_MM: Final = 66.0
VIEW_MARGIN_MM: Final = 3.5
LEAF_MM: Final = 5.0
LEAF_PITCH_MM: Final = 5.6


def views(owner: str, lace: Lace, colours: Mapping[str, str]) -> Iterator[Picture]:
    """The lifelike view of a pattern, small and square, and its threads; ``owner`` is the pattern's id."""
    small = portrait(lace, colours, width=VIEW_MM, height=VIEW_MM, margin=VIEW_MARGIN_MM)
    for picture in (small, *(swatch(letter, thread, colours[letter]) for letter, thread in lace.threads.items())):
        yield apart(picture, owner)


def own(name: str, owner: str) -> str:
    """What a picture of a pattern is called among those of others; ids have no dots.

    >>> own("portrait", "first-frost")
    'first-frost.portrait'
    """
    return f"{owner}.{name}"


def apart(picture: Picture, owner: str) -> Picture:
    """The same picture, its id and those of its layers told from any other pattern's."""
    return replace(picture, id=own(picture.id, owner), items=tuple(_apart(picture.items, owner)))


def _apart(items: Iterable[Item], owner: str) -> Iterator[Item]:
    for item in items:
        if isinstance(item, Placed):
            yield replace(item, layer=replace(item.layer, id=own(item.layer.id, owner)))
        elif isinstance(item, Clipped):
            yield replace(item, items=tuple(_apart(item.items, owner)))
        else:
            yield item


def leaves(level: int, levels: int, symbols: SymbolSet) -> Picture:
    """A level as a row of leaves, those that are reached filled."""
    items: list[Item] = []
    for place in range(levels):
        leaf = symbols.symbol("leaf-filled" if place < level else "leaf")
        items += glyph_items(leaf, size=LEAF_MM, x=place * LEAF_PITCH_MM)
    return Picture(f"level-{level}", (levels - 1) * LEAF_PITCH_MM + LEAF_MM, LEAF_MM, tuple(items))
