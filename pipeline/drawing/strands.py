"""A lace as threads on paper: where each ray runs, the ring threads, hitches and darned rows of each round.

True geometry would lay rays that share a node on one line and hide their number; here they pass a node side by
side and bow apart between two nodes they share. Radii are true; only what stands beside one another is spread,
by amounts that are fixed on paper (``scale``: mm on paper to a mm of lace).
"""

import cmath
import itertools
import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from matplotlib.path import Path

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.drawing.outline import arc, cubic, joined, point, polyline, segment

SIDE_MM: Final = 0.26
"""Between rays at a node, on paper."""
BOW_MM: Final = 0.6
"""Between rays half-way from node to node, on paper."""
LOOP_MM: Final = 0.85
"""How far each leg of a loop round a pin stands off, on paper."""
NEAREST_MM: Final = 0.45
"""Where neighbouring rays come nearer than this on paper, every second one stops."""
ROW_MM: Final = 1.1
"""Least distance of darned rows on paper."""
SLANT: Final = math.radians(14)
"""A hitch rises to the right, seen with the rim above: the mark of a knot."""
LONGEST_HITCH_MM: Final = 3.4
SHORTEST_HITCH_MM: Final = 1.3


@dataclass(frozen=True, slots=True)
class Stop:
    """A place a ray is held at: the round (index into the lace's rounds, −1: the centre) and its node there."""

    place: complex
    round: int
    node: int | None = None


@dataclass(frozen=True, slots=True)
class Strands:
    """The rays of a lace on paper."""

    lace: Lace
    scale: float
    trails: tuple[tuple[Stop, ...], ...]
    """Every ray's stops from the centre outward; its pin is not among them."""

    def between(self, number: int) -> Iterator[tuple[int, Path]]:
        """Each ray a round takes, from the stop before to this one."""
        shared = self._sharing(number)
        for ray, trail in enumerate(self.trails):
            for a, b in itertools.pairwise(trail):
                if b.round == number:
                    yield ray, self._piece(a, b, shared, ray)

    def outward(self, number: int) -> Iterator[tuple[int, Path]]:
        """Every ray from its last stop after a round to its pin, and half round it."""
        for ray, trail in enumerate(self.trails):
            last = [stop for stop in trail if stop.round <= number][-1]
            yield ray, self._leg(ray, self._thinned(ray, last))

    def _sharing(self, number: int) -> dict[tuple[int, int | None, int | None], list[int]]:
        """Rays that run from one node to one other, in order."""
        shared: dict[tuple[int, int | None, int | None], list[int]] = defaultdict(list)
        for ray, trail in enumerate(self.trails):
            for a, b in itertools.pairwise(trail):
                if b.round == number and a.node is not None and b.node is not None:
                    shared[a.round, a.node, b.node].append(ray)
        order = {ray: place for done in (self.lace.rounds[number],) for place, ray in enumerate(_in_turn(done))}
        return {key: sorted(rays, key=lambda ray: order[ray]) for key, rays in shared.items()}

    def _piece(self, a: Stop, b: Stop, shared: dict[tuple[int, int | None, int | None], list[int]], ray: int) -> Path:
        a = self._thinned(ray, a)
        group = shared.get((a.round, a.node, b.node), [])
        if len(group) < 2:
            return segment(a.place, b.place)
        aside = 1j * (b.place - a.place) / abs(b.place - a.place)
        bow = (group.index(ray) - (len(group) - 1) / 2) * BOW_MM / self.scale * 4 / 3 * aside
        bow -= (group.index(ray) - (len(group) - 1) / 2) * SIDE_MM / self.scale * aside
        third = (b.place - a.place) / 3
        return cubic(a.place, a.place + third + bow, b.place - third + bow, b.place)

    def _thinned(self, ray: int, stop: Stop) -> Stop:
        """From a crowded centre only every second ray, every fourth … starts: an engraver's rosette."""
        if stop.round >= 0 or ray == 0:
            return stop
        rank = (ray & -ray).bit_length() - 1
        radius = NEAREST_MM * len(self.trails) / (2 * math.pi * self.scale) / 2**rank
        first = (
            self.trails[ray][1].place if len(self.trails[ray]) > 1 else self.lace.loom.point(self.lace.loom.pin_of(ray))
        )
        return Stop(cmath.rect(min(radius, abs(first) * 0.98), cmath.phase(first)), stop.round)

    def _leg(self, ray: int, last: Stop) -> Path:
        """One leg of the loop round a pin: it leaves its stop aside and comes to the pin along the rim."""
        pin = self.lace.loom.point(self.lace.loom.pin_of(ray))
        outward = pin / abs(pin)
        side = (1 if ray % 2 else -1) * 1j * outward * LOOP_MM / self.scale
        length = abs(pin - last.place)
        if length > 6 / self.scale and not self._tied(last, ray):
            near = pin - outward * min(3.0 / self.scale, length / 3)
            towards = last.place + (near + side - last.place) * 0.7
            return cubic(last.place, towards, pin + side * 1.2, pin)
        return cubic(last.place, last.place + (pin - last.place) * 0.45 + side * 1.9, pin + side * 1.5, pin)

    def _tied(self, stop: Stop, ray: int) -> bool:
        """Whether a ray is held together with a neighbour's or its pin's other leg near the rim."""
        return stop.round >= 0 and self.lace.rounds[stop.round].stitch.behaviour == "edge" and ray >= 0


def strands(lace: Lace, scale: float) -> Strands:
    """The rays of a lace for a drawing in which a mm of lace is ``scale`` mm of paper."""
    trails = [[Stop(0j, -1)] for _ in range(lace.loom.rays)]
    for number, done in enumerate(lace.rounds):
        for node, tied in enumerate(done.worked.nodes):
            aside = 1j * tied.point / abs(tied.point) * SIDE_MM / scale
            for place, ray in enumerate(tied.rays):
                offset = (place - (len(tied.rays) - 1) / 2) * aside
                trails[ray].append(Stop(tied.point + offset, number, node))
        if not done.worked.nodes:
            for ray, lock in done.worked.locks:
                trails[ray].append(Stop(lock, number))
    return Strands(lace, scale, tuple(tuple(trail) for trail in trails))


def ring(done: LaceRound) -> Path:
    """The working thread from node to node and back to the first."""
    return polyline([point(node.point) for node in (*done.worked.nodes, done.worked.nodes[0])])


def hitch_length(done: LaceRound, scale: float) -> float:
    """Of the marks of a round, in mm of lace: 0.4 of the nodes' spacing, held between two sizes on paper."""
    nodes = [node.point for node in done.worked.nodes]
    spacing = min((abs(b - a) for a, b in itertools.pairwise([*nodes, nodes[0]])), default=0.0)
    return min(max(0.4 * spacing * scale, SHORTEST_HITCH_MM), LONGEST_HITCH_MM) / scale


def hitches(done: LaceRound, length: float) -> Path:
    """A slanting stroke of this length (mm of lace) across every node."""
    return joined(hitch(node.point, length) for node in done.worked.nodes)


def hitch(place: complex, length: float) -> Path:
    """One slanting stroke."""
    outward = place / abs(place)
    along = (math.cos(SLANT) * 1j + math.sin(SLANT)) * outward * length / 2
    return segment(place - along, place + along)


def row_pitch(thread_mm: float, scale: float) -> float:
    """Distance of drawn rows in mm of lace."""
    return max(thread_mm, ROW_MM / scale)


def darned_rows(lace: Lace, done: LaceRound, scale: float, *, far_side: bool = False) -> Path:
    """The pieces of a darn that lie on top, row by row; rows lie opposite to one another.

    ``far_side``: the pieces that are seen from the other side of the lace.
    """
    angles = ray_angles(done)
    bundles = list(_bundles(done, len(angles)))
    pitch = row_pitch(lace.threads[done.thread].thickness, scale)
    pieces: list[Path] = []
    for row in range(len(done.worked.row_radii)):
        radius = done.radius + row * pitch
        for number, rays in enumerate(bundles):
            passes_over = (number + row) % 2 == 0 if done.phase_shift else (row * len(bundles) + number) % 2 == 0
            if passes_over != far_side:
                pieces.append(_over(angles, rays, radius))
    return joined(pieces)


def _over(angles: Sequence[float], rays: Sequence[int], radius: float) -> Path:
    """An arc over a bundle, a little longer than it is wide."""
    count = len(angles)
    before = _turn(angles[rays[0]] - angles[(rays[0] - 1) % count])
    after = _turn(angles[(rays[-1] + 1) % count] - angles[rays[-1]])
    first = angles[rays[0]]
    return arc(radius, first - 0.62 * before, first + _turn(angles[rays[-1]] - first) + 0.62 * after)


def _bundles(done: LaceRound, rays: int) -> Iterator[Sequence[int]]:
    """The rays of each bundle of a darn, in order from ray 0."""
    ray = 0
    for number in range(done.bundles):
        size = done.counts.over if number % 2 == 0 else done.counts.under
        yield [(ray + step) % rays for step in range(size)]
        ray += size


def ray_angles(done: LaceRound) -> list[float]:
    """The direction of every ray's lock after a round."""
    return [cmath.phase(ray.lock) for ray in done.rays]


def start_angle(done: LaceRound) -> float:
    """Where a round begins: half-way between its last knot and its first, or before ray 0."""
    if done.worked.nodes:
        last, first = cmath.phase(done.worked.nodes[-1].point), cmath.phase(done.worked.nodes[0].point)
    else:
        last, first = cmath.phase(done.rays[-1].lock), cmath.phase(done.rays[0].lock)
    return last + _turn(first - last) / 2


def _turn(angle: float) -> float:
    """The same turn between 0 and a whole one."""
    return angle % (2 * math.pi)


def _in_turn(done: LaceRound) -> list[int]:
    """All rays, those of the round's groups in the order they are tied."""
    taken = [ray for node in done.worked.nodes for ray in node.rays]
    return taken + [ray for ray in range(len(done.rays)) if ray not in set(taken)]
