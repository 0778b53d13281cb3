"""Measures beside a fan: how far out a round lies from the one before, and how far a filling or a loop goes on.

Measures that follow one another stand on one line. Where a filling begins further in than the round before ended,
the way in and the way out stand side by side, the longer one next to the fan with its figure at its end.
"""

import cmath
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from pipeline.craft.assembly import LaceRound
from pipeline.drawing.fan import Fan
from pipeline.drawing.lettering import at, width, written
from pipeline.drawing.marks import arrow_head
from pipeline.drawing.outline import polyline
from pipeline.drawing.picture import INK, Figures, Item
from pipeline.drawing.picture import Line as Stroke
from pipeline.notation import TO, Line, Sign, distance_text
from pipeline.units import tenths

ASIDE_MM: Final = 4.2
LANE_MM: Final = 3.6
LABEL_MM: Final = 4.2
"""Least distance of two labels, one above the other."""
LEVEL: Final = math.radians(45)
"""Where the edge of a fan lies flatter than this, figures stand at the end of a measure."""
FIGURE_PT: Final = 9.0


@dataclass(frozen=True, slots=True)
class Measure:
    """An arrow between two levels beside the right edge of a fan."""

    fan: Fan
    inner: float
    outer: float
    words: str
    marks: tuple[float, ...] = ()
    """Levels between, where other groups of the round lie."""
    aside: float = ASIDE_MM

    @property
    def along(self) -> float:
        """Direction of the edge on paper."""
        return self.fan.view.last + self.fan.turn

    def end(self, level: float) -> tuple[float, float]:
        """Where a level stands on its line."""
        direction = cmath.rect(1.0, self.fan.view.last)
        x, y = self.fan.at(self.fan.lace.loom.shape.toward(direction, level) if level else 0j)
        return x + self.aside * math.cos(self.along), y - self.aside * math.sin(self.along)

    def items(self) -> Iterator[Item]:
        """The arrow and its bars."""
        bar = (1.3 * math.cos(self.along), -1.3 * math.sin(self.along))
        for level in (self.inner, self.outer, *self.marks):
            x, y = self.end(level)
            yield Stroke(polyline([(x - bar[0], y - bar[1]), (x + bar[0], y + bar[1])]), 0.35, cap="butt")
        ends = [self.end(self.inner), self.end(self.outer)]
        yield Stroke(polyline(ends), 0.35, cap="butt")
        head = min(2.6, math.dist(*ends) * 0.6)
        turn = self.along if self.outer >= self.inner else self.along + math.pi
        yield from arrow_head(*ends[1], turn, head, INK)

    @property
    def beside(self) -> tuple[float, float]:
        """Where its words begin beside its middle."""
        (ax, ay), (bx, by) = self.end(self.inner), self.end(self.outer)
        if self.along > LEVEL:
            return max(ax, bx) + 1.6, (ay + by) / 2 - 1.2
        return (ax + bx) / 2 + 2.6 * math.cos(self.along), (ay + by) / 2 - 2.6 * math.sin(self.along) - 1.2

    @property
    def beyond(self) -> tuple[float, float]:
        """Where its words begin beyond its outer end."""
        x, y = self.end(max(self.inner, self.outer))
        return x + 1.4 * math.sin(self.along) + 1.2, y + 1.4 * math.cos(self.along)


def measures(fan: Fan, line: Line, figures: Figures, room: float) -> Iterator[Item]:
    """How far out: from the round before to this one, and on over a filling or a loop."""
    first, *others = _measures(fan, line)
    if others and first.outer < first.inner:
        yield from _side_by_side(first, others[0], figures, room)
        return
    labels = [measure.beside for measure in (first, *others)]
    beside = max(x for x, _ in labels)
    lowest = -math.inf
    for measure, (_, y) in zip((first, *others), labels, strict=True):
        lowest = max(y, lowest + LABEL_MM)
        yield from measure.items()
        yield from _label(measure.words, beside, lowest, figures, room)


def _measures(fan: Fan, line: Line) -> Iterator[Measure]:
    level = max(line.radii)
    inner = level - max(line.distances)
    marks = tuple(radius / 10 for radius in line.radii if radius != level)
    yield Measure(fan, inner / 10, level / 10, distance_text(*line.distances), marks)
    if any(isinstance(token, Sign) and token.id == TO for token in line.tokens):
        yield Measure(fan, level / 10, _reach(fan, line), distance_text(_further(fan.done, line)))


def _further(done: LaceRound, line: Line) -> int:
    """How far a filling or a loop goes on, tenths of a millimetre."""
    return tenths(done.worked.loop_mm) if done.worked.loop_mm else line.reach - max(line.radii)


def _reach(fan: Fan, line: Line) -> float:
    """The level at which a filling or a loop ends; loops stand out in true length."""
    loop_mm = fan.done.worked.loop_mm
    if not loop_mm:
        return line.reach / 10
    return max(line.radii) / 10 + loop_mm * fan.lace.loom.shape.level(cmath.rect(1.0, fan.view.last))


def _side_by_side(inward: Measure, outward: Measure, figures: Figures, room: float) -> Iterator[Item]:
    longer, shorter = (inward, outward) if inward.inner >= outward.outer else (outward, inward)
    shorter = replace(shorter, aside=ASIDE_MM + LANE_MM)
    yield from longer.items()
    yield from _label(longer.words, *longer.beyond, figures, room)
    yield from shorter.items()
    yield from _label(shorter.words, *shorter.beside, figures, room)


def _label(words: str, x: float, y: float, figures: Figures, room: float) -> Iterator[Item]:
    """Figures from ``x`` on; many of them in two lines where one has no room."""
    shown = written(words, size_pt=FIGURE_PT, font=figures.regular)
    numbers = words.removesuffix(" mm").split()
    if x + width(shown) > room and len(numbers) > 1:
        half = (len(numbers) + 1) // 2
        yield from _label(" ".join(numbers[:half]), x, y + LABEL_MM / 2, figures, room)
        yield from _label(" ".join([*numbers[half:], "mm"]), x, y - LABEL_MM / 2, figures, room)
        return
    yield at(shown, min(x, room - width(shown) - 0.2), y)
