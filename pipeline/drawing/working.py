"""The working thread of a round on paper: rings and loops, darned rows, ridges, cords, woven blocks.

Geometry comes from the craft model, in mm of lace about the centre. What would be too fine to see is spread by
amounts that are fixed on paper (``scale``: mm on paper to a mm of lace).
"""

import cmath
import itertools
import math
from collections.abc import Iterator, Sequence
from typing import Final

from matplotlib.path import Path

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.craft.counts import Group
from pipeline.craft.fillings import OUTLINES, Band, narrowed, natural
from pipeline.craft.path import passes_over
from pipeline.craft.shapes import Circle, Shape
from pipeline.craft.stitches import Site
from pipeline.craft.thread import bundle
from pipeline.drawing.outline import arc, cubic, joined, point, polyline, segment

ROW_MM: Final = 1.1
"""Least distance of darned rows on paper."""
COIL_MM: Final = 0.75
"""Least distance of the turns of a cord on paper."""
BLOCK_MM: Final = 0.95
"""Least distance of the rows of a woven block on paper."""
CORD_MM: Final = 1.5
"""Least thickness of a cord on paper."""
SLANT: Final = math.radians(14)
"""A hitch rises to the right, seen with the rim above: the mark of a knot."""
LONGEST_HITCH_MM: Final = 3.4
SHORTEST_HITCH_MM: Final = 1.3
STEP: Final = math.radians(3)
"""Pieces in which a round that is no circle is followed."""


def ring(done: LaceRound) -> Path:
    """The working thread from node to node, with its loops, and back to the first where it closes."""
    nodes, loop_mm = done.worked.nodes, done.worked.loop_mm
    points, codes = [point(nodes[0].point)], [int(Path.MOVETO)]
    for a, b in itertools.pairwise([*nodes, nodes[0]] if done.worked.closed else nodes):
        if loop_mm:
            aside = (b.point - a.point) * 0.28
            outward = -1j * aside / abs(aside) * loop_mm * 4 / 3
            outward = outward if (outward * (a.point + b.point).conjugate()).real > 0 else -outward
            points += [point(a.point - aside + outward), point(b.point + aside + outward)]
            codes += [int(Path.CURVE4)] * 2
        points.append(point(b.point))
        codes.append(int(Path.CURVE4 if loop_mm else Path.LINETO))
    return Path(points, codes)


def hitch_length(done: LaceRound, scale: float) -> float:
    """Of the marks of a round, in mm of lace: 0.4 of the nodes' spacing, held between two sizes on paper."""
    nodes = [node.point for node in done.worked.nodes]
    spacing = min(abs(b - a) for a, b in itertools.pairwise([*nodes, nodes[0]]))
    return min(max(0.4 * spacing * scale, SHORTEST_HITCH_MM), LONGEST_HITCH_MM) / scale


def hitches(lace: Lace, done: LaceRound, length: float) -> Path:
    """A slanting stroke of this length (mm of lace) across every node."""
    nodes = (node.point for node in done.worked.nodes)
    return joined(hitch(place, length, lace.loom.shape.outward(place)) for place in nodes)


def hitch(place: complex, length: float, outward: complex) -> Path:
    """One slanting stroke; ``outward`` of length 1."""
    along = (math.cos(SLANT) * 1j + math.sin(SLANT)) * outward * length / 2
    return segment(place - along, place + along)


def row_pitch(thread_mm: float, scale: float) -> float:
    """Distance of drawn rows in mm of lace."""
    return max(thread_mm, ROW_MM / scale)


def row_levels(lace: Lace, done: LaceRound, scale: float) -> list[float]:
    """Where rows are drawn: never nearer than the eye can part."""
    pitches = [row_pitch(lace.threads[letter].thickness, scale) for letter in done.threads[1:]]
    return list(itertools.accumulate(pitches, initial=done.radius))


def weave(lace: Lace, done: LaceRound, scale: float, *, far_side: bool = False, rows: Sequence[int] = ()) -> Path:
    """The pieces of a darn or a rib that lie on top, row by row; rows of a darn lie opposite to one another.

    ``far_side``: the pieces that are seen from the other side of the lace. ``rows``: only these.
    """
    levels = row_levels(lace, done, scale)
    pitch = row_pitch(lace.threads[done.thread].thickness, scale)
    angles = _angles(lace, done)
    pieces: list[Path] = []
    for row, level in enumerate(levels):
        if rows and row not in rows:
            continue
        if done.counts.back:
            pieces += _ridges(lace, done, angles, level, pitch) if not far_side else _runs(lace, done, angles, level)
        else:
            pieces += _over_pieces(lace, done, angles, row, level, far_side=far_side)
            pieces += _turns(lace, done, angles, row, levels)
    return joined(pieces)


def _angles(lace: Lace, done: LaceRound) -> list[float]:
    """In which direction every ray meets the outermost level of a round."""
    return [cmath.phase(ray.meets(lace.loom.shape, done.outer)) for ray in done.rays]


def _over_pieces(
    lace: Lace, done: LaceRound, angles: Sequence[float], row: int, level: float, *, far_side: bool
) -> Iterator[Path]:
    for bundles in done.counts.bundles(len(angles)):
        for number, rays in enumerate(bundles):
            if passes_over(done, number, row) != far_side:
                first, last = _reach(done, angles, rays)
                if done.counts.there_and_back:
                    start, end = _ends(done, angles, bundles)
                    first = start if number == 0 else first
                    last = end if number == len(bundles) - 1 else last
                yield along(lace.loom.shape, level, first, last)


def courses(lace: Lace, done: LaceRound, scale: float, rows: Sequence[int]) -> Path:
    """These rows of a darn as they run, over and under alike."""
    levels = row_levels(lace, done, scale)
    angles = _angles(lace, done)
    ends = [(0.0, 2 * math.pi)]
    if done.counts.there_and_back:
        reaches = (_ends(done, angles, bundles) for bundles in done.counts.bundles(len(angles)))
        ends = [(first, first + _turn(last - first)) for first, last in reaches]
    return joined(along(lace.loom.shape, levels[row], *pair) for row in rows for pair in ends)


def _reach(done: LaceRound, angles: Sequence[float], rays: Group) -> tuple[float, float]:
    """From where to where a thread lies over a bundle: a little longer than it is wide."""
    count = len(angles)
    before = _turn(angles[rays[0]] - angles[(rays[0] - 1) % count])
    after = _turn(angles[(rays[-1] + 1) % count] - angles[rays[-1]])
    most = 3 * (math.pi if done.counts.turned else 2 * math.pi) / count
    first = angles[rays[0]]
    wide = first + _turn(angles[rays[-1]] - first)
    return first - 0.62 * min(before, most), wide + 0.62 * min(after, most)


def _ends(done: LaceRound, angles: Sequence[float], bundles: Sequence[Group]) -> tuple[float, float]:
    """From where to where rows go that turn at the ends: closely round the last rays, whatever lies beyond."""
    first, last = _reach(done, angles, bundles[0])[0], _reach(done, angles, bundles[-1])[1]
    if len(bundles) > 1:
        begin, end = angles[bundles[0][0]], angles[bundles[-1][-1]]
        first += max(0.0, _turn(begin - first) - 0.5 * _turn(angles[bundles[1][0]] - angles[bundles[0][-1]]))
        last -= max(0.0, _turn(last - end) - 0.5 * _turn(angles[bundles[-1][0]] - angles[bundles[-2][-1]]))
    return first, last


def _turns(lace: Lace, done: LaceRound, angles: Sequence[float], row: int, levels: Sequence[float]) -> Iterator[Path]:
    """Where rows turn at an end, the thread goes on to the next one."""
    if not done.counts.there_and_back or row + 1 >= len(levels):
        return
    for bundles in done.counts.bundles(len(angles)):
        backward = (row + done.backward) % 2 == 1
        first, last = _ends(done, angles, bundles)
        angle = first if backward else last
        shape = lace.loom.shape
        low, high = (shape.toward(cmath.rect(1.0, angle), level) for level in (levels[row], levels[row + 1]))
        aside = 1j * low / abs(low) * abs(high - low) * (-0.7 if backward else 0.7)
        yield cubic(low, low + aside, high + aside, high)


def _ridges(lace: Lace, done: LaceRound, angles: Sequence[float], level: float, pitch: float) -> Iterator[Path]:
    """The stitches that go back over a ray: short strokes that rise against the way of the work."""
    shape = lace.loom.shape
    for rays in _back_over(done, len(angles)):
        first, last = _reach(done, angles, rays)
        yield segment(
            shape.toward(cmath.rect(1.0, last), level - 0.34 * pitch),
            shape.toward(cmath.rect(1.0, first), level + 0.34 * pitch),
        )


def _runs(lace: Lace, done: LaceRound, angles: Sequence[float], level: float) -> Iterator[Path]:
    """What is seen of a rib from the other side: the thread that runs on under its rays."""
    for rays in _back_over(done, len(angles)):
        ends = [angles[rays[0]], angles[rays[0]] + 2 * math.pi / len(angles) * done.counts.under * 0.85]
        yield along(lace.loom.shape, level, *ends)


def _back_over(done: LaceRound, rays: int) -> Iterator[Group]:
    for start, count in done.counts.stretches(rays):
        for ray in range(start, start + count, done.counts.period):
            yield tuple((ray + step) % rays for step in range(done.counts.over))


def along(shape: Shape, level: float, first: float, last: float) -> Path:
    """Part of a round between two directions."""
    if isinstance(shape, Circle):
        return arc(level, first, last)
    steps = max(1, math.ceil((last - first) / STEP))
    angles = (first + (last - first) * step / steps for step in range(steps + 1))
    return polyline([point(shape.toward(cmath.rect(1.0, angle), level)) for angle in angles])


def cords(lace: Lace, done: LaceRound, scale: float) -> Path:
    """Close turns along every bound group."""
    web_mm = lace.threads[lace.web_thread].thickness
    pitch = max(lace.threads[done.thread].thickness, COIL_MM / scale)
    pieces: list[Path] = []
    for node in done.worked.nodes:
        wide = max(bundle(web_mm, len(node.rays)), CORD_MM / scale)
        turns = max(1, round(abs(node.outer - node.point) / pitch))
        way = (node.outer - node.point) / turns
        pieces += [hitch(node.point + (turn + 0.5) * way, wide, way / abs(way)) for turn in range(turns)]
    return joined(pieces)


def blocks(lace: Lace, number: int, scale: float, *, far_side: bool = False) -> Path:
    """The rows of woven groups: to and fro, over and under."""
    done = lace.rounds[number]
    web_mm = lace.threads[lace.web_thread].thickness
    site = Site(lace.loom, lace.rays_before(number), web_mm)
    band = Band(done.radius, done.outer)
    pitch = max(lace.threads[done.thread].thickness, BLOCK_MM / scale)
    pieces: list[Path] = []
    for node in done.worked.nodes:
        rows = max(1, round(abs(node.outer - node.point) / pitch))
        for row in range(rows):
            share = (row + 0.5) / rows
            places = spread_places(site, node.rays, band, share, done.outline, CORD_MM / scale)
            pieces += _row_pieces(places, row, far_side=far_side)
    return joined(pieces)


def spread_places(site: Site, group: Group, band: Band, share: float, outline: str, least: float) -> list[complex]:
    """Where the rays of a woven group are drawn: never narrower than can be seen."""
    places = natural(site, group, band.at(share))
    side = max(site.web_mm, least / (len(group) - 1))
    return narrowed(places, OUTLINES[outline](share), side)


def _row_pieces(places: Sequence[complex], row: int, *, far_side: bool) -> Iterator[Path]:
    """The pieces of a row that pass over a ray, each to the middle between it and its neighbours."""
    for place, at in enumerate(places):
        if ((place + row) % 2 == 0) != far_side:
            before = 0.6 * (places[place - 1] - at) if place else 0.35 * (at - places[1])
            after = 0.6 * (places[place + 1] - at) if place + 1 < len(places) else 0.35 * (at - places[-2])
            yield segment(at + before, at + after)


def working_thread(lace: Lace, number: int, scale: float, *, far_side: bool = False) -> Path:
    """The thread of the round at this index, whatever its stitch; a knot's hitches are apart."""
    done = lace.rounds[number]
    if done.tied:
        return ring(done)
    if done.in_rows:
        return weave(lace, done, scale, far_side=far_side)
    if done.stitch.behaviour == "coil":
        return cords(lace, done, scale)
    return blocks(lace, number, scale, far_side=far_side)


def start_place(lace: Lace, done: LaceRound, scale: float) -> tuple[complex, float]:
    """Where a round begins, and its heading: in the middle of the thread from last to first where it goes round.

    Where that is the centre, which lies in no direction, it is the edge of the first group.
    """
    if done.in_rows:
        return _weave_start(lace, done, scale)
    nodes = done.worked.nodes
    if not done.tied:
        return nodes[0].point, cmath.phase(nodes[0].outer - nodes[0].point)
    whole = not done.counts.there_and_back and len(nodes) > 1
    last, first = nodes[-1].point, nodes[0].point
    if whole and abs(last + first) > 1e-6 * abs(first):
        return (last + first) / 2, cmath.phase(first - last)
    fan = done.worked.fans[0]
    beside = len(fan) > 1 and not whole
    way = fan[1].point - first if beside else 1j * first * 2 * len(fan[0].rays) * math.pi / lace.loom.rays
    return first - way / 2, cmath.phase(way)


def _weave_start(lace: Lace, done: LaceRound, scale: float) -> tuple[complex, float]:
    levels = row_levels(lace, done, scale)
    shape, level = lace.loom.shape, (levels[0] + levels[-1]) / 2
    angles = _angles(lace, done)
    if done.counts.there_and_back:
        level = levels[0]
        stretches = done.counts.stretches(len(angles))
        start, count = stretches[-1 if done.backward else 0]
        rays = tuple((start + step) % len(angles) for step in (range(count - 1, count) if done.backward else range(1)))
        ends = _reach(done, angles, rays)
        if not done.counts.back:
            ends = _ends(done, angles, done.counts.bundles(len(angles))[-1 if done.backward else 0])
        angle = ends[1 if done.backward else 0]
    else:
        angle = angles[-1] + _turn(angles[0] - angles[-1]) / 2
    place = shape.toward(cmath.rect(1.0, angle), level)
    return place, cmath.phase(place) + (-math.pi / 2 if done.backward else math.pi / 2)


def goes_back(done: LaceRound) -> bool:
    """Whether it is worked against the clock: some rows of a half-circle."""
    fan = done.worked.fans[0] if done.worked.fans else ()
    return (fan[1].point / fan[0].point).imag < 0 if len(fan) > 1 else done.backward


def rays_from_mark(done: LaceRound) -> int:
    """How many rays lie between the start mark and the start of a round."""
    return done.counts.part.start if done.counts.part else done.counts.shift


def seen(lace: Lace, done: LaceRound) -> tuple[float, float]:
    """Angles behind and before its start, the way of the work, in which the first group of a filling or part lies."""
    start, back = cmath.phase(start_place(lace, done, 1.0)[0]), goes_back(done)
    stretches = done.counts.stretches(len(done.rays))
    rays: list[int] = []
    if not done.in_rows and not done.tied:
        rays += done.worked.nodes[0].rays
    if done.counts.part:
        first, count = stretches[-1 if back else 0]
        rays += ((first + step) % len(done.rays) for step in range(count))
    turns = [math.remainder(cmath.phase(done.rays[ray].meets(lace.loom.shape, done.outer)) - start, math.tau)
             for ray in rays]  # fmt: skip
    behind, before = max(0.0, -min(turns, default=0.0)), max(0.0, *turns, 0.0)
    return (before, behind) if back else (behind, before)


def _turn(angle: float) -> float:
    """The same turn between 0 and a whole one."""
    return angle % (2 * math.pi)
