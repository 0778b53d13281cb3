"""The working order: the path of the working thread through a round, move by move.

What is drawn is straight from point to point; what a move takes beside that (a knot, the crimp of a crossing, the
turns of a coil) is its take-up. Drawn length and take-ups of a round together are its net length: pictures can
follow the thread, and the reckoning can be checked against them.
"""

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pipeline.craft.assembly import CENTRE, Lace, LaceRound
from pipeline.craft.counts import Group
from pipeline.craft.fillings import Band, block, coil, outlined, row_shares
from pipeline.craft.stitches import Node, Site, knot
from pipeline.craft.thread import bundle


@dataclass(frozen=True, slots=True)
class Move:
    """The thread led straight to a point, and what it does there.

    ``does``: *begin* (nothing; where the round before ended), *carry*, *knot*, *loop* (the tip of a loop between two
    knots), *over* or *under* the rays it passes, *back* (a stitch of a rib), *turn*, *coil* or *go*.
    """

    to: complex
    does: str
    rays: Group = ()
    take_up: float = 0.0
    """Thread beside the straight way, mm."""
    row: int = 0


def working_path(lace: Lace, number: int) -> tuple[Move, ...]:
    """The moves of the round at this index of ``lace.rounds``."""
    done = lace.rounds[number]
    before = lace.rounds[number - 1] if number else None
    start = before.end if before else CENTRE
    web_mm = lace.threads[lace.web_thread].thickness
    thread_mm = lace.threads[done.thread].thickness
    if done.tied:
        moves = _tied(done, start, web_mm, thread_mm)
    elif done.in_rows:
        moves = _rows(lace, done)
    else:
        moves = _filled(done, Site(lace.loom, lace.rays_before(number), web_mm), start, thread_mm)
    return tuple(moves)


def drawn_mm(moves: Sequence[Move]) -> float:
    """Length of the path as drawn."""
    return math.fsum(abs(b.to - a.to) for a, b in itertools.pairwise(moves))


def taken_up_mm(moves: Sequence[Move]) -> float:
    """What its moves take beside that."""
    return math.fsum(move.take_up for move in moves)


def _tied(done: LaceRound, start: complex, web_mm: float, thread_mm: float) -> Iterator[Move]:
    yield Move(start, "begin")
    before: Node | None = None
    closing = (done.worked.nodes[0],) if done.worked.closed else ()
    for node in (*done.worked.nodes, *closing):
        # Only edges have loops, and they are worked without parts.
        loop = done.worked.loop_mm
        if loop and before:
            yield Move(_loop_tip(before, node, loop), "loop")
        take_up = knot(bundle(web_mm, len(node.rays)), thread_mm, done.stitch.take_up)
        yield Move(node.point, "knot", node.rays, take_up)
        before = node


def _loop_tip(a: Node, b: Node, loop_mm: float) -> complex:
    """The tip of a loop stands outward from the middle between two knots."""
    middle = (a.point + b.point) / 2
    aside = 1j * (b.point - a.point) / abs(b.point - a.point)
    outward = aside if (aside * middle.conjugate()).real > 0 else -aside
    return middle + loop_mm * outward


def _rows(lace: Lace, done: LaceRound) -> Iterator[Move]:
    """Rows over and under bundles, part after part; what they take beside their way is shared by their crossings."""
    moves = [
        move
        for bundles in _crossings(lace, done)
        for row, level in enumerate(done.worked.row_radii)
        for move in _row(lace, done, bundles, row, level)
    ]
    share = (done.net - drawn_mm(moves)) / len(moves)
    for move in moves:
        yield Move(move.to, move.does, move.rays, share, move.row)


def _crossings(lace: Lace, done: LaceRound) -> list[list[Group]]:
    """What a row passes, for each stretch; for a rib, the rays it goes back over."""
    if done.counts.back:
        step = done.counts.period
        return [
            [
                tuple((ray + k) % lace.loom.rays for k in range(done.counts.over))
                for ray in range(start, start + n, step)
            ]
            for start, n in done.counts.stretches(lace.loom.rays)
        ]
    return [list(bundles) for bundles in done.counts.bundles(lace.loom.rays)]


def _row(lace: Lace, done: LaceRound, bundles: list[Group], row: int, level: float) -> Iterator[Move]:
    """One row over a stretch; every second one goes back where it turns at the ends."""
    turned = done.counts.there_and_back and (row + done.backward) % 2 == 1
    for number, rays in list(enumerate(bundles))[:: -1 if turned else 1]:
        places = [done.rays[ray].meets(lace.loom.shape, level) for ray in rays]
        middle = lace.loom.shape.toward(sum(places, 0j), level)
        does = "back" if done.counts.back else "over" if passes_over(done, number, row) else "under"
        yield Move(middle, does, rays, row=row)


def passes_over(done: LaceRound, bundle_number: int, row: int) -> bool:
    """Whether a row passes over a bundle; rows lie opposite to one another."""
    if done.phase_shift or done.counts.there_and_back:
        return (bundle_number + row) % 2 == 0
    return (row * done.crossings + bundle_number) % 2 == 0


def _filled(done: LaceRound, site: Site, start: complex, thread_mm: float) -> Iterator[Move]:
    yield Move(start, "begin")
    band = Band(done.radius, done.outer)
    for node in done.worked.nodes:
        yield Move(node.point, "go", node.rays)
        if done.stitch.behaviour == "coil":
            length = abs(node.outer - node.point)
            own = coil(length, bundle(site.web_mm, len(node.rays)), thread_mm)
            yield Move(node.outer, "coil", node.rays, own - length)
        else:
            yield from _block(done, node, site, band, thread_mm)


def _block(done: LaceRound, node: Node, site: Site, band: Band, thread_mm: float) -> Iterator[Move]:
    """Rows to and fro; what they take beside their way as drawn is shared by them."""
    moves: list[Move] = []
    for row, share in enumerate(row_shares(site, node.rays, band, thread_mm)):
        places = list(enumerate(zip(node.rays, outlined(site, node.rays, band, share, done.outline), strict=True)))
        for place, (ray, at) in places[:: -1 if row % 2 else 1]:
            moves.append(Move(at, "over" if (place + row) % 2 == 0 else "under", (ray,), row=row))
    moves.append(Move(node.outer, "turn", node.rays))
    own = block(site, node.rays, band, thread_mm, done.outline)
    way = math.fsum(abs(b - a) for a, b in itertools.pairwise([node.point, *(move.to for move in moves)]))
    for move in moves:
        yield Move(move.to, move.does, move.rays, (own - way) / len(moves), move.row)
