"""The portrait: the finished wheel in its own colours and thicknesses, its right side up.

The right side is the one that lies against the loom: the picture is mirrored, and what was laid last lies lowest.
Each thread is drawn three times, dark and wide, then its colour, then a narrow light at the upper left.
"""

import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from matplotlib.path import Path

from pipeline.craft.assembly import Lace
from pipeline.craft.thread import bundle
from pipeline.drawing.outline import cubic, joined, rectangle, segment, vertices_of
from pipeline.drawing.picture import LINEN, Area, Item, Layer, Picture, Placed
from pipeline.drawing.working import courses, hitch, ring, weave, working_thread

MARGIN_MM: Final = 7.0
SHADOW: Final = "#cdc5b6"
PLAIN: Final = 0.35
"""Of its thickness a thread has where ink is saved."""
FINER: Final = 20
"""Threads lie as near as they do, down to this part of what is drawn side by side elsewhere: no eye counts more."""
_LIGHT: Final = (-0.10, 0.10)


@dataclass(frozen=True, slots=True)
class _Sheet:
    """The wheel on its ground."""

    lace: Lace
    colours: Mapping[str, str]
    x: float
    y: float
    scale: float
    plain: bool = False

    def place(self, layer: Layer, width: float, colour: str, shift: tuple[float, float] = (0.0, 0.0)) -> Placed:
        """A layer of the lace, mirrored, scaled and moved to its place."""
        x, y = self.x + shift[0], self.y + shift[1]
        return Placed(layer, width, self.scale, x, y, colour=colour, cap="round", flip=True)

    def thread(self, layer: Layer, letter: str, *, thicker: float = 1.0) -> Iterator[Item]:
        """One thread in its colour and true thickness."""
        thickness = self.lace.threads[letter].thickness * self.scale * thicker
        colour = self.colours[letter]
        if self.plain:
            yield self.place(layer, thickness * PLAIN, colour)
            return
        yield self.place(layer, thickness, shade(colour, 0.42))
        yield self.place(layer, thickness * 0.74, shade(colour, 0.9))
        aside = (_LIGHT[0] * thickness * 1.4, _LIGHT[1] * thickness * 1.4)
        yield self.place(layer, thickness * 0.24, tint(colour, 0.42), aside)


def portrait(
    lace: Lace,
    colours: Mapping[str, str],
    *,
    width: float,
    height: float,
    plain: bool = False,
    margin: float = MARGIN_MM,
) -> Picture:
    """The wheel on linen, ``width`` by ``height`` mm; ``colours`` by thread letter as #rrggbb.

    ``plain``: in fine lines on white, to save ink.
    """
    up, across, down = lace.loom.shape.bounds
    scale = min((width - 2 * margin) / (2 * across), (height - 2 * margin) / (up + down))
    sheet = _Sheet(lace, colours, width / 2, (height - (up + down) * scale) / 2 + down * scale, scale, plain)
    ground = Area(rectangle(0, 0, width, height, corner=2.2), LINEN)
    web, rings = _web_layers(lace), _layers("rings", _rings(lace))
    items = (
        *(() if plain else (ground, *_shadow(sheet, (*web, *rings.values())))),
        *_threads(sheet, rings),
        *_threads(sheet, _layers("knots", _knots(lace)), thicker=1.1),
        *_threads(sheet, _layers("below", _below(lace, FINER * scale))),
        *_web(sheet, web),
        *_threads(sheet, _layers("above", _above(lace, FINER * scale))),
    )
    return Picture("portrait", width, height, items)


def _layers(name: str, paths: Iterable[tuple[str, Path]]) -> Mapping[str, Layer]:
    """Paths of one kind as a layer for every thread, by its letter; the last ones lie lowest."""
    found: dict[str, list[Path]] = defaultdict(list)
    for letter, path in paths:
        found[letter].append(path)
    return {letter: Layer(f"portrait-{name}-{letter}", joined(paths)) for letter, paths in reversed(found.items())}


def _threads(sheet: _Sheet, layers: Mapping[str, Layer], *, thicker: float = 1.0) -> Iterator[Item]:
    for letter, layer in layers.items():
        yield from sheet.thread(layer, letter, thicker=thicker)


def _web_layers(lace: Lace) -> tuple[Layer, ...]:
    """The loops of all pins in layers that keep neighbours apart: every second pin; of an odd number one by itself."""
    loops, last = tuple(_pin_loops(lace)), lace.loom.pins - lace.loom.pins % 2
    parts = (loops[last:], loops[1:last:2], loops[:last:2])
    return tuple(Layer(f"portrait-web-{number}", joined(part)) for number, part in enumerate(parts) if part)


def _web(sheet: _Sheet, layers: Sequence[Layer]) -> Iterator[Item]:
    """Rays, both legs of a pin as one thread; first laid on top, as the maker sees them last."""
    for layer in layers:
        yield from sheet.thread(layer, sheet.lace.web_thread)


def _rings(lace: Lace) -> Iterator[tuple[str, Path]]:
    """The rounds of knots from knot to knot."""
    return ((done.thread, ring(done)) for done in lace.rounds if done.tied)


def _knots(lace: Lace) -> Iterator[tuple[str, Path]]:
    """Every knot as a short thread across its rays."""
    for done in lace.rounds:
        if done.tied:
            for node in done.worked.nodes:
                wide = bundle(lace.threads[lace.web_thread].thickness, len(node.rays)) * 1.15
                yield done.thread, hitch(node.point, wide, lace.loom.shape.outward(node.point))


def _below(lace: Lace, scale: float) -> Iterator[tuple[str, Path]]:
    """Darned rows whole, so that they are seen between the rays they pass behind."""
    for done in lace.rounds:
        if done.in_rows and not done.counts.back:
            for row, letter in enumerate(done.threads):
                yield letter, courses(lace, done, scale, (row,))


def _above(lace: Lace, scale: float) -> Iterator[tuple[str, Path]]:
    """Darned rows, ridges, cords and woven groups: what passes over the rays on this side."""
    for number, done in enumerate(lace.rounds):
        if done.in_rows:
            for row, letter in enumerate(done.threads):
                yield letter, weave(lace, done, scale, far_side=True, rows=(row,))
        elif not done.tied:
            yield done.thread, working_thread(lace, number, scale, far_side=True)


def _shadow(sheet: _Sheet, layers: Sequence[Layer]) -> Iterator[Item]:
    """One soft shadow for all, down to the right."""
    thickness = sheet.lace.threads[sheet.lace.web_thread].thickness * sheet.scale
    return (sheet.place(layer, thickness * 1.5, SHADOW, (0.3, -0.4)) for layer in layers)


def _pin_loops(lace: Lace) -> Iterator[Path]:
    """For every pin, the thread from the centre through all locks of one leg, round the pin and down the other."""
    trails = _trails(lace)
    for pin in range(lace.loom.pins):
        left, right = trails[2 * pin], trails[2 * pin + 1]
        top = lace.loom.point(pin)
        side = 1j * top / abs(top) * min(0.85, lace.loom.pin_spacing * 0.35)
        bend = abs(top - left[-1]) * 0.45 * top / abs(top)
        pieces = [segment(a, b) for a, b in itertools.pairwise(left)]
        pieces.append(cubic(left[-1], left[-1] + bend - 1.6 * side, top - 1.3 * side, top))
        pieces.append(cubic(top, top + 1.3 * side, right[-1] + bend + 1.6 * side, right[-1]))
        pieces += [segment(a, b) for a, b in itertools.pairwise(right[::-1])]
        yield _one_thread(pieces)


def _trails(lace: Lace) -> list[list[complex]]:
    """Centre and locks of every ray, side by side with its neighbours where they are tied together."""
    side = 0.55 * lace.threads[lace.web_thread].thickness
    asides: dict[tuple[int, complex], complex] = {}
    for done in lace.rounds:
        for node in done.worked.nodes:
            for place, ray in enumerate(node.rays):
                for point in (node.point, node.outer):
                    along = 1j * point / abs(point)
                    asides[ray, point] = (place - (len(node.rays) - 1) / 2) * side * along
    rays = lace.rounds[-1].rays if lace.rounds else lace.bare_rays()
    return [[lock + asides.get((number, lock), 0j) for lock in ray.locks] for number, ray in enumerate(rays)]


def _one_thread(pieces: list[Path]) -> Path:
    """Pieces end to end as one path, so that it is stroked as one thread."""
    vertices = [vertices_of(pieces[0])[:1]]
    codes = [int(Path.MOVETO)]
    for piece in pieces:
        vertices.append(vertices_of(piece)[1:])
        codes += [int(code) for code in np.asarray(piece.codes)[1:]]
    return Path(np.concatenate(vertices), codes)


def shade(colour: str, share: float) -> str:
    """A colour darkened to a share of itself.

    >>> shade("#1b4f72", 0.5)
    '#0e2839'
    """
    return "#" + "".join(f"{round(channel * share):02x}" for channel in _channels(colour))


def tint(colour: str, share: float) -> str:
    """A colour moved towards white.

    >>> tint("#000000", 0.5)
    '#808080'
    """
    return "#" + "".join(f"{round(channel + (255 - channel) * share):02x}" for channel in _channels(colour))


def _channels(colour: str) -> tuple[int, ...]:
    return tuple(int(colour[place : place + 2], 16) for place in (1, 3, 5))
