"""The chart: the whole wheel with its rounds, and the ladder that says each round in notation."""

import cmath
import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

from pipeline.craft.assembly import Lace
from pipeline.craft.shapes import Shape
from pipeline.drawing.ladder import NUMBER_MM, Spine, distance_levels, ladder
from pipeline.drawing.lettering import centred, written
from pipeline.drawing.marks import (
    BROKEN_MM,
    dashes,
    number_in_ring,
    pin_ticks,
    scale_bar,
    start_mark,
    start_place_of,
    way_along,
    wedge,
)
from pipeline.drawing.mirror import mirrored_items
from pipeline.drawing.outline import circle, polyline
from pipeline.drawing.picture import PAPER, SECONDARY, Figures, Item, Layer, Line, Picture, Placed
from pipeline.drawing.whole import Whole, whole
from pipeline.drawing.working import goes_back, start_place
from pipeline.notation import Line as NotationLine
from pipeline.symbols import SymbolSet

RAY_MM: Final = 0.11
RING_MM: Final = 0.36
TICK_FROM_MM, TICK_MM = 0.35, 1.1
"""Where a pin's tick begins beyond the rim, and how long it is."""
MARK_MM: Final = 2.6
WEDGE_MM: Final = (3.1, 2.8)
BEHIND_MM: Final = 4.6
LED_MM: Final = 6.0
"""From this distance on a line leads from a number to its wedge."""
FARTHER_MM: Final = 0.7
"""Nearer than any other wedge by so much, a number is seen to belong to its own."""
ASIDE: Final = (0, 30, -30, 60, -60, 100, -100, 140, -140)
"""Degrees from straight behind a start, in the order they are tried."""
TRIED: Final = 140
"""Places of a number that are weighed."""
MARGIN_MM: Final = 9.5
"""Round the wheel, for ticks, numbers and the arrow."""
DISTANCES_MM, APART_MM = 8.5, 3.4
"""How far to the left of the spine figures may stand, and how near to one another."""
BAR_MM: Final = (48.0, 8.0)
"""Room for a scale bar at the lower left."""
LADDER_MM: Final = 43.0
"""From the spine to the right edge of the text."""
HIGHEST: Final = 1.42
"""Of the width of the text: a ladder by itself is no higher, so that a page of every paper holds it."""


_At: TypeAlias = tuple[float, float]
"""A place on paper, mm."""


@dataclass(frozen=True, slots=True)
class ChartLayout:
    """Sizes on paper, mm: the wheel's radius and the width of the text."""

    wheel: float
    width: float


@dataclass(frozen=True, slots=True)
class _Wheel:
    """The wheel on paper: its centre and its scale."""

    lace: Lace
    drawn: Whole
    figures: Figures
    x: float
    y: float
    scale: float
    floor: float = 0.0
    """Height below which something else stands."""
    left_handed: bool = False
    """Turned over about its middle when it is drawn."""

    def place(self, layer: Layer, width: float, cap: str) -> Placed:
        """A layer on this wheel."""
        return Placed(layer, width, self.scale, self.x, self.y, cap=cap)

    def at(self, place: complex, beyond_mm: float = 0.0) -> tuple[float, float]:
        """Paper coordinates of a place of the lace, and so far straight out of it on paper."""
        out = self.lace.loom.shape.outward(place) * beyond_mm if beyond_mm else 0j
        return self.x + place.imag * self.scale + out.imag, self.y + place.real * self.scale + out.real


def chart(  # noqa: PLR0913
    lace: Lace,
    lines: Sequence[NotationLine],
    symbols: SymbolSet,
    figures: Figures,
    layout: ChartLayout,
    *,
    drawn: Whole | None = None,
    left_handed: bool = False,
) -> tuple[Picture, ...]:
    """The wheel and the ladder: side by side where the width allows it, else two pictures; the ladder is no mirror.

    ``drawn``: the lace in layers of the wheel's scale, where another picture places them too.
    """
    scale = wheel_scale(lace, layout)
    beside, high = _beside(lace, layout), _height(lace, lines, layout)
    middle = (layout.width - LADDER_MM) / 2 - 1.5 if beside else layout.width / 2
    below = lace.loom.shape.bounds[2] * scale + MARGIN_MM
    wheel = _Wheel(lace, drawn or whole(lace, scale), figures, middle, below, scale, left_handed=left_handed)
    if not beside:
        return _apart(wheel, high, lines, symbols, layout)
    left = layout.width - LADDER_MM
    spine = Spine(left, wheel.y, scale, high, LADDER_MM - 9.5)
    taken = [(left - DISTANCES_MM, height) for height in distance_levels(lace, lines, spine)]
    bar = scale_bar(figures, left, 1.0, scale, LADDER_MM)
    items = (*_handed(wheel, taken), *ladder(lace, lines, symbols, figures, spine), *bar)
    return (Picture("chart", layout.width, high, items),)


def wheel_scale(lace: Lace, layout: ChartLayout) -> float:
    """Mm of paper to a mm of lace."""
    up, across, down = lace.loom.shape.bounds
    return layout.wheel / max(across, (up + down) / 2)


def spared(lace: Lace, lines: Sequence[NotationLine], layout: ChartLayout) -> float:
    """Mm of height that a round wheel would take and this one leaves to what stands below it; 0 beside no ladder."""
    return 2 * (layout.wheel + MARGIN_MM) - _height(lace, lines, layout) if _beside(lace, layout) else 0.0


def _beside(lace: Lace, layout: ChartLayout) -> bool:
    """Whether the ladder has room beside the wheel."""
    wide = 2 * (lace.loom.shape.bounds[1] * wheel_scale(lace, layout) + MARGIN_MM)
    return layout.width - wide >= LADDER_MM - 9


def _height(lace: Lace, lines: Sequence[NotationLine], layout: ChartLayout) -> float:
    """Of the wheel with what stands round it; where half a wheel stands beside a ladder, at least of that.

    A ladder of many rounds makes it no higher than a round wheel is.
    """
    up, _, down = lace.loom.shape.bounds
    high = (up + down) * wheel_scale(lace, layout) + 2 * MARGIN_MM
    ladder_high = 0.0 if lace.loom.shape.closed or not _beside(lace, layout) else 17.0 + 10.0 * len(lines)
    return max(high, min(ladder_high, 2 * (layout.wheel + MARGIN_MM)))


def _apart(
    wheel: _Wheel, high: float, lines: Sequence[NotationLine], symbols: SymbolSet, layout: ChartLayout
) -> tuple[Picture, ...]:
    """Wheel and ladder as pictures of their own; the scale bar at the wheel's lower left, below it where it must."""
    lace, figures = wheel.lace, wheel.figures
    foot = 0.0 if _bar_fits(wheel) else BAR_MM[1] + 1.0
    wheel = replace(wheel, y=wheel.y + foot, floor=foot)
    bar = scale_bar(figures, 2.0, 2.0, wheel.scale, BAR_MM[0] - 2.0)
    height = min(13.0 + 10.0 * max(4, len(lines)), HIGHEST * layout.width)
    spine = Spine(16.0, 6.0, (height - 12.0) / lace.loom.radius, height, layout.width - 25.5)
    return (
        Picture("chart", layout.width, high + foot, (*_handed(wheel), *bar)),
        Picture("ladder", layout.width, height, tuple(ladder(lace, lines, symbols, figures, spine))),
    )


def _handed(wheel: _Wheel, taken: Sequence[tuple[float, float]] = ()) -> Iterator[Item]:
    items = _wheel_items(wheel, taken)
    return mirrored_items(items, wheel.x) if wheel.left_handed else items


def _bar_fits(wheel: _Wheel) -> bool:
    """Whether a scale bar at the lower left stands clear of the wheel and its numbers."""
    shape = wheel.lace.loom.shape
    corner = complex(BAR_MM[1] - wheel.y, BAR_MM[0] - 8.0 - wheel.x) / wheel.scale
    return shape.level(corner) > shape.shortest + 5.5 / wheel.scale


def _wheel_items(wheel: _Wheel, taken: Sequence[tuple[float, float]]) -> Iterator[Item]:
    """The whole wheel; no pin's number stands beside a figure of the ladder, at a place that is ``taken``."""
    lace = wheel.lace
    yield from wheel.drawn.placed(wheel.place, ray_mm=RAY_MM, ring_mm=RING_MM)
    broken = dashes(closed=lace.loom.shape.closed)
    yield Placed(broken, BROKEN_MM, wheel.drawn.thinned * wheel.scale, wheel.x, wheel.y, colour=SECONDARY)
    yield from _pins(wheel)
    yield from _pin_numbers(wheel, taken)
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


def _pins(wheel: _Wheel) -> Iterator[Item]:
    loom = wheel.lace.loom
    yield wheel.place(pin_ticks("chart-pins", loom, TICK_FROM_MM / wheel.scale, TICK_MM / wheel.scale), 0.30, "butt")
    if not loom.shape.closed:
        yield Line(circle(1.0, wheel.x, wheel.y), 0.30)
        return
    place = start_place_of(loom)
    yield start_mark(*wheel.at(place, 0.6), cmath.phase(loom.shape.outward(place)), MARK_MM)


def _pin_numbers(wheel: _Wheel, taken: Sequence[tuple[float, float]]) -> Iterator[Item]:
    loom = wheel.lace.loom
    every = 5 if loom.pins < 40 else 10 if loom.pins <= 200 else 50
    for pin in [0, *range(every - 1, loom.pins - every // 2, every)]:
        x, y = wheel.at(loom.point(pin), 3.9)
        across = 2 * wheel.x - x if wheel.left_handed else x
        if all(across < left or abs(y - height) > APART_MM for left, height in taken):
            words = written(str(pin + 1), size_pt=7, font=wheel.figures.regular, colour=SECONDARY)
            yield centred(words, x, y)


def _starts(wheel: _Wheel) -> Iterator[Item]:
    """Where each round begins, and its number; numbers cover neither one another nor a wedge.

    A number that stands away from its wedge, or nearer to another, is led to it by a line.
    """
    starts = [start_place(wheel.lace, done, wheel.scale) for done in wheel.lace.rounds]
    wedges = [wheel.at(start) for start, _ in starts]
    places: list[_At] = []
    for (start, heading), tip in zip(starts, wedges, strict=True):
        places.append(_number_place(wheel, start, heading, tip=tip, numbers=places, wedges=wedges))
    for place, tip in zip(places, wedges, strict=True):
        if not _belongs(place, tip, wedges):
            yield Line(polyline([place, tip]), 0.8, PAPER)
            yield Line(polyline([place, tip]), 0.25)
    for (_, heading), tip in zip(starts, wedges, strict=True):
        yield from wedge(*tip, heading, *WEDGE_MM)
    for done, place in zip(wheel.lace.rounds, places, strict=True):
        yield from number_in_ring(str(done.number), *place, wheel.figures, ring_mm=NUMBER_MM)


def _number_place(
    wheel: _Wheel, start: complex, heading: float, *, tip: _At, numbers: Sequence[_At], wedges: Sequence[_At]
) -> _At:
    """The first place that is clear and seen to belong to the wedge; else the clear one that is so most nearly."""
    apart = NUMBER_MM + 0.3
    free = [
        place
        for place in itertools.islice(_number_places(wheel, start, heading), TRIED)
        if all(math.dist(place, other) > apart for other in numbers)
        and all(math.dist(place, other) > (NUMBER_MM + WEDGE_MM[0]) / 2 + 0.3 for other in wedges)
        and all(_from_line(other, place, tip) > apart / 2 for other in numbers)
    ]
    found = next((place for place in free if _belongs(place, tip, wedges)), None)
    if found or free:
        return found or max(free, key=lambda place: _lead(place, tip, wedges))
    return next(
        place
        for place in _number_places(wheel, start, heading)
        if all(math.dist(place, other) > apart for other in numbers)
    )


def _belongs(place: _At, tip: _At, wedges: Sequence[_At]) -> bool:
    """Whether the own wedge is near, and every other one clearly farther."""
    return math.dist(place, tip) <= LED_MM and _lead(place, tip, wedges) >= FARTHER_MM


def _lead(place: _At, tip: _At, wedges: Sequence[_At]) -> float:
    """By how much the own wedge is nearer than any other, mm."""
    others = (math.dist(place, other) for other in wedges if other != tip)
    return min(others, default=math.inf) - math.dist(place, tip)


def _from_line(place: _At, start: _At, end: _At) -> float:
    """Distance of a place from a straight line between two others."""
    middle, first, last = (complex(*each) for each in (place, start, end))
    along = ((middle - first) * (last - first).conjugate()).real / abs(last - first) ** 2
    return abs(middle - first - min(max(along, 0.0), 1.0) * (last - first))


def _number_places(wheel: _Wheel, start: complex, heading: float) -> Iterator[_At]:
    """Where a round's number may stand, without end: behind its start, beside it, behind it ever further.

    Where the foot of the picture is below, along the foot.
    """
    least = wheel.floor + NUMBER_MM / 2 + 0.2
    for step, turn in itertools.product(range(8), ASIDE):
        x, y = wheel.at(start - cmath.rect((BEHIND_MM + step) / wheel.scale, heading + math.radians(turn)))
        if turn == 0:
            x, y = wheel.at(_behind(wheel.lace.loom.shape, start, heading, (BEHIND_MM + step) / wheel.scale))
        if y >= least:
            yield x, y
    for step in range(56):
        x, y = wheel.at(_behind(wheel.lace.loom.shape, start, heading, (BEHIND_MM + step) / wheel.scale))
        if y < least:
            break
        yield x, y
    towards = math.copysign(1.0, wheel.x - x)
    yield from ((x + towards * step, max(y, least)) for step in itertools.count())


def _goes_round(start: complex, heading: float) -> bool:
    """Whether a round heads along itself, not outward."""
    return abs(math.sin(heading - cmath.phase(start))) >= 0.5


def _behind(shape: Shape, start: complex, heading: float, distance: float) -> complex:
    """So far back from a start, along its round; straight back where it heads outward."""
    if not _goes_round(start, heading):
        return start - cmath.rect(distance, heading)
    across = math.sin(heading - cmath.phase(start))
    turned = start * cmath.exp(-1j * math.copysign(distance / abs(start), across))
    return shape.toward(turned, shape.level(start))
