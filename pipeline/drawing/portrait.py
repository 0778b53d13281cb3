"""The portrait: the finished wheel in its own colours and thicknesses, its right side up.

The right side is the one that lies against the loom: the picture is mirrored, and what was laid last lies lowest.
Each thread is drawn three times, dark and wide, then its colour, then a narrow light at the upper left.
"""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from matplotlib.path import Path

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.drawing.outline import cubic, joined, moved, polyline, rectangle, segment, vertices_of
from pipeline.drawing.picture import LINEN, Area, Item, Line, Picture
from pipeline.drawing.strands import darned_rows, hitch

MARGIN_MM: Final = 7.0
SHADOW: Final = "#cdc5b6"
_LIGHT: Final = (-0.10, 0.10)


@dataclass(frozen=True, slots=True)
class _Sheet:
    """The wheel on its ground."""

    lace: Lace
    colours: dict[str, str]
    x: float
    y: float
    scale: float

    def on_paper(self, path: Path) -> Path:
        """Mirrored, scaled and moved to its place."""
        mirrored = Path(vertices_of(path) * np.array((-1, 1)), path.codes)
        return moved(mirrored, scale=self.scale, x=self.x, y=self.y)

    def thread(self, path: Path, letter: str, *, thicker: float = 1.0) -> Iterator[Item]:
        """One thread in its colour and true thickness."""
        thickness = self.lace.threads[letter].thickness * self.scale * thicker
        placed = self.on_paper(path)
        colour = self.colours[letter]
        yield Line(placed, thickness, shade(colour, 0.42))
        yield Line(placed, thickness * 0.74, shade(colour, 0.9))
        light = moved(placed, x=_LIGHT[0] * thickness * 1.4, y=_LIGHT[1] * thickness * 1.4)
        yield Line(light, thickness * 0.24, tint(colour, 0.42))


def portrait(lace: Lace, colours: dict[str, str], *, width: float, height: float) -> Picture:
    """The wheel on linen, ``width`` by ``height`` mm; ``colours`` by thread letter as #rrggbb."""
    radius = min(width, height) / 2 - MARGIN_MM
    sheet = _Sheet(lace, colours, width / 2, height / 2, radius / lace.loom.radius)
    ground = Area(rectangle(0, 0, width, height, corner=2.2), LINEN)
    return Picture("portrait", width, height, (ground, *_shadow(sheet), *_worked(sheet), *_web(sheet), *_darned(sheet)))


def _web(sheet: _Sheet) -> Iterator[Item]:
    """Rays, both legs of a pin as one thread; first laid on top, as the maker sees them last."""
    lace = sheet.lace
    for pin in reversed(lace.web.order):
        yield from sheet.thread(_pin_loop(lace, pin), lace.web_thread)


def _worked(sheet: _Sheet) -> Iterator[Item]:
    """The rounds, last to first."""
    for done in reversed(sheet.lace.rounds):
        if done.worked.nodes:
            nodes = [node.point for node in (*done.worked.nodes, done.worked.nodes[0])]
            yield from sheet.thread(polyline([(p.imag, p.real) for p in nodes]), done.thread)
            yield from sheet.thread(joined(_wound(sheet, done)), done.thread, thicker=1.1)


def _darned(sheet: _Sheet) -> Iterator[Item]:
    """The pieces of darned rows that pass over the rays on this side."""
    for done in sheet.lace.rounds:
        if not done.worked.nodes:
            yield from sheet.thread(darned_rows(sheet.lace, done, 1e6, far_side=True), done.thread)


def _wound(sheet: _Sheet, done: LaceRound) -> Iterator[Path]:
    """A knot as a short thread across its rays."""
    for node in done.worked.nodes:
        wide = sheet.lace.threads[sheet.lace.web_thread].thickness * (len(node.rays) / 0.75) ** 0.5
        yield hitch(node.point, wide * 1.15)


def _shadow(sheet: _Sheet) -> Iterator[Item]:
    """One soft shadow for all, down to the right."""
    lace = sheet.lace
    thickness = lace.threads[lace.web_thread].thickness * sheet.scale
    loops = joined(_pin_loop(lace, pin) for pin in range(lace.loom.pins))
    rings = joined(
        polyline([(n.point.imag, n.point.real) for n in (*done.worked.nodes, done.worked.nodes[0])])
        for done in lace.rounds
        if done.worked.nodes
    )
    for path in (loops, rings):
        yield Line(moved(sheet.on_paper(path), x=0.3, y=-0.4), thickness * 1.5, SHADOW)


def _pin_loop(lace: Lace, pin: int) -> Path:
    """The thread from the centre through all locks of one leg, round the pin and back down the other."""
    top = lace.loom.point(pin)
    legs = [_trail(lace, 2 * pin + leg) for leg in (0, 1)]
    left, right = legs
    side = 1j * top / abs(top) * min(0.85, lace.loom.pin_spacing * 0.35)
    bend = abs(top - left[-1]) * 0.45 * top / abs(top)
    pieces = [segment(a, b) for a, b in itertools.pairwise(left)]
    pieces.append(cubic(left[-1], left[-1] + bend - 1.6 * side, top - 1.3 * side, top))
    pieces.append(cubic(top, top + 1.3 * side, right[-1] + bend + 1.6 * side, right[-1]))
    pieces += [segment(a, b) for a, b in itertools.pairwise(right[::-1])]
    return _one_thread(pieces)


def _trail(lace: Lace, ray: int) -> list[complex]:
    """Centre and locks of a ray, side by side with its neighbours where it shares a node."""
    places = [0j]
    before = 0j
    for done in lace.rounds:
        lock = done.rays[ray].lock
        if lock != before:
            places.append(lock + _aside(lace, done, ray))
            before = lock
    return places


def _aside(lace: Lace, done: LaceRound, ray: int) -> complex:
    node = next((node for node in done.worked.nodes if ray in node.rays), None)
    if node is None:
        return 0j
    place = node.rays.index(ray) - (len(node.rays) - 1) / 2
    return place * 0.55 * lace.threads[lace.web_thread].thickness * 1j * node.point / abs(node.point)


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
