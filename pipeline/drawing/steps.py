"""Step pictures: a fan of the lace for every round, the new work loud, the earlier work quiet; and the laying.

Every round is drawn once, as layers without colour or width (rays, thread, hitches), in mm of lace about the
centre; a step places the layers of all rounds up to its own. So N steps cost N drawings.
"""

import cmath
import itertools
import math
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from matplotlib.path import Path

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.drawing.fan import Fan, StepLayout, fan_of, seen_in, step_scale, view
from pipeline.drawing.lettering import centred, written
from pipeline.drawing.locator import locator
from pipeline.drawing.marks import arrow_head, pin_ticks, rim, way_along, wedge
from pipeline.drawing.measure import measures
from pipeline.drawing.outline import Flags, Points, circle, joined, polyline, vertices_of, within
from pipeline.drawing.picture import ACCENT, SECONDARY, Clipped, Figures, Item, Layer, Line, Picture, Placed
from pipeline.drawing.repeats import by_turns, length
from pipeline.drawing.strands import Strands, strands
from pipeline.drawing.working import goes_back, hitch_length, hitches, row_levels, start_place, working_thread
from pipeline.notation import Line as NotationLine

QUIET_RAY, QUIET_RING, QUIET_HITCH = 0.10, 0.20, 0.50
LOUD_RING, LOUD_HITCH, LOUD_ROW, LOUD_FILLING, FIRST_RAY = 0.60, 1.20, 0.75, 0.45, 0.34
WEDGE_MM: Final = (3.8, 3.5)
CORNER: Final = math.radians(34)
PIN_BESIDE: Final = math.radians(3)
"""So far beside a fan, a pin's tick may still reach into it: on a straight side it leans."""
HOLD_MM: Final = 1.5
"""Radius of the thread round the hold of a half-circle, while it is laid."""


@dataclass(frozen=True, slots=True)
class RoundLayers:
    """The layers of one round: its rays up to it, all rays beyond it, its thread, its hitches."""

    done: LaceRound
    held: Layer
    until: tuple[tuple[int, Layer], ...]
    """Rays up to it that a later round, at this index, holds once more in between."""
    free: Layer
    thread: Layer
    hitch: Layer | None
    first: Path
    """The rays of the first group, from their last lock outward."""


def round_layers(lace: Lace, layout: StepLayout) -> tuple[RoundLayers, ...]:
    """Draw every round once."""
    smallest = min((step_scale(lace, done, layout) for done in lace.rounds), default=1.0)
    laid = strands(lace, smallest)
    views = [view(lace, done, layout) for done in lace.rounds]
    near = 0.02 * lace.loom.radius
    return tuple(
        _seen(_layers(lace, laid, number, layout), seen_in(views[number:], near)) for number in range(len(lace.rounds))
    )


def _seen(layers: RoundLayers, seen: Callable[[Points], Flags]) -> RoundLayers:
    """What of a round's layers this step and later ones show; all of it where that is told in fewer words."""

    def trimmed(layer: Layer) -> Layer:
        shown = within(layer.path, seen)
        return layer if length(by_turns(layer.path)) < len(shown) else replace(layer, path=shown)

    return replace(
        layers,
        held=trimmed(layers.held),
        until=tuple((later, trimmed(layer)) for later, layer in layers.until),
        free=trimmed(layers.free),
        thread=trimmed(layers.thread),
        hitch=layers.hitch and trimmed(layers.hitch),
    )


def _layers(lace: Lace, laid: Strands, number: int, layout: StepLayout) -> RoundLayers:
    done = lace.rounds[number]
    scale = step_scale(lace, done, layout)
    held: dict[int, list[Path]] = defaultdict(list)
    for strand in laid.between(number):
        held[strand.until].append(strand.path)
    kept = held.pop(0, [])
    free = dict(laid.outward(number))
    name = f"r{done.number}"
    hitch, first = None, joined([])
    if done.tied:
        hitch = Layer(f"{name}-hitch", hitches(lace, done, hitch_length(done, scale)))
        group = set(done.worked.nodes[0].rays)
        own = [strand.path for strand in strands(lace, scale).between(number) if strand.ray in group]
        first = joined([*own, *(free[ray] for ray in sorted(group))])
    until = tuple((later, Layer(f"{name}-until-{later}", joined(held[later]))) for later in sorted(held))
    return RoundLayers(
        done, Layer(f"{name}-held", joined(kept)), until, Layer(f"{name}-free", joined(free.values())),
        Layer(f"{name}-thread", working_thread(lace, number, scale)), hitch, first,
    )  # fmt: skip


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
    fan = fan_of(lace, new.done, layout)
    yield Clipped(fan.sector(), (*_earlier(fan, layers, number), *_pins(lace, fan)))
    yield Clipped(fan.sector(_cut(fan, new)), tuple(_loud(fan, new)))
    yield from _marks(lace, fan, new)
    yield from measures(fan, line, figures, layout.width)
    yield from locator(lace, new.done, figures)


def _earlier(fan: Fan, layers: tuple[RoundLayers, ...], number: int) -> Iterator[Placed]:
    """The rays as they are after the round, and the work of those before it."""
    for earlier in layers[: number + 1]:
        if len(vertices_of(earlier.held.path)):
            yield fan.place(earlier.held, QUIET_RAY)
        yield from (fan.place(layer, QUIET_RAY) for until, layer in earlier.until if until > number)
    yield fan.place(layers[number].free, QUIET_RAY)
    for earlier in layers[:number]:
        yield fan.place(earlier.thread, QUIET_RING)
        if earlier.hitch:
            yield fan.place(earlier.hitch, QUIET_HITCH, "round")


def _cut(fan: Fan, new: RoundLayers) -> float:
    """How much of what lies behind the start does not show the new work: none where rows turn or groups are filled."""
    if new.hitch:
        return fan.view.behind - 0.02
    if not new.done.in_rows:
        return 0.0
    return fan.view.behind * (0.5 if new.done.counts.there_and_back else 1.0)


def _loud(fan: Fan, new: RoundLayers) -> Iterator[Item]:
    """The new work."""
    if new.hitch:
        yield Line(fan.moved(new.first), FIRST_RAY, cap="butt")
        yield fan.place(new.thread, LOUD_RING)
        yield fan.place(new.hitch, LOUD_HITCH, "round")
    else:
        yield fan.place(new.thread, LOUD_ROW if new.done.in_rows else LOUD_FILLING)


def _pins(lace: Lace, fan: Fan) -> Iterator[Item]:
    """Ticks at the pins that the fan reaches."""
    middle, half = (fan.first + fan.last) / 2, (fan.last - fan.first) / 2 + PIN_BESIDE
    shown = [
        place
        for place in lace.loom.places
        if abs(math.remainder(cmath.phase(place) - middle, math.tau)) < half
        and abs(place) * fan.scale < fan.view.radius_mm
    ]
    if shown:
        yield Line(joined(polyline([fan.at(place, 0.3), fan.at(place, 1.3)]) for place in shown), 0.30, cap="butt")


def _marks(lace: Lace, fan: Fan, new: RoundLayers) -> Iterator[Item]:
    """Where to start, which way."""
    done = new.done
    place, heading = start_place(lace, done, fan.scale)
    x, y = fan.at(place)
    back = WEDGE_MM[0] * (0.62 if done.worked.nodes else 0.9)
    turn = heading + fan.turn
    yield from wedge(x - back * math.sin(turn), y - back * math.cos(turn), turn, *WEDGE_MM)
    levels = row_levels(lace, done, fan.scale) if done.in_rows else [done.outer]
    beyond = -3.4 if done.stitch.behaviour == "edge" else 2.4 if done.in_rows else 3.4
    sign = -1 if goes_back(done) else 1
    angles = [cmath.phase(place) + sign * math.radians(9 + 2 * step) for step in range(14)]
    rim = [lace.loom.shape.toward(cmath.rect(1.0, angle), levels[-1]) for angle in angles]
    yield from way_along(_before_corner([fan.at(each, beyond) for each in rim]), head=3.1, weight=0.6)


def _before_corner(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """A way up to where it turns at a corner; the whole one where the corner comes at once."""
    ways = [math.atan2(b[0] - a[0], b[1] - a[1]) for a, b in itertools.pairwise(points)]
    turns = [place for place in range(1, len(ways)) if abs(math.remainder(ways[place] - ways[0], math.tau)) > CORNER]
    return points[: turns[0]] if turns and turns[0] > 4 else points


def laying(lace: Lace, figures: Figures, layout: StepLayout) -> Picture:
    """How the web begins: the rim, its pins, and the first pins reached."""
    shape = lace.loom.shape
    up, across, down = shape.bounds
    scale = min((layout.height - 12.0) / (up + down), (layout.width - 12.0) / (2 * across))
    base = (layout.height - (up + down) * scale) / 2 + down * scale
    loom = _Laid(lace, layout.width / 2, base, scale)
    items: list[Item] = [loom.place(rim(shape), 0.12, "round"), *loom.straight_side()]
    items.append(loom.place(pin_ticks("laying-pins", lace.loom, -0.6 / scale, 1.5 / scale), 0.30))
    reached = lace.web.order[: 5 if shape.closed else 4]
    strand, arrow = loom.strand(reached)
    items.append(Line(strand, 0.5 if shape.closed else 0.4))
    items += arrow_head(*arrow, 3.4, ACCENT)
    if not shape.closed:
        items.append(Line(circle(0.7 * HOLD_MM, *loom.at(0j)), 0.3))
    for number, pin in enumerate(reached):
        words = written(str(pin + 1), size_pt=8, font=figures.regular, colour=SECONDARY)
        items.append(centred(words, *loom.number_place(pin, number)))
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

    def place(self, layer: Layer, width: float, cap: str = "butt") -> Placed:
        """A layer of the loom."""
        return Placed(layer, width, self.scale, self.x, self.y, cap=cap)

    def straight_side(self) -> Iterator[Item]:
        """The straight side of a half-circle."""
        shape = self.lace.loom.shape
        if not shape.closed:
            yield Line(polyline([self.at(-1j * shape.shortest), self.at(1j * shape.shortest)]), 0.12)

    def strand(self, reached: tuple[int, ...]) -> tuple[Path, tuple[float, float, float]]:
        """The thread from the centre round these pins, and an arrow on the way to the last one."""
        aside = min(0.9, 0.3 * self.lace.loom.pin_spacing * self.scale)
        points, codes = [self.at(0j)], [int(Path.MOVETO)]
        for number, pin in enumerate(reached):
            place = self.lace.loom.point(pin)
            if number and not self.lace.loom.shape.closed:
                points += self._round_hold(self.lace.loom.point(reached[number - 1]))
                codes += [int(Path.LINETO), *[int(Path.CURVE4)] * 3]
            points += [self.at(place, -0.9, -aside), self.at(place, 0.9, -aside), self.at(place, 0.9, aside),
                       self.at(place, -0.9, aside)]  # fmt: skip
            codes += [int(Path.LINETO), int(Path.CURVE4), int(Path.CURVE4), int(Path.CURVE4)]
        points, codes = points[:-3], codes[:-3]
        (ax, ay), (bx, by) = points[-2:]
        return Path(points, codes), (ax + 0.72 * (bx - ax), ay + 0.72 * (by - ay), math.atan2(bx - ax, by - ay))

    def _round_hold(self, pin: complex) -> list[tuple[float, float]]:
        """Back from a pin, round the hold, and out again."""
        out = pin / abs(pin) * HOLD_MM
        turn = (1j * out, 1j * out - out * 4 / 3, -1j * out - out * 4 / 3, -1j * out)
        return [(self.x + place.imag, self.y + place.real) for place in turn]

    def number_place(self, pin: int, number: int) -> tuple[float, float]:
        """Beside its pin; numbers of neighbouring pins stand apart."""
        loom = self.lace.loom
        spacing = loom.pin_spacing * self.scale
        near = number // 2 - 1 if loom.shape.closed else number - 1
        if loom.shape.closed and pin >= loom.pins / 2:
            near += 1
        least = 4.0 if loom.shape.closed else 2.6
        return self.at(loom.point(pin), 3.6, near * max(0.0, least - spacing))
