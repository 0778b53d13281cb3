"""The chart: the whole wheel with its rounds, and the ladder that says each round in notation."""

import cmath
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from matplotlib.path import Path

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.drawing.ladder import NUMBER_MM, Spine, ladder
from pipeline.drawing.marks import centred, number_in_ring, scale_bar, way_along, wedge
from pipeline.drawing.outline import circle, joined, moved, polyline, text
from pipeline.drawing.picture import SECONDARY, Area, Figures, Item, Line, Picture
from pipeline.drawing.strands import strands
from pipeline.drawing.working import goes_back, hitch_length, hitches, start_place, working_thread
from pipeline.notation import Line as NotationLine
from pipeline.symbols import SymbolSet

RAY_MM: Final = 0.11
RING_MM: Final = 0.36
TICK_MM: Final = 1.1
WEDGE_MM: Final = (3.1, 2.8)
BEHIND_MM: Final = 4.6
MARGIN_MM: Final = 9.5
"""Round the wheel, for ticks, numbers and the arrow."""
LADDER_MM: Final = 43.0
"""From the spine to the right edge of the text."""


@dataclass(frozen=True, slots=True)
class ChartLayout:
    """Sizes on paper, mm: the wheel's radius and the width of the text."""

    wheel: float
    width: float


@dataclass(frozen=True, slots=True)
class _Wheel:
    """The wheel on paper: its centre and its scale."""

    lace: Lace
    figures: Figures
    x: float
    y: float
    scale: float

    def at(self, place: complex, beyond_mm: float = 0.0) -> tuple[float, float]:
        """Paper coordinates of a place of the lace, and so far straight out of it on paper."""
        out = self.lace.loom.shape.outward(place) * beyond_mm if beyond_mm else 0j
        return self.x + place.imag * self.scale + out.imag, self.y + place.real * self.scale + out.real

    def on_paper(self, path: Path) -> Path:
        """A path in mm of lace about the centre, on paper."""
        return moved(path, scale=self.scale, x=self.x, y=self.y)


def chart(
    lace: Lace, lines: Sequence[NotationLine], symbols: SymbolSet, figures: Figures, layout: ChartLayout
) -> tuple[Picture, ...]:
    """The wheel and the ladder: side by side where the width allows it, else two pictures."""
    up, across, down = lace.loom.shape.bounds
    scale = layout.wheel / max(across, (up + down) / 2)
    wide, high = 2 * (across * scale + MARGIN_MM), (up + down) * scale + 2 * MARGIN_MM
    beside = layout.width - wide >= LADDER_MM - 9
    middle = (layout.width - LADDER_MM) / 2 - 1.5 if beside else layout.width / 2
    wheel = _Wheel(lace, figures, middle, down * scale + MARGIN_MM, scale)
    if beside:
        left = layout.width - LADDER_MM
        high = max(high, 17.0 + 10.0 * len(lines) if not lace.loom.shape.closed else 0.0)
        rungs = ladder(lace, lines, symbols, figures, Spine(left, wheel.y, scale, high, LADDER_MM - 9.5))
        bar = scale_bar(figures, left, 1.0, scale, LADDER_MM)
        return (Picture("chart", layout.width, high, (*_wheel_items(wheel), *rungs, *bar)),)
    height = 17.0 + 10.0 * max(4, len(lines))
    spine = Spine(16.0, 6.0, (height - 12.0) / lace.loom.radius, height, layout.width - 25.5)
    bar = scale_bar(figures, 2.0, 2.0, scale, 46)
    return (
        Picture("chart", layout.width, high, (*_wheel_items(wheel), *bar)),
        Picture("ladder", layout.width, height, tuple(ladder(lace, lines, symbols, figures, spine))),
    )


def _wheel_items(wheel: _Wheel) -> Iterator[Item]:
    lace, scale = wheel.lace, wheel.scale
    laid = strands(lace, scale)
    yield Line(wheel.on_paper(joined(laid.whole())), RAY_MM, cap="butt")
    yield from _pins(wheel)
    for number, done in enumerate(lace.rounds):
        yield from _round_items(wheel, number, done)
    yield from _starts(wheel)
    for angles in _ways(lace):
        rim = [lace.loom.shape.toward(cmath.rect(1.0, math.radians(angle)), lace.loom.radius) for angle in angles]
        yield from way_along([wheel.at(place, 6.6) for place in rim], head=3.6, weight=0.7)


def _ways(lace: Lace) -> Iterator[range]:
    """Degrees from where to where arrows say the way round; on a half-circle from either end where rows begin there."""
    if lace.loom.shape.closed:
        yield range(6, 35, 2)
        return
    ways = {goes_back(done) for done in lace.rounds}
    yield from (range(64, 35, -2) if back else range(-64, -35, 2) for back in sorted(ways))


def _round_items(wheel: _Wheel, number: int, done: LaceRound) -> Iterator[Item]:
    lace, scale = wheel.lace, wheel.scale
    thread = wheel.on_paper(working_thread(lace, number, scale))
    if done.tied:
        length = hitch_length(done, scale)
        yield Line(thread, RING_MM)
        yield Line(wheel.on_paper(hitches(done, length)), min(max(0.36 * length * scale, 0.55), 1.0))
    else:
        yield Line(thread, RING_MM, cap="butt")


def _pins(wheel: _Wheel) -> Iterator[Item]:
    loom = wheel.lace.loom
    ticks = [polyline([wheel.at(place, 0.35), wheel.at(place, 0.35 + TICK_MM)]) for place in loom.places]
    yield Line(joined(ticks), 0.30, cap="butt")
    if not loom.shape.closed:
        yield Line(circle(1.0, wheel.x, wheel.y), 0.30)
    every = 5 if loom.pins < 40 else 10 if loom.pins <= 200 else 50
    numbered = [0, *range(every - 1, loom.pins - every // 2, every)]
    for pin in numbered:
        words = text(str(pin + 1), size_pt=7, font=wheel.figures.regular)
        yield Area(centred(words, *wheel.at(loom.point(pin), 3.9)), SECONDARY)


def _starts(wheel: _Wheel) -> Iterator[Item]:
    """Where each round begins, and its number behind."""
    taken: list[tuple[float, float]] = []
    for done in wheel.lace.rounds:
        start, heading = start_place(wheel.lace, done, wheel.scale)
        yield from wedge(*wheel.at(start), heading, *WEDGE_MM)
        behind = BEHIND_MM
        while True:
            place = wheel.at(_behind(start, heading, behind / wheel.scale))
            if all(math.dist(place, other) > NUMBER_MM + 0.3 for other in taken) or behind > 60:
                break
            behind += 1.0
        taken.append(place)
        yield from number_in_ring(str(done.number), *place, wheel.figures, ring_mm=NUMBER_MM)


def _behind(start: complex, heading: float, distance: float) -> complex:
    """So far back from a start, along its round; straight back where it heads outward."""
    across = math.sin(heading - cmath.phase(start))
    if abs(across) < 0.5:
        return start - cmath.rect(distance, heading)
    return start * cmath.exp(-1j * math.copysign(distance / abs(start), across))
