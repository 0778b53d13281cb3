"""One round worked: where it lies, which rays it locks, what thread it takes.

``tie`` knots groups of rays (knots and edges), ``darn`` runs over and under them, ``rib`` goes back over and
forward under. Each gives a ``Worked``: geometry and thread, and nothing about what came before. Fillings of a
band stand in ``fillings``.
"""

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from pipeline.craft.counts import Counts, Group
from pipeline.craft.loom import Loom
from pipeline.craft.shapes import Shape
from pipeline.craft.stretch import Ray
from pipeline.craft.thread import bundle
from pipeline.symbol_model import TakeUp
from pipeline.units import Length

JAM_TOLERANCE: Final = 1e-9

Locks = tuple[tuple[int, tuple[complex, ...]], ...]
"""Rays with their new locks, from the centre outward."""


@dataclass(frozen=True, slots=True)
class Site:
    """Where a round is worked: the loom, its rays as they are, and the thickness of the web's thread."""

    loom: Loom
    rays: Sequence[Ray]
    web_mm: float

    @property
    def shape(self) -> Shape:
        """The outline."""
        return self.loom.shape


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a weave: its level and its thread's thickness, mm."""

    level: float
    thread_mm: float


@dataclass(frozen=True, slots=True)
class Node:
    """A group tied, bound or woven: its rays, and where that begins and ends."""

    rays: Group
    point: complex
    outer: complex


@dataclass(frozen=True, slots=True)
class Worked:
    """A round's geometry and the thread it takes, without the way to it."""

    row_radii: tuple[float, ...]
    """Level of each row; of each group in turn where the distances are a list."""
    fans: tuple[tuple[Node, ...], ...]
    """Groups in the order they are worked, for each part of the round; the whole round is one."""
    locks: Locks
    row_nets: tuple[float, ...]
    """Thread of each row, mm; one for a round that is no weave."""
    end: complex
    """Where the thread goes on from."""
    closed: bool = False
    """Whether one more knot beside the first closes it."""
    jam_radius: float = 0.0
    """Where the bundles of a weave jam, mm."""
    outer: float = 0.0
    """Level of the outermost row or group, or of a filling's end."""
    loop_mm: float = 0.0
    """How far each loop of thread between two knots stands out."""

    @property
    def nodes(self) -> tuple[Node, ...]:
        """All groups in the order they are worked."""
        return tuple(itertools.chain.from_iterable(self.fans))

    @property
    def net(self) -> float:
        """Thread of the whole round, mm."""
        return math.fsum(self.row_nets)


def edge_radius(loom: Loom, inset: Length | None) -> float:
    """Where an edge lies: ``inset`` inside the rim, by default a pin's spacing, at most an eighth of the radius."""
    default = min(loom.pin_spacing, loom.radius / 8)
    return loom.radius - (inset.mm(loom.radius) if inset else default)


@dataclass(frozen=True, slots=True)
class Tying:
    """How groups are tied: levels they take in turn, the thread, its take-up, loops between knots, the closing."""

    levels: tuple[float, ...]
    thread_mm: float
    take_up: TakeUp
    close: bool = True
    loop_mm: float = 0.0
    backward: bool = False
    """Worked from the last group to the first: every second row of a half-circle."""


def tie(site: Site, counted: Counts, tying: Tying) -> Worked:
    """Tie groups of rays on a round."""
    levels = itertools.cycle(tying.levels)
    fans = tuple(
        tuple(Node(group, point, point) for group in groups for point in (node_point(site, group, next(levels)),))
        for groups in counted.groups(len(site.rays))
    )
    if tying.backward:
        fans = tuple(fan[::-1] for fan in fans[::-1])
    nodes = [node for fan in fans for node in fan]
    closed = tying.close and not counted.there_and_back
    return Worked(
        row_radii=tying.levels,
        fans=fans,
        locks=tuple((ray, (node.point,)) for node in nodes for ray in node.rays),
        row_nets=(_tied_mm(fans, tying, site.web_mm, closed=closed),),
        end=nodes[0].point if closed else nodes[-1].point,
        closed=closed,
        outer=max(tying.levels),
        loop_mm=tying.loop_mm,
    )


def _tied_mm(fans: Sequence[Sequence[Node]], tying: Tying, web_mm: float, *, closed: bool) -> float:
    """Thread of a round of knots, mm.

    Chords from node to node and back to the first, a knot at each, and one more at the first to close. Without closing
    there is no way back and no such knot; between parts the thread goes straight.
    """
    nodes = [node for fan in fans for node in fan]
    legs = [chord(a, b, tying.loop_mm) for fan in fans for a, b in itertools.pairwise(fan)]
    ways = [abs(b[0].point - a[-1].point) for a, b in itertools.pairwise(fans)]
    if closed:
        legs.append(chord(nodes[-1], nodes[0], tying.loop_mm))
        nodes.append(nodes[0])
    knots = [knot(bundle(web_mm, len(node.rays)), tying.thread_mm, tying.take_up) for node in nodes]
    return math.fsum([*legs, *ways, *knots])


def chord(a: Node, b: Node, loop_mm: float) -> float:
    """Thread from knot to knot, mm: straight, or as two straight legs of a loop that stands out so far."""
    return 2 * math.hypot(abs(b.point - a.point) / 2, loop_mm)


def node_point(site: Site, group: Iterable[int], level: float) -> complex:
    """On the round, in the direction of the sum of the unit vectors to where the free lines meet it.

    All rays together, which is an error, may draw to all sides alike: then their first one decides.
    """
    meetings = [site.rays[ray].meets(site.shape, level) for ray in group]
    return site.shape.toward(sum((point / abs(point) for point in meetings), 0j) or meetings[0], level)


def knot(bundle_mm: float, thread_mm: float, take_up: TakeUp) -> float:
    """Thread of one knot: turns round the bundle, and some thicknesses for the bight.

    A turn of a thread round a bundle, plus about three of its own thicknesses: derived, no source; calibrate it
    by unpicking a sample.
    """
    return take_up.turns * math.pi * (bundle_mm + thread_mm) + take_up.thicknesses * thread_mm


def darn(site: Site, counted: Counts, rows: Sequence[Row], *, even: bool, backward: bool) -> Worked:
    """Darn rows over and under bundles of rays.

    ``even`` spreads the rays evenly, each pin's pair about its pin; else the free lines say where they are locked,
    at the last row. Rows that turn at an end take half a turn round the last bundle.
    """
    crossings = counted.crossings(len(site.rays))
    turn = half_turn(bundle(site.web_mm, counted.over), rows[0].thread_mm)

    def net(row: Row, share: float, turns: int) -> float:
        height = crimp_height(counted, row.thread_mm, site.web_mm)
        return crossings * share * crossing(site.shape.length(row.level) / crossings, height) + turns * turn

    return _woven(site, counted, rows, net, even=even, backward=backward)


def rib(site: Site, counted: Counts, rows: Sequence[Row], *, backward: bool) -> Worked:
    """Work rows that go back over some rays and forward under more.

    A stitch takes its share of the round and one turn round the rays it goes back over (derived: the turn of a
    knot without its bight).
    """
    crossings = counted.crossings(len(site.rays))
    thickness = bundle(site.web_mm, counted.over)

    def net(row: Row, share: float, _turns: int) -> float:
        spacing = site.shape.length(row.level) / crossings
        return crossings * share * (spacing + math.pi * (thickness + row.thread_mm))

    return _woven(site, counted, rows, net, even=False, backward=backward)


_Net = Callable[[Row, float, int], float]
"""What a row takes, mm, from its share of the round and how often it turns at an end."""


def _woven(site: Site, counted: Counts, rows: Sequence[Row], net: _Net, *, even: bool, backward: bool) -> Worked:
    """Rows over all rays, or over those of every part."""
    total = len(site.rays)
    stretches = counted.stretches(total)
    share = sum(count for _, count in stretches) / total
    places = site.shape.spread(site.loom.pins, rows[-1].level) if even else None
    taken = counted.taken(total)
    at = {ray: places[ray] if places else site.rays[ray].meets(site.shape, rows[-1].level) for ray in taken}
    nets = [
        net(row, share, len(stretches) if number and counted.there_and_back else 0) for number, row in enumerate(rows)
    ]
    turns = [(start % total, (start + count - 1) % total) for start, count in stretches]
    stops = [(at[first], at[last]) for first, last in (turns if counted.there_and_back else [(0, 0)])]
    if backward:
        stops = [stop[::-1] for stop in stops[::-1]]
    last = len(rows) % 2
    nets[-1] += math.fsum(abs(b[0] - a[last]) for a, b in itertools.pairwise(stops))
    return Worked(
        row_radii=tuple(row.level for row in rows),
        fans=(),
        locks=tuple((ray, (at[ray],)) for ray in taken),
        row_nets=tuple(nets),
        end=stops[-1][last],
        jam_radius=tight_radius(site, counted, rows[0].thread_mm),
        outer=rows[-1].level,
    )


def weave_rows(first: float, threads_mm: Sequence[float]) -> tuple[Row, ...]:
    """Rows from a first level outward, each a thread's thickness further out than the one before."""
    levels = itertools.accumulate(threads_mm[1:], initial=first)
    return tuple(Row(level, thread_mm) for level, thread_mm in zip(levels, threads_mm, strict=True))


def tight_radius(site: Site, counted: Counts, thread_mm: float) -> float:
    """The level at which the first row of a weave lies as close to the centre as the threads let it."""
    height = crimp_height(counted, thread_mm, site.web_mm)
    return jam_radius(site.shape, counted.crossings(len(site.rays)), height)


def crimp_height(counted: Counts, thread_mm: float, web_mm: float) -> float:
    """D: the working thread's thickness and the mean of the bundles' it passes over and under, mm.

    A rib wants room for the rays it goes back over and its own thread.
    """
    if counted.back:
        return thread_mm + bundle(web_mm, counted.over)
    return thread_mm + (bundle(web_mm, counted.over) + bundle(web_mm, counted.under)) / 2


def jam_radius(shape: Shape, bundles: int, height: float) -> float:
    """Where the bundles stand as close as they can, p = D (Peirce 1937), mm."""
    return bundles * height / shape.length(1.0)


def half_turn(thickness_mm: float, thread_mm: float) -> float:
    """Thread that turns half-way round another, mm: π(a + b)/2."""
    return math.pi * (thickness_mm + thread_mm) / 2


def crossing(spacing: float, height: float) -> float:
    """Thread of one crossing, mm: l = p·cos θ + D·θ with sin θ = D/p (Peirce 1937, straight bundles).

    Below the jam the thread lies flat against its bundles: D·π/2.

    >>> round(crossing(2.0, 1.0), 4)
    2.2556
    """
    if spacing < height * (1 - JAM_TOLERANCE):
        return height * math.pi / 2
    angle = math.asin(min(1.0, height / spacing))
    return spacing * math.cos(angle) + height * angle
