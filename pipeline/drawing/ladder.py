"""The ladder beside a chart: a spine from centre to rim, a rung for every round, the distances between rungs."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from pipeline.craft.assembly import Lace
from pipeline.drawing.glyphs import glyph_items
from pipeline.drawing.lettering import at, width, written
from pipeline.drawing.marks import arrow_head, number_in_ring
from pipeline.drawing.moving import moved_items
from pipeline.drawing.outline import joined, polyline
from pipeline.drawing.picture import INK, SECONDARY, Figures, Item, Line, Words
from pipeline.notation import SPIRAL, TO, Figure, Sign, Token, distance_text
from pipeline.notation import Line as NotationLine
from pipeline.symbols import SymbolSet

NUMBER_MM: Final = 3.8
DISTANCE_MM: Final = 2.7
"""Least distance of two figures beside the spine, one above the other."""
WIDEST_MM: Final = 6.0
"""Of figures beside the spine."""
LEAST_FIT: Final = 0.78
"""A rung that would have to be smaller to fit in one line takes two."""
TWO_LINES: Final = 0.8
"""Size of what stands in two lines."""


@dataclass(frozen=True, slots=True)
class Spine:
    """Where the ladder stands: left edge, height of the centre, scale, height of the picture, room for a rung."""

    x: float
    y: float
    scale: float
    height: float
    room: float

    def level(self, radius: float) -> float:
        """Height of a radius."""
        return self.y + radius * self.scale


def ladder(
    lace: Lace, lines: Sequence[NotationLine], symbols: SymbolSet, figures: Figures, spine: Spine
) -> Iterator[Item]:
    """Spine, rungs, distances."""
    top, foot = spine.level(lace.loom.radius), spine.level(0)
    ends = [polyline([(spine.x - 1.6, level), (spine.x + 1.6, level)]) for level in (foot, top)]
    yield Line(joined([polyline([(spine.x, foot), (spine.x, top)]), *ends]), 0.3, cap="butt")
    true = [spine.level(done.radius) for done in lace.rounds]
    pitch = min(10.0, (spine.height - 6) / len(true))
    size = min(8.0, pitch * 0.92)
    for line, level, shown in zip(lines, true, spread_levels(true, pitch, 5.0, spine.height - 5.0), strict=True):
        yield Line(polyline([(spine.x, level), (spine.x + 3.2, shown), (spine.x + 4.2, shown)]), 0.2)
        yield from number_in_ring(str(line.number), spine.x + 6.1, shown, figures, ring_mm=NUMBER_MM)
        yield from moved_items(_rung(line.tokens, symbols, figures, size, spine.room), spine.x + 9.3, shown)
    yield from _distances(lace, lines, figures, spine)


def distance_levels(lace: Lace, lines: Sequence[NotationLine], spine: Spine) -> list[float]:
    """Height of the figure of every distance."""
    before = [spine.level(0), *(spine.level(line.reach / 10) for line in lines)]
    middles = [(spine.level(done.radius) + start) / 2 for done, start in zip(lace.rounds, before, strict=False)]
    return spread_levels(middles, DISTANCE_MM, 1.0, spine.height - 1.0)


def _distances(lace: Lace, lines: Sequence[NotationLine], figures: Figures, spine: Spine) -> Iterator[Item]:
    """From rung to rung, left of the spine; how far a round goes on is a thick piece of it."""
    before = spine.level(0)
    heights = distance_levels(lace, lines, spine)
    for line, done, height in zip(lines, lace.rounds, heights, strict=True):
        level, reach = spine.level(done.radius), spine.level(line.reach / 10)
        if level - before > 3.0:
            yield from arrow_head(spine.x, level, 0.0, 2.0, INK)
        yield Line(polyline([(spine.x, level), (spine.x, max(reach, level))]), 1.1, cap="butt")
        for words, above in _stacked(line.distances, figures):
            yield at(words, spine.x - 1.8 - width(words), height + above - 0.9)
        before = reach


def _stacked(distances: Sequence[int], figures: Figures) -> Iterator[tuple[Words, float]]:
    """Figures side by side where there is room, else one above the other; and how far above the middle."""
    whole = written(_bare(*distances), size_pt=7, font=figures.regular, colour=SECONDARY)
    if width(whole) <= WIDEST_MM:
        yield whole, 0.0
        return
    for place, distance in enumerate(distances):
        middle = (len(distances) - 1) / 2 - place
        words = written(_bare(distance), size_pt=7, font=figures.regular, colour=SECONDARY)
        yield words, middle * 0.9 * DISTANCE_MM


def _bare(*distances: int) -> str:
    return distance_text(*distances).removesuffix(" mm")


def spread_levels(true: Sequence[float], pitch: float, lowest: float, highest: float) -> list[float]:
    """Levels at least ``pitch`` apart and inside the bounds, each as near to its true one as that allows."""
    rising = sorted(range(len(true)), key=lambda number: true[number])
    levels = [max(lowest, true[number]) for number in rising]
    for place in range(1, len(levels)):
        levels[place] = max(levels[place], levels[place - 1] + pitch)
    ceiling = highest
    for place in reversed(range(len(levels))):
        levels[place] = min(levels[place], ceiling)
        ceiling = levels[place] - pitch
    return [level for _, level in sorted(zip(rising, levels, strict=True))]


@dataclass(frozen=True, slots=True)
class _Part:
    """What stands together in a rung: items about their middle line, and how wide they are."""

    items: tuple[Item, ...]
    width: float
    indent: float
    """Room before it that it does not need where it stands first."""


def _rung(tokens: Sequence[Token], symbols: SymbolSet, figures: Figures, size: float, room: float) -> Iterator[Item]:
    """Glyph, counts and signs of a round, in one line or in two; the distance stands beside the spine."""
    stop = next(place for place, token in enumerate(tokens) if isinstance(token, Sign) and token.id == "gap")
    after = tokens[stop + 2 :]
    shown = [*tokens[2:stop], *(token for token in after if isinstance(token, Figure) or token.id in {TO, SPIRAL})]
    glyph = symbols.symbol(tokens[1].id) if isinstance(tokens[1], Sign) else None
    assert glyph is not None  # noqa: S101
    parts = _parts(shown, symbols, figures, size * 0.72)
    whole = size + 1.4 + _width(parts)
    fit = min(1.0, room / whole)
    if fit >= LEAST_FIT:
        items = [*glyph_items(glyph, size=size, y=-size / 2), *_in_line(parts, size + 1.4)]
        yield from moved_items(items, 0.0, 0.0, scale=fit)
        return
    yield from glyph_items(glyph, size=size, y=-size / 2)
    left, lines = size + 1.4, _broken(parts)
    fit = min(TWO_LINES, (room - left) / max(map(_width, lines)))
    for line, height in zip(lines, (0.29, -0.29) if len(lines) > 1 else (0.0,), strict=True):
        yield from moved_items(_in_line(line, 0.0), left - fit * line[0].indent, height * size, scale=fit)


def _broken(parts: Sequence[_Part]) -> tuple[Sequence[_Part], ...]:
    """Two lines, as even as can be; one, where a long list of groups is all there is."""
    if len(parts) == 1:
        return (parts,)
    places = range(1, len(parts))
    place = min(places, key=lambda place: max(_width(parts[:place]), _width(parts[place:])))
    return parts[:place], parts[place:]


def _width(parts: Sequence[_Part]) -> float:
    return sum(part.width for part in parts)


def _in_line(parts: Sequence[_Part], x: float) -> Iterator[Item]:
    for part in parts:
        yield from moved_items(part.items, x, 0.0)
        x += part.width


def _parts(tokens: Sequence[Token], symbols: SymbolSet, figures: Figures, size: float) -> list[_Part]:
    """Signs with the figures that belong to them."""
    parts: list[_Part] = []
    items: list[Item] = []
    along = indent = 0.0
    for place, token in enumerate(tokens):
        if isinstance(token, Sign):
            indent = 1.6
            items += glyph_items(symbols.symbol(token.id), size=size, x=along + 1.6, y=-size / 2)
            along += size + 2.4
        elif token.role == "thread":
            items += number_in_ring(token.text, along + 3.2, 0.0, figures, ring_mm=4.2)
            along += 6.0
        else:
            font = figures.bold if token.role == "group" else figures.regular
            words = written(token.text, size_pt=9, font=font)
            items.append(at(words, along, -1.15))
            along += width(words) + (0.9 if token.role == "group" else 0.4)
        following = tokens[place + 1] if place + 1 < len(tokens) else None
        if isinstance(following, Figure) and (isinstance(token, Sign) or following.role == "times"):
            continue
        parts.append(_Part(tuple(items), along, indent))
        items, along, indent = [], 0.0, 0.0
    return parts
