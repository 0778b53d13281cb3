"""Step pictures: a fan of the lace for every round, the new work loud, the earlier work quiet; and the laying.

Every round is drawn once, as layers without colour or width (rays, thread, hitches), in mm of lace about the
centre; a step places the layers of all rounds up to its own. So N steps cost N drawings.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from matplotlib.path import Path

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.drawing.chart import arrow_head, start_place, way_round, wedge
from pipeline.drawing.outline import arc, circle, joined, moved, polyline, text, vertices_of, width
from pipeline.drawing.picture import ACCENT, INK, SECONDARY, Area, Clipped, Figures, Item, Layer, Line, Picture, Placed
from pipeline.drawing.strands import Strands, darned_rows, hitch_length, hitches, ring, row_pitch, strands
from pipeline.notation import Line as NotationLine
from pipeline.notation import distance_text

BEFORE: Final = math.radians(11)
AFTER: Final = math.radians(55)
QUIET_RAY, QUIET_RING, QUIET_HITCH = 0.10, 0.20, 0.50
LOUD_RING, LOUD_HITCH, LOUD_ROW, FIRST_RAY = 0.60, 1.20, 0.75, 0.34
WEDGE_MM: Final = (3.8, 3.5)
FOOT_MM: Final = 3.6


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
    reach = min(1.42 * done.outer + 3.2, 1.06 * lace.loom.radius)
    return (layout.height - FOOT_MM - 1.0) / reach


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
    if done.worked.nodes:
        thread, hitch = ring(done), Layer(f"{name}-hitch", hitches(done, hitch_length(done, scale)))
        group = set(done.worked.nodes[0].rays)
        first = joined(
            [path for ray, path in own.between(number) if ray in group] + [free[ray] for ray in sorted(group)]
        )
    else:
        thread, hitch, first = darned_rows(lace, done, scale), None, joined([])
    return RoundLayers(
        done, Layer(f"{name}-held", held), Layer(f"{name}-free", joined(free.values())),
        Layer(f"{name}-thread", thread), hitch, first, scale,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Fan:
    """The part of the wheel a step shows: its foot on paper, scale, and the turn that sets it upright."""

    x: float
    y: float
    scale: float
    start: float
    reach: float

    @property
    def turn(self) -> float:
        """Clockwise turn of the wheel."""
        return -(self.start + (AFTER - BEFORE) / 2)

    def at(self, radius: float, angle: float) -> tuple[float, float]:
        """Paper coordinates of a place of the wheel; radius in mm of lace."""
        turned = angle + self.turn
        return self.x + radius * self.scale * math.sin(turned), self.y + radius * self.scale * math.cos(turned)

    def sector(self, start: float, end: float) -> Path:
        """The fan between two directions, measured from the start of the round."""
        rim = arc(self.reach * self.scale, self.start + self.turn + start, self.start + self.turn + end)
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
    radius, start, heading = start_place(new.done)
    reach = (layout.height - FOOT_MM - 1.0) / new.scale
    half = (BEFORE + AFTER) / 2
    fan = _Fan(2.0 + math.sin(half) * (layout.height - FOOT_MM), FOOT_MM, new.scale, start, reach)
    quiet = [fan.place(layers[k].held, QUIET_RAY) for k in range(number + 1)]
    quiet.append(fan.place(new.free, QUIET_RAY))
    for earlier in layers[:number]:
        quiet.append(fan.place(earlier.thread, QUIET_RING))
        if earlier.hitch:
            quiet.append(fan.place(earlier.hitch, QUIET_HITCH, "round"))
    yield Clipped(fan.sector(-BEFORE, AFTER), (*quiet, *_pins(lace, fan)))
    loud: list[Item] = []
    if new.hitch:
        own = moved(new.first, scale=fan.scale, turn=fan.turn, x=fan.x, y=fan.y)
        loud = [
            Line(own, FIRST_RAY, cap="butt"),
            fan.place(new.thread, LOUD_RING),
            fan.place(new.hitch, LOUD_HITCH, "round"),
        ]
    else:
        loud = [fan.place(new.thread, LOUD_ROW)]
    yield Clipped(fan.sector(-0.02 if new.hitch else 0.0, AFTER), tuple(loud))
    yield from _marks(lace, fan, new, radius, heading)
    yield from _measure(fan, line, figures, layout.width)


def _pins(lace: Lace, fan: _Fan) -> Iterator[Item]:
    loom = lace.loom
    if fan.reach > loom.radius:
        ticks = [
            polyline([fan.at(loom.radius + 0.3 / fan.scale, angle), fan.at(loom.radius + 1.3 / fan.scale, angle)])
            for angle in map(loom.angle, range(loom.pins))
        ]
        yield Line(joined(ticks), 0.30, cap="butt")


def _marks(lace: Lace, fan: _Fan, new: RoundLayers, radius: float, heading: float) -> Iterator[Item]:
    """Where to start, which way."""
    done = new.done
    if not done.worked.nodes:
        pitch = row_pitch(lace.threads[done.thread].thickness, fan.scale)
        radius += (len(done.worked.row_radii) - 1) / 2 * pitch
        outer = (done.radius + (len(done.worked.row_radii) - 1) * pitch) * fan.scale + 2.4
    else:
        outer = done.radius * fan.scale + (-3.4 if done.stitch.behaviour == "edge" else 3.4)
    x, y = fan.at(radius, fan.start)
    back = WEDGE_MM[0] * (0.62 if done.worked.nodes else 0.9)
    yield from wedge(
        x - back * math.sin(heading + fan.turn), y - back * math.cos(heading + fan.turn), heading + fan.turn, *WEDGE_MM
    )
    begin = fan.start + fan.turn + math.radians(9)
    yield from way_round((fan.x, fan.y), outer, begin, begin + math.radians(26), head=3.1, weight=0.6)


def _measure(fan: _Fan, line: NotationLine, figures: Figures, room: float) -> Iterator[Item]:
    """How far out: a measure along the right-hand side from the round before to this one."""
    angle = fan.start + AFTER
    along = angle + fan.turn
    aside = (4.2 * math.cos(along), -4.2 * math.sin(along))
    outer = fan.scale * line.radius / 10
    inner = outer - fan.scale * line.distance / 10
    ends = []
    for radius in (inner, outer):
        x, y = fan.x + radius * math.sin(along) + aside[0], fan.y + radius * math.cos(along) + aside[1]
        bar = (1.3 * math.cos(along), -1.3 * math.sin(along))
        ends.append((x, y))
        yield Line(polyline([(x - bar[0], y - bar[1]), (x + bar[0], y + bar[1])]), 0.35, cap="butt")
    yield Line(polyline(ends), 0.35, cap="butt")
    head = min(2.6, abs(outer - inner) * 0.6)
    yield from arrow_head(*ends[1], along if line.distance >= 0 else along + math.pi, head, INK)
    words = text(distance_text(line.distance), size_pt=9.0, font=figures.regular)
    x, y = (ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2
    beside = min(x + 2.6 * math.cos(along), room - width(words) - 0.2)
    yield Area(moved(words, x=beside, y=y - 2.6 * math.sin(along) - 1.2))


def laying(lace: Lace, figures: Figures, layout: StepLayout) -> Picture:
    """How the web begins: the rim, its pins, and the first five reached."""
    loom = lace.loom
    radius = layout.height / 2 - 6.0
    x, y = layout.width / 2, layout.height / 2
    items: list[Item] = [Line(circle(radius, x, y), 0.12)]
    ticks = [
        polyline([_on(x, y, radius - 0.6, angle), _on(x, y, radius + 0.9, angle)])
        for angle in map(loom.angle, range(loom.pins))
    ]
    items.append(Line(joined(ticks), 0.30, cap="butt"))
    aside = min(0.9, math.pi * radius / loom.pins * 0.6) / radius
    strand = [(x, y)]
    codes = [int(Path.MOVETO)]
    reached = lace.web.order[:5]
    for pin in reached:
        angle = loom.angle(pin)
        strand += [_on(x, y, radius - 0.9, angle - aside), _on(x, y, radius + 0.9, angle - aside),
                   _on(x, y, radius + 0.9, angle + aside), _on(x, y, radius - 0.9, angle + aside)]  # fmt: skip
        codes += [int(Path.LINETO), int(Path.CURVE4), int(Path.CURVE4), int(Path.CURVE4)]
    items.append(Line(Path(strand[:-3], codes[:-3]), 0.5))
    tail, head = strand[-5], strand[-4]
    turn = math.atan2(head[0] - tail[0], head[1] - tail[1])
    middle = (tail[0] + 0.72 * (head[0] - tail[0]), tail[1] + 0.72 * (head[1] - tail[1]))
    items += arrow_head(*middle, turn, 3.4, ACCENT)
    for pin in reached:
        words = text(str(pin + 1), size_pt=7.5, font=figures.regular)
        box = words.get_extents()
        near = reached.index(pin) // 2 if pin < loom.pins / 2 else reached.index(pin) // 2 + 1
        angle = loom.angle(pin) + (near - 1) * max(0.0, 0.19 - 2 * math.pi / loom.pins)
        px, py = _on(x, y, radius + 3.6, angle)
        items.append(Area(moved(words, x=px - (box.x0 + box.x1) / 2, y=py - (box.y0 + box.y1) / 2), SECONDARY))
    return Picture("laying", layout.width, layout.height, tuple(items))


def _on(x: float, y: float, radius: float, angle: float) -> tuple[float, float]:
    return x + radius * math.sin(angle), y + radius * math.cos(angle)
