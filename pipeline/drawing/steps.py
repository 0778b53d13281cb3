"""Step pictures: a fan of the lace for every round, the new work loud, the earlier work quiet; and the laying.

Every round is drawn once, as layers without colour or width (rays, thread, hitches), in mm of lace about the
centre; a step places the layers of all rounds up to its own. So N steps cost N drawings.
"""

import cmath
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from matplotlib.path import Path

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.drawing.chart import arrow_head, way_along, wedge
from pipeline.drawing.outline import arc, circle, joined, moved, polyline, text, vertices_of, width
from pipeline.drawing.picture import ACCENT, INK, SECONDARY, Area, Clipped, Figures, Item, Layer, Line, Picture, Placed
from pipeline.drawing.strands import Strands, strands
from pipeline.drawing.working import hitch_length, hitches, row_levels, start_place, working_thread
from pipeline.notation import TO, Sign, distance_text
from pipeline.notation import Line as NotationLine

BEFORE: Final = math.radians(11)
AFTER: Final = math.radians(55)
QUIET_RAY, QUIET_RING, QUIET_HITCH = 0.10, 0.20, 0.50
LOUD_RING, LOUD_HITCH, LOUD_ROW, LOUD_FILLING, FIRST_RAY = 0.60, 1.20, 0.75, 0.45, 0.34
WEDGE_MM: Final = (3.8, 3.5)
FOOT_MM: Final = 3.6
LABEL_MM: Final = 4.2
"""Least distance of two labels, one above the other."""


@dataclass(frozen=True, slots=True)
class StepLayout:
    """Size of a step picture on paper, mm."""

    width: float
    height: float


@dataclass(frozen=True, slots=True)
class RoundLayers:
    """The layers of one round: its rays up to it, all rays beyond it, its thread, its hitches."""

    done: LaceRound
    held: Layer
    free: Layer
    thread: Layer
    hitch: Layer | None
    first: Path
    """The rays of the first group, from their last lock outward."""
    scale: float
    """Of its own step: mm of paper to a mm of lace."""


def step_scale(lace: Lace, done: LaceRound, layout: StepLayout) -> float:
    """The new round stands at a little over half the height, an edge near the top; so the lace seems to grow."""
    reach = min(1.42 * done.outer + 3.2, 1.06 * lace.loom.radius) * longest(lace, _fan_angles(lace, done))
    return (layout.height - FOOT_MM - 1.0) / reach


def longest(lace: Lace, between: tuple[float, float]) -> float:
    """How much longer than on the shortest ray a distance is in the direction where it is longest."""
    shape, (first, last) = lace.loom.shape, between
    angles = (first + (last - first) * step / 16 for step in range(17))
    return max(1.0 / shape.level(cmath.rect(1.0, angle)) for angle in angles)


def _fan_angles(lace: Lace, done: LaceRound) -> tuple[float, float]:
    """From where to where a step shows the lace; a row that goes back is shown before its start."""
    place, _ = start_place(lace, done, 1.0)
    start = cmath.phase(place)
    return (start - AFTER, start + BEFORE) if done.backward else (start - BEFORE, start + AFTER)


def round_layers(lace: Lace, layout: StepLayout) -> tuple[RoundLayers, ...]:
    """Draw every round once."""
    smallest = min((step_scale(lace, done, layout) for done in lace.rounds), default=1.0)
    laid = strands(lace, smallest)
    return tuple(_layers(lace, laid, number, layout) for number in range(len(lace.rounds)))


def _layers(lace: Lace, laid: Strands, number: int, layout: StepLayout) -> RoundLayers:
    done = lace.rounds[number]
    scale = step_scale(lace, done, layout)
    own = strands(lace, scale)
    held = joined(path for _, path in laid.between(number))
    free = dict(laid.outward(number))
    name = f"r{done.number}"
    thread = working_thread(lace, number, scale)
    hitch, first = None, joined([])
    if done.tied:
        hitch = Layer(f"{name}-hitch", hitches(done, hitch_length(done, scale)))
        group = set(done.worked.nodes[0].rays)
        first = joined(
            [path for ray, path in own.between(number) if ray in group] + [free[ray] for ray in sorted(group)]
        )
    return RoundLayers(
        done, Layer(f"{name}-held", held), Layer(f"{name}-free", joined(free.values())),
        Layer(f"{name}-thread", thread), hitch, first, scale,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Fan:
    """The part of the wheel a step shows: its foot on paper, scale, and the turn that sets it upright."""

    lace: Lace
    x: float
    y: float
    scale: float
    between: tuple[float, float]
    reach: float
    """How far out it is seen, mm of lace."""

    @property
    def turn(self) -> float:
        """Clockwise turn of the wheel."""
        return -sum(self.between) / 2

    def at(self, place: complex, beyond_mm: float = 0.0) -> tuple[float, float]:
        """Paper coordinates of a place of the wheel, and so far straight out of it on paper."""
        out = self.lace.loom.shape.outward(place) * beyond_mm if beyond_mm else 0j
        turned = (place * self.scale + out) * cmath.rect(1.0, self.turn)
        return self.x + turned.imag, self.y + turned.real

    def sector(self, cut: float, *, backward: bool) -> Path:
        """The fan, or what lies the way of the work from its start."""
        first, last = self.between
        if cut:
            first, last = (first, last - cut) if backward else (first + cut, last)
        rim = arc(self.reach * self.scale, first + self.turn, last + self.turn)
        vertices = np.concatenate([vertices_of(rim), np.zeros((2, 2))])
        codes = [*np.asarray(rim.codes), Path.LINETO, Path.CLOSEPOLY]
        return moved(Path(vertices, codes), x=self.x, y=self.y)

    def place(self, layer: Layer, width: float, cap: str = "butt") -> Placed:
        """A layer in this fan."""
        return Placed(layer, width, self.scale, self.x, self.y, self.turn, INK, cap)


def steps(lace: Lace, lines: tuple[NotationLine, ...], figures: Figures, layout: StepLayout) -> tuple[Picture, ...]:
    """One picture for every round."""
    layers = round_layers(lace, layout)
    return tuple(
        Picture(
            f"step-{line.number}",
            layout.width,
            layout.height,
            tuple(_step(lace, layers, number, line, figures, layout)),
        )
        for number, line in enumerate(lines)
    )


def _step(
    lace: Lace, layers: tuple[RoundLayers, ...], number: int, line: NotationLine, figures: Figures, layout: StepLayout
) -> Iterator[Item]:
    new = layers[number]
    done = new.done
    reach = (layout.height - FOOT_MM - 1.0) / new.scale
    half = (BEFORE + AFTER) / 2
    foot = 2.0 + math.sin(half) * (layout.height - FOOT_MM)
    fan = _Fan(lace, foot, FOOT_MM, new.scale, _fan_angles(lace, done), reach)
    quiet = [fan.place(layers[k].held, QUIET_RAY) for k in range(number + 1)]
    quiet.append(fan.place(new.free, QUIET_RAY))
    for earlier in layers[:number]:
        quiet.append(fan.place(earlier.thread, QUIET_RING))
        if earlier.hitch:
            quiet.append(fan.place(earlier.hitch, QUIET_HITCH, "round"))
    yield Clipped(fan.sector(0.0, backward=done.backward), (*quiet, *_pins(lace, fan)))
    cut = BEFORE - 0.02 if new.hitch else 0.0 if not done.in_rows else BEFORE
    yield Clipped(fan.sector(cut, backward=done.backward), tuple(_loud(fan, new)))
    yield from _marks(lace, fan, new)
    yield from _measure(fan, line, figures, layout.width)


def _loud(fan: _Fan, new: RoundLayers) -> Iterator[Item]:
    """The new work."""
    if new.hitch:
        yield Line(moved(new.first, scale=fan.scale, turn=fan.turn, x=fan.x, y=fan.y), FIRST_RAY, cap="butt")
        yield fan.place(new.thread, LOUD_RING)
        yield fan.place(new.hitch, LOUD_HITCH, "round")
    else:
        yield fan.place(new.thread, LOUD_ROW if new.done.in_rows else LOUD_FILLING)


def _pins(lace: Lace, fan: _Fan) -> Iterator[Item]:
    ticks = [polyline([fan.at(place, 0.3), fan.at(place, 1.3)]) for place in lace.loom.places]
    yield Line(joined(ticks), 0.30, cap="butt")


def _marks(lace: Lace, fan: _Fan, new: RoundLayers) -> Iterator[Item]:
    """Where to start, which way."""
    done = new.done
    place, heading = start_place(lace, done, fan.scale)
    x, y = fan.at(place)
    back = WEDGE_MM[0] * (0.62 if done.worked.nodes else 0.9)
    turn = heading + fan.turn
    yield from wedge(x - back * math.sin(turn), y - back * math.cos(turn), turn, *WEDGE_MM)
    levels = row_levels(lace, done, fan.scale) if done.in_rows else [done.outer]
    beyond = -3.4 if done.stitch.behaviour == "edge" else 2.4 if done.in_rows else 3.4
    sign = -1 if done.backward else 1
    angles = [cmath.phase(place) + sign * math.radians(9 + 2 * step) for step in range(14)]
    rim = [lace.loom.shape.toward(cmath.rect(1.0, angle), levels[-1]) for angle in angles]
    yield from way_along([fan.at(each, beyond) for each in rim], head=3.1, weight=0.6)


def _measure(fan: _Fan, line: NotationLine, figures: Figures, room: float) -> Iterator[Item]:
    """How far out: a measure along the right-hand side, from the round before to this one, and on over a filling."""
    level = max(line.radii)
    steps = [(level - max(line.distances), level, distance_text(*line.distances))]
    if line.reach > level and any(isinstance(token, Sign) and token.id == TO for token in line.tokens):
        steps.append((level, line.reach, distance_text(line.reach - level)))
    label_at = -math.inf
    measures = [
        _Measure(fan, inner / 10, outer / 10, 4.2 + 3.2 * place) for place, (inner, outer, _) in enumerate(steps)
    ]
    beside = max(measure.label[0] for measure in measures)
    for measure, (_, _, words) in zip(measures, steps, strict=True):
        shown = text(words, size_pt=9.0, font=figures.regular)
        label_at = max(measure.label[1], label_at + LABEL_MM)
        yield from measure.items()
        yield Area(moved(shown, x=min(beside, room - width(shown) - 0.2), y=label_at))


@dataclass(frozen=True, slots=True)
class _Measure:
    """An arrow between two levels beside the right edge of a fan."""

    fan: _Fan
    inner: float
    outer: float
    aside: float

    @property
    def along(self) -> float:
        """Direction of the edge on paper."""
        return self.fan.between[1] + self.fan.turn

    def end(self, level: float) -> tuple[float, float]:
        """Where the arrow begins or ends."""
        direction = cmath.rect(1.0, self.fan.between[1])
        x, y = self.fan.at(self.fan.lace.loom.shape.toward(direction, level) if level else 0j)
        return x + self.aside * math.cos(self.along), y - self.aside * math.sin(self.along)

    def items(self) -> Iterator[Item]:
        """The arrow and its bars."""
        ends = [self.end(self.inner), self.end(self.outer)]
        bar = (1.3 * math.cos(self.along), -1.3 * math.sin(self.along))
        for x, y in ends:
            yield Line(polyline([(x - bar[0], y - bar[1]), (x + bar[0], y + bar[1])]), 0.35, cap="butt")
        yield Line(polyline(ends), 0.35, cap="butt")
        head = min(2.6, math.dist(*ends) * 0.6)
        turn = self.along if self.outer >= self.inner else self.along + math.pi
        yield from arrow_head(*ends[1], turn, head, INK)

    @property
    def label(self) -> tuple[float, float]:
        """Where its words begin: beside its middle."""
        (ax, ay), (bx, by) = self.end(self.inner), self.end(self.outer)
        return (ax + bx) / 2 + 2.6 * math.cos(self.along), (ay + by) / 2 - 2.6 * math.sin(self.along) - 1.2


def laying(lace: Lace, figures: Figures, layout: StepLayout) -> Picture:
    """How the web begins: the rim, its pins, and the first pins reached."""
    shape = lace.loom.shape
    up, across, down = shape.bounds
    scale = min((layout.height - 12.0) / (up + down), (layout.width - 12.0) / (2 * across))
    base = (layout.height - (up + down) * scale) / 2 + down * scale
    loom = _Laid(lace, layout.width / 2, base, scale)
    items: list[Item] = [Line(loom.rim(), 0.12)]
    ticks = [polyline([loom.at(place, -0.6), loom.at(place, 0.9)]) for place in lace.loom.places]
    items.append(Line(joined(ticks), 0.30, cap="butt"))
    reached = lace.web.order[: 5 if shape.closed else 4]
    strand, arrow = loom.strand(reached)
    items.append(Line(strand, 0.5))
    items += arrow_head(*arrow, 3.4, ACCENT)
    if not shape.closed:
        items.append(Line(circle(1.1, *loom.at(0j)), 0.4))
    for number, pin in enumerate(reached):
        words = text(str(pin + 1), size_pt=7.5, font=figures.regular)
        box = words.get_extents()
        x, y = loom.number_place(pin, number)
        items.append(Area(moved(words, x=x - (box.x0 + box.x1) / 2, y=y - (box.y0 + box.y1) / 2), SECONDARY))
    return Picture("laying", layout.width, layout.height, tuple(items))


@dataclass(frozen=True, slots=True)
class _Laid:
    """The loom on paper while the web is begun."""

    lace: Lace
    x: float
    y: float
    scale: float

    def at(self, place: complex, beyond_mm: float = 0.0, aside_mm: float = 0.0) -> tuple[float, float]:
        """Paper coordinates, so far straight out of the rim and to its right on paper."""
        out = self.lace.loom.shape.outward(place) if place else 1 + 0j
        moved_place = place * self.scale + out * beyond_mm + 1j * out * aside_mm
        return self.x + moved_place.imag, self.y + moved_place.real

    def rim(self) -> Path:
        """The outline; the straight side of a half-circle with it."""
        shape = self.lace.loom.shape
        first, last = (0.0, 2 * math.pi) if shape.closed else (-math.pi / 2, math.pi / 2)
        angles = [first + (last - first) * step / 180 for step in range(181)]
        places = [shape.toward(cmath.rect(1.0, angle), shape.shortest) for angle in angles]
        return polyline([self.at(place) for place in places], closed=True)

    def strand(self, reached: tuple[int, ...]) -> tuple[Path, tuple[float, float, float]]:
        """The thread from the centre round these pins, and an arrow on the way to the last one."""
        aside = min(0.9, 0.3 * self.lace.loom.pin_spacing * self.scale)
        points, codes = [self.at(0j)], [int(Path.MOVETO)]
        for number, pin in enumerate(reached):
            place = self.lace.loom.point(pin)
            if number and not self.lace.loom.shape.closed:
                points += [self.at(0j, 0.0, side) for side in (-1.6, -1.6, 1.6)]
                points[-3:] = [self.at(0j, -1.6, 1.1), self.at(0j, -1.6, -1.1), self.at(0j, 0.2, -1.0)]
                codes += [int(Path.LINETO), int(Path.LINETO), int(Path.LINETO)]
            points += [self.at(place, -0.9, -aside), self.at(place, 0.9, -aside), self.at(place, 0.9, aside),
                       self.at(place, -0.9, aside)]  # fmt: skip
            codes += [int(Path.LINETO), int(Path.CURVE4), int(Path.CURVE4), int(Path.CURVE4)]
        points, codes = points[:-3], codes[:-3]
        (ax, ay), (bx, by) = points[-2:]
        return Path(points, codes), (ax + 0.72 * (bx - ax), ay + 0.72 * (by - ay), math.atan2(bx - ax, by - ay))

    def number_place(self, pin: int, number: int) -> tuple[float, float]:
        """Beside its pin; numbers of neighbouring pins stand apart."""
        loom = self.lace.loom
        spacing = loom.pin_spacing * self.scale
        near = number // 2 - 1 if loom.shape.closed else number - 1
        if loom.shape.closed and pin >= loom.pins / 2:
            near += 1
        return self.at(loom.point(pin), 3.6, near * max(0.0, 4.0 - spacing))
