"""Fillings of a band: ``wrap`` binds groups into cords, ``weave`` works to and fro over them.

A band lies on the free part of its rays, or between two locks they all have. Both fillings are begun at the inner
end of every group; the thread goes straight from the outer end of one group to the inner end of the next.
"""

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from pipeline.craft.counts import Counts, Group
from pipeline.craft.stitches import Locks, Node, Site, Worked, crossing, half_turn, node_point
from pipeline.craft.thread import bundle

OUTLINES: Final[dict[str, Callable[[float], float]]] = {
    "bar": lambda _share: 1.0,
    "leaf": lambda share: math.sin(math.pi * share),
    "point": lambda share: share,
}
"""How wide a woven filling is at a share of its length from the inner end, in parts of the width its rays have."""

MOST_ROWS_RECKONED: Final = 400
MOST_PLACES: Final = 40_000
"""Rows of a woven group that are reckoned one by one, and places where rows of a round cross rays."""

SAME_SHARE: Final = 1e-6
"""Rays nearer than this share of their thickness share their way."""

HELD: Final = {"bar": (0.0, 1.0), "leaf": (0.0, 0.5, 1.0), "point": (0.0, 1.0)}
"""At which shares of its length each outline holds its rays."""


@dataclass(frozen=True, slots=True)
class Band:
    """From one level to another, mm."""

    inner: float
    outer: float

    def at(self, share: float) -> float:
        """The level at a share of the way outward."""
        return self.inner + share * (self.outer - self.inner)


def wrap(site: Site, counted: Counts, band: Band, thread_mm: float, *, backward: bool) -> Worked:
    """Coil the thread closely along every group, from its inner node outward.

    Thread: one turn for every thickness of the thread, each √((π(b + d))² + d²): a helix unrolled.
    """
    fans: list[tuple[Node, ...]] = []
    for groups in counted.groups(len(site.rays)):
        points = [node_point(site, group, band.inner) for group in groups]
        fans.append(tuple(Node(g, p, site.shape.toward(p, band.outer)) for g, p in zip(groups, points, strict=True)))
    nodes = [node for fan in fans for node in fan]
    locks = tuple((ray, (node.point, node.outer)) for node in nodes for ray in node.rays)
    own = [coil(abs(n.outer - n.point), bundle(site.web_mm, len(n.rays)), thread_mm) for n in nodes]
    return _filled(fans, locks, own, band, backward=backward)


def coil(length: float, bundle_mm: float, thread_mm: float) -> float:
    """Thread coiled closely along a bundle, mm."""
    return length / thread_mm * math.hypot(math.pi * (bundle_mm + thread_mm), thread_mm)


def weave(site: Site, counted: Counts, band: Band, thread_mm: float, outline: str, *, backward: bool) -> Worked:
    """Work to and fro over every group, in the outline of a bar, a leaf or a point.

    Thread: rows at a pitch of one thickness, each k − 1 crossings (Peirce 1937) and half a turn round its last ray.
    """
    fans: list[tuple[Node, ...]] = []
    locks: list[tuple[int, tuple[complex, ...]]] = []
    own: list[float] = []
    for groups in counted.groups(len(site.rays)):
        fan = []
        for group in groups:
            held = [outlined(site, group, band, share, outline) for share in HELD[outline]]
            locks += [(ray, tuple(points[place] for points in held)) for place, ray in enumerate(group)]
            fan.append(Node(group, _middle(held[0]), _middle(held[-1])))
            own.append(block(site, group, band, thread_mm, outline))
        fans.append(tuple(fan))
    return _filled(fans, tuple(locks), own, band, backward=backward)


def block(site: Site, group: Group, band: Band, thread_mm: float, outline: str) -> float:
    """Thread of one woven group, mm; where there are very many rows, fewer are reckoned for all."""
    height = thread_mm + site.web_mm
    count = _rows(site, group, band, thread_mm)
    reckoned = rows_reckoned(count, len(site.rays))
    rows = []
    for share in _shares(reckoned):
        places = outlined(site, group, band, share, outline)
        crossings = math.fsum(crossing(abs(b - a), height) for a, b in itertools.pairwise(places))
        rows.append(crossings + half_turn(site.web_mm, thread_mm))
    return math.fsum(rows) * count / reckoned


def rows_reckoned(count: float, rays: int) -> int:
    """How many of so many rows are reckoned where there are so many rays in the round.

    >>> rows_reckoned(60, 120), rows_reckoned(1e9, 120), rows_reckoned(60, 2000)
    (60, 333, 20)
    """
    return int(min(count, MOST_ROWS_RECKONED, max(1, MOST_PLACES // rays)))


def row_shares(site: Site, group: Group, band: Band, thread_mm: float) -> list[float]:
    """Where the rows of a woven group lie, in shares of its length."""
    return _shares(_rows(site, group, band, thread_mm))


def _rows(site: Site, group: Group, band: Band, thread_mm: float) -> int:
    length = abs(_middle(natural(site, group, band.outer)) - _middle(natural(site, group, band.inner)))
    return max(1, round(length / thread_mm))


def _shares(rows: int) -> list[float]:
    return [(row + 0.5) / rows for row in range(rows)]


def outlined(site: Site, group: Group, band: Band, share: float, outline: str) -> list[complex]:
    """Where an outline has the rays of a group at a share of its length: never nearer than side by side."""
    return narrowed(natural(site, group, band.at(share)), OUTLINES[outline](share), site.web_mm)


def narrowed(places: Sequence[complex], wide: float, side_mm: float) -> list[complex]:
    """Places drawn together to a share of their width; what is nearest are ``side_mm`` from one another."""
    least = (len(places) - 1) * side_mm
    span = math.fsum(abs(b - a) for a, b in itertools.pairwise(places))
    if span <= least:
        return list(places)
    middle = _middle(places)
    outward = middle or places[0]  # all rays together, which is an error, may have the centre as their middle
    aside = 1j * outward / abs(outward) * side_mm
    opened = (max(wide * span, least) - least) / (span - least)
    gathered = (middle + (place - (len(places) - 1) / 2) * aside for place in range(len(places)))
    return [near + opened * (far - near) for near, far in zip(gathered, places, strict=True)]


def natural(site: Site, group: Group, level: float) -> list[complex]:
    """Where the rays of a group cross a round by themselves; rays that share their way lie side by side."""
    places = [site.rays[ray].meets(site.shape, level) for ray in group]
    runs: list[list[complex]] = []
    for place in places:
        if runs and abs(place - runs[-1][-1]) < SAME_SHARE * site.web_mm:
            runs[-1].append(place)
        else:
            runs.append([place])
    return [place for run in runs for place in _side_by_side(run, site.web_mm)]


def _side_by_side(run: list[complex], web_mm: float) -> list[complex]:
    middle = _middle(run)
    aside = 1j * middle / abs(middle) * web_mm
    return [middle + (place - (len(run) - 1) / 2) * aside for place in range(len(run))] if len(run) > 1 else run


def _middle(places: Sequence[complex]) -> complex:
    return sum(places, 0j) / len(places)


def _filled(fans: list[tuple[Node, ...]], locks: Locks, own: list[float], band: Band, *, backward: bool) -> Worked:
    """A filling's groups in the order they are worked: from the last where a row of a half-circle goes back."""
    order = [fan[::-1] for fan in fans[::-1]] if backward else fans
    nodes = [node for fan in order for node in fan]
    ways = [abs(b.point - a.outer) for a, b in itertools.pairwise(nodes)]
    return Worked(
        row_radii=(band.inner,), fans=tuple(order), locks=locks, row_nets=(math.fsum([*own, *ways]),),
        end=nodes[-1].outer, outer=band.outer,
    )  # fmt: skip
