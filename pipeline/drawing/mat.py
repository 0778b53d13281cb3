"""A mat: how finished wheels lie together, and which of their pins meet."""

import cmath
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from pipeline.craft.assembly import Lace
from pipeline.craft.mat import Join, Mat
from pipeline.drawing.lettering import centred, written
from pipeline.drawing.marks import dot, rim, scale_bar
from pipeline.drawing.outline import circle, joined, polyline
from pipeline.drawing.picture import ACCENT, PAPER, SECONDARY, Clipped, Figures, Item, Layer, Line, Picture, Placed
from pipeline.drawing.strands import strands
from pipeline.drawing.working import hitch_length, hitches, working_thread

GAP_MM: Final = 10.0
"""Between the layout and the two wheels beside it."""
FOOT_MM: Final = 9.0
APART_MM: Final = 3.0
"""Pins nearer to one another than this on paper are not all numbered."""
NUMBER_MM: Final = 3.4
"""From the last round to the middle of a number inside it."""
FRAME_MM, JOIN_MM = 0.35, 1.1
PAIR_SHARE: Final = 0.36
"""Of the width, for the two wheels."""


def mat(lace: Lace, figures: Figures, *, width: float, height: float) -> Picture:
    """The layout with every join, and two neighbours enlarged with the numbers of the pins that meet."""
    found = lace.mat
    assert found is not None  # noqa: S101
    room = width * (1 - PAIR_SHARE) - GAP_MM
    scale = min((room - 2.0) / found.width, (height - FOOT_MM - 1.0) / found.height)
    high = found.height * scale + FOOT_MM + 1.0
    plan = _Plan(lace, found, scale, high - 1.0)
    side = width * PAIR_SHARE
    high = max(high, side)
    items = (*plan.items(), *scale_bar(figures, 2.0, 0.0, scale, room))
    return Picture("mat", width, high, (*items, *_pair(plan, figures, width - side, side, high)))


@dataclass(frozen=True, slots=True)
class _Plan:
    """All wheels of a mat on paper, up to a height."""

    lace: Lace
    found: Mat
    scale: float
    top: float

    def at(self, place: complex) -> tuple[float, float]:
        """Paper coordinates of a place of the mat."""
        radius = self.lace.loom.radius
        return 1.0 + (place.imag + radius) * self.scale, self.top + (place.real - radius) * self.scale

    def items(self) -> Iterator[Item]:
        """Every rim, the rounds inside it, and a mark at every join."""
        outline = rim(self.lace.loom.shape)
        rounds = Layer("mat-rounds", joined(circle(done.outer) for done in self.lace.rounds))
        for layer, width in ((rounds, 0.1), (outline, 0.3)):
            for centre in self.found.centres:
                yield Placed(layer, width, self.scale, *self.at(centre), cap="round")
        joins = [self.found.centres[join.wheel] + self.lace.loom.point(join.pin) for join in self.found.joins]
        yield from (dot(*self.at(place), JOIN_MM, ACCENT) for place in joins)

    def frame(self, middle: complex, radius_mm: float) -> Iterator[Item]:
        """A ring round what is enlarged beside the plan."""
        path = circle(radius_mm * self.scale, *self.at(middle))
        yield Line(path, 1.1, PAPER)
        yield Line(path, FRAME_MM)


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

    def place(self, layer: Layer, centre: complex, width: float, cap: str = "round") -> Placed:
        """A layer of the lace in a wheel."""
        x, y = self.at(centre)
        return Placed(layer, width, self.scale, x, y, cap=cap)

    def wheel(self, centre: complex) -> Iterator[Item]:
        """The rim of a wheel: its loops, and its last round."""
        last = len(self.lace.rounds) - 1
        free = joined(path for _, path in strands(self.lace, self.scale).outward(last))
        yield self.place(Layer("mat-free", free), centre, 0.25, "butt")
        done = self.lace.rounds[last]
        thread = working_thread(self.lace, last, self.scale)
        yield self.place(Layer("mat-thread", thread), centre, 0.5)
        if done.tied:
            marks = hitches(self.lace, done, hitch_length(done, self.scale))
            yield self.place(Layer("mat-hitches", marks), centre, 1.0)

    def number(self, centre: complex, pin: int, figures: Figures) -> Iterator[Item]:
        """A pin's number inside the last round."""
        point = self.lace.loom.point(pin)
        inside = self.lace.rounds[-1].outer - NUMBER_MM / self.scale
        words = written(str(pin + 1), size_pt=8.0, font=figures.bold, colour=SECONDARY)
        yield centred(words, *self.at(centre + point / abs(point) * inside))


def _pair(plan: _Plan, figures: Figures, left: float, side: float, high: float) -> Iterator[Item]:
    """Two neighbours where they touch: loops, joins, and the numbers of the pins that meet, from 1."""
    joins, loom = _first_pair(plan.found), plan.lace.loom
    if not joins or not plan.lace.rounds:
        return
    a, b = plan.found.centres[joins[0].wheel], plan.found.centres[joins[0].other]
    scale = side / min((2 * len(joins) + 4) * loom.pin_spacing, 2 * loom.radius)
    meeting = _Meeting(plan.lace, (a + b) / 2, left + side / 2, high / 2, scale)
    frame = circle(side / 2 - 0.3, meeting.x, meeting.y)
    yield from plan.frame(meeting.middle, side / 2 / scale)
    yield Clipped(frame, (*meeting.wheel(a), *meeting.wheel(b)))
    yield Line(frame, FRAME_MM)
    for join in joins:
        ends = meeting.at(a + loom.point(join.pin)), meeting.at(b + loom.point(join.other_pin))
        yield from _tie(*ends, cmath.phase(b - a))
        if loom.pin_spacing * scale >= APART_MM or join in {joins[0], joins[-1]}:
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
