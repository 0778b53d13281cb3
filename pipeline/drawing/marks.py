"""Marks that stand in several pictures: wedge, arrow, numbers in rings, the scale bar."""

import math
from collections.abc import Iterator, Sequence
from typing import Final

from matplotlib.path import Path

from pipeline.drawing.outline import circle, moved, polyline, rectangle, text, width
from pipeline.drawing.picture import ACCENT, INK, PAPER, SECONDARY, Area, Figures, Item, Line

FIELDS_MM: Final = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 5, 2)
"""Of a scale bar, the first that fits."""
LEAST_FIELD_MM: Final = 5.5
TAIL_MM: Final = 6.5
"""By which its last figure and unit stand over a scale bar."""


def wedge(x: float, y: float, turn: float, length: float, breadth: float) -> Iterator[Item]:
    """A solid wedge that points the way (``turn`` clockwise from the top), with a white rim."""
    shape = polyline([(0, length / 2), (breadth / 2, -length / 2), (-breadth / 2, -length / 2)], closed=True)
    placed = moved(shape, x=x, y=y, turn=turn)
    yield Line(placed, 0.7, PAPER)
    yield Area(placed, ACCENT)


def number_in_ring(words: str, x: float, y: float, figures: Figures, *, ring_mm: float) -> Iterator[Item]:
    """A number in a white ring."""
    ring_path = circle(ring_mm / 2, x, y)
    size = 6.6 * ring_mm / 3.8 * (1.0 if len(words) < 3 else 0.72)
    yield Area(ring_path, PAPER)
    yield Line(ring_path, 0.25)
    yield Area(centred(text(words, size_pt=size, font=figures.bold), x, y), INK, upright=True)


def way_along(points: Sequence[tuple[float, float]], *, head: float, weight: float) -> Iterator[Item]:
    """A line through these points with a head at its end."""
    (ax, ay), (bx, by) = points[-2:]
    turn = math.atan2(bx - ax, by - ay)
    yield Line(polyline([*points[:-1], (bx - 0.6 * head * math.sin(turn), by - 0.6 * head * math.cos(turn))]), weight,
               ACCENT, "butt")  # fmt: skip
    yield from arrow_head(bx, by, turn, head, ACCENT)


def arrow_head(x: float, y: float, turn: float, size: float, colour: str) -> Iterator[Item]:
    """A solid head whose tip is at ``x``, ``y``."""
    shape = polyline([(0, 0), (0.42 * size, -size), (-0.42 * size, -size)], closed=True)
    yield Area(moved(shape, x=x, y=y, turn=turn), colour)


def scale_bar(figures: Figures, x: float, y: float, scale: float, room: float) -> Iterator[Item]:
    """Fields of 10 mm of the lace (more or less where those are too small or too large), black and white."""
    field = next(
        (size for size in FIELDS_MM if 2 * size * scale <= room - TAIL_MM and size * scale >= LEAST_FIELD_MM), 1
    )
    fields = max(2, min(4, int((room - TAIL_MM) / (field * scale))))
    for number in range(fields):
        box = rectangle(x + number * field * scale, y + 4.4, field * scale, 1.5)
        if number % 2 == 0:
            yield Area(box)
        yield Line(box, 0.25)
    for number in range(fields + 1):
        words = text(f"{number * field}" + (" mm" if number == fields else ""), size_pt=7, font=figures.regular)
        first = text(f"{number * field}", size_pt=7, font=figures.regular)
        yield Area(moved(words, x=x + number * field * scale - width(first) / 2, y=y + 0.8), SECONDARY, upright=True)


def centred(words: Path, x: float, y: float) -> Path:
    """Figures with their middle at ``x``, ``y``."""
    box = words.get_extents()
    return moved(words, x=x - (box.x0 + box.x1) / 2, y=y - (box.y0 + box.y1) / 2)
