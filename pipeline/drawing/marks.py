"""Marks that stand in several pictures: wedge, arrow, numbers in rings, the scale bar."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from matplotlib.path import Path

from pipeline.craft.loom import Loom
from pipeline.craft.shapes import Box, Shape
from pipeline.drawing.lettering import at, centred, width, written
from pipeline.drawing.outline import arc, circle, joined, moved, polyline, rectangle, segment, vertices_of
from pipeline.drawing.picture import ACCENT, INK, PAPER, SECONDARY, Area, Figures, Item, Layer, Line

FIELDS_MM: Final = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 5, 2)
"""Of a scale bar, the first that fits."""
LEAST_FIELD_MM: Final = 5.5
BROKEN_MM: Final = 0.16
DASHES: Final = 36
TAIL_MM: Final = 6.5
"""By which its last figure and unit stand over a scale bar."""
DOT_MM: Final = 0.015
"""From the middle of a disc to the ends of the line it is, either way."""


def wedge(x: float, y: float, turn: float, length: float, breadth: float) -> Iterator[Item]:
    """A solid wedge that points the way (``turn`` clockwise from the top), with a white rim."""
    shape = polyline([(0, length / 2), (breadth / 2, -length / 2), (-breadth / 2, -length / 2)], closed=True)
    placed = moved(shape, x=x, y=y, turn=turn)
    yield Line(placed, 0.7, PAPER)
    yield Area(placed, ACCENT)


def start_place_of(loom: Loom) -> complex:
    """Where the start mark stands at the rim: half-way between the last pin and the first."""
    middle = loom.point(loom.pins - 1) + loom.point(0)
    return loom.shape.toward(middle / abs(middle), loom.shape.shortest)


def start_mark(x: float, y: float, turn: float, size: float) -> Item:
    """A solid mark that stands outside the rim and points at it; its tip is at ``x``, ``y``."""
    shape = polyline([(0, 0), (0.5 * size, size), (-0.5 * size, size)], closed=True)
    return Area(moved(shape, x=x, y=y, turn=turn), INK)


def rim(shape: Shape) -> Layer:
    """The outline of a loom, in mm of it about its centre; open where the shape is."""
    up, across, _ = shape.bounds
    if isinstance(shape, Box):
        return Layer("rim", rectangle(-across, -up, 2 * across, 2 * up))
    if not shape.closed:
        return Layer("rim", arc(up, -math.pi / 2, math.pi / 2))
    whole = circle(1.0)
    return Layer("rim", Path(vertices_of(whole) * (across, up), whole.codes))


def pin_ticks(name: str, loom: Loom, beyond: float, length: float) -> Layer:
    """A short stroke outward at every pin, in mm of the loom about its centre."""
    ways = [(place, loom.shape.outward(place)) for place in loom.places]
    ends = ((place + beyond * out, place + (beyond + length) * out) for place, out in ways)
    return Layer(name, joined(segment(start, end) for start, end in ends))


def dashes(*, closed: bool) -> Layer:
    """A broken circle of radius 1 about the origin, or its upper half."""
    first, whole = (0.0, math.tau) if closed else (-math.pi / 2, math.pi)
    step = whole / DASHES
    starts = (first + number * step for number in range(DASHES))
    return Layer("dashes", joined(arc(1.0, start, start + 0.5 * step) for start in starts))


def number_in_ring(words: str, x: float, y: float, figures: Figures, *, ring_mm: float) -> Iterator[Item]:
    """A number in a white ring."""
    size = 6.6 * ring_mm / 3.8 * (1.0 if len(words) < 3 else 0.72)
    yield dot(x, y, ring_mm + 0.25, INK)
    yield dot(x, y, ring_mm - 0.25, PAPER)
    yield centred(written(words, size_pt=size, font=figures.bold), x, y)


def dot(x: float, y: float, across: float, colour: str) -> Line:
    """A disc: a line with round ends, as short as no rounding takes away; slanting, else a file's pixels would."""
    return Line(polyline([(x - DOT_MM, y - DOT_MM), (x + DOT_MM, y + DOT_MM)]), across, colour)


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
        first = written(f"{number * field}", size_pt=7, font=figures.regular, colour=SECONDARY)
        words = replace(first, text=f"{first.text} mm") if number == fields else first
        yield at(words, x + number * field * scale - width(first) / 2, y + 0.8)
