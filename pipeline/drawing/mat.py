"""A mat: how finished wheels lie together, and which of their pins meet."""

import cmath
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from pipeline.craft.assembly import Lace
from pipeline.craft.mat import Join, Mat
from pipeline.drawing.marks import centred, scale_bar
from pipeline.drawing.outline import circle, joined, moved, polyline, text
from pipeline.drawing.picture import ACCENT, PAPER, SECONDARY, Area, Clipped, Figures, Item, Line, Picture
from pipeline.drawing.strands import strands
from pipeline.drawing.working import hitch_length, hitches, working_thread

GAP_MM: Final = 10.0
"""Between the layout and the two wheels beside it."""
FOOT_MM: Final = 9.0
NUMBER_MM: Final = 3.4
"""From the last round to the middle of a number inside it."""
PAIR_SHARE: Final = 0.36
"""Of the width, for the two wheels."""


def mat(lace: Lace, figures: Figures, *, width: float, height: float) -> Picture:
    """The layout with every join, and two neighbours enlarged with the numbers of the pins that meet."""
    found = lace.mat
    assert found is not None  # noqa: S101
    room = width * (1 - PAIR_SHARE) - GAP_MM
    scale = min((room - 2.0) / found.width, (height - FOOT_MM - 1.0) / found.height)
    high = found.height * scale + FOOT_MM + 1.0
    left = [*_layout(lace, found, scale, FOOT_MM), *scale_bar(figures, 2.0, 0.0, scale, room * 0.6)]
    pair = width * PAIR_SHARE
    return Picture(
        "mat", width, max(high, pair), (*left, *_pair(lace, found, figures, width - pair, pair, max(high, pair)))
    )


def _layout(lace: Lace, found: Mat, scale: float, foot: float) -> Iterator[Item]:
    """All wheels: their rim, their outermost round, and a mark at every join."""
    radius = lace.loom.radius
    top = found.height * scale + foot
    places = [(centre.imag + radius, centre.real - radius) for centre in found.centres]
    on_paper = [(1.0 + x * scale, top + y * scale) for x, y in places]
    rounds = [done.outer for done in lace.rounds]
    yield Line(joined(circle(radius * scale, *place) for place in on_paper), 0.3)
    yield Line(joined(circle(level * scale, *place) for place in on_paper for level in rounds), 0.1)
    marks = []
    for join in found.joins:
        x, y = on_paper[join.wheel]
        pin = lace.loom.point(join.pin)
        marks.append(circle(0.55, x + pin.imag * scale, y + pin.real * scale))
    yield Area(joined(marks), ACCENT)


@dataclass(frozen=True, slots=True)
class _Meeting:
    """Where two wheels touch, enlarged about the middle between them."""

    lace: Lace
    middle: complex
    x: float
    y: float
    scale: float

    def at(self, place: complex) -> tuple[float, float]:
        """Paper coordinates of a place of the mat."""
        return self.x + (place - self.middle).imag * self.scale, self.y + (place - self.middle).real * self.scale

    def wheel(self, centre: complex) -> Iterator[Item]:
        """The rim of a wheel: its loops, and its last round."""
        x, y = self.at(centre)
        last = len(self.lace.rounds) - 1
        free = joined(path for _, path in strands(self.lace, self.scale).outward(last))
        yield Line(moved(free, scale=self.scale, x=x, y=y), 0.25, cap="butt")
        done = self.lace.rounds[last]
        thread = working_thread(self.lace, last, self.scale)
        yield Line(moved(thread, scale=self.scale, x=x, y=y), 0.5)
        if done.tied:
            marks = hitches(done, hitch_length(done, self.scale))
            yield Line(moved(marks, scale=self.scale, x=x, y=y), 1.0)

    def number(self, centre: complex, pin: int, figures: Figures) -> Iterator[Item]:
        """A pin's number inside the last round."""
        point = self.lace.loom.point(pin)
        inside = self.lace.rounds[-1].outer - NUMBER_MM / self.scale
        words = text(str(pin + 1), size_pt=8.0, font=figures.bold)
        yield Area(centred(words, *self.at(centre + point / abs(point) * inside)), SECONDARY)


def _pair(lace: Lace, found: Mat, figures: Figures, left: float, side: float, high: float) -> Iterator[Item]:
    """Two neighbours where they touch: loops, joins, and the numbers of the pins that meet, from 1."""
    joins = _first_pair(found)
    if not joins or not lace.rounds:
        return
    loom = lace.loom
    a, b = found.centres[joins[0].wheel], found.centres[joins[0].other]
    scale = side / min((2 * len(joins) + 4) * loom.pin_spacing, 2 * loom.radius)
    meeting = _Meeting(lace, (a + b) / 2, left + side / 2, high / 2, scale)
    yield Clipped(circle(side / 2 - 0.3, meeting.x, meeting.y), (*meeting.wheel(a), *meeting.wheel(b)))
    yield Line(circle(side / 2 - 0.3, meeting.x, meeting.y), 0.2)
    for join in joins:
        ends = meeting.at(a + loom.point(join.pin)), meeting.at(b + loom.point(join.other_pin))
        yield from _tie(*ends, cmath.phase(b - a))
        yield from meeting.number(a, join.pin, figures)
        yield from meeting.number(b, join.other_pin, figures)


def _tie(one: tuple[float, float], other: tuple[float, float], across: float) -> Iterator[Item]:
    """A join: a short thread from loop to loop."""
    step = (1.0 * math.sin(across), 1.0 * math.cos(across))
    yield Line(polyline([(one[0] - step[0], one[1] - step[1]), (other[0] + step[0], other[1] + step[1])]), 1.2, ACCENT)


def _first_pair(found: Mat) -> list[Join]:
    """The joins between the first two wheels that touch."""
    first = found.joins[0] if found.joins else None
    return [join for join in found.joins if first and (join.wheel, join.other) == (first.wheel, first.other)]
