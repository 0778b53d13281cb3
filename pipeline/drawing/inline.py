"""Pictures as inlays: SVG that stands in a page of HTML, every layer and letter of it drawn once for the whole page.

A page holds the definitions of its inlays once; each place then holds the picture, or, of a small one that comes
again and again, a reference to it. Coordinates are whole fiftieths of a millimetre, with y downward.
The colours of our palette are told by name (``var(--accent)``, ``currentColor`` for ink), so that the page's style
decides about them; those of a picture on a ground of linen stay what they are. SVG 2, chapters 5 and 8.
"""

import html
import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from matplotlib.path import Path

from pipeline.drawing.lettering import EM_MM, letters
from pipeline.drawing.outline import short, vertices_of
from pipeline.drawing.picture import (
    ACCENT,
    INK,
    LINEN,
    PAPER,
    QUIET_GLYPH,
    RULE,
    SECONDARY,
    Area,
    Clipped,
    Item,
    Layer,
    Line,
    Picture,
    Placed,
    Words,
)
from pipeline.drawing.repeats import Repeated, by_turns

UNITS_PER_MM: Final = 50
NAMED: Final[Mapping[str, str]] = {
    INK: "currentColor",
    ACCENT: "var(--accent)",
    SECONDARY: "var(--secondary)",
    QUIET_GLYPH: "var(--quiet)",
    RULE: "var(--rule)",
    PAPER: "var(--ground)",
}
"""What the colours of our palette are called where the page decides about them."""
LOGO: Final = "logo"
SHARED: Final = ("glyph-", "panel")
"""How the ids of pictures begin that may stand in many places of a page."""


@dataclass(frozen=True, slots=True)
class Inlay:
    """A picture ready to be placed; ``width`` and ``height`` in fiftieths of a mm."""

    width: int
    height: int
    content: str

    def placed(self, alt: str, css_class: str = "") -> str:
        """The picture in its place; ``alt`` stands for it, without one it is hidden from whoever listens."""
        said = f'role="img" aria-label="{html.escape(alt)}"' if alt else 'aria-hidden="true"'
        named = f'class="{html.escape(css_class)}" ' if css_class else ""
        box = f'viewBox="0 0 {self.width} {self.height}"'
        return f'<svg {named}{said} {box} fill="none" stroke-linejoin="round">{self.content}</svg>'


@dataclass(frozen=True, slots=True)
class Inlays:
    """The pictures of a page by id, and what they are made of; the page holds that once."""

    definitions: str
    by_id: Mapping[str, Inlay]


def inlays(pictures: Iterable[Picture], *, in_full: bool = False) -> Inlays:
    """Pictures ready to be placed in one page; ``in_full`` as in ``operators.picture_operators``."""
    writing, by_id = _Writing(in_full), {}
    for picture in pictures:
        width, height = (round(side * UNITS_PER_MM) for side in (picture.width, picture.height))
        content = _written(picture.items, _Ground(height, own_colours=_own_colours(picture)), writing)
        if picture.id.startswith(SHARED):
            frame = f'id="{picture.id}" viewBox="0 0 {width} {height}"'
            writing.definitions.append(f"<symbol {frame}>{content}</symbol>")
            content = f'<use href="#{picture.id}"/>'
        by_id[picture.id] = Inlay(width, height, content)
    held = "\n".join(writing.definitions)
    return Inlays(
        f'<svg class="definitions" width="0" height="0" aria-hidden="true"><defs>\n{held}\n</defs></svg>', by_id
    )


def picture_file(picture: Picture) -> bytes:
    """A picture on a ground of its own as a small SVG file; it takes no colour from a page."""
    made = inlays([picture])
    inlay = made.by_id[picture.id]
    frame = f'viewBox="0 0 {inlay.width} {inlay.height}" width="{inlay.width}" height="{inlay.height}"'
    defined = made.definitions.partition("<defs>")[2].partition("</defs>")[0]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {frame} fill="none" stroke-linejoin="round">'
        f"<defs>{defined}</defs>{inlay.content}</svg>\n"
    ).encode()


@dataclass(frozen=True, slots=True)
class _Writing:
    """What is gathered while pictures are written: definitions, and the short ids of layers and clips."""

    in_full: bool = False
    definitions: list[str] = field(default_factory=list)
    layers: dict[str, str] = field(default_factory=dict)
    clips: dict[str, str] = field(default_factory=dict)

    def layer(self, layer: Layer) -> str:
        """The short id of a layer, which is drawn when it is first met."""
        if layer.id not in self.layers:
            name = self.layers[layer.id] = f"L{len(self.layers)}"
            self.definitions.append(_layer(layer, name, in_full=self.in_full))
        return self.layers[layer.id]

    def clip(self, drawn: str) -> str:
        """The short id of what something is clipped to."""
        if drawn not in self.clips:
            name = self.clips[drawn] = f"C{len(self.clips)}"
            self.definitions.append(f'<clipPath id="{name}"><path d="{drawn}"/></clipPath>')
        return self.clips[drawn]


@dataclass(frozen=True, slots=True)
class _Ground:
    """What a picture stands on: its height in fiftieths of a mm, and whether its colours are its own."""

    height: int
    own_colours: bool

    def colour(self, colour: str) -> str:
        """A colour as the page calls it."""
        return colour if self.own_colours else NAMED.get(colour, colour)

    def path(self, path: Path) -> str:
        """A path of the picture."""
        return path_data(path, self.height)


def _own_colours(picture: Picture) -> bool:
    """Whether colours must stay what they are: on a ground of linen they are those of threads, or it is a logo."""
    ground = any(isinstance(item, Area) and item.colour == LINEN for item in picture.items[:1])
    return ground or picture.id == LOGO


def _written(items: Sequence[Item], ground: _Ground, writing: _Writing) -> str:
    """Items in their order; the paint of neighbours is said once, and their strokes are one path."""
    said = []
    for paint, group in itertools.groupby(items, lambda item: _paint(item, ground, writing)):
        alike = list(group)
        lines = [item.path for item in alike if isinstance(item, Line)]
        if len(lines) == len(alike):
            said.append(f'<path{paint} d="{"".join(map(ground.path, lines))}"/>')
        elif len(alike) == 1:
            said.append(_one(alike[0], paint, ground, writing))
        else:
            said.append(f"<g{paint}>{''.join(_one(item, '', ground, writing) for item in alike)}</g>")
    return "".join(said)


def _paint(item: Item, ground: _Ground, writing: _Writing) -> str:
    """What an item is painted with, as attributes; what is clipped is painted item by item."""
    if isinstance(item, Clipped):
        return f' clip-path="url(#{writing.clip(ground.path(item.path))})"'
    colour = ground.colour(item.colour)
    if isinstance(item, Area | Words):
        return f' fill="{colour}"'
    # In a layer that is placed larger or smaller, a stroke is so much narrower or wider: its width is of paper.
    width = item.width * UNITS_PER_MM / (item.scale if isinstance(item, Placed) else 1.0)
    cap = ' stroke-linecap="round"' if item.cap == "round" else ""
    return f' stroke="{colour}" stroke-width="{short(width)}"{cap}'


def _one(item: Item, paint: str, ground: _Ground, writing: _Writing) -> str:
    """An item with its paint."""
    if isinstance(item, Clipped):
        return f"<g{paint}>{_written(item.items, ground, writing)}</g>"
    if isinstance(item, Words):
        return _words(item, paint, ground, writing)
    if isinstance(item, Placed):
        return f'<use{paint} href="#{writing.layer(item.layer)}" transform="{_transform(item, ground)}"/>'
    return f'<path{paint} d="{ground.path(item.path)}"/>'


def _transform(item: Placed, ground: _Ground) -> str:
    """Scaled, turned clockwise, mirrored where asked for, then moved; of SVG's transforms the last comes first."""
    x, y = item.x * UNITS_PER_MM, ground.height - item.y * UNITS_PER_MM
    side = -1 if item.flip else 1
    turned = f"rotate({short(math.degrees(item.turn), 4)})" if item.turn else ""
    mirrored = "scale(-1 1)" if item.flip and item.turn else ""
    across = f"{short(side * item.scale, 4)} " if item.flip and not item.turn else ""
    scaled = "" if item.scale == 1 and not across else f"scale({across}{short(item.scale, 4)})"
    return f"translate({short(x)} {short(y)}){mirrored}{turned}{scaled}"


def _words(words: Words, paint: str, ground: _Ground, writing: _Writing) -> str:
    """Letter after letter."""
    scale = words.size / EM_MM
    x, y = words.x * UNITS_PER_MM, ground.height - words.y * UNITS_PER_MM
    said = "".join(
        f'<use href="#{writing.layer(layer)}" x="{along / scale * UNITS_PER_MM:.0f}"/>'
        for layer, along in letters(words)
    )
    return f'<g{paint} transform="translate({short(x)} {short(y)})scale({short(scale, 4)})">{said}</g>'


def _layer(layer: Layer, name: str, *, in_full: bool) -> str:
    """A layer without colour or width: it takes both from where it is placed."""
    if layer.filled or in_full:
        return f'<path id="{name}" d="{path_data(layer.path)}"/>'
    told = by_turns(layer.path)
    if len(told) == 1 and told[0].times == 1:
        return f'<path id="{name}" d="{path_data(layer.path)}"/>'
    parts = "".join(_turned(each, f"{name}-{number}") for number, each in enumerate(told))
    return f'<g id="{name}">{parts}</g>'


def _turned(each: Repeated, name: str) -> str:
    """A part of a layer as often as it comes: a row of them beside one another, and that row again and again."""
    drawn = path_data(each.part)
    if each.times == 1:
        return f'<path d="{drawn}"/>'
    row = math.isqrt(each.times)
    rows, rest = divmod(each.times, row)
    one = "".join(_use(f"{name}-", place * each.turn) for place in range(1, row))
    more = "".join(_use(name, place * row * each.turn) for place in range(1, rows))
    last = "".join(_use(f"{name}-", (rows * row + place) * each.turn) for place in range(rest))
    return f'<g id="{name}"><path id="{name}-" d="{drawn}"/>{one}</g>{more}{last}'


def _use(name: str, turn: float) -> str:
    return f'<use href="#{name}" transform="rotate({short(math.degrees(turn), 4)})"/>'


_SEGMENTS: Final = {
    int(Path.MOVETO): ("M", 1),
    int(Path.LINETO): ("l", 1),
    int(Path.CURVE4): ("c", 3),
    int(Path.CLOSEPOLY): ("z", 1),
}
"""The letter of a segment, and how many points it has."""


def path_data(path: Path, height: int = 0) -> str:
    """A path as SVG says it, in fiftieths of a mm with y downward from ``height``.

    >>> path_data(Path([(0, 0), (1, 0), (1, 1), (0, 0)], [1, 2, 2, 79]), 100)
    'M0 100l50 0 0-50z'
    """
    said, before = [], ""
    for letter, figures in _segments(path, height):
        text = " ".join(map(str, figures)).replace(" -", "-")
        if letter == before:
            said.append(text if text.startswith("-") else f" {text}")
        else:
            said.append(letter + text)
        before = letter
    return "".join(said)


def _segments(path: Path, height: int) -> Iterator[tuple[str, list[int]]]:
    """Segments by their letters; after its start everything is told from the point before."""
    whole = vertices_of(path) * (UNITS_PER_MM, -UNITS_PER_MM) + np.array((0, height))
    points = np.round(whole).astype(np.int64)
    codes = [int(code) for code in np.asarray(path.codes)]
    place, here, start = 0, np.zeros(2, int), np.zeros(2, int)
    while place < len(codes):
        letter, count = _SEGMENTS[codes[place]]
        found = points[place : place + count]
        if letter == "M":
            yield letter, found[0].tolist()
            here = start = found[0]
        elif letter == "z":
            yield letter, []
            here = start
        else:
            yield letter, (found - here).ravel().tolist()
            here = found[-1]
        place += count
