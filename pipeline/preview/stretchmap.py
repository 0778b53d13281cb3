"""The stretch map: every ray as it runs after a round, shaded and labelled by what the round asked of it.

Gives SVG, in the geometry of the lace: a hundred units from the centre to the farthest place of the rim. What a ray
is asked for is told by its budget (``craft.stretch``), by its class (the page has the colours), and beyond 1 and 2
also by its stroke and by a mark at its pin, so that nobody needs to see colours.
"""

import html
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.craft.rules import OUT_OF_REACH, SHORT

REACH: Final = 100.0
MARK: Final = 3.4
"""How far beyond its pin a ray's mark stands."""
LABEL_FROM: Final = 6.2
MARGIN: Final = 19.0
APART: Final = 3.9
"""Labels stand no nearer to one another."""
STEPS: Final = 4
"""Shades of what can be given."""


@dataclass(frozen=True, slots=True)
class _Paper:
    """Where places of the lace stand in the picture."""

    lace: Lace
    scale: float

    def at(self, place: complex, beyond: float = 0.0) -> tuple[float, float]:
        """Coordinates of a place, so many units straight out of the rim."""
        out = self.lace.loom.shape.outward(place) * beyond if beyond else 0j
        return (place * self.scale + out).imag, -(place * self.scale + out).real

    def line(self, places: Sequence[complex], *, closed: bool = False) -> str:
        """Straight from place to place."""
        points = (f"{x:.1f} {y:.1f}" for x, y in map(self.at, places))
        return f"M{'L'.join(points)}{'Z' if closed else ''}"


def stretch_map(lace: Lace, number: int, name: str) -> str:
    """The rays after the round at this index from 1, which is called ``name``; 0: the most any round asks of each.

    Raises ``IndexError`` where there is no such round.
    """
    if not 0 <= number <= len(lace.rounds):
        raise IndexError(number)
    up, across, down = lace.loom.shape.bounds
    paper = _Paper(lace, REACH / max(across, (up + down) / 2))
    asked = lace.rounds[number - 1].budgets if number else most_asked(lace)
    left, top = across * paper.scale + MARGIN, up * paper.scale + MARGIN
    foot = down * paper.scale + (MARGIN if down else 4.0)
    box = f"{-left:.1f} {-top:.1f} {2 * left:.1f} {top + foot:.1f}"
    rounds = lace.rounds[: number or len(lace.rounds)]
    rays = rounds[-1].rays if rounds else lace.bare_rays()
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="stretch" role="img" aria-label="{html.escape(name)}: '
        f'{told(asked)}" viewBox="{box}">{"".join(_rounds(paper, rounds, number))}'
        f"{''.join(_rays(paper, [(*ray.locks, ray.pin) for ray in rays], asked))}"
        f"{''.join(_labels(paper, asked))}</svg>"
    )


def most_asked(lace: Lace) -> tuple[float, ...]:
    """Of every ray the most that any round asks of it."""
    return tuple(max(asked) for asked in zip(*(done.budgets for done in lace.rounds), strict=True)) or (
        (0.0,) * lace.loom.rays
    )


def told(asked: Sequence[float]) -> str:
    """What is asked, in a sentence.

    >>> told([0.0, 0.41]), told([1.2, 2.5])
    ('at most 0.41, of ray 2', 'at most 2.50, of ray 2; 1 ray over 1, 1 ray over 2')
    """
    largest = max(asked)
    words = f"at most {largest:.2f}, of ray {asked.index(largest) + 1}"
    counted = [
        f"{count} {'ray' if count == 1 else 'rays'} over {limit:g}"
        for limit, count in (
            (SHORT, sum(kind_of(share) == "over" for share in asked)),
            (OUT_OF_REACH, sum(kind_of(share) == "beyond" for share in asked)),
        )
        if count
    ]
    return "; ".join([words, ", ".join(counted)]) if counted else words


def kind_of(share: float) -> str:
    """The class of a ray: ``free`` where nothing is asked, four shades of what can be given, ``over``, ``beyond``.

    >>> [kind_of(share) for share in (0.0, 0.2, 1.0, 1.5, 2.1)]
    ['free', 'b1', 'b4', 'over', 'beyond']
    """
    if share > OUT_OF_REACH:
        return "beyond"
    if share > SHORT:
        return "over"
    return f"b{max(1, math.ceil(share * STEPS))}" if share > 0 else "free"


def _rounds(paper: _Paper, rounds: Sequence[LaceRound], number: int) -> Iterator[str]:
    """The rim with its pins, and the rounds so far; the one that is looked at stands out."""
    loom = paper.lace.loom
    closed = loom.shape.closed
    rim = [loom.shape.rim(loom.pins, pin / 2) for pin in range(2 * loom.pins - (not closed))]
    yield f'<path class="rim" d="{paper.line(rim, closed=closed)}"/>'
    pins = "".join(f"M{x:.1f} {y:.1f}h0" for x, y in map(paper.at, loom.places))
    yield f'<path class="pins" d="{pins}"/>'
    for place, done in enumerate(rounds, 1):
        drawn = "".join(paper.line(each, closed=ends) for each, ends in _way(paper.lace, done))
        yield f'<path class="round{" now" if place == number else ""}" d="{drawn}"/>'


def _way(lace: Lace, done: LaceRound) -> Iterator[tuple[Sequence[complex], bool]]:
    """Where a round runs: from node to node, or from lock to lock; each part of it by itself."""
    closed = lace.loom.shape.closed and not done.counts.part
    if done.worked.nodes:
        yield from (([node.point for node in fan], closed) for fan in done.worked.fans)
        return
    run: list[complex] = []
    before = -1
    for ray, points in done.worked.locks:
        if run and ray != before + 1:
            yield run, False
            run = []
        run.append(points[-1])
        before = ray
    yield run, closed


def _rays(paper: _Paper, ways: Sequence[Sequence[complex]], asked: Sequence[float]) -> Iterator[str]:
    """Every ray, those that are asked for most on top; thin where they run together, up to their first lock."""
    for ray in sorted(range(len(ways)), key=lambda ray: (asked[ray], ray)):
        kind, way = kind_of(asked[ray]), ways[ray]
        held = way[1:] if len(way) > 2 else way
        drawn = f'<path d="{paper.line(held)}"/>'
        core = drawn.replace("<path", '<path class="core"') if kind == "beyond" else ""
        inner = f'<path class="inner" d="{paper.line(way[:2])}"/>' if len(way) > 2 else ""
        yield f'<g class="ray {kind}"><title>Ray {ray + 1}: {asked[ray]:.2f}</title>{inner}{drawn}{core}</g>'


def _labels(paper: _Paper, asked: Sequence[float]) -> Iterator[str]:
    """Budgets beyond the rim, those that ask most first, as many as there is room for, and marks of those over 1."""
    loom, taken = paper.lace.loom, list[tuple[float, float]]()
    for ray in sorted(range(len(asked)), key=lambda ray: (-asked[ray], ray)):
        if not asked[ray]:
            return
        kind, pin = kind_of(asked[ray]), _foot(paper.lace, ray)
        place = paper.at(pin, LABEL_FROM)
        if all(math.dist(place, other) >= APART for other in taken):
            taken.append(place)
            if kind in {"over", "beyond"}:
                yield _mark(kind, *paper.at(pin, MARK), loom.shape.outward(pin))
            yield _label(f"{asked[ray]:.2f}", kind, place, loom.shape.outward(pin))


def _foot(lace: Lace, ray: int) -> complex:
    """Where a ray's label stands: beside its pin, left or right of it."""
    loom, pin = lace.loom, lace.loom.pin_of(ray)
    beside = pin + (0.25 if ray % 2 else -0.25)
    ends = not loom.shape.closed and not 0 <= beside <= loom.pins - 1
    return loom.point(pin) if ends else loom.shape.rim(loom.pins, beside)


def _label(text: str, kind: str, place: tuple[float, float], outward: complex) -> str:
    """A figure that runs outward, and is never upside down."""
    x, y = place
    turn = math.degrees(math.atan2(-outward.real, outward.imag))
    to_left = outward.imag < 0
    anchor = ' text-anchor="end"' if to_left else ""
    turned = turn + 180 if to_left else turn
    return (
        f'<text class="{kind}"{anchor} transform="translate({x:.1f} {y:.1f})rotate({turned:.1f})" dy=".35em">'
        f"{text}</text>"
    )


def _mark(kind: str, x: float, y: float, outward: complex) -> str:
    """A wedge for a ray over 1, a cross for one over 2."""
    drawn = "M-1.5 1.3L0-1.5L1.5 1.3Z" if kind == "over" else "M-1.4-1.4L1.4 1.4M-1.4 1.4L1.4-1.4"
    turn = math.degrees(math.atan2(outward.imag, outward.real))
    return f'<path class="mark {kind}" transform="translate({x:.1f} {y:.1f})rotate({turn:.1f})" d="{drawn}"/>'
