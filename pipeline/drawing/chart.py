"""The chart: the whole wheel with its rounds, and the ladder that says each round in notation."""

import cmath
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from matplotlib.path import Path

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.drawing.glyphs import glyph_items
from pipeline.drawing.outline import arc, circle, joined, moved, polyline, rectangle, text, width
from pipeline.drawing.picture import ACCENT, INK, PAPER, SECONDARY, Area, Figures, Item, Line, Picture
from pipeline.drawing.strands import strands
from pipeline.drawing.working import hitch_length, hitches, start_place, working_thread
from pipeline.notation import SPIRAL, TO, Figure, Sign, Token, distance_text
from pipeline.notation import Line as NotationLine
from pipeline.symbols import SymbolSet

RAY_MM: Final = 0.11
RING_MM: Final = 0.36
TICK_MM: Final = 1.1
WEDGE_MM: Final = (3.1, 2.8)
NUMBER_MM: Final = 3.8
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
    shift = -3.5 if beside else (layout.width - wide) / 2
    wheel = _Wheel(lace, figures, wide / 2 + shift, down * scale + MARGIN_MM, scale)
    if beside:
        left = layout.width - LADDER_MM
        high = max(high, 17.0 + 10.0 * len(lines) if not lace.loom.shape.closed else 0.0)
        ladder = _ladder(lace, lines, symbols, figures, _Spine(left, wheel.y, scale, high))
        bar = scale_bar(figures, left, 1.0, scale, LADDER_MM - 6)
        return (Picture("chart", layout.width, high, (*_wheel_items(wheel), *ladder, *bar)),)
    height = 17.0 + 10.0 * max(4, len(lines))
    spine = _Spine(16.0, 6.0, (height - 12.0) / lace.loom.radius, height)
    bar = scale_bar(figures, 2.0, 2.0, scale, 40)
    return (
        Picture("chart", layout.width, high, (*_wheel_items(wheel), *bar)),
        Picture("ladder", layout.width, height, tuple(_ladder(lace, lines, symbols, figures, spine))),
    )


def _wheel_items(wheel: _Wheel) -> Iterator[Item]:
    lace, scale = wheel.lace, wheel.scale
    laid = strands(lace, scale)
    yield Line(wheel.on_paper(joined(laid.whole())), RAY_MM, cap="butt")
    yield from _pins(wheel)
    for number, done in enumerate(lace.rounds):
        yield from _round_items(wheel, number, done)
    yield from _starts(wheel)
    rim = [lace.loom.shape.toward(cmath.rect(1.0, math.radians(angle)), lace.loom.radius) for angle in range(6, 35, 2)]
    yield from way_along([wheel.at(place, 6.6) for place in rim], head=3.6, weight=0.7)


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
        yield Area(_centred(words, *wheel.at(loom.point(pin), 3.9)), SECONDARY)


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


def wedge(x: float, y: float, turn: float, length: float, breadth: float) -> Iterator[Item]:
    """A solid wedge that points the way (``turn`` clockwise from the top), with a white rim."""
    shape = polyline([(0, length / 2), (breadth / 2, -length / 2), (-breadth / 2, -length / 2)], closed=True)
    placed = moved(shape, x=x, y=y, turn=turn)
    yield Line(placed, 0.7, PAPER)
    yield Area(placed, ACCENT)


def number_in_ring(words: str, x: float, y: float, figures: Figures, *, ring_mm: float) -> Iterator[Item]:
    """A number in a white ring."""
    ring_path = circle(ring_mm / 2, x, y)
    size = 6.6 * ring_mm / 3.8 * (1.0 if len(words) < 3 else 0.72)
    yield Area(ring_path, PAPER)
    yield Line(ring_path, 0.25)
    yield Area(_centred(text(words, size_pt=size, font=figures.bold), x, y), INK)


def way_along(points: Sequence[tuple[float, float]], *, head: float, weight: float) -> Iterator[Item]:
    """A line through these points with a head at its end."""
    (ax, ay), (bx, by) = points[-2:]
    turn = math.atan2(bx - ax, by - ay)
    yield Line(polyline([*points[:-1], (bx - 0.6 * head * math.sin(turn), by - 0.6 * head * math.cos(turn))]), weight,
               ACCENT, "butt")  # fmt: skip
    yield from arrow_head(bx, by, turn, head, ACCENT)


def way_round(
    centre: tuple[float, float], radius: float, start: float, end: float, *, head: float, weight: float
) -> Iterator[Item]:
    """An arc with a head that says which way."""
    x, y = centre
    yield Line(moved(arc(radius, start, end - 0.6 * head / radius), x=x, y=y), weight, ACCENT, "butt")
    tip = (x + radius * math.sin(end), y + radius * math.cos(end))
    yield from arrow_head(*tip, end + math.pi / 2 + head / radius / 2, head, ACCENT)


def arrow_head(x: float, y: float, turn: float, size: float, colour: str) -> Iterator[Item]:
    """A solid head whose tip is at ``x``, ``y``."""
    shape = polyline([(0, 0), (0.42 * size, -size), (-0.42 * size, -size)], closed=True)
    yield Area(moved(shape, x=x, y=y, turn=turn), colour)


@dataclass(frozen=True, slots=True)
class _Spine:
    """Where the ladder stands: left edge, height of the centre, scale, height of the picture."""

    x: float
    y: float
    scale: float
    height: float

    def level(self, radius: float) -> float:
        """Height of a radius."""
        return self.y + radius * self.scale


def _ladder(
    lace: Lace, lines: Sequence[NotationLine], symbols: SymbolSet, figures: Figures, spine: _Spine
) -> Iterator[Item]:
    """A spine from centre to rim, a rung for every round, the distances between rungs."""
    top, foot = spine.level(lace.loom.radius), spine.level(0)
    ends = [polyline([(spine.x - 1.6, level), (spine.x + 1.6, level)]) for level in (foot, top)]
    yield Line(joined([polyline([(spine.x, foot), (spine.x, top)]), *ends]), 0.3, cap="butt")
    true = [spine.level(done.radius) for done in lace.rounds]
    pitch = min(10.0, (spine.height - 6) / len(true))
    spread = spread_levels(true, pitch, 5.0, spine.height - 5.0)
    before = foot
    for line, level, shown in zip(lines, true, spread, strict=True):
        yield Line(polyline([(spine.x, level), (spine.x + 3.2, shown), (spine.x + 4.2, shown)]), 0.2)
        yield from number_in_ring(str(line.number), spine.x + 6.1, shown, figures, ring_mm=NUMBER_MM)
        yield from _rung(
            line.tokens, symbols, figures, at=(spine.x + 9.3, shown), size=min(8.0, pitch * 0.92), room=LADDER_MM - 9.5
        )
        if level - before > 3.0:
            yield from arrow_head(spine.x, level, 0.0, 2.0, INK)
        reach = spine.level(line.reach / 10)
        yield Line(polyline([(spine.x, level), (spine.x, max(reach, level))]), 1.1, cap="butt")
        words = text(distance_text(*line.distances).removesuffix(" mm"), size_pt=7, font=figures.regular)
        yield Area(moved(words, x=spine.x - 1.8 - width(words), y=(level + before) / 2 - 0.9), SECONDARY)
        before = reach


def spread_levels(true: Sequence[float], pitch: float, lowest: float, highest: float) -> list[float]:
    """Levels at least ``pitch`` apart and inside the bounds, each as near to its true one as that allows."""
    rising = sorted(range(len(true)), key=lambda number: true[number])
    levels = [max(lowest, true[number]) for number in rising]
    for place in range(1, len(levels)):
        levels[place] = max(levels[place], levels[place - 1] + pitch)
    ceiling = highest
    for place in reversed(range(len(levels))):
        levels[place] = min(levels[place], ceiling)
        ceiling = levels[place] - pitch
    return [level for _, level in sorted(zip(rising, levels, strict=True))]


def _rung(
    tokens: Sequence[Token], symbols: SymbolSet, figures: Figures, *, at: tuple[float, float], size: float, room: float
) -> Iterator[Item]:
    """Glyph, counts and signs of a round; the distance stands beside the spine."""
    stop = next(place for place, token in enumerate(tokens) if isinstance(token, Sign) and token.id == "gap")
    after = tokens[stop + 2 :]
    shown = [*tokens[1:stop], *(token for token in after if isinstance(token, Figure) or token.id in {TO, SPIRAL})]
    items: list[Item] = []
    along = 0.0
    for place, token in enumerate(shown):
        if isinstance(token, Sign):
            wide = size if place == 0 else size * 0.72
            along += 0.0 if place == 0 else 1.6
            items += glyph_items(symbols.symbol(token.id), size=wide, x=along, y=-wide / 2)
            along += wide + (1.4 if place == 0 else 0.8)
        elif token.role == "thread":
            items += number_in_ring(token.text, along + 3.2, 0.0, figures, ring_mm=4.2)
            along += 6.0
        else:
            font = figures.bold if token.role == "group" else figures.regular
            words = text(token.text, size_pt=9, font=font)
            items.append(Area(moved(words, x=along, y=-1.15)))
            along += width(words) + (0.9 if token.role == "group" else 0.4)
    fit = min(1.0, room / along)
    for item in items:
        yield _moved_item(item, scale=fit, x=at[0], y=at[1])


def _moved_item(item: Item, *, scale: float, x: float, y: float) -> Item:
    if isinstance(item, Line):
        return Line(moved(item.path, scale=scale, x=x, y=y), item.width * scale, item.colour, item.cap)
    assert isinstance(item, Area)  # noqa: S101
    return Area(moved(item.path, scale=scale, x=x, y=y), item.colour)


def scale_bar(figures: Figures, x: float, y: float, scale: float, room: float) -> Iterator[Item]:
    """Fields of 10 mm of the lace (1 mm, 5 mm, 50 mm where that is too much or too little), black and white."""
    field = next(size for size in (10, 20, 50, 100, 5, 2, 1) if size * scale * 2 <= room and (size >= 5 or scale > 3))
    fields = max(2, min(4, int(room / (field * scale))))
    for number in range(fields):
        box = rectangle(x + number * field * scale, y + 4.4, field * scale, 1.5)
        if number % 2 == 0:
            yield Area(box)
        yield Line(box, 0.25)
    for number in range(fields + 1):
        words = text(f"{number * field}" + (" mm" if number == fields else ""), size_pt=7, font=figures.regular)
        first = text(f"{number * field}", size_pt=7, font=figures.regular)
        yield Area(moved(words, x=x + number * field * scale - width(first) / 2, y=y + 0.8), SECONDARY)


def _centred(words: Path, x: float, y: float) -> Path:
    box = words.get_extents()
    return moved(words, x=x - (box.x0 + box.x1) / 2, y=y - (box.y0 + box.y1) / 2)
