"""The sector: one repeat of the whole lace enlarged, with every ray drawn, and numbered from the start.

The repeat is the least number of rays after which all rounds begin again, as far as a quarter of the wheel holds it.
"""

import cmath
import math
from collections.abc import Iterator
from typing import Final

import numpy as np
from matplotlib.path import Path

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.drawing.outline import arc, circle, joined, moved, polyline, text, vertices_of
from pipeline.drawing.picture import (
    ACCENT,
    INK,
    PAPER,
    SECONDARY,
    Area,
    Clipped,
    Figures,
    Item,
    Layer,
    Line,
    Picture,
    Placed,
)
from pipeline.drawing.whole import Whole

WIDEST: Final = math.radians(84)
FEWEST: Final = 12
"""Rays that are shown at least: short repeats are shown several times."""
ROOM_MM: Final = 9.0
"""Beyond the rim, for numbers."""
RAY_MM, RING_MM = 0.16, 0.5


def repeat_of(lace: Lace) -> int:
    """Rays after which every round begins again; all rays where no smaller number does it.

    >>> math.lcm(4, 6)
    12
    """
    return math.gcd(math.lcm(*(_period(done) for done in lace.rounds)), lace.loom.rays) if lace.rounds else 2


def _period(done: LaceRound) -> int:
    counts = done.counts
    if counts.part:
        return counts.part.every
    if counts.items:
        return counts.period * len(done.worked.row_radii)
    return counts.over + counts.under if not counts.back else counts.period


def sector(lace: Lace, drawn: Whole, figures: Figures, *, width: float, height: float) -> Picture:
    """One repeat or a few, with a ray of the next on either side."""
    loom = lace.loom
    step = 2 * math.pi / loom.rays if loom.shape.closed else math.pi / loom.rays
    repeat = repeat_of(lace)
    shown = max(2, min(repeat * math.ceil(FEWEST / repeat), int(WIDEST / step) - 2))
    first = cmath.phase(loom.point(0)) - (1.0 if loom.shape.closed else 0.5) * step
    between = (first - 0.5 * step, first + (shown + 0.5) * step)
    half = (between[1] - between[0]) / 2
    reach = max(abs(loom.point(ray // 2)) for ray in range(shown))
    scale = min((height - ROOM_MM - 3.0) / reach, (width / 2 - ROOM_MM) / (reach * math.sin(half)))
    view = _View(lace, scale, -sum(between) / 2, width / 2, (height - ROOM_MM - reach * scale) / 2)
    edge = view.edge(between, reach * scale + 2.0)
    work = tuple(drawn.placed(view.place, ray_mm=RAY_MM, ring_mm=RING_MM, larger=1.3))
    frame = Line(edge, 0.15, SECONDARY, "butt")
    items = (Clipped(edge, work), frame, *_numbers(lace, view, figures, shown))
    return Picture("sector", width, height, items)


class _View:
    """Where the sector lies on paper."""

    def __init__(self, lace: Lace, scale: float, turn: float, x: float, y: float) -> None:
        self.lace, self.scale, self.turn, self.x, self.y = lace, scale, turn, x, y

    def place(self, layer: Layer, width: float, cap: str) -> Placed:
        """A layer of the lace."""
        return Placed(layer, width, self.scale, self.x, self.y, self.turn, cap=cap)

    def at(self, place: complex, beyond_mm: float = 0.0) -> tuple[float, float]:
        """Paper coordinates of a place, and so far out of it on paper."""
        out = self.lace.loom.shape.outward(place) * beyond_mm if beyond_mm else 0j
        turned = (place * self.scale + out) * cmath.rect(1.0, self.turn)
        return self.x + turned.imag, self.y + turned.real

    def edge(self, between: tuple[float, float], radius_mm: float) -> Path:
        """The frame of the sector."""
        rim = arc(radius_mm, between[0] + self.turn, between[1] + self.turn)
        vertices = np.concatenate([vertices_of(rim), np.zeros((2, 2))])
        return moved(Path(vertices, [*np.asarray(rim.codes), Path.LINETO, Path.CLOSEPOLY]), x=self.x, y=self.y)


def _numbers(lace: Lace, view: _View, figures: Figures, shown: int) -> Iterator[Item]:
    """Rays by number from 1, beside the loops of their pins; the pins as ticks."""
    loom = lace.loom
    pins = [loom.point(pin) for pin in range((shown + 1) // 2)]
    yield Line(joined(polyline([view.at(pin, 2.2), view.at(pin, 3.4)]) for pin in pins), 0.3, INK, "butt")
    aside = min(1.9, 0.24 * loom.pin_spacing * view.scale)
    size = min(6.5, max(4.5, 2.6 * aside))
    for ray in range(shown):
        pin = loom.point(ray // 2)
        along = 1j * loom.shape.outward(pin) * (aside if ray % 2 else -aside) / view.scale
        x, y = view.at(pin + along, 5.2)
        words = text(str(ray + 1), size_pt=size, font=figures.regular)
        box = words.get_extents()
        if ray == 0:
            yield Area(circle(1.7, x, y), ACCENT)
        middle = x - float(box.x0 + box.x1) / 2, y - float(box.y0 + box.y1) / 2
        yield Area(moved(words, x=middle[0], y=middle[1]), PAPER if ray == 0 else SECONDARY, upright=True)
