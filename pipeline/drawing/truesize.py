"""Pages with the loom at true size: in one piece, or in tiles that overlap, each with rulers and a square to check it.

A printer that fits a page to its paper shrinks it; so every page can be checked by itself, in millimetres and inches.
"""

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from matplotlib.path import Path

from pipeline.craft.assembly import Lace
from pipeline.drawing.lettering import at, centred, width, written
from pipeline.drawing.mirror import mirrored
from pipeline.drawing.moving import moved_items
from pipeline.drawing.outline import joined, polyline, rectangle, vertices_of
from pipeline.drawing.picture import ACCENT, INK, SECONDARY, Clipped, Figures, Item, Line, Picture, Words
from pipeline.drawing.template import FIGURES_PT, template
from pipeline.records import LoomSpec

OVERLAP_MM: Final = 10.0
SQUARE_MM: Final = 50.0
INCH_MM: Final = 25.4
BESIDE_MM: Final = 160.0
"""From this width on, rulers stand beside the square; on narrower paper above it."""
GAP_MM: Final = 4.0
HAIR_MM: Final = 0.15
CLEAR_MM: Final = 0.4
"""So far from a number a seam breaks off."""
BEYOND_MM: Final = 4.0
"""So far a large figure at the end of a ruler may stand out."""
LARGE_PT: Final = 10.0
"""From this size on, rulers have figures at their ends and in their middle only."""


@dataclass(frozen=True, slots=True)
class TrueSizeLayout:
    """The room for a page of it, mm."""

    width: float
    height: float
    figures_pt: float = FIGURES_PT
    """Size of figures."""

    @property
    def ruler(self) -> float:
        """Height of a ruler with its figures."""
        return 4.0 + 5.0 * self.figures_pt / FIGURES_PT

    @property
    def beside(self) -> bool:
        """Whether rulers stand beside the square."""
        return self.width >= BESIDE_MM

    @property
    def foot(self) -> float:
        """Height of what a page is checked with."""
        return SQUARE_MM + 1.0 + (0.0 if self.beside else 2 * self.ruler + 2.0)

    @property
    def room(self) -> tuple[float, float]:
        """What is left for the loom."""
        return self.width, self.height - self.foot - GAP_MM


def true_size_pages(
    lace: Lace, spec: LoomSpec, figures: Figures, layout: TrueSizeLayout, *, left_handed: bool = False
) -> tuple[Picture, ...]:
    """One picture for every page, ``truesize-1`` and so on, row by row from the upper left."""
    whole = template(lace, spec, figures, layout.figures_pt)
    whole = mirrored(whole) if left_handed else whole
    across, down = (_tiles(length, room) for length, room in zip((whole.width, whole.height), layout.room, strict=True))
    return tuple(
        Picture(
            f"truesize-{number}",
            layout.width,
            layout.height,
            (*_tile(whole, layout, (row, column), (down, across), figures), *_checks(layout, figures)),
        )
        for number, (row, column) in enumerate(itertools.product(range(down), range(across)), 1)
    )


def _tiles(length: float, room: float) -> int:
    """How many tiles that overlap make up a length."""
    return 1 if length <= room else math.ceil((length - OVERLAP_MM) / (room - OVERLAP_MM))


def _tile(
    whole: Picture, layout: TrueSizeLayout, place: tuple[int, int], tiles: tuple[int, int], figures: Figures
) -> Iterator[Item]:
    """The piece of the loom on a page, with the lines it is joined to its neighbours by."""
    (row, column), (down, across) = place, tiles
    wide, high = layout.room
    base = layout.foot + GAP_MM
    if down == across == 1:
        yield from moved_items(whole.items, (wide - whole.width) / 2, base + (high - whole.height) / 2)
        return
    # All tiles together are as large as their rooms less the overlaps; the loom stands in their middle.
    left = (across * (wide - OVERLAP_MM) + OVERLAP_MM - whole.width) / 2 - column * (wide - OVERLAP_MM)
    foot = (down * (high - OVERLAP_MM) + OVERLAP_MM - whole.height) / 2 - (down - 1 - row) * (high - OVERLAP_MM)
    frame = rectangle(0.0, base, wide, high)
    loom = tuple(moved_items(whole.items, left, base + foot))
    yield from _seams(layout, place, tiles, [item for item in loom if isinstance(item, Words)])
    yield Clipped(frame, loom)
    yield Line(frame, HAIR_MM, SECONDARY, "butt")
    words = written(
        f"{row * across + column + 1} / {across * down}",
        size_pt=max(8.0, layout.figures_pt),
        font=figures.bold,
        colour=ACCENT,
    )
    # In the corner that lies farthest from the middle of the loom.
    x = OVERLAP_MM + 2.0 if 2 * column < across else wide - OVERLAP_MM - 2.0 - width(words)
    y = high - OVERLAP_MM - 2.0 - words.size if 2 * row < down else OVERLAP_MM + 2.0
    yield at(words, x, base + y)


def _seams(
    layout: TrueSizeLayout, place: tuple[int, int], tiles: tuple[int, int], taken: Sequence[Words]
) -> Iterator[Item]:
    """Broken lines in the middle of each overlap: laid on one another, two pages are one; none through a number."""
    (row, column), (down, across) = place, tiles
    wide, high = layout.room
    base, half = layout.foot + GAP_MM, OVERLAP_MM / 2
    upright = [x for x, there in ((half, column > 0), (wide - half, column < across - 1)) if there]
    level = [y for y, there in ((base + half, row < down - 1), (base + high - half, row > 0)) if there]
    lines = [((x, base), (x, base + high)) for x in upright] + [((0.0, y), (wide, y)) for y in level]
    kept = [
        (each.x - CLEAR_MM, each.x + width(each) + CLEAR_MM, each.y - CLEAR_MM, each.y + each.size + CLEAR_MM)
        for each in taken
    ]
    for start, end in lines:
        yield Line(joined(dash for dash in _dashes(start, end) if not _struck(dash, kept)), HAIR_MM, ACCENT, "butt")


def _struck(dash: Path, kept: Sequence[tuple[float, float, float, float]]) -> bool:
    """Whether a dash would run through a room that is kept, of a number: from left to right, from foot to head."""
    (x0, y0), (x1, y1) = np.sort(vertices_of(dash), axis=0)
    return any(left < x1 and x0 < right and foot < y1 and y0 < head for left, right, foot, head in kept)


def _dashes(start: tuple[float, float], end: tuple[float, float]) -> Iterator[Path]:
    count = max(1, round(math.dist(start, end) / 4))
    for step in range(count):
        ends = ((step / count), (step + 0.5) / count)
        yield polyline([(start[0] + (end[0] - start[0]) * s, start[1] + (end[1] - start[1]) * s) for s in ends])


def _checks(layout: TrueSizeLayout, figures: Figures) -> Iterator[Item]:
    """A square of 50 mm, a ruler of 100 mm and one of 4 inches."""
    yield Line(rectangle(0.5, 0.5, SQUARE_MM, SQUARE_MM), HAIR_MM, INK, "butt")
    yield centred(
        written("50 mm", size_pt=max(8.0, layout.figures_pt), font=figures.regular),
        0.5 + SQUARE_MM / 2,
        0.5 + SQUARE_MM / 2,
    )
    x = SQUARE_MM + 6.0 if layout.beside else 1.5
    y = 0.5 if layout.beside else SQUARE_MM + 3.0
    yield from _ruler(
        x, y + layout.ruler, [(10.0 * n, str(10 * n), 10) for n in range(11)], "mm", figures, layout.figures_pt
    )
    yield from _ruler(x, y, [(INCH_MM * n, str(n), 8) for n in range(5)], "in", figures, layout.figures_pt)


def _ruler(
    x: float, y: float, marks: list[tuple[float, str, int]], unit: str, figures: Figures, size_pt: float
) -> Iterator[Item]:
    """A ruler from its first mark on; each mark has its figure and so many small ones to the next."""
    length = marks[-1][0]
    small = marks[1][0] / marks[0][2]
    ticks = [polyline([(x, y), (x + length, y)])]
    ticks += [polyline([(x + along, y), (x + along, y + 3.2)]) for along, _, _ in marks]
    ticks += [polyline([(x + n * small, y), (x + n * small, y + 1.6)]) for n in range(round(length / small))]
    yield Line(joined(ticks), HAIR_MM, INK, "butt")
    for along, words, _ in marks if size_pt < LARGE_PT else marks[:: len(marks) // 2]:
        last = along == length
        figure = written(
            f"{words} {unit}" if last else words, size_pt=size_pt + 0.5, font=figures.regular, colour=SECONDARY
        )
        beside = width(figure) - BEYOND_MM if last and size_pt >= LARGE_PT else 1.0
        yield at(figure, x + along - beside, y + 4.0)
