"""One round: which rays it takes, where it lies, what thread it uses.

``counts`` says how a stitch divides the rays, ``gather`` ties them in groups (knots and edges), ``weave`` runs
over and under them (darning). Each gives a ``Worked``: geometry and thread, and nothing about what came before.
"""

import cmath
import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from pipeline.craft.loom import Loom
from pipeline.craft.stretch import Ray, meets
from pipeline.craft.thread import bundle
from pipeline.pattern import Passed, Round
from pipeline.symbols import Stitch, TakeUp
from pipeline.units import Length

JAM_TOLERANCE: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Item:
    """One entry of a list of group sizes: so many rays, tied or passed over."""

    size: int
    tied: bool = True


@dataclass(frozen=True, slots=True)
class Counts:
    """How a round divides the rays. ``items`` are taken in turn from ray ``shift``; a weave has ``over``, ``under``."""

    items: tuple[Item, ...] = ()
    shift: int = 0
    over: int = 0
    under: int = 0

    @property
    def period(self) -> int:
        """The number that must divide the rays."""
        if self.items:
            return sum(item.size for item in self.items)
        return self.over if self.over == self.under else self.over + self.under

    def bundles(self, rays: int) -> int:
        """Bundles a weave crosses in a row."""
        return rays // self.over if self.over == self.under else 2 * rays // (self.over + self.under)

    def taken(self, rays: int) -> tuple[int, ...]:
        """Every ray the round takes."""
        return tuple(ray for group in self.groups(rays) for ray in group) if self.items else tuple(range(rays))

    def groups(self, rays: int) -> tuple[tuple[int, ...], ...]:
        """The rays of every tied group, clockwise from ray ``shift``."""
        found: list[tuple[int, ...]] = []
        ray = self.shift
        for item in itertools.islice(itertools.cycle(self.items), rays // self.period * len(self.items)):
            if item.tied:
                found.append(tuple((ray + step) % rays for step in range(item.size)))
            ray += item.size
        return tuple(found)


@dataclass(frozen=True, slots=True)
class Node:
    """A group tied: its rays and the point where."""

    rays: tuple[int, ...]
    point: complex


@dataclass(frozen=True, slots=True)
class Worked:
    """A round's geometry and the thread it takes, without the way to it."""

    row_radii: tuple[float, ...]
    nodes: tuple[Node, ...]
    locks: tuple[tuple[int, complex], ...]
    """Each ray it takes with its new lock."""
    net: float
    jam_radius: float = 0.0
    """Where the bundles of a weave jam, mm."""


def counts(stitch: Stitch, entry: Round) -> Counts:
    """How the round as written divides the rays."""
    if stitch.edge:
        return Counts((Item(stitch.edge.rays),), stitch.edge.shift)
    told = entry.parameters
    if stitch.behaviour == "weave":
        return Counts(over=told["over"], under=told["under"])
    rays = told["rays"] if isinstance(told["rays"], tuple) else (told["rays"],)
    items = tuple(Item(item.passed, tied=False) if isinstance(item, Passed) else Item(item) for item in rays)
    return Counts(items, told["shift"])


def edge_radius(loom: Loom, inset: Length | None) -> float:
    """Where an edge lies: ``inset`` inside the rim, by default a pin's spacing, at most an eighth of the radius."""
    default = min(loom.pin_spacing, loom.radius / 8)
    return loom.radius - (inset.mm(loom.radius) if inset else default)


def gather(
    rays: Sequence[Ray], counted: Counts, take_up: TakeUp, *, radius: float, thread_mm: float, web_mm: float
) -> Worked:
    """Tie groups of rays on a round.

    Thread: chords from node to node and back to the first, a knot at each, and one more at the first to close.
    """
    groups = counted.groups(len(rays))
    nodes = tuple(Node(group, node_point((rays[ray] for ray in group), radius)) for group in groups)
    locks = tuple((ray, node.point) for node in nodes for ray in node.rays)
    closed = (*nodes, nodes[0])
    chords = math.fsum(abs(b.point - a.point) for a, b in itertools.pairwise(closed))
    knots = math.fsum(knot(bundle(web_mm, len(node.rays)), thread_mm, take_up) for node in closed)
    return Worked((radius,), nodes, locks, chords + knots)


def node_point(rays: Iterable[Ray], radius: float) -> complex:
    """On the round, in the direction of the sum of the unit vectors to where the free lines meet it."""
    meetings = (meets(ray, radius) for ray in rays)
    return cmath.rect(radius, cmath.phase(sum((point / abs(point) for point in meetings), 0j)))


def knot(bundle_mm: float, thread_mm: float, take_up: TakeUp) -> float:
    """Thread of one knot: turns round the bundle, and some thicknesses for the bight.

    A turn of a thread round a bundle, plus about three of its own thicknesses: derived, no source; calibrate it
    by unpicking a sample.
    """
    return take_up.turns * math.pi * (bundle_mm + thread_mm) + take_up.thicknesses * thread_mm


def weave(rays: Sequence[Ray], counted: Counts, *, radii: tuple[float, ...], height: float, even: bool) -> Worked:
    """Darn rows at these radii over and under bundles of rays, with the crimp height D in mm.

    ``even`` spreads the rays evenly, each pin's pair about its pin; else the free lines say where they are
    locked, at the last row.
    """
    bundles = counted.bundles(len(rays))
    net = math.fsum(bundles * crossing(2 * math.pi * radius / bundles, height) for radius in radii)
    if even:
        step = 2 * math.pi / len(rays)
        locks = tuple((ray, cmath.rect(radii[-1], (ray - 0.5) * step)) for ray in range(len(rays)))
    else:
        locks = tuple((number, meets(ray, radii[-1])) for number, ray in enumerate(rays))
    return Worked(radii, (), locks, net, jam_radius(bundles, height))


def crimp_height(counted: Counts, thread_mm: float, web_mm: float) -> float:
    """D: the working thread's thickness and the mean of the bundles' it passes over and under, mm."""
    return thread_mm + (bundle(web_mm, counted.over) + bundle(web_mm, counted.under)) / 2


def jam_radius(bundles: int, height: float) -> float:
    """Where the bundles stand as close as they can, p = D (Peirce 1937), mm."""
    return bundles * height / (2 * math.pi)


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
