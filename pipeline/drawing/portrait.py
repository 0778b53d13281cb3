"""The portrait: the finished wheel in its own colours and thicknesses, its right side up.

The right side is the one that lies against the loom: the picture is mirrored, and what was laid last lies lowest.
Each thread is drawn three times, dark and wide, then its colour, then a narrow light at the upper left.
"""

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from matplotlib.path import Path

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.craft.thread import bundle
from pipeline.drawing.outline import cubic, joined, rectangle, segment, vertices_of
from pipeline.drawing.picture import LINEN, Area, Item, Layer, Picture, Placed
from pipeline.drawing.working import courses, hitch, ring, weave, working_thread

MARGIN_MM: Final = 7.0
SHADOW: Final = "#cdc5b6"
_LIGHT: Final = (-0.10, 0.10)
APART: Final = 4
"""Of the pins in the order they are laid: so many layers, and none has two neighbours."""


@dataclass(frozen=True, slots=True)
class _Sheet:
    """The wheel on its ground."""

    lace: Lace
    colours: dict[str, str]
    x: float
    y: float
    scale: float

    def place(self, layer: Layer, width: float, colour: str, shift: tuple[float, float] = (0.0, 0.0)) -> Placed:
        """A layer of the lace, mirrored, scaled and moved to its place."""
        x, y = self.x + shift[0], self.y + shift[1]
        return Placed(layer, width, self.scale, x, y, colour=colour, cap="round", flip=True)

    def thread(self, layer: Layer, letter: str, *, thicker: float = 1.0) -> Iterator[Item]:
        """One thread in its colour and true thickness."""
        thickness = self.lace.threads[letter].thickness * self.scale * thicker
        colour = self.colours[letter]
        yield self.place(layer, thickness, shade(colour, 0.42))
        yield self.place(layer, thickness * 0.74, shade(colour, 0.9))
        aside = (_LIGHT[0] * thickness * 1.4, _LIGHT[1] * thickness * 1.4)
        yield self.place(layer, thickness * 0.24, tint(colour, 0.42), aside)


def portrait(lace: Lace, colours: dict[str, str], *, width: float, height: float) -> Picture:
    """The wheel on linen, ``width`` by ``height`` mm; ``colours`` by thread letter as #rrggbb."""
    up, across, down = lace.loom.shape.bounds
    scale = min((width - 2 * MARGIN_MM) / (2 * across), (height - 2 * MARGIN_MM) / (up + down))
    sheet = _Sheet(lace, colours, width / 2, (height - (up + down) * scale) / 2 + down * scale, scale)
    ground = Area(rectangle(0, 0, width, height, corner=2.2), LINEN)
    web, rings = _web_layers(lace), {done.number: _layer(done, "ring", ring(done)) for done in lace.rounds if done.tied}
    shadow = _shadow(sheet, (*web, *rings.values()))
    items = (ground, *shadow, *_worked(sheet, rings), *_below(sheet), *_web(sheet, web), *_woven(sheet))
    return Picture("portrait", width, height, items)


def _layer(done: LaceRound, name: str, path: Path) -> Layer:
    return Layer(f"portrait-{done.number}-{name}", path)


def _web_layers(lace: Lace) -> tuple[Layer, ...]:
    """The loops of all pins in as many layers as keep neighbours apart, the last laid first."""
    loops = tuple(_pin_loops(lace))
    return tuple(
        Layer(f"portrait-web-{part}", joined(loops[pin] for pin in reversed(lace.web.order[part::APART])))
        for part in reversed(range(APART))
    )


def _web(sheet: _Sheet, layers: Sequence[Layer]) -> Iterator[Item]:
    """Rays, both legs of a pin as one thread; first laid on top, as the maker sees them last."""
    for layer in layers:
        yield from sheet.thread(layer, sheet.lace.web_thread)


def _worked(sheet: _Sheet, rings: Mapping[int, Layer]) -> Iterator[Item]:
    """The rounds of knots, last to first."""
    for done in reversed(sheet.lace.rounds):
        if done.tied:
            yield from sheet.thread(rings[done.number], done.thread)
            yield from sheet.thread(_layer(done, "knots", joined(_wound(sheet, done))), done.thread, thicker=1.1)


def _below(sheet: _Sheet) -> Iterator[Item]:
    """Darned rows whole, so that they are seen between the rays they pass behind."""
    for done in sheet.lace.rounds:
        if done.in_rows and not done.counts.back:
            for row, letter in enumerate(done.threads):
                path = courses(sheet.lace, done, 1e6, (row,))
                yield from sheet.thread(_layer(done, f"course-{row}", path), letter)


def _woven(sheet: _Sheet) -> Iterator[Item]:
    """Darned rows, ridges, cords and woven groups: what passes over the rays on this side."""
    for number, done in enumerate(sheet.lace.rounds):
        if done.in_rows:
            for row, letter in enumerate(done.threads):
                path = weave(sheet.lace, done, 1e6, far_side=True, rows=(row,))
                yield from sheet.thread(_layer(done, f"row-{row}", path), letter)
        elif not done.tied:
            path = working_thread(sheet.lace, number, 1e6, far_side=True)
            yield from sheet.thread(_layer(done, "filling", path), done.thread)


def _wound(sheet: _Sheet, done: LaceRound) -> Iterator[Path]:
    """A knot as a short thread across its rays."""
    for node in done.worked.nodes:
        wide = bundle(sheet.lace.threads[sheet.lace.web_thread].thickness, len(node.rays)) * 1.15
        yield hitch(node.point, wide, sheet.lace.loom.shape.outward(node.point))


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
