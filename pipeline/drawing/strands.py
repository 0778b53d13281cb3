"""A lace as threads on paper: where each ray runs, the ring threads, hitches and darned rows of each round.

True geometry would lay rays that share a node on one line and hide their number; here they pass a node side by
side and bow apart between two nodes they share. Radii are true; only what stands beside one another is spread,
by amounts that are fixed on paper (``scale``: mm on paper to a mm of lace).
"""

import cmath
import itertools
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from matplotlib.path import Path

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.craft.fillings import Band
from pipeline.craft.stitches import Site
from pipeline.drawing.outline import cubic, segment
from pipeline.drawing.working import CORD_MM, spread_places

SIDE_MM: Final = 0.26
"""Between rays at a node, on paper."""
BOW_MM: Final = 0.6
"""Between rays half-way from node to node, on paper."""
SHORTEST_BOW_MM: Final = 2.0
"""Rays that run together for less than this on paper do not bow apart."""
LOOP_MM: Final = 0.85
"""How far each leg of a loop round a pin stands off, on paper."""
NEAREST_MM: Final = 0.45
"""Where neighbouring rays come nearer than this on paper, every second one stops."""


_Sharing = dict[tuple[int, int | None, int | None], list[int]]
"""Rays by the round that holds them and the nodes they run between."""


@dataclass(frozen=True, slots=True)
class Stop:
    """A place a ray is held at: the round (index into the lace's rounds, −1: the centre) and its node there."""

    place: complex
    round: int
    node: int | None = None


@dataclass(frozen=True, slots=True)
class Strand:
    """A piece of a ray between two stops."""

    ray: int
    path: Path
    until: int = 0
    """The index of the round that holds it once more in between; 0 if none does."""


@dataclass(frozen=True, slots=True)
class Strands:
    """The rays of a lace on paper."""

    lace: Lace
    scale: float
    trails: tuple[tuple[Stop, ...], ...]
    """Every ray's stops from the centre outward; its pin is not among them."""

    def between(self, number: int) -> Iterator["Strand"]:
        """What a round adds to each ray it takes: from the stop before to this one, from one to the next."""
        shared = self._sharing(number)
        for ray in range(len(self.trails)):
            for a, b in self._new_pieces(ray, number):
                yield Strand(ray, self._piece(a, b, shared, ray), self._until(ray, a, b))

    def _new_pieces(self, ray: int, number: int) -> Iterator[tuple[Stop, Stop]]:
        """Neighbouring stops of a ray as it is after a round, one of which is new."""
        until = [stop for stop in self.trails[ray] if stop.round <= number]
        return ((a, b) for a, b in itertools.pairwise(until) if number in {a.round, b.round})

    def _until(self, ray: int, a: Stop, b: Stop) -> int:
        """The first later round that holds a ray between two neighbouring stops; 0 if none does."""
        trail = self.trails[ray]
        return min((stop.round for stop in trail[trail.index(a) + 1 : trail.index(b)]), default=0)

    def whole(self) -> Iterator[Path]:
        """Every ray of the finished lace, from the centre to its pin."""
        shared: dict[int, _Sharing] = {}
        for ray, trail in enumerate(self.trails):
            for a, b in itertools.pairwise(trail):
                later = max(a.round, b.round)
                if later not in shared:
                    shared[later] = self._sharing(later)
                yield self._piece(a, b, shared[later], ray)
        yield from (path for _, path in self.outward(len(self.lace.rounds) - 1))

    def outward(self, number: int) -> Iterator[tuple[int, Path]]:
        """Every ray from its last stop after a round to its pin, and half round it."""
        for ray, trail in enumerate(self.trails):
            last = [stop for stop in trail if stop.round <= number][-1]
            yield ray, self._leg(ray, self._thinned(ray, last))

    def _sharing(self, number: int) -> _Sharing:
        """Rays that run from one node to one other, in order."""
        shared: _Sharing = defaultdict(list)
        for ray in range(len(self.trails)):
            for a, b in self._new_pieces(ray, number):
                if a.node is not None and b.node is not None and a.round != b.round:
                    shared[a.round, a.node, b.node].append(ray)
        order = {ray: place for place, ray in enumerate(_in_turn(self.lace.rounds[number]))}
        return {key: sorted(rays, key=lambda ray: order[ray]) for key, rays in shared.items()}

    def _piece(self, a: Stop, b: Stop, shared: _Sharing, ray: int) -> Path:
        a = self._thinned(ray, a)
        group = shared.get((a.round, a.node, b.node), []) if a.round != b.round else []
        length = abs(b.place - a.place)
        if len(group) < 2 or length < SHORTEST_BOW_MM / self.scale:
            return segment(a.place, b.place)
        aside = 1j * (b.place - a.place) / length
        bow = (group.index(ray) - (len(group) - 1) / 2) * (BOW_MM * 4 / 3 - SIDE_MM) / self.scale * aside
        third = (b.place - a.place) / 3
        return cubic(a.place, a.place + third + bow, b.place - third + bow, b.place)

    def _thinned(self, ray: int, stop: Stop) -> Stop:
        """From a crowded centre only every second ray, every fourth … starts: an engraver's rosette."""
        if stop.round >= 0 or ray == 0:
            return stop
        rank = (ray & -ray).bit_length() - 1
        radius = thinned_radius(self.lace, self.scale) / 2**rank
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
        if length > 6 / self.scale and not self._tied(last):
            near = pin - outward * min(3.0 / self.scale, length / 3)
            towards = last.place + (near + side - last.place) * 0.7
            return cubic(last.place, towards, pin + side * 1.2, pin)
        return cubic(last.place, last.place + (pin - last.place) * 0.45 + side * 1.9, pin + side * 1.5, pin)

    def _tied(self, stop: Stop) -> bool:
        """Whether a ray is held together with a neighbour's or its pin's other leg near the rim."""
        return stop.round >= 0 and self.lace.rounds[stop.round].stitch.behaviour == "edge"


def thinned_radius(lace: Lace, scale: float) -> float:
    """Nearer to the centre than this, in mm of lace, rays would run together on paper, and some are left out."""
    return NEAREST_MM * lace.loom.rays / (lace.loom.shape.length(1.0) * scale)


def strands(lace: Lace, scale: float) -> Strands:
    """The rays of a lace for a drawing in which a mm of lace is ``scale`` mm of paper."""
    trails = [[Stop(0j, -1)] for _ in range(lace.loom.rays)]
    for number, done in enumerate(lace.rounds):
        for ray, stop in _stops(lace, number, scale):
            trails[ray].append(stop)
        if done.stitch.behaviour in {"coil", "block"}:  # a band may lie between two earlier stops
            for trail in trails:
                trail.sort(key=lambda stop: round(lace.loom.shape.level(stop.place), 6))
    return Strands(lace, scale, tuple(tuple(trail) for trail in trails))


def _stops(lace: Lace, number: int, scale: float) -> Iterator[tuple[int, Stop]]:
    """Where a round holds its rays, from the centre outward; rays tied together stand side by side."""
    done = lace.rounds[number]
    if done.stitch.behaviour == "block":
        yield from _block_stops(lace, number, scale)
        return
    side = SIDE_MM / scale
    for node, tied in enumerate(done.worked.nodes):
        for place, ray in enumerate(tied.rays):
            off = place - (len(tied.rays) - 1) / 2
            yield ray, Stop(tied.point + off * side * 1j * tied.point / abs(tied.point), number, node)
            if done.stitch.behaviour == "coil":
                yield ray, Stop(tied.outer + off * side * 1j * tied.outer / abs(tied.outer), number, node)
    if not done.worked.nodes:
        yield from ((ray, Stop(points[-1], number)) for ray, points in done.worked.locks)


def _block_stops(lace: Lace, number: int, scale: float) -> Iterator[tuple[int, Stop]]:
    """Rays of a woven group follow its outline."""
    done = lace.rounds[number]
    site = Site(lace.loom, lace.rays_before(number), lace.threads[lace.web_thread].thickness)
    band = Band(done.radius, done.outer)
    for tied in done.worked.nodes:
        for share in (0.0, 0.25, 0.5, 0.75, 1.0):
            places = spread_places(site, tied.rays, band, share, done.outline, CORD_MM / scale)
            yield from ((ray, Stop(at, number)) for ray, at in zip(tied.rays, places, strict=True))


def _in_turn(done: LaceRound) -> list[int]:
    """All rays, those of the round's groups in the order they are tied."""
    taken = dict.fromkeys(ray for node in done.worked.nodes for ray in node.rays)
    return [*taken, *(ray for ray in range(len(done.rays)) if ray not in taken)]
